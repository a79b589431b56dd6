//! Excess speeds at both ends of many arcs between two moving bodies: the cells of a grid of dates.

pub use super::excess_slope::{ExcessSlopes, excess_slopes};
use super::lambert::{Branch, Way, rare_arc};
use super::lambert_block::{BLOCK, Block, Rows};
use crate::conic::State;
use crate::numerics::lanes::Width;
use crate::vector::Vec3;
use std::ops::Range;
use thiserror::Error;

/// What stands in the place of an excess speed where there is no arc: above every speed, so that a search for the least one
/// passes it by.
pub const NO_ARC: f64 = f64::INFINITY;

/// States of bodies at a row of dates, component by component, as the kernels read them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StateTable {
    /// x, y, z, m, then velocities, m/s.
    components: [Vec<f64>; 6],
}

impl StateTable {
    /// A table of the states given, in their order. `None` stands for a date without a state: no arc leaves or meets it.
    pub fn new(states: impl IntoIterator<Item = Option<State>>) -> StateTable {
        let numbers: Vec<[f64; 6]> = states.into_iter().map(numbers).collect();
        let mut components = [const { Vec::new() }; 6];
        for (k, component) in components.iter_mut().enumerate() {
            *component = numbers.iter().map(|numbers| numbers[k]).collect();
        }
        StateTable { components }
    }

    /// Puts another state in place `i`; nothing beyond the end of the table.
    pub fn set(&mut self, i: usize, state: Option<State>) {
        for (component, number) in self.components.iter_mut().zip(numbers(state)) {
            if let Some(place) = component.get_mut(i) {
                *place = number;
            }
        }
    }

    /// Number of states.
    pub fn len(&self) -> usize {
        self.components[0].len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// All of them.
    pub fn all(&self) -> States<'_> {
        self.range(0..self.len())
    }

    /// Some of them, as far as the table reaches.
    pub fn range(&self, range: Range<usize>) -> States<'_> {
        States { components: self.components.each_ref().map(|component| component.get(range.clone()).unwrap_or(&[])) }
    }
}

/// The six numbers of a state; for none a place at the centre, which no arc joins.
fn numbers(state: Option<State>) -> [f64; 6] {
    state.map_or([0.0; 6], |State { position: r, velocity: v }| [r.x, r.y, r.z, v.x, v.y, v.z])
}

/// Part of a table of states.
#[derive(Clone, Copy, Debug)]
pub struct States<'a> {
    components: [&'a [f64]; 6],
}

impl States<'_> {
    /// Number of states.
    pub fn len(&self) -> usize {
        self.components[0].len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The state of cell `i`: its own, or the one that all share.
    fn state_of(&self, i: usize) -> State {
        let i = if self.len() == 1 { 0 } else { i };
        let [x, y, z, vx, vy, vz] = self.components;
        State::new(Vec3::new(x[i], y[i], z[i]), Vec3::new(vx[i], vy[i], vz[i]))
    }

    /// Places and velocities of `count` cells from the first one on.
    fn fill(&self, first: usize, count: usize, places: &mut Rows, velocities: &mut Rows) {
        for (row, component) in places.iter_mut().chain(velocities).zip(self.components) {
            match component {
                [shared] => *row = [*shared; BLOCK],
                all => row[..count].copy_from_slice(&all[first..first + count]),
            }
        }
    }
}

/// The cells: one for each time of flight.
#[derive(Clone, Copy, Debug)]
pub struct ExcessInput<'a> {
    /// States of the body left, one for each cell, or a single one that all cells share.
    pub departures: States<'a>,
    /// States of the body met, likewise.
    pub arrivals: States<'a>,
    /// Times of flight, s.
    pub times: &'a [f64],
}

/// Where the excess speeds go, m/s: one of each for each cell.
#[derive(Debug)]
pub struct ExcessOutput<'a> {
    /// |v − v of the body| where the arc begins, or [`NO_ARC`].
    pub departures: &'a mut [f64],
    /// The same where it ends.
    pub arrivals: &'a mut [f64],
}

/// Why cells cannot be filled.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum ExcessError {
    /// Not above zero, or not a number.
    #[error("the gravitational parameter must be above zero, got {gm_m3_s2:e} m³/s²")]
    GravitationalParameter {
        /// As given, m³/s².
        gm_m3_s2: f64,
    },
    /// Lists that do not fit together.
    #[error("{cells} times of flight, but {length} {what}")]
    Length {
        /// Which list.
        what: &'static str,
        /// How many times of flight there are.
        cells: usize,
        /// How long the other list is.
        length: usize,
    },
}

