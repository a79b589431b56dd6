//! The noun `Grid`: what every pair of dates costs.

use std::fmt::Write as _;
use std::sync::Arc;

use serde_json::{Value, json};
use visviva_engine::arc::porkchop::{self, Cell, Choice, GridError, Measure};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};

use super::cell;
use super::kind::Kind;
use super::noun::Noun;
use super::table::{Columns, date};
use crate::view::canvas::Canvas;

/// A grid.
pub(super) const GRID: Kind = Kind::Noun("Grid");

/// Minima that `print` shows.
const SHOWN: usize = 8;

/// A grid with its minima, shared by all who read it.
#[derive(Clone)]
pub(super) struct Grid {
    pub(super) grid: Arc<porkchop::Grid>,
    /// Of the Δv, refined, least first.
    pub(super) minima: Arc<Vec<Cell>>,
}

/// The figures a grid is read for: the word of the language, what it is, its dimension.
pub(super) const MEASURES: [(&str, Measure, &str, Dimension); 6] = [
    ("c3", Measure::C3, "C3", Dimension::SPECIFIC_ENERGY),
    ("v_inf_depart", Measure::ExcessDepart, "v-infinity at departure", Dimension::SPEED),
    ("v_inf_arrive", Measure::ExcessArrive, "v-infinity at arrival", Dimension::SPEED),
    ("dv_departure", Measure::Departure, "departure Δv", Dimension::SPEED),
    ("dv_arrival", Measure::Arrival, "arrival Δv", Dimension::SPEED),
    ("dv", Measure::Total, "total Δv", Dimension::SPEED),
];

impl Grid {
    /// With its minima found.
    pub(super) fn of(grid: porkchop::Grid, watch: &Watch<'_>) -> Result<Self, GridError> {
        let minima = grid.minima(Measure::Total, Choice::ANY, watch)?;
        Ok(Self { grid: Arc::new(grid), minima: Arc::new(minima) })
    }

    /// What the Δv of this grid is called.
    pub(super) fn dv_name(&self) -> &'static str {
        if self.grid.has_arrival() { "total Δv" } else { "departure Δv" }
    }

    /// One line: bodies and bounds.
    fn head(&self) -> String {
        let (rows, columns) = self.grid.size();
        let dates = self.grid.dates();
        let time = |seconds: f64| Quantity::time(seconds).show();
        let (first, last) = (dates.begin, dates.begin.after(dates.departures.last()));
        let other = if dates.of_arrivals {
            let of = |seconds: f64| date(dates.begin.after(seconds));
            format!("arrivals {} to {}", of(dates.second.first), of(dates.second.last()))
        } else {
            format!("flight times {} to {}", time(dates.second.first), time(dates.second.last()))
        };
        let (from, to) = (self.grid.from().name(), self.grid.to().name());
        format!(
            "grid from {from} to {to}: {rows} departures by {columns} {}\n  departures {} to {}, every {}\n  {other}, every {}",
            if dates.of_arrivals { "arrivals" } else { "flight times" },
            date(first),
            date(last),
            time(dates.departures.step),
            time(dates.second.step),
        )
    }

    /// The Δv of all cells as dots on a terminal, the cheapest the densest; minima by their numbers.
    fn sketch(&self) -> String {
        let Ok(field) = self.grid.field(Measure::Total, Choice::ANY) else { return String::new() };
        let (rows, columns) = self.grid.size();
        let dates = self.grid.dates();
        let mut canvas = Canvas::blank(64, 16);
        let (wide, high) = canvas.dots();
        let least = field.iter().copied().fold(f64::INFINITY, f64::min);
        for x in 0..wide {
            for y in 0..high {
                let i = ((x as f64 + 0.5) / wide as f64 * rows as f64) as usize;
                let j = ((high as f64 - y as f64 - 0.5) / high as f64 * columns as f64) as usize;
                let value = field[i.min(rows - 1) * columns + j.min(columns - 1)];
                // Full at the least, half at a half more, nothing from twice the least on.
                canvas.shade(x, y, 1.0 - (value / least - 1.0));
            }
        }
        for (index, minimum) in self.minima.iter().take(SHOWN).enumerate() {
            let depart = minimum.depart.seconds_since(dates.begin);
            let second = if dates.of_arrivals { depart + minimum.flight_time } else { minimum.flight_time };
            let (Some(i), Some(j)) = (dates.departures.place(depart), dates.second.place(second)) else { continue };
            let share = |place: f64, count: usize| place / (count - 1) as f64;
            let x = (share(i, rows) * (wide - 1) as f64) as usize;
            let y = ((1.0 - share(j, columns)) * (high - 1) as f64) as usize;
            canvas.write(x, y, char::from_digit(index as u32 + 1, 10).unwrap_or('+'));
        }
        let lines: Vec<String> =
            canvas.text().iter().map(|line| format!("  │{}", line.trim_end_matches('\u{2800}'))).collect();
        format!("{}\n  └{}", lines.join("\n"), "─".repeat(64))
    }
}

impl Noun for Grid {
    const NAME: &'static str = "Grid";
    const ABOUT: &'static str =
        "What every pair of dates between two bodies costs, on every branch, and where that is least.";

