//! What a grid is read for, and on which of its branches.

use super::super::lambert::Branch;

/// A figure that each pair of dates has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// Twice the energy about the body left, m²/s².
    C3,
    /// Excess speed about the body left, m/s.
    ExcessDepart,
    /// Excess speed about the body reached, m/s.
    ExcessArrive,
    /// Δv of the departure burn, m/s.
    Departure,
    /// Δv of the arrival burn, m/s; only with an arrival orbit.
    Arrival,
    /// Δv of departure and arrival, m/s; of the departure alone without an arrival orbit.
    Total,
}

/// One of the arcs that join a pair of dates: its sense, whole revolutions, and which of the two with these revolutions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sheet {
    /// Against the motion of the body left.
    pub retrograde: bool,
    /// Whole revolutions.
    pub revolutions: u32,
    /// Left or right of the least-time arc; single without a revolution.
    pub branch: Branch,
}

impl Sheet {
    /// All sheets with up to so many revolutions: prograde ones first, fewer revolutions first, left before right.
    pub(super) fn all(revolutions: u32, both_senses: bool) -> Vec<Sheet> {
        let mut sheets = Vec::new();
        for retrograde in [false, true] {
            if retrograde && !both_senses {
                break;
            }
            sheets.push(Sheet { retrograde, revolutions: 0, branch: Branch::Single });
            for revolutions in 1..=revolutions {
                for branch in [Branch::Left, Branch::Right] {
                    sheets.push(Sheet { retrograde, revolutions, branch });
                }
            }
        }
        sheets
    }
}

/// Which arcs of a pair of dates are looked at; what is left open is any.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Choice {
    /// Whole revolutions.
    pub revolutions: Option<u32>,
    /// Left or right.
    pub branch: Option<Branch>,
    /// Against the motion of the body left.
    pub retrograde: Option<bool>,
    /// Through the angle above 180° (type II, IV, ...), or below.
    pub long: Option<bool>,
}

impl Choice {
    /// Every arc: the least of them counts.
    pub const ANY: Self = Self { revolutions: None, branch: None, retrograde: None, long: None };

    /// Whether a sheet is looked at, its way round apart.
    pub(super) fn holds(&self, sheet: Sheet) -> bool {
        self.revolutions.is_none_or(|wanted| wanted == sheet.revolutions)
            && self.branch.is_none_or(|wanted| wanted == sheet.branch || sheet.branch == Branch::Single)
            && self.retrograde.is_none_or(|wanted| wanted == sheet.retrograde)
    }

    /// Whether an arc by the long way, or the short one, is looked at.
    pub(super) fn holds_way(&self, long: bool) -> bool {
        self.long.is_none_or(|wanted| wanted == long)
    }
}
