//! What stays of a finding when the text around it is edited: its rule, its subject, and which of equal ones it is.

use std::collections::BTreeMap;

use super::Finding;
use crate::text::{Sources, Span};

/// Most characters of a statement that stand for its name.
const LONGEST: usize = 120;

/// What a finding is known by within one design; no line number is in it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Identity {
    /// The rule's id.
    pub rule: String,
    /// The subject; of a statement without a name its text.
    pub subject: String,
    /// Which one it is of those with the same rule and subject, from 1 in the order of their places.
    pub ordinal: u32,
}

/// The identity of each finding of one design, which are in the order of their places.
#[must_use]
pub fn identities(findings: &[Finding], sources: &Sources) -> Vec<Identity> {
    let mut counts: BTreeMap<(&str, String), u32> = BTreeMap::new();
    let mut all = Vec::with_capacity(findings.len());
    for finding in findings {
        let subject = match unnamed(&finding.subject) {
            true => statement(sources, finding.span),
            false => finding.subject.clone(),
        };
        let count = counts.entry((finding.rule.as_ref(), subject.clone())).or_default();
        *count = count.saturating_add(1);
        all.push(Identity { rule: finding.rule.to_string(), subject, ordinal: *count });
    }
    all
}

/// Whether a subject is only a line's number.
fn unnamed(subject: &str) -> bool {
    subject.strip_prefix("line:").is_some_and(|rest| rest.bytes().all(|byte| byte.is_ascii_digit()))
}

/// The text of the line that a span begins in: without a comment, with single blanks.
fn statement(sources: &Sources, span: Span) -> String {
    let mut quoted = false;
    let is_comment = |c: char| {
        quoted ^= c == '"';
        c == '#' && !quoted
    };
    let line = sources.get(span.file).line_at(span.start);
    let code = line.split(is_comment).next().unwrap_or("");
    let words: Vec<&str> = code.split_whitespace().collect();
    words.join(" ").chars().take(LONGEST).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::findings::Severity;
    use crate::text::Source;

    #[test]
    fn a_statement_without_a_name_is_known_by_its_text() {
        let text = "design d \"x\"\nbolt  F.line   to\tbar # the \"big\" one\nbolt a.+ to \"b#c\"\n";
        let mut sources = Sources::default();
        let file = sources.add(Source::new("d.loom", text));
        let at = |word: &str| {
            let start = text.find(word).unwrap();
            Span::new(file, start, start + 1)
        };
        let found = |subject: &str, word: &str| Finding::new("a.b", Severity::Error, subject, at(word));
        let findings =
            [found("W1", "design"), found("line:2", "F.line"), found("W1", "bolt"), found("line:3", "a.+")];
        let told: Vec<_> =
            identities(&findings, &sources).into_iter().map(|row| (row.subject, row.ordinal)).collect();
        let expected = [("W1", 1), ("bolt F.line to bar", 1), ("W1", 2), ("bolt a.+ to \"b#c\"", 1)];
        assert_eq!(told, expected.map(|(subject, ordinal)| (subject.to_owned(), ordinal)));
    }
}
