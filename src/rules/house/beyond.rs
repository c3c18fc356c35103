//! What lies beyond each edge of the metal graph: the loads that it feeds, in one walk over the whole design.

use crate::circuit::{EdgeKind, NONE};
use crate::design::{ComponentId, Kind};
use crate::rules::Context;

/// Declared demand, and what stands on each side of an edge.
#[derive(Debug, Clone, Copy, Default)]
struct Sum {
    amps: f64,
    /// Loads that do not state what they take.
    unknown: u32,
    sources: u32,
}

impl Sum {
    fn add(&mut self, other: Self) {
        self.amps += other.amps;
        self.unknown += other.unknown;
        self.sources += other.sources;
    }

    fn without(self, other: Self) -> Self {
        Self {
            amps: (self.amps - other.amps).max(0.0),
            unknown: self.unknown - other.unknown,
            sources: self.sources - other.sources,
        }
    }

    fn demand(self) -> Option<f64> {
        (self.unknown == 0).then_some(self.amps)
    }
}

/// Sums by node and part, and the pieces of metal between devices.
pub(super) struct Beyond {
    /// Of a node and all that a walk over the metal found after it.
    below: Vec<Sum>,
    /// The edge by which the walk came to a node.
    by: Vec<u32>,
    total: Vec<Sum>,
    bridge: Vec<bool>,
    /// The piece of metal without devices that each node is in.
    pub(super) section: Vec<u32>,
    /// The smallest ampacity of each section's live wires.
    least: Vec<f64>,
    /// Devices with one side in each section.
    pub(super) devices: Vec<Vec<ComponentId>>,
}

impl Beyond {
    pub(super) fn new(cx: &Context<'_>) -> Self {
        let circuit = cx.circuit;
        let graph = &circuit.metal.graph;
        let n_nodes = graph.n_nodes();
        let own = own_sums(cx, n_nodes);
        let (mut by, mut seen) = (vec![NONE; n_nodes], vec![false; n_nodes]);
        let mut order: Vec<u32> = Vec::with_capacity(n_nodes);
        for start in 0..n_nodes as u32 {
            if std::mem::replace(&mut seen[start as usize], true) {
                continue;
            }
            let mut at = order.len();
            order.push(start);
            while let Some(node) = order.get(at).copied() {
                at += 1;
                for (edge, other) in graph.at(node) {
                    if !std::mem::replace(&mut seen[*other as usize], true) {
                        by[*other as usize] = *edge;
                        order.push(*other);
                    }
                }
            }
        }
        let mut below = own;
        let n_parts = circuit.part.iter().max().map_or(0, |most| *most as usize + 1);
        let mut total = vec![Sum::default(); n_parts];
        for node in order.into_iter().rev() {
            let sum = below[node as usize];
            match by[node as usize] {
                NONE => total[circuit.part[node as usize] as usize].add(sum),
                edge => below[graph.other(edge, node) as usize].add(sum),
            }
        }
        let blocks = graph.blocks(|_| true);
        let bridge = (0..graph.n_edges() as u32).map(|edge| blocks.is_bridge(edge)).collect();
        let is_device = |edge: u32| matches!(circuit.metal.edges[edge as usize], EdgeKind::Device(_));
        let section = graph.components(|edge| !is_device(edge));
        let n_sections = section.iter().max().map_or(0, |most| *most as usize + 1);
        let (mut least, mut devices) = (vec![f64::INFINITY; n_sections], vec![Vec::new(); n_sections]);
        for edge in 0..graph.n_edges() as u32 {
            let (a, b) = graph.ends(edge);
            let (a, b) = (section[a as usize] as usize, section[b as usize] as usize);
            if let EdgeKind::Device(id) = circuit.metal.edges[edge as usize]
                && a != b
            {
                devices[a].push(id);
                devices[b].push(id);
            }
            if circuit.is_live(graph.ends(edge).0) {
                for wire in circuit.wires(edge) {
                    least[a] = least[a].min(cx.ampacity(*wire).as_amps() / circuit.share(*wire));
                }
            }
        }
        Self { below, by, total, bridge, section, least, devices }
    }

    /// What stands on the two sides of an edge that joins them alone; the first is that of the edge's first end.
    fn sides(&self, cx: &Context<'_>, edge: u32) -> Option<(Sum, Sum)> {
        if !self.bridge[edge as usize] {
            return None;
        }
        let (a, b) = cx.circuit.metal.graph.ends(edge);
        let total = self.total[cx.circuit.part[a as usize] as usize];
        if self.by[a as usize] == edge {
            let here = self.below[a as usize];
            return Some((here, total.without(here)));
        }
        let here = self.below[b as usize];
        Some((total.without(here), here))
    }

    /// What the loads beyond an edge draw together.
    pub(super) fn demand(&self, cx: &Context<'_>, edge: u32) -> Option<f64> {
        let (a, _) = cx.circuit.metal.graph.ends(edge);
        match self.sides(cx, edge) {
            None => self.total[cx.circuit.part[a as usize] as usize].demand(),
            Some((one, other)) if one.sources == 0 => one.demand().filter(|_| 0 < other.sources),
            Some((one, other)) if other.sources == 0 => other.demand().filter(|_| 0 < one.sources),
            Some((one, other)) => Some(one.demand()?.max(other.demand()?)),
        }
    }

    /// The smallest ampacity beside a device, on the sides that it feeds.
    pub(super) fn protects(&self, cx: &Context<'_>, edge: u32) -> Option<f64> {
        let (a, b) = cx.circuit.metal.graph.ends(edge);
        let least = |node: u32| self.least[self.section[node as usize] as usize];
        let amps = match self.sides(cx, edge) {
            Some((one, other)) if one.sources == 0 && 0 < other.sources => least(a),
            Some((one, other)) if other.sources == 0 && 0 < one.sources => least(b),
            _ => least(a).min(least(b)),
        };
        amps.is_finite().then_some(amps)
    }
}

/// Demand and sources at each node: by positives in live metal, by negatives elsewhere.
fn own_sums(cx: &Context<'_>, n_nodes: usize) -> Vec<Sum> {
    let circuit = cx.circuit;
    let mut own = vec![Sum::default(); n_nodes];
    for port in circuit.ports.iter().filter(|port| !port.source) {
        let kind = cx.design.components[port.component].kind;
        let demand = cx.circuit.demand_of(port.component);
        let takes = matches!(kind, Kind::Load | Kind::Inverter | Kind::Charger);
        let sum = Sum {
            amps: demand.map_or(0.0, crate::units::Current::as_amps),
            unknown: u32::from(takes && demand.is_none()),
            sources: 0,
        };
        let plus = port.plus.iter().map(|plus| circuit.metal.node(*plus)).find(|node| circuit.is_live(*node));
        let minus = Some(circuit.metal.node(port.minus)).filter(|node| !circuit.is_live(*node));
        for node in plus.into_iter().chain(minus) {
            own[node as usize].add(sum);
        }
    }
    for source in &circuit.sources {
        let minus = Some(&source.minus).filter(|node| !circuit.is_live(**node));
        for node in source.plus.iter().chain(minus) {
            own[*node as usize].sources += 1;
        }
    }
    own
}
