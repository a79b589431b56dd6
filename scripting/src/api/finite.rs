//! Burns with thrust: the noun `FiniteBurn`, its planner and the options of `Voyage.burn`.

use std::sync::Arc;

use serde_json::{Value, json};
use visviva_engine::burn::Burn;
use visviva_engine::burn::finite::{Law, Pass, Passes, Supply, estimate};
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::vehicle::Vehicle;
use visviva_engine::voyage::{Spread, Thrusting, VoyageError, plan_with_thrust, supply};

use super::burn::{BURN, planned_on};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::refused;
use super::kind::{ANGLE, EPOCH, Kind, MASS, ORBIT, SPEED, TIME};
use super::noun::Noun;
use super::options::Options;
use super::table::{Columns, date};
use super::value;
use super::vehicle::rows;

/// A burn planned with thrust.
#[derive(Clone, Debug)]
pub struct Planned {
    passes: Arc<Passes>,
    before: Orbit,
    label: String,
    radius: f64,
}

const FINITE: Kind = Kind::Noun("FiniteBurn");

const ATTITUDES: [(&str, Law); 3] =
    [("turning", Law::Turning), ("inertial", Law::Fixed), ("along velocity", Law::Along)];

const ATTITUDE: Parameter = Parameter::optional(
    "attitude",
    Kind::Text,
    "\"turning\" (at a solved rate, meets place and time; when left out), \"inertial\" (fixed), \"along velocity\"",
);
const PASSES: Parameter =
    Parameter::optional("passes", Kind::Whole, "over how many passes of the place; 1 when left out");
const LOSS: Parameter =
    Parameter::optional("greatest_loss", SPEED, "instead of `passes`: as few as keep the loss within this");
const THROTTLE: Parameter =
    Parameter::optional("throttle", Kind::Number, "share of the thrust, 0 to 1; 1 when left out");

/// The options of `Voyage.burn`.
pub(super) const FLOWN: &[Parameter] = &[
    Parameter::optional("finite", Kind::Flag, "true: flown with the vehicle's thrust; an impulse when left out"),
    ATTITUDE,
    PASSES,
    LOSS,
    THROTTLE,
];

const WANTED: &[Parameter] = &[
    Parameter::new("vehicle", Kind::Noun("Vehicle"), "whose thrust and masses count"),
    Parameter::optional(
        "orbit",
        ORBIT,
        "on which it is flown, for a burn without a plan: the impulse stands there and then",
    ),
    ATTITUDE,
    PASSES,
    LOSS,
    THROTTLE,
];

/// How a burn is flown, as its options say; none for an impulse.
pub(super) fn thrusting(options: &Options<'_>) -> Result<Option<Thrusting>, Fault> {
    let finite = options.flag("finite")?;
    let mut asked = None;
    for key in ["attitude", "passes", "greatest_loss", "throttle"] {
        if options.has(key) {
            asked.get_or_insert(key);
        }
    }
    if finite != Some(true) {
        return match asked {
            Some(key) => Err(options
                .fault(key, format!("`{key}` is of a burn with thrust"))
                .help("write finite: true beside it; an impulse has neither attitude nor length")),
            None => Ok(None),
        };
    }
    how(options).map(Some)
}

fn how(options: &Options<'_>) -> Result<Thrusting, Fault> {
    let mut how = Thrusting::default();
    if let Some(name) = options.text("attitude")? {
        let Some((_, law)) = ATTITUDES.iter().find(|(known, _)| *known == name.as_str()) else {
            return Err(options
                .fault("attitude", format!("there is no attitude `{name}`"))
                .help("there are \"turning\", \"inertial\" and \"along velocity\""));
        };
        how.law = *law;
    }
    if let Some(share) = options.number("throttle")? {
        how.throttle = share;
    }
    match (options.whole("passes")?, options.si("greatest_loss")?) {
        (Some(_), Some(_)) => {
            return Err(options
                .fault("passes", "`passes` and `greatest_loss` say the same thing twice")
                .help("leave one of them out"));
        }
        (Some(passes), None) => how.spread = Spread::Passes(usize::try_from(passes).unwrap_or(0)),
        (None, Some(limit)) => how.spread = Spread::Loss(limit),
        (None, None) => {}
    }
    Ok(how)
}

