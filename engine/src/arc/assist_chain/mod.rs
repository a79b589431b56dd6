//! Chains of arcs about one centre, joined at the bodies they pass: the planning model of multiple gravity assists.
//!
//! Bodies are points where the centre's conics meet; at each the hyperbola of a pass joins the excess velocities before and
//! after. Two kinds: [`powered`], one Lambert arc a leg and a burn at the periapsis of each pass; [`deep_space`], unpowered passes and
//! one burn between the bodies on each leg. Where the bodies are is the caller's: any ephemeris can feed a chain.
//!
//! # Source
//! [Vinko2008]; D. Izzo, chapter 7 of [Conway2010].

pub mod deep_space;
mod error;
pub mod powered;
pub mod powered_slopes;
pub mod slopes;

pub use deep_space::{DeepSpaceChain, DeepSpaceLeg, LegPlan, PassPlan};
pub use error::ChainError;
pub use powered::PoweredChain;

use crate::conic::State;

/// A body of a chain when the craft is there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// About the centre, m and m/s.
    pub state: State,
    /// Gravitational parameter of the body, m³/s²; not used at the first and the last stop.
    pub gm: f64,
}

/// Burn at periapsis, m/s, that turns an arrival with excess speed `v_infinity` (m/s) into an orbit with a periapsis radius (m)
/// and an eccentricity below 1 about a centre of `gm` (m³/s²).
///
/// # Source
/// Vis viva: [Battin1999], section 3.3.
pub fn insertion(gm: f64, v_infinity: f64, periapsis_radius: f64, eccentricity: f64) -> f64 {
    let escape = 2.0 * gm / periapsis_radius;
    ((v_infinity * v_infinity + escape).sqrt() - (gm * (1.0 + eccentricity) / periapsis_radius).sqrt()).abs()
}

fn counted(what: &'static str, wanted: usize, given: usize) -> Result<(), ChainError> {
    if wanted == given { Ok(()) } else { Err(ChainError::Count { what, wanted, given }) }
}
