//! Flying a coast through its patches until what it waits for comes.

use super::goal::Goal;
use super::{Loss, Piece, VoyageError};
use crate::conic::propagate;
use crate::motion::conics::{Patch, next_patch};
use crate::numerics::root;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;

/// What a coast waits for.
pub(super) enum Seek<'a> {
    /// The end of its time.
    Time,
    /// A goal.
    Goal(&'a Goal),
    /// The first change of sign of a quantity.
    Sign(&'a mut dyn FnMut(&Orbit) -> Result<f64, VoyageError>),
}

/// Why a coast ended.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum End {
    /// Its time is over.
    Time,
    /// What it waited for has come.
    Found,
    /// The craft struck the ground.
    Struck(Loss),
}

/// A coast flown.
#[derive(Debug)]
pub(super) struct Flight {
    pub(super) pieces: Vec<Piece>,
    pub(super) now: Orbit,
    pub(super) leaving: Option<Body>,
    pub(super) end: End,
}

/// Coast from an orbit until an epoch, or until what is sought comes before it.
pub(super) fn fly(
    from: &Orbit,
    leaving: Option<&Body>,
    until: Epoch,
    mut seek: Seek<'_>,
    watch: &Watch<'_>,
) -> Result<Flight, VoyageError> {
    let mut pieces: Vec<Piece> = Vec::new();
    let mut orbit = from.clone();
    let mut leaving = leaving.cloned();
    let mut patch_in: Option<Patch> = None;
    let mut last_value: Option<f64> = None;
    loop {
        if watch.stopped() {
            return Err(VoyageError::Interrupted);
        }
        let left = until.seconds_since(orbit.epoch());
        // What the conic alone tells comes first: it shortens the search for the next patch.
        let mut limit = left;
        let mut end = End::Time;
        if let Some((time, periapsis)) = orbit.time_to_ground()?
            && time <= limit
        {
            limit = time;
            end = End::Struck(struck(&orbit, time, periapsis)?);
        }
        if let Seek::Goal(goal) = &seek
            && let Some(time) = goal.on_conic(&orbit)?
            && time <= limit
        {
            limit = time;
            end = End::Found;
        }
        let limit_epoch = if end == End::Time { until } else { orbit.epoch().after(limit) };
        let patch = next_patch(&orbit, limit_epoch, leaving.as_ref(), watch)?;
        if let Some(patch) = &patch {
            limit = patch.epoch.seconds_since(orbit.epoch());
        }
        if let Seek::Sign(quantity) = &mut seek
            && let Some(time) = change_of_sign(&orbit, limit, &mut last_value, quantity, watch)?
        {
            let end_epoch = orbit.epoch().after(time);
            let piece = close(orbit, end_epoch, patch_in)?;
            let now = Orbit::new(piece.body().clone(), piece.end, piece.end_state)?;
            let leaving = still_leaving(leaving, &piece, watch)?;
            pieces.push(piece);
            return Ok(Flight { pieces, now, leaving, end: End::Found });
        }
        let Some(patch) = patch else {
            let piece = close(orbit, limit_epoch, patch_in)?;
            let now = Orbit::new(piece.body().clone(), piece.end, piece.end_state)?;
            let leaving = still_leaving(leaving, &piece, watch)?;
            pieces.push(piece);
            return Ok(Flight { pieces, now, leaving, end });
        };
        let found = match &seek {
            Seek::Goal(Goal::Arrival(body)) => patch.after.body() == body,
            Seek::Goal(Goal::Departure) => patch.is_outward(),
            _ => false,
        };
        pieces.push(close(orbit, patch.epoch, patch_in)?);
        orbit = patch.after.clone();
        leaving = patch.leaving();
        if found || orbit.epoch() >= until {
            // The new conic enters the record with no length, so that its patch belongs to this leg.
            let piece = close(orbit.clone(), orbit.epoch(), Some(patch))?;
            pieces.push(piece);
            let end = if found { End::Found } else { End::Time };
            return Ok(Flight { pieces, now: orbit, leaving, end });
        }
        patch_in = Some(patch);
    }
}

