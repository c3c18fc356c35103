//! Statements that were read before, by the text of their line: of a text that is being edited only what changed is
//! read again.

use rustc_hash::FxHashMap;

use crate::text::{FileId, Span};

use super::read::Block;
use super::tree::{Shift, Statement};

/// What the lines of one design's files said when they were last read. Only lines without a problem are kept, as problems
/// have to be told again, and only those that the last reading saw.
#[derive(Debug, Default)]
pub struct Memory {
    /// By the block that the line stands in: a file, a kit (with the kit's own line before it), a mode, a part.
    now: [Lines; 4],
    before: [Lines; 4],
    key: String,
    n_read: usize,
}

type Lines = FxHashMap<Box<str>, Known>;

/// A statement as if its line stood at the start of the first file, and the block that it opens.
#[derive(Debug)]
struct Known {
    statement: Statement,
    opens: Option<(Span, Block)>,
}

/// Where a line stands.
#[derive(Debug, Clone, Copy)]
pub(super) struct Around<'t> {
    pub(super) block: Block,
    /// The line of the kit around; empty outside kits.
    pub(super) kit: &'t str,
}

impl Memory {
    /// Begins a reading: what the last one did not see is forgotten.
    pub(crate) fn turn(&mut self) {
        self.before = std::mem::take(&mut self.now);
        self.n_read = 0;
    }

    /// Begins the reading of another text that is likely to have lines of those before it: they are forgotten only when they
    /// are more than `most`, and those among them that are not met again until there are as many others.
    pub(crate) fn turn_beyond(&mut self, most: usize) {
        if most < self.now.iter().map(FxHashMap::len).sum() {
            self.turn();
        }
    }

    /// How many statements were not known in this reading, the heads of files left out.
    #[must_use]
    pub fn n_read(&self) -> usize {
        self.n_read
    }

    /// The statement of a line that was read before, at its place now.
    pub(super) fn recall(
        &mut self,
        around: Around<'_>,
        text: &str,
        file: FileId,
        start: u32,
    ) -> Option<(Statement, Option<(Span, Block)>)> {
        let at = place(around.block)?;
        let key = key(&mut self.key, around.kit, text);
        if !self.now[at].contains_key(key) {
            let (line, known) = self.before[at].remove_entry(key)?;
            self.now[at].insert(line, known);
        }
        let known = self.now[at].get(key)?;
        let shift = Shift { file, by: start };
        let mut statement = known.statement.clone();
        statement.shift(shift);
        Some((statement, known.opens.map(|(span, block)| (shift.span(span), block))))
    }

    /// Keeps the statement of a line that starts at `start`.
    pub(super) fn keep(
        &mut self,
        around: Around<'_>,
        text: &str,
        start: u32,
        statement: &Statement,
        opens: Option<(Span, Block)>,
    ) {
        self.n_read += 1;
        let Some(at) = place(around.block).filter(|_| !statement.faulty) else { return };
        let shift = Shift { file: FileId(0), by: 0_u32.wrapping_sub(start) };
        let mut statement = statement.clone();
        statement.shift(shift);
        let opens = opens.map(|(span, block)| (shift.span(span), block));
        let key = key(&mut self.key, around.kit, text).into();
        self.now[at].insert(key, Known { statement, opens });
    }
}

fn place(block: Block) -> Option<usize> {
    match block {
        Block::File => Some(0),
        Block::Kit => Some(1),
        Block::Mode => Some(2),
        Block::Part => Some(3),
        Block::Skip => None,
    }
}

fn key<'k>(buffer: &'k mut String, kit: &str, text: &'k str) -> &'k str {
    if kit.is_empty() {
        return text;
    }
    buffer.clear();
    buffer.extend([kit, "\n", text]);
    buffer
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{Problems, read};
    use crate::text::{Source, Sources};

    const TEXT: &str = "design d \"t\"\nmode m {\n  lights on\n}\nkit k (a: area, t: terminal) {\n  wire W from $t to X.+ $a 1 m red\n}\n\
        part p is fuse 10 A blade {\n  terminal line load stud M8 4 Nm\n}\nwire W from a.+ to b/c.line 4 mm2 2 m red/blue ends ring-M8 pin zone z \n\
        waive return.bypass on W because \"w\" until 2027-01-01\nfit k as f (a = 4 mm2, t = a.+)\nwire W from\nreading t.a to t.b 3 V in m on 2026-01-01 by \"x\"\n";

    fn told(text: &str, memory: Option<&mut Memory>) -> (String, Vec<String>) {
        let mut sources = Sources::default();
        let file = sources.add(Source::new("d.loom", text));
        let mut problems = Problems::default();
        let tree = read(file, sources.get(file), &mut problems, memory);
        let problems = problems.finish(&sources).iter().map(|one| format!("{one:?}")).collect();
        (format!("{tree:#?}"), problems)
    }

    #[test]
    fn what_is_recalled_is_what_would_be_read() {
        let mut memory = Memory::default();
        let edits = [
            TEXT.to_owned(),
            TEXT.to_owned(),
            TEXT.replace("design d", "# a line above\n\ndesign dd"),
            TEXT.replace("a: area", "b: length, a: area"),
            TEXT.replace("mode m {", "kit m {"),
            TEXT.replace("design", "library"),
            TEXT.replace("  lights on\n}", "  lights on"),
            TEXT.replace("design d \"t\"\n", ""),
        ];
        for text in edits {
            memory.turn();
            assert_eq!(told(&text, Some(&mut memory)), told(&text, None), "{text}");
        }
    }

    #[test]
    fn only_what_changed_is_read_again() {
        let mut memory = Memory::default();
        told(TEXT, Some(&mut memory));
        let all = memory.n_read();
        memory.turn();
        told(&TEXT.replace("2 m red", "3 m red"), Some(&mut memory));
        // The line that cannot be read, and the one that changed.
        assert_eq!((all, memory.n_read()), (11, 2));
    }
}
