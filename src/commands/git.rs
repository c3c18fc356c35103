//! Files as they were in a revision, read through the `git` command. The working tree and the repository stay as they are.

use std::collections::HashMap;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Mutex, PoisonError};

use ohmward::text::{Files, LocateError, ReadError};

use super::disk::{LIMIT, folder_of, normal, resolved, said, shown_path};

/// Links that are followed on the way to one file.
const LINKS: usize = 40;

/// The revisions that are asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Range<'r> {
    /// A revision, and the file as it is now.
    Now(&'r str),
    /// Two revisions.
    Between(&'r str, &'r str),
    /// From where the second parted from the first, to the second.
    Parted(&'r str, &'r str),
}

impl<'r> Range<'r> {
    /// Reads `A..B`, `A...B` or `A`; a side that is left out is `HEAD`, as for git. `None` for no text.
    pub(super) fn parse(text: &'r str) -> Option<Self> {
        if text.trim().is_empty() {
            return None;
        }
        let named = |side: &'r str| if side.is_empty() { "HEAD" } else { side };
        Some(if let Some((old, new)) = text.split_once("...") {
            Self::Parted(named(old), named(new))
        } else if let Some((old, new)) = text.split_once("..") {
            Self::Between(named(old), named(new))
        } else {
            Self::Now(text)
        })
    }
}

/// The repository that a file lies in.
#[derive(Debug)]
pub(super) struct Repository {
    top: PathBuf,
    /// The file's path as it is shown.
    shown: String,
    /// The same from the top of the repository.
    path: String,
    /// The folder that `use` may reach, from the top of the repository and as it is shown.
    root: String,
    root_shown: String,
}

impl Repository {
    /// The repository around a file that need not be there any more.
    ///
    /// # Errors
    /// When there is no `git`, or no repository there.
    pub(super) fn of(file: &Path, root: Option<&Path>) -> Result<Self, String> {
        let shown = shown_path(file);
        if file.to_str().is_none() {
            return Err(format!("{shown} cannot be found in revisions: its name is not text in UTF-8"));
        }
        if file.is_dir() {
            return Err(format!("{shown} is a folder, not a design"));
        }
        let whole = std::path::absolute(file)
            .map_err(|error| format!("{shown} cannot be found: the current folder: {}", said(&error)))?;
        let whole = normal(&whole);
        let folder = whole.ancestors().skip(1).find(|folder| folder.is_dir()).unwrap_or(Path::new("."));
        let said = git(folder, &["rev-parse", "--show-toplevel", "--show-prefix"]);
        let said = said.map_err(|fault| match fault {
            Fault::Refused(why) if why.contains("not a git repository") => {
                format!("{shown} lies in no git repository")
            }
            fault => fault.told(&format!("the repository of {shown} cannot be read")),
        })?;
        let said = String::from_utf8_lossy(&said);
        let mut lines = said.lines();
        let (top, prefix) = (lines.next().unwrap_or("."), lines.next().unwrap_or(""));
        let inside = parts(whole.strip_prefix(folder).unwrap_or(&whole)).join("/");
        let (top, path) = (PathBuf::from(top), format!("{prefix}{inside}"));
        let (root, root_shown) = reach(&top, &path, &whole, root)?;
        Ok(Self { top, shown, path, root, root_shown })
    }

    /// The file's path as it is shown.
    pub(super) fn shown(&self) -> &str {
        &self.shown
    }

    /// The commit behind the name of a revision.
    ///
    /// # Errors
    /// When there is none.
    pub(super) fn commit(&self, revision: &str) -> Result<String, String> {
        let none = || format!("the repository of {} has no revision `{revision}`", self.shown);
        if revision.starts_with(['-', '^']) {
            return Err(none());
        }
        let commit = format!("{revision}^{{commit}}");
        match git(&self.top, &["rev-parse", "--verify", "--quiet", &commit]) {
            Ok(said) => Ok(String::from_utf8_lossy(&said).trim().to_owned()),
            Err(Fault::Refused(_)) => Err(none()),
            Err(fault) => Err(fault.told(&none())),
        }
    }

    /// The commit at which the second parted from the first.
    ///
    /// # Errors
    /// When there is none, or no such revision.
    pub(super) fn parted(&self, old: &str, new: &str) -> Result<String, String> {
        let (a, b) = (self.commit(old)?, self.commit(new)?);
        let said = git(&self.top, &["merge-base", &a, &b]);
        let said = said.map_err(|_| format!("`{old}` and `{new}` have no revision in common"))?;
        Ok(String::from_utf8_lossy(&said).trim().to_owned())
    }

    /// The files of a commit; `name` is what people call it.
    ///
    /// # Errors
    /// When the commit cannot be read. That the file was not in it is told where the file is read.
    pub(super) fn at(&self, name: &str, commit: &str) -> Result<Revision, String> {
        let mut revision = Revision {
            top: self.top.clone(),
            commit: commit.to_owned(),
            root: self.root.clone(),
            root_shown: self.root_shown.clone(),
            located: Mutex::default(),
        };
        let found = match revision.follow(&self.path) {
            Ok(Some(blob)) => Ok(blob),
            Ok(None) => Err(ReadError::Os(format!("it did not exist in revision {name}"))),
            Err(why) => return Err(why),
        };
        revision.located = Mutex::new(HashMap::from([(self.shown.clone(), found)]));
        Ok(revision)
    }
}

