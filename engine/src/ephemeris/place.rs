//! The state of a body: about its parent, about another body, about the barycentre.

use super::error::EphemerisError;
use super::pack;
use crate::conic::State;
use crate::system::{Body, Path, System};
use crate::time::Epoch;
use crate::vector::Vec3;

fn at_rest() -> State {
    State { position: Vec3::zeros(), velocity: Vec3::zeros() }
}

fn plus(a: State, b: State) -> State {
    State { position: a.position + b.position, velocity: a.velocity + b.velocity }
}

fn minus(a: State, b: State) -> State {
    State { position: a.position - b.position, velocity: a.velocity - b.velocity }
}

impl Body {
    /// Position (m) and velocity (m/s) relative to the parent, in the system's inertial axes; zero for the root.
    ///
    /// Geometric: no light time, no aberration.
    ///
    /// # Errors
    /// An epoch outside the span of the ephemeris.
    pub fn state(&self, epoch: Epoch) -> Result<State, EphemerisError> {
        self.check_span(epoch)?;
        let days = epoch.tdb_days();
        Ok(match self.path() {
            Path::Root => at_rest(),
            Path::Fixed(ellipse) => ellipse.state(days),
            Path::Mean(ellipse) => ellipse.state(days),
            Path::MeanWithMoon { barycentre, moon, ratio } => {
                let moon = moon.state(days);
                let share = -1.0 / (1.0 + ratio);
                plus(barycentre.state(days), State { position: moon.position * share, velocity: moon.velocity * share })
            }
            Path::Pack(body) => pack::state(body.place, days),
        })
    }

    /// Position (m) and velocity (m/s) relative to another body of the same system, in the system's inertial axes.
    ///
    /// States are added up to the nearest common ancestor only, so that a moon about its planet keeps its digits.
    ///
    /// # Errors
    /// An epoch outside the span of the ephemeris; a body of another system.
    pub fn state_about(&self, other: &Body, epoch: Epoch) -> Result<State, EphemerisError> {
        if self.system() != other.system() {
            return Err(EphemerisError::DifferentSystems { body: self.name().into(), other: other.name().into() });
        }
        self.check_span(epoch)?;
        if self == other {
            return Ok(at_rest());
        }
        let ours: Vec<Body> = std::iter::once(self.clone()).chain(self.ancestors()).collect();
        let theirs: Vec<Body> = std::iter::once(other.clone()).chain(other.ancestors()).collect();
        // Both chains end in the root; what they share from there down is left out.
        let shared = ours.iter().rev().zip(theirs.iter().rev()).take_while(|(a, b)| a == b).count();
        let sum = |chain: &[Body]| -> Result<State, EphemerisError> {
            chain[..chain.len() - shared].iter().try_fold(at_rest(), |sum, body| Ok(plus(sum, body.state(epoch)?)))
        };
        Ok(minus(sum(&ours)?, sum(&theirs)?))
    }

    /// Position (m) and velocity (m/s) relative to the barycentre of the whole system, in its inertial axes.
    ///
    /// With the pack the Sun's own track gives it (the Solar System barycentre of DE440); elsewhere it is the weighted mean of
    /// the bodies that the system holds.
    ///
    /// # Errors
    /// An epoch outside the span of the ephemeris.
    pub fn state_about_barycentre(&self, epoch: Epoch) -> Result<State, EphemerisError> {
        let root = self.system().root();
        Ok(plus(self.state_about(&root, epoch)?, root_about_barycentre(self.system(), epoch)?))
    }

    /// Distance between the centres of two bodies of one system, m.
    ///
    /// # Errors
    /// As [`Body::state_about`].
    pub fn distance_to(&self, other: &Body, epoch: Epoch) -> Result<f64, EphemerisError> {
        Ok(self.state_about(other, epoch)?.radius())
    }

    /// The angle between two bodies as seen from the centre of this one, rad, 0 to π.
    ///
    /// # Errors
    /// As [`Body::state_about`]; `None` where one of them is this body itself.
    ///
    /// # Source
    /// The half-angle form, accurate at both ends. [Kahan2006]
    pub fn angle_between(&self, first: &Body, second: &Body, epoch: Epoch) -> Result<Option<f64>, EphemerisError> {
        let a = first.state_about(self, epoch)?.position;
        let b = second.state_about(self, epoch)?.position;
        let (Some(a), Some(b)) = (a.try_normalize(0.0), b.try_normalize(0.0)) else { return Ok(None) };
        Ok(Some(2.0 * (a - b).norm().atan2((a + b).norm())))
    }

