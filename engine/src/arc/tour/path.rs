//! One place of the search, flown: for given dates the cheapest choice of arcs, revolutions and branches, leg by leg.

use super::chain::Chain;
use super::itinerary::LegKind;
use crate::arc::assist_chain::Stop;
use crate::arc::assist_chain::deep_space::{self, PassPlan};
use crate::arc::flyby::{self, Flyby};
use crate::arc::lambert::{self, Branch, LambertArc, Way};
use crate::conic::{State, propagate};
use crate::vector::Vec3;
use std::num::NonZeroU32;

/// Choices that are kept from leg to leg where the way so far matters.
const KEPT: usize = 6;

/// Share of one turn of a resonant orbit before the burn that closes it: early, so that it is small, and nowhere near half a turn
/// before the end, where its arc would be open.
const CLOSING: f64 = 0.25;

/// Where the hyperbolas' asymptotes pass beside the centres, m: at the start and at the end of each leg.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Offsets {
    pub(super) start: Vec<Vec3>,
    pub(super) end: Vec<Vec3>,
}

impl Offsets {
    /// From centre to centre.
    pub(super) fn none(legs: usize) -> Self {
        Self { start: vec![Vec3::zeros(); legs], end: vec![Vec3::zeros(); legs] }
    }
}

/// One leg of a path.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PathLeg {
    /// About the parent.
    pub(super) start: State,
    /// Coast before the burn, s, and its Δv, m/s.
    pub(super) burn: Option<(f64, Vec3)>,
    /// m/s.
    pub(super) end_velocity: Vec3,
    /// Whole turns of the last arc.
    pub(super) revolutions: u32,
}

/// A path from the first body to the last.
#[derive(Debug, Clone)]
pub(super) struct Path {
    pub(super) legs: Vec<PathLeg>,
    pub(super) passes: Vec<Flyby>,
    pub(super) departure: Vec3,
    pub(super) arrival: Vec3,
    pub(super) course_dv: f64,
    /// All Δv with the charges of the passes and of the departure.
    pub(super) cost: f64,
}

/// One choice for a leg, with the cheapest way to it.
struct Choice {
    leg: PathLeg,
    pass: Option<Flyby>,
    course_dv: f64,
    cost: f64,
    before: usize,
}

impl Path {
    /// The cheapest path through the bodies on the dates of a place of the search.
    pub(super) fn best(chain: &Chain<'_>, x: &[f64], offsets: &Offsets) -> Result<Self, String> {
        let epochs = chain.epochs(x);
        let mut stops = Vec::with_capacity(epochs.len());
        for (index, epoch) in epochs.iter().enumerate() {
            let body = chain.body(index);
            stops.push(Stop { state: body.state(*epoch).map_err(|why| why.to_string())?, gm: body.gm() });
        }
        let mut levels: Vec<Vec<Choice>> = Vec::with_capacity(chain.legs());
        for leg in 0..chain.legs() {
            let here = Here { chain, stops: &stops, offsets, x, leg };
            let mut refusal = String::new();
            let mut choices = match levels.last() {
                None => here.first(&mut refusal),
                Some(before) => here.next(before, &mut refusal),
            };
            choices.retain(|choice| choice.cost.is_finite());
            if choices.is_empty() {
                return Err(if refusal.is_empty() { format!("leg {} has no arc", leg + 1) } else { refusal });
            }
            if choices.len() > KEPT {
                choices.sort_by(|a, b| a.cost.total_cmp(&b.cost));
                choices.truncate(KEPT);
            }
            levels.push(choices);
        }
        let last = &stops[chain.legs()].state;
        let total = |choice: &Choice| choice.cost + chain.arrival_dv((choice.leg.end_velocity - last.velocity).norm());
        let end = &levels[chain.legs() - 1];
        let mut at = (0..end.len()).min_by(|a, b| total(&end[*a]).total_cmp(&total(&end[*b]))).unwrap_or(0);
        let (cost, course_dv) = (total(&end[at]), end[at].course_dv);
        let (mut legs, mut passes) = (Vec::new(), Vec::new());
        for level in levels.iter().rev() {
            let choice = &level[at];
            legs.push(choice.leg);
            passes.extend(choice.pass);
            at = choice.before;
        }
        legs.reverse();
        passes.reverse();
        let departure = legs[0].start.velocity - stops[0].state.velocity;
        let arrival = legs[legs.len() - 1].end_velocity - last.velocity;
        Ok(Self { legs, passes, departure, arrival, course_dv, cost })
    }
}

