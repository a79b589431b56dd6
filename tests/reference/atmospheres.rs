//! Atmospheres against printed standards and measured profiles. Each file names its source and its tolerance in its first lines.

use visviva_engine::system::{Air, AirState, EphemerisChoice, System};
use visviva_tests::{Table, read_csv, read_toml};

use crate::kepler::number;

pub(crate) fn tables() -> Vec<Table> {
    vec![
        standard_lower(),
        standard_upper(),
        standard_checks(),
        profile("Venus", "flight/atmosphere_venus_reference.csv", "p_bar", 1e5),
        profile("Titan", "flight/atmosphere_titan_huygens.csv", "p_Pa", 1.0),
        profile("Mars", "flight/atmosphere_mars_pathfinder.csv", "p_Pa", 1.0),
        profile("Jupiter", "flight/atmosphere_jupiter_galileo.csv", "p_Pa", 1.0),
        exponential(),
    ]
}

fn air(body: &str) -> Air {
    let sol = System::embedded("sol", EphemerisChoice::Default).expect("the Solar System is built in");
    sol.body(body).expect("a body").air().expect("air").clone()
}

/// The air of a body like the Earth that a system file describes by `air`.
fn described(air: &str) -> Air {
    let text = format!(
        "epoch = \"2000-01-01T12:00:00 TDB\"\n[[body]]\nname = \"Home\"\ngm = \"398600 km^3/s^2\"\nradius = \"6371 km\"\nair = {{ {air} }}"
    );
    System::parse(&text, "check").expect("a sound file").root().air().expect("air").clone()
}

fn at(air: &Air, km: f64) -> Result<AirState, String> {
    air.at(km * 1e3).ok_or_else(|| format!("no air at {km} km"))
}

/// The density of the layer that a flight through a height would be in.
fn flown(air: &Air, km: f64) -> f64 {
    let layers = air.layers();
    layers.iter().rfind(|layer| layer.start() <= km * 1e3).map_or(f64::NAN, |layer| layer.density_at(km * 1e3))
}

/// Tolerances of the file: 1e-4 for pressure and density, 5e-5 for temperature and sound; half a unit of the last digit for viscosity,
/// which it prints with five.
fn standard_lower() -> Table {
    let file = "flight/atmosphere_us1976_0_86km.csv";
    let mut table =
        Table::new(file, "U.S. Standard Atmosphere 1976; computed from its constants, spot rows as printed");
    let earth = air("Earth");
    for row in read_csv(file) {
        let km = row.number("z_km");
        let found = match at(&earth, km) {
            Ok(found) => found,
            Err(why) => {
                table.failed(km.to_string(), why);
                continue;
            }
        };
        table.relative(format!("{km} km temperature"), found.temperature, row.number("T_K"), 5e-5);
        table.relative(format!("{km} km pressure"), found.pressure, row.number("p_Pa"), 1e-4);
        table.relative(format!("{km} km density"), found.density, row.number("rho_kg_m3"), 1e-4);
        table.relative(format!("{km} km density flown"), flown(&earth, km), row.number("rho_kg_m3"), 1e-4);
        table.relative(format!("{km} km sound"), found.sound, row.number("a_m_s"), 5e-5);
        let viscosity = found.viscosity.unwrap_or(f64::NAN);
        table.relative(format!("{km} km viscosity"), viscosity, row.number("mu_Pa_s"), 5e-5);
    }
    table
}

/// Tolerances of the file: 1e-3 to 400 km, 2e-3 above.
fn standard_upper() -> Table {
    let file = "flight/atmosphere_us1976_86_1000km.csv";
    let mut table = Table::new(file, "U.S. Standard Atmosphere 1976; species equations, twelve rows as printed");
    let earth = air("Earth");
    for row in read_csv(file) {
        let km = row.number("z_km");
        let bound = if km <= 400.0 { 1e-3 } else { 2e-3 };
        let found = match at(&earth, km) {
            Ok(found) => found,
            Err(why) => {
                table.failed(km.to_string(), why);
                continue;
            }
        };
        table.relative(format!("{km} km temperature"), found.temperature, row.number("T_K"), bound);
        table.relative(format!("{km} km pressure"), found.pressure, row.number("p_Pa"), bound);
        table.relative(format!("{km} km density"), found.density, row.number("rho_kg_m3"), bound);
        table.relative(format!("{km} km density flown"), flown(&earth, km), row.number("rho_kg_m3"), bound);
        let mass = 1e3 * found.molar_mass;
        table.relative(format!("{km} km molar mass"), mass, row.number("mean_molar_mass_kg_kmol"), bound);
    }
    table
}

