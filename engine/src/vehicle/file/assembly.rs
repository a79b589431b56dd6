//! From the tables of all texts to one vehicle: engines found, stages put on their craft, craft put where they are carried.

use std::ops::Range;

use toml::Spanned;
use toml::de::DeTable;

use super::stage_table::Draft;
use super::{POSITIVE, engine_table, name, open, refused, stage_table, tables};
use crate::system::{Located, SystemError, nearest};
use crate::vehicle::{Engine, Stage, Vehicle, VehicleError};

/// More stages than this are a mistake.
const MOST_STAGES: usize = 200;

/// A carried craft, before its stages are on it.
struct Craft {
    file: usize,
    name: Located<String>,
    about: String,
    drag_area: Option<f64>,
}

struct Assembly {
    stages: Vec<Draft>,
    crafts: Vec<Craft>,
    /// How often each craft was put on a stage.
    carried: Vec<usize>,
}

fn of(file: usize) -> impl Fn(SystemError) -> VehicleError {
    move |error| VehicleError::File { file, error }
}

pub(super) fn assemble(documents: &[Spanned<DeTable<'_>>], fallback: &str) -> Result<Vehicle, VehicleError> {
    let engines = engines(documents)?;
    let mut assembly = Assembly { stages: Vec::new(), crafts: Vec::new(), carried: Vec::new() };
    // What is included stands before the file's own tables.
    for file in (1..documents.len()).chain(0..1) {
        assembly.add(&documents[file], file, &engines).map_err(of(file))?;
    }
    assembly.check_names()?;
    let fields = open(&documents[0]).map_err(of(0))?;
    let label = if fields.has("name") { name(&fields, "lantern").map_err(of(0))?.value } else { fallback.to_owned() };
    let about = fields.text("about", "three craft as one").map_err(of(0))?;
    let drag_area = fields.quantity_within("drag_area", "28 m^2", POSITIVE, "above zero").map_err(of(0))?;
    let mut vehicle = assembly.build(None, &label, 0, 0..0, &mut Vec::new())?;
    vehicle.about = about.map(|text| text.value).unwrap_or_default();
    vehicle.drag_area = drag_area;
    for (craft, carried) in assembly.crafts.iter().zip(&assembly.carried) {
        if *carried != 1 {
            let how = if *carried == 0 { "is carried by no stage" } else { "is carried by several stages" };
            let why = format!("craft `{}` {how}", craft.name.value);
            let instead = format!("write carries = [\"{}\"] in the one stage that carries it", craft.name.value);
            return Err(of(craft.file)(refused(craft.name.span.clone(), why, &instead)));
        }
    }
    Ok(vehicle)
}

fn engines(documents: &[Spanned<DeTable<'_>>]) -> Result<Vec<Engine>, VehicleError> {
    let mut engines: Vec<Engine> = Vec::new();
    for (file, document) in documents.iter().enumerate() {
        let fields = open(document).map_err(of(file))?;
        for table in tables(&fields, "engine", &engine_table::KEYS, "[[engine]]").map_err(of(file))? {
            let engine = engine_table::read(&table).map_err(of(file))?;
            if engines.iter().any(|known| known.name == engine.value.name) {
                let why = format!("two engines are called `{}`", engine.value.name);
                return Err(of(file)(refused(engine.span, why, "give one of them another name")));
            }
            engines.push(engine.value);
        }
    }
    Ok(engines)
}

impl Assembly {
    fn add(&mut self, document: &Spanned<DeTable<'_>>, file: usize, engines: &[Engine]) -> Result<(), SystemError> {
        let fields = open(document)?;
        for table in tables(&fields, "craft", &["name", "about", "drag_area"], "[[craft]]")? {
            self.crafts.push(Craft {
                file,
                name: name(&table, "lander")?,
                about: table.text("about", "what it is")?.map(|text| text.value).unwrap_or_default(),
                drag_area: table.quantity_within("drag_area", "1.53 m^2", POSITIVE, "above zero")?,
            });
            self.carried.push(0);
        }
        for table in tables(&fields, "stage", &stage_table::KEYS, "[[stage]]")? {
            let draft = stage_table::read(&table, file, engines)?;
            if self.stages.len() >= MOST_STAGES {
                let why = format!("more than the {MOST_STAGES} stages that a vehicle may have");
                return Err(refused(
                    draft.name.span,
                    why,
                    "several units that burn together are one stage with a `number`",
                ));
            }
            self.stages.push(draft);
        }
        Ok(())
    }

    /// A stage is called by its name, and so are parts and craft; a craft may share its name with a stage of its own.
    fn check_names(&self) -> Result<(), VehicleError> {
        let mut stages = std::collections::BTreeSet::new();
        let mut others = std::collections::BTreeSet::new();
        let twice = |file: usize, name: &Located<String>| {
            let why = format!("two parts are called `{}`", name.value);
            of(file)(refused(name.span.clone(), why, "give one of them another name"))
        };
        for draft in &self.stages {
            if !stages.insert(draft.name.value.as_str()) {
                return Err(twice(draft.file, &draft.name));
            }
        }
        for craft in &self.crafts {
            let own = |draft: &Draft| {
                draft.craft.as_ref().map(|craft| craft.value.as_str()) == Some(craft.name.value.as_str())
            };
            let shared = self.stages.iter().any(|draft| draft.name.value == craft.name.value && !own(draft));
            if !others.insert(craft.name.value.as_str()) || shared {
                return Err(twice(craft.file, &craft.name));
            }
        }
        for draft in &self.stages {
            for part in &draft.parts {
                if stages.contains(part.value.as_str()) || !others.insert(part.value.as_str()) {
                    return Err(twice(draft.file, part));
                }
            }
            if let Some(craft) = &draft.craft
                && !self.crafts.iter().any(|known| known.name.value == craft.value)
            {
                return Err(self.no_craft(draft.file, craft));
            }
            for fairing in &draft.stage.equipment.fairings {
                if let Some(leaves) = &fairing.leaves
                    && !stages.contains(leaves.as_str())
                {
                    let why = format!("fairing `{}` leaves with `{leaves}`, which is no stage", fairing.name);
                    return Err(of(draft.file)(refused(
                        draft.name.span.clone(),
                        why,
                        &near(leaves, stages.iter().copied()),
                    )));
                }
            }
        }
        Ok(())
    }

    fn no_craft(&self, file: usize, wanted: &Located<String>) -> VehicleError {
        let why = format!("there is no craft `{}`", wanted.value);
        let instead = near(&wanted.value, self.crafts.iter().map(|craft| craft.name.value.as_str()));
        of(file)(refused(wanted.span.clone(), why, &instead))
    }

    /// The craft of this name with its stages; `None` is the vehicle itself. `way` holds the craft that carry it.
    fn build(
        &mut self,
        craft: Option<&str>,
        label: &str,
        file: usize,
        span: Range<usize>,
        way: &mut Vec<String>,
    ) -> Result<Vehicle, VehicleError> {
        let own: Vec<usize> = (0..self.stages.len())
            .filter(|&index| self.stages[index].craft.as_ref().map(|craft| craft.value.as_str()) == craft)
            .collect();
        if own.is_empty() {
            let error = VehicleError::NoStage { name: label.to_owned() };
            let instead = match craft {
                Some(craft) => format!("write [[stage]] with craft = \"{craft}\""),
                None => "write [[stage]], name, dry, propellant and engines".to_owned(),
            };
            return Err(of(file)(refused(span, error.to_string(), &instead)));
        }
        let mut stages: Vec<Stage> = Vec::with_capacity(own.len());
        for &index in &own {
            let mut stage = self.stages[index].stage.clone();
            for wanted in self.stages[index].carries.clone() {
                let file = self.stages[index].file;
                let Some(place) = self.crafts.iter().position(|craft| craft.name.value == wanted.value) else {
                    return Err(self.no_craft(file, &wanted));
                };
                if way.contains(&wanted.value) {
                    let why = format!("craft `{}` carries itself: {}", wanted.value, way.join(", "));
                    return Err(of(file)(refused(wanted.span, why, "take it out of one of these")));
                }
                self.carried[place] += 1;
                let (of_file, at) = (self.crafts[place].file, self.crafts[place].name.span.clone());
                way.push(wanted.value.clone());
                let mut carried = self.build(Some(&wanted.value), &wanted.value, of_file, at, way)?;
                way.pop();
                carried.about.clone_from(&self.crafts[place].about);
                carried.drag_area = self.crafts[place].drag_area;
                stage.carries.push(carried);
            }
            stages.push(stage);
        }
        Vehicle::of_stages(label, stages).map_err(|error| self.placed(error, &own))
    }

    /// An error of the stack, at the stage that it is about.
    fn placed(&self, error: VehicleError, own: &[usize]) -> VehicleError {
        let about = |draft: &Draft| match &error {
            VehicleError::FeedLoop { stages } => stages.first() == Some(&draft.name.value),
            VehicleError::NoThrust { stage }
            | VehicleError::NoEngine { stage }
            | VehicleError::NotPositive { stage, .. }
            | VehicleError::OtherPropellant { stage, .. }
            | VehicleError::ThrottleRange { stage, .. }
            | VehicleError::BesideEarlier { stage, .. } => *stage == draft.name.value,
            VehicleError::NoSuchPart { name, .. } => draft.stage.beside.as_ref() == Some(name),
            _ => false,
        };
        let instead = match &error {
            VehicleError::FeedLoop { .. } => "let the outer stages feed the inner ones only".to_owned(),
            VehicleError::NoSuchPart { nearest: Some(near), .. } => format!("did you mean `{near}`?"),
            VehicleError::NoThrust { .. } => "give its engine a thrust: thrust = \"1150 kN\"".to_owned(),
            _ => "see docs/vehicles.md, stages".to_owned(),
        };
        let found = own.iter().map(|&index| &self.stages[index]).find(|draft| about(draft));
        let draft = found.or_else(|| own.first().map(|&index| &self.stages[index]));
        match draft {
            Some(draft) => of(draft.file)(refused(draft.name.span.clone(), error.to_string(), &instead)),
            None => error,
        }
    }
}

fn near<'n>(wanted: &str, names: impl IntoIterator<Item = &'n str>) -> String {
    let names: Vec<&str> = names.into_iter().collect();
    match nearest(wanted, names.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("there is {}", names.join(", ")),
    }
}
