//! The JSON document of a comparison.

use std::io::{Error, Result, Write};

use super::CompareReport;
use crate::check::Judgement;
use crate::compare::{Change, Changed, Entry, FindingChange, InFit, Renamed};
use crate::render::entries::{DesignEntry, FindingEntry, SpanEntry};
use crate::render::json::Tool;

/// One JSON document with every change; all its lists are empty where nothing has changed.
#[derive(Debug, Clone, Copy, Default)]
pub struct CompareJson;

impl CompareJson {
    /// Writes a comparison.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, report: &CompareReport<'_>, out: &mut dyn Write) -> Result<()> {
        let CompareReport { old, new, comparison, .. } = report;
        let (elements, findings) = (&comparison.elements, &comparison.findings);
        let document = Document {
            tool: Tool::default(),
            schema: 1,
            old: Side::of(report.old_name, old),
            new: Side::of(report.new_name, new),
            elements: Elements {
                added: elements.added.iter().map(|one| EntryOf::new(new, one)).collect(),
                removed: elements.removed.iter().map(|one| EntryOf::new(old, one)).collect(),
                changed: elements.changed.iter().map(|one| ChangedEntry::new(new, one)).collect(),
                renamed: elements.renamed.iter().map(|one| RenamedEntry::new(new, one)).collect(),
            },
            findings: Findings { gained: entries(new, &findings.gained), lost: entries(old, &findings.lost) },
        };
        serde_json::to_writer_pretty(&mut *out, &document).map_err(Error::other)?;
        writeln!(out)
    }
}

/// Findings as a check tells them.
fn entries<'r>(judgement: &'r Judgement, changes: &[FindingChange]) -> Vec<FindingEntry<'r>> {
    let mut all: Vec<Option<FindingEntry<'r>>> =
        DesignEntry::of(judgement).findings.into_iter().map(Some).collect();
    changes.iter().filter_map(|change| all.get_mut(change.at)?.take()).collect()
}

fn name(fit: Option<&InFit>) -> Option<&str> {
    fit.map(|fit| fit.name.as_str())
}

#[derive(serde::Serialize)]
struct Document<'r> {
    tool: Tool,
    schema: u32,
    old: Side<'r>,
    new: Side<'r>,
    elements: Elements<'r>,
    findings: Findings<'r>,
}

/// One of the two designs.
#[derive(serde::Serialize)]
struct Side<'r> {
    /// Its path, with the revision if it has one.
    file: &'r str,
    design: Option<&'r str>,
    book: &'r str,
}

impl<'r> Side<'r> {
    fn of(name: &'r str, judgement: &'r Judgement) -> Self {
        Self { file: name, design: judgement.design.as_deref(), book: &judgement.book }
    }
}

#[derive(serde::Serialize)]
struct Elements<'r> {
    added: Vec<EntryOf<'r>>,
    removed: Vec<EntryOf<'r>>,
    changed: Vec<ChangedEntry<'r>>,
    renamed: Vec<RenamedEntry<'r>>,
}

#[derive(serde::Serialize)]
struct Findings<'r> {
    gained: Vec<FindingEntry<'r>>,
    lost: Vec<FindingEntry<'r>>,
}

#[derive(serde::Serialize)]
struct EntryOf<'r> {
    kind: &'r str,
    name: &'r str,
    fit: Option<&'r str>,
    text: &'r str,
    span: SpanEntry<'r>,
}

impl<'r> EntryOf<'r> {
    fn new(judgement: &'r Judgement, entry: &'r Entry) -> Self {
        Self {
            kind: entry.kind,
            name: &entry.name,
            fit: name(entry.fit.as_ref()),
            text: &entry.text,
            span: SpanEntry::of(judgement, entry.span),
        }
    }
}

#[derive(serde::Serialize)]
struct ChangedEntry<'r> {
    kind: &'r str,
    name: &'r str,
    fit: Option<&'r str>,
    changes: Vec<ChangeEntry<'r>>,
    span: SpanEntry<'r>,
}

impl<'r> ChangedEntry<'r> {
    fn new(judgement: &'r Judgement, changed: &'r Changed) -> Self {
        Self {
            kind: changed.kind,
            name: &changed.name,
            fit: name(changed.fit.as_ref()),
            changes: changed.changes.iter().map(ChangeEntry::new).collect(),
            span: SpanEntry::of(judgement, changed.span),
        }
    }
}

#[derive(serde::Serialize)]
struct ChangeEntry<'r> {
    property: &'r str,
    from: Option<&'r str>,
    to: Option<&'r str>,
    text: &'r str,
}

impl<'r> ChangeEntry<'r> {
    fn new(change: &'r Change) -> Self {
        Self {
            property: &change.property,
            from: change.from.as_deref(),
            to: change.to.as_deref(),
            text: &change.text,
        }
    }
}

#[derive(serde::Serialize)]
struct RenamedEntry<'r> {
    kind: &'r str,
    name: &'r str,
    was: &'r str,
    text: &'r str,
    span: SpanEntry<'r>,
}

impl<'r> RenamedEntry<'r> {
    fn new(judgement: &'r Judgement, renamed: &'r Renamed) -> Self {
        Self {
            kind: renamed.kind,
            name: &renamed.name,
            was: &renamed.was,
            text: &renamed.text,
            span: SpanEntry::of(judgement, renamed.span),
        }
    }
}
