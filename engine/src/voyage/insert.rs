//! The verb that enters an orbit under closed-loop guidance.

use super::finite;
use super::{Voyage, VoyageError};
use crate::air_flight::ascent::{Command, Cutoff, Guidance, Stretch, Target};
use crate::burn::finite::{FiniteError, Phase, Supply, state_of};
use crate::conic::State;
use crate::frame::unit;
use crate::motion::force::{Attitude, Craft, Quantity, Stop, Surroundings, Throttle, Thrust};
use crate::motion::passage::{Flown, fly};
use crate::motion::{Crossing, Point};
use crate::numerics::watch::Watch;
use crate::orbit::Event;
use crate::vector::Vec3;
use crate::vehicle::Vehicle;

/// Most passes of the law before the first cycle.
const PASSES: usize = 200;
/// A cycle lasts this share of the time left, s at least, and the last one this long before the cut-off.
const SHARE: f64 = 0.08;
const SHORTEST: f64 = 1.0;
const KEPT: f64 = 3.0;
/// Most cycles: a burn that takes more does not come to its end.
const CYCLES: usize = 2000;

/// How an orbit was entered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inserted {
    /// Ideal change of speed spent, m/s.
    pub dv: f64,
    /// What one impulse at the periapsis would have taken, m/s.
    pub impulse: f64,
    /// How long the engines ran, s.
    pub time: f64,
    /// Periapsis reached less wanted, m.
    pub periapsis_miss: f64,
    /// Apoapsis reached less wanted, m.
    pub apoapsis_miss: f64,
    /// Cycles of the guidance.
    pub cycles: usize,
}

/// What still can burn while the guidance steers.
#[derive(Clone)]
struct Burning<'a> {
    around: &'a Surroundings,
    phases: Vec<Phase>,
    /// Propellant left in the first of them, kg.
    left: f64,
    flown: Flown,
    /// When phases ran dry, s.
    ends: Vec<f64>,
    /// Ideal change of speed spent, m/s.
    dv: f64,
}

impl<'a> Burning<'a> {
    fn new(around: &'a Surroundings, start: &State, supply: &Supply) -> Result<Self, VoyageError> {
        let phases = supply.phases().to_vec();
        let Some(first) = phases.first().copied() else { return Err(no_steering()) };
        let (p, v) = (start.position, start.velocity);
        let point = Point { time: 0.0, position: [p.x, p.y, p.z, 0.0], velocity: [v.x, v.y, v.z, first.mass] };
        let flown = Flown { stretches: Vec::new(), met: Vec::new(), end: point, ended_by: None };
        Ok(Self { around, phases, left: first.propellant, flown, ends: Vec::new(), dv: 0.0 })
    }

    /// What the law foresees.
    fn foreseen(&self) -> Vec<Stretch> {
        let mass = self.flown.end.velocity[3];
        let stretch = |phase: &Phase, mass: f64, propellant: f64| Stretch {
            exhaust_speed: phase.exhaust_speed,
            acceleration: phase.thrust / mass,
            duration: propellant / phase.flow(),
            held: false,
        };
        let mut all = Vec::with_capacity(self.phases.len());
        for (index, phase) in self.phases.iter().enumerate() {
            all.push(if index == 0 {
                stretch(phase, mass, self.left)
            } else {
                stretch(phase, phase.mass, phase.propellant)
            });
        }
        all
    }

    /// Burns for a while at a share of the thrust, through phases that run dry; true where the stop was met.
    fn burn(
        &mut self,
        attitude: Attitude,
        share: f64,
        until: f64,
        stop: Stop,
        watch: &Watch<'_>,
    ) -> Result<bool, VoyageError> {
        while self.flown.end.time < until {
            let Some(phase) = self.phases.first().copied() else {
                return Err(FiniteError::NotEnough { needed_m_s: self.dv, left_m_s: 0.0 }.into());
            };
            let thrust = Thrust {
                vacuum: phase.thrust,
                exit_area: phase.exit_area,
                exhaust_speed: phase.exhaust_speed,
                throttle: Throttle::Share(share),
                attitude,
            };
            let begin = self.flown.end;
            let dry = begin.time + self.left / (share * phase.flow());
            let craft = Craft { thrust: Some(thrust), drag: None };
            let next = fly(self.around, &craft, begin, until.min(dry), crate::burn::finite::TOLERANCE, &[stop], watch)
                .map_err(FiniteError::from)?;
            let burned = begin.velocity[3] - next.end.velocity[3];
            self.dv += phase.exhaust_speed * (begin.velocity[3] / next.end.velocity[3]).ln();
            self.left -= burned;
            let met = next.ended_by.is_some();
            self.flown.join(next);
            if met {
                return Ok(true);
            }
            if self.flown.end.time >= dry {
                self.phases.remove(0);
                self.ends.push(self.flown.end.time);
                if let Some(next) = self.phases.first() {
                    self.left = next.propellant;
                    self.flown.end.velocity[3] = next.mass;
                }
            }
        }
        Ok(false)
    }
}

