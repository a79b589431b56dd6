//! Functions of numbers and quantities.

use rhai::Dynamic;
use visviva_engine::quantity::Quantity;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::operators::order;
use super::value;

const NUMBER: &[Parameter] = &[Parameter::new("x", Kind::Number, "a bare number")];

/// A float that stays a whole number where the answer is one.
fn whole_or_float(number: f64) -> Dynamic {
    if number.abs() <= 9_007_199_254_740_992.0 { Dynamic::from_int(number as i64) } else { Dynamic::from_float(number) }
}

fn of_number(given: &Given, function: fn(f64) -> f64) -> Answer {
    let x = given.number(0)?;
    let answer = function(x);
    if answer.is_finite() {
        Ok(Dynamic::from_float(answer))
    } else {
        Err(Fault::new(format!("`{}` has no value at {}", given.definition.name, value::show_number(x))).at(0))
    }
}

/// The items of `min(list)` or `min(a, b)`.
fn items(given: &Given) -> Result<Vec<Dynamic>, Fault> {
    if given.count() == 1 && given.value(0)?.is_array() {
        return given.list(0);
    }
    (0..given.count()).map(|index| given.value(index).cloned()).collect()
}

fn extreme(given: &Given, wanted: std::cmp::Ordering) -> Answer {
    let mut best: Option<Dynamic> = None;
    for item in items(given)? {
        let better = match &best {
            None => true,
            Some(known) => order(&item, known)? == wanted,
        };
        if better {
            best = Some(item);
        }
    }
    best.ok_or_else(|| Fault::new(format!("`{}` of an empty list", given.definition.name)).at(0))
}

