//! How bodies stand to each other: phase angle, synodic period.

use visviva_engine::burn::phasing;
use visviva_engine::quantity::Dimension;
use visviva_engine::system::Body;

use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, ORBIT, TIME};
use super::refusal::{no_burn, no_place};
use super::value;

const GOES_ROUND: Kind = Kind::Either(&[BODY, ORBIT, TIME]);

/// The period of a body, an orbit, or one that is given.
fn period(given: &Given, index: usize) -> Result<f64, Fault> {
    let value = given.value(index)?;
    if let Some(time) = value::scalar(value) {
        return Ok(time.value);
    }
    let period = if let Some(body) = value.read_lock::<Body>() {
        body.orbital_period()
    } else {
        given.noun::<visviva_engine::orbit::Orbit>(index)?.period()
    };
    period.ok_or_else(|| Fault::new("what goes round nothing, or never comes back, has no period").at(index))
}

/// The definitions of phase.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "How far one body is ahead of another on their way round their common parent.",
        parameters: &[
            Parameter::new("a", BODY, "the one that is left"),
            Parameter::new("b", BODY, "the one that is ahead, with the same parent"),
            Parameter::new("epoch", EPOCH, "when, within the ephemeris"),
        ],
        returns: (ANGLE, "−180° to 180°, in the plane of the motion of `a`; negative behind"),
        source: Some("[Curtis2014], section 8.3"),
        see_also: &["synodic_period", "angle", "transfer"],
        examples: &[Example::exact(
            "let s = system(\"sol\"); let t = epoch(\"2026-01-01 TDB\"); \
             abs(phase_angle(s.Earth, s.Venus, t)) <= 180.deg",
            "true",
        )],
        ..Definition::function("phase_angle", |given| {
            let (a, b) = (given.noun::<Body>(0)?, given.noun::<Body>(1)?);
            match a.lead_of(&b, given.epoch(2)?).map_err(|error| no_place(&error).at(2))? {
                Some(angle) => Ok(value::of(angle, Dimension::ANGLE)),
                None => Err(Fault::new(format!("{} and {} do not go round the same body", a.name(), b.name())).at(1)),
            }
        })
    },
    Definition {
        summary: "The time after which two that go round the same body stand alike again.",
        parameters: &[
            Parameter::new("a", GOES_ROUND, "a body, an orbit, or a period"),
            Parameter::new("b", GOES_ROUND, "the other one"),
        ],
        returns: (TIME, "equal periods are an error"),
        source: Some("[Curtis2014], section 8.3"),
        see_also: &["phase_angle", "Body.orbital_period"],
        examples: &[
            Example::close("let s = system(\"sol\"); synodic_period(s.Earth, s.Mars)", "779.9.days", "0.2.days"),
            Example::exact("synodic_period(2.days, 3.days)", "6.days"),
        ],
        ..Definition::function("synodic_period", |given| {
            let made =
                phasing::synodic_period(period(given, 0)?, period(given, 1)?).map_err(|error| no_burn(&error))?;
            Ok(value::of(made, Dimension::TIME))
        })
    },
];
