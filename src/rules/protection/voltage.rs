//! `protection.voltage`: a device on a network of a higher voltage than it can interrupt.

use crate::circuit::EdgeKind;
use crate::design::{Alternator, Body, ComponentId, Solar, Supply};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::Voltage;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.voltage",
    severity: Severity::Error,
    claim: "A device is rated for the highest voltage that its network can reach.",
    why: "Above its rated voltage a device may not put out the arc when it opens: it burns on instead.",
    how: "The highest of: a battery's full voltage (strings add up), a charger's output, a supply's voltage, an alternator at 1.18 times its \
          nominal voltage, and solar modules' open-circuit voltage at the book's lowest temperature.",
    limits: &["temperature.lowest"],
    bad: example!("protection.voltage", bad),
    good: example!("protection.voltage", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mut of_part: rustc_hash::FxHashMap<u32, Option<(Voltage, ComponentId)>> =
        rustc_hash::FxHashMap::default();
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        let EdgeKind::Device(id) = kind else { continue };
        let volts = rated(cx, *id);
        let (node, _) = cx.circuit.metal.graph.ends(edge as u32);
        let part = cx.circuit.part[node as usize];
        let Some(volts) = volts.filter(|_| cx.circuit.is_live(node)) else { continue };
        let highest = *of_part.entry(part).or_insert_with(|| cx.highest_voltage(part));
        let Some((highest, source)) = highest.filter(|row| !row.0.within(volts)) else { continue };
        let name = cx.name(*id);
        out.push(
            cx.on_component(&RULE, *id)
                .headline(format!("{name} is rated {volts} on a network that reaches {highest}"))
                .label(format!("interrupts at up to {volts}"))
                .related(cx.name(source), cx.span(source), format!("brings the network to {highest}"))
                .number("rated_v", volts.as_volts())
                .number("highest_v", highest.as_volts())
                .text("source", cx.name(source))
                .help(format!("fit a device rated for {highest} DC or more in place of {name}"))
                .figure(highest.to_string(), format!("highest voltage, from {}", cx.name(source)))
                .figure(volts.to_string(), format!("rated voltage of {name}")),
        );
    }
}

fn rated(cx: &Context<'_>, id: ComponentId) -> Option<Voltage> {
    match &cx.design.components[id].body {
        Body::Fuse(fuse) => fuse.volts,
        Body::Breaker(breaker) => breaker.volts,
        _ => None,
    }
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let devices = cx.circuit.metal.edges.iter().filter_map(|kind| match kind {
        EdgeKind::Device(id) if rated(cx, *id).is_none() => Some(*id),
        _ => None,
    });
    out.add_all("volts", Without::NotJudged, devices);
    for (id, component) in cx.design.components.entries() {
        match &component.body {
            Body::Battery(_) => cx.unstated_full(id, out),
            Body::Supply(Supply { nominal: None, .. })
            | Body::Alternator(Alternator { nominal: None, .. }) => {
                out.add("V", Without::NotJudged, id);
            }
            Body::Solar(Solar { voc: None, .. }) => out.add("voc", Without::NotJudged, id),
            _ => {}
        }
    }
}