const SEVERAL: &[Parameter] = &[
    Parameter::new("a", Kind::Anything, "a list, or the first of several values of one dimension"),
    Parameter::optional("b", Kind::Anything, "the second value"),
    Parameter::optional("c", Kind::Anything, "the third value"),
    Parameter::optional("d", Kind::Anything, "the fourth value"),
];

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The size without the sign.",
        parameters: &[Parameter::new("x", Kind::Scalar, "a number or a quantity")],
        returns: (Kind::Scalar, "of the same dimension"),
        see_also: &["sign"],
        examples: &[Example::exact("abs(-3.km)", "3.km")],
        ..Definition::function("abs", |given| {
            if let Ok(whole) = given.value(0)?.as_int() {
                return whole.checked_abs().map(Dynamic::from_int).ok_or_else(|| Fault::new("the number is too large"));
            }
            let x = given.scalar(0)?;
            Ok(value::quantity(Quantity::new(x.value.abs(), x.dimension)))
        })
    },
    Definition {
        summary: "-1, 0 or 1, by the sign.",
        parameters: &[Parameter::new("x", Kind::Scalar, "a number or a quantity")],
        returns: (Kind::Number, "-1, 0 or 1"),
        see_also: &["abs"],
        examples: &[Example::exact("sign(-3.km)", "-1")],
        ..Definition::function("sign", |given| {
            let x = given.scalar(0)?.value;
            Ok(Dynamic::from_int(i64::from(x > 0.0) - i64::from(x < 0.0)))
        })
    },
    Definition {
        summary: "The greatest whole number that is not greater.",
        parameters: NUMBER,
        returns: (Kind::Number, "whole"),
        see_also: &["ceil", "round", "floor_div"],
        examples: &[Example::exact("floor(-1.5)", "-2")],
        ..Definition::function("floor", |given| Ok(whole_or_float(given.number(0)?.floor())))
    },
    Definition {
        summary: "The least whole number that is not less.",
        parameters: NUMBER,
        returns: (Kind::Number, "whole"),
        see_also: &["floor", "round"],
        examples: &[Example::exact("ceil(1.2)", "2")],
        ..Definition::function("ceil", |given| Ok(whole_or_float(given.number(0)?.ceil())))
    },
    Definition {
        summary: "The nearest whole number; halves go away from zero.",
        parameters: NUMBER,
        returns: (Kind::Number, "whole"),
        see_also: &["floor", "ceil"],
        examples: &[Example::exact("round(2.5)", "3")],
        ..Definition::function("round", |given| Ok(whole_or_float(given.number(0)?.round())))
    },
    Definition {
        summary: "How often one value goes into another as a whole.",
        parameters: &[
            Parameter::new("a", Kind::Scalar, "what is divided"),
            Parameter::new("b", Kind::Scalar, "the divisor, of the same dimension, not zero"),
        ],
        returns: (Kind::Number, "whole, rounded down"),
        see_also: &["floor"],
        examples: &[Example::exact("floor_div(7, 2)", "3"), Example::exact("floor_div(10.km, 3.km)", "3")],
        ..Definition::function("floor_div", |given| {
            let (a, b) = (given.scalar(0)?, given.scalar(1)?);
            if a.dimension != b.dimension {
                let what = format!(
                    "`floor_div` needs one dimension: {} and {}",
                    a.dimension.described(),
                    b.dimension.described()
                );
                return Err(Fault::new(what).at(1));
            }
            if b.value == 0.0 {
                return Err(Fault::new("division by zero").at(1));
            }
            if let (Ok(a), Ok(b)) = (given.value(0)?.as_int(), given.value(1)?.as_int()) {
                let down = i64::from(a.checked_rem(b).is_some_and(|rest| rest != 0 && (rest < 0) != (b < 0)));
                return a
                    .checked_div(b)
                    .map(|quotient| Dynamic::from_int(quotient - down))
                    .ok_or_else(|| Fault::new("the result is too large"));
            }
            Ok(whole_or_float((a.value / b.value).floor()))
        })
    },
    Definition {
        summary: "The square root.",
        parameters: &[Parameter::new("x", Kind::Scalar, "a number or a quantity, not negative")],
        returns: (Kind::Scalar, "with half the dimension"),
        see_also: &["exp"],
        examples: &[Example::exact("sqrt(9)", "3"), Example::exact("sqrt(16.km * 1.km)", "4.km")],
        ..Definition::function("sqrt", |given| {
            let x = given.scalar(0)?;
            if x.value < 0.0 {
                return Err(Fault::new(format!("`sqrt` of a negative value: {}", value::show(given.value(0)?))).at(0));
            }
            Ok(value::quantity(x.root(2)?))
        })
    },
    Definition {
        summary: "The exponential function.",
        parameters: NUMBER,
        returns: (Kind::Number, "positive"),
        see_also: &["ln"],
        examples: &[Example::exact("exp(0)", "1")],
        ..Definition::function("exp", |given| of_number(given, f64::exp))
    },
    Definition {
        summary: "The natural logarithm.",
        parameters: NUMBER,
        returns: (Kind::Number, "of a positive number"),
        see_also: &["exp", "log10"],
        examples: &[Example::close("ln(exp(2))", "2", "1e-15")],
        ..Definition::function("ln", |given| of_number(given, f64::ln))
    },
    Definition {
        summary: "The decimal logarithm.",
        parameters: NUMBER,
        returns: (Kind::Number, "of a positive number"),
        see_also: &["ln"],
        examples: &[Example::close("log10(1000)", "3", "1e-15")],
        ..Definition::function("log10", |given| of_number(given, f64::log10))
    },
    Definition {
        summary: "The least of several values, or of a list.",
        parameters: SEVERAL,
        returns: (Kind::Anything, "one of the values"),
        see_also: &["max", "sum", "sorted"],
        examples: &[Example::exact("min(3.km, 200.m)", "200.m"), Example::exact("min([3, 1.5, 2])", "1.5")],
        ..Definition::function("min", |given| extreme(given, std::cmp::Ordering::Less))
    },
    Definition {
        summary: "The greatest of several values, or of a list.",
        parameters: SEVERAL,
        returns: (Kind::Anything, "one of the values"),
        see_also: &["min", "sum", "sorted"],
        examples: &[Example::exact("max(3.km, 200.m)", "3.km")],
        ..Definition::function("max", |given| extreme(given, std::cmp::Ordering::Greater))
    },
    Definition {
        summary: "The sum of a list.",
        parameters: &[Parameter::new("list", Kind::List, "numbers, quantities or vectors of one dimension")],
        returns: (Kind::Anything, "0 for an empty list"),
        see_also: &["min", "max"],
        examples: &[Example::exact("sum([1.km, 500.m])", "1.5.km")],
        ..Definition::function("sum", |given| {
            let mut items = given.list(0)?.into_iter();
            let Some(mut total) = items.next() else {
                return Ok(Dynamic::from_int(0));
            };
            for item in items {
                total = super::operators::arithmetic("+", &total, &item)?;
            }
            Ok(total)
        })
    },
    Definition {
        summary: "The list in ascending order, as a new list.",
        parameters: &[Parameter::new("list", Kind::List, "values that can be compared with each other")],
        returns: (Kind::List, "equal values keep their order"),
        see_also: &["min", "max"],
        examples: &[Example::exact("sorted([3.km, 1.km, 2.km])[0]", "1.km")],
        ..Definition::function("sorted", |given| Ok(Dynamic::from_array(sorted(given.list(0)?)?)))
    },
    Definition {
        summary: "The bare number of a quantity in a unit.",
        parameters: &[Parameter::new("unit", Kind::Text, "a unit of the quantity's dimension: \"km\", \"m/s\"")],
        returns: (Kind::Number, "a bare number"),
        see_also: &["units"],
        examples: &[Example::exact("1.5.km.to(\"m\")", "1500")],
        ..Definition::method("quantity", "to", |given| {
            let quantity: Quantity = given.this()?;
            let unit = given.text(0)?;
            // A property's spelling is meant as its unit.
            let name = visviva_engine::quantity::Unit::by_property(&unit).map_or(unit.as_str(), |unit| unit.name);
            quantity.to(name).map(Dynamic::from_float).map_err(|error| Fault::from(error).at(0))
        })
    },
];

/// Sorts, keeping the order of equal values.
pub(super) fn sorted(mut list: Vec<Dynamic>) -> Result<Vec<Dynamic>, Fault> {
    let mut wrong = None;
    list.sort_by(|a, b| {
        order(a, b).unwrap_or_else(|fault| {
            wrong.get_or_insert(fault);
            std::cmp::Ordering::Equal
        })
    });
    match wrong {
        None => Ok(list),
        Some(fault) => Err(fault),
    }
}
