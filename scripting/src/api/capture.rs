//! `capture`: the burn that turns an approach into an orbit.

use visviva_engine::burn::capture;
use visviva_engine::orbit::Orbit;

use super::definition::{Answer, Definition, Example, Parameter};
use super::given::Given;
use super::kind::{Kind, LENGTH, ORBIT, TIME};
use super::refusal::no_burn;
use super::value;

const WANTED: &[Parameter] = &[
    Parameter::optional("apoapsis_altitude", LENGTH, "of the orbit wanted, above the equatorial radius"),
    Parameter::optional("apoapsis_radius", LENGTH, "the same from the centre"),
    Parameter::optional("period", TIME, "of the orbit wanted, instead of its apoapsis"),
];

pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "The burn at the periapsis of an approach that captures into a circle, or into an ellipse.",
    parameters: &[
        Parameter::new("approach", ORBIT, "a hyperbola before its periapsis, such as `v.orbit` after an arrival"),
        Parameter::optional("wanted", Kind::Options(WANTED), "one of these; a circle at the periapsis when left out"),
    ],
    returns: (Kind::Noun("Burn"), "along the motion, planned at periapsis"),
    source: Some("[Curtis2014], section 8.8"),
    see_also: &["departure", "windows", "Voyage.burn"],
    examples: &[Example::close(
        "let m = system(\"sol\").Mars; capture(hyperbola(m, #{ v_inf: 2.648.km_s, periapsis_radius: 5447.3.km }), #{ period: 7.hours }).dv",
        "1.47.km_s",
        "1.m_s",
    )],
    ..Definition::function("capture", captured)
}];

fn captured(given: &Given) -> Answer {
    let approach = given.noun::<Orbit>(0)?;
    let mut apoapsis = None;
    if given.has(1) {
        let options = given.options(1)?;
        let (altitude, radius, period) =
            (options.si("apoapsis_altitude")?, options.si("apoapsis_radius")?, options.si("period")?);
        apoapsis = match (altitude, radius, period) {
            (Some(altitude), None, None) => Some(approach.body().radius() + altitude),
            (None, Some(radius), None) => Some(radius),
            (None, None, Some(period)) => Some(
                capture::apoapsis_of_period(approach.gm(), approach.periapsis_radius(), period)
                    .map_err(|e| no_burn(&e))?,
            ),
            (None, None, None) => None,
            _ => {
                return Err(options
                    .fault("apoapsis_altitude", "the orbit wanted is said more than once")
                    .help("write one of apoapsis_altitude, apoapsis_radius and period"));
            }
        };
    }
    Ok(value::noun(capture::from_approach(&approach, apoapsis).map_err(|error| no_burn(&error))?))
}
