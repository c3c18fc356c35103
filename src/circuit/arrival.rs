//! What can arrive at each end of each edge from all sources, not through the edge itself: the let-through of wires.
//!
//! The graph is cut at its bridges and cut nodes. What arrives at a cut node from different blocks adds up, so a tree costs two
//! passes; only inside a block that is truly meshed does a maximum flow run, on its clusters of plain metal.

use std::collections::BTreeMap;

use smallvec::{SmallVec, smallvec};

use super::flow::{Arc, Micro, Sum, UNLIMITED, maximum, minimum_cut};
use super::graph::{Blocks, Multigraph, NONE};

/// What an edge carries, in microamperes, from its first end to its second and back.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Capacity {
    pub(crate) forth: Micro,
    pub(crate) back: Micro,
}

impl Capacity {
    pub(crate) const METAL: Self = Self { forth: UNLIMITED, back: UNLIMITED };

    fn is_metal(self) -> bool {
        UNLIMITED <= self.forth && UNLIMITED <= self.back
    }
}

/// One term of a minimum cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Term {
    /// An edge of the graph, by number.
    Edge(u32),
    /// A feed, by number.
    Feed(u32),
}

/// A source's limit at a node.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Feed {
    pub(crate) node: u32,
    pub(crate) limit: Micro,
}

/// The arrivals of a whole graph.
#[derive(Debug)]
pub(crate) struct Arrival {
    graph: Multigraph,
    capacity: Vec<Capacity>,
    blocks: Blocks,
    feeds: Vec<Feed>,
    /// Feeds by node, as ranges of `feed_order`.
    feed_offsets: Vec<u32>,
    feed_order: Vec<u32>,
    /// Own feeds and what all blocks bring, by node.
    total: Vec<Sum>,
    /// What each block brings to each of its nodes, as ranges by block in the order of its nodes.
    brings: Vec<SmallVec<[Micro; 2]>>,
    meshes: Vec<Option<Mesh>>,
    /// Arrival at the first and second end of each edge, without it.
    ends: Vec<(Micro, Micro)>,
}

/// A block of more than one edge.
#[derive(Debug)]
struct Mesh {
    /// The cluster of plain metal of each of the block's nodes, in their order.
    cluster: Vec<u32>,
    n_clusters: u32,
    /// The block's nodes, sorted, with their position.
    position: rustc_hash::FxHashMap<u32, u32>,
    /// Flow into each cluster from the others; only where there is more than one.
    into: Vec<Micro>,
    /// What all edges together carry from one cluster to another.
    between: BTreeMap<(u32, u32), Sum>,
}

impl Arrival {
    /// Computes every arrival.
    pub(crate) fn new(graph: Multigraph, capacity: Vec<Capacity>, feeds: Vec<Feed>) -> Self {
        let blocks = graph.blocks(|_| true);
        let (feed_offsets, feed_order) = by_node(graph.n_nodes(), &feeds);
        let mut total = vec![Sum::default(); graph.n_nodes()];
        for feed in &feeds {
            total[feed.node as usize].add(feed.limit);
        }
        let brings = blocks.all.iter().map(|block| smallvec![0; block.nodes.len()]).collect();
        let meshes = blocks.all.iter().map(|block| Mesh::new(&graph, &capacity, block)).collect();
        let ends = vec![(0, 0); graph.n_edges()];
        let mut arrival =
            Self { graph, capacity, blocks, feeds, feed_offsets, feed_order, total, brings, meshes, ends };
        arrival.pass_up();
        arrival.pass_down();
        arrival.judge_edges();
        arrival
    }

    /// What arrives at a node in all.
    pub(crate) fn at(&self, node: u32) -> Micro {
        self.total[node as usize].total()
    }

    /// What arrives at the first and the second end of an edge without it.
    pub(crate) fn ends(&self, edge: u32) -> (Micro, Micro) {
        let (a, b) = self.graph.ends(edge);
        if a == b { (self.at(a), self.at(b)) } else { self.ends[edge as usize] }
    }

    /// The minimum cut, nearest first, of what arrives at the end `node` of an edge without it.
    pub(crate) fn cut(&self, edge: u32, node: u32) -> Vec<Term> {
        let mut terms = Vec::new();
        let mut tasks = Vec::new();
        let block = self.blocks.of_edge[edge as usize];
        if block == NONE {
            tasks.push((node, NONE));
        } else if self.meshes[block as usize].is_some() {
            self.mesh_cut(block, node, Some(edge), &mut terms, &mut tasks);
            tasks.push((node, block));
        } else {
            tasks.push((node, block));
        }
        self.finish_cut(tasks, &mut terms);
        terms
    }

