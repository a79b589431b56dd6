//! How much room letters take: widths of DejaVu Sans, so that texts can be set without meeting.

/// Advance widths of the printable ASCII characters, 1/2048 of the size, from the plain face that is embedded beside.
const PLAIN: [u16; 95] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690, 1303, 1303, 1303, 1303, 1303,
    1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087, 2048, 1401, 1405, 1430, 1577, 1294, 1178, 1587,
    1540, 604, 604, 1343, 1141, 1767, 1532, 1612, 1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403,
    799, 690, 799, 1716, 1024, 1024, 1255, 1300, 1126, 1300, 1260, 721, 1300, 1298, 569, 569, 1186, 569, 1995, 1298,
    1253, 1300, 1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075, 1303, 690, 1303, 1716,
];

/// The same of the bold face.
const BOLD: [u16; 95] = [
    713, 934, 1067, 1716, 1425, 2052, 1786, 627, 936, 936, 1071, 1716, 778, 850, 778, 748, 1425, 1425, 1425, 1425,
    1425, 1425, 1425, 1425, 1425, 1425, 819, 819, 1716, 1716, 1716, 1188, 2048, 1585, 1561, 1503, 1700, 1399, 1399,
    1681, 1714, 762, 762, 1587, 1305, 2038, 1714, 1741, 1501, 1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483,
    1485, 936, 748, 936, 1716, 1024, 1024, 1382, 1466, 1214, 1466, 1389, 891, 1466, 1458, 702, 702, 1362, 702, 2134,
    1458, 1407, 1466, 1466, 1010, 1219, 979, 1458, 1335, 1892, 1321, 1335, 1192, 1458, 748, 1458, 1716,
];

/// Of a character that is in neither list: the widest that are used, such as `Δ`.
const OTHER: u16 = 1500;

/// Width of a text (user units) at a size.
pub fn width(text: &str, size: f64, bold: bool) -> f64 {
    let table = if bold { &BOLD } else { &PLAIN };
    let units: u32 = text
        .chars()
        .map(|c| {
            let index = (c as usize).wrapping_sub(32);
            u32::from(match c {
                '²' | '³' | '°' | '·' | '–' => 900,
                _ => table.get(index).copied().unwrap_or(OTHER),
            })
        })
        .sum();
    f64::from(units) / 2048.0 * size
}

/// A place taken by a text or a mark: its centre, half its sides, and the turn (degrees, clockwise) of the text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plate {
    /// Centre, user units.
    pub centre: (f64, f64),
    /// Half of the width and of the height.
    pub half: (f64, f64),
    /// Degrees, clockwise.
    pub degrees: f64,
}

impl Plate {
    fn corners(&self) -> [(f64, f64); 4] {
        let (sine, cosine) = self.degrees.to_radians().sin_cos();
        [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(a, b)| {
            let (x, y) = (a * self.half.0, b * self.half.1);
            (self.centre.0 + x * cosine - y * sine, self.centre.1 + x * sine + y * cosine)
        })
    }

    /// Whether two plates overlap: no side of either separates them.
    pub fn meets(&self, other: &Plate) -> bool {
        let (a, b) = (self.corners(), other.corners());
        [self.degrees, self.degrees + 90.0, other.degrees, other.degrees + 90.0].into_iter().all(|degrees| {
            let (sine, cosine) = degrees.to_radians().sin_cos();
            let range = |corners: &[(f64, f64); 4]| {
                let along = corners.map(|(x, y)| x * cosine + y * sine);
                along.into_iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
            };
            let ((low, high), (other_low, other_high)) = (range(&a), range(&b));
            low < other_high && other_low < high
        })
    }

    /// Whether it lies inside a rectangle given by its upper left and lower right corners.
    pub fn inside(&self, least: (f64, f64), most: (f64, f64)) -> bool {
        self.corners().into_iter().all(|(x, y)| least.0 <= x && x <= most.0 && least.1 <= y && y <= most.1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plates_meet_when_turned_into_each_other() {
        let plate = |x: f64, degrees: f64| Plate { centre: (x, 0.0), half: (10.0, 2.0), degrees };
        assert!(plate(0.0, 0.0).meets(&plate(19.0, 0.0)) && !plate(0.0, 0.0).meets(&plate(21.0, 0.0)));
        // Upright, the second one is only four wide.
        assert!(!plate(0.0, 0.0).meets(&plate(13.0, 90.0)) && plate(0.0, 0.0).meets(&plate(11.0, 90.0)));
        assert!(plate(0.0, 45.0).inside((-9.0, -9.0), (9.0, 9.0)) && !plate(0.0, 0.0).inside((-9.0, -9.0), (9.0, 9.0)));
    }

    #[test]
    fn bold_letters_are_wider() {
        assert!(width("C3 and v", 12.0, true) > width("C3 and v", 12.0, false));
        assert!((width("0", 2048.0, false) - 1303.0).abs() < 1e-9);
    }
}
