//! `meter.uncounted`: a negative on the wrong side of a meter, so that its current is not counted.

use rustc_hash::FxHashSet;

use crate::circuit::{MeterView, Side};
use crate::design::ComponentId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.uncounted",
    severity: Severity::Error,
    claim: "A battery meter has only its batteries on its `bat` side; a group's meter has the whole group on its `sys` side.",
    why: "A load or charger on the wrong side charges or drains the battery behind the meter's back.",
    how: "With the shunt taken out, the part of the metal graph on each side is searched for negatives (positives, for a meter in the positive).",
    limits: &[],
    bad: example!("meter.uncounted", bad),
    good: example!("meter.uncounted", good),
    of_absence: true,
    studies: false,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for view in cx.circuit.meters() {
        if view.counts.is_empty() || view.around.is_some() || view.is_reversed(cx.circuit) {
            continue;
        }
        let mut members: Vec<ComponentId> = view.counts.iter().copied().collect();
        members.sort_unstable();
        let side = |id: &ComponentId| view.member_side(cx.circuit, *id);
        if view.batteries {
            let lost: Vec<_> = members.iter().filter(|id| side(id).is_none()).collect();
            if lost.is_empty() {
                out.extend(
                    members
                        .iter()
                        .filter(|id| side(id) == Some(Side::Sys))
                        .map(|id| wrong_side(cx, view, *id)),
                );
                out.extend(strangers(cx, view).into_iter().map(|id| wrong_side(cx, view, id)));
            } else {
                out.extend(lost.into_iter().map(|id| apart(cx, view, *id)));
            }
        } else {
            for id in members {
                match side(&id) {
                    Some(Side::Sys) => {}
                    Some(Side::Bat) => out.push(wrong_side(cx, view, id)),
                    None => out.push(apart(cx, view, id)),
                }
            }
        }
    }
}

/// Other components with a negative on the batteries' side.
fn strangers(cx: &Context<'_>, view: &MeterView) -> Vec<ComponentId> {
    let mut seen = FxHashSet::default();
    cx.circuit
        .ports
        .iter()
        .filter(|port| !view.counts.contains(&port.component))
        .filter(|port| view.port_side(cx.circuit, port) == Some(Side::Bat))
        .map(|port| port.component)
        .filter(|id| seen.insert(*id))
        .collect()
}

fn wrong_side(cx: &Context<'_>, view: &MeterView, id: ComponentId) -> Finding {
    let (name, meter) = (cx.name(id), cx.name(view.meter));
    let pole = if view.positive { "positive" } else { "negative" };
    let (wrong, right) =
        if !view.batteries || !view.counts.contains(&id) { ("bat", "sys") } else { ("sys", "bat") };
    let what = if view.batteries && !view.counts.contains(&id) { "battery's" } else { "wrong" };
    cx.on_component(&RULE, id)
        .headline(format!("{name} is not counted by {meter}: its {pole} is on the {what} side of the shunt"))
        .label(format!("its {pole} leads to {meter}.{wrong}"))
        .related(
            meter,
            cx.span(view.meter),
            format!("counts only what passes from {meter}.sys to {meter}.bat"),
        )
        .text("meter", meter)
        .help(format!(
            "move the {pole} of {name} to the other side of {meter}, to {}",
            place(cx, view, right)
        ))
}

fn apart(cx: &Context<'_>, view: &MeterView, id: ComponentId) -> Finding {
    let (name, meter) = (cx.name(id), cx.name(view.meter));
    let pole = if view.positive { "positive" } else { "negative" };
    let right = if view.batteries { "bat" } else { "sys" };
    cx.on_component(&RULE, id)
        .headline(format!("{name} is not counted by {meter}: its {pole} leads to neither side of the shunt"))
        .label(format!("{meter} is to count it"))
        .related(meter, cx.span(view.meter), format!("`counts {name}`"))
        .text("meter", meter)
        .help(format!("lead the {pole} of {name} to {}", place(cx, view, right)))
}

/// The point to connect to on a side: the bar that stands there, or the terminal itself.
fn place(cx: &Context<'_>, view: &MeterView, side: &str) -> String {
    super::side_point(cx, view, if side == "sys" { Side::Sys } else { Side::Bat })
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let meters = cx.circuit.meters().iter().filter(|view| view.counts.is_empty());
    out.add_all("counts", Without::NotJudged, meters.map(|view| view.meter));
}
