//! The verb that docks two craft.

use super::separate::at_once;
use super::{LegKind, Voyage, VoyageError};
use crate::audit::{Moved, joined_place, mass, momentum};
use crate::numerics::watch::Watch;

/// Who spends propellant to match the velocities.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Payer {
    /// The craft that takes the other one on.
    #[default]
    This,
    /// The craft that is taken on.
    Other,
}

/// How near and how slow two craft must be before they join.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct JoinLimits {
    /// Greatest distance, m; so much of the way is closed without a charge.
    pub within: f64,
    /// Greatest relative speed, m/s; it is matched and charged.
    pub speed: f64,
    /// Who pays.
    pub payer: Payer,
}

impl Default for JoinLimits {
    /// 1 km and 10 m/s: an allowance, common practice, no source.
    fn default() -> Self {
        JoinLimits { within: 1e3, speed: 10.0, payer: Payer::This }
    }
}

impl Voyage {
    /// Docks with another craft: the one that is earlier coasts to the other's epoch, the velocities are matched and charged, and this
    /// voyage goes on with the sum of the masses, carrying the other craft; the other voyage ends as joined.
    ///
    /// The joined craft go on from where the one that did not pay is.
    ///
    /// Returns the name under which the other craft is carried.
    ///
    /// # Errors
    /// A voyage that has ended or is lost on the way to the other's epoch; craft about different bodies, too far apart or too fast;
    /// too little propellant. Both voyages are left as they were.
    pub fn join(&mut self, other: &mut Voyage, limits: &JoinLimits, watch: &Watch<'_>) -> Result<String, VoyageError> {
        self.check_not_lost()?;
        other.check_not_lost()?;
        self.check_aloft("join")?;
        other.check_aloft("join")?;
        let (mut own, mut theirs) = (self.clone(), other.clone());
        let epoch = own.epoch().max(theirs.epoch());
        own.coast_until(epoch, &format!("coast to joining {}", theirs.name()), watch)?;
        theirs.coast_until(epoch, &format!("coast to joining {}", own.name()), watch)?;
        own.check_not_lost()?;
        theirs.check_not_lost()?;
        if own.body() != theirs.body() {
            return Err(VoyageError::NotTogether {
                a: own.body().name().to_owned(),
                b: theirs.body().name().to_owned(),
            });
        }
        let gap = theirs.now.state().position - own.now.state().position;
        let closing = theirs.now.state().velocity - own.now.state().velocity;
        let (distance_m, speed_m_s) = (gap.norm(), closing.norm());
        if !(distance_m <= limits.within && speed_m_s <= limits.speed) {
            return Err(VoyageError::TooFar {
                other: theirs.name().to_owned(),
                distance_m,
                speed_m_s,
                most_m: limits.within,
                most_m_s: limits.speed,
            });
        }
        if speed_m_s > 0.0 {
            match limits.payer {
                Payer::This => own.push_burn(&format!("match {}", theirs.name()), closing, None)?,
                Payer::Other => theirs.push_burn(&format!("match {}", own.name()), -closing, None)?,
            }
        }
        let (together, name) = own.vehicle().taking_on(theirs.vehicle())?;
        let now = match limits.payer {
            Payer::This => theirs.now.clone(),
            Payer::Other => own.now.clone(),
        };

        let row = format!("join {name}");
        let mut audit = own.joint(&row);
        audit.push(mass(&row, together.mass(), own.mass(), theirs.mass(), together.names().len()));
        let moved = |voyage: &Voyage| Moved {
            mass: voyage.mass(),
            before: voyage.now.state().velocity,
            after: now.state().velocity,
        };
        audit.push(momentum(&row, &[moved(&own), moved(&theirs)]));
        audit.push(joined_place(&row, distance_m, limits.within));
        let before = own.now.clone();
        let dv = now.state().velocity - before.state().velocity;
        let kind = LegKind::Separation { before: before.clone(), after: now.clone(), dv, part: None };
        let leg = at_once(&row, &before, &together, audit, kind);

        let row = format!("joined to {}", own.name());
        let before = theirs.now.clone();
        let dv = now.state().velocity - before.state().velocity;
        let kind = LegKind::Separation { before: before.clone(), after: now.clone(), dv, part: None };
        let audit = theirs.joint(&row);
        let their_leg = at_once(&row, &before, theirs.vehicle(), audit, kind);

        let leaving = own.leaving.clone();
        own.equip(together);
        own.enter(leg, now.clone(), leaving.clone());
        theirs.enter(their_leg, now, leaving);
        theirs.end_joined(own.name());
        (*self, *other) = (own, theirs);
        Ok(name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::burn::Burn;
    use crate::voyage::rehearsal::{parked, unwatched};
    use crate::voyage::{Manner, Outcome};

    fn pair() -> (Voyage, Voyage) {
        let chaser = parked("Veyra").named("chaser");
        let mut target = parked("Veyra").named("target");
        target.burn(&Burn::local(1.0, 0.5, 0.0).unwrap(), &unwatched()).unwrap();
        target.coast(60.0, &unwatched()).unwrap();
        (chaser, target)
    }

    #[test]
    fn masses_are_summed_and_velocities_matched() {
        for payer in [Payer::This, Payer::Other] {
            let (mut chaser, mut target) = pair();
            let (before, other) = (chaser.mass(), target.mass());
            let limits = JoinLimits { payer, ..JoinLimits::default() };
            let name = chaser.join(&mut target, &limits, &unwatched()).unwrap();
            let spent = chaser.ledger().propellant + target.ledger().propellant - (1e5 - other);
            assert!(spent > 0.0 && (before + other - spent - chaser.mass()).abs() < 1e-7, "{spent}");
            assert_eq!(chaser.epoch(), target.epoch());
            assert_eq!(target.outcome().name(), "joined");
            assert!(target.why().unwrap().contains("joined to chaser"));
            assert!(matches!(target.coast(1.0, &unwatched()), Err(VoyageError::Joined { .. })));
            chaser.coast(600.0, &unwatched()).unwrap();
            for voyage in [&chaser, &target] {
                assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
            }
            // What was joined can be let go again.
            let freed = chaser.separate(Manner::Released, &name, "freed", None).unwrap();
            assert_eq!(freed.mass(), target.mass());
        }
    }

    #[test]
    fn far_or_fast_craft_do_not_join_and_stay_as_they_were() {
        let (mut chaser, mut target) = pair();
        let before = (format!("{chaser:?}"), format!("{target:?}"));
        let tight = JoinLimits { within: 1.0, ..JoinLimits::default() };
        let refused = chaser.join(&mut target, &tight, &unwatched());
        assert!(matches!(refused, Err(VoyageError::TooFar { .. })), "{refused:?}");
        let slow = JoinLimits { speed: 0.1, ..JoinLimits::default() };
        assert!(matches!(chaser.join(&mut target, &slow, &unwatched()), Err(VoyageError::TooFar { .. })));
        let mut far = parked("Maren");
        let refused = chaser.join(&mut far, &JoinLimits::default(), &unwatched());
        assert!(matches!(refused, Err(VoyageError::NotTogether { .. })), "{refused:?}");
        assert_eq!((format!("{chaser:?}"), format!("{target:?}")), before);
        assert_eq!(far.outcome(), &Outcome::UnderWay);
    }
}
