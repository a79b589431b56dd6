//! The language in which a mission is written, and the views of what it answers.

pub mod view;
