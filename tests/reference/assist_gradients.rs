//! Smooth costs of the published problems and their gradients: what a search descends by.

use visviva_engine::arc::assist_chain::deep_space::pass;
use visviva_engine::arc::assist_chain::powered_slopes::powered_slopes;
use visviva_engine::arc::assist_chain::slopes::{ChainPlan, MovingStop, slopes};
use visviva_engine::arc::assist_chain::{self, LegPlan, PassPlan, Stop};
use visviva_engine::conic::State;
use visviva_engine::conic::timing::{Passage, time_to_radius};
use visviva_engine::numerics::global::Domain;
use visviva_engine::vector::Vec3;

use crate::assist_problems::{CHARGE, DAY, KM, NORTH, Problem};

/// Burns (and other sizes that may vanish) are rounded off over this many km/s where a search asks for a smooth cost.
const ROUNDED: f64 = 0.005;

impl Problem {
    /// Where a search looks, which unknowns are angles over a whole turn, and which belong to one leg.
    pub(crate) fn domain(&self) -> Domain {
        let legs = self.planets.len() - 1;
        if self.is_powered() {
            let groups = (0..=legs).map(|k| vec![k]).chain((1..legs).map(|k| vec![k, k + 1])).collect();
            return Domain { bounds: self.bounds.clone(), groups, ..Domain::default() };
        }
        let tail = 4 + 2 * legs;
        let passes = (self.bounds.len() - tail) / 2;
        let mut groups = vec![vec![0, 1, 2, 3]];
        groups.extend((0..legs).map(|k| {
            let mut group = vec![4 + k, 4 + legs + k];
            if k > 0 {
                group.extend([tail + k - 1, tail + passes + k - 1]);
            }
            group
        }));
        groups.extend((legs..=passes).map(|k| vec![tail + k - 1, tail + passes + k - 1]));
        let turns = std::iter::once(2).chain(tail + passes..self.bounds.len()).collect();
        let mut stages: Vec<Vec<usize>> = Vec::new();
        for legs in self.beginnings() {
            let known: Vec<usize> = stages.concat();
            stages.push(self.unknowns_of(legs).into_iter().filter(|index| !known.contains(index)).collect());
        }
        Domain { bounds: self.bounds.clone(), turns, groups, stages }
    }

    /// How many legs are a task of their own: those that reach the body that is the goal.
    fn beginnings(&self) -> Vec<usize> {
        let legs = self.planets.len() - 1;
        if self.id == "messenger_full" { (3..=legs).collect() } else { Vec::new() }
    }

    /// Which unknowns the first legs of a chain with deep-space burns have.
    fn unknowns_of(&self, first: usize) -> Vec<usize> {
        let legs = self.planets.len() - 1;
        let tail = 4 + 2 * legs;
        let passes = (self.bounds.len() - tail) / 2;
        let leg = |base: usize, count: usize| base..base + count;
        leg(0, 4)
            .chain(leg(4, first))
            .chain(leg(4 + legs, first))
            .chain(leg(tail, first - 1))
            .chain(leg(tail + passes, first - 1))
            .collect()
    }

    /// The problem's first legs, for the stages of a search: their own problem, and where its unknowns stand in the whole.
    pub(crate) fn parts(&self) -> Vec<(Problem, Vec<usize>)> {
        let part = |legs: usize| {
            let places = self.unknowns_of(legs);
            let problem = Problem {
                id: self.id.clone(),
                bounds: places.iter().map(|&index| self.bounds[index]).collect(),
                best_published: None,
                vectors: Vec::new(),
                planets: self.planets[..=legs].to_vec(),
                sun: self.sun,
                au: self.au,
            };
            (problem, places)
        };
        self.beginnings().into_iter().map(part).collect()
    }

    /// The cost of a part as a function of all unknowns.
    pub(crate) fn cost_of_part(
        (part, places): &(Problem, Vec<usize>),
        x: &[f64],
        roundness: f64,
        gradient: Option<&mut [f64]>,
    ) -> f64 {
        let own: Vec<f64> = places.iter().map(|&index| x[index]).collect();
        let Some(gradient) = gradient else { return part.cost_with_gradient(&own, roundness, None) };
        let mut slope = vec![0.0; own.len()];
        let cost = part.cost_with_gradient(&own, roundness, Some(&mut slope));
        gradient.fill(0.0);
        for (&index, slope) in places.iter().zip(&slope) {
            gradient[index] = *slope;
        }
        cost
    }

    /// [`Problem::cost`] of a chain with deep-space burns, its kinks rounded off, with its gradient.
    pub(crate) fn cost_with_gradient(&self, x: &[f64], roundness: f64, gradient: Option<&mut [f64]>) -> f64 {
        let Some(gradient) = gradient else {
            return if roundness > 0.0 || self.maximises() { self.smooth(x, roundness) } else { self.cost(x) };
        };
        let found = if self.is_powered() {
            self.powered_with_gradient(x, roundness, gradient)
        } else {
            self.deep_space_with_gradient(x, roundness, gradient)
        };
        found.unwrap_or(f64::INFINITY)
    }