    /// The minimum cut of all that arrives at a node.
    pub(crate) fn cut_at(&self, node: u32) -> Vec<Term> {
        let mut terms = Vec::new();
        self.finish_cut(vec![(node, NONE)], &mut terms);
        terms
    }

    /// Works off tasks: what arrives at a node without one block.
    fn finish_cut(&self, mut tasks: Vec<(u32, u32)>, terms: &mut Vec<Term>) {
        while let Some((node, without)) = tasks.pop() {
            for feed in self.feeds_at(node) {
                if self.feeds[*feed as usize].limit < UNLIMITED {
                    terms.push(Term::Feed(*feed));
                }
            }
            for block in self.blocks.at(node).iter().filter(|block| **block != without) {
                let brought = self.brought(*block, node);
                if brought == 0 || UNLIMITED <= brought {
                    continue;
                }
                if self.meshes[*block as usize].is_some() {
                    self.mesh_cut(*block, node, None, terms, &mut tasks);
                } else {
                    let edge = self.blocks.all[*block as usize].edges[0];
                    let other = self.graph.other(edge, node);
                    if self.toward(edge, node) <= self.outside(*block, other).total() {
                        terms.push(Term::Edge(edge));
                    } else {
                        tasks.push((other, *block));
                    }
                }
            }
        }
        terms.sort_unstable();
        terms.dedup();
    }

    fn feeds_at(&self, node: u32) -> &[u32] {
        let node = node as usize;
        &self.feed_order[self.feed_offsets[node] as usize..self.feed_offsets[node + 1] as usize]
    }

    /// Capacity of an edge toward one of its ends.
    fn toward(&self, edge: u32, node: u32) -> Micro {
        let capacity = self.capacity[edge as usize];
        if self.graph.ends(edge).1 == node { capacity.forth } else { capacity.back }
    }

    fn brought(&self, block: u32, node: u32) -> Micro {
        let nodes = &self.blocks.all[block as usize].nodes;
        let position = match &self.meshes[block as usize] {
            Some(mesh) => mesh.position.get(&node).map(|at| *at as usize),
            None => nodes.iter().position(|other| *other == node),
        };
        position.map_or(0, |at| self.brings[block as usize][at])
    }

    /// What a node has to give into a block.
    fn outside(&self, block: u32, node: u32) -> Sum {
        self.total[node as usize].without(self.brought(block, node))
    }

    /// Children before parents: what each block brings to its parent node.
    fn pass_up(&mut self) {
        for block in 0..self.blocks.all.len() as u32 {
            let parent = self.blocks.all[block as usize].nodes[0];
            let brought = if self.meshes[block as usize].is_some() {
                // The parent's own supply is still incomplete; it is the sink here, and its cluster gets the rest.
                self.mesh_bring(block, parent, true, &self.given(block, true))
            } else {
                let edge = self.blocks.all[block as usize].edges[0];
                let other = self.graph.other(edge, parent);
                self.toward(edge, parent).min(self.outside(block, other).total())
            };
            self.brings[block as usize][0] = brought;
            self.total[parent as usize].add(brought);
        }
    }

    /// Parents before children: what each block brings to its other nodes.
    fn pass_down(&mut self) {
        for block in (0..self.blocks.all.len() as u32).rev() {
            self.solve_mesh(block);
            let given = self.given(block, false);
            for at in 1..self.blocks.all[block as usize].nodes.len() {
                let node = self.blocks.all[block as usize].nodes[at];
                let brought = if self.meshes[block as usize].is_some() {
                    self.mesh_bring(block, node, false, &given)
                } else {
                    let edge = self.blocks.all[block as usize].edges[0];
                    let other = self.graph.other(edge, node);
                    self.toward(edge, node).min(self.outside(block, other).total())
                };
                self.brings[block as usize][at] = brought;
            }
            for at in 1..self.blocks.all[block as usize].nodes.len() {
                let node = self.blocks.all[block as usize].nodes[at];
                let brought = self.brings[block as usize][at];
                self.total[node as usize].add(brought);
            }
        }
    }

    fn judge_edges(&mut self) {
        for block in 0..self.blocks.all.len() as u32 {
            if self.meshes[block as usize].is_some() {
                self.judge_mesh(block);
            } else {
                let edge = self.blocks.all[block as usize].edges[0];
                let (a, b) = self.graph.ends(edge);
                let ends = (self.outside(block, a).total(), self.outside(block, b).total());
                self.ends[edge as usize] = ends;
            }
        }
    }

