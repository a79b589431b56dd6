//! Liquids of seas against published equations of state: every `check` case of `seawater.toml` and `titan_liquids.toml`, every row of the two tables.

use visviva_engine::system::sea::{Mix, column, eos80, hydrocarbon, teos10};
use visviva_engine::system::{EphemerisChoice, Sea, System};
use visviva_tests::{Table, read_csv, read_toml};

use crate::kepler::number;

const ZERO_CELSIUS: f64 = 273.15;
const DECIBAR: f64 = 1e4;
/// One standard atmosphere, Pa, exact. (Resolution 4 of the 10th CGPM, 1954.)
const ATMOSPHERE: f64 = 101_325.0;

pub(crate) fn tables() -> Vec<Table> {
    vec![cases(), standard_column(), built_column(), liquids(), pure_liquids(), titan()]
}

/// The figure, or the list of them, that a case's id, a name among its expected figures and its inputs ask for.
type Answer<'a> = dyn Fn(&str, &str, &toml::Value) -> Option<Vec<f64>> + 'a;

/// Cases whose kind is `check`, with the figure that each expects under a name.
pub(crate) fn checked(file: &str, source: &str, answer: &Answer<'_>) -> Table {
    let mut table = Table::new(file, source);
    for case in read_toml(file)["case"].as_array().expect("cases") {
        if case["kind"].as_str() != Some("check") {
            continue;
        }
        let id = case["id"].as_str().expect("text");
        let none = toml::Value::Table(toml::Table::new());
        let inputs = case.get("inputs").unwrap_or(&none);
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let row = format!("{id} {name}");
            let bound = tolerance(case, name);
            let Some(got) = answer(id, name, inputs) else {
                table.failed(row, "nothing computed under this name");
                continue;
            };
            match expected {
                toml::Value::Boolean(expected) => table.holds(row, (got[0] != 0.0) == *expected),
                toml::Value::String(expected) => {
                    table.holds(row, (got[0] > 0.0 && expected == "down") || (got[0] < 0.0 && expected == "up"));
                }
                expected => {
                    let expected = crate::kepler::numbers(expected);
                    if got.len() != expected.len() {
                        table.failed(row.clone(), format!("{} figures instead of {}", got.len(), expected.len()));
                    }
                    for (got, expected) in got.iter().zip(expected) {
                        table.relative(row.clone(), *got, expected, bound);
                    }
                }
            }
        }
    }
    table
}

/// Of the whole case, or of the quantities whose names begin alike; 1e-6 where neither is told.
fn tolerance(case: &toml::Value, name: &str) -> f64 {
    let own = case.get("tol").and_then(toml::Value::as_table).and_then(|table| {
        table
            .iter()
            .filter(|(start, _)| name.starts_with(start.as_str()))
            .find_map(|(start, _)| number(&case["tol"], start))
    });
    own.or_else(|| number(case, "rel_tol")).unwrap_or(1e-6)
}

fn cases() -> Table {
    checked(
        "flight/seawater.toml",
        "TEOS-10 and EOS-80 check values; hydrostatic columns, as each case says",
        &|id, name, inputs| {
            let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
            let decibars = input("sea_pressure_dbar") * DECIBAR;
            let one = match id {
                _ if id.starts_with("teos10") => {
                    let salinity = 1e-3 * input("absolute_salinity_g_kg");
                    let warmth = input("conservative_temperature_C") + ZERO_CELSIUS;
                    match name {
                        "density_kg_m3" => teos10::density(salinity, warmth, decibars),
                        "sound_speed_m_s" => teos10::sound_speed(salinity, warmth, decibars),
                        _ => return None,
                    }
                }
                _ if id.starts_with("eos80") => {
                    let (salinity, warmth) =
                        (1e-3 * input("practical_salinity"), input("temperature_C") + ZERO_CELSIUS);
                    eos80::density(salinity, warmth, input("sea_pressure_bar") * 1e5)
                }
                _ if id.starts_with("unesco-depth") => {
                    eos80::standard_depth(decibars, input("latitude_deg").to_radians())
                }
                _ if id.starts_with("pressure-constant-density") => {
                    let pressure = column::pressure_at_constant_density(
                        input("density_kg_m3"),
                        input("gravity_m_s2"),
                        input("surface_pressure_Pa"),
                        input("depth_m"),
                    );
                    if name == "pressure_bar" { pressure / 1e5 } else { pressure }
                }
                _ if id.starts_with("pressure-compressible") => {
                    let (pressure, density) = column::at_constant_bulk_modulus(
                        input("surface_density_kg_m3"),
                        input("gravity_m_s2"),
                        input("bulk_modulus_Pa"),
                        input("depth_m"),
                    )?;
                    if name == "pressure_Pa" { pressure } else { density }
                }
                _ => return None,
            };
            Some(vec![one])
        },
    )
}

