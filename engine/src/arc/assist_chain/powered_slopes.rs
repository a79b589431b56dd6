//! A chain with powered passes, and how its departure, passes and arrival change with every date.

use super::powered::{PoweredChain, powered};
use super::slopes::MovingStop;
use super::{ChainError, Stop};
use crate::arc::flyby::Flyby;
use crate::arc::lambert::Way;
use crate::conic::{State, transition};
use crate::vector::Vec3;

/// The chain and its derivatives by the date of departure (s) and the time of each leg (s), in this order.
#[derive(Clone, Debug, PartialEq)]
pub struct PoweredSlopes {
    /// As [`powered`] joins it.
    pub chain: PoweredChain,
    /// Change of the departure's excess velocity, m/s².
    pub departure: Vec<Vec3>,
    /// Change of each pass' signed burn (m/s²) and periapsis radius (m/s): a row for each pass.
    pub passes: Vec<Vec<(f64, f64)>>,
    /// Change of the arrival's excess velocity, m/s².
    pub arrival: Vec<Vec3>,
}

/// Joins the stops and differentiates the chain. Arguments as in [`powered`].
///
/// # Errors
/// As [`powered`]; derivatives that are not finite (an arc through the centre, or of exactly half a revolution).
///
/// # Source
/// The chain rule; the matrix of each arc by [`transition`].
pub fn powered_slopes(gm: f64, stops: &[MovingStop], times: &[f64], ways: &[Way]) -> Result<PoweredSlopes, ChainError> {
    let plain: Vec<Stop> = stops.iter().map(|moving| moving.stop).collect();
    let chain = powered(gm, &plain, times, ways)?;
    let (legs, unknowns) = (times.len(), times.len() + 1);
    // Change of the excess velocities at both ends of each leg.
    let (mut leaving, mut reaching) = (Vec::with_capacity(legs), Vec::with_capacity(legs));
    for index in 0..legs {
        let leg = index + 1;
        let (from, to) = (&stops[index], &stops[leg]);
        let start = State::new(from.stop.state.position, chain.arcs[index].v1);
        let arc = transition(gm, &start, times[index]).map_err(|why| ChainError::Coast { leg, why })?;
        let turned = arc.place_by_velocity.try_inverse().ok_or(ChainError::Slopes { leg })?;
        let end = &arc.end;
        let pull = -gm / end.position.norm().powi(3) * end.position;
        let (mut first, mut last) = (vec![Vec3::zeros(); unknowns], vec![Vec3::zeros(); unknowns]);
        for k in 0..=leg {
            let (began, longer) = (f64::from(k < leg), f64::from(k == leg));
            let v1 =
                turned * (to.rate.position - arc.place_by_place * from.rate.position * began - end.velocity * longer);
            let v2 = arc.velocity_by_place * from.rate.position * began + arc.velocity_by_velocity * v1 + pull * longer;
            first[k] = v1 - from.rate.velocity * began;
            last[k] = v2 - to.rate.velocity;
        }
        if !first.iter().chain(&last).all(|d| d.iter().all(|x| x.is_finite())) {
            return Err(ChainError::Slopes { leg });
        }
        leaving.push(first);
        reaching.push(last);
    }
    let mut passes = Vec::with_capacity(legs - 1);
    for (index, pass) in chain.passes.iter().enumerate() {
        let gm = stops[index + 1].stop.gm;
        let row: Vec<(f64, f64)> =
            (0..unknowns).map(|k| pass_slopes(gm, pass, &reaching[index][k], &leaving[index + 1][k])).collect();
        if !row.iter().all(|(a, b)| a.is_finite() && b.is_finite()) {
            return Err(ChainError::Slopes { leg: index + 2 });
        }
        passes.push(row);
    }
    Ok(PoweredSlopes { departure: leaving.swap_remove(0), arrival: reaching.swap_remove(legs - 1), passes, chain })
}

