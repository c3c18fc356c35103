//! `bond.undersize`: a bond too thin to open the device when a live part touches the housing.

use crate::circuit::{CutTerm, EdgeKind, Port, current};
use crate::design::{Body, ComponentId, Kind, TerminalRole, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "bond.undersize",
    severity: Severity::Error,
    claim: "A bond carries what the device ahead of a cased component lets through until it opens.",
    why: "When a live part touches its housing, the bond has to carry the fault until the device opens; a thin one burns off first and leaves the \
          housing live.",
    how: "For each component whose housing is on a chassis, by `case` or by a wire from its case terminal, the devices that bound what arrives at \
          its positive are found (minimum cut); the bonds on the way from its housing to the negative of a source that feeds it are held to the \
          largest of their ratings.",
    limits: &["protection.ratio", "protection.ratio-high"],
    bad: example!("bond.undersize", bad),
    good: example!("bond.undersize", good),
    of_absence: false,
    studies: false,
    unstated: Some(Context::unstated_insulation),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let mut worst: std::collections::BTreeMap<WireId, (CutTerm, ComponentId)> =
        std::collections::BTreeMap::new();
    for port in circuit.ports.iter().filter(|port| !port.source) {
        let Some(housing) = housing(cx, port) else { continue };
        let plus = circuit.metal.node(port.plus[0]);
        if !circuit.is_live(plus) {
            continue;
        }
        let device = circuit
            .cut_at(plus)
            .into_iter()
            .filter(|term| cx.design.components[term.component].kind.is_protective())
            .max_by_key(|term| term.amount);
        let Some(device) = device else { continue };
        for wire in ways_back(cx, housing, plus).iter().flat_map(|edge| circuit.wires(*edge)).copied() {
            if cx.design.wires[wire].bond {
                let row = worst.entry(wire).or_insert((device, port.component));
                if row.0.amount < device.amount {
                    *row = (device, port.component);
                }
            }
        }
    }
    for (wire, (device, component)) in worst {
        let rating = current(device.amount);
        // Bonds side by side share the fault by conductance.
        if !(rating * circuit.share(wire)).within(cx.permitted(wire)) {
            out.push(finding(cx, wire, device, component));
        }
    }
}

/// The node of a component's housing.
fn housing(cx: &Context<'_>, port: &Port) -> Option<u32> {
    let component = &cx.design.components[port.component];
    match &component.body {
        Body::Load(load) => {
            load.case.map(|chassis| cx.circuit.metal.node(cx.design.components[chassis].first_terminal))
        }
        Body::Inverter(_) => {
            let node = cx.circuit.metal.node(component.terminal(cx.design, TerminalRole::Case)?);
            let reached = cx.circuit.metal.graph.reach(&[node], |_, _| true);
            let on_chassis = reached.iter().any(|node| {
                cx.circuit.metal.terminals[*node as usize].iter().any(|terminal| {
                    cx.design.components[cx.design.terminals[*terminal].component].kind == Kind::Chassis
                })
            });
            on_chassis.then_some(node)
        }
        _ => None,
    }
}

/// The edges of the ways of fewest edges from a housing to the negatives of the sources that feed the component with most:
/// batteries, where there are any.
fn ways_back(cx: &Context<'_>, housing: u32, plus: u32) -> Vec<u32> {
    let circuit = cx.circuit;
    let on = || circuit.sources_on(circuit.part[plus as usize]);
    let most = on().map(|source| source.limit).max();
    let keep = |edge: u32| !matches!(circuit.metal.edges[edge as usize], EdgeKind::Data(_));
    let ways = |strong: bool| -> Vec<u32> {
        let sources = on().filter(|source| (Some(source.limit) == most) == strong);
        sources.filter_map(|source| circuit.metal.graph.path(housing, source.minus, keep)).flatten().collect()
    };
    let found = ways(true);
    if found.is_empty() { ways(false) } else { found }
}

fn finding(cx: &Context<'_>, wire: WireId, device: CutTerm, component: ComponentId) -> Finding {
    let name = cx.wire_name(wire);
    let rating = current(device.amount);
    let (ampacity, permitted) = (cx.ampacity(wire), cx.permitted(wire));
    let size = cx.size_for(wire, rating);
    let help = match size {
        Some(size) => format!("use {size} or more for {name}"),
        None => format!("protect {} with a smaller device", cx.name(component)),
    };
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!(
            "{name} carries {permitted}, and {} of {rating} has to open through it",
            cx.name(device.component)
        ))
        .label(format!(
            "carries {ampacity}; the way back of a fault to the housing of {}",
            cx.name(component)
        ))
        .related(cx.name(component), cx.span(component), "its live parts may touch its housing")
        .related(
            cx.name(device.component),
            cx.span(device.component),
            format!("{rating}, the device that has to open"),
        )
        .number("ampacity_a", ampacity.as_amps())
        .number("permitted_a", permitted.as_amps())
        .number("rating_a", rating.as_amps())
        .help(help)
        .figure(rating.to_string(), format!("largest device ahead of {}", cx.name(component)))
        .figure(ampacity.to_string(), format!("ampacity of {name}: {}", cx.made(wire)));
    if let Some(size) = size {
        finding = finding.number("suggested_mm2", size.area().as_mm2());
    }
    cx.limit_figure(finding, cx.ratio_limit(wire).name())
}
