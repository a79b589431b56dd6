//! Captures that need a burn beside the moon, captures over a span of departures, and rings.

use visviva_engine::arc::assist::{Assist, AssistError, AssistOptions, Incoming, capture_by};
use visviva_engine::arc::pass_bounds::clear_of_ring;
use visviva_engine::arc::{Departures, Parking, capture_by_departing};
use visviva_engine::motion::conics::next_patch;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::{Event, Orbit};
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::vector::Vec3;

const DAY: f64 = 86_400.0;

/// Saturn, Titan, and the excess velocity of a half ellipse from Earth's circle to Saturn's.
fn saturn() -> (visviva_engine::system::Body, visviva_engine::system::Body, Vec3) {
    let sol = System::embedded("sol", EphemerisChoice::Mean).expect("a system");
    let body = |name: &str| sol.body(name).expect("a body");
    let axis = |name: &str| body(name).semi_major_axis().expect("an orbit");
    let (near, far) = (axis("Earth"), axis("Saturn"));
    let slower = (sol.root().gm() / far).sqrt() * (1.0 - (2.0 * near / (near + far)).sqrt());
    let v = -body("Saturn").state(sol.epoch()).expect("a state").velocity.normalize() * slower;
    (body("Saturn"), body("Titan"), v)
}

/// What Titan cannot do alone a burn completes; flown leg by leg it ends in the orbit that was planned.
#[test]
fn the_burn_that_completes_a_moons_capture_is_the_least_and_is_flown() {
    let (saturn, titan, v) = saturn();
    let start = saturn.system().epoch();
    let mut options = AssistOptions::new((start, start.after(titan.orbital_period().expect("a month"))));
    options.greatest_apoapsis = Some(0.3 * saturn.sphere_of_influence());
    let incoming = Incoming::Excess(v);
    let Err(AssistError::Unbound(short)) = capture_by(&saturn, &titan, &incoming, &options, &Watch::none()) else {
        panic!("captured for nothing");
    };
    options.greatest_burn = short.periapsis_burn;
    let all = capture_by(&saturn, &titan, &incoming, &options, &Watch::none()).expect("a capture");
    let best = &all[0];
    println!("without a moon {} best {}", short.periapsis_burn, best.burns());
    for found in &all {
        println!("  {:.1} m/s, at the moon {:.1}, alt {:.0}", found.burns(), found.flyby.burn, found.altitude() / 1e3);
    }
    assert!(best.burns() > 0.0 && best.burns() < short.periapsis_burn);
    for at_moon in [true, false] {
        let found = all.iter().find(|found| found.giant_burn.is_none() == at_moon);
        let Some(found) = found else { continue };
        let far = found.captured().apoapsis_radius().expect("bound");
        assert!(far <= options.greatest_apoapsis.expect("set") * (1.0 + 1e-9), "{far}");
        fly(found);
    }
    assert!(all.iter().any(|found| found.giant_burn.is_some()));
}

/// A heavy moon near the limit: a little faster than it can capture, the burn at the pass is small, and flown it captures.
#[test]
fn a_burn_at_the_moons_periapsis_closes_a_small_gap() {
    let sys = System::embedded("velm", EphemerisChoice::Default).expect("a system");
    let body = |name: &str| sys.body(name).expect("a body");
    let (oru, keld) = (body("Oru"), body("Keld"));
    let epoch = sys.epoch().after(100.0 * DAY);
    let there = keld.state(epoch).expect("there");
    let (first, along) = (there.position.normalize(), there.velocity.normalize());
    // Inward and along the motion: the relative speed is least there.
    let direction = (along * 0.8 - first * 0.6).normalize();
    let mut options = AssistOptions::new((epoch, epoch));
    let mut limit = None;
    for k in 0..60 {
        let incoming = Incoming::Excess(direction * (3000.0 + 100.0 * f64::from(k)));
        options.greatest_burn = 0.0;
        if !matches!(capture_by(&oru, &keld, &incoming, &options, &Watch::none()), Err(AssistError::Unbound(_))) {
            continue;
        }
        options.greatest_burn = 1500.0;
        let all = capture_by(&oru, &keld, &incoming, &options, &Watch::none()).unwrap_or_default();
        if let Some(found) = all.into_iter().find(|found| found.giant_burn.is_none()) {
            limit = Some(found);
            break;
        }
    }
    let found = limit.expect("a capture with a burn at the pass");
    println!("{:.1} m/s at the pass, {:.0} km up", found.burns(), found.altitude() / 1e3);
    assert!(found.flyby.burn < 0.0 && found.energy_after < 0.0);
    fly(&found);
}

