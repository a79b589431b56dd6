//! Global search where the cost tells its gradient: hops from valley to valley, each reached by a quasi-Newton descent.

use super::random::Random;
use super::tally::Candidate;
use super::{Found, Options, Progress, Stage, Stop, hopping::folded, stages};
use crate::numerics::quasi_newton;
use crate::numerics::watch::Watch;

/// What a cost with its gradient counts as, in evaluations of the cost alone. For chains of arcs it is about that.
const GRADIENT_PRICE: usize = 3;

/// A box to search, and what is known of its unknowns.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Domain {
    /// (low, high) of each unknown, finite.
    pub bounds: Vec<(f64, f64)>,
    /// Unknowns whose bounds are one place, as those of an angle over a whole turn. By index.
    pub turns: Vec<usize>,
    /// Unknowns that belong together (those of one leg), so that a hop may draw all of them afresh. By index.
    pub groups: Vec<Vec<usize>>,
    /// Unknowns that each stage adds, where the cost can be asked for the first part of the task alone (the first legs of a chain); a round
    /// then builds its start stage by stage. All unknowns stand in one of them. None or one: no stages.
    pub stages: Vec<Vec<usize>>,
}

/// What a cost is asked for besides the place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Roundness of the kinks, from 1 while hops are made down to 0 for the cost as it is.
    pub roundness: f64,
    /// Stages that count, from 1; the number of stages for the whole task. Unknowns of later stages have no slope.
    pub stages: usize,
}

/// A cost at a place; writes the gradient when there is room for it.
pub type Cost<'a> = dyn FnMut(&[f64], Look, Option<&mut [f64]>) -> f64 + 'a;

pub(super) struct Hopper<'a> {
    pub(super) domain: &'a Domain,
    cost: &'a mut Cost<'a>,
    pub(super) options: &'a Options,
    watch: &'a Watch<'a>,
    pub(super) random: Random,
    free: Vec<(f64, f64)>,
    pub(super) turns: Vec<bool>,
    pub(super) spent: usize,
    limit: usize,
    round: usize,
    interrupted: bool,
    /// Stages that count now.
    pub(super) stages: usize,
    best: Candidate,
}

/// Looks for the least cost inside a box, by monotonic basin hopping with descents by the gradient.
///
/// A round begins at the best of some dozens of valleys reached from places drawn evenly. Hops then move all unknowns a little, or a few of them far, or draw
/// the unknowns of one group afresh; what ends lower is kept. A round without gain ends, and another begins, until the budget is spent.
/// One evaluation of the gradient counts as three of the cost.
///
/// # Source
/// [Leary2000]; jumps with heavy tails as in [EnglanderConway2017], from memory.
pub fn search_with_gradient<'a>(
    domain: &'a Domain,
    cost: &'a mut Cost<'a>,
    options: &'a Options,
    watch: &'a Watch<'a>,
    progress: &mut dyn FnMut(&Progress<'_>),
) -> Found {
    let bounds = &domain.bounds;
    let n = bounds.len();
    let posed = n > 0
        && bounds.iter().all(|(low, high)| low <= high && low.is_finite() && (high - low).is_finite())
        && domain
            .turns
            .iter()
            .chain(domain.groups.iter().flatten())
            .chain(domain.stages.iter().flatten())
            .all(|index| *index < n);
    let turns: Vec<bool> = (0..n).map(|i| domain.turns.contains(&i)).collect();
    let mut hopper = Hopper {
        domain,
        cost,
        options,
        watch,
        random: Random::new(options.seed),
        free: turns.iter().map(|turns| if *turns { (f64::NEG_INFINITY, f64::INFINITY) } else { (0.0, 1.0) }).collect(),
        turns,
        spent: 0,
        limit: options.evaluations - options.evaluations / 20,
        round: 0,
        interrupted: watch.stopped(),
        stages: domain.stages.len(),
        best: Candidate { unit: vec![0.5; n], cost: f64::INFINITY },
    };
    if !posed {
        let x = bounds.iter().map(|(low, _)| *low).collect();
        return Found {
            x,
            cost: f64::INFINITY,
            evaluations: 0,
            rounds: 0,
            round_costs: Vec::new(),
            stop: Stop::IllPosed,
        };
    }
    let mut round_costs = Vec::new();
    let patience = if options.patience == 0 { 40 * n } else { options.patience };
    while hopper.ended().is_none() && (options.rounds == 0 || hopper.round < options.rounds) {
        hopper.round += 1;
        let mut best = if domain.stages.len() > 1 { stages::build(&mut hopper) } else { hopper.begin() };
        hopper.tell(Stage::Exploring, progress);
        let mut idle = 0;
        while idle < patience && hopper.ended().is_none() {
            let from = hopper.jump(&best.unit);
            let found = hopper.descend(&from, 1.0, 1e-6, Some(best.cost));
            if found.cost < best.cost {
                let gained = best.cost - found.cost > 1e-5 * best.cost.abs();
                best = found;
                idle = if gained { 0 } else { idle + 1 };
                hopper.tell(Stage::Hopping, progress);
            } else {
                idle += 1;
            }
        }
        round_costs.push(best.cost);
    }
    let stop = hopper.ended().unwrap_or(Stop::Rounds);
    // Sharper and sharper, down to the cost as it is.
    hopper.limit = options.evaluations;
    let mut last = hopper.best.clone();
    let mut sharp = hopper.value(&last.unit, 0.0);
    let mut answer = last.unit.clone();
    if !matches!(stop, Stop::Interrupted) && sharp.is_finite() {
        for roundness in [0.3, 0.1, 0.03, 0.01, 3e-3, 1e-3, 1e-4] {
            last = hopper.descend(&last.unit, roundness, 1e-10, None);
            let value = hopper.value(&last.unit, 0.0);
            if value < sharp {
                (sharp, answer) = (value, last.unit.clone());
            }
        }
    }
    hopper.best.cost = sharp;
    hopper.best.unit.clone_from(&answer);
    hopper.tell(Stage::Polishing, progress);
    Found { x: hopper.place(&answer), cost: sharp, evaluations: hopper.spent, rounds: hopper.round, round_costs, stop }
}

