//! Gauss-Legendre quadrature over an interval, straight or bent so that square roots at the ends become smooth.

use std::f64::consts::{FRAC_PI_2, PI};

/// Nodes and weights of a rule on −1 to 1; the positive half, as the rule is even.
pub(super) struct Rule(&'static [(f64, f64)]);

/// Four points: exact to the seventh degree. [Abramowitz1964], table 25.4.
pub(super) const FEW: Rule =
    Rule(&[(0.339981043584856264803, 0.652145154862546142627), (0.861136311594052575224, 0.347854845137453857373)]);

/// Twenty-four points. [Abramowitz1964], table 25.4.
pub(super) const MANY: Rule = Rule(&[
    (0.064056892862605626085, 0.127938195346752156974),
    (0.191118867473616309159, 0.125837456346828296121),
    (0.315042679696163374387, 0.121670472927803391204),
    (0.433793507626045138487, 0.115505668053725601353),
    (0.545421471388839535658, 0.107444270115965634783),
    (0.648093651936975569252, 0.097618652104113888270),
    (0.740124191578554364244, 0.086190161531953275917),
    (0.820001985973902921954, 0.073346481411080305734),
    (0.886415527004401034213, 0.059298584915436780746),
    (0.938274552002732758524, 0.044277438817419806169),
    (0.974728555971309498198, 0.028531388628933663181),
    (0.995187219997021360180, 0.012341229799987199547),
]);

impl Rule {
    /// Hands every point and its weight to a sum.
    pub(super) fn straight(&self, from: f64, to: f64, mut sum: impl FnMut(f64, f64)) {
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        for &(node, weight) in self.0 {
            sum(middle - half * node, half * weight);
            sum(middle + half * node, half * weight);
        }
    }

    /// The same with x = middle − half cos θ: powers of half a degree at the ends become whole ones of θ.
    pub(super) fn arched(&self, from: f64, to: f64, mut sum: impl FnMut(f64, f64)) {
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        self.straight(0.0, PI, |angle, weight| {
            // cos θ = −sin(θ − π/2) keeps digits about the middle.
            let lean = angle - FRAC_PI_2;
            sum(middle + half * lean.sin(), half * lean.cos() * weight);
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_are_exact_to_their_degree() {
        // ∫ x^k from 0 to 1 is 1/(k + 1); digits of the tables end at 1e-15.
        for (rule, degree) in [(&FEW, 7), (&MANY, 47)] {
            let mut sum = 0.0;
            rule.straight(0.0, 1.0, |x, weight| sum += weight * x.powi(degree));
            assert!((sum * f64::from(degree + 1) - 1.0).abs() < 2e-14, "{degree}: {sum}");
        }
    }

    #[test]
    fn half_powers_at_the_ends_are_met() {
        // ∫ (x (1 − x))^(3/2) from 0 to 1 = Γ(5/2)²/Γ(5) = 3π/128.
        let mut sum = 0.0;
        MANY.arched(0.0, 1.0, |x, weight| sum += weight * (x * (1.0 - x)).powf(1.5));
        assert!((sum / (3.0 * PI / 128.0) - 1.0).abs() < 1e-13);
    }
}
