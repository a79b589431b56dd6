//! What becomes of parts: `clearance` and its noun; where things end, the noun `Ending`.

use std::fmt::Write as _;

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::voyage::{Clearance, ClearanceOptions, Ending, Nearness, Separated, clearance, ending};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, VOYAGE, refused};
use super::kind::{ANGLE, EPOCH, Kind, LENGTH, ORBIT, SPEED, TIME};
use super::noun::Noun;
use super::search::interrupted;
use super::separations::apart;
use super::table::{Columns, date};
use super::value;

const CLEARANCE: Kind = Kind::Noun("Clearance");
const ENDING: Kind = Kind::Noun("Ending");
/// What coasts: where it is and where it goes.
pub(super) const COASTS: Kind = Kind::Either(&[VOYAGE, ORBIT, Kind::Noun("Separated")]);

/// How far ahead `ends` looks, s: a Julian year.
const YEAR: f64 = 365.25 * 86_400.0;

fn length(m: f64) -> String {
    Quantity::length(m).show()
}

fn speed(m_s: f64) -> String {
    Quantity::speed(m_s).show()
}

/// What stands on the ground or floats has no conic to look along.
fn check_coasts(voyage: &visviva_engine::voyage::Voyage) -> Result<(), Fault> {
    match voyage.site() {
        None => Ok(()),
        Some(_) => Err(Fault::new(format!("`{}` does not coast: it is {}", voyage.name(), voyage.place()))
            .help("fly it to an orbit first, or ask an orbit")),
    }
}

/// The orbit of what coasts, and what a table calls it.
pub(super) fn coasting(given: &Given, index: usize) -> Result<(Orbit, String), Fault> {
    let value = given.value(index)?;
    if let Some(handle) = value.read_lock::<Handle>() {
        let voyage = handle.voyage();
        check_coasts(&voyage)?;
        return Ok((voyage.orbit().clone(), voyage.name().to_owned()));
    }
    if let Some(part) = value.read_lock::<Separated>() {
        return Ok((part.orbit.clone(), part.name.clone()));
    }
    let orbit = given.noun::<Orbit>(index)?;
    let name = format!("the orbit about {}", orbit.body().name());
    Ok((orbit, name))
}

