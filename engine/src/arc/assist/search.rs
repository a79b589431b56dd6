//! The search over the epoch at which the moon is met.

use std::f64::consts::{PI, TAU};

use super::bend::{Means, Turns};
use super::incoming::{Arrival, arrival};
use super::refusal::shortfall;
use super::{Assist, AssistError, AssistOptions, Bounds, GiantBurn, Incoming};
use crate::arc::asymptote::Sweep;
use crate::arc::pass_bounds::clear_of_ring;
use crate::conic::{Elements, hyperbola};
use crate::numerics::{minimum, watch::Watch};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Looks a month of the moon: the direction of its motion turns by three degrees between two of them.
const LOOKS: f64 = 120.0;

/// Most looks in all: more than eighty months of a moon.
const MOST: usize = 10_000;

/// Passes of `moon` that leave a craft arriving at its giant bound, the best first: without propellant where that can be done,
/// else, as far as [`AssistOptions::greatest_burn`] allows, with the least burn at the periapsis of the pass or at the giant's.
///
/// Deterministic: a look at every three degrees of the moon's motion on both ways round the giant, then each valley
/// refined to its bottom. The pass and the orbits on both sides of it are joined by asymptotes as the patched model flies them.
///
/// # Errors
/// Bounds out of order; no arrival meets the moon; none of the passes captures, with how much is missing and what else would
/// do; an inclination that none leaves; interruption.
///
/// # Source
/// [Battin1999], sections 6.8 (velocity from place and asymptote) and 9.4 (turn of a pass).
pub fn capture_by(
    giant: &Body,
    moon: &Body,
    incoming: &Incoming,
    options: &AssistOptions,
    watch: &Watch<'_>,
) -> Result<Vec<Assist>, AssistError> {
    if moon.parent().as_ref() != Some(giant) {
        return Err(AssistError::NotItsMoon { moon: moon.name().to_owned(), giant: giant.name().to_owned() });
    }
    let bounds = options.bounds(giant, moon);
    check(giant, moon, options, &bounds)?;
    let mut nearest = None;
    let free = Search { giant, moon, incoming, options, bounds, kind: Kind::Free };
    let found = free.all(&mut nearest, watch)?;
    if !found.is_empty() {
        return Ok(found);
    }
    if options.greatest_burn > 0.0 {
        let mut found = Vec::new();
        for kind in [Kind::AtMoon, Kind::AtGiant] {
            // A burn at the giant is cheapest as low as it may be: the search keeps a little above, settling moves it a little.
            let above = if kind == Kind::AtGiant { ABOVE } else { 0.0 };
            let bounds = Bounds { least_radius: bounds.least_radius + above, ..bounds };
            let search = Search { bounds, kind, ..free };
            found.extend(search.all(&mut nearest, watch)?);
        }
        found.retain(|found| found.burns() <= options.greatest_burn);
        found.sort_by(|a, b| a.burns().total_cmp(&b.burns()).then(a.epoch.cmp(&b.epoch)));
        found.truncate(options.most);
        if !found.is_empty() {
            return Ok(found);
        }
    }
    let search = free;
    let Some((_, time, sweep)) = nearest else {
        let (giant, moon) = (giant.name().to_owned(), moon.name().to_owned());
        return Err(AssistError::NotMet { giant, moon, least_radius_m: bounds.least_radius });
    };
    let Some(turns) = search.turns(time, sweep, &Vec3::zeros())? else {
        let (giant, moon) = (giant.name().to_owned(), moon.name().to_owned());
        return Err(AssistError::NotMet { giant, moon, least_radius_m: bounds.least_radius });
    };
    if let Some(asked_rad) = options.inclination
        && let Some((least_rad, greatest_rad)) = turns.inclinations()
    {
        return Err(AssistError::Inclination { moon: moon.name().to_owned(), asked_rad, least_rad, greatest_rad });
    }
    Err(AssistError::Unbound(Box::new(shortfall(&turns))))
}

