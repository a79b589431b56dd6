//! The equation of motion as a value: what an integrator is given.

use crate::numerics::lanes::Lane;

/// Time, place and velocity of something that moves in `D` components.
///
/// The components need not be axes of space. A quantity w with a law of the first order, w' = g (the mass of a craft, the work of a force), rides in the
/// *velocity* of a component of its own, whose acceleration is g; the position of that component is then the integral of w and of no interest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point<const D: usize> {
    /// Seconds from where the leg counts.
    pub time: f64,
    /// Position: m for the axes of space.
    pub position: [f64; D],
    /// Velocity: m/s for the axes of space.
    pub velocity: [f64; D],
}

impl<const D: usize> Point<D> {
    /// A little later, as if the acceleration were constant.
    #[inline(always)]
    #[allow(clippy::needless_range_loop, reason = "a loop over three arrays, and no closure: it runs inside kernels")]
    pub(super) fn moved(&self, time: f64, acceleration: &[f64; D]) -> Self {
        let mut later = *self;
        later.time += time;
        for d in 0..D {
            later.position[d] += time * (self.velocity[d] + 0.5 * time * acceleration[d]);
            later.velocity[d] += time * acceleration[d];
        }
        later
    }

    /// Whether every number in it is finite.
    pub fn is_finite(&self) -> bool {
        self.time.is_finite() && self.position.iter().chain(&self.velocity).all(|x| x.is_finite())
    }
}

/// A smooth equation of motion of the second order, x'' = f(t, x, x'), in `D` components.
///
/// Written once over [`Lane`]: the integrator by collocation evaluates it at all the nodes of a step together, the explicit one at one time, or
/// on several trajectories side by side. It must be smooth (as often as anybody cares to differentiate) between the ends of one integration: where a force
/// switches, the integration ends and another begins.
pub trait Field<const D: usize> {
    /// What depends on time alone, places of bodies for instance: found once a step, not once an iteration.
    type Prepared<L: Lane>: Copy;

    /// How many of the first components are one vector, whose error is measured by its length: 3 for a craft in space, however many
    /// quantities ride beside it. The components after them are measured one by one, by their velocity.
    const LEADING: usize = D;

    /// Whether [`Field::part`] is defined.
    const PARTS: bool = false;

    /// What depends on time alone.
    ///
    /// - `time`: s, one for each lane.
    fn prepare<L: Lane>(&self, time: L) -> Self::Prepared<L>;

    /// The second derivative of the position.
    ///
    /// - `time`: s; `position` and `velocity`: as in [`Point`]; one of each for each lane.
    fn acceleration<L: Lane>(
        &self,
        prepared: &Self::Prepared<L>,
        time: L,
        position: &[L; D],
        velocity: &[L; D],
    ) -> [L; D];

    /// A part of the acceleration that is small beside the whole and changes faster, such as the pull of passing bodies.
    ///
    /// The step must resolve it for what it is: in the sum its detail stays hidden below the large part's until it is too late. Where there is such a part,
    /// `PARTS` is true and the step follows both.
    fn part<L: Lane>(&self, _prepared: &Self::Prepared<L>, _time: L, position: &[L; D], _velocity: &[L; D]) -> [L; D] {
        *position
    }
}

/// The eight numbers of a lane.
#[inline(always)]
pub(super) fn eight<L: Lane>(lane: L) -> [f64; 8] {
    let mut numbers = [0.0; 8];
    lane.store(&mut numbers);
    numbers
}

/// The eight numbers of several lanes; a loop and no closure, which would not inherit the instruction set.
#[inline(always)]
pub(super) fn eights<L: Lane, const N: usize>(lanes: &[L; N]) -> [[f64; 8]; N] {
    let mut numbers = [[0.0; 8]; N];
    for n in 0..N {
        lanes[n].store(&mut numbers[n]);
    }
    numbers
}

/// Lanes of eight numbers each.
#[inline(always)]
pub(super) fn loaded<L: Lane, const N: usize>(numbers: &[[f64; 8]; N]) -> [L; N] {
    let mut lanes = [L::splat(0.0); N];
    for n in 0..N {
        lanes[n] = L::load(&numbers[n]);
    }
    lanes
}
