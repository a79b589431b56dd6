//! The errors of a burn carried to the arrival.

use nalgebra::Matrix5;

use super::{Arrival, Flight, arrival, slopes};
use crate::arc::shoot::ShootError;
use crate::numerics::global::Random;
use crate::numerics::watch::Watch;
use crate::vector::{Mat3, Vec3};

/// Standard deviations of a burn's errors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BurnErrors {
    /// Of the size, as a share of it.
    pub size: f64,
    /// Of the direction about each of two axes, rad.
    pub direction: f64,
    /// Of the time, s.
    pub time: f64,
}

/// How an arrival scatters.
#[derive(Debug, Clone, PartialEq)]
pub struct Dispersion {
    /// Covariance of periapsis radius, inclination, time, B·T and B·R (SI) by the derivatives.
    pub covariance: Matrix5<f64>,
    /// Standard deviations by the derivatives.
    pub deviation: Arrival,
    /// The same from the sample, where one was flown.
    pub sampled: Option<Arrival>,
}

/// Carries the errors of a burn to the arrival, linearly; and flies `sample` burns drawn from `seed`, as a check (0: none).
///
/// # Errors
/// As [`super::fine_tuning`].
pub fn dispersion(
    flight: &Flight<'_>,
    errors: &BurnErrors,
    sample: usize,
    seed: u64,
    watch: &Watch<'_>,
) -> Result<Dispersion, ShootError> {
    let nominal = flight.nominal(watch)?;
    let (by_speed, by_time) = slopes(flight, &nominal, &Mat3::identity(), watch)?;
    let dv = flight.dv;
    let size = dv.norm();
    let along = dv.try_normalize(0.0).unwrap_or_else(Vec3::zeros);
    let across = Mat3::identity() * along.norm_squared() - along * along.transpose();
    let spread = dv * dv.transpose() * errors.size.powi(2) + across * (size * errors.direction).powi(2);
    let by = [by_speed[0].numbers(), by_speed[1].numbers(), by_speed[2].numbers()];
    let late = by_time.numbers();
    let covariance = Matrix5::from_fn(|i, j| {
        let moved: f64 =
            (0..3).flat_map(|a| (0..3).map(move |b| (a, b))).map(|(a, b)| by[a][i] * spread[(a, b)] * by[b][j]).sum();
        moved + late[i] * late[j] * errors.time.powi(2)
    });
    let deviation = Arrival::of(std::array::from_fn(|k| covariance[(k, k)].max(0.0).sqrt()));
    let mut sampled = None;
    if sample > 1 {
        let mut chance = Random::new(seed);
        let first = across_axis(&along);
        let second = along.cross(&first);
        let centre = arrival(&nominal.0, &nominal.0, &nominal.1, &nominal.2).numbers();
        let (mut sum, mut squares) = ([0.0; 5], [0.0; 5]);
        for _ in 0..sample {
            let [a, b, c, d] = std::array::from_fn(|_| chance.normal());
            let change = dv * (errors.size * a) + (first * b + second * c) * (size * errors.direction);
            let met = flight.fly(&change, errors.time * d, watch)?;
            let numbers = arrival(&met, &nominal.0, &nominal.1, &nominal.2).numbers();
            for k in 0..5 {
                sum[k] += numbers[k] - centre[k];
                squares[k] += (numbers[k] - centre[k]).powi(2);
            }
        }
        let count = sample as f64;
        sampled = Some(Arrival::of(std::array::from_fn(|k| {
            ((squares[k] - sum[k] * sum[k] / count) / (count - 1.0)).max(0.0).sqrt()
        })));
    }
    Ok(Dispersion { covariance, deviation, sampled })
}

fn across_axis(along: &Vec3) -> Vec3 {
    let first = along.cross(&Vec3::z());
    first.try_normalize(1e-3).unwrap_or_else(|| along.cross(&Vec3::x()).try_normalize(0.0).unwrap_or_else(Vec3::zeros))
}
