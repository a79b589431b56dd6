//! Orbital mechanics: conics, transfers, voyages and the laws that audit them.
//!
//! Eight floors, each standing on those above it in this list (docs/architecture.md). SI inside: metres, seconds,
//! kilograms, radians. No interpreter, no file, no terminal, no clock, no unseeded random number.

// 1
pub mod constants;
pub mod frame;
pub mod numerics;
pub mod quantity;
pub mod time;
pub mod vector;
// 2
pub mod conic;
// 3
pub mod ephemeris;
pub mod system;
// 4
pub mod motion;
pub mod orbit;
// 5
pub mod arc;
pub mod burn;
// 6
pub mod air_flight;
pub mod sea_flight;
pub mod vehicle;
// 7
pub mod audit;
// 8
pub mod voyage;