impl Hopper<'_> {
    pub(super) fn ended(&self) -> Option<Stop> {
        if self.interrupted {
            Some(Stop::Interrupted)
        } else if self.options.target.is_some_and(|target| self.best.cost <= target) {
            Some(Stop::Target)
        } else {
            (self.spent >= self.limit).then_some(Stop::Evaluations)
        }
    }

    fn place(&self, unit: &[f64]) -> Vec<f64> {
        place(&self.domain.bounds, &self.turns, unit)
    }

    pub(super) fn value(&mut self, unit: &[f64], roundness: f64) -> f64 {
        self.spent += 1;
        let x = self.place(unit);
        let cost = (self.cost)(&x, Look { roundness, stages: self.stages }, None);
        if cost.is_finite() { cost } else { f64::INFINITY }
    }

    pub(super) fn descend(&mut self, from: &[f64], roundness: f64, tolerance: f64, rival: Option<f64>) -> Candidate {
        let Self { domain, cost, turns, stages, .. } = self;
        let look = Look { roundness, stages: *stages };
        let bounds = &domain.bounds;
        let mut slope_at = |unit: &[f64], slope: &mut [f64]| {
            let x = place(bounds, turns, unit);
            let cost = cost(&x, look, Some(slope));
            for (slope, (low, high)) in slope.iter_mut().zip(bounds) {
                *slope *= high - low;
            }
            cost
        };
        let options = quasi_newton::Options {
            tolerance,
            steps: 400,
            first_step: 0.003,
            longest_step: 0.1,
            hopeless: rival.map(|cost| (40, cost + cost.abs())),
        };
        let found = quasi_newton::descend(from, &self.free, &mut slope_at, &options, self.watch);
        self.spent += GRADIENT_PRICE * found.evaluations;
        self.interrupted = self.interrupted || found.stop == quasi_newton::Stop::Interrupted || self.watch.stopped();
        let unit: Vec<f64> =
            found.x.iter().zip(&self.turns).map(|(u, turns)| if *turns { u.rem_euclid(1.0) } else { *u }).collect();
        let cost = if found.cost.is_finite() { found.cost } else { f64::INFINITY };
        if roundness == 1.0 && self.stages == self.domain.stages.len() && cost < self.best.cost {
            self.best = Candidate { unit: unit.clone(), cost };
        }
        Candidate { unit, cost }
    }

    /// The lowest of a few valleys, each reached from the best of some places drawn evenly.
    fn begin(&mut self) -> Candidate {
        let n = self.turns.len();
        let (places, valleys) = (if self.options.exploration == 0 { 10 * n } else { self.options.exploration }, 5);
        let mut best = Candidate { unit: vec![0.5; n], cost: f64::INFINITY };
        for _ in 0..valleys {
            let mut lowest = Candidate { unit: vec![0.5; n], cost: f64::INFINITY };
            for _ in 0..places {
                let unit: Vec<f64> = (0..n).map(|_| self.random.share()).collect();
                let cost = self.value(&unit, 1.0);
                if cost < lowest.cost {
                    lowest = Candidate { unit, cost };
                }
            }
            let found = self.descend(&lowest.unit, 1.0, 1e-6, None);
            if found.cost < best.cost {
                best = found;
            }
        }
        best
    }

    pub(super) fn jump(&mut self, from: &[f64]) -> Vec<f64> {
        let n = from.len();
        let mut unit = from.to_vec();
        let kind = self.random.share();
        // From a thousandth of the box to a tenth, all sizes alike.
        let width = 10.0_f64.powf(-3.0 + 2.0 * self.random.share());
        if kind < 0.4 {
            for u in &mut unit {
                *u += width * self.random.cauchy();
            }
        } else if kind < 0.75 || self.domain.groups.is_empty() {
            let chance = 2.0 / n as f64;
            let forced = self.random.below(n);
            for (i, u) in unit.iter_mut().enumerate() {
                if i == forced || self.random.share() < chance {
                    *u += 10.0 * width * self.random.cauchy();
                }
            }
        } else {
            let group = &self.domain.groups[self.random.below(self.domain.groups.len())];
            for &i in group {
                unit[i] = self.random.share();
            }
        }
        for (u, turns) in unit.iter_mut().zip(&self.turns) {
            *u = if *turns { u.rem_euclid(1.0) } else { folded(*u) };
        }
        unit
    }

    fn tell(&self, stage: Stage, progress: &mut dyn FnMut(&Progress<'_>)) {
        progress(&Progress {
            round: self.round,
            stage,
            evaluations: self.spent,
            budget: self.options.evaluations,
            cost: self.best.cost,
            x: &self.place(&self.best.unit),
        });
    }
}

