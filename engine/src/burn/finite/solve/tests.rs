//! What solved burns do, beside their impulses and their closed forms.

use super::*;
use crate::burn::finite::{Phase, estimate};
use crate::conic::Elements;

const GM: f64 = 3.986_004_418e14;
const RADIUS: f64 = 6_678_137.0;

fn circular() -> State {
    State::new([RADIUS, 0.0, 0.0].into(), [0.0, (GM / RADIUS).sqrt(), 0.0].into())
}

/// Of this thrust over weight at the start, at an impulse of 450 s.
fn supply(ratio: f64) -> Supply {
    let phase = Phase {
        thrust: 1e4 * 9.80665 * ratio,
        exit_area: 0.0,
        exhaust_speed: 450.0 * 9.80665,
        mass: 1e4,
        propellant: 9000.0,
    };
    Supply::new(vec![phase]).unwrap()
}

fn departure(c3: f64) -> Impulse {
    let before = circular();
    let speed = (c3 + 2.0 * GM / RADIUS).sqrt();
    Impulse { before, dv: Vec3::new(0.0, speed - before.speed(), 0.0) }
}

fn solved(impulse: &Impulse, ratio: f64, law: Law) -> FiniteBurn {
    let around = Surroundings::point(GM);
    solve(&around, impulse, &supply(ratio), law, 6.4e6, &Watch::none()).unwrap()
}

#[test]
fn a_turning_burn_is_afterwards_where_the_impulse_would_be() {
    let impulse = departure(1e7);
    let burn = solved(&impulse, 0.5, Law::Turning);
    let late = 5e4;
    let craft = propagate(GM, &burn.end_state(), late - burn.end()).unwrap();
    let plan = propagate(GM, &impulse.after(), late).unwrap();
    // 1e-9 of the distance and speed at the burn, ten times as far away.
    assert!((craft.position - plan.position).norm() < 50.0 * MET * plan.radius());
    assert!((craft.velocity - plan.velocity).norm() < 50.0 * MET * impulse.after().speed());
    assert!(burn.loss() > 0.0);
}

#[test]
fn a_fixed_direction_meets_the_asymptote_with_a_loss_like_the_estimate() {
    let impulse = departure(1e7);
    let burn = solved(&impulse, 0.5, Law::Fixed);
    let wanted = hyperbola::outgoing(GM, &impulse.after()).unwrap().v_infinity;
    let got = hyperbola::outgoing(GM, &burn.end_state()).unwrap().v_infinity;
    assert!((got - wanted).norm() < 3.0 * MET * impulse.after().speed());
    let estimate = estimate::centred_loss(GM, RADIUS, impulse.size(), burn.duration).unwrap();
    // The estimate is the first term in the square of the arc, of 0.6 rad here.
    assert!((burn.loss() / estimate - 1.0).abs() < 0.5, "{} {estimate}", burn.loss());
    // No neighbouring start is cheaper.
    let around = Surroundings::point(GM);
    let (supply, watch) = (supply(0.5), Watch::none());
    let problem = Problem::new(&around, &impulse, &supply, Law::Fixed, &watch).unwrap();
    for by in [-0.02, 0.02] {
        let mut guess = problem.guess();
        guess[0] = burn.start / problem.time + by;
        let other = problem.solved(&guess, &[false, true, true, true]).unwrap();
        assert!(other.dv > burn.dv);
    }
}

#[test]
fn losses_fall_with_the_square_of_the_time() {
    for law in [Law::Turning, Law::Fixed, Law::Along] {
        let impulse = departure(1e7);
        let (slow, fast) = (solved(&impulse, 2.0, law), solved(&impulse, 8.0, law));
        let order = (slow.loss() / fast.loss()).log(slow.duration / fast.duration);
        assert!((order - 2.0).abs() < 0.05, "{law:?} {order}");
    }
}

