//! `bond.extra`: a chassis is joined more than once to the same negative.

use rustc_hash::FxHashMap;

use crate::design::{Kind, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "bond.extra",
    severity: Severity::Warning,
    claim: "A chassis is joined to a battery's negative at one point.",
    why: "A second bond makes the chassis a conductor beside the negative: part of every return current runs through the metal.",
    how: "With the chassis taken out of the metal graph, the part that holds a battery's negative has one edge to it, wires side by side \
          counted as one.",
    limits: &[],
    bad: example!("bond.extra", bad),
    good: example!("bond.extra", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let graph = &circuit.metal.graph;
    let mut seen = rustc_hash::FxHashSet::default();
    for (id, component) in cx.design.components.entries().filter(|row| row.1.kind == Kind::Chassis) {
        let node = circuit.metal.node(component.first_terminal);
        if graph.at(node).len() < 2 || !seen.insert(node) || circuit.is_live(node) {
            continue;
        }
        let part = graph.components(|edge| {
            let (a, b) = graph.ends(edge);
            a != node && b != node
        });
        let with_battery: rustc_hash::FxHashSet<u32> = circuit
            .sources
            .iter()
            .filter(|source| source.kind == Kind::Battery)
            .map(|source| part[source.minus as usize])
            .collect();
        let mut edges: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
        for (edge, other) in graph.at(node) {
            edges.entry(part[*other as usize]).or_default().push(*edge);
        }
        let mut groups: Vec<_> = edges
            .into_iter()
            .filter(|(part, edges)| with_battery.contains(part) && 1 < edges.len())
            .map(|row| row.1)
            .collect();
        groups.sort();
        for edges in groups {
            if let Some(wire) = cx.last_wire(&edges) {
                out.push(finding(cx, id, wire, &edges));
            }
        }
    }
}

fn finding(cx: &Context<'_>, chassis: crate::design::ComponentId, wire: WireId, edges: &[u32]) -> Finding {
    let name = cx.wire_name(wire);
    let frame = cx.name(chassis);
    let own = cx.circuit.edge(wire);
    let others: Vec<u32> = edges.iter().copied().filter(|edge| Some(*edge) != own).collect();
    let chain = Context::list(&cx.chain(&others));
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{name} joins {frame} to a negative that {chain} already joins to it"))
        .label(format!("a further way to {frame}"));
    for edge in others {
        for wire in cx.circuit.wires(edge) {
            finding =
                finding.related(cx.wire_name(*wire), cx.wire_span(*wire), format!("joins {frame} already"));
        }
        if let Some(id) = cx.circuit.metal.edges[edge as usize].component() {
            finding = finding.related(cx.name(id), cx.span(id), format!("is joined to {frame} already"));
        }
    }
    finding
        .number("count", edges.len() as f64)
        .help(format!("take {name} away: {frame} keeps its one bond, {chain}"))
}
