//! The verb `ascend`, and its noun `Ascent`: how the way up went and what it cost.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::air_flight::ascent::{AscentError, Entry, Settings, Target, Way};
use visviva_engine::motion::passage::{Accounts, Peak};
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::voyage::{Ascended, VoyageError};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, refused};
use super::kind::{ANGLE, Kind, LENGTH, ORBIT, SPEED};
use super::noun::Noun;
use super::options::Options;
use super::table::{Columns, date};
use super::value;

const ASCENT: Kind = Kind::Noun("Ascent");
pub(super) const PRESSURE: Kind = Kind::Of(Dimension::PRESSURE);
pub(super) const ACCELERATION: Kind = Kind::Of(Dimension::ACCELERATION);

const WAY_UP: &[Parameter] = &[
    Parameter::new(
        "to",
        Kind::Either(&[LENGTH, ORBIT]),
        "altitude of a circular orbit; or an orbit, whose plane is waited for",
    ),
    Parameter::optional(
        "inclination",
        ANGLE,
        "with an altitude: of the orbit to the equator; whatever comes when left out",
    ),
    Parameter::optional(
        "node",
        Kind::Flag,
        "with an orbit: false takes its inclination only and lifts off now; true when left out",
    ),
    Parameter::optional(
        "heading",
        ANGLE,
        "way to pitch over, clockwise from north; from the plane, or due east, when left out",
    ),
    Parameter::optional("southward", Kind::Flag, "takes the pass of an inclined plane that leads south"),
    Parameter::optional("entry", Kind::Text, "\"direct\", \"coast\" or \"cheapest\", which it is when left out"),
    Parameter::optional("insertion_altitude", LENGTH, "of the cut-off before a coast; found when left out"),
    Parameter::optional("rise_speed", SPEED, "through the air, at which the vertical rise ends; 50 m/s when left out"),
    Parameter::optional(
        "kick",
        ANGLE,
        "from the vertical, of the pitch-over; found for the greatest mass in orbit when left out",
    ),
    Parameter::optional(
        "thin_air",
        PRESSURE,
        "dynamic pressure under which it is steered to the orbit; 1 kPa when left out",
    ),
    Parameter::optional("max_acceleration", ACCELERATION, "by thrust and air; engines are throttled to keep it"),
    Parameter::optional("max_dynamic_pressure", PRESSURE, "engines are throttled to keep it, as far as they can"),
    Parameter::optional("drag_area", Kind::Of(AREA), "drag coefficient times area; the vehicle's own when left out"),
    Parameter::optional("optimise", Kind::Flag, "searches the whole programme of pitch through the air; slower"),
];

pub(super) const AREA: Dimension = Dimension::AREA;

fn speed(m_s: f64) -> String {
    format!("{m_s:.0} m/s")
}

fn seconds(s: f64) -> String {
    format!("{s:.1} s")
}

fn pressure(pascal: f64) -> String {
    Quantity::new(pascal, Dimension::PRESSURE).show()
}

fn length(m: f64) -> String {
    Quantity::length(m).show()
}

impl Noun for Ascended {
    const NAME: &'static str = "Ascent";
    const ABOUT: &'static str =
        "A flight from the ground to an orbit: what its speed was lost to, what happened, what fell where.";

