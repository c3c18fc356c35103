//! `--known` and `--write-known`: a fleet's findings of today are accepted, and only what is new fails.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Component, Path, PathBuf};

use ohmward::check::{Judgement, Options};
use ohmward::render::{KnownEntry, KnownList, Tally, accept};

use super::disk::{Start, folder_of, read_file, shown_path};
use super::note;
use super::output::Sink;

/// Most findings that are told one by one where they are no longer found.
const MOST_TOLD: usize = 20;

/// The lists of a run.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// What is known: its file, and the list.
    list: Option<(PathBuf, KnownList)>,
    /// What is to be written: its file, and what it held before.
    writes: Option<(PathBuf, KnownList)>,
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
        let list = known.map(|path| Ok::<_, String>((path.to_owned(), read(path)?))).transpose()?;
        let writes = writes.map(|path| Ok::<_, String>((path.to_owned(), before(path)?))).transpose()?;
        Ok(Self { list, writes })
    }

    /// Whether findings may be known.
    pub(super) fn any(&self) -> bool {
        self.list.is_some() || self.writes.is_some()
    }

    /// Where the list will go: made before the run, so that what cannot be written is told at once.
    pub(super) fn sink(&self) -> Result<Option<Sink>, String> {
        self.writes.as_ref().map(|(path, _)| Sink::file(path)).transpose()
    }

    /// Marks what is known of a design.
    pub(super) fn mark(&self, judgement: &mut Judgement, start: &Start, options: &Options) -> Seen {
        let mut seen = Seen::default();
        if let Some((path, list)) = &self.list {
            let file = relative(path, start);
            seen.stale = list.mark(judgement, &file, &|rule| judged(options, rule));
            seen.read = Some(file);
        }
        if let Some((path, _)) = &self.writes {
            let file = relative(path, start);
            let accepted = accept(judgement, &file);
            seen.written = Some((file, accepted));
        }
        seen
    }

    /// What is on the list and no longer found: told, and put into the tally.
    pub(super) fn stale(&self, seen: &[Seen], tally: &mut Tally) {
        let Some((path, list)) = &self.list else { return };
        let files: BTreeSet<&str> = seen.iter().filter_map(|seen| seen.read.as_deref()).collect();
        let gone =
            list.entries().filter(|entry| !files.contains(entry.file.as_str()) && is_gone(path, &entry.file));
        let mut stale: Vec<KnownEntry> =
            seen.iter().flat_map(|seen| &seen.stale).chain(gone).cloned().collect();
        stale.sort();
        for entry in stale.iter().take(MOST_TOLD) {
            let line = list.line(entry).unwrap_or_default();
            note(&format!("{}:{line}: no longer found: {entry}", shown_path(path)));
        }
        if MOST_TOLD < stale.len() {
            note(&format!("{}: {} more are no longer found", shown_path(path), stale.len() - MOST_TOLD));
        }
        tally.stale = Some(stale);
    }

    /// Writes the list: what was found in the designs of this run, and what was known of the others.
    pub(super) fn write(&self, seen: Vec<Seen>, options: &Options, sink: Option<Sink>) -> Result<(), String> {
        let (Some((path, old)), Some(mut sink)) = (&self.writes, sink) else { return Ok(()) };
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
            false => !is_gone(path, &entry.file),
        };
        entries.extend(old.entries().filter(stays).cloned());
        let list: KnownList = entries.into_iter().collect();
        match list.write(&mut sink) {
            Ok(()) => sink.finish(),
            Err(error) => Err(sink.failed(&error)),
        }
    }
}

fn judged(options: &Options, rule: &str) -> bool {
    let named = |list: &[String]| list.iter().any(|one| one == rule);
    (options.only.is_empty() || named(&options.only)) && !named(&options.without)
}

fn read(path: &Path) -> Result<KnownList, String> {
    parsed(path)
        .map_err(|why| format!("{} cannot be read: {why}; --write-known makes a list", shown_path(path)))
}

/// What a file to be written holds. Anything but a list is left alone: it may be a design.
fn before(path: &Path) -> Result<KnownList, String> {
    match fs::metadata(path) {
        Ok(about) if about.is_file() && 0 < about.len() => {}
        // The sink tells what stands in the way.
        _ => return Ok(KnownList::default()),
    }
    parsed(path).map_err(|why| format!("{} cannot be written: {why}, and is left as it is", shown_path(path)))
}

fn parsed(path: &Path) -> Result<KnownList, String> {
    let bytes = read_file(path).map_err(|error| error.to_string())?;
    let text = String::from_utf8(bytes).map_err(|_| "it is no text in UTF-8".to_owned())?;
    KnownList::read(&text)
}

/// Whether a design of the list is no longer there.
fn is_gone(list: &Path, file: &str) -> bool {
    file != "-" && !fs::exists(folder_of(list).join(file)).unwrap_or(true)
}

/// A design's path from the folder of a list, with `/` between its parts, from whatever folder the run was started.
fn relative(list: &Path, start: &Start) -> String {
    let Start::File(design) = start else { return "-".into() };
    let real = |path: &Path| fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    let (from, to) =
        (real(folder_of(list)), real(folder_of(design)).join(design.file_name().unwrap_or_default()));
    let common = from.components().zip(to.components()).take_while(|(a, b)| a == b).count();
    let mut parts: Vec<String> = vec!["..".into(); from.components().count() - common];
    if common == 0 && to.is_absolute() {
        // Another drive.
        return to.to_string_lossy().replace('\\', "/");
    }
    parts.extend(
        to.components()
            .skip(common)
            .filter(|part| *part != Component::CurDir)
            .map(|part| part.as_os_str().to_string_lossy().into_owned()),
    );
    parts.join("/")
}
