//! Ascents: gravity turns by their equations of motion, what the ground's rotation gives, linear-tangent steering, and what launchers lose on their way.

use std::f64::consts::FRAC_PI_2;

use visviva_engine::air_flight::ascent::{
    Ascent, Entry, FlatTask, GravityTurn, LinearTangent, Plane, Settings, Target, Task, ascend, azimuth,
};
use visviva_engine::conic::State;
use visviva_engine::motion::force::{Attitude, Craft, Quantity, Stop, Surroundings, Throttle, Thrust};
use visviva_engine::motion::passage::fly;
use visviva_engine::motion::{Crossing, Events, Field, NoEvents, Point, Watched, gauss};
use visviva_engine::numerics::lanes::{Lane, exponential};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::vector::Vec3;
use visviva_engine::vehicle::Vehicle;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

const FILE: &str = "flight/ascent.toml";

/// Error that a step may add.
const TOLERANCE: f64 = 1e-12;

type Answers = Result<Vec<(&'static str, f64)>, String>;

/// Closed forms, equations of motion, rotation: every case of the file with an answer. Cases of one kind are told by their inputs.
pub(crate) fn table() -> Table {
    let mut table = Table::new(FILE, "Culler and Fried 1957; textbook gravity turn; v = omega R cos(latitude)");
    compare(&mut table, FILE, |inputs| {
        if inputs.get("final_angle_from_vertical_deg").is_some() {
            Some(closed_form(inputs))
        } else if inputs.get("mass_ratio").is_some() {
            Some(turn(inputs))
        } else if inputs.get("rotation_rate_rad_s").is_some() {
            Some(rotation(inputs))
        } else {
            None
        }
    });
    table
}

/// Steering of least time over flat ground.
pub(crate) fn steering_table() -> Table {
    let file = "flight/trajectory_optimisation.toml";
    let mut table = Table::new("flight/trajectory_optimisation.toml, steering", "COPS 3.0; Bryson and Ho, section 2.4");
    compare(&mut table, file, |inputs| {
        (inputs.get("final_vx").is_some() || inputs.get("final_vx_m_s").is_some()).then(|| steering(inputs))
    });
    table
}

fn compare(table: &mut Table, file: &str, answer: impl Fn(&toml::Value) -> Option<Answers>) {
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let answers = match answer(&case["inputs"]) {
            None => continue,
            Some(Err(why)) => {
                table.failed(id, why);
                continue;
            }
            Some(Ok(answers)) => answers,
        };
        let bound = number(case, "rel_tol").unwrap_or(1e-6);
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let expected = expected.as_float().expect("a number");
            match answers.iter().find(|(answer, _)| answer == name) {
                Some((_, got)) => table.relative(format!("{id} {name}"), *got, expected, bound),
                None => table.failed(format!("{id} {name}"), "nothing computed under this name"),
            }
        }
    }
}

fn closed_form(inputs: &toml::Value) -> Answers {
    let input = |name: &str| number(inputs, name).ok_or_else(|| format!("no input {name}"));
    let start = input("initial_angle_from_vertical_deg")?.to_radians();
    let turn = GravityTurn::new(input("thrust_to_weight")?, start, input("initial_speed_m_s")?, input("gravity_m_s2")?)
        .ok_or("out of range")?;
    let there = turn.at(input("final_angle_from_vertical_deg")?.to_radians()).ok_or("not ahead")?;
    Ok(vec![
        ("final_speed_m_s", there.speed),
        ("time_s", there.time),
        ("downrange_m", there.downrange),
        ("altitude_m", there.height),
    ])
}

/// A gravity turn over a round Earth at rest, through exponential air, in a plane about its centre. Mass, drag loss and gravity loss ride as speeds
/// beside the place.
#[derive(Clone, Copy)]
struct Turn {
    gm: f64,
    radius: f64,
    thrust: f64,
    flow: f64,
    /// Density at the ground times drag coefficient times area, halved, kg/m.
    drag: f64,
    scale: f64,
    /// Straight up still, however slow.
    vertical: bool,
}

#[inline(always)]
fn dot<L: Lane>(a: [L; 2], b: [L; 2]) -> L {
    a[0].mul_add(b[0], a[1] * b[1])
}

