//! Where bodies and voyages are, and how they stand to each other.

use super::{Voyage, VoyageError};
use crate::conic::State;
use crate::system::Body;
use crate::time::Epoch;

/// A body or a voyage: what has a place.
#[derive(Debug, Clone)]
pub enum Thing<'a> {
    /// A body.
    Body(&'a Body),
    /// A craft, within its record.
    Voyage(&'a Voyage),
}

impl Thing<'_> {
    fn name(&self) -> &str {
        match self {
            Thing::Body(body) => body.name(),
            Thing::Voyage(voyage) => voyage.name(),
        }
    }

    /// The body it is counted from, and its state about that body.
    fn located(&self, epoch: Epoch) -> Result<(Body, State), VoyageError> {
        match self {
            Thing::Body(body) => Ok((
                (*body).clone(),
                State { position: crate::vector::Vec3::zeros(), velocity: crate::vector::Vec3::zeros() },
            )),
            Thing::Voyage(voyage) => {
                let orbit = voyage.at(epoch)?;
                Ok((orbit.body().clone(), *orbit.state()))
            }
        }
    }
}

/// State of `b` as seen from `a`, m and m/s, inertial. Counted from the nearest body that both are about, so that two craft
/// near one planet do not lose digits to its distance from the star.
///
/// # Errors
/// An epoch outside a voyage's record or outside the ephemeris; things of two systems.
pub fn relative(a: &Thing<'_>, b: &Thing<'_>, epoch: Epoch) -> Result<State, VoyageError> {
    let (mut from, mut start) = a.located(epoch)?;
    let (mut to, mut end) = b.located(epoch)?;
    if from.system() != to.system() {
        return Err(VoyageError::OtherSystem { a: a.name().to_owned(), b: b.name().to_owned() });
    }
    let lift = |body: &mut Body, state: &mut State| -> Result<bool, VoyageError> {
        let Some(parent) = body.parent() else { return Ok(false) };
        let about = body.state(epoch)?;
        state.position += about.position;
        state.velocity += about.velocity;
        *body = parent;
        Ok(true)
    };
    while from != to {
        let deeper = from.ancestors().len() >= to.ancestors().len();
        let lifted = if deeper { lift(&mut from, &mut start)? } else { lift(&mut to, &mut end)? };
        if !lifted {
            return Err(VoyageError::OtherSystem { a: a.name().to_owned(), b: b.name().to_owned() });
        }
    }
    Ok(State { position: end.position - start.position, velocity: end.velocity - start.velocity })
}

/// Distance between two things, m.
///
/// # Errors
/// As [`relative`].
pub fn distance(a: &Thing<'_>, b: &Thing<'_>, epoch: Epoch) -> Result<f64, VoyageError> {
    Ok(relative(a, b, epoch)?.position.norm())
}

/// Angle at `b` between the directions to `a` and to `c`, rad, 0 to π.
///
/// # Errors
/// As [`relative`]; and where `b` coincides with `a` or `c`.
pub fn angle(a: &Thing<'_>, b: &Thing<'_>, c: &Thing<'_>, epoch: Epoch) -> Result<f64, VoyageError> {
    let (to_a, to_c) = (relative(b, a, epoch)?.position, relative(b, c, epoch)?.position);
    for (to, other) in [(&to_a, a), (&to_c, c)] {
        if to.norm() == 0.0 {
            return Err(VoyageError::NoAngle { at: b.name().to_owned(), other: other.name().to_owned() });
        }
    }
    // atan2 of cross and dot keeps its digits near 0 and π, where the arc cosine loses half of them.
    Ok(to_a.cross(&to_c).norm().atan2(to_a.dot(&to_c)))
}
