//! The asymptotes of a hyperbola: from them to the orbit, and back.

use crate::conic::{ConicError, State, angular_momentum, eccentricity_vector, invariants};
use crate::vector::Vec3;

/// One asymptote of a hyperbola.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asymptote {
    /// Velocity far away, m/s, along the motion.
    pub v_infinity: Vec3,
    /// The aim B: from the centre to the foot of the perpendicular on the asymptote, m; square to `v_infinity`.
    pub aim: Vec3,
}

/// The state at periapsis of the hyperbola that comes in with `v_infinity` (m/s) along the asymptote through `aim`
/// (m, from the centre; its part along `v_infinity` does not matter), about a centre of `gm` (m³/s²).
///
/// # Errors
/// A bad gravitational parameter, no excess speed, or an aim through the centre.
///
/// # Source
/// [Battin1999], section 3.6: e² = 1 + (b v∞²/gm)², cosine of the asymptote's angle from the axis 1/e.
pub fn at_periapsis(gm: f64, v_infinity: Vec3, aim: Vec3) -> Result<State, ConicError> {
    if !(gm > 0.0 && gm.is_finite()) {
        return Err(ConicError::GravitationalParameter { gm_m3_s2: gm });
    }
    let speed = v_infinity.norm();
    let along = v_infinity / speed;
    let aim = aim - along * aim.dot(&along);
    let distance = aim.norm();
    if !(speed > 0.0 && speed.is_finite() && distance > 0.0 && distance.is_finite()) {
        return Err(ConicError::Asymptote { v_infinity_m_s: speed, aim_m: distance });
    }
    let across = aim / distance;
    let slope = distance * speed * speed / gm;
    let eccentricity = slope.hypot(1.0);
    let (cosine, sine) = (1.0 / eccentricity, slope / eccentricity);
    // a (e − 1) with e − 1 = slope²/(e + 1): slow hyperbolas keep their digits.
    let periapsis = distance * slope / (eccentricity + 1.0);
    let state = State {
        position: periapsis * (cosine * along + sine * across),
        velocity: (distance * speed / periapsis) * (sine * along - cosine * across),
    };
    if !state.is_finite() || state.position == Vec3::zeros() {
        return Err(ConicError::Asymptote { v_infinity_m_s: speed, aim_m: distance });
    }
    Ok(state)
}

/// The state at a radius (m) on the way in of the hyperbola that comes in with `v_infinity` (m/s) along the asymptote
/// through `aim` (m, from the centre; zero for a fall straight at it), about a centre of `gm` (m³/s²).
///
/// The excess speed comes back from this state to a rounding however near the centre the aim lies, which it does not from
/// the state at periapsis: there two huge numbers would cancel.
///
/// # Errors
/// A bad gravitational parameter, no excess speed, or a radius below the periapsis.
///
/// # Source
/// [Battin1999], section 3.3, the equation of orbit, counted from the asymptote: p/r = 1 − cos φ + (b/a) sin φ with
/// p = b²/a and a = gm/v∞²; solved for tan(φ/2) as a sum of positive terms.
pub fn inbound_at(gm: f64, v_infinity: Vec3, aim: Vec3, radius: f64) -> Result<State, ConicError> {
    if !(gm > 0.0 && gm.is_finite()) {
        return Err(ConicError::GravitationalParameter { gm_m3_s2: gm });
    }
    let speed = v_infinity.norm();
    let along = v_infinity / speed;
    let aim = aim - along * aim.dot(&along);
    let distance = aim.norm();
    let axis = gm / (speed * speed);
    let share = distance * (distance / axis) / radius;
    let square = speed * speed + 2.0 * gm / radius;
    let transverse = distance * speed / radius;
    let radial_square = square - transverse * transverse;
    let root = (distance / axis).powi(2) + (2.0 - share) * share;
    let sound = speed > 0.0 && radius > 0.0 && root >= 0.0 && radial_square >= 0.0 && square.is_finite();
    if !(sound && distance.is_finite()) {
        return Err(ConicError::Asymptote { v_infinity_m_s: speed, aim_m: distance });
    }
    if distance == 0.0 {
        return Ok(State { position: along * -radius, velocity: along * square.sqrt() });
    }
    let across = aim / distance;
    let half = share / (distance / axis + root.sqrt());
    let (cosine, sine) = ((1.0 - half * half) / (1.0 + half * half), 2.0 * half / (1.0 + half * half));
    let outward = across * sine - along * cosine;
    let ahead = along * sine + across * cosine;
    Ok(State { position: outward * radius, velocity: ahead * transverse - outward * radial_square.sqrt() })
}

