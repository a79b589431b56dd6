//! `solve` and `minimise`: unknowns of anything that a script can compute. The noun `Solution`.

use std::fmt::Write as _;

use rhai::{Dynamic, EvalAltResult, Map, Position};
use serde_json::{Value, json};
use visviva_engine::numerics::least_squares::{self, Stop};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::minimum::{MINIMISE, minimum};
use super::noun::Noun;
use super::unknowns::Unknowns;
use super::value;
use super::vector::Vector;

/// What a search found, and why it stopped.
#[derive(Debug, Clone)]
pub struct Solution {
    pub(super) x: Map,
    pub(super) residuals: Vec<Quantity>,
    pub(super) cost: Option<Dynamic>,
    pub(super) iterations: usize,
    pub(super) evaluations: usize,
    pub(super) why: &'static str,
    pub(super) solved: bool,
    /// Places whose cost could not be computed, and the first reason.
    pub(super) failed: Option<(usize, String)>,
}

impl Noun for Solution {
    const NAME: &'static str = "Solution";
    const ABOUT: &'static str = "Unknowns that a search found, what remained, and why it stopped.";

    fn show(&self) -> String {
        let mut text = String::new();
        for (name, item) in &self.x {
            let _ = writeln!(text, "{name} = {}", value::show(item));
        }
        if let Some(cost) = &self.cost {
            let _ = writeln!(text, "cost {}", value::show(cost));
        }
        if !self.residuals.is_empty() {
            let residuals: Vec<String> =
                self.residuals.iter().map(|residual| value::show(&value::quantity(*residual))).collect();
            let _ = writeln!(text, "residuals {}", residuals.join(", "));
        }
        let _ = write!(text, "{} iterations, {} evaluations: {}", self.iterations, self.evaluations, self.why);
        if let Some((count, first)) = &self.failed {
            let _ = write!(text, "\n{count} places have no cost, the first: {first}");
        }
        text
    }

    fn to_json(&self) -> Value {
        let x: serde_json::Map<String, Value> =
            self.x.iter().map(|(name, item)| (name.to_string(), value::to_json(item))).collect();
        json!({
            "x": x,
            "residuals": self.residuals.iter().map(|residual| value::to_json(&value::quantity(*residual))).collect::<Vec<_>>(),
            "cost": self.cost.as_ref().map(value::to_json),
            "iterations": self.iterations,
            "evaluations": self.evaluations,
            "why": self.why,
            "solved": self.solved,
            "failed": self.failed.as_ref().map_or(0, |(count, _)| *count),
        })
    }
}

/// How much of each dimension a residual may keep when the script does not say it.
fn usual_tolerance(dimension: Dimension) -> Option<f64> {
    let table = [
        (Dimension::LENGTH, 1.0),
        (Dimension::SPEED, 1e-3),
        (Dimension::TIME, 1e-3),
        (Dimension::ANGLE, 1e-9),
        (Dimension::NUMBER, 1e-9),
        (Dimension::MASS, 1e-3),
    ];
    table.iter().find(|(known, _)| *known == dimension).map(|(_, tolerance)| *tolerance)
}

/// What the residuals' closure gave, vectors taken apart.
fn flat(answer: &Dynamic) -> Result<Vec<Quantity>, Fault> {
    let one = [answer.clone()];
    let list = answer.read_lock::<rhai::Array>().map(|list| list.clone());
    let mut residuals = Vec::new();
    for item in list.as_deref().unwrap_or(&one) {
        if let Some(quantity) = value::scalar(item) {
            residuals.push(quantity);
        } else if let Some(vector) = item.read_lock::<Vector>() {
            residuals.extend(vector.components.iter().map(|component| Quantity::new(*component, vector.dimension)));
        } else {
            return Err(Fault::new(format!(
                "a residual must be a number, a quantity or a vector, got {}",
                value::describe(item)
            )));
        }
    }
    if residuals.is_empty() {
        return Err(Fault::new("the closure gave no residuals").help("it answers a list: |x| [x.a - 1.km]"));
    }
    Ok(residuals)
}

fn tolerances(given: &Given, residuals: &[Quantity]) -> Result<Vec<f64>, Fault> {
    let options = given.options(0)?;
    let said = match (options.list("tolerance").ok().flatten(), options.value("tolerance")) {
        (Some(list), _) => list,
        (None, Some(one)) => vec![one.clone(); residuals.len()],
        (None, None) => Vec::new(),
    };
    if !said.is_empty() && said.len() != residuals.len() {
        let what = format!("there are {} tolerances for {} residuals", said.len(), residuals.len());
        return Err(options.fault("tolerance", what));
    }
    let mut made = Vec::new();
    for (index, residual) in residuals.iter().enumerate() {
        let dimension = residual.dimension;
        let tolerance = match said.get(index) {
            None => usual_tolerance(dimension).ok_or_else(|| {
                options
                    .fault(
                        "residuals",
                        format!("residual {} is {}, which has no usual tolerance", index + 1, dimension.described()),
                    )
                    .help("say it: tolerance: [...]")
            })?,
            Some(said) => match value::scalar(said) {
                Some(said) if said.dimension == dimension && said.value > 0.0 => said.value,
                _ => {
                    let what = format!(
                        "the tolerance of residual {} must be {} above zero, got {}",
                        index + 1,
                        dimension.described(),
                        value::show(said)
                    );
                    return Err(options.fault("tolerance", what));
                }
            },
        };
        made.push(tolerance);
    }
    Ok(made)
}

