//! Why a chain of arcs cannot be flown.

use crate::arc::flyby::FlybyError;
use crate::arc::lambert::LambertError;
use crate::conic::ConicError;

/// Which part of a chain has no answer. Legs and passes count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ChainError {
    /// Lists that do not fit together.
    #[error("the chain needs {wanted} {what}, got {given}")]
    Count {
        /// What is counted.
        what: &'static str,
        /// As many as the stops ask for.
        wanted: usize,
        /// As given.
        given: usize,
    },
    /// No arc on a leg.
    #[error("leg {leg}: {why}")]
    Arc {
        /// From 1.
        leg: usize,
        /// What is wrong.
        why: LambertError,
    },
    /// No coast on a leg.
    #[error("leg {leg}, before its burn: {why}")]
    Coast {
        /// From 1.
        leg: usize,
        /// What is wrong.
        why: ConicError,
    },
    /// No hyperbola at a pass.
    #[error("pass {pass}: {why}")]
    Pass {
        /// From 1.
        pass: usize,
        /// What is wrong.
        why: FlybyError,
    },
    /// A share of a leg that leaves no time on one side of its burn.
    #[error("leg {leg}: the burn must come after 0 and before all of the leg's time, got a share of {share}")]
    Share {
        /// From 1.
        leg: usize,
        /// As given.
        share: f64,
    },
    /// Slopes beyond what a number can hold.
    #[error("leg {leg}: its burn and its arrival change without bound there")]
    Slopes {
        /// From 1.
        leg: usize,
    },
}
