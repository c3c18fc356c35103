//! A generated fleet through the binary: the planted faults are found, all of them, and nothing else is.

mod generate;
mod planted;
mod told;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use generate::{Expected, Fleet, LIBRARIES, TODAY};
use ohmward::check::{Options, check};
use ohmward::design::Date;
use ohmward::text::MemoryFiles;
use planted::FAULTS;

/// Small enough for every run of the tests; three of each kind of fault, or nearly.
const SMALL: Fleet = Fleet { seed: 7, n_designs: 300, one_faulty_in: 2 };

/// What the bench judges, and what is written for measurements by hand.
const LARGE: Fleet = Fleet { seed: 7, n_designs: 10_000, one_faulty_in: 50 };

/// Runs the binary in a folder.
fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
    command.current_dir(folder).args(arguments).env_remove("COLUMNS").stdin(Stdio::null());
    command.output().unwrap()
}

/// Judges all of a folder, with more arguments, as JSON.
fn judged(folder: &Path, more: &[&str]) -> Vec<u8> {
    let output = run(folder, &[&["check", "--as", "json", "--today", TODAY][..], more].concat());
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(matches!(output.status.code(), Some(0..=2)), "{:?}: {err}", output.status);
    output.stdout
}

#[test]
fn planted_faults_are_found_and_none_invented() {
    let folder = tempfile::tempdir().unwrap();
    let expected = SMALL.write(folder.path()).unwrap();
    let kinds = SMALL.kinds();
    for fault in FAULTS {
        assert!(kinds.contains(fault.kind), "not planted: {}", fault.kind);
    }
    let whole = judged(folder.path(), &[]);
    let (files, found) = told::told(&whole);
    assert_eq!(files.len(), SMALL.n_designs);
    told::exactly(&found, &expected);

    for jobs in ["1", "2", "7"] {
        assert!(judged(folder.path(), &["--jobs", jobs]) == whole, "--jobs {jobs} tells something else");
    }
    let mut join = vec!["check", "--join", "1.json", "2.json", "3.json", "--as", "json"];
    for number in 1..=3 {
        let (share, name) = (format!("{number}/3"), format!("{number}.json"));
        judged(folder.path(), &["--share", &share, "-o", &name]);
    }
    let joined = run(folder.path(), &join);
    assert!(joined.stdout == whole, "the join of three shares is not the whole");
    join.remove(3);
    assert!(run(folder.path(), &join).stdout != whole, "a join without one share is the whole");
}

#[test]
fn right_designs_are_told_in_silence() {
    let right = Fleet { n_designs: 200, one_faulty_in: 0, ..SMALL };
    let folder = tempfile::tempdir().unwrap();
    assert!(right.write(folder.path()).unwrap().is_empty());
    let output = run(folder.path(), &["check", "--as", "lines", "--fail-at", "advice", "--today", TODAY]);
    assert_eq!(String::from_utf8_lossy(&output.stdout), "");
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn designs_are_of_60_to_200_elements() {
    let right = Fleet { one_faulty_in: 0, ..SMALL };
    let shared =
        LIBRARIES.iter().fold(MemoryFiles::default(), |files, (file, text)| files.with(*file, *text));
    let options = Options { without_study: true, ..Options::on(Date::from_days(20_605)) };
    let mut sizes: Vec<usize> = Vec::new();
    for at in 0..right.n_designs {
        let made = right.design(at);
        let judgement = check(&made.file, &shared.clone().with(&*made.file, made.text), &options);
        assert!(
            judgement.findings.iter().all(|finding| finding.waived.is_some()),
            "{:?}",
            judgement.findings
        );
        sizes.push(judgement.n_elements);
    }
    sizes.sort_unstable();
    let (least, most) = (sizes[0], sizes[sizes.len() - 1]);
    assert!(60 <= least && most <= 200, "{least} to {most} elements");
    // All of the range is used.
    assert!(least < 75 && 185 < most, "{least} to {most} elements");
}

#[test]
fn a_fleet_follows_from_its_seed() {
    let other = Fleet { seed: 8, ..SMALL };
    for at in [0, 1, 17] {
        assert_eq!(SMALL.design(at).text, SMALL.design(at).text);
        assert_ne!(SMALL.design(at).text, other.design(at).text);
        // A design is the same in a fleet of any size.
        assert_eq!(SMALL.design(at).text, Fleet { n_designs: 20, ..SMALL }.design(at).text);
    }
}

/// One fault in fifty designs, each kind at least four times.
#[test]
#[ignore = "ten thousand designs: a minute or more without optimization; `cargo bench fleet` does the same"]
fn ten_thousand_in_one_run() {
    let folder = tempfile::tempdir().unwrap();
    let expected = LARGE.write(folder.path()).unwrap();
    let (files, found) = told::told(&judged(folder.path(), &[]));
    assert_eq!(files.len(), LARGE.n_designs);
    told::exactly(&found, &expected);
}

/// `OHMWARD_FLEET=DIR cargo test --test main fleet::write -- --ignored` writes the large fleet into a new folder, and what has
/// to be found in it beside it, as `DIR.expected`. `OHMWARD_FLEET_SIZE` is another number of designs.
#[test]
#[ignore = "writes a fleet into the folder that OHMWARD_FLEET names, for measurements by hand"]
fn write() {
    let Some(folder) = std::env::var_os("OHMWARD_FLEET").map(PathBuf::from) else {
        println!("skipped: OHMWARD_FLEET names no folder");
        return;
    };
    assert!(!folder.exists(), "{} is there already", folder.display());
    let n_designs = std::env::var("OHMWARD_FLEET_SIZE").map_or(LARGE.n_designs, |size| size.parse().unwrap());
    let expected = Fleet { n_designs, ..LARGE }.write(&folder).unwrap();
    let lines: String = expected.iter().map(one_line).collect();
    fs::write(folder.with_extension("expected"), lines).unwrap();
}

fn one_line(expected: &Expected) -> String {
    format!("{} {} {}\n", expected.file, expected.rule, expected.subject)
}
