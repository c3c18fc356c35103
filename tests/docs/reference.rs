//! `rules/REFERENCE.md`: every rule's page, with the real output of its bad example.

use ohmward::book::Book;
use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::render::{book_page, rule_page};
use ohmward::rules::{ALL, MISTAKES, Mistake};
use ohmward::text::MemoryFiles;

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
    for Mistake { id, says, .. } in MISTAKES {
        page += &format!("| [`{id}`](#{}) | {says} |\n", anchor(id));
    }
    let book = super::book();
    for id in ALL.iter().map(|rule| rule.id).chain(MISTAKES.iter().map(|row| row.id)) {
        let document = rule_page(&book, id).expect("every rule has a page");
        page += &format!("\n{}", document.page.markdown(2));
    }
    page
}

/// A book's page. Tables that are as in another book stand there.
pub(super) fn of_book(name: &str) -> String {
    let book = Book::shipped(name).expect("a book that ships reads");
    let made = "Written by a test (`tests/docs/mod.rs`) from";
    format!("{}\n{made} `rules/{name}.toml`.\n", book_page(&book, false).page.markdown(1))
}

fn anchor(id: &str) -> String {
    id.replace('.', "")
}
