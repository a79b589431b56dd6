//! The audit of a coast: what its pieces and patches left, handed to the laws.

use super::{LegKind, Piece, Voyage, VoyageError};
use crate::audit::{
    Crossing, Entry, Law, Sample, Side, clock, coast, crossing, flyby, place_between, propagation_error, time_between,
};
use crate::conic::{State, propagate};
use crate::motion::conics::Patch;
use crate::quantity::Quantity;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// Samples between the ends of a piece. They are no whole part of a revolution apart, so that a slip that comes back after
/// one is seen.
const BETWEEN: [f64; 5] = [0.091, 0.277, 0.5, 0.713, 0.929];

impl Voyage {
    /// When and where the last leg ended.
    pub(super) fn last_end(&self) -> Option<(Epoch, State)> {
        let leg = self.legs_newest_first().next()?;
        match &leg.kind {
            LegKind::Burn { after, .. } | LegKind::Separation { after, .. } | LegKind::Stay { after, .. } => {
                Some((after.epoch(), *after.state()))
            }
            LegKind::Coast { pieces } => pieces.last().map(|piece| (piece.end, piece.end_state)),
            LegKind::Flown(path) => Some((path.after().epoch(), *path.after().state())),
        }
    }

    /// All laws on the pieces of a coast that is about to be entered.
    pub(super) fn audit_coast(&self, name: &str, pieces: &[Piece]) -> Result<Vec<Entry>, VoyageError> {
        let mut entries = Vec::new();
        if let (Some((end, state)), Some(first)) = (self.last_end(), pieces.first()) {
            entries.push(time_between(name, end, first.orbit.epoch()));
            entries.push(place_between(name, &state, first.orbit.state()));
        }
        for (index, piece) in pieces.iter().enumerate() {
            let leg = if pieces.len() > 1 { format!("{name}, about {}", piece.body().name()) } else { name.to_owned() };
            if let (Some(patch), Some(before)) = (&piece.patch, index.checked_sub(1).and_then(|last| pieces.get(last)))
            {
                entries.push(time_between(&leg, before.end, piece.orbit.epoch()));
                entries.extend(patch_entries(&leg, before, piece, patch)?);
                if patch.is_outward() {
                    entries.extend(self.flyby_entry(&pieces[..index]));
                }
            }
            if piece.duration() > 0.0 {
                let (gm, samples) = (piece.orbit.gm(), samples(piece)?);
                entries.extend(coast(&leg, gm, &samples));
                entries.extend(clock(&leg, gm, &samples));
            }
        }
        Ok(entries)
    }

    /// v-infinity in and out, where the craft came into a sphere and leaves it without a burn between.
    fn flyby_entry(&self, flown: &[Piece]) -> Option<Entry> {
        let last = flown.last()?;
        let body = last.body();
        // Back from the exit to the entry: this leg's pieces, then those of the legs before.
        let mut earlier = flown.iter().rev().map(Some).collect::<Vec<_>>();
        for leg in self.legs_newest_first() {
            match &leg.kind {
                LegKind::Burn { .. } | LegKind::Flown(_) | LegKind::Stay { .. } => {
                    earlier.push(None);
                    break;
                }
                LegKind::Separation { dv, .. } if *dv != Vec3::zeros() => {
                    earlier.push(None);
                    break;
                }
                LegKind::Separation { .. } => {}
                LegKind::Coast { pieces } => earlier.extend(pieces.iter().rev().map(Some)),
            }
            // Sixteen legs without a burn about one body are as far back as a flyby goes.
            if earlier.len() > 64 {
                break;
            }
        }
        for piece in earlier {
            let piece = piece.filter(|piece| piece.body() == body)?;
            if let Some(patch) = &piece.patch {
                if patch.is_outward() {
                    return None;
                }
                let time = last.end.seconds_since(piece.orbit.epoch());
                let leg = format!("flyby of {}", body.name());
                return flyby(&leg, last.orbit.gm(), piece.orbit.state(), &last.end_state, time);
            }
        }
        None
    }
}

