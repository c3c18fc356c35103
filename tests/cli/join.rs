//! Shares of a fleet, and their documents joined.

use std::fs;

use super::{ADRIFT, Bench, WAGTAIL};

const DAY: [&str; 2] = ["--today", "2026-06-01"];

/// Judges all shares of the samples into `0.json`, `1.json` …, and gives their names.
fn shares(bench: &Bench, of: usize, more: &[&str]) -> Vec<String> {
    let mut names = Vec::new();
    for number in 1..=of {
        let (share, name) = (format!("{number}/{of}"), format!("{number}.json"));
        let arguments = ["check", "samples", "--as", "json", "--share", &share, "-o", &name, DAY[0], DAY[1]];
        let ran = bench.run(&[&arguments[..], more].concat());
        assert!(ran.err.starts_with(&format!("note: share {share}: ")), "{ran:#?}");
        names.push(name);
    }
    names
}

fn joined(bench: &Bench, names: &[String], more: &[&str]) -> super::Ran {
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    bench.run(&[&["check", "--join"][..], &names, more].concat())
}

#[test]
fn every_design_is_in_exactly_one_share() {
    let bench = Bench::of_samples();
    let whole = bench.run(&["check", "samples", "--as", "json", DAY[0], DAY[1]]).json();
    let files = |document: &serde_json::Value| -> Vec<String> {
        let designs = document["designs"].as_array().unwrap();
        designs.iter().map(|design| design["file"].as_str().unwrap().to_owned()).collect()
    };
    let mut whole = files(&whole);
    whole.sort();
    for of in [1, 2, 7, 200] {
        let names = shares(&bench, of, &["--only", "conductor.small"]);
        let mut all = Vec::new();
        for name in &names {
            let document = serde_json::from_slice(&fs::read(bench.path(name)).unwrap()).unwrap();
            let share = files(&document);
            assert!(share.len() <= whole.len().div_ceil(of) + 1, "{of}: {}", share.len());
            assert_eq!(document["share"]["of"], of);
            all.extend(share);
        }
        all.sort();
        assert_eq!(all, whole, "{of} shares");
    }
}

#[test]
fn shares_joined_are_the_whole() {
    let bench = Bench::of_samples();
    for more in [&[][..], &["--explain-all"]] {
        let names = shares(&bench, 8, more);
        let arguments = [&["check", "samples", DAY[0], DAY[1]][..], more].concat();
        for form in ["json", "lines", "sarif", "junit"] {
            let whole = bench.run(&[&arguments[..], &["--as", form]].concat()).ends(2);
            let ran = joined(&bench, &names, &["--as", form]).ends(2);
            assert_eq!(ran.out, whole.out, "{form}");
            let mut turned = names.clone();
            turned.reverse();
            assert_eq!(joined(&bench, &turned, &["--as", form]).out, whole.out, "{form}");
        }
    }
}

/// Lists of known findings, house rules and folders without designs come through as well.
#[test]
fn what_stands_beside_the_findings_is_joined_too() {
    let bench = Bench::of_samples();
    let book = ["--book", "samples/house/house.toml"];
    let base = [
        "check",
        "samples/heron.loom",
        "samples/wagtail.loom",
        "samples/faults",
        "samples/house",
        DAY[0],
        DAY[1],
        book[0],
        book[1],
    ];
    fs::remove_file(bench.path("samples/faults/language.syntax.loom")).unwrap();
    bench.run(&[&base[..], &["--write-known", "known.jsonl"]].concat());
    fs::remove_file(bench.path("samples/faults/meter.reversed.loom")).unwrap();
    let base = [&base[..], &["--known", "known.jsonl"]].concat();
    let mut names = Vec::new();
    for number in 1..=3 {
        let (share, name) = (format!("{number}/3"), format!("{number}.json"));
        bench.run(&[&base[..], &["--as", "json", "--share", &share, "-o", &name]].concat());
        names.push(name);
    }
    for form in ["sarif", "lines"] {
        let whole = bench.run(&[&base[..], &["--as", form]].concat());
        let ran = joined(&bench, &names, &["--as", form]);
        let gone = |text: &str| text.matches("no longer found: meter.reversed on ").count();
        assert_eq!((gone(&ran.err), gone(&whole.err)), (1, 1), "{ran:#?} {whole:#?}");
        assert_eq!(ran.code, whole.code);
        let sorted = |text: &str| {
            let mut lines: Vec<String> =
                text.lines().map(|line| line.trim_end_matches(',').to_owned()).collect();
            lines.sort();
            lines
        };
        assert_eq!(sorted(&ran.out), sorted(&whole.out), "{form}");
    }
    let whole = bench.run(&[&base[..], &["--as", "json"]].concat()).json();
    let ran = joined(&bench, &names, &[]).json();
    for key in ["summary", "house_rules", "problems", "stale"] {
        assert_eq!(ran[key], whole[key], "{key}");
    }
    assert!(ran.get("share").is_none());
}

