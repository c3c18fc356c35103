//! `--known` and `--write-known`: a fleet's findings of today are accepted, and only what is new fails.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, ErrorKind};
use std::path::{Component, Path, PathBuf};

use ohmward::check::{Judgement, Options};
use ohmward::render::{KnownEntry, KnownList, Tally, accept};
use ohmward::text::{Digest, ReadError};
use same_file::Handle;

use super::disk::{Start, folder_of, read_bounded, read_file, resolved, shown_path};
use super::note;
use super::output::{Sink, followed, worded};

/// Most findings that are told one by one where they are no longer found.
const MOST_TOLD: usize = 20;

/// The lists of a run.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// What is known: its file, and the list.
    list: Option<(Place, KnownList)>,
    /// The file that is to be written.
    writes: Option<Place>,
}

/// The file of a list.
#[derive(Debug)]
struct Place {
    /// As it was named.
    named: PathBuf,
    /// Links followed: paths in the list go from where it really lies.
    real: PathBuf,
}

impl Place {
    fn of(path: &Path) -> Self {
        Self { named: path.to_owned(), real: followed(path) }
    }
}

/// What one design said of the lists.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// Its path in the list that is read, and what it no longer has.
    read: Option<String>,
    stale: Vec<KnownEntry>,
    /// Its path in the list that is written, and its findings where it could be judged in full.
    written: Option<(String, Option<Vec<KnownEntry>>)>,
}

impl Known {
    /// Reads the lists.
    pub(super) fn read(known: Option<&Path>, writes: Option<&Path>) -> Result<Self, String> {
        let list = known.map(|path| Ok::<_, String>((Place::of(path), read(path)?))).transpose()?;
        let writes = writes.map(|path| before(path).map(|_| Place::of(path))).transpose()?;
        Ok(Self { list, writes })
    }

    /// Whether findings may be known.
    pub(super) fn any(&self) -> bool {
        self.list.is_some() || self.writes.is_some()
    }

    /// Stands for what is known.
    pub(super) fn digest(&self) -> Option<Digest> {
        let mut text = Vec::new();
        let (_, list) = self.list.as_ref()?;
        list.write(&mut text).ok()?;
        Some(Digest::of(&[&text]))
    }

    /// Where the list will go: made before the run, so that what cannot be written is told at once.
    pub(super) fn sink(&self) -> Result<Option<Sink>, String> {
        self.writes.as_ref().map(|place| Sink::file(&place.named)).transpose()
    }

    /// Marks what is known of a design.
    pub(super) fn mark(&self, judgement: &mut Judgement, start: &Start, options: &Options) -> Seen {
        let mut seen = Seen::default();
        if let Some((place, list)) = &self.list
            && let Some(file) = relative(&place.real, start)
        {
            seen.stale = list.mark(judgement, &file, &|rule| judged(options, rule));
            seen.read = Some(file);
        }
        if let Some(place) = &self.writes
            && let Some(file) = relative(&place.real, start)
        {
            let accepted = accept(judgement, &file);
            seen.written = Some((file, accepted));
        }
        seen
    }

    /// What is on the list and no longer found: told, and put into the tally.
    pub(super) fn stale(&self, seen: &[Seen], tally: &mut Tally) {
        let Some((place, list)) = &self.list else { return };
        let files: BTreeSet<&str> = seen.iter().filter_map(|seen| seen.read.as_deref()).collect();
        let gone = list
            .entries()
            .filter(|entry| !files.contains(entry.file.as_str()) && is_gone(&place.real, &entry.file));
        let mut stale: Vec<KnownEntry> =
            seen.iter().flat_map(|seen| &seen.stale).chain(gone).cloned().collect();
        stale.sort();
        let shown = shown_path(&place.named);
        tell_stale(&stale, |entry| format!("{shown}:{}: ", list.line(entry).unwrap_or_default()));
        tally.stale = Some(stale);
    }

    /// Writes the list: what was found in the designs of this run, and what was known of the others.
    pub(super) fn write(&self, seen: Vec<Seen>, options: &Options, sink: Option<Sink>) -> Result<(), String> {
        let (Some(place), Some(mut sink)) = (&self.writes, sink) else { return Ok(()) };
        // From here on another run waits that writes the same list: it adds to what this one leaves.
        let held = held(place)?;
        let old = match &held {
            Some(file) => held_list(file).map_err(|why| left_alone(&place.named, &why))?,
            None => KnownList::default(),
        };
        let mut judged_files = BTreeSet::new();
        let mut entries = Vec::new();
        for (file, accepted) in seen.into_iter().filter_map(|seen| seen.written) {
            if let Some(accepted) = accepted {
                entries.extend(accepted);
                judged_files.insert(file);
            }
        }
        let stays = |entry: &&KnownEntry| match judged_files.contains(&entry.file) {
            true => !judged(options, &entry.identity.rule),
            false => !is_gone(&place.real, &entry.file),
        };
        entries.extend(old.entries().filter(stays).cloned());
        let list: KnownList = entries.into_iter().collect();
        match list.write(&mut sink) {
            Ok(()) => sink.finish(),
            Err(error) => Err(sink.failed(&error)),
        }
    }
}

