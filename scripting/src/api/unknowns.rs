//! The unknowns of `solve` and `minimise`: names, dimensions, scales; a map for the script, a list for the engine.

use rhai::{Dynamic, Map};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::time::Epoch;

use super::fault::Fault;
use super::options::Options;
use super::value;

enum Sort {
    Scalar(Dimension),
    /// Searched as seconds from this instant.
    Epoch(Epoch),
}

/// Unknowns by name, in the order of their names.
pub(super) struct Unknowns {
    names: Vec<String>,
    sorts: Vec<Sort>,
    /// SI values of the guess.
    pub(super) start: Vec<f64>,
    /// A typical change of each.
    pub(super) scale: Vec<f64>,
    /// Low and high.
    pub(super) bounds: Vec<(f64, f64)>,
}

impl Unknowns {
    /// From the options `guess` and, where there are any, `bounds`.
    pub(super) fn read(options: &Options) -> Result<Self, Fault> {
        let guess = options.map("guess")?.unwrap_or_default();
        if guess.is_empty() {
            return Err(options.fault("guess", "there are no unknowns").help("write guess: #{ x: 1.km }"));
        }
        let mut bounds = if options.knows("bounds") { options.map("bounds")?.unwrap_or_default() } else { Map::new() };
        let mut made =
            Self { names: Vec::new(), sorts: Vec::new(), start: Vec::new(), scale: Vec::new(), bounds: Vec::new() };
        for (name, first) in guess {
            let (sort, start) = match (value::scalar(&first), first.read_lock::<Epoch>()) {
                (Some(quantity), _) => (Sort::Scalar(quantity.dimension), quantity.value),
                (None, Some(epoch)) => (Sort::Epoch(*epoch), 0.0),
                (None, None) => {
                    let what = format!(
                        "the unknown `{name}` must be a number, a quantity or an epoch, got {}",
                        value::describe(&first)
                    );
                    return Err(options.fault("guess", what));
                }
            };
            let limits = match bounds.remove(&name) {
                None => (f64::NEG_INFINITY, f64::INFINITY),
                Some(pair) => read_bounds(options, &name, &sort, &pair)?,
            };
            made.scale.push(scale_of(&sort, start, limits));
            made.names.push(name.to_string());
            made.sorts.push(sort);
            made.start.push(start);
            made.bounds.push(limits);
        }
        match bounds.keys().next() {
            Some(name) => {
                Err(options.fault("bounds", format!("there are bounds for `{name}`, which is not in `guess`")))
            }
            None => Ok(made),
        }
    }

    /// For a search everywhere within bounds: from `bounds`, and from `guess` where there is one; the start is the guess, else the middle.
    pub(super) fn within(options: &Options) -> Result<Self, Fault> {
        let given = options.map("bounds")?.unwrap_or_default();
        let unbounded = |name: &str| {
            options
                .fault("guess", format!("a global search needs bounds for `{name}`"))
                .help(format!("write bounds: #{{ {name}: [low, high] }}"))
        };
        if options.has("guess") {
            let made = Self::read(options)?;
            return match made.names.iter().find(|name| !given.contains_key(name.as_str())) {
                Some(name) => Err(unbounded(name)),
                None => Ok(made),
            };
        }
        if given.is_empty() {
            return Err(Fault::new("a global search needs bounds for every unknown")
                .at(0)
                .help("write bounds: #{ x: [low, high] }"));
        }
        let mut made =
            Self { names: Vec::new(), sorts: Vec::new(), start: Vec::new(), scale: Vec::new(), bounds: Vec::new() };
        for (name, pair) in &given {
            let first = pair.read_lock::<rhai::Array>().and_then(|list| list.first().cloned());
            let Some(first) = first else { return Err(not_bounds(options, name)) };
            let sort = match (value::scalar(&first), first.read_lock::<Epoch>()) {
                (Some(quantity), _) => Sort::Scalar(quantity.dimension),
                (None, Some(epoch)) => Sort::Epoch(*epoch),
                (None, None) => return Err(not_bounds(options, name)),
            };
            let limits = read_bounds(options, name, &sort, pair)?;
            let middle = 0.5 * (limits.0 + limits.1);
            made.scale.push(scale_of(&sort, middle, limits));
            made.names.push(name.to_string());
            made.sorts.push(sort);
            made.start.push(middle);
            made.bounds.push(limits);
        }
        Ok(made)
    }

    /// The map that the script's closure gets.
    pub(super) fn map(&self, x: &[f64]) -> Result<Map, Fault> {
        let mut map = Map::new();
        for ((name, sort), x) in self.names.iter().zip(&self.sorts).zip(x) {
            let item = match sort {
                Sort::Scalar(dimension) => value::quantity(Quantity::new(*x, *dimension)),
                Sort::Epoch(from) => Dynamic::from(from.try_after(*x)?),
            };
            map.insert(name.as_str().into(), item);
        }
        Ok(map)
    }
}

fn not_bounds(options: &Options, name: &str) -> Fault {
    options
        .fault("bounds", format!("the bounds of `{name}` are two values of its kind, the lower one first"))
        .help(format!("write bounds: #{{ {name}: [low, high] }}"))
}

fn read_bounds(options: &Options, name: &str, sort: &Sort, pair: &Dynamic) -> Result<(f64, f64), Fault> {
    let list = pair.read_lock::<rhai::Array>().map(|list| list.clone()).unwrap_or_default();
    let [low, high] = list.as_slice() else { return Err(not_bounds(options, name)) };
    let si = |limit: &Dynamic| match sort {
        Sort::Scalar(dimension) => {
            value::scalar(limit).filter(|limit| limit.dimension == *dimension).map(|limit| limit.value)
        }
        Sort::Epoch(from) => limit.read_lock::<Epoch>().map(|limit| limit.seconds_since(*from)),
    };
    match (si(low), si(high)) {
        (Some(first), Some(second)) if first < second => Ok((first, second)),
        (Some(first), Some(second)) => {
            let (low, high) = (value::show(low), value::show(high));
            let by = match sort {
                Sort::Scalar(dimension) => Quantity::new(first - second, *dimension),
                Sort::Epoch(_) => Quantity::new(first - second, Dimension::TIME),
            };
            let what = if first == second {
                format!("the bounds of `{name}` leave no room: both are {low}")
            } else {
                let by = value::show(&value::quantity(by));
                format!("the bounds of `{name}` are the wrong way round: {low} is above {high}, by {by}")
            };
            Err(options.fault("bounds", what).help(format!("write bounds: #{{ {name}: [low, high] }}")))
        }
        _ => Err(not_bounds(options, name)),
    }
}

/// A typical change: of the order of the guess, a quarter of the bounds, else what the dimension suggests.
fn scale_of(sort: &Sort, start: f64, (low, high): (f64, f64)) -> f64 {
    let width = high - low;
    if width.is_finite() {
        return width / 4.0;
    }
    match sort {
        Sort::Epoch(_) => 86_400.0,
        Sort::Scalar(_) if start != 0.0 => start.abs(),
        Sort::Scalar(dimension) if *dimension == Dimension::LENGTH => 1e3,
        Sort::Scalar(dimension) if *dimension == Dimension::ANGLE => 0.1,
        Sort::Scalar(_) => 1.0,
    }
}