/// Both ends of a piece and samples between them.
fn samples(piece: &Piece) -> Result<Vec<Sample>, VoyageError> {
    let duration = piece.duration();
    let mut samples = vec![Sample { time: 0.0, state: *piece.orbit.state() }];
    for part in BETWEEN {
        let time = part * duration;
        samples.push(Sample { time, state: propagate(piece.orbit.gm(), piece.orbit.state(), time)? });
    }
    samples.push(Sample { time: duration, state: piece.end_state });
    Ok(samples)
}

/// By how much a body's place and velocity jump about an epoch, m and m/s: a search for the closest approach ends at the
/// jump between two pieces of its ephemeris where the range rate changes its sign there. Zero on a smooth path.
///
/// - `time`: s from the epoch that the search counted from; its own rounding, and that of epochs, is how near it came.
fn seam(body: &Body, epoch: Epoch, time: f64) -> (f64, f64) {
    let near = 2e-9 + 4.0 * f64::EPSILON * time.abs();
    // At the end of the ephemeris there is no other piece to jump to.
    let (Ok(before), Ok(after)) = (body.state(epoch.after(-near)), body.state(epoch.after(near))) else {
        return (0.0, 0.0);
    };
    let moved = (after.velocity + before.velocity) * near;
    let jump = (after.position - before.position - moved).norm();
    // What ten roundings of the place explain is none.
    let smooth = 10.0 * f64::EPSILON * after.position.norm();
    if jump <= smooth {
        return (0.0, 0.0);
    }
    (jump, (after.velocity - before.velocity).norm())
}

/// What a patch holds, and the gap in place that it leaves.
fn patch_entries(leg: &str, before: &Piece, after: &Piece, patch: &Patch) -> Result<Vec<Entry>, VoyageError> {
    let (child, parent, side) =
        if patch.is_outward() { (before, after, Side::Outgoing) } else { (after, before, Side::Incoming) };
    let note = format!(
        "gap in place {}, in velocity {}",
        Quantity::length(patch.gap_position.norm()).show(),
        Quantity::speed(patch.gap_velocity.norm()).show()
    );
    let Some(periapsis) = patch.periapsis_held() else {
        // Without asymptotes place and velocity are handed on at the edge.
        let body = child.body().state(patch.epoch)?;
        let (child_state, parent_state) = if patch.is_outward() {
            (before.end_state, *after.orbit.state())
        } else {
            (*after.orbit.state(), before.end_state)
        };
        let off = (child_state.position + body.position - parent_state.position).norm();
        let bound = 4.0 * f64::EPSILON * (parent_state.position.norm() + body.position.norm());
        let note = format!("no asymptote: place and velocity handed on at the edge; {note}");
        return Ok(vec![Entry::judged(leg, Law::PatchPlace, off, bound, note).out_of_depth()]);
    };
    let parent_time = periapsis.seconds_since(parent.orbit.epoch());
    let parent_at_periapsis = propagate(parent.orbit.gm(), parent.orbit.state(), parent_time)?;
    let hyperbola_error = if patch.is_outward() {
        propagation_error(child.orbit.gm(), child.orbit.state(), &child.end_state, child.duration())
    } else {
        0.0
    };
    let facts = Crossing {
        side,
        gm: child.orbit.gm(),
        hyperbola: *child.orbit.state(),
        to_periapsis: periapsis.seconds_since(child.orbit.epoch()),
        hyperbola_error,
        parent_gm: parent.orbit.gm(),
        parent_state: *parent.orbit.state(),
        parent_time,
        parent_at_periapsis,
        child: child.body().state(periapsis)?,
        seam: seam(child.body(), periapsis, parent_time),
    };
    let entries = crossing(leg, &facts, &note);
    Ok(if patch.out_of_depth { entries.into_iter().map(Entry::out_of_depth).collect() } else { entries })
}
