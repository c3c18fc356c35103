//! The binary itself: arguments, exit codes, streams and files.
#![expect(clippy::unwrap_used, clippy::panic, reason = "in a test that is how to say that it failed")]

mod cache;
mod chargers;
mod extras;
mod join;
mod junit;
mod known;
mod outputs;
mod pages;
mod progress;
mod sarif;
mod scripts;
mod search;
mod study;
mod tidy;

use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

/// A design without anything to find at the level of warnings.
const WAGTAIL: &str = r#"design wagtail "Mobile library: engine charging for the reading lights"
book common-practice
assume ambient 30 C
assume insulation 105 C
zone engine-bay ambient 60 C

battery crank   lead-acid 12 V 80 Ah fault 1.5 kA full 14.8 V
battery house   lifepo4 12 V 200 Ah fault 5 kA full 14.4 V cold-cutoff
charger booster in 12 V 30 A out 12 V 25 A isolated
load    lights  12 V 60 W critical

fuse F1 40 A bolt-in volts 32 V breaks 2 kA
fuse F2 40 A strip volts 32 V breaks 6 kA
fuse F3 125 A class-t volts 125 V breaks 20 kA
fuse F4 8 A cylindrical volts 1000 V breaks 10 kA

bar     plus-bar   M8 x 6 250 A
bar     minus-bar  M8 x 6 250 A
chassis frame
meter   tally 300 A 50 mV counts house

wire W1  from crank.+      to F1.line       10 mm2 0.15 m red zone engine-bay
wire W2  from F1.load      to booster.in+   10 mm2 4.2 m  red sheathed
wire W3  from crank.-      to booster.in-   10 mm2 4.4 m  black
wire W4  from crank.-      to frame         25 mm2 0.5 m  black
wire W5  from booster.out+ to F2.load       10 mm2 0.8 m  red
bolt     F2.line to plus-bar
wire W7  from house.+      to F3.line       35 mm2 0.12 m red
wire W8  from F3.load      to plus-bar      35 mm2 0.6 m  red
wire W9  from house.-      to tally.bat     35 mm2 0.3 m  black
wire W10 from tally.sys    to minus-bar     35 mm2 0.3 m  black
wire W11 from booster.out- to minus-bar     10 mm2 0.8 m  black
bolt     F4.line to plus-bar
wire W13 from F4.load      to lights.+      4 mm2 5 m     red
wire W14 from lights.-     to minus-bar     4 mm2 5 m     black
wire W15 from F4.load      to tally.sense   0.75 mm2 0.4 m red

mode driving "engine running" {
  crank   14.2 V
  house   13.3 V
  booster on
  lights  off
}
mode parked {
  house   13.1 V
  lights  on
}
expect tally reads 25 A within 1 A in driving
"#;

/// A pump on a bare battery cable.
const ADRIFT: &str = r#"design adrift "Invented: a pump on a bare battery cable"
battery house lifepo4 12 V 200 Ah fault 5 kA full 14.4 V
load    pump  12 V 120 W
wire W1 from house.+ to pump.+ 16 mm2 0.9 m red
wire W2 from pump.- to house.- 16 mm2 0.9 m black
"#;

/// A folder of its own for one test.
struct Bench {
    folder: TempDir,
}

impl Bench {
    fn new(files: &[(&str, &[u8])]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        for (name, content) in files {
            let path = folder.path().join(name);
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            fs::write(path, content).unwrap();
        }
        Self { folder }
    }

    /// All samples, in a folder of their own.
    fn of_samples() -> Self {
        let bench = Self::new(&[]);
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        each_file(&root.join("samples"), &mut |path| {
            let to = bench.path(path.strip_prefix(root).unwrap().to_str().unwrap());
            fs::create_dir_all(to.parent().unwrap()).unwrap();
            fs::copy(path, to).unwrap();
        });
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
        command.current_dir(self.folder.path()).args(arguments).env_remove("COLUMNS").stdin(Stdio::null());
        command
    }

    fn run(&self, arguments: &[&str]) -> Ran {
        Ran::of(self.command(arguments).output().unwrap())
    }

