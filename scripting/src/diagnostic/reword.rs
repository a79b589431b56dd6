//! The interpreter's own errors in our words.

use rhai::{Dynamic, EvalAltResult, Position};
use visviva_engine::quantity::{self, Unit};

use super::Diagnostic;
use super::nearest::nearest;
use super::source::Sources;
use crate::api::binding;
use crate::api::catalogue::{catalogue, noun_names};
use crate::api::definition::Form;
use crate::api::fault::Fault;
use crate::api::value;
use crate::ceiling::{Ceiling, Reached};
use crate::sandbox;

/// The text of a value that a script threw.
pub(super) fn thrown(payload: &Dynamic) -> String {
    if payload.is_unit() { "the script threw an error without a text".to_owned() } else { value::show(payload) }
}

/// Any error that is neither a refusal of ours nor one of syntax.
pub(super) fn reword(error: &EvalAltResult, sources: &Sources, file: &str, ceiling: &Ceiling) -> Diagnostic {
    let position = error.position();
    let position = match error {
        EvalAltResult::ErrorDataRace(..) if position.is_none() => {
            sources.get(file).and_then(|source| source.race).map_or(position, |(line, column)| {
                Position::new(u16::try_from(line).unwrap_or(u16::MAX), u16::try_from(column).unwrap_or(u16::MAX))
            })
        }
        _ => position,
    };
    let made = match error {
        EvalAltResult::ErrorTerminated(..) => ended(ceiling),
        EvalAltResult::ErrorFunctionNotFound(signature, _) => missing_function(signature, sources, file),
        EvalAltResult::ErrorDotExpr(text, _) => missing_property(text),
        EvalAltResult::ErrorPropertyNotFound(name, _) => missing_key(name, sources, file, position),
        EvalAltResult::ErrorIndexNotFound(index, _) => {
            Diagnostic::error(format!("there is no element {}", value::show(index)))
        }
        EvalAltResult::ErrorVariableNotFound(name, _) => missing_variable(name, sources, file),
        EvalAltResult::ErrorModuleNotFound(name, _) => Diagnostic::error(format!("there is no module `{name}`")),
        EvalAltResult::ErrorArithmetic(text, _) => arithmetic(text),
        EvalAltResult::ErrorDataRace(..) => {
            Diagnostic::error("a closure uses the very value whose method it is given to")
                .help("use the closure's argument instead: |x| x...")
        }
        EvalAltResult::ErrorStackOverflow(_) => {
            Diagnostic::error(format!("functions call each other more than {} levels deep", sandbox::CALL_LEVELS))
                .help("write a loop instead of a function that calls itself")
        }
        EvalAltResult::ErrorDataTooLarge(what, _) => Diagnostic::error(too_large(what)),
        EvalAltResult::ErrorTooManyOperations(_) => Diagnostic::error("too many operations"),
        EvalAltResult::ErrorTooManyVariables(_) => Diagnostic::error("too many variables"),
        EvalAltResult::ErrorTooManyModules(_) => Diagnostic::error("too many modules are imported"),
        EvalAltResult::ErrorArrayBounds(length, index, _) => {
            Diagnostic::error(format!("there is no element {index} in a list of {length}"))
        }
        EvalAltResult::ErrorStringBounds(length, index, _) => {
            Diagnostic::error(format!("there is no character {index} in a text of {length}"))
        }
        EvalAltResult::ErrorMismatchDataType(expected, got, _)
        | EvalAltResult::ErrorMismatchOutputType(expected, got, _) => {
            Diagnostic::error(format!("expected {}, got {}", type_name(expected), type_name(got)))
        }
        EvalAltResult::ErrorIndexingType(got, _) => {
            Diagnostic::error(format!("{} has no elements to index", type_name(got)))
        }
        EvalAltResult::ErrorFor(_) => {
            Diagnostic::error("`for` needs a list or a range").help("write for i in 0..10 { ... }")
        }
        EvalAltResult::ErrorUnboundThis(_) => Diagnostic::error("`this` is not bound to a value here"),
        EvalAltResult::ErrorAssignmentToConstant(name, _) => Diagnostic::error(format!("`{name}` is a constant"))
            .help(format!("declare it with `let {name} = ...` to change it")),
        EvalAltResult::ErrorNonPureMethodCallOnConstant(name, _) => {
            Diagnostic::error(format!("`{name}` changes its receiver, which is a constant"))
                .help("declare it with `let`")
        }
        EvalAltResult::ErrorVariableExists(name, _) => Diagnostic::error(format!("`{name}` is declared already"))
            .help(format!("to change it write `{name} = ...` without `let`, or take another name")),
        other => Diagnostic::error(plain(other)),
    };
    made.at(sources, file, position)
}

