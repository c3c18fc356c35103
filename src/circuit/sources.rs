//! Sources, strings of batteries, and the faults that have to be set aside before a circuit can be judged: shorts and
//! reversed polarity.

use petgraph::algo::toposort;
use petgraph::graph::DiGraph;
use petgraph::unionfind::UnionFind;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::design::{Body, ComponentId, Design, Kind, WireId};
use crate::units::Voltage;

use super::flow::{Micro, UNLIMITED, micro};
use super::metal::{Absent, EdgeKind, Metal, ports};

/// What can push current out of a positive: a battery or a string of them, an alternator, a supply, solar, a charger's output.
#[derive(Debug, Clone)]
pub(crate) struct Source {
    /// The component whose positive it is.
    pub(crate) component: ComponentId,
    /// All that it is made of, the first negative's component first.
    pub(crate) members: Vec<ComponentId>,
    /// Nodes of its positive; more than one for a charger with several outputs.
    pub(crate) plus: Vec<u32>,
    /// Node of its negative.
    pub(crate) minus: u32,
    /// Its limit; `UNLIMITED` for batteries and supplies that are neither limited nor protected.
    pub(crate) limit: Micro,
    pub(crate) kind: Kind,
    /// Nominal voltage, of all members together.
    pub(crate) nominal: Option<Voltage>,
    /// Protected inside, at its terminal.
    pub(crate) fused: bool,
    /// Only the lower part of a string, feeding what is tapped from its middle.
    pub(crate) tap: bool,
}

/// A fault that is set aside before the rest is judged.
#[derive(Debug, Clone)]
pub(crate) enum Fault {
    /// Metal joins a source's positive to its negative.
    Short {
        /// The wire that closes it, or the source.
        subject: Subject,
        /// The sources around which it runs, in turn.
        sources: Vec<ComponentId>,
    },
    /// A wire, or a battery without one, joins a positive to another source's negative.
    Polarity {
        /// The wire, or the battery.
        subject: Subject,
        /// The component at whose terminal it is found.
        component: ComponentId,
        /// That terminal is a positive.
        positive: bool,
        /// A source that it reaches wrongly.
        source: Option<ComponentId>,
    },
}

/// What a fault points at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Subject {
    /// A wire.
    Wire(WireId),
    /// A component.
    Component(ComponentId),
}

/// Sources as single components, before strings are found.
pub(crate) fn singles(design: &Design, metal: &Metal, absent: &Absent) -> Vec<Source> {
    ports(design, absent)
        .into_iter()
        .filter(|port| port.source)
        .map(|port| {
            let component = &design.components[port.component];
            let (limit, nominal, fused) = match &component.body {
                Body::Battery(battery) => (UNLIMITED, Some(battery.nominal), false),
                Body::Alternator(alternator) => (micro(alternator.maximum), alternator.nominal, false),
                Body::Supply(supply) => match (supply.fused, supply.fault, supply.maximum) {
                    (Some(rating), _, _) => (micro(rating), supply.nominal, true),
                    (None, Some(_), _) => (UNLIMITED, supply.nominal, false),
                    (None, None, Some(maximum)) => (micro(maximum), supply.nominal, false),
                    (None, None, None) => (0, supply.nominal, false),
                },
                Body::Solar(solar) => (micro(solar.isc * f64::from(solar.strings)), None, false),
                Body::Charger(charger) => (micro(charger.output_current), charger.output, false),
                _ => (0, None, false),
            };
            Source {
                component: port.component,
                members: vec![port.component],
                plus: port.plus.iter().map(|terminal| metal.node(*terminal)).collect(),
                minus: metal.node(port.minus),
                limit,
                kind: component.kind,
                nominal,
                fused,
                tap: false,
            }
        })
        .collect()
}

/// Faults without a wire of their own that are set aside one by one; a design with more is past judging anyway.
const MOST_ROUNDS: usize = 100;

