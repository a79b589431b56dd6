//! Diving bodies against closed forms and published fits: every `check` case of `hydrodynamics.toml` and `dive.toml`.
//!
//! For study and rehearsal: diving and pressure work follow licensed practice and local codes.

use visviva_engine::numerics::watch::Watch;
use visviva_engine::sea_flight::added_mass::{self, Moved};
use visviva_engine::sea_flight::buoyancy::{Ballast, neutral_depth};
use visviva_engine::sea_flight::pressure_hull::{Material, SphericalHull, TubularHull, depth_limit, gas_volume};
use visviva_engine::sea_flight::settling::{EvenMotion, Surrounding, sphere};
use visviva_engine::sea_flight::slam::{PileUp, Slam, round_bottom, wedge};
use visviva_engine::sea_flight::{Course, Diver, DragLaw, Ended, Facing, creeping_disk, fly};
use visviva_engine::system::{Sea, System};
use visviva_tests::{Table, read_toml};

use crate::kepler::{number, numbers};
use crate::seas::checked;

type Input<'a> = &'a dyn Fn(&str) -> f64;

pub(crate) fn tables() -> Vec<Table> {
    vec![drag_and_added_mass(), dives(), flown()]
}

fn drag_and_added_mass() -> Table {
    checked("flight/hydrodynamics.toml", "published fits and closed forms named in the rows", &|id, name, inputs| {
        let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
        if let Some(law) = match id {
            "sphere-drag-brown-lawler" => Some(DragLaw::Sphere),
            "sphere-drag-schiller-naumann" => Some(DragLaw::SphereSchillerNaumann),
            "sphere-drag-turton-levenspiel" => Some(DragLaw::SphereTurtonLevenspiel),
            _ => None,
        } {
            return Some(numbers(inputs.get("reynolds")?).into_iter().map(|re| law.coefficient(re)).collect());
        }
        let reynolds = input("reynolds");
        let slender = || added_mass::of_spheroid(input("length_over_diameter"));
        let of = |form: fn(f64) -> Moved| added_mass::of(form(input("radius_m")), input("density_kg_m3"));
        let fits = [DragLaw::Sphere, DragLaw::SphereTurtonLevenspiel, DragLaw::SphereMorrison];
        let spread = || fits.map(|law| law.coefficient(reynolds));
        Some(vec![match name {
            "cd" => DragLaw::Sphere.coefficient(reynolds),
            "spread_low" => spread().into_iter().fold(f64::INFINITY, f64::min),
            "spread_high" => spread().into_iter().fold(0.0, f64::max),
            "cd_stokes" => DragLaw::SphereStokes.coefficient(reynolds),
            "cd_oseen" => DragLaw::SphereOseen.coefficient(reynolds),
            "cd_white" => DragLaw::CylinderAcross.coefficient(reynolds),
            "cd_sucker_brauer" => DragLaw::CylinderAcrossSuckerBrauer.coefficient(reynolds),
            "broadside_cd_times_re" => creeping_disk().0,
            "edgewise_cd_times_re" => creeping_disk().1,
            "k_axial" => slender().0,
            "k_lateral" => slender().1,
            "sphere_kg" => of(Moved::Sphere),
            "disk_broadside_kg" => of(Moved::Disk),
            "cylinder_per_length_kg_m" => of(Moved::Cylinder),
            "flat_plate_width2_per_length_kg_m" => of(Moved::Plate),
            "square_side2_per_length_kg_m" => of(Moved::Square),
            "hemisphere_half_submerged_disk_kg" => of(Moved::FloatingDisk),
            "acceleration_up_m_s2" => added_mass::first_acceleration(
                input("mass_kg"),
                input("volume_m3"),
                input("added_mass_coefficient"),
                input("liquid_density_kg_m3"),
                input("gravity_m_s2"),
            ),
            _ => return None,
        }])
    })
}

fn even(input: Input) -> Option<EvenMotion> {
    let drag_area = input("cd") * input("frontal_area_m2");
    let (density, gravity) = (input("liquid_density_kg_m3"), input("gravity_m_s2"));
    EvenMotion::new(input("mass_kg"), input("volume_m3"), input("added_mass_coefficient"), drag_area, density, gravity)
        .ok()
}

fn is_even(id: &str) -> bool {
    id.starts_with("dive-")
}

