//! The one standard form of a text: where columns stand, where blanks and blank lines go. Takes a text and gives a
//! text; only space moves, so the words stay, in their order, and so do line breaks within a statement, and comments.
//!
//! The form is told in DEVELOPERS.md. It follows from the words alone, never from the space that is there, but for
//! blank lines and continuations; so laying out twice is laying out once.

use std::ops::Range;

use unicode_width::UnicodeWidthStr;

use crate::text::{FileId, Span, after_mark};

use super::items::{self, Item, ItemKind};
use super::lines::{self, Line};
use super::words;

/// Blanks before each line of a block, for each block around it.
const INDENT: usize = 2;
/// Blocks in each other that are told apart; the language has no more than two.
const DEEPEST: usize = 8;
/// Further blanks before what a `\` continues.
const CONTINUED: usize = 4;
/// Blanks between a statement and its comment.
const BEFORE_COMMENT: usize = 2;
/// A column is at most so much wider than the middle one of its cells; what is wider than that stands out of it.
const STANDS_OUT: usize = 20;
/// A cell is never followed by more blanks than this, for the sake of its column.
const MOST_BLANKS: usize = 2 * STANDS_OUT;

/// A text in the standard form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Laid {
    /// The text.
    pub(crate) text: String,
    /// For each line of the text before, from the first: the line on which its words stand now, from 1; 0 if it had
    /// none.
    lines: Vec<u32>,
}

impl Laid {
    /// Where the words of a line of the text before stand now; both from 1.
    pub(crate) fn line(&self, before: u32) -> Option<u32> {
        let at = usize::try_from(before).ok()?.checked_sub(1)?;
        self.lines.get(at).copied().filter(|line| *line != 0)
    }
}

/// What stands between a word and the one before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Gap {
    Nothing,
    Blank,
    /// A `\` and a new line.
    Break,
}

/// A word in the text before, or a line number that has moved with its line.
#[derive(Debug, Clone)]
struct Word {
    span: Range<usize>,
    gap: Gap,
    /// What is written in its place.
    instead: Option<String>,
}

/// A logical line.
#[derive(Debug)]
enum Row {
    Blank,
    Comment { depth: usize, comment: Span },
    Statement(Statement),
}

/// A statement, its words among all words of the text.
#[derive(Debug)]
struct Statement {
    depth: usize,
    words: Range<usize>,
    comment: Option<Span>,
    family: Family,
    /// A block's end or beginning, which a blank line neither precedes nor follows.
    closes: bool,
    opens: bool,
}

/// Statements that share columns where they follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Family {
    /// Shares none.
    Alone,
    /// Any component.
    Component,
    /// Wires, data leads and bolts.
    Conductor,
    /// The lines of a mode.
    ModeLine,
    /// The lines of a part.
    Terminal,
    /// The statement of this place in the table of statements.
    Same(usize),
}

/// Lays a text out. Words that no statement has are kept as they are, so any text gives one.
pub(crate) fn lay_out(text: &str) -> Laid {
    let mut reader = Reader { text, words: Vec::new(), rows: Vec::new(), blocks: Vec::new() };
    let mut found = Vec::new();
    let mut spaced = Spaced::new(text);
    for line in lines::cut(FileId(0), text) {
        reader.read(&line, &mut found);
        if let Some(row) = reader.rows.pop() {
            spaced.take(row, &reader.words, &line, &mut reader.rows);
        }
    }
    let Reader { mut words, rows, .. } = reader;
    let lines = spaced.lines;
    let laid = Laid { text: String::new(), lines };
    follow_lines(text, &rows, &mut words, &laid);
    let mut writer = Writer::new(text, &words);
    writer.rows(&rows);
    Laid { text: writer.finish(), ..laid }
}

/// Whether two texts say the same in the same order: the same words in each statement, the same comments; a line
/// number in a waiver may have moved with its line.
pub(crate) fn says_the_same(before: &str, after: &Laid) -> bool {
    let mut rows = [Said::of(before), Said::of(&after.text)];
    loop {
        let [one, two] = &mut rows;
        match (one.go_on(), two.go_on()) {
            (None, None) => return true,
            (Some(()), Some(())) if one.comment() == two.comment() && same_items(one, two, after) => {}
            _ => return false,
        }
    }
}

