//! Which bodies a tour passes, in which order, and how each leg joins two of them.

use crate::system::Body;

/// How a leg is flown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum LegKind {
    /// One arc from body to body.
    Arc,
    /// Back to the same body after whole turns of both: the arc between the two places is open there, and the excess speed, the
    /// period and the angle of the crank say which orbit it is.
    Resonant {
        /// Turns of the body.
        body_turns: u32,
        /// Turns of the craft.
        turns: u32,
    },
    /// A coast, a burn, and an arc to the next body.
    DeepSpace,
}

impl LegKind {
    /// In words.
    pub fn words(self) -> String {
        match self {
            Self::Arc => "arc".to_owned(),
            Self::Resonant { body_turns, turns } => format!("resonant {body_turns}:{turns}"),
            Self::DeepSpace => "arc with a burn".to_owned(),
        }
    }
}

/// Resonances that are tried where a body comes twice in a row: turns of the body, turns of the craft.
///
/// Up to three turns of the body, no common divisor; common practice of such tours, no source.
pub const RESONANCES: [(u32, u32); 7] = [(1, 1), (2, 1), (3, 1), (3, 2), (1, 2), (2, 3), (1, 3)];

/// A sequence of bodies and the kind of each leg between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Itinerary {
    /// In order, both ends included: at least two.
    pub bodies: Vec<Body>,
    /// One fewer than the bodies.
    pub kinds: Vec<LegKind>,
}

impl Itinerary {
    /// Such as `Earth – Venus – Earth (2:1) Earth – Jupiter`.
    pub fn words(&self) -> String {
        use std::fmt::Write as _;
        let mut text = self.bodies.first().map_or_else(String::new, |body| body.name().to_owned());
        for (body, kind) in self.bodies.iter().skip(1).zip(&self.kinds) {
            match kind {
                LegKind::Resonant { body_turns, turns } => {
                    let _ = write!(text, " ({body_turns}:{turns}) ");
                }
                _ => text.push_str(" – "),
            }
            text.push_str(body.name());
        }
        text
    }
}
