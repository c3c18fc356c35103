//! `ohmward tidy`: what it changes, what it leaves, and what it says of it.

use std::fs;
use std::time::{Duration, Instant};

use super::{ADRIFT, Bench, WAGTAIL, shown};

const UNTIDY: &str =
    "design shed \"One lamp\"   \n\n\n\nbattery B agm 12V 90Ah  # the house's\nload lamp 12 V\t36 W\n";
const TIDY: &str =
    "design shed \"One lamp\"\n\nbattery B    agm 12 V 90 Ah  # the house's\nload    lamp 12 V 36 W\n";
const BROKEN: &str = "design typo \"Invented\"\nbatery  B agm\n";

#[test]
fn lays_files_out() {
    let bench = Bench::new(&[
        ("a/untidy.loom", UNTIDY.as_bytes()),
        ("a/tidy.loom", TIDY.as_bytes()),
        ("a/kits.loom", b"library kits \"Invented\"\npart p   is load 12V\n"),
        ("a/.ignore", b"old\n"),
        ("a/old/x.loom", UNTIDY.as_bytes()),
        ("a/house.toml", b"name   = 1\n"),
    ]);
    let read = |name: &str| fs::read_to_string(bench.path(name)).unwrap();
    let ran = bench.run(&["tidy", "--check", "a"]).ends(1);
    assert_eq!(
        ran.out,
        "a/kits.loom:2: would change\n  is:       part p   is load 12V\n  is to be: part p is load 12 V\n\
         a/untidy.loom:1: would change, and 2 more lines\n  is:       design shed \"One lamp\"···\n  \
         is to be: design shed \"One lamp\"\n"
    );
    assert_eq!((read("a/untidy.loom").as_str(), ran.err.as_str()), (UNTIDY, ""));
    let ran = bench.run(&["tidy", "a"]).ends(0);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("a/kits.loom: tidied\na/untidy.loom: tidied\n", ""));
    assert_eq!(read("a/untidy.loom"), TIDY);
    assert_eq!(read("a/kits.loom"), "library kits \"Invented\"\npart p is load 12 V\n");
    assert_eq!((read("a/old/x.loom").as_str(), read("a/house.toml").as_str()), (UNTIDY, "name   = 1\n"));
    for arguments in [&["tidy", "a"][..], &["tidy", "--check", "a"]] {
        let ran = bench.run(arguments).ends(0);
        assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    }
    // Nothing is left beside them.
    assert_eq!(fs::read_dir(bench.path("a")).unwrap().count(), 6);
}

#[test]
fn without_a_path_it_is_the_folder() {
    let bench = Bench::new(&[("it.loom", UNTIDY.as_bytes())]);
    assert_eq!(bench.run(&["tidy"]).ends(0).out, "it.loom: tidied\n");
    assert_eq!(Bench::new(&[]).run(&["tidy"]).ends(2).err, "error: no design (*.loom) in .\n");
}

#[test]
fn what_changes_out_of_sight_is_told() {
    for (text, what) in [
        (TIDY.replace("\n\n", "\n\n\n"), "only blank lines, or the end of the last line"),
        (TIDY.trim_end().into(), "only blank lines, or the end of the last line"),
        (TIDY.replacen('\n', "\r\n", 1), "only blank lines or line ends"),
        (format!("\u{feff}{TIDY}"), "is:       <byte order mark>design shed"),
    ] {
        let bench = Bench::new(&[("it.loom", text.as_bytes())]);
        let ran = bench.run(&["tidy", "--check", "it.loom"]).ends(1);
        assert!(ran.out.contains(what), "{ran:#?}");
        bench.run(&["tidy", "it.loom"]).ends(0);
        assert_eq!(fs::read_to_string(bench.path("it.loom")).unwrap(), TIDY);
    }
}

