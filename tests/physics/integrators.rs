//! Integrated trajectories against answers found in 50 digits, against each other, and against what must not change.

use serde_json::Value;
use visviva_engine::conic::{State, energy, propagate};
use visviva_engine::motion::{Crossing, Events, Field, IntegrationError, NoEvents, Point, Watched, explicit, gauss};
use visviva_engine::numerics::lanes::Lane;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::vector::Vec3;

#[allow(dead_code, unreachable_pub, missing_docs, reason = "the bench uses what this test does not")]
mod measure {
    pub fn number(value: &serde_json::Value) -> f64 {
        value.as_f64().or_else(|| value.as_str()?.parse().ok()).expect("a number")
    }
}
#[allow(dead_code, unreachable_pub, missing_docs, reason = "the bench uses what this test does not")]
#[path = "../../engine/benches/motion/fields.rs"]
mod fields;

use fields::{Arenstorf, Cruise, Oblate, Pass, PassEvents, Pleiades};
use measure::number;

/// Taylor series of order 40 in 170-bit arithmetic; definitions beside the answers.
fn answers() -> Value {
    serde_json::from_str(include_str!("../benchmark/trajectories.json")).expect("JSON")
}

fn numbers<const N: usize>(value: &Value) -> [f64; N] {
    std::array::from_fn(|i| number(&value[i]))
}

fn off<const D: usize>(end: &Point<D>, lane: &Value) -> (f64, f64) {
    let place: [f64; D] = numbers(lane);
    let length = |v: &dyn Fn(usize) -> f64| (0..D).map(|d| v(d) * v(d)).sum::<f64>().sqrt();
    (length(&|d| end.position[d] - place[d]), length(&|d| place[d]))
}

/// Both methods from one start; how far each ends from the answer (absolute, relative).
fn both<F: Field<D>, const D: usize>(
    field: &F,
    start: Point<D>,
    until: f64,
    tolerance: f64,
    lane: &Value,
) -> [(f64, f64); 2] {
    let watch = Watch::none();
    let first = gauss::integrate(field, start, until, tolerance, &NoEvents, &watch).expect("a trajectory").0;
    let second = explicit::integrate(field, start, until, tolerance, &NoEvents, &watch).expect("a trajectory").0;
    let many = explicit::ends_of_many(field, &[start; 11], until, tolerance, &watch);
    for end in many {
        assert_eq!(end, Ok(second.end()), "a trajectory in company is another");
    }
    for end in gauss::ends_of_many(field, &[start; 3], until, tolerance, &watch) {
        assert_eq!(end, Ok(first.end()), "an end without its pieces is another");
    }
    [first.end(), second.end()].map(|end| {
        let (away, size) = off(&end, lane);
        (away, away / size)
    })
}

