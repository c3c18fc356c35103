//! `--cache`: what is told is the same with it and without, whatever has happened to it.

use std::collections::BTreeMap;
use std::fs;
use std::os::unix::fs::MetadataExt;
use std::process::{Child, Stdio};

use super::{ADRIFT, Bench, Ran, WAGTAIL, each_file};

const DAY: [&str; 2] = ["--today", "2026-06-01"];

fn check(bench: &Bench, more: &[&str]) -> Ran {
    bench.run(&[&["check", DAY[0], DAY[1]][..], more].concat())
}

fn cached(bench: &Bench, more: &[&str]) -> Ran {
    check(bench, &[&["--cache", "kept"][..], more].concat())
}

#[track_caller]
fn same(one: &Ran, other: &Ran) {
    assert_eq!((one.code, &one.out, &one.err), (other.code, &other.out, &other.err));
}

/// The entries of a cache, with the number of the file that holds each: an entry that is written again has another.
fn entries(bench: &Bench) -> BTreeMap<String, u64> {
    let mut entries = BTreeMap::new();
    each_file(&bench.path("kept"), &mut |path| {
        let name = path.strip_prefix(bench.path("kept")).unwrap().to_str().unwrap();
        if name != "CACHEDIR.TAG" {
            entries.insert(name.to_owned(), fs::metadata(path).unwrap().ino());
        }
    });
    entries
}

/// Names of entries that are new or were written again.
fn written(before: &BTreeMap<String, u64>, now: &BTreeMap<String, u64>) -> usize {
    now.iter().filter(|(name, file)| before.get(*name) != Some(file)).count()
}

#[test]
fn in_every_form_the_same_as_without() {
    let bench = Bench::of_samples();
    for form in [
        &["--as", "human"][..],
        &["--as", "lines"],
        &["--as", "json"],
        &["--as", "json", "--explain-all"],
        &["--as", "sarif"],
        &["--as", "junit"],
        &["--as", "lines", "--only", "protection.missing"],
        &["--as", "lines", "--without", "protection.missing"],
        &["--as", "json", "--book", "small-craft-us"],
        &["--as", "json", "--book", "house/house.toml"],
        &["--as", "sarif", "--book", "house/house.toml", "--jobs", "1"],
    ] {
        let arguments = [&["samples"][..], form].concat();
        let without = check(&bench, &arguments).ends(2);
        same(&cached(&bench, &arguments), &without);
        let filled = entries(&bench);
        same(&cached(&bench, &arguments), &without);
        assert_eq!(written(&filled, &entries(&bench)), 0, "{form:?}: everything was kept");
    }
}

#[test]
fn what_a_judgement_was_made_from_is_looked_at_again() {
    let kits = "library kits \"Invented\"\nkit lamp (at: terminal) {\n  load lamp 12 V 6 W\n  wire P from $at to lamp.+ 1.5 mm2 1 m red\n}\n";
    let design = |name: &str| {
        format!(
            "design {name} \"Invented\"\nuse \"kits.loom\"\nbook house.toml\nbattery house lifepo4 12 V 200 Ah fault 5 kA\n\
             fit lamp as first (at = house.+)\nwire N from first/lamp.- to house.- 1.5 mm2 1 m black\n"
        )
    };
    let house = "title = \"Invented\"\nbased-on = \"common-practice\"\n";
    let files = [
        ("kits.loom", kits.to_owned()),
        ("house.toml", house.to_owned()),
        ("a.loom", design("a")),
        ("b.loom", design("b")),
        ("c.loom", ADRIFT.to_owned()),
    ];
    let files: Vec<(&str, &[u8])> = files.iter().map(|(name, text)| (*name, text.as_bytes())).collect();
    let bench = Bench::new(&files);
    let first = cached(&bench, &[]);
    same(&first, &check(&bench, &[]));
    // Each change, and how many files are looked at again for it; a library is one that has nothing to judge.
    let longer = kits.replace("1 m red", "9 m red");
    let looser = format!(
        "{house}\n[limits]\n\"drop.critical\" = {{ value = 99, source = \"invented\", confidence = \"common-practice\" }}\n"
    );
    let changes: [(&str, Option<&str>, usize); 6] = [
        ("kits.loom", Some(&longer), 3),
        ("house.toml", Some(&looser), 2),
        ("c.loom", Some(WAGTAIL), 1),
        ("house.toml", None, 2),
        ("kits.loom", None, 2),
        ("kits.loom", Some(kits), 3),
    ];
    for (file, text, again) in changes {
        let before = entries(&bench);
        match text {
            Some(text) => fs::write(bench.path(file), text).unwrap(),
            None => fs::remove_file(bench.path(file)).unwrap(),
        }
        let ran = cached(&bench, &[]);
        same(&ran, &check(&bench, &[]));
        assert_eq!(written(&before, &entries(&bench)), again, "{file} {text:?}\n{}", ran.out);
    }
}

