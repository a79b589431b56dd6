//! How two things that coast keep clear of each other.

use super::VoyageError;
use crate::conic::{State, propagate};
use crate::motion::conics::next_patch;
use crate::numerics::root;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::time::Epoch;

/// When they count as having come apart, s after the start: distances before that are those of the separation itself.
const FIRST: f64 = 60.0;
/// Steps of the search on the shorter of both periods.
const STEPS: f64 = 96.0;
/// Most steps in all; a longer time is refused.
const MOST: f64 = 2e6;

/// How two things stand to each other at a time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearness {
    /// s from the start.
    pub time: f64,
    /// m.
    pub distance: f64,
    /// Rate of the distance, m/s: below zero while they come closer.
    pub rate: f64,
    /// Relative speed, m/s.
    pub speed: f64,
}

/// What is asked of [`clearance`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearanceOptions {
    /// How long to look, s.
    pub within: f64,
    /// Nearer than this they meet again, m.
    pub near: f64,
}

/// Two coasting things over time.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearance {
    /// When it begins.
    pub epoch: Epoch,
    /// Until when it was looked at, s from the start.
    pub time: f64,
    /// What ended it earlier than asked, such as a fall to the ground.
    pub cut_short: Option<String>,
    /// Over time, in steps that grow.
    pub rows: Vec<Nearness>,
    /// Every least distance after the first minute, to a microsecond, in the order of time.
    pub minima: Vec<Nearness>,
    /// The least distance after the first minute; at an end of the time where it is not a minimum.
    pub least: Nearness,
    /// The first minimum nearer than asked, after they had been farther apart than that.
    pub meets: Option<Nearness>,
}

/// The distance of two coasting orbits over time, from the later of their epochs, with all minima refined.
///
/// # Errors
/// Orbits about two bodies; a time or distance that is not above zero, or a time of too many revolutions; interruption.
pub fn clearance(
    a: &Orbit,
    b: &Orbit,
    options: &ClearanceOptions,
    watch: &Watch<'_>,
) -> Result<Clearance, VoyageError> {
    if a.body() != b.body() {
        return Err(VoyageError::NotTogether { a: a.body().name().to_owned(), b: b.body().name().to_owned() });
    }
    if !(options.within > 0.0 && options.within.is_finite()) {
        return Err(VoyageError::BadTime { seconds: options.within });
    }
    if !(options.near > 0.0 && options.near.is_finite()) {
        return Err(VoyageError::BadTrack { what: "near", value: options.near });
    }
    let epoch = a.epoch().max(b.epoch());
    let (a, b) = (a.at(epoch)?, b.at(epoch)?);
    let (time, cut_short) = until(&a, &b, options.within, watch)?;
    let scale = |orbit: &Orbit| {
        orbit.period().unwrap_or_else(|| std::f64::consts::TAU * (orbit.radius().powi(3) / orbit.gm()).sqrt())
    };
    let step = (scale(&a).min(scale(&b)) / STEPS).min(time / 16.0);
    if time / step > MOST {
        return Err(VoyageError::TooLong { most_days: MOST * step / 86_400.0 });
    }
    let pair = Pair { a: &a, b: &b };
    let (minima, meets, mut least) = pair.search(time, step, options.near, watch)?;
    for minimum in &minima {
        if minimum.distance < least.distance {
            least = *minimum;
        }
    }
    let mut rows = Vec::new();
    for at in times(time) {
        rows.push(pair.at(at)?);
    }
    Ok(Clearance { epoch, time, cut_short, rows, minima, least, meets })
}

/// Until one of them strikes the ground or crosses the edge of a sphere.
fn until(a: &Orbit, b: &Orbit, within: f64, watch: &Watch<'_>) -> Result<(f64, Option<String>), VoyageError> {
    let (mut time, mut why) = (within, None);
    for orbit in [a, b] {
        if let Some((ground, _)) = orbit.time_to_ground()?
            && ground < time
        {
            time = ground;
            why = Some(format!("one of them strikes the ground of {}", orbit.body().name()));
        }
        let mut end = orbit.epoch().try_after(time)?;
        if let Some((_, last)) = orbit.body().system().span() {
            end = end.min(last);
        }
        if let Some(patch) = next_patch(orbit, end, None, watch)? {
            time = patch.epoch.seconds_since(orbit.epoch());
            why = Some(format!("one of them comes to {}", patch.after.body().name()));
        }
    }
    if time > 0.0 { Ok((time, why)) } else { Err(VoyageError::BadTime { seconds: time }) }
}

struct Pair<'o> {
    a: &'o Orbit,
    b: &'o Orbit,
}

/// What [`Pair::search`] finds: all minima, the first near one, the least at an end.
type Searched = (Vec<Nearness>, Option<Nearness>, Nearness);

