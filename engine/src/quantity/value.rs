//! The value: a finite SI number with its dimension, and checked arithmetic.

use std::cmp::Ordering;

use super::{Dimension, QuantityError, Unit};

/// A number in coherent SI units with its dimension. Values made by the checked operations and by `parse` are finite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// In coherent SI units: m, kg, s, rad, K and their products.
    pub value: f64,
    /// What it measures.
    pub dimension: Dimension,
}

/// Constructors from a bare SI number.
macro_rules! of_dimension {
    ($($name:ident $dimension:ident $unit:literal),* $(,)?) => {
        $(
            #[doc = concat!("From a value in ", $unit, ".")]
            pub const fn $name(value: f64) -> Self {
                Self::new(value, Dimension::$dimension)
            }
        )*
    };
}

impl Quantity {
    /// From a value in coherent SI units.
    pub const fn new(value: f64, dimension: Dimension) -> Self {
        Self { value, dimension }
    }

    of_dimension! {
        number NUMBER "1", length LENGTH "m", area AREA "m²", time TIME "s", speed SPEED "m/s", acceleration ACCELERATION "m/s²",
        angle ANGLE "rad", angular_rate ANGULAR_RATE "rad/s", mass MASS "kg", mass_flow MASS_FLOW "kg/s", force FORCE "N",
        pressure PRESSURE "Pa", density DENSITY "kg/m³", temperature TEMPERATURE "K", energy ENERGY "J", power_of POWER "W",
        specific_energy SPECIFIC_ENERGY "m²/s²", specific_angular_momentum SPECIFIC_ANGULAR_MOMENTUM "m²/s",
        gravitational_parameter GRAVITATIONAL_PARAMETER "m³/s²", heat_flux HEAT_FLUX "W/m²", heat_load HEAT_LOAD "J/m²",
    }

    /// A count of a unit, `unit` by name or property: `Quantity::of(300.0, "km")`.
    ///
    /// # Errors
    /// An unknown unit, or a value that is not finite.
    pub fn of(count: f64, unit: &str) -> Result<Self, QuantityError> {
        let unit = Unit::find(unit)?;
        Self::new(unit.to_si(count), unit.dimension).finite("convert")
    }

    fn finite(self, operation: &'static str) -> Result<Self, QuantityError> {
        if self.value.is_finite() {
            return Ok(self);
        }
        let result = if self.value.is_nan() { "not a number" } else { "infinite" };
        Err(QuantityError::NotFinite { operation, result })
    }

    fn same(self, other: Self, operation: &'static str) -> Result<(), QuantityError> {
        if self.dimension == other.dimension {
            return Ok(());
        }
        Err(QuantityError::Mismatch { operation, left: self.dimension, right: other.dimension })
    }

    /// Sum.
    ///
    /// # Errors
    /// Another dimension, or a result that is not finite.
    pub fn plus(self, other: Self) -> Result<Self, QuantityError> {
        self.same(other, "add")?;
        Self::new(self.value + other.value, self.dimension).finite("add")
    }

    /// Difference.
    ///
    /// # Errors
    /// Another dimension, or a result that is not finite.
    pub fn minus(self, other: Self) -> Result<Self, QuantityError> {
        self.same(other, "subtract")?;
        Self::new(self.value - other.value, self.dimension).finite("subtract")
    }

    /// Product.
    ///
    /// # Errors
    /// A result that is not finite, or exponents beyond ±63.
    pub fn times(self, other: Self) -> Result<Self, QuantityError> {
        let dimension = self.dimension.times(other.dimension);
        let dimension = dimension.ok_or_else(|| self.exponent("product with a further factor"))?;
        Self::new(self.value * other.value, dimension).finite("multiply")
    }

    /// Quotient.
    ///
    /// # Errors
    /// Division by zero, a result that is not finite, or exponents beyond ±63.
    pub fn over(self, other: Self) -> Result<Self, QuantityError> {
        let dimension = self.dimension.over(other.dimension);
        let dimension = dimension.ok_or_else(|| self.exponent("quotient by a further factor"))?;
        let operation = if other.value == 0.0 { "divide by zero" } else { "divide" };
        Self::new(self.value / other.value, dimension).finite(operation)
    }

