//! A fleet that does not stand still: files that change, vanish and come back while it is judged, and folders that may not
//! be read.

use std::fs;
use std::sync::atomic::{AtomicBool, Ordering};

use super::{Place, Ran};

const KITS: &str = "library kits \"Invented\"\nkit lamp (at: terminal) {\n  load lamp 12 V 6 W\n  wire P from $at to lamp.+ 1.5 mm2 1 m red\n}\n";

fn design(number: usize) -> String {
    format!(
        "design d{number} \"Invented\"\nuse \"kits.loom\"\nbattery house lifepo4 12 V 200 Ah fault 5 kA\n\
         fit lamp as first (at = house.+)\nwire N from first/lamp.- to house.- 1.5 mm2 1 m black\n"
    )
}

fn name(number: usize) -> String {
    format!("{number:03}.loom")
}

#[test]
fn files_change_and_vanish_meanwhile() {
    const MANY: usize = 200;
    let place = Place::new();
    let stop = AtomicBool::new(false);
    fs::write(place.path("kits.loom"), KITS).unwrap();
    for number in 0..MANY {
        fs::write(place.path(&name(number)), design(number)).unwrap();
    }
    std::thread::scope(|scope| {
        scope.spawn(|| {
            for round in 0_usize.. {
                if stop.load(Ordering::Relaxed) {
                    break;
                }
                // Every third stands still, every third vanishes and comes back, every third is rewritten in two steps.
                let number = round % MANY;
                let path = place.path(&name(number));
                match number % 3 {
                    0 => {}
                    1 if (round / MANY).is_multiple_of(2) => drop(fs::remove_file(&path)),
                    1 => fs::write(&path, design(number)).unwrap(),
                    _ => fs::write(&path, design(number)).unwrap(),
                }
                if number.is_multiple_of(50) {
                    let text = if round.is_multiple_of(2) { "library kits \"Invented\"\n" } else { KITS };
                    fs::write(place.path("kits.loom"), text).unwrap();
                }
            }
        });
        for round in 0..6 {
            let cache = if round % 2 == 0 { &["--cache", "kept"][..] } else { &[] };
            let arguments = ["check", ".", "--as", "json", "--today", "2026-11-25"];
            let ran = place.run(&[&arguments[..], cache].concat());
            if let Some(wrong) = wrong(&ran, MANY) {
                stop.store(true, Ordering::Relaxed);
                panic!("{wrong}");
            }
        }
        stop.store(true, Ordering::Relaxed);
    });
    // Once it stands still, all of it is judged as if nothing had been.
    fs::write(place.path("kits.loom"), KITS).unwrap();
    for number in 0..MANY {
        fs::write(place.path(&name(number)), design(number)).unwrap();
    }
    let arguments = ["check", ".", "--as", "json", "--today", "2026-11-25"];
    let without = place.run(&arguments);
    let with = place.run(&[&arguments[..], &["--cache", "kept"]].concat());
    assert_eq!((without.code, &without.out), (with.code, &with.out));
    assert_eq!(without.code, Some(1), "{}", without.err);
}

/// What is wrong with a run over files that change: `None` if each design is judged or told, and those that stand still are
/// all there.
fn wrong(ran: &Ran, many: usize) -> Option<String> {
    let document: serde_json::Value = match serde_json::from_str(&ran.out) {
        Ok(document) => document,
        Err(error) => return Some(format!("{error}: {ran:#?}")),
    };
    if !matches!(ran.code, Some(1 | 2)) || ran.out.contains("a fault of ohmward") {
        return Some(format!("{ran:#?}"));
    }
    let designs = document["designs"].as_array().cloned().unwrap_or_default();
    let still = (0..many).filter(|number| number % 3 == 0).map(name);
    for file in still {
        let design = designs.iter().find(|design| design["file"] == file.as_str());
        let findings = design.and_then(|design| design["findings"].as_array());
        if findings.is_none_or(Vec::is_empty) {
            return Some(format!("{file} is not judged: {design:?}"));
        }
    }
    None
}

#[cfg(unix)]
#[test]
fn folders_and_files_that_may_not_be_read() {
    use std::os::unix::fs::PermissionsExt;
    use std::process::{Command, Stdio};
    let place = Place::new();
    let mode = |name: &str, mode: u32| {
        fs::set_permissions(place.path(name), fs::Permissions::from_mode(mode)).unwrap();
    };
    for name in ["open", "shut"] {
        fs::create_dir(place.path(name)).unwrap();
        fs::write(place.path(&format!("{name}/kits.loom")), KITS).unwrap();
        fs::write(place.path(&format!("{name}/1.loom")), design(1)).unwrap();
        fs::write(place.path(&format!("{name}/2.loom")), design(2)).unwrap();
    }
    std::os::unix::fs::symlink("..", place.path("open/round")).unwrap();
    let user =
        fs::metadata(place.path("open")).map(|about| std::os::unix::fs::MetadataExt::uid(&about)).unwrap();
    mode(".", 0o755);
    mode("open/2.loom", 0);
    mode("shut", 0);
    // The superuser may read everything, so that run is somebody else's.
    let binary = place.path("ohmward");
    if fs::hard_link(env!("CARGO_BIN_EXE_ohmward"), &binary).is_err() {
        fs::copy(env!("CARGO_BIN_EXE_ohmward"), &binary).unwrap();
    }
    let mut command = match user {
        0 => {
            let mut command = Command::new("setpriv");
            command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(&binary);
            command
        }
        _ => Command::new(&binary),
    };
    let arguments = ["check", ".", "--as", "lines", "--today", "2026-11-25"];
    let done = command.args(arguments).current_dir(place.folder.path()).stdin(Stdio::null()).output();
    mode("shut", 0o755);
    mode("open/2.loom", 0o644);
    let done = match done {
        Ok(done) => done,
        Err(error) if std::env::var_os("CI").is_none() => {
            return println!("skipped: setpriv does not run here: {error}");
        }
        Err(error) => panic!("setpriv, of the package util-linux, does not run: {error}"),
    };
    let (out, err) = (String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap());
    assert_eq!(done.status.code(), Some(2), "{out}{err}");
    assert!(
        out.contains("open/kits.loom:4:8: error: protection.missing: first/P"),
        "the rest is judged: {out}{err}"
    );
    let told = format!("{out}{err}");
    assert!(told.contains("open/2.loom: error: reading it is not permitted"), "{told}");
    assert!(told.contains("shut: error: reading it is not permitted"), "{told}");
    assert!(!told.contains("round"), "a link to a folder around is not followed: {told}");
}
