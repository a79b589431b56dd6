//! Windows where the answer is known in closed form, and where a prototype of the invented system's mission knows it.

use std::f64::consts::{PI, TAU};
use visviva_engine::arc::{ArrivalOrbit, Rank, WindowOptions, Windows, windows};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::time::Epoch;

const DAY: f64 = 86_400.0;

/// Two planets on circles in one plane, so light that their own pull does not show in twelve digits.
const CIRCLES: &str = r#"
name = "circles"
epoch = "2140-01-01T00:00:00 TDB"

[[body]]
name = "Star"
about = "one Sun"
gm = "1.3271244e11 km^3/s^2"
radius = "696000 km"
spin = { period = "25 d", pole = { right_ascension = "270 deg", declination = "90 deg" }, meridian = "0 deg" }

[[body]]
name = "Inner"
parent = "Star"
about = "a pebble"
gm = "0.01 km^3/s^2"
radius = "1 km"
orbit = { plane = "reference", semi_major_axis = "1 au", eccentricity = 0.0, inclination = "0 deg", ascending_node = "0 deg", argument_of_periapsis = "0 deg", mean_anomaly = "10 deg" }
spin = { period = "1 d", pole = { right_ascension = "270 deg", declination = "90 deg" }, meridian = "0 deg" }

[[body]]
name = "Outer"
parent = "Star"
about = "a pebble"
gm = "0.01 km^3/s^2"
radius = "1 km"
orbit = { plane = "reference", semi_major_axis = "OUTER au", eccentricity = 0.0, inclination = "0 deg", ascending_node = "0 deg", argument_of_periapsis = "0 deg", mean_anomaly = "100 deg" }
spin = { period = "1 d", pole = { right_ascension = "270 deg", declination = "90 deg" }, meridian = "0 deg" }
"#;

fn epoch(text: &str) -> Epoch {
    Epoch::parse(text).expect("a date")
}

/// [Curtis2014], section 8.3: the phase of Hohmann's transfer, and the excess speeds at its ends.
#[test]
fn between_circles_the_search_finds_the_hohmann_transfer() {
    for ratio in [1.524, 5.0] {
        let text = CIRCLES.replace("OUTER", &ratio.to_string());
        let system = System::parse(&text, "circles").expect("a system");
        let (inner, outer) = (system.body("Inner").expect("a body"), system.body("Outer").expect("a body"));
        let gm = system.root().gm();
        let au = 149_597_870_700.0;
        let (r1, r2) = (au, au * ratio);
        let rate = |r: f64| (gm / r.powi(3)).sqrt();
        let synodic = TAU / (rate(r1) - rate(r2));
        let begin = epoch("2140-01-01T00:00:00 TDB");
        let mut options = WindowOptions::new((begin, begin.after(3.2 * synodic)), 1e3);
        options.rank = Some(Rank::Excess { arrival_weight: 1.0 });
        options.shoot = false;
        let found = windows(&inner, &outer, &options, &Watch::none()).expect("a search");
        let mut inside: Vec<_> = found.list.iter().filter(|w| w.on_bound == [false, false]).collect();
        inside.sort_by_key(|window| window.dates.0);
        assert!(inside.len() >= 3, "{ratio}: {}", found.list.len());
        // Hohmann's excess speeds at both ends.
        let half = 0.5 * (r1 + r2);
        let leaving = (gm * (2.0 / r1 - 1.0 / half)).sqrt() - (gm / r1).sqrt();
        let arriving = (gm / r2).sqrt() - (gm * (2.0 / r2 - 1.0 / half)).sqrt();
        let phase = PI * (1.0 - (0.5 * (1.0 + 1.0 / ratio)).powf(1.5));
        for window in &inside {
            // The cost is second order in the dates' error, so its digits are those of the arc: 1e-9, ten times Lambert's worst here.
            assert!((window.cost / (leaving + arriving) - 1.0).abs() < 1e-9, "{ratio}: {}", window.cost);
            // The dates come from differences over a fiftieth of a step h: their error is about h² f'''/f'' ≈ h²/L with L a tenth of a
            // revolution, seconds; the phase moves a turn in a synodic period: below 1e-5 rad.
            let got = window.phase_angle.expect("siblings have a phase");
            assert!((got - phase).abs() < 1e-5, "{ratio}: {} against {}", got.to_degrees(), phase.to_degrees());
            let half_time = PI * (half.powi(3) / gm).sqrt();
            assert!((window.dates.1.seconds_since(window.dates.0) / half_time - 1.0).abs() < 1e-5);
        }
        for pair in inside.windows(2) {
            let spacing = pair[1].dates.0.seconds_since(pair[0].dates.0);
            assert!((spacing / synodic - 1.0).abs() < 1e-5, "{ratio}: {spacing} of {synodic}");
        }
        // The 96° of common practice, no source, for a ratio of 5.
        if ratio == 5.0 {
            assert_eq!(phase.to_degrees().round(), 96.0);
        }
    }
}

