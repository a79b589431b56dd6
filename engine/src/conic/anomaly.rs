//! Anomalies of the ellipse, the hyperbola and the parabola, and Kepler's equation between them.
//!
//! All angles in rad. The eccentricity's range is the caller's: 0 ≤ e < 1 in the elliptic functions, e > 1 in the
//! hyperbolic ones.

pub use crate::conic::kepler::{
    eccentric_from_mean, eccentric_from_mean_batch, eccentric_from_mean_batch_at, hyperbolic_from_mean,
    parabolic_from_mean,
};

/// Mean anomaly M = E − e sin E of an ellipse; E may hold whole revolutions.
///
/// # Source
/// [Battin1999], section 4.3.
pub fn mean_from_eccentric(e: f64, eccentric: f64) -> f64 {
    if eccentric.abs() < 1.0 {
        // Near periapsis of a slender ellipse E and e sin E nearly cancel: take E − sin E as one series.
        (1.0 - e) * eccentric + e * sine_excess(eccentric)
    } else {
        eccentric - e * eccentric.sin()
    }
}

/// Mean anomaly M = e sinh H − H of a hyperbola.
///
/// # Source
/// [Battin1999], section 4.4.
pub fn mean_from_hyperbolic(e: f64, hyperbolic: f64) -> f64 {
    if hyperbolic.abs() < 1.0 {
        (e - 1.0) * hyperbolic + e * hyperbolic_sine_excess(hyperbolic)
    } else {
        e * hyperbolic.sinh() - hyperbolic
    }
}

/// W = D + D³/3 of a parabola, D = tan(ν/2); W = 2 √(gm/p³) t (Barker's equation).
///
/// # Source
/// [Battin1999], section 4.2.
pub fn mean_from_parabolic(d: f64) -> f64 {
    d + d * d * d / 3.0
}

/// True anomaly of an ellipse, in the same revolution as E.
///
/// # Source
/// [Battin1999], section 4.3.
pub fn true_from_eccentric(e: f64, eccentric: f64) -> f64 {
    let (turns, eccentric) = whole_turns(eccentric);
    let (sine, cosine) = (0.5 * eccentric).sin_cos();
    2.0 * ((1.0 + e).sqrt() * sine).atan2((1.0 - e).sqrt() * cosine) + turns * std::f64::consts::TAU
}

/// Eccentric anomaly of an ellipse, in the same revolution as the true anomaly.
///
/// # Source
/// [Battin1999], section 4.3.
pub fn eccentric_from_true(e: f64, true_anomaly: f64) -> f64 {
    let (turns, nu) = whole_turns(true_anomaly);
    let (sine, cosine) = (0.5 * nu).sin_cos();
    2.0 * ((1.0 - e).sqrt() * sine).atan2((1.0 + e).sqrt() * cosine) + turns * std::f64::consts::TAU
}

/// True anomaly of a hyperbola, within its asymptotes.
///
/// # Source
/// [Battin1999], section 4.4.
pub fn true_from_hyperbolic(e: f64, hyperbolic: f64) -> f64 {
    2.0 * (((e + 1.0) / (e - 1.0)).sqrt() * (0.5 * hyperbolic).tanh()).atan()
}

/// Hyperbolic anomaly of a true anomaly within the asymptotes; infinite on them, and held there beyond them.
///
/// # Source
/// [Battin1999], section 4.4.
pub fn hyperbolic_from_true(e: f64, true_anomaly: f64) -> f64 {
    let tangent = (((e - 1.0) / (e + 1.0)).sqrt() * (0.5 * true_anomaly).tan()).clamp(-1.0, 1.0);
    2.0 * tangent.atanh()
}

/// True anomaly of a parabola from D = tan(ν/2).
pub fn true_from_parabolic(d: f64) -> f64 {
    2.0 * d.atan()
}

/// D = tan(ν/2) of a parabola.
pub fn parabolic_from_true(true_anomaly: f64) -> f64 {
    (0.5 * true_anomaly).tan()
}

/// Largest true anomaly of an open orbit, π on a parabola: where its asymptote lies. None on ellipses.
pub fn limit(e: f64) -> Option<f64> {
    (e >= 1.0).then(|| (-1.0 / e).acos())
}

/// The angle from 0 (included) to a full turn (excluded).
pub fn wrapped(angle: f64) -> f64 {
    let turn = std::f64::consts::TAU;
    let rest = angle.rem_euclid(turn);
    if rest >= turn { 0.0 } else { rest }
}

/// The angle from −π (excluded) to π (included).
pub fn wrapped_signed(angle: f64) -> f64 {
    let rest = whole_turns(angle).1;
    if rest <= -std::f64::consts::PI { rest + std::f64::consts::TAU } else { rest }
}

/// Three parts of 2π: the first two have 33 bits each, so that their products with whole numbers up to 2²⁰ are exact.
/// [CodyWaite1980]
pub(crate) const TURN: [f64; 3] =
    [f64::from_bits(0x401921fb54400000), f64::from_bits(0x3df0b4611a600000), f64::from_bits(0x3bc3198a2e037073)];

/// Whole turns nearest to an angle and what remains, from −π to π, without losing the digits that a plain remainder by
/// the rounded 2π loses.
#[inline]
pub(crate) fn whole_turns(angle: f64) -> (f64, f64) {
    if angle.abs() <= std::f64::consts::PI {
        return (0.0, angle);
    }
    let turns = (angle / std::f64::consts::TAU).round();
    (turns, angle - turns * TURN[0] - turns * TURN[1] - turns * TURN[2])
}

/// x − sin x, without cancellation, for |x| ≤ 1.
#[inline]
pub(crate) fn sine_excess(x: f64) -> f64 {
    let s = x * x;
    s * x
        * (1.0 / 6.0
            - s * (1.0 / 120.0
                - s * (1.0 / 5040.0
                    - s * (1.0 / 362880.0
                        - s * (1.0 / 39916800.0
                            - s * (1.0 / 6227020800.0 - s * (1.0 / 1307674368000.0 - s / 355687428096000.0)))))))
}

/// sinh x − x, without cancellation, for |x| ≤ 1.
#[inline]
pub(crate) fn hyperbolic_sine_excess(x: f64) -> f64 {
    let s = x * x;
    s * x
        * (1.0 / 6.0
            + s * (1.0 / 120.0
                + s * (1.0 / 5040.0
                    + s * (1.0 / 362880.0
                        + s * (1.0 / 39916800.0
                            + s * (1.0 / 6227020800.0 + s * (1.0 / 1307674368000.0 + s / 355687428096000.0)))))))
}
