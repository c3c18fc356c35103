//! The standard form of an open file, as edits of the space in it: words stay where the cursor knows them.

use lsp_types::{DocumentFormattingParams, Range, TextEdit};

use crate::text::FileId;
use crate::tidy::{Tidied, Untidied, tidy};

use super::server::Server;
use super::text::{Encoding, Text};

/// With more edits than this the text between the first and the last is replaced whole.
const MOST_EDITS: usize = 10_000;

/// The edits that lay a file out; none where it is left as it is, and then the client is told why.
pub(super) fn formatting(server: &Server, params: &DocumentFormattingParams) -> Option<Vec<TextEdit>> {
    let path = server.path(&params.text_document.uri);
    // A book has no standard form.
    if path.ends_with(".toml") {
        return None;
    }
    let moment = server.moment(&path);
    let done = tidy(&path, &moment.files(&*server.world));
    match done {
        Ok(tidied) => Some(edits(&tidied, server.encoding)),
        Err(why) => {
            let name = path.rsplit(['/', '\\']).next().unwrap_or(&path);
            server.say(format!("{name} is left as it is: {}", reason(&path, why)));
            Some(Vec::new())
        }
    }
}

fn reason(path: &str, why: Untidied) -> String {
    match why {
        Untidied::Unreadable(why) => why,
        Untidied::Differs(why) => format!("in the standard form it would not say the same: {why}"),
        Untidied::Language(sources, problems) => {
            // The file's own first: a library tells of itself when it is open.
            let own = problems.iter().find(|problem| problem.span.file == FileId(0));
            let Some(problem) = own.or(problems.first()) else {
                return "what is not in the language cannot be laid out".into();
            };
            let source = sources.get(problem.span.file);
            let line = source.line_column(problem.span.start).line;
            let place = match source.path() == path {
                true => format!("line {line}"),
                false => format!("line {line} of {}", source.path()),
            };
            format!("{place} is not in the language: {}", problem.headline)
        }
    }
}

fn edits(tidied: &Tidied, encoding: Encoding) -> Vec<TextEdit> {
    let (before, after) = (&*tidied.before, &*tidied.after);
    let mut changes = changes(before, after);
    if let (true, Some(first), Some(last)) = (MOST_EDITS < changes.len(), changes.first(), changes.last()) {
        changes = vec![Change { from: first.from, to: last.to, start: first.start, end: last.end }];
    }
    let text = Text::new(before, encoding);
    let edit = |change: Change| TextEdit {
        range: Range { start: text.position(change.from), end: text.position(change.to) },
        new_text: after.get(change.start..change.end).unwrap_or("").to_owned(),
    };
    changes.into_iter().map(edit).collect()
}

/// The bytes of one text that become bytes of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Change {
    from: usize,
    to: usize,
    start: usize,
    end: usize,
}

/// Where two texts differ, of which one is the other with other space; and with other line numbers in its waivers.
fn changes(before: &str, after: &str) -> Vec<Change> {
    let mut changes: Vec<Change> = Vec::new();
    let (mut from, mut start) = (0, 0);
    while from < before.len() || start < after.len() {
        let is_space = at_gap(before, from) || at_gap(after, start);
        let alike = common(rest(before, from), rest(after, start));
        let (to, end) = match (is_space, alike) {
            (true, _) => (from + run(before, from, true), start + run(after, start, true)),
            (false, 0) => (from + run(before, from, false), start + run(after, start, false)),
            (false, alike) => (from + alike, start + alike),
        };
        if before.get(from..to) != after.get(start..end) {
            match changes.last_mut() {
                Some(last) if last.to == from => (last.to, last.end) = (to, end),
                _ => changes.push(Change { from, to, start, end }),
            }
        }
        (from, start) = (to, end);
    }
    changes
}

fn rest(text: &str, at: usize) -> &str {
    text.get(at..).unwrap_or("")
}

fn at_gap(text: &str, at: usize) -> bool {
    rest(text, at).starts_with(is_gap)
}

/// How many bytes of space there are at a place, or of something else: space is blanks, line ends, and what joins lines.
fn run(text: &str, at: usize, space: bool) -> usize {
    let rest = rest(text, at);
    rest.len() - rest.trim_start_matches(|one| is_gap(one) == space).len()
}

fn is_gap(one: char) -> bool {
    matches!(one, ' ' | '\t' | '\r' | '\n' | '\\' | '\u{feff}')
}

/// How many bytes two texts begin with alike, before any space in either.
fn common(one: &str, two: &str) -> usize {
    let alike = one.chars().zip(two.chars()).take_while(|(one, two)| one == two && !is_gap(*one));
    alike.map(|pair| pair.0.len_utf8()).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn applied(before: &str, after: &str) -> (usize, String) {
        let (mut text, changes) = (before.to_owned(), changes(before, after));
        for change in changes.iter().rev() {
            text.replace_range(change.from..change.to, &after[change.start..change.end]);
        }
        (changes.len(), text)
    }

    #[test]
    fn only_space_is_edited() {
        let cases = [
            ("a  b\n", "a b\n", 1),
            ("a\t12V\r\nü  # c\r\n\r\n\r\n", "a 12 V\nü # c\n", 5),
            ("a \\\n  b", "a b\n", 2),
            ("", "\n", 1),
            ("\u{feff}a\n", "a\n", 1),
            ("a b\n", "a b\n", 0),
            ("a  line:16 c\n", "a line:5 c\n", 2),
            // What cannot be, as words differ: still the right text.
            ("a b  c\n", "a x c\n", 1),
            ("aü", "aä b", 1),
            ("a b c", "", 1),
            ("", "a b", 1),
        ];
        for (before, after, n) in cases {
            assert_eq!(applied(before, after), (n, after.to_owned()), "{before:?}");
        }
    }
}
