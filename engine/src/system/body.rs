//! A body of a system, and what follows from its numbers.

use std::f64::consts::{PI, TAU};

use super::air::Air;
use super::gravity::Harmonics;
use super::path::Path;
use super::sea::Sea;
use super::spin::{Spin, period};
use super::tree::{BodyData, Ring, System};
use crate::constants::{DAY, GRAVITATION};
use crate::time::Epoch;
use crate::vector::{Mat3, Vec3};

/// A body: a handle into its system, cheap to clone.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    system: System,
    index: usize,
}

impl Body {
    pub(super) fn new(system: System, index: usize) -> Self {
        Self { system, index }
    }

    pub(crate) fn data(&self) -> &BodyData {
        self.system.data(self.index)
    }

    pub(crate) fn path(&self) -> &Path {
        &self.data().path
    }

    /// Where its places come from and how good they are; `ephemeris` tells it.
    pub(crate) fn ephemeris_words(&self) -> (&str, &str) {
        (&self.data().source, &self.data().accuracy)
    }

    /// Its name in the system.
    pub fn name(&self) -> &str {
        &self.data().name
    }

    /// A few words on what it is; empty if the file says nothing.
    pub fn about(&self) -> &str {
        &self.data().about
    }

    /// Gravitational parameter, m³/s².
    pub fn gm(&self) -> f64 {
        self.data().gm
    }

    /// Gravitational parameter of the body with all that goes round it, m³/s², where the file states it; else its own.
    /// The sphere of influence and the Hill radius are computed from it.
    pub fn gm_system(&self) -> f64 {
        self.data().gm_system
    }

    /// Equatorial radius (the longest where the equator is no circle), m.
    pub fn radius(&self) -> f64 {
        self.data().radius
    }

    /// The shorter equatorial radius, m; `radius()` for most bodies.
    pub fn intermediate_radius(&self) -> f64 {
        self.data().intermediate_radius
    }

    /// Polar radius, m.
    pub fn polar_radius(&self) -> f64 {
        self.data().polar_radius
    }

    /// Mean radius, m: as the file states it, else the mean of the three axes.
    pub fn mean_radius(&self) -> f64 {
        let data = self.data();
        data.mean_radius.unwrap_or((data.radius + data.intermediate_radius + data.polar_radius) / 3.0)
    }

    /// (equatorial − polar)/equatorial.
    pub fn flattening(&self) -> f64 {
        (self.radius() - self.polar_radius()) / self.radius()
    }

    /// Mass over the volume of the sphere of the mean radius, kg/m³.
    pub fn density(&self) -> f64 {
        self.gm() / GRAVITATION / (4.0 / 3.0 * PI * self.mean_radius().powi(3))
    }

    /// The body that this one goes round; none for the root.
    pub fn parent(&self) -> Option<Body> {
        self.data().parent.map(|index| self.system.seat(index))
    }

    /// The bodies that go round this one, in the order of the file.
    pub fn children(&self) -> Vec<Body> {
        self.data().children.iter().map(|index| self.system.seat(*index)).collect()
    }

    /// The same as `children`: what goes round a planet.
    pub fn moons(&self) -> Vec<Body> {
        self.children()
    }

    /// Parent, its parent, and so on to the root.
    pub fn ancestors(&self) -> Vec<Body> {
        std::iter::successors(self.parent(), Body::parent).collect()
    }

    /// The system that the body belongs to.
    pub fn system(&self) -> &System {
        &self.system
    }

    /// Radius of the sphere of influence a (m/M)^(2/5), m; infinite for the root. [Curtis2014], chapter 8
    pub fn sphere_of_influence(&self) -> f64 {
        self.data().sphere_of_influence
    }

    /// Hill radius a (1 − e) (m/3M)^(1/3), m; infinite for the root. [Murray1999], chapter 3 (from memory)
    pub fn hill_radius(&self) -> f64 {
        self.data().hill_radius
    }

    /// Mean semi-major axis of the body's orbit about its parent, m; none for the root.
    pub fn semi_major_axis(&self) -> Option<f64> {
        self.data().size.map(|(a, _)| a)
    }

    /// Mean eccentricity of the body's orbit about its parent; none for the root.
    pub fn eccentricity(&self) -> Option<f64> {
        self.data().size.map(|(_, e)| e)
    }

    /// Period of the body's orbit about its parent by the two-body law, s: 2 pi sqrt(a³/(GM + gm)); none for the root.
    pub fn orbital_period(&self) -> Option<f64> {
        let (a, _) = self.data().size?;
        let parent = self.system.data(self.data().parent?);
        Some(TAU * a * (a / (parent.gm + self.gm_system())).sqrt())
    }

