//! House rules from a book's text. What is wrong with one is kept beside the others, which stand.

use std::ops::Range;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeString, DeTable};

use super::expression::Expression;
use super::fields::{Element, FieldRow};
use super::parse::Fault;
use super::template::Template;
use super::{Example, HouseRule};
use crate::book::fields::{Reader, Value};
use crate::findings::{Finding, Severity};
use crate::syntax::words::{HOUSE, is_house_rule};

/// Most house rules of one book.
const MOST: usize = 200;
/// Longest text of an example.
const LONGEST_EXAMPLE: usize = 20_000;

const KEYS: &[&str] =
    &["for", "when", "demand", "severity", "message", "help", "source", "why", "fails", "passes"];

/// The house rules of a book.
#[derive(Debug, Clone, Default)]
pub(crate) struct House {
    /// Sorted by id.
    pub(super) rules: Vec<Arc<HouseRule>>,
    /// What is wrong with those that cannot be judged, by id.
    pub(super) broken: Vec<(String, Finding)>,
}

impl House {
    /// Every id, of broken ones too.
    pub(in crate::book) fn ids(&self) -> impl Iterator<Item = &str> {
        let broken = self.broken.iter().map(|row| row.0.as_str());
        self.rules.iter().map(|rule| rule.id.as_str()).chain(broken)
    }

    /// Reads `[house.NAME]`, in place of a rule of the same name that was there.
    pub(in crate::book) fn read(&mut self, outer: &Reader<'_>, section: &Value<'_>) {
        let mut reader = outer.beside();
        let table = reader.table(section, "house.NAME");
        self.keep_problems(&mut reader, "house");
        let rows = table.into_iter().flatten();
        for (at, (key, value)) in rows.enumerate() {
            let name = key.get_ref();
            let id = format!("{HOUSE}{name}");
            self.rules.retain(|rule| rule.id != id);
            self.broken.retain(|row| row.0 != id);
            if at == MOST {
                reader.problem(
                    key.span(),
                    format!("a book has {MOST} house rules at most"),
                    "make two books",
                );
                self.keep_problems(&mut reader, &id);
                break;
            }
            if !is_house_rule(&id) {
                let help = "a name has small letters, digits and hyphens, such as `colour-by-voltage`";
                reader.problem(key.span(), "this is no name of a house rule", help);
            }
            let rule = reader.table(value, &id).and_then(|table| rule(&mut reader, &id, key, table));
            match rule {
                Some(rule) if reader.problems.is_empty() => self.rules.push(Arc::new(rule)),
                _ => self.keep_problems(&mut reader, &id),
            }
        }
        self.rules.sort_by(|a, b| a.id.cmp(&b.id));
    }

    fn keep_problems(&mut self, reader: &mut Reader<'_>, id: &str) {
        self.broken.extend(reader.problems.drain(..).map(|problem| (id.to_owned(), problem)));
    }
}

