//! The circuit of a design: nodes, metal, live and return graphs, what can flow, and the unprotected stretches.
//!
//! Knows nothing of the text but the ids that lead back to it. Amounts are whole microamperes inside, currents outside.

mod arrival;
mod circulation;
mod flow;
mod graph;
mod metal;
mod meter;
mod sources;
mod steady;
mod stretch;
#[cfg(test)]
mod tests;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::book::{Book, ShareLimit};
use crate::check::{Flow, Role};
use crate::design::{Body, ComponentId, DataId, Design, Id, Kind, TerminalId, WireId};
use crate::units::{Current, Length, Resistance, Voltage};

pub(crate) use arrival::Term;
use arrival::{Arrival, Capacity, Feed};
pub(crate) use flow::{Micro, UNLIMITED, current, flow, micro};
pub(crate) use graph::{Blocks, Multigraph, NONE, Nodes};
use metal::{Absent, Metal};
pub(crate) use metal::{EdgeKind, Port, data_negative};
pub(crate) use meter::{MeterView, Side};
use sources::Ground;
pub(crate) use sources::{Fault, Source, Subject};
pub(crate) use steady::Steady;
pub(crate) use stretch::{Hit, Origin};

/// Contact resistance of a joint where the design assumes none (common practice, no source).
pub(crate) const CONTACT: Resistance = Resistance::ohms(1e-4);

/// What a data lead's conductor is where no size is stated.
pub(crate) const DATA_SIZE: crate::units::Size = crate::units::Size::Metric(crate::units::Area::mm2(0.14));

/// The temperature at which published resistances are given.
const ROOM: crate::units::Temperature = crate::units::Temperature::celsius(20.0);

/// A design's circuit.
#[derive(Debug)]
pub(crate) struct Circuit<'d> {
    pub(crate) design: &'d Design,
    pub(crate) book: &'d Book,
    pub(crate) metal: Metal,
    pub(crate) sources: Vec<Source>,
    /// Component of the metal graph of each node.
    pub(crate) part: Vec<u32>,
    live: Vec<bool>,
    returning: Vec<bool>,
    /// Links inside strings.
    links: FxHashSet<u32>,
    cranking: Vec<bool>,
    /// Loads that a starter's circuit feeds.
    starters: FxHashSet<ComponentId>,
    pub(crate) cranking_restarts: bool,
    /// Two-pole ports, in order.
    pub(crate) ports: Vec<Port>,
    arrival: Arrival,
    /// Feeds of the arrival, by source.
    feed_source: Vec<u32>,
    circulation: Vec<Capacity>,
    in_plain_loop: Vec<bool>,
    pub(crate) origins: Vec<Origin>,
    /// Hits of each edge, in order of origins.
    hits: FxHashMap<u32, Vec<Hit>>,
    /// Hits of wires with both ends on one node, by that node.
    idle: std::cell::OnceCell<FxHashMap<u32, Vec<Hit>>>,
    pub(crate) ampacity: Vec<Current>,
    conductance: Vec<f64>,
    sources_by_part: FxHashMap<u32, Vec<u32>>,
    /// The highest nominal voltage of the sources with a terminal on a part of the metal graph.
    nominal_of: Vec<Option<Voltage>>,
    /// Parts of the metal graph that hold a link inside a string.
    middles: FxHashSet<u32>,
    /// Unlimited sources, those of one bank together, by number.
    pub(crate) banks: Vec<Vec<usize>>,
    meters: std::cell::OnceCell<Vec<MeterView>>,
    blocks: std::cell::OnceCell<Blocks>,
    steady: std::cell::OnceCell<Vec<Option<Steady>>>,
    starting: std::cell::OnceCell<Vec<Micro>>,
    /// How many nodes have been looked at for the details of messages.
    looked: std::cell::Cell<usize>,
    /// How many conductors lie in each wire's largest bundle.
    pub(crate) bundled: FxHashMap<WireId, u32>,
    /// The source that each component's positive belongs to.
    source_of: FxHashMap<ComponentId, u32>,
    /// Faults that were set aside.
    pub(crate) faults: Vec<Fault>,
    /// Wires that were set aside with them.
    pub(crate) absent_wires: FxHashSet<WireId>,
}

impl<'d> Circuit<'d> {
    /// Builds the circuit, sets shorts and reversed polarity aside, and computes all that the rules share.
    pub(crate) fn new(design: &'d Design, book: &'d Book) -> Self {
        let mut absent = Absent::default();
        let (ground, faults) = sources::set_aside(design, &mut absent);
        Self::build(design, book, ground, &absent, faults)
    }

    /// The circuit with nothing set aside, for what only the absence of something sets off.
    pub(crate) fn whole(design: &'d Design, book: &'d Book) -> Self {
        let absent = Absent::default();
        Self::build(design, book, Ground::new(design, &absent), &absent, Vec::new())
    }

