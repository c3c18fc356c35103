//! When protective devices open in a fault, and which of them its current passes.
//!
//! Times are the gates of the book, taken at their slowest: a device is known to open within the time of the last gate that
//! its current has passed, not sooner, since a standard promises nothing between two gates. Past the last gate its I²t stays.

use rustc_hash::FxHashMap;

use crate::book::{Book, Gate};
use crate::circuit::{Circuit, CutTerm, EdgeKind, NONE, Nodes, UNLIMITED};
use crate::design::{Body, ComponentId, FuseType, TerminalId};
use crate::units::{Current, HeatIntegral, SLACK, Time};

use super::Faults;

/// When a device opens at a current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Opening {
    /// Nothing promises that it ever does.
    Never,
    /// Within this time at the latest.
    Within(Time),
    /// No gate of its type and no stated I²t tells.
    Unknown,
}

/// From this multiple of its rating on a stated I²t holds, and a type needs a gate to be judged for time.
const FAULT_MULTIPLE: f64 = 3.0;

/// What opening times depend on.
#[derive(Debug, Clone, Copy)]
struct Device {
    /// Of a fuse that states it.
    kind: Option<FuseType>,
    untyped: bool,
    rating: Current,
    i2t: Option<HeatIntegral>,
}

impl Device {
    fn of(body: &Body) -> Option<Self> {
        match body {
            Body::Fuse(fuse) => Some(Self {
                kind: fuse.kind,
                untyped: fuse.kind.is_none(),
                rating: fuse.rating,
                i2t: fuse.i2t,
            }),
            Body::Breaker(breaker) => {
                Some(Self { kind: None, untyped: false, rating: breaker.rating, i2t: breaker.i2t })
            }
            _ => None,
        }
    }

    fn gates<'b>(&self, book: &'b Book) -> &'b [Gate] {
        if self.untyped { &[] } else { book.gates(self.kind, self.rating) }
    }
}

/// When a fuse or breaker opens at a current at the latest.
#[must_use]
pub fn opens(book: &Book, body: &Body, current: Current) -> Opening {
    let Some(device) = Device::of(body) else { return Opening::Never };
    let multiple = current / device.rating * (1.0 + SLACK);
    if current.within(device.rating) {
        return Opening::Never;
    }
    let timed = || {
        let gates = device.gates(book).iter();
        gates.filter_map(|gate| Some((gate.multiple, gate.slowest_s?)))
    };
    if timed().next().is_some_and(|first| multiple < first.0) {
        return Opening::Never;
    }
    if let Some(i2t) = device.i2t.filter(|_| FAULT_MULTIPLE <= multiple) {
        return Opening::Within(Time::seconds(i2t.as_a2s() / current.as_amps().powi(2)));
    }
    let Some((last, slowest)) = timed().next_back().filter(|last| FAULT_MULTIPLE <= last.0) else {
        return Opening::Unknown;
    };
    if last <= multiple {
        return Opening::Within(Time::seconds(
            slowest * (last * device.rating.as_amps() / current.as_amps()).powi(2),
        ));
    }
    let passed = timed().take_while(|gate| gate.0 <= multiple).last();
    passed.map_or(Opening::Never, |gate| Opening::Within(Time::seconds(gate.1)))
}

/// The least current at which a device is known to open within any time; its rating, where its type has no gate.
pub(crate) fn least_current(book: &Book, body: &Body) -> Option<Current> {
    let device = Device::of(body)?;
    let first = device.gates(book).iter().find(|gate| gate.slowest_s.is_some());
    Some(device.rating * first.map_or(1.0, |gate| gate.multiple))
}

/// Before when a device does not open at a current: the gate that lies next above it. Past the last one the I²t of that
/// stays. `None` where the type's gates have no such time.
#[must_use]
pub fn holds(book: &Book, body: &Body, current: Current) -> Option<Time> {
    let device = Device::of(body)?;
    let multiple = current / device.rating * (1.0 - SLACK);
    let timed = || device.gates(book).iter().filter_map(|gate| Some((gate.multiple, gate.fastest_s?)));
    if let Some(next) = timed().find(|gate| multiple <= gate.0) {
        return Some(Time::seconds(next.1));
    }
    let (last, fastest) = timed().next_back()?;
    Some(Time::seconds(fastest * (last * device.rating.as_amps() / current.as_amps()).powi(2)))
}

