//! The exponential function in lanes.

use super::Lane;

/// Below and above these the exponential has no normal double.
const LEAST: f64 = -708.0;
const GREATEST: f64 = 709.0;

/// 1.5 × 2⁵²: added and taken away it rounds to a whole number, which then stands in the lowest bits.
const ROUNDING: f64 = 6_755_399_441_055_744.0;

/// ln 2 in two parts, the first with its last 21 bits zero: its products with whole numbers below 2¹¹ are exact. [CodyWaite1980], chapter 6.
const LN_2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN_2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// e^x, within one unit in the last place; arguments are held between −708 and 709.
///
/// x = k ln 2 + r with |r| ≤ ln 2/2; Taylor's series of e^r to the 13th power errs by less than 4e-18. [CodyWaite1980], chapter 6.
#[inline(always)]
pub fn exponential<L: Lane>(x: L) -> L {
    let x = x.max(L::splat(LEAST)).min(L::splat(GREATEST));
    let marked = x.mul_add(L::splat(std::f64::consts::LOG2_E), L::splat(ROUNDING));
    let k = marked - ROUNDING;
    let r = k.neg_mul_add(L::splat(LN_2_HIGH), x);
    let r = k.neg_mul_add(L::splat(LN_2_LOW), r);
    let higher = r.polynomial([
        1.0 / 2.0,
        1.0 / 6.0,
        1.0 / 24.0,
        1.0 / 120.0,
        1.0 / 720.0,
        1.0 / 5040.0,
        1.0 / 40_320.0,
        1.0 / 362_880.0,
        1.0 / 3_628_800.0,
        1.0 / 39_916_800.0,
        1.0 / 479_001_600.0,
        1.0 / 6_227_020_800.0,
    ]);
    let value = (r * r).mul_add(higher, r) + 1.0;
    // 2^k: the whole number's bits become the exponent's.
    let power = marked.add_bits(1023).shift_bits_up::<52>();
    value * power
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values of the series summed in 40 digits (mpmath), and the library's over the whole range within a unit in the last place of each.
    #[test]
    fn it_is_the_exponential() {
        for (x, value) in [
            (0.0, 1.0),
            (1.0, std::f64::consts::E),
            (-1.0, 0.367_879_441_171_442_33),
            (10.0, 22_026.465_794_806_718),
            (-700.0, 9.859_676_543_759_77e-305),
        ] {
            assert!((exponential::<f64>(x) - value).abs() <= f64::EPSILON * value, "{x}");
        }
        for i in -7000..7090 {
            let x = f64::from(i) * 0.1 + 0.003;
            let (found, library) = (exponential::<f64>(x), x.exp());
            assert!((found - library).abs() <= 2.0 * f64::EPSILON * library, "{x}: {found} {library}");
        }
        assert!(exponential::<f64>(-1e300) > 0.0 && exponential::<f64>(1e300).is_finite());
    }
}
