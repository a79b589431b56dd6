//! The noun `Voyage`: how one is begun, branched and read.

use rhai::{Dynamic, Map};
use visviva_engine::orbit::Orbit;
use visviva_engine::quantity::Dimension;
use visviva_engine::system::Site;
use visviva_engine::vehicle::Vehicle;
use visviva_engine::voyage::Voyage;

use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::handle::{Handle, VOYAGE, refused};
use super::kind::{BODY, EPOCH, Kind, MASS, ORBIT, SPEED};
use super::ledger::flown;
use super::options::Options;
use super::refusal::no_orbit;
use super::site::SITE;
use super::value;
use super::vehicle::VEHICLE;

const OPTIONS: &[Parameter] = &[
    Parameter::optional(
        "epoch",
        EPOCH,
        "when it begins: on an orbit on the same conic, its own epoch when left out; a site needs one",
    ),
    Parameter::optional("model", Kind::Text, "\"conics\"; `--model` of the command line, else conics, when left out"),
    Parameter::optional("name", Kind::Text, "in ledger and audit; the vehicle's name when left out"),
];

/// The model: of the script, else of the command line. Only one is built.
fn check_model(given: &Given, options: &Options) -> Result<(), Fault> {
    let said = options.text("model")?;
    let fault = |what: String| options.fault("model", what).help("write model: \"conics\", or leave it out");
    match said.as_deref() {
        None | Some("conics") => {}
        Some("n-body") => return Err(fault("the model `n-body` is not there yet".to_owned())),
        Some(other) => return Err(fault(format!("there is no model `{other}`"))),
    }
    match (said, given.run.settings.model.as_deref()) {
        (Some(said), Some(asked)) if said != asked => Err(options
            .fault("model", format!("the script flies in `{said}`, the command line asks for `{asked}`"))
            .help("leave one of the two out")),
        _ => Ok(()),
    }
}

/// A name that no voyage of the run has yet.
pub(super) fn free_name(given: &Given, wished: &str) -> String {
    let taken: Vec<String> = given.run.voyages().iter().map(|voyage| voyage.name()).collect();
    let mut name = wished.to_owned();
    let mut count = 1;
    while taken.contains(&name) {
        count += 1;
        name = format!("{wished} {count}");
    }
    name
}

fn begun(given: &Given) -> Answer {
    let vehicle = given.noun::<Vehicle>(0)?;
    let options = given.options(2)?;
    check_model(given, &options)?;
    if SITE.accepts(given.value(1)?) {
        return on_site(given, vehicle, &options);
    }
    let mut orbit = given.noun::<Orbit>(1)?;
    if let Some(epoch) = options.epoch("epoch")? {
        orbit = orbit.at(epoch).map_err(|error| no_orbit(&error).at_key(2, "epoch"))?;
    }
    let name = options.text("name")?;
    let name = free_name(given, name.as_deref().unwrap_or(vehicle.name()));
    let voyage = Voyage::new(&name, vehicle, orbit).map_err(|error| refused(&error).at(1))?;
    Ok(value::noun(Handle::made(given.run, voyage)))
}

/// A voyage that stands or floats on a site.
fn on_site(given: &Given, vehicle: Vehicle, options: &Options) -> Answer {
    let site = given.noun::<Site>(1)?;
    let Some(epoch) = options.epoch("epoch")? else {
        return Err(Fault::new("a site turns with its body: the voyage needs an `epoch` to begin at")
            .help("write voyage(vehicle, site, #{ epoch: epoch(\"2141-07-21 TDB\") })")
            .at(1));
    };
    let name = options.text("name")?;
    let name = free_name(given, name.as_deref().unwrap_or(vehicle.name()));
    let voyage = Voyage::on_site(&name, vehicle, site, epoch).map_err(|error| refused(&error).at(1))?;
    Ok(value::noun(Handle::made(given.run, voyage)))
}

fn this(given: &Given) -> Result<Voyage, Fault> {
    Ok(given.this::<Handle>()?.voyage())
}

fn legs(voyage: &Voyage) -> Dynamic {
    let rows = voyage.legs().into_iter().map(|leg| {
        let mut map = Map::new();
        map.insert("leg".into(), value::text(&leg.name));
        let bodies: Vec<Dynamic> = leg.bodies().into_iter().map(|body| value::noun(body.clone())).collect();
        map.insert("kind".into(), value::text(leg.kind_name()));
        map.insert("start".into(), value::noun(leg.start));
        map.insert("end".into(), value::noun(leg.end));
        map.insert("bodies".into(), Dynamic::from_array(bodies));
        map.insert("dv".into(), value::of(leg.dv, Dimension::SPEED));
        Dynamic::from_map(map)
    });
    Dynamic::from_array(rows.collect())
}

