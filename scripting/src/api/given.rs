//! What a call was given: its arguments, read by kind, and the run it happens in.

#![allow(
    clippy::missing_errors_doc,
    reason = "every reader refuses a value of another kind, and says so once, on the type"
)]

use std::sync::Arc;

use rhai::{Array, Dynamic, FnPtr, FuncArgs, ImmutableString, Map, NativeCallContext};
use visviva_engine::quantity::Quantity;
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;

use super::definition::{Definition, Form};
use super::fault::Fault;
use super::options::Options;
use super::value;
use super::vector::Vector;
use crate::run_state::RunState;

/// The arguments of one call, already checked against the definition's parameters. Each reader refuses a value of another kind.
pub struct Given<'g> {
    /// The run: its records, ceilings, folders, voyages.
    pub run: &'g Arc<RunState>,
    /// The interpreter's side of the call, for calling back.
    pub context: &'g NativeCallContext<'g>,
    /// What is called.
    pub definition: &'static Definition,
    pub(super) values: &'g [&'g mut Dynamic],
}

impl Given<'_> {
    fn offset(&self) -> usize {
        usize::from(self.definition.form != Form::Function)
    }

    /// How many arguments there are, the receiver not counted.
    pub fn count(&self) -> usize {
        self.values.len().saturating_sub(self.offset())
    }

    /// Whether an optional argument is there.
    pub fn has(&self, index: usize) -> bool {
        index < self.count()
    }

    /// The receiver of a method or property.
    pub fn this_value(&self) -> Result<&Dynamic, Fault> {
        self.values.first().map(|value| &**value).ok_or_else(|| Fault::new("there is no receiver"))
    }

    /// The receiver of a method or property, as its Rust type.
    pub fn this<T: Clone + Send + Sync + 'static>(&self) -> Result<T, Fault> {
        let value = self.this_value()?;
        value.read_lock::<T>().map(|value| value.clone()).ok_or_else(|| {
            Fault::new(format!("`{}` does not work on {}", self.definition.name, value::describe(value)))
        })
    }

    /// An argument as it is.
    pub fn value(&self, index: usize) -> Result<&Dynamic, Fault> {
        self.values.get(index + self.offset()).map(|value| &**value).ok_or_else(|| {
            let name = self.definition.parameters.get(index).map_or("argument", |parameter| parameter.name);
            Fault::new(format!("`{}` is missing its `{name}`", self.definition.name))
        })
    }

    fn wrong(&self, index: usize, expected: &str) -> Fault {
        let name = self.definition.parameters.get(index).map_or("argument", |parameter| parameter.name);
        let got = self.value(index).map_or_else(|_| "nothing".to_owned(), value::describe);
        Fault::new(format!("`{}`: `{name}` expects {expected}, got {got}", self.definition.name)).at(index)
    }

    /// An argument as a Rust type of a noun.
    pub fn noun<T: Clone + Send + Sync + 'static>(&self, index: usize) -> Result<T, Fault> {
        let value = self.value(index)?;
        value.read_lock::<T>().map(|value| value.clone()).ok_or_else(|| {
            let expected =
                self.definition.parameters.get(index).map_or("another value".to_owned(), |p| p.kind.describe());
            self.wrong(index, &expected)
        })
    }

    /// A bare number.
    pub fn number(&self, index: usize) -> Result<f64, Fault> {
        value::number(self.value(index)?).ok_or_else(|| self.wrong(index, "a number"))
    }

    /// A whole number.
    pub fn whole(&self, index: usize) -> Result<i64, Fault> {
        value::whole(self.value(index)?).ok_or_else(|| self.wrong(index, "a whole number"))
    }

    /// A number or quantity with its dimension.
    pub fn scalar(&self, index: usize) -> Result<Quantity, Fault> {
        value::scalar(self.value(index)?).ok_or_else(|| self.wrong(index, "a number or a quantity"))
    }

    /// The SI value of a quantity whose dimension the parameter's kind has fixed.
    pub fn si(&self, index: usize) -> Result<f64, Fault> {
        Ok(self.scalar(index)?.value)
    }

    /// A length, m.
    pub fn length(&self, index: usize) -> Result<f64, Fault> {
        self.si(index)
    }

    /// A time, s.
    pub fn time(&self, index: usize) -> Result<f64, Fault> {
        self.si(index)
    }

    /// A speed, m/s.
    pub fn speed(&self, index: usize) -> Result<f64, Fault> {
        self.si(index)
    }

    /// An angle, rad.
    pub fn angle(&self, index: usize) -> Result<f64, Fault> {
        self.si(index)
    }

    /// A mass, kg.
    pub fn mass(&self, index: usize) -> Result<f64, Fault> {
        self.si(index)
    }

    /// `true` or `false`.
    pub fn flag(&self, index: usize) -> Result<bool, Fault> {
        self.value(index)?.as_bool().map_err(|_| self.wrong(index, "`true` or `false`"))
    }

    /// A text.
    pub fn text(&self, index: usize) -> Result<ImmutableString, Fault> {
        self.value(index)?.as_immutable_string_ref().map(|text| text.clone()).map_err(|_| self.wrong(index, "a text"))
    }

    /// An instant.
    pub fn epoch(&self, index: usize) -> Result<Epoch, Fault> {
        self.noun::<Epoch>(index)
    }

    /// A vector with its dimension.
    pub fn vector(&self, index: usize) -> Result<Vector, Fault> {
        self.noun::<Vector>(index)
    }

    /// The SI components of a vector whose dimension must be this one.
    pub fn vector_of(&self, index: usize, dimension: visviva_engine::quantity::Dimension) -> Result<Vec3, Fault> {
        let vector = self.vector(index)?;
        if vector.dimension == dimension {
            Ok(vector.components)
        } else {
            let expected = value::describe_dimension(dimension);
            Err(self.wrong(index, &format!("a vector whose components are {}", expected.trim_start_matches("a "))))
        }
    }

    /// An array.
    pub fn list(&self, index: usize) -> Result<Array, Fault> {
        self.value(index)?.read_lock::<Array>().map(|list| list.clone()).ok_or_else(|| self.wrong(index, "a list"))
    }

    /// A map with free keys.
    pub fn map(&self, index: usize) -> Result<Map, Fault> {
        self.value(index)?.read_lock::<Map>().map(|map| map.clone()).ok_or_else(|| self.wrong(index, "a map"))
    }

    /// The options map at this place; empty when it was left out.
    pub fn options(&self, index: usize) -> Result<Options<'_>, Fault> {
        let map = if self.has(index) { self.map(index)? } else { Map::new() };
        let parameter = self.definition.parameters.get(index);
        let keys = parameter.and_then(|parameter| parameter.kind.options()).unwrap_or_default();
        Ok(Options { given: self.definition, argument: index, keys, map, method: self.definition.form == Form::Method })
    }

    /// A closure.
    pub fn function(&self, index: usize) -> Result<FnPtr, Fault> {
        self.value(index)?
            .read_lock::<FnPtr>()
            .map(|function| function.clone())
            .ok_or_else(|| self.wrong(index, "a closure"))
    }

    /// Calls a closure of the script; its error keeps its own place.
    pub fn call(&self, function: &FnPtr, arguments: impl FuncArgs) -> Result<Dynamic, Fault> {
        function.call_within_context::<Dynamic>(self.context, arguments).map(Dynamic::flatten).map_err(Fault::passed)
    }
}