    /// What each cluster of a mesh has to give, from outside the block. While going up, the parent's is left out.
    fn given(&self, block: u32, going_up: bool) -> Vec<Sum> {
        let Some(mesh) = &self.meshes[block as usize] else { return Vec::new() };
        let mut given = vec![Sum::default(); mesh.n_clusters as usize];
        for (at, node) in self.blocks.all[block as usize].nodes.iter().enumerate() {
            if going_up && at == 0 {
                continue;
            }
            given[mesh.cluster[at] as usize].add_all(self.outside_of(block, at, *node));
        }
        given
    }

    fn outside_of(&self, block: u32, at: usize, node: u32) -> Sum {
        self.total[node as usize].without(self.brings[block as usize][at])
    }

    /// What a mesh brings to one of its nodes: the rest of the node's cluster, and the flow into the cluster.
    fn mesh_bring(&self, block: u32, node: u32, going_up: bool, given: &[Sum]) -> Micro {
        let Some(mesh) = &self.meshes[block as usize] else { return 0 };
        let Some(at) = mesh.position.get(&node).map(|at| *at as usize) else { return 0 };
        let cluster = mesh.cluster[at];
        let mut sum = given[cluster as usize];
        if !(going_up && at == 0) {
            sum = sum.without_all(self.outside_of(block, at, node));
        }
        if 1 < mesh.n_clusters {
            sum.add(match mesh.into.get(cluster as usize) {
                Some(into) if !going_up => *into,
                _ => self.flow_into(block, cluster, &mesh.cluster, mesh.n_clusters, None, given),
            });
        }
        sum.total()
    }

    /// Computes the flow into every cluster of a mesh, once all that its nodes have to give is known.
    fn solve_mesh(&mut self, block: u32) {
        let Some(mesh) = &self.meshes[block as usize] else { return };
        if mesh.n_clusters < 2 {
            return;
        }
        let given = self.given(block, false);
        let into = (0..mesh.n_clusters)
            .map(|cluster| self.flow_into(block, cluster, &mesh.cluster, mesh.n_clusters, None, &given))
            .collect();
        if let Some(mesh) = &mut self.meshes[block as usize] {
            mesh.into = into;
        }
    }

    fn flow_into(
        &self,
        block: u32,
        sink: u32,
        cluster: &[u32],
        n_clusters: u32,
        without: Option<u32>,
        given: &[Sum],
    ) -> Micro {
        let arcs = match &self.meshes[block as usize] {
            Some(mesh) if mesh.n_clusters == n_clusters => {
                self.cluster_arcs(mesh, sink, n_clusters, without, given)
            }
            _ => self.mesh_arcs(block, sink, cluster, n_clusters, without, given),
        };
        maximum(n_clusters as usize + 1, &arcs, n_clusters, sink)
    }

    /// The same network with one arc from each cluster to each other, for where only the amount matters.
    fn cluster_arcs(
        &self,
        mesh: &Mesh,
        sink: u32,
        n_clusters: u32,
        without: Option<u32>,
        given: &[Sum],
    ) -> Vec<Arc<MeshTerm>> {
        let gone = without.map(|edge| {
            let (a, b) = self.graph.ends(edge);
            (mesh.cluster_of(a), mesh.cluster_of(b), self.capacity[edge as usize])
        });
        let mut arcs: Vec<Arc<MeshTerm>> = mesh
            .between
            .iter()
            .map(|((from, to), sum)| {
                let sum = match gone {
                    Some((a, b, capacity)) if (a, b) == (*from, *to) => sum.without(capacity.forth),
                    Some((a, b, capacity)) if (b, a) == (*from, *to) => sum.without(capacity.back),
                    _ => *sum,
                };
                Arc { from: *from, to: *to, capacity: sum.total(), label: MeshTerm::Outside(*from) }
            })
            .filter(|arc| 0 < arc.capacity)
            .collect();
        arcs.extend(outside_arcs(sink, n_clusters, given));
        arcs
    }