    fn run_with(&self, arguments: &[&str], input: &[u8]) -> Ran {
        let mut command = self.command(arguments);
        let mut child =
            command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        child.stdin.take().unwrap().write_all(input).unwrap();
        Ran::of(child.wait_with_output().unwrap())
    }
}

/// Whether a program is there that a test cannot do without; in continuous integration it has to be.
fn has(program: &str) -> bool {
    let is_there =
        Command::new(program).arg("--version").output().is_ok_and(|output| output.status.success());
    let must_run = std::env::var("CI").is_ok_and(|ci| ci == "true");
    assert!(is_there || !must_run, "there is no {program}");
    if !is_there {
        println!("skipped: there is no {program}");
    }
    is_there
}

/// Calls `act` with every file below a folder.
fn each_file(folder: &Path, act: &mut dyn FnMut(&Path)) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { each_file(&path, act) } else { act(&path) }
    }
}

/// What a run left behind.
#[derive(Debug)]
struct Ran {
    code: Option<i32>,
    out: String,
    err: String,
}

impl Ran {
    fn of(output: Output) -> Self {
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Self { code: output.status.code(), out: text(output.stdout), err: text(output.stderr) }
    }

    #[track_caller]
    fn ends(self, code: i32) -> Self {
        assert_eq!(self.code, Some(code), "{self:#?}");
        self
    }

    #[track_caller]
    fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}: {self:#?}"))
    }
}

#[test]
fn a_clean_design_passes() {
    let bench = Bench::new(&[("wagtail.loom", WAGTAIL.as_bytes())]);
    let ran = bench.run(&["check", "wagtail.loom", "--fail-at", "warning"]).ends(0);
    assert_eq!(ran.err, "");
    let human = bench.run(&["check", "wagtail.loom", "--as", "human", "--without", "unknown.rating"]).ends(0);
    assert!(human.out.starts_with("1 design"), "{human:#?}");
    assert!(human.out.contains("licensed electrician"), "{human:#?}");
    assert!(!human.out.contains('\u{1b}'), "{human:#?}");
}

#[test]
fn a_finding_fails() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes())]);
    let ran = bench.run(&["check", "adrift.loom"]).ends(1);
    assert!(ran.out.contains("adrift.loom:4:6: error: protection.missing: "), "{ran:#?}");
    let told = bench.run(&["check", "adrift.loom", "--as", "human"]).ends(1);
    assert!(told.out.contains("rule protection.missing, at adrift.loom:4:6"), "{told:#?}");
}

#[test]
fn the_failing_level_is_a_choice() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes())]);
    bench.run(&["check", "adrift.loom", "--fail-at", "never"]).ends(0);
    bench.run(&["check", "adrift.loom", "--fail-at", "advice"]).ends(1);
    let ran = bench.run(&["check", "adrift.loom", "--without", "protection.missing"]);
    assert!(!ran.out.contains("protection.missing"), "{ran:#?}");
    let ran = bench.run(&["check", "adrift.loom", "--only", "protection.missing"]).ends(1);
    assert!(ran.out.lines().all(|line| line.contains("protection.missing")), "{ran:#?}");
}

#[test]
fn json_is_one_document() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes()), ("wagtail.loom", WAGTAIL.as_bytes())]);
    let ran = bench.run(&["check", "--as", "json", "--explain-all"]).ends(1);
    let document = ran.json();
    assert_eq!(document["schema"], 1);
    assert_eq!(document["tool"]["name"], "ohmward");
    let designs = document["designs"].as_array().unwrap();
    let files: Vec<_> = designs.iter().map(|design| design["file"].as_str().unwrap()).collect();
    assert_eq!(files, ["adrift.loom", "wagtail.loom"]);
    assert_eq!(designs[0]["design"], "adrift");
    let missing = designs[0]["findings"]
        .as_array()
        .unwrap()
        .iter()
        .find(|finding| finding["rule"] == "protection.missing")
        .unwrap();
    assert_eq!(missing["subject"], "W1");
    assert_eq!(missing["span"]["line"], 4);
    assert_eq!(missing["span"]["end_column"], 8);
    assert!(missing["waived"].is_null());
    let wires: Vec<_> = designs[1]["wires"].as_object().unwrap().keys().collect();
    assert_eq!(wires.len(), 13);
    assert_eq!(document["summary"]["designs"], 2);
}

