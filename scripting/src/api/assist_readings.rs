//! What can be read off a moon assist.

use rhai::Dynamic;
use visviva_engine::burn::Burn;
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;

use super::aims::AIM;
use super::assist::Assist;
use super::definition::{Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, BODY, EPOCH, Kind, LENGTH, ORBIT, SPEED, VECTOR};
use super::refusal::no_burn;
use super::value;
use super::vector::Vector;
use visviva_engine::arc::assist_departure::AssistDeparture;

/// A capture at Oru to read from.
macro_rules! at_oru {
    ($reading:literal) => {
        concat!(
            "let s = system(\"velm\"); let a = capture_by(s.Keld, #{ v_inf: vec(-2.79.km_s, 1.04.km_s, -0.3.km_s), ",
            "between: [epoch(\"2142-06-10 TDB\"), epoch(\"2142-07-05 TDB\")] }); ",
            $reading
        )
    };
}

/// The same from a day at Veyra.
macro_rules! from_veyra {
    ($reading:literal) => {
        concat!(
            "let s = system(\"velm\"); let a = capture_by(s.Keld, #{ leaving: s.Veyra, depart: epoch(\"2141-07-22 TDB\"), parking: 180.km, ",
            "between: [epoch(\"2142-06-10 TDB\"), epoch(\"2142-06-20 TDB\")] }); ",
            $reading
        )
    };
}

fn this(given: &Given) -> Result<Assist, Fault> {
    given.this::<Assist>()
}

fn departure(given: &Given) -> Result<AssistDeparture, Fault> {
    this(given)?.departure.map(|departure| (*departure).clone()).ok_or_else(|| {
        Fault::new("this assist was searched without a departure")
            .help("give `capture_by` one: leaving: sys.Veyra, depart: w.depart, parking: 180.km")
    })
}

/// A burn planned on an orbit at its epoch.
fn burn_on(orbit: &Orbit, dv: visviva_engine::vector::Vec3) -> Result<Dynamic, Fault> {
    let burn = Burn::planned(orbit.body(), orbit.epoch(), *orbit.state(), dv).map_err(|error| no_burn(&error))?;
    Ok(value::noun(burn.labelled("capture burn")))
}

