//! Which designs a run judges: those that are named, and those found in folders.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use ohmward::text::ReadError;

use super::disk::{Start, read_stdin, said, shown_path};

/// A design to judge.
#[derive(Debug)]
pub(super) struct Found {
    /// Its path as it is shown.
    pub shown: String,
    /// Where its text comes from.
    pub start: Start,
}

/// The designs behind the paths, each once, in the order of the paths and sorted within a folder; and what stood in the
/// way.
pub(super) fn find(paths: &[PathBuf]) -> (Vec<Found>, Vec<String>) {
    let here = [PathBuf::from(".")];
    let paths = if paths.is_empty() { here.as_slice() } else { paths };
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for path in paths {
        if path == Path::new("-") {
            found.push(Found { shown: "-".into(), start: Start::Bytes(read_stdin()) });
        } else if path.is_dir() {
            search(path, &mut found, &mut problems);
        } else {
            found.push(Found { shown: shown_path(path), start: Start::File(path.clone()) });
        }
    }
    let mut seen = BTreeSet::new();
    found.retain(|one| seen.insert(one.shown.clone()));
    (found, problems)
}

/// The files with an extension in a folder and below it, sorted; of a folder as large as a disk those that are found first.
pub(super) fn below(folder: &Path, extension: &str) -> Vec<PathBuf> {
    const MOST_ENTRIES: usize = 20_000;
    const DEEPEST: usize = 8;
    let mut walk = ignore::WalkBuilder::new(folder);
    let walk = walk.require_git(false).max_depth(Some(DEEPEST)).sort_by_file_path(Path::cmp).build();
    let files = walk.take(MOST_ENTRIES).filter_map(Result::ok).map(ignore::DirEntry::into_path);
    files.filter(|path| path.extension().is_some_and(|one| one == extension) && path.is_file()).collect()
}

fn search(folder: &Path, found: &mut Vec<Found>, problems: &mut Vec<String>) {
    let before = found.len();
    let walk = ignore::WalkBuilder::new(folder).require_git(false).sort_by_file_path(Path::cmp).build();
    for entry in walk {
        match entry {
            Ok(entry) if is_design(entry.path()) && !entry.path().is_dir() => {
                found.push(Found { shown: shown_path(entry.path()), start: Start::File(entry.into_path()) });
            }
            Ok(_) => {}
            Err(error) => found.push(unreachable_entry(folder, &error)),
        }
    }
    if found.len() == before {
        problems.push(format!("no design (*.loom) in {}", shown_path(folder)));
    }
}

fn is_design(path: &Path) -> bool {
    path.extension().is_some_and(|extension| extension == "loom")
}

/// A folder that could not be searched stands among the designs as one that cannot be read.
fn unreachable_entry(folder: &Path, error: &ignore::Error) -> Found {
    let why = error.io_error().map_or_else(|| error.to_string(), said);
    let path = path_of(error).unwrap_or(folder);
    Found { shown: shown_path(path), start: Start::Bytes(Err(ReadError::Os(why))) }
}

fn path_of(error: &ignore::Error) -> Option<&Path> {
    match error {
        ignore::Error::WithPath { path, .. } => Some(path),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => path_of(err),
        _ => None,
    }
}
