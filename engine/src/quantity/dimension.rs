//! Dimensions: what kind of thing a quantity measures.

use std::fmt;

/// Exponents of length, mass, time, angle and temperature, counted in halves so that a square root stays a dimension.
///
/// Angle is a dimension of its own: half of all unit mistakes are angles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    halves: [i8; 5],
}

/// SI symbols of the five base dimensions, in the order of the exponents.
const BASE: [&str; 5] = ["m", "kg", "s", "rad", "K"];

/// The order in which base units are written: mass first, as in kg m²/s³.
const WRITTEN: [usize; 5] = [1, 0, 3, 4, 2];

impl Dimension {
    /// A bare number.
    pub const NUMBER: Self = Self::of(0, 0, 0, 0, 0);
    /// m
    pub const LENGTH: Self = Self::of(1, 0, 0, 0, 0);
    /// m²
    pub const AREA: Self = Self::of(2, 0, 0, 0, 0);
    /// m³
    pub const VOLUME: Self = Self::of(3, 0, 0, 0, 0);
    /// kg
    pub const MASS: Self = Self::of(0, 1, 0, 0, 0);
    /// s
    pub const TIME: Self = Self::of(0, 0, 1, 0, 0);
    /// rad
    pub const ANGLE: Self = Self::of(0, 0, 0, 1, 0);
    /// K
    pub const TEMPERATURE: Self = Self::of(0, 0, 0, 0, 1);
    /// 1/s
    pub const FREQUENCY: Self = Self::of(0, 0, -1, 0, 0);
    /// m/s
    pub const SPEED: Self = Self::of(1, 0, -1, 0, 0);
    /// m/s²
    pub const ACCELERATION: Self = Self::of(1, 0, -2, 0, 0);
    /// rad/s
    pub const ANGULAR_RATE: Self = Self::of(0, 0, -1, 1, 0);
    /// rad/s²
    pub const ANGULAR_ACCELERATION: Self = Self::of(0, 0, -2, 1, 0);
    /// N
    pub const FORCE: Self = Self::of(1, 1, -2, 0, 0);
    /// N s
    pub const MOMENTUM: Self = Self::of(1, 1, -1, 0, 0);
    /// Pa
    pub const PRESSURE: Self = Self::of(-1, 1, -2, 0, 0);
    /// J
    pub const ENERGY: Self = Self::of(2, 1, -2, 0, 0);
    /// W
    pub const POWER: Self = Self::of(2, 1, -3, 0, 0);
    /// W/m²
    pub const HEAT_FLUX: Self = Self::of(0, 1, -3, 0, 0);
    /// J/m²
    pub const HEAT_LOAD: Self = Self::of(0, 1, -2, 0, 0);
    /// J/kg = m²/s², also twice the energy of a hyperbola (C3)
    pub const SPECIFIC_ENERGY: Self = Self::of(2, 0, -2, 0, 0);
    /// m²/s
    pub const SPECIFIC_ANGULAR_MOMENTUM: Self = Self::of(2, 0, -1, 0, 0);
    /// m³/s²
    pub const GRAVITATIONAL_PARAMETER: Self = Self::of(3, 0, -2, 0, 0);
    /// kg/m³
    pub const DENSITY: Self = Self::of(-3, 1, 0, 0, 0);
    /// kg m²
    pub const MOMENT_OF_INERTIA: Self = Self::of(2, 1, 0, 0, 0);
    /// kg/s
    pub const MASS_FLOW: Self = Self::of(0, 1, -1, 0, 0);
    /// kg/m²
    pub const MASS_PER_AREA: Self = Self::of(-2, 1, 0, 0, 0);
    /// m²/kg
    pub const AREA_PER_MASS: Self = Self::of(2, -1, 0, 0, 0);
    /// Pa s
    pub const VISCOSITY: Self = Self::of(-1, 1, -1, 0, 0);
    /// K/m
    pub const TEMPERATURE_GRADIENT: Self = Self::of(-1, 0, 0, 0, 1);
    /// Pa/m, weight of a volume
    pub const PRESSURE_GRADIENT: Self = Self::of(-2, 1, -2, 0, 0);

