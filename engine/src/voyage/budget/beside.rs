//! A budget beside what a voyage spent.

use super::Budget;
use crate::voyage::Ledger;

/// A line and what was flown for it.
#[derive(Debug, Clone, PartialEq)]
pub struct BesideRow {
    /// The line's name, or the leg's where no line stands for it.
    pub name: String,
    /// The line's Δv, m/s; `None` where the budget has none for the leg.
    pub budget: Option<f64>,
    /// The same with its margin, m/s.
    pub with_margin: Option<f64>,
    /// What was spent, m/s; `None` where nothing was flown for the line.
    pub flown: Option<f64>,
    /// The legs that were taken for it.
    pub legs: Vec<String>,
}

impl BesideRow {
    /// What is left of the line with its margin, m/s; below zero where it was overdrawn.
    pub fn left(&self) -> Option<f64> {
        Some(self.with_margin? - self.flown?)
    }
}

/// The table.
#[derive(Debug, Clone, PartialEq)]
pub struct Beside {
    /// In the budget's order, then the legs without a line.
    pub rows: Vec<BesideRow>,
    /// Sums of the budget, with margin, and of the voyage, m/s.
    pub sums: (f64, f64, f64),
}

impl Budget {
    /// Sets the burns of a ledger beside the lines.
    ///
    /// A leg belongs to the line that `named` says (leg, line); else, in the order of flying, to the next line of whose words the leg's name
    /// holds one; else it stands for itself below.
    pub fn beside(&self, ledger: &Ledger, named: &[(String, String)]) -> Beside {
        let mut rows: Vec<BesideRow> = self
            .lines
            .iter()
            .map(|line| BesideRow {
                name: line.name.clone(),
                budget: Some(line.dv),
                with_margin: Some(line.with_margin()),
                flown: None,
                legs: Vec::new(),
            })
            .collect();
        let mut reached = 0;
        for row in ledger.rows.iter().filter(|row| row.dv > 0.0) {
            let said = named.iter().find(|(leg, _)| *leg == row.leg).map(|(_, line)| line.as_str());
            let leg = row.leg.to_lowercase();
            let index = match said {
                Some(name) => self.lines.iter().position(|line| line.name == name),
                None => {
                    (reached..self.lines.len()).find(|&k| self.lines[k].words.iter().any(|word| leg.contains(word)))
                }
            };
            match index {
                Some(k) => {
                    reached = reached.max(k);
                    rows[k].flown = Some(rows[k].flown.unwrap_or(0.0) + row.dv);
                    rows[k].legs.push(row.leg.clone());
                }
                None => rows.push(BesideRow {
                    name: row.leg.clone(),
                    budget: None,
                    with_margin: None,
                    flown: Some(row.dv),
                    legs: vec![row.leg.clone()],
                }),
            }
        }
        Beside { rows, sums: (self.dv(), self.with_margin(), ledger.dv) }
    }
}
