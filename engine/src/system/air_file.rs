//! The `air` of a body in a system file, read and checked by itself.

use toml::Spanned;
use toml::de::DeValue;

use super::air::{AirModel, Gas, STANDARD_1976};
use super::document::Fields;
use super::error::SystemError;

const HEIGHTS: (f64, f64) = (f64::MIN_POSITIVE, 1e12);
const PRESSURES: (f64, f64) = (f64::MIN_POSITIVE, 1e12);
const DENSITIES: (f64, f64) = (f64::MIN_POSITIVE, 1e6);
const TEMPERATURES: (f64, f64) = (1.0, 1e6);

/// Every model and its keys; the first one is meant where the file does not say.
const MODELS: [(&str, &[&str]); 4] = [
    ("layers", &["model", "pressure", "molar_mass", "heat_ratio", "top", "ceiling", "temperature", "heating"]),
    ("table", &["model", "rows", "molar_mass", "heat_ratio", "top", "ceiling", "temperature", "heating"]),
    ("exponential", &["model", "layers", "molar_mass", "heat_ratio", "top", "ceiling", "heating"]),
    ("US 1976", &["model", "top", "heating"]),
];
const ALL: [&str; 10] =
    ["model", "pressure", "molar_mass", "heat_ratio", "top", "ceiling", "temperature", "heating", "rows", "layers"];

/// What a file says of air.
pub(super) struct AirDraft {
    pub(super) gas: Gas,
    pub(super) model: AirModel,
}

/// Reads the air of a body, where it has any.
pub(super) fn read(body: &Fields<'_>) -> Result<Option<AirDraft>, SystemError> {
    let example = "{ pressure = \"8 kPa\", … }";
    let Some(all) = body.fields("air", &ALL, example)? else {
        return Ok(None);
    };
    let model = all.text("model", "layers")?;
    let name = model.as_ref().map_or(MODELS[0].0, |model| model.value.as_str());
    let Some((name, known)) = MODELS.iter().find(|(known, _)| *known == name) else {
        let span = model.as_ref().map_or(all.span.clone(), |model| model.span.clone());
        let needs = "\"layers\", \"table\", \"exponential\" or \"US 1976\"";
        return Err(all.out_of_range("model", span, format!("{name:?}"), needs));
    };
    let Some(fields) = body.fields("air", known, example)? else {
        return Ok(None);
    };
    if *name == "US 1976" {
        let (molar_mass, heat_ratio, ceiling) = STANDARD_1976;
        let top = fields.required_within("top", "122 km", (HEIGHTS.0, ceiling), "positive and at most 1000 km")?;
        let gas = Gas { molar_mass, heat_ratio, top, ceiling, heating: heating(&fields)? };
        return Ok(Some(AirDraft { gas, model: AirModel::Standard1976 }));
    }
    let model = match *name {
        "table" => table(&fields)?,
        "exponential" => AirModel::Exponential { layers: exponential(&fields)? },
        _ => layers(&fields)?,
    };
    Ok(Some(AirDraft { gas: gas(&fields)?, model }))
}

fn heating(fields: &Fields<'_>) -> Result<Option<f64>, SystemError> {
    fields.quantity_within("heating", "1.8e-4 kg^0.5/m", (0.0, 1.0), "positive")
}

fn gas(fields: &Fields<'_>) -> Result<Gas, SystemError> {
    let heat_ratio = fields.required_number("heat_ratio", "1.4")?;
    if !(heat_ratio.value > 1.0 && heat_ratio.value <= 2.0) {
        let shown = heat_ratio.value.to_string();
        return Err(fields.out_of_range("heat_ratio", heat_ratio.span, shown, "more than 1 and at most 2"));
    }
    let molar_mass = fields.required_within("molar_mass", "33.3 g/mol", (1e-4, 1.0), "from 0.1 to 1000 g/mol")?;
    let top = fields.required_within("top", "175 km", HEIGHTS, "positive")?;
    let ceiling = fields.quantity_within("ceiling", "175 km", (top, HEIGHTS.1), "at the top or above it")?;
    Ok(Gas {
        molar_mass,
        heat_ratio: heat_ratio.value,
        top,
        ceiling: ceiling.unwrap_or(top),
        heating: heating(fields)?,
    })
}

fn layers(fields: &Fields<'_>) -> Result<AirModel, SystemError> {
    let shape = "[[\"0 km\", \"284 K\"], [\"26 km\", \"176 K\"]]";
    let temperature = temperatures(fields, shape, None)?;
    if temperature.is_empty() {
        return Err(fields.missing("temperature", shape));
    }
    let pressure = fields.required_within("pressure", "130 kPa", PRESSURES, "positive")?;
    Ok(AirModel::Layers { pressure, temperature })
}

/// Pairs of height and temperature, the first at 0 or anywhere above a height.
fn temperatures(fields: &Fields<'_>, shape: &str, above: Option<f64>) -> Result<Vec<(f64, f64)>, SystemError> {
    let rows = List { key: "temperature", shape, what: "a list of pairs, height and temperature" };
    let columns = [
        Column { name: "height of temperature", example: "26 km", range: (0.0, HEIGHTS.1), needs: "" },
        Column { name: "temperature by height", example: "176 K", range: TEMPERATURES, needs: "from 1 K to 1e6 K" },
    ];
    let rows = rows.read(fields, &columns, above)?;
    Ok(rows.into_iter().map(|row| (row[0], row[1])).collect())
}

