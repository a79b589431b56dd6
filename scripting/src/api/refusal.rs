//! What the engine refuses about places, orbits and burns, with what to write instead.

use visviva_engine::burn::BurnError;
use visviva_engine::ephemeris::EphemerisError;
use visviva_engine::orbit::OrbitError;

use super::fault::Fault;

/// A place that the ephemeris does not know.
pub(super) fn no_place(error: &EphemerisError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error.hint() {
        Some(hint) => fault.help(hint),
        None => fault,
    }
}

/// An orbit that is none.
pub(super) fn no_orbit(error: &OrbitError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        OrbitError::Ephemeris(error) => no_place(error),
        OrbitError::UnderTheSurface { body, .. } => fault.help(format!(
            "altitudes count from the equatorial radius of {body}, radii from its centre: raise the lowest point"
        )),
        OrbitError::OutsideTheSphere { body, .. } => {
            fault.help(format!("stay below `{body}.sphere_of_influence`, or orbit what {body} goes round"))
        }
        OrbitError::NothingCanOrbit { body, .. } => {
            fault.help(format!("orbit what {body} goes round, close to {body}, and meet it there"))
        }
        _ => fault,
    }
}

/// A burn that cannot be planned or flown.
pub(super) fn no_burn(error: &BurnError) -> Fault {
    let fault = Fault::new(error.to_string());
    match error {
        BurnError::Orbit(error) => no_orbit(error),
        BurnError::OtherBody { .. } | BurnError::OtherOrbit { .. } => fault
            .help("plan it on the orbit that is flown, or give its local components: burn(#{ along: b.along, ... })"),
        BurnError::TooFewRevolutions { .. } => fault.help("allow more revolutions"),
        _ => fault,
    }
}
