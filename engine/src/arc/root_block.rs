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
    /// Sign of T' at the root wanted.
    pub(super) rising: [bool; BLOCK],
    /// Evaluations of the curve.
    pub(super) iterations: [u32; BLOCK],
    /// Whether the quick search came to an end; the others need a bracket.
    pub(super) found: [bool; BLOCK],
}

/// What is worked on in one step, closed up.
struct Work {
    lambda: Lane,
    chord: Lane,
    revolutions: Lane,
    wanted: Lane,
    x: Lane,
    um: Lane,
    y: Lane,
    eta: Lane,
    cosine: Lane,
    per_um: Lane,
    per_y: Lane,
    time: Lane,
    slope: Lane,
    rising: [bool; BLOCK],
}

/// Places in a block, closed up.
#[derive(Clone, Copy)]
struct List {
    places: [usize; BLOCK],
    count: usize,
}

impl List {
    const EMPTY: List = List { places: [0; BLOCK], count: 0 };

    #[inline(always)]
    fn push(&mut self, place: usize) {
        self.places[self.count % BLOCK] = place;
        self.count += 1;
    }

    #[inline(always)]
    fn len(&self) -> usize {
        self.count.min(BLOCK)
    }

    #[inline(always)]
    fn at(&self, k: usize) -> usize {
        self.places[k % BLOCK] % BLOCK
    }
}

impl RootBlock {
    pub(super) fn new() -> RootBlock {
        RootBlock {
            lambda: [0.5; BLOCK],
            chord: [0.75; BLOCK],
            revolutions: [0.0; BLOCK],
            time: [1.0; BLOCK],
            x: [0.0; BLOCK],
            rising: [false; BLOCK],
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
            self.rising[i] = false;
        }
    }

    /// Starts of pairs with whole revolutions: the first half of the block left, the second, with the same curves, right.
    pub(super) fn start_pairs(&mut self) {
        const HALF: usize = BLOCK / 2;
        let mut middle = [0.0; BLOCK];
        for i in 0..HALF {
            let of = self.curve(i).middle();
            middle[i] = of;
            middle[i + HALF] = of;
        }
        for i in 0..HALF {
            self.x[i] = self.curve(i).start_past(middle[i], self.time[i], false);
            self.rising[i] = false;
        }
        for i in HALF..BLOCK {
            self.x[i] = self.curve(i).start_past(middle[i], self.time[i], true);
            self.rising[i] = true;
        }
    }

    /// The search for those of the roots that are `wanted`.
    pub(super) fn search(&mut self, wanted: &[bool; BLOCK]) {
        let mut active = List::EMPTY;
        self.found = [false; BLOCK];
        for (i, &wanted) in wanted.iter().enumerate() {
            if wanted {
                active.push(i);
            }
        }
        let mut work = Work::new();
        for iterations in 1..=MOST_STEPS {
            if active.count == 0 {
                return;
            }
            work.gather(self, &active);
            work.flights(active.len());
            active = self.step(&mut work, &active, iterations);
        }
    }

    /// A step for each active root; returns those that need another.
    #[inline(always)]
    fn step(&mut self, work: &mut Work, active: &List, iterations: u32) -> List {
        let (mut next, mut found, mut lost) = ([0.0; BLOCK], [false; BLOCK], [false; BLOCK]);
        for k in 0..active.len() {
            let flight = Flight { time: work.time[k], slope: work.slope[k] };
            let step = work.curve(k).step(work.x[k], &work.shape(k), flight, work.wanted[k], work.rising[k]);
            next[k] = step.next;
            found[k] = step.found;
            lost[k] = step.lost;
        }
        let mut again = List::EMPTY;
        for k in 0..active.len() {
            let i = active.at(k);
            self.x[i] = next[k];
            self.found[i] = found[k] & !lost[k];
            self.iterations[i] = iterations;
            again.places[again.count % BLOCK] = i;
            again.count += usize::from(!found[k] & !lost[k]);
        }
        again
    }
}

impl Work {
    fn new() -> Work {
        let lane = [0.5; BLOCK];
        Work {
            lambda: lane,
            chord: lane,
            revolutions: lane,
            wanted: lane,
            x: lane,
            um: lane,
            y: lane,
            eta: lane,
            cosine: lane,
            per_um: lane,
            per_y: lane,
            time: lane,
            slope: lane,
            rising: [false; BLOCK],
        }
    }

    #[inline(always)]
    fn curve(&self, k: usize) -> Curve {
        Curve { lambda: self.lambda[k], chord: self.chord[k], revolutions: self.revolutions[k] }
    }

    #[inline(always)]
    fn shape(&self, k: usize) -> Shape {
        Shape {
            um: self.um[k],
            y: self.y[k],
            eta: self.eta[k],
            cosine: self.cosine[k],
            per_um: self.per_um[k],
            per_y: self.per_y[k],
        }
    }

    #[inline(always)]
    fn gather(&mut self, block: &RootBlock, active: &List) {
        for k in 0..active.len() {
            let i = active.at(k);
            self.lambda[k] = block.lambda[i];
            self.chord[k] = block.chord[i];
            self.revolutions[k] = block.revolutions[i];
            self.wanted[k] = block.time[i];
            self.x[k] = block.x[i];
            self.rising[k] = block.rising[i];
        }
    }

    /// T and T' for the first `count` of them, form by form.
    #[inline(always)]
    fn flights(&mut self, count: usize) {
        let count = count.min(BLOCK);
        for k in 0..count {
            let shape = self.curve(k).shape(self.x[k]);
            self.um[k] = shape.um;
            self.y[k] = shape.y;
            self.eta[k] = shape.eta;
            self.cosine[k] = shape.cosine;
            self.per_um[k] = shape.per_um;
            self.per_y[k] = shape.per_y;
        }
        let mut forms = [List::EMPTY; 4];
        for k in 0..count {
            forms[self.curve(k).form(self.x[k], &self.shape(k)) as usize].push(k);
        }
        self.each(&forms[Form::TwoSeries as usize], Curve::two_series);
        self.each(&forms[Form::OneSeries as usize], Curve::one_series);
        self.each(&forms[Form::Ellipse as usize], Curve::ellipse);
        self.each(&forms[Form::Hyperbola as usize], Curve::hyperbola);
    }

    /// One form for all that need it.
    #[inline(always)]
    fn each(&mut self, list: &List, form: impl Fn(&Curve, f64, &Shape) -> Flight) {
        let (mut time, mut slope) = ([0.0; BLOCK], [0.0; BLOCK]);
        for k in 0..list.len() {
            let i = list.at(k);
            let flight = form(&self.curve(i), self.x[i], &self.shape(i));
            time[k] = flight.time;
            slope[k] = flight.slope;
        }
        for k in 0..list.len() {
            let i = list.at(k);
            self.time[i] = time[k];
            self.slope[i] = slope[k];
        }
    }
}