/// Nothing, if the bounds leave something.
fn check(giant: &Body, moon: &Body, options: &AssistOptions, bounds: &Bounds) -> Result<(), AssistError> {
    let (from, to) = options.between;
    if to < from {
        return Err(AssistError::Span { from, to });
    }
    let within = |what, value: f64, least: f64, greatest: f64| {
        let fits = value >= least && value <= greatest;
        if fits { Ok(()) } else { Err(AssistError::Bound { what, value, least, greatest }) }
    };
    let far = giant.sphere_of_influence();
    within("the least altitude of the pass, m,", bounds.pass_radius - moon.radius(), 0.0, moon.sphere_of_influence())?;
    within("the least radius about the giant, m,", bounds.least_radius, giant.radius(), far)?;
    within("the greatest apoapsis, m,", bounds.greatest_apoapsis, bounds.least_radius, far)?;
    if let Some(angle) = options.inclination {
        within("the inclination, rad,", angle, 0.0, std::f64::consts::PI)?;
    }
    Ok(())
}

/// What brakes beside the moon.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Free,
    AtMoon,
    AtGiant,
}

#[derive(Clone, Copy)]
struct Search<'a> {
    giant: &'a Body,
    moon: &'a Body,
    incoming: &'a Incoming,
    options: &'a AssistOptions,
    bounds: Bounds,
    kind: Kind,
}

/// The time of the lowest energy that a look saw, with that energy and the way round.
type Nearest = Option<(f64, f64, Sweep)>;

/// Halvings of a burn: to a millionth of the greatest.
const HALVINGS: usize = 20;

/// Kept above the least radius while searching, m; and how near two aims at the moon must be for the turn to stay what it is, m. A
/// kilometre of aim moves the giant's periapsis by about a kilometre.
const ABOVE: f64 = 1e4;
const STEADY: f64 = 1e3;

/// Added to the least burn, m/s: what settling the aim moves the bound by is a hundredth of it.
const OVER: f64 = 0.01;

impl<'a> Search<'a> {
    /// The bottoms of all valleys of the cost over the span.
    fn all(&self, nearest: &mut Nearest, watch: &Watch<'_>) -> Result<Vec<Assist>, AssistError> {
        let (from, to) = self.options.between;
        let span = to.seconds_since(from);
        let month = self.moon.orbital_period().unwrap_or(span);
        let looks = ((span / month * LOOKS).ceil() as usize).min(MOST);
        let mut valleys: Vec<(f64, f64, Sweep)> = Vec::new();
        for sweep in [Sweep::Short, Sweep::Long] {
            let mut costs = Vec::with_capacity(looks + 1);
            for k in 0..=looks {
                if watch.stopped() {
                    return Err(AssistError::Stopped);
                }
                let time = if looks == 0 { 0.0 } else { span * k as f64 / looks as f64 };
                let turns = self.turns(time, sweep, &Vec3::zeros())?;
                if let Some(turns) = &turns {
                    let least = turns.least_energy();
                    if least.is_finite() && nearest.is_none_or(|(best, _, _)| least < best) {
                        *nearest = Some((least, time, sweep));
                    }
                }
                costs.push((turns.map_or(f64::INFINITY, |turns| self.look(&turns, watch)), time));
            }
            for k in 0..costs.len() {
                let (cost, time) = costs[k];
                let low = k.checked_sub(1).map_or(f64::INFINITY, |left| costs[left].0);
                let high = costs.get(k + 1).map_or(f64::INFINITY, |right| right.0);
                if cost.is_finite() && cost <= low && cost < high {
                    valleys.push((cost, time, sweep));
                }
            }
        }
        valleys.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let step = if looks == 0 { 0.0 } else { span / looks as f64 };
        let mut found = Vec::new();
        for (_, time, sweep) in valleys.into_iter().take(self.options.most) {
            if watch.stopped() {
                return Err(AssistError::Stopped);
            }
            found.extend(self.refine(time, step, span, sweep, watch)?);
        }
        found.sort_by(|a: &Assist, b: &Assist| a.cost.total_cmp(&b.cost).then(a.epoch.cmp(&b.epoch)));
        Ok(found)
    }

