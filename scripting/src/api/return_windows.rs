//! `return_windows`: home from a moon, at the hour of its month that helps. The noun `ReturnWindow`.

use std::fmt::Write as _;

use rhai::{Array, Dynamic};
use serde_json::{Value, json};
use visviva_engine::arc::{self, ReturnOptions};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;

use super::assist::parking;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, EPOCH, Kind, LENGTH, ORBIT, SPEED, VECTOR};
use super::noun::Noun;
use super::search::interrupted;
use super::table::{Columns, date};
use super::value;
use super::vector::Vector;
use super::windows::{pair, unplanned};

/// An escape from a moon, bound for home.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnWindow {
    pub(super) found: arc::ReturnWindow,
}

/// Rows of the month that a table shows.
const SHOWN: usize = 12;

impl Noun for ReturnWindow {
    const NAME: &'static str = "ReturnWindow";
    const ABOUT: &'static str =
        "An escape from a moon, bound for a sibling of its planet, with the month of the moon around it.";

    fn show(&self) -> String {
        let window = &self.found;
        let speed = |si: f64| Quantity::speed(si).show();
        let mut text = format!("return window from {}", window.parking.body().name());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        row("depart", date(window.epoch));
        row(
            "arrive",
            format!(
                "{}, after {}",
                date(window.arrive),
                Quantity::time(window.arrive.seconds_since(window.epoch)).show()
            ),
        );
        row("v-infinity, moon", speed(window.v_infinity_moon.norm()));
        row("v-infinity, planet", speed(window.v_infinity.norm()));
        row("v-infinity, home", speed(window.v_infinity_home.norm()));
        row("altitude of the burn", Quantity::length(window.parking.altitude()).show());
        let flown = match &window.flown {
            Ok(figures) => format!(
                "estimate {}, periapsis missed by {}",
                speed(window.estimate),
                Quantity::length(figures.periapsis_miss).show()
            ),
            Err(why) => format!("not flown: {why}"),
        };
        row("Δv", format!("{} ({flown})", speed(window.dv())));
        if let (Some(best), Some(worst), Some(ratio)) =
            (window.month.best(), window.month.worst(), window.month.ratio())
        {
            row("best of the month", format!("{} on {}", speed(best.1), date(best.0)));
            row("worst of the month", format!("{} on {}, {ratio:.1} times as much", speed(worst.1), date(worst.0)));
        }
        let mut columns = Columns::titled(&["departure", ">Δv, km/s"]);
        let every = (window.month.rows.len() / SHOWN).max(1);
        for (epoch, dv) in window.month.rows.iter().step_by(every) {
            columns.row(&[date(*epoch), format!("{:.3}", dv / 1e3)]);
        }
        let _ = write!(text, "\n{}", columns.text());
        text
    }

