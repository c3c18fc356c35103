//! What a run writes: never over what it reads, never two outputs into one file, and nothing lost between two runs.

use std::fs;

use super::{ADRIFT, Bench, WAGTAIL};

const KITS: &str = "library kits \"Invented\"\n";
const BOOK: &str = "title = \"Ours\"\nbased-on = \"common-practice\"\n";

fn bench() -> Bench {
    let uses = ADRIFT.replacen("\nbattery", "\nuse \"lib/kits.txt\"\nbattery", 1);
    let bench = Bench::new(&[
        ("a.loom", uses.as_bytes()),
        ("plain", WAGTAIL.as_bytes()),
        ("lib/kits.txt", KITS.as_bytes()),
        ("ours.toml", BOOK.as_bytes()),
        ("out.json", b"before"),
    ]);
    bench.run(&["check", "a.loom", "--write-known", "known.jsonl"]).ends(0);
    bench
}

/// Every file below the bench with what it holds.
fn all(bench: &Bench) -> Vec<(String, Vec<u8>)> {
    let mut all = Vec::new();
    super::each_file(bench.folder.path(), &mut |path| {
        all.push((path.display().to_string(), fs::read(path).unwrap()));
    });
    all.sort();
    all
}

#[test]
fn what_a_run_reads_is_never_replaced() {
    let bench = bench();
    bench.run(&["check", "a.loom", "--as", "json", "-o", "1.json", "--cache", "kept"]).ends(1);
    let before = all(&bench);
    for (arguments, says) in [
        (&["check", "plain", "-o", "plain"][..], "plain is not written: it was read in this run"),
        (&["check", "plain", "-o", "./lib/../plain"], "is not written: plain, which is it, was read"),
        (&["check", "a.loom", "-o", "lib/kits.txt"], "lib/kits.txt is not written: "),
        (
            &["check", "a.loom", "--known", "known.jsonl", "-o", "known.jsonl"],
            "known.jsonl is not written: it",
        ),
        (
            &["check", "a.loom", "--book", "ours.toml", "-o", "ours.toml"],
            "ours.toml is not written: it was read",
        ),
        (&["check", "--join", "1.json", "-o", "1.json"], "1.json is not written: it was read in this run"),
        (&["study", "plain", "-o", "plain"], "plain is not written: it was read in this run"),
        (&["study", "plain", "--mode", "parked", "--spice", "plain"], "plain is not written: it was read"),
        (&["study", "a.loom", "-o", "lib/kits.txt"], "lib/kits.txt is not written: "),
        (&["compare", "plain", "a.loom", "-o", "plain"], "plain is not written: it was read in this run"),
        (&["compare", "plain", "a.loom", "-o", "lib/kits.txt"], "lib/kits.txt is not written: "),
        (&["book", "ours.toml", "-o", "ours.toml"], "ours.toml is not written: it was read in this run"),
        (&["rules", "--book", "ours.toml", "-o", "ours.toml"], "ours.toml is not written: it was read"),
        // Whether this run reads it or not, the next search would.
        (&["check", "plain", "-o", "a.loom"], "a.loom is not written: a name in .loom is a design's"),
        (&["check", "plain", "-o", "new.loom"], "new.loom is not written: a name in .loom is a design's"),
        (&["check", "plain", "--write-known", "new.loom"], "choose another for --write-known"),
        (&["check", ".", "-o", ".ignore"], ".ignore is not written: it says what a search passes over"),
        (
            &["check", "plain", "--cache", "kept", "-o", "kept/CACHEDIR.TAG"],
            "kept/CACHEDIR.TAG is not written: it lies in the cache kept",
        ),
    ] {
        let ran = bench.run(arguments).ends(2);
        assert!(ran.err.starts_with("error: ") && ran.err.contains(says), "{arguments:?}: {ran:#?}");
        assert_eq!(ran.out, "", "{arguments:?}");
        assert_eq!(all(&bench), before, "{arguments:?}");
    }
}

#[test]
fn two_outputs_are_two_files() {
    let bench = bench();
    let before = all(&bench);
    for (arguments, says) in [
        (&["check", "a.loom", "-o", "x", "--write-known", "./x"][..], "-o and --write-known are one file"),
        (&["check", "a.loom", "-o", "out.json", "--write-known", "out.json"], "-o and --write-known are one"),
        (
            &["study", "plain", "--mode", "parked", "-o", "x", "--spice", "lib/../x"],
            "-o and --spice are one file",
        ),
    ] {
        let ran = bench.run(arguments).ends(2);
        assert!(ran.err.starts_with("error: ") && ran.err.contains(says), "{arguments:?}: {ran:#?}");
        assert_eq!(all(&bench), before, "{arguments:?}");
    }
    bench.run(&["check", "a.loom", "-o", "x", "--write-known", "y"]).ends(0);
    bench.run(&["check", "a.loom", "--known", "y", "--write-known", "y", "--fail-at", "advice"]).ends(0);
}