/// The asymptote on which a state came in; none unless its orbit about a centre of `gm` (m³/s²) is a hyperbola.
///
/// # Source
/// [Battin1999], section 3.6.
pub fn incoming(gm: f64, state: &State) -> Option<Asymptote> {
    asymptote(gm, state, 1.0)
}

/// The asymptote on which a state will leave; none unless its orbit about a centre of `gm` (m³/s²) is a hyperbola.
///
/// # Source
/// [Battin1999], section 3.6.
pub fn outgoing(gm: f64, state: &State) -> Option<Asymptote> {
    asymptote(gm, state, -1.0)
}

/// Excess speed, m/s; none unless the orbit about a centre of `gm` (m³/s²) is a hyperbola.
pub fn excess_speed(gm: f64, state: &State) -> Option<f64> {
    let square = -invariants::alpha(gm, state);
    (square > 0.0).then(|| square.sqrt())
}

/// `side` 1: incoming, −1: outgoing; the two mirror each other in the line of apsides.
fn asymptote(gm: f64, state: &State, side: f64) -> Option<Asymptote> {
    state.checked(gm).ok()?;
    let speed = excess_speed(gm, state)?;
    let momentum = angular_momentum(state);
    let h = momentum.norm();
    let slope = speed * h / gm;
    let eccentricity = slope.hypot(1.0);
    let (cosine, sine) = (1.0 / eccentricity, slope / eccentricity);
    let periapsis = eccentricity_vector(gm, state).normalize();
    // A straight line has no plane: its asymptotes are the line itself, aimed at the centre.
    let normal = if h > 0.0 { momentum / h } else { Vec3::zeros() };
    let ahead = normal.cross(&periapsis);
    let along = side * cosine * periapsis + sine * ahead;
    Some(Asymptote { v_infinity: speed * along, aim: (h / speed) * along.cross(&normal) })
}

/// The velocity at `place` (m, from the centre) of the hyperbola whose incoming asymptote has `v_infinity` (m/s): the
/// one that has turned by less than half a turn from the asymptote to the place.
///
/// # Errors
/// A bad gravitational parameter, no excess speed, or a place straight behind the centre, where every plane would do.
///
/// # Source
/// [Battin1999], section 6.8, velocity from place and asymptote, with time reversed.
pub fn velocity_from_incoming(gm: f64, place: Vec3, v_infinity: Vec3) -> Result<Vec3, ConicError> {
    Ok(-velocity_to_outgoing(gm, place, -v_infinity)?)
}

/// The velocity at `place` (m, from the centre) of the hyperbola that leaves with `v_infinity` (m/s): the one that
/// turns by less than half a turn from the place to the asymptote.
///
/// # Errors
/// A bad gravitational parameter, no excess speed, or a place straight behind the centre, where every plane would do.
///
/// # Source
/// [Battin1999], section 6.8: v = (D + v∞/2) ŝ + (D − v∞/2) r̂ with D² = gm/(r (1 + cos θ)) + v∞²/4.
pub fn velocity_to_outgoing(gm: f64, place: Vec3, v_infinity: Vec3) -> Result<Vec3, ConicError> {
    if !(gm > 0.0 && gm.is_finite()) {
        return Err(ConicError::GravitationalParameter { gm_m3_s2: gm });
    }
    let (radius, speed) = (place.norm(), v_infinity.norm());
    let refused = ConicError::Asymptote { v_infinity_m_s: speed, aim_m: radius };
    if !(radius > 0.0 && radius.is_finite() && speed > 0.0 && speed.is_finite()) {
        return Err(refused);
    }
    let (outward, along) = (place / radius, v_infinity / speed);
    // 1 + cos θ as half the square of the sum of the unit vectors: it keeps its digits near θ = π.
    let opening = 0.5 * (outward + along).norm_squared();
    if opening <= 1e-28 {
        return Err(refused);
    }
    let drive = (gm / (radius * opening) + 0.25 * speed * speed).sqrt();
    // D − v∞/2 = (D² − v∞²/4)/(D + v∞/2), without the difference.
    let sum = drive + 0.5 * speed;
    Ok(sum * along + (gm / (radius * opening * sum)) * outward)
}