/// The interpreter's text without its own place and capital.
fn plain(error: &EvalAltResult) -> String {
    let text = error.to_string();
    let text = text.split(" (line ").next().unwrap_or(&text);
    lower_first(text)
}

pub(super) fn lower_first(text: &str) -> String {
    let mut characters = text.chars();
    match characters.next() {
        Some(first) => first.to_lowercase().chain(characters).collect(),
        None => String::new(),
    }
}

fn ended(ceiling: &Ceiling) -> Diagnostic {
    match ceiling.reached() {
        Some(Reached::Operations) => {
            Diagnostic::error(format!("the script took more than {} operations", ceiling.limits().operations))
                .help("look for a loop that does not end")
        }
        Some(Reached::Time) => {
            let seconds = ceiling.limits().time.map_or(0.0, |time| time.as_secs_f64());
            Diagnostic::error(format!("the script ran longer than {} s", value::show_number(seconds)))
        }
        Some(Reached::Output) => {
            Diagnostic::error(format!("the script printed more than {} bytes", ceiling.limits().output))
        }
        Some(Reached::Memory) => {
            Diagnostic::error(format!("the values of the script grew beyond {} bytes", ceiling.limits().memory))
        }
        Some(Reached::Interrupted) | None => Diagnostic::error("interrupted"),
    }
}

fn too_large(what: &str) -> String {
    let lower = what.to_lowercase();
    if lower.contains("array") {
        format!("a list grew beyond {} elements", sandbox::ARRAY_SIZE)
    } else if lower.contains("map") {
        format!("a map grew beyond {} entries", sandbox::MAP_SIZE)
    } else if lower.contains("string") {
        format!("a text grew beyond {} bytes", sandbox::TEXT_SIZE)
    } else {
        lower_first(what)
    }
}

fn arithmetic(text: &str) -> Diagnostic {
    let lower = text.to_lowercase();
    if lower.contains("zero") {
        return Diagnostic::error("division by zero");
    }
    if lower.contains("overflow") {
        return Diagnostic::error("a whole number became too large")
            .help("write one of them with a fraction, as in 2.0: such numbers reach further");
    }
    Diagnostic::error(lower_first(text))
}

/// A type of the interpreter in the words of the language.
pub(super) fn type_name(name: &str) -> String {
    match name {
        "i64" | "INT" => "a whole number".to_owned(),
        "f64" | "FLOAT" => "a number".to_owned(),
        "string" | "&str" | "ImmutableString" => "a text".to_owned(),
        "array" => "a list".to_owned(),
        "map" => "a map".to_owned(),
        "bool" => "`true` or `false`".to_owned(),
        "()" => "nothing".to_owned(),
        "Fn" => "a closure".to_owned(),
        "range" | "range=" => "a range".to_owned(),
        "char" => "a character".to_owned(),
        other => value::with_article(other),
    }
}

fn missing_function(signature: &str, sources: &Sources, file: &str) -> Diagnostic {
    let name = signature.split([' ', '(']).next().unwrap_or(signature);
    let inside = signature.find('(').map_or("", |open| signature[open + 1..].trim_end_matches(')'));
    let count = if inside.is_empty() { 0 } else { inside.split(", ").count() };
    if name.starts_with("anon$") {
        return Diagnostic::error(format!("a closure is called with {count} arguments and takes another number"))
            .help("give it as many parameters as it is called with");
    }
    if name == "^" {
        return Diagnostic::error("`^` does not raise to a power").help("write **");
    }
    let known = catalogue().named(name);
    if let Some(definition) = known.iter().find(|entry| entry.form != Form::Property) {
        let receiver = usize::from(definition.form == Form::Method);
        let Fault::Complaint(complaint) = binding::wrong_count(definition, count.saturating_sub(receiver)) else {
            return Diagnostic::error(format!("`{name}` cannot be called so"));
        };
        let mut made = Diagnostic::error(complaint.what);
        made.note = complaint.note;
        made.help = complaint.help;
        return made;
    }
    if let Some(property) = known.first() {
        return Diagnostic::error(format!("`{name}` is a property"))
            .help(format!("write {} without parentheses", property.signature()));
    }
    let source = sources.get(file).unwrap_or_default();
    let own = super::parsing::declared(&source.text);
    if own.iter().any(|declared| declared == name) && !source.text.contains(&format!("fn {name}")) {
        return Diagnostic::error(format!("`{name}` is a variable and no function"))
            .help(format!("a closure in a variable is called with {name}.call(...)"));
    }
    let made = Diagnostic::error(format!("there is no function `{name}`"));
    let taken: Vec<String> = inside.split(", ").filter(|part| !part.is_empty()).map(type_name).collect();
    let known_names = catalogue().all().filter(|entry| entry.form != Form::Property).map(|entry| entry.name);
    let names = known_names.chain(own.iter().map(String::as_str)).chain(BUILT_IN.iter().copied());
    if BUILT_IN.contains(&name) || !name.chars().all(|character| character.is_alphanumeric() || character == '_') {
        return Diagnostic::error(format!("`{name}` does not work on {}", taken.join(" and ")));
    }
    match nearest(name, names) {
        Some(near) => made.note(format!("did you mean `{near}`?")),
        None => made.help("help() lists what there is"),
    }
}

