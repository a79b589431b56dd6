//! Nouns: the kinds of value a script handles beside numbers, texts, lists and maps.

use std::any::TypeId;

use rhai::{Dynamic, Engine};
use serde_json::Value;

use super::definition::Answer;
use super::fault::Fault;

/// A Rust type that scripts handle as a value of its own kind.
///
/// Its properties and methods are definitions that carry [`Noun::NAME`]; this trait is what they cannot say.
pub trait Noun: Clone + Send + Sync + 'static {
    /// As messages and documentation write it: `Orbit`.
    const NAME: &'static str;
    /// One sentence, with a full stop.
    const ABOUT: &'static str;

    /// The text of `print(value)`: one line, or a table.
    fn show(&self) -> String;

    /// The value in a `--json` document, SI inside.
    fn to_json(&self) -> Value;

    /// A member that is found by name and not in the table (`sys.Veyra`). `None`: there is none of that name.
    fn member(&self, _name: &str) -> Option<Answer> {
        None
    }

    /// The names [`Noun::member`] answers to, for completion and for the nearest name.
    fn members(&self) -> Vec<String> {
        Vec::new()
    }

    /// `a == b` in scripts; `None` when the noun has no equality.
    fn same(&self, _other: &Self) -> Option<bool> {
        None
    }
}

/// A noun's entry in the table of nouns: the trait with its type taken off.
#[derive(Clone, Copy)]
pub struct NounEntry {
    /// [`Noun::NAME`].
    pub name: &'static str,
    /// [`Noun::ABOUT`].
    pub about: &'static str,
    /// Of the Rust type.
    pub type_id: fn() -> TypeId,
    /// [`Noun::show`].
    pub show: fn(&Dynamic) -> Option<String>,
    /// [`Noun::to_json`].
    pub to_json: fn(&Dynamic) -> Option<Value>,
    /// [`Noun::member`].
    pub member: fn(&Dynamic, &str) -> Option<Answer>,
    /// [`Noun::members`].
    pub members: fn(&Dynamic) -> Vec<String>,
    /// [`Noun::same`].
    pub same: fn(&Dynamic, &Dynamic) -> Option<bool>,
    /// Tells the interpreter the type's name and how it is printed and indexed.
    pub register: fn(&mut Engine),
}

impl NounEntry {
    /// The entry of a type.
    pub const fn of<T: Noun>() -> Self {
        Self {
            name: T::NAME,
            about: T::ABOUT,
            type_id: TypeId::of::<T>,
            show: |value| value.read_lock::<T>().map(|value| value.show()),
            to_json: |value| value.read_lock::<T>().map(|value| value.to_json()),
            member: |value, name| value.read_lock::<T>().and_then(|value| value.member(name)),
            members: |value| value.read_lock::<T>().map(|value| value.members()).unwrap_or_default(),
            same: |a, b| a.read_lock::<T>()?.same(&*b.read_lock::<T>()?),
            register: register::<T>,
        }
    }
}

fn register<T: Noun>(engine: &mut Engine) {
    engine.register_type_with_name::<T>(T::NAME);
    for name in ["to_string", "to_debug", "print", "debug"] {
        engine.register_fn(name, |value: &mut T| value.show());
    }
    // A property without a definition falls back on the string indexer.
    engine.register_indexer_get(|value: &mut T, name: &str| -> Result<Dynamic, Box<rhai::EvalAltResult>> {
        let answer =
            value.member(name).unwrap_or_else(|| Err(super::binding::no_property(T::NAME, name, &value.members())));
        answer.map_err(Fault::into_error)
    });
}
