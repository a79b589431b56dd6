//! Time along a coast, by Kepler's equation in its easy direction.

use super::coast::Sample;
use super::rounding::{EPSILON, of_eccentricity, propagation};
use super::{Entry, Law};
use crate::conic::State;

/// Below this eccentricity the anomalies themselves are no longer told by a state, but their differences still are.
const ROUND: f64 = 0.1;

/// The time between the start and each sample, worked out from the places and velocities alone, against the time that the
/// coast says it took.
///
/// - `gm`: of the body that is coasted about, m³/s².
/// - `samples`: the start first (time 0), then any number. Whole revolutions are not told by a state, and left out.
/// - Returns: one entry, s, of the sample nearest to its bound; none without a second sample.
///
/// With α = 2 gm/r − v², q the periapsis radius and U₁ = r·v/(gm e), the time since periapsis is q s + gm e (s − U₁)/α where
/// √α s = arcsin(√α U₁): closed forms on every conic, and no root is sought. Near the parabola the quotient goes by its
/// series. On nearly circular ellipses the difference of eccentric anomalies comes from Lagrange's coefficients, and these
/// from the areas between the two states.
///
/// # Bound
/// What c = (20 + 20 κ) ε of place and velocity at the sample, 12 ε at both ends and the constants α, e, q with their
/// roundings put into these formulas to first order, each derivative beside the term it belongs to; twice that, for the
/// higher orders. The period's error counts once for each whole revolution.
///
/// # Source
/// [Battin1999], sections 4.3 to 4.6.
pub fn clock(leg: &str, gm: f64, samples: &[Sample]) -> Option<Entry> {
    let (first, rest) = samples.split_first()?;
    let conic = Constants::of(gm, &first.state);
    let period = conic.period();
    let mut worst: Option<(f64, f64)> = None;
    for sample in rest {
        let c = propagation(gm, &first.state, &sample.state, sample.time, period) + 12.0 * EPSILON;
        let (time, error) = conic.between(&first.state, &sample.state, c);
        let mut off = time - sample.time;
        let mut slip = 0.0;
        if let Some(period) = period {
            let whole = period * (off / period).round();
            off -= whole;
            slip = whole.abs() * 1.5 * conic.alpha_error / conic.alpha;
        }
        let bound = 2.0 * error + slip + 4.0 * EPSILON * sample.time.abs();
        let (off, bound) = (off.abs(), if bound.is_finite() { bound } else { f64::MAX });
        if worst.is_none_or(|(kept, least)| off.is_nan() || off / bound >= kept / least) {
            worst = Some((off, bound));
        }
    }
    let (off, bound) = worst?;
    Some(Entry::judged(leg, Law::KeplerTime, off, bound, String::new()))
}

/// What does not change along the coast, with the errors that rounding puts into it.
struct Constants {
    gm: f64,
    alpha: f64,
    alpha_error: f64,
    eccentricity: f64,
    eccentricity_error: f64,
    periapsis: f64,
    periapsis_error: f64,
}

impl Constants {
    fn of(gm: f64, start: &State) -> Constants {
        let (r, v) = (&start.position, &start.velocity);
        let (distance, square) = (r.norm(), v.norm_squared());
        let c = 12.0 * EPSILON;
        let momentum = r.cross(v);
        let eccentricity = (v.cross(&momentum) / gm - r / distance).norm();
        let eccentricity_error = of_eccentricity(gm, start, c);
        let periapsis = momentum.norm_squared() / (gm * (1.0 + eccentricity));
        // h = |r × v| keeps its digits but for what the cross product loses of r v.
        let momentum_error = c * distance * square.sqrt();
        Constants {
            gm,
            alpha: 2.0 * gm / distance - square,
            alpha_error: c * (square + 2.0 * gm / distance),
            eccentricity,
            eccentricity_error,
            periapsis,
            periapsis_error: 2.0 * momentum.norm() * momentum_error / (gm * (1.0 + eccentricity))
                + periapsis * eccentricity_error / (1.0 + eccentricity),
        }
    }

