//! A trajectory as integrated: pieces of polynomials, one for each step, that tell place and velocity at any time.

use super::field::Point;

/// One step of an integration: where it began, and the acceleration over it as a polynomial of degree 7.
///
/// Velocity and position are that polynomial integrated once and twice, so that they agree with one another by construction. Within a step
/// it is of order 8 where the ends are of order 16: with a tolerance of 1e-13 a step its error stays below a billionth of the place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece<const D: usize> {
    /// Where it begins.
    pub start: Point<D>,
    /// How long it lasts, s.
    pub span: f64,
    /// Coefficients of the shifted Legendre polynomials of degree 0 to 7 in the acceleration.
    pub acceleration: [[f64; 8]; D],
}

/// (2k − 1) / k and (k − 1) / k of the recurrence of Legendre's polynomials, 1 / (4k + 2) of their integrals, degree by degree.
const RECURRENCE: [[f64; 3]; 10] = {
    let mut all = [[0.0; 3]; 10];
    let mut k = 1;
    while k < 10 {
        let degree = k as f64;
        all[k] = [(2.0 * degree - 1.0) / degree, (degree - 1.0) / degree, 1.0 / (4.0 * degree + 2.0)];
        k += 1;
    }
    all
};

/// Shifted Legendre polynomials of degree 0 to 9 at `share` of a step, counted from 0 to 1. [Abramowitz1964], 22.7.10.
#[inline(always)]
fn legendre(share: f64) -> [f64; 10] {
    let argument = 2.0 * share - 1.0;
    let mut value = [1.0; 10];
    value[1] = argument;
    for k in 2..10 {
        value[k] = RECURRENCE[k][0] * argument * value[k - 1] - RECURRENCE[k][1] * value[k - 2];
    }
    value
}

impl<const D: usize> Piece<D> {
    /// When it ends, s.
    pub fn end(&self) -> f64 {
        self.start.time + self.span
    }

    /// Place and velocity at a time within the step.
    ///
    /// The integral of a shifted Legendre polynomial from the start is (P(k+1) − P(k−1)) / (4k + 2). [Abramowitz1964], 22.13.
    #[inline]
    pub fn at(&self, time: f64) -> Point<D> {
        let share = if self.span == 0.0 { 0.0 } else { (time - self.start.time) / self.span };
        let value = legendre(share);
        let mut once = [share; 9];
        for k in 1..9 {
            once[k] = (value[k + 1] - value[k - 1]) * RECURRENCE[k][2];
        }
        let mut twice = [0.5 * share * share; 8];
        for k in 1..8 {
            twice[k] = (once[k + 1] - once[k - 1]) * RECURRENCE[k][2];
        }
        let (mut position, mut velocity) = (self.start.position, self.start.velocity);
        for d in 0..D {
            let (mut first, mut second) = (0.0, 0.0);
            for k in (0..8).rev() {
                first += self.acceleration[d][k] * once[k];
                second += self.acceleration[d][k] * twice[k];
            }
            position[d] += self.span * (share * velocity[d] + self.span * second);
            velocity[d] += self.span * first;
        }
        Point { time, position, velocity }
    }

    /// Acceleration at a time within the step.
    pub fn acceleration_at(&self, time: f64) -> [f64; D] {
        let share = if self.span == 0.0 { 0.0 } else { (time - self.start.time) / self.span };
        let value = legendre(share);
        self.acceleration.map(|c| (0..8).rev().map(|k| c[k] * value[k]).sum())
    }
}

/// What an integration cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Steps taken.
    pub steps: usize,
    /// Steps tried and given up for shorter ones.
    pub refused: usize,
    /// Evaluations of the force: of all the nodes of a step together for collocation, of one point for the explicit pair.
    pub evaluations: usize,
}

/// A trajectory from one smooth stretch of forces.
#[derive(Clone, Debug, PartialEq)]
pub struct Trajectory<const D: usize> {
    pieces: Vec<Piece<D>>,
    end: Point<D>,
    work: Work,
}

impl<const D: usize> Trajectory<D> {
    pub(super) fn new(pieces: Vec<Piece<D>>, end: Point<D>, work: Work) -> Self {
        Self { pieces, end, work }
    }

    /// The steps, first to last.
    pub fn pieces(&self) -> &[Piece<D>] {
        &self.pieces
    }

    /// Where it ends, with the sums of the whole integration behind it: better by a rounding or two than the last piece's own end.
    pub fn end(&self) -> Point<D> {
        self.end
    }

    /// What it cost.
    pub fn work(&self) -> Work {
        self.work
    }

    /// Place and velocity at a time between its ends; the nearer end for a time outside.
    pub fn at(&self, time: f64) -> Point<D> {
        let Some(first) = self.pieces.first() else { return self.end };
        if time >= self.end.time {
            return self.end;
        }
        if time <= first.start.time {
            return first.start;
        }
        let next = self.pieces.partition_point(|piece| piece.start.time <= time);
        self.pieces[next - 1].at(time)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_piece_integrates_its_polynomial() {
        // Acceleration 1 + 2 (2s − 1) in one component, over 3 s from rest: velocity 3 (s + 2 (s² − s)), position 9 (s²/2 + 2 (s³/3 − s²/2)).
        let mut acceleration = [[0.0; 8]];
        (acceleration[0][0], acceleration[0][1]) = (1.0, 2.0);
        let piece = Piece { start: Point { time: 10.0, position: [0.0], velocity: [0.0] }, span: 3.0, acceleration };
        for s in [0.0_f64, 0.25, 0.5, 1.0] {
            let there = piece.at(10.0 + 3.0 * s);
            assert!((there.velocity[0] - 3.0 * (s + 2.0 * (s * s - s))).abs() < 4e-16 * 3.0);
            assert!(
                (there.position[0] - 9.0 * (s * s / 2.0 + 2.0 * (s.powi(3) / 3.0 - s * s / 2.0))).abs() < 9.0 * 4e-16
            );
        }
    }
}
