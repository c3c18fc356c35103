//! A book from its text: what it says itself over what the book that it builds on says.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeString, DeTable};

use super::fields::{Reader, Value};
use super::house::House;
use super::limits::Limit;
use super::load_tables::{Partial, SECTIONS};
use super::origin::Origin;
use super::quantity::{self, Unsuited};
use super::{Book, Entry, Inner, RULE_IDS, RuleSetting};
use crate::findings::{Finding, Severity};
use crate::text::{FileId, Source};

/// Finds the text of the book that another builds on.
pub type FindBook<'f> = dyn FnMut(&str) -> Option<(FileId, Source)> + 'f;

const TOP: &[&str] = &["title", "based-on", "limits", "rules", "house"];
const RULE_KEYS: &[&str] = &["applies", "severity", "source"];

impl Book {
    /// Reads a book. `find` gives the text of a book that it builds on, where that is none of those that ship.
    ///
    /// # Errors
    /// Everything that is wrong with it, each with its place in the text.
    pub fn parse(
        name: &str,
        file: FileId,
        source: &Source,
        find: &mut FindBook<'_>,
    ) -> Result<Self, Vec<Finding>> {
        read(name, file, source, find, &mut Vec::new())
    }
}

fn read(
    name: &str,
    file: FileId,
    source: &Source,
    find: &mut FindBook<'_>,
    before: &mut Vec<String>,
) -> Result<Book, Vec<Finding>> {
    let mut reader = Reader::new(name, file, source);
    let (top, errors) = DeTable::parse_recoverable(source.text());
    for error in errors {
        reader.problem(error.span().unwrap_or(0..0), error.message().trim(), "books are written in TOML");
    }
    if !reader.problems.is_empty() {
        return Err(reader.problems);
    }
    before.push(name.into());
    let base = match top.get_ref().get("based-on") {
        Some(value) => Some(base(&mut reader, value, find, before)?),
        None => None,
    };
    let mut draft = Draft::new(base.as_ref());
    // First, so that `[rules]` can name them wherever it stands.
    if let Some(house) = top.get_ref().get("house") {
        draft.house.read(&reader, house);
    }
    for (key, value) in top.get_ref() {
        draft.section(&mut reader, key, value);
    }
    draft.finish(reader, name, base)
}

fn base(
    reader: &mut Reader<'_>,
    value: &Value<'_>,
    find: &mut FindBook<'_>,
    before: &mut Vec<String>,
) -> Result<Book, Vec<Finding>> {
    let Some(name) = reader.text(value, "based-on") else { return Err(std::mem::take(&mut reader.problems)) };
    if let Some(first) = before.iter().position(|book| book == name) {
        let chain: Vec<&str> = before.iter().skip(first).map(String::as_str).chain([name]).collect();
        let headline = format!("the book builds on itself: {}", chain.join(" → "));
        reader.problem(value.span(), headline, "take one `based-on` out");
        return Err(std::mem::take(&mut reader.problems));
    }
    if let Some(book) = Book::shipped(name) {
        return Ok(book);
    }
    match find(name) {
        Some((file, source)) => read(name, file, &source, find, before),
        None => {
            reader.unknown(value.span(), "book", name, &Book::shipped_names());
            Err(std::mem::take(&mut reader.problems))
        }
    }
}

/// A book as far as it was read.
struct Draft {
    title: Option<String>,
    limits: Vec<Option<Entry>>,
    tables: Partial,
    rules: BTreeMap<Cow<'static, str>, RuleSetting>,
    house: House,
    rule_sources: BTreeMap<Cow<'static, str>, Arc<str>>,
}

impl Draft {
    fn new(base: Option<&Book>) -> Self {
        match base {
            Some(book) => Self {
                title: Some(book.title().into()),
                limits: book.0.limits.iter().cloned().map(Some).collect(),
                tables: Partial::based_on(book.tables()),
                rules: book.0.rules.clone(),
                house: book.0.house.clone(),
                rule_sources: book.0.rule_sources.clone(),
            },
            None => Self {
                title: None,
                limits: Limit::all().map(|_| None).collect(),
                tables: Partial::default(),
                rules: BTreeMap::new(),
                house: House::default(),
                rule_sources: BTreeMap::new(),
            },
        }
    }

    fn section(&mut self, reader: &mut Reader<'_>, key: &Spanned<DeString<'_>>, value: &Value<'_>) {
        match key.get_ref().as_ref() {
            "title" => self.title = reader.text(value, "title").map(Into::into),
            "based-on" | "house" => {}
            "limits" => {
                for (key, value) in reader.table(value, "limits").into_iter().flatten() {
                    self.limit(reader, key, value);
                }
            }
            "rules" => {
                for (key, value) in reader.table(value, "rules").into_iter().flatten() {
                    self.rule(reader, key, value);
                }
            }
            section if SECTIONS.contains(&section) => self.tables.read(reader, section, value),
            other => {
                let known: Vec<&str> = TOP.iter().chain(SECTIONS).copied().collect();
                reader.unknown(key.span(), "section", other, &known);
            }
        }
    }