/// The logical lines of a text that say something.
struct Said<'t, I> {
    text: &'t str,
    lines: I,
    items: Vec<Item>,
    comment: Option<Span>,
}

impl<'t> Said<'t, ()> {
    fn of(text: &'t str) -> Said<'t, impl Iterator<Item = Line>> {
        Said { text, lines: lines::cut(FileId(0), text), items: Vec::new(), comment: None }
    }
}

impl<I: Iterator<Item = Line>> Said<'_, I> {
    /// Goes on to the next one.
    fn go_on(&mut self) -> Option<()> {
        loop {
            let line = self.lines.next()?;
            let code = slice(self.text, line.code);
            items::read(FileId(0), code, line.code.start as usize, &mut self.items);
            self.comment = line.comment;
            if !self.items.is_empty() || line.comment.is_some() {
                return Some(());
            }
        }
    }

    fn comment(&self) -> Option<&str> {
        self.comment.map(|span| slice(self.text, span))
    }

    fn word(&self, at: usize) -> &str {
        self.items.get(at).map_or("", |item| slice(self.text, item.span))
    }

    fn glued(&self, at: usize) -> bool {
        at.checked_sub(1).is_some_and(|before| self.items[before].span.end == self.items[at].span.start)
    }
}

fn same_items<I, J>(one: &Said<'_, I>, two: &Said<'_, J>, after: &Laid) -> bool
where
    I: Iterator<Item = Line>,
    J: Iterator<Item = Line>,
{
    if one.items.len() != two.items.len() {
        return false;
    }
    // The value of a setting is kept as it is written.
    let as_written = one.word(0) == "set";
    (0..one.items.len()).all(|at| {
        let moved = || {
            let line =
                at >= 2 && one.word(at - 1) == ":" && one.word(at - 2) == "line" && one.word(0) == "waive";
            let to = one.word(at).parse().ok().and_then(|line| after.line(line));
            line && to.is_some_and(|to| two.word(at) == to.to_string())
        };
        one.items[at].kind == two.items[at].kind
            && (one.word(at) == two.word(at) || moved())
            && (!as_written || one.word(at) != "in" || one.glued(at) == two.glued(at))
    })
}

fn slice(text: &str, span: Span) -> &str {
    text.get(span.start as usize..span.end as usize).unwrap_or("")
}

/// Cuts a text into rows and words.
struct Reader<'t> {
    text: &'t str,
    words: Vec<Word>,
    rows: Vec<Row>,
    /// The first words of the statements whose blocks are open.
    blocks: Vec<&'t str>,
}

impl Reader<'_> {
    fn read(&mut self, line: &Line, found: &mut Vec<Item>) {
        items::read(FileId(0), slice(self.text, line.code), line.code.start as usize, found);
        if found.is_empty() {
            self.rows.push(match line.comment {
                Some(comment) => Row::Comment { depth: self.blocks.len().min(DEEPEST), comment },
                None => Row::Blank,
            });
            return;
        }
        let word = |at: usize| found.get(at).map_or("", |item| slice(self.text, item.span));
        let mark = |item: Option<&Item>, mark| item.is_some_and(|item| item.kind == ItemKind::Mark(mark));
        let closes = mark(found.first(), b'}');
        let opens = mark(found.last(), b'{');
        if closes {
            self.blocks.pop();
        }
        let depth = self.blocks.len().min(DEEPEST);
        let family = match self.blocks.last() {
            _ if opens || closes => Family::Alone,
            Some(&"mode") => Family::ModeLine,
            Some(&"part") => Family::Terminal,
            _ => family(word(0)),
        };
        if opens {
            self.blocks.push(word(0));
        }
        let start = self.words.len();
        let manner = match word(0) {
            "waive" => Manner::Waiver,
            "set" if words::SETTINGS.iter().all(|row| row.0 != word(2)) => Manner::AsWritten,
            _ => Manner::Usual,
        };
        for (at, item) in found.iter().enumerate() {
            let span = item.span.start as usize..item.span.end as usize;
            let gap = match at.checked_sub(1).and_then(|before| found.get(before)) {
                None => Gap::Nothing,
                Some(before) => self.gap(*before, *item, if at > 3 { manner } else { manner.head() }),
            };
            self.words.push(Word { span, gap, instead: None });
        }
        let words = start..self.words.len();
        self.rows.push(Row::Statement(Statement {
            depth,
            words,
            comment: line.comment,
            family,
            closes,
            opens,
        }));
    }

    /// What stands between two words.
    fn gap(&self, before: Item, item: Item, manner: Manner) -> Gap {
        let between = self.text.get(before.span.end as usize..item.span.start as usize).unwrap_or("");
        let mark = |item: Item| match item.kind {
            ItemKind::Mark(mark) => mark,
            _ => 0,
        };
        match (mark(before), mark(item)) {
            (_, b'{') => Gap::Blank,
            _ if between.contains('\n') => Gap::Break,
            _ if manner == Manner::AsWritten => {
                if between.is_empty() {
                    Gap::Nothing
                } else {
                    Gap::Blank
                }
            }
            (b'(', _) | (_, b',' | b')' | b':') => Gap::Nothing,
            (b':', _) if manner == Manner::Waiver => Gap::Nothing,
            _ => Gap::Blank,
        }
    }
}

