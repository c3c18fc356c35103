//! The problems of a run's files: each once, at most so many a file, and the nearest right word for a wrong one.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::findings::{Finding, Severity};
use crate::text::{FileId, Sources, Span};

/// Most problems that are told of one file.
const MOST: usize = 200;
/// Problems after which a file is read no further: it is no design.
const GIVEN_UP: usize = 10_000;
/// Most distances that are computed in one run, so that a file of nothing but unknown names stays fast.
const MOST_DISTANCES: usize = 400_000;

/// The ids of the language's own findings.
pub(crate) mod id {
    /// A malformed line.
    pub(crate) const SYNTAX: &str = "language.syntax";
    /// An unknown or misplaced word.
    pub(crate) const WORD: &str = "language.word";
    /// A wrong, missing or impossible unit or figure.
    pub(crate) const UNIT: &str = "language.unit";
    /// A duplicate, unknown or unfit name.
    pub(crate) const NAME: &str = "language.name";
    /// A library that cannot be used.
    pub(crate) const USE: &str = "language.use";
    /// Too much of something.
    pub(crate) const LIMIT: &str = "language.limit";
    /// A figure or property that is required.
    pub(crate) const MISSING: &str = "language.missing";
}

/// Collects problems.
#[derive(Debug, Default)]
pub(crate) struct Problems {
    found: Vec<Finding>,
    seen: FxHashSet<(&'static str, Span)>,
    counts: FxHashMap<FileId, (usize, Option<Span>)>,
    distances: usize,
}

impl Problems {
    /// Takes a problem, unless the same one at the same place is known; `make` runs only if it is to be told.
    pub(crate) fn add(&mut self, rule: &'static str, span: Span, make: impl FnOnce(&mut Self) -> Finding) {
        let count = self.counts.entry(span.file).or_default();
        if count.0 >= MOST {
            count.0 += 1;
            count.1.get_or_insert(span);
            return;
        }
        if !self.seen.insert((rule, span)) {
            return;
        }
        count.0 += 1;
        let finding = make(self);
        self.found.push(finding);
    }

    /// Whether a file has so many problems that it is read no further.
    pub(crate) fn given_up(&self, file: FileId) -> bool {
        self.counts.get(&file).is_some_and(|count| count.0 >= GIVEN_UP)
    }

    /// Whether nothing more would be told of this place.
    pub(crate) fn is_told(&self, rule: &'static str, span: Span) -> bool {
        self.seen.contains(&(rule, span)) || self.counts.get(&span.file).is_some_and(|count| count.0 >= MOST)
    }

    /// Whether there is none.
    pub(crate) fn is_empty(&self) -> bool {
        self.found.is_empty()
    }

    /// All of them in order of file and place; a file with more than are told ends with one that says how many.
    pub(crate) fn finish(mut self, sources: &Sources) -> Vec<Finding> {
        self.found.sort_by(|a, b| (a.span, &a.rule).cmp(&(b.span, &b.rule)));
        let mut more: Vec<_> =
            self.counts.into_values().filter_map(|(count, first)| Some((first?, count))).collect();
        more.sort_by_key(|row| row.0);
        for (span, count) in more {
            let after = self.found.partition_point(|finding| finding.span.file <= span.file);
            let more = count - MOST;
            let least = if count >= GIVEN_UP { "at least " } else { "" };
            let plural = if more == 1 { "problem is" } else { "problems are" };
            let line = sources.get(span.file).line_column(span.start).line;
            let finding = Finding::new(id::LIMIT, Severity::Error, format!("line:{line}"), span)
                .headline(format!("{least}{more} more {plural} not shown"))
                .label("the first of them")
                .help(format!("a file shows {MOST} problems; the others appear once these are gone"));
            self.found.insert(after, finding);
        }
        self.found
    }

    /// The nearest of the candidates, if it is near enough to be what was meant.
    pub(crate) fn nearest<'a>(
        &mut self,
        word: &str,
        candidates: impl IntoIterator<Item = &'a str>,
    ) -> Option<&'a str> {
        let length = word.chars().count();
        if length > 64 {
            return None;
        }
        let reach = if length < 3 { 0 } else { (length / 3).clamp(1, 3) };
        let mut best: Option<(usize, &str)> = None;
        for candidate in candidates {
            if candidate == word {
                continue;
            }
            if candidate.eq_ignore_ascii_case(word) {
                return Some(candidate);
            }
            if candidate.len().abs_diff(word.len()) > reach || reach == 0 || self.distances >= MOST_DISTANCES
            {
                continue;
            }
            self.distances += 1;
            let distance = strsim::osa_distance(word, candidate);
            if distance <= reach && best.is_none_or(|row| distance < row.0) {
                best = Some((distance, candidate));
            }
        }
        best.map(|row| row.1)
    }
}
