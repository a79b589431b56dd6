//! What can be read off a grid: its axes, its figures, its minima, its contours.

use rhai::{Dynamic, Map};
use visviva_engine::arc::lambert::Branch;
use visviva_engine::arc::porkchop::{Choice, Contour, Measure};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::Dimension;

use super::cell::CELL;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::grid::{Grid, MEASURES, csv};
use super::kind::{EPOCH, Kind, TIME};
use super::porkchop::refused;
use super::search::interrupted;
use super::value;
use crate::diagnostic::nearest::nearest;
use crate::sandbox::ARRAY_SIZE;

/// A small grid to read from.
macro_rules! grid_of_2033 {
    ($reading:literal) => {
        concat!(
            "let s = system(\"sol\"); let g = porkchop(s.Earth, s.Mars, #{ between: [epoch(\"2033-03-01 TDB\"), epoch(\"2033-06-01 TDB\")], ",
            "flight_time: [150.days, 250.days], parking: 300.km, arrival: 400.km, count: [20, 15] }); ",
            $reading
        )
    };
}

const CHOICE: &[Parameter] = &[
    Parameter::optional("revolutions", Kind::Whole, "whole revolutions"),
    Parameter::optional("branch", Kind::Text, "\"left\" or \"right\" of the least-time arc"),
    Parameter::optional("way", Kind::Text, "\"short\" or \"long\""),
    Parameter::optional("retrograde", Kind::Flag, "against the motion of the body left"),
];

const WHICH: Parameter =
    Parameter::optional("branches", Kind::Options(CHOICE), "those looked at; the least of all when left out");

const QUANTITY: Parameter = Parameter::new(
    "quantity",
    Kind::Text,
    "\"c3\", \"v_inf_depart\", \"v_inf_arrive\", \"dv_departure\", \"dv_arrival\" or \"dv\"",
);

/// The measure an argument names, with its dimension.
pub(super) fn measure(said: &str) -> Result<(Measure, Dimension), Fault> {
    if let Some((_, measure, _, dimension)) = MEASURES.iter().find(|(name, ..)| *name == said) {
        return Ok((*measure, *dimension));
    }
    let names = MEASURES.iter().map(|(name, ..)| *name);
    let known: Vec<String> = names.clone().map(|name| format!("`{name}`")).collect();
    let fault = Fault::new(format!("a grid holds no quantity `{said}`")).help(format!("it holds {}", known.join(", ")));
    Err(match nearest(said, names) {
        Some(near) => fault.note(format!("did you mean `{near}`?")),
        None => fault,
    })
}

/// The branches that the options at an argument leave.
fn choice(given: &Given, argument: usize) -> Result<Choice, Fault> {
    let options = given.options(argument)?;
    let revolutions = options.whole("revolutions")?;
    let revolutions = revolutions
        .map(|said| {
            u32::try_from(said).map_err(|_| options.fault("revolutions", format!("{said} is no number of revolutions")))
        })
        .transpose()?;
    let branch = match options.text("branch")?.as_deref() {
        None => None,
        Some("left") => Some(Branch::Left),
        Some("right") => Some(Branch::Right),
        Some(other) => {
            return Err(options
                .fault("branch", format!("there is no branch `{other}`"))
                .help("there are \"left\" and \"right\""));
        }
    };
    let long = match options.text("way")?.as_deref() {
        None => None,
        Some("short") => Some(false),
        Some("long") => Some(true),
        Some(other) => {
            return Err(options
                .fault("way", format!("there is no way `{other}`"))
                .help("there are \"short\" and \"long\""));
        }
    };
    Ok(Choice { revolutions, branch, retrograde: options.flag("retrograde")?, long })
}

fn asked(given: &Given) -> Result<(Grid, Measure, Dimension), Fault> {
    let (measure, dimension) = measure(&given.text(0)?).map_err(|fault| fault.at(0).of_method(true))?;
    Ok((given.this::<Grid>()?, measure, dimension))
}

