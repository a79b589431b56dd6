//! `visviva repl [SCRIPT]`: interactive.

use std::path::PathBuf;

use clap::Args;

use super::{Status, output};

/// Work interactively
#[derive(Debug, Args)]
pub(crate) struct Repl {
    /// A script to run first
    script: Option<PathBuf>,
}

impl Repl {
    pub(crate) fn carry_out(self) -> Status {
        let _ = self.script;
        output::usage("not there yet")
    }
}
