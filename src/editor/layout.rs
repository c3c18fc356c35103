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

/// Where the space differs between two texts that differ in nothing else; of others, all between what they have in common.
fn changes(before: &str, after: &str) -> Vec<Change> {
    let (mut changes, mut from, mut start) = (Vec::new(), 0, 0);
    loop {
        let (to, end) = (from + gap(before, from), start + gap(after, start));
        if before.get(from..to) != after.get(start..end) {
            changes.push(Change { from, to, start, end });
        }
        let word = common(before.get(to..).unwrap_or(""), after.get(end..).unwrap_or(""));
        (from, start) = (to + word, end + word);
        match (before.len() - from, after.len() - start) {
            (0, 0) => return changes,
            _ if word == 0 => break,
            _ => {}
        }
    }
    let from = before.bytes().zip(after.bytes()).take_while(|pair| pair.0 == pair.1).count();
    let from = (0..=from).rev().find(|at| before.is_char_boundary(*at)).unwrap_or(0);
    vec![Change { from, to: before.len(), start: from, end: after.len() }]
}

/// How many bytes of space there are at a place: blanks, line ends, and what joins lines.
fn gap(text: &str, at: usize) -> usize {
    let rest = text.get(at..).unwrap_or("");
    rest.len() - rest.trim_start_matches(is_gap).len()
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
            // What cannot be, as words differ: still the right text, from where they do.
            ("a b c\n", "a x c\n", 1),
            ("aü", "aä", 1),
        ];
        for (before, after, n) in cases {
            assert_eq!(applied(before, after), (n, after.to_owned()), "{before:?}");
        }
    }
}
