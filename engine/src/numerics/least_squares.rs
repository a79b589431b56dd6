//! Nonlinear least squares: unknowns that make a list of residuals as small as they get.

use nalgebra::{DMatrix, DVector};

use super::watch::Watch;

/// What ends a solution, and how derivatives are taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Solved when every residual is at most this (residuals come scaled: 1 is the caller's tolerance).
    pub residual_tolerance: f64,
    /// Minimum when the residuals are orthogonal to every derivative to this cosine.
    pub gradient_tolerance: f64,
    /// Ends when a step is below this share of `scale` in every unknown.
    pub step_tolerance: f64,
    /// Most evaluations of the residuals, those for derivatives included.
    pub evaluations: usize,
    /// First bound on a step, in units of `scale`.
    pub first_step: f64,
    /// Step of the differences in units of `scale`; `None` takes the square root (forward) or cube root (central) of the precision.
    pub difference: Option<f64>,
    /// Central differences: twice the evaluations, the square of the relative error.
    pub central: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            residual_tolerance: 1.0,
            gradient_tolerance: 1e-10,
            step_tolerance: 1e-12,
            evaluations: 1000,
            first_step: 10.0,
            difference: None,
            central: false,
        }
    }
}

/// Why a solution ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// Every residual is within its tolerance: solved.
    Residuals,
    /// A minimum of the sum of squares, with residuals beyond the tolerance.
    Gradient,
    /// Steps have become smaller than the step tolerance.
    Step,
    /// No step lowers the sum of squares any more.
    Stalled,
    /// The budget of evaluations is spent.
    Evaluations,
    /// The watch asked to stop.
    Interrupted,
    /// Residuals at the start that are not finite, or lists of different lengths.
    IllPosed,
}

impl Stop {
    /// In words, for a table.
    pub const fn why(self) -> &'static str {
        match self {
            Self::Residuals => "every residual is within its tolerance",
            Self::Gradient => "a minimum with residuals beyond their tolerance",
            Self::Step => "the steps became too small",
            Self::Stalled => "no step lowers the residuals any more",
            Self::Evaluations => "the budget of evaluations is spent",
            Self::Interrupted => "interrupted",
            Self::IllPosed => "the start has no finite residuals",
        }
    }
}

/// What a solution found.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    /// The unknowns, within their bounds.
    pub x: Vec<f64>,
    /// Residuals there.
    pub residuals: Vec<f64>,
    /// Accepted steps.
    pub iterations: usize,
    /// Evaluations of the residuals.
    pub evaluations: usize,
    /// Why it ended.
    pub stop: Stop,
    /// Independent directions that the residuals see at the end; fewer than the unknowns means some are not determined.
    pub rank: usize,
}

impl Fit {
    /// Whether every residual is within the tolerance.
    pub fn solved(&self) -> bool {
        self.stop == Stop::Residuals
    }
}

/// Finds unknowns for which the sum of squared residuals is least.
///
/// Levenberg–Marquardt with a trust region in scaled unknowns; the linear steps are taken by singular values, so unknowns without effect
/// or in pairs that cancel do no harm (the shortest step is taken). Unknowns at a bound that want to leave are held there.
/// A trial that fails or is not finite counts as worse than any other, so a solution may start near the edge of what can be computed.
///
/// - `start`, `scale` (typical change, positive), `bounds` (low, high; may be infinite): one per unknown, in its own unit. The start
///   is moved inside the bounds.
/// - `residuals`: scaled so that 1 is as large as the caller tolerates; at least one.
///
/// # Errors
/// Those of the residuals at the start, and where no derivative can be had on either side.
///
/// # Source
/// [More1978], with the parameters of its section 6 by the singular value decomposition.
pub fn solve<E>(
    start: &[f64],
    scale: &[f64],
    bounds: &[(f64, f64)],
    residuals: impl FnMut(&[f64]) -> Result<Vec<f64>, E>,
    options: &Options,
    watch: &Watch<'_>,
) -> Result<Fit, E> {
    let mut problem = Problem { scale, bounds, residuals, options, watch, evaluations: 0, count: 0 };
    problem.solve(start)
}

/// Relative gain in the sum of squares below which a step is noise: the square of the relative error of forward differences
/// (1e-8) is 1e-16, and four digits are left for functions that are not exact to the last one.
const FLAT: f64 = 1e-12;

struct Problem<'a, R> {
    scale: &'a [f64],
    bounds: &'a [(f64, f64)],
    residuals: R,
    options: &'a Options,
    watch: &'a Watch<'a>,
    evaluations: usize,
    /// Number of residuals.
    count: usize,
}

