//! When a burn under thrust begins, where it points and how long it lasts, so that it does what its impulse does.

use super::error::FiniteError;
use super::flight::{From, lowest, state_of, swept};
use super::supply::Supply;
use crate::burn::error::positive;
use crate::conic::{State, angular_momentum, eccentricity_vector, energy, hyperbola, propagate};
use crate::motion::force::{Attitude, Surroundings};
use crate::motion::passage::Flown;
use crate::numerics::least_squares::{self, Options, Stop};
use crate::numerics::minimum;
use crate::numerics::watch::Watch;
use crate::vector::{Mat3, Vec3};

/// How the thrust points while it burns, and with that what can be matched.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Law {
    /// Along `from + rate t`, both solved: six unknowns with the start, so that the craft is afterwards where and as fast as the impulse would have it,
    /// at every time.
    #[default]
    Turning,
    /// Fixed in inertial space: four unknowns. A burn that leaves on a hyperbola keeps its excess velocity in size and direction and begins when that is
    /// cheapest; another keeps the energy of its conic and comes as near to its shape, apse line and plane as it can. The time on it shifts.
    Fixed,
    /// Along the velocity, or against it: start and duration. Keeps the energy of the conic first, then its shape and apse line or the asymptote.
    Along,
}

/// An impulse that is to be flown with thrust.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Impulse {
    /// Just before it, m and m/s, inertial axes of the body's centre.
    pub before: State,
    /// m/s.
    pub dv: Vec3,
}

impl Impulse {
    /// Just after it.
    pub fn after(&self) -> State {
        State::new(self.before.position, self.before.velocity + self.dv)
    }

    /// Its size, m/s.
    pub fn size(&self) -> f64 {
        self.dv.norm()
    }
}

/// A burn under thrust, solved. Times count from the impulse, s.
#[derive(Clone, Debug, PartialEq)]
pub struct FiniteBurn {
    /// What it stands for.
    pub impulse: Impulse,
    /// How it points.
    pub law: Law,
    /// Where it points, as a law of time.
    pub attitude: Attitude,
    /// When it begins; mostly below zero.
    pub start: f64,
    /// How long it burns.
    pub duration: f64,
    /// Change of speed spent, m/s, by the rocket equation.
    pub dv: f64,
    /// Angle that it sweeps about the centre, rad.
    pub swept: f64,
    /// What is missing of what the impulse gives, m/s: rounding where it is met.
    pub misfit: f64,
    /// The flight, from its start to its cut-off.
    pub flown: Flown,
    /// Burns flown to find it.
    pub flights: usize,
}

impl FiniteBurn {
    /// What it costs above the impulse, m/s.
    pub fn loss(&self) -> f64 {
        self.dv - self.impulse.size()
    }

    /// When it ends, s from the impulse.
    pub fn end(&self) -> f64 {
        self.start + self.duration
    }

    /// State at its end.
    pub fn end_state(&self) -> State {
        state_of(&self.flown.end)
    }

    /// Mass at its end, kg.
    pub fn end_mass(&self) -> f64 {
        self.flown.end.velocity[3]
    }
}

/// Met when every residual is this share of the speed, or of the distance: hundreds of times what the flights' tolerance leaves, and a centimetre in 10 000 km.
const MET: f64 = 1e-9;

/// More missing than this share of the impulse is no match: the burn is refused.
const WORST: f64 = 0.05;

/// Solves a burn under thrust for what its impulse does.
///
/// - `around`: what pulls while it burns; the conics before and after are those of its mass.
/// - `ground`: radius that the burn must stay above, m; 0 for none.
///
/// # Errors
/// An impulse of no size; more than the supply gives; a law that cannot give what the impulse gives; a way through the ground; an interruption.
///
/// # Source
/// Linear-tangent steering as the optimum in uniform gravity: [BrysonHo1975], section 2.4. The match by least squares is plain.
pub fn solve(
    around: &Surroundings,
    impulse: &Impulse,
    supply: &Supply,
    law: Law,
    ground: f64,
    watch: &Watch<'_>,
) -> Result<FiniteBurn, FiniteError> {
    positive("the burn, m/s,", impulse.size())?;
    impulse.before.checked(around.gravity.gm())?;
    if impulse.size() > supply.dv() {
        return Err(FiniteError::NotEnough { needed_m_s: impulse.size(), left_m_s: supply.dv() });
    }
    let problem = Problem::new(around, impulse, supply, law, watch)?;
    let burn = match law {
        Law::Fixed if problem.excess.is_some() => problem.cheapest_start()?,
        _ => problem.solved(&problem.leaving_guess()?, &problem.free())?,
    };
    if burn.misfit > WORST * impulse.size() {
        return Err(FiniteError::NotMet { duration_s: burn.duration, swept_rad: burn.swept, left_m_s: burn.misfit });
    }
    if burn.dv > supply.dv() {
        return Err(FiniteError::NotEnough { needed_m_s: burn.dv, left_m_s: supply.dv() });
    }
    let (radius, time) = lowest(&burn.flown);
    if radius < ground {
        return Err(FiniteError::EntersTheGround { depth_m: ground - radius, after_s: time - burn.start });
    }
    Ok(burn)
}

