//! The published problems of multiple gravity assists, exactly as published: bounds, bodies, objectives. SI inside; vectors in the
//! problems' own units (days, km/s, radii). Stands alone, so that the benchmark of the global search uses it too.

use visviva_engine::arc::assist_chain::deep_space::{departure, pass};
use visviva_engine::arc::assist_chain::{self, LegPlan, PassPlan, PoweredChain, Stop, deep_space, powered};
use visviva_engine::arc::lambert::Way;
use visviva_engine::conic::anomaly::{eccentric_from_mean, true_from_eccentric};
use visviva_engine::conic::timing::{Passage, time_to_radius};
use visviva_engine::conic::{Elements, State};
use visviva_engine::vector::Vec3;

pub(crate) const KM: f64 = 1e3;
pub(crate) const DAY: f64 = 86_400.0;
pub(crate) const NORTH: Vec3 = Vec3::new(0.0, 0.0, 1.0);

/// A body of the problems' own ephemeris.
#[derive(Clone)]
pub(crate) struct Planet {
    pub(crate) gm: f64,
    pub(crate) radius: f64,
    semi_major_axis: f64,
    e: Vec<f64>,
    i: Vec<f64>,
    node: Vec<f64>,
    periapsis: Vec<f64>,
    mean: Vec<f64>,
    /// mjd2000 at which the polynomials' argument is 0, and days of its unit.
    origin: (f64, f64),
}

/// One problem, ready to be evaluated.
pub(crate) struct Problem {
    pub(crate) id: String,
    pub(crate) bounds: Vec<(f64, f64)>,
    pub(crate) best_published: Option<f64>,
    pub(crate) vectors: Vec<toml::Value>,
    pub(crate) planets: Vec<Planet>,
    pub(crate) sun: f64,
    pub(crate) au: f64,
}

/// What a violated limit is charged, years for each share of it: more than any violation gains.
pub(crate) const CHARGE: f64 = 200.0;

/// What an evaluation gives: the objective in its printed unit, and intermediate results by name.
pub(crate) struct Value {
    pub(crate) objective: f64,
    pub(crate) parts: Vec<(&'static str, Vec<f64>)>,
    /// By how much constraints are violated, as shares of their limits.
    pub(crate) violation: f64,
}

fn float(table: &toml::Value, name: &str) -> f64 {
    table.get(name).and_then(toml::Value::as_float).unwrap_or(f64::NAN)
}

pub(crate) fn floats(table: &toml::Value, name: &str) -> Vec<f64> {
    table[name].as_array().into_iter().flatten().filter_map(toml::Value::as_float).collect()
}

impl Planet {
    fn from_file(table: &toml::Value, au: f64) -> Self {
        Self {
            gm: float(table, "mu") * 1e9,
            radius: float(table, "radius_km") * KM,
            semi_major_axis: float(table, "a_au") * au,
            e: floats(table, "e"),
            i: floats(table, "i_deg"),
            node: floats(table, "raan_deg"),
            periapsis: floats(table, "argp_deg"),
            mean: floats(table, "M_deg"),
            // Half a day off the true epoch, on purpose: so the published values are reproduced.
            origin: (-36_525.0, 36_525.0),
        }
    }

    /// A small body: fixed elements, mean anomaly at an epoch.
    fn small(table: &toml::Value, au: f64, sun: f64) -> Self {
        let a = float(table, "a_au") * au;
        let rate = (sun / (a * a * a)).sqrt().to_degrees() * DAY;
        Self {
            gm: 0.0,
            radius: 0.0,
            semi_major_axis: a,
            e: vec![float(table, "e")],
            i: vec![float(table, "i_deg")],
            node: vec![float(table, "raan_deg")],
            periapsis: vec![float(table, "argp_deg")],
            mean: vec![float(table, "M_deg"), rate],
            origin: (float(table, "epoch_mjd") - 51_544.0, 1.0),
        }
    }

