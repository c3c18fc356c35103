//! The list of findings that are known already: one a line, sorted, without line numbers, so that it can be kept and
//! compared beside the designs.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Error, Result as Written, Write};

use serde::{Deserialize, Serialize};

use crate::check::Judgement;
use crate::findings::{Identity, identities};

/// How lines begin that a merge leaves where two sides differ.
const CONFLICT: [&str; 4] = ["<<<<<<<", "|||||||", "=======", ">>>>>>>"];
/// What the first line says.
const KIND: &str = "known findings";
/// The number of the list's form.
const VERSION: u64 = 1;

/// One finding of the list: in the file an array of these four.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(from = "Row", into = "Row")]
pub struct KnownEntry {
    /// The design's path, relative to the list.
    pub file: String,
    /// What the finding is known by.
    pub identity: Identity,
}

type Row = (String, String, String, u32);

impl From<Row> for KnownEntry {
    fn from((file, rule, subject, ordinal): Row) -> Self {
        Self { file, identity: Identity { rule, subject, ordinal } }
    }
}

impl From<KnownEntry> for Row {
    fn from(entry: KnownEntry) -> Self {
        let Identity { rule, subject, ordinal } = entry.identity;
        (entry.file, rule, subject, ordinal)
    }
}

impl std::fmt::Display for KnownEntry {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        use super::wording::clean;
        let Identity { rule, subject, ordinal } = &self.identity;
        let which = if *ordinal == 1 { String::new() } else { format!(" ({ordinal})") };
        write!(f, "{} on {}{which} in {}", clean(rule), clean(subject), clean(&self.file))
    }
}

#[derive(Serialize, Deserialize)]
struct Head {
    ohmward: String,
    version: u64,
}

/// The list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct KnownList {
    /// The findings, each with its line in the file.
    rows: BTreeMap<KnownEntry, usize>,
}

impl KnownList {
    /// Reads a list. Its lines may stand in any order, and may be doubled: two branches may have been brought together.
    ///
    /// # Errors
    /// What is wrong with the text, with the line.
    pub fn read(text: &str) -> Result<Self, String> {
        let text = text.trim_start_matches('\u{feff}');
        let is_mark = |line: &str| CONFLICT.iter().any(|mark| line.starts_with(mark));
        if let Some(at) = text.lines().position(is_mark) {
            return Err(format!(
                "line {} is a mark of a merge with conflicts: keep the lines of both sides, and take the marks out",
                at + 1
            ));
        }
        let mut lines = text.lines().enumerate();
        let head: Option<Head> = lines.next().and_then(|(_, line)| serde_json::from_str(line).ok());
        match head {
            Some(head) if head.ohmward == KIND && head.version == VERSION => {}
            Some(head) if head.ohmward == KIND => {
                return Err(format!(
                    "it is a list of version {}, and version {VERSION} is read",
                    head.version
                ));
            }
            _ => return Err("it is no list of known findings".into()),
        }
        let mut rows = BTreeMap::new();
        for (index, line) in lines.filter(|(_, line)| !line.trim().is_empty()) {
            let entry: KnownEntry = serde_json::from_str(line).map_err(|_| {
                format!(
                    "line {} is no finding: each is written as [\"FILE\",\"RULE\",\"SUBJECT\",1]",
                    index + 1
                )
            })?;
            rows.entry(entry).or_insert(index + 1);
        }
        Ok(Self { rows })
    }