#[test]
fn evidence_is_a_table_for_people() {
    let bench = Bench::new(&[("wagtail.loom", WAGTAIL.as_bytes())]);
    let ran = bench.run(&["check", "wagtail.loom", "--as", "human", "--explain-all"]).ends(0);
    assert!(ran.out.contains("wires of wagtail.loom\n"), "{ran:#?}");
    assert!(ran.out.contains("W13: ampacity "), "{ran:#?}");
}

#[test]
fn reads_standard_input() {
    let bench = Bench::new(&[]);
    let ran = bench.run_with(&["check", "-"], ADRIFT.as_bytes()).ends(1);
    assert!(ran.out.contains("-:4:6: error: protection.missing: "), "{ran:#?}");
    bench.run_with(&["check", "-"], WAGTAIL.as_bytes()).ends(0);
    bench.run_with(&["check", "-"], b"").ends(2);
    bench.run_with(&["check", "-"], b"\xff\xfe\x00").ends(2);
}

#[test]
fn searches_folders() {
    let bench = Bench::new(&[
        ("boats/b.loom", ADRIFT.as_bytes()),
        ("boats/a/z.loom", WAGTAIL.as_bytes()),
        ("boats/notes.txt", b"not a design"),
        ("boats/old/x.loom", ADRIFT.as_bytes()),
        ("boats/.gitignore", b"old/\n"),
        ("boats/kits.loom", b"library kits \"Invented\"\n"),
    ]);
    let ran = bench.run(&["check", "boats", "--as", "json"]).ends(1);
    let document = ran.json();
    let files: Vec<_> = document["designs"]
        .as_array()
        .unwrap()
        .iter()
        .map(|design| design["file"].as_str().unwrap())
        .collect();
    assert_eq!(files, ["boats/a/z.loom", "boats/b.loom"]);
}

#[test]
fn the_number_of_jobs_changes_nothing() {
    let names: Vec<String> = (0..60).map(|index| format!("{index:02}.loom")).collect();
    let files: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), ADRIFT.as_bytes())).collect();
    let bench = Bench::new(&files);
    for form in ["human", "lines", "json", "sarif", "junit"] {
        let one = bench.run(&["check", "--as", form, "--jobs", "1"]).ends(1);
        let many = bench.run(&["check", "--as", form, "--jobs", "7"]).ends(1);
        assert_eq!(one.out, many.out);
    }
}

#[test]
fn a_folder_without_designs_is_told() {
    let bench = Bench::new(&[("notes.txt", b"")]);
    let ran = bench.run(&["check"]).ends(2);
    assert_eq!(ran.err, "error: no design (*.loom) in .\n");
}

#[test]
fn what_cannot_be_read_hides_nothing_else() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes()), ("bytes.loom", b"design x\xff \"x\"\n")]);
    let ran = bench.run(&["check", "missing.loom", "bytes.loom", "adrift.loom"]).ends(2);
    assert!(ran.out.contains("missing.loom: error: there is no such file\n"), "{ran:#?}");
    assert!(ran.out.contains("bytes.loom:"), "{ran:#?}");
    assert!(ran.out.contains("adrift.loom:4:6: error: protection.missing: "), "{ran:#?}");
    let document = bench.run(&["check", "missing.loom", "--as", "json"]).ends(2).json();
    assert_eq!(document["designs"][0]["unreadable"], "there is no such file");
    assert_eq!(document["designs"][0]["findings"], serde_json::json!([]));
    assert_eq!(document["summary"]["unreadable"], 1);
}

