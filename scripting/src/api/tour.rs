//! `tour`: from body to body by way of others that bend the path.

use rhai::Dynamic;
use visviva_engine::arc::tour::{self, Through, TourError, TourOptions, TourProgress, TourStage};
use visviva_engine::arc::{ArrivalOrbit, PlanError};
use visviva_engine::numerics::global::Stop;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, EPOCH, Kind, LENGTH, SPEED};
use super::options::Options;
use super::search::interrupted;
use super::value;
use crate::run_state::Record;

const ARRIVAL: &[Parameter] = &[
    Parameter::optional("altitude", LENGTH, "of a circle"),
    Parameter::optional("periapsis_altitude", LENGTH, "of an ellipse"),
    Parameter::optional("apoapsis_altitude", LENGTH, "of an ellipse"),
];

const ANY_OF: &[Parameter] = &[
    Parameter::new("any_of", Kind::List, "bodies to choose from, each as often as it helps"),
    Parameter::optional("at_most", Kind::Whole, "passes, 3 when left out"),
];

const OPTIONS: &[Parameter] = &[
    Parameter::new("from", BODY, "that is left"),
    Parameter::new(
        "through",
        Kind::Either(&[Kind::List, Kind::Options(ANY_OF)]),
        "bodies in the order of their passes, or #{ any_of: [bodies], at_most: 3 }: then the sequence is searched too",
    ),
    Parameter::new("to", BODY, "that is reached; all bodies circle the same one"),
    Parameter::new("between", Kind::List, "[first, last] epoch of departure"),
    Parameter::new("parking", LENGTH, "altitude of the circle that is left, in the plane that suits best"),
    Parameter::optional(
        "arrival",
        Kind::Either(&[LENGTH, Kind::Options(ARRIVAL)]),
        "altitude of a circle, or #{ periapsis_altitude, apoapsis_altitude }: the orbit burnt into; a pass when left out",
    ),
    Parameter::optional(
        "flight_times",
        Kind::List,
        "of each leg [least, most], for a given sequence; a tenth to one and a half of the period of the ellipse between both orbits when \
         left out, up to three turns of a body that comes twice in a row",
    ),
    Parameter::optional("arrive_by", EPOCH, "latest arrival"),
    Parameter::optional(
        "least_altitude",
        LENGTH,
        "of all passes, 300 km when left out; never in the air or within a ring",
    ),
    Parameter::optional("altitudes", Kind::Map, "of single bodies: #{ Venus: [300.km, 20_000.km] }"),
    Parameter::optional(
        "deep_space",
        Kind::Flag,
        "burns between the bodies and unpowered passes; else burns at the passes only",
    ),
    Parameter::optional("revolutions", Kind::Whole, "most whole turns of an arc between two bodies, 0 when left out"),
    Parameter::optional("most_v_inf", SPEED, "greatest excess speed at departure"),
    Parameter::optional("most_dv", SPEED, "most Δv in all"),
    Parameter::optional("seed", Kind::Whole, "of the random numbers, 1 when left out: the same seed, the same tour"),
    Parameter::optional("evaluations", Kind::Whole, "of the full search of one sequence, 60 000 when left out"),
    Parameter::optional(
        "screened",
        Kind::Whole,
        "sequences that get a short search, the best by energy, 24 when left out",
    ),
    Parameter::optional(
        "searched",
        Kind::Whole,
        "sequences that get a full search, the best of those, 3 when left out",
    ),
];

fn bodies(options: &Options, key: &str, list: &[Dynamic]) -> Result<Vec<Body>, Fault> {
    let body = |item: &Dynamic| match item.read_lock::<Body>() {
        Some(body) => Ok(body.clone()),
        None => Err(options.fault(key, format!("`tour`: `{key}` expects bodies, got {}", value::describe(item)))),
    };
    list.iter().map(body).collect()
}

fn through(options: &Options) -> Result<Through, Fault> {
    if let Some(list) =
        options.value("through").and_then(|said| said.read_lock::<rhai::Array>().map(|list| list.clone()))
    {
        return Ok(Through::Given(bodies(options, "through", &list)?));
    }
    let map = options.map("through")?.unwrap_or_default();
    super::options::check("through", 0, ANY_OF, &map)?;
    let list = map.get("any_of").and_then(|list| list.read_lock::<rhai::Array>().map(|list| list.clone()));
    let Some(list) = list.filter(|list| !list.is_empty()) else {
        return Err(options
            .fault("through", "`any_of` holds no body")
            .help("write through: #{ any_of: [a, b], at_most: 3 }"));
    };
    let at_most = map.get("at_most").and_then(value::whole).unwrap_or(3);
    // Ten passes are more than any tour has flown between planets before the end of its first year in a moon system.
    let Some(at_most) = usize::try_from(at_most).ok().filter(|count| (1..=10).contains(count)) else {
        return Err(options.fault("through", format!("`at_most` is {at_most}, and goes from 1 to 10")));
    };
    Ok(Through::AnyOf { bodies: bodies(options, "through", &list)?, at_most })
}