/// As [`velocity_from_incoming`].
///
/// # Errors
/// As [`velocity_from_incoming`].
pub fn velocity_from_asymptote(gm: f64, place: Vec3, v_infinity_incoming: Vec3) -> Result<Vec3, ConicError> {
    velocity_from_incoming(gm, place, v_infinity_incoming)
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986e14;

    #[test]
    fn asymptotes_come_back() {
        let v = Vec3::new(2000.0, -1500.0, 700.0);
        let aim = v.cross(&Vec3::new(0.3, 0.2, -0.9)).normalize() * 2.5e7;
        let periapsis = at_periapsis(GM, v, aim).unwrap();
        let back = incoming(GM, &periapsis).unwrap();
        assert!((back.v_infinity - v).norm() < 1e-12 * v.norm());
        assert!((back.aim - aim).norm() < 1e-12 * aim.norm());
        assert!(periapsis.position.dot(&periapsis.velocity).abs() < 1e-15 * periapsis.radius() * periapsis.speed());
        let out = outgoing(GM, &periapsis).unwrap();
        assert!((out.v_infinity.norm() - v.norm()).abs() < 1e-12 * v.norm());
        assert!((out.aim.cross(&out.v_infinity) - aim.cross(&v)).norm() < 1e-12 * aim.norm() * v.norm());
    }

    /// v-infinity and aim come back from the state at the edge of a sphere, however near the centre the aim lies; wide
    /// ones agree with the state at periapsis, flown back.
    #[test]
    fn the_state_at_the_edge_keeps_its_asymptote() {
        for (gm, v, radius) in [(4.28e13, 2650.0, 5.8e8), (5.2e16, 3113.0, 7.4e9), (1.267e17, 5600.0, 4.8e10)] {
            let v_infinity = Vec3::new(0.6, -0.64, 0.48) * v;
            let across = v_infinity.cross(&Vec3::new(0.3, 0.2, -0.9)).normalize();
            for distance in [0.0, 1e-3, 1.0, 1e3, 1e6, 3e7] {
                let state = inbound_at(gm, v_infinity, across * distance, radius).unwrap();
                assert!((state.radius() - radius).abs() < 4.0 * f64::EPSILON * radius);
                assert!(state.position.dot(&state.velocity) < 0.0);
                let back = (state.speed().powi(2) - 2.0 * gm / radius).sqrt();
                // The energy is a difference of speed² and 2 gm/r: their ratio magnifies some roundings.
                let condition = (v * v + 4.0 * gm / radius) / (v * v);
                assert!((back - v).abs() < 8.0 * f64::EPSILON * condition * v, "{distance}: {back} for {v}");
                let momentum = angular_momentum(&state).norm();
                assert!((momentum - distance * v).abs() < 8.0 * f64::EPSILON * radius * state.speed());
            }
            let wide = inbound_at(gm, v_infinity, across * 3e7, radius).unwrap();
            let periapsis = at_periapsis(gm, v_infinity, across * 3e7).unwrap();
            let lead = crate::conic::time_to_radius(gm, &periapsis, radius, crate::conic::Passage::Outbound).unwrap();
            let flown = crate::conic::propagate(gm, &periapsis, -lead).unwrap();
            assert!((flown.position - wide.position).norm() < 1e-11 * radius);
        }
    }

    #[test]
    fn asymptotes_are_where_flight_tends_to() {
        let v = Vec3::new(2000.0, -1500.0, 700.0);
        let aim = v.cross(&Vec3::new(0.3, 0.2, -0.9)).normalize() * 2.5e7;
        let periapsis = at_periapsis(GM, v, aim).unwrap();
        let far = crate::conic::propagate(GM, &periapsis, 1e12).unwrap();
        let out = outgoing(GM, &periapsis).unwrap();
        // Velocity and asymptote differ by gm/(r v∞²) of the speed, in size and in direction.
        let differ = GM / (far.radius() * v.norm_squared());
        assert!((far.velocity - out.v_infinity).norm() < 2.0 * differ * v.norm());
    }

    #[test]
    fn velocity_at_a_place_has_the_asymptote_asked_for() {
        let v = Vec3::new(2000.0, -1500.0, 700.0);
        for place in [Vec3::new(7e6, 1e6, -3e6), Vec3::new(-7e6, 2e6, 0.0), Vec3::new(1e6, 1e6, 9e6)] {
            let to = State::new(place, velocity_to_outgoing(GM, place, v).unwrap());
            assert!((outgoing(GM, &to).unwrap().v_infinity - v).norm() < 1e-11 * v.norm());
            let from = State::new(place, velocity_from_incoming(GM, place, v).unwrap());
            assert!((incoming(GM, &from).unwrap().v_infinity - v).norm() < 1e-11 * v.norm());
        }
    }
}
