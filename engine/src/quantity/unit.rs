//! The table of units: the only list of them, each with its source.

use std::sync::LazyLock;

use super::{Dimension, QuantityError};
use crate::constants::{ASTRONOMICAL_UNIT, JULIAN_YEAR, STANDARD_GRAVITY};

/// A unit of measure. SI value = count × factor, except for scales with a zero of their own (`degC`).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As it is printed: "km/s".
    pub name: &'static str,
    /// As a property of a number in a script: "`km_s`".
    pub property: &'static str,
    /// Other words for it, all of them properties too: "hour".
    pub also: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// SI units in one of it. Prefer `to_si` and `from_si`, which divide where that is exact: 9 ms is 0.009 s.
    pub factor: f64,
    /// Where the factor is from.
    pub source: &'static str,
    /// SI units in `per` of it; kept apart so that milli, centi and arcsecond divide by a whole number.
    over: f64,
    per: f64,
    pub(super) offset: f64,
}

const SI: &str = "[SI2019]";
/// Accepted for use with the SI, table 8 of the brochure.
const SI8: &str = "[SI2019] table 8";
const PI: f64 = std::f64::consts::PI;

const fn unit(name: &'static str, property: &'static str, dimension: Dimension, over: f64, per: f64) -> Unit {
    Unit { name, property, also: &[], dimension, factor: over / per, source: SI, over, per, offset: 0.0 }
}

const fn from(source: &'static str, unit: Unit) -> Unit {
    Unit { source, ..unit }
}

const fn also(words: &'static [&'static str], unit: Unit) -> Unit {
    Unit { also: words, ..unit }
}

use Dimension as D;

