//! `visviva doc [TOPIC]`: the words of the language, from the table of definitions.

use clap::Args;

use super::{Status, output};

/// Look up the words of the language
#[derive(Debug, Args)]
pub(crate) struct Doc {
    /// A function, a noun, `Noun.property`, or `units`; without it a list of everything
    topic: Option<String>,
}

impl Doc {
    pub(crate) fn carry_out(self) -> Status {
        match crate::api::help::text(self.topic.as_deref().unwrap_or("")) {
            Ok(text) => {
                output::line(text.trim_end());
                0
            }
            Err(text) => output::usage(&text),
        }
    }
}
