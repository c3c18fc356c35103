//! `--book PATH`: a book that is named for a run. Its path goes from the current folder, whatever design it judges, and it is
//! looked at before anything is judged.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

use ohmward::book::Book;
use ohmward::text::{Files, LocateError, ReadError, Source};

use super::disk::{Disk, Shelf, Start, locked, shown_path};
use super::{Outcome, pages};

/// A book that does not ship.
#[derive(Debug)]
pub(super) struct Given {
    name: String,
    shown: String,
    disk: Disk,
    /// Paths of the book and of those that it builds on.
    own: Mutex<BTreeSet<String>>,
}

impl Given {
    /// The book of this name; `None` for one that ships, and for none. What is wrong with it is told.
    pub(super) fn open(name: Option<&str>, shelf: &Arc<Shelf>) -> Result<Option<Self>, Outcome> {
        let Some(name) = name.filter(|name| Book::shipped(name).is_none()) else { return Ok(None) };
        pages::book(name, shelf)?;
        let path = PathBuf::from(name);
        let shown = shown_path(&path);
        let disk = Disk::among(shelf, &shown, Start::File(path), None);
        let own = Mutex::new(BTreeSet::from([shown.clone()]));
        Ok(Some(Self { name: name.to_owned(), shown, disk, own }))
    }

    /// The book's text.
    pub(super) fn text(&self) -> Result<Source, String> {
        self.disk.text(&self.shown)
    }

    /// The files of a design, with this book among them.
    pub(super) fn among<'f>(&'f self, design: &'f str, files: &'f dyn Files) -> Among<'f> {
        Among { given: self, design, files }
    }

    fn owns(&self, path: &str) -> bool {
        locked(&self.own).contains(path)
    }
}

/// The files of one design, and a book that is none of them.
pub(super) struct Among<'f> {
    given: &'f Given,
    design: &'f str,
    files: &'f dyn Files,
}

impl Among<'_> {
    fn of(&self, path: &str) -> &dyn Files {
        if self.given.owns(path) { &self.given.disk } else { self.files }
    }
}

impl Files for Among<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        self.of(path).read(path)
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        if from == self.design && relative == self.given.name {
            return Ok(self.given.shown.clone());
        }
        if !self.given.owns(from) {
            return self.files.locate(from, relative);
        }
        let base = self.given.disk.locate(from, relative)?;
        locked(&self.given.own).insert(base.clone());
        Ok(base)
    }

    fn text(&self, path: &str) -> Result<Source, String> {
        self.of(path).text(path)
    }
}
