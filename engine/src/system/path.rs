//! How a body moves about its parent.

use super::ellipse::{FixedEllipse, MeanEllipse};

/// The way a body's place is found; `ephemeris` evaluates it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Path {
    /// The root: it stays where the axes begin.
    Root,
    Fixed(Box<FixedEllipse>),
    Mean(Box<MeanEllipse>),
    /// A planet given through the barycentre that it shares with its moon: planet = barycentre − moon/(1 + ratio).
    MeanWithMoon {
        barycentre: Box<MeanEllipse>,
        moon: Box<MeanEllipse>,
        ratio: f64,
    },
    /// From the Chebyshev pack.
    Pack(PackBody),
}

/// A body that the pack holds, with the bounds of its distance (m) and speed (m/s) about its parent over the pack's span.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct PackBody {
    pub(crate) place: PackPlace,
    pub(crate) radial_bounds: (f64, f64),
    pub(crate) speed_bound: f64,
}

/// Which track of the pack is meant, and how it becomes a place relative to the parent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum PackPlace {
    Mercury,
    Venus,
    Earth,
    Moon,
    Mars,
    Jupiter,
    Saturn,
    Uranus,
    Neptune,
    Pluto,
}

impl PackPlace {
    pub(super) fn by_name(name: &str) -> Option<Self> {
        Some(match name {
            "mercury" => Self::Mercury,
            "venus" => Self::Venus,
            "earth" => Self::Earth,
            "moon" => Self::Moon,
            "mars" => Self::Mars,
            "jupiter" => Self::Jupiter,
            "saturn" => Self::Saturn,
            "uranus" => Self::Uranus,
            "neptune" => Self::Neptune,
            "pluto" => Self::Pluto,
            _ => return None,
        })
    }
}
