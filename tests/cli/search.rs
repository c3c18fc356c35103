//! Which designs a folder has: the same on every machine, each once, and none of them unseen.

use std::fs;

use super::{ADRIFT, Bench, WAGTAIL};

fn files(ran: &super::Ran) -> Vec<String> {
    let document = ran.json();
    let designs = document["designs"].as_array().unwrap();
    designs.iter().map(|design| design["file"].as_str().unwrap().to_owned()).collect()
}

/// Two names that are shown alike where bytes that are no text are left out.
#[cfg(target_os = "linux")]
#[test]
fn names_that_are_no_text_are_refused_and_hide_nothing() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;
    let bench =
        Bench::new(&[("boats/z.loom", ADRIFT.as_bytes()), ("boats/a\u{fffd}.loom", WAGTAIL.as_bytes())]);
    let boats = bench.path("boats");
    fs::write(boats.join(OsStr::from_bytes(b"a\xff.loom")), WAGTAIL).unwrap();
    fs::write(boats.join(OsStr::from_bytes(b"a\xfe.loom")), ADRIFT).unwrap();
    let folder = boats.join(OsStr::from_bytes(b"b\xff"));
    fs::create_dir(&folder).unwrap();
    fs::write(folder.join("c.loom"), ADRIFT).unwrap();
    let why = "its name, or a folder's on the way to it, is not text in UTF-8: give it another name";
    let ran = bench.run(&["check", "boats"]).ends(2);
    for name in [r"boats/a\xfe.loom", r"boats/a\xff.loom", r"boats/b\xff/c.loom"] {
        assert!(ran.out.contains(&format!("{name}: error: {why}\n")), "{name}: {ran:#?}");
    }
    assert!(ran.out.contains("boats/z.loom:4:6: error: protection.missing"), "{ran:#?}");
    let whole = bench.run(&["check", "boats", "--as", "json"]).ends(2);
    assert_eq!(
        files(&whole),
        [
            r"boats/a\xfe.loom",
            r"boats/a\xff.loom",
            "boats/a\u{fffd}.loom",
            r"boats/b\xff/c.loom",
            "boats/z.loom"
        ]
    );
    fs::write(bench.path("1.json"), &whole.out).unwrap();
    assert_eq!(bench.run(&["check", "--join", "1.json"]).ends(2).out, whole.out);
    let mut command = bench.command(&["check"]);
    let ran = super::Ran::of(command.arg(OsStr::from_bytes(b"boats/a\xfe.loom")).output().unwrap()).ends(2);
    assert!(ran.out.contains(why), "{ran:#?}");
    let ran = bench.run(&["tidy", "boats"]).ends(2);
    assert_eq!(ran.err.matches(why).count(), 3, "{ran:#?}");
    assert_eq!(fs::read_to_string(boats.join(OsStr::from_bytes(b"a\xfe.loom"))).unwrap(), ADRIFT);
    let mut command = bench.command(&["compare", "--git", "HEAD"]);
    let ran = super::Ran::of(command.arg(OsStr::from_bytes(b"boats/a\xfe.loom")).output().unwrap()).ends(2);
    assert!(ran.err.contains("its name is not text in UTF-8"), "{ran:#?}");
    // A library of which a link leads to such a name.
    std::os::unix::fs::symlink(OsStr::from_bytes(b"a\xff.loom"), boats.join("kits.loom")).unwrap();
    fs::write(boats.join("y.loom"), ADRIFT.replacen("\nbattery", "\nuse \"kits.loom\"\nbattery", 1)).unwrap();
    let ran = bench.run(&["check", "boats/y.loom"]).ends(2);
    assert!(ran.out.contains("it leads to a file whose name is not text in UTF-8"), "{ran:#?}");
}

/// What is passed over is said in the tree that is searched, and nowhere else.
#[test]
fn settings_of_one_machine_pass_over_nothing() {
    if !super::has("git") {
        return;
    }
    let bench = Bench::new(&[
        ("boats/a.loom", ADRIFT.as_bytes()),
        ("boats/b.loom", ADRIFT.as_bytes()),
        ("boats/old/c.loom", ADRIFT.as_bytes()),
        (".gitignore", b"old/\n"),
        ("excludes", b"b.loom\n"),
        ("home/.config/git/ignore", b"b.loom\n"),
    ]);
    let git = |arguments: &[&str]| {
        let mut git = std::process::Command::new("git");
        assert!(git.current_dir(bench.folder.path()).args(arguments).output().unwrap().status.success());
    };
    git(&["init", "-q"]);
    git(&["config", "core.excludesFile", "excludes"]);
    fs::write(bench.path(".git/info/exclude"), "a.loom\n").unwrap();
    let mut command = bench.command(&["check", "boats", "--as", "json"]);
    let ran = super::Ran::of(command.env("HOME", bench.path("home")).output().unwrap()).ends(1);
    assert_eq!(files(&ran), ["boats/a.loom", "boats/b.loom"]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_list_of_what_to_pass_over_that_never_ends_is_told() {
    let bench = Bench::new(&[
        ("fleet/a/a.loom", ADRIFT.as_bytes()),
        ("fleet/b/b.loom", ADRIFT.as_bytes()),
        ("fleet/c/c.loom", ADRIFT.as_bytes()),
    ]);
    let made = std::process::Command::new("mkfifo").arg(bench.path("fleet/a/.gitignore")).status();
    assert!(made.unwrap().success());
    std::os::unix::fs::symlink("/dev/zero", bench.path("fleet/b/.ignore")).unwrap();
    let ran = bench.run(&["check", "fleet"]).ends(2);
    for name in ["a/.gitignore", "b/.ignore"] {
        let told = format!(
            "fleet/{name}: error: it is a pipe or a device, not a file; its folder is not searched\n"
        );
        assert!(ran.out.contains(&told), "{ran:#?}");
    }
    assert!(ran.out.contains("fleet/c/c.loom:4:6: error: protection.missing"), "{ran:#?}");
    assert!(!ran.out.contains("a.loom"), "{ran:#?}");
    // In the folder itself, and in one that it lies in.
    for folder in ["fleet/b", "fleet/b/deeper"] {
        fs::create_dir_all(bench.path("fleet/b/deeper")).unwrap();
        let ran = bench.run(&["check", folder]).ends(2);
        assert!(ran.out.contains("b/.ignore: error: it is a pipe or a device"), "{ran:#?}");
    }
}

#[test]
fn what_no_list_can_mean_is_told_and_passed() {
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes()), (".ignore", b"{x\nb.loom\n"), ("b.loom", b"")]);
    let ran = bench.run(&["check", "."]).ends(1);
    assert!(ran.err.starts_with("note: ./.ignore: line 1: "), "{ran:#?}");
    assert!(!ran.out.contains("b.loom"), "{ran:#?}");
}

