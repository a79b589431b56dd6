//! The verbs that let something go: `drop`, `jettison`, `release`. The noun `Separated`: what came off.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::quantity::{Dimension, Quantity};
use visviva_engine::voyage::{Direction, Manner, Separated, Springs, VoyageError};

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, VOYAGE, refused};
use super::kind::{EPOCH, Kind, MASS, ORBIT, SPEED};
use super::noun::Noun;
use super::options::Options;
use super::table::date;
use super::value;
use super::vehicle::VEHICLE;
use super::voyage::free_name;
use crate::diagnostic::nearest::nearest;

impl Noun for Separated {
    const NAME: &'static str = "Separated";
    const ABOUT: &'static str = "What came off a voyage: which part, when, on which orbit, and where it ends.";

    fn show(&self) -> String {
        let speed = match self.speed() {
            0.0 => String::new(),
            speed => format!(", {} apart", Quantity::speed(speed).show()),
        };
        format!(
            "{} {} from {} at {}: {}{speed}",
            self.name,
            self.manner.name(),
            self.from,
            date(self.epoch()),
            Quantity::mass(self.mass()).show(),
        )
    }

    fn to_json(&self) -> Value {
        json!({
            "name": self.name, "manner": self.manner.name(), "from": self.from,
            "epoch": Noun::to_json(&self.epoch()), "mass": { "value": self.mass(), "unit": "kg" },
            "speed": { "value": self.speed(), "unit": "m/s" }, "orbit": Noun::to_json(&self.orbit),
        })
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

const SPRINGS: &[Parameter] = &[
    Parameter::optional("speed", SPEED, "of what comes off against the rest, shared by the masses; none when left out"),
    Parameter::optional(
        "direction",
        Kind::Text,
        "\"along\" the velocity, \"across\" the orbit or \"outward\": which way it comes off; a speed below zero is the other way",
    ),
    Parameter::optional("name", Kind::Text, "of its voyage; the part's own name when left out"),
];

const DIRECTIONS: [(&str, Direction); 3] =
    [("along", Direction::Along), ("across", Direction::Across), ("outward", Direction::Outward)];

fn springs(options: &Options<'_>) -> Result<Option<Springs>, Fault> {
    let direction = match options.text("direction")? {
        None => Direction::Along,
        Some(word) => {
            if let Some((_, direction)) = DIRECTIONS.iter().find(|(name, _)| *name == word.as_str()) {
                *direction
            } else {
                let fault = options.fault("direction", format!("there is no direction `{word}`"));
                return Err(match nearest(&word, DIRECTIONS.map(|(name, _)| name)) {
                    Some(near) => fault.note(format!("did you mean `{near}`?")),
                    None => fault,
                }
                .help("write \"along\", \"across\" or \"outward\"; a speed below zero is the other way"));
            }
        }
    };
    match options.si("speed")? {
        None if options.has("direction") => Err(options
            .fault("direction", "a direction without a speed says nothing")
            .help("add the speed: #{ speed: 0.5.m_s, direction: \"outward\" }")),
        speed => Ok(speed.map(|speed| Springs { speed, direction })),
    }
}

fn separate(given: &Given, manner: Manner) -> Answer {
    let (part, options) = (given.text(0)?, given.options(1)?);
    let springs = springs(&options)?;
    let called = options.text("name")?;
    let called = free_name(given, called.as_deref().unwrap_or(&part));
    let done = given.this::<Handle>()?.act(given, |voyage, _| {
        voyage.separate(manner, &part, &called, springs.as_ref()).map_err(|error| {
            let fault = refused(&error);
            match error {
                VoyageError::SeparationSpeed { .. } => fault.at_key(1, "speed"),
                VoyageError::OtherSort { verb, .. } => fault.help(format!("write v.{verb}(\"{part}\")")).at(0),
                _ => fault.at(0),
            }
        })
    })?;
    Ok(done.map_or(Dynamic::UNIT, |voyage| value::noun(Handle::made(given.run, voyage))))
}

fn this(given: &Given) -> Result<Separated, Fault> {
    given.this::<Separated>()
}

/// The orbiter in a low orbit with all that it carries, its departure stage spent.
macro_rules! apart {
    ($($ask:literal),+) => {
        concat!(
            "let s = system(\"velm\"); let v = voyage(vehicle(\"lantern\").without(\"core\"), circular(s.Veyra, 300.km)); ",
            $($ask),+
        )
    };
}

pub(super) use apart;

/// The definitions of separations.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Leaves a stage, with all below it, or a carried craft behind: a voyage of its own from here on.",
        parameters: &[
            Parameter::new("name", Kind::Text, "of the stage or craft"),
            Parameter::optional("options", Kind::Options(SPRINGS), "separation speed and its direction, name"),
        ],
        returns: (
            VOYAGE,
            "of what was dropped, on the same orbit but for its springs; its record begins with that row",
        ),
        source: Some("conservation of momentum: each part's share of the speed is the other's share of the mass"),
        see_also: &["Voyage.jettison", "Voyage.release", "Voyage.separated", "clearance"],
        examples: &[
            Example::exact(apart!("let d = v.drop(\"departure\"); d.mass"), "43.7.tonnes"),
            Example::close(
                apart!("let d = v.drop(\"departure\", #{ speed: -0.6.m_s }); v.orbit.speed - d.orbit.speed"),
                "0.6.m_s",
                "1e-9.m_s",
            ),
        ],
        changes: true,
        ..Definition::method("Voyage", "drop", |given| separate(given, Manner::Dropped))
    },
    Definition {
        summary: "Throws a fairing or a heat shield off.",
        parameters: &[
            Parameter::new("name", Kind::Text, "of the fairing or shield"),
            Parameter::optional("options", Kind::Options(SPRINGS), "separation speed and its direction, name"),
        ],
        returns: (VOYAGE, "of what was thrown off; a shield that is part of the dry mass is an error"),
        see_also: &["Voyage.drop", "Voyage.separated"],
        examples: &[Example::exact(
            apart!("let a = v.jettison(\"aeroshell\", #{ speed: 1.m_s, direction: \"outward\" }); a.mass"),
            "1900.kg",
        )],
        changes: true,
        ..Definition::method("Voyage", "jettison", |given| separate(given, Manner::Jettisoned))
    },
    Definition {
        summary: "Lets a carried craft go: a voyage of its own from here on, with all that it carries.",
        parameters: &[
            Parameter::new("name", Kind::Text, "one of `vehicle.carries`, at any depth"),
            Parameter::optional("options", Kind::Options(SPRINGS), "separation speed and its direction, name"),
        ],
        returns: (VOYAGE, "of the craft; its record begins with a row that says where it came from"),
        see_also: &["Voyage.drop", "Voyage.join", "Vehicle.carries"],
        examples: &[Example::exact(
            apart!("let l = v.release(\"lander\"); let d = l.release(\"sled\"); [l.mass, d.ledger.rows[0].leg]"),
            "[11.95.tonnes, \"released from lander\"]",
        )],
        changes: true,
        ..Definition::method("Voyage", "release", |given| separate(given, Manner::Released))
    },
    Definition {
        summary: "What came off the voyage, oldest first.",
        returns: (Kind::List, "of Separated"),
        see_also: &["Voyage.drop", "Voyage.jettison", "Voyage.release", "Separated"],
        examples: &[Example::exact(
            apart!("v.drop(\"departure\"); v.jettison(\"aeroshell\"); v.separated.map(|part| part.name)"),
            "[\"departure\", \"aeroshell\"]",
        )],
        ..Definition::property("Voyage", "separated", |given| {
            let voyage = given.this::<Handle>()?.voyage();
            Ok(Dynamic::from_array(voyage.separated().into_iter().cloned().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "What it was called on the vehicle.",
        returns: (Kind::Text, ""),
        see_also: &["Voyage.separated"],
        examples: &[Example::exact(apart!("v.drop(\"departure\"); v.separated[0].name"), "\"departure\"")],
        ..Definition::property("Separated", "name", |given| Ok(value::text(&this(given)?.name)))
    },
    Definition {
        summary: "How it came off.",
        returns: (Kind::Text, "\"dropped\", \"jettisoned\" or \"released\""),
        see_also: &["Voyage.separated"],
        examples: &[Example::exact(apart!("v.release(\"sled\"); v.separated[0].manner"), "\"released\"")],
        ..Definition::property("Separated", "manner", |given| Ok(value::text(this(given)?.manner.name())))
    },
    Definition {
        summary: "When it came off.",
        returns: (EPOCH, ""),
        see_also: &["Voyage.separated"],
        examples: &[Example::exact(apart!("v.release(\"sled\"); v.separated[0].epoch == v.epoch"), "true")],
        ..Definition::property("Separated", "epoch", |given| Ok(value::noun(this(given)?.epoch())))
    },
    Definition {
        summary: "Its mass.",
        returns: (MASS, "with all that it holds and carries"),
        see_also: &["Separated.vehicle"],
        examples: &[Example::exact(apart!("v.release(\"sled\"); v.separated[0].mass"), "860.kg")],
        ..Definition::property("Separated", "mass", |given| Ok(value::of(this(given)?.mass(), Dimension::MASS)))
    },
    Definition {
        summary: "Its speed against what stayed, right after.",
        returns: (SPEED, "zero without springs"),
        see_also: &["Voyage.drop"],
        examples: &[Example::close(
            apart!("v.release(\"sled\", #{ speed: 0.3.m_s }); v.separated[0].speed"),
            "0.3.m_s",
            "1e-9.m_s",
        )],
        ..Definition::property("Separated", "speed", |given| Ok(value::of(this(given)?.speed(), Dimension::SPEED)))
    },
    Definition {
        summary: "Its orbit right after.",
        returns: (ORBIT, ""),
        see_also: &["Separated.ends", "clearance"],
        examples: &[Example::exact(apart!("v.release(\"sled\"); v.separated[0].orbit == v.orbit"), "true")],
        ..Definition::property("Separated", "orbit", |given| Ok(value::noun(this(given)?.orbit)))
    },
    Definition {
        summary: "What it is: masses, tanks, engines, equipment.",
        returns: (VEHICLE, ""),
        see_also: &["Separated.mass"],
        examples: &[Example::exact(apart!("v.drop(\"departure\"); v.separated[0].vehicle.dry"), "4200.kg")],
        ..Definition::property("Separated", "vehicle", |given| Ok(value::noun(this(given)?.vehicle)))
    },
];
