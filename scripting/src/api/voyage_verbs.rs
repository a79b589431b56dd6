//! The verbs of a voyage: coast, burn, correct, note, finish.

use rhai::{Dynamic, FnPtr};
use visviva_engine::arc::shoot::Aim;
use visviva_engine::burn::Burn;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;
use visviva_engine::time::Epoch;
use visviva_engine::voyage::{CorrectionOptions, Goal, TEN_YEARS, WatchedError};

use super::aims::{AIM, EVENT, Occasion};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::finite::{FLOWN, no_thrust, thrusting};
use super::given::Given;
use super::handle::{Handle, refused};
use super::kind::{ANGLE, EPOCH, Kind, LENGTH, TIME};
use super::ledger::flown;
use super::value;
use crate::diagnostic::nearest::nearest;

const WAIT: &[Parameter] = &[Parameter::optional("within", TIME, "how long to wait for it; 10 years when left out")];

const CORRECTION: &[Parameter] = &[
    Parameter::new("aim", AIM, "what is to be met: periapsis_aim, flyby_aim, b_plane, meeting"),
    Parameter::optional("at", EPOCH, "when to burn; now when left out"),
    Parameter::optional("epoch", EPOCH, "when the target is to be met; free, for the least Δv, when left out"),
    Parameter::optional("expected", EPOCH, "about when it is met, where the coast as it is does not tell"),
    Parameter::optional("name", Kind::Text, "in the ledger; \"correction\" when left out"),
    FLOWN[0],
    FLOWN[1],
    FLOWN[2],
    FLOWN[3],
    FLOWN[4],
];

const EVENTS: [&str; 8] =
    ["periapsis", "apoapsis", "ascending node", "descending node", "exit", "altitude", "radius", "true anomaly"];

fn this(given: &Given) -> Result<Handle, Fault> {
    given.this::<Handle>()
}

/// What a verb without an answer gives back.
fn nothing(done: Option<()>) -> Dynamic {
    let _ = done;
    Dynamic::UNIT
}

/// The event that a text names, with the figure that belongs to it.
fn named_goal(given: &Given, name: &str) -> Result<Goal, Fault> {
    let figure = |dimension: Dimension, write: &str| {
        let figure = if given.has(1) { value::scalar(given.value(1)?) } else { None };
        match figure {
            Some(figure) if figure.dimension == dimension => Ok(figure.value),
            _ => Err(Fault::new(format!("`{name}` needs {}", dimension.described()))
                .help(format!("write coast_to(\"{name}\", {write})"))
                .at(0)),
        }
    };
    Ok(match name {
        "periapsis" => Goal::Periapsis,
        "apoapsis" => Goal::Apoapsis,
        "ascending node" => Goal::AscendingNode,
        "descending node" => Goal::DescendingNode,
        "exit" => Goal::Departure,
        "altitude" => Goal::Altitude(figure(Dimension::LENGTH, "500.km")?),
        "radius" => Goal::Radius(figure(Dimension::LENGTH, "7000.km")?),
        "true anomaly" => Goal::TrueAnomaly(figure(Dimension::ANGLE, "90.deg")?),
        other => {
            let fault = Fault::new(format!("there is no event `{other}`")).at(0);
            let listed = EVENTS.map(|event| format!("\"{event}\"")).join(", ");
            return Err(match nearest(other, EVENTS) {
                Some(near) => fault.note(format!("did you mean `{near}`?")),
                None => fault,
            }
            .help(format!("there are {listed}, arrival(body), epochs and closures")));
        }
    })
}

fn coast_to(given: &Given) -> Answer {
    let handle = this(given)?;
    let last = given.count() - 1;
    let within = if last > 0 && given.value(last)?.is_map() {
        // The options stand where the figure of an event may stand too.
        let map = given.map(last)?;
        map.get("within").and_then(value::scalar).map(|within| within.value)
    } else {
        None
    };
    let within = within.unwrap_or(TEN_YEARS);
    let value = given.value(0)?;
    if value.is_fnptr() {
        return watched(given, &handle, &given.function(0)?, within);
    }
    let goal = if let Ok(name) = given.text(0) {
        named_goal(given, &name)?
    } else if let Ok(epoch) = given.noun::<Epoch>(0) {
        Goal::Epoch(epoch)
    } else {
        given.noun::<Occasion>(0)?.goal
    };
    let done = handle
        .act(given, |voyage, watch| voyage.coast_to(&goal, within, watch).map_err(|error| refused(&error).at(0)))?;
    Ok(nothing(done))
}

