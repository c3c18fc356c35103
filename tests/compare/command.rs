//! The command with files: exit codes, streams, what cannot be compared.

use std::path::Path;
use std::process::{Command, Output};

use tempfile::TempDir;

const PUMP: &str = r#"design pump "Pump"
assume insulation 105 C
battery house lead-acid 12 V 100 Ah fault 900 A full 14.4 V
load pump 12 V 60 W
fuse F1 15 A blade volts 32 V breaks 1 kA
wire W1 from house.+ to F1.line 2.5 mm2 0.15 m red
wire W2 from F1.load to pump.+ 2.5 mm2 3 m red
wire W3 from pump.- to house.- 2.5 mm2 3 m black
"#;

/// A folder with an old, a new and a wrong design in it.
fn bench() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let worse = PUMP.replace("F1 15 A", "F1 60 A");
    for (name, text) in [
        ("old.loom", PUMP),
        ("new.loom", &worse),
        ("wrong.loom", &PUMP.replace("2.5 mm2 3 m red", "2.5 mm 3 m red")),
        ("lib.loom", "library l \"L\"\npart lamp is load 12 V 5 W\n"),
    ] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn run(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
    command.current_dir(folder).arg("compare").args(arguments).args(["--today", super::TODAY]);
    let Output { status, stdout, stderr } = command.output().unwrap();
    (status.code(), String::from_utf8(stdout).unwrap(), String::from_utf8(stderr).unwrap())
}

#[test]
fn two_files() {
    let folder = bench();
    let (code, out, err) = run(folder.path(), &["old.loom", "new.loom"]);
    assert_eq!((code, err.as_str()), (Some(0), ""));
    assert!(out.contains("  F1 goes from 15 A to 60 A\n"), "{out}");
    assert!(out.contains("[protection.oversize]\n    at new.loom:7:6\n"), "{out}");
    let (code, out, _) = run(folder.path(), &["old.loom", "old.loom"]);
    assert_eq!((code, out.as_str()), (Some(0), "nothing has changed from old.loom to old.loom\n"));
}

#[test]
fn the_exit_code_can_follow_what_was_gained() {
    let folder = bench();
    for (arguments, code) in [
        (["old.loom", "new.loom", "--fail-at", "error"], 1),
        (["old.loom", "new.loom", "--fail-at", "advice"], 1),
        (["old.loom", "new.loom", "--fail-at", "never"], 0),
        (["new.loom", "old.loom", "--fail-at", "error"], 0),
        (["old.loom", "old.loom", "--fail-at", "advice"], 0),
    ] {
        assert_eq!(run(folder.path(), &arguments).0, Some(code), "{arguments:?}");
    }
}

#[test]
fn what_cannot_be_compared() {
    let folder = bench();
    for (arguments, said) in [
        (["old.loom", "wrong.loom"], "language.unit"),
        (["wrong.loom", "old.loom"], "language.unit"),
        (["old.loom", "none.loom"], "none.loom was not judged"),
        (["old.loom", "lib.loom"], "it is a library: it has no wiring to compare"),
        (["lib.loom", "lib.loom"], "it is a library"),
    ] {
        let (code, out, _) = run(folder.path(), &arguments);
        assert_eq!(code, Some(2), "{arguments:?}: {out}");
        assert!(out.contains(said), "{arguments:?}: {out}");
        let (code, out, _) = run(folder.path(), &[arguments[0], arguments[1], "--as", "json"]);
        let document: serde_json::Value = serde_json::from_str(&out).unwrap();
        assert_eq!(code, Some(2));
        assert!(document["designs"].as_array().is_some_and(|designs| !designs.is_empty()), "{out}");
    }
    for (arguments, said) in [
        (&["old.loom"][..], "required"),
        (&["-", "-"], "standard input can be one of the two designs, not both"),
        (&["old.loom", "new.loom", "--git", "a..b"], "cannot be used with"),
    ] {
        let (code, out, err) = run(folder.path(), arguments);
        assert_eq!((code, out.as_str()), (Some(2), ""), "{arguments:?}: {err}");
        assert!(err.contains(said), "{arguments:?}: {err}");
    }
}

#[test]
fn to_a_file_and_by_another_book() {
    let folder = bench();
    let (code, out, _) = run(folder.path(), &["old.loom", "new.loom", "--as", "markdown", "-o", "review.md"]);
    assert_eq!((code, out.as_str()), (Some(0), ""));
    let review = std::fs::read_to_string(folder.path().join("review.md")).unwrap();
    assert!(review.starts_with("### Wiring of pump\n"), "{review}");
    let (code, _, _) = run(folder.path(), &["old.loom", "new.loom", "--book", "small-craft-us"]);
    assert_eq!(code, Some(0));
    let (code, out, err) = run(folder.path(), &["old.loom", "new.loom", "--book", "none"]);
    assert_eq!((code, out.as_str()), (Some(2), ""));
    assert!(err.starts_with("error: there is no book none; "), "{err}");
}
