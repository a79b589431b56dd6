//! Sizing by search: stages whose structure does not simply grow with them.
//!
//! Lagrange's condition knows a stage by its exhaust speed and its structural ratio alone. A stage that also carries a fixed mass (an adapter, avionics)
//! or engines in proportion to what they lift has no closed form; its step mass for a given mass ratio is one all the same, so that only the split of the
//! change of speed is searched, once for every choice of stages that are built at all.

use super::VehicleError;
use super::sizing::{Kind, Sized, Split};
use crate::numerics::minimise::{Options, search};
use crate::numerics::watch::Watch;

/// What a search knows of a stage before it has masses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shape {
    /// Exhaust speed and structural ratio; the ratio is of tanks and structure alone.
    pub kind: Kind,
    /// Mass that the stage has whatever its size, kg, zero or more.
    pub fixed: f64,
    /// Mass of its engines over the mass that they lift, that of the stage and all above it at ignition: zero or more.
    pub engines: f64,
}

/// More stages than this are not split by search: each may be left out, which doubles the choices.
const MOST_STAGES: usize = 6;

/// The split of a change of speed over stages that is lightest for a payload, by search.
///
/// A stage that is not worth its structure is not built, its fixed mass neither.
///
/// - `stages`: first to burn first, 1 to 6.
/// - `dv`: m/s, above zero. `payload`: kg, above zero.
///
/// # Errors
/// A figure outside its range; more change of speed than the structure allows at any mass; an interruption.
///
/// # Source
/// Step mass for a mass ratio n from n (A + ε s + f + κ (A + s)) = A + s, with A the mass above, f the fixed mass and κ the engines' share.
pub fn lightest_split_by_search(
    stages: &[Shape],
    dv: f64,
    payload: f64,
    watch: &Watch<'_>,
) -> Result<Split, VehicleError> {
    let check = |what, value, fine: bool, needs| {
        if fine { Ok(()) } else { Err(VehicleError::BadSizing { what, value, needs }) }
    };
    check("the change of speed", dv, dv > 0.0 && dv.is_finite(), "above zero")?;
    check("the payload", payload, payload > 0.0 && payload.is_finite(), "above zero")?;
    let count = stages.len();
    check("the number of stages", count as f64, (1..=MOST_STAGES).contains(&count), "1 to 6")?;
    for stage in stages {
        let (c, e) = (stage.kind.exhaust_speed, stage.kind.structural_ratio);
        check("an exhaust speed", c, c > 0.0 && c.is_finite(), "above zero")?;
        check("a structural ratio", e, e > 0.0 && e < 1.0, "between 0 and 1")?;
        check("a fixed mass", stage.fixed, stage.fixed >= 0.0 && stage.fixed.is_finite(), "zero or more")?;
        let share = stage.engines;
        check(
            "the engines' share",
            share,
            share >= 0.0 && share + e < 1.0,
            "zero or more, and below 1 with the structure",
        )?;
    }
    let mut best: Option<Split> = None;
    for choice in 1..(1_u32 << count) {
        if watch.stopped() {
            return Err(VehicleError::Interrupted);
        }
        let built: Vec<usize> = (0..count).filter(|stage| choice & (1 << stage) != 0).collect();
        if let Some(found) = of_choice(stages, &built, dv, payload, watch)
            && best.as_ref().is_none_or(|known| found.initial_mass < known.initial_mass)
        {
            best = Some(found);
        }
    }
    best.ok_or_else(|| VehicleError::BeyondStructure { wanted_m_s: dv, limit_m_s: stages.iter().map(limit).sum() })
}

/// What a stage gives at most, however large it is, m/s.
fn limit(stage: &Shape) -> f64 {
    -stage.kind.exhaust_speed * (stage.kind.structural_ratio + stage.engines).ln()
}

/// The lightest split among stages that are all built; none where they cannot give the change of speed.
fn of_choice(stages: &[Shape], built: &[usize], dv: f64, payload: f64, watch: &Watch<'_>) -> Option<Split> {
    let limits: Vec<f64> = built.iter().map(|&stage| limit(&stages[stage])).collect();
    let whole: f64 = limits.iter().sum();
    if whole <= dv {
        return None;
    }
    // Shares in proportion to the limits are inside all of them: a start with finite masses.
    let start: Vec<f64> = limits.iter().map(|most| most / whole).collect();
    let free = built.len() - 1;
    let shares = |x: &[f64]| -> Vec<f64> {
        let mut all = x.to_vec();
        all.push(1.0 - x.iter().sum::<f64>());
        all
    };
    let x = if free == 0 {
        Vec::new()
    } else {
        let options = Options { tolerance: 1e-9, cost_tolerance: 1e-14, ..Options::default() };
        let cost = |x: &[f64]| -> Result<f64, VehicleError> {
            Ok(sized(stages, built, &shares(x), dv, payload).map_or(f64::INFINITY, |split| split.initial_mass))
        };
        let bounds = vec![(0.0, 1.0); free];
        search(&start[..free], &vec![0.1; free], &bounds, cost, &options, watch).ok()?.x
    };
    sized(stages, built, &shares(&x), dv, payload)
}

