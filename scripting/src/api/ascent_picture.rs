//! The picture of an ascent: the engine's profile of a flight, in the units that a reader expects.

use visviva_engine::quantity::Quantity;
use visviva_engine::voyage::{FlightProfile, ProfilePoint, Voyage};

use super::fault::Fault;
use super::handle::refused;
use super::table::date;
use crate::view::profile::{Event, Panel, Profile};

/// One quantity of all phases, as lines over time.
fn lines(profile: &FlightProfile, value: impl Fn(&ProfilePoint) -> f64) -> Vec<Vec<(f64, f64)>> {
    profile.phases.iter().map(|phase| phase.iter().map(|point| (point.time, value(point))).collect()).collect()
}

/// Of a flight that mostly coasts, a tenth of the climb is shown of the coast; what comes later is told in words.
const OF_COAST: f64 = 1.1;

/// When the picture ends, s: with the flight, or soon after the climb where a longer coast follows it.
fn shown_until(profile: &FlightProfile) -> f64 {
    let end = profile.phases.iter().flatten().map(|point| point.time).fold(0.0, f64::max);
    for phase in &profile.phases {
        let (Some(first), Some(last)) = (phase.first(), phase.last()) else { continue };
        let coasts = phase.iter().all(|point| point.sight.throttle == 0.0);
        if coasts && first.time > 0.0 && last.time - first.time > first.time {
            return OF_COAST * first.time;
        }
    }
    end
}

/// A height without the rounding of the ground's own, m.
fn level(height: f64) -> f64 {
    if height.abs() < 1e-3 { 0.0 } else { height }
}

/// The greatest of a quantity, marked.
fn peak(lines: &[Vec<(f64, f64)>], text: impl Fn(f64) -> String) -> Option<(f64, f64, String)> {
    let top = lines.iter().flatten().copied().reduce(|a, b| if b.1 > a.1 { b } else { a })?;
    (top.1 > 0.0).then(|| (top.0, top.1, text(top.1)))
}

/// The picture of a voyage's first flight.
pub(super) fn drawn(voyage: &Voyage) -> Result<Profile, Fault> {
    let mut profile = voyage.flight_profile().map_err(|error| refused(&error).at(1))?;
    let km = 1e-3;
    let until = shown_until(&profile);
    for phase in &mut profile.phases {
        phase.retain(|point| point.time <= until);
    }
    profile.phases.retain(|phase| !phase.is_empty());
    let (events, later): (Vec<_>, Vec<_>) = profile.events.iter().partition(|event| event.point.time <= until);
    let panel = |title: &str, unit, value: &dyn Fn(&ProfilePoint) -> f64| Panel {
        title: title.to_owned(),
        unit,
        lines: lines(&profile, value),
        dashed: Vec::new(),
        peak: None,
    };
    let mut speed = panel("speed: inertial, and through the air in dashes", "km/s", &|point| point.speed * km);
    speed.dashed = lines(&profile, |point| point.sight.air_speed * km);
    let mut pressure = panel("dynamic pressure", "kPa", &|point| point.sight.dynamic_pressure * km);
    pressure.peak = peak(&pressure.lines, |value| format!("{value:.1} kPa"));
    let mut felt = panel("felt acceleration", "m/s²", &|point| point.sight.felt);
    felt.peak = peak(&felt.lines, |value| format!("{value:.1} m/s²"));
    let mass = panel("mass", "t", &|point| point.sight.mass * km);
    let throttle = panel("throttle", "share of full thrust", &|point| point.sight.throttle);
    let events = events
        .into_iter()
        .map(|event| {
            let point = &event.point;
            Event {
                time: point.time,
                at: (point.along * km, level(point.sight.height) * km),
                what: event.what.clone(),
                detail: format!(
                    "{} up, {}, {:.2} t",
                    Quantity::length(level(point.sight.height)).show(),
                    Quantity::speed(point.speed).show(),
                    point.sight.mass * km
                ),
            }
        })
        .collect();
    let mut notes = Vec::new();
    if !later.is_empty() {
        let told: Vec<String> = later.iter().map(|event| format!("{:.1} s {}", event.point.time, event.what)).collect();
        notes.push(format!("after the coast: {}", told.join(", ")));
    }
    let speed_text = |value: f64| format!("{value:.0}");
    let sum = |pick: fn(&visviva_engine::motion::passage::Accounts) -> f64| -> f64 {
        profile.accounts.iter().map(|(_, accounts)| pick(accounts)).sum()
    };
    let ideal = sum(|a| a.ideal);
    if ideal > 0.0 {
        notes.push(format!(
            "ideal {} m/s; lost to gravity {}, drag {}, steering {}, pressure {}",
            speed_text(ideal),
            speed_text(sum(|a| a.gravity)),
            speed_text(sum(|a| a.drag)),
            speed_text(sum(|a| a.steering)),
            speed_text(sum(|a| a.pressure)),
        ));
    }
    Ok(Profile {
        title: format!("{}: ascent from {}", voyage.name(), profile.body.name()),
        subtitle: format!("begins {}; inertial speed, height above the ellipsoid", date(profile.start)),
        path: profile.phases.iter().flatten().map(|point| (point.along * km, level(point.sight.height) * km)).collect(),
        panels: vec![speed, pressure, felt, mass, throttle],
        events,
        notes,
    })
}

