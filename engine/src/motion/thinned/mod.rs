//! A flight thinned to a stated error: the fewest polynomials that tell place, velocity and mass as well as is asked.
//!
//! An integration leaves a polynomial for each of its steps, good to a billionth of the place. A record needs less: neighbouring
//! steps are merged into one [`Segment`] while it stays within the error, never across a switch of forces. The error is proven,
//! not sampled: on each step the difference of two polynomials is a polynomial of degree 15 at most, and its size anywhere follows from its
//! size at 24 Chebyshev nodes. [EhlichZeller1964]

mod segment;

#[cfg(test)]
pub(crate) mod sample;

pub use segment::{Moment, Segment};

use self::segment::{Fit, INNER};
use super::field::Point;
use super::trajectory::Trajectory;

/// Errors of a thinned flight: what is allowed, or what is proven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fineness {
    /// In place, m.
    pub place: f64,
    /// In velocity, m/s.
    pub velocity: f64,
    /// In mass, kg.
    pub mass: f64,
}

/// The usual error in place, as a part of the flight's extent.
pub const USUAL_PART: f64 = 1e-7;

/// And no more than this, m.
pub const USUAL_MOST: f64 = 1.0;

impl Fineness {
    /// The usual errors of a flight: place to 1e-7 of the extent but at most 1 m (and at least a millimetre, or 1e-12 of the distance
    /// from the centre, below which a double has little to say after a difference), velocity to 1e-6 of the greatest speed, mass to
    /// 1e-7 of the first.
    pub fn usual(stretches: &[&Trajectory<4>]) -> Self {
        let (mut low, mut high) = ([f64::INFINITY; 3], [f64::NEG_INFINITY; 3]);
        let (mut far, mut fast, mut mass) = (0.0_f64, 0.0_f64, 0.0_f64);
        for stretch in stretches {
            for point in stretch.pieces().iter().map(|piece| piece.start).chain([stretch.end()]) {
                for axis in 0..3 {
                    low[axis] = low[axis].min(point.position[axis]);
                    high[axis] = high[axis].max(point.position[axis]);
                }
                far = far.max(norm(&point.position));
                fast = fast.max(norm(&point.velocity));
                mass = mass.max(point.velocity[3]);
            }
        }
        let extent = (0..3).map(|axis| high[axis] - low[axis]).fold(0.0, f64::max);
        let floor = 1e-3_f64.max(1e-12 * far);
        Self {
            place: (USUAL_PART * extent).clamp(floor, USUAL_MOST.max(floor)),
            velocity: 1e-6 * fast,
            mass: 1e-7 * mass,
        }
    }

    /// The larger of two in each.
    fn or_larger(self, other: Self) -> Self {
        Self {
            place: self.place.max(other.place),
            velocity: self.velocity.max(other.velocity),
            mass: self.mass.max(other.mass),
        }
    }

    /// Whether all three are within what is allowed.
    pub fn within(&self, allowed: &Self) -> bool {
        self.place <= allowed.place && self.velocity <= allowed.velocity && self.mass <= allowed.mass
    }
}

/// The length of the first three components.
pub(super) fn norm(vector: &[f64; 4]) -> f64 {
    (vector[0] * vector[0] + vector[1] * vector[1] + vector[2] * vector[2]).sqrt()
}

/// A flight of several smooth stretches, thinned.
#[derive(Debug, Clone, PartialEq)]
pub struct Thinned {
    segments: Vec<Segment>,
    /// The first segment of each stretch.
    firsts: Vec<usize>,
    error: Fineness,
}

impl Thinned {
    /// Thins stretches that follow one another in time. The fourth component is the mass, in its velocity.
    ///
    /// - `allowed`: of each segment. Where a single step of the integration cannot be told so well, which roundings alone can cause, the
    ///   segment is kept and [`Thinned::error`] tells the truth.
    ///
    /// # Source
    /// Interpolation at Chebyshev nodes of what is left after the cubic through both ends; the longest run of steps first, which gives the fewest
    /// segments. Proof of the error by [EhlichZeller1964].
    pub fn of(stretches: &[&Trajectory<4>], allowed: &Fineness) -> Self {
        let fit = Fit::new();
        let (mut segments, mut firsts) = (Vec::new(), Vec::new());
        let mut error = Fineness { place: 0.0, velocity: 0.0, mass: 0.0 };
        for stretch in stretches {
            firsts.push(segments.len());
            let steps = fit.sampled(stretch);
            let mut from = 0;
            while from < steps.len() {
                let (count, segment, proven) = longest(&fit, &steps[from..], allowed);
                error = error.or_larger(proven);
                segments.push(segment);
                from += count;
            }
        }
        Self { segments, firsts, error }
    }

