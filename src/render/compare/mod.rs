//! What changed between two designs: for people, for a review comment, or as JSON.

mod human;
mod json;
mod markdown;

use rustc_hash::FxHashMap;

use super::wording::plural;
use crate::check::Judgement;
use crate::compare::{Changed, Comparison};
use crate::findings::{Finding, Severity};

pub use human::CompareHuman;
pub use json::CompareJson;
pub use markdown::CompareMarkdown;

/// Most fits that one sentence names; the others are counted.
const MOST_FITS: usize = 8;

/// A comparison with what it is of.
#[derive(Debug, Clone, Copy)]
pub struct CompareReport<'r> {
    /// The old design as it is called: its path, or its revision.
    pub old_name: &'r str,
    /// The new one likewise.
    pub new_name: &'r str,
    /// The judgement of the old design.
    pub old: &'r Judgement,
    /// The judgement of the new design.
    pub new: &'r Judgement,
    /// What changed.
    pub comparison: &'r Comparison,
}

/// A finding that came or went, with what a waiver has to do with it.
struct Told<'r> {
    judgement: &'r Judgement,
    finding: &'r Finding,
    waiver: Option<String>,
}

impl<'r> CompareReport<'r> {
    fn gained(&self) -> Vec<Told<'r>> {
        let told = |at: usize, other: Option<usize>| {
            let finding = self.new.findings.get(at)?;
            let waiver = match (other, &finding.waived) {
                (Some(_), _) => Some("found before too, and no longer accepted by a waiver".into()),
                (None, Some(waived)) => Some(accepted("accepted", &waived.why, &waived.until)),
                (None, None) => None,
            };
            Some(Told { judgement: self.new, finding, waiver })
        };
        self.comparison.findings.gained.iter().filter_map(|one| told(one.at, one.other)).collect()
    }

    fn lost(&self) -> Vec<Told<'r>> {
        let told = |at: usize, other: Option<usize>| {
            let finding = self.old.findings.get(at)?;
            let now = other.and_then(|other| self.new.findings.get(other)?.waived.as_ref());
            let waiver = match (now, &finding.waived) {
                (Some(now), _) => Some(accepted("still found, and now accepted", &now.why, &now.until)),
                (None, Some(_)) => Some("it was accepted by a waiver".into()),
                (None, None) => None,
            };
            Some(Told { judgement: self.old, finding, waiver })
        };
        self.comparison.findings.lost.iter().filter_map(|one| told(one.at, one.other)).collect()
    }

    /// The sections of sentences, each with its heading; those without any are left out.
    fn sections(&self) -> Vec<(&'static str, Vec<String>)> {
        let elements = &self.comparison.elements;
        let texts = |entries: &[crate::compare::Entry]| entries.iter().map(|one| one.text.clone()).collect();
        let sections = [
            ("added", texts(&elements.added)),
            ("removed", texts(&elements.removed)),
            ("changed", changed(&elements.changed)),
            ("renamed", elements.renamed.iter().map(|one| one.text.clone()).collect()),
        ];
        sections.into_iter().filter(|section| !section.1.is_empty()).collect()
    }

    /// One line of counts.
    fn summary(&self) -> String {
        let Comparison { elements, findings } = self.comparison;
        let counts = [
            (elements.added.len(), "added"),
            (elements.removed.len(), "removed"),
            (elements.changed.len(), "changed"),
            (elements.renamed.len(), "renamed"),
        ];
        let parts: Vec<String> =
            counts.iter().filter(|row| 0 < row.0).map(|(count, what)| format!("{count} {what}")).collect();
        let elements = if parts.is_empty() { "no element has changed".into() } else { parts.join(", ") };
        let gained = match findings.gained.len() {
            0 => "no finding gained".to_owned(),
            n => format!("{} gained{}", plural(n, "finding", "findings"), severities(&self.gained())),
        };
        format!("{elements}; {gained}, {} lost", findings.lost.len())
    }
}

fn accepted(how: &str, why: &str, until: &str) -> String {
    format!("{how} until {until}, because \"{why}\"")
}

/// What of the findings no waiver accepts, by severity.
fn severities(told: &[Told<'_>]) -> String {
    let open = |severity| {
        told.iter().filter(|one| one.finding.severity == severity && one.finding.waived.is_none()).count()
    };
    let counts = [
        (open(Severity::Error), "error", "errors"),
        (open(Severity::Warning), "warning", "warnings"),
        (open(Severity::Advice), "advice", "advice"),
    ];
    let parts: Vec<String> =
        counts.iter().filter(|row| 0 < row.0).map(|(count, one, many)| plural(*count, one, many)).collect();
    if parts.is_empty() { String::new() } else { format!(" ({})", parts.join(", ")) }
}

/// Every change as a sentence; what changed alike in several fits of one kit is told once.
fn changed(all: &[Changed]) -> Vec<String> {
    let mut lines: Vec<(String, Vec<&str>, &str)> = Vec::new();
    let mut at: FxHashMap<(&str, String), usize> = FxHashMap::default();
    for one in all {
        for change in &one.changes {
            let Some(fit) = &one.fit else {
                lines.push((change.text.clone(), Vec::new(), ""));
                continue;
            };
            let inside = change.text.replace(&format!("{}/", fit.name), "");
            match at.get(&(fit.kit.as_str(), inside.clone())).and_then(|at| lines.get_mut(*at)) {
                Some(line) => line.1.push(&fit.name),
                None => {
                    at.insert((&fit.kit, inside), lines.len());
                    lines.push((change.text.clone(), vec![&fit.name], &fit.kit));
                }
            }
        }
    }
    lines.into_iter().map(|(text, fits, kit)| in_fits(text, &fits, kit)).collect()
}

fn in_fits(text: String, fits: &[&str], kit: &str) -> String {
    let [first, _, ..] = fits else { return text };
    let inside = text.replace(&format!("{first}/"), "");
    let shown = fits.get(..MOST_FITS).unwrap_or(fits);
    let names = match (fits.len() - shown.len(), shown.split_last()) {
        (0, Some((last, others))) => format!("{} and {last}", others.join(", ")),
        (more, _) => format!("{} and {more} more", shown.join(", ")),
    };
    format!("in {names} (kit {kit}): {inside}")
}
