//! The noun `Track`: samples of a voyage's path.

use std::fmt::Write as _;

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::voyage::{Spacing, Track, TrackOptions, TrackPoint, VoyageError};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, refused};
use super::kind::{BODY, Kind, LENGTH, TIME};
use super::ledger::flown;
use super::noun::Noun;
use super::search::interrupted;
use super::table::{Columns, csv_cell, date};
use super::value;
use super::vector::Vector;

/// A track.
pub(super) const TRACK: Kind = Kind::Noun("Track");

/// Rows that `print` shows of a long track, at each end.
const SHOWN: usize = 6;

impl Noun for Track {
    const NAME: &'static str = "Track";
    const ABOUT: &'static str =
        "Samples of a voyage's path: both ends of every leg, every patch and burn, and enough between.";

    fn show(&self) -> String {
        let count = self.points.len();
        let mut table = Columns::titled(&["epoch", "about", ">distance", ">speed", "what happens"]);
        for (index, point) in self.points.iter().enumerate() {
            if count > 2 * SHOWN && index == SHOWN {
                let more = format!("{} more", count - 2 * SHOWN);
                table.row(&["...".to_owned(), String::new(), String::new(), String::new(), more]);
            }
            if count > 2 * SHOWN && index >= SHOWN && index < count - SHOWN {
                continue;
            }
            table.row(&[
                date(point.epoch),
                point.about.name().to_owned(),
                Quantity::length(point.state.position.norm()).show(),
                Quantity::speed(point.state.velocity.norm()).show(),
                point.event.clone(),
            ]);
        }
        format!("track of {count} points\n{}", table.text())
    }

