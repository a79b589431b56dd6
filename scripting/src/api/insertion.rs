//! The verb `insert`: an orbit entered by thrust under closed-loop guidance.

use rhai::{Dynamic, Map};
use visviva_engine::quantity::Dimension;

use super::ascent::target;
use super::definition::{Answer, Definition, Example, Parameter};
use super::given::Given;
use super::handle::{Handle, refused};
use super::kind::{ANGLE, Kind, LENGTH, ORBIT};
use super::value;

const ENTRY: &[Parameter] = &[
    Parameter::new(
        "to",
        Kind::Either(&[LENGTH, ORBIT]),
        "altitude of a circular orbit; or an orbit, for its apsides and its plane",
    ),
    Parameter::optional(
        "inclination",
        ANGLE,
        "with an altitude: of the orbit to the equator; the plane of the approach when left out",
    ),
    Parameter::optional("node", Kind::Flag, "with an orbit: false takes its inclination only; true when left out"),
    Parameter::optional("throttle", Kind::Number, "share of the thrust, 0 to 1; 1 when left out"),
    Parameter::optional(
        "apsis_ahead",
        Kind::Flag,
        "thrust along the velocity, trimmed so that the apsis stays just ahead; steered by the guidance law when left out",
    ),
];

fn insert(given: &Given) -> Answer {
    let options = given.options(0)?;
    let handle = given.this::<Handle>()?;
    let body = handle.voyage().body().clone();
    let target = target(&options, &body)?;
    let throttle = options.number("throttle")?.unwrap_or(1.0);
    let trimmed = options.flag("apsis_ahead")?.unwrap_or(false);
    let done = handle.act(given, |voyage, watch| {
        voyage.insert(&target, throttle, trimmed, watch).map_err(|error| refused(&error))
    })?;
    Ok(done.map_or(Dynamic::UNIT, |told| {
        let mut map = Map::new();
        for (name, si, dimension) in [
            ("dv", told.dv, Dimension::SPEED),
            ("impulse", told.impulse, Dimension::SPEED),
            ("loss", told.dv - told.impulse, Dimension::SPEED),
            ("time", told.time, Dimension::TIME),
            ("periapsis_miss", told.periapsis_miss, Dimension::LENGTH),
            ("apoapsis_miss", told.apoapsis_miss, Dimension::LENGTH),
        ] {
            map.insert(name.into(), value::of(si, dimension));
        }
        Dynamic::from_map(map)
    }))
}

/// The definitions of guided insertion.
pub(super) const TABLE: &[Definition] = &[Definition {
    summary: "Enters an orbit by thrust under closed-loop guidance: at the next periapsis to lose energy, at the next apoapsis to gain it.",
    parameters: &[Parameter::new("task", Kind::Options(ENTRY), "the orbit wanted, and how it is flown")],
    returns: (
        Kind::Map,
        "#{ dv, impulse, loss, time, periapsis_miss, apoapsis_miss }; ignition comes before the apsis by half the burn, one that is past is an error",
    ),
    source: Some("powered explicit guidance, [McHenry1979]"),
    see_also: &["Voyage.burn", "capture", "Voyage.circularise", "Voyage.ascend"],
    examples: &[
        Example::close(
            "let s = system(\"velm\"); let v = voyage(vehicle(#{ dry: 4.tonnes, propellant: 8.tonnes, isp: 340.s, thrust: 60.kN }), \
             orbit(s.Veyra, #{ periapsis_altitude: 300.km, apoapsis_altitude: 20000.km, true_anomaly: 180.deg })); \
             v.insert(#{ to: 300.km }); v.orbit.apoapsis_altitude",
            "300.km",
            "1.km",
        ),
        Example::exact(
            "let s = system(\"velm\"); let v = voyage(vehicle(\"lantern\").carried(\"lander\"), \
             orbit(s.Veyra, #{ periapsis_altitude: 200.km, apoapsis_altitude: 400.km })); \
             v.insert(#{ to: 400.km, apsis_ahead: true }).loss >= 0.m_s",
            "true",
        ),
    ],
    changes: true,
    ..Definition::method("Voyage", "insert", insert)
}];
