//! `floating_craft`: what displaces, weighs and sloshes; the nouns `FloatingCraft` and `Floating`.

use std::fmt::Write as _;

use rhai::{Array, Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::sea_flight::{
    Axis, Floating, FloatingCraft, Form, Limit, Point, Solid, Stance, Tank, Water, Weight,
};
use visviva_engine::system::Sea;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{Kind, LENGTH, MASS};
use super::noun::Noun;
use super::options::{Options, check};
use super::table::Columns;
use super::value;

pub(super) const SEA: Kind = Kind::Noun("Sea");
const DENSITY: Kind = Kind::Of(Dimension::DENSITY);

/// The lists of a craft.
const CRAFT: &[Parameter] = &[
    Parameter::new(
        "hulls",
        Kind::List,
        "maps, each with `form` (\"cylinder\": `diameter`, `length`; \"cone\": `lower`, `upper` diameters, `length`; \"sphere\": `diameter`; \"box\": \
         `length`, `beam`, `height`), `bottom` above the keel, `axis` (\"upright\", \"lengthwise\", \"crosswise\"), place `x`, `y`",
    ),
    Parameter::new(
        "weights",
        Kind::List,
        "maps, each with `mass`, `height` above the keel, and `name`, `x`, `y` if wanted",
    ),
    Parameter::optional(
        "tanks",
        Kind::List,
        "maps as of hulls, for the inside, with `name`, `density` and `mass` of the liquid",
    ),
    Parameter::optional(
        "points",
        Kind::List,
        "hatches and engines: maps with `name`, `height` above the keel, `x`, `y`, and `at_least`, `at_most` above the water",
    ),
];

const HULL: &[Parameter] = &[
    Parameter::new("form", Kind::Text, "\"cylinder\", \"cone\", \"sphere\" or \"box\""),
    Parameter::optional("diameter", LENGTH, "of a cylinder or sphere"),
    Parameter::optional(
        "lower",
        LENGTH,
        "diameter of a cone's lower end, or that of lesser x or y; a point when left out",
    ),
    Parameter::optional("upper", LENGTH, "diameter of its other end; a point when left out"),
    Parameter::optional("length", LENGTH, "along the axis; of a box along x"),
    Parameter::optional("beam", LENGTH, "of a box, along y"),
    Parameter::optional("height", LENGTH, "of a box"),
    Parameter::optional("axis", Kind::Text, "\"upright\" when left out, \"lengthwise\" or \"crosswise\""),
    Parameter::optional("bottom", LENGTH, "of its lowest point above the keel, zero when left out"),
    Parameter::optional("x", LENGTH, "forward, of its middle"),
    Parameter::optional("y", LENGTH, "to the left, of its middle"),
];

const WEIGHT: &[Parameter] = &[
    Parameter::optional("name", Kind::Text, "of the part"),
    Parameter::new("mass", MASS, "of the part"),
    Parameter::new("height", LENGTH, "above the keel"),
    Parameter::optional("x", LENGTH, "forward"),
    Parameter::optional("y", LENGTH, "to the left"),
];

const TANK: &[Parameter] = &[
    Parameter::new("name", Kind::Text, "of the tank"),
    Parameter::new("inside", Kind::Map, "its inside, a map as of a hull"),
    Parameter::new("density", DENSITY, "of the liquid"),
    Parameter::optional("mass", MASS, "of the liquid, empty when left out"),
];

const POINT: &[Parameter] = &[
    Parameter::new("name", Kind::Text, "of the point"),
    Parameter::new("height", LENGTH, "above the keel"),
    Parameter::optional("x", LENGTH, "forward"),
    Parameter::optional("y", LENGTH, "to the left"),
    Parameter::optional("at_least", LENGTH, "height above the water that it must have"),
    Parameter::optional("at_most", LENGTH, "height above the water that it may have"),
];

/// The maps of a list, each held against its keys.
fn maps<'g>(
    given: &'g Given,
    word: &str,
    list: Option<Array>,
    keys: &'static [Parameter],
) -> Result<Vec<Options<'g>>, Fault> {
    let mut found = Vec::new();
    for item in list.unwrap_or_default() {
        let Some(map) = item.read_lock::<Map>().map(|map| map.clone()) else {
            let what = format!("`{word}` is a list of maps; one of its items is {}", value::describe(&item));
            return Err(Fault::new(what).at_key(0, word));
        };
        found.push(one(given, word, map, keys)?);
    }
    Ok(found)
}