    /// Gravity harmonics, where the file gives them.
    pub fn harmonics(&self) -> Option<&Harmonics> {
        self.data().harmonics.as_ref()
    }

    /// Power of its light, W, where the file gives it.
    pub fn luminosity(&self) -> Option<f64> {
        self.data().luminosity
    }

    /// Sidereal period and locking; none where the file gives no spin.
    pub fn spin(&self) -> Option<Spin> {
        let data = self.data();
        let period = period(data.rate)?;
        Some(Spin { period, retrograde: data.rate < 0.0, locked: data.locked })
    }

    /// Unit vector of the pole, inertial.
    pub fn pole(&self, epoch: Epoch) -> Vec3 {
        self.equator(epoch).column(2).into_owned()
    }

    /// Equator axes at an epoch, columns in the inertial axes: ascending node of the equator on the xy plane of those axes (the
    /// ICRF equator for `sol`), a quarter turn ahead of it, pole.
    pub fn equator(&self, epoch: Epoch) -> Mat3 {
        self.data().equator(epoch.tdb_days())
    }

    /// Axes that turn with the body, columns in the inertial axes: prime meridian on the equator, a quarter turn east, pole.
    pub fn body_fixed(&self, epoch: Epoch) -> Mat3 {
        let days = epoch.tdb_days();
        let (right_ascension, declination, meridian) = self.data().rotation.angles(self.path(), days);
        let equator = super::spin::equator(right_ascension, declination);
        let (sin, cos) = meridian.sin_cos();
        let (node, ahead, pole) = (equator.column(0), equator.column(1), equator.column(2));
        Mat3::from_columns(&[node * cos + ahead * sin, ahead * cos - node * sin, pole.into_owned()])
    }

    /// Right ascension and declination of the pole and angle of the prime meridian from the equator's node, rad; the meridian
    /// within one turn from 0.
    pub fn orientation(&self, epoch: Epoch) -> (f64, f64, f64) {
        let (right_ascension, declination, meridian) = self.data().rotation.angles(self.path(), epoch.tdb_days());
        (right_ascension, declination, meridian.rem_euclid(TAU))
    }

    /// The plane that orbits about this body refer to, columns in the inertial axes: the system's plane for the root, the
    /// equator at the system's epoch for all others.
    pub fn orbit_plane(&self) -> Mat3 {
        match self.data().parent {
            None => self.system.plane(),
            Some(_) => self.equator(self.system.epoch()),
        }
    }

    /// How the body turns, rad/s: along its pole, against it where it turns westward; zero without a spin.
    pub fn angular_velocity(&self, epoch: Epoch) -> Vec3 {
        self.pole(epoch) * (self.data().rate / DAY)
    }

    /// Velocity (m/s, inertial axes, about the body's centre) of air that turns with the body, at a place (m, the same axes).
    ///
    /// Rigid rotation, ω × r, at every height: no winds of its own.
    pub fn air_velocity(&self, place: &Vec3, epoch: Epoch) -> Vec3 {
        self.angular_velocity(epoch).cross(place)
    }

    /// Air, where there is any.
    pub fn air(&self) -> Option<&Air> {
        self.data().air.as_ref()
    }

    /// Sea, where there is one.
    pub fn sea(&self) -> Option<&Sea> {
        self.data().sea.as_ref()
    }

    /// Ring, where there is one.
    pub fn ring(&self) -> Option<Ring> {
        self.data().ring
    }

    /// Attraction at the equatorial radius, m/s²: gm/r², without oblateness and rotation.
    pub fn surface_gravity(&self) -> f64 {
        self.gm() / (self.radius() * self.radius())
    }

    /// Escape speed at the equatorial radius, m/s: sqrt(2 gm/r).
    pub fn escape_speed(&self) -> f64 {
        (2.0 * self.gm() / self.radius()).sqrt()
    }

    /// Radius of the circular orbit that keeps step with the body's rotation, m; none without a spin.
    ///
    /// For a locked moon it lies outside the sphere of influence unless the moon is heavy: with the spin at the mean motion it is
    /// a (m/(M + m))^(1/3), against a (m/M)^(2/5).
    pub fn synchronous_radius(&self) -> Option<f64> {
        let rate = self.data().rate / DAY;
        (rate != 0.0).then(|| (self.gm() / (rate * rate)).cbrt())
    }
    /// Height of the synchronous orbit above the equatorial radius, m; none without a spin.
    pub fn synchronous_altitude(&self) -> Option<f64> {
        Some(self.synchronous_radius()? - self.radius())
    }
}
