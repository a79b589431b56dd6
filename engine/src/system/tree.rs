//! A system: bodies in a tree, about one root, with an epoch and a span of validity.

use std::sync::Arc;

use super::air::Air;
use super::assembly::{self, Placement};
use super::body::Body;
use super::error::{Problem, SystemError, nearest};
use super::gravity::Harmonics;
use super::path::Path;
use super::sea::Sea;
use super::sol;
use super::spin::Rotation;
use crate::time::Epoch;
use crate::vector::Mat3;

const VELM: &str = include_str!("../../data/velm.toml");

/// Where the bodies of `sol` are taken from. One choice holds for a whole system; choices are never mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum EphemerisChoice {
    /// The built-in pack for Sun, planets and the Earth's Moon: 1950 to 2100, about 1 km. `velm`: its fixed conics.
    #[default]
    Default,
    /// Mean elements throughout, planets from table 2 of the source: 3000 BC to AD 3000.
    Mean,
    /// Mean elements throughout, planets from table 1 of the source: 1800 to 2050, some times closer than table 2.
    MeanNarrow,
}

impl EphemerisChoice {
    /// Reads the name that scripts and system files use: `pack`, `mean` or `mean 1800-2050`.
    ///
    /// # Errors
    /// Any other name.
    pub fn by_name(name: &str) -> Result<Self, SystemError> {
        match name {
            "pack" => Ok(Self::Default),
            "mean" => Ok(Self::Mean),
            "mean 1800-2050" => Ok(Self::MeanNarrow),
            other => Err(SystemError::nowhere(Problem::UnknownEphemeris { name: other.to_string() })),
        }
    }
}

/// A flat ring about a body's equator: inner and outer edge, m from the centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ring {
    /// Inner edge, m.
    pub inner: f64,
    /// Outer edge, m.
    pub outer: f64,
}

/// A tree of bodies. Immutable; cloning shares it.
///
/// Inertial axes: ICRF for `sol`; for the others those that their file's angles count in. All states are in these axes.
#[derive(Debug, Clone)]
pub struct System {
    inner: Arc<Inner>,
}

#[derive(Debug)]
pub(crate) struct Inner {
    pub(super) name: String,
    pub(super) epoch: Epoch,
    pub(super) span: Option<(Epoch, Epoch)>,
    pub(super) counts_utc: bool,
    pub(super) plane: Mat3,
    /// In tree order: a parent before its children, the root first.
    pub(super) bodies: Vec<BodyData>,
    pub(super) warnings: Vec<String>,
    /// The text that the system was read from, and the choice of ephemeris: equal ones make equal systems.
    pub(super) identity: (String, String),
}

#[derive(Debug)]
pub(crate) struct BodyData {
    pub(super) name: String,
    pub(super) about: String,
    pub(super) parent: Option<usize>,
    pub(super) children: Vec<usize>,
    pub(super) gm: f64,
    pub(super) gm_system: f64,
    pub(super) radius: f64,
    pub(super) intermediate_radius: f64,
    pub(super) polar_radius: f64,
    pub(super) mean_radius: Option<f64>,
    pub(super) luminosity: Option<f64>,
    pub(super) harmonics: Option<Harmonics>,
    pub(super) path: Path,
    pub(super) size: Option<(f64, f64)>,
    pub(super) rotation: Rotation,
    pub(super) rate: f64,
    pub(super) locked: bool,
    pub(super) sphere_of_influence: f64,
    pub(super) hill_radius: f64,
    pub(super) air: Option<Air>,
    pub(super) sea: Option<Sea>,
    pub(super) ring: Option<Ring>,
    pub(super) source: String,
    pub(super) accuracy: String,
}

impl System {
    /// Reads a system file (docs/system-files.md). `name` is what it is called if the text does not say.
    ///
    /// # Errors
    /// Whatever is wrong with the text, with the bytes it stands at and what to write instead.
    ///
    /// # Example
    /// ```
    /// # use visviva_engine::system::System;
    /// let system = System::parse(
    ///     "epoch = \"2140-01-01T00:00:00 TDB\"\n[[body]]\nname = \"Velm\"\ngm = \"1.5e11 km^3/s^2\"\nradius = \"8.3e5 km\"",
    ///     "lonely",
    /// )?;
    /// assert_eq!(system.root().name(), "Velm");
    /// let error = System::parse("epoch = \"2140-01-01T00:00:00 TDB\"\n[[body]]\nname = \"Velm\"\ngm = 1.5e11", "lonely");
    /// assert!(error.unwrap_err().message().contains("needs a unit"));
    /// # Ok::<(), visviva_engine::system::SystemError>(())
    /// ```
    pub fn parse(text: &str, name: &str) -> Result<Self, SystemError> {
        let inner = assembly::read(text, name, Mat3::identity(), &|_| Ok(Placement::default()))?;
        Ok(Self { inner: Arc::new(inner) })
    }