fn rule(
    reader: &mut Reader<'_>,
    id: &str,
    key: &Spanned<DeString<'_>>,
    table: &DeTable<'_>,
) -> Option<HouseRule> {
    for key in table.keys() {
        if !KEYS.contains(&key.get_ref().as_ref()) {
            reader.unknown(key.span(), "key", key.get_ref(), KEYS);
        }
    }
    let needed = ["for", "demand", "message", "source", "why", "fails", "passes"];
    let lacks: Vec<&str> = needed.into_iter().filter(|key| !table.contains_key(*key)).collect();
    if !lacks.is_empty() {
        let help = "`for` says what it is about, `demand` what must hold, `fails` and `passes` are designs that show it";
        reader.problem(key.span(), format!("{id} has no {}", lacks.join(", no ")), help);
        return None;
    }
    let mut text = |key: &str| -> Option<Option<Written>> {
        match table.get(key) {
            None => Some(None),
            Some(value) => Some(Some(Written::of(reader, value, key)?)),
        }
    };
    let (about, when, demand) = (text("for")??, text("when")?, text("demand")??);
    let (message, help, severity) = (text("message")??, text("help")?, text("severity")?);
    let (source, why) = (text("source")??, text("why")??);
    let (fails, passes) = (text("fails")??, text("passes")??);
    let Some(element) = Element::named(&about.text) else {
        reader.unknown(about.whole, "element", &about.text, &Element::words());
        return None;
    };
    let words = [Severity::Error, Severity::Warning, Severity::Advice];
    let word = severity.as_ref().map_or("warning", |severity| severity.text.as_str());
    let known = words.into_iter().find(|known| known.word() == word);
    if let (None, Some(severity)) = (known, &severity) {
        reader.unknown(severity.whole.clone(), "severity", word, &words.map(Severity::word));
    }
    for example in [&fails, &passes] {
        if LONGEST_EXAMPLE < example.text.len() {
            let headline = format!("the example is longer than {LONGEST_EXAMPLE} bytes");
            reader.problem(example.whole.clone(), headline, "show the rule by the smallest design that does");
        }
    }
    let demand_at = demand.whole.clone();
    let when = when.map(|when| when.take(reader, Expression::read(&when.text, element)));
    let demand = demand.take(reader, Expression::read(&demand.text, element));
    let message = message.take(reader, Template::read(&message.text, element));
    let help = help.map(|help| help.take(reader, Template::read(&help.text, element)));
    let example = |reader: &Reader<'_>, one: Written| Example {
        span: reader.span(one.inside.unwrap_or(one.whole.start)..one.whole.end),
        text: one.text,
    };
    let (when, help) = (when.transposed()?, help.transposed()?);
    let (demand, message) = (demand?, message?);
    let conditions = when.iter().chain([&demand]).flat_map(|one| one.fields.iter().copied());
    let mut fields: Vec<&'static FieldRow> =
        conditions.chain(message.fields()).chain(help.iter().flat_map(Template::fields)).collect();
    fields.sort_by_key(|row| row.field);
    fields.dedup_by_key(|row| row.field);
    Some(HouseRule {
        id: id.into(),
        severity: known?,
        element,
        why: why.text,
        source: source.text,
        fails: example(reader, fails),
        passes: example(reader, passes),
        at: reader.span(demand_at),
        when,
        demand,
        message,
        help,
        fields,
    })
}

trait Transposed<T> {
    fn transposed(self) -> Option<Option<T>>;
}

impl<T> Transposed<T> for Option<Option<T>> {
    /// Nothing where nothing was written; no rule where what was written is wrong.
    fn transposed(self) -> Option<Option<T>> {
        match self {
            None => Some(None),
            Some(None) => None,
            Some(Some(value)) => Some(Some(value)),
        }
    }
}

/// A text of the book with its place.
struct Written {
    text: String,
    /// The value with its quotes.
    whole: Range<usize>,
    /// Where its first byte stands, unless escapes make places inside it uncertain.
    inside: Option<usize>,
}

impl Written {
    fn of(reader: &mut Reader<'_>, value: &Value<'_>, key: &str) -> Option<Self> {
        let text = reader.text(value, key)?.to_owned();
        let whole = value.span();
        let inside = reader.slice(whole.clone()).find(text.as_str()).map(|at| whole.start + at);
        if text.trim().is_empty() {
            reader.problem(
                whole.clone(),
                format!("`{key}` is empty"),
                format!("write `{key}`, or leave the rule out"),
            );
            return None;
        }
        Some(Self { text, whole, inside })
    }

    /// What was read from it; a fault is told where it stands in the book.
    fn take<T>(&self, reader: &mut Reader<'_>, read: Result<T, Fault>) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(Fault { at, headline, help }) => {
                let place = match self.inside {
                    Some(inside) if at != (0..0) => inside + at.start..inside + at.end,
                    _ => self.whole.clone(),
                };
                reader.problem(place, headline, help);
                None
            }
        }
    }
}
