//! Findings that are known: accepted today, told when they are gone, and only what is new fails.

use std::fs;

use serde_json::Value;

use super::{ADRIFT, Bench, WAGTAIL};

const HEAD: &str = "{\"ohmward\":\"known findings\",\"version\":1}\n";

/// The pump with a second bare wire.
fn worse() -> String {
    format!(
        "{ADRIFT}load lamp 12 V 36 W\nwire W3 from house.+ to lamp.+ 2.5 mm2 1 m red\n\
             wire W4 from lamp.- to house.- 2.5 mm2 1 m black\n"
    )
}

fn fleet() -> Bench {
    Bench::new(&[
        ("boats/adrift.loom", ADRIFT.as_bytes()),
        ("boats/wagtail.loom", WAGTAIL.as_bytes()),
        ("vans/a b.loom", ADRIFT.as_bytes()),
        ("lists/x.txt", b""),
    ])
}

fn list(bench: &Bench) -> Vec<String> {
    let text = fs::read_to_string(bench.path("lists/known.jsonl")).unwrap();
    assert!(text.starts_with(HEAD), "{text}");
    text.lines().skip(1).map(str::to_owned).collect()
}

fn known(findings: &Value) -> usize {
    findings.as_array().unwrap().iter().filter(|finding| finding["known"] == true).count()
}

#[test]
fn what_is_known_does_not_fail_and_what_is_new_does() {
    let bench = fleet();
    bench.run(&["check", "--fail-at", "advice"]).ends(1);
    let ran = bench.run(&["check", "--write-known", "lists/known.jsonl", "--fail-at", "advice"]).ends(0);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    let rows = list(&bench);
    assert!(
        rows.contains(&"[\"../boats/adrift.loom\",\"protection.missing\",\"W1\",1]".to_owned()),
        "{rows:#?}"
    );
    assert!(rows.iter().any(|row| row.starts_with("[\"../vans/a b.loom\",")), "{rows:#?}");
    let mut sorted = rows.clone();
    sorted.sort();
    assert_eq!(rows, sorted);
    let held = ["check", "--known", "lists/known.jsonl", "--fail-at", "advice"];
    let ran = bench.run(&held).ends(0);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    let human = bench.run(&[&held[..], &["--as", "human"]].concat()).ends(0);
    assert!(human.out.contains(&format!("{} known", rows.len())), "{human:#?}");

    fs::write(bench.path("boats/adrift.loom"), worse()).unwrap();
    let ran = bench.run(&held).ends(1);
    assert!(ran.out.contains("boats/adrift.loom:7:6: error: protection.missing: W3 "), "{ran:#?}");
    assert!(!ran.out.contains(" W1 "), "{ran:#?}");
    let document = bench.run(&[&held[..], &["--as", "json"]].concat()).ends(1).json();
    assert_eq!(
        document["summary"]["known"],
        known(&document["designs"][0]["findings"])
            + known(&document["designs"][1]["findings"])
            + known(&document["designs"][2]["findings"])
    );
    assert_eq!(document["stale"], serde_json::json!([]));
    let log = bench.run(&[&held[..], &["--as", "sarif"]].concat()).ends(1).json();
    for result in log["runs"][0]["results"].as_array().unwrap() {
        let suppressions = result["suppressions"].as_array().unwrap();
        match result["baselineState"].as_str().unwrap() {
            "unchanged" => assert_eq!(suppressions[0]["kind"], "external"),
            state => assert_eq!((state, suppressions.len()), ("new", 0)),
        }
    }
    let told = bench.run(&[&held[..], &["--as", "junit"]].concat()).ends(1);
    assert_eq!(told.out.matches("<skipped ").count(), rows.len());
}

#[test]
fn edits_elsewhere_change_nothing() {
    let bench = fleet();
    bench.run(&["check", "--write-known", "lists/known.jsonl"]).ends(0);
    let before = list(&bench);
    let edited = format!("# first\n\n{}", ADRIFT.replace("load ", "\n# the pump\nload   "));
    fs::write(bench.path("boats/adrift.loom"), edited).unwrap();
    let ran = bench.run(&["check", "--known", "lists/known.jsonl", "--fail-at", "advice"]).ends(0);
    assert_eq!(ran.err, "");
    bench.run(&["check", "--write-known", "lists/known.jsonl"]).ends(0);
    assert_eq!(list(&bench), before);
}

