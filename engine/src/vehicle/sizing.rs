//! Sizing in closed form: from a wanted change of speed to masses.

use super::VehicleError;
use crate::numerics::root;

/// What sizing knows of a stage before it has masses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kind {
    /// Effective exhaust speed, m/s, above zero.
    pub exhaust_speed: f64,
    /// Dry mass over dry mass and propellant, above 0 and below 1.
    pub structural_ratio: f64,
}

/// A stage, sized.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sized {
    /// Change of speed that it gives, m/s.
    pub dv: f64,
    /// Mass before over mass after.
    pub mass_ratio: f64,
    /// Dry mass and propellant together, kg.
    pub step_mass: f64,
    /// kg.
    pub dry: f64,
    /// kg.
    pub propellant: f64,
}

/// A stack, sized.
#[derive(Debug, Clone, PartialEq)]
pub struct Split {
    /// First to burn first.
    pub stages: Vec<Sized>,
    /// kg.
    pub initial_mass: f64,
    /// What each kilogram at the top costs at the bottom, kg: initial mass over payload, as all masses grow with the payload.
    pub growth: f64,
}

/// The split of a change of speed over stages that is lightest for a payload.
///
/// Lagrange's condition: with the multiplier η, n = (c η − 1)/(c ε η) for each stage, and Σ c ln n is the wanted change of speed. A stage
/// whose n would be below 1 is not worth its structure and gives nothing.
///
/// - `stages`: first to burn first, at least one.
/// - `dv`: m/s, above zero. `payload`: kg, above zero.
///
/// # Errors
/// A figure outside its range; more change of speed than the structural ratios allow at any mass, Σ c ln(1/ε).
///
/// # Source
/// [Curtis2014], chapter on rocket vehicle dynamics, Lagrange multiplier method of optimal staging.
pub fn lightest_split(stages: &[Kind], dv: f64, payload: f64) -> Result<Split, VehicleError> {
    check("the change of speed", dv, dv > 0.0 && dv.is_finite(), "above zero")?;
    check("the payload", payload, payload > 0.0 && payload.is_finite(), "above zero")?;
    check("the number of stages", stages.len() as f64, !stages.is_empty(), "one or more")?;
    for stage in stages {
        let (c, e) = (stage.exhaust_speed, stage.structural_ratio);
        check("an exhaust speed", c, c > 0.0 && c.is_finite(), "above zero")?;
        check("a structural ratio", e, e > 0.0 && e < 1.0, "between 0 and 1")?;
    }
    let limit: f64 = stages.iter().map(|stage| -stage.exhaust_speed * stage.structural_ratio.ln()).sum();
    let beyond = VehicleError::BeyondStructure { wanted_m_s: dv, limit_m_s: limit };
    if dv >= limit {
        return Err(beyond);
    }
    // With x = 1/η: n = (c − x)/(c ε) falls from 1/ε at x = 0 to 1 at x = c (1 − ε).
    let ratio =
        |stage: &Kind, x: f64| ((stage.exhaust_speed - x) / (stage.exhaust_speed * stage.structural_ratio)).max(1.0);
    let short = |x: f64| stages.iter().map(|stage| stage.exhaust_speed * ratio(stage, x).ln()).sum::<f64>() - dv;
    let most = stages.iter().map(|stage| stage.exhaust_speed * (1.0 - stage.structural_ratio)).fold(0.0, f64::max);
    let x = root::bracketed(short, 0.0, most, 0.0).map_err(|_| beyond.clone())?;
    let mut above = payload;
    let mut sized: Vec<Sized> = Vec::with_capacity(stages.len());
    for stage in stages.iter().rev() {
        let (n, e) = (ratio(stage, x), stage.structural_ratio);
        let step_mass = above * (n - 1.0) / (1.0 - n * e);
        if !(step_mass >= 0.0 && (above + step_mass).is_finite()) {
            return Err(beyond);
        }
        sized.push(Sized {
            dv: stage.exhaust_speed * n.ln(),
            mass_ratio: n,
            step_mass,
            dry: step_mass * e,
            propellant: step_mass * (1.0 - e),
        });
        above += step_mass;
    }
    sized.reverse();
    Ok(Split { stages: sized, initial_mass: above, growth: above / payload })
}

/// Change of speed of `number` like stages (m/s), each with the same share of payload: N c ln(1/(π^(1/N) (1 − ε) + ε)).
///
/// - `payload_fraction`: payload over initial mass of the whole, above 0 and below 1.
///
/// # Errors
/// A figure outside its range.
///
/// # Source
/// [Curtis2014], chapter on rocket vehicle dynamics, restricted staging.
pub fn like_stages(kind: Kind, payload_fraction: f64, number: u32) -> Result<f64, VehicleError> {
    check("the number of stages", f64::from(number), number > 0, "one or more")?;
    let fine = payload_fraction > 0.0 && payload_fraction < 1.0;
    check("the payload fraction", payload_fraction, fine, "between 0 and 1")?;
    let (count, e) = (f64::from(number), kind.structural_ratio);
    Ok(-count * kind.exhaust_speed * (payload_fraction.powf(1.0 / count) * (1.0 - e) + e).ln())
}

