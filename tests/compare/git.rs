//! Revisions of a design in a real repository, made in a folder of its own.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use tempfile::TempDir;

const LIBRARY: &str = "library parts \"Parts\"\npart small is fuse 10 A blade volts 32 V\n";
const DESIGN: &str = "design d \"D\"\nuse \"../lib/parts.loom\"\nfuse F = small\nload L 12 V 5 W\n";

/// A repository: `boats/d.loom`, which uses `lib/parts.loom`, in three revisions `v1` to `v3`, and a branch `other` from
/// `v1` on.
struct Repository {
    folder: TempDir,
}

fn git(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new("git");
    command.current_dir(folder).args(["-c", "user.name=A", "-c", "user.email=a@example.com"]);
    command.args(["-c", "commit.gpgsign=false", "-c", "core.autocrlf=false"]).args(arguments);
    for variable in ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"] {
        command.env_remove(variable);
    }
    command.output().unwrap()
}

impl Repository {
    /// `None` where there is no git.
    fn new() -> Option<Self> {
        if Command::new("git").arg("--version").output().is_err() {
            println!("skipped: there is no git");
            return None;
        }
        let repository = Self { folder: tempfile::tempdir().unwrap() };
        repository.git(&["init", "-q", "-b", "main"]);
        repository.write("README.md", "Invented\n");
        repository.commit("v0");
        repository.write("lib/parts.loom", LIBRARY);
        repository.write("boats/d.loom", DESIGN);
        repository.commit("v1");
        repository.git(&["branch", "other"]);
        repository.write("lib/parts.loom", &LIBRARY.replace("10 A", "15 A"));
        repository.commit("v2");
        repository.write("boats/d.loom", &DESIGN.replace("5 W", "8 W"));
        repository.commit("v3");
        Some(repository)
    }

