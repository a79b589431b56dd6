//! `visviva bodies [SYSTEM]`: what a system holds, and the source of each body's place.

use std::fmt::Write as _;
use std::path::Path;

use clap::Args;
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::{Body, EphemerisChoice, System, SystemError};

use super::{Status, output};
use crate::api::system::place_of;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::source::Sources;

/// Look up the bodies of a system
#[derive(Debug, Args)]
pub(crate) struct Bodies {
    /// sol, velm, or a TOML file
    #[arg(default_value = "sol")]
    system: String,
    /// For sol: mean elements throughout instead of the built-in pack
    #[arg(long)]
    mean: bool,
    /// Print one JSON document
    #[arg(long)]
    json: bool,
}

impl Bodies {
    pub(crate) fn carry_out(self) -> Status {
        let choice = if self.mean { EphemerisChoice::Mean } else { EphemerisChoice::Default };
        let path = Path::new(&self.system);
        let file = path.extension().is_some_and(|end| end == "toml");
        let read = if file {
            let text = match std::fs::read_to_string(path) {
                Ok(text) => text,
                Err(error) => return output::usage(&format!("cannot read {}: {error}", path.display())),
            };
            let sources = Sources::default();
            sources.add(&self.system, &text);
            System::parse(&text, &self.system).map_err(|error| (located(&error, &self.system, &text), sources))
        } else {
            let plain = |error: SystemError| (diagnostic(&error), Sources::default());
            System::embedded(&self.system, choice).map_err(plain)
        };
        match read {
            Err((diagnostic, sources)) => {
                output::diagnostics(&[diagnostic], &sources);
                if file { 1 } else { super::USAGE }
            }
            Ok(system) if self.json => {
                let bodies: Vec<Value> = system.bodies().iter().map(row).collect();
                output::line(
                    &json!({ "format": 1, "status": 0, "system": system.name(), "bodies": bodies }).to_string(),
                );
                0
            }
            Ok(system) => {
                output::print(&table(&system));
                0
            }
        }
    }
}

fn diagnostic(error: &SystemError) -> Diagnostic {
    let made = Diagnostic::error(error.message());
    match error.hint() {
        Some(hint) => made.help(hint),
        None => made,
    }
}

/// The diagnostic of a broken system file, at its line and columns.
pub(crate) fn located(error: &SystemError, file: &str, text: &str) -> Diagnostic {
    let mut made = diagnostic(error);
    made.place = place_of(error, file, text);
    made
}

fn row(body: &Body) -> Value {
    let sphere = body.sphere_of_influence();
    json!({
        "name": body.name(),
        "parent": body.parent().map(|parent| parent.name().to_owned()),
        "gm": { "value": body.gm(), "unit": Quantity::new(1.0, Dimension::GRAVITATIONAL_PARAMETER).si_unit() },
        "radius": { "value": body.radius(), "unit": "m" },
        // The root's has no edge.
        "sphere_of_influence": if sphere.is_finite() { json!({ "value": sphere, "unit": "m" }) } else { Value::Null },
        "source": body.source(),
        "accuracy": body.accuracy(),
    })
}

fn table(system: &System) -> String {
    let mut rows =
        vec![["body", "GM", "radius", "sphere of influence", "source of its place; accuracy"].map(str::to_owned)];
    for body in system.bodies() {
        let sphere = body.sphere_of_influence();
        let indent = "  ".repeat(body.ancestors().len());
        rows.push([
            format!("{indent}{}", body.name()),
            Quantity::new(body.gm(), Dimension::GRAVITATIONAL_PARAMETER).show(),
            Quantity::length(body.radius()).show(),
            if sphere.is_finite() { Quantity::length(sphere).show() } else { "no edge".to_owned() },
            format!("{}; {}", body.source(), body.accuracy()),
        ]);
    }
    let width = |column: usize| rows.iter().map(|row| row[column].chars().count()).max().unwrap_or(0);
    let widths = [0, 1, 2, 3].map(width);
    let mut text = String::new();
    for row in &rows {
        for (cell, width) in row.iter().zip(widths) {
            text.push_str(cell);
            text.push_str(&" ".repeat(width + 2 - cell.chars().count()));
        }
        text.push_str(&row[4]);
        text.push('\n');
    }
    if let Some((from, to)) = system.span() {
        let _ = writeln!(text, "places from {} to {}", from.show(), to.show());
    }
    for warning in system.warnings() {
        let _ = writeln!(text, "note: {warning}");
    }
    text
}