/// Coasts to the first change of sign of what a closure makes of the orbit.
fn watched(given: &Given, handle: &Handle, closure: &FnPtr, within: f64) -> Answer {
    let done = handle.act(given, |voyage, watch| {
        // The voyage is in the middle of its verb while the closure looks on.
        let _frozen = given.run.freeze();
        let quantity = |orbit: &Orbit| -> Result<f64, Fault> {
            let answer = given.call(closure, (value::noun(orbit.clone()),))?;
            match value::scalar(&answer) {
                Some(quantity) => Ok(quantity.value),
                None => Err(Fault::new(format!(
                    "the closure must answer a number or a quantity, got {}",
                    value::describe(&answer)
                ))
                .help("write |s| s.altitude - 500.km: the coast stops where it changes its sign")
                .at(0)),
            }
        };
        voyage.coast_to_change(quantity, within, watch).map_err(|error| match error {
            WatchedError::Voyage(error) => refused(&error).at(0),
            WatchedError::Closure(fault) => fault,
        })
    })?;
    Ok(nothing(done))
}

fn correct(given: &Given) -> Answer {
    let options = given.options(0)?;
    let Some(mut aim) = options.noun::<Aim>("aim")? else {
        return Err(Fault::new("`correct` is missing its option `aim`"));
    };
    if let Some(when) = options.epoch("epoch")? {
        match &mut aim {
            Aim::BPlane { epoch, .. } | Aim::Periapsis { epoch, .. } | Aim::Flyby { epoch, .. } => *epoch = Some(when),
            Aim::Intercept { .. } => {
                return Err(options.fault("epoch", "this aim has its epoch already").help("leave `epoch` out"));
            }
        }
    }
    let wanted = CorrectionOptions {
        at: options.epoch("at")?,
        expected: options.epoch("expected")?,
        label: options.text("name")?.map(|name| name.to_string()),
        thrust: thrusting(&options)?,
    };
    let done = this(given)?.act(given, |voyage, watch| {
        voyage.correct(&aim, &wanted, watch).map_err(|error| {
            use visviva_engine::voyage::VoyageError as Refused;
            let late = matches!(error, Refused::Past { .. } | Refused::IgnitionPast { .. });
            no_thrust(&error).at_key(0, if late { "at" } else { "aim" })
        })
    })?;
    Ok(done.flatten().map_or(Dynamic::UNIT, |shot| value::noun(shot.burn)))
}

