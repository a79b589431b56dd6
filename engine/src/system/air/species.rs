//! The species equations of the 1976 standard between 86 and 1000 km, integrated: where `data/us1976_upper.csv` comes from.
//!
//! Each gas i: n T/(n₇ T₇) = exp −∫ (f + v/(D + K)) dz, with molecular diffusion D, eddy diffusion K and the flux term v of the
//! standard; nitrogen follows the mean mass below 100 km and its own above, hydrogen its own flux from 150 km on. Coefficients are
//! recalled (from memory) and stand because the printed rows come out. [US1976], equations 25 to 42, tables 6 and 8

use super::standard_1976::{EARTH_RADIUS, GAS_CONSTANT, GRAVITY, MOLAR_MASS, temperature_above};

/// Avogadro's number of the standard, 1/mol.
const AVOGADRO: f64 = 6.022_169e23;
/// Molar masses, kg/mol: N2, O, O2, Ar, He, H. [US1976], table 3
const MASSES: [f64; 6] = [0.028_013_4, 0.015_999_4, 0.031_998_8, 0.039_948, 0.004_002_6, 0.001_007_97];
/// Number densities at 86 km, 1/m³. [US1976], table 9
const AT_86_KM: [f64; 5] = [1.129_794e20, 8.6e16, 3.030_898e19, 1.3514e18, 7.5817e14];
/// Molecular diffusion: a (1/(m s)) and b of D = a (T/273.15)^b/N, thermal diffusion α; O, O2, Ar, He, H. [US1976], table 6
const DIFFUSION: [(f64, f64, f64); 5] = [
    (6.986e20, 0.750, 0.0),
    (4.863e20, 0.750, 0.0),
    (4.487e20, 0.870, 0.0),
    (1.700e21, 0.691, -0.40),
    (3.305e21, 0.500, -0.25),
];
/// Flux terms: Q (1/km³), U (km), W (1/km³); O, O2, Ar, He. [US1976], table 7
const FLUX: [(f64, f64, f64); 4] = [
    (-5.809_644e-4, 56.903_11, 2.706_240e-5),
    (1.366_212e-4, 86.0, 8.333_333e-5),
    (9.434_079e-5, 86.0, 8.333_333e-5),
    (-2.457_369e-4, 86.0, 6.666_667e-4),
];
/// The second flux term of atomic oxygen, below 97 km: q, u, w. [US1976], table 7
const OXYGEN_LOW: (f64, f64, f64) = (-3.416_248e-3, 97.0, 5.008_765e-4);
/// Hydrogen at 500 km (1/m³) and its upward flux (1/(m² s)). [US1976], section 1.3.10
const HYDROGEN: (f64, f64) = (8.0e10, 7.2e11);
const HYDROGEN_FROM: f64 = 150e3;
const HYDROGEN_BASE: f64 = 500e3;

/// Heights (m) at which a law changes: pieces of an integration end here.
const BREAKS: [f64; 11] = [86e3, 91e3, 95e3, 97e3, 100e3, 110e3, 115e3, 120e3, 150e3, 500e3, 1000e3];

/// Molar mass (kg/mol) and density (kg/m³) of the mix.
#[derive(Clone, Copy)]
pub(super) struct Mix {
    pub(super) molar_mass: f64,
    pub(super) density: f64,
}

/// The five integrals, then hydrogen's optical-depth-like exponent and its flux integral.
type Integrals = [f64; 7];

/// The mix at rising heights, m, from 86 km to 1000 km.
pub(super) fn mixes(heights: &[f64]) -> Vec<Mix> {
    let mut at: Integrals = [0.0; 7];
    let (mut z, mut base) = (BREAKS[0], at);
    let mut stops: Vec<f64> = heights.iter().chain(&BREAKS).copied().collect();
    stops.sort_by(f64::total_cmp);
    let mut passed = Vec::new();
    for stop in stops {
        // Fifty metres where the laws turn, half a kilometre where they run smoothly: the fourth-order error is below 1e-9.
        let longest = if z < 120e3 { 25.0 } else { 250.0 };
        let steps = ((stop - z) / longest).ceil().max(0.0);
        let step = if steps > 0.0 { (stop - z) / steps } else { 0.0 };
        let middle = 0.5 * (z + stop);
        for index in 0..steps as usize {
            at = runge_kutta(z + step * index as f64, step, middle, &at);
        }
        z = stop;
        if stop == HYDROGEN_BASE {
            base = at;
        }
        passed.push((stop, at));
    }
    heights
        .iter()
        .map(|height| {
            let found = passed.iter().find(|(stop, _)| stop == height).map_or(at, |(_, at)| *at);
            mix(*height, &found, &base)
        })
        .collect()
}