fn one<'g>(given: &'g Given, word: &str, map: Map, keys: &'static [Parameter]) -> Result<Options<'g>, Fault> {
    check(word, 0, keys, &map)?;
    Ok(Options { given: given.definition, argument: 0, keys, map, method: false })
}

fn solid(options: &Options<'_>, word: &str) -> Result<Solid, Fault> {
    let form = options.text("form")?.unwrap_or_default();
    let needed = |key: &str| {
        let fault = || Fault::new(format!("a {form} of `{word}` needs `{key}`")).at_key(0, word);
        options.si(key)?.ok_or_else(fault)
    };
    let form = match form.as_str() {
        "cylinder" => Form::Cylinder { diameter: needed("diameter")?, length: needed("length")? },
        "cone" => Form::Frustum {
            first: options.si("lower")?.unwrap_or(0.0),
            last: options.si("upper")?.unwrap_or(0.0),
            length: needed("length")?,
        },
        "sphere" => Form::Sphere { diameter: needed("diameter")? },
        "box" => Form::Block { length: needed("length")?, beam: needed("beam")?, height: needed("height")? },
        other => {
            let fault = Fault::new(format!("`{word}` knows no form \"{other}\"")).at_key(0, word);
            return Err(fault.help("write form: \"cylinder\", \"cone\", \"sphere\" or \"box\""));
        }
    };
    let axis = options.text("axis")?;
    let axis = match axis.as_deref() {
        None | Some("upright") => Axis::Upright,
        Some("lengthwise") => Axis::Lengthwise,
        Some("crosswise") => Axis::Crosswise,
        Some(other) => {
            let fault = Fault::new(format!("`{word}` knows no axis \"{other}\"")).at_key(0, word);
            return Err(fault.help("write axis: \"upright\", \"lengthwise\" or \"crosswise\""));
        }
    };
    let place = [options.si("x")?.unwrap_or(0.0), options.si("y")?.unwrap_or(0.0)];
    let bottom = options.si("bottom")?.unwrap_or(0.0);
    Solid::new(form, axis, bottom, place).map_err(|error| Fault::from(error).at_key(0, word))
}

fn place(options: &Options<'_>) -> Result<[f64; 3], Fault> {
    let or_zero = |key| options.si(key).map(|figure| figure.unwrap_or(0.0));
    Ok([or_zero("x")?, or_zero("y")?, or_zero("height")?])
}

fn made(given: &Given) -> Answer {
    let options = given.options(0)?;
    let name = |item: &Options<'_>| item.text("name").map(|name| name.unwrap_or_default().to_string());
    let mut craft = FloatingCraft::default();
    for hull in maps(given, "hulls", options.list("hulls")?, HULL)? {
        craft.hulls.push(solid(&hull, "hulls")?);
    }
    for item in maps(given, "weights", options.list("weights")?, WEIGHT)? {
        let mass = item.si("mass")?.unwrap_or(0.0);
        craft.weights.push(Weight { name: name(&item)?, mass, place: place(&item)?, gyration: [0.0; 3] });
    }
    for item in maps(given, "tanks", options.list("tanks")?, TANK)? {
        let inside = one(given, "tanks", item.map("inside")?.unwrap_or_default(), HULL)?;
        let (density, mass) = (item.si("density")?.unwrap_or(0.0), item.si("mass")?.unwrap_or(0.0));
        craft.tanks.push(Tank { name: name(&item)?, inside: solid(&inside, "tanks")?, density, mass });
    }
    for item in maps(given, "points", options.list("points")?, POINT)? {
        let limits = (item.si("at_least")?.unwrap_or(f64::NEG_INFINITY), item.si("at_most")?.unwrap_or(f64::INFINITY));
        craft.points.push(Point { name: name(&item)?, place: place(&item)?, limits });
    }
    craft.check().map_err(|error| Fault::from(error).at(0))?;
    Ok(value::noun(craft))
}

