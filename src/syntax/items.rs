//! The items of one logical line, by the grammar. Every text gives items; what begins none of them is a stray.

use pest::{Parser, Token};

use crate::text::{FileId, Span};

#[derive(pest_derive::Parser)]
#[grammar = "grammar/loom.pest"]
struct Loom;

/// What an item is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ItemKind {
    /// A word, a name, a unit or a terminal.
    Word,
    /// A number without its unit.
    Number,
    /// A gauge such as `2/0`.
    Gauge,
    /// A number with a decimal comma.
    Comma,
    /// A date.
    Date,
    /// A text with its quotes.
    Text,
    /// A text that nothing closes.
    OpenText,
    /// A parameter with its `$`.
    Parameter,
    /// A mark of punctuation.
    Mark(u8),
    /// A character that begins no item.
    Stray,
}

/// One item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Item {
    /// What it is.
    pub(crate) kind: ItemKind,
    /// Where it is.
    pub(crate) span: Span,
}

/// Reads the items of `text`, which starts at byte `start` of its file, into `items`.
pub(crate) fn read(file: FileId, text: &str, start: usize, items: &mut Vec<Item>) {
    items.clear();
    let Ok(pairs) = Loom::parse(Rule::line, text) else {
        // The grammar takes every text; only pest's own limits could lead here.
        items.push(Item { kind: ItemKind::Stray, span: Span::new(file, start, start + text.len()) });
        return;
    };
    let mut from = 0;
    for token in pairs.tokens() {
        match token {
            Token::Start { pos, .. } => from = pos.pos(),
            Token::End { rule, pos } => {
                if let Some(kind) = kind(rule, text.get(from..pos.pos()).unwrap_or("")) {
                    items.push(Item { kind, span: Span::new(file, start + from, start + pos.pos()) });
                }
            }
        }
    }
}

fn kind(rule: Rule, text: &str) -> Option<ItemKind> {
    Some(match rule {
        Rule::word | Rule::dash => ItemKind::Word,
        Rule::figure => figure(text),
        Rule::text => ItemKind::Text,
        Rule::open_text => ItemKind::OpenText,
        Rule::parameter => ItemKind::Parameter,
        Rule::mark => ItemKind::Mark(text.bytes().next().unwrap_or(0)),
        Rule::stray => ItemKind::Stray,
        Rule::EOI | Rule::line | Rule::blank | Rule::word_char => return None,
    })
}

fn figure(text: &str) -> ItemKind {
    let mut kind = ItemKind::Number;
    for byte in text.bytes().skip(1) {
        match byte {
            b'/' => kind = ItemKind::Gauge,
            b',' => kind = ItemKind::Comma,
            b'-' => return ItemKind::Date,
            _ => {}
        }
    }
    kind
}