/// How the words of a statement are set apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Manner {
    Usual,
    /// `line:7` is one word.
    Waiver,
    /// The value of a setting without a meaning of its own is what is written, so nothing comes apart or together.
    AsWritten,
}

impl Manner {
    /// The manner of a statement's first words.
    fn head(self) -> Self {
        if self == Self::AsWritten { Self::Usual } else { self }
    }
}

fn family(word: &str) -> Family {
    match word {
        "wire" | "data" | "bolt" => Family::Conductor,
        "zone" | "part" | "fit" | "set" | "expect" | "reading" | "note" | "waive" | "bundle" | "stack"
        | "limit" => {
            let at = words::STATEMENTS.iter().position(|row| row.word == word);
            at.map_or(Family::Alone, Family::Same)
        }
        _ if words::KINDS.iter().any(|row| row.word == word) => Family::Component,
        _ => Family::Alone,
    }
}

/// Takes out blank lines that say nothing, and keeps count of lines.
struct Spaced<'t> {
    text: &'t str,
    /// How far the text has been counted, and the line there, from 0.
    counted: usize,
    before: usize,
    /// Lines of the new text.
    after: u32,
    /// A blank line stands before what comes.
    blank: bool,
    /// Nothing stands before, or a block's beginning.
    opened: bool,
    lines: Vec<u32>,
}

impl<'t> Spaced<'t> {
    fn new(text: &'t str) -> Self {
        let counted = after_mark(text);
        Self { text, counted, before: 0, after: 0, blank: false, opened: true, lines: Vec::new() }
    }

    /// Takes the row of a logical line, and puts it among those that stay.
    fn take(&mut self, row: Row, words: &[Word], line: &Line, rows: &mut Vec<Row>) {
        let closes = match &row {
            Row::Blank => {
                self.blank = true;
                return;
            }
            Row::Comment { .. } => false,
            Row::Statement(statement) => statement.closes,
        };
        if std::mem::take(&mut self.blank) && !self.opened && !closes {
            rows.push(Row::Blank);
            self.after += 1;
        }
        self.after += 1;
        self.opened = false;
        match &row {
            Row::Statement(statement) => {
                self.opened = statement.opens;
                // A leading `\` stands on a line of its own before the words; it goes with them.
                self.count_to(line.code.start as usize);
                self.place(self.after);
                for word in &words[statement.words.clone()] {
                    self.after += u32::from(word.gap == Gap::Break);
                    self.count_to(word.span.start);
                    self.place(self.after);
                }
            }
            Row::Comment { comment, .. } => self.count_to(comment.start as usize),
            Row::Blank => {}
        }
        rows.push(row);
    }

    fn count_to(&mut self, at: usize) {
        let bytes = self.text.as_bytes().get(self.counted..at).unwrap_or(&[]);
        self.before += bytes.iter().filter(|byte| **byte == b'\n').count();
        self.counted = self.counted.max(at);
    }