    /// A dimension from whole exponents of length, mass, time, angle and temperature (each from -63 to 63).
    pub const fn of(length: i8, mass: i8, time: i8, angle: i8, temperature: i8) -> Self {
        Self { halves: [2 * length, 2 * mass, 2 * time, 2 * angle, 2 * temperature] }
    }

    /// A single base dimension by its symbol.
    #[cfg(test)]
    pub(super) fn base(symbol: &str) -> Option<Self> {
        let index = BASE.iter().position(|base| *base == symbol)?;
        let mut halves = [0; 5];
        halves[index] = 2;
        Some(Self { halves })
    }

    fn each(self, f: impl Fn(usize, i8) -> Option<i8>) -> Option<Self> {
        let mut halves = [0; 5];
        for (index, half) in self.halves.into_iter().enumerate() {
            halves[index] = f(index, half)?;
        }
        Some(Self { halves })
    }

    /// Dimension of a product; `None` when an exponent would pass ±63.
    pub fn times(self, other: Self) -> Option<Self> {
        self.each(|index, half| half.checked_add(other.halves[index]))
    }

    /// Dimension of a quotient; `None` when an exponent would pass ±63.
    pub fn over(self, other: Self) -> Option<Self> {
        self.each(|index, half| half.checked_sub(other.halves[index]))
    }

    /// Dimension of a whole power; `None` when an exponent would pass ±63.
    pub fn power(self, exponent: i32) -> Option<Self> {
        self.each(|_, half| i8::try_from(i32::from(half).checked_mul(exponent)?).ok())
    }

    /// Power counted in halves: 1 is the square root.
    pub(super) fn power_of_halves(self, halves: i32) -> Option<Self> {
        self.each(|_, half| {
            let product = i32::from(half).checked_mul(halves)?;
            (product % 2 == 0).then(|| i8::try_from(product / 2).ok()).flatten()
        })
    }

    /// Dimension of a root (2 for the square root); `None` when an exponent would not be a whole number of halves.
    pub fn root(self, degree: i32) -> Option<Self> {
        self.each(|_, half| {
            let half = i32::from(half);
            (degree != 0 && half.checked_rem(degree)? == 0).then(|| i8::try_from(half / degree).ok()).flatten()
        })
    }

    /// Name of the dimension, if it has one: "length", "speed", "angle".
    pub fn name(self) -> Option<&'static str> {
        NAMES.iter().find(|(dimension, _)| *dimension == self).map(|(_, name)| *name)
    }

    /// The dimension with its article, for messages: "a length", "an angle", or "a quantity in m^0.5".
    pub fn described(self) -> String {
        match self.name() {
            Some(name) if name.starts_with(['a', 'e', 'i', 'o']) => format!("an {name}"),
            Some(name) => format!("a {name}"),
            None => format!("a quantity in {}", self.si_unit()),
        }
    }

    /// The coherent SI unit as text that the parser reads back: "m/s", "kg m²/s³", "m^0.5"; empty for a number.
    pub fn si_unit(self) -> String {
        let factor = |index: usize, halves: i32| match halves {
            2 => BASE[index].to_owned(),
            4 => format!("{}²", BASE[index]),
            6 => format!("{}³", BASE[index]),
            _ if halves % 2 == 0 => format!("{}^{}", BASE[index], halves / 2),
            _ => format!("{}^{}", BASE[index], f64::from(halves) / 2.0),
        };
        let mut text = String::new();
        for index in WRITTEN {
            let halves = i32::from(self.halves[index]);
            if halves > 0 {
                if !text.is_empty() {
                    text.push(' ');
                }
                text.push_str(&factor(index, halves));
            }
        }
        for index in WRITTEN {
            let halves = i32::from(self.halves[index]);
            if halves < 0 {
                text.push_str(if text.is_empty() { "1/" } else { "/" });
                text.push_str(&factor(index, -halves));
            }
        }
        text
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name() {
            Some(name) => f.write_str(name),
            None => f.write_str(&self.si_unit()),
        }
    }
}

