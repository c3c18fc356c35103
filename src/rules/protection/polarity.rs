//! `protection.polarity`: a breaker turned so that it cannot break the current that comes, or not made for DC at all.

use crate::circuit::{EdgeKind, Micro, Source, UNLIMITED, current, micro};
use crate::design::{Body, ComponentId, Id, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, example};
use crate::units::Current;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.polarity",
    severity: Severity::Warning,
    claim: "A polarised breaker has the larger fault current on its line side, and no breaker rated for AC alone breaks DC.",
    why: "The magnets of a polarised breaker drive the arc the wrong way in reverse; an AC breaker waits for a zero that never comes.",
    how: "What can arrive at each side of the breaker without it is compared. Where both are unlimited, the currents are that come through \
          it for a bolted fault right behind it, the largest as `ohmward study` computes it, from either side.",
    limits: &[],
    bad: example!("protection.polarity", bad),
    good: example!("protection.polarity", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        let EdgeKind::Device(id) = kind else { continue };
        let Body::Breaker(breaker) = &cx.design.components[*id].body else { continue };
        if breaker.ac_only {
            let mut finding = ac_only(cx, *id);
            finding.severity = Severity::Error;
            out.push(finding);
        } else if breaker.polarised {
            out.extend(polarised(cx, *id, edge as u32));
        }
    }
}

fn ac_only(cx: &Context<'_>, id: ComponentId) -> Finding {
    let name = cx.name(id);
    cx.on_component(&RULE, id)
        .headline(format!("{name} is rated for AC alone and breaks DC here"))
        .label("may not put out a DC arc")
        .help(format!("fit a breaker or fuse rated for DC at this voltage in place of {name}"))
}

fn polarised(cx: &Context<'_>, id: ComponentId, edge: u32) -> Option<Finding> {
    let circuit = cx.circuit;
    let (a, b) = circuit.metal.graph.ends(edge);
    if !circuit.is_live(a) {
        return None;
    }
    let line = cx.design.components[id].terminal(cx.design, TerminalRole::Line)?;
    let (at_a, at_b) = circuit.arriving(edge);
    let line_is_a = circuit.metal.node(line) == a;
    let ((line_node, from_line), (load_node, from_load)) =
        if line_is_a { ((a, at_a), (b, at_b)) } else { ((b, at_b), (a, at_a)) };
    let (from_line, from_load) = if UNLIMITED <= from_line && UNLIMITED <= from_load {
        (computed(cx, line_node, edge), computed(cx, load_node, edge))
    } else {
        (from_line, from_load)
    };
    if from_load <= from_line {
        return None;
    }
    let name = cx.name(id);
    let tell = |amount: Micro| {
        if UNLIMITED <= amount { "an unlimited current".into() } else { current(amount).to_string() }
    };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{name} is polarised, and the larger fault current comes from its load side"))
        .label("turned against the larger source")
        .help(format!(
            "turn {name} round, so that its line side faces {}; or fit a breaker without polarity",
            faces(cx, load_node, edge)
        ))
        .figure(tell(from_load), "can arrive at its load side")
        .figure(tell(from_line), "can arrive at its line side");
    for (key, amount) in [("line_side_a", from_line), ("load_side_a", from_load)] {
        if amount < UNLIMITED {
            finding = finding.number(key, current(amount).as_amps());
        }
    }
    Some(finding)
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let polarised = |body: &Body| matches!(body, Body::Breaker(breaker) if breaker.polarised);
    if cx.design.components.iter().any(|component| polarised(&component.body)) {
        cx.unstated_fault(out);
    }
}

/// The sources on one side of a breaker.
fn sources_beyond<'c>(cx: &Context<'c>, node: u32, without: u32) -> impl Iterator<Item = &'c Source> {
    let reached = super::side(cx, node, without);
    let sources = &cx.circuit.sources;
    sources.iter().filter(move |source| source.plus.iter().any(|plus| reached.contains(*plus)))
}

/// The first unlimited source (or else any) on one side of a breaker, by name.
fn faces(cx: &Context<'_>, node: u32, without: u32) -> String {
    sources_beyond(cx, node, without)
        .max_by_key(|source| (source.limit, std::cmp::Reverse(source.component)))
        .map_or_else(|| cx.circuit.node_name(node), |source| cx.name(source.component).into())
}

/// What comes from one side of a breaker into a fault at it, from unlimited sources.
fn computed(cx: &Context<'_>, node: u32, without: u32) -> Micro {
    let (circuit, Some(faults)) = (cx.circuit, cx.faults()) else { return 0 };
    let arms = &faults.drawn.most_arms;
    let graph = &circuit.metal.graph;
    // What is joined to that side without resistance is where the fault is.
    let joins = |edge: u32| match circuit.metal.edges[edge as usize] {
        EdgeKind::Device(_) | EdgeKind::Switch(_) | EdgeKind::Plug(_) | EdgeKind::Cutoff(_) => true,
        EdgeKind::Shunt(id) => !arms.shunt.contains_key(&id),
        _ => false,
    };
    let nodes = graph.reach(&[node], |edge, _| edge != without && joins(edge));
    let mut sum = Current::default();
    for node in nodes {
        for terminal in &circuit.metal.terminals[node as usize] {
            let id = cx.design.terminals[*terminal].component;
            let plus = cx.design.components[id].terminal(cx.design, TerminalRole::Plus);
            if plus == Some(*terminal) {
                sum = sum + arms.source.get(&id).copied().unwrap_or_default();
            }
        }
        for (edge, _) in graph.at(node) {
            let end = |first: u32| usize::from(first != node);
            for wire in circuit.wires(*edge) {
                sum = sum + arms.wire[wire.index()][end(circuit.wire_nodes(*wire).0)];
            }
            if let EdgeKind::Shunt(id) = circuit.metal.edges[*edge as usize]
                && let (Some(ends), Some(bat)) =
                    (arms.shunt.get(&id), cx.design.components[id].terminal(cx.design, TerminalRole::Bat))
            {
                sum = sum + ends[end(circuit.metal.node(bat))];
            }
        }
    }
    micro(sum)
}
