//! The map of options at the end of a call: known keys, each with its kind.

#![allow(
    clippy::missing_errors_doc,
    reason = "every reader refuses a value of another kind, and says so once, on the type"
)]

use rhai::{Array, Dynamic, FnPtr, ImmutableString, Map};
use visviva_engine::quantity::Quantity;
use visviva_engine::time::Epoch;

use super::definition::{Definition, Parameter};
use super::fault::Fault;
use super::value;
use crate::diagnostic::nearest::nearest;

/// An options map that has been checked against its keys. Each reader answers `None` for a key that was left out and refuses
/// a value of another kind.
pub struct Options<'o> {
    pub(super) given: &'o Definition,
    pub(super) argument: usize,
    pub(super) keys: &'static [Parameter],
    pub(super) map: Map,
    pub(super) method: bool,
}

impl Options<'_> {
    /// The value under a key, if the script gave one.
    pub fn value(&self, key: &str) -> Option<&Dynamic> {
        self.map.get(key)
    }

    /// Whether the script gave this key.
    pub fn has(&self, key: &str) -> bool {
        self.map.contains_key(key)
    }

    /// Whether the definition has this key at all.
    pub fn knows(&self, key: &str) -> bool {
        self.keys.iter().any(|known| known.name == key)
    }

    /// A refusal that points at a key.
    pub fn fault(&self, key: &str, what: impl Into<String>) -> Fault {
        Fault::new(what).at_key(self.argument, key).of_method(self.method)
    }

    fn wrong(&self, key: &str, value: &Dynamic) -> Fault {
        let expected =
            self.keys.iter().find(|known| known.name == key).map_or("another value".to_owned(), |k| k.kind.describe());
        self.fault(key, format!("`{}`: `{key}` expects {expected}, got {}", self.given.name, value::describe(value)))
    }

    fn read<T>(&self, key: &str, read: impl FnOnce(&Dynamic) -> Option<T>) -> Result<Option<T>, Fault> {
        match self.map.get(key) {
            None => Ok(None),
            Some(value) => read(value).map(Some).ok_or_else(|| self.wrong(key, value)),
        }
    }

    /// A bare number.
    pub fn number(&self, key: &str) -> Result<Option<f64>, Fault> {
        self.read(key, value::number)
    }

    /// A whole number.
    pub fn whole(&self, key: &str) -> Result<Option<i64>, Fault> {
        self.read(key, value::whole)
    }

    /// A number or quantity with its dimension.
    pub fn scalar(&self, key: &str) -> Result<Option<Quantity>, Fault> {
        self.read(key, value::scalar)
    }

    /// The SI value of a quantity whose dimension the key's kind has fixed (a length in m, a speed in m/s, ...).
    pub fn si(&self, key: &str) -> Result<Option<f64>, Fault> {
        Ok(self.scalar(key)?.map(|quantity| quantity.value))
    }

    /// `true` or `false`.
    pub fn flag(&self, key: &str) -> Result<Option<bool>, Fault> {
        self.read(key, |value| value.as_bool().ok())
    }

    /// A text.
    pub fn text(&self, key: &str) -> Result<Option<ImmutableString>, Fault> {
        self.read(key, |value| value.as_immutable_string_ref().ok().map(|text| text.clone()))
    }

    /// An instant.
    pub fn epoch(&self, key: &str) -> Result<Option<Epoch>, Fault> {
        self.noun::<Epoch>(key)
    }

    /// A value of a noun, as its Rust type.
    pub fn noun<T: Clone + Send + Sync + 'static>(&self, key: &str) -> Result<Option<T>, Fault> {
        self.read(key, |value| value.read_lock::<T>().map(|value| value.clone()))
    }

    /// An array.
    pub fn list(&self, key: &str) -> Result<Option<Array>, Fault> {
        self.noun::<Array>(key)
    }

    /// A map with free keys.
    pub fn map(&self, key: &str) -> Result<Option<Map>, Fault> {
        self.noun::<Map>(key)
    }

    /// A closure.
    pub fn function(&self, key: &str) -> Result<Option<FnPtr>, Fault> {
        self.noun::<FnPtr>(key)
    }
}

/// Holds a map against its keys: none unknown, none missing, each of its kind.
pub(super) fn check(word: &str, argument: usize, keys: &[Parameter], map: &Map) -> Result<(), Fault> {
    for (name, value) in map {
        let Some(key) = keys.iter().find(|key| key.name == name.as_str()) else {
            let fault = Fault::new(format!("`{word}` has no option `{name}`")).at_key(argument, name);
            let names = keys.iter().map(|key| key.name);
            return Err(match nearest(name, names) {
                Some(near) => fault.note(format!("did you mean `{near}`?")),
                None => fault,
            }
            .help(format!("its options are {}", listed(keys))));
        };
        if !key.kind.accepts(value) {
            let what = format!("`{word}`: `{name}` expects {}, got {}", key.kind.describe(), value::describe(value));
            let fault = Fault::new(what).at_key(argument, name);
            return Err(match key.kind.write_instead(value) {
                Some(write) => fault.help(format!("write {write}")),
                None => fault,
            });
        }
    }
    match keys.iter().find(|key| key.required && !map.contains_key(key.name)) {
        None => Ok(()),
        Some(key) => Err(Fault::new(format!("`{word}` is missing its option `{}`", key.name))
            .at(argument)
            .note(format!("`{}` is {}: {}", key.name, key.kind.describe(), key.about))
            .help(format!("add it: #{{ {}: ... }}", key.name))),
    }
}

fn listed(keys: &[Parameter]) -> String {
    let names: Vec<String> = keys.iter().map(|key| format!("`{}`", key.name)).collect();
    names.join(", ")
}
