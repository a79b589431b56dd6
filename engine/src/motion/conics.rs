//! The patched-conic model: which crossing comes next on a conic.

use super::MotionError;
use crate::conic::{Passage, time_to_radius};
use crate::numerics::watch::Watch;
use crate::orbit::{Encounter, Orbit};
use crate::system::Body;
use crate::time::Epoch;

pub use super::patch::Patch;

/// The next crossing of a sphere of influence on this conic, no later than `until`; `None` if there is none.
///
/// - `leaving`: the child whose sphere the craft has just left; it counts again once the craft has got away from it.
///
/// An encounter whose closest approach lies beyond `until` is found by the search that begins where this one ends, so that
/// splitting a coast loses none: the sphere is then entered at that later start, if its edge lies before it.
///
/// # Errors
/// An ephemeris that does not reach; a fall through the centre; interruption.
pub fn next_patch(
    orbit: &Orbit,
    until: Epoch,
    leaving: Option<&Body>,
    watch: &Watch<'_>,
) -> Result<Option<Patch>, MotionError> {
    let mut limit = until.seconds_since(orbit.epoch());
    if !(limit >= 0.0) {
        return Ok(None);
    }
    let exit = exit_time(orbit).filter(|exit| *exit <= limit);
    if let Some(exit) = exit {
        limit = exit;
    }
    let mut first: Option<Patch> = None;
    for child in orbit.body().children() {
        let leave_first = leaving == Some(&child);
        // The edge is crossed before the closest approach: look on for as long as a crossing of the sphere can take.
        let Some(met) = meet(orbit, &child, limit, leave_first, watch)? else { continue };
        let patch = Patch::inward(orbit, &met)?;
        let time = patch.epoch.seconds_since(orbit.epoch());
        if time <= limit && first.as_ref().is_none_or(|first| patch.epoch < first.epoch) {
            first = Some(patch);
        }
    }
    if watch.stopped() {
        return Err(MotionError::Interrupted);
    }
    match (first, exit, orbit.body().parent()) {
        (Some(patch), _, _) => Ok(Some(patch)),
        (None, Some(exit), Some(parent)) => Ok(Some(Patch::outward(orbit, parent, exit)?)),
        _ => Ok(None),
    }
}

/// When the craft leaves the sphere of the body it is about, s; `None` if it does not.
fn exit_time(orbit: &Orbit) -> Option<f64> {
    let sphere = orbit.body().sphere_of_influence();
    if !sphere.is_finite() {
        return None;
    }
    let climbs = orbit.state().position.dot(&orbit.state().velocity) >= 0.0;
    if orbit.radius() >= sphere && climbs {
        return Some(0.0);
    }
    time_to_radius(orbit.gm(), orbit.state(), sphere, Passage::Outbound)
}

/// The first encounter with a child whose sphere may be entered within `limit` s.
fn meet(
    orbit: &Orbit,
    child: &Body,
    limit: f64,
    leave_first: bool,
    watch: &Watch<'_>,
) -> Result<Option<Encounter>, MotionError> {
    let mut horizon = limit;
    let mut must_leave = leave_first;
    if limit > 0.0
        && let Some(met) = orbit.closest_between(child, (0.0, horizon), &mut must_leave, watch)?
    {
        return Ok(Some(met));
    }
    // The closest approach may lie beyond the limit while the edge lies before it. At the limit the craft is then within
    // a few radii of the sphere and closing in: go on until it opens again.
    let sphere = child.sphere_of_influence();
    for _ in 0..64 {
        if !reaches(orbit, horizon) {
            return Ok(None);
        }
        let relative = orbit.relative_to(child, horizon)?;
        let closing = relative.position.dot(&relative.velocity) < 0.0;
        if !closing || relative.radius() > 3.0 * sphere {
            return Ok(None);
        }
        let from = horizon;
        horizon += (relative.radius() / relative.speed()).max(1.0);
        if !reaches(orbit, horizon) {
            return Ok(None);
        }
        if let Some(met) = orbit.closest_between(child, (from, horizon), &mut must_leave, watch)? {
            return Ok(Some(met));
        }
    }
    Ok(None)
}