    /// About the Sun, at a date in days of mjd2000.
    pub(crate) fn state(&self, mjd2000: f64, sun: f64) -> Option<State> {
        let t = (mjd2000 - self.origin.0) / self.origin.1;
        let at = |p: &[f64]| p.iter().rev().fold(0.0, |sum, c| sum * t + c);
        let e = at(&self.e);
        let mean = (at(&self.mean) % 360.0).to_radians();
        let elements = Elements {
            semi_latus_rectum: self.semi_major_axis * (1.0 - e * e),
            eccentricity: e,
            inclination: at(&self.i).to_radians(),
            ascending_node: at(&self.node).to_radians(),
            argument_of_periapsis: at(&self.periapsis).to_radians(),
            true_anomaly: true_from_eccentric(e, eccentric_from_mean(e, mean)),
        };
        elements.to_state(sun).ok()
    }
}

/// Planets by name, gravitational parameter of the Sun (m³/s²), astronomical unit (m).
pub(crate) fn ephemeris(text: &str) -> (Vec<(String, Planet)>, f64, f64) {
    let file: toml::Value = toml::from_str(text).expect("the ephemeris file");
    let (au, sun) = (float(&file, "au_km") * KM, float(&file, "mu_sun") * 1e9);
    let planets = file["planet"].as_array().into_iter().flatten();
    let named = planets.map(|p| (p["name"].as_str().unwrap_or_default().to_string(), Planet::from_file(p, au)));
    (named.collect(), sun, au)
}

/// The six problems of the file.
pub(crate) fn problems(problems: &str, bodies: &str) -> Vec<Problem> {
    let (named, sun, au) = ephemeris(bodies);
    let file: toml::Value = toml::from_str(problems).expect("the problem file");
    let build = |table: &toml::Value| {
        let sequence = table["sequence"].as_array().into_iter().flatten().filter_map(toml::Value::as_str);
        let body = |name: &str| {
            let known = named.iter().find(|(other, _)| other == name).map(|(_, planet)| planet.clone());
            known.unwrap_or_else(|| Planet::small(&table["target"], au, sun))
        };
        Problem {
            id: table["id"].as_str().unwrap_or_default().to_string(),
            bounds: floats(table, "lower").into_iter().zip(floats(table, "upper")).collect(),
            best_published: table.get("best_published").and_then(toml::Value::as_float),
            vectors: table["vector"].as_array().cloned().unwrap_or_default(),
            planets: sequence.map(body).collect(),
            sun,
            au,
        }
    };
    file["problem"].as_array().into_iter().flatten().map(build).collect()
}

impl Problem {
    /// Better is larger in the one problem that asks for momentum, smaller in the others.
    pub(crate) fn maximises(&self) -> bool {
        self.id == "gtoc1"
    }

    /// What a search minimises: the objective, and for each constraint a charge that grows with its violation.
    pub(crate) fn cost(&self, x: &[f64]) -> f64 {
        self.value(x).map_or(f64::INFINITY, |value| {
            let scale = match self.id.as_str() {
                "gtoc1" => 1e6,
                "sagas" => CHARGE,
                _ => 10.0,
            };
            let plain = if self.maximises() { -value.objective } else { value.objective };
            plain + scale * value.violation
        })
    }

    pub(crate) fn is_powered(&self) -> bool {
        matches!(self.id.as_str(), "cassini1" | "gtoc1")
    }

    pub(crate) fn value(&self, x: &[f64]) -> Option<Value> {
        if self.is_powered() { self.powered(x) } else { self.deep_space(x) }
    }

    pub(crate) fn stops(&self, first: f64, days: &[f64]) -> Option<Vec<Stop>> {
        let mut date = first;
        let mut stops = Vec::with_capacity(self.planets.len());
        for (index, planet) in self.planets.iter().enumerate() {
            if index > 0 {
                date += days[index - 1];
            }
            stops.push(Stop { state: planet.state(date, self.sun)?, gm: planet.gm });
        }
        Some(stops)
    }

    /// Least radii of the passes of a powered chain, km.
    pub(crate) fn least_radii(&self) -> &'static [f64] {
        if self.id == "gtoc1" {
            &[6351.8, 6778.1, 6351.8, 6778.1, 600_000.0, 70_000.0]
        } else {
            &[6351.8, 6351.8, 6778.1, 671_492.0]
        }
    }

    /// Times (s) and ways of the legs of a powered chain.
    pub(crate) fn legs(&self, x: &[f64]) -> (Vec<f64>, Vec<Way>) {
        let times: Vec<f64> = x[1..].iter().map(|days| days * DAY).collect();
        let mut ways = vec![Way::Prograde(NORTH); times.len()];
        if self.id == "gtoc1" {
            ways[times.len() - 1] = Way::Retrograde(NORTH);
        }
        (times, ways)
    }