/// Whether metal joins sources in a circle, over the given components of the metal graph.
fn has_circle(component: &[u32], sources: &[Source]) -> bool {
    let n = component.iter().max().map_or(0, |most| *most as usize + 1);
    let mut graph: DiGraph<(), (), u32> = DiGraph::with_capacity(n, sources.len());
    let nodes: Vec<_> = (0..n).map(|_| graph.add_node(())).collect();
    for source in sources {
        for plus in &source.plus {
            let (from, to) = (component[source.minus as usize], component[*plus as usize]);
            if from == to {
                return true;
            }
            graph.add_edge(nodes[from as usize], nodes[to as usize], ());
        }
    }
    toposort(&graph, None).is_err()
}

/// Components that grow as wires are added, with the sources whose negatives they hold.
struct Growing<'s> {
    joined: UnionFind<u32>,
    leaving: Vec<Vec<u32>>,
    sources: &'s [Source],
}

impl<'s> Growing<'s> {
    fn new(n_nodes: usize, sources: &'s [Source]) -> Self {
        let mut leaving = vec![Vec::new(); n_nodes];
        for (number, source) in sources.iter().enumerate() {
            leaving[source.minus as usize].push(number as u32);
        }
        Self { joined: UnionFind::new(n_nodes), leaving, sources }
    }

    fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.joined.find_mut(a), self.joined.find_mut(b));
        if a == b {
            return;
        }
        let mut moved = std::mem::take(&mut self.leaving[a as usize]);
        let mut kept = std::mem::take(&mut self.leaving[b as usize]);
        if kept.len() < moved.len() {
            std::mem::swap(&mut moved, &mut kept);
        }
        kept.append(&mut moved);
        self.joined.union(a, b);
        let root = self.joined.find_mut(a);
        self.leaving[root as usize] = kept;
    }

    /// The sources in turn by which one leads from `from` to `to`.
    fn way(&mut self, from: u32, to: u32) -> Option<Vec<u32>> {
        let (from, to) = (self.joined.find_mut(from), self.joined.find_mut(to));
        let mut came: FxHashMap<u32, (u32, u32)> = FxHashMap::default();
        let mut stack = vec![from];
        let mut first = true;
        while let Some(at) = stack.pop() {
            if at == to && !first {
                let mut way = Vec::new();
                let mut node = at;
                while let Some((source, before)) = came.remove(&node) {
                    way.push(source);
                    node = before;
                }
                way.reverse();
                return Some(way);
            }
            first = false;
            for source in &self.leaving[at as usize] {
                for plus in &self.sources[*source as usize].plus {
                    let next = self.joined.find_mut(*plus);
                    if next == to && next == from {
                        return Some(vec![*source]);
                    }
                    if next != from && !came.contains_key(&next) {
                        came.insert(next, (*source, at));
                        stack.push(next);
                    }
                }
            }
        }
        None
    }
}

/// A design's metal with its sources, as single components.
#[derive(Debug)]
pub(crate) struct Ground {
    pub(crate) metal: Metal,
    pub(crate) singles: Vec<Source>,
    pub(crate) strings: Strings,
}

impl Ground {
    pub(crate) fn new(design: &Design, absent: &Absent) -> Self {
        let metal = Metal::new(design, absent);
        let singles = singles(design, &metal, absent);
        let strings = Strings::find(design, &metal, &singles);
        Self { metal, singles, strings }
    }

    pub(crate) fn sources(&self, design: &Design) -> Vec<Source> {
        self.strings.join(design, &self.metal, &self.singles)
    }
}

/// Sets every short and every wrong polarity aside; gives what is left with the faults.
pub(crate) fn set_aside(design: &Design, absent: &mut Absent) -> (Ground, Vec<Fault>) {
    let mut ground = Ground::new(design, absent);
    let mut faults = Vec::new();
    for _ in 0..MOST_ROUNDS {
        if !has_circle(&ground.metal.graph.components(|_| true), &ground.singles) {
            break;
        }
        faults.extend(shorts(design, &ground, absent));
        ground = Ground::new(design, absent);
    }
    let reversed = reversed_wires(design, &ground, absent);
    if !reversed.is_empty() {
        for fault in &reversed {
            if let Fault::Polarity { subject: Subject::Wire(wire), .. } = fault {
                absent.wires.insert(*wire);
            }
        }
        faults.extend(reversed);
        ground = Ground::new(design, absent);
    }
    for _ in 0..MOST_ROUNDS {
        let Some(fault) = joined_poles(design, &ground, absent) else { break };
        faults.push(fault);
        ground = Ground::new(design, absent);
    }
    (ground, faults)
}

