//! Sums that keep what rounding loses.

/// A running sum with the rounding errors of every addition kept apart.
///
/// The error of the total is one rounding of the result, plus a term of second order in the number of terms and the machine precision.
///
/// # Source
/// [Neumaier1974].
///
/// # Example
/// ```
/// # use visviva_engine::numerics::sum::Compensated;
/// let sum: Compensated = [1.0, 1e100, 1.0, -1e100].into_iter().collect();
/// assert_eq!(sum.total(), 2.0);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Compensated {
    sum: f64,
    lost: f64,
}

impl Compensated {
    /// A sum of nothing: zero.
    pub const fn new() -> Self {
        Self { sum: 0.0, lost: 0.0 }
    }

    /// Adds a term.
    pub fn add(&mut self, term: f64) {
        let sum = self.sum + term;
        // The smaller of the two loses digits; they are recovered exactly.
        self.lost += if self.sum.abs() >= term.abs() { (self.sum - sum) + term } else { (term - sum) + self.sum };
        self.sum = sum;
    }

    /// The total so far.
    pub fn total(self) -> f64 {
        self.sum + self.lost
    }
}

impl FromIterator<f64> for Compensated {
    fn from_iter<T: IntoIterator<Item = f64>>(terms: T) -> Self {
        let mut sum = Self::new();
        sum.extend(terms);
        sum
    }
}

impl Extend<f64> for Compensated {
    fn extend<T: IntoIterator<Item = f64>>(&mut self, terms: T) {
        for term in terms {
            self.add(term);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_million_tenths_are_a_hundred_thousand() {
        let tenths = || std::iter::repeat_n(0.1, 1_000_000);
        assert_eq!(tenths().collect::<Compensated>().total(), 100_000.0);
        assert!((tenths().sum::<f64>() - 100_000.0).abs() > 1e-7, "the plain sum would do");
    }
}
