//! The noun `Plan`: burns one after the other on an orbit, and the planners that answer with one.

use std::fmt::Write as _;

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::burn::sequence::{self, Sequence};
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::{Dimension, Quantity};

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, Kind, LENGTH, ORBIT, SPEED, TIME, VECTOR};
use super::noun::Noun;
use super::refusal::no_burn;
use super::value;

const PLAN: Kind = Kind::Noun("Plan");

impl Noun for Sequence {
    const NAME: &'static str = "Plan";
    const ABOUT: &'static str = "Burns one after the other on an orbit, and the orbit that comes of them.";

    fn show(&self) -> String {
        let mut text = String::new();
        for (index, burn) in self.burns.iter().enumerate() {
            let when = burn.plan.as_ref().map_or_else(String::new, |plan| plan.epoch.show_to_millisecond());
            let size = Quantity::speed(burn.size()).show();
            let _ = writeln!(text, "{:<3}{when:<34}{size:>14}  {}", index + 1, burn.label);
        }
        let (total, time) = (Quantity::speed(self.dv()).show(), Quantity::time(self.time()).show());
        let _ = write!(text, "   {:<34}{total:>14}  in all, {time} from first to last", "");
        text
    }

    fn to_json(&self) -> Value {
        json!({
            "burns": self.burns.iter().map(Noun::to_json).collect::<Vec<_>>(),
            "dv": { "value": self.dv(), "unit": "m/s" },
            "time": { "value": self.time(), "unit": "s" },
            "orbit": self.after.to_json(),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// What a planner aims at: an altitude, or the circle as large as another orbit.
const TARGET: Kind = Kind::Either(&[LENGTH, ORBIT]);

fn radius(given: &Given, index: usize, orbit: &Orbit) -> Result<f64, Fault> {
    if let Some(altitude) = value::scalar(given.value(index)?) {
        return Ok(orbit.body().radius() + altitude.value);
    }
    let target = given.noun::<Orbit>(index)?;
    if target.body() != orbit.body() {
        let (ours, theirs) = (orbit.body().name(), target.body().name());
        return Err(Fault::new(format!("one orbit goes round {ours}, the other round {theirs}"))
            .help("between bodies there is `transfer`")
            .at(index));
    }
    let elements = target.elements().map_err(|error| super::refusal::no_orbit(&error).at(index))?;
    if elements.eccentricity < 1.0 {
        Ok(elements.semi_major_axis())
    } else {
        Err(Fault::new("the target orbit is open").at(index))
    }
}

fn planned(made: Result<Sequence, visviva_engine::burn::BurnError>) -> super::definition::Answer {
    made.map(value::noun).map_err(|error| no_burn(&error).at(0))
}

const PLANE_OPTIONS: &[Parameter] = &[
    Parameter::new(
        "inclination",
        ANGLE,
        "of the new plane, 0 to 180°, to the equator, about the root to the reference plane",
    ),
    Parameter::optional("ascending_node", ANGLE, "of the new plane; the orbit's own when left out"),
];

const PHASE_OPTIONS: &[Parameter] = &[
    Parameter::new(
        "ahead",
        Kind::Either(&[ANGLE, TIME]),
        "of the target on the same orbit: an angle on a circle, or a time; negative behind",
    ),
    Parameter::optional("revolutions", Kind::Whole, "whole ones in between; 1 when left out"),
];

fn phase(given: &Given) -> super::definition::Answer {
    let (orbit, options) = (given.noun::<Orbit>(0)?, given.options(1)?);
    let revolutions = options.whole("revolutions")?.unwrap_or(1);
    let Some(count) = u32::try_from(revolutions).ok().filter(|count| (1..=10_000).contains(count)) else {
        return Err(options.fault("revolutions", format!("revolutions are 1 to 10000, not {revolutions}")));
    };
    let Some(ahead) = options.scalar("ahead")? else {
        return Err(Fault::new("`phase` needs `ahead`").at(1));
    };
    let seconds = if ahead.dimension == Dimension::ANGLE { orbit.time_of_lead(ahead.value) } else { Some(ahead.value) };
    let Some(seconds) = seconds else {
        return Err(Fault::new("this orbit is open: nothing comes round on it").at(0));
    };
    planned(sequence::phase(&orbit, seconds, count))
}

/// The definitions of plans and planners.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The two tangent burns to a circle in the same plane, half a revolution apart.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "closed; on an ellipse the cheaper apse is the start"),
            Parameter::new("target", TARGET, "altitude of the circle, or an orbit as large as it (by semi-major axis)"),
        ],
        returns: (PLAN, "the first burn where the craft is, if its orbit is a circle"),
        source: Some("[Battin1999], section 11.3; [Curtis2014], section 6.3"),
        see_also: &["bi_elliptic", "change_plane", "transfer"],
        examples: &[
            Example::close(
                "hohmann(circular(system(\"sol\").Earth, 191.34411.km), 35781.34857.km).dv",
                "3.935224.km_s",
                "0.2.m_s",
            ),
            Example::exact("hohmann(circular(system(\"sol\").Earth, 300.km), 800.km).burns.len", "2"),
        ],
        ..Definition::function("hohmann", |given| {
            let orbit = given.noun::<Orbit>(0)?;
            planned(sequence::hohmann(&orbit, radius(given, 1, &orbit)?))
        })
    },
    Definition {
        summary: "The three tangent burns to a circle in the same plane, by way of a far apse.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "closed; on an ellipse the cheaper apse is the start"),
            Parameter::new("target", TARGET, "altitude of the circle, or an orbit as large as it (by semi-major axis)"),
            Parameter::new("far", LENGTH, "altitude of the far apse"),
        ],
        returns: (PLAN, "cheaper than `hohmann` only for targets more than about twelve times as far out"),
        source: Some("[Vallado2013], section 6.3.2; [Battin1999], section 11.3"),
        see_also: &["hohmann"],
        examples: &[Example::close(
            "bi_elliptic(circular(system(\"sol\").Earth, 191.34411.km), 376310.km, 503873.km).dv",
            "3.904057.km_s",
            "0.2.m_s",
        )],
        ..Definition::function("bi_elliptic", |given| {
            let orbit = given.noun::<Orbit>(0)?;
            planned(sequence::bi_elliptic(&orbit, orbit.body().radius() + given.length(2)?, radius(given, 1, &orbit)?))
        })
    },
    Definition {
        summary: "The burn at a node that turns the orbit into another plane; size and form stay.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "which is turned"),
            Parameter::new(
                "plane",
                Kind::Either(&[Kind::Options(PLANE_OPTIONS), ORBIT]),
                "inclination and node, or an orbit in that plane",
            ),
        ],
        returns: (PLAN, "one burn, at the node where it is cheaper"),
        source: Some("[Vallado2013], section 6.4"),
        see_also: &["hohmann", "Orbit.inclination"],
        examples: &[Example::close(
            "let o = circular(system(\"sol\").Earth, 300.km); change_plane(o, #{ inclination: 30.deg }).dv",
            "2 * 7.7258.km_s * sin(15.deg)",
            "0.1.m_s",
        )],
        ..Definition::function("change_plane", |given| {
            let orbit = given.noun::<Orbit>(0)?;
            let normal = if given.value(1)?.is_map() {
                let options = given.options(1)?;
                let inclination = options.si("inclination")?.unwrap_or_default();
                sequence::normal_of(&orbit, inclination, options.si("ascending_node")?)
            } else {
                Ok(given.noun::<Orbit>(1)?.angular_momentum())
            };
            planned(normal.and_then(|normal| sequence::change_plane(&orbit, &normal)))
        })
    },
    Definition {
        summary: "The two burns that catch up with a target on the same orbit, or wait for it.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "closed; the first burn is where the craft is"),
            Parameter::new("target", Kind::Options(PHASE_OPTIONS), "how far ahead it is, and the revolutions allowed"),
        ],
        returns: (PLAN, "the second burn at the same place, after the revolutions"),
        source: Some("[Curtis2014], section 6.5"),
        see_also: &["hohmann", "synodic_period"],
        examples: &[Example::exact(
            "let o = circular(system(\"sol\").Earth, 400.km); phase(o, #{ ahead: 20.deg, revolutions: 5 }).burns[0].along < 0.m_s",
            "true",
        )],
        ..Definition::function("phase", phase)
    },
    Definition {
        summary: "The cheapest single burn from a parking orbit onto a hyperbola that leaves with an excess velocity.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "closed, in any plane: a plane change is charged"),
            Parameter::new("v_inf", VECTOR, "of speeds: the excess velocity on the way out, inertial"),
        ],
        returns: (PLAN, "one burn; its orbit is the hyperbola"),
        source: Some("[Battin1999], section 6.8"),
        see_also: &["transfer", "Orbit.v_inf_out"],
        examples: &[Example::close(
            "let o = circular(system(\"sol\").Earth, 300.km); departure(o, vec(3.km_s, 0.km_s, 0.km_s)).orbit.v_inf",
            "3.km_s",
            "1e-6.m_s",
        )],
        ..Definition::function("departure", |given| {
            let orbit = given.noun::<Orbit>(0)?;
            planned(sequence::depart(&orbit, &given.vector_of(1, Dimension::SPEED)?))
        })
    },
    Definition {
        summary: "The burns, in their order.",
        returns: (Kind::List, "of planned burns"),
        see_also: &["Burn.epoch", "Plan.dv"],
        examples: &[Example::exact("hohmann(circular(system(\"sol\").Earth, 300.km), 800.km).burns.len", "2")],
        ..Definition::property("Plan", "burns", |given| {
            let burns = given.this::<Sequence>()?.burns;
            Ok(Dynamic::from_array(burns.into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "The sizes of all burns together.",
        returns: (SPEED, ""),
        see_also: &["Plan.burns"],
        examples: &[Example::exact(
            "let p = hohmann(circular(system(\"sol\").Earth, 300.km), 800.km); p.dv == p.burns[0].dv + p.burns[1].dv",
            "true",
        )],
        ..Definition::property("Plan", "dv", |given| Ok(value::of(given.this::<Sequence>()?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "The time from the first burn to the last.",
        returns: (TIME, "0 for one burn"),
        see_also: &["Plan.burns"],
        examples: &[Example::close(
            "hohmann(circular(system(\"sol\").Earth, 191.34411.km), 35781.34857.km).time",
            "315.403.min",
            "1.s",
        )],
        ..Definition::property("Plan", "time", |given| Ok(value::of(given.this::<Sequence>()?.time(), Dimension::TIME)))
    },
    Definition {
        summary: "The orbit after the last burn.",
        returns: (ORBIT, "at the epoch of that burn"),
        see_also: &["Orbit.after_burn"],
        examples: &[Example::close(
            "hohmann(circular(system(\"sol\").Earth, 300.km), 800.km).orbit.altitude",
            "800.km",
            "1.m",
        )],
        ..Definition::property("Plan", "orbit", |given| Ok(value::noun(given.this::<Sequence>()?.after)))
    },
];
