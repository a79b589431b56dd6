//! One row of a grid: a departure, and all that may follow it.

use super::super::excess::{ExcessInput, ExcessOutput, StateTable, excess_batch};
use super::super::lambert::{Branch, Ends, LambertArc, Way, solve_batch, solve_pair_batch};
use super::dates::Dates;
use super::error::GridError;
use super::measure::Sheet;
use super::prices::Prices;
use crate::conic::{self, State};
use crate::system::Body;
use crate::vector::Vec3;
use std::num::NonZeroU32;

/// The places of both bodies, each date looked up once where the ruling allows it.
pub(super) struct Table<'a> {
    start: &'a Body,
    goal: &'a Body,
    /// Of the goal, by arrival; empty where every row has arrivals of its own.
    arrivals: Vec<Option<State>>,
}

impl<'a> Table<'a> {
    /// # Errors
    /// A departure outside the ephemeris; an arrival there has no arc and is left out.
    pub(super) fn new(prices: &'a Prices, dates: &Dates) -> Result<Self, GridError> {
        let route = &prices.trip.route;
        let (Some(start), Some(goal)) = (route.down_to_start.first(), route.down_to_goal.first()) else {
            return Err(GridError::Central { about: route.about.name().to_string() });
        };
        start.state(dates.begin)?;
        start.state(dates.begin.after(dates.departures.last()))?;
        let count = if !dates.shared() {
            0
        } else if dates.of_arrivals {
            dates.second.count
        } else {
            dates.departures.count + dates.second.count - 1
        };
        let arrival = |k: usize| goal.state(dates.begin.try_after(dates.second.value(k as f64)).ok()?).ok();
        Ok(Self { start, goal, arrivals: (0..count).map(arrival).collect() })
    }

    /// Where the goal is when the cell in row `i` and column `j` arrives.
    fn goal(&self, i: usize, j: usize, dates: &Dates) -> Option<State> {
        if self.arrivals.is_empty() {
            let seconds = dates.departures.value(i as f64) + dates.second.value(j as f64);
            return self.goal.state(dates.begin.try_after(seconds).ok()?).ok();
        }
        self.arrivals.get(if dates.of_arrivals { j } else { i + j }).copied().flatten()
    }
}

/// One branch of a row; infinity where there is no arc.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Strip {
    /// Excess speeds about the body left, m/s.
    pub leaving: Vec<f64>,
    /// Excess speeds about the body reached, m/s.
    pub arriving: Vec<f64>,
    /// Δv of the departure, m/s, where more than the excess speed decides it; else empty.
    pub departure: Vec<f64>,
}

/// A row: each branch, and the angle from one body to the other in the plane and the sense of the motion.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub strips: Vec<Strip>,
    /// rad, from 0 to 2π; not a number where the pair runs backwards or outside the ephemeris.
    pub angles: Vec<f32>,
}

/// The angle (rad, 0 to 2π) from `r1` to `r2`, counted about `normal`.
pub(super) fn angle(r1: &Vec3, r2: &Vec3, normal: &Vec3) -> f64 {
    let across = r1.cross(r2);
    let size = across.norm().atan2(r1.dot(r2));
    if across.dot(normal) < 0.0 { std::f64::consts::TAU - size } else { size }
}

/// The same as seen along `normal`: it passes half a revolution evenly, where the angle in space turns about 180° instead.
fn angle_in_plane(r1: &Vec3, r2: &Vec3, normal: &Vec3) -> f64 {
    let unit = normal / normal.norm();
    let (a, b) = (r1 - unit * r1.dot(&unit), r2 - unit * r2.dot(&unit));
    a.cross(&b).dot(&unit).atan2(a.dot(&b)).rem_euclid(std::f64::consts::TAU)
}

/// Whether so many revolutions may fit: no arc is faster than as many periods of the ellipse of least energy. [Battin1999]
pub(super) fn may_fit(gm: f64, ends: &Ends, revolutions: u32) -> bool {
    let semiperimeter = 0.5 * (ends.r1.norm() + ends.r2.norm() + (ends.r2 - ends.r1).norm());
    let axis = 0.5 * semiperimeter;
    ends.time > f64::from(revolutions) * std::f64::consts::TAU * (axis * axis * axis / gm).sqrt()
}

