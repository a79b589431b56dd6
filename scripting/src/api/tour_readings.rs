//! What can be read off a tour.

use rhai::{Dynamic, Map};
use visviva_engine::arc::tour::{Tour, TourLeg, TourPass};
use visviva_engine::burn::Burn;
use visviva_engine::quantity::Dimension;
use visviva_engine::vector::Vec3;

use super::aims::AIM;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{EPOCH, Kind, ORBIT, SPEED, TIME, VECTOR};
use super::value;
use super::vector::Vector;

const BURN: Kind = Kind::Noun("Burn");

/// A tour to read from: Venus on the way to Mercury in 1973.
macro_rules! of_1973 {
    ($reading:literal) => {
        concat!(
            "let s = system(\"sol\"); tour(#{ from: s.Earth, through: [s.Venus], to: s.Mercury, between: [epoch(\"1973-10-15 TDB\"), ",
            "epoch(\"1973-11-25 TDB\")], parking: 185.km, flight_times: [[80.days, 110.days], [40.days, 65.days]], evaluations: 3000 })",
            $reading
        )
    };
}

fn this(given: &Given) -> Result<Tour, Fault> {
    given.this::<Tour>()
}

fn speed(si: f64) -> Dynamic {
    value::of(si, Dimension::SPEED)
}

fn velocity(v: Vec3) -> Dynamic {
    value::noun(Vector::new(v, Dimension::SPEED))
}

fn leg_map(tour: &Tour, index: usize, leg: &TourLeg) -> Dynamic {
    let mut map = Map::new();
    let mut put = |key: &str, item: Dynamic| {
        map.insert(key.into(), item);
    };
    put("number", Dynamic::from_int(i64::try_from(index + 1).unwrap_or(i64::MAX)));
    put("start", value::noun(leg.from.clone()));
    put("end", value::noun(leg.to.clone()));
    put("kind", value::text(leg.kind.words()));
    put("revolutions", Dynamic::from_int(i64::from(leg.revolutions)));
    put("depart", value::noun(leg.depart));
    put("arrive", value::noun(leg.arrive));
    put("flight_time", value::of(leg.arrive.seconds_since(leg.depart), Dimension::TIME));
    put("v_inf_depart", velocity(leg.v_inf_depart));
    put("v_inf_arrive", velocity(leg.v_inf_arrive));
    put("dv", speed(leg.burn.map_or(0.0, |(_, dv)| dv.norm())));
    put("correction", value::noun(tour.correction_epoch(index)));
    put("miss", value::of(leg.miss, Dimension::LENGTH));
    if let Some(aim) = tour.aims.get(index) {
        put("aim", value::noun(aim.clone()));
    }
    if let Some(flown) = tour.flown.as_ref().ok().and_then(|flown| flown.legs.get(index)) {
        put("flown", value::noun(flown.burn.clone()));
        put("estimate", speed(flown.estimate));
    }
    Dynamic::from_map(map)
}

fn pass_map(pass: &TourPass) -> Dynamic {
    let mut map = Map::new();
    let mut put = |key: &str, item: Dynamic| {
        map.insert(key.into(), item);
    };
    put("body", value::noun(pass.body.clone()));
    put("epoch", value::noun(pass.epoch));
    put("altitude", value::of(pass.altitude, Dimension::LENGTH));
    put("turn", value::of(pass.turn, Dimension::ANGLE));
    put("v_in", velocity(pass.v_in));
    put("v_out", velocity(pass.v_out));
    put("burn", speed(pass.burn));
    put("dv", speed(pass.gain));
    put("v_inf_mismatch", speed(pass.residual.speed));
    put("turn_mismatch", value::of(pass.residual.turn, Dimension::ANGLE));
    put("altitude_mismatch", value::of(pass.residual.altitude, Dimension::LENGTH));
    Dynamic::from_map(map)
}

/// The number of a leg, counted from 1, as its place in the list.
fn leg_of(given: &Given, tour: &Tour) -> Result<usize, Fault> {
    let (said, count) = (given.whole(0)?, tour.legs.len());
    match usize::try_from(said).ok().filter(|number| (1..=count).contains(number)) {
        Some(number) => Ok(number - 1),
        None => Err(Fault::new(format!("this tour has legs 1 to {count}, and no leg {said}")).at(0)),
    }
}