impl Noun for FloatingCraft {
    const NAME: &'static str = "FloatingCraft";
    const ABOUT: &'static str = "A craft as water sees it: hulls, weights, tanks, points. For study and rehearsal; flotation of crewed \
                                 craft follows licensed practice.";

    fn show(&self) -> String {
        let volume = format!("{:.3} m³", self.hull_volume());
        format!("craft of {} on hulls of {volume}", Quantity::mass(self.mass()).show())
    }

    fn to_json(&self) -> Value {
        json!({
            "mass": { "value": self.mass(), "unit": "kg" },
            "hull_volume": { "value": self.hull_volume(), "unit": "m³" },
            "tanks": self.tanks.iter().map(|tank| json!({ "name": tank.name, "mass": { "value": tank.mass, "unit": "kg" } })).collect::<Vec<_>>(),
        })
    }
}

/// `upright`, `rolls over`, `sinks`.
pub(super) fn stance(floating: &Floating) -> &'static str {
    match floating.stance {
        Stance::Upright => "upright",
        Stance::RollsOver => "rolls over",
        Stance::Sinks { .. } => "sinks",
    }
}

/// Why it is not upright with every point within its limits.
pub(super) fn why(floating: &Floating) -> String {
    if let Stance::Sinks { excess } = floating.stance {
        return format!("sinks: {excess:.1} kg more than its hulls carry");
    }
    if floating.stance == Stance::RollsOver {
        return format!("rolls over: metacentric height {:.3} m", floating.metacentric_height);
    }
    let worst = floating.points.iter().filter(|point| point.margin < 0.0).min_by(|a, b| a.margin.total_cmp(&b.margin));
    worst.map_or(String::new(), |point| {
        let by = -point.margin;
        let way = if point.upper { "high" } else { "low" };
        format!("floats {by:.2} m too {way} for `{}`", point.name)
    })
}

impl Noun for Floating {
    const NAME: &'static str = "Floating";
    const ABOUT: &'static str = "A craft upright on the water: draft, stability, periods, heights of its points. For study and rehearsal; \
                                 flotation of crewed craft follows licensed practice.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["figure", ">value"]);
        let metres = |si: f64| format!("{si:.3} m");
        for (what, figure) in [
            ("stance", stance(self).to_owned()),
            ("mass", Quantity::mass(self.mass).show()),
            ("draft", metres(self.draft)),
            ("centre of buoyancy above keel", metres(self.centre_of_buoyancy)),
            ("centre of mass above keel", metres(self.centre_of_mass)),
            ("metacentric height", metres(self.metacentric_height)),
            ("of that, lost to free surfaces", metres(self.free_surface.0)),
            ("mass per cm", format!("{:.1} kg", 0.01 * self.immersion)),
            ("reserve buoyancy", Quantity::mass(self.reserve_buoyancy).show()),
            ("heave period", format!("{:.2} s", self.heave_period)),
            ("roll period", self.roll_period.map_or("none".into(), |period| format!("{period:.2} s"))),
        ] {
            table.row(&[what.into(), figure]);
        }
        for point in &self.points {
            table.row(&[format!("{} above water", point.name), metres(point.height)]);
        }
        let mut text = table.text();
        let why = why(self);
        if !why.is_empty() {
            let _ = write!(text, "\n{why}");
        }
        text
    }

    fn to_json(&self) -> Value {
        let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        let points = self.points.iter().map(|point| json!({ "name": point.name, "height": of(point.height, "m") }));
        json!({
            "stance": stance(self), "why": why(self), "mass": of(self.mass, "kg"), "draft": of(self.draft, "m"),
            "metacentric_height": of(self.metacentric_height, "m"), "free_surface": of(self.free_surface.0, "m"),
            "centre_of_buoyancy": of(self.centre_of_buoyancy, "m"), "centre_of_mass": of(self.centre_of_mass, "m"),
            "mass_per_cm": of(0.01 * self.immersion, "kg"), "reserve_buoyancy": of(self.reserve_buoyancy, "kg"),
            "heave_period": of(self.heave_period, "s"),
            "roll_period": self.roll_period.map_or(Value::Null, |period| of(period, "s")),
            "points": points.collect::<Vec<_>>(),
        })
    }
}

