//! Transfers between orbits in one plane whose apses lie in line: two tangent burns, or one tangent and one not.

use super::error::{BurnError, GM, positive};
use crate::conic::{Elements, time_since_periapsis};
use std::f64::consts::PI;

/// A transfer of two burns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transfer {
    /// First burn along the motion, m/s; negative against it.
    pub dv1: f64,
    /// Second burn: for a Hohmann transfer along the motion with its sign, for a one-tangent transfer its size, m/s.
    pub dv2: f64,
    /// Semi-major axis of the transfer orbit, m; infinite for the parabola, negative beyond it.
    pub semi_major_axis: f64,
    /// Its eccentricity.
    pub eccentricity: f64,
    /// Time between the burns, s.
    pub time: f64,
}

impl Transfer {
    /// Sum of the sizes of both burns, m/s.
    pub fn dv(&self) -> f64 {
        self.dv1.abs() + self.dv2.abs()
    }
}

/// Speed, m/s, at an apse of `radius` (m) of the orbit whose other apse is at `opposite` (m; infinite for a parabola).
pub fn apse_speed(gm: f64, radius: f64, opposite: f64) -> f64 {
    (2.0 * gm / radius / (1.0 + radius / opposite)).sqrt()
}

/// Hohmann transfer between circular orbits of radius `r1` and `r2` (m) about a centre of `gm` (m³/s²).
///
/// # Errors
/// Inputs not above zero.
///
/// # Source
/// [Battin1999], section 11.3; [Curtis2014], section 6.3.
///
/// # Example
/// ```
/// let up = visviva_engine::burn::hohmann::circular(398_600.4418e9, 6_569_481.11, 42_159_485.57)?;
/// assert!((up.dv() - 3935.224).abs() < 1e-3); // [Vallado2013], example 6-1 (from memory)
/// # Ok::<(), visviva_engine::burn::BurnError>(())
/// ```
pub fn circular(gm: f64, r1: f64, r2: f64) -> Result<Transfer, BurnError> {
    between_apses(gm, r1, r1, r2, r2)
}

/// Transfer from an apse `r1` of one orbit (other apse `opposite1`) to an apse `r2` of another (other apse `opposite2`), m.
///
/// The apses lie in line: the second burn is half a revolution after the first.
///
/// # Errors
/// Inputs not above zero.
pub fn between_apses(gm: f64, r1: f64, opposite1: f64, r2: f64, opposite2: f64) -> Result<Transfer, BurnError> {
    positive(GM, gm)?;
    for radius in [r1, opposite1, r2, opposite2] {
        positive("the radius, m,", radius)?;
    }
    let semi_major_axis = 0.5 * (r1 + r2);
    Ok(Transfer {
        dv1: apse_speed(gm, r1, r2) - apse_speed(gm, r1, opposite1),
        dv2: apse_speed(gm, r2, opposite2) - apse_speed(gm, r2, r1),
        semi_major_axis,
        eccentricity: (r2 - r1).abs() / (r1 + r2),
        time: PI * semi_major_axis * (semi_major_axis / gm).sqrt(),
    })
}

/// Faster than Hohmann: leave the circular orbit `r1` along it, arrive on the circular orbit `r2` (m) at a true anomaly (rad).
///
/// Outward the arc leaves from its periapsis, inward from its apoapsis. The arc may be a hyperbola.
///
/// # Errors
/// Inputs not above zero; a true anomaly that no such arc has at `r2`.
///
/// # Source
/// [Vallado2013], section 6.3.3.
pub fn one_tangent(gm: f64, r1: f64, r2: f64, true_anomaly: f64) -> Result<Transfer, BurnError> {
    positive(GM, gm)?;
    positive("the first radius, m,", r1)?;
    positive("the second radius, m,", r2)?;
    let cosine = true_anomaly.cos();
    let outward = if r2 > r1 { 1.0 } else { -1.0 };
    let refused = BurnError::NoTangentArc { from_m: r1, to_m: r2, true_anomaly_rad: true_anomaly };
    let eccentricity = if outward > 0.0 { (r2 - r1) / (r1 - r2 * cosine) } else { (r1 - r2) / (r1 + r2 * cosine) };
    if !(eccentricity >= 0.0 && eccentricity.is_finite() && 1.0 + eccentricity * cosine > 0.0)
        || (outward < 0.0 && eccentricity >= 1.0)
    {
        return Err(refused);
    }
    let semi_latus_rectum = r1 * (1.0 + outward * eccentricity);
    let arrival = Elements {
        semi_latus_rectum,
        eccentricity,
        inclination: 0.0,
        ascending_node: 0.0,
        argument_of_periapsis: 0.0,
        true_anomaly: true_anomaly.sin().atan2(cosine),
    };
    let state = arrival.to_state(gm)?;
    let since_periapsis = time_since_periapsis(gm, &state).abs();
    let time = if outward > 0.0 { since_periapsis } else { 0.5 * arrival.period(gm).ok_or(refused)? - since_periapsis };
    let outward_speed = state.position.dot(&state.velocity) / r2;
    let across_speed = (semi_latus_rectum * gm).sqrt() / r2;
    let speed1 = (semi_latus_rectum * gm).sqrt() / r1;
    Ok(Transfer {
        dv1: speed1 - (gm / r1).sqrt(),
        dv2: outward_speed.hypot(across_speed - (gm / r2).sqrt()),
        semi_major_axis: semi_latus_rectum / ((1.0 - eccentricity) * (1.0 + eccentricity)),
        eccentricity,
        time,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_tangent_at_the_far_apse_is_hohmann() {
        for (r1, r2, anomaly) in [(7e6, 4e7, PI), (4e7, 7e6, 0.0)] {
            let (fast, slow) = (one_tangent(3.986e14, r1, r2, anomaly).unwrap(), circular(3.986e14, r1, r2).unwrap());
            assert!(
                (fast.dv() - slow.dv()).abs() < 1e-9 && (fast.time - slow.time).abs() < 1e-8 * slow.time,
                "{fast:?} {slow:?}"
            );
        }
        assert!(matches!(one_tangent(3.986e14, 7e6, 4e7, 0.1), Err(BurnError::NoTangentArc { .. })));
    }

    #[test]
    fn there_and_back_cost_the_same() {
        let (up, down) = (circular(3.986e14, 7e6, 9e6).unwrap(), circular(3.986e14, 9e6, 7e6).unwrap());
        assert_eq!(up.dv1, -down.dv2);
        assert!(up.dv1 > 0.0 && down.dv1 < 0.0);
    }
}