/// The folder that `use` may reach, from the top of the repository and as it is shown: what was asked for; else the current
/// folder if the file lies in it; else the file's own.
fn reach(top: &Path, path: &str, whole: &Path, root: Option<&Path>) -> Result<(String, String), String> {
    let here = Path::new(".");
    let root = match root {
        Some(root) => root,
        None if std::env::current_dir().is_ok_and(|here| whole.starts_with(here)) => here,
        None => {
            let own = folder_of(Path::new(path));
            let own = if own == here { String::new() } else { own.to_string_lossy().into_owned() };
            return Ok((own, shown_path(folder_of(whole))));
        }
    };
    let (top, real) = (resolved(top), resolved(root));
    match real.strip_prefix(&top) {
        Ok(inside) => Ok((parts(inside).join("/"), shown_path(root))),
        // All of the repository lies in it.
        Err(_) if top.starts_with(&real) => Ok((String::new(), shown_path(&top))),
        Err(_) => Err(format!("{} lies outside the repository", shown_path(root))),
    }
}

/// A file of a commit.
#[derive(Debug, Clone)]
struct Blob {
    /// Where it lies, links followed.
    path: String,
    id: String,
    size: u64,
    is_file: bool,
}

/// The files of one commit.
#[derive(Debug)]
pub(super) struct Revision {
    top: PathBuf,
    commit: String,
    root: String,
    root_shown: String,
    /// What the paths that were shown lead to.
    located: Mutex<HashMap<String, Result<Blob, ReadError>>>,
}

impl Revision {
    /// What a path leads to, links followed; `None` if to nothing in this repository.
    fn follow(&self, path: &str) -> Result<Option<Blob>, String> {
        let mut path = path.to_owned();
        for _ in 0..LINKS {
            let rows = self.entries(&path)?;
            let link = rows.iter().find(|row| row.is_link);
            let Some(link) = link else {
                return Ok(rows.into_iter().map(|row| row.blob).find(|blob| blob.path == path));
            };
            let to =
                git(&self.top, &["cat-file", "blob", &link.blob.id]).map_err(|fault| fault.told("a link"))?;
            let to = String::from_utf8_lossy(&to).into_owned();
            let rest = path.get(link.blob.path.len()..).unwrap_or("").trim_start_matches('/');
            let folder = link.blob.path.rsplit_once('/').map_or("", |parts| parts.0);
            match joined(folder, &format!("{to}/{rest}")) {
                Some(next) if !to.starts_with('/') => path = next,
                _ => return Ok(None),
            }
        }
        Ok(None)
    }

    /// What the commit has at a path and at the folders on the way to it.
    fn entries(&self, path: &str) -> Result<Vec<Row>, String> {
        let ends = path.match_indices('/').map(|at| at.0).chain([path.len()]);
        let mut arguments =
            vec!["--literal-pathspecs", "ls-tree", "-t", "-l", "-z", "--full-tree", &self.commit, "--"];
        arguments.extend(ends.filter_map(|end| path.get(..end)).filter(|path| !path.is_empty()));
        let said = git(&self.top, &arguments).map_err(|fault| fault.told("the revision cannot be read"))?;
        let said = String::from_utf8_lossy(&said);
        // What else lies in those folders is told too.
        let leads = |row: &Row| {
            path.strip_prefix(&row.blob.path).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
        };
        Ok(said.split('\0').filter_map(Row::read).filter(leads).collect())
    }

    fn outside(&self) -> LocateError {
        LocateError::OutsideRoot { root: self.root_shown.clone() }
    }

    /// The rest of a path that lies in the root.
    fn inside<'p>(&self, path: &'p str) -> Option<&'p str> {
        match self.root.is_empty() {
            true => Some(path),
            false => path.strip_prefix(&self.root)?.strip_prefix('/'),
        }
    }
}

impl Files for Revision {
    fn read(&self, path: &str) -> Result<Vec<u8>, ReadError> {
        let located = self.located.lock().unwrap_or_else(PoisonError::into_inner).get(path).cloned();
        let blob = located.unwrap_or_else(|| Err(ReadError::Os("there is no such file".into())))?;
        if !blob.is_file {
            return Err(ReadError::Folder);
        }
        if LIMIT < blob.size {
            return Err(ReadError::TooLarge { size: blob.size, limit: LIMIT });
        }
        let text = git(&self.top, &["cat-file", "blob", &blob.id]);
        text.map_err(|fault| ReadError::Os(fault.told("git does not give it")))
    }

