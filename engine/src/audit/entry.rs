//! One line of the audit, and the whole of it.

use super::Law;

/// What the audit says of a law on a leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// The residual is within the bound.
    Good,
    /// The residual is within its bound, but the model is used where it has nothing to hold on to.
    OutOfDepth,
    /// The residual is beyond the bound.
    Beyond,
}

impl Verdict {
    /// What a reader calls it.
    pub fn name(self) -> &'static str {
        match self {
            Verdict::Good => "good",
            Verdict::OutOfDepth => "out of depth",
            Verdict::Beyond => "beyond",
        }
    }
}

/// One law on one leg: residual and bound in SI, in the law's dimension.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Name of the leg.
    pub leg: String,
    /// The law.
    pub law: Law,
    /// How far off the law is, zero or more.
    pub residual: f64,
    /// How far off rounding can put it, zero or more.
    pub bound: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// What else a reader should know; empty mostly.
    pub note: String,
}

impl Entry {
    /// An entry judged by its bound. A residual that is no number is beyond any bound.
    pub fn judged(leg: &str, law: Law, residual: f64, bound: f64, note: String) -> Entry {
        let verdict = if residual <= bound { Verdict::Good } else { Verdict::Beyond };
        // No NaN reaches an answer: what cannot be computed is shown as the largest number there is.
        let residual = if residual.is_finite() { residual } else { f64::MAX };
        let bound = if bound.is_finite() { bound } else { f64::MAX };
        Entry { leg: leg.to_owned(), law, residual, bound, verdict, note }
    }

    /// The same entry, good at most as far as a model out of its depth can be.
    pub fn out_of_depth(self) -> Entry {
        Entry { verdict: self.verdict.max(Verdict::OutOfDepth), ..self }
    }

    /// Residual over bound; 0 where both are zero.
    pub fn ratio(&self) -> f64 {
        if self.residual == 0.0 { 0.0 } else { (self.residual / self.bound).min(f64::MAX) }
    }
}

/// All entries of a voyage, in the order of its legs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Audit {
    entries: Vec<Entry>,
}

impl Audit {
    /// An audit from its entries.
    pub fn new(entries: Vec<Entry>) -> Audit {
        Audit { entries }
    }

    /// Its entries, in the order of the legs.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The worst verdict of all; good where there is nothing to judge.
    pub fn verdict(&self) -> Verdict {
        self.entries.iter().map(|entry| entry.verdict).max().unwrap_or(Verdict::Good)
    }

    /// The entry nearest to its bound, or farthest beyond.
    pub fn worst(&self) -> Option<&Entry> {
        self.entries.iter().max_by(|a, b| {
            (a.verdict, a.ratio()).partial_cmp(&(b.verdict, b.ratio())).unwrap_or(std::cmp::Ordering::Equal)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_residual_that_is_no_number_is_beyond() {
        let entry = Entry::judged("coast", Law::Energy, f64::NAN, 1.0, String::new());
        assert_eq!((entry.verdict, entry.residual), (Verdict::Beyond, f64::MAX));
    }

    #[test]
    fn the_worst_verdict_is_the_verdict() {
        let good = Entry::judged("coast", Law::Energy, 1.0, 2.0, String::new());
        let deep = good.clone().out_of_depth();
        let beyond = Entry::judged("coast", Law::Energy, 3.0, 2.0, String::new());
        assert_eq!(Audit::default().verdict(), Verdict::Good);
        assert_eq!(Audit::new(vec![good.clone(), deep.clone()]).verdict(), Verdict::OutOfDepth);
        let audit = Audit::new(vec![deep, beyond.clone(), good]);
        assert_eq!(audit.verdict(), Verdict::Beyond);
        assert_eq!(audit.worst(), Some(&beyond));
        assert_eq!(beyond.out_of_depth().verdict, Verdict::Beyond);
    }
}
