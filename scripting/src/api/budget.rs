//! `budget`: Δv leg by leg for a journey named by its places. The nouns `Budget`, `Budgets` and `Beside`.

use std::fmt::Write as _;

use rhai::{Array, Dynamic};
use serde_json::{Value, json};
use visviva_engine::arc::ArrivalOrbit;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::{Air, Body};
use visviva_engine::time::Epoch;
use visviva_engine::voyage::budget::{self, Alternative, Back, BudgetError, Home, JourneyOptions, Line, Margins};

use super::budget_readings::mars;
use super::budget_tables::Budgets;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, Kind, LENGTH, SPEED};
use super::noun::Noun;
use super::options::Options;
use super::search::interrupted;
use super::table::{Columns, date};
use super::value;
use super::windows::{ARRIVAL, pair, unplanned};

/// A budget.
pub(super) const BUDGET: Kind = Kind::Noun("Budget");

/// A journey's Δv.
#[derive(Debug, Clone, PartialEq)]
pub struct Budget {
    pub(super) found: budget::Budget,
}

pub(super) fn speed(si: f64) -> String {
    Quantity::speed(si).show()
}

pub(super) fn speed_json(si: f64) -> Value {
    json!({ "value": si, "unit": "m/s" })
}

fn line_json(line: &Line) -> Value {
    json!({
        "leg": line.name, "dv": speed_json(line.dv), "basis": line.basis.word(), "margin": line.margin,
        "with_margin": speed_json(line.with_margin()), "how": line.how,
        "start": Noun::to_json(&line.start), "end": Noun::to_json(&line.end),
    })
}

fn alternative_json(way: &Alternative) -> Value {
    json!({
        "way": way.name, "replaces": way.replaces, "dv": speed_json(way.dv), "saves": speed_json(way.saves), "how": way.how,
    })
}

impl Noun for Budget {
    const NAME: &'static str = "Budget";
    const ABOUT: &'static str =
        "Δv leg by leg for a journey named by its places, with the margin of each leg, and what could be cheaper.";

    fn show(&self) -> String {
        let found = &self.found;
        let back = if found.homeward.is_some() { " and back" } else { "" };
        let mut text = format!("budget from {} to {}{back}\n", found.from.name(), found.to.name());
        let mut table = Columns::titled(&["leg", "begins", ">Δv", "basis", ">margin", ">with margin"]);
        for line in &found.lines {
            table.row(&[
                line.name.clone(),
                date(line.start),
                speed(line.dv),
                line.basis.word().to_owned(),
                format!("{:.0} %", 100.0 * line.margin),
                speed(line.with_margin()),
            ]);
        }
        table.row(&[
            "in all".to_owned(),
            format!("takes {}", Quantity::time(found.time()).show()),
            speed(found.dv()),
            String::new(),
            String::new(),
            speed(found.with_margin()),
        ]);
        text.push_str(&table.text());
        if !found.alternatives.is_empty() {
            let mut other = Columns::titled(&["instead", "of", ">Δv", ">saves"]);
            for way in &found.alternatives {
                other.row(&[way.name.clone(), way.replaces.join(", "), speed(way.dv), speed(way.saves)]);
            }
            text.push_str("\n\n");
            text.push_str(&other.text());
        }
        // How each was found stands below: the tables stay narrow enough for a terminal.
        let reasons = found.lines.iter().map(|line| (&line.name, &line.how));
        for (name, how) in reasons.chain(found.alternatives.iter().map(|way| (&way.name, &way.how))) {
            let _ = write!(text, "\n  {name}: {how}");
        }
        text
    }

