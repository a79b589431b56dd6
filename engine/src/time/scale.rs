//! Time scales and the passage between TDB and the others, in integer nanoseconds past 2000-01-01T12:00:00 of each.

use super::tdb::{tdb_from_tt, tt_from_tdb};
use super::utc;

/// A time scale.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Scale {
    /// Coordinated universal time, with leap seconds.
    Utc,
    /// International atomic time.
    Tai,
    /// Terrestrial time: TAI + 32.184 s.
    Tt,
    /// Barycentric dynamical time, the argument of ephemerides.
    Tdb,
}

/// TT − TAI, ns. Exact by definition. [IAU1991A4]
const TT_MINUS_TAI: i128 = 32_184_000_000;

impl Scale {
    /// Every scale.
    pub const ALL: [Self; 4] = [Self::Utc, Self::Tai, Self::Tt, Self::Tdb];

    /// "UTC", "TAI", "TT" or "TDB".
    pub const fn name(self) -> &'static str {
        match self {
            Self::Utc => "UTC",
            Self::Tai => "TAI",
            Self::Tt => "TT",
            Self::Tdb => "TDB",
        }
    }

    /// By name, in either case.
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|scale| scale.name().eq_ignore_ascii_case(name))
    }
}

pub(super) fn tai_from_tdb(tdb: i128) -> i128 {
    tt_from_tdb(tdb) - TT_MINUS_TAI
}

pub(super) fn tdb_from_tai(tai: i128) -> i128 {
    tdb_from_tt(tai + TT_MINUS_TAI)
}

/// Whether UTC existed at a TDB instant.
pub(super) fn has_utc(tdb: i128) -> bool {
    // Long after 1960 the series need not be asked.
    tdb > -1_200_000_000_000_000_000 || utc::exists(tai_from_tdb(tdb))
}