fn dives() -> Table {
    checked(
        "flight/dive.toml",
        "Newton, Archimedes, von Kármán, shell formulas, as each case says",
        &|id, name, inputs| {
            let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
            let one = match id {
                _ if is_even(id) => {
                    let motion = even(&input)?;
                    match name {
                        // The sign tells the direction.
                        "net_weight_N" | "direction" => motion.net_weight,
                        "terminal_speed_m_s" => motion.terminal_speed,
                        "initial_acceleration_m_s2" => motion.first_acceleration,
                        "time_constant_s" => motion.time_constant,
                        "time_to_cover_distance_s" => motion.time_for(input("distance_m")),
                        _ => return None,
                    }
                }
                _ if id.starts_with("sphere-terminal") || id == "stokes-settling" => {
                    let liquid = Surrounding {
                        density: input("liquid_density_kg_m3"),
                        viscosity: input("viscosity_Pa_s"),
                        gravity: input("gravity_m_s2"),
                    };
                    let law = if id == "stokes-settling" { DragLaw::SphereStokes } else { DragLaw::Sphere };
                    let found = sphere(input("diameter_m"), input("body_density_kg_m3"), law, &liquid).ok()?;
                    match name {
                        "terminal_speed_m_s" => found.speed.abs(),
                        "reynolds" => found.reynolds,
                        "cd" => found.drag_coefficient,
                        _ => return None,
                    }
                }
                _ if id.starts_with("neutral-depth") => {
                    let moduli = (input("water_bulk_modulus_Pa"), input("hull_bulk_modulus_Pa"));
                    let (mass, volume) = (input("mass_kg"), input("volume_surface_m3"));
                    let found =
                        neutral_depth(mass, volume, input("surface_density_kg_m3"), moduli, input("gravity_m_s2"));
                    let found = found.ok()??;
                    match name {
                        "pressure_Pa" => found.pressure,
                        "depth_m" => found.depth,
                        "stable" => f64::from(u8::from(found.stable)),
                        _ => return None,
                    }
                }
                "ballast-drop-balance" => {
                    let (dry_mass, dry_volume) = (input("dry_mass_kg"), input("dry_volume_m3"));
                    let ballast = Ballast { dry_mass, dry_volume, density: input("ballast_density_kg_m3") };
                    let liquid = input("liquid_density_kg_m3");
                    match name {
                        "neutral_ballast_kg" => ballast.for_net(0.0, liquid).ok()?,
                        "ballast_for_sink_kg" => ballast.for_net(input("sink_net_kg"), liquid).ok()?,
                        "lift_after_drop_kg" => ballast.lift_after_drop(liquid),
                        _ => return None,
                    }
                }
                _ if id.starts_with("slam-") => slammed(name, &input)?,
                _ if id.starts_with("pressure-") => pressed(name, &input)?,
                "hull-depth-limit" => depth_limit(
                    input("buckling_pressure_Pa"),
                    input("safety_factor"),
                    input("liquid_density_kg_m3"),
                    input("gravity_m_s2"),
                    input("surface_pressure_Pa"),
                ),
                "air-volume-boyle" => {
                    gas_volume(input("volume_surface_m3"), input("surface_pressure_Pa"), input("depth_pressure_Pa"))
                }
                _ => return None,
            };
            Some(vec![one])
        },
    )
}

fn slammed(name: &str, input: Input) -> Option<f64> {
    let (speed, density) = (input("entry_speed_m_s"), input("liquid_density_kg_m3"));
    let deadrise = input("deadrise_deg").to_radians();
    let slam: Slam = if deadrise.is_nan() {
        round_bottom(input("mass_kg"), input("bottom_radius_m"), speed, density, PileUp::None).ok()?
    } else {
        wedge(input("mass_per_length_kg_m"), deadrise, speed, density, PileUp::None).ok()?
    };
    Some(match name {
        "peak_deceleration_m_s2" => slam.deceleration,
        "peak_deceleration_g" => slam.deceleration / 9.806_65,
        "depth_at_peak_m" => slam.depth,
        "speed_at_peak_m_s" => slam.speed,
        "time_of_peak_s" => slam.time,
        _ => return None,
    })
}