impl Noun for Clearance {
    const NAME: &'static str = "Clearance";
    const ABOUT: &'static str = "How two things that coast keep clear of each other: their distance over time.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&[">after", ">distance", ">opening", ">relative speed"]);
        for row in &self.rows {
            let time = Quantity::time(row.time).show();
            table.row(&[time, length(row.distance), speed(row.rate), speed(row.speed)]);
        }
        let mut text = table.text();
        let least = &self.least;
        let _ = write!(
            text,
            "\nleast after the first minute: {} at {}, relative speed {}",
            length(least.distance),
            Quantity::time(least.time).show(),
            speed(least.speed)
        );
        match &self.meets {
            Some(met) => {
                let when = date(self.epoch.after(met.time));
                let _ = write!(
                    text,
                    "\nmeets again: {} apart after {}, {when}, at {}",
                    length(met.distance),
                    Quantity::time(met.time).show(),
                    speed(met.speed)
                );
            }
            None => {
                let _ = write!(text, "\ndoes not meet again within {}", Quantity::time(self.time).show());
            }
        }
        if let Some(why) = &self.cut_short {
            let _ = write!(text, "\nlooked at for {} only: {why}", Quantity::time(self.time).show());
        }
        text
    }

    fn to_json(&self) -> Value {
        json!({
            "epoch": Noun::to_json(&self.epoch), "time": { "value": self.time, "unit": "s" }, "cut_short": self.cut_short,
            "rows": self.rows.iter().map(nearness_json).collect::<Vec<_>>(),
            "minima": self.minima.iter().map(nearness_json).collect::<Vec<_>>(),
            "least": nearness_json(&self.least), "meets": self.meets.as_ref().map(nearness_json),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

fn nearness_json(row: &Nearness) -> Value {
    json!({
        "time": { "value": row.time, "unit": "s" }, "distance": { "value": row.distance, "unit": "m" },
        "opening": { "value": row.rate, "unit": "m/s" }, "speed": { "value": row.speed, "unit": "m/s" },
    })
}

fn nearness(row: &Nearness) -> Dynamic {
    let mut map = Map::new();
    map.insert("time".into(), value::of(row.time, Dimension::TIME));
    map.insert("distance".into(), value::of(row.distance, Dimension::LENGTH));
    map.insert("opening".into(), value::of(row.rate, Dimension::SPEED));
    map.insert("speed".into(), value::of(row.speed, Dimension::SPEED));
    Dynamic::from_map(map)
}

fn list(rows: &[Nearness]) -> Dynamic {
    Dynamic::from_array(rows.iter().map(nearness).collect())
}

impl Noun for Ending {
    const NAME: &'static str = "Ending";
    const ABOUT: &'static str = "Where something ends if nothing more is done: on its conic, without air.";

    fn show(&self) -> String {
        match self {
            Ending::Stays { periapsis_altitude, apoapsis_altitude } => format!(
                "{}: {} by {}",
                self.name(),
                length(*periapsis_altitude),
                apoapsis_altitude.map_or("open".to_owned(), length)
            ),
            Ending::Decays { periapsis_altitude, air_top } => format!(
                "{}: periapsis {}, air to {}; drag brings it down, when is not told by a conic",
                self.name(),
                length(*periapsis_altitude),
                length(*air_top)
            ),
            Ending::Strikes(impact) => format!(
                "{} of {} at {}, latitude {}, longitude {}, at {} ({} against the ground), {} below the horizon{}",
                self.name(),
                impact.body.name(),
                date(impact.epoch),
                value::degrees(impact.latitude),
                value::degrees(impact.longitude),
                speed(impact.speed),
                speed(impact.ground_speed),
                value::degrees(impact.angle),
                if impact.through_air { "; air left out" } else { "" }
            ),
            Ending::Leaves { epoch, into } => {
                format!("{} of influence at {}, to {}", self.name(), date(*epoch), into.name())
            }
            Ending::Enters { epoch, body } => {
                format!("{} of influence, of {}, at {}", self.name(), body.name(), date(*epoch))
            }
        }
    }

    fn to_json(&self) -> Value {
        let q = |si: f64, unit: &str| json!({ "value": si, "unit": unit });
        let mut all = json!({ "what": self.name(), "epoch": self.epoch().map(|epoch| Noun::to_json(&epoch)) });
        let more = match self {
            Ending::Stays { periapsis_altitude, apoapsis_altitude } => json!({
                "periapsis_altitude": q(*periapsis_altitude, "m"), "apoapsis_altitude": apoapsis_altitude.map(|m| q(m, "m")),
            }),
            Ending::Decays { periapsis_altitude, air_top } => {
                json!({ "periapsis_altitude": q(*periapsis_altitude, "m"), "air_top": q(*air_top, "m") })
            }
            Ending::Strikes(impact) => json!({
                "body": impact.body.name(), "latitude": q(impact.latitude, "rad"), "longitude": q(impact.longitude, "rad"),
                "speed": q(impact.speed, "m/s"), "ground_speed": q(impact.ground_speed, "m/s"), "angle": q(impact.angle, "rad"),
                "air_left_out": impact.through_air,
            }),
            Ending::Leaves { into, .. } => json!({ "body": into.name() }),
            Ending::Enters { body, .. } => json!({ "body": body.name() }),
        };
        if let (Some(all), Some(more)) = (all.as_object_mut(), more.as_object()) {
            all.extend(more.clone());
        }
        all
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const LOOK: &[Parameter] = &[
    Parameter::optional("within", TIME, "how long to look; five revolutions of the first when left out"),
    Parameter::optional("near", LENGTH, "nearer than this they meet again; 100 m when left out"),
];

fn looked(given: &Given) -> Answer {
    let ((a, _), (b, _)) = (coasting(given, 0)?, coasting(given, 1)?);
    let options = given.options(2)?;
    let within = match options.si("within")? {
        Some(within) => within,
        None => {
            5.0 * a.period().ok_or_else(|| {
                Fault::new("an open orbit has no revolutions").help("say how long to look: #{ within: 10.days }").at(0)
            })?
        }
    };
    let near = options.si("near")?.unwrap_or(100.0);
    let stopped = || given.run.stopped();
    let found = clearance(&a, &b, &ClearanceOptions { within, near }, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    found.map(value::noun).map_err(|error| {
        let key = if matches!(error, visviva_engine::voyage::VoyageError::BadTrack { .. }) { "near" } else { "within" };
        if options.has(key) { refused(&error).at_key(2, key) } else { refused(&error).at(1) }
    })
}

fn ended(given: &Given, orbit: &Orbit, leaving: Option<&visviva_engine::system::Body>) -> Answer {
    let stopped = || given.run.stopped();
    let found = ending(orbit, leaving, YEAR, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    found.map(value::noun).map_err(|error| refused(&error))
}

fn this(given: &Given) -> Result<Clearance, Fault> {
    given.this::<Clearance>()
}

fn end(given: &Given) -> Result<Ending, Fault> {
    given.this::<Ending>()
}

/// The impact, where the ground is struck.
fn impact(given: &Given) -> Result<visviva_engine::voyage::Impact, Fault> {
    match end(given)? {
        Ending::Strikes(impact) => Ok(impact),
        other => Err(Fault::new(format!("there is no `{}` here: it {}", given.definition.name, other.name()))
            .help("ask first: if part.ends.what == \"strikes the ground\" { ... }")),
    }
}

macro_rules! falls {
    ($ask:literal) => {
        apart!("v.burn(burn(#{ along: -500.m_s })); v.drop(\"departure\"); let e = v.separated[0].ends; ", $ask)
    };
}

/// The definitions of clearances and endings.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "How two things that coast keep clear of each other: distance over time, every minimum, whether they meet again.",
        parameters: &[
            Parameter::new("a", COASTS, "a voyage where it is now, what came off one, or an orbit"),
            Parameter::new("b", COASTS, "about the same body; the earlier of both coasts to the other's epoch first"),
            Parameter::optional("options", Kind::Options(LOOK), "how long, how near"),
        ],
        returns: (CLEARANCE, "conics of both; distances of the first minute are not counted as least"),
        source: Some(
            "[Curtis2014], chapter 7, for what to expect: across meets after half a revolution, outward after a whole one",
        ),
        see_also: &["Voyage.drop", "Voyage.separated", "Separated.ends", "approach"],
        examples: &[Example::exact(
            apart!(
                "let d = v.drop(\"departure\", #{ speed: 0.5.m_s, direction: \"outward\" }); let c = clearance(v, d); \
                 abs(c.meets.time / v.orbit.period - 1) < 0.001"
            ),
            "true",
        )],
        ..Definition::function("clearance", looked)
    },
    Definition {
        summary: "The distance over time.",
        returns: (Kind::List, "of maps: time, distance, opening (below zero while it shrinks), speed"),
        see_also: &["clearance"],
        examples: &[Example::exact(
            apart!("let d = v.drop(\"departure\", #{ speed: 0.5.m_s }); clearance(v, d).rows[0].distance"),
            "0.m",
        )],
        ..Definition::property("Clearance", "rows", |given| Ok(list(&this(given)?.rows)))
    },
    Definition {
        summary: "Every least distance after the first minute.",
        returns: (Kind::List, "of maps: time, distance, opening, speed"),
        see_also: &["Clearance.least"],
        examples: &[Example::exact(
            apart!(
                "let d = v.drop(\"departure\", #{ speed: 1.m_s, direction: \"across\" }); clearance(v, d).minima.len > 8"
            ),
            "true",
        )],
        ..Definition::property("Clearance", "minima", |given| Ok(list(&this(given)?.minima)))
    },
    Definition {
        summary: "The least distance after the first minute.",
        returns: (Kind::Map, "time, distance, opening, speed"),
        see_also: &["Clearance.minima", "Clearance.meets"],
        examples: &[Example::exact(
            apart!("let d = v.drop(\"departure\", #{ speed: 1.m_s }); clearance(v, d).least.distance > 50.m"),
            "true",
        )],
        ..Definition::property("Clearance", "least", |given| Ok(nearness(&this(given)?.least)))
    },
    Definition {
        summary: "The first minimum nearer than asked for.",
        returns: (Kind::Map, "time, distance, opening, speed; `()` where they do not meet again"),
        see_also: &["Clearance.least"],
        examples: &[Example::exact(
            apart!("let d = v.drop(\"departure\", #{ speed: 1.m_s }); clearance(v, d).meets == ()"),
            "true",
        )],
        ..Definition::property("Clearance", "meets", |given| {
            Ok(this(given)?.meets.as_ref().map_or(Dynamic::UNIT, nearness))
        })
    },
    Definition {
        summary: "What ended the look earlier than asked.",
        returns: (Kind::Text, "empty where nothing did"),
        see_also: &["clearance"],
        examples: &[Example::exact(
            apart!("let d = v.drop(\"departure\", #{ speed: 1.m_s }); clearance(v, d).cut_short"),
            "\"\"",
        )],
        ..Definition::property("Clearance", "cut_short", |given| {
            Ok(value::text(this(given)?.cut_short.unwrap_or_default()))
        })
    },
    Definition {
        summary: "Where it ends if nothing more is done: looked at for a year, on its conic, without air.",
        returns: (
            ENDING,
            "stays, dips into air, strikes the ground, leaves the sphere of influence or enters another one",
        ),
        see_also: &["Voyage.ends", "clearance", "Ending.what"],
        examples: &[Example::exact(falls!("e.what"), "\"strikes the ground\"")],
        ..Definition::property("Separated", "ends", |given| ended(given, &given.this::<Separated>()?.orbit, None))
    },
    Definition {
        summary: "Where it ends if nothing more is done: looked at for a year, on its conic, without air.",
        returns: (
            ENDING,
            "stays, dips into air, strikes the ground, leaves the sphere of influence or enters another one",
        ),
        see_also: &["Separated.ends", "Voyage.coast"],
        examples: &[Example::exact(apart!("v.ends.what"), "\"stays in orbit\"")],
        ..Definition::property("Voyage", "ends", |given| {
            let voyage = given.this::<Handle>()?.voyage();
            check_coasts(&voyage)?;
            ended(given, voyage.orbit(), voyage.leaving())
        })
    },
    Definition {
        summary: "Which end it is.",
        returns: (
            Kind::Text,
            "\"stays in orbit\", \"dips into air\", \"strikes the ground\", \"leaves the sphere\" or \"enters a sphere\"",
        ),
        see_also: &["Separated.ends"],
        examples: &[Example::exact(apart!("v.burn(burn(#{ along: 3000.m_s })); v.ends.what"), "\"leaves the sphere\"")],
        ..Definition::property("Ending", "what", |given| Ok(value::text(end(given)?.name())))
    },
    Definition {
        summary: "When it comes to that.",
        returns: (EPOCH, "`()` for what stays in orbit or dips into air"),
        see_also: &["Ending.what"],
        examples: &[Example::exact(falls!("e.epoch > v.epoch"), "true")],
        ..Definition::property("Ending", "epoch", |given| Ok(end(given)?.epoch().map_or(Dynamic::UNIT, value::noun)))
    },
    Definition {
        summary: "Latitude of the place where the ground is struck.",
        returns: (ANGLE, "geodetic, north above zero; an error where the ground is not struck"),
        source: Some("[Vallado2013], section 3.2"),
        see_also: &["Ending.longitude", "Ending.what"],
        examples: &[Example::close(falls!("e.latitude"), "0.deg", "0.001.deg")],
        ..Definition::property("Ending", "latitude", |given| Ok(value::of(impact(given)?.latitude, Dimension::ANGLE)))
    },
    Definition {
        summary: "East longitude of the place where the ground is struck.",
        returns: (ANGLE, "−180° to 180°, on the ground that turns; an error where the ground is not struck"),
        see_also: &["Ending.latitude", "Ending.what"],
        examples: &[Example::exact(falls!("abs(e.longitude) <= 180.deg"), "true")],
        ..Definition::property("Ending", "longitude", |given| Ok(value::of(impact(given)?.longitude, Dimension::ANGLE)))
    },
    Definition {
        summary: "Speed at which the ground is struck.",
        returns: (SPEED, "inertial, air left out; an error where the ground is not struck"),
        see_also: &["Ending.ground_speed", "Ending.what"],
        examples: &[Example::exact(falls!("e.speed > e.ground_speed"), "true")],
        ..Definition::property("Ending", "speed", |given| Ok(value::of(impact(given)?.speed, Dimension::SPEED)))
    },
    Definition {
        summary: "Speed against the turning ground at which it is struck.",
        returns: (SPEED, "air left out; an error where the ground is not struck"),
        see_also: &["Ending.speed"],
        examples: &[Example::exact(falls!("e.ground_speed > 3.km_s"), "true")],
        ..Definition::property("Ending", "ground_speed", |given| {
            Ok(value::of(impact(given)?.ground_speed, Dimension::SPEED))
        })
    },
];