/// Tells what is no longer found, each with what stands before it.
pub(super) fn tell_stale(stale: &[KnownEntry], before: impl Fn(&KnownEntry) -> String) {
    for entry in stale.iter().take(MOST_TOLD) {
        note(&format!("{}no longer found: {entry}", before(entry)));
    }
    if MOST_TOLD < stale.len() {
        note(&format!("{} more are no longer found", stale.len() - MOST_TOLD));
    }
}

/// The list's file, held until what is given back is dropped: of runs that write one list, one reads and replaces it at a
/// time.
fn held(place: &Place) -> Result<Option<File>, String> {
    let fail =
        |error: &io::Error| format!("{} cannot be written: {}", shown_path(&place.named), worded(error));
    let path = &place.real;
    if fs::metadata(path).is_ok_and(|about| !about.is_file()) {
        // A device holds no list.
        return Ok(None);
    }
    loop {
        let opened = match File::open(path) {
            Err(error) if error.kind() == ErrorKind::NotFound => {
                File::options().read(true).append(true).create(true).open(path)
            }
            opened => opened,
        };
        let file = opened.map_err(|error| fail(&error))?;
        match file.lock() {
            Ok(()) => {}
            // A disk that knows no locks: what two runs do at once there is theirs to order.
            Err(error) if error.kind() == ErrorKind::Unsupported => return Ok(None),
            Err(error) => return Err(fail(&error)),
        }
        // It may have been replaced while this run waited for it.
        let mine = file.try_clone().and_then(Handle::from_file).map_err(|error| fail(&error))?;
        match Handle::from_path(path) {
            Ok(there) if there == mine => return Ok(Some(file)),
            Ok(_) => {}
            Err(error) if error.kind() == ErrorKind::NotFound => {}
            Err(error) => return Err(fail(&error)),
        }
    }
}

fn judged(options: &Options, rule: &str) -> bool {
    let named = |list: &[String]| list.iter().any(|one| one == rule);
    (options.only.is_empty() || named(&options.only)) && !named(&options.without)
}

fn read(path: &Path) -> Result<KnownList, String> {
    parsed(read_file(path))
        .map_err(|why| format!("{} cannot be read: {why}; --write-known makes a list", shown_path(path)))
}

/// What a file to be written holds. Anything but a list is left alone: it may be a design.
fn before(path: &Path) -> Result<KnownList, String> {
    match fs::metadata(path) {
        Ok(about) if about.is_file() && 0 < about.len() => {}
        #[cfg(unix)]
        Ok(about) if std::os::unix::fs::FileTypeExt::is_fifo(&about.file_type()) => {
            return Err(format!("{} cannot be written: it is a pipe, which keeps no list", shown_path(path)));
        }
        // The sink tells what stands in the way.
        _ => return Ok(KnownList::default()),
    }
    parsed(read_file(path)).map_err(|why| left_alone(path, &why))
}

/// What a file holds that is held.
fn held_list(file: &File) -> Result<KnownList, String> {
    match file.metadata() {
        Ok(about) if about.len() == 0 => Ok(KnownList::default()),
        _ => parsed(read_bounded(file)),
    }
}

fn left_alone(path: &Path, why: &str) -> String {
    format!("{} cannot be written: {why}, and is left as it is", shown_path(path))
}

fn parsed(read: Result<Vec<u8>, ReadError>) -> Result<KnownList, String> {
    let bytes = read.map_err(|error| error.to_string())?;
    let text = String::from_utf8(bytes).map_err(|_| "it is no text in UTF-8".to_owned())?;
    KnownList::read(&text)
}

/// Whether a design of the list is no longer there.
fn is_gone(list: &Path, file: &str) -> bool {
    file != "-" && !fs::exists(folder_of(list).join(file)).unwrap_or(true)
}

/// A design's path from the folder of a list, with `/` between its parts, from whatever folder the run was started; `None`
/// where that is no text: such a design is on no list.
fn relative(list: &Path, start: &Start) -> Option<String> {
    let Start::File(design) = start else { return Some("-".into()) };
    let (from, to) =
        (resolved(folder_of(list)), resolved(folder_of(design)).join(design.file_name().unwrap_or_default()));
    let common = from.components().zip(to.components()).take_while(|(a, b)| a == b).count();
    let mut parts = vec![".."; from.components().count() - common];
    if common == 0 && to.is_absolute() {
        // Another drive.
        return Some(to.to_str()?.replace('\\', "/"));
    }
    for part in to.components().skip(common).filter(|part| *part != Component::CurDir) {
        parts.push(part.as_os_str().to_str()?);
    }
    Some(parts.join("/"))
}