impl Planned {
    fn first(&self) -> Option<&Pass> {
        self.passes.passes.first()
    }

    fn last(&self) -> Option<&Pass> {
        self.passes.passes.last()
    }

    fn start(&self) -> visviva_engine::time::Epoch {
        let time = self.first().map_or(0.0, |pass| pass.time + pass.burn.start);
        self.before.epoch().after(time)
    }

    fn end(&self) -> visviva_engine::time::Epoch {
        let time = self.last().map_or(0.0, |pass| pass.time + pass.burn.end());
        self.before.epoch().after(time)
    }

    fn swept(&self) -> f64 {
        self.passes.passes.iter().map(|pass| pass.burn.swept).sum()
    }

    /// What the arcs would lose by the estimate, m/s.
    fn estimate(&self) -> f64 {
        let gm = self.before.gm();
        let of = |pass: &Pass| {
            estimate::centred_loss(gm, self.radius, pass.burn.impulse.size(), pass.burn.duration).unwrap_or(0.0)
        };
        self.passes.passes.iter().map(of).sum()
    }
}

impl Noun for Planned {
    const NAME: &'static str = "FiniteBurn";
    const ABOUT: &'static str = "A burn flown with thrust, in one pass or several: when it begins, how long it burns, what it costs above its impulse.";

    fn show(&self) -> String {
        let speed = |si: f64| Quantity::speed(si).show();
        let mut table = Columns::titled(&[
            "pass",
            "ignition",
            ">burns",
            ">Δv",
            ">impulse",
            ">loss",
            ">swept",
            ">mass after",
            ">next pass in",
        ]);
        for (index, pass) in self.passes.passes.iter().enumerate() {
            let burn = &pass.burn;
            table.row(&[
                format!("{}", index + 1),
                date(self.before.epoch().after(pass.time + burn.start)),
                Quantity::time(burn.duration).show(),
                speed(burn.dv),
                speed(burn.impulse.size()),
                speed(burn.loss()),
                format!("{:.2}°", burn.swept.to_degrees()),
                Quantity::mass(burn.end_mass()).show(),
                pass.period.map_or_else(String::new, |period| Quantity::time(period).show()),
            ]);
        }
        let label = if self.label.is_empty() { "burn" } else { &self.label };
        format!(
            "{}\n{label}: {} for an impulse of {}, a loss of {} (estimate {} by the arc), {} of burning",
            table.text(),
            speed(self.passes.dv()),
            speed(self.passes.impulse),
            speed(self.passes.loss()),
            speed(self.estimate()),
            Quantity::time(self.passes.burning()).show(),
        )
    }

    fn to_json(&self) -> Value {
        let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
        let passes: Vec<Value> = self
            .passes
            .passes
            .iter()
            .map(|pass| {
                let burn = &pass.burn;
                json!({
                    "ignition": Noun::to_json(&self.before.epoch().after(pass.time + burn.start)),
                    "duration": of(burn.duration, "s"), "dv": of(burn.dv, "m/s"), "impulse": of(burn.impulse.size(), "m/s"),
                    "loss": of(burn.loss(), "m/s"), "swept": of(burn.swept, "rad"), "mass": of(burn.end_mass(), "kg"),
                })
            })
            .collect();
        json!({
            "label": self.label, "dv": of(self.passes.dv(), "m/s"), "impulse": of(self.passes.impulse, "m/s"),
            "loss": of(self.passes.loss(), "m/s"), "duration": of(self.passes.burning(), "s"), "passes": passes,
        })
    }
}

fn finite_burn(given: &Given) -> Answer {
    let (burn, options) = (given.noun::<Burn>(0)?, given.options(1)?);
    let Some(vehicle) = options.noun::<Vehicle>("vehicle")? else {
        return Err(Fault::new("`finite_burn` needs `vehicle`").at(1));
    };
    let before = planned_on(&burn, &options, "#{ orbit: v.orbit, vehicle: ... }")?;
    let how = how(&options)?;
    let dv = burn.dv_at(before.state()).map_err(|error| super::refusal::no_burn(&error))?;
    let stopped = || given.run.stopped();
    let told = |error: VoyageError| no_thrust(&error);
    let supply: Supply = supply(&vehicle, how.throttle).map_err(told)?;
    let passes = plan_with_thrust(&before, dv, &supply, &how, &Watch::new(&stopped)).map_err(told)?;
    let radius = before.state().position.norm();
    Ok(value::noun(Planned { passes: Arc::new(passes), before, label: burn.label, radius }))
}