/// The shorts of a design, set aside: those of bolted metal alone first, else those that wires close.
fn shorts(design: &Design, ground: &Ground, absent: &mut Absent) -> Vec<Fault> {
    let Ground { metal, singles: sources, .. } = ground;
    let still = |edge: u32| !matches!(metal.edges[edge as usize], EdgeKind::Run(_));
    if has_circle(&metal.graph.components(still), sources) {
        return short_without_wire(metal, sources, absent).into_iter().collect();
    }
    let mut faults = Vec::new();
    let mut growing = Growing::new(metal.n_nodes, sources);
    let mut wires: Vec<(u32, WireId, u32)> = Vec::new();
    for (edge, kind) in metal.edges.iter().enumerate() {
        let (a, b) = metal.graph.ends(edge as u32);
        match kind {
            EdgeKind::Run(run) => wires.extend(
                metal.runs[*run as usize]
                    .iter()
                    .map(|wire| (design.wires[*wire].place.order, *wire, edge as u32)),
            ),
            _ => growing.join(a, b),
        }
    }
    wires.sort_unstable();
    let mut refused = FxHashSet::default();
    for (_, wire, edge) in wires {
        if refused.contains(&edge) {
            continue;
        }
        let (a, b) = metal.graph.ends(edge);
        if growing.joined.find_mut(a) == growing.joined.find_mut(b) {
            continue;
        }
        let Some(way) = growing.way(a, b).or_else(|| growing.way(b, a)) else {
            growing.join(a, b);
            continue;
        };
        refused.insert(edge);
        if let EdgeKind::Run(run) = metal.edges[edge as usize] {
            absent.wires.extend(metal.runs[run as usize].iter().copied());
        }
        faults.push(Fault::Short {
            subject: Subject::Wire(wire),
            sources: way.iter().map(|source| sources[*source as usize].component).collect(),
        });
    }
    faults
}

fn short_without_wire(metal: &Metal, sources: &[Source], absent: &mut Absent) -> Option<Fault> {
    let mut growing = Growing::new(metal.n_nodes, sources);
    for (edge, kind) in metal.edges.iter().enumerate() {
        if !matches!(kind, EdgeKind::Run(_)) {
            let (a, b) = metal.graph.ends(edge as u32);
            growing.join(a, b);
        }
    }
    let way = sources.iter().find_map(|source| growing.way(source.minus, source.minus))?;
    let around: Vec<ComponentId> = way.iter().map(|source| sources[*source as usize].component).collect();
    let subject = around.iter().max().copied()?;
    absent.components.insert(subject);
    Some(Fault::Short { subject: Subject::Component(subject), sources: around })
}

/// What must be alike for a string.
fn make(design: &Design, id: ComponentId) -> Option<(Option<crate::design::Chemistry>, u64, u64)> {
    match &design.components[id].body {
        Body::Battery(battery) => Some((
            battery.chemistry,
            battery.nominal.as_volts().to_bits(),
            battery.capacity.map_or(0, |capacity| capacity.as_amp_hours().to_bits()),
        )),
        Body::Solar(solar) => {
            Some((None, solar.voc.map_or(0, |voc| voc.as_volts().to_bits()), solar.isc.as_amps().to_bits()))
        }
        _ => None,
    }
}

/// The links inside strings: edges, and for each lower source the one above it.
#[derive(Debug, Default)]
pub(crate) struct Strings {
    pub(crate) links: FxHashSet<u32>,
    above: FxHashMap<usize, usize>,
    /// Nodes of links, with the lower source there.
    middles: Vec<(u32, usize)>,
}

