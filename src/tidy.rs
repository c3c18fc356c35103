//! The facade for layout: one file in, its standard form out, and only if that says the same. Reads through [`Files`].

use std::sync::Arc;

use crate::design::{Design, LoadOptions, Loaded, load};
use crate::findings::Finding;
use crate::syntax::{lay_out, says_the_same};
use crate::text::{FileId, Files, LocateError, ReadError, Sources};

/// A file that is, or can be brought, into the standard form.
#[derive(Debug, Clone)]
pub struct Tidied {
    /// Its text as it was.
    pub before: Arc<str>,
    /// Its standard form.
    pub after: String,
}

/// What stands between a text and its standard form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Change<'t> {
    /// The first line that differs, as it was, and its number from 1.
    pub before: &'t str,
    /// That number.
    pub line: usize,
    /// What it becomes.
    pub after: &'t str,
    /// How many lines differ, blank ones left out; if none does, only blank lines or line ends do, and the two texts
    /// above are empty.
    pub n_lines: usize,
}

/// Why a file is left as it is.
#[derive(Debug, Clone)]
pub enum Untidied {
    /// It cannot be read as text.
    Unreadable(String),
    /// It, or a library that it uses, is not in the language: what is wrong, with the texts.
    Language(Sources, Vec<Finding>),
    /// The standard form would not say the same: a fault of this program, or a text at the edge of what is taken.
    Differs(String),
}

/// The standard form of any text. Whether the text is in the language is not looked at; where it is not, the form may
/// say something else.
#[must_use]
pub fn laid_out(text: &str) -> String {
    lay_out(text).text
}

/// The standard form of one file. What its text says, before and after, is compared word by word, and so is the design
/// that it resolves to.
///
/// # Errors
/// When the file cannot be read or has language errors, and when its form would not say the same.
pub fn tidy(path: &str, files: &dyn Files) -> Result<Tidied, Untidied> {
    let before = read(path, files)?;
    let text = Arc::clone(before.sources.get(FileId(0)).text());
    let laid = lay_out(&text);
    if *laid.text == *text {
        return Ok(Tidied { before: text, after: laid.text });
    }
    if !says_the_same(&text, &laid) {
        return Err(Untidied::Differs("its words would come out differently".into()));
    }
    let overlay = Overlay { path, text: &laid.text, sources: &before.sources, files };
    let after = match read(path, &overlay) {
        Ok(after) => after,
        Err(Untidied::Language(_, problems)) => {
            let why = problems.first().map_or("it could no longer be read", |problem| &problem.headline);
            return Err(Untidied::Differs(why.into()));
        }
        Err(why) => return Err(why),
    };
    let waived = |line: u32| laid.line(line);
    match same(before, after, &waived) {
        true => Ok(Tidied { before: text, after: laid.text }),
        false => Err(Untidied::Differs("the design would come out differently".into())),
    }
}

/// Whether two readings of a file are of one design; line numbers in its own waivers may have moved.
fn same(before: Loaded, after: Loaded, moved: &dyn Fn(u32) -> Option<u32>) -> bool {
    let plain = |loaded: Loaded, moved: &dyn Fn(u32) -> Option<u32>| {
        let mut design: Option<Design> = loaded.design;
        for waiver in design.iter_mut().flat_map(|design| &mut design.waivers) {
            let line = waiver.subject.strip_prefix("line:").and_then(|line| line.parse().ok());
            if let Some(line) = line.filter(|_| waiver.place.span.file == FileId(0)).and_then(moved) {
                waiver.subject = format!("line:{line}");
            }
        }
        let book = loaded.book.map(|book| book.0);
        (design.map(Design::without_places), loaded.name, loaded.library, book)
    };
    plain(before, moved) == plain(after, &|_| None)
}

fn read(path: &str, files: &dyn Files) -> Result<Loaded, Untidied> {
    let loaded = load(path, files, &LoadOptions::default());
    if let Some(why) = loaded.unreadable {
        return Err(Untidied::Unreadable(why));
    }
    if !loaded.problems.is_empty() {
        return Err(Untidied::Language(loaded.sources, loaded.problems));
    }
    Ok(loaded)
}

impl Tidied {
    /// Whether the file is not in the standard form yet.
    #[must_use]
    pub fn changes(&self) -> bool {
        *self.before != *self.after
    }