/// The cases that give inputs; those that list the standard's constants and layer bases are held by the rows above.
fn standard_checks() -> Table {
    let file = "flight/atmosphere_us1976_checks.toml";
    let mut table = Table::new(file, "U.S. Standard Atmosphere 1976, printed rows and closed forms, as each case says");
    let earth = air("Earth");
    for case in read_toml(file)["case"].as_array().expect("cases") {
        let id = case["id"].as_str().expect("text");
        let bound = number(case, "rel_tol").unwrap_or(f64::NAN);
        if id == "us76-layer-bases" {
            bases(&mut table, &earth, &case["expected"]);
            continue;
        }
        if id == "us76-constants" {
            let ground = at(&earth, 0.0).expect("ground");
            for (name, found) in [
                ("p0_Pa", ground.pressure),
                ("T0_K", ground.temperature),
                ("rho0_kg_m3", ground.density),
                ("sound_speed0_m_s", ground.sound),
                ("gamma", earth.heat_ratio()),
                ("molar_mass_kg_kmol", 1e3 * earth.molar_mass()),
            ] {
                table.relative(
                    format!("{id} {name}"),
                    found,
                    number(&case["expected"], name).unwrap_or(f64::NAN),
                    bound,
                );
            }
            continue;
        }
        // Geopotential height and gravity by themselves are no reading of the air: the rows of the lower table hang on them.
        if id.starts_with("us76-geopotential") {
            continue;
        }
        let found = at(&earth, number(&case["inputs"], "z_km").unwrap_or(f64::NAN)).expect("inside the standard");
        for (name, expected) in case["expected"].as_table().expect("a table") {
            let found = match name.as_str() {
                "T_K" => found.temperature,
                "p_Pa" => found.pressure,
                "rho_kg_m3" => found.density,
                "mu_Pa_s" => found.viscosity.unwrap_or(f64::NAN),
                "kinematic_m2_s" => found.viscosity.unwrap_or(f64::NAN) / found.density,
                "sound_speed_m_s" => found.sound,
                _ => f64::NAN,
            };
            table.relative(format!("{id} {name}"), found, expected.as_float().unwrap_or(f64::NAN), bound);
        }
    }
    table
}

/// The pressures at the bases of the layers, which the case gives to nine digits for their geopotential heights, and the temperatures.
fn bases(table: &mut Table, earth: &Air, expected: &toml::Value) {
    let list = |name: &str| expected[name].as_array().expect("a list").clone();
    let value =
        |value: &toml::Value| value.as_float().or_else(|| value.as_integer().map(|n| n as f64)).unwrap_or(f64::NAN);
    for (index, base) in list("base_geopotential_km").iter().enumerate().take(7) {
        let (h, radius) = (value(base), 6356.766);
        let found = at(earth, radius * h / (radius - h)).expect("inside the standard");
        table.relative(format!("base {h} km pressure"), found.pressure, value(&list("p_base_Pa")[index]), 1e-6);
        table.relative(format!("base {h} km temperature"), found.temperature, value(&list("T_base_K")[index]), 1e-6);
    }
}

/// Every row of a measured profile is a node of ours: rounding alone is left. Read by layers too, which meet there from both sides.
fn profile(body: &str, file: &str, pressure: &str, unit: f64) -> Table {
    let mut table = Table::new(file, "as its first lines say; rows are nodes of the profile, 1e-12 is rounding");
    let air = air(body);
    for row in read_csv(file) {
        let km = row.number("z_km");
        let found = match at(&air, km) {
            Ok(found) => found,
            Err(why) => {
                table.failed(format!("{body} {km}"), why);
                continue;
            }
        };
        table.relative(format!("{body} {km} km temperature"), found.temperature, row.number("T_K"), 1e-12);
        table.relative(format!("{body} {km} km pressure"), found.pressure, row.number(pressure) * unit, 1e-12);
        table.relative(format!("{body} {km} km density"), found.density, row.number("rho_kg_m3"), 1e-12);
        // From below: the layer above the top row begins with the density of the gas law.
        let below =
            air.layers().iter().rfind(|layer| layer.end() <= km * 1e3 * (1.0 + 1e-12)).map(|l| l.density_at(km * 1e3));
        if let Some(below) = below.filter(|_| km > 0.0) {
            table.relative(format!("{body} {km} km density flown"), below, row.number("rho_kg_m3"), 1e-12);
        }
    }
    table
}

