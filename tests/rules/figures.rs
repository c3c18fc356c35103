//! A finding tells every limit that decided it: why the design changed it, or that it is from memory.

use ohmward::book::Limit;
use ohmward::check::{Options, check};
use ohmward::design::Date;
use ohmward::findings::Finding;
use ohmward::rules;
use ohmward::text::MemoryFiles;

/// The example's findings of a rule, by a book that builds on the default one and with statements added.
fn found(rule: &rules::Rule, statements: &str, book: &str) -> Vec<Finding> {
    let text = format!("{}\n{statements}", rule.bad);
    let book = format!("title = \"Invented\"\nbased-on = \"common-practice\"\n{book}");
    let files = MemoryFiles::default().with("design.loom", text).with("own.toml", book);
    let options =
        Options { book: Some("own.toml".into()), ..Options::on(Date::parse("2026-11-25").unwrap()) };
    let mut findings = check("design.loom", &files, &options).findings;
    assert!(findings.iter().all(|one| !one.rule.starts_with("language.")), "{statements}: {findings:?}");
    findings.retain(|finding| finding.rule == rule.id);
    findings
}

/// Other values that a limit might have had, near the one that it has.
fn others(limit: Limit, value: &str) -> Vec<String> {
    if !limit.words().is_empty() {
        return limit.words().iter().filter(|word| **word != value).map(|word| (*word).to_owned()).collect();
    }
    let (number, unit) = value.split_once(' ').unwrap_or((value, ""));
    let number: f64 = number.parse().unwrap_or_else(|_| panic!("{value}"));
    let near = [number * 0.95, number * 1.05, number + 1.0];
    near.iter().map(|other| format!("{other} {unit}").trim_end().to_owned()).collect()
}

/// What a finding says, its own figures of limits aside.
fn says(findings: &[Finding]) -> Vec<String> {
    findings
        .iter()
        .map(|one| format!("{} {} {:?} {}", one.headline, one.label, one.values, one.help))
        .collect()
}

/// The limits of a rule that decide something in its example, each with the value that it has.
fn deciding(rule: &rules::Rule) -> Vec<(Limit, String)> {
    let book = ohmward::book::Book::shipped("common-practice").unwrap();
    let before = says(&found(rule, "", ""));
    let limits = rule.limits.iter().flat_map(|name| Limit::named(name));
    let values = limits.map(|limit| (limit, book.limit_figure(limit).unwrap().value_text));
    values
        .filter(|(limit, value)| {
            others(*limit, value).iter().any(|other| {
                let changed = format!("limit {} {other} because \"another\"\n", limit.name());
                says(&found(rule, &changed, "")) != before
            })
        })
        .collect()
}

#[test]
fn a_changed_limit_is_told_with_its_reason() {
    let mut n_told = 0;
    for rule in rules::ALL {
        for (limit, value) in deciding(rule) {
            let name = limit.name();
            let findings = found(rule, &format!("limit {name} {value} because \"the yard says so\"\n"), "");
            for finding in &findings {
                let told = finding.figures.iter().any(|figure| {
                    figure.meaning.starts_with(&*name) && figure.meaning.contains("because the yard says so")
                });
                assert!(told, "{}: {name} {value} is not told: {finding:#?}", rule.id);
                n_told += 1;
            }
        }
    }
    assert!(5 <= n_told, "{n_told}");
}

#[test]
fn a_figure_from_memory_is_told_as_such() {
    let mut silent = Vec::new();
    for rule in rules::ALL {
        for (limit, value) in deciding(rule) {
            let name = limit.name();
            let memory = format!(
                "[limits]\n\"{name}\" = {{ value = \"{value}\", source = \"invented\", confidence = \"memory\" }}\n"
            );
            for finding in &found(rule, "", &memory) {
                let told = finding.figures.iter().any(|figure| {
                    figure.meaning.starts_with(&*name) && figure.meaning.contains("from memory")
                });
                if !told {
                    silent.push(format!("{}: {name}", rule.id));
                }
            }
        }
    }
    assert!(silent.is_empty(), "a limit from memory is not told: {silent:#?}");
}
