//! How judgements are written down: for people, one line a finding, as JSON, SARIF or JUnit; what changed between two; and
//! the pages of rules and books. Writes to what it is given and reads nothing; types of the snippet library stay in here.

mod book_pages;
mod compare;
mod entries;
mod explain;
mod human;
mod join;
mod json;
mod junit;
mod known;
mod lines;
mod narrate;
mod page;
mod rule_pages;
mod sarif;
mod share;
mod snippet;
mod study;
mod tally;
mod uri;
mod wording;

pub use wording::clean;

use std::io::{Result, Write};

use crate::check::Judgement;

pub use book_pages::{book_list, book_page};
pub use compare::{CompareHuman, CompareJson, CompareMarkdown, CompareReport};
pub use entries::{DesignEntry, HouseEntry};
pub use human::{Human, Manner};
pub use join::Joined;
pub use json::Json;
pub use junit::JUnit;
pub use known::{KnownEntry, KnownList, accept};
pub use lines::Lines;
pub use page::{Page, PageLook};
pub use rule_pages::{rule_list, rule_page};
pub use sarif::Sarif;
pub use share::{Asked, ShareEntry};
pub use study::{StudyHuman, StudyJson, StudyReport};
pub use tally::{Accepted, Lost, Tally};

/// One form of output. A run calls `begin`, then `design` for each design that is not a library with `separator` between
/// those that have written something, then `end`; so a fleet never stands in memory as a whole.
pub trait Output: Send + Sync {
    /// What comes before the first design.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    fn begin(&self, out: &mut dyn Write) -> Result<()>;

    /// One design.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()>;

    /// What stands between two designs.
    fn separator(&self) -> &'static str {
        ""
    }

    /// What comes after the last design.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    fn end(&self, tally: &Tally, out: &mut dyn Write) -> Result<()>;
}

/// A form of output that can be made from what is published of a design, without its text.
pub trait Published: Output {
    /// One design.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    fn entry(&self, design: &DesignEntry<'_>, out: &mut dyn Write) -> Result<()>;
}

/// Something that is told as a page or as JSON.
#[derive(Debug, Clone)]
pub struct Document {
    /// The page for people.
    pub page: Page,
    /// The same for programs.
    pub json: String,
}

/// Whether the file is a library with nothing to report, so that no output mentions it as a design.
#[must_use]
pub fn is_library(judgement: &Judgement) -> bool {
    judgement.library && judgement.unreadable.is_none() && judgement.findings.is_empty()
}

/// Where a span begins, as it is shown.
struct Place<'j> {
    path: &'j str,
    line: u32,
    column: u32,
}

impl<'j> Place<'j> {
    fn of(judgement: &'j Judgement, span: crate::text::Span) -> Self {
        let source = judgement.sources.get(span.file);
        let at = source.line_column(span.start);
        let path = if source.path().is_empty() { &judgement.path } else { source.path() };
        Self { path, line: at.line, column: at.column }
    }

    fn line_only(&self) -> String {
        format!("{}:{}", wording::clean(self.path), self.line)
    }
}

impl std::fmt::Display for Place<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", wording::clean(self.path), self.line, self.column)
    }
}

#[cfg(test)]
mod tests;
