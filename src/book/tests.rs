//! Reading books: what is refused and where, building on another book, and a design's own limits.

use super::*;
use crate::design::LimitChange;
use crate::findings::Finding;
use crate::text::Span;

fn shipped() -> Book {
    Book::shipped("common-practice").unwrap()
}

fn parse(text: &str) -> Result<Book, Vec<Finding>> {
    Book::parse("house", FileId(3), &Source::new("house.toml", text), &mut |_| None)
}

/// The one problem of a text built on the default book: the words that it points at, the headline, the help.
fn problem(text: &str) -> (String, String, String) {
    let text = format!("based-on = \"common-practice\"\n{text}");
    let problems = parse(&text).unwrap_err();
    assert_eq!(problems.len(), 1, "{problems:#?}");
    let (problem, source) = (&problems[0], Source::new("house.toml", text));
    assert_eq!((problem.rule.as_ref(), problem.span.file), ("language.use", FileId(3)));
    (source.slice(problem.span).into(), problem.headline.clone(), problem.help.clone())
}

fn change(name: &str, value: LimitValue) -> LimitChange {
    let span = |at| Span::new(FileId(0), at, at + 1);
    LimitChange {
        name: name.into(),
        name_span: span(1),
        value,
        value_span: span(5),
        why: "the client's own".into(),
    }
}

#[test]
fn every_limit_has_its_own_place_and_name() {
    let names: Vec<_> = Limit::all().map(Limit::name).collect();
    for (at, limit) in Limit::all().enumerate() {
        assert_eq!(limit.index(), at);
        assert_eq!(names.iter().filter(|name| **name == limit.name()).count(), 1);
        assert_eq!(Limit::named(&limit.name()), [limit]);
        assert!(limit.doc().ends_with('.'));
    }
    assert_eq!(shipped().0.limits.len(), names.len());
}

#[test]
fn rule_ids_are_sorted() {
    assert!(RULE_IDS.is_sorted());
}

#[test]
fn the_shipped_book_has_the_figures_of_common_practice() {
    let book = shipped();
    assert_eq!(book.length(LengthLimit::BatteryBare), Length::metres(0.18));
    assert_eq!(book.length(LengthLimit::BatterySheathed), Length::metres(1.8));
    assert_eq!(book.length(LengthLimit::BankLink), Length::metres(0.5));
    assert_eq!(book.share(ShareLimit::ProtectionRatio), Share::ratio(1.0));
    assert_eq!(book.share(ShareLimit::ProtectionContinuousBlade), Share::percent(70.0));
    assert_eq!(book.current(CurrentLimit::ControlDevice), Current::amps(5.0));
    assert_eq!(book.temperature(TemperatureLimit::Lowest), Temperature::celsius(-10.0));
    assert_eq!(book.insulation_assumed(), Temperature::celsius(60.0));
    assert_eq!(book.charge_share(Chemistry::Gel), Share::percent(30.0));
    assert!(book.cranking_exempt() && book.cranking_restarts() && book.manual_reset());
    assert_eq!(book.bypass_severity(WordLimit::BypassDataLead), Some(Severity::Error));
    assert_eq!(book.bypass_severity(WordLimit::BypassOther), Some(Severity::Warning));
    assert_eq!(book.rule("protection.each-battery").severity, Some(Severity::Advice));
    assert_eq!(book.rule("meter.reversed"), RuleSetting { applies: true, severity: None });
    assert_eq!(book.voc_factor(), 1.14);
}

#[test]
fn a_book_states_only_what_differs() {
    let text = r#"
title = "House rules"
based-on = "common-practice"
[limits]
"drop.other" = { value = "5 %", source = "house rules 2", confidence = "checked" }
"charge.share" = { value = "20 %", source = "house rules 3", confidence = "checked" }
[bundling]
source = "house rules 4"
confidence = "checked"
rows = [[2, 0.8]]
[rules."terminal.order"]
applies = false
[rules."conductor.drop"]
severity = "advice"
"#;
    let book = parse(text).unwrap();
    assert_eq!((book.name(), book.title()), ("house", "House rules"));
    assert_eq!(book.share(ShareLimit::DropOther), Share::percent(5.0));
    assert_eq!(book.share(ShareLimit::DropCritical), Share::percent(3.0));
    assert!(Chemistry::WORDS.iter().all(|row| book.charge_share(row.1) == Share::percent(20.0)));
    assert_eq!(book.figure("drop.other").unwrap().source, "house rules 2");
    assert_eq!(book.figure("bundling").unwrap().value_text, "2: 0.8");
    assert!(!book.rule("terminal.order").applies);
    assert_eq!(book.rule("conductor.drop").severity, Some(Severity::Advice));
    assert_eq!(book.rule("protection.each-battery").severity, Some(Severity::Advice));
}

#[test]
fn a_misspelt_key_gets_the_nearest_right_one() {
    let entry = "{ value = \"1 m\", source = \"s\", confidence = \"checked\" }";
    let (at, headline, help) = problem(&format!("[limits]\n\"distance.batery-bare\" = {entry}"));
    assert_eq!(
        (at.as_str(), headline.as_str()),
        ("\"distance.batery-bare\"", "`distance.batery-bare` is no limit here")
    );
    assert_eq!(help, "the nearest limit is `distance.battery-bare`");
    let (at, _, help) = problem("[limit]");
    assert_eq!((at.as_str(), help.as_str()), ("limit", "the nearest section is `limits`"));
    let (_, _, help) = problem("[rules.\"meter.reverse\"]");
    assert_eq!(help, "the nearest rule is `meter.reversed`");
    let (_, _, help) = problem("[rules.\"meter.reversed\"]\nseverity = \"warnin\"");
    assert_eq!(help, "the nearest severity is `warning`");
    let (_, _, help) = problem("[ratings]\nblad = []");
    assert_eq!(help, "the nearest table is `blade`");
    let (_, _, help) = problem("[bundling]\nsource = \"s\"\nconfidence = \"checked\"\nrows = []\nrow = 1");
    assert_eq!(help, "the nearest key is `rows`");
}

