//! `meter.bypassed`: current has a way around a meter's shunt.

use crate::circuit::{EdgeKind, MeterView};
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
    studies: false,
    unstated: None,
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
    let core = core(cx, view, around);
    let chain = cx.chain(core);
    finding = cx.along(finding, core, "part of the way around", |_| "part of the way around".into());
    let sum = |edges: &[u32]| -> f64 { edges.iter().map(|edge| circuit.resistance(*edge).as_ohms()).sum() };
    let own = sum(around) - sum(core) + view.shunt.map_or(0.0, |edge| circuit.resistance(edge).as_ohms());
    let share = Share::ratio(own / (own + sum(core)));
    let help = remedy(cx, core, name);
    finding
        .headline(format!("current passes {name} by {}", chain.join(" – ")))
        .label(format!("{share} of it does not pass the shunt"))
        .number("share_percent", share.as_percent())
        .help(help)
        .figure(share.to_string(), format!("of the current, by conductance, through {}", chain.join(" – ")))
}

/// The way around without the meter's own leads: what lies beside them and the shunt.
fn core<'w>(cx: &Context<'_>, view: &MeterView, around: &'w [u32]) -> &'w [u32] {
    let circuit = cx.circuit;
    let graph = &circuit.metal.graph;
    let Some(shunt) = view.shunt else { return around };
    let (bat, sys) = graph.ends(shunt);
    let is_lead = |node: u32, edge: u32| {
        let ways = graph.at(node).iter().filter(|(other, _)| *other != shunt && *other != edge);
        let poles = circuit.metal.terminals[node as usize]
            .iter()
            .any(|terminal| cx.design.terminals[*terminal].component != view.meter);
        ways.count() == 0 && !poles
    };
    let mut core = around;
    // The way runs from the `bat` side to the `sys` side; the shunt's ends may be numbered either way.
    let starts_at = |node: u32| {
        around.first().is_some_and(|edge| graph.ends(*edge).0 == node || graph.ends(*edge).1 == node)
    };
    let (first, last) = if starts_at(bat) { (bat, sys) } else { (sys, bat) };
    if let [edge, rest @ ..] = core
        && !rest.is_empty()
        && is_lead(first, *edge)
    {
        core = rest;
    }
    if let [rest @ .., edge] = core
        && !rest.is_empty()
        && is_lead(last, *edge)
    {
        core = rest;
    }
    core
}

/// What closes the way around without taking a return away.
fn remedy(cx: &Context<'_>, core: &[u32], meter: &str) -> String {
    let circuit = cx.circuit;
    for edge in core {
        if let EdgeKind::Data(id) = circuit.metal.edges[*edge as usize] {
            return format!("use an isolated data lead for {}", cx.design.data[id].name);
        }
    }
    let common =
        core.iter().position(|edge| matches!(circuit.metal.edges[*edge as usize], EdgeKind::Common(_)));
    let candidates: &[u32] = match common {
        Some(at) => &core[at.saturating_sub(1)..(at + 2).min(core.len())],
        None => core,
    };
    match cx.last_wire(candidates) {
        Some(wire) if common.is_some() => {
            format!(
                "take {} away: a charger with a common negative is wired at one of them alone",
                cx.wire_name(wire)
            )
        }
        Some(wire) => format!(
            "take {} away, or move one of its ends so that both lie on the same side of {meter}",
            cx.wire_name(wire)
        ),
        None => format!("open the way by {}", Context::list(&cx.chain(core))),
    }
}