#[test]
fn paths_are_those_from_the_list_in_any_folder() {
    let bench = fleet();
    bench.run(&["check", "--write-known", "lists/known.jsonl"]).ends(0);
    let before = list(&bench);
    for (folder, arguments) in [
        ("boats", ["check", ".", "../vans", "--known", "../lists/known.jsonl"]),
        ("lists", ["check", "../boats", "../vans/a b.loom", "--known", "known.jsonl"]),
        ("lists", ["check", "../boats", "../vans/a b.loom", "--write-known", "known.jsonl"]),
    ] {
        let mut command = bench.command(&arguments);
        let ran = super::Ran::of(
            command.current_dir(bench.path(folder)).args(["--fail-at", "advice"]).output().unwrap(),
        );
        assert_eq!(ran.ends(0).err, "");
        assert_eq!(list(&bench), before);
    }
}

#[test]
fn what_is_no_longer_found_is_told_and_fails_nothing() {
    let bench = fleet();
    bench.run(&["check", "--write-known", "lists/known.jsonl"]).ends(0);
    fs::write(bench.path("vans/a b.loom"), WAGTAIL).unwrap();
    fs::remove_file(bench.path("boats/adrift.loom")).unwrap();
    let held =
        ["check", "--known", "lists/known.jsonl", "--fail-at", "advice", "--without", "unknown.rating"];
    let ran = bench.run(&held).ends(0);
    assert!(
        ran.err.contains(": no longer found: protection.missing on W1 in ../vans/a b.loom\n"),
        "{ran:#?}"
    );
    assert!(
        ran.err.contains(": no longer found: protection.missing on W1 in ../boats/adrift.loom\n"),
        "{ran:#?}"
    );
    let lines: Vec<&str> = ran.err.lines().collect();
    let rows = list(&bench);
    for line in &lines {
        let at: usize = line.split(':').nth(2).unwrap().parse().unwrap();
        let row = &rows[at - 2];
        assert!(row.contains("protection") || row.contains("adrift"), "{line}: {row}");
    }
    let document = bench.run(&[&held[..], &["--as", "json"]].concat()).ends(0).json();
    assert_eq!(document["stale"].as_array().unwrap().len(), lines.len());
    let log = bench.run(&[&held[..], &["--as", "sarif"]].concat()).ends(0).json();
    let told = &log["runs"][0]["invocations"][0]["toolConfigurationNotifications"];
    assert_eq!(told.as_array().unwrap().len(), lines.len());
    // A rule or a design that was not judged may well have it still.
    let ran =
        bench.run(&["check", "vans", "--known", "lists/known.jsonl", "--only", "protection.missing"]).ends(0);
    assert!(!ran.err.contains("unknown.rating on pump in ../vans"), "{ran:#?}");
    fs::write(bench.path("boats/adrift.loom"), ADRIFT).unwrap();
    let ran = bench.run(&["check", "vans", "--known", "lists/known.jsonl"]).ends(0);
    assert!(!ran.err.contains("boats"), "{ran:#?}");
}

#[test]
fn writing_keeps_what_was_not_judged() {
    let bench = fleet();
    bench.run(&["check", "--write-known", "lists/known.jsonl"]).ends(0);
    let before = list(&bench);
    fs::write(bench.path("vans/a b.loom"), worse()).unwrap();
    bench
        .run(&["check", "vans", "--write-known", "lists/known.jsonl", "--only", "protection.missing"])
        .ends(0);
    let rows = list(&bench);
    assert_eq!(rows.len(), before.len() + 1, "{rows:#?}");
    assert!(before.iter().all(|row| rows.contains(row)), "{rows:#?}");
    // What cannot be judged is not known to be gone either.
    fs::write(bench.path("vans/a b.loom"), worse().replace("load ", "laod ")).unwrap();
    let ran = bench.run(&["check", "--write-known", "lists/known.jsonl"]).ends(2);
    assert!(ran.out.contains("language."), "{ran:#?}");
    assert_eq!(list(&bench), rows);
    assert_eq!(bench.run(&["check", "--known", "lists/known.jsonl"]).ends(2).err, "");
    fs::remove_file(bench.path("vans/a b.loom")).unwrap();
    bench.run(&["check", "boats", "--write-known", "lists/known.jsonl"]).ends(0);
    assert!(list(&bench).iter().all(|row| row.contains("boats")));
}

