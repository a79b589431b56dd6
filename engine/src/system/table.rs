//! Built-in tables: comma separated, comment lines opened by `#`, then a line of column names; a cell in quotes may hold commas.

use super::error::{Problem, SystemError};

/// The rows of one built-in table.
pub(super) struct Table<'t> {
    name: &'static str,
    columns: Vec<&'t str>,
    rows: Vec<Vec<&'t str>>,
}

/// One row; a missing column or a word where a number belongs is a damaged table.
#[derive(Clone, Copy)]
pub(super) struct Row<'t> {
    table: &'t Table<'t>,
    cells: &'t [&'t str],
}

impl<'t> Table<'t> {
    pub(super) fn read(name: &'static str, text: &'t str) -> Self {
        let mut lines = text.lines().filter(|line| !line.starts_with('#') && !line.trim().is_empty());
        let columns = lines.next().map(split).unwrap_or_default();
        Self { name, columns, rows: lines.map(split).collect() }
    }

    pub(super) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|cells| Row { table: self, cells })
    }

    /// The row whose columns hold these words.
    pub(super) fn find(&self, wanted: &[(&str, &str)]) -> Option<Row<'_>> {
        self.rows().find(|row| wanted.iter().all(|(column, word)| row.text(column).is_ok_and(|cell| cell == *word)))
    }
}

/// The cells of a line, quotes taken off.
fn split(line: &str) -> Vec<&str> {
    let mut cells = Vec::new();
    let mut quoted = false;
    let mut start = 0;
    for (at, letter) in line.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => {
                cells.push(&line[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    cells.push(&line[start..]);
    cells.into_iter().map(|cell| cell.trim().trim_matches('"')).collect()
}

impl<'t> Row<'t> {
    pub(super) fn text(&self, column: &str) -> Result<&'t str, SystemError> {
        let index = self.table.columns.iter().position(|name| *name == column);
        index
            .and_then(|index| self.cells.get(index))
            .copied()
            .ok_or_else(|| self.damaged(format!("no column `{column}`")))
    }

    pub(super) fn number(&self, column: &str) -> Result<f64, SystemError> {
        let text = self.text(column)?;
        text.parse::<f64>()
            .ok()
            .filter(|number| number.is_finite())
            .ok_or_else(|| self.damaged(format!("`{text}` in column `{column}` is no number")))
    }

    /// A number that the table gives in degrees, in rad.
    pub(super) fn degrees(&self, column: &str) -> Result<f64, SystemError> {
        self.number(column).map(f64::to_radians)
    }

    fn damaged(&self, message: String) -> SystemError {
        SystemError::nowhere(Problem::DamagedTable { table: self.table.name, message })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_hold_commas() {
        let table = Table::read("t", "# note, aside\na,b,c\n1,\"x, y\",3\n");
        let row = table.find(&[("a", "1")]).expect("a row");
        assert_eq!(row.text("b").expect("b"), "x, y");
        assert_eq!(row.number("c").expect("c"), 3.0);
        assert!(row.number("b").is_err() && row.text("d").is_err());
    }
}
