//! Where a body is: fixed conic, mean elements with rates, Chebyshev pack.
//!
//! Everything hangs on [`Body`](crate::system::Body): `state`, `state_about`, `state_about_barycentre`, the bounds of its
//! motion, and where its places come from and how good they are.

mod bounds;
mod error;
mod pack;
mod place;
mod sun;

pub use error::EphemerisError;
