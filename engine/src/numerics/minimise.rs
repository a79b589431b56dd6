//! Bounded search for a minimum without derivatives.

use super::minimum;
use super::watch::Watch;

/// What ends a search.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// Ends when the search is within this share of `scale` in every unknown.
    pub tolerance: f64,
    /// Ends when the costs of the last places differ by less than this share of their size (besides `tolerance`).
    pub cost_tolerance: f64,
    /// Most evaluations of the cost.
    pub evaluations: usize,
    /// One unknown: places on the first grid.
    pub grid: usize,
    /// Several unknowns: most fresh starts around the best place.
    pub restarts: usize,
}

impl Default for Options {
    fn default() -> Self {
        Self { tolerance: 1e-8, cost_tolerance: 1e-12, evaluations: 5000, grid: 32, restarts: 10 }
    }
}

/// Why a search ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stop {
    /// A minimum to the tolerance, and a fresh start around it finds none lower.
    Minimum,
    /// The budget of evaluations is spent.
    Evaluations,
    /// The watch asked to stop.
    Interrupted,
    /// A cost at the start that is not finite, or lists of different lengths.
    IllPosed,
}

impl Stop {
    /// In words, for a table.
    pub const fn why(self) -> &'static str {
        match self {
            Self::Minimum => "a minimum, and a fresh start around it finds none lower",
            Self::Evaluations => "the budget of evaluations is spent",
            Self::Interrupted => "interrupted",
            Self::IllPosed => "the start has no finite cost",
        }
    }
}

/// What a search found.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// The unknowns, within their bounds.
    pub x: Vec<f64>,
    /// Cost there.
    pub cost: f64,
    /// Steps taken (several unknowns) or valleys searched (one).
    pub iterations: usize,
    /// Evaluations of the cost.
    pub evaluations: usize,
    /// Why it ended.
    pub stop: Stop,
}

/// Searches unknowns for which a cost is least, near the start and within bounds.
///
/// One unknown: a grid over the bounds (or 20 scales to each side where there are none), then Brent's method in the lowest valleys. Several: the
/// simplex method with coefficients that suit the number of unknowns, its places moved inside the bounds, started afresh around the best place until
/// that brings nothing. A cost that fails or is not finite counts as infinitely large. Local in principle: a lower minimum elsewhere may exist.
///
/// - `start`, `scale` (typical change, positive), `bounds` (low, high; may be infinite): one per unknown, in its own unit.
///
/// # Errors
/// Those of the cost at the start.
///
/// # Source
/// [Brent1973] chapter 5; [NelderMead1965] with the coefficients of [GaoHan2012].
pub fn search<E>(
    start: &[f64],
    scale: &[f64],
    bounds: &[(f64, f64)],
    cost: impl FnMut(&[f64]) -> Result<f64, E>,
    options: &Options,
    watch: &Watch<'_>,
) -> Result<Found, E> {
    let unknowns = start.len();
    let posed = unknowns > 0
        && scale.len() == unknowns
        && bounds.len() == unknowns
        && start.iter().all(|x| x.is_finite())
        && scale.iter().all(|s| s.is_finite() && *s > 0.0)
        && bounds.iter().all(|(low, high)| low <= high);
    if !posed {
        return Ok(Found {
            x: start.to_vec(),
            cost: f64::INFINITY,
            iterations: 0,
            evaluations: 0,
            stop: Stop::IllPosed,
        });
    }
    let mut search = Search {
        scale,
        bounds,
        cost,
        options,
        watch,
        evaluations: 0,
        ended: None,
        best: start.to_vec(),
        least: f64::INFINITY,
    };
    let x: Vec<f64> = start.iter().zip(bounds).map(|(x, (low, high))| x.max(*low).min(*high)).collect();
    let first = (search.cost)(&x)?;
    search.evaluations = 1;
    search.best.clone_from(&x);
    if !first.is_finite() {
        return Ok(Found { x, cost: first, iterations: 0, evaluations: 1, stop: Stop::IllPosed });
    }
    search.least = first;
    let iterations = if unknowns == 1 { search.line() } else { search.simplexes() };
    let stop = search.ended.unwrap_or(Stop::Minimum);
    Ok(Found { x: search.best, cost: search.least, iterations, evaluations: search.evaluations, stop })
}

