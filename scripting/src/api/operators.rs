//! Operators. One adapter on any two values for each; the interpreter keeps its own for two whole numbers, texts and
//! lists, except where a promise of the language needs ours: `7/2` is `3.5`, `6/2` is `3`, and nothing is infinite.

use std::any::TypeId;

use rhai::{Array, Dynamic, Engine, EvalAltResult, FLOAT, INT, NativeCallContext};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::time::Epoch;

use super::definition::Answer;
use super::fault::Fault;
use super::value;
use super::vector::Vector;

/// An operand of arithmetic.
enum Operand {
    Scalar(Quantity),
    Vector(Vector),
    Epoch(Epoch),
    Other,
}

impl Operand {
    fn of(value: &Dynamic) -> Self {
        if let Some(quantity) = value::scalar(value) {
            Self::Scalar(quantity)
        } else if let Some(vector) = value.read_lock::<Vector>() {
            Self::Vector(*vector)
        } else if let Some(epoch) = value.read_lock::<Epoch>() {
            Self::Epoch(*epoch)
        } else {
            Self::Other
        }
    }
}

const ARITHMETIC: [&str; 6] = ["+", "-", "*", "/", "%", "**"];
const COMPARISONS: [&str; 6] = ["==", "!=", "<", "<=", ">", ">="];

/// Registers all operators.
pub(super) fn register(engine: &mut Engine) {
    let any = TypeId::of::<Dynamic>();
    let (whole, fraction) = (TypeId::of::<INT>(), TypeId::of::<FLOAT>());
    for name in ARITHMETIC {
        binary(engine, name, [any; 2], arithmetic);
        // Two numbers: ours instead of the interpreter's, which would give infinity or drop the fraction. It keeps
        // checked arithmetic of two whole numbers, but for division and powers.
        for types in [[fraction, fraction], [whole, fraction], [fraction, whole]] {
            binary(engine, name, types, arithmetic);
            assigning(engine, name, types);
        }
        if name == "/" || name == "**" {
            binary(engine, name, [whole, whole], arithmetic);
            assigning(engine, name, [whole, whole]);
        }
    }
    for name in COMPARISONS {
        binary(engine, name, [any; 2], comparison);
    }
    // The interpreter's `sort` leaves values that it cannot compare as they are, in silence.
    engine.register_raw_fn("sort", [TypeId::of::<Array>()], |_: NativeCallContext, arguments: &mut [&mut Dynamic]| {
        if let Some(mut list) = arguments.first_mut().and_then(|list| list.write_lock::<Array>()) {
            let items = super::maths::sorted(list.clone()).map_err(Fault::into_error)?;
            *list = items;
        }
        Ok(())
    });
    for name in ["-", "+"] {
        engine.register_raw_fn(name, [any], move |_: NativeCallContext, arguments: &mut [&mut Dynamic]| {
            let Some(operand) = arguments.first() else {
                return Ok(Dynamic::UNIT);
            };
            sign(name, operand).map_err(Fault::into_error)
        });
    }
}

fn binary(
    engine: &mut Engine,
    name: &'static str,
    types: [TypeId; 2],
    operate: fn(&str, &Dynamic, &Dynamic) -> Answer,
) {
    engine.register_raw_fn(name, types, move |_: NativeCallContext, arguments: &mut [&mut Dynamic]| match arguments {
        [a, b] => operate(name, a, b).map_err(Fault::into_error),
        _ => Err("an operator takes two operands".into()),
    });
}

/// `x /= y` on numbers: writes to its first operand, where the plain operator would be passed over.
fn assigning(engine: &mut Engine, name: &'static str, types: [TypeId; 2]) {
    engine.register_raw_fn(
        format!("{name}="),
        types,
        move |_: NativeCallContext, arguments: &mut [&mut Dynamic]| -> Result<(), Box<EvalAltResult>> {
            if let [a, b] = arguments {
                let answer = arithmetic(name, a, b).map_err(Fault::into_error)?;
                match a.write_lock::<Dynamic>() {
                    Some(mut place) => *place = answer,
                    None => return Err("the left side cannot be changed here".into()),
                }
            }
            Ok(())
        },
    );
}

