//! A multigraph by edge number, and its blocks: the parts in which any two edges lie on a common loop.
//!
//! petgraph's own bridges skip the parent by node, which loses parallel edges, and it has no blocks; this keeps edges
//! apart by number. Everything is iterative, so that a chain of any length is safe.

use smallvec::{SmallVec, smallvec};

/// No node, edge or block.
pub(crate) const NONE: u32 = u32::MAX;

/// An undirected multigraph over nodes `0..n`; edges are numbered in order.
#[derive(Debug, Clone, Default)]
pub(crate) struct Multigraph {
    ends: Vec<(u32, u32)>,
    offsets: Vec<u32>,
    incident: Vec<(u32, u32)>,
}

impl Multigraph {
    /// Takes the ends of every edge. An edge from a node to itself is kept but joins nothing.
    pub(crate) fn new(n_nodes: usize, ends: Vec<(u32, u32)>) -> Self {
        let mut offsets = vec![0_u32; n_nodes + 1];
        for (a, b) in ends.iter().filter(|(a, b)| a != b) {
            offsets[*a as usize + 1] += 1;
            offsets[*b as usize + 1] += 1;
        }
        for at in 1..offsets.len() {
            offsets[at] += offsets[at - 1];
        }
        let mut next = offsets.clone();
        let mut incident = vec![(0, 0); offsets.last().map_or(0, |n| *n as usize)];
        for (edge, (a, b)) in ends.iter().enumerate().filter(|(_, (a, b))| a != b) {
            for (from, to) in [(*a, *b), (*b, *a)] {
                incident[next[from as usize] as usize] = (edge as u32, to);
                next[from as usize] += 1;
            }
        }
        Self { ends, offsets, incident }
    }

    pub(crate) fn n_nodes(&self) -> usize {
        self.offsets.len().saturating_sub(1)
    }

    pub(crate) fn n_edges(&self) -> usize {
        self.ends.len()
    }

    /// The two ends of an edge.
    pub(crate) fn ends(&self, edge: u32) -> (u32, u32) {
        self.ends[edge as usize]
    }

    /// The end of `edge` that is not `node`.
    pub(crate) fn other(&self, edge: u32, node: u32) -> u32 {
        let (a, b) = self.ends(edge);
        if a == node { b } else { a }
    }

    /// Edges at a node with their other ends, in order of edge.
    pub(crate) fn at(&self, node: u32) -> &[(u32, u32)] {
        let node = node as usize;
        &self.incident[self.offsets[node] as usize..self.offsets[node + 1] as usize]
    }

    /// A component number for each node, over the edges that `keep` accepts.
    pub(crate) fn components(&self, keep: impl Fn(u32) -> bool) -> Vec<u32> {
        let mut component = vec![NONE; self.n_nodes()];
        let mut stack = Vec::new();
        let mut next = 0;
        for root in 0..self.n_nodes() as u32 {
            if component[root as usize] != NONE {
                continue;
            }
            component[root as usize] = next;
            stack.push(root);
            while let Some(node) = stack.pop() {
                for (edge, to) in self.at(node) {
                    if component[*to as usize] == NONE && keep(*edge) {
                        component[*to as usize] = next;
                        stack.push(*to);
                    }
                }
            }
            next += 1;
        }
        component
    }

    /// Every node reached from `from` over the edges that `keep` accepts (given the edge and the node it leaves).
    pub(crate) fn reach(&self, from: &[u32], keep: impl Fn(u32, u32) -> bool) -> Vec<u32> {
        self.spread(from, keep).0
    }

    /// The same as a set.
    pub(crate) fn reached(&self, from: &[u32], keep: impl Fn(u32, u32) -> bool) -> Nodes {
        self.spread(from, keep).1
    }

    /// Both: the nodes in the order in which they are reached, and as a set.
    pub(crate) fn spread(&self, from: &[u32], keep: impl Fn(u32, u32) -> bool) -> (Vec<u32>, Nodes) {
        let mut seen = Nodes::none(self.n_nodes());
        let mut order: Vec<u32> = Vec::new();
        for node in from {
            if seen.insert(*node) {
                order.push(*node);
            }
        }
        let mut at = 0;
        while at < order.len() {
            let node = order[at];
            at += 1;
            for (edge, to) in self.at(node) {
                if keep(*edge, node) && seen.insert(*to) {
                    order.push(*to);
                }
            }
        }
        (order, seen)
    }