#[test]
fn waivers_end_on_their_day() {
    let waived = format!("{ADRIFT}waive protection.missing on W1 because \"a bench\" until 2026-06-30\n");
    let bench = Bench::new(&[("a.loom", waived.as_bytes())]);
    let on = |day: &str| ["--today", day, "--as", "json"].map(str::to_owned);
    for day in ["2026-06-01", "2026-06-30", "2026-07-01", "2026-06-30", "2027-01-01"] {
        let arguments = on(day);
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let without = bench.run(&[&["check"][..], &arguments].concat());
        let with = bench.run(&[&["check", "--cache", "kept"][..], &arguments].concat());
        same(&with, &without);
        assert_eq!(with.out.contains("waiver.expired"), "2026-06-30" < day, "{day}");
    }
}

#[test]
fn a_damaged_cache_is_judged_anew() {
    let bench = Bench::of_samples();
    let arguments = ["samples", "--as", "json"];
    let without = check(&bench, &arguments);
    cached(&bench, &arguments);
    for (number, name) in entries(&bench).into_keys().enumerate() {
        let path = bench.path("kept").join(name);
        let bytes = fs::read(&path).unwrap();
        match number % 6 {
            0 => fs::write(&path, b"").unwrap(),
            1 => fs::write(&path, &bytes[..bytes.len() / 2]).unwrap(),
            2 => fs::write(&path, b"ohmward judgement\nnot one").unwrap(),
            3 => fs::write(&path, [&bytes[..], b"more"].concat()).unwrap(),
            4 => {
                let mut bytes = bytes;
                let middle = bytes.len() / 2;
                bytes[middle] ^= 1;
                fs::write(&path, bytes).unwrap();
            }
            _ => {
                fs::remove_file(&path).unwrap();
                fs::create_dir(&path).unwrap();
            }
        }
    }
    let ran = cached(&bench, &arguments);
    assert_eq!((ran.code, &ran.out), (without.code, &without.out));
    // Folders that stand where entries belong are told, and left; all else is mended.
    let note = ran.err.lines().find(|line| line.starts_with("note: the cache kept could not keep ")).unwrap();
    assert!(note.ends_with("they are judged again in the next run"), "{note}");
    let mended = entries(&bench);
    cached(&bench, &arguments);
    assert_eq!(written(&mended, &entries(&bench)), 0);
}

#[test]
fn a_cache_that_cannot_be_used_fails_nothing() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes()), ("file", b"")]);
    let without = check(&bench, &["a.loom"]).ends(1);
    for folder in ["file", "file/below", "a.loom"] {
        let ran = check(&bench, &["a.loom", "--cache", folder]).ends(1);
        assert_eq!(ran.out, without.out);
        assert!(ran.err.starts_with(&format!("note: the cache {folder} cannot be used: ")), "{ran:#?}");
        assert!(ran.err.ends_with("; everything is judged anew\n"), "{ran:#?}");
    }
    assert_eq!(fs::read(bench.path("file")).unwrap(), b"", "a file in the way is left alone");
    assert_eq!(fs::read(bench.path("a.loom")).unwrap(), ADRIFT.as_bytes());
}

