//! Evolution strategy that adapts the covariance of its steps: the descent of a hop.

use super::random::Random;
use super::tally::{Candidate, Tally};
use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Descends from a place until its steps are small, its costs level, or `evaluations` are spent; the lowest place met.
///
/// Places outside of the box are moved onto its sides, and what they were moved by is charged, so that the mean stays inside.
///
/// # Source
/// CMA-ES with rank-one and rank-μ update: [Hansen2016], appendix A and table 1 (positive weights), from memory.
pub(super) fn descend(
    tally: &mut Tally<'_>,
    random: &mut Random,
    from: &Candidate,
    step: f64,
    evaluations: usize,
) -> Candidate {
    let unknowns = tally.unknowns();
    let n = unknowns as f64;
    let offspring = 4 + (3.0 * n.ln()) as usize;
    let parents = offspring / 2;
    let raw: Vec<f64> = (0..parents).map(|i| (0.5 * (offspring as f64 + 1.0)).ln() - ((i + 1) as f64).ln()).collect();
    let sum: f64 = raw.iter().sum();
    let weights: Vec<f64> = raw.iter().map(|w| w / sum).collect();
    let mass = 1.0 / weights.iter().map(|w| w * w).sum::<f64>();
    let (step_rate, path_rate) = ((mass + 2.0) / (n + mass + 5.0), (4.0 + mass / n) / (n + 4.0 + 2.0 * mass / n));
    let one_rate = 2.0 / ((n + 1.3) * (n + 1.3) + mass);
    let many_rate = (1.0 - one_rate).min(2.0 * (mass - 2.0 + 1.0 / mass) / ((n + 2.0) * (n + 2.0) + mass));
    let damping = 1.0 + 2.0 * (((mass - 1.0) / (n + 1.0)).sqrt() - 1.0).max(0.0) + step_rate;
    let expected = n.sqrt() * (1.0 - 1.0 / (4.0 * n) + 1.0 / (21.0 * n * n));

    let mut best = from.clone();
    let mut mean = DVector::from_column_slice(&from.unit);
    let mut sigma = step;
    let mut covariance = DMatrix::<f64>::identity(unknowns, unknowns);
    let mut axes = DMatrix::<f64>::identity(unknowns, unknowns);
    let mut lengths = DVector::from_element(unknowns, 1.0);
    let (mut step_path, mut path) = (DVector::zeros(unknowns), DVector::zeros(unknowns));
    let begun = tally.evaluations;
    let mut generation = 0_usize;
    let mut decomposed = 0_usize;
    // The lowest cost some generations ago: no progress since ends the descent.
    let (mut mark, mut marked) = (f64::INFINITY, 0_usize);
    let stale = 10 + (30.0 * n / offspring as f64).ceil() as usize;
    while tally.ended().is_none() && tally.evaluations - begun < evaluations {
        let mut drawn: Vec<(f64, DVector<f64>, f64)> = Vec::with_capacity(offspring);
        for _ in 0..offspring {
            let z = DVector::from_fn(unknowns, |i, _| lengths[i] * random.normal());
            let y = &axes * z;
            let wanted = &mean + sigma * &y;
            let inside: Vec<f64> = wanted.iter().map(|u| u.clamp(0.0, 1.0)).collect();
            let moved: f64 = wanted.iter().zip(&inside).map(|(a, b)| (a - b) * (a - b)).sum();
            let cost = tally.at(&inside);
            if cost < best.cost {
                best = Candidate { unit: inside, cost };
            }
            drawn.push((cost, y, moved));
        }
        // What a step outside is charged: the spread of costs for each step length squared.
        let finite: Vec<f64> = drawn.iter().map(|one| one.0).filter(|cost| cost.is_finite()).collect();
        if finite.is_empty() {
            break;
        }
        let (low, high) =
            finite.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| (low.min(*c), high.max(*c)));
        let charge = (high - low) / (sigma * sigma * n);
        drawn.sort_by(|a, b| (a.0 + charge * a.2).total_cmp(&(b.0 + charge * b.2)));

        let mut move_mean = DVector::zeros(unknowns);
        for (weight, (_, y, _)) in weights.iter().zip(&drawn) {
            move_mean += *weight * y;
        }
        mean += sigma * &move_mean;
        let white = &axes * (axes.transpose() * &move_mean).component_div(&lengths);
        step_path = (1.0 - step_rate) * step_path + (step_rate * (2.0 - step_rate) * mass).sqrt() * white;
        generation += 1;
        let settled = 1.0 - (1.0 - step_rate).powi(2 * generation as i32);
        let steady = step_path.norm() / settled.sqrt() < (1.4 + 2.0 / (n + 1.0)) * expected;
        path *= 1.0 - path_rate;
        if steady {
            path += (path_rate * (2.0 - path_rate) * mass).sqrt() * &move_mean;
        }
        let lost = if steady { 0.0 } else { one_rate * path_rate * (2.0 - path_rate) };
        covariance *= 1.0 - one_rate - many_rate + lost;
        covariance.ger(one_rate, &path, &path, 1.0);
        for (weight, (_, y, _)) in weights.iter().zip(&drawn) {
            covariance.ger(many_rate * weight, y, y, 1.0);
        }
        sigma *= ((step_rate / damping) * (step_path.norm() / expected - 1.0)).min(1.0).exp();
        if !(sigma.is_finite() && covariance.iter().all(|c| c.is_finite())) {
            break;
        }
        // The axes lag a few generations: taking the matrix apart each time would cost more than the costs do.
        if (generation - decomposed) as f64 > 0.1 / ((one_rate + many_rate) * n) * offspring as f64 / 10.0 {
            decomposed = generation;
            let symmetric = 0.5 * (&covariance + covariance.transpose());
            let Some(parts) = SymmetricEigen::try_new(symmetric, 1e-14, 10_000) else { break };
            let largest = parts.eigenvalues.max();
            if !(largest > 0.0) {
                break;
            }
            lengths = parts.eigenvalues.map(|value| value.max(1e-14 * largest).sqrt());
            axes = parts.eigenvectors;
        }
        if sigma * lengths.max() < 1e-11 || high - low <= 1e-13 * low.abs() {
            break;
        }
        if generation - marked >= stale {
            if best.cost > mark - 1e-7 * mark.abs() {
                break;
            }
            (mark, marked) = (best.cost, generation);
        }
    }
    best
}
