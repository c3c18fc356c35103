//! What a bolted fault draws at every live terminal: the largest and the smallest prospective current.
//!
//! The network is the batteries behind their resistances and all metal, every switch closed. The current is the open
//! voltage over the resistance between the terminal and the negative of its source. That resistance adds up along the
//! blocks of the network (parts in which any two edges lie on a common loop), so that a radial run costs one addition,
//! and only a loop costs a solve.

use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;
use smallvec::{SmallVec, smallvec};

use crate::book::Book;
use crate::circuit::{Blocks, Circuit, Multigraph, NONE, UNLIMITED, current};
use crate::design::{Battery, Body, ComponentId, Id, Kind, TerminalId, TerminalRole};
use crate::units::Current;

use super::elements::cell_resistance;
use super::matrix::Laplacian;
use super::network::{Conditions, Network, Path};

/// What comes in by each way at the place of a fault, as far as it comes from unlimited sources. What flows between
/// batteries without a fault is left out.
#[derive(Debug, Clone, Default)]
pub(crate) struct Arms {
    /// For each wire what comes in through it when the fault is at its first end, and at its second.
    pub(crate) wire: Vec<[Current; 2]>,
    /// The same for a meter's shunt, by its terminals.
    pub(crate) shunt: FxHashMap<ComponentId, [Current; 2]>,
    /// What comes from a battery or supply when the fault is at its own positive.
    pub(crate) source: FxHashMap<ComponentId, Current>,
}

/// Prospective currents by terminal; `None` where no source's positive reaches.
#[derive(Debug, Clone, Default)]
pub struct Faults {
    /// Cold conductors, no contact resistance, full batteries, and all that limited sources give.
    pub largest: Vec<Option<Current>>,
    /// Hot conductors, contact resistance, batteries at their lower limit, and no limited source.
    pub smallest: Vec<Option<Current>>,
    /// The largest of a fault to any source's negative, which is the same in any order of statements.
    pub(crate) most: Vec<Option<Current>>,
    /// The smallest likewise.
    pub(crate) least: Vec<Option<Current>>,
    /// How the most comes in.
    pub(crate) most_arms: Arms,
    /// How the least comes in.
    pub(crate) least_arms: Arms,
}

/// One of the two, at every terminal.
struct Found {
    /// To the negative of its first source.
    first: Vec<Option<Current>>,
    /// To whichever source's negative it is furthest.
    extreme: Vec<Option<Current>>,
    arms: Arms,
}

/// Which of the two currents.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Extreme {
    Largest,
    Smallest,
}

/// Most work of turning the blocks towards another source, in edges, before the island's own zero stands in for it.
const MOST_TURNS: usize = 200_000_000;
/// Up to so many edges a fault is led to the negative of every source of its part; in a larger network to the first one's.
const EVERY_SOURCE: usize = 2_000;

impl Faults {
    /// Both currents at every terminal of a circuit.
    pub(crate) fn new(circuit: &Circuit<'_>) -> Self {
        let largest = of(circuit, Conditions::COLD, Extreme::Largest);
        let smallest = of(circuit, Conditions::operating(circuit.book), Extreme::Smallest);
        Self {
            largest: largest.first,
            smallest: smallest.first,
            most: largest.extreme,
            least: smallest.extreme,
            most_arms: largest.arms,
            least_arms: smallest.arms,
        }
    }
}

/// A source with a voltage behind a resistance.
struct Behind {
    plus: u32,
    minus: u32,
    volts: f64,
    siemens: f64,
    component: ComponentId,
    terminal: TerminalId,
    edge: u32,
}

struct Net {
    /// What each edge is, with its terminals; sources come after these.
    branches: Vec<(TerminalId, TerminalId, Path)>,
    /// Node of each terminal.
    node: Vec<u32>,
    graph: Multigraph,
    siemens: Vec<f64>,
    behind: Vec<Behind>,
    /// Currents from limited sources: out of a positive, back into a negative, amperes.
    given: Vec<(u32, u32, f64)>,
}

