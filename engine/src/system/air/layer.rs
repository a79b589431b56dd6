//! One smooth piece of an atmosphere: the logarithm of density as a polynomial of height, for flights that restart at its ends.

use std::f64::consts::PI;

use crate::numerics::lanes::Lane;

/// Points of a fit, and terms of its polynomial.
pub(in crate::system) const POINTS: usize = 14;

/// A polynomial of height between two heights, m.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::system) struct Polynomial {
    pub(super) start: f64,
    pub(super) end: f64,
    /// Of x = (height − middle)/half, the lowest power first.
    coefficients: [f64; POINTS],
}

impl Polynomial {
    /// Through the values at the [`nodes`] of an interval; and how large its last two Chebyshev terms are, about its error.
    ///
    /// # Source
    /// Interpolation at the zeros of a Chebyshev polynomial, [Abramowitz1964], section 22 and 25.
    pub(in crate::system) fn through((start, end): (f64, f64), values: &[f64; POINTS]) -> (Self, f64) {
        let mut terms = [0.0; POINTS];
        for (order, term) in terms.iter_mut().enumerate() {
            let sum: f64 = values.iter().enumerate().map(|(k, value)| value * angle(order * (2 * k + 1)).cos()).sum();
            *term = sum * if order == 0 { 1.0 } else { 2.0 } / POINTS as f64;
        }
        let tail = terms[POINTS - 1].abs() + terms[POINTS - 2].abs();
        // T₀ = 1, T₁ = x, T₍ₙ₊₁₎ = 2 x Tₙ − T₍ₙ₋₁₎, gathered by powers of x.
        let mut coefficients = [0.0; POINTS];
        let (mut before, mut now) = ([0.0; POINTS], [0.0; POINTS]);
        now[0] = 1.0;
        for (order, term) in terms.iter().enumerate() {
            for (coefficient, power) in coefficients.iter_mut().zip(now) {
                *coefficient += term * power;
            }
            let double = if order == 0 { 1.0 } else { 2.0 };
            let next = std::array::from_fn(|i| if i == 0 { 0.0 } else { double * now[i - 1] } - before[i]);
            (before, now) = (now, next);
        }
        (Self { start, end, coefficients }, tail)
    }

    /// The straight line between two values.
    pub(super) fn line((start, end): (f64, f64), (first, last): (f64, f64)) -> Self {
        let mut coefficients = [0.0; POINTS];
        coefficients[0] = 0.5 * (first + last);
        coefficients[1] = 0.5 * (last - first);
        Self { start, end, coefficients }
    }

    #[inline(always)]
    pub(in crate::system) fn at<L: Lane>(&self, height: L) -> L {
        let x = (height - 0.5 * (self.start + self.end)) * (2.0 / (self.end - self.start));
        x.polynomial(self.coefficients)
    }

    /// Its derivative by height, 1/m.
    #[inline(always)]
    pub(super) fn slope<L: Lane>(&self, height: L) -> L {
        let by = 2.0 / (self.end - self.start);
        let x = (height - 0.5 * (self.start + self.end)) * by;
        let mut powers = [0.0; POINTS - 1];
        for (i, power) in powers.iter_mut().enumerate() {
            *power = (i + 1) as f64 * self.coefficients[i + 1];
        }
        x.polynomial(powers) * by
    }
}

fn angle(count: usize) -> f64 {
    PI * (count % (4 * POINTS)) as f64 / (2 * POINTS) as f64
}

/// The heights that a polynomial between two heights is fitted at: none of them an end.
pub(in crate::system) fn nodes((start, end): (f64, f64)) -> [f64; POINTS] {
    std::array::from_fn(|k| 0.5 * (start + end) + 0.5 * (end - start) * angle(2 * k + 1).cos())
}

/// A smooth piece of an atmosphere between two heights, m above the ground.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Natural logarithm of density in kg/m³.
    logarithm: Polynomial,
    /// Natural logarithm of pressure in Pa.
    pressure: Polynomial,
}

impl Layer {
    /// A layer of a density, whose pressure is told next.
    pub(super) fn new(logarithm: Polynomial) -> Self {
        Self { pressure: logarithm.clone(), logarithm }
    }

    /// The same with its pressure by a law for the logarithm of it, in Pa, by height.
    pub(super) fn pressed(self, law: &dyn Fn(f64) -> f64) -> Self {
        let ends = (self.start(), self.end());
        Self { pressure: Polynomial::through(ends, &nodes(ends).map(law)).0, ..self }
    }

    /// Its lower end, m.
    pub fn start(&self) -> f64 {
        self.logarithm.start
    }

    /// Its upper end, m.
    pub fn end(&self) -> f64 {
        self.logarithm.end
    }

    /// Natural logarithm of the density (kg/m³) at a height in m, in each item of a lane: within the layer, and smoothly a step's
    /// width beyond its ends.
    #[inline(always)]
    pub(crate) fn logarithm<L: Lane>(&self, height: L) -> L {
        self.logarithm.at(height)
    }

    /// By what that logarithm grows with height, 1/m.
    #[inline(always)]
    pub(crate) fn logarithm_slope<L: Lane>(&self, height: L) -> L {
        self.logarithm.slope(height)
    }

    /// Natural logarithm of the pressure (Pa), as [`Layer::logarithm`].
    #[inline(always)]
    pub(crate) fn pressure_logarithm<L: Lane>(&self, height: L) -> L {
        self.pressure.at(height)
    }

    /// Density at a height in m, kg/m³.
    pub fn density_at(&self, height: f64) -> f64 {
        self.logarithm.at(height).exp()
    }
}

/// Pieces between two heights in which a smooth law (the logarithm of density) is met to 1e-11, halved as often as that takes.
pub(super) fn fitted(ends: (f64, f64), law: &dyn Fn(f64) -> f64, found: &mut Vec<Layer>) {
    /// Halvings of one interval, and pieces of one, beyond which no law of a planet's air goes.
    const DEPTH: usize = 40;
    const MOST: usize = 100;
    let most = found.len() + MOST;
    let mut waiting = vec![(ends, 0)];
    while let Some(((start, end), depth)) = waiting.pop() {
        let values = nodes((start, end)).map(law);
        let (polynomial, tail) = Polynomial::through((start, end), &values);
        let size = values.iter().fold(0.0, |size: f64, value| size.max(value.abs()));
        let middle = 0.5 * (start + end);
        let met = tail <= 1e-11_f64.max(1e-14 * size) || depth >= DEPTH || found.len() + waiting.len() >= most;
        if met || middle <= start || middle >= end {
            found.push(Layer::new(polynomial));
        } else {
            waiting.push(((middle, end), depth + 1));
            waiting.push(((start, middle), depth + 1));
        }
    }
}
