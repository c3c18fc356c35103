//! Nodes and the metal graph: what is joined without passing through a load or a source.

use petgraph::unionfind::UnionFind;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::design::{Body, ComponentId, DataId, Design, Feed, Id, Kind, TerminalId, TerminalRole, WireId};

use super::flow::{Micro, UNLIMITED, micro};
use super::graph::{Multigraph, NONE};

/// What an edge of the metal graph is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum EdgeKind {
    /// Wires side by side between the same two nodes, by number of the run.
    Run(u32),
    /// A fuse or breaker.
    Device(ComponentId),
    /// A closed switch.
    Switch(ComponentId),
    /// A mated plug.
    Plug(ComponentId),
    /// A cutoff, from line to load.
    Cutoff(ComponentId),
    /// A meter's shunt.
    Shunt(ComponentId),
    /// The link inside a charger with a common negative.
    Common(ComponentId),
    /// A negative that is mounted on a chassis.
    Returns(ComponentId),
    /// A data lead that joins two negatives.
    Data(DataId),
}

impl EdgeKind {
    /// The component that the edge runs through, if any.
    pub(crate) fn component(self) -> Option<ComponentId> {
        match self {
            Self::Run(_) | Self::Data(_) => None,
            Self::Device(id)
            | Self::Switch(id)
            | Self::Plug(id)
            | Self::Cutoff(id)
            | Self::Shunt(id)
            | Self::Common(id)
            | Self::Returns(id) => Some(id),
        }
    }
}

/// Elements that are judged as if they were not there.
#[derive(Debug, Clone, Default)]
pub(crate) struct Absent {
    pub(crate) wires: FxHashSet<WireId>,
    pub(crate) components: FxHashSet<ComponentId>,
}

/// A two-pole port of a component.
#[derive(Debug, Clone)]
pub(crate) struct Port {
    pub(crate) component: ComponentId,
    pub(crate) plus: Vec<TerminalId>,
    pub(crate) minus: TerminalId,
    pub(crate) source: bool,
}

/// Nodes and the metal graph of a design.
#[derive(Debug)]
pub(crate) struct Metal {
    pub(crate) node_of: Vec<u32>,
    pub(crate) n_nodes: usize,
    pub(crate) terminals: Vec<Vec<TerminalId>>,
    pub(crate) runs: Vec<Vec<WireId>>,
    pub(crate) edges: Vec<EdgeKind>,
    pub(crate) graph: Multigraph,
    /// Wires that have both ends on one node, by that node.
    pub(crate) idle: FxHashMap<u32, Vec<WireId>>,
    /// The edge of each wire; `NONE` for one that is absent or has both ends on one node.
    pub(crate) edge_of_wire: Vec<u32>,
}

impl Metal {
    pub(crate) fn new(design: &Design, absent: &Absent) -> Self {
        let mut joined: UnionFind<u32> = UnionFind::new(design.terminals.len());
        for joint in &design.joints {
            joined.union(joint.a.terminal.0, joint.b.terminal.0);
        }
        let mut number: FxHashMap<u32, u32> = FxHashMap::default();
        let mut terminals: Vec<Vec<TerminalId>> = Vec::new();
        let mut node_of = Vec::with_capacity(design.terminals.len());
        for id in design.terminals.ids() {
            let root = joined.find_mut(id.0);
            let node = *number.entry(root).or_insert_with(|| {
                terminals.push(Vec::new());
                terminals.len() as u32 - 1
            });
            terminals[node as usize].push(id);
            node_of.push(node);
        }
        let mut metal = Self {
            node_of,
            n_nodes: terminals.len(),
            terminals,
            runs: Vec::new(),
            edges: Vec::new(),
            graph: Multigraph::default(),
            idle: FxHashMap::default(),
            edge_of_wire: vec![NONE; design.wires.len()],
        };
        metal.join(design, absent);
        metal
    }

