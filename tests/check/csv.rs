//! Reads the reference tables: comma separated text with `#` comments and quotes, and TOML with `[[case]]` tables.

use std::collections::BTreeMap;
use std::path::PathBuf;

/// One row of a CSV file, by column.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    file: String,
    fields: BTreeMap<String, String>,
}

impl Record {
    /// The text of a column, empty if the row has nothing there.
    pub fn text(&self, column: &str) -> &str {
        self.fields.get(column).unwrap_or_else(|| panic!("{} has no column {column}", self.file))
    }

    /// Whether the file has the column and the row something in it.
    pub fn has(&self, column: &str) -> bool {
        self.fields.get(column).is_some_and(|text| !text.is_empty())
    }

    /// The number in a column, rounded correctly to binary64; infinite for `inf`.
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{}: {column} is no number: {text:?} in {:?}", self.file, self.fields))
    }

    /// The numbers in three columns.
    pub fn vector(&self, columns: [&str; 3]) -> [f64; 3] {
        columns.map(|column| self.number(column))
    }
}

/// The path of a file under `tests/reference/`.
pub fn reference_path(file: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("reference").join(file)
}

/// The rows of a CSV file under `tests/reference/`, such as `trajectory/propagation.csv`.
pub fn read_csv(file: &str) -> Vec<Record> {
    parse_csv(file, &read(file))
}

/// A TOML file under `tests/reference/`.
pub fn read_toml(file: &str) -> toml::Table {
    read(file).parse().unwrap_or_else(|error| panic!("{file}: {error}"))
}

fn read(file: &str) -> String {
    let path = reference_path(file);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn parse_csv(file: &str, text: &str) -> Vec<Record> {
    let mut lines = text.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    let header = split(lines.next().unwrap_or_default());
    let record = |line: &str| {
        let fields = split(line);
        assert_eq!(fields.len(), header.len(), "{file}: {line}");
        Record { file: file.to_owned(), fields: header.iter().cloned().zip(fields).collect() }
    };
    lines.map(record).collect()
}

/// The fields of one line; text in double quotes may hold commas, and a doubled quote stands for one.
fn split(line: &str) -> Vec<String> {
    let mut fields = vec![String::new()];
    let (mut quoted, mut characters) = (false, line.chars().peekable());
    while let Some(character) = characters.next() {
        let last = fields.len() - 1;
        match character {
            '"' if quoted && characters.peek() == Some(&'"') => {
                characters.next();
                fields[last].push('"');
            }
            '"' => quoted = !quoted,
            ',' if !quoted => fields.push(String::new()),
            _ => fields[last].push(character),
        }
    }
    fields
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quotes_comments_and_empty_fields() {
        let rows = parse_csv("t", "# note, with comma\na,b,c\n1,\"x, \"\"y\"\"\",\n");
        assert_eq!(rows[0].text("b"), "x, \"y\"");
        assert_eq!(rows[0].number("a"), 1.0);
        assert!(!rows[0].has("c"));
    }
}
