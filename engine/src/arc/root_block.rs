//! A block of roots of the time equation, searched for side by side.
//!
//! One search is a chain in which each operation waits for the one before. Here every stage goes through the whole block
//! before the next begins, and what would branch is sorted first, so that the processor always has the next root to work
//! on. Each number is formed by the same operations as in the search for a single root: the same bits.

#![allow(
    clippy::needless_range_loop,
    clippy::needless_bitwise_bool,
    reason = "plain loops and conditions without branches go side by side"
)]

use super::flight_root::MOST_STEPS;
use super::flight_time::{Curve, Flight, Form, Shape};

/// Roots in a block.
pub(super) const BLOCK: usize = 64;

/// A number for each root of a block.
pub(super) type Lane = [f64; BLOCK];

/// Curves, times wanted, starts; after the search roots.
#[derive(Debug)]
pub(super) struct RootBlock {
    pub(super) lambda: Lane,
    pub(super) chord: Lane,
    pub(super) revolutions: Lane,
    /// T wanted.
    pub(super) time: Lane,
    /// Start, then root.
    pub(super) x: Lane,
    /// Sign of T' at the root wanted, 1 or −1.
    pub(super) sign: Lane,
    /// Evaluations of the curve.
    pub(super) iterations: [u32; BLOCK],
    /// Whether the quick search came to an end; the others need a bracket.
    pub(super) found: [bool; BLOCK],
}

/// What one root needs in one step.
#[derive(Clone, Copy)]
enum Of {
    Lambda,
    Chord,
    Revolutions,
    Wanted,
    Sign,
    X,
    Um,
    Y,
    Eta,
    Cosine,
    PerUm,
    PerY,
}

/// Numbers of a root that outlive a step, and all of them.
const KEPT: usize = Of::X as usize + 1;
const ALL: usize = Of::PerY as usize + 1;

/// The roots that are still searched for, closed up and sorted by the form of the time equation.
struct Work {
    count: usize,
    /// Which root of the block.
    place: [usize; BLOCK],
    of: [Lane; ALL],
    time: Lane,
    slope: Lane,
}

impl RootBlock {
    pub(super) fn new() -> RootBlock {
        RootBlock {
            lambda: [0.5; BLOCK],
            chord: [0.75; BLOCK],
            revolutions: [0.0; BLOCK],
            time: [1.0; BLOCK],
            x: [0.0; BLOCK],
            sign: [-1.0; BLOCK],
            iterations: [0; BLOCK],
            found: [false; BLOCK],
        }
    }

    #[inline(always)]
    fn curve(&self, i: usize) -> Curve {
        Curve { lambda: self.lambda[i], chord: self.chord[i], revolutions: self.revolutions[i] }
    }

    /// Starts of the arcs without a whole revolution.
    pub(super) fn start(&mut self) {
        for i in 0..BLOCK {
            self.x[i] = self.curve(i).start(self.time[i]);
        }
        self.sign = [-1.0; BLOCK];
    }

    /// Starts of pairs with whole revolutions: the first half of the block left, the second, with the same curves, right.
    pub(super) fn start_pairs(&mut self) {
        const HALF: usize = BLOCK / 2;
        let mut middle = [0.0; HALF];
        for i in 0..HALF {
            middle[i] = self.curve(i).middle();
        }
        for i in 0..HALF {
            self.x[i] = self.curve(i).start_past(middle[i], self.time[i], false);
            self.sign[i] = -1.0;
        }
        for i in 0..HALF {
            self.x[HALF + i] = self.curve(i).start_past(middle[i], self.time[i], true);
            self.sign[HALF + i] = 1.0;
        }
    }

    /// The search for those of the roots that are `wanted`.
    pub(super) fn search(&mut self, wanted: &[bool; BLOCK]) {
        self.found = [false; BLOCK];
        let mut work = Work::new();
        let mut sorted = Work::new();
        let of = [&self.lambda, &self.chord, &self.revolutions, &self.time, &self.sign, &self.x];
        for (i, &wanted) in wanted.iter().enumerate() {
            let k = work.count % BLOCK;
            work.place[k] = i;
            for (to, from) in work.of.iter_mut().zip(of) {
                to[k] = from[i];
            }
            work.count += usize::from(wanted);
        }
        for iterations in 1..=MOST_STEPS {
            if work.count == 0 {
                return;
            }
            work.shapes();
            let ends = work.sort(&mut sorted);
            sorted.flights(ends);
            let outcomes = sorted.steps();
            self.settle(&sorted, &outcomes, iterations, &mut work);
        }
    }

