//! What can be wrong with a vehicle.

use crate::system::SystemError;

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
    /// A change of one figure of a vehicle of several stages, without the stage's name.
    #[error("`{name}` has {stages} stages; a change of dry mass, propellant, impulse or thrust must name one")]
    SeveralStages {
        /// Name of the vehicle.
        name: String,
        /// How many stages it has.
        stages: usize,
    },
    /// A stage that should burn and has no engine.
    #[error("stage `{stage}` has no engine")]
    NoEngine {
        /// Name of the stage.
        stage: String,
    },
    /// A thrust that must be known and is not.
    #[error("the thrust of `{stage}` is not known; what burns beside something else, or in air, needs one")]
    NoThrust {
        /// Name of the stage or engine.
        stage: String,
    },
    /// A specific impulse in air above that in vacuum.
    #[error(
        "the specific impulse of `{engine}` is {in_air_s} s in air and {in_vacuum_s} s in vacuum; in air it cannot be greater"
    )]
    MoreInAir {
        /// Name of the engine.
        engine: String,
        /// s.
        in_air_s: f64,
        /// s.
        in_vacuum_s: f64,
    },
    /// A throttle range that is none.
    #[error("the throttle of `{engine}` goes from {least} to {greatest}; it must rise, from above 0 to 1.2 at most")]
    BadThrottle {
        /// Name of the engine or stage.
        engine: String,
        /// Share of the thrust.
        least: f64,
        /// Share of the thrust.
        greatest: f64,
    },
    /// A stage that should burn at a share of the thrust that its engine cannot be set to.
    #[error("stage `{stage}` burns at {share} of its thrust; engine `{engine}` goes from {least} to {greatest}")]
    ThrottleRange {
        /// Name of the stage.
        stage: String,
        /// Share of the thrust.
        share: f64,
        /// Name of the engine.
        engine: String,
        /// Share of the thrust.
        least: f64,
        /// Share of the thrust.
        greatest: f64,
    },
    /// Stages that feed each other in a ring.
    #[error("these stages feed each other in a loop: {}", .stages.join(", "))]
    FeedLoop {
        /// Their names, in the order of feeding.
        stages: Vec<String>,
    },
    /// A name that two parts share.
    #[error("two parts of `{vehicle}` are called `{name}`")]
    DuplicateName {
        /// Name of the vehicle.
        vehicle: String,
        /// The name.
        name: String,
    },
    /// A stage, part or craft that the vehicle does not have.
    #[error("`{vehicle}` has no {what} `{name}`")]
    NoSuchPart {
        /// Name of the vehicle.
        vehicle: String,
        /// What was asked for, such as `stage`.
        what: &'static str,
        /// The name asked for.
        name: String,
        /// The nearest name that there is.
        nearest: Option<String>,
    },
    /// A stage that stands beside one that leaves earlier.
    #[error("stage `{stage}` stands beside `{other}` and must be listed before it: it leaves first")]
    BesideEarlier {
        /// Name of the stage.
        stage: String,
        /// The stage that it stands beside.
        other: String,
    },
    /// A stage that feeds engines which burn something else.
    #[error("stage `{stage}` holds {held} and cannot feed `{other}`, whose engines burn {burned}")]
    OtherPropellant {
        /// Name of the stage.
        stage: String,
        /// What it holds.
        held: String,
        /// The stage that it feeds.
        other: String,
        /// What that one's engines burn.
        burned: String,
    },
    /// The last stage cannot be taken off.
    #[error("`{name}` is the last stage of `{vehicle}` and cannot leave it")]
    LastStage {
        /// Name of the vehicle.
        vehicle: String,
        /// Name of the stage.
        name: String,
    },
    /// An engine that was lit as often as it can be.
    #[error(
        "engine `{engine}` of stage `{stage}` was lit {ignitions} times: it can be lit {ignitions} times and no more"
    )]
    NoIgnition {
        /// Name of the stage.
        stage: String,
        /// Name of the engine.
        engine: String,
        /// How often it can be lit.
        ignitions: u32,
    },
    /// So many engines cannot fail.
    #[error("stage `{stage}` has {there} such engines: {out} out leaves none to burn, or takes none out")]
    EnginesOut {
        /// Name of the stage.
        stage: String,
        /// How many there are.
        there: u32,
        /// How many were to fail.
        out: u32,
    },
    /// A part without a mass of its own cannot be thrown off.
    #[error("`{part}` has no mass of its own: it is part of the dry mass and stays on")]
    StaysOn {
        /// Name of the part.
        part: String,
    },
    /// A vehicle too heavy for its thrust on the pad.
    #[error(
        "`{vehicle}` does not rise from {body}: stage `{stage}` gives {thrust_n:.0} N against a weight of {weight_n:.0} N, a ratio of {ratio:.3}"
    )]
    TooHeavy {
        /// Name of the vehicle.
        vehicle: String,
        /// The stage that burns first.
        stage: String,
        /// On whose ground it stands.
        body: String,
        /// Thrust at the pressure of the ground, N.
        thrust_n: f64,
        /// Weight, N.
        weight_n: f64,
        /// Thrust over weight.
        ratio: f64,
    },
    /// Propellant below a reserve's floor.
    #[error(
        "leg `{leg}` needs {needed_m_s:.3} m/s; above the reserve `{reserve}` the vehicle is good for {left_m_s:.3} m/s"
    )]
    Reserved {
        /// Name of the leg.
        leg: String,
        /// Name of the reserve.
        reserve: String,
        /// Change of speed asked for, m/s.
        needed_m_s: f64,
        /// Change of speed left above all floors, m/s.
        left_m_s: f64,
    },
    /// A leg that cannot be paid.
    #[error("leg `{leg}`: {source}")]
    Leg {
        /// Name of the leg.
        leg: String,
        /// Why.
        source: Box<VehicleError>,
    },
    /// A figure that sizing cannot work with.
    #[error("{what} is {value}; it must be {needs}")]
    BadSizing {
        /// Which figure.
        what: &'static str,
        /// The figure, SI.
        value: f64,
        /// What it must be.
        needs: &'static str,
    },
    /// More change of speed than the structure of the stages allows at any mass.
    #[error("{wanted_m_s:.3} m/s are beyond what these stages reach at any mass, {limit_m_s:.3} m/s")]
    BeyondStructure {
        /// m/s.
        wanted_m_s: f64,
        /// m/s.
        limit_m_s: f64,
    },
    /// The run was told to stop.
    #[error("interrupted")]
    Interrupted,
    /// A vehicle that is not built in.
    #[error("there is no vehicle `{name}`")]
    UnknownVehicle {
        /// Name asked for.
        name: String,
        /// The nearest name that there is.
        nearest: Option<String>,
    },
    /// A mistake in the text of a vehicle file; the first number says in which of the texts.
    #[error("{error}")]
    File {
        /// Which of the texts, from 0.
        file: usize,
        /// What is wrong and where.
        error: SystemError,
    },
}
