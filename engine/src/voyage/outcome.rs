//! How a voyage stands.

use crate::time::Epoch;
use crate::vector::Vec3;

/// How a voyage stands.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It can go on.
    UnderWay,
    /// It was finished, and has not flown on since.
    Home {
        /// When.
        epoch: Epoch,
    },
    /// It was lost.
    Lost(Loss),
    /// It was joined to another voyage, which carries it from then on.
    Joined {
        /// When.
        epoch: Epoch,
        /// Name of the other voyage.
        to: String,
    },
}

/// What happened to a lost voyage, when and where, which limit was passed and by how much.
#[derive(Debug, Clone, PartialEq)]
pub struct Loss {
    /// What happened, such as `struck the ground of Mars`.
    pub what: String,
    /// When.
    pub epoch: Epoch,
    /// Name of the body.
    pub body: String,
    /// Place from the body's centre, m, inertial.
    pub place: Vec3,
    /// Speed there, m/s.
    pub speed: f64,
    /// The limit that was passed: the equatorial radius, m.
    pub limit: f64,
    /// What the orbit would have needed to stay clear: periapsis radius less the limit, m, below zero.
    pub margin: f64,
}

impl Outcome {
    /// The word a script reads: `under way`, `home`, `lost` or `joined`.
    pub fn name(&self) -> &'static str {
        match self {
            Outcome::UnderWay => "under way",
            Outcome::Home { .. } => "home",
            Outcome::Lost(_) => "lost",
            Outcome::Joined { .. } => "joined",
        }
    }

    /// Why it has ended, in a sentence; `None` while it has not.
    pub fn why(&self) -> Option<String> {
        match self {
            Outcome::Lost(loss) => Some(loss.sentence()),
            Outcome::Joined { epoch, to } => Some(format!("joined to {to} at {epoch}")),
            Outcome::UnderWay | Outcome::Home { .. } => None,
        }
    }
}

impl Loss {
    /// What happened, when, where, the limit and the margin, in a sentence.
    pub fn sentence(&self) -> String {
        format!(
            "{} at {}, at {:.3} km/s; the limit is a radius of {:.3} km, the orbit's periapsis is {:.3} km below it",
            self.what,
            self.epoch,
            self.speed / 1e3,
            self.limit / 1e3,
            -self.margin / 1e3
        )
    }
}