    /// How far another body with the same parent is ahead of this one, rad, −π to π, in the plane of this one's motion and
    /// along it; `None` where they have no common parent.
    ///
    /// # Errors
    /// As [`Body::state`].
    pub fn lead_of(&self, other: &Body, epoch: Epoch) -> Result<Option<f64>, EphemerisError> {
        if self.parent().is_none() || self.parent() != other.parent() {
            return Ok(None);
        }
        let (ours, theirs) = (self.state(epoch)?, other.state(epoch)?);
        let normal = ours.position.cross(&ours.velocity).normalize();
        let ahead = normal.cross(&ours.position);
        // Both components carry the factor of our own distance.
        Ok(Some(theirs.position.dot(&ahead).atan2(theirs.position.dot(&ours.position))))
    }

    /// Where the body's places come from.
    pub fn source(&self) -> &str {
        self.ephemeris_words().0
    }

    /// How good the body's places are, in words.
    pub fn accuracy(&self) -> &str {
        self.ephemeris_words().1
    }

    fn check_span(&self, epoch: Epoch) -> Result<(), EphemerisError> {
        match self.system().span() {
            Some((first, last)) if epoch < first || epoch > last => {
                Err(EphemerisError::OutsideSpan { system: self.system().name().into(), epoch, first, last })
            }
            _ => Ok(()),
        }
    }
}

fn root_about_barycentre(system: &System, epoch: Epoch) -> Result<State, EphemerisError> {
    let bodies = system.bodies();
    if bodies.iter().any(|body| matches!(body.path(), Path::Pack(_))) {
        return Ok(pack::sun(epoch.tdb_days()));
    }
    let root = system.root();
    let mut total = 0.0;
    let mut moment = at_rest();
    for body in &bodies {
        // A body whose file states the mass of it with its moons counts for those that the file holds only once: by their own.
        let state = body.state_about(&root, epoch)?;
        total += body.gm();
        moment.position += state.position * body.gm();
        moment.velocity += state.velocity * body.gm();
    }
    Ok(State { position: -moment.position / total, velocity: -moment.velocity / total })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::system::EphemerisChoice;

    fn body(system: &System, name: &str) -> Body {
        system.body(name).expect("a body of the system")
    }

    #[test]
    fn states_add_up_along_the_tree() {
        let velm = System::embedded("velm", EphemerisChoice::Default).expect("velm");
        let (maren, keld, oru, veyra) =
            (body(&velm, "Maren"), body(&velm, "Keld"), body(&velm, "Oru"), body(&velm, "Veyra"));
        let epoch = velm.epoch().after(4.0e7);
        let of = |body: &Body| body.state(epoch).expect("any time");
        // Two moons of one planet: the star does not enter, so that not a bit is lost.
        let between = maren.state_about(&keld, epoch).expect("any time");
        assert_eq!(between, minus(of(&maren), of(&keld)));
        let far = maren.state_about(&veyra, epoch).expect("any time");
        assert_eq!(far, minus(plus(of(&maren), of(&oru)), of(&veyra)));
        assert_eq!(maren.state_about(&oru, epoch), Ok(of(&maren)));
        assert_eq!(maren.state_about(&maren, epoch), Ok(at_rest()));
        assert_eq!(velm.root().state(epoch), Ok(at_rest()));
    }

    #[test]
    fn bodies_of_two_systems_have_no_state_between_them() {
        let velm = System::embedded("velm", EphemerisChoice::Default).expect("velm");
        let sol = System::embedded("sol", EphemerisChoice::Default).expect("sol");
        let error = body(&sol, "Mars").state_about(&body(&velm, "Veyra"), sol.epoch()).expect_err("two systems");
        assert_eq!(error.to_string(), "`Mars` and `Veyra` belong to different systems");
    }

    /// Momentum about the barycentre is zero: the weighted sum of all states about it.
    #[test]
    fn the_barycentre_is_the_weighted_mean() {
        let velm = System::embedded("velm", EphemerisChoice::Default).expect("velm");
        let mut sum = Vec3::zeros();
        let mut size = 0.0;
        for body in velm.bodies() {
            let place = body.state_about_barycentre(velm.epoch()).expect("any time").position;
            sum += place * body.gm();
            size += place.norm() * body.gm();
        }
        // A dozen roundings of the terms.
        assert!(sum.norm() < 12.0 * f64::EPSILON * size, "{sum} of {size}");
    }
}
