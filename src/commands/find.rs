//! Which designs a run judges: those that are named, and those found in folders.

use std::collections::BTreeSet;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

use ohmward::text::ReadError;

use super::disk::{Start, locked, read_stdin, readable, resolved, said, shown_path};
use super::note;

/// A design to judge.
#[derive(Debug)]
pub(super) struct Found {
    /// Its path as it is shown.
    pub shown: String,
    /// Where its text comes from.
    pub start: Start,
    /// The path, where what is shown is not all of it.
    named: Option<PathBuf>,
}

impl Found {
    /// The design at a path. What is told of designs, in documents and in lists, is text: one whose name is not is refused.
    pub(super) fn at(path: PathBuf) -> Self {
        let shown = shown_path(&path);
        if path.to_str().is_some() {
            return Self { shown, start: Start::File(path), named: None };
        }
        let why = "its name, or a folder's on the way to it, is not text in UTF-8: give it another name";
        Self { shown, start: Start::Bytes(Err(ReadError::Os(why.into()))), named: Some(path) }
    }
}

/// The designs behind the paths, each once, in the order of the paths and sorted within a folder; and what stood in the
/// way.
pub(super) fn find(paths: &[PathBuf]) -> (Vec<Found>, Vec<String>) {
    let here = [PathBuf::from(".")];
    let paths = if paths.is_empty() { here.as_slice() } else { paths };
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for path in paths {
        if path == Path::new("-") {
            found.push(Found { shown: "-".into(), start: Start::Bytes(read_stdin()), named: None });
        } else if path.is_dir() {
            search(path, &mut found, &mut problems);
        } else {
            found.push(Found::at(path.clone()));
        }
    }
    let mut seen = BTreeSet::new();
    found.retain(|one| seen.insert((one.shown.clone(), one.named.clone())));
    (found, problems)
}

/// The files with an extension in a folder and below it, links followed, sorted; of a folder as large as a disk those that
/// are found first.
pub(super) fn below(folder: &Path, extension: &str) -> Vec<PathBuf> {
    const MOST_ENTRIES: usize = 20_000;
    const DEEPEST: usize = 8;
    let walk =
        walk(folder).0.map(|mut walk| walk.max_depth(Some(DEEPEST)).sort_by_file_path(Path::cmp).build());
    let files =
        walk.into_iter().flatten().take(MOST_ENTRIES).filter_map(Result::ok).map(ignore::DirEntry::into_path);
    let files = files.filter(|path| path.extension().is_some_and(|one| one == extension) && path.is_file());
    // A file and a link to it are one.
    let files: BTreeSet<PathBuf> =
        files.map(|path| if path.is_symlink() { resolved(&path) } else { path }).collect();
    files.into_iter().collect()
}

fn search(folder: &Path, found: &mut Vec<Found>, problems: &mut Vec<String>) {
    let before = found.len();
    let (walk, closed) = walk(folder);
    for entry in walk.into_iter().flat_map(|walk| walk.build()) {
        match entry {
            Ok(entry) => {
                if let Some(error) = entry.error() {
                    note(&format!("{error}; that is not passed over"));
                }
                if is_design(entry.path()) && !entry.path().is_dir() {
                    found.push(Found::at(entry.into_path()));
                }
            }
            Err(error) => {
                let why = error.io_error().map_or_else(|| error.to_string(), said);
                found.push(unreachable(path_of(&error).unwrap_or(folder), why));
            }
        }
    }
    for (path, why) in locked(&closed).drain(..) {
        found.push(unreachable(&path, format!("{why}; its folder is not searched")));
    }
    let found = found.get_mut(before..).unwrap_or_default();
    // Part by part, as documents are joined.
    found.sort_by(|a, b| Path::new(&a.shown).cmp(Path::new(&b.shown)));
    if found.is_empty() {
        problems.push(format!("no design (*.loom) in {}", shown_path(folder)));
    }
}

/// Files that say what a search passes over.
pub(super) const PASSED_OVER: [&str; 2] = [".gitignore", ".ignore"];

/// Such files that cannot be read in any time, and why.
type Closed = Arc<Mutex<Vec<(PathBuf, ReadError)>>>;

/// A walk through a folder; `None` where what it is to pass over cannot be read. Only files in the tree say what that is:
/// the same designs are found on every machine.
fn walk(folder: &Path) -> (Option<ignore::WalkBuilder>, Closed) {
    let closed = Closed::default();
    let real = resolved(folder);
    let on_the_way = real.ancestors().skip(1).map(Path::to_owned);
    if let Some(found) = on_the_way.chain([folder.to_owned()]).find_map(|folder| closed_in(&folder)) {
        locked(&closed).push(found);
        return (None, closed);
    }
    let mut walk = ignore::WalkBuilder::new(folder);
    walk.require_git(false).git_global(false).git_exclude(false);
    let told = closed.clone();
    walk.filter_entry(move |entry| {
        let is_folder = entry.file_type().is_some_and(|kind| kind.is_dir());
        match is_folder.then(|| closed_in(entry.path())).flatten() {
            Some(found) => {
                locked(&told).push(found);
                false
            }
            None => true,
        }
    });
    (Some(walk), closed)
}

/// A file in a folder that says what is passed over, and cannot be read in any time.
fn closed_in(folder: &Path) -> Option<(PathBuf, ReadError)> {
    PASSED_OVER.iter().find_map(|name| {
        let path = folder.join(name);
        let why = match std::fs::metadata(&path) {
            Ok(about) if about.is_dir() => return None,
            Ok(about) => match readable(&about).map(|()| std::fs::File::open(&path)) {
                Err(why) => why,
                Ok(Err(error)) => ReadError::Os(said(&error)),
                Ok(Ok(_)) => return None,
            },
            // Of a folder that cannot be entered the walk tells.
            Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::PermissionDenied) => {
                return None;
            }
            Err(error) => ReadError::Os(said(&error)),
        };
        Some((path, why))
    })
}

fn is_design(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "loom")
}

/// What could not be searched stands among the designs as one that cannot be read.
fn unreachable(path: &Path, why: String) -> Found {
    let start = Start::Bytes(Err(ReadError::Os(why)));
    Found { shown: shown_path(path), start, named: path.to_str().is_none().then(|| path.to_owned()) }
}

fn path_of(error: &ignore::Error) -> Option<&Path> {
    match error {
        ignore::Error::WithPath { path, .. } => Some(path),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => path_of(err),
        _ => None,
    }
}
