//! Lambert's problem for many pairs of places: the same bits as one by one, faster for the company.

#![allow(clippy::needless_range_loop, reason = "components of vectors and rows are counted together")]

use super::lambert::{Branch, LambertArc, LambertError, Way, rare_arc};
use super::lambert_block::{BLOCK, Block, vector};
use crate::numerics::lanes::Width;
use crate::vector::Vec3;
use std::num::NonZeroU32;

/// What an arc is to join, and in what time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ends {
    /// First place from the centre, m, any axes.
    pub r1: Vec3,
    /// Second place, m.
    pub r2: Vec3,
    /// Time of flight, s, above 0.
    pub time: f64,
}

/// The arc without a whole revolution for each pair of places, given to `answer` with its number in the order of `problems`.
///
/// The same bits and errors as [`solve_one`](super::lambert::solve_one); `gm` in m³/s², above 0. A block of problems goes
/// through the solution side by side in the widest lanes of the processor; a rare one that needs more than the ordinary
/// steps is solved alone.
///
/// # Example
/// ```
/// use visviva_engine::{arc::lambert::{self, Branch, Ends, Way}, vector::Vec3};
/// let ends = |i| Ends { r1: Vec3::new(1.0, 0.0, 0.0), r2: Vec3::new(0.1, 1.2, 0.0), time: 1.0 + 0.01 * f64::from(i) };
/// let mut arcs = Vec::new();
/// lambert::solve_batch(1.0, Way::Short, (0..100).map(ends), |_, arc| arcs.push(arc));
/// let Ends { r1, r2, time } = ends(42);
/// assert_eq!(arcs[42], lambert::solve_one(1.0, &r1, &r2, time, Way::Short, 0, Branch::Single));
/// ```
#[inline]
pub fn solve_batch(
    gm: f64,
    way: Way,
    problems: impl IntoIterator<Item = Ends>,
    answer: impl FnMut(usize, Result<LambertArc, LambertError>),
) {
    solve_batch_at(Width::widest(), gm, way, problems, answer);
}

/// [`solve_batch`] on lanes of this width: the same bits, in another time.
#[inline]
pub fn solve_batch_at(
    width: Width,
    gm: f64,
    way: Way,
    problems: impl IntoIterator<Item = Ends>,
    mut answer: impl FnMut(usize, Result<LambertArc, LambertError>),
) {
    let mut block = Block::new(gm, way);
    let mut problems = problems.into_iter();
    let mut first = 0;
    loop {
        let count = fill(&mut block, problems.by_ref().map(|ends| (ends, 1.0)));
        block.solve(width, count);
        for i in 0..count {
            // The ordinary answer is formed where it is taken, so that nothing is worked out that is not used.
            match block.arc(i, Branch::Single) {
                Some(arc) => answer(first + i, Ok(arc)),
                None => answer_alone(&block, gm, way, i, first + i, &mut answer),
            }
        }
        first += count;
        if count < BLOCK {
            return;
        }
    }
}

/// Both arcs with a number of whole revolutions, left and right, for each pair of places, given to `answer` with its
/// number in the order of `problems`.
///
/// The same bits and errors as [`solve_pair`](super::lambert::solve_pair); see [`solve_batch`].
#[inline]
pub fn solve_pair_batch(
    gm: f64,
    way: Way,
    problems: impl IntoIterator<Item = (Ends, NonZeroU32)>,
    answer: impl FnMut(usize, Result<[LambertArc; 2], LambertError>),
) {
    solve_pair_batch_at(Width::widest(), gm, way, problems, answer);
}

/// [`solve_pair_batch`] on lanes of this width: the same bits, in another time.
#[inline]
pub fn solve_pair_batch_at(
    width: Width,
    gm: f64,
    way: Way,
    problems: impl IntoIterator<Item = (Ends, NonZeroU32)>,
    mut answer: impl FnMut(usize, Result<[LambertArc; 2], LambertError>),
) {
    let mut block = Block::new(gm, way);
    let mut problems = problems.into_iter();
    let mut first = 0;
    loop {
        let pairs = problems.by_ref().map(|(ends, revolutions)| (ends, f64::from(revolutions.get())));
        let count = fill(&mut block, pairs);
        block.solve_pairs(width, count);
        for i in 0..count {
            match block.arc(i, Branch::Left).zip(block.arc(i, Branch::Right)) {
                Some((left, right)) => answer(first + i, Ok([left, right])),
                None => answer_pair_alone(&block, gm, way, i, first + i, &mut answer),
            }
        }
        first += count;
        if count < BLOCK {
            return;
        }
    }
}

/// Takes up to a block of problems in; returns how many there were.
#[inline(always)]
fn fill(block: &mut Block, problems: impl Iterator<Item = (Ends, f64)>) -> usize {
    let mut count = 0;
    for (i, (Ends { r1, r2, time }, revolutions)) in (0..BLOCK).zip(problems) {
        for k in 0..3 {
            block.r1[k][i] = r1[k];
            block.r2[k][i] = r2[k];
        }
        block.time[i] = time;
        block.revolutions[i] = revolutions;
        count = i + 1;
    }
    count
}

/// A problem of the block that the ordinary steps leave.
#[cold]
#[inline(never)]
fn answer_alone(
    block: &Block,
    gm: f64,
    way: Way,
    i: usize,
    number: usize,
    answer: &mut dyn FnMut(usize, Result<LambertArc, LambertError>),
) {
    answer(number, rare(block, gm, way, i, 0, Branch::Single));
}