impl Field<5> for Turn {
    type Prepared<L: Lane> = ();
    const LEADING: usize = 2;

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 5], v: &[L; 5]) -> [L; 5] {
        let (place, motion) = ([x[0], x[1]], [v[0], v[1]]);
        let square = dot(place, place);
        let distance = square.sqrt();
        let speed_square = dot(motion, motion);
        let along = if self.vertical {
            [place[0] / distance, place[1] / distance]
        } else {
            let speed = speed_square.sqrt();
            [motion[0] / speed, motion[1] / speed]
        };
        let depth = (distance - L::splat(self.radius)) * (-1.0 / self.scale);
        let drag = speed_square * exponential(depth) * self.drag / v[2];
        let push = L::splat(self.thrust) / v[2] - drag;
        let pull = L::splat(-self.gm) / (square * distance);
        let fall = [pull * place[0], pull * place[1]];
        let zero = L::splat(0.0);
        [fall[0] + push * along[0], fall[1] + push * along[1], L::splat(-self.flow), drag, zero - dot(fall, along)]
    }
}

/// Ends the vertical rise at a distance from the centre.
struct Above(f64);

impl Events<5, 1> for Above {
    fn watched(&self) -> [Watched; 1] {
        [Watched::ending(Crossing::Rising)]
    }

    #[inline(always)]
    fn values<L: Lane>(&self, _time: L, x: &[L; 5], _v: &[L; 5]) -> [L; 1] {
        [dot([x[0], x[1]], [x[0], x[1]]).sqrt() - L::splat(self.0)]
    }
}

fn turn(inputs: &toml::Value) -> Answers {
    let input = |name: &str| number(inputs, name).ok_or_else(|| format!("no input {name}"));
    let (mass, gravity, radius) = (input("initial_mass_kg")?, input("gravity_m_s2")?, input("earth_radius_m")?);
    let exhaust = input("isp_s")? * gravity;
    let thrust = input("thrust_to_weight")? * mass * gravity;
    let burn = mass * (1.0 - 1.0 / input("mass_ratio")?) * exhaust / thrust;
    let area = std::f64::consts::FRAC_PI_4 * input("diameter_m")?.powi(2);
    let rise = Turn {
        gm: gravity * radius * radius,
        radius,
        thrust,
        flow: thrust / exhaust,
        drag: 0.5 * input("rho0_kg_m3")? * input("cd")? * area,
        scale: input("scale_height_m")?,
        vertical: true,
    };
    let pitch_over = radius + input("pitchover_altitude_m")?;
    let path = input("flight_path_at_pitchover_deg")?.to_radians();
    let start = Point { time: 0.0, position: [radius, 0.0, 0.0, 0.0, 0.0], velocity: [0.0, 0.0, mass, 0.0, 0.0] };
    let (up, met) = gauss::integrate(&rise, start, burn, TOLERANCE, &Above(pitch_over), &Watch::none())
        .map_err(|error| error.to_string())?;
    if met.is_empty() {
        return Err("it does not rise to the pitch-over".to_owned());
    }
    let mut turned = up.end();
    let speed = turned.velocity[0];
    (turned.velocity[0], turned.velocity[1]) = (speed * path.sin(), speed * path.cos());
    let turn = Turn { vertical: false, ..rise };
    let (flight, _) = gauss::integrate(&turn, turned, burn, TOLERANCE, &NoEvents, &Watch::none())
        .map_err(|error| error.to_string())?;
    let end = flight.end();
    let [x, y, ..] = end.position;
    let [u, v, _, drag_loss, gravity_loss] = end.velocity;
    // Without air the engine's own forces have this geometry: they must fly the same.
    if rise.drag == 0.0 {
        let (speed, loss) = by_the_forces(&rise, mass, pitch_over, path, burn)?;
        // Both errors are some hundred steps of 1e-12 of 1e4 m/s, grown in a turn that begins slowly.
        if !((speed - u.hypot(v)).abs() < 1e-3 && (loss - gravity_loss).abs() < 1e-3) {
            return Err(format!("by the engine's forces {speed} m/s, gravity loss {loss} m/s"));
        }
    }
    Ok(vec![
        ("final_speed_m_s", u.hypot(v)),
        ("final_flight_path_deg", (u * x + v * y).atan2(v * x - u * y).to_degrees()),
        ("downrange_m", radius * y.atan2(x)),
        ("altitude_m", x.hypot(y) - radius),
        ("drag_loss_m_s", drag_loss),
        ("gravity_loss_m_s", gravity_loss),
    ])
}

