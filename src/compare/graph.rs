//! A design as a graph of its named elements, for finding which is which in another: components, wires, data leads, zones,
//! bundles and modes, with an edge for everything by which one is told from its like.

use std::hash::{DefaultHasher, Hash, Hasher};

use super::facts::{self, Fact};
use crate::design::{
    Body, Bundle, Component, ComponentId, DataId, DataLead, Design, End, FitId, Id, Mode, ModeId, Place,
    Wire, WireId, Zone, ZoneId,
};

/// No vertex.
pub(super) const NONE: u32 = u32::MAX;

/// What a vertex stands for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Element<'d> {
    Component(&'d Component),
    Wire(&'d Wire),
    Data(&'d DataLead),
    Zone(&'d Zone),
    Bundle(&'d Bundle),
    Mode(&'d Mode),
}

impl<'d> Element<'d> {
    pub(super) fn name(self) -> &'d str {
        match self {
            Self::Component(component) => &component.name,
            Self::Wire(wire) => &wire.name,
            Self::Data(lead) => &lead.name,
            Self::Zone(zone) => &zone.name,
            Self::Bundle(bundle) => &bundle.name,
            Self::Mode(mode) => &mode.name,
        }
    }

    pub(super) fn place(self) -> Place {
        match self {
            Self::Component(component) => component.place,
            Self::Wire(wire) => wire.place,
            Self::Data(lead) => lead.place,
            Self::Zone(zone) => zone.place,
            Self::Bundle(bundle) => bundle.place,
            Self::Mode(mode) => mode.place,
        }
    }

    /// The word of its statement.
    pub(super) fn kind(self) -> &'static str {
        match self {
            Self::Component(component) => component.kind.word(),
            Self::Wire(_) => "wire",
            Self::Data(_) => "data",
            Self::Zone(_) => "zone",
            Self::Bundle(_) => "bundle",
            Self::Mode(_) => "mode",
        }
    }

    /// What decides whether two can be the same under other names.
    fn ratings(self) -> Vec<Fact> {
        match self {
            Self::Component(component) => facts::ratings(component),
            Self::Wire(wire) => facts::wire(wire, false),
            Self::Data(lead) => facts::data(lead),
            Self::Zone(zone) => facts::zone(zone),
            Self::Bundle(_) | Self::Mode(_) => Vec::new(),
        }
    }

    /// What else it states.
    fn remarks(self) -> Vec<Fact> {
        match self {
            Self::Component(component) => facts::remarks(component),
            Self::Mode(mode) => facts::mode(mode),
            _ => Vec::new(),
        }
    }

    /// All that it states of itself; of a wire whose ends have changed places, from its second end.
    pub(super) fn facts(self, turned: bool) -> Vec<Fact> {
        match self {
            Self::Wire(wire) => facts::wire(wire, turned),
            _ => self.ratings().into_iter().chain(self.remarks()).collect(),
        }
    }
}

/// An edge: how it is joined, and to which vertex.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Edge {
    pub(super) label: u64,
    pub(super) to: u32,
}

/// Sorts of vertices, each sort's together.
const SORTS: usize = 6;
const WIRE: usize = 1;
const DATA: usize = 2;

/// The named elements of a design with what joins them.
pub(super) struct Graph<'d> {
    pub(super) design: &'d Design,
    /// The first vertex of each sort, and one past the last of all.
    first: [u32; SORTS + 1],
    /// By vertex: what decides whether two can be the same, by value.
    pub(super) rated: Vec<u64>,
    /// By vertex: all that it states of itself.
    pub(super) stated: Vec<u64>,
    starts: Vec<u32>,
    edges: Vec<Edge>,
}

impl<'d> Graph<'d> {
    pub(super) fn new(design: &'d Design) -> Self {
        let sizes = [
            design.components.len(),
            design.wires.len(),
            design.data.len(),
            design.zones.len(),
            design.bundles.len(),
            design.modes.len(),
        ];
        let mut first = [0; SORTS + 1];
        for (sort, size) in sizes.iter().enumerate() {
            first[sort + 1] = first[sort] + u32::try_from(*size).unwrap_or(0);
        }
        let mut graph = Self {
            design,
            first,
            rated: Vec::new(),
            stated: Vec::new(),
            starts: Vec::new(),
            edges: Vec::new(),
        };
        for vertex in graph.vertices() {
            let element = graph.element(vertex);
            let (rated, stated) = hashes(element);
            graph.rated.push(rated);
            graph.stated.push(stated);
        }
        graph.join();
        graph
    }

    /// Every vertex.
    pub(super) fn vertices(&self) -> std::ops::Range<u32> {
        0..self.first[SORTS]
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.first[SORTS] as usize
    }

    /// What sort it is; only those of one sort can be the same.
    pub(super) fn sort(&self, vertex: u32) -> usize {
        self.first[1..SORTS].partition_point(|first| *first <= vertex)
    }

    /// Whether it is a conductor with two ends, which are its first two edges.
    pub(super) fn has_ends(&self, vertex: u32) -> bool {
        matches!(self.sort(vertex), WIRE | DATA)
    }

    /// Whether it is a component.
    pub(super) fn is_component(&self, vertex: u32) -> bool {
        self.sort(vertex) == 0
    }

    /// What it stands for.
    pub(super) fn element(&self, vertex: u32) -> Element<'d> {
        let sort = self.sort(vertex);
        let at = (vertex - self.first[sort]) as usize;
        let design = self.design;
        match sort {
            0 => Element::Component(&design.components[ComponentId::from_index(at)]),
            WIRE => Element::Wire(&design.wires[WireId::from_index(at)]),
            DATA => Element::Data(&design.data[DataId::from_index(at)]),
            3 => Element::Zone(&design.zones[ZoneId::from_index(at)]),
            4 => Element::Bundle(&design.bundles[at]),
            _ => Element::Mode(&design.modes[ModeId::from_index(at)]),
        }
    }

    /// Its name.
    pub(super) fn name(&self, vertex: u32) -> &'d str {
        self.element(vertex).name()
    }

    /// The fit that it came with.
    pub(super) fn fit(&self, vertex: u32) -> Option<FitId> {
        self.element(vertex).place().fit
    }

    /// What it is joined to.
    pub(super) fn edges(&self, vertex: u32) -> &[Edge] {
        let at = vertex as usize;
        &self.edges[self.starts[at] as usize..self.starts[at + 1] as usize]
    }

    /// The far side of a conductor that is joined to `near` by `label`.
    pub(super) fn far(&self, conductor: u32, near: Edge) -> Option<Edge> {
        match self.edges(conductor) {
            [a, b, ..] if *a == near => Some(*b),
            [a, _, ..] => Some(*a),
            _ => None,
        }
    }

    fn component(&self, id: ComponentId) -> u32 {
        id.0
    }

    fn join(&mut self) {
        let design = self.design;
        let mut all: Vec<(u32, Edge)> =
            Vec::with_capacity(4 * design.wires.len() + 2 * design.components.len());
        let mut both = |vertex: u32, end: End| {
            let terminal = design.terminals[end.terminal];
            let label = label(&("end", terminal.role, end.stud));
            all.push((vertex, Edge { label, to: terminal.component.0 }));
            all.push((terminal.component.0, Edge { label, to: vertex }));
        };
        for (id, wire) in design.wires.entries() {
            both(self.first[WIRE] + id.0, wire.from);
            both(self.first[WIRE] + id.0, wire.to);
        }
        for (id, lead) in design.data.entries() {
            both(self.first[DATA] + id.0, lead.from);
            both(self.first[DATA] + id.0, lead.to);
        }
        for joint in &design.joints {
            let [a, b] = [joint.a, joint.b].map(|end| (design.terminals[end.terminal], end.stud));
            for ((near, stud), (far, far_stud)) in [(a, b), (b, a)] {
                let label = label(&("bolt", near.role, stud, far.role, far_stud));
                all.push((near.component.0, Edge { label, to: far.component.0 }));
            }
        }
        let zone = |id: ZoneId| Edge { label: label(&"zone"), to: self.first[3] + id.0 };
        for (id, wire) in design.wires.entries() {
            all.extend(wire.zones.iter().map(|at| (self.first[WIRE] + id.0, zone(*at))));
        }
        for (id, component) in design.components.entries() {
            all.extend(component.zone.map(|at| (id.0, zone(at))));
            for (what, other) in others(&component.body) {
                all.push((id.0, Edge { label: label(&what), to: self.component(other) }));
            }
        }
        for (at, bundle) in design.bundles.iter().enumerate() {
            let vertex = self.first[4] + u32::try_from(at).unwrap_or(0);
            let holds = |wire: &WireId| Edge { label: label(&"holds"), to: self.first[WIRE] + wire.0 };
            all.extend(bundle.wires.iter().map(|wire| (vertex, holds(wire))));
        }
        for (id, mode) in design.modes.entries() {
            for line in &mode.lines {
                let label = label(&("sets", super::links::state(line.state)));
                all.push((self.first[5] + id.0, Edge { label, to: line.component.0 }));
            }
        }
        self.index(&all);
    }

    /// Sorts the edges by their vertex, those of one vertex as they come.
    fn index(&mut self, all: &[(u32, Edge)]) {
        let mut starts = vec![0_u32; self.len() + 1];
        for (vertex, _) in all {
            starts[*vertex as usize + 1] += 1;
        }
        for at in 1..starts.len() {
            starts[at] += starts[at - 1];
        }
        let mut next = starts.clone();
        let mut edges = vec![Edge { label: 0, to: NONE }; all.len()];
        for (vertex, edge) in all {
            let at = &mut next[*vertex as usize];
            edges[*at as usize] = *edge;
            *at += 1;
        }
        (self.starts, self.edges) = (starts, edges);
    }
}

