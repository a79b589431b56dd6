//! Monotonic basin hopping: jump, descend, keep what is lower.

use super::Stage;
use super::covariance;
use super::random::Random;
use super::tally::{Candidate, Tally};

/// Hops from `best` until `patience` of them in a row have brought nothing; `best` becomes the lowest place met.
///
/// A jump moves every unknown, or only a few of them, by Cauchy-distributed shares of the box: mostly small, now and then across it. Each
/// third jump is descended from with a wide first step, the others with narrow ones.
///
/// # Source
/// [Leary2000]; jumps with heavy tails as in [EnglanderConway2017], from memory.
pub(super) fn hop(tally: &mut Tally<'_>, random: &mut Random, best: &mut Candidate, patience: usize) {
    let unknowns = tally.unknowns();
    let descend = |tally: &mut Tally<'_>, random: &mut Random, from: &Candidate, step: f64| {
        tally.stage = Stage::Hopping;
        let found = covariance::descend(tally, random, from, step, 150 * unknowns);
        tally.report();
        found
    };
    let first = descend(tally, random, best, 0.02);
    if first.cost < best.cost {
        *best = first;
    }
    let mut idle = 0;
    while idle < patience && tally.ended().is_none() {
        let (width, step) = [(0.003, 0.003), (0.01, 0.01), (0.03, 0.03)][idle % 3];
        // Half of the jumps move all unknowns, the others a few: legs of a chain can then change one by one.
        let chance = if random.share() < 0.5 { 1.0 } else { 3.0 / unknowns as f64 };
        let unit: Vec<f64> = best
            .unit
            .iter()
            .map(|u| if random.share() < chance { folded(u + width * random.cauchy()) } else { *u })
            .collect();
        let cost = tally.at(&unit);
        let from = Candidate { unit, cost };
        let found = descend(tally, random, &from, step);
        if found.cost < best.cost {
            // Gains of the last digits are no gain.
            let gained = best.cost - found.cost > 1e-6 * best.cost.abs();
            *best = found;
            idle = if gained { 0 } else { idle + 1 };
        } else {
            idle += 1;
        }
    }
}

/// Back into 0 … 1 by reflection at the ends.
pub(super) fn folded(u: f64) -> f64 {
    let turned = u.rem_euclid(2.0);
    if turned > 1.0 { 2.0 - turned } else { turned }
}

#[cfg(test)]
mod tests {
    use super::folded;

    #[test]
    fn folding_reflects() {
        for (u, expected) in [(0.25, 0.25), (-0.25, 0.25), (1.25, 0.75), (2.25, 0.25), (-1.75, 0.25)] {
            assert_eq!(folded(u), expected);
        }
    }
}
