//! The capture over a span of departures: which day to leave, so that the moon stands right.

use super::{Assist, AssistError, AssistOptions, AssistRank, Incoming, capture_by, reshaping};
use crate::arc::lambert::{Branch, Way, solve_one};
use crate::arc::parking::Parking;
use crate::arc::{PlanError, departure};
use crate::numerics::{minimum, watch::Watch};
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;

/// The departures looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Departures {
    /// The sibling of the giant's that is left.
    pub body: Body,
    /// First and last epoch.
    pub between: (Epoch, Epoch),
    /// What is left there, for the price of the departure.
    pub parking: Parking,
}

/// A departure and the capture at its end.
pub type Departing = (f64, Assist);

/// Time between two looks at departures, s: over a day the place where the moon must stand moves by a small part of its orbit.
const STEP: f64 = 86_400.0;

/// Most looks at departures.
const MOST: usize = 200;

/// Captures by `moon` for a span of departures, the cheapest first, each with the Δv of its departure (m/s).
///
/// What ranks is the sum of the departure, the burns of the capture, and, where the options name a target orbit, the burns from the
/// captured orbit into it. Each valley of that sum over the departures is refined to the minute.
///
/// # Errors
/// As [`capture_by`]; where no departure of the span leads to a capture, what the first of them lacked.
pub fn capture_by_departing(
    giant: &Body,
    moon: &Body,
    departures: &Departures,
    options: &AssistOptions,
    watch: &Watch<'_>,
) -> Result<Vec<Departing>, AssistError> {
    let (from, to) = departures.between;
    if to < from {
        return Err(AssistError::Span { from, to });
    }
    let span = to.seconds_since(from);
    let looks = ((span / STEP).ceil() as usize).min(MOST);
    let at = |time: f64| best(giant, moon, departures, from.after(time), options, watch);
    let mut seen: Vec<(f64, f64)> = Vec::with_capacity(looks + 1);
    let mut refusal: Option<AssistError> = None;
    for k in 0..=looks {
        let time = if looks == 0 { 0.0 } else { span * k as f64 / looks as f64 };
        match at(time) {
            Ok(found) => seen.push((found.0, time)),
            Err(AssistError::Stopped) => return Err(AssistError::Stopped),
            Err(error) => {
                seen.push((f64::INFINITY, time));
                refusal = Some(nearer(refusal, error));
            }
        }
    }
    let step = if looks == 0 { 0.0 } else { span / looks as f64 };
    let mut valleys: Vec<(f64, f64)> = (0..seen.len())
        .filter(|&k| {
            let before = k.checked_sub(1).map_or(f64::INFINITY, |k| seen[k].0);
            let after = seen.get(k + 1).map_or(f64::INFINITY, |next| next.0);
            seen[k].0.is_finite() && seen[k].0 <= before && seen[k].0 < after
        })
        .map(|k| seen[k])
        .collect();
    valleys.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut found: Vec<(f64, Departing)> = Vec::new();
    for (cost, looked) in valleys.into_iter().take(options.most) {
        let mut time = looked;
        if step > 0.0 {
            let price = |t: f64| at(t).map_or(f64::INFINITY, |found| found.0);
            let (better, least) =
                minimum::bracketed(price, (looked - step).max(0.0), (looked + step).min(span), 3600.0);
            if least < cost {
                // Whole minutes: an epoch that a reader can type.
                time = ((better / 60.0).round() * 60.0).clamp(0.0, span);
            }
        }
        // Where the rounded minute captures no more, the look itself does.
        for time in [time, looked] {
            match at(time) {
                Ok(answer) if answer.0 <= cost + 1e-9 => {
                    found.push(answer);
                    break;
                }
                Err(AssistError::Stopped) => return Err(AssistError::Stopped),
                _ => {}
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    if found.is_empty() {
        let (giant, moon) = (giant.name().to_owned(), moon.name().to_owned());
        return Err(refusal.unwrap_or(AssistError::NotMet { giant, moon, least_radius_m: 0.0 }));
    }
    Ok(found.into_iter().map(|(_, departing)| departing).collect())
}

/// Of two refusals the one that lacks less.
fn nearer(known: Option<AssistError>, next: AssistError) -> AssistError {
    match (known, next) {
        (Some(AssistError::Unbound(a)), AssistError::Unbound(b)) => {
            AssistError::Unbound(if b.missing < a.missing { b } else { a })
        }
        (Some(known @ AssistError::Unbound(_)), _) => known,
        (None, next) | (Some(_), next @ AssistError::Unbound(_)) => next,
        (Some(known), _) => known,
    }
}

/// The cheapest capture of one departure: the sum that ranks, departure Δv, capture.
fn best(
    giant: &Body,
    moon: &Body,
    departures: &Departures,
    depart: Epoch,
    options: &AssistOptions,
    watch: &Watch<'_>,
) -> Result<(f64, Departing), AssistError> {
    let incoming = Incoming::From { body: departures.body.clone(), depart };
    let found = capture_by(giant, moon, &incoming, options, watch)?;
    let mut best: Option<(f64, Departing)> = None;
    for assist in found {
        let leaving = departure_dv(giant, departures, depart, &assist)?;
        let reshaped = match options.rank {
            AssistRank::Energy => 0.0,
            AssistRank::Target { periapsis_radius, apoapsis_radius } => {
                reshaping(assist.captured(), periapsis_radius, apoapsis_radius)
            }
        };
        let cost = leaving + assist.burns() + reshaped;
        if cost.is_finite() && best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, (leaving, assist)));
        }
    }
    let least_radius_m = options.bounds(giant, moon).least_radius;
    let (giant, moon) = (giant.name().to_owned(), moon.name().to_owned());
    best.ok_or(AssistError::NotMet { giant, moon, least_radius_m })
}

/// Δv (m/s) from the parking orbit onto the arc that arrives as the assist wants.
fn departure_dv(giant: &Body, departures: &Departures, depart: Epoch, assist: &Assist) -> Result<f64, AssistError> {
    let body = &departures.body;
    let (start, goal) = (body.state(depart)?, giant.state(assist.giant_periapsis)?);
    let Some(parent) = giant.parent() else {
        return Err(PlanError::Unrelated { from: body.name().to_owned(), to: giant.name().to_owned() }.into());
    };
    let seconds = assist.giant_periapsis.seconds_since(depart);
    let way = Way::Prograde(start.position.cross(&start.velocity));
    let far = goal.position + assist.giant_aim;
    let arc = solve_one(Orbit::gm_of(&parent), &start.position, &far, seconds, way, 0, Branch::Single)
        .map_err(|_| PlanError::NoArc { about: parent.name().to_owned(), days: seconds / 86_400.0 })?;
    Ok(departure(body, &departures.parking, body, arc.v1 - start.velocity, depart)?.dv())
}