    fn limit(&mut self, reader: &mut Reader<'_>, key: &Spanned<DeString<'_>>, value: &Value<'_>) {
        let name = key.get_ref();
        let limits = Limit::named(name);
        if limits.is_empty() {
            let names: Vec<_> = Limit::all().map(Limit::name).collect();
            reader.unknown(key.span(), "limit", name, &names.iter().map(AsRef::as_ref).collect::<Vec<_>>());
            return;
        }
        let Some((origin, table)) = reader.fields(value, name, &["value"]) else { return };
        let Some(at) = table.get("value") else { return };
        let Some(text) = reader.text(at, "value") else { return };
        for limit in limits {
            if let Err(help) = self.set(limit, text, &origin) {
                reader.problem(at.span(), format!("`{text}` does not suit {}", limit.name()), help);
                return;
            }
        }
    }

    fn set(&mut self, limit: Limit, text: &str, origin: &Origin) -> Result<(), String> {
        let read = quantity::read(text).ok_or(Unsuited::Kind);
        let value = read.and_then(|value| quantity::suit(limit, &value)).map_err(|why| help(limit, &why))?;
        if let Some(entry) = self.limits.get_mut(limit.index()) {
            *entry = Some(Entry { value, origin: origin.clone(), because: None });
        }
        Ok(())
    }

    fn rule(&mut self, reader: &mut Reader<'_>, key: &Spanned<DeString<'_>>, value: &Value<'_>) {
        let id = key.get_ref();
        let own = self.house.ids().any(|known| known == id).then(|| Cow::Owned(id.as_ref().to_owned()));
        let known = RULE_IDS.iter().find(|known| *known == id).map(|known| Cow::Borrowed(*known));
        let Some(id) = known.or(own) else {
            let all: Vec<&str> = RULE_IDS.iter().copied().chain(self.house.ids()).collect();
            reader.unknown(key.span(), "rule", id, &all);
            return;
        };
        let Some(table) = reader.table(value, &id) else { return };
        for key in table.keys() {
            if !RULE_KEYS.contains(&key.get_ref().as_ref()) {
                reader.unknown(key.span(), "key", key.get_ref(), RULE_KEYS);
            }
        }
        let mut setting = RuleSetting { applies: true, severity: None };
        if let Some(applies) = table.get("applies") {
            setting.applies = reader.flag(applies, "applies").unwrap_or(true);
        }
        if let Some(severity) = table.get("severity") {
            let words = [Severity::Error, Severity::Warning, Severity::Advice];
            let text = reader.text(severity, "severity").unwrap_or_default();
            setting.severity = words.into_iter().find(|word| word.word() == text);
            if setting.severity.is_none() {
                reader.unknown(severity.span(), "severity", text, &words.map(Severity::word));
            }
        }
        self.rules.insert(id.clone(), setting);
        let source = table.get("source").and_then(|source| reader.text(source, "source"));
        match source {
            Some(source) => _ = self.rule_sources.insert(id, source.into()),
            None => _ = self.rule_sources.remove(&id),
        }
    }

    fn finish(self, mut reader: Reader<'_>, name: &str, base: Option<Book>) -> Result<Book, Vec<Finding>> {
        let missing = Limit::all().zip(&self.limits).filter(|row| row.1.is_none()).map(|row| row.0.name());
        let missing: Vec<_> = missing.map(|name| format!("limit {name}")).collect();
        let tables = self.tables.finish();
        let mut lacks = missing;
        if let Err(names) = &tables {
            lacks.extend(names.iter().map(|name| format!("table {name}")));
        }
        if self.title.is_none() {
            lacks.push("title".into());
        }
        if !lacks.is_empty() && reader.problems.is_empty() {
            let help = "add them, or build on another book: based-on = \"common-practice\"";
            reader.problem(0..0, format!("the book lacks {}", lacks.join(", ")), help);
        }
        match (tables, self.title) {
            (Ok(tables), Some(title)) if reader.problems.is_empty() => Ok(Book(Arc::new(Inner {
                name: name.into(),
                title,
                limits: self.limits.into_iter().flatten().collect(),
                tables: Arc::new(tables),
                rules: self.rules,
                house: self.house,
                rule_sources: self.rule_sources,
                base,
            }))),
            _ => {
                reader.problems.sort_by_key(|problem| problem.span);
                Err(reader.problems)
            }
        }
    }
}

/// What would suit a limit.
pub(super) fn help(limit: Limit, why: &Unsuited) -> String {
    match why {
        _ if !limit.words().is_empty() => format!("it is one of: {}", limit.words().join(", ")),
        Unsuited::Range => "it lies above zero".into(),
        Unsuited::Kind | Unsuited::Word => format!("it is {}", limit.kind().example()),
    }
}
