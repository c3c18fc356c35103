//! Every rule's bad example as a user sees it, and its good example clean under all rules.

mod charging;
mod colour;
mod cutoff;
mod drop;
mod failures;
mod fault;
mod figures;
mod isolation;
mod kinds;
mod modes;
mod parallel;
mod plug;
mod reading;
mod solar;
mod source;
mod terminal;

use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::findings::Finding;
use ohmward::render::{Human, Manner, Output};
use ohmward::rules;
use ohmward::text::MemoryFiles;

/// The list of what is not stated; the smallest examples leave open what their rule does not need.
const OPEN_FIGURES: &str = "unknown.rating";

fn judge(path: &str, text: &str) -> Judgement {
    judge_without(&[OPEN_FIGURES], path, text)
}

fn judge_without(without: &[&str], path: &str, text: &str) -> Judgement {
    let files = MemoryFiles::default().with(path, text);
    let Some(today) = Date::parse("2026-11-25") else { panic!("a day") };
    let mut options = Options::on(today);
    options.without = without.iter().map(|rule| (*rule).to_owned()).collect();
    check(path, &files, &options)
}

/// Judges a rule's example; what is not stated counts in that rule's own alone.
fn judge_example(id: &str, text: &str) -> Judgement {
    let without: &[&str] = if id == OPEN_FIGURES { &[] } else { &[OPEN_FIGURES] };
    judge_without(without, "design.loom", text)
}

/// The findings of one rule on a design that reads without a mistake.
fn own(rule: &str, text: &str) -> Vec<Finding> {
    let mut findings = judge("design.loom", text).findings;
    let wrong: Vec<_> = findings.iter().filter(|row| row.rule.starts_with("language.")).collect();
    assert!(wrong.is_empty(), "{wrong:?}\n{text}");
    findings.retain(|row| row.rule == rule);
    findings
}

/// The same, each as `severity subject`, in order.
fn found(rule: &str, text: &str) -> Vec<String> {
    own(rule, text).iter().map(|row| format!("{} {}", row.severity, row.subject)).collect()
}

/// The same, each as `subject: message`, in order.
fn told(rule: &str, text: &str) -> Vec<String> {
    own(rule, text).iter().map(|row| format!("{}: {}", row.subject, row.headline)).collect()
}

/// The subjects alone.
fn subjects(text: &str, rule: &str) -> Vec<String> {
    let all = found(rule, text);
    all.iter().filter_map(|row| Some(row.split_once(' ')?.1.to_owned())).collect()
}

/// The headline of a rule's first finding.
fn headline(text: &str, rule: &str) -> String {
    let findings = judge("design.loom", text).findings;
    findings.into_iter().find(|row| row.rule == rule).map(|row| row.headline).unwrap_or_default()
}

fn shown(judgement: &Judgement, manner: Manner) -> String {
    let human = Human { manner, width: 100 };
    let mut out = Vec::new();
    human.design(judgement, &mut out).expect("memory takes it");
    String::from_utf8(out).expect("UTF-8")
}

#[test]
fn every_bad_example_as_it_is_drawn() {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_snapshot_path("drawn");
    for rule in rules::ALL {
        let judgement = judge_example(rule.id, rule.bad);
        settings.bind(|| {
            insta::assert_snapshot!(
                rule.id,
                shown(&judgement, Manner::Drawn { color: false, unicode: true })
            );
        });
    }
}

#[test]
fn every_mistake_of_the_language_as_it_is_drawn() {
    const IDS: [&str; 7] = [
        "language.limit",
        "language.missing",
        "language.name",
        "language.syntax",
        "language.unit",
        "language.use",
        "language.word",
    ];
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_snapshot_path("drawn");
    for id in IDS {
        let path = format!("{}/samples/faults/{id}.loom", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(&path).unwrap();
        let judgement = judge("design.loom", &text);
        assert!(judgement.findings.iter().all(|finding| finding.rule == id), "{id}");
        settings.bind(|| {
            insta::assert_snapshot!(id, shown(&judgement, Manner::Drawn { color: false, unicode: true }));
        });
    }
}

#[test]
fn a_waived_finding_stands_again_when_its_day_has_passed() {
    let thin = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nload lamp 12 V 36 W\n\
                fuse F 5 A\nwire W1 from B.+ to F.line 0.5 mm2 0.1 m\nwire W2 from F.load to lamp.+ 1 mm2 1 m\n\
                wire W3 from lamp.- to B.- 1 mm2 1 m\nwaive conductor.small on W1 because \"old\" until ";
    let rules = |until: &str| {
        let findings = judge("design.loom", &format!("{thin}{until}\n")).findings;
        let mut left: Vec<_> = findings.iter().filter(|finding| finding.waived.is_none()).collect();
        left.sort_by(|a, b| a.rule.cmp(&b.rule));
        left.iter().map(|finding| finding.rule.to_string()).collect::<Vec<_>>()
    };
    assert_eq!(rules("2026-11-25"), Vec::<String>::new(), "the last day still counts");
    assert_eq!(rules("2026-11-24"), ["conductor.small", "waiver.expired"]);
}

#[test]
fn a_missing_fuse_as_it_is_told_to_a_screen_reader() {
    let Some(rule) = rules::find("protection.missing") else { panic!("the rule is there") };
    insta::assert_snapshot!(shown(&judge("design.loom", rule.bad), Manner::Told));
}

#[test]
fn every_example_is_judged_by_its_own_rule_alone() {
    for rule in rules::ALL {
        let judgement = judge_example(rule.id, rule.bad);
        let found: Vec<&str> = judgement.findings.iter().map(|finding| finding.rule.as_ref()).collect();
        assert!(found.contains(&rule.id), "{}: {found:?}", rule.id);
        let mut left = judge_example(rule.id, rule.good).findings;
        left.retain(|finding| finding.waived.is_none());
        assert!(left.is_empty(), "{}: {left:?}", rule.id);
    }
}
