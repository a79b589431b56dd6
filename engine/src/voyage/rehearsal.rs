//! Voyages for the tests of this folder, in the invented system.

use crate::burn::Burn;
use crate::conic::State;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::{Body, EphemerisChoice, System};
use crate::time::Epoch;
use crate::vector::Vec3;
use crate::vehicle::Vehicle;
use crate::voyage::Voyage;

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
