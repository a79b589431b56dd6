//! Views: what a run answered, as tables, text and pictures. A view is given numbers and draws them; it computes no mechanics.

pub mod plan;
pub mod svg;