/// The stack of a split; none where a stage would have to be larger than any mass.
fn sized(stages: &[Shape], built: &[usize], shares: &[f64], dv: f64, payload: f64) -> Option<Split> {
    let nothing = Sized { dv: 0.0, mass_ratio: 1.0, step_mass: 0.0, dry: 0.0, propellant: 0.0 };
    let mut sized = vec![nothing; stages.len()];
    let mut above = payload;
    for (&index, &share) in built.iter().zip(shares).rev() {
        let stage = &stages[index];
        let (given, e) = (share * dv, stage.kind.structural_ratio);
        let n = (given / stage.kind.exhaust_speed).exp();
        let room = 1.0 - n * (e + stage.engines);
        let step_mass = (n * (above * (1.0 + stage.engines) + stage.fixed) - above) / room;
        if !(share >= 0.0 && room > 0.0 && step_mass.is_finite()) {
            return None;
        }
        let propellant = (above + step_mass) * (1.0 - 1.0 / n);
        sized[index] = Sized { dv: given, mass_ratio: n, step_mass, dry: step_mass - propellant, propellant };
        above += step_mass;
    }
    above.is_finite().then(|| Split { stages: sized, initial_mass: above, growth: above / payload })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vehicle::sizing::lightest_split;

    const KINDS: [Kind; 3] = [
        Kind { exhaust_speed: 2900.0, structural_ratio: 0.07 },
        Kind { exhaust_speed: 3300.0, structural_ratio: 0.09 },
        Kind { exhaust_speed: 4400.0, structural_ratio: 0.13 },
    ];

    fn plain(kind: Kind) -> Shape {
        Shape { kind, fixed: 0.0, engines: 0.0 }
    }

    fn searched(stages: &[Shape], dv: f64) -> Split {
        lightest_split_by_search(stages, dv, 1000.0, &Watch::new(&|| false)).unwrap()
    }

    #[test]
    fn without_fixed_masses_the_search_finds_lagranges_split() {
        let closed = lightest_split(&KINDS, 9500.0, 1000.0).unwrap();
        let found = searched(&KINDS.map(plain), 9500.0);
        // Near the minimum the mass is flat: a share known to 1e-7 leaves it at its last digits.
        assert!((found.initial_mass / closed.initial_mass - 1.0).abs() < 1e-11);
        for (a, b) in found.stages.iter().zip(&closed.stages) {
            assert!((a.dv - b.dv).abs() < 1e-2, "{} {}", a.dv, b.dv);
        }
    }

    #[test]
    fn a_heavy_adapter_leaves_its_stage_out() {
        let mut stages = KINDS.map(plain);
        stages[1].fixed = 30_000.0;
        let found = searched(&stages, 9500.0);
        assert_eq!(found.stages[1].step_mass, 0.0);
        let two = lightest_split(&[KINDS[0], KINDS[2]], 9500.0, 1000.0).unwrap();
        assert!((found.initial_mass / two.initial_mass - 1.0).abs() < 1e-11);
    }

    #[test]
    fn engines_and_fixed_masses_move_the_split_and_the_masses_add_up() {
        let mut stages = KINDS.map(plain);
        (stages[2].fixed, stages[2].engines, stages[0].engines) = (200.0, 0.01, 0.02);
        let found = searched(&stages, 9500.0);
        let closed = lightest_split(&KINDS, 9500.0, 1000.0).unwrap();
        assert!(found.initial_mass > closed.initial_mass);
        let mut above = 1000.0;
        for (shape, stage) in stages.iter().zip(&found.stages).rev() {
            let lifted = above + stage.step_mass;
            let dry = shape.kind.structural_ratio * stage.step_mass + shape.fixed + shape.engines * lifted;
            // Masses of 1e5 kg, a few roundings.
            assert!((stage.dry - dry).abs() < 1e-9, "{stage:?}");
            let dv = shape.kind.exhaust_speed * (lifted / (lifted - stage.propellant)).ln();
            assert!((dv - stage.dv).abs() < 1e-9);
            above = lifted;
        }
    }

    #[test]
    fn refuses_what_no_mass_can_do() {
        let watch = Watch::new(&|| false);
        let stages = KINDS.map(plain);
        let beyond = lightest_split_by_search(&stages, 30_000.0, 1.0, &watch);
        assert!(matches!(beyond, Err(VehicleError::BeyondStructure { .. })));
        assert!(lightest_split_by_search(&[], 1.0, 1.0, &watch).is_err());
        let mut bad = stages;
        bad[0].engines = 0.95;
        assert!(lightest_split_by_search(&bad, 1.0, 1.0, &watch).is_err());
    }
}