/// A pair of dates that has a question.
struct Asked {
    column: usize,
    ends: Ends,
    goal: State,
}

/// Solves a row.
pub(super) fn fill(
    i: usize,
    table: &Table<'_>,
    prices: &Prices,
    dates: &Dates,
    sheets: &[Sheet],
) -> Result<Row, GridError> {
    let gm = prices.gm();
    let count = dates.second.count;
    let start = table.start.state(dates.begin.after(dates.departures.value(i as f64)))?;
    let momentum = conic::angular_momentum(&start);
    // Columns that have a question at all, with it.
    let mut asked: Vec<Asked> = Vec::with_capacity(count);
    let mut angles = vec![f32::NAN; count];
    for (j, angle) in angles.iter_mut().enumerate() {
        let [_, time] = dates.times([i as f64, j as f64]);
        if let Some(goal) = table.goal(i, j, dates).filter(|_| time > 0.0) {
            *angle = angle_in_plane(&start.position, &goal.position, &momentum) as f32;
            asked.push(Asked { column: j, ends: Ends { r1: start.position, r2: goal.position, time }, goal });
        }
    }
    let empty = || vec![f64::INFINITY; count];
    let strip = |_: &Sheet| Strip {
        leaving: empty(),
        arriving: empty(),
        departure: if prices.given_plane { empty() } else { Vec::new() },
    };
    let mut strips: Vec<Strip> = sheets.iter().map(strip).collect();
    let put = |strip: &mut Strip, asked: &Asked, arc: &LambertArc| {
        if let Some(figures) = prices.of(&arc.v1, &arc.v2, &start, &asked.goal) {
            strip.leaving[asked.column] = figures.leaving;
            strip.arriving[asked.column] = figures.arriving;
            if prices.given_plane {
                strip.departure[asked.column] = figures.departure;
            }
        }
    };
    let mut next = 0;
    while let Some(sheet) = sheets.get(next) {
        let way = if sheet.retrograde { Way::Retrograde(momentum) } else { Way::Prograde(momentum) };
        if let Some(revolutions) = NonZeroU32::new(sheet.revolutions) {
            debug_assert!(sheet.branch == Branch::Left, "the left branch stands before the right one");
            let fits: Vec<&Asked> = asked.iter().filter(|asked| may_fit(gm, &asked.ends, sheet.revolutions)).collect();
            // Both branches come from one solution, so the arcs are asked for and not their speeds one by one.
            solve_pair_batch(gm, way, fits.iter().map(|asked| (asked.ends, revolutions)), |k, pair| {
                if let Ok([left, right]) = pair {
                    put(&mut strips[next], fits[k], &left);
                    put(&mut strips[next + 1], fits[k], &right);
                }
            });
            next += 2;
        } else if prices.given_plane {
            solve_batch(gm, way, asked.iter().map(|asked| asked.ends), |k, arc| {
                if let Ok(arc) = arc {
                    put(&mut strips[next], &asked[k], &arc);
                }
            });
            next += 1;
        } else {
            let departures = StateTable::new([Some(start)]);
            let arrivals = StateTable::new(asked.iter().map(|asked| Some(asked.goal)));
            let times: Vec<f64> = asked.iter().map(|asked| asked.ends.time).collect();
            let (mut leaving, mut arriving) = (vec![f64::INFINITY; times.len()], vec![f64::INFINITY; times.len()]);
            let input = ExcessInput { departures: departures.all(), arrivals: arrivals.all(), times: &times };
            let mut output = ExcessOutput { departures: &mut leaving, arrivals: &mut arriving };
            // The gravitational parameter of a body is above zero, and the lists are of one length.
            if excess_batch(gm, &input, 0, Branch::Single, way, &mut output).is_ok() {
                for (asked, (leaving, arriving)) in asked.iter().zip(leaving.into_iter().zip(arriving)) {
                    if let Some(figures) = prices.of_speeds(leaving, arriving) {
                        strips[next].leaving[asked.column] = figures.leaving;
                        strips[next].arriving[asked.column] = figures.arriving;
                    }
                }
            }
            next += 1;
        }
    }
    Ok(Row { strips, angles })
}