fn of(circuit: &Circuit<'_>, conditions: Conditions, extreme: Extreme) -> Found {
    let design = circuit.design;
    let net = Net::new(circuit, conditions, extreme);
    let island = net.graph.components(|_| true);
    let volts = net.open_voltages(&island);
    let blocks = net.graph.blocks(|_| true);
    let mut inner: Vec<Option<Inner>> = blocks.all.iter().map(|_| None).collect();
    let mut turned = 0;
    // Terminals by live part, and each part's source.
    let mut parts: FxHashMap<u32, Vec<TerminalId>> = FxHashMap::default();
    for id in design.terminals.ids() {
        let node = circuit.metal.node(id);
        if circuit.is_live(node) {
            parts.entry(circuit.part[node as usize]).or_default().push(id);
        }
    }
    let mut order: Vec<u32> = parts.keys().copied().collect();
    order.sort_unstable();
    let nothing = || vec![None; design.terminals.len()];
    let mut found = Found { first: nothing(), extreme: nothing(), arms: Arms::default() };
    let mut to_root: FxHashMap<u32, Towards> = FxHashMap::default();
    let mut root_of = vec![NONE; design.terminals.len()];
    let mut by: Vec<Option<ComponentId>> = vec![None; design.terminals.len()];
    for part in order {
        // What hangs on the middle of a string is fed by its lower part.
        let unlimited = || circuit.sources_on(part).filter(|source| source.limit >= UNLIMITED);
        let Some(first) = unlimited().min_by_key(|source| source.tap) else {
            if extreme == Extreme::Largest {
                let sum: Current = circuit.sources_on(part).map(|source| current(source.limit)).sum();
                parts[&part].iter().for_each(|id| found.first[id.index()] = Some(sum));
                parts[&part].iter().for_each(|id| found.extreme[id.index()] = Some(sum));
            }
            continue;
        };
        let others = unlimited().filter(|source| source.tap == first.tap);
        let others = others.filter(|_| net.graph.n_edges() <= EVERY_SOURCE);
        for source in std::iter::once(first).chain(others) {
            let minus = design.components[source.members[0]].terminal(design, TerminalRole::Minus);
            let Some(minus) = minus else { continue };
            let root = net.node[minus.index()];
            if MOST_TURNS < turned {
                break;
            }
            let towards = to_root.entry(root).or_insert_with(|| {
                turned += net.graph.n_edges();
                net.resistances(&blocks, &mut inner, root)
            });
            for id in &parts[&part] {
                let at = id.index();
                let node = net.node[at];
                let ohms = towards.ohms[node as usize];
                let joined = island[node as usize] == island[root as usize];
                if !(joined && 0.0 < ohms && ohms.is_finite()) {
                    continue;
                }
                let across = volts[node as usize] - volts[root as usize];
                let drawn = Current::amps((across / ohms).max(0.0));
                if source.component == first.component {
                    found.first[at] = Some(drawn);
                }
                let further = found.extreme[at].is_none_or(|known| match extreme {
                    // Of sources that draw the same the first by name counts, in whichever order they are written.
                    _ if same(known, drawn) => by[at].is_none_or(|by| {
                        design.components[source.component].name < design.components[by].name
                    }),
                    Extreme::Largest => known < drawn,
                    Extreme::Smallest => drawn < known,
                });
                if further {
                    found.extreme[at] = Some(drawn);
                    (root_of[at], by[at]) = (root, Some(source.component));
                }
            }
        }
    }
    let of_fault = |terminal: TerminalId, edge: u32, end: usize| {
        let towards = to_root.get(&root_of[terminal.index()]);
        match (found.extreme[terminal.index()], towards) {
            (Some(all), Some(towards)) => all * towards.arms[edge as usize][end],
            _ => Current::default(),
        }
    };
    let mut arms = Arms { wire: vec![[Current::default(); 2]; design.wires.len()], ..Arms::default() };
    for (edge, (a, b, path)) in net.branches.iter().enumerate() {
        let ends = [of_fault(*a, edge as u32, 0), of_fault(*b, edge as u32, 1)];
        match path {
            Path::Wire(id) => arms.wire[id.index()] = ends,
            Path::Shunt(id) => _ = arms.shunt.insert(*id, ends),
            _ => {}
        }
    }
    for behind in &net.behind {
        arms.source.insert(behind.component, of_fault(behind.terminal, behind.edge, 0));
    }
    found.arms = arms;
    found
}

/// Whether two currents differ by no more than rounding.
fn same(one: Current, other: Current) -> bool {
    let (one, other) = (one.as_amps(), other.as_amps());
    (one - other).abs() <= 1e-9 * one.max(other)
}

/// Everything towards one zero.
struct Towards {
    /// Ohms from every node; infinite where none leads there.
    ohms: Vec<f64>,
    /// For each edge the share of a fault at its first end that comes in through it, and of one at its second.
    arms: Vec<[f64; 2]>,
}

