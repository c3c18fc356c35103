//! The logical line around a place, as items.

use crate::syntax::items::{self, Item, ItemKind};
use crate::syntax::lines::{cut, end_of_line};
use crate::text::{FileId, Span};

/// A logical line, or its part before a place.
#[derive(Debug)]
pub(super) struct Line<'t> {
    text: &'t str,
    pub(super) items: Vec<Item>,
    /// It ends in a comment.
    pub(super) comment: bool,
}

impl<'t> Line<'t> {
    /// The whole line around a byte.
    pub(super) fn around(text: &'t str, offset: usize) -> Self {
        Self::of(text, start(text, offset), end(text, offset))
    }

    /// The line as far as a byte.
    pub(super) fn before(text: &'t str, offset: usize) -> Self {
        Self::of(text, start(text, offset), offset)
    }

    fn of(text: &'t str, start: usize, end: usize) -> Self {
        let mut found = Vec::new();
        let Some(line) = cut(FileId(0), text.get(start..end).unwrap_or("")).next() else {
            return Self { text, items: found, comment: false };
        };
        let (from, to) = (start + line.code.start as usize, start + line.code.end as usize);
        items::read(FileId(0), text.get(from..to).unwrap_or(""), from, &mut found);
        Self { text, items: found, comment: line.comment.is_some() }
    }

    /// The words of an item.
    pub(super) fn slice(&self, item: Item) -> &'t str {
        self.text.get(item.span.start as usize..item.span.end as usize).unwrap_or("")
    }

    /// The words of the item at a place in the line.
    pub(super) fn word(&self, at: usize) -> &'t str {
        self.items.get(at).map_or("", |item| self.slice(*item))
    }

    /// The line on one line again, with other words at some places.
    pub(super) fn written_with(&self, other: &[(Span, String)]) -> String {
        let mut words: Vec<&str> = Vec::new();
        for item in &self.items {
            match other.iter().find(|(span, _)| span.start <= item.span.start && item.span.end <= span.end) {
                Some((span, word)) if span.start == item.span.start => words.push(word),
                Some(_) => {}
                None => words.push(self.slice(*item)),
            }
        }
        words.join(" ")
    }

    /// Which item stands at a byte; right after it counts, if no other begins there.
    pub(super) fn at(&self, offset: usize) -> Option<usize> {
        let on = |item: &Item| item.span.start as usize <= offset && offset <= item.span.end as usize;
        let inside = |item: &Item| on(item) && offset < item.span.end as usize;
        self.items.iter().position(inside).or_else(|| self.items.iter().position(on))
    }

    /// Whether an item is the unit of the number before it.
    pub(super) fn is_unit(&self, at: usize) -> bool {
        let before = at.checked_sub(1).and_then(|at| self.items.get(at));
        before.is_some_and(|item| is_number(item.kind))
    }
}

/// Whether a kind of item is a number.
pub(super) fn is_number(kind: ItemKind) -> bool {
    matches!(kind, ItemKind::Number | ItemKind::Gauge | ItemKind::Comma)
}

/// Where the logical line around a byte starts.
pub(super) fn start(text: &str, offset: usize) -> usize {
    around(text, offset).0
}

/// Where it ends, before the line end.
pub(super) fn end(text: &str, offset: usize) -> usize {
    around(text, offset).1
}

/// Where the logical line around a byte starts and ends.
fn around(text: &str, offset: usize) -> (usize, usize) {
    let at = floor(text, offset);
    // A line end without a backslash before it joins nothing. Whether one with it does is seen from there on: in a comment
    // and in a text it does not.
    let joins = |end: usize| {
        let before = text.get(..end).unwrap_or("");
        before.strip_suffix('\r').unwrap_or(before).ends_with('\\')
    };
    let mut first = at;
    let mut from = loop {
        match text.get(..first).and_then(|before| before.rfind('\n')) {
            None => break 0,
            Some(end) if !joins(end) => break end + 1,
            Some(end) => first = end,
        }
    };
    loop {
        let end = end_of_line(text, from);
        if at <= end || text.len() <= end {
            return (from, end);
        }
        from = end + 1;
    }
}

fn floor(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}

#[cfg(test)]
mod tests {
    use super::{end, start};
    use crate::syntax::lines::end_of_line;

    /// From any byte the same lines as from the first on.
    #[test]
    fn lines_are_those_that_are_read() {
        for text in [
            "",
            "a\nb",
            "a \\\n b\nc\n",
            "a # c \\\nb\n",
            "# c\\\r\n# d\\\r\nb \\\r\n c\r\nd",
            "a \"x\\\ny\" \\\n z # w\\\n\nq\\",
            "\u{feff}a\\\n\\\n\\\nb # é\\\nö\\\nc",
        ] {
            let mut from = 0;
            while from <= text.len() {
                let to = end_of_line(text, from);
                for at in (from..=to).filter(|at| text.is_char_boundary(*at)) {
                    assert_eq!((start(text, at), end(text, at)), (from, to), "{text:?} at {at}");
                }
                from = to + 1;
            }
        }
    }
}
