//! `conductor.unequal`: conductors in parallel that do not share evenly.

use crate::book::ShareLimit;
use crate::circuit::EdgeKind;
use crate::design::WireId;
use crate::findings::{Finding, Severity};
use crate::rules::battery::parallel::{Group, groups};
use crate::rules::{Context, Rule, example};
use crate::units::{Resistance, Share};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "conductor.unequal",
    severity: Severity::Warning,
    claim: "Conductors in parallel, and the leads of batteries in parallel, are of equal resistance.",
    why: "The shorter or thicker one takes more than its part, and ages or heats first.",
    how: "Wires side by side between the same two nodes are compared, and, where every battery of a bank has leads of its own at both \
          poles, the leads of each battery to where they meet: positive and negative together, contacts included. The largest resistance \
          may exceed the smallest by `share.spread`. A bank whose batteries hang on one another is judged by `battery.takeoff`.",
    limits: &["share.spread"],
    bad: example!("conductor.unequal", bad),
    good: example!("conductor.unequal", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        if let EdgeKind::Run(_) = kind {
            let wires = cx.circuit.wires(edge as u32);
            if 1 < wires.len() {
                out.extend(side_by_side(cx, wires));
            }
        }
    }
    for group in groups(cx).iter().filter(|group| group.is_star(cx)) {
        out.extend(leads(cx, group));
    }
}

/// Wires between the same two nodes.
fn side_by_side(cx: &Context<'_>, wires: &[WireId]) -> Option<Finding> {
    let ohms = |wire: WireId| cx.circuit.joined_resistance(wire).as_ohms();
    let share = |wire: WireId| cx.circuit.share(wire);
    let most =
        wires.iter().copied().reduce(|best, next| if ohms(best) < ohms(next) { next } else { best })?;
    let least =
        wires.iter().copied().reduce(|best, next| if ohms(next) < ohms(best) { next } else { best })?;
    let spread = Share::ratio(ohms(most) / ohms(least) - 1.0);
    if spread.within(cx.book.share(ShareLimit::Spread)) {
        return None;
    }
    // What would have to change is whichever was laid last.
    let order = |wire: &WireId| cx.design.wires[*wire].place.order;
    let subject = if order(&most) < order(&least) { least } else { most };
    let model = if subject == most { least } else { most };
    let (name, like) = (cx.wire_name(subject), &cx.design.wires[model]);
    let mut finding = cx
        .on_wire(&RULE, subject)
        .headline(format!(
            "{name} carries {} of what {} wires side by side carry, and {} carries {}",
            Share::ratio(share(subject)),
            wires.len(),
            like.name,
            Share::ratio(share(model))
        ))
        .label(Resistance::ohms(ohms(subject)).to_string())
        .related(like.name.clone(), cx.wire_span(model), Resistance::ohms(ohms(model)).to_string());
    finding = finding
        .number("share_percent", 100.0 * share(subject))
        .number("spread_percent", spread.as_percent())
        .number("limit_percent", cx.book.share(ShareLimit::Spread).as_percent())
        .help(format!("make {name} {} of {}, like {}", like.length, like.size, like.name))
        .figure(spread.to_string(), "between the largest and the smallest resistance, contacts included");
    Some(cx.limit_figure(finding, "share.spread"))
}

/// The leads of batteries that meet at bars.
fn leads(cx: &Context<'_>, group: &Group<'_>) -> Option<Finding> {
    let circuit = cx.circuit;
    let (out, back) = (group.takeoffs(cx, true), group.takeoffs(cx, false));
    if out.is_empty() || back.is_empty() {
        return None;
    }
    let ways: Vec<Vec<u32>> = group
        .sources
        .iter()
        .map(|source| {
            let mut way = lead(cx, &group.positive, source.plus[0], &out);
            way.extend(lead(cx, &group.negative, source.minus, &back));
            way
        })
        .collect();
    let ohms: Vec<f64> =
        ways.iter().map(|way| way.iter().map(|edge| circuit.resistance(*edge).as_ohms()).sum()).collect();
    let most = (0..ohms.len()).reduce(|best, next| if ohms[best] < ohms[next] { next } else { best })?;
    let least = (0..ohms.len()).reduce(|best, next| if ohms[next] < ohms[best] { next } else { best })?;
    if ohms[least] <= 0.0 {
        return None;
    }
    let spread = Share::ratio(ohms[most] / ohms[least] - 1.0);
    if spread.within(cx.book.share(ShareLimit::Spread)) {
        return None;
    }
    let heaviest = |way: &[u32]| {
        let wires = way.iter().flat_map(|edge| circuit.wires(*edge)).copied();
        let by = |wire: WireId| circuit.joined_resistance(wire).as_ohms();
        wires.reduce(|best, next| if by(best) < by(next) { next } else { best })
    };
    let subject = heaviest(&ways[most])?;
    let (long, short) = (group.sources[most].component, group.sources[least].component);
    let told = |at: usize| Resistance::ohms(ohms[at]).to_string();
    let finding = cx
        .on_wire(&RULE, subject)
        .headline(format!(
            "the leads of {} have {}, those of {} beside it {}",
            cx.name(long),
            told(most),
            cx.name(short),
            told(least)
        ))
        .label(format!("the larger part of the leads of {}", cx.name(long)))
        .related(cx.name(short), cx.span(short), format!("its leads have {}", told(least)))
        .number("spread_percent", spread.as_percent())
        .number("limit_percent", cx.book.share(ShareLimit::Spread).as_percent())
        .help(format!(
            "give {} and {} leads of equal length and size, positive and negative together; a lead that is too long may lie in \
             a loop",
            cx.name(long),
            cx.name(short)
        ))
        .figure(spread.to_string(), "between the largest and the smallest resistance of a battery's leads, contacts included");
    Some(cx.limit_figure(finding, "share.spread"))
}

/// The edges from a battery's pole to where its lead meets others, or to where the load leaves.
fn lead(cx: &Context<'_>, edges: &[u32], pole: u32, ends: &[u32]) -> Vec<u32> {
    let graph = &cx.circuit.metal.graph;
    let own = |node: u32| graph.at(node).iter().filter(|row| edges.binary_search(&row.0).is_ok());
    let mut way = Vec::new();
    let (mut at, mut from) = (pole, None);
    // A lead ends where it meets others, and is never longer than the metal between the batteries.
    while !ends.contains(&at) && way.len() < edges.len() {
        let mut next = own(at).filter(|row| Some(row.0) != from);
        let (Some((edge, to)), None) = (next.next(), next.next()) else { break };
        way.push(*edge);
        (at, from) = (*to, Some(*edge));
    }
    way
}
