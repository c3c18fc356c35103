//! What the designs of one run have in common is read once: the libraries that they use, and the lines that a design shares
//! with those before it.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use rustc_hash::FxHashMap;

use crate::syntax::{self, Memory, Problems, tree::Tree};
use crate::text::{FileId, Source};

/// Most bytes of text of which trees are kept; a tree is some ten times as large.
const MOST_BYTES: usize = 8 << 20;
/// Most bytes of text of a design of which the lines are kept for those after it.
const MOST_SHARED: usize = 256 << 10;
/// Lines that each thread keeps at least, if it saw as many.
const MOST_LINES: usize = 2048;

/// What was read before, so that it is not read again.
#[derive(Debug, Default)]
pub enum Before<'m> {
    /// Nothing.
    #[default]
    Nothing,
    /// Lines of this design, which is being edited.
    Lines(&'m mut Memory),
    /// Libraries, and lines of designs, of the same run.
    Libraries(&'m Libraries),
}

impl Before<'_> {
    /// The tree of the file that is asked for.
    pub(super) fn design(&mut self, file: FileId, source: &Source, problems: &mut Problems) -> Tree {
        match self {
            Self::Nothing => syntax::read(file, source, problems, None),
            Self::Lines(memory) => {
                memory.turn();
                syntax::read(file, source, problems, Some(memory))
            }
            Self::Libraries(libraries) => libraries.design(file, source, problems),
        }
    }

    /// The tree of a file that it uses.
    pub(super) fn library(&mut self, file: FileId, source: &Source, problems: &mut Problems) -> Arc<Tree> {
        match self {
            Self::Nothing => Arc::new(syntax::read(file, source, problems, None)),
            Self::Lines(memory) => Arc::new(syntax::read(file, source, problems, Some(memory))),
            Self::Libraries(libraries) => libraries.library(file, source, problems),
        }
    }
}

/// The trees of libraries without a mistake, by path and by their place among a design's files; and the lines of the designs
/// that each thread read last, as the variants of a fleet say most things in the same words. May be shared by threads.
#[derive(Debug, Default)]
pub struct Libraries {
    kept: Mutex<Kept>,
    lines: Mutex<Vec<Memory>>,
}

#[derive(Debug, Default)]
struct Kept {
    trees: FxHashMap<(Box<str>, FileId), (Source, Arc<Tree>)>,
    n_bytes: usize,
}

impl Libraries {
    /// The tree of a library: at hand if another design of the run had the same text there.
    fn library(&self, file: FileId, source: &Source, problems: &mut Problems) -> Arc<Tree> {
        let key = (source.path().into(), file);
        if let Some((kept, tree)) = self.kept().trees.get(&key)
            && (Arc::ptr_eq(kept.text(), source.text()) || kept.text() == source.text())
        {
            return tree.clone();
        }
        let mut own = Problems::default();
        let tree = Arc::new(syntax::read(file, source, &mut own, None));
        if !own.is_empty() {
            // What is wrong in it is told with the rest of the design's problems, and counted with them.
            return Arc::new(syntax::read(file, source, problems, None));
        }
        let mut kept = self.kept();
        if MOST_BYTES < kept.n_bytes {
            *kept = Kept::default();
        }
        kept.n_bytes += source.text().len();
        kept.trees.insert(key, (source.clone(), tree.clone()));
        tree
    }

    /// The tree of a design; lines of the designs before it are not read again.
    fn design(&self, file: FileId, source: &Source, problems: &mut Problems) -> Tree {
        if MOST_SHARED < source.text().len() {
            return syntax::read(file, source, problems, None);
        }
        let mut memory = self.lines().pop().unwrap_or_default();
        memory.turn_beyond(MOST_LINES);
        let tree = syntax::read(file, source, problems, Some(&mut memory));
        self.lines().push(memory);
        tree
    }

    fn kept(&self) -> MutexGuard<'_, Kept> {
        self.kept.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn lines(&self) -> MutexGuard<'_, Vec<Memory>> {
        self.lines.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
