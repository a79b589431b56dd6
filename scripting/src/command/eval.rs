//! `visviva eval EXPR`: one expression, its value.

use std::time::Duration;

use clap::Args;
use serde_json::json;

use super::{Status, interrupt, output};
use crate::ceiling::Limits;
use crate::diagnostic::Diagnostic;
use crate::session::{Config, Session};

/// Evaluate one expression
#[derive(Debug, Args)]
pub(crate) struct Eval {
    /// What to evaluate, as in a script; `-` reads standard input
    #[arg(allow_hyphen_values = true)]
    expression: String,
    /// Print one JSON document: the value in SI
    #[arg(long)]
    json: bool,
    /// End after this many seconds
    #[arg(long, value_name = "SECONDS", default_value_t = 60.0)]
    time: f64,
}

impl Eval {
    pub(crate) fn carry_out(self) -> Status {
        if !(self.time > 0.0 && self.time < 1e9) {
            return output::usage("--time is a positive number of seconds");
        }
        let (name, text) = if self.expression == "-" {
            match std::io::read_to_string(std::io::stdin()) {
                Ok(text) => ("<stdin>", text),
                Err(error) => {
                    return output::usage(&format!("cannot read standard input: {error}"));
                }
            }
        } else {
            ("<eval>", self.expression)
        };
        let config = Config {
            limits: Limits { time: Some(Duration::from_secs_f64(self.time)), ..Limits::default() },
            interrupt: interrupt(),
            printer: if self.json { None } else { Some(std::sync::Arc::new(output::line)) },
            ..Config::default()
        };
        let session = Session::new(config.reading("."));
        let outcome = session.evaluate(name, &text);
        let status = outcome.status();
        if self.json {
            let value = outcome.answer.as_ref().map(|answer| answer.json.clone());
            output::line(
                &json!({
                    "format": 1,
                    "status": status,
                    "value": value,
                    "text": outcome.answer.as_ref().map(|answer| answer.shown.clone()),
                    "diagnostics": outcome.diagnostics.iter().map(Diagnostic::to_json).collect::<Vec<_>>(),
                })
                .to_string(),
            );
        } else {
            output::diagnostics(&outcome.diagnostics, session.sources());
            if let Some(answer) = &outcome.answer
                && !answer.value.is_unit()
            {
                output::line(&answer.shown);
            }
            for requirement in outcome.requirements.iter().filter(|requirement| !requirement.met) {
                output::complain(&format!("not met: {} ({})", requirement.why, requirement.place));
            }
        }
        Status::try_from(status).unwrap_or(1)
    }
}
