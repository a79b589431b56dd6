//! `visviva doc [TOPIC]`: the words of the language, from the table of definitions.

use std::path::PathBuf;

use clap::Args;

use super::{Status, output};

/// Look up the words of the language
#[derive(Debug, Args)]
pub(crate) struct Doc {
    /// A function, a noun, `Noun.property`, or `units`; without it a list of everything
    topic: Option<String>,
    /// Write the reference pages and the editor's definition file into this folder
    #[arg(long, value_name = "DIR", conflicts_with = "topic")]
    write: Option<PathBuf>,
}

impl Doc {
    pub(crate) fn carry_out(self) -> Status {
        if let Some(folder) = self.write {
            return match crate::reference::write(&folder) {
                Ok(()) => 0,
                Err(error) => output::usage(&format!("cannot write below {}: {error}", folder.display())),
            };
        }
        match crate::api::help::text(self.topic.as_deref().unwrap_or("")) {
            Ok(text) => {
                output::line(text.trim_end());
                0
            }
            Err(text) => output::usage(&text),
        }
    }
}
