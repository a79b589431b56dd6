//! Tables for the terminal: plain columns, figures to the right.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};
use visviva_engine::time::Epoch;

/// One line below the headers and no others.
const STYLE: TableStyle = TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));

/// A table with its headers; columns whose header begins with `>` stand to the right.
pub(super) struct Columns {
    table: Table,
}

impl Columns {
    /// A table without rows.
    pub(super) fn titled(headers: &[&str]) -> Self {
        let mut table = Table::new();
        table.load_style(STYLE);
        table.set_header(headers.iter().map(|header| header.trim_start_matches('>')));
        for (column, header) in table.column_iter_mut().zip(headers) {
            if header.starts_with('>') {
                column.set_cell_alignment(CellAlignment::Right);
            }
        }
        Self { table }
    }

    /// Adds a row.
    pub(super) fn row(&mut self, cells: &[String]) {
        self.table.add_row(cells);
    }

    /// The text, without blanks at the ends of lines.
    pub(super) fn text(&self) -> String {
        let lines: Vec<String> = self.table.to_string().lines().map(|line| line.trim_end().to_owned()).collect();
        lines.join("\n")
    }
}

/// An epoch as a table shows it: rounded to the second, with its scale.
pub(super) fn date(epoch: Epoch) -> String {
    let shown = epoch.after(0.5).show();
    let (iso, scale) = shown.split_once(' ').unwrap_or((shown.as_str(), ""));
    let whole = iso.split('.').next().unwrap_or(iso);
    format!("{} {scale}", whole.replace('T', " ")).trim_end().to_owned()
}

/// A cell of a CSV file: quoted where it holds what would end it. [RFC4180]
pub(super) fn csv_cell(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_that_would_end_a_cell_are_quoted() {
        assert_eq!(csv_cell("burn"), "burn");
        assert_eq!(csv_cell("a, \"b\""), "\"a, \"\"b\"\"\"");
    }

    #[test]
    fn dates_are_rounded_to_the_second() {
        assert_eq!(date(Epoch::J2000.after(0.25)), "2000-01-01 12:00:00 TDB");
        assert_eq!(date(Epoch::J2000.after(59.75)), "2000-01-01 12:01:00 TDB");
    }
}
