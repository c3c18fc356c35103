//! Places in text: files, byte spans, lines and columns. Knows nothing of the language.

mod digest;
mod files;
mod nearest;
mod recorded;

use std::sync::{Arc, OnceLock};

use serde::{Deserialize, Serialize};

pub use digest::Digest;
pub use files::{Files, LocateError, MemoryFiles, ReadError, as_text};
pub use nearest::nearest;
pub use recorded::{Answers, Recorded};

/// Identifies one file of a run within its [`Sources`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct FileId(pub u32);

/// A range of bytes in one file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Span {
    /// The file.
    pub file: FileId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The bytes from `start` up to `end` of `file`.
    #[must_use]
    pub fn new(file: FileId, start: usize, end: usize) -> Self {
        let clip = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        Self { file, start: clip(start), end: clip(end.max(start)) }
    }

    /// The smallest span that covers both; `other` is taken to be in the same file.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self { file: self.file, start: self.start.min(other.start), end: self.end.max(other.end) }
    }

    /// Length in bytes.
    #[must_use]
    pub fn len(self) -> usize {
        (self.end - self.start) as usize
    }

    /// Whether the span covers no text.
    #[must_use]
    pub fn is_empty(self) -> bool {
        self.start == self.end
    }
}

/// What some programs write before a text to say that it is UTF-8; it is no character of the text.
pub const BYTE_ORDER_MARK: char = '\u{feff}';

/// A line and a column, both counted from 1; the column counts characters, not bytes, and no byte order mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct LineColumn {
    /// Line, from 1.
    pub line: u32,
    /// Column in characters, from 1.
    pub column: u32,
}

/// One file's path and text, with its line starts.
#[derive(Debug, Clone)]
pub struct Source {
    path: String,
    text: Arc<str>,
    starts: Arc<[u32]>,
    digest: Arc<OnceLock<Digest>>,
}

impl Source {
    /// Takes a file's path, as it is to be shown, and its text.
    #[must_use]
    pub fn new(path: impl Into<String>, text: impl Into<Arc<str>>) -> Self {
        let text = text.into();
        let mut starts = vec![0];
        for (at, byte) in text.bytes().enumerate() {
            if byte == b'\n' {
                starts.push(u32::try_from(at + 1).unwrap_or(u32::MAX));
            }
        }
        Self { path: path.into(), text, starts: starts.into(), digest: Arc::default() }
    }

    /// The same text under another path.
    #[must_use]
    pub fn at(&self, path: impl Into<String>) -> Self {
        Self { path: path.into(), ..self.clone() }
    }

    /// Stands for the text: computed once for all copies of a source.
    #[must_use]
    pub fn digest(&self) -> Digest {
        *self.digest.get_or_init(|| Digest::of(&[self.text.as_bytes()]))
    }

    /// The path as it is shown.
    #[must_use]
    pub fn path(&self) -> &str {
        &self.path
    }

    /// The whole text.
    #[must_use]
    pub fn text(&self) -> &Arc<str> {
        &self.text
    }

    /// The text that a span covers; empty if the span does not fit this file.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.start as usize..span.end as usize).unwrap_or("")
    }

    /// The text of the line that a byte offset is in, without its end.
    #[must_use]
    pub fn line_at(&self, offset: u32) -> &str {
        let next = self.starts.partition_point(|start| *start <= offset);
        let start = self.starts.get(next.max(1) - 1).copied().unwrap_or(0) as usize;
        let end = self.starts.get(next).map_or(self.text.len(), |end| *end as usize);
        unmarked(start, self.text.get(start..end).unwrap_or("")).trim_end_matches(['\n', '\r'])
    }

    /// Line and column of a byte offset.
    #[must_use]
    pub fn line_column(&self, offset: u32) -> LineColumn {
        let line = self.starts.partition_point(|start| *start <= offset).max(1) - 1;
        let start = self.starts.get(line).copied().unwrap_or(0) as usize;
        let end = (offset as usize).min(self.text.len());
        let before = unmarked(start, self.text.get(start..end).unwrap_or(""));
        let column = before.chars().count() + 1;
        LineColumn {
            line: u32::try_from(line + 1).unwrap_or(u32::MAX),
            column: u32::try_from(column).unwrap_or(u32::MAX),
        }
    }
}

/// The byte where a text begins, after its byte order mark if it has one.
#[must_use]
pub fn after_mark(text: &str) -> usize {
    if text.starts_with(BYTE_ORDER_MARK) { BYTE_ORDER_MARK.len_utf8() } else { 0 }
}

/// A piece of a text, with the byte where it starts, without the byte order mark.
fn unmarked(start: usize, piece: &str) -> &str {
    if start == 0 { piece.split_at(after_mark(piece)).1 } else { piece }
}

/// All files that one design was read from; the design itself is the first.
#[derive(Debug, Clone, Default)]
pub struct Sources {
    files: Vec<Source>,
}

impl Sources {
    /// Adds a file.
    pub fn add(&mut self, source: Source) -> FileId {
        let id = self.next();
        self.files.push(source);
        id
    }

    /// The id of the file that is added next.
    #[must_use]
    pub fn next(&self) -> FileId {
        FileId(u32::try_from(self.files.len()).unwrap_or(u32::MAX))
    }

    /// The file with this id; an empty nameless one if there is none.
    #[must_use]
    pub fn get(&self, id: FileId) -> &Source {
        static NONE: std::sync::OnceLock<Source> = std::sync::OnceLock::new();
        self.files.get(id.0 as usize).unwrap_or_else(|| NONE.get_or_init(|| Source::new("", "")))
    }

    /// Every file, in the order in which they were added.
    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.files.iter()
    }

    /// The text under a span.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.get(span.file).slice(span)
    }
}
