//! Quantity to text for a reader: the unit by a ladder of sizes, four significant digits.
//!
//! The ladders: lengths in mm below 1 cm, m below 1 km, km below 10 million km, au above; times in s below 5 min, min below
//! 3 h, h below 2 d, d below four Julian years, years above; speeds in m/s below 1 km/s; masses in kg below 10 t; angles in
//! degrees, below 0.01 degree in arcseconds. Digits before the point are never rounded away below ten million.

use super::{Dimension, Quantity, Unit};

type Ladder = &'static [(f64, &'static str)];

/// Each step: from this SI size on, that unit. The first step also serves everything smaller.
const LADDERS: &[(Dimension, Ladder)] = &[
    (Dimension::LENGTH, &[(0.0, "mm"), (1e-2, "m"), (1e3, "km"), (1e10, "au")]),
    (Dimension::AREA, &[(0.0, "m²"), (1e6, "km²")]),
    (
        Dimension::TIME,
        &[
            (0.0, "ns"),
            (1e-6, "us"),
            (1e-3, "ms"),
            (0.1, "s"),
            (300.0, "min"),
            (10_800.0, "h"),
            (172_800.0, "d"),
            (126_230_400.0, "years"),
        ],
    ),
    (Dimension::SPEED, &[(0.0, "mm/s"), (0.1, "m/s"), (1e3, "km/s")]),
    (Dimension::ACCELERATION, &[(0.0, "mm/s²"), (1e-2, "m/s²")]),
    (Dimension::ANGLE, &[(0.0, "arcsec"), (1.745_329e-4, "deg")]),
    (Dimension::ANGULAR_RATE, &[(0.0, "deg/d"), (1.745_329e-4, "deg/s")]),
    (Dimension::ANGULAR_ACCELERATION, &[(0.0, "deg/s²")]),
    (Dimension::MASS, &[(0.0, "g"), (1.0, "kg"), (1e4, "t")]),
    (Dimension::FREQUENCY, &[(0.0, "Hz")]),
    (Dimension::FORCE, &[(0.0, "mN"), (0.1, "N"), (1e3, "kN"), (1e6, "MN")]),
    (Dimension::MOMENTUM, &[(0.0, "N s")]),
    (Dimension::PRESSURE, &[(0.0, "Pa"), (1e3, "kPa"), (1e6, "MPa")]),
    (Dimension::ENERGY, &[(0.0, "J"), (1e3, "kJ"), (1e6, "MJ"), (1e9, "GJ")]),
    (Dimension::POWER, &[(0.0, "W"), (1e3, "kW"), (1e6, "MW")]),
    (Dimension::HEAT_FLUX, &[(0.0, "W/m²"), (1e4, "W/cm²")]),
    (Dimension::HEAT_LOAD, &[(0.0, "J/m²"), (1e4, "J/cm²"), (1e7, "kJ/cm²")]),
    (Dimension::SPECIFIC_ENERGY, &[(0.0, "m²/s²"), (1e4, "km²/s²")]),
    (Dimension::SPECIFIC_ANGULAR_MOMENTUM, &[(0.0, "m²/s"), (1e6, "km²/s")]),
    (Dimension::GRAVITATIONAL_PARAMETER, &[(0.0, "m³/s²"), (1e6, "km³/s²")]),
    (Dimension::VISCOSITY, &[(0.0, "Pa s")]),
    (Dimension::TEMPERATURE_GRADIENT, &[(0.0, "K/km")]),
    (Dimension::PRESSURE_GRADIENT, &[(0.0, "Pa/m")]),
];

