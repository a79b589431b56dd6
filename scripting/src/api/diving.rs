//! `dive`: a body that sinks to a sea floor, stays and rises; the noun `Dive`.

use std::fmt::Write as _;

use rhai::{Array, Dynamic};
use serde_json::{Value, json};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::sea_flight::{self, DiveEvent, DivePlan, Dived, Diver, DragLaw, Facing, Parent};
use visviva_engine::system::Sea;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, Kind, LENGTH, MASS, SPEED, TIME};
use super::noun::Noun;
use super::options::Options;
use super::table::Columns;
use super::value;
use super::vehicle::or_nothing;

const AREA: Kind = Kind::Of(Dimension::AREA);
const PRESSURE: Kind = Kind::Of(Dimension::PRESSURE);
const ENERGY: Kind = Kind::Of(Dimension::ENERGY);
const FORCE: Kind = Kind::Of(Dimension::FORCE);
const DENSITY: Kind = Kind::Of(Dimension::DENSITY);

/// What a dive needs to know.
const DIVE: &[Parameter] = &[
    Parameter::new("mass", MASS, "all of it but the ballast"),
    Parameter::new("volume", Kind::Of(Dimension::VOLUME), "displaced at the surface, without ballast outside"),
    Parameter::new("floor", LENGTH, "depth of the sea floor"),
    Parameter::optional("ballast", MASS, "dropped to rise, none when left out"),
    Parameter::optional("ballast_density", DENSITY, "of ballast that hangs outside; left out: the volume holds it"),
    Parameter::optional("drag_area", AREA, "drag coefficient times frontal area, constant; this or `diameter`"),
    Parameter::optional("diameter", LENGTH, "of a sphere, whose drag follows from its Reynolds number"),
    Parameter::optional(
        "cross_drag_area",
        AREA,
        "the same across the axis, as along it when left out; counts with a tilt or a current",
    ),
    Parameter::optional(
        "added_mass",
        Kind::Number,
        "along the axis, over the water displaced; 0.5 when left out, a sphere's",
    ),
    Parameter::optional("cross_added_mass", Kind::Number, "across it; as along it when left out"),
    Parameter::optional("bulk_modulus", PRESSURE, "of the hull; it does not give way when left out"),
    Parameter::optional("height", LENGTH, "from its lowest to its highest point, zero when left out"),
    Parameter::optional("width", LENGTH, "greatest, for the clearance, zero when left out"),
    Parameter::optional("rated_pressure", PRESSURE, "that the hull stands, the air's included"),
    Parameter::optional("rated_speed", SPEED, "of contact, that the legs stand"),
    Parameter::optional("power", Kind::Of(Dimension::POWER), "drawn all the time, none when left out"),
    Parameter::optional("battery", ENERGY, "what it holds"),
    Parameter::optional("from", LENGTH, "depth of the release, the surface when left out"),
    Parameter::optional("stay", TIME, "on the floor, none when left out"),
    Parameter::optional("collected", MASS, "taken aboard on the floor, none when left out"),
    Parameter::optional("tilt_down", ANGLE, "lean of the axis while sinking, upright when left out"),
    Parameter::optional("tilt_up", ANGLE, "lean of the axis while rising; below zero it glides forward"),
    Parameter::optional("thrust_down", FORCE, "pushes down while sinking"),
    Parameter::optional("thrust_up", FORCE, "pushes up while rising"),
    Parameter::optional("current", SPEED, "of the water at all depths, still when left out"),
    Parameter::optional("keep_ballast", Kind::Flag, "true: rises with its ballast"),
    Parameter::optional("parent_width", LENGTH, "greatest, of the hull above: asks for the clearance"),
    Parameter::optional("parent_drifts", Kind::Flag, "true: the hull above goes with the current"),
    Parameter::optional("clearance", LENGTH, "free water wanted beside the hull above, none when left out"),
    Parameter::optional("within", TIME, "longest time for each way, 30 days when left out"),
];

