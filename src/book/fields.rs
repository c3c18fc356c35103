//! Reads the parts of a book's text, and keeps every problem with its place.

use std::ops::Range;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::origin::{Confidence, Origin};
use crate::findings::{Finding, Severity};
use crate::text::nearest;
use crate::text::{FileId, Source, Span};

/// The rule that a broken book breaks.
const RULE: &str = "language.use";

/// A value with its place.
pub(super) type Value<'t> = Spanned<DeValue<'t>>;

/// Reads one book's text.
pub(super) struct Reader<'s> {
    book: Arc<str>,
    file: FileId,
    source: &'s Source,
    pub(super) problems: Vec<Finding>,
}

impl<'s> Reader<'s> {
    pub(super) fn new(book: &str, file: FileId, source: &'s Source) -> Self {
        Self { book: book.into(), file, source, problems: Vec::new() }
    }

    /// Another one for the same text, with problems of its own.
    pub(super) fn beside(&self) -> Self {
        Self::new(&self.book, self.file, self.source)
    }

    /// A range of the text as a place.
    pub(super) fn span(&self, at: Range<usize>) -> Span {
        Span::new(self.file, at.start, at.end)
    }

    /// The text in a range.
    pub(super) fn slice(&self, at: Range<usize>) -> &'s str {
        self.source.text().get(at).unwrap_or("")
    }

    /// Keeps a problem.
    pub(super) fn problem(&mut self, at: Range<usize>, headline: impl Into<String>, help: impl Into<String>) {
        let span = Span::new(self.file, at.start, at.end);
        let line = self.source.line_column(span.start).line;
        let finding = Finding::new(RULE, Severity::Error, format!("line:{line}"), span);
        self.problems.push(finding.headline(headline).label("in this book").help(help));
    }

    /// Keeps a problem with a word that is none of the known ones.
    pub(super) fn unknown(&mut self, at: Range<usize>, what: &str, word: &str, known: &[&str]) {
        let help = match nearest(word, known.iter().copied()) {
            Some(near) => format!("the nearest {what} is `{near}`"),
            None => format!("known here: {}", known.join(", ")),
        };
        self.problem(at, format!("`{word}` is no {what} here"), help);
    }

    /// The value as a table.
    pub(super) fn table<'v, 't>(&mut self, value: &'v Value<'t>, name: &str) -> Option<&'v DeTable<'t>> {
        let table = value.get_ref().as_table();
        if table.is_none() {
            self.problem(value.span(), format!("`{name}` is not a table"), format!("write it as [{name}]"));
        }
        table
    }

    /// The value as text.
    pub(super) fn text<'v>(&mut self, value: &'v Value<'_>, name: &str) -> Option<&'v str> {
        let text = value.get_ref().as_str();
        if text.is_none() {
            self.problem(value.span(), format!("`{name}` is not a text"), "put it in double quotes");
        }
        text
    }

    /// The value as yes or no.
    pub(super) fn flag(&mut self, value: &Value<'_>, name: &str) -> Option<bool> {
        let flag = value.get_ref().as_bool();
        if flag.is_none() {
            self.problem(value.span(), format!("`{name}` is neither true nor false"), "write true or false");
        }
        flag
    }

    /// The value as a finite number.
    pub(super) fn number(&mut self, value: &Value<'_>, name: &str) -> Option<f64> {
        let number = plain_number(value.get_ref());
        if number.is_none() {
            self.problem(
                value.span(),
                format!("`{name}` is not a number"),
                "write it without quotes and unit",
            );
        }
        number
    }

    /// The value as a list.
    pub(super) fn list<'v, 't>(&mut self, value: &'v Value<'t>, name: &str) -> Vec<&'v Value<'t>> {
        match value.get_ref().as_array() {
            Some(list) => list.iter().collect(),
            None => {
                self.problem(value.span(), format!("`{name}` is not a list"), "put it in square brackets");
                Vec::new()
            }
        }
    }

    /// The value as a list of numbers.
    pub(super) fn numbers(&mut self, value: &Value<'_>, name: &str) -> Vec<f64> {
        self.list(value, name).into_iter().filter_map(|cell| self.number(cell, name)).collect()
    }

    /// The value as rows of `width` numbers whose first cells ascend. `first` reads a first cell.
    pub(super) fn rows(
        &mut self,
        value: &Value<'_>,
        width: usize,
        first: fn(&DeValue<'_>) -> Option<f64>,
    ) -> Vec<Vec<f64>> {
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for row in self.list(value, "rows") {
            let mut cells = Vec::with_capacity(width);
            for (at, cell) in self.list(row, "a row").into_iter().enumerate() {
                let number = if at == 0 { first(cell.get_ref()) } else { plain_number(cell.get_ref()) };
                match number {
                    Some(number) => cells.push(number),
                    None => self.problem(cell.span(), "this cell is not a figure", "write a number"),
                }
            }
            if cells.len() != width {
                let headline = format!("this row has {} figures, the table {width}", cells.len());
                self.problem(row.span(), headline, "give each row one figure for each column");
                continue;
            }
            rows.push(cells);
        }
        rows
    }

    /// The fields of a table that has an origin; unknown ones and a missing origin are problems.
    pub(super) fn fields<'v, 't>(
        &mut self,
        value: &'v Value<'t>,
        name: &str,
        known: &[&str],
    ) -> Option<(Origin, &'v DeTable<'t>)> {
        let table = self.table(value, name)?;
        let all: Vec<&str> = known.iter().copied().chain(["source", "confidence"]).collect();
        for key in table.keys() {
            if !all.contains(&key.get_ref().as_ref()) {
                self.unknown(key.span(), "key", key.get_ref(), &all);
            }
        }
        for key in known {
            if !table.contains_key(*key) {
                self.problem(value.span(), format!("`{name}` has no `{key}`"), format!("add `{key}`"));
            }
        }
        let origin = self.origin(table, value.span(), name)?;
        Some((origin, table))
    }

    fn origin(&mut self, table: &DeTable<'_>, at: Range<usize>, name: &str) -> Option<Origin> {
        let (source, confidence) = (table.get("source"), table.get("confidence"));
        if source.is_none() || confidence.is_none() {
            let help =
                "add `source` (the published text, or \"common practice, no source\") and `confidence`";
            self.problem(at, format!("`{name}` does not say where it is from"), help);
            return None;
        }
        let source = self.text(source?, "source")?;
        let word = self.text(confidence?, "confidence")?;
        let known = Confidence::WORDS.iter().find(|row| row.0 == word);
        if known.is_none() {
            self.unknown(confidence?.span(), "confidence", word, &Confidence::WORDS.map(|row| row.0));
        }
        Some(Origin { source: source.into(), confidence: known?.1, book: self.book.clone() })
    }
}

/// A number as TOML has it; `None` for anything else.
pub(super) fn plain_number(value: &DeValue<'_>) -> Option<f64> {
    let text = match value {
        DeValue::Integer(integer) if integer.radix() == 10 => integer.as_str(),
        DeValue::Float(float) => float.as_str(),
        _ => return None,
    };
    text.parse().ok().filter(|number: &f64| number.is_finite())
}