pub(super) fn interrupted() -> Fault {
    Fault::Passed(Box::new(EvalAltResult::ErrorTerminated(Dynamic::UNIT, Position::NONE)))
}

fn solve(given: &Given) -> Answer {
    let options = given.options(0)?;
    let unknowns = Unknowns::read(&options)?;
    let Some(closure) = options.function("residuals")? else {
        return Err(Fault::new("`solve` is missing its option `residuals`"));
    };
    let _frozen = given.run.freeze();
    let evaluate = |x: &[f64]| flat(&given.call(&closure, (unknowns.map(x)?,))?);
    let tolerance = tolerances(given, &evaluate(&unknowns.start)?)?;
    let mut shape: Vec<Dimension> = Vec::new();
    let residuals = |x: &[f64]| -> Result<Vec<f64>, Fault> {
        let found = evaluate(x)?;
        let dimensions: Vec<Dimension> = found.iter().map(|residual| residual.dimension).collect();
        if shape.is_empty() {
            shape = dimensions;
        } else if shape != dimensions {
            return Err(Fault::new("the residuals changed their number or dimension"));
        }
        Ok(found.iter().zip(&tolerance).map(|(residual, tolerance)| residual.value / tolerance).collect())
    };
    let stopped = || !given.run.ceiling.allowed();
    let fit = least_squares::solve(
        &unknowns.start,
        &unknowns.scale,
        &unknowns.bounds,
        residuals,
        &least_squares::Options::default(),
        &Watch::new(&stopped),
    )?;
    if stopped() || fit.stop == Stop::Interrupted {
        return Err(interrupted());
    }
    let solution = Solution {
        x: unknowns.map(&fit.x)?,
        residuals: fit
            .residuals
            .iter()
            .zip(&tolerance)
            .zip(&shape)
            .map(|((residual, tolerance), dimension)| Quantity::new(residual * tolerance, *dimension))
            .collect(),
        cost: None,
        iterations: fit.iterations,
        evaluations: fit.evaluations,
        why: fit.stop.why(),
        solved: fit.solved(),
        failed: None,
    };
    finish(given, solution)
}

/// What did not converge is an error, unless the script asks for what there is.
pub(super) fn finish(given: &Given, solution: Solution) -> Answer {
    let partial = given.options(0)?.flag("partial")?.unwrap_or(false);
    if solution.solved || partial {
        return Ok(Dynamic::from(solution));
    }
    let word = given.definition.name;
    let left: Vec<String> =
        solution.residuals.iter().map(|residual| value::show(&value::quantity(*residual))).collect();
    let fault =
        Fault::new(format!("`{word}` found no answer after {} iterations: {}", solution.iterations, solution.why))
            .help("guess nearer, or take what there is with `partial: true`");
    Err(if left.is_empty() { fault } else { fault.note(format!("the residuals are left at {}", left.join(", "))) })
}

pub(super) const GUESS: Parameter =
    Parameter::new("guess", Kind::Map, "unknowns by name, each a number, quantity or epoch");
const BOUNDS: Parameter = Parameter::optional("bounds", Kind::Map, "for any unknown its [low, high]");
pub(super) const PARTIAL: Parameter =
    Parameter::optional("partial", Kind::Flag, "answer what there is instead of an error");

const SOLVE: &[Parameter] = &[
    GUESS,
    Parameter::new("residuals", Kind::Function, "|x| a list that has to vanish: numbers, quantities, vectors"),
    BOUNDS,
    Parameter::optional(
        "tolerance",
        Kind::Either(&[Kind::List, Kind::Scalar]),
        "one for all residuals or a list; by dimension 1 m, 1 mm/s, 1 ms, 1 g, 1e-9 rad, 1e-9",
    ),
    PARTIAL,
];

