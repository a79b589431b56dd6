//! The noun `System`: a tree of bodies, built in or read from a file below the script's folder.

use rhai::Dynamic;
use serde_json::{Value, json};
use visviva_engine::system::{EphemerisChoice, System, SystemError};

use super::catalogue::catalogue;
use super::definition::{Answer, Definition, Example, Parameter};
use super::fault::Fault;
use super::given::Given;
use super::kind::{BODY, EPOCH, Kind, SYSTEM};
use super::noun::Noun;
use super::value;
use crate::diagnostic::Place;
use crate::diagnostic::nearest::nearest;
use crate::modules::read_below;

impl Noun for System {
    const NAME: &'static str = "System";
    const ABOUT: &'static str = "Bodies in a tree about one root. A body is read by its name: `sys.Veyra`.";

    fn show(&self) -> String {
        let names: Vec<String> = self.bodies().iter().map(|body| body.name().to_owned()).collect();
        format!("system {}: {}", self.name(), names.join(", "))
    }

    fn to_json(&self) -> Value {
        json!({ "system": self.name(), "bodies": self.members() })
    }

    fn member(&self, name: &str) -> Option<Answer> {
        if let Ok(body) = self.body(name) {
            return Some(Ok(value::noun(body)));
        }
        // A slip in a word of the noun itself is told as such.
        let own: Vec<&str> = catalogue().members(Self::NAME).iter().map(|entry| entry.name).collect();
        let bodies = self.members();
        let near = nearest(name, bodies.iter().map(String::as_str).chain(own.iter().copied()));
        if own.contains(&name) || near.is_some_and(|near| own.contains(&near)) {
            return None;
        }
        let fault = Fault::new(format!("{} has no body `{name}`", self.name()));
        Some(Err(match near {
            Some(near) => fault.note(format!("did you mean `{near}`?")),
            None => fault.help(format!("it has {}", bodies.join(", "))),
        }))
    }

    fn members(&self) -> Vec<String> {
        self.bodies().iter().map(|body| body.name().to_owned()).collect()
    }

    fn same(&self, other: &Self) -> Option<bool> {
        Some(self == other)
    }
}

/// The place of an error in the text of a system file.
pub(crate) fn place_of(error: &SystemError, file: &str, text: &str) -> Option<Place> {
    let span = error.span()?;
    let before = text.get(..span.start).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or("").chars().count() + 1;
    let marked = text.get(span).unwrap_or("").lines().next().unwrap_or("");
    let end = column + marked.chars().count().max(1);
    Some(Place { file: file.to_owned(), line, column, end })
}

/// A refusal of the engine about systems and bodies, with what to write.
fn refused(error: &SystemError) -> Fault {
    let fault = Fault::new(error.message());
    match error.hint() {
        Some(hint) => fault.help(hint),
        None => fault,
    }
}

fn from_file(given: &Given, path: &str) -> Result<System, Fault> {
    let Some(folder) = &given.run.settings.folder else {
        return Err(
            Fault::new(format!("this run may not read `{path}`")).help("use system(\"sol\") or system(\"velm\")")
        );
    };
    let Some(text) = read_below(folder, path).map_err(|fault| fault.at(0))? else {
        return Err(Fault::new(format!("there is no system file `{path}`"))
            .help("system files are looked for below the script's own folder")
            .at(0));
    };
    given.run.sources.add(path, &text);
    System::parse(&text, path.trim_end_matches(".toml"))
        .map_err(|error| refused(&error).at(0).elsewhere(place_of(&error, path, &text)))
}

const SYSTEM_OPTIONS: &[Parameter] = &[Parameter::optional(
    "ephemeris",
    Kind::Text,
    "for \"sol\": \"pack\" (1950 to 2100, about 1 km), \"mean\" (3000 BC to AD 3000) or \"mean 1800-2050\"",
)];