/// Whether the system knows its bodies' places that long after the orbit's epoch.
fn reaches(orbit: &Orbit, time: f64) -> bool {
    let Ok(epoch) = orbit.epoch().try_after(time) else { return false };
    orbit.body().system().span().is_none_or(|(first, last)| first <= epoch && epoch <= last)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::conic::{State, hyperbola};
    use crate::orbit::{Placement, Shape};
    use crate::system::{EphemerisChoice, System};
    use crate::vector::Vec3;

    fn velm() -> System {
        System::embedded("velm", EphemerisChoice::Default).expect("the embedded system is sound")
    }

    /// An arrival at Oru with v∞ 3.113 km/s keeps its energy of +4.85 km²/s²; handing place and velocity on at the edge of
    /// the sphere, where the escape speed is 3.750 km/s, would have found −2.87 and called the craft bound.
    #[test]
    fn a_slow_arrival_keeps_its_energy() {
        let system = velm();
        let oru = system.body("Oru").expect("Oru");
        let met_at = Epoch::parse("2142-06-20T00:00:00 TDB").expect("an epoch");
        let there = oru.state(met_at).expect("a place");
        let v_infinity = there.velocity.normalize() * -3113.0;
        let aim = v_infinity.cross(&Vec3::z()).normalize() * 1.2e9;
        let root = system.root();
        let meeting =
            Orbit::new(root, met_at, State::new(there.position + aim, there.velocity + v_infinity)).expect("an orbit");
        let start = meeting.after(-100.0 * 86_400.0).expect("the conic before");
        let patch = next_patch(&start, met_at.after(10.0 * 86_400.0), None, &Watch::none())
            .expect("a search")
            .expect("a patch");
        assert_eq!(patch.after.body(), &oru);
        let energy = patch.after.energy() / 1e6;
        // The closest approach lies a little beside the place where the two conics were joined, for the aim is 1.2 million
        // km and the paths are curved: half a per cent of v∞².
        assert!((energy - 4.845).abs() < 0.05, "{energy}");
        assert!(!patch.is_outward() && patch.periapsis_held().is_some());
    }

    /// Out by the asymptote and in again by it: v∞, aim and time come back.
    #[test]
    fn outward_then_inward_gives_the_asymptote_back() {
        let system = velm();
        let (veyra, root) = (system.body("Veyra").expect("Veyra"), system.root());
        let epoch = Epoch::parse("2141-07-22T00:00:00 TDB").expect("an epoch");
        let shape = Shape::Hyperbola { v_infinity: 2779.0, periapsis_radius: veyra.radius() + 180e3 };
        let place =
            Placement { inclination: 0.3, ascending_node: 1.0, argument_of_periapsis: 2.0, ..Placement::default() };
        let leaving = Orbit::shaped(&veyra, shape, place, epoch, &veyra.orbit_plane()).expect("a hyperbola");
        let patch = next_patch(&leaving, epoch.after(60.0 * 86_400.0), None, &Watch::none())
            .expect("a search")
            .expect("a patch");
        assert!(patch.is_outward() && patch.after.body() == &root);
        let outgoing = hyperbola::outgoing(leaving.gm(), leaving.state()).expect("an asymptote");
        let joined = patch.after.at(patch.periapsis_held().expect("held")).expect("the conic at periapsis");
        let there = veyra.state(epoch).expect("a place");
        let relative = State::new(joined.state().position - there.position, joined.state().velocity - there.velocity);
        // Two propagations over the weeks to the edge of the sphere, each with some roundings of 2.8e11 m and 30 km/s.
        assert!((relative.velocity - outgoing.v_infinity).norm() < 1e-7);
        assert!((relative.position - outgoing.aim).norm() < 1.0);
    }

    /// An arrival aimed at the centre itself, or a hair beside it, keeps v∞ and strikes the ground.
    #[test]
    fn an_aim_near_the_centre_keeps_v_infinity() {
        let system = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system is sound");
        let mars = system.body("Mars").expect("Mars");
        let met_at = Epoch::parse("2034-01-20T00:00:00 TDB").expect("an epoch");
        let there = mars.state(met_at).expect("a place");
        let v_infinity = there.velocity.normalize() * -2650.0;
        let across = v_infinity.cross(&Vec3::z()).normalize();
        for distance in [0.0, 1e-3, 1.0, 1e3, 1e5] {
            let relative = State::new(across * distance, v_infinity);
            let met = crate::orbit::Encounter { body: mars.clone(), time: 30.0 * 86_400.0, relative };
            let state = State::new(there.position + relative.position, there.velocity + relative.velocity);
            let from = Orbit::new(system.root(), met_at, state).expect("an orbit").after(-met.time).expect("before");
            let patch = Patch::inward(&from, &met).expect("a patch");
            let found = patch.after.v_infinity().expect("a hyperbola");
            // Some roundings, magnified by the share of the planet's pull in the energy at the edge.
            assert!((found - 2650.0).abs() < 1e-11 * 2650.0, "{distance}: {found}");
            assert!(patch.after.time_to_ground().expect("a time").is_some());
        }
    }

    /// Every closest approach that a fine scan finds is found, and no other.
    #[test]
    fn no_encounter_is_missed_against_a_fine_scan() {
        let system = velm();
        let oru = system.body("Oru").expect("Oru");
        let start = Epoch::parse("2142-01-01T00:00:00 TDB").expect("an epoch");
        let span = 60.0 * 86_400.0;
        let mut met = 0;
        for case in 0..40 {
            let turn = f64::from(case) * 0.61;
            let shape =
                Shape::Apsides { periapsis_radius: 3.0e8 + 2.0e7 * f64::from(case % 7), apoapsis_radius: 2.1e9 };
            let place = Placement {
                inclination: 0.002 * f64::from(case % 5),
                ascending_node: 0.3 * f64::from(case),
                argument_of_periapsis: turn,
                anomaly: crate::orbit::Anomaly::True(std::f64::consts::PI),
            };
            let orbit = Orbit::shaped(&oru, shape, place, start, &oru.orbit_plane()).expect("an orbit");
            for child in oru.children() {
                let found =
                    orbit.closest_inside(&child, span, false, &Watch::none()).expect("a search").map(|met| met.time);
                let scanned = scan(&orbit, &child, span);
                match (found, scanned) {
                    (Some(a), Some(b)) => assert!((a - b).abs() <= 60.0 + 1e-3, "{} {case}: {a} {b}", child.name()),
                    (a, b) => assert_eq!(a.is_some(), b.is_some(), "{} {case}: {a:?} {b:?}", child.name()),
                }
                met += usize::from(scanned.is_some());
            }
        }
        assert!(met > 10, "the cases hold too few encounters to show anything: {met}");
    }

    /// A step of 120 s moves a craft here by some 1500 km against its moon, a sixth of the smallest sphere that counts.
    fn scan(orbit: &Orbit, child: &Body, span: f64) -> Option<f64> {
        let rate = |time: f64| {
            let relative = orbit.relative_to(child, time).expect("a state");
            (relative.radius(), relative.position.dot(&relative.velocity))
        };
        let step = 120.0;
        let mut before = rate(0.0);
        for index in 1..=(span / step) as i64 {
            let time = step * index as f64;
            let now = rate(time);
            if before.1 < 0.0 && now.1 >= 0.0 && before.0.min(now.0) < child.sphere_of_influence() {
                return Some(time - step / 2.0);
            }
            before = now;
        }
        None
    }
}
