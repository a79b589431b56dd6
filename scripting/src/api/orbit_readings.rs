//! What is read off an orbit: size, form, place, speed.

use visviva_engine::conic;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;

use super::definition::{Answer, Definition, Example};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, SPEED, TIME, VECTOR};
use super::refusal::no_orbit;
use super::value;
use super::vector::Vector;

fn this(given: &Given) -> Result<Orbit, Fault> {
    given.this::<Orbit>()
}

fn elements(given: &Given) -> Result<conic::Elements, Fault> {
    this(given)?.elements().map_err(|error| no_orbit(&error))
}

/// A semi-major axis, which a parabola does not have.
pub(super) fn axis(metres: f64) -> Answer {
    if metres.is_finite() {
        Ok(value::of(metres, Dimension::LENGTH))
    } else {
        Err(Fault::new("a parabola has no semi-major axis").help("read `periapsis_radius`"))
    }
}

/// What only a closed orbit has.
fn closed(figure: Option<f64>, dimension: Dimension, name: &str) -> Answer {
    match figure {
        Some(figure) => Ok(value::of(figure, dimension)),
        None => Err(Fault::new(format!("this orbit is open: it has no {name}")).help("an ellipse has `c3 < 0`")),
    }
}

/// An orbit as the examples make it.
macro_rules! example {
    ($property:literal, $result:literal, $within:literal) => {
        &[Example::close(
            concat!(
                "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, eccentricity: 0.1, inclination: 30.deg, \
                 ascending_node: 40.deg, argument_of_periapsis: 50.deg, true_anomaly: 60.deg }).",
                $property
            ),
            $result,
            $within,
        )]
    };
}

/// An entry that reads one figure.
macro_rules! reading {
    ($name:literal, $summary:literal, $returns:expr, $see:expr, $examples:expr, $call:expr) => {
        Definition {
            summary: $summary,
            returns: $returns,
            see_also: $see,
            examples: $examples,
            ..Definition::property("Orbit", $name, $call)
        }
    };
}

