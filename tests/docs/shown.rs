//! Commands that a page shows with their output, run again.
//!
//! A block of the kind `loom` with a name after it is a file; blocks of one page share a folder, and a later file of the
//! same name replaces the earlier. In a block of the kind `console` each line that begins with `$ ` is a command. A
//! command without `--as` shows what a terminal of 80 columns shows without colours.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use ohmward::render::{Human, Manner, Output, Tally};

use super::pages::{blocks, root};
use super::reference::{TODAY, judged};

const DRAWN: Human = Human { manner: Manner::Drawn { color: false, unicode: true }, width: 80 };
const TOLD: Human = Human { manner: Manner::Told, width: 80 };

/// A page with the output of its commands as it is now.
pub(super) fn again(page: &str, text: &str) -> String {
    let folder = tempfile::tempdir().expect("a folder of its own");
    let mut bench = Bench { folder: folder.path(), page, last: 0 };
    let (mut new, mut at) = (String::new(), 0);
    for block in blocks(text) {
        if let Some(("loom", name)) = block.info.split_once(' ') {
            fs::write(folder.path().join(name), &block.text).expect("a file");
        } else if block.kind() == "console" {
            new += &text[at..block.start];
            for command in block.text.lines().filter_map(|line| line.strip_prefix("$ ")) {
                new += &format!("$ {command}\n{}", bench.run(command));
            }
            at = block.end;
        }
    }
    new + &text[at..]
}

struct Bench<'p> {
    folder: &'p Path,
    page: &'p str,
    last: i32,
}

impl Bench<'_> {
    fn run(&mut self, command: &str) -> String {
        // Through a pipe the binary has no terminal, and here it has none either.
        let words: Vec<&str> = command.strip_suffix(" | cat").unwrap_or(command).split(' ').collect();
        let (arguments, from) = match words.as_slice() {
            ["echo", "$?"] => return format!("{}\n", self.last),
            ["cargo", "run", "--release", "--", arguments @ ..] => (arguments, root()),
            ["ohmward", arguments @ ..] => (arguments, self.folder),
            _ => panic!("{} shows `{command}`, which no test runs", self.page),
        };
        let (code, out) = binary(arguments, from);
        self.last = code;
        if arguments.first() != Some(&"check") || arguments.contains(&"--as") || arguments.contains(&"-o") {
            return out;
        }
        // The binary has no terminal here. What it would draw on one is drawn by the library, held to what it tells.
        let &[_, path, ref rest @ ..] = arguments else { panic!("{}: `{command}` has no path", self.page) };
        let text = fs::read_to_string(from.join(path)).unwrap_or_else(|error| panic!("{path}: {error}"));
        let explain = rest == ["--explain-all"];
        assert!(explain || rest.is_empty(), "{}: `{command}` has options that cannot be drawn", self.page);
        let (_, told) = binary(&[arguments, &["--as", "human"]].concat(), from);
        let files = with_libraries(from, path, &text);
        assert_eq!(drawn(TOLD, path, &files, explain), told, "{}: `{command}`", self.page);
        drawn(DRAWN, path, &files, explain)
    }
}

/// A design and the libraries beside it that it uses, by their paths.
fn with_libraries(from: &Path, path: &str, text: &str) -> Vec<(String, String)> {
    let used = text.lines().filter_map(|line| line.strip_prefix("use \"")?.strip_suffix('"'));
    let beside = used.map(|library| {
        let path = Path::new(path).with_file_name(library).to_string_lossy().into_owned();
        let text = fs::read_to_string(from.join(&path)).unwrap_or_else(|error| panic!("{path}: {error}"));
        (path, text)
    });
    [(path.to_owned(), text.to_owned())].into_iter().chain(beside).collect()
}

fn drawn(output: Human, path: &str, files: &[(String, String)], explain: bool) -> String {
    let files: Vec<(&str, &str)> = files.iter().map(|file| (file.0.as_str(), file.1.as_str())).collect();
    let mut judgement = judged(path, &files);
    if !explain {
        judgement.wires = None;
    }
    let mut out = Vec::new();
    output.design(&judgement, &mut out).expect("room in memory");
    output.end(&Tally::of(&judgement), &mut out).expect("room in memory");
    String::from_utf8(out).expect("UTF-8")
}

fn binary(arguments: &[&str], from: &Path) -> (i32, String) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_ohmward"));
    command.args(arguments).current_dir(from).stdin(Stdio::null());
    if arguments.first() == Some(&"check") {
        command.args(["--today", TODAY]);
    }
    let output = command.env("NO_COLOR", "1").env_remove("COLUMNS").output().expect("the binary runs");
    let text = String::from_utf8(output.stdout).expect("UTF-8") + &String::from_utf8_lossy(&output.stderr);
    (output.status.code().expect("an exit code"), text)
}