/// A leg to be chosen.
struct Here<'a> {
    chain: &'a Chain<'a>,
    stops: &'a [Stop],
    offsets: &'a Offsets,
    x: &'a [f64],
    leg: usize,
}

impl Here<'_> {
    fn time(&self) -> f64 {
        self.x[self.leg + 1]
    }

    fn begin(&self) -> Vec3 {
        self.stops[self.leg].state.position + self.offsets.start[self.leg]
    }

    fn end(&self) -> Vec3 {
        self.stops[self.leg + 1].state.position + self.offsets.end[self.leg]
    }

    /// The unknowns of this leg.
    fn own(&self) -> &[f64] {
        &self.x[self.chain.layout.own[self.leg]..]
    }

    /// All arcs between two places, up to a number of turns.
    fn arcs(&self, from: &Vec3, time: f64, turns: u32, refusal: &mut String) -> Vec<LambertArc> {
        let (gm, way, to) = (self.chain.gm, Way::Prograde(self.chain.normal), self.end());
        let mut arcs = Vec::new();
        match lambert::solve_one(gm, from, &to, time, way, 0, Branch::Single) {
            Ok(arc) => arcs.push(arc),
            Err(why) => *refusal = format!("leg {}: {why}", self.leg + 1),
        }
        for turns in (1..=turns).filter_map(NonZeroU32::new) {
            match lambert::solve_pair(gm, from, &to, time, way, turns) {
                Ok(pair) => arcs.extend(pair),
                Err(_) => break,
            }
        }
        arcs
    }

    /// Turns that arcs may take: between two passes of one body at least as many as it takes itself.
    fn turns(&self) -> u32 {
        let same = self.chain.body(self.leg) == self.chain.body(self.leg + 1);
        let own = if same { 2 } else { 0 };
        self.chain.options.revolutions.max(own)
    }

    fn plain(&self, arc: &LambertArc) -> PathLeg {
        PathLeg {
            start: State::new(self.begin(), arc.v1),
            burn: None,
            end_velocity: arc.v2,
            revolutions: arc.revolutions,
        }
    }

    /// From an excess velocity: a coast, a burn, and each arc on to the next body.
    fn burning(&self, v_infinity: Vec3, coast: f64, turns: u32, refusal: &mut String) -> Vec<PathLeg> {
        let start = State::new(self.begin(), self.stops[self.leg].state.velocity + v_infinity);
        let before = match propagate(self.chain.gm, &start, coast) {
            Ok(before) => before,
            Err(why) => {
                *refusal = format!("leg {}: {why}", self.leg + 1);
                return Vec::new();
            }
        };
        let arcs = self.arcs(&before.position, self.time() - coast, turns, refusal);
        let leg = |arc: &LambertArc| PathLeg {
            start,
            burn: Some((coast, arc.v1 - before.velocity)),
            end_velocity: arc.v2,
            revolutions: arc.revolutions,
        };
        arcs.iter().map(leg).collect()
    }

    /// Excess velocity of a resonant orbit: its period fixes the angle to the body's motion (the pump), the crank turns it about.
    fn resonant(&self, speed: f64, crank: f64, turns: u32) -> Vec3 {
        let body = &self.stops[self.leg].state;
        let gm = self.chain.gm;
        let period = self.time() / f64::from(turns);
        let axis = (gm * (period / std::f64::consts::TAU).powi(2)).cbrt();
        let wanted_square = gm * (2.0 / self.begin().norm() - 1.0 / axis);
        let motion = body.velocity.norm();
        // An excess speed too small for this period: as near as it comes; the closing burn then tells by how much it fails.
        let cosine = ((wanted_square - motion * motion - speed * speed) / (2.0 * motion * speed)).clamp(-1.0, 1.0);
        let sine = (1.0 - cosine * cosine).sqrt();
        let along = body.velocity / motion;
        let normal = body.position.cross(&body.velocity).normalize();
        let outward = along.cross(&normal);
        speed * (cosine * along + sine * (crank.cos() * outward + crank.sin() * normal))
    }

    fn closing(&self, turns: u32) -> f64 {
        CLOSING * self.time() / f64::from(turns)
    }

    fn first(&self, refusal: &mut String) -> Vec<Choice> {
        let own = self.own();
        let legs = match self.chain.itinerary.kinds[0] {
            LegKind::Arc => {
                self.arcs(&self.begin(), self.time(), self.turns(), refusal).iter().map(|arc| self.plain(arc)).collect()
            }
            LegKind::Resonant { turns, .. } => {
                let v_infinity = self.resonant(own[0], own[1], turns);
                self.burning(v_infinity, self.closing(turns), turns - 1, refusal)
            }
            LegKind::DeepSpace => {
                let v_infinity = deep_space::departure(own[0], own[1], own[2], &self.stops[0].state);
                self.burning(v_infinity, own[3] * self.time(), self.turns(), refusal)
            }
        };
        let choice = |leg: PathLeg| {
            let course_dv = leg.burn.map_or(0.0, |(_, dv)| dv.norm());
            let excess = (leg.start.velocity - self.stops[0].state.velocity).norm();
            Choice { leg, pass: None, course_dv, cost: self.chain.departure_cost(excess) + course_dv, before: 0 }
        };
        legs.into_iter().map(choice).collect()
    }

    fn next(&self, before: &[Choice], refusal: &mut String) -> Vec<Choice> {
        let own = self.own();
        let body = &self.stops[self.leg];
        let came = |choice: &Choice| choice.leg.end_velocity - body.state.velocity;
        let mut choices = Vec::new();
        match self.chain.itinerary.kinds[self.leg] {
            LegKind::Arc => {
                for arc in self.arcs(&self.begin(), self.time(), self.turns(), refusal) {
                    let joined = |index: usize| self.joined(before, index, self.plain(&arc), &came(&before[index]));
                    let best = (0..before.len()).filter_map(joined).min_by(|a, b| a.cost.total_cmp(&b.cost));
                    choices.extend(best);
                }
                if choices.is_empty() && refusal.is_empty() {
                    *refusal = format!("the pass at {} has no bend", self.chain.body(self.leg).name());
                }
            }
            LegKind::Resonant { turns, .. } => {
                for (index, choice) in before.iter().enumerate() {
                    let v_in = came(choice);
                    let v_out = self.resonant(v_in.norm(), own[0], turns);
                    for leg in self.burning(v_out, self.closing(turns), turns - 1, refusal) {
                        choices.extend(self.joined(before, index, leg, &v_in));
                    }
                }
            }
            LegKind::DeepSpace => {
                let (least, most) = self.chain.radii[self.leg - 1];
                // A hair inside the bounds, as the charge for leaving them begins there.
                let height = 1e-4 + own[0] * (1.0 - 2e-4);
                let plan = PassPlan { periapsis_radius: least * (most / least).powf(height), angle: own[1] };
                for (index, choice) in before.iter().enumerate() {
                    let pass = match deep_space::pass(body, &choice.leg.end_velocity, &plan) {
                        Ok(pass) => pass,
                        Err(why) => {
                            *refusal = format!("the pass at {}: {why}", self.chain.body(self.leg).name());
                            continue;
                        }
                    };
                    for leg in self.burning(pass.v_out, own[2] * self.time(), self.turns(), refusal) {
                        choices.push(self.choice(before, index, leg, pass));
                    }
                }
            }
        }
        choices
    }

    /// A leg after a pass that joins it to a choice of the leg before.
    fn joined(&self, before: &[Choice], index: usize, leg: PathLeg, v_in: &Vec3) -> Option<Choice> {
        let body = &self.stops[self.leg];
        let v_out = leg.start.velocity - body.state.velocity;
        let pass = flyby::powered(body.gm, v_in, &v_out, 0.0).ok()?;
        Some(self.choice(before, index, leg, pass))
    }

    fn choice(&self, before: &[Choice], index: usize, leg: PathLeg, pass: Flyby) -> Choice {
        let dv = pass.burn.abs() + leg.burn.map_or(0.0, |(_, dv)| dv.norm());
        let charge = self.chain.pass_charge(self.leg - 1, pass.periapsis_radius);
        Choice {
            leg,
            pass: Some(pass),
            course_dv: before[index].course_dv + dv,
            cost: before[index].cost + dv + charge,
            before: index,
        }
    }
}
