//! The scripts in `samples/ci/` and the hooks for the pre-commit framework, run against repositories of their own.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::{ADRIFT, Bench, Ran, WAGTAIL, has};

const BROKEN: &str = "design typo \"Invented\"\nbatery  B agm\n";

/// A repository with the scripts at hand, and the binary on the path.
struct Repository {
    bench: Bench,
}

impl Repository {
    /// `None` where bash or git is missing, which is told.
    fn new(files: &[(&str, &str)]) -> Option<Self> {
        if !has("bash") || !has("git") {
            return None;
        }
        let files: Vec<_> = files.iter().map(|(name, text)| (*name, text.as_bytes())).collect();
        let repository = Self { bench: Bench::new(&files) };
        repository.git(&["init", "-q", "-b", "main"]).ends(0);
        Some(repository)
    }

    fn path(&self, name: &str) -> PathBuf {
        self.bench.path(name)
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
    }

    fn write(&self, name: &str, text: &str) {
        fs::create_dir_all(self.path(name).parent().unwrap()).unwrap();
        fs::write(self.path(name), text).unwrap();
    }

    fn started(&self, program: &Path, folder: &str) -> Command {
        let mut command = Command::new(program);
        command.current_dir(self.path(folder)).stdin(Stdio::null());
        let binary = Path::new(env!("CARGO_BIN_EXE_ohmward")).parent().unwrap().to_owned();
        let before = std::env::var_os("PATH").unwrap_or_default();
        let path = std::iter::once(binary).chain(std::env::split_paths(&before));
        command.env("PATH", std::env::join_paths(path).unwrap());
        // Nothing of who runs the tests, nor of a hook that they run in.
        for variable in ["GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_PREFIX"] {
            command.env_remove(variable);
        }
        command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_SYSTEM", "/dev/null");
        command
    }

    fn git(&self, arguments: &[&str]) -> Ran {
        let mut command = self.started(Path::new("git"), ".");
        command.args(["-c", "user.name=A", "-c", "user.email=a@example.com", "-c", "core.autocrlf=false"]);
        Ran::of(command.args(arguments).output().unwrap())
    }

    fn commit(&self, tag: &str) {
        self.git(&["add", "-A"]).ends(0);
        self.git(&["commit", "-q", "--no-verify", "-m", tag]).ends(0);
        self.git(&["tag", tag]).ends(0);
    }

    fn script(&self, name: &str, arguments: &[&str]) -> Ran {
        self.script_in(".", name, arguments)
    }

    fn script_in(&self, folder: &str, name: &str, arguments: &[&str]) -> Ran {
        let mut command = self.started(Path::new("bash"), folder);
        Ran::of(command.arg(script(name)).args(arguments).output().unwrap())
    }

    fn ohmward(&self, arguments: &[&str]) -> Ran {
        let mut command = self.started(Path::new("ohmward"), ".");
        Ran::of(command.args(arguments).output().unwrap())
    }
}

fn script(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/ci").join(name)
}

#[test]
fn all_scripts_are_shell_and_can_be_started() {
    use std::os::unix::fs::PermissionsExt;
    let mut names: Vec<String> = Vec::new();
    for entry in fs::read_dir(script("")).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if name == "README.md" {
            continue;
        }
        assert!(fs::read_to_string(&path).unwrap().starts_with("#!/bin/sh\n"), "{name}");
        assert_eq!(fs::metadata(&path).unwrap().permissions().mode() & 0o111, 0o111, "{name}");
        names.push(name);
    }
    names.sort();
    assert_eq!(names, ["check.sh", "join.sh", "pre-commit", "review.sh", "share.sh"]);
    let page = fs::read_to_string(script("README.md")).unwrap();
    for name in names {
        assert!(page.contains(&format!("[{name}]({name})")), "{name} is not in the page");
        if has("bash") {
            let ran = Ran::of(Command::new("bash").arg("-n").arg(script(&name)).output().unwrap()).ends(0);
            assert_eq!(ran.err, "", "{name}");
        }
    }
}