fn burns(tour: &Tour) -> Result<Vec<Burn>, Fault> {
    let flown = tour.flown.as_ref().map_err(|why| {
        Fault::new(format!("this tour was not flown to its end: {why}"))
            .help("fly it leg by leg: v.correct(#{ at: t.correction(1), aim: t.aim(1) })")
    })?;
    let mut list = vec![tour.departure.burn.clone()];
    for leg in &flown.legs {
        list.push(leg.burn.clone());
        list.extend(leg.pass_burn.clone());
    }
    list.extend(flown.insertion.clone());
    Ok(list)
}

/// The definitions.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The bodies in their order, resonant legs with the turns of body and craft.",
        returns: (Kind::Text, ""),
        see_also: &["tour"],
        examples: &[Example::exact(of_1973!(".sequence"), "\"Earth – Venus – Mercury\"")],
        ..Definition::property("Tour", "sequence", |given| Ok(value::text(this(given)?.itinerary.words())))
    },
    Definition {
        summary: "The legs: number, start, end, kind, revolutions, depart, arrive, flight_time, v_inf_depart, v_inf_arrive, dv, correction (when it \
                  is aimed), aim, miss (when flown again from its start); with flown (the burn there) and estimate.",
        returns: (Kind::List, "of maps"),
        see_also: &["Tour.passes", "Tour.aim"],
        examples: &[Example::exact(of_1973!(".legs.len()"), "2")],
        ..Definition::property("Tour", "legs", |given| {
            let tour = this(given)?;
            let legs = tour.legs.iter().enumerate().map(|(index, leg)| leg_map(&tour, index, leg));
            Ok(Dynamic::from_array(legs.collect()))
        })
    },
    Definition {
        summary: "The passes: body, epoch, altitude, turn, v_in, v_out, burn, dv (the change of velocity); and what the refinement left open: \
                  v_inf_mismatch, turn_mismatch, altitude_mismatch.",
        returns: (Kind::List, "of maps"),
        see_also: &["Tour.legs"],
        examples: &[Example::exact(of_1973!(".passes[0].altitude > 299.km"), "true")],
        ..Definition::property("Tour", "passes", |given| {
            Ok(Dynamic::from_array(this(given)?.passes.iter().map(pass_map).collect()))
        })
    },
    Definition {
        summary: "When the parking orbit is left.",
        returns: (EPOCH, ""),
        see_also: &["Tour.burn", "Tour.arrive"],
        examples: &[Example::exact(of_1973!(".depart > epoch(\"1973-10-15 TDB\")"), "true")],
        ..Definition::property("Tour", "depart", |given| Ok(value::noun(this(given)?.depart())))
    },
    Definition {
        summary: "When the last body is reached: periapsis there.",
        returns: (EPOCH, ""),
        see_also: &["Tour.depart"],
        examples: &[Example::exact(of_1973!(".arrive < epoch(\"1974-06-01 TDB\")"), "true")],
        ..Definition::property("Tour", "arrive", |given| {
            let tour = this(given)?;
            Ok(value::noun(tour.arrive().unwrap_or(tour.depart())))
        })
    },
    Definition {
        summary: "From departure to arrival.",
        returns: (TIME, ""),
        see_also: &["Tour.depart"],
        examples: &[Example::exact(of_1973!(".flight_time < 200.days"), "true")],
        ..Definition::property("Tour", "flight_time", |given| {
            let tour = this(given)?;
            let time = tour.arrive().map_or(0.0, |arrive| arrive.seconds_since(tour.depart()));
            Ok(value::of(time, Dimension::TIME))
        })
    },
    Definition {
        summary: "The orbit that is left, at the departure burn.",
        returns: (ORBIT, "for `voyage`"),
        see_also: &["Tour.burn"],
        examples: &[Example::close(of_1973!(".parking.periapsis_altitude"), "185.km", "1.m")],
        ..Definition::property("Tour", "parking", |given| Ok(value::noun(this(given)?.departure.parking)))
    },
    Definition {
        summary: "The departure burn.",
        returns: (BURN, "planned on the parking orbit"),
        see_also: &["Tour.burns", "Tour.parking"],
        examples: &[Example::exact(of_1973!(".burn.dv > 3.km_s"), "true")],
        ..Definition::property("Tour", "burn", |given| Ok(value::noun(this(given)?.departure.burn)))
    },
    Definition {
        summary: "All burns in their order as they were flown: departure, each leg's own or its correction, those at the passes, arrival.",
        returns: (
            Kind::List,
            "of burns; a rounding grows from pass to pass, so that a voyage rather aims each leg anew: `correct`",
        ),
        see_also: &["Tour.aim", "Voyage.correct"],
        examples: &[Example::exact(of_1973!(".burns.len() >= 3"), "true")],
        ..Definition::property("Tour", "burns", |given| {
            Ok(Dynamic::from_array(burns(&this(given)?)?.into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "Burns at the periapsis of the pass that ends a leg, or into orbit at the end of the last: one or none.",
        parameters: &[Parameter::new("leg", Kind::Whole, "counted from 1")],
        returns: (Kind::List, "of one burn, or empty: for `for b in t.burns_at(1) { v.burn(b); }`"),
        see_also: &["Tour.burns", "Tour.aim"],
        examples: &[Example::exact(of_1973!(".burns_at(2).len()"), "0")],
        ..Definition::method("Tour", "burns_at", |given| {
            let tour = this(given)?;
            let index = leg_of(given, &tour)?;
            burns(&tour)?;
            let mut list = Vec::new();
            if let Ok(flown) = &tour.flown {
                list.extend(flown.legs[index].pass_burn.clone());
                if index + 1 == tour.legs.len() {
                    list.extend(flown.insertion.clone());
                }
            }
            Ok(Dynamic::from_array(list.into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "What the leg with this number has to meet at its end: the point of the B-plane and the time.",
        parameters: &[Parameter::new("leg", Kind::Whole, "counted from 1")],
        returns: (AIM, "for `correct`"),
        source: Some("[Kizner1961]"),
        see_also: &["Tour.correction", "Voyage.correct"],
        examples: &[Example::exact(of_1973!(".aim(1) == ()"), "false")],
        ..Definition::method("Tour", "aim", |given| {
            let tour = this(given)?;
            let index = leg_of(given, &tour)?;
            Ok(value::noun(tour.aims[index].clone()))
        })
    },
    Definition {
        summary: "When the leg with this number is aimed: at its own burn, or 15 % of its time after its beginning.",
        parameters: &[Parameter::new("leg", Kind::Whole, "counted from 1")],
        returns: (EPOCH, "for `correct`"),
        see_also: &["Tour.aim", "Voyage.correct"],
        examples: &[Example::exact(of_1973!(".correction(1) > epoch(\"1973-10-20 TDB\")"), "true")],
        ..Definition::method("Tour", "correction", |given| {
            let tour = this(given)?;
            let index = leg_of(given, &tour)?;
            Ok(value::noun(tour.correction_epoch(index)))
        })
    },
    Definition {
        summary: "C3 at departure.",
        returns: (Kind::Of(Dimension::SPECIFIC_ENERGY), "the square of the excess speed"),
        see_also: &["Tour.v_inf_depart"],
        examples: &[Example::exact(of_1973!(".c3 > 5.km2_s2"), "true")],
        ..Definition::property("Tour", "c3", |given| {
            let square = this(given)?.v_inf_depart.norm_squared();
            Ok(value::of(square, Dimension::SPECIFIC_ENERGY))
        })
    },
    Definition {
        summary: "Excess velocity at departure.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Tour.c3"],
        examples: &[Example::exact(of_1973!(".v_inf_depart.norm > 3.km_s"), "true")],
        ..Definition::property("Tour", "v_inf_depart", |given| Ok(velocity(this(given)?.v_inf_depart)))
    },
    Definition {
        summary: "Excess velocity at arrival.",
        returns: (VECTOR, "of speeds, inertial"),
        see_also: &["Tour.v_inf_depart"],
        examples: &[Example::exact(of_1973!(".v_inf_arrive.norm > 8.km_s"), "true")],
        ..Definition::property("Tour", "v_inf_arrive", |given| Ok(velocity(this(given)?.v_inf_arrive)))
    },
    Definition {
        summary: "Δv in all: departure, on the way, arrival.",
        returns: (SPEED, "as planned"),
        see_also: &["Tour.dv_departure", "Tour.dv_course", "Tour.dv_arrival", "Tour.flown"],
        examples: &[Example::exact(of_1973!(".dv > 3.km_s"), "true")],
        ..Definition::property("Tour", "dv", |given| Ok(speed(this(given)?.dv)))
    },
    Definition {
        summary: "Δv from the parking orbit.",
        returns: (SPEED, ""),
        see_also: &["Tour.dv"],
        examples: &[Example::exact(of_1973!(".dv_departure > 3.km_s"), "true")],
        ..Definition::property("Tour", "dv_departure", |given| Ok(speed(this(given)?.departure_dv)))
    },
    Definition {
        summary: "Δv at the passes and between the bodies.",
        returns: (SPEED, ""),
        see_also: &["Tour.dv"],
        examples: &[Example::exact(of_1973!(".dv_course < 1.km_s"), "true")],
        ..Definition::property("Tour", "dv_course", |given| Ok(speed(this(given)?.course_dv)))
    },
    Definition {
        summary: "Δv into the arrival orbit; zero without one.",
        returns: (SPEED, ""),
        see_also: &["Tour.dv"],
        examples: &[Example::exact(of_1973!(".dv_arrival"), "0.m_s")],
        ..Definition::property("Tour", "dv_arrival", |given| Ok(speed(this(given)?.arrival_dv)))
    },
    Definition {
        summary: "What flying the legs again from their starts leaves open at the most: place (miss of an aim), v_inf (across a pass without a \
                  burn), turn.",
        returns: (Kind::Map, "by name"),
        see_also: &["Tour.passes"],
        examples: &[Example::exact(of_1973!(".residuals.place < 1.m"), "true")],
        ..Definition::property("Tour", "residuals", |given| {
            let residuals = this(given)?.residuals;
            let mut map = Map::new();
            map.insert("place".into(), value::of(residuals.place, Dimension::LENGTH));
            map.insert("v_inf".into(), speed(residuals.speed));
            map.insert("turn".into(), value::of(residuals.turn, Dimension::ANGLE));
            Ok(Dynamic::from_map(map))
        })
    },
    Definition {
        summary: "What came of flying it in the patched-conic model: dv in all, and corrections, the part of it that was not planned.",
        returns: (Kind::Map, "an error where it was not flown to its end"),
        see_also: &["Tour.dv", "Tour.burns"],
        examples: &[Example::exact(of_1973!(".flown.corrections < 1.m_s"), "true")],
        ..Definition::property("Tour", "flown", |given| {
            let tour = this(given)?;
            burns(&tour)?;
            let mut map = Map::new();
            if let Ok(flown) = &tour.flown {
                map.insert("dv".into(), speed(flown.dv));
                map.insert("corrections".into(), speed(flown.corrections_dv));
            }
            Ok(Dynamic::from_map(map))
        })
    },
    Definition {
        summary: "The sequences looked at, best first: sequence, energy_dv (what its energies allow at the least), cost (least that was found, bounds \
                  not kept charged; left out where nothing closed).",
        returns: (Kind::List, "of maps"),
        see_also: &["Tour.sequence"],
        examples: &[Example::exact(of_1973!(".rivals.len()"), "1")],
        ..Definition::property("Tour", "rivals", rivals)
    },
    Definition {
        summary: "How the search went and why it ended.",
        returns: (Kind::Text, ""),
        see_also: &["tour"],
        examples: &[Example::exact(of_1973!(".why.len() > 10"), "true")],
        ..Definition::property("Tour", "why", |given| {
            let tour = this(given)?;
            Ok(value::text(format!("{} evaluations, {}", tour.evaluations, tour.stop.why())))
        })
    },
];

fn rivals(given: &Given) -> Answer {
    let one = |rival: &visviva_engine::arc::tour::Rival| {
        let mut map = Map::new();
        map.insert("sequence".into(), value::text(rival.sequence.clone()));
        map.insert("energy_dv".into(), speed(rival.energy_dv));
        let cost = rival.searched.unwrap_or(f64::INFINITY).min(rival.screened);
        if cost.is_finite() {
            map.insert("cost".into(), speed(cost));
        }
        Dynamic::from_map(map)
    };
    Ok(Dynamic::from_array(this(given)?.rivals.iter().map(one).collect()))
}
