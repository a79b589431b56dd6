//! The instant.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};

use super::{Scale, TimeError, scale, text};

const SECOND: i128 = 1_000_000_000;
const DAY: i128 = 86_400 * SECOND;

/// First and last instant: the beginnings of the years −9999 and 10 000, TDB.
const FIRST: i128 = -4_382_464 * DAY - DAY / 2;
const LAST: i128 = 2_921_940 * DAY - DAY / 2;

/// An instant with the scale it is shown in. Equality and order are those of the instant.
///
/// Exact to 1 ns from the year −9999 to the year 9999.
#[derive(Clone, Copy, Debug)]
pub struct Epoch {
    /// ns of TDB past J2000; within `FIRST..LAST`.
    tdb: i128,
    scale: Scale,
}

impl Epoch {
    /// 2000-01-01T12:00:00 TDB.
    pub const J2000: Self = Self { tdb: 0, scale: Scale::Tdb };

    pub(super) fn from_tdb_nanoseconds(tdb: i128, scale: Scale) -> Result<Self, TimeError> {
        if (FIRST..LAST).contains(&tdb) { Ok(Self { tdb, scale }.settled()) } else { Err(TimeError::OutOfRange) }
    }

    /// There was no UTC before 1960: such an instant is shown in TT.
    fn settled(self) -> Self {
        let scale = if self.scale == Scale::Utc && !scale::has_utc(self.tdb) { Scale::Tt } else { self.scale };
        Self { scale, ..self }
    }

    /// From text: ISO 8601 with its scale.
    ///
    /// `2031-03-12T04:00:00 TDB`, `2031-03-12 04:00 UTC`, `2031-03-12T04:00:00.25Z` (UTC), `2141-01-01 TDB` (midnight), `2031-071T04:00:00 TT`
    /// (day of the year), `JD 2451545.0 TDB`. Up to nine digits of a second, twelve of a day.
    ///
    /// # Errors
    /// A missing or unknown scale, a date or time that does not exist, UTC before 1960, years outside of −9999 to 9999; each says what to write.
    ///
    /// # Example
    /// The leap second is a second like any other.
    /// ```
    /// # use visviva_engine::time::Epoch;
    /// let before = Epoch::parse("2016-12-31T23:59:59 UTC")?;
    /// let after = Epoch::parse("2017-01-01T00:00:00 UTC")?;
    /// assert_eq!(after.seconds_since(before), 2.0);
    /// assert!(Epoch::parse("2017-12-31T23:59:60 UTC").is_err());
    /// # Ok::<(), visviva_engine::time::TimeError>(())
    /// ```
    pub fn parse(text: &str) -> Result<Self, TimeError> {
        text::parse(text)
    }

    /// From seconds of TDB past J2000, to the nanosecond.
    ///
    /// Bounded like `after`; use `try_from_tdb_seconds` for numbers from outside.
    pub fn from_tdb_seconds(seconds: f64) -> Self {
        Self::J2000.after(seconds)
    }

    /// From seconds of TDB past J2000, to the nanosecond.
    ///
    /// # Errors
    /// Not finite, or outside of the years −9999 to 9999.
    pub fn try_from_tdb_seconds(seconds: f64) -> Result<Self, TimeError> {
        Self::J2000.try_after(seconds)
    }

    /// From a TDB Julian date in two parts, summed in integers.
    ///
    /// # Errors
    /// Not finite, or outside of the years −9999 to 9999.
    pub fn from_julian_date_tdb(day: f64, fraction: f64) -> Result<Self, TimeError> {
        let part = |days: f64, origin: f64| {
            let whole = days.floor();
            let rest = days - whole;
            nanoseconds(whole - origin, "days").map(|whole| whole / SECOND * DAY + (rest * 86_400e9).round() as i128)
        };
        Self::from_tdb_nanoseconds(part(day, 2_451_545.0)? + part(fraction, 0.0)?, Scale::Tdb)
    }

    /// Seconds from another epoch to this one: TDB, rounded once.
    pub fn seconds_since(self, other: Self) -> f64 {
        seconds(self.tdb - other.tdb)
    }