struct Problem<'a> {
    from: From<'a>,
    impulse: &'a Impulse,
    law: Law,
    watch: &'a Watch<'a>,
    gm: f64,
    /// The burn's own axes: along it, and two square to it.
    axes: Mat3,
    /// Time of burning the impulse, s.
    time: f64,
    /// Excess velocity that is kept, where the law keeps that.
    excess: Option<Vec3>,
    /// 1 along the velocity, −1 against it.
    sign: f64,
}

impl<'a> Problem<'a> {
    fn new(
        around: &'a Surroundings,
        impulse: &'a Impulse,
        supply: &'a Supply,
        law: Law,
        watch: &'a Watch<'a>,
    ) -> Result<Self, FiniteError> {
        let gm = around.gravity.gm();
        let along = impulse.dv.normalize();
        let least = along.iamin();
        let other = along.cross(&Vec3::ith(least, 1.0)).normalize();
        let velocity = impulse.before.velocity;
        let cosine = along.dot(&velocity) / velocity.norm();
        if law == Law::Along && !(cosine.abs() >= 0.9) {
            return Err(FiniteError::NotAlong { angle_rad: cosine.clamp(-1.0, 1.0).acos() });
        }
        let after = impulse.after();
        let excess = if law == Law::Turning { None } else { hyperbola::outgoing(gm, &after).map(|out| out.v_infinity) };
        Ok(Problem {
            from: From { around, state: impulse.before, supply },
            impulse,
            law,
            watch,
            gm,
            axes: Mat3::from_columns(&[along, other, along.cross(&other)]),
            time: supply.time(impulse.size()),
            excess,
            sign: cosine.signum(),
        })
    }

    /// Unknowns: start in times of burning, change of speed in sizes of the impulse along its axes (along the velocity: its size alone), rates in radians a
    /// time of burning.
    fn guess(&self) -> Vec<f64> {
        let start = -self.from.supply.centre(self.impulse.size()) / self.time;
        match self.law {
            Law::Turning => vec![start, 1.0, 0.0, 0.0, 0.0, 0.0],
            Law::Fixed => vec![start, 1.0, 0.0, 0.0],
            Law::Along => vec![start, 1.0],
        }
    }

    /// As [`Problem::guess`], with a change of speed that leaves where the impulse does: a weak engine needs much more than the impulse for that.
    fn leaving_guess(&self) -> Result<Vec<f64>, FiniteError> {
        let mut x = self.guess();
        while self.excess.is_some() && x[1] < 2.5 {
            let flown = self.fly(&x)?;
            if hyperbola::outgoing(self.gm, &state_of(&flown.end)).is_some() {
                break;
            }
            x[1] *= 1.1;
            x[0] *= 1.1;
        }
        Ok(x)
    }

    /// All unknowns are free.
    fn free(&self) -> Vec<bool> {
        vec![true; self.guess().len()]
    }

    /// Start (s), change of speed (m/s), attitude.
    fn read(&self, x: &[f64]) -> (f64, f64, Attitude) {
        let start = x[0] * self.time;
        let size = self.impulse.size();
        if self.law == Law::Along {
            return (start, x[1] * size, Attitude::Along { sign: self.sign });
        }
        let share = Vec3::new(x[1], x[2], x[3]);
        let dv = share.norm() * size;
        let from = self.axes * share.normalize();
        let rate = match x.get(4..6) {
            Some(turning) => self.axes * Vec3::new(0.0, turning[0], turning[1]) / self.time,
            None => Vec3::zeros(),
        };
        // Since its middle, so that the rates do not change the mean direction.
        let since = start + self.from.supply.centre(dv);
        (start, dv, Attitude::Turning { from, rate, since })
    }

    fn fly(&self, x: &[f64]) -> Result<Flown, FiniteError> {
        let (start, dv, attitude) = self.read(x);
        self.from.fly(start, dv, attitude, self.watch)
    }

    /// What is missing, m/s: the first list is what the law can and must meet, in sizes of which one is the tolerance.
    fn missing(&self, flown: &Flown) -> Result<Vec<f64>, FiniteError> {
        let (end, after) = (state_of(&flown.end), self.impulse.after());
        let scale = MET * after.speed();
        let mut missing = Vec::with_capacity(7);
        if self.law == Law::Turning {
            let there = propagate(self.gm, &after, flown.end.time)?;
            missing.extend(((end.velocity - there.velocity) / scale).iter());
            missing.extend(((end.position - there.position) / (MET * after.radius())).iter());
            return Ok(missing);
        }
        if let Some(excess) = self.excess {
            // A flight that does not get away counts as one that misses all of it.
            let got = hyperbola::outgoing(self.gm, &end).map_or_else(Vec3::zeros, |out| out.v_infinity);
            let speeds = (0.5 * (got.norm_squared() - excess.norm_squared())) / excess.norm();
            missing.extend(((got - excess) / scale).iter());
            if self.law == Law::Along {
                missing.push(ENERGY_FIRST * speeds / scale);
            }
            return Ok(missing);
        }
        let momentum = angular_momentum(&after);
        let local = self.gm / momentum.norm();
        let turn = (angular_momentum(&end) - momentum) / after.radius();
        let shape = (eccentricity_vector(self.gm, &end) - eccentricity_vector(self.gm, &after)) * local;
        missing.extend((turn / scale).iter());
        missing.extend((shape / scale).iter());
        if self.law != Law::Turning {
            let off = (energy(self.gm, &end) - energy(self.gm, &after)) / after.speed();
            missing.push(ENERGY_FIRST * off / scale);
        }
        Ok(missing)
    }

