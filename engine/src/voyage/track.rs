//! Samples of a voyage's path.

use super::course::Course;
use super::flown::FlightSight;
use super::{Leg, LegKind, Outcome, Voyage, VoyageError};
use crate::conic::State;
use crate::numerics::watch::Watch;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Mat3;

/// How densely to sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Spacing {
    /// Chord error as a part of the leg's extent, the usual 1e-4.
    Relative(f64),
    /// Chord error, m.
    Error(f64),
    /// Time between samples, s.
    Step(f64),
    /// Samples for each leg, evenly in time, both ends included.
    Count(usize),
}

/// What [`Voyage::track`] is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackOptions {
    /// How densely.
    pub spacing: Spacing,
    /// The body the track is seen from; `None`: each sample about the body that the craft is about.
    pub about: Option<Body>,
    /// Axes (columns, written in inertial axes) that samples are given in; `None`: inertial.
    pub frame: Option<Mat3>,
}

impl Default for TrackOptions {
    fn default() -> Self {
        TrackOptions { spacing: Spacing::Relative(1e-4), about: None, frame: None }
    }
}

/// One sample.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackPoint {
    /// When.
    pub epoch: Epoch,
    /// Which leg, counted from 0.
    pub leg: usize,
    /// Name of the leg.
    pub leg_name: String,
    /// The body that the sample is counted from.
    pub about: Body,
    /// The body that the craft was about.
    pub body: Body,
    /// m and m/s about `about`, in the track's axes.
    pub state: State,
    /// What happens here: start or end of a leg, a patch, a burn; empty between.
    pub event: String,
    /// What there is to read besides, where the leg was flown under forces.
    pub flight: Option<FlightSight>,
}

/// Samples of a voyage, oldest first.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Track {
    /// Oldest first; at a patch and at a burn two with the same epoch.
    pub points: Vec<TrackPoint>,
}

/// More than this is no picture and no table any more.
const MOST_POINTS: usize = 200_000;

/// Halvings of one first interval, at most: 2²⁰ is far below rounding of any chord.
const MOST_HALVINGS: u32 = 20;

impl Voyage {
    /// Samples of the path flown so far: both ends of every leg, every patch and every burn, and between them as many as
    /// the spacing asks for.
    ///
    /// Chord errors are measured at the quarter points and the middle of each interval, in the track's own frame; no
    /// first interval is longer than a twelfth of the local time scale 2π √(r³/gm).
    ///
    /// # Errors
    /// Options outside their range; a body of another system or an epoch outside its ephemeris; too many points.
    pub fn track(&self, options: &TrackOptions, watch: &Watch<'_>) -> Result<Track, VoyageError> {
        match options.spacing {
            Spacing::Relative(part) => positive("error", part)?,
            Spacing::Error(error) => positive("error", error)?,
            Spacing::Step(step) => positive("step", step)?,
            Spacing::Count(count) if count < 2 => {
                return Err(VoyageError::BadTrack { what: "count less one", value: count as f64 - 1.0 });
            }
            Spacing::Count(_) => {}
        }
        let mut points = Vec::new();
        let legs = self.legs();
        for (index, leg) in legs.iter().enumerate() {
            match &leg.kind {
                LegKind::Burn { before, after, .. } | LegKind::Separation { before, after, .. } => {
                    for (orbit, event) in [(before, format!("before {}", leg.name)), (after, leg.name.clone())] {
                        points.push(point(options, index, leg, orbit.body(), orbit.epoch(), orbit.state(), event)?);
                    }
                }
                LegKind::Flown(path) => {
                    let courses: Vec<Course<'_>> =
                        path.phases().iter().map(|phase| Course::Flown(path, phase)).collect();
                    follow(options, index, leg, &courses, watch, &mut points)?;
                }
                LegKind::Stay { site, before, after } => {
                    let course = Course::Stay(site, before.epoch(), after.epoch());
                    follow(options, index, leg, &[course], watch, &mut points)?;
                }
                LegKind::Coast { pieces } => {
                    let from = points.len();
                    let courses: Vec<Course<'_>> = pieces.iter().map(Course::Conic).collect();
                    follow(options, index, leg, &courses, watch, &mut points)?;
                    // A leg that ended badly is called after its end; it began as any other.
                    if index + 1 == legs.len()
                        && let (Outcome::Lost(loss), Some(first)) = (self.outcome(), points.get_mut(from))
                        && let Some(event) = first.event.strip_suffix(&format!(": {}", loss.what))
                    {
                        first.event = event.to_owned();
                    }
                }
            }
        }
        if legs.is_empty() {
            let orbit = self.orbit();
            let about = options.about.clone().unwrap_or_else(|| orbit.body().clone());
            let state = seen(options, orbit.body(), orbit.epoch(), orbit.state())?;
            points.push(TrackPoint {
                epoch: orbit.epoch(),
                leg: 0,
                leg_name: String::new(),
                about,
                body: orbit.body().clone(),
                state,
                event: "start".to_owned(),
                flight: None,
            });
        }
        Ok(Track { points })
    }
}

