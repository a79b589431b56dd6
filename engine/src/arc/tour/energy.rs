//! What energies alone say of a sequence: which bodies an excess speed reaches, whatever the dates.
//!
//! The bodies' orbits count as circles in one plane with the distances of their real ones. An excess speed at a body and its
//! angle to the body's motion (the pump) are one orbit about the parent; where that orbit crosses the next body's it arrives with the excess
//! speed and the pump that Tisserand's parameter leaves. A pass keeps the excess speed and turns the pump by no more than the bend at the least
//! periapsis. So a grid of (excess speed, pump) cells, each with the least excess speed at departure that leads there, is handed from body to
//! body: an empty grid rules the sequence out, a full one bounds its Δv from below within the width of a cell.
//!
//! # Source
//! [StrangeLonguski2002], from memory: the same contours drawn over energy and periapsis; Tisserand's parameter: [Battin1999], section 8.1.

use super::TourError;
use super::chain::pass_radii;
use super::itinerary::LegKind;
use crate::arc::flyby::turn_angle;
use crate::arc::plan_error::PlanError;
use crate::system::Body;
use crate::time::Epoch;
use std::f64::consts::PI;

use super::TourOptions;

/// Cells along the excess speed, and the greatest as a share of the body's own speed.
const SPEEDS: usize = 90;
const GREATEST: f64 = 0.9;
/// Cells along the pump.
const PUMPS: usize = 36;
/// Burns between the bodies shift the excess speed by up to this share of the body's speed: more than leverage by burns of a few
/// hundred m/s has brought in flown tours (common practice, no source).
const LEVERAGE: f64 = 0.05;

/// A body as its energies count.
#[derive(Debug, Clone)]
pub(super) struct Ring {
    pub(super) body: Body,
    gm: f64,
    radius: f64,
    inner: f64,
    outer: f64,
    speed: f64,
    least_periapsis: f64,
}

impl Ring {
    pub(super) fn new(body: &Body, gm: f64, epoch: Epoch, options: &TourOptions) -> Result<Self, TourError> {
        let state = body.state(epoch).map_err(PlanError::from)?;
        let axis = -0.5 * gm / crate::conic::energy(gm, &state);
        let eccentricity = crate::conic::eccentricity_vector(gm, &state).norm();
        let least_periapsis = pass_radii(body, options)?.0;
        let (inner, outer) = (axis * (1.0 - eccentricity), axis * (1.0 + eccentricity));
        Ok(Self { body: body.clone(), gm, radius: axis, inner, outer, speed: (gm / axis).sqrt(), least_periapsis })
    }

    fn step(&self) -> f64 {
        GREATEST * self.speed / SPEEDS as f64
    }

    /// Least excess speed here that reaches another body's orbit: along or against the motion.
    pub(super) fn least_towards(&self, to: &Ring) -> f64 {
        let goal = if to.radius > self.radius { to.inner.max(self.radius) } else { to.outer.min(self.radius) };
        ((2.0 * self.gm * (1.0 / self.radius - 1.0 / (self.radius + goal))).sqrt() - self.speed).abs()
    }

    /// Excess speed (m/s) and pump (rad) at another body for those here, where the orbit reaches it.
    fn arriving(&self, excess: f64, pump: f64, to: &Ring) -> Option<(f64, f64)> {
        let transverse = self.speed + excess * pump.cos();
        let radial = excess * pump.sin();
        let energy = 0.5 * (transverse * transverse + radial * radial) - self.gm / self.radius;
        let momentum = self.radius * transverse;
        let eccentricity = (1.0 + 2.0 * energy * (momentum / self.gm).powi(2)).max(0.0).sqrt();
        let parameter = momentum * momentum / self.gm;
        let periapsis = parameter / (1.0 + eccentricity);
        let apoapsis = if eccentricity < 1.0 { parameter / (1.0 - eccentricity) } else { f64::INFINITY };
        if !(periapsis <= to.outer && apoapsis >= to.inner) {
            return None;
        }
        let meet = to.radius.clamp(periapsis, apoapsis).clamp(to.inner, to.outer);
        let across = momentum / meet;
        let climb = (2.0 * (energy + self.gm / meet) - across * across).max(0.0);
        let ahead = across - to.speed * (to.radius / meet);
        let square = ahead * ahead + climb;
        let reached = square.sqrt();
        (reached > 0.0).then(|| (reached, (ahead / reached).clamp(-1.0, 1.0).acos()))
    }

