//! Up to three demands on three components of a Δv: Newton's steps by the pseudo-inverse, then the least Δv that keeps
//! what was met.

use nalgebra::{DMatrix, DVector};

use super::ShootError;
use crate::vector::Vec3;

/// What was found.
#[derive(Debug, Clone, Copy)]
pub(super) struct Met {
    /// m/s.
    pub(super) dv: Vec3,
    /// Steps taken.
    pub(super) iterations: usize,
}

/// Met within this, m: the engine's default for lengths.
const TOLERANCE: f64 = 1.0;

/// Newton steps at most. A damped step at least halves nothing; far starts take a dozen.
const MOST_STEPS: usize = 60;

/// Steps of the least Δv at most.
const MOST_SHORTENINGS: usize = 20;

/// Half a step of the central difference, m/s. At 1 cm/s the way over an interplanetary leg is 1e5 m: a million times what
/// rounding leaves in a place, and a millionth of the distance over which the model bends.
const NUDGE: f64 = 1e-2;

type Residuals<'a> = dyn FnMut(&Vec3) -> Result<Vec<f64>, ShootError> + 'a;

/// Largest residual, m.
pub(super) fn size(residuals: &[f64]) -> f64 {
    residuals.iter().map(|off| off * off).sum::<f64>().sqrt()
}

/// Meet the demands from a start, then take the least Δv that meets them.
///
/// # Errors
/// No convergence; whatever the residuals answer at the start.
pub(super) fn meet(start: Vec3, residuals: &mut Residuals<'_>) -> Result<Met, ShootError> {
    let (mut dv, mut off, mut iterations) = restore(start, residuals)?;
    if off.len() >= 3 {
        return Ok(Met { dv, iterations });
    }
    // Down the free directions: the part of Δv that no demand needs is taken off, and what that spoils is restored. How
    // much of it at once is a search along the line: a strongly curved demand allows only a little.
    let mut first = 1.0;
    for _ in 0..MOST_SHORTENINGS {
        let (inverse, matrix) = pseudo_inverse(&jacobian(&dv, off.len(), residuals)?)?;
        let part = inverse * (matrix * DVector::from_column_slice(dv.as_slice()));
        let spare = dv - Vec3::new(part[0], part[1], part[2]);
        if spare.norm() <= 1e-6 * dv.norm() + 1e-6 {
            break;
        }
        let mut best: Option<(f64, Vec3, Vec<f64>)> = None;
        let mut share = first;
        while share > 1e-3 {
            match restore(dv - spare * share, residuals) {
                Ok((candidate, candidate_off, steps)) => {
                    iterations += steps;
                    let least = best.as_ref().map_or(dv.norm(), |(_, found, _)| found.norm());
                    if candidate.norm() < least {
                        best = Some((share, candidate, candidate_off));
                    } else if best.is_some() {
                        break;
                    }
                }
                Err(ShootError::Interrupted) => return Err(ShootError::Interrupted),
                Err(_) => {}
            }
            share /= 2.0;
        }
        let Some((share, candidate, candidate_off)) = best else { break };
        let gain = dv.norm() - candidate.norm();
        (dv, off) = (candidate, candidate_off);
        first = (2.0 * share).min(1.0);
        // Near the least Δv the gain goes with the square of what is left to gain in direction.
        if gain <= 1e-12 * dv.norm() {
            break;
        }
    }
    Ok(Met { dv, iterations })
}

/// Newton's steps, each halved until it brings the residual down.
fn restore(start: Vec3, residuals: &mut Residuals<'_>) -> Result<(Vec3, Vec<f64>, usize), ShootError> {
    let mut dv = start;
    let mut off = residuals(&dv)?;
    for iterations in 0..MOST_STEPS {
        // One step beyond the tolerance costs little and leaves rounding only.
        if size(&off) <= 1e-2 * TOLERANCE {
            return Ok((dv, off, iterations));
        }
        let (inverse, _) = pseudo_inverse(&jacobian(&dv, off.len(), residuals)?)?;
        let step = -(inverse * DVector::from_column_slice(&off));
        let step = Vec3::new(step[0], step[1], step[2]);
        let mut part = 1.0;
        let mut better = None;
        while part > 1e-6 {
            match residuals(&(dv + step * part)) {
                Ok(candidate) if size(&candidate) < size(&off) => {
                    better = Some((dv + step * part, candidate));
                    break;
                }
                Err(ShootError::Interrupted) => return Err(ShootError::Interrupted),
                _ => part /= 2.0,
            }
        }
        match better {
            Some((candidate, candidate_off)) => (dv, off) = (candidate, candidate_off),
            None if size(&off) <= TOLERANCE => return Ok((dv, off, iterations)),
            None => {
                return Err(ShootError::NotMet { iterations, off_m: size(&off), dv_m_s: dv.norm() });
            }
        }
    }
    if size(&off) <= TOLERANCE {
        return Ok((dv, off, MOST_STEPS));
    }
    Err(ShootError::NotMet { iterations: MOST_STEPS, off_m: size(&off), dv_m_s: dv.norm() })
}