impl Pair<'_> {
    fn relative(&self, time: f64) -> Result<State, VoyageError> {
        let a = propagate(self.a.gm(), self.a.state(), time)?;
        let b = propagate(self.b.gm(), self.b.state(), time)?;
        Ok(State { position: b.position - a.position, velocity: b.velocity - a.velocity })
    }

    fn at(&self, time: f64) -> Result<Nearness, VoyageError> {
        let state = self.relative(time)?;
        let (distance, speed) = (state.position.norm(), state.velocity.norm());
        // Where they coincide the distance grows with all of the relative speed.
        let rate = if distance > 0.0 { state.position.dot(&state.velocity) / distance } else { speed };
        Ok(Nearness { time, distance, rate, speed })
    }

    fn search(&self, time: f64, step: f64, near: f64, watch: &Watch<'_>) -> Result<Searched, VoyageError> {
        let mut minima: Vec<Nearness> = Vec::new();
        let mut meets = None;
        let first = FIRST.min(0.5 * time);
        let mut before = self.at(first)?;
        let mut least = before;
        let mut been_apart = before.distance > near;
        // Relative places are differences of places as long as the orbit: below their rounding there is no minimum.
        let rounding = 64.0 * f64::EPSILON * self.a.radius().max(self.b.radius());
        let steps = ((time - first) / step).ceil().max(1.0);
        for index in 1..=steps as usize {
            if watch.stopped() {
                return Err(VoyageError::Interrupted);
            }
            let here = self.at(first + (time - first) * (index as f64 / steps))?;
            if before.rate < 0.0 && here.rate >= 0.0 && before.distance > rounding {
                let dot = |t: f64| self.relative(t).map_or(f64::NAN, |state| state.position.dot(&state.velocity));
                let found = root::bracketed(dot, before.time, here.time, 1e-6).unwrap_or(here.time);
                let minimum = self.at(found)?;
                if meets.is_none() && been_apart && minimum.distance < near {
                    meets = Some(minimum);
                }
                minima.push(minimum);
            }
            been_apart |= here.distance > near;
            if here.distance < least.distance {
                least = here;
            }
            before = here;
        }
        Ok((minima, meets, least))
    }
}

/// Times of a table: 1, 2 and 5 times powers of ten of seconds below a minute, then doubling, and the end.
fn times(end: f64) -> Vec<f64> {
    let mut times = vec![0.0, 10.0, 30.0];
    let mut next = 60.0;
    while next < end {
        times.push(next);
        next *= 2.0;
    }
    times.retain(|time| *time < end);
    times.push(end);
    times
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vector::Vec3;
    use crate::voyage::rehearsal::{parked, unwatched};

    /// A circular orbit and what springs of some speed (along, across, outward) drove off it.
    fn apart(along: f64, across: f64, outward: f64) -> (Orbit, Orbit) {
        let orbit = parked("Maren").orbit().clone();
        let axes = crate::burn::axes(orbit.state()).unwrap();
        let other = orbit.after_impulse(axes * Vec3::new(along, across, outward)).unwrap();
        (orbit, other)
    }

    fn looked(pair: &(Orbit, Orbit), revolutions: f64) -> Clearance {
        let within = revolutions * pair.0.period().unwrap();
        clearance(&pair.0, &pair.1, &ClearanceOptions { within, near: 100.0 }, &unwatched()).unwrap()
    }

    #[test]
    fn what_is_pushed_across_comes_back_after_half_a_revolution() {
        let pair = apart(0.0, 1.0, 0.0);
        let found = looked(&pair, 2.2);
        let period = pair.0.period().unwrap();
        // The planes cross where they parted, and half a revolution on; the speeds differ by less than 1e-6.
        assert!((found.meets.unwrap().time / period - 0.5).abs() < 1e-3, "{found:?}");
        assert_eq!(found.minima.len(), 4);
        assert!(found.least.distance < 10.0);
    }

    #[test]
    fn what_is_pushed_along_drifts_away_by_three_periods_of_its_speed() {
        let pair = apart(0.5, 0.0, 0.0);
        let found = looked(&pair, 3.0);
        assert!(found.meets.is_none());
        // Clohessy and Wiltshire: 3 Δv T behind after each whole revolution [Curtis2014], chapter 7; curvature adds parts in a thousand.
        let expected = 3.0 * 0.5 * 3.0 * pair.0.period().unwrap();
        let end = found.rows.last().unwrap();
        assert!((end.distance / expected - 1.0).abs() < 5e-3, "{end:?} {expected}");
    }

    #[test]
    fn what_is_pushed_outward_comes_back_after_a_whole_revolution() {
        let pair = apart(0.0, 0.0, 0.5);
        let found = looked(&pair, 1.1);
        let meeting = found.meets.unwrap();
        assert!((meeting.time / pair.0.period().unwrap() - 1.0).abs() < 1e-3);
        // Farthest after half a revolution, 4 Δv / n away along the track [Curtis2014], chapter 7.
        let half = 0.5 * pair.0.period().unwrap();
        let far = Pair { a: &pair.0, b: &pair.1 }.at(half).unwrap();
        let expected = 4.0 * 0.5 * half / std::f64::consts::PI;
        assert!((far.distance / expected - 1.0).abs() < 1e-2);
    }

    #[test]
    fn a_fall_to_the_ground_ends_it_and_bad_figures_are_refused() {
        let pair = apart(-300.0, 0.0, 0.0);
        let found = looked(&pair, 1.0);
        assert!(found.cut_short.is_some() && found.time < pair.0.period().unwrap());
        let ask = |within, near| clearance(&pair.0, &pair.1, &ClearanceOptions { within, near }, &unwatched());
        assert!(ask(-1.0, 100.0).is_err() && ask(100.0, 0.0).is_err() && ask(f64::NAN, 100.0).is_err());
        let elsewhere = parked("Veyra").orbit().clone();
        let options = ClearanceOptions { within: 100.0, near: 100.0 };
        assert!(matches!(clearance(&pair.0, &elsewhere, &options, &unwatched()), Err(VoyageError::NotTogether { .. })));
        let (same, again) = apart(0.0, 0.0, 0.0);
        let found = clearance(&same, &again, &options, &unwatched()).unwrap();
        assert!(found.least.distance == 0.0 && found.meets.is_none());
    }
}
