//! `rendezvous`: burns that bring one craft to another about the same body. The noun `Chase`, and the verb `meet` of a voyage.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::arc::rendezvous::{Below, Rendezvous, RendezvousError, RendezvousOptions, rendezvous};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};

use super::clearance::{COASTS, coasting};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, refused};
use super::kind::{ANGLE, EPOCH, Kind, LENGTH, ORBIT, SPEED, TIME};
use super::noun::Noun;
use super::search::interrupted;
use super::table::{Columns, date};
use super::value;
use super::vehicle::rows;

const CHASE: Kind = Kind::Noun("Chase");

/// A rendezvous of two craft, with their names.
#[derive(Debug, Clone, PartialEq)]
pub struct Chase {
    found: Rendezvous,
    chaser: String,
    target: String,
    radius: f64,
}

fn degrees(angle: f64) -> String {
    format!("{:.2}°", angle.to_degrees())
}

impl Noun for Chase {
    const NAME: &'static str = "Chase";
    const ABOUT: &'static str =
        "A rendezvous: waiting for the phase, transfer, drift, interception and braking, with its burns.";

    fn show(&self) -> String {
        let found = &self.found;
        let mut table =
            Columns::titled(&["stage", "begins", ">takes", ">turns by", ">Δv", ">target ahead", ">distance"]);
        for stage in &found.stages {
            let braking = stage.time == 0.0;
            table.row(&[
                stage.name.to_owned(),
                date(stage.epoch),
                if braking { String::new() } else { Quantity::time(stage.time).show() },
                if braking { String::new() } else { degrees(stage.angle) },
                if stage.dv == 0.0 { String::new() } else { Quantity::speed(stage.dv).show() },
                degrees(stage.lead),
                Quantity::length(stage.distance).show(),
            ]);
        }
        let (dv, time) = (Quantity::speed(found.dv()).show(), Quantity::time(found.time()).show());
        let mut text = format!("rendezvous of {} with {}\n{}", self.chaser, self.target, table.text());
        let _ = write!(
            text,
            "\nin all {dv} in {time}, {} burns; closing speed {}; lowest {} up",
            found.burns.len(),
            Quantity::speed(found.closing_speed).show(),
            Quantity::length(found.periapsis_radius - self.radius).show()
        );
        if let Some(again) = found.synodic_period {
            let rate = found.phase_rate.to_degrees() * 3600.0;
            let _ = write!(
                text,
                "\nphasing gains {rate:.2}° an hour; the next chance comes after {}",
                Quantity::time(again).show()
            );
        }
        let _ = write!(text, "\nwhy: cheapest of {} arcs that were compared", found.compared);
        text
    }

