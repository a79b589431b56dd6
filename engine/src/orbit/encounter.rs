//! Encounters: the closest approaches of a conic to the children of its body, found so that none is missed.
//!
//! A craft can meet a child only while its distance from the common centre lies in the child's band, the child's own least
//! and greatest distance widened by its sphere of influence. Those stretches of time follow from the conic in closed form.
//! Within a stretch the separation d can change no faster than V, the greatest speed of the craft in the band plus the
//! greatest of the child: a step of (d − sphere)/V cannot jump over an entry, however it is placed. Near the sphere, where
//! such steps would shrink to nothing, steps of a fixed small part of sphere/V are taken and every change of the range
//! rate from closing to opening is bracketed and refined.

use super::{Orbit, OrbitError};
use crate::conic::{Elements, Passage, State, propagate, time_since_periapsis, time_to_radius};
use crate::numerics::{root, watch::Watch};
use crate::system::Body;

/// Smallest step near a sphere, as a part of the time sphere/V: a dip into the sphere that lasts less than this reaches
/// no deeper than a hundredth of its radius, and its turn from closing to opening is still seen.
const NEAR_STEP: f64 = 0.01;

/// Extra width of the bands, as a part of the radius: what rounding may shift.
const SLACK: f64 = 1e-9;

/// A closest approach inside a child's sphere of influence.
#[derive(Debug, Clone, PartialEq)]
pub struct Encounter {
    /// Whom the craft meets.
    pub body: Body,
    /// When the separation is least, s past the orbit's epoch.
    pub time: f64,
    /// State of the craft relative to that body then, m and m/s, the body's own gravity left out.
    pub relative: State,
}

impl Orbit {
    /// The first closest approach to `child` inside its sphere of influence, later than now and no later than `limit` s;
    /// `None` if there is none.
    ///
    /// - `leave_first`: the craft has just left this child, and the separation must first exceed its sphere.
    ///
    /// # Errors
    /// An ephemeris that does not reach; a fall through the centre; [`None`] is also what an interrupted search answers.
    pub fn closest_inside(
        &self,
        child: &Body,
        limit: f64,
        leave_first: bool,
        watch: &Watch<'_>,
    ) -> Result<Option<Encounter>, OrbitError> {
        let sphere = child.sphere_of_influence();
        if !(sphere > 0.0 && sphere.is_finite() && limit > 0.0) {
            return Ok(None);
        }
        let (least, greatest) = child.radial_bounds();
        let band = (least - sphere - SLACK * least, greatest + sphere + SLACK * greatest);
        let mut must_leave = leave_first;
        for stretch in Stretches::new(self, band, limit)? {
            let scan =
                Scan { orbit: self, child, sphere, closing_speed: self.speed_above(band.0) + child.speed_bound() };
            if let Some(found) = scan.through(stretch, &mut must_leave, watch)? {
                return Ok(Some(found));
            }
            if watch.stopped() {
                return Ok(None);
            }
        }
        Ok(None)
    }

    /// State relative to a child some seconds after this orbit's epoch, the child's own gravity left out.
    ///
    /// # Errors
    /// An ephemeris that does not reach; a fall through the centre.
    pub fn relative_to(&self, child: &Body, time: f64) -> Result<State, OrbitError> {
        let here = propagate(self.gm(), self.state(), time)?;
        let there = child.state(self.epoch().try_after(time)?)?;
        Ok(State::new(here.position - there.position, here.velocity - there.velocity))
    }

    /// Greatest speed on this conic at or above a radius, m/s.
    fn speed_above(&self, radius: f64) -> f64 {
        let lowest = radius.max(self.periapsis_radius()).max(f64::MIN_POSITIVE);
        (2.0 * (self.energy() + self.gm() / lowest)).max(0.0).sqrt() * (1.0 + SLACK)
    }
}

/// The stretches of time, s past the orbit's epoch, in which the distance from the centre lies in a band.
struct Stretches {
    /// Time of the periapsis passage that the stretches are counted from.
    periapsis: f64,
    /// Times from periapsis to the lower and the upper edge of the band.
    inner: f64,
    outer: f64,
    period: Option<f64>,
    limit: f64,
    next: i64,
    empty: bool,
}