    /// The epoch so many TDB seconds later, rounded to the nanosecond, shown in the same scale.
    ///
    /// For horizons and offsets that the caller has bounded (a leg, a period, a search window): where no such epoch exists it
    /// answers with the first or the last one there is, and with this one where the offset is no number. `try_after` says so
    /// instead, and is for times from outside.
    pub fn after(self, seconds: f64) -> Self {
        match self.try_after(seconds) {
            Ok(moved) => moved,
            Err(_) if seconds > 0.0 => Self { tdb: LAST - 1, scale: self.scale }.settled(),
            Err(_) if seconds < 0.0 => Self { tdb: FIRST, scale: self.scale }.settled(),
            Err(_) => self,
        }
    }

    /// The epoch so many TDB seconds later, rounded to the nanosecond, shown in the same scale.
    ///
    /// # Errors
    /// Not finite, or outside of the years −9999 to 9999.
    pub fn try_after(self, seconds: f64) -> Result<Self, TimeError> {
        Self::from_tdb_nanoseconds(self.tdb + nanoseconds(seconds, "seconds")?, self.scale)
    }

    /// Days of TDB past J2000 as whole days and a fraction from 0 to 1: together exact to the nanosecond.
    pub fn tdb_days(self) -> (f64, f64) {
        let rest = self.tdb.rem_euclid(DAY);
        (self.tdb.div_euclid(DAY) as f64, rest as f64 / DAY as f64)
    }

    /// Seconds of TDB past J2000, rounded once.
    pub fn tdb_seconds(self) -> f64 {
        seconds(self.tdb)
    }

    /// Nanoseconds of TDB past J2000, exact.
    pub fn tdb_nanoseconds(self) -> i128 {
        self.tdb
    }

    /// Julian date in TDB, as day (ending in .5) and fraction from 0 to 1.
    pub fn julian_date_tdb(self) -> (f64, f64) {
        let shifted = self.tdb + DAY / 2;
        (shifted.div_euclid(DAY) as f64 + 2_451_544.5, shifted.rem_euclid(DAY) as f64 / DAY as f64)
    }

    /// The scale it is shown in.
    pub fn scale(self) -> Scale {
        self.scale
    }

    /// The same instant, shown in another scale. Before 1960 there was no UTC: TT is taken instead.
    #[must_use]
    pub fn shown_in(self, scale: Scale) -> Self {
        Self { scale, ..self }.settled()
    }

    /// ISO 8601 with the scale; digits of the second only where they are not zero: `2031-03-12T04:00:00 TDB`.
    pub fn show(self) -> String {
        text::show(self.tdb, self.scale)
    }

    /// As [`Epoch::show`], rounded to the millisecond: what a reader wants of an answer.
    pub fn show_to_millisecond(self) -> String {
        let shown = self.after(5e-4).show();
        let (iso, scale) = shown.split_once(' ').unwrap_or((&shown, ""));
        let (whole, fraction) = iso.split_once('.').unwrap_or((iso, ""));
        let digits = fraction.get(..3).unwrap_or(fraction).trim_end_matches('0');
        let point = if digits.is_empty() { "" } else { "." };
        format!("{whole}{point}{digits} {scale}").trim_end().to_owned()
    }

    /// ISO 8601 without the scale.
    pub fn iso(self) -> String {
        text::iso(self.tdb, self.scale)
    }
}

/// Integer nanoseconds to seconds. The whole seconds are exact in `f64` over the range, so only the last digit is rounded.
fn seconds(nanoseconds: i128) -> f64 {
    (nanoseconds / SECOND) as f64 + (nanoseconds % SECOND) as f64 / SECOND as f64
}

/// Seconds to integer nanoseconds, ties away from zero; the fraction is scaled apart so that no digit of a long time is lost.
fn nanoseconds(seconds: f64, unit: &'static str) -> Result<i128, TimeError> {
    if !seconds.is_finite() {
        return Err(TimeError::NotFinite { unit });
    }
    // Twice the whole range in seconds; beyond it nothing is an epoch.
    if seconds.abs() > 2e12 {
        return Err(TimeError::OutOfRange);
    }
    let whole = seconds.trunc();
    Ok(whole as i128 * SECOND + ((seconds - whole) * 1e9).round() as i128)
}

impl PartialEq for Epoch {
    fn eq(&self, other: &Self) -> bool {
        self.tdb == other.tdb
    }
}

impl Eq for Epoch {}

impl Ord for Epoch {
    fn cmp(&self, other: &Self) -> Ordering {
        self.tdb.cmp(&other.tdb)
    }
}

impl PartialOrd for Epoch {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Hash for Epoch {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.tdb.hash(state);
    }
}

impl fmt::Display for Epoch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.show())
    }
}