/// How the demands change with Δv, by central differences; one-sided where a side cannot be flown.
fn jacobian(dv: &Vec3, demands: usize, residuals: &mut Residuals<'_>) -> Result<DMatrix<f64>, ShootError> {
    let mut matrix = DMatrix::zeros(demands, 3);
    for axis in 0..3 {
        let mut nudge = Vec3::zeros();
        nudge[axis] = NUDGE;
        let (ahead, behind, width) = match (residuals(&(dv + nudge)), residuals(&(dv - nudge))) {
            (Ok(ahead), Ok(behind)) => (ahead, behind, 2.0 * NUDGE),
            (Ok(ahead), Err(_)) => (ahead, residuals(dv)?, NUDGE),
            (Err(_), Ok(behind)) => (residuals(dv)?, behind, NUDGE),
            (Err(error), Err(_)) => return Err(error),
        };
        for demand in 0..demands {
            matrix[(demand, axis)] = (ahead[demand] - behind[demand]) / width;
        }
    }
    Ok(matrix)
}

/// The pseudo-inverse, and the matrix itself. Rows are brought to unit size first: demands of unlike scale weigh alike.
fn pseudo_inverse(matrix: &DMatrix<f64>) -> Result<(DMatrix<f64>, DMatrix<f64>), ShootError> {
    let scales: Vec<f64> = matrix.row_iter().map(|row| row.norm()).collect();
    let mut scaled = matrix.clone();
    for (mut row, scale) in scaled.row_iter_mut().zip(&scales) {
        if *scale > 0.0 {
            row /= *scale;
        }
    }
    let svd = scaled.svd(true, true);
    // A direction a billion times weaker than the strongest is noise of the differences.
    let mut inverse =
        svd.pseudo_inverse(1e-9).map_err(|_| ShootError::NotMet { iterations: 0, off_m: f64::MAX, dv_m_s: 0.0 })?;
    for (mut column, scale) in inverse.column_iter_mut().zip(&scales) {
        if *scale > 0.0 {
            column /= *scale;
        }
    }
    Ok((inverse, matrix.clone()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_demands_are_met() {
        let target = Vec3::new(120.0, -40.0, 7.0);
        let met = meet(Vec3::zeros(), &mut |dv: &Vec3| {
            let off = dv - target;
            Ok(vec![1e6 * off.x + 10.0 * off.x * off.x, 2e6 * off.y + 1e4 * off.z, 1e5 * off.z])
        })
        .unwrap();
        // Met within 1 cm at 1e5 m per m/s.
        assert!((met.dv - target).norm() < 1e-6, "{met:?}");
    }

    #[test]
    fn one_demand_is_met_with_the_least_burn() {
        // On the sphere |dv - c| = 5 the point nearest to zero lies towards c, at |c| - 5.
        let centre = Vec3::new(10.0, 20.0, 5.0);
        let start = Vec3::new(0.0, 30.0, 0.0);
        let met = meet(start, &mut |dv: &Vec3| Ok(vec![((dv - centre).norm() - 5.0) * 1e6])).unwrap();
        assert!((met.dv.norm() - (centre.norm() - 5.0)).abs() < 1e-5, "{met:?}");
    }

    #[test]
    fn what_cannot_be_met_is_an_error_that_tells_how_near_it_came() {
        let error = meet(Vec3::zeros(), &mut |dv: &Vec3| Ok(vec![dv.norm_squared() * 1e6 + 1e7])).unwrap_err();
        assert!(matches!(error, ShootError::NotMet { off_m, .. } if off_m >= 1e7));
    }
}
