//! A start built stage by stage: the first part of the task in many ways, the best of them continued, and so on to the whole.

use super::gradient::Hopper;
use super::tally::Candidate;

/// Beginnings that are kept from one stage to the next.
const KEPT: usize = 40;
/// Two of them count as one when no unknown differs by more than this share of its bounds.
const APART: f64 = 0.02;
/// Places drawn for the unknowns that a stage adds, of which the best is descended from.
const DRAWN: usize = 20;

/// The lowest place of the whole task that is reached by continuing, stage by stage, the lowest beginnings.
///
/// # Source
/// The idea, space pruning leg by leg: [BecerraEtAl2005], from memory; here with descents instead of grids.
pub(super) fn build(hopper: &mut Hopper<'_>) -> Candidate {
    let n = hopper.turns.len();
    let last = hopper.domain.stages.len();
    let budget = if hopper.options.exploration == 0 { 20_000 * n } else { hopper.options.exploration };
    let mut kept: Vec<Candidate> = Vec::new();
    let mut known: Vec<usize> = Vec::new();
    for stage in 1..=last {
        hopper.stages = stage;
        let added = hopper.domain.stages[stage - 1].clone();
        known.extend(&added);
        let mut next: Vec<Candidate> = Vec::new();
        let begun = hopper.spent;
        while hopper.spent - begun < budget / last && hopper.ended().is_none() {
            // Half of the trials continue a beginning, the others hop from what this stage has.
            let from = if next.len() > 2 && hopper.random.share() < 0.5 {
                let index = leaning_low(hopper, next.len());
                hopper.jump(&next[index].unit)
            } else {
                let parent = if kept.is_empty() {
                    vec![0.5; n]
                } else {
                    let index = leaning_low(hopper, kept.len());
                    kept[index].unit.clone()
                };
                drawn(hopper, &parent, &added)
            };
            let rival = (next.len() == KEPT).then(|| next[KEPT - 1].cost);
            let found = hopper.descend(&from, 1.0, 1e-5, rival);
            keep(&mut next, found, &known, &hopper.turns);
        }
        kept = next;
    }
    hopper.stages = last;
    if kept.is_empty() { Candidate { unit: vec![0.5; n], cost: f64::INFINITY } } else { kept.swap_remove(0) }
}

/// An index, the lower the likelier.
fn leaning_low(hopper: &mut Hopper<'_>, count: usize) -> usize {
    let share = hopper.random.share();
    ((share * share * count as f64) as usize).min(count - 1)
}

/// The best of some places that differ in the unknowns just added.
fn drawn(hopper: &mut Hopper<'_>, parent: &[f64], added: &[usize]) -> Vec<f64> {
    let mut best = Candidate { unit: parent.to_vec(), cost: f64::INFINITY };
    let mut unit = parent.to_vec();
    for _ in 0..DRAWN {
        for &i in added {
            unit[i] = hopper.random.share();
        }
        let cost = hopper.value(&unit, 1.0);
        if cost <= best.cost {
            best = Candidate { unit: unit.clone(), cost };
        }
    }
    best.unit
}

/// Takes a place into the list, lowest first, each apart from the others.
fn keep(list: &mut Vec<Candidate>, found: Candidate, known: &[usize], turns: &[bool]) {
    if !found.cost.is_finite() {
        return;
    }
    let near = |other: &Candidate| {
        known.iter().all(|&i| {
            let plain = (other.unit[i] - found.unit[i]).abs();
            (if turns[i] { plain.min(1.0 - plain) } else { plain }) < APART
        })
    };
    if let Some(at) = list.iter().position(near) {
        if list[at].cost <= found.cost {
            return;
        }
        list.remove(at);
    }
    let at = list.partition_point(|other| other.cost <= found.cost);
    if at < KEPT {
        list.insert(at, found);
        list.truncate(KEPT);
    }
}
