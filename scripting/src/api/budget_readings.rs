//! What a budget is asked: sums, legs, alternatives, windows, and the ledger that it is set beside.

use rhai::{Dynamic, Map};
use visviva_engine::arc::Rank;
use visviva_engine::quantity::Dimension;
use visviva_engine::voyage::budget::{self, Alternative, Line};

use super::budget::Budget;
use super::budget_tables::Beside;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, Kind, SPEED, TIME};
use super::ledger::LEDGER;
use super::value;
use super::windows::Window;

fn this(given: &Given) -> Result<budget::Budget, Fault> {
    Ok(given.this::<Budget>()?.found)
}

fn line_map(line: &Line) -> Dynamic {
    let mut map = Map::new();
    map.insert("leg".into(), value::text(&line.name));
    map.insert("dv".into(), value::of(line.dv, Dimension::SPEED));
    map.insert("basis".into(), value::text(line.basis.word()));
    map.insert("margin".into(), Dynamic::from_float(line.margin));
    map.insert("with_margin".into(), value::of(line.with_margin(), Dimension::SPEED));
    map.insert("how".into(), value::text(&line.how));
    map.insert("start".into(), value::noun(line.start));
    map.insert("end".into(), value::noun(line.end));
    Dynamic::from_map(map)
}

fn alternative_map(way: &Alternative) -> Dynamic {
    let mut map = Map::new();
    map.insert("way".into(), value::text(&way.name));
    map.insert("replaces".into(), Dynamic::from_array(way.replaces.iter().map(value::text).collect()));
    map.insert("dv".into(), value::of(way.dv, Dimension::SPEED));
    map.insert("saves".into(), value::of(way.saves, Dimension::SPEED));
    map.insert("how".into(), value::text(&way.how));
    Dynamic::from_map(map)
}

fn beside(given: &Given) -> Answer {
    let ledger = given.noun::<visviva_engine::voyage::Ledger>(0)?;
    let mut named = Vec::new();
    if given.has(1) {
        let map = given.noun::<Map>(1)?;
        let found = this(given)?;
        for (leg, line) in map {
            let line = line.into_immutable_string().map(|text| text.to_string()).unwrap_or_default();
            if found.line(&line).is_none() {
                let names: Vec<String> = found.lines.iter().map(|line| format!("`{}`", line.name)).collect();
                return Err(Fault::new(format!("this budget has no leg `{line}`"))
                    .help(format!("its legs are {}", names.join(", ")))
                    .at(1));
            }
            named.push((leg.to_string(), line));
        }
    }
    Ok(value::noun(Beside { found: this(given)?.beside(&ledger, &named) }))
}

/// A budget as the examples make it.
macro_rules! mars {
    ($ask:literal) => {
        concat!(
            "let s = system(\"sol\"); let b = budget(#{ from: s.Earth, parking: 300.km, to: s.Mars, orbit: 400.km, ",
            "between: [epoch(\"2033-01-01 TDB\"), epoch(\"2033-12-31 TDB\")] }); ",
            $ask
        )
    };
}
pub(super) use mars;

