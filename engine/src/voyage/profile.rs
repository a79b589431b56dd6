//! A flight through the air as a practitioner draws it: height over distance along the ground, and what the craft went through over time.

use super::flown::{FlightSight, FlownPath};
use super::{Leg, LegKind, Voyage, VoyageError};
use crate::conic::{State, propagate};
use crate::motion::passage::Accounts;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Samples of each phase of a flight, and of each coast between two.
const SAMPLES: usize = 96;

/// A coast longer than this, s, is no part of a flight any more.
const LONGEST_COAST: f64 = 3.0 * 3600.0;

/// One sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfilePoint {
    /// s from the start.
    pub time: f64,
    /// Way along the ground that turns with the body, m.
    pub along: f64,
    /// Inertial speed, m/s.
    pub speed: f64,
    /// Height, speed through the air, dynamic pressure, felt acceleration, mass, throttle.
    pub sight: FlightSight,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq)]
pub struct ProfileEvent {
    /// What, as its leg calls it.
    pub what: String,
    /// How things stood.
    pub point: ProfilePoint,
}

/// A flight, from its first leg under forces to its last.
#[derive(Debug, Clone, PartialEq)]
pub struct FlightProfile {
    /// The body.
    pub body: Body,
    /// When it began.
    pub start: Epoch,
    /// Samples, a list for each phase: mass and thrust jump between them.
    pub phases: Vec<Vec<ProfilePoint>>,
    /// What happened, in the order of time.
    pub events: Vec<ProfileEvent>,
    /// What each leg under forces gained and lost, with the s from the start at which it began.
    pub accounts: Vec<(f64, Accounts)>,
}

/// Gathers samples and the way along the ground.
struct Gathering<'a> {
    body: &'a Body,
    start: Epoch,
    along: f64,
    /// Direction of the last sample in axes that turn with the body.
    last: Option<Vec3>,
}

impl Gathering<'_> {
    fn point(&mut self, epoch: Epoch, state: &State, sight: FlightSight) -> ProfilePoint {
        let here = self.body.body_fixed(epoch).tr_mul(&state.position).normalize();
        if let Some(last) = self.last {
            // atan2 keeps its digits for small steps.
            self.along += self.body.radius() * last.cross(&here).norm().atan2(last.dot(&here));
        }
        self.last = Some(here);
        ProfilePoint { time: epoch.seconds_since(self.start), along: self.along, speed: state.velocity.norm(), sight }
    }
}

impl Voyage {
    /// The profile of the voyage's first flight: its first leg under forces, and those that follow with no more than short coasts between.
    ///
    /// # Errors
    /// A voyage without a leg under forces.
    pub fn flight_profile(&self) -> Result<FlightProfile, VoyageError> {
        let legs = self.legs();
        let is_flown = |leg: &Leg| matches!(leg.kind, LegKind::Flown(_));
        let first = legs.iter().position(|leg| is_flown(leg)).ok_or(VoyageError::NoFlight)?;
        let body = legs[first].bodies()[0].clone();
        let mut last = first;
        for (index, leg) in legs.iter().enumerate().skip(first) {
            let here = leg.bodies().iter().all(|other| **other == body);
            match &leg.kind {
                LegKind::Flown(_) if here => last = index,
                LegKind::Coast { .. } if here && leg.end.seconds_since(leg.start) <= LONGEST_COAST => {}
                LegKind::Burn { .. } | LegKind::Separation { .. } if here => {}
                _ => break,
            }
        }
        let start = legs[first].start;
        let mut gathering = Gathering { body: &body, start, along: 0.0, last: None };
        let mut profile =
            FlightProfile { body: body.clone(), start, phases: Vec::new(), events: Vec::new(), accounts: Vec::new() };
        let mut around = None;
        for leg in &legs[first..=last] {
            match &leg.kind {
                LegKind::Flown(path) => {
                    around = Some(path.around());
                    profile.accounts.push((leg.start.seconds_since(start), *path.accounts()));
                    flown(path, &mut gathering, &mut profile);
                }
                LegKind::Coast { pieces } => {
                    let Some(around) = around else { continue };
                    for piece in pieces {
                        let mut phase = Vec::with_capacity(SAMPLES + 1);
                        for k in 0..=SAMPLES {
                            let time = piece.duration() * k as f64 / SAMPLES as f64;
                            let state = propagate(piece.orbit.gm(), piece.orbit.state(), time)?;
                            let height = around.height(&state.position);
                            let air_speed = (state.velocity - around.air_velocity(&state.position)).norm();
                            let sight = FlightSight {
                                mass: leg.mass,
                                height,
                                air_speed,
                                dynamic_pressure: 0.5 * around.density(height) * air_speed * air_speed,
                                felt: 0.0,
                                throttle: 0.0,
                            };
                            phase.push(gathering.point(piece.orbit.epoch().after(time), &state, sight));
                        }
                        profile.phases.push(phase);
                    }
                }
                LegKind::Burn { .. } | LegKind::Separation { .. } | LegKind::Stay { .. } => {}
            }
            if let Some(point) = profile.phases.last().and_then(|phase| phase.last()) {
                let what = match &leg.kind {
                    LegKind::Burn { .. } | LegKind::Separation { .. } => leg.name.clone(),
                    _ => format!("end of {}", leg.name),
                };
                profile.events.push(ProfileEvent { what, point: *point });
            }
        }
        Ok(profile)
    }
}