fn positive(what: &'static str, value: f64) -> Result<(), VoyageError> {
    if value > 0.0 && value.is_finite() { Ok(()) } else { Err(VoyageError::BadTrack { what, value }) }
}

/// A state in the track's frame.
fn seen(options: &TrackOptions, body: &Body, epoch: Epoch, state: &State) -> Result<State, VoyageError> {
    let mut seen = *state;
    if let Some(about) = &options.about
        && about != body
    {
        if about.system() != body.system() {
            return Err(VoyageError::OtherSystem { a: about.name().to_owned(), b: body.name().to_owned() });
        }
        let offset = body.state_about(about, epoch)?;
        seen.position += offset.position;
        seen.velocity += offset.velocity;
    }
    if let Some(frame) = &options.frame {
        seen.position = frame.tr_mul(&seen.position);
        seen.velocity = frame.tr_mul(&seen.velocity);
    }
    Ok(seen)
}

fn point(
    options: &TrackOptions,
    index: usize,
    leg: &Leg,
    body: &Body,
    epoch: Epoch,
    state: &State,
    event: String,
) -> Result<TrackPoint, VoyageError> {
    Ok(TrackPoint {
        epoch,
        leg: index,
        leg_name: leg.name.clone(),
        about: options.about.clone().unwrap_or_else(|| body.clone()),
        body: body.clone(),
        state: seen(options, body, epoch, state)?,
        event,
        flight: None,
    })
}

/// A time on a course (s from its start) with the state there, as the track sees it.
type Spot = (f64, State);

fn spot(options: &TrackOptions, course: &Course<'_>, time: f64) -> Result<Spot, VoyageError> {
    let state = course.state(time)?;
    Ok((time, seen(options, course.body(), course.start().after(time), &state)?))
}

