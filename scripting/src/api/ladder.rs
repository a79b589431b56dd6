//! The noun `Ladder`: what each stage or phase of a vehicle gives.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::system::Body;
use visviva_engine::vehicle::{Rung, Vehicle};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, Kind, SPEED};
use super::noun::Noun;
use super::table::Columns;
use super::value;
use super::vehicle::{or_nothing, rows};

/// A ladder.
pub(super) const LADDER: Kind = Kind::Noun("Ladder");

/// The ladder of a vehicle and of all craft that it carries.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    rungs: Vec<Rung>,
    /// Name and ladder of each carried craft that can burn.
    carried: Vec<(String, Vec<Rung>)>,
    /// Pa.
    pressure: f64,
    /// Body and gravity on its ground, m/s².
    ground: Option<(String, f64)>,
    /// Change of speed that is wanted, m/s.
    needs: Option<f64>,
}

impl Ladder {
    fn of(vehicle: &Vehicle, pressure: f64, ground: Option<(String, f64)>, needs: Option<f64>) -> Self {
        let ladder = |craft: &Vehicle| (craft.name().to_owned(), craft.ladder_at(pressure));
        let can_burn = |(_, rungs): &(String, Vec<Rung>)| rungs.iter().any(|rung| rung.propellant > 0.0);
        let carried = vehicle.all_carried().into_iter().map(ladder).filter(can_burn).collect();
        Self { rungs: vehicle.ladder_at(pressure), carried, pressure, ground, needs }
    }

    fn dv(&self) -> f64 {
        self.rungs.iter().map(|rung| rung.dv).sum()
    }

    fn cells(&self, craft: Option<&str>, rung: &Rung) -> Vec<String> {
        let mass = |kg: f64| Quantity::mass(kg).show();
        let burning = if rung.burning.len() > 1 { format!(" ({})", rung.burning.join(" + ")) } else { String::new() };
        let label = match craft {
            Some(craft) if craft != rung.stage => format!("{craft}: {}{burning}", rung.stage),
            _ => format!("{}{burning}", rung.stage),
        };
        let mut cells = vec![
            label,
            mass(rung.mass_before),
            mass(rung.mass_after),
            format!("{:.4}", rung.mass_ratio()),
            format!("{:.1} %", 100.0 * rung.structural_ratio),
            format!("{:.1} m/s", rung.exhaust_speed),
            format!("{:.0} m/s", rung.dv),
        ];
        if self.pressure > 0.0 {
            cells.push(format!("{:.0} m/s", rung.dv_at_pressure));
        }
        cells.push(rung.accelerations().map_or(String::new(), |(first, last)| format!("{first:.2}, {last:.2} m/s²")));
        cells.push(rung.burn_time.map_or(String::new(), |time| format!("{time:.1} s")));
        if let Some((_, gravity)) = self.ground {
            cells.push(rung.weight_ratio(gravity).map_or(String::new(), |ratio| format!("{ratio:.3}")));
        }
        cells
    }
}

fn json(rung: &Rung, gravity: Option<f64>) -> Value {
    let of = |value: f64, unit: &str| json!({ "value": value, "unit": unit });
    json!({
        "stage": rung.stage, "burning": rung.burning,
        "mass_before": of(rung.mass_before, "kg"), "mass_after": of(rung.mass_after, "kg"),
        "propellant": of(rung.propellant, "kg"), "mass_ratio": rung.mass_ratio(),
        "structural_ratio": rung.structural_ratio, "exhaust_speed": of(rung.exhaust_speed, "m/s"),
        "dv": of(rung.dv, "m/s"), "dv_at_pressure": of(rung.dv_at_pressure, "m/s"),
        "first_acceleration": rung.accelerations().map(|both| of(both.0, "m/s²")),
        "last_acceleration": rung.accelerations().map(|both| of(both.1, "m/s²")),
        "burn_time": rung.burn_time.map(|time| of(time, "s")),
        "weight_ratio": gravity.and_then(|gravity| rung.weight_ratio(gravity)),
    })
}

impl Noun for Ladder {
    const NAME: &'static str = "Ladder";
    const ABOUT: &'static str =
        "What each stage of a vehicle gives, one row for each phase of burning; craft that it carries below.";