    fn period(&self) -> Option<f64> {
        (self.alpha > self.alpha_error).then(|| std::f64::consts::TAU * self.gm / self.alpha.powf(1.5))
    }

    /// Time from one state to another, s, but for whole periods, and its error where the second is known to `c`.
    fn between(&self, start: &State, end: &State, c: f64) -> (f64, f64) {
        if self.alpha > 0.0 && self.eccentricity < ROUND {
            return self.difference(start, end, c);
        }
        let ((before, before_error), (after, after_error)) =
            (self.since_periapsis(start, 12.0 * EPSILON), self.since_periapsis(end, c));
        (after - before, before_error + after_error)
    }

    fn since_periapsis(&self, state: &State, c: f64) -> (f64, f64) {
        let (gm, e, q, alpha) = (self.gm, self.eccentricity, self.periapsis, self.alpha);
        let (r, v) = (state.position.norm(), state.velocity.norm());
        let sigma = state.position.dot(&state.velocity);
        let sigma_error = 2.0 * c * r * v;
        let u1 = sigma / (gm * e);
        let x = alpha * u1 * u1;
        let cosine = gm - alpha * r;
        if x.abs() < 0.02 && (alpha <= 0.0 || cosine > 0.0) {
            // s = U₁ (1 + x/6 + 3 x²/40 + 5 x³/112 + 35 x⁴/1152 + 63 x⁵/2816): the next term is below a rounding of the sum.
            let cube = 1.0 / 6.0
                + x * (3.0 / 40.0
                    + x * (5.0 / 112.0
                        + x * (35.0 / 1152.0 + x * (63.0 / 2816.0 + x * (231.0 / 13_312.0 + x * 0.013_964_844)))));
            let s = u1 * (1.0 + x * cube);
            let u3 = u1 * u1 * u1 * cube;
            let time = q * s + gm * e * u3;
            // dt = r ds, ds = dU₁ to a per cent; ∂t/∂q = s; ∂t/∂e = gm U₃ less what U₁ loses; ∂/∂α of both series.
            let size = u1.abs();
            let u1_error = sigma_error / (gm * e) + size * self.eccentricity_error / e;
            let error = 1.1 * r * u1_error
                + 1.1 * size * self.periapsis_error
                + 0.2 * gm * size.powi(3) * self.eccentricity_error
                + self.alpha_error * (0.2 * q * size.powi(3) + 0.1 * gm * e * size.powi(5))
                + 8.0 * EPSILON * time.abs();
            return (time, error);
        }
        let scale = alpha.abs().sqrt();
        let rate = alpha.abs().powf(1.5) / gm;
        let relative = self.alpha_error / alpha.abs();
        // y = e sin E or e sinh H.
        let y = sigma * scale / gm;
        let y_error = sigma_error * scale / gm + 0.5 * y.abs() * relative;
        let (mean, error) = if alpha > 0.0 {
            let anomaly = y.atan2(cosine / gm);
            let cosine_error = alpha * r / gm * (c + relative) + 2.0 * EPSILON;
            let anomaly_error = (y_error + cosine_error) / e;
            (anomaly - y, anomaly_error + y_error + 4.0 * EPSILON * (anomaly.abs() + y.abs()))
        } else {
            let anomaly = (y / e).asinh();
            // ∂/∂y = 1 − 1/√(e² + y²), the rest is e's part: y/(e √(e² + y²)).
            let root = e.hypot(y);
            let error = (1.0 - 1.0 / root).abs().max(EPSILON) * y_error
                + y.abs() / (e * root) * self.eccentricity_error
                + 4.0 * EPSILON * (anomaly.abs() + y.abs());
            (y - anomaly, error)
        };
        let time = mean / rate;
        (time, error / rate + 1.5 * relative * time.abs())
    }

