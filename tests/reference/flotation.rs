//! Floating craft against worked examples: every `check` case of `flotation.toml`.

use visviva_engine::numerics::root;
use visviva_engine::sea_flight::{
    Axis, FloatingCraft, Form, Solid, Stance, Tank, Water, Weight, free_surface_loss, heave_period, roll_period,
    wall_sided_arm,
};
use visviva_tests::Table;

use crate::kepler::{number, numbers};
use crate::seas::checked;

type Input<'a> = &'a dyn Fn(&str) -> f64;

pub(crate) fn table() -> Table {
    checked("flight/flotation.toml", "naval-architecture and fluid textbooks named in the rows", &|id, name, inputs| {
        let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
        let one = match id {
            "box-barge-titan-raft" => barge(name, &input)?,
            "white-barge-example" => white(name, &input)?,
            _ if id.starts_with("homogeneous-cylinder-limit") => slender(&input)?,
            _ if id.starts_with("cone-apex-down") => cone(&input)?,
            _ if id.starts_with("upright-cylinder") => cylinder(name, inputs, &input)?,
            "ballast-for-neutral-stability" => ballast(inputs, &input)?,
            _ if id.starts_with("wall-sided") => {
                let formula = wall_sided_arm(input("gm_m"), input("bm_m"), input("heel_deg").to_radians());
                // A box of that stability, its section integrated at that heel: both are held.
                let integrated = box_arm(&input)?;
                return (name == "gz_m")
                    .then(|| if (integrated / formula - 1.0).abs() < 1e-9 { vec![formula] } else { vec![integrated] });
            }
            "free-surface-correction" => {
                let i = input("tank_length_m") * input("tank_width_m").powi(3) / 12.0;
                let mass = input("displaced_volume_m3") * input("sea_density_kg_m3");
                free_surface_loss(i, input("tank_liquid_density_kg_m3"), mass)
            }
            "free-surface-cylindrical-tank" => round_tank(&input)?,
            _ if id.starts_with("roll-period") => {
                roll_period(input("radius_of_gyration_m"), input("gm_m"), input("gravity_m_s2"))?
            }
            _ if id.starts_with("heave-period") => {
                let water = Water { density: input("liquid_density_kg_m3"), gravity: input("gravity_m_s2") };
                heave_period(input("waterplane_m2"), input("mass_kg"), input("added_mass_kg"), &water)
            }
            _ if id.starts_with("fraction-submerged") => fraction(name, &input)?,
            _ => return None,
        };
        Some(vec![one])
    })
}

fn craft(hull: Form, parts: &[(f64, f64)]) -> Option<FloatingCraft> {
    let hull = Solid::new(hull, Axis::Upright, 0.0, [0.0; 2]).ok()?;
    let weights = parts.iter().map(|(mass, height)| Weight::at("part", *mass, *height)).collect();
    Some(FloatingCraft { hulls: vec![hull], weights, ..FloatingCraft::default() })
}

/// Gravity where a case gives none: it does not count for draught and stability.
const ANY_GRAVITY: f64 = 9.806_65;

fn barge(name: &str, input: Input) -> Option<f64> {
    let form = Form::Block { length: input("length_m"), beam: input("beam_m"), height: 2.0 };
    let water = Water { density: input("liquid_density_kg_m3"), gravity: ANY_GRAVITY };
    let floating = craft(form, &[(input("mass_kg"), input("kg_m"))])?.float(&water).ok()?;
    Some(match name {
        "draught_m" => floating.draft,
        "kb_m" => floating.centre_of_buoyancy,
        "bm_m" => floating.metacentric_radius.0,
        "gm_m" => floating.metacentric_height,
        "bm_long_m" => floating.metacentric_radius.1,
        _ => return None,
    })
}

/// A barge of a width and draught, centre of mass at the waterline, in water of 1000 kg/m³.
fn white(name: &str, input: Input) -> Option<f64> {
    let water = Water { density: 1000.0, gravity: ANY_GRAVITY };
    let draught = input("draught_m");
    let height = |half_width: f64| {
        let form = Form::Block { length: 10.0, beam: 2.0 * half_width, height: 2.0 * draught };
        let mass = 1000.0 * 10.0 * 2.0 * half_width * draught;
        craft(form, &[(mass, draught)])?.float(&water).ok().map(|floating| floating.metacentric_height)
    };
    if name == "mg_m" {
        return height(input("half_width_m"));
    }
    let limit = root::bracketed(|half| height(half).unwrap_or(f64::NAN), 0.5 * draught, 3.0 * draught, 0.0).ok()?;
    Some(limit / draught)
}

/// The least diameter over height of a homogeneous cylinder that floats upright.
fn slender(input: Input) -> Option<f64> {
    let water = Water { density: 1000.0, gravity: ANY_GRAVITY };
    let height = |diameter: f64| {
        let mass = 1000.0 * input("specific_gravity") * std::f64::consts::PI * diameter * diameter / 4.0;
        let floating = craft(Form::Cylinder { diameter, length: 1.0 }, &[(mass, 0.5)])?.float(&water).ok()?;
        Some(floating.metacentric_height)
    };
    root::bracketed(|diameter| height(diameter).unwrap_or(f64::NAN), 0.1, 10.0, 0.0).ok()
}

