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

    fn owns(&self, path: &str) -> bool {
        locked(&self.own).contains(path)
    }
}

/// The files of one design, and the book of the run where it has one.
pub(super) struct Among<'f> {
    pub given: Option<&'f Given>,
    pub design: &'f str,
    pub files: &'f dyn Files,
}

impl Among<'_> {
    fn of(&self, path: &str) -> &dyn Files {
        match self.given {
            Some(given) if given.owns(path) => &given.disk,
            _ => self.files,
        }
    }
}

impl Files for Among<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        self.of(path).read(path)
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        match self.given {
            Some(given) if from == self.design && relative == given.name => Ok(given.shown.clone()),
            Some(given) if given.owns(from) => {
                let base = given.disk.locate(from, relative)?;
                locked(&given.own).insert(base.clone());
                Ok(base)
            }
            _ => self.files.locate(from, relative),
        }
    }

    fn text(&self, path: &str) -> Result<Source, String> {
        self.of(path).text(path)
    }
}