/// How the nodes of a circuit are reached from its unlimited sources.
#[derive(Debug)]
pub(crate) struct Guards {
    /// The nearest device on the shortest way from them to each node; of ways of the same length, on that with least ahead.
    nearest: Vec<u32>,
    /// Of each bridge, unlimited sources and takers on the side of its first end, and of its second.
    sides: Vec<([u64; 2], [u64; 2])>,
    edge_of: FxHashMap<ComponentId, u32>,
}

impl Guards {
    pub(crate) fn new(circuit: &Circuit<'_>) -> Self {
        let graph = &circuit.metal.graph;
        let n_nodes = circuit.metal.n_nodes;
        let mut at = vec![[0_u64; 2]; n_nodes];
        let mut order = Vec::new();
        let mut seen = vec![false; n_nodes];
        for source in circuit.sources.iter().filter(|source| UNLIMITED <= source.limit) {
            for plus in &source.plus {
                at[*plus as usize][0] += 1;
                if !std::mem::replace(&mut seen[*plus as usize], true) {
                    order.push(*plus);
                }
            }
        }
        for port in circuit.ports.iter().filter(|port| !port.source) {
            for plus in &port.plus {
                at[circuit.metal.node(*plus) as usize][1] += 1;
            }
        }
        let sides = circuit.blocks().sides(graph, &circuit.part, &at);
        let devices = circuit.metal.edges.iter().enumerate().filter_map(|(edge, kind)| match kind {
            EdgeKind::Device(id) => Some((*id, edge as u32)),
            _ => None,
        });
        let mut guards = Self { nearest: vec![NONE; n_nodes], sides, edge_of: devices.collect() };
        let mut steps = vec![0_u32; n_nodes];
        let mut next = 0;
        while let Some(node) = order.get(next).copied() {
            next += 1;
            let ahead = steps[node as usize] + 1;
            for (edge, to) in graph.at(node) {
                let is_device = matches!(circuit.metal.edges[*edge as usize], EdgeKind::Device(_));
                let device = if is_device { *edge } else { guards.nearest[node as usize] };
                let known = guards.nearest[*to as usize];
                if !std::mem::replace(&mut seen[*to as usize], true) {
                    (guards.nearest[*to as usize], steps[*to as usize]) = (device, ahead);
                    order.push(*to);
                } else if steps[*to as usize] == ahead
                    && guards.alone(circuit, device) < guards.alone(circuit, known)
                {
                    // Of two ways of the same length the one that promises less, whichever is written first.
                    guards.nearest[*to as usize] = device;
                }
            }
        }
        guards
    }

    /// How much stands ahead of what a device feeds: no device, one beside other ways, one that all comes through.
    fn alone(&self, circuit: &Circuit<'_>, device: u32) -> u8 {
        match device {
            NONE => 0,
            device if self.fed_from(circuit, device).is_none() => 1,
            _ => 2,
        }
    }

    /// The end of an edge from which alone unlimited sources feed it, where there is no other way around.
    pub(crate) fn fed_from(&self, circuit: &Circuit<'_>, edge: u32) -> Option<u32> {
        if !circuit.blocks().is_bridge(edge) {
            return None;
        }
        let (a, b) = circuit.metal.graph.ends(edge);
        let (first, second) = self.sides[edge as usize];
        match (first[0], second[0]) {
            (1.., 0) => Some(a),
            (0, 1..) => Some(b),
            _ => None,
        }
    }

    /// How many takers are fed through such an edge.
    pub(crate) fn takers_beyond(&self, circuit: &Circuit<'_>, edge: u32) -> u64 {
        let (first, second) = self.sides[edge as usize];
        match self.fed_from(circuit, edge) {
            Some(node) if node == circuit.metal.graph.ends(edge).0 => second[1],
            Some(_) => first[1],
            None => 0,
        }
    }