impl<E, R: FnMut(&[f64]) -> Result<Vec<f64>, E>> Problem<'_, R> {
    fn inside(&self, index: usize, x: f64) -> f64 {
        let (low, high) = self.bounds[index];
        x.max(low).min(high)
    }

    fn evaluate(&mut self, x: &[f64]) -> Result<Option<DVector<f64>>, E> {
        self.evaluations += 1;
        let residuals = (self.residuals)(x)?;
        let sound = residuals.iter().all(|r| r.is_finite()) && (self.count == 0 || residuals.len() == self.count);
        Ok(sound.then(|| DVector::from_vec(residuals)))
    }

    /// Derivatives by the scaled unknowns. `None` when one cannot be had because values are not finite on either side.
    fn jacobian(&mut self, x: &[f64], at_x: &DVector<f64>) -> Result<Option<DMatrix<f64>>, E> {
        let root = if self.options.central { f64::EPSILON.cbrt() } else { f64::EPSILON.sqrt() };
        let share = self.options.difference.unwrap_or(root);
        let mut jacobian = DMatrix::zeros(self.count, x.len());
        for column in 0..x.len() {
            // Far from zero the step must still be many spacings of doubles wide.
            let step = (share * self.scale[column]).max(1e3 * f64::EPSILON * x[column].abs());
            let mut sides: Vec<(f64, DVector<f64>)> = Vec::with_capacity(2);
            let mut failure = None;
            for signed in [step, -step] {
                if sides.len() == 1 && !self.options.central {
                    break;
                }
                let mut moved = x.to_vec();
                moved[column] = self.inside(column, x[column] + signed);
                let width = moved[column] - x[column];
                if width == 0.0 {
                    continue;
                }
                match self.evaluate(&moved) {
                    Ok(Some(value)) => sides.push((width, value)),
                    Ok(None) => {}
                    Err(error) => failure = Some(error),
                }
            }
            let derivative = match &sides[..] {
                [(right, at_right), (left, at_left)] => (at_right - at_left) / (right - left),
                [(width, value)] => (value - at_x) / *width,
                _ => match failure {
                    Some(error) => return Err(error),
                    // An unknown whose bounds coincide has no derivative and needs none.
                    None if self.bounds[column].0 == self.bounds[column].1 => DVector::zeros(self.count),
                    None => return Ok(None),
                },
            };
            jacobian.set_column(column, &(derivative * self.scale[column]));
        }
        Ok(jacobian.iter().all(|entry| entry.is_finite()).then_some(jacobian))
    }

    fn solve(&mut self, start: &[f64]) -> Result<Fit, E> {
        let unknowns = start.len();
        let ended = |x: Vec<f64>, residuals: &DVector<f64>, iterations, evaluations, stop, rank| Fit {
            x,
            residuals: residuals.as_slice().to_vec(),
            iterations,
            evaluations,
            stop,
            rank,
        };
        let posed = unknowns > 0
            && self.scale.len() == unknowns
            && self.bounds.len() == unknowns
            && start.iter().all(|x| x.is_finite())
            && self.scale.iter().all(|s| s.is_finite() && *s > 0.0)
            && self.bounds.iter().all(|(low, high)| low <= high);
        if !posed {
            return Ok(ended(start.to_vec(), &DVector::zeros(0), 0, 0, Stop::IllPosed, 0));
        }
        let mut x: Vec<f64> = start.iter().enumerate().map(|(index, x)| self.inside(index, *x)).collect();
        let Some(mut r) = self.evaluate(&x)?.filter(|r| !r.is_empty()) else {
            return Ok(ended(x, &DVector::zeros(0), 0, self.evaluations, Stop::IllPosed, 0));
        };
        self.count = r.len();
        let mut weights = DVector::zeros(unknowns);
        let mut radius = 0.0;
        let mut iterations = 0;
        let mut rank = unknowns;
        let stop = 'outer: loop {
            if r.amax() <= self.options.residual_tolerance {
                break Stop::Residuals;
            }
            if self.watch.stopped() {
                break Stop::Interrupted;
            }
            if self.evaluations + unknowns * (1 + usize::from(self.options.central)) >= self.options.evaluations {
                break Stop::Evaluations;
            }
            let Some(jacobian) = self.jacobian(&x, &r)? else { break Stop::Stalled };
            // Each unknown is weighed by the largest effect it has had, so that a flat place does not let it run away.
            for column in 0..unknowns {
                let norm: f64 = jacobian.column(column).norm();
                weights[column] = norm.max(weights[column]);
            }
            let weight = |column: usize| if weights[column] > 0.0 { weights[column] } else { 1.0 };
            if radius == 0.0 {
                radius =
                    self.options.first_step * (0..unknowns).map(|column| weight(column).powi(2)).sum::<f64>().sqrt();
            }
            let gradient = jacobian.transpose() * &r;
            let free: Vec<usize> = (0..unknowns)
                .filter(|&column| {
                    let (low, high) = self.bounds[column];
                    !(x[column] <= low && gradient[column] >= 0.0 || x[column] >= high && gradient[column] <= 0.0)
                })
                .collect();
            let cosine = |column: usize| {
                let norm = jacobian.column(column).norm();
                if norm == 0.0 { 0.0 } else { gradient[column].abs() / norm / r.norm() }
            };
            if free.iter().all(|&column| cosine(column) <= self.options.gradient_tolerance) {
                break Stop::Gradient;
            }
            let scaled = DMatrix::from_fn(self.count, free.len(), |row, column| {
                jacobian[(row, free[column])] / weight(free[column])
            });
            let Some(linear) = Linear::new(scaled, &r) else { break Stop::Stalled };
            rank = linear.rank;
            // Trials shrink the region until one lowers the sum of squares.
            loop {
                let (damping, step) = linear.step(radius);
                let mut moved = x.clone();
                for (place, &column) in free.iter().enumerate() {
                    moved[column] = self.inside(column, x[column] + step[place] / weight(column) * self.scale[column]);
                }
                // What was really done, bounds and rounding included.
                let done = DVector::from_fn(unknowns, |column, _| (moved[column] - x[column]) / self.scale[column]);
                let length = (0..unknowns).map(|column| (done[column] * weight(column)).powi(2)).sum::<f64>().sqrt();
                let small = (0..unknowns).all(|column| {
                    done[column].abs()
                        <= self.options.step_tolerance.max(2.0 * f64::EPSILON * x[column].abs() / self.scale[column])
                });
                let predicted = (r.norm_squared() - (&r + &jacobian * &done).norm_squared()) / r.norm_squared();
                if length == 0.0 {
                    break 'outer Stop::Step;
                }
                let trial = self.evaluate(&moved).ok().flatten();
                let actual = trial.as_ref().map_or(-1.0, |trial| 1.0 - (trial.norm() / r.norm()).powi(2));
                let ratio = if predicted > 0.0 { actual / predicted } else { actual.signum() };
                // Both the promised and the found gain are below what differences can tell from noise.
                let flat = actual.abs() <= FLAT && predicted <= FLAT;
                if ratio <= 0.25 {
                    radius = (0.5 * length).min(0.5 * radius);
                } else if ratio >= 0.75 || damping == 0.0 {
                    radius = radius.max(2.0 * length);
                }
                if let Some(trial) = trial
                    && ratio >= 1e-4
                    && actual > 0.0
                {
                    iterations += 1;
                    (x, r) = (moved, trial);
                    if small && r.amax() > self.options.residual_tolerance {
                        break 'outer Stop::Step;
                    }
                    if flat {
                        break 'outer if r.amax() <= self.options.residual_tolerance {
                            Stop::Residuals
                        } else {
                            Stop::Stalled
                        };
                    }
                    break;
                }
                if small || flat {
                    break 'outer Stop::Stalled;
                }
                if self.watch.stopped() {
                    break 'outer Stop::Interrupted;
                }
                if self.evaluations >= self.options.evaluations {
                    break 'outer Stop::Evaluations;
                }
            }
        };
        Ok(ended(x, &r, iterations, self.evaluations, stop, rank))
    }
}

