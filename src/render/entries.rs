//! A design with its findings as it is published: apart from the inner types, so that a change inside cannot change what
//! is published, and readable again, so that the documents of several runs can be joined.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use serde::de::{MapAccess, Visitor};
use serde::ser::{SerializeMap, Serializer};
use serde::{Deserialize, Deserializer, Serialize};

use super::uri::fingerprint;
use super::wording;
use crate::book::HouseRule;
use crate::check::{Flow, Judgement, StretchEvidence, WireEvidence};
use crate::findings::{Figure, Finding, Related, Severity, Value, Waived, identities};
use crate::text;

/// One design with its findings, in the published order of keys.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DesignEntry<'j> {
    /// Its path as it is shown.
    pub file: Cow<'j, str>,
    /// Its name, where it could be read.
    pub design: Option<Cow<'j, str>>,
    /// The book that judged it.
    pub book: Cow<'j, str>,
    pub(super) findings: Vec<FindingEntry<'j>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) unreadable: Option<Cow<'j, str>>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(super) wires: Option<Wires<'j>>,
}

impl<'j> DesignEntry<'j> {
    /// A judgement as it is published.
    #[must_use]
    pub fn of(judgement: &'j Judgement) -> Self {
        let identities = identities(&judgement.findings, &judgement.sources);
        let entry = |(finding, identity): (&'j Finding, _)| {
            FindingEntry::of(judgement, finding, fingerprint(&identity, &judgement.path))
        };
        Self {
            file: Cow::Borrowed(&judgement.path),
            design: judgement.design.as_deref().map(Cow::Borrowed),
            book: Cow::Borrowed(&judgement.book),
            findings: judgement.findings.iter().zip(identities).map(entry).collect(),
            unreadable: judgement.unreadable.as_deref().map(Cow::Borrowed),
            wires: judgement.wires.as_deref().map(Wires::of),
        }
    }
}

/// A severity's word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Level {
    Error,
    Warning,
    Advice,
}

impl Level {
    pub(super) fn of(severity: Severity) -> Self {
        match severity {
            Severity::Error => Self::Error,
            Severity::Warning => Self::Warning,
            Severity::Advice => Self::Advice,
        }
    }

    pub(super) fn severity(self) -> Severity {
        match self {
            Self::Error => Severity::Error,
            Self::Warning => Severity::Warning,
            Self::Advice => Severity::Advice,
        }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FindingEntry<'j> {
    pub(super) rule: Cow<'j, str>,
    pub(super) severity: Level,
    pub(super) subject: Cow<'j, str>,
    pub(super) message: Cow<'j, str>,
    pub(super) help: Cow<'j, str>,
    /// The figures under the help, as they are told.
    pub(super) figures: Vec<FigureEntry<'j>>,
    pub(super) span: SpanEntry<'j>,
    pub(super) related: Vec<RelatedEntry<'j>>,
    pub(super) values: BTreeMap<Cow<'j, str>, ValueEntry<'j>>,
    pub(super) waived: Option<WaivedEntry<'j>>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub(super) known: bool,
    pub(super) fingerprint: Cow<'j, str>,
}

impl<'j> FindingEntry<'j> {
    fn of(judgement: &'j Judgement, finding: &'j Finding, fingerprint: String) -> Self {
        let value = |(key, value): (&'j Cow<'static, str>, &'j Value)| {
            (Cow::Borrowed(key.as_ref()), ValueEntry::of(value))
        };
        Self {
            rule: Cow::Borrowed(&finding.rule),
            severity: Level::of(finding.severity),
            subject: Cow::Borrowed(&finding.subject),
            message: wording::message(finding),
            help: Cow::Borrowed(&finding.help),
            figures: finding.figures.iter().map(FigureEntry::of).collect(),
            span: SpanEntry::of(judgement, finding.span),
            related: finding.related.iter().map(|related| RelatedEntry::of(judgement, related)).collect(),
            values: finding.values.iter().map(value).collect(),
            waived: finding.waived.as_ref().map(WaivedEntry::of),
            known: finding.known,
            fingerprint: Cow::Owned(fingerprint),
        }
    }

    /// What would make it right, in one line: help that leads to its figures is told with them.
    pub(super) fn to_do(&self) -> Cow<'_, str> {
        if !self.help.ends_with(':') {
            return Cow::Borrowed(&self.help);
        }
        let figures: Vec<String> =
            self.figures.iter().map(|figure| format!("{} {}", figure.value, figure.meaning)).collect();
        Cow::Owned(format!("{} {}", self.help, figures.join("; ")))
    }

    /// Whether nothing accepts it.
    pub(super) fn stands(&self) -> bool {
        self.waived.is_none() && !self.known
    }

    /// Whether it is about the language, so that the design was not judged in full.
    pub(super) fn is_language(&self) -> bool {
        self.rule.starts_with("language.")
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FigureEntry<'j> {
    pub(super) value: Cow<'j, str>,
    pub(super) meaning: Cow<'j, str>,
}

impl<'j> FigureEntry<'j> {
    fn of(figure: &'j Figure) -> Self {
        Self { value: Cow::Borrowed(&figure.value), meaning: Cow::Borrowed(&figure.meaning) }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SpanEntry<'j> {
    pub(super) file: Cow<'j, str>,
    pub(super) line: u32,
    pub(super) column: u32,
    pub(super) end_line: u32,
    pub(super) end_column: u32,
}

impl<'j> SpanEntry<'j> {
    pub(super) fn of(judgement: &'j Judgement, span: text::Span) -> Self {
        let source = judgement.sources.get(span.file);
        let (start, end) = (source.line_column(span.start), source.line_column(span.end));
        Self {
            file: Cow::Borrowed(if source.path().is_empty() { &judgement.path } else { source.path() }),
            line: start.line,
            column: start.column,
            end_line: end.line,
            end_column: end.column,
        }
    }
}

impl fmt::Display for SpanEntry<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}:{}", wording::clean(&self.file), self.line, self.column)
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RelatedEntry<'j> {
    pub(super) subject: Cow<'j, str>,
    pub(super) note: Cow<'j, str>,
    pub(super) span: SpanEntry<'j>,
}

