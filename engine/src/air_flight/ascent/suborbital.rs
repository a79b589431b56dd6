//! Sub-orbital coast: how long a craft stays above the air before it falls back, and whether a task fits into that time.

use super::AscentError;
use crate::conic::State;
use crate::motion::Crossing;
use crate::motion::Point;
use crate::motion::force::{Craft, Drag, Quantity, Stop, Surroundings};
use crate::motion::passage::{Flown, fly};
use crate::numerics::watch::Watch;

/// A coast above the air.
#[derive(Debug, Clone, PartialEq)]
pub struct Suborbital {
    /// Height above which there is time, m.
    pub floor: f64,
    /// When it is first above the floor, s from the start; zero where it begins there.
    pub from: f64,
    /// When it is below it again, s; none where it does not come back within the time looked at.
    pub until: Option<f64>,
    /// Greatest height, m, and when, s.
    pub top: (f64, f64),
    /// The coast, s from the start.
    pub flown: Flown,
}

impl Suborbital {
    /// Time above the floor, s; none where it does not come back.
    pub fn time(&self) -> Option<f64> {
        self.until.map(|until| until - self.from)
    }

    /// Time left over when a task of this length (s) is done above the floor; below zero where it does not fit.
    pub fn spare(&self, task: f64) -> f64 {
        self.time().map_or(f64::INFINITY, |time| time - task)
    }
}

/// Lets a craft coast from a state and tells how long it is above a height.
///
/// - `state`: inertial, about the centre, m and m/s; `mass`: kg, above zero.
/// - `drag_area`: drag coefficient times area, m²; none where the air is not to count.
/// - `floor`: m above the ground; the top of the air as a rule.
/// - `within`: how long to look, s.
/// - Returns `None` where it never is above the floor.
///
/// # Errors
/// A state, mass or height that is no finite number above zero; a motion that cannot be followed.
pub fn suborbital(
    around: &Surroundings,
    state: &State,
    mass: f64,
    drag_area: Option<f64>,
    floor: f64,
    within: f64,
    watch: &Watch<'_>,
) -> Result<Option<Suborbital>, AscentError> {
    for (what, value) in [("the mass, in kg,", mass), ("the height, in m,", floor), ("the time to look, in s,", within)]
    {
        if !(value > 0.0 && value.is_finite()) {
            return Err(AscentError::BadOption { what, value, needs: "a finite number above zero" });
        }
    }
    let (p, v) = (state.position, state.velocity);
    let start = Point { time: 0.0, position: [p.x, p.y, p.z, 0.0], velocity: [v.x, v.y, v.z, mass] };
    let craft = Craft { thrust: None, drag: drag_area.map(Drag::ballistic) };
    let rises = around.height(&p) < floor;
    let mut flown = None;
    let mut from = 0.0;
    let mut now = start;
    if rises {
        let stops = [
            Stop::ending(Quantity::Height(floor), Crossing::Rising),
            Stop::ending(Quantity::RadialSpeed(0.0), Crossing::Falling),
        ];
        let up = fly(around, &craft, start, within, 1e-11, &stops, watch)?;
        if up.ended_by != Some(0) {
            return Ok(None);
        }
        (from, now) = (up.end.time, up.end);
        flown = Some(up);
    }
    let stops = [
        Stop::ending(Quantity::Height(floor), Crossing::Falling),
        Stop::noted(Quantity::RadialSpeed(0.0), Crossing::Falling),
    ];
    let above = fly(around, &craft, now, within.max(from), 1e-11, &stops, watch)?;
    let until = above.ended_by.map(|_| above.end.time);
    let height = |point: &Point<4>| (around.height(&super::flight::state_of(point).position), point.time);
    let apex = above.met.iter().find(|(which, _)| *which == 1).map(|(_, point)| height(point));
    let top = apex.unwrap_or_else(|| {
        let ends = (height(&now), height(&above.end));
        if ends.0.0 > ends.1.0 { ends.0 } else { ends.1 }
    });
    let whole = match flown {
        Some(mut up) => {
            up.join(above);
            up
        }
        None => above,
    };
    Ok(Some(Suborbital { floor, from, until, top, flown: whole }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vector::Vec3;

    #[test]
    fn a_straight_throw_comes_down_after_its_closed_form_time() {
        // Straight up from 6600 km about a point mass: the radial conic's time above the start, by Kepler's equation of the rectilinear ellipse.
        let (gm, r, v) = (3.986e14, 6.6e6, 1500.0);
        let around = Surroundings::point(gm);
        let state = State::new(Vec3::new(r, 0.0, 0.0), Vec3::new(v, 0.0, 0.0));
        let a = 1.0 / (2.0 / r - v * v / gm);
        // r = a (1 − cos E), t = √(a³/gm) (E − sin E); the top is at E = π.
        let anomaly = (1.0 - r / a).acos();
        let half = (a * a * a / gm).sqrt() * (std::f64::consts::PI - (anomaly - anomaly.sin()));
        let found = suborbital(&around, &state, 100.0, None, r - 1e-3, 1e4, &Watch::none()).unwrap().unwrap();
        let time = found.time().unwrap();
        // The floor is a millimetre lower, passed at 1500 m/s: 1e-6 s; steps of 1e-11 of the speed are far below that.
        assert!((time - 2.0 * half).abs() < 1e-4, "{time} against {}", 2.0 * half);
        assert!((found.top.0 - 2.0 * a).abs() < 1e-2);
        assert!(found.spare(60.0) > 0.0 && found.spare(time + 1.0) < 0.0);
        let never = suborbital(&around, &state, 100.0, None, 3.0 * a, 1e4, &Watch::none()).unwrap();
        assert!(never.is_none());
        assert!(suborbital(&around, &state, 0.0, None, r, 1e4, &Watch::none()).is_err());
    }
}