/// What a burn with thrust is refused for, with what to do.
pub(super) fn no_thrust(error: &VoyageError) -> Fault {
    use visviva_engine::burn::finite::FiniteError as Refused;
    let fault = refused(error);
    match error {
        VoyageError::Finite(Refused::NotMet { .. }) => {
            fault.help("split it: passes: 3, or greatest_loss: 20.m_s; or take attitude: \"inertial\", which keeps no time")
        }
        VoyageError::Finite(Refused::NotAlong { .. }) => fault.help("write attitude: \"turning\" or \"inertial\""),
        VoyageError::Finite(Refused::StillTooMuch { .. }) => fault.help("allow more loss, or take a stronger engine"),
        VoyageError::Finite(Refused::EntersTheGround { .. }) => fault.help("burn higher, or split the burn"),
        VoyageError::Vehicle(visviva_engine::vehicle::VehicleError::NoThrust { .. }) => {
            fault.help("give the vehicle its thrust, as in vehicle(#{ ..., thrust: 20.kN })")
        }
        VoyageError::IgnitionPast { .. } => fault
            .help("a burn under thrust begins about half its length before its impulse, passes whole orbits before: plan it later"),
        VoyageError::Throttle { .. } => {
            fault.help("write a share above 0, up to 1, within the range that the vehicle's file gives its engines")
        },
        _ => fault,
    }
}

macro_rules! long {
    ($ask:literal) => {
        concat!(
            "let low = circular(system(\"sol\").Earth, 300.km); ",
            "let tug = vehicle(#{ dry: 2.tonnes, propellant: 8.tonnes, isp: 450.s, thrust: 30.kN }); ",
            "let b = finite_burn(burn(#{ along: 3200.m_s }), #{ vehicle: tug, orbit: low }); ",
            $ask
        )
    };
}

fn this(given: &Given) -> Result<Planned, Fault> {
    given.this::<Planned>()
}

