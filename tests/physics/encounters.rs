//! Encounters: none missed against a plain scan, in the invented system and in the Solar System; grazes, splits, returns.

use std::sync::atomic::{AtomicU32, Ordering};

use visviva_engine::conic::State;
use visviva_engine::constants::DAY;
use visviva_engine::motion::MotionError;
use visviva_engine::motion::conics::next_patch;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::{Anomaly, Event, Orbit, Placement, Shape};
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;

const NOBODY: Watch<'static> = Watch::none();

fn system(name: &str) -> System {
    System::embedded(name, EphemerisChoice::Default).expect("an embedded system")
}

/// A small generator with a fixed seed: the cases are the same in every run (Knuth's multiplier for a line of 64 bits).
struct Draws(u64);

impl Draws {
    fn next(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / 9_007_199_254_740_992.0)
    }
}

/// An orbit that comes near a body about now or later: through a place near that body's, with a velocity of its own.
fn crossing(draws: &mut Draws, child: &Body, epoch: Epoch, within: f64) -> Orbit {
    let parent = child.parent().expect("sound");
    let at = draws.next(0.0, within);
    let there = child.state(epoch.after(at)).expect("sound");
    let sphere = child.sphere_of_influence();
    let mut aside = || draws.next(-1.5 * sphere, 1.5 * sphere);
    let aside = Vec3::new(aside(), aside(), aside());
    let speed = there.velocity.norm();
    let mut change = || draws.next(-0.4 * speed, 0.4 * speed);
    let velocity = there.velocity + Vec3::new(change(), change(), change());
    let meeting = Orbit::new(parent, epoch.after(at), State::new(there.position + aside, velocity)).expect("sound");
    meeting.at(epoch).expect("sound")
}

/// All closest approaches inside the sphere by a plain scan: near the sphere the steps are a tenth of its radius.
/// Grazes shallower than the scan can tell are marked by `None`.
fn scanned(orbit: &Orbit, child: &Body, span: f64) -> Vec<Option<f64>> {
    let sphere = child.sphere_of_influence();
    let rate = |time: f64| {
        let relative = orbit.relative_to(child, time).expect("sound");
        (relative.radius(), relative.position.dot(&relative.velocity))
    };
    // Nowhere is the craft faster than at its periapsis.
    let fastest = orbit.periapsis_speed() + child.speed_bound();
    let (mut found, mut time, mut before) = (Vec::new(), 0.0, rate(0.0));
    while time < span {
        // A quarter of the way to the sphere, and near it a tenth of its radius.
        let next = time + (0.25 * (before.0 - sphere)).max(0.1 * sphere) / fastest;
        let next = next.min(span);
        let now = rate(next);
        let least = before.0.min(now.0);
        if before.1 < 0.0 && now.1 >= 0.0 && least < 1.2 * sphere {
            let depth = bisected(&rate, time, next);
            if depth.1 < sphere * (1.0 - 1e-9) {
                found.push(Some(depth.0));
            } else if depth.1 < sphere * (1.0 + 1e-9) {
                found.push(None);
            }
        }
        (time, before) = (next, now);
    }
    found
}

fn bisected(rate: &dyn Fn(f64) -> (f64, f64), mut low: f64, mut high: f64) -> (f64, f64) {
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if rate(middle).1 < 0.0 { low = middle } else { high = middle }
    }
    (high, rate(high).0)
}

/// All closest approaches that the engine finds, one after another.
fn all_found(orbit: &Orbit, child: &Body, span: f64) -> Vec<f64> {
    let (mut found, mut from) = (Vec::new(), 0.0);
    while let Some(met) = orbit.closest_between(child, (from, span), &mut false, &NOBODY).expect("sound") {
        assert!(met.time > from || found.is_empty(), "{} again at {}", child.name(), met.time);
        found.push(met.time);
        // On from there: a step in which the range rate is past its zero.
        from = met.time + 1.0;
    }
    found
}

fn none_missed(draws: &mut Draws, children: &[Body], cases: usize, epoch: Epoch, span: f64) -> usize {
    let mut met = 0;
    for case in 0..cases {
        let orbit = crossing(draws, &children[case % children.len()], epoch, span);
        if orbit.periapsis_radius() < orbit.body().radius() {
            continue;
        }
        for child in children {
            let (found, plain) = (all_found(&orbit, child, span), scanned(&orbit, child, span));
            let sure: Vec<f64> = plain.iter().filter_map(|time| *time).collect();
            // The zero of the range rate is known to the rounding of the separation over the relative acceleration.
            let near = |a: f64, b: f64| (a - b).abs() < 1.0;
            for time in &sure {
                assert!(found.iter().any(|a| near(*a, *time)), "{} {case} missed at {time}: {found:?}", child.name());
            }
            assert!(found.len() <= plain.len(), "{} {case}: {found:?} {plain:?}", child.name());
            met += sure.len();
        }
    }
    met
}

#[test]
fn none_is_missed_about_oru() {
    let velm = system("velm");
    let moons = velm.body("Oru").unwrap().children();
    let met = none_missed(&mut Draws(1), &moons, 80, velm.epoch().after(400.0 * DAY), 40.0 * DAY);
    assert!(met > 30, "too few to show anything: {met}");
}

