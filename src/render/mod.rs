//! How judgements are written down: for people, one line a finding, or as JSON; and the pages of rules and books. Writes to what it is given and
//! reads nothing; types of the snippet library stay in here.

mod book_pages;
mod explain;
mod human;
mod json;
mod lines;
mod narrate;
mod page;
mod rule_pages;
mod snippet;
mod study;
mod wording;

use std::borrow::Cow;
use std::io::{Result, Write};

use crate::check::Judgement;
use crate::findings::{Finding, Severity};

pub use book_pages::{book_list, book_page};
pub use human::{Human, Manner};
pub use json::Json;
pub use lines::Lines;
pub use page::{Page, PageLook};
pub use rule_pages::{rule_list, rule_page};
pub use study::{StudyHuman, StudyJson, StudyReport};

/// One form of output. A run calls `begin`, then `design` for each design that is not a library with `separator` between
/// them, then `end`; so a fleet never stands in memory as a whole.
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

/// Something that is told as a page or as JSON.
#[derive(Debug, Clone)]
pub struct Document {
    /// The page for people.
    pub page: Page,
    /// The same for programs.
    pub json: String,
}

/// Counts over all designs of a run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Designs, those that could not be read included.
    pub designs: usize,
    /// Libraries that were met and not judged.
    pub libraries: usize,
    /// Designs that could not be read.
    pub unreadable: usize,
    /// Elements of all designs.
    pub elements: usize,
    /// Errors that no waiver accepts.
    pub errors: usize,
    /// Warnings that no waiver accepts.
    pub warnings: usize,
    /// Advice that no waiver accepts.
    pub advice: usize,
    /// Findings that a waiver accepts.
    pub accepted: Vec<Accepted>,
    /// Whether some text was not in the language, so that a design was not judged in full.
    pub language: bool,
    /// The books that judged, by name, in order of first use.
    pub books: Vec<String>,
}

/// A finding that a waiver accepts, as the summary tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Accepted {
    /// The rule's id.
    pub rule: Cow<'static, str>,
    /// The subject.
    pub subject: String,
    /// The place, as `path:line`.
    pub place: String,
    /// The reason given.
    pub why: String,
    /// The last day on which it holds.
    pub until: String,
}

impl Tally {
    /// The counts of one design.
    #[must_use]
    pub fn of(judgement: &Judgement) -> Self {
        let mut tally = Self::default();
        if is_library(judgement) {
            tally.libraries = 1;
            return tally;
        }
        tally.designs = 1;
        if judgement.unreadable.is_some() {
            tally.unreadable = 1;
        } else {
            tally.elements = judgement.n_elements;
            tally.books.push(judgement.book.clone());
        }
        for finding in &judgement.findings {
            tally.count(judgement, finding);
        }
        tally
    }

    fn count(&mut self, judgement: &Judgement, finding: &Finding) {
        if let Some(waived) = &finding.waived {
            self.accepted.push(Accepted {
                rule: finding.rule.clone(),
                subject: finding.subject.clone(),
                place: Place::of(judgement, finding.span).line_only(),
                why: waived.why.clone(),
                until: waived.until.clone(),
            });
            return;
        }
        self.language |= finding.rule.starts_with("language.");
        match finding.severity {
            Severity::Error => self.errors += 1,
            Severity::Warning => self.warnings += 1,
            Severity::Advice => self.advice += 1,
        }
    }

    /// Adds the counts of another design, or of several.
    pub fn add(&mut self, other: Self) {
        self.designs += other.designs;
        self.libraries += other.libraries;
        self.unreadable += other.unreadable;
        self.elements += other.elements;
        self.errors += other.errors;
        self.warnings += other.warnings;
        self.advice += other.advice;
        self.accepted.extend(other.accepted);
        self.language |= other.language;
        for book in other.books {
            if !self.books.contains(&book) {
                self.books.push(book);
            }
        }
    }

    /// How many findings that no waiver accepts are at or above `level`.
    #[must_use]
    pub fn at_least(&self, level: Severity) -> usize {
        match level {
            Severity::Error => self.errors,
            Severity::Warning => self.errors + self.warnings,
            Severity::Advice => self.errors + self.warnings + self.advice,
        }
    }

    /// Whether something could not be judged.
    #[must_use]
    pub fn unjudged(&self) -> bool {
        0 < self.unreadable || self.language
    }
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