fn pressed(name: &str, input: Input) -> Option<f64> {
    let material = Material { young: input("young_Pa"), poisson: input("poisson") };
    if input("length_m").is_nan() {
        let hull = SphericalHull { inner_radius: input("inner_radius_m"), wall: input("wall_m"), material };
        let found = hull.under(input("external_pressure_Pa")).ok()?;
        return Some(match name {
            "thin_membrane_stress_Pa" => found.membrane,
            "thick_inner_stress_Pa" => found.inner,
            "thick_outer_stress_Pa" => found.outer,
            "buckling_classical_Pa" => found.buckling_perfect,
            "buckling_minimum_practical_Pa" => found.buckling_made,
            _ => return None,
        });
    }
    let hull = TubularHull { radius: input("radius_m"), wall: input("wall_m"), length: input("length_m"), material };
    let found = hull.buckling().ok()?;
    Some(match name {
        "long_tube_buckling_Pa" => found.long,
        "held_ends_buckling_Pa" => found.held,
        "hoop_stress_per_Pa" => found.stress_share,
        _ => return None,
    })
}

/// A sea of one density (its compressibility the least that a file may give, 1e-15 1/Pa) under a gravity.
fn flat_sea(density: f64, gravity: f64, depth: f64) -> Sea {
    // GM = g R² with a radius of 1e6 m.
    let text = format!(
        "epoch = \"2000-01-01T12:00:00 TDB\"\n[[body]]\nname = \"Home\"\ngm = \"{} m^3/s^2\"\nradius = \"1000 km\"\n\
         sea = {{ salinity = \"0 g/kg\", density = \"{density} kg/m^3\", compressibility = \"1e-15 1/Pa\", depth = [\"0 m\", \"{depth} m\"] }}",
        gravity * 1e12
    );
    System::parse(&text, "check").expect("a sound file").root().sea().expect("a sea").clone()
}

/// The closed forms of the even dives flown by the integrator: times to 1e-7, the rows' own tolerance; the audit of work and energy to 1e-9.
fn flown() -> Table {
    let mut table = Table::new("flight/dive.toml (integrated)", "the closed forms of the rows, against the flown dive");
    for case in read_toml("flight/dive.toml")["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        if !is_even(id) {
            continue;
        }
        let input = |name: &str| number(&case["inputs"], name).unwrap_or(f64::NAN);
        let expected = number(&case["expected"], "time_to_cover_distance_s").unwrap_or(f64::NAN);
        let way = input("distance_m");
        let down = case["expected"]["direction"].as_str() == Some("down");
        let sea = flat_sea(input("liquid_density_kg_m3"), input("gravity_m_s2"), way + 1.0);
        let facing = Facing::constant(input("cd") * input("frontal_area_m2"), input("added_mass_coefficient"));
        let diver = Diver {
            mass: input("mass_kg"),
            ballast: 0.0,
            ballast_density: None,
            volume: input("volume_m3"),
            bulk_modulus: None,
            along: facing,
            across: facing,
            height: 0.0,
            half_width: 0.0,
            rated_pressure: None,
            rated_contact: None,
            power: 0.0,
            battery: None,
        };
        let (from, to) = if down { (0.0, way) } else { (way, 0.0) };
        let course = Course {
            from,
            to,
            tilt: 0.0,
            thrust: 0.0,
            current: Vec::new(),
            with_ballast: true,
            velocity: [0.0; 2],
            offset: 0.0,
            start: 0.0,
            longest: 1e6,
        };
        match fly(&diver, &sea, &course, &Watch::none()) {
            Ok(leg) if leg.ended == Ended::There => {
                // The flown sea gives way by 1e-15 1/Pa, the least that a file may say: its lift grows by that share of what the body displaces.
                let displaced = input("liquid_density_kg_m3") * input("volume_m3");
                let give = 1e-15 * input("liquid_density_kg_m3") * input("gravity_m_s2") * way;
                let bound = 1e-7 + 0.5 * give * displaced / (input("mass_kg") - displaced).abs();
                table.relative(format!("{id} time"), leg.duration(), expected, bound);
                let terminal = number(&case["expected"], "terminal_speed_m_s").unwrap_or(f64::NAN);
                table.relative(format!("{id} speed at the end"), leg.end.sinking.abs(), terminal, bound);
                table.add(format!("{id} work and energy"), (leg.residual / leg.weight_work).abs(), 1e-9, "relative");
            }
            Ok(leg) => table.failed(id, format!("ended {:?}", leg.ended)),
            Err(error) => table.failed(id, error),
        }
    }
    table
}