#[test]
fn a_waived_finding_is_not_put_on_the_list() {
    let waived = format!("{ADRIFT}waive protection.missing on W1 because \"May\" until 2027-03-31\n");
    let bench = Bench::new(&[("a.loom", waived.as_bytes())]);
    bench.run(&["check", "--write-known", "known.jsonl", "--today", "2026-06-01"]).ends(0);
    let text = fs::read_to_string(bench.path("known.jsonl")).unwrap();
    assert!(!text.contains("protection.missing") && text.contains("unknown.rating"), "{text}");
    let document =
        bench.run(&["check", "--known", "known.jsonl", "--as", "json", "--today", "2026-06-01"]).json();
    assert_eq!(document["summary"]["waived"], 1);
}

#[test]
fn standard_input_can_be_known() {
    let bench = Bench::new(&[]);
    bench.run_with(&["check", "-", "--write-known", "known.jsonl"], ADRIFT.as_bytes()).ends(0);
    let ran =
        bench.run_with(&["check", "-", "--known", "known.jsonl", "--fail-at", "advice"], ADRIFT.as_bytes());
    assert_eq!(ran.ends(0).err, "");
}

#[test]
fn what_is_no_list_is_refused_and_left_alone() {
    let bench = Bench::new(&[
        ("a.loom", ADRIFT.as_bytes()),
        ("empty.jsonl", b""),
        ("bytes.jsonl", b"\xff\xfe"),
        ("other.jsonl", b"{\"tool\": {}}\n"),
        ("ours.jsonl", format!("{HEAD}<<<<<<< ours\n").as_bytes()),
        ("odd.jsonl", format!("{HEAD}[1]\n").as_bytes()),
        ("folder/x", b""),
    ]);
    for (name, says) in [
        ("none.jsonl", "there is no such file"),
        ("empty.jsonl", "it is no list of known findings"),
        ("bytes.jsonl", "it is no text in UTF-8"),
        ("other.jsonl", "it is no list of known findings"),
        ("a.loom", "it is no list of known findings"),
        ("ours.jsonl", "line 2 is a mark of a merge with conflicts"),
        ("odd.jsonl", "line 2 is no finding"),
        ("folder", "it is a folder, not a file"),
    ] {
        let ran = bench.run(&["check", "a.loom", "--known", name]).ends(2);
        assert!(ran.err.starts_with(&format!("error: {name} cannot be read: {says}")), "{ran:#?}");
        assert_eq!(ran.out, "");
    }
    for name in ["bytes.jsonl", "other.jsonl", "ours.jsonl"] {
        let before = fs::read(bench.path(name)).unwrap();
        let ran = bench.run(&["check", "a.loom", "--write-known", name]).ends(2);
        assert!(ran.err.contains(&format!("{name} cannot be written: ")), "{ran:#?}");
        assert_eq!(fs::read(bench.path(name)).unwrap(), before);
    }
    bench.run(&["check", "a.loom", "--write-known", "empty.jsonl"]).ends(0);
    assert!(fs::read_to_string(bench.path("empty.jsonl")).unwrap().starts_with(HEAD));
}

#[test]
fn a_list_that_cannot_be_written_is_told() {
    let bench =
        Bench::new(&[("a.loom", ADRIFT.as_bytes()), ("locked.jsonl", HEAD.as_bytes()), ("folder/x", b"")]);
    let mut permissions = fs::metadata(bench.path("locked.jsonl")).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(bench.path("locked.jsonl"), permissions).unwrap();
    for (name, why) in [
        ("locked.jsonl", "it is read-only"),
        ("folder", "it is a folder"),
        ("none/x.jsonl", "there is no folder none"),
    ] {
        let ran = bench.run(&["check", "a.loom", "--write-known", name]).ends(2);
        assert_eq!(ran.err, format!("error: {name} cannot be written: {why}\n"));
        assert_eq!(ran.out, "");
    }
    assert_eq!(fs::read_to_string(bench.path("locked.jsonl")).unwrap(), HEAD);
    assert_eq!(fs::read_dir(bench.folder.path()).unwrap().count(), 3);
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes())]);
    let ran = bench.run(&["check", "a.loom", "--write-known", "/dev/full"]).ends(2);
    let why = "the disk is full; what was told as known is on no list";
    assert_eq!(ran.err, format!("error: /dev/full cannot be written: {why}\n"));
    assert!(std::process::Command::new("mkfifo").arg(bench.path("pipe")).status().unwrap().success());
    let ran = bench.run(&["check", "a.loom", "--write-known", "pipe"]).ends(2);
    assert_eq!(ran.err, "error: pipe cannot be written: it is a pipe, which keeps no list\n");
}