/// Piecewise exponential air of the Earth, a two-layer profile of Mars as rows without density, Titan above the measured rows.
fn exponential() -> Table {
    let file = "flight/atmosphere_exponential.toml";
    let mut table = Table::new(file, "as each case says");
    let document = read_toml(file);
    let cases = document["case"].as_array().expect("cases");
    let layered = cases.iter().find(|case| case["id"].as_str() == Some("earth-piecewise-exponential")).expect("layers");
    let earth = described(&format!(
        "model = \"exponential\", molar_mass = \"28.96 g/mol\", heat_ratio = 1.4, top = \"1100 km\", layers = [{}]",
        rows(&layered["expected"], &[("base_km", "km"), ("rho_kg_m3", "kg/m^3"), ("scale_height_km", "km")])
    ));
    let mars = described(&mars_rows());
    for case in cases {
        let id = case["id"].as_str().expect("text");
        let bound = number(case, "rel_tol").unwrap_or(f64::NAN);
        let expected = |name: &str| number(&case["expected"], name).unwrap_or(f64::NAN);
        if id.starts_with("earth-piecewise-density") {
            let km = number(&case["inputs"], "h_km").unwrap_or(f64::NAN);
            let found = at(&earth, km).map_or(f64::NAN, |air| air.density);
            table.relative(id.to_owned(), found, expected("rho_kg_m3"), bound);
            table.relative(format!("{id} flown"), flown(&earth, km), expected("rho_kg_m3"), bound);
        } else if id.starts_with("mars-simple-profile") {
            let km = number(&case["inputs"], "h_m").unwrap_or(f64::NAN) / 1e3;
            let found = at(&mars, km).expect("inside the profile");
            table.relative(format!("{id} temperature"), found.temperature, expected("T_C") + 273.1, bound);
            table.relative(format!("{id} pressure"), found.pressure, expected("p_kPa") * 1e3, bound);
            table.relative(format!("{id} density"), found.density, expected("rho_kg_m3"), bound);
            table.relative(format!("{id} density flown"), flown(&mars, km), expected("rho_kg_m3"), bound);
        } else if id == "titan-hydrostatic-extension-150-1200km" {
            let list = |name: &str| case["expected"][name].as_array().expect("a list").clone();
            for (z, density) in list("z_km").iter().zip(list("rho_kg_m3")) {
                let km = z.as_float().unwrap_or(f64::NAN);
                let found = at(&air("Titan"), km).map_or(f64::NAN, |air| air.density);
                table.relative(format!("{id} {km} km"), found, density.as_float().unwrap_or(f64::NAN), bound);
            }
        } else if let Some(planet) = ["venus", "earth", "jupiter"]
            .iter()
            .find(|name| id.starts_with(*name) && id.ends_with("surface-density-scale-height"))
        {
            // Fact-sheet values at the ground or at 1 bar, within the tolerances of the case. (Mars: its fact-sheet density contradicts
            // its own pressure and temperature by 21 %; the colder giants have no profile.)
            let found = air(&crate::bodies::title(planet));
            let ground = found.at(0.0).map_or(f64::NAN, |ground| ground.density);
            table.relative(format!("{id} density"), ground, expected("rho0_kg_m3"), 0.1);
            table.relative(format!("{id} scale height"), found.scale_height() / 1e3, expected("scale_height_km"), 0.15);
        }
    }
    table
}

/// Columns of a case as rows of a system file.
fn rows(expected: &toml::Value, columns: &[(&str, &str)]) -> String {
    let list = |name: &str| expected[name].as_array().expect("a list").clone();
    let count = list(columns[0].0).len();
    let row = |index: usize| {
        let cells: Vec<String> =
            columns.iter().map(|(name, unit)| format!("\"{} {unit}\"", list(name)[index])).collect();
        format!("[{}]", cells.join(", "))
    };
    (0..count).map(row).collect::<Vec<_>>().join(", ")
}

/// The educational Mars model as rows: both its lines of temperature, which miss each other by 1 K at 7 km; a millimetre lies between.
fn mars_rows() -> String {
    let row = |h: f64, celsius: f64| {
        format!("[\"{h} m\", \"{} K\", \"{} Pa\"]", celsius + 273.1, 699.0 * (-0.00009 * h).exp())
    };
    let rows = [
        row(0.0, -31.0),
        row(6999.999, -31.0 - 0.000998 * 6999.999),
        row(7000.0, -23.4 - 0.00222 * 7000.0),
        row(40e3, -23.4 - 0.00222 * 40e3),
    ];
    let mass = 8.314_462_618 / 192.1 * 1e3;
    format!(
        "model = \"table\", molar_mass = \"{mass} g/mol\", heat_ratio = 1.29, top = \"40 km\", rows = [{}]",
        rows.join(", ")
    )
}