#[test]
fn the_failing_level_is_that_of_the_join() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes()), ("b.loom", WAGTAIL.as_bytes())]);
    bench.run(&["check", "a.loom", "--as", "json", "-o", "1.json"]).ends(1);
    bench.run(&["check", "b.loom", "--as", "json", "-o", "2.json"]).ends(0);
    bench.run(&["check", "--join", "1.json", "2.json"]).ends(1);
    bench.run(&["check", "2.json", "1.json", "--join", "--fail-at", "never"]).ends(0);
    bench.run(&["check", "--join", "2.json"]).ends(0);
    let read = fs::read(bench.path("1.json")).unwrap();
    let ran = bench.run_with(&["check", "--join", "-", "2.json", "--as", "lines"], &read).ends(1);
    assert!(ran.out.contains("a.loom:4:6: error: protection.missing"), "{ran:#?}");
}

#[test]
fn a_document_written_anew_by_another_program_is_joined_all_the_same() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes())]);
    let whole = bench.run(&["check", "--as", "json", "--explain-all"]).ends(1);
    let compact = serde_json::to_string(&whole.json()).unwrap();
    fs::write(bench.path("1.json"), format!("\u{feff}{compact}\r\n")).unwrap();
    assert_eq!(bench.run(&["check", "--join", "1.json"]).ends(1).json(), whole.json());
}