    fn to_json(&self) -> Value {
        let points: Vec<Value> = self
            .points
            .iter()
            .map(|point| {
                let (r, v) = (&point.state.position, &point.state.velocity);
                let mut told = json!({
                    "epoch": Noun::to_json(&point.epoch), "leg": point.leg_name, "about": point.about.name(),
                    "body": point.body.name(), "event": point.event,
                    "r": { "value": [r.x, r.y, r.z], "unit": "m" }, "v": { "value": [v.x, v.y, v.z], "unit": "m/s" },
                });
                if let Some(sight) = &point.flight {
                    told["flight"] = json!({
                        "mass": { "value": sight.mass, "unit": "kg" }, "height": { "value": sight.height, "unit": "m" },
                        "air_speed": { "value": sight.air_speed, "unit": "m/s" },
                        "dynamic_pressure": { "value": sight.dynamic_pressure, "unit": "Pa" },
                        "felt": { "value": sight.felt, "unit": "m/s^2" }, "throttle": sight.throttle,
                    });
                }
                told
            })
            .collect();
        json!({ "points": points })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// The samples as a CSV text, SI with the unit in each header. [RFC4180]
pub(super) fn csv(track: &Track) -> String {
    let mut text = String::from("epoch,leg,about,body,x_m,y_m,z_m,vx_m_s,vy_m_s,vz_m_s,event\n");
    for point in &track.points {
        let (r, v) = (&point.state.position, &point.state.velocity);
        let (leg, event) = (csv_cell(&point.leg_name), csv_cell(&point.event));
        let (about, body) = (csv_cell(point.about.name()), csv_cell(point.body.name()));
        let _ = writeln!(
            text,
            "{},{leg},{about},{body},{},{},{},{},{},{},{event}",
            point.epoch.show(),
            r.x,
            r.y,
            r.z,
            v.x,
            v.y,
            v.z
        );
    }
    text
}

const OPTIONS: &[Parameter] = &[
    Parameter::optional(
        "error",
        LENGTH,
        "greatest distance of the path from its chords; 1e-4 of each leg's extent when left out",
    ),
    Parameter::optional("step", TIME, "between samples, instead of an error"),
    Parameter::optional("count", Kind::Whole, "of samples for each stretch, at least 2, instead of an error"),
    Parameter::optional(
        "frame",
        Kind::Text,
        "\"inertial\", \"reference\" (plane of the system) or \"equator\" (of `about`); inertial when left out",
    ),
    Parameter::optional("about", BODY, "seen from this body; from the one the craft is about when left out"),
];

fn track(given: &Given) -> Answer {
    let voyage = given.this::<Handle>()?.voyage();
    let options = given.options(0)?;
    let about = options.noun::<Body>("about")?;
    let spacing = match (options.si("error")?, options.si("step")?, options.whole("count")?) {
        (None, None, None) => Spacing::Relative(1e-4),
        (Some(error), None, None) => Spacing::Error(error),
        (None, Some(step), None) => Spacing::Step(step),
        (None, None, Some(count)) => match usize::try_from(count) {
            Ok(count) if count >= 2 => Spacing::Count(count),
            _ => return Err(options.fault("count", "a stretch has both its ends: a count of 2 or more is needed")),
        },
        _ => {
            return Err(Fault::new("`error`, `step` and `count` say the same thing in different ways")
                .help("give one of the three")
                .at(0));
        }
    };
    let frame = match options.text("frame")?.as_deref() {
        None | Some("inertial") => None,
        Some("reference") => Some(voyage.system().plane()),
        Some("equator") => match &about {
            Some(body) => Some(body.equator(voyage.epoch())),
            None => {
                return Err(options
                    .fault("frame", "the equator of which body?")
                    .help("name it: #{ frame: \"equator\", about: v.body }"));
            }
        },
        Some(other) => {
            return Err(options
                .fault("frame", format!("there is no frame `{other}`"))
                .help("the frames are \"inertial\", \"reference\" and \"equator\""));
        }
    };
    let stopped = || given.run.stopped();
    let made = voyage.track(&TrackOptions { spacing, about, frame }, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    made.map(value::noun).map_err(|error| match error {
        VoyageError::BadTrack { what, .. } => refused(&error).at_key(0, what),
        _ => refused(&error).at(0),
    })
}

fn point_map(point: &TrackPoint) -> Dynamic {
    let mut map = Map::new();
    map.insert("epoch".into(), value::noun(point.epoch));
    map.insert("leg".into(), value::text(&point.leg_name));
    map.insert("about".into(), value::noun(point.about.clone()));
    map.insert("r".into(), Vector::new(point.state.position, Dimension::LENGTH).into_value());
    map.insert("v".into(), Vector::new(point.state.velocity, Dimension::SPEED).into_value());
    map.insert("event".into(), value::text(&point.event));
    if let Some(sight) = &point.flight {
        map.insert("mass".into(), value::of(sight.mass, Dimension::MASS));
        map.insert("height".into(), value::of(sight.height, Dimension::LENGTH));
        map.insert("air_speed".into(), value::of(sight.air_speed, Dimension::SPEED));
        map.insert("dynamic_pressure".into(), value::of(sight.dynamic_pressure, Dimension::PRESSURE));
        map.insert("felt".into(), value::of(sight.felt, Dimension::ACCELERATION));
        map.insert("throttle".into(), Dynamic::from_float(sight.throttle));
    }
    Dynamic::from_map(map)
}

/// The definitions of tracks.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Samples of the path flown so far: both ends of every leg, every patch and burn, and enough between.",
        parameters: &[Parameter::optional("options", Kind::Options(OPTIONS), "how densely, and as seen from where")],
        returns: (TRACK, "oldest first; two points with one epoch at a patch and at a burn"),
        see_also: &["Track.csv", "save", "Voyage.at"],
        examples: &[Example::exact(flown!("v.track(#{ count: 3 }).points.len"), "5")],
        ..Definition::method("Voyage", "track", track)
    },
    Definition {
        summary: "The samples.",
        returns: (
            Kind::List,
            "of maps: epoch, leg, about, r, v, event; under thrust and in air also mass, height, air_speed, dynamic_pressure, felt, throttle",
        ),
        see_also: &["Track.csv", "Voyage.track"],
        examples: &[Example::close(
            flown!("v.track(#{ step: 10.minutes }).points[0].r.norm - v.body.radius"),
            "300.km",
            "1.m",
        )],
        ..Definition::property("Track", "points", |given| {
            Ok(Dynamic::from_array(given.this::<Track>()?.points.iter().map(point_map).collect()))
        })
    },
    Definition {
        summary: "The samples as a CSV text: SI, the unit in each header.",
        returns: (Kind::Text, "a line for each sample below the headers"),
        source: Some("[RFC4180]"),
        see_also: &["save", "Track.points"],
        examples: &[Example::exact(flown!("v.track(#{ count: 3 }).csv.split(\"\\n\")[0].split(\",\")[4]"), "\"x_m\"")],
        ..Definition::property("Track", "csv", |given| Ok(value::text(csv(&given.this::<Track>()?))))
    },
];
