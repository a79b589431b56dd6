//! Solids against closed forms and against each other; floats against what their symmetry and energy demand.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

use super::craft::{FloatingCraft, Point, Tank, Weight};
use super::floating::{Stance, Water};
use super::reserve::{DeckTilt, Limit, TankDeed};
use super::solid::{Axis, Form, Solid};

fn solid(form: Form, axis: Axis, bottom: f64) -> Solid {
    Solid::new(form, axis, bottom, [0.3, -0.2]).unwrap()
}

const SEA: Water = Water { density: 1025.0, gravity: 9.80665 };

/// A wedge of a cylinder cut by a plane through a diameter of its base, rising to a height h at the rim: volume 2/3 R² h, its centroid 3πR/16 out and 3πh/32 up.
#[test]
fn the_hoof_of_a_cylinder() {
    let (radius, height) = (1.5, 0.9_f64);
    let cylinder =
        Solid::new(Form::Cylinder { diameter: 2.0 * radius, length: 2.0 }, Axis::Upright, 0.0, [0.0; 2]).unwrap();
    // z < (h/R) x: the normal is (−h/R, 0, 1).
    let size = (height / radius).hypot(1.0);
    let below = cylinder.below(&[-height / radius / size, 0.0, 1.0 / size], 0.0);
    let volume = 2.0 / 3.0 * radius * radius * height;
    assert!((below.volume / volume - 1.0).abs() < 1e-12, "{}", below.volume / volume - 1.0);
    let centre = below.centroid();
    assert!((centre[0] / (3.0 * PI * radius / 16.0) - 1.0).abs() < 1e-12);
    assert!((centre[2] / (3.0 * PI * height / 32.0) - 1.0).abs() < 1e-12 && centre[1].abs() < 1e-14);
}

/// Two complementary parts make the whole, and the slope of the volume by height is the waterplane: for every form and axis.
#[test]
fn parts_make_the_whole() {
    let forms = [
        Form::Cylinder { diameter: 1.2, length: 2.5 },
        Form::Frustum { first: 0.0, last: 1.4, length: 1.1 },
        Form::Frustum { first: 1.6, last: 0.7, length: 2.0 },
        Form::Sphere { diameter: 1.3 },
        Form::Block { length: 2.0, beam: 1.1, height: 0.7 },
    ];
    let up: [f64; 3] = [0.48, -0.36, 0.8];
    for form in forms {
        for axis in [Axis::Upright, Axis::Lengthwise, Axis::Crosswise] {
            let solid = solid(form, axis, 0.4);
            let (low, high) = solid.reach(&up);
            for share in [0.13, 0.37, 0.5, 0.81] {
                let height = low + share * (high - low);
                let (under, over) = (solid.below(&up, height), solid.below(&up.map(|x| -x), -height));
                let whole = solid.volume();
                assert!(((under.volume + over.volume) / whole - 1.0).abs() < 2e-12, "{form:?} {axis:?} {share}");
                let all = solid.below(&up, high + 1.0);
                for i in 0..3 {
                    let sum = under.moment[i] + over.moment[i];
                    assert!((sum - all.moment[i]).abs() < 4e-12 * whole, "{form:?} {axis:?}");
                }
            }
            let (bottom, top) = solid.heights();
            for share in [0.21, 0.66] {
                let height = bottom + share * (top - bottom);
                let level = [0.0, 0.0, 1.0];
                let step = 1e-5;
                let rise = solid.below(&level, height + step).volume - solid.below(&level, height - step).volume;
                let plane = solid.waterplane(height);
                // The difference errs by step² times the curvature, some 1e-9; the cone's tip lying is the worst.
                assert!((rise / (2.0 * step) / plane.area - 1.0).abs() < 1e-7, "{form:?} {axis:?} {share}");
            }
        }
    }
}

/// Second moments of lying cylinders: a rectangle of the chord and the length.
#[test]
fn a_lying_cylinder_cuts_a_rectangle() {
    let solid = Solid::new(Form::Cylinder { diameter: 2.0, length: 3.0 }, Axis::Lengthwise, 0.0, [0.5, 0.0]).unwrap();
    let plane = solid.waterplane(1.6);
    let chord = 1.6;
    assert!((plane.area / (3.0 * chord) - 1.0).abs() < 1e-13);
    assert!((plane.second[1] / (3.0 * chord * chord * chord / 12.0) - 1.0).abs() < 1e-13);
    assert!((plane.second[0] / (chord * 27.0 / 12.0 + 3.0 * chord * 0.25) - 1.0).abs() < 1e-13);
}