    /// One of the built-in systems, `sol` or `velm`.
    ///
    /// # Errors
    /// A name that is neither, or an ephemeris that the system does not have.
    pub fn embedded(name: &str, ephemeris: EphemerisChoice) -> Result<Self, SystemError> {
        match (name, ephemeris) {
            ("sol", choice) => Ok(Self { inner: Arc::new(sol::read(choice)?) }),
            ("velm", EphemerisChoice::Default) => Self::parse(VELM, "velm"),
            ("velm", _) => Err(SystemError::nowhere(Problem::NoSuchEphemeris { system: name.to_string() })),
            _ => Err(SystemError::nowhere(Problem::UnknownSystem {
                name: name.to_string(),
                nearest: nearest(name, Self::embedded_names()),
            })),
        }
    }

    /// The built-in systems.
    pub const fn embedded_names() -> [&'static str; 2] {
        ["sol", "velm"]
    }

    /// What the system is called.
    pub fn name(&self) -> &str {
        &self.inner.name
    }

    /// The body that all others go round.
    pub fn root(&self) -> Body {
        self.seat(0)
    }

    /// All bodies in tree order: each followed by its own, in the order of the file.
    pub fn bodies(&self) -> Vec<Body> {
        (0..self.inner.bodies.len()).map(|index| self.seat(index)).collect()
    }

    /// The body of a name, exactly as written in the file.
    ///
    /// # Errors
    /// An unknown name, with the nearest known one.
    pub fn body(&self, name: &str) -> Result<Body, SystemError> {
        match self.inner.bodies.iter().position(|body| body.name == name) {
            Some(index) => Ok(self.seat(index)),
            None => Err(SystemError::nowhere(Problem::UnknownBody {
                system: self.inner.name.clone(),
                name: name.to_string(),
                nearest: nearest(name, self.inner.bodies.iter().map(|body| body.name.as_str())),
            })),
        }
    }

    /// The epoch of the file's elements and meridians.
    pub fn epoch(&self) -> Epoch {
        self.inner.epoch
    }

    /// First and last epoch for which places are known; none for systems that know theirs at any time.
    pub fn span(&self) -> Option<(Epoch, Epoch)> {
        self.inner.span
    }

    /// Whether UTC has a meaning here: only in `sol`, where leap seconds were counted.
    pub fn counts_utc(&self) -> bool {
        self.inner.counts_utc
    }

    /// The plane that orbits about the root refer to, as columns in the inertial axes: the ecliptic of J2000 for `sol`, the xy
    /// plane for the others.
    pub fn plane(&self) -> Mat3 {
        self.inner.plane
    }

    /// What is odd about the system without being wrong: a sphere of influence below the ground, an orbit that leaves its
    /// parent's sphere.
    pub fn warnings(&self) -> &[String] {
        &self.inner.warnings
    }

    pub(crate) fn data(&self, index: usize) -> &BodyData {
        &self.inner.bodies[index]
    }

    pub(crate) fn seat(&self, index: usize) -> Body {
        Body::new(self.clone(), index)
    }
}

impl PartialEq for System {
    /// Systems are equal when they were read from the same text with the same ephemeris.
    fn eq(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.inner, &other.inner) || self.inner.identity == other.inner.identity
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn built_in_systems_are_read() {
        for choice in [EphemerisChoice::Default, EphemerisChoice::Mean, EphemerisChoice::MeanNarrow] {
            let sol = System::embedded("sol", choice).expect("sol");
            assert_eq!(sol.bodies().len(), 32);
            assert_eq!(sol.root().name(), "Sun");
        }
        let velm = System::embedded("velm", EphemerisChoice::Default).expect("velm");
        assert_eq!(velm.bodies().len(), 9);
        assert!(System::embedded("velm", EphemerisChoice::Mean).is_err());
    }

    #[test]
    fn equal_texts_make_equal_bodies() {
        let read = |choice| System::embedded("sol", choice).and_then(|sol| sol.body("Moon")).expect("the Moon");
        assert_eq!(read(EphemerisChoice::Default), read(EphemerisChoice::Default));
        assert_ne!(read(EphemerisChoice::Default), read(EphemerisChoice::Mean));
    }

    #[test]
    fn a_body_is_followed_by_its_own() {
        let velm = System::embedded("velm", EphemerisChoice::Default).expect("velm");
        let names: Vec<_> = velm.bodies().iter().map(|body| body.name().to_string()).collect();
        assert_eq!(names, ["Velm", "Brenn", "Oru", "Uldre", "Cinnor", "Maren", "Keld", "Veyra", "Dovra"]);
    }
}
