//! `meet`: two burns from an orbit about a planet into one about its moon, solved together. The noun `Rendezvous`.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::arc::meet::natural;
use visviva_engine::arc::{self, MeetError, MeetOptions};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, EPOCH, Kind, LENGTH, ORBIT, SPEED, TIME, VECTOR};
use super::noun::Noun;
use super::search::interrupted;
use super::table::date;
use super::value;
use super::vector::Vector;
use super::windows::{ARRIVAL, arrival};

/// Burns that bring a craft to a moon.
#[derive(Debug, Clone, PartialEq)]
pub struct Rendezvous {
    found: arc::Meet,
}

impl Noun for Rendezvous {
    const NAME: &'static str = "Rendezvous";
    const ABOUT: &'static str =
        "A meeting with a moon: the burn that aims, the burn that arrives, and how the moon is met.";

    fn show(&self) -> String {
        let found = &self.found;
        let speed = |si: f64| Quantity::speed(si).show();
        let length = |si: f64| Quantity::length(si).show();
        let mut text = format!("rendezvous with {}", found.meeting.body.name());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        match &found.aim {
            Some(aim) => {
                let when = aim.plan.as_ref().map_or(String::new(), |plan| format!(", {}", date(plan.epoch)));
                row("aim burn", format!("{} (estimate {}){when}", speed(aim.size()), speed(found.estimate.0)));
                row("at radius", length(aim.plan.as_ref().map_or(0.0, |plan| plan.before.position.norm())));
            }
            None => row("aim burn", "none: the orbit meets it by itself".to_owned()),
        }
        row(
            "arc between",
            format!(
                "{} by {} radius, {} whole revolutions",
                length(found.arc.periapsis_radius()),
                found.arc.apoapsis_radius().map_or("open".to_owned(), length),
                found.revolutions
            ),
        );
        row("periapsis", date(found.hyperbola.epoch()));
        row("v-infinity", speed(found.meeting.v_infinity.norm()));
        row("periapsis altitude", length(found.hyperbola.periapsis_altitude()));
        row("inclination", value::degrees(found.meeting.inclination()));
        row("insertion burn", format!("{} (estimate {})", speed(found.insertion.size()), speed(found.estimate.1)));
        row("both", speed(found.dv()));
        let left: Vec<String> = found.residuals.iter().map(|off| format!("{off:.1e}")).collect();
        if !left.is_empty() {
            row("left of the aim, m", left.join(", "));
        }
        row("why", format!("cheapest of {} plans that were flown", found.flown));
        text
    }

