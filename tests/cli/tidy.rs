//! `ohmward tidy`: what it changes, what it leaves, and what it says of it.

use std::fs;

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

/// As whom the binary is held to permissions: an ordinary user's own runs are; root's are given to nobody.
#[cfg(unix)]
mod permitted {
    use std::fs;
    use std::os::unix::fs::{PermissionsExt, chown};
    use std::os::unix::process::CommandExt;
    use std::path::Path;
    use std::process::{Command, Stdio};

    use super::super::{Bench, Ran};

    const NOBODY: u32 = 65_534;

    pub(super) fn mode(path: &Path, mode: u32) {
        fs::set_permissions(path, fs::Permissions::from_mode(mode)).unwrap();
    }

    fn is_root(bench: &Bench) -> bool {
        let probe = bench.path("probe");
        fs::write(&probe, "").unwrap();
        mode(&probe, 0);
        let reads = fs::read(&probe).is_ok();
        fs::remove_file(&probe).unwrap();
        reads
    }

    /// Gives the files to whom the binary runs as, lets `lock` take permissions away, runs, and gives them back.
    pub(super) fn run(bench: &Bench, arguments: &[&str], lock: &[(&str, u32)]) -> Ran {
        let root = is_root(bench);
        let own = tempfile::tempdir().unwrap();
        let mut command = if root {
            let binary = own.path().join("ohmward");
            fs::copy(env!("CARGO_BIN_EXE_ohmward"), &binary).unwrap();
            mode(own.path(), 0o755);
            mode(&binary, 0o755);
            let mut all = vec![bench.folder.path().to_owned()];
            while let Some(path) = all.pop() {
                chown(&path, Some(NOBODY), Some(NOBODY)).unwrap();
                if path.is_dir() {
                    all.extend(fs::read_dir(&path).unwrap().map(|entry| entry.unwrap().path()));
                }
            }
            let mut command = Command::new(binary);
            command.uid(NOBODY).gid(NOBODY);
            command
        } else {
            Command::new(env!("CARGO_BIN_EXE_ohmward"))
        };
        let before: Vec<_> =
            lock.iter().map(|row| fs::metadata(bench.path(row.0)).unwrap().permissions()).collect();
        for (name, bits) in lock {
            mode(&bench.path(name), *bits);
        }
        let output = command.args(arguments).current_dir(bench.folder.path()).stdin(Stdio::null()).output();
        for ((name, _), permissions) in lock.iter().zip(before) {
            fs::set_permissions(bench.path(name), permissions).unwrap();
        }
        Ran::of(output.unwrap())
    }
}

#[cfg(unix)]
#[test]
fn a_folder_that_takes_no_file_leaves_the_old_one_and_the_others_are_done() {
    let bench = Bench::new(&[
        ("a.loom", UNTIDY.as_bytes()),
        ("kept/b.loom", UNTIDY.as_bytes()),
        ("kept/tidy.loom", TIDY.as_bytes()),
        ("z.loom", UNTIDY.as_bytes()),
    ]);
    // What is only looked at needs no place to write.
    let ran = permitted::run(&bench, &["tidy", "--check"], &[("kept", 0o555)]).ends(1);
    assert!(ran.err.is_empty() && ran.out.contains("kept/b.loom:1: would change"), "{ran:#?}");
    let ran = permitted::run(&bench, &["tidy"], &[("kept", 0o555)]).ends(2);
    assert!(ran.err.contains("kept/b.loom cannot be written: "), "{ran:#?}");
    assert_eq!((ran.out.as_str(), ran.err.lines().count()), ("a.loom: tidied\nz.loom: tidied\n", 1));
    let read = |name: &str| fs::read_to_string(bench.path(name)).unwrap();
    assert_eq!((read("kept/b.loom").as_str(), read("a.loom").as_str()), (UNTIDY, TIDY));
    assert_eq!(fs::read_dir(bench.path("kept")).unwrap().count(), 2);
    permitted::run(&bench, &["tidy"], &[]).ends(0);
    assert_eq!(read("kept/b.loom"), TIDY);
}

