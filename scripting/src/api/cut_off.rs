//! How exactly a burn ends.

use rhai::Dynamic;
use visviva_engine::burn::finite::cut_off;
use visviva_engine::quantity::Dimension;
use visviva_engine::vehicle::Vehicle;
use visviva_engine::voyage::supply;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::finite::no_thrust;
use super::given::Given;
use super::kind::{Kind, SPEED, TIME};
use super::value;
use super::vehicle::rows;

const ENDING: &[Parameter] = &[
    Parameter::new("vehicle", Kind::Noun("Vehicle"), "whose thrust and masses count"),
    Parameter::new("dv", SPEED, "of the burn"),
    Parameter::new(
        "uncertainty",
        TIME,
        "of the moment of cut-off: of the command, or the engine's impulse after it as time at its thrust",
    ),
    Parameter::optional("last", TIME, "how long full thrust would burn in the last part; 10 s when left out"),
    Parameter::optional("shares", Kind::List, "of the thrust in the last part; [1, 0.5, 0.25] when left out"),
];

fn ending(given: &Given) -> Answer {
    let options = given.options(0)?;
    let Some(vehicle) = options.noun::<Vehicle>("vehicle")? else {
        return Err(Fault::new("`cut_off` needs `vehicle`").at(0));
    };
    let mut shares = Vec::new();
    for item in options.list("shares")?.unwrap_or_default() {
        match value::scalar(&item) {
            Some(share) if share.dimension == Dimension::NUMBER => shares.push(share.value),
            _ => return Err(options.fault("shares", "shares of the thrust are numbers").help("write [1, 0.5, 0.25]")),
        }
    }
    if shares.is_empty() {
        shares = vec![1.0, 0.5, 0.25];
    }
    let supply = supply(&vehicle, 1.0).map_err(|error| no_thrust(&error))?;
    let (dv, wait) = (options.si("dv")?.unwrap_or_default(), options.si("last")?.unwrap_or(10.0));
    let found = cut_off(&supply, dv, wait, options.si("uncertainty")?.unwrap_or_default(), &shares)
        .map_err(|error| Fault::new(error.to_string()).at(0))?;
    Ok(rows(found.iter().map(|row| {
        vec![
            ("share", Dynamic::from_float(row.share)),
            ("acceleration", value::of(row.acceleration, Dimension::ACCELERATION)),
            ("error", value::of(row.error, Dimension::SPEED)),
            ("longer", value::of(row.longer, Dimension::TIME)),
        ]
    })))
}

/// The definitions of the ends of burns.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "How exactly a burn ends, with less thrust in its last part.",
    parameters: &[Parameter::new("how", Kind::Options(ENDING), "the burn, and how uncertain its end is")],
    returns: (
        Kind::List,
        "of maps: share, acceleration (at cut-off), error (of the speed), longer (than at full thrust)",
    ),
    source: Some("acceleration times time; less thrust in the last seconds is common practice, no source"),
    see_also: &["finite_burn"],
    examples: &[Example::close(
        "cut_off(#{ vehicle: vehicle(#{ dry: 2.tonnes, propellant: 8.tonnes, isp: 450.s, thrust: 30.kN }), dv: 3200.m_s, uncertainty: 0.1.s })[2].error",
        "0.155.m_s",
        "0.001.m_s",
    )],
    ..Definition::function("cut_off", ending)
}];