    fn to_json(&self) -> Value {
        let found = &self.found;
        let q = |si: f64, unit: &str| json!({ "value": si, "unit": unit });
        json!({
            "moon": found.meeting.body.name(), "aim": found.aim.as_ref().map(Noun::to_json), "insertion": found.insertion.to_json(),
            "arc": found.arc.to_json(), "revolutions": found.revolutions, "hyperbola": found.hyperbola.to_json(),
            "orbit": found.orbit.to_json(), "v_inf": q(found.meeting.v_infinity.norm(), "m/s"), "dv": q(found.dv(), "m/s"),
            "residuals": found.residuals,
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const OPTIONS: &[Parameter] = &[
    Parameter::new("within", TIME, "from the orbit's epoch to the meeting at most"),
    Parameter::new(
        "arrival",
        Kind::Either(&[LENGTH, Kind::Options(ARRIVAL)]),
        "altitude of a circle, or #{ periapsis_altitude, apoapsis_altitude }: the orbit burnt into",
    ),
    Parameter::optional(
        "burns",
        Kind::Whole,
        "2 when left out: one that aims and one that arrives; 1: the orbit must meet the moon by itself",
    ),
    Parameter::optional("revolutions", Kind::Whole, "most whole revolutions between the burns; 2 when left out"),
    Parameter::optional(
        "least_radius",
        LENGTH,
        "of the periapsis about the planet on the way; its ring's outer edge or radius when left out",
    ),
    Parameter::optional(
        "inclination",
        ANGLE,
        "of the arrival to the moon's equator; free, for the least Δv, when left out",
    ),
];

fn refused(error: &MeetError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        MeetError::Orbit { moon } => {
            fault.help(format!("capture at the planet of {moon} first: capture, or capture_by another moon")).at(0)
        }
        MeetError::Within { .. } | MeetError::NotMet { .. } => fault.at_key(2, "within"),
        MeetError::TooLow { .. } => fault.help("allow more time, or a lower `least_radius`").at_key(2, "within"),
        _ => fault,
    }
}

fn met(given: &Given) -> Answer {
    let (orbit, moon, options) = (given.noun::<Orbit>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    let burns = options.whole("burns")?.unwrap_or(2);
    if !(1..=2).contains(&burns) {
        return Err(options
            .fault("burns", format!("`meet` solves 1 or 2 burns together, got {burns}"))
            .help("write burns: 2; a burn before them is planned by itself, and `meet` on the orbit after it"));
    }
    let revolutions = options.whole("revolutions")?.unwrap_or(2);
    let Ok(revolutions) = u32::try_from(revolutions) else {
        return Err(options.fault("revolutions", format!("{revolutions} revolutions are none: write 0 or more")));
    };
    let (Some(within), Some(arrival)) = (options.si("within")?, arrival(&options)?) else {
        return Err(Fault::new("`meet` needs `within` and `arrival`").at(2));
    };
    let wanted = MeetOptions {
        within,
        arrival,
        least_radius: options.si("least_radius")?,
        revolutions,
        inclination: options.si("inclination")?,
        leaving: None,
    };
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let watch = Watch::new(&stopped);
    let found =
        if burns == 1 { natural(&orbit, &moon, &wanted, &watch) } else { arc::meet(&orbit, &moon, &wanted, &watch) };
    if stopped() {
        return Err(interrupted());
    }
    Ok(value::noun(Rendezvous { found: found.map_err(|error| refused(&error))? }))
}

/// A meeting to read from: from a wide ellipse about Oru.
macro_rules! with_maren {
    ($reading:literal) => {
        concat!(
            "let s = system(\"velm\"); let o = orbit(s.Oru, #{ periapsis_radius: 900000.km, apoapsis_radius: 3500000.km, ",
            "epoch: epoch(\"2142-06-20 TDB\") }); ",
            "let m = meet(o, s.Maren, #{ within: 30.days, arrival: 400.km }); ",
            $reading
        )
    };
}

fn this(given: &Given) -> Result<arc::Meet, Fault> {
    Ok(given.this::<Rendezvous>()?.found)
}

/// The definitions of meetings.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The burns that bring a craft from an orbit about a planet into one about its moon, solved together.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "bound, about the moon's planet"),
            Parameter::new("moon", Kind::Noun("Body"), "that is met"),
            Parameter::new("demands", Kind::Options(OPTIONS), "how soon, into which orbit"),
        ],
        returns: (
            Kind::Noun("Rendezvous"),
            "the cheapest sum of both burns that the model flies; one burn is refused where the orbit does not meet the moon",
        ),
        source: Some("[Battin1999], chapter 7 for the arcs; the search is plain"),
        see_also: &["Rendezvous", "capture_by", "return_windows", "lambert"],
        examples: &[Example::exact(with_maren!("m.aim.dv + m.insertion.dv == m.dv"), "true")],
        ..Definition::function("meet", met)
    },
    Definition {
        summary: "The burn that aims.",
        returns: (Kind::Noun("Burn"), "planned on the orbit given; an error where there is none"),
        see_also: &["Rendezvous.insertion", "Voyage.burn"],
        examples: &[Example::exact(with_maren!("m.aim.dv < m.insertion.dv"), "true")],
        ..Definition::property("Rendezvous", "aim", |given| match this(given)?.aim {
            Some(aim) => Ok(value::noun(aim)),
            None => Err(Fault::new("this rendezvous has no aim burn: the orbit meets the moon by itself")),
        })
    },
    Definition {
        summary: "The burn at periapsis about the moon.",
        returns: (Kind::Noun("Burn"), "planned on the hyperbola there"),
        see_also: &["Rendezvous.aim", "Voyage.burn"],
        examples: &[Example::exact(with_maren!("m.insertion.epoch > m.aim.epoch"), "true")],
        ..Definition::property("Rendezvous", "insertion", |given| Ok(value::noun(this(given)?.insertion)))
    },
    Definition {
        summary: "Both burns.",
        returns: (SPEED, ""),
        see_also: &["Rendezvous.aim", "Rendezvous.insertion"],
        examples: &[Example::close(with_maren!("m.dv - m.aim.dv - m.insertion.dv"), "0.m_s", "1e-9.m_s")],
        ..Definition::property("Rendezvous", "dv", |given| Ok(value::of(this(given)?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "When the moon is met, at periapsis.",
        returns: (EPOCH, ""),
        see_also: &["Rendezvous.insertion"],
        examples: &[Example::close(with_maren!("m.epoch - m.insertion.epoch"), "0.s", "1.ms")],
        ..Definition::property("Rendezvous", "epoch", |given| Ok(value::noun(this(given)?.hyperbola.epoch())))
    },
    Definition {
        summary: "The excess velocity at the moon.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Rendezvous.hyperbola"],
        examples: &[Example::close(with_maren!("m.v_inf.norm - m.hyperbola.v_inf"), "0.m_s", "1e-3.m_s")],
        ..Definition::property("Rendezvous", "v_inf", |given| {
            Ok(Vector::new(this(given)?.meeting.v_infinity, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The orbit about the planet between the burns.",
        returns: (ORBIT, "right after the first"),
        see_also: &["Rendezvous.aim"],
        examples: &[Example::close(with_maren!("m.arc.epoch - m.aim.epoch"), "0.s", "1.ms")],
        ..Definition::property("Rendezvous", "arc", |given| Ok(value::noun(this(given)?.arc)))
    },
    Definition {
        summary: "The hyperbola about the moon, at periapsis.",
        returns: (ORBIT, "before the insertion"),
        see_also: &["Rendezvous.orbit"],
        examples: &[Example::close(with_maren!("m.hyperbola.periapsis_altitude"), "400.km", "10.m")],
        ..Definition::property("Rendezvous", "hyperbola", |given| Ok(value::noun(this(given)?.hyperbola)))
    },
    Definition {
        summary: "The orbit about the moon after the insertion.",
        returns: (ORBIT, ""),
        see_also: &["Rendezvous.insertion"],
        examples: &[Example::close(with_maren!("m.orbit.apoapsis_altitude"), "400.km", "1.km")],
        ..Definition::property("Rendezvous", "orbit", |given| Ok(value::noun(this(given)?.orbit)))
    },
    Definition {
        summary: "Whole revolutions about the planet between the burns.",
        returns: (Kind::Whole, ""),
        see_also: &["meet"],
        examples: &[Example::exact(with_maren!("m.revolutions <= 2"), "true")],
        ..Definition::property("Rendezvous", "revolutions", |given| {
            Ok(Dynamic::from_int(i64::from(this(given)?.revolutions)))
        })
    },
    Definition {
        summary: "What is left of the aim in the model.",
        returns: (Kind::List, "metres across, and milliseconds in time told as metres"),
        see_also: &["meet"],
        examples: &[Example::exact(
            with_maren!("m.residuals.filter(|off| abs(off) < 1).len == m.residuals.len"),
            "true",
        )],
        ..Definition::property("Rendezvous", "residuals", |given| {
            Ok(Dynamic::from_array(this(given)?.residuals.into_iter().map(Dynamic::from_float).collect()))
        })
    },
];