    fn show(&self) -> String {
        let mut titles: Vec<String> =
            ["stage", ">start", ">end", ">mass ratio", ">structure", ">exhaust", ">Δv"].map(str::to_owned).to_vec();
        if self.pressure > 0.0 {
            titles.push(format!(">Δv at {}", Quantity::new(self.pressure, Dimension::PRESSURE).show()));
        }
        titles.push(">acceleration".to_owned());
        titles.push(">burns".to_owned());
        if let Some((body, _)) = &self.ground {
            titles.push(format!(">weight ratio at {body}"));
        }
        let titles: Vec<&str> = titles.iter().map(String::as_str).collect();
        let mut table = Columns::titled(&titles);
        for rung in &self.rungs {
            table.row(&self.cells(None, rung));
        }
        let mut sum = vec![String::new(); titles.len()];
        "in all".clone_into(&mut sum[0]);
        sum[6] = format!("{:.0} m/s", self.dv());
        if self.pressure > 0.0 {
            sum[7] = format!("{:.0} m/s", self.rungs.iter().map(|rung| rung.dv_at_pressure).sum::<f64>());
        }
        table.row(&sum);
        for (craft, rungs) in &self.carried {
            for rung in rungs {
                table.row(&self.cells(Some(craft), rung));
            }
        }
        let mut text = table.text();
        if let Some(needs) = self.needs {
            let left = self.dv() - needs;
            let _ = write!(text, "\nwanted {needs:.0} m/s, reserve {left:.0} m/s");
            if needs > 0.0 {
                let _ = write!(text, " ({:.1} % of what is wanted)", 100.0 * left / needs);
            }
        }
        text
    }