    fn build(
        design: &'d Design,
        book: &'d Book,
        ground: Ground,
        absent: &Absent,
        faults: Vec<Fault>,
    ) -> Self {
        let sources = ground.sources(design);
        let Ground { metal, singles: single, strings } = ground;
        let part = metal.graph.components(|_| true);
        let n_parts = part.iter().max().map_or(0, |most| *most as usize + 1);
        let mut live = vec![false; n_parts];
        let mut returning = vec![false; n_parts];
        for source in &sources {
            returning[part[source.minus as usize] as usize] = true;
            for plus in &source.plus {
                live[part[*plus as usize] as usize] = true;
            }
        }
        let (cranking, starters) = cranking(design, &metal);
        let ports = metal::ports(design, absent);
        let (arrival, feed_source) = arrival(design, &metal, &sources, &ports, &starters, &part, &live);
        let circulation = circulation(design, &metal, &single, &ports, &starters);
        let plain = metal.graph.blocks(|edge| metal.is_plain(edge));
        let in_plain_loop = (0..metal.graph.n_edges() as u32)
            .map(|edge| metal.is_plain(edge) && !plain.is_bridge(edge))
            .collect();
        let mut nominal_of = vec![None; n_parts];
        for source in &sources {
            for node in source.plus.iter().chain([&source.minus]) {
                let highest = &mut nominal_of[part[*node as usize] as usize];
                *highest = match (*highest, voltage(design, source)) {
                    (Some(one), Some(other)) => Some(Voltage::max(one, other)),
                    (one, other) => one.or(other),
                };
            }
        }
        let bundled = crowding(design, book, |wire| {
            nominal_of[part[metal.node(design.wires[wire].from.terminal) as usize] as usize]
        });
        let (ampacity, conductance) = conductors(design, book, &bundled);
        let mut sources_by_part: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
        for (number, source) in sources.iter().enumerate() {
            for plus in &source.plus {
                let row = sources_by_part.entry(part[*plus as usize]).or_default();
                if row.last() != Some(&(number as u32)) {
                    row.push(number as u32);
                }
            }
        }
        let mut source_of: FxHashMap<ComponentId, u32> = FxHashMap::default();
        for (number, source) in sources.iter().enumerate().filter(|(_, source)| !source.tap) {
            for member in &source.members {
                source_of.entry(*member).or_insert(number as u32);
            }
        }
        let middles = strings.links.iter().map(|edge| part[metal.graph.ends(*edge).0 as usize]).collect();
        let mut circuit = Self {
            design,
            book,
            sources,
            part,
            live,
            returning,
            links: strings.links,
            cranking,
            starters,
            cranking_restarts: book.cranking_exempt() && book.cranking_restarts(),
            ports,
            arrival,
            feed_source,
            circulation,
            in_plain_loop,
            origins: Vec::new(),
            hits: FxHashMap::default(),
            idle: std::cell::OnceCell::new(),
            ampacity,
            conductance,
            sources_by_part,
            nominal_of,
            middles,
            banks: Vec::new(),
            meters: std::cell::OnceCell::new(),
            blocks: std::cell::OnceCell::new(),
            steady: std::cell::OnceCell::new(),
            starting: std::cell::OnceCell::new(),
            looked: std::cell::Cell::new(0),
            bundled,
            source_of,
            faults,
            absent_wires: absent.wires.clone(),
            metal,
        };
        circuit.banks = circuit.find_banks();
        circuit.origins = circuit.find_origins();
        circuit.hits = stretch::find(&circuit, &circuit.origins);
        circuit
    }

    // --- Names and places -------------------------------------------------------------------------------------------