fn table(fields: &Fields<'_>) -> Result<AirModel, SystemError> {
    let shape =
        "[[\"0 km\", \"735 K\", \"92 bar\", \"64.8 kg/m^3\"], [\"10 km\", \"658 K\", \"47 bar\", \"37.7 kg/m^3\"]]";
    let what = "a list of rows of one length: height, temperature, pressure and, where it is known, density";
    let columns = [
        Column { name: "height of rows", example: "10 km", range: (-HEIGHTS.1, HEIGHTS.1), needs: "" },
        Column { name: "temperature of rows", example: "658 K", range: TEMPERATURES, needs: "from 1 K to 1e6 K" },
        Column { name: "pressure of rows", example: "47 bar", range: PRESSURES, needs: "positive" },
        Column { name: "density of rows", example: "37.7 kg/m^3", range: DENSITIES, needs: "positive" },
    ];
    let first = fields.list("rows", shape)?.ok_or_else(|| fields.missing("rows", shape))?.first();
    let has_density = matches!(first.map(Spanned::get_ref), Some(DeValue::Array(row)) if row.len() == columns.len());
    let columns = if has_density { &columns[..] } else { &columns[..3] };
    let found = List { key: "rows", shape, what }.read(fields, columns, Some(f64::NEG_INFINITY))?;
    let rows: Vec<[f64; 4]> =
        found.iter().map(|row| [row[0], row[1], row[2], row.get(3).copied().unwrap_or(0.0)]).collect();
    let (Some(last), true) = (rows.last(), rows.len() > 1) else {
        let span = fields.value("rows").map_or(fields.span.clone(), Spanned::span);
        return Err(fields.out_of_range("rows", span, format!("a list of {}", rows.len()), "two rows or more"));
    };
    let above = if fields.has("temperature") {
        temperatures(fields, "[[\"250 km\", \"186 K\"]]", Some(last[0]))?
    } else {
        Vec::new()
    };
    Ok(AirModel::Table { rows, has_density, above })
}

fn exponential(fields: &Fields<'_>) -> Result<Vec<[f64; 3]>, SystemError> {
    let shape = "[[\"0 km\", \"1.225 kg/m^3\", \"7.25 km\"]]";
    let columns = [
        Column { name: "base of layers", example: "25 km", range: (0.0, HEIGHTS.1), needs: "" },
        Column { name: "density of layers", example: "0.039 kg/m^3", range: DENSITIES, needs: "positive" },
        Column { name: "scale height of layers", example: "6.35 km", range: (1.0, 1e9), needs: "from 1 m to 1e6 km" },
    ];
    let what = "a list of rows of three: base, density there, scale height";
    let rows = List { key: "layers", shape, what }.read(fields, &columns, None)?;
    if rows.is_empty() {
        return Err(fields.missing("layers", shape));
    }
    Ok(rows.into_iter().map(|row| [row[0], row[1], row[2]]).collect())
}

/// One column of a list of rows: what errors call it, a value, its range and that in words.
struct Column {
    name: &'static str,
    example: &'static str,
    range: (f64, f64),
    needs: &'static str,
}

/// A list of rows of quantities, the first column a height that rises.
struct List<'t> {
    key: &'static str,
    shape: &'t str,
    what: &'static str,
}

impl List<'_> {
    /// `above`: what the first height lies above; none: it is 0.
    fn read(&self, fields: &Fields<'_>, columns: &[Column], above: Option<f64>) -> Result<Vec<Vec<f64>>, SystemError> {
        let rows = fields.list(self.key, self.shape)?.ok_or_else(|| fields.missing(self.key, self.shape))?;
        let mut found: Vec<Vec<f64>> = Vec::with_capacity(rows.len());
        for row in rows {
            let DeValue::Array(cells) = row.get_ref() else {
                return Err(fields.wrong_kind(self.key, row, self.what, self.shape));
            };
            if cells.len() != columns.len() {
                let shown = format!("a row of {}", cells.len());
                return Err(fields.out_of_range(self.key, row.span(), shown, self.what));
            }
            let mut values = Vec::with_capacity(columns.len());
            for (index, (cell, column)) in cells.iter().zip(columns).enumerate() {
                let value = fields.quantity_of(column.name, cell, column.example)?;
                let within = column.range.0 <= value.value && value.value <= column.range.1;
                let rises = match (found.last(), above) {
                    (Some(before), _) => value.value > before[0],
                    (None, Some(above)) => value.value > above,
                    (None, None) => value.value == 0.0,
                };
                let (sound, needs) = match (index, above) {
                    (0, None) => (within && rises, "a list of heights that begins at 0 and rises"),
                    (0, Some(f64::NEG_INFINITY)) => (within && rises, "a list of heights that rises"),
                    (0, Some(_)) => (within && rises, "a list of heights that begins above the last row and rises"),
                    _ => (within, column.needs),
                };
                if !sound {
                    let shown = match cell.get_ref() {
                        DeValue::String(text) => text.to_string(),
                        _ => value.value.to_string(),
                    };
                    return Err(fields.out_of_range(self.key, value.span, shown, needs));
                }
                values.push(value.value);
            }
            found.push(values);
        }
        Ok(found)
    }
}