/// The least specific gravity of a homogeneous cone that floats upright, apex down.
fn cone(input: Input) -> Option<f64> {
    let water = Water { density: 1000.0, gravity: ANY_GRAVITY };
    let last = 2.0 * input("half_angle_deg").to_radians().tan();
    let height = |gravity: f64| {
        let mass = 1000.0 * gravity * std::f64::consts::PI * last * last / 12.0;
        let form = Form::Frustum { first: 0.0, last, length: 1.0 };
        Some(craft(form, &[(mass, 0.75)])?.float(&water).ok()?.metacentric_height)
    };
    root::bracketed(|gravity| height(gravity).unwrap_or(f64::NAN), 0.01, 0.99, 0.0).ok()
}

fn parts(inputs: &toml::Value) -> Option<Vec<(f64, f64)>> {
    let masses = numbers(inputs.get("part_mass_kg")?);
    Some(masses.into_iter().zip(numbers(inputs.get("part_height_above_keel_m")?)).collect())
}

fn cylinder(name: &str, inputs: &toml::Value, input: Input) -> Option<f64> {
    let form = Form::Cylinder { diameter: 2.0 * input("radius_m"), length: input("height_m") };
    let water = Water { density: input("liquid_density_kg_m3"), gravity: input("gravity_m_s2") };
    let floating = craft(form, &parts(inputs)?)?.float(&water).ok()?;
    Some(match name {
        "mass_kg" => floating.mass,
        "kg_m" => floating.centre_of_mass,
        "draught_m" => floating.draft,
        "freeboard_m" => input("height_m") - floating.draft,
        "kb_m" => floating.centre_of_buoyancy,
        "bm_m" => floating.metacentric_radius.0,
        "gm_m" => floating.metacentric_height,
        "upright_stable" => f64::from(u8::from(floating.stance == Stance::Upright)),
        "heave_period_no_added_mass_s" => floating.heave_period_dry,
        _ => return None,
    })
}

fn ballast(inputs: &toml::Value, input: Input) -> Option<f64> {
    let form = Form::Cylinder { diameter: 2.0 * input("radius_m"), length: 10.0 };
    let water = Water { density: input("liquid_density_kg_m3"), gravity: ANY_GRAVITY };
    let own = parts(inputs)?;
    let height = |mass: f64| {
        let mut parts = own.clone();
        parts.push((mass, input("ballast_height_above_keel_m")));
        Some(craft(form, &parts)?.float(&water).ok()?.metacentric_height)
    };
    root::bracketed(|mass| height(mass).unwrap_or(f64::NAN), 1.0, 1e4, 0.0).ok()
}

/// Righting arm of a box with the metacentric height and radius of a case, by its section integrated at the heel: beam 10 m, draught B²/(12 BM).
fn box_arm(input: Input) -> Option<f64> {
    let (gm, bm) = (input("gm_m"), input("bm_m"));
    let beam = 10.0_f64;
    let draught = beam * beam / (12.0 * bm);
    let form = Form::Block { length: 30.0, beam, height: 3.0 * draught };
    let mass = 1000.0 * 30.0 * beam * draught;
    let craft = craft(form, &[(mass, 0.5 * draught + bm - gm)])?;
    let water = Water { density: 1000.0, gravity: ANY_GRAVITY };
    craft.righting_arm(input("heel_deg").to_radians(), std::f64::consts::FRAC_PI_2, &water).ok()
}

/// A half-full upright tank in a craft of a mass: what its surface takes is read from the metacentric height.
fn round_tank(input: Input) -> Option<f64> {
    let mass = input("displaced_mass_kg");
    let inside = Form::Cylinder { diameter: 2.0 * input("tank_radius_m"), length: 1.0 };
    let inside = Solid::new(inside, Axis::Upright, 0.2, [0.0; 2]).ok()?;
    let density = input("tank_liquid_density_kg_m3");
    let liquid = 0.5 * density * inside.volume();
    let tank = Tank { name: "tank".into(), inside, density, mass: liquid };
    let mut craft = craft(Form::Cylinder { diameter: 4.0, length: 5.0 }, &[(mass - liquid, 1.0)])?;
    craft.tanks.push(tank);
    let floating = craft.float(&Water { density: 1025.0, gravity: ANY_GRAVITY }).ok()?;
    Some(
        floating.metacentric_radius.0 + floating.centre_of_buoyancy
            - floating.centre_of_mass
            - floating.metacentric_height,
    )
}

fn fraction(name: &str, input: Input) -> Option<f64> {
    let volume = input("hull_volume_m3");
    let form = Form::Block { length: volume, beam: 1.0, height: 1.0 };
    let water = Water { density: input("liquid_density_kg_m3"), gravity: ANY_GRAVITY };
    let floating = craft(form, &[(input("mass_kg"), 0.1)])?.float(&water).ok()?;
    Some(match name {
        "fraction" => floating.submerged,
        "floats" => f64::from(u8::from(!matches!(floating.stance, Stance::Sinks { .. }))),
        "reserve_buoyancy_kg" => floating.reserve_buoyancy,
        _ => return None,
    })
}