/// The required errors are those of the benchmark's problems, at one tolerance for all and for both methods.
#[test]
fn published_trajectories_end_where_they_should() {
    let all = answers();
    let defined = &all["definitions"];

    let d = &defined["j2"];
    let field = Oblate::new(number(&d["mu"]), number(&d["j2"]), number(&d["re"]));
    let start = Point { time: 0.0, position: numbers(&d["r0"]), velocity: numbers(&d["v0"]) };
    let lane = &all["j2"]["lanes"][0];
    let [first, second] = both(&field, start, number(&d["t_end"]), 1e-13, lane);
    assert!(first.1 < 1e-10 && second.1 < 1e-10, "j2 {first:?} {second:?}");

    let d = &defined["pleiades"];
    let at = |key: &str| -> [f64; 7] { numbers(&d[key]) };
    let (x, y, vx, vy) = (at("x0"), at("y0"), at("vx0"), at("vy0"));
    let start = Point {
        time: 0.0,
        position: std::array::from_fn(|i| if i < 7 { x[i] } else { y[i - 7] }),
        velocity: std::array::from_fn(|i| if i < 7 { vx[i] } else { vy[i - 7] }),
    };
    let [first, second] =
        both(&Pleiades { mass: at("mass") }, start, number(&d["t_end"]), 1e-13, &all["pleiades"]["lanes"][0]);
    assert!(first.1 < 1e-10 && second.1 < 1e-10, "pleiades {first:?} {second:?}");

    let d = &defined["arenstorf"];
    let y: [f64; 4] = numbers(&d["y0"]);
    let start = Point { time: 0.0, position: [y[0], y[1]], velocity: [y[2], y[3]] };
    let field = Arenstorf { share: number(&d["mu"]) };
    let [first, second] = both(&field, start, number(&d["period"]), 1e-13, &all["arenstorf_1"]["lanes"][0]);
    assert!(first.0 < 1e-10 && second.0 < 1e-10, "arenstorf {first:?} {second:?}");

    let d = &defined["cruise"];
    let start = Point { time: 0.0, position: numbers(&d["r0"]), velocity: numbers(&d["v0"]) };
    let field = Cruise::new(&all["constants"], number(&d["t0_days"]));
    let [first, second] = both(&field, start, number(&d["t_end"]), 1e-13, &all["cruise"]["lanes"][0]);
    assert!(first.0 < 1.0 && second.0 < 1.0, "cruise {first:?} m {second:?} m");
}

#[test]
fn a_pass_through_the_air_and_its_events() {
    let all = answers();
    let d = &all["definitions"]["aeropass"];
    let start = Point { time: 0.0, position: numbers(&d["r0"]), velocity: numbers(&d["v0"]) };
    let events = PassEvents { radius: number(&d["radius"]) + number(&d["altitude_event"]) };
    let (field, until) = (Pass::new(d), number(&d["t_end"]));
    let watch = Watch::none();
    let first = gauss::integrate(&field, start, until, 1e-14, &events, &watch).expect("a trajectory");
    let second = explicit::integrate(&field, start, until, 1e-14, &events, &watch).expect("a trajectory");
    for ((path, met), times) in [(first, 1e-6), (second, 1e-5)] {
        assert!(off(&path.end(), &all["aeropass"]["lanes"][0]).0 < 1e-3);
        let wanted = all["aeropass"]["events"][0].as_array().expect("events");
        assert_eq!(met.len(), wanted.len());
        for (found, wanted) in met.iter().zip(wanted) {
            assert!((found.point.time - number(&wanted[1])).abs() < times, "{found:?} {wanted}");
            assert_eq!(found.rising, wanted[2] == "up");
        }
    }
}

/// A point mass, alone.
struct Kepler;

impl Field<3> for Kepler {
    type Prepared<L: Lane> = ();
    fn prepare<L: Lane>(&self, _time: L) {}
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 3], _v: &[L; 3]) -> [L; 3] {
        let square = x[0].mul_add(x[0], x[1].mul_add(x[1], x[2] * x[2]));
        let k = L::splat(-1.0) / (square * square.sqrt());
        [k * x[0], k * x[1], k * x[2]]
    }
}

/// A guidance law flies hundreds of stretches of some seconds: each must not begin with small steps that only grow.
///
/// A low orbit in units of its radius: a twentieth of a turn is one step of the some five that a turn takes, and so is any stretch of a force
/// that stays the same. Evaluations: two for the first step, and what the iteration needs; with a contraction of e⁻² or better from a straight line, 14
/// nats to the hundredth of 1e-10 at most 14 of them.
#[test]
fn a_short_stretch_is_one_step() {
    let watch = Watch::none();
    let start = Point { time: 0.0, position: [1.0, 0.0, 0.0], velocity: [0.0, 1.0, 0.0] };
    let turn = std::f64::consts::TAU;
    let path = gauss::integrate(&Kepler, start, turn / 20.0, 1e-10, &NoEvents, &watch).expect("a trajectory").0;
    assert_eq!((path.work().steps, path.work().refused), (1, 0));
    assert!(path.work().evaluations <= 14, "{:?}", path.work());
    let end = path.end();
    assert!((end.position[0] - (turn / 20.0).cos()).abs() < 1e-10, "{end:?}");
    let turn = gauss::integrate(&Kepler, start, turn, 1e-10, &NoEvents, &watch).expect("a trajectory").0;
    assert!(turn.work().steps <= 7 && turn.work().refused == 0, "{:?}", turn.work());
}