#[rustfmt::skip]
const UNITS: &[Unit] = &[
    also(&["metres", "metre"], unit("m", "m", D::LENGTH, 1.0, 1.0)),
    unit("km", "km", D::LENGTH, 1e3, 1.0),
    unit("cm", "cm", D::LENGTH, 1.0, 1e2),
    unit("mm", "mm", D::LENGTH, 1.0, 1e3),
    from("[IAU2012B2]", unit("au", "au", D::LENGTH, ASTRONOMICAL_UNIT, 1.0)),
    unit("m²", "m2", D::AREA, 1.0, 1.0),
    unit("km²", "km2", D::AREA, 1e6, 1.0),
    unit("cm²", "cm2", D::AREA, 1.0, 1e4),
    unit("m³", "m3", D::VOLUME, 1.0, 1.0),
    unit("km³", "km3", D::VOLUME, 1e9, 1.0),
    from(SI8, also(&["L", "litres", "litre"], unit("l", "l", D::VOLUME, 1.0, 1e3))),

    also(&["seconds", "second"], unit("s", "s", D::TIME, 1.0, 1.0)),
    unit("ms", "ms", D::TIME, 1.0, 1e3),
    unit("us", "us", D::TIME, 1.0, 1e6),
    unit("ns", "ns", D::TIME, 1.0, 1e9),
    from(SI8, also(&["minutes", "minute"], unit("min", "min", D::TIME, 60.0, 1.0))),
    from(SI8, also(&["h", "hour"], unit("h", "hours", D::TIME, 3600.0, 1.0))),
    from(SI8, also(&["d", "day"], unit("d", "days", D::TIME, 86_400.0, 1.0))),
    from("seven days", also(&["week"], unit("weeks", "weeks", D::TIME, 604_800.0, 1.0))),
    from("[IAU1976], Julian year", also(&["year"], unit("years", "years", D::TIME, JULIAN_YEAR, 1.0))),
    unit("Hz", "Hz", D::FREQUENCY, 1.0, 1.0),

    unit("m/s", "m_s", D::SPEED, 1.0, 1.0),
    unit("km/s", "km_s", D::SPEED, 1e3, 1.0),
    unit("cm/s", "cm_s", D::SPEED, 1.0, 1e2),
    unit("mm/s", "mm_s", D::SPEED, 1.0, 1e3),
    from(SI8, also(&["kmh"], unit("km/h", "km_h", D::SPEED, 1e3, 3600.0))),
    unit("m/s²", "m_s2", D::ACCELERATION, 1.0, 1.0),
    unit("km/s²", "km_s2", D::ACCELERATION, 1e3, 1.0),
    unit("mm/s²", "mm_s2", D::ACCELERATION, 1.0, 1e3),
    from("[CGPM1901]", also(&["gee"], unit("g0", "g0", D::ACCELERATION, STANDARD_GRAVITY, 1.0))),

    from(SI8, also(&["°", "degrees", "degree"], unit("deg", "deg", D::ANGLE, PI, 180.0))),
    also(&["radians", "radian"], unit("rad", "rad", D::ANGLE, 1.0, 1.0)),
    unit("mrad", "mrad", D::ANGLE, 1.0, 1e3),
    from(SI8, unit("arcmin", "arcmin", D::ANGLE, PI, 10_800.0)),
    from(SI8, unit("arcsec", "arcsec", D::ANGLE, PI, 648_000.0)),
    from("one turn is 2π rad", also(&["turn"], unit("turns", "turns", D::ANGLE, 2.0 * PI, 1.0))),
    unit("rad/s", "rad_s", D::ANGULAR_RATE, 1.0, 1.0),
    from(SI8, also(&["°/s"], unit("deg/s", "deg_s", D::ANGULAR_RATE, PI, 180.0))),
    from(SI8, also(&["deg/day", "deg_day", "°/d"], unit("deg/d", "deg_d", D::ANGULAR_RATE, PI, 180.0 * 86_400.0))),
    unit("rad/s²", "rad_s2", D::ANGULAR_ACCELERATION, 1.0, 1.0),
    from(SI8, unit("deg/s²", "deg_s2", D::ANGULAR_ACCELERATION, PI, 180.0)),

    unit("kg", "kg", D::MASS, 1.0, 1.0),
    unit("g", "g", D::MASS, 1.0, 1e3),
    unit("mg", "mg", D::MASS, 1.0, 1e6),
    from(SI8, also(&["tonnes", "tonne"], unit("t", "t", D::MASS, 1e3, 1.0))),
    unit("kg/s", "kg_s", D::MASS_FLOW, 1.0, 1.0),
    unit("kg/m³", "kg_m3", D::DENSITY, 1.0, 1.0),
    unit("g/cm³", "g_cm3", D::DENSITY, 1e3, 1.0),
    unit("kg/km³", "kg_km3", D::DENSITY, 1.0, 1e9),
    unit("kg/m²", "kg_m2", D::MASS_PER_AREA, 1.0, 1.0),
    unit("m²/kg", "m2_kg", D::AREA_PER_MASS, 1.0, 1.0),
    unit("kg m²", "kg_m_m", D::MOMENT_OF_INERTIA, 1.0, 1.0),

    unit("N", "N", D::FORCE, 1.0, 1.0),
    unit("mN", "mN", D::FORCE, 1.0, 1e3),
    unit("kN", "kN", D::FORCE, 1e3, 1.0),
    unit("MN", "MN", D::FORCE, 1e6, 1.0),
    unit("N s", "N_s", D::MOMENTUM, 1.0, 1.0),
    unit("Pa", "Pa", D::PRESSURE, 1.0, 1.0),
    unit("hPa", "hPa", D::PRESSURE, 1e2, 1.0),
    unit("kPa", "kPa", D::PRESSURE, 1e3, 1.0),
    unit("MPa", "MPa", D::PRESSURE, 1e6, 1.0),
    from("1 bar = 100 kPa, ISO 80000-4", unit("bar", "bar", D::PRESSURE, 1e5, 1.0)),
    unit("Pa s", "Pa_s", D::VISCOSITY, 1.0, 1.0),
    unit("Pa/m", "Pa_m", D::PRESSURE_GRADIENT, 1.0, 1.0),

    unit("J", "J", D::ENERGY, 1.0, 1.0),
    unit("kJ", "kJ", D::ENERGY, 1e3, 1.0),
    unit("MJ", "MJ", D::ENERGY, 1e6, 1.0),
    unit("GJ", "GJ", D::ENERGY, 1e9, 1.0),
    from(SI8, unit("Wh", "Wh", D::ENERGY, 3600.0, 1.0)),
    from(SI8, unit("kWh", "kWh", D::ENERGY, 3.6e6, 1.0)),
    unit("W", "W", D::POWER, 1.0, 1.0),
    unit("kW", "kW", D::POWER, 1e3, 1.0),
    unit("MW", "MW", D::POWER, 1e6, 1.0),
    unit("W/m²", "W_m2", D::HEAT_FLUX, 1.0, 1.0),
    unit("W/cm²", "W_cm2", D::HEAT_FLUX, 1e4, 1.0),
    unit("kW/m²", "kW_m2", D::HEAT_FLUX, 1e3, 1.0),
    unit("MW/m²", "MW_m2", D::HEAT_FLUX, 1e6, 1.0),
    unit("J/m²", "J_m2", D::HEAT_LOAD, 1.0, 1.0),
    unit("J/cm²", "J_cm2", D::HEAT_LOAD, 1e4, 1.0),
    unit("kJ/cm²", "kJ_cm2", D::HEAT_LOAD, 1e7, 1.0),
    unit("MJ/m²", "MJ_m2", D::HEAT_LOAD, 1e6, 1.0),

    unit("J/kg", "J_kg", D::SPECIFIC_ENERGY, 1.0, 1.0),
    unit("kJ/kg", "kJ_kg", D::SPECIFIC_ENERGY, 1e3, 1.0),
    unit("MJ/kg", "MJ_kg", D::SPECIFIC_ENERGY, 1e6, 1.0),
    unit("m²/s²", "m2_s2", D::SPECIFIC_ENERGY, 1.0, 1.0),
    unit("km²/s²", "km2_s2", D::SPECIFIC_ENERGY, 1e6, 1.0),
    unit("m²/s", "m2_s", D::SPECIFIC_ANGULAR_MOMENTUM, 1.0, 1.0),
    unit("km²/s", "km2_s", D::SPECIFIC_ANGULAR_MOMENTUM, 1e6, 1.0),
    unit("m³/s²", "m3_s2", D::GRAVITATIONAL_PARAMETER, 1.0, 1.0),
    unit("km³/s²", "km3_s2", D::GRAVITATIONAL_PARAMETER, 1e9, 1.0),

    unit("K", "K", D::TEMPERATURE, 1.0, 1.0),
    also(&["°C"], Unit { offset: 273.15, ..unit("degC", "degC", D::TEMPERATURE, 1.0, 1.0) }),
    unit("K/m", "K_m", D::TEMPERATURE_GRADIENT, 1.0, 1.0),
    unit("K/km", "K_km", D::TEMPERATURE_GRADIENT, 1.0, 1e3),
];

