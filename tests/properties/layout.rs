//! The standard form: laying out twice is laying out once, and neither a word, a comment nor a judgement changes.

use proptest::prelude::*;

use super::dice::{Dice, dice};
use super::random::{Draft, Manner, plain};
use super::{config, judge, options};
use ohmward::check::{Judgement, check_design};
use ohmward::compare::{Side, compare};
use ohmward::findings::Value;
use ohmward::text::MemoryFiles;
use ohmward::tidy::{Untidied, laid_out, tidy};

/// A kit, a part with terminals, settings and remarks, for what is not drawn at random.
const REST: &str = "part lug is load 12 V 5 W {\n  terminal + - stud M8 6 Nm\n  terminal case pin\n}\n\
    kit branch (at: terminal, run: length, what: text) {\n  load lamp = lug $what\n  \
    wire go from $at to lamp.+ 2.5 mm2 $run red\n  set lamp scene eco 3in \"a  b\"\n}\n\
    fit branch as one (at = plus2, run = 7in, what = \"Lamp #1\")\nset one/lamp absorption 14.4 V\n\
    bolt b1.- to minus3\n\
    waive connection.short on line:1 because \"drawn\" until 2027-01-01\n";

/// Words of a line; a text in quotes is one.
fn words(line: &str) -> Vec<String> {
    let (mut words, mut quoted, mut escaped) = (vec![String::new()], false, false);
    for one in line.chars() {
        if one == ' ' && !quoted {
            words.push(String::new());
            continue;
        }
        if let Some(last) = words.last_mut() {
            last.push(one);
        }
        quoted ^= one == '"' && !escaped;
        escaped = one == '\\' && !escaped;
    }
    words.retain(|word| !word.is_empty());
    words
}

/// What may be thrown into a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Throw {
    /// Space within lines.
    Space,
    /// That, and continuations, blank lines and comments.
    Lines,
}

/// The text with other space; and the comments that it has then.
fn scrambled(text: &str, dice: &mut Dice, throw: Throw) -> (String, Vec<String>) {
    let (mut out, mut comments) = (String::new(), Vec::new());
    let end = if dice.once_in(4) { "\r\n" } else { "\n" };
    let comment = |dice: &mut Dice| {
        (*dice.one_of(&["# why", "#", "# \"open", "#  two  blanks", "# ends in \\", "# Größe { }", "## =="]))
            .to_owned()
    };
    for line in text.lines() {
        if throw == Throw::Lines {
            for _ in 0..dice.below(8).saturating_sub(5) {
                out += *dice.one_of(&["", "  ", "\t"]);
                out += end;
            }
            if dice.once_in(8) {
                comments.push(comment(dice));
                out += &format!("{}{}{end}", " ".repeat(dice.below(9)), comments[comments.len() - 1]);
            }
        }
        let (code, own) = split_comment(line);
        let words = words(code);
        // The value of a setting without a meaning of its own is kept as it is written.
        let as_written = words.first().is_some_and(|word| word == "set");
        for (at, word) in words.iter().enumerate() {
            let gap = *dice.one_of(&[" ", " ", "  ", "\t", "     ", " \t "]);
            let digits = at > 0 && words[at - 1].bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
            let unit = ["V", "A", "W", "m", "mm2", "mm", "Ah", "kA", "mV", "Nm"].contains(&word.as_str());
            let glued = digits && unit && !as_written && dice.once_in(2);
            match (at, throw) {
                (0, _) => out += &" ".repeat(dice.below(6)),
                _ if glued => {}
                (_, Throw::Lines) if !word.starts_with('{') && dice.once_in(12) => {
                    out += &format!("{gap}\\{end}{gap}");
                }
                _ => out += gap,
            }
            out += word;
        }
        out += &" ".repeat(dice.below(3));
        if let Some(own) = own {
            comments.push(own.into());
            out += own;
        } else if throw == Throw::Lines && dice.once_in(8) {
            comments.push(comment(dice));
            out += &comments[comments.len() - 1];
        }
        out += end;
    }
    (out, comments)
}

fn split_comment(line: &str) -> (&str, Option<&str>) {
    let (mut quoted, mut escaped) = (false, false);
    for (at, one) in line.char_indices() {
        if one == '#' && !quoted {
            return (&line[..at], Some(line[at..].trim_end()));
        }
        quoted ^= one == '"' && !escaped;
        escaped = one == '\\' && !escaped;
    }
    (line, None)
}

fn comments(text: &str) -> Vec<String> {
    text.lines().filter_map(|line| split_comment(line).1).map(str::to_owned).collect()
}

/// Findings with their figures; a line is no subject that stays.
fn verdict(judgement: &Judgement) -> Vec<(String, String, bool, Vec<String>)> {
    let mut all: Vec<_> = judgement
        .findings
        .iter()
        .map(|finding| {
            let subject = if finding.subject.starts_with("line:") { "" } else { &finding.subject };
            let values = finding.values.iter().filter(|row| matches!(row.1, Value::Number(_)));
            let values = values.map(|(key, value)| format!("{key} {value:?}")).collect();
            (finding.rule.to_string(), subject.to_owned(), finding.waived.is_some(), values)
        })
        .collect();
    all.sort();
    all
}

/// Files beside a design that it may use, and the design.
fn files(text: &str) -> MemoryFiles {
    MemoryFiles::default()
        .with("parts.loom", include_str!("../../samples/parts.loom"))
        .with("lamp-parts.loom", include_str!("../../samples/faults/lamp-parts.loom"))
        .with("house.toml", include_str!("../../samples/house/house.toml"))
        .with("it.loom", text)
}

