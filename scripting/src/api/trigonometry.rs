//! Angles: trigonometric functions take them and their inverses give them.

use rhai::Dynamic;
use visviva_engine::quantity::Quantity;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, Kind};
use super::value;

const TURN: &[Parameter] = &[Parameter::new("angle", ANGLE, "of any size")];
const RATIO: &[Parameter] = &[Parameter::new("x", Kind::Number, "from -1 to 1")];

fn of_angle(given: &Given, function: fn(f64) -> f64) -> Answer {
    Ok(Dynamic::from_float(function(given.angle(0)?)))
}

fn inverse(given: &Given, function: fn(f64) -> f64) -> Answer {
    let x = given.number(0)?;
    let angle = function(x);
    if angle.is_nan() {
        return Err(Fault::new(format!(
            "`{}` takes numbers from -1 to 1, got {}",
            given.definition.name,
            value::show_number(x)
        ))
        .at(0));
    }
    Ok(value::quantity(Quantity::angle(angle)))
}

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The sine of an angle.",
        parameters: TURN,
        returns: (Kind::Number, "from -1 to 1"),
        see_also: &["asin", "cos"],
        examples: &[Example::close("sin(30.deg)", "0.5", "1e-15")],
        ..Definition::function("sin", |given| of_angle(given, f64::sin))
    },
    Definition {
        summary: "The cosine of an angle.",
        parameters: TURN,
        returns: (Kind::Number, "from -1 to 1"),
        see_also: &["acos", "sin"],
        examples: &[Example::close("cos(60.deg)", "0.5", "1e-15")],
        ..Definition::function("cos", |given| of_angle(given, f64::cos))
    },
    Definition {
        summary: "The tangent of an angle.",
        parameters: TURN,
        returns: (Kind::Number, "of any size"),
        see_also: &["atan", "atan2"],
        examples: &[Example::close("tan(45.deg)", "1", "1e-15")],
        ..Definition::function("tan", |given| of_angle(given, f64::tan))
    },
    Definition {
        summary: "The angle with this sine.",
        parameters: RATIO,
        returns: (ANGLE, "from -90° to 90°"),
        see_also: &["sin"],
        examples: &[Example::close("asin(0.5)", "30.deg", "1e-13.deg")],
        ..Definition::function("asin", |given| inverse(given, f64::asin))
    },
    Definition {
        summary: "The angle with this cosine.",
        parameters: RATIO,
        returns: (ANGLE, "from 0 to 180°"),
        see_also: &["cos"],
        examples: &[Example::close("acos(0)", "90.deg", "1e-13.deg")],
        ..Definition::function("acos", |given| inverse(given, f64::acos))
    },
    Definition {
        summary: "The angle with this tangent.",
        parameters: &[Parameter::new("x", Kind::Number, "of any size")],
        returns: (ANGLE, "from -90° to 90°"),
        see_also: &["tan", "atan2"],
        examples: &[Example::close("atan(1)", "45.deg", "1e-13.deg")],
        ..Definition::function("atan", |given| inverse(given, f64::atan))
    },
    Definition {
        summary: "The angle of a point in the plane, counted from the x axis towards the y axis.",
        parameters: &[
            Parameter::new("y", Kind::Scalar, "the second coordinate"),
            Parameter::new("x", Kind::Scalar, "the first coordinate, of the same dimension"),
        ],
        returns: (ANGLE, "from -180° to 180°"),
        see_also: &["atan"],
        examples: &[Example::close("atan2(1.km, -1.km)", "135.deg", "1e-13.deg")],
        ..Definition::function("atan2", |given| {
            let (y, x) = (given.scalar(0)?, given.scalar(1)?);
            if y.dimension != x.dimension {
                let what =
                    format!("`atan2` needs one dimension: {} and {}", y.dimension.described(), x.dimension.described());
                return Err(Fault::new(what).at(1));
            }
            Ok(value::quantity(Quantity::angle(y.value.atan2(x.value))))
        })
    },
    Definition {
        summary: "Half a turn as a bare number.",
        returns: (Kind::Number, "3.14159..."),
        see_also: &["sin"],
        examples: &[Example::close("pi()", "180.deg.to(\"rad\")", "1e-15")],
        ..Definition::function("pi", |_| Ok(Dynamic::from_float(std::f64::consts::PI)))
    },
];
