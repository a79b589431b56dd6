//! Differential evolution that adapts its steps to their success and shrinks its population.

use super::Stage;
use super::random::Random;
use super::tally::{Candidate, Tally};

/// Places of the first generation for each unknown, least population, size of the archive, length of the memory, share of the
/// best: the values recommended by [TanabeFukunaga2014], table I, from memory.
const PER_UNKNOWN: usize = 18;
const LEAST: usize = 4;
const ARCHIVE: f64 = 2.6;
const MEMORY: usize = 6;
const BEST_SHARE: f64 = 0.11;

/// One run over the whole box within a number of evaluations; ends early once the population has drawn together.
///
/// # Source
/// L-SHADE: [TanabeFukunaga2014], from memory.
pub(super) fn evolve(tally: &mut Tally<'_>, random: &mut Random, evaluations: usize) -> Candidate {
    tally.stage = Stage::Exploring;
    let unknowns = tally.unknowns();
    let begun = tally.evaluations;
    let budget = evaluations.min(tally.left()).max(1);
    // A small budget still leaves some ten generations.
    let first = (PER_UNKNOWN * unknowns).min(budget / 10).max(LEAST);
    let mut population: Vec<Candidate> = (0..first)
        .map(|_| {
            let unit: Vec<f64> = (0..unknowns).map(|_| random.share()).collect();
            let cost = tally.at(&unit);
            Candidate { unit, cost }
        })
        .collect();
    let mut archive: Vec<Vec<f64>> = Vec::new();
    let mut memory = Memory::new();
    let mut trial = vec![0.0; unknowns];
    while tally.ended().is_none() && tally.evaluations - begun < budget && population.len() >= LEAST {
        // Equal costs keep their order: sorting is stable.
        population.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        if drawn_together(&population) {
            break;
        }
        let size = population.len();
        let top = ((BEST_SHARE * size as f64).round() as usize).max(2);
        let mut offspring = Vec::with_capacity(size);
        let mut successes = Vec::new();
        for index in 0..size {
            let step = memory.draw(random);
            let leader = random.below(top);
            let first = other_than(random, size, &[index]);
            let second = other_than(random, size + archive.len(), &[index, first]);
            let forced = random.below(unknowns);
            let parent = &population[index].unit;
            let far = if second < size { &population[second].unit } else { &archive[second - size] };
            for k in 0..unknowns {
                let taken = random.share() < step.crossover || k == forced;
                let x = parent[k];
                trial[k] = if taken {
                    let moved = x + step.factor * (population[leader].unit[k] - x + population[first].unit[k] - far[k]);
                    // Half way to the bound that it would cross.
                    if moved < 0.0 {
                        0.5 * x
                    } else if moved > 1.0 {
                        0.5 * (1.0 + x)
                    } else {
                        moved
                    }
                } else {
                    x
                };
            }
            let cost = tally.at(&trial);
            let before = population[index].cost;
            if cost < before {
                successes.push((step, if before.is_finite() { before - cost } else { 1.0 }));
            }
            offspring.push((cost <= before).then(|| Candidate { unit: trial.clone(), cost }));
        }
        let room = (ARCHIVE * size as f64) as usize;
        for (place, child) in population.iter_mut().zip(offspring) {
            let Some(child) = child else { continue };
            let parent = std::mem::replace(place, child);
            if place.cost < parent.cost {
                if archive.len() < room {
                    archive.push(parent.unit);
                } else {
                    let index = random.below(room);
                    archive[index] = parent.unit;
                }
            }
        }
        memory.learn(&successes);
        // The population falls linearly with the evaluations spent.
        let spent = ((tally.evaluations - begun) as f64 / budget as f64).min(1.0);
        let wanted = (first as f64 + (LEAST as f64 - first as f64) * spent).round() as usize;
        population.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        population.truncate(wanted.max(LEAST));
        archive.truncate((ARCHIVE * population.len() as f64) as usize);
        tally.report();
    }
    population.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    population.swap_remove(0)
}

/// All places within a millionth of the box of the best, or all of one cost: nothing more will come of differences.
fn drawn_together(sorted: &[Candidate]) -> bool {
    let (best, worst) = (&sorted[0], &sorted[sorted.len() - 1]);
    best.cost.is_finite()
        && (worst.cost - best.cost <= 1e-12 * best.cost.abs()
            || sorted.iter().all(|one| one.unit.iter().zip(&best.unit).all(|(a, b)| (a - b).abs() < 1e-6)))
}

/// Even over 0 … `count` − 1 without those taken (`count` is larger than their number).
fn other_than(random: &mut Random, count: usize, taken: &[usize]) -> usize {
    loop {
        let index = random.below(count);
        if !taken.contains(&index) {
            return index;
        }
    }
}

#[derive(Clone, Copy)]
struct Step {
    factor: f64,
    crossover: f64,
}

/// Which steps brought success: centres from which the next ones are drawn.
struct Memory {
    factor: [f64; MEMORY],
    /// `None` once only crossovers of 0 succeeded: then it stays 0.
    crossover: [Option<f64>; MEMORY],
    next: usize,
}

impl Memory {
    fn new() -> Self {
        Self { factor: [0.5; MEMORY], crossover: [Some(0.5); MEMORY], next: 0 }
    }

    fn draw(&self, random: &mut Random) -> Step {
        let slot = random.below(MEMORY);
        let crossover = self.crossover[slot].map_or(0.0, |centre| (centre + 0.1 * random.normal()).clamp(0.0, 1.0));
        loop {
            let factor = self.factor[slot] + 0.1 * random.cauchy();
            if factor > 0.0 {
                return Step { factor: factor.min(1.0), crossover };
            }
        }
    }

    /// Means weighted with what was gained, Lehmer's of second order.
    fn learn(&mut self, successes: &[(Step, f64)]) {
        let total: f64 = successes.iter().map(|(_, gain)| gain).sum();
        if !(total > 0.0 && total.is_finite()) {
            return;
        }
        let lehmer = |of: fn(&Step) -> f64| {
            let square: f64 = successes.iter().map(|(step, gain)| gain / total * of(step) * of(step)).sum();
            let plain: f64 = successes.iter().map(|(step, gain)| gain / total * of(step)).sum();
            (plain > 0.0).then(|| square / plain)
        };
        if let Some(factor) = lehmer(|step| step.factor) {
            self.factor[self.next] = factor;
        }
        if self.crossover[self.next].is_some() {
            self.crossover[self.next] = lehmer(|step| step.crossover);
        }
        self.next = (self.next + 1) % MEMORY;
    }
}
