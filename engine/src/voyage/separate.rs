//! The verbs that let something go: drop, jettison, release.

use super::{Leg, LegKind, Voyage, VoyageError};
use crate::audit::{Entry, Moved, mass, momentum, place_between, time_between, velocity_change};
use crate::burn::Burn;
use crate::conic::State;
use crate::orbit::Orbit;
use crate::time::Epoch;
use crate::vector::Vec3;
use crate::vehicle::{Sort, Vehicle, VehicleError};

/// Beyond this no spring or charge drives parts asunder, m/s: a sanity bound, common practice, no source.
const FASTEST: f64 = 100.0;

/// How something came off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Manner {
    /// A stage or craft, left behind.
    Dropped,
    /// A fairing or shield, thrown off.
    Jettisoned,
    /// A craft, let go to fly on.
    Released,
}

impl Manner {
    /// The participle.
    pub fn name(self) -> &'static str {
        match self {
            Manner::Dropped => "dropped",
            Manner::Jettisoned => "jettisoned",
            Manner::Released => "released",
        }
    }

    /// The verb.
    pub fn verb(self) -> &'static str {
        match self {
            Manner::Dropped => "drop",
            Manner::Jettisoned => "jettison",
            Manner::Released => "release",
        }
    }

    fn fits(self, sort: Sort) -> bool {
        matches!(
            (self, sort),
            (Manner::Dropped, Sort::Stage | Sort::Craft)
                | (Manner::Jettisoned, Sort::Part)
                | (Manner::Released, Sort::Craft)
        )
    }
}

/// Which way springs drive what comes off, in local axes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// Along the velocity.
    Along,
    /// Along the angular momentum.
    Across,
    /// In the orbit's plane, away from the body.
    Outward,
}

/// Springs between the parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Springs {
    /// Speed of what comes off against what stays, m/s; below zero the other way.
    pub speed: f64,
    /// Its direction.
    pub direction: Direction,
}

impl Springs {
    /// The velocity of what comes off against what stays, m/s, inertial.
    fn velocity(&self, state: &State) -> Result<Vec3, VoyageError> {
        if !(self.speed.abs() <= FASTEST) {
            return Err(VoyageError::SeparationSpeed { speed_m_s: self.speed, most_m_s: FASTEST });
        }
        let local = match self.direction {
            Direction::Along => Burn::local(self.speed, 0.0, 0.0)?,
            Direction::Across => Burn::local(0.0, self.speed, 0.0)?,
            Direction::Outward => Burn::local(0.0, 0.0, self.speed)?,
        };
        Ok(local.dv_at(state)?)
    }
}

/// Something that came off a voyage: what, when, and on which orbit it and the rest were right after.
#[derive(Debug, Clone, PartialEq)]
pub struct Separated {
    /// What it was called on the vehicle.
    pub name: String,
    /// Name of the voyage that it came off.
    pub from: String,
    /// How it came off.
    pub manner: Manner,
    /// What it is: masses, tanks, engines, equipment.
    pub vehicle: Vehicle,
    /// Its orbit right after.
    pub orbit: Orbit,
    /// The orbit of what stayed, right after.
    pub rest: Orbit,
}

impl Separated {
    /// When it came off.
    pub fn epoch(&self) -> Epoch {
        self.orbit.epoch()
    }

    /// Its mass, kg.
    pub fn mass(&self) -> f64 {
        self.vehicle.mass()
    }

    /// Speed against what stayed, m/s.
    pub fn speed(&self) -> f64 {
        (self.orbit.state().velocity - self.rest.state().velocity).norm()
    }
}

