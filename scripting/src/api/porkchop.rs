//! `porkchop`: what every pair of dates between two bodies costs.

use rhai::Dynamic;
use visviva_engine::arc::Parking;
use visviva_engine::arc::porkchop::{self, GridError, GridOptions, Ruling, Second};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::grid::{GRID, Grid};
use super::kind::{BODY, Kind, LENGTH, ORBIT, TIME};
use super::options::Options;
use super::search::interrupted;
use super::value;
use super::windows::{ARRIVAL, arrival, pair, unplanned};

const OPTIONS: &[Parameter] = &[
    Parameter::new("between", Kind::List, "[first, last] epoch of departure"),
    Parameter::optional(
        "flight_time",
        Kind::List,
        "[least, most] on the other axis; 0.4 to 2.2 of Hohmann's when left out",
    ),
    Parameter::optional(
        "arriving",
        Kind::List,
        "[first, last] epoch of arrival on the other axis, instead of flight_time",
    ),
    Parameter::new(
        "parking",
        Kind::Either(&[LENGTH, ORBIT]),
        "altitude of a circle in the plane that suits best, or an orbit",
    ),
    Parameter::optional(
        "arrival",
        Kind::Either(&[LENGTH, Kind::Options(ARRIVAL)]),
        "altitude of a circle, or #{ periapsis_altitude, apoapsis_altitude }: the orbit burnt into; a pass when left out",
    ),
    Parameter::optional("revolutions", Kind::Whole, "most whole revolutions, both branches of each; 0 when left out"),
    Parameter::optional("both_senses", Kind::Flag, "whether arcs against the motion of the body left are kept too"),
    Parameter::optional(
        "step",
        Kind::Either(&[TIME, Kind::List]),
        "widest step on both axes, or [on departures, on the other]",
    ),
    Parameter::optional(
        "count",
        Kind::Either(&[Kind::Whole, Kind::List]),
        "of dates on both axes, or [of departures, of the other]; 241 when left out",
    ),
];

fn epoch(value: &Dynamic) -> Option<Epoch> {
    value.read_lock::<Epoch>().map(|epoch| *epoch)
}

fn time(value: &Dynamic) -> Option<f64> {
    value::scalar(value).filter(|time| time.dimension == Dimension::TIME).map(|time| time.value)
}

/// Dates that lie so and so far apart, or so many.
fn ruling(options: &Options) -> Result<Option<Ruling>, Fault> {
    if options.has("step") && options.has("count") {
        return Err(options
            .fault("count", "`step` and `count` say the same thing in different ways")
            .help("give one of the two"));
    }
    let count = |value: &Dynamic| value::whole(value).map(|count| usize::try_from(count).unwrap_or(0));
    if let Some(said) = options.value("step") {
        let both = if let Some(step) = time(said) { Some((step, step)) } else { pair(options, "step", "times", time)? };
        return Ok(both.map(|(across, up)| Ruling::Steps(across, up)));
    }
    if let Some(said) = options.value("count") {
        let both = if let Some(number) = count(said) {
            Some((number, number))
        } else {
            pair(options, "count", "whole numbers", count)?
        };
        return Ok(both.map(|(across, up)| Ruling::Counts(across, up)));
    }
    Ok(None)
}

/// What a grid refuses, with what to do.
pub(super) fn refused(error: &GridError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        GridError::Departures { .. } => fault.help("write between: [first, last]").at_key(2, "between"),
        GridError::FlightTimes { .. } => fault.help("write flight_time: [100.days, 400.days]").at_key(2, "flight_time"),
        GridError::Arrivals { .. } => fault.help("write arriving: [first, last]").at_key(2, "arriving"),
        GridError::Empty { .. } => fault.at_key(2, "arriving"),
        GridError::Revolutions { .. } => fault.at_key(2, "revolutions"),
        GridError::Step { .. } => fault.at_key(2, "step"),
        GridError::TooLarge { .. } => fault.help("widen the step, or narrow the dates").at(2),
        GridError::TooFew { .. } => fault.help("ask for two different bounds and a count of 2 or more").at(2),
        GridError::Central { .. } => fault.help("ask `windows`, which also flies between a planet and its moons").at(1),
        GridError::Plan(error) => unplanned(error),
        _ => fault,
    }
}

fn made(given: &Given) -> Answer {
    let (from, to, options) = (given.noun::<Body>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    let missing = |key: &str| Fault::new(format!("`porkchop` is missing its option `{key}`"));
    let between = pair(&options, "between", "epochs", epoch)?.ok_or_else(|| missing("between"))?;
    let flights = pair(&options, "flight_time", "times", time)?;
    let arrivals = pair(&options, "arriving", "epochs", epoch)?;
    let second = match (flights, arrivals) {
        (Some(_), Some(_)) => {
            return Err(options
                .fault("arriving", "`flight_time` and `arriving` are both the other axis")
                .help("give one of the two"));
        }
        (Some((least, most)), None) => Some(Second::FlightTimes(least, most)),
        (None, Some((first, last))) => Some(Second::Arrivals(first, last)),
        (None, None) => None,
    };
    let parking = match options.value("parking").and_then(value::scalar) {
        Some(altitude) => Parking::Altitude(altitude.value),
        None => Parking::Orbit(Box::new(options.noun::<Orbit>("parking")?.ok_or_else(|| missing("parking"))?)),
    };
    let revolutions = options.whole("revolutions")?.unwrap_or(0);
    let Ok(revolutions) = u32::try_from(revolutions) else {
        return Err(options.fault("revolutions", format!("{revolutions} is no number of revolutions")));
    };
    let wanted = GridOptions {
        between,
        second,
        ruling: ruling(&options)?,
        parking,
        arrival: arrival(&options)?,
        revolutions,
        both_senses: options.flag("both_senses")?.unwrap_or(false),
    };
    let stopped = || given.run.stopped();
    let watch = Watch::new(&stopped);
    let grid = porkchop::porkchop(&from, &to, &wanted, &watch).and_then(|grid| Grid::of(grid, &watch));
    if stopped() {
        return Err(interrupted());
    }
    grid.map(value::noun).map_err(|error| refused(&error))
}

pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "What every pair of dates between two bodies costs, on every branch: a grid to read, to cut contours from, to draw.",
    parameters: &[
        Parameter::new("a", BODY, "that is left"),
        Parameter::new("b", BODY, "that is reached; both go round a third body"),
        Parameter::new("grid", Kind::Options(OPTIONS), "the two axes, the orbits at both ends, and how finely"),
    ],
    returns: (GRID, "centre to centre; where an end is a moon, the moon stands where that costs least"),
    source: Some("the form of the contours that [Sergeyevsky1983] shows; Lambert's problem in every cell"),
    see_also: &["Grid", "picture", "windows", "lambert"],
    examples: &[Example::close(
        "let s = system(\"sol\"); porkchop(s.Earth, s.Mars, #{ between: [epoch(\"2033-02-01 TDB\"), epoch(\"2033-06-01 TDB\")], \
         flight_time: [120.days, 350.days], parking: 300.km, arrival: 400.km, count: 40 }).cheapest.c3",
        "9.km2_s2",
        "2.km2_s2",
    )],
    ..Definition::function("porkchop", made)
}];