    fn show(&self) -> String {
        let mut text = self.head();
        let kept: Vec<String> = self.grid.sheets().iter().map(ToString::to_string).collect();
        if kept.len() > 1 {
            let _ = write!(text, "\n  revolutions and branches: {}", kept.join(", "));
        }
        let dv = self.dv_name();
        let _ = write!(text, "\n\n  minima of the {dv}\n");
        let mut table = Columns::titled(&[
            ">",
            "depart",
            "arrive",
            ">flight",
            "branch",
            ">C3, km²/s²",
            ">v-inf, km/s",
            ">Δv, km/s",
        ]);
        for (index, cell) in self.minima.iter().take(SHOWN).enumerate() {
            table.row(&[
                (index + 1).to_string(),
                date(cell.depart),
                date(cell.arrive),
                Quantity::time(cell.flight_time).show(),
                cell::branch(cell),
                format!("{:.3}", cell.c3 / 1e6),
                format!("{:.3}", cell.v_inf_arrive / 1e3),
                format!("{:.3}", cell.dv / 1e3),
            ]);
        }
        text.push_str(&table.text());
        if self.minima.len() > SHOWN {
            let _ = write!(text, "\n  and {} more", self.minima.len() - SHOWN);
        }
        let other = if self.grid.dates().of_arrivals { "arrival" } else { "flight time" };
        let _ = write!(
            text,
            "\n\n  {other} over departure; denser is cheaper, blank from twice the least {dv} on\n{}",
            self.sketch()
        );
        text
    }

    fn to_json(&self) -> Value {
        let dates = self.grid.dates();
        let (rows, columns) = self.grid.size();
        let departures: Vec<Value> =
            (0..rows).map(|i| Noun::to_json(&dates.begin.after(dates.departures.value(i as f64)))).collect();
        let second: Vec<f64> = (0..columns).map(|j| dates.second.value(j as f64)).collect();
        let mut document = json!({
            "departure_body": self.grid.from().name(), "arrival_body": self.grid.to().name(),
            "departures": departures,
            "branches": self.grid.sheets().iter().map(ToString::to_string).collect::<Vec<_>>(),
            "minima": self.minima.iter().map(cell::json).collect::<Vec<_>>(),
        });
        if let Value::Object(document) = &mut document {
            if dates.of_arrivals {
                let arrivals: Vec<Value> = second.iter().map(|at| Noun::to_json(&dates.begin.after(*at))).collect();
                document.insert("arrivals".to_owned(), json!(arrivals));
            } else {
                document.insert("flight_times".to_owned(), json!({ "value": second, "unit": "s" }));
            }
            for (name, measure, _, dimension) in MEASURES {
                if let Ok(field) = self.grid.field(measure, Choice::ANY) {
                    let finite = |value: &f64| value.is_finite().then_some(*value);
                    let values: Vec<Vec<Option<f64>>> =
                        field.chunks(columns).map(|row| row.iter().map(finite).collect()).collect();
                    let unit = Quantity::new(1.0, dimension).si_unit();
                    document.insert(name.to_owned(), json!({ "value": values, "unit": unit }));
                }
            }
        }
        document
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(Arc::ptr_eq(&self.grid, &other.grid) || *self.grid == *other.grid)
    }
}

/// All arcs of all cells as a CSV text, SI with the unit in each header. [RFC4180]
pub(super) fn csv(grid: &Grid) -> String {
    let (rows, columns) = grid.grid.size();
    let dates = grid.grid.dates();
    let has_arrival = grid.grid.has_arrival();
    let mut text = String::from(
        "depart,arrive,flight_time_s,revolutions,branch,way,c3_m2_s2,v_inf_depart_m_s,v_inf_arrive_m_s,dv_departure_m_s",
    );
    text.push_str(if has_arrival { ",dv_arrival_m_s,dv_m_s\n" } else { ",dv_m_s\n" });
    for i in 0..rows {
        let depart = dates.begin.after(dates.departures.value(i as f64));
        for j in 0..columns {
            for sheet in grid.grid.sheets() {
                for long in [false, true] {
                    let choice = cell::choice_of(*sheet, Some(long));
                    let figure = |measure: Measure| grid.grid.least(i, j, measure, choice).map(|(figure, _)| figure);
                    let Some(c3) = figure(Measure::C3) else { continue };
                    let second = dates.second.value(j as f64);
                    let arrive = if dates.of_arrivals { dates.begin.after(second) } else { depart.after(second) };
                    let _ = write!(
                        text,
                        "{},{},{},{},{},{},{c3}",
                        depart.show(),
                        arrive.show(),
                        arrive.seconds_since(depart),
                        sheet.revolutions,
                        cell::side(*sheet),
                        cell::way(long)
                    );
                    for measure in [
                        Measure::ExcessDepart,
                        Measure::ExcessArrive,
                        Measure::Departure,
                        Measure::Arrival,
                        Measure::Total,
                    ] {
                        if measure == Measure::Arrival && !has_arrival {
                            continue;
                        }
                        let _ = write!(text, ",{}", figure(measure).unwrap_or_default());
                    }
                    text.push('\n');
                }
            }
        }
    }
    text
}
