//! The asymptotes of a hyperbola, from a state on it.

use super::rounding::{EPSILON, of_angular_momentum, of_eccentricity, of_energy};
use crate::conic::State;
use crate::vector::Vec3;

/// Which asymptote.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The one it comes in on.
    Incoming,
    /// The one it leaves on.
    Outgoing,
}

/// One asymptote of a hyperbola about a body: v-infinity (m/s), aim (m, ⊥ v-infinity), time of periapsis (s from the
/// state), each with the error that a relative error of the state puts into it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asymptote {
    /// m/s, inertial.
    pub v_infinity: Vec3,
    /// Foot of the asymptote from the body's centre, m, inertial.
    pub aim: Vec3,
    /// Time from the state to periapsis, s, negative where periapsis is past.
    pub to_periapsis: f64,
    /// m/s.
    pub v_infinity_error: f64,
    /// m.
    pub aim_error: f64,
    /// s.
    pub time_error: f64,
}

impl Asymptote {
    /// The asymptote of the hyperbola through a state; `None` where the conic has none.
    ///
    /// With h = r × v, e the eccentricity vector and v∞ = √(2 E): S = (±e + (v∞/gm) h × e)/e² (plus: incoming),
    /// B = S × h / v∞ [Battin1999], section 8.2 gives the geometry. Time from Kepler's equation in its easy direction,
    /// r·v = e √(gm |a|) sinh H.
    ///
    /// - `relative`: relative error of place and of velocity.
    ///
    /// # Errors carried
    /// δv∞ = c (v² + gm/r)/v∞; δS = δe (1 + 3e)/e² + v∞ δh/(gm e) + δv∞/v∞; δB = (δh + h δS)/v∞ + |B| δv∞/v∞; the time
    /// goes with |a|^1.5 and with e: |t| (c + 3 δv∞/v∞ + δe/e) + r c / v∞.
    pub fn of(gm: f64, state: &State, side: Side, relative: f64) -> Option<Asymptote> {
        let (r, v) = (&state.position, &state.velocity);
        let distance = r.norm();
        let energy = v.norm_squared() / 2.0 - gm / distance;
        if energy.is_nan() || energy <= 0.0 {
            return None;
        }
        let speed = (2.0 * energy).sqrt();
        let momentum = r.cross(v);
        let vector = v.cross(&momentum) / gm - r / distance;
        // From h and energy: the vector's own length loses digits where it is near 1.
        let square = 1.0 + momentum.norm_squared() * (speed / gm).powi(2);
        let eccentricity = square.sqrt();
        let along = match side {
            Side::Incoming => vector,
            Side::Outgoing => -vector,
        };
        let direction = (along + momentum.cross(&vector) * (speed / gm)) / square;
        let aim = direction.cross(&momentum) / speed;
        let size = gm / (speed * speed);
        let sinh = r.dot(v) / (eccentricity * (gm * size).sqrt());
        let to_periapsis = -(eccentricity * sinh - sinh.asinh()) * size / speed;
        let c = relative + 16.0 * EPSILON;
        let speed_error = of_energy(gm, state, c) / speed;
        let momentum_error = of_angular_momentum(state, c);
        let vector_error = of_eccentricity(gm, state, c);
        let direction_error = vector_error * (1.0 + 3.0 * eccentricity) / square
            + speed * momentum_error / (gm * eccentricity)
            + speed_error / speed;
        Some(Asymptote {
            v_infinity: direction * speed,
            aim,
            to_periapsis,
            v_infinity_error: speed_error + speed * direction_error,
            aim_error: (momentum_error + momentum.norm() * direction_error) / speed + aim.norm() * speed_error / speed,
            time_error: to_periapsis.abs() * (c + 3.0 * speed_error / speed + vector_error / eccentricity)
                + distance * c / speed,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conic::propagate;

    const GM: f64 = 4.28e13;

    /// A hyperbola written at its periapsis.
    fn at_periapsis() -> State {
        State { position: Vec3::new(4.0e6, 0.0, 0.0), velocity: Vec3::new(0.0, 5.4e3, 0.0) }
    }

    #[test]
    fn the_state_far_out_runs_along_the_asymptote() {
        let far = propagate(GM, &at_periapsis(), 1e11).unwrap();
        let out = Asymptote::of(GM, &at_periapsis(), Side::Outgoing, 0.0).unwrap();
        // At distance r the velocity differs from v∞ by gm/(r v∞) at most: here 4e13/(3e14 × 2.8e3).
        assert!((far.velocity - out.v_infinity).norm() < 2.0 * GM / (far.position.norm() * out.v_infinity.norm()));
        let before = propagate(GM, &at_periapsis(), -1e11).unwrap();
        let incoming = Asymptote::of(GM, &at_periapsis(), Side::Incoming, 0.0).unwrap();
        assert!((before.velocity - incoming.v_infinity).norm() < 2e-4);
        assert!((incoming.v_infinity.norm() - out.v_infinity.norm()).abs() < 1e-10);
    }

    #[test]
    fn the_aim_carries_the_angular_momentum_and_stands_square() {
        for side in [Side::Incoming, Side::Outgoing] {
            let found = Asymptote::of(GM, &at_periapsis(), side, 0.0).unwrap();
            let momentum = found.aim.cross(&found.v_infinity);
            assert!((momentum - Vec3::new(0.0, 0.0, 4.0e6 * 5.4e3)).norm() < 1e-3, "{momentum}");
            assert!(found.aim.dot(&found.v_infinity).abs() < 1.0);
        }
    }

    #[test]
    fn one_hyperbola_has_the_same_asymptotes_everywhere_within_the_error_told() {
        for side in [Side::Incoming, Side::Outgoing] {
            let reference = Asymptote::of(GM, &at_periapsis(), side, 0.0).unwrap();
            assert!(reference.to_periapsis.abs() < 1e-9);
            for time in [-3.0e5, -2000.0, 50.0, 2.0e5] {
                let state = propagate(GM, &at_periapsis(), time).unwrap();
                let found = Asymptote::of(GM, &state, side, 100.0 * f64::EPSILON).unwrap();
                assert!((found.v_infinity - reference.v_infinity).norm() < found.v_infinity_error);
                assert!((found.aim - reference.aim).norm() < found.aim_error);
                assert!((found.to_periapsis + time).abs() < found.time_error, "{found:?}");
            }
        }
    }

    #[test]
    fn a_bound_orbit_has_none() {
        let state = State { position: Vec3::new(4.0e6, 0.0, 0.0), velocity: Vec3::new(0.0, 3.0e3, 0.0) };
        assert_eq!(Asymptote::of(GM, &state, Side::Incoming, 0.0), None);
    }
}
