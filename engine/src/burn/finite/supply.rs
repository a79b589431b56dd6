//! What a craft has to burn: phases of constant thrust, one after the other.

use super::error::{FiniteError, positive};

/// A phase of burning with one thrust. All above zero and finite but the exit area, which may be zero.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phase {
    /// In vacuum, N.
    pub thrust: f64,
    /// Of all nozzles, m².
    pub exit_area: f64,
    /// Effective exhaust speed in vacuum, m/s.
    pub exhaust_speed: f64,
    /// When the phase begins, kg; what was left behind before is gone.
    pub mass: f64,
    /// What burns until the phase is over, kg.
    pub propellant: f64,
}

impl Phase {
    /// kg/s.
    pub fn flow(&self) -> f64 {
        self.thrust / self.exhaust_speed
    }

    /// Change of speed that it gives, m/s.
    pub fn dv(&self) -> f64 {
        self.exhaust_speed * (self.propellant / (self.mass - self.propellant)).ln_1p()
    }
}

/// What a craft has to burn: at least one phase.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    phases: Vec<Phase>,
}

/// A part of a phase, as a burn takes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Share {
    /// The phase, with its mass where the part begins.
    pub phase: Phase,
    /// s.
    pub time: f64,
    /// m/s.
    pub dv: f64,
}

impl Supply {
    /// Of phases in the order in which they burn.
    ///
    /// # Errors
    /// No phase; a figure outside its range; a phase that burns all its mass.
    pub fn new(phases: Vec<Phase>) -> Result<Supply, FiniteError> {
        if phases.is_empty() {
            return Err(FiniteError::NothingToBurn);
        }
        for phase in &phases {
            positive("the thrust, N,", phase.thrust)?;
            positive("the exhaust speed, m/s,", phase.exhaust_speed)?;
            positive("the propellant, kg,", phase.propellant)?;
            positive("the mass without the propellant, kg,", phase.mass - phase.propellant)?;
        }
        Ok(Supply { phases })
    }

    /// The phases.
    pub fn phases(&self) -> &[Phase] {
        &self.phases
    }

    /// Mass at the start, kg.
    pub fn mass(&self) -> f64 {
        self.phases[0].mass
    }

    /// Change of speed of all phases, m/s.
    pub fn dv(&self) -> f64 {
        self.phases.iter().map(Phase::dv).sum()
    }

    /// The same with every thrust at a share of it.
    ///
    /// # Errors
    /// A share that is not above zero.
    pub fn throttled(&self, share: f64) -> Result<Supply, FiniteError> {
        positive("the throttle", share)?;
        Ok(Supply {
            phases: self.phases.iter().map(|phase| Phase { thrust: phase.thrust * share, ..*phase }).collect(),
        })
    }

    /// The parts of phases that a change of speed takes, m/s. What is asked beyond the propellant burns on, without regard to the tank, so that a search
    /// may look a little further than it can go.
    pub fn shares(&self, dv: f64) -> Vec<Share> {
        let mut wanted = dv.max(0.0);
        let mut shares = Vec::with_capacity(self.phases.len());
        for (index, phase) in self.phases.iter().enumerate() {
            let whole = phase.dv();
            let last = index + 1 == self.phases.len() || wanted <= whole;
            let given = if last { wanted } else { whole };
            let burned = -phase.mass * (-given / phase.exhaust_speed).exp_m1();
            shares.push(Share { phase: *phase, time: burned / phase.flow(), dv: given });
            wanted -= given;
            if last {
                break;
            }
        }
        shares
    }

    /// Time of burning, s.
    pub fn time(&self, dv: f64) -> f64 {
        self.shares(dv).iter().map(|share| share.time).sum()
    }

    /// Time from the start to the middle of what is given, s: the mean of the time weighed by the acceleration.
    pub fn centre(&self, dv: f64) -> f64 {
        let (mut before, mut sum) = (0.0, 0.0);
        for share in self.shares(dv) {
            // ∫ t a dt over a phase: with m = m0 − ṁ t, a = c ṁ/m, it is c (m0/ṁ ln(m0/m1) − t).
            let own = share.phase.mass / share.phase.flow() * share.dv - share.phase.exhaust_speed * share.time;
            sum += own + before * share.dv;
            before += share.time;
        }
        if dv > 0.0 { sum / dv } else { 0.0 }
    }

    /// What is left after a change of speed, m/s; none where nothing is.
    pub fn after(&self, dv: f64) -> Option<Supply> {
        let shares = self.shares(dv);
        let mut phases = self.phases[shares.len().saturating_sub(1)..].to_vec();
        let last = shares.last()?;
        let burned = last.time * last.phase.flow();
        let first = phases.first_mut()?;
        (first.mass, first.propellant) = (first.mass - burned, first.propellant - burned);
        // A rest below the rounding of the masses is no rest.
        if first.propellant <= 1e-12 * first.mass {
            phases.remove(0);
        }
        (!phases.is_empty()).then_some(Supply { phases })
    }

    /// Mass after a change of speed, kg.
    pub fn mass_after(&self, dv: f64) -> f64 {
        self.shares(dv).last().map_or(self.mass(), |share| share.phase.mass - share.time * share.phase.flow())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two() -> Supply {
        let lower = Phase { thrust: 3e4, exit_area: 0.0, exhaust_speed: 3000.0, mass: 10_000.0, propellant: 5000.0 };
        let upper = Phase { thrust: 8e3, exhaust_speed: 4000.0, mass: 4000.0, propellant: 2000.0, ..lower };
        Supply::new(vec![lower, upper]).unwrap()
    }

    #[test]
    fn a_burn_runs_from_one_phase_into_the_next() {
        let (first, second) = (3000.0 * 2.0_f64.ln(), 4000.0 * 2.0_f64.ln());
        assert!((two().dv() - first - second).abs() < 1e-9);
        // 5 t at 10 kg/s, then 4 t·(1 − 1/√2) at 2 kg/s.
        let half = first + 0.5 * second;
        assert!((two().time(half) - 500.0 - 2000.0 * (1.0 - 0.5_f64.sqrt())).abs() < 1e-9);
        let left = two().after(half).unwrap();
        assert_eq!(left.phases().len(), 1);
        assert!((left.dv() - 0.5 * second).abs() < 1e-9);
        assert!((left.mass() - two().mass_after(half)).abs() < 1e-9);
        assert!(two().after(two().dv()).is_none());
    }

    #[test]
    fn the_centre_is_the_mean_time() {
        let dv = 0.9 * two().dv();
        let whole = two().time(dv);
        // Against a sum over short times: the middle rule errs by its square.
        let (mut sum, steps) = (0.0, 20_000);
        let step = whole / f64::from(steps);
        for i in 0..steps {
            let t = (f64::from(i) + 0.5) * step;
            let a = if t < 500.0 { 3e4 / (10_000.0 - 10.0 * t) } else { 8e3 / (4000.0 - 2.0 * (t - 500.0)) };
            sum += a * t * step;
        }
        assert!((two().centre(dv) - sum / dv).abs() < 1e-2);
    }

    #[test]
    fn refuses_what_cannot_burn() {
        assert!(matches!(Supply::new(vec![]), Err(FiniteError::NothingToBurn)));
        let good = two().phases()[0];
        assert!(Supply::new(vec![Phase { thrust: 0.0, ..good }]).is_err());
        assert!(Supply::new(vec![Phase { propellant: 10_000.0, ..good }]).is_err());
        assert!(two().throttled(0.0).is_err());
    }
}