#[test]
fn wrong_values_are_refused_where_they_stand() {
    let limit = |name: &str, value: &str| {
        problem(&format!(
            "[limits]\n{name} = {{ value = \"{value}\", source = \"s\", confidence = \"checked\" }}"
        ))
    };
    let (at, headline, help) = limit("\"drop.other\"", "5 A");
    assert_eq!((at.as_str(), headline.as_str()), ("\"5 A\"", "`5 A` does not suit drop.other"));
    assert_eq!(help, "it is a share, such as 80 %");
    assert_eq!(limit("cranking", "maybe").2, "it is one of: exempt, judged");
    assert_eq!(limit("\"bank.link\"", "0 m").2, "it lies above zero");
    assert_eq!(limit("\"bank.link\"", "3 furlongs").2, "it is a length, such as 180 mm");
    let (_, headline, _) = problem("[limits]\ncranking = { value = \"judged\" }");
    assert_eq!(headline, "`cranking` does not say where it is from");
    let row = "[bundling]\nsource = \"s\"\nconfidence = \"checked\"\nrows = [[3, 0.7], [4]]";
    assert_eq!(problem(row).0, "[4]");
}

#[test]
fn text_that_is_no_toml_is_refused_where_it_breaks() {
    let problems = parse("title = \"x\"\n[limits\n").unwrap_err();
    assert!(!problems.is_empty());
    assert!(problems.iter().all(|problem| problem.subject == "line:2"), "{problems:#?}");
}

#[test]
fn a_book_of_its_own_must_be_whole() {
    let problems = parse("title = \"Short\"").unwrap_err();
    assert!(problems[0].headline.starts_with("the book lacks limit distance.battery-bare"));
    assert!(problems[0].help.contains("based-on"));
}

#[test]
fn books_build_on_books_but_not_on_themselves() {
    let texts = [
        ("a", "title = \"A\"\nbased-on = \"b\""),
        (
            "b",
            "based-on = \"common-practice\"\ntitle = \"B\"\n[limits]\ncranking = { value = \"judged\", source = \"b\", confidence = \"checked\" }",
        ),
        ("c", "based-on = \"d\""),
        ("d", "based-on = \"c\""),
    ];
    let mut find = |name: &str| {
        let row = texts.iter().position(|row| row.0 == name)?;
        Some((FileId(u32::try_from(row).unwrap()), Source::new(name, texts[row].1)))
    };
    let mut read = |row: usize| {
        let (name, text) = texts[row];
        Book::parse(name, FileId(u32::try_from(row).unwrap()), &Source::new(name, text), &mut find)
    };
    let book = read(0).unwrap();
    assert_eq!(book.title(), "A");
    assert!(!book.cranking_exempt());
    let problems = read(2).unwrap_err();
    assert_eq!(problems[0].headline, "the book builds on itself: c → d → c");
    assert_eq!(problems[0].span.file, FileId(3));
    let problems = parse("based-on = \"comon-practice\"").unwrap_err();
    assert_eq!(problems[0].help, "the nearest book is `common-practice`");
}

#[test]
fn a_design_replaces_limits() {
    let book = shipped();
    let changes = [
        change("distance.battery-bare", LimitValue::Length(Length::metres(0.15))),
        change("protection.ratio", LimitValue::Number(1.5)),
        change("cranking", LimitValue::Word("judged".into())),
        change("full.nmc", LimitValue::Voltage(Voltage::volts(12.6))),
    ];
    let changed = book.with_changes(&changes).unwrap();
    assert_eq!(changed.length(LengthLimit::BatteryBare), Length::metres(0.15));
    assert_eq!(changed.share(ShareLimit::ProtectionRatio), Share::percent(150.0));
    assert!(!changed.cranking_exempt());
    assert_eq!(changed.full_voltage(Chemistry::Nmc, Voltage::volts(24.0)), Voltage::volts(25.2));
    let figure = changed.figure("distance.battery-bare").unwrap();
    assert_eq!((figure.value_text.as_str(), figure.source.as_str()), ("150 mm", "this design"));
    assert_eq!(figure.changed_because.as_deref(), Some("the client's own"));
    assert_eq!(book.length(LengthLimit::BatteryBare), Length::metres(0.18));
}

#[test]
fn a_design_cannot_replace_what_there_is_not() {
    let problems = shipped()
        .with_changes(&[
            change("distance.batery-bare", LimitValue::Length(Length::metres(0.15))),
            change("drop.critical", LimitValue::Number(3.0)),
            change("charge.share", LimitValue::Current(Current::amps(3.0))),
        ])
        .unwrap_err();
    let told: Vec<_> =
        problems.iter().map(|problem| (problem.rule.as_ref(), problem.help.as_str())).collect();
    assert_eq!(
        told,
        [
            ("language.name", "the nearest limit is `distance.battery-bare`"),
            ("language.unit", "it is a share, such as 80 %"),
            ("language.unit", "it is a share, such as 80 %"),
        ]
    );
    assert_eq!((problems[0].span.start, problems[1].span.start), (1, 5));
}