    fn to_json(&self) -> Value {
        let gravity = self.ground.as_ref().map(|ground| ground.1);
        let list = |rungs: &[Rung]| rungs.iter().map(|rung| json(rung, gravity)).collect::<Vec<_>>();
        let carried: Vec<Value> =
            self.carried.iter().map(|(craft, rungs)| json!({ "craft": craft, "rows": list(rungs) })).collect();
        json!({
            "rows": list(&self.rungs), "carried": carried, "dv": { "value": self.dv(), "unit": "m/s" },
            "pressure": { "value": self.pressure, "unit": "Pa" }, "body": self.ground.as_ref().map(|ground| &ground.0),
            "reserve": self.needs.map(|needs| json!({ "value": self.dv() - needs, "unit": "m/s" })),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const AT: &[Parameter] = &[
    Parameter::optional(
        "pressure",
        Kind::Of(Dimension::PRESSURE),
        "of the air; vacuum when left out, or the body's at its ground",
    ),
    Parameter::optional("body", BODY, "adds the column of thrust over weight on its ground"),
    Parameter::optional("needs", SPEED, "what is wanted of the whole stack; the rest is the reserve"),
];

const TUG: &str = "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN })";

fn this(given: &Given) -> Result<Ladder, Fault> {
    given.this::<Ladder>()
}

/// The definitions of ladders.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "What each stage gives when it burns out with all that stands on it, in vacuum.",
        returns: (LADDER, "one row for each phase: stages that burn together have one until each tank is empty"),
        source: Some("[SuttonBiblarz2017], equation 4-6"),
        see_also: &["Vehicle.ladder_at", "Ladder.rows", "Vehicle.who_pays"],
        examples: &[
            Example::close("vehicle(\"lantern\").ladder.rows[0].dv", "1940.m_s", "0.5.m_s"),
            Example::exact(
                "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).ladder.rows[0].mass_after",
                "2.tonnes",
            ),
        ],
        ..Definition::property("Vehicle", "ladder", |given| {
            Ok(value::noun(Ladder::of(&given.this::<Vehicle>()?, 0.0, None, None)))
        })
    },
    Definition {
        summary: "The ladder in air of a pressure, with thrust over weight on a body's ground, and the reserve over what is wanted.",
        parameters: &[Parameter::new("options", Kind::Options(AT), "pressure, body, needs")],
        returns: (LADDER, "accelerations, weight ratio and the second Δv are at the pressure"),
        source: Some("[SuttonBiblarz2017], equations 2-13 and 4-6"),
        see_also: &["Vehicle.ladder", "Vehicle.weight_ratio"],
        examples: &[Example::close(
            "vehicle(\"lantern\").ladder_at(#{ body: system(\"velm\").Veyra }).rows[0].weight_ratio",
            "1.45",
            "0.005",
        )],
        ..Definition::method("Vehicle", "ladder_at", |given| {
            let options = given.options(0)?;
            let body = options.noun::<Body>("body")?;
            let air = body.as_ref().and_then(Body::air).map_or(0.0, visviva_engine::system::Air::surface_pressure);
            let pressure = options.si("pressure")?.unwrap_or(air);
            if pressure < 0.0 {
                return Err(options.fault("pressure", "a pressure is zero or more"));
            }
            let ground = body.map(|body| (body.name().to_owned(), body.surface_gravity()));
            Ok(value::noun(Ladder::of(&given.this::<Vehicle>()?, pressure, ground, options.si("needs")?)))
        })
    },
    Definition {
        summary: "The phases of the vehicle itself, the first to burn first.",
        returns: (
            Kind::List,
            "of maps: stage, burning, mass_before, mass_after, propellant, mass_ratio, structural_ratio, exhaust_speed, dv, dv_at_pressure, \
             first_acceleration, last_acceleration, burn_time, thrust_to_weight, weight_ratio (`()` where it is not known)",
        ),
        see_also: &["Ladder.dv", "Vehicle.ladder"],
        examples: &[Example::exact("vehicle(\"lantern\").ladder.rows[0].burning", "[\"pair\", \"core\"]")],
        ..Definition::property("Ladder", "rows", |given| {
            let ladder = this(given)?;
            let gravity = ladder.ground.as_ref().map(|ground| ground.1);
            Ok(rows(ladder.rungs.iter().map(|rung| {
                let acceleration = rung.accelerations();
                let names: Vec<Dynamic> = rung.burning.iter().map(|name| value::text(name.as_str())).collect();
                vec![
                    ("stage", value::text(rung.stage.as_str())),
                    ("burning", Dynamic::from_array(names)),
                    ("mass_before", value::of(rung.mass_before, Dimension::MASS)),
                    ("mass_after", value::of(rung.mass_after, Dimension::MASS)),
                    ("propellant", value::of(rung.propellant, Dimension::MASS)),
                    ("mass_ratio", Dynamic::from_float(rung.mass_ratio())),
                    ("structural_ratio", Dynamic::from_float(rung.structural_ratio)),
                    ("exhaust_speed", value::of(rung.exhaust_speed, Dimension::SPEED)),
                    ("dv", value::of(rung.dv, Dimension::SPEED)),
                    ("dv_at_pressure", value::of(rung.dv_at_pressure, Dimension::SPEED)),
                    ("first_acceleration", or_nothing(acceleration.map(|both| both.0), Dimension::ACCELERATION)),
                    ("last_acceleration", or_nothing(acceleration.map(|both| both.1), Dimension::ACCELERATION)),
                    ("burn_time", or_nothing(rung.burn_time, Dimension::TIME)),
                    ("thrust_to_weight", or_nothing(rung.thrust_to_weight, Dimension::NUMBER)),
                    (
                        "weight_ratio",
                        or_nothing(gravity.and_then(|gravity| rung.weight_ratio(gravity)), Dimension::NUMBER),
                    ),
                ]
            })))
        })
    },
    Definition {
        summary: "The ideal change of speed of all phases, in vacuum.",
        returns: (SPEED, "carried craft are not counted"),
        see_also: &["Vehicle.dv", "Ladder.reserve"],
        examples: &[Example::close(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s, thrust: 20.kN }).ladder.dv",
            "2875.44.m_s",
            "0.01.m_s",
        )],
        ..Definition::property("Ladder", "dv", |given| Ok(value::of(this(given)?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "What the whole stack has over what is wanted of it.",
        returns: (SPEED, "below zero when it falls short"),
        see_also: &["Vehicle.ladder_at", "Vehicle.who_pays"],
        examples: &[Example::close(
            "vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }).ladder_at(#{ needs: 2800.m_s }).reserve",
            "75.44.m_s",
            "0.01.m_s",
        )],
        ..Definition::property("Ladder", "reserve", |given| {
            let ladder = this(given)?;
            match ladder.needs {
                Some(needs) => Ok(value::of(ladder.dv() - needs, Dimension::SPEED)),
                None => Err(Fault::new("this ladder was not told what is wanted")
                    .help(format!("{TUG}.ladder_at(#{{ needs: 2800.m_s }}).reserve"))),
            }
        })
    },
];
