//! `visviva bodies [SYSTEM]`: what a system holds, and the source of each body's place.

use clap::Args;

use super::{Status, output};

/// Look up the bodies of a system
#[derive(Debug, Args)]
pub(crate) struct Bodies {
    /// sol, velm, or a TOML file
    #[arg(default_value = "sol")]
    system: String,
}

impl Bodies {
    pub(crate) fn carry_out(self) -> Status {
        output::usage(&format!("the system `{}` cannot be shown yet", self.system))
    }
}
