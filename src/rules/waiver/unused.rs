//! `waiver.unused`: a waiver that accepts nothing.

use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "waiver.unused",
    severity: Severity::Warning,
    claim: "Every waiver accepts a finding.",
    why: "A waiver that outlives its cause hides the next fault of the same kind.",
    how: "After all rules are judged, waivers that met no finding of their rule on their subject are left.",
    limits: &[],
    bad: example!("waiver.unused", bad),
    good: example!("waiver.unused", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check: |_, _| {},
};

/// The finding for a waiver that met none; called when all others are known.
pub(crate) fn finding(cx: &Context<'_>, waiver: &crate::design::Waiver) -> Finding {
    cx.at(&RULE, &waiver.subject, waiver.place)
        .headline(format!("the waiver of {} on {} accepts nothing", waiver.rule, waiver.subject))
        .label(format!("{} has no such finding", waiver.subject))
        .text("waives", waiver.rule.clone())
        .help("take the waiver out")
}