/// The linear problem at one place, taken apart by singular values.
struct Linear {
    values: DVector<f64>,
    /// Residuals along the left singular vectors, with the sign of descent.
    along: DVector<f64>,
    right: DMatrix<f64>,
    rank: usize,
}

impl Linear {
    fn new(jacobian: DMatrix<f64>, residuals: &DVector<f64>) -> Option<Self> {
        let floor = f64::EPSILON * jacobian.nrows().max(jacobian.ncols()) as f64;
        let svd = jacobian.try_svd(true, true, f64::EPSILON, 10_000)?;
        let along = -(svd.u?.transpose() * residuals);
        let largest = svd.singular_values.max();
        let rank = svd.singular_values.iter().filter(|value| **value > floor * largest).count();
        Some(Self { values: svd.singular_values, along, right: svd.v_t?.transpose(), rank })
    }

    fn damped(&self, damping: f64) -> DVector<f64> {
        let largest = self.values.max();
        let floor = f64::EPSILON * self.right.nrows().max(self.along.len()) as f64 * largest;
        let amounts = DVector::from_fn(self.values.len(), |index, _| {
            let value = self.values[index];
            if value <= floor { 0.0 } else { self.along[index] * value / (value * value + damping) }
        });
        &self.right * amounts
    }

    /// Damping and step of a length within a tenth of the radius, or the undamped step if that is inside.
    fn step(&self, radius: f64) -> (f64, DVector<f64>) {
        let full = self.damped(0.0);
        if full.norm() <= 1.1 * radius {
            return (0.0, full);
        }
        // The length falls with the damping; this is a bracket, and Newton's method on the reciprocal length goes from the left.
        let mut low = 0.0;
        let mut high = self.values.component_mul(&self.along).norm() / radius;
        let mut damping = 1e-3 * high;
        for _ in 0..60 {
            let step = self.damped(damping);
            let length = step.norm();
            if (length - radius).abs() <= 0.1 * radius {
                return (damping, step);
            }
            if length > radius {
                low = damping;
            } else {
                high = damping;
            }
            let slope: f64 = (0..self.values.len())
                .map(|index| {
                    let square = self.values[index].powi(2);
                    if square == 0.0 {
                        0.0
                    } else {
                        (self.along[index] * self.values[index]).powi(2) / (square + damping).powi(3)
                    }
                })
                .sum();
            let newton = damping + length * length / slope * (length - radius) / radius / length * length / length;
            damping = if newton > low && newton < high { newton } else { (low * high).sqrt().max(1e-3 * high) };
        }
        (damping, self.damped(damping))
    }
}
