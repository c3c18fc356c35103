//! Which findings came and which went: matched by rule and subject, not by line.

use rustc_hash::FxHashMap;

use super::links::Names;
use super::statements::{bolts, items};
use super::{FindingChange, FindingChanges, Side};
use crate::findings::Finding;
use crate::text::Span;

/// Findings gained and lost.
pub(super) fn findings(old: Side<'_>, new: Side<'_>, old_names: &Names<'_>) -> FindingChanges {
    let before = keys(old, old_names);
    let after = keys(new, &Names::as_they_are());
    let mut open: FxHashMap<(&str, &str), Vec<usize>> = FxHashMap::default();
    for (at, key) in before.iter().enumerate().rev() {
        open.entry((&*old.judgement.findings[at].rule, key.as_str())).or_default().push(at);
    }
    let mut changes = FindingChanges::default();
    for (at, key) in after.iter().enumerate() {
        let finding = &new.judgement.findings[at];
        let known = open.get_mut(&(&*finding.rule, key.as_str())).and_then(Vec::pop);
        let Some(known) = known else {
            changes.gained.push(FindingChange { at, other: None });
            continue;
        };
        match (&old.judgement.findings[known].waived, &finding.waived) {
            (Some(_), None) => changes.gained.push(FindingChange { at, other: Some(known) }),
            (None, Some(_)) => changes.lost.push(FindingChange { at: known, other: Some(at) }),
            _ => {}
        }
    }
    changes.lost.extend(open.into_values().flatten().map(|at| FindingChange { at, other: None }));
    changes.lost.sort_by_key(|change| change.at);
    changes
}

/// What each finding is about, under the names of the new design.
fn keys(side: Side<'_>, names: &Names<'_>) -> Vec<String> {
    let all = &side.judgement.findings;
    let nameless = all.iter().any(is_nameless).then(|| statements(side, names));
    all.iter()
        .map(|finding| match &nameless {
            Some(statements) if is_nameless(finding) => {
                statements.get(&finding.span).cloned().unwrap_or_else(|| text(side, finding.span))
            }
            _ if finding.subject == side.design.name => "design".into(),
            _ => names.subject(&finding.subject),
        })
        .collect()
}

/// Whether it is about a statement without a name, which is told by its line.
fn is_nameless(finding: &Finding) -> bool {
    finding.subject.starts_with("line:")
}

/// What the statements without a name are about, by their place.
fn statements(side: Side<'_>, names: &Names<'_>) -> FxHashMap<Span, String> {
    let items =
        items(side.design, names).into_iter().map(|item| (item.span, format!("{} {}", item.kind, item.key)));
    let bolts = bolts(side.design, names).into_iter().map(|bolt| (bolt.span, bolt.compared.join(" to ")));
    items.chain(bolts).collect()
}

/// What is written there, however it is spaced.
fn text(side: Side<'_>, span: Span) -> String {
    side.judgement.sources.slice(span).split_whitespace().collect::<Vec<_>>().join(" ")
}