impl Strings {
    /// Finds the links between the sources (as single components) of a design.
    pub(crate) fn find(design: &Design, metal: &Metal, sources: &[Source]) -> Self {
        let mut strings = Self::default();
        let batteries: Vec<usize> = (0..sources.len())
            .filter(|at| matches!(sources[*at].kind, Kind::Battery | Kind::Solar))
            .collect();
        if batteries.len() < 2 {
            return strings;
        }
        let blocked = |node: u32| {
            metal.terminals[node as usize].iter().any(|terminal| {
                let component = &design.components[design.terminals[*terminal].component];
                matches!(component.kind, Kind::Bar | Kind::Meter | Kind::Chassis)
            })
        };
        let allowed = |edge: u32| {
            let (a, b) = metal.graph.ends(edge);
            matches!(metal.edges[edge as usize], EdgeKind::Run(_) | EdgeKind::Device(_))
                && !blocked(a)
                && !blocked(b)
        };
        let component = metal.graph.components(allowed);
        let mut uppers: FxHashMap<u32, Vec<usize>> = FxHashMap::default();
        for at in &batteries {
            if !blocked(sources[*at].minus) {
                uppers.entry(component[sources[*at].minus as usize]).or_default().push(*at);
            }
        }
        let mut anchors: FxHashMap<u32, FxHashSet<u32>> = FxHashMap::default();
        let mut taken = FxHashSet::default();
        for lower in &batteries {
            let plus = sources[*lower].plus[0];
            let Some(candidates) = uppers.get(&component[plus as usize]) else { continue };
            if blocked(plus) {
                continue;
            }
            let alike = |upper: &usize| {
                upper != lower
                    && !taken.contains(upper)
                    && sources[*upper].kind == sources[*lower].kind
                    && make(design, sources[*upper].component) == make(design, sources[*lower].component)
            };
            let nearest = candidates
                .iter()
                .filter(|upper| alike(upper))
                .take(64)
                .filter_map(|upper| {
                    let way = metal.graph.path(plus, sources[*upper].minus, allowed)?;
                    Some((way.len(), *upper))
                })
                .min();
            if let Some((_, upper)) = nearest {
                taken.insert(upper);
                strings.above.insert(*lower, upper);
                strings.middles.push((plus, *lower));
                let anchors = anchors.entry(component[plus as usize]).or_default();
                anchors.insert(plus);
                anchors.insert(sources[upper].minus);
            }
        }
        let mut groups: Vec<_> = anchors.into_iter().collect();
        groups.sort_by_key(|group| group.0);
        for (_, nodes) in groups {
            strings.links.extend(metal.between(&nodes, allowed));
        }
        strings
    }

    /// Joins the members of strings; with the lower parts that feed a tap, marked so.
    pub(crate) fn join(&self, design: &Design, metal: &Metal, sources: &[Source]) -> Vec<Source> {
        let uppers: FxHashSet<usize> = self.above.values().copied().collect();
        let tapped = self.tapped(design, metal, sources);
        let mut joined = Vec::with_capacity(sources.len());
        for (at, source) in sources.iter().enumerate() {
            if uppers.contains(&at) {
                continue;
            }
            let mut whole = source.clone();
            let mut top = at;
            while let Some(upper) = self.above.get(&top) {
                if tapped.contains(&top) {
                    joined.push(Source { tap: true, ..whole.clone() });
                }
                let upper_source = &sources[*upper];
                whole.members.push(upper_source.component);
                whole.component = upper_source.component;
                whole.plus.clone_from(&upper_source.plus);
                whole.limit = whole.limit.min(upper_source.limit);
                whole.nominal = match (whole.nominal, upper_source.nominal) {
                    (Some(a), Some(b)) => Some(a + b),
                    _ => None,
                };
                top = *upper;
            }
            joined.push(whole);
        }
        joined
    }

