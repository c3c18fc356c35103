//! Reads the published tables in `tests/data/`, and compares figures.
#![expect(clippy::panic, reason = "a table that cannot be read fails the test that asked for it")]

use std::collections::BTreeMap;
use std::path::Path;

/// One row by column name.
pub(super) struct Row {
    place: String,
    line: String,
    cells: BTreeMap<String, String>,
}

impl Row {
    /// The row as it stands in the file.
    pub(super) fn line(&self) -> &str {
        &self.line
    }

    pub(super) fn text(&self, column: &str) -> &str {
        self.cells.get(column).unwrap_or_else(|| panic!("{} has no column {column}", self.place))
    }

    pub(super) fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{}: {column} is {text:?}, not a number", self.place))
    }

    /// A figure among `name=value;name=value`.
    pub(super) fn input(&self, name: &str) -> &str {
        let mut pairs = self.text("inputs").split(';').filter_map(|pair| pair.split_once('='));
        pairs.find(|pair| pair.0 == name).unwrap_or_else(|| panic!("{} has no input {name}", self.place)).1
    }

    /// Asserts that ours lies within a share of what is published.
    pub(super) fn agrees(&self, ours: f64, published: f64, share: f64) {
        let off = (ours - published).abs();
        assert!(off <= share * published.abs() + 1e-9, "{}: ours {ours}, published {published}", self.place);
    }
}

/// All rows of a table; each has a source and a known confidence.
pub(super) fn rows(name: &str) -> Vec<Row> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(format!("{name}.csv"));
    let text = std::fs::read_to_string(&path).expect("the table");
    let mut lines = text.lines();
    let columns = cells(lines.next().unwrap_or_default());
    let row = |(at, line): (usize, &str)| {
        let cells = cells(line);
        assert_eq!(cells.len(), columns.len(), "{name}.csv line {}", at + 2);
        let row = Row {
            place: format!("{name}.csv line {}", at + 2),
            line: line.to_owned(),
            cells: columns.iter().cloned().zip(cells).collect(),
        };
        assert!(!row.text("source").is_empty(), "{} has no source", row.place);
        row
    };
    lines.enumerate().map(row).collect()
}

/// The rows of one kind.
pub(super) fn kind(name: &str, kind: &str) -> Vec<Row> {
    rows(name).into_iter().filter(|row| row.text("kind") == kind).collect()
}

/// The row with this id.
pub(super) fn id(name: &str, id: &str) -> Row {
    rows(name)
        .into_iter()
        .find(|row| row.text("id") == id)
        .unwrap_or_else(|| panic!("{name}.csv has no {id}"))
}

/// The cells of a line; quoted ones may hold commas.
fn cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            other => cells.last_mut().expect("never empty").push(other),
        }
    }
    cells
}
