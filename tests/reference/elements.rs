//! Elements to state and back, with every singular case.

use visviva_engine::conic::{Elements, State, anomaly};
use visviva_engine::vector::Vec3;
use visviva_tests::{Table, read_csv, read_toml};

use crate::kepler::{number, numbers};

const ROUNDING: f64 = 2.2e-16;

/// How much r and v change per unit change of e and of the true anomaly, relative to their size: 1/(1 + e cos ν) and
/// with it. Elements that are themselves rounded cannot say more.
fn condition(elements: &Elements) -> f64 {
    let (sine, cosine) = elements.true_anomaly.sin_cos();
    let e = elements.eccentricity;
    (1.0 + e + e * elements.true_anomaly.abs() * sine.abs()) / (1.0 + e * cosine)
}

/// Every row of `elements_table.csv`: elements to state, state to elements, and the state's round trip.
pub(crate) fn table() -> Table {
    let file = "trajectory/elements_table.csv";
    let source = "computed with 50 digits; bound 1e-13 of the state's norm, as its readme states, \
                  and what one rounding of e and of the true anomaly does";
    let mut table = Table::new(file, source);
    for row in read_csv(file) {
        let (id, mu) = (row.text("id"), row.number("mu"));
        let given = Elements {
            semi_latus_rectum: row.number("p"),
            eccentricity: row.number("e"),
            inclination: row.number("i_deg").to_radians(),
            ascending_node: row.number("raan_deg").to_radians(),
            argument_of_periapsis: row.number("argp_deg").to_radians(),
            true_anomaly: row.number("nu_deg").to_radians(),
        };
        let state = State::new(Vec3::from(row.vector(["rx", "ry", "rz"])), Vec3::from(row.vector(["vx", "vy", "vz"])));
        let condition = condition(&given);
        let bound = 1e-13 + 4.0 * ROUNDING * condition;
        match given.to_state(mu) {
            Ok(built) => compare(&mut table, &format!("{id} state"), &built, &state, bound),
            Err(error) => table.failed(format!("{id} state"), error),
        }
        let elements = match Elements::from_state(mu, &state) {
            Ok(elements) => elements,
            Err(error) => {
                table.failed(format!("{id} elements"), error);
                continue;
            }
        };
        match elements.to_state(mu) {
            Ok(back) => compare(&mut table, &format!("{id} round trip"), &back, &state, bound),
            Err(error) => table.failed(format!("{id} round trip"), error),
        }
        // The momentum is a difference of products as large as r v: what that loses, p loses twice.
        let sweep = state.radius() * state.speed() / state.position.cross(&state.velocity).norm();
        let bound = 1e-13 + 4.0 * ROUNDING * condition.max(sweep);
        table.relative(format!("{id} p"), elements.semi_latus_rectum, given.semi_latus_rectum, bound);
        let e = given.eccentricity;
        table.add(format!("{id} e"), (elements.eccentricity - e).abs() / e.max(1.0), bound, "absolute");
        let axis = row.number("sma");
        if axis.is_finite() {
            // One rounding of e moves the axis by 2 e/|1 − e²| roundings.
            let bound = bound + 4.0 * ROUNDING * 2.0 * e / ((1.0 - e) * (1.0 + e)).abs();
            table.relative(format!("{id} sma"), elements.semi_major_axis(), axis, bound);
        }
        let angle = |got: f64, degrees: f64| anomaly::wrapped_signed(got - degrees.to_radians()).abs();
        table.add(format!("{id} inclination"), angle(elements.inclination, row.number("i_deg")), bound, "rad");
        // The node is lost as the sine of the inclination, periapsis as the eccentricity; their sums are not. The
        // convention for singular orbits makes the lost angles zero on both sides, so that they compare too.
        let tilt = given.inclination.sin().abs();
        let tilt = if tilt < 1e-14 { 1.0 } else { tilt };
        let shape = if e == 0.0 { 1.0 } else { e.min(1.0) };
        let (node, periapsis, nu) = (elements.ascending_node, elements.argument_of_periapsis, elements.true_anomaly);
        table.add(format!("{id} node"), angle(node, row.number("raan_deg")), bound / tilt, "rad");
        let both = bound / tilt + bound / shape;
        table.add(format!("{id} argument of periapsis"), angle(periapsis, row.number("argp_deg")), both, "rad");
        let nu_bound = bound / shape + if e == 0.0 { bound / tilt } else { 0.0 };
        table.add(format!("{id} true anomaly"), angle(nu, row.number("nu_deg")), nu_bound, "rad");
        table.add(format!("{id} arg_lat"), angle(periapsis + nu, row.number("arg_lat_deg")), bound / tilt, "rad");
        let turn = if row.number("i_deg") < 90.0 { 1.0 } else { -1.0 };
        let longitude = node + turn * periapsis;
        // Away from the poles of the formula (i = 0 and i = 180°) node and latitude are separate, and so is their sum.
        let sum_bound = if tilt < 0.1 { bound } else { bound / tilt };
        table.add(
            format!("{id} lon_per"),
            angle(longitude, row.number("lon_per_deg")),
            sum_bound + bound / shape,
            "rad",
        );
        table.add(format!("{id} true_lon"), angle(longitude + turn * nu, row.number("true_lon_deg")), sum_bound, "rad");
    }
    table
}