/// The limit of [`like_stages`] for ever more of them, m/s: c (1 − ε) ln(1/π).
pub fn like_stages_without_end(kind: Kind, payload_fraction: f64) -> f64 {
    -kind.exhaust_speed * (1.0 - kind.structural_ratio) * payload_fraction.ln()
}

/// Propellant (kg) that gives a stack of this mass at burn-out a change of speed, at an exhaust speed (m/s).
///
/// # Errors
/// A figure outside its range, or a mass that overflows.
///
/// # Source
/// The rocket equation, [SuttonBiblarz2017], equation 4-6, solved for the propellant.
pub fn propellant_for_dv(exhaust_speed: f64, final_mass: f64, dv: f64) -> Result<f64, VehicleError> {
    check("an exhaust speed", exhaust_speed, exhaust_speed > 0.0 && exhaust_speed.is_finite(), "above zero")?;
    check("the mass at burn-out", final_mass, final_mass > 0.0 && final_mass.is_finite(), "above zero")?;
    check("the change of speed", dv, dv >= 0.0 && dv.is_finite(), "zero or more")?;
    let propellant = final_mass * (dv / exhaust_speed).exp_m1();
    check("the change of speed", dv, propellant.is_finite(), "within reach of the exhaust speed")?;
    Ok(propellant)
}

/// Change of speed that each kilogram more at the top costs, m/s per kg: c (1/m0 − 1/m1), below zero.
///
/// # Source
/// Derivative of the rocket equation, [SuttonBiblarz2017], equation 4-6, by a mass that is in both.
pub fn dv_per_kilogram(exhaust_speed: f64, initial_mass: f64, final_mass: f64) -> f64 {
    exhaust_speed * (1.0 / initial_mass - 1.0 / final_mass)
}

/// A vertical climb with constant thrust and gravity and without air: speed and height at burn-out, height of the apex (m/s, m, m).
///
/// # Source
/// [Curtis2014], chapter on rocket vehicle dynamics: v = c ln R − g t, h = c t (1 − ln R/(R − 1)) − g t²/2.
pub fn vertical_climb(exhaust_speed: f64, mass_ratio: f64, burn_time: f64, gravity: f64) -> (f64, f64, f64) {
    let speed = exhaust_speed * mass_ratio.ln() - gravity * burn_time;
    let height = exhaust_speed * burn_time * (1.0 - mass_ratio.ln() / (mass_ratio - 1.0))
        - 0.5 * gravity * burn_time * burn_time;
    (speed, height, height + 0.5 * speed * speed / gravity)
}

fn check(what: &'static str, value: f64, fine: bool, needs: &'static str) -> Result<(), VehicleError> {
    if fine { Ok(()) } else { Err(VehicleError::BadSizing { what, value, needs }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAIR: [Kind; 2] = [
        Kind { exhaust_speed: 3000.0, structural_ratio: 0.08 },
        Kind { exhaust_speed: 4400.0, structural_ratio: 0.12 },
    ];

    #[test]
    fn the_split_is_lightest_and_gives_what_was_asked() {
        let best = lightest_split(&PAIR, 9000.0, 1000.0).unwrap();
        assert!((best.stages.iter().map(|stage| stage.dv).sum::<f64>() - 9000.0).abs() < 1e-8);
        // Any other split is heavier: the two stages by hand, with a little moved from one to the other.
        for moved in [-50.0, 50.0] {
            let mut above = 1000.0;
            for (kind, sign, stage) in [(PAIR[1], -1.0, best.stages[1]), (PAIR[0], 1.0, best.stages[0])] {
                let n = ((stage.dv + sign * moved) / kind.exhaust_speed).exp();
                above += above * (n - 1.0) / (1.0 - n * kind.structural_ratio);
            }
            assert!(above > best.initial_mass);
        }
    }

    #[test]
    fn a_stage_not_worth_its_structure_gives_nothing() {
        let poor = Kind { exhaust_speed: 1000.0, structural_ratio: 0.6 };
        let split = lightest_split(&[poor, PAIR[1]], 2000.0, 1000.0).unwrap();
        assert_eq!((split.stages[0].step_mass, split.stages[0].dv), (0.0, 0.0));
    }

    #[test]
    fn refuses_what_no_mass_can_do() {
        assert!(matches!(lightest_split(&PAIR, 20_000.0, 1.0), Err(VehicleError::BeyondStructure { .. })));
        assert!(lightest_split(&[], 1.0, 1.0).is_err());
        assert!(lightest_split(&PAIR, f64::NAN, 1.0).is_err());
        assert!(propellant_for_dv(0.0, 1.0, 1.0).is_err());
    }
}
