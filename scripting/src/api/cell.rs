//! The noun `Cell`: one pair of dates of a grid, and one arc between them.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::arc::lambert::Branch;
use visviva_engine::arc::porkchop::{Cell, Choice, Sheet};
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::{Definition, Example};
use super::fault::Fault;
use super::kind::{ANGLE, EPOCH, Kind, SPEED, TIME};
use super::noun::Noun;
use super::table::date;
use super::value;

pub(super) const CELL: Kind = Kind::Noun("Cell");

/// `single`, `left`, `right`.
pub(super) fn side(sheet: Sheet) -> &'static str {
    match sheet.branch {
        Branch::Single => "single",
        Branch::Left => "left",
        Branch::Right => "right",
    }
}

/// `short` or `long`.
pub(super) fn way(long: bool) -> &'static str {
    if long { "long" } else { "short" }
}

/// `long way`, `1 left, short way`.
pub(super) fn branch(cell: &Cell) -> String {
    let turns =
        if cell.sheet.revolutions == 0 && !cell.sheet.retrograde { String::new() } else { format!("{}, ", cell.sheet) };
    format!("{turns}{} way", way(cell.long))
}

/// The choice of one sheet.
pub(super) fn choice_of(sheet: Sheet, long: Option<bool>) -> Choice {
    Choice {
        revolutions: Some(sheet.revolutions),
        branch: Some(sheet.branch),
        retrograde: Some(sheet.retrograde),
        long,
    }
}

/// The data form.
pub(super) fn json(cell: &Cell) -> Value {
    let speed = |si: f64| json!({ "value": si, "unit": "m/s" });
    json!({
        "depart": Noun::to_json(&cell.depart), "arrive": Noun::to_json(&cell.arrive),
        "flight_time": { "value": cell.flight_time, "unit": "s" },
        "revolutions": cell.sheet.revolutions, "branch": side(cell.sheet), "way": way(cell.long),
        "retrograde": cell.sheet.retrograde, "angle": { "value": cell.angle, "unit": "rad" },
        "c3": { "value": cell.c3, "unit": "m²/s²" },
        "v_inf_depart": speed(cell.v_inf_depart), "v_inf_arrive": speed(cell.v_inf_arrive),
        "dv_departure": speed(cell.dv_departure), "dv_arrival": cell.dv_arrival.map(speed), "dv": speed(cell.dv),
    })
}

impl Noun for Cell {
    const NAME: &'static str = "Cell";
    const ABOUT: &'static str =
        "One pair of dates of a grid and one arc between them, with what it costs at both ends.";

