//! What a script tells its run: inputs, plans, records, requirements.

use rhai::{Dynamic, FnPtr};
use visviva_engine::quantity::{Quantity, Unit};
use visviva_engine::time::Epoch;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::value;
use crate::diagnostic::source::line_column;
use crate::run_state::{Input, Record, Requirement};

/// The value of an input from the text after `--set name=`, of the same kind as its default.
///
/// Written as in a script (`172.km`, `epoch` without its call) or as in data (`172 km`).
///
/// # Errors
/// Text of another kind or dimension.
pub fn read_setting(name: &str, text: &str, default: &Dynamic) -> Result<Dynamic, Fault> {
    let wrong = |why: String| {
        Fault::new(format!("the input `{name}` expects {}: {why}", value::describe(default)))
            .help(format!("write --set \"{name}={}\"", value::show(default)))
    };
    if default.read_lock::<Epoch>().is_some() {
        return Epoch::parse(text).map(Dynamic::from).map_err(|error| wrong(error.to_string()));
    }
    if default.is_string() {
        return Ok(value::text(text));
    }
    if default.is_bool() {
        return text
            .trim()
            .parse::<bool>()
            .map(Dynamic::from_bool)
            .map_err(|_| wrong(format!("`{text}` is neither true nor false")));
    }
    let Some(expected) = value::scalar(default) else {
        return Err(Fault::new(format!(
            "the input `{name}` is {} and cannot be set from outside",
            value::describe(default)
        )));
    };
    let quantity =
        as_literal(text).map_or_else(|| Quantity::parse(text), Ok).map_err(|error| wrong(error.to_string()))?;
    if quantity.dimension != expected.dimension {
        return Err(wrong(format!("`{text}` is {}", quantity.dimension.described())));
    }
    match text.trim().parse::<i64>() {
        Ok(whole) => Ok(Dynamic::from_int(whole)),
        Err(_) => Ok(value::quantity(quantity)),
    }
}

/// `172.km`, `1e3.m_s`: a number, a dot, a unit's property.
fn as_literal(text: &str) -> Option<Quantity> {
    let text = text.trim();
    let split = text.char_indices().filter(|(_, character)| *character == '.').find(|(index, _)| {
        text[index + 1..].starts_with(|character: char| character.is_alphabetic())
            && Unit::by_property(&text[index + 1..]).is_some()
    })?;
    let number: f64 = text[..split.0].replace('_', "").parse().ok()?;
    Quantity::of(number, Unit::by_property(&text[split.0 + 1..])?.name).ok()
}

fn input(given: &Given) -> Answer {
    let name = given.text(0)?;
    let default = given.value(1)?.clone();
    if let Some(known) = given.run.inputs().iter().find(|known| known.name == name.as_str()) {
        return Ok(known.value.clone());
    }
    let set = given.run.settings.inputs.iter().rev().find(|(known, _)| *known == name.as_str());
    let value = match set {
        Some((_, text)) => read_setting(&name, text, &default)?,
        None => default.clone(),
    };
    given.run.add_input(Input { name: name.to_string(), default, value: value.clone() });
    Ok(value)
}

fn require(given: &Given) -> Answer {
    let (met, why) = (given.flag(0)?, given.text(1)?);
    let file = given.context.call_source().unwrap_or("script");
    let (line, column) = line_column(given.context.call_position()).unwrap_or((1, 1));
    given.run.add_requirement(Requirement { why: why.to_string(), met, place: format!("{file}:{line}:{column}") });
    Ok(Dynamic::UNIT)
}

fn planned(given: &Given) -> Answer {
    let name = given.text(0)?;
    if let Some(known) = given.run.plan(&name) {
        return Ok(known);
    }
    let function: FnPtr = given.function(1)?;
    let made = given.call(&function, ())?;
    given.run.keep_plan(&name, made.clone());
    Ok(made)
}

