//! Batteries in parallel, with or without a device each, and the metal between them.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::circuit::{EdgeKind, Source};
use crate::design::{Body, ComponentId, Id, Kind};
use crate::rules::Context;
use crate::study::{Parallel, cell_resistance, shares};
use crate::units::SLACK;

/// Batteries or strings that are joined by metal other than switches at both poles.
pub(in crate::rules) struct Group<'c> {
    pub(in crate::rules) sources: Vec<&'c Source>,
    /// Edges on some way between two of the positives, and between two of the negatives.
    pub(in crate::rules) positive: Vec<u32>,
    pub(in crate::rules) negative: Vec<u32>,
}

/// All groups of two and more, in the order of the design.
pub(in crate::rules) fn groups<'c>(cx: &Context<'c>) -> Vec<Group<'c>> {
    let circuit = cx.circuit;
    let batteries = || circuit.sources.iter().filter(|source| source.kind == Kind::Battery && !source.tap);
    // Most designs have no two batteries on one part; then nothing has to be looked for.
    let mut seen = FxHashSet::default();
    if batteries().all(|source| seen.insert(circuit.part[source.plus[0] as usize])) {
        return Vec::new();
    }
    let joins = |edge: u32| {
        !matches!(
            circuit.metal.edges[edge as usize],
            EdgeKind::Switch(_) | EdgeKind::Plug(_) | EdgeKind::Cutoff(_)
        )
    };
    let part = circuit.metal.graph.components(joins);
    let mut by_parts: FxHashMap<(u32, u32), Vec<&Source>> = FxHashMap::default();
    for source in batteries() {
        let poles = (part[source.plus[0] as usize], part[source.minus as usize]);
        by_parts.entry(poles).or_default().push(source);
    }
    let mut all: Vec<Vec<&Source>> = by_parts.into_values().filter(|group| 1 < group.len()).collect();
    for group in &mut all {
        group.sort_by_key(|source| cx.design.components[source.component].place.order);
    }
    all.sort_by_key(|group| group.first().map(|source| source.component));
    let between = |nodes: FxHashSet<u32>| {
        let mut edges: Vec<u32> = circuit.metal.between(&nodes, joins).into_iter().collect();
        edges.sort_unstable();
        edges
    };
    all.into_iter()
        .map(|sources| Group {
            positive: between(sources.iter().map(|source| source.plus[0]).collect()),
            negative: between(sources.iter().map(|source| source.minus).collect()),
            sources,
        })
        .collect()
}

impl<'c> Group<'c> {
    /// Each source's part of the group's capacity, or an even part where one is not stated.
    pub(in crate::rules) fn even(&self, cx: &Context<'_>) -> Vec<f64> {
        let own: Option<Vec<f64>> = self.sources.iter().map(|source| capacity(cx, source)).collect();
        match own {
            Some(own) if 0.0 < own.iter().sum::<f64>() => {
                let sum: f64 = own.iter().sum();
                own.iter().map(|one| one / sum).collect()
            }
            _ => vec![1.0 / self.sources.len() as f64; self.sources.len()],
        }
    }

    /// Where the thickest of what is not between the batteries leaves, in the positive or in the negative: the node, or
    /// several that are equal in this.
    pub(in crate::rules) fn takeoffs(&self, cx: &Context<'_>, positive: bool) -> Vec<u32> {
        let circuit = cx.circuit;
        let own = if positive { &self.positive } else { &self.negative };
        let inner: FxHashSet<u32> = own.iter().copied().collect();
        let mut nodes: Vec<u32> = own
            .iter()
            .flat_map(|edge| {
                let (a, b) = circuit.metal.graph.ends(*edge);
                [a, b]
            })
            .chain(self.sources.iter().map(|source| if positive { source.plus[0] } else { source.minus }))
            .collect();
        nodes.sort_unstable();
        nodes.dedup();
        let weight = |node: u32| -> f64 {
            let outer = circuit.metal.graph.at(node).iter().filter(|row| !inner.contains(&row.0));
            outer.map(|(edge, _)| thickness(cx, *edge)).sum()
        };
        let weighed: Vec<(f64, u32)> = nodes.into_iter().map(|node| (weight(node), node)).collect();
        let most = weighed.iter().map(|row| row.0).fold(0.0, f64::max);
        let thickest = weighed.into_iter().filter(|row| 0.0 < row.0 && most * (1.0 - SLACK) <= row.0);
        thickest.map(|row| row.1).collect()
    }

