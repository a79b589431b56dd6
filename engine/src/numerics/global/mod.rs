//! Bounded global search for a minimum: seeded, the same bytes for the same seed, interruptible, with progress.
//!
//! Rounds of three stages. Differential evolution that adapts itself ([TanabeFukunaga2014]) looks over the whole box; monotonic
//! basin hopping ([Leary2000]) then jumps from the round's best place, with covariance-matrix adaptation ([Hansen2016]) as the
//! descent after each jump; the last hop is polished by the simplex of [`super::minimise`]. A round that brings nothing more
//! ends, and the next one starts afresh with other numbers, until the budget is spent. The best of all rounds is the answer.

mod covariance;
mod evolution;
mod gradient;
mod hopping;
#[cfg(test)]
mod landscapes;
mod random;
mod stages;
mod tally;

pub use gradient::{Cost, Domain, Look, search_with_gradient};
pub use random::Random;

use super::minimise;
use super::watch::Watch;
use tally::Tally;

/// What steers a search. Counts of 0 stand for a default that grows with the number of unknowns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Start of the random numbers: the same seed gives the same answer to the last bit.
    pub seed: u64,
    /// Most evaluations of the cost, all rounds together.
    pub evaluations: usize,
    /// Ends as soon as a cost is at or below this one.
    pub target: Option<f64>,
    /// Evaluations of one round's differential evolution, threefold in every third round; 0: 1000 for each unknown.
    pub exploration: usize,
    /// Hops without gain that end a round; 0: 4 for each unknown.
    pub patience: usize,
    /// Most rounds; 0: as many as the budget allows.
    pub rounds: usize,
}

impl Default for Options {
    fn default() -> Self {
        Self { seed: 1, evaluations: 200_000, target: None, exploration: 0, patience: 0, rounds: 0 }
    }
}

/// What a search is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Differential evolution over the whole box.
    Exploring,
    /// Basin hopping around the best place of the round.
    Hopping,
    /// The simplex around the best place of all.
    Polishing,
}

/// Where a search stands: given to the caller after every generation and every hop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Progress<'a> {
    /// Round, from 1.
    pub round: usize,
    /// Stage of the round.
    pub stage: Stage,
    /// Evaluations so far.
    pub evaluations: usize,
    /// Most evaluations.
    pub budget: usize,
    /// Least cost so far; infinite as long as no place has a finite one.
    pub cost: f64,
    /// Where it was found.
    pub x: &'a [f64],
}

/// Why a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The wanted cost is reached.
    Target,
    /// The rounds asked for are done.
    Rounds,
    /// The budget of evaluations is spent: the usual end, for no search can prove that nothing lower exists.
    Evaluations,
    /// The watch asked to stop.
    Interrupted,
    /// No unknowns, or bounds that are no finite interval.
    IllPosed,
}

impl Stop {
    /// In words, for a table.
    pub const fn why(self) -> &'static str {
        match self {
            Self::Target => "the wanted cost is reached",
            Self::Rounds => "all rounds are done",
            Self::Evaluations => "the budget of evaluations is spent",
            Self::Interrupted => "interrupted",
            Self::IllPosed => "no unknowns, or bounds that are no finite interval",
        }
    }
}

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The unknowns, within their bounds.
    pub x: Vec<f64>,
    /// Cost there; infinite when no place with a finite cost was met.
    pub cost: f64,
    /// Evaluations of the cost.
    pub evaluations: usize,
    /// Rounds begun.
    pub rounds: usize,
    /// Least cost of each round.
    pub round_costs: Vec<f64>,
    /// Why it ended.
    pub stop: Stop,
}

