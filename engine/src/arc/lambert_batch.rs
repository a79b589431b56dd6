//! Lambert's problem for many pairs of places: the same bits as one by one, faster for the company.

#![allow(
    clippy::needless_range_loop,
    clippy::needless_bitwise_bool,
    reason = "plain loops and conditions without branches go side by side"
)]

use super::lambert::{Branch, LambertArc, LambertError, Way, solve_one, solve_pair};
use super::root_block::{BLOCK, Lane, RootBlock};
use super::triangle::{Toward, Triangle, energy, transfer_angle};
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
/// The same bits and errors as [`solve_one`]; `gm` in m³/s², above 0. A block of problems goes through the solution stage
/// by stage; a rare one that needs more than the ordinary steps is solved alone.
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
    mut answer: impl FnMut(usize, Result<LambertArc, LambertError>),
) {
    let mut block = Block::new(gm, way);
    let mut problems = problems.into_iter();
    let mut first = 0;
    loop {
        let count = block.fill(BLOCK, problems.by_ref().map(|ends| (ends, 0.0)));
        block.solve();
        for i in 0..count {
            answer(first + i, block.arc(i, i, Branch::Single).map_or_else(|| block.alone(i), Ok));
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
/// The same bits and errors as [`solve_pair`]; see [`solve_batch`].
#[inline]
pub fn solve_pair_batch(
    gm: f64,
    way: Way,
    problems: impl IntoIterator<Item = (Ends, NonZeroU32)>,
    mut answer: impl FnMut(usize, Result<[LambertArc; 2], LambertError>),
) {
    const HALF: usize = BLOCK / 2;
    let mut block = Block::new(gm, way);
    let mut problems = problems.into_iter();
    let mut first = 0;
    loop {
        let pairs = problems.by_ref().map(|(ends, revolutions)| (ends, f64::from(revolutions.get())));
        let count = block.fill(HALF, pairs);
        block.solve_pairs();
        for i in 0..count {
            let both = block.arc(i, i, Branch::Left).zip(block.arc(i, i + HALF, Branch::Right));
            answer(first + i, both.map_or_else(|| block.pair_alone(i), |(left, right)| Ok([left, right])));
        }
        first += count;
        if count < HALF {
            return;
        }
    }
}

/// The components of a vector for each item of a block.
type Lanes = [Lane; 3];

#[inline(always)]
fn vector(lanes: &Lanes, i: usize) -> Vec3 {
    Vec3::new(lanes[0][i], lanes[1][i], lanes[2][i])
}

#[inline(always)]
fn put(lanes: &mut Lanes, i: usize, v: Vec3) {
    lanes[0][i] = v.x;
    lanes[1][i] = v.y;
    lanes[2][i] = v.z;
}

/// A block of problems with their triangles, roots and velocities. A block of pairs fills half of the triangles.
struct Block {
    gm: f64,
    way: Way,
    count: usize,
    r1: Lanes,
    r2: Lanes,
    time: Lane,
    unit1: Lanes,
    unit2: Lanes,
    normal: Lanes,
    per_radius: [Lane; 2],
    semiperimeter: Lane,
    lambda: Lane,
    chord: Lane,
    flatness: Lane,
    unit_of_time: Lane,
    rho: Lane,
    sigma: Lane,
    more: Lane,
    less: Lane,
    revolutions: Lane,
    scaled: Lane,
    ordinary: [bool; BLOCK],
    roots: RootBlock,
    v1: Lanes,
    v2: Lanes,
    finite: [bool; BLOCK],
}

impl Block {
    fn new(gm: f64, way: Way) -> Box<Block> {
        let (lane, lanes) = ([1.0; BLOCK], [[1.0; BLOCK]; 3]);
        let mut block = Box::new(Block {
            gm,
            way,
            count: 0,
            r1: lanes,
            r2: lanes,
            time: lane,
            unit1: lanes,
            unit2: lanes,
            normal: lanes,
            per_radius: [lane; 2],
            semiperimeter: lane,
            lambda: lane,
            chord: lane,
            flatness: lane,
            unit_of_time: lane,
            rho: lane,
            sigma: lane,
            more: lane,
            less: lane,
            revolutions: lane,
            scaled: lane,
            ordinary: [false; BLOCK],
            roots: RootBlock::new(),
            v1: lanes,
            v2: lanes,
            finite: [false; BLOCK],
        });
        // Idle places hold an ordinary problem, so that no slow numbers arise there; so do those of a block not full.
        block.r2[0] = [-1.0; BLOCK];
        block
    }

    /// Takes up to `most` problems in; returns how many there were.
    #[inline(always)]
    fn fill(&mut self, most: usize, problems: impl Iterator<Item = (Ends, f64)>) -> usize {
        let mut count = 0;
        for (i, (ends, revolutions)) in (0..most.min(BLOCK)).zip(problems) {
            put(&mut self.r1, i, ends.r1);
            put(&mut self.r2, i, ends.r2);
            self.time[i] = ends.time;
            self.revolutions[i] = revolutions;
            count = i + 1;
        }
        self.count = count;
        count
    }

    /// Solves problems without a whole revolution.
    fn solve(&mut self) {
        self.triangles();
        self.roots.lambda = self.lambda;
        self.roots.chord = self.flatness;
        self.roots.time = self.scaled;
        self.roots.start();
        self.roots.search(&self.ordinary);
        self.velocities::<0, BLOCK>();
    }

    /// Solves problems with whole revolutions, in the first half of the block.
    fn solve_pairs(&mut self) {
        const HALF: usize = BLOCK / 2;
        self.triangles();
        for i in 0..HALF {
            for place in [i, i + HALF] {
                self.roots.lambda[place] = self.lambda[i];
                self.roots.chord[place] = self.flatness[i];
                self.roots.time[place] = self.scaled[i];
                self.roots.revolutions[place] = self.revolutions[i];
                self.ordinary[place] = self.ordinary[i];
            }
        }
        self.roots.start_pairs();
        self.roots.search(&self.ordinary);
        self.velocities::<0, HALF>();
        self.velocities::<HALF, HALF>();
    }

    /// The triangles of all problems, and which of them are ordinary.
    fn triangles(&mut self) {
        let toward = Toward::new(self.way);
        let mut general = [false; BLOCK];
        for i in 0..BLOCK {
            let (t, fits) = Triangle::formed(self.gm, &vector(&self.r1, i), &vector(&self.r2, i), &toward);
            put(&mut self.unit1, i, t.unit1);
            put(&mut self.unit2, i, t.unit2);
            put(&mut self.normal, i, t.normal);
            self.per_radius[0][i] = t.per_radius[0];
            self.per_radius[1][i] = t.per_radius[1];
            self.semiperimeter[i] = t.semiperimeter;
            self.lambda[i] = t.lambda;
            self.chord[i] = t.chord;
            self.flatness[i] = t.flatness;
            self.unit_of_time[i] = t.unit_of_time;
            self.rho[i] = t.rho;
            self.sigma[i] = t.sigma;
            self.more[i] = t.more;
            self.less[i] = t.less;
            self.scaled[i] = self.time[i] / t.unit_of_time;
            general[i] = fits;
        }
        let gm_fits = self.gm > 0.0 && self.gm.is_finite();
        for i in 0..BLOCK {
            let (time, scaled) = (self.time[i], self.scaled[i]);
            let in_time = (time > 0.0) & (time < f64::INFINITY) & (scaled > 0.0) & (scaled < f64::INFINITY);
            self.ordinary[i] = general[i] & in_time & gm_fits & (i < self.count) & (self.sigma[i] != 0.0);
        }
    }

    /// The velocities of `COUNT` roots from `FIRST` on, whose triangles are the first ones.
    #[inline(always)]
    fn velocities<const FIRST: usize, const COUNT: usize>(&mut self) {
        for k in 0..COUNT {
            let [v1, v2] = self.triangle(k).velocities(self.roots.x[FIRST + k]);
            put(&mut self.v1, FIRST + k, v1);
            put(&mut self.v2, FIRST + k, v2);
        }
        for i in FIRST..FIRST + COUNT {
            let (v1, v2) = (vector(&self.v1, i), vector(&self.v2, i));
            self.finite[i] = finite(v1) & finite(v2);
        }
    }

    #[inline(always)]
    fn triangle(&self, i: usize) -> Triangle {
        Triangle {
            gm: self.gm,
            unit1: vector(&self.unit1, i),
            unit2: vector(&self.unit2, i),
            per_radius: [self.per_radius[0][i], self.per_radius[1][i]],
            chord: self.chord[i],
            semiperimeter: self.semiperimeter[i],
            flatness: self.flatness[i],
            lambda: self.lambda[i],
            rho: self.rho[i],
            sigma: self.sigma[i],
            normal: vector(&self.normal, i),
            unit_of_time: self.unit_of_time[i],
            more: self.more[i],
            less: self.less[i],
        }
    }

    /// The arc of root `place` of problem `i`, if all went the ordinary way.
    #[inline(always)]
    fn arc(&self, i: usize, place: usize, branch: Branch) -> Option<LambertArc> {
        let x = self.roots.x[place];
        (self.ordinary[i] & self.roots.found[place] & self.finite[place]).then(|| LambertArc {
            v1: vector(&self.v1, place),
            v2: vector(&self.v2, place),
            revolutions: self.revolutions[i] as u32,
            branch,
            transfer_angle: transfer_angle(self.less[i], self.more[i], self.lambda[i]),
            energy: energy(self.gm, self.semiperimeter[i], x),
            x,
            iterations: self.roots.iterations[place],
        })
    }

    /// One problem solved by itself.
    #[cold]
    #[inline(never)]
    fn alone(&self, i: usize) -> Result<LambertArc, LambertError> {
        let (r1, r2) = (vector(&self.r1, i), vector(&self.r2, i));
        solve_one(self.gm, &r1, &r2, self.time[i], self.way, 0, Branch::Single)
    }

    /// One pair solved by itself.
    #[cold]
    #[inline(never)]
    fn pair_alone(&self, i: usize) -> Result<[LambertArc; 2], LambertError> {
        let (r1, r2) = (vector(&self.r1, i), vector(&self.r2, i));
        let revolutions = NonZeroU32::new(self.revolutions[i] as u32).unwrap_or(NonZeroU32::MIN);
        solve_pair(self.gm, &r1, &r2, self.time[i], self.way, revolutions)
    }
}

/// Whether all components are finite, without a branch.
#[inline(always)]
fn finite(v: Vec3) -> bool {
    v.x.is_finite() & v.y.is_finite() & v.z.is_finite()
}

#[cfg(test)]
mod tests {
    use super::*;

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
            for way in ways() {
                let (mut met, mut good) = (0, 0);
                solve_batch(gm, way, problems.iter().map(|problem| problem.0), |i, arc| {
                    assert_eq!(i, met);
                    let Ends { r1, r2, time } = problems[i].0;
                    let alone = solve_one(gm, &r1, &r2, time, way, 0, Branch::Single);
                    good += usize::from(alone.is_ok());
                    assert_eq!(text(&arc), text(&alone), "{i} {way:?} {:?}", problems[i]);
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
        for way in ways() {
            let (mut met, mut good) = (0, 0);
            solve_pair_batch(1.0, way, problems.iter().copied(), |i, pair| {
                assert_eq!(i, met);
                let (Ends { r1, r2, time }, revolutions) = problems[i];
                let alone = solve_pair(1.0, &r1, &r2, time, way, revolutions);
                good += usize::from(alone.is_ok());
                assert_eq!(text(&pair), text(&alone), "{i} {way:?} {:?}", problems[i]);
                met += 1;
            });
            assert_eq!(met, problems.len());
            assert!(good > 1000, "{good}");
        }
    }
}