#[test]
fn none_is_missed_about_jupiter() {
    let sol = system("sol");
    let moons = sol.body("Jupiter").unwrap().children();
    let met = none_missed(&mut Draws(2), &moons, 80, Epoch::parse("2031-01-01T00:00:00 TDB").unwrap(), 20.0 * DAY);
    assert!(met > 15, "too few to show anything: {met}");
}

#[test]
fn none_is_missed_about_the_sun() {
    let sol = system("sol");
    let planets: Vec<Body> = ["Venus", "Earth", "Mars", "Jupiter"].iter().map(|name| sol.body(name).unwrap()).collect();
    let met = none_missed(&mut Draws(3), &planets, 60, Epoch::parse("2031-01-01T00:00:00 TDB").unwrap(), 1500.0 * DAY);
    assert!(met > 15, "too few to show anything: {met}");
}

/// A pass whose closest approach lies a metre inside the edge is met, a metre outside it is not.
#[test]
fn grazing_passes_are_told_apart_to_a_metre() {
    for (name, child) in [("velm", "Keld"), ("velm", "Oru"), ("sol", "Europa"), ("sol", "Mars")] {
        let child = system(name).body(child).unwrap();
        let epoch = Epoch::parse("2033-05-01T00:00:00 TDB").unwrap();
        let wait = 3.0 * DAY;
        let there = child.state(epoch.after(wait)).unwrap();
        let velocity = there.velocity * 1.3;
        let across = there.velocity.cross(&there.position).normalize();
        for (off, inside) in [(-1.0, true), (1.0, false)] {
            // Placed out of the plane of motion, square to the relative velocity: the closest approach is there.
            let place = there.position + across * (child.sphere_of_influence() + off);
            let meeting = Orbit::new(child.parent().unwrap(), epoch.after(wait), State::new(place, velocity)).unwrap();
            let found = meeting.at(epoch).unwrap().closest_inside(&child, 2.0 * wait, false, &NOBODY).unwrap();
            assert_eq!(found.is_some(), inside, "{} {off}: {found:?}", child.name());
        }
    }
}

/// Ten years about a planet with all its moons near the path: found in reasonable time, and the same when begun anew at any
/// epoch on the way.
#[test]
fn a_search_split_anywhere_finds_the_same() {
    let velm = system("velm");
    let epoch = velm.epoch().after(400.0 * DAY);
    let mut draws = Draws(5);
    let moons = velm.body("Oru").unwrap().children();
    let mut met = 0;
    for case in 0..120 {
        let orbit = crossing(&mut draws, &moons[case % moons.len()], epoch, 30.0 * DAY);
        let whole = next_patch(&orbit, epoch.after(40.0 * DAY), None, &NOBODY).unwrap();
        let Some(whole) = whole else { continue };
        // The crossing itself is the first event: split before it, at random.
        let lead = whole.epoch.seconds_since(epoch);
        let split = epoch.after(lead * draws.next(0.0, 1.0));
        assert!(next_patch(&orbit, split, None, &NOBODY).unwrap().is_none_or(|patch| patch.epoch <= split));
        let later = orbit.at(split).unwrap();
        let again = next_patch(&later, epoch.after(40.0 * DAY), None, &NOBODY).unwrap().unwrap();
        assert_eq!(again.child(), whole.child());
        assert_eq!(again.is_outward(), whole.is_outward());
        let off = again.epoch.seconds_since(whole.epoch).abs();
        // The foot of the asymptote is off by the place's error over the relative speed: 1e9 m × 1e-12 over 1 km/s.
        assert!(off < 1e-5, "{case}: {off} {whole} {}", whole.after.energy());
        met += 1;
    }
    assert!(met > 30, "{met}");
}

#[test]
fn a_long_search_can_be_interrupted() {
    let velm = system("velm");
    let oru = velm.body("Oru").unwrap();
    let maren = velm.body("Maren").unwrap();
    let radius = maren.radial_bounds().0 * 1.001;
    let shape = Shape::Apsides { periapsis_radius: radius * 0.3, apoapsis_radius: radius * 1.2 };
    let place = Placement { inclination: 0.9, ..Placement::default() };
    let orbit = Orbit::shaped(&oru, shape, place, velm.epoch(), &oru.orbit_plane()).unwrap();
    let asked = AtomicU32::new(0);
    let ask = || asked.fetch_add(1, Ordering::Relaxed) >= 50;
    let stopped = next_patch(&orbit, velm.epoch().after(3650.0 * DAY), None, &Watch::new(&ask));
    assert_eq!(stopped, Err(MotionError::Interrupted));
    let asked = asked.load(Ordering::Relaxed);
    assert!(asked < 60, "it went on for {asked} questions");
}

