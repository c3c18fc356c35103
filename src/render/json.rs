//! The JSON document: structs in the published order of keys.

use std::borrow::Cow;
use std::io::{Error, Result, Write};

use serde::{Deserialize, Serialize};

use super::{DesignEntry, Output, Published, Tally};
use crate::check::Judgement;

/// The number of the document's form; a change that would mislead a reader gets another.
pub(super) const SCHEMA: u64 = 1;

/// One JSON document with every finding, those that a waiver accepts included.
#[derive(Debug, Clone, Copy, Default)]
pub struct Json;

impl Output for Json {
    fn begin(&self, out: &mut dyn Write) -> Result<()> {
        let tool = serde_json::to_string(&Tool::default()).map_err(Error::other)?;
        write!(out, "{{\n  \"tool\": {tool},\n  \"schema\": {SCHEMA},\n  \"designs\": [")
    }

    fn design(&self, judgement: &Judgement, out: &mut dyn Write) -> Result<()> {
        self.entry(&DesignEntry::of(judgement), out)
    }

    fn separator(&self) -> &'static str {
        ","
    }

    fn end(&self, tally: &Tally, out: &mut dyn Write) -> Result<()> {
        let close = if tally.designs == 0 { "" } else { "\n  " };
        let summary = serde_json::to_string(&Summary::of(tally)).map_err(Error::other)?;
        write!(out, "{close}],\n  \"summary\": {summary}")?;
        list(out, "house_rules", &sorted(&tally.house))?;
        list(out, "problems", &tally.problems)?;
        if let Some(stale) = &tally.stale {
            let stale = sorted(stale);
            if stale.is_empty() {
                write!(out, ",\n  \"stale\": []")?;
            }
            list(out, "stale", &stale)?;
        }
        if let Some(share) = &tally.share {
            write!(out, ",\n  \"share\": {}", serde_json::to_string(share).map_err(Error::other)?)?;
        }
        writeln!(out, "\n}}")
    }
}

impl Published for Json {
    fn entry(&self, design: &DesignEntry<'_>, out: &mut dyn Write) -> Result<()> {
        let document = serde_json::to_string_pretty(design).map_err(Error::other)?;
        for line in document.lines() {
            write!(out, "\n    {line}")?;
        }
        Ok(())
    }
}

/// A list of the document, one row a line; left out where it is empty.
fn list(out: &mut dyn Write, key: &str, rows: &[impl Serialize]) -> Result<()> {
    for (index, row) in rows.iter().enumerate() {
        let row = serde_json::to_string(row).map_err(Error::other)?;
        let before = if index == 0 { format!(",\n  \"{key}\": [") } else { ",".into() };
        write!(out, "{before}\n    {row}")?;
    }
    if rows.is_empty() { Ok(()) } else { write!(out, "\n  ]") }
}

/// The rows in order, each once: in whatever order designs came.
fn sorted<T: Ord + Clone>(rows: &[T]) -> Vec<T> {
    let mut rows = rows.to_vec();
    rows.sort();
    rows.dedup();
    rows
}

/// What wrote a document.
#[derive(Serialize, Deserialize)]
pub(super) struct Tool {
    pub(super) name: Cow<'static, str>,
    pub(super) version: Cow<'static, str>,
}

impl Default for Tool {
    fn default() -> Self {
        Self { name: env!("CARGO_PKG_NAME").into(), version: env!("CARGO_PKG_VERSION").into() }
    }
}

/// The counts of a run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Summary {
    designs: usize,
    unreadable: usize,
    errors: usize,
    warnings: usize,
    advice: usize,
    waived: usize,
    #[serde(default, skip_serializing_if = "is_zero")]
    known: usize,
}

fn is_zero(count: &usize) -> bool {
    *count == 0
}

impl Summary {
    pub(super) fn of(tally: &Tally) -> Self {
        Self {
            designs: tally.designs,
            unreadable: tally.lost.len(),
            errors: tally.errors,
            warnings: tally.warnings,
            advice: tally.advice,
            waived: tally.accepted.len(),
            known: tally.known,
        }
    }
}

/// A document that has one thing beside the tool's name; a text that cannot be written so is empty.
pub(super) fn document(key: &str, value: &impl Serialize) -> String {
    let tool = serde_json::to_string(&Tool::default()).unwrap_or_default();
    let value = serde_json::to_string_pretty(value).unwrap_or_default().replace('\n', "\n  ");
    format!("{{\n  \"tool\": {tool},\n  \"schema\": {SCHEMA},\n  \"{key}\": {value}\n}}\n")
}
