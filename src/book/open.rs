//! Books among other files.

use super::Book;
use crate::findings::Finding;
use crate::text::{FileId, Files, Source, Sources};

/// Why a book could not be read.
#[derive(Debug, Clone, PartialEq)]
pub enum Unread {
    /// There is no such text.
    Missing(String),
    /// What is wrong in it, each with its place.
    Wrong(Vec<Finding>),
}

impl Book {
    /// The book at a path, with those beside it that it builds on; every text is added to `sources`.
    ///
    /// # Errors
    /// That its text cannot be read, or what is wrong in it.
    pub fn read(name: &str, path: &str, files: &dyn Files, sources: &mut Sources) -> Result<Self, Unread> {
        let (file, source) = text(path, files, sources).map_err(Unread::Missing)?;
        let mut beside = |base: &str| {
            let located = files.locate(path, base).ok()?;
            text(&located, files, sources).ok()
        };
        Self::parse(name, file, &source, &mut beside).map_err(Unread::Wrong)
    }
}

fn text(path: &str, files: &dyn Files, sources: &mut Sources) -> Result<(FileId, Source), String> {
    let source = files.text(path)?;
    Ok((sources.add(source.clone()), source))
}
