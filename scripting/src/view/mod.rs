//! Views: what a run answered, as tables, text and pictures. A view is given numbers and draws them; it computes no mechanics.

pub mod calendar;
pub mod canvas;
pub mod chart;
pub mod lettering;
pub mod plan;
#[cfg(feature = "png")]
pub mod png;
pub mod profile;
pub mod scale;
pub mod svg;