#[test]
fn a_folder_named_like_a_design_is_searched() {
    let bench = Bench::new(&[("x.loom/y.loom", WAGTAIL.as_bytes())]);
    let document = bench.run(&["check", "x.loom", "--as", "json"]).ends(0).json();
    assert_eq!(document["designs"][0]["file"], "x.loom/y.loom");
    let document = bench.run(&["check", "--as", "json"]).ends(0).json();
    assert_eq!(document["summary"]["designs"], 1);
}

#[test]
fn language_errors_cannot_be_judged() {
    let bench = Bench::new(&[("typo.loom", WAGTAIL.replace("charger", "chargre").as_bytes())]);
    let ran = bench.run(&["check", "typo.loom"]).ends(2);
    assert!(ran.out.contains("typo.loom:9:1: error: language."), "{ran:#?}");
    bench.run(&["check", "typo.loom", "--fail-at", "never"]).ends(2);
}

#[test]
fn line_ends_and_byte_order_marks_change_no_verdict() {
    let crlf = ADRIFT.replace('\n', "\r\n");
    let bom = format!("\u{feff}{ADRIFT}");
    for text in [ADRIFT, &crlf, &bom] {
        let ran = Bench::new(&[("a.loom", text.as_bytes())]).run(&["check", "a.loom"]).ends(1);
        assert!(ran.out.contains("a.loom:4:6: error: protection.missing: "), "{ran:#?}");
        assert!(!ran.out.contains('\r'), "{ran:#?}");
    }
}

#[test]
fn output_replaces_a_file_whole() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes()), ("out/found.txt", b"before")]);
    let direct = bench.run(&["check", "adrift.loom"]).ends(1);
    let ran = bench.run(&["check", "adrift.loom", "-o", "out/found.txt"]).ends(1);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    assert_eq!(fs::read_to_string(bench.path("out/found.txt")).unwrap(), direct.out);
    bench.run(&["check", "adrift.loom", "-o", "new.txt"]).ends(1);
    assert_eq!(fs::read_to_string(bench.path("new.txt")).unwrap(), direct.out);
    assert_eq!(fs::read_dir(bench.path("out")).unwrap().count(), 1);
}

#[test]
fn output_that_cannot_be_written_is_told() {
    let bench =
        Bench::new(&[("adrift.loom", ADRIFT.as_bytes()), ("folder/x", b""), ("locked.txt", b"before")]);
    let mut permissions = fs::metadata(bench.path("locked.txt")).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(bench.path("locked.txt"), permissions).unwrap();
    for (target, why) in [
        ("folder", "folder cannot be written: it is a folder"),
        ("none/x.txt", "none/x.txt cannot be written: there is no folder none"),
        ("new/", "new/ cannot be written: it names no file"),
        ("locked.txt", "locked.txt cannot be written: it is read-only"),
    ] {
        let ran = bench.run(&["check", "adrift.loom", "-o", target]).ends(2);
        assert_eq!(ran.err.trim_end(), format!("error: {why}"));
        assert_eq!(ran.out, "");
    }
    assert_eq!(fs::read_to_string(bench.path("locked.txt")).unwrap(), "before");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_is_told() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes())]);
    let ran = bench.run(&["check", "adrift.loom", "-o", "/dev/full"]).ends(2);
    assert_eq!(ran.err, "error: /dev/full cannot be written: the disk is full\n");
    let full = fs::File::options().write(true).open("/dev/full").unwrap();
    let output = bench.command(&["check", "adrift.loom"]).stdout(full).output().unwrap();
    let ran = Ran::of(output).ends(2);
    assert_eq!(ran.err, "error: standard output cannot be written: the disk is full\n");
}

#[cfg(unix)]
#[test]
fn pipes_and_devices_are_refused() {
    let bench = Bench::new(&[]);
    assert!(Command::new("mkfifo").arg(bench.path("pipe.loom")).status().unwrap().success());
    let ran = bench.run(&["check", "pipe.loom", "/dev/zero"]).ends(2);
    assert!(ran.out.contains("pipe.loom: error: it is a pipe or a device, not a file\n"), "{ran:#?}");
    assert!(ran.out.contains("/dev/zero: error: it is a pipe or a device, not a file\n"), "{ran:#?}");
}

