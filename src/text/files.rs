//! Where files come from: a trait that the command line implements on disk, and one held in memory.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::Source;

/// Largest size of one file, in bytes.
const MOST_BYTES: usize = 64 << 20;

/// Reads files for the library, which itself touches no disk.
pub trait Files {
    /// The whole content of a file that [`Files::locate`] named, or that a run was started with.
    ///
    /// # Errors
    /// When the file cannot be read.
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError>;

    /// The path that `relative`, written in the file `from`, leads to.
    ///
    /// # Errors
    /// When it leaves the folder given as root, or leads nowhere.
    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError>;

    /// The file as text; from whoever reads for many designs the same for each of them.
    ///
    /// # Errors
    /// When the file cannot be read, and when it is no text in UTF-8: why, in words.
    fn text(&self, path: &str) -> Result<Source, String> {
        as_text(path, self.read(path))
    }
}

/// What was read of a file as text, under the path by which it is shown.
///
/// # Errors
/// Why it is none, in words.
pub fn as_text(path: &str, read: Result<Vec<u8>, ReadError>) -> Result<Source, String> {
    let bytes = read.map_err(|error| error.to_string())?;
    if bytes.len() > MOST_BYTES {
        return Err(format!(
            "it has {} bytes, more than the {MOST_BYTES} that one file may have",
            bytes.len()
        ));
    }
    let text = String::from_utf8(bytes).map_err(|error| {
        let at = error.utf8_error().valid_up_to();
        let line = error.as_bytes().iter().take(at).filter(|byte| **byte == b'\n').count() + 1;
        format!("it is not UTF-8 text: the byte at offset {at}, in line {line}, begins no character")
    })?;
    Ok(Source::new(path, text))
}

/// Why a file could not be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ReadError {
    /// The operating system refused; its own words.
    #[error("{0}")]
    Os(String),
    /// A folder stands where a file was expected.
    #[error("it is a folder, not a file")]
    Folder,
    /// Larger than what one design may be.
    #[error("it has {size} bytes, more than the {limit} that one file may have")]
    TooLarge {
        /// Size in bytes.
        size: u64,
        /// Largest size in bytes.
        limit: u64,
    },
}

/// Why a `use` leads nowhere.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error, Serialize, Deserialize)]
pub enum LocateError {
    /// The path leaves the root.
    #[error("it lies outside {root}, the folder that `use` may reach")]
    OutsideRoot {
        /// The root as it is shown.
        root: String,
    },
    /// The path is absolute.
    #[error("the path is absolute; it is written relative to the file that uses it")]
    Absolute,
    /// There is no such file.
    #[error("there is no such file")]
    Missing,
    /// A link leads to a name that no message could tell from others.
    #[error("it leads to a file whose name is not text in UTF-8; give that another name")]
    NoText,
}

/// Files held in memory, for tests, for standard input and for editors; the root is the empty path.
#[derive(Debug, Clone, Default)]
pub struct MemoryFiles {
    files: BTreeMap<String, Vec<u8>>,
}

impl MemoryFiles {
    /// Adds or replaces a file.
    #[must_use]
    pub fn with(mut self, path: impl Into<String>, content: impl Into<Vec<u8>>) -> Self {
        self.files.insert(path.into(), content.into());
        self
    }
}

impl Files for MemoryFiles {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        self.files.get(path).cloned().ok_or_else(|| ReadError::Os("no such file".into()))
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        if relative.starts_with('/') {
            return Err(LocateError::Absolute);
        }
        let mut parts: Vec<&str> = from.split('/').collect();
        parts.pop();
        for part in relative.split('/') {
            match part {
                "" | "." => {}
                ".." => {
                    if parts.pop().is_none() {
                        return Err(LocateError::OutsideRoot { root: ".".into() });
                    }
                }
                name => parts.push(name),
            }
        }
        let path = parts.join("/");
        if self.files.contains_key(&path) { Ok(path) } else { Err(LocateError::Missing) }
    }
}
