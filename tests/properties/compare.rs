//! Comparing designs made at random: the other way round it is the same mirrored, and what was edited is what is told.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::config;
use super::dice::{Dice, dice};
use super::random::{Draft, Manner, plain, text};
use ohmward::check::{Judgement, Options, check_design};
use ohmward::compare::{Comparison, Side, compare};
use ohmward::design::{Date, Design};
use ohmward::text::MemoryFiles;

fn judged(text: &str) -> Option<(Judgement, Design)> {
    let Some(today) = Date::parse("2026-11-25") else { panic!("a day") };
    let files = MemoryFiles::default().with("it.loom", text);
    let (judgement, design) = check_design("it.loom", &files, &Options::on(today));
    Some((judgement, design?))
}

fn compared(old: &(Judgement, Design), new: &(Judgement, Design)) -> Comparison {
    let side = |one| {
        let (judgement, design): &(Judgement, Design) = one;
        Side { design, judgement }
    };
    compare(side(old), side(new))
}

/// Everything that is told, with the sides exchanged where asked: a comparison and its mirror are the same lists.
fn facts(comparison: &Comparison, turned: bool, sides: [&Judgement; 2]) -> Vec<String> {
    let elements = &comparison.elements;
    let exchanged = |a: String, b: String| if turned { (b, a) } else { (a, b) };
    let (come, gone) = if turned { ("-", "+") } else { ("+", "-") };
    let mut all: Vec<String> = Vec::new();
    all.extend(elements.added.iter().map(|one| format!("{come} {} {}", one.kind, one.name)));
    all.extend(elements.removed.iter().map(|one| format!("{gone} {} {}", one.kind, one.name)));
    for change in elements.changed.iter().flat_map(|one| &one.changes) {
        let [from, to] = [&change.from, &change.to].map(|value| value.clone().unwrap_or_default());
        let (from, to) = exchanged(from, to);
        all.push(format!("~ {from} -> {to}"));
    }
    for one in &elements.renamed {
        let (was, is) = exchanged(one.was.clone(), one.name.clone());
        all.push(format!("= {was} -> {is}"));
    }
    let findings =
        [(&comparison.findings.gained, sides[1], come), (&comparison.findings.lost, sides[0], gone)];
    for (changes, judgement, sign) in findings {
        for change in changes {
            let finding = &judgement.findings[change.at];
            all.push(format!("{sign} {} {}", finding.rule, finding.subject));
        }
    }
    all.sort();
    all
}

fn mirrors(old: &str, new: &str) -> Result<(), TestCaseError> {
    let (Some(one), Some(other)) = (judged(old), judged(new)) else { return Ok(()) };
    let there = facts(&compared(&one, &other), false, [&one.0, &other.0]);
    let back = facts(&compared(&other, &one), true, [&other.0, &one.0]);
    prop_assert_eq!(there, back, "{}\nbecame\n{}", old, new);
    prop_assert!(compared(&one, &one).is_empty(), "{}", old);
    Ok(())
}

/// Statements taken out, doubled under other names, and names handed on to others.
fn harmed(statements: &[String], dice: &mut Dice) -> String {
    let mut all = statements.to_vec();
    for _ in 0..dice.below(4) {
        let at = dice.below(all.len());
        all.remove(at);
        if all.is_empty() {
            break;
        }
    }
    let (how, letter, number) =
        (dice.below(3), *dice.one_of(&["w", "f", "l", "b"]), dice.below(40).to_string());
    text(&all, |name| {
        let (letters, digits) =
            name.split_at(name.find(|one: char| one.is_ascii_digit()).unwrap_or(name.len()));
        match how {
            // All of one letter are counted on, or one has another name.
            0 if letters == letter => format!("{letters}{}", digits.parse().unwrap_or(0) + 1),
            1 if number == digits => format!("{letters}x{digits}"),
            _ => name.to_owned(),
        }
    })
}

/// What is edited, with what has to be told.
#[derive(Debug)]
struct Edited {
    statements: Vec<String>,
    names: Vec<(String, String)>,
    expected: Vec<String>,
}

/// Edits as many statements as there are throws for, each of them once.
fn edited(draft: &[String], dice: &mut Dice) -> Edited {
    let mut edited = Edited { statements: draft.to_vec(), names: Vec::new(), expected: Vec::new() };
    let mut touched: BTreeSet<usize> = BTreeSet::new();
    // What is renamed has to have kept its wires to be known again.
    let rewired = dice.once_in(2);
    for round in 0..1 + dice.below(4) {
        let at = dice.below(draft.len());
        if touched.insert(at) {
            edit(&mut edited, (at, round, rewired), dice);
        }
    }
    edited.statements.retain(|statement| !statement.is_empty());
    edited
}

