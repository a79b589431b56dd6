//! What can be read off a window, and the best of a list of them.

use rhai::{Dynamic, Map};
use visviva_engine::arc::Figures;
use visviva_engine::quantity::Dimension;
use visviva_engine::vector::Vec3;

use super::arc::Arc;
use super::definition::{Answer, Definition, Example};
use super::fault::Fault;
use super::given::Given;
use super::kind::{ANGLE, EPOCH, Kind, ORBIT, SPEED, TIME, VECTOR};
use super::value;
use super::vector::Vector;
use super::windows::Window;

/// A window to read from: the Hohmann-like one of 2033.
macro_rules! of_2033 {
    ($reading:literal) => {
        concat!(
            "let s = system(\"sol\"); windows(s.Earth, s.Mars, #{ between: [epoch(\"2033-03-01 TDB\"), epoch(\"2033-06-01 TDB\")], ",
            "flight_time: [150.days, 250.days], parking: 300.km, arrival: 400.km }).cheapest",
            $reading
        )
    };
}

const WINDOW: Kind = Kind::Noun("Window");

fn this(given: &Given) -> Result<Window, Fault> {
    given.this::<Window>()
}

/// An excess velocity as a vector of speeds; an error where the trip has none.
fn excess(v: Option<Vec3>, end: &str) -> Answer {
    match v {
        Some(v) => Ok(value::noun(Vector::new(v, Dimension::SPEED))),
        None => Err(Fault::new(format!("this window has no v-infinity at its {end}"))
            .note("that end of the trip is the body that the other one goes round")),
    }
}

/// What a plan or a flight came to.
fn figures(figures: &Figures) -> Dynamic {
    let mut map = Map::new();
    map.insert("dv".into(), value::of(figures.dv, Dimension::SPEED));
    map.insert("arrive".into(), value::noun(figures.arrive));
    map.insert("periapsis_radius".into(), value::of(figures.periapsis_radius, Dimension::LENGTH));
    map.insert("periapsis_miss".into(), value::of(figures.periapsis_miss, Dimension::LENGTH));
    Dynamic::from_map(map)
}

fn best(given: &Given, price: impl Fn(&Window) -> f64) -> Answer {
    let list = given.this::<rhai::Array>()?;
    let mut best: Option<(f64, &Dynamic)> = None;
    let name = given.definition.name;
    for entry in &list {
        let Some(window) = entry.read_lock::<Window>() else {
            return Err(Fault::new(format!(
                "`{name}` expects a list of windows, got one with {}",
                value::describe(entry)
            )));
        };
        let cost = price(&window);
        if best.is_none_or(|(least, _)| cost < least) {
            best = Some((cost, entry));
        }
    }
    if let Some((_, window)) = best {
        Ok(window.clone())
    } else {
        let fault = Fault::new(format!("there is no window, so none is the {name}"));
        Err(match given.run.search_note() {
            Some(note) => fault.note(note).help("widen `between` or `flight_time`, or ask `list.is_empty` first"),
            None => fault.help("ask `list.is_empty` first"),
        })
    }
}

pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The window of a list that costs least, in the sense in which its search ranked.",
        returns: (WINDOW, "an empty list is an error that says which bound is to blame"),
        see_also: &["windows", "list.soonest", "list.fastest"],
        examples: &[Example::close(of_2033!(".dv_departure"), "3.6.km_s", "0.2.km_s")],
        ..Definition::property("list", "cheapest", |given| best(given, Window::price))
    },
    Definition {
        summary: "The window of a list that departs first.",
        returns: (WINDOW, "an empty list is an error"),
        see_also: &["windows", "list.cheapest", "list.fastest"],
        examples: &[Example::exact(
            "let s = system(\"velm\"); windows(s.Veyra, s.Oru, #{ between: [epoch(\"2140-06-01 TDB\"), epoch(\"2145-01-01 TDB\")], \
             parking: 180.km }).soonest.depart < epoch(\"2142-01-01 TDB\")",
            "true",
        )],
        ..Definition::property("list", "soonest", |given| best(given, |window| window.planned().depart.tdb_seconds()))
    },
    Definition {
        summary: "The window of a list that is on its way for the shortest time.",
        returns: (WINDOW, "an empty list is an error"),
        see_also: &["windows", "list.cheapest", "list.soonest"],
        examples: &[Example::exact(
            "let s = system(\"velm\"); windows(s.Veyra, s.Oru, #{ between: [epoch(\"2140-06-01 TDB\"), epoch(\"2145-01-01 TDB\")], \
             parking: 180.km }).fastest.flight_time < 2.years",
            "true",
        )],
        ..Definition::property("list", "fastest", |given| best(given, |window| window.planned().flight_time))
    },
    Definition {
        summary: "When the departure burn is.",
        returns: (EPOCH, "periapsis of the hyperbola"),
        see_also: &["Window.arrive", "Window.burn"],
        examples: &[Example::close(of_2033!(".depart - epoch(\"2033-04-15 TDB\")"), "0.days", "20.days")],
        ..Definition::property("Window", "depart", |given| Ok(value::noun(this(given)?.planned().depart)))
    },
    Definition {
        summary: "When periapsis about the body reached is.",
        returns: (EPOCH, "as planned"),
        see_also: &["Window.depart"],
        examples: &[Example::close(of_2033!(".arrive - epoch(\"2033-11-01 TDB\")"), "0.days", "40.days")],
        ..Definition::property("Window", "arrive", |given| Ok(value::noun(this(given)?.planned().arrive)))
    },
    Definition {
        summary: "From departure to arrival.",
        returns: (TIME, "between the two periapses"),
        see_also: &["Window.depart", "Window.arrive"],
        examples: &[Example::close(of_2033!(".flight_time"), "200.days", "50.days")],
        ..Definition::property("Window", "flight_time", |given| {
            Ok(value::of(this(given)?.planned().flight_time, Dimension::TIME))
        })
    },
    Definition {
        summary: "The orbit to depart from, at the burn.",
        returns: (ORBIT, "as given, or the circle whose plane suits best"),
        see_also: &["Window.burn", "voyage"],
        examples: &[Example::close(of_2033!(".parking.altitude"), "300.km", "1.m")],
        ..Definition::property("Window", "parking", |given| Ok(value::noun(this(given)?.flown().parking.clone())))
    },
    Definition {
        summary: "The departure burn, shot in the model until the aim at the body reached is met.",
        returns: (Kind::Noun("Burn"), "planned on the parking orbit"),
        see_also: &["Window.parking", "Voyage.burn"],
        examples: &[Example::close(of_2033!(".burn.dv"), "3.6.km_s", "0.2.km_s")],
        ..Definition::property("Window", "burn", |given| Ok(value::noun(this(given)?.flown().burn.clone())))
    },
    Definition {
        summary: "The orbit arrived on, at its periapsis: capture from here.",
        returns: (ORBIT, "the hyperbola about the body reached, as planned"),
        see_also: &["capture", "Window.arrive"],
        examples: &[Example::close(of_2033!(".arrival.altitude"), "400.km", "1.km")],
        ..Definition::property("Window", "arrival", |given| Ok(value::noun(this(given)?.flown().arrival.clone())))
    },
    Definition {
        summary: "The arc between the two bodies.",
        returns: (Kind::Noun("Arc"), "aims at both ends included"),
        see_also: &["transfer", "Window.c3"],
        examples: &[Example::close(of_2033!(".arc.orbit.eccentricity"), "0.2", "0.1")],
        ..Definition::property("Window", "arc", |given| Ok(value::noun(Arc::from(this(given)?.flown().arc.clone()))))
    },
    Definition {
        summary: "Twice the energy about the body left.",
        returns: (Kind::Of(Dimension::SPECIFIC_ENERGY), "the square of v-infinity"),
        see_also: &["Window.v_inf_depart"],
        examples: &[Example::close(of_2033!(".c3"), "9.km2_s2", "2.km2_s2")],
        ..Definition::property("Window", "c3", |given| {
            Ok(value::of(this(given)?.flown().c3, Dimension::SPECIFIC_ENERGY))
        })
    },
    Definition {
        summary: "Excess velocity on leaving.",
        returns: (VECTOR, "of speeds, inertial; an error where there is none"),
        see_also: &["Window.v_inf_arrive", "Window.declination"],
        examples: &[Example::close(of_2033!(".v_inf_depart.norm"), "3.km_s", "0.4.km_s")],
        ..Definition::property("Window", "v_inf_depart", |given| excess(this(given)?.flown().v_inf_depart, "start"))
    },
    Definition {
        summary: "Excess velocity on arriving.",
        returns: (VECTOR, "of speeds, inertial; an error where there is none"),
        see_also: &["Window.v_inf_depart", "capture"],
        examples: &[Example::close(of_2033!(".v_inf_arrive.norm"), "3.6.km_s", "0.6.km_s")],
        ..Definition::property("Window", "v_inf_arrive", |given| excess(this(given)?.flown().v_inf_arrive, "end"))
    },
    Definition {
        summary: "Δv of the departure burn.",
        returns: (SPEED, "flown where it could be"),
        see_also: &["Window.dv_arrival", "Window.dv"],
        examples: &[Example::close(of_2033!(".dv_departure"), "3.6.km_s", "0.2.km_s")],
        ..Definition::property("Window", "dv_departure", |given| {
            Ok(value::of(this(given)?.flown().dv_departure, Dimension::SPEED))
        })
    },
    Definition {
        summary: "The burn on the way that turns the plane of a broken-plane arc to the goal.",
        returns: (Kind::Noun("Burn"), "planned about the common body; an error where the arc is unbroken"),
        see_also: &["Window.burn", "windows", "Voyage.burn"],
        examples: &[Example::close(
            "let s = system(\"sol\"); windows(s.Earth, s.Mars, #{ between: [epoch(\"2028-11-28 TDB\"), epoch(\"2028-12-02 TDB\")], \
             flight_time: [242.days, 250.days], parking: 300.km, arrival: 400.km }).cheapest.plane_change.dv",
            "0.32.km_s",
            "0.01.km_s",
        )],
        ..Definition::property("Window", "plane_change", |given| match &this(given)?.flown().plane_change {
            Some(change) => Ok(value::noun(change.burn.clone())),
            None => Err(Fault::new("the arc of this window lies in one plane: it has no plane change")
                .help("`w.why` says which kind of arc it is")),
        })
    },
    Definition {
        summary: "Which arc it flies: type I (less than half a revolution) or II, with whole revolutions and branch, or \"broken plane\".",
        returns: (Kind::Text, "such as \"II\" or \"1 rev I left\""),
        see_also: &["windows", "list.table"],
        examples: &[Example::exact(of_2033!(".type_of_arc"), "\"I\"")],
        ..Definition::property("Window", "type_of_arc", |given| {
            Ok(value::text(super::windows_table::kind(this(given)?.planned())))
        })
    },
    Definition {
        summary: "Whole revolutions on the way.",
        returns: (Kind::Whole, "0 for an arc of less than one"),
        see_also: &["windows", "Window.type_of_arc"],
        examples: &[Example::exact(of_2033!(".revolutions"), "0")],
        ..Definition::property("Window", "revolutions", |given| {
            Ok(Dynamic::from_int(i64::from(this(given)?.planned().arc.family.revolutions)))
        })
    },
    Definition {
        summary: "Δv of the arrival burn.",
        returns: (SPEED, "an error where no arrival orbit was asked for"),
        see_also: &["Window.dv_departure", "Window.dv"],
        examples: &[Example::close(of_2033!(".dv_arrival"), "2.4.km_s", "0.5.km_s")],
        ..Definition::property("Window", "dv_arrival", |given| match this(given)?.flown().dv_arrival {
            Some(dv) => Ok(value::of(dv, Dimension::SPEED)),
            None => Err(Fault::new("this window was searched without an arrival orbit")
                .help("give `windows` one: arrival: 400.km")),
        })
    },
    Definition {
        summary: "Δv of all its burns: departure, plane change, arrival.",
        returns: (SPEED, "without the arrival where no arrival orbit was asked for"),
        see_also: &["Window.dv_departure", "Window.dv_arrival"],
        examples: &[Example::close(of_2033!(".dv"), "6.km_s", "0.6.km_s")],
        ..Definition::property("Window", "dv", |given| Ok(value::of(this(given)?.flown().dv_total, Dimension::SPEED)))
    },
    Definition {
        summary: "By how much the body reached is ahead of the body left at departure.",
        returns: (ANGLE, "in the plane of motion of the body left"),
        see_also: &["phase_angle"],
        examples: &[Example::close(of_2033!(".phase_angle"), "30.deg", "20.deg")],
        ..Definition::property("Window", "phase_angle", |given| match this(given)?.planned().phase_angle {
            Some(angle) => Ok(value::of(angle, Dimension::ANGLE)),
            None => Err(Fault::new("this window has no phase angle").note("one end of the trip goes round the other")),
        })
    },
    Definition {
        summary: "Declination of the departure asymptote to the equator of the body left.",
        returns: (ANGLE, "the least inclination of an orbit whose plane holds the asymptote"),
        see_also: &["Window.v_inf_depart"],
        examples: &[Example::close(of_2033!(".declination"), "-54.deg", "6.deg")],
        ..Definition::property("Window", "declination", |given| match this(given)?.flown().declination {
            Some(angle) => Ok(value::of(angle, Dimension::ANGLE)),
            None => Err(Fault::new("this window has no departure asymptote")),
        })
    },
    Definition {
        summary: "What the arc from centre to centre came to.",
        returns: (Kind::Map, "dv, arrive, periapsis_radius, periapsis_miss"),
        see_also: &["Window.flown"],
        examples: &[Example::close(of_2033!(".estimate.dv"), "3.6.km_s", "0.2.km_s")],
        ..Definition::property("Window", "estimate", |given| Ok(figures(&this(given)?.flown().estimate)))
    },
    Definition {
        summary: "What the burn comes to when the model flies it.",
        returns: (Kind::Map, "dv, arrive, periapsis_radius, periapsis_miss; an error where the flight did not close"),
        see_also: &["Window.estimate"],
        examples: &[Example::close(of_2033!(".flown.periapsis_miss"), "0.m", "1.m")],
        ..Definition::property("Window", "flown", |given| {
            let window = this(given)?;
            match &window.flown().flown {
                Some(flown) => Ok(figures(flown)),
                None => {
                    Err(Fault::new("the burn of this window was not flown to its aim").note(window.flown().why.clone()))
                }
            }
        })
    },
    Definition {
        summary: "Why it stands where it stands in its list.",
        returns: (Kind::Text, "in one sentence"),
        see_also: &["windows"],
        examples: &[Example::exact(of_2033!(".why.len > 0"), "true")],
        ..Definition::property("Window", "why", |given| Ok(value::text(this(given)?.flown().why.as_str())))
    },
];