/// The definitions of systems.
pub(super) const TABLE: &[Definition] = &[
    Definition {
        summary: "A system of bodies: one of the two that are built in, or a file.",
        parameters: &[
            Parameter::new("name", Kind::Text, "\"sol\", \"velm\", or a TOML file below the script's own folder"),
            Parameter::optional("options", Kind::Options(SYSTEM_OPTIONS), "which ephemeris"),
        ],
        returns: (SYSTEM, "its bodies are read by name"),
        see_also: &["System.bodies", "Body", "distance"],
        examples: &[
            Example::exact("system(\"sol\").Earth.radius", "6378.1366.km"),
            Example::exact("system(\"sol\", #{ ephemeris: \"mean\" }).Mars.parent.name", "\"Sun\""),
        ],
        ..Definition::function("system", |given| {
            let name = given.text(0)?;
            let options = given.options(1)?;
            let choice = options.text("ephemeris")?;
            if name.ends_with(".toml") {
                if choice.is_some() {
                    return Err(options.fault("ephemeris", "a system file has one ephemeris only, its own orbits"));
                }
                return Ok(value::noun(from_file(given, &name)?));
            }
            let choice = match choice {
                None => EphemerisChoice::Default,
                Some(choice) => {
                    EphemerisChoice::by_name(&choice).map_err(|error| refused(&error).at_key(1, "ephemeris"))?
                }
            };
            System::embedded(&name, choice).map(value::noun).map_err(|error| {
                let fault = refused(&error).at(0);
                if error.hint().is_some() {
                    fault
                } else {
                    fault.help("there are \"sol\", \"velm\", and files: \"my-system.toml\"")
                }
            })
        })
    },
    Definition {
        summary: "All bodies, each followed by its own moons.",
        returns: (Kind::List, "of bodies, the root first"),
        see_also: &["System.body", "System.root"],
        examples: &[Example::exact("system(\"velm\").bodies.map(|body| body.name)[1]", "\"Brenn\"")],
        ..Definition::property("System", "bodies", |given| {
            Ok(Dynamic::from_array(given.this::<System>()?.bodies().into_iter().map(value::noun).collect()))
        })
    },
    Definition {
        summary: "The body of a name that is only known when the script runs.",
        parameters: &[Parameter::new("name", Kind::Text, "as the system writes it")],
        returns: (BODY, "as `sys.Veyra` gives it"),
        see_also: &["System.bodies"],
        examples: &[Example::exact("system(\"velm\").body(\"Keld\").parent.name", "\"Oru\"")],
        ..Definition::method("System", "body", |given| {
            let body = given.this::<System>()?.body(&given.text(0)?);
            body.map(value::noun).map_err(|error| refused(&error).at(0))
        })
    },
    Definition {
        summary: "The body that all others go round.",
        returns: (BODY, ""),
        see_also: &["System.bodies"],
        examples: &[Example::exact("system(\"sol\").root.name", "\"Sun\"")],
        ..Definition::property("System", "root", |given| Ok(value::noun(given.this::<System>()?.root())))
    },
    Definition {
        summary: "What the system is called.",
        returns: (Kind::Text, ""),
        see_also: &["System.bodies"],
        examples: &[Example::exact("system(\"velm\").name", "\"velm\"")],
        ..Definition::property("System", "name", |given| Ok(value::text(given.this::<System>()?.name())))
    },
    Definition {
        summary: "The epoch of the system's elements: orbits begin here when no epoch is given.",
        returns: (EPOCH, "J2000 for `sol`"),
        see_also: &["System.first_epoch", "System.last_epoch"],
        examples: &[Example::exact("system(\"sol\").epoch", "epoch(\"2000-01-01T12:00:00 TDB\")")],
        ..Definition::property("System", "epoch", |given| Ok(value::noun(given.this::<System>()?.epoch())))
    },
    Definition {
        summary: "The first epoch for which places are known.",
        returns: (EPOCH, "an error where places are known at any time"),
        see_also: &["System.last_epoch", "System.epoch"],
        examples: &[Example::exact("system(\"sol\").first_epoch < epoch(\"1951-01-01 TDB\")", "true")],
        ..Definition::property("System", "first_epoch", |given| span(given).map(|(first, _)| value::noun(first)))
    },
    Definition {
        summary: "The last epoch for which places are known.",
        returns: (EPOCH, "an error where places are known at any time"),
        see_also: &["System.first_epoch", "System.epoch"],
        examples: &[Example::exact("system(\"sol\").last_epoch > epoch(\"2099-01-01 TDB\")", "true")],
        ..Definition::property("System", "last_epoch", |given| span(given).map(|(_, last)| value::noun(last)))
    },
];

fn span(given: &Given) -> Result<(visviva_engine::time::Epoch, visviva_engine::time::Epoch), Fault> {
    let system = given.this::<System>()?;
    system.span().ok_or_else(|| Fault::new(format!("`{}` knows where its bodies are at any time", system.name())))
}
