//! Rendezvous of two craft about one body: waiting for the phase, transfer, a drift below the target, interception, braking.

mod drift;
mod error;
mod search;

pub use error::RendezvousError;

use crate::burn::{Burn, phasing};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::time::Epoch;
use crate::vector::Vec3;
use search::{Problem, Way};

/// What a rendezvous must keep to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RendezvousOptions {
    /// From the later of both epochs to the meeting at most, s.
    pub within: f64,
    /// Most whole revolutions between the two burns of the transfer.
    pub revolutions: u32,
    /// Least periapsis radius of every arc, m; `None`: above the air, or above the lower of both orbits where that is in it.
    pub least_radius: Option<f64>,
    /// Come by a drift on an orbit so much below the target's, and intercept from there.
    pub approach: Option<Below>,
}

/// A drift below the target and an interception from there: four burns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Below {
    /// How far below, m; above where it is below zero.
    pub height: f64,
    /// How long to drift, s.
    pub drift: f64,
    /// Angle of the interception about the body, rad.
    pub angle: f64,
}

/// One stage of a rendezvous.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// What it is: `wait`, `transfer`, `drift`, `interception`, `braking`.
    pub name: &'static str,
    /// When it begins.
    pub epoch: Epoch,
    /// How long it takes, s.
    pub time: f64,
    /// The burn that it begins with, m/s.
    pub dv: f64,
    /// How far the target is ahead when it begins, rad, −π to π, in the plane of the chaser.
    pub lead: f64,
    /// Distance of the target when it begins, m.
    pub distance: f64,
    /// Angle about the body in it, rad, whole revolutions counted.
    pub angle: f64,
}

/// A rendezvous: burns that bring a craft to another one, with its velocity.
#[derive(Debug, Clone, PartialEq)]
pub struct Rendezvous {
    /// In their order, planned on the chaser's orbit.
    pub burns: Vec<Burn>,
    /// What happens, from the wait to the braking.
    pub stages: Vec<Stage>,
    /// The target's orbit at the meeting, which is the chaser's after the last burn.
    pub after: Orbit,
    /// Speed against the target before the last burn, m/s.
    pub closing_speed: f64,
    /// How fast the chaser gains on the target before the first burn, rad/s: mean motions.
    pub phase_rate: f64,
    /// Time from one chance to the next, s; `None` where the chaser does not gain.
    pub synodic_period: Option<f64>,
    /// Least distance from the centre on the arcs, m.
    pub periapsis_radius: f64,
    /// Distance of the flown chaser from the target at the meeting, m.
    pub miss: f64,
    /// How many plans were compared.
    pub compared: usize,
}

impl Rendezvous {
    /// All burns, m/s.
    pub fn dv(&self) -> f64 {
        self.burns.iter().map(Burn::size).sum()
    }

    /// From its beginning to the meeting, s.
    pub fn time(&self) -> f64 {
        self.stages.iter().map(|stage| stage.time).sum()
    }

    /// When they meet.
    pub fn epoch(&self) -> Epoch {
        self.after.epoch()
    }
}

