//! The true minimum of a cost over two dates, started from a grid's best cell.
//!
//! Near half a revolution the cost over departure and arrival dates is a thin, bent valley beside a ridge, where searches
//! without derivatives crawl and stop early. A trust region with the full second-order model follows it.

use crate::numerics::watch::Watch;

/// Bounds of the two unknowns (s): `low[i] ≤ x[i] ≤ high[i]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Lower bounds, s.
    pub low: [f64; 2],
    /// Upper bounds, s.
    pub high: [f64; 2],
}

/// Where a descent ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minimum {
    /// The two unknowns, s.
    pub at: [f64; 2],
    /// The cost there.
    pub value: f64,
    /// Whether each unknown ended on one of its bounds.
    pub on_bound: [bool; 2],
    /// Evaluations of the cost.
    pub evaluations: usize,
}

/// Second-order model of the cost about a point.
struct Model {
    gradient: [f64; 2],
    hessian: [f64; 3],
    /// Step of the differences it comes from, s.
    h: f64,
}

impl Model {
    fn change(&self, s: [f64; 2]) -> f64 {
        let [a, b, c] = self.hessian;
        self.gradient[0] * s[0]
            + self.gradient[1] * s[1]
            + 0.5 * (a * s[0] * s[0] + 2.0 * b * s[0] * s[1] + c * s[1] * s[1])
    }

    /// Minimiser inside a circle: Newton's step damped by the multiplier of the trust region, in the eigenvectors' axes.
    fn step(&self, radius: f64) -> [f64; 2] {
        let [a, b, c] = self.hessian;
        let (mean, half) = (0.5 * (a + c), 0.5 * (a - c));
        let spread = half.hypot(b);
        let (least, most) = (mean - spread, mean + spread);
        let angle = 0.5 * b.atan2(half);
        let (sine, cosine) = angle.sin_cos();
        let g =
            [self.gradient[0] * cosine + self.gradient[1] * sine, self.gradient[1] * cosine - self.gradient[0] * sine];
        let size = g[0].hypot(g[1]);
        if size == 0.0 {
            return [0.0, 0.0];
        }
        let at = |damping: f64| [-g[0] / (most + damping), -g[1] / (least + damping)];
        let long = |s: [f64; 2]| s[0].hypot(s[1]);
        let floor = (-least).max(0.0);
        // Bracket of the multiplier: the step shortens as it grows, and at this upper end it is within the radius.
        let (mut low, mut high) = (floor, floor + size / radius + 1e-300);
        let plain = at(0.0);
        let mut s = plain;
        if !(least > 0.0 && long(plain) <= radius) {
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                if long(at(middle)) > radius { low = middle } else { high = middle }
            }
            s = at(high);
        }
        [s[0] * cosine - s[1] * sine, s[0] * sine + s[1] * cosine]
    }
}

/// Follow the cost downhill from `start` inside the bounds.
///
/// - `radius`: first trust radius, s: about the grid's step.
/// - `stencil`: largest step of the differences, s.
/// - `tolerance`: stops when the trust radius or an accepted step is below it, s.
/// - `cost`: `None` where there is none; such places are walls.
///
/// `None` when the start itself has no cost. It never answers worse than its start.
///
/// # Source
/// Trust region with the exact two-dimensional subproblem: [NocedalWright2006], algorithm 4.1 and section 4.3.
pub fn descend(
    start: [f64; 2],
    radius: f64,
    stencil: f64,
    tolerance: f64,
    bounds: Bounds,
    watch: &Watch<'_>,
    mut cost: impl FnMut([f64; 2]) -> Option<f64>,
) -> Option<Minimum> {
    let clamp = |x: [f64; 2], margin: f64| {
        let one = |i: usize| {
            let (low, high) = (bounds.low[i] + margin, bounds.high[i] - margin);
            if low <= high { x[i].clamp(low, high) } else { 0.5 * (low + high) }
        };
        [one(0), one(1)]
    };
    let mut evaluations = 1;
    let mut at = clamp(start, 0.0);
    let mut value = cost(at)?;
    let mut radius = radius;
    let mut stencil = stencil;
    // Differences displace a soft minimum by their step squared: where it settles, it settles again on finer ones.
    let mut finer = 3;
    let mut model: Option<Model> = None;
    for _ in 0..200 {
        if watch.stopped() {
            break;
        }
        if radius < tolerance {
            if finer == 0 {
                break;
            }
            finer -= 1;
            stencil *= 0.25;
            radius = 4.0 * stencil;
            model = None;
        }
        let current = if let Some(current) = model.take() {
            current
        } else {
            evaluations += 7;
            let mut h = stencil.min(0.25 * radius);
            let mut found = None;
            // Beside a wall the stencil shrinks until it fits.
            for _ in 0..6 {
                found = differences(clamp(at, h), at, h, &mut cost);
                if found.is_some() {
                    break;
                }
                h *= 0.25;
            }
            let Some(found) = found else { break };
            found
        };
        let mut s = current.step(radius);
        s = inside(&current, at, s, radius, bounds);
        let expected = current.change(s);
        let long = s[0].hypot(s[1]);
        if expected >= -1e-15 * value.abs() {
            // The model promises nothing that rounding would not swallow.
            if finer == 0 {
                break;
            }
            finer -= 1;
            stencil *= 0.25;
            continue;
        }
        let trial = clamp([at[0] + s[0], at[1] + s[1]], 0.0);
        evaluations += 1;
        let got = cost(trial);
        let ratio = got.map_or(-1.0, |got| (got - value) / expected);
        if ratio > 0.75 && long > 0.8 * radius {
            radius *= 2.0;
        } else if ratio < 0.25 {
            radius = 0.25 * long.min(radius);
        }
        match got {
            Some(got) if got < value && ratio > 1e-3 => {
                at = trial;
                value = got;
                if long < tolerance {
                    if finer == 0 {
                        break;
                    }
                    finer -= 1;
                    stencil *= 0.25;
                }
            }
            // A refused step may be the differences' fault: below their own size they are taken anew.
            _ => model = (0.25 * radius >= current.h).then_some(current),
        }
    }
    let on_bound = [0, 1].map(|i| at[i] <= bounds.low[i] + tolerance || at[i] >= bounds.high[i] - tolerance);
    Some(Minimum { at, value, on_bound, evaluations })
}