/// The verdict stays, whoever stops reading.
#[test]
fn a_closed_pipe_is_quiet() {
    let names: Vec<String> = (0..3000).map(|index| format!("missing-{index:04}.loom")).collect();
    let bench = Bench::new(&[]);
    let mut command = bench.command(&["check"]);
    let mut child = command.args(&names).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    let mut out = child.stdout.take().unwrap();
    out.read_exact(&mut [0; 10]).unwrap();
    drop(out);
    let mut err = String::new();
    child.stderr.take().unwrap().read_to_string(&mut err).unwrap();
    assert_eq!(child.wait().unwrap().code(), Some(2));
    assert_eq!(err, "");
}

#[test]
fn arguments_that_mean_nothing_are_told() {
    let bench = Bench::new(&[("a.loom", WAGTAIL.as_bytes())]);
    for (arguments, why) in [
        (&["check", "a.loom", "--only", "protection.mising"][..], "the nearest is protection.missing"),
        (&["check", "a.loom", "--without", "zzz"], "there is no such rule"),
        (&["check", "a.loom", "--as", "table"], "human, lines, json"),
        (&["check", "a.loom", "--today", "2027-02-29"], "a day is written as in 2027-03-31"),
        (&["check", "a.loom", "--jobs", "0"], "--jobs"),
        (&["check", "a.loom", "--root", "none"], "there is no such folder"),
        (&["check", "a.loom", "--colour"], "--colour"),
        (&["chekc", "a.loom"], "check"),
        (&[], "Usage"),
    ] {
        let ran = bench.run(arguments).ends(2);
        assert!(ran.err.contains(why), "{arguments:?} {ran:#?}");
        assert_eq!(ran.out, "");
    }
    assert!(bench.run(&["--help"]).ends(0).out.contains("check"));
    assert!(bench.run(&["--version"]).ends(0).out.starts_with("ohmward "));
}

#[test]
fn libraries_are_reached_within_the_root_only() {
    let design = format!("{}use \"../kits.loom\"\n", WAGTAIL);
    let kits: &[u8] = b"library kits \"Invented\"\n";
    let bench = Bench::new(&[("boats/a.loom", design.as_bytes()), ("kits.loom", kits)]);
    bench.run(&["check", "boats/a.loom"]).ends(0);
    let ran = bench.run(&["check", "boats/a.loom", "--root", "boats"]).ends(2);
    assert!(ran.out.contains("language.use"), "{ran:#?}");
    let elsewhere = Bench::new(&[]);
    let path = bench.path("boats/a.loom");
    let ran = elsewhere.run(&["check", shown(&path)]).ends(2);
    assert!(ran.out.contains("language.use"), "{ran:#?}");
    elsewhere.run(&["check", shown(&path), "--root", shown(bench.folder.path())]).ends(0);
}

fn shown(path: &Path) -> &str {
    path.to_str().unwrap()
}

#[test]
fn a_book_tries_its_own_rules() {
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/house/house.toml");
    let text = fs::read_to_string(sample).unwrap();
    let slack = text.replace("length_m <= 3\"", "length_m <= 30\"");
    let broken = text.replace("length_m <= 3\"", "lenght_m <= 3\"");
    let bench = Bench::new(&[
        ("house.toml", text.as_bytes()),
        ("slack.toml", slack.as_bytes()),
        ("broken.toml", broken.as_bytes()),
    ]);
    for (book, code, says) in [
        ("house.toml", 0, "6 passed, 0 failed, 0 not judged"),
        ("slack.toml", 1, "failed: house.sheath-long-runs: `fails` does not break the rule"),
        (
            "broken.toml",
            2,
            "not judged: house.sheath-long-runs: `lenght_m` is no field of a wire; the nearest field",
        ),
        ("common-practice", 0, "has no rules of its own"),
        ("none.toml", 2, "the book cannot be read"),
    ] {
        let ran = bench.run(&["book", book, "--test"]).ends(code);
        assert!(ran.out.contains(says), "{book}: {}", ran.out);
    }
}
