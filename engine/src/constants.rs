//! Constants of nature and of convention, each with its source.

/// Astronomical unit, m. Exact by definition. [IAU2012B2]
pub const ASTRONOMICAL_UNIT: f64 = 149_597_870_700.0;

/// Standard acceleration of gravity, m/s². Exact by definition. [CGPM1901]
pub const STANDARD_GRAVITY: f64 = 9.806_65;

/// Newtonian constant of gravitation, m³/(kg s²). Relative uncertainty 2.2e-5; only for turning a gravitational
/// parameter into a mass. [CODATA2018]
pub const GRAVITATION: f64 = 6.674_30e-11;

/// Speed of light in vacuum, m/s. Exact by definition. [CGPM1983]
pub const SPEED_OF_LIGHT: f64 = 299_792_458.0;

/// Day, s. Exact by convention. [SI2019]
pub const DAY: f64 = 86_400.0;

/// Julian year, s. Exact by convention: 365.25 days. [IAU1976]
pub const JULIAN_YEAR: f64 = 31_557_600.0;

/// Obliquity of the ecliptic at J2000, rad: 84 381.448 arcseconds, the "ecliptic J2000" of the ephemeris tables. [IAU1976]
pub const OBLIQUITY_J2000: f64 = 84_381.448 / 3600.0 * (std::f64::consts::PI / 180.0);
