//! The kinds of value a parameter accepts.

use rhai::Dynamic;
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::Parameter;
use super::value;

/// What a parameter accepts and what a call returns.
///
/// Open at one end: `Kind::Noun("Orbit")` names any registered noun.
#[derive(Debug, Clone, Copy)]
pub enum Kind {
    /// Whatever there is.
    Anything,
    /// Nothing comes back.
    Nothing,
    /// A bare number, whole or fractional.
    Number,
    /// A whole number.
    Whole,
    /// A text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A number or a quantity of any dimension.
    Scalar,
    /// A quantity of one dimension.
    Of(Dimension),
    /// A value of a registered noun, by its name.
    Noun(&'static str),
    /// An array.
    List,
    /// A map with free keys.
    Map,
    /// A closure or function pointer.
    Function,
    /// A map with these keys and no others.
    Options(&'static [Parameter]),
    /// Any one of several.
    Either(&'static [Kind]),
}

/// A vector of three numbers or quantities.
pub const VECTOR: Kind = Kind::Noun("Vector");
/// An instant with its time scale.
pub const EPOCH: Kind = Kind::Noun("Epoch");
/// A system of bodies.
pub const SYSTEM: Kind = Kind::Noun("System");
/// A body of a system.
pub const BODY: Kind = Kind::Noun("Body");
/// A conic about a body.
pub const ORBIT: Kind = Kind::Noun("Orbit");
/// A quantity of length.
pub const LENGTH: Kind = Kind::Of(Dimension::LENGTH);
/// A quantity of time.
pub const TIME: Kind = Kind::Of(Dimension::TIME);
/// A quantity of speed.
pub const SPEED: Kind = Kind::Of(Dimension::SPEED);
/// A quantity of angle.
pub const ANGLE: Kind = Kind::Of(Dimension::ANGLE);
/// A quantity of mass.
pub const MASS: Kind = Kind::Of(Dimension::MASS);

impl Kind {
    /// Whether a value is of this kind. For options only that it is a map; keys are checked apart.
    pub fn accepts(&self, given: &Dynamic) -> bool {
        match self {
            Kind::Anything => true,
            Kind::Nothing => given.is_unit(),
            Kind::Number => given.is_int() || given.is_float(),
            Kind::Whole => value::whole(given).is_some(),
            Kind::Text => given.is_string(),
            Kind::Flag => given.is_bool(),
            Kind::Scalar => value::scalar(given).is_some(),
            Kind::Of(dimension) => {
                given.read_lock::<Quantity>().is_some_and(|quantity| quantity.dimension == *dimension)
            }
            Kind::Noun(name) => value::noun_of(given) == Some(*name),
            Kind::List => given.is_array(),
            Kind::Map | Kind::Options(_) => given.is_map(),
            Kind::Function => given.is_fnptr(),
            Kind::Either(kinds) => kinds.iter().any(|kind| kind.accepts(given)),
        }
    }

    /// The keys of a map of options, also where it is one of several kinds.
    pub fn options(&self) -> Option<&'static [Parameter]> {
        match self {
            Kind::Options(keys) => Some(keys),
            Kind::Either(kinds) => kinds.iter().find_map(Kind::options),
            _ => None,
        }
    }

    /// With its article: `a length`, `an Orbit`.
    pub fn describe(&self) -> String {
        match self {
            Kind::Anything => "a value".to_owned(),
            Kind::Nothing => "nothing".to_owned(),
            Kind::Number => "a number".to_owned(),
            Kind::Whole => "a whole number".to_owned(),
            Kind::Text => "a text".to_owned(),
            Kind::Flag => "`true` or `false`".to_owned(),
            Kind::Scalar => "a number or a quantity".to_owned(),
            Kind::Of(dimension) => value::describe_dimension(*dimension),
            Kind::Noun("Vector") => "a vector".to_owned(),
            Kind::Noun("Epoch") => "an epoch".to_owned(),
            Kind::Noun(name) => value::with_article(name),
            Kind::List => "a list".to_owned(),
            Kind::Map => "a map".to_owned(),
            Kind::Function => "a closure".to_owned(),
            Kind::Options(_) => "a map of options".to_owned(),
            Kind::Either(kinds) => {
                let texts: Vec<String> = kinds.iter().map(Kind::describe).collect();
                texts.join(" or ")
            }
        }
    }

    /// Without its article, as a signature shows it: `length`, `Orbit`.
    pub fn label(&self) -> String {
        match self {
            Kind::Flag => "flag".to_owned(),
            Kind::Nothing => "()".to_owned(),
            Kind::Options(_) => "options".to_owned(),
            Kind::Either(kinds) => kinds.iter().map(Kind::label).collect::<Vec<_>>().join(" or "),
            Kind::Noun(name) => (*name).to_owned(),
            other => {
                let text = other.describe();
                text.strip_prefix("an ").or_else(|| text.strip_prefix("a ")).unwrap_or(&text).to_owned()
            }
        }
    }

    /// What to write instead of a bare number, where a quantity belongs: `300.km`.
    pub fn write_instead(&self, given: &Dynamic) -> Option<String> {
        let number = value::number(given)?;
        match self {
            Kind::Of(dimension) => value::as_written(number, *dimension),
            Kind::Either(kinds) => kinds.iter().find_map(|kind| kind.write_instead(given)),
            _ => None,
        }
    }
}
