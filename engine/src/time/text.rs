//! Epochs as text: ISO 8601 calendar and ordinal dates with their scale, and Julian dates.

use super::calendar::{date_from_days, days_from_date, days_in_month, days_in_year};
use super::utc::{self, NoInstant};
use super::{Epoch, Scale, TimeError, scale, tdb};

const SECOND: i128 = 1_000_000_000;
const DAY: i128 = 86_400 * SECOND;

/// A civil label: days past 2000-01-01 and ns past midnight.
struct Label {
    days: i64,
    within_day: i128,
}

pub(super) fn parse(text: &str) -> Result<Epoch, TimeError> {
    let trimmed = text.trim();
    let (label, scale) = split_scale(trimmed)?;
    if let Some(rest) = label.strip_prefix("JD").or_else(|| label.strip_prefix("jd")) {
        return instant(&julian(rest.trim(), trimmed)?, scale, trimmed);
    }
    instant(&civil(label, trimmed)?, scale, trimmed)
}

/// The scale is the last word, or a final `Z` for UTC.
fn split_scale(text: &str) -> Result<(&str, Scale), TimeError> {
    if let Some(label) = text.strip_suffix('Z').filter(|label| label.ends_with(|last: char| last.is_ascii_digit())) {
        return Ok((label, Scale::Utc));
    }
    let letters = text.len() - text.bytes().rev().take_while(u8::is_ascii_alphabetic).count();
    let (label, name) = text.split_at(letters);
    if label.trim().is_empty() {
        return Err(TimeError::NotAnEpoch { text: text.to_owned() });
    }
    if name.is_empty() {
        // Only a label that reads as a date asks for its scale.
        let date = label.trim().bytes().all(|byte| byte.is_ascii_digit() || b"-:.T ".contains(&byte))
            || label.starts_with("JD");
        let text = text.to_owned();
        return Err(if date { TimeError::NoScale { text } } else { TimeError::NotAnEpoch { text } });
    }
    match Scale::by_name(name) {
        Some(scale) => Ok((label.trim_end(), scale)),
        None => Err(TimeError::UnknownScale { scale: name.to_owned() }),
    }
}

/// Decimal digits after a point, as an integer of so many places.
fn fraction(digits: &str, places: usize, text: &str) -> Result<i128, TimeError> {
    let refuse = || TimeError::NotAnEpoch { text: text.to_owned() };
    let digits = digits.trim_end_matches('0');
    if digits.is_empty() {
        return Ok(0);
    }
    if digits.len() > places {
        return Err(TimeError::TooFine { text: text.to_owned() });
    }
    let value = i128::from(number(digits).ok_or_else(refuse)?);
    Ok((digits.len()..places).fold(value, |value, _| value * 10))
}

/// Digits only: no sign, no space.
fn number(text: &str) -> Option<u64> {
    (!text.is_empty() && text.len() <= 15 && text.bytes().all(|byte| byte.is_ascii_digit()))
        .then(|| text.parse().ok())
        .flatten()
}

/// `2451545.0`: days of 86 400 s from noon; the label of a UTC Julian date counts the same way.
fn julian(text: &str, whole: &str) -> Result<Label, TimeError> {
    let refuse = || TimeError::NotAnEpoch { text: whole.to_owned() };
    let (days, digits) = text.split_once('.').unwrap_or((text, ""));
    let days = i128::from(number(days).filter(|days| *days < 100_000_000).ok_or_else(refuse)?);
    // Twelve digits of a day are 86.4 ns; more would be longer than what two doubles usually print.
    let shares = fraction(digits, 15, whole)?;
    let within = (2 * shares * DAY + 1_000_000_000_000_000) / 2_000_000_000_000_000;
    let total = (days - 2_451_545) * DAY + within + DAY / 2;
    Ok(Label { days: total.div_euclid(DAY) as i64, within_day: total.rem_euclid(DAY) })
}

fn part(name: &'static str, value: u64, least: u32, most: u32, text: &str) -> Result<u32, TimeError> {
    let value = u32::try_from(value).unwrap_or(u32::MAX);
    if (least..=most).contains(&value) {
        return Ok(value);
    }
    Err(TimeError::NoSuchPart { part: name, value, least, most, text: text.to_owned() })
}

