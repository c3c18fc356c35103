//! The documentation against the program: what is generated is generated again and compared, what is shown is run.
//!
//! `OHMWARD_WRITE_DOCS=1 cargo test docs` writes what differs in place of comparing it.
#![expect(clippy::panic, reason = "in a test that is how to say that it failed")]

mod pages;
mod reference;
mod shown;
mod tables;
mod textmate;

use std::collections::BTreeSet;

use ohmward::book::{self, Book, Limit};
use ohmward::rules::ALL;
use ohmward::syntax::words::{self, BareForm, Property};

use pages::{held, prose, read, root, section};

const PAGES: [&str; 4] = ["README.md", "DEVELOPERS.md", "grammar/LANGUAGE.md", "rules/REFERENCE.md"];

fn book() -> Book {
    Book::shipped("common-practice").expect("the default book reads")
}

#[test]
fn what_is_generated_and_shown_is_current() {
    for page in &PAGES[..3] {
        let text = shown::again(page, &tables::again(page, &pages::laid_out(&read(page))));
        held(page, &text);
    }
    held("rules/REFERENCE.md", &reference::page());
    for name in Book::shipped_names() {
        held(&format!("rules/pages/{name}.md"), &reference::of_book(name));
    }
}

#[test]
fn rules_are_sorted_and_well_formed() {
    assert!(ALL.windows(2).all(|pair| pair[0].id < pair[1].id), "ids are sorted, and each stands once");
    let book = book();
    for rule in ALL {
        for text in [rule.claim, rule.why, rule.how] {
            assert!(
                text.ends_with('.') && !text.contains('!') && !text.contains("  "),
                "{}: «{text}»",
                rule.id
            );
        }
        for limit in rule.limits {
            assert!(Limit::all().any(|known| known.name() == *limit), "{}: no limit {limit}", rule.id);
            assert!(book.figure(limit).is_some(), "{}: common-practice has no {limit}", rule.id);
        }
        assert!(words::RULE_IDS.contains(&rule.id), "{} cannot be waived", rule.id);
        assert!(book::RULE_IDS.contains(&rule.id), "{} cannot be set in a book", rule.id);
    }
}

#[test]
fn every_rule_is_in_the_readme() {
    let readme = read("README.md");
    let (judged, not_yet) = (section(&readme, "What is judged"), section(&readme, "What is not judged yet"));
    for id in words::RULE_IDS {
        let word = format!("`{id}`");
        let known = ALL.iter().any(|rule| rule.id == *id) || id.starts_with("language.");
        assert_eq!(judged.contains(&word), known, "{id} under «What is judged»");
        assert_eq!(not_yet.contains(&word), !known, "{id} under «What is not judged yet»");
    }
}

#[test]
fn every_word_is_in_the_language_reference() {
    let page = read("grammar/LANGUAGE.md");
    let named: BTreeSet<&str> =
        page.split(|one: char| one == '`' || one.is_whitespace() || one == '|').collect();
    let reference = words::reference();
    let mut missing: Vec<&str> = Vec::new();
    let mut need = |word: &'static str| {
        if !named.contains(word) {
            missing.push(word);
        }
    };
    reference.statements.iter().for_each(|row| need(row.word));
    reference.units.iter().for_each(|row| need(row.word));
    reference.settings.iter().for_each(|row| need(row.0));
    let property = |row: &Property| row.word;
    reference.common.iter().map(property).for_each(&mut need);
    for kind in reference.kinds.iter().chain([reference.wire, reference.data]) {
        need(kind.word);
        kind.terminals.iter().for_each(|word| need(word));
        kind.properties.iter().map(property).for_each(&mut need);
        for bare in kind.bare {
            if let BareForm::Words { words, .. } = bare.form {
                words.iter().for_each(|word| need(word));
            }
        }
    }
    words::reserved().iter().for_each(|word| need(word));
    assert!(missing.is_empty(), "not in grammar/LANGUAGE.md: {missing:?}");
    for limit in Limit::all() {
        assert!(
            page.contains(&format!("`{}`", limit.name())),
            "no limit {} in grammar/LANGUAGE.md",
            limit.name()
        );
    }
}

#[test]
fn files_that_are_mentioned_exist() {
    for page in PAGES {
        let (text, folder) = (read(page), page.rsplit_once('/').map_or("", |row| row.0));
        for path in pages::paths(&text) {
            let beside = root().join(folder).join(path);
            assert!(root().join(path).exists() || beside.exists(), "{page} mentions {path}");
        }
    }
}

#[test]
fn links_lead_somewhere() {
    for page in PAGES {
        let (text, folder) = (read(page), page.rsplit_once('/').map_or("", |row| row.0));
        for link in pages::links(&text).filter(|link| !link.starts_with("https://")) {
            let (path, anchor) = link.split_once('#').unwrap_or((link, ""));
            let target = if path.is_empty() { root().join(page) } else { root().join(folder).join(path) };
            assert!(target.exists(), "{page} links to {link}");
            let target = std::fs::read_to_string(&target).unwrap_or_default();
            assert!(
                anchor.is_empty() || pages::anchors(&target).any(|one| one == anchor),
                "{page} links to {link}"
            );
        }
    }
}

#[test]
fn designs_in_the_language_reference_are_in_the_language() {
    let page = read("grammar/LANGUAGE.md");
    let mut n_designs = 0;
    for block in pages::blocks(&page).filter(|block| block.info == "loom") {
        if block.text.starts_with("design ") {
            n_designs += 1;
            let judgement = reference::judged("it.loom", &[("it.loom", &block.text)]);
            let standing = judgement.findings.iter();
            let standing = standing.filter(|row| row.waived.is_none() && row.rule != reference::OPEN_FIGURES);
            let told: Vec<&str> = standing.map(|finding| finding.headline.as_str()).collect();
            assert!(told.is_empty(), "{told:?} in\n{}", block.text);
        }
    }
    assert!(n_designs >= 3, "{n_designs} designs");
}

/// Every `loom` block is a whole file today; one that is not has its words in the form too, as far as they show it.
#[test]
fn designs_in_pages_are_in_the_standard_form() {
    for (page, at_least) in PAGES.into_iter().zip([7, 0, 6, 100]) {
        let text = read(page);
        let looms: Vec<_> = pages::blocks(&text).filter(|block| block.kind() == "loom").collect();
        assert!(at_least <= looms.len(), "{page} has {} `loom` blocks", looms.len());
        for block in looms {
            assert_eq!(ohmward::tidy::laid_out(&block.text), block.text, "{page}");
        }
    }
    let untidy = "```loom\nload  a 1A\n```\n\n```console\n$ a  b\n```\n";
    assert_eq!(pages::laid_out(untidy), untidy.replace("load  a 1A", "load a 1 A"));
}

#[test]
fn every_dependency_has_its_reason() {
    let page = read("DEVELOPERS.md");
    let manifest: toml::Table = read("Cargo.toml").parse().expect("a manifest");
    for table in ["dependencies", "dev-dependencies"] {
        for name in manifest[table].as_table().expect("a table").keys() {
            assert!(page.contains(&format!("- `{name}`: ")), "no reason for {name} in DEVELOPERS.md");
        }
    }
}

#[test]
fn the_tone_is_even() {
    for page in PAGES {
        let text = prose(&read(page));
        assert!(!text.replace("<!--", "").contains('!'), "an exclamation mark in {page}");
        assert!(!text.contains("/tmp/") && !text.contains("/home/"), "a path of some machine in {page}");
    }
}
