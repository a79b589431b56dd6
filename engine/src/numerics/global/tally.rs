//! The count that every stage of a search keeps: evaluations, the best place, why to end.

use super::{Options, Progress, Stage, Stop};
use crate::numerics::watch::Watch;

/// A place in the unit box and its cost.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Candidate {
    /// Each unknown as a share of its bounds, 0 to 1.
    pub unit: Vec<f64>,
    pub cost: f64,
}

pub(super) struct Tally<'a> {
    bounds: &'a [(f64, f64)],
    cost: &'a mut dyn FnMut(&[f64]) -> f64,
    options: &'a Options,
    watch: &'a Watch<'a>,
    progress: &'a mut dyn FnMut(&Progress<'_>),
    limit: usize,
    interrupted: bool,
    place: Vec<f64>,
    pub evaluations: usize,
    pub round: usize,
    pub stage: Stage,
    pub best: Candidate,
}

impl<'a> Tally<'a> {
    pub(super) fn new(
        bounds: &'a [(f64, f64)],
        cost: &'a mut dyn FnMut(&[f64]) -> f64,
        options: &'a Options,
        watch: &'a Watch<'a>,
        progress: &'a mut dyn FnMut(&Progress<'_>),
    ) -> Self {
        Self {
            bounds,
            cost,
            options,
            watch,
            progress,
            limit: options.evaluations,
            interrupted: watch.stopped(),
            place: vec![0.0; bounds.len()],
            evaluations: 0,
            round: 0,
            stage: Stage::Exploring,
            best: Candidate { unit: vec![0.5; bounds.len()], cost: f64::INFINITY },
        }
    }

    pub(super) fn unknowns(&self) -> usize {
        self.bounds.len()
    }

    /// Holds back the last evaluations of the budget.
    pub(super) fn keep(&mut self, reserve: usize) {
        self.limit = self.options.evaluations.saturating_sub(reserve);
    }

    /// Evaluations left.
    pub(super) fn left(&self) -> usize {
        self.limit.saturating_sub(self.evaluations)
    }

    pub(super) fn ended(&self) -> Option<Stop> {
        if self.interrupted {
            Some(Stop::Interrupted)
        } else if self.options.target.is_some_and(|target| self.best.cost <= target) {
            Some(Stop::Target)
        } else {
            (self.evaluations >= self.limit).then_some(Stop::Evaluations)
        }
    }

    /// A place of the unit box in the unknowns' own units, never outside of the bounds by a rounding.
    pub(super) fn place(&self, unit: &[f64]) -> Vec<f64> {
        unit.iter().zip(self.bounds).map(|(u, (low, high))| (low + u * (high - low)).clamp(*low, *high)).collect()
    }

    /// Cost at a place of the unit box; infinite once the search has ended.
    pub(super) fn at(&mut self, unit: &[f64]) -> f64 {
        if self.ended().is_some() {
            return f64::INFINITY;
        }
        for ((x, u), (low, high)) in self.place.iter_mut().zip(unit).zip(self.bounds) {
            *x = (low + u * (high - low)).clamp(*low, *high);
        }
        let cost = (self.cost)(&self.place);
        self.evaluations += 1;
        // Asked now and then: the question may cost more than a cost does.
        if self.evaluations.is_multiple_of(64) {
            self.interrupted = self.watch.stopped();
        }
        let cost = if cost.is_finite() { cost } else { f64::INFINITY };
        if cost < self.best.cost {
            self.best.cost = cost;
            self.best.unit.copy_from_slice(unit);
        }
        cost
    }

    /// A place the caller gave, moved inside the bounds.
    pub(super) fn given(&mut self, x: &[f64]) -> Candidate {
        let unit: Vec<f64> = x
            .iter()
            .zip(self.bounds)
            .map(|(x, (low, high))| if high > low { ((x - low) / (high - low)).clamp(0.0, 1.0) } else { 0.0 })
            .collect();
        let cost = self.at(&unit);
        Candidate { unit, cost }
    }

    /// Tell the caller, and ask the watch.
    pub(super) fn report(&mut self) {
        self.interrupted = self.interrupted || self.watch.stopped();
        let x = self.place(&self.best.unit);
        (self.progress)(&Progress {
            round: self.round,
            stage: self.stage,
            evaluations: self.evaluations,
            budget: self.options.evaluations,
            cost: self.best.cost,
            x: &x,
        });
    }
}