impl Noun for Dived {
    const NAME: &'static str = "Dive";
    const ABOUT: &'static str = "A dive as it went: down, stay, up, with every limit that was passed. For study and \
                                 rehearsal; diving and pressure work follow licensed practice and local codes.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["event", ">time", ">depth"]);
        for (time, depth, event) in &self.events {
            table.row(&[said(*event).into(), Quantity::time(*time).show(), Quantity::length(*depth).show()]);
        }
        let mut text = table.text();
        let mut line = |what: &str, figure: Option<String>| {
            if let Some(figure) = figure {
                let _ = write!(text, "\n{what}: {figure}");
            }
        };
        let speed = |si: f64| format!("{si:.3} m/s");
        line("contact", self.contact.map(|contact| speed(contact.speed)));
        line("surfacing", self.surfacing_speed.map(speed));
        line("greatest pressure", Some(format!("{:.3} MPa", self.greatest_pressure / 1e6)));
        line("offset", self.up.as_ref().map(|up| format!("{:.1} m", up.end.offset)));
        line("clearance", self.clearance.map(|free| format!("{free:.1} m")));
        line("energy", (self.energy > 0.0).then(|| format!("{:.3} kWh", self.energy / 3.6e6)));
        for limit in &self.limits {
            let _ = write!(text, "\nlimit passed: {limit}");
        }
        text.push_str("\nfor study and rehearsal; diving and pressure work follow licensed practice and local codes");
        text
    }

    fn to_json(&self) -> Value {
        let of =
            |value: Option<f64>, unit: &str| value.map_or(Value::Null, |value| json!({ "value": value, "unit": unit }));
        let events = self.events.iter().map(|(time, depth, event)| {
            json!({ "event": said(*event), "time": of(Some(*time), "s"), "depth": of(Some(*depth), "m") })
        });
        json!({
            "events": events.collect::<Vec<_>>(),
            "contact_speed": of(self.contact.map(|contact| contact.speed), "m/s"),
            "surfacing_speed": of(self.surfacing_speed, "m/s"),
            "greatest_pressure": of(Some(self.greatest_pressure), "Pa"),
            "duration": of(Some(self.duration), "s"), "energy": of(Some(self.energy), "J"),
            "offset": of(self.up.as_ref().map(|up| up.end.offset), "m"),
            "clearance": of(self.clearance, "m"),
            "sound": self.is_sound(),
            "limits": self.limits.iter().map(ToString::to_string).collect::<Vec<_>>(),
        })
    }
}

fn said(event: DiveEvent) -> &'static str {
    match event {
        DiveEvent::Released => "released",
        DiveEvent::Contact => "contact",
        DiveEvent::Leaves => "leaves the floor",
        DiveEvent::Surfaced => "surfaced",
        DiveEvent::RatedPressure => "passes the rated pressure",
        DiveEvent::BatteryEmpty => "battery empty",
        DiveEvent::Hangs => "hangs",
    }
}

fn facing(options: &Options<'_>) -> Result<(Facing, Facing), Fault> {
    let added = options.number("added_mass")?.unwrap_or(0.5);
    let along = match (options.si("drag_area")?, options.si("diameter")?) {
        (Some(area), None) => Facing::constant(area, added),
        (None, Some(diameter)) => Facing { added_mass: added, ..Facing::sphere(diameter, DragLaw::Sphere) },
        (None, None) => {
            let fault = Fault::new("`dive` does not know how the water holds the body back").at(1);
            return Err(fault.help("add `drag_area: 0.8.m2`, or `diameter: 1.2.m` for a sphere"));
        }
        (Some(_), Some(_)) => {
            let fault = options.fault("diameter", "the drag is said twice");
            return Err(fault.help("write `drag_area` or `diameter`, not both"));
        }
    };
    let mut across = options.si("cross_drag_area")?.map_or(along, |area| Facing::constant(area, added));
    across.added_mass = options.number("cross_added_mass")?.unwrap_or(added);
    Ok((along, across))
}

