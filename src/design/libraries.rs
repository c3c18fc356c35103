//! Libraries that many designs use: read once.

use std::sync::{Arc, Mutex, PoisonError};

use rustc_hash::FxHashMap;

use crate::syntax::{self, Memory, Problems, tree::Tree};
use crate::text::{FileId, Source};

/// Most bytes of text of which trees are kept; a tree is some ten times as large.
const MOST_BYTES: usize = 8 << 20;

/// What was read before, so that it is not read again.
#[derive(Debug, Default)]
pub enum Before<'m> {
    /// Nothing.
    #[default]
    Nothing,
    /// Lines of this design, which is being edited.
    Lines(&'m mut Memory),
    /// Libraries, by other designs of the same run.
    Libraries(&'m Libraries),
}

impl Before<'_> {
    pub(super) fn memory(&mut self) -> Option<&mut Memory> {
        match self {
            Self::Lines(memory) => Some(memory),
            Self::Nothing | Self::Libraries(_) => None,
        }
    }
}

/// The trees of libraries without a mistake, by path and by their place among a design's files. May be shared by threads.
#[derive(Debug, Default)]
pub struct Libraries(Mutex<Kept>);

#[derive(Debug, Default)]
struct Kept {
    trees: FxHashMap<(Box<str>, FileId), (Source, Arc<Tree>)>,
    n_bytes: usize,
}

impl Libraries {
    /// The tree of a library: at hand if another design of the run had the same text there.
    pub(super) fn tree(&self, file: FileId, source: &Source, problems: &mut Problems) -> Arc<Tree> {
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

    fn kept(&self) -> std::sync::MutexGuard<'_, Kept> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
