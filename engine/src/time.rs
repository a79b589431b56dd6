//! Epochs and time scales.
