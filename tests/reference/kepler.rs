//! Kepler's equation: computed values of 30 digits, and worked examples of textbooks.

use visviva_engine::conic::{Elements, State, anomaly, propagate, time_since_periapsis};
use visviva_engine::vector::Vec3;
use visviva_tests::{Table, read_csv, read_toml};

const ROUNDING: f64 = 2.2e-16;

/// The anomaly and the true anomaly of every row of `kepler_equation.csv`.
pub(crate) fn table() -> Table {
    let file = "trajectory/kepler_equation.csv";
    let mut table =
        Table::new(file, "computed with 60 digits; bound (4 + 4 cond) 2.2e-16 relative, as its readme states");
    for row in read_csv(file) {
        let (id, e, mean) = (row.text("id"), row.number("e"), row.number("M"));
        let (expected, nu) = (row.number("anomaly"), row.number("nu_rad"));
        let bound = (4.0 + 4.0 * row.number("cond_M").max(row.number("cond_e"))) * ROUNDING;
        let (anomaly, true_anomaly, back) = match row.text("kind") {
            kind if kind.starts_with("elliptic") => {
                let anomaly = anomaly::eccentric_from_mean(e, mean);
                (anomaly, anomaly::true_from_eccentric(e, anomaly), anomaly::mean_from_eccentric(e, anomaly))
            }
            kind if kind.starts_with("hyperbolic") => {
                let anomaly = anomaly::hyperbolic_from_mean(e, mean);
                (anomaly, anomaly::true_from_hyperbolic(e, anomaly), anomaly::mean_from_hyperbolic(e, anomaly))
            }
            kind if kind.starts_with("parabolic") => {
                let anomaly = anomaly::parabolic_from_mean(mean);
                (anomaly, anomaly::true_from_parabolic(anomaly), anomaly::mean_from_parabolic(anomaly))
            }
            kind => {
                table.failed(id, format!("unknown kind {kind}"));
                continue;
            }
        };
        table.relative(format!("{id} anomaly"), anomaly, expected, bound);
        // The true anomaly inherits the error of the anomaly times its derivative √|1 − e²|/(1 − e cos E), and where
        // that comes from whole revolutions, the anomaly's own rounding counts at its full size. Eight roundings of its own.
        let slope = match row.text("kind") {
            "parabolic" => 2.0 / (1.0 + expected * expected),
            "hyperbolic" => ((e - 1.0) * (e + 1.0)).sqrt() / (e * expected.cosh() - 1.0),
            _ => ((1.0 - e) * (1.0 + e)).sqrt() / (1.0 - e * expected.cos()),
        };
        let shape = ROUNDING * nu.sin().abs() / (e - 1.0).abs().max(ROUNDING);
        let shape = if row.text("kind") == "parabolic" { 0.0 } else { shape };
        let nu_bound = bound * expected.abs() * slope + 8.0 * ROUNDING * nu.abs() + shape;
        let off = anomaly::wrapped_signed(true_anomaly - nu).abs();
        table.add(format!("{id} true anomaly"), off, nu_bound, "rad");
        // The way back is a closed form: its error is the anomaly's rounding times dM/dE, over M.
        let rate = match row.text("kind") {
            "parabolic" => 1.0 + expected * expected,
            "hyperbolic" => e * expected.cosh() - 1.0,
            _ => 1.0 - e * expected.cos(),
        };
        let back_bound = 4.0 * ROUNDING * (mean.abs() + rate * expected.abs()) + bound * expected.abs() * rate;
        table.add(format!("{id} mean anomaly back"), (back - mean).abs(), back_bound, "rad");
    }
    table
}

/// The worked examples of `kepler_textbook.toml`.
pub(crate) fn textbook_table() -> Table {
    let file = "trajectory/kepler_textbook.toml";
    let mut table =
        Table::new(file, "textbooks named in the rows; computed to 1e-12, published within its own rounding");
    let cases = read_toml(file);
    for case in cases["case"].as_array().into_iter().flatten() {
        let id = case["id"].as_str().unwrap_or_default().to_owned();
        let input = |name: &str| number(&case["input"], name);
        let answers = match answers(case["kind"].as_str().unwrap_or_default(), &case["input"], &input) {
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
                let expected = numbers(expected);
                let size = expected.iter().map(|x| x * x).sum::<f64>().sqrt();
                let off = expected.iter().zip(got).map(|(a, b)| (a - b) * (a - b)).sum::<f64>().sqrt();
                let off = if expected.len() == got.len() { off / size } else { f64::NAN };
                table.add(format!("{id} {set} {name}"), off, bound, "relative");
            }
        }
    }
    table
}