fn velm_search(from: &str, to: &str, weight: f64) -> Windows {
    let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system");
    let body = |name: &str| system.body(name).expect("a body");
    let between = (epoch("2140-01-01T00:00:00 TDB"), epoch("2145-12-31T00:00:00 TDB"));
    let mut options = WindowOptions::new(between, 0.1 * body(from).radius());
    options.rank = Some(Rank::Excess { arrival_weight: weight });
    options.shoot = false;
    windows(&body(from), &body(to), &options, &Watch::none()).expect("a search")
}

/// The numbers of our own numerical prototype of the mission, printed to a day and to 0.01 km/s.
#[test]
fn windows_of_the_invented_system_are_those_of_its_prototype() {
    let expected = [
        ("Veyra", "Oru", 0.5, [("2141-08-22", 2.60, 2.97), ("2144-04-12", 2.81, 2.84)]),
        ("Oru", "Veyra", 0.2, [("2141-11-07", 2.87, 2.71), ("2144-06-22", 3.08, 2.57)]),
    ];
    for (from, to, weight, windows) in expected {
        let found = velm_search(from, to, weight);
        for (date, leaving, arriving) in windows {
            let day = epoch(&format!("{date}T12:00:00 TDB"));
            let near = found.list.iter().find(|w| w.dates.0.seconds_since(day).abs() <= 1.0 * DAY);
            let window = near.unwrap_or_else(|| panic!("no window on {date}"));
            let estimate = window.estimate;
            let off = |got: Option<f64>, printed: f64| (got.expect("a hyperbola") / 1e3 - printed).abs();
            // Half a unit of the last printed digit, and as much for a date that the prototype's scan took in whole days.
            assert!(off(estimate.v_inf_depart, leaving) < 0.01, "{date}: {estimate:?}");
            assert!(off(estimate.v_inf_arrive, arriving) < 0.01, "{date}: {estimate:?}");
        }
    }
}

/// Every burn, flown through all patches of the model, comes to the periapsis it was planned for within the metre that shooting
/// promises (the aim's metre is less than one at periapsis), at the time of the plan within its millisecond; the arc centre to centre
/// does not.
fn flown_as_planned(found: &Windows) {
    assert!(!found.list.is_empty());
    for window in &found.list {
        let flown = window.flown.unwrap_or_else(|| panic!("not flown: {}", window.why));
        assert!(flown.periapsis_miss.abs() < 1.0, "{:?}", window.flown);
        assert!(flown.arrive.seconds_since(window.arrive).abs() < 1e-3, "{:?}", window.flown);
        assert!((flown.dv - window.burn.size()).abs() < 1e-6);
        assert!(window.estimate.periapsis_miss.abs() > 1e3);
    }
}

