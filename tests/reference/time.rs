//! Time scales, leap seconds and the calendar against tables made with the algorithms of the IAU.

use visviva_engine::time::{Epoch, Scale, TimeError};
use visviva_tests::{Record, Table, read_csv};

/// The engine keeps whole nanoseconds; a table that prints nine digits is as good as half of one.
const NANOSECOND: f64 = 1.5e-9;

/// Seconds between two epochs given as text.
fn apart(a: &str, b: &str) -> Result<f64, TimeError> {
    Ok(Epoch::parse(a)?.seconds_since(Epoch::parse(b)?).abs())
}

/// Adds the distance of two labels, or why one of them was refused.
fn compare(table: &mut Table, id: String, a: &str, b: &str, bound: f64) {
    match apart(a, b) {
        Ok(error) => table.add(id, error, bound, "s"),
        Err(why) => table.failed(id, why),
    }
}

/// Every scale of every row of `timescales.csv`.
pub(crate) fn scales_table() -> Table {
    let file = "bodies/timescales.csv";
    let mut table =
        Table::new(file, "IAU SOFA algorithms 2.0.1.5, geocentre; whole ns and half of the last digit printed");
    for row in read_csv(file) {
        if let Err(why) = scales(&mut table, &row) {
            table.failed(row.text("utc"), why);
        }
    }
    table
}

fn scales(table: &mut Table, row: &Record) -> Result<(), TimeError> {
    let utc = format!("{} UTC", row.text("utc"));
    let epoch = Epoch::parse(&utc)?;
    for (scale, column) in [(Scale::Tai, "tai"), (Scale::Tt, "tt"), (Scale::Tdb, "tdb")] {
        let label = format!("{} {}", row.text(column), scale.name());
        compare(table, format!("{utc} as {}", scale.name()), &utc, &label, NANOSECOND);
        // The text that is shown, read again in its own scale.
        compare(table, format!("{utc} shown in {}", scale.name()), &epoch.shown_in(scale).show(), &label, NANOSECOND);
        let back = Epoch::parse(&epoch.shown_in(scale).show())?.shown_in(Scale::Utc).show();
        compare(table, format!("{utc} through {} and back", scale.name()), &back, &utc, NANOSECOND);
    }
    // The column prints microseconds.
    let seconds = row.number("tdb_s_past_j2000");
    table.add(format!("{utc} TDB seconds"), (epoch.tdb_seconds() - seconds).abs(), 0.5e-6 + NANOSECOND, "s");
    // TDB - TT from the labels of one instant: read both as TDB.
    let tt = Epoch::parse(&format!("{} TDB", epoch.shown_in(Scale::Tt).iso()))?;
    let difference = epoch.seconds_since(tt);
    table.add(format!("{utc} TDB - TT"), (difference - row.number("tdb_minus_tt_full_s")).abs(), NANOSECOND, "s");
    // The short forms of the almanac and of the leap-second kernel leave out planetary terms of up to 6e-5 s.
    for column in ["tdb_minus_tt_kepler_s", "tdb_minus_tt_2term_s"] {
        table.add(format!("{utc} {column}"), (difference - row.number(column)).abs(), 6e-5, "s");
    }
    // Julian date: the day ends in .5, the fraction has fifteen digits.
    let day = row.number("jd_tt_day").floor();
    let digits =
        row.text("jd_tt_frac").trim_start_matches("0.").parse::<u64>().unwrap_or_default() + 500_000_000_000_000;
    let (day, digits) = (day as u64 + digits / 1_000_000_000_000_000, digits % 1_000_000_000_000_000);
    compare(table, format!("{utc} Julian date"), &format!("JD {day}.{digits:015} TT"), &utc, NANOSECOND);
    Ok(())
}

/// The worked example of the time scale cookbook, in the scales that exist here (UT1, TCG and TCB do not).
pub(crate) fn cookbook_table() -> Table {
    let file = "bodies/timescales_cookbook.csv";
    let mut table = Table::new(file, "SOFA Time Scale and Calendar Tools, worked example");
    let rows = read_csv(file);
    let value = |quantity: &str| {
        rows.iter()
            .find(|row| row.text("quantity") == quantity)
            .map(|row| row.text("value").to_owned())
            .unwrap_or_default()
    };
    let utc = format!("{} UTC", value("utc"));
    for scale in ["TAI", "TT"] {
        let label = format!("{} {scale}", value(&scale.to_lowercase()));
        compare(&mut table, scale.to_owned(), &utc, &label, NANOSECOND);
    }
    // The example stands on a mountain: an observer's part of up to 2.1e-6 s (Earth's radius times its speed about the Sun,
    // over the square of the speed of light) is in its TDB and not in ours.
    compare(&mut table, "TDB".to_owned(), &utc, &format!("{} TDB", value("tdb")), 2.2e-6);
    table
}

