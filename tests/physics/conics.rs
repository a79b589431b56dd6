//! Conics: forwards then backwards, conservation over many revolutions, random conics.

#![allow(clippy::unwrap_used, reason = "a test fails where an answer is missing")]

use std::f64::consts::{PI, TAU};

use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use visviva_engine::conic::{
    Elements, Passage, State, angular_momentum, anomaly, energy, hyperbola, propagate, time_since_periapsis,
    time_to_radius, time_to_true_anomaly,
};
use visviva_engine::vector::Vec3;

const GM: f64 = 3.986_004_418e14;

/// The relative change of the end by a relative change of the start of one part in ten million, over that part: what
/// one rounding of an input does to the answer.
fn condition(start: &State, dt: f64, end: &State) -> f64 {
    const NUDGE: f64 = 1e-7;
    let off = |start: State, dt: f64| {
        let moved = propagate(GM, &start, dt).unwrap();
        let place = (moved.position - end.position).norm() / end.radius();
        place.max((moved.velocity - end.velocity).norm() / end.speed()) / NUDGE
    };
    let by_place = off(State::new(start.position * (1.0 + NUDGE), start.velocity), dt);
    let by_velocity = off(State::new(start.position, start.velocity * (1.0 + NUDGE)), dt);
    by_place + by_velocity + off(*start, dt * (1.0 + NUDGE))
}

fn distance(a: &State, b: &State) -> f64 {
    let place = (a.position - b.position).norm() / b.radius();
    place.max((a.velocity - b.velocity).norm() / b.speed())
}

#[test]
fn energy_and_momentum_hold_over_ten_thousand_revolutions() {
    let elements = Elements {
        semi_latus_rectum: 9.0e6,
        eccentricity: 0.3,
        inclination: 0.9,
        ascending_node: 1.0,
        argument_of_periapsis: 2.0,
        true_anomaly: 3.0,
    };
    let start = elements.to_state(GM).unwrap();
    let period = elements.period(GM).unwrap();
    let (first_energy, first_momentum) = (energy(GM, &start), angular_momentum(&start));
    let mut state = start;
    for _ in 0..10_000 {
        state = propagate(GM, &state, 1.037 * period).unwrap();
    }
    // Each flight rounds the state a few times, without drift between: 1e4 flights at 10 roundings, if all one way.
    let bound = 1e4 * 10.0 * f64::EPSILON;
    assert!((energy(GM, &state) / first_energy - 1.0).abs() < bound);
    assert!((angular_momentum(&state) - first_momentum).norm() < bound * first_momentum.norm());
    // In one flight the laws hold to the last digits, however far.
    let far = propagate(GM, &start, 1e4 * 1.037 * period).unwrap();
    assert!((energy(GM, &far) / first_energy - 1.0).abs() < 20.0 * f64::EPSILON);
    assert!((angular_momentum(&far) - first_momentum).norm() < 20.0 * f64::EPSILON * first_momentum.norm());
}