#[test]
fn files_with_errors_are_left_and_the_others_done() {
    let user = "design user \"Invented\"\nuse \"lib.loom\"\nload   L 1 A\n";
    let bench = Bench::new(&[
        ("a.loom", BROKEN.as_bytes()),
        ("b.loom", UNTIDY.as_bytes()),
        ("lib.loom", b"library lib \"Invented\"\nprat x\n"),
        ("user.loom", user.as_bytes()),
        ("x.loom", b"design \xff"),
    ]);
    let before: Vec<_> =
        ["a.loom", "lib.loom", "user.loom", "x.loom"].map(|name| fs::read(bench.path(name)).unwrap()).into();
    for arguments in [&["tidy", "--check"][..], &["tidy"]] {
        let ran = bench.run(arguments).ends(2);
        assert!(ran.out.starts_with("b.loom"), "{ran:#?}");
        for told in [
            "a.loom:2:1: error: language.word: ",
            "a.loom: left as it is: what is not in the language cannot be laid out\n",
            "lib.loom:2:1: error: language.word: ",
            "user.loom: left as it is: a library that it uses is not in the language\n",
            "x.loom: error: it is not UTF-8 text",
        ] {
            assert!(ran.err.contains(told), "{told} is not in {ran:#?}");
        }
    }
    let after: Vec<_> =
        ["a.loom", "lib.loom", "user.loom", "x.loom"].map(|name| fs::read(bench.path(name)).unwrap()).into();
    assert_eq!(before, after);
    assert_eq!(fs::read_to_string(bench.path("b.loom")).unwrap(), TIDY);
    assert!(
        bench.run(&["tidy", "none.loom"]).ends(2).err.contains("none.loom: error: there is no such file")
    );
}

#[test]
fn standard_input_goes_to_standard_output() {
    let bench = Bench::new(&[]);
    for text in [UNTIDY, TIDY] {
        let ran = bench.run_with(&["tidy", "-"], text.as_bytes()).ends(0);
        assert_eq!((ran.out.as_str(), ran.err.as_str()), (TIDY, ""));
    }
    let ran = bench.run_with(&["tidy", "-", "--check"], UNTIDY.as_bytes()).ends(1);
    assert!(ran.out.starts_with("-:1: would change"), "{ran:#?}");
    assert_eq!(bench.run_with(&["tidy", "-", "--check"], TIDY.as_bytes()).ends(0).out, "");
    let ran = bench.run_with(&["tidy", "-"], BROKEN.as_bytes()).ends(2);
    assert_eq!(ran.out, "");
    assert!(ran.err.starts_with("-:2:1: error: language.word: "), "{ran:#?}");
    let ran = bench.run(&["tidy", "-", "a.loom"]).ends(2);
    assert!(ran.err.contains("- stands alone"), "{ran:#?}");
}

#[test]
fn the_number_of_jobs_changes_nothing() {
    let names: Vec<String> = (0..200).map(|index| format!("{index:03}.loom")).collect();
    let text = |index: usize| match index % 3 {
        0 => UNTIDY,
        1 => TIDY,
        _ => BROKEN,
    };
    let files: Vec<(&str, &[u8])> =
        names.iter().enumerate().map(|(index, name)| (name.as_str(), text(index).as_bytes())).collect();
    let bench = Bench::new(&files);
    let one = bench.run(&["tidy", "--check", "--jobs", "1"]).ends(2);
    let many = bench.run(&["tidy", "--check", "--jobs", "7"]).ends(2);
    assert_eq!((one.out, &one.err), (many.out, &many.err));
    assert_eq!(bench.run(&["tidy", "--jobs", "7"]).ends(2).out.lines().count(), 67);
}

#[cfg(unix)]
#[test]
fn links_and_permissions_are_kept() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let bench = Bench::new(&[("real/it.loom", UNTIDY.as_bytes())]);
    fs::set_permissions(bench.path("real/it.loom"), fs::Permissions::from_mode(0o640)).unwrap();
    symlink("real/it.loom", bench.path("link.loom")).unwrap();
    // The file behind a link and by its own name is one.
    assert_eq!(bench.run(&["tidy"]).ends(0).out, "link.loom: tidied\n");
    assert!(fs::symlink_metadata(bench.path("link.loom")).unwrap().is_symlink());
    assert_eq!(fs::read_to_string(bench.path("real/it.loom")).unwrap(), TIDY);
    let mode = fs::metadata(bench.path("real/it.loom")).unwrap().permissions().mode();
    assert_eq!(mode & 0o7777, 0o640);
}