/// Gradient at `at` and Hessian from seven values about `centre` (which lies a stencil inside the bounds).
fn differences(
    centre: [f64; 2],
    at: [f64; 2],
    h: f64,
    cost: &mut impl FnMut([f64; 2]) -> Option<f64>,
) -> Option<Model> {
    let mut f = |i: f64, j: f64| cost([centre[0] + i * h, centre[1] + j * h]);
    let middle = f(0.0, 0.0)?;
    let (right, left, up, down) = (f(1.0, 0.0)?, f(-1.0, 0.0)?, f(0.0, 1.0)?, f(0.0, -1.0)?);
    let (both, neither) = (f(1.0, 1.0)?, f(-1.0, -1.0)?);
    let a = (right - 2.0 * middle + left) / (h * h);
    let c = (up - 2.0 * middle + down) / (h * h);
    let b = (both + neither - right - left - up - down + 2.0 * middle) / (2.0 * h * h);
    let shift = [at[0] - centre[0], at[1] - centre[1]];
    let g = [(right - left) / (2.0 * h), (up - down) / (2.0 * h)];
    Some(Model {
        gradient: [g[0] + a * shift[0] + b * shift[1], g[1] + b * shift[0] + c * shift[1]],
        hessian: [a, b, c],
        h,
    })
}

/// The step with the bounds kept: an unknown that would leave is set on its bound and the other one is solved again.
fn inside(model: &Model, at: [f64; 2], step: [f64; 2], radius: f64, bounds: Bounds) -> [f64; 2] {
    let fits = |i: usize, s: f64| s.clamp(bounds.low[i] - at[i], bounds.high[i] - at[i]);
    let mut best = [fits(0, step[0]), fits(1, step[1])];
    if best == step {
        return step;
    }
    for fixed in [0, 1] {
        let held = fits(fixed, step[fixed]);
        let free = 1 - fixed;
        let slope = model.gradient[free] + model.hessian[1] * held;
        let curvature = model.hessian[2 * free];
        let s = if curvature > 0.0 { (-slope / curvature).clamp(-radius, radius) } else { -slope.signum() * radius };
        let mut candidate = [0.0; 2];
        candidate[fixed] = held;
        candidate[free] = fits(free, s);
        if model.change(candidate) < model.change(best) {
            best = candidate;
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    const WIDE: Bounds = Bounds { low: [-10.0, -10.0], high: [10.0, 10.0] };

    #[test]
    fn follows_a_thin_bent_valley_to_its_end() {
        // Rosenbrock's valley, from his own start; the minimum is at (1, 1).
        let found = descend([-1.2, 1.0], 1.0, 1e-3, 1e-9, WIDE, &Watch::none(), |[x, y]| {
            Some(100.0 * (y - x * x).powi(2) + (1.0 - x).powi(2))
        })
        .expect("the start has a cost");
        assert!((found.at[0] - 1.0).abs() < 1e-4 && (found.at[1] - 1.0).abs() < 2e-4, "{found:?}");
        assert_eq!(found.on_bound, [false, false]);
    }

    #[test]
    fn stops_on_a_bound_and_says_so() {
        let bounds = Bounds { low: [2.0, -10.0], high: [10.0, 10.0] };
        let found = descend([5.0, 5.0], 1.0, 1e-2, 1e-6, bounds, &Watch::none(), |[x, y]| {
            Some(x * x + (y - 0.5 * x).powi(2) + 1.0)
        })
        .expect("the start has a cost");
        assert!((found.at[0] - 2.0).abs() < 1e-9 && (found.at[1] - 1.0).abs() < 1e-5, "{found:?}");
        assert_eq!(found.on_bound, [true, false]);
    }

    #[test]
    fn walls_are_not_crossed_and_a_start_without_cost_is_none() {
        let cost = |[x, y]: [f64; 2]| (x > 0.5).then_some(x * x + y * y);
        let found = descend([3.0, 2.0], 1.0, 1e-2, 1e-6, WIDE, &Watch::none(), cost).expect("the start has a cost");
        assert!(found.at[0] > 0.5 && found.value <= 13.0);
        assert!(descend([0.0, 0.0], 1.0, 1e-2, 1e-6, WIDE, &Watch::none(), cost).is_none());
    }
}
