//! `protection.in-return`: a fuse, breaker or switch in a negative, where opening it leaves the circuit live.

use crate::circuit::{EdgeKind, Port, UNLIMITED, current, micro};
use crate::design::{Body, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.in-return",
    severity: Severity::Error,
    claim: "Devices and switches that break one pole break the positive.",
    why: "With the negative open, everything stays live: a fault to the frame still draws current, past the device.",
    how: "A fuse, breaker or switch whose two sides lie in the return graph and not in the live graph, unless its pair breaks the positive of \
          the same circuit. It is advice where the positive has its own device of no higher rating, that is where no more than the device's \
          rating can circulate through it.",
    limits: &[],
    bad: example!("protection.in-return", bad),
    good: example!("protection.in-return", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    for (edge, kind) in circuit.metal.edges.iter().enumerate() {
        let (EdgeKind::Device(id) | EdgeKind::Switch(id)) = kind else { continue };
        let (node, _) = circuit.metal.graph.ends(edge as u32);
        if circuit.is_return(node) && !has_live_pair(cx, *id, edge as u32) {
            out.push(finding(cx, *id, edge as u32));
        }
    }
}

/// Whether another pole of the same handle is in the positive of something whose negative passes here.
fn has_live_pair(cx: &Context<'_>, id: ComponentId, edge: u32) -> bool {
    let pair = |id: ComponentId| match &cx.design.components[id].body {
        Body::Breaker(breaker) => breaker.pair,
        Body::Switch(switch) => switch.pair,
        _ => None,
    };
    let named = pair(id).into_iter();
    let naming = cx.design.components.ids().filter(|other| pair(*other) == Some(id));
    named.chain(naming).any(|other| breaks_positive(cx, other, edge))
}

/// Whether opening a device or switch takes the supply from something whose negative passes `edge`.
fn breaks_positive(cx: &Context<'_>, other: ComponentId, edge: u32) -> bool {
    let circuit = cx.circuit;
    let own = |edge: u32| circuit.metal.edges[edge as usize].component() == Some(other);
    let from: Vec<u32> = circuit.sources.iter().flat_map(|source| source.plus.iter().copied()).collect();
    let fed = circuit.metal.graph.reached(&from, |edge, _| !own(edge));
    served(cx, edge).iter().any(|port| {
        port.plus.iter().any(|plus| {
            let node = circuit.metal.node(*plus);
            circuit.is_live(node) && !fed.contains(node)
        })
    })
}

/// Loads and inputs whose negatives pass an edge of the return: those that lie away from every source's negative without it,
/// or all of the part where none does.
fn served<'c>(cx: &Context<'c>, edge: u32) -> Vec<&'c Port> {
    let circuit = cx.circuit;
    let from: Vec<u32> = circuit.sources.iter().map(|source| source.minus).collect();
    let near = circuit.metal.graph.reached(&from, |other, _| other != edge);
    let part = circuit.part[circuit.metal.graph.ends(edge).0 as usize];
    let ports = || {
        circuit
            .ports
            .iter()
            .filter(|port| !port.source && circuit.part[circuit.metal.node(port.minus) as usize] == part)
    };
    let behind: Vec<&Port> = ports().filter(|port| !near.contains(circuit.metal.node(port.minus))).collect();
    if behind.is_empty() { ports().collect() } else { behind }
}

/// Whether every positive of what an edge serves has a device of its own.
fn has_devices(cx: &Context<'_>, edge: u32) -> bool {
    served(cx, edge).iter().all(|port| {
        let cut = cx.circuit.cut_at(cx.circuit.metal.node(port.plus[0]));
        cut.iter().any(|term| cx.design.components[term.component].kind.is_protective())
    })
}

fn finding(cx: &Context<'_>, id: ComponentId, edge: u32) -> Finding {
    let circuit = cx.circuit;
    let name = cx.name(id);
    let rating = match &cx.design.components[id].body {
        Body::Fuse(fuse) => Some(fuse.rating),
        Body::Breaker(breaker) => Some(breaker.rating),
        Body::Switch(switch) => switch.rating,
        _ => None,
    };
    let around = circuit.circulation(edge).unwrap_or(UNLIMITED);
    let guarded =
        around < UNLIMITED && rating.is_none_or(|rating| around <= micro(rating)) && has_devices(cx, edge);
    let kind = cx.design.components[id].kind.word();
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{name} breaks a negative and leaves its positive live"))
        .label(format!("this {kind} sits in the return"));
    if guarded {
        finding.severity = Severity::Advice;
    }
    if let Some(rating) = rating {
        finding = finding.number("rating_a", rating.as_amps());
    }
    if around < UNLIMITED {
        let around = current(around);
        finding = finding
            .number("circulation_a", around.as_amps())
            .figure(around.to_string(), "what devices in the positive let circulate through it");
    }
    let help = if guarded {
        format!(
            "the positive has its own device: take {name} out of the negative, or break both poles with one handle (`pair`)"
        )
    } else {
        match rating {
            Some(rating) if !matches!(cx.design.components[id].body, Body::Switch(_)) => {
                format!(
                    "move {name}, {rating}, to the positive of the same circuit, near the source, and join the negative without a device"
                )
            }
            _ => format!(
                "move {name} to the positive of the same circuit, or break both poles with one handle (`pair`)"
            ),
        }
    };
    finding.help(help)
}