fn solution(given: &Given) -> Result<Solution, Fault> {
    given.this::<Solution>()
}

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Finds unknowns for which a list of residuals vanishes. Voyages from outside are frozen meanwhile.",
        parameters: &[Parameter::new("task", Kind::Options(SOLVE), "what is sought")],
        returns: (Kind::Noun("Solution"), "not converged is an error, unless `partial` is set"),
        source: Some("Levenberg–Marquardt [More1978]"),
        see_also: &["minimise", "x"],
        examples: &[Example::close(
            "solve(#{ guess: #{ side: 1.km }, residuals: |u| [u.side * u.side - 9.km2], tolerance: 1e-6.m2 }).x.side",
            "3.km",
            "1e-6.m",
        )],
        ..Definition::function("solve", solve)
    },
    Definition {
        summary: "Finds unknowns for which a cost is least: near the guess, or with `search: \"global\"` anywhere within bounds.",
        parameters: &[Parameter::new("task", Kind::Options(MINIMISE), "what is sought")],
        returns: (Kind::Noun("Solution"), "no search can prove that nothing lower exists"),
        source: Some(
            "local: [Brent1973] for one unknown, [NelderMead1965] for several; global: [TanabeFukunaga2014], [Leary2000], [Hansen2016]",
        ),
        see_also: &["solve", "windows"],
        examples: &[
            Example::close(
                "minimise(#{ guess: #{ t: 1.s }, bounds: #{ t: [0.s, 10.s] }, cost: |u| (u.t - 3.s) ** 2 }).x.t",
                "3.s",
                "1e-6.s",
            ),
            Example::close(
                "minimise(#{ search: \"global\", bounds: #{ x: [-3, 3], y: [-2, 2] }, evaluations: 3000, cost: |u| \
                 (4 - 2.1 * u.x ** 2 + u.x ** 4 / 3) * u.x ** 2 + u.x * u.y + (4 * u.y ** 2 - 4) * u.y ** 2 }).cost",
                "-1.031628453",
                "1e-8",
            ),
        ],
        ..Definition::function("minimise", minimum)
    },
    Definition {
        summary: "The unknowns by name.",
        returns: (Kind::Map, "x.NAME is one of them"),
        see_also: &["solve"],
        examples: &[Example::close("solve(#{ guess: #{ a: 1 }, residuals: |u| [u.a - 2] }).x.a", "2", "1e-9")],
        ..Definition::property("Solution", "x", |given| Ok(Dynamic::from_map(solution(given)?.x)))
    },
    Definition {
        summary: "What is left of each residual.",
        returns: (Kind::List, "in the order of the closure, vectors taken apart"),
        see_also: &["solve"],
        examples: &[Example::exact("solve(#{ guess: #{ a: 1 }, residuals: |u| [u.a - 2] }).residuals.len()", "1")],
        ..Definition::property("Solution", "residuals", |given| {
            let residuals = solution(given)?.residuals;
            Ok(Dynamic::from_array(residuals.into_iter().map(value::quantity).collect()))
        })
    },
    Definition {
        summary: "The least cost that was found.",
        returns: (Kind::Anything, "`()` for a solution of residuals"),
        see_also: &["minimise"],
        examples: &[Example::close("minimise(#{ guess: #{ a: 1 }, cost: |u| (u.a - 2) ** 2 + 5 }).cost", "5", "1e-9")],
        ..Definition::property("Solution", "cost", |given| Ok(solution(given)?.cost.unwrap_or(Dynamic::UNIT)))
    },
    Definition {
        summary: "How many steps the search took.",
        returns: (Kind::Whole, "accepted steps"),
        see_also: &["evaluations"],
        examples: &[Example::exact("solve(#{ guess: #{ a: 1 }, residuals: |u| [u.a - 2] }).iterations > 0", "true")],
        ..Definition::property("Solution", "iterations", |given| {
            Ok(Dynamic::from_int(solution(given)?.iterations as i64))
        })
    },
    Definition {
        summary: "How often the closure was called.",
        returns: (Kind::Whole, "calls, those for derivatives included"),
        see_also: &["iterations"],
        examples: &[Example::exact("solve(#{ guess: #{ a: 1 }, residuals: |u| [u.a - 2] }).evaluations > 1", "true")],
        ..Definition::property("Solution", "evaluations", |given| {
            Ok(Dynamic::from_int(solution(given)?.evaluations as i64))
        })
    },
    Definition {
        summary: "At how many places the cost could not be computed; they count as infinitely high.",
        returns: (Kind::Whole, "of a global search; 0 otherwise"),
        see_also: &["evaluations"],
        examples: &[Example::exact(
            "minimise(#{ search: \"global\", bounds: #{ a: [0, 1] }, cost: |u| (u.a - 0.3) ** 2, evaluations: 500 }).failed",
            "0",
        )],
        ..Definition::property("Solution", "failed", |given| {
            Ok(Dynamic::from_int(solution(given)?.failed.map_or(0, |(count, _)| count) as i64))
        })
    },
    Definition {
        summary: "Why the search stopped, in words.",
        returns: (Kind::Text, ""),
        see_also: &["solved"],
        examples: &[Example::exact(
            "solve(#{ guess: #{ a: 1 }, residuals: |u| [u.a - 2] }).why",
            "\"every residual is within its tolerance\"",
        )],
        ..Definition::property("Solution", "why", |given| Ok(value::text(solution(given)?.why)))
    },
    Definition {
        summary: "Whether it converged.",
        returns: (Kind::Flag, "false only where `partial` was asked for"),
        see_also: &["why"],
        examples: &[Example::exact("solve(#{ guess: #{ a: 1 }, residuals: |u| [u.a - 2] }).solved", "true")],
        ..Definition::property("Solution", "solved", |given| Ok(Dynamic::from_bool(solution(given)?.solved)))
    },
];
