//! A text as editors see it: lines, and columns in the units that were agreed on.

use std::sync::Arc;

use lsp_types::{Position, PositionEncodingKind, Range, TextDocumentContentChangeEvent};

use crate::text::Span;

/// What a column counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Encoding {
    Utf8,
    Utf16,
}

impl Encoding {
    /// Bytes if the client offers them, else what every client has.
    pub(super) fn of(offered: Option<&[PositionEncodingKind]>) -> Self {
        match offered {
            Some(offered) if offered.contains(&PositionEncodingKind::UTF8) => Self::Utf8,
            _ => Self::Utf16,
        }
    }

    pub(super) fn kind(self) -> PositionEncodingKind {
        match self {
            Self::Utf8 => PositionEncodingKind::UTF8,
            Self::Utf16 => PositionEncodingKind::UTF16,
        }
    }
}

/// A text with its line starts. A line ends in LF, CR LF or CR, as the protocol has it.
#[derive(Debug, Clone)]
pub(super) struct Text {
    pub(super) text: Arc<str>,
    starts: Vec<usize>,
    encoding: Encoding,
}

impl Text {
    pub(super) fn new(text: impl Into<Arc<str>>, encoding: Encoding) -> Self {
        let text = text.into();
        let bytes = text.as_bytes();
        let mut starts = vec![0];
        for (at, byte) in bytes.iter().enumerate() {
            if *byte == b'\n' || (*byte == b'\r' && bytes.get(at + 1) != Some(&b'\n')) {
                starts.push(at + 1);
            }
        }
        Self { text, starts, encoding }
    }

    /// The byte at a position; one beyond the end of its line or text is its end.
    pub(super) fn offset(&self, position: Position) -> usize {
        let line = position.line as usize;
        let Some(start) = self.starts.get(line).copied() else { return self.text.len() };
        let end = self.starts.get(line + 1).copied().unwrap_or(self.text.len());
        let row = self.text.get(start..end).unwrap_or("").trim_end_matches(['\r', '\n']);
        let mut left = position.character as usize;
        for (at, one) in row.char_indices() {
            let width = self.width(one);
            if left < width {
                return start + at;
            }
            left -= width;
        }
        start + row.len()
    }

    /// The position of a byte; one inside a character is its start.
    pub(super) fn position(&self, offset: usize) -> Position {
        let mut offset = offset.min(self.text.len());
        while !self.text.is_char_boundary(offset) {
            offset -= 1;
        }
        let line = self.starts.partition_point(|start| *start <= offset).max(1) - 1;
        let start = self.starts.get(line).copied().unwrap_or(0);
        let before = self.text.get(start..offset).unwrap_or("");
        let column: usize = match self.encoding {
            Encoding::Utf8 => before.len(),
            Encoding::Utf16 => before.chars().map(char::len_utf16).sum(),
        };
        let clip = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        Position { line: clip(line), character: clip(column) }
    }

    pub(super) fn range(&self, span: Span) -> Range {
        Range { start: self.position(span.start as usize), end: self.position(span.end as usize) }
    }

    /// The text with a change made in it.
    pub(super) fn changed(&self, change: TextDocumentContentChangeEvent) -> Self {
        let Some(range) = change.range else { return Self::new(change.text, self.encoding) };
        let (a, b) = (self.offset(range.start), self.offset(range.end));
        let (start, end) = (a.min(b), a.max(b));
        let mut text = String::with_capacity(self.text.len() + change.text.len());
        text.push_str(self.text.get(..start).unwrap_or(""));
        text.push_str(&change.text);
        text.push_str(self.text.get(end..).unwrap_or(""));
        Self::new(text, self.encoding)
    }

    fn width(&self, one: char) -> usize {
        match self.encoding {
            Encoding::Utf8 => one.len_utf8(),
            Encoding::Utf16 => one.len_utf16(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(line: u32, character: u32) -> Position {
        Position { line, character }
    }

    #[test]
    fn columns_count_what_was_agreed_on() {
        let text = "a\u{fc}\u{1d11e}b\r\nsecond\rthird";
        let utf16 = Text::new(text, Encoding::Utf16);
        assert_eq!(utf16.offset(at(0, 4)), 7);
        assert_eq!(utf16.offset(at(0, 3)), 3, "inside a pair is its start");
        assert_eq!(utf16.offset(at(0, 99)), 8, "the end of the line");
        assert_eq!(utf16.offset(at(1, 0)), 10);
        assert_eq!(utf16.offset(at(2, 1)), 18);
        assert_eq!(utf16.offset(at(9, 9)), text.len());
        assert_eq!(utf16.position(7), at(0, 4));
        assert_eq!(utf16.position(5), at(0, 2));
        let utf8 = Text::new(text, Encoding::Utf8);
        assert_eq!((utf8.offset(at(0, 7)), utf8.position(7)), (7, at(0, 7)));
    }

    #[test]
    fn changes_are_made_where_they_are() {
        let text = Text::new("one\ntwo\n", Encoding::Utf16);
        let change = |range, with: &str| TextDocumentContentChangeEvent {
            range,
            range_length: None,
            text: with.into(),
        };
        let range = |a, b| Some(Range { start: a, end: b });
        assert_eq!(&*text.changed(change(range(at(0, 3), at(1, 1)), "-")).text, "one-wo\n");
        assert_eq!(&*text.changed(change(range(at(1, 1), at(0, 3)), "-")).text, "one-wo\n");
        assert_eq!(&*text.changed(change(range(at(7, 7), at(8, 8)), "end")).text, "one\ntwo\nend");
        assert_eq!(&*text.changed(change(None, "all")).text, "all");
    }
}