impl Voyage {
    /// Lets a stage, a part or a carried craft go, as a voyage of its own: same body, epoch and place. Without springs the velocity is
    /// the same too; springs share their momentum by the masses. The record of what came off begins with a row that says where from.
    ///
    /// - `called`: name of the new voyage.
    ///
    /// # Errors
    /// A voyage that has ended; nothing of that name, or another sort of thing than the verb is for; a speed beyond what springs give. The
    /// voyage is left as it was.
    pub fn separate(
        &mut self,
        manner: Manner,
        name: &str,
        called: &str,
        springs: Option<&Springs>,
    ) -> Result<Voyage, VoyageError> {
        self.check_not_lost()?;
        if springs.is_some() {
            self.check_aloft("separation speed")?;
        }
        let whole = self.vehicle().clone();
        if let Some(sort) = whole.sort_of(name)
            && !manner.fits(sort)
        {
            return Err(other_sort(&whole, name, sort, manner));
        }
        let (rest, part) = whole.split(name)?;
        let apart = match springs {
            Some(springs) => springs.velocity(self.now.state())?,
            None => Vec3::zeros(),
        };
        // Springs push both alike: m₁ Δv₁ = −m₂ Δv₂, with the relative velocity Δv₁ − Δv₂.
        let share = rest.mass() / (rest.mass() + part.mass());
        let (pushed, recoil) = (apart * share, apart * (share - 1.0));
        let before = self.now.clone();
        let (off, stays) = (moved(&before, pushed)?, moved(&before, recoil)?);
        let separated = Separated {
            name: name.to_owned(),
            from: self.name().to_owned(),
            manner,
            vehicle: part.clone(),
            orbit: off.clone(),
            rest: stays.clone(),
        };

        let row = format!("{} {name}", manner.verb());
        let velocity = |orbit: &Orbit| orbit.state().velocity;
        let mut audit = self.joint(&row);
        audit.push(mass(&row, whole.mass(), rest.mass(), part.mass(), whole.names().len()));
        let of_rest = Moved { mass: rest.mass(), before: velocity(&before), after: velocity(&stays) };
        let of_part = Moved { mass: part.mass(), before: velocity(&before), after: velocity(&off) };
        audit.push(momentum(&row, &[of_rest, of_part]));
        audit.push(velocity_change(&row, before.state(), stays.state(), &recoil));
        let kind = LegKind::Separation {
            before: before.clone(),
            after: stays.clone(),
            dv: recoil,
            part: Some(Box::new(separated)),
        };
        let leg = at_once(&row, &before, &rest, audit, kind);

        let mut other = self.begun_from(called, part.clone());
        let row = format!("{} from {}", manner.name(), self.name());
        let audit = vec![
            mass(&row, whole.mass(), rest.mass(), part.mass(), whole.names().len()),
            velocity_change(&row, before.state(), off.state(), &pushed),
        ];
        let kind = LegKind::Separation { before: before.clone(), after: off.clone(), dv: pushed, part: None };
        let leaving = self.leaving.clone();
        let whereabouts = self.whereabouts.clone();
        other.enter(at_once(&row, &before, &part, audit, kind), off, leaving.clone());
        other.whereabouts = whereabouts.clone();

        self.equip(rest);
        self.enter(leg, stays, leaving);
        self.whereabouts = whereabouts;
        Ok(other)
    }

    /// Continuity with the leg before.
    pub(super) fn joint(&self, row: &str) -> Vec<Entry> {
        match self.last_end() {
            Some((end, state)) => {
                vec![time_between(row, end, self.epoch()), place_between(row, &state, self.now.state())]
            }
            None => Vec::new(),
        }
    }
}

/// A leg of no length that spends nothing.
pub(super) fn at_once(row: &str, before: &Orbit, vehicle: &Vehicle, audit: Vec<Entry>, kind: LegKind) -> Leg {
    Leg {
        name: row.to_owned(),
        start: before.epoch(),
        end: before.epoch(),
        dv: 0.0,
        dv_estimate: None,
        propellant: 0.0,
        mass: vehicle.mass(),
        audit,
        kind,
    }
}

fn moved(orbit: &Orbit, dv: Vec3) -> Result<Orbit, VoyageError> {
    Ok(orbit.after_impulse(dv)?)
}