fn civil(label: &str, text: &str) -> Result<Label, TimeError> {
    let refuse = || TimeError::NotAnEpoch { text: text.to_owned() };
    let (date, time) = label.split_once(['T', ' ']).unwrap_or((label, "00:00"));
    let (negative, date) = match date.strip_prefix('-') {
        Some(date) => (true, date),
        None => (false, date.strip_prefix('+').unwrap_or(date)),
    };
    let pieces: Vec<&str> = date.split('-').collect();
    let year = pieces.first().filter(|year| year.len() == 4).and_then(|year| number(year)).ok_or_else(refuse)? as i64;
    let year = if negative { -year } else { year };
    let days = match pieces[1..] {
        [month, day] if month.len() == 2 && day.len() == 2 => {
            let month = part("month", number(month).ok_or_else(refuse)?, 1, 12, text)?;
            let day = part("day", number(day).ok_or_else(refuse)?, 1, days_in_month(year, month), text)?;
            days_from_date(year, month, day)
        }
        [day] if day.len() == 3 => {
            let day = part("day", number(day).ok_or_else(refuse)?, 1, days_in_year(year), text)?;
            days_from_date(year, 1, 1) + i64::from(day) - 1
        }
        _ => return Err(refuse()),
    };

    let (clock, digits) = time.trim().split_once('.').unwrap_or((time.trim(), ""));
    let pieces: Vec<&str> = clock.split(':').collect();
    if !(2..=3).contains(&pieces.len())
        || pieces.iter().any(|piece| piece.len() != 2)
        || (pieces.len() == 2 && clock.len() != time.trim().len())
    {
        return Err(refuse());
    }
    if time.contains('.') && (digits.is_empty() || number(digits.get(..1).unwrap_or("")).is_none()) {
        return Err(refuse());
    }
    let read = |index: usize| pieces.get(index).map_or(Some(0), |piece| number(piece)).ok_or_else(refuse);
    let hour = part("hour", read(0)?, 0, 24, text)?;
    let minute = part("minute", read(1)?, 0, 59, text)?;
    // Second 60 is a leap second, judged where UTC is known.
    let second = part("second", read(2)?, 0, 60, text)?;
    let nanoseconds = fraction(digits, 9, text)?;
    let within_day = (i128::from(hour) * 3600 + i128::from(minute) * 60 + i128::from(second)) * SECOND + nanoseconds;
    // 24:00:00 is the midnight at the end of the day, and nothing after it.
    if hour == 24 {
        part("hour", if within_day == DAY { 0 } else { 24 }, 0, 23, text)?;
        return Ok(Label { days: days + 1, within_day: 0 });
    }
    if second == 60 && (hour, minute) != (23, 59) {
        part("second", 60, 0, 59, text)?;
    }
    Ok(Label { days, within_day })
}

fn instant(label: &Label, scale: Scale, text: &str) -> Result<Epoch, TimeError> {
    let midnight = i128::from(label.days) * DAY - DAY / 2;
    let count = midnight + label.within_day;
    let no_leap_second = || part("second", 60, 0, 59, text).err().unwrap_or(TimeError::OutOfRange);
    if scale != Scale::Utc && label.within_day >= DAY {
        return Err(no_leap_second());
    }
    let instant = match scale {
        Scale::Tdb => count,
        Scale::Tt => tdb::tdb_from_tt(count),
        Scale::Tai => scale::tdb_from_tai(count),
        Scale::Utc => {
            scale::tdb_from_tai(utc::tai_from_label(midnight, label.within_day).map_err(|why| match why {
                NoInstant::BeforeUtc => TimeError::BeforeUtc { text: text.to_owned() },
                NoInstant::Skipped => TimeError::SkippedByUtc { text: text.to_owned() },
                NoInstant::NoLeapSecond => no_leap_second(),
            })?)
        }
    };
    Epoch::from_tdb_nanoseconds(instant, scale)
}

/// ISO 8601 with the name of the scale.
pub(super) fn show(instant: i128, scale: Scale) -> String {
    format!("{} {}", iso(instant, scale), scale.name())
}

/// ISO 8601 in a scale.
pub(super) fn iso(instant: i128, scale: Scale) -> String {
    let plain = |count: i128| {
        let midnight = (count + DAY / 2).div_euclid(DAY) * DAY - DAY / 2;
        (midnight, count - midnight)
    };
    let (midnight, within_day) = match scale {
        Scale::Tdb => plain(instant),
        Scale::Tt => plain(tdb::tt_from_tdb(instant)),
        Scale::Tai => plain(scale::tai_from_tdb(instant)),
        // An epoch in UTC is never before UTC began, so the second way is not taken.
        Scale::Utc => {
            utc::label_from_tai(scale::tai_from_tdb(instant)).unwrap_or_else(|| plain(tdb::tt_from_tdb(instant)))
        }
    };
    let (year, month, day) = date_from_days(((midnight + DAY / 2) / DAY) as i64);
    // Inside of a leap second the minute has 61 seconds.
    let minutes = (within_day / (60 * SECOND)).min(1439);
    let in_minute = within_day - minutes * 60 * SECOND;
    let sign = if year < 0 { "-" } else { "" };
    let mut text = format!(
        "{sign}{:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}",
        year.abs(),
        minutes / 60,
        minutes % 60,
        in_minute / SECOND
    );
    let nanoseconds = in_minute % SECOND;
    if nanoseconds != 0 {
        let digits = format!("{nanoseconds:09}");
        text.push('.');
        text.push_str(digits.trim_end_matches('0'));
    }
    text
}