fn sign(name: &str, operand: &Dynamic) -> Answer {
    if let Ok(whole) = operand.as_int() {
        let answer = if name == "-" { whole.checked_neg() } else { Some(whole) };
        return answer.map(Dynamic::from_int).ok_or_else(|| too_large(name));
    }
    match Operand::of(operand) {
        Operand::Scalar(quantity) if name == "-" => {
            Ok(value::quantity(Quantity::new(-quantity.value, quantity.dimension)))
        }
        Operand::Scalar(quantity) => Ok(value::quantity(quantity)),
        Operand::Vector(vector) if name == "-" => Ok(Dynamic::from(vector.scaled(-1.0))),
        Operand::Vector(vector) => Ok(Dynamic::from(vector)),
        _ => Err(Fault::new(format!("{} has no sign", value::describe(operand)))),
    }
}

fn too_large(operator: &str) -> Fault {
    Fault::new(format!("the result of `{operator}` is too large for a whole number"))
        .help("write 2.0 for a number with a fraction")
}

/// `+ - * / % **` on everything the interpreter does not do itself.
pub(crate) fn arithmetic(name: &str, a: &Dynamic, b: &Dynamic) -> Answer {
    if let (Ok(left), Ok(right)) = (a.as_int(), b.as_int())
        && let Some(answer) = whole_numbers(name, left, right)
    {
        return answer;
    }
    let answer = match (Operand::of(a), Operand::of(b)) {
        (Operand::Scalar(left), Operand::Scalar(right)) => {
            return finite(name, a, b, scalars(name, left, right).unwrap_or_else(|| Err(unlike(name, a, b)))?);
        }
        (Operand::Vector(left), Operand::Vector(right)) if left.dimension == right.dimension && name == "+" => {
            left.plus(right)
        }
        (Operand::Vector(left), Operand::Vector(right)) if left.dimension == right.dimension && name == "-" => {
            left.plus(right.scaled(-1.0))
        }
        (Operand::Vector(left), Operand::Scalar(right)) if name == "*" => left.times(right)?,
        (Operand::Scalar(left), Operand::Vector(right)) if name == "*" => right.times(left)?,
        (Operand::Vector(left), Operand::Scalar(right)) if name == "/" => {
            if right.value == 0.0 {
                return Err(division_by_zero());
            }
            left.over(right)?
        }
        (Operand::Vector(_), Operand::Vector(_)) if name == "*" => {
            return Err(Fault::new("`*` of two vectors has two meanings").help("write a.dot(b) or a.cross(b)"));
        }
        (Operand::Epoch(left), Operand::Scalar(right)) if right.dimension == Dimension::TIME && name == "+" => {
            return Ok(Dynamic::from(left.try_after(right.value)?));
        }
        (Operand::Scalar(left), Operand::Epoch(right)) if left.dimension == Dimension::TIME && name == "+" => {
            return Ok(Dynamic::from(right.try_after(left.value)?));
        }
        (Operand::Epoch(left), Operand::Scalar(right)) if right.dimension == Dimension::TIME && name == "-" => {
            return Ok(Dynamic::from(left.try_after(-right.value)?));
        }
        (Operand::Epoch(left), Operand::Epoch(right)) if name == "-" => {
            return Ok(value::quantity(Quantity::time(left.seconds_since(right))));
        }
        _ => return Err(unlike(name, a, b)),
    };
    if answer.is_finite() { Ok(answer.into_value()) } else { Err(not_finite(name, a, b)) }
}

