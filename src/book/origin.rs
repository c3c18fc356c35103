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
    /// The reason, where the design replaced the book's figure.
    pub changed_because: Option<String>,
}