#[test]
fn along_the_velocity_keeps_energy_and_asymptote() {
    let impulse = departure(1e7);
    // The weakest of them takes half as much again as the impulse.
    for ratio in [0.3, 0.1, 0.05] {
        let burn = solved(&impulse, ratio, Law::Along);
        assert!((energy(GM, &burn.end_state()) / 5e6 - 1.0).abs() < 1e-8);
        assert!(burn.misfit < 1e-4, "{}", burn.misfit);
    }
}

#[test]
fn a_capture_lands_on_its_orbit() {
    // From a hyperbola into 300 by 20 000 km, at the common periapsis.
    let before = departure(1e7).after();
    let apoapsis = 2.6378137e7;
    let speed = (2.0 * GM * apoapsis / (RADIUS * (RADIUS + apoapsis))).sqrt();
    let impulse = Impulse { before, dv: Vec3::new(0.0, speed - before.speed(), 0.0) };
    for law in [Law::Fixed, Law::Turning] {
        let burn = solved(&impulse, 0.4, law);
        let (got, wanted) =
            (Elements::from_state(GM, &burn.end_state()).unwrap(), Elements::from_state(GM, &impulse.after()).unwrap());
        assert!((got.semi_major_axis() / wanted.semi_major_axis() - 1.0).abs() < 1e-7);
        // A fixed direction leaves a tenth of a metre a second in the shape, of 8 km/s.
        let shape = if law == Law::Turning { 1e-7 } else { 1e-4 };
        assert!((got.eccentricity - wanted.eccentricity).abs() < shape);
    }
    let along = solved(&impulse, 0.4, Law::Along);
    assert!((energy(GM, &along.end_state()) / energy(GM, &impulse.after()) - 1.0).abs() < 1e-6);
}

#[test]
fn a_circle_with_a_turn_of_its_plane_is_reached() {
    let apoapsis = 4.2164e7;
    let speed = (2.0 * GM * RADIUS / (apoapsis * (RADIUS + apoapsis))).sqrt();
    let circle = (GM / apoapsis).sqrt();
    let before = State::new([apoapsis, 0.0, 0.0].into(), [0.0, speed * 0.88, speed * 0.475].into());
    let impulse = Impulse { before, dv: Vec3::new(0.0, circle, 0.0) - before.velocity };
    let burn = solved(&impulse, 0.1, Law::Turning);
    let got = Elements::from_state(GM, &burn.end_state()).unwrap();
    assert!(got.eccentricity < 1e-7, "{got:?}");
}

#[test]
fn refuses_what_cannot_be_flown() {
    let around = Surroundings::point(GM);
    let impulse = departure(1e7);
    let solve = |impulse: &Impulse, supply: &Supply, law| solve(&around, impulse, supply, law, RADIUS, &Watch::none());
    let nothing = Impulse { dv: Vec3::zeros(), ..impulse };
    assert!(matches!(solve(&nothing, &supply(0.5), Law::Fixed), Err(FiniteError::Burn(_))));
    let much = Impulse { dv: impulse.dv * 10.0, ..impulse };
    assert!(matches!(solve(&much, &supply(0.5), Law::Fixed), Err(FiniteError::NotEnough { .. })));
    let across = Impulse { dv: Vec3::new(0.0, 0.0, 100.0), ..impulse };
    assert!(matches!(solve(&across, &supply(0.5), Law::Along), Err(FiniteError::NotAlong { .. })));
    // Half a turn of steering is no match for the impulse.
    let slow = solve(&impulse, &supply(0.03), Law::Turning);
    assert!(matches!(slow, Err(FiniteError::NotMet { .. })), "{slow:?}");
    let down = Impulse { dv: Vec3::new(-1500.0, 0.0, 0.0), ..impulse };
    let through = solve(&down, &supply(0.5), Law::Turning);
    assert!(matches!(through, Err(FiniteError::EntersTheGround { .. })), "{through:?}");
}