struct Search<'a, C> {
    scale: &'a [f64],
    bounds: &'a [(f64, f64)],
    cost: C,
    options: &'a Options,
    watch: &'a Watch<'a>,
    evaluations: usize,
    ended: Option<Stop>,
    best: Vec<f64>,
    least: f64,
}

impl<E, C: FnMut(&[f64]) -> Result<f64, E>> Search<'_, C> {
    /// Cost at a place; infinite where there is none, and once the search has to end.
    fn at(&mut self, x: &[f64]) -> f64 {
        if self.ended.is_none() {
            if self.watch.stopped() {
                self.ended = Some(Stop::Interrupted);
            } else if self.evaluations >= self.options.evaluations {
                self.ended = Some(Stop::Evaluations);
            }
        }
        if self.ended.is_some() {
            return f64::INFINITY;
        }
        self.evaluations += 1;
        let cost = (self.cost)(x).ok().filter(|cost| cost.is_finite()).unwrap_or(f64::INFINITY);
        if cost < self.least {
            self.least = cost;
            self.best = x.to_vec();
        }
        cost
    }

    fn line(&mut self) -> usize {
        let (low, high) = self.bounds[0];
        let reach = 20.0 * self.scale[0];
        let mut valleys = 0;
        let mut closer: Option<f64> = None;
        // Where a side is open, the grid moves along until the lowest place is not at its rim.
        for _ in 0..40 {
            let centre = self.best[0];
            let before = self.least;
            let left = if let Some(near) = closer {
                (centre - near).max(low)
            } else if low.is_finite() {
                low
            } else {
                (centre - reach).min(high)
            };
            let right = if let Some(near) = closer {
                (centre + near).min(high)
            } else if high.is_finite() {
                high
            } else {
                (centre + reach).max(low)
            };
            let count = self.options.grid.max(4);
            let place = |index: usize| left + (right - left) * index as f64 / count as f64;
            let mut grid: Vec<(f64, f64)> = (0..=count).map(|index| (place(index), self.at(&[place(index)]))).collect();
            if !grid.iter().any(|(x, _)| *x == centre) {
                grid.push((centre, self.at(&[centre])));
                grid.sort_by(|a, b| a.0.total_cmp(&b.0));
            }
            let last = grid.len() - 1;
            let mut pits: Vec<usize> = (0..=last)
                .filter(|&i| {
                    grid[i].1.is_finite()
                        && (i == 0 || grid[i].1 <= grid[i - 1].1)
                        && (i == last || grid[i].1 <= grid[i + 1].1)
                })
                .collect();
            pits.sort_by(|&a, &b| grid[a].1.total_cmp(&grid[b].1));
            for &pit in pits.iter().take(4) {
                valleys += 1;
                let tolerance = self.options.tolerance * self.scale[0];
                minimum::bracketed(
                    |x| self.at(&[x]),
                    grid[pit.saturating_sub(1)].0,
                    grid[(pit + 1).min(last)].0,
                    tolerance,
                );
            }
            let rim = (right - left) / count as f64;
            let open =
                (!low.is_finite() && self.best[0] < left + rim) || (!high.is_finite() && self.best[0] > right - rim);
            if self.ended.is_some() {
                break;
            }
            if !open || closer.is_some() {
                // A finer grid around the best place sees the valleys that the coarse one stepped over.
                if closer.is_some() && self.least >= before {
                    break;
                }
                closer = Some(4.0 * rim);
            }
        }
        valleys
    }

    fn simplexes(&mut self) -> usize {
        let mut steps = 0;
        let mut size = 1.0;
        for round in 0..=self.options.restarts {
            let before = self.least;
            steps += self.simplex(size);
            if self.ended.is_some() {
                break;
            }
            let gained = before - self.least;
            if round > 0 && gained <= self.options.cost_tolerance * self.least.abs() {
                break;
            }
            // Other size and, by its sign, other side: the fresh simplex is not the collapsed one again.
            size *= -0.5;
        }
        steps
    }

    /// One simplex from the best place until it is small; counts its steps.
    fn simplex(&mut self, size: f64) -> usize {
        let unknowns = self.best.len();
        let n = unknowns as f64;
        let (expand, contract, shrink) = (1.0 + 2.0 / n, 0.75 - 0.5 / n, 1.0 - 1.0 / n);
        let first = self.best.clone();
        let mut simplex = vec![(self.least, first.clone())];
        for index in 0..unknowns {
            let (low, high) = self.bounds[index];
            let mut x = first.clone();
            let step = size * self.scale[index];
            x[index] = (first[index] + step).max(low).min(high);
            // At a bound the simplex unfolds to the other side.
            if (x[index] - first[index]).abs() < 0.5 * step.abs() {
                x[index] = (first[index] - step).max(low).min(high);
            }
            let cost = self.at(&x);
            simplex.push((cost, x));
        }
        let mut steps = 0;
        while self.ended.is_none() {
            // Stable order: equal costs keep their places, so the path is the same on every machine.
            simplex.sort_by(|a, b| a.0.total_cmp(&b.0));
            let best = simplex[0].clone();
            let wide = |index: usize| simplex.iter().map(|(_, x)| (x[index] - best.1[index]).abs()).fold(0.0, f64::max);
            let small = (0..unknowns).all(|index| {
                wide(index)
                    <= (self.options.tolerance * self.scale[index]).max(4.0 * f64::EPSILON * best.1[index].abs())
            });
            let level = simplex[unknowns].0 - best.0 <= self.options.cost_tolerance * best.0.abs();
            let tiny = (0..unknowns).all(|index| {
                wide(index)
                    <= (1e-3 * self.options.tolerance * self.scale[index]).max(4.0 * f64::EPSILON * best.1[index].abs())
            });
            if small && level || tiny {
                break;
            }
            steps += 1;
            let centre: Vec<f64> =
                (0..unknowns).map(|index| simplex[..unknowns].iter().map(|(_, x)| x[index]).sum::<f64>() / n).collect();
            let (worst, second) = (simplex[unknowns].clone(), simplex[unknowns - 1].0);
            let bounds = self.bounds;
            let beyond = |share: f64| -> Vec<f64> {
                (0..unknowns)
                    .map(|index| {
                        (centre[index] + share * (centre[index] - worst.1[index]))
                            .max(bounds[index].0)
                            .min(bounds[index].1)
                    })
                    .collect()
            };
            let reflected = beyond(1.0);
            let at_reflected = self.at(&reflected);
            let taken = if at_reflected < best.0 {
                let far = beyond(expand);
                let at_far = self.at(&far);
                Some(if at_far < at_reflected { (at_far, far) } else { (at_reflected, reflected) })
            } else if at_reflected < second {
                Some((at_reflected, reflected))
            } else {
                let outside = at_reflected < worst.0;
                let near = beyond(if outside { contract } else { -contract });
                let at_near = self.at(&near);
                (at_near < if outside { at_reflected } else { worst.0 }).then_some((at_near, near))
            };
            if let Some(taken) = taken {
                simplex[unknowns] = taken;
            } else {
                for corner in &mut simplex[1..] {
                    corner.1 = corner.1.iter().zip(&best.1).map(|(x, best)| best + shrink * (x - best)).collect();
                    corner.0 = self.at(&corner.1);
                }
            }
        }
        steps
    }
}
