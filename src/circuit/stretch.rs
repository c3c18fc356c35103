//! Unprotected stretches: what an unlimited source feeds before any protective device.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::design::ComponentId;
use crate::units::Length;

use super::Circuit;
use super::flow::{Micro, UNLIMITED};
use super::graph::{Multigraph, NONE};
use super::metal::EdgeKind;

/// Where stretches start: an unlimited source, a bank of them, or the feed of a starter.
#[derive(Debug, Clone)]
pub(crate) struct Origin {
    /// The component that is named.
    pub(crate) component: ComponentId,
    /// Its positive nodes, or those of the cranking feed.
    pub(crate) nodes: Vec<u32>,
    /// Held to the distances of a battery.
    pub(crate) battery: bool,
    /// A cranking feed's nodes, not the battery's own terminal.
    pub(crate) cranking: bool,
}

/// One edge's place on the stretch of one origin.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Hit {
    pub(crate) edge: u32,
    /// Number of the origin.
    pub(crate) origin: u32,
    /// From the origin to the nearer end.
    pub(crate) near: Length,
    /// Every wire on the way to there is sheathed.
    pub(crate) sheathed: bool,
    /// Some protective device follows.
    pub(crate) followed: bool,
    /// Sum of the ratings of the devices that follow.
    pub(crate) devices: Micro,
    /// Sum of the limited sources that join beyond it.
    pub(crate) joining: Micro,
    /// Between the positives of a bank, by wires of at most the book's link.
    pub(crate) link: bool,
}

/// Every hit, by edge, each edge's in order of origins.
pub(crate) fn find(circuit: &Circuit<'_>, origins: &[Origin]) -> FxHashMap<u32, Vec<Hit>> {
    let mut scratch = Scratch::new(circuit);
    let mut hits: FxHashMap<u32, Vec<Hit>> = FxHashMap::default();
    for (number, origin) in origins.iter().enumerate() {
        for hit in zone(circuit, number as u32, origin, &mut scratch) {
            if !circuit.links.contains(&hit.edge) {
                keep(circuit, hits.entry(hit.edge).or_default(), hit);
            }
        }
    }
    hits
}

/// Node numbers within a zone, reused.
struct Scratch {
    local: Vec<u32>,
    /// Limited sources by node of their positive.
    limited: FxHashMap<u32, Micro>,
    /// Protected supplies by node of their positive.
    fused: FxHashMap<u32, (u32, Micro)>,
}

impl Scratch {
    fn new(circuit: &Circuit<'_>) -> Self {
        let mut scratch = Self {
            local: vec![NONE; circuit.metal.n_nodes],
            limited: FxHashMap::default(),
            fused: FxHashMap::default(),
        };
        for source in &circuit.sources {
            for plus in &source.plus {
                if source.fused {
                    let row = scratch.fused.entry(*plus).or_default();
                    row.0 += 1;
                    row.1 += source.limit;
                } else if source.limit < UNLIMITED {
                    *scratch.limited.entry(*plus).or_default() += source.limit;
                }
            }
        }
        scratch
    }
}

/// What lies at or below a node of a zone.
#[derive(Debug, Clone, Copy, Default)]
struct Weight {
    n_devices: u32,
    devices: Micro,
    joining: Micro,
    n_origins: u32,
}

impl Weight {
    fn add(&mut self, other: Self) {
        self.n_devices += other.n_devices;
        self.devices += other.devices;
        self.joining += other.joining;
        self.n_origins += other.n_origins;
    }
}

/// Whether an edge can be passed from its first end, or else from its second: a cutoff only from its line side.
fn leaves(circuit: &Circuit<'_>, edge: u32, from_first: bool) -> bool {
    from_first || !matches!(circuit.metal.edges[edge as usize], EdgeKind::Cutoff(_))
}

/// The hits of wires with both ends on one node, by that node.
pub(crate) fn idle(circuit: &Circuit<'_>) -> FxHashMap<u32, Vec<Hit>> {
    let mut hits: FxHashMap<u32, Vec<Hit>> = FxHashMap::default();
    if circuit.metal.idle.is_empty() {
        return hits;
    }
    let mut scratch = Scratch::new(circuit);
    for (number, origin) in circuit.origins.iter().enumerate() {
        let zone = Zone::new(circuit, origin, &mut scratch);
        for (at, node) in zone.nodes.iter().enumerate() {
            if circuit.metal.idle.contains_key(node) {
                let hit = Hit {
                    edge: NONE,
                    origin: number as u32,
                    near: Length::metres(zone.distance[at]),
                    sheathed: zone.sheathed[at],
                    followed: false,
                    devices: 0,
                    joining: 0,
                    link: false,
                };
                keep(circuit, hits.entry(*node).or_default(), hit);
            }
        }
    }
    hits
}