    /// Writes the list, sorted.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, out: &mut dyn Write) -> Written<()> {
        let head = Head { ohmward: KIND.into(), version: VERSION };
        writeln!(out, "{}", serde_json::to_string(&head).map_err(Error::other)?)?;
        for entry in self.rows.keys() {
            writeln!(out, "{}", serde_json::to_string(entry).map_err(Error::other)?)?;
        }
        Ok(())
    }

    /// The findings, in order.
    pub fn entries(&self) -> impl Iterator<Item = &KnownEntry> {
        self.rows.keys()
    }

    /// The line that a finding stands on.
    #[must_use]
    pub fn line(&self, entry: &KnownEntry) -> Option<usize> {
        self.rows.get(entry).copied()
    }

    /// The findings of one design.
    fn of_file<'l>(&'l self, file: &'l str) -> impl Iterator<Item = &'l KnownEntry> {
        let first = KnownEntry {
            file: file.to_owned(),
            identity: Identity { rule: String::new(), subject: String::new(), ordinal: 0 },
        };
        self.rows.range(first..).map(|row| row.0).take_while(move |entry| entry.file == file)
    }

    /// Marks the findings of a design that are on the list, and gives those of the list that it no longer has.
    /// `file` is the design's path relative to the list; `judged` says whether a rule was judged in this run.
    pub fn mark(
        &self,
        judgement: &mut Judgement,
        file: &str,
        judged: &dyn Fn(&str) -> bool,
    ) -> Vec<KnownEntry> {
        let found = identities(&judgement.findings, &judgement.sources);
        for (finding, identity) in judgement.findings.iter_mut().zip(&found) {
            let entry = KnownEntry { file: file.to_owned(), identity: identity.clone() };
            finding.known =
                finding.waived.is_none() && can_be_known(&finding.rule) && self.line(&entry).is_some();
        }
        if !is_whole(judgement) {
            return Vec::new();
        }
        let found: BTreeSet<&Identity> = found.iter().collect();
        let gone = |entry: &&KnownEntry| judged(&entry.identity.rule) && !found.contains(&entry.identity);
        self.of_file(file).filter(gone).cloned().collect()
    }
}

impl FromIterator<KnownEntry> for KnownList {
    fn from_iter<I: IntoIterator<Item = KnownEntry>>(entries: I) -> Self {
        Self { rows: entries.into_iter().zip(2..).collect() }
    }
}

/// Marks every finding that may stay as known, and gives them for a list; nothing of a design that could not be judged
/// in full.
pub fn accept(judgement: &mut Judgement, file: &str) -> Option<Vec<KnownEntry>> {
    if !is_whole(judgement) {
        return None;
    }
    let found = identities(&judgement.findings, &judgement.sources);
    let mut accepted = Vec::new();
    for (finding, identity) in judgement.findings.iter_mut().zip(found) {
        if finding.waived.is_none() {
            finding.known = true;
            accepted.push(KnownEntry { file: file.to_owned(), identity });
        }
    }
    Some(accepted)
}

/// What is not in the language keeps a design from being judged, and cannot be got used to.
fn can_be_known(rule: &str) -> bool {
    !rule.starts_with("language.")
}

/// Whether the design was judged in full.
fn is_whole(judgement: &Judgement) -> bool {
    let told = |finding: &crate::findings::Finding| can_be_known(&finding.rule);
    judgement.unreadable.is_none() && !judgement.library && judgement.findings.iter().all(told)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(file: &str, subject: &str, ordinal: u32) -> KnownEntry {
        KnownEntry::from((file.to_owned(), "a.b".to_owned(), subject.to_owned(), ordinal))
    }

    fn written(list: &KnownList) -> String {
        let mut out = Vec::new();
        list.write(&mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn reads_what_it_writes() {
        let rows =
            [entry("b c/\"x\".loom", "bolt a to\tb", 1), entry("a.loom", "W2", 2), entry("a.loom", "W2", 1)];
        let list: KnownList = rows.into_iter().collect();
        let text = written(&list);
        let expected = "{\"ohmward\":\"known findings\",\"version\":1}\n[\"a.loom\",\"a.b\",\"W2\",1]\n\
                        [\"a.loom\",\"a.b\",\"W2\",2]\n[\"b c/\\\"x\\\".loom\",\"a.b\",\"bolt a to\\tb\",1]\n";
        assert_eq!(text, expected);
        let lines: Vec<&str> = text.lines().collect();
        let shuffled = [lines[0], lines[3], "", lines[1], lines[2], lines[3]].join("\r\n");
        assert_eq!(written(&KnownList::read(&shuffled).unwrap()), text);
    }

    #[test]
    fn refuses_what_is_no_list() {
        let head = "{\"ohmward\":\"known findings\",\"version\":1}\n";
        for (text, says) in [
            (String::new(), "it is no list of known findings"),
            ("design x \"Invented\"\n".into(), "it is no list of known findings"),
            (head.replace('1', "2"), "it is a list of version 2, and version 1 is read"),
            (format!("{head}\n<<<<<<< ours\n"), "line 3 is a mark of a merge"),
            (format!("{head}[\"a.loom\",\"a.b\",\"W2\"]\n"), "line 2 is no finding"),
        ] {
            let told = KnownList::read(&text).unwrap_err();
            assert!(told.starts_with(says), "{told}");
        }
    }
}
