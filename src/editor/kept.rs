//! What was found last, for as long as it cannot be found anew: while the study is still to come, and while the language has
//! a mistake. Findings move with their statements; a statement that changes takes its findings with it.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use crate::check::Judgement;
use crate::design::Design;
use crate::findings::{Finding, Value};
use crate::rules::find;
use crate::syntax::lines::cut;
use crate::text::{FileId, Sources, Span};

use super::lines::{end, start};

/// The findings of the last whole judgement.
#[derive(Debug, Default)]
pub(super) struct Kept {
    sources: Sources,
    findings: Vec<Finding>,
    /// Fits of the design, with their kits.
    fits: BTreeMap<String, String>,
}

/// Whether the language has a mistake, so that nothing else is judged.
pub(super) fn is_broken(judgement: &Judgement) -> bool {
    judgement.unreadable.is_some()
        || judgement.findings.iter().any(|finding| finding.rule.starts_with("language."))
}

fn studies(rule: &str) -> bool {
    find(rule).is_some_and(|rule| rule.studies)
}

/// Whether only the study can tell of it.
fn waits(finding: &Finding) -> bool {
    let waives = finding.values.get("waives");
    studies(&finding.rule) || matches!(waives, Some(Value::Text(rule)) if studies(rule))
}

impl Kept {
    /// Of a whole judgement.
    pub(super) fn of(judgement: &Judgement, design: Option<&Design>) -> Self {
        let shown = judgement.findings.iter().filter(|finding| finding.waived.is_none());
        let kept = shown.cloned();
        Self { sources: judgement.sources.clone(), findings: kept.collect(), fits: fits(design) }
    }

    /// Adds to a judgement what it could not tell and what still stands in its texts.
    pub(super) fn add_to(&self, judgement: &mut Judgement, design: Option<&Design>) {
        if judgement.library || self.findings.is_empty() {
            return;
        }
        let (all, now) = (is_broken(judgement), fits(design));
        let is_there = |finding: &Finding| match finding.subject.rsplit_once('/') {
            Some((fit, _)) if design.is_some() => now.get(fit) == self.fits.get(fit),
            _ => true,
        };
        let mut moves = Moves { old: &self.sources, new: &judgement.sources, files: BTreeMap::new() };
        let untold = self.findings.iter().filter(|finding| (all || waits(finding)) && is_there(finding));
        let mut moved: Vec<Finding> = untold.filter_map(|finding| moves.finding(finding)).collect();
        judgement.findings.append(&mut moved);
        judgement.findings.sort_by(|a, b| (a.span, &a.rule, &a.subject).cmp(&(b.span, &b.rule, &b.subject)));
    }
}

fn fits(design: Option<&Design>) -> BTreeMap<String, String> {
    let Some(design) = design else { return BTreeMap::new() };
    design.fits.ids().map(|id| (design.fits[id].name.clone(), design.fits[id].kit.clone())).collect()
}

/// From places in some texts to the same places in later ones.
struct Moves<'a> {
    old: &'a Sources,
    new: &'a Sources,
    files: BTreeMap<FileId, Option<File<'a>>>,
}

impl Moves<'_> {
    fn finding(&mut self, finding: &Finding) -> Option<Finding> {
        let mut moved = finding.clone();
        moved.span = self.span(finding.span)?;
        // A statement without a name is told by its line.
        if finding.subject.starts_with("line:") {
            let line = self.new.get(moved.span.file).line_column(moved.span.start).line;
            moved.subject = format!("line:{line}");
        }
        moved.related.retain_mut(|row| self.span(row.span).map(|span| row.span = span).is_some());
        Some(moved)
    }

    fn span(&mut self, span: Span) -> Option<Span> {
        let (old, new) = (self.old, self.new);
        let file = self.files.entry(span.file).or_insert_with(|| {
            let source = old.get(span.file);
            let at = new.iter().position(|other| other.path() == source.path())?;
            let id = FileId(u32::try_from(at).ok()?);
            Some(File::new(source.text(), new.get(id).text(), id))
        });
        file.as_mut()?.span(span)
    }
}

