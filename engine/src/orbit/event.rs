//! What comes next on a conic.

use std::fmt;

use super::{Orbit, OrbitError};
use crate::conic::{Elements, Passage, State, propagate, time_since_periapsis, time_to_radius, time_to_true_anomaly};

/// Something that a craft passes on its conic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// The lowest point.
    Periapsis,
    /// The highest point.
    Apoapsis,
    /// Northward through the plane in which the body's orbits are counted.
    AscendingNode,
    /// Southward through it.
    DescendingNode,
    /// A true anomaly, rad.
    TrueAnomaly(f64),
    /// A distance from the centre, m, crossed either way.
    Radius(f64),
    /// An altitude above the equatorial radius, m, crossed either way.
    Altitude(f64),
    /// A distance from the centre, m, crossed on the way out.
    RadiusOutbound(f64),
    /// A distance from the centre, m, crossed on the way in.
    RadiusInbound(f64),
}

impl fmt::Display for Event {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Event::Periapsis => f.write_str("periapsis"),
            Event::Apoapsis => f.write_str("apoapsis"),
            Event::AscendingNode => f.write_str("ascending node"),
            Event::DescendingNode => f.write_str("descending node"),
            Event::TrueAnomaly(rad) => write!(f, "true anomaly of {:.3} deg", rad.to_degrees()),
            Event::Radius(m) => write!(f, "radius of {:.3} km", m / 1e3),
            Event::Altitude(m) => write!(f, "altitude of {:.3} km", m / 1e3),
            Event::RadiusOutbound(m) => write!(f, "radius of {:.3} km on the way out", m / 1e3),
            Event::RadiusInbound(m) => write!(f, "radius of {:.3} km on the way in", m / 1e3),
        }
    }
}

impl Orbit {
    /// Time from here to the next such event on this conic, s; `None` where the conic never passes it.
    ///
    /// An event that the craft stands on already is passed over: the next one counts. "Standing on" is 1e-8 of the local
    /// time scale √(r³/gm), a thousand times what propagation and the rounding of epochs leave, and 2 ns.
    ///
    /// A straight line through the centre has its periapsis there, no nodes, and no anomaly but those of its two ends.
    ///
    /// # Errors
    /// A body whose plane is not known at this epoch.
    pub fn time_to(&self, event: Event) -> Result<Option<f64>, OrbitError> {
        let (gm, state) = (self.gm(), self.state());
        let r = state.radius();
        let here = 1e-8 * (r * r * r / gm).sqrt() + 2e-9;
        let period = self.period();
        let straight = Elements::from_state(gm, state).is_err();
        let by_radius =
            matches!(event, Event::Radius(_) | Event::Altitude(_) | Event::RadiusOutbound(_) | Event::RadiusInbound(_));
        if straight && !by_radius {
            return Ok(later(self.time_on_line(event, period), here, period));
        }
        // In the axes in which elements are counted: those of a circular orbit count from its node there.
        let local = self.local();
        let anomaly = |anomaly: f64| later(time_to_true_anomaly(gm, &local, anomaly), here, period);
        let radius = |radius: f64, passage| later(time_to_radius(gm, state, radius, passage), here, period);
        Ok(match event {
            Event::Periapsis => anomaly(0.0),
            Event::Apoapsis => self.apoapsis_radius().and_then(|_| anomaly(std::f64::consts::PI)),
            Event::TrueAnomaly(at) => anomaly(at),
            Event::AscendingNode => node(&self.elements()?).and_then(|at| later(self.time_to_node(at), here, period)),
            Event::DescendingNode => {
                let opposite = |at| self.time_to_node(at + std::f64::consts::PI);
                node(&self.elements()?).and_then(|at| later(opposite(at), here, period))
            }
            Event::Radius(m) => sooner(radius(m, Passage::Inbound), radius(m, Passage::Outbound)),
            Event::Altitude(m) => {
                let m = self.body().radius() + m;
                sooner(radius(m, Passage::Inbound), radius(m, Passage::Outbound))
            }
            Event::RadiusOutbound(m) => radius(m, Passage::Outbound),
            Event::RadiusInbound(m) => radius(m, Passage::Inbound),
        })
    }

    /// The state in the axes in which the body's orbits are counted.
    fn local(&self) -> State {
        let plane = self.body().orbit_plane();
        State::new(plane.tr_mul(&self.state().position), plane.tr_mul(&self.state().velocity))
    }

    /// Time to a true anomaly at which the plane of the nodes is crossed, s. On nearly circular orbits an anomaly is known to
    /// a rounding over the eccentricity only, so the crossing itself is gone for from there, by Newton's steps.
    fn time_to_node(&self, anomaly: f64) -> Option<f64> {
        let mut time = time_to_true_anomaly(self.gm(), &self.local(), anomaly)?;
        let normal = self.body().orbit_plane().column(2).into_owned();
        for _ in 0..4 {
            let Ok(there) = propagate(self.gm(), self.state(), time) else { break };
            let step = there.position.dot(&normal) / there.velocity.dot(&normal);
            // Only what rounding of the anomaly explains is put right.
            if !(step.abs() * there.speed() < 0.3 * there.radius()) {
                break;
            }
            time -= step;
        }
        Some(time)
    }

