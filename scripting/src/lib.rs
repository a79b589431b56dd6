//! The language in which a mission is written, and the views of what it answers.
//!
//! Everything goes through [`session::Session`]: source in, outcome or diagnostic out.

pub mod api;
pub mod ceiling;
pub mod checks;
pub mod command;
pub mod diagnostic;
pub mod modules;
pub mod reference;
pub mod repl;
pub mod run_state;
pub mod sandbox;
pub mod session;
pub mod view;