/// The cheapest rendezvous of a chaser with a target within a time.
///
/// Without a drift: two burns on a Lambert arc whose departure and time of flight are searched, over a grid of a thirty-sixth of the shorter
/// period and then by the simplex method. With one: such an arc onto the co-elliptic orbit below the target, at the place from which
/// the drift leads to the interception; its arc turns by the angle asked for in the time that takes the least Δv.
///
/// # Errors
/// Orbits that are open or about two bodies; figures outside their range; no arc above the least radius; interruption.
///
/// # Source
/// Phasing and interception: [Curtis2014], sections 6.5 and 6.6; co-elliptic rendezvous: [Prussing1993], chapter 8 (from memory).
pub fn rendezvous(
    chaser: &Orbit,
    target: &Orbit,
    options: &RendezvousOptions,
    watch: &Watch<'_>,
) -> Result<Rendezvous, RendezvousError> {
    if chaser.body() != target.body() {
        let (chaser, target) = (chaser.body().name().to_owned(), target.body().name().to_owned());
        return Err(RendezvousError::TwoBodies { chaser, target });
    }
    let (Some(own), Some(theirs)) = (chaser.period(), target.period()) else {
        return Err(RendezvousError::Open);
    };
    if !(options.within > 0.0 && options.within.is_finite()) {
        return Err(RendezvousError::Within { within_s: options.within, least_s: 0.0 });
    }
    let epoch = chaser.epoch().max(target.epoch());
    let (chaser, target) = (chaser.at(epoch)?, target.at(epoch)?);
    let floor = options.least_radius.unwrap_or_else(|| default_floor(&chaser, &target));
    let problem = Problem {
        chaser: &chaser,
        target: &target,
        revolutions: options.revolutions,
        least_radius: floor,
        step: own.min(theirs) / 36.0,
        longest: (f64::from(options.revolutions) + 1.0) * own.max(theirs),
    };
    let mut plan = match &options.approach {
        None => {
            let way = problem.cheapest(options.within, |time| problem.target_at(time), watch)?;
            Plan::begin(&problem, &way, None)?.brake()?
        }
        Some(below) => drift::plan(&problem, below, options.within, watch)?,
    };
    plan.found.phase_rate = std::f64::consts::TAU * (1.0 / own - 1.0 / theirs);
    plan.found.synodic_period = phasing::synodic_period(own, theirs).ok().filter(|time| *time < 1e12);
    Ok(plan.found)
}

/// Above the air, or above the ground; no higher than the chaser and the target come by themselves.
fn default_floor(chaser: &Orbit, target: &Orbit) -> f64 {
    let body = chaser.body();
    let clear = body.radius() + body.air().map_or(0.0, crate::system::Air::top);
    clear.min(chaser.periapsis_radius()).min(target.periapsis_radius())
}

/// A rendezvous as it is put together.
struct Plan<'p> {
    target: &'p Orbit,
    /// Where the chaser is, with the burns so far.
    at: Orbit,
    found: Rendezvous,
}

impl<'p> Plan<'p> {
    /// Waiting and the arc of a way; the drift goes on from its end on the given orbit, if there is one.
    fn begin(problem: &Problem<'p>, way: &Way, onto: Option<&Orbit>) -> Result<Self, RendezvousError> {
        let found = Rendezvous {
            burns: Vec::new(),
            stages: Vec::new(),
            after: problem.target.clone(),
            closing_speed: 0.0,
            phase_rate: 0.0,
            synodic_period: None,
            periapsis_radius: f64::INFINITY,
            miss: 0.0,
            compared: way.compared,
        };
        let mut plan = Plan { target: problem.target, at: problem.chaser.clone(), found };
        plan.coast("wait", way.wait, 0.0)?;
        plan.burn_to(way.v1, "transfer")?;
        plan.coast("transfer", way.time, plan.last_dv())?;
        if let Some(onto) = onto {
            plan.burn_to(onto.state().velocity, "onto the drift")?;
        }
        Ok(plan)
    }

    fn last_dv(&self) -> f64 {
        self.found.burns.last().map_or(0.0, Burn::size)
    }

    /// Changes the velocity to this one, m/s.
    fn burn_to(&mut self, velocity: Vec3, label: &str) -> Result<(), RendezvousError> {
        let state = *self.at.state();
        let burn = Burn::planned(self.at.body(), self.at.epoch(), state, velocity - state.velocity)?;
        self.at = self.at.after_impulse(velocity - state.velocity)?;
        self.found.burns.push(burn.labelled(label));
        Ok(())
    }

