//! Broken rules: each is told where it stands in the book, and stops nothing else.

use super::{LAMP, book, found, judge_by, options, rule, tried};
use ohmward::render::Tally;
use ohmward::trial::Outcome;

/// Parts of one rule with a fault each, and the text under the place that is told.
const DEMANDS: &[(&str, &str, &str)] = &[
    ("wire", "size_mm >= 4", "size_mm"),
    ("wire", "rating_a >= 4", "rating_a"),
    ("wire", "size_mm2 >= '4'", ">="),
    ("wire", "size_mm2 >= ", ""),
    ("wire", "size_mm2", "size_mm2"),
    ("wire", "size_mm2 + length_m", "+"),
    ("wire", "name + 'x' == 'W1x'", "+"),
    ("wire", "name.matches('W.*')", "("),
    ("wire", "sheathed && size_mm2", "&&"),
    ("wire", "count % 2 == 0", "%"),
    ("wire", "has(colour)", "c"),
    ("wire", "colour in ['red', 4]", "4"),
    ("wire", "zones.exists(name, name == 'x')", "("),
    ("wire", "protected_by.all(one, one.size == 1)", "."),
    ("wire", "protected_by.map(one, one.name) == ['F']", "("),
    ("wire", "zones[length_m] == 'x'", "["),
    ("wire", "{'a': 1} == {'a': 1}", "{"),
    ("wire", "b'a' == b'a'", "b'a'"),
    ("wire", "`a` == 1", "`"),
    ("wire", "duration('1s') == duration('1s')", "("),
    ("fuse", "known()", "("),
    ("fuse", "kind.known()", "("),
    ("wire", "true ? 1 : 'x'", "?"),
];

#[test]
fn what_is_wrong_with_a_demand_is_told_at_its_place() {
    let mut told = String::new();
    for (about, demand, at) in DEMANDS {
        let text =
            book(&(rule("good", "wire", "name == 'W1'", "false") + &rule("bad", about, "true", demand)));
        let judgement = judge_by(&text, LAMP, &options());
        assert_eq!(found(&judgement), ["house.good on W1"], "{demand}: the other rule is judged");
        let wrong: Vec<_> =
            judgement.findings.iter().filter(|finding| finding.rule == "language.use").collect();
        let [wrong] = wrong.as_slice() else { panic!("{demand}: {wrong:?}") };
        let source = judgement.sources.get(wrong.span.file);
        assert_eq!(source.path(), "own.toml", "{demand}");
        assert_eq!(source.slice(wrong.span), *at, "{demand}: {}", wrong.headline);
        assert!(Tally::of(&judgement).unjudged(), "{demand}");
        let place = source.line_column(wrong.span.start);
        told +=
            &format!("{demand}\n  {}:{} {}\n  {}\n", place.line, place.column, wrong.headline, wrong.help);
    }
    insta::assert_snapshot!(told);
}

#[test]
fn what_is_wrong_with_the_parts_of_a_rule_is_told() {
    let whole = rule("bad", "wire", "true", "true");
    let mut told = String::new();
    for (from, to) in [
        ("for = \"wire\"", "for = \"wires\""),
        ("for = \"wire\"", "for = 3"),
        ("for = \"wire\"\n", ""),
        ("message = \"{name} breaks it\"", "message = \"{size} of {breadth_mm}\""),
        ("message = \"{name} breaks it\"", "message = \"{name\""),
        ("message = \"{name} breaks it\"", "message = \"name}\""),
        ("demand = \"true\"", "demand = \"\""),
        ("why = ", "because = "),
        ("source = \"invented\"", "source = \"invented\"\nseverity = \"grave\""),
        ("[house.bad]", "[house.Bad]"),
        ("[house.bad]", "[house.\"a b\"]"),
        ("demand = \"true\"", "demand = \"\\u0073ize_mm >= 4\""),
        ("demand = \"true\"", "demand = \"\"\"\nsheathed ||\n  lenght_m <= 3\n\"\"\""),
    ] {
        let text = book(&(rule("good", "wire", "name == 'W1'", "false") + &whole.replace(from, to)));
        let judgement = judge_by(&text, LAMP, &options());
        assert_eq!(found(&judgement), ["house.good on W1"], "{to}: the other rule is judged");
        let wrong: Vec<_> =
            judgement.findings.iter().filter(|finding| finding.rule == "language.use").collect();
        assert!(!wrong.is_empty(), "{to}");
        told += &format!("{to}\n");
        for wrong in wrong {
            let place = judgement.sources.get(wrong.span.file).line_column(wrong.span.start);
            told += &format!("  {}:{} {}\n  {}\n", place.line, place.column, wrong.headline, wrong.help);
        }
    }
    insta::assert_snapshot!(told);
}