    /// Notes where the line before that has been counted to stands now; the first word on it decides.
    fn place(&mut self, after: u32) {
        if self.lines.len() <= self.before {
            self.lines.resize(self.before + 1, 0);
        }
        if self.lines[self.before] == 0 {
            self.lines[self.before] = after;
        }
    }
}

/// Lets the line numbers in waivers follow the lines that they name.
fn follow_lines(text: &str, rows: &[Row], words: &mut [Word], laid: &Laid) {
    for row in rows {
        let Row::Statement(Statement { words: range, .. }) = row else { continue };
        let written = |at: usize| words.get(at).and_then(|word| text.get(word.span.clone())).unwrap_or("");
        let start = range.start;
        if written(start) != "waive"
            || range.len() < 6
            || written(start + 3) != "line"
            || written(start + 4) != ":"
        {
            continue;
        }
        let moved = written(start + 5).parse().ok().and_then(|line: u32| {
            let to = laid.line(line)?;
            (to != line).then(|| to.to_string())
        });
        words[start + 5].instead = moved;
    }
}

/// One cell of a row: the words from one up to the next cell's.
#[derive(Debug, Clone, Copy)]
struct Cell {
    column: usize,
    start: usize,
    end: usize,
    width: usize,
}

/// Writes rows, several that share columns at a time.
struct Writer<'t> {
    text: &'t str,
    words: &'t [Word],
    out: String,
    /// Lines with a comment at their end that follow each other: where the comment goes, and the width before it.
    comments: Vec<(usize, usize, Span)>,
    /// Widths of the cells of each column.
    widths: Vec<Vec<usize>>,
}

impl<'t> Writer<'t> {
    fn new(text: &'t str, words: &'t [Word]) -> Self {
        Self {
            text,
            words,
            out: String::with_capacity(text.len() + text.len() / 4),
            comments: Vec::new(),
            widths: vec![Vec::new(); COLUMNS],
        }
    }

    fn rows(&mut self, rows: &[Row]) {
        let mut at = 0;
        while let Some(row) = rows.get(at) {
            match row {
                Row::Blank => {
                    self.align_comments();
                    self.out.push('\n');
                    at += 1;
                }
                Row::Comment { depth, comment } => {
                    self.align_comments();
                    self.comment_line(*depth, *comment);
                    at += 1;
                }
                Row::Statement(first) => {
                    // A comment between them does not part statements of one family; a blank line does.
                    let together = |row: &Row| match row {
                        Row::Blank => false,
                        Row::Comment { .. } => true,
                        Row::Statement(next) => next.family == first.family && next.depth == first.depth,
                    };
                    let shares = first.family != Family::Alone;
                    let n =
                        if shares { rows[at..].iter().take_while(|row| together(row)).count() } else { 1 };
                    self.run(&rows[at..at + n]);
                    at += n;
                }
            }
        }
        self.align_comments();
    }

    /// Writes rows that share columns.
    fn run(&mut self, rows: &[Row]) {
        self.widths.iter_mut().for_each(Vec::clear);
        let mut cells = Vec::new();
        let mut ends = Vec::with_capacity(rows.len());
        for row in rows {
            if let Row::Statement(statement) = row {
                self.cells(statement, &mut cells);
            }
            ends.push(cells.len());
        }
        let mut start = 0;
        for end in &ends {
            // The last cell of a row has nothing after it to set in line.
            for cell in cells[start..*end].iter().rev().skip(1).filter(|cell| cell.width > 0) {
                self.widths[cell.column].push(cell.width);
            }
            start = *end;
        }
        let columns: Vec<usize> = self.widths.iter_mut().map(|widths| column_width(widths)).collect();
        let mut start = 0;
        for (row, end) in rows.iter().zip(ends) {
            match row {
                Row::Statement(statement) => self.statement(statement, &cells[start..end], &columns),
                Row::Comment { depth, comment } => {
                    self.align_comments();
                    self.comment_line(*depth, *comment);
                }
                Row::Blank => {}
            }
            start = end;
        }
    }

    fn comment_line(&mut self, depth: usize, comment: Span) {
        self.blanks(depth * INDENT);
        self.out.push_str(slice(self.text, comment));
        self.out.push('\n');
    }

