//! The three invariants along a coast.

use super::rounding::{EPSILON, of_angular_momentum, of_eccentricity, of_energy, propagation};
use super::{Entry, Law};
use crate::conic::State;

/// A state on a coast, counted from its start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// s since the start of the coast.
    pub time: f64,
    /// m and m/s about the coast's body, inertial axes.
    pub state: State,
}

/// Energy, angular momentum and eccentricity vector of every sample against the first one.
///
/// - `gm`: of the body that is coasted about, m³/s².
/// - `samples`: the start first (time 0), then any number, the end among them.
/// - Returns: three entries, each showing the sample that is nearest to its bound (or farthest beyond).
///
/// # Bounds
/// A sample may be off by c = (20 + 20 κ) ε of place and of velocity (see `rounding`), and both evaluations of an
/// invariant round a dozen times; so energy may differ by c (v² + gm/r), angular momentum by 2 c r v and the
/// eccentricity vector by c (6 r v²/gm + 2), each taken at the sample, plus the same with 12 ε at both ends.
pub fn coast(leg: &str, gm: f64, samples: &[Sample]) -> Vec<Entry> {
    let Some((first, rest)) = samples.split_first() else { return Vec::new() };
    let start = &first.state;
    let (energy, momentum, eccentricity) = invariants(gm, start);
    let period = (energy < 0.0).then(|| std::f64::consts::TAU * gm / (-2.0 * energy).powf(1.5));
    let evaluation = 12.0 * EPSILON;
    let mut worst = [
        (0.0, of_energy(gm, start, evaluation)),
        (0.0, of_angular_momentum(start, evaluation)),
        (0.0, of_eccentricity(gm, start, evaluation)),
    ];
    for sample in rest {
        let state = &sample.state;
        let c = propagation(gm, start, state, sample.time, period) + evaluation;
        let (e, h, vector) = invariants(gm, state);
        let found = [
            ((e - energy).abs(), of_energy(gm, state, c) + of_energy(gm, start, evaluation)),
            ((h - momentum).norm(), of_angular_momentum(state, c) + of_angular_momentum(start, evaluation)),
            ((vector - eccentricity).norm(), of_eccentricity(gm, state, c) + of_eccentricity(gm, start, evaluation)),
        ];
        for (kept, new) in worst.iter_mut().zip(found) {
            let (ratio, least) = (new.0 / new.1, kept.0 / kept.1);
            // A residual that is no number is kept, too: it is judged as beyond.
            if ratio.is_nan() || ratio >= least {
                *kept = new;
            }
        }
    }
    [Law::Energy, Law::AngularMomentum, Law::EccentricityVector]
        .into_iter()
        .zip(worst)
        .map(|(law, (residual, bound))| Entry::judged(leg, law, residual, bound, String::new()))
        .collect()
}

/// Specific energy (m²/s²), specific angular momentum (m²/s) and eccentricity vector, written out here so that the audit
/// does not lean on the formulas that flew the leg. [Battin1999], section 3.3.
fn invariants(gm: f64, state: &State) -> (f64, crate::vector::Vec3, crate::vector::Vec3) {
    let (r, v) = (&state.position, &state.velocity);
    let distance = r.norm();
    let momentum = r.cross(v);
    (v.norm_squared() / 2.0 - gm / distance, momentum, v.cross(&momentum) / gm - r / distance)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::conic::propagate;
    use crate::vector::Vec3;

    const GM: f64 = 3.986e14;

    fn flown(speed: f64, times: &[f64]) -> Vec<Sample> {
        let start = State { position: Vec3::new(7.0e6, 1.0e5, -2.0e5), velocity: Vec3::new(100.0, speed, 0.1 * speed) };
        times.iter().map(|&time| Sample { time, state: propagate(GM, &start, time).unwrap() }).collect()
    }

    #[test]
    fn a_true_coast_is_good_on_every_conic() {
        for speed in [5.0e3, 7.5e3, 10.0e3, 10.6e3, 12.0e3, 30.0e3] {
            for entry in coast("coast", GM, &flown(speed, &[0.0, 600.0, 5000.0, 3.0e5, 3.0e7])) {
                assert_eq!(entry.verdict, Verdict::Good, "{speed} {entry:?}");
            }
        }
    }

    #[test]
    fn a_falsified_place_or_speed_is_beyond() {
        for speed in [5.0e3, 7.5e3, 10.0e3, 12.0e3] {
            for (place, pace) in [(1.0 + 1e-9, 1.0), (1.0, 1.0 + 1e-9)] {
                let mut samples = flown(speed, &[0.0, 1000.0, 9000.0]);
                samples[1].state.position *= place;
                samples[1].state.velocity *= pace;
                let entries = coast("coast", GM, &samples);
                assert_eq!(entries[0].verdict, Verdict::Beyond, "{entries:?}");
            }
        }
    }

    #[test]
    fn a_turned_velocity_is_beyond() {
        let mut samples = flown(7.5e3, &[0.0, 1000.0]);
        let across = samples[1].state.position.cross(&samples[1].state.velocity).normalize();
        samples[1].state.velocity += across * 7.5e3 * 1e-9;
        let entries = coast("coast", GM, &samples);
        assert_eq!(entries[1].verdict, Verdict::Beyond, "{entries:?}");
    }

    #[test]
    fn nothing_to_audit_gives_no_entry() {
        assert!(coast("coast", GM, &[]).is_empty());
    }
}