/// The definitions of a budget's readings.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "The sum of all legs, without margins.",
        returns: (SPEED, ""),
        see_also: &["Budget.with_margin", "Budget.legs"],
        examples: &[Example::exact(mars!("b.dv > 5.km_s && b.dv < 7.km_s"), "true")],
        ..Definition::property("Budget", "dv", |given| Ok(value::of(this(given)?.dv(), Dimension::SPEED)))
    },
    Definition {
        summary: "The sum of all legs with their margins: what a vehicle has to have.",
        returns: (SPEED, ""),
        source: Some("[ESA2012], section 2.3"),
        see_also: &["Budget.dv"],
        examples: &[Example::close(mars!("b.with_margin - 1.05 * (b.dv - 50.m_s)"), "100.m_s", "1e-6.m_s")],
        ..Definition::property("Budget", "with_margin", |given| {
            Ok(value::of(this(given)?.with_margin(), Dimension::SPEED))
        })
    },
    Definition {
        summary: "From the first leg's start to the end of the last.",
        returns: (TIME, ""),
        see_also: &["Budget.legs"],
        examples: &[Example::exact(mars!("b.time > 150.days && b.time < 400.days"), "true")],
        ..Definition::property("Budget", "time", |given| Ok(value::of(this(given)?.time(), Dimension::TIME)))
    },
    Definition {
        summary: "A row for each leg.",
        returns: (Kind::List, "of maps: leg, dv, basis, margin, with_margin, how, start, end"),
        see_also: &["Budget.alternatives", "Budget.csv"],
        examples: &[Example::exact(mars!("b.legs[1].basis"), "\"allowance\"")],
        ..Definition::property("Budget", "legs", |given| {
            Ok(Dynamic::from_array(this(given)?.lines.iter().map(line_map).collect()))
        })
    },
    Definition {
        summary: "What could be cheaper: aerobraking, a moon's assist, straight entry.",
        returns: (Kind::List, "of maps: way, replaces, dv, saves, how"),
        source: Some("vis viva at the apsides, [Battin1999], section 3.3"),
        see_also: &["Budget.legs"],
        examples: &[Example::exact(mars!("b.alternatives.map(|way| way.way)"), "[\"aerobraking\"]")],
        ..Definition::property("Budget", "alternatives", |given| {
            Ok(Dynamic::from_array(this(given)?.alternatives.iter().map(alternative_map).collect()))
        })
    },
    Definition {
        summary: "Where the journey leads.",
        returns: (BODY, ""),
        see_also: &["budget", "Budgets.cheapest"],
        examples: &[Example::exact(mars!("b.target.name"), "\"Mars\"")],
        ..Definition::property("Budget", "target", |given| Ok(value::noun(this(given)?.to)))
    },
    Definition {
        summary: "The window of the way there, with its dates, orbits and burn.",
        returns: (Kind::Noun("Window"), "planned, not yet flown"),
        see_also: &["windows", "Budget.homeward"],
        examples: &[Example::exact(mars!("b.outward.depart == b.legs[0].start"), "true")],
        ..Definition::property("Budget", "outward", |given| {
            Ok(value::noun(Window::new(this(given)?.outward, Rank::Total)))
        })
    },
    Definition {
        summary: "The window of the way back.",
        returns: (Kind::Anything, "a Window, planned, not yet flown; `()` where there is no way back"),
        see_also: &["Budget.outward"],
        examples: &[Example::exact(mars!("b.homeward"), "()")],
        ..Definition::property("Budget", "homeward", |given| {
            let home = this(given)?.homeward;
            Ok(home.map_or(Dynamic::UNIT, |found| value::noun(Window::new(found, Rank::Total))))
        })
    },
    Definition {
        summary: "The speed at which the way back enters the air at home.",
        returns: (Kind::Anything, "a speed, inertial; `()` where it does not"),
        see_also: &["Budget.legs"],
        examples: &[Example::exact(mars!("b.entry_speed"), "()")],
        ..Definition::property("Budget", "entry_speed", |given| {
            Ok(this(given)?.entry_speed.map_or(Dynamic::UNIT, |v| value::of(v, Dimension::SPEED)))
        })
    },
    Definition {
        summary: "Sets a voyage's ledger beside the budget: what was allowed, what was spent, what is left of each leg.",
        parameters: &[
            Parameter::new("ledger", LEDGER, "of a voyage"),
            Parameter::optional(
                "named",
                Kind::Map,
                "#{ \"leg of the voyage\": \"leg of the budget\" } where the names do not tell",
            ),
        ],
        returns: (Kind::Noun("Beside"), "legs of the voyage without a line stand below"),
        see_also: &["Voyage.ledger", "Budget.legs"],
        examples: &[Example::exact(
            mars!(
                "let v = voyage(vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s }), circular(s.Earth, 300.km)); \
                 v.burn(burn(#{ along: 100.m_s })); b.beside(v.ledger, #{ burn: \"departure from Earth\" }).rows[0].flown"
            ),
            "100.m_s",
        )],
        ..Definition::method("Budget", "beside", beside)
    },
    Definition {
        summary: "The legs as a CSV text: SI, the unit in each header.",
        returns: (Kind::Text, "a line for each leg below the headers"),
        source: Some("[RFC4180]"),
        see_also: &["Budget.legs", "save"],
        examples: &[Example::exact(mars!("b.csv.split(\"\\n\")[2].contains(\",50,allowance,1,100,\")"), "true")],
        ..Definition::property("Budget", "csv", |given| Ok(value::text(super::budget_tables::csv(&this(given)?))))
    },
];
