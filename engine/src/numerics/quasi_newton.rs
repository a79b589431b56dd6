//! Descent within bounds by a gradient: into the nearest valley of a smooth cost, in some dozens of evaluations.

use super::watch::Watch;
use nalgebra::{DMatrix, DVector};

/// What ends a descent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Length of the first step, in the unknowns' own unit.
    pub first_step: f64,
    /// Longest change of any unknown in one step.
    pub longest_step: f64,
    /// Ends when the last ten steps gained less than this share of the cost.
    pub tolerance: f64,
    /// Most steps.
    pub steps: usize,
    /// Ends when after this many steps the cost is still above that: another valley is a better use of the time.
    pub hopeless: Option<(usize, f64)>,
}

impl Default for Options {
    fn default() -> Self {
        Self { first_step: 0.01, longest_step: 0.2, tolerance: 1e-10, steps: 1000, hopeless: None }
    }
}

/// Why a descent ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// The gradient vanishes but for what the bounds hold.
    Level,
    /// Ten steps gained less than the tolerance.
    Gain,
    /// No lower place was found along the last direction: a kink, or the digits of the cost.
    Stuck,
    /// The steps are spent.
    Steps,
    /// Too high after the steps it was given to come down.
    Hopeless,
    /// The watch asked to stop.
    Interrupted,
    /// No finite cost or gradient at the start, or lists of different lengths.
    IllPosed,
}

/// Where a descent ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The unknowns, within their bounds.
    pub x: Vec<f64>,
    /// Cost there.
    pub cost: f64,
    /// Steps taken.
    pub steps: usize,
    /// Evaluations of cost and gradient.
    pub evaluations: usize,
    /// Why it ended.
    pub stop: Stop,
}