    /// Pump of the resonant orbit with an excess speed; none where no angle gives its period.
    fn resonant_pump(&self, excess: f64, body_turns: u32, turns: u32) -> Option<f64> {
        let axis = self.radius * (f64::from(body_turns) / f64::from(turns)).powf(2.0 / 3.0);
        let square = self.gm * (2.0 / self.radius - 1.0 / axis);
        let cosine = (square - self.speed.powi(2) - excess * excess) / (2.0 * self.speed * excess);
        (cosine.abs() <= 1.0).then(|| cosine.acos())
    }
}

/// Cells of (excess speed, pump) at one body, each with the least excess speed at departure that leads there.
#[derive(Debug, Clone)]
pub(super) struct Reach {
    cells: Vec<f64>,
}

impl Reach {
    fn none() -> Self {
        Self { cells: vec![f64::INFINITY; SPEEDS * PUMPS] }
    }

    /// At the departure: every direction, up to an excess speed (m/s).
    pub(super) fn departing(from: &Ring, most: f64) -> Self {
        let mut reach = Self::none();
        for speed in 0..SPEEDS {
            let least = speed as f64 * from.step();
            if least < most {
                for pump in 0..PUMPS {
                    reach.cells[speed * PUMPS + pump] = least;
                }
            }
        }
        reach
    }

    fn add(&mut self, speed: isize, pump: isize, value: f64) {
        if let (Ok(speed), Ok(pump)) = (usize::try_from(speed), usize::try_from(pump))
            && speed < SPEEDS
            && pump < PUMPS
        {
            let cell = &mut self.cells[speed * PUMPS + pump];
            *cell = cell.min(value);
        }
    }

