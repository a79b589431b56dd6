//! What a moon's pass could save at the arrival.

use super::{Alternative, BudgetError, JourneyOptions};
use crate::arc::asymptote::speed_at;
use crate::arc::window::Window;
use crate::arc::{ArrivalOrbit, Assist, AssistError, AssistOptions, AssistRank, Incoming, capture_by};
use crate::burn::hohmann::apse_speed;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;

/// How many moons are tried, the heaviest first.
const MOONS: usize = 3;

/// What a pass must save to be told, as a part of the capture.
const WORTH: f64 = 0.01;

/// For an arrival at a giant with moons, or at one of its moons: captures by each of the (other) heavy moons.
///
/// # Errors
/// Interruption.
pub(super) fn alternatives(
    from: &Body,
    to: &Body,
    options: &JourneyOptions,
    outward: &Window,
    captured: f64,
    watch: &Watch<'_>,
) -> Result<Vec<Alternative>, BudgetError> {
    let sibling = |giant: &Body| giant.parent().is_some() && giant.parent() == from.parent();
    let giant = if sibling(to) {
        to.clone()
    } else {
        match to.parent().filter(sibling) {
            Some(giant) => giant,
            None => return Ok(Vec::new()),
        }
    };
    let mut moons: Vec<Body> =
        giant.moons().into_iter().filter(|moon| moon != to && moon.sphere_of_influence() > moon.radius()).collect();
    moons.sort_by(|a, b| b.gm().total_cmp(&a.gm()));
    let mut found = Vec::new();
    for moon in moons.into_iter().take(MOONS) {
        let Some(month) = moon.orbital_period() else { continue };
        let (leave, meet) = outward.dates;
        let mut asked = AssistOptions::new((meet.after(-0.5 * month), meet.after(0.5 * month)));
        asked.most = 4;
        if *to == giant {
            let (periapsis_radius, apoapsis_radius) = radii(to, &options.arrival);
            asked.rank = AssistRank::Target { periapsis_radius, apoapsis_radius };
        } else if let Some(axis) = to.semi_major_axis() {
            asked.rank =
                AssistRank::Target { periapsis_radius: axis, apoapsis_radius: 0.3 * giant.sphere_of_influence() };
        }
        let incoming = Incoming::From { body: from.clone(), depart: leave };
        let name = format!("assist by {}", moon.name());
        let replaces = vec![format!("capture at {}", to.name())];
        match capture_by(&giant, &moon, &incoming, &asked, watch) {
            Ok(all) => {
                let Some(best) = all.first() else { continue };
                let Some((dv, how)) = cost(to, &giant, &options.arrival, best) else { continue };
                found.push(Alternative { name, replaces, dv, saves: captured - dv, how });
            }
            Err(AssistError::Stopped) => return Err(AssistError::Stopped.into()),
            Err(AssistError::Unbound(short)) if *to == giant => {
                // One pass slows the approach; the burn at periapsis does the rest.
                let near = options.arrival.periapsis_radius(to);
                let slower = (2.0 * short.energy_after).max(0.0).sqrt();
                let dv = speed_at(Orbit::gm_of(to), slower, near) - options.arrival.periapsis_speed(to);
                let how = format!(
                    "one pass does not capture: at best v-infinity falls from {:.3} to {:.3} km/s, and the burn at periapsis to {dv:.0} m/s; an \
                     upper bound of what it saves",
                    short.v_infinity / 1e3,
                    slower / 1e3
                );
                // A moon too light to tell is no alternative.
                if captured - dv > WORTH * captured {
                    found.push(Alternative { name, replaces, dv, saves: captured - dv, how });
                }
            }
            // A moon that is not met, or whose pass binds nothing, is no alternative.
            Err(_) => {}
        }
    }
    Ok(found)
}

/// Periapsis and apoapsis radius of an orbit, m.
fn radii(body: &Body, orbit: &ArrivalOrbit) -> (f64, f64) {
    let near = orbit.periapsis_radius(body);
    match *orbit {
        ArrivalOrbit::Circular { .. } => (near, near),
        ArrivalOrbit::Ellipse { apoapsis_altitude, .. } => (near, body.radius() + apoapsis_altitude),
    }
}

/// From the orbit that a pass leaves to the one wanted, about the giant or about the moon that is the goal: Δv (m/s) and how.
fn cost(to: &Body, giant: &Body, arrival: &ArrivalOrbit, assist: &Assist) -> Option<(f64, String)> {
    let gm = Orbit::gm_of(giant);
    let orbit = assist.captured();
    let (near, far) = (orbit.periapsis_radius(), orbit.apoapsis_radius()?);
    let pass = format!(
        "pass {:.0} km up on {} captures {} into {:.0} by {:.0} km",
        assist.altitude() / 1e3,
        assist.epoch.show().chars().take(10).collect::<String>(),
        if assist.burns() > 0.0 { format!("with {:.0} m/s", assist.burns()) } else { "for nothing".to_owned() },
        near / 1e3,
        far / 1e3
    );
    if to == giant {
        let (low, high) = radii(to, arrival);
        let up = (apse_speed(gm, far, low) - apse_speed(gm, far, near)).abs();
        let down = (apse_speed(gm, low, high) - apse_speed(gm, low, far)).abs();
        let dv = assist.burns() + up + down;
        return Some((dv, format!("{pass}; then {up:.0} and {down:.0} m/s at the apsides")));
    }
    let ring = to.semi_major_axis()?;
    if ring > far {
        return None;
    }
    let aim = (apse_speed(gm, far, ring) - apse_speed(gm, far, near)).abs();
    let excess = (apse_speed(gm, ring, far) - (gm / ring).sqrt()).abs();
    let insertion = speed_at(Orbit::gm_of(to), excess, arrival.periapsis_radius(to)) - arrival.periapsis_speed(to);
    let how = format!(
        "{pass}; {aim:.0} m/s at apoapsis to touch {}'s orbit, v-infinity there {:.3} km/s, insertion {insertion:.0} m/s; in one plane and \
         phased, see `meet`",
        to.name(),
        excess / 1e3
    );
    Some((assist.burns() + aim + insertion, how))
}