    fn statement(&mut self, statement: &Statement, cells: &[Cell], columns: &[usize]) {
        let depth = statement.depth * INDENT;
        self.blanks(depth);
        let mut width = depth;
        let mut aligned = true;
        for (at, cell) in cells.iter().enumerate() {
            let broken = self.cell(cell, depth);
            width = broken.unwrap_or(width + cell.width);
            if at + 1 == cells.len() {
                // A comment beside several lines, or at a block's edge, has none of its neighbours' columns.
                let apart = broken.is_some() || statement.opens || statement.closes;
                if apart || statement.comment.is_none() {
                    self.align_comments();
                }
                self.comments.extend(statement.comment.map(|comment| (self.out.len(), width, comment)));
                if apart {
                    self.align_comments();
                }
                break;
            }
            let column = columns[cell.column];
            let blanks = match column.checked_sub(cell.width) {
                Some(0) if column == 0 => 0,
                Some(blanks) if aligned && blanks <= MOST_BLANKS => blanks + 1,
                _ => {
                    aligned = false;
                    usize::from(cell.width > 0)
                }
            };
            self.blanks(blanks);
            width += blanks;
        }
        self.out.push('\n');
    }

    /// Writes a cell; where it is broken, gives the width of its last line.
    fn cell(&mut self, cell: &Cell, depth: usize) -> Option<usize> {
        let mut broken = None;
        for at in cell.start..cell.end {
            match self.words[at].gap {
                Gap::Break => {
                    self.out.push_str(" \\\n");
                    self.blanks(depth + CONTINUED);
                    broken = Some(depth + CONTINUED);
                }
                Gap::Blank if at > cell.start => {
                    self.out.push(' ');
                    broken = broken.map(|width| width + 1);
                }
                Gap::Blank | Gap::Nothing => {}
            }
            let word = self.word(at);
            let wide = width_of(word);
            self.out.push_str(word);
            broken = broken.map(|width| width + wide);
        }
        broken
    }

    fn word(&self, at: usize) -> &'t str {
        let Some(word) = self.words.get(at) else { return "" };
        match &word.instead {
            Some(instead) => instead,
            None => self.text.get(word.span.clone()).unwrap_or(""),
        }
    }

    fn blanks(&mut self, n: usize) {
        self.out.extend(std::iter::repeat_n(' ', n));
    }

    /// Sets the comments of neighbouring lines below each other.
    fn align_comments(&mut self) {
        if self.comments.is_empty() {
            return;
        }
        let mut widths: Vec<usize> = self.comments.iter().map(|row| row.1).collect();
        let column = column_width(&mut widths);
        let comments = std::mem::take(&mut self.comments);
        let start = comments.first().map_or(self.out.len(), |row| row.0);
        let rest = self.out.split_off(start);
        let mut from = 0;
        for (place, width, comment) in &comments {
            let upto = place - start;
            self.out.push_str(rest.get(from..upto).unwrap_or(""));
            let blanks = column.checked_sub(*width).filter(|blanks| *blanks <= MOST_BLANKS).unwrap_or(0);
            self.blanks(blanks + BEFORE_COMMENT);
            self.out.push_str(slice(self.text, *comment));
            from = upto;
        }
        self.out.push_str(rest.get(from..).unwrap_or(""));
        self.comments = comments;
        self.comments.clear();
    }

    /// The text, with the line ends that most of its lines had.
    fn finish(self) -> String {
        let n_feeds = self.text.bytes().filter(|byte| *byte == b'\n').count();
        let n_both = self.text.matches("\r\n").count();
        if n_feeds < 2 * n_both { self.out.replace('\n', "\r\n") } else { self.out }
    }

    /// The cells of a statement: its words up to the first `\`, by what they are; the rest is the last cell.
    fn cells(&self, statement: &Statement, cells: &mut Vec<Cell>) {
        let words = statement.words.clone();
        let row = RowWords { writer: self, words: words.clone() };
        let mut starts = Starts { found: [(0, 0); MOST_CELLS], n: 0 };
        match statement.family {
            Family::Alone => starts.add(0, 0),
            Family::Component => row.component(&mut starts),
            Family::Conductor => row.conductor(&mut starts),
            Family::ModeLine => row.plain(&mut starts, &[0, 1]),
            Family::Terminal => row.terminal(&mut starts),
            Family::Same(_) => row.same(&mut starts),
        }
        let end = words.len();
        let whole = |at: usize| words.clone().skip(1).take(at).all(|word| self.words[word].gap != Gap::Break);
        let n =
            (1..starts.n).take_while(|at| starts.found[*at].1 < end && whole(starts.found[*at].1)).count()
                + 1;
        for at in 0..n {
            let (column, from) = starts.found[at];
            let upto = if at + 1 < n { starts.found[at + 1].1 } else { end };
            let (start, end) = (words.start + from, words.start + upto.max(from));
            let width = (start..end)
                .map(|word| {
                    let gap = usize::from(word > start && self.words[word].gap == Gap::Blank);
                    gap + width_of(self.word(word))
                })
                .sum();
            cells.push(Cell { column, start, end, width });
        }
    }
}

