//! The noun `Epoch`: an instant, shown in a time scale.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::time::{Epoch, Scale};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::kind::{EPOCH, Kind};
use super::noun::Noun;
use super::value;
use crate::diagnostic::nearest::nearest;

impl Noun for Epoch {
    const NAME: &'static str = "Epoch";
    const ABOUT: &'static str = "An instant, exact to the nanosecond, shown in UTC, TAI, TT or TDB.";

    fn show(&self) -> String {
        self.show_to_millisecond()
    }

    fn to_json(&self) -> Value {
        let shown = Epoch::show(*self);
        let (iso, scale) = shown.split_once(' ').unwrap_or((shown.as_str(), "TDB"));
        json!({ "iso": iso, "scale": scale })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self.cmp(other).is_eq())
    }
}

fn scale(name: &str) -> Result<Scale, Fault> {
    let scales = [("UTC", Scale::Utc), ("TAI", Scale::Tai), ("TT", Scale::Tt), ("TDB", Scale::Tdb)];
    if let Some((_, scale)) = scales.iter().find(|(known, _)| *known == name) {
        Ok(*scale)
    } else {
        let fault =
            Fault::new(format!("there is no time scale `{name}`")).help("the scales are UTC, TAI, TT and TDB").at(0);
        Err(match nearest(name, scales.map(|(known, _)| known)) {
            Some(near) => fault.note(format!("did you mean `{near}`?")),
            None => fault,
        })
    }
}

/// The definitions of epochs.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "An instant from text.",
        parameters: &[Parameter::new(
            "text",
            Kind::Text,
            "date, time if wanted, and scale: \"2031-03-12T04:00:00 TDB\"",
        )],
        returns: (EPOCH, "shown in the scale it was written in"),
        see_also: &["shown_in", "julian_date"],
        examples: &[
            Example::exact("epoch(\"2031-03-13 TDB\") - epoch(\"2031-03-12 TDB\")", "1.days"),
            Example::exact("(epoch(\"2031-03-12 TDB\") + 2.hours).iso", "\"2031-03-12T02:00:00 TDB\""),
        ],
        ..Definition::function("epoch", |given| {
            let text = given.text(0)?;
            Epoch::parse(&text).map(Dynamic::from).map_err(|error| Fault::from(error).at(0))
        })
    },
    Definition {
        summary: "The same instant, shown in another time scale.",
        parameters: &[Parameter::new("scale", Kind::Text, "\"UTC\", \"TAI\", \"TT\" or \"TDB\"")],
        returns: (EPOCH, "equal to the first"),
        see_also: &["epoch"],
        examples: &[Example::exact(
            "epoch(\"2000-01-01T12:00:00 TT\").shown_in(\"TAI\").iso",
            "\"2000-01-01T11:59:27.816 TAI\"",
        )],
        ..Definition::method("Epoch", "shown_in", |given| {
            let epoch: Epoch = given.this()?;
            Ok(Dynamic::from(epoch.shown_in(scale(&given.text(0)?)?)))
        })
    },
    Definition {
        summary: "The instant as text, date and time with the scale.",
        returns: (Kind::Text, "ISO 8601 and the scale, to the nanosecond; `print` shows milliseconds"),
        see_also: &["epoch"],
        examples: &[Example::exact("epoch(\"2031-03-12 TDB\").iso", "\"2031-03-12T00:00:00 TDB\"")],
        ..Definition::property("Epoch", "iso", |given| Ok(value::text(given.this::<Epoch>()?.show())))
    },
    Definition {
        summary: "The Julian date, TDB.",
        returns: (Kind::Number, "days; a double carries it to about 40 µs"),
        see_also: &["epoch"],
        examples: &[Example::exact("epoch(\"2000-01-01T12:00:00 TDB\").julian_date", "2451545")],
        ..Definition::property("Epoch", "julian_date", |given| {
            let (days, fraction) = given.this::<Epoch>()?.tdb_days();
            Ok(Dynamic::from_float(2_451_545.0 + days + fraction))
        })
    },
];