    fn show(&self) -> String {
        let ascent = &self.ascent;
        let mut table = Columns::titled(&[
            "phase",
            ">from",
            ">to",
            ">ideal Δv",
            ">gravity",
            ">drag",
            ">steering",
            ">pressure",
            ">speed gained",
            ">most q",
            ">most felt",
        ]);
        let cells = |name: &str, from: f64, to: f64, accounts: &Accounts| {
            vec![
                name.to_owned(),
                seconds(from),
                seconds(to),
                speed(accounts.ideal),
                speed(accounts.gravity),
                speed(accounts.drag),
                speed(accounts.steering),
                speed(accounts.pressure),
                speed(accounts.gained()),
                pressure(accounts.dynamic_pressure.value),
                format!("{:.1} m/s²", accounts.felt.value),
            ]
        };
        for phase in &ascent.phases {
            table.row(&cells(&phase.name, phase.start, phase.end, &phase.accounts));
        }
        table.row(&cells("in all", 0.0, ascent.time, &ascent.accounts));
        let mut text = format!("ascent from {}, lift-off {}\n", self.body.name(), date(self.epoch));
        text += &table.text();
        let accounts = &ascent.accounts;
        let _ = write!(
            text,
            "\nrotation gives {}; {} ideal less {} lost is {} gained",
            speed(ascent.rotation_gain()),
            speed(accounts.ideal),
            speed(ascent.losses()),
            speed(accounts.gained())
        );
        let altitude = |radius: f64| length(radius - self.body.radius());
        let _ = write!(
            text,
            "\norbit {} by {}, off the wanted by {} and {}{}",
            altitude(ascent.apsides.0),
            altitude(ascent.apsides.1),
            length(ascent.miss.periapsis),
            length(ascent.miss.apoapsis),
            ascent.miss.plane.map_or(String::new(), |angle| format!(", plane off by {}", value::degrees(angle)))
        );
        let _ = write!(
            text,
            "\npitched over {} from the vertical to {} from north{}; {}",
            value::degrees(ascent.kick),
            value::degrees(ascent.azimuth.launch),
            if ascent.azimuth.dogleg > 0.0 {
                format!(", a dogleg of {}", value::degrees(ascent.azimuth.dogleg))
            } else {
                String::new()
            },
            way(ascent.way)
        );
        let _ = write!(
            text,
            "\nmost dynamic pressure {} after {}",
            pressure(accounts.dynamic_pressure.value),
            seconds(accounts.dynamic_pressure.time)
        );
        for event in &ascent.events {
            let _ = write!(text, "\n{:>9}  {}", seconds(event.time), event.what);
        }
        text += "\nFor study and rehearsal: launches are for licensed operators under their authority's range safety.";
        text
    }

