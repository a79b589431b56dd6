//! A block of Lambert's problems solved in lanes, stage by stage: triangles, roots, velocities, excess speeds.
//!
//! Every stage goes through the block before the next begins, so that the processor has the next lane to work on while
//! one waits. One problem alone runs the same operations on a lane of one number: the same bits.

use super::flight_lanes::Roots;
use super::lambert::{Branch, LambertArc, Way};
use super::triangle::{Toward, energy, transfer_angle};
use super::triangle_lanes::{Centre, Triangles, Vector};
use crate::numerics::lanes::{Kernel, Lane, Mask, Width, at_width, single};
use crate::vector::Vec3;

/// Problems in a block: one bit of a `u64` each, and a multiple of the numbers in a lane.
pub(super) const BLOCK: usize = 64;

/// A number for each problem of a block.
pub(super) type Row = [f64; BLOCK];

/// Three components for each.
pub(super) type Rows = [Row; 3];

/// A block of problems with what comes of them.
pub(super) struct Block {
    gm: f64,
    centre: Centre,
    pub(super) r1: Rows,
    pub(super) r2: Rows,
    pub(super) time: Row,
    pub(super) revolutions: Row,
    lambda: Row,
    flatness: Row,
    scaled: Row,
    semiperimeter: Row,
    more: Row,
    less: Row,
    rho: Row,
    gains: [Row; 2],
    across: Row,
    cross: Rows,
    ordinary: u64,
    /// Of the arcs without a revolution or left, and of those right.
    sides: [Side; 2],
}

/// One arc of each problem.
struct Side {
    x: Row,
    iterations: Row,
    v1: Rows,
    v2: Rows,
    /// A bit for each problem whose arc is found and finite.
    found: u64,
}

impl Block {
    pub(super) fn new(gm: f64, way: Way) -> Box<Block> {
        let (row, rows) = ([1.0; BLOCK], [[1.0; BLOCK]; 3]);
        let side = || Side { x: row, iterations: row, v1: rows, v2: rows, found: 0 };
        let mut block = Box::new(Block {
            gm,
            centre: Centre::new(gm, Toward::new(way)),
            r1: rows,
            r2: rows,
            time: row,
            revolutions: row,
            lambda: row,
            flatness: row,
            scaled: row,
            semiperimeter: row,
            more: row,
            less: row,
            rho: row,
            gains: [row; 2],
            across: row,
            cross: rows,
            ordinary: 0,
            sides: [side(), side()],
        });
        // Idle places hold an ordinary problem, so that no slow numbers arise there.
        block.r2[0] = [-1.0; BLOCK];
        block
    }

    /// Solves the first `count` problems without a revolution.
    pub(super) fn solve(&mut self, width: Width, count: usize) {
        at_width(width, Solve { block: self, count: count.min(BLOCK), turns: None });
    }

    /// Solves them with their revolutions, both arcs.
    pub(super) fn solve_pairs(&mut self, width: Width, count: usize) {
        at_width(width, Solve { block: self, count: count.min(BLOCK), turns: Some([true, true]) });
    }

    /// Solves them with their revolutions, the arcs of one branch.
    pub(super) fn solve_branch(&mut self, width: Width, count: usize, branch: Branch) {
        let right = branch == Branch::Right;
        at_width(width, Solve { block: self, count: count.min(BLOCK), turns: Some([!right, right]) });
    }

    /// The velocities of the arc of problem `i`, if all went the ordinary way. `Single` and `Left` are one side here.
    #[inline(always)]
    pub(super) fn velocities(&self, i: usize, branch: Branch) -> Option<[Vec3; 2]> {
        let side = &self.sides[usize::from(branch == Branch::Right)];
        ((side.found >> i) & 1 == 1).then(|| [vector(&side.v1, i), vector(&side.v2, i)])
    }

    /// The arc of problem `i`, if all went the ordinary way.
    #[inline(always)]
    pub(super) fn arc(&self, i: usize, branch: Branch) -> Option<LambertArc> {
        let side = &self.sides[usize::from(branch == Branch::Right)];
        let x = side.x[i];
        self.velocities(i, branch).map(|[v1, v2]| LambertArc {
            v1,
            v2,
            revolutions: if branch == Branch::Single { 0 } else { self.revolutions[i] as u32 },
            branch,
            transfer_angle: transfer_angle(self.less[i], self.more[i], self.lambda[i]),
            energy: energy(self.gm, self.semiperimeter[i], x),
            x,
            iterations: side.iterations[i] as u32,
        })
    }

