//! Script values and ours: what a value is, how it is named, shown and written as JSON.

use rhai::{Dynamic, FnPtr, ImmutableString};
use serde_json::{Map as JsonMap, Value, json};
use visviva_engine::quantity::{self, Dimension, Quantity};

use super::NOUNS;
use super::noun::NounEntry;

/// A quantity as a script value; without dimension it is a plain number.
pub fn quantity(quantity: Quantity) -> Dynamic {
    if quantity.dimension == Dimension::NUMBER { Dynamic::from_float(quantity.value) } else { Dynamic::from(quantity) }
}

/// An SI value of a dimension as a script value.
pub fn of(si: f64, dimension: Dimension) -> Dynamic {
    quantity(Quantity::new(si, dimension))
}

/// An angle for a table of elements: always in degrees, to the ten-thousandth.
pub fn degrees(radians: f64) -> String {
    let degrees = Quantity::angle(radians).to("deg").unwrap_or(radians);
    format!("{} deg", show_number((degrees * 1e4).round() / 1e4))
}

/// A value of a noun (or any other Rust type) as a script value.
pub fn noun<T: Clone + Send + Sync + 'static>(value: T) -> Dynamic {
    Dynamic::from(value)
}

/// The entry of a value's noun, when it is one.
pub fn entry_of(value: &Dynamic) -> Option<&'static NounEntry> {
    let id = value.type_id();
    NOUNS.iter().find(|entry| (entry.type_id)() == id)
}

/// The name under which definitions know a value's kind: `Orbit`, or `number`, `quantity`, `text`, `list`, `map`.
pub fn noun_of(value: &Dynamic) -> Option<&'static str> {
    if value.is_int() || value.is_float() {
        Some("number")
    } else if value.is_string() {
        Some("text")
    } else if value.is_array() {
        Some("list")
    } else if value.is_map() {
        Some("map")
    } else if value.read_lock::<Quantity>().is_some() {
        Some("quantity")
    } else {
        entry_of(value).map(|entry| entry.name)
    }
}

/// A number, whole or fractional.
pub fn number(value: &Dynamic) -> Option<f64> {
    if let Ok(whole) = value.as_int() { Some(whole as f64) } else { value.as_float().ok() }
}

/// A whole number, also one that is written with a fraction of zero.
pub fn whole(value: &Dynamic) -> Option<i64> {
    if let Ok(whole) = value.as_int() {
        return Some(whole);
    }
    let number = value.as_float().ok()?;
    // Up to 2^53 every whole number has its own float.
    (number.fract() == 0.0 && number.abs() <= 9_007_199_254_740_992.0).then_some(number as i64)
}

/// A number or a quantity.
pub fn scalar(value: &Dynamic) -> Option<Quantity> {
    match number(value) {
        Some(number) => Some(Quantity::number(number)),
        None => value.read_lock::<Quantity>().map(|quantity| *quantity),
    }
}

/// `a length`, `an Orbit`.
pub fn with_article(name: &str) -> String {
    let vowel = name.starts_with(['a', 'e', 'i', 'o', 'A', 'E', 'I', 'O']);
    format!("{} {name}", if vowel { "an" } else { "a" })
}

/// A dimension in words: `a length`, or `a quantity in m/s³` where it has no name.
pub fn describe_dimension(dimension: Dimension) -> String {
    if dimension == Dimension::NUMBER {
        return "a number".to_owned();
    }
    match dimension.name() {
        Some(name) => with_article(name),
        None => format!("a quantity in {}", Quantity::new(1.0, dimension).si_unit()),
    }
}

/// What a value is, with its article: `a length`, `a text`, `an Orbit`.
pub fn describe(value: &Dynamic) -> String {
    if let Some(quantity) = scalar(value) {
        return describe_dimension(quantity.dimension);
    }
    match noun_of(value) {
        Some("Vector") => "a vector".to_owned(),
        Some("Epoch") => "an epoch".to_owned(),
        Some(name) => with_article(name),
        None if value.is_unit() => "nothing".to_owned(),
        None if value.is_bool() => "`true` or `false`".to_owned(),
        None if value.is_fnptr() => "a closure".to_owned(),
        None if value.is_char() => "a character".to_owned(),
        None => format!("a value of type {}", value.type_name()),
    }
}