/// The closed form knows the whole orbit, so that the polynomials are held to it between the steps' ends too. At the ends: a tolerance of 1e-13 a
/// step, some 20 steps a turn, errors of the period that grow with the square of the turns, so 1e-11. Within a step the polynomial is of order 8: its last
/// coefficient is (1e-13)^(7/16) = 2e-6 of the whole, the next a tenth of that, times the square of the step (below 1/10 of a turn's) and
/// the integral of the polynomial that vanishes at the nodes (1e-3): 1e-9.
#[test]
fn between_the_steps_the_orbit_is_kepler_s() {
    let start = State::new(Vec3::new(0.4, 0.0, 0.1), Vec3::new(0.0, 1.9, 0.2));
    let point = Point { time: 0.0, position: start.position.into(), velocity: start.velocity.into() };
    let watch = Watch::none();
    let off = |there: &Point<3>| {
        let exact = propagate(1.0, &start, there.time).expect("a conic");
        (Vec3::from(there.position) - exact.position).norm() / exact.position.norm()
    };
    for path in [
        gauss::integrate(&Kepler, point, 9.0, 1e-13, &NoEvents, &watch).expect("a trajectory").0,
        explicit::integrate(&Kepler, point, 9.0, 1e-13, &NoEvents, &watch).expect("a trajectory").0,
    ] {
        for piece in path.pieces() {
            assert!(off(&piece.start) < 1e-11, "{}: {}", piece.start.time, off(&piece.start));
        }
        for k in 0..=400 {
            let there = path.at(9.0 * f64::from(k) / 400.0);
            assert!(off(&there) < 1e-9, "{}: {}", there.time, off(&there));
            let kept = energy(1.0, &State::new(there.position.into(), there.velocity.into())) - energy(1.0, &start);
            assert!(kept.abs() < 1e-8, "{}: {kept}", there.time);
        }
    }
}

/// The error of collocation of order 16 falls with the tolerance about in proportion, as the one rule for the step promises: a thousandth of
/// the tolerance leaves less than a thirtieth of the error.
#[test]
fn the_error_follows_the_tolerance() {
    let start = State::new(Vec3::new(0.4, 0.0, 0.1), Vec3::new(0.0, 1.9, 0.2));
    let point = Point { time: 0.0, position: start.position.into(), velocity: start.velocity.into() };
    let exact = propagate(1.0, &start, 50.0).expect("a conic");
    let mut before = f64::INFINITY;
    for tolerance in [1e-6, 1e-9, 1e-12] {
        let path =
            gauss::integrate(&Kepler, point, 50.0, tolerance, &NoEvents, &Watch::none()).expect("a trajectory").0;
        let error = (Vec3::from(path.end().position) - exact.position).norm();
        assert!(error < before / 30.0 && error < 1e3 * tolerance.max(1e-13) * 50.0, "{tolerance}: {error}");
        before = error;
    }
}

/// Mass that runs out beside the motion: a rider of the first order.
struct Rocket;

impl Field<2> for Rocket {
    type Prepared<L: Lane> = ();
    const LEADING: usize = 1;
    fn prepare<L: Lane>(&self, _time: L) {}
    fn acceleration<L: Lane>(&self, (): &(), _time: L, _x: &[L; 2], v: &[L; 2]) -> [L; 2] {
        // Thrust 3000 N, exhaust 3 km/s, so 1 kg/s.
        [L::splat(3000.0) / v[1], L::splat(-1.0)]
    }
}

struct Empty;