    fn to_json(&self) -> Value {
        let ascent = &self.ascent;
        let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        let accounts = |accounts: &Accounts| {
            json!({
                "ideal": of(accounts.ideal, "m/s"), "gravity": of(accounts.gravity, "m/s"), "drag": of(accounts.drag, "m/s"),
                "steering": of(accounts.steering, "m/s"), "pressure": of(accounts.pressure, "m/s"),
                "gained": of(accounts.gained(), "m/s"), "propellant": of(accounts.propellant, "kg"),
                "dynamic_pressure": peak(&accounts.dynamic_pressure, "Pa"), "felt": peak(&accounts.felt, "m/s²"),
            })
        };
        json!({
            "body": self.body.name(), "epoch": Noun::to_json(&self.epoch), "time": of(ascent.time, "s"),
            "mass": of(ascent.vehicle.mass(), "kg"), "rotation": of(ascent.rotation_gain(), "m/s"), "accounts": accounts(&ascent.accounts),
            "phases": ascent.phases.iter().map(|phase| json!({
                "name": phase.name, "start": of(phase.start, "s"), "end": of(phase.end, "s"), "accounts": accounts(&phase.accounts),
            })).collect::<Vec<_>>(),
            "events": ascent.events.iter().map(|event| json!({ "time": of(event.time, "s"), "what": event.what })).collect::<Vec<_>>(),
            "periapsis_radius": of(ascent.apsides.0, "m"), "apoapsis_radius": of(ascent.apsides.1, "m"),
            "periapsis_miss": of(ascent.miss.periapsis, "m"), "apoapsis_miss": of(ascent.miss.apoapsis, "m"),
            "plane_miss": ascent.miss.plane.map(|angle| of(angle, "rad")),
            "kick": of(ascent.kick, "rad"), "azimuth": of(ascent.azimuth.launch, "rad"), "dogleg": of(ascent.azimuth.dogleg, "rad"),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

fn peak(peak: &Peak, unit: &str) -> Value {
    json!({ "value": peak.value, "unit": unit, "time": { "value": peak.time, "unit": "s" } })
}

fn way(way: Way) -> String {
    match way {
        Way::Direct => "thrust without a pause to the orbit".to_owned(),
        Way::Low(height) => format!("cut-off aimed at {}, coast, closing burn", length(height)),
        Way::Turn => "along the velocity until the apoapsis is high enough, coast, closing burn".to_owned(),
    }
}

/// The refusal of an ascent, with what to write instead.
pub(super) fn no_ascent(error: &AscentError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        AscentError::TargetInAir { .. } => fault.help("aim above the air: `body.air.top` tells how far it reaches"),
        AscentError::NoDragArea { .. } => {
            fault.help("write `drag_area` into the vehicle's file, or give the option: #{ drag_area: 8.m2 }")
        }
        AscentError::OutOfPropellant { .. } => fault.help("more propellant, less load, or a lower orbit"),
        AscentError::NoAscent { .. } => fault.help("a lower orbit or more thrust; or choose the `kick` yourself"),
        AscentError::NoIgnition { .. } => fault.help("enter the orbit with #{ entry: \"direct\" }"),
        AscentError::Vehicle(error) => super::vehicle::no_vehicle(error),
        _ => fault,
    }
}

/// The orbit that a verb is to enter.
pub(super) fn target(options: &Options<'_>, body: &Body) -> Result<Target, Fault> {
    let inclination = options.si("inclination")?;
    let given_orbit = options.value("to").is_some_and(|to| ORBIT.accepts(to));
    if !given_orbit && let Some(altitude) = options.si("to")? {
        let circle = Target::circular(body, altitude);
        return Ok(match inclination {
            Some(angle) => Target { plane: visviva_engine::air_flight::ascent::Plane::Inclined(angle), ..circle },
            None => circle,
        });
    }
    let Some(orbit) = options.noun::<Orbit>("to")? else {
        return Err(Fault::new("the option `to` is missing: which orbit is wanted").help("write #{ to: 180.km }"));
    };
    if orbit.body() != body {
        return Err(options
            .fault("to", format!("the orbit is about {}, the voyage is on {}", orbit.body().name(), body.name())));
    }
    if inclination.is_some() {
        return Err(options
            .fault("inclination", "an orbit has its inclination already")
            .help("leave `inclination` out"));
    }
    let node = options.flag("node")?.unwrap_or(true);
    Target::of_orbit(&orbit, node).map_err(|error| no_ascent(&error).at_key(0, "to"))
}

const ENTRIES: [(&str, Entry); 3] = [("cheapest", Entry::Cheapest), ("direct", Entry::Direct), ("coast", Entry::Coast)];

fn settings(options: &Options<'_>) -> Result<Settings, Fault> {
    let usual = Settings::default();
    let entry = match options.text("entry")? {
        None => usual.entry,
        Some(word) => match ENTRIES.iter().find(|(name, _)| *name == word.as_str()) {
            Some((_, entry)) => *entry,
            None => {
                return Err(options
                    .fault("entry", format!("there is no entry `{word}`"))
                    .help("write \"cheapest\", \"direct\" or \"coast\""));
            }
        },
    };
    Ok(Settings {
        heading: options.si("heading")?,
        southward: options.flag("southward")?.unwrap_or(usual.southward),
        rise_speed: options.si("rise_speed")?.unwrap_or(usual.rise_speed),
        kick: options.si("kick")?,
        thin_air: options.si("thin_air")?.unwrap_or(usual.thin_air),
        max_acceleration: options.si("max_acceleration")?,
        max_dynamic_pressure: options.si("max_dynamic_pressure")?,
        entry,
        insertion_altitude: options.si("insertion_altitude")?,
        drag_area: options.si("drag_area")?,
        optimise: options.flag("optimise")?.unwrap_or(usual.optimise),
    })
}

fn ascend(given: &Given) -> Answer {
    let options = given.options(0)?;
    let handle = given.this::<Handle>()?;
    let body = handle.voyage().body().clone();
    let (target, settings) = (target(&options, &body)?, settings(&options)?);
    let done = handle.act(given, |voyage, watch| {
        voyage.ascend(&target, &settings, watch).map_err(|error| match &error {
            VoyageError::Ascent(AscentError::TargetInAir { .. } | AscentError::BadTarget { .. }) => {
                refused(&error).at_key(0, "to")
            }
            _ => refused(&error),
        })
    })?;
    Ok(done.map_or(Dynamic::UNIT, value::noun))
}

/// A voyage that went up from Veyra.
macro_rules! up {
    ($ask:literal) => {
        concat!(
            "let s = system(\"velm\"); let v = voyage(vehicle(\"lantern\"), s.Veyra.site(6.deg, 20.deg), \
             #{ epoch: epoch(\"2141-07-21 TDB\") }); let up = v.ascend(#{ to: 180.km, kick: 2.7.deg }); ",
            $ask
        )
    };
}

pub(super) use up;

/// The definitions of ascents.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "Flies from the ground, or from afloat, to an orbit: rise, pitch-over, gravity turn, staging, steering, coast and closing burn.",
    parameters: &[Parameter::new("task", Kind::Options(WAY_UP), "where to, and what is chosen of the way")],
    returns: (
        ASCENT,
        "the losses, what happened and what fell where; a vehicle that does not rise or does not reach it is an error. For study: launches are for licensed operators under range safety",
    ),
    source: Some("gravity turn [CullerFried1957]; powered explicit guidance [McHenry1979]; losses [Humble1995]"),
    see_also: &["Body.site", "Voyage.drop", "Vehicle.on_pad", "picture"],
    examples: &[Example::close(up!("v.orbit.periapsis_altitude"), "180.km", "2.km")],
    changes: true,
    ..Definition::method("Voyage", "ascend", ascend)
}];