/// The other components that one names in its statement, each with the property.
pub(super) fn others(body: &Body) -> Vec<(&'static str, ComponentId)> {
    let one = |what, id: Option<ComponentId>| id.map(|id| (what, id));
    match body {
        Body::Alternator(alternator) => one("returns", alternator.returns).into_iter().collect(),
        Body::Load(load) => one("returns", load.returns).into_iter().chain(one("case", load.case)).collect(),
        Body::Breaker(breaker) => one("pair", breaker.pair).into_iter().collect(),
        Body::Switch(switch) => one("pair", switch.pair).into_iter().collect(),
        Body::Meter(meter) => meter.counts.iter().map(|id| ("counts", *id)).collect(),
        _ => Vec::new(),
    }
}

/// A hash that is the same in every run.
pub(super) fn label(what: &impl Hash) -> u64 {
    let mut hasher = DefaultHasher::new();
    what.hash(&mut hasher);
    hasher.finish()
}

/// Two hashes made one; the order matters.
pub(super) fn mix(a: u64, b: u64) -> u64 {
    // The finalizer of splitmix64 spreads the bits, so that sums of such hashes stay apart.
    let mut hash =
        a.wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(23) ^ b.wrapping_add(0x632b_e59b_d9b4_e019);
    hash = (hash ^ (hash >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    hash = (hash ^ (hash >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    hash ^ (hash >> 31)
}

/// Of what decides whether two can be the same, and of all that is stated.
fn hashes(element: Element<'_>) -> (u64, u64) {
    let add = |hasher: &mut DefaultHasher, facts: &[Fact]| {
        for fact in facts {
            (&fact.property, &fact.value).hash(hasher);
        }
    };
    let mut hasher = DefaultHasher::new();
    element.kind().hash(&mut hasher);
    if let Element::Wire(wire) = element {
        // Which end is written first is no matter of what the wire is.
        let [ahead, back] = [false, true].map(|turned| {
            let mut hasher = hasher.clone();
            add(&mut hasher, &facts::wire(wire, turned && wire.ends.is_some()));
            hasher.finish()
        });
        return (ahead.min(back), ahead);
    }
    add(&mut hasher, &element.ratings());
    let rated = hasher.finish();
    add(&mut hasher, &element.remarks());
    (rated, hasher.finish())
}