impl Voyage {
    /// Enters an orbit about the body by thrust under closed-loop guidance: at the next periapsis where the orbit wanted is lower in energy, else at the next
    /// apoapsis. The craft coasts to its ignition, which comes before the apsis by the time that half the impulse takes; the law steers to the apsis of the
    /// orbit wanted, level, at its speed, and cuts off on its energy.
    ///
    /// - `target`: the apsides wanted; the plane is that in which the craft comes in, unless it is wanted.
    /// - `throttle`: share of the vehicle's thrust.
    /// - `apsis_ahead`: thrust along the velocity instead, trimmed within the engines' range so that the apsis does not run away: it stays just ahead until the
    ///   energy is that of the orbit wanted; the distance of the apsis comes as it does.
    ///
    /// # Errors
    /// An ignition that is past, or where the law finds no steering; thrust not known, or not to be throttled; not enough propellant. The voyage is left as it was.
    ///
    /// # Source
    /// Powered explicit guidance, [McHenry1979].
    pub fn insert(
        &mut self,
        target: &Target,
        throttle: f64,
        apsis_ahead: bool,
        watch: &Watch<'_>,
    ) -> Result<Inserted, VoyageError> {
        self.check_not_lost()?;
        self.check_aloft("insert")?;
        let supply = finite::supply(self.vehicle(), throttle)?;
        let least = if apsis_ahead { least_share(self.vehicle(), throttle)? } else { 1.0 };
        let mut work = self.clone();
        let (gm, orbit) = (work.now.gm(), work.now.clone());
        let rising = orbit.energy() < target.energy(gm);
        let (apsis, radius) =
            if rising { (Event::Apoapsis, target.apoapsis) } else { (Event::Periapsis, target.periapsis) };
        let there = orbit.next(apsis)?;
        let impulse = (there.state().velocity.norm() - target.speed(gm, there.state().position.norm())).abs();
        let early = supply.centre(impulse.min(supply.dv()));
        let ignition = there.epoch().after(-early);
        if ignition < work.epoch() {
            let (early_s, now) = (work.epoch().seconds_since(ignition), work.epoch());
            return Err(VoyageError::IgnitionPast { burn: "insertion".into(), early_s, now });
        }
        work.coast_until(ignition, "coast to insertion", watch)?;
        if work.check_not_lost().is_err() {
            *self = work;
            return Ok(Inserted { dv: 0.0, impulse, time: 0.0, periapsis_miss: 0.0, apoapsis_miss: 0.0, cycles: 0 });
        }
        let around = finite::surroundings(&work.now);
        let start = *work.now.state();
        let energy = target.energy(gm);
        let crossing = if rising { Crossing::Rising } else { Crossing::Falling };
        let stop = Stop::ending(Quantity::Energy(energy), crossing);
        let burning = Burning::new(&around, &start, &supply)?;
        let (flight, cycles) = if apsis_ahead {
            trimmed(burning, rising, (least, early), stop, watch)?
        } else {
            let pole = work.body().pole(work.epoch());
            let normal = target.normal(&start, &pole).ok_or(VoyageError::NoPlane)?;
            let cutoff = Cutoff { radius, speed: target.speed(gm, radius), path_angle: 0.0, normal };
            steered(burning, &cutoff, stop, watch)?
        };
        let end = state_of(&flight.flown.end);
        let (dv, time) = (flight.dv, flight.flown.end.time);
        let shares = supply.shares(dv);
        work.enter_thrust("insertion", ignition, &around, &flight.flown, &shares, &flight.ends, (dv, impulse))?;
        let elements = crate::conic::Elements::from_state(gm, &end)?;
        let apoapsis = elements.apoapsis_radius().unwrap_or(f64::MAX);
        let (periapsis_miss, apoapsis_miss) =
            (elements.periapsis_radius() - target.periapsis, apoapsis - target.apoapsis);
        *self = work;
        Ok(Inserted { dv, impulse, time, periapsis_miss, apoapsis_miss, cycles })
    }
}

