//! Tour: from body to body by way of others that bend the path, found by global search and made sure of leg by leg.
//!
//! Energies first rule out what cannot be (`energy`); what is left is screened by a short search each, the best of those by a
//! full one; the winner's arcs are then matched to the hyperbolas of its passes, and flown.

mod answer;
mod answered;
mod chain;
mod energy;
mod error;
mod flown;
mod itinerary;
mod layout;
mod matched;
mod path;
mod sequence;
mod side_by_side;

pub use answer::{AtBound, PassResidual, Residuals, Rival, Tour, TourLeg, TourPass};
pub use error::TourError;
pub use flown::{Flight, FlownLeg};
pub use itinerary::{Itinerary, LegKind, RESONANCES};

use super::parking::ArrivalOrbit;
use crate::numerics::global::{Found, Options, Stop};
use crate::numerics::watch::Watch;
use crate::system::Body;
use crate::time::Epoch;
use chain::Chain;
use side_by_side::Task;

/// What a tour passes.
#[derive(Debug, Clone, PartialEq)]
pub enum Through {
    /// These, in this order.
    Given(Vec<Body>),
    /// Any of these, in any order, each as often as it helps.
    AnyOf {
        /// To choose from.
        bodies: Vec<Body>,
        /// Most passes.
        at_most: usize,
    },
}

impl Through {
    fn bodies(&self) -> &[Body] {
        match self {
            Self::Given(bodies) | Self::AnyOf { bodies, .. } => bodies,
        }
    }

    fn at_most(&self) -> usize {
        match self {
            Self::Given(bodies) => bodies.len(),
            Self::AnyOf { at_most, .. } => *at_most,
        }
    }
}

/// What a tour may be told.
#[derive(Debug, Clone, PartialEq)]
pub struct TourOptions {
    /// Departures from the first to the second.
    pub between: (Epoch, Epoch),
    /// Shortest and longest time of each leg, s, for a given sequence. Default: a tenth to one and a half of the period of an ellipse
    /// that touches both orbits; up to three turns of a body that is passed twice in a row. A resonant leg takes whole turns.
    pub flight_times: Option<Vec<(f64, f64)>>,
    /// Latest arrival.
    pub arrive_by: Option<Epoch>,
    /// Altitude of the parking orbit departed from, m.
    pub parking: f64,
    /// Orbit to arrive in; none: the arrival's excess speed is not charged.
    pub arrival: Option<ArrivalOrbit>,
    /// Least altitude of the passes, m; never below the top of the air or the outer edge of a ring.
    pub least_altitude: f64,
    /// Least and greatest altitude of the passes at single bodies, by their names, m.
    pub altitudes: Vec<(String, f64, f64)>,
    /// Burns between the bodies, and unpowered passes; else burns at the periapsis of the passes only.
    pub deep_space: bool,
    /// Most whole turns of an arc between different bodies; between two passes of one body at least two are tried.
    pub revolutions: u32,
    /// Greatest excess speed at departure, m/s.
    pub most_excess: Option<f64>,
    /// Most Δv in all, m/s.
    pub most_dv: Option<f64>,
    /// Start of the random numbers.
    pub seed: u64,
    /// Most evaluations of the full search of one sequence; a screening takes a tenth.
    pub evaluations: usize,
    /// Sequences that are screened, the best by energy.
    pub screened: usize,
    /// Sequences that are searched in full, the best of the screening.
    pub searched: usize,
    /// Threads; the answer does not depend on it.
    pub threads: usize,
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
            altitudes: Vec::new(),
            deep_space: false,
            revolutions: 0,
            most_excess: None,
            most_dv: None,
            seed: 1,
            evaluations: 100_000,
            screened: 24,
            searched: 3,
            threads: 2,
        }
    }
}

/// What a tour's search is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TourStage {
    /// A short search of each sequence that the energies leave.
    Screening,
    /// A full search of the best.
    Searching,
}

/// Where the search stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TourProgress {
    /// What it is doing.
    pub stage: TourStage,
    /// Sequences of this stage.
    pub sequences: usize,
    /// Evaluations of this stage so far.
    pub evaluations: usize,
    /// Most of them.
    pub budget: usize,
    /// Least cost of the stage so far, m/s, charges for bounds not kept included; infinite before there is one.
    pub best: f64,
}

