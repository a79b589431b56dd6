//! What the tests of this package share: the reader of reference tables, and the table of checks that comes of them.
//!
//! A module under `tests/reference/` offers `pub fn table() -> Table`; `tests/reference/main.rs` collects the tables,
//! prints them and fails if a row is out of its bound. Adding a row to a data file adds a check.

mod csv;
mod table;

pub use csv::{Record, read_csv, read_toml, reference_path};
pub use table::{Row, Table};

#[path = "../fuzz/mod.rs"]
pub mod fuzz;