    /// Where it is not.
    #[must_use]
    pub fn first_change(&self) -> Option<Change<'_>> {
        if !self.changes() {
            return None;
        }
        let rows = |text| (1_usize..).zip(str::lines(text)).filter(|row| !is_blank(row.1));
        let mut pairs = rows(&self.before).zip(rows(&self.after)).filter(|(one, two)| one.1 != two.1);
        let none = Change { before: "", line: 0, after: "", n_lines: 0 };
        Some(pairs.next().map_or(none, |((line, before), (_, after))| Change {
            before,
            line,
            after,
            n_lines: 1 + pairs.count(),
        }))
    }
}

/// A line without words; what only continues a line is none either.
fn is_blank(line: &str) -> bool {
    matches!(line.trim(), "" | "\\" | "\u{feff}")
}

/// The files of the first reading, with another text in place of the first.
struct Overlay<'a> {
    path: &'a str,
    text: &'a str,
    sources: &'a Sources,
    files: &'a dyn Files,
}

impl Files for Overlay<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        if path == self.path {
            return Ok(self.text.into());
        }
        // What another process may have changed meanwhile is no concern of this file's layout.
        match self.sources.iter().find(|source| source.path() == path) {
            Some(source) => Ok(source.text().as_bytes().into()),
            None => self.files.read(path),
        }
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        self.files.locate(from, relative)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::MemoryFiles;

    fn tidied(text: &str) -> Result<Tidied, Untidied> {
        tidy("it.loom", &MemoryFiles::default().with("it.loom", text))
    }

    #[test]
    fn a_design_stays_the_same() {
        let done = tidied("design d \"t\"\nbattery b agm 12V 9Ah\n\n\nset b word eco  3in\n").unwrap();
        assert_eq!(done.after, "design d \"t\"\nbattery b agm 12 V 9 Ah\n\nset b word eco 3in\n");
        let change = done.first_change().unwrap();
        assert_eq!((change.line, change.n_lines), (2, 2));
        assert_eq!(change.after, "battery b agm 12 V 9 Ah");
        let again = tidied(&done.after).unwrap();
        assert!(!again.changes() && again.first_change().is_none());
    }

    #[test]
    fn a_line_in_a_waiver_follows() {
        let text = "design d \"t\"\n\n\nbattery b agm 12 V 9 Ah\nload l 1 A\nbolt b.+ to l.+\n\
            waive return.bypass on line:6 because \"w\" until 2027-01-01\n";
        let done = tidied(text).unwrap();
        assert!(done.after.contains("on line:5 "), "{}", done.after);
    }

    #[test]
    fn language_errors_are_told() {
        assert!(
            matches!(tidied("design d \"t\"\nbatery b\n"), Err(Untidied::Language(_, problems)) if problems.len() == 1)
        );
        assert!(matches!(tidied("design d \"t\"\nuse \"none.loom\"\n"), Err(Untidied::Language(..))));
        let files = MemoryFiles::default().with("it.loom", b"\xff");
        assert!(matches!(tidy("it.loom", &files), Err(Untidied::Unreadable(_))));
    }

    /// At the longest line that is taken, one blank more would be too many.
    #[test]
    fn what_would_no_longer_be_read_is_left() {
        let room = (1 << 16) - "note b \"\"".len();
        let text = format!("design d \"t\"\nbattery b agm 12 V 9 Ah\nnote b\"{}\"\n", "x".repeat(room));
        assert!(matches!(tidied(&text.replacen("xx", "x", 1)), Ok(done) if done.changes()));
        let Err(Untidied::Differs(why)) = tidied(&text.replacen("note b\"", "note b\"x", 1)) else {
            panic!()
        };
        assert!(why.contains("a line of 65537 bytes"), "{why}");
    }

    #[test]
    fn another_design_is_seen() {
        let load = |text: &str| {
            load("it.loom", &MemoryFiles::default().with("it.loom", text), &LoadOptions::default())
        };
        let one = "design d \"t\"\nbattery b agm 12 V 9 Ah\nset b word eco 3 in\n";
        let same = |two: &str| same(load(one), load(two), &|_| None);
        assert!(same(&one.replace("b agm 12 V", "b  agm  12V")));
        for (from, to) in [("12 V", "24 V"), ("\"t\"", "\"u\""), ("3 in", "3in"), ("design d", "design e")] {
            assert!(!same(&one.replace(from, to)), "{from} to {to}");
        }
    }
}