#[cfg(test)]
mod tests {
    use visviva_engine::conic::State;
    use visviva_engine::motion::force::{Attitude, Craft, Drag, Quantity as Of, Stop, Surroundings, Throttle, Thrust};
    use visviva_engine::motion::passage;
    use visviva_engine::motion::{Crossing, Point};
    use visviva_engine::numerics::watch::Watch;
    use visviva_engine::orbit::Orbit;
    use visviva_engine::system::{EphemerisChoice, Site, System};
    use visviva_engine::vehicle::Vehicle;
    use visviva_engine::voyage::{ForcedFlight, Happening};

    use super::*;

    /// Two stages off the ground of Veyra, by a plain programme.
    fn climbed() -> Voyage {
        let system = System::embedded("velm", EphemerisChoice::Default).expect("velm");
        let site = Site::new(&system.body("Veyra").expect("Veyra"), 0.1, 0.5, 0.0).expect("a site");
        let epoch = system.epoch();
        let (state, around) = (site.state(epoch), Surroundings::of(site.body(), epoch));
        let (east, _, up) = site.horizon(epoch);
        let vehicle = |dry, propellant| Vehicle::new("climber", dry, propellant, 350.0, None).expect("a vehicle");
        let mut voyage = Voyage::on_site("climber", vehicle(5e3, 35e3), site, epoch).expect("a voyage");
        let craft = |vacuum, attitude| Craft {
            thrust: Some(Thrust {
                vacuum,
                exit_area: 0.4,
                exhaust_speed: 3400.0,
                throttle: Throttle::Share(1.0),
                attitude,
            }),
            drag: Some(Drag::ballistic(5.0)),
        };
        let (p, v) = (state.position, state.velocity);
        let mut at = Point { time: 0.0, position: [p.x, p.y, p.z, 0.0], velocity: [v.x, v.y, v.z, 40e3] };
        let parts = [
            (craft(450e3, Attitude::Up), Of::Height(600.0), Crossing::Rising, "tilt", 0.0),
            (
                craft(450e3, Attitude::fixed(up * 0.998 + east * 0.05)),
                Of::Height(2e3),
                Crossing::Rising,
                "turn along the air",
                0.0,
            ),
            (craft(450e3, Attitude::AlongAir { sign: 1.0 }), Of::Mass(15e3), Crossing::Falling, "lower stage off", 3e3),
            (craft(120e3, Attitude::Along { sign: 1.0 }), Of::Mass(4e3), Crossing::Falling, "", 0.0),
        ];
        let (mut flown, mut happenings): (Option<passage::Flown>, Vec<Happening>) = (None, Vec::new());
        for (craft, quantity, crossing, what, dropped) in parts {
            let stops = [Stop::ending(quantity, crossing)];
            let part = passage::fly(&around, &craft, at, 2e3, 1e-10, &stops, &Watch::none()).expect("a flight");
            at = part.end;
            at.velocity[3] -= dropped;
            if !what.is_empty() {
                happenings.push(Happening { time: part.end.time, what: what.to_owned(), dropped });
            }
            match &mut flown {
                Some(flown) => flown.join(part),
                None => flown = Some(part),
            }
        }
        let flown = flown.expect("a flight");
        let flight = ForcedFlight {
            name: "climb",
            clock: epoch,
            around: &around,
            flown: &flown,
            tolerance: 1e-10,
            happenings,
            left: Vec::new(),
            vehicle: vehicle(2e3, 2e3),
            dv: None,
            estimate: None,
            fineness: None,
            audit: Vec::new(),
        };
        assert_eq!(voyage.orbit(), &Orbit::new(voyage.body().clone(), epoch, State::new(p, v)).expect("an orbit"));
        voyage.enter_flown(flight).expect("a leg");
        voyage
    }

    #[test]
    fn the_picture_names_what_happened() {
        let svg = drawn(&climbed()).expect("a picture").draw();
        for text in
            ["tilt", "lower stage off", "end of climb", "dynamic pressure, kPa", "lost to gravity", "height, km"]
        {
            assert!(svg.contains(text), "{text}");
        }
        assert!(!svg.contains("NaN"));
    }
}