    pub(crate) fn name(&self, id: ComponentId) -> &'d str {
        &self.design.components[id].name
    }

    /// How a node is called: by its bar, post or chassis, else by the terminal of the element that matters most there.
    pub(crate) fn node_name(&self, node: u32) -> String {
        let rank = |terminal: TerminalId| match self.design.components
            [self.design.terminals[terminal].component]
            .kind
        {
            Kind::Bar | Kind::Chassis | Kind::Post => 0,
            Kind::Battery => 1,
            Kind::Alternator | Kind::Supply | Kind::Solar | Kind::Charger => 2,
            Kind::Meter => 3,
            _ => 4,
        };
        self.metal.terminals[node as usize]
            .iter()
            .min_by_key(|terminal| (rank(**terminal), terminal.0))
            .map_or_else(String::new, |terminal| self.design.terminal_name(*terminal))
    }

    /// What an edge is called in a chain of names.
    pub(crate) fn edge_name(&self, edge: u32) -> String {
        match self.metal.edges[edge as usize] {
            EdgeKind::Run(run) => {
                let wires = &self.metal.runs[run as usize];
                let names: Vec<&str> =
                    wires.iter().map(|wire| self.design.wires[*wire].name.as_str()).collect();
                names.join("+")
            }
            EdgeKind::Data(id) => self.design.data[id].name.clone(),
            EdgeKind::Common(id) => format!("the link inside {}", self.name(id)),
            EdgeKind::Returns(id) => format!("the mounting of {}", self.name(id)),
            EdgeKind::Device(id)
            | EdgeKind::Switch(id)
            | EdgeKind::Plug(id)
            | EdgeKind::Cutoff(id)
            | EdgeKind::Shunt(id) => self.name(id).into(),
        }
    }

    // --- Wires ------------------------------------------------------------------------------------------------------

    /// The edge of a wire, unless it is absent or has both ends on one node.
    pub(crate) fn edge(&self, wire: WireId) -> Option<u32> {
        Some(self.metal.edge_of_wire[wire.index()]).filter(|edge| *edge != NONE)
    }

    /// The wires of an edge.
    pub(crate) fn wires(&self, edge: u32) -> &[WireId] {
        match self.metal.edges[edge as usize] {
            EdgeKind::Run(run) => &self.metal.runs[run as usize],
            _ => &[],
        }
    }

    /// The node of a wire's first end.
    pub(crate) fn wire_nodes(&self, wire: WireId) -> (u32, u32) {
        let wire = &self.design.wires[wire];
        (self.metal.node(wire.from.terminal), self.metal.node(wire.to.terminal))
    }

    /// A link inside a string of batteries.
    pub(crate) fn is_link(&self, wire: WireId) -> bool {
        !self.links.is_empty() && self.edge(wire).is_some_and(|edge| self.links.contains(&edge))
    }

    /// The nominal voltage of the circuit that a wire is in: the highest of the sources with a terminal on its metal.
    pub(crate) fn nominal(&self, wire: WireId) -> Option<Voltage> {
        self.nominal_of[self.part[self.wire_nodes(wire).0 as usize] as usize]
    }

    pub(crate) fn role(&self, wire: WireId) -> Role {
        let is_link = self.is_link(wire);
        let node = self.wire_nodes(wire).0;
        if self.absent_wires.contains(&wire) || is_link {
            Role::Other
        } else if self.is_live(node) {
            Role::Live
        } else if self.design.wires[wire].bond {
            Role::Bond
        } else if self.is_return(node) {
            Role::Return
        } else {
            Role::Other
        }
    }

    /// In the live graph.
    pub(crate) fn is_live(&self, node: u32) -> bool {
        self.live[self.part[node as usize] as usize]
    }

    /// In the return graph and not in the live graph.
    pub(crate) fn is_return(&self, node: u32) -> bool {
        let part = self.part[node as usize] as usize;
        self.returning[part] && !self.live[part]
    }

    /// A wire's part of what its run carries, by conductance.
    pub(crate) fn share(&self, wire: WireId) -> f64 {
        let wires = match self.edge(wire) {
            Some(edge) => self.wires(edge),
            None => self.metal.idle.get(&self.wire_nodes(wire).0).map_or(&[][..], Vec::as_slice),
        };
        if wires.len() < 2 {
            return 1.0;
        }
        let all: f64 = wires.iter().map(|wire| self.conductance[wire.index()]).sum();
        self.conductance[wire.index()] / all
    }

    /// How many wires lie between the same two nodes, this one included.
    pub(crate) fn wires_beside(&self, wire: WireId) -> usize {
        self.edge(wire).map_or(1, |edge| self.wires(edge).len())
    }

    /// The resistance of a wire at 20 °C, all its conductors together, with the contacts at their ends.
    pub(crate) fn joined_resistance(&self, wire: WireId) -> Resistance {
        let contact = self.design.assume.contact.unwrap_or(CONTACT).as_ohms();
        let count = f64::from(self.design.wires[wire].count);
        Resistance::ohms(self.wire_resistance(wire).as_ohms() + 2.0 * contact / count)
    }

    /// The resistance of an edge at 20 °C, contacts apart.
    pub(crate) fn resistance(&self, edge: u32) -> Resistance {
        let contact = self.design.assume.contact.unwrap_or(CONTACT).as_ohms();
        match self.metal.edges[edge as usize] {
            EdgeKind::Run(_) => {
                let all: f64 =
                    self.wires(edge).iter().map(|wire| 1.0 / self.joined_resistance(*wire).as_ohms()).sum();
                Resistance::ohms(1.0 / all)
            }
            EdgeKind::Data(id) => {
                let lead = &self.design.data[id];
                let size = lead.size.unwrap_or(DATA_SIZE);
                Resistance::ohms(
                    per_metre(self.design, self.book, size, ROOM).as_ohms() * lead.length.as_metres()
                        + 2.0 * contact,
                )
            }
            EdgeKind::Shunt(id) => match &self.design.components[id].body {
                Body::Meter(meter) => match (meter.drop, meter.full_scale) {
                    (Some(drop), Some(full_scale)) => drop / full_scale,
                    _ => Resistance::ohms(contact),
                },
                _ => Resistance::ohms(contact),
            },
            _ => Resistance::ohms(contact),
        }
    }

    /// The resistance of a wire's own conductors at 20 °C, contacts apart.
    pub(crate) fn wire_resistance(&self, wire: WireId) -> Resistance {
        Resistance::ohms(1.0 / self.conductance[wire.index()])
    }

    /// Length of an edge and whether it is sheathed; what is no wire has no length. Of wires side by side the shortest
    /// counts, and of equally short ones all have to be sheathed.
    pub(crate) fn length_of(&self, edge: u32) -> (Length, bool) {
        let wires = || self.wires(edge).iter().map(|wire| &self.design.wires[*wire]);
        let Some(shortest) = wires().map(|wire| wire.length.as_metres()).reduce(f64::min) else {
            return (Length::metres(0.0), true);
        };
        let sheathed = wires().filter(|wire| wire.length.as_metres() <= shortest).all(|wire| wire.sheathed);
        (Length::metres(shortest), sheathed)
    }

    pub(crate) fn is_short_link(&self, edge: u32) -> bool {
        let wires = self.wires(edge);
        !wires.is_empty()
            && wires.iter().all(|wire| self.design.wires[*wire].length.within(self.book.bank_link()))
    }

    /// An edge of wires that are all cranking wires on a way to a starter.
    pub(crate) fn is_cranking(&self, edge: u32) -> bool {
        let wires = self.wires(edge);
        !wires.is_empty() && wires.iter().all(|wire| self.cranking[wire.index()])
    }

    /// A cranking wire that the book exempts.
    pub(crate) fn is_exempt(&self, wire: WireId) -> bool {
        self.cranking[wire.index()] && self.book.cranking_exempt()
    }

    // --- What can flow ----------------------------------------------------------------------------------------------

    /// What arrives at the two ends of an edge, without it.
    pub(crate) fn arriving(&self, edge: u32) -> (Micro, Micro) {
        self.arrival.ends(edge)
    }

    /// What arrives at a node.
    pub(crate) fn arriving_at(&self, node: u32) -> Micro {
        self.arrival.at(node)
    }

    /// What can arrive at a wire's run in all: the larger of its ends'.
    pub(crate) fn let_through(&self, wire: WireId) -> Micro {
        match self.edge(wire) {
            Some(edge) => {
                let (a, b) = self.arriving(edge);
                a.max(b)
            }
            None if self.absent_wires.contains(&wire) => 0,
            None => self.arriving_at(self.wire_nodes(wire).0),
        }
    }

    /// The terms of the minimum cut that bounds an edge's let-through, nearest first by number.
    pub(crate) fn cut(&self, edge: u32) -> Vec<CutTerm> {
        let (at_a, at_b) = self.arriving(edge);
        let (a, b) = self.metal.graph.ends(edge);
        // Of two ends at which the same arrives, the one that does not depend on which end of a wire is written first.
        let first = if at_a == at_b { a < b } else { at_b < at_a };
        self.terms(self.arrival.cut(edge, if first { a } else { b }))
    }

    /// The terms of the minimum cut of what arrives at one end of an edge, without the edge.
    pub(crate) fn cut_from(&self, edge: u32, end: u32) -> Vec<CutTerm> {
        self.terms(self.arrival.cut(edge, end))
    }

    /// The terms of the minimum cut of all that arrives at a node.
    pub(crate) fn cut_at(&self, node: u32) -> Vec<CutTerm> {
        self.terms(self.arrival.cut_at(node))
    }

    fn terms(&self, terms: Vec<Term>) -> Vec<CutTerm> {
        let mut cut: Vec<CutTerm> = terms
            .into_iter()
            .filter_map(|term| match term {
                // Only devices have a finite capacity; what joins a charger's outputs has none.
                Term::Edge(edge) => match self.metal.edges.get(edge as usize) {
                    Some(EdgeKind::Device(id)) => {
                        Some(CutTerm { component: *id, amount: metal::rating(self.design, *id) })
                    }
                    _ => None,
                },
                Term::Feed(feed) => {
                    let source = &self.sources[self.feed_source[feed as usize] as usize];
                    Some(CutTerm { component: source.component, amount: source.limit })
                }
            })
            .collect();
        cut.sort_unstable_by_key(|term| term.component);
        cut.dedup();
        cut
    }

    /// What can circulate through an edge; `None` where its ends stay joined by plain metal without it.
    pub(crate) fn circulation(&self, edge: u32) -> Option<Micro> {
        let around = self.circulation[edge as usize];
        (!self.in_plain_loop[edge as usize]).then_some(around.forth.max(around.back))
    }

    /// The same as told to users, for one wire of a run.
    pub(crate) fn share_of(&self, wire: WireId, amount: Micro) -> Flow {
        match flow(amount) {
            Flow::Limited(current) => Flow::Limited(current * self.share(wire)),
            other => other,
        }
    }

    /// The stretches that a wire is on; one with both ends on one node of a stretch is on it, and on no way to a device.
    pub(crate) fn hits_of_wire(&self, wire: WireId) -> Vec<Hit> {
        if let Some(edge) = self.edge(wire) {
            return self.hits(edge).copied().collect();
        }
        let node = self.wire_nodes(wire).0;
        if self.absent_wires.contains(&wire) || self.metal.idle.is_empty() {
            return Vec::new();
        }
        let idle = self.idle.get_or_init(|| stretch::idle(self));
        idle.get(&node).cloned().unwrap_or_default()
    }

    /// The stretches that an edge is on.
    pub(crate) fn hits(&self, edge: u32) -> impl Iterator<Item = &Hit> {
        self.hits.get(&edge).into_iter().flatten()
    }

    /// From the origin to the far end of one wire of the run.
    pub(crate) fn hit_length(&self, hit: &Hit, wire: WireId) -> Length {
        hit.near + self.design.wires[wire].length
    }

    /// Sheathed all along, the wire itself included.
    pub(crate) fn is_sheathed(&self, hit: &Hit, wire: WireId) -> bool {
        hit.sheathed && self.design.wires[wire].sheathed
    }

    /// The book's distance for a wire on a stretch.
    pub(crate) fn distance(&self, hit: &Hit, wire: WireId) -> Length {
        let battery = self.origins[hit.origin as usize].battery;
        if hit.link {
            self.book.bank_link()
        } else {
            self.book.distance(battery, self.is_sheathed(hit, wire))
        }
    }

    /// Whether a wire keeps to its distance; a bank's links do by their own length.
    pub(crate) fn is_near(&self, hit: &Hit, wire: WireId) -> bool {
        hit.link || self.hit_length(hit, wire).within(self.distance(hit, wire))
    }

    /// What an edge on a permitted stretch has to bear.
    pub(crate) fn burden(hit: &Hit) -> Micro {
        hit.devices.max(hit.joining)
    }

    /// Whether a message may still look around for a detail. In a design of thousands of findings those after the first
    /// leave out what takes a walk over the circuit, so that the cost stays in proportion to the design.
    pub(crate) fn may_look(&self) -> bool {
        const MOST: usize = 100_000_000;
        self.looked.get() < MOST
    }

    /// Counts nodes that have been looked at for a detail.
    pub(crate) fn look(&self, n_nodes: usize) {
        self.looked.set(self.looked.get().saturating_add(n_nodes));
    }

    /// The devices, or the limited sources, that an edge on a stretch has to bear.
    pub(crate) fn burden_terms(&self, hit: &Hit) -> Vec<CutTerm> {
        let (devices, joining) = self.followers(hit);
        let members = if hit.joining <= hit.devices { devices } else { joining };
        let amount = |id| self.source_of(id).map_or_else(|| self.device_rating(id), |source| source.limit);
        members.into_iter().map(|component| CutTerm { component, amount: amount(component) }).collect()
    }

    /// Devices that follow an edge on the stretch of one origin, and limited sources that join beyond it.
    pub(crate) fn followers(&self, hit: &Hit) -> (Vec<ComponentId>, Vec<ComponentId>) {
        if hit.edge == NONE {
            return (Vec::new(), Vec::new());
        }
        if !self.may_look() {
            return (Vec::new(), Vec::new());
        }
        let graph = &self.metal.graph;
        // The feed of a starter may fall into parts; only the one that the edge is in counts.
        let (a, b) = graph.ends(hit.edge);
        let either = |edge: u32, node: u32| {
            stretch::passes(self, edge, node) || stretch::passes(self, edge, graph.other(edge, node))
        };
        let around = graph.reached(&[a], either);
        let origins = &self.origins[hit.origin as usize].nodes;
        let origins: Vec<u32> = origins.iter().copied().filter(|node| around.contains(*node)).collect();
        let Some(first) = origins.first() else { return (Vec::new(), Vec::new()) };
        let (mut nodes, zone) = graph.spread(&origins, |edge, node| stretch::passes(self, edge, node));
        // Beyond the edge: what the origins do not reach without it, or all, where they do or lie on both sides.
        let cut_off = |edge: u32, node: u32| edge != hit.edge && stretch::passes(self, edge, node);
        let near = graph.reached(&[*first], cut_off);
        self.look(3 * nodes.len() + self.sources.len());
        let split = near.contains(a) != near.contains(b) && origins.iter().all(|node| near.contains(*node));
        let beyond = |node: &u32| zone.contains(*node) && (!split || !near.contains(*node));
        let mut devices = Vec::new();
        let mut joining = Vec::new();
        nodes.retain(beyond);
        for node in nodes {
            for (edge, other) in graph.at(node) {
                match self.metal.edges[*edge as usize] {
                    EdgeKind::Device(id) if !zone.contains(*other) => devices.push(id),
                    _ => {}
                }
            }
        }
        for source in &self.sources {
            if source.plus.iter().any(beyond) && source.limit < UNLIMITED {
                if source.fused { devices.push(source.component) } else { joining.push(source.component) }
            }
        }
        devices.sort_unstable();
        devices.dedup();
        (devices, joining)
    }

    // --- Sources ----------------------------------------------------------------------------------------------------

    /// Sources whose positive is in this part of the metal graph.
    pub(crate) fn sources_on(&self, part: u32) -> impl Iterator<Item = &Source> {
        self.sources_by_part.get(&part).into_iter().flatten().map(|at| &self.sources[*at as usize])
    }

    /// The nominal voltage of a live part and the source that gives it: a battery, else the first that states one.
    pub(crate) fn network(&self, part: u32) -> Option<(Voltage, ComponentId)> {
        let on = || self.sources_on(part).filter(|source| source.kind != Kind::Solar);
        let battery = on().find(|source| source.kind == Kind::Battery);
        let source = battery.or_else(|| on().find(|source| source.nominal.is_some()))?;
        Some((source.nominal?, source.component))
    }

    /// Parts of the metal graph that a source's positives and its negative are on, a pair for each positive.
    pub(crate) fn poles(&self, source: &Source) -> impl Iterator<Item = (u32, u32)> {
        let minus = self.part[source.minus as usize];
        source.plus.iter().map(move |plus| (self.part[*plus as usize], minus))
    }

    fn find_origins(&self) -> Vec<Origin> {
        let mut origins = Vec::new();
        for bank in &self.banks {
            let mut nodes = Vec::new();
            for source in bank {
                for plus in &self.sources[*source].plus {
                    if !nodes.contains(plus) {
                        nodes.push(*plus);
                    }
                }
            }
            let Some(first) = bank.first().map(|at| &self.sources[*at]) else { continue };
            origins.push(Origin {
                component: first.component,
                nodes,
                battery: first.kind == Kind::Battery,
                cranking: false,
            });
        }
        if self.cranking_restarts {
            let feeds: Vec<Origin> = origins.iter().filter_map(|origin| self.cranking_feed(origin)).collect();
            origins.extend(feeds);
        }
        origins
    }

    /// The nodes of the cranking feed of a battery, its own terminal apart.
    fn cranking_feed(&self, origin: &Origin) -> Option<Origin> {
        let starts = |node: &u32| self.metal.graph.at(*node).iter().any(|(edge, _)| self.is_cranking(*edge));
        let from: Vec<u32> = origin.nodes.iter().copied().filter(starts).collect();
        if from.is_empty() {
            return None;
        }
        let feed = self.metal.graph.reach(&from, |edge, node| {
            self.is_cranking(edge)
                || (matches!(
                    self.metal.edges[edge as usize],
                    EdgeKind::Switch(_) | EdgeKind::Plug(_) | EdgeKind::Shunt(_)
                ) && !origin.nodes.contains(&node))
        });
        let nodes: Vec<u32> = feed.into_iter().filter(|node| !origin.nodes.contains(node)).collect();
        (!nodes.is_empty()).then_some(Origin {
            component: origin.component,
            nodes,
            battery: false,
            cranking: true,
        })
    }

    fn find_banks(&self) -> Vec<Vec<usize>> {
        let unlimited: Vec<usize> = (0..self.sources.len())
            .filter(|at| UNLIMITED <= self.sources[*at].limit && !self.sources[*at].plus.is_empty())
            .collect();
        if unlimited.len() < 2 {
            return unlimited.into_iter().map(|at| vec![at]).collect();
        }
        let positive = self.metal.graph.components(|edge| self.is_short_link(edge));
        let negative = self
            .metal
            .graph
            .components(|edge| !matches!(self.metal.edges[edge as usize], EdgeKind::Device(_)));
        let mut banks: Vec<Vec<usize>> = Vec::new();
        let mut known: FxHashMap<(u32, u32, Option<crate::design::Chemistry>, u64), usize> =
            FxHashMap::default();
        for at in unlimited {
            let source = &self.sources[at];
            let Body::Battery(battery) = &self.design.components[source.component].body else {
                banks.push(vec![at]);
                continue;
            };
            if source.tap {
                banks.push(vec![at]);
                continue;
            }
            let key = (
                positive[source.plus[0] as usize],
                negative[source.minus as usize],
                battery.chemistry,
                source.nominal.map_or(0, |nominal| nominal.as_volts().to_bits()),
            );
            let bank = *known.entry(key).or_insert_with(|| {
                banks.push(Vec::new());
                banks.len() - 1
            });
            banks[bank].push(at);
        }
        banks
    }

    /// Every battery that stands with this one in a bank or string, itself included.
    pub(crate) fn together(&self, id: ComponentId) -> FxHashSet<ComponentId> {
        let mut all: FxHashSet<ComponentId> = FxHashSet::from_iter([id]);
        for bank in &self.banks {
            let members: Vec<ComponentId> =
                bank.iter().flat_map(|at| self.sources[*at].members.iter().copied()).collect();
            if members.contains(&id) {
                all.extend(members);
            }
        }
        for source in self.sources.iter().filter(|source| source.members.contains(&id)) {
            all.extend(source.members.iter().copied());
        }
        all
    }

    /// In a part of the metal graph that holds a link inside a string.
    pub(crate) fn is_middle(&self, node: u32) -> bool {
        self.middles.contains(&self.part[node as usize])
    }

    /// The rating of a protective device.
    pub(crate) fn device_rating(&self, id: ComponentId) -> Micro {
        metal::rating(self.design, id)
    }

    /// The blocks of the metal graph.
    pub(crate) fn blocks(&self) -> &Blocks {
        self.blocks.get_or_init(|| self.metal.graph.blocks(|_| true))
    }

    /// A load at whose positive a cranking wire ends.
    pub(crate) fn is_starter(&self, id: ComponentId) -> bool {
        self.starters.contains(&id)
    }

    /// What an edge carries for good by the ratings of all that is on it; `None` where they cannot tell.
    pub(crate) fn steady(&self, edge: u32) -> Option<Steady> {
        self.steady.get_or_init(|| steady::find(self))[edge as usize]
    }

    /// What starters take for a short time through an edge that alone joins them to a battery; 0 for others.
    pub(crate) fn starting(&self, edge: u32) -> Micro {
        if self.starters.is_empty() {
            return 0;
        }
        self.starting.get_or_init(|| steady::starting(self))[edge as usize]
    }

    /// Every meter with what lies on its sides.
    pub(crate) fn meters(&self) -> &[MeterView] {
        self.meters.get_or_init(|| meter::views(self))
    }

    /// The source that a component's positive belongs to, the whole string for a member.
    pub(crate) fn source_of(&self, id: ComponentId) -> Option<&Source> {
        self.source_of.get(&id).map(|number| &self.sources[*number as usize])
    }
}

