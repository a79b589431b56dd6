//! The outcome of a set of checks against published values.

use std::fmt::Write as _;

/// One comparison: how far off, and how far off is allowed.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// the row of the data file, and what of it was compared
    pub id: String,
    /// how far off; NaN fails
    pub error: f64,
    /// how far off is allowed
    pub bound: f64,
    /// of error and bound: `relative`, `rad`, `s`, `km`, …
    pub unit: &'static str,
}

impl Row {
    /// Whether the error is within the bound. A NaN is not.
    pub fn passed(&self) -> bool {
        self.error <= self.bound
    }
}

/// The comparisons of one data file.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// the data file, with what was compared if it is compared in several ways
    pub name: String,
    /// where the values come from
    pub source: String,
    /// the comparisons
    pub rows: Vec<Row>,
}

impl Table {
    /// A table without rows yet.
    pub fn new(name: &str, source: &str) -> Self {
        Self { name: name.to_owned(), source: source.to_owned(), rows: Vec::new() }
    }

    /// Adds the comparison `error` ≤ `bound`.
    pub fn add(&mut self, id: impl Into<String>, error: f64, bound: f64, unit: &'static str) {
        self.rows.push(Row { id: id.into(), error, bound, unit });
    }

    /// Adds the comparison of a number with the one expected, relative to the latter's size.
    pub fn relative(&mut self, id: impl Into<String>, got: f64, expected: f64, bound: f64) {
        let error = if got == expected { 0.0 } else { (got - expected).abs() / expected.abs() };
        self.add(id, error, bound, "relative");
    }

    /// Adds a check that answers yes or no.
    pub fn holds(&mut self, id: impl Into<String>, holds: bool) {
        self.add(id, if holds { 0.0 } else { 1.0 }, 0.0, "failures");
    }

    /// Adds the failure of a computation that should have answered.
    pub fn failed(&mut self, id: impl Into<String>, why: impl std::fmt::Display) {
        self.add(format!("{}: {why}", id.into()), f64::INFINITY, 0.0, "no answer");
    }

    /// How many rows are within their bounds.
    pub fn passed(&self) -> usize {
        self.rows.iter().filter(|row| row.passed()).count()
    }

    /// The row that comes nearest to its bound, or is furthest beyond it.
    pub fn worst(&self) -> Option<&Row> {
        let weight = |row: &Row| {
            if row.passed() { if row.error == 0.0 { 0.0 } else { row.error / row.bound } } else { f64::INFINITY }
        };
        self.rows.iter().max_by(|a, b| weight(a).total_cmp(&weight(b)).then(a.error.total_cmp(&b.error)))
    }

    /// One line: name, rows, rows passed, the worst row with its error against its bound.
    pub fn line(&self) -> String {
        let mut line = format!("{:<44} {:>5} {:>6}", self.name, self.rows.len(), self.passed());
        if let Some(row) = self.worst() {
            let share = if row.error == 0.0 { 0.0 } else { row.error / row.bound };
            let _ =
                write!(line, "  {share:>9.3}  {:>9.2e} of {:>8.2e} {:<9} {}", row.error, row.bound, row.unit, row.id);
        }
        line
    }

    /// The heading above [`Table::line`].
    pub fn heading() -> String {
        format!("{:<44} {:>5} {:>6}  {:>9}  worst row: error of bound", "table", "rows", "passed", "err/bound")
    }

    /// The rows beyond their bounds, a line each.
    pub fn failures(&self) -> Vec<String> {
        let failed = self.rows.iter().filter(|row| !row.passed());
        failed
            .map(|row| format!("{}: {}: {:e} exceeds {:e} {}", self.name, row.id, row.error, row.bound, row.unit))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nan_and_excess_fail() {
        let mut table = Table::new("t", "none");
        table.add("good", 1.0, 2.0, "m");
        table.add("bad", f64::NAN, 2.0, "m");
        table.add("worse", 3.0, 2.0, "m");
        assert_eq!(table.passed(), 1);
        assert_eq!(table.failures().len(), 2);
    }
}