#[test]
fn a_check_leaves_reports_and_ends_with_the_verdict() {
    let Some(repository) = Repository::new(&[("boats/wagtail.loom", WAGTAIL)]) else { return };
    let verdict = |code: i32| {
        let ran = repository.script("check.sh", &[]).ends(code);
        let lines = repository.ohmward(&["check", "--as", "lines"]).ends(code);
        assert_eq!((&ran.out, &ran.err), (&lines.out, &lines.err));
        let sarif: serde_json::Value =
            serde_json::from_str(&repository.read("reports/findings.sarif")).unwrap();
        let junit = repository.read("reports/junit.xml");
        (ran, sarif["runs"][0]["results"].as_array().unwrap().clone(), junit)
    };
    let (_, results, junit) = verdict(0);
    assert!(results.iter().all(|row| row["level"] != "error"), "{results:?}");
    assert!(junit.contains("wagtail.loom"), "{junit}");

    repository.write("boats/adrift.loom", ADRIFT);
    let (ran, results, junit) = verdict(1);
    assert!(ran.out.contains("boats/adrift.loom:4:6: error: protection.missing: "), "{ran:#?}");
    assert!(results.iter().any(|row| row["ruleId"] == "protection.missing"), "{results:?}");
    assert!(junit.contains("adrift.loom") && junit.contains("protection.missing"), "{junit}");

    repository.write("boats/broken.loom", BROKEN);
    let (ran, results, _) = verdict(2);
    assert!(ran.out.contains("boats/broken.loom:2:1: error: language.word: "), "{ran:#?}");
    assert!(results.iter().any(|row| row["ruleId"] == "protection.missing"), "{results:?}");
}

#[test]
fn a_check_of_a_folder_with_blanks_takes_what_is_known() {
    let Some(repository) = Repository::new(&[("our boats/adrift.loom", ADRIFT)]) else { return };
    let arguments = ["our boats", "all reports/today"];
    let ran = repository.script("check.sh", &arguments).ends(1);
    assert!(ran.out.contains("protection.missing"), "{ran:#?}");
    repository.ohmward(&["check", "--write-known", "our boats/known-findings", "our boats"]).ends(0);
    let ran = repository.script("check.sh", &arguments).ends(0);
    assert!(!ran.out.contains("error: "), "{ran:#?}");
    assert!(repository.path("all reports/today/junit.xml").is_file());
    repository.write("our boats/second.loom", &ADRIFT.replace("design adrift", "design second"));
    let ran = repository.script("check.sh", &arguments).ends(1);
    assert!(ran.out.contains("second.loom:4:6: error: protection.missing: "), "{ran:#?}");
    assert!(!ran.out.contains("adrift.loom:"), "{ran:#?}");
}

#[test]
fn shares_joined_are_one_run() {
    let Some(repository) = Repository::new(&[]) else { return };
    let fill = |n: usize, text: &str| {
        for at in 0..n {
            repository.write(&format!("fleet/{at:02}.loom"), &text.replace("\n\n", &format!("\n# {at}\n\n")));
        }
    };
    let verdict = |code: i32, shares: i32| {
        for number in ["1", "2", "3"] {
            let ran = repository.script("share.sh", &[number, "3", "fleet"]);
            assert!(ran.code == Some(0) || ran.code == Some(shares), "{ran:#?}");
        }
        let ran = repository.script("join.sh", &["share-1.json", "share-2.json", "share-3.json"]).ends(code);
        let one = repository.script("check.sh", &["fleet"]).ends(code);
        assert_eq!((&ran.out, &ran.err), (&one.out, &one.err));
        assert_eq!(repository.read("findings.sarif"), repository.read("reports/findings.sarif"));
        ran
    };
    fill(12, WAGTAIL);
    verdict(0, 0);
    repository.write("fleet/04.loom", ADRIFT);
    repository.write("fleet/11.loom", ADRIFT);
    let ran = verdict(1, 0);
    assert_eq!(ran.out.matches("error: protection.missing: ").count(), 2, "{ran:#?}");
    // What cannot be judged is told by its share, and once more where all are joined.
    repository.write("fleet/07.loom", BROKEN);
    let ran = verdict(2, 2);
    assert!(ran.out.contains("fleet/07.loom:2:1: error: language.word: "), "{ran:#?}");
    assert!(repository.read("junit.xml").contains("fleet/07.loom"));
    // What is known fails neither way.
    repository.write("fleet/07.loom", WAGTAIL);
    repository.ohmward(&["check", "--write-known", "fleet/known-findings", "fleet"]).ends(0);
    verdict(0, 0);
}

