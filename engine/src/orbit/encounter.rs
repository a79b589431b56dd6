//! Encounters: the closest approaches of a conic to the children of its body, found so that none is missed.
//!
//! A craft can meet a child only while its distance from the common centre lies in the child's band, the child's own least
//! and greatest distance widened by its sphere of influence. Those stretches of time follow from the conic in closed form.
//! Within a stretch the separation d can change no faster than V, the greatest speed of the craft in the band plus the
//! greatest of the child: a step of (d − sphere)/V cannot jump over an entry, however it is placed. Near the sphere, where
//! such steps would shrink to nothing, steps of a fixed small part of sphere/V are taken and every change of the range
//! rate from closing to opening is bracketed and refined. Where the craft draws away, a longer step is as safe: with A the
//! greatest acceleration of the craft plus that of the child, |d| stays above |d| + |d|˙ h − A h²/2, for the turning of d
//! only adds to its second derivative.

use super::{Orbit, OrbitError};
use crate::conic::{State, propagate, time_from_periapsis, time_since_periapsis};
use crate::numerics::{root, watch::Watch};
use crate::system::Body;

/// Smallest step near a sphere, as a part of the time sphere/V: a dip into the sphere that lasts less than this reaches
/// no deeper than a hundredth of its radius, and its turn from closing to opening is still seen.
const NEAR_STEP: f64 = 0.01;

/// Stretches of time less than this part of their time apart touch: the roundings of a sum of periods.
const TOUCHING: f64 = 1e-14;

/// Room in the bound of a child's acceleration, gm/r² of both bodies at its least distance, for what disturbs it: the
/// greatest such part is the Sun's on the Moon, a hundredth.
const DISTURBED: f64 = 1.1;

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
        let mut must_leave = leave_first;
        self.closest_between(child, (0.0, limit), &mut must_leave, watch)
    }

    /// As [`Orbit::closest_inside`], from a time on, s past the orbit's epoch, so that a search can be continued.
    ///
    /// - `must_leave`: whether the separation must first exceed the sphere; cleared where it does.
    ///
    /// # Errors
    /// As [`Orbit::closest_inside`].
    pub fn closest_between(
        &self,
        child: &Body,
        (from, limit): (f64, f64),
        must_leave: &mut bool,
        watch: &Watch<'_>,
    ) -> Result<Option<Encounter>, OrbitError> {
        let Some(scan) = Scan::of(self, child) else { return Ok(None) };
        let mut last = from;
        for (begin, end) in Stretches::new(self, scan.band, (from, limit)) {
            // Stretches that touch at an apsis share their end to the bit: no change of sign falls between them.
            let begin = if begin - last <= TOUCHING * last.abs() { last.min(begin) } else { begin };
            if begin > last {
                *must_leave = false;
            }
            if let Some(found) = scan.through((begin, end), must_leave, watch)? {
                return Ok(Some(found));
            }
            if watch.stopped() {
                return Ok(None);
            }
            last = end;
        }
        if last < limit {
            *must_leave = false;
        }
        Ok(None)
    }

    /// Whether the craft gets out of a child's sphere of influence, within which it is now, before `limit` s are over.
    ///
    /// # Errors
    /// An ephemeris that does not reach; a fall through the centre.
    pub fn gets_away(&self, child: &Body, limit: f64, watch: &Watch<'_>) -> Result<bool, OrbitError> {
        let Some(scan) = Scan::of(self, child) else { return Ok(true) };
        let mut time = 0.0;
        loop {
            let (distance, _) = scan.separation(time)?;
            if distance > scan.sphere * (1.0 + SLACK) {
                return Ok(true);
            }
            if time >= limit || watch.stopped() {
                return Ok(false);
            }
            let step =
                ((scan.sphere - distance) / scan.closing_speed).max(NEAR_STEP * scan.sphere / scan.closing_speed);
            time = (time + step).max(time + 4.0 * f64::EPSILON * time.abs()).min(limit);
        }
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
    from: f64,
    limit: f64,
    next: i64,
    empty: bool,
}