/// The definitions of burns with thrust.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Plans a burn with a vehicle's thrust so that it does what the impulse does.",
        parameters: &[
            Parameter::new("burn", BURN, "of a planner, or any with `orbit`"),
            Parameter::new("how", Kind::Options(WANTED), "whose thrust, where it points, over how many passes"),
        ],
        returns: (FINITE, "start, direction and duration solved; Voyage.burn with `finite: true` flies it"),
        source: Some("linear-tangent steering, [BrysonHo1975], section 2.4; docs/finite-burns.md"),
        see_also: &["Voyage.burn", "cut_off", "burn"],
        examples: &[
            Example::exact(long!("b.loss > 0.m_s"), "true"),
            Example::exact(
                "let low = circular(system(\"sol\").Earth, 300.km); let tug = vehicle(#{ dry: 2.tonnes, propellant: 8.tonnes, isp: 450.s, thrust: 10.kN }); finite_burn(burn(#{ along: 3000.m_s }), #{ vehicle: tug, orbit: low, passes: 4 }).passes.len",
                "4",
            ),
        ],
        ..Definition::function("finite_burn", finite_burn)
    },
    Definition {
        summary: "The change of speed spent, over all passes.",
        returns: (SPEED, "by the rocket equation"),
        see_also: &["FiniteBurn.impulse", "FiniteBurn.loss"],
        examples: &[Example::exact(long!("b.dv == b.impulse + b.loss"), "true")],
        ..Definition::property("FiniteBurn", "dv", |given| Ok(value::of(this(given)?.passes.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "The size of the impulse that it stands for.",
        returns: (SPEED, ""),
        see_also: &["FiniteBurn.dv"],
        examples: &[Example::close(long!("b.impulse"), "3200.m_s", "1e-9.m_s")],
        ..Definition::property("FiniteBurn", "impulse", |given| {
            Ok(value::of(this(given)?.passes.impulse, Dimension::SPEED))
        })
    },
    Definition {
        summary: "What it costs above the impulse.",
        returns: (SPEED, ""),
        see_also: &["FiniteBurn.estimate", "FiniteBurn.dv"],
        examples: &[Example::exact(long!("b.loss < 200.m_s"), "true")],
        ..Definition::property("FiniteBurn", "loss", |given| {
            Ok(value::of(this(given)?.passes.loss(), Dimension::SPEED))
        })
    },
    Definition {
        summary: "The loss by the closed form for short arcs, Δv (ω t)²/24.",
        returns: (SPEED, "summed over the passes; an estimate"),
        source: Some("[Robbins1966], from memory"),
        see_also: &["FiniteBurn.loss"],
        examples: &[Example::exact(long!("b.estimate > 0.m_s"), "true")],
        ..Definition::property("FiniteBurn", "estimate", |given| {
            Ok(value::of(this(given)?.estimate(), Dimension::SPEED))
        })
    },
    Definition {
        summary: "How long it burns, over all passes.",
        returns: (TIME, ""),
        see_also: &["FiniteBurn.start", "FiniteBurn.end"],
        examples: &[Example::exact(long!("b.duration > 10.minutes"), "true")],
        ..Definition::property("FiniteBurn", "duration", |given| {
            Ok(value::of(this(given)?.passes.burning(), Dimension::TIME))
        })
    },
    Definition {
        summary: "The first ignition.",
        returns: (EPOCH, ""),
        see_also: &["FiniteBurn.end"],
        examples: &[Example::exact(long!("b.start < low.epoch"), "true")],
        ..Definition::property("FiniteBurn", "start", |given| Ok(value::noun(this(given)?.start())))
    },
    Definition {
        summary: "The last cut-off.",
        returns: (EPOCH, ""),
        see_also: &["FiniteBurn.start"],
        examples: &[Example::exact(long!("b.end > low.epoch"), "true")],
        ..Definition::property("FiniteBurn", "end", |given| Ok(value::noun(this(given)?.end())))
    },
    Definition {
        summary: "The angle that it sweeps about the body while it burns, over all passes.",
        returns: (ANGLE, "turns counted"),
        see_also: &["FiniteBurn.duration"],
        examples: &[Example::exact(long!("b.swept > 30.deg"), "true")],
        ..Definition::property("FiniteBurn", "swept", |given| Ok(value::of(this(given)?.swept(), Dimension::ANGLE)))
    },
    Definition {
        summary: "The mass after it.",
        returns: (MASS, ""),
        see_also: &["FiniteBurn.dv"],
        examples: &[Example::exact(long!("b.mass < tug.mass"), "true")],
        ..Definition::property("FiniteBurn", "mass", |given| {
            let mass = this(given)?.last().map_or(0.0, |pass| pass.burn.end_mass());
            Ok(value::of(mass, Dimension::MASS))
        })
    },
    Definition {
        summary: "The burns, one a pass.",
        returns: (Kind::List, "of maps: start, duration, dv, impulse, loss, swept, mass"),
        see_also: &["FiniteBurn.dv"],
        examples: &[Example::exact(long!("b.passes[0].loss == b.loss"), "true")],
        ..Definition::property("FiniteBurn", "passes", |given| {
            let planned = this(given)?;
            Ok(rows(planned.passes.passes.iter().map(|pass| {
                let burn = &pass.burn;
                vec![
                    ("start", value::noun(planned.before.epoch().after(pass.time + burn.start))),
                    ("duration", value::of(burn.duration, Dimension::TIME)),
                    ("dv", value::of(burn.dv, Dimension::SPEED)),
                    ("impulse", value::of(burn.impulse.size(), Dimension::SPEED)),
                    ("loss", value::of(burn.loss(), Dimension::SPEED)),
                    ("swept", value::of(burn.swept, Dimension::ANGLE)),
                    ("mass", value::of(burn.end_mass(), Dimension::MASS)),
                ]
            })))
        })
    },
];
