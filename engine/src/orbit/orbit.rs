//! The orbit itself: a body, an epoch, a state.

use super::{Anomaly, OrbitError, Placement, Shape};
use crate::conic::{self, Elements, State, hyperbola};
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

/// A conic about a body: the state (m, m/s, in the system's inertial axes, from the body's centre) at an epoch. All finite.
#[derive(Debug, Clone, PartialEq)]
pub struct Orbit {
    body: Body,
    epoch: Epoch,
    state: State,
    gm: f64,
}

impl Orbit {
    /// The orbit through a state.
    ///
    /// # Errors
    /// A state that is not finite, or at the centre itself.
    pub fn new(body: Body, epoch: Epoch, state: State) -> Result<Self, OrbitError> {
        let gm = Self::gm_of(&body);
        state.checked(gm)?;
        Ok(Orbit { body, epoch, state, gm })
    }

    /// The osculating orbit of a body itself about its parent: its state there, with the gravitational parameters of both
    /// (its own with all that goes round it) added, as two heavy bodies attract each other. `None` for the root.
    ///
    /// # Errors
    /// An epoch that the ephemeris does not reach.
    pub fn of_body(body: &Body, epoch: Epoch) -> Result<Option<Self>, OrbitError> {
        let Some(parent) = body.parent() else { return Ok(None) };
        let gm = Self::gm_of(&parent) + body.gm_system();
        let state = body.state(epoch)?;
        state.checked(gm)?;
        Ok(Some(Orbit { body: parent, epoch, state, gm }))
    }

    /// A circular orbit in the plane in which the body's orbits are counted (its equator; the reference plane about the
    /// root), at the ascending node of that plane, `altitude` (m) above the equatorial radius.
    ///
    /// # Errors
    /// An orbit under the surface, above the sphere of influence, or about a body that nothing can orbit.
    pub fn circular(body: &Body, altitude: f64, epoch: Epoch) -> Result<Self, OrbitError> {
        let radius = body.radius() + altitude;
        let sphere = body.sphere_of_influence();
        if sphere <= body.radius() {
            return Err(OrbitError::NothingCanOrbit {
                body: body.name().to_owned(),
                sphere_m: sphere,
                ground_m: body.radius(),
            });
        }
        if altitude < 0.0 {
            return Err(OrbitError::UnderTheSurface { body: body.name().to_owned(), below_m: -altitude });
        }
        if !radius.is_finite() {
            return Err(OrbitError::OutOfRange { what: "the altitude", range: "a finite number", value: altitude });
        }
        if radius >= sphere {
            return Err(OrbitError::OutsideTheSphere {
                body: body.name().to_owned(),
                radius_m: radius,
                sphere_m: sphere,
            });
        }
        let elements = Elements {
            semi_latus_rectum: radius,
            eccentricity: 0.0,
            inclination: 0.0,
            ascending_node: 0.0,
            argument_of_periapsis: 0.0,
            true_anomaly: 0.0,
        };
        Self::from_elements(body, &elements, epoch, &body.orbit_plane())
    }

    /// The orbit with some elements in a frame (columns: the frame's axes in inertial axes).
    ///
    /// # Errors
    /// Elements that describe no orbit.
    pub fn from_elements(body: &Body, elements: &Elements, epoch: Epoch, frame: &Mat3) -> Result<Self, OrbitError> {
        let local = elements.to_state(Self::gm_of(body))?;
        Self::new(body.clone(), epoch, State::new(frame * local.position, frame * local.velocity))
    }

    /// The orbit of some shape, placed in a frame (columns: the frame's axes in inertial axes).
    ///
    /// # Errors
    /// Numbers out of range; a lowest point under the surface; a body that nothing can orbit.
    pub fn shaped(body: &Body, shape: Shape, place: Placement, epoch: Epoch, frame: &Mat3) -> Result<Self, OrbitError> {
        let (semi_latus_rectum, eccentricity) = shape.form(Self::gm_of(body))?;
        let elements = Elements {
            semi_latus_rectum,
            eccentricity,
            inclination: place.inclination,
            ascending_node: place.ascending_node,
            argument_of_periapsis: place.argument_of_periapsis,
            true_anomaly: place.anomaly.on_conic(eccentricity)?,
        };
        let below = body.radius() - semi_latus_rectum / (1.0 + eccentricity);
        // An altitude of zero is an orbit along the ground; rounding must not call it one under it.
        if below > 4.0 * f64::EPSILON * body.radius() {
            return Err(OrbitError::UnderTheSurface { body: body.name().to_owned(), below_m: below });
        }
        if body.sphere_of_influence() <= body.radius() {
            return Err(OrbitError::NothingCanOrbit {
                body: body.name().to_owned(),
                sphere_m: body.sphere_of_influence(),
                ground_m: body.radius(),
            });
        }
        Self::from_elements(body, &elements, epoch, frame)
    }