/// In a hook git tells its own repository, which may be another than the file's.
#[test]
fn the_repository_of_a_file_follows_from_the_file() {
    if !super::has("git") {
        return;
    }
    let bench = Bench::new(&[("mine/boats/a.loom", ADRIFT.as_bytes()), ("other/a.loom", WAGTAIL.as_bytes())]);
    for folder in ["mine", "other"] {
        for arguments in [
            &["init", "-q"][..],
            &["add", "."],
            &["-c", "user.name=A", "-c", "user.email=a@example.com", "commit", "-q", "-m", "one"],
        ] {
            let mut git = std::process::Command::new("git");
            assert!(git.current_dir(bench.path(folder)).args(arguments).output().unwrap().status.success());
        }
    }
    for set in ["../other/.git", ".git"] {
        let mut command = bench.command(&["compare", "--git", "HEAD", "boats/a.loom"]);
        let ran = super::Ran::of(
            command
                .current_dir(bench.path("mine"))
                .env("GIT_DIR", set)
                .env("GIT_PREFIX", "x/")
                .output()
                .unwrap(),
        );
        assert_eq!(ran.ends(0).out, "nothing has changed from boats/a.loom at HEAD to boats/a.loom\n");
    }
    let ran = bench.run(&["compare", "--git", "HEAD", "mine/boats"]).ends(2);
    assert_eq!(ran.err, "error: mine/boats is a folder, not a design\n");
}

/// A book that is named for a run goes from where the run is started, and is looked at once.
#[test]
fn a_book_of_a_run_goes_from_the_current_folder() {
    let book = "title = \"Ours\"\nbased-on = \"base.toml\"\n[rules]\n\"protection.missing\" = { severity = \"warning\" }\n";
    let base = "title = \"Base\"\nbased-on = \"common-practice\"\n";
    let bench = Bench::new(&[
        ("fleet/boats/a.loom", ADRIFT.as_bytes()),
        ("fleet/vans/b.loom", ADRIFT.as_bytes()),
        ("books/ours.toml", book.as_bytes()),
        ("books/base.toml", base.as_bytes()),
        ("books/wrong.toml", b"title = 3\n"),
    ]);
    let told = |folder: &str, arguments: &[&str]| {
        super::Ran::of(bench.command(arguments).current_dir(bench.path(folder)).output().unwrap())
    };
    for (folder, paths, book) in [
        ("", ["fleet/boats", "fleet/vans"], "books/ours.toml"),
        ("fleet", ["boats", "vans"], "../books/ours.toml"),
        ("books", ["../fleet/boats/a.loom", "../fleet/vans"], "ours.toml"),
    ] {
        for more in [&[][..], &["--cache", "../kept"], &["--cache", "../kept"]] {
            let ran =
                told(folder, &[&["check", paths[0], paths[1], "--book", book][..], more].concat()).ends(0);
            assert_eq!(ran.out.matches("warning: protection.missing: ").count(), 2, "{ran:#?}");
        }
        let ran =
            told(folder, &["study", &format!("{}/", paths[0]).replace(".loom/", ".loom"), "--book", book]);
        assert!(ran.code == Some(2) || ran.out.contains("by book"), "{ran:#?}");
    }
    let ran = bench.run(&["compare", "fleet/boats/a.loom", "fleet/vans/b.loom", "--book", "books/ours.toml"]);
    ran.ends(0);
    for command in [&["check"][..], &["study"], &["compare", "fleet/vans/b.loom"]] {
        let ran = bench.run(&[command, &["fleet/boats/a.loom", "--book", "none.toml"]].concat()).ends(2);
        assert_eq!(ran.err, "error: none.toml cannot be read: there is no such file\n", "{command:?}");
        assert_eq!(ran.out, "");
        let ran = bench.run(&[command, &["fleet/boats/a.loom", "--book", "marin"]].concat()).ends(2);
        assert!(ran.err.contains("there is no book marin"), "{ran:#?}");
        let ran =
            bench.run(&[command, &["fleet/boats/a.loom", "--book", "books/wrong.toml"]].concat()).ends(2);
        assert!(ran.err.contains("books/wrong.toml") && ran.out.is_empty(), "{ran:#?}");
    }
}