/// Division and powers of whole numbers, exact where the answer is whole.
fn whole_numbers(name: &str, left: INT, right: INT) -> Option<Answer> {
    match name {
        "/" | "%" if right == 0 => Some(Err(division_by_zero())),
        "/" if left.checked_rem(right) == Some(0) => {
            Some(left.checked_div(right).map(Dynamic::from_int).ok_or_else(|| too_large(name)))
        }
        "**" if right >= 0 => {
            let power = u32::try_from(right).ok().and_then(|exponent| left.checked_pow(exponent));
            Some(power.map(Dynamic::from_int).ok_or_else(|| too_large(name)))
        }
        "+" => Some(left.checked_add(right).map(Dynamic::from_int).ok_or_else(|| too_large(name))),
        "-" => Some(left.checked_sub(right).map(Dynamic::from_int).ok_or_else(|| too_large(name))),
        "*" => Some(left.checked_mul(right).map(Dynamic::from_int).ok_or_else(|| too_large(name))),
        "%" => Some(left.checked_rem(right).map(Dynamic::from_int).ok_or_else(|| too_large(name))),
        _ => None,
    }
}

/// `None`: the dimensions do not go together.
fn scalars(name: &str, left: Quantity, right: Quantity) -> Option<Result<Quantity, Fault>> {
    let same = left.dimension == right.dimension;
    let made = |value: f64| Some(Ok(Quantity::new(value, left.dimension)));
    match name {
        "+" if same => made(left.value + right.value),
        "-" if same => made(left.value - right.value),
        "*" => Some(left.times(right).map_err(Fault::from)),
        "/" | "%" if right.value == 0.0 => Some(Err(division_by_zero())),
        "/" => Some(left.over(right).map_err(Fault::from)),
        "%" if same => made(left.value % right.value),
        "**" if right.dimension == Dimension::NUMBER => {
            if left.dimension == Dimension::NUMBER {
                return made(left.value.powf(right.value));
            }
            Some(power(left, right.value))
        }
        _ => None,
    }
}

/// Whole powers and roots of a quantity; `** 0.5` is the square root.
fn power(base: Quantity, exponent: f64) -> Result<Quantity, Fault> {
    let twice = exponent * 2.0;
    if exponent.fract() == 0.0 && exponent.abs() <= 60.0 {
        Ok(base.power(exponent as i32)?)
    } else if twice.fract() == 0.0 && twice.abs() <= 60.0 {
        Ok(base.root(2)?.power(twice as i32)?)
    } else {
        Err(Fault::new("a quantity can be raised to whole and half powers only")
            .help("for another power take the bare number first: .to(\"m\")"))
    }
}

fn finite(name: &str, a: &Dynamic, b: &Dynamic, answer: Quantity) -> Answer {
    if answer.value.is_finite() { Ok(value::quantity(answer)) } else { Err(not_finite(name, a, b)) }
}

fn not_finite(name: &str, a: &Dynamic, b: &Dynamic) -> Fault {
    Fault::new(format!("{} {name} {} has no finite answer", value::show(a), value::show(b)))
}

fn division_by_zero() -> Fault {
    Fault::new("division by zero")
}

fn unlike(name: &str, a: &Dynamic, b: &Dynamic) -> Fault {
    let (left, right) = (value::describe(a), value::describe(b));
    let what = match name {
        "+" => format!("cannot add {right} to {left}"),
        "-" => format!("cannot subtract {right} from {left}"),
        "*" => format!("cannot multiply {left} by {right}"),
        "/" => format!("cannot divide {left} by {right}"),
        "%" => format!("cannot take the remainder of {left} by {right}"),
        _ => format!("cannot raise {left} to {right}"),
    };
    let fault = Fault::new(what).note(format!("{} {name} {}", value::show(a), value::show(b)));
    match help_for(name, a, b) {
        Some(help) => fault.help(help),
        None => fault,
    }
}

/// What to write when one side is a bare number, or both are quantities of different dimension.
fn help_for(name: &str, a: &Dynamic, b: &Dynamic) -> Option<String> {
    let side = |other: &Dynamic| match Operand::of(other) {
        Operand::Scalar(quantity) if quantity.dimension != Dimension::NUMBER => Some(quantity.dimension),
        Operand::Epoch(_) => Some(Dimension::TIME),
        _ => None,
    };
    if let (Some(number), Some(dimension)) = (value::number(a), side(b)) {
        return Some(format!("write {}", value::as_written(number, dimension)?));
    }
    if let (Some(number), Some(dimension)) = (value::number(b), side(a)) {
        return Some(format!("write {}", value::as_written(number, dimension)?));
    }
    let both = matches!((Operand::of(a), Operand::of(b)), (Operand::Scalar(_), Operand::Scalar(_)));
    match name {
        "+" | "-" | "%" if both => Some(format!(
            "both sides must have one dimension; for bare numbers write .to(\"{}\") and .to(\"{}\")",
            unit_name(a)?,
            unit_name(b)?
        )),
        "**" => Some("the exponent is a bare number".to_owned()),
        _ => None,
    }
}

