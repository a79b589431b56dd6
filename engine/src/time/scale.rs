//! Time scales and the passage between TDB and the others, in integer nanoseconds past 2000-01-01T12:00:00 of each.

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

/// TDB − TT in ns at a TDB instant.
fn tdb_minus_tt(tdb: i128) -> i128 {
    const NS_PER_CENTURY: f64 = 36_525.0 * 86_400e9;
    let centuries = tdb as f64 / NS_PER_CENTURY;
    let g = (357.53 + 35_999.050 * centuries).to_radians();
    ((0.001_658 * g.sin() + 0.000_014 * (2.0 * g).sin()) * 1e9).round() as i128
}

pub(super) fn tt_from_tdb(tdb: i128) -> i128 {
    tdb - tdb_minus_tt(tdb)
}

/// The first TDB nanosecond whose TT is at or past the one asked for. TDB − TT changes by less than 1e-9 of the elapsed time, so
/// one step of substitution is exact to far below 1 ns and the last steps settle the rounding.
pub(super) fn tdb_from_tt(tt: i128) -> i128 {
    let guess = tt + tdb_minus_tt(tt);
    let mut tdb = tt + tdb_minus_tt(guess) - 1;
    while tt_from_tdb(tdb) < tt {
        tdb += 1;
    }
    tdb
}

pub(super) fn tai_from_tdb(tdb: i128) -> i128 {
    tt_from_tdb(tdb) - TT_MINUS_TAI
}

pub(super) fn tdb_from_tai(tai: i128) -> i128 {
    tdb_from_tt(tai + TT_MINUS_TAI)
}

/// Whether UTC existed at a TDB instant.
pub(super) fn has_utc(tdb: i128) -> bool {
    utc::exists(tai_from_tdb(tdb))
}
