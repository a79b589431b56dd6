//! A scripted function, method or property, defined once as data.
//!
//! Registration, help, completion, reference pages, the editor's definition file and the example tests all read these
//! entries. There is no second list of names.

use std::fmt::Write as _;

use rhai::Dynamic;

use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;

/// What a call answers.
pub type Answer = Result<Dynamic, Fault>;

/// How a definition is written in a script.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// `name(a, b)`.
    Function,
    /// `value.name(a, b)`, on the noun the definition names.
    Method,
    /// `value.name`, on the noun the definition names.
    Property,
}

/// One word of the language.
#[derive(Debug, Clone, Copy)]
pub struct Definition {
    /// The word itself.
    pub name: &'static str,
    /// The noun it belongs to (`"Orbit"`), for methods and properties.
    pub noun: Option<&'static str>,
    /// How it is written.
    pub form: Form,
    /// One sentence, with a full stop.
    pub summary: &'static str,
    /// In order. The receiver of a method is not among them.
    pub parameters: &'static [Parameter],
    /// What comes back, and in what sense.
    pub returns: (Kind, &'static str),
    /// Where the method stands in print, if it does.
    pub source: Option<&'static str>,
    /// Names of related definitions.
    pub see_also: &'static [&'static str],
    /// Each is run as a test.
    pub examples: &'static [Example],
    /// Whether it changes its receiver, so that a constant refuses it: the verbs of a voyage.
    pub changes: bool,
    /// The implementation; its arguments have been checked against `parameters`.
    pub call: for<'g> fn(&Given<'g>) -> Answer,
}

/// One parameter of a call, or one key of an options map.
#[derive(Debug, Clone, Copy)]
pub struct Parameter {
    /// Its name in the documentation; for an option, the key.
    pub name: &'static str,
    /// What it accepts.
    pub kind: Kind,
    /// One phrase: unit, range, consequence.
    pub about: &'static str,
    /// Whether it must be there. Optional parameters of a call stand last.
    pub required: bool,
}

impl Parameter {
    /// A parameter that must be given.
    pub const fn new(name: &'static str, kind: Kind, about: &'static str) -> Self {
        Self { name, kind, about, required: true }
    }

    /// A parameter that may be left out.
    pub const fn optional(name: &'static str, kind: Kind, about: &'static str) -> Self {
        Self { name, kind, about, required: false }
    }
}

/// An expression and its value.
#[derive(Debug, Clone, Copy)]
pub struct Example {
    /// A script whose last expression is the value.
    pub code: &'static str,
    /// An expression for the value it must have; empty when the value is only shown.
    pub result: &'static str,
    /// An expression for the greatest allowed difference; empty for equality.
    pub within: &'static str,
}

impl Example {
    /// An example whose value is compared exactly.
    pub const fn exact(code: &'static str, result: &'static str) -> Self {
        Self { code, result, within: "" }
    }

    /// An example whose value is compared to a tolerance.
    pub const fn close(code: &'static str, result: &'static str, within: &'static str) -> Self {
        Self { code, result, within }
    }
}

impl Definition {
    /// A free function without source, relatives or examples; fill those in with struct update syntax.
    pub const fn function(name: &'static str, call: for<'g> fn(&Given<'g>) -> Answer) -> Self {
        Self {
            name,
            noun: None,
            form: Form::Function,
            summary: "",
            parameters: &[],
            returns: (Kind::Anything, ""),
            source: None,
            see_also: &[],
            examples: &[],
            changes: false,
            call,
        }
    }

    /// A method of a noun; see [`Definition::function`].
    pub const fn method(noun: &'static str, name: &'static str, call: for<'g> fn(&Given<'g>) -> Answer) -> Self {
        let mut made = Self::function(name, call);
        made.noun = Some(noun);
        made.form = Form::Method;
        made
    }

    /// A property of a noun; see [`Definition::function`].
    pub const fn property(noun: &'static str, name: &'static str, call: for<'g> fn(&Given<'g>) -> Answer) -> Self {
        let mut made = Self::function(name, call);
        made.noun = Some(noun);
        made.form = Form::Property;
        made
    }

    /// Fewest and most arguments, the receiver not counted.
    pub fn arity(&self) -> (usize, usize) {
        let required = self.parameters.iter().filter(|parameter| parameter.required).count();
        (required, self.parameters.len())
    }

    /// How the word is written: `circular(body, altitude[, epoch])`, `orbit.at(epoch)`, `orbit.period`.
    pub fn signature(&self) -> String {
        let mut text = String::new();
        if let Some(noun) = self.noun {
            text.push_str(&noun.to_lowercase());
            text.push('.');
        }
        text.push_str(self.name);
        if self.form == Form::Property {
            return text;
        }
        text.push('(');
        for (index, parameter) in self.parameters.iter().enumerate() {
            let comma = if index == 0 { "" } else { ", " };
            if parameter.required {
                let _ = write!(text, "{comma}{}", parameter.name);
            } else {
                let _ = write!(text, "[{comma}{}]", parameter.name);
            }
        }
        text.push(')');
        text
    }

    /// `Orbit.period` for what belongs to a noun, else the bare name.
    pub fn path(&self) -> String {
        match self.noun {
            Some(noun) => format!("{noun}.{}", self.name),
            None => self.name.to_owned(),
        }
    }
}
