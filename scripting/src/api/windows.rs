//! `windows`: all opportunities of a trip between two bodies. The noun `Window`.

use std::sync::{Arc, OnceLock};

use serde_json::{Value, json};
use visviva_engine::arc::{self, ArrivalOrbit, ArrivalPlane, Figures, Parking, PlanError, Rank, WindowOptions};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Quantity;
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;
use visviva_engine::vector::Vec3;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, Kind, LENGTH, ORBIT};
use super::noun::Noun;
use super::options::Options;
use super::search::interrupted;
use super::table::date;
use super::value;
use super::windows_table::kind;

/// An opportunity, and by what it was told better from worse. It is flown in the model when something is first asked of it that the
/// flight settles: a list of a hundred windows costs no hundred flights to make.
#[derive(Debug, Clone)]
pub struct Window {
    planned: Arc<arc::Window>,
    flown: Arc<OnceLock<arc::Window>>,
    pub(super) rank: Rank,
}

impl Window {
    /// An opportunity as a search or a budget found it.
    pub(super) fn new(planned: arc::Window, rank: Rank) -> Self {
        Self { planned: Arc::new(planned), flown: Arc::default(), rank }
    }

    /// As planned: its dates and its cost in the search's measure, which no flight changes.
    pub(super) fn planned(&self) -> &arc::Window {
        &self.planned
    }

    /// As flown in the model.
    pub(super) fn flown(&self) -> &arc::Window {
        self.flown.get_or_init(|| match self.planned.flown_in_model(&Watch::none()) {
            Ok(flown) => flown,
            Err(error) => {
                let mut window = (*self.planned).clone();
                window.why = format!("{}; the burn was not flown: {error}", window.why);
                window
            }
        })
    }

    /// What `.cheapest` compares: the search's own measure.
    pub(super) fn price(&self) -> f64 {
        self.planned.cost
    }
}

fn figures_json(figures: &Figures) -> Value {
    let speed = |si: Option<f64>| si.map(|si| json!({ "value": si, "unit": "m/s" }));
    json!({
        "dv": speed(Some(figures.dv)), "v_inf_depart": speed(figures.v_inf_depart), "v_inf_arrive": speed(figures.v_inf_arrive),
        "arrive": Noun::to_json(&figures.arrive),
        "periapsis_radius": { "value": figures.periapsis_radius, "unit": "m" },
    })
}

impl Noun for Window {
    const NAME: &'static str = "Window";
    const ABOUT: &'static str =
        "An opportunity of a trip between two bodies: its dates, burn, costs, and why it stands where it stands.";

    fn show(&self) -> String {
        use std::fmt::Write as _;
        let window = self.flown();
        let speed = |si: f64| Quantity::speed(si).show();
        let mut text = format!("window from {} to {}", window.from.name(), window.to.name());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<22}{value}");
        };
        row("depart", date(window.depart));
        row("arrive", format!("{}, after {}", date(window.arrive), Quantity::time(window.flight_time).show()));
        row("C3", format!("{:.3} km²/s²", window.c3 / 1e6));
        if let Some(excess) = window.v_inf_depart {
            row("v-infinity, departure", speed(excess.norm()));
        }
        if let Some(excess) = window.v_inf_arrive {
            row("v-infinity, arrival", speed(excess.norm()));
        }
        if let Some(declination) = window.declination {
            row("declination", value::degrees(declination));
        }
        if let Some(phase) = window.phase_angle {
            row("phase angle", value::degrees(phase));
        }
        let parking = &window.parking;
        row(
            "parking orbit",
            format!(
                "{} altitude, inclined {}",
                Quantity::length(parking.periapsis_altitude()).show(),
                parking.elements().map_or_else(|_| "?".to_owned(), |elements| value::degrees(elements.inclination)),
            ),
        );
        let flown = window.flown.map_or("not flown".to_owned(), |flown| {
            format!(
                "estimate {}, periapsis missed by {}",
                speed(window.estimate.dv),
                Quantity::length(flown.periapsis_miss).show()
            )
        });
        row("departure burn at", place(window));
        row("Δv, departure", format!("{} ({flown})", speed(window.dv_departure)));
        if let Some(change) = &window.plane_change {
            let when = change.burn.plan.as_ref().map_or_else(String::new, |plan| format!(" on {}", date(plan.epoch)));
            row("Δv, plane change", format!("{}{when}", speed(change.burn.size())));
        }
        if let Some(arrival) = window.dv_arrival {
            row("Δv, arrival", speed(arrival));
        }
        if window.dv_arrival.is_some() || window.plane_change.is_some() {
            row("Δv, all", speed(window.dv_total));
        }
        row("why", window.why.clone());
        text
    }

    fn to_json(&self) -> Value {
        let window = self.flown();
        let speed = |si: f64| json!({ "value": si, "unit": "m/s" });
        let angle = |si: f64| json!({ "value": si, "unit": "rad" });
        let velocity = |v: Vec3| json!({ "value": [v.x, v.y, v.z], "unit": "m/s", "frame": "inertial" });
        json!({
            "departure_body": window.from.name(), "arrival_body": window.to.name(),
            "depart": Noun::to_json(&window.depart), "arrive": Noun::to_json(&window.arrive),
            "flight_time": { "value": window.flight_time, "unit": "s" },
            "c3": { "value": window.c3, "unit": "m²/s²" },
            "v_inf_depart": window.v_inf_depart.map(|v| speed(v.norm())),
            "v_inf_arrive": window.v_inf_arrive.map(|v| speed(v.norm())),
            "v_inf_depart_vector": window.v_inf_depart.map(velocity), "v_inf_arrive_vector": window.v_inf_arrive.map(velocity),
            "revolutions": window.arc.family.revolutions, "type": kind(window),
            "plane_change": window.plane_change.as_ref().map(|change| json!({
                "burn": change.burn.to_json(), "angle": angle(change.angle), "tilt": angle(change.tilt),
            })),
            "dv_departure": speed(window.dv_departure), "dv_arrival": window.dv_arrival.map(speed), "dv": speed(window.dv_total),
            "declination": window.declination.map(angle), "phase_angle": window.phase_angle.map(angle),
            "burn": window.burn.to_json(), "estimate": figures_json(&window.estimate),
            "flown": window.flown.as_ref().map(figures_json), "why": window.why,
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self.rank == other.rank && self.planned == other.planned)
    }
}

