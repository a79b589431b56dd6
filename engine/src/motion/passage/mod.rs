//! A flight under forces, from one smooth piece of the air to the next.
//!
//! [`fly`] integrates by collocation and begins anew at every edge of a layer. Where what the craft does changes (a stage, a cut-off, a chute, a new
//! direction), one flight ends and another begins; [`Flown::join`] makes one of them. [`Accounts`] tell afterwards what speed was gained and lost to what.

mod accounts;

pub use accounts::{Accounts, Peak};

use super::event::Met;
use super::failure::IntegrationError;
use super::field::Point;
use super::force::{Craft, Forces, MOST_STOPS, Stop, Stops, Surroundings};
use super::gauss;
use super::trajectory::Trajectory;
use crate::numerics::watch::Watch;
use crate::system::Layer;
use crate::vector::Vec3;

/// More pieces than these are no flight: a craft that hovers at the edge of a layer for ever.
const MOST_PIECES: usize = 20_000;

/// One smooth piece of a flight.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    /// Which of [`Surroundings::layers`] it is in; none in vacuum.
    pub layer: Option<usize>,
    /// What the craft does.
    pub craft: Craft,
    /// How it moves; the velocity of the fourth component is its mass, kg.
    pub trajectory: Trajectory<4>,
}

/// A flight: its pieces, in order, and what was met.
#[derive(Clone, Debug, PartialEq)]
pub struct Flown {
    /// Each begins where the one before it ends.
    pub stretches: Vec<Stretch>,
    /// Which stop (counted from 0), and where, in the order of time.
    pub met: Vec<(usize, Point<4>)>,
    /// Where it ends.
    pub end: Point<4>,
    /// The stop that ended it; none where its time was over.
    pub ended_by: Option<usize>,
}

/// Flies a craft until a time, or the first stop that ends the flight.
///
/// - `start`: place (m) and velocity (m/s) in inertial axes of the body's centre, mass (kg) in the velocity of the fourth component, time in s.
/// - `until`: s, on the same scale, not before the start.
/// - `tolerance`: as of [`gauss::integrate`]; 1e-10 suits flights of minutes.
/// - `stops`: the first [`MOST_STOPS`] count.
///
/// # Errors
/// As [`gauss::integrate`].
pub fn fly(
    around: &Surroundings,
    craft: &Craft,
    start: Point<4>,
    until: f64,
    tolerance: f64,
    stops: &[Stop],
    watch: &Watch<'_>,
) -> Result<Flown, IntegrationError> {
    let mut watched = [None; MOST_STOPS];
    for (place, stop) in watched.iter_mut().zip(stops) {
        *place = Some(*stop);
    }
    let layers = around.layers();
    let height = around.height(&Vec3::new(start.position[0], start.position[1], start.position[2]));
    let mut layer = around.layer_at(height);
    let mut flown = Flown { stretches: Vec::new(), met: Vec::new(), end: start, ended_by: None };
    while flown.stretches.len() < MOST_PIECES {
        let forces = Forces { around, craft, layer: layer.map(|index| &layers[index]) };
        let edges = (
            match layer {
                Some(0) => f64::NEG_INFINITY,
                Some(index) => layers[index].start(),
                None => layers.last().map_or(f64::NEG_INFINITY, Layer::end),
            },
            layer.map_or(f64::INFINITY, |index| layers[index].end()),
        );
        let events = Stops { forces, watched, edges };
        let (trajectory, met) = gauss::integrate(&forces, flown.end, until, tolerance, &events, watch)?;
        let ended = flown.take(craft, layer, trajectory, &met, &watched);
        match ended {
            Some(6) => layer = Some(layer.map_or(layers.len(), |index| index).saturating_sub(1)),
            Some(7) => layer = layer.map(|index| index + 1).filter(|index| *index < layers.len()),
            other => {
                flown.ended_by = other;
                return Ok(flown);
            }
        }
        // An edge met as the time is over.
        if flown.end.time >= until {
            return Ok(flown);
        }
    }
    Err(IntegrationError::TooManySteps { steps: MOST_PIECES, time: flown.end.time })
}

impl Flown {
    /// Takes a piece; tells which event ended it, edges being 6 and 7.
    fn take(
        &mut self,
        craft: &Craft,
        layer: Option<usize>,
        trajectory: Trajectory<4>,
        met: &[Met<4>],
        watched: &[Option<Stop>; MOST_STOPS],
    ) -> Option<usize> {
        self.end = trajectory.end();
        self.stretches.push(Stretch { layer, craft: *craft, trajectory });
        let mut ended = None;
        for event in met {
            match watched.get(event.which) {
                Some(Some(stop)) => {
                    self.met.push((event.which, event.point));
                    if stop.ends {
                        ended = Some(event.which);
                    }
                }
                Some(None) => {}
                None => ended = Some(event.which),
            }
        }
        ended
    }

    /// When it began, s; its end where it has no piece.
    pub fn start(&self) -> Point<4> {
        self.stretches
            .iter()
            .find_map(|stretch| stretch.trajectory.pieces().first())
            .map_or(self.end, |piece| piece.start)
    }

