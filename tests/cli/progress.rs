//! How far a run is: shown on a terminal, and never anywhere else.

use std::fs;
use std::process::{Command, Stdio};

use super::{ADRIFT, Bench, Ran};

/// More designs than are judged before anybody looks.
fn fleet() -> Bench {
    let bench = Bench::new(&[]);
    for number in 0..150 {
        fs::write(bench.path(&format!("{number:03}.loom")), ADRIFT).unwrap();
    }
    bench
}

#[test]
fn nothing_of_it_in_a_pipe() {
    let bench = fleet();
    let ran = bench.run(&["check", "."]).ends(1);
    assert_eq!(ran.err, "");
    assert!(!ran.out.contains('\u{1b}') && !ran.out.contains("designs judged"), "{}", ran.out);
}

#[test]
fn on_a_terminal_it_counts_and_clears_itself() {
    let bench = fleet();
    let piped = bench.run(&["check", "."]).ends(1);
    // Findings go to a file, so that the terminal has what goes to standard error alone.
    let line = format!("'{}' check . --as lines >found.txt", env!("CARGO_BIN_EXE_ohmward"));
    let ran = Command::new("script")
        .args(["--quiet", "--return", "--command", &line, "/dev/null"])
        .env("TERM", "xterm")
        .env("COLUMNS", "80")
        .current_dir(bench.folder.path())
        .stdin(Stdio::null())
        .output();
    let ran = match ran {
        Ok(ran) => Ran::of(ran),
        Err(error) if std::env::var_os("CI").is_none() => {
            return println!("skipped: script does not run here: {error}");
        }
        Err(error) => panic!("script, of the package bsdutils, does not run: {error}"),
    };
    assert_eq!(ran.code, Some(1), "{ran:#?}");
    assert!(ran.out.contains(" of 150 designs judged "), "{ran:#?}");
    // The last that is done to the line is to clear it.
    let last = ran.out.rsplit("designs judged").next().unwrap_or_default();
    assert!(last.contains("\u{1b}[2K"), "{last:?}");
    assert_eq!(fs::read_to_string(bench.path("found.txt")).unwrap(), piped.out);
}