/// Where on the parking orbit the departure burn is: height, latitude and right ascension about the body left.
fn place(window: &arc::Window) -> String {
    let state = window.parking.state();
    let equator = window.from.equator(window.depart);
    let along = equator.transpose() * state.position;
    let latitude = (along.z / along.norm()).clamp(-1.0, 1.0).asin();
    let ascension = state.position.y.atan2(state.position.x).rem_euclid(std::f64::consts::TAU);
    format!(
        "latitude {}, right ascension {}, moving at {}",
        value::degrees(latitude),
        value::degrees(ascension),
        Quantity::speed(state.velocity.norm()).show()
    )
}

pub(super) const ARRIVAL: &[Parameter] = &[
    Parameter::optional("altitude", LENGTH, "of a circle"),
    Parameter::optional("periapsis_altitude", LENGTH, "of an ellipse"),
    Parameter::optional("apoapsis_altitude", LENGTH, "of an ellipse"),
];

const OPTIONS: &[Parameter] = &[
    Parameter::new("between", Kind::List, "[first, last] epoch of departure"),
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
    Parameter::optional("flight_time", Kind::List, "[least, most]; 0.4 to 2.2 of Hohmann's when left out"),
    Parameter::optional(
        "plane",
        Kind::Text,
        "of the arrival: \"least inclined\" (when left out), \"retrograde\" or \"polar\"",
    ),
    Parameter::optional(
        "revolutions",
        Kind::Whole,
        "most whole ones on the way, both branches of each; 0 when left out",
    ),
    Parameter::optional(
        "broken_planes",
        Kind::Flag,
        "whether arcs that change their plane on the way are looked for; true when left out",
    ),
    Parameter::optional(
        "rank",
        Kind::Text,
        "what is made least: \"departure\", \"arrival\", \"total\" (Δv), \"c3\"; or \"time\", which sorts the windows of least Δv by their \
         flight time; total when an arrival orbit is given, else departure",
    ),
];

/// Two values of one kind from a list.
pub(super) fn pair<T>(
    options: &Options,
    key: &str,
    what: &str,
    read: impl Fn(&rhai::Dynamic) -> Option<T>,
) -> Result<Option<(T, T)>, Fault> {
    let Some(list) = options.list(key)? else { return Ok(None) };
    match (list.len(), list.first().and_then(&read), list.get(1).and_then(&read)) {
        (2, Some(first), Some(last)) => Ok(Some((first, last))),
        _ => Err(options.fault(key, format!("`{}`: `{key}` expects a list of two {what}", options.given.name))),
    }
}

