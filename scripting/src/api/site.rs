//! The noun `Site`: a place on a body, that turns with it.

use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::{Body, Site, SystemError};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH};
use super::noun::Noun;
use super::refusal::no_place;
use super::value;
use crate::diagnostic::nearest::nearest;

/// A site.
pub(super) const SITE: Kind = Kind::Noun("Site");

/// `6.00 deg north, 30.00 deg east`.
fn bearings(site: &Site) -> String {
    let side = |angle: f64, positive: &str, negative: &str| {
        let way = if angle < 0.0 { negative } else { positive };
        format!("{:.4} deg {way}", angle.abs().to_degrees())
    };
    format!("{}, {}", side(site.latitude(), "north", "south"), side(site.longitude(), "east", "west"))
}

impl Noun for Site {
    const NAME: &'static str = "Site";
    const ABOUT: &'static str = "A place on the ground or the sea of a body, that turns with it.";

    fn show(&self) -> String {
        let on = match self.depth() {
            Some(depth) => format!("on the sea, {} of water below", Quantity::length(depth).show()),
            None => format!("on the ground, {} above the ellipsoid", Quantity::length(self.height()).show()),
        };
        format!("site on {}: {}, {on}", self.body().name(), bearings(self))
    }

    fn to_json(&self) -> Value {
        let angle = |value: f64| json!({ "value": value, "unit": "rad" });
        let metres = |value: f64| json!({ "value": value, "unit": "m" });
        json!({
            "site": self.body().name(), "latitude": angle(self.latitude()), "longitude": angle(self.longitude()),
            "height": metres(self.height()), "depth": self.depth().map(metres),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// A place that is none.
fn no_site(error: &SystemError) -> Fault {
    let fault = Fault::new(error.message());
    match error.hint() {
        Some(hint) => fault.help(hint),
        None => fault,
    }
}

const OPTIONS: &[Parameter] = &[
    Parameter::optional("height", LENGTH, "above the ellipsoid; 0 when left out"),
    Parameter::optional(
        "depth",
        LENGTH,
        "of the water below: what is put there floats; dry ground when left out, unless the sea covers all",
    ),
    Parameter::optional("floor", Kind::Text, "a named place of the sea's floor, whose depth it takes"),
];

fn made(given: &Given) -> Answer {
    let body = given.this::<Body>()?;
    let options = given.options(2)?;
    let height = options.si("height")?;
    let site =
        Site::new(&body, given.angle(0)?, given.angle(1)?, height.unwrap_or(0.0)).map_err(|error| no_site(&error))?;
    let depth = match (options.si("depth")?, options.text("floor")?) {
        (Some(_), Some(_)) => {
            return Err(options
                .fault("floor", "`depth` and `floor` say the same thing")
                .help("leave one of the two out"));
        }
        (depth, None) => depth,
        (None, Some(name)) => {
            let known = body.sea().map_or(&[][..], |sea| sea.sites());
            if let Some(site) = known.iter().find(|site| site.name == name) {
                Some(site.depth)
            } else {
                let fault = options.fault("floor", format!("the sea of {} has no place `{name}`", body.name()));
                let names: Vec<&str> = known.iter().map(|site| site.name.as_str()).collect();
                return Err(match nearest(&name, names.iter().copied()) {
                    Some(near) => fault.note(format!("did you mean `{near}`?")),
                    None => fault,
                }
                .help(if names.is_empty() {
                    "it names none: give a `depth`".to_owned()
                } else {
                    format!("it names: {}", names.join(", "))
                }));
            }
        }
    };
    Ok(value::noun(match depth {
        Some(depth) => site.on_water(depth).map_err(|error| no_site(&error).at(2))?,
        None => site,
    }))
}

fn this(given: &Given) -> Result<Site, Fault> {
    given.this::<Site>()
}

/// The definitions of sites.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A place on the body: where a voyage begins on the ground or afloat.",
        parameters: &[
            Parameter::new("latitude", ANGLE, "geodetic: of the ellipsoid's normal from the equator, north positive"),
            Parameter::new("longitude", ANGLE, "from the prime meridian, east positive"),
            Parameter::optional("options", Kind::Options(OPTIONS), "height, depth, floor"),
        ],
        returns: (SITE, "it turns with the body"),
        source: Some("[Vallado2013], section 3.2"),
        see_also: &["voyage", "Voyage.site", "Site.sun_elevation"],
        examples: &[Example::exact("system(\"velm\").Veyra.site(6.deg, 30.deg).latitude", "6.deg")],
        ..Definition::method("Body", "site", made)
    },
    Definition {
        summary: "The body that it is on.",
        returns: (BODY, ""),
        see_also: &["Body.site"],
        examples: &[Example::exact("system(\"velm\").Veyra.site(6.deg, 30.deg).body.name", "\"Veyra\"")],
        ..Definition::property("Site", "body", |given| Ok(value::noun(this(given)?.body().clone())))
    },
    Definition {
        summary: "The geodetic latitude: of the ellipsoid's normal from the equator.",
        returns: (ANGLE, "north positive"),
        see_also: &["Site.longitude"],
        examples: &[Example::exact("system(\"velm\").Veyra.site(-6.deg, 30.deg).latitude", "-6.deg")],
        ..Definition::property("Site", "latitude", |given| Ok(value::of(this(given)?.latitude(), Dimension::ANGLE)))
    },
    Definition {
        summary: "The longitude from the prime meridian.",
        returns: (ANGLE, "east positive, within half a turn"),
        see_also: &["Site.latitude"],
        examples: &[Example::close("system(\"velm\").Veyra.site(6.deg, 330.deg).longitude", "-30.deg", "1e-9.deg")],
        ..Definition::property("Site", "longitude", |given| Ok(value::of(this(given)?.longitude(), Dimension::ANGLE)))
    },
    Definition {
        summary: "The height above the ellipsoid, which is the level of the sea.",
        returns: (LENGTH, ""),
        see_also: &["Site.depth"],
        examples: &[Example::exact("system(\"velm\").Veyra.site(6.deg, 30.deg, #{ height: 120.m }).height", "120.m")],
        ..Definition::property("Site", "height", |given| Ok(value::of(this(given)?.height(), Dimension::LENGTH)))
    },
    Definition {
        summary: "The depth of the water below: what is put there floats.",
        returns: (LENGTH, "zero on dry ground; where a sea covers all and no depth was given, its least"),
        see_also: &["Site.height", "Body.sea"],
        examples: &[Example::exact("system(\"velm\").Maren.site(0.deg, 0.deg, #{ floor: \"vent\" }).depth", "4200.m")],
        ..Definition::property("Site", "depth", |given| {
            Ok(value::of(this(given)?.depth().unwrap_or(0.0), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The height of the star above the horizon: of its centre, without light time and refraction.",
        parameters: &[Parameter::new("epoch", EPOCH, "when")],
        returns: (ANGLE, "below zero at night"),
        see_also: &["Site.sunlit", "Site.sun_azimuth"],
        examples: &[Example::close(
            "system(\"sol\").Earth.site(-0.18.deg, -78.47.deg).sun_elevation(epoch(\"2021-03-20T17:00:00 UTC\"))",
            "84.6835.deg",
            "0.1.deg",
        )],
        ..Definition::method("Site", "sun_elevation", |given| {
            let elevation = this(given)?.sun_elevation(given.epoch(0)?);
            elevation.map(|angle| value::of(angle, Dimension::ANGLE)).map_err(|error| no_place(&error).at(0))
        })
    },
    Definition {
        summary: "The azimuth of the star: from north through east.",
        parameters: &[Parameter::new("epoch", EPOCH, "when")],
        returns: (ANGLE, "0 to one turn"),
        see_also: &["Site.sun_elevation"],
        examples: &[Example::close(
            "system(\"sol\").Earth.site(38.72.deg, -9.14.deg).sun_azimuth(epoch(\"2022-06-21T12:00:00 UTC\"))",
            "149.1.deg",
            "0.3.deg",
        )],
        ..Definition::method("Site", "sun_azimuth", |given| {
            let azimuth = this(given)?.sun_azimuth(given.epoch(0)?);
            azimuth.map(|angle| value::of(angle, Dimension::ANGLE)).map_err(|error| no_place(&error).at(0))
        })
    },
    Definition {
        summary: "Whether the star's centre is above the horizon.",
        parameters: &[Parameter::new("epoch", EPOCH, "when")],
        returns: (Kind::Flag, ""),
        see_also: &["Site.sun_elevation"],
        examples: &[Example::exact(
            "system(\"sol\").Earth.site(-33.87.deg, 151.21.deg).sunlit(epoch(\"2018-09-10T08:20:00 UTC\"))",
            "false",
        )],
        ..Definition::method("Site", "sunlit", |given| {
            let elevation = this(given)?.sun_elevation(given.epoch(0)?);
            elevation.map(|angle| (angle > 0.0).into()).map_err(|error| no_place(&error).at(0))
        })
    },
];
