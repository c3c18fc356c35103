//! `ohmward extras`: completions and manual pages for who packages ohmward; they name what the binary takes.

use std::fs;
use std::process::Command;

use super::{Bench, Ran, has};

/// The commands that the binary's own help lists.
fn commands(bench: &Bench) -> Vec<String> {
    let help = bench.run(&["--help"]).ends(0).out;
    let (_, list) = help.split_once("Commands:\n").unwrap();
    let names = list.lines().take_while(|line| !line.is_empty()).filter(|line| line.starts_with("  "));
    let names =
        names.filter(|line| !line.starts_with("   ")).filter_map(|line| line.split_whitespace().next());
    names.filter(|name| *name != "help").map(str::to_owned).collect()
}

/// The long options of a command, by its own help.
fn options(bench: &Bench, command: &str) -> Vec<String> {
    let help = bench.run(&[command, "--help"]).ends(0).out;
    let words =
        help.lines().filter(|line| line.trim_start().starts_with('-')).flat_map(str::split_whitespace);
    let options = words.filter_map(|word| word.strip_prefix("--")).map(|word| word.trim_end_matches(','));
    options.filter(|word| !word.is_empty()).map(str::to_owned).collect()
}

#[test]
fn every_command_has_completions_and_a_page() {
    let bench = Bench::new(&[]);
    let ran = bench.run(&["extras", "-o", "made"]).ends(0);
    let commands = commands(&bench);
    for command in ["check", "compare", "study", "tidy", "rules", "editor"] {
        assert!(commands.iter().any(|one| one == command), "{command} is not in {commands:?}");
    }
    let names = |folder: &str| {
        let entries = fs::read_dir(bench.path(folder)).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    };
    let completions = ["_ohmward", "_ohmward.ps1", "ohmward.bash", "ohmward.elv", "ohmward.fish"];
    assert_eq!(names("made/completions"), completions);
    let mut pages: Vec<String> = commands.iter().map(|command| format!("ohmward-{command}.1")).collect();
    pages.push("ohmward.1".into());
    pages.sort();
    assert_eq!(names("made/man"), pages);
    assert_eq!((ran.out.as_str(), ran.err), ("", format!("note: {} files in made\n", 5 + pages.len())));
    let read = |name: String| fs::read_to_string(bench.path(&name)).unwrap();
    let whole = read("made/man/ohmward.1".into());
    for command in &commands {
        for name in completions {
            assert!(read(format!("made/completions/{name}")).contains(command.as_str()), "{name}: {command}");
        }
        // In a page a hyphen is written `\-`.
        let plain = |text: &str| text.replace("\\-", "-");
        assert!(plain(&whole).contains(&format!("ohmward-{command}(1)")), "{command} is not in ohmward.1");
        let page = plain(&read(format!("made/man/ohmward-{command}.1")));
        assert!(page.contains(".TH ") && page.contains(".SH OPTIONS"), "{page}");
        let (bash, options) = (read("made/completions/ohmward.bash".into()), options(&bench, command));
        assert!(options.iter().any(|option| option == "help"), "{command}: {options:?}");
        for option in options {
            assert!(page.contains(&format!("--{option}")), "--{option} is not in the page of {command}");
            assert!(bash.contains(&format!("--{option}")), "--{option} of {command} is not in ohmward.bash");
        }
    }
    // A second time it is the same, byte for byte.
    bench.run(&["extras", "-o", "again/and/again"]).ends(0);
    for (folder, name) in names("made/man")
        .into_iter()
        .map(|name| ("man", name))
        .chain(completions.map(|name| ("completions", name.into())))
    {
        let one = read(format!("made/{folder}/{name}"));
        assert!(!one.is_empty() && one == read(format!("again/and/again/{folder}/{name}")), "{name}");
    }
}

#[test]
fn what_bash_completes_with_them() {
    let bench = Bench::new(&[]);
    if !has("bash") {
        return;
    }
    bench.run(&["extras", "-o", "."]).ends(0);
    let bash = |script: &str| {
        let mut command = Command::new("bash");
        command.args(["--norc", "--noprofile"]).arg("-c").arg(script).current_dir(bench.folder.path());
        Ran::of(command.output().unwrap())
    };
    let ran = bash("bash -n completions/ohmward.bash").ends(0);
    assert_eq!((ran.out.as_str(), ran.err.as_str()), ("", ""));
    let complete = |words: &str, last: &str| {
        let script = format!(
            "source completions/ohmward.bash; COMP_WORDS=({words} {last}); COMP_CWORD=$((${{#COMP_WORDS[@]}} - 1)); \
             _ohmward ohmward {last} \"${{COMP_WORDS[COMP_CWORD-1]}}\"; printf '%s\\n' \"${{COMPREPLY[@]}}\""
        );
        bash(&script).ends(0).out.lines().map(str::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(complete("ohmward", "ti"), ["tidy"]);
    assert_eq!(complete("ohmward tidy", "--ch"), ["--check"]);
    assert_eq!(complete("ohmward check --fail-at", "nev"), ["never"]);
    assert_eq!(complete("ohmward", "chec"), ["check"]);
}

#[test]
fn a_place_that_cannot_be_written_is_told() {
    let bench = Bench::new(&[("file", b"kept")]);
    for place in ["file", "file/below"] {
        let ran = bench.run(&["extras", "-o", place]).ends(2);
        assert!(
            ran.err.starts_with(&format!("error: {place}")) && ran.err.contains("cannot be written: "),
            "{ran:#?}"
        );
    }
    assert_eq!(fs::read(bench.path("file")).unwrap(), b"kept");
    assert!(bench.run(&["extras"]).ends(2).err.contains("--output"));
}
