//! Optimal flight: the sounding rocket that climbs highest (Goddard's problem) and the transfer under constant thrust that reaches the widest circle.
//!
//! The optimal controls are the textbooks' (full thrust, singular arc, coast; the primer vector); what is checked is that the engine's integrator,
//! events and solvers find the published figures from them. Cases of one kind are told by their inputs, so that rows added to the file are flown too.

use visviva_engine::motion::{Crossing, Events, Field, NoEvents, Point, Watched, gauss};
use visviva_engine::numerics::lanes::{Lane, exponential};
use visviva_engine::numerics::least_squares::{self, Options};
use visviva_engine::numerics::watch::Watch;
use visviva_tests::{Table, read_toml};

use crate::kepler::number;

/// Error that a step may add: all the figures of the file have nine digits.
const TOLERANCE: f64 = 1e-13;

/// Every case of the file with these inputs; those of other kinds have a table of their own.
pub(crate) fn table() -> Table {
    let mut table =
        Table::new("flight/trajectory_optimisation.toml", "COPS 3.0, problem 10; Bryson and Ho, section 2.5");
    for case in read_toml("flight/trajectory_optimisation.toml")["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let inputs = &case["inputs"];
        let answers = if inputs.get("Dc").is_some() {
            climb(inputs)
        } else if inputs.get("mass_flow").is_some() {
            widest(inputs)
        } else {
            continue;
        };
        let answers = match answers {
            Ok(answers) => answers,
            Err(why) => {
                table.failed(id, why);
                continue;
            }
        };
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let row = format!("{id} {name}");
            let expected = expected.as_float().expect("a number");
            // A table of tolerances names quantities by their beginning; one that it does not name has the file's 1e-6.
            let named = case.get("tol").and_then(toml::Value::as_table).and_then(|all| {
                all.iter().filter(|(start, _)| name.starts_with(*start)).max_by_key(|(start, _)| start.len())
            });
            let bound =
                named.and_then(|(_, bound)| bound.as_float()).or_else(|| number(case, "rel_tol")).unwrap_or(1e-6);
            match answers.iter().find(|(answer, _)| answer == name) {
                Some((_, got)) => table.relative(row, *got, expected, bound),
                None => table.failed(row, "nothing computed under this name"),
            }
        }
    }
    table
}

