//! Voyages for the tests of this folder, in the invented system.

use crate::burn::Burn;
use crate::conic::State;
use crate::motion::force::{Attitude, Craft, Drag, Quantity, Stop, Surroundings, Throttle, Thrust};
use crate::motion::passage::{self, Flown};
use crate::motion::{Crossing, Point};
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::{Body, EphemerisChoice, System};
use crate::time::Epoch;
use crate::vector::Vec3;
use crate::vehicle::Vehicle;
use crate::voyage::{ForcedFlight, Happening, Voyage};

/// The invented system.
pub(super) fn velm() -> System {
    System::embedded("velm", EphemerisChoice::Default).unwrap()
}

/// One of its bodies.
pub(super) fn body(name: &str) -> Body {
    velm().body(name).unwrap()
}

/// When the rehearsals begin.
pub(super) fn start() -> Epoch {
    velm().epoch().after(568.0 * 86_400.0)
}

/// A craft with propellant to spare.
pub(super) fn tug() -> Vehicle {
    Vehicle::new("tug", 1000.0, 99_000.0, 450.0, None).unwrap()
}

/// A craft on a low circular orbit.
pub(super) fn parked(name: &str) -> Voyage {
    Voyage::new("rehearsal", tug(), Orbit::circular(&body(name), 300e3, start()).unwrap()).unwrap()
}

/// A craft on any conic about a body.
pub(super) fn on(name: &str, position: Vec3, velocity: Vec3) -> Voyage {
    let orbit = Orbit::new(body(name), start(), State { position, velocity }).unwrap();
    Voyage::new("rehearsal", tug(), orbit).unwrap()
}

/// A burn planned for an orbit.
pub(super) fn planned(orbit: &Orbit, dv: Vec3) -> Burn {
    Burn::planned(orbit.body(), orbit.epoch(), *orbit.state(), dv).unwrap()
}

/// Nobody asks to stop.
pub(super) fn unwatched() -> Watch<'static> {
    Watch::none()
}

/// A flight off the ground of Veyra by a craft of two stages: a rise, a tilt, a turn along the air, a drop, a second turn.
pub(super) struct Climb {
    pub(super) orbit: Orbit,
    pub(super) around: Surroundings,
    pub(super) flown: Flown,
    pub(super) happenings: Vec<Happening>,
    pub(super) vehicle: Vehicle,
}

/// The tolerance that it is flown with.
pub(super) const TOLERANCE: f64 = 1e-10;

/// What the climb's craft is before it leaves: 40 t, 28 t of them in its first stage.
pub(super) fn climber() -> Vehicle {
    Vehicle::new("climber", 5e3, 35e3, 350.0, None).unwrap()
}

pub(super) fn climb() -> Climb {
    climb_to(TOLERANCE)
}

/// The same, integrated to another tolerance.
pub(super) fn climb_to(tolerance: f64) -> Climb {
    let around = Surroundings::of(&body("Veyra"), start());
    let axis = around.turning.normalize();
    let out = axis.cross(&Vec3::x()).normalize();
    let east = axis.cross(&out);
    let place = out * around.ground.equatorial;
    let orbit =
        Orbit::new(body("Veyra"), start(), State { position: place, velocity: around.air_velocity(&place) }).unwrap();
    let v = orbit.state().velocity;
    let thrust = |vacuum: f64, attitude| Thrust {
        vacuum,
        exit_area: 0.4,
        exhaust_speed: 3300.0,
        throttle: Throttle::Share(1.0),
        attitude,
    };
    let craft = |vacuum, attitude| Craft { thrust: Some(thrust(vacuum, attitude)), drag: Some(Drag::ballistic(5.0)) };
    let point =
        Point { time: 0.0, position: [place.x, place.y, place.z, 0.0], velocity: [v.x, v.y, v.z, climber().mass()] };
    let fly = |craft: &Craft, from: Point<4>, until: f64, stops: &[Stop]| {
        passage::fly(&around, craft, from, until, tolerance, stops, &Watch::none()).unwrap()
    };
    let high = [Stop::ending(Quantity::Height(600.0), Crossing::Rising)];
    let mut flown = fly(&craft(450e3, Attitude::Up), point, 100.0, &high);
    let mut happenings = vec![Happening { time: flown.end.time, what: "tilt".to_owned(), dropped: 0.0 }];
    let then = flown.end;
    let slanted = Attitude::fixed(out * 0.998 + east * 0.06);
    flown.join(fly(&craft(450e3, slanted), then, then.time + 10.0, &[]));
    let dry = [Stop::ending(Quantity::Mass(15e3), Crossing::Falling)];
    let then = flown.end;
    flown.join(fly(&craft(450e3, Attitude::AlongAir { sign: 1.0 }), then, 1e4, &dry));
    happenings.push(Happening { time: flown.end.time, what: "lower stage off".to_owned(), dropped: 3e3 });
    let mut then = flown.end;
    then.velocity[3] -= 3e3;
    let dry = [Stop::ending(Quantity::Mass(6e3), Crossing::Falling)];
    flown.join(fly(&craft(120e3, Attitude::Along { sign: 1.0 }), then, 1e4, &dry));
    let vehicle = Vehicle::new("climber", 2e3, 4e3, 350.0, None).unwrap();
    Climb { orbit, around, flown, happenings, vehicle }
}

impl Climb {
    pub(super) fn entry(&self) -> ForcedFlight<'_> {
        ForcedFlight {
            name: "climb",
            clock: self.orbit.epoch(),
            around: &self.around,
            flown: &self.flown,
            tolerance: TOLERANCE,
            happenings: self.happenings.clone(),
            vehicle: self.vehicle.clone(),
            dv: None,
            estimate: None,
            fineness: None,
            audit: Vec::new(),
        }
    }
}