    /// A stage that coasts; one of no length is left out.
    fn coast(&mut self, name: &'static str, time: f64, dv: f64) -> Result<(), RendezvousError> {
        if name == "wait" && time <= 0.0 {
            return Ok(());
        }
        let end = self.at.after(time)?;
        let whole = self.at.period().map_or(0.0, |period| (time / period).floor());
        let part = turned(&self.at, &end.state().position);
        // The whole turns by the clock, the rest by the places; near a whole turn the two may disagree by one.
        let by_clock = self.at.period().map_or(0.0, |period| time / period * std::f64::consts::TAU);
        let mut angle = whole * std::f64::consts::TAU + part;
        if (angle - by_clock).abs() > std::f64::consts::PI {
            angle += std::f64::consts::TAU * ((by_clock - angle) / std::f64::consts::TAU).round();
        }
        if name != "wait" {
            self.found.periapsis_radius = self.found.periapsis_radius.min(self.at.periapsis_radius());
        }
        let (lead, distance) = self.stand()?;
        self.found.stages.push(Stage { name, epoch: self.at.epoch(), time, dv, lead, distance, angle });
        self.at = end;
        Ok(())
    }

    /// How far the target is ahead, and its distance.
    fn stand(&self) -> Result<(f64, f64), RendezvousError> {
        let there = self.target.at(self.at.epoch())?.state().position;
        let ahead = turned(&self.at, &there);
        let wrapped = ahead - std::f64::consts::TAU * (ahead / std::f64::consts::TAU).round();
        Ok((wrapped, (there - self.at.state().position).norm()))
    }

    /// The last burn: the target's velocity.
    fn brake(mut self) -> Result<Self, RendezvousError> {
        let target = self.target.at(self.at.epoch())?;
        self.found.closing_speed = (target.state().velocity - self.at.state().velocity).norm();
        self.found.miss = (target.state().position - self.at.state().position).norm();
        let (lead, distance) = self.stand()?;
        let epoch = self.at.epoch();
        self.burn_to(target.state().velocity, "braking")?;
        let dv = self.last_dv();
        self.found.stages.push(Stage { name: "braking", epoch, time: 0.0, dv, lead, distance, angle: 0.0 });
        self.found.after = target;
        Ok(self)
    }
}