    /// The hyperbola that comes in with `v_infinity` (m/s, inertial) along the asymptote through `aim` (m, from the centre,
    /// ⊥ `v_infinity`), at its periapsis at `epoch`.
    ///
    /// # Errors
    /// No excess speed, or an aim through the centre.
    pub fn approaching(body: &Body, v_infinity: Vec3, aim: Vec3, epoch: Epoch) -> Result<Self, OrbitError> {
        let state = hyperbola::at_periapsis(Self::gm_of(body), v_infinity, aim)?;
        Self::new(body.clone(), epoch, state)
    }

    /// The gravitational parameter that orbits about a body count with, m³/s²: the body's own.
    pub fn gm_of(body: &Body) -> f64 {
        body.gm()
    }

    /// What is orbited.
    pub fn body(&self) -> &Body {
        &self.body
    }

    /// When the craft is where [`Orbit::state`] says.
    pub fn epoch(&self) -> Epoch {
        self.epoch
    }

    /// Place and velocity about the body, m and m/s, inertial.
    pub fn state(&self) -> &State {
        &self.state
    }

    /// The gravitational parameter that the orbit counts with, m³/s².
    pub fn gm(&self) -> f64 {
        self.gm
    }

    /// Distance from the centre, m.
    pub fn radius(&self) -> f64 {
        self.state.radius()
    }

    /// Speed about the body, m/s.
    pub fn speed(&self) -> f64 {
        self.state.speed()
    }

    /// Height above the equatorial radius, m.
    pub fn altitude(&self) -> f64 {
        self.radius() - self.body.radius()
    }

    /// The angle of the velocity above the horizon, rad.
    pub fn flight_path_angle(&self) -> f64 {
        let h = self.angular_momentum().norm();
        self.state.position.dot(&self.state.velocity).atan2(h)
    }

    /// Specific energy, m²/s².
    pub fn energy(&self) -> f64 {
        conic::energy(self.gm(), &self.state)
    }

    /// Twice the energy, m²/s²: the square of the excess speed of a hyperbola.
    pub fn c3(&self) -> f64 {
        2.0 * self.energy()
    }

    /// Specific angular momentum, m²/s, inertial.
    pub fn angular_momentum(&self) -> Vec3 {
        conic::angular_momentum(&self.state)
    }

    /// Eccentricity vector, inertial: towards periapsis.
    pub fn eccentricity_vector(&self) -> Vec3 {
        conic::eccentricity_vector(self.gm(), &self.state)
    }

    /// Elements in the plane in which the body's orbits are counted.
    ///
    /// # Errors
    /// A straight line through the centre has none.
    pub fn elements(&self) -> Result<Elements, OrbitError> {
        self.elements_in(&self.body.orbit_plane())
    }

    /// Elements in a frame (columns: the frame's axes in inertial axes).
    ///
    /// # Errors
    /// A straight line through the centre has none.
    pub fn elements_in(&self, frame: &Mat3) -> Result<Elements, OrbitError> {
        let local = State::new(frame.tr_mul(&self.state.position), frame.tr_mul(&self.state.velocity));
        Ok(Elements::from_state(self.gm(), &local)?)
    }

    /// Lowest distance from the centre, m; 0 on a straight line.
    pub fn periapsis_radius(&self) -> f64 {
        Elements::from_state(self.gm(), &self.state).map_or(0.0, |elements| elements.periapsis_radius())
    }

    /// Height of the lowest point above the equatorial radius, m; negative under the surface.
    pub fn periapsis_altitude(&self) -> f64 {
        self.periapsis_radius() - self.body.radius()
    }

    /// Height of the highest point above the equatorial radius, m; `None` on an open orbit.
    pub fn apoapsis_altitude(&self) -> Option<f64> {
        Some(self.apoapsis_radius()? - self.body.radius())
    }

    /// Greatest distance from the centre, m; `None` on an open orbit. A straight line that falls back has one, too.
    pub fn apoapsis_radius(&self) -> Option<f64> {
        match Elements::from_state(self.gm(), &self.state) {
            Ok(elements) => elements.apoapsis_radius(),
            Err(_) => Some(2.0 * self.axis_of_line()?),
        }
    }

    /// Period, s; `None` on an open orbit. On a straight line it is that of the ever more slender ellipses beside it.
    pub fn period(&self) -> Option<f64> {
        if let Ok(elements) = Elements::from_state(self.gm(), &self.state) {
            return elements.period(self.gm());
        }
        let axis = self.axis_of_line()?;
        Some(std::f64::consts::TAU * axis * (axis / self.gm()).sqrt())
    }

