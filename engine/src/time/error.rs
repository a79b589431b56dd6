//! What can go wrong with epochs, with what to write instead.

/// A refused epoch.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TimeError {
    /// No time scale at the end of the text.
    #[error("`{text}` has no time scale; write `{text} TDB` (or UTC, TAI, TT)")]
    NoScale {
        /// As it was written.
        text: String,
    },
    /// A scale that is not known.
    #[error("unknown time scale `{scale}`; write UTC, TAI, TT or TDB")]
    UnknownScale {
        /// As it was written.
        scale: String,
    },
    /// Not a date and time.
    #[error("`{text}` is not an epoch; write it as `2031-03-12T04:00:00 TDB`")]
    NotAnEpoch {
        /// As it was written.
        text: String,
    },
    /// A month, day, hour, minute or second that does not exist.
    #[error("{part} {value} does not exist in `{text}`; it runs from {least} to {most}")]
    NoSuchPart {
        /// "month", "day", "hour", "minute", "second".
        part: &'static str,
        /// As it was written.
        value: u32,
        /// The first that exists.
        least: u32,
        /// The last that exists here.
        most: u32,
        /// The whole text.
        text: String,
    },
    /// More than nine digits of a second.
    #[error("`{text}` is finer than a nanosecond; write at most nine digits after the point")]
    TooFine {
        /// As it was written.
        text: String,
    },
    /// A UTC second that was skipped, or UTC before it began.
    #[error("`{text}`: there is no UTC before 1960; write it in TT or TAI")]
    BeforeUtc {
        /// As it was written.
        text: String,
    },
    /// A part of a second that a backward step of UTC left out.
    #[error("`{text}` was left out when UTC was stepped at the end of that day; write it in TAI")]
    SkippedByUtc {
        /// As it was written.
        text: String,
    },
    /// Outside of the years −9999 to 9999.
    #[error("the epoch lies outside of the years -9999 to 9999")]
    OutOfRange,
    /// A number of seconds or days that is not finite.
    #[error("an epoch needs a finite number of {unit}")]
    NotFinite {
        /// "seconds", "days".
        unit: &'static str,
    },
}
