//! `plug.exposed`: bare pins that stay live when a plug is apart.

use std::collections::BTreeMap;

use rustc_hash::FxHashSet;

use crate::circuit::{EdgeKind, Micro, Nodes, UNLIMITED, current, micro};
use crate::design::{Body, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::Current;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "plug.exposed",
    severity: Severity::Error,
    claim: "When a plug is apart, its bare pins are dead, or behind a device of at most the plug's rating.",
    why: "A key, a tool or wet ground across live pins draws all that a battery gives, where hands are.",
    how: "The plug is taken apart and `b`, its side with bare pins, is looked at: whether an unlimited source still reaches it, and whether \
          every way from there passes a device of at most the plug's rating. A plug that states no rating is judged where no device at all is \
          on some way.",
    limits: &[],
    bad: example!("plug.exposed", bad),
    good: example!("plug.exposed", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    // Plugs whose pins get more than their rating, by rating; those without any device on some way are plain already.
    let mut doubtful: BTreeMap<Micro, Vec<u32>> = BTreeMap::new();
    let mut exposed: Vec<(ComponentId, u32, u32, Option<Current>)> = Vec::new();
    for plug in plugs(cx) {
        let arriving = circuit.arriving(plug.1).1;
        match plug.3.map(micro) {
            _ if UNLIMITED <= arriving => exposed.push(plug),
            Some(rating) if rating < arriving => doubtful.entry(rating).or_default().push(plug.1),
            _ => {}
        }
    }
    let mut reached = FxHashSet::default();
    // Plugs have few ratings; only a design that makes them up has more.
    const RATINGS: usize = 32;
    for (n, (rating, edges)) in doubtful.into_iter().enumerate() {
        if n < RATINGS || circuit.may_look() {
            reached.extend(reached_past(cx, rating, &edges));
        }
    }
    exposed.extend(plugs(cx).filter(|plug| reached.contains(&plug.1)));
    exposed.sort_unstable_by_key(|plug| plug.0);
    for (id, edge, pins, rating) in exposed {
        out.push(finding(cx, id, edge, pins, rating, circuit.arriving(edge).1));
    }
}

/// Of some plugs, those whose pins an unlimited source reaches, the plug apart, past devices larger than `limit` alone.
fn reached_past(cx: &Context<'_>, limit: Micro, plugs: &[u32]) -> Vec<u32> {
    let circuit = cx.circuit;
    let graph = &circuit.metal.graph;
    let passes = |edge: u32| match circuit.metal.edges[edge as usize] {
        EdgeKind::Device(id) => limit < circuit.device_rating(id),
        _ => true,
    };
    let unlimited = || circuit.banks.iter().flatten().map(|at| &circuit.sources[*at]);
    let mut at = vec![[0_u64; 1]; graph.n_nodes()];
    for plus in unlimited().flat_map(|source| &source.plus) {
        at[*plus as usize][0] += 1;
    }
    let blocks = graph.blocks(passes);
    let part = graph.components(passes);
    let sides = blocks.sides(graph, &part, &at);
    circuit.look(2 * graph.n_nodes() + graph.n_edges());
    let live: FxHashSet<u32> =
        unlimited().flat_map(|source| &source.plus).map(|plus| part[*plus as usize]).collect();
    // A cutoff carries one way only; where there are some, each plug is walked from.
    let one_way = circuit.metal.edges.iter().any(|kind| matches!(kind, EdgeKind::Cutoff(_)));
    let is_reached = |edge: u32| {
        let (_, pins) = graph.ends(edge);
        if blocks.is_bridge(edge) && sides[edge as usize].1 == [0] || !live.contains(&part[pins as usize]) {
            return false;
        }
        if !one_way || !circuit.may_look() {
            return true;
        }
        let nodes = reaching(cx, edge, pins, limit);
        unlimited().any(|source| source.plus.iter().any(|plus| nodes.contains(*plus)))
    };
    plugs.iter().copied().filter(|edge| is_reached(*edge)).collect()
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let open = |row: &(ComponentId, u32, u32, Option<Current>)| {
        let arriving = cx.circuit.arriving(row.1).1;
        row.3.is_none() && 0 < arriving && arriving < UNLIMITED
    };
    out.add_all("A", Without::NotJudged, plugs(cx).filter(open).map(|row| row.0));
}

/// Live plugs, with the node of their bare pins and their ratings.
fn plugs<'c>(cx: &Context<'c>) -> impl Iterator<Item = (ComponentId, u32, u32, Option<Current>)> + use<'c> {
    let (design, circuit) = (cx.design, cx.circuit);
    circuit.metal.edges.iter().enumerate().filter_map(move |(edge, kind)| {
        let EdgeKind::Plug(id) = kind else { return None };
        let pins = circuit.metal.graph.ends(edge as u32).1;
        let Body::Plug(plug) = &design.components[*id].body else { return None };
        circuit.is_live(pins).then_some((*id, edge as u32, pins, plug.rating))
    })
}