impl Stretches {
    fn new(orbit: &Orbit, band: (f64, f64), limit: f64) -> Result<Self, OrbitError> {
        let (gm, state) = (orbit.gm(), orbit.state());
        let nothing = Stretches { periapsis: 0.0, inner: 0.0, outer: 0.0, period: None, limit, next: 0, empty: true };
        let Ok(elements) = Elements::from_state(gm, state) else {
            // A straight line has no periapsis to count from: the whole time is looked through.
            return Ok(Stretches { outer: limit, empty: false, ..nothing });
        };
        let (lowest, highest) = (elements.periapsis_radius(), elements.apoapsis_radius());
        if band.1 < lowest || highest.is_some_and(|highest| band.0 > highest) {
            return Ok(nothing);
        }
        let periapsis = -time_since_periapsis(gm, state);
        let period = elements.period(gm);
        let at_periapsis = propagate(gm, state, periapsis)?;
        let time_up_to = |radius: f64| time_to_radius(gm, &at_periapsis, radius, Passage::Outbound);
        let inner = if band.0 <= lowest { 0.0 } else { time_up_to(band.0).unwrap_or(0.0) };
        let outer = if highest.is_some_and(|highest| band.1 >= highest) {
            period.map_or(f64::INFINITY, |period| period / 2.0)
        } else {
            time_up_to(band.1).or(period.map(|period| period / 2.0)).unwrap_or(f64::INFINITY)
        };
        // The first revolution whose way out is not wholly past.
        let first = period.map_or(0, |period| ((-periapsis - outer) / period).floor() as i64);
        Ok(Stretches { periapsis, inner, outer, period, limit, next: 2 * first, empty: false })
    }
}

impl Iterator for Stretches {
    type Item = (f64, f64);

    /// Alternately the way in and the way out of each revolution; both at once where the periapsis lies in the band.
    fn next(&mut self) -> Option<(f64, f64)> {
        loop {
            if self.empty {
                return None;
            }
            let (revolution, outbound) = (self.next.div_euclid(2), self.next.rem_euclid(2) == 1);
            let periapsis = self.periapsis + self.period.map_or(0.0, |period| revolution as f64 * period);
            let stretch = match (outbound, self.inner == 0.0) {
                (false, true) => (periapsis - self.outer, periapsis + self.outer),
                (false, false) => (periapsis - self.outer, periapsis - self.inner),
                (true, _) => (periapsis + self.inner, periapsis + self.outer),
            };
            // Where one stretch holds both ways the second half of the revolution has none of its own.
            self.next += if self.inner == 0.0 { 2 } else { 1 };
            self.empty = self.period.is_none() && (outbound || self.inner == 0.0) || stretch.0 > self.limit;
            let (from, to) = (stretch.0.max(0.0), stretch.1.min(self.limit));
            if from < to {
                return Some((from, to));
            }
        }
    }
}

struct Scan<'a> {
    orbit: &'a Orbit,
    child: &'a Body,
    sphere: f64,
    closing_speed: f64,
}

impl Scan<'_> {
    /// Separation and range rate times separation.
    fn separation(&self, time: f64) -> Result<(f64, f64), OrbitError> {
        let relative = self.orbit.relative_to(self.child, time)?;
        Ok((relative.radius(), relative.position.dot(&relative.velocity)))
    }

    fn through(
        &self,
        (from, to): (f64, f64),
        must_leave: &mut bool,
        watch: &Watch<'_>,
    ) -> Result<Option<Encounter>, OrbitError> {
        let near = NEAR_STEP * self.sphere / self.closing_speed;
        let mut time = from;
        let (mut distance, mut rate) = self.separation(time)?;
        while time < to {
            if watch.stopped() {
                return Ok(None);
            }
            if distance > self.sphere * (1.0 + SLACK) {
                *must_leave = false;
            }
            let step = ((distance - self.sphere) / self.closing_speed).max(near);
            // Beyond this the next time would be the same number.
            let next = (time + step).max(time + 4.0 * f64::EPSILON * time.abs()).min(to);
            let (next_distance, next_rate) = self.separation(next)?;
            if rate < 0.0 && next_rate >= 0.0 && distance.min(next_distance) < 2.0 * self.sphere && !*must_leave {
                let lowest = self.refine(time, next)?;
                let relative = self.orbit.relative_to(self.child, lowest)?;
                if relative.radius() < self.sphere {
                    return Ok(Some(Encounter { body: self.child.clone(), time: lowest, relative }));
                }
            }
            (time, distance, rate) = (next, next_distance, next_rate);
        }
        Ok(None)
    }

    /// The time between two at which the range rate changes from closing to opening, to the last bit of a second count.
    fn refine(&self, from: f64, to: f64) -> Result<f64, OrbitError> {
        let mut refusal = None;
        let found = root::bracketed(
            |time| match self.separation(time) {
                Ok((_, rate)) => rate,
                Err(error) => {
                    refusal.get_or_insert(error);
                    f64::NAN
                }
            },
            from,
            to,
            0.0,
        );
        match refusal {
            Some(error) => Err(error),
            // The signs at both ends were seen to differ; a failure here leaves the nearer end.
            None => Ok(found.unwrap_or(from)),
        }
    }
}
