//! Pages of the rule books: the list, and one book with every figure and its source.

use std::collections::BTreeMap;

use serde::Serialize;

use super::rule_pages::{MARK_SAYS, known, marked};
use super::{Document, HouseEntry, Page, json};
use crate::book::{Book, Confidence, Figure, Limit, Listed};
use crate::rules;

/// The list of the books that ship.
#[must_use]
pub fn book_list() -> Document {
    let books: Vec<Book> = Book::shipped_names().into_iter().filter_map(Book::shipped).collect();
    let mut page = Page::new("Rule books");
    page.text(
        "A design names its book with `book NAME`; without it the first one judges. The columns count the figures of a book by \
         how each is known; `ohmward book NAME` tells them all.",
    );
    let rows = books.iter().map(|book| {
        let mut cells = vec![book.name().to_owned()];
        cells.extend(counts(book).into_iter().map(|row| row.1.to_string()));
        cells.push(book.base().map_or("-", Book::name).to_owned());
        cells.push(book.title().to_owned());
        cells
    });
    let heads = ["book", "checked", "computed", "memory", "practice", "builds on", "title"];
    page.words(&heads, rows.collect());
    let rows: Vec<BookRow> = books.iter().map(BookRow::of).collect();
    Document { page, json: json::document("books", &rows) }
}

/// One book. Where not `whole`, a table that is as in the book below is named, not repeated.
#[must_use]
pub fn book_page(book: &Book, whole: bool) -> Document {
    let mut page = Page::new(book.name());
    page.text(format!("{}.", book.title().trim_end_matches('.')));
    if let Some(base) = book.base() {
        page.text(format!(
            "It builds on {}, and states what differs. The column `book` names the book that states a figure.",
            base.name()
        ));
    }
    let counted =
        counts(book).into_iter().filter(|row| 0 < row.1).map(|row| format!("{} {}", row.1, known(row.0)));
    page.text(format!(
        "Its figures, a table counted once for each source: {}. {MARK_SAYS}",
        counted.collect::<Vec<_>>().join(", ")
    ));
    limits(&mut page, book);
    let tables = book.tables_listed();
    for table in &tables {
        of_table(&mut page, book, table, whole);
    }
    settings(&mut page, book);
    own_rules(&mut page, book);
    let document = Whole {
        row: BookRow::of(book),
        limits: Limit::all().filter_map(|limit| LimitRow::of(book, limit)).collect(),
        tables: tables.iter().map(|table| TableRow::of(book, table)).collect(),
        rules: book.settings().map(|row| RuleRow::of(book, row)).collect(),
        own_rules: book.house_rules().iter().map(|rule| HouseEntry::of(rule)).collect(),
    };
    Document { json: json::document("book", &document), page }
}

/// How many figures are known in which way.
fn counts(book: &Book) -> Vec<(Confidence, usize)> {
    let all = book.figures();
    let of = |confidence: Confidence| all.iter().filter(|row| row.1.confidence == confidence).count();
    Confidence::WORDS.iter().map(|row| (row.1, of(row.1))).collect()
}

fn limits(page: &mut Page, book: &Book) {
    page.heading("Limits");
    let mut heads = vec!["limit", "value", "known"];
    if book.base().is_some() {
        heads.push("book");
    }
    heads.extend(["what it limits", "from"]);
    let rows = Limit::all().filter_map(|limit| {
        let figure = book.limit_figure(limit)?;
        let mut cells = vec![
            limit.name().into_owned(),
            marked(&figure.value_text, figure.confidence),
            known(figure.confidence).into(),
        ];
        if book.base().is_some() {
            cells.push(figure.book.clone());
        }
        cells.extend([limit.doc().into(), figure.source]);
        Some(cells)
    });
    page.words(&heads, rows.collect());
}

fn of_table(page: &mut Page, book: &Book, table: &Listed, whole: bool) {
    let inherited = table.inherited(book);
    page.heading(format!(
        "Table {}",
        table.figure.as_ref().map_or(table.name.into(), |figure| marked(table.name, figure.confidence))
    ));
    let from = inherited.map_or_else(String::new, |from| format!(" As in book {from}."));
    page.text(format!("{}{from}", table.says));
    if inherited.is_some() && !whole {
        return;
    }
    let mut heads = table.heads.clone();
    if table.figure.is_none() {
        heads.extend(["known", "from"].map(str::to_owned));
    }
    let rows = table.rows.iter().map(|row| {
        let mut cells = row.cells.clone();
        if let Some(figure) = &row.figure {
            if let Some(name) = cells.first_mut() {
                *name = marked(name, figure.confidence);
            }
            cells.extend([known(figure.confidence).into(), figure.source.clone()]);
        }
        cells
    });
    page.figures(heads, rows.collect());
    if let Some(figure) = &table.figure {
        page.text(format!("From: {} ({}).", figure.source, known(figure.confidence)));
    }
}

