//! Pages of the rules: the list, and one rule whole. The same pages stand in the documentation.

use serde::Serialize;

use super::{DesignEntry, Document, Human, Manner, Output, Page, json};
use crate::book::{Book, Confidence, Figure};
use crate::check::{DEFAULT_BOOK, Judgement, Options, check};
use crate::design::Date;
use crate::findings::Severity;
use crate::rules::{ALL, MISTAKES, Mistake, NotYet, Rule, find, not_yet};
use crate::text::MemoryFiles;

/// The day on which waivers in examples are judged.
const EXAMPLE_DAY: &str = "2026-06-01";
/// The list of figures that are not stated: the smallest examples leave open what their rule does not need.
const OPEN_FIGURES: &str = "unknown.rating";
/// Columns of an example's output.
const EXAMPLE_WIDTH: usize = 100;
/// What marks a figure from memory.
pub(super) const MARK: &str = " *";
/// What the mark means.
pub(super) const MARK_SAYS: &str =
    "* from memory: to be confirmed against the current edition of the standard.";

/// The list of all rules, or of one group (`protection`); `None` where no id begins so.
#[must_use]
pub fn rule_list(book: &Book, group: Option<&str>) -> Option<Document> {
    let inside = |id: &str| group.is_none_or(|group| id.split('.').next() == Some(group));
    let judged: Vec<&Rule> = ALL.iter().copied().filter(|rule| inside(rule.id)).collect();
    let mistakes: Vec<&Mistake> = MISTAKES.iter().filter(|mistake| inside(mistake.id)).collect();
    let missing: Vec<NotYet> = not_yet().filter(|row| inside(row.id)).collect();
    if judged.is_empty() && mistakes.is_empty() && missing.is_empty() {
        return None;
    }
    let mut page = Page::new(group.map_or("Rules".into(), |group| format!("Rules of {group}")));
    page.text(format!(
        "Severities are those of book {} ({}). `ohmward rules ID` tells one rule whole.",
        book.name(),
        book.title()
    ));
    let heads = ["rule", "severity", "claim"];
    if !judged.is_empty() {
        let rows = judged.iter().map(|rule| vec![rule.id.into(), standing(book, rule), rule.claim.into()]);
        page.words(&heads, rows.collect());
    }
    if !mistakes.is_empty() {
        page.heading("What is wrong with the language");
        let rows = mistakes.iter().map(|row| vec![row.id.into(), "error".into(), format!("{}.", row.says)]);
        page.words(&["rule", "severity", "holds when"], rows.collect());
    }
    if !missing.is_empty() {
        page.heading("Not judged yet");
        page.words(
            &["rule", "what it would judge"],
            missing.iter().map(|row| vec![row.id.into(), row.says.into()]).collect(),
        );
    }
    let judged = judged.into_iter().map(|rule| Row::of(book, rule));
    let mistakes = mistakes.into_iter().map(Row::of_mistake);
    let rows: Vec<Row> = judged.chain(mistakes).chain(missing.into_iter().map(Row::of_missing)).collect();
    let json = json::document("rules", &List { book: book.name(), all: rows });
    Some(Document { page, json })
}

/// One rule whole, or a mistake of the language, or what an id that is not judged yet would judge.
#[must_use]
pub fn rule_page(book: &Book, id: &str) -> Option<Document> {
    if let Some(rule) = find(id) {
        return Some(of_rule(book, rule));
    }
    if let Some(mistake) = MISTAKES.iter().find(|mistake| mistake.id == id) {
        return Some(of_mistake(mistake));
    }
    let missing = not_yet().find(|row| row.id == id)?;
    let mut page = Page::new(id);
    page.text(format!("Not judged yet. It would judge {}.", missing.says));
    page.text("Books and waivers may name it already.");
    Some(Document { page, json: json::document("rule", &Row::of_missing(missing)) })
}

fn of_rule(book: &Book, rule: &Rule) -> Document {
    let judgement = example(rule.id, rule.bad);
    let waive = waiving(rule.id, &judgement);
    let severity = severity(book, rule);
    let mut page = Page::new(rule.id);
    page.severity(severity, rule.claim);
    if let Some(says) = set_by(book, rule) {
        page.text(says);
    }
    page.text(rule.why);
    page.text(format!("How it is judged: {}", rule.how));
    let limits: Vec<(&str, Figure)> =
        rule.limits.iter().filter_map(|name| Some((*name, book.figure(name)?))).collect();
    if !limits.is_empty() {
        let rows = limits.iter().map(|(name, figure)| {
            vec![
                (*name).into(),
                marked(&figure.value_text, figure.confidence),
                known(figure.confidence).into(),
                figure.source.clone(),
            ]
        });
        page.words(&["limit", book.name(), "known", "from"], rows.collect());
        if limits.iter().any(|row| row.1.confidence == Confidence::Memory) {
            page.text(MARK_SAYS);
        }
    }
    examples(&mut page, rule.id, [rule.bad, rule.good], &judgement);
    if let Some(waive) = &waive {
        page.text("A finding that may stay is accepted with a reason and a last day:");
        page.code("loom", waive);
    }
    let limits = limits.iter().map(|(name, figure)| LimitRow {
        name,
        value: &figure.value_text,
        source: &figure.source,
        confidence: figure.confidence.word(),
    });
    let whole = Whole {
        row: Row::of(book, rule),
        own_severity: rule.severity.word(),
        book: book.name(),
        why: rule.why,
        how: rule.how,
        limits: limits.collect(),
        bad: Sample { file: sample(rule.id), text: rule.bad },
        judged: DesignEntry::of(&judgement),
        good: Sample { file: mended(rule.id), text: rule.good },
        waive,
    };
    Document { page, json: json::document("rule", &whole) }
}

