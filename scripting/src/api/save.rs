//! Files for what a script answers: the form by the ending of the name.

use rhai::Dynamic;
use visviva_engine::audit::Audit;
use visviva_engine::voyage::{Ledger, Track};

use super::budget::Budget;
use super::budget_tables::{Beside, Budgets};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::grid::Grid;
use super::kind::Kind;
use super::picture::Picture;
use super::{audit_noun, budget_tables, grid, ledger, track, value, windows_table};

/// The CSV text of a table; `None` for what is none.
fn csv(of: &Dynamic) -> Option<String> {
    if let Some(table) = of.read_lock::<Ledger>() {
        return Some(ledger::csv(&table));
    }
    if let Some(table) = of.read_lock::<Audit>() {
        return Some(audit_noun::csv(&table));
    }
    if let Some(table) = of.read_lock::<Grid>() {
        return Some(grid::csv(&table));
    }
    if let Some(table) = of.read_lock::<Budget>() {
        return Some(budget_tables::csv(&table.found));
    }
    if let Some(table) = of.read_lock::<Budgets>() {
        return Some(budget_tables::csv_of_all(&table));
    }
    if let Some(table) = of.read_lock::<Beside>() {
        return Some(budget_tables::csv_beside(&table));
    }
    if let Some(table) = of.read_lock::<Track>() {
        return Some(track::csv(&table));
    }
    windows_table::csv(of)
}

/// The document that a value makes in the form that the name's ending asks for.
fn content(of: &Dynamic, name: &str) -> Result<Vec<u8>, Fault> {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    if let Some(picture) = of.read_lock::<Picture>()
        && ending == "png"
    {
        return picture.png();
    }
    text(of, name).map(String::into_bytes)
}

/// The same where it is a text.
fn text(of: &Dynamic, name: &str) -> Result<String, Fault> {
    let ending = name.rsplit_once('.').map_or("", |(_, ending)| ending);
    let misfit = |fits: &str| {
        let ending = if ending.is_empty() { String::new() } else { format!(" as `.{ending}`") };
        Err(Fault::new(format!("{} cannot be saved{ending}", value::describe(of)))
            .help(format!("end the name with {fits}"))
            .at(1))
    };
    if let Some(picture) = of.read_lock::<Picture>() {
        return if ending == "svg" { Ok(picture.svg.to_string()) } else { misfit("`.svg` or `.png`") };
    }
    if ending == "json" && !of.is_string() {
        return Ok(format!("{:#}\n", value::to_json(of)));
    }
    if let Some(csv) = csv(of) {
        return if ending == "csv" { Ok(csv) } else { misfit("`.csv` or `.json`") };
    }
    if ["csv", "svg", "png"].contains(&ending) && !of.is_string() {
        return misfit("`.json`, or `.txt` for what `print` shows");
    }
    Ok(value::show(of))
}

fn save(given: &Given) -> Answer {
    let name = given.text(1)?;
    let bytes = content(given.value(0)?, &name)?;
    given.run.save(&name, &bytes).map_err(|fault| fault.at(1))?;
    Ok(Dynamic::UNIT)
}

/// The definition of `save`.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "Writes a value to a file below the folder that `--out` names, in the form that the name's ending asks for.",
    parameters: &[
        Parameter::new(
            "value",
            Kind::Anything,
            "a picture (`.svg`, `.png`), a ledger, budget, audit, track, grid or list of windows (`.csv`, `.json`), a text as it is, or any other value (`.json`, else \
             what `print` shows)",
        ),
        Parameter::new("name", Kind::Text, "of the file, below the folder; a file of that name is replaced"),
    ],
    returns: (Kind::Nothing, "the file is there whole or not at all"),
    see_also: &["picture", "Voyage.track", "Ledger.csv"],
    examples: &[Example::exact(
        "let kept = \"no\"; try { save(\"text\", \"notes.txt\"); } catch (e) { kept = e.hint; } kept",
        "\"give one on the command line: --out DIR\"",
    )],
    ..Definition::function("save", save)
}];