    /// The same with the other sign.
    #[must_use]
    pub fn negated(self) -> Self {
        Self::new(-self.value, self.dimension)
    }

    /// Size without sign.
    #[must_use]
    pub fn absolute(self) -> Self {
        Self::new(self.value.abs(), self.dimension)
    }

    /// A whole power.
    ///
    /// # Errors
    /// A result that is not finite, or exponents beyond ±63.
    pub fn power(self, exponent: i32) -> Result<Self, QuantityError> {
        let dimension = self.dimension.power(exponent).ok_or_else(|| self.exponent(&format!("power {exponent}")))?;
        Self::new(self.value.powi(exponent), dimension).finite("raise to a power")
    }

    /// A root: 2 for the square root, 3 for the cube root. Odd roots of negative values are real.
    ///
    /// # Errors
    /// An even root of a negative value, degree 0, or a dimension whose exponents do not divide.
    pub fn root(self, degree: i32) -> Result<Self, QuantityError> {
        let dimension =
            self.dimension.root(degree).ok_or_else(|| self.exponent(&format!("root of degree {degree}")))?;
        let value = match degree {
            0 => f64::NAN,
            2 => self.value.sqrt(),
            3 => self.value.cbrt(),
            _ if degree % 2 != 0 && self.value < 0.0 => -(-self.value).powf(1.0 / f64::from(degree)),
            _ => self.value.powf(1.0 / f64::from(degree)),
        };
        Self::new(value, dimension).finite(if self.value < 0.0 {
            "take an even root of a negative value"
        } else {
            "take a root"
        })
    }

    fn exponent(self, degree: &str) -> QuantityError {
        QuantityError::Exponent { degree: degree.to_owned(), dimension: self.dimension }
    }

    /// Order of two quantities of one dimension.
    ///
    /// # Errors
    /// Another dimension, or a value that is not a number.
    pub fn compare(self, other: Self) -> Result<Ordering, QuantityError> {
        self.same(other, "compare")?;
        let order = self.value.partial_cmp(&other.value);
        order.ok_or(QuantityError::NotFinite { operation: "compare", result: "not a number" })
    }

    /// The SI value, if the dimension is the one expected.
    ///
    /// # Errors
    /// Another dimension.
    pub fn expect_dimension(self, expected: Dimension) -> Result<f64, QuantityError> {
        if self.dimension == expected {
            return Ok(self.value);
        }
        Err(QuantityError::Unexpected { expected, got: self.dimension })
    }

    /// The bare count of a unit: `Quantity::length(300e3).to("km")` is 300. Products of units are read too: `"kg m/s"`.
    ///
    /// # Errors
    /// An unknown unit or one of another dimension.
    pub fn to(self, unit: &str) -> Result<f64, QuantityError> {
        super::parse::from_si(self, unit)
    }

    /// The coherent SI unit of this quantity: "m/s".
    pub fn si_unit(self) -> String {
        self.dimension.si_unit()
    }

    /// From text, a number and a unit: `62 km`, `7.8 km/s`, `-1.5e3 kg m²/s³`, `3.5` (a bare number).
    ///
    /// # Errors
    /// No number, an unknown unit (with the nearest name), or a value that is not finite.
    ///
    /// # Example
    /// ```
    /// # use visviva_engine::quantity::Quantity;
    /// assert_eq!(Quantity::parse("62 km")?, Quantity::length(62e3));
    /// # Ok::<(), visviva_engine::quantity::QuantityError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, QuantityError> {
        super::parse::quantity(text)?.finite("read")
    }

    /// Text in the unit a reader expects, four significant digits or all the digits before the point: `7.784 km/s`.
    pub fn show(self) -> String {
        super::show::show(self)
    }

    /// Text in SI that `parse` reads back to the same bits.
    pub fn exact(self) -> String {
        let unit = self.si_unit();
        let gap = if unit.is_empty() { "" } else { " " };
        format!("{:?}{gap}{unit}", self.value)
    }
}
