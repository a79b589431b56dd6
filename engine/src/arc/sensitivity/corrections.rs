//! When to correct: what a correction costs and leaves, by the days to go.

use nalgebra::{Matrix2, Matrix2x3, Matrix3x2, Vector2};

use crate::arc::shoot::{ShootError, meeting};
use crate::conic::transition;
use crate::numerics::global::Random;
use crate::numerics::root;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// How a change of velocity now moves the aim at the target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mapping {
    /// To the time of periapsis, s.
    pub to_go: f64,
    /// B·T and B·R by the three inertial components of velocity, s.
    pub aim_by_velocity: Matrix2x3<f64>,
    /// Time of periapsis by velocity, s²/m.
    pub time_by_velocity: Vec3,
}

/// The mapping from an orbit about the target's parent, at its epoch, by the state-transition matrix.
///
/// B is the offset at the closest approach: along S it has no part, so that its change across S is the change of place there.
///
/// # Errors
/// An orbit about another body; no approach.
pub fn mapping(orbit: &Orbit, target: &Body, expected: Epoch, watch: &Watch<'_>) -> Result<Mapping, ShootError> {
    let missed = || ShootError::NotReached { body: target.name().to_owned() };
    if target.parent().as_ref() != Some(orbit.body()) {
        return Err(missed());
    }
    let met = meeting(orbit, target, expected, None, watch)?;
    let to_go = met.epoch.seconds_since(orbit.epoch());
    let moved = transition(orbit.gm(), orbit.state(), to_go)?.place_by_velocity;
    let s = met.v_infinity.try_normalize(0.0).ok_or_else(missed)?;
    let across = s.cross(&target.pole(met.epoch));
    let t = across.try_normalize(1e-9).unwrap_or_else(|| s.cross(&Vec3::x()).normalize());
    let r = s.cross(&t);
    let (to_t, to_r) = (moved.transpose() * t, moved.transpose() * r);
    let aim_by_velocity = Matrix2x3::from_rows(&[to_t.transpose(), to_r.transpose()]);
    Ok(Mapping { to_go, aim_by_velocity, time_by_velocity: moved.transpose() * s * (-1.0 / met.v_infinity.norm()) })
}

/// How well corrections are made and known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Execution {
    /// Standard deviation of a correction in each axis, as a share of its size.
    pub share: f64,
    /// Standard deviation in each axis that every correction has, m/s.
    pub least: f64,
    /// Standard deviation of what is known of the velocity, m/s: it moves the aim like an error of the burn.
    pub knowledge: f64,
}

/// What corrections have to do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// Covariance of the aim without them, B·T and B·R, m².
    pub spread: [[f64; 2]; 2],
    /// How well they are made.
    pub execution: Execution,
    /// The share of cases (0 to 1) whose Δv is to be covered.
    pub percentile: f64,
    /// What they may leave of the aim, m: standard deviation, the root of both axes' squares.
    pub allowed: f64,
    /// The most corrections in one programme, 1 to 5.
    pub most: usize,
}

/// One correction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// When.
    pub epoch: Epoch,
    /// s.
    pub to_go: f64,
    /// Δv that covers it at the percentile, m/s.
    pub dv: f64,
    /// Standard deviation of the aim afterwards, m: the root of both axes' squares.
    pub remaining: f64,
}

/// Some corrections one after another.
#[derive(Debug, Clone, PartialEq)]
pub struct Programme {
    /// First to last; the Δv of each covers it alone at the percentile.
    pub corrections: Vec<Correction>,
    /// Δv that covers all of them together at the percentile, m/s: from cases drawn through the whole programme, since a case that needs a large first
    /// correction does not need a large second one too.
    pub dv: f64,
}

impl Programme {
    /// What the last one leaves of the aim, m.
    pub fn remaining(&self) -> f64 {
        self.corrections.last().map_or(f64::INFINITY, |last| last.remaining)
    }
}

