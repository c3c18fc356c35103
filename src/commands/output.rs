//! Where output goes: standard output that may be closed, or a file that is replaced whole or not at all.

use std::fs::{self, File};
use std::io::{self, BufWriter, ErrorKind, Write};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

use super::disk::{folder_of, system};

/// Takes the output of a run; [`Sink::finish`] makes it final.
#[derive(Debug)]
pub(super) enum Sink {
    /// Standard output; once its reader has gone, what comes is dropped.
    Standard { out: BufWriter<io::Stdout>, closed: bool },
    /// A file beside the one to be replaced.
    Replacing { file: BufWriter<NamedTempFile>, target: PathBuf },
    /// A device or a pipe, which cannot be replaced.
    Direct { file: BufWriter<File>, target: PathBuf },
}

impl Sink {
    /// Standard output.
    pub(super) fn standard() -> Self {
        Self::Standard { out: BufWriter::with_capacity(1 << 16, io::stdout()), closed: false }
    }

    /// A file, replaced at the end.
    pub(super) fn file(path: &Path) -> Result<Self, String> {
        let fail = |why: &str| Err(format!("{} cannot be written: {why}", path.display()));
        let target = followed(path);
        if path == Path::new("-") || is_standard_output(&target) {
            return Ok(Self::standard());
        }
        if is_descriptor(&target) {
            // Others that write to a plain file that is open would write over what is written here.
            if fs::metadata(&target).is_ok_and(|about| about.is_file()) {
                return fail("it is open already, and a plain file; name the file itself");
            }
            return match File::options().append(true).open(&target) {
                Ok(file) => Ok(Self::Direct { file: BufWriter::new(file), target }),
                Err(error) => fail(&worded(&error)),
            };
        }
        let about = match fs::metadata(&target) {
            Ok(about) => Some(about),
            Err(error) if error.kind() == ErrorKind::NotFound => None,
            Err(error) => return fail(&worded(&error)),
        };
        match &about {
            Some(about) if about.is_dir() => return fail("it is a folder"),
            Some(about) if about.permissions().readonly() => return fail("it is read-only"),
            Some(about) if !about.is_file() => {
                return match File::options().write(true).open(&target) {
                    Ok(file) => Ok(Self::Direct { file: BufWriter::new(file), target }),
                    Err(error) => fail(&worded(&error)),
                };
            }
            _ => {}
        }
        if path.file_name().is_none() || path.as_os_str().to_string_lossy().ends_with('/') {
            return fail("it names no file");
        }
        match temporary(folder_of(&target), about.as_ref()) {
            Ok(file) => Ok(Self::Replacing { file: BufWriter::new(file), target }),
            Err(error) if error.kind() == ErrorKind::NotFound => {
                fail(&format!("there is no folder {}", folder_of(&target).display()))
            }
            Err(error) => fail(&worded(&error)),
        }
    }

    /// Writes a whole output, to a file or to standard output, and makes it final.
    pub(super) fn whole(
        path: Option<&Path>,
        work: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), String> {
        let mut sink = path.map_or_else(|| Ok(Self::standard()), Self::file)?;
        match work(&mut sink) {
            Ok(()) => sink.finish(),
            Err(error) => Err(sink.failed(&error)),
        }
    }

    /// Makes what was written final.
    pub(super) fn finish(mut self) -> Result<(), String> {
        self.flush().map_err(|error| self.failed(&error))?;
        match self {
            Self::Replacing { file, target } => replace(file, &target)
                .map_err(|error| format!("{} cannot be written: {}", target.display(), worded(&error))),
            Self::Standard { .. } | Self::Direct { .. } => Ok(()),
        }
    }

    /// Says where writing failed and why.
    pub(super) fn failed(&self, error: &io::Error) -> String {
        match self {
            Self::Standard { .. } => format!("standard output cannot be written: {}", worded(error)),
            Self::Replacing { target, .. } | Self::Direct { target, .. } => {
                format!("{} cannot be written: {}", target.display(), worded(error))
            }
        }
    }