fn flown(path: &FlownPath, gathering: &mut Gathering<'_>, profile: &mut FlightProfile) {
    for phase in path.phases() {
        let mut times: Vec<f64> =
            (0..=SAMPLES).map(|k| phase.start + (phase.end - phase.start) * k as f64 / SAMPLES as f64).collect();
        let inside = |time: &f64| phase.start < *time && *time < phase.end;
        times.extend(path.happenings().iter().map(|seen| seen.time).filter(inside));
        let accounts = path.accounts();
        times.extend([accounts.dynamic_pressure.time, accounts.felt.time].into_iter().filter(inside));
        times.sort_by(f64::total_cmp);
        times.dedup();
        let mut points = Vec::with_capacity(times.len());
        for time in times {
            let Some(moment) = path.in_phase(phase, time) else { continue };
            let state = State { position: moment.position, velocity: moment.velocity };
            let point = gathering.point(path.epoch_of(time), &state, path.sight(phase, &moment));
            points.push(point);
            // What happens at a switch is told with how things stand after it.
            let here = path.happenings().iter().filter(|seen| seen.time == time && time < phase.end);
            profile.events.extend(here.map(|seen| ProfileEvent { what: seen.what.clone(), point }));
        }
        profile.phases.push(points);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::voyage::rehearsal::{climb, climber, parked, unwatched};

    #[test]
    fn a_climb_rises_along_the_ground_and_tells_its_events() {
        let climb = climb();
        let mut voyage = Voyage::new("climb", climber(), climb.orbit.clone()).unwrap();
        voyage.enter_flown(climb.entry()).unwrap();
        voyage.coast(600.0, &unwatched()).unwrap();
        let profile = voyage.flight_profile().unwrap();
        let names: Vec<&str> = profile.events.iter().map(|event| event.what.as_str()).collect();
        assert_eq!(names, ["tilt", "lower stage off", "end of climb"]);
        assert_eq!(profile.phases.len(), 4);
        let points: Vec<&ProfilePoint> = profile.phases.iter().flatten().collect();
        assert!(points[0].along == 0.0 && points[0].sight.height.abs() < 1e-3, "{:?}", points[0]);
        assert!(points.windows(2).all(|pair| pair[1].time >= pair[0].time && pair[1].along >= pair[0].along));
        // The way along the ground is the angle at the centre, as long as it runs straight.
        let end = points[points.len() - 1];
        let fixed = |epoch, place: &Vec3| profile.body.body_fixed(epoch).tr_mul(place);
        let from = fixed(climb.orbit.epoch(), &climb.orbit.state().position);
        let to = fixed(voyage.legs()[0].end, &voyage.at(voyage.legs()[0].end).unwrap().state().position);
        let straight = profile.body.radius() * from.angle(&to);
        assert!((end.along / straight - 1.0).abs() < 1e-3, "{} {straight}", end.along);
        // The peaks are among the samples.
        let peak = points.iter().map(|point| point.sight.dynamic_pressure).fold(0.0, f64::max);
        assert!((peak / profile.accounts[0].1.dynamic_pressure.value - 1.0).abs() < 1e-5);
    }

    #[test]
    fn without_a_flight_there_is_no_profile() {
        assert_eq!(parked("Veyra").flight_profile(), Err(VoyageError::NoFlight));
    }
}