/// The orbit arrived in: a circle by its altitude, or an ellipse.
pub(super) fn arrival(options: &Options) -> Result<Option<ArrivalOrbit>, Fault> {
    let Some(said) = options.value("arrival") else { return Ok(None) };
    if let Some(altitude) = value::scalar(said) {
        return Ok(Some(ArrivalOrbit::Circular { altitude: altitude.value }));
    }
    let map = options.map("arrival")?.unwrap_or_default();
    super::options::check("arrival", 2, ARRIVAL, &map)?;
    let figure = |key: &str| map.get(key).and_then(value::scalar).map(|figure| figure.value);
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

pub(super) fn one_of<T: Copy>(options: &Options, key: &str, known: &[(&str, T)]) -> Result<Option<T>, Fault> {
    let Some(said) = options.text(key)? else { return Ok(None) };
    if let Some((_, meant)) = known.iter().find(|(name, _)| *name == said.as_str()) {
        Ok(Some(*meant))
    } else {
        let names: Vec<String> = known.iter().map(|(name, _)| format!("\"{name}\"")).collect();
        Err(options.fault(key, format!("there is no {key} `{said}`")).help(format!("there are {}", names.join(", "))))
    }
}

/// What a planner refuses, with what to do.
pub(super) fn unplanned(error: &PlanError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        PlanError::Span { .. } => fault.help("write between: [first, last]").at_key(2, "between"),
        PlanError::FlightTimes { .. } => fault.help("write flight_time: [100.days, 400.days]").at_key(2, "flight_time"),
        PlanError::TooWide { .. } => fault.at_key(2, "between"),
        PlanError::Parking { .. } => fault.at_key(2, "parking"),
        PlanError::SameBody { .. } | PlanError::Unrelated { .. } => fault.at(1),
        _ => fault,
    }
}

/// Most whole revolutions of a search: each is a grid of its own, and years longer.
const MOST_REVOLUTIONS: u32 = 10;

fn search(given: &Given) -> Answer {
    let (from, to, options) = (given.noun::<Body>(0)?, given.noun::<Body>(1)?, given.options(2)?);
    let epoch = |value: &rhai::Dynamic| value.read_lock::<Epoch>().map(|epoch| *epoch);
    let time = |value: &rhai::Dynamic| {
        value::scalar(value)
            .filter(|time| time.dimension == visviva_engine::quantity::Dimension::TIME)
            .map(|time| time.value)
    };
    let Some(between) = pair(&options, "between", "epochs", epoch)? else {
        return Err(Fault::new("`windows` is missing its option `between`"));
    };
    let parking = match options.value("parking").and_then(value::scalar) {
        Some(altitude) => Parking::Altitude(altitude.value),
        None => match options.noun::<Orbit>("parking")? {
            Some(orbit) => Parking::Orbit(Box::new(orbit)),
            None => return Err(Fault::new("`windows` is missing its option `parking`")),
        },
    };
    let planes = [
        ("least inclined", ArrivalPlane::LeastInclined),
        ("retrograde", ArrivalPlane::Retrograde),
        ("polar", ArrivalPlane::Polar),
    ];
    let ranks = [
        ("departure", Rank::Departure),
        ("arrival", Rank::Arrival),
        ("total", Rank::Total),
        ("c3", Rank::C3),
        ("time", Rank::Time),
    ];
    let revolutions = options.whole("revolutions")?.unwrap_or(0);
    let Some(count) = u32::try_from(revolutions).ok().filter(|count| *count <= MOST_REVOLUTIONS) else {
        return Err(options
            .fault("revolutions", format!("revolutions are 0 to {MOST_REVOLUTIONS} in a search, not {revolutions}")));
    };
    let wanted = WindowOptions {
        between,
        flight_time: pair(&options, "flight_time", "times", time)?,
        parking,
        arrival: arrival(&options)?,
        plane: one_of(&options, "plane", &planes)?.unwrap_or_default(),
        rank: one_of(&options, "rank", &ranks)?,
        revolutions: count,
        broken_planes: options.flag("broken_planes")?.unwrap_or(true),
        shoot: false,
    };
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let found = arc::windows(&from, &to, &wanted, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    let found = found.map_err(|error| unplanned(&error))?;
    let note = found.list.is_empty().then(|| {
        let (first, last) = (date(between.0), date(between.1));
        let why = found.note.clone().unwrap_or_else(|| "nothing was left".to_owned());
        format!("from {} to {}, departing {first} to {last}: {why}", from.name(), to.name())
    });
    given.run.note_search(note);
    let rank = wanted.ranking();
    let list = found.list.into_iter().map(|found| value::noun(Window::new(found, rank))).collect();
    Ok(rhai::Dynamic::from_array(list))
}

/// The definitions of the search; the readings of a window stand beside.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "All opportunities of a trip between two bodies in a span of departures, best first, each with its burn, flown.",
    parameters: &[
        Parameter::new("a", BODY, "that is left"),
        Parameter::new("b", BODY, "that is reached, at any depth of the same system"),
        Parameter::new("search", Kind::Options(OPTIONS), "the span, the orbits at both ends, and what counts"),
    ],
    returns: (Kind::List, "of windows, for .cheapest, .soonest, .fastest and .filter"),
    source: Some("dates of least cost on the contours that [Sergeyevsky1983] shows"),
    see_also: &["Window", "list.cheapest", "transfer"],
    examples: &[Example::exact(
        "let s = system(\"sol\"); windows(s.Earth, s.Mars, #{ between: [epoch(\"2033-01-01 TDB\"), epoch(\"2033-12-31 TDB\")], \
         parking: 300.km, arrival: 400.km }).cheapest.depart < epoch(\"2033-06-01 TDB\")",
        "true",
    )],
    ..Definition::function("windows", search)
}];
