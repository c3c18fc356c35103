//! `return.missing`: a component is fed and has no way back for its current.

use rustc_hash::FxHashSet;

use crate::circuit::{EdgeKind, Port};
use crate::design::{Body, ComponentId, TerminalId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "return.missing",
    severity: Severity::Error,
    claim: "Whatever a source feeds has a way back to that source's negative by conductors meant for it.",
    why: "Without one it does nothing, or its current finds a way of its own: a bond, a data lead, a housing, somebody's control cable.",
    how: "From the component's negative to the negative of a source that feeds its positive, over wires, bars, bolts, closed switches, meters \
          and chassis, but not over bonds, data leads or housings. One source with a way is enough; a source is named only if nothing that it \
          feeds is.",
    limits: &[],
    bad: example!("return.missing", bad),
    good: example!("return.missing", good),
    of_absence: true,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let meant = circuit.metal.graph.components(|edge| is_meant(cx, edge));
    let group = |port: &Port| meant[circuit.metal.node(port.minus) as usize];
    let mut named: FxHashSet<ComponentId> = FxHashSet::default();
    for port in circuit.ports.iter().filter(|port| !port.source && !is_tapped(cx, port)) {
        let mut fed_by = None;
        let has_way = live_parts(cx, port).any(|part| {
            circuit.sources_on(part).any(|source| {
                fed_by.get_or_insert(source.component);
                meant[source.minus as usize] == group(port)
            })
        });
        if let (false, Some(source)) = (has_way, fed_by) {
            named.insert(port.component);
            out.push(finding(cx, port, source, None));
        }
    }
    // Chargers and the like before batteries: of two that feed each other, the one that serves is named.
    let mut sources: Vec<&Port> = circuit.ports.iter().filter(|port| port.source).collect();
    sources.sort_by_key(|port| cx.design.components[port.component].kind == crate::design::Kind::Battery);
    for port in sources {
        let Some(own) = circuit
            .sources
            .iter()
            .find(|source| !source.tap && source.members.first() == Some(&port.component))
        else {
            continue;
        };
        if own.members.len() == 1 && is_tapped(cx, port) {
            continue;
        }
        let parts: Vec<u32> = own.plus.iter().map(|plus| circuit.part[*plus as usize]).collect();
        let mut other = None;
        let mut served = false;
        for mate in cx.mates(&parts) {
            if own.members.contains(&mate.component) {
                continue;
            }
            served |= named.contains(&mate.component)
                || meant[circuit.metal.node(mate.minus) as usize] == meant[own.minus as usize];
            other.get_or_insert(mate);
        }
        if let (false, Some(other)) = (served, other) {
            named.insert(port.component);
            out.push(finding(cx, port, other.component, Some(other.minus)));
        }
    }
}

/// A conductor that is meant to carry a return: no bond, no data lead.
fn is_meant(cx: &Context<'_>, edge: u32) -> bool {
    match cx.circuit.metal.edges[edge as usize] {
        EdgeKind::Data(_) => false,
        EdgeKind::Run(_) => cx.circuit.wires(edge).iter().any(|wire| !cx.design.wires[*wire].bond),
        _ => true,
    }
}

/// Fed from the middle of a string: told by its own rule.
fn is_tapped(cx: &Context<'_>, port: &Port) -> bool {
    let middle = |terminal| cx.circuit.is_middle(cx.circuit.metal.node(terminal));
    middle(port.minus) || port.plus.iter().any(|plus| middle(*plus))
}

fn live_parts(cx: &Context<'_>, port: &Port) -> impl Iterator<Item = u32> {
    let circuit = cx.circuit;
    port.plus
        .iter()
        .map(|plus| circuit.metal.node(*plus))
        .filter(|node| circuit.is_live(*node))
        .map(|node| circuit.part[node as usize])
}

fn finding(cx: &Context<'_>, port: &Port, source: ComponentId, goal: Option<TerminalId>) -> Finding {
    let circuit = cx.circuit;
    let name = cx.name(port.component);
    let minus = cx.design.terminal_name(port.minus);
    let first = circuit.source_of(source).map_or(source, |source| source.members[0]);
    let goal = goal.or_else(|| {
        circuit.ports.iter().find(|port| port.component == first && port.source).map(|port| port.minus)
    });
    let negative = goal.map_or_else(|| cx.name(first).into(), |goal| cx.design.terminal_name(goal));
    let from = circuit.metal.node(port.minus);
    let stray = goal.and_then(|goal| circuit.metal.graph.path(from, circuit.metal.node(goal), |_| true));
    let mut finding = cx
        .on_component(&RULE, port.component)
        .related(cx.name(source), cx.span(source), format!("feeds {}", cx.design.terminal_name(port.plus[0])))
        .text("source", cx.name(source));
    match stray {
        Some(way) if !way.is_empty() => {
            let strays: Vec<u32> = way.iter().copied().filter(|edge| !is_meant(cx, *edge)).collect();
            let chain = Context::list(&cx.chain(&strays));
            for edge in &strays {
                for wire in circuit.wires(*edge) {
                    finding =
                        finding.related(cx.wire_name(*wire), cx.wire_span(*wire), "a bond, not a return");
                }
                if let EdgeKind::Data(id) = circuit.metal.edges[*edge as usize] {
                    let lead = &cx.design.data[id];
                    finding =
                        finding.related(lead.name.clone(), lead.place.span, "a data lead, not a return");
                }
            }
            finding = finding
                .headline(format!("{name} has no return to {negative} but {chain}"))
                .label(format!("the current of {minus} comes back by {chain} alone"))
                .texts("way", cx.chain(&way));
        }
        _ => {
            finding = finding
                .headline(format!("{name} has no return to {negative}"))
                .label(format!("fed, and {minus} leads nowhere near {negative}"));
        }
    }
    let chassis = match &cx.design.components[port.component].body {
        Body::Load(load) => load.returns,
        Body::Alternator(alternator) => alternator.returns,
        _ => None,
    };
    finding.help(match chassis {
        Some(chassis) => format!(
            "{name} returns by its body: join {} to {negative} by one conductor sized for the return, not marked `bond`",
            cx.name(chassis)
        ),
        None => format!("run a negative wire from {minus} to the bar or terminal that leads to {negative}"),
    })
}