/// One term of a minimum cut: a device or a limited source, and what it lets pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct CutTerm {
    pub(crate) component: ComponentId,
    pub(crate) amount: Micro,
}

/// Wires that are in a starter's circuit, and the starters.
fn cranking(design: &Design, metal: &Metal) -> (Vec<bool>, FxHashSet<ComponentId>) {
    let mut marked = vec![false; design.wires.len()];
    let mut starters = FxHashSet::default();
    if !design.wires.iter().any(|wire| wire.cranking) {
        return (marked, starters);
    }
    let is_marked = |edge: u32| match metal.edges[edge as usize] {
        EdgeKind::Run(run) => metal.runs[run as usize].iter().any(|wire| design.wires[*wire].cranking),
        _ => false,
    };
    let mut roots = Vec::new();
    for port in metal::ports(design, &Absent::default()) {
        let is_load = design.components[port.component].kind == Kind::Load;
        let plus = metal.node(port.plus[0]);
        if is_load && metal.graph.at(plus).iter().any(|(edge, _)| is_marked(*edge)) {
            starters.insert(port.component);
            roots.extend([plus, metal.node(port.minus)]);
        }
    }
    let on_the_way = |edge: u32| {
        is_marked(edge)
            || matches!(
                metal.edges[edge as usize],
                EdgeKind::Switch(_) | EdgeKind::Plug(_) | EdgeKind::Shunt(_) | EdgeKind::Device(_)
            )
    };
    for node in metal.graph.reach(&roots, |edge, _| on_the_way(edge)) {
        for (edge, _) in metal.graph.at(node) {
            if let EdgeKind::Run(run) = metal.edges[*edge as usize] {
                for wire in &metal.runs[run as usize] {
                    marked[wire.index()] |= design.wires[*wire].cranking;
                }
            }
        }
    }
    (marked, starters)
}