/// Between a planet and its moon, up and down, and between moons.
#[test]
fn moons_are_reached_from_their_planet_and_from_each_other() {
    let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system");
    let body = |name: &str| system.body(name).expect("a body");
    let begin = epoch("2141-01-01T00:00:00 TDB");
    for (from, to, parking, arrival, days) in [
        ("Oru", "Maren", 46e6, 450e3, 12.0),
        ("Maren", "Oru", 450e3, 46e6, 12.0),
        ("Cinnor", "Keld", 300e3, 500e3, 12.0),
    ] {
        let mut options = WindowOptions::new((begin, begin.after(days * DAY)), parking);
        options.arrival = Some(ArrivalOrbit::Circular { altitude: arrival });
        let found = windows(&body(from), &body(to), &options, &Watch::none()).expect("a search");
        flown_as_planned(&found);
        let best = &found.list[0];
        // Hohmann's transfer between circles at the two distances, nothing below it: the excess speed at a moon of nearly
        // circular orbit, within the eccentricities (0.006 at most) of the speeds there.
        let oru = body("Oru").gm();
        let distance = |name: &str, altitude: f64| match name {
            "Oru" => body("Oru").radius() + altitude,
            name => body(name).semi_major_axis().expect("a moon"),
        };
        let (r1, r2) = (distance(from, parking), distance(to, arrival));
        let at = |r: f64, other: f64| ((2.0 * oru * other / (r * (r + other))).sqrt() - (oru / r).sqrt()).abs();
        if from != "Oru" {
            let excess = best.estimate.v_inf_depart.expect("a hyperbola");
            assert!((excess / at(r1, r2) - 1.0).abs() < 0.03, "{from} {excess} {}", at(r1, r2));
        }
        if to != "Oru" {
            let excess = best.estimate.v_inf_arrive.expect("a hyperbola");
            assert!((excess / at(r2, r1) - 1.0).abs() < 0.03, "{to} {excess} {}", at(r2, r1));
        }
    }
}

/// A body that cannot hold an orbit is refused with the reason.
#[test]
fn a_moon_whose_sphere_lies_below_its_ground_is_refused() {
    let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system");
    let begin = epoch("2141-01-01T00:00:00 TDB");
    let options = WindowOptions::new((begin, begin.after(10.0 * DAY)), 180e3);
    let body = |name: &str| system.body(name).expect("a body");
    let refused = windows(&body("Veyra"), &body("Uldre"), &options, &Watch::none()).expect_err("no sphere");
    assert!(refused.to_string().contains("sphere of influence"), "{refused}");
}

/// There and back without moon assists: the whole chain of hyperbolas closes, and the costs are those of the depth of each field.
#[test]
fn maren_is_reached_and_left_through_its_planet() {
    let system = System::embedded("velm", EphemerisChoice::Default).expect("the embedded system");
    let (veyra, maren) = (system.body("Veyra").expect("a body"), system.body("Maren").expect("a body"));
    let out = WindowOptions {
        arrival: Some(ArrivalOrbit::Circular { altitude: 450e3 }),
        ..WindowOptions::new((epoch("2141-06-01T00:00:00 TDB"), epoch("2141-10-31T00:00:00 TDB")), 180e3)
    };
    let found = windows(&veyra, &maren, &out, &Watch::none()).expect("a search");
    flown_as_planned(&found);
    let best = found.list.first().expect("a window");
    let inward = best.arc.inward.first().expect("a hyperbola about Oru");
    // At Maren's distance from Oru the speed follows from the energy, whatever the direction.
    let speed = inward.state.velocity.norm();
    let expected = (inward.v_infinity.norm_squared()
        + 2.0 * system.body("Oru").expect("a body").gm() / inward.state.position.norm())
    .sqrt();
    assert!((speed / expected - 1.0).abs() < 1e-12);
    // No less than overtaking Maren along its own way, no more than meeting it at a right angle.
    let orbital = maren.state(inward.epoch).expect("a state").velocity.norm();
    let excess = inward.v_infinity_moon.norm();
    assert!(excess > speed - orbital - 1.0 && excess < speed.hypot(orbital), "{excess}");
    assert!(best.dv_total < 5.5e3, "{}", best.dv_total);
    // The way home: the hour of Maren's month decides.
    let back = WindowOptions::new((epoch("2144-05-01T00:00:00 TDB"), epoch("2144-08-31T00:00:00 TDB")), 450e3);
    let found = windows(&maren, &veyra, &back, &Watch::none()).expect("a search");
    flown_as_planned(&found);
    let best = found.list.first().expect("a window");
    // The prototype's escape: 2.493 km/s from 450 km, v-infinity 3.519 km/s, on the one date it tried; the search must do no worse.
    assert!(best.dv_departure < 2.493e3, "{}", best.dv_departure);
    let month = 9.3365 * DAY;
    let cost_at = |leave: Epoch| {
        let flight = best.dates.1.seconds_since(leave);
        let mut options = WindowOptions::new((leave, leave), 450e3);
        options.flight_time = Some((flight, flight));
        options.shoot = false;
        let found = windows(&maren, &veyra, &options, &Watch::none()).expect("a search");
        found.list.first().map(|window| window.dv_departure)
    };
    let late = cost_at(best.dates.0.after(0.25 * month)).expect("an arc");
    assert!(late > 2.0 * best.dv_departure, "a quarter of a month late costs {late} m/s");
}