    fn locate(&self, from: &str, relative: &str) -> Result<String, LocateError> {
        if Path::new(relative).is_absolute() || relative.starts_with(['/', '\\']) {
            return Err(LocateError::Absolute);
        }
        let from = self.located.lock().unwrap_or_else(PoisonError::into_inner).get(from).cloned();
        let Some(Ok(from)) = from else { return Err(LocateError::Missing) };
        let folder = from.path.rsplit_once('/').map_or("", |parts| parts.0);
        let path = joined(folder, relative).ok_or_else(|| self.outside())?;
        self.inside(&path).ok_or_else(|| self.outside())?;
        let Ok(Some(blob)) = self.follow(&path) else { return Err(LocateError::Missing) };
        let inside = self.inside(&blob.path).ok_or_else(|| self.outside())?;
        let shown = shown_path(&Path::new(&self.root_shown).join(inside));
        self.located.lock().unwrap_or_else(PoisonError::into_inner).insert(shown.clone(), Ok(blob));
        Ok(shown)
    }
}

/// A line of `ls-tree`.
struct Row {
    is_link: bool,
    blob: Blob,
}

impl Row {
    fn read(line: &str) -> Option<Self> {
        let (about, path) = line.split_once('\t')?;
        let mut about = about.split_whitespace();
        let (mode, kind, id, size) = (about.next()?, about.next()?, about.next()?, about.next()?);
        let blob = Blob {
            path: path.to_owned(),
            id: id.to_owned(),
            size: size.parse().unwrap_or(0),
            is_file: kind == "blob",
        };
        Some(Self { is_link: mode == "120000", blob })
    }
}

/// A path from a folder of the repository on; `None` where it leaves the repository.
fn joined(folder: &str, relative: &str) -> Option<String> {
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in relative.split('/') {
        match part {
            "" | "." => {}
            ".." => drop(parts.pop()?),
            name => parts.push(name),
        }
    }
    Some(parts.join("/"))
}

/// The names in a path.
fn parts(path: &Path) -> Vec<String> {
    let names = path.components().filter_map(|part| match part {
        Component::Normal(name) => Some(name.to_string_lossy().into_owned()),
        _ => None,
    });
    names.collect()
}

/// Why `git` gave nothing.
#[derive(Debug)]
enum Fault {
    /// There is no `git`.
    Missing,
    /// It could not be started; the system's words.
    Os(String),
    /// It ended with an error; its own words.
    Refused(String),
}

impl Fault {
    fn told(self, what: &str) -> String {
        match self {
            Self::Missing => "--git reads revisions through `git`, which is not on the PATH".into(),
            Self::Os(why) => format!("git cannot be run: {why}"),
            Self::Refused(why) if why.is_empty() => what.to_owned(),
            Self::Refused(why) => format!("{what}; git says: {why}"),
        }
    }
}

/// What `git` says in a folder. It asks nothing, fetches nothing, and writes nothing.
fn git(folder: &Path, arguments: &[&str]) -> Result<Vec<u8>, Fault> {
    let mut command = Command::new("git");
    command.arg("-C").arg(folder).args(arguments).stdin(Stdio::null());
    for (name, value) in [
        ("LC_ALL", "C"),
        ("GIT_OPTIONAL_LOCKS", "0"),
        ("GIT_NO_LAZY_FETCH", "1"),
        ("GIT_TERMINAL_PROMPT", "0"),
    ] {
        command.env(name, value);
    }
    // Which repository it is follows from the folder: in a hook git tells its own, which may be another.
    for name in [
        "GIT_DIR",
        "GIT_WORK_TREE",
        "GIT_IMPLICIT_WORK_TREE",
        "GIT_INDEX_FILE",
        "GIT_PREFIX",
        "GIT_COMMON_DIR",
    ] {
        command.env_remove(name);
    }
    let output = command.output().map_err(|error| match error.kind() {
        ErrorKind::NotFound => Fault::Missing,
        _ => Fault::Os(error.to_string()),
    })?;
    if output.status.success() {
        return Ok(output.stdout);
    }
    let said = String::from_utf8_lossy(&output.stderr);
    Err(Fault::Refused(said.trim().trim_start_matches("fatal: ").replace('\n', " ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_ranges_as_git_does() {
        assert_eq!(Range::parse("v1..v2"), Some(Range::Between("v1", "v2")));
        assert_eq!(Range::parse("v1.."), Some(Range::Between("v1", "HEAD")));
        assert_eq!(Range::parse("..v2"), Some(Range::Between("HEAD", "v2")));
        assert_eq!(Range::parse("main...boat"), Some(Range::Parted("main", "boat")));
        assert_eq!(Range::parse("HEAD~2"), Some(Range::Now("HEAD~2")));
        assert_eq!(Range::parse(""), None);
    }

    #[test]
    fn paths_stay_in_the_repository() {
        assert_eq!(joined("a/b", "../c.loom").as_deref(), Some("a/c.loom"));
        assert_eq!(joined("", "./x//y.loom").as_deref(), Some("x/y.loom"));
        assert_eq!(joined("a", "../../x"), None);
    }
}