/// Angle about the centre from where an orbit is to another place, along the motion, rad, 0 to 2π.
fn turned(orbit: &Orbit, place: &Vec3) -> f64 {
    let state = orbit.state();
    let across = state.position.cross(&state.velocity);
    let ahead = across.cross(&state.position);
    let angle = (place.dot(&ahead) / ahead.norm()).atan2(place.dot(&state.position) / state.position.norm());
    angle.rem_euclid(std::f64::consts::TAU)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::burn::sequence;
    use crate::system::{Body, EphemerisChoice, System};

    fn body(name: &str) -> Body {
        System::embedded("velm", EphemerisChoice::Default).unwrap().body(name).unwrap()
    }

    /// A circular orbit, so far ahead (rad) of the place where circles begin.
    fn circle(altitude: f64, ahead: f64) -> Orbit {
        let maren = body("Maren");
        let orbit = Orbit::circular(&maren, altitude, maren.system().epoch()).unwrap();
        let time = ahead / std::f64::consts::TAU * orbit.period().unwrap();
        let moved = orbit.after(time).unwrap();
        Orbit::new(maren, orbit.epoch(), *moved.state()).unwrap()
    }

    fn plain(within: f64) -> RendezvousOptions {
        RendezvousOptions { within, revolutions: 0, least_radius: None, approach: None }
    }

    #[test]
    fn with_time_to_wait_it_is_the_hohmann_transfer() {
        let (chaser, target) = (circle(339e3, 0.0), circle(450e3, 26.2_f64.to_radians()));
        let found = rendezvous(&chaser, &target, &plain(6.0 * 3600.0), &Watch::none()).unwrap();
        let closed = sequence::hohmann(&chaser, target.radius()).unwrap();
        // The optimum is flat: a search to 1e-8 of a period in time leaves far less than this in Δv.
        assert!((found.dv() - closed.dv()).abs() < 1e-3, "{} {}", found.dv(), closed.dv());
        let ideal = phasing::hohmann_phase_angle(chaser.radius(), target.radius()).unwrap();
        let transfer = found.stages.iter().find(|stage| stage.name == "transfer").unwrap();
        assert!((transfer.lead - ideal).abs() < 0.02, "{} {ideal}", transfer.lead);
        // The design page's 8.76 degrees an hour are for an altitude rounded to the kilometre: half a kilometre of 111 is 0.04.
        assert!((found.phase_rate.to_degrees() * 3600.0 - 8.76).abs() < 0.04, "{}", found.phase_rate);
        assert!(found.miss < 1e-2 && found.burns.len() == 2, "{}", found.miss);
    }

    #[test]
    fn by_a_drift_below_as_the_reference_mission_does() {
        let (chaser, target) = (circle(339e3, 0.0), circle(450e3, 26.2_f64.to_radians()));
        let below = Below { height: 10e3, drift: 2700.0, angle: 130.0_f64.to_radians() };
        let options = RendezvousOptions { approach: Some(below), ..plain(6.0 * 3600.0) };
        let found = rendezvous(&chaser, &target, &options, &Watch::none()).unwrap();
        let stage = |name: &str| found.stages.iter().find(|stage| stage.name == name).unwrap();
        // velm, section 6: wait 2.28 h, transfer begins 6.21 degrees behind, 19.4 + 19.2 m/s in 68 min, interception from 0.32 degrees
        // behind with 2.5 m/s in 51 min, braking 2.5 m/s; 44 m/s and 5.0 h in all. Its figures are rounded to their last digit.
        assert!((found.dv() - 44.0).abs() < 0.5, "{}", found.dv());
        assert!((found.time() / 3600.0 - 5.0).abs() < 0.1, "{}", found.time() / 3600.0);
        assert!((found.burns[0].size() - 19.4).abs() < 0.1 && (found.burns[1].size() - 19.2).abs() < 0.1);
        assert!((stage("transfer").lead.to_degrees() - 6.21).abs() < 0.1, "{}", stage("transfer").lead.to_degrees());
        assert!((stage("interception").lead.to_degrees() - 0.32).abs() < 0.03);
        assert!((found.closing_speed - 2.5).abs() < 0.2 && found.miss < 1.0, "{}", found.miss);
    }

    #[test]
    fn in_a_common_orbit_it_is_no_dearer_than_phasing() {
        let (chaser, target) = (circle(450e3, 0.0), circle(450e3, 0.2));
        let period = chaser.period().unwrap();
        let options = RendezvousOptions { revolutions: 3, ..plain(4.2 * period) };
        let found = rendezvous(&chaser, &target, &options, &Watch::none()).unwrap();
        let closed = phasing::circular(chaser.gm(), chaser.radius(), 0.2, 4).unwrap();
        assert!(found.dv() <= closed.dv() + 1e-6, "{} {}", found.dv(), closed.dv());
        assert!(found.dv() > 0.9 * closed.dv(), "{} {}", found.dv(), closed.dv());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let (chaser, target) = (circle(339e3, 0.0), circle(450e3, 0.3));
        let ask = |options: &RendezvousOptions| rendezvous(&chaser, &target, options, &Watch::none());
        assert!(matches!(ask(&plain(-1.0)), Err(RendezvousError::Within { .. })));
        assert!(matches!(ask(&plain(f64::NAN)), Err(RendezvousError::Within { .. })));
        let high = RendezvousOptions { least_radius: Some(1e9), ..plain(4e4) };
        assert!(matches!(ask(&high), Err(RendezvousError::TooLow { .. })));
        let below = Below { height: 10e3, drift: 2700.0, angle: 2.2 };
        let short = RendezvousOptions { approach: Some(below), ..plain(3600.0) };
        assert!(matches!(ask(&short), Err(RendezvousError::Within { .. })));
        let veyra = Orbit::circular(&body("Veyra"), 300e3, chaser.epoch()).unwrap();
        let other = rendezvous(&chaser, &veyra, &plain(4e4), &Watch::none());
        assert!(matches!(other, Err(RendezvousError::TwoBodies { .. })));
        let stop = || true;
        let stopped = rendezvous(&chaser, &target, &plain(4e4), &Watch::new(&stop));
        assert!(matches!(stopped, Err(RendezvousError::Interrupted)));
    }
}