/// Excess speeds at both ends of the arc of each cell.
///
/// - `gm`: m³/s², above 0, of the centre that both bodies move about. Places and velocities about it, any one set of axes.
/// - `revolutions` and `branch`: whole revolutions, and which of their two arcs; the branch is of no account without one,
///   and `Single` means `Left` with one.
/// - `way`: as in [`lambert::solve_one`](super::lambert::solve_one); for planets `Way::Prograde` with the angular momentum of the body left.
/// - Both speeds of a cell are finite and right to the rounding of the inputs times the problem's own sensitivity, or both
///   are [`NO_ARC`]. That stands where the time of flight is not above 0 or is below the least time of the revolutions, where
///   a state is missing or not finite, where both places are the same or lie in line with the centre (0° with revolutions or
///   the wrong way round; 180° exactly when `way` has no normal), and where the speeds leave the range of numbers. Beside
///   180° there is an arc, out of the plane and dear: the speeds rise there to the ridge of the grid and are finite.
/// - Cells do not depend on each other or on their order, so rows of a grid may be filled from several threads, each into
///   its own part of the buffers: the bits are the same.
///
/// # Errors
/// A bad gravitational parameter; lists whose lengths do not fit.
///
/// # Example
/// ```
/// use visviva_engine::{arc::excess::*, arc::lambert::{Branch, Way}, conic::State, vector::Vec3};
/// let states = |radius: f64| (0..3).map(move |i| {
///     let (sin, cos) = (0.3 * f64::from(i) + radius).sin_cos();
///     Some(State::new(Vec3::new(cos, sin, 0.0) * radius, Vec3::new(-sin, cos, 0.0) / radius.sqrt()))
/// });
/// let (from, to) = (StateTable::new(states(1.0)), StateTable::new(states(1.5)));
/// // A row of the grid: one departure, three arrivals.
/// let input = ExcessInput { departures: from.range(0..1), arrivals: to.all(), times: &[2.0, 2.5, -1.0] };
/// let (mut leaving, mut meeting) = ([0.0; 3], [0.0; 3]);
/// let mut output = ExcessOutput { departures: &mut leaving, arrivals: &mut meeting };
/// let way = Way::Prograde(Vec3::new(0.0, 0.0, 1.0));
/// excess_batch(1.0, &input, 0, Branch::Single, way, &mut output)?;
/// assert!(leaving[0] < 1.0 && meeting[1] < 1.0 && leaving[2] == NO_ARC);
/// # Ok::<(), ExcessError>(())
/// ```
pub fn excess_batch(
    gm: f64,
    input: &ExcessInput<'_>,
    revolutions: u32,
    branch: Branch,
    way: Way,
    output: &mut ExcessOutput<'_>,
) -> Result<(), ExcessError> {
    excess_batch_at(Width::widest(), gm, input, revolutions, branch, way, output)
}

/// [`excess_batch`] on lanes of this width: the same bits, in another time.
///
/// # Errors
/// The same.
pub fn excess_batch_at(
    width: Width,
    gm: f64,
    input: &ExcessInput<'_>,
    revolutions: u32,
    branch: Branch,
    way: Way,
    output: &mut ExcessOutput<'_>,
) -> Result<(), ExcessError> {
    if !(gm > 0.0 && gm.is_finite()) {
        return Err(ExcessError::GravitationalParameter { gm_m3_s2: gm });
    }
    let cells = input.times.len();
    for (what, length, shared) in [
        ("departures", input.departures.len(), true),
        ("arrivals", input.arrivals.len(), true),
        ("excess speeds at the departure", output.departures.len(), false),
        ("excess speeds at the arrival", output.arrivals.len(), false),
    ] {
        if length != cells && !(shared && length == 1) {
            return Err(ExcessError::Length { what, cells, length });
        }
    }
    let branch = match branch {
        _ if revolutions == 0 => Branch::Single,
        Branch::Single => Branch::Left,
        branch => branch,
    };
    let mut block = Block::new(gm, way);
    block.revolutions = [f64::from(revolutions); BLOCK];
    let (mut bodies, mut speeds) = ([[[0.0; BLOCK]; 3]; 2], [[0.0; BLOCK]; 2]);
    let mut first = 0;
    while first < cells {
        let count = (cells - first).min(BLOCK);
        input.departures.fill(first, count, &mut block.r1, &mut bodies[0]);
        input.arrivals.fill(first, count, &mut block.r2, &mut bodies[1]);
        block.time[..count].copy_from_slice(&input.times[first..first + count]);
        if revolutions == 0 {
            block.solve(width, count);
        } else {
            block.solve_branch(width, count, branch);
        }
        let good = block.excess(width, count, branch, &bodies, &mut speeds);
        output.departures[first..first + count].copy_from_slice(&speeds[0][..count]);
        output.arrivals[first..first + count].copy_from_slice(&speeds[1][..count]);
        let mut left = !good & (u64::MAX >> (BLOCK - count));
        while left != 0 {
            let i = first + left.trailing_zeros() as usize;
            let ends = [input.departures.state_of(i), input.arrivals.state_of(i)];
            [output.departures[i], output.arrivals[i]] = rare_cell(gm, ends, input.times[i], revolutions, branch, way);
            left &= left - 1;
        }
        first += count;
    }
    Ok(())
}