/// Most cells of one row.
const MOST_CELLS: usize = 8;
/// Columns: those of the families, and one for the parts of each kind.
const COLUMNS: usize = OF_PARTS + 32;
/// The first column of parts.
const OF_PARTS: usize = 7;

/// The columns of a row's cells, and the words that they start with.
struct Starts {
    found: [(usize, usize); MOST_CELLS],
    n: usize,
}

impl Starts {
    fn add(&mut self, column: usize, word: usize) {
        if let Some(slot) = self.found.get_mut(self.n) {
            *slot = (column, word);
            self.n += 1;
        }
    }
}

/// The words of one statement, counted from its first.
struct RowWords<'w, 't> {
    writer: &'w Writer<'t>,
    words: Range<usize>,
}

impl RowWords<'_, '_> {
    fn word(&self, at: usize) -> &str {
        if at < self.words.len() { self.writer.word(self.words.start + at) } else { "" }
    }

    /// A cell for each of these words, columns counted up.
    fn plain(&self, starts: &mut Starts, words: &[usize]) {
        for (column, at) in words.iter().enumerate() {
            starts.add(column, *at);
        }
    }

    /// `fuse | F1 | = PART | properties`
    fn component(&self, starts: &mut Starts) {
        self.plain(starts, &[0, 1]);
        if self.word(2) == "=" {
            let kind = words::KINDS.iter().position(|row| row.word == self.word(0)).unwrap_or(0);
            starts.add((OF_PARTS + kind).min(COLUMNS - 1), 2);
            starts.add(2, 4);
        } else {
            starts.add(2, 2);
        }
    }

    /// `wire | W1 | from T | to T | SIZE | LENGTH | properties`; a bolt has no name, and begins below `from`; a data
    /// lead has no size.
    fn conductor(&self, starts: &mut Starts) {
        if self.word(0) == "bolt" {
            self.plain(starts, &[0, 1, 1, 2]);
            return;
        }
        self.plain(starts, &[0, 1, 2, 4, 6]);
        let Some(second) = self.after_figure(6) else { return };
        let length = if self.word(0) == "data" { 6 } else { second };
        starts.add(5, length);
        if let Some(rest) = self.after_figure(length) {
            starts.add(6, rest);
        }
    }

    /// The word after a figure with its unit, or after a parameter.
    fn after_figure(&self, at: usize) -> Option<usize> {
        let first = self.word(at);
        match first.bytes().next()? {
            b'$' => Some(at + 1),
            b'0'..=b'9' | b'-' => Some(at + 2),
            _ => None,
        }
    }

    /// `reading | T | to T | 0.2 V | in MODE …`; most have one point alone.
    fn reading(&self, starts: &mut Starts) {
        let value = if self.word(2) == "to" { 4 } else { 2 };
        self.plain(starts, &[0, 1, 2, value]);
        if let Some(rest) = self.after_figure(value) {
            starts.add(4, rest);
        }
    }

    /// `terminal | + - | stud M8 6 Nm`
    fn terminal(&self, starts: &mut Starts) {
        let hardware = (1..self.words.len()).find(|at| words::HARDWARE.contains(&self.word(*at)));
        self.plain(starts, &[0, 1]);
        if let Some(hardware) = hardware {
            starts.add(2, hardware);
        }
    }