/// The righting arm is the slope of the work, begins as GM φ, and vanishes for a ball weighted at its centre.
#[test]
fn arms_are_slopes_of_the_work() {
    let craft = FloatingCraft {
        hulls: vec![Solid::new(Form::Cylinder { diameter: 3.0, length: 5.0 }, Axis::Upright, 0.0, [0.0; 2]).unwrap()],
        weights: vec![Weight::at("all", 12_200.0, 1.008)],
        ..FloatingCraft::default()
    };
    let floating = craft.float(&SEA).unwrap();
    let small = craft.righting_arm(1e-4, 0.7, &SEA).unwrap();
    // The next term is φ³: 1e-8 of the first.
    assert!((small / 1e-4 / floating.metacentric_height - 1.0).abs() < 1e-6, "{}", small / 1e-4);
    let curve = craft.righting_curve(0.7, PI, 360, &SEA).unwrap();
    let weight = floating.mass * SEA.gravity;
    for i in [40, 120, 200, 300] {
        let slope =
            (curve.heels[i + 1].work - curve.heels[i - 1].work) / (curve.heels[i + 1].angle - curve.heels[i - 1].angle);
        // Central differences over 1°: step²/6 = 5e-5 of the third derivative.
        assert!((slope / weight - curve.heels[i].arm).abs() < 3e-4, "{i}: {} {}", slope / weight, curve.heels[i].arm);
    }
    let ball = FloatingCraft {
        hulls: vec![Solid::new(Form::Sphere { diameter: 2.0 }, Axis::Upright, 0.0, [0.0; 2]).unwrap()],
        weights: vec![Weight::at("all", 2000.0, 1.0)],
        ..FloatingCraft::default()
    };
    assert!(ball.righting_arm(1.0, 0.0, &SEA).unwrap().abs() < 1e-12);
}

/// A log: homogeneous, square, half as dense as water, floats with a corner down (the classical result for ratios between 0.211 and 0.789).
#[test]
fn a_square_log_floats_with_a_corner_down() {
    let log = FloatingCraft {
        hulls: vec![
            Solid::new(Form::Block { length: 8.0, beam: 1.0, height: 1.0 }, Axis::Upright, 0.0, [0.0; 2]).unwrap(),
        ],
        weights: vec![Weight::at("wood", 0.5 * 1025.0 * 8.0, 0.5)],
        ..FloatingCraft::default()
    };
    assert_eq!(log.float(&SEA).unwrap().stance, Stance::RollsOver);
    let rest = log.settle([0.0, 0.02, 1.0], &SEA).unwrap();
    assert!((rest.heel - FRAC_PI_4).abs() < 1e-6 && rest.stiffness > 0.0, "{rest:?}");
    // Lighter than 0.211 it lies flat.
    let light = FloatingCraft { weights: vec![Weight::at("cork", 0.15 * 1025.0 * 8.0, 0.5)], ..log };
    assert_eq!(light.float(&SEA).unwrap().stance, Stance::Upright);
}

/// A tall empty cylinder rolls over and lies down; with its mass at the bottom it stands, and stands again from upside down.
#[test]
fn tall_cylinders_lie_down_or_stand() {
    let hull = Solid::new(Form::Cylinder { diameter: 1.0, length: 4.0 }, Axis::Upright, 0.0, [0.0; 2]).unwrap();
    let craft = |height: f64| FloatingCraft {
        hulls: vec![hull],
        weights: vec![Weight::at("all", 1200.0, height)],
        ..FloatingCraft::default()
    };
    let lying = craft(2.0);
    assert_eq!(lying.float(&SEA).unwrap().stance, Stance::RollsOver);
    let rest = lying.settle([0.001, 0.0, 1.0], &SEA).unwrap();
    assert!((rest.heel - FRAC_PI_2).abs() < 1e-6, "{rest:?}");
    let standing = craft(0.3).attitudes(&SEA).unwrap();
    assert!(standing.len() == 1 && standing[0].heel < 1e-6, "{standing:?}");
}

/// Liquid in a half-full tank takes what the formula says from the first slope of the righting arm, and is found in the metacentric height.
#[test]
fn free_surfaces_act_on_the_arm() {
    let hull = Form::Block { length: 6.0, beam: 3.0, height: 2.0 };
    let inside = Solid::new(Form::Block { length: 2.0, beam: 1.5, height: 1.0 }, Axis::Upright, 0.2, [0.0; 2]).unwrap();
    let tank = Tank { name: "tank".into(), inside, density: 810.0, mass: 0.5 * 810.0 * 3.0 };
    let craft = FloatingCraft {
        hulls: vec![Solid::new(hull, Axis::Upright, 0.0, [0.0; 2]).unwrap()],
        weights: vec![Weight::at("all", 8000.0, 0.9)],
        tanks: vec![tank],
        points: Vec::new(),
    };
    let floating = craft.float(&SEA).unwrap();
    assert!(floating.free_surface.0 > 0.03);
    let arm = craft.righting_arm(1e-4, FRAC_PI_2, &SEA).unwrap();
    assert!((arm / 1e-4 / floating.metacentric_height - 1.0).abs() < 1e-6);
}

