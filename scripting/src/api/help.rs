//! `help(...)`, `visviva doc` and the REPL's help: the definitions as text.

use std::fmt::Write as _;

use visviva_engine::quantity::{Unit, units};

use super::NOUNS;
use super::catalogue::{catalogue, noun_names};
use super::definition::{Definition, Example, Form, Parameter};
use super::fault::Fault;
use super::kind::Kind;
use super::value;
use crate::diagnostic::nearest::nearest;

/// Help on a topic, or the list of everything for an empty one.
///
/// # Errors
/// Nothing of that name; the text names the nearest.
pub fn text(topic: &str) -> Result<String, String> {
    let topic = topic.trim().trim_end_matches("()");
    if topic.is_empty() {
        return Ok(overview());
    }
    if topic == "units" {
        return Ok(unit_list());
    }
    if let Some(noun) =
        NOUNS.iter().find(|noun| noun.name.eq_ignore_ascii_case(topic) && catalogue().function(topic).is_none())
    {
        return Ok(noun_page(noun.name, noun.about));
    }
    if ["quantity", "number", "list", "text", "map"].contains(&topic) && !catalogue().members(topic).is_empty() {
        return Ok(noun_page(topic, "a kind of value that the language has by itself."));
    }
    let entries: Vec<&Definition> = match topic.split_once('.') {
        Some((noun, word)) => catalogue()
            .named(word)
            .iter()
            .copied()
            .filter(|entry| entry.noun.is_some_and(|owner| owner.eq_ignore_ascii_case(noun)))
            .collect(),
        None => catalogue().named(topic).to_vec(),
    };
    if !entries.is_empty() {
        let pages: Vec<String> = entries.into_iter().map(page).collect();
        return Ok(pages.join("\n"));
    }
    if let Some(unit) = Unit::by_property(topic) {
        let dimension = unit.dimension.described();
        return Ok(format!(
            "`{topic}`: unit of {}, {}. Source: {}\n",
            dimension.trim_start_matches("an ").trim_start_matches("a "),
            unit.name,
            unit.source
        ));
    }
    let names = catalogue().all().map(|entry| entry.name).chain(noun_names()).chain(["units"]);
    Err(match nearest(topic, names) {
        Some(near) => format!("there is no help on `{topic}`; did you mean `{near}`?"),
        None => format!("there is no help on `{topic}`; help() lists what there is"),
    })
}

fn overview() -> String {
    let mut text = String::from("functions\n");
    for definition in catalogue().functions() {
        let _ = writeln!(text, "  {:<18} {}", definition.name, definition.summary);
    }
    text.push_str("\nnouns\n");
    for noun in NOUNS {
        let _ = writeln!(text, "  {:<18} {}", noun.name, noun.about);
    }
    text.push_str("\nhelp(\"circular\"), help(\"Orbit\"), help(\"Orbit.period\"), help(\"units\") say more\n");
    text
}

fn unit_list() -> String {
    let mut text = String::from("a unit follows its number after a dot: 300.km\n");
    for unit in units() {
        let words: Vec<&str> = unit.properties().collect();
        let dimension = unit.dimension.described();
        let dimension = dimension.trim_start_matches("an ").trim_start_matches("a ").to_owned();
        let _ = writeln!(text, "  {:<26} {:<10} {dimension}", words.join(" "), unit.name);
    }
    text
}

fn noun_page(name: &str, about: &str) -> String {
    let mut text = format!("{name}: {about}\n");
    for (form, title) in [(Form::Property, "properties"), (Form::Method, "methods")] {
        let members: Vec<&Definition> =
            catalogue().members(name).into_iter().filter(|entry| entry.form == form).collect();
        if members.is_empty() {
            continue;
        }
        let _ = writeln!(text, "\n{title}");
        for entry in members {
            let word = entry.signature().split_once('.').map_or(entry.name.to_owned(), |(_, word)| word.to_owned());
            let _ = writeln!(text, "  {word:<26} {}", entry.summary);
        }
    }
    let makers: Vec<&str> =
        catalogue().functions().filter(|entry| gives(entry, name)).map(|entry| entry.name).collect();
    if !makers.is_empty() {
        let _ = writeln!(text, "\nmade by {}", makers.join(", "));
    }
    text
}

fn gives(entry: &Definition, noun: &str) -> bool {
    matches!(entry.returns.0, Kind::Noun(name) if name == noun)
}

fn page(entry: &Definition) -> String {
    let mut text = format!("{}\n{}\n", entry.signature(), entry.summary);
    for parameter in entry.parameters {
        text.push_str(&parameter_line(parameter, "  "));
        if let Some(keys) = parameter.kind.options() {
            for key in keys {
                text.push_str(&parameter_line(key, "      "));
            }
        }
    }
    let (kind, sense) = &entry.returns;
    if !matches!(kind, Kind::Nothing) {
        let comma = if sense.is_empty() { "" } else { ", " };
        let _ = writeln!(text, "  → {}{comma}{sense}", kind.label());
    }
    for Example { code, result, .. } in entry.examples {
        let value = if result.is_empty() { String::new() } else { format!("   // {result}") };
        let _ = writeln!(text, "example: {code}{value}");
    }
    if let Some(source) = entry.source {
        let _ = writeln!(text, "source: {source}");
    }
    if !entry.see_also.is_empty() {
        let _ = writeln!(text, "see also: {}", entry.see_also.join(", "));
    }
    text
}

fn parameter_line(parameter: &Parameter, indent: &str) -> String {
    let optional = if parameter.required { "" } else { ", optional" };
    format!("{indent}{}: {}{optional}; {}\n", parameter.name, parameter.kind.label(), parameter.about)
}

/// The definitions.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "Text about a word of the language, or the list of everything.",
    parameters: &[Parameter::optional(
        "topic",
        Kind::Anything,
        "a word (\"circular\", \"Orbit.period\", \"units\"), or a value",
    )],
    returns: (Kind::Text, "to be printed"),
    see_also: &["units"],
    examples: &[Example::exact("help(\"sqrt\").contains(\"square root\")", "true")],
    ..Definition::function("help", |given| {
        if !given.has(0) {
            return Ok(value::text(text("").unwrap_or_default()));
        }
        let topic = given.value(0)?;
        let word = match given.text(0) {
            Ok(word) => word.to_string(),
            Err(_) => value::noun_of(topic).unwrap_or_default().to_owned(),
        };
        text(&word).map(value::text).map_err(|what| Fault::new(what).at(0))
    })
}];
