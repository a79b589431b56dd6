//! What can be wrong with a vehicle.

/// Why a vehicle cannot be built, or cannot do what is asked of it.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum VehicleError {
    /// A mass, specific impulse or thrust that is no positive number.
    #[error("{what} of `{stage}` must be above zero, got {value}")]
    NotPositive {
        /// Name of the stage.
        stage: String,
        /// Which figure, such as `dry mass`.
        what: &'static str,
        /// The figure, SI.
        value: f64,
    },
    /// Propellant below zero, or no number.
    #[error("propellant of `{stage}` must be zero or more, got {value_kg} kg")]
    NegativePropellant {
        /// Name of the stage.
        stage: String,
        /// kg.
        value_kg: f64,
    },
    /// A vehicle without a stage.
    #[error("vehicle `{name}` has no stage")]
    NoStage {
        /// Name of the vehicle.
        name: String,
    },
    /// A burn that asks for no finite change of speed.
    #[error("a burn needs a finite size of zero or more, got {size_m_s} m/s")]
    BadBurn {
        /// m/s.
        size_m_s: f64,
    },
    /// A burn beyond the propellant.
    #[error(
        "a burn of {needed_m_s:.3} m/s needs {needed_kg:.3} kg of propellant; {left_kg:.3} kg is left, good for {left_m_s:.3} m/s"
    )]
    NotEnough {
        /// Change of speed asked for, m/s.
        needed_m_s: f64,
        /// Change of speed left, m/s.
        left_m_s: f64,
        /// Propellant that the burn would take at the last stage's exhaust speed, kg.
        needed_kg: f64,
        /// Propellant left, kg.
        left_kg: f64,
    },
    /// A change that names one figure of a vehicle of several stages.
    #[error("`{name}` has {stages} stages; a change of dry mass, propellant, impulse or thrust needs a vehicle of one")]
    SeveralStages {
        /// Name of the vehicle.
        name: String,
        /// How many stages it has.
        stages: usize,
    },
}
