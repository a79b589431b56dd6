//! UTC and TAI: leap seconds since 1972 (from hifitime's table), steps and rates from 1960 to 1971.
//!
//! Counts are nanoseconds past noon of 2000-01-01; a UTC count is that of its label with days of 86 400 s, so that the inside of
//! a leap second is told apart by the second of the label, not by the count.

use std::sync::LazyLock;

const SECOND: i128 = 1_000_000_000;
const DAY: i128 = 86_400 * SECOND;
/// Days from 1900-01-01 (the origin of hifitime's table) to 2000-01-01, and noon.
const FROM_1900: i128 = 36_524 * DAY + DAY / 2;
/// Days from the modified Julian day 0 to 2000-01-01, and noon.
const FROM_MJD_0: i128 = 51_544 * DAY + DAY / 2;

/// One era of UTC: TAI − UTC = offset + rate × (UTC − origin).
struct Era {
    /// First label, UTC count.
    start: i128,
    offset: i128,
    /// ns per s of UTC.
    rate: i128,
    /// UTC count.
    origin: i128,
}

impl Era {
    fn tai_minus_utc(&self, utc: i128) -> i128 {
        let drift = (utc - self.origin) * self.rate;
        // Rounded to the nearest nanosecond.
        self.offset + (2 * drift + SECOND).div_euclid(2 * SECOND)
    }

    fn tai(&self, utc: i128) -> i128 {
        utc + self.tai_minus_utc(utc)
    }

    /// First instant of the era, TAI count.
    fn tai_start(&self) -> i128 {
        self.tai(self.start)
    }

    fn utc(&self, tai: i128) -> i128 {
        // The rate is 3e-8 at most: the first substitution is within 1 µs, the second within 1 ns, the third settles it.
        let mut utc = tai - self.offset;
        for _ in 0..4 {
            utc = tai - self.tai_minus_utc(utc);
        }
        utc
    }
}

/// First day (modified Julian), offset (ns), rate (ns/s) and its origin (modified Julian day), as broadcast before 1972.
/// [USNO-TAI-UTC], which prints the rate in s/d: 0.001 296 s/d is 15 ns/s, 0.001 123 2 is 13, 0.002 592 is 30.
const BEFORE_1972: [(i128, i128, i128, i128); 14] = [
    (36_934, 1_417_818_000, 15, 37_300),
    (37_300, 1_422_818_000, 15, 37_300),
    (37_512, 1_372_818_000, 15, 37_300),
    (37_665, 1_845_858_000, 13, 37_665),
    (38_334, 1_945_858_000, 13, 37_665),
    (38_395, 3_240_130_000, 15, 38_761),
    (38_486, 3_340_130_000, 15, 38_761),
    (38_639, 3_440_130_000, 15, 38_761),
    (38_761, 3_540_130_000, 15, 38_761),
    (38_820, 3_640_130_000, 15, 38_761),
    (38_942, 3_740_130_000, 15, 38_761),
    (39_004, 3_840_130_000, 15, 38_761),
    (39_126, 4_313_170_000, 30, 39_126),
    (39_887, 4_213_170_000, 30, 39_126),
];

static ERAS: LazyLock<Vec<Era>> = LazyLock::new(|| {
    let day = |mjd: i128| mjd * DAY - FROM_MJD_0;
    let early = BEFORE_1972.iter().map(|&(start, offset, rate, origin)| Era {
        start: day(start),
        offset,
        rate,
        origin: day(origin),
    });
    let leaps = hifitime::leap_seconds::LatestLeapSeconds::default().filter(|leap| leap.announced_by_iers);
    let since = leaps.map(|leap| {
        let start = leap.timestamp_tai_s as i128 * SECOND - FROM_1900;
        Era { start, offset: leap.delta_at as i128 * SECOND, rate: 0, origin: start }
    });
    early.chain(since).collect()
});

/// Whether UTC had begun at a TAI instant.
pub(super) fn exists(tai: i128) -> bool {
    ERAS.first().is_some_and(|era| tai >= era.tai_start())
}

/// Why a label has no instant.
pub(super) enum NoInstant {
    BeforeUtc,
    NoLeapSecond,
    Skipped,
}

/// TAI count of a UTC label. `within_day` is ns past midnight by the label and passes 86 400 s in a leap second.
pub(super) fn tai_from_label(midnight: i128, within_day: i128) -> Result<i128, NoInstant> {
    let next_midnight = midnight + DAY;
    let index = ERAS.partition_point(|era| era.start <= midnight);
    let Some(era) = index.checked_sub(1).and_then(|index| ERAS.get(index)) else {
        return Err(NoInstant::BeforeUtc);
    };
    let tai = era.tai(midnight + within_day);
    let next = ERAS.get(index).filter(|next| next.start == next_midnight);
    let end = next.map_or_else(|| era.tai(next_midnight), Era::tai_start);
    if tai < end {
        return Ok(tai);
    }
    Err(if within_day >= DAY { NoInstant::NoLeapSecond } else { NoInstant::Skipped })
}

/// UTC label of a TAI count: midnight of its day and ns past it, 86 400 s or more inside a leap second. `None` before 1960.
pub(super) fn label_from_tai(tai: i128) -> Option<(i128, i128)> {
    let index = ERAS.partition_point(|era| era.tai_start() <= tai);
    let era = ERAS.get(index.checked_sub(1)?)?;
    let utc = era.utc(tai);
    // Noon is the origin: midnights are half a day off the multiples of a day.
    let mut midnight = (utc + DAY / 2).div_euclid(DAY) * DAY - DAY / 2;
    if let Some(next) = ERAS.get(index)
        && midnight >= next.start
    {
        midnight = next.start - DAY;
    }
    Some((midnight, utc - midnight))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eras_follow_one_another() {
        assert_eq!(ERAS.len(), 14 + 28);
        assert!(ERAS.windows(2).all(|pair| pair[0].start < pair[1].start && pair[0].tai_start() < pair[1].tai_start()));
    }

    #[test]
    fn labels_undo_themselves_around_every_step() {
        for era in ERAS.iter().skip(1) {
            for offset in (-1_200_000_000..1_200_000_000).step_by(1_234_567) {
                let tai = era.tai_start() + offset;
                let (midnight, within) = label_from_tai(tai).unwrap();
                let back =
                    tai_from_label(midnight, within).unwrap_or_else(|_| panic!("{offset} ns from {}", era.start));
                assert!((back - tai).abs() <= 1, "{offset} ns from {}: {}", era.start, back - tai);
            }
        }
    }
}
