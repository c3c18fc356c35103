//! Files on disk. A run reads its design and what lies under one root folder, nothing else.

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError};

use ohmward::text::{Files, LocateError, ReadError, Source, as_text};

use super::replaced::Replaced;

/// Largest file that is read, in bytes.
pub(super) const LIMIT: u64 = 64 << 20;

/// Where a design's own text comes from.
#[derive(Debug, Clone)]
pub(super) enum Start {
    /// A file.
    File(PathBuf),
    /// Bytes that were read already.
    Bytes(Result<Vec<u8>, ReadError>),
}

/// Most bytes of text, and most paths, that are remembered.
const MOST_BYTES: usize = 64 << 20;
const MOST_PATHS: usize = 20_000;

/// What was read and looked up already: all designs of a run see the same text of a library, and it is read once.
#[derive(Debug, Default)]
pub(super) struct Shelf {
    texts: Mutex<Texts>,
    /// Paths with links followed.
    real: Mutex<HashMap<PathBuf, Result<PathBuf, ErrorKind>>>,
    /// What the run writes.
    pub replaced: Replaced,
}

#[derive(Debug, Default)]
struct Texts {
    by_path: HashMap<PathBuf, Arc<OnceLock<Result<Source, String>>>>,
    n_bytes: usize,
}

impl Shelf {
    /// For a run that writes these files, each with its option.
    ///
    /// # Errors
    /// When they cannot all be written.
    pub(super) fn beside(outputs: &[(&str, Option<&Path>)]) -> Result<Arc<Self>, String> {
        Ok(Arc::new(Self { replaced: Replaced::by(outputs)?, ..Self::default() }))
    }

    /// A design that is named, `-` for standard input: its path as it is shown, and where its text comes from.
    pub(super) fn start(&self, path: &Path) -> (String, Start) {
        match path == Path::new("-") {
            true => {
                self.replaced.met(path);
                ("-".into(), Start::Bytes(read_stdin()))
            }
            false => (shown_path(path), Start::File(path.to_owned())),
        }
    }

    fn text(&self, real: &Path, shown: &str) -> Result<Source, String> {
        let cell = locked(&self.texts).by_path.entry(real.to_owned()).or_default().clone();
        let mut length = None;
        let text = cell.get_or_init(|| {
            self.replaced.met(real);
            let text = as_text(shown, read_file(real));
            length = Some(text.as_ref().map_or(0, |text| text.text().len()));
            text
        });
        if let Some(length) = length {
            let mut texts = locked(&self.texts);
            texts.n_bytes += length;
            if MOST_BYTES < texts.n_bytes || MOST_PATHS < texts.by_path.len() {
                *texts = Texts::default();
            }
        }
        text.as_ref().map(|text| text.at(shown)).map_err(Clone::clone)
    }

    /// The path with links followed.
    fn canonical(&self, path: &Path) -> Result<PathBuf, ErrorKind> {
        if let Some(known) = locked(&self.real).get(path) {
            return known.clone();
        }
        let found = fs::canonicalize(path).map_err(|error| error.kind());
        let mut real = locked(&self.real);
        if MOST_PATHS < real.len() {
            real.clear();
        }
        real.insert(path.to_owned(), found.clone());
        found
    }

    /// The path with links followed, or as it is where that fails.
    fn resolved(&self, path: &Path) -> PathBuf {
        self.canonical(path).unwrap_or_else(|_| path.to_owned())
    }
}

/// What a mutex holds, also after a panic elsewhere: nothing here is left half done.
pub(super) fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// The files of one design.
#[derive(Debug)]
pub(super) struct Disk {
    shelf: Arc<Shelf>,
    /// The design's path as it is shown, and its text.
    shown: String,
    start: Start,
    /// The folder that `use` may reach: resolved, and as it is shown.
    root: PathBuf,
    root_shown: String,
    /// Files that `locate` led to, by the path that it gave.
    located: Mutex<HashMap<String, PathBuf>>,
}

impl Disk {
    /// The files of a design. Without a root it is the current folder if the design lies in it, else the design's folder.
    pub(super) fn new(shown: &str, start: Start, root: Option<&Path>) -> Self {
        Self::among(&Arc::default(), shown, start, root)
    }

    /// The same for one of many designs.
    pub(super) fn among(shelf: &Arc<Shelf>, shown: &str, start: Start, root: Option<&Path>) -> Self {
        let folder = match &start {
            Start::File(path) => folder_of(path).to_owned(),
            Start::Bytes(_) => PathBuf::from("."),
        };
        let here = PathBuf::from(".");
        let root = match root {
            Some(root) => root,
            None if shelf.resolved(&folder).starts_with(shelf.resolved(&here)) => &here,
            None => &folder,
        };
        Self {
            shelf: shelf.clone(),
            shown: shown.to_owned(),
            start,
            root: shelf.resolved(root),
            root_shown: shown_path(root),
            located: Mutex::new(HashMap::new()),
        }
    }