/// Every unit, in the order of the table.
pub fn units() -> &'static [Unit] {
    UNITS
}

/// The form under which a unit is looked up: `km²/s²`, `km^2/s^2` and `km2_s2` are one.
fn key(text: &str) -> String {
    let mut key = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '²' => key.push('2'),
            '³' => key.push('3'),
            '^' => {}
            '/' => key.push('_'),
            '·' | '*' => key.push(' '),
            _ => key.push(letter),
        }
    }
    key
}

/// Every key with the index of its unit, sorted by key.
static KEYS: LazyLock<Vec<(String, usize)>> = LazyLock::new(|| {
    let mut keys: Vec<(String, usize)> = Vec::new();
    for (index, unit) in UNITS.iter().enumerate() {
        keys.push((key(unit.name), index));
        keys.push((key(unit.property), index));
        keys.extend(unit.also.iter().map(|word| (key(word), index)));
    }
    keys.sort();
    keys.dedup();
    keys
});

impl Unit {
    /// By any of its names or properties: "km/s", "km_s", "km2/s2", "hour".
    pub fn by_name(name: &str) -> Option<&'static Self> {
        let wanted = key(name.trim());
        let place = KEYS.binary_search_by(|(key, _)| key.as_str().cmp(&wanted)).ok()?;
        UNITS.get(KEYS.get(place)?.1)
    }

    /// By the property a script writes after a number: "km_s", "hours", "hour".
    pub fn by_property(property: &str) -> Option<&'static Self> {
        UNITS.iter().find(|unit| unit.properties().any(|word| word == property))
    }

    /// The words that can stand after a number in a script.
    pub fn properties(&self) -> impl Iterator<Item = &'static str> + use<> {
        let word = |text: &&'static str| text.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_');
        std::iter::once(self.property).chain(self.also.iter().copied().filter(word))
    }

    /// The nearest name or property, for a message about one that does not exist.
    pub fn nearest(name: &str) -> Option<&'static str> {
        let wanted = key(name.trim());
        let length = wanted.chars().count();
        // A slip or two, not another word: fewer edits than letters, one more for every three of them.
        let close = |word: &str| {
            let edits = strsim::osa_distance(&word.to_lowercase(), &wanted.to_lowercase());
            (edits < length && edits <= 1 + length / 3).then_some(edits)
        };
        let mut best: Option<(usize, f64, &'static str)> = None;
        for unit in UNITS {
            for word in std::iter::once(unit.name).chain(unit.properties()) {
                let Some(edits) = close(&key(word)) else { continue };
                let likeness = strsim::jaro_winkler(&key(word), &wanted);
                if best.is_none_or(|(least, best, _)| edits < least || edits == least && likeness > best) {
                    best = Some((edits, likeness, word));
                }
            }
        }
        best.map(|(_, _, word)| word)
    }

    pub(super) fn find(name: &str) -> Result<&'static Self, QuantityError> {
        Self::by_name(name).ok_or_else(|| Self::unknown(name))
    }

    pub(super) fn unknown(name: &str) -> QuantityError {
        QuantityError::UnknownUnit { unit: name.to_owned(), nearest: Self::nearest(name).map(str::to_owned) }
    }

    pub(super) const fn ratio(&self) -> (f64, f64) {
        (self.over, self.per)
    }

    /// SI value of a count of this unit.
    pub fn to_si(&self, count: f64) -> f64 {
        let scaled = count * self.over / self.per;
        if self.offset == 0.0 { scaled } else { scaled + self.offset }
    }

    /// Count of this unit in an SI value.
    pub fn from_si(&self, value: f64) -> f64 {
        let moved = if self.offset == 0.0 { value } else { value - self.offset };
        moved * self.per / self.over
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Quantity;
    use proptest::prelude::*;

    #[test]
    fn every_word_means_one_unit() {
        for pair in KEYS.windows(2) {
            assert!(pair[0].0 != pair[1].0, "{} stands for two units", pair[0].0);
        }
        for unit in units() {
            assert_eq!(Unit::by_name(unit.name), Some(unit));
            assert!(unit.properties().all(|word| Unit::by_property(word) == Some(unit)));
            assert!(!unit.source.is_empty());
        }
    }

    #[test]
    fn properties_are_words_a_script_may_use() {
        // Words the interpreter keeps for itself, of the letters that could be units.
        let kept = "as async await break case catch const continue default do else export false fn for go goto if import in is let \
            loop match module new nil null package private protected public return shared spawn static super switch sync this \
            thread throw true try until use var void while with yield print debug type_of eval call curry is_shared";
        for unit in units() {
            for word in unit.properties() {
                assert!(!kept.split_whitespace().any(|kept| kept == word), "{word}");
                assert!(word.starts_with(|letter: char| letter.is_ascii_alphabetic()), "{word}");
            }
        }
    }

    #[test]
    fn hints_at_the_nearest_name() {
        assert_eq!(Unit::nearest("kms"), Some("km/s"));
        assert_eq!(Unit::nearest("KM"), Some("km"));
        assert_eq!(Unit::nearest("hors"), Some("hours"));
        assert_eq!(Unit::nearest("degres"), Some("degrees"));
        assert_eq!(Unit::nearest("parsnips"), None);
        let message = Quantity::parse("3 kilms").unwrap_err().to_string();
        assert!(message.starts_with("unknown unit `kilms`"), "{message}");
    }

    #[test]
    fn factors_agree_with_the_brochure() {
        // [SI2019] table 8: 1° = (π/180) rad, 1″ = (π/648 000) rad, 1 t = 1000 kg, 1 d = 86 400 s.
        let si = |count, unit| Quantity::of(count, unit).unwrap().value;
        assert_eq!(si(180.0, "deg"), PI);
        assert_eq!(si(648_000.0, "arcsec"), PI);
        assert_eq!(si(36.0, "km/h"), 10.0);
        assert_eq!(si(1.0, "au"), 149_597_870_700.0);
        assert_eq!(si(1.0, "years"), 31_557_600.0);
        assert_eq!(si(30.0, "W/cm²"), 300_000.0);
        assert_eq!(si(1.0, "gee"), 9.806_65);
        assert_eq!(si(9.0, "ms"), 0.009);
        assert_eq!(si(1.0, "kWh"), 3.6e6);
    }

    #[test]
    fn compound_names_have_the_factor_of_their_parts() {
        for unit in units().iter().filter(|unit| unit.name.contains(['/', ' ', '²', '³'])) {
            // Rebuilt from its parts, because the table's own entry would be found for the whole.
            let mut value = 1.0;
            let mut dimension = Dimension::NUMBER;
            for (index, group) in unit.name.split('/').enumerate() {
                for word in group.split(' ') {
                    let (symbol, power) =
                        match word.strip_suffix('²').map(|s| (s, 2)).or(word.strip_suffix('³').map(|s| (s, 3))) {
                            Some(found) => found,
                            None => (word, 1),
                        };
                    let part = Unit::by_name(symbol).unwrap();
                    let power = if index == 0 { power } else { -power };
                    value *= part.to_si(1.0).powi(power);
                    dimension = dimension.times(part.dimension.power(power).unwrap()).unwrap();
                }
            }
            assert_eq!(dimension, unit.dimension, "{}", unit.name);
            assert!((value / unit.to_si(1.0) - 1.0).abs() < 4.0 * f64::EPSILON, "{}: {value}", unit.name);
        }
    }

    proptest! {
        // Two roundings each way, each half an epsilon at most.
        #[test]
        fn a_unit_undoes_itself(count in -1e9_f64..1e9, index in 0..UNITS.len()) {
            let unit = &UNITS[index];
            let back = Quantity::of(count, unit.name).unwrap().to(unit.name).unwrap();
            let slack = 2.0 * f64::EPSILON * (count.abs() + unit.offset);
            prop_assert!((back - count).abs() <= slack, "{} {} {}", count, back, unit.name);
        }
    }
}
