//! Lambert's problem, transfers, windows, approach, flyby.
