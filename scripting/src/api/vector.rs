//! The noun `Vector`: three components of one dimension. A model for other noun files: the type, its `Noun`, its table.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::vector::Vec3;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, Kind, VECTOR};
use super::noun::Noun;
use super::value;

/// Three components in SI, of one dimension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vector {
    /// SI values.
    pub components: Vec3,
    /// Of each component.
    pub dimension: Dimension,
}

impl Vector {
    /// From SI components.
    pub fn new(components: Vec3, dimension: Dimension) -> Self {
        Self { components, dimension }
    }

    /// A script value.
    pub fn into_value(self) -> Dynamic {
        Dynamic::from(self)
    }

    pub(super) fn is_finite(&self) -> bool {
        self.components.iter().all(|component| component.is_finite())
    }

    pub(super) fn scaled(self, factor: f64) -> Self {
        Self { components: self.components * factor, ..self }
    }

    pub(super) fn plus(self, other: Self) -> Self {
        Self { components: self.components + other.components, ..self }
    }

    pub(super) fn times(self, factor: Quantity) -> Result<Self, Fault> {
        Ok(Self { components: self.components * factor.value, dimension: product(self.dimension, factor.dimension)? })
    }

    pub(super) fn over(self, divisor: Quantity) -> Result<Self, Fault> {
        let dimension = self.dimension.over(divisor.dimension).ok_or_else(too_high)?;
        Ok(Self { components: self.components / divisor.value, dimension })
    }
}

impl Noun for Vector {
    const NAME: &'static str = "Vector";
    const ABOUT: &'static str = "Three components of one dimension, in inertial axes unless said otherwise.";

    fn show(&self) -> String {
        // All three in the unit of the largest, so that they can be compared at a glance.
        let largest = self.components.iter().fold(0.0_f64, |largest, component| largest.max(component.abs()));
        let shown = Quantity::new(largest, self.dimension).show();
        let unit = shown.split_once(' ').map_or("", |(_, unit)| unit);
        let in_unit = |component: f64| {
            let quantity = Quantity::new(component, self.dimension);
            value::show_number(quantity.to(unit).unwrap_or(component))
        };
        let [x, y, z] = [0, 1, 2].map(|index| in_unit(self.components[index]));
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        format!("[{x}, {y}, {z}]{unit}")
    }

