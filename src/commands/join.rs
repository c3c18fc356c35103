//! `check --join`: the JSON documents of several runs, told as one.

use std::io::Read;
use std::path::{Path, PathBuf};

use ohmward::render::{Joined, Published, Tally};

use super::disk::{said, shown_path};
use super::output::Sink;

/// Joins the documents and writes them in the form that `form` gives, which is asked whether there was a list of known
/// findings.
pub(super) fn join(
    paths: &[PathBuf],
    output: Option<&Path>,
    form: impl FnOnce(bool) -> Box<dyn Published>,
) -> Result<Tally, Vec<String>> {
    let (mut documents, mut wrong) = (Vec::new(), Vec::new());
    for path in paths {
        match read(path) {
            Ok(bytes) => documents.push((shown(path), bytes)),
            Err(why) => wrong.push(format!("{} cannot be read: {why}", shown(path))),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    let joined = Joined::read(&documents)?;
    let form = form(joined.tally.stale.is_some());
    Sink::whole(output, |out| joined.write(form.as_ref(), out)).map_err(|why| vec![why])?;
    Ok(joined.tally)
}

fn shown(path: &Path) -> String {
    if path == Path::new("-") { "standard input".into() } else { shown_path(path) }
}

fn read(path: &Path) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    if path == Path::new("-") {
        return std::io::stdin().lock().read_to_end(&mut bytes).map(|_| bytes).map_err(|error| said(&error));
    }
    if path.is_dir() {
        return Err("it is a folder, not a file".into());
    }
    std::fs::read(path).map_err(|error| said(&error))
}
