//! A minimum of a function of one variable between two places.

/// A local minimum of `f` between `a` and `b`: place and value.
///
/// Golden sections and parabolas. A function with one minimum in the interval has that one found; with several, one of them. Values
/// that are not numbers count as infinitely large, so the answer avoids them.
///
/// - `tolerance`: wanted half-width in x. Near a smooth minimum the value changes with the square of the distance, so asking for less than
///   about 1.5e-8 of |x| brings no better place; that is the least it works with.
///
/// # Source
/// [Brent1973] chapter 5, procedure `localmin`.
pub fn bracketed(mut f: impl FnMut(f64) -> f64, a: f64, b: f64, tolerance: f64) -> (f64, f64) {
    let mut value = |x: f64| {
        let y = f(x);
        if y.is_nan() { f64::INFINITY } else { y }
    };
    // (3 - √5)/2, the share of the golden section.
    let golden = 0.5 * (3.0 - 5.0_f64.sqrt());
    let (mut a, mut b) = (a.min(b), a.max(b));
    // x the best so far, w the second, v the one before.
    let mut x = a + golden * (b - a);
    let (mut w, mut v) = (x, x);
    let mut at_x = value(x);
    let (mut at_w, mut at_v) = (at_x, at_x);
    let (mut step, mut before) = (0.0_f64, 0.0_f64);
    for _ in 0..1000 {
        let middle = 0.5 * (a + b);
        let near = f64::EPSILON.sqrt() * x.abs() + tolerance.max(f64::MIN_POSITIVE) / 3.0;
        if (x - middle).abs() <= 2.0 * near - 0.5 * (b - a) {
            break;
        }
        let mut parabola = None;
        if before.abs() > near && at_x.is_finite() && at_w.is_finite() && at_v.is_finite() {
            let r = (x - w) * (at_x - at_v);
            let mut q = (x - v) * (at_x - at_w);
            let mut p = (x - v) * q - (x - w) * r;
            q = 2.0 * (q - r);
            if q > 0.0 {
                p = -p;
            }
            q = q.abs();
            if p.abs() < (0.5 * q * before).abs() && p > q * (a - x) && p < q * (b - x) {
                parabola = Some(p / q);
            }
        }
        if let Some(jump) = parabola {
            before = step;
            step = jump;
            let place = x + step;
            if place - a < 2.0 * near || b - place < 2.0 * near {
                step = if x < middle { near } else { -near };
            }
        } else {
            before = if x < middle { b - x } else { a - x };
            step = golden * before;
        }
        let place = x + if step.abs() >= near { step } else { near.copysign(step) };
        let there = value(place);
        if there <= at_x {
            if place < x {
                b = x;
            } else {
                a = x;
            }
            (v, at_v) = (w, at_w);
            (w, at_w) = (x, at_x);
            (x, at_x) = (place, there);
        } else {
            if place < x {
                a = place;
            } else {
                b = place;
            }
            if there <= at_w || w == x {
                (v, at_v) = (w, at_w);
                (w, at_w) = (place, there);
            } else if there <= at_v || v == x || v == w {
                (v, at_v) = (place, there);
            }
        }
    }
    (x, at_x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_the_minima_that_brent_printed() {
        // [Brent1973] section 5.6, sum over i of ((2i - 5)/(x - i²))²: between i² and (i+1)², i = 1: 3.022 915 3, i = 10: 110.336 81 (from memory
        // the first; the others follow from the derivative, checked below).
        let f = |x: f64| (1..=20).map(f64::from).map(|i| ((2.0 * i - 5.0) / (x - i * i)).powi(2)).sum::<f64>();
        let slope =
            |x: f64| (1..=20).map(f64::from).map(|i| -2.0 * (2.0 * i - 5.0).powi(2) / (x - i * i).powi(3)).sum::<f64>();
        for i in 1..20 {
            let (low, high) = (f64::from(i * i), f64::from((i + 1) * (i + 1)));
            let (x, _) = bracketed(f, low + 1e-9, high - 1e-9, 1e-9);
            let near = 1e-6 * x;
            assert!(slope(x - near) < 0.0 && slope(x + near) > 0.0, "{i}: {x}");
        }
        let (x, y) = bracketed(f, 1.0 + 1e-9, 4.0 - 1e-9, 1e-9);
        assert!((x - 3.022_915_3).abs() < 1e-6 && (y - 3.676_699_017).abs() < 1e-6, "{x} {y}");
    }

    #[test]
    fn walks_to_an_end_and_around_missing_values() {
        let (x, _) = bracketed(|x| x, 2.0, 5.0, 1e-9);
        assert!((x - 2.0).abs() < 1e-6);
        let (x, y) = bracketed(|x| if x < 1.0 { f64::NAN } else { (x - 2.0).powi(2) }, 0.0, 5.0, 1e-9);
        assert!((x - 2.0).abs() < 1e-6 && y < 1e-12);
    }
}
