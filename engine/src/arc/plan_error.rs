//! What can be wrong with a question to a planner between bodies.

use crate::burn::BurnError;
use crate::ephemeris::EphemerisError;
use crate::orbit::OrbitError;
use crate::time::Epoch;

/// Why a plan between bodies was not found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlanError {
    /// A transfer needs two different bodies.
    #[error("a transfer needs two different bodies, and both are `{name}`")]
    SameBody {
        /// The body given twice.
        name: String,
    },
    /// The bodies belong to different systems.
    #[error("`{from}` and `{to}` belong to different systems")]
    Unrelated {
        /// Departure body.
        from: String,
        /// Arrival body.
        to: String,
    },
    /// The arrival is not after the departure.
    #[error("the arrival ({arrive}) is not after the departure ({depart})")]
    ArrivalNotAfterDeparture {
        /// Departure epoch.
        depart: Epoch,
        /// Arrival epoch.
        arrive: Epoch,
    },
    /// No conic joins the two places in the time.
    #[error("no arc about `{about}` joins the two places in {days:.3} d")]
    NoArc {
        /// The body the arc would go round.
        about: String,
        /// Time of flight, days.
        days: f64,
    },
    /// The hyperbola about a planet cannot meet its moon near the wanted time.
    #[error(
        "no hyperbola about `{planet}` with this excess speed ({v_infinity_m_s:.1} m/s) meets `{moon}` within its month"
    )]
    MoonNotMet {
        /// The body passed.
        planet: String,
        /// The body to be met or left.
        moon: String,
        /// Excess speed about the planet, m/s.
        v_infinity_m_s: f64,
    },
    /// An altitude that is no orbit.
    #[error(
        "an altitude of {altitude_m:.0} m at `{body}` is no orbit: it must be positive and below its sphere of influence"
    )]
    Altitude {
        /// Body.
        body: String,
        /// Altitude, m.
        altitude_m: f64,
    },
    /// An apoapsis below its periapsis.
    #[error("the apoapsis altitude ({apoapsis_m:.0} m) is below the periapsis altitude ({periapsis_m:.0} m)")]
    ApsidesSwapped {
        /// Periapsis altitude, m.
        periapsis_m: f64,
        /// Apoapsis altitude, m.
        apoapsis_m: f64,
    },
    /// A body too light for its place: its sphere of influence lies at or below its own ground.
    #[error(
        "nothing can pass or orbit `{body}` by its own pull: its sphere of influence ({sphere_m:.0} m) leaves no room above its ground ({radius_m:.0} m)"
    )]
    NoSphere {
        /// The body.
        body: String,
        /// Its sphere of influence, m.
        sphere_m: f64,
        /// Its radius, m.
        radius_m: f64,
    },
    /// A parking orbit about the wrong body, or one that is not bound.
    #[error("the parking orbit must be a bound orbit about `{body}`")]
    Parking {
        /// The body departed from.
        body: String,
    },
    /// The arc stays inside a sphere or passes below the ground.
    #[error("the arc about `{about}` {what}")]
    Path {
        /// The body.
        about: String,
        /// What it does that it must not.
        what: &'static str,
    },
    /// A span of dates that ends before it begins.
    #[error(
        "the span of departures ends ({}) {:.3} d before it begins ({})",
        to.show(), from.seconds_since(*to) / 86_400.0, from.show()
    )]
    Span {
        /// Begin.
        from: Epoch,
        /// End.
        to: Epoch,
    },
    /// Flight times that are no interval.
    #[error("{}", no_interval(*least_d, *most_d))]
    FlightTimes {
        /// Least, days.
        least_d: f64,
        /// Most, days.
        most_d: f64,
    },
    /// A search that would not end in reasonable time.
    #[error(
        "{cells:.1e} pairs of dates to look at; ask for a span of at most {span_d:.0} d, or for a narrower flight time"
    )]
    TooWide {
        /// Cells of the grid.
        cells: f64,
        /// The longest span that is searched, days.
        span_d: f64,
    },
    /// The search was stopped from outside.
    #[error("the search was stopped")]
    Stopped,
    /// The position of a body is not known then.
    #[error(transparent)]
    Ephemeris(Box<EphemerisError>),
    /// An orbit could not be made.
    #[error(transparent)]
    Orbit(Box<OrbitError>),
    /// A burn could not be made.
    #[error(transparent)]
    Burn(#[from] BurnError),
}

/// Which bound of the flight times is to blame, and by how much.
fn no_interval(least_d: f64, most_d: f64) -> String {
    if !(least_d > 0.0) {
        return format!("the least flight time must be above zero, got {least_d:.3} d");
    }
    format!("the most flight time ({most_d:.3} d) lies {:.3} d below the least ({least_d:.3} d)", least_d - most_d)
}

impl From<EphemerisError> for PlanError {
    fn from(error: EphemerisError) -> Self {
        Self::Ephemeris(Box::new(error))
    }
}

impl From<OrbitError> for PlanError {
    fn from(error: OrbitError) -> Self {
        Self::Orbit(Box::new(error))
    }
}