#[test]
fn a_review_tells_what_a_change_does() {
    let files =
        [("boats/wagtail.loom", WAGTAIL), ("boats/Möwe 2.loom", ADRIFT), ("boats/same.loom", WAGTAIL)];
    let Some(repository) = Repository::new(&files) else { return };
    repository.commit("v1");
    repository.write("boats/wagtail.loom", &WAGTAIL.replace("fuse F4 8 A", "fuse F4 10 A"));
    repository.write("boats/Möwe 2.loom", &ADRIFT.replace("120 W", "90 W"));
    repository.write("notes.txt", "Invented\n");
    repository.commit("v2");
    for folder in [".", "boats"] {
        let ran = repository.script_in(folder, "review.sh", &["v1", "v2"]).ends(0);
        assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
        let review = repository.read("review.md");
        for told in
            ["boats/wagtail.loom", "boats/Möwe 2.loom", "F4 goes from 8 A to 10 A", "from 120 W to 90 W"]
        {
            assert!(review.contains(told), "{told} is not in\n{review}");
        }
        assert!(!review.contains("same.loom") && !review.contains("notes"), "{review}");
        fs::remove_file(repository.path("review.md")).unwrap();
    }
    // Nothing changed is nothing to say; what cannot be compared fails, and all else is told.
    repository.script("review.sh", &["v2", "v2"]).ends(0);
    assert_eq!(repository.read("review.md"), "");
    repository.write("boats/same.loom", BROKEN);
    repository.write("boats/wagtail.loom", &WAGTAIL.replace("fuse F4 8 A", "fuse F4 15 A"));
    repository.write("boats/new.loom", WAGTAIL);
    repository.write("parts.loom", "library parts \"Invented\"\n");
    fs::remove_file(repository.path("boats/Möwe 2.loom")).unwrap();
    repository.commit("v3");
    repository.script("review.sh", &["v2", "v3"]).ends(2);
    let review = repository.read("review.md");
    assert!(review.contains("`boats/same.loom` cannot be compared:\n\n```text\n"), "{review}");
    assert!(review.contains("language.word") && review.contains("F4 goes from 10 A to 15 A"), "{review}");
    assert!(review.contains("`boats/new.loom` is new.\n"), "{review}");
    assert!(review.contains("`boats/Möwe 2.loom` is taken away.\n"), "{review}");
    repository.write("parts.loom", "library parts \"Invented anew\"\n");
    repository.commit("v4");
    repository.script("review.sh", &["v3", "v4"]).ends(0);
    assert_eq!(repository.read("review.md"), "`parts.loom` is a library, and is changed.\n\n");
    // What the base has changed since is no part of the change.
    repository.git(&["checkout", "-q", "-f", "-b", "branch", "v1"]).ends(0);
    repository.write("boats/same.loom", &WAGTAIL.replace("fuse F4 8 A", "fuse F4 5 A"));
    repository.commit("other");
    repository.script("review.sh", &["v4", "other"]).ends(0);
    let review = repository.read("review.md");
    assert!(review.contains("F4 goes from 8 A to 5 A") && !review.contains("wagtail.loom"), "{review}");
    let ran = repository.script("review.sh", &["v2", "v9"]);
    assert!(ran.code != Some(0) && ran.err.contains("v9"), "{ran:#?}");
}

#[test]
fn the_hook_judges_what_is_about_to_be_committed() {
    let Some(repository) = Repository::new(&[("old.loom", ADRIFT)]) else { return };
    repository.commit("v1");
    let hook = repository.path(".git/hooks/pre-commit");
    fs::create_dir_all(hook.parent().unwrap()).unwrap();
    fs::copy(script("pre-commit"), hook).unwrap();
    let commit = |add: &str| {
        repository.git(&["add", add]).ends(0);
        repository.git(&["commit", "-q", "-m", "next"])
    };
    // Where no design changes nothing is judged.
    repository.write("notes.txt", "Invented\n");
    let ran = commit("notes.txt").ends(0);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    repository.write("boats/wag tail.loom", WAGTAIL);
    let ran = commit("boats");
    assert_ne!(ran.code, Some(0), "old.loom is judged too: {ran:#?}");
    // What is known stops nothing.
    repository.ohmward(&["check", "--write-known", "known.jsonl"]).ends(0);
    commit(".").ends(0);
    repository.write("boats/adrift.loom", ADRIFT);
    let ran = commit("boats");
    assert_ne!(ran.code, Some(0), "{ran:#?}");
    let told = ran.out.clone() + &ran.err;
    assert!(told.contains("boats/adrift.loom:4:6: error: protection.missing: "), "{ran:#?}");
    assert!(!told.contains("old.loom"), "{ran:#?}");
    assert_eq!(repository.git(&["status", "--porcelain"]).ends(0).out, "A  boats/adrift.loom\n");
    // A new name does not hide a design.
    repository.git(&["mv", "old.loom", "renamed.loom"]).ends(0);
    let ran = repository.git(&["commit", "-q", "-m", "next"]);
    assert_ne!(ran.code, Some(0), "{ran:#?}");
    repository.git(&["mv", "renamed.loom", "old.loom"]).ends(0);
    // A design that is taken away is none to judge.
    repository.git(&["rm", "-q", "--cached", "boats/adrift.loom", "old.loom"]).ends(0);
    repository.git(&["commit", "-q", "-m", "gone"]).ends(0);
}