impl Net {
    fn new(circuit: &Circuit<'_>, conditions: Conditions, extreme: Extreme) -> Self {
        let (design, book) = (circuit.design, circuit.book);
        let network = Network::new(circuit, conditions);
        let mut joined: UnionFind<u32> = UnionFind::new(design.terminals.len());
        for link in &network.links {
            joined.union(link.a.index() as u32, link.b.index() as u32);
        }
        let is_joint = |path: Path| matches!(path, Path::Joint(_) | Path::Returns(_));
        for branch in network.branches.iter().filter(|branch| !conditions.contacts && is_joint(branch.path)) {
            joined.union(branch.a.index() as u32, branch.b.index() as u32);
        }
        let mut number: FxHashMap<u32, u32> = FxHashMap::default();
        let mut node = Vec::with_capacity(design.terminals.len());
        for id in design.terminals.ids() {
            let next = number.len() as u32;
            node.push(*number.entry(joined.find_mut(id.index() as u32)).or_insert(next));
        }
        let at = |terminal: TerminalId| node[terminal.index()];
        let mut ends = Vec::new();
        let mut siemens = Vec::new();
        for branch in &network.branches {
            ends.push((at(branch.a), at(branch.b)));
            siemens.push(1.0 / branch.resistance.as_ohms());
        }
        let mut behind = Vec::new();
        let mut given = Vec::new();
        for (id, component) in design.components.entries() {
            let terminal = |role| component.terminal(design, role);
            let Some((plus, minus)) = terminal(TerminalRole::Plus).zip(terminal(TerminalRole::Minus)) else {
                continue;
            };
            let source = match &component.body {
                Body::Battery(battery) => {
                    cell_resistance(book, battery).map(|ohms| (extreme_voltage(book, battery, extreme), ohms))
                }
                Body::Supply(supply) => supply
                    .fault
                    .filter(|_| supply.fused.is_none())
                    .zip(supply.nominal)
                    .map(|(fault, nominal)| (nominal.as_volts(), nominal / fault)),
                _ => None,
            };
            if let Some((volts, ohms)) = source {
                let one = 1.0 / ohms.as_ohms().max(1e-9);
                ends.push((at(plus), at(minus)));
                siemens.push(one);
                behind.push(Behind {
                    plus: at(plus),
                    minus: at(minus),
                    volts,
                    siemens: one,
                    component: id,
                    terminal: plus,
                    edge: ends.len() as u32 - 1,
                });
            }
        }
        if extreme == Extreme::Largest {
            for source in circuit.sources.iter().filter(|source| source.limit < UNLIMITED && !source.tap) {
                let positive =
                    source.plus.first().and_then(|node| circuit.metal.terminals[*node as usize].first());
                let negative = circuit.metal.terminals[source.minus as usize].first();
                if let (Some(plus), Some(minus), true) = (positive, negative, source.kind != Kind::Battery) {
                    given.push((at(*plus), at(*minus), current(source.limit).as_amps()));
                }
            }
        }
        let n_nodes = number.len();
        let branches = network.branches.iter().map(|branch| (branch.a, branch.b, branch.path)).collect();
        Self { branches, graph: Multigraph::new(n_nodes, ends), node, siemens, behind, given }
    }

    /// Volts of each node with nothing shorted, against any one node of its island.
    fn open_voltages(&self, island: &[u32]) -> Vec<f64> {
        let n = self.graph.n_nodes();
        let mut zero: FxHashMap<u32, u32> = FxHashMap::default();
        for behind in &self.behind {
            zero.entry(island[behind.minus as usize]).or_insert(behind.minus);
        }
        let mut unknown = vec![None; n];
        let mut count = 0;
        for node in 0..n {
            if zero.get(&island[node]).is_some_and(|zero| *zero != node as u32) {
                unknown[node] = Some(count);
                count += 1;
            }
        }
        let mut matrix = Laplacian::new(count as usize);
        for (edge, siemens) in self.siemens.iter().enumerate() {
            let (a, b) = self.graph.ends(edge as u32);
            matrix.add(unknown[a as usize], unknown[b as usize], *siemens);
        }
        let mut side = vec![0.0; count as usize];
        let mut inject = |into: u32, out_of: u32, amps: f64| {
            // A current between two islands has no way back.
            if island[into as usize] == island[out_of as usize] {
                if let Some(at) = unknown[into as usize] {
                    side[at as usize] += amps;
                }
                if let Some(at) = unknown[out_of as usize] {
                    side[at as usize] -= amps;
                }
            }
        };
        for behind in &self.behind {
            inject(behind.plus, behind.minus, behind.volts * behind.siemens);
        }
        for (plus, minus, amps) in &self.given {
            inject(*plus, *minus, *amps);
        }
        if let (false, Some(factor)) = (side.is_empty(), matrix.factor(None)) {
            factor.solve(&mut side);
        }
        unknown.iter().map(|at: &Option<u32>| at.map_or(0.0, |at| side[at as usize])).collect()
    }