    fn powered(&self, x: &[f64]) -> Option<Value> {
        let stops = self.stops(x[0], &x[1..])?;
        let (times, ways) = self.legs(x);
        let chain = powered::powered(self.sun, &stops, &times, &ways).ok()?;
        let least = self.least_radii();
        let below = |(pass, least): (&visviva_engine::arc::flyby::Flyby, &f64)| {
            (1.0 - pass.periapsis_radius / (least * KM)).max(0.0)
        };
        let violation = chain.passes.iter().zip(least).map(below).sum();
        let launch = chain.departure.norm() / KM;
        let mut parts = vec![
            ("launch_dv", vec![launch]),
            ("flyby_dv", chain.passes.iter().map(|pass| pass.burn.abs() / KM).collect()),
            ("flyby_rp_km", chain.passes.iter().map(|pass| pass.periapsis_radius / KM).collect()),
        ];
        let objective = if self.id == "gtoc1" {
            let last = &stops[stops.len() - 1].state;
            Self::momentum(&chain, last, launch, &mut parts)
        } else {
            let arrival = chain.arrival.norm();
            let saturn = &self.planets[self.planets.len() - 1];
            let insertion = assist_chain::insertion(saturn.gm, arrival, 108_950.0 * KM, 0.98) / KM;
            parts.extend([("arrival_vinf", vec![arrival / KM]), ("insertion_dv", vec![insertion])]);
            launch + chain.pass_dv() / KM + insertion
        };
        objective.is_finite().then_some(Value { objective, parts, violation })
    }

    fn momentum(chain: &PoweredChain, last: &State, launch: f64, parts: &mut Vec<(&'static str, Vec<f64>)>) -> f64 {
        let spent = (launch - 2.5).max(0.0) + chain.pass_dv() / KM;
        let mass = 1500.0 * (-spent / (2500.0 * 9.80665e-3)).exp();
        let (relative, asteroid) = (chain.arrival / KM, last.velocity / KM);
        parts.extend([
            ("final_mass_kg", vec![mass]),
            ("rel_velocity", relative.iter().copied().collect()),
            ("asteroid_velocity", asteroid.iter().copied().collect()),
        ]);
        mass * relative.dot(&asteroid).abs()
    }

    fn deep_space(&self, x: &[f64]) -> Option<Value> {
        let legs = self.planets.len() - 1;
        let days = &x[4..4 + legs];
        let stops = self.stops(x[0], days)?;
        let plans: Vec<LegPlan> =
            (0..legs).map(|k| LegPlan { time: days[k] * DAY, burn_share: x[4 + legs + k] }).collect();
        // The free last pass of one problem has its own radius and angle after those of the others.
        let tail = &x[4 + 2 * legs..];
        let passes: Vec<PassPlan> = (0..tail.len() / 2)
            .map(|k| PassPlan {
                periapsis_radius: tail[k] * self.planets[k + 1].radius,
                angle: tail[tail.len() / 2 + k],
            })
            .collect();
        let away = departure(x[1] * KM, x[2], x[3], &stops[0].state);
        let chain = deep_space::deep_space(self.sun, &stops, away, &plans, &passes[..legs - 1], NORTH).ok()?;
        let burns: Vec<f64> = chain.legs.iter().map(|leg| leg.burn.norm() / KM).collect();
        let sum: f64 = burns.iter().sum();
        let arrival = chain.arrival.norm();
        let mut parts = vec![("dsm_dv", burns), ("arrival_vinf", vec![arrival / KM])];
        let mut violation = 0.0;
        let objective = match self.id.as_str() {
            "cassini2" => x[1] + sum + arrival / KM,
            "rosetta" => sum + arrival / KM,
            "messenger_full" => {
                let insertion = assist_chain::insertion(self.planets[legs].gm, arrival, 2640.0 * KM, 0.704) / KM;
                parts.push(("insertion_dv", vec![insertion]));
                sum + insertion
            }
            _ => {
                let last = &chain.legs[legs - 1];
                let out = pass(&stops[legs], &last.arc.v2, &passes[legs - 1]).ok()?;
                let state = State::new(stops[legs].state.position, stops[legs].state.velocity + out.v_out);
                let eccentricity = visviva_engine::conic::eccentricity_vector(self.sun, &state).norm();
                parts.extend([
                    ("sum_dsm", vec![sum]),
                    ("sum_with_vinf", vec![sum + x[1]]),
                    ("post_jupiter_ecc", vec![eccentricity]),
                ]);
                violation = (sum / 1.782 - 1.0).max(0.0) + ((sum + x[1]) / 6.782 - 1.0).max(0.0);
                let coast = time_to_radius(self.sun, &state, 50.0 * self.au, Passage::Outbound);
                (days.iter().sum::<f64>() + coast? / DAY) / 365.25
            }
        };
        objective.is_finite().then_some(Value { objective, parts, violation })
    }
}