/// Corrections of a coast.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionPlan {
    /// A single correction at each of the epochs.
    pub table: Vec<Correction>,
    /// The cheapest programme of one correction, of two, and so on, of those that leave no more than was allowed.
    pub by_count: Vec<Programme>,
    /// The cheapest of them; none where no programme leaves as little as was allowed.
    pub best: Option<Programme>,
    /// The least that any programme leaves, m: tells how far the allowance is out of reach where there is no best.
    pub least_remaining: f64,
}

/// Cases drawn through a whole programme: the percentile 99 % then has a standard error of a quarter of a percent.
const DRAWS: usize = 20_000;

/// Points of a quarter turn over which the direction of an error is averaged: for a smooth periodic function the sum over equal steps errs by less than any
/// power of the step.
const DIRECTIONS: usize = 64;

/// The length that a normal error in two axes, of variances `first` and `second`, does not exceed in so large a share of cases.
///
/// Along the direction φ the square over (first cos²φ + second sin²φ) has the distribution χ² of two degrees, whose tail is
/// exp(−x/2); the tail is averaged over φ, and the percentile found between those of the one axis and of both equal. [Papoulis2002]
fn length_at(first: f64, second: f64, percentile: f64) -> f64 {
    let (first, second) = (first.max(second), first.min(second).max(0.0));
    if !(first > 0.0) {
        return 0.0;
    }
    let tail = |x: f64| {
        let sum: f64 = (0..DIRECTIONS)
            .map(|k| {
                let (sine, cosine) = ((k as f64 + 0.5) / DIRECTIONS as f64 * std::f64::consts::FRAC_PI_2).sin_cos();
                (-0.5 * x / (first * cosine * cosine + second * sine * sine)).exp()
            })
            .sum();
        sum / DIRECTIONS as f64
    };
    let most = -2.0 * first * (1.0 - percentile).ln();
    root::bracketed(|x| tail(x) - (1.0 - percentile), 0.0, most, 0.0).unwrap_or(most).sqrt()
}

/// The value that so large a share of the cases does not exceed: the nearest rank.
fn at_percentile(mut sizes: Vec<f64>, percentile: f64) -> f64 {
    sizes.sort_by(f64::total_cmp);
    let rank = (percentile * sizes.len() as f64).ceil() as usize;
    sizes.get(rank.clamp(1, sizes.len().max(1)) - 1).copied().unwrap_or(0.0)
}

/// Square root of a covariance.
fn root_of(covariance: &Matrix2<f64>) -> Matrix2<f64> {
    let parts = covariance.symmetric_eigen();
    parts.eigenvectors * Matrix2::from_diagonal(&parts.eigenvalues.map(|v| v.max(0.0).sqrt()))
}

/// The least Δv that takes an error of the aim away: the pseudo-inverse, from the products of the two axes.
fn least(map: &Mapping) -> Option<Matrix3x2<f64>> {
    let k = map.aim_by_velocity;
    Some(k.transpose() * (k * k.transpose()).try_inverse()?)
}

/// Δv of a whole programme at the percentile: cases drawn through it, each correction with the error of its own size.
fn whole(maps: &[&Mapping], spread: &Matrix2<f64>, execution: &Execution, percentile: f64) -> Option<f64> {
    let steps: Vec<_> = maps.iter().map(|map| Some((least(map)?, map.aim_by_velocity))).collect::<Option<_>>()?;
    let half = root_of(spread);
    let mut chance = Random::new(1);
    let totals = (0..DRAWS).map(|_| {
        let mut aim = half * Vector2::new(chance.normal(), chance.normal());
        let mut total = 0.0;
        for (inverse, k) in &steps {
            let dv = (inverse * aim).norm();
            total += dv;
            let error = ((execution.share * dv).powi(2) + execution.least.powi(2) + execution.knowledge.powi(2)).sqrt();
            aim = k * Vec3::new(chance.normal(), chance.normal(), chance.normal()) * error;
        }
        total
    });
    Some(at_percentile(totals.collect(), percentile))
}