fn runge_kutta(z: f64, step: f64, middle: f64, at: &Integrals) -> Integrals {
    let moved = |by: &Integrals, part: f64| std::array::from_fn(|i| at[i] + part * step * by[i]);
    let first = rates(z, middle, at);
    let second = rates(z + 0.5 * step, middle, &moved(&first, 0.5));
    let third = rates(z + 0.5 * step, middle, &moved(&second, 0.5));
    let fourth = rates(z + step, middle, &moved(&third, 1.0));
    std::array::from_fn(|i| at[i] + step / 6.0 * (first[i] + 2.0 * second[i] + 2.0 * third[i] + fourth[i]))
}

/// Number densities of N2, O, O2, Ar, He.
fn numbers(temperature: f64, at: &Integrals) -> [f64; 5] {
    let start = temperature_above(86e3).0;
    std::array::from_fn(|i| AT_86_KM[i] * start / temperature * (-at[i]).exp())
}

/// d/dz of the integrals; `middle` tells on which side of a break the height is meant.
fn rates(z: f64, middle: f64, at: &Integrals) -> Integrals {
    let (temperature, slope) = temperature_above(z);
    let gravity = GRAVITY * (EARTH_RADIUS / (EARTH_RADIUS + z)).powi(2);
    let n = numbers(temperature, at);
    let km = z / 1e3;
    let below = middle < 100e3;
    let eddy = match middle {
        m if m < 95e3 => 120.0,
        m if m < 115e3 => 120.0 * (1.0 - 400.0 / (400.0 - (km - 95.0).powi(2))).exp(),
        _ => 0.0,
    };
    let weight = |mass: f64| mass * gravity / (GAS_CONSTANT * temperature);
    let diffusion = |which: usize, among: f64| {
        let (a, b, _) = DIFFUSION[which];
        a * (temperature / 273.15).powf(b) / among
    };
    let mut rates = [0.0; 7];
    rates[0] = weight(if below { MOLAR_MASS } else { MASSES[0] });
    let heavy = n[0] + n[1] + n[2];
    let mean = (n[0] * MASSES[0] + n[1] * MASSES[1] + n[2] * MASSES[2]) / heavy;
    for gas in 0..4 {
        let (among, around) = if gas < 2 { (n[0], MASSES[0]) } else { (heavy, mean) };
        let around = if below { MOLAR_MASS } else { around };
        let d = diffusion(gas, among);
        let thermal = DIFFUSION[gas].2 * slope / temperature;
        let share = weight(MASSES[gas + 1]) + weight(around) * eddy / d + thermal;
        let (q, u, w) = FLUX[gas];
        let mut flux = q * (km - u).powi(2) * (-w * (km - u).powi(3)).exp();
        if gas == 0 && middle < 97e3 {
            let (q, u, w) = OXYGEN_LOW;
            flux += q * (u - km).powi(2) * (-w * (u - km).powi(3)).exp();
        }
        rates[gas + 1] = d / (d + eddy) * share + flux / 1e3;
    }
    if (HYDROGEN_FROM..HYDROGEN_BASE).contains(&middle) {
        let d = diffusion(4, n.iter().sum());
        let ratio = temperature / temperature_above(HYDROGEN_BASE).0;
        rates[6] = HYDROGEN.1 / d * ratio.powf(1.0 + DIFFUSION[4].2) * at[5].exp();
    }
    if middle > HYDROGEN_FROM {
        rates[5] = weight(MASSES[5]);
    }
    rates
}

fn mix(z: f64, at: &Integrals, base: &Integrals) -> Mix {
    let temperature = temperature_above(z).0;
    let [n2, o, o2, ar, he] = numbers(temperature, at);
    let mut all = [n2, o, o2, ar, he, 0.0];
    if z >= HYDROGEN_FROM {
        let ratio = temperature_above(HYDROGEN_BASE).0 / temperature;
        let risen = HYDROGEN.0 + (base[6] - at[6]) * (-base[5]).exp();
        all[5] = risen * ratio.powf(1.0 + DIFFUSION[4].2) * (base[5] - at[5]).exp();
    }
    let number: f64 = all.iter().sum();
    let mass: f64 = all.iter().zip(MASSES).map(|(n, m)| n * m).sum();
    Mix { molar_mass: mass / number, density: mass / AVOGADRO }
}