    /// Each source's share of what leaves at one node and comes back at another.
    pub(in crate::rules) fn shares(&self, cx: &Context<'_>, out: u32, back: u32) -> Option<Vec<f64>> {
        let circuit = cx.circuit;
        let mut number: FxHashMap<u32, u32> = FxHashMap::default();
        let mut place = |node: u32| {
            let next = number.len() as u32;
            *number.entry(node).or_insert(next)
        };
        let metal: Vec<(u32, u32, f64)> = self
            .positive
            .iter()
            .chain(&self.negative)
            .map(|edge| {
                let (a, b) = circuit.metal.graph.ends(*edge);
                (place(a), place(b), circuit.resistance(*edge).as_ohms())
            })
            .collect();
        let batteries: Option<Vec<Parallel>> = self
            .sources
            .iter()
            .map(|source| {
                let (plus, minus) = (place(source.plus[0]), place(source.minus));
                Some(Parallel { plus, minus, ohms: resistance(cx, source)? })
            })
            .collect();
        let (out, back) = (place(out), place(back));
        shares(number.len(), &metal, &batteries?, out, back)
    }

    /// Whether each battery hangs on leads of its own at both poles, so that no current of one passes another's.
    pub(in crate::rules) fn is_star(&self, cx: &Context<'_>) -> bool {
        let degrees = |edges: &[u32]| {
            let mut degree: FxHashMap<u32, u32> = FxHashMap::default();
            for edge in edges {
                let (a, b) = cx.circuit.metal.graph.ends(*edge);
                *degree.entry(a).or_default() += 1;
                *degree.entry(b).or_default() += 1;
            }
            degree
        };
        let (positive, negative) = (degrees(&self.positive), degrees(&self.negative));
        let alone =
            |degree: &FxHashMap<u32, u32>, node: u32| degree.get(&node).is_none_or(|degree| *degree < 2);
        self.sources.iter().all(|source| alone(&positive, source.plus[0]) && alone(&negative, source.minus))
    }
}

/// What an edge is made to carry, to tell the main cable from a sense lead.
fn thickness(cx: &Context<'_>, edge: u32) -> f64 {
    let circuit = cx.circuit;
    match circuit.metal.edges[edge as usize] {
        EdgeKind::Run(_) => {
            circuit.wires(edge).iter().map(|wire| circuit.ampacity[wire.index()].as_amps()).sum()
        }
        EdgeKind::Device(id) => crate::circuit::current(circuit.device_rating(id)).as_amps(),
        EdgeKind::Switch(id) | EdgeKind::Plug(id) | EdgeKind::Cutoff(id) => {
            match &cx.design.components[id].body {
                Body::Switch(switch) => switch.rating.map_or(1.0, |rating| rating.as_amps()),
                Body::Plug(rated) | Body::Cutoff(rated) => {
                    rated.rating.map_or(1.0, |rating| rating.as_amps())
                }
                _ => 1.0,
            }
        }
        EdgeKind::Shunt(id) => match &cx.design.components[id].body {
            Body::Meter(meter) => meter.full_scale.map_or(1.0, |most| most.as_amps()),
            _ => 1.0,
        },
        _ => 1.0,
    }
}

/// A battery's capacity; a string's is that of its first.
pub(in crate::rules) fn capacity(cx: &Context<'_>, source: &Source) -> Option<f64> {
    match &cx.design.components[*source.members.first()?].body {
        Body::Battery(battery) => battery.capacity.map(|capacity| capacity.as_amp_hours()),
        _ => None,
    }
}

fn resistance(cx: &Context<'_>, source: &Source) -> Option<f64> {
    let of = |id: &ComponentId| match &cx.design.components[*id].body {
        Body::Battery(battery) => cell_resistance(cx.book, battery).map(|ohms| ohms.as_ohms()),
        _ => None,
    };
    source.members.iter().map(of).sum::<Option<f64>>().filter(|ohms| 0.0 < *ohms)
}
