//! Conics: a gravitational parameter and a state, no body.
//!
//! Everything here is the two-body problem in closed form, for every conic from the circle to the straight line:
//! [`State`] and [`Elements`] and the way between them, Kepler's equation ([`anomaly`]), the flight of a state through a
//! time ([`propagate()`]), the times of places on the way ([`timing`]), what is conserved ([`invariants`]), and the
//! asymptotes of a hyperbola ([`hyperbola`]).

pub mod anomaly;
mod elements;
mod error;
mod flight;
pub mod hyperbola;
pub mod invariants;
mod kepler;
mod propagate;
mod propagate_batch;
mod state;
pub mod timing;
mod transition;
mod universal;

pub use elements::Elements;
pub use error::ConicError;
pub use invariants::{angular_momentum, eccentricity_vector, energy};
pub use propagate::propagate;
pub use propagate_batch::{propagate_batch, propagate_batch_at, propagate_columns, propagate_columns_at};
pub use state::State;
pub use timing::{Passage, time_from_periapsis, time_since_periapsis, time_to_radius, time_to_true_anomaly};
pub use transition::{Transition, transition};
