//! The proleptic Gregorian calendar with astronomical year numbers (year 0 exists).
//!
//! Days are counted from 2000-01-01. The rules for any year are integer arithmetic over the 400-year cycle of 146 097 days, with
//! the year begun in March so that the leap day comes last. [Richards2013] section 15.11 gives the method.

/// Days of a cycle of 400 years.
const CYCLE: i64 = 146_097;
/// Days from 0000-03-01 to 2000-01-01.
const MARCH_OF_YEAR_0: i64 = 730_425;

/// Days from 2000-01-01 to a date that exists.
pub(super) fn days_from_date(year: i64, month: u32, day: u32) -> i64 {
    let month = i64::from(month);
    let (year, month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let cycle = year.div_euclid(400);
    let of_cycle = year.rem_euclid(400);
    let of_year = (153 * month + 2) / 5 + i64::from(day) - 1;
    cycle * CYCLE + of_cycle * 365 + of_cycle / 4 - of_cycle / 100 + of_year - MARCH_OF_YEAR_0
}

/// Year, month and day of a count of days from 2000-01-01.
pub(super) fn date_from_days(days: i64) -> (i64, u32, u32) {
    let days = days + MARCH_OF_YEAR_0;
    let cycle = days.div_euclid(CYCLE);
    let of_cycle = days.rem_euclid(CYCLE);
    let year = (of_cycle - of_cycle / 1460 + of_cycle / 36_524 - of_cycle / 146_096) / 365;
    let of_year = of_cycle - (365 * year + year / 4 - year / 100);
    let month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month + 2) / 5 + 1;
    let (year, month) = if month < 10 { (year, month + 3) } else { (year + 1, month - 9) };
    (cycle * 400 + year, month as u32, day as u32)
}

/// Days of a month.
pub(super) fn days_in_month(year: i64, month: u32) -> u32 {
    match month {
        2 if days_in_year(year) == 366 => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Days of a year.
pub(super) fn days_in_year(year: i64) -> u32 {
    if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) { 366 } else { 365 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_day_of_four_thousand_years_follows_the_one_before() {
        let (mut year, mut month, mut day) = (-2000, 1, 1);
        let first = days_from_date(year, month, day);
        for days in first..first + 4000 * 365 {
            assert_eq!(date_from_days(days), (year, month, day));
            assert_eq!(days_from_date(year, month, day), days);
            day += 1;
            if day > days_in_month(year, month) {
                (month, day) = (month + 1, 1);
            }
            if month > 12 {
                (year, month) = (year + 1, 1);
            }
        }
    }

    #[test]
    fn agrees_with_the_calendar_of_hifitime() {
        let noon = hifitime::Epoch::from_gregorian_hms(2000, 1, 1, 12, 0, 0, hifitime::TimeScale::TAI);
        for days in (-365_000..365_000).step_by(997) {
            let there = noon + hifitime::Duration::from_days(f64::from(days));
            let (year, month, day, hour, ..) = there.to_gregorian(hifitime::TimeScale::TAI);
            assert_eq!(hour, 12);
            assert_eq!(date_from_days(i64::from(days)), (i64::from(year), u32::from(month), u32::from(day)));
        }
    }
}