#[test]
fn what_cannot_be_written_is_told_and_left() {
    let bench = Bench::new(&[("it.loom", UNTIDY.as_bytes()), ("other.loom", UNTIDY.as_bytes())]);
    let mut permissions = fs::metadata(bench.path("it.loom")).unwrap().permissions();
    permissions.set_readonly(true);
    fs::set_permissions(bench.path("it.loom"), permissions).unwrap();
    let ran = bench.run(&["tidy"]).ends(2);
    assert!(ran.err.contains("it.loom cannot be written: it is read-only"), "{ran:#?}");
    assert_eq!(ran.out, "other.loom: tidied\n");
    assert_eq!(fs::read_to_string(bench.path("it.loom")).unwrap(), UNTIDY);
}

/// As on a full disk: writing fails before the file is whole.
#[cfg(target_os = "linux")]
#[test]
fn a_file_that_does_not_fit_leaves_the_old_one() {
    let large = large();
    let bench = Bench::new(&[("it.loom", large.as_bytes())]);
    let script = format!("trap '' XFSZ; ulimit -f 8; exec '{}' tidy it.loom", env!("CARGO_BIN_EXE_ohmward"));
    let mut command = std::process::Command::new("sh");
    let output = command.args(["-c", &script]).current_dir(bench.folder.path()).output().unwrap();
    let ran = super::Ran::of(output).ends(2);
    assert!(ran.err.contains("it.loom cannot be written: "), "{ran:#?}");
    assert_eq!(fs::read_to_string(bench.path("it.loom")).unwrap(), large);
    assert_eq!(fs::read_dir(bench.folder.path()).unwrap().count(), 1);
}

/// Untidy, and large enough that a run takes its time.
fn large() -> String {
    let mut text = String::from("design large \"Invented\"\n");
    for index in 0..8000 {
        text += &format!("load  L{index}   12V 5W   # lamp {index}\n");
    }
    text
}

#[cfg(unix)]
#[test]
fn killed_at_any_point_it_leaves_the_old_file_or_the_new_one() {
    let old = large();
    let bench = Bench::new(&[("it.loom", old.as_bytes())]);
    let start = Instant::now();
    bench.run(&["tidy", "it.loom"]).ends(0);
    let whole = start.elapsed();
    let new = fs::read_to_string(bench.path("it.loom")).unwrap();
    let (mut n_old, mut n_new) = (0, 0);
    for step in 0..24 {
        fs::write(bench.path("it.loom"), &old).unwrap();
        let mut child =
            bench.command(&["tidy", "it.loom"]).stdout(std::process::Stdio::null()).spawn().unwrap();
        std::thread::sleep(whole * step / 8 + Duration::from_micros(u64::from(step) * 137));
        child.kill().unwrap();
        child.wait().unwrap();
        let is = fs::read_to_string(bench.path("it.loom")).unwrap();
        assert!(is == old || is == new, "{} bytes after step {step}", is.len());
        *(if is == old { &mut n_old } else { &mut n_new }) += 1;
    }
    assert!(n_old > 0, "no run was killed before its end");
    assert!(n_new > 0, "no run came to its end");
}

#[test]
fn a_tidy_design_is_judged_as_before() {
    for text in [WAGTAIL, ADRIFT] {
        let bench = Bench::new(&[("it.loom", text.as_bytes())]);
        let told = |ran: super::Ran| -> Vec<String> {
            ran.out.lines().map(|line| line.splitn(4, ':').nth(3).unwrap_or("").to_owned()).collect()
        };
        let before = told(bench.run(&["check", "it.loom"]));
        bench.run(&["tidy", "it.loom"]).ends(0);
        assert_eq!(told(bench.run(&["check", "it.loom"])), before);
    }
}

#[test]
fn libraries_are_reached_as_in_a_check() {
    let design = UNTIDY.replacen("\n\n", "\nuse \"../kits.loom\"\n", 1);
    let bench =
        Bench::new(&[("boats/a.loom", design.as_bytes()), ("kits.loom", b"library kits \"Invented\"\n")]);
    let ran = bench.run(&["tidy", "--check", "boats/a.loom", "--root", "boats"]).ends(2);
    assert!(ran.err.contains("language.use"), "{ran:#?}");
    bench.run(&["tidy", "--check", "boats/a.loom"]).ends(1);
    let path = bench.path("boats/a.loom");
    bench.run(&["tidy", shown(&path), "--root", shown(bench.folder.path())]).ends(0);
}