    /// |v1 − u1| and |v2 − u2| of the arcs of a branch, and a bit for each problem where both are finite numbers of an arc.
    pub(super) fn excess(
        &self,
        width: Width,
        count: usize,
        branch: Branch,
        bodies: &[Rows; 2],
        speeds: &mut [Row; 2],
    ) -> u64 {
        let side = &self.sides[usize::from(branch == Branch::Right)];
        at_width(width, Excess { side, count: count.min(BLOCK), bodies, speeds }) & side.found
    }

    #[inline(always)]
    fn store<L: Lane>(&mut self, triangles: &Triangles<L>, fits: L::Mask, i: usize) {
        triangles.lambda.store(&mut self.lambda[i..]);
        triangles.flatness.store(&mut self.flatness[i..]);
        triangles.scaled.store(&mut self.scaled[i..]);
        triangles.semiperimeter.store(&mut self.semiperimeter[i..]);
        triangles.more.store(&mut self.more[i..]);
        triangles.less.store(&mut self.less[i..]);
        triangles.rho.store(&mut self.rho[i..]);
        triangles.gains[0].store(&mut self.gains[0][i..]);
        triangles.gains[1].store(&mut self.gains[1][i..]);
        triangles.across.store(&mut self.across[i..]);
        put(triangles.cross, &mut self.cross, i);
        self.ordinary |= u64::from(fits.bits()) << i;
    }

    #[inline(always)]
    fn triangles<L: Lane>(&self, i: usize) -> Triangles<L> {
        Triangles {
            lambda: L::load(&self.lambda[i..]),
            flatness: L::load(&self.flatness[i..]),
            scaled: L::load(&self.scaled[i..]),
            semiperimeter: L::load(&self.semiperimeter[i..]),
            more: L::load(&self.more[i..]),
            less: L::load(&self.less[i..]),
            rho: L::load(&self.rho[i..]),
            gains: [L::load(&self.gains[0][i..]), L::load(&self.gains[1][i..])],
            across: L::load(&self.across[i..]),
            cross: get(&self.cross, i),
        }
    }
}

impl Side {
    #[inline(always)]
    fn store<L: Lane>(&mut self, roots: Roots<L>, i: usize) {
        roots.x.store(&mut self.x[i..]);
        roots.iterations.store(&mut self.iterations[i..]);
        self.found |= u64::from(roots.found.bits()) << i;
    }
}

/// The stages of a solution; which branches where there are revolutions.
struct Solve<'a> {
    block: &'a mut Block,
    count: usize,
    turns: Option<[bool; 2]>,
}

impl Kernel for Solve<'_> {
    type Answer = ();

    #[inline(always)]
    fn run<L: Lane>(self) {
        let (block, count) = (self.block, self.count);
        block.ordinary = 0;
        let mut i = 0;
        while i < count {
            let time = L::load(&block.time[i..]);
            let (triangles, fits) = Triangles::formed(&block.centre, &get::<L>(&block.r1, i), &get(&block.r2, i), time);
            block.store(&triangles, fits, i);
            i += L::ITEMS;
        }
        let wanted = self.turns.unwrap_or([true, false]);
        block.sides[0].found = 0;
        block.sides[1].found = 0;
        let mut i = 0;
        while i < count {
            let curves = block.triangles::<L>(i).curves(L::load(&block.revolutions[i..]));
            match self.turns {
                None => block.sides[0].store(curves.roots(), i),
                Some([true, true]) => {
                    let [left, right] = curves.root_pairs();
                    block.sides[0].store(left, i);
                    block.sides[1].store(right, i);
                }
                Some([_, right]) => block.sides[usize::from(right)].store(curves.roots_past(right), i),
            }
            i += L::ITEMS;
        }
        let mut side = 0;
        while side < 2 {
            let mut finite = 0;
            let mut i = 0;
            while wanted[side] && i < count {
                let (r1, r2) = (get::<L>(&block.r1, i), get(&block.r2, i));
                let [v1, v2] = block.triangles::<L>(i).velocities(&r1, &r2, L::load(&block.sides[side].x[i..]));
                finite |= u64::from(all_finite(&v1, &v2).bits()) << i;
                put(v1, &mut block.sides[side].v1, i);
                put(v2, &mut block.sides[side].v2, i);
                i += L::ITEMS;
            }
            block.sides[side].found &= finite & block.ordinary;
            side += 1;
        }
    }
}

/// The speeds left over at both ends.
struct Excess<'a> {
    side: &'a Side,
    count: usize,
    bodies: &'a [Rows; 2],
    speeds: &'a mut [Row; 2],
}