    /// The burn that misses least from a start, with some of the unknowns held.
    fn solved(&self, guess: &[f64], free: &[bool]) -> Result<FiniteBurn, FiniteError> {
        let chosen: Vec<usize> = (0..guess.len()).filter(|&index| free[index]).collect();
        let filled = |short: &[f64]| -> Vec<f64> {
            let mut x = guess.to_vec();
            for (&index, &value) in chosen.iter().zip(short) {
                x[index] = value;
            }
            x
        };
        let start: Vec<f64> = chosen.iter().map(|&index| guess[index]).collect();
        // A burn begins within ten of its lengths; more than twice the impulse is none.
        let limits = [(-10.0, 10.0), (if self.law == Law::Along { 0.2 } else { -3.0 }, 3.0), (-3.0, 3.0), (-3.0, 3.0)];
        let bounds: Vec<(f64, f64)> =
            chosen.iter().map(|&index| limits.get(index).copied().unwrap_or((-20.0, 20.0))).collect();
        let options = Options {
            evaluations: 400,
            first_step: 1.0,
            // Flights of 1e-12 have differences good to 1e-5 of this step, which Newton's method needs no better.
            difference: Some(1e-6),
            ..Options::default()
        };
        let fit = least_squares::solve(
            &start,
            &vec![0.2; start.len()],
            &bounds,
            |short| self.missing(&self.fly(&filled(short))?),
            &options,
            self.watch,
        )?;
        if fit.stop == Stop::Interrupted {
            return Err(FiniteError::Interrupted);
        }
        self.told(&filled(&fit.x), fit.evaluations)
    }

    /// The burn of some unknowns.
    fn told(&self, x: &[f64], flights: usize) -> Result<FiniteBurn, FiniteError> {
        let (start, dv, attitude) = self.read(x);
        let flown = self.fly(x)?;
        let scale = MET * self.impulse.after().speed();
        let missing = self.missing(&flown)?;
        // Of a match in place the velocity and the place, told as speed, count alike; the energy that comes first is in the others already.
        let energy_first = self.law == Law::Along || self.law == Law::Fixed && self.excess.is_none();
        let counted = if energy_first { &missing[..missing.len() - 1] } else { &missing };
        let misfit = scale * counted.iter().map(|part| part * part).sum::<f64>().sqrt();
        Ok(FiniteBurn {
            impulse: *self.impulse,
            law: self.law,
            attitude,
            start,
            duration: self.from.supply.time(dv),
            dv,
            swept: swept(&flown),
            misfit,
            flown,
            flights: flights + 1,
        })
    }

    /// Direction fixed, excess velocity met: the start for which that takes the least.
    fn cheapest_start(&self) -> Result<FiniteBurn, FiniteError> {
        let held = [false, true, true, true];
        let mut guess = self.leaving_guess()?;
        let mut flights = 0;
        let mut failure = None;
        let centre = guess[0];
        let mut best: Option<(f64, FiniteBurn)> = None;
        let mut cost = |start: f64| -> f64 {
            guess[0] = start;
            match self.solved(&guess, &held) {
                Ok(burn) => {
                    flights += burn.flights;
                    // The next search begins with this direction.
                    if let Attitude::Turning { from, .. } = burn.attitude {
                        let share = self.axes.transpose() * from * (burn.dv / self.impulse.size());
                        guess[1..4].copy_from_slice(share.as_slice());
                    }
                    // One that misses is worse by what it misses.
                    let cost = burn.dv + 1e3 * burn.misfit;
                    if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                        best = Some((cost, burn));
                    }
                    cost
                }
                Err(error) => {
                    failure.get_or_insert(error);
                    f64::INFINITY
                }
            }
        };
        // The cost is flat to its square about the best start: 1e-5 of the burn's length settles it to 1e-10 of the loss.
        minimum::bracketed(&mut cost, centre - 0.8, centre + 0.8, 1e-5);
        match (best, failure) {
            (Some((_, burn)), _) => Ok(FiniteBurn { flights, ..burn }),
            (None, Some(error)) => Err(error),
            (None, None) => Err(FiniteError::NothingToBurn),
        }
    }
}

/// Where not everything can be kept the energy is kept before all else: its miss weighs so much more.
const ENERGY_FIRST: f64 = 1e4;

#[cfg(test)]
mod tests;
