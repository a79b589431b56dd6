//! How near, how far and how fast a body can be about its parent.

use crate::system::{Body, Path};

/// Room for rounding in bounds that are exact on paper: some hundred units in the last place.
const ROUNDING: f64 = 1e-13;

impl Body {
    /// Least and greatest distance from the parent, m, over the whole span of the ephemeris; zero for the root.
    ///
    /// Guaranteed, not tight: a search may skip what lies outside.
    pub fn radial_bounds(&self) -> (f64, f64) {
        self.motion_bounds().0
    }

    /// Greatest speed about the parent, m/s, over the whole span of the ephemeris; zero for the root. Guaranteed, not tight.
    pub fn speed_bound(&self) -> f64 {
        self.motion_bounds().1
    }

    fn motion_bounds(&self) -> ((f64, f64), f64) {
        let between = self.system().span().map(|(first, last)| (first.tdb_days(), last.tdb_days()));
        let widen = |((least, greatest), speed): ((f64, f64), f64)| {
            ((least * (1.0 - ROUNDING), greatest * (1.0 + ROUNDING)), speed * (1.0 + ROUNDING))
        };
        match self.path() {
            Path::Root => ((0.0, 0.0), 0.0),
            Path::Fixed(ellipse) => widen(ellipse.bounds()),
            Path::Mean(ellipse) => widen(ellipse.bounds(between)),
            Path::MeanWithMoon { barycentre, moon, ratio } => {
                let ((least, greatest), speed) = barycentre.bounds(between);
                let ((_, far), moon_speed) = moon.bounds(between);
                let share = 1.0 / (1.0 + ratio);
                widen(((least - share * far, greatest + share * far), speed + share * moon_speed))
            }
            Path::Pack(body) => (body.radial_bounds, body.speed_bound),
        }
    }
}