    /// The flow network of a mesh's clusters; node `n_clusters` gives what comes from outside.
    fn mesh_arcs(
        &self,
        block: u32,
        sink: u32,
        cluster: &[u32],
        n_clusters: u32,
        without: Option<u32>,
        given: &[Sum],
    ) -> Vec<Arc<MeshTerm>> {
        let Some(mesh) = &self.meshes[block as usize] else { return Vec::new() };
        let mut arcs = Vec::new();
        for edge in self.blocks.all[block as usize].edges.iter().filter(|edge| Some(**edge) != without) {
            let (a, b) = self.graph.ends(*edge);
            let of = |node: u32| mesh.position.get(&node).map_or(0, |at| cluster[*at as usize]);
            let (from, to) = (of(a), of(b));
            if from == to {
                continue;
            }
            let capacity = self.capacity[*edge as usize];
            for (from, to, capacity) in [(from, to, capacity.forth), (to, from, capacity.back)] {
                if 0 < capacity {
                    arcs.push(Arc { from, to, capacity, label: MeshTerm::Edge(*edge) });
                }
            }
        }
        arcs.extend(outside_arcs(sink, n_clusters, given));
        arcs
    }

    /// Clusters without one edge, where that splits one: the new assignment, or `None` where it does not.
    fn split(&self, block: u32, edge: u32) -> Option<Vec<u32>> {
        let mesh = self.meshes[block as usize].as_ref()?;
        if !self.capacity[edge as usize].is_metal() {
            return None;
        }
        let (a, b) = self.graph.ends(edge);
        let block = &self.blocks.all[block as usize];
        let of = mesh.cluster[*mesh.position.get(&a)? as usize];
        let reached = self.graph.reach(&[a], |other, _| {
            other != edge
                && self.blocks.of_edge[other as usize] == self.blocks.of_edge[edge as usize]
                && self.capacity[other as usize].is_metal()
        });
        if reached.contains(&b) {
            return None;
        }
        let reached: rustc_hash::FxHashSet<u32> = reached.into_iter().collect();
        let mut cluster = mesh.cluster.clone();
        for (at, node) in block.nodes.iter().enumerate() {
            if cluster[at] == of && !reached.contains(node) {
                cluster[at] = mesh.n_clusters;
            }
        }
        Some(cluster)
    }

    fn judge_mesh(&mut self, block: u32) {
        let given = self.given(block, false);
        let Some(mesh) = &self.meshes[block as usize] else { return };
        let edges = self.blocks.all[block as usize].edges.clone();
        let bridges = self.metal_bridges(block);
        let mut ends = Vec::with_capacity(edges.len());
        for edge in &edges {
            let (a, b) = self.graph.ends(*edge);
            let metal = self.capacity[*edge as usize].is_metal();
            let whole = |node: u32, cluster: &[u32], n: u32, without: Option<u32>, given: &[Sum]| {
                let own = mesh.position.get(&node).map_or(0, |at| cluster[*at as usize]);
                let mut sum = given[own as usize];
                if 1 < n {
                    sum.add(self.flow_into(block, own, cluster, n, without, given));
                }
                sum.total()
            };
            ends.push(if metal && !bridges.contains(edge) {
                // The cluster holds together without this edge: all that its cluster gets arrives at both ends.
                let own = mesh.position.get(&a).map_or(0, |at| mesh.cluster[*at as usize]);
                let mut sum = given[own as usize];
                sum.add(mesh.into.get(own as usize).copied().unwrap_or(0));
                (sum.total(), sum.total())
            } else if let Some(cluster) = self.split(block, *edge) {
                let mut split = vec![Sum::default(); mesh.n_clusters as usize + 1];
                for (at, node) in self.blocks.all[block as usize].nodes.iter().enumerate() {
                    split[cluster[at] as usize].add_all(self.outside_of(block, at, *node));
                }
                let n = mesh.n_clusters + 1;
                (whole(a, &cluster, n, Some(*edge), &split), whole(b, &cluster, n, Some(*edge), &split))
            } else {
                let (cluster, n) = (&mesh.cluster, mesh.n_clusters);
                (whole(a, cluster, n, Some(*edge), &given), whole(b, cluster, n, Some(*edge), &given))
            });
        }
        for (edge, ends) in edges.iter().zip(ends) {
            self.ends[*edge as usize] = ends;
        }
    }

    /// Edges of plain metal in a mesh whose loss would split their cluster.
    fn metal_bridges(&self, block: u32) -> rustc_hash::FxHashSet<u32> {
        let Some(mesh) = &self.meshes[block as usize] else { return rustc_hash::FxHashSet::default() };
        let edges: Vec<u32> = self.blocks.all[block as usize]
            .edges
            .iter()
            .copied()
            .filter(|edge| self.capacity[*edge as usize].is_metal())
            .collect();
        let local = |node: u32| mesh.position.get(&node).copied().unwrap_or(0);
        let ends = edges
            .iter()
            .map(|edge| {
                let (a, b) = self.graph.ends(*edge);
                (local(a), local(b))
            })
            .collect();
        let inner = Multigraph::new(mesh.cluster.len(), ends);
        let blocks = inner.blocks(|_| true);
        edges
            .iter()
            .enumerate()
            .filter(|(at, _)| blocks.is_bridge(*at as u32))
            .map(|(_, edge)| *edge)
            .collect()
    }

