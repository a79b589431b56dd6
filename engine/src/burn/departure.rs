//! Departure: from an orbit about a body onto the asymptote that a transfer asks for.

use super::error::{BurnError, GM, finite, positive};
use crate::conic::{Elements, State, hyperbola, propagate, time_to_true_anomaly};
use crate::vector::Vec3;
use std::f64::consts::{PI, TAU};

/// Injection from a circular orbit, along the motion.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Injection {
    /// m/s.
    pub dv: f64,
    /// Speed after the burn, m/s, at the periapsis of the new orbit.
    pub speed: f64,
    /// Eccentricity of the new orbit.
    pub eccentricity: f64,
}

/// Injection from a circular orbit of `radius` (m) to twice the energy `c3` (m²/s²; v∞² of a hyperbola, negative on an ellipse).
///
/// # Errors
/// Inputs not above zero; an energy below that of a fall from this radius.
///
/// # Source
/// [Curtis2014], section 8.6.
pub fn injection(gm: f64, c3: f64, radius: f64) -> Result<Injection, BurnError> {
    positive(GM, gm)?;
    positive("the radius, m,", radius)?;
    let square = finite("C3, m²/s²,", c3)? + 2.0 * gm / radius;
    if !(square >= 0.0) {
        return Err(BurnError::EnergyTooLow { energy_m2_s2: 0.5 * c3, radius_m: radius });
    }
    let (speed, circular) = (square.sqrt(), (gm / radius).sqrt());
    Ok(Injection { dv: speed - circular, speed, eccentricity: (1.0 + radius * c3 / gm).abs() })
}

/// A burn onto an asymptote, or off it into an orbit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Departure {
    /// From the given state to the burn, s.
    pub wait: f64,
    /// State just before the burn, m and m/s.
    pub before: State,
    /// The burn, m/s, inertial.
    pub dv: Vec3,
    /// Eccentricity of the hyperbola.
    pub eccentricity: f64,
    /// Its periapsis radius, m: where it lies ahead of the burn, to be kept above the surface.
    pub periapsis_radius: f64,
    /// From the burn to the hyperbola's periapsis, s; negative when it lies behind.
    pub time_to_periapsis: f64,
}

impl Departure {
    /// State just after the burn.
    pub fn after(&self) -> State {
        State::new(self.before.position, self.before.velocity + self.dv)
    }
}

/// Places per revolution that the first look goes through.
const FIRST_LOOK: u32 = 180;

/// The cheapest single burn from the orbit of `state` onto the hyperbola that leaves with `v_infinity` (m/s), in three dimensions.
///
/// Every place on the closed orbit has one hyperbola that leaves from it by less than half a turn; its velocity is a closed
/// form, so v∞ is met in size and direction and only the place is searched: a look round the orbit, then a bracketed search
/// about the best places. In the plane of a circular orbit this is the tangent burn at the hyperbola's periapsis.
/// `least_periapsis` (m; 0 for none) refuses hyperbolas that pass a periapsis lower than that on their way out.
///
/// # Errors
/// An open orbit; no excess speed; every place refused.
///
/// # Source
/// [Battin1999], section 6.8 for the velocity; the search is plain.
pub fn departure(gm: f64, state: &State, v_infinity: &Vec3, least_periapsis: f64) -> Result<Departure, BurnError> {
    let elements = closed(gm, state)?;
    positive("the excess speed, m/s,", v_infinity.norm())?;
    let at = |anomaly: f64| -> Option<(State, Vec3)> {
        let place = Elements { true_anomaly: anomaly, ..elements }.to_state(gm).ok()?;
        let velocity = hyperbola::velocity_to_outgoing(gm, place.position, *v_infinity).ok()?;
        Some((place, velocity - place.velocity))
    };
    let cost = |anomaly: f64| -> f64 {
        match at(anomaly) {
            Some((place, dv)) if passes_above(gm, &place, &dv, least_periapsis) => dv.norm(),
            _ => f64::INFINITY,
        }
    };
    let step = TAU / f64::from(FIRST_LOOK);
    let costs: Vec<f64> = (0..FIRST_LOOK).map(|i| cost(f64::from(i) * step)).collect();
    let n = costs.len();
    let mut best: Option<(f64, f64)> = None;
    for i in 0..n {
        if costs[i].is_finite() && costs[i] <= costs[(i + 1) % n] && costs[i] <= costs[(i + n - 1) % n] {
            let centre = i as f64 * step;
            let found = least(&cost, centre - step, centre + step);
            let found = if found.1 <= costs[i] { found } else { (centre, costs[i]) };
            if best.is_none_or(|(_, size)| found.1 < size) {
                best = Some(found);
            }
        }
    }
    let Some((anomaly, _)) = best else {
        return Err(BurnError::NoDirection {
            what: "every hyperbola from this orbit passes too low, so the departure",
        });
    };
    let wait = time_to_true_anomaly(gm, state, anomaly).unwrap_or(0.0);
    // The state that a coast arrives at, rather than the elements' one: the burn fits the flight to the last digits.
    let before = propagate(gm, state, wait)?;
    let velocity = hyperbola::velocity_to_outgoing(gm, before.position, *v_infinity)?;
    let after = State::new(before.position, velocity);
    let elements = Elements::from_state(gm, &after)?;
    Ok(Departure {
        wait,
        before,
        dv: velocity - before.velocity,
        eccentricity: elements.eccentricity,
        periapsis_radius: elements.periapsis_radius(),
        time_to_periapsis: -crate::conic::time_since_periapsis(gm, &after),
    })
}

