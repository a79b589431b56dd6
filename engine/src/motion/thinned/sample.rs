//! A flight to try things on: gravity of a point, thrust along the velocity, mass that flows.

use crate::motion::field::{Field, Point};
use crate::motion::trajectory::Trajectory;
use crate::motion::{NoEvents, gauss};
use crate::numerics::lanes::Lane;
use crate::numerics::watch::Watch;

/// Thrust along the velocity in the field of a point.
pub(crate) struct Push {
    /// m³/s².
    pub(crate) gm: f64,
    /// N.
    pub(crate) thrust: f64,
    /// m/s.
    pub(crate) exhaust: f64,
}

impl Field<4> for Push {
    type Prepared<L: Lane> = ();
    const LEADING: usize = 3;

    fn prepare<L: Lane>(&self, _time: L) {}

    fn acceleration<L: Lane>(&self, (): &(), _time: L, position: &[L; 4], velocity: &[L; 4]) -> [L; 4] {
        let [x, y, z, _] = *position;
        let [u, v, w, mass] = *velocity;
        let square = x * x + y * y + z * z;
        let pull = L::splat(-self.gm) / (square * square.sqrt());
        let push = L::splat(self.thrust) / (mass * (u * u + v * v + w * w).sqrt());
        [pull * x + push * u, pull * y + push * v, pull * z + push * w, L::splat(-self.thrust / self.exhaust)]
    }
}

/// Where the flights begin: 300 km above a body of 6378 km, 20 t.
pub(crate) fn start(speed: f64) -> Point<4> {
    Point { time: 0.0, position: [6.678e6, 1.0e5, -2.0e5, 0.0], velocity: [60.0, speed, 300.0, 20_000.0] }
}

/// A burn, then a coast, then a burn with half the thrust from a lighter craft: three stretches.
pub(crate) fn flight(tolerance: f64) -> Vec<Trajectory<4>> {
    let mut at = start(7500.0);
    [(180e3, 350.0, 0.0), (0.0, 1400.0, 0.0), (90e3, 1500.0, 2000.0)]
        .into_iter()
        .map(|(thrust, until, dropped)| {
            at.velocity[3] -= dropped;
            let field = Push { gm: 3.986_004_418e14, thrust, exhaust: 4400.0 };
            let flown = gauss::integrate(&field, at, until, tolerance, &NoEvents, &Watch::none()).unwrap().0;
            at = flown.end();
            flown
        })
        .collect()
}