    /// The way of fewest edges from `from` to `to` over the edges that `keep` accepts.
    pub(crate) fn path(&self, from: u32, to: u32, keep: impl Fn(u32) -> bool) -> Option<Vec<u32>> {
        let mut seen = Nodes::none(self.n_nodes());
        seen.insert(from);
        // Each node with the edge that led to it and the place of the node before.
        let mut order: Vec<(u32, u32, u32)> = vec![(from, NONE, NONE)];
        let mut at = 0;
        while let Some((node, _, _)) = order.get(at).copied() {
            if node == to {
                let mut edges = Vec::new();
                let mut step = at;
                while let Some((_, edge, before)) = order.get(step).copied().filter(|row| row.1 != NONE) {
                    edges.push(edge);
                    step = before as usize;
                }
                edges.reverse();
                return Some(edges);
            }
            for (edge, next) in self.at(node) {
                if keep(*edge) && seen.insert(*next) {
                    order.push((*next, *edge, at as u32));
                }
            }
            at += 1;
        }
        None
    }

    /// The blocks over the edges that `keep` accepts.
    pub(crate) fn blocks(&self, keep: impl Fn(u32) -> bool) -> Blocks {
        Blocks::find(self, keep)
    }
}

/// A set of a graph's nodes, one bit each.
#[derive(Debug, Clone, Default)]
pub(crate) struct Nodes {
    bits: Vec<u64>,
}

impl Nodes {
    fn none(n_nodes: usize) -> Self {
        Self { bits: vec![0; n_nodes.div_ceil(64)] }
    }

    /// Adds a node; whether it was not there yet.
    fn insert(&mut self, node: u32) -> bool {
        let word = &mut self.bits[node as usize / 64];
        let bit = 1 << (node % 64);
        let is_new = *word & bit == 0;
        *word |= bit;
        is_new
    }

    pub(crate) fn contains(&self, node: u32) -> bool {
        self.bits.get(node as usize / 64).is_some_and(|word| word & (1 << (node % 64)) != 0)
    }
}

/// One block.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    /// Its edges, in order of number.
    pub(crate) edges: SmallVec<[u32; 2]>,
    /// Its nodes; the first is the one nearest the root of its tree.
    pub(crate) nodes: SmallVec<[u32; 2]>,
}

/// The blocks of a graph as trees. Every block has a node nearest its tree's root, its parent; blocks are numbered so that
/// one that hangs below another comes before it.
#[derive(Debug, Clone)]
pub(crate) struct Blocks {
    /// In order, children before parents.
    pub(crate) all: Vec<Block>,
    /// The block of each edge, or `NONE`.
    pub(crate) of_edge: Vec<u32>,
    offsets: Vec<u32>,
    at: Vec<u32>,
}