/// Speed at burnout and gravity loss of the same turn by the engine's forces.
fn by_the_forces(turn: &Turn, mass: f64, pitch_over: f64, path: f64, burn: f64) -> Result<(f64, f64), String> {
    let around = Surroundings::point(turn.gm);
    let craft = |attitude: Attitude| {
        let exhaust_speed = turn.thrust / turn.flow;
        let throttle = Throttle::Share(1.0);
        Craft {
            thrust: Some(Thrust { vacuum: turn.thrust, exit_area: 0.0, exhaust_speed, throttle, attitude }),
            drag: None,
        }
    };
    let start = Point { time: 0.0, position: [turn.radius, 0.0, 0.0, 0.0], velocity: [0.0, 0.0, 0.0, mass] };
    let stop = [Stop::ending(Quantity::Radius(pitch_over), Crossing::Rising)];
    let said = |error: visviva_engine::motion::IntegrationError| error.to_string();
    let mut flown = fly(&around, &craft(Attitude::Up), start, burn, TOLERANCE, &stop, &Watch::none()).map_err(said)?;
    let mut turned = flown.end;
    let speed = turned.velocity[0];
    (turned.velocity[0], turned.velocity[1]) = (speed * path.sin(), speed * path.cos());
    let along = craft(Attitude::Along { sign: 1.0 });
    flown.join(fly(&around, &along, turned, burn, TOLERANCE, &[], &Watch::none()).map_err(said)?);
    let accounts = flown.accounts(&around);
    Ok((accounts.end_speed, accounts.gravity))
}

/// What the ground's motion gives: of a place that turns with the surroundings. Due east the azimuth takes it whole.
fn rotation(inputs: &toml::Value) -> Answers {
    let input = |name: &str| number(inputs, name).ok_or_else(|| format!("no input {name}"));
    let (gm, radius) = (1e9 * input("gm_km3_s2")?, 1e3 * input("radius_km")?);
    let latitude = number(inputs, "latitude_deg").unwrap_or(0.0).to_radians();
    let mut around = Surroundings::point(gm);
    around.turning = Vec3::z() * input("rotation_rate_rad_s")?;
    let place = Vec3::new(latitude.cos(), 0.0, latitude.sin()) * radius;
    let ground = around.air_velocity(&place);
    let circle = radius + 1e3 * input("orbit_altitude_km")?;
    let target = Target { periapsis: circle, apoapsis: circle, plane: Plane::Free };
    let speed = target.speed(gm, circle);
    let east = azimuth(latitude, latitude, false, ground.norm(), speed);
    // The arcsine of a cosine loses half the digits near a right angle.
    if (east.launch - FRAC_PI_2).abs() > 1e-7 || ground.y != ground.norm() {
        return Err(format!("due east is azimuth {} rad, the ground moves {ground} m/s", east.launch));
    }
    Ok(vec![("surface_rotation_m_s", ground.norm()), ("circular_speed_m_s", speed)])
}

fn steering(inputs: &toml::Value) -> Answers {
    // One case is without units.
    let input = |name: &str, unit: &str| {
        number(inputs, name).or_else(|| number(inputs, &format!("{name}_{unit}"))).ok_or(format!("no input {name}"))
    };
    let height = number(inputs, "final_y").map_or_else(|| input("final_altitude", "m"), Ok)?;
    let task = FlatTask {
        acceleration: input("acceleration", "m_s2")?,
        gravity: input("gravity", "m_s2")?,
        height,
        horizontal_speed: input("final_vx", "m_s")?,
        vertical_speed: input("final_vy", "m_s")?,
    };
    let found = LinearTangent::of_least_time(&task).ok_or("no steering was found")?;
    let spent = task.acceleration * found.time;
    Ok(vec![
        ("final_time", found.time),
        ("final_time_s", found.time),
        ("initial_angle_rad", found.initial_angle()),
        ("initial_pitch_deg", found.initial_angle().to_degrees()),
        ("tangent_rate", found.rate),
        ("tangent_rate_1_s", found.rate),
        ("dv_spent_m_s", spent),
        ("loss_m_s", spent - task.horizontal_speed.hypot(task.vertical_speed)),
    ])
}