/// A file before and after.
struct File<'a> {
    old: &'a str,
    new: &'a str,
    id: FileId,
    /// Whole lines that differ: where they start in both, and where they end.
    from: usize,
    old_to: usize,
    new_to: usize,
    /// Statements in them that stand in both, made when they are asked for.
    alike: Option<Vec<(Span, Span)>>,
}

impl<'a> File<'a> {
    fn new(old: &'a str, new: &'a str, id: FileId) -> Self {
        let alike = |pair: &(u8, u8)| pair.0 == pair.1;
        let before = old.bytes().zip(new.bytes()).take_while(alike).count();
        let most = old.len().min(new.len()) - before;
        let after = old.bytes().rev().zip(new.bytes().rev()).take(most).take_while(alike).count();
        let (from, old_to, new_to) = match old.len() == before && new.len() == before {
            true => (before, before, before),
            false => {
                let from = start(old, before).min(start(new, before));
                // A join that came or went makes one of the two lines longer.
                let left = |text: &str| text.len() - end(text, text.len() - after);
                let left = left(old).min(left(new));
                (from, old.len() - left, new.len() - left)
            }
        };
        Self { old, new, id, from, old_to, new_to, alike: None }
    }

    fn span(&mut self, span: Span) -> Option<Span> {
        let (start, end) = (span.start as usize, span.end as usize);
        if end < self.from || self.from == self.old_to && self.from == self.new_to {
            return Some(Span { file: self.id, ..span });
        }
        if self.old_to < start {
            let by = |at: usize| (at + self.new_to).checked_sub(self.old_to);
            return Some(Span::new(self.id, by(start)?, by(end)?));
        }
        let alike = self.alike.get_or_insert_with(|| {
            let part = |text: &'a str, to| text.get(self.from..to).unwrap_or("");
            alike(part(self.old, self.old_to), part(self.new, self.new_to))
        });
        let (start, end) = (start.checked_sub(self.from)?, end.checked_sub(self.from)?);
        let around = |row: &&(Span, Span)| row.0.start as usize <= start && end <= row.0.end as usize;
        let (old, new) = *alike.iter().find(around)?;
        let (old_from, new_from) = (self.from + old.start as usize, self.from + new.start as usize);
        let slice = |text: &'a str, from: usize, span: Span| text.get(from..from + span.len()).unwrap_or("");
        let (before, after) = (slice(self.old, old_from, old), slice(self.new, new_from, new));
        let first = after_blanks(after, n_words(before, start - old.start as usize)?);
        let last = n_words(before, end - old.start as usize)?;
        let end = match last.checked_sub(1) {
            Some(last) => after_blanks(after, last)? + 1,
            None => 0,
        };
        let start = first.unwrap_or(end).min(end);
        Some(Span::new(self.id, new_from + start, new_from + end))
    }
}

/// Statements that stand in both texts, whatever the space in them; of equal ones each the one of its rank, if there are
/// as many in both.
fn alike(old: &str, new: &str) -> Vec<(Span, Span)> {
    let mut by_words: FxHashMap<Vec<u8>, (Vec<Span>, Vec<Span>)> = FxHashMap::default();
    for (is_old, text) in [(true, old), (false, new)] {
        for line in cut(FileId(0), text).filter(|line| !line.code.is_empty()) {
            let code = text.get(line.code.start as usize..line.code.end as usize).unwrap_or("");
            let words = code.bytes().filter(|byte| !is_blank(*byte)).collect();
            let (of_old, of_new) = by_words.entry(words).or_default();
            if is_old { of_old } else { of_new }.push(line.code);
        }
    }
    let mut alike = Vec::new();
    for line in cut(FileId(0), old) {
        let code = old.get(line.code.start as usize..line.code.end as usize).unwrap_or("");
        let words: Vec<u8> = code.bytes().filter(|byte| !is_blank(*byte)).collect();
        // In the order of the text; each key is taken out when it comes first.
        if let Some((of_old, of_new)) = by_words.remove(&words)
            && of_old.len() == of_new.len()
        {
            alike.extend(of_old.into_iter().zip(of_new));
        }
    }
    alike
}

fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r' | b'\n' | b'\\')
}

/// How many bytes that are no space stand before a place.
fn n_words(text: &str, to: usize) -> Option<usize> {
    Some(text.as_bytes().get(..to)?.iter().filter(|byte| !is_blank(**byte)).count())
}

/// Where the byte stands that has so many before it, without space.
fn after_blanks(text: &str, n: usize) -> Option<usize> {
    text.bytes().enumerate().filter(|row| !is_blank(row.1)).nth(n).map(|row| row.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where a word of one text stands in another.
    fn moved(old: &str, new: &str, word: &str) -> Option<(usize, String)> {
        let at = old.find(word).unwrap();
        let span = Span::new(FileId(7), at, at + word.len());
        let span = File::new(old, new, FileId(3)).span(span)?;
        assert_eq!(span.file, FileId(3));
        let (start, end) = (span.start as usize, span.end as usize);
        Some((start, new[start..end].to_owned()))
    }

    fn at(new: &str, word: &str) -> Option<(usize, String)> {
        Some((new.find(word).unwrap(), word.to_owned()))
    }

    #[test]
    fn what_has_not_changed_moves_along() {
        let old = "fuse F1 5 A\nwire W1 a\nwire W2 b # ü\nwire W3 c\n";
        let cases = [
            (old.to_owned(), ["F1", "W1", "W2", "W3"].as_slice(), [].as_slice()),
            (format!("# ü\n\n{old}"), &["F1", "W1", "W2", "W3"], &[]),
            (old.replace("W2 b", "W2 bb"), &["F1", "W1", "W3"], &["W2"]),
            (old.replace("wire W2 b # ü\n", ""), &["F1", "W1", "W3"], &["W2"]),
            (old.replace("wire W2 b", "new\nwire W2 b"), &["F1", "W1", "W2", "W3"], &[]),
            // Two changes, with what stands between them; other comments and other space.
            (
                old.replace("5 A", "7 A").replace("W3 c", "W3 d").replace("# ü", "# one"),
                &["W1", "W2"],
                &["F1", "W3"],
            ),
            (old.replace("wire", "  wire  ").replace("5 A", "5A"), &["F1", "W1", "W2", "W3"], &[]),
            // Joined lines are one statement.
            (old.replace("W1 a\n", "W1 a\\\n"), &["F1", "W3"], &["W1", "W2"]),
            (old.replace("W1 a\n", "W1 \\\n a\n"), &["F1", "W1", "W2", "W3"], &[]),
            (old.replace('\n', "\r\n"), &["F1", "W1", "W2", "W3"], &[]),
            (String::new(), &[], &["F1", "W1", "W2", "W3"]),
            (format!("{old}wire W1 a\n"), &["F1", "W1", "W2", "W3"], &[]),
        ];
        for (new, stay, go) in cases {
            for word in stay {
                assert_eq!(moved(old, &new, word), at(&new, word), "{word} in {new:?}");
            }
            for word in go {
                assert_eq!(moved(old, &new, word), None, "{word} in {new:?}");
            }
        }
    }

    #[test]
    fn equal_statements_keep_their_rank() {
        let old = "x 1\nkit a\nbolt p to q\nkit b\nbolt p to q\ny 1\n";
        let new = "x 2\nkit a\n  bolt p to q\nkit b\nbolt p to q\ny 2\n";
        let second = old.rfind("bolt").unwrap();
        let span = Span::new(FileId(0), second, second + 4);
        let found = File::new(old, new, FileId(0)).span(span).unwrap();
        assert_eq!((found.start as usize, found.len()), (new.rfind("bolt").unwrap(), 4));
        // Where one of them went, nobody knows which.
        let new = "x 2\nkit a\nbolt p to q\nkit b\ny 2\n";
        assert_eq!(File::new(old, new, FileId(0)).span(span), None);
    }
}