/// A value for each cell, departure after departure; `()` where there is no arc.
fn table(grid: &Grid, measure: Measure, dimension: Dimension, choice: Choice) -> Answer {
    let field = grid.grid.field(measure, choice).map_err(|error| refused(&error).of_method(true))?;
    if field.len() > ARRAY_SIZE {
        return Err(Fault::new(format!("{} cells are more than the {ARRAY_SIZE} that lists hold", field.len()))
            .help("read .by_departure, .contours or .at, save the grid as `.csv`, or ask for fewer dates"));
    }
    let one = |value: &f64| if value.is_finite() { value::of(*value, dimension) } else { Dynamic::UNIT };
    let rows = field.chunks(grid.grid.size().1);
    Ok(Dynamic::from_array(rows.map(|row| Dynamic::from_array(row.iter().map(one).collect())).collect()))
}

fn contour_map(grid: &Grid, contour: &Contour, dimension: Dimension) -> Dynamic {
    // A fiftieth of a step is less than the line itself is good for.
    let points = contour.thinned(&grid.grid, 0.02);
    let epochs: Vec<_> = points.iter().map(|point| grid.grid.epochs(*point)).collect();
    let mut map = Map::new();
    map.insert("level".into(), value::of(contour.level, dimension));
    map.insert("closed".into(), Dynamic::from_bool(contour.closed));
    map.insert("depart".into(), Dynamic::from_array(epochs.iter().map(|(depart, _)| value::noun(*depart)).collect()));
    map.insert("arrive".into(), Dynamic::from_array(epochs.iter().map(|(_, arrive)| value::noun(*arrive)).collect()));
    Dynamic::from_map(map)
}

fn contours(given: &Given) -> Answer {
    let (grid, measure, dimension) = asked(given)?;
    let choice = choice(given, 2)?;
    let refuse = |error| refused(&error).of_method(true);
    let mut levels = Vec::new();
    if given.has(1) {
        for level in given.list(1)? {
            let Some(level) = value::scalar(&level).filter(|level| level.dimension == dimension) else {
                let write = if dimension == Dimension::SPEED { "4.km_s" } else { "10.km2_s2" };
                return Err(Fault::new(format!(
                    "levels of `{}` are {}, got {}",
                    given.text(0)?,
                    plural(dimension),
                    value::describe(&level)
                ))
                .help(format!("write [{write}, ...]"))
                .at(1)
                .of_method(true));
            };
            levels.push(level.value);
        }
    } else {
        levels = grid.grid.levels(measure, choice, 9).map_err(refuse)?;
    }
    let lines = grid.grid.contours(measure, &levels, choice).map_err(refuse)?;
    Ok(Dynamic::from_array(lines.iter().map(|line| contour_map(&grid, line, dimension)).collect()))
}

/// `speeds`, `specific energies`.
fn plural(dimension: Dimension) -> &'static str {
    if dimension == Dimension::SPEED { "speeds" } else { "specific energies" }
}

