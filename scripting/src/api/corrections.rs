//! `corrections`: when to correct a coast, what that costs and what it leaves. The noun `Corrections`.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::arc::sensitivity::{self as engine, Correction, CorrectionPlan, Demand, Execution, Programme};
use visviva_engine::arc::shoot;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, EPOCH, Kind, LENGTH, ORBIT, SPEED};
use super::noun::Noun;
use super::options::Options;
use super::table::{Columns, date};
use super::tuning::{Scatter, no_flight};
use super::value;

/// A plan of corrections, and to which share of the cases its Δv belongs.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrections {
    target: String,
    percentile: f64,
    allowed: f64,
    found: CorrectionPlan,
}

fn row(correction: &Correction) -> [String; 4] {
    [
        date(correction.epoch),
        format!("{:.1}", correction.to_go / 86_400.0),
        Quantity::speed(correction.dv).show(),
        Quantity::length(correction.remaining).show(),
    ]
}

fn correction_json(correction: &Correction) -> Value {
    json!({
        "epoch": Noun::to_json(&correction.epoch),
        "to_go": { "value": correction.to_go, "unit": "s" },
        "dv": { "value": correction.dv, "unit": "m/s" },
        "remaining": { "value": correction.remaining, "unit": "m" },
    })
}

fn correction_map(correction: &Correction) -> Dynamic {
    let mut map = rhai::Map::new();
    map.insert("epoch".into(), value::noun(correction.epoch));
    map.insert("to_go".into(), value::of(correction.to_go, Dimension::TIME));
    map.insert("dv".into(), value::of(correction.dv, Dimension::SPEED));
    map.insert("remaining".into(), value::of(correction.remaining, Dimension::LENGTH));
    map.into()
}

fn programme_map(programme: &Programme) -> Dynamic {
    let mut map = rhai::Map::new();
    map.insert("dates".into(), programme.corrections.iter().map(correction_map).collect::<rhai::Array>().into());
    map.insert("dv".into(), value::of(programme.dv, Dimension::SPEED));
    map.insert("remaining".into(), value::of(programme.remaining(), Dimension::LENGTH));
    map.into()
}

impl Noun for Corrections {
    const NAME: &'static str = "Corrections";
    const ABOUT: &'static str = "When to correct a coast: cost and remaining error against days to go, the best number and dates, and the Δv that covers them.";

    fn show(&self) -> String {
        let share = format!("{} %", value::show_number(100.0 * self.percentile));
        let mut single = Columns::titled(&["a single correction at", ">days to go", ">Δv", ">aim left"]);
        for correction in &self.found.table {
            single.row(&row(correction));
        }
        let mut text = format!(
            "corrections on the way to {}, Δv that covers {share} of the cases\n{}",
            self.target,
            single.text()
        );
        for programme in &self.found.by_count {
            let dates: Vec<String> =
                programme.corrections.iter().map(|c| format!("{:.1}", c.to_go / 86_400.0)).collect();
            let _ = write!(
                text,
                "\n{} at {} days to go: {} in all, {} left{}",
                programme.corrections.len(),
                dates.join(", "),
                Quantity::speed(programme.dv).show(),
                Quantity::length(programme.remaining()).show(),
                if self.found.best.as_ref() == Some(programme) { " (the best)" } else { "" }
            );
        }
        if self.found.best.is_none() {
            let _ = write!(
                text,
                "\nNo corrections at these dates leave as little as {}; the least is {}.",
                Quantity::length(self.allowed).show(),
                Quantity::length(self.found.least_remaining).show()
            );
        }
        text
    }