    /// States of the bodies at the dates, with their rates.
    fn moving(&self, first: f64, days: &[f64]) -> Option<Vec<MovingStop>> {
        // Central differences over a hundredth of a day: good to eight figures.
        let (early, late) = (self.stops(first - 0.01, days)?, self.stops(first + 0.01, days)?);
        let per = 1.0 / (0.02 * DAY);
        let rate = |(stop, (a, b)): (Stop, (Stop, Stop))| MovingStop {
            stop,
            rate: State::new((b.state.position - a.state.position) * per, (b.state.velocity - a.state.velocity) * per),
        };
        Some(self.stops(first, days)?.into_iter().zip(early.into_iter().zip(late)).map(rate).collect())
    }

    fn powered_with_gradient(&self, x: &[f64], roundness: f64, gradient: &mut [f64]) -> Option<f64> {
        let stops = self.moving(x[0], &x[1..])?;
        let (times, ways) = self.legs(x);
        let found = powered_slopes(self.sun, &stops, &times, &ways).ok()?;
        let unknowns = x.len();
        gradient.fill(0.0);
        let chain = &found.chain;
        let launch = chain.departure.norm() / KM;
        let (mut spent, mut launch_by) = (launch, 1.0);
        if self.id == "gtoc1" {
            (spent, launch_by) = Self::hinge(launch - 2.5, 1e-2 * roundness);
        }
        let mut spent_by: Vec<f64> =
            found.departure.iter().map(|d| launch_by * chain.departure.dot(d) / (launch * KM * KM)).collect();
        let charge = 10.0;
        let mut violated = 0.0;
        for ((pass, row), least) in chain.passes.iter().zip(&found.passes).zip(self.least_radii()) {
            let (value, by) = Self::rounded(pass.burn / KM, roundness);
            spent += value;
            let (low, low_by) = Self::hinge(1.0 - pass.periapsis_radius / (least * KM), 1e-3 * roundness);
            violated += charge * low;
            for k in 0..unknowns {
                spent_by[k] += by * row[k].0 / KM;
                gradient[k] -= charge * low_by * row[k].1 / (least * KM) * DAY;
            }
        }
        let cost = if self.id == "gtoc1" {
            let last = &stops[stops.len() - 1];
            let (relative, body) = (chain.arrival / KM, last.stop.state.velocity / KM);
            let product = relative.dot(&body);
            let mass = 1500.0 * (-spent / (2500.0 * 9.80665e-3)).exp();
            for k in 0..unknowns {
                let by = (found.arrival[k].dot(&body) + relative.dot(&last.rate.velocity)) / KM * product.signum();
                let slope = mass * (by - product.abs() * spent_by[k] / (2500.0 * 9.80665e-3));
                gradient[k] -= 1e-5 * slope * DAY;
            }
            -1e-5 * mass * product.abs()
        } else {
            let saturn = self.planets[self.planets.len() - 1].gm;
            let arrival = chain.arrival.norm();
            let root = (arrival * arrival + 2.0 * saturn / (108_950.0 * KM)).sqrt();
            for k in 0..unknowns {
                gradient[k] += (spent_by[k] + chain.arrival.dot(&found.arrival[k]) / (root * KM)) * DAY;
            }
            spent + assist_chain::insertion(saturn, arrival, 108_950.0 * KM, 0.98) / KM
        };
        let cost = cost + violated;
        cost.is_finite().then_some(cost)
    }

    /// Size of what may vanish, rounded off at 0, and the derivative by the plain size.
    fn rounded(size: f64, roundness: f64) -> (f64, f64) {
        let over = ROUNDED * roundness;
        let value = size.hypot(over);
        (value - over, if value > 0.0 { size / value } else { 0.0 })
    }

    /// What is above 0, rounded off at 0 over a width, and its derivative.
    fn hinge(above: f64, width: f64) -> (f64, f64) {
        let root = above.hypot(width);
        (0.5 * (above + root), 0.5 * (1.0 + if root > 0.0 { above / root } else { 0.0 }))
    }

    /// The charge for a limit that is passed by some share of it, and its derivative.
    fn charge(above: f64, roundness: f64) -> (f64, f64) {
        let (value, slope) = Self::hinge(above, 1e-3 * roundness);
        (CHARGE * value, CHARGE * slope)
    }

    fn smooth(&self, x: &[f64], roundness: f64) -> f64 {
        if self.is_powered() {
            // The hops' first look: kinks are in nobody's way there.
            return self.cost(x) * if self.maximises() { 1e-5 } else { 1.0 };
        }
        let Some(value) = self.value(x) else { return f64::INFINITY };
        let burns = &value.parts[0].1;
        let sum: f64 = burns.iter().sum();
        let eased: f64 = burns.iter().map(|burn| Self::rounded(*burn, roundness).0).sum();
        if self.id == "sagas" {
            let limits = [eased / 1.782 - 1.0, (eased + x[1]) / 6.782 - 1.0];
            return value.objective + limits.iter().map(|above| Self::charge(*above, roundness).0).sum::<f64>();
        }
        value.objective - sum + eased
    }