/// The arrivals of the live graph, with the source of each feed.
fn arrival(
    design: &Design,
    metal: &Metal,
    sources: &[Source],
    ports: &[Port],
    starters: &FxHashSet<ComponentId>,
    part: &[u32],
    live: &[bool],
) -> (Arrival, Vec<u32>) {
    let n_edges = metal.graph.n_edges() as u32;
    let mut ends: Vec<(u32, u32)> = (0..n_edges).map(|edge| metal.graph.ends(edge)).collect();
    let mut capacity: Vec<Capacity> = (0..n_edges).map(|edge| metal.capacity(design, edge)).collect();
    let is_live = |node: u32| live[part[node as usize] as usize];
    for port in ports.iter().filter(|port| !port.source && !starters.contains(&port.component)) {
        let minus = metal.node(port.minus);
        for plus in port.plus.iter().map(|plus| metal.node(*plus)) {
            if is_live(minus) && is_live(plus) && plus != minus {
                ends.push((plus, minus));
                capacity.push(Capacity { forth: UNLIMITED, back: 0 });
            }
        }
    }
    let mut n_nodes = metal.n_nodes as u32;
    let mut feeds = Vec::new();
    let mut feed_source = Vec::new();
    for (number, source) in sources.iter().enumerate() {
        let node = match source.plus.as_slice() {
            [] => continue,
            [plus] => *plus,
            several => {
                // One limit for several outputs: a node of its own that feeds them all.
                for plus in several {
                    ends.push((n_nodes, *plus));
                    capacity.push(Capacity { forth: UNLIMITED, back: 0 });
                }
                n_nodes += 1;
                n_nodes - 1
            }
        };
        if 0 < source.limit {
            feeds.push(Feed { node, limit: source.limit });
            feed_source.push(number as u32);
        }
    }
    (Arrival::new(Multigraph::new(n_nodes as usize, ends), capacity, feeds), feed_source)
}