fn lander(propellant: f64) -> FloatingCraft {
    let inside = Solid::new(Form::Cylinder { diameter: 1.4, length: 1.0 }, Axis::Upright, 0.3, [0.0; 2]).unwrap();
    FloatingCraft {
        hulls: vec![Solid::new(Form::Cylinder { diameter: 3.0, length: 3.0 }, Axis::Upright, 0.0, [0.0; 2]).unwrap()],
        weights: vec![Weight::at("dry", 4000.0, 0.7)],
        tanks: vec![Tank { name: "main".into(), inside, density: 1000.0, mass: propellant }],
        points: vec![
            Point { name: "hatch".into(), place: [0.0, 1.0, 1.55], limits: (f64::NEG_INFINITY, 0.9) },
            Point { name: "engine".into(), place: [0.0, 0.0, 0.75], limits: (0.0, f64::INFINITY) },
        ],
    }
}

/// The hatch bounds the propellant from below, the engine from above, in closed form for a cylinder: draft = mass/(ρ A).
#[test]
fn propellant_is_bounded_from_both_sides() {
    let area = FRAC_PI_4 * 9.0 * 1025.0;
    let keep = lander(0.0).keep(&["main"], &SEA).unwrap();
    let (least, greatest) = (0.65 * area - 4000.0, 0.75 * area - 4000.0);
    assert!((keep.least.unwrap() - least).abs() < 1e-5 && (keep.greatest.unwrap() - greatest).abs() < 1e-5, "{keep:?}");
    assert_eq!(keep.too_light, Some(Limit::TooHigh("hatch".into())));
    assert_eq!(keep.too_heavy, Some(Limit::TooLow("engine".into())));
    let wanted = lander(0.0).mass_for_height(&["main"], "hatch", 0.85, &SEA).unwrap().unwrap();
    assert!((wanted - (0.70 * area - 4000.0)).abs() < 1e-5);
    assert_eq!(lander(0.0).verdict(&SEA).unwrap(), Some(Limit::TooHigh("hatch".into())));
    assert_eq!(lander(wanted).verdict(&SEA).unwrap(), None);
    assert!(lander(0.0).keep(&["mian"], &SEA).is_err());
}

/// Too light: flooding a second tank is found as the one deed that helps.
#[test]
fn flooding_is_plan_b() {
    let mut craft = lander(0.0);
    let inside = Solid::new(Form::Block { length: 1.0, beam: 1.0, height: 0.8 }, Axis::Upright, 0.1, [0.0; 2]).unwrap();
    craft.tanks.push(Tank { name: "trim".into(), inside, density: 1025.0, mass: 0.0 });
    let found = craft.remedies(&SEA).unwrap();
    assert_eq!(found[0].deeds, [TankDeed::Left, TankDeed::Flooded]);
    assert!(found[0].floating.height_of("hatch").unwrap() <= 0.9 && found[0].margin >= 0.0);
}

#[test]
fn decks_lose_what_stands_on_them() {
    let tilt = DeckTilt::of(0.3, 1.0, 2.0).unwrap();
    assert!((tilt.slides - 0.3_f64.atan()).abs() < 1e-15 && (tilt.tips - 0.5_f64.atan()).abs() < 1e-15);
    assert_eq!(tilt.lost(), tilt.slides);
    assert!(DeckTilt::of(-0.1, 1.0, 1.0).is_err());
}

#[test]
fn what_is_no_craft_is_refused() {
    assert!(Solid::new(Form::Sphere { diameter: -1.0 }, Axis::Upright, 0.0, [0.0; 2]).is_err());
    assert!(FloatingCraft::default().float(&SEA).is_err());
    let mut craft = lander(0.0);
    craft.tanks[0].mass = 1e6;
    assert!(craft.float(&SEA).unwrap_err().to_string().contains("`main` holds"));
    let mut heavy = lander(0.0);
    heavy.weights[0].mass = 30_000.0;
    assert!(
        matches!(heavy.float(&SEA).unwrap().stance, Stance::Sinks { excess } if (excess - (30_000.0 - 1025.0 * FRAC_PI_4 * 27.0)).abs() < 1e-6)
    );
}
