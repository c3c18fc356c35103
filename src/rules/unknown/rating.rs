//! `unknown.rating`: figures that were not stated, so that a rule could not be judged or had to assume.

use crate::findings::{Finding, Severity};
use crate::rules::unstated::{Group, Unstated, Without};
use crate::rules::{Context, Rule, example};
use crate::text::{FileId, Span};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "unknown.rating",
    severity: Severity::Advice,
    claim: "Every figure that a rule needs is stated, in the design or in a part.",
    why: "A rule that lacks a figure is silent or takes a usual one, and silence is easily read as approval.",
    how: "Each rule tells the figures that it looked for and did not find, and what it did without: left the element out, or assumed \
          a value of the book. One list a design.",
    limits: &[],
    bad: example!("unknown.rating", bad),
    good: example!("unknown.rating", good),
    of_absence: false,
    studies: true,
    unstated: None,
    check,
};

/// Names told of each group.
const SHOWN: usize = 6;

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let groups = Unstated::of(cx).groups;
    if groups.is_empty() {
        return;
    }
    let count: usize = groups.iter().map(|group| group.subjects.len()).sum();
    let figures = if count == 1 { "1 figure is" } else { &format!("{count} figures are") };
    let span = cx.design.name_span.unwrap_or(Span::new(cx.design.file.unwrap_or(FileId(0)), 0, 0));
    let severity = cx.book.rule(RULE.id).severity.unwrap_or(RULE.severity);
    let mut finding = Finding::new(RULE.id, severity, cx.design.name.as_str(), span)
        .headline(format!("{figures} not stated: {}", outcome(&groups)))
        .label("has figures left open")
        .number("count", count as f64)
        .texts("figures", groups.iter().map(|group| group.figure.into()).collect())
        .help("state what the data sheets say, on the element or in its part; until then:");
    for group in &groups {
        finding = finding.figure(format!("`{}`", group.figure), tell(cx, group));
    }
    out.push(finding);
}

/// What becomes of the open figures, in general.
fn outcome(groups: &[Group]) -> String {
    let count = |assumed: bool| -> usize {
        let of = |group: &&Group| matches!(group.without, Without::Assumed(_)) == assumed;
        groups.iter().filter(of).map(|group| group.subjects.len()).sum()
    };
    match (count(true), count(false)) {
        (0, _) => "what needs them is not judged".into(),
        (_, 0) => "usual values are assumed".into(),
        (assumed, open) => format!("{assumed} assumed, and what needs the other {open} not judged"),
    }
}

fn tell(cx: &Context<'_>, group: &Group) -> String {
    let n = group.subjects.len();
    let mut names: Vec<String> = group.subjects.iter().take(SHOWN).map(|subject| subject.name(cx)).collect();
    if SHOWN < n {
        names.push(format!("{} more", n - SHOWN));
    }
    let names = Context::list(&names);
    let rules = Context::list(&group.rules.iter().map(|rule| rule.to_string()).collect::<Vec<_>>());
    match &group.without {
        Without::NotJudged => {
            let (verb, what) = if n == 1 { ("is", "it") } else { ("are", "them") };
            let not = if group.rules.len() == 1 { "does" } else { "do" };
            format!("of {names} {verb} not stated: {rules} {not} not judge {what}")
        }
        Without::Assumed(value) => format!("of {names} taken as {value} ({rules})"),
    }
}
