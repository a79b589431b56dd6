//! The answer that a place of the search stands for: matched, checked against its bounds, flown.

use super::TourError;
use super::answer::{AtBound, PassResidual, Residuals, Tour, TourLeg, TourPass};
use super::chain::Chain;
use super::flown;
use super::matched::{Matched, arrival_state, matched};
use crate::arc::capture::capture_burn;
use crate::arc::flyby;
use crate::arc::plan_error::PlanError;
use crate::arc::shoot::Aim;
use crate::arc::transfer::DAY;
use crate::conic::propagate;
use crate::numerics::global::Found;
use crate::numerics::watch::Watch;
use crate::orbit::Orbit;
use crate::system::Body;
use crate::time::Epoch;
use crate::vector::Vec3;

/// What a bound may be passed by for roundings: a metre, a second.
const SLACK: f64 = 1.0;

/// The tour of a place of the search.
pub(super) fn answer(
    chain: &Chain<'_>,
    found: &Found,
    evaluations: usize,
    watch: &Watch<'_>,
) -> Result<Tour, TourError> {
    let matched = matched(chain, &found.x, watch)?;
    let (legs, passes) = (legs(chain, &matched)?, passes(chain, &matched));
    refuse(chain, &matched, &passes)?;
    let path = &matched.path;
    let at_bounds = at_bounds(chain, &matched.x);
    let departure_dv = matched.departure.dv();
    let insertion = match chain.options.arrival {
        Some(wanted) => {
            let arrive = legs.last().map_or(chain.options.between.0, |leg| leg.arrive);
            let at =
                Orbit::new(chain.last().clone(), arrive, arrival_state(chain, &matched)?).map_err(PlanError::from)?;
            Some(capture_burn(&at, wanted)?.0)
        }
        None => None,
    };
    let arrival_dv = insertion.as_ref().map_or(0.0, crate::burn::Burn::size);
    let dv = departure_dv + path.course_dv + arrival_dv;
    if let Some(most) = chain.options.most_dv.filter(|most| dv > *most) {
        let words: Vec<String> = at_bounds
            .iter()
            .map(|one| format!("{} at its {} bound", one.what, if one.upper { "upper" } else { "lower" }))
            .collect();
        let at_bounds = if words.is_empty() { String::new() } else { format!(" ({})", words.join(", ")) };
        return Err(TourError::TooMuch { dv_m_s: dv, over_m_s: dv - most, at_bounds });
    }
    let aims: Vec<Aim> =
        legs.iter().map(|leg| aim_at(&leg.to, &leg.v_inf_arrive, &leg.aim_offset, leg.arrive)).collect();
    let flown = flown::fly(&matched.departure, &legs, &passes, &aims, chain.options.arrival, watch);
    let mut residuals = Residuals::default();
    for leg in &legs {
        residuals.place = residuals.place.max(leg.miss);
    }
    for pass in &passes {
        residuals.turn = residuals.turn.max(pass.residual.turn.abs());
        if pass.burn == 0.0 {
            residuals.speed = residuals.speed.max(pass.residual.speed.abs());
        }
    }
    Ok(Tour {
        itinerary: chain.itinerary.clone(),
        residuals,
        legs,
        passes,
        insertion,
        aims,
        v_inf_depart: path.departure,
        v_inf_arrive: path.arrival,
        departure_dv,
        course_dv: path.course_dv,
        arrival_dv,
        dv,
        patched_dv: found.cost,
        flown,
        at_bounds,
        rivals: Vec::new(),
        pruned: 0,
        evaluations: evaluations + matched.evaluations,
        stop: found.stop,
        departure: matched.departure,
    })
}

/// The point of the B-plane that a leg ends in, and when, as an aim to shoot at.
fn aim_at(body: &Body, v_infinity: &Vec3, offset: &Vec3, epoch: Epoch) -> Aim {
    let pole = body.pole(epoch);
    // Along the pole T has no direction; any fixed one serves.
    let steep = v_infinity.cross(&pole).norm() < 1e-6 * v_infinity.norm();
    let pole = if steep { pole.cross(&Vec3::x()).normalize() } else { pole };
    let s = v_infinity.normalize();
    let t = s.cross(&pole).normalize();
    let r = s.cross(&t);
    Aim::BPlane { body: body.clone(), bt: offset.dot(&t), br: offset.dot(&r), pole: Some(pole), epoch: Some(epoch) }
}

