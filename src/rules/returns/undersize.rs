//! `return.undersize`: more current can come back through a wire than it carries.

use crate::check::Role;
use crate::circuit::{Nodes, UNLIMITED, current};
use crate::design::WireId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::{Current, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "return.undersize",
    severity: Severity::Error,
    claim: "A return wire carries all that the devices in the positives let circulate through it.",
    why: "No device watches the negative: the wire has to bear what every positive that shares it can draw before one of them opens.",
    how: "The maximum flow from one end of the wire to the other through the rest of the circuit, with loads counted as shorted, sources at \
          their limits and devices at their ratings. A wire in a loop of plain metal is left to the loop's own finding.",
    limits: &["protection.ratio", "protection.ratio-high"],
    bad: example!("return.undersize", bad),
    good: example!("return.undersize", good),
    of_absence: false,
    studies: false,
    unstated: Some(Context::unstated_insulation),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    for wire in cx.design.wires.ids().filter(|wire| !circuit.is_exempt(*wire)) {
        if !matches!(circuit.role(wire), Role::Return | Role::Bond) {
            continue;
        }
        let around = circuit.edge(wire).and_then(|edge| circuit.circulation(edge));
        let Some(around) = around.filter(|around| 0 < *around && *around < UNLIMITED) else { continue };
        let carried = current(around) * circuit.share(wire);
        if !carried.within(cx.permitted(wire)) {
            out.push(finding(cx, wire, carried));
        }
    }
}

fn finding(cx: &Context<'_>, wire: WireId, carried: Current) -> Finding {
    let name = cx.wire_name(wire);
    let (ampacity, permitted) = (cx.ampacity(wire), cx.permitted(wire));
    let served = served(cx, wire);
    let told = current_against(carried, permitted);
    let size = cx.size_for(wire, carried);
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{told} can come back through {name}, which carries {permitted}"))
        .label(format!("carries {ampacity}; the way back of {}", Context::list(&served.names)));
    for (id, limit) in &served.members {
        finding = finding.related(cx.name(*id), cx.span(*id), limit.clone());
    }
    let largest = cx.largest_rating(&[], 0, permitted);
    let unequal = cx.unequal_beside(wire);
    let has_source = served.members.iter().any(|(id, _)| circuit_source(cx, *id));
    let help = match (size, largest.filter(|_| !has_source)) {
        _ if unequal.is_some() => unequal.unwrap_or_default(),
        (Some(size), Some(largest)) => format!(
            "use {size} for {name}; or protect the positives that return through it with {largest} in all"
        ),
        (Some(size), None) => format!("use {size} for {name}"),
        (None, _) => "divide the loads over several returns".into(),
    };
    if let Some(size) = size {
        finding = finding.number("suggested_mm2", size.area().as_mm2());
    }
    let finding = finding
        .number("circulation_a", carried.as_amps())
        .number("ampacity_a", ampacity.as_amps())
        .number("permitted_a", permitted.as_amps())
        .texts("serves", served.names)
        .help(help)
        .figure(told, "can circulate before any device in the positives opens (maximum flow)")
        .figure(ampacity.to_string(), format!("ampacity of {name}: {}", cx.made(wire)));
    cx.limit_figure(finding, cx.ratio_limit(wire).name())
}

/// A limited source, which no smaller device in a load's positive would hold back.
fn circuit_source(cx: &Context<'_>, id: crate::design::ComponentId) -> bool {
    cx.circuit.source_of(id).is_some_and(|source| source.limit < UNLIMITED)
}

struct Served {
    names: Vec<String>,
    members: Vec<(crate::design::ComponentId, String)>,
}

/// What returns through a wire: the components whose negatives lie on its smaller side.
fn served(cx: &Context<'_>, wire: WireId) -> Served {
    let circuit = cx.circuit;
    let (a, b) = circuit.wire_nodes(wire);
    let edge = circuit.edge(wire);
    if !circuit.may_look() {
        return Served { names: vec!["what lies beyond it".into()], members: Vec::new() };
    }
    let side = |from: u32| {
        let (nodes, side) = circuit.metal.graph.spread(&[from], |other, _| Some(other) != edge);
        circuit.look(nodes.len() + circuit.ports.len());
        side
    };
    let (of_a, of_b) = (side(a), side(b));
    let on = |side: &Nodes| -> Vec<&crate::circuit::Port> {
        circuit.ports.iter().filter(|port| side.contains(circuit.metal.node(port.minus))).collect()
    };
    let (on_a, on_b) = (on(&of_a), on(&of_b));
    let battery = |ports: &[&crate::circuit::Port]| {
        ports.iter().any(|port| cx.design.components[port.component].kind == crate::design::Kind::Battery)
    };
    let fewer = match (battery(&on_a), battery(&on_b)) {
        (true, false) => on_b,
        (false, true) => on_a,
        _ if on_a.len() <= on_b.len() => on_a,
        _ => on_b,
    };
    let members: Vec<_> = fewer
        .iter()
        .take(6)
        .map(|port| {
            let node = circuit.metal.node(port.plus[0]);
            let arriving = circuit.arriving_at(node);
            let cut = circuit.cut_at(node);
            let note = if port.source {
                let limit = circuit.source_of(port.component).map_or(UNLIMITED, |source| source.limit);
                if limit < UNLIMITED {
                    format!("gives up to {}, which returns through it", current(limit))
                } else {
                    "returns through it".into()
                }
            } else if UNLIMITED <= arriving || cut.is_empty() {
                "returns through it".into()
            } else {
                format!("returns through it; {} lets its positive draw that", cx.tell_cut(&cut))
            };
            (port.component, note)
        })
        .collect();
    let mut names: Vec<String> = fewer.iter().map(|port| cx.name(port.component).into()).collect();
    names.dedup();
    if 4 < names.len() {
        let more = names.len() - 3;
        names.truncate(3);
        names.push(format!("{more} more"));
    }
    Served { names, members }
}
