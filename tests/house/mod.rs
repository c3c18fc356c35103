//! Rules of a book's own: the sample book, what each of its rules says, and what a book may say of rules.

mod hostile;
mod wrong;

use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::render::{Human, Json, Lines, Manner, Output, Tally};
use ohmward::text::MemoryFiles;
use ohmward::trial::{Outcome, Tried, try_book};

const SAMPLE: &str = include_str!("../../samples/house/house.toml");
const CURLEW: &str = include_str!("../../samples/house/curlew.loom");

/// A lamp behind a fuse; the fuse carries 3 A.
const LAMP: &str = "design d \"Invented\"\nbook own.toml\nassume insulation 105 C\n\
                    battery B lead-acid 12 V 100 Ah full 14.4 V fault 1 kA\nload lamp 12 V 36 W\n\
                    fuse F 5 A blade volts 32 V breaks 1 kA\nwire W1 from B.+ to F.line 2.5 mm2 0.1 m red\n\
                    wire W2 from F.load to lamp.+ 2.5 mm2 1 m red\nwire W3 from lamp.- to B.- 2.5 mm2 1 m black\n";

fn today() -> Date {
    Date::parse("2026-11-25").unwrap()
}

fn options() -> Options {
    Options::on(today())
}

/// A book of one rule on top of the default one.
fn book(rule: &str) -> String {
    format!("title = \"Own\"\nbased-on = \"common-practice\"\n{rule}")
}

/// The fields of a rule with a condition and a demand; its examples are not tried.
fn rule(name: &str, about: &str, when: &str, demand: &str) -> String {
    format!(
        "[house.{name}]\nfor = \"{about}\"\nwhen = \"{when}\"\ndemand = \"{demand}\"\nmessage = \"{{name}} breaks it\"\n\
         source = \"invented\"\nwhy = \"It is asked for.\"\nfails = \"note\"\npasses = \"note\"\n"
    )
}

fn judge_by(book: &str, design: &str, options: &Options) -> Judgement {
    let files = MemoryFiles::default().with("d.loom", design).with("own.toml", book);
    check("d.loom", &files, options)
}

/// What the house rules found, as `rule on subject`.
fn found(judgement: &Judgement) -> Vec<String> {
    let own = judgement.findings.iter().filter(|finding| finding.rule.starts_with("house."));
    own.map(|finding| format!("{} on {}", finding.rule, finding.subject)).collect()
}

fn breaks(about: &str, when: &str, demand: &str) -> Vec<String> {
    let judgement = judge_by(&book(&rule("x", about, when, demand)), LAMP, &options());
    let language: Vec<_> =
        judgement.findings.iter().filter(|finding| finding.rule.starts_with("language.")).collect();
    assert!(language.is_empty(), "{about}: {when}: {demand}: {language:?}");
    found(&judgement).into_iter().map(|one| one.replace("house.x on ", "")).collect()
}

fn tried(book: &str) -> Tried {
    try_book("own.toml", &MemoryFiles::default().with("own.toml", book), today())
}

