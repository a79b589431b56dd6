//! What is read of floating craft: figures upright, righting arms, attitudes.

use rhai::{Array, Dynamic, Map};
use visviva_engine::quantity::Dimension;
use visviva_engine::sea_flight::{Floating, FloatingCraft};

use super::afloat::{SEA, stance, water, why};
use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::kind::{ANGLE, Kind, LENGTH, MASS, TIME};
use super::value;
use super::vehicle::or_nothing;

/// The lander of `lantern` on three floats, for the examples.
macro_rules! lander {
    ($rest:literal) => {
        concat!(
            "let float = |a| #{ form: \"cylinder\", diameter: 2.3.m, length: 3.m, x: 2.45.m * cos(a), y: 2.45.m * sin(a) }; \
             let craft = floating_craft(#{ hulls: [float.call(0.deg), float.call(120.deg), float.call(240.deg)], \
             weights: [#{ mass: 10.62.tonnes, height: 2.01.m }], points: [#{ name: \"hatch\", height: 1.6.m, at_most: 0.8.m }] }); \
             let sea = system(\"velm\").Maren.sea; ",
            $rest
        )
    };
}

pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Height of the water above the keel.",
        returns: (LENGTH, ""),
        see_also: &["FloatingCraft.float", "Floating.height"],
        examples: &[Example::close(lander!("craft.float(sea).draft"), "0.822.m", "0.5.mm")],
        ..Definition::property("Floating", "draft", |given| {
            Ok(value::of(given.this::<Floating>()?.draft, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The least metacentric height, in whatever direction it leans, free surfaces counted.",
        returns: (LENGTH, "below zero: it does not stay upright"),
        see_also: &["Floating.stance", "FloatingCraft.righting_arm"],
        examples: &[Example::close(lander!("craft.float(sea).metacentric_height"), "2.45.m", "1.cm")],
        ..Definition::property("Floating", "metacentric_height", |given| {
            Ok(value::of(given.this::<Floating>()?.metacentric_height, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "What becomes of it: \"upright\", \"rolls over\" or \"sinks\".",
        returns: (Kind::Text, ""),
        see_also: &["Floating.why", "FloatingCraft.attitudes"],
        examples: &[Example::exact(lander!("craft.float(sea).stance"), "\"upright\"")],
        ..Definition::property("Floating", "stance", |given| Ok(value::text(stance(&given.this::<Floating>()?))))
    },
    Definition {
        summary: "What is wrong with how it floats, and by how much; empty where nothing is.",
        returns: (Kind::Text, ""),
        see_also: &["Floating.stance", "Floating.height"],
        examples: &[
            Example::exact(lander!("craft.float(sea).why"), "\"\""),
            Example::exact(
                "floating_craft(#{ hulls: [#{ form: \"box\", length: 3.m, beam: 3.m, height: 2.m }], weights: [#{ mass: 2.tonnes, height: 0.5.m }], points: [#{ name: \"hatch\", height: 1.6.m, at_most: 0.8.m }] }).float(system(\"velm\").Maren.sea).why",
                "\"floats 0.59 m too high for `hatch`\"",
            ),
        ],
        ..Definition::property("Floating", "why", |given| Ok(value::text(why(&given.this::<Floating>()?))))
    },
    Definition {
        summary: "Mass that sinks it by a centimetre more.",
        returns: (MASS, ""),
        see_also: &["Floating.draft"],
        examples: &[Example::close(lander!("craft.float(sea).mass_per_cm"), "129.kg", "0.5.kg")],
        ..Definition::property("Floating", "mass_per_cm", |given| {
            Ok(value::of(0.01 * given.this::<Floating>()?.immersion, Dimension::MASS))
        })
    },
    Definition {
        summary: "Mass that its hulls could still carry; below zero it sinks.",
        returns: (MASS, ""),
        see_also: &["Floating.stance"],
        examples: &[Example::exact(lander!("craft.float(sea).reserve_buoyancy > 20.tonnes"), "true")],
        ..Definition::property("Floating", "reserve_buoyancy", |given| {
            Ok(value::of(given.this::<Floating>()?.reserve_buoyancy, Dimension::MASS))
        })
    },
    Definition {
        summary: "The period of heaving, with the inertia of the water below.",
        returns: (TIME, "undamped"),
        source: Some("[RawsonTupper2001], chapter 12; [Newman1977], chapter 4"),
        see_also: &["Floating.roll_period"],
        examples: &[Example::exact(lander!("craft.float(sea).heave_period > 3.s"), "true")],
        ..Definition::property("Floating", "heave_period", |given| {
            Ok(value::of(given.this::<Floating>()?.heave_period, Dimension::TIME))
        })
    },
    Definition {
        summary: "The period of rolling through small angles about the weakest axis.",
        returns: (TIME, "undamped, without the water's inertia; nothing where it does not stay upright"),
        source: Some("[RawsonTupper2001], chapter 12"),
        see_also: &["Floating.heave_period", "Floating.metacentric_height"],
        examples: &[Example::exact(
            "floating_craft(#{ hulls: [#{ form: \"box\", length: 6.m, beam: 3.m, height: 1.m }], weights: [#{ mass: 1.tonnes, height: 0.5.m, y: 1.m }, #{ mass: 1.tonnes, height: 0.5.m, y: -1.m }] }).float(system(\"velm\").Maren.sea).roll_period < 5.s",
            "true",
        )],
        ..Definition::property("Floating", "roll_period", |given| {
            Ok(or_nothing(given.this::<Floating>()?.roll_period, Dimension::TIME))
        })
    },
    Definition {
        summary: "The height of a named point above the water.",
        parameters: &[Parameter::new("point", Kind::Text, "its name")],
        returns: (LENGTH, "below zero under water"),
        see_also: &["Floating.why", "Floating.draft"],
        examples: &[Example::close(lander!("craft.float(sea).height(\"hatch\")"), "0.778.m", "0.5.mm")],
        ..Definition::method("Floating", "height", |given| {
            let (floating, name) = (given.this::<Floating>()?, given.text(0)?);
            let Some(height) = floating.height_of(&name) else {
                let names: Vec<String> = floating.points.iter().map(|point| format!("`{}`", point.name)).collect();
                let fault = Fault::new(format!("this craft has no point called `{name}`")).at(0);
                return Err(if names.is_empty() { fault } else { fault.note(format!("it has {}", names.join(", "))) });
            };
            Ok(value::of(height, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The righting arm at a heel.",
        parameters: &[
            Parameter::new("angle", ANGLE, "of the heel"),
            Parameter::new("towards", ANGLE, "side that dips, from x"),
            Parameter::new("sea", SEA, "such as `body.sea`"),
        ],
        returns: (LENGTH, "positive where it rights; liquids in tanks find their level"),
        source: Some("[RawsonTupper2001], chapter 4"),
        see_also: &["Floating.metacentric_height", "FloatingCraft.attitudes"],
        examples: &[Example::exact(lander!("craft.righting_arm(10.deg, 0.deg, sea) > 30.cm"), "true")],
        ..Definition::method("FloatingCraft", "righting_arm", |given| {
            let craft = given.this::<FloatingCraft>()?;
            let arm = craft.righting_arm(given.angle(0)?, given.angle(1)?, &water(given, 2)?)?;
            Ok(value::of(arm, Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The attitudes in which the craft may come to rest, the safest first.",
        parameters: &[Parameter::new("sea", SEA, "such as `body.sea`")],
        returns: (Kind::List, "maps with `heel` from upright and `stiffness` (righting arm for a radian)"),
        source: Some("least potential energy over attitudes; [RawsonTupper2001], chapter 4"),
        see_also: &["FloatingCraft.float", "FloatingCraft.righting_arm"],
        examples: &[Example::close(
            "floating_craft(#{ hulls: [#{ form: \"cylinder\", diameter: 1.m, length: 4.m }], weights: [#{ mass: 1.2.tonnes, height: 2.m }] }).attitudes(system(\"velm\").Maren.sea)[0].heel",
            "90.deg",
            "0.001.deg",
        )],
        ..Definition::method("FloatingCraft", "attitudes", |given| {
            let craft = given.this::<FloatingCraft>()?;
            let rest = craft.attitudes(&water(given, 0)?)?;
            let maps: Array = rest
                .iter()
                .map(|attitude| {
                    let mut map = Map::new();
                    map.insert("heel".into(), value::of(attitude.heel, Dimension::ANGLE));
                    map.insert("stiffness".into(), value::of(attitude.stiffness, Dimension::LENGTH));
                    Dynamic::from_map(map)
                })
                .collect();
            Ok(Dynamic::from_array(maps))
        })
    },
];
