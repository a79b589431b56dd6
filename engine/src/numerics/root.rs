//! A root of a function of one variable between two places of opposite sign.

/// Why no root was found.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum RootError {
    /// The function has the same sign at both ends.
    #[error("no sign change between {low} and {high}: the values there are {at_low:e} and {at_high:e}")]
    NoSignChange {
        /// First end.
        low: f64,
        /// Second end.
        high: f64,
        /// Value at the first end.
        at_low: f64,
        /// Value at the second end.
        at_high: f64,
    },
    /// An end or a value that is not a finite number.
    #[error("the function is not finite at {at}")]
    NotFinite {
        /// Where.
        at: f64,
    },
}

/// Root of `f` between `a` and `b`, where its values have opposite signs (a zero at an end is a root).
///
/// Bisection and inverse quadratic interpolation, the latter only where the three points promise that it is safe; so it takes no
/// more than about three times the steps of bisection and on smooth functions far fewer.
///
/// - `x_tolerance`: half-width of the last interval, in units of x, at or above 0. Zero asks for full double precision: the answer
///   is then next to the sign change to within two spacings of doubles.
///
/// # Errors
/// No sign change, or values that are not finite.
///
/// # Source
/// [Chandrupatla1997].
pub fn bracketed(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, x_tolerance: f64) -> Result<f64, RootError> {
    let mut value = |x: f64| {
        let y = f(x);
        if x.is_finite() && y.is_finite() { Ok(y) } else { Err(RootError::NotFinite { at: x }) }
    };
    // (x1, f1) is the newest point, (x2, f2) the one across the root, (x3, f3) the one before.
    let (mut x1, mut x2) = (a, b);
    let (mut f1, mut f2) = (value(x1)?, value(x2)?);
    if f1 == 0.0 {
        return Ok(x1);
    }
    if f2 == 0.0 {
        return Ok(x2);
    }
    if (f1 < 0.0) == (f2 < 0.0) {
        return Err(RootError::NoSignChange { low: a, high: b, at_low: f1, at_high: f2 });
    }
    let mut share = 0.5_f64;
    // Doubles between any two ends: bisection by share alone ends within 2100 halvings, interpolation adds at most as many.
    for _ in 0..5000 {
        let (best, at_best) = if f1.abs() < f2.abs() { (x1, f1) } else { (x2, f2) };
        let tolerance = 2.0 * f64::EPSILON * best.abs() + x_tolerance.max(f64::MIN_POSITIVE);
        let width = (x2 - x1).abs();
        if at_best == 0.0 || width <= tolerance {
            return Ok(best);
        }
        let limit = (0.5 * tolerance / width).min(0.5);
        // Halves first: the difference of two far ends of opposite sign may pass the largest double.
        let x = x1 + share.clamp(limit, 1.0 - limit) * (x2 - x1);
        let y = value(x)?;
        if y == 0.0 {
            return Ok(x);
        }
        let (x3, f3);
        if (y < 0.0) == (f1 < 0.0) {
            (x3, f3) = (x1, f1);
        } else {
            (x3, f3) = (x2, f2);
            (x2, f2) = (x1, f1);
        }
        (x1, f1) = (x, y);
        // Inverse quadratic interpolation is monotone between the points only inside of this region.
        let xi = (x1 - x2) / (x3 - x2);
        let phi = (f1 - f2) / (f3 - f2);
        share = if phi * phi < xi && (1.0 - phi) * (1.0 - phi) < 1.0 - xi {
            let first = f1 / (f2 - f1) * (f3 / (f2 - f3));
            let second = (x3 - x1) / (x2 - x1) * (f1 / (f3 - f1)) * (f2 / (f3 - f2));
            first + second
        } else {
            0.5
        };
        if !share.is_finite() {
            share = 0.5;
        }
    }
    Ok(if f1.abs() < f2.abs() { x1 } else { x2 })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Root and number of evaluations at full precision.
    fn counted(f: impl Fn(f64) -> f64, a: f64, b: f64) -> (f64, u32) {
        let mut evaluations = 0;
        let x = bracketed(
            |x| {
                evaluations += 1;
                f(x)
            },
            a,
            b,
            0.0,
        );
        (x.unwrap(), evaluations)
    }

    #[test]
    fn finds_published_roots() {
        // Wallis's cubic, the oldest test of a root finder: x³ - 2x - 5 = 0 at 2.094551481542327 [Wallis1685], digits by hand of Newton.
        let (x, evaluations) = counted(|x| x.powi(3) - 2.0 * x - 5.0, 2.0, 3.0);
        assert!((x - 2.094_551_481_542_326_6).abs() < 1e-15);
        assert!(evaluations <= 12, "{evaluations}");
        // Dottie's number, cos x = x.
        let (x, _) = counted(|x| x.cos() - x, 0.0, 1.0);
        assert!((x - 0.739_085_133_215_160_6).abs() < 2e-16);
    }

    #[test]
    fn survives_flat_and_steep_functions() {
        // A ninth-power root: bisection's pace is the best that is promised.
        let (x, evaluations) = counted(|x| (x - 1.0).powi(9), 0.0, 2.7);
        assert!((x - 1.0).abs() < 1e-10 && evaluations < 200, "{x} {evaluations}");
        let (x, evaluations) = counted(|x| if x < 0.123 { -1e-300 } else { 1e300 }, -1e3, 1e3);
        assert!((x - 0.123).abs() < 1e-15 && evaluations < 200, "{x} {evaluations}");
    }

    #[test]
    fn says_why_there_is_none() {
        assert!(matches!(bracketed(|x| x * x + 1.0, -1.0, 1.0, 0.0), Err(RootError::NoSignChange { .. })));
        assert!(matches!(bracketed(|x| 1.0 / x, -1.0, 1.0, 0.0), Err(RootError::NotFinite { at: 0.0 })));
        assert!(matches!(bracketed(|x| x, f64::NAN, 1.0, 0.0), Err(RootError::NotFinite { .. })));
        assert_eq!(bracketed(|x| x, 0.0, 1.0, 0.0), Ok(0.0));
    }

    proptest! {
        #[test]
        fn keeps_its_tolerance(root in -1e6_f64..1e6, left in 1e-3_f64..1e6, right in 1e-3_f64..1e6, tolerance in 1e-9_f64..1.0) {
            let (a, b) = (root - left, root + right);
            let x = bracketed(|x| ((x - root) / left).sinh().clamp(-1e9, 1e9), b, a, tolerance).unwrap();
            prop_assert!((x - root).abs() <= tolerance + 4.0 * f64::EPSILON * root.abs());
        }
    }
}