impl Stretches {
    fn new(orbit: &Orbit, band: (f64, f64), (from, limit): (f64, f64)) -> Self {
        let (gm, state) = (orbit.gm(), orbit.state());
        let (lowest, highest, period) = (orbit.periapsis_radius(), orbit.apoapsis_radius(), orbit.period());
        let empty = band.1 < lowest || highest.is_some_and(|highest| band.0 > highest);
        let periapsis = -time_since_periapsis(gm, state);
        let inner = if band.0 <= lowest { 0.0 } else { time_from_periapsis(gm, state, band.0).unwrap_or(0.0) };
        let farthest = period.map_or(f64::INFINITY, |period| period / 2.0);
        let outer = if highest.is_some_and(|highest| band.1 >= highest) {
            farthest
        } else {
            time_from_periapsis(gm, state, band.1).unwrap_or(farthest)
        };
        // The first revolution whose way out is not wholly past.
        let first = period.map_or(0, |period| ((from - periapsis - outer) / period).floor() as i64);
        Stretches { periapsis, inner, outer, period, from, limit, next: 2 * first, empty }
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
            let (from, to) = (stretch.0.max(self.from), stretch.1.min(self.limit));
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
    band: (f64, f64),
    closing_speed: f64,
    acceleration: f64,
}

impl<'a> Scan<'a> {
    /// `None` where the child has no sphere that could be entered.
    fn of(orbit: &'a Orbit, child: &'a Body) -> Option<Scan<'a>> {
        let sphere = child.sphere_of_influence();
        if !(sphere > 0.0 && sphere.is_finite()) {
            return None;
        }
        let (least, greatest) = child.radial_bounds();
        let band = (least - sphere - SLACK * least, greatest + sphere + SLACK * greatest);
        let gm = orbit.gm();
        let lowest = band.0.max(orbit.periapsis_radius());
        let of_child = DISTURBED * (gm + child.gm_system()) / (least * least);
        Some(Scan {
            orbit,
            child,
            sphere,
            band,
            closing_speed: orbit.speed_above(band.0) + child.speed_bound(),
            acceleration: gm / (lowest * lowest) * (1.0 + SLACK) + of_child,
        })
    }

    /// How long the separation is sure to stay above the sphere, s: by the greatest speed, or by the greatest acceleration.
    fn safe_step(&self, distance: f64, product: f64) -> f64 {
        let gap = distance - self.sphere;
        let rate = product / distance;
        let by_acceleration = (rate + (rate * rate + 2.0 * self.acceleration * gap).sqrt()) / self.acceleration;
        (gap / self.closing_speed).max(by_acceleration * (1.0 - SLACK))
    }

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
            let step = if distance > self.sphere { self.safe_step(distance, rate).max(near) } else { near };
            // Beyond this the next time would be the same number.
            let next = (time + step).max(time + 4.0 * f64::EPSILON * time.abs()).min(to);
            let (next_distance, next_rate) = self.separation(next)?;
            if rate < 0.0 && next_rate >= 0.0 && distance.min(next_distance) < 2.0 * self.sphere && !*must_leave {
                // Epochs are whole nanoseconds: craft and child are taken at one and the same, or the child, which moves some
                // 20 km/s, would be beside its place by 10 µm.
                let start = self.orbit.epoch();
                let lowest = start.try_after(self.refine(time, next)?)?.seconds_since(start);
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

#[cfg(test)]
mod tests {
    use super::DISTURBED;
    use crate::system::{EphemerisChoice, System};

    /// The room left for disturbances covers the tide of the parent's own parent, 2 (gm'/gm) (r/d)³ of the parent's attraction, and the
    /// greatest attraction of a sibling at the least distance between their rings, for every body of the systems on board.
    #[test]
    fn what_disturbs_a_child_fits_into_the_room_left_for_it() {
        let mut greatest: f64 = 0.0;
        for name in ["sol", "velm"] {
            let system = System::embedded(name, EphemerisChoice::Default).unwrap();
            for child in system.bodies() {
                let Some(parent) = child.parent() else { continue };
                let (least, most) = child.radial_bounds();
                let gm = parent.gm() + child.gm_system();
                let tide = parent
                    .parent()
                    .map_or(0.0, |above| 2.0 * above.gm() / gm * (most / parent.radial_bounds().0).powi(3));
                let siblings = system.bodies().into_iter().filter(|other| other.parent().as_ref() == Some(&parent));
                let near = siblings
                    .filter(|other| *other != child)
                    .map(|other| {
                        let (low, high) = other.radial_bounds();
                        // Where rings overlap, as Pluto's and Neptune's do, resonance keeps the bodies apart: the least distance seen.
                        let (first, last) = system.span().unwrap_or((system.epoch(), system.epoch().after(3e8)));
                        let step = last.seconds_since(first) / 400.0;
                        let apart = (1..400)
                            .filter_map(|k| {
                                let epoch = first.after(step * f64::from(k));
                                Some((child.state(epoch).ok()?.position - other.state(epoch).ok()?.position).norm())
                            })
                            .fold(f64::INFINITY, f64::min);
                        let clear = (least - high).max(low - most);
                        let gap = if clear > 0.0 { clear } else { apart };
                        other.gm_system() / gm * (least / gap).powi(2)
                    })
                    .fold(0.0, f64::max);
                greatest = greatest.max(tide);
                assert!(tide + near < DISTURBED - 1.0, "{}: {tide} {near}", child.name());
            }
        }
        // The Sun's on the Moon is the greatest tide, a hundredth.
        assert!(greatest > 0.005, "{greatest}");
    }
}
