//! What the line editor asks while a line is typed: is it whole, how might it go on.

use std::sync::Arc;

use rustyline::completion::{Completer, Pair};
use rustyline::highlight::Highlighter;
use rustyline::hint::Hinter;
use rustyline::validate::{ValidationContext, ValidationResult, Validator};
use rustyline::{Context, Helper};

use super::bench::Bench;

/// Answers the line editor from the working state.
pub(super) struct Assist {
    bench: Arc<Bench>,
}

impl Assist {
    pub(super) fn new(bench: Arc<Bench>) -> Self {
        Self { bench }
    }
}

impl Completer for Assist {
    type Candidate = Pair;

    fn complete(&self, line: &str, cursor: usize, _: &Context<'_>) -> rustyline::Result<(usize, Vec<Pair>)> {
        let (start, words) = self.bench.complete(line, cursor);
        let pairs = words.into_iter().map(|word| Pair { display: word.clone(), replacement: word }).collect();
        Ok((start, pairs))
    }
}

impl Validator for Assist {
    fn validate(&self, context: &mut ValidationContext) -> rustyline::Result<ValidationResult> {
        let text = context.input();
        let help = text.starts_with("help ") || text.trim() == "help";
        let whole = help || !self.bench.is_unfinished(text);
        Ok(if whole { ValidationResult::Valid(None) } else { ValidationResult::Incomplete })
    }
}

impl Hinter for Assist {
    type Hint = String;
}

impl Highlighter for Assist {}

impl Helper for Assist {}
