//! What is held where a craft passes from one body's conic to another's.

use super::rounding::{EPSILON, of_energy, propagation};
use super::{Asymptote, Entry, Law, Side};
use crate::conic::State;

/// The facts of a patch by asymptotes, for the audit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossing {
    /// Incoming where the craft comes from the parent's conic, outgoing where it leaves for it.
    pub side: Side,
    /// gm of the child, m³/s².
    pub gm: f64,
    /// A state on the hyperbola about the child, m and m/s, as the leg about the child holds it.
    pub hyperbola: State,
    /// s from that state's epoch to the periapsis time that the patch holds.
    pub to_periapsis: f64,
    /// Relative error of that state: 0 where the patch made it, else what the coast up to it allows.
    pub hyperbola_error: f64,
    /// gm of the parent, m³/s².
    pub parent_gm: f64,
    /// A state on the parent's conic, as the leg about the parent holds it.
    pub parent_state: State,
    /// s from the parent state's epoch to the periapsis time.
    pub parent_time: f64,
    /// The craft on the parent's conic at the periapsis time.
    pub parent_at_periapsis: State,
    /// The child about the parent at the periapsis time.
    pub child: State,
    /// Seam of the child's ephemeris: m and m/s by which neighbouring pieces may differ; zero where it has none.
    pub seam: (f64, f64),
}

/// v-infinity, aim and time across a patch by asymptotes.
///
/// The asymptote is worked out anew from a state on the hyperbola, and held against the relative state at the closest
/// approach on the parent's conic: offset = aim, relative velocity = v-infinity, offset ⊥ velocity at that very time.
///
/// # Bounds
/// The parent's side is known to c = (20 + 20 κ) ε of place and velocity by propagation, 2 ε of the child's, and the seam;
/// the hyperbola's side as [`Asymptote::of`] tells. The place along the track, and with it the time, adds the rounding
/// of two epochs to 1 ns; where the offset is not square to the velocity, the closest approach is off by that over v∞.
pub fn crossing(leg: &str, facts: &Crossing, note: &str) -> Vec<Entry> {
    // Placing the state on the hyperbola takes a dozen roundings and the hyperbola's own timing.
    let placed = facts.hyperbola_error + 20.0 * EPSILON;
    let Some(asymptote) = Asymptote::of(facts.gm, &facts.hyperbola, facts.side, placed) else {
        return vec![Entry::judged(leg, Law::PatchSpeed, f64::NAN, 0.0, "the conic has no asymptote".to_owned())];
    };
    let (place, velocity) = (
        facts.parent_at_periapsis.position - facts.child.position,
        facts.parent_at_periapsis.velocity - facts.child.velocity,
    );
    let c = propagation(facts.parent_gm, &facts.parent_state, &facts.parent_at_periapsis, facts.parent_time, None);
    let place_error =
        c * facts.parent_at_periapsis.position.norm() + 2.0 * EPSILON * facts.child.position.norm() + facts.seam.0;
    let velocity_error =
        c * facts.parent_at_periapsis.velocity.norm() + 2.0 * EPSILON * facts.child.velocity.norm() + facts.seam.1;
    let speed = velocity.norm();
    let clock = 2e-9;
    // Off the foot of the asymptote by a time error, the offset has a part along the velocity; only the square part is aim.
    let square = place - velocity * (place.dot(&velocity) / (speed * speed));
    let foot_error = place_error / speed + place.norm() * velocity_error / (speed * speed) + clock;
    let foot = place.dot(&velocity) / (speed * speed);
    let time = (asymptote.to_periapsis - facts.to_periapsis).abs().max(foot.abs());
    vec![
        Entry::judged(
            leg,
            Law::PatchSpeed,
            (asymptote.v_infinity - velocity).norm(),
            asymptote.v_infinity_error + velocity_error,
            String::new(),
        ),
        Entry::judged(
            leg,
            Law::PatchAim,
            (asymptote.aim - square).norm(),
            asymptote.aim_error + place_error + place.norm() * velocity_error / speed,
            note.to_owned(),
        ),
        Entry::judged(leg, Law::PatchTime, time, asymptote.time_error.max(0.0) + foot_error, String::new()),
    ]
}

/// The size of v-infinity into and out of a flyby, from the energy at both ends of the time inside the sphere.
///
/// - `gm`: m³/s² of the body passed; `start`, `end`: where the craft enters and leaves, `time` s apart, no burn between.
///
/// # Bound
/// Energy may differ by c (v² + gm/r) with c = (20 + 20 κ) ε, v-infinity by that over v-infinity.
pub fn flyby(leg: &str, gm: f64, start: &State, end: &State, time: f64) -> Option<Entry> {
    let energy = |state: &State| state.velocity.norm_squared() / 2.0 - gm / state.position.norm();
    let (before, after) = (energy(start), energy(end));
    if !(before > 0.0 && after > 0.0) {
        return None;
    }
    let (before, after) = ((2.0 * before).sqrt(), (2.0 * after).sqrt());
    let c = propagation(gm, start, end, time, None) + 12.0 * EPSILON;
    let bound = (of_energy(gm, end, c) + of_energy(gm, start, 12.0 * EPSILON)) / before.min(after);
    Some(Entry::judged(leg, Law::FlybySpeed, (after - before).abs(), bound, String::new()))
}