/// Coasts in from ten days out, burns at the moon's periapsis and then at the giant's, and compares.
fn fly(plan: &Assist) {
    let mut now = plan.before.after(-10.0 * DAY).expect("an orbit");
    let until = plan.epoch.after(300.0 * DAY);
    let patch = next_patch(&now, until, None, &Watch::none()).expect("a flight").expect("a patch");
    now = patch.after;
    assert_eq!(now.body(), &plan.moon);
    now = now.next(Event::Periapsis).expect("a periapsis");
    assert!((now.periapsis_radius() - plan.flyby.periapsis_radius).abs() < 1.0);
    let along = now.state().velocity.normalize();
    now = now.after_impulse(along * plan.flyby.burn).expect("a burn");
    let patch = next_patch(&now, until, None, &Watch::none()).expect("a flight").expect("a patch");
    now = patch.after;
    let planned = plan.after.at(now.epoch()).expect("a state");
    let off = (planned.state().position - now.state().position).norm();
    assert!(off < 100.0, "{off} m");
    if let Some(burn) = &plan.giant_burn {
        now = now.next(Event::Periapsis).expect("a periapsis");
        let along = now.state().velocity.normalize();
        now = now.after_impulse(-along * burn.dv).expect("a burn");
        let size = |orbit: &Orbit| orbit.apoapsis_radius().expect("bound");
        assert!((size(&now) / size(&burn.after) - 1.0).abs() < 1e-6);
    }
}

/// The moon that stands right for one departure stands wrong for another: over a span the cheapest is found, and no single day is
/// cheaper than its answer.
#[test]
fn a_span_of_departures_finds_the_day_that_suits_the_moon() {
    let sys = System::embedded("velm", EphemerisChoice::Default).expect("a system");
    let body = |name: &str| sys.body(name).expect("a body");
    let (veyra, oru, keld) = (body("Veyra"), body("Oru"), body("Keld"));
    let day = |t: f64| sys.epoch().after(t * DAY);
    let options = AssistOptions::new((day(885.0), day(905.0)));
    let between = (day(560.0), day(580.0));
    let departures = Departures { body: veyra.clone(), between, parking: Parking::Altitude(180e3) };
    let found = capture_by_departing(&oru, &keld, &departures, &options, &Watch::none()).expect("captures");
    for (dv, assist) in &found {
        println!("{dv:.1} {:?} {}", assist.depart, assist.energy_after / 1e6);
        assert!(assist.burns() == 0.0 && assist.energy_after < 0.0);
    }
    let cheapest = found[0].0;
    for k in 0..=4 {
        let one = (day(560.0 + 5.0 * f64::from(k)), day(560.0 + 5.0 * f64::from(k)));
        let single = Departures { between: one, ..departures.clone() };
        if let Ok(single) = capture_by_departing(&oru, &keld, &single, &options, &Watch::none()) {
            // Looks lie a day apart, and a valley's bottom is no dearer than the look it was found by.
            assert!(cheapest <= single[0].0 + 1e-6, "{cheapest} {}", single[0].0);
        }
    }
}

/// A giant's periapsis allowed below the ring's outer edge is one thing, a path through the ring another.
#[test]
fn no_capture_leads_through_the_ring() {
    let sys = System::embedded("velm", EphemerisChoice::Default).expect("a system");
    let body = |name: &str| sys.body(name).expect("a body");
    let (oru, keld) = (body("Oru"), body("Keld"));
    let mut options = AssistOptions::new((sys.epoch(), sys.epoch().after(25.0 * DAY)));
    options.least_radius = Some(oru.radius() + 1e6);
    let mut seen = 0;
    for k in 0..8 {
        let (sine, cosine) = (f64::from(k) * 45.0).to_radians().sin_cos();
        let incoming = Incoming::Excess(Vec3::new(cosine, sine, 0.12).normalize() * 3113.0);
        for found in capture_by(&oru, &keld, &incoming, &options, &Watch::none()).into_iter().flatten() {
            let whole = (-std::f64::consts::PI, std::f64::consts::PI);
            let state = found.after.state();
            assert_eq!(clear_of_ring(&oru, found.epoch, found.after.gm(), state, whole), Ok(()));
            seen += 1;
        }
    }
    assert!(seen > 0);
}
