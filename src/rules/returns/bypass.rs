//! `return.bypass`: the return has a loop, so that current can come back by a way that was not meant for it.

use crate::book::WordLimit;
use crate::circuit::EdgeKind;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::{Current, Share};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "return.bypass",
    severity: Severity::Error,
    claim: "Return current has one way back: the return graph has no loop.",
    why: "Current divides by conductance, not by intent: a chassis, a data lead or a thin bond takes its share, and meters miss it.",
    how: "The return graph without the meters' shunts is cut into the parts in which any two edges lie on a common loop. It is an error where a \
          data lead lies in the loop, or a conductor of less ampacity than the largest return wire at the battery's negative; a warning otherwise.",
    limits: &["return.bypass.data-lead", "return.bypass.thinner", "return.bypass.other"],
    bad: example!("return.bypass", bad),
    good: example!("return.bypass", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let in_return = |edge: u32| {
        !matches!(circuit.metal.edges[edge as usize], EdgeKind::Shunt(_))
            && circuit.is_return(circuit.metal.graph.ends(edge).0)
    };
    let blocks = circuit.metal.graph.blocks(in_return);
    let mut loops: Vec<&[u32]> =
        blocks.all.iter().map(|block| block.edges.as_slice()).filter(|edges| 1 < edges.len()).collect();
    loops.sort_by_key(|edges| edges.first().copied());
    for edges in loops {
        out.extend(finding(cx, edges));
    }
}

fn finding(cx: &Context<'_>, edges: &[u32]) -> Option<Finding> {
    let circuit = cx.circuit;
    let inside: rustc_hash::FxHashSet<u32> = edges.iter().copied().collect();
    let (closing, mut finding) = match cx.last_wire(edges) {
        Some(wire) => (circuit.edge(wire)?, cx.on_wire(&RULE, wire)),
        None => {
            let last = cx.last_component(edges)?;
            let edge = edges
                .iter()
                .copied()
                .find(|edge| circuit.metal.edges[*edge as usize].component() == Some(last));
            (edge.unwrap_or(edges[0]), cx.on_component(&RULE, last))
        }
    };
    let (a, b) = circuit.metal.graph.ends(closing);
    // Of equally short ways the same is told whichever end of the wire is written first.
    let mut way =
        circuit.metal.graph.path(a.max(b), a.min(b), |edge| edge != closing && inside.contains(&edge))?;
    if b < a {
        way.reverse();
    }
    let own = circuit.resistance(closing).as_ohms();
    let around: f64 = way.iter().map(|edge| circuit.resistance(*edge).as_ohms()).sum();
    let (share, other) = (Share::ratio(around / (own + around)), Share::ratio(own / (own + around)));
    let name = finding.subject.clone();
    let chain = cx.chain(&way);
    let mut names = vec![circuit.edge_name(closing)];
    names.extend(chain.iter().cloned());
    let (from, to) = (circuit.node_name(a), circuit.node_name(b));
    let has_data = edges.iter().any(|edge| matches!(circuit.metal.edges[*edge as usize], EdgeKind::Data(_)));
    let thin = thin_conductor(cx, edges);
    let word = match (has_data, &thin) {
        (true, _) => WordLimit::BypassDataLead,
        (false, Some(_)) => WordLimit::BypassThinner,
        (false, None) => WordLimit::BypassOther,
    };
    if cx.book.rule(RULE.id).severity.is_none() {
        finding.severity = cx.book.bypass_severity(word)?;
        finding = cx.memory_figure(finding, word.name());
    }
    finding = cx.along(finding, &way, "another part of the loop", |edge| {
        format!("the loop runs by {}", circuit.edge_name(edge))
    });
    let help = remedy(cx, edges, &name);
    let mut finding = finding
        .headline(format!("{name} closes a loop in the return: {}", names.join(" – ")))
        .label(format!("takes {share} of what passes between {from} and {to}"))
        .texts("loop", names)
        .number("share_percent", share.as_percent())
        .help(help)
        .figure(share.to_string(), format!("through {}, by conductance", circuit.edge_name(closing)))
        .figure(other.to_string(), format!("through {}", chain.join(" – ")));
    if let Some((thin, ampacity, largest)) = thin {
        finding = finding
            .figure(ampacity.to_string(), format!("ampacity of {thin}, in the loop"))
            .figure(largest.to_string(), "ampacity of the largest return wire at the battery's negative");
    }
    Some(finding)
}

/// What opens the loop without taking anybody's return away: the data lead, else the wire that joins a chassis once more,
/// else one of a common charger's two negatives, else the wire that closes it.
fn remedy(cx: &Context<'_>, edges: &[u32], name: &str) -> String {
    let circuit = cx.circuit;
    let lead = edges.iter().find_map(|edge| match circuit.metal.edges[*edge as usize] {
        EdgeKind::Data(id) => Some(cx.design.data[id].name.as_str()),
        _ => None,
    });
    if let Some(lead) = lead {
        return format!(
            "use an isolated data lead for {lead}: the wires of the loop stay, they are the returns"
        );
    }
    let ends = |edge: u32| circuit.metal.graph.ends(edge);
    let is_chassis = |node: u32| {
        circuit.metal.terminals[node as usize].iter().any(|terminal| {
            cx.design.components[cx.design.terminals[*terminal].component].kind
                == crate::design::Kind::Chassis
        })
    };
    let at_chassis: Vec<u32> =
        edges.iter().copied().filter(|edge| is_chassis(ends(*edge).0) || is_chassis(ends(*edge).1)).collect();
    if let Some(wire) = cx.last_wire(&at_chassis) {
        return format!("take {} away: one way to the chassis is enough", cx.wire_name(wire));
    }
    let common = edges.iter().find_map(|edge| match circuit.metal.edges[*edge as usize] {
        EdgeKind::Common(id) => Some((id, ends(*edge))),
        _ => None,
    });
    if let Some((charger, (a, b))) = common {
        let beside: Vec<u32> = edges
            .iter()
            .copied()
            .filter(|edge| [a, b].iter().any(|node| ends(*edge).0 == *node || ends(*edge).1 == *node))
            .collect();
        if let Some(wire) = cx.last_wire(&beside) {
            return format!(
                "take {} away: in- and out- of {} are one inside, and one of them wired is enough",
                cx.wire_name(wire),
                cx.name(charger)
            );
        }
    }
    format!("take {name} away: one way back is enough")
}

/// A conductor in the loop of less ampacity than the largest return wire at the battery's negative: its name, its
/// ampacity and the other's.
fn thin_conductor(cx: &Context<'_>, edges: &[u32]) -> Option<(String, Current, Current)> {
    let circuit = cx.circuit;
    let part = circuit.part[circuit.metal.graph.ends(edges[0]).0 as usize];
    let total = |edge: u32| circuit.wires(edge).iter().map(|wire| cx.ampacity(*wire)).sum::<Current>();
    let largest = circuit
        .sources
        .iter()
        .filter(|source| {
            source.kind == crate::design::Kind::Battery && circuit.part[source.minus as usize] == part
        })
        .flat_map(|source| circuit.metal.graph.at(source.minus))
        .map(|(edge, _)| total(*edge))
        .reduce(Current::max)?;
    edges
        .iter()
        .filter(|edge| !circuit.wires(**edge).is_empty())
        .map(|edge| (*edge, total(*edge)))
        .filter(|(_, ampacity)| !largest.within(*ampacity))
        .reduce(|least, next| if next.1 < least.1 { next } else { least })
        .map(|(edge, ampacity)| (circuit.edge_name(edge), ampacity, largest))
}