fn figure(item: &Dynamic, dimension: Dimension) -> Option<f64> {
    value::scalar(item).filter(|figure| figure.dimension == dimension).map(|figure| figure.value)
}

/// Two figures of one dimension from a list.
fn interval(item: &Dynamic, dimension: Dimension) -> Option<(f64, f64)> {
    let list = item.read_lock::<rhai::Array>()?;
    match list.as_slice() {
        [low, high] => Some((figure(low, dimension)?, figure(high, dimension)?)),
        _ => None,
    }
}

fn between(options: &Options) -> Result<(Epoch, Epoch), Fault> {
    let list = options.list("between")?.unwrap_or_default();
    let epoch = |item: &Dynamic| item.read_lock::<Epoch>().map(|epoch| *epoch);
    match list.as_slice() {
        [first, last] => epoch(first).zip(epoch(last)),
        _ => None,
    }
    .ok_or_else(|| options.fault("between", "`tour`: `between` expects a list of two epochs"))
}

/// The orbit arrived in: a circle by its altitude, or an ellipse.
fn arrival(options: &Options) -> Result<Option<ArrivalOrbit>, Fault> {
    let Some(said) = options.value("arrival") else { return Ok(None) };
    if let Some(altitude) = value::scalar(said) {
        return Ok(Some(ArrivalOrbit::Circular { altitude: altitude.value }));
    }
    let map = options.map("arrival")?.unwrap_or_default();
    super::options::check("arrival", 0, ARRIVAL, &map)?;
    let figure = |key: &str| map.get(key).and_then(|item| figure(item, Dimension::LENGTH));
    match (figure("altitude"), figure("periapsis_altitude"), figure("apoapsis_altitude")) {
        (Some(altitude), None, None) => Ok(Some(ArrivalOrbit::Circular { altitude })),
        (None, Some(periapsis_altitude), Some(apoapsis_altitude)) => {
            Ok(Some(ArrivalOrbit::Ellipse { periapsis_altitude, apoapsis_altitude }))
        }
        _ => Err(options
            .fault("arrival", "this does not say one orbit")
            .help("write arrival: 400.km, or arrival: #{ periapsis_altitude: 400.km, apoapsis_altitude: 30000.km }")),
    }
}

fn altitudes(options: &Options) -> Result<Vec<(String, f64, f64)>, Fault> {
    let map = options.map("altitudes")?.unwrap_or_default();
    let one = |(name, item): (&rhai::Identifier, &Dynamic)| match interval(item, Dimension::LENGTH) {
        Some((least, most)) => Ok((name.to_string(), least, most)),
        None => Err(options
            .fault(
                "altitudes",
                format!("`{name}` expects its least and greatest altitude, got {}", value::describe(item)),
            )
            .help("write altitudes: #{ Venus: [300.km, 20_000.km] }")),
    };
    map.iter().map(one).collect()
}

fn count(options: &Options, key: &str, usual: usize) -> Result<usize, Fault> {
    match options.whole(key)? {
        None => Ok(usual),
        Some(said) => usize::try_from(said)
            .ok()
            .filter(|count| *count > 0 || key == "revolutions")
            .filter(|count| *count <= 100_000_000)
            .ok_or_else(|| options.fault(key, format!("`{key}` is a count, got {said}"))),
    }
}

fn wanted(options: &Options) -> Result<TourOptions, Fault> {
    let flight_times = match options.list("flight_times")? {
        None => None,
        Some(list) => {
            let times: Option<Vec<(f64, f64)>> = list.iter().map(|item| interval(item, Dimension::TIME)).collect();
            let Some(times) = times else {
                return Err(options
                    .fault("flight_times", "this is no list of intervals of time")
                    .help("write flight_times: [[100.days, 200.days], [300.days, 500.days]]: one for each leg"));
            };
            Some(times)
        }
    };
    let plain = TourOptions::new(between(options)?, options.si("parking")?.unwrap_or_default());
    Ok(TourOptions {
        flight_times,
        arrive_by: options.epoch("arrive_by")?,
        arrival: arrival(options)?,
        least_altitude: options.si("least_altitude")?.unwrap_or(plain.least_altitude),
        altitudes: altitudes(options)?,
        deep_space: options.flag("deep_space")?.unwrap_or(false),
        revolutions: u32::try_from(count(options, "revolutions", 0)?.min(20)).unwrap_or(20),
        most_excess: options.si("most_v_inf")?,
        most_dv: options.si("most_dv")?,
        seed: options.whole("seed")?.map_or(1, i64::unsigned_abs),
        evaluations: count(options, "evaluations", 60_000)?,
        screened: count(options, "screened", plain.screened)?,
        searched: count(options, "searched", plain.searched)?,
        threads: std::thread::available_parallelism().map_or(1, std::num::NonZeroUsize::get),
        ..plain
    })
}