fn dived(given: &Given) -> Answer {
    let (sea, options) = (given.noun::<Sea>(0)?, given.options(1)?);
    let (along, across) = facing(&options)?;
    let needed = |key| options.si(key).map(|figure| figure.unwrap_or(f64::NAN));
    let or_zero = |key| options.si(key).map(|figure| figure.unwrap_or(0.0));
    let diver = Diver {
        mass: needed("mass")?,
        ballast: or_zero("ballast")?,
        ballast_density: options.si("ballast_density")?,
        volume: needed("volume")?,
        bulk_modulus: options.si("bulk_modulus")?,
        along,
        across,
        height: or_zero("height")?,
        half_width: 0.5 * or_zero("width")?,
        rated_pressure: options.si("rated_pressure")?,
        rated_contact: options.si("rated_speed")?,
        power: or_zero("power")?,
        battery: options.si("battery")?,
    };
    let mut plan = DivePlan::to(needed("floor")?, or_zero("stay")?);
    plan.from = or_zero("from")?;
    plan.collected = or_zero("collected")?;
    plan.tilt = (or_zero("tilt_down")?, or_zero("tilt_up")?);
    plan.thrust = (-or_zero("thrust_down")?, or_zero("thrust_up")?);
    plan.current = options.si("current")?.map(|speed| vec![(0.0, speed)]).unwrap_or_default();
    plan.drop_ballast = !options.flag("keep_ballast")?.unwrap_or(false);
    if let Some(width) = options.si("parent_width")? {
        let drifts = options.flag("parent_drifts")?.unwrap_or(false);
        plan.parent = Some(Parent { half_width: 0.5 * width, drifts, clearance: or_zero("clearance")? });
    }
    plan.longest = options.si("within")?.unwrap_or(plan.longest);
    let stopped = || given.run.stopped();
    let found =
        sea_flight::dive(&diver, &sea, &plan, &Watch::new(&stopped)).map_err(|error| Fault::from(error).at(1))?;
    Ok(value::noun(found))
}

/// Drives the examples: the sled of `lantern`.
macro_rules! sled {
    ($rest:literal) => {
        concat!(
            "dive(system(\"velm\").Maren.sea, #{ mass: 640.kg, ballast: 220.kg, volume: 0.715.m3, drag_area: 0.807.m2, floor: 4200.m",
            $rest
        )
    };
}

pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A body that is let go in a sea sinks to the floor, stays, drops its ballast and rises.",
        parameters: &[
            Parameter::new("sea", Kind::Noun("Sea"), "such as `body.sea`"),
            Parameter::new("body", Kind::Options(DIVE), "what dives, and where to"),
        ],
        returns: (
            Kind::Noun("Dive"),
            "limits that were passed are in `.limits`, not errors; for study and rehearsal: diving and pressure work follow licensed \
             practice and local codes",
        ),
        source: Some("[Newman1977], chapters 2 and 4; drag of spheres [BrownLawler2003]"),
        see_also: &["Sea.pressure", "Dive.limits", "floating_craft"],
        examples: &[Example::close(sled!(" }).contact_speed"), "0.80.m_s", "0.005.m_s")],
        ..Definition::function("dive", dived)
    },
    Definition {
        summary: "How fast it meets the floor.",
        returns: (SPEED, "nothing where it does not get there"),
        see_also: &["dive", "Dive.surfacing_speed"],
        examples: &[Example::exact(sled!(", ballast_density: 7850.kg_m3 }).contact_speed < 0.8.m_s"), "true")],
        ..Definition::property("Dive", "contact_speed", |given| {
            Ok(or_nothing(given.this::<Dived>()?.contact.map(|contact| contact.speed), Dimension::SPEED))
        })
    },
    Definition {
        summary: "How fast it comes up to the surface.",
        returns: (SPEED, "nothing where it does not get there"),
        see_also: &["dive", "Dive.contact_speed"],
        examples: &[Example::close(sled!(", collected: 4.kg }).surfacing_speed"), "0.73.m_s", "0.005.m_s")],
        ..Definition::property("Dive", "surfacing_speed", |given| {
            Ok(or_nothing(given.this::<Dived>()?.surfacing_speed, Dimension::SPEED))
        })
    },
    Definition {
        summary: "The time of the way down.",
        returns: (TIME, ""),
        see_also: &["Dive.up_time", "Dive.duration"],
        examples: &[Example::close(sled!(" }).down_time"), "1.45.hours", "0.01.hours")],
        ..Definition::property("Dive", "down_time", |given| {
            Ok(value::of(given.this::<Dived>()?.down.duration(), Dimension::TIME))
        })
    },
    Definition {
        summary: "The time of the way up.",
        returns: (TIME, "nothing where it does not get to the floor"),
        see_also: &["Dive.down_time", "Dive.duration"],
        examples: &[Example::close(sled!(", collected: 4.kg }).up_time"), "1.58.hours", "0.015.hours")],
        ..Definition::property("Dive", "up_time", |given| {
            Ok(or_nothing(given.this::<Dived>()?.up.map(|up| up.duration()), Dimension::TIME))
        })
    },
    Definition {
        summary: "The time from the release to the end, the stay included.",
        returns: (TIME, ""),
        see_also: &["Dive.energy"],
        examples: &[Example::close(sled!(", stay: 4.hours }).duration"), "7.0.hours", "0.05.hours")],
        ..Definition::property("Dive", "duration", |given| {
            Ok(value::of(given.this::<Dived>()?.duration, Dimension::TIME))
        })
    },
    Definition {
        summary: "What the dive takes from the battery.",
        returns: (ENERGY, ""),
        see_also: &["Dive.duration"],
        examples: &[Example::close(sled!(", stay: 4.hours, power: 350.W }).energy"), "2.45.kWh", "0.01.kWh")],
        ..Definition::property("Dive", "energy", |given| {
            Ok(value::of(given.this::<Dived>()?.energy, Dimension::ENERGY))
        })
    },
    Definition {
        summary: "The greatest pressure on the hull, the air's included.",
        returns: (PRESSURE, "for study: diving and pressure follow licensed practice"),
        see_also: &["Sea.pressure"],
        examples: &[Example::close(sled!(" }).greatest_pressure"), "10.14.MPa", "0.01.MPa")],
        ..Definition::property("Dive", "greatest_pressure", |given| {
            Ok(value::of(given.this::<Dived>()?.greatest_pressure, Dimension::PRESSURE))
        })
    },
    Definition {
        summary: "How far forward of the release it is at the end, over the ground.",
        returns: (LENGTH, ""),
        see_also: &["Dive.clearance"],
        examples: &[Example::close(sled!(", current: 0.05.m_s, keep_ballast: true }).offset"), "260.m", "5.m")],
        ..Definition::property("Dive", "offset", |given| {
            let dive = given.this::<Dived>()?;
            Ok(value::of(dive.up.as_ref().map_or(dive.down.end.offset, |up| up.end.offset), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "Free water between it and the hull above when it surfaces; below zero it hits.",
        returns: (LENGTH, "nothing without `parent_width`, or where it does not surface"),
        see_also: &["Dive.offset", "Dive.limits"],
        examples: &[Example::exact(sled!(", parent_width: 8.m }).clearance < 0.m"), "true")],
        ..Definition::property("Dive", "clearance", |given| {
            Ok(or_nothing(given.this::<Dived>()?.clearance, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "What was passed, each with its margin, as texts.",
        returns: (Kind::List, "empty where every limit was kept"),
        see_also: &["Dive.is_sound"],
        examples: &[Example::exact(
            sled!(", rated_speed: 0.5.m_s }).limits"),
            "[\"contact at 0.80 m/s; the legs are rated for 0.50 m/s\"]",
        )],
        ..Definition::property("Dive", "limits", |given| {
            let dive = given.this::<Dived>()?;
            let texts: Array = dive.limits.iter().map(|limit| value::text(limit.to_string())).collect();
            Ok(Dynamic::from_array(texts))
        })
    },
    Definition {
        summary: "Whether it came back with every limit kept.",
        returns: (Kind::Flag, ""),
        see_also: &["Dive.limits"],
        examples: &[
            Example::exact(sled!(", rated_pressure: 16.MPa, rated_speed: 1.5.m_s }).is_sound"), "true"),
            Example::exact(sled!(", rated_pressure: 9.MPa }).is_sound"), "false"),
        ],
        ..Definition::property("Dive", "is_sound", |given| Ok(given.this::<Dived>()?.is_sound().into()))
    },
    Definition {
        summary: "Where it is at a time after the release.",
        parameters: &[Parameter::new("time", TIME, "after the release; the nearer end for a time outside")],
        returns: (Kind::Map, "depth, offset, `sinking` and `drifting` (speeds down and forward)"),
        see_also: &["Dive.duration"],
        examples: &[Example::close(sled!(" }).at(1.hours).depth"), "2.9.km", "0.05.km")],
        ..Definition::method("Dive", "at", |given| {
            let (dive, time) = (given.this::<Dived>()?, given.time(0)?);
            let point = match &dive.up {
                Some(up) if time > up.start.time => up.at(time),
                _ => dive.down.at(time),
            };
            let mut map = rhai::Map::new();
            map.insert("depth".into(), value::of(point.depth, Dimension::LENGTH));
            map.insert("offset".into(), value::of(point.offset, Dimension::LENGTH));
            map.insert("sinking".into(), value::of(point.sinking, Dimension::SPEED));
            map.insert("drifting".into(), value::of(point.drifting, Dimension::SPEED));
            Ok(Dynamic::from_map(map))
        })
    },
];
