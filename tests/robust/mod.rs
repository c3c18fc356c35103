//! The binary on hostile files: huge, deep, broken, or no files at all. The bounds are generous; what they catch is a cost
//! that grows with the square of the size, a hang, or an output without end.

mod changing;
mod files;
mod large;
mod nets;

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use tempfile::TempDir;

/// Longest that one run may take in the test profile.
const LONGEST: Duration = Duration::from_secs(60);

/// A folder of its own with one design in it.
struct Place {
    folder: TempDir,
}

/// What a run left behind.
#[derive(Debug)]
struct Ran {
    code: Option<i32>,
    out: String,
    err: String,
}

impl Place {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap() }
    }

    fn with(text: impl AsRef<[u8]>) -> Self {
        let place = Self::new();
        fs::write(place.path("it.loom"), text).unwrap();
        place
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Runs `check` on a file; a run that does not end is stopped and fails.
    fn check(&self, file: &str) -> Ran {
        self.run(&["check", file, "--today", "2026-11-25"])
    }

    fn run(&self, arguments: &[&str]) -> Ran {
        let (out, err) = (self.path("out.txt"), self.path("err.txt"));
        let mut child = Command::new(env!("CARGO_BIN_EXE_ohmward"))
            .current_dir(self.folder.path())
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(File::create(&out).unwrap())
            .stderr(File::create(&err).unwrap())
            .spawn()
            .unwrap();
        let start = Instant::now();
        let status = loop {
            if let Some(status) = child.try_wait().unwrap() {
                break status;
            }
            if LONGEST < start.elapsed() {
                child.kill().unwrap();
                panic!("{arguments:?} does not end");
            }
            std::thread::sleep(Duration::from_millis(5));
        };
        let read = |path: &Path| String::from_utf8(fs::read(path).unwrap()).unwrap();
        Ran { code: status.code(), out: read(&out), err: read(&err) }
    }
}

impl Ran {
    /// The exit code, words in the output or beside it, and no more than `most` bytes of them.
    #[track_caller]
    fn is(&self, code: i32, words: &str, most: usize) {
        let shown: String = self.out.chars().chain(self.err.chars()).take(3000).collect();
        assert_eq!(self.code, Some(code), "{shown}");
        assert!(self.out.contains(words) || self.err.contains(words), "{words:?} is not in\n{shown}");
        assert!(!shown.contains("a fault of ohmward"), "{shown}");
        let size = self.out.len() + self.err.len();
        assert!(size <= most, "{size} bytes of output\n{shown}");
    }

    /// How many findings of a rule.
    fn count(&self, rule: &str) -> usize {
        self.out.lines().filter(|line| line.contains(&format!(": {rule}: "))).count()
    }
}

/// The first line of every design here.
const HEAD: &str = "design hostile \"Invented\"\n";
const HOUSE: &str = "battery house lifepo4 12 V 200 Ah fault 5 kA\n";