/// The definitions of verbs.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Coasts for a time, through spheres of influence on the way.",
        parameters: &[Parameter::new("time", TIME, "zero or more")],
        returns: (Kind::Nothing, "a craft that strikes the ground is lost"),
        source: Some("conics patched by their asymptotes: docs/patched-conics.md"),
        see_also: &["Voyage.coast_to", "Voyage.outcome"],
        examples: &[Example::exact(flown!("v.coast(2.days); v.ledger.time"), "49.hours")],
        changes: true,
        ..Definition::method("Voyage", "coast", |given| {
            let time = given.time(0)?;
            let done = this(given)?
                .act(given, |voyage, watch| voyage.coast(time, watch).map_err(|error| refused(&error).at(0)))?;
            Ok(nothing(done))
        })
    },
    Definition {
        summary: "Coasts to an epoch or to the next such event; an event that it stands on is passed over.",
        parameters: &[
            Parameter::new(
                "event",
                Kind::Either(&[EPOCH, Kind::Text, EVENT, Kind::Function]),
                "an epoch; \"periapsis\", \"apoapsis\", \"ascending node\", \"descending node\", \"altitude\", \"radius\", \
                 \"true anomaly\", \"exit\" (of the sphere of influence); arrival(body); or |s| a quantity of the orbit `s` \
                 whose first change of sign it is",
            ),
            Parameter::optional(
                "figure",
                Kind::Either(&[LENGTH, ANGLE, Kind::Options(WAIT)]),
                "the altitude, radius or anomaly, where one is meant; else the options",
            ),
            Parameter::optional("options", Kind::Options(WAIT), "how long to wait"),
        ],
        returns: (Kind::Nothing, "no such event in time is an error; a craft that strikes the ground is lost"),
        see_also: &["Voyage.coast", "arrival"],
        examples: &[
            Example::close(flown!("v.coast_to(\"apoapsis\"); v.orbit.true_anomaly"), "180.deg", "1e-5.deg"),
            Example::close(flown!("v.coast_to(\"altitude\", 400.km); v.orbit.altitude"), "400.km", "1.m"),
            Example::close(flown!("v.coast_to(|s| s.altitude - 400.km); v.orbit.altitude"), "400.km", "1.m"),
        ],
        changes: true,
        ..Definition::method("Voyage", "coast_to", coast_to)
    },
    Definition {
        summary: "Burns: coasts to the epoch of a planned burn first, or burns here and now; an impulse, or with the vehicle's thrust.",
        parameters: &[
            Parameter::new("burn", Kind::Noun("Burn"), "of a planner, or burn(#{ along, across, outward })"),
            Parameter::optional(
                "how",
                Kind::Options(FLOWN),
                "finite: true flies it with thrust; then where that points, over how many passes",
            ),
        ],
        returns: (
            Kind::Nothing,
            "beyond the propellant, or on another orbit than planned (1 km, 1 m/s), is an error. With thrust its start, direction and duration are \
             solved so that it does what the impulse does; one that is not planned begins here and now and spends its Δv",
        ),
        source: Some("the rocket equation, [SuttonBiblarz2017], equation 4-6; docs/finite-burns.md"),
        see_also: &["burn", "finite_burn", "Voyage.circularise", "Voyage.correct"],
        examples: &[
            Example::close(flown!("v.burn(burn(#{ along: 50.m_s })); v.ledger.dv"), "150.m_s", "1e-9.m_s"),
            Example::close(
                "let tug = vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN }); let v = voyage(tug, circular(system(\"sol\").Earth, 300.km)); let plan = hohmann(v.orbit.after(2.hours), 1000.km); for b in plan.burns { v.burn(b, #{ finite: true }); } v.orbit.periapsis_altitude",
                "1000.km",
                "0.1.km",
            ),
        ],
        changes: true,
        ..Definition::method("Voyage", "burn", |given| {
            let burn = given.noun::<Burn>(0)?;
            let how = if given.has(1) { thrusting(&given.options(1)?)? } else { None };
            let done = this(given)?.act(given, |voyage, watch| match &how {
                None => voyage.burn(&burn, watch).map_err(|error| refused(&error).at(0)),
                Some(how) => {
                    voyage.burn_with_thrust(&burn, how, watch).map(|_| ()).map_err(|error| no_thrust(&error).at(0))
                }
            })?;
            Ok(nothing(done))
        })
    },
    Definition {
        summary: "Burns so that the orbit is circular at the distance where the craft is.",
        returns: (Kind::Nothing, "an impulse, here and now, in the plane of the orbit"),
        see_also: &["Voyage.burn"],
        examples: &[Example::close(
            flown!("v.coast_to(\"apoapsis\"); v.circularise(); v.orbit.eccentricity"),
            "0",
            "1e-9",
        )],
        changes: true,
        ..Definition::method("Voyage", "circularise", |given| {
            let done =
                this(given)?.act(given, |voyage, watch| voyage.circularise(watch).map_err(|error| refused(&error)))?;
            Ok(nothing(done))
        })
    },
    Definition {
        summary: "Coasts to the epoch of the correction, shoots a burn in the voyage's model until its aim is met, and burns it.",
        parameters: &[Parameter::new("task", Kind::Options(CORRECTION), "when, and what is to be met")],
        returns: (
            Kind::Noun("Burn"),
            "as it was burnt, the least Δv where the aim leaves some freedom; `()` where the craft was lost before",
        ),
        source: Some("differential correction, [Battin1999], section 11.7; with thrust docs/finite-burns.md"),
        see_also: &["periapsis_aim", "flyby_aim", "b_plane", "meeting"],
        examples: &[
            Example::close(
                flown!(
                    "v.correct(#{ aim: periapsis_aim(v.body, #{ periapsis_altitude: 250.km }) }); v.orbit.periapsis_altitude"
                ),
                "250.km",
                "10.m",
            ),
            Example::close(
                "let tug = vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN }); let v = voyage(tug, circular(system(\"sol\").Earth, 300.km)); v.correct(#{ aim: periapsis_aim(v.body, #{ periapsis_altitude: 250.km }), at: v.epoch + 1.hours, finite: true }); v.orbit.periapsis_altitude",
                "250.km",
                "10.m",
            ),
        ],
        changes: true,
        ..Definition::method("Voyage", "correct", correct)
    },
    Definition {
        summary: "Writes a note into the voyage's record, also when it is lost.",
        parameters: &[Parameter::new("text", Kind::Text, "what it says")],
        returns: (Kind::Nothing, ""),
        see_also: &["Voyage.notes"],
        examples: &[Example::exact(flown!("v.note(\"all well\"); v.notes.len"), "1")],
        changes: true,
        ..Definition::method("Voyage", "note", |given| {
            this(given)?.note(given, &given.text(0)?)?;
            Ok(Dynamic::UNIT)
        })
    },
    Definition {
        summary: "Says that the voyage has come home.",
        returns: (Kind::Nothing, "its outcome is \"home\" until it flies on: a next leg sets it under way again"),
        see_also: &["Voyage.outcome"],
        examples: &[
            Example::exact(flown!("v.finish(); v.outcome"), "\"home\""),
            Example::exact(flown!("v.finish(); v.coast(1.days); v.outcome"), "\"under way\""),
        ],
        changes: true,
        ..Definition::method("Voyage", "finish", |given| {
            let done = this(given)?.act(given, |voyage, _| voyage.finish().map_err(|error| refused(&error)))?;
            Ok(nothing(done))
        })
    },
];