pub(super) fn show(quantity: Quantity) -> String {
    let size = quantity.value.abs();
    let ladder = LADDERS.iter().find(|(dimension, _)| *dimension == quantity.dimension).map(|(_, ladder)| *ladder);
    let Some(ladder) = ladder else {
        let unit = quantity.si_unit();
        let gap = if unit.is_empty() { "" } else { " " };
        return format!("{}{gap}{unit}", digits(quantity.value));
    };
    // Zero takes the SI unit itself if the ladder has it: `0 m`, not `0 mm`.
    let plain = ladder.iter().filter_map(|(_, name)| Unit::by_name(name)).find(|unit| unit.factor == 1.0);
    let fitting = ladder.iter().rev().find(|(from, _)| size >= *from).and_then(|(_, name)| Unit::by_name(name));
    match if size == 0.0 { plain.or(fitting) } else { fitting } {
        Some(unit) => format!("{} {}", digits(unit.from_si(quantity.value)), unit.name),
        None => quantity.exact(),
    }
}

/// Four significant digits, or all the digits before the point; trailing zeros dropped; powers of ten outside of 1e-4 to 1e7.
fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let size = value.abs();
    if !(1e-4..1e7).contains(&size) {
        let text = format!("{value:.3e}");
        let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        return format!("{}e{exponent}", trimmed(mantissa));
    }
    // The exponent after rounding to four digits: 9.9996 counts as 10.00.
    let rounded = format!("{size:.3e}");
    let exponent: i32 = rounded.split_once('e').and_then(|(_, exponent)| exponent.parse().ok()).unwrap_or(0);
    let decimals = (3 - exponent).max(0) as usize;
    trimmed(&format!("{value:.decimals$}")).to_owned()
}

fn trimmed(text: &str) -> &str {
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn check(quantity: Quantity, text: &str) {
        assert_eq!(quantity.show(), text);
    }

    #[test]
    fn shows_the_unit_a_reader_expects() {
        check(Quantity::speed(7784.26), "7.784 km/s");
        check(Quantity::speed(-120.0), "-120 m/s");
        check(Quantity::time(5430.0), "90.5 min");
        check(Quantity::time(86_400.0 * 258.86), "258.9 d");
        check(Quantity::length(3e5), "300 km");
        check(Quantity::length(384_400e3), "384400 km");
        check(Quantity::length(0.0), "0 m");
        check(Quantity::length(1.496e11), "1 au");
        check(Quantity::length(999.96), "1000 m");
        check(Quantity::length(1000.0), "1 km");
        check(Quantity::length(6000.0), "6 km");
        check(Quantity::angle(std::f64::consts::FRAC_PI_4), "45 deg");
        check(Quantity::mass(1200.0), "1200 kg");
        check(Quantity::mass(45e3), "45 t");
        check(Quantity::gravitational_parameter(3.986_004_418e14), "398600 km³/s²");
        check(Quantity::specific_energy(8.9e6), "8.9 km²/s²");
        check(Quantity::heat_flux(3e5), "30 W/cm²");
        check(Quantity::number(0.012_345_6), "0.01235");
        check(Quantity::number(1.5e20), "1.5e20");
        check(Quantity::new(2.0, Dimension::LENGTH.root(2).unwrap()), "2 m^0.5");
        check(Quantity::density(1.225), "1.225 kg/m³");
    }

    #[test]
    fn ladders_climb_and_their_units_fit() {
        for (dimension, ladder) in LADDERS {
            assert!(ladder.windows(2).all(|pair| pair[0].0 < pair[1].0));
            assert!(ladder.iter().all(|(_, name)| Unit::by_name(name).unwrap().dimension == *dimension));
        }
    }

    proptest! {
        // Half a unit of the fourth digit is 5e-4 of the value at most; conversion adds a few epsilons.
        #[test]
        fn what_is_shown_reads_back_to_four_digits(value in -1e15_f64..1e15, index in 0..LADDERS.len()) {
            let shown = Quantity::new(value, LADDERS[index].0);
            let back = Quantity::parse(&shown.show()).unwrap();
            prop_assert_eq!(back.dimension, shown.dimension);
            prop_assert!((back.value - value).abs() <= 5.001e-4 * value.abs());
        }
    }
}