    fn to_json(&self) -> Value {
        let programme = |p: &Programme| {
            json!({
                "corrections": p.corrections.iter().map(correction_json).collect::<Vec<_>>(),
                "dv": { "value": p.dv, "unit": "m/s" },
                "remaining": { "value": p.remaining(), "unit": "m" },
            })
        };
        json!({
            "target": self.target, "percentile": self.percentile,
            "allowed": { "value": self.allowed, "unit": "m" },
            "table": self.found.table.iter().map(correction_json).collect::<Vec<_>>(),
            "by_count": self.found.by_count.iter().map(programme).collect::<Vec<_>>(),
            "best": self.found.best.as_ref().map(programme),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const OPTIONS: &[Parameter] = &[
    Parameter::new(
        "spread",
        Kind::Either(&[Kind::Noun("Dispersion"), LENGTH]),
        "of the aim before any correction: a dispersion, or a standard deviation in each axis of the B-plane",
    ),
    Parameter::optional("allowed", LENGTH, "what may be left of the aim, standard deviation; 100 km when left out"),
    Parameter::optional(
        "dates",
        Kind::List,
        "epochs at which a correction may be made; 24 between now and arrival when left out",
    ),
    Parameter::optional("expected", EPOCH, "about when the target is met; found by coasting when left out"),
    Parameter::optional("percentile", Kind::Number, "share of the cases to cover, between 0 and 1; 0.99 when left out"),
    Parameter::optional("most", Kind::Whole, "corrections in one programme, 1 to 5; 3 when left out"),
    Parameter::optional(
        "execution",
        Kind::Number,
        "standard deviation of a correction in each axis, as a share of its size; 0.01 when left out",
    ),
    Parameter::optional(
        "least",
        SPEED,
        "standard deviation in each axis that every correction has; 2 mm/s when left out",
    ),
    Parameter::optional(
        "knowledge",
        SPEED,
        "standard deviation of what is known of the velocity; 1 mm/s when left out",
    ),
];

/// Dates from soon after the start to shortly before arrival, closer together towards the end: a correction's worth changes with the logarithm of what is left.
fn usual_dates(from: Epoch, arrive: Epoch) -> Vec<Epoch> {
    const COUNT: i32 = 24;
    let whole = arrive.seconds_since(from);
    (0..COUNT).map(|k| arrive.after(-whole * 0.97 * 0.02_f64.powf(f64::from(k) / f64::from(COUNT - 1)))).collect()
}

fn dates(options: &Options<'_>, from: Epoch, arrive: Epoch) -> Result<Vec<Epoch>, Fault> {
    let Some(list) = options.list("dates")? else { return Ok(usual_dates(from, arrive)) };
    let mut dates = Vec::with_capacity(list.len());
    for item in &list {
        let Some(date) = item.read_lock::<Epoch>().map(|date| *date) else {
            return Err(options.fault("dates", format!("`dates` holds epochs, not {}", value::describe(item))));
        };
        if date < from || date >= arrive {
            return Err(options
                .fault("dates", format!("{} is not between the coast's beginning and the arrival", date.show()))
                .note(format!("the coast begins {}, the target is met {}", from.show(), arrive.show())));
        }
        dates.push(date);
    }
    dates.sort();
    dates.dedup();
    if dates.is_empty() {
        return Err(options.fault("dates", "no date is given"));
    }
    Ok(dates)
}

fn corrections(given: &Given) -> Answer {
    let (orbit, target, options) = (given.noun::<Orbit>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    if target.parent().as_ref() != Some(orbit.body()) {
        let parent = target.parent().map_or_else(String::new, |parent| parent.name().to_owned());
        return Err(Fault::new(format!(
            "an orbit about {} is not on its way to {}",
            orbit.body().name(),
            target.name()
        ))
        .help(format!(
            "give the coast about {parent}: the orbit of an arc, or `v.orbit` after leaving the body departed from"
        ))
        .at(0));
    }
    let spread = match (options.noun::<Scatter>("spread"), options.si("spread")) {
        (Ok(Some(scatter)), _) => scatter.spread(),
        (_, Ok(Some(length))) => [[length * length, 0.0], [0.0, length * length]],
        _ => return Err(options.fault("spread", "a dispersion or a length is expected")),
    };
    let percentile = options.number("percentile")?.unwrap_or(0.99);
    if !(percentile > 0.0 && percentile < 1.0) {
        return Err(options
            .fault("percentile", format!("a percentile lies between 0 and 1, not at {percentile}"))
            .help("write 0.99 for 99 of 100 cases"));
    }
    let most = options.whole("most")?.unwrap_or(3);
    if !(1..=5).contains(&most) {
        return Err(options.fault("most", format!("a programme has 1 to 5 corrections, not {most}")));
    }
    let allowed = options.si("allowed")?.unwrap_or(1e5);
    let execution = Execution {
        share: options.number("execution")?.unwrap_or(0.01),
        least: options.si("least")?.unwrap_or(2e-3),
        knowledge: options.si("knowledge")?.unwrap_or(1e-3),
    };
    for (key, error) in [
        ("execution", execution.share),
        ("least", execution.least),
        ("knowledge", execution.knowledge),
        ("allowed", allowed),
    ] {
        if !(error >= 0.0) {
            return Err(options.fault(key, format!("`{key}` is zero or more")));
        }
    }
    let stop = || !given.run.ceiling.count(1);
    let watch = Watch::new(&stop);
    let expected = match options.epoch("expected")? {
        Some(epoch) => epoch,
        None => shoot::expected(&orbit, &target, None, &watch).map_err(|error| no_flight(&error).at(0))?,
    };
    if expected <= orbit.epoch() {
        return Err(options
            .fault("expected", format!("the arrival on {} is not ahead of the coast", expected.show()))
            .note(format!("the coast begins {}", orbit.epoch().show())));
    }
    let dates = dates(&options, orbit.epoch(), expected)?;
    let demand = Demand { spread, execution, percentile, allowed, most: most as usize };
    let found =
        engine::corrections(&orbit, &target, expected, &dates, &demand, &watch).map_err(|error| no_flight(&error))?;
    Ok(value::noun(Corrections { target: target.name().to_owned(), percentile, allowed, found }))
}

/// A plan as the examples make it.
macro_rules! planned {
    ($rest:literal) => {
        concat!(
            "let s = system(\"sol\"); let a = transfer(s.Earth, s.Mars, epoch(\"2033-04-20 TDB\"), epoch(\"2033-11-05 TDB\")); \
             let c = corrections(a.orbit.after(5.days), s.Mars, #{ expected: a.arrive, spread: 50000.km, most: 2 }); ",
            $rest
        )
    };
}

fn this(given: &Given) -> Result<Corrections, Fault> {
    given.this::<Corrections>()
}

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "When to correct a coast: remaining error and cost against days to go, the best number and dates of corrections, and the Δv \
                  that covers them at a percentile.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "the coast, about what the target goes round"),
            Parameter::new("target", BODY, "that the coast comes to"),
            Parameter::new(
                "options",
                Kind::Options(OPTIONS),
                "what scatters, what may be left, how well corrections are made",
            ),
        ],
        returns: (
            Kind::Noun("Corrections"),
            "by the state-transition matrix; whole programmes by 20,000 cases drawn from a fixed seed",
        ),
        source: Some("[Battin1999], section 11.7; Δv at a percentile from cases drawn through the whole programme"),
        see_also: &["dispersion", "fine_tuning", "Voyage.correct"],
        examples: &[Example::exact(planned!("c.best.dates.len() <= 2"), "true")],
        ..Definition::function("corrections", corrections)
    },
    Definition {
        summary: "A single correction at each of the dates: an array of maps.",
        returns: (Kind::List, "each with `epoch`, `to_go`, `dv`, `remaining`"),
        see_also: &["corrections"],
        examples: &[Example::exact(planned!("c.table[0].dv < c.table[20].dv"), "true")],
        ..Definition::property("Corrections", "table", |given| {
            Ok(this(given)?.found.table.iter().map(correction_map).collect::<rhai::Array>().into())
        })
    },
    Definition {
        summary: "The cheapest programme of one correction, of two, and so on: an array of maps.",
        returns: (Kind::List, "each with `dates`, `dv`, `remaining`; only those that leave no more than was allowed"),
        see_also: &["corrections"],
        examples: &[Example::exact(planned!("c.by_count.len() > 0"), "true")],
        ..Definition::property("Corrections", "by_count", |given| {
            Ok(this(given)?.found.by_count.iter().map(programme_map).collect::<rhai::Array>().into())
        })
    },
    Definition {
        summary: "The cheapest programme: a map.",
        returns: (
            Kind::Map,
            "with `dates` (each with `epoch`, `to_go`, `dv`, `remaining`), `dv` for all together, `remaining`; an error where none leaves as little as was allowed",
        ),
        see_also: &["corrections"],
        examples: &[Example::exact(planned!("c.best.dv > 0.m_s"), "true")],
        ..Definition::property("Corrections", "best", |given| {
            let plan = this(given)?;
            plan.found.best.as_ref().map(programme_map).ok_or_else(|| {
                Fault::new(format!(
                    "no corrections at these dates leave as little as {}; the least is {}",
                    Quantity::length(plan.allowed).show(),
                    Quantity::length(plan.found.least_remaining).show()
                ))
                .help("allow more, correct later, or execute better: #{ allowed: ..., dates: [...], execution: ... }")
            })
        })
    },
];