    fn full(&self) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        let place = |(index, value): (usize, &f64)| (index / PUMPS, index % PUMPS, *value);
        self.cells.iter().enumerate().map(place).filter(|(_, _, value)| value.is_finite())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.full().next().is_none()
    }

    /// Greatest excess speed, m/s.
    pub(super) fn most(&self, at: &Ring) -> f64 {
        self.full().map(|(speed, _, _)| (speed + 1) as f64 * at.step()).fold(0.0, f64::max)
    }

    /// After a pass: pumps turned by up to the bend at the least periapsis.
    pub(super) fn passed(&self, at: &Ring) -> Self {
        let mut next = Self::none();
        for (speed, pump, value) in self.full() {
            let excess = (speed as f64 + 0.5) * at.step();
            let bend = turn_angle(at.body.gm(), excess, at.least_periapsis).unwrap_or(0.0);
            let reach = (bend / PI * PUMPS as f64).ceil() as isize;
            for turned in pump as isize - reach..=pump as isize + reach {
                next.add(speed as isize, turned, value);
            }
        }
        next
    }

    /// After a leg to the next body.
    pub(super) fn leg(&self, from: &Ring, to: &Ring, kind: LegKind) -> Self {
        let mut next = Self::none();
        // A leg that burns shifts the excess speed; and a cell's neighbours count, as the grid is no finer.
        let spread = if kind == LegKind::DeepSpace { (LEVERAGE * to.speed / to.step()).ceil() as isize } else { 1 };
        for (speed, pump, value) in self.full() {
            if from.body == to.body {
                let excess = (speed as f64 + 0.5) * from.step();
                let pumps = PUMPS as f64 / PI;
                let fits = match kind {
                    LegKind::Resonant { body_turns, turns } => from
                        .resonant_pump(excess, body_turns, turns)
                        .is_some_and(|wanted| (wanted * pumps - pump as f64 - 0.5).abs() <= 1.0),
                    _ => true,
                };
                let spread = if kind == LegKind::DeepSpace { spread } else { 0 };
                for shifted in speed as isize - spread..=speed as isize + spread {
                    if fits {
                        next.add(shifted, pump as isize, value);
                    }
                }
                continue;
            }
            for part in 0..4_u8 {
                let (a, b) = (f64::from(part / 2) * 0.5 + 0.25, f64::from(part % 2) * 0.5 + 0.25);
                let excess = (speed as f64 + a) * from.step();
                let Some((reached, turned)) = from.arriving(excess, (pump as f64 + b) * PI / PUMPS as f64, to) else {
                    continue;
                };
                let (row, column) = ((reached / to.step()) as isize, (turned / PI * PUMPS as f64) as isize);
                for shifted in row - spread..=row + spread {
                    for column in column - 1..=column + 1 {
                        next.add(shifted, column, value);
                    }
                }
            }
        }
        next
    }

    /// Least sum of a cost of the excess speed at departure and one of the excess speed here.
    pub(super) fn least(&self, at: &Ring, departure: impl Fn(f64) -> f64, arrival: impl Fn(f64) -> f64) -> f64 {
        let cost = |(speed, _, value): (usize, usize, f64)| departure(value) + arrival(speed as f64 * at.step());
        self.full().map(cost).fold(f64::INFINITY, f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::{EphemerisChoice, System};

    fn ring(name: &str) -> Ring {
        let sol = System::embedded("sol", EphemerisChoice::Default).unwrap();
        let epoch = Epoch::parse("2030-01-01 TDB").unwrap();
        let options = TourOptions::new((epoch, epoch), 300e3);
        let body = sol.body(name).unwrap();
        Ring::new(&body, body.parent().unwrap().gm(), epoch, &options).unwrap()
    }

    #[test]
    fn the_least_excess_is_hohmanns() {
        // Hohmann between circles: [Curtis2014], table of planetary transfers, gives 2.9 km/s to Mars and 8.8 km/s to Jupiter,
        // between mean distances; the nearest points of the real orbits take less, by up to their eccentricities.
        let least = ring("Earth").least_towards(&ring("Jupiter"));
        assert!((8.4e3..8.9e3).contains(&least), "{least}");
        assert!((2.0e3..3.0e3).contains(&ring("Earth").least_towards(&ring("Mars"))));
    }

    #[test]
    fn tisserands_parameter_is_kept_from_body_to_body() {
        let (earth, venus) = (ring("Earth"), ring("Venus"));
        let (excess, pump) = (5000.0, 2.6);
        let (reached, turned) = earth.arriving(excess, pump, &venus).unwrap();
        let back = venus.arriving(reached, turned, &earth).unwrap();
        // The same conic crosses Earth's orbit with what it left with: roundings of the speeds, a thousandfold.
        assert!((back.0 - excess).abs() < 1e-6 && (back.1 - pump).abs() < 1e-9, "{back:?}");
    }

    #[test]
    fn venus_alone_does_not_reach_jupiter_but_with_earth_it_does() {
        let (earth, venus, jupiter) = (ring("Earth"), ring("Venus"), ring("Jupiter"));
        let start = Reach::departing(&earth, 3.0e3);
        let at_venus = start.leg(&earth, &venus, LegKind::Arc);
        assert!(!at_venus.is_empty());
        assert!(at_venus.passed(&venus).leg(&venus, &jupiter, LegKind::Arc).is_empty());
        let at_earth = at_venus.passed(&venus).leg(&venus, &earth, LegKind::Arc).passed(&earth);
        let again = at_earth.leg(&earth, &earth, LegKind::Resonant { body_turns: 2, turns: 1 }).passed(&earth);
        assert!(!again.is_empty());
        // Two passes of Earth after one of Venus reach Jupiter: the class of tour that was flown from 1989 on.
        assert!(!again.leg(&earth, &jupiter, LegKind::Arc).is_empty());
    }
}