/// The file's own tolerances: 1e-6 with the same equation, 3e-4 with the other one. Depths are printed to 1 mm, the compressibility to six digits.
fn standard_column() -> Table {
    let file = "flight/seawater_column.csv";
    let mut table =
        Table::new(file, "TEOS-10 polynomial of 75 terms, 35.16504 g/kg, 2 °C, latitude 30°; EOS-80 beside it");
    let (salinity, warmth, latitude) = (teos10::STANDARD_SALINITY, 2.0 + ZERO_CELSIUS, 30_f64.to_radians());
    for row in read_csv(file) {
        let dbar = row.number("p_dbar");
        let pressure = dbar * DECIBAR;
        table.relative(
            format!("{dbar} dbar density"),
            teos10::density(salinity, warmth, pressure),
            row.number("rho_kg_m3"),
            1e-6,
        );
        let sound = teos10::sound_speed(salinity, warmth, pressure);
        table.relative(format!("{dbar} dbar sound"), sound, row.number("sound_speed_m_s"), 1e-6);
        let give = 1e9 * teos10::compressibility(salinity, warmth, pressure);
        table.add(
            format!("{dbar} dbar compressibility"),
            (give - row.number("isentropic_compressibility_1_GPa")).abs(),
            5e-7,
            "1/GPa",
        );
        let depth = row.number("depth_m");
        let found = teos10::standard_depth(pressure, latitude);
        table.add(format!("{dbar} dbar depth"), (found - depth).abs(), 5e-4 + 1e-6 * depth, "m");
        // Practical salinity 35 is 35.16504 g/kg. The older equation ends at 1000 bar; the warming under pressure (conservative against in-place
        // temperature, a degree at 10 000 dbar) is left out here and is what most of the difference is.
        if dbar <= 10_000.0 {
            let other = eos80::density(35e-3, warmth, pressure);
            table.relative(format!("{dbar} dbar density EOS-80"), other, row.number("rho_kg_m3"), 3e-4);
        }
        table.add(
            format!("{dbar} dbar depth EOS-80"),
            (eos80::standard_depth(pressure, latitude) - depth).abs(),
            3e-4 * depth,
            "m",
        );
    }
    table
}

/// A sea that a system file describes, on a body like the Earth with gravity as at 30° latitude.
fn built(sea: &str) -> Sea {
    let text = format!(
        "epoch = \"2000-01-01T12:00:00 TDB\"\n[[body]]\nname = \"Home\"\ngm = \"397573.5 km^3/s^2\"\nradius = \"6371 km\"\n\
         air = {{ model = \"exponential\", molar_mass = \"29 g/mol\", heat_ratio = 1.4, top = \"100 km\", layers = [[\"0 km\", \"1.225 kg/m^3\", \"8.4 km\"]] }}\n\
         sea = {{ {sea} }}"
    );
    System::parse(&text, "check").expect("a sound file").root().sea().expect("a sea").clone()
}

/// A column integrated under a body's own gravity, against the standard's depths: their constant growth of gravity (2.26e-7 1/m) is reached
/// here from the body's mass and radius, so the bound is the file's for other ways, 3e-4; the column is 2 °C warm where the standard's depth is of 0 °C
/// water, which adds 2e-4 of the density.
fn built_column() -> Table {
    let file = "flight/seawater_column.csv";
    let mut table = Table::new(
        &format!("{file} (a body's sea)"),
        "the same table, against a column integrated under a body's gravity",
    );
    let sea = built(
        "model = \"TEOS-10\", salinity = \"35.16504 g/kg\", temperature = \"275.15 K\", depth = [\"0 m\", \"10900 m\"]",
    );
    for row in read_csv(file) {
        let (dbar, depth) = (row.number("p_dbar"), row.number("depth_m"));
        let above = sea.air_pressure() - ATMOSPHERE;
        let Some(found) = sea.depth_at((dbar * DECIBAR - above).max(0.0)) else {
            table.failed(format!("{dbar} dbar depth"), "beyond the sea");
            continue;
        };
        table.add(format!("{dbar} dbar depth"), (found - depth).abs(), 0.2 + 3e-4 * depth, "m");
        table.relative(format!("{dbar} dbar density"), sea.density(found), row.number("rho_kg_m3"), 1e-5);
    }
    table
}

