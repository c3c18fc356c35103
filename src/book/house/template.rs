//! Messages with values in them.

use super::fields::{Element, FieldRow, named};
use super::parse::Fault;
use super::value::Row;
use crate::text::nearest;

/// Longest text of a message.
const LONGEST: usize = 1_000;

/// A text with fields in it.
#[derive(Debug, Clone)]
pub(crate) struct Template(Vec<Piece>);

#[derive(Debug, Clone)]
enum Piece {
    Text(String),
    Field(&'static FieldRow),
}

impl Template {
    /// Reads `W1 is {colour}`; `{{` and `}}` stand for themselves.
    pub(super) fn read(text: &str, element: Element) -> Result<Self, Fault> {
        if LONGEST < text.len() {
            return Err(Fault::new(
                0..0,
                format!("the text is longer than {LONGEST} bytes"),
                "say it shorter",
            ));
        }
        let mut pieces = Vec::new();
        let mut plain = String::new();
        let mut rest = text.char_indices().peekable();
        while let Some((at, one)) = rest.next() {
            match one {
                '{' | '}' if rest.peek().is_some_and(|next| next.1 == one) => {
                    rest.next();
                    plain.push(one);
                }
                '{' => {
                    let Some(end) = text.get(at..).and_then(|rest| rest.find('}')).map(|end| at + end) else {
                        return Err(Fault::new(
                            at..at + 1,
                            "a `{` is not closed",
                            "write `{{` for a bracket itself",
                        ));
                    };
                    let name = text.get(at + 1..end).unwrap_or("");
                    let row = named(name).filter(|row| row.suits(element));
                    let Some(row) = row else { return Err(unknown(name, element, at..end + 1)) };
                    if !plain.is_empty() {
                        pieces.push(Piece::Text(std::mem::take(&mut plain)));
                    }
                    pieces.push(Piece::Field(row));
                    while rest.peek().is_some_and(|next| next.0 <= end) {
                        rest.next();
                    }
                }
                '}' => {
                    return Err(Fault::new(
                        at..at + 1,
                        "a `}` closes nothing",
                        "write `}}` for a bracket itself",
                    ));
                }
                one => plain.push(one),
            }
        }
        if !plain.is_empty() {
            pieces.push(Piece::Text(plain));
        }
        Ok(Self(pieces))
    }

    pub(super) fn fields(&self) -> impl Iterator<Item = &'static FieldRow> {
        self.0.iter().filter_map(|piece| match piece {
            Piece::Field(row) => Some(*row),
            Piece::Text(_) => None,
        })
    }

    /// The text with an element's values.
    pub(crate) fn fill(&self, row: &Row<'_>) -> String {
        let mut text = String::new();
        for piece in &self.0 {
            match piece {
                Piece::Text(plain) => text += plain,
                Piece::Field(field) => {
                    text += &row.get(field.name).map_or_else(String::new, |row| row.1.tell(row.0));
                }
            }
        }
        text
    }
}

/// A field that an element does not have.
pub(super) fn unknown(name: &str, element: Element, at: std::ops::Range<usize>) -> Fault {
    let word = element.word();
    if named(name).is_some() {
        let other = named(name).map(FieldRow::elements).unwrap_or_default().join(", ");
        return Fault::new(at, format!("a {word} has no `{name}`"), format!("these have it: {other}"));
    }
    let known = super::FIELDS.iter().filter(|row| row.suits(element)).map(|row| row.name);
    let help = match nearest(name, known.clone()) {
        Some(near) => format!("the nearest field is `{near}`"),
        None => format!("a {word} has: {}", known.collect::<Vec<_>>().join(", ")),
    };
    Fault::new(at, format!("`{}` is no field of a {word}", crate::book::house::parse::clip(name)), help)
}