#[test]
fn what_cannot_be_joined_is_told() {
    let bench = Bench::new(&[
        ("a.loom", ADRIFT.as_bytes()),
        ("b.loom", WAGTAIL.as_bytes()),
        ("empty.json", b" \n"),
        ("list.json", b"[1, 2]"),
        ("bytes.json", b"\xff\xfe\x00"),
        ("deep.json", &[b'['; 100_000]),
    ]);
    let text = bench.run(&["check", "--as", "json", "-o", "whole.json"]).ends(1);
    assert_eq!(text.out, "");
    let text = fs::read_to_string(bench.path("whole.json")).unwrap();
    let write = |name: &str, text: &str| fs::write(bench.path(name), text).unwrap();
    write("cut.json", &text[..text.len() / 2]);
    write("schema.json", &text.replace("\"schema\": 1", "\"schema\": 2"));
    write("version.json", &text.replace(env!("CARGO_PKG_VERSION"), "99.0.0"));
    write(
        "tool.json",
        &text
            .replace("{\"name\": \"ohmward\"", "{\"name\": \"other\"")
            .replace("{\"name\":\"ohmward\"", "{\"name\":\"other\""),
    );
    write("key.json", &text.replace("\"help\"", "\"hulp\""));
    write("less.json", &text.replace("\"errors\":", "\"errors\":1"));
    write("rules.json", &bench.run(&["rules", "--as", "json"]).out);
    for number in 1..=3 {
        let (share, name) = (format!("{number}/3"), format!("share{number}.json"));
        bench.run(&["check", "--as", "json", "--share", &share, "-o", &name]);
    }
    bench.run(&["check", "a.loom", "--as", "json", "--share", "2/3", "-o", "other2.json"]);
    bench.run(&["check", "--write-known", "known.jsonl"]).ends(0);
    bench.run(&["check", "--as", "json", "--share", "2/3", "-o", "explained2.json", "--explain-all"]);
    let elsewhere = bench.path(".");
    let elsewhere = elsewhere.to_str().unwrap();
    bench.run(&["check", elsewhere, "--as", "json", "--share", "2/3", "-o", "elsewhere2.json"]);
    for (option, value) in [
        ("only", "protection.missing"),
        ("without", "protection.missing"),
        ("today", "2026-06-01"),
        ("book", "small-craft-iso"),
        ("known", "known.jsonl"),
        ("root", "."),
    ] {
        let (option, name) = (format!("--{option}"), format!("{option}2.json"));
        bench.run(&["check", "--as", "json", "--share", "2/3", "-o", &name, &option, value]);
    }
    for (names, says) in [
        (&["none.json"][..], "none.json cannot be read: there is no such file"),
        (&["."], ". cannot be read: it is a folder, not a file"),
        (&["empty.json"], "empty.json is empty"),
        (&["bytes.json"], "bytes.json is not JSON: "),
        (&["cut.json"], "cut.json is not JSON: "),
        (&["deep.json"], "deep.json is not JSON: "),
        (&["a.loom"], "a.loom is not JSON: "),
        (&["list.json"], "list.json is no document of `ohmward check --as json`"),
        (&["rules.json"], "rules.json is no document of `ohmward check --as json`"),
        (&["tool.json"], "tool.json is no document of `ohmward check --as json`"),
        (&["key.json"], "key.json is no document of `ohmward check --as json`: unknown field `hulp`"),
        (&["schema.json"], "schema.json has the form 2, and form 1 is joined"),
        (&["version.json"], "version.json was written by version 99.0.0"),
        (&["less.json"], "less.json was changed after it was written"),
        (
            &["whole.json", "share1.json", "share2.json", "share3.json"],
            "a.loom is in whole.json and in share1.json",
        ),
        (&["whole.json", "whole.json"], "a.loom is in whole.json twice"),
        (&["share1.json", "share3.json"], "of 3 shares these are missing: 2"),
        (&["share1.json", "share3.json", "share3.json"], "share3.json is share 3/3 once more"),
        (&["share1.json", "other2.json", "share3.json"], "not of one run"),
        (
            &["share1.json", "only2.json", "share3.json"],
            "were judged with different --only: give all shares the same",
        ),
        (&["share1.json", "without2.json", "share3.json"], "with different --without: "),
        (&["share1.json", "today2.json", "share3.json"], "with different --today: "),
        (&["share1.json", "book2.json", "share3.json"], "with different --book: "),
        (&["share1.json", "root2.json", "share3.json"], "with different --root: "),
        (&["share1.json", "known2.json", "share3.json"], "with different --known: "),
        (&["share1.json", "explained2.json", "share3.json"], "with different --explain-all: "),
        (
            &["share1.json", "elsewhere2.json", "share3.json"],
            "are shares of other designs, or by other paths",
        ),
    ] {
        let ran = bench.run(&[&["check", "--join", "-o", "out.json"][..], names].concat()).ends(2);
        assert!(ran.err.starts_with("error: ") && ran.err.contains(says), "{names:?}: {ran:#?}");
        assert_eq!(ran.out, "");
        assert!(!bench.path("out.json").exists());
    }
    let ran = bench.run(&["check", "--join", "whole.json", "--as", "human"]).ends(2);
    assert!(ran.err.contains("choose lines, json, sarif or junit"), "{ran:#?}");
    for wrong in [
        &["check", "--join"][..],
        &["check", "--join", "whole.json", "--share", "1/2"],
        &["check", "--join", "whole.json", "--known", "x"],
        &["check", "--share", "9/8"],
    ] {
        assert!(bench.run(wrong).ends(2).err.contains("error: "), "{wrong:?}");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes())]);
    bench.run(&["check", "--as", "json", "-o", "1.json"]).ends(1);
    let ran = bench.run(&["check", "--join", "1.json", "-o", "/dev/full"]).ends(2);
    assert_eq!(ran.err, "error: /dev/full cannot be written: the disk is full\n");
}
