//! `meter.overrange`: a mode drives a meter past its full scale.

use crate::design::{Body, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::study::ModeStudy;
use crate::units::{Current, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.overrange",
    severity: Severity::Error,
    claim: "No mode drives more through a meter than its full scale.",
    why: "Past its full scale a meter shows too little, and its shunt runs hot where it is meant to stay cool.",
    how: "What flows through the shunt in each mode, as `ohmward study` computes it, either way, against the full scale.",
    limits: &["conductor.operating"],
    bad: example!("meter.overrange", bad),
    good: example!("meter.overrange", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if cx.circuit.meters().is_empty() {
        return;
    }
    let Some(study) = cx.study() else { return };
    for view in cx.circuit.meters() {
        let Some(full_scale) = full_scale(cx, view.meter) else { continue };
        let reads = |mode: &'_ ModeStudy| {
            let row = mode.meters.iter().find(|row| row.0 == view.meter)?;
            Some(Current::amps(row.1.abs()))
        };
        let all = study.modes.iter().filter_map(|mode| Some((mode, reads(mode)?)));
        let most = all.reduce(|best, next| if best.1 < next.1 { next } else { best });
        if let Some((mode, amount)) = most.filter(|row| !row.1.within(full_scale)) {
            out.push(finding(cx, view.meter, full_scale, mode, amount));
        }
    }
}

fn full_scale(cx: &Context<'_>, id: ComponentId) -> Option<Current> {
    match &cx.design.components[id].body {
        Body::Meter(meter) => meter.full_scale,
        _ => None,
    }
}

fn finding(
    cx: &Context<'_>,
    id: ComponentId,
    full_scale: Current,
    mode: &ModeStudy,
    amount: Current,
) -> Finding {
    let name = cx.name(id);
    let told = current_against(amount, full_scale);
    let finding = cx
        .on_component(&RULE, id)
        .headline(format!(
            "{told} flows through {name} {}, and its full scale is {full_scale}",
            cx.in_mode(mode)
        ))
        .label(format!("reads up to {full_scale}"))
        .number("current_a", amount.as_amps())
        .number("full_scale_a", full_scale.as_amps())
        .help(format!("fit a meter with a full scale of {told} or more in place of {name}"));
    cx.tell_mode(finding, mode, told)
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let open = cx.circuit.meters().iter().map(|view| view.meter);
    out.add_all("A full scale", Without::NotJudged, open.filter(|id| full_scale(cx, *id).is_none()));
}