    /// The part of a cut that lies in a mesh: its edges, and tasks for what comes from outside it.
    fn mesh_cut(
        &self,
        block: u32,
        node: u32,
        without: Option<u32>,
        terms: &mut Vec<Term>,
        tasks: &mut Vec<(u32, u32)>,
    ) {
        let Some(mesh) = &self.meshes[block as usize] else { return };
        let split = without.and_then(|edge| self.split(block, edge));
        let n_clusters = mesh.n_clusters + u32::from(split.is_some());
        let cluster = split.as_ref().unwrap_or(&mesh.cluster);
        let nodes = &self.blocks.all[block as usize].nodes;
        let mut given = vec![Sum::default(); n_clusters as usize];
        for (at, node) in nodes.iter().enumerate() {
            given[cluster[at] as usize].add_all(self.outside_of(block, at, *node));
        }
        let Some(own) = mesh.position.get(&node).map(|at| cluster[*at as usize]) else { return };
        let mut outside = vec![own];
        if 1 < n_clusters {
            let arcs = self.mesh_arcs(block, own, cluster, n_clusters, without, &given);
            let (_, cut) = minimum_cut(n_clusters as usize + 1, &arcs, n_clusters, own);
            for term in cut {
                match term {
                    MeshTerm::Edge(edge) => terms.push(Term::Edge(edge)),
                    MeshTerm::Outside(cluster) => outside.push(cluster),
                }
            }
        }
        for (at, other) in nodes.iter().enumerate() {
            if *other != node && outside.contains(&cluster[at]) {
                tasks.push((*other, block));
            }
        }
    }
}

#[derive(Debug, Clone, Copy)]
enum MeshTerm {
    Edge(u32),
    Outside(u32),
}

/// What comes into a mesh's clusters from outside it.
fn outside_arcs(sink: u32, n_clusters: u32, given: &[Sum]) -> impl Iterator<Item = Arc<MeshTerm>> {
    given.iter().enumerate().map(|(number, sum)| (number as u32, sum.total())).filter_map(
        move |(number, capacity)| {
            (number != sink && 0 < capacity).then_some(Arc {
                from: n_clusters,
                to: number,
                capacity,
                label: MeshTerm::Outside(number),
            })
        },
    )
}

impl Mesh {
    /// The cluster of a node of the block.
    fn cluster_of(&self, node: u32) -> u32 {
        self.position.get(&node).map_or(0, |at| self.cluster[*at as usize])
    }

    fn new(graph: &Multigraph, capacity: &[Capacity], block: &super::graph::Block) -> Option<Self> {
        if block.edges.len() < 2 {
            return None;
        }
        let position: rustc_hash::FxHashMap<u32, u32> =
            block.nodes.iter().enumerate().map(|(at, node)| (*node, at as u32)).collect();
        let local = |node: u32| position.get(&node).copied().unwrap_or(0);
        let ends = block
            .edges
            .iter()
            .map(|edge| {
                let (a, b) = graph.ends(*edge);
                (local(a), local(b))
            })
            .collect();
        let inner = Multigraph::new(block.nodes.len(), ends);
        let cluster = inner.components(|edge| capacity[block.edges[edge as usize] as usize].is_metal());
        let n_clusters = cluster.iter().max().map_or(0, |most| most + 1);
        let mut mesh = Self { cluster, n_clusters, position, into: Vec::new(), between: BTreeMap::new() };
        for edge in &block.edges {
            let (a, b) = graph.ends(*edge);
            let (from, to) = (mesh.cluster_of(a), mesh.cluster_of(b));
            if from != to {
                let Capacity { forth, back } = capacity[*edge as usize];
                mesh.between.entry((from, to)).or_default().add(forth);
                mesh.between.entry((to, from)).or_default().add(back);
            }
        }
        Some(mesh)
    }
}

fn by_node(n_nodes: usize, feeds: &[Feed]) -> (Vec<u32>, Vec<u32>) {
    let mut order: Vec<u32> = (0..feeds.len() as u32).collect();
    order.sort_by_key(|feed| feeds[*feed as usize].node);
    let mut offsets = vec![0_u32; n_nodes + 1];
    for feed in feeds {
        offsets[feed.node as usize + 1] += 1;
    }
    for at in 1..offsets.len() {
        offsets[at] += offsets[at - 1];
    }
    (offsets, order)
}
