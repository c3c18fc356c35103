//! `--cache`: judgements of earlier runs, one file each. What cannot be read is judged anew, and what cannot be written is
//! judged again the next time: a cache never fails a run.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use ohmward::check::{Judgement, Options, Shared, check_among};
use ohmward::kept::{pack, slot, unpack};
use ohmward::text::{Digest, Files, Recorded};

use super::disk::shown_path;
use super::note;
use super::output::{followed, worded};

/// Longest entry that is read, in bytes.
const MOST_BYTES: u64 = 64 << 20;
/// A folder with this file holds nothing that a backup needs; its first line is fixed by the common convention for it.
const TAG: (&str, &str) = (
    "CACHEDIR.TAG",
    "Signature: 8a477f597d28d172789f06886806bc55\n# Judgements that ohmward keeps from run to run. The folder may be deleted at any time.\n",
);

/// A folder of judgements.
#[derive(Debug)]
pub(super) struct Cache {
    folder: PathBuf,
    program: Digest,
    n_failed: AtomicUsize,
    why: Mutex<Option<String>>,
}

impl Cache {
    /// Opens a folder, which is made where there is none; `None`, and a note, where it cannot be used.
    pub(super) fn open(folder: &Path) -> Option<Self> {
        let opened = prepare(folder).and_then(|()| program());
        match opened {
            Ok(program) => Some(Self {
                folder: folder.to_owned(),
                program,
                n_failed: AtomicUsize::new(0),
                why: Mutex::default(),
            }),
            Err(error) => {
                let shown = shown_path(folder);
                let why = worded(&error);
                note(&format!("the cache {shown} cannot be used: {why}; everything is judged anew"));
                None
            }
        }
    }

    /// The judgement of a design: the one that is kept, if it would come out the same.
    pub(super) fn judgement(
        &self,
        shared: &Shared,
        path: &str,
        files: &dyn Files,
        options: &Options,
    ) -> Judgement {
        let slot = slot(&self.program, options, path);
        let file = self.file(&slot);
        if let Some(bytes) = read(&file)
            && let Some(judgement) = unpack(&slot, &bytes, shared, path, files, options)
        {
            return judgement;
        }
        let recorded = Recorded::new(files);
        let judgement = check_among(shared, path, &recorded, options);
        if let Some(bytes) = pack(&slot, &judgement, recorded.answers(), options)
            && let Err(error) = write(&file, &bytes)
        {
            self.n_failed.fetch_add(1, Ordering::Relaxed);
            let mut why = self.why.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
            why.get_or_insert_with(|| worded(&error));
        }
        judgement
    }

    /// Tells what could not be kept.
    pub(super) fn close(&self) {
        let why = self.why.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(why) = &*why {
            let (what, again) = match self.n_failed.load(Ordering::Relaxed) {
                1 => ("1 judgement".into(), "it is judged"),
                many => (format!("{many} judgements"), "they are judged"),
            };
            let shown = shown_path(&self.folder);
            note(&format!("the cache {shown} could not keep {what}: {why}; {again} again in the next run"));
        }
    }

    /// Whether a file lies in it.
    pub(super) fn holds(folder: &Path, file: &Path) -> bool {
        followed(file).starts_with(followed(folder))
    }

    fn file(&self, slot: &Digest) -> PathBuf {
        let name = slot.to_string();
        let (folder, name) = name.split_at(2);
        self.folder.join(folder).join(name)
    }
}

/// Stands for this program as it was built.
fn program() -> io::Result<Digest> {
    Digest::of_stream(fs::File::open(std::env::current_exe()?)?)
}

fn prepare(folder: &Path) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    let is_empty = fs::read_dir(folder)?.next().is_none();
    // Backups pass over a folder with the tag, so one that holds anything else never gets it.
    if is_empty {
        let tag = folder.join(TAG.0);
        // A folder that cannot be written still has judgements to give; what it could not keep is told at the end.
        drop(fs::write(&tag, TAG.1));
    }
    Ok(())
}

fn read(file: &Path) -> Option<Vec<u8>> {
    let about = fs::metadata(file).ok()?;
    (about.is_file() && about.len() <= MOST_BYTES).then(|| fs::read(file).ok())?
}

/// Whole or not at all, whoever else writes the same; bytes that a failing machine tears are known by their digest.
fn write(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let folder = file.parent().unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".ohmward-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let made = builder.tempfile_in(folder);
    let mut made = match made {
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            fs::create_dir_all(folder)?;
            builder.tempfile_in(folder)?
        }
        made => made?,
    };
    made.write_all(bytes)?;
    made.persist(file).map_err(|error| error.error)?;
    Ok(())
}
