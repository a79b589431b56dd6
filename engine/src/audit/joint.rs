//! Continuity between one leg and the next.

use super::{Entry, Law};
use crate::conic::State;
use crate::time::Epoch;

/// A leg begins when the one before it ends. Epochs are whole nanoseconds, so the bound is zero.
pub fn time_between(leg: &str, end: Epoch, start: Epoch) -> Entry {
    Entry::judged(leg, Law::Time, start.seconds_since(end).abs(), 0.0, String::new())
}

/// A leg about the same body begins where the one before it ends. The state is handed on bit by bit: the bound is zero.
pub fn place_between(leg: &str, end: &State, start: &State) -> Entry {
    Entry::judged(leg, Law::Place, (start.position - end.position).norm(), 0.0, String::new())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::vector::Vec3;

    #[test]
    fn a_nanosecond_or_a_nanometre_between_legs_is_beyond() {
        let epoch = Epoch::J2000;
        assert_eq!(time_between("coast", epoch, epoch).verdict, Verdict::Good);
        assert_eq!(time_between("coast", epoch, epoch.after(1e-9)).verdict, Verdict::Beyond);
        let state = State { position: Vec3::new(7.0, 0.0, 0.0), velocity: Vec3::zeros() };
        let moved = State { position: Vec3::new(7.0 + 1e-9, 0.0, 0.0), ..state };
        assert_eq!(place_between("coast", &state, &state).verdict, Verdict::Good);
        assert_eq!(place_between("coast", &state, &moved).verdict, Verdict::Beyond);
    }
}
