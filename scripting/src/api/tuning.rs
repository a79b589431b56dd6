//! `fine_tuning`, `dispersion`: what small changes and errors of a burn do to the arrival. The nouns `FineTuning`, `Dispersion`.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::arc::sensitivity::{self as engine, Arrival, BurnErrors, Flight};
use visviva_engine::arc::shoot::{self, ShootError};
use visviva_engine::burn::Burn;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;

use super::burn::{BURN, planned_on};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, ORBIT, TIME};
use super::noun::Noun;
use super::options::Options;
use super::table::Columns;
use super::value;

/// The table of fine tuning of a burn.
#[derive(Debug, Clone, PartialEq)]
pub struct FineTuning {
    target: String,
    matters: f64,
    found: engine::Tuning,
}

/// How the errors of a burn scatter an arrival.
#[derive(Debug, Clone, PartialEq)]
pub struct Scatter {
    target: String,
    found: engine::Dispersion,
}

impl Scatter {
    /// Covariance of B·T and B·R, m².
    pub(super) fn spread(&self) -> [[f64; 2]; 2] {
        [3, 4].map(|i| [3, 4].map(|j| self.found.covariance[(i, j)]))
    }
}

/// The columns of an arrival: name, dimension.
const COLUMNS: [&str; 5] = ["periapsis", "inclination", "time", "B·T", "B·R"];

fn numbers(arrival: &Arrival) -> [f64; 5] {
    [arrival.periapsis_radius, arrival.inclination, arrival.time, arrival.bt, arrival.br]
}

fn cells(arrival: &Arrival) -> Vec<String> {
    let [periapsis, inclination, time, bt, br] = numbers(arrival);
    let length = |metres: f64| Quantity::length(metres).show();
    vec![length(periapsis), value::degrees(inclination), Quantity::time(time).show(), length(bt), length(br)]
}

fn arrival_json(arrival: &Arrival) -> Value {
    let [periapsis, inclination, time, bt, br] = numbers(arrival);
    let of = |si: f64, unit: &str| json!({ "value": si, "unit": unit });
    json!({
        "periapsis": of(periapsis, "m"), "inclination": of(inclination, "rad"), "time": of(time, "s"),
        "b_t": of(bt, "m"), "b_r": of(br, "m"),
    })
}

/// An arrival as a map of quantities.
fn arrival_map(arrival: &Arrival) -> Dynamic {
    let [periapsis, inclination, time, bt, br] = numbers(arrival);
    let mut map = rhai::Map::new();
    map.insert("periapsis".into(), value::of(periapsis, Dimension::LENGTH));
    map.insert("inclination".into(), value::of(inclination, Dimension::ANGLE));
    map.insert("time".into(), value::of(time, Dimension::TIME));
    map.insert("b_t".into(), value::of(bt, Dimension::LENGTH));
    map.insert("b_r".into(), value::of(br, Dimension::LENGTH));
    map.into()
}

