//! `rules/REFERENCE.md`: every rule's page, with the real output of its bad example.

use std::fs;

use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::render::{Human, Manner, Output};
use ohmward::rules::{ALL, Rule};
use ohmward::text::MemoryFiles;

use super::not_yet::LANGUAGE;
use super::pages::{read, root};
use super::tables::cell;

/// The day on which waivers in examples are judged.
pub(super) const TODAY: &str = "2026-06-01";

/// The list of figures that are not stated; the smallest examples leave open what their rule does not need.
pub(super) const OPEN_FIGURES: &str = "unknown.rating";

const HEAD: &str = "\
# Rules

Written by a test (`tests/docs/mod.rs`) from the rules themselves, from the rule book `common-practice` and from the
samples in `samples/faults/`. What is wrong here is put right there.

Each rule has one file below `src/rules/` and two samples: one that breaks it, with its real output below, and the same
one mended, which has no finding. The smallest designs leave figures open that their rule does not need: the advice of
`unknown.rating` on that is left out here, but in its own example. The samples and all their figures are invented. A comment with `^` under a line
marks where the finding points. Limits show what `common-practice` says and how that is known: see
[the README](../README.md#rule-books-and-where-figures-come-from).
";

/// Judges one of some texts, on a fixed day, with the evidence of every wire.
pub(super) fn judged(path: &str, texts: &[(&str, &str)]) -> Judgement {
    let files = texts.iter().fold(MemoryFiles::default(), |files, (path, text)| files.with(*path, *text));
    let mut options = Options::on(Date::parse(TODAY).expect("a day"));
    options.explain = true;
    check(path, &files, &options)
}

/// The whole page.
pub(super) fn page() -> String {
    let mut page = HEAD.to_owned();
    page += "\n| rule | severity | claim |\n| --- | --- | --- |\n";
    for rule in ALL {
        page += &format!(
            "| [`{0}`](#{1}) | {2} | {3} |\n",
            rule.id,
            anchor(rule.id),
            rule.severity,
            cell(rule.claim)
        );
    }
    page += "\nWhat is wrong with the language of a design has ids too; all of them are errors.\n\n| id | holds when |\n| --- | --- |\n";
    for (id, says) in LANGUAGE {
        page += &format!("| [`{id}`](#{}) | {says} |\n", anchor(id));
    }
    for rule in ALL {
        page += &of_rule(rule);
    }
    for (id, says) in LANGUAGE {
        let name = format!("samples/faults/{id}");
        page += &format!("\n## {id}\n\n**error**: {says}.\n");
        page += &examples(id, &read(&format!("{name}.loom")), &read(&format!("{name}.mended.loom")));
    }
    page
}

fn of_rule(rule: &Rule) -> String {
    let mut page = format!("\n## {}\n\n**{}**: {}\n", rule.id, rule.severity, rule.claim);
    page += &format!("\n{}\n\nHow it is judged: {}\n", rule.why, rule.how);
    if !rule.limits.is_empty() {
        page += "\n| limit | common-practice | known | from |\n| --- | --- | --- | --- |\n";
    }
    for limit in rule.limits {
        let figure = super::book().figure(limit).expect("a limit of the book");
        let from = cell(&figure.source);
        page += &format!("| `{limit}` | {} | {} | {from} |\n", figure.value_text, figure.confidence.word());
    }
    page + &examples(rule.id, rule.bad, rule.good)
}

fn examples(id: &str, bad: &str, good: &str) -> String {
    let (bad, good) = (bad.replace("\r\n", "\n"), good.replace("\r\n", "\n"));
    format!(
        "\nBreaks it (`samples/faults/{id}.loom`):\n\n```loom\n{bad}```\n\nOutput:\n\n```text\n{}```\n\n\
         Mended (`samples/faults/{id}.mended.loom`):\n\n```loom\n{good}```\n",
        told(&format!("samples/faults/{id}.loom"))
    )
}

/// The findings of a sample as they are told without a terminal.
fn told(path: &str) -> String {
    let mut texts: Vec<(String, String)> = Vec::new();
    for entry in fs::read_dir(root().join("samples/faults")).expect("the folder of the samples") {
        let name = entry.expect("an entry").file_name().to_string_lossy().into_owned();
        if name.ends_with(".loom") {
            let path = format!("samples/faults/{name}");
            let text = read(&path);
            texts.push((path, text));
        }
    }
    let texts: Vec<(&str, &str)> = texts.iter().map(|row| (row.0.as_str(), row.1.as_str())).collect();
    let mut judgement = judged(path, &texts);
    judgement.wires = None;
    judgement.findings.retain(|finding| finding.rule != OPEN_FIGURES || path.contains(OPEN_FIGURES));
    let mut out = Vec::new();
    Human { manner: Manner::Told, width: 100 }.design(&judgement, &mut out).expect("room in memory");
    String::from_utf8(out).expect("UTF-8").trim_end().to_owned() + "\n"
}

fn anchor(id: &str) -> String {
    id.replace('.', "")
}
