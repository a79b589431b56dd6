//! How `minimise` searches: the local polish near a guess, and the global search within bounds.

use std::cell::{Cell, RefCell};
use std::sync::atomic::{AtomicBool, Ordering};

use rhai::{Dynamic, EvalAltResult};
use visviva_engine::numerics::global::{self, Progress, Stop};
use visviva_engine::numerics::minimise;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::{Answer, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::Kind;
use super::options::Options;
use super::search::{PARTIAL, Solution, finish, interrupted};
use super::unknowns::Unknowns;
use super::value;
use super::windows::one_of;

/// Evaluations of a global search when the script does not say how many.
const EVALUATIONS: i64 = 20_000;

pub(super) const MINIMISE: &[Parameter] = &[
    Parameter::optional(
        "guess",
        Kind::Map,
        "unknowns by name, each a number, quantity or epoch; a global search can do without",
    ),
    Parameter::new("cost", Kind::Function, "|x| a number or quantity that has to become small"),
    Parameter::optional("bounds", Kind::Map, "for any unknown its [low, high]; for every one in a global search"),
    Parameter::optional(
        "search",
        Kind::Text,
        "\"local\" (default): near the guess; \"global\": anywhere within the bounds",
    ),
    Parameter::optional("seed", Kind::Whole, "global: the same seed gives the same answer; default 1"),
    Parameter::optional("evaluations", Kind::Whole, "most calls of the cost; default 5000, global 20000"),
    Parameter::optional("target", Kind::Scalar, "global: ends as soon as the cost is at or below this"),
    PARTIAL,
];

#[derive(Clone, Copy, PartialEq)]
enum Search {
    Local,
    Global,
}

pub(super) fn minimum(given: &Given) -> Answer {
    let options = given.options(0)?;
    let searches = [("local", Search::Local), ("global", Search::Global)];
    let _frozen = given.run.freeze();
    if one_of(&options, "search", &searches)? == Some(Search::Global) {
        return everywhere(given, &options);
    }
    for key in ["seed", "target"] {
        if options.has(key) {
            return Err(options
                .fault(key, format!("`{key}` belongs to a global search"))
                .help("write search: \"global\" beside it"));
        }
    }
    if !options.has("guess") {
        return Err(Fault::new("`minimise` is missing its option `guess`")
            .at(0)
            .help("guess: #{ x: ... } to search near it, or search: \"global\" with bounds for every unknown"));
    }
    nearby(given, &options)
}

/// What the closure answers, as a number in SI; its dimension stays the same throughout.
fn read(answer: &Dynamic, dimension: &Cell<Option<Dimension>>) -> Result<f64, Fault> {
    let Some(cost) = value::scalar(answer) else {
        let got = value::describe(answer);
        return Err(Fault::new(format!("the cost must be a number or a quantity, got {got}")));
    };
    match dimension.get() {
        Some(known) if known != cost.dimension => Err(Fault::new("the cost changed its dimension")),
        _ => {
            dimension.set(Some(cost.dimension));
            Ok(cost.value)
        }
    }
}

fn count(options: &Options, key: &str, least: i64) -> Result<Option<usize>, Fault> {
    match options.whole(key)? {
        Some(said) if said < least => Err(options.fault(key, format!("`{key}` is at least {least}, got {said}"))),
        said => Ok(said.and_then(|said| usize::try_from(said).ok())),
    }
}

fn shown(cost: f64, dimension: Option<Dimension>) -> Dynamic {
    value::quantity(Quantity::new(cost, dimension.unwrap_or(Dimension::NUMBER)))
}

fn nearby(given: &Given, options: &Options) -> Answer {
    let unknowns = Unknowns::read(options)?;
    let Some(closure) = options.function("cost")? else {
        return Err(Fault::new("`minimise` is missing its option `cost`"));
    };
    let dimension = Cell::new(None);
    let cost = |x: &[f64]| read(&given.call(&closure, (unknowns.map(x)?,))?, &dimension);
    let stopped = || !given.run.ceiling.allowed();
    let usual = minimise::Options::default();
    let evaluations = count(options, "evaluations", 1)?.unwrap_or(usual.evaluations);
    let found = minimise::search(
        &unknowns.start,
        &unknowns.scale,
        &unknowns.bounds,
        cost,
        &minimise::Options { evaluations, ..usual },
        &Watch::new(&stopped),
    )?;
    if stopped() || found.stop == minimise::Stop::Interrupted {
        return Err(interrupted());
    }
    let solution = Solution {
        x: unknowns.map(&found.x)?,
        residuals: Vec::new(),
        cost: Some(shown(found.cost, dimension.get())),
        iterations: found.iterations,
        evaluations: found.evaluations,
        why: found.stop.why(),
        solved: found.stop == minimise::Stop::Minimum,
        failed: None,
    };
    finish(given, solution)
}

/// Whether an error lies in the script's text and not in the place that was tried: then no other place would do better.
fn is_mistake(error: &EvalAltResult) -> bool {
    match error {
        EvalAltResult::ErrorInFunctionCall(_, _, inner, _) => is_mistake(inner),
        EvalAltResult::ErrorVariableNotFound(..)
        | EvalAltResult::ErrorFunctionNotFound(..)
        | EvalAltResult::ErrorModuleNotFound(..)
        | EvalAltResult::ErrorPropertyNotFound(..)
        | EvalAltResult::ErrorIndexNotFound(..)
        | EvalAltResult::ErrorMismatchDataType(..)
        | EvalAltResult::ErrorParsing(..) => true,
        _ => false,
    }
}

/// The bounded global search. A cost that fails at a place counts as infinitely high there.
fn everywhere(given: &Given, options: &Options) -> Answer {
    let unknowns = Unknowns::within(options)?;
    let Some(closure) = options.function("cost")? else {
        return Err(Fault::new("`minimise` is missing its option `cost`"));
    };
    let seed = count(options, "seed", 0)?.unwrap_or(1) as u64;
    let evaluations = count(options, "evaluations", 1)?.unwrap_or(EVALUATIONS as usize);
    let target = options.scalar("target")?;
    let dimension = Cell::new(target.map(|target| target.dimension));
    let (fatal, first, failed) = (RefCell::new(None), RefCell::new(None), Cell::new(0_usize));
    let halted = AtomicBool::new(false);
    let cost = |x: &[f64]| -> f64 {
        if halted.load(Ordering::Relaxed) {
            return f64::INFINITY;
        }
        let answer = unknowns.map(x).and_then(|map| given.call(&closure, (map,)));
        let ended = !given.run.ceiling.allowed();
        let refused = |fault: Fault| {
            halted.store(true, Ordering::Relaxed);
            fatal.replace(Some(fault));
            f64::INFINITY
        };
        match answer {
            Ok(answer) => read(&answer, &dimension).unwrap_or_else(refused),
            Err(Fault::Passed(error)) if ended || is_mistake(&error) => refused(Fault::Passed(error)),
            Err(fault) => {
                failed.set(failed.get() + 1);
                first.borrow_mut().get_or_insert(fault);
                f64::INFINITY
            }
        }
    };
    let stopped = || halted.load(Ordering::Relaxed) || !given.run.ceiling.allowed();
    let watch = Watch::new(&stopped);
    let mut tell = |progress: &Progress<'_>| {
        let best = if progress.cost.is_finite() {
            format!(", best {}", value::show(&shown(progress.cost, dimension.get())))
        } else {
            String::new()
        };
        given.run.tell(&format!("{} of {} evaluations{best}", progress.evaluations, progress.budget));
    };
    let asked = global::Options { seed, evaluations, target: target.map(|t| t.value), ..global::Options::default() };
    let found = if options.has("guess") {
        global::search_from(&unknowns.start, &unknowns.bounds, cost, &asked, &watch, &mut tell)
    } else {
        global::search(&unknowns.bounds, cost, &asked, &watch, &mut tell)
    };
    given.run.tell("");
    let partial = options.flag("partial")?.unwrap_or(false);
    if !given.run.ceiling.allowed() {
        // Ctrl-C ends the search and not the script, where the script takes what there is.
        if !(partial && found.cost.is_finite() && given.run.ceiling.resume()) {
            return Err(interrupted());
        }
    } else if let Some(fault) = fatal.into_inner() {
        return Err(fault);
    }
    let first = first.into_inner();
    if !found.cost.is_finite() {
        return Err(match first {
            // The reason at the first place is worth more than that there was none anywhere.
            Some(fault) => fault,
            None => Fault::new(format!("the cost is not finite at any of the {} places tried", found.evaluations))
                .help("look at the cost in the middle of the bounds"),
        });
    }
    let reason = first.map(|fault| match fault {
        Fault::Complaint(complaint) => complaint.what.clone(),
        Fault::Passed(error) => super::fault::told(&error),
    });
    let solution = Solution {
        x: unknowns.map(&found.x)?,
        residuals: Vec::new(),
        cost: Some(shown(found.cost, dimension.get())),
        iterations: found.rounds,
        evaluations: found.evaluations,
        why: found.stop.why(),
        solved: found.stop != Stop::Interrupted,
        failed: reason.map(|reason| (failed.get(), reason)),
    };
    finish(given, solution)
}
