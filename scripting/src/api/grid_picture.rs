//! The picture of a grid: bands of Δv, contours of C3 and of the arrival's v-infinity, minima.

use visviva_engine::arc::porkchop::{Cell, Choice, Contour, Measure};
use visviva_engine::arc::{ArrivalOrbit, Parking};
use visviva_engine::quantity::Quantity;

use super::cell;
use super::fault::Fault;
use super::grid::Grid;
use super::porkchop::refused;
use super::table::date;
use crate::view::calendar::{Tick, ticks};
use crate::view::chart::{Axis, Band, Chart, Family, Isoline, Mark, Slant};

/// Bands and lines of each family, about.
const BANDS: usize = 9;
const LINES: usize = 8;
/// Minima that are marked.
const MARKS: usize = 5;
/// Ticks of an axis, about.
const TICKS: usize = 8;

const DAY: f64 = 86_400.0;

/// Dark red and black: told apart by dashes as well as by colour.
const C3: &str = "#1c1e22";
const EXCESS: &str = "#a3270f";

/// A level without needless digits: `9.5`, `12`.
fn level_text(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Unit of flight times: seconds, name.
fn time_unit(most: f64) -> (f64, &'static str) {
    if most < 4.0 * DAY {
        (3600.0, "hours")
    } else if most < 4000.0 * DAY {
        (DAY, "days")
    } else {
        (365.25 * DAY, "years")
    }
}

/// Ticks at round numbers of a unit.
fn round_ticks(low: f64, high: f64, unit: f64) -> Vec<Tick> {
    let wish = (high - low) / unit / TICKS as f64;
    let power = 10_f64.powf(wish.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * power).find(|step| *step >= wish).unwrap_or(wish);
    let (first, last) = ((low / unit / step - 1e-9).ceil() as i64, (high / unit / step + 1e-9).floor() as i64);
    (first..=last)
        .map(|k| Tick { at: k as f64 * step * unit, label: level_text(k as f64 * step), below: None })
        .collect()
}

/// A tick's date in one line: `1 Mar 2027`, `2030`.
fn one_line(tick: &Tick, year: &mut String) -> String {
    if let Some(below) = &tick.below {
        year.clone_from(below);
    }
    if tick.below.is_none() && year.is_empty() { tick.label.clone() } else { format!("{} {year}", tick.label) }
}

/// Lines of one arrival (or of one flight time) across the map.
fn slants(grid: &Grid) -> (Vec<Slant>, String) {
    let dates = grid.grid.dates();
    let (left, right) = (dates.departures.first, dates.departures.last());
    let (low, high) = (dates.second.first, dates.second.last());
    if dates.of_arrivals {
        let (unit, name) = time_unit(high - left);
        let lines = round_ticks((low - right).max(0.0), high - left, unit).into_iter().filter(|tick| tick.at > 0.0);
        let cut = |tick: Tick| {
            let (from, to) = ((low - tick.at).max(left), (high - tick.at).min(right));
            (to - from > 0.04 * (right - left))
                .then_some(Slant { ends: [(from, from + tick.at), (to, to + tick.at)], label: tick.label })
        };
        (lines.filter_map(cut).collect(), format!("flight time, {name}"))
    } else {
        let begin = dates.begin.after(low);
        let mut year = String::new();
        let lines = ticks(begin, high - low + right, TICKS);
        let cut = |tick: &Tick| {
            let label = one_line(tick, &mut year);
            let arrive = low + tick.at;
            let (from, to) = ((arrive - high).max(left), (arrive - low).min(right));
            // Named where it leaves at the right side or above, so its last end is the higher departure for the right side.
            let leaves_right = arrive - right >= low;
            let ends = if leaves_right {
                [(from, arrive - from), (right, arrive - right)]
            } else {
                [(to, arrive - to), (from, arrive - from)]
            };
            // A line through a corner is too short to read.
            let long = (to - from) > 0.05 * (right - left);
            (long && (leaves_right || arrive - from >= high - 1e-6)).then_some(Slant { ends, label })
        };
        (lines.iter().filter_map(cut).collect(), "arrival date".to_owned())
    }
}

fn isolines(lines: Vec<Contour>, unit: f64) -> Vec<Isoline> {
    lines
        .into_iter()
        .map(|line| Isoline {
            label: level_text(line.level / unit),
            closed: line.closed,
            points: line.points.into_iter().map(|[x, y]| (x, y)).collect(),
        })
        .collect()
}

fn paths(rings: Vec<Contour>) -> Vec<Vec<(f64, f64)>> {
    rings.into_iter().map(|ring| ring.points.into_iter().map(|[x, y]| (x, y)).collect()).collect()
}

fn day(cell_date: &str) -> &str {
    cell_date.split(' ').next().unwrap_or(cell_date)
}

fn mark(grid: &Grid, cell: &Cell) -> Mark {
    let dates = grid.grid.dates();
    let depart = cell.depart.seconds_since(dates.begin);
    let second = if dates.of_arrivals { depart + cell.flight_time } else { cell.flight_time };
    // Within a day apart the hours matter.
    let short = dates.departures.last() < 60.0 * DAY;
    let shown = |epoch| {
        let text = date(epoch);
        if short {
            text.rsplit_once(':').map_or(text.clone(), |(minute, _)| minute.to_owned())
        } else {
            day(&text).to_owned()
        }
    };
    let kms = |si: f64| format!("{:.2}", si / 1e3);
    let sum = match cell.dv_arrival {
        Some(arrival) => format!("Δv {} + {} = {} km/s", kms(cell.dv_departure), kms(arrival), kms(cell.dv)),
        None => format!("Δv {} km/s", kms(cell.dv)),
    };
    Mark {
        at: (depart, second),
        lines: vec![
            format!("{} to {}", shown(cell.depart), shown(cell.arrive)),
            format!("{}, {}", Quantity::time(cell.flight_time).show(), cell::branch(cell)),
            format!("C3 {:.2} km²/s², arrival v-infinity {} km/s", cell.c3 / 1e6, kms(cell.v_inf_arrive)),
            sum,
        ],
    }
}

/// The years of departure: `2026`, `2026–2027`.
fn years(grid: &Grid) -> String {
    let dates = grid.grid.dates();
    let year = |seconds: f64| {
        let text = date(dates.begin.after(seconds));
        text.rsplitn(3, '-').last().unwrap_or_default().to_owned()
    };
    let (first, last) = (year(0.0), year(dates.departures.last()));
    if first == last { first } else { format!("{first}–{last}") }
}

fn orbit_text(grid: &Grid) -> String {
    let length = |si: f64| Quantity::length(si).show();
    let (parking, arrival) = grid.grid.orbits();
    let from = match parking {
        Parking::Altitude(altitude) => format!("from a circle at {}", length(*altitude)),
        Parking::Orbit(orbit) => {
            format!("from the orbit given, {} up at the burn", length(orbit.radius() - orbit.body().radius()))
        }
    };
    let to = match arrival {
        None => "past the body reached".to_owned(),
        Some(ArrivalOrbit::Circular { altitude }) => format!("into a circle at {}", length(altitude)),
        Some(ArrivalOrbit::Ellipse { periapsis_altitude, apoapsis_altitude }) => {
            format!("into {} by {}", length(periapsis_altitude), length(apoapsis_altitude))
        }
    };
    format!("{from} {to}")
}

/// What the drawing shows.
pub(super) fn chart(grid: &Grid) -> Result<Chart, Fault> {
    let held = &grid.grid;
    let dates = held.dates();
    let refuse = |error| refused(&error);
    let any = Choice::ANY;
    let levels = held.levels(Measure::Total, any, BANDS).map_err(refuse)?;
    let mut bands = Vec::new();
    for level in &levels {
        let rings = held.regions(Measure::Total, &[*level], any).map_err(refuse)?;
        bands.push(Band { label: level_text(level / 1e3), rings: paths(rings) });
    }
    let lines = |measure: Measure, unit: f64| -> Result<Vec<Isoline>, Fault> {
        let levels = held.levels(measure, any, LINES).map_err(refuse)?;
        Ok(isolines(held.contours(measure, &levels, any).map_err(refuse)?, unit))
    };
    let families = vec![
        Family { name: "C3, km²/s²".to_owned(), colour: C3, dashes: "", lines: lines(Measure::C3, 1e6)? },
        Family {
            name: "arrival v-infinity, km/s".to_owned(),
            colour: EXCESS,
            dashes: "6 3",
            lines: lines(Measure::ExcessArrive, 1e3)?,
        },
    ];
    let (slants, slant_title) = slants(grid);
    let up = if dates.of_arrivals {
        let begin = dates.begin.after(dates.second.first);
        let mut found = ticks(begin, dates.second.last() - dates.second.first, TICKS);
        for tick in &mut found {
            tick.at += dates.second.first;
        }
        Axis { low: dates.second.first, high: dates.second.last(), ticks: found, title: "arrival (TDB)".to_owned() }
    } else {
        let (unit, name) = time_unit(dates.second.last());
        Axis {
            low: dates.second.first,
            high: dates.second.last(),
            ticks: round_ticks(dates.second.first, dates.second.last(), unit),
            title: format!("flight time, {name}"),
        }
    };
    let revolutions = match held.revolutions() {
        0 => "direct arcs".to_owned(),
        most => format!("arcs of up to {most} whole revolution{}", if most == 1 { "" } else { "s" }),
    };
    Ok(Chart {
        title: format!("{} to {}, {}", held.from().name(), held.to().name(), years(grid)),
        subtitle: format!("{}; {revolutions}, the cheapest of each pair of dates", orbit_text(grid)),
        across: Axis {
            low: dates.departures.first,
            high: dates.departures.last(),
            ticks: ticks(dates.begin, dates.departures.last(), TICKS),
            title: "departure (TDB)".to_owned(),
        },
        up,
        known: paths(held.regions(Measure::C3, &[f64::MAX], any).map_err(refuse)?),
        bands,
        band_title: format!("{}, km/s, below", grid.dv_name()),
        families,
        slants,
        slant_title,
        ridge: paths(held.ridge()),
        ridge_title: "half a revolution".to_owned(),
        marks: grid.minima.iter().take(MARKS).map(|cell| mark(grid, cell)).collect(),
        mark_title: format!("minima of the {}", grid.dv_name()),
        notes: vec![
            "Centre to centre; the burns are impulsive, in the".to_owned(),
            "plane of the departure, at periapsis.".to_owned(),
        ],
    })
}
