//! Flight through air: ascent to orbit.

pub mod ascent;