/// Names for messages; the first that fits wins.
const NAMES: &[(Dimension, &str)] = &[
    (Dimension::NUMBER, "bare number"),
    (Dimension::LENGTH, "length"),
    (Dimension::AREA, "area"),
    (Dimension::VOLUME, "volume"),
    (Dimension::MASS, "mass"),
    (Dimension::TIME, "time"),
    (Dimension::ANGLE, "angle"),
    (Dimension::TEMPERATURE, "temperature"),
    (Dimension::FREQUENCY, "frequency"),
    (Dimension::SPEED, "speed"),
    (Dimension::ACCELERATION, "acceleration"),
    (Dimension::ANGULAR_RATE, "angular rate"),
    (Dimension::ANGULAR_ACCELERATION, "angular acceleration"),
    (Dimension::FORCE, "force"),
    (Dimension::MOMENTUM, "momentum"),
    (Dimension::PRESSURE, "pressure"),
    (Dimension::ENERGY, "energy"),
    (Dimension::POWER, "power"),
    (Dimension::HEAT_FLUX, "heat flux"),
    (Dimension::HEAT_LOAD, "heat load"),
    (Dimension::SPECIFIC_ENERGY, "specific energy"),
    (Dimension::SPECIFIC_ANGULAR_MOMENTUM, "specific angular momentum"),
    (Dimension::GRAVITATIONAL_PARAMETER, "gravitational parameter"),
    (Dimension::DENSITY, "density"),
    (Dimension::MOMENT_OF_INERTIA, "moment of inertia"),
    (Dimension::MASS_FLOW, "mass flow"),
    (Dimension::MASS_PER_AREA, "mass per area"),
    (Dimension::AREA_PER_MASS, "area per mass"),
    (Dimension::VISCOSITY, "viscosity"),
    (Dimension::TEMPERATURE_GRADIENT, "temperature gradient"),
    (Dimension::PRESSURE_GRADIENT, "pressure gradient"),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roots_undo_powers_and_odd_halves_have_no_root() {
        let root = Dimension::SPEED.root(2).unwrap();
        assert_eq!(root.power(2), Some(Dimension::SPEED));
        assert_eq!(root.root(2), None);
        assert_eq!(root.si_unit(), "m^0.5/s^0.5");
        assert_eq!(Dimension::SPEED.root(0), None);
    }

    #[test]
    fn exponents_have_an_end() {
        assert_eq!(Dimension::LENGTH.power(64), None);
        assert_eq!(Dimension::LENGTH.power(i32::MAX), None);
        assert!(Dimension::LENGTH.power(63).is_some());
        assert_eq!(Dimension::of(63, 0, 0, 0, 0).times(Dimension::LENGTH), None);
        assert_eq!(Dimension::of(-63, 0, 0, 0, 0).over(Dimension::AREA), None);
    }

    #[test]
    fn describes_with_its_article() {
        assert_eq!(Dimension::LENGTH.described(), "a length");
        assert_eq!(Dimension::ANGLE.described(), "an angle");
        assert_eq!(Dimension::NUMBER.described(), "a bare number");
        assert_eq!(Dimension::POWER.si_unit(), "kg m²/s³");
        assert_eq!(Dimension::FREQUENCY.si_unit(), "1/s");
    }

    #[test]
    fn no_two_names_for_one_dimension() {
        for (index, (dimension, name)) in NAMES.iter().enumerate() {
            for (other, text) in &NAMES[index + 1..] {
                assert!(dimension != other && name != text, "{name} and {text}");
            }
        }
    }
}
