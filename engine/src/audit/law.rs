//! The laws by name, with the dimension of their residuals.

use crate::quantity::Dimension;

/// A law that a leg is held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Law {
    /// Specific energy v²/2 − gm/r is the same all along a coast.
    Energy,
    /// Specific angular momentum r × v is the same all along a coast.
    AngularMomentum,
    /// The eccentricity vector is the same all along a coast.
    EccentricityVector,
    /// The time along a coast is that of Kepler's equation, but for whole revolutions.
    KeplerTime,
    /// The size of v-infinity is the same before and after a flyby.
    FlybySpeed,
    /// v-infinity on the hyperbola is the relative velocity at the closest approach on the parent's conic.
    PatchSpeed,
    /// The aim of the hyperbola is the offset at the closest approach on the parent's conic.
    PatchAim,
    /// The time of periapsis is the time of the closest approach on the parent's conic.
    PatchTime,
    /// Place and velocity are continuous where a patch has no asymptotes to hold.
    PatchPlace,
    /// Mass before over mass after is exp(Δv / exhaust speed).
    RocketEquation,
    /// What leaves and what stays weigh what the whole did.
    Mass,
    /// Springs share their momentum between what leaves and what stays.
    Momentum,
    /// Two craft that join were near enough.
    JoinedPlace,
    /// The velocity jumps by the burn, the place by nothing.
    VelocityChange,
    /// Energy with the potential of the flattened body changes by the work of thrust and air.
    WorkEnergy,
    /// Angular momentum changes by the torque of thrust, air and flattening.
    Torque,
    /// Mass falls by what flows through the engines and what is left behind.
    MassFlow,
    /// The vehicle's books and the flight end with the same mass.
    VehicleMass,
    /// Speed gained is the ideal one less what gravity, drag, steering and pressure took.
    SpeedBalance,
    /// Time, place and velocity are continuous where forces switch.
    Switches,
    /// A leg begins when the one before it ends.
    Time,
    /// A leg begins where the one before it ends.
    Place,
}

impl Law {
    /// What a reader calls it.
    pub fn name(self) -> &'static str {
        match self {
            Law::Energy => "energy",
            Law::AngularMomentum => "angular momentum",
            Law::EccentricityVector => "eccentricity vector",
            Law::KeplerTime => "time along the conic",
            Law::FlybySpeed => "v-infinity across the flyby",
            Law::PatchSpeed => "v-infinity across the patch",
            Law::PatchAim => "aim across the patch",
            Law::PatchTime => "time across the patch",
            Law::PatchPlace => "place across the patch",
            Law::RocketEquation => "rocket equation",
            Law::Mass => "mass",
            Law::Momentum => "momentum",
            Law::JoinedPlace => "place across the joining",
            Law::VelocityChange => "velocity change",
            Law::WorkEnergy => "work and energy",
            Law::Torque => "torque and angular momentum",
            Law::MassFlow => "propellant flow",
            Law::VehicleMass => "mass of the vehicle",
            Law::SpeedBalance => "speed gained and lost",
            Law::Switches => "place across switches",
            Law::Time => "time between legs",
            Law::Place => "place between legs",
        }
    }

    /// Dimension of its residual and bound.
    pub fn dimension(self) -> Dimension {
        match self {
            Law::Energy | Law::WorkEnergy => Dimension::SPECIFIC_ENERGY,
            Law::AngularMomentum | Law::Torque => Dimension::SPECIFIC_ANGULAR_MOMENTUM,
            Law::EccentricityVector => Dimension::NUMBER,
            Law::FlybySpeed | Law::PatchSpeed | Law::RocketEquation | Law::SpeedBalance | Law::VelocityChange => {
                Dimension::SPEED
            }
            Law::Mass | Law::MassFlow | Law::VehicleMass => Dimension::MASS,
            Law::Momentum => Dimension::MOMENTUM,
            Law::PatchAim | Law::PatchPlace | Law::Switches | Law::Place | Law::JoinedPlace => Dimension::LENGTH,
            Law::KeplerTime | Law::PatchTime | Law::Time => Dimension::TIME,
        }
    }
}