fn conic() -> impl Strategy<Value = Elements> {
    let shape = prop_oneof![0.0..0.95, 0.95..1.05, 1.05..8.0, Just(0.0), Just(1.0), (1e-9..1e-3).prop_map(|d| 1.0 - d)];
    let tilt = prop_oneof![0.0..PI, Just(0.0), Just(PI)];
    (6.6e6..4e8, shape, tilt, 0.0..TAU, 0.0..TAU, -0.95..0.95).prop_map(|(q, e, inclination, node, periapsis, part)| {
        let limit = anomaly::limit(e).unwrap_or(PI);
        Elements {
            semi_latus_rectum: q * (1.0 + e),
            eccentricity: e,
            inclination,
            ascending_node: node,
            argument_of_periapsis: periapsis,
            true_anomaly: part * limit,
        }
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, rng_seed: RngSeed::Fixed(2031), ..ProptestConfig::with_cases(800) })]

    #[test]
    fn forwards_then_backwards(elements in conic(), turns in -30.0..30.0_f64) {
        let start = elements.to_state(GM).unwrap();
        let q = elements.periapsis_radius();
        let dt = turns * (q * q * q / GM).sqrt();
        let end = propagate(GM, &start, dt).unwrap();
        let home = propagate(GM, &end, -dt).unwrap();
        // Twenty roundings of what one rounding does, there and, enlarged by the way back, home.
        let there = 20.0 * f64::EPSILON * (1.0 + condition(&start, dt, &end));
        let back = 1.0 + condition(&end, -dt, &start);
        prop_assert!(distance(&home, &start) <= there * back, "{} of {}", distance(&home, &start), there * back);
        let size = 0.5 * start.velocity.norm_squared() + GM / start.radius();
        let size = size.max(0.5 * end.velocity.norm_squared() + GM / end.radius());
        prop_assert!((energy(GM, &end) - energy(GM, &start)).abs() <= there * size);
        let swept = angular_momentum(&start);
        let reach = (start.radius() * start.speed()).max(end.radius() * end.speed());
        prop_assert!((angular_momentum(&end) - swept).norm() <= there * reach);
    }

    #[test]
    fn elements_and_state_round_trip(elements in conic()) {
        let state = elements.to_state(GM).unwrap();
        let back = Elements::from_state(GM, &state).unwrap().to_state(GM).unwrap();
        // One rounding of e or of the anomaly moves r by 1/(1 + e cos ν) of itself.
        let spread = 1.0 + elements.eccentricity * elements.true_anomaly.cos();
        let bound = 1e-13 + 16.0 * f64::EPSILON * (1.0 + elements.eccentricity) / spread;
        prop_assert!(distance(&back, &state) <= bound, "{} of {}", distance(&back, &state), bound);
    }

    #[test]
    fn times_lead_where_they_say(elements in conic(), part in -0.9..0.9_f64) {
        prop_assume!(elements.eccentricity > 1e-6);
        let state = elements.to_state(GM).unwrap();
        let since = time_since_periapsis(GM, &state);
        let periapsis = propagate(GM, &state, -since).unwrap();
        // At periapsis r · v vanishes; the time's own error moves it by the acceleration.
        let q = elements.periapsis_radius();
        let reach = periapsis.radius() * periapsis.speed();
        let slack = 20.0 * f64::EPSILON * (1.0 + condition(&state, -since, &periapsis));
        prop_assert!((periapsis.radius() - q).abs() <= (slack + 1e-13) * q);
        prop_assert!(periapsis.position.dot(&periapsis.velocity).abs() <= (slack + 1e-13) * reach);
        let nu = part * anomaly::limit(elements.eccentricity).unwrap_or(PI);
        if let Some(wait) = time_to_true_anomaly(GM, &state, nu) {
            prop_assert!(wait >= 0.0);
            let there = propagate(GM, &state, wait).unwrap();
            let got = Elements::from_state(GM, &there).unwrap();
            let slack = 40.0 * f64::EPSILON * (1.0 + condition(&state, wait, &there));
            // A wait rounds, and the anomaly moves at h/q² at most meanwhile: on ellipses that are parabolas but for
            // some roundings, whose periods are beyond all bounds, this is all that can be said.
            let rate = angular_momentum(&state).norm() / (q * q);
            let slack = slack + 8.0 * f64::EPSILON * wait * rate;
            // Small eccentricities leave the anomaly as uncertain as their share of a turn.
            let slack = (slack + 1e-13) / elements.eccentricity.min(1.0) * 4.0;
            let off = anomaly::wrapped_signed(got.true_anomaly - nu).abs();
            prop_assert!(off <= slack, "anomaly {} of {}", off, slack);
            let radius = there.radius();
            let passage = if nu > 0.0 { Passage::Outbound } else { Passage::Inbound };
            let again = time_to_radius(GM, &state, radius, passage);
            // At the apsides the radius hardly changes with time: compare where it does.
            if nu.abs() > 0.2 && nu.abs() < 2.9 && wait > 1.0 {
                prop_assert!(again.is_some());
                let reached = propagate(GM, &state, again.unwrap_or(0.0)).unwrap();
                prop_assert!((reached.radius() - radius).abs() <= slack * radius * 10.0);
            }
        } else {
            prop_assert!(elements.eccentricity >= 1.0);
        }
    }

    #[test]
    fn asymptotes_build_the_hyperbola_they_come_from(speed in 100.0..3e4_f64, miss in 1e5..1e10_f64, a in -1.0..1.0_f64, b in 0.0..TAU) {
        let ring = (1.0 - a * a).sqrt();
        let along = Vec3::new(ring * b.cos(), ring * b.sin(), a);
        let square = along.cross(&if a.abs() < 0.7 { Vec3::z() } else { Vec3::x() }).normalize();
        let (velocity, aim) = (along * speed, square * miss);
        let periapsis = hyperbola::at_periapsis(GM, velocity, aim).unwrap();
        let back = hyperbola::incoming(GM, &periapsis).unwrap();
        // The excess speed is a difference of v² and 2 gm/r: it loses their ratio to v∞².
        let loss = periapsis.velocity.norm_squared() / (speed * speed);
        let bound = 20.0 * f64::EPSILON * (1.0 + loss);
        prop_assert!((back.v_infinity - velocity).norm() <= bound * speed);
        prop_assert!((back.aim - aim).norm() <= bound * miss);
    }
}
