//! `visviva repl [SCRIPT]`: interactive.

use std::path::PathBuf;

use clap::Args;

use super::{Status, interrupt, output};

/// Work interactively
#[derive(Debug, Args)]
pub(crate) struct Repl {
    /// A script to run first; what it makes stays at hand
    script: Option<PathBuf>,
}

impl Repl {
    pub(crate) fn carry_out(self) -> Status {
        let first = match self.script.as_deref().map(output::read_script).transpose() {
            Ok(first) => first,
            Err(error) => return output::usage(&error),
        };
        let folder = PathBuf::from(".");
        let (first, folder) = match first {
            Some((name, text, folder)) => (Some((name, text)), folder),
            None => (None, folder),
        };
        if output::on_terminal() {
            output::line("visviva: help says more, Ctrl-C stops a script, Ctrl-D ends");
        }
        match crate::repl::run(first, folder, &interrupt()) {
            Ok(()) => 0,
            Err(error) => {
                output::complain(&format!("error: {error}"));
                1
            }
        }
    }
}