    /// What the best pass of an arrival costs, at a glance.
    fn look(&self, turns: &Turns<'_>, watch: &Watch<'_>) -> f64 {
        if self.kind == Kind::AtMoon {
            return self.least_burn(turns, false, watch).unwrap_or(f64::INFINITY);
        }
        turns.best(false, watch).map_or(f64::INFINITY, |best| best.0)
    }

    /// The least burn (m/s) at the periapsis of a pass that captures: with `whole` all bounds kept, else the energy alone.
    fn least_burn(&self, turns: &Turns<'_>, whole: bool, watch: &Watch<'_>) -> Option<f64> {
        let radius = turns.arrival.state.position.norm();
        let wanted = -Orbit::gm_of(self.giant) / (self.bounds.greatest_apoapsis + radius);
        let captures = |burn: f64| {
            let turns = turns.by(Means::AtMoon(burn));
            turns.least_energy() <= wanted && (!whole || turns.best(false, watch).is_some())
        };
        // The moon itself would hold the craft a little above it.
        let (mut low, mut high) = (0.0, (0.999 * turns.greatest_burn()).min(self.options.greatest_burn));
        if !captures(high) {
            return None;
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if captures(middle) { high = middle } else { low = middle }
        }
        Some(high + OVER)
    }

    /// The arrival's turns with the means of this search, the burn where it is one at the pass.
    fn equipped(&self, turns: Turns<'a>, watch: &Watch<'_>) -> Option<Turns<'a>> {
        match self.kind {
            Kind::AtMoon => self.least_burn(&turns, true, watch).map(|burn| turns.by(Means::AtMoon(burn))),
            _ => Some(turns),
        }
    }

    fn epoch(&self, time: f64) -> Epoch {
        self.options.between.0.after(time)
    }

    /// The turns of an arrival `time` s into the span; `None` where the way in passes too low.
    fn turns(&self, time: f64, sweep: Sweep, aside: &Vec3) -> Result<Option<Turns<'a>>, AssistError> {
        let epoch = self.epoch(time);
        let found = arrival(self.incoming, self.giant, self.moon, epoch, sweep, aside)?;
        Ok(found.filter(|arrival| self.clear(arrival)).map(|arrival| Turns {
            giant: self.giant,
            moon: self.moon,
            epoch,
            arrival,
            bounds: self.bounds,
            options: self.options,
            means: if self.kind == Kind::AtGiant { Means::AtGiant } else { Means::Free },
        }))
    }

    /// Whether the way in keeps above the least radius (it is still inbound, or its periapsis was high enough) and out of the ring.
    fn clear(&self, arrival: &Arrival) -> bool {
        let (gm, state) = (Orbit::gm_of(self.giant), &arrival.state);
        let Ok(elements) = Elements::from_state(gm, state) else { return false };
        let here = (elements.true_anomaly + PI).rem_euclid(TAU) - PI;
        let way_in = clear_of_ring(self.giant, arrival.periapsis, gm, state, (-PI, here));
        (here < 0.0 || elements.periapsis_radius() >= self.bounds.least_radius) && way_in.is_ok()
    }

    /// The bottom of a valley around a time.
    fn refine(
        &self,
        time: f64,
        step: f64,
        span: f64,
        sweep: Sweep,
        watch: &Watch<'_>,
    ) -> Result<Option<Assist>, AssistError> {
        let cost = |time: f64| -> f64 {
            let turns = self.turns(time, sweep, &Vec3::zeros()).ok().flatten();
            turns.map_or(f64::INFINITY, |turns| self.look(&turns, watch))
        };
        let mut time = time;
        if step > 0.0 {
            let (low, high) = ((time - step).max(0.0), (time + step).min(span));
            let (better, least) = minimum::bracketed(cost, low, high, 1.0);
            if least <= cost(time) {
                time = better;
            }
        }
        // Whole milliseconds: an epoch that a reader can type.
        let time = (time * 1e3).round().clamp(0.0, (span * 1e3).floor()) / 1e3;
        let Some(turns) = self.turns(time, sweep, &Vec3::zeros())? else { return Ok(None) };
        let Some(turns) = self.equipped(turns, watch) else { return Ok(None) };
        let Some((_, turn, side)) = turns.best(true, watch) else { return Ok(None) };
        self.settle(time, sweep, (turn / turns.greatest(), side), watch)
    }

    /// Brings arrival, aim and orbit afterwards into line, for a share of the greatest turn.
    fn settle(
        &self,
        time: f64,
        sweep: Sweep,
        (mut share, mut side): (f64, f64),
        watch: &Watch<'_>,
    ) -> Result<Option<Assist>, AssistError> {
        let mut aside = Vec3::zeros();
        // The bottom of a valley is flat, so that the best turn wanders within a metre of aim: there it is kept.
        let mut frozen = false;
        let mut burn = None;
        for _ in 0..20 {
            let Some(turns) = self.turns(time, sweep, &aside)? else { return Ok(None) };
            let turns = if let (true, Some(burn)) = (frozen, burn) {
                turns.by(Means::AtMoon(burn))
            } else {
                let Some(turns) = self.equipped(turns, watch) else { return Ok(None) };
                turns
            };
            if let Means::AtMoon(found) = turns.means {
                burn = Some(found);
            }
            let mut turn = share * turns.greatest();
            if (self.options.inclination.is_some() || self.kind != Kind::Free) && !frozen {
                let Some(best) = turns.best(true, watch) else { return Ok(None) };
                (turn, side) = (best.1, best.2);
                share = turn / turns.greatest();
            }
            let Some((flyby, after)) = turns.pass(turn, side) else { return Ok(None) };
            let moved = (flyby.aim - aside).norm();
            aside = flyby.aim;
            frozen |= moved < if self.kind == Kind::AtGiant { STEADY } else { 1.0 };
            if moved < 1e-4 {
                let arrival = turns.arrival;
                let at_periapsis = hyperbola::at_periapsis(self.moon.gm(), flyby.v_in, flyby.aim)?;
                let before = Orbit::new(self.giant.clone(), turns.epoch, arrival.state)?;
                let own = self.options.bounds(self.giant, self.moon);
                let turns = Turns { bounds: own, ..turns };
                let cost = turns.cost(&after);
                let giant_burn = if self.kind == Kind::AtGiant { self.giant_burn(&turns, &after)? } else { None };
                return Ok(Some(Assist {
                    moon: self.moon.clone(),
                    epoch: turns.epoch,
                    v_infinity: arrival.v_infinity,
                    giant_aim: arrival.foot,
                    giant_periapsis: arrival.periapsis,
                    energy_before: before.energy(),
                    before,
                    flyby,
                    pass: Orbit::new(self.moon.clone(), turns.epoch, at_periapsis)?,
                    energy_after: after.energy(),
                    elements: after.elements_in(&self.giant.equator(turns.epoch))?,
                    after,
                    cost,
                    giant_burn,
                    depart: match self.incoming {
                        Incoming::From { depart, .. } => Some(*depart),
                        Incoming::Excess(_) => None,
                    },
                }))
                .map(|found| found.filter(|found| found.cost.is_finite()));
            }
        }
        Ok(None)
    }

    /// The burn at the giant's periapsis after a pass.
    fn giant_burn(&self, turns: &Turns<'_>, after: &Orbit) -> Result<Option<GiantBurn>, AssistError> {
        let Some((dv, state)) = turns.giant_burn(after) else { return Ok(None) };
        let epoch = after.periapsis_epoch()?;
        let before = Orbit::new(self.giant.clone(), epoch, state)?;
        let after = before.after_impulse(-state.velocity.normalize() * dv)?;
        Ok(Some(GiantBurn { dv, before, after }))
    }
}