fn unit_name(value: &Dynamic) -> Option<String> {
    let dimension = value::scalar(value)?.dimension;
    let property = value::usual_unit(dimension)?;
    visviva_engine::quantity::Unit::by_property(property).map(|unit| unit.name.to_string())
}

/// `== != < <= > >=` on everything the interpreter does not compare itself.
fn comparison(name: &str, a: &Dynamic, b: &Dynamic) -> Answer {
    if name == "==" || name == "!=" {
        return Ok(Dynamic::from_bool(same(a, b)? == (name == "==")));
    }
    let order = order(a, b)?;
    let answer = match name {
        "<" => order.is_lt(),
        "<=" => order.is_le(),
        ">" => order.is_gt(),
        _ => order.is_ge(),
    };
    Ok(Dynamic::from_bool(answer))
}

/// Equality: a value never equals nothing, a text or a value of another noun; quantities of unlike dimension are an
/// error, because that comparison is a mistake and not a `false`.
pub(crate) fn same(a: &Dynamic, b: &Dynamic) -> Result<bool, Fault> {
    if let (Some(left), Some(right)) = (value::scalar(a), value::scalar(b)) {
        if left.dimension == right.dimension {
            return Ok(left.value == right.value);
        }
        return Err(incomparable(a, b));
    }
    if let (Some(left), Some(right)) = (a.read_lock::<Array>(), b.read_lock::<Array>()) {
        if left.len() != right.len() {
            return Ok(false);
        }
        for (one, other) in left.iter().zip(right.iter()) {
            if !same(one, other)? {
                return Ok(false);
            }
        }
        return Ok(true);
    }
    if let (Ok(left), Ok(right)) = (a.as_immutable_string_ref(), b.as_immutable_string_ref()) {
        return Ok(*left == *right);
    }
    if let (Ok(left), Ok(right)) = (a.as_bool(), b.as_bool()) {
        return Ok(left == right);
    }
    if a.is_unit() || b.is_unit() {
        return Ok(a.is_unit() && b.is_unit());
    }
    if a.type_id() != b.type_id() {
        return Ok(false);
    }
    match value::entry_of(a).and_then(|entry| (entry.same)(a, b)) {
        Some(answer) => Ok(answer),
        None => Err(Fault::new(format!("{} cannot be compared", value::describe(a)))),
    }
}

/// Order of two numbers, quantities of one dimension, epochs or texts.
pub(crate) fn order(a: &Dynamic, b: &Dynamic) -> Result<std::cmp::Ordering, Fault> {
    if let (Some(left), Some(right)) = (value::scalar(a), value::scalar(b)) {
        if left.dimension == right.dimension {
            return Ok(left.value.total_cmp(&right.value));
        }
        return Err(incomparable(a, b));
    }
    if let (Some(left), Some(right)) = (a.read_lock::<Epoch>(), b.read_lock::<Epoch>()) {
        return Ok(left.cmp(&right));
    }
    if let (Ok(left), Ok(right)) = (a.as_immutable_string_ref(), b.as_immutable_string_ref()) {
        return Ok(left.as_str().cmp(right.as_str()));
    }
    Err(incomparable(a, b))
}

fn incomparable(a: &Dynamic, b: &Dynamic) -> Fault {
    let fault = Fault::new(format!("cannot compare {} with {}", value::describe(a), value::describe(b)));
    match help_for("<", a, b) {
        Some(help) => fault.help(help),
        None => fault,
    }
}
