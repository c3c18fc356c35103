//! The standard form: laying out twice is laying out once, and neither a word, a comment nor a judgement changes.

use proptest::prelude::*;

use super::dice::{Dice, dice};
use super::random::{Draft, Manner, plain};
use super::{config, judge};
use ohmward::check::Judgement;
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

/// The laws of the form, on one text; gives the form.
fn held(text: &str) -> String {
    let files = MemoryFiles::default()
        .with("parts.loom", include_str!("../../samples/parts.loom"))
        .with("lamp-parts.loom", include_str!("../../samples/faults/lamp-parts.loom"))
        .with("it.loom", text);
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
    for line in done.after.lines() {
        assert_eq!(line, line.trim_end(), "blanks at the end of a line, of\n{text}");
    }
    assert!(!done.after.contains("\n\n\n") && !done.after.starts_with('\n') && done.after.ends_with('\n'));
    done.after
}

/// Samples that are in the language: all but the mistakes.
fn samples() -> impl Iterator<Item = (String, String)> {
    let mistake = |name: &str| name.starts_with("language.") && !name.ends_with(".mended.loom");
    super::samples().into_iter().filter(move |row| !mistake(&row.0))
}

#[test]
fn samples_keep_what_they_say() {
    for (name, text) in samples() {
        assert!(!held(&text).is_empty(), "{name} is not in the language");
    }
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