    /// Everything towards `root`.
    fn resistances(&self, blocks: &Blocks, inner: &mut [Option<Inner>], root: u32) -> Towards {
        let mut arms = vec![[0.0; 2]; self.graph.n_edges()];
        let mut ohms = vec![f64::INFINITY; self.graph.n_nodes()];
        let mut done = vec![false; blocks.all.len()];
        ohms[root as usize] = 0.0;
        let mut waiting = vec![root];
        while let Some(entry) = waiting.pop() {
            for number in blocks.at(entry) {
                let at = *number as usize;
                if std::mem::replace(&mut done[at], true) {
                    continue;
                }
                let block = &blocks.all[at];
                let from_entry =
                    inner[at].get_or_insert_with(|| Inner::new(self, &block.nodes, &block.edges));
                let mut arm = |edge: u32, far: u32, share: f64| {
                    let end = usize::from(self.graph.ends(edge).0 != far);
                    arms[edge as usize][end] = share;
                };
                if let Inner::Pair(all) = from_entry {
                    let far = block.nodes.iter().find(|node| **node != entry).copied().unwrap_or(entry);
                    block.edges.iter().for_each(|edge| arm(*edge, far, self.siemens[*edge as usize] * *all));
                }
                for (node, own) in block.nodes.iter().zip(from_entry.to(entry, &block.edges, &mut arm)) {
                    if *node != entry {
                        ohms[*node as usize] = ohms[entry as usize] + own;
                        waiting.push(*node);
                    }
                }
            }
        }
        Towards { ohms, arms }
    }
}

/// A block from within.
enum Inner {
    /// Two nodes: the resistance between them.
    Pair(f64),
    /// More: what its conductances are, by place of its nodes.
    Mesh { nodes: Vec<u32>, conductances: Vec<(u32, u32, f64)> },
}

impl Inner {
    fn new(net: &Net, nodes: &[u32], edges: &[u32]) -> Self {
        if nodes.len() == 2 {
            let sum: f64 = edges.iter().map(|edge| net.siemens[*edge as usize]).sum();
            return Self::Pair(1.0 / sum);
        }
        let place: FxHashMap<u32, u32> =
            nodes.iter().enumerate().map(|(at, node)| (*node, at as u32)).collect();
        let conductances = edges.iter().map(|edge| {
            let (a, b) = net.graph.ends(*edge);
            (place[&a], place[&b], net.siemens[*edge as usize])
        });
        Self::Mesh { nodes: nodes.to_vec(), conductances: conductances.collect() }
    }

    /// Ohms from each of the block's nodes, in their order, to one of them. Of more than two nodes, tells for each edge and
    /// each of its ends the share of what is drawn there that comes in through it.
    fn to(&self, entry: u32, edges: &[u32], arm: &mut dyn FnMut(u32, u32, f64)) -> SmallVec<[f64; 2]> {
        match self {
            Self::Pair(ohms) => smallvec![*ohms; 2],
            Self::Mesh { nodes, conductances } => {
                let Some(ground) = nodes.iter().position(|node| *node == entry) else {
                    return smallvec![f64::INFINITY; nodes.len()];
                };
                let unknown = |place: u32| match (place as usize).cmp(&ground) {
                    std::cmp::Ordering::Less => Some(place),
                    std::cmp::Ordering::Equal => None,
                    std::cmp::Ordering::Greater => Some(place - 1),
                };
                let mut matrix = Laplacian::new(nodes.len() - 1);
                for (a, b, siemens) in conductances {
                    matrix.add(unknown(*a), unknown(*b), *siemens);
                }
                let Some(inverse) = matrix.inverse() else {
                    return smallvec![f64::INFINITY; nodes.len()];
                };
                let own = |place: u32| unknown(place).map_or(0.0, |at| inverse.at(at, at));
                for ((a, b, siemens), edge) in conductances.iter().zip(edges) {
                    let both = unknown(*a).zip(unknown(*b)).map_or(0.0, |(a, b)| inverse.at(a, b));
                    for place in [*a, *b] {
                        if place as usize != ground {
                            arm(*edge, nodes[place as usize], siemens * (own(place) - both));
                        }
                    }
                }
                (0..nodes.len() as u32).map(own).collect()
            }
        }
    }
}

/// A battery's voltage when full, or at its lower limit.
fn extreme_voltage(book: &Book, battery: &Battery, extreme: Extreme) -> f64 {
    let voltage = match extreme {
        Extreme::Largest => book.full_of(battery),
        Extreme::Smallest => {
            battery.chemistry.map(|chemistry| book.empty_voltage(chemistry, battery.nominal))
        }
    };
    voltage.unwrap_or(battery.nominal).as_volts()
}
