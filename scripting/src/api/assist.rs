//! `capture_by`: the pass of a moon that turns an arrival at its planet into an orbit. The noun `Assist`.

use std::fmt::Write as _;
use std::sync::Arc;

use serde_json::{Value, json};
use visviva_engine::arc::assist::{Departures, capture_by_departing};
use visviva_engine::arc::assist_departure::{AssistDeparture, AssistDepartureError, assist_departure};
use visviva_engine::arc::{self, AssistError, AssistOptions, AssistRank, Incoming, Parking, capture_by};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::time::Epoch;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, ORBIT, SPEED, VECTOR};
use super::noun::Noun;
use super::options::Options;
use super::search::interrupted;
use super::table::date;
use super::value;
use super::vector::Vector;
use super::windows::pair;

/// A pass that captures, and how the craft gets there.
#[derive(Debug, Clone, PartialEq)]
pub struct Assist {
    pub(super) found: arc::Assist,
    /// The least radius about the planet that the search allowed, m.
    pub(super) least_radius: f64,
    pub(super) departure: Option<Arc<AssistDeparture>>,
    /// The other passes of the search, best first.
    pub(super) others: Arc<Vec<arc::Assist>>,
}

impl Assist {
    /// The burn (m/s) at a periapsis radius (m) about the planet that leaves the energy of the orbit after the pass without the moon.
    pub(super) fn without(&self, radius: f64) -> f64 {
        self.found.burn_without(radius)
    }
}

impl Noun for Assist {
    const NAME: &'static str = "Assist";
    const ABOUT: &'static str = "A pass of a moon that leaves a craft in orbit about the moon's planet: what comes in, the pass, what is left, and why.";

    fn show(&self) -> String {
        let assist = &self.found;
        let (giant, moon) = (assist.before.body(), &assist.moon);
        let speed = |si: f64| Quantity::speed(si).show();
        let length = |si: f64| Quantity::length(si).show();
        let mut text = format!("capture at {} by a pass of {}", giant.name(), moon.name());
        let mut row = |name: &str, value: String| {
            let _ = write!(text, "\n  {name:<23}{value}");
        };
        if let Some(departure) = &self.departure {
            row("depart", date(departure.burn.plan.as_ref().map_or(assist.epoch, |plan| plan.epoch)));
            row("Δv, departure", format!("{} (estimate {})", speed(departure.burn.size()), speed(departure.estimate)));
        }
        row("pass", date(assist.epoch));
        row("v-infinity, planet", speed(assist.v_infinity.norm()));
        row("v-infinity, moon", speed(assist.flyby.v_in.norm()));
        row("altitude of the pass", length(assist.altitude()));
        row("turn", value::degrees(assist.flyby.turn_angle));
        row("change of velocity", speed(assist.dv_saved()));
        row("energy", format!("{:+.3} to {:+.3} km²/s²", assist.energy_before / 1e6, assist.energy_after / 1e6));
        let apoapsis = assist.after.apoapsis_radius().map_or("open".to_owned(), length);
        row("orbit afterwards", format!("{} by {apoapsis} radius", length(assist.after.periapsis_radius())));
        if let Some(period) = assist.after.period() {
            row("period", Quantity::time(period).show());
        }
        row("inclination", value::degrees(assist.elements.inclination));
        if assist.flyby.burn != 0.0 {
            row("burn at the moon", speed(assist.flyby.burn));
        }
        if let Some(burn) = &assist.giant_burn {
            let radius = length(burn.before.radius());
            row("burn at the planet", format!("{} at {radius} radius", speed(burn.dv)));
        }
        for (name, radius) in
            [("without, at its lowest", self.least_radius), ("without, at its moon", assist.before.radius())]
        {
            row(name, format!("{} at {} radius", speed(self.without(radius)), length(radius)));
        }
        row("why", self.why());
        text
    }

