//! Pieces of source with labels under them. Only the lines around the labels are handed on, so that the cost does not
//! grow with the file, and a line of any length stays readable.

use std::collections::BTreeMap;

use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
};
use miette::{SourceCode, SourceSpan, SpanContents, ThemeCharacters, ThemeStyles};

use super::wording::{is_hidden, push_shown, wrap};
use crate::text::{BYTE_ORDER_MARK, Source, Span};

/// Longest line in bytes that is shown whole.
const WHOLE: usize = 240;
/// What is kept on each side of a label in a longer line, in bytes.
const AROUND: usize = 60;
/// Longest part of a label's own text that is shown in a longer line, in bytes.
const LABELLED: usize = 100;

/// How snippets look.
#[derive(Debug, Clone, Copy)]
pub(super) struct Look {
    /// Columns that labels are wrapped to.
    pub width: usize,
    /// Colours by escape sequences.
    pub color: bool,
    /// Lines drawn with box characters in place of ASCII.
    pub unicode: bool,
}

/// A place to point at.
pub(super) struct Mark {
    pub span: Span,
    pub text: String,
}

/// Draws the places of one file; every line ends in a line feed.
pub(super) fn draw(source: &Source, marks: &[Mark], look: Look) -> String {
    let excerpt = Excerpt::new(source, marks, look);
    let mut drawn = String::new();
    let handler = GraphicalReportHandler::new_themed(theme(look))
        .with_links(false)
        .with_context_lines(1)
        .with_width(look.width);
    match handler.render_report(&mut drawn, &excerpt) {
        Ok(()) => trim(&drawn, look),
        Err(_) => String::new(),
    }
}

fn theme(look: Look) -> GraphicalTheme {
    let mut characters = if look.unicode { ThemeCharacters::unicode() } else { ThemeCharacters::ascii() };
    characters.vbar_break = characters.vbar;
    let styles = if look.color { ThemeStyles::ansi() } else { ThemeStyles::none() };
    GraphicalTheme { characters, styles }
}

/// Takes away the frame and the head that the drawing comes with, puts a mark of omission between pieces that lie apart,
/// and lines up the line numbers of all pieces.
fn trim(drawn: &str, look: Look) -> String {
    let (top, bottom) = if look.unicode { ('╭', '╰') } else { (',', '`') };
    let indent = |line: &str| line.len() - line.trim_start_matches(' ').len();
    let is_top = |line: &str| line.trim_start_matches(' ').starts_with(top);
    let widest = drawn.lines().filter(|line| is_top(line)).map(indent).max().unwrap_or(0);
    let mut trimmed = String::with_capacity(drawn.len());
    let mut padding = None;
    for line in drawn.lines() {
        if is_top(line) {
            if padding.is_some() {
                trimmed.push_str(&" ".repeat(widest));
                trimmed.push_str(if look.unicode { "┆\n" } else { ":\n" });
            }
            padding = Some(widest - indent(line));
        } else if !line.trim_start_matches(' ').starts_with(bottom)
            && let Some(padding) = padding
        {
            trimmed.push_str(&" ".repeat(padding));
            trimmed.push_str(line.trim_end());
            trimmed.push('\n');
        }
    }
    trimmed
}

/// A line of the source before it is made fit to show.
#[derive(Default)]
struct RawLine {
    start: usize,
    end: usize,
    marks: Vec<RawMark>,
}

struct RawMark {
    start: usize,
    end: usize,
    text: String,
}

/// A line as it is shown, with its number in the file and its place in the excerpt's text.
#[derive(Debug)]
struct ShownLine {
    number: usize,
    start: usize,
}

/// Lines of one file, some left out, with labels; what the snippet library gets to see.
#[derive(Debug)]
struct Excerpt {
    text: String,
    lines: Vec<ShownLine>,
    labels: Vec<LabeledSpan>,
}