/// The definitions of what is read off an orbit.
pub(super) const TABLE: &[Definition] = &[
    reading!(
        "body",
        "What is orbited.",
        (BODY, ""),
        &["Orbit.epoch"],
        &[Example::exact("circular(system(\"sol\").Earth, 300.km).body.name", "\"Earth\"")],
        |given| Ok(value::noun(this(given)?.body().clone()))
    ),
    reading!(
        "epoch",
        "When the craft is where the orbit says.",
        (EPOCH, ""),
        &["Orbit.at"],
        &[Example::exact("circular(system(\"sol\").Earth, 300.km).epoch", "system(\"sol\").epoch")],
        |given| Ok(value::noun(this(given)?.epoch()))
    ),
    reading!(
        "r",
        "The craft's place, from the centre.",
        (VECTOR, "of lengths, in the system's inertial axes"),
        &["Orbit.v", "Orbit.radius"],
        example!("r.norm", "(6378.1366.km + 300.km) * 1.1 / 1.05", "1.mm"),
        |given| Ok(Vector::new(this(given)?.state().position, Dimension::LENGTH).into_value())
    ),
    reading!(
        "v",
        "The craft's velocity about the body.",
        (VECTOR, "of speeds, in the system's inertial axes"),
        &["Orbit.r", "Orbit.speed"],
        &[Example::close("circular(system(\"sol\").Earth, 300.km).v.norm", "7.7258.km_s", "0.1.m_s")],
        |given| Ok(Vector::new(this(given)?.state().velocity, Dimension::SPEED).into_value())
    ),
    reading!(
        "radius",
        "The craft's distance from the centre.",
        (LENGTH, ""),
        &["Orbit.altitude"],
        example!("radius", "(6378.1366.km + 300.km) * 1.1 / 1.05", "1.mm"),
        |given| Ok(value::of(this(given)?.radius(), Dimension::LENGTH))
    ),
    reading!(
        "altitude",
        "The craft's height above the equatorial radius.",
        (LENGTH, ""),
        &["Orbit.radius"],
        &[Example::close("circular(system(\"sol\").Earth, 300.km).altitude", "300.km", "1.mm")],
        |given| Ok(value::of(this(given)?.altitude(), Dimension::LENGTH))
    ),
    reading!(
        "speed",
        "The craft's speed about the body.",
        (SPEED, ""),
        &["Orbit.v", "Orbit.v_inf"],
        &[Example::close("circular(system(\"sol\").Earth, 300.km).speed", "7.7258.km_s", "0.1.m_s")],
        |given| Ok(value::of(this(given)?.speed(), Dimension::SPEED))
    ),
    reading!(
        "flight_path_angle",
        "The angle of the velocity above the horizon.",
        (ANGLE, "negative on the way in"),
        &["Orbit.speed"],
        example!("flight_path_angle", "atan(0.1 * sin(60.deg) / (1 + 0.1 * cos(60.deg)))", "1e-9.deg"),
        |given| Ok(value::of(this(given)?.flight_path_angle(), Dimension::ANGLE))
    ),
    reading!(
        "periapsis_radius",
        "The lowest distance from the centre.",
        (LENGTH, ""),
        &["Orbit.periapsis_altitude", "Orbit.apoapsis_radius"],
        example!("periapsis_radius", "6678.1366.km", "1.mm"),
        |given| Ok(value::of(this(given)?.periapsis_radius(), Dimension::LENGTH))
    ),
    reading!(
        "periapsis_altitude",
        "The lowest height above the equatorial radius.",
        (LENGTH, "negative under the surface"),
        &["Orbit.periapsis_radius", "Orbit.apoapsis_altitude"],
        example!("periapsis_altitude", "300.km", "1.mm"),
        |given| Ok(value::of(this(given)?.periapsis_altitude(), Dimension::LENGTH))
    ),
    reading!(
        "apoapsis_radius",
        "The greatest distance from the centre.",
        (LENGTH, "an open orbit has none: an error"),
        &["Orbit.apoapsis_altitude", "Orbit.periapsis_radius"],
        example!("apoapsis_radius", "6678.1366.km * 1.1 / 0.9", "1.mm"),
        |given| closed(this(given)?.apoapsis_radius(), Dimension::LENGTH, "apoapsis")
    ),
    reading!(
        "apoapsis_altitude",
        "The greatest height above the equatorial radius.",
        (LENGTH, "an open orbit has none: an error"),
        &["Orbit.apoapsis_radius", "Orbit.periapsis_altitude"],
        &[Example::close(
            "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, apoapsis_altitude: 900.km }).apoapsis_altitude",
            "900.km",
            "1.mm"
        )],
        |given| closed(this(given)?.apoapsis_altitude(), Dimension::LENGTH, "apoapsis")
    ),
    reading!(
        "period",
        "The time of one revolution.",
        (TIME, "an open orbit has none: an error"),
        &["circular"],
        &[Example::close("circular(system(\"sol\").Earth, 300.km).period", "90.52.min", "1.s")],
        |given| closed(this(given)?.period(), Dimension::TIME, "period")
    ),
    reading!(
        "energy",
        "The energy per mass, kinetic and potential.",
        (Kind::Of(Dimension::SPECIFIC_ENERGY), "negative on an ellipse"),
        &["Orbit.c3"],
        example!("energy.to(\"km²/s²\")", "-398600.44 * 0.9 / (2 * 6678.1366)", "1e-4"),
        |given| Ok(value::of(this(given)?.energy(), Dimension::SPECIFIC_ENERGY))
    ),
    reading!(
        "c3",
        "Twice the energy per mass: the square of v-infinity.",
        (Kind::Of(Dimension::SPECIFIC_ENERGY), "negative on an ellipse"),
        &["Orbit.energy", "Orbit.v_inf"],
        &[Example::close(
            "hyperbola(system(\"sol\").Earth, #{ v_inf: 3.km_s, periapsis_altitude: 300.km }).c3",
            "9.km2_s2",
            "1e-9.km2_s2"
        )],
        |given| Ok(value::of(this(given)?.c3(), Dimension::SPECIFIC_ENERGY))
    ),
    reading!(
        "v_inf",
        "The excess speed: what is left far away.",
        (SPEED, "a closed orbit has none: an error"),
        &["Orbit.c3", "hyperbola", "Orbit.v_inf_in", "Orbit.v_inf_out"],
        &[Example::close(
            "hyperbola(system(\"sol\").Earth, #{ v_inf: 3.km_s, periapsis_altitude: 300.km }).v_inf",
            "3.km_s",
            "1e-9.m_s"
        )],
        |given| match this(given)?.v_infinity() {
            Some(speed) => Ok(value::of(speed, Dimension::SPEED)),
            None => Err(bound()),
        }
    ),
    reading!(
        "v_inf_in",
        "The excess velocity on the way in.",
        (VECTOR, "of speeds; a closed orbit has none: an error"),
        &["Orbit.v_inf", "Orbit.v_inf_out"],
        &[Example::close(
            "hyperbola(system(\"sol\").Mars, #{ v_inf: vec(2.km_s, 1.km_s, 0.km_s), periapsis_altitude: 400.km }).v_inf_in.x",
            "2.km_s",
            "1e-6.m_s"
        )],
        |given| match this(given)?.incoming() {
            Some(asymptote) => Ok(Vector::new(asymptote.v_infinity, Dimension::SPEED).into_value()),
            None => Err(bound()),
        }
    ),
    reading!(
        "v_inf_out",
        "The excess velocity on the way out.",
        (VECTOR, "of speeds; a closed orbit has none: an error"),
        &["Orbit.v_inf", "Orbit.v_inf_in"],
        &[Example::close(
            "hyperbola(system(\"sol\").Mars, #{ v_inf: vec(2.km_s, 1.km_s, 0.km_s), periapsis_altitude: 400.km }).v_inf_out.norm",
            "sqrt(5).km_s",
            "1e-6.m_s"
        )],
        |given| match this(given)?.outgoing() {
            Some(asymptote) => Ok(Vector::new(asymptote.v_infinity, Dimension::SPEED).into_value()),
            None => Err(bound()),
        }
    ),
    reading!(
        "angular_momentum",
        "The angular momentum per mass.",
        (VECTOR, "along the orbit's normal, inertial"),
        &["Orbit.inclination"],
        &[Example::exact("circular(system(\"sol\").Earth, 300.km).angular_momentum.z > 51000.km2_s", "true")],
        |given| Ok(Vector::new(this(given)?.angular_momentum(), Dimension::SPECIFIC_ANGULAR_MOMENTUM).into_value())
    ),
    reading!(
        "semi_major_axis",
        "Half the length of the conic.",
        (LENGTH, "negative for a hyperbola; a parabola has none: an error"),
        &["Orbit.period"],
        example!("semi_major_axis", "6678.1366.km / 0.9", "1.mm"),
        |given| axis(elements(given)?.semi_major_axis())
    ),
    reading!(
        "eccentricity",
        "How far the conic is from a circle.",
        (Kind::Number, "0 for a circle, 1 for a parabola"),
        &["Orbit.semi_major_axis"],
        example!("eccentricity", "0.1", "1e-12"),
        |given| Ok(value::of(elements(given)?.eccentricity, Dimension::NUMBER))
    ),
    reading!(
        "inclination",
        "The angle of the orbit's plane to the body's equator, about the root to the reference plane.",
        (ANGLE, "0 to 180°"),
        &["Orbit.in_frame"],
        example!("inclination", "30.deg", "1e-9.deg"),
        |given| Ok(value::of(elements(given)?.inclination, Dimension::ANGLE))
    ),
    reading!(
        "ascending_node",
        "The right ascension of the ascending node on the equator, about the root on the reference plane.",
        (ANGLE, "0 to 360°; 0 in the plane itself"),
        &["Orbit.in_frame"],
        example!("ascending_node", "40.deg", "1e-9.deg"),
        |given| Ok(value::of(elements(given)?.ascending_node, Dimension::ANGLE))
    ),
    reading!(
        "argument_of_periapsis",
        "The angle from the ascending node to periapsis, along the motion.",
        (ANGLE, "0 to 360°; 0 for a circle"),
        &["Orbit.in_frame"],
        example!("argument_of_periapsis", "50.deg", "1e-9.deg"),
        |given| Ok(value::of(elements(given)?.argument_of_periapsis, Dimension::ANGLE))
    ),
    reading!(
        "true_anomaly",
        "The angle from periapsis to the craft.",
        (ANGLE, "0 to 360°, on open orbits −180° to 180°"),
        &["Orbit.mean_anomaly"],
        example!("true_anomaly", "60.deg", "1e-9.deg"),
        |given| Ok(value::of(elements(given)?.true_anomaly, Dimension::ANGLE))
    ),
    reading!(
        "mean_anomaly",
        "The mean anomaly of the craft: it grows evenly in time.",
        (ANGLE, "0 to 360° on an ellipse; on open orbits counted from periapsis"),
        &["Orbit.true_anomaly"],
        &[Example::close(
            "orbit(system(\"sol\").Earth, #{ periapsis_altitude: 300.km, eccentricity: 0.1, mean_anomaly: 70.deg }).mean_anomaly",
            "70.deg",
            "1e-9.deg"
        )],
        |given| Ok(value::of(elements(given)?.mean_anomaly(), Dimension::ANGLE))
    ),
];

fn bound() -> Fault {
    Fault::new("this orbit is closed: it has no v-infinity").help("a hyperbola has `c3 > 0`")
}
