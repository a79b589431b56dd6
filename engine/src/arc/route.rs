//! The way between two bodies in the tree: up to the body both circle, and down again.

use super::plan_error::PlanError;
use crate::system::Body;

/// Chains of bodies between two ends and the body about which the central arc runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// The nearest body that is an ancestor of both ends, or one of the ends itself.
    pub about: Body,
    /// From the child of `about` down to the departure body; empty when the departure is from an orbit about `about`.
    pub down_to_start: Vec<Body>,
    /// From the child of `about` down to the arrival body; empty when the arrival is into an orbit about `about`.
    pub down_to_goal: Vec<Body>,
}

impl Route {
    /// The way from one body to another of the same system.
    ///
    /// # Errors
    /// The same body twice; bodies of different systems.
    pub fn between(from: &Body, to: &Body) -> Result<Self, PlanError> {
        if from == to {
            return Err(PlanError::SameBody { name: from.name().to_string() });
        }
        let (up_from, up_to) = (line(from), line(to));
        let about = up_from.iter().find(|body| up_to.contains(body)).cloned();
        let Some(about) = about else {
            return Err(PlanError::Unrelated { from: from.name().to_string(), to: to.name().to_string() });
        };
        let below = |up: Vec<Body>| {
            let mut chain: Vec<Body> = up.into_iter().take_while(|body| *body != about).collect();
            chain.reverse();
            chain
        };
        Ok(Self { down_to_start: below(up_from), down_to_goal: below(up_to), about })
    }
}

/// A body and its ancestors, nearest first.
fn line(body: &Body) -> Vec<Body> {
    let mut line = vec![body.clone()];
    let mut at = body.parent();
    while let Some(parent) = at {
        at = parent.parent();
        line.push(parent);
    }
    line
}
