//! The files that a run replaces: what it reads is never among them, and no two of them are one.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use same_file::Handle;

use super::disk::shown_path;
use super::find::PASSED_OVER;
use super::output::{followed, is_descriptor};

/// The files that a run is to replace.
#[derive(Debug, Default)]
pub(super) struct Replaced {
    /// Those that are there already, as they are shown.
    there: Vec<(String, Handle)>,
    /// The first of them that was read, under the path that it was read by.
    read: OnceLock<(String, PathBuf)>,
}

impl Replaced {
    /// By the outputs that were asked for, each with its option.
    ///
    /// # Errors
    /// When two of them are one file, and when one would be taken for a design by the next run.
    pub(super) fn by(outputs: &[(&str, Option<&Path>)]) -> Result<Self, String> {
        let mut replaced = Self::default();
        let mut before: Vec<(&str, PathBuf)> = Vec::new();
        for (option, path) in outputs.iter().filter_map(|(option, path)| Some((option, (*path)?))) {
            let (shown, target) = (shown_path(path), followed(path));
            if path == Path::new("-") || is_descriptor(&target) {
                continue;
            }
            if target.file_name().is_some_and(|name| PASSED_OVER.iter().any(|one| name == *one)) {
                return Err(format!("{shown} is not written: it says what a search passes over"));
            }
            if target.extension().is_some_and(|extension| extension == "loom") {
                return Err(format!(
                    "{shown} is not written: a name in .loom is a design's; choose another for {option}"
                ));
            }
            if let Some((other, _)) = before.iter().find(|(_, other)| *other == target) {
                return Err(format!("{shown} is not written: {other} and {option} are one file; choose two"));
            }
            // A device takes what comes, and nothing is lost in it.
            if target.is_file()
                && let Ok(handle) = Handle::from_path(&target)
            {
                replaced.there.push((shown, handle));
            }
            if !target.exists() || target.is_file() {
                before.push((option, target));
            }
        }
        Ok(replaced)
    }

    /// Takes note of a file that the run reads; `-` is standard input, which may be one.
    pub(super) fn met(&self, path: &Path) {
        let is_input = path == Path::new("-");
        // Opening a pipe might wait for ever, and no pipe is replaced.
        if self.there.is_empty() || self.read.get().is_some() || !(is_input || path.is_file()) {
            return;
        }
        let Ok(handle) = (if is_input { Handle::stdin() } else { Handle::from_path(path) }) else { return };
        if let Some((shown, _)) = self.there.iter().find(|(_, other)| *other == handle) {
            let read = if is_input { PathBuf::from(shown) } else { path.to_owned() };
            // Another thread may have told of one already.
            drop(self.read.set((shown.clone(), read)));
        }
    }

    /// Whether all that was read stays.
    ///
    /// # Errors
    /// When a file was read that is to be replaced.
    pub(super) fn spares(&self) -> Result<(), String> {
        match self.read.get() {
            None => Ok(()),
            Some((shown, path)) => {
                let other = shown_path(path);
                let other = if other == *shown { "it".to_owned() } else { format!("{other}, which is it,") };
                Err(format!("{shown} is not written: {other} was read in this run, and would be lost"))
            }
        }
    }
}
