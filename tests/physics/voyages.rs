//! Voyages: the rocket equation over many burns, branches, flybys, corrections through nested spheres, audits of real legs.

use visviva_engine::arc::shoot::{Aim, Start, shoot};
use visviva_engine::audit::{Law, Verdict};
use visviva_engine::burn::Burn;
use visviva_engine::conic::State;
use visviva_engine::constants::DAY;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;
use visviva_engine::vehicle::Vehicle;
use visviva_engine::voyage::{
    CorrectionOptions, Goal, Spacing, TEN_YEARS, Thing, TrackOptions, Voyage, angle, distance,
};

fn body(system: &str, name: &str) -> Body {
    System::embedded(system, EphemerisChoice::Default)
        .expect("an embedded system")
        .body(name)
        .expect("one of its bodies")
}

fn tug() -> Vehicle {
    Vehicle::new("tug", 1000.0, 99_000.0, 450.0, None).expect("a sound vehicle")
}

fn parked(system: &str, name: &str, epoch: Epoch) -> Voyage {
    let orbit = Orbit::circular(&body(system, name), 300e3, epoch).expect("a low orbit");
    Voyage::new("rehearsal", tug(), orbit).expect("a start above the ground")
}

const NOBODY: Watch<'static> = Watch::none();

#[test]
fn many_small_burns_cost_what_one_large_one_costs() {
    let epoch = Epoch::parse("2141-07-22T00:00:00 TDB").unwrap();
    let mut often = parked("velm", "Veyra", epoch);
    let mut once = often.clone();
    for _ in 0..100 {
        often.burn(&Burn::local(10.0, 0.0, 0.0).unwrap(), &NOBODY).unwrap();
    }
    once.burn(&Burn::local(1000.0, 0.0, 0.0).unwrap(), &NOBODY).unwrap();
    // A hundred subtractions from 1e5 kg, each rounded to half a unit in the last place, and the exponential's own rounding.
    assert!((often.mass() - once.mass()).abs() < 100.0 * 4.0 * f64::EPSILON * 1e5);
    assert_eq!(often.audit().verdict(), Verdict::Good);
}

/// Earth's parking orbit to Mars: the departure is shot in the model from a Lambert arc's v-infinity, then flown.
#[test]
fn a_departure_from_a_parking_orbit_is_shot_at_mars_and_flown() {
    let depart = Epoch::parse("2031-02-20T00:00:00 TDB").unwrap();
    let arrive = depart.after(290.0 * DAY);
    let (earth, mars) = (body("sol", "Earth"), body("sol", "Mars"));
    let (from, to) = (earth.state(depart).unwrap(), mars.state(arrive).unwrap());
    let sun = earth.parent().unwrap();
    let normal = from.position.cross(&from.velocity);
    let arc = visviva_engine::arc::lambert::solve_one(
        sun.gm(),
        &from.position,
        &to.position,
        arrive.seconds_since(depart),
        visviva_engine::arc::lambert::Way::Prograde(normal),
        0,
        visviva_engine::arc::lambert::Branch::Single,
    )
    .unwrap();
    let v_infinity = arc.v1 - from.velocity;
    // A circular orbit in the plane of v-infinity, at the place where a burn along the velocity turns into it.
    let s = v_infinity.normalize();
    let normal = s.cross(&Vec3::z()).cross(&s).normalize();
    let radius = earth.radius() + 300e3;
    let eccentricity = 1.0 + radius * v_infinity.norm_squared() / earth.gm();
    let (cosine, sine) = (-1.0 / eccentricity, (1.0 - 1.0 / eccentricity.powi(2)).sqrt());
    let across = normal.cross(&s);
    // Periapsis lies the asymptote's true anomaly behind it.
    let up = s * cosine - across * sine;
    let ahead = normal.cross(&up);
    let speed = (earth.gm() / radius).sqrt();
    let orbit = Orbit::new(earth.clone(), depart, State { position: up * radius, velocity: ahead * speed }).unwrap();
    let dv = ahead * ((v_infinity.norm_squared() + 2.0 * earth.gm() / radius).sqrt() - speed);
    let aim = Aim::BPlane { body: mars.clone(), bt: 7.0e6, br: 1.0e6, pole: None, epoch: None };
    let start = Start { dv: Some(dv), expected: Some(arrive), leaving: None };
    let shot = shoot(&orbit, &aim, &start, &NOBODY).unwrap();
    assert!(shot.residuals.iter().all(|off| off.abs() < 1.0), "{shot:?}");
    // With the arrival fixed as well it costs more than with the time left free.
    let fixed = Aim::BPlane { body: mars.clone(), bt: 7.0e6, br: 1.0e6, pole: None, epoch: Some(arrive) };
    let timed = shoot(&orbit, &fixed, &start, &NOBODY).unwrap();
    assert!(timed.flown.epoch.seconds_since(arrive).abs() < 1e-3);
    assert!(shot.dv.norm() < timed.dv.norm());
    let mut voyage = Voyage::new("out", tug(), orbit).unwrap();
    voyage.burn(&shot.burn, &NOBODY).unwrap();
    voyage.coast_to(&Goal::Arrival(mars.clone()), TEN_YEARS, &NOBODY).unwrap();
    voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &NOBODY).unwrap();
    let periapsis = voyage.orbit().state().position.norm();
    // The shot meets its aim within a metre; the periapsis radius goes with it, about one to one.
    assert!((periapsis - shot.flown.periapsis_radius()).abs() < 2.0, "{periapsis} {}", shot.flown.periapsis_radius());
    voyage.coast_to(&Goal::Departure, TEN_YEARS, &NOBODY).unwrap();
    let audit = voyage.audit();
    for entry in audit.entries() {
        assert_eq!(entry.verdict, Verdict::Good, "{entry:?}");
    }
    assert_eq!(audit.entries().iter().filter(|entry| entry.law == Law::FlybySpeed).count(), 1);
}