fn minima(given: &Given) -> Answer {
    let (grid, measure, _) = asked(given)?;
    let choice = choice(given, 1)?;
    let stopped = || given.run.stopped();
    let found = grid.grid.minima(measure, choice, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    let found = found.map_err(|error| refused(&error).of_method(true))?;
    Ok(Dynamic::from_array(found.into_iter().map(value::noun).collect()))
}

fn at(given: &Given) -> Answer {
    let grid = given.this::<Grid>()?;
    let (depart, flight_time, choice) = (given.epoch(0)?, given.time(1)?, choice(given, 2)?);
    let cells = grid.grid.at(depart, flight_time, choice).map_err(|error| refused(&error).at(0).of_method(true))?;
    match cells.into_iter().next() {
        Some(cell) => Ok(value::noun(cell)),
        None => Err(Fault::new("no arc of these branches joins the two dates")),
    }
}

fn axis(given: &Given, of_arrivals: bool) -> Answer {
    let grid = given.this::<Grid>()?;
    let dates = grid.grid.dates();
    if dates.of_arrivals != of_arrivals {
        let (is, other) = if of_arrivals { ("flight times", "flight_times") } else { ("arrivals", "arrivals") };
        return Err(Fault::new(format!("the other axis of this grid holds {is}")).help(format!("read .{other}")));
    }
    let values = (0..dates.second.count).map(|j| dates.second.value(j as f64));
    let list = if of_arrivals {
        values.map(|at| value::noun(dates.begin.after(at))).collect()
    } else {
        values.map(|seconds| value::of(seconds, Dimension::TIME)).collect()
    };
    Ok(Dynamic::from_array(list))
}

const SEE: &[&str] = &["porkchop", "Grid.values", "Grid.at"];

/// The definitions of a grid's readings.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The cell of least Δv, refined between the dates.",
        returns: (
            CELL,
            "total with an arrival orbit, else departure; an error where only the rim of the grid is cheap",
        ),
        see_also: &["Grid.minima", "windows"],
        examples: &[Example::close(grid_of_2033!("g.cheapest.dv"), "6.km_s", "0.6.km_s")],
        ..Definition::property("Grid", "cheapest", |given| match given.this::<Grid>()?.minima.first() {
            Some(cell) => Ok(value::noun(*cell)),
            None => Err(Fault::new("this grid has no minimum").note("it falls towards its rim everywhere")),
        })
    },
    Definition {
        summary: "The minima of a quantity, each on its own branch and way, refined between the dates.",
        parameters: &[QUANTITY, WHICH],
        returns: (Kind::List, "of cells, least first; one on the rim of the grid only where it is nearly the least"),
        see_also: &["Grid.cheapest", "Grid.contours"],
        examples: &[Example::close(grid_of_2033!("g.minima(\"c3\")[0].c3"), "8.km2_s2", "2.km2_s2")],
        ..Definition::method("Grid", "minima", minima)
    },
    Definition {
        summary: "A quantity in every cell.",
        parameters: &[QUANTITY, WHICH],
        returns: (
            Kind::List,
            "for each departure a list along the other axis, the least of the branches; () where there is no arc",
        ),
        see_also: &["Grid.departures", "Grid.flight_times", "save"],
        examples: &[Example::exact(grid_of_2033!("let v = g.values(\"c3\"); [v.len, v[0].len]"), "[20, 15]")],
        ..Definition::method("Grid", "values", |given| {
            let (grid, measure, dimension) = asked(given)?;
            table(&grid, measure, dimension, choice(given, 1)?)
        })
    },
    Definition {
        summary: "A quantity for each departure: the least along the other axis.",
        parameters: &[QUANTITY, WHICH],
        returns: (Kind::List, "as long as .departures; () where no arc of the branches follows"),
        see_also: &["Grid.departures", "Grid.values"],
        examples: &[Example::exact(grid_of_2033!("g.by_departure(\"dv\").len"), "20")],
        ..Definition::method("Grid", "by_departure", |given| {
            let (grid, measure, dimension) = asked(given)?;
            let least =
                grid.grid.by_departure(measure, choice(given, 1)?).map_err(|error| refused(&error).of_method(true))?;
            let one = |value: Option<f64>| value.map_or(Dynamic::UNIT, |value| value::of(value, dimension));
            Ok(Dynamic::from_array(least.into_iter().map(one).collect()))
        })
    },
    Definition {
        summary: "C3 in every cell.",
        returns: (Kind::List, "as .values(\"c3\")"),
        see_also: SEE,
        examples: &[Example::exact(grid_of_2033!("g.c3[3][4] == g.values(\"c3\")[3][4]"), "true")],
        ..Definition::property("Grid", "c3", |given| {
            table(&given.this::<Grid>()?, Measure::C3, Dimension::SPECIFIC_ENERGY, Choice::ANY)
        })
    },
    Definition {
        summary: "Excess speed on arriving in every cell.",
        returns: (Kind::List, "as .values(\"v_inf_arrive\")"),
        see_also: SEE,
        examples: &[Example::exact(grid_of_2033!("g.v_inf_arrive[0].len"), "15")],
        ..Definition::property("Grid", "v_inf_arrive", |given| {
            table(&given.this::<Grid>()?, Measure::ExcessArrive, Dimension::SPEED, Choice::ANY)
        })
    },
    Definition {
        summary: "Δv of departure and arrival together in every cell.",
        returns: (Kind::List, "as .values(\"dv\")"),
        see_also: SEE,
        examples: &[Example::exact(grid_of_2033!("g.dv.len"), "20")],
        ..Definition::property("Grid", "dv", |given| {
            table(&given.this::<Grid>()?, Measure::Total, Dimension::SPEED, Choice::ANY)
        })
    },
    Definition {
        summary: "The lines along which a quantity is the same.",
        parameters: &[
            QUANTITY,
            Parameter::optional(
                "levels",
                Kind::List,
                "in its own dimension; about nine round ones when left out, closer together near the least",
            ),
            WHICH,
        ],
        returns: (
            Kind::List,
            "of maps: level, closed, depart and arrive (epochs along the line); a line ends at the rim or is closed",
        ),
        source: Some(
            "marching squares, saddles decided as by [NielsonHamann1991]; none crosses the ridge at half a revolution",
        ),
        see_also: &["Grid.minima", "picture"],
        examples: &[Example::exact(
            grid_of_2033!("let c = g.contours(\"c3\", [10.km2_s2]); c.len > 0 && c[0].depart.len == c[0].arrive.len"),
            "true",
        )],
        ..Definition::method("Grid", "contours", contours)
    },
    Definition {
        summary: "The arc of least Δv between two dates, which need not lie on the ruling: solved anew, not interpolated.",
        parameters: &[
            Parameter::new("depart", EPOCH, "within the grid"),
            Parameter::new("flight_time", TIME, "within the grid"),
            WHICH,
        ],
        returns: (CELL, "among the branches looked at"),
        see_also: &["Grid.cheapest", "transfer"],
        examples: &[Example::close(
            grid_of_2033!("g.at(g.cheapest.depart, g.cheapest.flight_time).dv - g.cheapest.dv"),
            "0.m_s",
            "1.mm_s",
        )],
        ..Definition::method("Grid", "at", at)
    },
    Definition {
        summary: "The dates of departure.",
        returns: (Kind::List, "of epochs, evenly apart"),
        see_also: &["Grid.flight_times", "Grid.values"],
        examples: &[Example::exact(grid_of_2033!("g.departures[19] == epoch(\"2033-06-01 TDB\")"), "true")],
        ..Definition::property("Grid", "departures", |given| {
            let grid = given.this::<Grid>()?;
            let dates = grid.grid.dates();
            let epochs = (0..dates.departures.count).map(|i| dates.begin.after(dates.departures.value(i as f64)));
            Ok(Dynamic::from_array(epochs.map(value::noun).collect()))
        })
    },
    Definition {
        summary: "The flight times of the other axis.",
        returns: (Kind::List, "of times, evenly apart; an error for a grid over arrivals"),
        see_also: &["Grid.departures", "Grid.arrivals"],
        examples: &[Example::exact(grid_of_2033!("g.flight_times[0]"), "150.days")],
        ..Definition::property("Grid", "flight_times", |given| axis(given, false))
    },
    Definition {
        summary: "The arrivals of the other axis.",
        returns: (Kind::List, "of epochs, evenly apart; an error for a grid over flight times"),
        see_also: &["Grid.departures", "Grid.flight_times"],
        examples: &[Example::exact(
            "let s = system(\"velm\"); porkchop(s.Veyra, s.Oru, #{ between: [epoch(\"2141-01-01 TDB\"), epoch(\"2142-01-01 TDB\")], \
             arriving: [epoch(\"2142-06-01 TDB\"), epoch(\"2144-06-01 TDB\")], parking: 180.km, count: 5 }).arrivals.len",
            "5",
        )],
        ..Definition::property("Grid", "arrivals", |given| axis(given, true))
    },
    Definition {
        summary: "The branches that are kept, by their whole revolutions.",
        returns: (Kind::List, "of texts: \"0\", \"1 left\", \"1 right\", ..."),
        see_also: &["porkchop", "lambert"],
        examples: &[Example::exact(grid_of_2033!("g.branches"), "[\"0\"]")],
        ..Definition::property("Grid", "branches", |given| {
            let grid = given.this::<Grid>()?;
            Ok(Dynamic::from_array(grid.grid.sheets().iter().map(|sheet| value::text(sheet.to_string())).collect()))
        })
    },
    Definition {
        summary: "Every arc of every cell as a CSV text: SI, the unit in each header.",
        returns: (Kind::Text, "a line for each arc below the headers"),
        source: Some("[RFC4180]"),
        see_also: &["save", "Grid.values"],
        examples: &[Example::exact(grid_of_2033!("g.csv.split(\"\\n\")[0].split(\",\")[6]"), "\"c3_m2_s2\"")],
        ..Definition::property("Grid", "csv", |given| Ok(value::text(csv(&given.this::<Grid>()?))))
    },
];