impl Excerpt {
    fn new(source: &Source, marks: &[Mark], look: Look) -> Self {
        let mut excerpt = Self { text: String::new(), lines: Vec::new(), labels: Vec::new() };
        for (number, line) in raw_lines(source, marks) {
            excerpt.push(source.text(), number, line, look);
        }
        excerpt
    }

    fn push(&mut self, text: &str, number: usize, line: RawLine, look: Look) {
        let start = self.text.len();
        self.lines.push(ShownLine { number, start });
        let shown = show(text, &line, look);
        for mark in joined(&shown, line.marks) {
            let column = shown.text.get(..mark.start).unwrap_or("").chars().count();
            let room = look.width.saturating_sub(column + 14).max(36);
            let label = wrap(&super::wording::clean(&mark.text), room);
            let label = (!label.is_empty()).then(|| label.join("\n"));
            self.labels.push(LabeledSpan::new(label, start + mark.start, mark.end - mark.start));
        }
        self.text.push_str(&shown.text);
        self.text.push('\n');
    }

    fn line_at(&self, offset: usize) -> usize {
        self.lines.partition_point(|line| line.start <= offset).saturating_sub(1)
    }

    fn number(&self, index: usize) -> usize {
        self.lines.get(index).map_or(0, |line| line.number)
    }
}

impl std::fmt::Display for Excerpt {
    fn fmt(&self, _: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        Ok(())
    }
}

impl std::error::Error for Excerpt {}

impl Diagnostic for Excerpt {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        Some(Box::new(self.labels.iter().cloned()))
    }
}

impl SourceCode for Excerpt {
    /// Whole lines around the span; lines of context end where lines are left out.
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        after: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let mut first = self.line_at(span.offset());
        let mut last = self.line_at(span.offset() + span.len());
        for _ in 0..before {
            if 0 < first && self.number(first - 1) + 1 == self.number(first) {
                first -= 1;
            }
        }
        for _ in 0..after {
            if last + 1 < self.lines.len() && self.number(last) + 1 == self.number(last + 1) {
                last += 1;
            }
        }
        let start = self.lines.get(first).ok_or(MietteError::OutOfBounds)?.start;
        let end = self.lines.get(last + 1).map_or(self.text.len(), |line| line.start);
        let data = self.text.as_bytes().get(start..end).ok_or(MietteError::OutOfBounds)?;
        let covered = SourceSpan::new(start.into(), end - start);
        let line = self.number(first).saturating_sub(1);
        Ok(Box::new(MietteSpanContents::new(data, covered, line, 0, last - first + 1)))
    }
}

/// The lines that hold marks and one line of context on each side, by number.
fn raw_lines(source: &Source, marks: &[Mark]) -> BTreeMap<usize, RawLine> {
    let text: &str = source.text();
    let mut lines: BTreeMap<usize, RawLine> = BTreeMap::new();
    for mark in marks {
        let at = boundary(text, mark.span.start as usize);
        let number = source.line_column(u32::try_from(at).unwrap_or(u32::MAX)).line as usize;
        let (start, end) = line_bounds(text, at);
        let shown_end = boundary(text, mark.span.end as usize).clamp(at.min(end), end);
        let raw = RawMark { start: at.min(end), end: shown_end, text: mark.text.clone() };
        lines.entry(number).or_insert(RawLine { start, end, marks: Vec::new() }).marks.push(raw);
        if 0 < start {
            let (start, end) = line_bounds(text, start - 1);
            lines.entry(number - 1).or_insert(RawLine { start, end, marks: Vec::new() });
        }
        let next = text.get(end..).and_then(|rest| rest.find('\n')).map_or(text.len(), |at| end + at + 1);
        if next < text.len() {
            let (start, end) = line_bounds(text, next);
            lines.entry(number + 1).or_insert(RawLine { start, end, marks: Vec::new() });
        }
    }
    lines
}

