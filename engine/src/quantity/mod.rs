//! Quantities with their dimension: the one place where units exist.
//!
//! A `Quantity` is an SI number with its dimension; text and property names of units enter through `parse` and the unit
//! table, and leave through `show` (for a reader) and `exact` (for a machine).

mod dimension;
mod error;
mod parse;
mod show;
mod unit;
mod value;

pub use dimension::Dimension;
pub use error::QuantityError;
pub use unit::{Unit, units};
pub use value::Quantity;
