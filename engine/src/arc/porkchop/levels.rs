//! Levels for contours: round figures, close together near the minimum and farther apart away from it.

/// Of the cells with an arc, this share lies below the last level when nothing else bounds it.
const SHARE: f64 = 0.6;

/// About so many round levels (SI) for values of which infinite ones count for nothing, ascending.
///
/// - `reach`: the last level is at most this many times the least value: speeds double, energies grow fourfold.
/// - `unit`: levels are round in this unit, SI.
///
/// Empty when all values are equal, or there are none.
pub(super) fn chosen(values: &[f64], wish: usize, reach: f64, unit: f64) -> Vec<f64> {
    let mut sound: Vec<f64> = values.iter().copied().filter(|value| value.is_finite()).collect();
    sound.sort_by(f64::total_cmp);
    let (Some(least), Some(most)) = (sound.first().copied(), sound.last().copied()) else { return Vec::new() };
    let high = sound[((sound.len() - 1) as f64 * SHARE) as usize].min(reach * least);
    // A grid that is nearly flat is drawn to its highest value.
    let high = if high > 1.05 * least { high } else { most.min(2.0 * reach * least) };
    let span = high - least;
    if !(span > 1e-9 * high.abs()) || wish == 0 {
        return Vec::new();
    }
    // A third of them a step apart, a third two steps, the rest five.
    let stage = wish.div_ceil(3);
    let step = round(span / unit / (stage as f64 * 8.0));
    let mut levels: Vec<f64> = Vec::with_capacity(2 * wish);
    let mut last = least / unit;
    while levels.len() < 3 * wish {
        let step = step * [1.0, 2.0, 5.0][(levels.len() / stage).min(2)];
        let next = ((last / step * (1.0 + 1e-12)).floor() + 1.0) * step;
        if next * unit > high * (1.0 + 1e-9) {
            break;
        }
        levels.push(next * unit);
        last = next;
    }
    levels
}

/// Of 1, 2 and 5 times the powers of ten the one nearest to a positive number, by their ratio.
fn round(number: f64) -> f64 {
    let power = 10_f64.powf(number.log10().floor());
    let share = number / power;
    let step = [(1.0, 1.41), (2.0, 3.16), (5.0, 7.07)].into_iter().find(|(_, most)| share < *most);
    step.map_or(10.0, |(step, _)| step) * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn levels_are_round_ascend_and_widen() {
        let values: Vec<f64> = (0..1000).map(|k| 8.9e6 + 4.0e4 * f64::from(k)).collect();
        let levels = chosen(&values, 9, 4.0, 1e6);
        assert!((7..=12).contains(&levels.len()), "{levels:?}");
        assert!(levels[0] > 8.9e6 && levels.windows(2).all(|pair| pair[0] < pair[1]));
        let gaps: Vec<f64> = levels.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(gaps[gaps.len() - 1] > 2.0 * gaps[0], "{levels:?}");
        assert!(gaps.windows(2).all(|pair| pair[0] < 1.01 * pair[1]), "gaps never narrow: {levels:?}");
        for level in &levels {
            assert!((level / 1e6 - (level / 1e6).round()).abs() < 1e-6, "{level} has decimals");
        }
    }

    #[test]
    fn nothing_to_draw_gives_no_levels() {
        assert!(chosen(&[f64::INFINITY; 4], 9, 4.0, 1.0).is_empty());
        assert!(chosen(&[3.0; 4], 9, 4.0, 1.0).is_empty());
        assert!(chosen(&[], 9, 4.0, 1.0).is_empty());
    }
}
