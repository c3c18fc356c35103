//! Pages of documentation: reading, writing, and cutting them into what the tests look at.

use std::fs;
use std::path::Path;

/// The project's folder.
pub(super) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A file of the project, with LF line ends.
pub(super) fn read(path: &str) -> String {
    let text = fs::read_to_string(root().join(path));
    text.unwrap_or_else(|error| panic!("{path}: {error}")).replace("\r\n", "\n")
}

/// Holds a page to what it should be, or writes it so.
#[track_caller]
pub(super) fn held(path: &str, wanted: &str) {
    let is = fs::read_to_string(root().join(path)).unwrap_or_default().replace("\r\n", "\n");
    if is == wanted {
        return;
    }
    if std::env::var_os("OHMWARD_WRITE_DOCS").is_some() {
        fs::write(root().join(path), wanted).unwrap_or_else(|error| panic!("{path}: {error}"));
        return;
    }
    let at = is.lines().zip(wanted.lines()).position(|(is, wanted)| is != wanted);
    let at = at.unwrap_or_else(|| is.lines().count().min(wanted.lines().count()));
    let line = |text: &str| text.lines().nth(at).unwrap_or("(the end)").to_owned();
    panic!(
        "{path} is not current, first in line {}:\n  is     {}\n  should {}\nwrite it with OHMWARD_WRITE_DOCS=1 cargo test docs",
        at + 1,
        line(&is),
        line(wanted)
    );
}

/// A fenced block.
#[derive(Debug)]
pub(super) struct Block {
    /// What stands after the opening fence.
    pub(super) info: String,
    /// Its lines.
    pub(super) text: String,
    /// Where its text starts and ends in the page.
    pub(super) start: usize,
    pub(super) end: usize,
}

impl Block {
    /// The first word after the fence.
    pub(super) fn kind(&self) -> &str {
        self.info.split(' ').next().unwrap_or("")
    }
}

/// The fenced blocks of a page, in order.
pub(super) fn blocks(page: &str) -> impl Iterator<Item = Block> {
    let mut found = Vec::new();
    let (mut at, mut open): (usize, Option<(String, usize)>) = (0, None);
    for line in page.split_inclusive('\n') {
        match (line.strip_prefix("```"), open.take()) {
            (Some(_), Some((info, start))) => {
                found.push(Block { info, text: page[start..at].to_owned(), start, end: at });
            }
            (Some(info), None) => open = Some((info.trim().to_owned(), at + line.len())),
            (None, before) => open = before,
        }
        at += line.len();
    }
    assert!(open.is_none(), "a block is not closed: {open:?}");
    found.into_iter()
}

/// A page with its designs in the standard form.
pub(super) fn laid_out(page: &str) -> String {
    let (mut new, mut at) = (String::new(), 0);
    for block in blocks(page).filter(|block| block.kind() == "loom") {
        new += &page[at..block.start];
        new += &ohmward::tidy::laid_out(&block.text);
        at = block.end;
    }
    new + &page[at..]
}

/// A page without its fenced blocks and without code in the text.
pub(super) fn prose(page: &str) -> String {
    let mut text = String::new();
    let mut at = 0;
    for block in blocks(page) {
        text += &page[at..block.start];
        at = block.end;
    }
    text += &page[at..];
    text.lines().map(|line| line.split('`').step_by(2).collect::<String>() + "\n").collect()
}

/// What stands under a heading of the second level.
#[track_caller]
pub(super) fn section<'p>(page: &'p str, heading: &str) -> &'p str {
    let (_, rest) =
        page.split_once(&format!("\n## {heading}\n")).unwrap_or_else(|| panic!("no section «{heading}»"));
    rest.split_once("\n## ").map_or(rest, |row| row.0)
}

/// The paths of files and folders in backquotes.
pub(super) fn paths(page: &str) -> impl Iterator<Item = &str> {
    const FOLDERS: [&str; 5] = ["src/", "tests/", "samples/", "rules/", "grammar/"];
    const ENDS: [&str; 4] = [".md", ".toml", ".loom", ".pest"];
    page.lines().flat_map(|line| line.split('`').skip(1).step_by(2)).filter(|path| {
        let plain = !path.contains([' ', '*', '…', '<', '"'])
            && !["NAME", "FAMILY", "/ID."].iter().any(|word| path.contains(word));
        plain && path.contains('/') && FOLDERS.iter().any(|folder| path.starts_with(folder))
            || plain
                && path.split('/').next_back().is_some_and(|name| name.starts_with(char::is_uppercase))
                && ENDS.iter().any(|end| path.ends_with(end))
    })
}

/// What the links of a page lead to.
pub(super) fn links(page: &str) -> impl Iterator<Item = &str> {
    page.split("](").skip(1).filter_map(|rest| rest.split_once(')')).map(|row| row.0)
}

/// The anchors that the headings of a page have.
pub(super) fn anchors(page: &str) -> impl Iterator<Item = String> {
    page.lines().filter(|line| line.starts_with('#')).map(|line| {
        let words = line.trim_start_matches('#').trim().to_lowercase();
        let kept = words.chars().filter(|one| one.is_alphanumeric() || matches!(one, ' ' | '-' | '_'));
        kept.map(|one| if one == ' ' { '-' } else { one }).collect()
    })
}
