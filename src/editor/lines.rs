//! The logical line around a place, as items.

use crate::syntax::items::{self, Item, ItemKind};
use crate::syntax::lines::cut;
use crate::text::FileId;

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
    let mut at = floor(text, offset);
    loop {
        let Some(line) = text.get(..at).and_then(|before| before.rfind('\n')) else { return 0 };
        if !joined(text, line) {
            return line + 1;
        }
        at = line;
    }
}

/// Where it ends, before the line end.
pub(super) fn end(text: &str, offset: usize) -> usize {
    let mut at = floor(text, offset);
    while let Some(next) = text.get(at..).and_then(|rest| rest.find('\n')) {
        if !joined(text, at + next) {
            return at + next;
        }
        at += next + 1;
    }
    text.len()
}

/// Whether a backslash joins the lines on the two sides of a line end.
fn joined(text: &str, at: usize) -> bool {
    let before = text.get(..at).unwrap_or("");
    before.strip_suffix('\r').unwrap_or(before).ends_with('\\')
}

fn floor(text: &str, offset: usize) -> usize {
    let mut offset = offset.min(text.len());
    while !text.is_char_boundary(offset) {
        offset -= 1;
    }
    offset
}