fn settings(page: &mut Page, book: &Book) {
    page.heading("Rules");
    let rows: Vec<Vec<String>> = book
        .settings()
        .map(|(id, setting, source)| {
            let own = rules::find(id).map_or("", |rule| rule.severity.word());
            let is = match (setting.applies, setting.severity) {
                (false, _) => "off",
                (true, Some(severity)) => severity.word(),
                (true, None) => own,
            };
            let says = book.says_rule(id).name();
            vec![id.into(), is.into(), own.into(), says.into(), source.unwrap_or("").into()]
        })
        .collect();
    if rows.is_empty() {
        page.text("It leaves every rule with its own severity.");
        return;
    }
    page.text(
        "Rules that it switches off, or whose severity it sets. All others apply with their own severity.",
    );
    page.words(&["rule", "here", "by itself", "book", "from"], rows);
}

fn own_rules(page: &mut Page, book: &Book) {
    let rows: Vec<Vec<String>> = book
        .house_rules()
        .iter()
        .map(|rule| {
            vec![
                rule.id.clone(),
                rule.severity.to_string(),
                rule.element.word().into(),
                rule.why.clone(),
                format!("demands: {}", rule.demand()),
                rule.source.clone(),
            ]
        })
        .collect();
    if !rows.is_empty() {
        page.heading("Rules of its own");
        page.words(&["rule", "severity", "of each", "why", "demand", "from"], rows);
    }
}

#[derive(Serialize)]
struct BookRow {
    name: String,
    title: String,
    based_on: Option<String>,
    figures: BTreeMap<&'static str, usize>,
}

impl BookRow {
    fn of(book: &Book) -> Self {
        Self {
            name: book.name().into(),
            title: book.title().into(),
            based_on: book.base().map(|base| base.name().into()),
            figures: counts(book).into_iter().map(|row| (row.0.word(), row.1)).collect(),
        }
    }
}

#[derive(Serialize)]
struct Whole {
    #[serde(flatten)]
    row: BookRow,
    limits: Vec<LimitRow>,
    tables: Vec<TableRow>,
    rules: Vec<RuleRow>,
    own_rules: Vec<HouseEntry>,
}

#[derive(Serialize)]
struct LimitRow {
    name: String,
    value: String,
    says: &'static str,
    #[serde(flatten)]
    from: From,
    book: String,
}

impl LimitRow {
    fn of(book: &Book, limit: Limit) -> Option<Self> {
        let figure = book.limit_figure(limit)?;
        Some(Self {
            name: limit.name().into_owned(),
            says: limit.doc(),
            from: From::of(&figure),
            value: figure.value_text,
            book: figure.book,
        })
    }
}

#[derive(Serialize)]
struct From {
    source: String,
    confidence: &'static str,
}

impl From {
    fn of(figure: &Figure) -> Self {
        Self { source: figure.source.clone(), confidence: figure.confidence.word() }
    }
}

#[derive(Serialize)]
struct TableRow {
    name: &'static str,
    says: &'static str,
    heads: Vec<String>,
    rows: Vec<Cells>,
    #[serde(flatten)]
    from: Option<From>,
    book: String,
}

#[derive(Serialize)]
struct Cells {
    cells: Vec<String>,
    #[serde(flatten)]
    from: Option<From>,
}

impl TableRow {
    fn of(book: &Book, table: &Listed) -> Self {
        let rows = table.rows.iter();
        Self {
            name: table.name,
            says: table.says,
            heads: table.heads.clone(),
            rows: rows
                .map(|row| Cells { cells: row.cells.clone(), from: row.figure.as_ref().map(From::of) })
                .collect(),
            from: table.figure.as_ref().map(From::of),
            book: table.inherited(book).unwrap_or(book.name()).into(),
        }
    }
}

#[derive(Serialize)]
struct RuleRow {
    id: String,
    applies: bool,
    severity: Option<&'static str>,
    source: Option<String>,
    book: String,
}

impl RuleRow {
    fn of(book: &Book, (id, setting, source): (&str, crate::book::RuleSetting, Option<&str>)) -> Self {
        Self {
            id: id.into(),
            applies: setting.applies,
            severity: setting.severity.map(crate::findings::Severity::word),
            source: source.map(Into::into),
            book: book.says_rule(id).name().into(),
        }
    }
}
