//! Where a figure is from, and how sure that is.

use std::sync::Arc;

/// How a figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Confidence {
    /// Seen in a public text.
    Checked,
    /// Worked out by a formula that the source names.
    Computed,
    /// Remembered, to be confirmed against the current edition.
    Memory,
    /// What the trade does, without a published source.
    CommonPractice,
    /// Stated by the design itself.
    Design,
}

impl Confidence {
    /// The words that a book can use.
    pub const WORDS: [(&'static str, Self); 4] = [
        ("checked", Self::Checked),
        ("computed", Self::Computed),
        ("memory", Self::Memory),
        ("common-practice", Self::CommonPractice),
    ];

    /// What a message adds to a source that was not seen; nothing for any other.
    #[must_use]
    pub fn caution(self) -> &'static str {
        if self == Self::Memory { "; from memory, to be confirmed" } else { "" }
    }

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|row| row.1 == self).map_or("design", |row| row.0)
    }
}

/// Where a figure or a table is from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Origin {
    pub(super) source: Arc<str>,
    pub(super) confidence: Confidence,
    /// The book that states it.
    pub(super) book: Arc<str>,
}

impl Origin {
    /// The source, and that the figure is from memory where it is.
    pub(super) fn cited(&self) -> String {
        format!("{}{}", self.source, self.confidence.caution())
    }
}

/// One figure of a book, for messages and for the listing.
#[derive(Debug, Clone, PartialEq)]
pub struct Figure {
    /// The value as it is written, or what a table holds.
    pub value_text: String,
    /// The published source, or that there is none.
    pub source: String,
    /// How it is known.
    pub confidence: Confidence,
    /// The book that states it: this one, or one that it builds on.
    pub book: String,
    /// The reason, where the design replaced the book's figure.
    pub changed_because: Option<String>,
}

/// One figure inside a table of a book.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// The table, as [`super::Book::figures`] names it.
    pub table: String,
    /// Its row: a size, a class, a temperature, a rating; empty where the table has one row.
    pub row: String,
    /// Its column; empty where the table has one.
    pub column: String,
    /// The figure, or the word.
    pub value: String,
    /// The published source, or that there is none.
    pub source: String,
    /// How it is known.
    pub confidence: Confidence,
    /// The book that states it.
    pub book: String,
}
