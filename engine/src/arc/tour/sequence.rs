//! Which bodies, in which order: all sequences that their energies allow, the most promising first.

use super::chain::common_parent;
use super::energy::{Reach, Ring};
use super::itinerary::{Itinerary, LegKind, RESONANCES};
use super::{Through, TourError, TourOptions};
use crate::arc::plan_error::PlanError;
use crate::orbit::Orbit;
use crate::system::Body;

/// Sequences that are ranked, at most.
const LIMIT: usize = 4000;

/// A sequence with what its energies say.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) itinerary: Itinerary,
    /// Least Δv by energies, m/s.
    pub(super) energy_dv: f64,
}

/// All sequences from `from` through what is asked to `to`, cheapest by energy first, and how many beginnings were ruled out.
pub(super) fn candidates(
    from: &Body,
    through: &Through,
    to: &Body,
    options: &TourOptions,
) -> Result<(Vec<Candidate>, usize), TourError> {
    let mut all = vec![from.clone()];
    all.extend(through.bodies().iter().cloned());
    all.push(to.clone());
    let parent = common_parent(&all)?;
    if let Some((name, _, _)) = options.altitudes.iter().find(|(name, _, _)| all.iter().all(|body| body.name() != name))
    {
        return Err(TourError::NotPassed { name: name.clone() });
    }
    let (begin, end) = options.between;
    if end < begin {
        return Err(PlanError::Span { from: begin, to: end }.into());
    }
    let gm = Orbit::gm_of(&parent);
    let ring = |body: &Body| Ring::new(body, gm, begin, options);
    let mut walk = Walk {
        options,
        through,
        choice: through.bodies().iter().map(ring).collect::<Result<_, _>>()?,
        from: ring(from)?,
        to: ring(to)?,
        found: Vec::new(),
        pruned: 0,
        tried: 0,
        refusal: None,
        times: None,
    };
    if let (Through::Given(bodies), Some(times)) = (through, &options.flight_times) {
        if times.len() != bodies.len() + 1 {
            return Err(TourError::FlightTimeCount { legs: bodies.len() + 1, given: times.len() });
        }
        walk.times = Some(times.clone());
    }
    // Without a bound of its own, a departure faster than the straight way needs no tour.
    let straight = walk.from.least_towards(&walk.to);
    let first = walk.choice.first().map_or(0.0, |ring| walk.from.least_towards(ring));
    let most = options.most_excess.unwrap_or(1.05 * straight.max(1.5 * first).max(0.1 * state_speed(from, options)?));
    let start = Reach::departing(&walk.from, most);
    let mut way = Way { bodies: vec![walk.from.clone()], kinds: Vec::new() };
    walk.on(&mut way, &start)?;
    let (tried, refusal) = (walk.tried, walk.refusal);
    let mut found = walk.found;
    if found.is_empty() {
        let refusal = refusal.map(|(_, why)| why);
        return Err(match (through, refusal) {
            (Through::Given(_), Some(why)) => why,
            (_, why) => TourError::NoSequence {
                to: to.name().to_owned(),
                at_most: through.at_most(),
                tried,
                why: why.map_or_else(|| "none".to_owned(), |why| why.to_string()),
            },
        });
    }
    // A stable sort: sequences of one price stay in the order in which they were found, short ones first.
    found.sort_by(|a, b| {
        let length = |one: &Candidate| one.itinerary.kinds.len();
        a.energy_dv.total_cmp(&b.energy_dv).then(length(a).cmp(&length(b)))
    });
    Ok((found, walk.pruned))
}

fn state_speed(body: &Body, options: &TourOptions) -> Result<f64, TourError> {
    Ok(body.state(options.between.0).map_err(PlanError::from)?.speed())
}

struct Way {
    bodies: Vec<Ring>,
    kinds: Vec<LegKind>,
}

struct Walk<'a> {
    options: &'a TourOptions,
    through: &'a Through,
    choice: Vec<Ring>,
    from: Ring,
    to: Ring,
    found: Vec<Candidate>,
    pruned: usize,
    tried: usize,
    /// The refusal that came latest on the way, and how late.
    refusal: Option<(usize, TourError)>,
    /// Of each leg, s, where they are given.
    times: Option<Vec<(f64, f64)>>,
}