    /// The real path behind one that was shown.
    fn real(&self, shown: &str) -> PathBuf {
        match &self.start {
            Start::File(path) if shown == self.shown => path.clone(),
            Start::Bytes(_) if shown == self.shown => PathBuf::from("."),
            _ => locked(&self.located).get(shown).cloned().unwrap_or_else(|| PathBuf::from(shown)),
        }
    }

    fn outside(&self) -> LocateError {
        LocateError::OutsideRoot { root: self.root_shown.clone() }
    }
}

impl Files for Disk {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        match &self.start {
            Start::Bytes(bytes) if path == self.shown => bytes.clone(),
            _ => {
                let real = self.real(path);
                self.shelf.replaced.met(&real);
                read_file(&real)
            }
        }
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        if Path::new(relative).is_absolute() || relative.starts_with(['/', '\\']) {
            return Err(LocateError::Absolute);
        }
        let from = self.real(from);
        let folder = match &self.start {
            Start::Bytes(_) if from == Path::new(".") => self.shelf.resolved(&from),
            _ => self.shelf.resolved(folder_of(&from)),
        };
        let path = normal(&folder.join(relative));
        if !path.starts_with(&self.root) {
            return Err(self.outside());
        }
        let real = match self.shelf.canonical(&path) {
            Ok(real) => real,
            Err(ErrorKind::NotFound | ErrorKind::NotADirectory) => return Err(LocateError::Missing),
            // What cannot be resolved cannot be opened either: reading it tells why.
            Err(_) => path,
        };
        let inside = real.strip_prefix(&self.root).map_err(|_| self.outside())?;
        if inside.to_str().is_none() {
            return Err(LocateError::NoText);
        }
        let shown = shown_path(&Path::new(&self.root_shown).join(inside));
        locked(&self.located).insert(shown.clone(), real);
        Ok(shown)
    }

    fn text(&self, path: &str) -> Result<Source, String> {
        if path == self.shown {
            return as_text(path, self.read(path));
        }
        self.shelf.text(&self.real(path), path)
    }
}

/// A path as it is shown: without `./` before it, and with bytes that are no text as `\xff`.
pub(super) fn shown_path(path: &Path) -> String {
    let stripped: PathBuf = path.components().filter(|part| *part != Component::CurDir).collect();
    let mut shown = String::new();
    for chunk in stripped.as_os_str().as_encoded_bytes().utf8_chunks() {
        shown.push_str(chunk.valid());
        shown.extend(chunk.invalid().escape_ascii().map(char::from));
    }
    match shown.as_str() {
        "" => ".".into(),
        "-" => "./-".into(),
        _ => shown,
    }
}

/// Standard input, as far as a design may reach.
pub(super) fn read_stdin() -> Result<Vec<u8>, ReadError> {
    read_bounded(std::io::stdin().lock())
}

/// A file, as far as one may reach.
pub(super) fn read_file(path: &Path) -> Result<Vec<u8>, ReadError> {
    readable(&fs::metadata(path).map_err(|error| spoken(&error))?)?;
    read_bounded(File::open(path).map_err(|error| spoken(&error))?)
}

/// Whether reading will end, and in good time.
///
/// # Errors
/// When it might not.
pub(super) fn readable(about: &fs::Metadata) -> Result<(), ReadError> {
    if about.is_dir() {
        return Err(ReadError::Folder);
    }
    if !about.is_file() {
        // Opening a pipe waits for a writer, and a device may never end.
        return Err(ReadError::Os("it is a pipe or a device, not a file".into()));
    }
    if LIMIT < about.len() {
        return Err(ReadError::TooLarge { size: about.len(), limit: LIMIT });
    }
    Ok(())
}

/// What comes, as far as a file may reach.
pub(super) fn read_bounded(from: impl Read) -> Result<Vec<u8>, ReadError> {
    let mut bytes = Vec::new();
    from.take(LIMIT + 1).read_to_end(&mut bytes).map_err(|error| spoken(&error))?;
    match bytes.len() as u64 {
        size if LIMIT < size => Err(ReadError::TooLarge { size, limit: LIMIT }),
        _ => Ok(bytes),
    }
}