    /// The segments, first to last.
    pub fn segments(&self) -> &[Segment] {
        &self.segments
    }

    /// The segments of one stretch.
    pub fn stretch(&self, index: usize) -> &[Segment] {
        let from = self.firsts.get(index).copied().unwrap_or(self.segments.len());
        let to = self.firsts.get(index + 1).copied().unwrap_or(self.segments.len());
        &self.segments[from.min(to)..to]
    }

    /// How many stretches there are.
    pub fn stretches(&self) -> usize {
        self.firsts.len()
    }

    /// Which stretch a time falls in; at a switch the one that begins.
    pub fn stretch_at(&self, time: f64) -> usize {
        let segment = self.index_at(time);
        self.firsts.partition_point(|first| *first <= segment).saturating_sub(1)
    }

    /// The error against the full flight that is proven for every time.
    pub fn error(&self) -> Fineness {
        self.error
    }

    /// Bytes of memory that it holds.
    pub fn memory(&self) -> usize {
        size_of::<Self>()
            + size_of::<usize>() * self.firsts.capacity()
            + size_of::<Segment>() * self.segments.capacity()
            + self.segments.iter().map(Segment::heap).sum::<usize>()
    }

    /// When it begins and ends, s.
    pub fn span(&self) -> (f64, f64) {
        match (self.segments.first(), self.segments.last()) {
            (Some(first), Some(last)) => (first.start(), last.end()),
            _ => (0.0, 0.0),
        }
    }

    fn index_at(&self, time: f64) -> usize {
        self.segments.partition_point(|segment| segment.start() <= time).saturating_sub(1)
    }

    /// The same within some stretches (first, and one behind the last), at their end before whatever switches there.
    pub fn at_within(&self, (from, to): (usize, usize), time: f64) -> Option<Moment> {
        let first = self.firsts.get(from).copied().unwrap_or(self.segments.len());
        let last = self.firsts.get(to).copied().unwrap_or(self.segments.len());
        let own = self.segments.get(first..last)?;
        let index = own.partition_point(|segment| segment.start() <= time).saturating_sub(1);
        let segment = own.get(index)?;
        Some(segment.at(time.clamp(segment.start(), segment.end())))
    }

    /// Place, velocity, acceleration and mass at a time, the nearer end for a time outside; at a switch after it. `None` for a flight without a
    /// step.
    pub fn at(&self, time: f64) -> Option<Moment> {
        let (start, end) = self.span();
        let time = time.clamp(start, end);
        Some(self.segments.get(self.index_at(time))?.at(time))
    }
}

/// The longest run of steps from the first that one segment tells, with their number and the error proven.
fn longest(fit: &Fit, steps: &[segment::Step], allowed: &Fineness) -> (usize, Segment, Fineness) {
    // Twice as many until it does not fit, then halving between: few fits are tried in vain.
    let tried = |count: usize| fit.over(&steps[..count], allowed);
    let (mut best, mut held) = (1, fit.single(&steps[0], allowed));
    let mut bad = steps.len() + 1;
    let mut next = 2;
    while best < next && next < bad {
        match tried(next) {
            Some(found) => {
                (best, held) = (next, found);
                next = (2 * next).min(steps.len());
            }
            None => bad = next,
        }
    }
    while bad - best > 1 && bad <= steps.len() {
        let middle = best.midpoint(bad);
        match tried(middle) {
            Some(found) => (best, held) = (middle, found),
            None => bad = middle,
        }
    }
    (best, held.0, held.1)
}

/// The largest degree of a segment's polynomial.
pub const DEGREE: usize = INNER + 3;