    fn to_json(&self) -> Value {
        let found = &self.found;
        json!({
            "from": found.from.name(), "to": found.to.name(),
            "legs": found.lines.iter().map(line_json).collect::<Vec<_>>(),
            "alternatives": found.alternatives.iter().map(alternative_json).collect::<Vec<_>>(),
            "dv": speed_json(found.dv()), "with_margin": speed_json(found.with_margin()),
            "time": { "value": found.time(), "unit": "s" },
            "entry_speed": found.entry_speed.map(speed_json),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const MARGINS: &[Parameter] = &[
    Parameter::optional("computed", Kind::Number, "part added to what is computed; 0.05 when left out"),
    Parameter::optional("estimate", Kind::Number, "part added to estimates; 0.10 when left out"),
    Parameter::optional("allowance", Kind::Number, "part added to allowances; 1 when left out"),
];

const JOURNEY: &[Parameter] = &[
    Parameter::new("from", BODY, "where it begins"),
    Parameter::new(
        "to",
        Kind::Either(&[BODY, Kind::List]),
        "where it leads, at any depth of the system; a list of bodies to compare",
    ),
    Parameter::new("between", Kind::List, "[first, last] epoch of departure"),
    Parameter::new("parking", LENGTH, "altitude of the circle that is departed from"),
    Parameter::new(
        "orbit",
        Kind::Either(&[LENGTH, Kind::Options(ARRIVAL)]),
        "altitude of the circle arrived in, or #{ periapsis_altitude, apoapsis_altitude }",
    ),
    Parameter::optional(
        "flight_time",
        Kind::List,
        "[least, most] of the way there; 0.4 to 2.2 of Hohmann's when left out",
    ),
    Parameter::optional(
        "inclination",
        ANGLE,
        "of the orbit arrived in, to the equator there; what the aim holds is free",
    ),
    Parameter::optional("launch", Kind::Flag, "true: from the ground up at the start"),
    Parameter::optional(
        "landing",
        Kind::Flag,
        "true: down to the ground there, and up again where there is a way back",
    ),
    Parameter::optional("and_back", Kind::Flag, "true: home again"),
    Parameter::optional("stay", Kind::List, "[shortest, longest]; 10 days to one synodic period when left out"),
    Parameter::optional(
        "home",
        LENGTH,
        "altitude of the orbit that the way back ends in; straight into the air when left out",
    ),
    Parameter::optional("corrections", SPEED, "set aside for each cruise; 50 m/s when left out"),
    Parameter::optional(
        "loose",
        LENGTH,
        "apoapsis altitude of the ellipse before aerobraking; a tenth of the sphere of influence",
    ),
    Parameter::optional("margins", Kind::Options(MARGINS), "parts added"),
];

fn time(value: &Dynamic) -> Option<f64> {
    value::scalar(value).filter(|time| time.dimension == Dimension::TIME).map(|time| time.value)
}

/// The orbit arrived in.
fn arrival(options: &Options) -> Result<ArrivalOrbit, Fault> {
    let missing = || Fault::new("`budget` is missing its option `orbit`");
    let said = options.value("orbit").ok_or_else(missing)?;
    if let Some(altitude) = value::scalar(said) {
        return Ok(ArrivalOrbit::Circular { altitude: altitude.value });
    }
    let map = options.map("orbit")?.unwrap_or_default();
    super::options::check("orbit", 0, ARRIVAL, &map)?;
    let figure = |key: &str| map.get(key).and_then(value::scalar).map(|figure| figure.value);
    match (figure("altitude"), figure("periapsis_altitude"), figure("apoapsis_altitude")) {
        (Some(altitude), None, None) => Ok(ArrivalOrbit::Circular { altitude }),
        (None, Some(periapsis_altitude), Some(apoapsis_altitude)) => {
            Ok(ArrivalOrbit::Ellipse { periapsis_altitude, apoapsis_altitude })
        }
        _ => Err(options
            .fault("orbit", "this does not say one orbit")
            .help("write orbit: 400.km, or orbit: #{ periapsis_altitude: 400.km, apoapsis_altitude: 30000.km }")),
    }
}

fn margins(options: &Options) -> Result<Margins, Fault> {
    let mut parts = Margins::default();
    if let Some(map) = options.map("margins")? {
        super::options::check("margins", 0, MARGINS, &map)?;
        let part = |key: &str| map.get(key).and_then(value::number);
        parts.computed = part("computed").unwrap_or(parts.computed);
        parts.estimate = part("estimate").unwrap_or(parts.estimate);
        parts.allowance = part("allowance").unwrap_or(parts.allowance);
    }
    Ok(parts)
}

/// What the engine refuses, at the option that is to blame.
fn refused(options: &Options, error: &BudgetError) -> Fault {
    match error {
        BudgetError::Plan(error) => unplanned(error),
        BudgetError::NoWindow { .. } => options
            .fault("between", error.to_string())
            .help("a wider span holds a window: two bodies stand alike again after their synodic period"),
        BudgetError::Stay { .. } => options.fault("stay", error.to_string()).help("write stay: [30.days, 500.days]"),
        BudgetError::NoGround { .. } => Fault::new(error.to_string()).help("leave out `launch` or `landing`").at(0),
        _ => Fault::new(error.to_string()).at(0),
    }
}

fn budget(given: &Given) -> Answer {
    let options = given.options(0)?;
    let epoch = |value: &Dynamic| value.read_lock::<Epoch>().map(|epoch| *epoch);
    let (Some(from), Some(between), Some(parking)) =
        (options.noun::<Body>("from")?, pair(&options, "between", "epochs", epoch)?, options.si("parking")?)
    else {
        return Err(Fault::new("`budget` needs `from`, `to`, `between`, `parking` and `orbit`").at(0));
    };
    let mut wanted = JourneyOptions::new(between, parking, arrival(&options)?);
    wanted.flight_time = pair(&options, "flight_time", "times", time)?;
    wanted.inclination = options.si("inclination")?;
    wanted.launch = options.flag("launch")?.unwrap_or(false);
    wanted.landing = options.flag("landing")?.unwrap_or(false);
    wanted.corrections = options.si("corrections")?.unwrap_or(budget::CORRECTIONS);
    wanted.loose_apoapsis = options.si("loose")?;
    wanted.margins = margins(&options)?;
    let and_back = options.flag("and_back")?.unwrap_or(false);
    if let Some(key) = ["stay", "home"].into_iter().find(|key| options.has(key) && !and_back) {
        return Err(options.fault(key, format!("`{key}` is about a way back")).help("add and_back: true"));
    }
    if and_back {
        let home = match options.si("home")? {
            Some(altitude) => Home::Orbit(ArrivalOrbit::Circular { altitude }),
            // Without air there is nothing to enter: home is then the orbit that was left.
            None => match from.air().map(Air::top) {
                Some(altitude) => Home::Entry { altitude },
                None => Home::Orbit(ArrivalOrbit::Circular { altitude: parking }),
            },
        };
        wanted.back = Some(Back { stay: pair(&options, "stay", "times", time)?, home });
    }
    let targets: Array = match options.noun::<Body>("to") {
        Ok(Some(body)) => vec![value::noun(body)],
        _ => options.list("to")?.unwrap_or_default(),
    };
    let many = options.value("to").is_some_and(Dynamic::is_array);
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let watch = Watch::new(&stopped);
    let mut all = Vec::new();
    let mut refusals = Vec::new();
    for target in &targets {
        let Some(to) = target.read_lock::<Body>().map(|body| body.clone()) else {
            return Err(options.fault("to", format!("`to` lists bodies, got {}", value::describe(target))));
        };
        let found = budget::budget(&from, &to, &wanted, &watch);
        if stopped() {
            return Err(interrupted());
        }
        match found {
            Ok(found) => all.push(Budget { found }),
            // One target that cannot be reached does not hide the others.
            Err(error) if many => refusals.push((to.name().to_owned(), error.to_string())),
            Err(error) => return Err(refused(&options, &error)),
        }
    }
    if many {
        if targets.is_empty() {
            return Err(options.fault("to", "an empty list names no target").help("write to: [sys.Mars, sys.Venus]"));
        }
        return Ok(value::noun(Budgets { all, refusals }));
    }
    all.into_iter().next().map(value::noun).ok_or_else(|| options.fault("to", "`to` is a body, or a list of bodies"))
}

/// The definitions of budgets.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "Δv leg by leg for a journey named by its places, before there is a vehicle: windows included, each leg with its margin, and \
                  what aerobraking or a moon's assist would save.",
    parameters: &[Parameter::new("journey", Kind::Options(JOURNEY), "its places, dates and demands")],
    returns: (
        Kind::Either(&[BUDGET, Kind::Noun("Budgets")]),
        "a table; for a list of targets the table that compares them",
    ),
    source: Some(
        "margins: [ESA2012], section 2.3; orbits: [Battin1999], sections 3.3 and 11.3; methods in the handbook, Budgets",
    ),
    see_also: &["windows", "Budget.beside", "Budget.alternatives", "Budgets"],
    examples: &[
        Example::exact(
            mars!("b.legs.map(|leg| leg.leg)"),
            "[\"departure from Earth\", \"corrections, out\", \"capture at Mars\"]",
        ),
        Example::close(
            mars!("b.dv - b.legs.map(|leg| leg.dv).reduce(|a, x| if a == () { x } else { a + x })"),
            "0.m_s",
            "1e-9.m_s",
        ),
    ],
    ..Definition::function("budget", budget)
}];
