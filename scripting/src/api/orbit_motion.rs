//! Along an orbit: at an epoch, after a time, at what comes next, after a burn.

use visviva_engine::burn::Burn;
use visviva_engine::orbit::{Event, Orbit};
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, EPOCH, Kind, LENGTH, ORBIT, TIME};
use super::refusal::no_orbit;
use super::value;
use crate::diagnostic::nearest::nearest;

/// The events that scripts name, and the dimension of what some of them need.
const EVENTS: [(&str, Option<Dimension>); 9] = [
    ("periapsis", None),
    ("apoapsis", None),
    ("ascending node", None),
    ("descending node", None),
    ("altitude", Some(Dimension::LENGTH)),
    ("radius", Some(Dimension::LENGTH)),
    ("radius outbound", Some(Dimension::LENGTH)),
    ("radius inbound", Some(Dimension::LENGTH)),
    ("true anomaly", Some(Dimension::ANGLE)),
];

/// An event by its name, with the figure that it needs. Faults point at argument 0 (the name) and 1 (the figure).
pub(super) fn event(name: &str, figure: Option<Quantity>) -> Result<Event, Fault> {
    let Some((_, needs)) = EVENTS.iter().find(|(known, _)| *known == name) else {
        let fault = Fault::new(format!("an orbit has no event `{name}`")).at(0);
        let names = EVENTS.map(|(known, _)| known);
        return Err(match nearest(name, names) {
            Some(near) => fault.note(format!("did you mean \"{near}\"?")),
            None => fault,
        }
        .help(format!("the events are {}", names.join(", "))));
    };
    let si = match (needs, figure) {
        (None, None) => 0.0,
        (None, Some(_)) => return Err(Fault::new(format!("`{name}` takes no figure")).at(1)),
        (Some(dimension), Some(figure)) if figure.dimension == *dimension => figure.value,
        (Some(dimension), other) => {
            let wanted = value::describe_dimension(*dimension);
            let example = if *dimension == Dimension::ANGLE { "90.deg" } else { "7000.km" };
            let fault = Fault::new(format!("`{name}` needs {wanted}")).help(format!("write (\"{name}\", {example})"));
            return Err(fault.at(usize::from(other.is_some())));
        }
    };
    Ok(match name {
        "periapsis" => Event::Periapsis,
        "apoapsis" => Event::Apoapsis,
        "ascending node" => Event::AscendingNode,
        "descending node" => Event::DescendingNode,
        "altitude" => Event::Altitude(si),
        "radius" => Event::Radius(si),
        "radius outbound" => Event::RadiusOutbound(si),
        "radius inbound" => Event::RadiusInbound(si),
        _ => Event::TrueAnomaly(si),
    })
}

fn given_event(given: &Given) -> Result<Event, Fault> {
    let figure = if given.has(1) { Some(given.scalar(1)?) } else { None };
    event(&given.text(0)?, figure)
}

const EVENT: &[Parameter] = &[
    Parameter::new(
        "event",
        Kind::Text,
        "\"periapsis\", \"apoapsis\", \"ascending node\", \"descending node\", \"altitude\", \"radius\", \"radius outbound\", \
         \"radius inbound\", \"true anomaly\"",
    ),
    Parameter::optional(
        "figure",
        Kind::Either(&[LENGTH, ANGLE]),
        "the altitude, radius or anomaly, where one is meant",
    ),
];

/// The definitions of motion along an orbit.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The same conic with the craft where it is at an epoch.",
        parameters: &[Parameter::new("epoch", EPOCH, "before or after the orbit's own")],
        returns: (ORBIT, "by the two-body law: encounters are a voyage's matter"),
        source: Some("universal variables, [Battin1999], section 4.5"),
        see_also: &["Orbit.after", "Orbit.next"],
        examples: &[Example::close(
            "let o = circular(system(\"sol\").Earth, 300.km); o.at(o.epoch + 1.hours).altitude",
            "300.km",
            "1.m",
        )],
        ..Definition::method("Orbit", "at", |given| {
            let orbit = given.this::<Orbit>()?.at(given.epoch(0)?);
            orbit.map(value::noun).map_err(|error| no_orbit(&error).at(0))
        })
    },
    Definition {
        summary: "The same conic with the craft where it is after a time.",
        parameters: &[Parameter::new("time", TIME, "negative for earlier")],
        returns: (ORBIT, "by the two-body law: encounters are a voyage's matter"),
        source: Some("universal variables, [Battin1999], section 4.5"),
        see_also: &["Orbit.at", "Orbit.next"],
        examples: &[Example::close(
            "let o = orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, eccentricity: 0.1 }); \
             o.after(o.period / 2).true_anomaly",
            "180.deg",
            "1e-6.deg",
        )],
        ..Definition::method("Orbit", "after", |given| {
            let orbit = given.this::<Orbit>()?.after(given.time(0)?);
            orbit.map(value::noun).map_err(|error| no_orbit(&error).at(0))
        })
    },
    Definition {
        summary: "The same conic with the craft at what comes next; an event that it stands on is passed over.",
        parameters: EVENT,
        returns: (ORBIT, "an event that never comes is an error"),
        see_also: &["Orbit.time_to", "Orbit.after"],
        examples: &[
            Example::close(
                "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, apoapsis_altitude: 900.km }).next(\"apoapsis\").altitude",
                "900.km",
                "1.mm",
            ),
            Example::close(
                "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, apoapsis_altitude: 900.km })\
                 .next(\"altitude\", 600.km).altitude",
                "600.km",
                "1.m",
            ),
        ],
        ..Definition::method("Orbit", "next", |given| {
            let orbit = given.this::<Orbit>()?.next(given_event(given)?);
            orbit.map(value::noun).map_err(|error| no_orbit(&error).at(0))
        })
    },
    Definition {
        summary: "The time until the next such event.",
        parameters: EVENT,
        returns: (TIME, "an event that never comes is an error"),
        see_also: &["Orbit.next"],
        examples: &[Example::close(
            "let o = orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, eccentricity: 0.1 }); \
             o.time_to(\"apoapsis\") / o.period",
            "0.5",
            "1e-9",
        )],
        ..Definition::method("Orbit", "time_to", |given| {
            let event = given_event(given)?;
            match given.this::<Orbit>()?.time_to(event).map_err(|error| no_orbit(&error))? {
                Some(time) => Ok(value::of(time, Dimension::TIME)),
                None => Err(Fault::new(format!("this orbit has no {event}")).at(0)),
            }
        })
    },
    Definition {
        summary: "The orbit after a burn: a planned burn at its own epoch, another one here and now.",
        parameters: &[Parameter::new("burn", Kind::Noun("Burn"), "planned on this orbit, or along the local axes")],
        returns: (ORBIT, "a burn that was planned on another orbit is an error"),
        see_also: &["burn", "hohmann"],
        examples: &[Example::close(
            "circular(system(\"sol\").Earth, 300.km).after_burn(burn(#{ along: 100.m_s })).periapsis_altitude",
            "300.km",
            "1.m",
        )],
        ..Definition::method("Orbit", "after_burn", |given| {
            let (orbit, burn) = (given.this::<Orbit>()?, given.noun::<Burn>(0)?);
            let after = burn.flown_on(&orbit).map_err(|error| super::refusal::no_burn(&error).at(0))?;
            Ok(value::noun(after))
        })
    },
];