/// Budgets of launchers that have flown: their terms add up, their speeds are of their orbits; and our own launcher, flown to the same orbits, loses
/// to gravity, drag and steering within the spread of what they lose.
pub(crate) fn budgets_table() -> Table {
    let mut table = Table::new("flight/ascent.toml, loss budgets", "Humble, Henry and Larson 1995, table of ascents");
    let file = read_toml(FILE);
    let cases: Vec<&toml::Value> = file["case"]
        .as_array()
        .expect("cases")
        .iter()
        .filter(|case| case["expected"].get("ideal_dv_m_s").is_some())
        .collect();
    let losses = ["gravity_loss_m_s", "drag_loss_m_s", "steering_loss_m_s"];
    let of = |case: &toml::Value, name: &str| number(&case["expected"], name).unwrap_or(f64::NAN);
    let earth = System::embedded("sol", EphemerisChoice::Default).and_then(|sol| sol.body("Earth")).expect("the Earth");
    for case in &cases {
        let id = case["id"].as_str().expect("text");
        let sum = of(case, "orbit_speed_m_s")
            + losses.iter().map(|name| of(case, name)).sum::<f64>()
            + of(case, "rotation_gain_m_s");
        // Six figures rounded to 1 m/s each.
        table.add(format!("{id} sum"), (sum - of(case, "ideal_dv_m_s")).abs(), 3.0, "m/s");
        let input = |name: &str| number(&case["inputs"], name).unwrap_or(f64::NAN);
        let target = Target {
            periapsis: earth.radius() + 1e3 * input("perigee_km"),
            apoapsis: earth.radius() + 1e3 * input("apogee_km"),
            plane: Plane::Inclined(input("inclination_deg").to_radians()),
        };
        let bound = number(case, "rel_tol").unwrap_or(0.02);
        let speed = target.speed(earth.gm(), target.periapsis);
        table.relative(format!("{id} orbit_speed"), speed, of(case, "orbit_speed_m_s"), bound);
        let ours = match from_the_earth(&earth, target, input("inclination_deg").to_radians()) {
            Ok(losses) => losses,
            Err(why) => {
                table.failed(id, why);
                continue;
            }
        };
        for (name, ours) in losses.iter().zip(ours) {
            let published = cases.iter().map(|case| of(case, name));
            let (least, most) =
                published.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), loss| (a.min(loss), b.max(loss)));
            // What is searched for the greatest mass may steer less than all that have flown (31 m/s against 33 to one of the orbits): less is no fault.
            let least = if name.starts_with("steering") { 0.0 } else { least };
            // How far outside the spread of the rows: not at all.
            table.add(format!("{id} ours, {name} {ours:.0}"), (least - ours).max(ours - most).max(0.0), 0.0, "m/s");
        }
    }
    table
}

/// What the launcher `petrel` loses to gravity, drag and steering, m/s, due east from the latitude of the inclination.
fn from_the_earth(earth: &visviva_engine::system::Body, target: Target, latitude: f64) -> Result<[f64; 3], String> {
    let petrel = Vehicle::embedded("petrel").map_err(|error| error.to_string())?;
    let epoch = earth.system().epoch();
    let around = Surroundings::of(earth, epoch);
    let (sin, cos) = latitude.sin_cos();
    let (wide, tall) = (earth.radius(), earth.polar_radius());
    // The place whose direction from the centre has this latitude: inclination and latitude are both meant so.
    let distance = wide * tall / (tall * cos).hypot(wide * sin);
    let place = earth.body_fixed(epoch) * Vec3::new(distance * cos, 0.0, distance * sin);
    let settings = Settings { entry: Entry::Direct, ..Settings::default() };
    let task = Task {
        body: earth,
        around: &around,
        pad: State::new(place, around.air_velocity(&place)),
        north: earth.pole(epoch),
        vehicle: &petrel,
        target,
        settings: &settings,
    };
    let ascent = ascend(&task, &Watch::none()).map_err(|error| error.to_string())?;
    let area = petrel.drag_area().ok_or("no drag area")?;
    Ok(against_the_ground(&ascent, &around, area))
}

/// Losses to gravity, drag and steering against the velocity over the turning ground, m/s. So the rows must be meant: they count the rotation once, as
/// a gain, and against the inertial velocity the vertical rise alone would be some 250 m/s of steering, several times what most of them have.
fn against_the_ground(ascent: &Ascent, around: &Surroundings, area: f64) -> [f64; 3] {
    let [mut gravity, mut drag] = [0.0; 2];
    // The middle rule errs by some 1e-4 m/s with steps of a tenth of a second.
    let steps = 5000;
    let step = ascent.time / f64::from(steps);
    for k in 0..steps {
        let point = ascent.flown.at((f64::from(k) + 0.5) * step);
        let [x, y, z, _] = point.position;
        let [u, v, w, mass] = point.velocity;
        let place = Vec3::new(x, y, z);
        let motion = Vec3::new(u, v, w) - around.air_velocity(&place);
        // The oblateness is a thousandth of it, 1 m/s in all. The turning ground's axes add the centrifugal force; Coriolis's does no work.
        let pull = place * (-around.gravity.gm() / place.norm().powi(3));
        let outward = -around.turning.cross(&around.turning.cross(&place));
        gravity -= step * (pull + outward).dot(&motion) / motion.norm();
        drag += step * 0.5 * around.density(around.height(&place)) * motion.norm_squared() * area / mass;
    }
    let end = (ascent.state.velocity - around.air_velocity(&ascent.state.position)).norm();
    [gravity, drag, ascent.accounts.ideal - ascent.accounts.pressure - gravity - drag - end]
}