impl Blocks {
    fn find(graph: &Multigraph, keep: impl Fn(u32) -> bool) -> Self {
        let n = graph.n_nodes();
        let mut low = vec![0_u32; n];
        let mut found = vec![NONE; n];
        let mut clock = 0_u32;
        let mut of_edge = vec![NONE; graph.n_edges()];
        let mut all: Vec<Block> = Vec::new();
        let mut edge_stack: Vec<u32> = Vec::new();
        // (node, edge by which it was found, position in its list)
        let mut stack: Vec<(u32, u32, u32)> = Vec::new();
        let mut mark = vec![NONE; n];
        for root in 0..n as u32 {
            if found[root as usize] != NONE {
                continue;
            }
            found[root as usize] = clock;
            low[root as usize] = clock;
            clock += 1;
            stack.push((root, NONE, 0));
            while let Some((node, came, position)) = stack.last_mut() {
                let (node, came) = (*node, *came);
                let Some((edge, to)) = graph.at(node).get(*position as usize).copied() else {
                    stack.pop();
                    let Some((parent, _, _)) = stack.last() else { continue };
                    let parent = *parent;
                    low[parent as usize] = low[parent as usize].min(low[node as usize]);
                    if low[node as usize] >= found[parent as usize] {
                        let number = all.len() as u32;
                        let mut edges = SmallVec::new();
                        while let Some(edge) = edge_stack.pop() {
                            of_edge[edge as usize] = number;
                            edges.push(edge);
                            if edge == came {
                                break;
                            }
                        }
                        edges.sort_unstable();
                        let mut nodes = smallvec![parent];
                        mark[parent as usize] = number;
                        for edge in &edges {
                            let (a, b) = graph.ends(*edge);
                            for node in [a, b] {
                                if mark[node as usize] != number {
                                    mark[node as usize] = number;
                                    nodes.push(node);
                                }
                            }
                        }
                        all.push(Block { edges, nodes });
                    }
                    continue;
                };
                *position += 1;
                if edge == came || !keep(edge) {
                    continue;
                }
                if found[to as usize] == NONE {
                    found[to as usize] = clock;
                    low[to as usize] = clock;
                    clock += 1;
                    edge_stack.push(edge);
                    stack.push((to, edge, 0));
                } else if found[to as usize] < found[node as usize] {
                    edge_stack.push(edge);
                    low[node as usize] = low[node as usize].min(found[to as usize]);
                }
            }
        }
        let mut offsets = vec![0_u32; n + 1];
        for node in all.iter().flat_map(|block| &block.nodes) {
            offsets[*node as usize + 1] += 1;
        }
        for at in 1..offsets.len() {
            offsets[at] += offsets[at - 1];
        }
        let mut next = offsets.clone();
        let mut at = vec![0; offsets.last().map_or(0, |n| *n as usize)];
        for (number, block) in all.iter().enumerate() {
            for node in &block.nodes {
                at[next[*node as usize] as usize] = number as u32;
                next[*node as usize] += 1;
            }
        }
        Self { all, of_edge, offsets, at }
    }

    /// The blocks that a node is in.
    pub(crate) fn at(&self, node: u32) -> &[u32] {
        let node = node as usize;
        &self.at[self.offsets[node] as usize..self.offsets[node + 1] as usize]
    }

    /// Whether an edge is alone in its block: taking it out separates its ends.
    pub(crate) fn is_bridge(&self, edge: u32) -> bool {
        self.all.get(self.of_edge[edge as usize] as usize).is_some_and(|block| block.edges.len() == 1)
    }

    /// Sums over what lies on either side of each bridge, its first end's side first, from what is at each node; nothing
    /// for edges that are no bridges.
    pub(crate) fn sides<const N: usize>(
        &self,
        graph: &Multigraph,
        part: &[u32],
        at: &[[u64; N]],
    ) -> Vec<([u64; N], [u64; N])> {
        // Wrapping both ways: a difference is right as long as it is small itself.
        let plus = |a: [u64; N], b: [u64; N]| std::array::from_fn(|n| a[n].wrapping_add(b[n]));
        let minus = |a: [u64; N], b: [u64; N]| std::array::from_fn(|n| a[n].wrapping_sub(b[n]));
        let n_parts = part.iter().max().map_or(0, |most| *most as usize + 1);
        let mut total = vec![[0; N]; n_parts];
        for (node, row) in at.iter().enumerate() {
            let sum = &mut total[part[node] as usize];
            *sum = plus(*sum, *row);
        }
        let mut below = at.to_vec();
        let mut sides = vec![([0; N], [0; N]); graph.n_edges()];
        for block in &self.all {
            let parent = block.nodes[0] as usize;
            let sum = block.nodes.iter().skip(1).fold([0; N], |sum, node| plus(sum, below[*node as usize]));
            if let [edge] = block.edges.as_slice() {
                let other = minus(total[part[parent] as usize], sum);
                let first = graph.ends(*edge).0 as usize;
                sides[*edge as usize] = if first == parent { (other, sum) } else { (sum, other) };
            }
            below[parent] = plus(below[parent], sum);
        }
        sides
    }

    /// The block of an edge.
    pub(crate) fn of(&self, edge: u32) -> Option<&Block> {
        self.all.get(self.of_edge[edge as usize] as usize)
    }
}
