//! Expressions and books that mean harm: bounded in time and memory, and never a panic.

use std::time::{Duration, Instant};

use super::{LAMP, book, found, judge_by, options, rule};
use proptest::prelude::*;

/// Judges by a rule with this demand, within a time that only something unbounded would take.
fn judged_in_time(demand: &str) -> Vec<String> {
    let start = Instant::now();
    let quoted = toml::Value::String(demand.into()).to_string();
    let text = book(&rule("x", "wire", "true", "@").replace("\"@\"", &quoted));
    let judgement = judge_by(&text, LAMP, &options());
    assert!(start.elapsed() < Duration::from_secs(20), "{}", &demand[..demand.len().min(80)]);
    let own =
        |one: &&ohmward::findings::Finding| one.rule == "language.use" || one.rule.starts_with("house.");
    judgement.findings.iter().filter(own).map(|one| one.headline.clone()).collect()
}

#[test]
fn expressions_are_bounded() {
    let refused = [
        "(".repeat(100_000),
        format!("{}sheathed{}", "(".repeat(500), ")".repeat(500)),
        format!("{}{}", "[".repeat(13), "]".repeat(13)),
        "!".repeat(50_000) + "sheathed",
        vec!["sheathed"; 50_000].join(" && "),
        vec!["sheathed"; 121].join("&&"),
        "sheathed ? ".repeat(80) + "true" + &" : false".repeat(80),
        vec!["1"; 100].join("+") + " > 0",
        format!("name == '{}'", "x".repeat(1_000_000)),
        format!("{}zones{}", "zones.exists(a, ".repeat(11), ")".repeat(11)),
        "zones.all(a, zones.all(b, zones.all(c, a == c)))".into(),
        "name.matches('(a+)+$')".into(),
        "'\u{0}' == name".into(),
        "name".to_owned() + &".name".repeat(100),
        "r'\\' + ((((((((((((((((((((((((".into(),
        "'''\n((((((((((((((((((((((((".into(),
        "// '\n((((((((((((((((((((((((((".into(),
        "1e999 > 0 ? 9223372036854775808 > 0 : true".into(),
        "\u{202e}sheathed".into(),
    ];
    for demand in refused {
        let told = judged_in_time(&demand);
        assert_eq!(told.len(), 1, "{}: {told:?}", &demand.chars().take(60).collect::<String>());
    }
    for demand in ["-".repeat(100) + "1 > 0", vec!["size_mm2 >= 1"; 30].join(" && ")] {
        assert_eq!(judged_in_time(&demand), Vec::<String>::new(), "{demand}");
    }
}

#[test]
fn a_rule_gives_up_when_it_has_taken_all_its_steps() {
    // A bar with thousands of fuses beside a battery, each of which is compared with each.
    let mut design = String::from(
        "design d \"Invented\"\nbook own.toml\nbattery B lead-acid 12 V 100 Ah\nbar plus M6 x 4 50 A\n\
                                   wire W from B.+ to plus 2.5 mm2 0.1 m\n",
    );
    for at in 0..5_000 {
        design += &format!("fuse F{at} 5 A\nbolt F{at}.line to plus\n");
    }
    let demand = "devices.all(one, devices.exists(other, one.name == other.name))";
    let text =
        book(&(rule("greedy", "battery", "true", demand) + &rule("plain", "battery", "true", "lithium")));
    let start = Instant::now();
    let judgement = judge_by(&text, &design, &options());
    assert!(start.elapsed() < Duration::from_secs(30));
    assert_eq!(found(&judgement), ["house.plain on B"]);
    let told: Vec<_> = judgement.findings.iter().filter(|one| one.rule == "language.use").collect();
    assert_eq!(told.len(), 1);
    assert!(told[0].headline.contains("takes more than 20 million steps"), "{}", told[0].headline);
}

#[test]
fn a_book_has_so_many_rules_and_no_more() {
    let many: String = (0..400).map(|at| rule(&format!("r{at}"), "wire", "true", "true")).collect();
    let judgement = judge_by(&book(&many), LAMP, &options());
    let told: Vec<_> = judgement.findings.iter().filter(|one| one.rule == "language.use").collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].headline, "a book has 200 house rules at most");
}

/// Pieces that expressions are made of, right and wrong.
fn piece() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "(",
        ")",
        "[",
        "]",
        "{",
        "}",
        "&&",
        "||",
        "!",
        "-",
        "+",
        "*",
        "/",
        "%",
        "==",
        "!=",
        "<",
        "<=",
        ">",
        ">=",
        "?",
        ":",
        ",",
        ".",
        " in ",
        "'",
        "\"",
        "'a'",
        "1",
        "2.5",
        "1u",
        "0x1f",
        "1e400",
        "null",
        "true",
        "name",
        "size_mm2",
        "label",
        "zones",
        "protected_by",
        "known",
        "has",
        "size",
        "all",
        "exists",
        "filter",
        "map",
        "x",
        "x.name",
        "b'a'",
        "r'",
        "@",
        "`",
        "\n",
        "é",
        "//",
        "type",
        "optional.of",
        "?.",
    ])
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_expression_panics(pieces in prop::collection::vec(piece(), 0..30)) {
        judged_in_time(&pieces.concat());
    }

    #[test]
    fn no_text_panics(text in "\\PC{0,60}") {
        judged_in_time(&text);
    }

    #[test]
    fn no_message_panics(message in "[{}a-z_é ]{0,40}") {
        let text = book(&rule("x", "wire", "true", "false").replace("{name} breaks it", &message));
        judge_by(&text, LAMP, &options());
    }
}