/// Least share of the thrust asked for that the engines can be trimmed to.
fn least_share(vehicle: &Vehicle, throttle: f64) -> Result<f64, VoyageError> {
    let refused = |stage: String| VoyageError::Throttle { stage, asked: 0.0 };
    let Some(powered) = vehicle.staged().0.powered()? else { return Err(refused(vehicle.name().to_owned())) };
    let (least, greatest) = powered.throttle;
    if least < greatest { Ok((least / throttle).min(1.0)) } else { Err(refused(powered.stage)) }
}

/// Thrust along the velocity, trimmed each cycle so that the time to the apsis does not grow.
fn trimmed<'a>(
    mut burning: Burning<'a>,
    rising: bool,
    (least, ahead): (f64, f64),
    stop: Stop,
    watch: &Watch<'_>,
) -> Result<(Burning<'a>, usize), VoyageError> {
    let gm = burning.around.gravity.gm();
    let to_apsis = |burning: &Burning<'_>| time_to_apsis(gm, &state_of(&burning.flown.end), rising);
    let attitude = Attitude::Along { sign: if rising { 1.0 } else { -1.0 } };
    let cycle_time = (ahead / 50.0).clamp(0.2, 5.0);
    let mut held = ahead;
    for cycle in 1..=CYCLES {
        let until = burning.flown.end.time + cycle_time;
        let try_share = |share: f64| -> Result<(Burning<'a>, bool, f64), VoyageError> {
            let mut trial = burning.clone();
            let met = trial.burn(attitude, share, until, stop, watch)?;
            let left = to_apsis(&trial).unwrap_or(0.0);
            Ok((trial, met, left))
        };
        // Full thrust where the apsis comes nearer all the same; else the share at which it stays.
        let (mut low, mut high) = (least, 1.0);
        let mut best = try_share(high)?;
        if !best.1 && best.2 > held {
            let weakest = try_share(low)?;
            if weakest.1 || weakest.2 > held {
                best = weakest;
            } else {
                for _ in 0..12 {
                    let middle = 0.5 * (low + high);
                    let here = try_share(middle)?;
                    if here.1 || here.2 > held {
                        high = middle;
                    } else {
                        low = middle;
                    }
                    best = here;
                }
            }
        }
        let (next, met, left) = best;
        burning = next;
        if met {
            return Ok((burning, cycle));
        }
        held = held.min(left.max(cycle_time));
    }
    Err(no_steering())
}

/// Time to the next apoapsis, or periapsis, on the conic of a state, s.
fn time_to_apsis(gm: f64, state: &State, apoapsis: bool) -> Option<f64> {
    let elements = crate::conic::Elements::from_state(gm, state).ok()?;
    let semi_major = elements.semi_major_axis();
    let motion = (gm / semi_major.abs().powi(3)).sqrt();
    let mean = elements.mean_anomaly();
    if elements.eccentricity >= 1.0 {
        return (!apoapsis && mean < 0.0).then(|| -mean / motion);
    }
    let at = if apoapsis { std::f64::consts::PI } else { 0.0 };
    Some((at - mean).rem_euclid(std::f64::consts::TAU) / motion)
}

/// Steers to a cut-off; the flight's clock begins with it.
fn steered<'a>(
    mut burning: Burning<'a>,
    cutoff: &Cutoff,
    stop: Stop,
    watch: &Watch<'_>,
) -> Result<(Burning<'a>, usize), VoyageError> {
    let gm = burning.around.gravity.gm();
    let start = state_of(&burning.flown.end);
    let mut guidance = Guidance::new(gm, &start, &burning.foreseen(), cutoff);
    let mut command: Option<Command> = guidance.settled(&start, &burning.foreseen(), cutoff, PASSES);
    for cycle in 1..=CYCLES {
        let Some(now) = command else { return Err(no_steering()) };
        let since = burning.flown.end.time;
        let last = now.left <= KEPT;
        let span = if last { 3.0 * now.left + 20.0 } else { (SHARE * now.left).max(SHORTEST).min(now.left) };
        let attitude = Attitude::Turning { from: now.from, rate: now.rate, since };
        let before = burning.dv;
        if burning.burn(attitude, 1.0, since + span, stop, watch)? {
            return Ok((burning, cycle));
        }
        if last {
            break;
        }
        let elapsed = burning.flown.end.time - since;
        let middle: Vec3 = now.from + now.rate * (0.5 * elapsed);
        let Some(direction) = unit(&middle) else { return Err(no_steering()) };
        guidance.gained(&(direction * (burning.dv - before)), elapsed);
        command = guidance.cycle(&state_of(&burning.flown.end), &burning.foreseen(), cutoff);
    }
    Err(no_steering())
}

