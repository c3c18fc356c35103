//! The JSON document: its own structs in the published order of keys, apart from the inner types, so that a change
//! inside cannot change what is published.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{Error, Result, Write};

use serde::ser::{Serialize, SerializeMap, Serializer};

use super::{Output, Tally, wording};
use crate::check::{Flow, Judgement, StretchEvidence, WireEvidence};
use crate::findings::{Finding, Related, Value, Waived};
use crate::text;

/// One JSON document with every finding, those that a waiver accepts included.
#[derive(Debug, Clone, Copy, Default)]
pub struct Json;

impl Output for Json {
    fn begin(&self, out: &mut dyn Write) -> Result<()> {
        let tool = serde_json::to_string(&Tool::default()).map_err(Error::other)?;
        write!(out, "{{\n  \"tool\": {tool},\n  \"schema\": 1,\n  \"designs\": [")
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        let document = serde_json::to_string_pretty(&Design::of(judgement)).map_err(Error::other)?;
        for line in document.lines() {
            write!(out, "\n    {line}")?;
        }
        Ok(())
    }

    fn separator(&self) -> &'static str {
        ","
    }

    fn end(&self, tally: &Tally, out: &mut dyn Write) -> Result<()> {
        let close = if tally.designs == 0 { "" } else { "\n  " };
        let summary = serde_json::to_string(&Summary::of(tally)).map_err(Error::other)?;
        write!(out, "{close}],\n  \"summary\": {summary}\n}}\n")
    }
}

/// What wrote a document.
#[derive(serde::Serialize)]
pub(super) struct Tool {
    name: &'static str,
    version: &'static str,
}

impl Default for Tool {
    fn default() -> Self {
        Self { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") }
    }
}

#[derive(serde::Serialize)]
struct Summary {
    designs: usize,
    unreadable: usize,
    errors: usize,
    warnings: usize,
    advice: usize,
    waived: usize,
}

impl Summary {
    fn of(tally: &Tally) -> Self {
        Self {
            designs: tally.designs,
            unreadable: tally.unreadable,
            errors: tally.errors,
            warnings: tally.warnings,
            advice: tally.advice,
            waived: tally.accepted.len(),
        }
    }
}

/// A document that has one thing beside the tool's name; a text that cannot be written so is empty.
pub(super) fn document(key: &str, value: &impl Serialize) -> String {
    let tool = Tool { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") };
    let tool = serde_json::to_string(&tool).unwrap_or_default();
    let value = serde_json::to_string_pretty(value).unwrap_or_default().replace('\n', "\n  ");
    format!("{{\n  \"tool\": {tool},\n  \"schema\": 1,\n  \"{key}\": {value}\n}}\n")
}

#[derive(serde::Serialize)]
pub(super) struct Design<'j> {
    file: &'j str,
    design: Option<&'j str>,
    book: &'j str,
    findings: Vec<FindingEntry<'j>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unreadable: Option<&'j str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    wires: Option<Wires<'j>>,
}

impl<'j> Design<'j> {
    pub(super) fn of(judgement: &'j Judgement) -> Self {
        Self {
            file: &judgement.path,
            design: judgement.design.as_deref(),
            book: &judgement.book,
            findings: judgement.findings.iter().map(|finding| FindingEntry::of(judgement, finding)).collect(),
            unreadable: judgement.unreadable.as_deref(),
            wires: judgement.wires.as_deref().map(Wires),
        }
    }
}

#[derive(serde::Serialize)]
struct FindingEntry<'j> {
    rule: &'j str,
    severity: &'static str,
    subject: &'j str,
    message: Cow<'j, str>,
    help: &'j str,
    span: SpanEntry<'j>,
    related: Vec<RelatedEntry<'j>>,
    values: BTreeMap<&'static str, ValueEntry<'j>>,
    waived: Option<WaivedEntry<'j>>,
}

impl<'j> FindingEntry<'j> {
    fn of(judgement: &'j Judgement, finding: &'j Finding) -> Self {
        Self {
            rule: &finding.rule,
            severity: finding.severity.word(),
            subject: &finding.subject,
            message: wording::message(finding),
            help: &finding.help,
            span: SpanEntry::of(judgement, finding.span),
            related: finding.related.iter().map(|related| RelatedEntry::of(judgement, related)).collect(),
            values: finding.values.iter().map(|(key, value)| (*key, ValueEntry::of(value))).collect(),
            waived: finding.waived.as_ref().map(WaivedEntry::of),
        }
    }
}

