//! The sled of `lantern` in the sea of Maren, against the prototype's figures (velm, section 6: down 1.45 h, contact 0.80 m/s, stay 4 h, up 1.58 h, surfacing
//! 0.73 m/s, 2.5 kWh at 350 W, drift 260 m at 5 cm/s, 290 m off by a glide of 4°). For study and rehearsal; diving follows licensed practice and local codes.

use visviva_engine::numerics::watch::Watch;
use visviva_engine::sea_flight::{DiveEvent, DiveLimit, DivePlan, Dived, Diver, Facing, Parent, dive};
use visviva_engine::system::{EphemerisChoice, Sea, System};
use visviva_engine::vehicle::Vehicle;

fn maren() -> Sea {
    let velm = System::embedded("velm", EphemerisChoice::Default).expect("built in");
    velm.body("Maren").expect("a moon").sea().expect("a sea").clone()
}

/// 640 kg and 220 kg of ballast, 0.715 m³, legs for 1.5 m/s, hull for 16 MPa, as the vehicle's file has them; the drag area follows from the prototype's
/// contact speed.
fn sled() -> Diver {
    let lantern = Vehicle::embedded("lantern").expect("built in");
    let craft = lantern.all_carried();
    let stage = craft.iter().flat_map(|craft| craft.stages()).find(|stage| stage.name() == "sled").expect("a sled");
    let (along, across) = (Facing::constant(0.807, 0.5), Facing::constant(4.0, 1.0));
    let mut sled = Diver::of_stage(stage, along, across, 350.0).expect("a hull");
    assert_eq!((sled.mass, sled.ballast, sled.volume, sled.rated_contact), (640.0, 220.0, 0.715, Some(1.5)));
    sled.battery = Some(2.6 * 3.6e6);
    sled
}

fn dived(diver: &Diver, plan: &DivePlan) -> Dived {
    dive(diver, &maren(), plan, &Watch::none()).expect("a dive")
}

const HOUR: f64 = 3600.0;

#[test]
fn the_sled_dives_as_the_prototype_did() {
    let mut plan = DivePlan::to(4200.0, 4.0 * HOUR);
    // Four kilograms of samples bring the prototype's surfacing speed; without them it comes up at 0.75 m/s.
    plan.collected = 4.0;
    let down = dived(&sled(), &plan);
    assert!(down.is_sound(), "{:?}", down.limits);
    let contact = down.contact.expect("contact");
    assert!((contact.speed - 0.80).abs() < 0.005, "{}", contact.speed);
    assert!((down.down.duration() / HOUR - 1.45).abs() < 0.01, "{}", down.down.duration() / HOUR);
    assert!((down.surfacing_speed.expect("up") - 0.73).abs() < 0.005, "{:?}", down.surfacing_speed);
    assert!((down.up.as_ref().expect("up").duration() / HOUR - 1.58).abs() < 0.015);
    assert!((down.energy / 3.6e6 - 2.5).abs() < 0.05 && (down.duration / HOUR - 7.0).abs() < 0.05);
    // 10.13 MPa of water at 4200 m and 8 kPa of air.
    assert!((contact.pressure / 1e6 - 10.14).abs() < 0.01, "{}", contact.pressure);
    let whole: Vec<DiveEvent> = down.events.iter().map(|event| event.2).collect();
    assert_eq!(whole, [DiveEvent::Released, DiveEvent::Contact, DiveEvent::Leaves, DiveEvent::Surfaced]);
}

#[test]
fn work_and_energy_are_kept() {
    let down = dived(
        &sled(),
        &DivePlan { tilt: (0.1, -0.1), current: vec![(0.0, 0.2), (2000.0, 0.05)], ..DivePlan::to(4200.0, 0.0) },
    );
    for leg in [&down.down, down.up.as_ref().expect("up")] {
        // Steps err by 1e-12 of place, velocity and works; there are some thousand.
        assert!((leg.residual / leg.weight_work).abs() < 1e-9, "{} of {}", leg.residual, leg.weight_work);
    }
}

