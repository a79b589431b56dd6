//! Why an integration ended before its time.

/// Why an integration ended before its time.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum IntegrationError {
    /// A start, an end or a force that is no finite number, or an end before the start.
    #[error("the motion is no finite number after {time} s")]
    NotFinite {
        /// When, s.
        time: f64,
    },
    /// The step shrinks without end: the force is not smooth there, or tends to infinity.
    #[error("the motion cannot be followed beyond {time} s: the force is not smooth there")]
    Vanishing {
        /// When, s.
        time: f64,
    },
    /// More steps than allowed.
    #[error("{steps} steps are not enough to fly beyond {time} s")]
    TooManySteps {
        /// How many were taken.
        steps: usize,
        /// When, s.
        time: f64,
    },
    /// The user interrupted.
    #[error("interrupted")]
    Interrupted,
}