    fn git(&self, arguments: &[&str]) -> String {
        let output = git(self.folder.path(), arguments);
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    fn write(&self, path: &str, text: &str) {
        let path = self.folder.path().join(path);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    fn commit(&self, tag: &str) {
        self.git(&["add", "-A"]);
        self.git(&["commit", "-q", "-m", tag]);
        self.git(&["tag", tag]);
    }

    fn run_in(&self, folder: &str, arguments: &[&str]) -> (Option<i32>, String, String) {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
        command.current_dir(self.folder.path().join(folder)).arg("compare").args(arguments);
        for variable in ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE"] {
            command.env_remove(variable);
        }
        let Output { status, stdout, stderr } = command.output().unwrap();
        (status.code(), String::from_utf8(stdout).unwrap(), String::from_utf8(stderr).unwrap())
    }

    /// The sentences on elements between two revisions.
    fn told(&self, arguments: &[&str]) -> Vec<String> {
        let (code, out, err) = self.run_in(".", &[arguments, &["--as", "json"]].concat());
        assert_eq!((code, err.as_str()), (Some(0), ""), "{arguments:?}: {out}");
        let document: serde_json::Value = serde_json::from_str(&out).unwrap();
        let changed = document["elements"]["changed"].as_array().unwrap().iter();
        let changes = changed.flat_map(|one| one["changes"].as_array().unwrap());
        changes.map(|one| one["text"].as_str().unwrap().to_owned()).collect()
    }
}

#[test]
fn between_revisions() {
    let Some(repository) = Repository::new() else { return };
    let path = "boats/d.loom";
    assert_eq!(repository.told(&["--git", "v1..v1", path]), [""; 0]);
    assert_eq!(repository.told(&["--git", "v1..v2", path]), ["F goes from 10 A to 15 A"]);
    assert_eq!(repository.told(&[path, "--git", "v2..v3"]), ["L goes from 5 W to 8 W"]);
    let all = ["F goes from 10 A to 15 A", "L goes from 5 W to 8 W"];
    assert_eq!(repository.told(&["--git", "v1..", path]), all);
    assert_eq!(repository.told(&["--git", "HEAD~2..HEAD", path]), all);
    assert_eq!(
        repository.told(&["--git", "v3..v1", path]),
        ["F goes from 15 A to 10 A", "L goes from 8 W to 5 W"]
    );
    // From where the branch left, nothing has happened on it.
    assert_eq!(repository.told(&["--git", "main...other", path]), [""; 0]);
    assert_eq!(repository.told(&["--git", "other...main", path]), all);
}

/// From any folder, by any path to the file; the revisions name what is compared.
#[test]
fn from_any_folder() {
    let Some(repository) = Repository::new() else { return };
    let whole = repository.folder.path().join("boats/d.loom");
    let whole = whole.to_str().unwrap();
    for (folder, path, root) in [
        (".", "boats/d.loom", None),
        (".", "./lib/../boats/d.loom", None),
        ("boats", "d.loom", Some("..")),
        ("lib", "../boats/d.loom", Some("..")),
        (".", whole, None),
    ] {
        let mut arguments = vec!["--git", "v1..v2", path];
        arguments.extend(root.iter().flat_map(|root| ["--root", *root]));
        let (code, out, err) = repository.run_in(folder, &arguments);
        assert_eq!(code, Some(0), "{folder} {path}: {out}{err}");
        assert!(out.contains("F goes from 10 A to 15 A"), "{folder} {path}: {out}");
    }
    let (_, out, _) = repository.run_in(".", &["--git", "v1..v2", "boats/d.loom"]);
    assert!(out.starts_with("from boats/d.loom at v1 to boats/d.loom at v2\n"), "{out}");
}

/// One revision alone is compared with the file as it is now; and nothing is written.
#[test]
fn with_the_file_as_it_is() {
    let Some(repository) = Repository::new() else { return };
    repository.write("boats/d.loom", &DESIGN.replace("5 W", "9 W"));
    repository.write("lib/new.loom", "untracked\n");
    let before = repository.git(&["status", "--porcelain=v2", "--branch"]);
    assert_eq!(
        repository.told(&["--git", "v1", "boats/d.loom"]),
        ["F goes from 10 A to 15 A", "L goes from 5 W to 9 W"]
    );
    assert_eq!(repository.told(&["--git", "v1..v3", "boats/d.loom"]).len(), 2);
    assert_eq!(repository.git(&["status", "--porcelain=v2", "--branch"]), before);
    let text = fs::read_to_string(repository.folder.path().join("boats/d.loom")).unwrap();
    assert!(text.contains("9 W"));
}

/// A file that is gone from the working tree, its folder too, is still in the revisions.
#[test]
fn a_file_that_is_no_longer_there() {
    let Some(repository) = Repository::new() else { return };
    repository.git(&["rm", "-q", "-r", "boats"]);
    repository.git(&["commit", "-q", "-m", "gone"]);
    assert!(!repository.folder.path().join("boats").exists());
    assert_eq!(repository.told(&["--git", "v2..v3", "boats/d.loom"]), ["L goes from 5 W to 8 W"]);
    let (code, out, _) = repository.run_in(".", &["--git", "v3..HEAD", "boats/d.loom"]);
    assert_eq!(code, Some(2));
    assert!(out.contains("it did not exist in revision HEAD"), "{out}");
}

#[test]
fn what_cannot_be_read() {
    let Some(repository) = Repository::new() else { return };
    let path = "boats/d.loom";
    let (code, out, _) = repository.run_in(".", &["--git", "v0..v1", path]);
    assert_eq!(code, Some(2));
    assert!(out.contains("it did not exist in revision v0"), "{out}");
    for (range, said) in [
        ("none..v1", "has no revision `none`"),
        ("v1..none", "has no revision `none`"),
        ("v1..v1:boats/d.loom", "has no revision `v1:boats/d.loom`"),
        ("--exec=x..v1", "has no revision `--exec=x`"),
    ] {
        let (code, out, err) = repository.run_in(".", &[&format!("--git={range}"), path]);
        assert_eq!((code, out.as_str()), (Some(2), ""), "{range}: {err}");
        assert!(err.contains(said), "{range}: {err}");
    }
    // A library that the root does not hold, as with files.
    let (code, out, _) = repository.run_in("boats", &["--git", "v1..v2", "d.loom"]);
    assert_eq!(code, Some(2));
    assert!(out.contains("it lies outside ., the folder that `use` may reach"), "{out}");
    // No repository at all.
    let bare = tempfile::tempdir().unwrap();
    fs::write(bare.path().join("d.loom"), DESIGN).unwrap();
    let file = bare.path().join("d.loom");
    let (code, _, err) = repository.run_in(".", &["--git", "v1..v2", file.to_str().unwrap()]);
    assert_eq!(code, Some(2));
    assert!(err.contains("lies in no git repository"), "{err}");
}

#[test]
fn without_git() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("d.loom"), "design d \"D\"\n").unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
    command.current_dir(folder.path()).args(["compare", "--git", "a..b", "d.loom"]);
    let output = command.env("PATH", folder.path()).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    let err = String::from_utf8(output.stderr).unwrap();
    assert_eq!(err, "error: --git reads revisions through `git`, which is not on the PATH\n");
}

/// Links in a revision are followed inside the root, and not out of it.
#[cfg(unix)]
#[test]
fn links_in_a_revision() {
    let Some(repository) = Repository::new() else { return };
    let link = |to: &str, from: &str| {
        let from = repository.folder.path().join(from);
        drop(fs::remove_file(&from));
        std::os::unix::fs::symlink(to, from).unwrap();
    };
    repository.write("inner/lib/parts.loom", LIBRARY);
    repository.write("inner/d.loom", &DESIGN.replace("../lib", "lib"));
    link("lib", "inner/alias");
    repository.write("inner/e.loom", &DESIGN.replace("../lib", "alias"));
    link("../../lib/parts.loom", "inner/lib/out.loom");
    repository.write("inner/f.loom", &DESIGN.replace("../lib/parts", "lib/out"));
    link("d.loom", "inner/g.loom");
    repository.commit("v4");
    repository.write("inner/lib/parts.loom", &LIBRARY.replace("10 A", "20 A"));
    repository.commit("v5");
    for path in ["inner/d.loom", "inner/e.loom", "inner/g.loom"] {
        assert_eq!(repository.told(&["--git", "v4..v5", path]), ["F goes from 10 A to 20 A"], "{path}");
    }
    assert_eq!(repository.told(&["--git", "v4..v5", "inner/f.loom"]), [""; 0]);
    let (code, out, _) = repository.run_in("inner", &["--git", "v4..v5", "f.loom"]);
    assert_eq!(code, Some(2));
    assert!(out.contains("it lies outside ., the folder that `use` may reach"), "{out}");
}
