//! Constant acceleration along the radius and along the velocity, flown from a circle: the rows of `finite_burn.toml` with a closed form behind them.

use visviva_engine::motion::{Crossing, Events, Field, Point, Watched, gauss};
use visviva_engine::numerics::lanes::Lane;
use visviva_engine::numerics::watch::Watch;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// GM of the Earth as the head of the file gives it, m³/s².
const GM: f64 = 3.986004418e14;

pub(crate) fn table() -> Table {
    let mut table = Table::new("flight/finite_burn.toml, constant acceleration", "Tsien 1953; Edelbaum 1961");
    for case in read_toml("flight/finite_burn.toml")["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let input = |name: &str| number(&case["inputs"], name).unwrap_or(f64::NAN);
        let answers = if id.starts_with("constant-radial-thrust-escape") {
            let radius = 1e3 * input("radius_km");
            let share = escape(radius);
            vec![("threshold_m_s2", share * GM / (radius * radius)), ("threshold_over_local_g", share)]
        } else if id.starts_with("constant-radial-thrust-apse") {
            let radius = 1e3 * input("radius_km");
            let apse = radially(radius, input("acceleration_over_local_g")).unwrap_or(f64::NAN);
            vec![("apse_radius_km", 1e-3 * apse)]
        } else if id.starts_with("low-thrust-spiral") {
            let push = input("acceleration_m_s2");
            let time = spiral(1e3 * input("r0_km"), 1e3 * input("r1_km"), push);
            vec![("dv_m_s", push * time), ("time_s", time)]
        } else {
            continue;
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
    table
}

/// A point mass and a thrust of constant acceleration, along the radius or the velocity, in a plane.
struct Pushed {
    push: f64,
    radial: bool,
}

#[inline(always)]
fn dot<L: Lane>(a: &[L; 2], b: &[L; 2]) -> L {
    a[0].mul_add(b[0], a[1] * b[1])
}

impl Field<2> for Pushed {
    type Prepared<L: Lane> = ();

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 2], v: &[L; 2]) -> [L; 2] {
        let square = dot(x, x);
        let pull = L::splat(-GM) / (square * square.sqrt());
        let along = if self.radial { *x } else { *v };
        let push = L::splat(self.push) / dot(&along, &along).sqrt();
        [pull * x[0] + push * along[0], pull * x[1] + push * along[1]]
    }
}

/// The apse (falling radial speed), a radius beyond return, and the energy of a circle.
struct Reached {
    far: f64,
    energy: f64,
}

impl Events<2, 3> for Reached {
    fn watched(&self) -> [Watched; 3] {
        [Watched::ending(Crossing::Falling), Watched::ending(Crossing::Rising), Watched::ending(Crossing::Rising)]
    }

    #[inline(always)]
    fn values<L: Lane>(&self, _time: L, x: &[L; 2], v: &[L; 2]) -> [L; 3] {
        let radius = dot(x, x).sqrt();
        [dot(x, v), radius - self.far, dot(v, v) * 0.5 - L::splat(GM) / radius - self.energy]
    }
}

/// From a circle until something is reached: what, and where.
fn flown(radius: f64, field: &Pushed, reached: &Reached) -> Option<(usize, Point<2>)> {
    let speed = (GM / radius).sqrt();
    let start = Point { time: 0.0, position: [radius, 0.0], velocity: [0.0, speed] };
    // A thousand turns: none of the cases takes a third of them.
    let until = 1000.0 * std::f64::consts::TAU * radius / speed;
    let (path, met) = gauss::integrate(field, start, until, 1e-13, reached, &Watch::none()).ok()?;
    met.last().map(|met| (met.which, path.end()))
}

/// Radius of the apse under a radial acceleration, in shares of the local gravity at the start; none where the flight does not return.
///
/// The apse of the threshold is at twice the radius [Tsien1953]: who passes 2.01 does not come back.
fn radially(radius: f64, share: f64) -> Option<f64> {
    let reached = Reached { far: 2.01 * radius, energy: 1e300 };
    let (which, there) = flown(radius, &Pushed { push: share * GM / (radius * radius), radial: true }, &reached)?;
    (which == 0).then(|| there.position[0].hypot(there.position[1]))
}

/// The least radial acceleration that escapes, in shares of the local gravity, by halves.
fn escape(radius: f64) -> f64 {
    let (mut returns, mut escapes) = (0.05, 0.5);
    while escapes - returns > 1e-11 {
        let middle = 0.5 * (returns + escapes);
        if radially(radius, middle).is_some() { returns = middle } else { escapes = middle }
    }
    0.5 * (returns + escapes)
}

/// Time of a spiral along the velocity from a circle to the energy of another, s.
fn spiral(from: f64, to: f64, push: f64) -> f64 {
    // The apses of a spiral are no end: only the energy is watched for.
    let reached = Reached { far: 1e300, energy: -0.5 * GM / to };
    struct Energy(Reached);
    impl Events<2, 1> for Energy {
        fn watched(&self) -> [Watched; 1] {
            [Watched::ending(Crossing::Rising)]
        }
        #[inline(always)]
        fn values<L: Lane>(&self, time: L, x: &[L; 2], v: &[L; 2]) -> [L; 1] {
            [self.0.values(time, x, v)[2]]
        }
    }
    let speed = (GM / from).sqrt();
    let start = Point { time: 0.0, position: [from, 0.0], velocity: [0.0, speed] };
    // At constant speed gained per second the whole speed would be lost: the longest spiral there is.
    let until = 2.0 * speed / push;
    gauss::integrate(&Pushed { push, radial: false }, start, until, 1e-12, &Energy(reached), &Watch::none())
        .ok()
        .filter(|(_, met)| !met.is_empty())
        .map_or(f64::NAN, |(path, _)| path.end().time)
}