/// Adds a hit, unless there are many and one of the last differs from it in nothing but the source: where thousands of
/// batteries feed one bar, what the first of them say of a wire the others would only say again.
fn keep(circuit: &Circuit<'_>, hits: &mut Vec<Hit>, hit: Hit) {
    let same = |other: &Hit| {
        let battery = |hit: &Hit| circuit.origins[hit.origin as usize].battery;
        battery(other) == battery(&hit)
            && other.near == hit.near
            && (other.sheathed, other.followed, other.link) == (hit.sheathed, hit.followed, hit.link)
            && (other.devices, other.joining) == (hit.devices, hit.joining)
    };
    const MANY: usize = 8;
    if hits.len() < MANY || !hits.iter().rev().take(MANY).any(same) {
        hits.push(hit);
    }
}

/// Whether a stretch runs on over an edge, away from `node`.
pub(crate) fn passes(circuit: &Circuit<'_>, edge: u32, node: u32) -> bool {
    match circuit.metal.edges[edge as usize] {
        EdgeKind::Device(_) => false,
        EdgeKind::Cutoff(_) => circuit.metal.graph.ends(edge).0 == node,
        EdgeKind::Run(_) => !(circuit.cranking_restarts && circuit.is_cranking(edge)),
        _ => true,
    }
}

/// All that an origin reaches before a device.
struct Zone {
    nodes: Vec<u32>,
    edges: Vec<u32>,
    /// The zone's own graph: its nodes and edges by position.
    inner: Multigraph,
    weight: Vec<Weight>,
    distance: Vec<f64>,
    sheathed: Vec<bool>,
}

impl Zone {
    fn new(circuit: &Circuit<'_>, origin: &Origin, scratch: &mut Scratch) -> Self {
        let graph = &circuit.metal.graph;
        let nodes = graph.reach(&origin.nodes, |edge, node| passes(circuit, edge, node));
        for (at, node) in nodes.iter().enumerate() {
            scratch.local[*node as usize] = at as u32;
        }
        let mut edges = Vec::new();
        let mut weight = vec![Weight::default(); nodes.len()];
        for (at, node) in nodes.iter().enumerate() {
            for (edge, other) in graph.at(*node) {
                let inside = scratch.local[*other as usize] != NONE;
                match circuit.metal.edges[*edge as usize] {
                    EdgeKind::Device(_) if !inside => {
                        weight[at].n_devices += 1;
                        weight[at].devices += circuit.metal.capacity(circuit.design, *edge).forth;
                    }
                    EdgeKind::Device(_) => {}
                    _ if inside
                        && passes(circuit, *edge, *node)
                        && (node < other || !passes(circuit, *edge, *other)) =>
                    {
                        edges.push(*edge);
                    }
                    _ => {}
                }
            }
            if let Some((n, rating)) = scratch.fused.get(node) {
                weight[at].n_devices += n;
                weight[at].devices += rating;
            }
            weight[at].joining += scratch.limited.get(node).copied().unwrap_or(0);
        }
        for node in &origin.nodes {
            weight[scratch.local[*node as usize] as usize].n_origins += 1;
        }
        let ends: Vec<(u32, u32)> = edges
            .iter()
            .map(|edge| {
                let (a, b) = graph.ends(*edge);
                (scratch.local[a as usize], scratch.local[b as usize])
            })
            .collect();
        for node in &nodes {
            scratch.local[*node as usize] = NONE;
        }
        let inner = Multigraph::new(nodes.len(), ends);
        let (distance, sheathed) = distances(circuit, &inner, &edges, origin.nodes.len());
        Self { nodes, edges, inner, weight, distance, sheathed }
    }
}

fn zone(circuit: &Circuit<'_>, number: u32, origin: &Origin, scratch: &mut Scratch) -> Vec<Hit> {
    let Zone { edges, inner, weight, distance, sheathed, .. } = Zone::new(circuit, origin, scratch);
    let one_way = edges.iter().any(|edge| matches!(circuit.metal.edges[*edge as usize], EdgeKind::Cutoff(_)));
    let followed = one_way
        .then(|| follow_one_way(circuit, &inner, &edges, &weight, origin.nodes.len()))
        .flatten()
        .unwrap_or_else(|| follow(&inner, &weight));
    let links = links(circuit, origin, &edges);
    edges
        .iter()
        .enumerate()
        .map(|(at, edge)| {
            let (a, b) = inner.ends(at as u32);
            let near = if distance[a as usize] <= distance[b as usize] { a } else { b };
            let nearest = distance[near as usize];
            let beyond = followed[at];
            Hit {
                edge: *edge,
                origin: number,
                near: Length::metres(nearest),
                sheathed: [a, b]
                    .iter()
                    .all(|end| nearest < distance[*end as usize] || sheathed[*end as usize]),
                followed: 0 < beyond.n_devices,
                devices: beyond.devices,
                joining: beyond.joining,
                link: links.contains(edge),
            }
        })
        .collect()
}

