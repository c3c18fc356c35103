//! Cuts a text into logical lines: continuations joined, comments split off, blank lines kept. Knows no statement.

use crate::text::{FileId, Span, after_mark};

/// One logical line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Line {
    /// What is not comment, without blanks around it; empty on a blank line.
    pub(crate) code: Span,
    /// The comment with its `#`.
    pub(crate) comment: Option<Span>,
    /// The first control character in the line.
    pub(crate) control: Option<Span>,
}

/// Cuts a text; a byte order mark at its start is skipped.
pub(crate) fn cut(file: FileId, text: &str) -> impl Iterator<Item = Line> {
    let mut at = after_mark(text);
    std::iter::from_fn(move || {
        if at >= text.len() {
            return None;
        }
        let (line, next) = one(file, text, at);
        at = next;
        Some(line)
    })
}

/// Where the logical line that starts at a byte ends, before its line end.
pub(crate) fn end_of_line(text: &str, start: usize) -> usize {
    one(FileId(0), text, start).1 - 1
}

/// The logical line that starts at a byte, and where the next one starts.
fn one(file: FileId, text: &str, start: usize) -> (Line, usize) {
    let bytes = text.as_bytes();
    let mut at = start;
    let mut quoted = false;
    let mut comment = None;
    let mut control = None;
    let end = loop {
        let Some(&byte) = bytes.get(at) else { break at };
        match byte {
            b'\n' => break at,
            b'\\' if quoted && comment.is_none() => {
                // An escaped character is skipped with its backslash, unless it would be the end of the line.
                let escaped = bytes.get(at + 1).is_some_and(|next| matches!(next, b'"' | b'\\'));
                at += if escaped { 2 } else { 1 };
                continue;
            }
            b'\\' if comment.is_none() => match bytes.get(at + 1..) {
                Some([b'\n', ..]) => at += 1,
                Some([b'\r', b'\n', ..]) => at += 2,
                _ => {}
            },
            b'"' if comment.is_none() => quoted = !quoted,
            b'#' if comment.is_none() && !quoted => comment = Some(at),
            b'\t' => {}
            b'\r' if matches!(bytes.get(at + 1), Some(b'\n') | None) => {}
            0..0x20 | 0x7f => {
                control.get_or_insert(Span::new(file, at, at + 1));
            }
            // A no-break space is text in a text, and anywhere else looks like the space that it is not.
            0xc2 if bytes.get(at + 1).is_some_and(|next| {
                (0x80..0xa0).contains(next) || (*next == 0xa0 && !quoted && comment.is_none())
            }) =>
            {
                control.get_or_insert(Span::new(file, at, at + 2));
            }
            _ => {}
        }
        at += 1;
    };
    let code_end = comment.unwrap_or(end).min(text.len());
    let code = trimmed(file, text, start, code_end);
    let comment = comment.map(|from| Span::new(file, from, from + text[from..end].trim_end().len()));
    (Line { code, comment, control }, end + 1)
}

fn trimmed(file: FileId, text: &str, start: usize, end: usize) -> Span {
    let blank = [' ', '\t', '\r'];
    let all = &text[start..end];
    let from = start + (all.len() - all.trim_start_matches(blank).len());
    Span::new(file, from, from + text[from..end].trim_end_matches(blank).len())
}
