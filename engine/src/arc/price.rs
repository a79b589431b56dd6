//! What a trip costs for given dates, in every measure that windows are ranked by.

use super::aimed::Trip;
use super::asymptote::speed_at;
use super::departure::cheapest_escape;
use super::parking::Parking;
use super::plan_error::PlanError;
use super::transfer::Arc;
use super::window::Rank;
use crate::conic::State;
use crate::orbit::Orbit;
use crate::vector::Vec3;

/// Costs of one pair of dates, SI.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Price {
    pub departure: f64,
    /// With an arrival orbit the burn into it, else the least that captures.
    pub arrival: f64,
    pub c3: f64,
    pub excess_departure: f64,
    pub excess_arrival: f64,
}

impl Price {
    /// The one number that a search makes least.
    pub(super) fn by(&self, rank: Rank, has_arrival: bool) -> f64 {
        match rank {
            _ if rank == Rank::Total || (rank == Rank::Time && has_arrival) => self.departure + self.arrival,
            Rank::Arrival => self.arrival,
            Rank::C3 => self.c3,
            Rank::Departure | Rank::Total | Rank::Time => self.departure,
            Rank::Excess { arrival_weight } => self.excess_departure + arrival_weight * self.excess_arrival,
        }
    }
}

impl Trip {
    /// Δv (m/s) at arrival with an excess speed (m/s).
    pub(super) fn arrival_dv(&self, excess: f64) -> f64 {
        (speed_at(Orbit::gm_of(&self.to), excess, self.arrival_radius) - self.arrival_speed()).abs()
    }

    /// Speed wanted at the arrival periapsis, m/s: of the arrival orbit, or of the parabola.
    pub(super) fn arrival_speed(&self) -> f64 {
        match &self.arrival {
            Some(orbit) => orbit.periapsis_speed(&self.to),
            None => (2.0 * Orbit::gm_of(&self.to) / self.arrival_radius).sqrt(),
        }
    }

    /// Δv (m/s) at departure with an excess velocity (m/s) about the body left. A given orbit keeps its plane.
    pub(super) fn departure_dv(&self, v_infinity: &Vec3) -> Option<f64> {
        match &self.parking {
            Parking::Altitude(altitude) => {
                let radius = self.from.radius() + altitude;
                Some(
                    speed_at(Orbit::gm_of(&self.from), v_infinity.norm(), radius)
                        - (Orbit::gm_of(&self.from) / radius).sqrt(),
                )
            }
            Parking::Orbit(orbit) => cheapest_escape(orbit, v_infinity).map(|escape| escape.dv.norm()),
        }
    }

    /// The price of a solved arc.
    pub(super) fn price(&self, arc: &Arc, periapsis: Option<&State>) -> Result<Price, PlanError> {
        let parking = || PlanError::Parking { body: self.from.name().to_string() };
        let departure = match (&arc.v_inf_depart, &self.parking) {
            (Some(v_infinity), _) => self.departure_dv(v_infinity).ok_or_else(parking)?,
            (None, Parking::Altitude(_)) => {
                let radius = self.start_radius();
                arc.v1.norm() - (Orbit::gm_of(&self.from) / radius).sqrt()
            }
            (None, Parking::Orbit(orbit)) => {
                let here = orbit.after(arc.depart.seconds_since(orbit.epoch()))?;
                (arc.v1 - here.state().velocity).norm()
            }
        };
        let arrival = match (&arc.v_inf_arrive, periapsis) {
            (Some(v_infinity), _) => self.arrival_dv(v_infinity.norm()),
            (None, Some(state)) => (state.velocity.norm() - self.arrival_speed()).abs(),
            (None, None) => 0.0,
        };
        Ok(Price {
            departure,
            arrival,
            c3: arc.c3,
            excess_departure: arc.v_inf_depart.map_or(0.0, |v| v.norm()),
            excess_arrival: arc.v_inf_arrive.map_or(0.0, |v| v.norm()),
        })
    }

    /// A quick price of the turn into the plane of an asymptote from a given orbit, for grids only: the burn at the
    /// hyperbola's periapsis, the plane turned about the line from there to the body. Where the asymptote lies too far out of the plane for
    /// that, the rest is charged as a turn of the excess velocity.
    pub(super) fn quick_departure_dv(&self, v_infinity: &Vec3, excess: f64) -> f64 {
        let gm = Orbit::gm_of(&self.from);
        let radius = self.start_radius();
        let hyperbola = speed_at(gm, excess, radius);
        match &self.parking {
            Parking::Altitude(_) => hyperbola - (gm / radius).sqrt(),
            Parking::Orbit(orbit) => {
                let state = orbit.state();
                let normal = state.position.cross(&state.velocity).normalize();
                let out_of_plane = (v_infinity.dot(&normal) / v_infinity.norm()).abs().min(1.0);
                let eccentricity = 1.0 + radius * excess * excess / gm;
                let reach = (1.0 - 1.0 / (eccentricity * eccentricity)).max(0.0).sqrt();
                let circular = (gm / radius).sqrt();
                let sine = if reach > 0.0 { (out_of_plane / reach).min(1.0) } else { 1.0 };
                let cosine = (1.0 - sine * sine).sqrt();
                let turn = (hyperbola * hyperbola + circular * circular - 2.0 * hyperbola * circular * cosine).sqrt();
                turn + excess * (out_of_plane.asin() - reach.asin()).max(0.0)
            }
        }
    }
}
