//! `check --join`: the JSON documents of several runs, told as one.

use std::io::Read;
use std::path::{Path, PathBuf};

use ohmward::render::{Joined, Published, Tally};

use super::disk::{said, shown_path};
use super::known::tell_stale;
use super::output::Sink;
use super::replaced::Replaced;

/// Largest document, in bytes: a device may never end.
const MOST_BYTES: u64 = 1 << 30;

/// Joins the documents and writes them in the form that `form` gives, which is asked whether there was a list of known
/// findings.
pub(super) fn join(
    paths: &[PathBuf],
    output: Option<&Path>,
    form: impl FnOnce(bool) -> Box<dyn Published>,
) -> Result<Tally, Vec<String>> {
    let (mut documents, mut wrong) = (Vec::new(), Vec::new());
    let replaced = Replaced::by(&[("-o", output)]).map_err(|why| vec![why])?;
    for path in paths {
        replaced.met(path);
        match read(path) {
            Ok(bytes) => documents.push((shown(path), bytes)),
            Err(why) => wrong.push(format!("{} cannot be read: {why}", shown(path))),
        }
    }
    if !wrong.is_empty() {
        return Err(wrong);
    }
    replaced.spares().map_err(|why| vec![why])?;
    let joined = Joined::read(&documents)?;
    let form = form(joined.tally.stale.is_some());
    tell_stale(joined.tally.stale.as_deref().unwrap_or_default(), |_| String::new());
    Sink::whole(output, |out| joined.write(form.as_ref(), out)).map_err(|why| vec![why])?;
    Ok(joined.tally)
}

fn shown(path: &Path) -> String {
    if path == Path::new("-") { "standard input".into() } else { shown_path(path) }
}

fn read(path: &Path) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    let from: Box<dyn Read> = if path == Path::new("-") {
        Box::new(std::io::stdin().lock())
    } else if path.is_dir() {
        return Err("it is a folder, not a file".into());
    } else {
        Box::new(std::fs::File::open(path).map_err(|error| said(&error))?)
    };
    from.take(MOST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| said(&error))?;
    match bytes.len() as u64 {
        size if MOST_BYTES < size => Err(format!("it has more than {MOST_BYTES} bytes")),
        _ => Ok(bytes),
    }
}
