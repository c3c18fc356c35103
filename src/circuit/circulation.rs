//! What can circulate through each edge: the maximum flow from one of its ends to the other through the rest of the circuit.
//!
//! Most of a circuit is edges in series and side by side. Those are folded into one edge of equal effect, step by step, until
//! only what is truly meshed is left; maximum flows run on that kernel alone, and the result is unfolded again exactly.

use std::collections::BTreeMap;

use rustc_hash::FxHashMap;

use super::arrival::Capacity;
use super::flow::{Arc, Sum, UNLIMITED, maximum, plus};
use super::graph::{Multigraph, NONE};

/// One edge, original or folded.
#[derive(Debug, Clone, Copy)]
struct Folded {
    a: u32,
    b: u32,
    capacity: Capacity,
    made: Made,
}

#[derive(Debug, Clone, Copy)]
enum Made {
    Original,
    /// Two edges side by side; `true` where that one runs from `b` to `a`.
    Parallel((u32, bool), (u32, bool)),
    /// Two edges one after the other, from `a` by the first to `b`; `true` where that one runs against this.
    Series((u32, bool), (u32, bool)),
}

fn turned(capacity: Capacity, turn: bool) -> Capacity {
    if turn { Capacity { forth: capacity.back, back: capacity.forth } } else { capacity }
}

fn both(a: Capacity, b: Capacity) -> Capacity {
    Capacity { forth: plus(a.forth, b.forth), back: plus(a.back, b.back) }
}

struct Folding {
    edges: Vec<Folded>,
    alive: Vec<bool>,
    at: Vec<Vec<u32>>,
    degree: Vec<u32>,
    pair: FxHashMap<(u32, u32), u32>,
}

impl Folding {
    fn new(n_nodes: usize, ends: &[(u32, u32)], capacity: &[Capacity]) -> Self {
        let mut folding = Self {
            edges: Vec::with_capacity(ends.len() * 2),
            alive: Vec::with_capacity(ends.len() * 2),
            at: vec![Vec::new(); n_nodes],
            degree: vec![0; n_nodes],
            pair: FxHashMap::default(),
        };
        for ((a, b), capacity) in ends.iter().zip(capacity) {
            folding.edges.push(Folded { a: *a, b: *b, capacity: *capacity, made: Made::Original });
            folding.alive.push(false);
        }
        for edge in 0..ends.len() as u32 {
            if ends[edge as usize].0 != ends[edge as usize].1 {
                folding.place(edge);
            }
        }
        folding
    }

    /// Puts an edge into the graph, beside one that is there already if need be.
    fn place(&mut self, edge: u32) {
        let Folded { a, b, capacity, .. } = self.edges[edge as usize];
        let key = (a.min(b), a.max(b));
        if let Some(other) = self.pair.get(&key).copied() {
            let beside = self.edges[other as usize];
            let turn = beside.a != a;
            self.alive[other as usize] = false;
            let merged = self.add(Folded {
                a,
                b,
                capacity: both(capacity, turned(beside.capacity, turn)),
                made: Made::Parallel((edge, false), (other, turn)),
            });
            self.alive[merged as usize] = true;
            self.at[a as usize].push(merged);
            self.at[b as usize].push(merged);
            self.pair.insert(key, merged);
        } else {
            self.alive[edge as usize] = true;
            self.at[a as usize].push(edge);
            self.at[b as usize].push(edge);
            self.degree[a as usize] += 1;
            self.degree[b as usize] += 1;
            self.pair.insert(key, edge);
        }
    }

    fn add(&mut self, edge: Folded) -> u32 {
        self.edges.push(edge);
        self.alive.push(false);
        self.edges.len() as u32 - 1
    }

    fn take(&mut self, edge: u32) {
        let Folded { a, b, .. } = self.edges[edge as usize];
        self.alive[edge as usize] = false;
        self.degree[a as usize] -= 1;
        self.degree[b as usize] -= 1;
        self.pair.remove(&(a.min(b), a.max(b)));
    }

    fn alive_at(&self, node: u32) -> impl Iterator<Item = u32> {
        self.at[node as usize].iter().copied().filter(|edge| self.alive[*edge as usize])
    }

