//! How exactly a burn ends: what an uncertain moment of cut-off is worth in speed.

use super::error::{FiniteError, positive};
use super::supply::Supply;

/// A burn whose last part is flown with less thrust.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutOff {
    /// Share of the thrust in the last part.
    pub share: f64,
    /// Acceleration at cut-off, m/s².
    pub acceleration: f64,
    /// Error of the speed, m/s.
    pub error: f64,
    /// Longer by so much than at full thrust, s.
    pub longer: f64,
}

/// The error in speed that an uncertain cut-off leaves, at several shares of the thrust in the last part of a burn.
///
/// The error is the acceleration at cut-off times the uncertainty of its moment (of the command, or of the impulse that the engine gives after it, told as
/// time at its thrust): less thrust in the last seconds makes the cut-off more exact (common practice, no source).
///
/// - `dv`: of the burn, m/s. `last`: how long full thrust would burn in the last part, s. `uncertainty`: s. `shares`: of the thrust, each above zero.
///
/// # Errors
/// Figures not above zero; a last part longer than the burn's last phase is cut to it.
pub fn cut_off(
    supply: &Supply,
    dv: f64,
    last: f64,
    uncertainty: f64,
    shares: &[f64],
) -> Result<Vec<CutOff>, FiniteError> {
    positive("the burn, m/s,", dv)?;
    positive("the last part of the burn, s,", last)?;
    positive("the uncertainty of the cut-off, s,", uncertainty)?;
    let parts = supply.shares(dv);
    let Some(part) = parts.last() else { return Err(FiniteError::NothingToBurn) };
    let full = part.phase.thrust / supply.mass_after(dv);
    let slow = last.min(part.time);
    shares
        .iter()
        .map(|&share| {
            let share = positive("the share of the thrust", share)?;
            let acceleration = full * share;
            Ok(CutOff { share, acceleration, error: acceleration * uncertainty, longer: slow * (1.0 / share - 1.0) })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::burn::finite::Phase;
    use crate::burn::finite::flight::{state_of, thrust};
    use crate::conic::State;
    use crate::motion::force::{Attitude, Surroundings};
    use crate::numerics::watch::Watch;

    #[test]
    fn the_error_is_what_a_late_cut_off_flies() {
        let phase = Phase { thrust: 2e4, exit_area: 0.0, exhaust_speed: 3000.0, mass: 5000.0, propellant: 3000.0 };
        let supply = Supply::new(vec![phase]).unwrap();
        let rows = cut_off(&supply, 1000.0, 10.0, 0.05, &[1.0, 0.25]).unwrap();
        assert!((rows[1].error / rows[0].error - 0.25).abs() < 1e-12 && rows[1].longer == 30.0);
        // The same burn cut off 0.05 s late, far from any mass.
        let around = Surroundings::point(1.0);
        let state = State::new([1e9, 0.0, 0.0].into(), [0.0, 1.0, 0.0].into());
        let mut shares = supply.shares(1000.0);
        let speed = |shares: &[_]| {
            let fixed = Attitude::fixed([0.0, 1.0, 0.0].into());
            let flown = thrust(&around, &state, 0.0, shares, fixed, &[], &Watch::none()).unwrap();
            state_of(&flown.end).velocity.y
        };
        let on_time = speed(&shares);
        shares[0].time += 0.05;
        let late = speed(&shares) - on_time;
        // The mass falls by 7e-5 in that time, its mean by half.
        assert!((late / rows[0].error - 1.0).abs() < 1e-4, "{late}");
        assert!(cut_off(&supply, 1000.0, 0.0, 0.05, &[1.0]).is_err());
    }
}