    fn show(&self) -> String {
        let speed = |si: f64| Quantity::speed(si).show();
        let mut text = format!("from {} to {}", date(self.depart), date(self.arrive));
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<24}{value}");
        };
        row("flight time", Quantity::time(self.flight_time).show());
        row("branch", branch(self));
        row("angle swept", value::degrees(self.angle));
        row("C3", format!("{:.3} km²/s²", self.c3 / 1e6));
        row("v-infinity, departure", speed(self.v_inf_depart));
        row("v-infinity, arrival", speed(self.v_inf_arrive));
        row("Δv, departure", speed(self.dv_departure));
        if let Some(arrival) = self.dv_arrival {
            row("Δv, arrival", speed(arrival));
            row("Δv, both", speed(self.dv));
        }
        text
    }

    fn to_json(&self) -> Value {
        json(self)
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// A cell to read from.
macro_rules! cell_of_2033 {
    ($reading:literal) => {
        concat!(
            "let s = system(\"sol\"); porkchop(s.Earth, s.Mars, #{ between: [epoch(\"2033-03-01 TDB\"), epoch(\"2033-06-01 TDB\")], ",
            "flight_time: [150.days, 250.days], parking: 300.km, arrival: 400.km, count: 20 }).cheapest",
            $reading
        )
    };
}

/// A reading of a cell that is a quantity.
macro_rules! reading {
    ($name:literal, $summary:literal, $kind:expr, $about:literal, $dimension:expr, $field:expr, $example:literal, $result:literal, $within:literal) => {
        Definition {
            summary: $summary,
            returns: ($kind, $about),
            see_also: &["Grid.at", "Grid.minima"],
            examples: &[Example::close(cell_of_2033!($example), $result, $within)],
            ..Definition::property("Cell", $name, |given| {
                let read: fn(&Cell) -> f64 = $field;
                Ok(value::of(read(&given.this::<Cell>()?), $dimension))
            })
        }
    };
}

pub(super) const TABLE: &[Definition] =
    &[
        Definition {
            summary: "When the body left is left.",
            returns: (EPOCH, "centre to centre"),
            see_also: &["Cell.arrive", "Cell.flight_time"],
            examples: &[Example::close(cell_of_2033!(".depart - epoch(\"2033-04-15 TDB\")"), "0.days", "20.days")],
            ..Definition::property("Cell", "depart", |given| Ok(value::noun(given.this::<Cell>()?.depart)))
        },
        Definition {
            summary: "When the body reached is reached.",
            returns: (EPOCH, "centre to centre"),
            see_also: &["Cell.depart", "Cell.flight_time"],
            examples: &[Example::close(cell_of_2033!(".arrive - epoch(\"2033-11-01 TDB\")"), "0.days", "40.days")],
            ..Definition::property("Cell", "arrive", |given| Ok(value::noun(given.this::<Cell>()?.arrive)))
        },
        reading!(
            "flight_time",
            "From departure to arrival.",
            TIME,
            "between the centres",
            Dimension::TIME,
            |c| c.flight_time,
            ".flight_time",
            "200.days",
            "50.days"
        ),
        reading!(
            "angle",
            "Angle swept past the whole revolutions.",
            ANGLE,
            "from 0 to 360 degrees",
            Dimension::ANGLE,
            |c| c.angle,
            ".angle",
            "150.deg",
            "30.deg"
        ),
        reading!(
            "c3",
            "Twice the energy about the body left.",
            Kind::Of(Dimension::SPECIFIC_ENERGY),
            "the square of v-infinity",
            Dimension::SPECIFIC_ENERGY,
            |c| c.c3,
            ".c3",
            "9.km2_s2",
            "2.km2_s2"
        ),
        reading!(
            "v_inf_depart",
            "Excess speed on leaving.",
            SPEED,
            "about the body left",
            Dimension::SPEED,
            |c| c.v_inf_depart,
            ".v_inf_depart",
            "3.km_s",
            "0.4.km_s"
        ),
        reading!(
            "v_inf_arrive",
            "Excess speed on arriving.",
            SPEED,
            "about the body reached",
            Dimension::SPEED,
            |c| c.v_inf_arrive,
            ".v_inf_arrive",
            "3.6.km_s",
            "0.6.km_s"
        ),
        reading!(
            "dv_departure",
            "Δv of the departure burn.",
            SPEED,
            "from the parking orbit onto the hyperbola",
            Dimension::SPEED,
            |c| c.dv_departure,
            ".dv_departure",
            "3.6.km_s",
            "0.2.km_s"
        ),
        reading!(
            "dv",
            "Δv of departure and arrival together.",
            SPEED,
            "departure alone where no arrival orbit was asked for",
            Dimension::SPEED,
            |c| c.dv,
            ".dv",
            "6.km_s",
            "0.6.km_s"
        ),
        Definition {
            summary: "Δv of the arrival burn.",
            returns: (SPEED, "an error where no arrival orbit was asked for"),
            see_also: &["Cell.dv_departure", "Cell.dv"],
            examples: &[Example::close(cell_of_2033!(".dv_arrival"), "2.4.km_s", "0.5.km_s")],
            ..Definition::property("Cell", "dv_arrival", |given| match given.this::<Cell>()?.dv_arrival {
                Some(dv) => Ok(value::of(dv, Dimension::SPEED)),
                None => Err(Fault::new("this grid was made without an arrival orbit")
                    .help("give `porkchop` one: arrival: 400.km")),
            })
        },
        Definition {
            summary: "Whole revolutions of the arc.",
            returns: (Kind::Whole, "0 for a direct arc"),
            see_also: &["Cell.branch", "Cell.way"],
            examples: &[Example::exact(cell_of_2033!(".revolutions"), "0")],
            ..Definition::property("Cell", "revolutions", |given| {
                Ok(Dynamic::from_int(i64::from(given.this::<Cell>()?.sheet.revolutions)))
            })
        },
        Definition {
            summary: "Which of the two arcs with these revolutions.",
            returns: (Kind::Text, "\"single\" without a revolution, else \"left\" or \"right\" of the least-time arc"),
            see_also: &["Cell.revolutions", "lambert"],
            examples: &[Example::exact(cell_of_2033!(".branch"), "\"single\"")],
            ..Definition::property("Cell", "branch", |given| Ok(value::text(side(given.this::<Cell>()?.sheet))))
        },
        Definition {
            summary: "Which way round the arc goes, its whole revolutions apart.",
            returns: (Kind::Text, "\"short\" through less than 180°, \"long\" through more"),
            see_also: &["Cell.angle"],
            examples: &[Example::exact(cell_of_2033!(".way"), "\"short\"")],
            ..Definition::property("Cell", "way", |given| Ok(value::text(way(given.this::<Cell>()?.long))))
        },
    ];
