//! What an ascent tells, and what is known before one: launch times, sub-orbital coasts.

use rhai::{Dynamic, Map};
use visviva_engine::air_flight::ascent::{azimuth, plane_passages, suborbital};
use visviva_engine::motion::force::Surroundings;
use visviva_engine::motion::passage::Accounts;
use visviva_engine::numerics::watch::Watch;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;
use visviva_engine::system::Site;
use visviva_engine::voyage::Ascended;

use super::ascent::{ACCELERATION, AREA, PRESSURE, no_ascent, up};
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::refused;
use super::kind::{ANGLE, EPOCH, Kind, LENGTH, MASS, ORBIT, SPEED, TIME};
use super::search::interrupted;
use super::value;

const LAUNCH: &[Parameter] = &[
    Parameter::new("after", EPOCH, "the passages that come next after it"),
    Parameter::optional("lead", TIME, "how much earlier to lift off; none when left out"),
];

const COAST: &[Parameter] = &[
    Parameter::new("mass", MASS, "of the craft"),
    Parameter::optional("drag_area", Kind::Of(AREA), "drag coefficient times area; air does not count when left out"),
    Parameter::optional("floor", LENGTH, "height above which there is time; the top of the air when left out"),
    Parameter::optional("within", TIME, "how long to look; a day when left out"),
    Parameter::optional("task", TIME, "what must be done above the floor; its spare time is told"),
];

const DAY: f64 = 86_400.0;

fn this(given: &Given) -> Result<Ascended, Fault> {
    given.this::<Ascended>()
}

fn of(value_si: f64, dimension: Dimension) -> Dynamic {
    value::of(value_si, dimension)
}