/// Whole revolutions: the same families in another way round. Between circles the cost of an arc is that of its ellipse, so a tangent
/// ellipse flown once more round costs what Hohmann's does, a period of it later.
#[test]
fn once_more_round_the_hohmann_ellipse_costs_the_same() {
    let ratio = 1.524;
    let text = CIRCLES.replace("OUTER", &ratio.to_string());
    let system = System::parse(&text, "circles").expect("a system");
    let (inner, outer) = (system.body("Inner").expect("a body"), system.body("Outer").expect("a body"));
    let gm = system.root().gm();
    let (r1, r2) = (149_597_870_700.0, 149_597_870_700.0 * ratio);
    let half: f64 = 0.5 * (r1 + r2);
    let period = TAU * (half.powi(3) / gm).sqrt();
    let rate = |r: f64| (gm / r.powi(3)).sqrt();
    let synodic = TAU / (rate(r1) - rate(r2));
    let begin = epoch("2140-01-01T00:00:00 TDB");
    let mut options = WindowOptions::new((begin, begin.after(2.2 * synodic)), 1e3);
    options.rank = Some(Rank::Excess { arrival_weight: 1.0 });
    options.shoot = false;
    options.revolutions = 1;
    let found = windows(&inner, &outer, &options, &Watch::none()).expect("a search");
    let leaving = (gm * (2.0 / r1 - 1.0 / half)).sqrt() - (gm / r1).sqrt();
    let arriving = (gm / r2).sqrt() - (gm * (2.0 / r2 - 1.0 / half)).sqrt();
    for revolutions in [0, 1] {
        let best = found.list.iter().find(|w| w.arc.family.revolutions == revolutions).expect("a window");
        // As above: second order in the dates' error, ten times Lambert's worst.
        assert!((best.cost / (leaving + arriving) - 1.0).abs() < 1e-9, "{revolutions}: {}", best.cost);
        let flight = best.dates.1.seconds_since(best.dates.0);
        assert!((flight / (period * (0.5 + f64::from(revolutions))) - 1.0).abs() < 1e-5, "{revolutions}: {flight}");
    }
    // Each one is a minimum of its own family: none on the edge where the branches meet.
    for window in &found.list {
        assert!(window.cost.is_finite() && window.arc.family.revolutions <= 1);
    }
}

/// Dates close to half a revolution, where the unbroken arc has to stand steeply: the broken plane wins there, the model flies both its
/// burns to the aim, and forbidding it leaves the dearer arcs.
#[test]
fn where_only_half_a_revolution_is_open_a_broken_plane_wins() {
    let system = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
    let (earth, mars) = (system.body("Earth").expect("a body"), system.body("Mars").expect("a body"));
    let mut options = WindowOptions::new((epoch("2028-11-28T00:00:00 TDB"), epoch("2028-12-02T00:00:00 TDB")), 300e3);
    options.arrival = Some(ArrivalOrbit::Circular { altitude: 400e3 });
    options.flight_time = Some((242.0 * DAY, 250.0 * DAY));
    let found = windows(&earth, &mars, &options, &Watch::none()).expect("a search");
    let best = &found.list[0];
    let change = best.plane_change.as_ref().expect("a broken plane");
    println!("{} {:?}", best.why, best.flown);
    let flown = best.flown.unwrap_or_else(|| panic!("{}", best.why));
    assert!(flown.periapsis_miss.abs() < 1.0, "{flown:?}");
    assert!(flown.arrive.seconds_since(best.arrive).abs() < 1e-3);
    assert!(best.cost < change.unbroken.expect("an unbroken arc"));
    assert!(change.rival.is_none_or(|rival| best.cost < rival));
    assert!(best.cost <= change.at_right_angle);
    // The feet of the asymptotes, 1e7 m each, turn into some metres a second on the way; what they add shows, and is no more.
    assert!((best.dv_total - best.cost).abs() < 30.0, "{} {}", best.dv_total, best.cost);
    options.broken_planes = false;
    let unbroken = windows(&earth, &mars, &options, &Watch::none()).expect("a search");
    assert!(unbroken.list.iter().all(|window| window.plane_change.is_none() && window.cost > best.cost));
}
