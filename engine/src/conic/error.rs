//! What can be wrong with a question about a conic.

use thiserror::Error;

/// Why a conic gives no answer.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum ConicError {
    /// The gravitational parameter is not a positive finite number.
    #[error("the gravitational parameter must be positive and finite, not {gm_m3_s2:e} m³/s²")]
    GravitationalParameter {
        /// m³/s²
        gm_m3_s2: f64,
    },
    /// A component of the state, an element or the time is NaN or infinite, or the answer would overflow.
    #[error("{what} is not a finite number")]
    NotFinite {
        /// which quantity
        what: &'static str,
    },
    /// The place is the centre of attraction itself, where velocity has no limit.
    #[error("the place is the centre of attraction (distance {distance_m:e} m)")]
    AtCentre {
        /// m
        distance_m: f64,
    },
    /// Place and velocity lie on one line through the centre: such an orbit has no plane and no elements.
    #[error("the orbit is a straight line through the centre: it has no plane and no elements")]
    Rectilinear,
    /// The true anomaly lies beyond the asymptote of an open orbit.
    #[error("true anomaly {true_anomaly_rad} rad lies beyond the asymptote at {limit_rad} rad")]
    BeyondAsymptote {
        /// rad
        true_anomaly_rad: f64,
        /// rad, the largest true anomaly that the orbit reaches
        limit_rad: f64,
    },
    /// The elements describe no orbit.
    #[error("no orbit has a semi-latus rectum of {semi_latus_rectum_m:e} m and an eccentricity of {eccentricity}")]
    Shape {
        /// m
        semi_latus_rectum_m: f64,
        /// dimensionless
        eccentricity: f64,
    },
    /// The asymptote gives no hyperbola: excess speed zero, an aim through the centre, or a place on the asymptote behind
    /// the centre.
    #[error("this asymptote gives no hyperbola: excess speed {v_infinity_m_s} m/s, aim {aim_m} m from the centre")]
    Asymptote {
        /// m/s
        v_infinity_m_s: f64,
        /// m
        aim_m: f64,
    },
    /// The universal Kepler equation did not settle, which only states near the limits of the number format bring about.
    #[error("no convergence after {iterations} iterations; time off by {residual_s:e} s")]
    NotConverged {
        /// how many corrections were made
        iterations: u32,
        /// s
        residual_s: f64,
    },
}