/// A pair of the block of which the ordinary steps leave one arc or both.
#[cold]
#[inline(never)]
fn answer_pair_alone(
    block: &Block,
    gm: f64,
    way: Way,
    i: usize,
    number: usize,
    answer: &mut dyn FnMut(usize, Result<[LambertArc; 2], LambertError>),
) {
    let one =
        |branch| block.arc(i, branch).map_or_else(|| rare(block, gm, way, i, block.revolutions[i] as u32, branch), Ok);
    answer(number, one(Branch::Left).and_then(|left| Ok([left, one(Branch::Right)?])));
}

fn rare(
    block: &Block,
    gm: f64,
    way: Way,
    i: usize,
    revolutions: u32,
    branch: Branch,
) -> Result<LambertArc, LambertError> {
    rare_arc(gm, &vector(&block.r1, i), &vector(&block.r2, i), block.time[i], way, revolutions, branch)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arc::lambert::{solve_one, solve_pair};

    /// Problems of every kind: near and far, forms of the time equation, in line, impossible.
    fn problems() -> Vec<(Ends, NonZeroU32)> {
        let mut all = Vec::new();
        for i in 0..5000_u32 {
            // Steps that share no period with one another, so that the combinations differ.
            let part = |step: f64| (f64::from(i) * step).fract();
            let angle = 6.3 * part(0.618_033_988_749_895);
            let r1 = Vec3::new(1.0, 0.0, 0.3 * part(0.324_717_957_244_746)) * (0.2 + part(0.445_041_867_912_629));
            let r2 = Vec3::new(angle.cos(), angle.sin(), part(0.754_877_666_246_693) - 0.5)
                * (0.3 + part(0.569_840_290_998_053));
            let time = 0.01 * 1e4_f64.powf(part(0.819_172_513_396_164));
            all.push((Ends { r1, r2, time }, NonZeroU32::MIN.saturating_add(i % 4)));
        }
        let x = Vec3::new(1.0, 0.0, 0.0);
        for (i, (r1, r2, time)) in [
            (x, -x, 4.0),
            (x, x, 4.0),
            (x, 3.0 * x, 4.0),
            (x, Vec3::zeros(), 4.0),
            (x, Vec3::new(0.0, 0.0, 1.0), 4.0),
            (x, Vec3::new(0.0, 1.0, 0.0), f64::NAN),
            (x, Vec3::new(0.0, 1.0, 0.0), 0.0),
            (x, Vec3::new(0.0, f64::INFINITY, 0.0), 1.0),
            (x, Vec3::new(f64::NAN, 1.0, 0.0), 1.0),
            (x, Vec3::new(0.0, 1.0, 0.0), 1e300),
            (x, Vec3::new(0.0, 1.0, 0.0), 1e-300),
            (1e160 * x, Vec3::new(0.0, 1.0, 0.0), 1.0),
            (1e-160 * x, Vec3::new(0.0, 1.0, 0.0), 1.0),
        ]
        .into_iter()
        .enumerate()
        {
            all[100 * i + 7].0 = Ends { r1, r2, time };
        }
        all
    }

    fn ways() -> [Way; 4] {
        let normal = Vec3::new(0.1, 0.0, 2.0);
        [Way::Short, Way::Long, Way::Prograde(normal), Way::Retrograde(normal)]
    }

    /// Text tells every bit of finite numbers apart, and errors that hold numbers that are none are equal in it.
    fn text<T: std::fmt::Debug>(answer: T) -> String {
        format!("{answer:?}")
    }

    #[test]
    fn company_changes_no_bit_of_single_arcs() {
        let problems = problems();
        for gm in [1.0, 3.7, -1.0] {
            for (way, width) in ways().into_iter().flat_map(|way| Width::ALL.map(|width| (way, width))) {
                let (mut met, mut good) = (0, 0);
                solve_batch_at(width, gm, way, problems.iter().map(|problem| problem.0), |i, arc| {
                    assert_eq!(i, met);
                    let Ends { r1, r2, time } = problems[i].0;
                    let alone = solve_one(gm, &r1, &r2, time, way, 0, Branch::Single);
                    good += usize::from(alone.is_ok());
                    assert_eq!(text(&arc), text(&alone), "{i} {way:?} {width:?} {:?}", problems[i]);
                    met += 1;
                });
                assert_eq!(met, problems.len());
                assert!(gm < 0.0 || good > 4900, "{good}");
            }
        }
    }

    #[test]
    fn company_changes_no_bit_of_pairs() {
        let problems = problems();
        for (way, width) in ways().into_iter().flat_map(|way| Width::ALL.map(|width| (way, width))) {
            let (mut met, mut good) = (0, 0);
            solve_pair_batch_at(width, 1.0, way, problems.iter().copied(), |i, pair| {
                assert_eq!(i, met);
                let (Ends { r1, r2, time }, revolutions) = problems[i];
                let alone = solve_pair(1.0, &r1, &r2, time, way, revolutions);
                good += usize::from(alone.is_ok());
                assert_eq!(text(&pair), text(&alone), "{i} {way:?} {width:?} {:?}", problems[i]);
                met += 1;
            });
            assert_eq!(met, problems.len());
            assert!(good > 1000, "{good}");
        }
    }
}