fn no_steering() -> VoyageError {
    VoyageError::Impossible {
        goal: "a guided insertion".into(),
        why: "the guidance finds no steering: more thrust, or more passes with `burn`, is needed".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::orbit::Orbit;
    use crate::voyage::rehearsal::{body, start, unwatched};

    /// A hyperbola of 2 km/s about Veyra with its periapsis 300 km up, ten hours before it.
    fn arriving() -> Voyage {
        let veyra = body("Veyra");
        let radius = veyra.radius() + 300e3;
        let speed = (4e6 + 2.0 * veyra.gm() / radius).sqrt();
        let state =
            crate::conic::State::new(Vec3::new(radius, 0.0, 0.0), Vec3::new(0.0, speed * 0.9, speed * 0.19_f64.sqrt()));
        let orbit = Orbit::new(veyra, start(), state).unwrap().at(start().after(-36_000.0)).unwrap();
        let craft = Vehicle::new("tug", 4000.0, 8000.0, 340.0, Some(60e3)).unwrap();
        Voyage::new("tug", craft, orbit).unwrap()
    }

    #[test]
    fn guidance_enters_the_orbit_wanted() {
        let mut voyage = arriving();
        let target = Target::circular(&body("Veyra"), 300e3);
        let told = voyage.insert(&target, 1.0, false, &unwatched()).unwrap();
        assert!(told.periapsis_miss.abs() < 200.0 && told.apoapsis_miss.abs() < 200.0, "{told:?}");
        // Not dearer than the impulse by more than some per cent: the centred burn's own estimate is Δv (ωt)²/24.
        let swept = (voyage.now.gm() / target.periapsis.powi(3)).sqrt() * told.time;
        assert!(told.dv > told.impulse && told.dv < told.impulse * (1.0 + swept * swept / 12.0), "{told:?} {swept}");
        let audit = voyage.audit();
        assert_eq!(audit.verdict(), Verdict::Good, "{:?}", audit.worst());
    }

    #[test]
    fn an_ellipse_is_entered_at_its_periapsis_and_refusals_leave_the_voyage_alone() {
        let mut voyage = arriving();
        let mut target = Target::circular(&body("Veyra"), 300e3);
        target.apoapsis = body("Veyra").radius() + 20e6;
        let told = voyage.insert(&target, 1.0, false, &unwatched()).unwrap();
        assert!(told.periapsis_miss.abs() < 500.0 && told.apoapsis_miss.abs() < 5e3, "{told:?}");
        let mut weak = arriving();
        let before = format!("{weak:?}");
        let empty = Vehicle::new("tug", 4000.0, 800.0, 340.0, Some(60e3)).unwrap();
        weak.equip(empty);
        let refused = format!("{weak:?}");
        assert!(weak.insert(&target, 1.0, false, &unwatched()).is_err());
        assert_eq!(format!("{weak:?}"), refused);
        assert_ne!(before, refused);
    }

    #[test]
    fn the_apsis_stays_ahead_while_an_orbit_is_closed() {
        let veyra = body("Veyra");
        let (low, high) = (veyra.radius() + 200e3, veyra.radius() + 400e3);
        let speed = (veyra.gm() * 2.0 * (1.0 / low - 1.0 / (low + high))).sqrt();
        let state = State::new(Vec3::new(low, 0.0, 0.0), Vec3::new(0.0, speed, 0.0));
        let orbit = Orbit::new(veyra.clone(), start(), state).unwrap();
        let craft = Vehicle::embedded("lantern").unwrap().carried("lander").unwrap().clone();
        let mut voyage = Voyage::new("lander", craft, orbit).unwrap();
        let target = Target::circular(&veyra, 400e3);
        let told = voyage.insert(&target, 1.0, true, &unwatched()).unwrap();
        assert!(told.cycles > 5 && told.dv >= told.impulse, "{told:?}");
        // Before the apsis to the end: the radius is that of the apsis to the fall of the path meanwhile.
        assert!(told.periapsis_miss.abs() < 5e3 && told.apoapsis_miss.abs() < 5e3, "{told:?}");
        let audit = voyage.audit();
        assert_eq!(audit.verdict(), Verdict::Good, "{:?}", audit.worst());
        let tug = Vehicle::new("tug", 4000.0, 8000.0, 340.0, Some(60e3)).unwrap();
        voyage.equip(tug);
        assert!(matches!(voyage.insert(&target, 1.0, true, &unwatched()), Err(VoyageError::Throttle { .. })));
    }
}
