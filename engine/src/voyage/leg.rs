//! One leg of a voyage: what a verb did.

use super::{FlownPath, Separated};
use crate::audit::Entry;
use crate::conic::State;
use crate::motion::Patch;
use crate::orbit::Orbit;
use crate::system::{Body, Site};
use crate::time::Epoch;
use crate::vector::Vec3;

/// Part of a coast on one conic.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The conic at the start of the piece: body, epoch, state.
    pub orbit: Orbit,
    /// When the piece ends.
    pub end: Epoch,
    /// The state then, about the same body, m and m/s.
    pub end_state: State,
    /// The patch that the piece begins with; `None` where it goes on from the piece before.
    pub patch: Option<Patch>,
}

impl Piece {
    /// The body that the piece is about.
    pub fn body(&self) -> &Body {
        self.orbit.body()
    }

    /// Its length, s.
    pub fn duration(&self) -> f64 {
        self.end.seconds_since(self.orbit.epoch())
    }
}

/// What kind of leg it is.
#[derive(Debug, Clone, PartialEq)]
pub enum LegKind {
    /// A coast, piece by piece.
    Coast {
        /// At least one; each begins when and where the one before it ends, but for its patch.
        pieces: Vec<Piece>,
    },
    /// An impulsive burn.
    Burn {
        /// The orbit before it: body, epoch, state.
        before: Orbit,
        /// The orbit after it.
        after: Orbit,
        /// Change of velocity, m/s, inertial.
        dv: Vec3,
        /// Stages that ran dry in it and were left behind, with the part of the change of velocity that was given by then.
        left: Vec<Separated>,
    },
    /// Something came off or came on, without propellant.
    Separation {
        /// The orbit before it: body, epoch, state.
        before: Orbit,
        /// The orbit after it.
        after: Orbit,
        /// Change of velocity by springs, m/s, inertial.
        dv: Vec3,
        /// What came off; `None` on the record of what came off itself, and where something came on.
        part: Option<Box<Separated>>,
    },
    /// A flight under thrust or in air.
    Flown(Box<FlownPath>),
    /// A wait on the ground or afloat, turning with the body.
    Stay {
        /// Where.
        site: Site,
        /// Body, epoch and state at its start.
        before: Orbit,
        /// The same at its end.
        after: Orbit,
    },
}

/// One leg: what a verb did, with its row of the ledger and its part of the audit.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// What a reader calls it, such as `coast to periapsis` or the label of a burn.
    pub name: String,
    /// What was done.
    pub kind: LegKind,
    /// When it began.
    pub start: Epoch,
    /// When it ended.
    pub end: Epoch,
    /// Change of speed spent, m/s.
    pub dv: f64,
    /// What the plan had estimated for it, m/s, where it was shot in the model.
    pub dv_estimate: Option<f64>,
    /// Propellant spent, kg.
    pub propellant: f64,
    /// Mass after the leg, kg.
    pub mass: f64,
    /// Its part of the audit.
    pub audit: Vec<Entry>,
}

impl Leg {
    /// The conic pieces of a coast; none for other legs.
    pub fn pieces(&self) -> &[Piece] {
        match &self.kind {
            LegKind::Coast { pieces } => pieces,
            LegKind::Burn { .. } | LegKind::Separation { .. } | LegKind::Flown(_) | LegKind::Stay { .. } => &[],
        }
    }

    /// What came off in it.
    pub fn separated(&self) -> Vec<&Separated> {
        match &self.kind {
            LegKind::Separation { part, .. } => part.as_deref().into_iter().collect(),
            LegKind::Burn { left, .. } => left.iter().collect(),
            LegKind::Flown(path) => path.left().iter().collect(),
            LegKind::Coast { .. } | LegKind::Stay { .. } => Vec::new(),
        }
    }

    /// What a reader calls its kind.
    pub fn kind_name(&self) -> &'static str {
        match &self.kind {
            LegKind::Coast { .. } => "coast",
            LegKind::Burn { .. } => "burn",
            LegKind::Separation { .. } => "separation",
            LegKind::Flown(_) => "flight",
            LegKind::Stay { .. } => "wait",
        }
    }

    /// The bodies that it was about, in turn.
    pub fn bodies(&self) -> Vec<&Body> {
        match &self.kind {
            LegKind::Coast { pieces } => pieces.iter().map(Piece::body).collect(),
            LegKind::Burn { before, .. } | LegKind::Separation { before, .. } => vec![before.body()],
            LegKind::Flown(path) => vec![path.body()],
            LegKind::Stay { site, .. } => vec![site.body()],
        }
    }

    /// Bytes of memory that the record of it holds.
    pub fn memory(&self) -> usize {
        let kind = match &self.kind {
            LegKind::Coast { pieces } => pieces.capacity() * size_of::<Piece>(),
            LegKind::Burn { .. } | LegKind::Stay { .. } => 0,
            LegKind::Separation { part, .. } => part.as_ref().map_or(0, |_| size_of::<Separated>()),
            LegKind::Flown(path) => path.memory(),
        };
        let entries = self.audit.iter().map(|entry| size_of::<Entry>() + entry.leg.capacity() + entry.note.capacity());
        size_of::<Self>() + self.name.capacity() + kind + entries.sum::<usize>()
    }
}

/// A row of the ledger.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// Name of the leg.
    pub leg: String,
    /// When it began.
    pub start: Epoch,
    /// When it ended.
    pub end: Epoch,
    /// s.
    pub time: f64,
    /// Change of speed spent, m/s.
    pub dv: f64,
    /// What the plan had estimated, m/s.
    pub dv_estimate: Option<f64>,
    /// Propellant spent, kg.
    pub propellant: f64,
    /// Mass after the leg, kg.
    pub mass: f64,
}

/// The ledger: a row for each leg, and the sums.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ledger {
    /// In the order of flying.
    pub rows: Vec<Row>,
    /// Change of speed spent in all, m/s.
    pub dv: f64,
    /// Propellant spent in all, kg.
    pub propellant: f64,
    /// Time from start to now, s.
    pub time: f64,
}

impl Ledger {
    /// The ledger of some legs, oldest first.
    pub(super) fn of<'a>(legs: impl Iterator<Item = &'a Leg>) -> Ledger {
        let rows: Vec<Row> = legs
            .map(|leg| Row {
                leg: leg.name.clone(),
                start: leg.start,
                end: leg.end,
                time: leg.end.seconds_since(leg.start),
                dv: leg.dv,
                dv_estimate: leg.dv_estimate,
                propellant: leg.propellant,
                mass: leg.mass,
            })
            .collect();
        let time = match (rows.first(), rows.last()) {
            (Some(first), Some(last)) => last.end.seconds_since(first.start),
            _ => 0.0,
        };
        Ledger {
            dv: rows.iter().map(|row| row.dv).sum(),
            propellant: rows.iter().map(|row| row.propellant).sum(),
            time,
            rows,
        }
    }
}