/// The definitions of voyages, but for their verbs.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "Begins a voyage of a vehicle on an orbit, on the ground or afloat. What is given a voyage flies that very voyage.",
        parameters: &[
            Parameter::new("vehicle", VEHICLE, "as it is at the start"),
            Parameter::new(
                "start",
                Kind::Either(&[ORBIT, SITE]),
                "the orbit that it is on, with its epoch; or the site that it stands or floats on",
            ),
            Parameter::optional("options", Kind::Options(OPTIONS), "epoch, model, name"),
        ],
        returns: (VOYAGE, "its ledger and audit are part of the run's answer"),
        see_also: &["Voyage.branch", "Voyage.coast", "Voyage.burn", "vehicle", "Body.site"],
        examples: &[Example::exact(flown!("let same = v; same.coast(1.hours); v.ledger.time"), "2.hours")],
        ..Definition::function("voyage", begun)
    },
    Definition {
        summary: "Another voyage that shares the past up to here: the way to a plan B, and to trying things in a search.",
        parameters: &[Parameter::optional("name", Kind::Text, "in ledger and audit; numbered when left out")],
        returns: (VOYAGE, "flown apart from this one; a branch made inside of a search stays out of the run's answer"),
        see_also: &["voyage", "solve"],
        examples: &[Example::exact(flown!("let w = v.branch(); w.coast(1.days); w.epoch - v.epoch"), "1.days")],
        ..Definition::method("Voyage", "branch", |given| {
            let name = if given.has(0) { Some(given.text(0)?) } else { None };
            Ok(value::noun(given.this::<Handle>()?.branch(given.run, name.as_deref())))
        })
    },
    Definition {
        summary: "What it is called.",
        returns: (Kind::Text, ""),
        see_also: &["voyage"],
        examples: &[Example::exact(flown!("v.name"), "\"craft\"")],
        ..Definition::property("Voyage", "name", |given| Ok(value::text(this(given)?.name())))
    },
    Definition {
        summary: "Now, for this voyage.",
        returns: (EPOCH, "verbs act now or later"),
        see_also: &["Voyage.coast_to", "Voyage.at"],
        examples: &[Example::exact(flown!("v.epoch - v.orbit.epoch"), "0.s")],
        ..Definition::property("Voyage", "epoch", |given| Ok(value::noun(this(given)?.epoch())))
    },
    Definition {
        summary: "The orbit that it is on now.",
        returns: (ORBIT, "about the body whose sphere of influence it is in; an error on the ground and afloat"),
        see_also: &["Voyage.at", "Voyage.body"],
        examples: &[Example::exact(flown!("v.orbit.apoapsis_altitude > 300.km"), "true")],
        ..Definition::property("Voyage", "orbit", |given| {
            let voyage = this(given)?;
            if voyage.site().is_some() {
                let fault = Fault::new(format!("`{}` is {}: it has no orbit", voyage.name(), voyage.placed()));
                return Err(fault.help("`v.site` tells where it is; take off first"));
            }
            Ok(value::noun(voyage.orbit().clone()))
        })
    },
    Definition {
        summary: "The site that it stands or floats on.",
        returns: (SITE, "an error elsewhere"),
        see_also: &["Voyage.place", "Body.site"],
        examples: &[Example::exact(
            "let s = system(\"velm\"); let v = voyage(vehicle(\"lantern\"), s.Veyra.site(6.deg, 30.deg), #{ epoch: epoch(\"2141-07-21 TDB\") }); v.site.latitude",
            "6.deg",
        )],
        ..Definition::property("Voyage", "site", |given| {
            let voyage = this(given)?;
            match voyage.site() {
                Some(site) => Ok(value::noun(site.clone())),
                None => Err(Fault::new(format!("`{}` is {}: it stands on no site", voyage.name(), voyage.placed()))
                    .help("`v.place` tells where it is")),
            }
        })
    },
    Definition {
        summary: "The body that it is about now.",
        returns: (BODY, ""),
        see_also: &["Voyage.orbit", "arrival"],
        examples: &[Example::exact(flown!("v.body.name"), "\"Earth\"")],
        ..Definition::property("Voyage", "body", |given| Ok(value::noun(this(given)?.body().clone())))
    },
    Definition {
        summary: "The orbit that it was on at an epoch of its record.",
        parameters: &[Parameter::new("epoch", EPOCH, "from its start to now")],
        returns: (ORBIT, "at the epoch of a burn the one after it"),
        see_also: &["Voyage.orbit", "Voyage.legs"],
        examples: &[Example::close(flown!("v.at(v.epoch - 1.hours).altitude"), "300.km", "1.m")],
        ..Definition::method("Voyage", "at", |given| {
            let orbit = this(given)?.at(given.epoch(0)?);
            orbit.map(value::noun).map_err(|error| refused(&error).at(0))
        })
    },
    Definition {
        summary: "Where it is.",
        returns: (Kind::Text, "\"in orbit\", \"in air\", \"on the ground\" or \"afloat\""),
        see_also: &["Voyage.outcome"],
        examples: &[
            Example::exact(flown!("v.place"), "\"in orbit\""),
            Example::exact(
                "let s = system(\"velm\"); let v = voyage(vehicle(\"lantern\"), s.Maren.site(0.deg, 0.deg), #{ epoch: s.epoch }); v.coast(1.hours); v.place",
                "\"afloat\"",
            ),
        ],
        ..Definition::property("Voyage", "place", |given| {
            Ok(value::text(given.this::<Handle>()?.asked(given.run).place()))
        })
    },
    Definition {
        summary: "How it stands. Asking it of a lost voyage makes verbs on it do nothing instead of ending the script.",
        returns: (Kind::Text, "\"under way\", \"home\", \"lost\" or \"joined\" (to a craft that carries it now)"),
        see_also: &["Voyage.why", "Voyage.finish"],
        examples: &[Example::exact(flown!("v.outcome"), "\"under way\"")],
        ..Definition::property("Voyage", "outcome", |given| {
            Ok(value::text(given.this::<Handle>()?.asked(given.run).outcome().name()))
        })
    },
    Definition {
        summary: "What happened to a lost voyage, when, where, and which limit was passed by how much; or whom it was joined to.",
        returns: (Kind::Text, "empty while it can go on"),
        see_also: &["Voyage.outcome"],
        examples: &[Example::exact(
            flown!(
                "v.burn(burn(#{ along: -500.m_s })); v.coast(1.days); v.why.contains(\"struck the ground of Earth\")"
            ),
            "true",
        )],
        ..Definition::property("Voyage", "why", |given| {
            Ok(value::text(given.this::<Handle>()?.asked(given.run).why().unwrap_or_default()))
        })
    },
    Definition {
        summary: "The vehicle as it is now.",
        returns: (VEHICLE, ""),
        see_also: &["Voyage.mass", "Voyage.dv_left"],
        examples: &[Example::exact(flown!("v.vehicle.dry"), "2.tonnes")],
        ..Definition::property("Voyage", "vehicle", |given| Ok(value::noun(this(given)?.vehicle().clone())))
    },
    Definition {
        summary: "The mass now.",
        returns: (MASS, ""),
        see_also: &["Voyage.dv_left", "Ledger.propellant"],
        examples: &[Example::exact(flown!("v.mass < 5.tonnes"), "true")],
        ..Definition::property("Voyage", "mass", |given| Ok(value::of(this(given)?.mass(), Dimension::MASS)))
    },
    Definition {
        summary: "The ideal change of speed that is left.",
        returns: (SPEED, "by the rocket equation"),
        source: Some("[SuttonBiblarz2017], equation 4-6"),
        see_also: &["Voyage.mass", "Ledger.dv"],
        examples: &[Example::close(flown!("v.dv_left"), "2775.44.m_s", "0.01.m_s")],
        ..Definition::property("Voyage", "dv_left", |given| Ok(value::of(this(given)?.dv_left(), Dimension::SPEED)))
    },
    Definition {
        summary: "Its legs, oldest first.",
        returns: (
            Kind::List,
            "of maps: leg, kind (\"coast\", \"burn\", \"separation\", \"flight\" or \"wait\"), start, end, bodies, dv",
        ),
        see_also: &["Voyage.ledger", "Voyage.notes"],
        examples: &[Example::exact(flown!("v.legs.map(|leg| leg.kind)"), "[\"burn\", \"coast\"]")],
        ..Definition::property("Voyage", "legs", |given| Ok(legs(&this(given)?)))
    },
    Definition {
        summary: "The notes in its record, oldest first.",
        returns: (Kind::List, "of maps: epoch, text"),
        see_also: &["Voyage.note"],
        examples: &[Example::exact(flown!("v.note(\"all well\"); v.notes[0].text"), "\"all well\"")],
        ..Definition::property("Voyage", "notes", |given| {
            let voyage = this(given)?;
            let rows = voyage.notes().into_iter().map(|note| {
                let mut map = Map::new();
                map.insert("epoch".into(), value::noun(note.epoch));
                map.insert("text".into(), value::text(&note.text));
                Dynamic::from_map(map)
            });
            Ok(Dynamic::from_array(rows.collect()))
        })
    },
    Definition {
        summary: "What each leg took.",
        returns: (super::ledger::LEDGER, "a table that prints itself"),
        see_also: &["Ledger.dv", "Voyage.audit"],
        examples: &[Example::exact(flown!("v.ledger.rows.len"), "2")],
        ..Definition::property("Voyage", "ledger", |given| Ok(value::noun(this(given)?.ledger())))
    },
    Definition {
        summary: "Every leg held against the conservation laws.",
        returns: (super::audit_noun::AUDIT, "a table that prints itself"),
        see_also: &["Audit.good", "Voyage.ledger"],
        examples: &[Example::exact(flown!("v.audit.good"), "true")],
        ..Definition::property("Voyage", "audit", |given| Ok(value::noun(this(given)?.audit())))
    },
];
