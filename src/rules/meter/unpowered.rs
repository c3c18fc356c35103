//! `meter.unpowered`: a meter that loses its supply when a switch is opened.

use crate::circuit::{EdgeKind, Nodes};
use crate::design::{Body, Kind, Meter, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.unpowered",
    severity: Severity::Warning,
    claim: "A meter's sense terminal is fed from a battery's positive with every switch and plug open.",
    why: "A meter that sleeps while the main switch is off forgets what flows meanwhile, and its count drifts.",
    how: "From the sense terminal over wires, devices and cutoffs, switches and plugs open, to a battery's positive; without a battery, to any \
          source's.",
    limits: &[],
    bad: example!("meter.unpowered", bad),
    good: example!("meter.unpowered", good),
    of_absence: true,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let mut fed: Option<Nodes> = None;
    for (id, component) in cx.design.components.entries() {
        let Body::Meter(Meter { counts, .. }) = &component.body else { continue };
        let Some(sense) = component.terminal(cx.design, TerminalRole::Sense) else { continue };
        let fed = fed.get_or_insert_with(|| always_fed(cx));
        if fed.contains(circuit.metal.node(sense)) {
            continue;
        }
        let name = &component.name;
        let from = [circuit.metal.node(sense)];
        let from = if circuit.may_look() { &from[..] } else { &[] };
        let switched = circuit.metal.graph.reach(from, |_, _| true);
        circuit.look(switched.len());
        let behind =
            switched.iter().flat_map(|node| circuit.metal.graph.at(*node)).find_map(
                |(edge, _)| match circuit.metal.edges[*edge as usize] {
                    EdgeKind::Switch(id) | EdgeKind::Plug(id)
                        if circuit.is_live(circuit.metal.graph.ends(*edge).0) =>
                    {
                        Some(id)
                    }
                    _ => None,
                },
            );
        let battery = cx
            .design
            .components
            .entries()
            .filter(|row| row.1.kind == Kind::Battery)
            .min_by_key(|row| (!counts.contains(&row.0), row.0))
            .map_or_else(|| "a source's positive".into(), |row| cx.source_terminal(row.0));
        let mut finding =
            cx.on_component(&RULE, id).label(format!("{name}.sense has no supply of its own")).help(format!(
                "feed {name}.sense from {battery} through a small fuse of its own, ahead of every switch"
            ));
        finding = match behind {
            Some(switch) => finding
                .headline(format!("{name} loses its supply when {} is open", cx.name(switch)))
                .related(cx.name(switch), cx.span(switch), "opens its only supply"),
            None => finding.headline(format!("{name} has no supply: its sense terminal leads to no source")),
        };
        out.push(finding);
    }
}

/// Nodes that stay fed from batteries (or, without any, from sources) with every switch and plug open.
fn always_fed(cx: &Context<'_>) -> Nodes {
    let circuit = cx.circuit;
    let ports = || circuit.ports.iter().filter(|port| port.source);
    let is_battery =
        |port: &&crate::circuit::Port| cx.design.components[port.component].kind == Kind::Battery;
    let any = ports().any(|port| is_battery(&port));
    let from: Vec<u32> = ports()
        .filter(|port| !any || is_battery(port))
        .flat_map(|port| port.plus.iter().map(|plus| circuit.metal.node(*plus)))
        .collect();
    let keep =
        |edge: u32, _| !matches!(circuit.metal.edges[edge as usize], EdgeKind::Switch(_) | EdgeKind::Plug(_));
    circuit.metal.graph.reached(&from, keep)
}
