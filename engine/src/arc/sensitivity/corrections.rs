//! When to correct: what a correction costs and leaves, by the days to go.

use nalgebra::{Matrix2, Matrix2x3, Vector2};

use crate::arc::shoot::{ShootError, meeting};
use crate::conic::transition;
use crate::numerics::global::Random;
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

/// Corrections of a coast.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionPlan {
    /// A single correction at each of the epochs.
    pub table: Vec<Correction>,
    /// The corrections that cost least in all and leave no more than was allowed; empty where none do.
    pub best: Vec<Correction>,
    /// What they cost at the percentile, each one covered, m/s.
    pub dv: f64,
    /// The least that any of the plans leaves, m: tells how far the allowance is out of reach where `best` is empty.
    pub least_remaining: f64,
}

/// Draws for the percentile; most corrections in one plan.
const DRAWS: usize = 2000;
const MOST: usize = 3;

/// What corrections at `epochs` (in order, ahead of the arrival) cost and leave; and which of them, up to three, meet the demand for the least Δv.
///
/// # Errors
/// As [`mapping`]; a percentile outside its range; interruption.
pub fn corrections(
    orbit: &Orbit,
    target: &Body,
    expected: Epoch,
    epochs: &[Epoch],
    demand: &Demand,
    watch: &Watch<'_>,
) -> Result<CorrectionPlan, ShootError> {
    let Demand { spread, execution, percentile, allowed } = *demand;
    if !(percentile > 0.0 && percentile < 1.0) {
        return Err(ShootError::BadAim { what: "percentile", value: percentile });
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
        let k = map.aim_by_velocity;
        // The least Δv that takes an error of the aim away: the pseudo-inverse, from the two axes' products.
        let inverse = k.transpose() * (k * k.transpose()).try_inverse()?;
        let root = before.symmetric_eigen();
        let half = root.eigenvectors * Matrix2::from_diagonal(&root.eigenvalues.map(|v| v.max(0.0).sqrt()));
        let mut chance = Random::new(1);
        let mut sizes: Vec<f64> =
            (0..DRAWS).map(|_| (inverse * half * Vector2::new(chance.normal(), chance.normal())).norm()).collect();
        sizes.sort_by(f64::total_cmp);
        let dv = sizes[((percentile * DRAWS as f64).ceil() as usize).clamp(1, DRAWS) - 1];
        let mean = sizes.iter().map(|size| size * size).sum::<f64>() / DRAWS as f64;
        let error = execution.share.powi(2) * mean + execution.least.powi(2) + execution.knowledge.powi(2);
        let after = k * k.transpose() * error;
        let remaining = after.trace().max(0.0).sqrt();
        Some((Correction { epoch: *epoch, to_go: map.to_go, dv, remaining }, after))
    };
    let spread = Matrix2::from_fn(|i, j| spread[i][j]);
    let table: Vec<Correction> = (0..chances.len()).filter_map(|i| one(i, &spread).map(|row| row.0)).collect();
    let mut best: (f64, Vec<Correction>) = (f64::INFINITY, Vec::new());
    let mut least_remaining = f64::INFINITY;
    let mut open = vec![(0_usize, 0.0, spread, Vec::<Correction>::new())];
    while let Some((from, spent, before, made)) = open.pop() {
        if watch.stopped() {
            return Err(ShootError::Interrupted);
        }
        for index in from..chances.len() {
            let Some((row, after)) = one(index, &before) else { continue };
            let total = spent + row.dv;
            let mut now = made.clone();
            now.push(row);
            least_remaining = least_remaining.min(row.remaining);
            if row.remaining <= allowed && total < best.0 {
                best = (total, now.clone());
            }
            if now.len() < MOST && total < best.0 {
                open.push((index + 1, total, after, now));
            }
        }
    }
    let dv = if best.1.is_empty() { 0.0 } else { best.0 };
    Ok(CorrectionPlan { table, best: best.1, dv, least_remaining })
}