type Answers = Vec<(&'static str, Vec<f64>)>;

fn answers(kind: &str, given: &toml::Value, input: &dyn Fn(&str) -> Option<f64>) -> Result<Answers, String> {
    let need = |name: &str| input(name).ok_or_else(|| format!("no input {name}"));
    let mean = || input("M_rad").or_else(|| input("M_deg").map(f64::to_radians)).ok_or("no mean anomaly".to_owned());
    Ok(match kind {
        "kepler_elliptic" if input("rp_km").is_some() => {
            let (mu, periapsis, apoapsis, time) = (need("mu")?, need("rp_km")?, need("ra_km")?, need("t_s")?);
            let (a, e) = (0.5 * (periapsis + apoapsis), (apoapsis - periapsis) / (apoapsis + periapsis));
            let mean = time * (mu / (a * a * a)).sqrt();
            let eccentric = anomaly::eccentric_from_mean(e, mean);
            let nu = anomaly::true_from_eccentric(e, eccentric).to_degrees();
            vec![("M_rad", vec![mean]), ("E_rad", vec![eccentric]), ("nu_deg", vec![nu])]
        }
        "kepler_elliptic" => {
            let eccentric = anomaly::eccentric_from_mean(need("e")?, mean()?);
            vec![("E_rad", vec![eccentric]), ("E_deg", vec![eccentric.to_degrees()])]
        }
        "kepler_hyperbolic" => vec![("H_rad", vec![anomaly::hyperbolic_from_mean(need("e")?, mean()?)])],
        "parabolic" => {
            let (mu, p, time) = (need("mu")?, need("p_km")?, need("dt_min")? * 60.0);
            vec![("tan_half_nu", vec![anomaly::parabolic_from_mean(2.0 * (mu / (p * p * p)).sqrt() * time)])]
        }
        "time_of_flight_elliptic" => {
            let (mu, periapsis, apoapsis) = (need("mu")?, need("rp_km")?, need("ra_km")?);
            let nu = need("nu_deg")?.to_radians();
            let e = (apoapsis - periapsis) / (apoapsis + periapsis);
            let elements = elements(periapsis, e, nu);
            let state = elements.to_state(mu).map_err(|error| error.to_string())?;
            vec![
                ("e", vec![e]),
                ("period_s", vec![elements.period(mu).unwrap_or(f64::NAN)]),
                ("E_rad", vec![anomaly::eccentric_from_true(e, nu)]),
                ("M_rad", vec![elements.mean_anomaly()]),
                ("t_s", vec![time_since_periapsis(mu, &state)]),
            ]
        }
        "propagation" => {
            let vector = |name: &str| Vec3::from_row_slice(&numbers(&given[name]));
            let start = State::new(vector("r0_km"), vector("v0_km_s"));
            let end = propagate(need("mu")?, &start, need("dt_s")?).map_err(|error| error.to_string())?;
            vec![("r_km", end.position.as_slice().to_vec()), ("v_km_s", end.velocity.as_slice().to_vec())]
        }
        "near_parabolic" => {
            let k = need("k_gauss")?;
            let start = elements(need("q_au")?, need("e")?, 0.0).to_state(k * k).map_err(|error| error.to_string())?;
            let end = propagate(k * k, &start, need("days_from_perihelion")?).map_err(|error| error.to_string())?;
            let after = Elements::from_state(k * k, &end).map_err(|error| error.to_string())?;
            let nu = anomaly::wrapped(after.true_anomaly).to_degrees();
            vec![("nu_deg", vec![nu]), ("r_au", vec![end.radius()])]
        }
        _ => return Err(format!("unknown kind {kind}")),
    })
}

fn elements(periapsis: f64, eccentricity: f64, true_anomaly: f64) -> Elements {
    Elements {
        semi_latus_rectum: periapsis * (1.0 + eccentricity),
        eccentricity,
        inclination: 0.0,
        ascending_node: 0.0,
        argument_of_periapsis: 0.0,
        true_anomaly,
    }
}

pub(crate) fn number(table: &toml::Value, name: &str) -> Option<f64> {
    table.get(name).map(numbers).and_then(|list| list.first().copied())
}

/// A number or an array of numbers.
pub(crate) fn numbers(value: &toml::Value) -> Vec<f64> {
    match value {
        toml::Value::Integer(whole) => vec![*whole as f64],
        toml::Value::Float(number) => vec![*number],
        toml::Value::Array(list) => list.iter().flat_map(numbers).collect(),
        _ => Vec::new(),
    }
}
