//! Conics: a gravitational parameter and a state, no body.