/// One cell by itself, where the ordinary steps have no answer.
#[cold]
#[inline(never)]
fn rare_cell(gm: f64, [from, to]: [State; 2], time: f64, revolutions: u32, branch: Branch, way: Way) -> [f64; 2] {
    let Ok(arc) = rare_arc(gm, &from.position, &to.position, time, way, revolutions, branch) else {
        return [NO_ARC; 2];
    };
    let speeds = [(arc.v1 - from.velocity).norm(), (arc.v2 - to.velocity).norm()];
    if speeds.iter().all(|speed| speed.is_finite()) { speeds } else { [NO_ARC; 2] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arc::lambert::solve_one;

    fn circle(radius: f64, angle: f64) -> State {
        let (sin, cos) = angle.sin_cos();
        State::new(Vec3::new(cos, sin, 0.02 * sin) * radius, Vec3::new(-sin, cos, 0.0) / radius.sqrt())
    }

    #[test]
    fn cells_are_those_of_single_arcs() {
        let count = 200;
        let states = |radius: f64, rate: f64| (0..count).map(move |i| Some(circle(radius, 0.1 + rate * f64::from(i))));
        let (mut from, to) = (StateTable::new(states(1.0, 0.03)), StateTable::new(states(1.6, 0.05)));
        let times: Vec<f64> = (0..count).map(|i| 0.2 * f64::from(i - 5)).collect();
        let way = Way::Prograde(Vec3::new(0.0, 0.0, 1.0));
        from.components[0][77] = f64::NAN;
        for departures in [from.all(), from.range(3..4)] {
            let input = ExcessInput { departures, arrivals: to.all(), times: &times };
            let kinds =
                [(0, Branch::Single), (1, Branch::Left), (1, Branch::Right), (3, Branch::Right), (9, Branch::Left)];
            for ((revolutions, branch), width) in
                kinds.into_iter().flat_map(|kind| Width::ALL.map(|width| (kind, width)))
            {
                let (mut leaving, mut meeting) = (vec![f64::NAN; times.len()], vec![f64::NAN; times.len()]);
                let mut output = ExcessOutput { departures: &mut leaving, arrivals: &mut meeting };
                excess_batch_at(width, 1.0, &input, revolutions, branch, way, &mut output).unwrap();
                let mut arcs = 0;
                for i in 0..times.len() {
                    let one = departures.state_of(i);
                    let other = to.all().state_of(i);
                    let arc = solve_one(1.0, &one.position, &other.position, times[i], way, revolutions, branch);
                    let expected = arc
                        .map_or([NO_ARC; 2], |arc| [(arc.v1 - one.velocity).norm(), (arc.v2 - other.velocity).norm()]);
                    assert_eq!([leaving[i], meeting[i]], expected, "{i} {revolutions} {branch:?} {width:?}");
                    arcs += usize::from(expected[0] < NO_ARC);
                }
                assert!(revolutions > 3 || arcs > 20, "{arcs}");
            }
        }
    }

    #[test]
    fn what_has_no_arc_is_marked() {
        let here = circle(1.0, 0.0);
        let from = StateTable::new([Some(here), None, Some(here), Some(here), Some(here)]);
        let opposite = State::new(-1.5 * here.position, here.velocity);
        let to = StateTable::new([None, Some(here), Some(here), Some(opposite), Some(circle(1.5, 1.0))]);
        let (mut leaving, mut meeting) = ([0.0; 5], [0.0; 5]);
        let input = ExcessInput { departures: from.all(), arrivals: to.all(), times: &[2.0; 5] };
        let mut output = ExcessOutput { departures: &mut leaving, arrivals: &mut meeting };
        excess_batch(1.0, &input, 0, Branch::Single, Way::Short, &mut output).unwrap();
        assert_eq!(&leaving[..4], &[NO_ARC; 4]);
        assert!(leaving[4] < 2.0 && meeting[4] < 2.0);
    }

    #[test]
    fn lists_must_fit() {
        let from = StateTable::new([Some(circle(1.0, 0.0)); 2]);
        let (mut leaving, mut meeting) = ([0.0; 3], [0.0; 3]);
        let input = ExcessInput { departures: from.all(), arrivals: from.range(0..1), times: &[2.0; 3] };
        let mut output = ExcessOutput { departures: &mut leaving, arrivals: &mut meeting };
        assert_eq!(
            excess_batch(1.0, &input, 0, Branch::Single, Way::Short, &mut output),
            Err(ExcessError::Length { what: "departures", cells: 3, length: 2 })
        );
        assert!(matches!(
            excess_batch(0.0, &input, 0, Branch::Single, Way::Short, &mut output),
            Err(ExcessError::GravitationalParameter { .. })
        ));
    }
}