/// Change of the burn and the periapsis radius of a pass for changes of its excess velocities.
fn pass_slopes(gm: f64, pass: &Flyby, v_in: &Vec3, v_out: &Vec3) -> (f64, f64) {
    let (a, b, radius) = (pass.v_in.norm(), pass.v_out.norm(), pass.periapsis_radius);
    let (along_in, along_out) = (pass.v_in / a, pass.v_out / b);
    let (d_a, d_b) = (along_in.dot(v_in), along_out.dot(v_out));
    let d_in = (v_in - along_in * d_a) / a;
    let d_out = (v_out - along_out * d_b) / b;
    let sine = along_in.cross(&along_out).norm();
    let d_turn = -(d_in.dot(&along_out) + along_in.dot(&d_out)) / sine;
    // Half the turn of one hyperbola is asin(1/e) with e = 1 + k: its change by k.
    let by_k = |k: f64| -1.0 / ((1.0 + k) * (k * (2.0 + k)).sqrt());
    let (k_in, k_out) = (radius * a * a / gm, radius * b * b / gm);
    let (g_in, g_out) = (by_k(k_in), by_k(k_out));
    let by_speeds = g_in * 2.0 * radius * a / gm * d_a + g_out * 2.0 * radius * b / gm * d_b;
    let by_radius = g_in * a * a / gm + g_out * b * b / gm;
    let d_radius = (d_turn - by_speeds) / by_radius;
    let escape = 2.0 * gm / radius;
    let (before, after) = ((a * a + escape).sqrt(), (b * b + escape).sqrt());
    let fall = escape / radius * d_radius;
    ((b * d_b - 0.5 * fall) / after - (a * d_a - 0.5 * fall) / before, d_radius)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn body(radius: f64, phase: f64, date: f64) -> MovingStop {
        let rate = radius.powf(-1.5);
        let (s, c) = (phase + rate * date).sin_cos();
        let (x, y) = (Vec3::new(1.0, 0.0, 0.05), Vec3::new(0.0, 1.0, -0.02));
        let place = radius * (c * x + s * y);
        let velocity = radius * rate * (c * y - s * x);
        MovingStop {
            stop: Stop { state: State::new(place, velocity), gm: 1e-5 },
            rate: State::new(velocity, -rate * rate * place),
        }
    }

    fn join(x: &[f64; 4]) -> PoweredSlopes {
        let dates = [x[0], x[0] + x[1], x[0] + x[1] + x[2], x[0] + x[1] + x[2] + x[3]];
        let stops = [(1.0, 0.0), (0.7, 1.9), (1.5, 2.0), (2.4, 2.5)];
        let stops: Vec<MovingStop> = stops.iter().zip(dates).map(|((r, p), date)| body(*r, *p, date)).collect();
        powered_slopes(1.0, &stops, &x[1..], &[Way::Prograde(Vec3::new(0.0, 0.0, 1.0)); 3]).unwrap()
    }

    #[test]
    fn slopes_are_those_of_differences() {
        let x = [0.3, 1.9, 2.6, 4.1];
        let here = join(&x);
        for k in 0..4 {
            // Central differences: third derivatives times the step squared, and roundings over the step, stay below a millionth.
            let step = 1e-6 * x[k];
            let [low, high] = [-step, step].map(|by| {
                let mut moved = x;
                moved[k] += by;
                join(&moved).chain
            });
            let near = |slope: f64, low: f64, high: f64, what: &str| {
                let differences = (high - low) / (2.0 * step);
                assert!(
                    (slope - differences).abs() < 1e-6 * differences.abs().max(1e-2),
                    "{what} by {k}: {slope} {differences}"
                );
            };
            for i in 0..3 {
                near(here.departure[k][i], low.departure[i], high.departure[i], "departure");
                near(here.arrival[k][i], low.arrival[i], high.arrival[i], "arrival");
            }
            for pass in 0..2 {
                let (low, high) = (&low.passes[pass], &high.passes[pass]);
                near(here.passes[pass][k].0, low.burn, high.burn, "burn");
                // Radii are of the order of 1e-5, the gravitational parameters of the bodies.
                near(1e4 * here.passes[pass][k].1, 1e4 * low.periapsis_radius, 1e4 * high.periapsis_radius, "radius");
            }
        }
    }
}
