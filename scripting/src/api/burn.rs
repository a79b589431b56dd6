//! The noun `Burn`: a change of velocity, along local axes, and once it is planned with its body, epoch and direction.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::burn::Burn;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::kind::{EPOCH, Kind, SPEED, VECTOR};
use super::noun::Noun;
use super::options::Options;
use super::refusal::{no_burn, no_orbit};
use super::value;
use super::vector::Vector;

/// A burn.
pub(super) const BURN: Kind = Kind::Noun("Burn");

/// Components below this part of the burn are not shown.
const ROUNDING: f64 = 1e-9;

impl Noun for Burn {
    const NAME: &'static str = "Burn";
    const ABOUT: &'static str = "An impulse: `along` the velocity, `across` along the angular momentum, `outward` in the plane, \
                                 away from the body. A planned burn also holds its body, epoch and inertial direction.";

    fn show(&self) -> String {
        let speed = |si: f64| Quantity::speed(si).show();
        let mut parts = Vec::new();
        for (name, size) in [("along", self.along), ("across", self.across), ("outward", self.outward)] {
            // Turning a plan into local axes leaves rounding behind, some 1e-16 of the orbital speed: nothing that is flown.
            if size.abs() > ROUNDING * self.size() {
                parts.push(format!("{} {name}", speed(size)));
            }
        }
        let label = if self.label.is_empty() { String::new() } else { format!("{}: ", self.label) };
        let when = self.plan.as_ref().map_or_else(String::new, |plan| {
            format!(", about {} at {}", plan.body.name(), plan.epoch.show_to_millisecond())
        });
        let parts = if parts.len() == 1 && self.along > (1.0 - ROUNDING) * self.size() {
            String::new()
        } else {
            format!(" ({})", parts.join(", "))
        };
        format!("{label}burn of {}{parts}{when}", speed(self.size()))
    }