    /// Lower members at whose link something else hangs.
    fn tapped(&self, design: &Design, metal: &Metal, sources: &[Source]) -> FxHashSet<usize> {
        let mut tapped = FxHashSet::default();
        if self.middles.is_empty() {
            return tapped;
        }
        let members: FxHashSet<ComponentId> = sources.iter().map(|source| source.component).collect();
        for (node, lower) in &self.middles {
            let nodes = metal.graph.reach(&[*node], |_, _| true);
            let other = nodes.iter().any(|node| {
                metal.graph.at(*node).iter().any(|(edge, _)| !self.links.contains(edge))
                    || metal.terminals[*node as usize].iter().any(|terminal| {
                        let id = design.terminals[*terminal].component;
                        let kind = design.components[id].kind;
                        let member = members.contains(&id) && matches!(kind, Kind::Battery | Kind::Solar);
                        let hardware = matches!(kind, Kind::Post | Kind::Fuse | Kind::Breaker);
                        !(member || hardware)
                    })
            });
            if other {
                tapped.insert(*lower);
            }
        }
        tapped
    }
}

/// How many poles of each sort lie somewhere.
#[derive(Debug, Clone, Copy, Default)]
struct Poles {
    source_plus: u32,
    source_minus: u32,
    load_plus: u32,
    load_minus: u32,
}

impl Poles {
    fn add(&mut self, other: Self) {
        self.source_plus += other.source_plus;
        self.source_minus += other.source_minus;
        self.load_plus += other.load_plus;
        self.load_minus += other.load_minus;
    }

    fn less(self, other: Self) -> Self {
        Self {
            source_plus: self.source_plus - other.source_plus,
            source_minus: self.source_minus - other.source_minus,
            load_plus: self.load_plus - other.load_plus,
            load_minus: self.load_minus - other.load_minus,
        }
    }
}

/// Wires that lead a pole to the wrong one.
fn reversed_wires(design: &Design, ground: &Ground, absent: &Absent) -> Vec<Fault> {
    let Ground { metal, strings, .. } = ground;
    let sources: Vec<Source> = ground.sources(design).into_iter().filter(|source| !source.tap).collect();
    let mut own = vec![Poles::default(); metal.n_nodes];
    let mut at_node: Vec<Vec<(ComponentId, bool, bool)>> = vec![Vec::new(); metal.n_nodes];
    for source in &sources {
        own[source.minus as usize].source_minus += 1;
        at_node[source.minus as usize].push((source.members[0], true, false));
        for plus in &source.plus {
            own[*plus as usize].source_plus += 1;
            at_node[*plus as usize].push((source.component, true, true));
        }
    }
    for port in ports(design, absent).iter().filter(|port| !port.source) {
        let minus = metal.node(port.minus);
        own[minus as usize].load_minus += 1;
        at_node[minus as usize].push((port.component, false, false));
        for plus in &port.plus {
            let plus = metal.node(*plus);
            own[plus as usize].load_plus += 1;
            at_node[plus as usize].push((port.component, false, true));
        }
    }
    let blocks = metal.graph.blocks(|edge| !strings.links.contains(&edge));
    let mut below = own.clone();
    for block in &blocks.all {
        let mut sum = Poles::default();
        for node in block.nodes.iter().skip(1) {
            sum.add(below[*node as usize]);
        }
        below[block.nodes[0] as usize].add(sum);
    }
    let component = metal.graph.components(|edge| !strings.links.contains(&edge));
    let mut total: FxHashMap<u32, Poles> = FxHashMap::default();
    for (node, poles) in own.iter().enumerate() {
        total.entry(component[node]).or_default().add(*poles);
    }
    let mixed = |edge: u32| {
        let all = total[&component[metal.graph.ends(edge).0 as usize]];
        0 < all.source_plus + all.load_plus && 0 < all.source_minus + all.load_minus
    };
    let mut faults = Vec::new();
    for (edge, kind) in metal.edges.iter().enumerate() {
        let edge = edge as u32;
        let EdgeKind::Run(run) = kind else { continue };
        if strings.links.contains(&edge) || !mixed(edge) {
            continue;
        }
        let (a, b) = metal.graph.ends(edge);
        let all = total[&component[a as usize]];
        for (end, far) in [(a, b), (b, a)] {
            let side = match blocks.of(edge) {
                Some(block) if block.edges.len() == 1 => {
                    let child = block.nodes[1];
                    if child == far { below[child as usize] } else { all.less(below[child as usize]) }
                }
                _ => all,
            };
            let wrong = at_node[end as usize].iter().find(|(_, is_source, positive)| {
                if *positive {
                    0 < side.source_minus && side.source_plus == 0 && !(*is_source && 0 < side.load_plus)
                } else {
                    0 < side.source_plus && side.source_minus == 0 && !(*is_source && 0 < side.load_minus)
                }
            });
            if let Some((id, _, positive)) = wrong {
                let reached = metal.graph.reached(&[far], |other, _| other != edge);
                let source = sources
                    .iter()
                    .find(|source| {
                        if *positive {
                            reached.contains(source.minus)
                        } else {
                            source.plus.iter().any(|plus| reached.contains(*plus))
                        }
                    })
                    .map(|source| source.component);
                for wire in &metal.runs[*run as usize] {
                    faults.push(Fault::Polarity {
                        subject: Subject::Wire(*wire),
                        component: *id,
                        positive: *positive,
                        source,
                    });
                }
                break;
            }
        }
    }
    faults
}