/// Straight lines through the centre: every question has an answer or says that there is none.
#[test]
fn straight_lines_answer() {
    let velm = system("velm");
    let (oru, epoch) = (velm.body("Oru").unwrap(), velm.epoch());
    let up = Vec3::new(0.6, 0.48, 0.64);
    let radius = 6.0e8;
    let escape = (2.0 * oru.gm() / radius).sqrt();
    for speed in [-1.5 * escape, -escape, -0.5 * escape, 0.0, 0.5 * escape, escape, 1.5 * escape] {
        let orbit = Orbit::new(oru.clone(), epoch, State::new(up * radius, up * speed)).unwrap();
        let bound = speed.abs() < 0.9 * escape;
        assert_eq!(orbit.period().is_some(), bound, "{speed}");
        let apoapsis = orbit.time_to(Event::Apoapsis).unwrap();
        assert_eq!(apoapsis.is_some(), bound);
        if bound && speed >= 0.0 {
            // v²/2 = gm (1/r − 1/top).
            let top = 1.0 / (1.0 / radius - speed * speed / (2.0 * oru.gm()));
            assert!((orbit.apoapsis_radius().unwrap() - top).abs() < 1e-14 * top * 10.0);
            if speed > 0.0 {
                let there = orbit.next(Event::Apoapsis).unwrap();
                assert!((there.radius() - top).abs() < 1e-12 * top, "{}", there.radius());
            }
        }
        assert_eq!(orbit.time_to(Event::AscendingNode), Ok(None));
        let ground = orbit.time_to_ground().unwrap();
        assert_eq!(ground.is_some(), speed < 0.9 * escape, "{speed}");
        if let Some((time, _)) = ground {
            assert!((orbit.after(time).unwrap().radius() - oru.radius()).abs() < 1.0);
        }
        for event in [Event::Periapsis, Event::TrueAnomaly(1.0), Event::Radius(5e8), Event::Altitude(7e8)] {
            assert!(orbit.time_to(event).unwrap().is_none_or(f64::is_finite));
        }
        assert!(next_patch(&orbit, epoch.after(40.0 * DAY), None, &NOBODY).is_ok());
    }
}

/// A moon that a straight climb runs into is met.
#[test]
fn a_straight_climb_meets_the_moon_it_is_aimed_at() {
    let velm = system("velm");
    let maren = velm.body("Maren").unwrap();
    let oru = maren.parent().unwrap();
    let met_at = velm.epoch().after(500.0 * DAY);
    let there = maren.state(met_at).unwrap();
    let out = there.position.normalize();
    let speed = 0.7 * (2.0 * oru.gm() / there.radius()).sqrt();
    let meeting = Orbit::new(oru.clone(), met_at, State::new(there.position, out * speed)).unwrap();
    let passed = meeting.after(-0.5 * DAY).unwrap();
    assert!(passed.radius() > oru.radius());
    let met = passed.closest_inside(&maren, 2.0 * DAY, false, &NOBODY).unwrap().unwrap();
    assert!((met.time - 0.5 * DAY).abs() < 1e-3 && met.relative.radius() < 1.0, "{met:?}");
}

/// Near-circular, equatorial, polar and retrograde orbits: events come in turn, and at the places they name.
#[test]
fn events_on_orbits_without_node_or_apsis() {
    let velm = system("velm");
    let maren = velm.body("Maren").unwrap();
    let mut draws = Draws(9);
    for case in 0..200 {
        let eccentricity = [0.0, 1e-13, 1e-9, 1e-3, 0.3][case % 5];
        let inclination = [0.0, 1e-12, 1.0, std::f64::consts::FRAC_PI_2, 3.1, std::f64::consts::PI][case % 6];
        let shape = Shape::Periapsis { periapsis_radius: maren.radius() + 4e5, eccentricity };
        let place = Placement {
            inclination,
            ascending_node: draws.next(0.0, 6.0),
            argument_of_periapsis: draws.next(0.0, 6.0),
            anomaly: Anomaly::True(draws.next(-3.0, 3.0)),
        };
        let orbit = Orbit::shaped(&maren, shape, place, velm.epoch(), &maren.orbit_plane()).unwrap();
        let period = orbit.period().unwrap();
        for event in [Event::Periapsis, Event::Apoapsis, Event::AscendingNode, Event::DescendingNode] {
            let Some(time) = orbit.time_to(event).unwrap() else { continue };
            assert!(time > 0.0 && time <= period * (1.0 + 1e-7), "{event} {case}: {time} of {period}");
            let there = orbit.after(time).unwrap();
            let local = maren.orbit_plane().tr_mul(&there.state().position);
            if matches!(event, Event::AscendingNode | Event::DescendingNode) {
                // The node is known to the rounding of the normal over the inclination's sine.
                assert!(local.z.abs() < 1e-12 * there.radius(), "{event} {case}: {}", local.z);
            }
            // From where the event is, the next one is a period away.
            if let Some(next) = there.time_to(event).unwrap() {
                let defined =
                    if matches!(event, Event::Periapsis | Event::Apoapsis) { eccentricity } else { inclination.sin() };
                if defined > 1e-6 {
                    assert!((next / period - 1.0).abs() < 1e-7, "{event} {case}: {next} of {period}, {eccentricity}");
                }
            }
        }
    }
}