/// Point of a flight as place and mass side by side.
pub(super) fn values(point: &Point<4>) -> [f64; 4] {
    [point.position[0], point.position[1], point.position[2], point.velocity[3]]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thinned(allowed: Option<Fineness>) -> (Vec<Trajectory<4>>, Thinned) {
        let full = sample::flight(1e-13);
        let stretches: Vec<&Trajectory<4>> = full.iter().collect();
        let allowed = allowed.unwrap_or_else(|| Fineness::usual(&stretches));
        let thin = Thinned::of(&stretches, &allowed);
        (full, thin)
    }

    /// The largest errors at many times of the full output.
    fn measured(full: &[Trajectory<4>], thin: &Thinned) -> Fineness {
        let mut worst = Fineness { place: 0.0, velocity: 0.0, mass: 0.0 };
        for stretch in full {
            for piece in stretch.pieces() {
                // The end of the last one belongs to what comes after the switch.
                for k in 0..1000 {
                    let meant = stretch.at(piece.start.time + piece.span * (f64::from(k) / 1000.0));
                    let found = thin.at(meant.time).unwrap();
                    let off =
                        |a: &[f64; 4], b: crate::vector::Vec3| (crate::vector::Vec3::new(a[0], a[1], a[2]) - b).norm();
                    worst = worst.or_larger(Fineness {
                        place: off(&meant.position, found.position),
                        velocity: off(&meant.velocity, found.velocity),
                        mass: (meant.velocity[3] - found.mass).abs(),
                    });
                }
            }
        }
        worst
    }

    #[test]
    fn the_stated_error_holds_against_the_full_flight() {
        for place in [1e-2, 1.0, 100.0] {
            let allowed = Fineness { place, velocity: place / 10.0, mass: 1e-3 };
            let (full, thin) = thinned(Some(allowed));
            let (stated, found) = (thin.error(), measured(&full, &thin));
            assert!(stated.within(&allowed), "{stated:?}");
            assert!(found.within(&stated), "{found:?} {stated:?}");
            // And it is no idle bound: the worst place is within a factor of ten of it.
            assert!(found.place > 0.1 * stated.place, "{found:?} {stated:?}");
        }
    }

    #[test]
    fn the_coarser_the_less_memory() {
        let sizes = [1e-3, 1.0, 1e3].map(|place| {
            let (_, thin) = thinned(Some(Fineness { place, velocity: place, mass: 1.0 }));
            (thin.segments().len(), thin.memory())
        });
        assert!(sizes[0].0 >= sizes[1].0 && sizes[1].0 >= sizes[2].0 && sizes[2].0 >= 3, "{sizes:?}");
        assert!(sizes[0].1 > sizes[1].1 && sizes[1].1 > sizes[2].1, "{sizes:?}");
        let (full, thin) = thinned(None);
        let pieces: usize = full.iter().map(|stretch| stretch.pieces().len()).sum();
        let memory = pieces * size_of::<crate::motion::Piece<4>>();
        assert!(thin.memory() < memory, "{} {memory}", thin.memory());
    }

    #[test]
    fn segments_meet_in_place_and_velocity_and_never_cross_a_switch() {
        let (full, thin) = thinned(None);
        assert_eq!(thin.stretches(), 3);
        for (index, stretch) in full.iter().enumerate() {
            let own = thin.stretch(index);
            assert_eq!(own[0].start(), stretch.pieces()[0].start.time);
            assert_eq!(own[own.len() - 1].end(), stretch.end().time);
            assert_eq!(thin.stretch_at(own[0].start()), index);
            for pair in own.windows(2) {
                let (a, b) = (pair[0].at(pair[0].end()), pair[1].at(pair[1].start()));
                assert!((a.position - b.position).norm() < 1e-8 && (a.velocity - b.velocity).norm() < 1e-9);
            }
        }
        // The mass jumps where the stage was dropped.
        let switch = full[1].end().time;
        assert!((thin.at(switch - 1e-6).unwrap().mass - thin.at(switch).unwrap().mass - 2000.0).abs() < 1e-2);
        assert_eq!(thin.at(-5.0).unwrap(), thin.at(0.0).unwrap());
    }

    #[test]
    fn the_acceleration_is_that_of_the_forces() {
        let (full, thin) = thinned(None);
        for stretch in &full {
            for piece in stretch.pieces() {
                let time = piece.start.time + 0.37 * piece.span;
                let (meant, found) = (piece.acceleration_at(time), thin.at(time).unwrap());
                let off = (crate::vector::Vec3::new(meant[0], meant[1], meant[2]) - found.acceleration).norm();
                assert!(off < 0.02 && (meant[3] - found.flow).abs() < 0.02, "{off} {meant:?} {found:?}");
            }
        }
    }

    #[test]
    fn an_allowance_below_rounding_is_answered_with_the_truth() {
        let allowed = Fineness { place: 1e-14, velocity: 1e-18, mass: 0.0 };
        let (full, thin) = thinned(Some(allowed));
        assert!(!thin.error().within(&allowed));
        assert!(thin.error().place < 1e-5 && measured(&full, &thin).within(&thin.error()), "{:?}", thin.error());
    }
}