/// Every leap second: the offset from its day on, and the second before it that is called 60.
pub(crate) fn leap_seconds_table() -> Table {
    let file = "bodies/leap_seconds.csv";
    let mut table = Table::new(file, "IERS Bulletin C");
    for row in read_csv(file) {
        let (date, offset) = (row.text("utc_date"), row.text("tai_minus_utc_s"));
        let start = format!("{date} UTC");
        compare(&mut table, format!("{date} offset"), &start, &format!("{date}T00:00:{offset} TAI"), 1e-9);
        compare(&mut table, format!("{date} Julian date"), &start, &format!("JD {} UTC", row.text("jd_utc")), 1e-9);
        if let Ok(start) = Epoch::parse(&start) {
            let shown = start.after(-0.5).shown_in(Scale::Utc).iso();
            // The step of 1972-01-01 was 0.107 758 s at 1 + 3e-8 s of TAI to a second, and the last second before it no leap second. The half second is one of
            // TDB, so its last digit may differ.
            let label = if date == "1972-01-01" { "23:59:59.607758012" } else { "23:59:60.5" };
            let expected = format!("{}T{label} UTC", shown.split('T').next().unwrap_or_default());
            compare(&mut table, format!("{date} half a second before"), &format!("{shown} UTC"), &expected, NANOSECOND);
            let second = label.split('.').next().unwrap_or_default();
            table.holds(format!("{date} half a second before: {shown}"), shown.contains(second));
        }
    }
    table
}

/// Offsets of the years in which UTC had a rate of its own.
pub(crate) fn before_1972_table() -> Table {
    let file = "bodies/utc_before_1972.csv";
    let mut table = Table::new(file, "IERS history of TAI - UTC by the routine dat of SOFA");
    for row in read_csv(file) {
        let utc = row.text("utc");
        let offset = row.number("tai_minus_utc_s");
        match (Epoch::parse(&format!("{utc} UTC")), Epoch::parse(&format!("{utc} TAI"))) {
            // TDB seconds and TAI seconds differ by 4e-10 at most: nothing over ten seconds, beside the two roundings to 1 ns.
            (Ok(a), Ok(b)) => table.add(utc, (a.seconds_since(b) - offset).abs(), 2.5e-9 + 4e-9, "s"),
            (Err(why), _) | (_, Err(why)) => table.failed(utc, why),
        }
    }
    table.holds("1959-12-31 has no UTC", Epoch::parse("1959-12-31 UTC").is_err());
    table
}

/// Calendar dates as Julian dates and as days of their year.
pub(crate) fn calendar_table() -> Table {
    let file = "bodies/calendar_jd.csv";
    let mut table = Table::new(file, "IAU SOFA algorithm cal2jd; exact");
    for row in read_csv(file) {
        let year = row.number("year") as i32;
        let sign = if year < 0 { "-" } else { "" };
        let year = format!("{sign}{:04}", year.abs());
        let date = format!("{year}-{:02}-{:02}", row.number("month"), row.number("day"));
        let moment =
            Epoch::parse(&format!("{date} TDB")).map(|epoch| epoch.after(row.number("day_fraction") * 86_400.0));
        let ordinal = Epoch::parse(&format!("{year}-{:03} TDB", row.number("day_of_year")));
        match (moment, ordinal) {
            (Ok(moment), Ok(ordinal)) => {
                let (day, fraction) = moment.julian_date_tdb();
                table.add(format!("{date} Julian date"), (day + fraction - row.number("jd")).abs(), 0.0, "d");
                // One double holds a Julian date of today to 4.7e-10 d; half of that is 2.1e-5 s.
                match Epoch::from_julian_date_tdb(row.number("jd"), 0.0) {
                    Ok(whole) => table.add(
                        format!("{date} from its Julian date"),
                        whole.seconds_since(moment).abs(),
                        2.1e-5,
                        "s",
                    ),
                    Err(why) => table.failed(&date, why),
                }
                table.holds(format!("{date} shown"), moment.iso().starts_with(&date));
                let since = moment.seconds_since(ordinal) - row.number("day_fraction") * 86_400.0;
                table.add(format!("{date} day of the year"), since.abs(), 0.0, "s");
            }
            (Err(why), _) | (_, Err(why)) => table.failed(date, why),
        }
    }
    table
}
