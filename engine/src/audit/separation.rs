//! Mass and momentum across a separation or a joining.

use super::rounding::EPSILON;
use super::{Entry, Law};
use crate::vector::Vec3;

/// What leaves and what stays weigh what the whole did, kg.
///
/// - `summands`: how many masses the whole is the sum of.
///
/// # Bound
/// Three sums of at most so many masses, each rounded once a summand: 3 n ε of the whole.
pub fn mass(leg: &str, whole: f64, rest: f64, part: f64, summands: usize) -> Entry {
    let bound = 3.0 * (summands as f64 + 1.0) * EPSILON * whole.abs();
    Entry::judged(leg, Law::Mass, (whole - rest - part).abs(), bound, String::new())
}

/// The two parts of a momentum balance: mass (kg), velocity before and after (m/s).
#[derive(Debug, Clone, Copy)]
pub struct Moved {
    /// kg.
    pub mass: f64,
    /// m/s, inertial.
    pub before: Vec3,
    /// m/s, inertial.
    pub after: Vec3,
}

/// Springs share their momentum between what leaves and what stays: Σ m (v after − v before) is zero.
///
/// # Bound
/// Each jump is one rounded addition and its difference taken again, 2 ε (v before + v after), and its size was worked out with a few
/// roundings, 8 ε of it; times the mass.
pub fn momentum(leg: &str, parts: &[Moved]) -> Entry {
    let (mut sum, mut bound) = (Vec3::zeros(), 0.0);
    for part in parts {
        let jump = part.after - part.before;
        sum += jump * part.mass;
        bound += part.mass * EPSILON * (2.0 * (part.before.norm() + part.after.norm()) + 8.0 * jump.norm());
    }
    Entry::judged(leg, Law::Momentum, sum.norm(), bound, String::new())
}

/// How far apart two craft were when they joined, m: the way that was closed without a charge, against the greatest that was allowed.
pub fn joined_place(leg: &str, gap: f64, within: f64) -> Entry {
    Entry::judged(leg, Law::JoinedPlace, gap, within, "the rest of the way is closed without a charge".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;

    #[test]
    fn a_falsified_mass_or_velocity_is_beyond() {
        assert_eq!(mass("off", 0.1 + 0.2, 0.1, 0.2, 2).verdict, Verdict::Good);
        assert_eq!(mass("off", 5000.0, 3000.0, 2000.0 + 1e-9, 2).verdict, Verdict::Beyond);
        let v = Vec3::new(0.0, 7500.0, 3.0);
        let rest = Moved { mass: 3000.0, before: v, after: v - Vec3::new(0.2, 0.0, 0.0) };
        let part = Moved { mass: 2000.0, before: v, after: v + Vec3::new(0.3, 0.0, 0.0) };
        assert_eq!(momentum("off", &[rest, part]).verdict, Verdict::Good);
        let pushed = Moved { after: part.after + Vec3::new(0.0, 1e-6, 0.0), ..part };
        assert_eq!(momentum("off", &[rest, pushed]).verdict, Verdict::Beyond);
    }
}