/// The body whose sphere was left, while the craft has not got away from it on the conic that it is on since: a coast that
/// is split there must not meet it at once.
fn still_leaving(leaving: Option<Body>, piece: &Piece, watch: &Watch<'_>) -> Result<Option<Body>, VoyageError> {
    match leaving {
        Some(body) if !piece.orbit.gets_away(&body, piece.duration(), watch)? => Ok(Some(body)),
        _ => Ok(None),
    }
}

/// A piece from the start of its conic to its end.
fn close(orbit: Orbit, end: Epoch, patch: Option<Patch>) -> Result<Piece, VoyageError> {
    let time = end.seconds_since(orbit.epoch());
    let end_state = if time == 0.0 { *orbit.state() } else { propagate(orbit.gm(), orbit.state(), time)? };
    Ok(Piece { orbit, end, end_state, patch })
}

fn struck(orbit: &Orbit, time: f64, periapsis: f64) -> Result<Loss, VoyageError> {
    let state = propagate(orbit.gm(), orbit.state(), time)?;
    let body = orbit.body();
    Ok(Loss {
        what: format!("struck the ground of {}", body.name()),
        epoch: orbit.epoch().after(time),
        body: body.name().to_owned(),
        place: state.position,
        speed: state.velocity.norm(),
        limit: body.radius(),
        margin: periapsis - body.radius(),
    })
}

/// The first change of sign of a quantity on a conic within `limit` s; `last` carries its value over from conic to conic.
///
/// Sampled at a sixty-fourth of the local time scale 2π √(r³/gm), taken at the start of each interval, and at least sixteen
/// times in all: what changes sign twice between two samples is not seen. A change where the search begins does not count,
/// so that a coast can go on from where the last one stopped.
fn change_of_sign(
    orbit: &Orbit,
    limit: f64,
    last: &mut Option<f64>,
    quantity: &mut dyn FnMut(&Orbit) -> Result<f64, VoyageError>,
    watch: &Watch<'_>,
) -> Result<Option<f64>, VoyageError> {
    let mut value_at = |time: f64| -> Result<f64, VoyageError> {
        let epoch = orbit.epoch().after(time);
        let state = propagate(orbit.gm(), orbit.state(), time)?;
        let value = quantity(&Orbit::new(orbit.body().clone(), epoch, state)?)?;
        if value.is_finite() { Ok(value) } else { Err(VoyageError::NotANumber { epoch }) }
    };
    // On the first conic the search begins a little after its start, as it does for a `Goal`.
    let r = orbit.state().position.norm();
    let here = if last.is_none() { 1e-8 * (r * r * r / orbit.gm()).sqrt() + 2e-9 } else { 0.0 };
    let mut time = here.min(limit);
    let mut value = value_at(time)?;
    if last.is_some_and(|before| before * value < 0.0 || (before != 0.0 && value == 0.0)) {
        // The quantity jumps across the patch: the event is the patch.
        return Ok(Some(0.0));
    }
    while time < limit {
        if watch.stopped() {
            return Err(VoyageError::Interrupted);
        }
        let r = propagate(orbit.gm(), orbit.state(), time)?.position.norm();
        let scale = std::f64::consts::TAU * (r * r * r / orbit.gm()).sqrt();
        // Below a microsecond nothing moves by more than rounding: a step that short would never end.
        let step = (scale / 64.0).min(limit / 16.0).max(1e-6);
        let next = (time + step).min(limit);
        let next_value = value_at(next)?;
        if value != 0.0 && (value.signum() != next_value.signum() || next_value == 0.0) {
            let mut refusal = None;
            let found = root::bracketed(
                |t| match value_at(t) {
                    Ok(here) => here,
                    Err(error) => {
                        refusal.get_or_insert(error);
                        f64::NAN
                    }
                },
                time,
                next,
                1e-9,
            );
            if let Some(error) = refusal {
                return Err(error);
            }
            return match found {
                Ok(root) => Ok(Some(root)),
                Err(_) => Err(VoyageError::NotANumber { epoch: orbit.epoch().after(time) }),
            };
        }
        (time, value) = (next, next_value);
    }
    *last = Some(value);
    Ok(None)
}
