//! `ohmward editor`: a language server on standard input and output.

use std::io::{BufReader, stdin, stdout};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use ohmward::design::Date;
use ohmward::editor::{Ending, World, serve};
use ohmward::text::Files;

use super::check::STACK;
use super::disk::{Disk, Start, folder_of, normal, resolved};
use super::failsafe::{guarded, keep_panics};
use super::find::below;
use super::{Outcome, note, today, unjudged};

/// Serves an editor: a language server on standard input and output
///
/// An editor starts it, and shows what it finds while a design is typed. Exit code 0: the editor said that it was done.
/// 1: the editor went away without a word.
#[derive(Debug, clap::Args)]
pub(super) struct Arguments {
    /// Standard input and output; many editors add it, and there is no other way
    #[arg(long)]
    stdio: bool,
}

/// Runs the command.
pub(super) fn run(_: &Arguments) -> Outcome {
    keep_panics();
    let served = std::thread::Builder::new()
        .stack_size(STACK)
        .spawn(|| serve(Arc::new(Around), BufReader::new(stdin()), stdout()));
    match served.map(std::thread::JoinHandle::join) {
        Ok(Ok(Ok(Ending::Asked))) => Outcome::Passed,
        Ok(Ok(Ok(Ending::Unasked))) => {
            note(
                "the input ended before the editor said that it was done; this command is one that an editor starts",
            );
            Outcome::Failed
        }
        Ok(Err(_)) => Outcome::Failed,
        Ok(Ok(Err(error))) | Err(error) => unjudged(&format!("threads cannot be started: {error}")),
    }
}

/// The disk, the clock, and what catches a panic.
struct Around;

impl World for Around {
    fn files<'w>(&'w self, path: &str, root: &str) -> Box<dyn Files + 'w> {
        Box::new(Disk::new(path, Start::File(PathBuf::from(path)), Some(Path::new(root))))
    }

    fn resolved(&self, path: &str) -> String {
        let path = normal(Path::new(path));
        let real = match std::fs::canonicalize(&path) {
            Ok(real) => real,
            // A file that is not saved yet lies in a folder that may be there.
            Err(_) => match path.file_name() {
                Some(name) => resolved(folder_of(&path)).join(name),
                None => path,
            },
        };
        real.to_string_lossy().into_owned()
    }

    fn folder(&self, path: &str) -> String {
        folder_of(Path::new(path)).to_string_lossy().into_owned()
    }

    fn joined(&self, folder: &str, relative: &str) -> String {
        normal(&Path::new(folder).join(relative)).to_string_lossy().into_owned()
    }

    fn within(&self, path: &str, folder: &str) -> bool {
        Path::new(path).starts_with(folder)
    }

    fn relative(&self, path: &str, folder: &str) -> Option<String> {
        relative(Path::new(path), Path::new(folder))
    }

    fn below(&self, folder: &str, extension: &str) -> Vec<String> {
        below(Path::new(folder), extension).iter().map(|path| path.to_string_lossy().into_owned()).collect()
    }

    fn today(&self) -> Date {
        today()
    }

    fn guarded(&self, work: &mut dyn FnMut()) -> Result<(), String> {
        guarded(work)
    }
}

/// The way from a folder to a path, both without `.` and `..`.
fn relative(path: &Path, folder: &Path) -> Option<String> {
    let (path, folder): (Vec<Component<'_>>, Vec<Component<'_>>) =
        (path.components().collect(), folder.components().collect());
    let common = path.iter().zip(&folder).take_while(|pair| pair.0 == pair.1).count();
    if common == 0 {
        return None;
    }
    let mut parts = vec!["..".to_owned(); folder.len() - common];
    for part in path.get(common..)? {
        parts.push(part.as_os_str().to_str()?.to_owned());
    }
    Some(parts.join("/"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn leads_from_a_folder_to_a_file() {
        let cases = [
            ("/a/b/c.loom", "/a/b", Some("c.loom")),
            ("/a/b/c/d.loom", "/a/b", Some("c/d.loom")),
            ("/a/b.loom", "/a/c/d", Some("../../b.loom")),
            ("/a/x/b.loom", "/a/c", Some("../x/b.loom")),
            ("b.loom", "/a", None),
        ];
        for (path, folder, wanted) in cases {
            assert_eq!(
                relative(Path::new(path), Path::new(folder)).as_deref(),
                wanted,
                "{path} from {folder}"
            );
        }
    }
}