impl Noun for FineTuning {
    const NAME: &'static str = "FineTuning";
    const ABOUT: &'static str = "What 1 m/s along each axis of a burn, and one minute later, do to the arrival; and the smallest burn that still matters.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["change of the burn", ">periapsis", ">inclination", ">time", ">B·T", ">B·R"]);
        let [along, across, outward] = &self.found.per_speed;
        for (name, row) in [
            ("1 m/s along", along),
            ("1 m/s across", across),
            ("1 m/s outward", outward),
            ("1 min later", &self.found.per_minute),
        ] {
            let mut line = vec![name.to_owned()];
            line.extend(cells(row));
            table.row(&line);
        }
        format!(
            "fine tuning of the arrival at {}\n{}\nThe smallest burn that moves the aim by {}: {}.",
            self.target,
            table.text(),
            Quantity::length(self.matters).show(),
            Quantity::speed(self.found.smallest).show()
        )
    }

    fn to_json(&self) -> Value {
        let [along, across, outward] = &self.found.per_speed;
        json!({
            "target": self.target,
            "per_m_s": { "along": arrival_json(along), "across": arrival_json(across), "outward": arrival_json(outward) },
            "per_minute": arrival_json(&self.found.per_minute),
            "matters": { "value": self.matters, "unit": "m" },
            "smallest": { "value": self.found.smallest, "unit": "m/s" },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

impl Noun for Scatter {
    const NAME: &'static str = "Dispersion";
    const ABOUT: &'static str =
        "How the errors of a burn scatter the arrival: standard deviations, and the covariance of the aim.";

    fn show(&self) -> String {
        let mut table = Columns::titled(&["standard deviation", ">periapsis", ">inclination", ">time", ">B·T", ">B·R"]);
        let rows = [
            ("by the derivatives", Some(&self.found.deviation)),
            ("of the flights drawn", self.found.sampled.as_ref()),
        ];
        for (name, row) in rows {
            let Some(row) = row else { continue };
            let mut line = vec![name.to_owned()];
            line.extend(cells(row));
            table.row(&line);
        }
        format!("dispersion of the arrival at {}\n{}", self.target, table.text())
    }

    fn to_json(&self) -> Value {
        let rows: Vec<Vec<f64>> = (0..5).map(|i| (0..5).map(|j| self.found.covariance[(i, j)]).collect()).collect();
        json!({
            "target": self.target,
            "deviation": arrival_json(&self.found.deviation),
            "sampled": self.found.sampled.as_ref().map(arrival_json),
            "covariance": { "of": COLUMNS, "unit": "SI", "rows": rows },
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// What may be said of the flight besides burn and target.
macro_rules! flight_keys {
    ($($more:expr),* $(,)?) => {
        &[
            Parameter::optional("orbit", ORBIT, "before the burn; the one that it was planned on when left out"),
            Parameter::optional("expected", EPOCH, "about when the target is met; found by coasting when left out"),
            $($more),*
        ]
    };
}

const TUNING_OPTIONS: &[Parameter] = flight_keys![Parameter::optional(
    "matters",
    LENGTH,
    "the change of the aim that still matters; 10 km when left out"
)];

const DISPERSION_OPTIONS: &[Parameter] = flight_keys![
    Parameter::optional(
        "size",
        Kind::Number,
        "standard deviation of the burn's size, as a share of it; 0 when left out"
    ),
    Parameter::optional(
        "direction",
        ANGLE,
        "standard deviation of its direction about each of two axes; 0 when left out"
    ),
    Parameter::optional("time", TIME, "standard deviation of its time; 0 when left out"),
    Parameter::optional("sample", Kind::Whole, "how many flights to draw besides, as a check; none when left out"),
    Parameter::optional("seed", Kind::Whole, "of the draws; 1 when left out"),
];

/// What a shot or a coast that failed says, and what to write instead.
pub(super) fn no_flight(error: &ShootError) -> Fault {
    match error {
        ShootError::Interrupted => super::search::interrupted(),
        ShootError::NotReached { body } => Fault::new(error.to_string())
            .help(format!("say about when {body} is met: #{{ expected: w.arrive }}, or re-aim the burn first")),
        _ => Fault::new(error.to_string()),
    }
}

/// Reads burn, orbit and target, and runs `then` with the flight.
fn with_flight<T>(
    given: &Given,
    then: impl FnOnce(&Flight<'_>, &Options<'_>, &Watch<'_>) -> Result<T, Fault>,
) -> Result<T, Fault> {
    let (burn, target, options) = (given.noun::<Burn>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    let orbit = planned_on(&burn, &options, "#{ orbit: v.orbit }")?;
    let stop = || !given.run.ceiling.count(1);
    let watch = Watch::new(&stop);
    let dv = burn.dv_at(orbit.state()).map_err(|error| super::refusal::no_burn(&error))?;
    let after = orbit.after_impulse(dv).map_err(|error| super::refusal::no_orbit(&error))?;
    let expected = match options.epoch("expected")? {
        Some(epoch) => epoch,
        None => shoot::expected(&after, &target, None, &watch).map_err(|error| no_flight(&error).at(1))?,
    };
    let flight = Flight { orbit: &orbit, dv, target: &target, expected, leaving: None };
    then(&flight, &options, &watch)
}

fn fine_tuning(given: &Given) -> Answer {
    with_flight(given, |flight, options, watch| {
        let matters = options.si("matters")?.unwrap_or(10e3);
        if !(matters > 0.0) {
            return Err(options.fault("matters", "a change that matters is more than nothing"));
        }
        let found = engine::fine_tuning(flight, matters, watch).map_err(|error| no_flight(&error))?;
        Ok(value::noun(FineTuning { target: flight.target.name().to_owned(), matters, found }))
    })
}

fn dispersion(given: &Given) -> Answer {
    with_flight(given, |flight, options, watch| {
        let errors = BurnErrors {
            size: options.number("size")?.unwrap_or(0.0),
            direction: options.si("direction")?.unwrap_or(0.0),
            time: options.si("time")?.unwrap_or(0.0),
        };
        for (key, error) in [("size", errors.size), ("direction", errors.direction), ("time", errors.time)] {
            if !(error >= 0.0) {
                return Err(options.fault(key, format!("a standard deviation is zero or more, not {error}")));
            }
        }
        let sample = options.whole("sample")?.unwrap_or(0);
        let seed = options.whole("seed")?.unwrap_or(1);
        if !(0..=100_000).contains(&sample) || sample == 1 {
            return Err(options.fault("sample", "a sample has 2 to 100000 flights, or none"));
        }
        let found = engine::dispersion(flight, &errors, sample as usize, seed.unsigned_abs(), watch)
            .map_err(|error| no_flight(&error))?;
        Ok(value::noun(Scatter { target: flight.target.name().to_owned(), found }))
    })
}

/// A planned departure as the examples have it.
macro_rules! departing {
    ($rest:literal) => {
        concat!(
            "let s = system(\"sol\"); let w = transfer(s.Earth, s.Mars, epoch(\"2033-04-20 TDB\"), epoch(\"2033-11-05 TDB\")); \
             let b = burn(#{ along: 0.m_s }); let o = w.orbit.after(30.days); let t = ",
            $rest
        )
    };
}

fn tuned(given: &Given) -> Result<FineTuning, Fault> {
    given.this::<FineTuning>()
}

fn scattered(given: &Given) -> Result<Scatter, Fault> {
    given.this::<Scatter>()
}

const SOURCE: Option<&str> = Some("differential correction, [Battin1999], section 11.7");

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "What 1 m/s along each axis of a burn and one minute later do to the arrival, and the smallest burn that still matters.",
        parameters: &[
            Parameter::new("burn", BURN, "a planned one, or any with the option `orbit`"),
            Parameter::new("target", BODY, "that the flight comes to"),
            Parameter::optional("options", Kind::Options(TUNING_OPTIONS), "the flight, and what matters"),
        ],
        returns: (Kind::Noun("FineTuning"), "flown in the model with small changes, both ways"),
        source: SOURCE,
        see_also: &["dispersion", "corrections", "Voyage.correct"],
        examples: &[Example::exact(
            departing!(
                "fine_tuning(b, s.Mars, #{ orbit: o, expected: w.arrive, matters: 100.km }); t.smallest < 0.1.m_s"
            ),
            "true",
        )],
        ..Definition::function("fine_tuning", fine_tuning)
    },
    Definition {
        summary: "How the errors of a burn (size, direction, time) scatter the arrival.",
        parameters: &[
            Parameter::new("burn", BURN, "a planned one, or any with the option `orbit`"),
            Parameter::new("target", BODY, "that the flight comes to"),
            Parameter::optional("options", Kind::Options(DISPERSION_OPTIONS), "the flight, and the errors"),
        ],
        returns: (Kind::Noun("Dispersion"), "by the derivatives, and by flights drawn where asked for"),
        source: SOURCE,
        see_also: &["fine_tuning", "corrections"],
        examples: &[Example::exact(
            departing!(
                "dispersion(burn(#{ along: 20.m_s }), s.Mars, #{ orbit: o, expected: w.arrive, size: 0.01 }); t.deviation.time > 0.s"
            ),
            "true",
        )],
        ..Definition::function("dispersion", dispersion)
    },
    Definition {
        summary: "The changes of the arrival by 1 m/s `along`, `across` and `outward`, and by one minute `later`: a map of maps.",
        returns: (Kind::Map, "each with `periapsis`, `inclination`, `time`, `b_t`, `b_r`"),
        see_also: &["fine_tuning"],
        examples: &[Example::exact(
            departing!("fine_tuning(b, s.Mars, #{ orbit: o, expected: w.arrive }); t.changes.along.b_t != 0.m"),
            "true",
        )],
        ..Definition::property("FineTuning", "changes", |given| {
            let found = tuned(given)?.found;
            let mut map = rhai::Map::new();
            for (name, row) in ["along", "across", "outward"].iter().zip(&found.per_speed) {
                map.insert((*name).into(), arrival_map(row));
            }
            map.insert("later".into(), arrival_map(&found.per_minute));
            Ok(map.into())
        })
    },
    Definition {
        summary: "The smallest burn that moves the aim by what matters, in the direction that moves it most.",
        returns: (super::kind::SPEED, ""),
        see_also: &["fine_tuning"],
        examples: &[Example::exact(
            departing!("fine_tuning(b, s.Mars, #{ orbit: o, expected: w.arrive }); t.smallest > 0.m_s"),
            "true",
        )],
        ..Definition::property("FineTuning", "smallest", |given| {
            Ok(value::of(tuned(given)?.found.smallest, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Standard deviations of the arrival: a map.",
        returns: (Kind::Map, "with `periapsis`, `inclination`, `time`, `b_t`, `b_r`"),
        see_also: &["dispersion"],
        examples: &[Example::exact(
            departing!(
                "dispersion(burn(#{ along: 20.m_s }), s.Mars, #{ orbit: o, expected: w.arrive, size: 0.01 }); t.deviation.b_t >= 0.m"
            ),
            "true",
        )],
        ..Definition::property("Dispersion", "deviation", |given| Ok(arrival_map(&scattered(given)?.found.deviation)))
    },
    Definition {
        summary: "The same of the flights that were drawn; nothing where none were.",
        returns: (Kind::Anything, "a map as `deviation`, or `()`"),
        see_also: &["dispersion"],
        examples: &[Example::exact(
            departing!(
                "dispersion(burn(#{ along: 20.m_s }), s.Mars, #{ orbit: o, expected: w.arrive, size: 0.01 }); t.sampled"
            ),
            "()",
        )],
        ..Definition::property("Dispersion", "sampled", |given| {
            Ok(scattered(given)?.found.sampled.as_ref().map_or(Dynamic::UNIT, arrival_map))
        })
    },
];