    fn same(&self, starts: &mut Starts) {
        match self.word(0) {
            // `set | NAME | WORD | VALUE`
            "set" => self.plain(starts, &[0, 1, 2, 3]),
            // `expect | T | above 12 V | in MODE`, `expect | METER | reads 5 A | within 1 A in MODE`
            "expect" => self.plain(starts, &[0, 1, 2, 5]),
            // `part | NAME | is KIND | properties`, `fit | KIT | as NAME | (…)`, `waive | RULE | on NAME | because "…"`
            "part" | "fit" => self.plain(starts, &[0, 1, 2, 4]),
            "reading" => self.reading(starts),
            "waive" if self.word(4) == ":" => self.plain(starts, &[0, 1, 2, 6]),
            "waive" => self.plain(starts, &[0, 1, 2, 4]),
            _ => self.plain(starts, &[0, 1, 2]),
        }
    }
}

/// How wide the column of cells of these widths is.
fn column_width(widths: &mut [usize]) -> usize {
    if widths.is_empty() {
        return 0;
    }
    let middle = (widths.len() - 1) / 2;
    let most = *widths.select_nth_unstable(middle).1 + STANDS_OUT;
    widths.iter().copied().filter(|width| *width <= most).max().unwrap_or(0)
}

fn width_of(word: &str) -> usize {
    if word.is_ascii() { word.len() } else { word.width() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn laid(before: &str, after: &str) {
        let one = lay_out(before);
        assert_eq!(one.text, after, "of\n{before}");
        assert!(says_the_same(before, &one), "{before}");
        assert_eq!(lay_out(&one.text).text, one.text, "twice");
    }

    #[test]
    fn columns_of_a_block() {
        laid(
            "design d \"t\"\nbattery house lifepo4 12V 200Ah\nload pump 12 V 60 W\n\nfuse F1 = blade-fuse 5 A\n\
             fuse FX2=main-fuse 125 A\nbar plus = rail\n\nwire W1 from house.+ to F1.line 35mm² 0.15 m red\n\
             bolt FX2.line to plus\nwire W10 from plus to pump.+ 1.5 mm2 $run black\n",
            "design d \"t\"\nbattery house lifepo4 12 V 200 Ah\nload    pump  12 V 60 W\n\nfuse F1   = blade-fuse 5 A\n\
             fuse FX2  = main-fuse  125 A\nbar  plus = rail\n\nwire W1  from house.+ to F1.line 35 mm²  0.15 m red\n\
             bolt     FX2.line     to plus\nwire W10 from plus    to pump.+  1.5 mm2 $run   black\n",
        );
    }

    #[test]
    fn what_a_row_has_not_is_left_open() {
        laid(
            "wire P1 from FP.load to panel.+ 1 mm2 3 m red\ndata D1 from tally.data to panel.data 3 m isolated\n\
             bolt a to b.1\n\ndata D2 from a.data to b.data 12 m\ndata D10 from a.data to b.data isolated 1 m\n",
            "wire P1 from FP.load    to panel.+    1 mm2 3 m red\ndata D1 from tally.data to panel.data       3 m isolated\n\
             bolt    a               to b.1\n\ndata D2  from a.data to b.data 12 m\ndata D10 from a.data to b.data isolated 1 m\n",
        );
        laid(
            "reading tally -4.8 A in m on 2026-05-04\nreading F.line to F.load 0.2 V in idle on 2026-05-04 by \"T\"\n\n\
             reading B.+ 12.9 V in m on 2026-05-04\n",
            "reading tally            -4.8 A in m on 2026-05-04\nreading F.line to F.load 0.2 V  in idle on 2026-05-04 by \"T\"\n\n\
             reading B.+ 12.9 V in m on 2026-05-04\n",
        );
    }

    #[test]
    fn blocks_and_blank_lines() {
        laid(
            "\u{feff}\n\n\tdesign d \"t\"\t\n\n\n\nmode m{\n\n# why\n a on\n\n\n long-name   12V\n\n}  # end\nkit k(a:terminal ,b : text){\n\
             part p is load{\nterminal + - pin\nterminal case stud M8\n }\n}\n\n\n",
            "design d \"t\"\n\nmode m {\n  # why\n  a on\n\n  long-name 12 V\n}  # end\nkit k (a: terminal, b: text) {\n  \
             part p is load {\n    terminal + -  pin\n    terminal case stud M8\n  }\n}\n",
        );
    }

    #[test]
    fn continuations_stay() {
        laid(
            "\\\n fit k as one \\\n ( a = 1m , \\\n\\\n b=2 m )  # both\nwire W from a to \\\n b 1 mm2 1 m\\\n\nload x 1 A # c\n",
            "fit k as one \\\n    (a = 1 m, \\\n    b = 2 m)  # both\nwire W from a to \\\n    b 1 mm2 1 m\nload x 1 A  # c\n",
        );
    }

    #[test]
    fn comments_stand_below_each_other() {
        laid(
            "load a 1 A # one\nload bb 12 V 2 A    #two \n# alone\nload c 1 A# three\nload d 1 A\n",
            "load a  1 A       # one\nload bb 12 V 2 A  #two\n# alone\nload c  1 A  # three\nload d  1 A\n",
        );
    }

    #[test]
    fn strings_and_wide_letters() {
        laid(
            "note a \"x  #  \\\" y\"\nnote bcd \"é\" # c\nset x word  3in   \"a  b\"\nset long-name float 13V\n",
            "note a   \"x  #  \\\" y\"\nnote bcd \"é\"  # c\nset x         word  3in \"a  b\"\nset long-name float 13 V\n",
        );
    }

    #[test]
    fn a_long_cell_stands_out() {
        let long = "a".repeat(60);
        laid(
            &format!("load {long} 1 A\nload b 2 A\nload cd 3 A\n"),
            &format!("load {long} 1 A\nload b  2 A\nload cd 3 A\n"),
        );
        laid(
            &format!("load {long} 1 A\nload {long}b 2 A\nload cd 3 A\n"),
            &format!("load {long}  1 A\nload {long}b 2 A\nload cd 3 A\n"),
        );
    }

    #[test]
    fn line_ends_of_the_majority() {
        laid("a b\r\nc\td\r\ne\n", "a b\r\nc d\r\ne\r\n");
        laid("a\r\nb\n", "a\nb\n");
        laid("a \\\r\n  b\r\n", "a \\\r\n    b\r\n");
        laid("", "");
        laid("\n \n", "");
        laid("# c", "# c\n");
    }

    #[test]
    fn a_line_number_follows_its_line() {
        laid(
            "design d \"t\"\n\n\n\nwaive a.b on line : 6 because \"w\" until 2027-01-01\nbolt a to b\nwaive a.b on line:99 because \"w\" until 2027-01-01\n",
            "design d \"t\"\n\nwaive a.b on line:4 because \"w\" until 2027-01-01\nbolt a to b\nwaive a.b on line:99 because \"w\" until 2027-01-01\n",
        );
    }

    #[test]
    fn what_is_said_otherwise_is_seen() {
        let before = "set x word 3in\nload a 1 A # c\n";
        let other = |text: &str| Laid { text: text.into(), ..lay_out(before) };
        assert!(says_the_same(before, &other(before)));
        for text in [
            "set x word 3 in\nload a 1 A # c\n",
            "set x word 3in\nload a 2 A # c\n",
            "set x word 3in\nload a 1 A # d\n",
            "set x word 3in\nload a 1 A\n# c\n",
            "set x word 3in load a 1 A # c\n",
            "set x word 3in\nload a 1 A # c\nload b 1 A\n",
        ] {
            assert!(!says_the_same(before, &other(text)), "{text}");
        }
    }

    #[test]
    fn any_text_is_laid_out_once() {
        for text in [
            "}}}{{",
            "\"open",
            "# \\\nb",
            "{\n{\n}",
            "\r",
            "a \u{1} b",
            "wire",
            "bolt",
            "fit",
            "-",
            "fuse F =",
        ] {
            let one = lay_out(text);
            assert_eq!(lay_out(&one.text).text, one.text, "{text:?}");
        }
    }
}