    fn to_json(&self) -> Value {
        let assist = &self.found;
        let q = |si: f64, unit: &str| json!({ "value": si, "unit": unit });
        json!({
            "giant": assist.before.body().name(), "moon": assist.moon.name(), "epoch": Noun::to_json(&assist.epoch),
            "v_inf": q(assist.v_infinity.norm(), "m/s"), "v_inf_moon": q(assist.flyby.v_in.norm(), "m/s"),
            "altitude": q(assist.altitude(), "m"), "turn": q(assist.flyby.turn_angle, "rad"),
            "dv": q(assist.dv_saved(), "m/s"), "burns": q(assist.burns(), "m/s"),
            "energy_before": q(assist.energy_before, "m²/s²"), "energy_after": q(assist.energy_after, "m²/s²"),
            "before": assist.before.to_json(), "after": assist.after.to_json(), "aim": assist.aim().to_json(),
            "inclination": q(assist.elements.inclination, "rad"),
            "saved": q(self.without(self.least_radius), "m/s"),
            "parking": self.departure.as_ref().map(|departure| departure.parking.to_json()),
            "burn": self.departure.as_ref().map(|departure| departure.burn.to_json()),
            "why": self.why(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

impl Assist {
    /// Why this pass captures, and why it is the one.
    pub(super) fn why(&self) -> String {
        let assist = &self.found;
        let moon = assist.moon.name();
        let greatest = assist.turn_at(assist.moon.radius());
        let mut text = format!(
            "{moon} turns {} by {:.2} deg of the {:.2} deg that a pass at its ground would",
            Quantity::speed(assist.flyby.v_in.norm()).show(),
            assist.flyby.turn_angle.to_degrees(),
            greatest.to_degrees()
        );
        match self.others.first() {
            Some(next) => {
                let _ = write!(
                    text,
                    "; of {} passes that capture it comes first, the next is that of {} with {:+.3} km²/s²",
                    self.others.len() + 1,
                    date(next.epoch),
                    next.energy_after / 1e6
                );
            }
            None => text.push_str("; it is the only pass of the span that captures"),
        }
        text
    }
}

const TARGET: &[Parameter] = &[
    Parameter::new("periapsis_radius", LENGTH, "of the orbit wanted about the planet, from its centre"),
    Parameter::new("apoapsis_radius", LENGTH, "of the orbit wanted about the planet, from its centre"),
];

const OPTIONS: &[Parameter] = &[
    Parameter::optional(
        "approach",
        ORBIT,
        "the hyperbola about the moon's planet; its asymptote is kept, its aim is found",
    ),
    Parameter::optional(
        "v_inf",
        VECTOR,
        "of speeds: the excess velocity at the planet, inertial, instead of an approach",
    ),
    Parameter::optional("leaving", BODY, "the sibling of the planet that the craft comes from, instead of an approach"),
    Parameter::optional(
        "depart",
        Kind::Either(&[EPOCH, Kind::List]),
        "with `leaving`: when it is left; or [first, last] and a `parking`: the day is found for which departure and capture cost least",
    ),
    Parameter::optional(
        "parking",
        Kind::Either(&[LENGTH, ORBIT]),
        "with `leaving`: altitude of the circle left, or an orbit; gives the departure burn",
    ),
    Parameter::optional(
        "between",
        Kind::List,
        "[first, last] epoch of the pass; about the approach, or 0.7 to 1.5 of Hohmann's time after the departure when left out",
    ),
    Parameter::optional(
        "least_altitude",
        LENGTH,
        "of the pass; the top of the moon's air or a hundredth of its radius when left out",
    ),
    Parameter::optional(
        "least_radius",
        LENGTH,
        "of the planet's periapsis, from its centre; its ring's outer edge, air or radius when left out",
    ),
    Parameter::optional(
        "greatest_apoapsis",
        LENGTH,
        "of the orbit afterwards, from the planet's centre; its sphere when left out",
    ),
    Parameter::optional("inclination", ANGLE, "of the orbit afterwards to the planet's equator; any when left out"),
    Parameter::optional(
        "greatest_burn",
        SPEED,
        "that may be spent at the periapsis about the moon or the planet where the pass alone does not capture; none when left out",
    ),
    Parameter::optional(
        "target",
        Kind::Options(TARGET),
        "rank by the Δv from the orbit afterwards into this one; by energy when left out",
    ),
];

fn epoch_of(value: &rhai::Dynamic) -> Option<Epoch> {
    value.read_lock::<Epoch>().map(|epoch| *epoch)
}

/// A parking orbit by its altitude, or as it is.
pub(super) fn parking(options: &Options) -> Result<Option<Parking>, Fault> {
    if let Some(altitude) = options.value("parking").and_then(value::scalar) {
        return Ok(Some(Parking::Altitude(altitude.value)));
    }
    Ok(options.noun::<Orbit>("parking")?.map(|orbit| Parking::Orbit(Box::new(orbit))))
}

/// What a search for a pass refuses, with what to do.
fn refused(error: &AssistError, moon: &Body) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        AssistError::NotItsMoon { giant, .. } => {
            fault.help(format!("capture at {giant} takes one of its own moons")).at(0)
        }
        AssistError::Span { .. } => fault.help("write between: [first, last]").at_key(1, "between"),
        AssistError::Unbound(short) => {
            let ways = match &short.second_moon {
                Some((second, _)) if short.second_moon_captures() => {
                    format!("pass {second} as well, or burn {:.0} m/s at a periapsis", short.periapsis_burn)
                }
                _ => format!("burn {:.0} m/s at a periapsis", short.periapsis_burn),
            };
            let radius = Quantity::length(short.periapsis_radius).show();
            fault.help(format!("{ways} of {radius} about {}; or arrive slower", short.giant)).at(0)
        }
        AssistError::NotMet { .. } => {
            fault.help(format!("a longer `between`, a month of {} or more", moon.name())).at_key(1, "between")
        }
        AssistError::Inclination { .. } => fault.at_key(1, "inclination"),
        _ => fault,
    }
}

fn departed(error: &AssistDepartureError) -> Fault {
    Fault::new(format!("the departure for this pass cannot be flown: {error}"))
}

/// The way in that the options tell.
enum Way {
    Excess(visviva_engine::vector::Vec3, Option<Epoch>),
    From(Body, Epoch),
    Within(Body, (Epoch, Epoch)),
}

fn way(options: &Options, giant: &Body) -> Result<Way, Fault> {
    let approach = options.noun::<Orbit>("approach")?;
    let v_inf = options.noun::<Vector>("v_inf")?;
    let leaving = options.noun::<Body>("leaving")?;
    match (approach, v_inf, leaving) {
        (Some(orbit), None, None) => {
            if orbit.body() != giant {
                let (about, giant) = (orbit.body().name(), giant.name());
                return Err(options
                    .fault("approach", format!("this approach is about {about}, and the moon's planet is {giant}")));
            }
            let incoming = orbit.incoming().ok_or_else(|| {
                options.fault("approach", "this orbit is bound: it has no asymptote, and needs no capture")
            })?;
            Ok(Way::Excess(incoming.v_infinity, Some(orbit.periapsis_epoch()?)))
        }
        (None, Some(v), None) if v.dimension == Dimension::SPEED => Ok(Way::Excess(v.components, None)),
        (None, Some(_), None) => {
            Err(options.fault("v_inf", "`v_inf` is a vector of speeds").help("write vec(3.km_s, 0.km_s, 0.km_s)"))
        }
        (None, None, Some(body)) => {
            if options.value("depart").is_some_and(rhai::Dynamic::is_array) {
                let Some(span) = pair(options, "depart", "epochs", epoch_of)? else {
                    return Err(options.fault("depart", "no epochs"));
                };
                return Ok(Way::Within(body, span));
            }
            let Some(depart) = options.epoch("depart")? else {
                return Err(Fault::new("`capture_by` needs `depart` where it has `leaving`")
                    .help("write depart: an epoch, such as that of a window")
                    .at(1));
            };
            Ok(Way::From(body, depart))
        }
        _ => Err(Fault::new("`capture_by` is told the way in by one of `approach`, `v_inf` and `leaving`")
            .help("write approach: v.orbit, or leaving: sys.Veyra and depart: w.depart")
            .at(1)),
    }
}

fn search(given: &Given) -> Answer {
    let (moon, options) = (given.noun::<Body>(0)?, given.options(1)?);
    let Some(giant) = moon.parent().filter(|giant| giant.parent().is_some()) else {
        return Err(Fault::new(format!("`{}` is no moon: it does not go round a planet", moon.name()))
            .help("give a moon of the planet arrived at")
            .at(0));
    };
    let way = way(&options, &giant)?;
    let month = moon.orbital_period().unwrap_or(0.0);
    let between = match (pair(&options, "between", "epochs", epoch_of)?, &way) {
        (Some(span), _) => span,
        (None, Way::Excess(_, Some(near))) => (near.after(-0.5 * month), near.after(0.5 * month)),
        (None, Way::Excess(_, None)) => {
            return Err(Fault::new("`capture_by` needs `between` where it has `v_inf`")
                .help("write between: [first, last], a month of the moon or more")
                .at(1));
        }
        (None, Way::From(body, depart)) => {
            let half = arc::half_ellipse_between(body, &giant)?;
            (depart.after(0.7 * half), depart.after(1.5 * half))
        }
        (None, Way::Within(body, (first, last))) => {
            let half = arc::half_ellipse_between(body, &giant)?;
            (first.after(0.7 * half), last.after(1.5 * half))
        }
    };
    let mut wanted = AssistOptions::new(between);
    wanted.least_altitude = options.si("least_altitude")?;
    wanted.least_radius = options.si("least_radius")?;
    wanted.greatest_apoapsis = options.si("greatest_apoapsis")?;
    wanted.inclination = options.si("inclination")?;
    wanted.greatest_burn = options.si("greatest_burn")?.unwrap_or(0.0);
    if wanted.greatest_burn < 0.0 {
        return Err(options.fault("greatest_burn", "a burn that may be spent is zero or more"));
    }
    if let Some(target) = options.map("target")? {
        super::options::check("target", 1, TARGET, &target)?;
        let figure = |key: &str| target.get(key).and_then(value::scalar).map_or(0.0, |figure| figure.value);
        wanted.rank = AssistRank::Target {
            periapsis_radius: figure("periapsis_radius"),
            apoapsis_radius: figure("apoapsis_radius"),
        };
    }
    let parking = parking(&options)?;
    let _frozen = given.run.freeze();
    let stopped = || given.run.stopped();
    let watch = Watch::new(&stopped);
    let incoming = match &way {
        Way::Excess(v, _) => Incoming::Excess(*v),
        Way::From(body, depart) => Incoming::From { body: body.clone(), depart: *depart },
        Way::Within(body, (first, _)) => Incoming::From { body: body.clone(), depart: *first },
    };
    let found = match &way {
        Way::Within(body, span) => {
            let Some(parking) = &parking else {
                return Err(Fault::new("`capture_by` needs `parking` where `depart` is a span")
                    .help("write parking: 180.km: its departure burn is part of what is made least")
                    .at_key(1, "depart"));
            };
            let departures = Departures { body: body.clone(), between: *span, parking: parking.clone() };
            capture_by_departing(&giant, &moon, &departures, &wanted, &watch)
                .map(|all| all.into_iter().map(|(_, assist)| assist).collect())
        }
        _ => capture_by(&giant, &moon, &incoming, &wanted, &watch),
    };
    if stopped() {
        return Err(interrupted());
    }
    let mut all = found.map_err(|error| refused(&error, &moon))?.into_iter();
    let Some(first) = all.next() else { return Err(Fault::new("no pass was found").at(0)) };
    let departure = match (&way, &parking) {
        (Way::From(body, _) | Way::Within(body, _), Some(parking)) => {
            let depart = first.depart.unwrap_or(between.0);
            Some(assist_departure(&first, body, depart, parking, &watch).map_err(|error| departed(&error))?)
        }
        _ => None,
    };
    let ring = giant.ring().map_or(giant.radius(), |ring| ring.outer);
    let least_radius = wanted.least_radius.unwrap_or(ring);
    Ok(value::noun(Assist {
        found: first,
        least_radius,
        departure: departure.map(Arc::new),
        others: Arc::new(all.collect()),
    }))
}

/// The search; the readings of an assist stand beside.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "The pass of a moon that turns an arrival at its planet into a bound orbit without propellant, the best of a span.",
    parameters: &[
        Parameter::new("moon", BODY, "that is passed"),
        Parameter::new("search", Kind::Options(OPTIONS), "the way in, bounds, and what counts"),
    ],
    returns: (
        Kind::Noun("Assist"),
        "with an aim for `correct`; where no pass captures, an error that tells the greatest turn and what else would do",
    ),
    source: Some("[Battin1999], sections 6.8 (velocity from place and asymptote) and 9.4 (turn of a pass)"),
    see_also: &["Assist", "flyby", "flyby_aim", "meet"],
    examples: &[Example::exact(
        "let s = system(\"velm\"); capture_by(s.Keld, #{ v_inf: vec(-2.79.km_s, 1.04.km_s, -0.3.km_s), \
         between: [epoch(\"2142-06-10 TDB\"), epoch(\"2142-07-05 TDB\")] }).after.eccentricity < 1",
        "true",
    )],
    ..Definition::function("capture_by", search)
}];