/// The operating system's words in the manner of the other messages.
pub(super) fn said(error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "reading it is not permitted".into(),
        ErrorKind::NotADirectory => "what stands in its path is no folder".into(),
        _ => system(error),
    }
}

/// The operating system's words, without its number for the error.
pub(super) fn system(error: &std::io::Error) -> String {
    // Rust has no stable name yet for this kind.
    if format!("{:?}", error.kind()) == "FilesystemLoop" {
        return "links lead in a circle".into();
    }
    let text = error.to_string();
    text.split_once(" (os error ").map_or(text.clone(), |(words, _)| words.to_owned())
}

fn spoken(error: &std::io::Error) -> ReadError {
    ReadError::Os(said(error))
}

/// The folder that a file lies in.
pub(super) fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if parent != Path::new("") => parent,
        _ => Path::new("."),
    }
}

/// The path with links followed, or as it is where that fails.
pub(super) fn resolved(path: &Path) -> PathBuf {
    fs::canonicalize(path).unwrap_or_else(|_| path.to_owned())
}

/// The path with `.` and `..` taken out by name alone.
pub(super) fn normal(path: &Path) -> PathBuf {
    let mut normal = PathBuf::new();
    for part in path.components() {
        match part {
            Component::CurDir => {}
            Component::ParentDir => {
                normal.pop();
            }
            part => normal.push(part),
        }
    }
    normal
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        fs::create_dir_all(folder.path().join("boat/lib")).unwrap();
        fs::write(folder.path().join("boat/a.loom"), "a").unwrap();
        fs::write(folder.path().join("boat/lib/kits.loom"), "kits").unwrap();
        fs::write(folder.path().join("secret.loom"), "secret").unwrap();
        folder
    }

    fn disk(folder: &Path) -> (Disk, String) {
        let design = folder.join("boat/a.loom");
        let shown = shown_path(&design);
        (Disk::new(&shown, Start::File(design), Some(&folder.join("boat"))), shown)
    }

    #[test]
    fn leads_from_file_to_file() {
        let folder = tree();
        let (disk, design) = disk(folder.path());
        let kits = disk.locate(&design, "lib/kits.loom").unwrap();
        assert_eq!(kits, shown_path(&folder.path().join("boat/lib/kits.loom")));
        assert_eq!(disk.read(&kits).unwrap(), b"kits");
        assert_eq!(disk.locate(&kits, "../a.loom").unwrap(), design);
        assert_eq!(disk.locate(&design, "lib/../lib/./kits.loom").unwrap(), kits);
        assert_eq!(disk.locate(&design, "lib/none.loom"), Err(LocateError::Missing));
        assert_eq!(disk.locate(&design, "a.loom/none.loom"), Err(LocateError::Missing));
    }

    #[test]
    fn stays_in_the_root() {
        let folder = tree();
        let (disk, design) = disk(folder.path());
        assert_eq!(disk.locate(&design, "/etc/passwd"), Err(LocateError::Absolute));
        for out in ["../secret.loom", "lib/../../secret.loom", "../none.loom", "../../../../etc/passwd"] {
            assert!(matches!(disk.locate(&design, out), Err(LocateError::OutsideRoot { .. })), "{out}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn links_do_not_lead_out() {
        let folder = tree();
        std::os::unix::fs::symlink("../secret.loom", folder.path().join("boat/link.loom")).unwrap();
        std::os::unix::fs::symlink("..", folder.path().join("boat/up")).unwrap();
        std::os::unix::fs::symlink("lib", folder.path().join("boat/in")).unwrap();
        let (disk, design) = disk(folder.path());
        for out in ["link.loom", "up/secret.loom"] {
            assert!(matches!(disk.locate(&design, out), Err(LocateError::OutsideRoot { .. })), "{out}");
        }
        assert_eq!(disk.locate(&design, "in/kits.loom"), disk.locate(&design, "lib/kits.loom"));
    }

    #[test]
    fn refuses_what_is_no_file() {
        let folder = tree();
        let (disk, design) = disk(folder.path());
        let lib = disk.locate(&design, "lib").unwrap();
        assert_eq!(disk.read(&lib), Err(ReadError::Folder));
        let large = folder.path().join("boat/large.loom");
        File::create(&large).unwrap().set_len(LIMIT + 1).unwrap();
        let large = disk.locate(&design, "large.loom").unwrap();
        assert_eq!(disk.read(&large), Err(ReadError::TooLarge { size: LIMIT + 1, limit: LIMIT }));
        assert_eq!(read_file(Path::new("/dev/zero")).is_err(), cfg!(unix));
        assert!(read_bounded(std::io::repeat(b'x')).is_err());
    }
}