/// Functions of the interpreter that scripts may call.
pub(crate) const BUILT_IN: &[&str] = &[
    "print",
    "debug",
    "type_of",
    "call",
    "curry",
    "is_shared",
    "is_def_var",
    "is_def_fn",
    "Fn",
    "to_string",
    "to_debug",
    "len",
    "is_empty",
    "push",
    "append",
    "insert",
    "concat",
    "pad",
    "pop",
    "shift",
    "remove",
    "reverse",
    "clear",
    "truncate",
    "chop",
    "extract",
    "splice",
    "split",
    "map",
    "filter",
    "for_each",
    "contains",
    "index_of",
    "find",
    "find_map",
    "dedup",
    "some",
    "all",
    "reduce",
    "reduce_rev",
    "zip",
    "sort",
    "sort_by",
    "sort_desc",
    "order",
    "drain",
    "retain",
    "keys",
    "values",
    "get",
    "set",
    "mixin",
    "fill_with",
    "sub_string",
    "crop",
    "replace",
    "trim",
    "to_upper",
    "to_lower",
    "make_upper",
    "make_lower",
    "starts_with",
    "ends_with",
    "chars",
    "bytes",
    "range",
    "take",
    "tag",
    "set_tag",
    "rotate",
    "first",
    "last",
    "to_json",
    "starts_with",
    "parse_json",
    "throw",
    "char",
    "step",
    "start",
    "end",
    "is_inclusive",
    "is_exclusive",
    "is_anonymous",
    "name",
    "split_rev",
    "bits",
    "to_chars",
    "to_blob",
    "to_hex",
    "to_octal",
    "to_binary",
    "import",
    "to_array",
    "get_fn_metadata_list",
    "set_bit",
    "get_bit",
];

fn missing_property(text: &str) -> Diagnostic {
    // Unknown property 'parsec' - a getter is not registered for type 'i64'
    let mut quoted = text.split('\'').skip(1).step_by(2);
    let (Some(name), Some(owner)) = (quoted.next(), quoted.next()) else {
        return Diagnostic::error(lower_first(text));
    };
    if owner == "i64" || owner == "f64" {
        if name.starts_with('e') && name[1..].chars().all(|character| character.is_ascii_digit()) && name.len() > 1 {
            return Diagnostic::error(format!("`{name}` is no unit"))
                .help(format!("for a power of ten write 2.0{name}"));
        }
        let made = Diagnostic::error(format!("there is no unit `{name}`"));
        let units = quantity::units().iter().map(|unit| unit.property);
        let by_name = Unit::by_name(name).map(|unit| unit.property);
        return match by_name.or_else(|| nearest(name, units)) {
            Some(near) => made.note(format!("did you mean `{near}`?")),
            None => made.help("help(\"units\") lists them"),
        };
    }
    let noun = match owner {
        "string" => "text",
        "array" => "list",
        other => noun_names().find(|known| *known == other).unwrap_or(other),
    };
    match binding::no_property(noun, name, &[]) {
        Fault::Complaint(complaint) => {
            let mut made = Diagnostic::error(complaint.what);
            made.note = complaint.note;
            made.help = complaint.help;
            made
        }
        Fault::Passed(_) => Diagnostic::error(lower_first(text)),
    }
}

fn missing_key(name: &str, sources: &Sources, file: &str, position: Position) -> Diagnostic {
    let made = Diagnostic::error(format!("the map has no `{name}`"));
    let source = sources.get(file).unwrap_or_default();
    let keys = super::parsing::keys(&source.text);
    let line = position.line().unwrap_or(1);
    if source.line(line).contains(&format!(".{name}(")) {
        return made;
    }
    match nearest(name, keys.iter().map(String::as_str).filter(|key| *key != name)) {
        Some(near) => made.note(format!("did you mean `{near}`?")),
        None => made.help(format!("where it may be missing, ask first: \"{name}\" in map")),
    }
}

fn missing_variable(name: &str, sources: &Sources, file: &str) -> Diagnostic {
    super::parsing::undefined(name, &sources.get(file).unwrap_or_default().text)
}
