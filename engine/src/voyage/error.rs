//! Why a verb of a voyage is refused. The voyage is then as it was.

use crate::air_flight::ascent::AscentError;
use crate::arc::shoot::ShootError;
use crate::burn::BurnError;
use crate::burn::finite::FiniteError;
use crate::conic::ConicError;
use crate::ephemeris::EphemerisError;
use crate::motion::MotionError;
use crate::orbit::OrbitError;
use crate::time::{Epoch, TimeError};
use crate::vehicle::VehicleError;

/// Why a verb of a voyage is refused; the voyage is left as it was.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum VoyageError {
    /// The voyage is lost: it has ended.
    #[error("the voyage is lost: {why}")]
    Lost {
        /// When it was lost.
        when: Epoch,
        /// What happened, with its date.
        why: String,
    },
    /// The orbit that a voyage is to start on is under the surface of its body.
    #[error("the start is {depth_m:.0} m under the surface of {body}")]
    UnderTheSurface {
        /// Name of the body.
        body: String,
        /// m below the equatorial radius.
        depth_m: f64,
    },
    /// An epoch before the voyage's own.
    #[error("{asked} is past: the voyage is at {now}")]
    Past {
        /// The epoch asked for.
        asked: Epoch,
        /// The voyage's epoch.
        now: Epoch,
    },
    /// A negative or not finite time to coast.
    #[error("cannot coast for {seconds} s: a finite time of zero or more is needed")]
    BadTime {
        /// s.
        seconds: f64,
    },
    /// An epoch outside the voyage's record.
    #[error("{asked} is outside the record of the voyage, {start} to {end}")]
    OutsideTheRecord {
        /// The epoch asked for.
        asked: Epoch,
        /// Start of the voyage.
        start: Epoch,
        /// Where the voyage is now.
        end: Epoch,
    },
    /// The event does not come.
    #[error("no {goal} within {within_days:.3} days of {now}")]
    NoEvent {
        /// What was waited for.
        goal: String,
        /// How long, days.
        within_days: f64,
        /// From when.
        now: Epoch,
    },
    /// An event that cannot come, with the reason.
    #[error("{goal} cannot come: {why}")]
    Impossible {
        /// What was waited for.
        goal: String,
        /// Why it cannot come.
        why: String,
    },
    /// A closure's value is no number, or has no root where its sign changes.
    #[error("the watched quantity is no number at {epoch}")]
    NotANumber {
        /// When.
        epoch: Epoch,
    },
    /// A burn planned for another orbit.
    #[error("`{burn}` was planned for another orbit: at {epoch} the craft is {:.3} km and {off_m_s:.3} m/s off it", .off_m / 1e3)]
    NotAsPlanned {
        /// Label of the burn.
        burn: String,
        /// Epoch of the burn.
        epoch: Epoch,
        /// Distance from the planned place, m.
        off_m: f64,
        /// Difference to the planned velocity, m/s.
        off_m_s: f64,
    },
    /// A burn planned about another body.
    #[error("`{burn}` was planned about {planned}; at {epoch} the craft is about {actual}")]
    OtherBody {
        /// Label of the burn.
        burn: String,
        /// Where it was planned.
        planned: String,
        /// Where the craft is.
        actual: String,
        /// Epoch of the burn.
        epoch: Epoch,
    },
    /// A burn with thrust that would have to begin before now.
    #[error("`{burn}` would have to be lit {early_s:.1} s before now, {now}")]
    IgnitionPast {
        /// Name of the burn.
        burn: String,
        /// s.
        early_s: f64,
        /// The voyage's epoch.
        now: Epoch,
    },
    /// A share of the thrust that the engines cannot be set to.
    #[error("the engines of `{stage}` cannot burn at {asked} of their thrust")]
    Throttle {
        /// Name of the stage.
        stage: String,
        /// The share asked for.
        asked: f64,
    },
    /// A craft on a straight line through the centre has no horizon to circularise to.
    #[error("the craft moves straight along its radius: there is no plane to circularise in")]
    NoPlane,
    /// A body or voyage of another system.
    #[error("`{a}` and `{b}` are in different systems")]
    OtherSystem {
        /// One.
        a: String,
        /// The other.
        b: String,
    },
    /// A verb that does not fit the place where the voyage is.
    #[error("no `{verb}` {place}: it needs {needs}")]
    WrongPlace {
        /// The verb.
        verb: &'static str,
        /// Where the voyage is, with the body: `on the ground of Mars`.
        place: String,
        /// What the verb needs.
        needs: &'static str,
    },
    /// A voyage that has flown nowhere under thrust or in air.
    #[error("the voyage has no flight under thrust or in air")]
    NoFlight,
    /// A flight without a step.
    #[error("`{leg}` did not fly: it has no length")]
    NothingFlown {
        /// Name of the leg.
        leg: String,
    },
    /// Two things in one place: no angle there.
    #[error("no angle: `{at}` coincides with `{other}`")]
    NoAngle {
        /// The vertex.
        at: String,
        /// What coincides with it.
        other: String,
    },
    /// Track options outside their range.
    #[error("{what} must be above zero, got {value}")]
    BadTrack {
        /// Which option.
        what: &'static str,
        /// Its value, SI.
        value: f64,
    },
    /// A track of too many points.
    #[error("the track would need more than {most} points; ask for a count, a step or a larger error")]
    TooManyPoints {
        /// The ceiling.
        most: usize,
    },
    /// The voyage was joined to another one: it has ended.
    #[error("the voyage was joined to `{to}` at {when}")]
    Joined {
        /// The other voyage.
        to: String,
        /// When.
        when: Epoch,
    },
    /// Two craft about two bodies.
    #[error("one is about {a}, the other about {b}")]
    NotTogether {
        /// Body of the first.
        a: String,
        /// Body of the second.
        b: String,
    },
    /// Craft too far apart, or too fast, to join.
    #[error(
        "`{other}` is {:.3} km away at {speed_m_s:.3} m/s; joining is for at most {:.3} km and {most_m_s:.3} m/s",
        .distance_m / 1e3, .most_m / 1e3
    )]
    TooFar {
        /// The other voyage.
        other: String,
        /// m.
        distance_m: f64,
        /// m/s.
        speed_m_s: f64,
        /// m.
        most_m: f64,
        /// m/s.
        most_m_s: f64,
    },
    /// A time of so many revolutions that a search would not end.
    #[error("so long a time is not searched here: {most_days:.1} days at most")]
    TooLong {
        /// Days.
        most_days: f64,
    },
    /// A verb for another sort of thing.
    #[error("`{name}` is {sort}: it is not {manner}")]
    OtherSort {
        /// What was named.
        name: String,
        /// What that is, with its article.
        sort: &'static str,
        /// How it was to come off, such as `jettisoned`.
        manner: &'static str,
        /// The verb that fits.
        verb: &'static str,
    },
    /// A separation speed that is no number, or beyond what springs and charges give.
    #[error("parts come off with {most_m_s:.0} m/s at most, got {speed_m_s} m/s")]
    SeparationSpeed {
        /// As given, m/s.
        speed_m_s: f64,
        /// m/s.
        most_m_s: f64,
    },
    /// The run was told to stop.
    #[error("interrupted")]
    Interrupted,
    /// The vehicle cannot.
    #[error(transparent)]
    Vehicle(#[from] VehicleError),
    /// The ascent cannot.
    #[error(transparent)]
    Ascent(#[from] AscentError),
    /// The model cannot.
    #[error(transparent)]
    Motion(#[from] MotionError),
    /// The orbit cannot.
    #[error(transparent)]
    Orbit(#[from] OrbitError),
    /// The conic cannot.
    #[error(transparent)]
    Conic(#[from] ConicError),
    /// A body's place is not known there.
    #[error(transparent)]
    Ephemeris(#[from] EphemerisError),
    /// There is no such epoch.
    #[error(transparent)]
    Time(#[from] TimeError),
    /// The burn cannot.
    #[error(transparent)]
    Burn(#[from] BurnError),
    /// The burn cannot be flown with thrust.
    #[error(transparent)]
    Finite(#[from] FiniteError),
    /// The aim was not met.
    #[error(transparent)]
    Shoot(#[from] ShootError),
}
