//! Findings: what is so, where, with which numbers, and what would make it right. Plain data for every output.

mod identity;

use std::borrow::Cow;
use std::collections::BTreeMap;

pub use identity::{Identity, identities};

use serde::{Deserialize, Serialize};

use crate::text::Span;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Severity {
    /// Worth knowing.
    Advice,
    /// Likely to fail or to mislead.
    Warning,
    /// Dangerous, or not working.
    Error,
}

impl Severity {
    /// The word in every output.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Advice => "advice",
            Self::Warning => "warning",
            Self::Error => "error",
        }
    }
}

impl std::fmt::Display for Severity {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

/// A figure of a finding for programs; the key's ending names the unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Value {
    /// A number in the unit that ends its key's name.
    Number(f64),
    /// A text.
    Text(String),
    /// A list of texts, usually names.
    Texts(Vec<String>),
}

/// Another place that explains a finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Related {
    /// The element there, or what the place is.
    pub subject: String,
    /// Its part in the story.
    pub note: String,
    /// Where it stands.
    pub span: Span,
}

/// Why a finding is accepted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Waived {
    /// The reason given.
    pub why: String,
    /// The last day on which it holds, `YYYY-MM-DD`.
    pub until: String,
}

/// One figure under the help text: a value and what it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// The value with its unit.
    pub value: String,
    /// What it is and where it comes from.
    pub meaning: String,
}

/// One finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[must_use]
pub struct Finding {
    /// The rule's id; one of the catalogue's costs nothing, a book's own rule has its own text.
    pub rule: Cow<'static, str>,
    /// How much it matters, after the rule book's word.
    pub severity: Severity,
    /// The element to point at, or `line:N`.
    pub subject: String,
    /// Where the subject stands.
    pub span: Span,
    /// What is so, in one line without a full stop.
    pub headline: String,
    /// What the subject's own label says in the source.
    pub label: String,
    /// Other places, in the order of the story.
    pub related: Vec<Related>,
    /// The figures that decided, by key.
    pub values: BTreeMap<Cow<'static, str>, Value>,
    /// What would make it right, computed for this design.
    pub help: String,
    /// The figures behind the help.
    pub figures: Vec<Figure>,
    /// Set when a waiver accepts it.
    pub waived: Option<Waived>,
    /// Set when it is on the list of what is known already.
    pub known: bool,
}

impl Finding {
    /// Whether nothing accepts it: no waiver, and no list of what is known.
    #[must_use]
    pub fn stands(&self) -> bool {
        self.waived.is_none() && !self.known
    }
}

impl Finding {
    /// A finding without figures yet.
    pub fn new(
        rule: impl Into<Cow<'static, str>>,
        severity: Severity,
        subject: impl Into<String>,
        span: Span,
    ) -> Self {
        Self {
            rule: rule.into(),
            severity,
            subject: subject.into(),
            span,
            headline: String::new(),
            label: String::new(),
            related: Vec::new(),
            values: BTreeMap::new(),
            help: String::new(),
            figures: Vec::new(),
            waived: None,
            known: false,
        }
    }

    /// Sets the headline.
    pub fn headline(mut self, text: impl Into<String>) -> Self {
        self.headline = text.into();
        self
    }

    /// Sets the subject's label.
    pub fn label(mut self, text: impl Into<String>) -> Self {
        self.label = text.into();
        self
    }

    /// Sets the help.
    pub fn help(mut self, text: impl Into<String>) -> Self {
        self.help = text.into();
        self
    }

    /// Adds another place.
    pub fn related(mut self, subject: impl Into<String>, span: Span, note: impl Into<String>) -> Self {
        self.related.push(Related { subject: subject.into(), note: note.into(), span });
        self
    }

    /// Adds a number by key.
    pub fn number(mut self, key: &'static str, value: f64) -> Self {
        self.values.insert(key.into(), Value::Number(value));
        self
    }

    /// Adds a text by key.
    pub fn text(mut self, key: &'static str, value: impl Into<String>) -> Self {
        self.values.insert(key.into(), Value::Text(value.into()));
        self
    }

    /// Adds a list of names by key.
    pub fn texts(mut self, key: &'static str, value: Vec<String>) -> Self {
        self.values.insert(key.into(), Value::Texts(value));
        self
    }

    /// Adds a line of figures under the help.
    pub fn figure(mut self, value: impl Into<String>, meaning: impl Into<String>) -> Self {
        self.figures.push(Figure { value: value.into(), meaning: meaning.into() });
        self
    }
}