/// What a search refuses, with the key that is to blame.
fn untoured(error: &TourError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        TourError::Parents { .. } | TourError::NoSequence { .. } | TourError::TooManySequences { .. } => {
            fault.at_key(0, "through")
        }
        TourError::FlightTimeCount { .. } | TourError::Plan(PlanError::FlightTimes { .. }) => fault
            .help("write flight_times: [[100.days, 200.days], [300.days, 500.days]]: one for each leg")
            .at_key(0, "flight_times"),
        TourError::TooLate { .. } | TourError::Late { .. } => fault.at_key(0, "arrive_by"),
        TourError::TooLow { .. } => fault
            .help("allow a burn between the bodies with deep_space: true, other dates, or a lower pass where that is safe")
            .at_key(0, "through"),
        TourError::NotPassed { .. } | TourError::NoRoom { .. } | TourError::TooHigh { .. } => fault.at_key(0, "altitudes"),
        TourError::Energy { .. } | TourError::Bend { .. } => fault
            .help("pass more bodies before it, the same one twice among them, or leave faster: most_v_inf")
            .at_key(0, "through"),
        TourError::TooFast { .. } => fault.at_key(0, "most_v_inf"),
        TourError::TooMuch { .. } => fault.at_key(0, "most_dv"),
        TourError::Plan(PlanError::Span { .. }) => fault.help("write between: [first, last]").at_key(0, "between"),
        _ => fault,
    }
}

/// Where a search stands, in words.
fn standing(at: &TourProgress) -> String {
    let doing = match at.stage {
        TourStage::Screening => format!("screening {} sequences", at.sequences),
        TourStage::Searching => format!("searching {} in full", at.sequences),
    };
    let best = if at.best.is_finite() { format!(", best {}", Quantity::speed(at.best).show()) } else { String::new() };
    format!("{doing}: {} of {} evaluations{best}", at.evaluations, at.budget)
}

fn search(given: &Given) -> Answer {
    let options = given.options(0)?;
    let (Some(from), Some(to)) = (options.noun::<Body>("from")?, options.noun::<Body>("to")?) else {
        return Err(Fault::new("`tour` is missing its option `from` or `to`"));
    };
    let (through, wanted) = (through(&options)?, wanted(&options)?);
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let found =
        tour::tour(&from, &through, &to, &wanted, &Watch::new(&stopped), &mut |at| given.run.tell(&standing(at)));
    match found {
        Ok(tour) if stopped() || tour.stop == Stop::Interrupted => {
            // What was found is kept with the answers of the run, which ends here.
            given.run.add_record(Record { name: "best tour when stopped".to_owned(), value: value::noun(tour) });
            Err(interrupted())
        }
        Ok(tour) => Ok(value::noun(tour)),
        Err(_) if stopped() => Err(interrupted()),
        Err(error) => Err(untoured(&error)),
    }
}

/// The definition of the search; what can be read off a tour stands beside.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "The cheapest tour from body to body by way of others that bend the path: a given sequence, or the sequence searched too.",
    parameters: &[Parameter::new("task", Kind::Options(OPTIONS), "the bodies, the dates, the bounds")],
    returns: (
        Kind::Noun("Tour"),
        "matched to the hyperbolas of its passes and flown; what no sequence or date allows is an error",
    ),
    source: Some("models with burns at or between the passes: [Vinko2008]; sequences by energy: [StrangeLonguski2002]"),
    see_also: &["Tour", "windows", "flyby", "Voyage.correct"],
    examples: &[Example::exact(
        "let s = system(\"sol\"); tour(#{ from: s.Earth, through: [s.Venus], to: s.Mercury, between: [epoch(\"1973-09-15 TDB\"), \
         epoch(\"1973-12-15 TDB\")], parking: 185.km, flight_times: [[60.days, 130.days], [30.days, 90.days]], evaluations: 10_000 \
         }).sequence",
        "\"Earth – Venus – Mercury\"",
    )],
    ..Definition::function("tour", search)
}];