    fn to_json(&self) -> Value {
        let speed = |si: f64| json!({ "value": si, "unit": "m/s" });
        json!({
            "label": self.label, "dv": speed(self.size()), "along": speed(self.along), "across": speed(self.across),
            "outward": speed(self.outward),
            "dv_inertial": self.dv_inertial.map(|dv| json!({ "value": [dv.x, dv.y, dv.z], "unit": "m/s", "frame": "inertial" })),
            "body": self.plan.as_ref().map(|plan| plan.body.name().to_owned()),
            "epoch": self.plan.as_ref().map(|plan| Noun::to_json(&plan.epoch)),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const BURN_OPTIONS: &[Parameter] = &[
    Parameter::optional("along", SPEED, "along the velocity, negative against it; 0 when left out"),
    Parameter::optional("across", SPEED, "along the orbit's angular momentum; 0 when left out"),
    Parameter::optional("outward", SPEED, "in the plane of the orbit, away from the body; 0 when left out"),
    Parameter::optional("label", Kind::Text, "what it is for"),
];

/// The orbit that a burn is flown on: the option `orbit`, at the epoch of the plan where there is one, else the plan's own.
///
/// - `write`: the options as a script that has no plan should give them.
pub(super) fn planned_on(burn: &Burn, options: &Options<'_>, write: &str) -> Result<Orbit, Fault> {
    match (options.noun::<Orbit>("orbit")?, &burn.plan) {
        (Some(orbit), Some(plan)) => orbit.at(plan.epoch).map_err(|error| no_orbit(&error)),
        (Some(orbit), None) => Ok(orbit),
        (None, Some(plan)) => Orbit::new(plan.body.clone(), plan.epoch, plan.before).map_err(|error| no_orbit(&error)),
        (None, None) => Err(Fault::new("this burn is not planned on an orbit")
            .help(format!("say on which orbit it is flown: {write}"))
            .at(0)),
    }
}

/// The definitions of burns.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A burn by its components along the local axes of the orbit it will be burnt on.",
        parameters: &[Parameter::new("components", Kind::Options(BURN_OPTIONS), "at least one of the three")],
        returns: (BURN, "not bound to an orbit: it is burnt where the craft is"),
        see_also: &["hohmann", "departure", "Orbit.after_burn"],
        examples: &[Example::exact("burn(#{ along: 120.m_s, outward: 50.m_s }).dv", "130.m_s")],
        ..Definition::function("burn", |given| {
            let options = given.options(0)?;
            let (along, across, outward) = (options.si("along")?, options.si("across")?, options.si("outward")?);
            if along.is_none() && across.is_none() && outward.is_none() {
                return Err(
                    Fault::new("a burn without a component does nothing").help("write burn(#{ along: 100.m_s })")
                );
            }
            let burn = Burn::local(along.unwrap_or(0.0), across.unwrap_or(0.0), outward.unwrap_or(0.0))
                .map_err(|error| no_burn(&error))?;
            Ok(value::noun(burn.labelled(options.text("label")?.as_deref().unwrap_or(""))))
        })
    },
    Definition {
        summary: "The size of the burn.",
        returns: (SPEED, "never negative"),
        see_also: &["Burn.along"],
        examples: &[Example::exact("burn(#{ along: -120.m_s, across: 50.m_s }).dv", "130.m_s")],
        ..Definition::property("Burn", "dv", |given| Ok(value::of(given.this::<Burn>()?.size(), Dimension::SPEED)))
    },
    Definition {
        summary: "The component along the velocity.",
        returns: (SPEED, "negative against it"),
        see_also: &["Burn.across", "Burn.outward"],
        examples: &[Example::exact("burn(#{ along: -120.m_s }).along", "-120.m_s")],
        ..Definition::property("Burn", "along", |given| Ok(value::of(given.this::<Burn>()?.along, Dimension::SPEED)))
    },
    Definition {
        summary: "The component along the orbit's angular momentum.",
        returns: (SPEED, ""),
        see_also: &["Burn.along", "Burn.outward"],
        examples: &[Example::exact("burn(#{ across: 30.m_s }).across", "30.m_s")],
        ..Definition::property("Burn", "across", |given| Ok(value::of(given.this::<Burn>()?.across, Dimension::SPEED)))
    },
    Definition {
        summary: "The component in the plane of the orbit, square to the velocity, away from the body.",
        returns: (SPEED, ""),
        see_also: &["Burn.along", "Burn.across"],
        examples: &[Example::exact("burn(#{ outward: 30.m_s }).outward", "30.m_s")],
        ..Definition::property("Burn", "outward", |given| {
            Ok(value::of(given.this::<Burn>()?.outward, Dimension::SPEED))
        })
    },
    Definition {
        summary: "When a planned burn is burnt.",
        returns: (EPOCH, "a burn that is not planned has none: an error"),
        see_also: &["Burn.dv", "hohmann"],
        examples: &[Example::exact(
            "let low = circular(system(\"sol\").Earth, 300.km); hohmann(low, 800.km).burns[0].epoch >= low.epoch",
            "true",
        )],
        ..Definition::property("Burn", "epoch", |given| match given.this::<Burn>()?.plan {
            Some(plan) => Ok(value::noun(plan.epoch)),
            None => Err(Fault::new("this burn is not planned: it has no epoch")
                .help("a planner's burn has one; coast to the place, then burn")),
        })
    },
    Definition {
        summary: "The change of velocity of a planned burn in the system's inertial axes.",
        returns: (VECTOR, "of speeds; a burn that is not planned has none: an error"),
        see_also: &["Burn.along", "Burn.epoch"],
        examples: &[Example::exact(
            "let b = hohmann(circular(system(\"sol\").Earth, 300.km), 800.km).burns[0]; abs(b.inertial.norm - b.dv) < 1e-9.m_s",
            "true",
        )],
        ..Definition::property("Burn", "inertial", |given| match given.this::<Burn>()?.dv_inertial {
            Some(dv) => Ok(Vector::new(dv, Dimension::SPEED).into_value()),
            None => Err(Fault::new("this burn is not planned: its direction depends on where it is burnt")),
        })
    },
    Definition {
        summary: "What the burn is for.",
        returns: (Kind::Text, "empty where nothing was said"),
        see_also: &["burn"],
        examples: &[Example::exact("burn(#{ along: 1.m_s, label: \"trim\" }).label", "\"trim\"")],
        ..Definition::property("Burn", "label", |given| Ok(value::text(given.this::<Burn>()?.label)))
    },
    Definition {
        summary: "The burn in equal parts.",
        parameters: &[Parameter::new("parts", Kind::Whole, "1 or more")],
        returns: (Kind::List, "of burns at the same place"),
        see_also: &["Burn.reversed"],
        examples: &[Example::exact("burn(#{ along: 120.m_s }).split(3)[1].dv", "40.m_s")],
        ..Definition::method("Burn", "split", |given| {
            let parts = given.whole(0)?;
            let count = usize::try_from(parts).ok().filter(|count| (1..=10_000).contains(count));
            let Some(count) = count else {
                return Err(Fault::new(format!("a burn splits into 1 to 10000 parts, not {parts}")).at(0));
            };
            let burns = given.this::<Burn>()?.split(count).map_err(|error| no_burn(&error))?;
            Ok(Dynamic::from_array(burns.into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "The opposite burn.",
        returns: (BURN, "at the same place"),
        see_also: &["Burn.split"],
        examples: &[Example::exact("burn(#{ along: 120.m_s }).reversed.along", "-120.m_s")],
        ..Definition::property("Burn", "reversed", |given| Ok(value::noun(given.this::<Burn>()?.reversed())))
    },
];