impl Events<2, 1> for Empty {
    fn watched(&self) -> [Watched; 1] {
        [Watched::ending(Crossing::Falling)]
    }
    fn values<L: Lane>(&self, _time: L, _x: &[L; 2], v: &[L; 2]) -> [L; 1] {
        [v[1] - 400.0]
    }
}

/// Against the rocket equation, with the burn ended by the mass that is left. The collocation settles the event by a step of its own, so that what the
/// tolerance allows is left: some ten steps of 1e-12 of 3 km/s. The explicit pair ends on its dense output, of order 7: 1e-8 of it.
#[test]
fn a_rider_and_an_event_that_ends() {
    let start = Point { time: 5.0, position: [0.0, 0.0], velocity: [0.0, 1000.0] };
    let watch = Watch::none();
    for ((path, met), bound) in [
        (gauss::integrate(&Rocket, start, 900.0, 1e-12, &Empty, &watch).expect("a trajectory"), 3e-8),
        (explicit::integrate(&Rocket, start, 900.0, 1e-12, &Empty, &watch).expect("a trajectory"), 3e-5),
    ] {
        assert_eq!(met.len(), 1);
        let end = path.end();
        assert!((end.time - 605.0).abs() < 1e-6 && (end.velocity[1] - 400.0).abs() < 1e-6, "{end:?}");
        assert!((end.velocity[0] - 3000.0 * 2.5_f64.ln()).abs() < bound, "{end:?}");
        assert_eq!(path.at(1e9), end);
    }
}

/// A force with a kink at x = 1.
struct Kink;

impl Field<1> for Kink {
    type Prepared<L: Lane> = ();
    fn prepare<L: Lane>(&self, _time: L) {}
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 1], _v: &[L; 1]) -> [L; 1] {
        [-(x[0] - 1.0).abs()]
    }
}

/// Fall into the centre: the force tends to infinity, and neither method may answer a number that is none, nor go on for ever.
#[test]
fn what_cannot_be_followed_is_refused() {
    let watch = Watch::none();
    let fall = Point { time: 0.0, position: [1.0, 0.0, 0.0], velocity: [0.0; 3] };
    for end in [
        gauss::integrate(&Kepler, fall, 5.0, 1e-12, &NoEvents, &watch).map(|found| found.0.end()),
        explicit::integrate(&Kepler, fall, 5.0, 1e-12, &NoEvents, &watch).map(|found| found.0.end()),
    ] {
        assert!(
            matches!(end, Err(IntegrationError::Vanishing { time } | IntegrationError::NotFinite { time }) if time < 1.2),
            "{end:?}"
        );
    }
    let bad = Point { time: 0.0, position: [f64::NAN, 0.0, 0.0], velocity: [0.0; 3] };
    assert!(gauss::integrate(&Kepler, bad, 5.0, 1e-12, &NoEvents, &watch).is_err());
    assert!(explicit::integrate(&Kepler, bad, 5.0, 1e-12, &NoEvents, &watch).is_err());
    let ask = || true;
    let start = Point { position: [1.0, 0.0, 0.0], velocity: [0.0, 1.0, 0.0], ..fall };
    let stopped = gauss::integrate(&Kepler, start, 5.0, 1e-12, &NoEvents, &Watch::new(&ask));
    assert_eq!(stopped.map(|found| found.0.end()), Err(IntegrationError::Interrupted));
    // A kink is followed by the explicit pair, from x = 3 to where the closed form (a cosine, then an exponential) says.
    let start = Point { time: 0.0, position: [3.0], velocity: [0.0] };
    let path = explicit::integrate(&Kink, start, 2.0, 1e-12, &NoEvents, &watch).expect("a trajectory").0;
    let quarter = std::f64::consts::FRAC_PI_2;
    let expected = 1.0 - 2.0 * (2.0 - quarter).sinh();
    assert!((path.end().position[0] - expected).abs() < 1e-9, "{:?} {expected}", path.end());
}
