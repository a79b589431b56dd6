//! What follows from the one tolerance that a user gives.

/// How a step is judged, all from one number.
///
/// The *tolerance* is the error that a step may add to the velocity, as a share of the velocity. The coefficients of the acceleration in Legendre polynomials fall
/// roughly geometrically, c(k) ~ ρ^k; collocation at eight nodes errs by the sixteenth, c(16) = c(7)^(16/7). So the last coefficients may be
/// tolerance^(7/16) of the whole, and the step follows from them, each falling with its k-th power.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tolerance {
    /// The error that a step may add, relative.
    step: f64,
    /// What the last two coefficients may be of the whole.
    last: f64,
}

/// From coefficients of degree 7 to the error of degree 16.
const DEGREES: f64 = 7.0 / 16.0;

/// No step asks for more than this of double precision: below it only roundings are measured.
pub(super) const FINEST: f64 = 1e-16;

/// A step is worth trying again only when it shrinks at least to this share.
const KEEP: f64 = 0.7;

/// At most so much longer is the next step.
const GROWTH: f64 = 2.0;

/// Contraction of the iteration at which the work for a given time is least: with κ growing as the square of the step, step × |ln κ|
/// is greatest at κ = e⁻².
const CONTRACTION: f64 = 0.135_335_283_236_612_7;

/// What to do with a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Judgement {
    /// Keep it; the next one has this share of its length.
    Keep(f64),
    /// Try again with this share of its length.
    Shorten(f64),
}

impl Tolerance {
    pub(super) fn new(step: f64) -> Self {
        let step = step.max(FINEST);
        Self { step, last: step.powf(DEGREES) }
    }

    /// Change of the velocity by another iteration, relative, below which iterating ends.
    ///
    /// What the iteration leaves undone has the same sense step after step, where the error of collocation changes it: a hundredth keeps it the lesser.
    pub(super) fn iteration(self) -> f64 {
        (0.01 * self.step).max(1e-15)
    }

    /// First step, for an acceleration that changes by its own size in the time `scale`, s.
    ///
    /// The singularities of such a force lie about `scale` away in complex time, so that the coefficients fall as (step / 4 scale)^k.
    pub(super) fn first(self, scale: f64) -> f64 {
        4.0 * scale * self.step.powf(1.0 / 16.0)
    }

    /// By what the last two coefficients of a part of the acceleration exceed what they may be.
    ///
    /// - `last`: the sum of the last two coefficients over the part's own size; `share`: size of the part over that of the whole.
    pub(super) fn excess(self, last: f64, share: f64) -> f64 {
        last / if share == 1.0 { self.last } else { (self.step / share.max(self.step)).powf(DEGREES) }
    }

    /// Whether a step stands, and how long the next one is.
    ///
    /// - `excess`: the greatest of the parts'; `contraction`: of the iteration, where it was measured.
    pub(super) fn judge(excess: f64, contraction: Option<f64>) -> Judgement {
        let accurate = (1.0 / excess.max(1e-30)).powf(1.0 / 7.0);
        if accurate < KEEP {
            return Judgement::Shorten(0.95 * accurate.max(0.2));
        }
        let cheap = contraction.map_or(GROWTH, |contraction| (CONTRACTION / contraction.max(1e-9)).sqrt().max(0.8));
        let next = accurate.min(cheap).min(GROWTH);
        // Small changes are not worth the better guess that an equal step allows.
        Judgement::Keep(if 0.9 < next && next < 1.15 { 1.0 } else { next })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_geometric_fall_is_judged_by_its_sixteenth_term() {
        // ρ = 0.1: c(7) = 1e-7, c(16) = 1e-16.
        let tolerance = Tolerance::new(1e-16);
        assert!((tolerance.excess(1e-7, 1.0) - 1.0).abs() < 1e-12);
        // A part of a millionth of the whole may be the coarser for it.
        assert!(tolerance.excess(1e-7, 1e-6) < 1.0);
        assert_eq!(Tolerance::judge(1.0, None), Judgement::Keep(1.0));
        assert!(matches!(Tolerance::judge(1e3, None), Judgement::Shorten(share) if share < 0.4));
        assert_eq!(Tolerance::judge(0.0, Some(0.0)), Judgement::Keep(2.0));
    }
}