/// What still joins one source's positive to another's negative, string links apart: the wire that first does, or the later
/// battery where no wire does. It is set aside.
fn joined_poles(design: &Design, ground: &Ground, absent: &mut Absent) -> Option<Fault> {
    let Ground { metal, strings, .. } = ground;
    let sources = ground.sources(design);
    let mut poles: Vec<(Option<ComponentId>, Option<ComponentId>)> = vec![(None, None); metal.n_nodes];
    for source in sources.iter().filter(|source| !source.tap) {
        poles[source.minus as usize].1.get_or_insert(source.members[0]);
        for plus in &source.plus {
            poles[*plus as usize].0.get_or_insert(source.component);
        }
    }
    let mut joined: UnionFind<u32> = UnionFind::new(metal.n_nodes);
    let mut edges: Vec<(bool, u32, u32)> = Vec::new();
    for (edge, kind) in metal.edges.iter().enumerate() {
        if strings.links.contains(&(edge as u32)) {
            continue;
        }
        let order = match kind {
            EdgeKind::Run(run) => metal.runs[*run as usize]
                .iter()
                .map(|wire| design.wires[*wire].place.order)
                .min()
                .unwrap_or(0),
            _ => 0,
        };
        edges.push((matches!(kind, EdgeKind::Run(_)), order, edge as u32));
    }
    edges.sort_unstable();
    let both = |row: (Option<ComponentId>, Option<ComponentId>)| row.0.zip(row.1);
    let mut clash = poles.iter().find_map(|row| both(*row)).map(|pair| (None, pair));
    for (is_run, _, edge) in edges {
        if clash.is_some() {
            break;
        }
        let (a, b) = metal.graph.ends(edge);
        let (a, b) = (joined.find_mut(a), joined.find_mut(b));
        let (of_a, of_b) = (poles[a as usize], poles[b as usize]);
        let merged = (of_a.0.or(of_b.0), of_a.1.or(of_b.1));
        joined.union(a, b);
        poles[joined.find_mut(a) as usize] = merged;
        clash = both(merged).map(|pair| (is_run.then_some(edge), pair));
    }
    let (edge, (plus, minus)) = clash?;
    let run = edge.and_then(|edge| match metal.edges[edge as usize] {
        EdgeKind::Run(run) => Some(run),
        _ => None,
    });
    Some(match run {
        Some(run) => {
            for wire in &metal.runs[run as usize] {
                absent.wires.insert(*wire);
            }
            Fault::Polarity {
                subject: Subject::Wire(metal.runs[run as usize][0]),
                component: plus,
                positive: true,
                source: Some(minus),
            }
        }
        None => {
            let later = plus.max(minus);
            absent.components.insert(later);
            Fault::Polarity {
                subject: Subject::Component(later),
                component: later,
                positive: later == plus,
                source: Some(plus.min(minus)),
            }
        }
    })
}