/// The circular orbit of `radius` (m) from which a tangent burn departs onto `v_infinity` (m/s): its state at the burn.
///
/// The plane holds v∞ and has the least inclination to the plane square to `pole` that this allows: the excess velocity's
/// declination. Motion is prograde about the pole.
///
/// # Errors
/// Inputs not above zero; v∞ along the pole, where every meridian plane would do.
///
/// # Source
/// [Curtis2014], section 8.6: the asymptote lies acos(−1/e) past the burn.
pub fn parking_orbit(gm: f64, radius: f64, v_infinity: &Vec3, pole: &Vec3) -> Result<State, BurnError> {
    positive(GM, gm)?;
    positive("the radius, m,", radius)?;
    let speed = positive("the excess speed, m/s,", v_infinity.norm())?;
    let along = v_infinity / speed;
    let normal = pole - along * along.dot(pole);
    if !(normal.norm() > 1e-12 * pole.norm() && normal.norm().is_finite()) {
        return Err(BurnError::NoDirection { what: "a pole along the excess velocity" });
    }
    let normal = normal.normalize();
    let k = radius * speed * speed / gm;
    let (eccentricity, root) = (1.0 + k, (k * (2.0 + k)).sqrt());
    // Turned back from the asymptote by the true anomaly whose cosine is −1/e.
    let ahead = normal.cross(&along);
    let outward = along * (-1.0 / eccentricity) - ahead * (root / eccentricity);
    Ok(State::new(outward * radius, normal.cross(&outward) * (gm / radius).sqrt()))
}

fn closed(gm: f64, state: &State) -> Result<Elements, BurnError> {
    let elements = Elements::from_state(gm, state)?;
    if elements.eccentricity < 1.0 {
        Ok(elements)
    } else {
        Err(BurnError::Open { energy_m2_s2: crate::conic::energy(gm, state) })
    }
}

/// Whether the way out stays above the least periapsis: it starts outward, or its periapsis is high enough.
fn passes_above(gm: f64, place: &State, dv: &Vec3, least_periapsis: f64) -> bool {
    let after = State::new(place.position, place.velocity + dv);
    least_periapsis <= 0.0
        || after.position.dot(&after.velocity) >= 0.0
        || Elements::from_state(gm, &after).is_ok_and(|e| e.periapsis_radius() >= least_periapsis * (1.0 - 1e-9))
}

/// Least value between `low` and `high`: golden section.
fn least(cost: &dyn Fn(f64) -> f64, mut low: f64, mut high: f64) -> (f64, f64) {
    let golden = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut a, mut b) = (high - golden * (high - low), low + golden * (high - low));
    let (mut fa, mut fb) = (cost(a), cost(b));
    // 45 cuts bring two degrees to 1e-11 rad; near a minimum the cost itself is flat to its last digits long before.
    for _ in 0..45 {
        if fa <= fb {
            (high, b, fb) = (b, a, fa);
            a = high - golden * (high - low);
            fa = cost(a);
        } else {
            (low, a, fa) = (a, b, fb);
            b = low + golden * (high - low);
            fb = cost(b);
        }
    }
    if fa <= fb { (a, fa) } else { (b, fb) }
}

/// Angle from the burn to the asymptote, rad, of a departure at the periapsis of a hyperbola of this eccentricity: acos(−1/e).
///
/// # Errors
/// An eccentricity of 1 or less.
pub fn asymptote_true_anomaly(eccentricity: f64) -> Result<f64, BurnError> {
    if eccentricity > 1.0 && eccentricity.is_finite() {
        Ok(PI - ((eccentricity - 1.0) * (eccentricity + 1.0)).sqrt().atan2(1.0))
    } else {
        Err(BurnError::NotPositive { what: "the excess of the eccentricity over 1", value: eccentricity - 1.0 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GM: f64 = 3.986e14;

    #[test]
    fn tangent_burn_from_the_coplanar_circle() {
        let v = Vec3::new(2000.0, -1800.0, 900.0);
        let start = parking_orbit(GM, 6.7e6, &v, &Vec3::new(0.0, 0.0, 1.0)).unwrap();
        let early = propagate(GM, &start, -1234.0).unwrap();
        let found = departure(GM, &early, &v, 6.6e6).unwrap();
        let tangent = injection(GM, v.norm_squared(), 6.7e6).unwrap();
        assert!((found.dv.norm() / tangent.dv - 1.0).abs() < 1e-12, "{found:?} {tangent:?}");
        // The minimum is flat: its place is good to the root of the rounding.
        assert!((found.wait - 1234.0).abs() < 1e-3 && found.time_to_periapsis.abs() < 1e-3);
        assert!((hyperbola::outgoing(GM, &found.after()).unwrap().v_infinity - v).norm() < 1e-9);
    }

    #[test]
    fn no_neighbouring_burn_is_cheaper() {
        let v = Vec3::new(2000.0, -1800.0, 2900.0);
        let ellipse = State::new([7e6, 0.0, 0.0].into(), [0.0, 8300.0, 1900.0].into());
        let found = departure(GM, &ellipse, &v, 0.0).unwrap();
        assert!((hyperbola::outgoing(GM, &found.after()).unwrap().v_infinity - v).norm() < 1e-9);
        for i in 0..1000 {
            let place = propagate(GM, &ellipse, f64::from(i) * 12.0).unwrap();
            let velocity = hyperbola::velocity_to_outgoing(GM, place.position, v).unwrap();
            assert!((velocity - place.velocity).norm() >= found.dv.norm() * (1.0 - 1e-13));
        }
    }
}