/// The water of a sea's surface.
pub(super) fn water(given: &Given, argument: usize) -> Result<Water, Fault> {
    Ok(Water::of(&given.noun::<Sea>(argument)?))
}

fn kept(given: &Given) -> Answer {
    let (craft, tank, water) = (given.this::<FloatingCraft>()?, given.text(0)?, water(given, 1)?);
    let keep = craft.keep(&[tank.as_str()], &water).map_err(|error| Fault::from(error).at(0))?;
    let limit = |limit: &Option<Limit>| limit.as_ref().map_or(Dynamic::UNIT, |limit| value::text(limit.to_string()));
    let mut map = Map::new();
    map.insert("least".into(), super::vehicle::or_nothing(keep.least, Dimension::MASS));
    map.insert("greatest".into(), super::vehicle::or_nothing(keep.greatest, Dimension::MASS));
    map.insert("capacity".into(), value::of(keep.capacity, Dimension::MASS));
    map.insert("too_light".into(), limit(&keep.too_light));
    map.insert("too_heavy".into(), limit(&keep.too_heavy));
    Ok(Dynamic::from_map(map))
}

pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A craft that may float, from its hulls, weights, tanks and points.",
        parameters: &[Parameter::new("craft", Kind::Options(CRAFT), "lists of maps; lengths count from the keel up")],
        returns: (
            Kind::Noun("FloatingCraft"),
            "for study and rehearsal: flotation of crewed craft follows licensed practice",
        ),
        source: Some("[RawsonTupper2001], chapters 3 and 4"),
        see_also: &["FloatingCraft.float", "FloatingCraft.keep", "dive"],
        examples: &[Example::close(
            "let raft = floating_craft(#{ hulls: [#{ form: \"box\", length: 6.m, beam: 3.m, height: 1.m }], weights: [#{ mass: 3.tonnes, height: 0.9.m }] }); raft.float(system(\"velm\").Maren.sea).draft",
            "0.16088.m",
            "0.01.mm",
        )],
        ..Definition::function("floating_craft", made)
    },
    Definition {
        summary: "The craft upright on the surface of a sea.",
        parameters: &[Parameter::new("sea", SEA, "such as `body.sea`")],
        returns: (Kind::Noun("Floating"), "a craft that sinks or rolls over is an answer: `stance`, `why`"),
        source: Some("[RawsonTupper2001], chapters 3 and 4"),
        see_also: &["floating_craft", "Floating.stance", "Floating.metacentric_height"],
        examples: &[Example::exact(
            "floating_craft(#{ hulls: [#{ form: \"cylinder\", diameter: 3.m, length: 5.m }], weights: [#{ mass: 3.2.tonnes, height: 2.16.m }] }).float(system(\"velm\").Maren.sea).stance",
            "\"rolls over\"",
        )],
        ..Definition::method("FloatingCraft", "float", |given| {
            let (craft, water) = (given.this::<FloatingCraft>()?, water(given, 0)?);
            Ok(value::noun(craft.float(&water)?))
        })
    },
    Definition {
        summary: "The least and greatest liquid that a tank may hold: with every point within its limits and the craft upright.",
        parameters: &[
            Parameter::new("tank", Kind::Text, "name of the tank"),
            Parameter::new("sea", SEA, "such as `body.sea`"),
        ],
        returns: (
            Kind::Map,
            "`least`, `greatest` (nothing where no filling does), `capacity`, and what is passed beyond either: `too_light`, `too_heavy`",
        ),
        source: None,
        see_also: &["FloatingCraft.float"],
        examples: &[Example::exact(
            "let tank = #{ name: \"main\", inside: #{ form: \"cylinder\", diameter: 1.4.m, length: 1.m }, density: 1000.kg_m3 }; \
             let craft = floating_craft(#{ hulls: [#{ form: \"cylinder\", diameter: 3.m, length: 3.m }], weights: [#{ mass: 4.tonnes, height: 0.7.m }], tanks: [tank], \
             points: [#{ name: \"hatch\", height: 1.55.m, at_most: 0.9.m }] }); craft.keep(\"main\", system(\"velm\").Maren.sea).too_light",
            "\"`hatch` stands too high above the water\"",
        )],
        ..Definition::method("FloatingCraft", "keep", kept)
    },
];