#[cfg(unix)]
#[test]
fn links_stay_and_lead_to_what_is_written() {
    use std::os::unix::fs::symlink;
    let bench = Bench::new(&[("boats/a.loom", ADRIFT.as_bytes()), ("lists/deep/x", b"")]);
    symlink("lists/new.txt", bench.path("out.txt")).unwrap();
    bench.run(&["check", "boats", "-o", "out.txt"]).ends(1);
    assert!(fs::symlink_metadata(bench.path("out.txt")).unwrap().is_symlink());
    assert!(fs::read_to_string(bench.path("lists/new.txt")).unwrap().contains("protection.missing"));
    // Paths in a list go from where it really lies, through whatever link it is named.
    symlink("lists/deep/known.jsonl", bench.path("known.jsonl")).unwrap();
    bench.run(&["check", "boats", "--write-known", "known.jsonl"]).ends(0);
    let list = fs::read_to_string(bench.path("lists/deep/known.jsonl")).unwrap();
    assert!(list.contains("[\"../../boats/a.loom\",\"protection.missing\""), "{list}");
    for name in ["known.jsonl", "lists/deep/known.jsonl"] {
        assert_eq!(bench.run(&["check", "boats", "--known", name]).ends(0).err, "");
    }
    symlink("round", bench.path("round")).unwrap();
    let ran = bench.run(&["check", "boats", "-o", "round"]).ends(2);
    assert_eq!(ran.err, "error: round cannot be written: links lead in a circle\n");
}

/// What is open already is written on, and never replaced.
#[cfg(target_os = "linux")]
#[test]
fn streams_that_are_open_are_written_on() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes()), ("log", b"before\n")]);
    let told = bench.run(&["check", "a.loom"]).ends(1).out;
    assert!(told.contains("protection.missing"));
    for name in ["/dev/stdout", "/dev/fd/1", "/proc/self/fd/1", "-"] {
        let ran = bench.run(&["check", "a.loom", "-o", name]).ends(1);
        assert_eq!((ran.out, ran.err), (told.clone(), String::new()), "{name}, a pipe");
        let log = fs::File::options().append(true).open(bench.path("log")).unwrap();
        let mut command = bench.command(&["check", "a.loom", "-o", name]);
        assert_eq!(command.stdout(log).status().unwrap().code(), Some(1));
    }
    assert_eq!(fs::read_to_string(bench.path("log")).unwrap(), format!("before\n{told}{told}{told}{told}"));
    // In a file that the shell writes to before and after.
    if !super::has("bash") {
        return;
    }
    let script = format!(
        "(echo a; {0} check a.loom -o /dev/stdout; echo b) > plain; {0} check a.loom -o /dev/fd/3 3> third",
        env!("CARGO_BIN_EXE_ohmward")
    );
    let mut bash = std::process::Command::new("bash");
    let bash = bash.current_dir(bench.folder.path()).args(["-c", &script]);
    let ran = super::Ran::of(bash.output().unwrap()).ends(2);
    assert_eq!(fs::read_to_string(bench.path("plain")).unwrap(), format!("a\n{told}b\n"));
    let why = "it is open already, and a plain file; name the file itself";
    assert_eq!(ran.err, format!("error: /dev/fd/3 cannot be written: {why}\n"));
    assert!(!bench.path("-").exists());
}

/// Standard input may be the file that is to be written.
#[test]
fn a_design_on_standard_input_is_never_replaced() {
    let bench = Bench::new(&[("plain", WAGTAIL.as_bytes()), ("a.loom", ADRIFT.as_bytes())]);
    for arguments in [
        &["check", "-", "-o", "plain"][..],
        &["study", "-", "-o", "plain"],
        &["study", "-", "--mode", "parked", "--spice", "plain"],
        &["compare", "-", "a.loom", "-o", "plain"],
    ] {
        let input = fs::File::open(bench.path("plain")).unwrap();
        let ran = super::Ran::of(bench.command(arguments).stdin(input).output().unwrap()).ends(2);
        assert_eq!(
            ran.err, "error: plain is not written: it was read in this run, and would be lost\n",
            "{arguments:?}"
        );
        assert_eq!(fs::read_to_string(bench.path("plain")).unwrap(), WAGTAIL);
    }
}

/// Nothing that an argument holds acts on a terminal.
#[test]
fn messages_hold_no_control_characters() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes())]);
    let odd = "e\u{1b}[31m\nx";
    let inside = format!("{odd}/x");
    for arguments in [
        &["check", "a.loom", "--book", odd][..],
        &["check", "a.loom", "-o", &inside],
        &["check", "a.loom", "--known", odd],
        &["check", "a.loom", "--write-known", &inside],
        &["check", "--join", odd],
        &["compare", "a.loom", "--git", odd],
    ] {
        let ran = bench.run(arguments).ends(2);
        assert!(ran.err.ends_with('\n') && ran.err.matches(char::is_control).count() == 1, "{ran:#?}");
    }
}

#[test]
fn runs_that_write_one_list_at_once_lose_nothing() {
    const RUNS: usize = 12;
    let names: Vec<String> = (0..RUNS).map(|at| format!("{at:02}/a.loom")).collect();
    let files: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), ADRIFT.as_bytes())).collect();
    let bench = Bench::new(&files);
    for round in 0..3 {
        let started: Vec<_> = names
            .iter()
            .map(|name| bench.command(&["check", name, "--write-known", "known.jsonl"]).spawn().unwrap())
            .collect();
        for mut run in started {
            assert_eq!(run.wait().unwrap().code(), Some(0));
        }
        let list = fs::read_to_string(bench.path("known.jsonl")).unwrap();
        for name in &names {
            assert!(list.contains(&format!("[\"{name}\",\"protection.missing\"")), "{round}: {name}: {list}");
        }
        fs::remove_file(bench.path("known.jsonl")).unwrap();
    }
}

#[cfg(target_os = "linux")]
#[test]
fn help_that_cannot_be_written_is_told() {
    let bench = Bench::new(&[]);
    for arguments in [&["help"][..], &["--version"], &["help", "check"]] {
        let full = fs::File::options().write(true).open("/dev/full").unwrap();
        let ran = super::Ran::of(bench.command(arguments).stdout(full).output().unwrap()).ends(2);
        assert_eq!(ran.err, "error: standard output cannot be written: the disk is full\n");
    }
}