    /// Semi-major axis of a straight line that falls back, m. An energy within the rounding of its two terms is that of a
    /// parabola, and has none.
    fn axis_of_line(&self) -> Option<f64> {
        let (gm, energy) = (self.gm(), self.energy());
        (energy < -4.0 * f64::EPSILON * gm / self.radius()).then(|| -0.5 * gm / energy)
    }

    /// When the craft passes its periapsis: the passage that an open orbit has, the nearest one on an ellipse.
    ///
    /// # Errors
    /// An epoch out of range.
    pub fn periapsis_epoch(&self) -> Result<Epoch, OrbitError> {
        Ok(self.epoch.try_after(-conic::time_since_periapsis(self.gm, &self.state))?)
    }

    /// The time in which the mean motion goes through an angle (rad), s: the lead of a target on the same orbit, exact on a
    /// circle. `None` on an open orbit.
    pub fn time_of_lead(&self, angle: f64) -> Option<f64> {
        Some(angle / std::f64::consts::TAU * self.period()?)
    }

    /// Speed at periapsis, m/s.
    pub fn periapsis_speed(&self) -> f64 {
        self.angular_momentum().norm() / self.periapsis_radius()
    }

    /// Excess speed, m/s; `None` unless the orbit is a hyperbola.
    pub fn v_infinity(&self) -> Option<f64> {
        hyperbola::excess_speed(self.gm(), &self.state)
    }

    /// The asymptote on which the craft came in; `None` unless the orbit is a hyperbola.
    pub fn incoming(&self) -> Option<hyperbola::Asymptote> {
        hyperbola::incoming(self.gm, &self.state)
    }

    /// The asymptote on which the craft will leave; `None` unless the orbit is a hyperbola.
    pub fn outgoing(&self) -> Option<hyperbola::Asymptote> {
        hyperbola::outgoing(self.gm, &self.state)
    }

    /// The same conic with the craft elsewhere on it, at the same epoch: at a true anomaly, rad.
    ///
    /// # Errors
    /// An anomaly on or beyond the asymptote; a straight line.
    pub fn with_true_anomaly(&self, true_anomaly: f64) -> Result<Orbit, OrbitError> {
        let elements = Elements { true_anomaly, ..Elements::from_state(self.gm, &self.state)? };
        Ok(Orbit { state: elements.to_state(self.gm)?, ..self.clone() })
    }

    /// The same conic after a time, s, of either sign.
    ///
    /// # Errors
    /// A time that is not finite; a straight fall through the centre; an epoch out of range.
    pub fn after(&self, seconds: f64) -> Result<Orbit, OrbitError> {
        Ok(Orbit {
            body: self.body.clone(),
            epoch: self.epoch.try_after(seconds)?,
            state: conic::propagate(self.gm(), &self.state, seconds)?,
            gm: self.gm,
        })
    }

    /// The same conic at an epoch.
    ///
    /// # Errors
    /// As [`Orbit::after`].
    pub fn at(&self, epoch: Epoch) -> Result<Orbit, OrbitError> {
        let state = conic::propagate(self.gm(), &self.state, epoch.seconds_since(self.epoch))?;
        Ok(Orbit { body: self.body.clone(), epoch, state, gm: self.gm })
    }

    /// The orbit after an impulse here, m/s, inertial.
    ///
    /// # Errors
    /// An impulse that is not finite.
    pub fn after_impulse(&self, dv: Vec3) -> Result<Orbit, OrbitError> {
        let state = State::new(self.state.position, self.state.velocity + dv);
        state.checked(self.gm)?;
        Ok(Orbit { state, ..self.clone() })
    }

    /// Whether a place and velocity on this conic agree with another orbit's, within m and m/s, at that orbit's epoch.
    ///
    /// # Errors
    /// As [`Orbit::at`].
    pub fn meets(&self, other: &Orbit, metres: f64, metres_per_second: f64) -> Result<bool, OrbitError> {
        if self.body != other.body {
            return Ok(false);
        }
        let here = self.at(other.epoch)?;
        Ok((here.state.position - other.state.position).norm() <= metres
            && (here.state.velocity - other.state.velocity).norm() <= metres_per_second)
    }

    /// The elements' placement in the body's plane, as [`Orbit::shaped`] takes it.
    ///
    /// # Errors
    /// As [`Orbit::elements`].
    pub fn placement(&self) -> Result<Placement, OrbitError> {
        let elements = self.elements()?;
        Ok(Placement {
            inclination: elements.inclination,
            ascending_node: elements.ascending_node,
            argument_of_periapsis: elements.argument_of_periapsis,
            anomaly: Anomaly::True(elements.true_anomaly),
        })
    }
}