fn assert_near(given: &Given) -> Answer {
    let (a, b, within) = (given.scalar(0)?, given.scalar(1)?, given.scalar(2)?);
    for (index, other) in [(1, b), (2, within)] {
        if other.dimension != a.dimension {
            let what =
                format!("`assert_near` compares {} with {}", a.dimension.described(), other.dimension.described());
            return Err(Fault::new(what).at(index));
        }
    }
    let difference = (a.value - b.value).abs();
    if difference <= within.value {
        return Ok(Dynamic::UNIT);
    }
    // All four in the unit of the first.
    let shown = a.show();
    let unit = shown.split_once(' ').map_or("", |(_, unit)| unit);
    let text = |value_si: f64| {
        let number =
            if unit.is_empty() { value_si } else { Quantity::new(value_si, a.dimension).to(unit).unwrap_or(value_si) };
        let gap = if unit.is_empty() { "" } else { " " };
        format!("{}{gap}{unit}", value::show_number(number))
    };
    let what = format!("{} is not near {}", text(a.value), text(b.value));
    Err(Fault::new(what).note(format!("they differ by {}, allowed is {}", text(difference), text(within.value))).at(0))
}

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A knob of the script: its default, or what `--set` or a sweep gives it.",
        parameters: &[
            Parameter::new("name", Kind::Text, "as `--set` calls it"),
            Parameter::new(
                "nominal",
                Kind::Anything,
                "a number, quantity, epoch, text or flag; fixes kind and dimension",
            ),
        ],
        returns: (Kind::Anything, "of the default's kind"),
        see_also: &["record", "require", "planned"],
        examples: &[Example::exact("input(\"first pass\", 176.km)", "176.km")],
        ..Definition::function("input", input)
    },
    Definition {
        summary: "Notes an answer of the script under a name.",
        parameters: &[
            Parameter::new("name", Kind::Text, "as tables and JSON show it; the last value of a name counts"),
            Parameter::new("value", Kind::Anything, "any value"),
        ],
        returns: (Kind::Anything, "the value itself"),
        see_also: &["input", "require"],
        examples: &[Example::exact("record(\"dv spent\", 3.km_s)", "3.km_s")],
        ..Definition::function("record", |given| {
            let (name, value) = (given.text(0)?, given.value(1)?.clone());
            given.run.add_record(Record { name: name.to_string(), value: value.clone() });
            Ok(value)
        })
    },
    Definition {
        summary: "A demand on the rehearsal: not met, the run goes on and ends with exit status 3.",
        parameters: &[
            Parameter::new("condition", Kind::Flag, "whether it is met"),
            Parameter::new("why", Kind::Text, "what is demanded, in the script's words"),
        ],
        returns: (Kind::Nothing, ""),
        see_also: &["record", "assert_near"],
        examples: &[Example::exact("require(2.km > 1.km, \"stay above the ground\")", "()")],
        ..Definition::function("require", require)
    },
    Definition {
        summary: "A plan: evaluated once, at the nominal inputs, and handed to every case of a sweep.",
        parameters: &[
            Parameter::new("name", Kind::Text, "of the plan; the same name gives the same value again"),
            Parameter::new("plan", Kind::Function, "a closure without parameters"),
        ],
        returns: (Kind::Anything, "what the closure gave"),
        see_also: &["input"],
        examples: &[Example::exact("planned(\"leave\", || 3.km_s)", "3.km_s")],
        ..Definition::function("planned", planned)
    },
    Definition {
        summary: "Ends the script when two values differ by more than a tolerance.",
        parameters: &[
            Parameter::new("value", Kind::Scalar, "what there is"),
            Parameter::new("expected", Kind::Scalar, "what there should be"),
            Parameter::new("within", Kind::Scalar, "the greatest difference allowed"),
        ],
        returns: (Kind::Nothing, ""),
        see_also: &["require"],
        examples: &[Example::exact("assert_near(1.001.km, 1.km, 2.m)", "()")],
        ..Definition::function("assert_near", assert_near)
    },
];