    fn to_json(&self) -> Value {
        let window = &self.found;
        let speed = |si: f64| json!({ "value": si, "unit": "m/s" });
        let rows: Vec<Value> = window
            .month
            .rows
            .iter()
            .map(|(epoch, dv)| json!({ "epoch": Noun::to_json(epoch), "dv": speed(*dv) }))
            .collect();
        json!({
            "moon": window.parking.body().name(), "epoch": Noun::to_json(&window.epoch), "arrive": Noun::to_json(&window.arrive),
            "parking": window.parking.to_json(), "burn": window.burn.to_json(), "estimate": speed(window.estimate),
            "v_inf_moon": speed(window.v_infinity_moon.norm()), "v_inf": speed(window.v_infinity.norm()),
            "v_inf_home": speed(window.v_infinity_home.norm()), "month": rows,
            "not_flown": window.flown.as_ref().err(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const OPTIONS: &[Parameter] = &[
    Parameter::new("between", Kind::List, "[first, last] epoch of the escape"),
    Parameter::new(
        "parking",
        Kind::Either(&[LENGTH, ORBIT]),
        "about the moon: altitude of a circle in the plane that suits best, or an orbit",
    ),
    Parameter::optional(
        "arrival_altitude",
        LENGTH,
        "of the periapsis at home; the top of its air or a hundredth of its radius when left out",
    ),
    Parameter::optional(
        "arrival_weight",
        Kind::Number,
        "how much the excess speed at home counts beside the burn; 0 when left out",
    ),
    Parameter::optional("flight_time", Kind::List, "[least, most]; 0.4 to 2.2 of Hohmann's when left out"),
    Parameter::optional("most", Kind::Whole, "the most windows given; 8 when left out"),
];

fn search(given: &Given) -> Answer {
    let (moon, home, options) = (given.noun::<Body>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    let Some(planet) = moon.parent().filter(|planet| planet.parent().is_some()) else {
        return Err(Fault::new(format!("`{}` is no moon: it does not go round a planet", moon.name()))
            .help("`windows` finds ways between planets")
            .at(0));
    };
    if home.parent() != planet.parent() {
        return Err(Fault::new(format!(
            "`{}` is no sibling of {}, which {} goes round",
            home.name(),
            planet.name(),
            moon.name()
        ))
        .help("`windows` finds ways between any two bodies")
        .at(1));
    }
    let epoch = |value: &Dynamic| value.read_lock::<Epoch>().map(|epoch| *epoch);
    let time =
        |value: &Dynamic| value::scalar(value).filter(|time| time.dimension == Dimension::TIME).map(|time| time.value);
    let (Some(between), Some(parking)) = (pair(&options, "between", "epochs", epoch)?, parking(&options)?) else {
        return Err(Fault::new("`return_windows` needs `between` and `parking`").at(2));
    };
    let weight = options.number("arrival_weight")?.unwrap_or(0.0);
    if !(weight >= 0.0 && weight.is_finite()) {
        return Err(options.fault("arrival_weight", format!("a weight of {weight} is none: write 0 or more")));
    }
    let most = match options.whole("most")?.map_or(Ok(8), usize::try_from) {
        Ok(most) if most > 0 => most,
        _ => return Err(options.fault("most", "no window would be given: write 1 or more")),
    };
    let own = home.air().map_or(0.01 * home.radius(), visviva_engine::system::Air::top);
    let wanted = ReturnOptions {
        between,
        flight_time: pair(&options, "flight_time", "times", time)?,
        parking,
        arrival_altitude: options.si("arrival_altitude")?.unwrap_or(own),
        arrival_weight: weight,
        most,
    };
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let found = arc::return_windows(&moon, &home, &wanted, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    let list = found.map_err(|error| unplanned(&error))?;
    Ok(Dynamic::from_array(list.into_iter().map(|found| value::noun(ReturnWindow { found })).collect()))
}

fn this(given: &Given) -> Result<arc::ReturnWindow, Fault> {
    Ok(given.this::<ReturnWindow>()?.found)
}

/// A row of the month as a map of its epoch and burn.
fn row(row: Option<(Epoch, f64)>) -> Answer {
    let (epoch, dv) = row.ok_or_else(|| Fault::new("no hour of this month leads home"))?;
    let mut map = rhai::Map::new();
    map.insert("epoch".into(), value::noun(epoch));
    map.insert("dv".into(), value::of(dv, Dimension::SPEED));
    Ok(Dynamic::from_map(map))
}

/// A return to read from.
macro_rules! from_maren {
    ($reading:literal) => {
        concat!(
            "let s = system(\"velm\"); let w = return_windows(s.Maren, s.Veyra, #{ between: [epoch(\"2144-07-03 TDB\"), epoch(\"2144-07-08 TDB\")], ",
            "parking: 450.km, most: 1 })[0]; ",
            $reading
        )
    };
}

/// The definitions of return windows.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The cheapest escapes from a moon to a sibling of its planet in a span, best first, each with its burn, flown.",
        parameters: &[
            Parameter::new("moon", BODY, "that is left"),
            Parameter::new("home", BODY, "a sibling of the moon's planet"),
            Parameter::new("search", Kind::Options(OPTIONS), "the span, the orbit left, and what counts"),
        ],
        returns: (Kind::List, "of return windows: the first is the best of the span"),
        source: Some("[Battin1999], section 6.8 (velocity from place and asymptote); the search is plain"),
        see_also: &["ReturnWindow", "windows", "departure", "meet"],
        examples: &[Example::close(from_maren!("w.burn.dv"), "2.5.km_s", "0.1.km_s")],
        ..Definition::function("return_windows", search)
    },
    Definition {
        summary: "When the moon is left: the burn.",
        returns: (EPOCH, ""),
        see_also: &["ReturnWindow.burn", "ReturnWindow.arrive"],
        examples: &[Example::close(from_maren!("w.depart - w.burn.epoch"), "0.s", "1.ms")],
        ..Definition::property("ReturnWindow", "depart", |given| Ok(value::noun(this(given)?.epoch)))
    },
    Definition {
        summary: "When home is reached, at periapsis.",
        returns: (EPOCH, ""),
        see_also: &["ReturnWindow.depart"],
        examples: &[Example::exact(from_maren!("w.arrive > w.depart + 100.days"), "true")],
        ..Definition::property("ReturnWindow", "arrive", |given| Ok(value::noun(this(given)?.arrive)))
    },
    Definition {
        summary: "The orbit about the moon that is left.",
        returns: (ORBIT, "at the burn"),
        see_also: &["ReturnWindow.burn"],
        examples: &[Example::close(from_maren!("w.parking.altitude"), "450.km", "1.m")],
        ..Definition::property("ReturnWindow", "parking", |given| Ok(value::noun(this(given)?.parking)))
    },
    Definition {
        summary: "The escape burn, as the model flies it where it was met there.",
        returns: (Kind::Noun("Burn"), "planned on `parking`"),
        see_also: &["ReturnWindow.estimate", "Voyage.burn"],
        examples: &[Example::close(from_maren!("w.burn.dv - w.estimate"), "0.m_s", "200.m_s")],
        ..Definition::property("ReturnWindow", "burn", |given| Ok(value::noun(this(given)?.burn)))
    },
    Definition {
        summary: "The size of the burn from centre to centre.",
        returns: (SPEED, ""),
        see_also: &["ReturnWindow.burn"],
        examples: &[Example::close(from_maren!("w.estimate"), "2.5.km_s", "0.2.km_s")],
        ..Definition::property("ReturnWindow", "estimate", |given| {
            Ok(value::of(this(given)?.estimate, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Whether the burn leads home in the model.",
        returns: (Kind::Flag, ""),
        see_also: &["ReturnWindow.burn"],
        examples: &[Example::exact(from_maren!("w.flown"), "true")],
        ..Definition::property("ReturnWindow", "flown", |given| Ok(Dynamic::from_bool(this(given)?.flown.is_ok())))
    },
    Definition {
        summary: "The excess velocity at the moon.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["ReturnWindow.v_inf"],
        examples: &[Example::close(from_maren!("w.v_inf_moon.norm"), "3.5.km_s", "0.2.km_s")],
        ..Definition::property("ReturnWindow", "v_inf_moon", |given| {
            Ok(Vector::new(this(given)?.v_infinity_moon, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The excess velocity at the planet.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["ReturnWindow.v_inf_moon", "ReturnWindow.v_inf_home"],
        examples: &[Example::close(from_maren!("w.v_inf.norm"), "3.1.km_s", "0.2.km_s")],
        ..Definition::property("ReturnWindow", "v_inf", |given| {
            Ok(Vector::new(this(given)?.v_infinity, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The excess velocity at home.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["ReturnWindow.v_inf"],
        examples: &[Example::exact(from_maren!("w.v_inf_home.norm > 2.km_s"), "true")],
        ..Definition::property("ReturnWindow", "v_inf_home", |given| {
            Ok(Vector::new(this(given)?.v_infinity_home, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "What leaving costs through one month of the moon, the arrival chosen anew each time.",
        returns: (Kind::List, "of maps with epoch and dv"),
        see_also: &["ReturnWindow.best", "ReturnWindow.worst"],
        examples: &[Example::exact(from_maren!("w.month.len > 24"), "true")],
        ..Definition::property("ReturnWindow", "month", |given| {
            let rows: Result<Array, Fault> =
                this(given)?.month.rows.into_iter().map(|found| row(Some(found))).collect();
            Ok(Dynamic::from_array(rows?))
        })
    },
    Definition {
        summary: "The cheapest hour of the month.",
        returns: (Kind::Map, "epoch, dv"),
        see_also: &["ReturnWindow.worst"],
        examples: &[Example::close(from_maren!("w.best.dv"), "2.5.km_s", "0.2.km_s")],
        ..Definition::property("ReturnWindow", "best", |given| row(this(given)?.month.best()))
    },
    Definition {
        summary: "The dearest hour of the month.",
        returns: (Kind::Map, "epoch, dv"),
        see_also: &["ReturnWindow.best"],
        examples: &[Example::exact(from_maren!("w.worst.dv > 2 * w.best.dv"), "true")],
        ..Definition::property("ReturnWindow", "worst", |given| row(this(given)?.month.worst()))
    },
];