    /// Writes down what was found, and keeps the others for another step.
    #[inline(always)]
    fn settle(&mut self, sorted: &Work, outcomes: &Lane, iterations: u32, work: &mut Work) {
        let mut count = 0;
        for k in 0..sorted.count.min(BLOCK) {
            let i = sorted.place[k] % BLOCK;
            self.x[i] = sorted.of[Of::X as usize][k];
            self.found[i] = outcomes[k] == FOUND;
            self.iterations[i] = iterations;
            let next = count % BLOCK;
            work.place[next] = i;
            for of in 0..KEPT {
                work.of[of][next] = sorted.of[of][k];
            }
            count += usize::from(outcomes[k] == AGAIN);
        }
        work.count = count;
    }
}

/// Outcomes of a step, as numbers so that they are formed beside the others.
const AGAIN: f64 = 0.0;
const FOUND: f64 = 1.0;
const LOST: f64 = 2.0;

impl Work {
    fn new() -> Work {
        let lane = [0.5; BLOCK];
        Work { count: 0, place: [0; BLOCK], of: [lane; ALL], time: lane, slope: lane }
    }

    #[inline(always)]
    fn get(&self, of: Of, k: usize) -> f64 {
        self.of[of as usize][k]
    }

    #[inline(always)]
    fn curve(&self, k: usize) -> Curve {
        Curve {
            lambda: self.get(Of::Lambda, k),
            chord: self.get(Of::Chord, k),
            revolutions: self.get(Of::Revolutions, k),
        }
    }

    #[inline(always)]
    fn shape(&self, k: usize) -> Shape {
        Shape {
            um: self.get(Of::Um, k),
            y: self.get(Of::Y, k),
            eta: self.get(Of::Eta, k),
            cosine: self.get(Of::Cosine, k),
            per_um: self.get(Of::PerUm, k),
            per_y: self.get(Of::PerY, k),
        }
    }

    #[inline(always)]
    fn shapes(&mut self) {
        for k in 0..self.count.min(BLOCK) {
            let Shape { um, y, eta, cosine, per_um, per_y } = self.curve(k).shape(self.get(Of::X, k));
            self.of[Of::Um as usize][k] = um;
            self.of[Of::Y as usize][k] = y;
            self.of[Of::Eta as usize][k] = eta;
            self.of[Of::Cosine as usize][k] = cosine;
            self.of[Of::PerUm as usize][k] = per_um;
            self.of[Of::PerY as usize][k] = per_y;
        }
    }

    /// Copies to `sorted` by form; returns where each form ends.
    #[inline(always)]
    fn sort(&self, sorted: &mut Work) -> [usize; FORMS] {
        let count = self.count.min(BLOCK);
        // As numbers, so that they are formed without a branch that the processor would have to guess.
        let mut forms = [0.0; BLOCK];
        for k in 0..count {
            forms[k] = self.curve(k).form_number(self.get(Of::X, k), &self.shape(k));
        }
        let mut ends = [0; FORMS];
        for form in &forms[..count] {
            ends[*form as usize % FORMS] += 1;
        }
        let mut next = [0; FORMS];
        let mut before = 0;
        for (next, end) in next.iter_mut().zip(&mut ends) {
            *next = before;
            *end += before;
            before = *end;
        }
        for k in 0..count {
            let form = forms[k] as usize % FORMS;
            let to = next[form] % BLOCK;
            next[form] += 1;
            sorted.place[to] = self.place[k];
            for of in 0..ALL {
                sorted.of[of][to] = self.of[of][k];
            }
        }
        sorted.count = count;
        ends
    }

    /// T and T' of all, form by form.
    #[inline(always)]
    fn flights(&mut self, [a, b, c, d]: [usize; FORMS]) {
        self.each(0, a, Curve::two_series);
        self.each(a, b, Curve::one_series);
        self.each(b, c, Curve::ellipse);
        self.each(c, d, Curve::hyperbola);
    }

    #[inline(always)]
    fn each(&mut self, from: usize, to: usize, form: impl Fn(&Curve, f64, &Shape) -> Flight) {
        for k in from..to.min(BLOCK) {
            let flight = form(&self.curve(k), self.get(Of::X, k), &self.shape(k));
            self.time[k] = flight.time;
            self.slope[k] = flight.slope;
        }
    }

    /// A step for all; returns the outcomes.
    #[inline(always)]
    fn steps(&mut self) -> Lane {
        let mut outcomes = [AGAIN; BLOCK];
        for k in 0..self.count.min(BLOCK) {
            let flight = Flight { time: self.time[k], slope: self.slope[k] };
            let (x, wanted, sign) = (self.get(Of::X, k), self.get(Of::Wanted, k), self.get(Of::Sign, k));
            let step = self.curve(k).step(x, &self.shape(k), flight, wanted, sign);
            outcomes[k] = if step.lost {
                LOST
            } else if step.found {
                FOUND
            } else {
                AGAIN
            };
            self.of[Of::X as usize][k] = step.next;
        }
        outcomes
    }
}

/// How many forms there are, in the order of their names.
const FORMS: usize = Form::Hyperbola as usize + 1;