impl<'j> RelatedEntry<'j> {
    fn of(judgement: &'j Judgement, related: &'j Related) -> Self {
        Self {
            subject: Cow::Borrowed(&related.subject),
            note: Cow::Borrowed(&related.note),
            span: SpanEntry::of(judgement, related.span),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub(super) enum ValueEntry<'j> {
    /// JSON has no word for what is not finite; it is null there.
    Number(Option<f64>),
    Text(Cow<'j, str>),
    Texts(Vec<Cow<'j, str>>),
}

impl<'j> ValueEntry<'j> {
    fn of(value: &'j Value) -> Self {
        match value {
            Value::Number(number) => Self::Number(Some(*number)),
            Value::Text(text) => Self::Text(Cow::Borrowed(text)),
            Value::Texts(texts) => {
                Self::Texts(texts.iter().map(|text| Cow::Borrowed(text.as_str())).collect())
            }
        }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WaivedEntry<'j> {
    pub(super) why: Cow<'j, str>,
    pub(super) until: Cow<'j, str>,
}

impl<'j> WaivedEntry<'j> {
    fn of(waived: &'j Waived) -> Self {
        Self { why: Cow::Borrowed(&waived.why), until: Cow::Borrowed(&waived.until) }
    }
}

/// An object by wire name, in the order of the design's statements.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Wires<'j>(Vec<(Cow<'j, str>, WireEntry<'j>)>);

impl<'j> Wires<'j> {
    fn of(wires: &'j [WireEvidence]) -> Self {
        let entry = |wire: &'j WireEvidence| (Cow::Borrowed(wire.name.as_str()), WireEntry::of(wire));
        Self(wires.iter().map(entry).collect())
    }
}

impl Serialize for Wires<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for (name, wire) in &self.0 {
            map.serialize_entry(name, wire)?;
        }
        map.end()
    }
}

impl<'de> Deserialize<'de> for Wires<'_> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Vec<(String, WireEntry<'static>)>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("wires by their names")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut all = Vec::new();
                while let Some(entry) = map.next_entry()? {
                    all.push(entry);
                }
                Ok(all)
            }
        }
        let wires = deserializer.deserialize_map(InOrder)?;
        Ok(Self(wires.into_iter().map(|(name, wire)| (Cow::Owned(name), wire)).collect()))
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct WireEntry<'j> {
    ampacity_a: f64,
    let_through: Cow<'j, str>,
    let_through_a: Option<f64>,
    circulation: Option<Cow<'j, str>>,
    circulation_a: Option<f64>,
    role: Cow<'j, str>,
    stretch: Option<StretchEntry<'j>>,
    protected_by: Cow<'j, [String]>,
    margin: Option<f64>,
    ampacity_from: Vec<StepEntry<'j>>,
}

impl<'j> WireEntry<'j> {
    fn of(wire: &'j WireEvidence) -> Self {
        Self {
            ampacity_a: wire.ampacity.as_amps(),
            let_through: word(wire.let_through),
            let_through_a: amps(wire.let_through),
            circulation: wire.circulation.map(word),
            circulation_a: wire.circulation.and_then(amps),
            role: Cow::Borrowed(wire.role.word()),
            stretch: wire.stretch.as_ref().map(StretchEntry::of),
            protected_by: Cow::Borrowed(&wire.protected_by),
            margin: wire.margin,
            ampacity_from: wire
                .ampacity_from
                .iter()
                .map(|(value, is)| StepEntry { value: *value, is: Cow::Borrowed(is) })
                .collect(),
        }
    }
}

fn word(flow: Flow) -> Cow<'static, str> {
    Cow::Borrowed(match flow {
        Flow::None => "none",
        Flow::Limited(_) => "limited",
        Flow::Unlimited => "unlimited",
    })
}

/// Nothing is a flow of zero; what has no limit has no number.
fn amps(flow: Flow) -> Option<f64> {
    match flow {
        Flow::None => Some(0.0),
        Flow::Limited(current) => Some(current.as_amps()),
        Flow::Unlimited => None,
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StretchEntry<'j> {
    source: Cow<'j, str>,
    length_m: f64,
    limit_m: f64,
    followed: bool,
    devices_a: f64,
}

impl<'j> StretchEntry<'j> {
    fn of(stretch: &'j StretchEvidence) -> Self {
        Self {
            source: Cow::Borrowed(&stretch.source),
            length_m: stretch.length.as_metres(),
            limit_m: stretch.limit.as_metres(),
            followed: stretch.followed,
            devices_a: stretch.devices.as_amps(),
        }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StepEntry<'j> {
    value: f64,
    is: Cow<'j, str>,
}

/// A rule of a book's own.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HouseEntry {
    /// Its id, `house.NAME`.
    pub id: String,
    pub(super) severity: Level,
    /// What it is about.
    pub(super) element: String,
    pub(super) why: String,
    pub(super) when: Option<String>,
    pub(super) demand: String,
    pub(super) source: String,
}

impl HouseEntry {
    pub(super) fn of(rule: &HouseRule) -> Self {
        Self {
            id: rule.id.clone(),
            severity: Level::of(rule.severity),
            element: rule.element.word().into(),
            when: rule.when().map(str::to_owned),
            demand: rule.demand().into(),
            why: rule.why.clone(),
            source: rule.source.clone(),
        }
    }
}
