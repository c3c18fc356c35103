//! `meter.bypassed`: current has a way around a meter's shunt.

use crate::circuit::MeterView;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::Share;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.bypassed",
    severity: Severity::Error,
    claim: "With its shunt taken out, a meter's two sides are apart.",
    why: "What finds a way around the shunt is not counted: the battery's state is wrong from the first hour, and nobody sees why.",
    how: "The shunt's edge is taken out of the metal graph; if a way from the `bat` side to the `sys` side is left, it is listed with the share of \
          the current that it takes, by conductance.",
    limits: &[],
    bad: example!("meter.bypassed", bad),
    good: example!("meter.bypassed", good),
    of_absence: false,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for view in cx.circuit.meters() {
        if let Some(around) = &view.around {
            out.push(finding(cx, view, around));
        }
    }
}

fn finding(cx: &Context<'_>, view: &MeterView, around: &[u32]) -> Finding {
    let circuit = cx.circuit;
    let name = cx.name(view.meter);
    let chain = cx.chain(around);
    let mut finding = cx.on_component(&RULE, view.meter).texts("way", chain.clone());
    if around.is_empty() {
        return finding
            .headline(format!("both sides of {name} are bolted to one point"))
            .label("its shunt is bridged, and it reads nothing")
            .number("share_percent", 100.0)
            .help(format!("take one of the bolts away, so that the current passes through {name}"));
    }
    for edge in around.iter().take(8) {
        for wire in circuit.wires(*edge) {
            finding = finding.related(cx.wire_name(*wire), cx.wire_span(*wire), "part of the way around");
        }
        if let Some(id) = circuit.metal.edges[*edge as usize].component() {
            finding = finding.related(cx.name(id), cx.span(id), "part of the way around");
        }
    }
    let way: f64 = around.iter().map(|edge| circuit.resistance(*edge).as_ohms()).sum();
    let shunt = view.shunt.map_or(0.0, |edge| circuit.resistance(edge).as_ohms());
    let share = Share::ratio(shunt / (shunt + way));
    let cut = around
        .iter()
        .copied()
        .filter(|edge| !circuit.wires(*edge).is_empty())
        .max_by_key(|edge| cx.last_wire(&[*edge]).map(|wire| cx.design.wires[wire].place.order));
    let help = match cut {
        Some(edge) => format!(
            "take {} away, or move its end from {} to the other side of {name}",
            circuit.edge_name(edge),
            circuit.node_name(circuit.metal.graph.ends(edge).1)
        ),
        None => format!("open the way by {}", Context::list(&chain)),
    };
    finding
        .headline(format!("current passes {name} by {}", chain.join(" – ")))
        .label(format!("at least {share} of it does not pass the shunt"))
        .number("share_percent", share.as_percent())
        .help(help)
        .figure(share.to_string(), format!("of the current, by conductance, through {}", chain.join(" – ")))
}