#[test]
fn a_current_carries_it_and_a_tilt_glides_it_off() {
    let drift = dived(&sled(), &DivePlan { current: vec![(0.0, 0.05)], ..DivePlan::to(4200.0, 0.0) });
    assert!((drift.down.end.offset - 260.0).abs() < 5.0, "{}", drift.down.end.offset);
    // A body far broader along than across would glide along its axis, 4200 m × tan 4° = 294 m; this one slips a fifth of that.
    let tilt = 4.0_f64.to_radians();
    let parent = Some(Parent { half_width: 4.0, drifts: false, clearance: 50.0 });
    let glide = dived(&sled(), &DivePlan { tilt: (0.0, -tilt), parent, ..DivePlan::to(4200.0, 0.0) });
    let offset = glide.up.as_ref().expect("up").end.offset;
    let ratio = 0.807_f64 / 4.0;
    let expected = 4200.0 * (tilt - (tilt.tan() * ratio).atan()).tan();
    // Steady glide: v_n/v_a = tan θ × ratio of drag areas; the start from rest is over after some metres.
    assert!((offset / expected - 1.0).abs() < 0.01, "{offset} {expected}");
    assert!(glide.limits.is_empty() && glide.clearance.expect("clearance") > 200.0);
    let straight = dived(&sled(), &DivePlan { parent, ..DivePlan::to(4200.0, 0.0) });
    assert!(matches!(straight.limits[..], [DiveLimit::Clearance { free, .. }] if free < 0.0), "{:?}", straight.limits);
}

#[test]
fn limits_are_results() {
    let deep = DivePlan::to(9000.0, 0.0);
    let crushed = dived(&sled(), &deep);
    assert!(
        crushed
            .limits
            .iter()
            .any(|limit| matches!(limit, DiveLimit::HullPressure { depth, .. } if (6000.0..7000.0).contains(depth)))
    );
    assert!(crushed.events.iter().any(|event| event.2 == DiveEvent::RatedPressure));
    let mut heavy = sled();
    heavy.ballast = 1200.0;
    let hard = dived(&heavy, &DivePlan::to(4200.0, 0.0));
    assert!(matches!(hard.limits[..], [DiveLimit::Contact { rated, .. }] if rated == 1.5), "{:?}", hard.limits);
    let mut light = sled();
    light.ballast = 50.0;
    assert!(matches!(dived(&light, &deep).limits[0], DiveLimit::TooLight { lacks } if (lacks - 50.74).abs() < 0.1));
    let kept = dived(&sled(), &DivePlan { drop_ballast: false, ..DivePlan::to(4200.0, 0.0) });
    assert!(matches!(kept.limits[0], DiveLimit::TooHeavy { .. }) && kept.surfacing_speed.is_none());
    let long = dived(&sled(), &DivePlan::to(4200.0, 10.0 * HOUR));
    assert!(matches!(long.limits[..], [DiveLimit::Battery { .. }]), "{:?}", long.limits);
    assert!(long.limits[0].to_string().contains("the battery holds 2.60 kWh"), "{}", long.limits[0]);
}

/// A body between the water's densities at surface and floor hangs where the closed form says.
#[test]
fn it_hangs_at_its_neutral_depth() {
    let sea = maren();
    let mut float = sled();
    (float.mass, float.ballast, float.rated_pressure, float.battery) = (0.715 * 1038.0, 0.0, None, None);
    let found = dived(&float, &DivePlan::to(9000.0, 0.0));
    let expected = sea.depth_at((1038.0_f64 / 1036.0).ln() / 4.4e-10).expect("a depth");
    assert!(
        matches!(found.limits[..], [DiveLimit::Hangs { depth }] if (depth - expected).abs() < 0.01),
        "{:?} {expected}",
        found.limits
    );
    assert!(found.contact.is_none() && (found.down.end.depth - expected).abs() < 1.1);
}

#[test]
fn sizing_meets_what_it_was_asked_for() {
    let sea = maren();
    let ballast = sled().ballast_for_contact(&sea, 4200.0, 1.0, 1000.0).expect("ballast");
    let mut sized = sled();
    sized.ballast = ballast;
    let contact = dived(&sized, &DivePlan::to(4200.0, 0.0)).contact.expect("contact");
    // It is a little faster than terminal: the water above is lighter.
    assert!((contact.speed - 1.0).abs() < 1e-3, "{}", contact.speed);
    let area = sled().area_for_contact(&sea, 4200.0, 0.5).expect("an area");
    let mut broad = sled();
    broad.along.area *= area;
    assert!((dived(&broad, &DivePlan::to(4200.0, 0.0)).contact.expect("contact").speed - 0.5).abs() < 1e-3);
    let legs = sled().legs_for(&sea, 4200.0, 0.8, 20.0).expect("legs");
    assert!((legs.stroke - 0.016).abs() < 1e-12 && legs.energy > 300.0 && legs.force > legs.energy / 0.02, "{legs:?}");
}
