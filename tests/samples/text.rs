//! Reading and changing the samples' text: marks, kits, fits, and terminals as whole words.

use ohmward::findings::Finding;
use ohmward::text::Sources;

/// A rule at a place: a line, and the columns from one up to another, all from 1.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Mark {
    line: u32,
    from: u32,
    to: u32,
    pub(super) rule: String,
}

impl Mark {
    /// Where a finding points.
    pub(super) fn of(finding: &Finding, sources: &Sources) -> Self {
        let source = sources.get(finding.span.file);
        let start = source.line_column(finding.span.start);
        let length = u32::try_from(sources.slice(finding.span).chars().count()).unwrap_or(u32::MAX);
        Self {
            line: start.line,
            from: start.column,
            to: start.column + length,
            rule: finding.rule.to_string(),
        }
    }

    /// The marks of a text: comments of carets and a rule, below the line that they mark.
    pub(super) fn read(text: &str) -> Vec<Self> {
        let (mut marks, mut line) = (Vec::new(), 0);
        for (at, row) in (1_u32..).zip(text.lines()) {
            let carets = row.matches('^').count();
            let comment = row.trim_start();
            if !comment.starts_with('#') || carets == 0 {
                line = at;
                continue;
            }
            let start = row.chars().take_while(|letter| *letter != '^').count();
            let count = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
            let rule = row.rsplit('^').next().unwrap_or("").trim().to_owned();
            // Carets right behind the comment's own sign mark from where the line begins.
            let inside = row.len() - comment.len();
            let from = if start == inside + 1 { count(start) } else { count(start) + 1 };
            marks.push(Self { line, from, to: count(start + carets) + 1, rule });
        }
        marks
    }
}

/// A line of a design with the kit that it stands in.
pub(super) fn lines_with_kits(text: &str) -> Vec<(Option<&str>, &str)> {
    let mut kit = None;
    let mut rows = Vec::new();
    for line in text.lines() {
        if let Some(rest) = line.strip_prefix("kit ") {
            kit = rest.split([' ', '(']).next();
        }
        rows.push((kit, line));
        if line == "}" {
            kit = None;
        }
    }
    rows
}

/// The names of the fits of a kit in a design.
pub(super) fn fits_of<'t>(text: &'t str, kit: &str) -> Vec<&'t str> {
    let fits = text.lines().filter_map(|line| {
        let words: Vec<_> = line.split_whitespace().collect();
        (words.first() == Some(&"fit") && words.get(1) == Some(&kit)).then(|| words.get(3).copied()).flatten()
    });
    fits.collect()
}

/// Replaces `old` by `new` where it stands as a whole word.
pub(super) fn replace_word(text: &str, old: &str, new: &str) -> String {
    let inside = |letter: char| letter.is_ascii_alphanumeric() || "-_/.$".contains(letter);
    let mut made = String::new();
    let mut rest = text;
    while let Some(at) = rest.find(old) {
        let (before, after) = (&rest[..at], &rest[at + old.len()..]);
        let whole =
            !before.chars().next_back().is_some_and(inside) && !after.chars().next().is_some_and(inside);
        made += before;
        made += if whole { new } else { old };
        rest = after;
    }
    made + rest
}