    /// Folds until every node that is left has three ways or more.
    fn fold(&mut self) {
        let mut queue: Vec<u32> = (0..self.at.len() as u32).rev().collect();
        while let Some(node) = queue.pop() {
            match self.degree[node as usize] {
                1 => {
                    // A way with one end: nothing circulates through it but among its own parallel parts.
                    let Some(edge) = self.alive_at(node).next() else { continue };
                    let Folded { a, b, .. } = self.edges[edge as usize];
                    self.take(edge);
                    queue.push(if a == node { b } else { a });
                }
                2 => {
                    let mut edges = self.alive_at(node);
                    let (Some(first), Some(second)) = (edges.next(), edges.next()) else { continue };
                    drop(edges);
                    let (one, two) = (self.edges[first as usize], self.edges[second as usize]);
                    let one_turned = one.b != node;
                    let two_turned = two.a != node;
                    let (from, to) =
                        (if one_turned { one.b } else { one.a }, if two_turned { two.a } else { two.b });
                    let (forth, back) = (turned(one.capacity, one_turned), turned(two.capacity, two_turned));
                    self.take(first);
                    self.take(second);
                    let made = self.add(Folded {
                        a: from,
                        b: to,
                        capacity: Capacity {
                            forth: forth.forth.min(back.forth),
                            back: forth.back.min(back.back),
                        },
                        made: Made::Series((first, one_turned), (second, two_turned)),
                    });
                    self.place(made);
                    queue.push(from);
                    queue.push(to);
                }
                _ => {}
            }
        }
    }

    /// Flow between the ends of each edge that is left, without it.
    fn kernel(&self, rest: &mut [Capacity]) {
        let kept: Vec<u32> = (0..self.edges.len() as u32).filter(|edge| self.alive[*edge as usize]).collect();
        let mut number: FxHashMap<u32, u32> = FxHashMap::default();
        let mut ends = Vec::with_capacity(kept.len());
        for edge in &kept {
            let Folded { a, b, .. } = self.edges[*edge as usize];
            let next = number.len() as u32;
            let a = *number.entry(a).or_insert(next);
            let next = number.len() as u32;
            let b = *number.entry(b).or_insert(next);
            ends.push((a, b));
        }
        let graph = Multigraph::new(number.len(), ends);
        let blocks = graph.blocks(|_| true);
        let mut local = vec![NONE; number.len()];
        for block in blocks.all.iter().filter(|block| 1 < block.edges.len()) {
            for (at, node) in block.nodes.iter().enumerate() {
                local[*node as usize] = at as u32;
            }
            let edges: Vec<(u32, u32, Capacity)> = block
                .edges
                .iter()
                .map(|edge| {
                    let (a, b) = graph.ends(*edge);
                    let capacity = self.edges[kept[*edge as usize] as usize].capacity;
                    (local[a as usize], local[b as usize], capacity)
                })
                .collect();
            for (edge, around) in block.edges.iter().zip(Mesh::new(block.nodes.len(), edges).around()) {
                rest[kept[*edge as usize] as usize] = around;
            }
        }
    }
}

/// A block of the kernel. Its nodes that plain metal joins are one cluster, so that flows run on few nodes and arcs.
struct Mesh {
    edges: Vec<(u32, u32, Capacity)>,
    cluster: Vec<u32>,
    n_clusters: u32,
    /// The plain metal alone, with the same edge numbers.
    metal: Multigraph,
    /// Edges of plain metal whose loss would split their cluster.
    splits: Vec<bool>,
    /// What all edges together carry from one cluster to another.
    between: Between,
}

type Between = BTreeMap<(u32, u32), Sum>;

fn is_metal(capacity: Capacity) -> bool {
    UNLIMITED <= capacity.forth && UNLIMITED <= capacity.back
}

fn between(edges: &[(u32, u32, Capacity)], cluster: &[u32], without: Option<usize>) -> Between {
    let mut between = Between::new();
    for (at, (a, b, capacity)) in edges.iter().enumerate() {
        let (from, to) = (cluster[*a as usize], cluster[*b as usize]);
        if from != to && Some(at) != without {
            between.entry((from, to)).or_default().add(capacity.forth);
            between.entry((to, from)).or_default().add(capacity.back);
        }
    }
    between
}