    fn to_json(&self) -> Value {
        let components = [self.components.x, self.components.y, self.components.z];
        json!({ "value": components, "unit": Quantity::new(1.0, self.dimension).si_unit(), "frame": "inertial" })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

fn too_high() -> Fault {
    Fault::new("the dimension of the result has too high a power")
}

fn product(a: Dimension, b: Dimension) -> Result<Dimension, Fault> {
    a.times(b).ok_or_else(too_high)
}

fn component(given: &Given, index: usize) -> Answer {
    let vector = given.this::<Vector>()?;
    Ok(value::quantity(Quantity::new(vector.components[index], vector.dimension)))
}

fn unit_vector(vector: Vector) -> Result<Vec3, Fault> {
    // Scaled first: squares of very large or small components would overflow or vanish.
    let largest = vector.components.amax();
    if largest == 0.0 {
        return Err(Fault::new("a vector of zeros has no direction"));
    }
    Ok((vector.components / largest).normalize())
}

fn norm(vector: Vector) -> f64 {
    let largest = vector.components.amax();
    if largest == 0.0 { 0.0 } else { (vector.components / largest).norm() * largest }
}

/// The definitions of vectors.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A vector of three numbers or three quantities of one dimension.",
        parameters: &[
            Parameter::new("x", Kind::Scalar, "first component"),
            Parameter::new("y", Kind::Scalar, "second component, of the same dimension"),
            Parameter::new("z", Kind::Scalar, "third component, of the same dimension"),
        ],
        returns: (VECTOR, "in the axes that its use gives it"),
        see_also: &["norm", "unit", "dot", "cross", "angle_to"],
        examples: &[Example::exact("vec(3.km, 4.km, 0.km).norm", "5.km")],
        ..Definition::function("vec", |given| {
            let parts = [given.scalar(0)?, given.scalar(1)?, given.scalar(2)?];
            let dimension = parts[0].dimension;
            if let Some(index) = parts.iter().position(|part| part.dimension != dimension) {
                let what = format!(
                    "the components of a vector must have one dimension: {} and {}",
                    value::describe_dimension(dimension),
                    value::describe_dimension(parts[index].dimension)
                );
                return Err(Fault::new(what).at(index));
            }
            let [x, y, z] = parts.map(|part| part.value);
            Ok(Vector::new(Vec3::new(x, y, z), dimension).into_value())
        })
    },
    Definition {
        summary: "The first component.",
        returns: (Kind::Scalar, "with the vector's dimension"),
        see_also: &["y", "z"],
        examples: &[Example::exact("vec(1.km, 2.km, 3.km).x", "1.km")],
        ..Definition::property("Vector", "x", |given| component(given, 0))
    },
    Definition {
        summary: "The second component.",
        returns: (Kind::Scalar, "with the vector's dimension"),
        see_also: &["x", "z"],
        examples: &[Example::exact("vec(1.km, 2.km, 3.km).y", "2.km")],
        ..Definition::property("Vector", "y", |given| component(given, 1))
    },
    Definition {
        summary: "The third component.",
        returns: (Kind::Scalar, "with the vector's dimension"),
        see_also: &["x", "y"],
        examples: &[Example::exact("vec(1.km, 2.km, 3.km).z", "3.km")],
        ..Definition::property("Vector", "z", |given| component(given, 2))
    },
    Definition {
        summary: "The length of the arrow.",
        returns: (Kind::Scalar, "with the vector's dimension, never negative"),
        see_also: &["unit"],
        examples: &[Example::exact("vec(3, 4, 12).norm", "13")],
        ..Definition::property("Vector", "norm", |given| {
            let vector = given.this::<Vector>()?;
            Ok(value::quantity(Quantity::new(norm(vector), vector.dimension)))
        })
    },
    Definition {
        summary: "The direction: a vector of norm 1.",
        returns: (VECTOR, "bare numbers; a vector of zeros is an error"),
        see_also: &["norm"],
        examples: &[Example::exact("vec(0.km, 5.km, 0.km).unit", "vec(0, 1, 0)")],
        ..Definition::property("Vector", "unit", |given| {
            Ok(Vector::new(unit_vector(given.this()?)?, Dimension::NUMBER).into_value())
        })
    },
    Definition {
        summary: "The scalar product.",
        parameters: &[Parameter::new("other", VECTOR, "of any dimension")],
        returns: (Kind::Scalar, "with the product of the dimensions"),
        see_also: &["cross", "angle_to"],
        examples: &[Example::exact("vec(1, 2, 3).dot(vec(4, 5, 6))", "32")],
        ..Definition::method("Vector", "dot", |given| {
            let (a, b) = (given.this::<Vector>()?, given.vector(0)?);
            Ok(value::quantity(Quantity::new(a.components.dot(&b.components), product(a.dimension, b.dimension)?)))
        })
    },
    Definition {
        summary: "The vector product.",
        parameters: &[Parameter::new("other", VECTOR, "of any dimension")],
        returns: (VECTOR, "with the product of the dimensions"),
        see_also: &["dot", "angle_to"],
        examples: &[Example::exact("vec(1, 0, 0).cross(vec(0, 1, 0))", "vec(0, 0, 1)")],
        ..Definition::method("Vector", "cross", |given| {
            let (a, b) = (given.this::<Vector>()?, given.vector(0)?);
            let made = Vector::new(a.components.cross(&b.components), product(a.dimension, b.dimension)?);
            if made.is_finite() { Ok(made.into_value()) } else { Err(Fault::new("the vector product is too large")) }
        })
    },
    Definition {
        summary: "The angle between two directions.",
        parameters: &[Parameter::new("other", VECTOR, "of any dimension, not zero")],
        returns: (ANGLE, "from 0 to 180°"),
        source: Some("W. Kahan's half-angle form, accurate at both ends [Kahan2006]"),
        see_also: &["dot", "cross"],
        examples: &[Example::close("vec(1, 0, 0).angle_to(vec(0.km, 3.km, 0.km))", "90.deg", "1e-12.deg")],
        ..Definition::method("Vector", "angle_to", |given| {
            let (a, b) = (unit_vector(given.this()?)?, unit_vector(given.vector(0)?)?);
            Ok(value::quantity(Quantity::angle(2.0 * (a - b).norm().atan2((a + b).norm()))))
        })
    },
];
