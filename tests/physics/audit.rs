//! The audit over many random voyages: honest ones are good, and every kind of falsification is found out.

use visviva_engine::audit::{
    Crossing, Entry, Law, Sample, Side, Verdict, clock, coast, crossing, place_between, propagation_error,
    rocket_equation, time_between, velocity_change,
};
use visviva_engine::burn::Burn;
use visviva_engine::conic::{State, propagate};
use visviva_engine::constants::DAY;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::{Anomaly, Orbit, Placement, Shape};
use visviva_engine::system::{Body, EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;
use visviva_engine::vehicle::Vehicle;
use visviva_engine::voyage::{Goal, LegKind, Piece, Voyage, VoyageError};

const NOBODY: Watch<'static> = Watch::none();

/// A small generator with a fixed seed: the cases are the same in every run (Knuth's multiplier for a line of 64 bits).
struct Draws(u64);

impl Draws {
    fn next(&mut self, low: f64, high: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        low + (high - low) * ((self.0 >> 11) as f64 / 9_007_199_254_740_992.0)
    }
}

fn tug() -> Vehicle {
    Vehicle::new("tug", 1000.0, 99_000.0, 450.0, None).expect("a sound vehicle")
}

/// A start near a body: a parking orbit, an eccentric one, a hyperbola, or a path that will pass one of its children.
fn start(draws: &mut Draws, body: &Body, epoch: Epoch) -> Orbit {
    let place = Placement {
        inclination: draws.next(0.0, 3.1),
        ascending_node: draws.next(0.0, 6.2),
        argument_of_periapsis: draws.next(0.0, 6.2),
        anomaly: Anomaly::True(draws.next(-1.2, 1.2)),
    };
    let children = body.children();
    if !children.is_empty() && draws.next(0.0, 1.0) < 0.6 {
        let child = &children[draws.next(0.0, children.len() as f64) as usize];
        let sphere = child.sphere_of_influence();
        let wait = if body.parent().is_none() { draws.next(20.0, 200.0) } else { draws.next(0.3, 3.0) } * DAY;
        let there = child.state(epoch.after(wait)).expect("within the span");
        let mut aside = || draws.next(-0.5, 0.5);
        let aside = Vec3::new(aside(), aside(), aside());
        let mut change = || draws.next(-0.25, 0.25);
        let change = Vec3::new(change(), change(), change());
        let state = State::new(
            there.position + aside * sphere,
            there.velocity * draws.next(0.7, 1.3) + change * there.velocity.norm(),
        );
        return Orbit::new(body.clone(), epoch.after(wait), state).expect("an orbit").at(epoch).expect("before");
    }
    let low = if body.parent().is_none() { 6.0e10 } else { body.radius() * 1.1 };
    let periapsis_radius = low * draws.next(1.0, 1.8);
    let shape = match draws.next(0.0, 4.0) as u32 {
        0 => Shape::Periapsis { periapsis_radius, eccentricity: 0.0 },
        1 => Shape::Periapsis { periapsis_radius, eccentricity: 0.6 },
        2 => Shape::Periapsis { periapsis_radius, eccentricity: 0.05 },
        _ => Shape::Periapsis { periapsis_radius, eccentricity: draws.next(1.2, 1.9) },
    };
    Orbit::shaped(body, shape, place, epoch, &body.orbit_plane()).expect("an orbit")
}

/// Some coasts and burns from a random start; what a verb refuses is left out.
fn flown(draws: &mut Draws, body: &Body, epoch: Epoch) -> Option<Voyage> {
    let orbit = start(draws, body, epoch);
    let mut voyage = Voyage::new("random", tug(), orbit).ok()?;
    for _ in 0..5 {
        let long = if voyage.body().parent().is_none() { 300.0 } else { 6.0 } * DAY;
        let done: Result<(), VoyageError> = match draws.next(0.0, 5.0) as u32 {
            0 => {
                let mut dv = || draws.next(-150.0, 150.0);
                voyage.burn(&Burn::local(dv(), dv(), dv()).expect("a burn"), &NOBODY)
            }
            1 => voyage.coast_to(&Goal::Periapsis, long, &NOBODY),
            2 => voyage.coast_to(&Goal::Departure, long, &NOBODY),
            3 => voyage.coast_to(&Goal::AscendingNode, long, &NOBODY),
            _ => voyage.coast(draws.next(0.0, long), &NOBODY),
        };
        match done {
            Ok(()) | Err(VoyageError::NoEvent { .. } | VoyageError::Impossible { .. } | VoyageError::Lost { .. }) => {}
            Err(error) => panic!("{error}: {voyage:?}"),
        }
    }
    Some(voyage)
}

fn fleet(system: &str, names: &[&str], epoch: &str, count: usize, seed: u64) -> Vec<Voyage> {
    let system = System::embedded(system, EphemerisChoice::Default).expect("an embedded system");
    let epoch = Epoch::parse(epoch).expect("an epoch");
    let mut draws = Draws(seed);
    let bodies: Vec<Body> = names.iter().map(|name| system.body(name).expect("a body")).collect();
    (0..count).filter_map(|index| flown(&mut draws, &bodies[index % bodies.len()], epoch)).collect()
}

fn velm_fleet(count: usize) -> Vec<Voyage> {
    let root = System::embedded("velm", EphemerisChoice::Default).expect("velm").root();
    fleet("velm", &["Oru", "Maren", root.name(), "Veyra", "Oru", "Keld"], "2141-07-22T00:00:00 TDB", count, 11)
}

fn sol_fleet(count: usize) -> Vec<Voyage> {
    fleet("sol", &["Sun", "Earth", "Jupiter", "Moon", "Jupiter", "Mars"], "2031-02-20T00:00:00 TDB", count, 12)
}

#[test]
fn honest_voyages_are_good() {
    let (mut count, mut flybys, mut patches, mut deep) = (0, 0, 0, 0);
    for voyage in velm_fleet(200).into_iter().chain(sol_fleet(200)) {
        count += 1;
        for entry in voyage.audit().entries() {
            assert_ne!(entry.verdict, Verdict::Beyond, "{entry:?} of {:?}", voyage.start().elements());
            flybys += usize::from(entry.law == Law::FlybySpeed);
            patches += usize::from(entry.law == Law::PatchAim);
            // Only what is told to be out of its depth may be less than good, and only at a patch.
            if entry.verdict == Verdict::OutOfDepth {
                assert!(
                    matches!(entry.law, Law::PatchAim | Law::PatchSpeed | Law::PatchTime | Law::PatchPlace),
                    "{entry:?}"
                );
                deep += 1;
            }
        }
    }
    assert!(
        count >= 300 && flybys >= 30 && patches >= 100,
        "{count} voyages, {flybys} flybys, {patches} patches, {deep}"
    );
}

#[test]
fn the_same_voyage_twice_is_the_same_to_the_last_byte() {
    let text = |voyages: Vec<Voyage>| format!("{voyages:?}");
    assert_eq!(text(velm_fleet(30)), text(velm_fleet(30)));
    assert_eq!(text(sol_fleet(30)), text(sol_fleet(30)));
}

fn laws(gm: f64, samples: &[Sample]) -> Verdict {
    let entries: Vec<Entry> = coast("coast", gm, samples).into_iter().chain(clock("coast", gm, samples)).collect();
    entries.iter().map(|entry| entry.verdict).max().expect("laws")
}

/// Every coast of the fleet, with its end or its start changed by 1e-9, or its time by a millisecond.
#[test]
fn a_falsified_coast_is_beyond() {
    let mut tried = 0;
    for voyage in velm_fleet(60).into_iter().chain(sol_fleet(60)) {
        for piece in voyage.legs().iter().flat_map(|leg| leg.pieces()) {
            let (gm, start, end, time) = (piece.orbit.gm(), *piece.orbit.state(), piece.end_state, piece.duration());
            if time <= 0.0 {
                continue;
            }
            let judge = |start: State, end: State, time: f64| {
                laws(gm, &[Sample { time: 0.0, state: start }, Sample { time, state: end }])
            };
            assert_eq!(judge(start, end, time), Verdict::Good);
            let false_ends = [
                State::new(end.position * (1.0 + 1e-9), end.velocity),
                State::new(end.position, end.velocity * (1.0 + 1e-9)),
                State::new(
                    end.position,
                    end.velocity + end.position.cross(&end.velocity).normalize() * end.speed() * 1e-9,
                ),
                State::new(end.position * (1.0 - 1e-9), end.velocity * (1.0 - 1e-9)),
            ];
            for end in false_ends {
                assert_eq!(judge(start, end, time), Verdict::Beyond, "{piece:?}");
            }
            assert_eq!(judge(start, end, time + 1e-3), Verdict::Beyond, "{piece:?}");
            assert_eq!(judge(start, end, time - 1e-3), Verdict::Beyond, "{piece:?}");
            // A place and velocity that lie on the conic, a millisecond on: only the clock can tell.
            let late = propagate(gm, &start, time + 1e-3).expect("a state");
            assert_eq!(judge(start, late, time), Verdict::Beyond, "{piece:?}");
            tried += 1;
        }
    }
    assert!(tried > 200, "{tried}");
}

/// The facts of an inward patch as the record holds them.
fn facts(before: &Piece, after: &Piece) -> Option<Crossing> {
    let patch = after.patch.as_ref()?;
    let periapsis = patch.periapsis_held()?;
    let (child, parent) = if patch.is_outward() { (before, after) } else { (after, before) };
    let parent_time = periapsis.seconds_since(parent.orbit.epoch());
    Some(Crossing {
        side: if patch.is_outward() { Side::Outgoing } else { Side::Incoming },
        gm: child.orbit.gm(),
        hyperbola: *child.orbit.state(),
        to_periapsis: periapsis.seconds_since(child.orbit.epoch()),
        hyperbola_error: if patch.is_outward() {
            propagation_error(child.orbit.gm(), child.orbit.state(), &child.end_state, child.duration())
        } else {
            0.0
        },
        parent_gm: parent.orbit.gm(),
        parent_state: *parent.orbit.state(),
        parent_time,
        parent_at_periapsis: propagate(parent.orbit.gm(), parent.orbit.state(), parent_time).ok()?,
        child: child.body().state(periapsis).ok()?,
        seam: (0.0, 0.0),
    })
}

/// Aim by a metre, time by a millisecond, v-infinity by more than the law's own bound and what the honest record is off; that bound is below a
/// millionth of the excess speed: the rounding of a conic flown for years, some 1e-11 of the planets' 30 km/s, against slow approaches.
#[test]
fn a_falsified_patch_is_beyond() {
    let mut tried = 0;
    for voyage in velm_fleet(120).into_iter().chain(sol_fleet(120)) {
        for leg in voyage.legs() {
            for pair in leg.pieces().windows(2) {
                let Some(honest) = facts(&pair[0], &pair[1]) else { continue };
                let verdict = |facts: &Crossing, law: Law| {
                    let entries = crossing("patch", facts, "");
                    entries.iter().find(|entry| entry.law == law).map(|entry| entry.verdict).expect("the law")
                };
                let relative = honest.parent_at_periapsis.velocity - honest.child.velocity;
                let mut moved = honest;
                let across = relative.cross(&Vec3::new(0.3, -0.5, 0.8)).normalize();
                moved.parent_at_periapsis.position += across;
                assert_eq!(verdict(&moved, Law::PatchAim), Verdict::Beyond, "{honest:?}");
                let mut late = honest;
                late.to_periapsis += 1e-3;
                assert_eq!(verdict(&late, Law::PatchTime), Verdict::Beyond, "{honest:?}");
                let mut fast = honest;
                let entries = crossing("patch", &honest, "");
                let entry = entries.iter().find(|entry| entry.law == Law::PatchSpeed).expect("the law");
                assert!(entry.bound < 1e-6 * relative.norm(), "{entry:?}");
                // Moved by d, the residual is at least d less what it was; a hundredth more pays for the change of the bound itself.
                fast.parent_at_periapsis.velocity += relative.normalize() * (1.01 * (entry.residual + entry.bound));
                assert_eq!(verdict(&fast, Law::PatchSpeed), Verdict::Beyond, "{honest:?}");
                tried += 1;
            }
        }
    }
    assert!(tried > 40, "{tried}");
}

#[test]
fn a_falsified_burn_or_joint_is_beyond() {
    let mut tried = 0;
    for voyage in velm_fleet(60) {
        for leg in voyage.legs() {
            let LegKind::Burn { before, after, dv, .. } = &leg.kind else { continue };
            let vehicle =
                Vehicle::new("tug", 1000.0, leg.mass + leg.propellant - 1000.0, 450.0, None).expect("a vehicle");
            let mut spending = vehicle.spending(leg.dv).expect("enough");
            assert_eq!(rocket_equation("burn", leg.dv, &spending).verdict, Verdict::Good);
            spending.steps[0].mass_after *= 1.0 + 1e-9;
            assert_eq!(rocket_equation("burn", leg.dv, &spending).verdict, Verdict::Beyond);
            assert_eq!(velocity_change("burn", before.state(), after.state(), dv).verdict, Verdict::Good);
            let fast = State::new(after.state().position, after.state().velocity * (1.0 + 1e-9));
            assert_eq!(velocity_change("burn", before.state(), &fast, dv).verdict, Verdict::Beyond);
            let moved = State::new(after.state().position * (1.0 + 1e-9), after.state().velocity);
            assert_eq!(velocity_change("burn", before.state(), &moved, dv).verdict, Verdict::Beyond);
            assert_eq!(place_between("burn", after.state(), &moved).verdict, Verdict::Beyond);
            assert_eq!(time_between("burn", after.epoch(), after.epoch().after(1e-3)).verdict, Verdict::Beyond);
            tried += 1;
        }
    }
    assert!(tried > 30, "{tried}");
}
