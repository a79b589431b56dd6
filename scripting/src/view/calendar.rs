//! Ticks of an axis of dates: hours, days, months or years, whichever are few enough, each at a round date.

use visviva_engine::time::Epoch;

/// A tick of an axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Its place, s past the begin of the axis.
    pub at: f64,
    /// What stands beside it.
    pub label: String,
    /// What stands below that: the year, or the day, where it changes.
    pub below: Option<String>,
}

const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

const DAY: f64 = 86_400.0;

/// Days of the month that ticks of one, two, five, ten days stand on.
const DAYS: [(f64, &[u32]); 4] = [
    (
        1.0,
        &[
            1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 19, 20, 21, 22, 23, 24, 25, 26, 27, 28, 29,
            30, 31,
        ],
    ),
    (2.0, &[1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29]),
    (5.0, &[1, 6, 11, 16, 21, 26]),
    (10.0, &[1, 11, 21]),
];

/// How ticks are spaced.
enum Spacing {
    Hours(u32),
    Days(&'static [u32]),
    Months(u32),
    Years(i64),
}

fn spacing(wish: f64) -> Spacing {
    for hours in [1, 2, 3, 6, 12] {
        if f64::from(hours) * 3600.0 >= wish {
            return Spacing::Hours(hours);
        }
    }
    for (days, list) in DAYS {
        if days * DAY >= wish {
            return Spacing::Days(list);
        }
    }
    for months in [1, 2, 3, 6] {
        if f64::from(months) * 30.4 * DAY >= wish {
            return Spacing::Months(months);
        }
    }
    let mut years = 1;
    for factor in [2, 5, 2].into_iter().cycle() {
        if years as f64 * 365.25 * DAY >= wish || years >= 100_000 {
            break;
        }
        years = if factor == 5 { years / 2 * 5 } else { years * 2 };
    }
    Spacing::Years(years)
}

/// Year and month of an epoch (TDB).
fn year_and_month(epoch: Epoch) -> Option<(i64, u32)> {
    let text = epoch.shown_in(visviva_engine::time::Scale::Tdb).iso();
    let (sign, rest) = text.strip_prefix('-').map_or((1, text.as_str()), |rest| (-1, rest));
    let mut parts = rest.split(['-', 'T']);
    let year: i64 = parts.next()?.parse().ok()?;
    Some((sign * year, parts.next()?.parse().ok()?))
}

/// At most about `most` ticks on an axis of `span` seconds from `begin`, in TDB; none where the calendar does not reach.
pub fn ticks(begin: Epoch, span: f64, most: usize) -> Vec<Tick> {
    let spacing = spacing(span / most.max(1) as f64);
    let Some(end) = begin.try_after(span).ok() else { return Vec::new() };
    let (Some((first, _)), Some((last, _))) = (year_and_month(begin), year_and_month(end)) else { return Vec::new() };
    let mut found: Vec<Tick> = Vec::new();
    let mut before: Option<String> = None;
    let mut put = |year: i64, month: u32, day: u32, hour: u32| {
        let text = format!("{year:04}-{month:02}-{day:02}T{hour:02}:00:00 TDB");
        let Ok(epoch) = Epoch::parse(&text) else { return };
        let at = epoch.seconds_since(begin);
        if !(-1e-6 <= at && at <= span + 1e-6) {
            return;
        }
        let name = MONTHS[(month as usize - 1) % 12];
        let (label, group) = match spacing {
            Spacing::Hours(_) => (format!("{hour:02}:00"), Some(format!("{day} {name} {year}"))),
            Spacing::Days(_) => (format!("{day} {name}"), Some(year.to_string())),
            Spacing::Months(_) => (name.to_owned(), Some(year.to_string())),
            Spacing::Years(_) => (year.to_string(), None),
        };
        let below = group.clone().filter(|_| group != before);
        before = group;
        found.push(Tick { at, label, below });
    };
    for year in first..=last {
        for month in 1..=12 {
            match spacing {
                Spacing::Years(step) if month == 1 && year.rem_euclid(step) == 0 => put(year, 1, 1, 0),
                Spacing::Months(step) if (month - 1) % step == 0 => put(year, month, 1, 0),
                Spacing::Days(list) => list.iter().for_each(|day| put(year, month, *day, 0)),
                Spacing::Hours(step) => {
                    (1..=31)
                        .for_each(|day| (0..24).step_by(step as usize).for_each(|hour| put(year, month, day, hour)));
                }
                Spacing::Years(_) | Spacing::Months(_) => {}
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str, days: f64) -> Vec<String> {
        let begin = Epoch::parse(text).expect("an epoch");
        let shown = |tick: &Tick| match &tick.below {
            Some(below) => format!("{} / {below}", tick.label),
            None => tick.label.clone(),
        };
        ticks(begin, days * DAY, 8).iter().map(shown).collect()
    }

    #[test]
    fn ticks_stand_on_round_dates() {
        assert_eq!(of("2026-08-15 TDB", 150.0), ["Sep / 2026", "Oct", "Nov", "Dec", "Jan / 2027"]);
        assert_eq!(
            of("2026-02-20 TDB", 30.0),
            ["21 Feb / 2026", "26 Feb", "1 Mar", "6 Mar", "11 Mar", "16 Mar", "21 Mar"]
        );
        assert_eq!(
            of("2026-02-28T12:00:00 TDB", 1.0),
            [
                "12:00 / 28 Feb 2026",
                "15:00",
                "18:00",
                "21:00",
                "00:00 / 1 Mar 2026",
                "03:00",
                "06:00",
                "09:00",
                "12:00"
            ]
        );
        assert_eq!(of("2026-06-01 TDB", 7300.0), ["2030", "2035", "2040", "2045"]);
    }
}
