//! Texts made safe and fitted to a width.

use std::borrow::Cow;

use crate::findings::Finding;

/// Whether a character would act on a terminal, or hide, in place of being shown.
pub(super) fn is_hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fffe}'..='\u{ffff}')
}

/// Writes a hidden character so that it is seen.
pub(super) fn push_shown(text: &mut String, c: char) {
    match c {
        '\n' => text.push_str("\\n"),
        '\r' => text.push_str("\\r"),
        '\t' => text.push_str("\\t"),
        c => text.extend(c.escape_unicode()),
    }
}

/// The text on one line, with hidden characters shown escaped.
#[must_use]
pub fn clean(text: &str) -> Cow<'_, str> {
    if !text.contains(is_hidden) {
        return Cow::Borrowed(text);
    }
    let mut shown = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        if is_hidden(c) { push_shown(&mut shown, c) } else { shown.push(c) }
    }
    Cow::Owned(shown)
}

/// Breaks a text at blanks into lines of at most `width` characters; a longer word stays whole.
pub(super) fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    let mut length = 0;
    for word in text.split_whitespace() {
        let word_length = word.chars().count();
        if 0 < length && width < length + 1 + word_length {
            lines.push(std::mem::take(&mut line));
            length = 0;
        }
        if 0 < length {
            line.push(' ');
            length += 1;
        }
        line.push_str(word);
        length += word_length;
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

/// A count with its noun: `1 error`, `2 errors`.
pub(super) fn plural(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// The text padded with blanks to `width` characters.
pub(super) fn padded(text: &str, width: usize) -> String {
    let missing = width.saturating_sub(text.chars().count());
    format!("{text}{}", " ".repeat(missing))
}

/// The text as a sentence: with a full stop, unless it ends in one.
pub(super) fn sentence(text: &str) -> String {
    let text = clean(text);
    if text.ends_with(['.', ':', '?']) { text.into_owned() } else { format!("{text}.") }
}

/// A finding in one line: what is so and, in brackets, what is seen at the subject.
pub(super) fn message(finding: &Finding) -> Cow<'_, str> {
    match (finding.headline.is_empty(), finding.label.is_empty()) {
        (true, _) => Cow::Borrowed(&finding.label),
        (false, true) => Cow::Borrowed(&finding.headline),
        (false, false) => Cow::Owned(format!("{} ({})", finding.headline, finding.label)),
    }
}