/// What can circulate through each edge of the metal graph.
fn circulation(
    design: &Design,
    metal: &Metal,
    singles: &[Source],
    ports: &[Port],
    starters: &FxHashSet<ComponentId>,
) -> Vec<Capacity> {
    let n_edges = metal.graph.n_edges();
    let mut ends: Vec<(u32, u32)> = (0..n_edges as u32).map(|edge| metal.graph.ends(edge)).collect();
    let mut capacity: Vec<Capacity> = (0..n_edges as u32).map(|edge| metal.capacity(design, edge)).collect();
    let mut add = |from: u32, to: u32, forth: Micro, back: Micro| {
        if from != to {
            ends.push((from, to));
            capacity.push(Capacity { forth, back });
        }
    };
    for port in ports.iter().filter(|port| !port.source && !starters.contains(&port.component)) {
        for plus in &port.plus {
            add(metal.node(*plus), metal.node(port.minus), UNLIMITED, 0);
        }
    }
    let mut n_nodes = metal.n_nodes as u32;
    for source in singles {
        let back = if source.kind == Kind::Battery { UNLIMITED } else { 0 };
        match source.plus.as_slice() {
            [plus] => add(source.minus, *plus, source.limit, back),
            several => {
                add(source.minus, n_nodes, source.limit, 0);
                for plus in several {
                    add(n_nodes, *plus, UNLIMITED, 0);
                }
                n_nodes += 1;
            }
        }
    }
    let mut around = circulation::around(n_nodes as usize, &ends, &capacity);
    around.truncate(n_edges);
    around
}