fn follow(
    options: &TrackOptions,
    index: usize,
    leg: &Leg,
    courses: &[Course<'_>],
    watch: &Watch<'_>,
    points: &mut Vec<TrackPoint>,
) -> Result<(), VoyageError> {
    // First intervals of all courses: the leg's extent is measured on them.
    let mut firsts: Vec<Vec<Spot>> = Vec::new();
    let total = leg.end.seconds_since(leg.start);
    for course in courses {
        let duration = course.duration();
        let times = match options.spacing {
            Spacing::Step(step) => even(duration, step)?,
            Spacing::Count(count) => even(duration, (total / (count - 1) as f64).max(f64::MIN_POSITIVE))?,
            Spacing::Relative(_) | Spacing::Error(_) => course.natural(MOST_POINTS, watch)?,
        };
        let times = course.with_marks(times);
        let spots: Result<Vec<Spot>, VoyageError> = times.into_iter().map(|time| spot(options, course, time)).collect();
        firsts.push(spots?);
        if firsts.iter().map(Vec::len).sum::<usize>() > MOST_POINTS {
            return Err(VoyageError::TooManyPoints { most: MOST_POINTS });
        }
    }
    let allowed = match options.spacing {
        Spacing::Relative(part) => Some(part * extent(firsts.iter().flatten())),
        Spacing::Error(error) => Some(error),
        Spacing::Step(_) | Spacing::Count(_) => None,
    };
    for (number, (course, first)) in courses.iter().zip(firsts).enumerate() {
        let mut spots = Vec::with_capacity(first.len());
        match allowed {
            Some(error) => {
                for pair in first.windows(2) {
                    spots.push(pair[0]);
                    halve(options, course, pair[0], pair[1], error, MOST_HALVINGS, &mut spots)?;
                }
                spots.extend(first.last());
            }
            None => spots = first,
        }
        if points.len() + spots.len() > MOST_POINTS {
            return Err(VoyageError::TooManyPoints { most: MOST_POINTS });
        }
        if watch.stopped() {
            return Err(VoyageError::Interrupted);
        }
        let last = spots.len().saturating_sub(1);
        for (position, (time, state)) in spots.into_iter().enumerate() {
            let event = if position == 0 {
                match course.event() {
                    event if number == 0 && event.is_empty() => format!("start of {}", leg.name),
                    event => event,
                }
            } else if position == last && number + 1 == courses.len() {
                format!("end of {}", leg.name)
            } else {
                course.event_at(time)
            };
            points.push(TrackPoint {
                epoch: if position == last { course.end() } else { course.start().after(time) },
                leg: index,
                leg_name: leg.name.clone(),
                about: options.about.clone().unwrap_or_else(|| course.body().clone()),
                body: course.body().clone(),
                state,
                event,
                flight: course.sight(time),
            });
        }
    }
    Ok(())
}

/// Times from 0 to `duration`, `step` apart, the last interval shorter.
fn even(duration: f64, step: f64) -> Result<Vec<f64>, VoyageError> {
    let count = (duration / step).ceil();
    if count > MOST_POINTS as f64 {
        return Err(VoyageError::TooManyPoints { most: MOST_POINTS });
    }
    let mut times: Vec<f64> = (0..count as usize).map(|index| index as f64 * step).collect();
    times.push(duration);
    Ok(times)
}

/// Largest side of the box round some places, m.
fn extent<'a>(spots: impl Iterator<Item = &'a Spot>) -> f64 {
    let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
    for (_, state) in spots {
        for axis in 0..3 {
            low[axis] = low[axis].min(state.position[axis]);
            high[axis] = high[axis].max(state.position[axis]);
        }
    }
    (0..3).map(|axis| high[axis] - low[axis]).fold(0.0, f64::max)
}

/// Halve an interval until its chord is near enough; the spots between its ends are appended in order.
fn halve(
    options: &TrackOptions,
    course: &Course<'_>,
    from: Spot,
    to: Spot,
    error: f64,
    halvings: u32,
    spots: &mut Vec<Spot>,
) -> Result<(), VoyageError> {
    if halvings == 0 || spots.len() > MOST_POINTS {
        return Ok(());
    }
    let at = |part: f64| spot(options, course, from.0 + part * (to.0 - from.0));
    let middle = at(0.5)?;
    let off = |here: &Spot| off_chord(&from.1, &to.1, &here.1);
    if off(&middle) <= error && off(&at(0.25)?) <= error && off(&at(0.75)?) <= error {
        return Ok(());
    }
    halve(options, course, from, middle, error, halvings - 1, spots)?;
    spots.push(middle);
    halve(options, course, middle, to, error, halvings - 1, spots)
}

/// Distance of a place from the chord between two others, m.
fn off_chord(from: &State, to: &State, here: &State) -> f64 {
    let (chord, offset) = (to.position - from.position, here.position - from.position);
    let square = chord.norm_squared();
    let part = if square > 0.0 { (offset.dot(&chord) / square).clamp(0.0, 1.0) } else { 0.0 };
    (offset - chord * part).norm()
}
