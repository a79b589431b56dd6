//! A chain with one Lambert arc a leg and a burn at the periapsis of each pass.

use super::{ChainError, Stop, counted};
use crate::arc::flyby::{self, Flyby};
use crate::arc::lambert::{self, Branch, LambertArc, Way};
use crate::vector::Vec3;

/// Arcs and passes of a powered chain.
#[derive(Clone, Debug, PartialEq)]
pub struct PoweredChain {
    /// One for each leg.
    pub arcs: Vec<LambertArc>,
    /// One for each stop between the first and the last; `burn` is signed.
    pub passes: Vec<Flyby>,
    /// Excess velocity left with, m/s.
    pub departure: Vec3,
    /// Excess velocity reached with, m/s.
    pub arrival: Vec3,
}

impl PoweredChain {
    /// Sum of the burns at the passes, m/s.
    pub fn pass_dv(&self) -> f64 {
        self.passes.iter().map(|pass| pass.burn.abs()).sum()
    }
}

/// Joins the stops by arcs without a whole revolution.
///
/// - `gm`: of the centre, m³/s². `times`: of each leg, s. `ways`: of each leg.
/// - Periapsides are those that the turns ask for, below the ground too: bounds are the caller's.
///
/// # Errors
/// Lists that do not fit; a leg without an arc; a pass without a turn.
///
/// # Source
/// [Vinko2008], the model with powered passes.
pub fn powered(gm: f64, stops: &[Stop], times: &[f64], ways: &[Way]) -> Result<PoweredChain, ChainError> {
    counted("stops or more", 2, stops.len().min(2))?;
    let legs = stops.len() - 1;
    counted("times", legs, times.len())?;
    counted("ways", legs, ways.len())?;
    let mut arcs = Vec::with_capacity(legs);
    for leg in 0..legs {
        let (from, to) = (&stops[leg].state.position, &stops[leg + 1].state.position);
        let arc = lambert::solve_one(gm, from, to, times[leg], ways[leg], 0, Branch::Single)
            .map_err(|why| ChainError::Arc { leg: leg + 1, why })?;
        arcs.push(arc);
    }
    let mut passes = Vec::with_capacity(legs - 1);
    for pass in 1..legs {
        let body = &stops[pass];
        let (v_in, v_out) = (arcs[pass - 1].v2 - body.state.velocity, arcs[pass].v1 - body.state.velocity);
        let found = flyby::powered(body.gm, &v_in, &v_out, 0.0).map_err(|why| ChainError::Pass { pass, why })?;
        passes.push(found);
    }
    let departure = arcs[0].v1 - stops[0].state.velocity;
    let arrival = arcs[legs - 1].v2 - stops[legs].state.velocity;
    Ok(PoweredChain { arcs, passes, departure, arrival })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conic::{State, propagate};

    #[test]
    fn arcs_meet_the_stops_and_passes_join_them() {
        let circle = |angle: f64, radius: f64| {
            let (s, c) = angle.sin_cos();
            let v = (1.0 / radius).sqrt();
            State::new(Vec3::new(radius * c, radius * s, 0.0), Vec3::new(-v * s, v * c, 0.0))
        };
        let stops = [(0.0, 1.0), (2.0, 0.7), (4.0, 1.5)].map(|(a, r)| Stop { state: circle(a, r), gm: 1e-5 });
        let (times, way) = ([1.8, 2.6], Way::Prograde(Vec3::new(0.0, 0.0, 1.0)));
        let chain = powered(1.0, &stops, &times, &[way; 2]).unwrap();
        for (leg, arc) in chain.arcs.iter().enumerate() {
            let end = propagate(1.0, &State::new(stops[leg].state.position, arc.v1), times[leg]).unwrap();
            assert!((end.position - stops[leg + 1].state.position).norm() < 1e-13);
        }
        let pass = chain.passes[0];
        assert!((pass.v_in + stops[1].state.velocity - chain.arcs[0].v2).norm() < 1e-15);
        assert!((pass.v_out + stops[1].state.velocity - chain.arcs[1].v1).norm() < 1e-15);
        assert!(chain.pass_dv() > 0.0 && pass.periapsis_radius > 0.0);
        assert!(matches!(powered(1.0, &stops, &times[..1], &[way; 2]), Err(ChainError::Count { .. })));
        assert!(matches!(powered(1.0, &stops, &[1.0, -1.0], &[way; 2]), Err(ChainError::Arc { leg: 2, .. })));
        assert!(matches!(powered(1.0, &stops[..0], &[], &[]), Err(ChainError::Count { .. })));
    }
}
