//! The ways in which a practitioner says how large an orbit is, how it lies, and where on it the craft is.

use std::f64::consts::TAU;

use super::OrbitError;
use crate::conic::anomaly;

/// Size and form of a conic. Lengths in m from the centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Semi-major axis (negative for a hyperbola) and eccentricity (not 1).
    SemiMajorAxis {
        /// m
        semi_major_axis: f64,
        /// dimensionless
        eccentricity: f64,
    },
    /// Lowest and highest distance of an ellipse.
    Apsides {
        /// m
        periapsis_radius: f64,
        /// m
        apoapsis_radius: f64,
    },
    /// Period and eccentricity of an ellipse.
    Period {
        /// s
        period: f64,
        /// dimensionless
        eccentricity: f64,
    },
    /// Lowest distance and eccentricity of any conic.
    Periapsis {
        /// m
        periapsis_radius: f64,
        /// dimensionless
        eccentricity: f64,
    },
    /// Lowest distance and period of an ellipse.
    PeriapsisAndPeriod {
        /// m
        periapsis_radius: f64,
        /// s
        period: f64,
    },
    /// Lowest distance and semi-major axis (negative for a hyperbola).
    PeriapsisAndAxis {
        /// m
        periapsis_radius: f64,
        /// m
        semi_major_axis: f64,
    },
    /// Excess speed and lowest distance of a hyperbola.
    Hyperbola {
        /// m/s
        v_infinity: f64,
        /// m
        periapsis_radius: f64,
    },
}

/// Where on the conic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Anomaly {
    /// True anomaly, rad.
    True(f64),
    /// Mean anomaly, rad; of a hyperbola e sinh H − H.
    Mean(f64),
}

/// How the conic lies in its frame, and where on it the craft is. Angles in rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// 0 to π.
    pub inclination: f64,
    /// Right ascension of the ascending node.
    pub ascending_node: f64,
    /// From the node along the motion.
    pub argument_of_periapsis: f64,
    /// Where on the conic.
    pub anomaly: Anomaly,
}

impl Default for Placement {
    /// At the periapsis of an orbit in the plane of the frame, periapsis on its x axis.
    fn default() -> Self {
        Placement { inclination: 0.0, ascending_node: 0.0, argument_of_periapsis: 0.0, anomaly: Anomaly::True(0.0) }
    }
}

fn positive(what: &'static str, value: f64) -> Result<f64, OrbitError> {
    if value > 0.0 && value.is_finite() {
        Ok(value)
    } else {
        Err(OrbitError::OutOfRange { what, range: "positive", value })
    }
}

fn elliptic(eccentricity: f64) -> Result<f64, OrbitError> {
    if (0.0..1.0).contains(&eccentricity) {
        Ok(eccentricity)
    } else {
        Err(OrbitError::OutOfRange {
            what: "the eccentricity of an ellipse",
            range: "from 0 up to but not 1",
            value: eccentricity,
        })
    }
}

fn any_eccentricity(eccentricity: f64) -> Result<f64, OrbitError> {
    if eccentricity >= 0.0 && eccentricity.is_finite() {
        Ok(eccentricity)
    } else {
        Err(OrbitError::OutOfRange { what: "the eccentricity", range: "0 or more", value: eccentricity })
    }
}

impl Shape {
    /// Semi-latus rectum (m) and eccentricity about a centre of `gm` (m³/s²).
    ///
    /// # Errors
    /// [`OrbitError::OutOfRange`], naming the number and its range.
    pub fn form(&self, gm: f64) -> Result<(f64, f64), OrbitError> {
        match *self {
            Shape::SemiMajorAxis { semi_major_axis, eccentricity } => {
                let e = any_eccentricity(eccentricity)?;
                let p = semi_major_axis * (1.0 - e) * (1.0 + e);
                if p > 0.0 && p.is_finite() {
                    Ok((p, e))
                } else {
                    Err(OrbitError::OutOfRange {
                        what: "the semi-major axis",
                        range: "positive for an ellipse and negative for a hyperbola (a parabola has none: give its periapsis)",
                        value: semi_major_axis,
                    })
                }
            }
            Shape::Apsides { periapsis_radius, apoapsis_radius } => {
                let (rp, ra) = (
                    positive("the periapsis radius", periapsis_radius)?,
                    positive("the apoapsis radius", apoapsis_radius)?,
                );
                if ra < rp {
                    return Err(OrbitError::OutOfRange {
                        what: "the apoapsis radius",
                        range: "at least the periapsis radius",
                        value: apoapsis_radius,
                    });
                }
                Ok((2.0 * rp * (ra / (ra + rp)), (ra - rp) / (ra + rp)))
            }
            Shape::Period { period, eccentricity } => {
                let (period, e) = (positive("the period", period)?, elliptic(eccentricity)?);
                let a = (gm * (period / TAU).powi(2)).cbrt();
                Ok((a * (1.0 - e) * (1.0 + e), e))
            }
            Shape::Periapsis { periapsis_radius, eccentricity } => {
                let (rp, e) = (positive("the periapsis radius", periapsis_radius)?, any_eccentricity(eccentricity)?);
                Ok((rp * (1.0 + e), e))
            }
            Shape::PeriapsisAndPeriod { periapsis_radius, period } => {
                let turns = positive("the period", period)? / TAU;
                let semi_major_axis = (gm * turns * turns).cbrt();
                Shape::PeriapsisAndAxis { periapsis_radius, semi_major_axis }.form(gm)
            }
            Shape::PeriapsisAndAxis { periapsis_radius, semi_major_axis } => {
                let rp = positive("the periapsis radius", periapsis_radius)?;
                let e = 1.0 - rp / semi_major_axis;
                if e >= 0.0 && e.is_finite() {
                    Ok((rp * (1.0 + e), e))
                } else {
                    Err(OrbitError::OutOfRange {
                        what: "the periapsis radius",
                        range: "no greater than the semi-major axis",
                        value: rp,
                    })
                }
            }
            Shape::Hyperbola { v_infinity, periapsis_radius } => {
                let (v, rp) =
                    (positive("v-infinity", v_infinity)?, positive("the periapsis radius", periapsis_radius)?);
                let e = 1.0 + rp * v * v / gm;
                Ok((rp * (1.0 + e), e))
            }
        }
    }
}

impl Anomaly {
    /// The true anomaly on a conic of some eccentricity, rad.
    ///
    /// # Errors
    /// No mean anomaly is defined on a parabola; numbers that are not finite.
    pub fn on_conic(&self, eccentricity: f64) -> Result<f64, OrbitError> {
        match *self {
            Anomaly::True(anomaly) => Ok(anomaly),
            Anomaly::Mean(mean) if eccentricity < 1.0 => {
                Ok(anomaly::true_from_eccentric(eccentricity, anomaly::eccentric_from_mean(eccentricity, mean)))
            }
            Anomaly::Mean(mean) if eccentricity > 1.0 => {
                Ok(anomaly::true_from_hyperbolic(eccentricity, anomaly::hyperbolic_from_mean(eccentricity, mean)))
            }
            Anomaly::Mean(_) => Err(OrbitError::OutOfRange {
                what: "the eccentricity with a mean anomaly",
                range: "below or above 1 (a parabola has no mean anomaly: give the true one)",
                value: eccentricity,
            }),
        }
    }
}