/// Start and end of the line around a byte, without its line ending.
fn line_bounds(text: &str, at: usize) -> (usize, usize) {
    let (before, after) = text.split_at_checked(at).unwrap_or((text, ""));
    let start = before.rfind('\n').map_or(0, |feed| feed + 1);
    let end = after.find('\n').map_or(text.len(), |feed| at + feed);
    let line = text.get(start..end).unwrap_or("");
    (start, start + line.strip_suffix('\r').unwrap_or(line).len())
}

/// The nearest place at or before `at` where a character begins.
fn boundary(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

/// A line made fit to show, and which byte of it each shown character came from.
struct Shown {
    text: String,
    /// Byte in the source, byte in the shown text; in order.
    from: Vec<(usize, usize)>,
}

impl Shown {
    /// Where a byte of the source stands in the shown text; what is left out stands where the gap does.
    fn place(&self, byte: usize) -> usize {
        let next = self.from.partition_point(|(source, _)| *source < byte);
        self.from.get(next).map_or(self.text.len(), |(_, shown)| *shown)
    }
}

fn show(text: &str, line: &RawLine, look: Look) -> Shown {
    let gap = if look.unicode { "…" } else { "..." };
    let mut shown = Shown { text: String::new(), from: Vec::new() };
    let mut done = line.start;
    for (start, end) in windows(text, line) {
        if done < start {
            shown.text.push_str(gap);
        }
        for (at, c) in text.get(start..end).unwrap_or("").char_indices() {
            shown.from.push((start + at, shown.text.len()));
            if start + at == 0 && c == BYTE_ORDER_MARK {
                continue;
            }
            if is_hidden(c) && c != '\t' { push_shown(&mut shown.text, c) } else { shown.text.push(c) }
        }
        shown.from.push((end, shown.text.len()));
        done = end;
    }
    if done < line.end {
        shown.text.push_str(gap);
    }
    shown
}

/// The parts of a line that are shown, in order and apart from each other.
fn windows(text: &str, line: &RawLine) -> Vec<(usize, usize)> {
    if line.end - line.start <= WHOLE {
        return vec![(line.start, line.end)];
    }
    if line.marks.is_empty() {
        return vec![(line.start, boundary(text, line.start + 2 * AROUND))];
    }
    let mut around: Vec<_> = line.marks.iter().map(|mark| window(text, line, mark)).collect();
    around.sort_unstable();
    let mut windows: Vec<(usize, usize)> = Vec::new();
    for (start, end) in around {
        match windows.last_mut() {
            Some(last) if start <= last.1 => last.1 = last.1.max(end),
            _ => windows.push((start, end)),
        }
    }
    windows
}

fn window(text: &str, line: &RawLine, mark: &RawMark) -> (usize, usize) {
    let start = boundary(text, mark.start.saturating_sub(AROUND).max(line.start));
    let end = mark.end.min(mark.start + LABELLED) + AROUND;
    (start.max(line.start), boundary(text, end.min(line.end)))
}

/// The marks by their places in the shown line. Those that begin together become one with both texts; one that runs on
/// under a later one ends where that begins, so that each text keeps its own place.
fn joined(shown: &Shown, marks: Vec<RawMark>) -> Vec<RawMark> {
    let mut placed: Vec<_> = marks
        .into_iter()
        .map(|mark| RawMark { start: shown.place(mark.start), end: shown.place(mark.end), text: mark.text })
        .collect();
    placed.sort_by_key(|mark| (mark.start, mark.end));
    let mut joined: Vec<RawMark> = Vec::new();
    for mark in placed {
        match joined.last_mut() {
            Some(last) if mark.start == last.start => {
                last.end = last.end.max(mark.end);
                if !last.text.is_empty() && !mark.text.is_empty() {
                    last.text.push_str("; ");
                }
                last.text.push_str(&mark.text);
            }
            Some(last) => {
                last.end = last.end.min(mark.start);
                joined.push(mark);
            }
            None => joined.push(mark),
        }
    }
    joined
}