/// The definitions of what an assist holds.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The moon passed.",
        returns: (BODY, ""),
        see_also: &["Assist.before"],
        examples: &[Example::exact(at_oru!("a.moon.name"), "\"Keld\"")],
        ..Definition::property("Assist", "moon", |given| Ok(value::noun(this(given)?.found.moon)))
    },
    Definition {
        summary: "When the moon is passed at periapsis.",
        returns: (EPOCH, ""),
        see_also: &["Assist.aim"],
        examples: &[Example::exact(at_oru!("a.epoch > epoch(\"2142-06-10 TDB\")"), "true")],
        ..Definition::property("Assist", "epoch", |given| Ok(value::noun(this(given)?.found.epoch)))
    },
    Definition {
        summary: "Where to aim: the point of the moon's B-plane, and when.",
        returns: (AIM, "for `correct`"),
        see_also: &["Voyage.correct", "Assist.epoch"],
        examples: &[Example::exact(at_oru!("print(a.aim)"), "()")],
        ..Definition::property("Assist", "aim", |given| Ok(value::noun(this(given)?.found.aim())))
    },
    Definition {
        summary: "The excess velocity of the arrival at the planet.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Assist.v_inf_moon"],
        examples: &[Example::close(at_oru!("a.v_inf.x"), "-2.79.km_s", "1e-9.m_s")],
        ..Definition::property("Assist", "v_inf", |given| {
            Ok(Vector::new(this(given)?.found.v_infinity, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The excess velocity at the moon before the pass.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Assist.v_inf", "Assist.turn"],
        examples: &[Example::close(at_oru!("a.v_inf_moon.norm"), "3.6.km_s", "0.3.km_s")],
        ..Definition::property("Assist", "v_inf_moon", |given| {
            Ok(Vector::new(this(given)?.found.flyby.v_in, Dimension::SPEED).into_value())
        })
    },
    Definition {
        summary: "The height of the pass above the moon's equatorial radius.",
        returns: (LENGTH, ""),
        see_also: &["Assist.turn", "Assist.pass"],
        examples: &[Example::exact(at_oru!("a.altitude > 100.km"), "true")],
        ..Definition::property("Assist", "altitude", |given| {
            Ok(value::of(this(given)?.found.altitude(), Dimension::LENGTH))
        })
    },
    Definition {
        summary: "The angle by which the moon turns the excess velocity.",
        returns: (ANGLE, ""),
        see_also: &["Assist.dv", "Assist.altitude"],
        examples: &[Example::close(
            at_oru!(
                "a.turn - 2 * asin(1 / (1 + a.pass.periapsis_radius * a.v_inf_moon.norm * a.v_inf_moon.norm / s.Keld.gm))"
            ),
            "0.deg",
            "1e-6.deg",
        )],
        ..Definition::property("Assist", "turn", |given| {
            Ok(value::of(this(given)?.found.flyby.turn_angle, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "By how much the moon changes the velocity about its planet.",
        returns: (SPEED, "for nothing"),
        see_also: &["Assist.saved"],
        examples: &[Example::close(at_oru!("a.dv - 2 * a.v_inf_moon.norm * sin(a.turn / 2)"), "0.m_s", "1e-6.m_s")],
        ..Definition::property("Assist", "dv", |given| Ok(value::of(this(given)?.found.dv_saved(), Dimension::SPEED)))
    },
    Definition {
        summary: "The hyperbola about the planet on the way in, without the moon's pull.",
        returns: (ORBIT, "where it comes nearest to the moon"),
        see_also: &["Assist.after"],
        examples: &[Example::exact(at_oru!("a.before.eccentricity > 1"), "true")],
        ..Definition::property("Assist", "before", |given| Ok(value::noun(this(given)?.found.before)))
    },
    Definition {
        summary: "The hyperbola about the moon at its periapsis.",
        returns: (ORBIT, ""),
        see_also: &["Assist.altitude"],
        examples: &[Example::close(at_oru!("a.pass.periapsis_altitude - a.altitude"), "0.m", "1.mm")],
        ..Definition::property("Assist", "pass", |given| Ok(value::noun(this(given)?.found.pass)))
    },
    Definition {
        summary: "The orbit about the planet after the pass.",
        returns: (ORBIT, "bound"),
        see_also: &["Assist.before", "meet"],
        examples: &[Example::exact(at_oru!("a.after.energy < 0.km2_s2"), "true")],
        ..Definition::property("Assist", "after", |given| Ok(value::noun(this(given)?.found.after)))
    },
    Definition {
        summary: "Δv of the burns that the capture takes, at the moon and at the planet: nothing where the pass alone captures.",
        returns: (SPEED, ""),
        see_also: &["capture_by", "Assist.moon_burn", "Assist.planet_burn"],
        examples: &[Example::exact(at_oru!("a.burns"), "0.m_s")],
        ..Definition::property("Assist", "burns", |given| Ok(value::of(this(given)?.found.burns(), Dimension::SPEED)))
    },
    Definition {
        summary: "The burn at the periapsis of the pass, planned about the moon; `()` where there is none.",
        returns: (Kind::Anything, "a Burn, or `()`"),
        see_also: &["capture_by", "Assist.burns"],
        examples: &[Example::exact(at_oru!("a.moon_burn"), "()")],
        ..Definition::property("Assist", "moon_burn", |given| {
            let found = this(given)?.found;
            if found.flyby.burn == 0.0 {
                return Ok(Dynamic::UNIT);
            }
            let along = found.pass.state().velocity.normalize() * found.flyby.burn;
            burn_on(&found.pass, along)
        })
    },
    Definition {
        summary: "The burn at the planet's periapsis after the pass, planned about the planet; `()` where there is none.",
        returns: (Kind::Anything, "a Burn, or `()`"),
        see_also: &["capture_by", "Assist.burns"],
        examples: &[Example::exact(at_oru!("a.planet_burn"), "()")],
        ..Definition::property("Assist", "planet_burn", |given| {
            let found = this(given)?.found;
            let Some(burn) = &found.giant_burn else { return Ok(Dynamic::UNIT) };
            burn_on(&burn.before, burn.after.state().velocity - burn.before.state().velocity)
        })
    },
    Definition {
        summary: "The orbit captured into, after the pass and any burn.",
        returns: (ORBIT, ""),
        see_also: &["capture_by", "Assist.after"],
        examples: &[Example::exact(at_oru!("a.captured.energy < 0.km2_s2"), "true")],
        ..Definition::property("Assist", "captured", |given| Ok(value::noun(this(given)?.found.captured().clone())))
    },
    Definition {
        summary: "The inclination of the orbit afterwards to the planet's equator.",
        returns: (ANGLE, ""),
        see_also: &["capture_by"],
        examples: &[Example::close(at_oru!("a.inclination - a.after.inclination"), "0.deg", "1e-6.deg")],
        ..Definition::property("Assist", "inclination", |given| {
            Ok(value::of(this(given)?.found.elements.inclination, Dimension::ANGLE))
        })
    },
    Definition {
        summary: "The burn that the pass is instead of, at the lowest periapsis about the planet that the search allowed.",
        returns: (SPEED, "to the same energy, without the moon"),
        see_also: &["Assist.burn_without", "Assist.dv"],
        examples: &[Example::close(at_oru!("a.saved - a.burn_without(97500.km)"), "0.m_s", "1e-9.m_s")],
        ..Definition::property("Assist", "saved", |given| {
            let assist = this(given)?;
            Ok(value::of(assist.without(assist.least_radius), Dimension::SPEED))
        })
    },
    Definition {
        summary: "The burn at a periapsis about the planet that would leave the same energy without the moon.",
        parameters: &[Parameter::new("radius", LENGTH, "of the periapsis, from the planet's centre")],
        returns: (SPEED, "by vis viva; the lower the periapsis, the smaller"),
        see_also: &["Assist.saved"],
        examples: &[Example::exact(at_oru!("a.burn_without(110000.km) < a.burn_without(950000.km)"), "true")],
        ..Definition::method("Assist", "burn_without", |given| {
            let (assist, radius) = (this(given)?, given.length(0)?);
            let least = assist.found.before.body().radius();
            if !(radius >= least) {
                return Err(Fault::new("this periapsis lies inside the planet").at(0));
            }
            Ok(value::of(assist.without(radius), Dimension::SPEED))
        })
    },
    Definition {
        summary: "The orbit that is departed from.",
        returns: (ORBIT, "at the burn; an error where the search had no departure"),
        see_also: &["Assist.burn"],
        examples: &[Example::close(from_veyra!("a.parking.altitude"), "180.km", "1.m")],
        ..Definition::property("Assist", "parking", |given| Ok(value::noun(departure(given)?.parking)))
    },
    Definition {
        summary: "The departure burn, as the model flies it to the aim.",
        returns: (Kind::Noun("Burn"), "planned on `parking`; an error where the search had no departure"),
        see_also: &["Assist.parking", "Assist.estimate", "Voyage.burn"],
        examples: &[Example::close(from_veyra!("a.burn.dv"), "2.47.km_s", "0.1.km_s")],
        ..Definition::property("Assist", "burn", |given| Ok(value::noun(departure(given)?.burn)))
    },
    Definition {
        summary: "The size of the departure burn before the model was flown.",
        returns: (SPEED, "from centre to centre"),
        see_also: &["Assist.burn"],
        examples: &[Example::close(from_veyra!("a.estimate - a.burn.dv"), "0.m_s", "50.m_s")],
        ..Definition::property("Assist", "estimate", |given| {
            Ok(value::of(departure(given)?.estimate, Dimension::SPEED))
        })
    },
    Definition {
        summary: "What is left of the aim when the departure burn is flown.",
        returns: (Kind::List, "metres across, and milliseconds in time told as metres"),
        see_also: &["Assist.burn"],
        examples: &[Example::exact(from_veyra!("a.residuals.len > 0"), "true")],
        ..Definition::property("Assist", "residuals", |given| {
            Ok(Dynamic::from_array(departure(given)?.residuals.into_iter().map(Dynamic::from_float).collect()))
        })
    },
    Definition {
        summary: "The other passes of the search, best first.",
        returns: (Kind::List, "of assists, without their departures"),
        see_also: &["capture_by"],
        examples: &[Example::exact(
            at_oru!("a.others.filter(|o| o.after.eccentricity < 1).len == a.others.len"),
            "true",
        )],
        ..Definition::property("Assist", "others", |given| {
            let assist = this(given)?;
            let all = assist.others.iter().map(|found| {
                let (found, others) = (found.clone(), std::sync::Arc::default());
                value::noun(Assist { found, departure: None, others, least_radius: assist.least_radius })
            });
            Ok(Dynamic::from_array(all.collect()))
        })
    },
    Definition {
        summary: "Why it captures, and why it is the one.",
        returns: (Kind::Text, "in one sentence"),
        see_also: &["capture_by"],
        examples: &[Example::exact(at_oru!("a.why.len > 0"), "true")],
        ..Definition::property("Assist", "why", |given| Ok(value::text(this(given)?.why())))
    },
];