/// What is judged is what is staged, whatever lies in the working tree, and a library that breaks a design that stays.
#[test]
fn the_hook_judges_the_staged_text_of_all_designs() {
    let part = "library parts \"Invented\"\npart f is fuse 15 A blade volts 32 V breaks 1 kA\n";
    let uses = "design lamp \"Invented\"\nuse \"parts.loom\"\nassume insulation 105 C\n\
        battery b agm 12 V 80 Ah fault 700 A full 14.4 V\nload l 12 V 60 W\nfuse F = f\n\
        wire W1 from b.+ to F.line 2.5 mm2 0.1 m red\nwire W2 from F.load to l.+ 1.5 mm2 1 m red\n\
        wire W3 from l.- to b.- 1.5 mm2 1 m black\n";
    let Some(repository) =
        Repository::new(&[("parts.loom", part), ("boats/lamp.loom", &uses.replace("parts.", "../parts."))])
    else {
        return;
    };
    repository.ohmward(&["check"]).ends(0);
    repository.commit("v1");
    let hook = repository.path(".git/hooks/pre-commit");
    fs::create_dir_all(hook.parent().unwrap()).unwrap();
    fs::copy(script("pre-commit"), hook).unwrap();
    let commit = || repository.git(&["commit", "-q", "-m", "next"]);
    repository.write("adrift.loom", ADRIFT);
    repository.git(&["add", "-A"]).ends(0);
    repository.write("adrift.loom", WAGTAIL);
    let ran = commit();
    assert!(
        ran.code != Some(0) && (ran.out + &ran.err).contains("adrift.loom:4:6: error: protection.missing: ")
    );
    repository.git(&["add", "-A"]).ends(0);
    repository.write("adrift.loom", ADRIFT);
    commit().ends(0);
    repository.git(&["checkout", "-q", "."]).ends(0);
    // What is only announced is not committed, and what a sparse checkout leaves out is.
    repository.write("notes.loom", "");
    repository.git(&["add", "-N", "notes.loom"]).ends(0);
    repository.git(&["update-index", "--skip-worktree", "parts.loom"]).ends(0);
    repository.write("wagtail.loom", WAGTAIL);
    repository.git(&["add", "wagtail.loom"]).ends(0);
    commit().ends(0);
    repository.git(&["update-index", "--no-skip-worktree", "parts.loom"]).ends(0);
    repository.git(&["rm", "-q", "--cached", "notes.loom"]).ends(0);
    fs::remove_file(repository.path("notes.loom")).unwrap();
    repository.write("parts.loom", &part.replace("15 A", "40 A"));
    repository.git(&["add", "-A"]).ends(0);
    let ran = commit();
    assert!(ran.code != Some(0) && (ran.out.clone() + &ran.err).contains("boats/lamp.loom:"), "{ran:#?}");
}

/// The framework starts the words of `entry`, with the names of files after them unless it is told not to.
#[test]
fn hooks_of_the_framework_start_what_there_is() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = fs::read_to_string(root.join(".pre-commit-hooks.yaml")).unwrap();
    let values = |key: &str| -> Vec<String> {
        let rows = text.lines().filter_map(|line| line.trim_start_matches(['-', ' ']).strip_prefix(key));
        rows.filter_map(|rest| rest.strip_prefix(": ")).map(str::to_owned).collect()
    };
    assert_eq!(values("id"), ["ohmward-check", "ohmward-tidy"]);
    // `language: rust` installs this crate's binary and starts it.
    assert_eq!(values("language"), ["rust", "rust"]);
    assert_eq!(values("files"), [r"\.(loom|toml)$", r"\.loom$"]);
    // All designs are judged, whichever changes; those that change are laid out.
    assert_eq!(values("pass_filenames"), ["false"]);
    let untidy = WAGTAIL.replace("fuse F1 40 A", "fuse F1   40A");
    let bench = Bench::new(&[("a.loom", untidy.as_bytes()), ("b/c d.loom", WAGTAIL.as_bytes())]);
    let entries = values("entry");
    assert_eq!(entries.len(), 2);
    for entry in entries {
        let mut words = entry.split(' ');
        assert_eq!(words.next(), Some("ohmward"), "{entry}");
        let names: &[&str] = if entry.ends_with("check") { &[] } else { &["a.loom", "b/c d.loom"] };
        let arguments: Vec<&str> = words.chain(names.iter().copied()).collect();
        bench.run(&arguments).ends(0);
    }
    let laid = fs::read_to_string(bench.path("a.loom")).unwrap();
    assert!(laid.contains("fuse F1 40 A "), "tidied: {laid}");
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes()), ("b.loom", WAGTAIL.as_bytes())]);
    bench.run(&["check", "a.loom", "b.loom"]).ends(1);
}