    fn writer(&mut self) -> &mut dyn Write {
        match self {
            Self::Standard { out, .. } => out,
            Self::Replacing { file, .. } => file,
            Self::Direct { file, .. } => file,
        }
    }

    /// A reader that has gone is no failure: the exit code still tells the verdict.
    fn unless_closed<T: Default>(&mut self, done: io::Result<T>, instead: T) -> io::Result<T> {
        match (done, self) {
            (Err(error), Self::Standard { closed, .. }) if error.kind() == ErrorKind::BrokenPipe => {
                *closed = true;
                Ok(instead)
            }
            (done, _) => done,
        }
    }

    fn is_closed(&self) -> bool {
        matches!(self, Self::Standard { closed: true, .. })
    }
}

impl Write for Sink {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.is_closed() {
            return Ok(bytes.len());
        }
        let done = self.writer().write(bytes);
        self.unless_closed(done, bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        if self.is_closed() {
            return Ok(());
        }
        let done = self.writer().flush();
        self.unless_closed(done, ())
    }
}

fn temporary(folder: &Path, replaced: Option<&fs::Metadata>) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".ohmward-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        // As for any new file; the process's mask takes away what it should.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let file = builder.tempfile_in(folder)?;
    if let Some(replaced) = replaced {
        #[cfg(unix)]
        {
            use std::os::unix::fs::{MetadataExt, fchown};
            let own = file.as_file().metadata()?;
            if (own.uid(), own.gid()) != (replaced.uid(), replaced.gid()) {
                // Who may not give a file away has their own in its place.
                drop(fchown(file.as_file(), Some(replaced.uid()), Some(replaced.gid())));
            }
        }
        file.as_file().set_permissions(replaced.permissions())?;
    }
    Ok(file)
}

fn replace(file: BufWriter<NamedTempFile>, target: &Path) -> io::Result<()> {
    let file = file.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.as_file().sync_all()?;
    file.persist(target).map_err(|error| error.error)?;
    #[cfg(unix)]
    File::open(folder_of(target))?.sync_all()?;
    Ok(())
}

/// Links that are followed on the way to one file.
const LINKS: usize = 40;

/// The file that is written under a path: a link stays a link, and what it leads to is written, if it is there or not.
pub(super) fn followed(path: &Path) -> PathBuf {
    let mut path = path.to_owned();
    for _ in 0..LINKS {
        if is_descriptor(&path) {
            return path;
        }
        match fs::read_link(&path) {
            Ok(to) => path = folder_of(&path).join(to),
            Err(_) => break,
        }
    }
    match (fs::canonicalize(&path), path.file_name()) {
        (Ok(real), _) => real,
        (Err(_), Some(name)) => {
            fs::canonicalize(folder_of(&path)).map_or(path.clone(), |real| real.join(name))
        }
        (Err(_), None) => path,
    }
}

/// Whether a path names a stream that this process has open, such as `/dev/fd/3`: what it leads to has no name of its own.
pub(super) fn is_descriptor(path: &Path) -> bool {
    let is_numbered = path.file_name().and_then(|name| name.to_str()?.parse::<u32>().ok()).is_some();
    let folder = folder_of(path);
    is_numbered
        && cfg!(unix)
        && (folder == Path::new("/dev/fd") || (folder.starts_with("/proc") && folder.ends_with("fd")))
}

/// Whether it is the stream that this process has as its standard output.
fn is_standard_output(path: &Path) -> bool {
    let own = ["/dev/fd/1".into(), "/proc/self/fd/1".into(), format!("/proc/{}/fd/1", std::process::id())];
    cfg!(unix) && own.iter().any(|one: &String| path == Path::new(one))
}

/// The operating system's words in the manner of the other messages.
pub(super) fn worded(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::StorageFull => "the disk is full".into(),
        ErrorKind::PermissionDenied => "writing it is not permitted".into(),
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only".into(),
        ErrorKind::NotADirectory => "what stands in its path is no folder".into(),
        ErrorKind::NotFound => "there is no such folder".into(),
        // Only a folder that is to be made can meet this.
        ErrorKind::AlreadyExists => "it is no folder".into(),
        _ => system(error),
    }
}
