//! A page of headings, sentences, tables and examples, written as Markdown or for a terminal.

use super::wording::{clean, padded, sentence, wrap};
use crate::findings::Severity;

/// Narrowest column of text at the end of a table's row; below that it goes under the row.
const NARROWEST: usize = 30;
/// How deep what lies under a table's row is set in.
const UNDER: usize = 4;

/// A page. One structure for every form of output.
#[derive(Debug, Clone, Default)]
pub struct Page {
    title: String,
    blocks: Vec<Block>,
}

#[derive(Debug, Clone)]
enum Block {
    Heading(String),
    /// A sentence that a severity leads.
    Severity(Severity, String),
    Text(String),
    Table(Table),
    Code {
        kind: &'static str,
        text: String,
    },
}

/// A table whose first column holds names.
#[derive(Debug, Clone)]
pub(super) struct Table {
    heads: Vec<String>,
    rows: Vec<Vec<String>>,
    /// Names are words that a design or a book writes.
    words: bool,
}

/// How a page is shown on a terminal.
#[derive(Debug, Clone, Copy)]
pub struct PageLook {
    /// Columns that text is wrapped to.
    pub width: usize,
    /// Escape sequences for colours.
    pub color: bool,
    /// Tables in sentences, for screen readers.
    pub told: bool,
}

impl Page {
    pub(super) fn new(title: impl Into<String>) -> Self {
        Self { title: title.into(), blocks: Vec::new() }
    }

    pub(super) fn heading(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Heading(text.into()));
    }

    pub(super) fn severity(&mut self, severity: Severity, text: impl Into<String>) {
        self.blocks.push(Block::Severity(severity, text.into()));
    }

    pub(super) fn text(&mut self, text: impl Into<String>) {
        self.blocks.push(Block::Text(text.into()));
    }

    /// A table whose names are written in designs or books.
    pub(super) fn words(&mut self, heads: &[&str], rows: Vec<Vec<String>>) {
        let heads = heads.iter().map(|head| (*head).to_owned()).collect();
        self.blocks.push(Block::Table(Table { heads, rows, words: true }));
    }

    /// A table of figures.
    pub(super) fn figures(&mut self, heads: Vec<String>, rows: Vec<Vec<String>>) {
        self.blocks.push(Block::Table(Table { heads, rows, words: false }));
    }

    pub(super) fn code(&mut self, kind: &'static str, text: &str) {
        self.blocks.push(Block::Code { kind, text: text.replace("\r\n", "\n").trim_end().to_owned() });
    }

    /// The page in Markdown, its title as a heading of this level.
    #[must_use]
    pub fn markdown(&self, level: usize) -> String {
        let marks = "#".repeat(level);
        let mut page = format!("{marks} {}\n", cell(&self.title));
        for block in &self.blocks {
            page.push('\n');
            match block {
                Block::Heading(text) => page += &format!("{marks}# {}\n", cell(text)),
                Block::Severity(severity, text) => page += &format!("**{severity}**: {}\n", clean(text)),
                Block::Text(text) => page += &format!("{}\n", clean(text)),
                Block::Table(table) => page += &table.markdown(),
                Block::Code { kind, text } => page += &format!("```{kind}\n{text}\n```\n"),
            }
        }
        page
    }

    /// The page for a terminal, or as plain text.
    #[must_use]
    pub fn shown(&self, look: PageLook) -> String {
        let mut page = format!("{}\n", look.paint("1", &clean(&self.title)));
        for block in &self.blocks {
            page.push('\n');
            match block {
                Block::Heading(text) => page += &format!("{}\n", look.paint("1", &clean(text))),
                Block::Severity(severity, text) => {
                    let word = severity.word();
                    let lines = wrap(&format!("{word}: {}", clean(text)), look.width).join("\n");
                    let rest = lines.strip_prefix(word).unwrap_or("");
                    page += &format!("{}{rest}\n", look.paint(severity_code(*severity), word));
                }
                Block::Text(text) => page += &format!("{}\n", wrap(&clean(text), look.width).join("\n")),
                Block::Table(table) if look.told => page += &table.told(look.width),
                Block::Table(table) => page += &table.shown(look),
                Block::Code { text, .. } => {
                    for line in text.lines() {
                        page += format!("    {}", clean(line)).trim_end();
                        page.push('\n');
                    }
                }
            }
        }
        page
    }
}

/// The escape code of a severity's colour.
pub(super) fn severity_code(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "1;31",
        Severity::Warning => "1;33",
        Severity::Advice => "1;36",
    }
}

impl PageLook {
    fn paint(self, code: &str, text: &str) -> String {
        if self.color { format!("\x1b[{code}m{text}\x1b[0m") } else { text.to_owned() }
    }
}

impl Table {
    fn markdown(&self) -> String {
        let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
        let heads = self.heads.iter().map(|head| cell(head)).collect();
        let mut table = line(heads) + &line(self.heads.iter().map(|_| "---".to_owned()).collect());
        for row in &self.rows {
            let name = |(at, text): (usize, &String)| match at {
                0 if self.words => format!("`{}`", cell(text)),
                _ => cell(text),
            };
            table += &line(row.iter().enumerate().map(name).collect());
        }
        table
    }

