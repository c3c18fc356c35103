//! All outputs list the same findings, and choosing rules only filters them.

use proptest::prelude::*;

use super::dice::dice;
use super::random::{Draft, Manner, plain};
use super::{config, judge, judge_with, options, rendered, samples};
use ohmward::check::{Judgement, Options};
use ohmward::render::{Lines, Output};
use ohmward::rules;

fn heads(text: &str) -> usize {
    let heads = ["error: ", "warning: ", "advice: "];
    text.lines().filter(|line| heads.iter().any(|head| line.starts_with(head))).count()
}

fn same_in_all(judgement: &Judgement) {
    let open = judgement.findings.iter().filter(|finding| finding.waived.is_none()).count();
    for (name, text) in rendered(judgement) {
        let n = match name {
            "coloured" => continue,
            "json" => {
                let document: serde_json::Value = serde_json::from_str(&text).unwrap();
                let all = document["designs"][0]["findings"].as_array().unwrap();
                assert_eq!(all.len(), judgement.findings.len(), "{text}");
                all.iter().filter(|finding| finding["waived"].is_null()).count()
            }
            "sarif" => {
                let log: serde_json::Value = serde_json::from_str(&text).unwrap();
                let all = log["runs"][0]["results"].as_array().unwrap();
                assert_eq!(all.len(), judgement.findings.len(), "{text}");
                all.iter().filter(|result| result["suppressions"].as_array().unwrap().is_empty()).count()
            }
            "junit" => text.matches("<failure ").count() + text.matches("<error ").count(),
            "lines" => text.lines().count(),
            _ => heads(&text),
        };
        assert_eq!(n, open, "in the output {name}:\n{text}");
    }
}

/// The findings as lines; `only` and `without` change none of them.
fn lines(text: &str, options: &Options) -> Vec<String> {
    let mut out = Vec::new();
    Lines.design(&judge_with(text, options), &mut out).unwrap();
    String::from_utf8(out).unwrap().lines().map(str::to_owned).collect()
}

fn rule_of(line: &str) -> &str {
    line.split(": ").nth(2).unwrap_or("")
}

fn chosen_is_a_filter(text: &str) {
    let whole = lines(text, &options());
    for rule in rules::ALL.iter().map(|rule| rule.id).chain(["language.word"]) {
        let language = |line: &str| rule_of(line).starts_with("language.");
        let named = vec![rule.to_owned()];
        // What a waiver accepts may have been found by a rule that is not judged now.
        let loose = |line: &&String| rule_of(line) != "waiver.unused";
        let only = lines(text, &Options { only: named.clone(), ..options() });
        let wanted: Vec<&String> =
            whole.iter().filter(|line| language(line) || rule_of(line) == rule).filter(loose).collect();
        assert_eq!(only.iter().filter(loose).collect::<Vec<_>>(), wanted, "only {rule}:\n{text}");
        let without = lines(text, &Options { without: named, ..options() });
        let wanted: Vec<&String> =
            whole.iter().filter(|line| language(line) || rule_of(line) != rule).filter(loose).collect();
        assert_eq!(without.iter().filter(loose).collect::<Vec<_>>(), wanted, "without {rule}:\n{text}");
    }
}

#[test]
fn samples_are_the_same_in_all_outputs() {
    for (_, text) in samples().into_iter().filter(|row| !row.1.contains("\nlibrary")) {
        same_in_all(&judge(text));
    }
}

#[test]
fn choosing_rules_filters_samples() {
    for (_, text) in samples().into_iter().filter(|row| row.1.lines().count() < 16) {
        chosen_is_a_filter(&text);
    }
}

proptest! {
    #![proptest_config(config(150))]

    #[test]
    fn wild_designs_are_the_same_in_all_outputs(mut dice in dice(500)) {
        same_in_all(&judge(plain(&Draft::new(&mut dice, Manner::Wild).statements)));
    }
}

proptest! {
    #![proptest_config(config(25))]

    #[test]
    fn choosing_rules_filters_wild_designs(mut dice in dice(300)) {
        chosen_is_a_filter(&plain(&Draft::new(&mut dice, Manner::Wild).statements));
    }
}
