//! What a stage has besides tanks and engines, as maps and as JSON: one description for both.

use rhai::{Dynamic, Map};
use serde_json::{Value, json};
use visviva_engine::quantity::Dimension;
use visviva_engine::vehicle::{ChuteKind, Stage};

use super::value;

/// One figure of a part.
enum Cell {
    Text(String),
    Count(Option<u32>),
    Share(Option<f64>),
    Of(Option<f64>, Dimension, &'static str),
}

type Part = Vec<(&'static str, Cell)>;

fn text(text: &str) -> Cell {
    Cell::Text(text.to_owned())
}

fn mass(kg: impl Into<Option<f64>>) -> Cell {
    Cell::Of(kg.into(), Dimension::MASS, "kg")
}

fn length(m: impl Into<Option<f64>>) -> Cell {
    Cell::Of(m.into(), Dimension::LENGTH, "m")
}

/// Each sort of equipment with its parts; what the stage has none of is left out.
fn described(stage: &Stage) -> Vec<(&'static str, Vec<Part>)> {
    let own = stage.equipment();
    let fairings = own.fairings.iter().map(|fairing| {
        vec![
            ("name", text(&fairing.name)),
            ("mass", mass(fairing.mass)),
            ("segments", Cell::Count(Some(fairing.segments))),
            ("diameter", length(fairing.diameter)),
            ("altitude", length(fairing.altitude)),
            ("heat_flux", Cell::Of(fairing.heat_flux, Dimension::HEAT_FLUX, "W/m²")),
            ("leaves", text(fairing.leaves.as_deref().unwrap_or_default())),
        ]
    });
    let shields = own.heat_shields.iter().map(|shield| {
        vec![
            ("name", text(&shield.name)),
            ("mass", mass(shield.mass)),
            ("diameter", length(shield.diameter)),
            ("drag_coefficient", Cell::Share(shield.drag_coefficient)),
            ("nose_radius", length(shield.nose_radius)),
            ("ablator", mass(shield.ablator)),
            ("heat_of_ablation", Cell::Of(shield.heat_of_ablation, Dimension::SPECIFIC_ENERGY, "J/kg")),
        ]
    });
    let chutes = own.chutes.iter().map(|chute| {
        let kind = match chute.kind {
            ChuteKind::Drogue => "drogue",
            ChuteKind::Main => "main",
        };
        vec![
            ("kind", text(kind)),
            ("number", Cell::Count(Some(chute.number))),
            ("diameter", length(chute.diameter)),
            ("drag_coefficient", Cell::Share(Some(chute.drag_coefficient))),
            ("altitude", length(chute.altitude)),
            ("speed", Cell::Of(chute.speed, Dimension::SPEED, "m/s")),
        ]
    });
    let legs = own.legs.iter().map(|legs| {
        vec![
            ("number", Cell::Count(legs.number)),
            ("rated_speed", Cell::Of(Some(legs.rated_speed), Dimension::SPEED, "m/s")),
        ]
    });
    let batteries =
        own.batteries.iter().map(|battery| vec![("energy", Cell::Of(Some(battery.energy), Dimension::ENERGY, "J"))]);
    let panels = own.panels.iter().map(|panel| {
        vec![
            ("area", Cell::Of(Some(panel.area), Dimension::AREA, "m²")),
            ("efficiency", Cell::Share(Some(panel.efficiency))),
        ]
    });
    let floats = own.floats.iter().map(|float| {
        vec![
            ("number", Cell::Count(Some(float.number))),
            ("diameter", length(float.diameter)),
            ("height", length(float.height)),
            ("offset", length(float.offset)),
            ("bottom", length(float.bottom)),
        ]
    });
    let hull = own.hull.iter().map(|hull| {
        vec![
            ("volume", Cell::Of(hull.volume, Dimension::VOLUME, "m³")),
            ("rated_pressure", Cell::Of(hull.rated_pressure, Dimension::PRESSURE, "Pa")),
            ("centre", length(hull.centre)),
            ("hatch", length(hull.hatch)),
            ("hatch_limit", length(hull.hatch_limit)),
            ("ballast", mass(hull.ballast)),
        ]
    });
    let sorts: [(&str, Vec<Part>); 8] = [
        ("fairings", fairings.collect()),
        ("heat_shields", shields.collect()),
        ("chutes", chutes.collect()),
        ("legs", legs.collect()),
        ("batteries", batteries.collect()),
        ("panels", panels.collect()),
        ("floats", floats.collect()),
        ("hull", hull.collect()),
    ];
    sorts.into_iter().filter(|(_, parts)| !parts.is_empty()).collect()
}

/// A map of lists of maps, by sort.
pub(super) fn maps(stage: &Stage) -> Dynamic {
    let mut all = Map::new();
    for (sort, parts) in described(stage) {
        let list = parts.into_iter().map(|part| {
            let mut map = Map::new();
            for (name, cell) in part {
                let value = match cell {
                    Cell::Text(text) if text.is_empty() => Dynamic::UNIT,
                    Cell::Text(text) => value::text(&text),
                    Cell::Count(count) => count.map_or(Dynamic::UNIT, |count| Dynamic::from_int(i64::from(count))),
                    Cell::Share(share) => share.map_or(Dynamic::UNIT, Dynamic::from_float),
                    Cell::Of(figure, dimension, _) => {
                        figure.map_or(Dynamic::UNIT, |figure| value::of(figure, dimension))
                    }
                };
                map.insert(name.into(), value);
            }
            Dynamic::from_map(map)
        });
        all.insert(sort.into(), Dynamic::from_array(list.collect()));
    }
    Dynamic::from_map(all)
}

/// The same in a `--json` document.
pub(super) fn json(stage: &Stage) -> Value {
    let mut all = serde_json::Map::new();
    for (sort, parts) in described(stage) {
        let list = parts.into_iter().map(|part| {
            let mut map = serde_json::Map::new();
            for (name, cell) in part {
                let value = match cell {
                    Cell::Text(text) if text.is_empty() => Value::Null,
                    Cell::Text(text) => json!(text),
                    Cell::Count(count) => json!(count),
                    Cell::Share(share) => json!(share),
                    Cell::Of(figure, _, unit) => json!(figure.map(|figure| json!({ "value": figure, "unit": unit }))),
                };
                map.insert(name.to_owned(), value);
            }
            Value::Object(map)
        });
        all.insert(sort.to_owned(), Value::Array(list.collect()));
    }
    Value::Object(all)
}