fn compare(table: &mut Table, id: &str, got: &State, expected: &State, bound: f64) {
    table.add(format!("{id} place"), (got.position - expected.position).norm() / expected.radius(), bound, "relative");
    table.add(
        format!("{id} velocity"),
        (got.velocity - expected.velocity).norm() / expected.speed(),
        bound,
        "relative",
    );
}

/// The worked examples of `elements_textbook.toml`.
pub(crate) fn textbook_table() -> Table {
    let file = "trajectory/elements_textbook.toml";
    let mut table =
        Table::new(file, "textbooks named in the rows; computed to 1e-12, published within its own rounding");
    let cases = read_toml(file);
    for case in cases["case"].as_array().into_iter().flatten() {
        let id = case["id"].as_str().unwrap_or_default().to_owned();
        let answers = match answers(&case["input"]) {
            Ok(answers) => answers,
            Err(why) => {
                table.failed(id, why);
                continue;
            }
        };
        for (set, bound) in
            [("computed", 1e-12), ("published", number(case, "test_rel_tol_vs_published").unwrap_or(0.0))]
        {
            for (name, expected) in case[set].as_table().into_iter().flatten() {
                let Some((_, got)) = answers.iter().find(|(known, _)| known == name) else {
                    table.failed(format!("{id} {set} {name}"), "nothing computes this");
                    continue;
                };
                let expected = Vec::from_iter(numbers(expected));
                let size = expected.iter().map(|x| x * x).sum::<f64>().sqrt();
                let off = expected.iter().zip(got).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt();
                let off = if expected.len() == got.len() { off / size } else { f64::NAN };
                table.add(format!("{id} {set} {name}"), off, bound, "relative");
            }
        }
    }
    table
}

/// A state gives its elements, elements give their state, in the units of the rows (km, km/s, degrees).
fn answers(input: &toml::Value) -> Result<Vec<(&'static str, Vec<f64>)>, String> {
    let need = |name: &str| number(input, name).ok_or_else(|| format!("no input {name}"));
    let mu = need("mu")?;
    if input.get("r_km").is_some() {
        let vector = |name: &str| Vec3::from_row_slice(&numbers(&input[name]));
        let state = State::new(vector("r_km"), vector("v_km_s"));
        let elements = Elements::from_state(mu, &state).map_err(|error| error.to_string())?;
        return Ok(vec![
            ("h", vec![(mu * elements.semi_latus_rectum).sqrt()]),
            ("p", vec![elements.semi_latus_rectum]),
            ("a", vec![elements.semi_major_axis()]),
            ("e", vec![elements.eccentricity]),
            ("i_deg", vec![elements.inclination.to_degrees()]),
            ("raan_deg", vec![elements.ascending_node.to_degrees()]),
            ("argp_deg", vec![elements.argument_of_periapsis.to_degrees()]),
            ("nu_deg", vec![elements.true_anomaly.to_degrees()]),
        ]);
    }
    let semi_latus_rectum = match need("p_km") {
        Ok(p) => p,
        Err(_) => need("h_km2_s")?.powi(2) / mu,
    };
    let elements = Elements {
        semi_latus_rectum,
        eccentricity: need("e")?,
        inclination: need("i_deg")?.to_radians(),
        ascending_node: need("raan_deg")?.to_radians(),
        argument_of_periapsis: need("argp_deg")?.to_radians(),
        true_anomaly: need("nu_deg")?.to_radians(),
    };
    let state = elements.to_state(mu).map_err(|error| error.to_string())?;
    Ok(vec![("r_km", state.position.as_slice().to_vec()), ("v_km_s", state.velocity.as_slice().to_vec())])
}