/// Looks for the least cost inside a box.
///
/// - `bounds`: (low, high) of each unknown in its own unit, finite; equal ends hold the unknown fixed.
/// - `cost`: not finite counts as infinitely large.
/// - `progress`: told after every generation and hop.
///
/// # Source
/// [TanabeFukunaga2014]; [Hansen2016]; [Leary2000], all by their published formulas from memory.
///
/// # Example
/// The lowest of the six-hump camel's valleys.
/// ```
/// use visviva_engine::numerics::{global::{self, Options}, watch::Watch};
/// let camel = |x: &[f64]| {
///     let (a, b) = (x[0] * x[0], x[1] * x[1]);
///     (4.0 - 2.1 * a + a * a / 3.0) * a + x[0] * x[1] + (4.0 * b - 4.0) * b
/// };
/// let options = Options { evaluations: 4000, ..Options::default() };
/// let found = global::search(&[(-3.0, 3.0), (-2.0, 2.0)], camel, &options, &Watch::none(), &mut |_| {});
/// assert!((found.cost + 1.031628453).abs() < 1e-8);
/// ```
pub fn search(
    bounds: &[(f64, f64)],
    cost: impl FnMut(&[f64]) -> f64,
    options: &Options,
    watch: &Watch<'_>,
    progress: &mut dyn FnMut(&Progress<'_>),
) -> Found {
    run(bounds, None, cost, options, watch, progress)
}

/// As [`search`], with a place to begin at: the first round hops from there before anything is explored.
pub fn search_from(
    start: &[f64],
    bounds: &[(f64, f64)],
    cost: impl FnMut(&[f64]) -> f64,
    options: &Options,
    watch: &Watch<'_>,
    progress: &mut dyn FnMut(&Progress<'_>),
) -> Found {
    run(bounds, Some(start), cost, options, watch, progress)
}

fn run(
    bounds: &[(f64, f64)],
    start: Option<&[f64]>,
    mut cost: impl FnMut(&[f64]) -> f64,
    options: &Options,
    watch: &Watch<'_>,
    progress: &mut dyn FnMut(&Progress<'_>),
) -> Found {
    let posed = !bounds.is_empty()
        && bounds.iter().all(|(low, high)| low <= high && low.is_finite() && (high - low).is_finite())
        && start.is_none_or(|x| x.len() == bounds.len() && x.iter().all(|x| x.is_finite()));
    if !posed {
        return Found {
            x: bounds.iter().map(|(low, _)| *low).collect(),
            cost: f64::INFINITY,
            evaluations: 0,
            rounds: 0,
            round_costs: Vec::new(),
            stop: Stop::IllPosed,
        };
    }
    let unknowns = bounds.len();
    let exploration = if options.exploration == 0 { 1000 * unknowns } else { options.exploration };
    let patience = if options.patience == 0 { 4 * unknowns } else { options.patience };
    let mut tally = Tally::new(bounds, &mut cost, options, watch, progress);
    let mut random = Random::new(options.seed);
    let mut round_costs = Vec::new();
    // A twentieth of the budget is kept for the polish.
    let reserve = (options.evaluations / 20).min(400 * unknowns);
    tally.keep(reserve);
    while tally.ended().is_none() && (options.rounds == 0 || tally.round < options.rounds) {
        tally.round += 1;
        let mut best = match start.filter(|_| tally.round == 1) {
            Some(start) => tally.given(start),
            // Long looks settle rugged landscapes, short ones see more of those with many funnels: both take their turn.
            None if tally.round % 3 == 1 => evolution::evolve(&mut tally, &mut random, 3 * exploration),
            None => evolution::evolve(&mut tally, &mut random, exploration),
        };
        if best.cost.is_finite() {
            hopping::hop(&mut tally, &mut random, &mut best, patience);
        }
        round_costs.push(best.cost);
    }
    let (best, rounds) = (tally.best.clone(), tally.round);
    let stop = tally.ended().unwrap_or(Stop::Rounds);
    tally.keep(0);
    if best.cost.is_finite() && !matches!(stop, Stop::Target | Stop::Interrupted) {
        tally.stage = Stage::Polishing;
        // A thousandth of the box: the hops have settled far below that.
        let scale = vec![1e-3; unknowns];
        let inside = vec![(0.0, 1.0); unknowns];
        let finer = minimise::Options { evaluations: tally.left(), restarts: 3, ..minimise::Options::default() };
        let polished = minimise::search(&best.unit, &scale, &inside, |unit| Ok::<_, ()>(tally.at(unit)), &finer, watch);
        debug_assert!(polished.is_ok(), "the cost has no errors");
        tally.report();
    }
    let stop = match tally.ended() {
        Some(Stop::Evaluations) | None => stop,
        Some(other) => other,
    };
    let x = tally.place(&tally.best.unit);
    Found { x, cost: tally.best.cost, evaluations: tally.evaluations, rounds, round_costs, stop }
}
