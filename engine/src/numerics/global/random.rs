//! Random numbers of our own, so that a seed means the same for ever.

use std::f64::consts::TAU;

/// SplitMix64: 64 bits of state, a period of 2⁶⁴, every seed as good as another. [SteeleLeaFlood2014]
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Random {
    state: u64,
}

impl Random {
    /// The sequence that belongs to a seed.
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even over 0 ≤ x < 1, in steps of 2⁻⁵³.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Even over 0 … `count` − 1; `count` above 0.
    pub fn below(&mut self, count: usize) -> usize {
        // The highest share times the count may round up to the count.
        ((self.share() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// Gaussian of mean 0 and deviation 1. [BoxMuller1958]
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.share()).ln()).sqrt();
        radius * (TAU * self.share()).cos()
    }

    /// Cauchy's distribution about 0 with half-width 1: jumps of all sizes.
    pub fn cauchy(&mut self) -> f64 {
        (std::f64::consts::PI * (self.share() - 0.5)).tan()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn first_numbers_are_the_published_ones() {
        // SplitMix64 from the seed 1234567: first outputs of the authors' reference program (from memory).
        let mut random = Random::new(1_234_567);
        let first: Vec<u64> = (0..3).map(|_| random.bits()).collect();
        assert_eq!(first, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
    }

    #[test]
    fn moments_are_those_of_the_distributions() {
        let mut random = Random::new(3);
        let count = 100_000;
        let normal: Vec<f64> = (0..count).map(|_| random.normal()).collect();
        let (mean, square): (f64, f64) =
            normal.iter().fold((0.0, 0.0), |(m, s), x| (m + x / f64::from(count), s + x * x / f64::from(count)));
        // Deviations of mean and mean square: 1/√n and √(2/n); four of them.
        assert!(mean.abs() < 4.0 * 3.2e-3 && (square - 1.0).abs() < 4.0 * 4.5e-3, "{mean} {square}");
        let inside = (0..count).filter(|_| random.cauchy().abs() < 1.0).count() as f64 / f64::from(count);
        assert!((inside - 0.5).abs() < 4.0 * 1.6e-3, "{inside}");
        assert!((0..1000).all(|_| random.below(3) < 3));
    }
}