fn part(name: &str) -> Option<(usize, Mix)> {
    let which = ["methane", "ethane", "nitrogen"].iter().position(|part| name.contains(part))?;
    let share = |i: usize| f64::from(u8::from(i == which));
    Some((which, Mix::new(share(0), share(1), share(2))?))
}

fn liquids() -> Table {
    checked(
        "flight/titan_liquids.toml",
        "reference equations of state and ideal mixing, as each case says",
        &|id, name, inputs| {
            let input = |name: &str| number(inputs, name).unwrap_or(f64::NAN);
            let warmth = input("T_K");
            let one = if id.starts_with("saturated-liquid") {
                let (which, mix) = part(id)?;
                let vapour = hydrocarbon::Mix::vapour_pressure(which, warmth)?;
                let liquid = mix.at(vapour, warmth);
                match name {
                    "rho_kg_m3" => liquid.density,
                    "p_sat_Pa" => vapour,
                    "mu_Pa_s" => liquid.viscosity,
                    _ => return None,
                }
            } else {
                let methane = input("methane_mole_fraction");
                let liquid = Mix::new(methane, 1.0 - methane, 0.0)?.at(input("p_Pa"), warmth);
                match name {
                    "density_kg_m3" => liquid.density,
                    "viscosity_Pa_s" => liquid.viscosity,
                    _ => return None,
                }
            };
            Some(vec![one])
        },
    )
}

/// The built-in sea of Titan against the engineering ranges of the data case: within the file's 15 %.
fn titan() -> Table {
    let file = "flight/titan_liquids.toml";
    let mut table = Table::new(&format!("{file} (Titan's sea)"), "ranges as used in the literature of Titan's lakes");
    let cases = read_toml(file);
    let mut all = cases["case"].as_array().expect("cases").iter();
    let case = all.find(|case| case["id"].as_str() == Some("titan-sea-engineering-values")).expect("the ranges");
    let bound = number(case, "rel_tol").unwrap_or(f64::NAN);
    let sol = System::embedded("sol", EphemerisChoice::Default).expect("the Solar System is built in");
    let sea = sol.body("Titan").expect("a moon").sea().expect("a sea").clone();
    for (name, found) in [
        ("methane_rich_density_kg_m3", sea.surface_density()),
        ("methane_rich_viscosity_Pa_s", sea.viscosity(0.0)),
        ("gravity_m_s2", sea.gravity(0.0)),
        ("ligeia_depth_m", sea.depth().1),
    ] {
        let range = crate::kepler::numbers(&case["expected"][name]);
        let nearest = found.clamp(range[0], range[range.len() - 1]);
        table.relative(name, found, nearest, bound);
    }
    table
}

/// The file's tolerances: 1e-3 for density, 0.05 for viscosity; sound, of the same equations, to the digits printed.
fn pure_liquids() -> Table {
    let file = "flight/titan_liquids_pure.csv";
    let mut table = Table::new(file, "Setzmann & Wagner 1991, Bücker & Wagner 2006, at 1.5 bar");
    for row in read_csv(file) {
        let warmth = row.number("T_K");
        for name in ["methane", "ethane"] {
            let (_, mix) = part(name).expect("a part");
            let liquid = mix.at(1.5e5, warmth);
            table.relative(
                format!("{name} {warmth} K density"),
                liquid.density,
                row.number(&format!("{name}_rho_kg_m3")),
                1e-3,
            );
            let viscosity = 1e6 * liquid.viscosity;
            table.relative(
                format!("{name} {warmth} K viscosity"),
                viscosity,
                row.number(&format!("{name}_mu_uPa_s")),
                0.05,
            );
            let sound = row.number(&format!("{name}_sound_m_s"));
            table.add(format!("{name} {warmth} K sound"), (liquid.sound - sound).abs(), 0.051, "m/s");
        }
    }
    table
}