/// Two texts of one design, as `compare` sees it, which knows nothing of layout.
fn assert_one_design(before: &str, after: &str) {
    let judged = |text: &str| check_design("it.loom", &files(text), &options());
    let ((old, one), (new, two)) = (judged(before), judged(after));
    let (Some(one), Some(two)) = (&one, &two) else {
        assert!(one.is_none() && two.is_none(), "one of them is no design:\n{before}");
        return;
    };
    let told = compare(Side { design: one, judgement: &old }, Side { design: two, judgement: &new });
    // A waiver that names a line names another one where lines have moved.
    let moves = |name: &str| name.contains("line:");
    let of = told.elements;
    let entries = [of.added, of.removed].concat();
    assert!(entries.iter().all(|one| moves(&one.name)), "{entries:?} in\n{before}");
    assert!(of.changed.is_empty() && of.renamed.is_empty(), "{:?} {:?} in\n{before}", of.changed, of.renamed);
}

/// The laws of the form, on one text; gives the form.
fn held(text: &str) -> String {
    let files = files(text);
    let judged = judge(text);
    let in_the_language = judged.findings.iter().all(|finding| !finding.rule.starts_with("language."));
    let done = match tidy("it.loom", &files) {
        Ok(done) => done,
        Err(Untidied::Language(..)) => {
            assert!(!in_the_language, "refused:\n{text}");
            return String::new();
        }
        Err(why) => panic!("{why:?}:\n{text}"),
    };
    assert!(in_the_language, "taken:\n{text}");
    assert_eq!(laid_out(&done.after), done.after, "twice, of\n{text}");
    assert_eq!(comments(&done.after), comments(text), "comments of\n{text}");
    assert_eq!(verdict(&judge(done.after.as_str())), verdict(&judged), "findings of\n{text}");
    assert_one_design(text, &done.after);
    for line in done.after.lines() {
        assert_eq!(line, line.trim_end(), "blanks at the end of a line, of\n{text}");
    }
    assert!(!done.after.contains("\n\n\n") && !done.after.starts_with('\n') && done.after.ends_with('\n'));
    done.after
}

/// Whether a sample is one of those that are not in the language.
fn is_mistake(path: &str) -> bool {
    let name = path.rsplit('/').next().unwrap_or(path);
    name.starts_with("language.") && !name.ends_with(".mended.loom")
}

#[test]
fn samples_keep_what_they_say() {
    let house = ("curlew.loom".to_owned(), include_str!("../../samples/house/curlew.loom").to_owned());
    for (name, text) in super::samples().into_iter().chain([house]).filter(|row| !is_mistake(&row.0)) {
        assert!(!held(&text).is_empty(), "{name} is not in the language");
    }
}

/// Every file below `samples/`, by its path from there, with `/` between.
fn below_samples() -> Vec<(String, Vec<u8>)> {
    let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let (mut folders, mut all) = (vec![root.clone()], Vec::new());
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
                continue;
            }
            let parts = path.strip_prefix(&root).unwrap().iter().map(|part| part.to_string_lossy());
            all.push((parts.collect::<Vec<_>>().join("/"), std::fs::read(&path).unwrap()));
        }
    }
    all.sort();
    all
}

#[test]
fn samples_are_in_the_standard_form() {
    let all = below_samples();
    let files = all
        .iter()
        .fold(MemoryFiles::default(), |files, (path, text)| files.with(path.as_str(), text.clone()));
    let (mut n_looms, mut n_mistakes) = (0, 0);
    for (path, bytes) in all.iter().filter(|row| row.0.ends_with(".loom")) {
        n_looms += 1;
        // A checkout may have other line ends.
        let text = String::from_utf8(bytes.clone()).unwrap().replace("\r\n", "\n");
        assert_eq!(laid_out(&text), text, "{path} is not in the standard form: ohmward tidy samples");
        match tidy(path, &files) {
            Ok(done) => assert!(!done.changes() && !is_mistake(path), "{path}"),
            Err(Untidied::Language(..)) if is_mistake(path) => n_mistakes += 1,
            Err(why) => panic!("{path}: {why:?}"),
        }
    }
    assert!(130 < n_looms && n_mistakes == 7, "{n_looms} samples, {n_mistakes} of them mistakes");
}

proptest! {
    #![proptest_config(config(200))]

    #[test]
    fn a_sample_with_other_space(mut dice in dice(3000)) {
        let (_, text) = dice.one_of(&super::samples()).clone();
        let (space, _) = scrambled(&text, &mut dice, Throw::Space);
        // The form follows from the words alone.
        assert_eq!(laid_out(&space).replace("\r\n", "\n"), laid_out(&text), "of\n{space}");
        let (lines, own) = scrambled(&text, &mut dice, Throw::Lines);
        let form = laid_out(&lines);
        assert_eq!(comments(&form), own, "of\n{lines}");
        assert_eq!(laid_out(&form), form, "twice, of\n{lines}");
    }
}

proptest! {
    #![proptest_config(config(1000))]

    #[test]
    fn a_drawn_design(mut dice in dice(1500)) {
        let manner = *dice.one_of(&[Manner::Sane, Manner::Sane, Manner::Wild]);
        let text = plain(&Draft::new(&mut dice, manner).statements) + REST;
        let (space, _) = scrambled(&text, &mut dice, Throw::Space);
        assert_eq!(laid_out(&space).replace("\r\n", "\n"), laid_out(&text), "of\n{space}");
        let (lines, own) = scrambled(&text, &mut dice, Throw::Lines);
        assert_eq!(comments(&lines), own, "{lines}");
        held(&lines);
    }
}