fn edit(edited: &mut Edited, (at, round, rewired): (usize, usize, bool), dice: &mut Dice) {
    let statement = edited.statements[at].clone();
    let words: Vec<&str> = statement.split(' ').collect();
    let (kind, Some(name)) = (words[0], statement.split('@').nth(1)) else { return };
    match (kind, dice.below(4)) {
        ("fuse", 0) => {
            let rating = words[2];
            edited.statements[at] = statement.replacen(&format!(" {rating} A"), " 33 A", 1);
            edited.expected.push(format!("~ {rating} A -> 33 A"));
        }
        ("wire", 0) => {
            // Every wire has its own length here, the last but one quantity.
            let length = statement.split(" m ").next().and_then(|text| text.rsplit(' ').next()).unwrap_or("");
            edited.statements[at] = statement.replacen(&format!(" {length} m "), " 777 m ", 1);
            edited.expected.push(format!("~ {length} m -> 777 m"));
        }
        ("wire", 1) if rewired => {
            edited.expected.push(format!("- wire {name}"));
            edited.statements[at] = String::new();
        }
        ("wire", 2) if rewired => {
            edited.expected.push(format!("+ wire added{round}"));
            let doubled = statement.replacen(&format!("@{name}@"), &format!("added{round}"), 1);
            edited.statements[at] += &format!("\n{}", doubled.replacen(" m ", "5 m ", 1));
        }
        ("bolt", _) => {}
        _ if has_a_renamed_twin(edited, &statement, name) => {}
        ("wire", _) | (_, 1..) if kind == "wire" || !rewired => {
            edited.names.push((name.to_owned(), format!("renamed{round}")));
            edited.expected.push(format!("= {name} -> renamed{round}"));
        }
        _ => {}
    }
}

/// Whether another, of the same ratings and joined to nothing either, has a new name: which of the two has become which
/// nothing tells.
fn has_a_renamed_twin(edited: &Edited, statement: &str, name: &str) -> bool {
    let is_loose = |name: &str| {
        let mark = format!("@{name}@");
        edited.statements.iter().map(|one| one.matches(&mark).count()).sum::<usize>() == 1
    };
    let plain = |statement: &str, name: &str| statement.replace(&format!("@{name}@"), "");
    is_loose(name)
        && edited.names.iter().map(|pair| &pair.0).filter(|other| is_loose(other)).any(|other| {
            edited
                .statements
                .iter()
                .any(|one| one.contains(&format!("@{other}@")) && plain(one, other) == plain(statement, name))
        })
}

/// A draft in which every wire has a length of its own, so that no two are alike.
fn unlike(draft: &Draft) -> Vec<String> {
    let mut n = 0;
    let mut one = |statement: &String| {
        if !statement.starts_with("wire") {
            return statement.clone();
        }
        n += 1;
        // The length is what stands behind the size's unit.
        let unit =
            ["mm2 ", "AWG ", "SAE "].into_iter().find_map(|unit| Some((statement.find(unit)?, unit.len())));
        let Some((at, length)) = unit else { return statement.clone() };
        let (before, after) = statement.split_at(at + length);
        let rest: Vec<&str> = after.splitn(3, ' ').collect();
        format!("{before}{}.25 m {}", n + 1, rest.get(2).unwrap_or(&""))
    };
    draft.statements.iter().map(&mut one).collect()
}

proptest! {
    #![proptest_config(config(60))]

    #[test]
    fn mirrored_where_little_changed(mut dice in dice(400)) {
        let draft = Draft::new(&mut dice, Manner::Sane);
        let new = harmed(&draft.statements, &mut dice);
        mirrors(&plain(&draft.statements), &new)?;
    }

    #[test]
    fn mirrored_where_all_is_another(mut one in dice(300), mut other in dice(300)) {
        let (one, other) = (Draft::new(&mut one, Manner::Wild), Draft::new(&mut other, Manner::Wild));
        mirrors(&plain(&one.statements), &plain(&other.statements))?;
    }

    #[test]
    fn what_was_edited_is_what_is_told(mut dice in dice(400)) {
        let draft = unlike(&Draft::new(&mut dice, Manner::Sane));
        let edited = edited(&draft, &mut dice);
        let old = plain(&draft);
        let new = text(&edited.statements, |name| {
            let renamed = edited.names.iter().find(|pair| pair.0 == name);
            renamed.map_or_else(|| name.to_owned(), |pair| pair.1.clone())
        });
        let (Some(one), Some(other)) = (judged(&old), judged(&new)) else { return Ok(()) };
        let comparison = compared(&one, &other);
        let mut told = facts(&comparison, false, [&one.0, &other.0]);
        told.retain(|one| !one.contains('.') || one.starts_with('~'));
        let mut expected = edited.expected;
        expected.sort();
        prop_assert_eq!(told, expected, "{}\nbecame\n{}", old, new);
    }
}