    fn deep_space_with_gradient(&self, x: &[f64], roundness: f64, gradient: &mut [f64]) -> Option<f64> {
        let legs = self.planets.len() - 1;
        let days = &x[4..4 + legs];
        let stops = self.moving(x[0], days)?;
        let tail = &x[4 + 2 * legs..];
        let passes: Vec<PassPlan> = (0..tail.len() / 2)
            .map(|k| PassPlan {
                periapsis_radius: tail[k] * self.planets[k + 1].radius,
                angle: tail[tail.len() / 2 + k],
            })
            .collect();
        let plan = ChainPlan {
            departure: [x[1] * KM, x[2], x[3]],
            legs: (0..legs).map(|k| LegPlan { time: days[k] * DAY, burn_share: x[4 + legs + k] }).collect(),
            passes: passes[..legs - 1].to_vec(),
        };
        let found = slopes(self.sun, &stops, &plan, NORTH).ok()?;
        // Where each unknown of the chain stands in x, and what its unit is in SI.
        let unit = |k: usize| match k {
            0 => DAY,
            1 => KM,
            k if (4..4 + legs).contains(&k) => DAY,
            k if (4 + 2 * legs..4 + 2 * legs + legs - 1).contains(&k) => self.planets[k - 4 - 2 * legs + 1].radius,
            _ => 1.0,
        };
        let place = |k: usize| if k >= 4 + 2 * legs + legs - 1 { k + passes.len() - (legs - 1) } else { k };
        let unknowns = found.arrival.len();
        gradient.fill(0.0);
        let mut eased = 0.0;
        let mut of_burns = vec![0.0; unknowns];
        for (leg, row) in found.chain.legs.iter().zip(&found.burns) {
            let size = leg.burn.norm();
            let (value, slope) = Self::rounded(size / KM, roundness);
            eased += value;
            if size > 0.0 {
                let way = leg.burn * (slope / (size * KM));
                for (sum, change) in of_burns.iter_mut().zip(row) {
                    *sum += way.dot(change);
                }
            }
        }
        let arrival = found.chain.arrival.norm();
        let to_arrival;
        let mut cost = 0.0;
        let mut burns_by = 1.0;
        match self.id.as_str() {
            "messenger_full" => {
                let gm = self.planets[legs].gm;
                let escape = 2.0 * gm / (2640.0 * KM);
                cost += assist_chain::insertion(gm, arrival, 2640.0 * KM, 0.704) / KM;
                to_arrival = found.chain.arrival / ((arrival * arrival + escape).sqrt() * KM);
            }
            "sagas" => {
                let last = passes[legs - 1];
                let stop = &stops[legs];
                let coast = |change: &[f64; 6]| -> Option<f64> {
                    let arrival = found.chain.arrival + Vec3::new(change[0], change[1], change[2]);
                    let place = stop.stop.state.position + stop.rate.position * change[3];
                    let velocity = stop.stop.state.velocity + stop.rate.velocity * change[3];
                    let there = Stop { state: State::new(place, velocity), gm: stop.stop.gm };
                    let plan =
                        PassPlan { periapsis_radius: last.periapsis_radius + change[4], angle: last.angle + change[5] };
                    let out = pass(&there, &(velocity + arrival), &plan).ok()?;
                    let state = State::new(place, velocity + out.v_out);
                    Some(time_to_radius(self.sun, &state, 50.0 * self.au, Passage::Outbound)? / DAY / 365.25)
                };
                cost += days.iter().sum::<f64>() / 365.25 + coast(&[0.0; 6])?;
                let mut slope = [0.0; 6];
                for (k, step) in [0.01, 0.01, 0.01, 10.0, 10.0, 1e-6].into_iter().enumerate() {
                    let mut change = [0.0; 6];
                    change[k] = step;
                    let high = coast(&change)?;
                    change[k] = -step;
                    slope[k] = (high - coast(&change)?) / (2.0 * step);
                }
                to_arrival = Vec3::new(slope[0], slope[1], slope[2]);
                gradient[0] += slope[3] * DAY;
                for of_time in &mut gradient[4..4 + legs] {
                    *of_time += slope[3] * DAY + 1.0 / 365.25;
                }
                gradient[4 + 2 * legs + legs - 1] += slope[4] * self.planets[legs].radius;
                gradient[4 + 2 * legs + passes.len() + legs - 1] += slope[5];
                let (first, by_first) = Self::charge(eased / 1.782 - 1.0, roundness);
                let (second, by_second) = Self::charge((eased + x[1]) / 6.782 - 1.0, roundness);
                cost += first + second - eased;
                burns_by = by_first / 1.782 + by_second / 6.782;
                gradient[1] += by_second / 6.782;
            }
            id => {
                cost += arrival / KM;
                to_arrival = found.chain.arrival / (arrival * KM);
                if id == "cassini2" {
                    cost += x[1];
                    gradient[1] += 1.0;
                }
            }
        }
        cost += eased;
        for k in 0..unknowns {
            gradient[place(k)] += (burns_by * of_burns[k] + to_arrival.dot(&found.arrival[k])) * unit(k);
        }
        cost.is_finite().then_some(cost)
    }
}
