//! Counts over the designs of a run, and what else its end tells.

use std::borrow::Cow;

use super::entries::{DesignEntry, FindingEntry, HouseEntry};
use super::known::KnownEntry;
use super::share::ShareEntry;
use super::{Place, is_library, wording};
use crate::check::Judgement;
use crate::findings::{Finding, Severity};

/// Counts over all designs of a run.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Designs, those that could not be read included.
    pub designs: usize,
    /// Libraries that were met and not judged.
    pub libraries: usize,
    /// Designs that could not be read.
    pub lost: Vec<Lost>,
    /// Elements of all designs.
    pub elements: usize,
    /// Errors that nothing accepts.
    pub errors: usize,
    /// Warnings that nothing accepts.
    pub warnings: usize,
    /// Advice that nothing accepts.
    pub advice: usize,
    /// Findings that a waiver accepts.
    pub accepted: Vec<Accepted>,
    /// Findings that are on the list of what is known already.
    pub known: usize,
    /// Whether some text was not in the language, so that a design was not judged in full.
    pub language: bool,
    /// The books that judged, by name, in order of first use.
    pub books: Vec<String>,
    /// The rules of those books' own, in order of first use.
    pub house: Vec<HouseEntry>,
    /// What kept the run from judging, beside what is told of a design.
    pub problems: Vec<String>,
    /// What is on the list of known findings and no longer found, where there is a list.
    pub stale: Option<Vec<KnownEntry>>,
    /// Which share of the designs this was, where they are split.
    pub share: Option<ShareEntry>,
}

/// A design that could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lost {
    /// Its path as it is shown.
    pub path: String,
    /// Why.
    pub why: String,
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
        tally.design(&judgement.path, &judgement.book, judgement.unreadable.as_deref());
        tally.elements = judgement.n_elements;
        tally.house = judgement.house.iter().map(|rule| HouseEntry::of(rule)).collect();
        for finding in &judgement.findings {
            tally.finding(judgement, finding);
        }
        tally
    }

    /// The counts of one design as it was published; its elements are not.
    #[must_use]
    pub fn of_entry(design: &DesignEntry<'_>) -> Self {
        let mut tally = Self::default();
        tally.design(&design.file, &design.book, design.unreadable.as_deref());
        for finding in &design.findings {
            tally.finding_entry(finding);
        }
        tally
    }

    fn design(&mut self, path: &str, book: &str, unreadable: Option<&str>) {
        self.designs = 1;
        match unreadable {
            Some(why) => self.lost.push(Lost { path: path.into(), why: why.into() }),
            None => self.books.push(book.into()),
        }
    }

    fn finding(&mut self, judgement: &Judgement, finding: &Finding) {
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
        self.count(finding.severity, finding.known, finding.rule.starts_with("language."));
    }

    fn finding_entry(&mut self, finding: &FindingEntry<'_>) {
        if let Some(waived) = &finding.waived {
            self.accepted.push(Accepted {
                rule: Cow::Owned(finding.rule.to_string()),
                subject: finding.subject.to_string(),
                place: format!("{}:{}", wording::clean(&finding.span.file), finding.span.line),
                why: waived.why.to_string(),
                until: waived.until.to_string(),
            });
            return;
        }
        self.count(finding.severity.severity(), finding.known, finding.is_language());
    }

    fn count(&mut self, severity: Severity, known: bool, language: bool) {
        // A list of what is known does not judge what could not be judged.
        self.language |= language;
        match severity {
            _ if known => self.known += 1,
            Severity::Error => self.errors += 1,
            Severity::Warning => self.warnings += 1,
            Severity::Advice => self.advice += 1,
        }
    }

    /// Adds the counts of another design, or of several.
    pub fn add(&mut self, other: Self) {
        self.designs += other.designs;
        self.libraries += other.libraries;
        self.lost.extend(other.lost);
        self.elements += other.elements;
        self.errors += other.errors;
        self.warnings += other.warnings;
        self.advice += other.advice;
        self.accepted.extend(other.accepted);
        self.known += other.known;
        self.language |= other.language;
        for problem in other.problems {
            if !self.problems.contains(&problem) {
                self.problems.push(problem);
            }
        }
        if let Some(stale) = other.stale {
            self.stale.get_or_insert_default().extend(stale);
        }
        self.share = self.share.take().or(other.share);
        for rule in other.house {
            if !self.house.contains(&rule) {
                self.house.push(rule);
            }
        }
        for book in other.books {
            if !self.books.contains(&book) {
                self.books.push(book);
            }
        }
    }

    /// How many findings that nothing accepts are at or above `level`.
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
        !self.lost.is_empty() || self.language || !self.problems.is_empty()
    }

    /// The exit code of a run that fails from `level` on, at nothing if there is none: 2 where something could not be
    /// judged, else 1 where a finding at or above the level stands, else 0.
    #[must_use]
    pub fn exit_code(&self, level: Option<Severity>) -> u8 {
        match level {
            _ if self.unjudged() => 2,
            Some(level) if 0 < self.at_least(level) => 1,
            _ => 0,
        }
    }
}