fn drawn(judgement: &Judgement) -> String {
    let mut out = Vec::new();
    let manner = Manner::Drawn { color: false, unicode: true };
    Human { manner, width: 100 }.design(judgement, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn every_rule_of_the_sample_does_on_its_examples_what_it_says() {
    let tried = tried(SAMPLE);
    assert!(5 <= tried.trials.len());
    for trial in tried.trials {
        assert!(matches!(trial.outcome, Outcome::Passed { .. }), "{trial:?}");
    }
}

#[test]
fn the_sample_design_keeps_every_rule_of_its_book() {
    let files = MemoryFiles::default().with("curlew.loom", CURLEW).with("house.toml", SAMPLE);
    let judgement = check("curlew.loom", &files, &options());
    assert_eq!(judgement.book, "house.toml");
    assert_eq!(found(&judgement), Vec::<String>::new());
}

#[test]
fn every_rule_of_the_sample_as_it_is_drawn() {
    let harmed = CURLEW
        .replace("class-t volts 125 V breaks 20 kA", "bolt-in volts 32 V breaks 6 kA")
        .replace("\"compressor\"\n", "\n")
        .replace("4 m    red/orange sheathed", "4 m    red")
        .replace("fuse    F3         7.5 A", "fuse    F3         3 A")
        .replace("50 mm2  0.12 m", "16 mm2  0.12 m");
    let files = MemoryFiles::default().with("curlew.loom", harmed).with("house.toml", SAMPLE);
    let book =
        ohmward::book::Book::read("house.toml", "house.toml", &files, &mut Default::default()).unwrap();
    let only = book.house_rules().iter().map(|rule| rule.id.clone()).collect();
    let judgement = check("curlew.loom", &files, &Options { only, ..options() });
    let mut rules: Vec<_> = judgement.findings.iter().map(|finding| finding.rule.to_string()).collect();
    rules.sort();
    rules.dedup();
    assert_eq!(rules.len(), book.house_rules().len(), "each of its rules is broken: {rules:?}");
    insta::assert_snapshot!(drawn(&judgement));
}

#[test]
fn figures_compare_as_everywhere() {
    // 3 A of 5 A are 60 %; a value exactly at a limit is allowed, whatever rounding does to it.
    assert_eq!(breaks("fuse", "true", "demand_a <= 0.6 * rating_a"), Vec::<String>::new());
    assert_eq!(breaks("fuse", "true", "demand_a < 0.6 * rating_a"), ["F"]);
    assert_eq!(breaks("fuse", "true", "0.1 + 0.2 >= 0.3 && 0.3 >= 0.1 + 0.2"), Vec::<String>::new());
    assert_eq!(breaks("fuse", "true", "loaded_percent == 60"), Vec::<String>::new());
    assert_eq!(breaks("fuse", "true", "2 * demand_a + 1 == 7 && -demand_a == -3"), Vec::<String>::new());
    assert_eq!(breaks("wire", "role == 'live'", "let_through_a <= 5"), ["W1"]);
    assert_eq!(breaks("wire", "true", "size(name) == 2 && name.startsWith('W')"), Vec::<String>::new());
}

#[test]
fn computed_figures_are_those_of_the_rules() {
    let holds = |about: &str, demand: &str| assert_eq!(breaks(about, "true", demand), Vec::<String>::new());
    holds("wire", "demand_a == 3 && nominal_v == 12");
    holds("wire", "role == 'live' ? voltage_v == 14.4 : !known(voltage_v)");
    holds(
        "wire",
        "name != 'W1' || (on_stretch && stretch_source == 'B' && stretch_followed && stretch_devices_a == 5)",
    );
    holds("wire", "name != 'W1' || (stretch_length_m == 0.1 && stretch_limit_m == 0.18)");
    holds("wire", "name != 'W2' || (protected_by[0].name == 'F' && protected_by[0].rating_a == 5)");
    holds("wire", "name != 'W2' || protected_by.exists_one(one, one.kind == 'fuse' && one.type == 'blade')");
    holds("wire", "name != 'W2' || (drop_v * 1000 - 3 * resistance_mohm <= 0.001 && drop_percent <= 1)");
    holds("wire", "from == 'B.+' || to == 'lamp.+' || end_kinds == null || 'battery' in end_kinds");
    holds(
        "wire",
        "permitted_a == ampacity_a && size == '2.5 mm2' && colour in ['red', 'black'] && count == 1",
    );
    holds("device", "demand_a == 3 && protects_a >= 20 && type == 'blade' && breaks_a == 1000");
    holds(
        "battery",
        "devices.all(one, one.type == 'blade') && size(devices) == 1 && bank_size == 1 && !lithium",
    );
    holds("battery", "bank_capacity_ah == 100 && bank[0] == 'B' && fault_a == 1000 && full_v == 14.4");
    holds("load", "power_w == 36 && demand_a == 3 && nominal_v == 12 && !critical");
    holds("component", "ambient_c == 30 && !known(zone) && (kind == 'load' || known(voltage_v) || true)");
}

#[test]
fn demand_is_of_what_an_element_feeds_alone() {
    let design = format!(
        "{LAMP}load fan 12 V 2 A\nfuse G 10 A\nbar plus M6 x 4 50 A\nbar minus M6 x 4 50 A\n\
         wire W4 from F.load to plus 2.5 mm2 1 m red\nwire W5 from plus to G.line 2.5 mm2 1 m red\n\
         wire W6 from G.load to fan.+ 2.5 mm2 1 m red\nwire W7 from fan.- to B.- 2.5 mm2 1 m black\n"
    );
    let demand = "name in ['W1', 'F'] ? demand_a == 5 : name in ['W4', 'W5', 'W6', 'W7', 'G'] ? demand_a == 2 : demand_a == 3";
    for about in ["wire", "device"] {
        let judgement = judge_by(&book(&rule("x", about, "true", demand)), &design, &options());
        assert_eq!(found(&judgement), Vec::<String>::new());
    }
}

#[test]
fn what_is_not_known_is_told_and_can_be_asked_for() {
    let unlabelled = judge_by(&book(&rule("x", "fuse", "true", "label.startsWith('F')")), LAMP, &options());
    assert_eq!(found(&unlabelled), Vec::<String>::new());
    let open = unlabelled.findings.iter().find(|finding| finding.rule == "unknown.rating").unwrap();
    let told = open.figures.iter().map(|one| format!("{} {}", one.value, one.meaning));
    let told: Vec<String> = told.filter(|one| one.contains("house.")).collect();
    assert_eq!(told, ["`label` of F is not stated: house.x does not judge it"]);
    assert_eq!(breaks("fuse", "known(label)", "label.startsWith('F')"), Vec::<String>::new());
    assert_eq!(breaks("fuse", "true", "known(label)"), ["F"]);
    assert_eq!(breaks("fuse", "true", "label != null && label.startsWith('F')"), ["F"]);
    assert_eq!(breaks("fuse", "true", "!known(label) || label.startsWith('F')"), Vec::<String>::new());
}

#[test]
fn rules_are_chosen_waived_switched_and_inherited_like_any() {
    let own = rule("x", "wire", "role == 'live'", "length_m >= 2");
    let text = book(&own);
    assert_eq!(found(&judge_by(&text, LAMP, &options())), ["house.x on W1", "house.x on W2"]);
    let only = Options { only: vec!["house.x".into()], ..options() };
    assert_eq!(judge_by(&text, LAMP, &only).findings.len(), 2);
    let without = Options { without: vec!["house.x".into()], ..options() };
    assert_eq!(found(&judge_by(&text, LAMP, &without)), Vec::<String>::new());
    let other = Options { only: vec!["conductor.small".into()], ..options() };
    assert_eq!(found(&judge_by(&text, LAMP, &other)), Vec::<String>::new());

    let off = format!("{text}[rules]\n\"house.x\" = {{ applies = false }}\n");
    assert_eq!(found(&judge_by(&off, LAMP, &options())), Vec::<String>::new());
    let advice = format!("{text}[rules]\n\"house.x\" = {{ severity = \"advice\" }}\n");
    let judgement = judge_by(&advice, LAMP, &options());
    assert!(judgement.findings.iter().all(|finding| finding.severity.word() == "advice"), "{judgement:?}");

    let waived = format!("{LAMP}waive house.x on W1 because \"short by need\" until 2027-01-01\n");
    let judgement = judge_by(&text, &waived, &options());
    let waived: Vec<_> = judgement.findings.iter().filter(|finding| finding.waived.is_some()).collect();
    assert_eq!(waived.iter().map(|finding| finding.subject.as_str()).collect::<Vec<_>>(), ["W1"]);
    for (id, unused) in [("house.x", 1), ("house.none", 1)] {
        let design = format!("{LAMP}waive {id} on W3 because \"no need\" until 2027-01-01\n");
        let findings = judge_by(&text, &design, &options()).findings;
        assert_eq!(findings.iter().filter(|finding| finding.rule == "waiver.unused").count(), unused, "{id}");
    }

    let files = |top: &str| {
        MemoryFiles::default()
            .with("d.loom", LAMP.replace("own.toml", "top.toml"))
            .with("own.toml", text.as_str())
            .with("top.toml", format!("title = \"Top\"\nbased-on = \"own.toml\"\n{top}"))
    };
    let by = |top: &str| found(&check("d.loom", &files(top), &options()));
    assert_eq!(by(""), ["house.x on W1", "house.x on W2"]);
    assert_eq!(by("[rules]\n\"house.x\" = { applies = false }\n"), Vec::<String>::new());
    assert_eq!(by(&rule("x", "wire", "name == 'W3'", "false")), ["house.x on W3"], "a later one replaces it");
    assert_eq!(
        by(&rule("y", "load", "true", "critical")),
        ["house.y on lamp", "house.x on W1", "house.x on W2"]
    );
}

#[test]
fn a_rule_that_the_book_does_not_have_is_not_passed_in_silence() {
    let only = Options { only: vec!["house.colour".into()], ..options() };
    let judgement = judge_by(&book(&rule("color", "wire", "true", "known(colour)")), LAMP, &only);
    let told: Vec<_> =
        judgement.findings.iter().map(|one| (one.rule.as_ref(), one.headline.as_str())).collect();
    assert_eq!(told, [("language.use", "the book own.toml has no rule house.colour")]);
    assert!(Tally::of(&judgement).unjudged());
}

#[test]
fn every_output_has_the_rule_and_its_figures() {
    let only = Options { only: vec!["house.x".into()], ..options() };
    let judgement = judge_by(&book(&rule("x", "fuse", "true", "loaded_percent <= 50")), LAMP, &only);
    let mut lines = Vec::new();
    Lines.design(&judgement, &mut lines).unwrap();
    let lines = String::from_utf8(lines).unwrap();
    assert_eq!(lines, "d.loom:6:6: warning: house.x: F breaks it (loaded_percent 60 %)\n");
    let mut json = Vec::new();
    Json.design(&judgement, &mut json).unwrap();
    let json = String::from_utf8(json).unwrap();
    assert!(json.contains("\"rule\": \"house.x\"") && json.contains("\"loaded_percent\": 60.0"), "{json}");
}