    /// n t = ΔE + σ₀/√(gm a) (1 − cos ΔE) − (1 − r₀/a) sin ΔE, with cos ΔE and sin ΔE from f and ḟ.
    fn difference(&self, start: &State, end: &State, c: f64) -> (f64, f64) {
        let (gm, alpha) = (self.gm, self.alpha);
        let (r0, v0) = (start.position.norm(), start.velocity.norm());
        let (r, v) = (end.position.norm(), end.velocity.norm());
        let momentum = start.position.cross(&start.velocity);
        let square = momentum.norm_squared();
        let f = end.position.cross(&start.velocity).dot(&momentum) / square;
        let f_rate = end.velocity.cross(&start.velocity).dot(&momentum) / square;
        let root = alpha.sqrt();
        let versed = (1.0 - f) * r0 * alpha / gm;
        let sine = -f_rate * r * r0 * root / gm;
        let (a, b) = (start.position.dot(&start.velocity) * root / gm, 1.0 - r0 * alpha / gm);
        let turned = sine.atan2(1.0 - versed);
        let mean = turned + a * versed - b * sine;
        let rate = alpha * root / gm;
        let relative = self.alpha_error / alpha;
        let h = square.sqrt();
        let known = c + 24.0 * EPSILON;
        let versed_error = known * r * v0 / h * r0 * alpha / gm + versed.abs() * (relative + known);
        let sine_error = 2.0 * known * v * v0 / h * r * r0 * root / gm + sine.abs() * (0.5 * relative + known);
        let error = (1.0 + a.abs()) * versed_error
            + (1.0 + b.abs()) * sine_error
            + (24.0 * EPSILON + relative) * (versed.abs() + sine.abs())
            + 4.0 * EPSILON * turned.abs();
        let time = mean / rate;
        (time, error / rate + 1.5 * relative * time.abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::conic::propagate;
    use crate::vector::Vec3;

    const GM: f64 = 3.986e14;

    /// Speeds at 7000 km, where the circular one is 7546 m/s and that of escape 10 672 m/s, on rising, level, falling and
    /// straight paths.
    fn starts() -> Vec<State> {
        let mut starts = Vec::new();
        let escape = (2.0 * GM / 7.0e6_f64).sqrt();
        let circular = (GM / 7.0e6_f64).sqrt();
        for speed in [3e3, circular, 7.6e3, 8.3e3, 10.0e3, escape * (1.0 - 1e-9), escape, escape * 1.0001, 12e3, 40e3] {
            for angle in [-1.5_f64, -0.4, 0.0, 1e-7, 0.7, std::f64::consts::FRAC_PI_2] {
                let velocity = Vec3::new(angle.sin(), 0.8 * angle.cos(), 0.6 * angle.cos()) * speed;
                starts.push(State { position: Vec3::new(7.0e6, 0.0, 0.0), velocity });
            }
        }
        starts
    }

    #[test]
    fn a_true_coast_keeps_time_on_every_conic() {
        let mut judged = 0;
        for start in starts() {
            for time in [1.0, 600.0, 5000.0, 3e5, 3e7] {
                let Ok(state) = propagate(GM, &start, time) else { continue };
                let samples = [Sample { time: 0.0, state: start }, Sample { time, state }];
                let entry = clock("coast", GM, &samples).unwrap();
                assert_eq!(entry.verdict, Verdict::Good, "{start:?} {time} {entry:?}");
                judged += 1;
            }
        }
        assert!(judged > 280, "{judged}");
    }

    /// A millisecond is seen within a day on every conic, but for those that fall past the centre within a few hundredths of
    /// where they began: there one rounding of the start is milliseconds at the end.
    #[test]
    fn a_millisecond_is_beyond() {
        let falls = |start: &State| start.velocity.x < -0.9 * start.velocity.norm();
        for start in starts().into_iter().filter(|start| !falls(start)) {
            for time in [600.0, 5000.0, 86_400.0] {
                let Ok(state) = propagate(GM, &start, time) else { continue };
                let samples = [Sample { time: 0.0, state: start }, Sample { time: time + 1e-3, state }];
                let entry = clock("coast", GM, &samples).unwrap();
                assert_eq!(entry.verdict, Verdict::Beyond, "{start:?} {time} {entry:?}");
            }
        }
    }
}