impl Kernel for Excess<'_> {
    type Answer = u64;

    #[inline(always)]
    fn run<L: Lane>(self) -> u64 {
        let mut finite = 0;
        let mut i = 0;
        while i < self.count {
            let first = distance::<L>(&get(&self.side.v1, i), &get(&self.bodies[0], i));
            let second = distance::<L>(&get(&self.side.v2, i), &get(&self.bodies[1], i));
            first.store(&mut self.speeds[0][i..]);
            second.store(&mut self.speeds[1][i..]);
            finite |= u64::from((first.is_finite() & second.is_finite()).bits()) << i;
            i += L::ITEMS;
        }
        finite
    }
}

/// |a − b|, by the operations of the norm of a vector.
#[inline(always)]
fn distance<L: Lane>(a: &Vector<L>, b: &Vector<L>) -> L {
    let (x, y, z) = (a[0] - b[0], a[1] - b[1], a[2] - b[2]);
    (x * x + y * y + z * z).sqrt()
}

/// Where all six components are finite.
#[inline(always)]
fn all_finite<L: Lane>(a: &Vector<L>, b: &Vector<L>) -> L::Mask {
    let (of_a, of_b) = (a[0].abs() + a[1].abs() + a[2].abs(), b[0].abs() + b[1].abs() + b[2].abs());
    (of_a + of_b).is_finite()
}

#[inline(always)]
fn get<L: Lane>(rows: &Rows, i: usize) -> Vector<L> {
    [L::load(&rows[0][i..]), L::load(&rows[1][i..]), L::load(&rows[2][i..])]
}

#[inline(always)]
fn put<L: Lane>(v: Vector<L>, rows: &mut Rows, i: usize) {
    v[0].store(&mut rows[0][i..]);
    v[1].store(&mut rows[1][i..]);
    v[2].store(&mut rows[2][i..]);
}

#[inline(always)]
pub(super) fn vector(rows: &Rows, i: usize) -> Vec3 {
    Vec3::new(rows[0][i], rows[1][i], rows[2][i])
}

/// One problem alone.
struct One {
    gm: f64,
    centre: Centre,
    r1: Vec3,
    r2: Vec3,
    time: f64,
    revolutions: u32,
    branch: Branch,
}

impl Kernel for One {
    type Answer = Option<LambertArc>;

    #[inline(always)]
    fn run<L: Lane>(self) -> Option<LambertArc> {
        let (r1, r2) = (splat::<L>(&self.r1), splat::<L>(&self.r2));
        let (triangles, fits) = Triangles::formed(&self.centre, &r1, &r2, L::splat(self.time));
        if !fits.all() {
            return None;
        }
        let curves = triangles.curves(L::splat(f64::from(self.revolutions)));
        let roots =
            if self.revolutions == 0 { curves.roots() } else { curves.roots_past(self.branch == Branch::Right) };
        let [v1, v2] = triangles.velocities(&r1, &r2, roots.x);
        if !(roots.found & all_finite(&v1, &v2)).all() {
            return None;
        }
        let x = first(roots.x);
        Some(LambertArc {
            v1: Vec3::new(first(v1[0]), first(v1[1]), first(v1[2])),
            v2: Vec3::new(first(v2[0]), first(v2[1]), first(v2[2])),
            revolutions: self.revolutions,
            branch: if self.revolutions == 0 { Branch::Single } else { self.branch },
            transfer_angle: transfer_angle(first(triangles.less), first(triangles.more), first(triangles.lambda)),
            energy: energy(self.gm, first(triangles.semiperimeter), x),
            x,
            iterations: first(roots.iterations) as u32,
        })
    }
}

#[inline(always)]
fn splat<L: Lane>(v: &Vec3) -> Vector<L> {
    [L::splat(v.x), L::splat(v.y), L::splat(v.z)]
}

/// The first number of a lane.
#[inline(always)]
fn first<L: Lane>(lane: L) -> f64 {
    let mut numbers = [0.0; BLOCK];
    lane.store(&mut numbers);
    numbers[0]
}

/// The arc of one problem, if all goes the ordinary way: the bits that it has in a block. `branch` is of no account
/// without a revolution.
pub(super) fn ordinary_arc(
    gm: f64,
    r1: &Vec3,
    r2: &Vec3,
    time: f64,
    way: Way,
    revolutions: u32,
    branch: Branch,
) -> Option<LambertArc> {
    let centre = Centre::new(gm, Toward::new(way));
    single(One { gm, centre, r1: *r1, r2: *r2, time, revolutions, branch })
}
