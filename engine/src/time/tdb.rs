//! TDB − TT: the periodic series of Fairhead and Bretagnon at the geocentre, in integer nanoseconds and undone exactly.
//!
//! All 787 terms of [FairheadBretagnon1990], with the mass adjustments of [SOFA]. Against integrations of the ephemeris they are good to
//! about 3 ns from 1950 to 2050; far from the present the definition of TDB is what it is because the same series is used both ways.

use std::sync::LazyLock;

/// amplitude (s), frequency (rad per Julian millennium), phase (rad), by power of time.
static TERMS: LazyLock<[Vec<[f64; 3]>; 5]> = LazyLock::new(|| {
    let mut terms: [Vec<[f64; 3]>; 5] = Default::default();
    for line in include_str!("../../data/tdb_minus_tt.txt").lines().filter(|line| !line.starts_with('#')) {
        let mut words = line.split_whitespace();
        let power = words.next().and_then(|word| word.parse::<usize>().ok()).and_then(|power| terms.get_mut(power));
        let numbers: Vec<f64> = words.filter_map(|word| word.parse().ok()).collect();
        if let (Some(power), &[amplitude, frequency, phase]) = (power, numbers.as_slice()) {
            power.push([amplitude * 1e-6, frequency, phase]);
        }
    }
    terms
});

/// TDB − TT in s at TDB nanoseconds past J2000.
fn difference(tdb: i128) -> f64 {
    let t = tdb as f64 / (365_250.0 * 86_400e9);
    let mut total = 0.0;
    for terms in TERMS.iter().rev() {
        // Small terms first, so that they are not lost one by one.
        let sum: f64 =
            terms.iter().rev().map(|[amplitude, frequency, phase]| amplitude * (frequency * t + phase).sin()).sum();
        total = total * t + sum;
    }
    total
}

/// TDB − TT in whole ns.
fn nanoseconds(tdb: i128) -> i128 {
    (difference(tdb) * 1e9).round() as i128
}

/// TT of a TDB instant, ns past noon of 2000-01-01 of each.
pub(super) fn tt_from_tdb(tdb: i128) -> i128 {
    tdb - nanoseconds(tdb)
}

/// TDB of a TT instant. The difference changes by less than 4e-10 of the time that passes, so one substitution is exact to far
/// below 1 ns and the last step settles the rounding, so that `tt_from_tdb` gives the argument back wherever it can.
pub(super) fn tdb_from_tt(tt: i128) -> i128 {
    let tdb = tt + nanoseconds(tt + nanoseconds(tt));
    let missing = tt - tt_from_tdb(tdb);
    tdb + missing
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn has_every_term() {
        assert_eq!(TERMS.iter().map(Vec::len).collect::<Vec<_>>(), [474 + 4, 205, 85 + 1, 20, 3]);
    }

    #[test]
    fn meets_the_test_value_of_its_source() {
        // [SOFA] validation program, routine dtdb: JD 2448939.5 + 0.123, TDB - TT = -0.1280368005936998991e-2 s for an observer; its geocentric part
        // alone, recomputed with the same routine and a distance of zero, stands in the table of time scales that the reference tests read.
        let tdb = ((2_448_939.5_f64 + 0.123 - 2_451_545.0) * 86_400e9) as i128;
        // The observer's part is 2.1e-6 s at most (5250 km from the axis).
        assert!((difference(tdb) + 0.128_036_800_6e-2).abs() < 2.2e-6);
    }

    proptest! {
        #[test]
        fn the_way_there_and_back_moves_at_most_a_nanosecond(tdb in -31_557_600_000_000_000_000_i128..31_557_600_000_000_000_000) {
            prop_assert!((tdb_from_tt(tt_from_tdb(tdb)) - tdb).abs() <= 1);
            prop_assert!((tt_from_tdb(tdb_from_tt(tdb)) - tdb).abs() <= 1);
        }
    }
}