fn of_mistake(mistake: &Mistake) -> Document {
    let judgement = example(mistake.id, mistake.bad);
    let mut page = Page::new(mistake.id);
    page.severity(Severity::Error, format!("{}.", mistake.says));
    examples(&mut page, mistake.id, [mistake.bad, mistake.good], &judgement);
    let whole = WholeMistake {
        row: Row::of_mistake(mistake),
        bad: Sample { file: sample(mistake.id), text: mistake.bad },
        judged: DesignEntry::of(&judgement),
        good: Sample { file: mended(mistake.id), text: mistake.good },
    };
    Document { page, json: json::document("rule", &whole) }
}

fn examples(page: &mut Page, id: &str, [bad, good]: [&str; 2], judgement: &Judgement) {
    page.text(format!("Breaks it (`{}`):", sample(id)));
    page.code("loom", bad);
    page.text(format!("What ohmward says of it, by book {DEFAULT_BOOK}:"));
    let mut out = Vec::new();
    let told = Human { manner: Manner::Told, width: EXAMPLE_WIDTH };
    // Memory takes whatever is written.
    drop(told.design(judgement, &mut out));
    page.code("text", &String::from_utf8_lossy(&out));
    page.text(format!("Mended (`{}`):", mended(id)));
    page.code("loom", good);
}

fn sample(id: &str) -> String {
    format!("samples/faults/{id}.loom")
}

fn mended(id: &str) -> String {
    format!("samples/faults/{id}.mended.loom")
}

fn example(id: &str, text: &str) -> Judgement {
    let path = sample(id);
    let files = MemoryFiles::default().with(&path, text);
    let options = Options::on(Date::parse(EXAMPLE_DAY).unwrap_or(Date::from_days(0)));
    let mut judgement = check(&path, &files, &options);
    judgement.findings.retain(|finding| finding.rule != OPEN_FIGURES || id == OPEN_FIGURES);
    judgement
}

/// The statement that accepts the example's finding; none for what a waiver cannot accept.
fn waiving(id: &str, judgement: &Judgement) -> Option<String> {
    let subject = &judgement.findings.iter().find(|finding| finding.rule == id)?.subject;
    let named = !subject.starts_with("line:") && !id.starts_with("waiver.");
    named.then(|| format!("waive {id} on {subject} because \"why it may stay\" until 2027-03-31"))
}

fn severity(book: &Book, rule: &Rule) -> Severity {
    book.rule(rule.id).severity.unwrap_or(rule.severity)
}

/// The severity as the list has it.
fn standing(book: &Book, rule: &Rule) -> String {
    match book.rule(rule.id).applies {
        true => severity(book, rule).to_string(),
        false => "off".into(),
    }
}

/// What a book says of a rule, where it says anything.
fn set_by(book: &Book, rule: &Rule) -> Option<String> {
    let (_, setting, source) = book.settings().find(|row| row.0 == rule.id)?;
    let says = book.says_rule(rule.id).name();
    let source = source.map_or_else(String::new, |source| format!(" ({source})"));
    match setting.severity {
        _ if !setting.applies => Some(format!("Book {says} switches it off{source}.")),
        Some(severity) if severity != rule.severity => Some(format!(
            "The severity is set by book {says}{source}; the rule by itself is {}.",
            with_article(rule.severity)
        )),
        Some(_) => Some(format!("The severity is set by book {says}{source}, as the rule has it by itself.")),
        None => None,
    }
}

fn with_article(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "an error",
        Severity::Warning => "a warning",
        Severity::Advice => "advice",
    }
}

/// A value, with the mark of what is from memory.
pub(super) fn marked(value: &str, confidence: Confidence) -> String {
    if confidence == Confidence::Memory { format!("{value}{MARK}") } else { value.to_owned() }
}

/// How a figure is known, in words.
pub(super) fn known(confidence: Confidence) -> &'static str {
    match confidence {
        Confidence::Memory => "from memory",
        Confidence::CommonPractice => "common practice",
        Confidence::Design => "this design",
        Confidence::Checked | Confidence::Computed => confidence.word(),
    }
}

#[derive(Serialize)]
struct List<'b> {
    book: &'b str,
    all: Vec<Row>,
}

#[derive(Serialize)]
struct Row {
    id: &'static str,
    /// `judged`, `language` or `not-yet`.
    state: &'static str,
    applies: bool,
    severity: Option<&'static str>,
    claim: &'static str,
}

impl Row {
    fn of(book: &Book, rule: &Rule) -> Self {
        let applies = book.rule(rule.id).applies;
        let severity = Some(severity(book, rule).word());
        Self { id: rule.id, state: "judged", applies, severity, claim: rule.claim }
    }

    fn of_mistake(row: &Mistake) -> Self {
        Self { id: row.id, state: "language", applies: true, severity: Some("error"), claim: row.says }
    }

    fn of_missing(row: NotYet) -> Self {
        Self { id: row.id, state: "not-yet", applies: false, severity: None, claim: row.says }
    }
}

#[derive(Serialize)]
struct Whole<'b> {
    #[serde(flatten)]
    row: Row,
    own_severity: &'static str,
    book: &'b str,
    why: &'static str,
    how: &'static str,
    limits: Vec<LimitRow<'b>>,
    bad: Sample,
    judged: DesignEntry<'b>,
    good: Sample,
    waive: Option<String>,
}

#[derive(Serialize)]
struct WholeMistake<'b> {
    #[serde(flatten)]
    row: Row,
    bad: Sample,
    judged: DesignEntry<'b>,
    good: Sample,
}

#[derive(Serialize)]
struct LimitRow<'b> {
    name: &'b str,
    value: &'b str,
    source: &'b str,
    confidence: &'static str,
}

#[derive(Serialize)]
struct Sample {
    file: String,
    text: &'static str,
}
