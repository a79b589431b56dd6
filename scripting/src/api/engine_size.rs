//! The lightest engine for a burn, its loss counted.

use rhai::{Dynamic, Map};
use visviva_engine::burn::Burn;
use visviva_engine::burn::finite::{Carried, Flying, Impulse, Law, lightest_engine};
use visviva_engine::constants::STANDARD_GRAVITY;
use visviva_engine::motion::force::Surroundings;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;

use super::burn::BURN;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{Kind, MASS, ORBIT, TIME};
use super::value;

const FORCE: Kind = Kind::Of(Dimension::FORCE);

const WANTED: &[Parameter] = &[
    Parameter::new("orbit", ORBIT, "on which the burn stands"),
    Parameter::new("payload", MASS, "all that is carried besides engine, tanks and propellant"),
    Parameter::new("isp", TIME, "specific impulse, above zero"),
    Parameter::new("engine_thrust_to_weight", Kind::Number, "of the engine alone: its thrust over its own weight"),
    Parameter::optional("structural_ratio", Kind::Number, "tanks over tanks and propellant; 0.08 when left out"),
    Parameter::optional("least_thrust", FORCE, "to look from; 0.02 of the payload's weight when left out"),
    Parameter::optional("greatest_thrust", FORCE, "to look to; twice the payload's weight when left out"),
    Parameter::optional("passes", Kind::Whole, "over how many passes; 1, along the velocity, when left out"),
];

fn sized(given: &Given) -> Answer {
    let (burn, options) = (given.noun::<Burn>(0)?, given.options(1)?);
    let Some(orbit) = options.noun::<Orbit>("orbit")? else {
        return Err(Fault::new("`lightest_engine` needs `orbit`").at(1));
    };
    let figure = |key: &str| options.si(key).map(Option::unwrap_or_default);
    let (payload, ratio) = (figure("payload")?, options.number("engine_thrust_to_weight")?.unwrap_or_default());
    let weight = payload * STANDARD_GRAVITY;
    let range =
        (options.si("least_thrust")?.unwrap_or(0.02 * weight), options.si("greatest_thrust")?.unwrap_or(2.0 * weight));
    let passes = options.whole("passes")?.map_or(1, |passes| usize::try_from(passes).unwrap_or(0));
    let law = if passes == 1 { Law::Along } else { Law::Turning };
    let carried = Carried { payload, tanks: options.number("structural_ratio")?.unwrap_or(0.08) };
    let dv = burn.dv_at(orbit.state()).map_err(|error| super::refusal::no_burn(&error))?;
    let around = Surroundings::of(orbit.body(), orbit.epoch()).spherical().airless();
    let impulse = Impulse { before: *orbit.state(), dv };
    let kind = (figure("isp")? * STANDARD_GRAVITY, 1.0 / (ratio * STANDARD_GRAVITY));
    let stopped = || given.run.stopped();
    let flying = Flying { law, passes };
    let best = lightest_engine(&around, &impulse, flying, carried, kind, range, &Watch::new(&stopped))
        .map_err(|error| Fault::new(error.to_string()).at(1))?;
    let mut answer = Map::new();
    for (name, si, dimension) in [
        ("thrust", best.engine.thrust, Dimension::FORCE),
        ("engine_mass", best.engine.mass, Dimension::MASS),
        ("dv", best.dv, Dimension::SPEED),
        ("loss", best.loss, Dimension::SPEED),
        ("duration", best.burning, Dimension::TIME),
        ("propellant", best.propellant, Dimension::MASS),
        ("initial_mass", best.initial_mass, Dimension::MASS),
    ] {
        answer.insert(name.into(), value::of(si, dimension));
    }
    Ok(Dynamic::from_map(answer))
}

/// The definitions of engines sized for burns.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "The engine with which a stage for a burn is lightest: a lighter engine against the loss of a longer burn.",
    parameters: &[
        Parameter::new("burn", BURN, "its size and direction count; it stands where the orbit is"),
        Parameter::new("stage", Kind::Options(WANTED), "what it carries, and what engines weigh"),
    ],
    returns: (Kind::Map, "thrust, engine_mass, dv, loss, duration, propellant, initial_mass"),
    source: Some("the rocket equation, [SuttonBiblarz2017], equation 4-6, with the Δv as flown; docs/finite-burns.md"),
    see_also: &["finite_burn", "lightest_split"],
    examples: &[Example::exact(
        "lightest_engine(burn(#{ along: 3600.m_s }), #{ orbit: circular(system(\"sol\").Earth, 300.km), payload: 5.tonnes, isp: 450.s, engine_thrust_to_weight: 60 }).loss > 5.m_s",
        "true",
    )],
    ..Definition::function("lightest_engine", sized)
}];