    /// One sentence a row, with the heads in it.
    fn told(&self, width: usize) -> String {
        let mut text = String::new();
        for row in &self.rows {
            let mut cells = row.iter().zip(&self.heads).map(|(cell, head)| (clean(cell), head));
            let Some((name, _)) = cells.next() else { continue };
            let rest = cells.filter(|row| !row.0.is_empty()).map(|(cell, head)| format!("{head}: {cell}"));
            let line = sentence(&format!("{name}: {}", rest.collect::<Vec<_>>().join("; ")));
            for (at, line) in wrap(&line, width.saturating_sub(UNDER)).iter().enumerate() {
                text += &format!("{}{line}\n", " ".repeat(if at == 0 { 0 } else { UNDER }));
            }
        }
        text
    }

    /// Columns beside each other as far as the width allows; what does not fit goes under its row.
    fn shown(&self, look: PageLook) -> String {
        let widths = self.widths();
        let beside = self.beside(&widths, look.width);
        let mut text = String::new();
        let heads: Vec<String> =
            self.heads.iter().take(beside).map(|head| clean(head).into_owned()).collect();
        text += &look.paint("2", &lines_of(&heads, &widths, look.width));
        for row in &self.rows {
            let cells: Vec<String> = row.iter().map(|cell| clean(cell).into_owned()).collect();
            let line = lines_of(cells.get(..beside).unwrap_or(&cells), &widths, look.width);
            text += &match line.split_once(' ') {
                Some((name, rest)) if self.words => format!("{} {rest}", look.paint("36", name)),
                _ => line,
            };
            for cell in cells.iter().skip(beside).filter(|cell| !cell.is_empty()) {
                for line in wrap(cell, look.width.saturating_sub(UNDER)) {
                    text += &format!("{}{line}\n", " ".repeat(UNDER));
                }
            }
        }
        text
    }

    fn widths(&self) -> Vec<usize> {
        let widest = |at: usize| {
            let cells = self.rows.iter().filter_map(|row| row.get(at));
            cells.chain(self.heads.get(at)).map(|cell| clean(cell).chars().count()).max().unwrap_or(0)
        };
        (0..self.heads.len()).map(widest).collect()
    }

    /// How many columns stand beside each other: all, if the last has room enough to be wrapped in.
    fn beside(&self, widths: &[usize], width: usize) -> usize {
        let mut left = 0;
        for (at, column) in widths.iter().enumerate() {
            let last = at + 1 == widths.len();
            let needs = if last { (*column).min(NARROWEST) } else { *column };
            if width < left + needs {
                return at.max(1);
            }
            left += column + 2;
        }
        widths.len()
    }
}

/// One row of cells, the last of them wrapped in its column.
fn lines_of(cells: &[String], widths: &[usize], width: usize) -> String {
    let Some((last, before)) = cells.split_last() else { return String::new() };
    let mut line = String::new();
    for (cell, column) in before.iter().zip(widths) {
        line += &format!("{}  ", padded(cell, *column));
    }
    let indent = line.chars().count();
    let mut wrapped = wrap(last, width.saturating_sub(indent).max(NARROWEST)).into_iter();
    let first = format!("{line}{}", wrapped.next().unwrap_or_default());
    let mut text = format!("{}\n", first.trim_end());
    for more in wrapped {
        text += &format!("{}{more}\n", " ".repeat(indent));
    }
    text
}

/// A text as it may stand in a cell of Markdown.
fn cell(text: &str) -> String {
    clean(text).replace('|', "\\|")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn page() -> Page {
        let mut page = Page::new("A page");
        page.severity(Severity::Warning, "Something is so, and this sentence is longer than one line of it.");
        page.words(
            &["name", "value", "from"],
            vec![
                vec!["a.limit".into(), "1 m".into(), "a source that has a long name and a year, 2020".into()],
                vec!["b".into(), "2 | 3".into(), "none".into()],
            ],
        );
        page.code("loom", "design d \"x\"\r\n\r\nbattery B 12 V\r\n");
        page
    }

    fn shown(width: usize, told: bool) -> String {
        page().shown(PageLook { width, color: false, told })
    }

    #[test]
    fn markdown() {
        let text = page().markdown(2);
        assert!(text.starts_with("## A page\n\n**warning**: Something"), "{text}");
        assert!(text.contains("| `b` | 2 \\| 3 | none |\n"), "{text}");
        assert!(text.ends_with("```loom\ndesign d \"x\"\n\nbattery B 12 V\n```\n"), "{text}");
    }

    #[test]
    fn columns_stand_beside_each_other_where_there_is_room() {
        let text = shown(60, false);
        assert!(text.contains("\nname     value  from\na.limit  1 m    a source that"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
    }

    #[test]
    fn a_narrow_terminal_has_the_text_under_the_row() {
        let text = shown(40, false);
        assert!(text.contains("\na.limit  1 m\n    a source that"), "{text}");
        assert!(text.lines().all(|line| line.chars().count() <= 40), "{text}");
    }

    #[test]
    fn a_screen_reader_is_told_the_heads() {
        let text = shown(70, true);
        assert!(text.contains("\nb: value: 2 | 3; from: none.\n"), "{text}");
    }
}