/// Descends from a place.
///
/// - `bounds`: (low, high) of each unknown, infinite where there is none. Unknowns should be scaled alike.
/// - `cost`: answers the cost and writes its gradient; not finite counts as infinitely high.
///
/// # Source
/// BFGS with Powell's damping, [NocedalWright2006], procedure 18.2; unknowns at a bound that they press against are held, the path is bent
/// along the bounds, [Bertsekas1982]; all from memory.
///
/// # Example
/// The lowest point of a bowl whose middle is out of bounds.
/// ```
/// use visviva_engine::numerics::{quasi_newton::{self, Options}, watch::Watch};
/// let mut bowl = |x: &[f64], slope: &mut [f64]| {
///     (slope[0], slope[1]) = (2.0 * (x[0] - 3.0) + x[1], x[0] + 8.0 * x[1]);
///     (x[0] - 3.0).powi(2) + x[0] * x[1] + 4.0 * x[1] * x[1]
/// };
/// let bounds = [(0.0, 1.0), (-1.0, 1.0)];
/// let found = quasi_newton::descend(&[0.2, 0.9], &bounds, &mut bowl, &Options::default(), &Watch::none());
/// assert!((found.x[0] - 1.0).abs() < 1e-9 && (found.x[1] + 0.125).abs() < 1e-6);
/// ```
pub fn descend(
    start: &[f64],
    bounds: &[(f64, f64)],
    cost: &mut dyn FnMut(&[f64], &mut [f64]) -> f64,
    options: &Options,
    watch: &Watch<'_>,
) -> Found {
    let n = start.len();
    let within = |x: f64, (low, high): (f64, f64)| x.max(low).min(high);
    let mut x: Vec<f64> = start.iter().zip(bounds).map(|(x, limits)| within(*x, *limits)).collect();
    let ended = |x: Vec<f64>, cost, steps, evaluations, stop| Found { x, cost, steps, evaluations, stop };
    if n == 0 || bounds.len() != n || !start.iter().all(|x| x.is_finite()) {
        return ended(x, f64::INFINITY, 0, 0, Stop::IllPosed);
    }
    let mut slope = vec![0.0; n];
    let mut here = cost(&x, &mut slope);
    let mut evaluations = 1;
    if !(here.is_finite() && slope.iter().all(|d| d.is_finite())) {
        return ended(x, here, 0, evaluations, Stop::IllPosed);
    }
    let mut bend = DMatrix::<f64>::identity(n, n);
    let mut fresh = true;
    let (mut next, mut next_slope) = (x.clone(), slope.clone());
    let mut marks = [f64::INFINITY; 10];
    for step in 0..options.steps {
        if watch.stopped() {
            return ended(x, here, step, evaluations, Stop::Interrupted);
        }
        let free: Vec<usize> = (0..n)
            .filter(|&i| !(x[i] <= bounds[i].0 && slope[i] > 0.0 || x[i] >= bounds[i].1 && slope[i] < 0.0))
            .collect();
        let size = free.iter().map(|&i| slope[i] * slope[i]).sum::<f64>().sqrt();
        if !(size > 0.0) {
            return ended(x, here, step, evaluations, Stop::Level);
        }
        if fresh {
            bend = DMatrix::identity(n, n) * (size / options.first_step);
        }
        let mut way = vec![0.0; n];
        let part = DMatrix::from_fn(free.len(), free.len(), |a, b| bend[(free[a], free[b])]);
        let pull = DVector::from_fn(free.len(), |a, _| -slope[free[a]]);
        let Some(cholesky) = part.cholesky() else {
            if fresh {
                return ended(x, here, step, evaluations, Stop::Stuck);
            }
            fresh = true;
            continue;
        };
        let direction = cholesky.solve(&pull);
        let longest = direction.amax();
        let shorter = if longest > options.longest_step { options.longest_step / longest } else { 1.0 };
        for (a, &i) in free.iter().enumerate() {
            way[i] = shorter * direction[a];
        }
        // Shorter and shorter along the bent path until the cost falls as the slope promises.
        let mut share = 1.0;
        let mut lower = None;
        for _ in 0..25 {
            for i in 0..n {
                next[i] = within(x[i] + share * way[i], bounds[i]);
            }
            let promised: f64 = (0..n).map(|i| slope[i] * (next[i] - x[i])).sum();
            let there = cost(&next, &mut next_slope);
            evaluations += 1;
            let usable = there.is_finite() && next_slope.iter().all(|d| d.is_finite());
            if usable && there <= here + 1e-4 * promised.min(0.0) && there < here {
                lower = Some(there);
                break;
            }
            // The parabola through both costs and the slope here.
            let by_parabola = 0.5 * share * promised / (promised - (there - here));
            share = if usable && by_parabola.is_finite() {
                by_parabola.clamp(0.1 * share, 0.5 * share)
            } else {
                0.25 * share
            };
        }
        let Some(there) = lower else {
            if fresh {
                return ended(x, here, step, evaluations, Stop::Stuck);
            }
            // The curvature learnt so far misleads: forget it once.
            fresh = true;
            continue;
        };
        let s = DVector::from_fn(n, |i, _| next[i] - x[i]);
        let y = DVector::from_fn(n, |i, _| next_slope[i] - slope[i]);
        let agreement = s.dot(&y);
        if fresh {
            let scale = if agreement > 0.0 { y.norm_squared() / agreement } else { size / options.first_step };
            bend = DMatrix::identity(n, n) * scale;
            fresh = false;
        }
        let bent = &bend * &s;
        let along = s.dot(&bent);
        if along > 0.0 && along.is_finite() {
            let theta = if agreement >= 0.2 * along { 1.0 } else { 0.8 * along / (along - agreement) };
            let mixed = theta * &y + (1.0 - theta) * &bent;
            let per = s.dot(&mixed);
            if per > 0.0 && per.is_finite() {
                bend.ger(-1.0 / along, &bent, &bent, 1.0);
                bend.ger(1.0 / per, &mixed, &mixed, 1.0);
            }
        }
        std::mem::swap(&mut x, &mut next);
        std::mem::swap(&mut slope, &mut next_slope);
        here = there;
        let mark = &mut marks[step % 10];
        if *mark - here <= options.tolerance * here.abs() {
            return ended(x, here, step + 1, evaluations, Stop::Gain);
        }
        *mark = here;
        if options.hopeless.is_some_and(|(steps, limit)| step + 1 == steps && here > limit) {
            return ended(x, here, step + 1, evaluations, Stop::Hopeless);
        }
    }
    ended(x, here, options.steps, evaluations, Stop::Steps)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rosenbrock(x: &[f64], slope: &mut [f64]) -> f64 {
        slope.fill(0.0);
        let mut sum = 0.0;
        for i in 0..x.len() - 1 {
            let (a, b) = (1.0 - x[i], x[i + 1] - x[i] * x[i]);
            sum += a * a + 100.0 * b * b;
            slope[i] -= 2.0 * a + 400.0 * b * x[i];
            slope[i + 1] += 200.0 * b;
        }
        sum
    }

    #[test]
    fn the_bent_valley_is_followed_to_its_end() {
        let options = Options { tolerance: 1e-16, ..Options::default() };
        let found = descend(&[-1.2, 1.0, -0.5, 2.0], &[(-5.0, 5.0); 4], &mut rosenbrock, &options, &Watch::none());
        // The least value is 0 at (1, 1, 1, 1): every square vanishes there.
        assert!(found.cost < 1e-12 && found.x.iter().all(|x| (x - 1.0).abs() < 1e-5), "{found:?}");
        assert!(found.evaluations < 200, "{}", found.evaluations);
    }

    #[test]
    fn bounds_hold() {
        let found =
            descend(&[0.0, 0.0], &[(-0.5, 0.5), (-1.0, 2.0)], &mut rosenbrock, &Options::default(), &Watch::none());
        // With x held at 0.5 the best y is 0.25: cost 0.25.
        assert!(found.x[0] == 0.5 && (found.x[1] - 0.25).abs() < 1e-6 && (found.cost - 0.25).abs() < 1e-10);
    }

    #[test]
    fn hopeless_starts_are_said() {
        let mut nowhere = |_: &[f64], _: &mut [f64]| f64::NAN;
        let go = |start: &[f64], cost: &mut dyn FnMut(&[f64], &mut [f64]) -> f64| {
            descend(start, &[(0.0, 1.0)], cost, &Options::default(), &Watch::none()).stop
        };
        assert_eq!(go(&[0.5], &mut nowhere), Stop::IllPosed);
        assert_eq!(go(&[], &mut nowhere), Stop::IllPosed);
        let mut flat = |_: &[f64], slope: &mut [f64]| {
            slope.fill(0.0);
            1.0
        };
        assert_eq!(go(&[0.5], &mut flat), Stop::Level);
        let watch = Watch::new(&|| true);
        let stopped = descend(&[0.5], &[(0.0, 1.0)], &mut flat, &Options::default(), &watch).stop;
        assert_eq!(stopped, Stop::Interrupted);
    }
}
