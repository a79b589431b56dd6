//! What a voyage rests on, and which verbs fit there.

use super::{Leg, LegKind, Outcome, Voyage, VoyageError};
use crate::audit::{place_between, time_between};
use crate::orbit::Orbit;
use crate::system::Site;
use crate::time::Epoch;
use crate::vehicle::Vehicle;

/// Where a voyage is.
#[derive(Debug, Clone, PartialEq)]
pub enum Whereabouts {
    /// On a conic.
    InOrbit,
    /// On its way through the air: its last flight ended there.
    InAir,
    /// On the ground, and turning with it; or afloat, where the site is on water.
    At(Site),
}

impl Whereabouts {
    /// The word of the language.
    pub fn name(&self) -> &'static str {
        match self {
            Whereabouts::InOrbit => "in orbit",
            Whereabouts::InAir => "in air",
            Whereabouts::At(site) if site.is_water() => "afloat",
            Whereabouts::At(_) => "on the ground",
        }
    }
}

impl Voyage {
    /// A voyage of a vehicle that stands on a site, or floats there.
    ///
    /// # Errors
    /// A site whose state is no orbit's, at a body's centre.
    pub fn on_site(name: &str, vehicle: Vehicle, site: Site, epoch: Epoch) -> Result<Voyage, VoyageError> {
        let now = Orbit::new(site.body().clone(), epoch, site.state(epoch))?;
        Ok(Voyage::begun(name, vehicle, now, Whereabouts::At(site)))
    }

    /// Where it is.
    pub fn whereabouts(&self) -> &Whereabouts {
        &self.whereabouts
    }

    /// The site that it stands or floats on; none elsewhere.
    pub fn site(&self) -> Option<&Site> {
        match &self.whereabouts {
            Whereabouts::At(site) => Some(site),
            Whereabouts::InOrbit | Whereabouts::InAir => None,
        }
    }

    /// Where it is, in the words of the language: `in orbit`, `in air`, `on the ground` (also for what has struck it) or `afloat`.
    pub fn place(&self) -> &'static str {
        match self.outcome() {
            Outcome::Lost(_) => "on the ground",
            Outcome::UnderWay | Outcome::Home { .. } | Outcome::Joined { .. } => self.whereabouts.name(),
        }
    }

    /// Where it is, with the body: `in orbit about Mars`, `in the air of Mars`, `on the ground of Mars`, `afloat on Maren`.
    pub fn placed(&self) -> String {
        let body = self.body().name();
        match self.place() {
            "in orbit" => format!("in orbit about {body}"),
            "in air" => format!("in the air of {body}"),
            "afloat" => format!("afloat on {body}"),
            other => format!("{other} of {body}"),
        }
    }

    /// Nothing, if a verb that moves on conics fits where the voyage is.
    pub(super) fn check_aloft(&self, verb: &'static str) -> Result<(), VoyageError> {
        match self.site() {
            None => Ok(()),
            Some(_) => Err(VoyageError::WrongPlace { verb, place: self.placed(), needs: "a voyage in orbit" }),
        }
    }

    /// The site, if a verb that begins on one fits where the voyage is.
    ///
    /// # Errors
    /// A voyage that is elsewhere.
    pub fn check_landed(&self, verb: &'static str) -> Result<Site, VoyageError> {
        self.site().cloned().ok_or_else(|| VoyageError::WrongPlace {
            verb,
            place: self.placed(),
            needs: "a voyage on the ground or afloat",
        })
    }

    /// Put the voyage on a site where its last flight has brought it.
    pub(super) fn rest_on(&mut self, site: Site) {
        self.whereabouts = Whereabouts::At(site);
    }

    /// Stay where it stands until an epoch, as a leg of some name.
    pub(super) fn stay_until(&mut self, site: &Site, epoch: Epoch, name: &str) -> Result<(), VoyageError> {
        let before = self.now.clone();
        let after = Orbit::new(site.body().clone(), epoch, site.state(epoch))?;
        let mut audit = Vec::new();
        if let Some((end, state)) = self.last_end() {
            audit.push(time_between(name, end, before.epoch()));
            audit.push(place_between(name, &state, before.state()));
        }
        let leg = Leg {
            name: name.to_owned(),
            start: before.epoch(),
            end: epoch,
            dv: 0.0,
            dv_estimate: None,
            propellant: 0.0,
            mass: self.mass(),
            audit,
            kind: LegKind::Stay { site: site.clone(), before, after: after.clone() },
        };
        self.enter(leg, after, None);
        self.rest_on(site.clone());
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::audit::Verdict;
    use crate::burn::Burn;
    use crate::voyage::rehearsal::{body, start, tug, unwatched};
    use crate::voyage::{Goal, TEN_YEARS};

    fn standing(name: &str, latitude: f64) -> Voyage {
        let site = Site::new(&body(name), latitude, 0.4, 0.0).unwrap();
        Voyage::on_site("pad", tug(), site, start()).unwrap()
    }

    #[test]
    fn waiting_turns_with_the_ground() {
        let mut voyage = standing("Veyra", 0.1);
        assert_eq!(voyage.place(), "on the ground");
        let (site, first) = (voyage.site().unwrap().clone(), voyage.orbit().clone());
        voyage.coast(3600.0, &unwatched()).unwrap();
        voyage.coast_to(&Goal::Epoch(start().after(7200.0)), TEN_YEARS, &unwatched()).unwrap();
        assert_eq!((voyage.place(), voyage.legs().len()), ("on the ground", 2));
        assert_eq!(voyage.epoch(), start().after(7200.0));
        let turned = first.state().position.angle(&voyage.orbit().state().position);
        // 2 h of 22 at latitude 0.1: the pole's angle 2π/11, seen from the centre.
        let expected = 2.0 * (0.1_f64.cos() * (std::f64::consts::TAU / 22.0).sin()).asin();
        assert!((turned - expected).abs() < 1e-9, "{turned} {expected}");
        let between = voyage.at(start().after(1800.0)).unwrap();
        assert_eq!(between.state(), &site.state(start().after(1800.0)));
        assert_eq!(voyage.audit().verdict(), Verdict::Good);
        let track = voyage.track(&crate::voyage::TrackOptions::default(), &unwatched()).unwrap();
        assert!(track.points.len() > 4 && track.points[0].event == "start of wait", "{:?}", track.points[0]);
    }

    #[test]
    fn what_stands_on_a_sea_is_afloat() {
        let voyage = standing("Maren", 0.0);
        assert_eq!((voyage.place(), voyage.whereabouts().name()), ("afloat", "afloat"));
    }

    #[test]
    fn verbs_that_do_not_fit_name_the_place() {
        let mut voyage = standing("Veyra", 0.1);
        let before = format!("{voyage:?}");
        let wrong = |refused: Result<(), VoyageError>| {
            let text = refused.unwrap_err().to_string();
            assert!(text.contains("on the ground of Veyra"), "{text}");
        };
        wrong(voyage.burn(&Burn::local(10.0, 0.0, 0.0).unwrap(), &unwatched()));
        wrong(voyage.circularise(&unwatched()));
        wrong(voyage.coast_to(&Goal::Periapsis, TEN_YEARS, &unwatched()));
        assert_eq!(format!("{voyage:?}"), before);
        let aloft = crate::voyage::rehearsal::parked("Veyra");
        assert!(aloft.check_landed("ascend").is_err());
        assert!(matches!(
            voyage.coast_to(&Goal::Epoch(start().after(-1.0)), TEN_YEARS, &unwatched()),
            Err(VoyageError::Past { .. })
        ));
    }
}