/// The legs, each flown again from its start to its aim.
fn legs(chain: &Chain<'_>, matched: &Matched) -> Result<Vec<TourLeg>, TourError> {
    let epochs = chain.epochs(&matched.x);
    let velocity = |index: usize| chain.body(index).state(epochs[index]).map_err(PlanError::from);
    let mut legs = Vec::new();
    for (index, leg) in matched.path.legs.iter().enumerate() {
        let (depart, arrive) = (epochs[index], epochs[index + 1]);
        let missed = |why: crate::conic::ConicError| TourError::Nowhere { why: why.to_string() };
        let mut at = leg.start;
        let mut rest = matched.x[index + 1];
        if let Some((coast, dv)) = leg.burn {
            at = propagate(chain.gm, &at, coast).map_err(missed)?;
            at.velocity += dv;
            rest -= coast;
        }
        let end = propagate(chain.gm, &at, rest).map_err(missed)?;
        let (from, to) = (velocity(index)?, velocity(index + 1)?);
        legs.push(TourLeg {
            from: chain.body(index).clone(),
            to: chain.body(index + 1).clone(),
            kind: chain.itinerary.kinds[index],
            revolutions: leg.revolutions,
            depart,
            arrive,
            start: leg.start,
            burn: leg.burn.map(|(coast, dv)| (depart.after(coast), dv)),
            end_velocity: leg.end_velocity,
            aim_offset: matched.offsets.end[index],
            v_inf_depart: leg.start.velocity - from.velocity,
            v_inf_arrive: leg.end_velocity - to.velocity,
            miss: (end.position - to.position - matched.offsets.end[index]).norm().max(matched.closure),
        });
    }
    Ok(legs)
}

fn passes(chain: &Chain<'_>, matched: &Matched) -> Vec<TourPass> {
    let epochs = chain.epochs(&matched.x);
    let pass = |(index, pass): (usize, &flyby::Flyby)| {
        let body = chain.body(index + 1).clone();
        let half = |v: &Vec3| {
            flyby::turn_angle(body.gm(), v.norm(), pass.periapsis_radius).map_or(f64::NAN, |turn| 0.5 * turn)
        };
        let bend = pass.v_in.cross(&pass.v_out).norm().atan2(pass.v_in.dot(&pass.v_out));
        let (least, most) = chain.radii[index];
        let outside = (least - pass.periapsis_radius).max(pass.periapsis_radius - most).max(0.0);
        TourPass {
            epoch: epochs[index + 1],
            altitude: pass.altitude_above(body.radius()),
            turn: pass.turn_angle,
            v_in: pass.v_in,
            v_out: pass.v_out,
            burn: pass.burn,
            gain: pass.dv(),
            residual: PassResidual {
                speed: pass.v_out.norm() - pass.v_in.norm(),
                turn: bend - half(&pass.v_in) - half(&pass.v_out),
                altitude: outside,
            },
            body,
        }
    };
    matched.path.passes.iter().enumerate().map(pass).collect()
}

/// Says which bound the best place found does not keep.
fn refuse(chain: &Chain<'_>, matched: &Matched, passes: &[TourPass]) -> Result<(), TourError> {
    for (index, pass) in passes.iter().enumerate() {
        let (least, most) = chain.radii[index];
        let radius = pass.altitude + pass.body.radius();
        let (body, number) = (pass.body.name().to_string(), index + 1);
        if least - radius > SLACK {
            let why = floor_words(chain, index);
            let least_m = least - pass.body.radius();
            return Err(TourError::TooLow { body, pass: number, why, least_m, short_by_m: least - radius });
        }
        if radius - most > SLACK {
            return Err(TourError::TooHigh {
                body,
                pass: number,
                most_m: most - pass.body.radius(),
                over_by_m: radius - most,
            });
        }
    }
    let excess = matched.path.departure.norm();
    if let Some(most) = chain.options.most_excess.filter(|most| excess > most * 1.001) {
        return Err(TourError::TooFast {
            from: chain.body(0).name().to_string(),
            most_m_s: most,
            over_m_s: excess - most,
        });
    }
    let late = chain.late(&matched.x);
    if late > SLACK {
        return Err(TourError::Late { to: chain.last().name().to_string(), late_d: late / DAY });
    }
    Ok(())
}

/// What the least altitude of a pass comes from.
fn floor_words(chain: &Chain<'_>, pass: usize) -> &'static str {
    let body = chain.body(pass + 1);
    let floor = chain.radii[pass].0 - body.radius();
    let near = |height: f64| (floor - height).abs() < SLACK;
    match (body.ring(), body.air()) {
        (Some(ring), _) if near(ring.outer - body.radius()) => "the outer edge of the ring",
        (_, Some(air)) if near(air.top()) => "the top of the air",
        _ => "the least altitude",
    }
}

fn at_bounds(chain: &Chain<'_>, x: &[f64]) -> Vec<AtBound> {
    let name = |leg: usize| chain.body(leg).name();
    let near = |(index, (x, (low, high))): (usize, (&f64, &(f64, f64)))| {
        let rim = 1e-4 * (high - low);
        let upper = high - x <= rim;
        (high > low && (upper || x - low <= rim)).then(|| AtBound { what: chain.layout.words(index, name), upper })
    };
    x.iter().zip(&chain.layout.bounds).enumerate().filter_map(near).collect()
}