impl Mesh {
    fn new(n_nodes: usize, edges: Vec<(u32, u32, Capacity)>) -> Self {
        // An edge from a node to itself joins nothing.
        let ends = edges.iter().map(|(a, b, capacity)| if is_metal(*capacity) { (*a, *b) } else { (*a, *a) });
        let metal = Multigraph::new(n_nodes, ends.collect());
        let cluster = metal.components(|_| true);
        let n_clusters = cluster.iter().max().map_or(0, |most| most + 1);
        let blocks = metal.blocks(|_| true);
        let splits = (0..edges.len() as u32).map(|edge| blocks.is_bridge(edge)).collect();
        let between = between(&edges, &cluster, None);
        Self { edges, cluster, n_clusters, metal, splits, between }
    }

    /// Flow between the ends of each edge without it.
    fn around(&self) -> Vec<Capacity> {
        (0..self.edges.len()).map(|edge| self.around_one(edge)).collect()
    }

    fn around_one(&self, edge: usize) -> Capacity {
        let (a, b, capacity) = self.edges[edge];
        let (from, to) = (self.cluster[a as usize], self.cluster[b as usize]);
        if self.splits[edge] {
            let near = self.metal.reached(&[a], |other, _| other as usize != edge);
            let split: Vec<u32> = (0..self.cluster.len() as u32)
                .map(|node| match self.cluster[node as usize] {
                    cluster if cluster == from && !near.contains(node) => self.n_clusters,
                    cluster => cluster,
                })
                .collect();
            return flows(
                &between(&self.edges, &split, Some(edge)),
                self.n_clusters + 1,
                from,
                self.n_clusters,
            );
        }
        if from == to {
            return Capacity::METAL;
        }
        let mut rest = self.between.clone();
        for (key, gone) in [((from, to), capacity.forth), ((to, from), capacity.back)] {
            if let Some(sum) = rest.get_mut(&key) {
                *sum = sum.without(gone);
            }
        }
        flows(&rest, self.n_clusters, from, to)
    }
}

fn flows(between: &Between, n_clusters: u32, from: u32, to: u32) -> Capacity {
    let arcs: Vec<Arc<()>> = between
        .iter()
        .map(|((from, to), sum)| Arc { from: *from, to: *to, capacity: sum.total(), label: () })
        .filter(|arc| 0 < arc.capacity)
        .collect();
    Capacity {
        forth: maximum(n_clusters as usize, &arcs, from, to),
        back: maximum(n_clusters as usize, &arcs, to, from),
    }
}

/// For each edge: what can flow from its first end to its second, and back, through all the others.
pub(crate) fn around(n_nodes: usize, ends: &[(u32, u32)], capacity: &[Capacity]) -> Vec<Capacity> {
    let mut folding = Folding::new(n_nodes, ends, capacity);
    folding.fold();
    let mut rest = vec![Capacity { forth: 0, back: 0 }; folding.edges.len()];
    folding.kernel(&mut rest);
    for edge in (0..folding.edges.len()).rev() {
        let around = rest[edge];
        match folding.edges[edge].made {
            Made::Original => {}
            Made::Parallel((one, one_turned), (two, two_turned)) => {
                let cap = |edge: u32, turn| turned(folding.edges[edge as usize].capacity, turn);
                let (of_one, of_two) = (cap(one, one_turned), cap(two, two_turned));
                rest[one as usize] = turned(both(around, of_two), one_turned);
                rest[two as usize] = turned(both(around, of_one), two_turned);
            }
            Made::Series((one, one_turned), (two, two_turned)) => {
                let cap = |edge: u32, turn| turned(folding.edges[edge as usize].capacity, turn);
                let (of_one, of_two) = (cap(one, one_turned), cap(two, two_turned));
                // From the start of the first to its end: around, then back over the second.
                let through = |other: Capacity| Capacity {
                    forth: around.forth.min(other.back),
                    back: around.back.min(other.forth),
                };
                rest[one as usize] = turned(through(of_two), one_turned);
                rest[two as usize] = turned(through(of_one), two_turned);
            }
        }
    }
    rest.truncate(ends.len());
    rest
}
