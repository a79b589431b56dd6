//! The craft: masses, engines, stages.