/// What fell off, as a list of maps.
fn fallen(given: &Given) -> Answer {
    let stopped = || given.run.stopped();
    let fallen = this(given)?.fallen(&Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    let rows = fallen.map_err(|error| refused(&error))?.into_iter().map(|part| {
        let mut map = Map::new();
        map.insert("name".into(), value::text(&part.name));
        map.insert("mass".into(), of(part.mass, Dimension::MASS));
        map.insert("time".into(), of(part.time, Dimension::TIME));
        map.insert("orbit".into(), value::noun(part.orbit));
        map.insert("ends".into(), value::noun(part.ending));
        Dynamic::from_map(map)
    });
    Ok(Dynamic::from_array(rows.collect()))
}

fn losses(accounts: &Accounts) -> Map {
    let mut map = Map::new();
    for (name, loss) in [
        ("ideal_dv", accounts.ideal),
        ("gravity_loss", accounts.gravity),
        ("drag_loss", accounts.drag),
        ("steering_loss", accounts.steering),
        ("pressure_loss", accounts.pressure),
        ("gained", accounts.gained()),
    ] {
        map.insert(name.into(), of(loss, Dimension::SPEED));
    }
    map
}

fn launch_times(given: &Given) -> Answer {
    let (site, orbit) = (given.this::<Site>()?, given.noun::<Orbit>(0)?);
    let options = given.options(1)?;
    if orbit.body() != site.body() {
        let (about, on) = (orbit.body().name(), site.body().name());
        return Err(Fault::new(format!("the orbit is about {about}, the site is on {on}")).at(0));
    }
    let Some(after) = options.epoch("after")? else {
        return Err(Fault::new("`launch_times` is missing its option `after`")
            .help("write #{ after: epoch(\"2141-07-21 TDB\") }"));
    };
    let momentum = orbit.angular_momentum();
    let size = momentum.norm();
    let normal = momentum / size;
    let pole = site.body().pole(after);
    let inclination = pole.cross(&normal).norm().atan2(pole.dot(&normal));
    let found = plane_passages(site.body(), &site.fixed(), &normal, after, options.si("lead")?.unwrap_or(0.0));
    let rows = found.into_iter().map(|passage| {
        let state = site.state(passage.epoch);
        let latitude = (pole.dot(&state.position) / state.position.norm()).clamp(-1.0, 1.0).asin();
        let way = azimuth(latitude, inclination, passage.southward, state.velocity.norm(), orbit.speed());
        let mut map = Map::new();
        map.insert("epoch".into(), value::noun(passage.epoch));
        map.insert("southward".into(), passage.southward.into());
        map.insert("off".into(), of(passage.off, Dimension::ANGLE));
        map.insert("azimuth".into(), of(way.launch, Dimension::ANGLE));
        Dynamic::from_map(map)
    });
    Ok(Dynamic::from_array(rows.collect()))
}

fn coasted(given: &Given) -> Answer {
    let (orbit, options) = (given.noun::<Orbit>(0)?, given.options(1)?);
    let Some(mass) = options.si("mass")? else {
        return Err(Fault::new("`suborbital` is missing its option `mass`").help("write #{ mass: 2.tonnes }"));
    };
    let around = Surroundings::of(orbit.body(), orbit.epoch());
    let top = orbit.body().air().map(visviva_engine::system::Air::top);
    let Some(floor) = options.si("floor")?.or(top) else {
        return Err(Fault::new(format!("{} has no air: above which height is there time?", orbit.body().name()))
            .help("write #{ floor: 10.km }"));
    };
    let (drag, within) = (options.si("drag_area")?, options.si("within")?.unwrap_or(DAY));
    let stopped = || given.run.stopped();
    let found = suborbital(&around, orbit.state(), mass, drag, floor, within, &Watch::new(&stopped));
    if stopped() {
        return Err(interrupted());
    }
    let found = found.map_err(|error| no_ascent(&error).at(1))?;
    let time = |seconds: Option<f64>| seconds.map_or(Dynamic::UNIT, |seconds| of(seconds, Dimension::TIME));
    let spare = match (&found, options.si("task")?) {
        (_, None) => None,
        (None, Some(task)) => Some(-task),
        (Some(coast), Some(task)) => Some(coast.spare(task)).filter(|spare| spare.is_finite()),
    };
    let mut map = Map::new();
    map.insert("from".into(), time(found.as_ref().map(|coast| coast.from)));
    map.insert("until".into(), time(found.as_ref().and_then(|coast| coast.until)));
    map.insert("time".into(), time(found.as_ref().and_then(visviva_engine::air_flight::ascent::Suborbital::time)));
    let top = found.as_ref().map_or(Dynamic::UNIT, |coast| of(coast.top.0, Dimension::LENGTH));
    map.insert("top".into(), top);
    map.insert("spare".into(), time(spare));
    Ok(Dynamic::from_map(map))
}

/// The definitions of what ascents tell.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Ideal change of speed that the engines gave, as in vacuum.",
        returns: (SPEED, "less the losses it is the inertial speed gained"),
        see_also: &["Ascent.gravity_loss", "Ascent.rotation_gain"],
        examples: &[Example::exact(up!("up.ideal_dv > 5.km_s"), "true")],
        ..Definition::property("Ascent", "ideal_dv", |given| {
            Ok(of(this(given)?.ascent.accounts.ideal, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Speed lost to gravity.",
        returns: (SPEED, "the integral of its part against the inertial velocity"),
        source: Some("[Humble1995], section 2.4"),
        see_also: &["Ascent.drag_loss", "Ascent.steering_loss", "Ascent.pressure_loss"],
        examples: &[Example::exact(up!("up.gravity_loss > up.drag_loss"), "true")],
        ..Definition::property("Ascent", "gravity_loss", |given| {
            Ok(of(this(given)?.ascent.accounts.gravity, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Speed lost to the air.",
        returns: (SPEED, "the integral of its part against the inertial velocity"),
        source: Some("[Humble1995], section 2.4"),
        see_also: &["Ascent.gravity_loss"],
        examples: &[Example::exact(up!("up.drag_loss > 50.m_s"), "true")],
        ..Definition::property("Ascent", "drag_loss", |given| {
            Ok(of(this(given)?.ascent.accounts.drag, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Speed lost to thrust that is not along the inertial velocity, the vertical rise included.",
        returns: (SPEED, "zero or more"),
        source: Some("[Humble1995], section 2.4"),
        see_also: &["Ascent.gravity_loss"],
        examples: &[Example::exact(up!("up.steering_loss > 0.m_s"), "true")],
        ..Definition::property("Ascent", "steering_loss", |given| {
            Ok(of(this(given)?.ascent.accounts.steering, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Speed lost to the pressure of the air on the nozzles.",
        returns: (SPEED, "zero or more"),
        source: Some("[SuttonBiblarz2017], equation 2-13"),
        see_also: &["Ascent.gravity_loss"],
        examples: &[Example::exact(up!("up.pressure_loss > 10.m_s"), "true")],
        ..Definition::property("Ascent", "pressure_loss", |given| {
            Ok(of(this(given)?.ascent.accounts.pressure, Dimension::SPEED))
        })
    },
    Definition {
        summary: "Inertial speed that the turning ground gave at lift-off.",
        returns: (SPEED, "zero on a body that does not turn"),
        see_also: &["Ascent.ideal_dv"],
        examples: &[Example::close(up!("up.rotation_gain"), "335.m_s", "1.m_s")],
        ..Definition::property("Ascent", "rotation_gain", |given| {
            Ok(of(this(given)?.ascent.rotation_gain(), Dimension::SPEED))
        })
    },
    Definition {
        summary: "Most dynamic pressure on the way.",
        returns: (PRESSURE, "ρ v²/2 against the air that turns with the body"),
        see_also: &["Ascent.max_acceleration"],
        examples: &[Example::exact(up!("up.max_dynamic_pressure > 20.kPa"), "true")],
        ..Definition::property("Ascent", "max_dynamic_pressure", |given| {
            Ok(of(this(given)?.ascent.accounts.dynamic_pressure.value, Dimension::PRESSURE))
        })
    },
    Definition {
        summary: "Most acceleration felt on the way: by thrust and air.",
        returns: (ACCELERATION, "gravity is not felt"),
        see_also: &["Ascent.max_dynamic_pressure"],
        examples: &[Example::exact(up!("up.max_acceleration > s.Veyra.gravity.at_surface"), "true")],
        ..Definition::property("Ascent", "max_acceleration", |given| {
            Ok(of(this(given)?.ascent.accounts.felt.value, Dimension::ACCELERATION))
        })
    },
    Definition {
        summary: "From lift-off to the orbit.",
        returns: (TIME, ""),
        see_also: &["Ascent.epoch"],
        examples: &[Example::exact(up!("up.time > 5.minutes"), "true")],
        ..Definition::property("Ascent", "time", |given| Ok(of(this(given)?.ascent.time, Dimension::TIME)))
    },
    Definition {
        summary: "Lift-off.",
        returns: (EPOCH, "after the wait for a plane, where there was one"),
        see_also: &["Ascent.time"],
        examples: &[Example::exact(up!("up.epoch == epoch(\"2141-07-21 TDB\")"), "true")],
        ..Definition::property("Ascent", "epoch", |given| Ok(value::noun(this(given)?.epoch)))
    },
    Definition {
        summary: "Mass in orbit.",
        returns: (MASS, "of the vehicle, with what it has left"),
        see_also: &["Voyage.mass"],
        examples: &[Example::exact(up!("up.mass == v.mass"), "true")],
        ..Definition::property("Ascent", "mass", |given| Ok(of(this(given)?.ascent.vehicle.mass(), Dimension::MASS)))
    },
    Definition {
        summary: "Angle from the vertical to which it pitched over: give it as `kick` to fly the same way without the search.",
        returns: (ANGLE, ""),
        see_also: &["Voyage.ascend"],
        examples: &[Example::close(up!("up.kick"), "2.7.deg", "1e-9.deg")],
        ..Definition::property("Ascent", "kick", |given| Ok(of(this(given)?.ascent.kick, Dimension::ANGLE)))
    },
    Definition {
        summary: "Launch azimuth: the way to pitch over, clockwise from north, the ground's own motion taken off.",
        returns: (ANGLE, ""),
        source: Some("[Vallado2013], section 6.4.2"),
        see_also: &["Ascent.dogleg"],
        examples: &[Example::close(up!("up.azimuth"), "90.deg", "1e-6.deg")],
        ..Definition::property("Ascent", "azimuth", |given| {
            Ok(of(this(given)?.ascent.azimuth.launch, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "How far the site lies outside of what the wanted plane passes over: made up for by steering.",
        returns: (ANGLE, "zero where the plane passes over the site"),
        see_also: &["Ascent.azimuth"],
        examples: &[Example::exact(up!("up.dogleg"), "0.deg")],
        ..Definition::property("Ascent", "dogleg", |given| Ok(of(this(given)?.ascent.azimuth.dogleg, Dimension::ANGLE)))
    },
    Definition {
        summary: "What fell off on the way: name, mass, time after lift-off, the orbit it was left on, and where that ends.",
        returns: (Kind::List, "of maps #{ name, mass, time, orbit, ends }; on conics, air left out"),
        see_also: &["Ending", "clearance"],
        examples: &[Example::exact(up!("up.fallen[0].ends.what"), "\"strikes the ground\"")],
        ..Definition::property("Ascent", "fallen", fallen)
    },
    Definition {
        summary: "Its phases: what burned, from when to when, and what its speed was lost to.",
        returns: (
            Kind::List,
            "of maps #{ name, start, end, ideal_dv, gravity_loss, drag_loss, steering_loss, pressure_loss, gained }",
        ),
        see_also: &["Ascent.events"],
        examples: &[Example::exact(up!("up.phases[0].name"), "\"pair\"")],
        ..Definition::property("Ascent", "phases", |given| {
            let rows = this(given)?.ascent.phases.into_iter().map(|phase| {
                let mut map = losses(&phase.accounts);
                map.insert("name".into(), value::text(&phase.name));
                map.insert("start".into(), of(phase.start, Dimension::TIME));
                map.insert("end".into(), of(phase.end, Dimension::TIME));
                Dynamic::from_map(map)
            });
            Ok(Dynamic::from_array(rows.collect()))
        })
    },
    Definition {
        summary: "What happened on the way: lift-off, pitch-over, what burned out and fell, cut-off.",
        returns: (Kind::List, "of maps #{ time, what }, the time after lift-off"),
        see_also: &["Ascent.phases", "Ascent.fallen"],
        examples: &[Example::exact(up!("up.events[0].what"), "\"lift-off\"")],
        ..Definition::property("Ascent", "events", |given| {
            let rows = this(given)?.ascent.events.into_iter().map(|event| {
                let mut map = Map::new();
                map.insert("time".into(), of(event.time, Dimension::TIME));
                map.insert("what".into(), value::text(&event.what));
                Dynamic::from_map(map)
            });
            Ok(Dynamic::from_array(rows.collect()))
        })
    },
    Definition {
        summary: "When a site passes through the plane of an orbit: the times to lift off into it.",
        parameters: &[
            Parameter::new("orbit", ORBIT, "whose plane is wanted, about the site's body"),
            Parameter::new("span", Kind::Options(LAUNCH), "after which epoch"),
        ],
        returns: (
            Kind::List,
            "of maps #{ epoch, southward, off, azimuth }: two a turn; one, the nearest, where the plane does not reach the latitude, `off` by an angle",
        ),
        source: Some("[Vallado2013], section 6.4.2"),
        see_also: &["Voyage.ascend", "Body.site"],
        examples: &[Example::exact(
            "let s = system(\"velm\"); let o = orbit(s.Veyra, #{ periapsis_altitude: 180.km, apoapsis_altitude: 180.km, inclination: 20.deg }); s.Veyra.site(6.deg, 20.deg).launch_times(o, #{ after: o.epoch }).len",
            "2",
        )],
        ..Definition::method("Site", "launch_times", launch_times)
    },
    Definition {
        summary: "How long a craft stays above the air before it falls back, and whether what must be done in it fits.",
        parameters: &[
            Parameter::new("start", ORBIT, "where it is and how it moves"),
            Parameter::new("craft", Kind::Options(COAST), "its mass and shape, and what must fit"),
        ],
        returns: (
            Kind::Map,
            "#{ from, until, time, top, spare }, times from the start; `until` and `time` are () where it does not come back, `from` is () where it never is above",
        ),
        source: Some("integrated with gravity, flattening and air: docs/forces.md"),
        see_also: &["Voyage.ascend"],
        examples: &[Example::exact(
            "let s = system(\"velm\"); let o = orbit_from(s.Veyra, vec(4300.km, 0.km, 0.km), vec(2.km_s, 1.km_s, 0.km_s), epoch(\"2141-07-21 TDB\")); suborbital(o, #{ mass: 1.tonnes, task: 5.minutes }).spare > 0.s",
            "true",
        )],
        ..Definition::function("suborbital", coasted)
    },
];