    fn join(&mut self, design: &Design, absent: &Absent) {
        let mut ends = Vec::new();
        let mut run_of: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        for (id, wire) in design.wires.entries().filter(|(id, _)| !absent.wires.contains(id)) {
            let (a, b) = (self.node(wire.from.terminal), self.node(wire.to.terminal));
            if a == b {
                self.idle.entry(a).or_default().push(id);
                continue;
            }
            let edge = *run_of.entry((a.min(b), a.max(b))).or_insert_with(|| {
                self.runs.push(Vec::new());
                self.edges.push(EdgeKind::Run(self.runs.len() as u32 - 1));
                ends.push((a, b));
                ends.len() as u32 - 1
            });
            if let EdgeKind::Run(run) = self.edges[edge as usize] {
                self.runs[run as usize].push(id);
            }
            self.edge_of_wire[id.index()] = edge;
        }
        let mut add = |kind: EdgeKind, a: Option<TerminalId>, b: Option<TerminalId>| {
            if let (Some(a), Some(b)) = (a, b) {
                let (a, b) = (self.node_of[a.index()], self.node_of[b.index()]);
                if a != b {
                    self.edges.push(kind);
                    ends.push((a, b));
                }
            }
        };
        for (id, component) in design.components.entries() {
            if absent.components.contains(&id) {
                continue;
            }
            let terminal = |role| component.terminal(design, role);
            use TerminalRole as R;
            match &component.body {
                Body::Fuse(_) | Body::Breaker(_) => {
                    add(EdgeKind::Device(id), terminal(R::Line), terminal(R::Load));
                }
                Body::Switch(_) => add(EdgeKind::Switch(id), terminal(R::A), terminal(R::B)),
                Body::Plug(_) => add(EdgeKind::Plug(id), terminal(R::A), terminal(R::B)),
                Body::Cutoff(_) => add(EdgeKind::Cutoff(id), terminal(R::Line), terminal(R::Load)),
                Body::Meter(_) => add(EdgeKind::Shunt(id), terminal(R::Bat), terminal(R::Sys)),
                Body::Charger(charger) if charger.common => {
                    add(EdgeKind::Common(id), terminal(R::InMinus), terminal(R::OutMinus));
                }
                Body::Alternator(alternator) => {
                    let chassis = alternator.returns.map(|chassis| design.components[chassis].first_terminal);
                    add(EdgeKind::Returns(id), terminal(R::Minus), chassis);
                }
                Body::Load(load) => {
                    let chassis = load.returns.map(|chassis| design.components[chassis].first_terminal);
                    add(EdgeKind::Returns(id), terminal(R::Minus), chassis);
                }
                _ => {}
            }
        }
        for (id, lead) in design.data.entries().filter(|(_, lead)| !lead.isolated) {
            let negative = |terminal: TerminalId| data_negative(design, design.terminals[terminal].component);
            add(EdgeKind::Data(id), negative(lead.from.terminal), negative(lead.to.terminal));
        }
        self.graph = Multigraph::new(self.n_nodes, ends);
    }

    pub(crate) fn node(&self, terminal: TerminalId) -> u32 {
        self.node_of[terminal.index()]
    }

    /// What an edge carries from its first end to its second, and back.
    pub(crate) fn capacity(&self, design: &Design, edge: u32) -> super::arrival::Capacity {
        use super::arrival::Capacity;
        match self.edges[edge as usize] {
            EdgeKind::Device(id) => {
                let rating = rating(design, id);
                Capacity { forth: rating, back: rating }
            }
            EdgeKind::Cutoff(_) => Capacity { forth: UNLIMITED, back: 0 },
            _ => Capacity::METAL,
        }
    }

    /// Wires, closed switches, plugs, shunts and ties: what never opens by itself and carries both ways.
    pub(crate) fn is_plain(&self, edge: u32) -> bool {
        !matches!(self.edges[edge as usize], EdgeKind::Device(_) | EdgeKind::Cutoff(_))
    }