/// What corrections at `epochs` (in order, ahead of the arrival) cost and leave; and which of them, up to `most`, meet the demand for the least Δv.
///
/// # Errors
/// As [`mapping`]; a percentile or a count outside its range; an epoch that is past or not ahead of the arrival; interruption.
pub fn corrections(
    orbit: &Orbit,
    target: &Body,
    expected: Epoch,
    epochs: &[Epoch],
    demand: &Demand,
    watch: &Watch<'_>,
) -> Result<CorrectionPlan, ShootError> {
    let Demand { spread, execution, percentile, allowed, most } = *demand;
    if !(percentile > 0.0 && percentile < 1.0) {
        return Err(ShootError::BadAim { what: "percentile", value: percentile });
    }
    if !(1..=5).contains(&most) {
        return Err(ShootError::BadAim { what: "number of corrections", value: most as f64 });
    }
    let mut chances = Vec::with_capacity(epochs.len());
    for epoch in epochs {
        if watch.stopped() {
            return Err(ShootError::Interrupted);
        }
        if *epoch < orbit.epoch() || *epoch >= expected {
            return Err(ShootError::Past { asked: expected, now: *epoch });
        }
        chances.push((*epoch, mapping(&orbit.at(*epoch)?, target, expected, watch)?));
    }
    let one = |index: usize, before: &Matrix2<f64>| -> Option<(Correction, Matrix2<f64>)> {
        let (epoch, map) = &chances[index];
        let inverse = least(map)?;
        // The Δv lies in the plane of the two axes' answers; its variances there.
        let variances = (inverse.transpose() * inverse * before).eigenvalues()?;
        let dv = length_at(variances[0], variances[1], percentile);
        let mean = variances.sum().max(0.0);
        let k = map.aim_by_velocity;
        let error = execution.share.powi(2) * mean + execution.least.powi(2) + execution.knowledge.powi(2);
        let after = k * k.transpose() * error;
        let remaining = after.trace().max(0.0).sqrt();
        Some((Correction { epoch: *epoch, to_go: map.to_go, dv, remaining }, after))
    };
    let spread = Matrix2::from_fn(|i, j| spread[i][j]);
    let table: Vec<Correction> = (0..chances.len()).filter_map(|i| one(i, &spread).map(|row| row.0)).collect();
    // Of each count the cheapest by the sum of what covers each alone: an upper bound that orders them.
    let mut cheapest: Vec<(f64, Vec<(usize, Correction)>)> = vec![(f64::INFINITY, Vec::new()); most];
    let mut least_remaining = f64::INFINITY;
    let mut open = vec![(0_usize, 0.0, spread, Vec::<(usize, Correction)>::new())];
    while let Some((from, spent, before, made)) = open.pop() {
        if watch.stopped() {
            return Err(ShootError::Interrupted);
        }
        for index in from..chances.len() {
            let Some((row, after)) = one(index, &before) else { continue };
            let total = spent + row.dv;
            let mut now = made.clone();
            now.push((index, row));
            least_remaining = least_remaining.min(row.remaining);
            let count = now.len();
            if row.remaining <= allowed && total < cheapest[count - 1].0 {
                cheapest[count - 1] = (total, now.clone());
            }
            if count < most && cheapest[count..].iter().any(|known| total < known.0) {
                open.push((index + 1, total, after, now));
            }
        }
    }
    let by_count: Vec<Programme> = cheapest
        .into_iter()
        .filter(|known| known.0.is_finite())
        .filter_map(|(_, made)| {
            let maps: Vec<&Mapping> = made.iter().map(|(index, _)| &chances[*index].1).collect();
            let dv = whole(&maps, &spread, &execution, percentile)?;
            Some(Programme { corrections: made.into_iter().map(|(_, row)| row).collect(), dv })
        })
        .collect();
    let best = by_count.iter().min_by(|a, b| a.dv.total_cmp(&b.dv)).cloned();
    Ok(CorrectionPlan { table, by_count, best, least_remaining })
}