/// From the star's conic, a moon is aimed at through its planet's sphere.
#[test]
fn a_moon_is_aimed_at_from_outside_its_planet() {
    let oru = body("velm", "Oru");
    let maren = body("velm", "Maren");
    let arrive = Epoch::parse("2142-06-20T00:00:00 TDB").unwrap();
    let there = oru.state(arrive).unwrap();
    let across = there.velocity.cross(&Vec3::z()).normalize();
    let meeting =
        State { position: there.position + across * 1.5e9, velocity: there.velocity * 0.9 + Vec3::z() * 300.0 };
    let orbit = Orbit::new(oru.parent().unwrap(), arrive, meeting).unwrap().after(-100.0 * DAY).unwrap();
    let mut voyage = Voyage::new("nested", tug(), orbit).unwrap();
    let radius = maren.radius() + 400e3;
    let aim = Aim::Periapsis { body: maren.clone(), radius, inclination: None, epoch: None };
    let options = CorrectionOptions { expected: Some(arrive), ..CorrectionOptions::default() };
    let shot = voyage.correct(&aim, &options, &NOBODY).unwrap().unwrap();
    voyage.coast_to(&Goal::Arrival(maren.clone()), TEN_YEARS, &NOBODY).unwrap();
    voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &NOBODY).unwrap();
    let off = voyage.orbit().state().position.norm() - radius;
    assert!(off.abs() < 2.0, "{off} {shot:?}");
    assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
}

#[test]
fn a_track_keeps_its_chord_error_and_holds_every_event() {
    let epoch = Epoch::parse("2141-07-22T00:00:00 TDB").unwrap();
    let mut voyage = parked("velm", "Maren", epoch);
    voyage.coast(2000.0, &NOBODY).unwrap();
    voyage.burn(&Burn::local(300.0, 0.0, 0.0).unwrap(), &NOBODY).unwrap();
    voyage.coast(20_000.0, &NOBODY).unwrap();
    let error = 1e3;
    let options = TrackOptions { spacing: Spacing::Error(error), ..TrackOptions::default() };
    let track = voyage.track(&options, &NOBODY).unwrap();
    for pair in track.points.windows(2) {
        let time = pair[1].epoch.seconds_since(pair[0].epoch);
        for part in [0.125, 0.5, 0.8] {
            let here = voyage.at(pair[0].epoch.after(part * time)).unwrap().state().position;
            let (a, b) = (pair[0].state.position, pair[1].state.position);
            let chord = b - a;
            if chord.norm() == 0.0 {
                continue;
            }
            let off = (here - a) - chord * ((here - a).dot(&chord) / chord.norm_squared());
            assert!(off.norm() < error * 1.01, "{}", off.norm());
        }
    }
    let events: Vec<&str> =
        track.points.iter().map(|point| point.event.as_str()).filter(|event| !event.is_empty()).collect();
    assert_eq!(events, ["start of coast", "end of coast", "before burn", "burn", "start of coast", "end of coast"]);
    assert_eq!(track.points.last().unwrap().epoch, voyage.epoch());
    // Seen from the planet, the moon's own motion is in it.
    let about = TrackOptions { about: Some(body("velm", "Oru")), ..TrackOptions::default() };
    let far = voyage.track(&about, &NOBODY).unwrap();
    let moon = body("velm", "Maren").state(far.points[0].epoch).unwrap();
    let offset = far.points[0].state.position - moon.position;
    assert!((offset.norm() - voyage.start().state().position.norm()).abs() < 1e-3);
    let counted = TrackOptions { spacing: Spacing::Count(11), ..TrackOptions::default() };
    assert_eq!(voyage.track(&counted, &NOBODY).unwrap().points.len(), 11 + 2 + 11);
    assert!(voyage.track(&TrackOptions { spacing: Spacing::Step(-1.0), ..options.clone() }, &NOBODY).is_err());
    assert!(voyage.track(&TrackOptions { spacing: Spacing::Step(1e-9), ..options }, &NOBODY).is_err());
}

#[test]
fn distances_and_angles_between_bodies_and_craft() {
    let epoch = Epoch::parse("2141-07-22T00:00:00 TDB").unwrap();
    let (veyra, oru, star) = (body("velm", "Veyra"), body("velm", "Oru"), body("velm", "Veyra").parent().unwrap());
    let (a, b, s) = (Thing::Body(&veyra), Thing::Body(&oru), Thing::Body(&star));
    // The law of cosines closes the triangle.
    let (x, y, z) =
        (distance(&s, &a, epoch).unwrap(), distance(&s, &b, epoch).unwrap(), distance(&a, &b, epoch).unwrap());
    let turn = angle(&a, &s, &b, epoch).unwrap();
    assert!((z * z - (x * x + y * y - 2.0 * x * y * turn.cos())).abs() < 1e-14 * (x + y).powi(2));
    let voyage = parked("velm", "Veyra", epoch);
    let craft = Thing::Voyage(&voyage);
    let height = distance(&a, &craft, epoch).unwrap();
    // No digits are lost to the star: both are counted from the planet.
    assert!((height - voyage.orbit().state().position.norm()).abs() < 1e-8);
    assert!(angle(&a, &a, &b, epoch).is_err());
    assert!(distance(&craft, &a, epoch.after(1.0)).is_err());
    assert!(distance(&a, &Thing::Body(&body("sol", "Earth")), epoch).is_err());
}