type Answers = Result<Vec<(&'static str, f64)>, String>;

/// A rocket that climbs straight up through an exponential atmosphere; height in the first component, mass riding in the second.
#[derive(Clone, Copy)]
struct Climb {
    ground: f64,
    gravity: f64,
    drag: f64,
    /// The density falls by e over ground / this.
    decline: f64,
    exhaust: f64,
    full: f64,
    empty: f64,
    phase: Phase,
}

#[derive(Clone, Copy, PartialEq)]
enum Phase {
    Full,
    Singular,
    Coast,
}

impl Climb {
    #[inline(always)]
    fn forces<L: Lane>(&self, height: L, speed: L) -> (L, L) {
        let depth = (height - self.ground) * (-self.decline / self.ground);
        let near = L::splat(self.ground) / height;
        (speed * speed * exponential(depth) * self.drag, near * near * self.gravity)
    }

    /// The law of the singular arc, m g = (1 + v/c) D: above zero thrust pays, below it does not. [BrysonHo1975], as the file cites it.
    #[inline(always)]
    fn switch<L: Lane>(&self, height: L, speed: L, mass: L) -> L {
        let (drag, gravity) = self.forces(height, speed);
        mass * gravity - (speed * (1.0 / self.exhaust) + 1.0) * drag
    }

    /// The thrust that keeps the law: its derivative along the motion is zero.
    #[inline(always)]
    fn singular<L: Lane>(&self, height: L, speed: L, mass: L) -> L {
        let (drag, gravity) = self.forces(height, speed);
        let share = speed * (1.0 / self.exhaust) + 1.0;
        // Derivatives of (1 + v/c) D by the speed, and of both sides by the height.
        let by_speed = share * drag * 2.0 / speed + drag * (1.0 / self.exhaust);
        let by_height = share * drag * (self.decline / self.ground) - mass * gravity * 2.0 / height;
        let still = by_height * speed + by_speed * (drag / mass + gravity);
        still / (gravity * (1.0 / self.exhaust) + by_speed / mass)
    }
}

impl Field<2> for Climb {
    type Prepared<L: Lane> = ();
    const LEADING: usize = 1;

    #[inline(always)]
    fn prepare<L: Lane>(&self, _time: L) {}

    #[inline(always)]
    fn acceleration<L: Lane>(&self, (): &(), _time: L, x: &[L; 2], v: &[L; 2]) -> [L; 2] {
        let thrust = match self.phase {
            Phase::Full => L::splat(self.full),
            Phase::Singular => self.singular(x[0], v[0], v[1]),
            Phase::Coast => L::splat(0.0),
        };
        let (drag, gravity) = self.forces(x[0], v[0]);
        [(thrust - drag) / v[1] - gravity, thrust * (-1.0 / self.exhaust)]
    }
}

/// What ends a phase: the law of the singular arc is met, the propellant is spent, the top is reached.
struct Ends(Climb);

impl Events<2, 3> for Ends {
    fn watched(&self) -> [Watched; 3] {
        [Watched::ending(Crossing::Falling); 3]
    }

    #[inline(always)]
    fn values<L: Lane>(&self, _time: L, x: &[L; 2], v: &[L; 2]) -> [L; 3] {
        let never = L::splat(1.0);
        match self.0.phase {
            Phase::Full => [self.0.switch(x[0], v[0], v[1]), v[1] - self.0.empty, never],
            Phase::Singular => [never, v[1] - self.0.empty, never],
            Phase::Coast => [never, never, v[0]],
        }
    }
}

/// Flies one phase to its end; which event ended it.
fn flown(climb: Climb, start: Point<2>) -> Result<(Point<2>, usize), String> {
    // No phase outlasts a fall from the ground to the centre of a uniform body ten times over.
    let longest = 10.0 * (climb.ground / climb.gravity).sqrt();
    let (path, met) = gauss::integrate(&climb, start, start.time + longest, TOLERANCE, &Ends(climb), &Watch::none())
        .map_err(|error| error.to_string())?;
    met.last().map(|met| (path.end(), met.which)).ok_or_else(|| "a phase without an end".to_owned())
}

/// Goddard's problem, the switch to the singular arc found by its law.
fn climb(inputs: &toml::Value) -> Answers {
    let input = |name: &str| number(inputs, name).ok_or_else(|| format!("no input {name}"));
    let climb = Climb {
        ground: input("h0")?,
        gravity: input("g0")?,
        drag: input("Dc")?,
        decline: input("hc")?,
        exhaust: input("c")?,
        full: input("Tmax")?,
        empty: input("mc")? * input("m0")?,
        phase: Phase::Full,
    };
    let start = Point { time: 0.0, position: [climb.ground, 0.0], velocity: [input("v0")?, input("m0")?] };
    let (full, why) = flown(climb, start)?;
    let after = |full: Point<2>| -> Result<(Point<2>, Point<2>), String> {
        let arc = if why == 0 { flown(Climb { phase: Phase::Singular, ..climb }, full)?.0 } else { full };
        Ok((arc, flown(Climb { phase: Phase::Coast, ..climb }, arc)?.0))
    };
    let (arc, top) = after(full)?;
    if why == 0 {
        let thrust = |at: &Point<2>| climb.singular(at.position[0], at.velocity[0], at.velocity[1]);
        for at in [&full, &arc] {
            if !(thrust(at) >= 0.0 && thrust(at) <= climb.full) {
                return Err(format!("the singular arc asks for a thrust of {}", thrust(at)));
            }
        }
        // The law still holds where the arc ends, to what the tolerance leaves of the weight.
        let off = climb.switch(arc.position[0], arc.velocity[0], arc.velocity[1]) / (arc.velocity[1] * climb.gravity);
        if !(off.abs() < 1e-9) {
            return Err(format!("the arc has left its law by {off:e} of the weight"));
        }
        // A switch a little earlier or later, the arc kept in parallel, climbs less high: the optimum.
        for shift in [-0.02, 0.02] {
            let until = full.time * (1.0 + shift);
            let early = gauss::integrate(&climb, start, until, TOLERANCE, &NoEvents, &Watch::none())
                .map_err(|error| error.to_string())?;
            let (_, lower) = after(early.0.end())?;
            if !(lower.position[0] < top.position[0]) {
                return Err(format!(
                    "a switch {shift} later climbs to {}, not below {}",
                    lower.position[0], top.position[0]
                ));
            }
        }
    }
    Ok(vec![
        ("final_height", top.position[0]),
        ("final_time", top.time),
        ("end_of_full_thrust_t", full.time),
        ("end_of_singular_arc_t", arc.time),
        ("height_at_end_of_burn", arc.position[0]),
        ("speed_at_end_of_burn", arc.velocity[0]),
        ("mass_at_end_of_full_thrust", full.velocity[1]),
    ])
}

/// A craft under constant thrust along its primer vector, in polar coordinates: radius in the first component; transverse speed and the three
/// adjoint variables of radius and speeds ride beside it.
struct Primer {
    gm: f64,
    thrust: f64,
    mass: f64,
    flow: f64,
}

impl Field<5> for Primer {
    type Prepared<L: Lane> = L;
    const LEADING: usize = 1;

    /// Thrust over mass.
    #[inline(always)]
    fn prepare<L: Lane>(&self, time: L) -> L {
        L::splat(self.thrust) / time.neg_mul_add(L::splat(self.flow), L::splat(self.mass))
    }

    #[inline(always)]
    fn acceleration<L: Lane>(&self, push: &L, _time: L, x: &[L; 5], v: &[L; 5]) -> [L; 5] {
        let (radius, [up, across, by_radius, by_up, by_across]) = (x[0], *v);
        let near = L::splat(1.0) / radius;
        let pull = near * near * self.gm;
        let turn = across * near;
        let primer = (by_up * by_up + by_across * by_across).sqrt();
        let push = *push / primer;
        [
            across * turn - pull + push * by_up,
            push * by_across - up * turn,
            by_up * (turn * turn - pull * near * 2.0) - by_across * turn * up * near,
            by_across * turn - by_radius,
            by_across * up * near - by_up * turn * 2.0,
        ]
    }
}

/// The widest circle at a time given: the adjoints at the start for which the orbit at the end is a circle. [BrysonHo1975], section 2.5, as the file cites it.
fn widest(inputs: &toml::Value) -> Answers {
    let input = |name: &str| number(inputs, name).ok_or_else(|| format!("no input {name}"));
    let (gm, radius, until) = (input("gm")?, input("initial_radius")?, input("transfer_time")?);
    let primer = Primer { gm, thrust: input("thrust")?, mass: input("initial_mass")?, flow: input("mass_flow")? };
    let speed = (gm / radius).sqrt();
    // Only the direction of the adjoints matters: the one of the radius is 1 over the time unit, the others have an angle and a size.
    let end = |x: &[f64]| {
        let start = Point {
            time: 0.0,
            position: [radius, 0.0, 0.0, 0.0, 0.0],
            velocity: [0.0, speed, speed / radius, x[1] * x[0].sin(), x[1] * x[0].cos()],
        };
        gauss::integrate(&primer, start, until, TOLERANCE, &NoEvents, &Watch::none()).map(|path| path.0.end())
    };
    let residuals = |x: &[f64]| {
        end(x).map(|end| {
            let circular = (gm / end.position[0]).sqrt();
            vec![end.velocity[0] / circular / 1e-10, (end.velocity[1] / circular - 1.0) / 1e-10]
        })
    };
    let options = Options { central: true, evaluations: 400, ..Options::default() };
    let mut best: Option<f64> = None;
    // The steering angle at the start and the size of the primer, over what they may be.
    for angle in [0.0, 0.4, 0.8, 1.2] {
        for size in [0.5, 1.0, 2.0] {
            let bounds = [(-3.2, 3.2), (0.05, 20.0)];
            let Ok(fit) =
                least_squares::solve(&[angle, size], &[0.1, 0.1], &bounds, residuals, &options, &Watch::none())
            else {
                continue;
            };
            let Ok(end) = end(&fit.x) else { continue };
            let [_, across, by_radius, _, by_across] = end.velocity;
            // A larger radius must be what the adjoints stand for, not a smaller one.
            let gain = by_radius - 0.5 * by_across * across / end.position[0];
            if fit.solved() && gain > 0.0 {
                best = Some(best.map_or(end.position[0], |best| best.max(end.position[0])));
            }
        }
    }
    Ok(vec![("final_radius", best.ok_or("no circle at the end was found")?)])
}