#[derive(serde::Serialize)]
struct SpanEntry<'j> {
    file: &'j str,
    line: u32,
    column: u32,
    end_line: u32,
    end_column: u32,
}

impl<'j> SpanEntry<'j> {
    fn of(judgement: &'j Judgement, span: text::Span) -> Self {
        let source = judgement.sources.get(span.file);
        let (start, end) = (source.line_column(span.start), source.line_column(span.end));
        Self {
            file: if source.path().is_empty() { &judgement.path } else { source.path() },
            line: start.line,
            column: start.column,
            end_line: end.line,
            end_column: end.column,
        }
    }
}

#[derive(serde::Serialize)]
struct RelatedEntry<'j> {
    subject: &'j str,
    note: &'j str,
    span: SpanEntry<'j>,
}

impl<'j> RelatedEntry<'j> {
    fn of(judgement: &'j Judgement, related: &'j Related) -> Self {
        Self { subject: &related.subject, note: &related.note, span: SpanEntry::of(judgement, related.span) }
    }
}

#[derive(serde::Serialize)]
#[serde(untagged)]
enum ValueEntry<'j> {
    Number(f64),
    Text(&'j str),
    Texts(&'j [String]),
}

impl<'j> ValueEntry<'j> {
    fn of(value: &'j Value) -> Self {
        match value {
            Value::Number(number) => Self::Number(*number),
            Value::Text(text) => Self::Text(text),
            Value::Texts(texts) => Self::Texts(texts),
        }
    }
}

#[derive(serde::Serialize)]
struct WaivedEntry<'j> {
    why: &'j str,
    until: &'j str,
}

impl<'j> WaivedEntry<'j> {
    fn of(waived: &'j Waived) -> Self {
        Self { why: &waived.why, until: &waived.until }
    }
}

/// An object by wire name, in the order of the design's statements.
struct Wires<'j>(&'j [WireEvidence]);

impl Serialize for Wires<'_> {
    fn serialize<S: Serializer>(&self, serializer: S) -> std::result::Result<S::Ok, S::Error> {
        let mut map = serializer.serialize_map(Some(self.0.len()))?;
        for wire in self.0 {
            map.serialize_entry(&wire.name, &WireEntry::of(wire))?;
        }
        map.end()
    }
}

#[derive(serde::Serialize)]
struct WireEntry<'j> {
    ampacity_a: f64,
    let_through: &'static str,
    let_through_a: Option<f64>,
    circulation: Option<&'static str>,
    circulation_a: Option<f64>,
    role: &'static str,
    stretch: Option<StretchEntry<'j>>,
    protected_by: &'j [String],
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
            role: wire.role.word(),
            stretch: wire.stretch.as_ref().map(StretchEntry::of),
            protected_by: &wire.protected_by,
            margin: wire.margin,
            ampacity_from: wire
                .ampacity_from
                .iter()
                .map(|(value, is)| StepEntry { value: *value, is })
                .collect(),
        }
    }
}

fn word(flow: Flow) -> &'static str {
    match flow {
        Flow::None => "none",
        Flow::Limited(_) => "limited",
        Flow::Unlimited => "unlimited",
    }
}

/// Nothing is a flow of zero; what has no limit has no number.
fn amps(flow: Flow) -> Option<f64> {
    match flow {
        Flow::None => Some(0.0),
        Flow::Limited(current) => Some(current.as_amps()),
        Flow::Unlimited => None,
    }
}

#[derive(serde::Serialize)]
struct StretchEntry<'j> {
    source: &'j str,
    length_m: f64,
    limit_m: f64,
    followed: bool,
    devices_a: f64,
}

impl<'j> StretchEntry<'j> {
    fn of(stretch: &'j StretchEvidence) -> Self {
        Self {
            source: &stretch.source,
            length_m: stretch.length.as_metres(),
            limit_m: stretch.limit.as_metres(),
            followed: stretch.followed,
            devices_a: stretch.devices.as_amps(),
        }
    }
}

#[derive(serde::Serialize)]
struct StepEntry<'j> {
    value: f64,
    is: &'j str,
}