/// The refusal of a verb that is for another sort of thing; a stage that cannot leave at all is told so.
fn other_sort(whole: &Vehicle, name: &str, sort: Sort, manner: Manner) -> VoyageError {
    if let (Sort::Stage, Err(error @ VehicleError::LastStage { .. })) = (sort, whole.split(name)) {
        return error.into();
    }
    let (sort, verb) = match sort {
        Sort::Stage => ("a stage", "drop"),
        Sort::Part => ("a fairing or a shield", "jettison"),
        Sort::Craft => ("a carried craft", "release"),
    };
    VoyageError::OtherSort { name: name.to_owned(), sort, manner: manner.name(), verb }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::voyage::rehearsal::{body, start, unwatched};

    fn lantern() -> Voyage {
        let orbit = Orbit::circular(&body("Veyra"), 300e3, start()).unwrap();
        Voyage::new("lantern", Vehicle::embedded("lantern").unwrap().without("core").unwrap(), orbit).unwrap()
    }

    #[test]
    fn both_go_on_from_the_same_place_with_the_mass_shared() {
        let mut voyage = lantern();
        let whole = voyage.mass();
        let stage = voyage.separate(Manner::Dropped, "departure", "departure", None).unwrap();
        assert!((whole - voyage.mass() - stage.mass()).abs() < 1e-9);
        assert_eq!(stage.orbit(), voyage.orbit());
        assert_eq!(stage.legs()[0].name, "dropped from lantern");
        assert_eq!(voyage.separated()[0].mass(), 43_700.0);
        let mut lander = voyage.separate(Manner::Released, "lander", "lander", None).unwrap();
        assert_eq!(lander.mass(), 12_810.0);
        let shell = lander.separate(Manner::Jettisoned, "aeroshell", "aeroshell", None).unwrap();
        assert_eq!((shell.mass(), lander.mass()), (1900.0, 10_910.0));
        lander.coast(600.0, &unwatched()).unwrap();
        for flown in [&voyage, &stage, &lander, &shell] {
            assert_eq!(flown.audit().verdict(), Verdict::Good, "{:?}", flown.audit().worst());
        }
    }

    #[test]
    fn springs_share_their_momentum() {
        let mut voyage = lantern();
        let springs = Springs { speed: -0.6, direction: Direction::Along };
        let stage = voyage.separate(Manner::Dropped, "departure", "departure", Some(&springs)).unwrap();
        let speed = |voyage: &Voyage| voyage.orbit().state().velocity.norm();
        let before = voyage.start().state().velocity.norm();
        assert!((speed(&voyage) - speed(&stage) - 0.6).abs() < 1e-9);
        // 43.7 t against 29.46 t: the rest is pushed the more.
        assert!(((speed(&voyage) - before) * voyage.mass() - (before - speed(&stage)) * stage.mass()).abs() < 1e-6);
        assert_eq!(voyage.audit().verdict(), Verdict::Good, "{:?}", voyage.audit().worst());
        assert_eq!(stage.audit().verdict(), Verdict::Good, "{:?}", stage.audit().worst());
        assert!((voyage.separated()[0].speed() - 0.6).abs() < 1e-9);
    }

    #[test]
    fn refused_separations_leave_the_voyage_as_it_was() {
        let mut voyage = lantern();
        let before = format!("{voyage:?}");
        let fast = Springs { speed: 1e3, direction: Direction::Across };
        let refused = voyage.separate(Manner::Dropped, "departure", "d", Some(&fast));
        assert!(matches!(refused, Err(VoyageError::SeparationSpeed { .. })));
        let nan = Springs { speed: f64::NAN, direction: Direction::Across };
        assert!(voyage.separate(Manner::Dropped, "departure", "d", Some(&nan)).is_err());
        let refused = voyage.separate(Manner::Dropped, "aeroshell", "a", None);
        assert!(matches!(refused, Err(VoyageError::OtherSort { verb: "jettison", .. })));
        let refused = voyage.separate(Manner::Released, "orbiter", "o", None);
        assert!(matches!(refused, Err(VoyageError::Vehicle(VehicleError::LastStage { .. }))));
        let refused = voyage.separate(Manner::Released, "slad", "s", None);
        assert!(matches!(refused, Err(VoyageError::Vehicle(VehicleError::NoSuchPart { .. }))));
        assert_eq!(format!("{voyage:?}"), before);
    }
}
