//! Vehicles by name and from files below the script's folder, with the files that those include.

use std::path::Path;

use visviva_engine::vehicle::{Vehicle, VehicleError, includes};

use super::fault::Fault;
use super::given::Given;
use super::system::place_of;
use super::vehicle::no_vehicle;
use crate::modules::read_below;

/// More included files than this are a mistake.
const MOST_FILES: usize = 64;

/// A vehicle that is built in.
pub(super) fn embedded(name: &str) -> Result<Vehicle, Fault> {
    Vehicle::embedded(name).map_err(|error| {
        let fault = Fault::new(error.to_string()).at(0);
        match &error {
            VehicleError::UnknownVehicle { nearest: Some(near), .. } => fault.note(format!("did you mean `{near}`?")),
            VehicleError::UnknownVehicle { .. } => fault.help(
                "there are \"lantern\", files: \"my-vehicle.toml\", and figures: vehicle(#{ dry: 2.tonnes, propellant: 3.tonnes, isp: 320.s })",
            ),
            _ => fault,
        }
    })
}

/// A vehicle from a file.
pub(super) fn from_file(given: &Given, path: &str) -> Result<Vehicle, Fault> {
    let Some(folder) = &given.run.settings.folder else {
        return Err(Fault::new(format!("this run may not read `{path}`")).help("use vehicle(\"lantern\")").at(0));
    };
    let mut files: Vec<(String, String)> = Vec::new();
    read(given, folder, path, &mut files, &mut Vec::new())?;
    let texts: Vec<&str> = files.iter().map(|(_, text)| text.as_str()).collect();
    let name = Path::new(path).file_stem().and_then(|stem| stem.to_str()).unwrap_or(path);
    Vehicle::read(&texts, name).map_err(|error| match &error {
        VehicleError::File { file, error: inner } => {
            let fault = Fault::new(inner.message()).at(0);
            let fault = match inner.hint() {
                Some(hint) => fault.help(hint),
                None => fault,
            };
            match files.get(*file) {
                Some((file, text)) => fault.elsewhere(place_of(inner, file, text)),
                None => fault,
            }
        }
        _ => no_vehicle(&error).at(0),
    })
}

/// Reads a file and those that it includes; each once, the vehicle's own first. `way` holds the files that led here.
fn read(
    given: &Given,
    folder: &Path,
    path: &str,
    files: &mut Vec<(String, String)>,
    way: &mut Vec<String>,
) -> Result<(), Fault> {
    let Some(text) = read_below(folder, path).map_err(|fault| fault.at(0))? else {
        return Err(Fault::new(format!("there is no vehicle file `{path}`"))
            .help("vehicle files, and those they include, are looked for below the script's own folder")
            .at(0));
    };
    given.run.sources.add(path, &text);
    let names = includes(&text).map_err(|error| {
        let fault = Fault::new(error.message()).at(0).elsewhere(place_of(&error, path, &text));
        match error.hint() {
            Some(hint) => fault.help(hint),
            None => fault,
        }
    })?;
    files.push((path.to_owned(), text));
    way.push(path.to_owned());
    for (name, _) in names {
        if way.contains(&name) {
            return Err(Fault::new(format!("`{path}` includes `{name}`, which includes it again"))
                .help("take one of the two includes out")
                .at(0));
        }
        if files.iter().any(|(known, _)| *known == name) {
            continue;
        }
        if files.len() >= MOST_FILES {
            return Err(Fault::new(format!("`{path}` includes more than {MOST_FILES} files in all")).at(0));
        }
        read(given, folder, &name, files, way)?;
    }
    way.pop();
    Ok(())
}
