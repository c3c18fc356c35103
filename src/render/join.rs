//! The JSON documents of several runs as one: what one run over all their designs would have written.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Result as Written, Write};
use std::path::Path;

use serde::Deserialize;

use super::json::{SCHEMA, Summary, Tool};
use super::wording::{clean, plural};
use super::{DesignEntry, HouseEntry, KnownEntry, Published, ShareEntry, Tally};

/// As much of a document as says what it is.
#[derive(Deserialize)]
struct Head {
    tool: Tool,
    schema: u64,
}

/// A whole document of `check --as json`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    #[serde(rename = "tool")]
    _tool: Tool,
    #[serde(rename = "schema")]
    _schema: u64,
    designs: Vec<DesignEntry<'static>>,
    summary: Summary,
    #[serde(default)]
    house_rules: Vec<HouseEntry>,
    #[serde(default)]
    problems: Vec<String>,
    stale: Option<Vec<KnownEntry>>,
    share: Option<ShareEntry>,
}

/// Several documents joined.
#[derive(Debug)]
pub struct Joined {
    designs: Vec<DesignEntry<'static>>,
    /// The counts of all.
    pub tally: Tally,
}

impl Joined {
    /// Joins documents, each with its name; their designs are sorted by path.
    ///
    /// # Errors
    /// Everything that keeps them from being joined.
    pub fn read(documents: &[(String, Vec<u8>)]) -> Result<Self, Vec<String>> {
        let (mut read, mut wrong) = (Vec::new(), Vec::new());
        for (name, bytes) in documents {
            match parse(bytes) {
                Ok(document) => read.push((name.as_str(), document)),
                Err(why) => wrong.push(format!("{} {why}", clean(name))),
            }
        }
        if wrong.is_empty() {
            wrong.extend(lacking(&read));
        }
        if wrong.is_empty() {
            wrong.extend(doubled(&read));
        }
        if wrong.is_empty() { Ok(Self::of(read)) } else { Err(wrong) }
    }

    fn of(documents: Vec<(&str, Document)>) -> Self {
        let (mut designs, mut tally) = (Vec::new(), Tally::default());
        for (_, document) in documents {
            designs.extend(document.designs);
            tally.add(Tally {
                house: document.house_rules,
                problems: document.problems,
                stale: document.stale,
                ..Tally::default()
            });
        }
        if let Some(stale) = &mut tally.stale {
            // Each share tells of designs that are no longer there.
            stale.sort();
            stale.dedup();
        }
        // In the order in which a folder is searched: part by part.
        designs.sort_by(|a, b| Path::new(a.file.as_ref()).cmp(Path::new(b.file.as_ref())));
        for design in &designs {
            tally.add(Tally::of_entry(design));
        }
        Self { designs, tally }
    }

    /// Writes all in one form.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, output: &dyn Published, out: &mut dyn Write) -> Written<()> {
        output.begin(out)?;
        let mut any = false;
        for design in &self.designs {
            let mut text = Vec::new();
            output.entry(design, &mut text)?;
            if !text.is_empty() {
                out.write_all(if any { output.separator().as_bytes() } else { b"" })?;
                out.write_all(&text)?;
                any = true;
            }
        }
        output.end(&self.tally, out)
    }
}

fn parse(bytes: &[u8]) -> Result<Document, String> {
    let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
    if bytes.trim_ascii().is_empty() {
        return Err("is empty".into());
    }
    if let Err(error) = serde_json::from_slice::<serde::de::IgnoredAny>(bytes) {
        return Err(format!("is not JSON: {error}"));
    }
    let foreign = || "is no document of `ohmward check --as json`".to_owned();
    let head: Head = serde_json::from_slice(bytes).map_err(|_| foreign())?;
    let own = Tool::default();
    if head.tool.name != own.name {
        return Err(foreign());
    }
    if head.schema != SCHEMA {
        return Err(format!("has the form {}, and form {SCHEMA} is joined", head.schema));
    }
    if head.tool.version != own.version {
        let (theirs, ours) = (clean(&head.tool.version), own.version.as_ref());
        return Err(format!("was written by version {theirs}, and this is {ours}: judge all by one version"));
    }
    let document: Document =
        serde_json::from_slice(bytes).map_err(|error| format!("{}: {error}", foreign()))?;
    let mut tally = Tally::default();
    for design in &document.designs {
        tally.add(Tally::of_entry(design));
    }
    if Summary::of(&tally) != document.summary {
        return Err("was changed after it was written: its summary is not that of its findings".into());
    }
    Ok(document)
}

/// Most designs of which it is told where they are twice.
const MOST_DOUBLED: usize = 5;

/// Designs that are in more than one place.
fn doubled(documents: &[(&str, Document)]) -> Vec<String> {
    let (mut first, mut wrong) = (BTreeMap::new(), Vec::new());
    for (name, document) in documents {
        for design in &document.designs {
            let file = design.file.as_ref();
            match first.insert(file, *name) {
                Some(before) if before == *name => {
                    wrong.push(format!("{} is in {} twice", clean(file), clean(name)))
                }
                Some(before) => {
                    wrong.push(format!("{} is in {} and in {}", clean(file), clean(before), clean(name)));
                }
                None => {}
            }
        }
    }
    let more = wrong.len().saturating_sub(MOST_DOUBLED);
    if 0 < more {
        wrong.truncate(MOST_DOUBLED);
        wrong.push(format!("{} more {} there twice", more, if more == 1 { "is" } else { "are" }));
    }
    wrong
}

/// Shares of one run that are not all there, or are not of one run.
fn lacking(documents: &[(&str, Document)]) -> Vec<String> {
    let shares = || documents.iter().filter_map(|(name, document)| Some((*name, document.share.as_ref()?)));
    let Some((first, share)) = shares().next() else { return Vec::new() };
    let mut wrong = Vec::new();
    for (name, other) in shares().filter(|(_, other)| (other.of, other.found) != (share.of, share.found)) {
        let of = |share: &ShareEntry| format!("{} of {}", share.said(), plural(share.found, "file", "files"));
        let (first, name) = (clean(first), clean(name));
        wrong.push(format!("{first} is share {}, {name} is share {}: not of one run", of(share), of(other)));
    }
    for (name, _) in shares().filter(|row| row.1.found == share.found && row.1.list != share.list) {
        let (first, name) = (clean(first), clean(name));
        wrong.push(format!(
            "{first} and {name} are shares of other designs, or by other paths: not of one run"
        ));
    }
    for (name, option) in shares().filter_map(|row| Some((row.0, row.1.asked.differs(&share.asked)?))) {
        let (first, name) = (clean(first), clean(name));
        wrong.push(format!(
            "{first} and {name} were judged with different {option}: give all shares the same"
        ));
    }
    if !wrong.is_empty() {
        return wrong;
    }
    let mut there = BTreeSet::new();
    for (name, other) in shares() {
        if !there.insert(other.number) {
            wrong.push(format!("{} is share {} once more", clean(name), other.said()));
        }
    }
    let missing: Vec<String> =
        (1..=share.of).filter(|number| !there.contains(number)).map(|number| number.to_string()).collect();
    if !missing.is_empty() {
        wrong.push(format!("of {} shares these are missing: {}", share.of, missing.join(", ")));
    }
    wrong
}
