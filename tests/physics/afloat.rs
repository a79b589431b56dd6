//! The lander of `lantern` on the sea of Maren, against the prototype's figures (velm, section 6: 10.62 t, draft 0.822 m, hatch 0.778 m above the
//! water, 129 kg for each cm, 0.794 m with the base's tanks empty, metacentric height 2.45 m).

use visviva_engine::sea_flight::{FloatingCraft, Stance, Water, Weight};
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::vehicle::Vehicle;

fn water() -> Water {
    let velm = System::embedded("velm", EphemerisChoice::Default).expect("built in");
    Water::of(velm.body("Maren").expect("a moon").sea().expect("a sea"))
}

/// Three upright cylinders 2.3 m across and 3.0 m high, axes 2.45 m from the centre, 120° apart; the hatch 1.60 m above the keel: as the
/// vehicle's file has them.
fn lander(mass: f64, centre_of_mass: f64) -> FloatingCraft {
    let lantern = Vehicle::embedded("lantern").expect("built in");
    let craft = lantern.all_carried();
    let base = craft.iter().flat_map(|craft| craft.stages()).find(|stage| stage.name() == "base").expect("a base");
    let mut craft = FloatingCraft::of_equipment(base.equipment()).expect("floats");
    craft.weights.push(Weight::at("lander", mass, centre_of_mass));
    craft
}

/// What the base has left of its 500 kg, from the prototype's purses.
const LEFT: f64 = 208.0;
/// Half a unit of the prototype's last digits.
const MILLIMETRE: f64 = 0.0005;

#[test]
fn the_lander_floats_as_the_prototype_did() {
    // The height of the centre of mass is the one unknown: the prototype's metacentric height fixes it, 2.01 m, which must be a height inside the craft.
    let craft = lander(10_620.0, 2.01);
    let floating = craft.float(&water()).expect("a craft");
    assert!((floating.draft - 0.822).abs() < MILLIMETRE, "{}", floating.draft);
    assert!((floating.height_of("hatch").expect("a hatch") - 0.778).abs() < MILLIMETRE);
    assert!((floating.immersion / 100.0 - 129.0).abs() < 0.5, "{}", floating.immersion);
    assert!((floating.metacentric_height - 2.45).abs() < 0.01, "{}", floating.metacentric_height);
    assert_eq!(floating.stance, Stance::Upright);
    // Three floats round a centre are as stiff in every direction.
    assert!((floating.greatest_metacentric_height - floating.metacentric_height).abs() < 1e-9);
    let empty = lander(10_620.0 - LEFT, 2.01).float(&water()).expect("a craft");
    assert!((empty.height_of("hatch").expect("a hatch") - 0.794).abs() < MILLIMETRE);
}

#[test]
fn too_light_a_lander_floats_its_hatch_too_high() {
    let light = lander(9_000.0, 2.01).float(&water()).expect("a craft");
    assert!(light.points[0].margin < 0.0 && light.points[0].upper, "{:?}", light.points);
}

#[test]
fn the_lander_rights_itself_until_the_floats_lift_out() {
    let curve = lander(10_620.0, 2.01).righting_curve(0.3, 1.5, 60, &water()).expect("a curve");
    assert!(curve.greatest.0 > 0.5 && curve.vanishing.is_some(), "{:?} {:?}", curve.greatest, curve.vanishing);
}