/// The unit a script author would write for a dimension, as a property: `km`, `m_s`, `deg`.
pub fn usual_unit(dimension: Dimension) -> Option<&'static str> {
    let usual = if dimension == Dimension::LENGTH {
        "km"
    } else if dimension == Dimension::SPEED {
        "m_s"
    } else if dimension == Dimension::TIME {
        "s"
    } else if dimension == Dimension::ANGLE {
        "deg"
    } else if dimension == Dimension::MASS {
        "kg"
    } else {
        return quantity::units().iter().find(|unit| unit.dimension == dimension).map(|unit| unit.property);
    };
    Some(usual)
}

/// A number with the usual unit of a dimension, as a script author writes it: `300.km`.
pub fn as_written(number: f64, dimension: Dimension) -> Option<String> {
    Some(format!("{}.{}", show_number(number), usual_unit(dimension)?))
}

/// A number as a reader expects it: `3`, `0.3`, `1e-9`. Twelve digits, so that `0.1 + 0.2` is `0.3`.
pub fn show_number(number: f64) -> String {
    if number == 0.0 {
        return "0".to_owned();
    }
    let rounded: f64 = format!("{number:.11e}").parse().unwrap_or(number);
    let size = rounded.abs();
    if (1e-5..1e15).contains(&size) { format!("{rounded}") } else { format!("{rounded:e}") }
}

/// A value as `print` shows it.
pub fn show(value: &Dynamic) -> String {
    if let Ok(text) = value.as_immutable_string_ref() {
        return text.to_string();
    }
    show_inside(value)
}

/// A value as it stands inside a list or map, where texts have quotes.
fn show_inside(value: &Dynamic) -> String {
    if let Ok(whole) = value.as_int() {
        return whole.to_string();
    }
    if let Some(quantity) = scalar(value) {
        return if quantity.dimension == Dimension::NUMBER { show_number(quantity.value) } else { quantity.show() };
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        return format!("{:?}", text.as_str());
    }
    if let Some(list) = value.read_lock::<rhai::Array>() {
        let items: Vec<String> = list.iter().map(show_inside).collect();
        return format!("[{}]", items.join(", "));
    }
    if let Some(map) = value.read_lock::<rhai::Map>() {
        let items: Vec<String> = map.iter().map(|(key, item)| format!("{key}: {}", show_inside(item))).collect();
        return format!("#{{{}}}", items.join(", "));
    }
    if let Some(text) = entry_of(value).and_then(|entry| (entry.show)(value)) {
        return text;
    }
    if value.is_fnptr() {
        return match value.read_lock::<FnPtr>() {
            Some(function) if !function.is_anonymous() => {
                format!("function {}", function.fn_name())
            }
            _ => "closure".to_owned(),
        };
    }
    if value.is_unit() { "()".to_owned() } else { value.to_string() }
}

/// A value in a `--json` document. Quantities are `{value, unit}` in SI; what has no data form is its text.
pub fn to_json(value: &Dynamic) -> Value {
    if let Ok(whole) = value.as_int() {
        return json!(whole);
    }
    if let Some(quantity) = scalar(value) {
        return if quantity.dimension == Dimension::NUMBER {
            json!(quantity.value)
        } else {
            json!({ "value": quantity.value, "unit": quantity.si_unit() })
        };
    }
    if let Ok(flag) = value.as_bool() {
        return json!(flag);
    }
    if value.is_unit() {
        return Value::Null;
    }
    if let Some(list) = value.read_lock::<rhai::Array>() {
        return Value::Array(list.iter().map(to_json).collect());
    }
    if let Some(map) = value.read_lock::<rhai::Map>() {
        let mut object = JsonMap::new();
        for (key, item) in map.iter() {
            object.insert(key.to_string(), to_json(item));
        }
        return Value::Object(object);
    }
    match entry_of(value).and_then(|entry| (entry.to_json)(value)) {
        Some(json) => json,
        None => Value::String(show(value)),
    }
}

/// Whether every number in a value is finite. Engine nouns hold none that is not.
pub fn is_finite(value: &Dynamic) -> bool {
    if let Some(quantity) = scalar(value) {
        return quantity.value.is_finite();
    }
    if let Some(list) = value.read_lock::<rhai::Array>() {
        return list.iter().all(is_finite);
    }
    if let Some(map) = value.read_lock::<rhai::Map>() {
        return map.values().all(is_finite);
    }
    true
}

/// A text as a script value.
pub fn text(text: impl Into<ImmutableString>) -> Dynamic {
    Dynamic::from(text.into())
}