#[test]
fn a_full_disk_under_the_cache_fails_nothing() {
    let bench = Bench::of_samples();
    let without = check(&bench, &["samples", "--as", "json"]);
    fs::create_dir(bench.path("kept")).unwrap();
    // A disk of a few pages, in a world of its own.
    let script =
        "mount -t tmpfs -o size=32k none kept && exec \"$0\" check samples --as json --cache kept \"$@\"";
    let ran = std::process::Command::new("unshare")
        .args([
            "--map-root-user",
            "--mount",
            "sh",
            "-c",
            script,
            env!("CARGO_BIN_EXE_ohmward"),
            DAY[0],
            DAY[1],
        ])
        .current_dir(bench.folder.path())
        .output();
    let ran = match ran {
        Ok(ran) => Ran::of(ran),
        Err(error) => return println!("skipped: unshare does not run here: {error}"),
    };
    if ran.out.is_empty() && !ran.err.contains("note:") {
        return println!("skipped: a disk of its own cannot be had here: {}", ran.err);
    }
    assert_eq!((ran.code, &ran.out), (without.code, &without.out));
    assert!(ran.err.contains("the cache kept could not keep "), "{}", ran.err);
    assert!(ran.err.contains(": the disk is full; they are judged again in the next run"), "{}", ran.err);
}

fn started(bench: &Bench) -> Child {
    let mut command = bench.command(&["check", "samples", "--as", "json", "--cache", "kept", DAY[0], DAY[1]]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap()
}

#[test]
fn several_runs_share_a_cache() {
    let bench = Bench::of_samples();
    let without = check(&bench, &["samples", "--as", "json"]);
    for _ in 0..3 {
        drop(fs::remove_dir_all(bench.path("kept")));
        let runs: Vec<Child> = (0..4).map(|_| started(&bench)).collect();
        for run in runs {
            same(&Ran::of(run.wait_with_output().unwrap()), &without);
        }
        let filled = entries(&bench);
        same(&Ran::of(started(&bench).wait_with_output().unwrap()), &without);
        assert_eq!(written(&filled, &entries(&bench)), 0);
    }
}

#[test]
fn a_run_that_is_killed_spoils_nothing() {
    let bench = Bench::of_samples();
    let without = check(&bench, &["samples", "--as", "json"]);
    for wait in [0, 1, 2, 4, 8, 16, 32, 64] {
        let mut run = started(&bench);
        std::thread::sleep(std::time::Duration::from_millis(wait));
        run.kill().unwrap();
        run.wait().unwrap();
    }
    same(&cached(&bench, &["samples", "--as", "json"]), &without);
    same(&cached(&bench, &["samples", "--as", "json"]), &without);
}

#[test]
fn the_folder_says_what_it_is_and_may_be_deleted() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes())]);
    let first = cached(&bench, &["a.loom"]);
    let tag = fs::read_to_string(bench.path("kept/CACHEDIR.TAG")).unwrap();
    assert!(tag.starts_with("Signature: 8a477f597d28d172789f06886806bc55\n"), "{tag}");
    assert_eq!(entries(&bench).len(), 1);
    fs::remove_dir_all(bench.path("kept")).unwrap();
    same(&cached(&bench, &["a.loom"]), &first);
    // A folder with anything of somebody's own in it is not marked, as backups would pass over that.
    fs::remove_dir_all(bench.path("kept")).unwrap();
    fs::create_dir(bench.path("kept")).unwrap();
    fs::write(bench.path("kept/mine.txt"), "Invented").unwrap();
    same(&cached(&bench, &["a.loom"]), &first);
    assert!(!bench.path("kept/CACHEDIR.TAG").exists());
}