#[cfg(unix)]
#[test]
fn what_cannot_be_read_is_told_and_the_others_are_done() {
    let bench = Bench::new(&[
        ("a.loom", UNTIDY.as_bytes()),
        ("closed/in.loom", UNTIDY.as_bytes()),
        ("secret.loom", UNTIDY.as_bytes()),
        ("user.loom", b"design user \"Invented\"\nuse \"secret.loom\"\nload   L 1 A\n"),
        ("z.loom", UNTIDY.as_bytes()),
    ]);
    for arguments in [&["tidy", "--check"][..], &["tidy"]] {
        let ran = permitted::run(&bench, arguments, &[("secret.loom", 0), ("closed", 0)]).ends(2);
        let names = ran.out.lines().filter(|line| !line.starts_with(' '));
        let names: Vec<&str> = names.filter_map(|line| line.split(':').next()).collect();
        assert_eq!(names, ["a.loom", "z.loom"], "{ran:#?}");
        for told in ["closed", "secret.loom: error: ", "user.loom: left as it is: "] {
            assert!(ran.err.contains(told), "{told} is not in {ran:#?}");
        }
    }
    let read = |name: &str| fs::read_to_string(bench.path(name)).unwrap();
    assert_eq!((read("secret.loom").as_str(), read("closed/in.loom").as_str()), (UNTIDY, UNTIDY));
    assert_eq!((read("a.loom").as_str(), read("z.loom").as_str()), (TIDY, TIDY));
    // A link to nowhere, among others and by its name.
    std::os::unix::fs::symlink("nowhere.loom", bench.path("lost.loom")).unwrap();
    for arguments in [&["tidy"][..], &["tidy", "lost.loom", "a.loom"]] {
        let ran = bench.run(arguments).ends(2);
        assert!(ran.err.contains("lost.loom"), "{ran:#?}");
    }
}

/// Kills at what a run can be seen to have done, not at a time: as soon as it has started, when its new text has begun,
/// when so much of it is there, and when it stands in the old one's place.
#[cfg(unix)]
#[test]
fn killed_at_any_point_it_leaves_the_old_file_or_the_new_one() {
    let old = large();
    let bench = Bench::new(&[("it.loom", old.as_bytes())]);
    bench.run(&["tidy", "it.loom"]).ends(0);
    let new = fs::read_to_string(bench.path("it.loom")).unwrap();
    let half_done = || {
        let names = fs::read_dir(bench.folder.path()).unwrap().map(|entry| entry.unwrap().path());
        names.filter(|path| path.file_name().is_some_and(|name| name != "it.loom")).collect::<Vec<_>>()
    };
    let written = || half_done().iter().filter_map(|path| Some(fs::metadata(path).ok()?.len())).max();
    let len = |text: &str| u64::try_from(text.len()).unwrap();
    let replaced = || fs::metadata(bench.path("it.loom")).is_ok_and(|about| about.len() == len(&new));
    assert_ne!(old.len(), new.len());
    let mut left = Vec::new();
    for step in 0..24 {
        fs::write(bench.path("it.loom"), &old).unwrap();
        let mut child =
            bench.command(&["tidy", "it.loom"]).stdout(std::process::Stdio::null()).spawn().unwrap();
        let is_there = || match step {
            0 => true,
            1..=21 => written().is_some_and(|bytes| len(&new) * (step - 1) / 20 <= bytes) || replaced(),
            _ => replaced(),
        };
        while !is_there() && child.try_wait().unwrap().is_none() {
            std::thread::yield_now();
        }
        child.kill().unwrap();
        child.wait().unwrap();
        let is = fs::read_to_string(bench.path("it.loom")).unwrap();
        assert!(is == old || is == new, "{} bytes after step {step}", is.len());
        left.push(is == new);
        // What is left beside it is no design, so the next run does not stumble over it.
        for path in half_done() {
            let name = path.file_name().unwrap().to_str().unwrap();
            assert!(name.starts_with(".ohmward-") && path.extension().is_none(), "{name} is left");
            fs::remove_file(path).unwrap();
        }
    }
    assert_eq!((left.first(), left.last()), (Some(&false), Some(&true)), "{left:?}");
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
