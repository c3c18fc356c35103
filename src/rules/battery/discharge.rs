//! `battery.discharge`: a mode takes more from a battery than it permits.

use crate::design::{Body, ComponentId, Id};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::study::Peak;
use crate::units::{Current, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "battery.discharge",
    severity: Severity::Error,
    claim: "No mode takes more from a battery than it permits for good.",
    why: "Above that a battery heats and ages, and a lithium battery's own electronics switch everything off at once.",
    how: "What each battery gives in each mode, as `ohmward study` computes it, against its `discharge`; batteries in parallel share by their \
          resistances and wires. A mode in which a starter turns lasts for seconds and is left out.",
    limits: &["conductor.operating"],
    bad: example!("battery.discharge", bad),
    good: example!("battery.discharge", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some(study) = cx.study() else { return };
    for (id, component) in cx.design.components.entries() {
        let Body::Battery(battery) = &component.body else { continue };
        let Some(permitted) = battery.discharge else { continue };
        let peak = study.peaks.component[id.index()];
        if !peak.current.within(permitted) {
            out.push(finding(cx, id, permitted, peak));
        }
    }
}

fn finding(cx: &Context<'_>, id: ComponentId, permitted: Current, peak: Peak) -> Finding {
    let name = cx.name(id);
    let told = current_against(peak.current, permitted);
    let over = peak.current - permitted;
    let mut finding = cx
        .on_component(&RULE, id)
        .label(format!("permits {permitted} for good"))
        .number("current_a", peak.current.as_amps())
        .number("limit_a", permitted.as_amps())
        .help(format!(
            "take {over} less from {name}, or fit a battery that permits {told}, or one more beside it"
        ))
        .figure(permitted.to_string(), format!("`discharge` of {name}"));
    if let Some(mode) = cx.peak_mode(peak) {
        finding = finding
            .headline(format!("{name} gives {told} {}, and permits {permitted} for good", cx.in_mode(mode)));
        let largest =
            mode.elements.takers.iter().zip(mode.solution.as_ref().map_or(&[][..], |solved| &solved.taker));
        let largest = largest.max_by(|a, b| a.1.total_cmp(b.1));
        finding = cx.tell_mode(finding, mode, told);
        if let Some((taker, amps)) = largest {
            let note = format!("takes {}, the most of the loads", Current::amps(*amps));
            finding = finding.related(cx.name(taker.component), cx.span(taker.component), note);
        }
    }
    finding
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let open = cx.design.components.entries().filter_map(|(id, component)| match &component.body {
        Body::Battery(battery) => battery.discharge.is_none().then_some(id),
        _ => None,
    });
    out.add_all("discharge", Without::NotJudged, open);
}
