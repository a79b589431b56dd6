//! A scale of colours for ordered values: from blue through green to cream, dark to light, even steps to the eye.
//!
//! It is a curve in the colour space CIE 1976 L*a*b* [CIE15]. Lightness L* grows evenly, so that the order survives in grey and
//! for every reader; b* runs straight from blue to yellow, the difference that most colour-vision deficiencies leave; a*
//! bows towards green only so far that the steps stay alike. The test below holds it to that, with published
//! simulations of the deficiencies.

use std::f64::consts::PI;

/// The white point of sRGB, D65. [IEC61966]
const WHITE: [f64; 3] = [0.950_47, 1.0, 1.088_83];

/// From CIE XYZ to linear sRGB. [IEC61966]
const FROM_XYZ: [[f64; 3]; 3] = [
    [3.240_454_2, -1.537_138_5, -0.498_531_4],
    [-0.969_266_0, 1.876_010_8, 0.041_556_0],
    [0.055_643_4, -0.204_025_9, 1.057_225_2],
];

/// L*, a*, b* of the scale at a share from 0 (dark) to 1 (light).
fn lab(share: f64) -> [f64; 3] {
    [50.0 + 46.0 * share, 2.0 - 6.0 * share - 26.0 * (PI * share).sin(), -40.0 + 63.0 * share]
}

/// Linear sRGB of a colour in L*a*b*, each channel within 0 to 1.
fn linear([lightness, a, b]: [f64; 3]) -> [f64; 3] {
    let middle = (lightness + 16.0) / 116.0;
    let root = [middle + a / 500.0, middle, middle - b / 200.0];
    let mut xyz = [0.0; 3];
    for k in 0..3 {
        let t = root[k];
        let share = if t > 6.0 / 29.0 { t * t * t } else { 3.0 * (6.0_f64 / 29.0).powi(2) * (t - 4.0 / 29.0) };
        xyz[k] = WHITE[k] * share;
    }
    FROM_XYZ.map(|row| (row[0] * xyz[0] + row[1] * xyz[1] + row[2] * xyz[2]).clamp(0.0, 1.0))
}

/// The colour at a share from 0 (dark) to 1 (light), as `#rrggbb`.
pub fn colour(share: f64) -> String {
    let channels = linear(lab(share.clamp(0.0, 1.0))).map(|channel| {
        let encoded = if channel <= 0.003_130_8 { 12.92 * channel } else { 1.055 * channel.powf(1.0 / 2.4) - 0.055 };
        (255.0 * encoded).round() as u8
    });
    format!("#{:02x}{:02x}{:02x}", channels[0], channels[1], channels[2])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From linear sRGB to CIE XYZ. [IEC61966]
    const TO_XYZ: [[f64; 3]; 3] = [
        [0.412_456_4, 0.357_576_1, 0.180_437_5],
        [0.212_672_9, 0.715_152_2, 0.072_175_0],
        [0.019_333_9, 0.119_192_0, 0.950_304_1],
    ];

    /// What linear sRGB looks like to full protanopes, deuteranopes and tritanopes. [Machado2009], table of severity 1.0
    const SEEN: [(&str, [[f64; 3]; 3]); 4] = [
        ("all", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
        (
            "protan",
            [
                [0.152_286, 1.052_583, -0.204_868],
                [0.114_503, 0.786_281, 0.099_216],
                [-0.003_882, -0.048_116, 1.051_998],
            ],
        ),
        (
            "deutan",
            [[0.367_322, 0.860_646, -0.227_968], [0.280_085, 0.672_501, 0.047_413], [-0.011_820, 0.042_940, 0.968_881]],
        ),
        (
            "tritan",
            [
                [1.255_528, -0.076_749, -0.178_779],
                [-0.078_411, 0.930_809, 0.147_602],
                [0.004_733, 0.691_367, 0.303_900],
            ],
        ),
    ];

    fn times(matrix: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
        matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
    }

    /// Read back from the text that is drawn, so that rounding to bytes is in it.
    fn drawn(share: f64) -> [f64; 3] {
        let text = colour(share);
        [1, 3, 5].map(|at| {
            let byte = u8::from_str_radix(&text[at..at + 2], 16).expect("two digits");
            let channel = f64::from(byte) / 255.0;
            if channel <= 0.040_45 { channel / 12.92 } else { ((channel + 0.055) / 1.055).powf(2.4) }
        })
    }

    fn to_lab(linear: [f64; 3]) -> [f64; 3] {
        let xyz = times(&TO_XYZ, linear);
        let mut f = [0.0; 3];
        for k in 0..3 {
            let t = xyz[k] / WHITE[k];
            f[k] =
                if t > (6.0_f64 / 29.0).powi(3) { t.cbrt() } else { t / (3.0 * (6.0_f64 / 29.0).powi(2)) + 4.0 / 29.0 };
        }
        [116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])]
    }

    #[test]
    fn every_eye_sees_the_order_and_the_steps() {
        // Ten colours, as many as a picture has bands.
        let shares: Vec<f64> = (0..10).map(|k| f64::from(k) / 9.0).collect();
        for (who, matrix) in &SEEN {
            let seen: Vec<[f64; 3]> = shares
                .iter()
                .map(|share| to_lab(times(matrix, drawn(*share)).map(|channel| channel.clamp(0.0, 1.0))))
                .collect();
            for pair in seen.windows(2) {
                // Lightness alone tells neighbours apart: a step of 1 is just seen side by side. [CIE15], common practice
                assert!(pair[1][0] - pair[0][0] > 3.5, "{who}: lightness {seen:?}");
                let apart = (0..3).map(|k| (pair[1][k] - pair[0][k]).powi(2)).sum::<f64>().sqrt();
                assert!(apart > 4.5, "{who}: {apart}");
            }
        }
    }

    #[test]
    fn steps_are_alike_for_most_readers() {
        let colours: Vec<[f64; 3]> = (0..10).map(|k| to_lab(drawn(f64::from(k) / 9.0))).collect();
        let steps: Vec<f64> = colours
            .windows(2)
            .map(|pair| (0..3).map(|k| (pair[1][k] - pair[0][k]).powi(2)).sum::<f64>().sqrt())
            .collect();
        let (least, most) = steps.iter().fold((f64::INFINITY, 0.0_f64), |(a, b), step| (a.min(*step), b.max(*step)));
        assert!(most / least < 1.6, "{steps:?}");
    }

    #[test]
    fn the_curve_stays_inside_what_screens_show() {
        // The clamp would bend the curve; it may cut no more than a byte's worth.
        for k in 0..=100 {
            let share = f64::from(k) / 100.0;
            let (meant, shown) = (lab(share), to_lab(drawn(share)));
            let off = (0..3).map(|k| (meant[k] - shown[k]).powi(2)).sum::<f64>().sqrt();
            assert!(off < 1.0, "{share}: {off}");
        }
    }
}