/// The cheapest tour that is found from `from` by way of `through` to `to`.
///
/// All bodies circle the same parent. A body that comes twice in a row is met again on an arc of other than whole turns, or on a resonant
/// orbit ([`RESONANCES`]), whichever is cheaper. The search covers all dates within the bounds and is the same for the same seed, whatever the
/// number of threads. Interrupted, it answers with the best found so far, `stop` saying so.
///
/// # Errors
/// Bounds the wrong way round; bodies about different parents; a tour that cannot close: which bound is to blame, by how much;
/// interruption before anything was found.
///
/// # Source
/// The models: [Vinko2008]; sequences by energy: [StrangeLonguski2002]; the search: see [`crate::numerics::global`].
pub fn tour(
    from: &Body,
    through: &Through,
    to: &Body,
    options: &TourOptions,
    watch: &Watch<'_>,
    progress: &mut dyn FnMut(&TourProgress),
) -> Result<Tour, TourError> {
    let (candidates, pruned) = sequence::candidates(from, through, to, options)?;
    let kept = &candidates[..candidates.len().min(options.screened.max(1))];
    let mut chains = Vec::with_capacity(kept.len());
    for one in kept {
        chains.push(Chain::new(one.itinerary.clone(), options)?);
    }
    let rival = |(index, chain): (usize, &Chain<'_>)| Rival {
        sequence: chain.itinerary.words(),
        energy_dv: kept[index].energy_dv,
        screened: f64::INFINITY,
        searched: None,
    };
    let mut rivals: Vec<Rival> = chains.iter().enumerate().map(rival).collect();
    let seeded = |index: usize, evaluations: usize| Options {
        seed: options.seed.wrapping_add(0x9e37_79b9 * index as u64),
        evaluations,
        ..Options::default()
    };
    let mut evaluations = 0;
    let mut order: Vec<usize> = (0..chains.len()).collect();
    let mut quick: Vec<Option<Found>> = Vec::new();
    if chains.len() > 1 {
        let task = |(index, chain)| Task { chain, options: seeded(index, options.evaluations / 10), closer: 0 };
        let tasks: Vec<Task<'_, '_>> = chains.iter().enumerate().map(task).collect();
        quick = side_by_side::run(&tasks, options.threads, TourStage::Screening, watch, progress);
        for (rival, found) in rivals.iter_mut().zip(&quick) {
            rival.screened = found.as_ref().map_or(f64::INFINITY, |found| found.cost);
            evaluations += found.as_ref().map_or(0, |found| found.evaluations);
        }
        order.sort_by(|a, b| rivals[*a].screened.total_cmp(&rivals[*b].screened));
        order.truncate(options.searched.max(1));
    }
    let mut full: Vec<(usize, Found)> = Vec::new();
    if !watch.stopped() {
        // Four fifths look everywhere, the rest refines what was found.
        let wide = options.evaluations / 5 * 4;
        let task = |index: &usize| Task {
            chain: &chains[*index],
            options: seeded(*index, wide),
            closer: options.evaluations - wide,
        };
        let tasks: Vec<Task<'_, '_>> = order.iter().map(task).collect();
        let found = side_by_side::run(&tasks, options.threads, TourStage::Searching, watch, progress);
        full.extend(order.iter().copied().zip(found).filter_map(|(index, found)| Some((index, found?))));
        evaluations += full.iter().map(|(_, found)| found.evaluations).sum::<usize>();
    }
    for (index, found) in &full {
        rivals[*index].searched = Some(found.cost);
    }
    // What the screening found counts where no full search came to be, or came out worse.
    full.extend(quick.into_iter().enumerate().filter_map(|(index, found)| Some((index, found?))));
    full.sort_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
    let stopped = watch.stopped();
    let mut refusal = None;
    for (index, found) in full.iter().filter(|(_, found)| found.cost.is_finite()).take(options.searched.max(1)) {
        match answered::answer(&chains[*index], found, evaluations, watch) {
            Ok(mut tour) => {
                let price = |rival: &Rival| rival.searched.unwrap_or(f64::INFINITY).min(rival.screened);
                rivals.sort_by(|a, b| price(a).total_cmp(&price(b)));
                tour.rivals = rivals;
                tour.pruned = pruned;
                if stopped {
                    tour.stop = Stop::Interrupted;
                }
                return Ok(tour);
            }
            Err(why) => refusal = refusal.or(Some(why)),
        }
    }
    if stopped {
        return Err(TourError::Stopped);
    }
    Err(refusal.unwrap_or_else(|| chains[0].nowhere()))
}

#[cfg(test)]
mod tests;