fn place(bounds: &[(f64, f64)], turns: &[bool], unit: &[f64]) -> Vec<f64> {
    let inside = |((u, (low, high)), turns): ((&f64, &(f64, f64)), &bool)| {
        let u = if *turns { u.rem_euclid(1.0) } else { *u };
        (low + u * (high - low)).clamp(*low, *high)
    };
    unit.iter().zip(bounds).zip(turns).map(inside).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// Rastrigin's function of the unknowns of the first stages, four to each; least value 0 at 0.
    fn rastrigin(x: &[f64], look: Look, gradient: Option<&mut [f64]>) -> f64 {
        let known = if look.stages == 0 { x.len() } else { 4 * look.stages };
        if let Some(gradient) = gradient {
            gradient.fill(0.0);
            for (slope, x) in gradient.iter_mut().zip(x).take(known) {
                *slope = 2.0 * x + 10.0 * TAU * (TAU * x).sin();
            }
        }
        x.iter().take(known).map(|x| x * x - 10.0 * (TAU * x).cos() + 10.0).sum()
    }

    /// A cone with a kink at its tip, rounded off as asked, on a circle: the unknown turns.
    fn cone(x: &[f64], look: Look, gradient: Option<&mut [f64]>) -> f64 {
        let (away, over) = ((0.5 * (x[0] - 6.2)).sin(), 0.1 * look.roundness);
        let root = away.hypot(over);
        if let Some(gradient) = gradient {
            gradient[0] = if root > 0.0 { away / root * 0.5 * (0.5 * (x[0] - 6.2)).cos() } else { 0.0 };
        }
        root - over
    }

    fn look(domain: &Domain, cost: &mut Cost<'_>, options: &Options) -> Found {
        search_with_gradient(domain, cost, options, &Watch::none(), &mut |_| {})
    }

    #[test]
    fn published_minimum_is_found_with_stages_and_without() {
        let bounds = vec![(-5.12, 4.0); 12];
        let stages = (0..3).map(|k| (4 * k..4 * k + 4).collect()).collect();
        for domain in [
            Domain { bounds: bounds.clone(), ..Domain::default() },
            Domain { bounds, stages, groups: vec![vec![0, 1]], ..Domain::default() },
        ] {
            for seed in [1, 2] {
                let options = Options { seed, evaluations: 200_000, exploration: 30_000, ..Options::default() };
                let options = if domain.stages.is_empty() { Options { exploration: 0, ..options } } else { options };
                let found = look(&domain, &mut rastrigin, &options);
                // The least value is 0; the descents end where ten steps gain less than 1e-10 of it.
                assert!(found.cost < 1e-7 && found.stop == Stop::Evaluations, "{found:?}");
                assert_eq!(found, look(&domain, &mut rastrigin, &options));
            }
        }
    }

    #[test]
    fn a_kink_across_the_seam_of_a_turn_is_reached() {
        let domain = Domain { bounds: vec![(0.0, TAU)], turns: vec![0], ..Domain::default() };
        let found = look(&domain, &mut cone, &Options { evaluations: 3000, ..Options::default() });
        assert!(found.cost < 1e-4 && (found.x[0] - 6.2).abs() < 1e-3, "{found:?}");
    }

    #[test]
    fn stops_are_told_apart() {
        let domain = Domain { bounds: vec![(-5.12, 4.0); 2], ..Domain::default() };
        let near = look(&domain, &mut rastrigin, &Options { target: Some(2.0), ..Options::default() });
        assert!(near.stop == Stop::Target && near.evaluations < 20_000, "{near:?}");
        let one = look(&domain, &mut rastrigin, &Options { rounds: 1, ..Options::default() });
        assert!(one.stop == Stop::Rounds && one.rounds == 1);
        let watch = Watch::new(&|| true);
        let options = Options::default();
        let stopped = search_with_gradient(&domain, &mut rastrigin, &options, &watch, &mut |_| {});
        assert_eq!(stopped.stop, Stop::Interrupted);
        let bad = Domain { turns: vec![7], ..domain };
        assert_eq!(look(&bad, &mut rastrigin, &options).stop, Stop::IllPosed);
        let mut nowhere = |_: &[f64], _: Look, _: Option<&mut [f64]>| f64::NAN;
        let domain = Domain { bounds: vec![(0.0, 1.0)], ..Domain::default() };
        let nothing = look(&domain, &mut nowhere, &Options { evaluations: 500, ..options });
        assert!(nothing.cost == f64::INFINITY && nothing.stop == Stop::Evaluations, "{nothing:?}");
    }
}
