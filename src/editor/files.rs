//! Files as the editor has them: what is open goes before what is on the disk.

use std::collections::BTreeMap;
use std::str::FromStr;
use std::sync::Arc;

use lsp_types::Uri;

use crate::design::Date;
use crate::text::{Files, LocateError, ReadError};

use super::text::Text;

/// What the server needs of the world around it.
pub trait World: Send + Sync {
    /// The files of the design at a path; `root` is the folder that `use` may reach.
    fn files<'w>(&'w self, path: &str, root: &str) -> Box<dyn Files + 'w>;

    /// A path with its links followed, as far as there is something.
    fn resolved(&self, path: &str) -> String;

    /// The folder that a file lies in.
    fn folder(&self, path: &str) -> String;

    /// A path written relative to a folder, with `.` and `..` taken out.
    fn joined(&self, folder: &str, relative: &str) -> String;

    /// Whether a path lies in a folder.
    fn within(&self, path: &str, folder: &str) -> bool;

    /// A path as a file in a folder writes it, with `/` and `..`; `None` where nothing leads from one to the other.
    fn relative(&self, path: &str, folder: &str) -> Option<String>;

    /// The files with an extension in a folder and below it, sorted.
    fn below(&self, folder: &str, extension: &str) -> Vec<String>;

    /// The day that it is.
    fn today(&self) -> Date;

    /// Does some work; where that panics, what to say of it.
    ///
    /// # Errors
    /// When the work panicked.
    fn guarded(&self, work: &mut dyn FnMut()) -> Result<(), String>;
}

/// The texts that are open, by path.
pub(super) type Texts = Arc<BTreeMap<String, Arc<Text>>>;

/// The files of one design, open ones first.
pub(super) struct Overlay<'w> {
    world: &'w dyn World,
    disk: Box<dyn Files + 'w>,
    texts: &'w Texts,
    root: String,
}

impl<'w> Overlay<'w> {
    pub(super) fn new(world: &'w dyn World, texts: &'w Texts, path: &str, root: &str) -> Self {
        Self { world, disk: world.files(path, root), texts, root: root.to_owned() }
    }
}

impl Files for Overlay<'_> {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        match self.texts.get(path) {
            Some(open) => Ok(open.text.as_bytes().to_vec()),
            None => self.disk.read(path),
        }
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        match self.disk.locate(from, relative) {
            // A file that is open and not yet saved.
            Err(LocateError::Missing) => {
                let path = self.world.joined(&self.world.folder(from), relative);
                let open = self.texts.contains_key(&path) && self.world.within(&path, &self.root);
                if open { Ok(path) } else { Err(LocateError::Missing) }
            }
            other => other,
        }
    }
}

/// The path of a file by its address; an address of another kind stands for itself.
pub(super) fn path(world: &dyn World, uri: &Uri) -> String {
    let file = url::Url::parse(uri.as_str()).ok().filter(|url| url.scheme() == "file");
    match file.and_then(|url| url.to_file_path().ok()) {
        Some(path) => world.resolved(&path.to_string_lossy()),
        None => uri.as_str().to_owned(),
    }
}

/// The address of a file by its path.
pub(super) fn uri(path: &str) -> Option<Uri> {
    let text = match url::Url::from_file_path(path) {
        Ok(url) => url.to_string(),
        Err(()) => path.to_owned(),
    };
    Uri::from_str(&text).ok()
}