    /// Place, velocity and mass at a time; the nearer end outside of the flight.
    pub fn at(&self, time: f64) -> Point<4> {
        let next = self.stretches.partition_point(|stretch| stretch.trajectory.end().time < time);
        self.stretches.get(next).map_or(self.end, |stretch| stretch.trajectory.at(time))
    }

    /// Goes on with another flight that began where this one ended. What was met keeps the count of its own stops.
    pub fn join(&mut self, next: Flown) {
        self.stretches.extend(next.stretches);
        self.met.extend(next.met);
        self.end = next.end;
        self.ended_by = next.ended_by;
    }

    /// Where its speed came from and went to.
    pub fn accounts(&self, around: &Surroundings) -> Accounts {
        Accounts::of(self, around)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::event::Crossing;
    use crate::motion::explicit;
    use crate::motion::force::{Attitude, Drag, Quantity, Throttle, Thrust};
    use crate::system::{EphemerisChoice, System};

    fn point(place: Vec3, velocity: Vec3, mass: f64) -> Point<4> {
        Point {
            time: 0.0,
            position: [place.x, place.y, place.z, 0.0],
            velocity: [velocity.x, velocity.y, velocity.z, mass],
        }
    }

    fn parts(point: &Point<4>) -> (Vec3, Vec3) {
        let [p, v] = [point.position, point.velocity];
        (Vec3::new(p[0], p[1], p[2]), Vec3::new(v[0], v[1], v[2]))
    }

    fn veyra() -> Surroundings {
        let system = System::embedded("velm", EphemerisChoice::Default).unwrap();
        let body = system.body("Veyra").unwrap();
        Surroundings::of(&body, system.epoch())
    }

    /// A rise, a slanted climb and a turn along the velocity through the air, up to where nothing is left of it.
    fn climb(around: &Surroundings, tolerance: f64) -> Flown {
        let axis = around.turning.normalize();
        let out = axis.cross(&Vec3::x()).normalize();
        let east = axis.cross(&out);
        let place = out * around.ground.equatorial;
        let thrust = Thrust {
            vacuum: 1.0e6,
            exit_area: 1.0,
            exhaust_speed: 3300.0,
            throttle: Throttle::Share(1.0),
            attitude: Attitude::Up,
        };
        let drag = Some(Drag::ballistic(8.0));
        let craft = |attitude| Craft { thrust: Some(Thrust { attitude, ..thrust }), drag };
        let start = point(place, around.air_velocity(&place), 100e3);
        let none = Watch::none();
        let high = [Stop::ending(Quantity::Height(800.0), Crossing::Rising)];
        let mut flown = fly(around, &craft(Attitude::Up), start, 100.0, tolerance, &high, &none).unwrap();
        assert_eq!(flown.ended_by, Some(0));
        let slanted = Attitude::fixed(out * 0.995 + east * 0.1);
        let then = flown.end;
        flown.join(fly(around, &craft(slanted), then, then.time + 12.0, tolerance, &[], &none).unwrap());
        let dry = [Stop::ending(Quantity::Mass(25e3), Crossing::Falling)];
        let turn = craft(Attitude::AlongAir { sign: 1.0 });
        let then = flown.end;
        flown.join(fly(around, &turn, then, 1e4, tolerance, &dry, &none).unwrap());
        flown
    }

    #[test]
    fn thrust_alone_gives_what_the_rocket_equation_says() {
        let around = Surroundings::point(1e-6);
        let thrust = Thrust {
            vacuum: 10e3,
            exit_area: 0.0,
            exhaust_speed: 3000.0,
            throttle: Throttle::Share(0.5),
            attitude: Attitude::fixed(Vec3::new(0.0, 3.0, 4.0)),
        };
        let start = point(Vec3::new(1e6, 0.0, 0.0), Vec3::zeros(), 1000.0);
        let craft = Craft { thrust: Some(thrust), drag: None };
        let stop = [Stop::ending(Quantity::Mass(500.0), Crossing::Falling)];
        let flown = fly(&around, &craft, start, 1e4, 1e-14, &stop, &Watch::none()).unwrap();
        let (_, velocity) = parts(&flown.end);
        let expected = 3000.0 * 2.0_f64.ln();
        assert!((flown.end.time - 300.0).abs() < 1e-9, "{}", flown.end.time);
        // Some tens of steps of 1e-14 each, and rounding.
        assert!((velocity - Vec3::new(0.0, 0.6, 0.8) * expected).norm() < expected * 1e-12, "{velocity}");
        assert_eq!(flown.ended_by, Some(0));
    }

    #[test]
    fn speed_and_energy_add_up_on_the_way_through_the_air() {
        let around = veyra();
        let flown = climb(&around, 1e-12);
        let accounts = flown.accounts(&around);
        let (place, velocity) = parts(&flown.end);
        assert!(flown.stretches.len() > 5, "{}", flown.stretches.len());
        assert!(around.height(&place) > 100e3, "{}", around.height(&place));
        let sum = accounts.ideal - accounts.pressure - accounts.steering - accounts.drag - accounts.gravity;
        // Two sums of some 200 steps, each 1e-12 of a few km/s.
        assert!((sum - accounts.gained()).abs() < 1e-6, "{accounts:?}");
        assert!((accounts.ideal - 3300.0 * 4.0_f64.ln()).abs() < 1e-6, "{accounts:?}");
        let (first, still) = parts(&flown.start());
        let energy = 0.5 * (velocity.norm_squared() - still.norm_squared()) + around.gravity.potential(&place)
            - around.gravity.potential(&first);
        // 1e-12 of v² a step.
        assert!((energy - accounts.work).abs() < 1e-3, "{energy} {accounts:?}");
        assert!(accounts.dynamic_pressure.value > 1e4 && accounts.dynamic_pressure.time > 20.0, "{accounts:?}");
    }

    #[test]
    fn the_explicit_pair_agrees_in_one_layer() {
        let around = veyra();
        let flown = climb(&around, 1e-13);
        for stretch in flown.stretches.iter().step_by(3) {
            let start = stretch.trajectory.pieces()[0].start;
            let forces = Forces {
                around: &around,
                craft: &stretch.craft,
                layer: stretch.layer.map(|index| &around.layers()[index]),
            };
            let end = stretch.trajectory.end();
            let (other, _) =
                explicit::integrate(&forces, start, end.time, 1e-13, &crate::motion::NoEvents, &Watch::none()).unwrap();
            let ((a, u), (b, v)) = (parts(&end), parts(&other.end()));
            // A hundred steps of 1e-13 of 5 km/s over 100 s.
            assert!((u - v).norm() < 1e-7 && (a - b).norm() < 1e-5, "{} {}", (u - v).norm(), (a - b).norm());
        }
    }

    #[test]
    fn throttles_hold_what_they_hold() {
        let around = veyra();
        let flown = climb(&around, 1e-12);
        // From the first moment of 12 kPa on, hold it until the law asks for more than there is.
        let all: Vec<_> = flown.stretches.iter().flat_map(|stretch| stretch.trajectory.pieces()).collect();
        let pressure = |point: &Point<4>| {
            let (place, velocity) = parts(point);
            let through = velocity - around.air_velocity(&place);
            0.5 * around.density(around.height(&place)) * through.norm_squared()
        };
        let start = all.iter().map(|piece| piece.start).find(|start| pressure(start) > 12e3).unwrap();
        let held = flown.stretches.last().unwrap().craft;
        let thrust = Thrust { throttle: Throttle::DynamicPressure, ..held.thrust.unwrap() };
        let craft = Craft { thrust: Some(thrust), ..held };
        let more = [Stop::ending(Quantity::Share(1.0), Crossing::Rising)];
        let on = fly(&around, &craft, start, start.time + 30.0, 1e-12, &more, &Watch::none()).unwrap();
        assert!(on.end.time > start.time + 5.0, "{:?}", on.end);
        // Densities by the fitted layers and by the sum of them: 1e-11; the rest is the integration.
        assert!((pressure(&on.end) / pressure(&start) - 1.0).abs() < 1e-7, "{}", pressure(&on.end));
        let thrust = Thrust { throttle: Throttle::Acceleration(20.0), ..thrust };
        let craft = Craft { thrust: Some(thrust), drag: None };
        let on = fly(&around, &craft, start, start.time + 30.0, 1e-12, &[], &Watch::none()).unwrap();
        let forces = Forces::at_height(&around, &craft, around.height(&parts(&on.end).0));
        assert!((forces.sight(&on.end).thrust.norm() - 20.0).abs() < 1e-9);
    }

    #[test]
    fn apsides_are_met_where_the_conic_has_them() {
        let around = Surroundings::point(4e14);
        let (radius, speed) = (7e6_f64, (4e14 / 7e6_f64).sqrt());
        let start = point(Vec3::new(radius, 0.0, 0.0), Vec3::new(0.0, speed, 0.0), 1000.0);
        let thrust = Thrust {
            vacuum: 5e3,
            exit_area: 0.0,
            exhaust_speed: 3000.0,
            throttle: Throttle::Share(1.0),
            attitude: Attitude::Along { sign: 1.0 },
        };
        let craft = Craft { thrust: Some(thrust), drag: None };
        let stop = [Stop::ending(Quantity::ApoapsisRadius(9e6), Crossing::Rising)];
        let flown = fly(&around, &craft, start, 400.0, 1e-13, &stop, &Watch::none()).unwrap();
        let (place, velocity) = parts(&flown.end);
        let momentum = place.cross(&velocity).norm_squared();
        let energy = 0.5 * velocity.norm_squared() - 4e14 / place.norm();
        let eccentricity = (1.0 + 2.0 * energy * momentum / 1.6e29).sqrt();
        let apoapsis = momentum / 4e14 / (1.0 - eccentricity);
        assert!((apoapsis - 9e6).abs() < 1e-2, "{apoapsis}");
    }
}