/// Resistance of one metre of a copper conductor as the design assumes it to be made.
pub(crate) fn per_metre(
    design: &Design,
    book: &Book,
    size: crate::units::Size,
    temperature: crate::units::Temperature,
) -> Resistance {
    let strand = design.assume.strand.unwrap_or(crate::design::Strand::Class5);
    let coating = design.assume.copper.unwrap_or(crate::design::Coating::Plain);
    book.resistance_per_metre(size, strand, coating, temperature)
}

/// Ampacity and conductance of every wire.
fn conductors(design: &Design, book: &Book, bundled: &FxHashMap<WireId, u32>) -> (Vec<Current>, Vec<f64>) {
    let ampacity =
        design.wires.ids().map(|id| book.ampacity(&conductor(design, book, bundled, id))).collect();
    let conductance = design
        .wires
        .iter()
        .map(|wire| {
            let ohms = per_metre(design, book, wire.size, ROOM).as_ohms() * wire.length.as_metres();
            let clad = if wire.aluminium_clad {
                book.share(ShareLimit::AluminiumCladConductivity).as_ratio()
            } else {
                1.0
            };
            (clad * f64::from(wire.count) / ohms).clamp(1e-9, 1e12)
        })
        .collect();
    (ampacity, conductance)
}

/// The nominal voltage of a source, and of modules, which have none, that of their open circuit.
fn voltage(design: &Design, source: &Source) -> Option<Voltage> {
    let open_circuit = |id: &ComponentId| match &design.components[*id].body {
        Body::Solar(solar) => solar.voc,
        _ => None,
    };
    source.nominal.or_else(|| source.members.iter().map(open_circuit).sum())
}