    /// Of the edges that `keep` accepts, those on some simple way between two of `anchors`.
    pub(crate) fn between(&self, anchors: &FxHashSet<u32>, keep: impl Fn(u32) -> bool) -> FxHashSet<u32> {
        let mut roots: Vec<u32> = anchors.iter().copied().collect();
        roots.sort_unstable();
        let nodes = self.graph.reach(&roots, |edge, _| keep(edge));
        let local: FxHashMap<u32, u32> =
            nodes.iter().enumerate().map(|(at, node)| (*node, at as u32)).collect();
        let mut edges = Vec::new();
        for node in &nodes {
            let own = self.graph.at(*node).iter().filter(|(edge, other)| node < other && keep(*edge));
            edges.extend(own.map(|row| row.0));
        }
        let ends = edges
            .iter()
            .map(|edge| {
                let (a, b) = self.graph.ends(*edge);
                (local[&a], local[&b])
            })
            .collect();
        let inner = Multigraph::new(nodes.len(), ends);
        let part = inner.components(|_| true);
        let blocks = inner.blocks(|_| true);
        let mut below: Vec<u32> = nodes.iter().map(|node| u32::from(anchors.contains(node))).collect();
        let mut all: FxHashMap<u32, u32> = FxHashMap::default();
        for (at, n) in below.iter().enumerate() {
            *all.entry(part[at]).or_default() += n;
        }
        let mut found = FxHashSet::default();
        for block in &blocks.all {
            let ways = || block.nodes.iter().skip(1).map(|node| below[*node as usize]);
            let sum: u32 = ways().sum();
            let beyond = all[&part[block.nodes[0] as usize]] - sum;
            let n_sides = ways().filter(|n| 0 < *n).count() + usize::from(0 < beyond);
            if 1 < n_sides {
                found.extend(block.edges.iter().map(|edge| edges[*edge as usize]));
            }
            below[block.nodes[0] as usize] += sum;
        }
        found
    }
}

/// The negative that a data lead joins at a component.
pub(crate) fn data_negative(design: &Design, id: ComponentId) -> Option<TerminalId> {
    let component = &design.components[id];
    let role = match component.kind {
        Kind::Meter => TerminalRole::Bat,
        Kind::Charger => TerminalRole::OutMinus,
        _ => TerminalRole::Minus,
    };
    component.terminal(design, role)
}

/// The rating of a protective device.
pub(crate) fn rating(design: &Design, id: ComponentId) -> Micro {
    match &design.components[id].body {
        Body::Fuse(fuse) => micro(fuse.rating),
        Body::Breaker(breaker) => micro(breaker.rating),
        _ => UNLIMITED,
    }
}

/// The two-pole ports of every component, in order; a charger's input and output apart.
pub(crate) fn ports(design: &Design, absent: &Absent) -> Vec<Port> {
    let mut ports = Vec::new();
    for (id, component) in design.components.entries() {
        if absent.components.contains(&id) {
            continue;
        }
        let terminal = |role| component.terminal(design, role);
        let mut add = |plus: Vec<TerminalId>, minus: Option<TerminalId>, source: bool| {
            if let (false, Some(minus)) = (plus.is_empty(), minus) {
                ports.push(Port { component: id, plus, minus, source });
            }
        };
        match &component.body {
            Body::Battery(_) | Body::Alternator(_) | Body::Supply(_) | Body::Solar(_) => {
                add(terminal(TerminalRole::Plus).into_iter().collect(), terminal(TerminalRole::Minus), true);
            }
            Body::Inverter(_) | Body::Load(_) | Body::Hub(_) => {
                add(terminal(TerminalRole::Plus).into_iter().collect(), terminal(TerminalRole::Minus), false);
            }
            Body::Charger(charger) => {
                if charger.feed != Feed::Ac {
                    let plus = terminal(TerminalRole::InPlus).into_iter().collect();
                    add(plus, terminal(TerminalRole::InMinus), false);
                }
                let plus = component
                    .terminals(design)
                    .filter(|row| matches!(row.1, TerminalRole::OutPlus | TerminalRole::OutPlusNumber(_)))
                    .map(|row| row.0)
                    .collect();
                add(plus, terminal(TerminalRole::OutMinus), true);
            }
            _ => {}
        }
    }
    ports
}