    /// Time to an event on a straight line that is no radius, s, 0 or more; `None` where it never comes.
    fn time_on_line(&self, event: Event, period: Option<f64>) -> Option<f64> {
        let passed = time_since_periapsis(self.gm(), self.state());
        let until = |event: f64| match period {
            Some(period) => Some((event - passed).rem_euclid(period)),
            None => (event >= passed).then_some(event - passed),
        };
        let (low, high) = (until(0.0), period.and_then(|period| until(0.5 * period)));
        match event {
            Event::Periapsis => low,
            Event::Apoapsis => high,
            Event::TrueAnomaly(at) if at.sin().abs() < 2e-14 => {
                if at.cos() > 0.0 {
                    low
                } else {
                    high
                }
            }
            _ => None,
        }
    }

    /// The same conic at the next such event.
    ///
    /// # Errors
    /// [`OrbitError::NoSuchEvent`] where the conic never passes it.
    pub fn next(&self, event: Event) -> Result<Orbit, OrbitError> {
        match self.time_to(event)? {
            Some(time) => self.after(time),
            None => Err(OrbitError::NoSuchEvent { event: event.to_string() }),
        }
    }

    /// Time until the craft strikes the ground on this conic, s, and the periapsis radius, m; `None` where it stays above
    /// the equatorial radius, or has come from the ground and does not fall back.
    ///
    /// # Errors
    /// As [`Orbit::time_to`]; a straight line down strikes too.
    pub fn time_to_ground(&self) -> Result<Option<(f64, f64)>, OrbitError> {
        let (gm, state) = (self.gm(), self.state());
        let ground = self.body().radius();
        let periapsis = self.periapsis_radius();
        if periapsis >= ground {
            return Ok(None);
        }
        if state.radius() <= ground && falls(state) {
            return Ok(Some((0.0, periapsis)));
        }
        Ok(time_to_radius(gm, state, ground, Passage::Inbound).map(|time| (time, periapsis)))
    }
}

fn falls(state: &State) -> bool {
    state.position.dot(&state.velocity) < 0.0
}

fn sooner(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.min(b)),
        (a, b) => a.or(b),
    }
}

/// A time after `here`: a whole period is added where the event is now; an unbound conic has no second one.
fn later(time: Option<f64>, here: f64, period: Option<f64>) -> Option<f64> {
    let time = time?;
    if time > here { Some(time) } else { period.map(|whole| time + whole) }
}

/// True anomaly of the ascending node; `None` where the orbit lies in the plane that nodes are counted on. The bound is
/// the same on which elements call an orbit equatorial, a hundred roundings.
fn node(elements: &Elements) -> Option<f64> {
    let inclined = elements.inclination.sin() > 2e-14;
    inclined.then_some(-elements.argument_of_periapsis)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orbit::{Anomaly, Placement, Shape};
    use crate::system::{EphemerisChoice, System};
    use std::f64::consts::PI;

    /// From apoapsis, wherever rounding puts it, the next periapsis is half a period away and the next apoapsis a whole one.
    #[test]
    fn apsides_are_half_a_period_apart() {
        let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system is sound");
        let oru = system.body("Oru").expect("Oru");
        for case in 0..50 {
            let shape = Shape::Apsides { periapsis_radius: 3.0e8 + 2.0e6 * f64::from(case), apoapsis_radius: 2.1e9 };
            let place = Placement {
                argument_of_periapsis: 0.61 * f64::from(case),
                anomaly: Anomaly::True(PI),
                ..Placement::default()
            };
            let orbit = Orbit::shaped(&oru, shape, place, system.epoch(), &oru.orbit_plane()).expect("an orbit");
            let period = orbit.period().expect("an ellipse");
            let periapsis = orbit.time_to(Event::Periapsis).expect("a time").expect("a periapsis");
            let apoapsis = orbit.time_to(Event::Apoapsis).expect("a time").expect("an apoapsis");
            // The place is known to a rounding, the time of an apsis to some hundred of them.
            assert!((periapsis - period / 2.0).abs() < 1e-13 * period, "{case}: {periapsis}");
            assert!((apoapsis - period).abs() < 1e-13 * period, "{case}: {apoapsis}");
        }
    }

    #[test]
    fn a_hyperbola_has_no_apoapsis_and_one_periapsis() {
        let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system is sound");
        let veyra = system.body("Veyra").expect("Veyra");
        let shape = Shape::Hyperbola { v_infinity: 2800.0, periapsis_radius: veyra.radius() + 2e5 };
        let orbit =
            Orbit::shaped(&veyra, shape, Placement::default(), system.epoch(), &veyra.orbit_plane()).expect("an orbit");
        assert_eq!(orbit.next(Event::Apoapsis), Err(OrbitError::NoSuchEvent { event: "apoapsis".into() }));
        assert_eq!(orbit.time_to(Event::Periapsis), Ok(None));
    }
}