impl Walk<'_> {
    /// Goes on from a way whose last body is left with `leaving`.
    fn on(&mut self, way: &mut Way, leaving: &Reach) -> Result<(), TourError> {
        let passes = way.bodies.len() - 1;
        let next: Vec<Ring> = match self.through {
            Through::Given(_) => self.choice.get(passes).cloned().into_iter().collect(),
            Through::AnyOf { at_most, .. } if passes < *at_most => self.choice.clone(),
            Through::AnyOf { .. } => Vec::new(),
        };
        let may_end = match self.through {
            Through::Given(list) => passes == list.len(),
            Through::AnyOf { .. } => true,
        };
        if may_end {
            let goal = self.to.clone();
            for kind in self.kinds(way, &goal) {
                self.step(way, leaving, &goal, kind, true)?;
            }
        }
        for ring in next {
            for kind in self.kinds(way, &ring) {
                self.step(way, leaving, &ring, kind, false)?;
            }
        }
        Ok(())
    }

    /// The kinds that a leg to a body may have.
    fn kinds(&self, way: &Way, to: &Ring) -> Vec<LegKind> {
        if self.options.deep_space {
            return vec![LegKind::DeepSpace];
        }
        let leg = way.kinds.len();
        let mut kinds = vec![LegKind::Arc];
        if way.bodies[leg].body == to.body {
            let period = to.body.orbital_period();
            let window = self.times.as_ref().and_then(|times| times.get(leg)).copied();
            let fits = |turns: u32| match (window, period) {
                (Some((least, most)), Some(period)) => {
                    let time = f64::from(turns) * period;
                    least <= time && time <= most
                }
                _ => true,
            };
            let resonant = |(body_turns, turns)| LegKind::Resonant { body_turns, turns };
            kinds.extend(RESONANCES.into_iter().filter(|(body_turns, _)| fits(*body_turns)).map(resonant));
        }
        kinds
    }

    fn step(&mut self, way: &mut Way, leaving: &Reach, to: &Ring, kind: LegKind, ends: bool) -> Result<(), TourError> {
        self.tried += 1;
        let leg = way.kinds.len();
        let from = way.bodies[leg].clone();
        let arriving = leaving.leg(&from, to, kind);
        if arriving.is_empty() {
            self.pruned += 1;
            let (most, least) = (leaving.most(&from), from.least_towards(to));
            let pass = if leg == 0 { String::new() } else { format!(" (pass {leg})") };
            let (at, to) = (from.body.name().to_owned(), to.body.name().to_owned());
            let why = if most < least {
                TourError::Energy { at, pass, to, most_m_s: most, least_m_s: least }
            } else {
                TourError::Bend { at, pass, to, most_m_s: most }
            };
            if self.refusal.as_ref().is_none_or(|(latest, _)| leg > *latest) {
                self.refusal = Some((leg, why));
            }
            return Ok(());
        }
        way.bodies.push(to.clone());
        way.kinds.push(kind);
        if ends {
            let itinerary = Itinerary {
                bodies: way.bodies.iter().map(|ring| ring.body.clone()).collect(),
                kinds: way.kinds.clone(),
            };
            let energy_dv = arriving.least(to, |v| self.departure_dv(v), |v| self.arrival_dv(v));
            if self.found.len() == LIMIT {
                let bodies = self.choice.len();
                return Err(TourError::TooManySequences { bodies, at_most: self.through.at_most(), limit: LIMIT });
            }
            self.found.push(Candidate { itinerary, energy_dv });
        } else {
            self.on(way, &arriving.passed(to))?;
        }
        way.bodies.pop();
        way.kinds.pop();
        Ok(())
    }

    fn departure_dv(&self, v_infinity: f64) -> f64 {
        let body = &self.from.body;
        let escape = 2.0 * body.gm() / (body.radius() + self.options.parking);
        (v_infinity * v_infinity + escape).sqrt() - (0.5 * escape).sqrt()
    }

    fn arrival_dv(&self, v_infinity: f64) -> f64 {
        let body = &self.to.body;
        self.options.arrival.map_or(0.0, |orbit| {
            let escape = 2.0 * body.gm() / orbit.periapsis_radius(body);
            (v_infinity * v_infinity + escape).sqrt() - orbit.periapsis_speed(body)
        })
    }
}
