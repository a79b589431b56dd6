//! Grids of dates against the launch opportunities: every row is a cell, on the lobe that its type names.

use visviva_engine::arc::porkchop::{Choice, GridOptions, Measure, Ruling, Second, porkchop};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::system::{EphemerisChoice, System};
use visviva_engine::time::Epoch;
use visviva_tests::{Table, read_csv};

const DAY: f64 = 86_400.0;

/// Every row of `opportunities.csv` in the middle of a grid of its own, over flight times and over arrivals.
pub(crate) fn table() -> Table {
    let source = "handbooks named in the rows, recomputed from the Earth's centre; bounds of the file's readme: 0.02 in C3 and \
                  0.01 km/s; 0.12 in C3 beside the published figure, which departs from the barycentre";
    let mut table = Table::new("trajectory/opportunities.csv, as cells of grids", source);
    let system = System::embedded("sol", EphemerisChoice::Default).expect("the embedded system");
    for row in read_csv("trajectory/opportunities.csv") {
        let id = row.text("id").to_owned();
        let date = |column: &str| {
            let days = row.number(column);
            Epoch::from_julian_date_tdb(days.floor(), days.fract()).expect("a date of this century")
        };
        let (depart, arrive) = (date("dep_jd"), date("arr_jd"));
        let body = |name: &str| system.body(name).expect("a body of the file's pairs");
        let (from, to) = (body("Earth"), body(row.text("pair").trim_start_matches("Earth-")));
        let flight = arrive.seconds_since(depart);
        let around = |at: Epoch| (at.after(-40.0 * DAY), at.after(40.0 * DAY));
        let long = row.text("type") == "II";
        for over_arrivals in [false, true] {
            let mut options = GridOptions::new(around(depart), 200e3);
            options.ruling = Some(Ruling::Counts(21, 21));
            options.second = Some(if over_arrivals {
                Second::Arrivals(around(arrive).0, around(arrive).1)
            } else {
                Second::FlightTimes(flight - 40.0 * DAY, flight + 40.0 * DAY)
            });
            let id = if over_arrivals { format!("{id} by arrival") } else { id.clone() };
            let grid = match porkchop(&from, &to, &options, &Watch::none()) {
                Ok(grid) => grid,
                Err(error) => {
                    table.failed(id, error);
                    continue;
                }
            };
            let middle = |measure: Measure| {
                let choice = Choice { long: Some(long), ..Choice::ANY };
                grid.least(10, 10, measure, choice).map(|(figure, _)| figure)
            };
            let (Some(c3), Some(excess)) = (middle(Measure::C3), middle(Measure::ExcessArrive)) else {
                table.failed(id, "no arc of its type in the middle of the grid");
                continue;
            };
            let mut compare = |name: &str, got: f64, column: &str, bound: f64, unit: &'static str| {
                if row.has(column) {
                    table.add(format!("{id} {name}"), (got - row.number(column)).abs(), bound, unit);
                }
            };
            compare("C3", c3 / 1e6, "C3_earth", 0.02, "km²/s²");
            compare("v-infinity", excess / 1e3, "vinf_earth", 0.01, "km/s");
            compare("C3 published", c3 / 1e6, "C3_published", 0.12, "km²/s²");
        }
    }
    table
}