/// Nodes from which current comes to the pins, without the plug and without devices of at most `limit`.
fn reaching(cx: &Context<'_>, edge: u32, pins: u32, limit: Micro) -> Nodes {
    let circuit = cx.circuit;
    let (nodes, reached) =
        circuit.metal.graph.spread(&[pins], |other, node| match circuit.metal.edges[other as usize] {
            _ if other == edge => false,
            EdgeKind::Device(id) => limit < circuit.device_rating(id),
            EdgeKind::Cutoff(_) => circuit.metal.graph.ends(other).1 == node,
            _ => true,
        });
    circuit.look(nodes.len());
    reached
}

/// The unlimited source that keeps pins live, and whether the plug's other side is dead when it is apart.
fn who(cx: &Context<'_>, edge: u32, pins: u32) -> (Option<ComponentId>, bool) {
    let circuit = cx.circuit;
    if !circuit.may_look() {
        return (None, false);
    }
    let unlimited = |pins: u32| {
        let reached = reaching(cx, edge, pins, 0);
        let banks = circuit.banks.iter().flatten().map(|at| &circuit.sources[*at]);
        banks
            .filter(|source| source.plus.iter().any(|plus| reached.contains(*plus)))
            .map(|source| source.component)
            .next()
    };
    let other = circuit.metal.graph.other(edge, pins);
    (unlimited(pins), unlimited(other).is_none())
}

fn finding(
    cx: &Context<'_>,
    id: ComponentId,
    edge: u32,
    pins: u32,
    rating: Option<Current>,
    arriving: Micro,
) -> Finding {
    let name = cx.name(id);
    let (source, can_turn) = who(cx, edge, pins);
    let limited = (arriving < UNLIMITED).then(|| current(arriving));
    let what = match limited {
        Some(most) => format!("behind devices that let {most} through"),
        None => "with no device ahead of them".into(),
    };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("apart, the bare pins of {name} stay live, {what}"))
        .label("`b`, the side with bare pins, stays live when this is apart");
    if let Some(source) = source {
        finding = finding
            .related(cx.name(source), cx.span(source), cx.push(source))
            .text("source", cx.name(source));
    }
    let device = rating.map(|rating| {
        format!(
            "put a device of {rating} or less, what {name} is rated for, ahead of {}",
            cx.circuit.node_name(pins)
        )
    });
    let help = match (can_turn, device) {
        (true, Some(device)) => {
            format!("turn {name} round, so that its bare pins are on the dead side; or {device}")
        }
        (true, None) => format!("turn {name} round, so that its bare pins are on the dead side"),
        (false, Some(device)) => {
            format!("{device}; or use a connector that covers the contacts of both sides")
        }
        (false, None) => format!(
            "protect {} near its source, and state what {name} is rated for",
            cx.circuit.node_name(pins)
        ),
    };
    if let Some(rating) = rating {
        finding = finding
            .number("rating_a", rating.as_amps())
            .figure(rating.to_string(), format!("rating of {name}: a device of at most this makes it safe"));
    }
    if let Some(most) = limited {
        finding = finding
            .number("let_through_a", most.as_amps())
            .figure(most.to_string(), "can reach the pins before anything opens (maximum flow)");
    }
    finding.help(help)
}