/// What lies beyond each edge, as seen from the origins: a block's edges lie on a simple path from where it is entered to every
/// other node of it, and on to all that hangs there.
fn follow(graph: &Multigraph, weight: &[Weight]) -> Vec<Weight> {
    let blocks = graph.blocks(|_| true);
    let mut below = weight.to_vec();
    let mut of_block = Vec::with_capacity(blocks.all.len());
    for block in &blocks.all {
        let mut sum = Weight::default();
        for node in block.nodes.iter().skip(1) {
            sum.add(below[*node as usize]);
        }
        below[block.nodes[0] as usize].add(sum);
        of_block.push(sum);
    }
    // Origins come first, so the first node of each part of the zone is one, and its tree's root; with a second origin
    // below, all of the part follows.
    let part = graph.components(|_| true);
    let mut total: Vec<Weight> = Vec::new();
    for (node, part) in part.iter().enumerate() {
        if *part as usize == total.len() {
            total.push(below[node]);
        }
    }
    (0..graph.n_edges() as u32)
        .map(|edge| match of_block.get(blocks.of_edge[edge as usize] as usize) {
            Some(beyond) if 0 < beyond.n_origins => total[part[graph.ends(edge).0 as usize] as usize],
            Some(beyond) => *beyond,
            None => Weight::default(),
        })
        .collect()
}

/// The same where a cutoff lets a way run in one direction only: every simple way is walked. `None` where there are too many.
fn follow_one_way(
    circuit: &Circuit<'_>,
    graph: &Multigraph,
    edges: &[u32],
    weight: &[Weight],
    n_origins: usize,
) -> Option<Vec<Weight>> {
    const MOST_STEPS: u32 = 200_000;
    let mut ends: Vec<FxHashSet<u32>> = vec![FxHashSet::default(); edges.len()];
    let mut steps = 0;
    for origin in 0..n_origins as u32 {
        let mut way: Vec<u32> = Vec::new();
        let mut on_way = vec![false; graph.n_nodes()];
        on_way[origin as usize] = true;
        let mut stack = vec![(origin, 0_usize)];
        while let Some((node, position)) = stack.last_mut() {
            steps += 1;
            if MOST_STEPS < steps {
                return None;
            }
            let node = *node;
            let Some((at, next)) = graph.at(node).get(*position).copied() else {
                on_way[node as usize] = false;
                way.pop();
                stack.pop();
                continue;
            };
            *position += 1;
            let leaves = leaves(circuit, edges[at as usize], graph.ends(at).0 == node);
            if !leaves || on_way[next as usize] {
                continue;
            }
            on_way[next as usize] = true;
            way.push(at);
            stack.push((next, 0));
            let weight = &weight[next as usize];
            if 0 < weight.n_devices || 0 < weight.joining {
                for edge in &way {
                    ends[*edge as usize].insert(next);
                }
            }
        }
    }
    let sum = |nodes: &FxHashSet<u32>| {
        let mut sum = Weight::default();
        let mut nodes: Vec<u32> = nodes.iter().copied().collect();
        nodes.sort_unstable();
        nodes.into_iter().for_each(|node| sum.add(weight[node as usize]));
        sum
    };
    Some(ends.iter().map(sum).collect())
}

/// Shortest way from the origins (the first nodes of the zone) to each node, and whether it is sheathed all along: of
/// equally short ways each.
fn distances(
    circuit: &Circuit<'_>,
    graph: &Multigraph,
    edges: &[u32],
    n_origins: usize,
) -> (Vec<f64>, Vec<bool>) {
    let mut distance = vec![f64::INFINITY; graph.n_nodes()];
    let mut sheathed = vec![true; graph.n_nodes()];
    let mut heap = BinaryHeap::new();
    for (node, distance) in distance.iter_mut().enumerate().take(n_origins) {
        *distance = 0.0;
        heap.push(Reverse((0_u64, node as u32)));
    }
    while let Some(Reverse((key, node))) = heap.pop() {
        let here = f64::from_bits(key);
        if distance[node as usize] < here {
            continue;
        }
        for (at, next) in graph.at(node) {
            let (length, is_sheathed) = circuit.length_of(edges[*at as usize]);
            let there = here + length.as_metres();
            if !leaves(circuit, edges[*at as usize], graph.ends(*at).0 == node) {
                continue;
            }
            let way_sheathed = sheathed[node as usize] && is_sheathed;
            let (known, next_sheathed) = (&mut distance[*next as usize], &mut sheathed[*next as usize]);
            let shorter = there < *known;
            if shorter || (there <= *known && *next_sheathed && !way_sheathed) {
                *known = there;
                *next_sheathed = way_sheathed;
                // Lengths are not negative, and the bits of such numbers are in their order.
                heap.push(Reverse((there.to_bits(), *next)));
            }
        }
    }
    (distance, sheathed)
}

/// Wires of at most the book's link between the positives of a bank.
fn links(circuit: &Circuit<'_>, origin: &Origin, edges: &[u32]) -> FxHashSet<u32> {
    if origin.cranking || origin.nodes.len() < 2 {
        return FxHashSet::default();
    }
    let inside: FxHashSet<u32> = edges.iter().copied().collect();
    let anchors = origin.nodes.iter().copied().collect();
    circuit.metal.between(&anchors, |edge| inside.contains(&edge) && circuit.is_short_link(edge))
}
