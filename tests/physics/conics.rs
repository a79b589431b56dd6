//! Conics: forwards then backwards, conservation over many revolutions, random conics.

use visviva_engine::conic::{State, propagate};
use visviva_engine::vector::Vec3;

#[test]
fn forwards_then_backwards() {
    let start = State::new(Vec3::new(7.0e6, 1.0e5, -3.0e5), Vec3::new(100.0, 8.1e3, 1.2e3));
    let gm = 3.986_004_418e14;
    for dt in [1.0, 1e3, 4e4, -7e5] {
        let there = propagate(gm, &start, dt).unwrap();
        let back = propagate(gm, &there, -dt).unwrap();
        // The error grows with the angle flown, n dt, three times over: the period follows the axis to the power 3/2.
        let bound = 20.0 * f64::EPSILON * (1.0 + 1e-3 * f64::abs(dt)) * 3.0;
        assert!((back.position - start.position).norm() < bound * start.radius(), "{dt}");
    }
}