    fn to_json(&self) -> Value {
        let found = &self.found;
        let q = |si: f64, unit: &str| json!({ "value": si, "unit": unit });
        let stages: Vec<Value> = found
            .stages
            .iter()
            .map(|stage| {
                json!({
                    "stage": stage.name, "epoch": Noun::to_json(&stage.epoch), "time": q(stage.time, "s"),
                    "dv": q(stage.dv, "m/s"), "lead": q(stage.lead, "rad"), "distance": q(stage.distance, "m"),
                    "angle": q(stage.angle, "rad"),
                })
            })
            .collect();
        json!({
            "chaser": self.chaser, "target": self.target, "stages": stages,
            "burns": found.burns.iter().map(Noun::to_json).collect::<Vec<_>>(),
            "dv": q(found.dv(), "m/s"), "time": q(found.time(), "s"), "closing_speed": q(found.closing_speed, "m/s"),
            "phase_rate": q(found.phase_rate, "rad/s"), "synodic_period": found.synodic_period.map(|time| q(time, "s")),
            "after": Noun::to_json(&found.after),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const OPTIONS: &[Parameter] = &[
    Parameter::new("within", TIME, "from the later of both epochs to the meeting at most"),
    Parameter::optional("revolutions", Kind::Whole, "most whole revolutions on the transfer; 0 when left out"),
    Parameter::optional("least_altitude", LENGTH, "of every arc; above the air when left out"),
    Parameter::optional(
        "below",
        LENGTH,
        "come by a drift so much below the target's orbit, in four burns; two burns when left out",
    ),
    Parameter::optional("drift", TIME, "how long to drift there; 45 minutes when left out"),
    Parameter::optional("angle", ANGLE, "that the interception from there turns by; 130° when left out"),
    Parameter::optional("burns", Kind::Whole, "2, or 4 with `below`; told by `below` when left out"),
];

fn no_rendezvous(error: &RendezvousError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        RendezvousError::TwoBodies { .. } => fault
            .help("bring both to one body first; a moon is met from its planet's orbit by meet(orbit, moon, ...)")
            .at(1),
        RendezvousError::Open => fault.help("capture first: circularise, or burn at periapsis").at(0),
        RendezvousError::Within { .. } => fault.at_key(2, "within"),
        RendezvousError::TooLow { .. } => {
            fault.help("allow more time, more `revolutions`, or a lower `least_altitude`").at_key(2, "within")
        }
        _ => fault,
    }
}

/// What the options ask for; `argument` is their place in the call.
fn wanted(given: &Given, argument: usize, radius: f64) -> Result<RendezvousOptions, Fault> {
    let options = given.options(argument)?;
    let revolutions = options.whole("revolutions")?.unwrap_or(0);
    let Ok(revolutions) = u32::try_from(revolutions) else {
        return Err(options.fault("revolutions", format!("{revolutions} revolutions are none: write 0 or more")));
    };
    let below = options.si("below")?;
    for key in ["drift", "angle"] {
        if below.is_none() && options.has(key) {
            return Err(options
                .fault(key, format!("`{key}` belongs to an approach from below"))
                .help("say how far below: #{ below: 10.km }"));
        }
    }
    match (options.whole("burns")?, below) {
        (None, _) | (Some(2), None) | (Some(4), Some(_)) => {}
        (Some(4), None) => {
            return Err(options
                .fault("burns", "four burns come by a drift below the target")
                .help("say how far below: #{ burns: 4, below: 10.km }"));
        }
        (Some(2), Some(_)) => {
            return Err(options
                .fault("burns", "two burns have no drift between them")
                .help("leave `below` out, or write burns: 4"));
        }
        (Some(burns), _) => {
            return Err(options
                .fault("burns", format!("a rendezvous takes 2 or 4 burns here, got {burns}"))
                .help("write burns: 2, or burns: 4 with `below`"));
        }
    }
    let approach = match below {
        None => None,
        Some(height) => Some(Below {
            height,
            drift: options.si("drift")?.unwrap_or(2700.0),
            // The angle by which terminal phases turn by custom, common practice, no source.
            angle: options.si("angle")?.unwrap_or(130.0_f64.to_radians()),
        }),
    };
    Ok(RendezvousOptions {
        within: options.si("within")?.unwrap_or_default(),
        revolutions,
        least_radius: options.si("least_altitude")?.map(|altitude| radius + altitude),
        approach,
    })
}

fn planned(given: &Given) -> Answer {
    let ((chaser, name), (target, other)) = (coasting(given, 0)?, coasting(given, 1)?);
    let radius = chaser.body().radius();
    let wanted = wanted(given, 2, radius)?;
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let found = rendezvous(&chaser, &target, &wanted, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    let found = found.map_err(|error| no_rendezvous(&error))?;
    Ok(value::noun(Chase { found, chaser: name, target: other, radius }))
}

fn met(given: &Given) -> Answer {
    let handle = given.this::<Handle>()?;
    let (target, other) = coasting(given, 0)?;
    let voyage = handle.voyage();
    let (chaser, name, radius) = (voyage.orbit().clone(), voyage.name().to_owned(), voyage.body().radius());
    let wanted = wanted(given, 1, radius)?;
    let done = handle.act(given, |voyage, watch| {
        let found = rendezvous(&chaser, &target, &wanted, watch).map_err(|error| {
            let fault = no_rendezvous(&error);
            match error {
                RendezvousError::TwoBodies { .. } => fault.at(0),
                RendezvousError::Within { .. } | RendezvousError::TooLow { .. } => fault.at_key(1, "within"),
                _ => fault,
            }
        })?;
        for burn in &found.burns {
            voyage.burn(burn, watch).map_err(|error| refused(&error).at(0))?;
        }
        Ok(found)
    })?;
    Ok(done.map_or(Dynamic::UNIT, |found| value::noun(Chase { found, chaser: name, target: other, radius })))
}

fn this(given: &Given) -> Result<Rendezvous, Fault> {
    Ok(given.this::<Chase>()?.found)
}

/// An ascent craft behind its orbiter, on the reference mission's orbits.
macro_rules! chased {
    ($ask:literal) => {
        concat!(
            "let s = system(\"velm\"); let low = circular(s.Maren, 339.km); let high = circular(s.Maren, 450.km).after(10.minutes); ",
            "let target = orbit_from(s.Maren, high.r, high.v, low.epoch); ",
            $ask
        )
    };
}

/// The definitions of rendezvous.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The burns that bring one craft to another about the same body: wait, transfer, drift, interception, braking.",
        parameters: &[
            Parameter::new("chaser", COASTS, "that burns: a voyage where it is now, or an orbit"),
            Parameter::new("target", COASTS, "that coasts"),
            Parameter::new("demands", Kind::Options(OPTIONS), "how soon, from how far below"),
        ],
        returns: (
            CHASE,
            "the cheapest that a search of departures and times of flight finds; burns are planned on the chaser's orbit",
        ),
        source: Some(
            "[Curtis2014], sections 6.5 and 6.6; co-elliptic approach: [Prussing1993], chapter 8 (from memory)",
        ),
        see_also: &["Voyage.meet", "Voyage.join", "phase", "meet", "clearance"],
        examples: &[
            Example::exact(chased!("rendezvous(low, target, #{ within: 9.hours }).burns.len"), "2"),
            Example::exact(chased!("rendezvous(low, target, #{ within: 9.hours, below: 10.km }).burns.len"), "4"),
        ],
        ..Definition::function("rendezvous", planned)
    },
    Definition {
        summary: "Plans a rendezvous with another craft as `rendezvous` does, and flies its burns.",
        parameters: &[
            Parameter::new(
                "target",
                COASTS,
                "that coasts; a voyage is left where it is: `join` brings it to the same epoch",
            ),
            Parameter::new("demands", Kind::Options(OPTIONS), "how soon, from how far below"),
        ],
        returns: (CHASE, "as flown"),
        source: Some("[Curtis2014], sections 6.5 and 6.6"),
        see_also: &["rendezvous", "Voyage.join"],
        examples: &[Example::exact(
            chased!(
                "let craft = #{ dry: 2.tonnes, propellant: 1.tonnes, isp: 320.s }; let v = voyage(vehicle(craft), low); \
                 let w = voyage(vehicle(craft), target); v.meet(w, #{ within: 9.hours }); v.join(w); v.mass > 5.tonnes"
            ),
            "true",
        )],
        changes: true,
        ..Definition::method("Voyage", "meet", met)
    },
    Definition {
        summary: "Its burns, in their order.",
        returns: (Kind::List, "of Burn, planned"),
        see_also: &["Voyage.burn", "Chase.stages"],
        examples: &[Example::exact(
            chased!("let c = rendezvous(low, target, #{ within: 9.hours }); c.burns[0].dv + c.burns[1].dv == c.dv"),
            "true",
        )],
        ..Definition::property("Chase", "burns", |given| {
            Ok(Dynamic::from_array(this(given)?.burns.into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "What happens, from the wait to the braking.",
        returns: (
            Kind::List,
            "of maps: stage, epoch, time, dv, lead (of the target), distance, angle (about the body)",
        ),
        see_also: &["Chase.burns"],
        examples: &[Example::exact(
            chased!("rendezvous(low, target, #{ within: 9.hours }).stages.map(|row| row.stage)"),
            "[\"wait\", \"transfer\", \"braking\"]",
        )],
        ..Definition::property("Chase", "stages", |given| {
            Ok(rows(this(given)?.stages.iter().map(|stage| {
                vec![
                    ("stage", value::text(stage.name)),
                    ("epoch", value::noun(stage.epoch)),
                    ("time", value::of(stage.time, Dimension::TIME)),
                    ("dv", value::of(stage.dv, Dimension::SPEED)),
                    ("lead", value::of(stage.lead, Dimension::ANGLE)),
                    ("distance", value::of(stage.distance, Dimension::LENGTH)),
                    ("angle", value::of(stage.angle, Dimension::ANGLE)),
                ]
            })))
        })
    },
    Definition {
        summary: "All burns.",
        returns: (SPEED, ""),
        see_also: &["Chase.burns"],
        examples: &[Example::close(
            chased!("rendezvous(low, target, #{ within: 9.hours }).dv"),
            "42.35.m_s",
            "0.1.m_s",
        )],
        ..Definition::property("Chase", "dv", |given| Ok(value::of(this(given)?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "From its beginning to the meeting.",
        returns: (TIME, ""),
        see_also: &["Chase.epoch"],
        examples: &[Example::exact(chased!("rendezvous(low, target, #{ within: 9.hours }).time < 9.hours"), "true")],
        ..Definition::property("Chase", "time", |given| Ok(value::of(this(given)?.time(), Dimension::TIME)))
    },
    Definition {
        summary: "When they meet.",
        returns: (EPOCH, ""),
        see_also: &["Chase.time"],
        examples: &[Example::close(
            chased!("let c = rendezvous(low, target, #{ within: 9.hours }); c.epoch - low.epoch - c.time"),
            "0.s",
            "1.ms",
        )],
        ..Definition::property("Chase", "epoch", |given| Ok(value::noun(this(given)?.epoch())))
    },
    Definition {
        summary: "Speed against the target before the last burn.",
        returns: (SPEED, ""),
        see_also: &["Chase.dv"],
        examples: &[Example::exact(
            chased!("let c = rendezvous(low, target, #{ within: 9.hours }); c.closing_speed == c.burns[1].dv"),
            "true",
        )],
        ..Definition::property("Chase", "closing_speed", |given| {
            Ok(value::of(this(given)?.closing_speed, Dimension::SPEED))
        })
    },
    Definition {
        summary: "The time from one chance to the next.",
        returns: (TIME, "`()` where neither gains on the other"),
        source: Some("[Curtis2014], section 8.3"),
        see_also: &["synodic_period"],
        examples: &[Example::close(
            chased!("rendezvous(low, target, #{ within: 9.hours }).synodic_period"),
            "41.1.hours",
            "0.1.hours",
        )],
        ..Definition::property("Chase", "synodic_period", |given| {
            Ok(super::vehicle::or_nothing(this(given)?.synodic_period, Dimension::TIME))
        })
    },
    Definition {
        summary: "The target's orbit at the meeting, and the chaser's after the last burn.",
        returns: (ORBIT, ""),
        see_also: &["Chase.epoch"],
        examples: &[Example::close(
            chased!("rendezvous(low, target, #{ within: 9.hours }).after.altitude"),
            "450.km",
            "1.m",
        )],
        ..Definition::property("Chase", "after", |given| Ok(value::noun(this(given)?.after)))
    },
];
