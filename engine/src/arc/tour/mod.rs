//! Tour: from body to body by way of others that bend the path, found by global search and made sure of leg by leg.

mod answer;
mod chain;
mod error;

pub use answer::{AtBound, Residuals, Tour, TourLeg, TourPass};
pub use error::TourError;

use super::parking::ArrivalOrbit;
use crate::numerics::global::{self, Options, Progress, Stop};
use crate::numerics::watch::Watch;
use crate::system::Body;
use crate::time::Epoch;
use chain::Chain;

/// What a tour may be told.
#[derive(Debug, Clone, PartialEq)]
pub struct TourOptions {
    /// Departures from the first to the second.
    pub between: (Epoch, Epoch),
    /// Shortest and longest time of each leg, s. Default: a tenth to one and a half of the period of an ellipse
    /// that touches both orbits.
    pub flight_times: Option<Vec<(f64, f64)>>,
    /// Latest arrival.
    pub arrive_by: Option<Epoch>,
    /// Altitude of the parking orbit departed from, m.
    pub parking: f64,
    /// Orbit to arrive in; none: the arrival's excess speed is not charged.
    pub arrival: Option<ArrivalOrbit>,
    /// Least altitude of the passes, m; never below the top of the air.
    pub least_altitude: f64,
    /// Burns between the bodies, and unpowered passes; else burns at the periapsis of the passes only.
    pub deep_space: bool,
    /// Most Δv in all, m/s.
    pub most_dv: Option<f64>,
    /// Start of the random numbers.
    pub seed: u64,
    /// Most evaluations of the search.
    pub evaluations: usize,
}

impl TourOptions {
    /// Departures within a span from an altitude (m); all else as it is usual: passes from 300 km up, burns at the passes only.
    pub fn new(between: (Epoch, Epoch), parking: f64) -> Self {
        Self {
            between,
            flight_times: None,
            arrive_by: None,
            parking,
            arrival: None,
            least_altitude: 300e3,
            deep_space: false,
            most_dv: None,
            seed: 1,
            evaluations: 200_000,
        }
    }
}

/// The cheapest tour that is found from `from` by way of `through`, in that order, to `to`.
///
/// All bodies circle the same parent; a body may come twice in a row (a resonant return). The search covers all dates within the
/// bounds; what it finds is refined by the same search from its own answer, and every leg is flown again to be sure of it.
///
/// # Errors
/// Bounds the wrong way round; bodies about different parents; a tour that cannot close: which bound is to blame, by how much.
///
/// # Source
/// The model: [Vinko2008]; the search: see [`global`].
pub fn tour(
    from: &Body,
    through: &[Body],
    to: &Body,
    options: &TourOptions,
    watch: &Watch<'_>,
    progress: &mut dyn FnMut(&Progress<'_>),
) -> Result<Tour, TourError> {
    let mut bodies = vec![from.clone()];
    bodies.extend(through.iter().cloned());
    bodies.push(to.clone());
    let chain = Chain::new(bodies, options)?;
    let bounds = chain.bounds();
    // Four fifths look everywhere, the rest refines what was found.
    let wide = Options { seed: options.seed, evaluations: options.evaluations / 5 * 4, ..Options::default() };
    let found = global::search(&bounds, |x| chain.cost(x), &wide, watch, progress);
    if found.stop == Stop::Interrupted {
        return Err(TourError::Stopped);
    }
    if !found.cost.is_finite() {
        return Err(chain.nowhere());
    }
    let close = Options { evaluations: options.evaluations - wide.evaluations, rounds: 1, ..wide };
    let refined = global::search_from(&found.x, &bounds, |x| chain.cost(x), &close, watch, progress);
    if refined.stop == Stop::Interrupted {
        return Err(TourError::Stopped);
    }
    let best = if refined.cost < found.cost { &refined } else { &found };
    chain.answer(best, found.evaluations + refined.evaluations)
}

#[cfg(test)]
mod tests;
