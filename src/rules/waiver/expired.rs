//! `waiver.expired`: a waiver whose last day has passed.

use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "waiver.expired",
    severity: Severity::Warning,
    claim: "A waiver is looked at again on its date.",
    why: "What was accepted for a season stays for years when nobody asks.",
    how: "The date after `until` against the day of the run (`--today`). The last day itself still counts.",
    limits: &[],
    bad: example!("waiver.expired", bad),
    good: example!("waiver.expired", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for waiver in cx.design.waivers.iter().filter(|waiver| waiver.until < cx.today) {
        let mut finding = cx
            .at(&RULE, &waiver.subject, waiver.place)
            .headline(format!(
                "the waiver of {} on {} ended on {}",
                waiver.rule, waiver.subject, waiver.until
            ))
            .label(format!("accepted until {}", waiver.until))
            .text("until", waiver.until.to_string())
            .text("waives", waiver.rule.clone())
            .help(format!("mend {}, or look at the reason again and give a new date", waiver.subject));
        finding =
            finding.figure(waiver.until.to_string(), format!("last day; the reason given: {}", waiver.why));
        out.push(finding);
    }
}