    /// The devices in series on the only way from the unlimited sources to a node, the nearest first, and whether these are
    /// all: false where the way goes on through a mesh.
    pub(crate) fn series(&self, circuit: &Circuit<'_>, node: u32) -> (Vec<u32>, bool) {
        /// More in series than any real circuit has.
        const MOST: usize = 16;
        let mut devices = Vec::new();
        let mut edge = self.nearest[node as usize];
        while edge != NONE && devices.len() < MOST {
            let Some(from) = self.fed_from(circuit, edge) else { return (devices, false) };
            devices.push(edge);
            edge = self.nearest[from as usize];
        }
        (devices, true)
    }

    /// The edge of a protective device.
    pub(crate) fn edge_of(&self, device: ComponentId) -> Option<u32> {
        self.edge_of.get(&device).copied()
    }

    /// The devices of a minimum cut around `node` that unlimited sources feed from beyond.
    pub(crate) fn fed_devices(
        &self,
        circuit: &Circuit<'_>,
        cut: &[CutTerm],
        node: u32,
        without: Option<u32>,
    ) -> Vec<ComponentId> {
        let devices: Vec<ComponentId> = cut
            .iter()
            .map(|term| term.component)
            .filter(|id| circuit.design.components[*id].kind.is_protective())
            .collect();
        if cut.len() < 2 || !circuit.may_look() {
            return devices;
        }
        let graph = &circuit.metal.graph;
        let edges: Vec<u32> = devices.iter().filter_map(|id| self.edge_of.get(id).copied()).collect();
        let (nodes, near) = graph.spread(&[node], |edge, _| Some(edge) != without && !edges.contains(&edge));
        circuit.look(nodes.len());
        let fed =
            |id: &ComponentId| self.edge_of.get(id).is_some_and(|edge| self.feeds(circuit, *edge, &near));
        devices.into_iter().filter(fed).collect()
    }

    /// Whether unlimited sources feed through an edge into the nodes at one of its ends.
    pub(crate) fn feeds(&self, circuit: &Circuit<'_>, edge: u32, near: &Nodes) -> bool {
        if !circuit.blocks().is_bridge(edge) {
            return true;
        }
        let (first, second) = self.sides[edge as usize];
        let beyond = if near.contains(circuit.metal.graph.ends(edge).0) { second } else { first };
        0 < beyond[0]
    }

    /// Every device that the current of a fault at a terminal passes, with what it carries: the whole where it is in series,
    /// in a mesh its part by rating of what the devices of the minimum cut let through together.
    pub(crate) fn passed(
        &self,
        circuit: &Circuit<'_>,
        faults: &Faults,
        terminal: TerminalId,
    ) -> Vec<(ComponentId, Current)> {
        use crate::design::Id;
        let Some(current) = faults.smallest[terminal.index()] else { return Vec::new() };
        let node = circuit.metal.node(terminal);
        let (series, whole) = self.series(circuit, node);
        let component = |edge: &u32| circuit.metal.edges[*edge as usize].component();
        let mut passed: Vec<(ComponentId, Current)> =
            series.iter().filter_map(component).map(|id| (id, current)).collect();
        if series.is_empty() && !whole && circuit.arriving_at(node) < UNLIMITED {
            let cut = circuit.cut_at(node);
            passed.extend(divided(circuit, &self.fed_devices(circuit, &cut, node, None), current));
        }
        passed
    }
}

/// Each device with its part of a current, by rating.
pub(crate) fn divided(
    circuit: &Circuit<'_>,
    devices: &[ComponentId],
    current: Current,
) -> Vec<(ComponentId, Current)> {
    let rating = |id: &ComponentId| crate::circuit::current(circuit.device_rating(*id));
    let all: Current = devices.iter().map(rating).sum();
    devices.iter().map(|id| (*id, current * (rating(id) / all))).collect()
}