#[test]
fn a_fault_that_only_a_design_brings_out_is_told_once() {
    let text = book(&rule("bad", "wire", "true", "protected_by[3].rating_a >= 1"));
    let judgement = judge_by(&text, LAMP, &options());
    let wrong: Vec<_> = judgement.findings.iter().filter(|finding| finding.rule == "language.use").collect();
    assert_eq!(wrong.len(), 1, "{wrong:?}");
    assert!(wrong[0].headline.starts_with("house.bad cannot be judged on W1: "), "{}", wrong[0].headline);
    assert_eq!(judgement.sources.slice(wrong[0].span), "\"protected_by[3].rating_a >= 1\"");
}

#[test]
fn a_switched_off_rule_may_be_broken() {
    let text =
        book(&rule("bad", "wire", "true", "nonsense")) + "[rules]\n\"house.bad\" = { applies = false }\n";
    let judgement = judge_by(&text, LAMP, &options());
    assert!(judgement.findings.iter().all(|finding| !finding.rule.starts_with("language.")), "{judgement:?}");
}

#[test]
fn a_book_that_is_no_toml_is_told_as_before() {
    let judgement = judge_by("title = \"Own\"\n[house.x\nfor", LAMP, &options());
    assert!(judgement.findings.iter().all(|finding| finding.rule == "language.use"));
    assert!(!judgement.findings.is_empty());
    let judgement = judge_by(&book("house = 3\n"), LAMP, &options());
    let told = judgement.findings.iter().filter(|one| one.rule == "language.use");
    let told: Vec<_> = told.map(|one| one.headline.as_str()).collect();
    assert_eq!(told, ["`house.NAME` is not a table"]);
}

#[test]
fn trials_say_which_example_did_what() {
    let part = |fails: &str, passes: &str| {
        rule("x", "fuse", "true", "rating_a <= 10")
            .replace("fails = \"note\"", &format!("fails = \"{fails}\""))
            .replace("passes = \"note\"", &format!("passes = \"{passes}\""))
    };
    let went = |rule: &str| {
        let tried = tried(&book(rule));
        let [one] = tried.trials.as_slice() else { panic!("{tried:?}") };
        match &one.outcome {
            Outcome::Passed { says } => format!("{}: passed: {says}", one.place.1),
            Outcome::Failed(why) => format!("{}: failed: {why}", one.place.1),
            Outcome::Unjudged(why) => format!("{}: not judged: {why}", one.place.1),
        }
    };
    let told = [
        part("fuse F 15 A", "fuse F 10 A"),
        part("fuse F 10 A", "fuse F 10 A"),
        part("fuse F 15 A", "fuse F 15 A"),
        part("fuse F fifteen", "fuse F 10 A"),
        part("fuse F 15 A", "design d \\\"D\\\"\\nfuse F 10 A\\nfuse F 10 A"),
        rule("x", "fuse", "true", "nonsense"),
        part("fuse F 15 A", "fuse F 10 A").replace("rating_a <= 10", "rated_v >= 12"),
    ]
    .map(|rule| went(&rule));
    insta::assert_snapshot!(told.join("\n"));
}