/// How many conductors lie in each wire's largest bundle; 1 without one. Bonds carry nothing for good and do not count,
/// nor do conductors below the voltage from which the book has bundles at all.
fn crowding(
    design: &Design,
    book: &Book,
    nominal: impl Fn(WireId) -> Option<Voltage>,
) -> FxHashMap<WireId, u32> {
    let mut bundled: FxHashMap<WireId, u32> = FxHashMap::default();
    for bundle in &design.bundles {
        let wires: Vec<WireId> =
            bundle.wires.iter().copied().filter(|wire| book.bundles_at(nominal(*wire))).collect();
        let loaded = wires.iter().map(|wire| &design.wires[*wire]).filter(|wire| !wire.bond);
        let n: u32 = loaded.map(|wire| wire.count).fold(0, u32::saturating_add);
        for wire in &wires {
            let most = bundled.entry(*wire).or_insert(1);
            *most = (*most).max(n);
        }
    }
    bundled
}

/// The temperature around what lies in no zone.
fn ambient(design: &Design) -> crate::units::Temperature {
    design.assume.ambient.unwrap_or(crate::units::Temperature::celsius(30.0))
}

/// The conductor of a data lead that ties two negatives, as the book's tables need it.
pub(crate) fn lead_conductor(design: &Design, book: &Book, id: DataId) -> crate::book::Conductor {
    crate::book::Conductor {
        size: design.data[id].size.unwrap_or(DATA_SIZE),
        insulation: design.assume.insulation.unwrap_or(book.insulation_assumed()),
        ambient: ambient(design),
        bundled: 1,
        count: 1,
        aluminium_clad: false,
    }
}

/// A wire as the book's tables need it.
pub(crate) fn conductor(
    design: &Design,
    book: &Book,
    bundled: &FxHashMap<WireId, u32>,
    id: WireId,
) -> crate::book::Conductor {
    let wire = &design.wires[id];
    let ambient = wire
        .zones
        .iter()
        .map(|zone| design.zones[*zone].ambient)
        .reduce(crate::units::Temperature::max)
        .unwrap_or(ambient(design));
    crate::book::Conductor {
        size: wire.size,
        insulation: wire.insulation.or(design.assume.insulation).unwrap_or(book.insulation_assumed()),
        ambient,
        bundled: bundled.get(&id).copied().unwrap_or(1),
        count: wire.count,
        aluminium_clad: wire.aluminium_clad,
    }
}
