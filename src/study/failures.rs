//! One failure at a time: each connection of the return opens in turn, and the current finds another way or stops.
//!
//! A connection behind which only loads lie stops them and moves no current. The others are solved again in full: those
//! that lie on a loop of metal (data leads and bonds included), and those with sources on both sides. They are solved only
//! where a conductor could come over its ampacity by it, or a load's current home by a bond or a data lead.

use rustc_hash::FxHashMap;

use crate::circuit::{Blocks, Circuit, Multigraph, NONE, lead_conductor};
use crate::design::{ComponentId, Demand, Id, Kind, TerminalId, TerminalRole, WireId};
use crate::units::{Current, Resistance};

use super::elements::{Elements, Giver, Input};
use super::network::{Network, Path};
use super::solve::{Solution, Trouble, solve};
use super::steady::{ModeStudy, Study, readings};

/// A connection of the return that opens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opened {
    /// A wire.
    Wire(WireId),
    /// One of the equal conductors of a wire that has several.
    Conductor(WireId),
    /// A bolted joint, by its place among the design's.
    Joint(usize),
    /// The mounting of a negative on its chassis.
    Returns(ComponentId),
    /// A switch, plug, fuse, breaker or cutoff.
    Link(ComponentId),
}

/// How far to look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Depth {
    /// Only failures that overload a conductor or send a load's current home by a bond or a data lead.
    Harm,
    /// Everything that every failure changes.
    All,
}

/// What follows from all failures.
#[derive(Debug, Clone, Default)]
pub struct Failures {
    /// Each connection, in the order of statements; at [`Depth::Harm`] only those that do harm.
    pub opened: Vec<Failure>,
    /// Connections that were not opened in each mode, as all together would take too long.
    pub unopened: Vec<Opened>,
}

/// One connection open.
#[derive(Debug, Clone)]
pub struct Failure {
    /// What opens.
    pub opened: Opened,
    /// What follows, by mode; modes in which nothing follows are left out.
    pub effects: Vec<Effect>,
}

/// What one open connection does in one mode.
#[derive(Debug, Clone)]
pub struct Effect {
    /// Place of the mode among the study's.
    pub mode: usize,
    /// It moves current to other ways or other sources; otherwise only loads lie behind it.
    pub reroutes: bool,
    /// Why there are no figures.
    pub trouble: Option<Trouble>,
    /// Wires and data leads that now carry more than their ampacity, and did not before.
    pub overloads: Vec<Overload>,
    /// Loads and charger inputs whose current now comes home by a bond or a data lead.
    pub homes: Vec<ComponentId>,
    /// The bonds and data leads by which it does, with what they carry where there is a solution; the most first.
    pub by: Vec<(Path, Option<Current>)>,
    /// Loads and chargers that stop.
    pub stops: Vec<ComponentId>,
    /// Loads that cannot hold their power or current any more, and were taken as the resistance that they are at their
    /// nominal voltage.
    pub weakened: Vec<ComponentId>,
    /// Meters that read otherwise than before.
    pub meters: Vec<Misread>,
}

/// A wire or data lead beyond its ampacity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overload {
    /// Which.
    pub path: Path,
    /// What it carries.
    pub current: Current,
    /// What it may carry; without the conductor that opened.
    pub ampacity: Current,
}

/// A meter that reads otherwise than before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Misread {
    /// Which.
    pub meter: ComponentId,
    /// What it reads.
    pub reads: Current,
    /// What it read with everything closed.
    pub was: Current,
    /// What flows in what it counts, where it read that rightly before and does so no more.
    pub truth: Option<Current>,
}

/// Most work of solving again, in terminals and branches.
const MOST_WORK: usize = 400_000;
/// The same where everything is asked for.
const MOST_WORK_FOR_ALL: usize = 50_000_000;
/// Solutions that even the largest design may have.
const LEAST_SOLUTIONS: usize = 4;
/// How much more than before a load may take, as a factor, before its voltage has collapsed for the screening.
const MARGIN: f64 = 1.3;
/// Below this share of its nominal voltage a load of constant current is taken as a resistance.
const COLLAPSED: f64 = 0.25;
/// What rounding makes of equal shares of a nominal voltage.
const ALIKE: f64 = 1e-9;
/// A current that rounding makes.
const LEAST_AMPS: f64 = 1e-6;
/// How far a meter may be off, as a share and in amperes.
const METER_SHARE: f64 = 0.01;
const METER_AMPS: f64 = 0.01;

impl Failures {
    /// Opens each connection of the return of a circuit in each mode that has a solution.
    pub(crate) fn new(circuit: &Circuit<'_>, study: &Study, depth: Depth) -> Self {
        let connections = connections(circuit, &study.network);
        let mut effects: Vec<Vec<Effect>> = connections.iter().map(|_| Vec::new()).collect();
        let mut left = vec![false; connections.len()];
        let size = study.network.n_terminals + study.network.branches.len() + study.network.links.len();
        let most = if depth == Depth::Harm { MOST_WORK } else { MOST_WORK_FOR_ALL };
        let mut work = most.max(LEAST_SOLUTIONS * size);
        for (number, mode) in study.modes.iter().enumerate() {
            let Ok(solution) = &mode.solution else { continue };
            let before = Before::new(circuit, study, mode, solution, number);
            for (at, connection) in connections.iter().enumerate() {
                let Some(class) = before.class(connection) else { continue };
                let homes =
                    if class == Class::Loop { before.homes(connection, &mut work) } else { Some(Vec::new()) };
                let Some(homes) = homes else {
                    left[at] = true;
                    continue;
                };
                if depth == Depth::Harm && homes.is_empty() && !before.may_harm(connection, class) {
                    continue;
                }
                let Some(rest) = work.checked_sub(size) else {
                    left[at] = true;
                    continue;
                };
                work = rest;
                let effect = before.open(connection, class, homes);
                let keep = match depth {
                    Depth::Harm => !effect.overloads.is_empty() || !effect.homes.is_empty(),
                    Depth::All => !effect.is_nothing(),
                };
                if keep {
                    effects[at].push(effect);
                }
            }
        }
        let unopened = connections.iter().zip(&left).filter(|row| *row.1).map(|row| row.0.opened).collect();
        let opened =
            connections.iter().zip(effects).map(|(one, effects)| Failure { opened: one.opened, effects });
        let opened = opened.filter(|row| depth == Depth::All || !row.effects.is_empty()).collect();
        Self { opened, unopened }
    }
}

impl Effect {
    fn is_nothing(&self) -> bool {
        self.trouble.is_none()
            && self.overloads.is_empty()
            && self.homes.is_empty()
            && self.stops.is_empty()
            && self.meters.is_empty()
    }
}

/// A connection and where it stands in the network.
#[derive(Debug, Clone, Copy)]
struct Connection {
    opened: Opened,
    place: Place,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Place {
    Branch(usize),
    Link(usize),
}

/// The connections of the return, in the order of statements.
fn connections(circuit: &Circuit<'_>, network: &Network) -> Vec<Connection> {
    let design = circuit.design;
    let in_return = |terminal: TerminalId| circuit.is_return(circuit.metal.node(terminal));
    let mut found = Vec::new();
    for (number, branch) in network.branches.iter().enumerate().filter(|row| in_return(row.1.a)) {
        let (opened, order) = match branch.path {
            Path::Wire(id) if circuit.is_link(id) => continue,
            Path::Wire(id) if 1 < design.wires[id].count => {
                (Opened::Conductor(id), design.wires[id].place.order)
            }
            Path::Wire(id) => (Opened::Wire(id), design.wires[id].place.order),
            Path::Joint(at) => (Opened::Joint(at), design.joints[at].place.order),
            Path::Returns(id) => (Opened::Returns(id), design.components[id].place.order),
            Path::Data(_) | Path::Shunt(_) | Path::Contact(_) => continue,
        };
        found.push((order, Connection { opened, place: Place::Branch(number) }));
    }
    for (number, link) in network.links.iter().enumerate().filter(|row| in_return(row.1.a)) {
        let component = &design.components[link.component];
        let opens =
            matches!(component.kind, Kind::Fuse | Kind::Breaker | Kind::Switch | Kind::Plug | Kind::Cutoff);
        if opens {
            let opened = Opened::Link(link.component);
            found.push((component.place.order, Connection { opened, place: Place::Link(number) }));
        }
    }
    found.sort_by_key(|row| row.0);
    found.into_iter().map(|row| row.1).collect()
}

/// What a connection is to the metal around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Class {
    /// On a loop: current has another way.
    Loop,
    /// On none, with sources on both sides.
    Between,
    /// On none, with no source on one side: what is there stops.
    Cuts,
}

/// One mode before anything opens.
struct Before<'s> {
    circuit: &'s Circuit<'s>,
    network: &'s Network,
    mode: &'s ModeStudy,
    solution: &'s Solution,
    number: usize,
    /// The edge of each branch and closed link among those of terminals that are joined, side by side ones together.
    edge: Vec<u32>,
    /// How many branches and links each edge has.
    beside: Vec<u32>,
    blocks: Blocks,
    /// What lies on each side of an edge that is on no loop.
    sides: Vec<([u64; 3], [u64; 3])>,
    /// Some conductor could come over its ampacity.
    risky: bool,
    ways: std::cell::OnceCell<Ways>,
}

/// Amperes as whole microamperes.
fn micro(amps: f64) -> u64 {
    (amps.abs() * 1e6).min(1e15) as u64
}

impl<'s> Before<'s> {
    fn new(
        circuit: &'s Circuit<'s>,
        study: &'s Study,
        mode: &'s ModeStudy,
        solution: &'s Solution,
        number: usize,
    ) -> Self {
        let network = &study.network;
        let mut ends: Vec<(u32, u32)> = Vec::with_capacity(network.branches.len());
        let mut known: FxHashMap<(u32, u32), u32> = FxHashMap::default();
        let mut beside: Vec<u32> = Vec::new();
        let mut edge = Vec::with_capacity(network.branches.len() + network.links.len());
        for pair in pairs(network, &mode.elements) {
            let Some((a, b)) = pair else {
                edge.push(NONE);
                continue;
            };
            let at = *known.entry((a.min(b), a.max(b))).or_insert_with(|| {
                ends.push((a, b));
                beside.push(0);
                ends.len() as u32 - 1
            });
            beside[at as usize] += 1;
            edge.push(at);
        }
        let graph = Multigraph::new(network.n_terminals, ends);
        let blocks = graph.blocks(|_| true);
        let (poles, total) = poles(network, &mode.elements, solution);
        let sides = blocks.sides(&graph, &graph.components(|_| true), &poles);
        let mut before = Self {
            circuit,
            network,
            mode,
            solution,
            number,
            edge,
            beside,
            blocks,
            sides,
            risky: false,
            ways: std::cell::OnceCell::new(),
        };
        before.risky = before.is_risky(total);
        before
    }

    /// Whether some conductor may come over its ampacity whatever opens: what lies on its weaker side, or where that
    /// cannot tell all that is on, is more.
    fn is_risky(&self, total: u64) -> bool {
        let side = |row: [u64; 3]| if 0 < row[1] { total } else { row[2].min(total) };
        self.network.branches.iter().zip(&self.solution.branch).enumerate().any(|(at, (branch, amps))| {
            let Some(ampacity) = self.ampacity(branch.path) else { return false };
            let edge = self.edge[at];
            let most = if edge != NONE && self.blocks.is_bridge(edge) {
                let (one, other) = self.sides[edge as usize];
                side(one).min(side(other))
            } else {
                total
            };
            Current::amps(amps.abs()).within(ampacity) && !Current::amps(most as f64 / 1e6).within(ampacity)
        })
    }

    /// What a wire or data lead may carry; `None` for all else, and for wires that are exempt.
    fn ampacity(&self, path: Path) -> Option<Current> {
        let circuit = self.circuit;
        match path {
            Path::Wire(id) => (!circuit.is_exempt(id)).then(|| circuit.ampacity[id.index()]),
            Path::Data(id) => Some(circuit.book.ampacity(&lead_conductor(circuit.design, circuit.book, id))),
            _ => None,
        }
    }

    fn edge_of(&self, connection: &Connection) -> usize {
        match connection.place {
            Place::Branch(branch) => branch,
            Place::Link(link) => self.network.branches.len() + link,
        }
    }

    /// What it is here; `None` where it is open already, or joins a terminal with itself.
    fn class(&self, connection: &Connection) -> Option<Class> {
        let edge = self.edge[self.edge_of(connection)];
        if edge == NONE {
            return None;
        }
        let (one, other) = self.sides[edge as usize];
        Some(match self.blocks.is_bridge(edge) && self.beside[edge as usize] == 1 {
            false => Class::Loop,
            true if 0 < one[0] && 0 < other[0] => Class::Between,
            true => Class::Cuts,
        })
    }

    /// Whether opening it may overload something. What has one conductor less loses more, and a load of constant power then
    /// takes more through all that feeds it.
    fn may_harm(&self, connection: &Connection, class: Class) -> bool {
        if let (Opened::Conductor(id), Place::Branch(branch)) = (connection.opened, connection.place) {
            let rest = remaining(self.circuit, id);
            let ampacity = self.circuit.ampacity[id.index()];
            let amps = self.solution.branch[branch].abs();
            return !self.circuit.is_exempt(id)
                && Current::amps(amps).within(ampacity)
                && !Current::amps(amps * MARGIN).within(ampacity * rest)
                || self.risky;
        }
        self.risky && class != Class::Cuts
    }

    /// Loads whose way home by conductors meant for it is lost, while another is left; `None` where that would take
    /// too long.
    fn homes(&self, connection: &Connection, work: &mut usize) -> Option<Vec<ComponentId>> {
        if matches!(connection.opened, Opened::Conductor(_)) {
            return Some(Vec::new());
        }
        let ways = self.ways.get_or_init(|| Ways::new(self));
        let edge = self.edge_of(connection) as u32;
        if ways.all_meant || !ways.is_meant[edge as usize] || !ways.meant_blocks.is_bridge(edge) {
            return Some(Vec::new());
        }
        *work = work.checked_sub(ways.graph.n_nodes())?;
        Some(ways.lost(edge))
    }

    /// Opens it.
    fn open(&self, connection: &Connection, class: Class, homes: Vec<ComponentId>) -> Effect {
        let mut elements = self.mode.elements.clone();
        let changed = match (connection.opened, connection.place) {
            (Opened::Conductor(id), Place::Branch(branch)) => {
                let ohms = self.network.branches[branch].resistance;
                Some(self.network.with(&[(branch, ohms / remaining(self.circuit, id))]))
            }
            (_, Place::Branch(branch)) => Some(self.network.without(branch)),
            (_, Place::Link(link)) => {
                elements.open[self.network.links[link].component.index()] = true;
                None
            }
        };
        let network = changed.as_ref().unwrap_or(self.network);
        let (solved, weakened) = solve_weakened(network, &mut elements);
        let name = |at: usize| self.mode.elements.takers.get(at).map(|taker| taker.component);
        let mut effect = Effect {
            mode: self.number,
            reroutes: class != Class::Cuts,
            trouble: None,
            overloads: Vec::new(),
            homes,
            by: Vec::new(),
            stops: Vec::new(),
            weakened: weakened.into_iter().filter_map(name).collect(),
            meters: Vec::new(),
        };
        match solved {
            Ok(mut solved) => {
                let read = readings(self.circuit, network, &solved);
                if let (Place::Branch(branch), true) =
                    (connection.place, network.branches.len() < self.network.branches.len())
                {
                    solved.branch.insert(branch, 0.0);
                }
                self.compare(connection, &solved, &read, &mut effect);
            }
            Err(trouble) => {
                effect.trouble = Some(trouble);
                if !effect.homes.is_empty() {
                    let ways = self.ways.get_or_init(|| Ways::new(self));
                    let path = ways.way_home(self.edge_of(connection) as u32, &effect.homes);
                    effect.by = path.into_iter().map(|at| (self.network.branches[at].path, None)).collect();
                }
            }
        }
        effect
    }

    /// Fills in what is otherwise than before.
    fn compare(
        &self,
        connection: &Connection,
        after: &Solution,
        read: &[(ComponentId, f64)],
        effect: &mut Effect,
    ) {
        let (circuit, before) = (self.circuit, self.solution);
        let rows = self.network.branches.iter().zip(before.branch.iter().zip(&after.branch));
        for (branch, (was, is)) in rows {
            let Some(mut ampacity) = self.ampacity(branch.path) else { continue };
            let (was, is) = (Current::amps(was.abs()), Current::amps(is.abs()));
            let held = was.within(ampacity);
            if let (Opened::Conductor(id), Path::Wire(own)) = (connection.opened, branch.path)
                && id == own
            {
                ampacity = ampacity * remaining(circuit, id);
            }
            if held && !is.within(ampacity) {
                effect.overloads.push(Overload { path: branch.path, current: is, ampacity });
            }
            let grown = was.as_amps() + LEAST_AMPS < is.as_amps();
            if !effect.homes.is_empty() && grown && !is_meant(circuit, branch.path) {
                effect.by.push((branch.path, Some(is)));
            }
        }
        effect.by.sort_by(|a, b| {
            let amps = |row: &(Path, Option<Current>)| row.1.map_or(0.0, Current::as_amps);
            amps(b).total_cmp(&amps(a))
        });
        if effect.by.is_empty() {
            effect.homes.clear();
        }
        let elements = &self.mode.elements;
        for (at, taker) in elements.takers.iter().enumerate() {
            if LEAST_AMPS < before.taker[at].abs() && after.taker[at].abs() <= LEAST_AMPS {
                effect.stops.push(taker.component);
            }
        }
        for (at, giver) in elements.givers.iter().enumerate() {
            let sum = |solution: &Solution| solution.giver[at].iter().sum::<f64>();
            if LEAST_AMPS < sum(before) && sum(after) <= LEAST_AMPS {
                effect.stops.push(giver.component);
            }
        }
        let running = |id: &ComponentId| !effect.stops.contains(id);
        effect.homes.retain(running);
        for (view, (meter, reads)) in circuit
            .meters()
            .iter()
            .filter_map(|view| Some((view, *read.iter().find(|row| row.0 == view.meter)?)))
        {
            let Some(was) = self.mode.meters.iter().find(|row| row.0 == meter).map(|row| row.1) else {
                continue;
            };
            if near(was, reads) {
                continue;
            }
            let truth = |solution| truth(circuit, elements, view, solution);
            let wrong = truth(after)
                .filter(|is| !near(*is, reads))
                .filter(|_| truth(before).is_some_and(|right| near(right, was)));
            effect.meters.push(Misread {
                meter,
                reads: Current::amps(reads),
                was: Current::amps(was),
                truth: wrong.map(Current::amps),
            });
        }
    }
}

/// Whether a meter would be believed.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= METER_SHARE * a.abs().max(b.abs()) + METER_AMPS
}

/// What is left of a wire's ampacity with one of its conductors open.
fn remaining(circuit: &Circuit<'_>, id: WireId) -> f64 {
    let count = f64::from(circuit.design.wires[id].count.max(2));
    (count - 1.0) / count
}

/// Amperes that a meter should read: what flows in all that it counts, positive for current that charges or is given.
fn truth(
    circuit: &Circuit<'_>,
    elements: &Elements,
    view: &crate::circuit::MeterView,
    solution: &Solution,
) -> Option<f64> {
    let mut sum = None;
    let mut add = |amps: f64| *sum.get_or_insert(0.0) += amps;
    if view.batteries {
        // Of batteries in series one stands for all.
        let counted = circuit.sources.iter().filter(|source| {
            !source.tap && source.members.first().is_some_and(|first| view.counts.contains(first))
        });
        for first in counted.filter_map(|source| source.members.first()) {
            let at = elements.cells.iter().position(|cell| cell.component == *first)?;
            add(-solution.cell[at]);
        }
        return sum;
    }
    for (at, giver) in elements.givers.iter().enumerate() {
        if view.counts.contains(&giver.component) {
            add(solution.giver[at].iter().sum());
        }
    }
    for (at, taker) in elements.takers.iter().enumerate() {
        if view.counts.contains(&taker.component) {
            add(-solution.taker[at]);
        }
    }
    sum
}

/// The terminals of each branch, then of each link, where they are two and joined.
fn pairs<'n>(network: &'n Network, elements: &'n Elements) -> impl Iterator<Item = Option<(u32, u32)>> + 'n {
    let pair = |a: TerminalId, b: TerminalId| (a != b).then_some((a.index() as u32, b.index() as u32));
    let branches = network.branches.iter().map(move |branch| pair(branch.a, branch.b));
    let links = network
        .links
        .iter()
        .map(move |link| if elements.open[link.component.index()] { None } else { pair(link.a, link.b) });
    branches.chain(links)
}

/// What acts at each terminal: how many sources, how many of them have no limit of their own, and microamperes of all
/// else at most; and the sum of all that is on.
fn poles(network: &Network, elements: &Elements, solution: &Solution) -> (Vec<[u64; 3]>, u64) {
    let mut at = vec![[0_u64; 3]; network.n_terminals];
    let mut total = 0_u64;
    let mut add = |terminal: TerminalId, row: [u64; 3]| {
        let sum = &mut at[terminal.index()];
        *sum = std::array::from_fn(|n| sum[n].saturating_add(row[n]));
    };
    for (cell, amps) in elements.cells.iter().zip(&solution.cell) {
        [cell.plus, cell.minus].into_iter().for_each(|pole| add(pole, [1, 1, 0]));
        total = total.saturating_add(micro(*amps));
    }
    for (taker, amps) in elements.takers.iter().zip(&solution.taker) {
        let most = micro(amps * MARGIN);
        [taker.plus, taker.minus].into_iter().for_each(|pole| add(pole, [0, 0, most]));
        total = total.saturating_add(most);
    }
    for (number, giver) in elements.givers.iter().enumerate() {
        let given = solution.giver[number].iter().sum::<f64>();
        let row = match giver.most {
            Some(most) => [1, 0, micro(most.as_amps())],
            None => [1, 1, 0],
        };
        giver.plus.iter().chain([&giver.minus]).for_each(|pole| add(*pole, row));
        total = total.saturating_add(giver.most.map_or(micro(given), |most| micro(most.as_amps())));
        if let Some(input) = giver.input {
            let most = micro(most_drawn(giver, &input));
            [input.plus, input.minus].into_iter().for_each(|pole| add(pole, [0, 0, most]));
            total = total.saturating_add(most);
        }
    }
    (at, total)
}

/// Amperes that a charger's input draws at most.
fn most_drawn(giver: &Giver, input: &Input) -> f64 {
    let full = giver.most.map_or(f64::INFINITY, |most| {
        (giver.set * most).as_watts() / (input.efficiency * input.nominal.as_volts()) * MARGIN
    });
    input.most.map_or(full, |most| full.min(most.as_amps()))
}

/// Solves, with loads that nothing can feed any more as resistances; also which these are.
fn solve_weakened(network: &Network, elements: &mut Elements) -> (Result<Solution, Trouble>, Vec<usize>) {
    let mut weakened: Vec<usize> = Vec::new();
    loop {
        let solved = solve(network, elements);
        let weak = match &solved {
            Err(Trouble::Collapse(at)) => vec![*at],
            Err(_) => Vec::new(),
            Ok(solution) => furthest_down(elements, solution),
        };
        let before = weakened.len();
        for at in weak {
            let Some(taker) = elements.takers.get_mut(at) else { continue };
            let current = match taker.demand {
                Demand::Power(power) => power / taker.nominal,
                Demand::Current(current) => current,
                Demand::Resistance(_) => continue,
            };
            if 0.0 < current.as_amps() {
                let ohms: Resistance = taker.nominal / current;
                taker.demand = Demand::Resistance(ohms);
                weakened.push(at);
            }
        }
        if before == weakened.len() {
            return (solved, weakened);
        }
    }
}

/// Of the loads of constant current whose voltage has collapsed the one that is furthest down, and any that are as far: what
/// it takes may be what pulls the others.
fn furthest_down(elements: &Elements, solution: &Solution) -> Vec<usize> {
    let share = |at: usize| {
        let taker = &elements.takers[at];
        let volts = |terminal: TerminalId| solution.volts[terminal.index()];
        let joined = solution.island[taker.plus.index()] == solution.island[taker.minus.index()];
        let across = volts(taker.plus)? - volts(taker.minus).unwrap_or(0.0);
        (joined && matches!(taker.demand, Demand::Current(_))).then_some(across / taker.nominal.as_volts())
    };
    let down: Vec<(usize, f64)> = (0..elements.takers.len())
        .filter_map(|at| Some((at, share(at)?)))
        .filter(|row| row.1 < COLLAPSED)
        .collect();
    let least = down.iter().map(|row| row.1).fold(f64::INFINITY, f64::min);
    down.into_iter().filter(|row| row.1 <= least + ALIKE).map(|row| row.0).collect()
}

/// Whether return current is meant to run here: not in bonds and data leads.
fn is_meant(circuit: &Circuit<'_>, path: Path) -> bool {
    match path {
        Path::Wire(id) => !circuit.design.wires[id].bond || circuit.is_live(circuit.wire_nodes(id).0),
        Path::Data(_) => false,
        _ => true,
    }
}

/// The ways home of what takes current in a mode.
struct Ways {
    /// Edges are the branches in order, then the links.
    graph: Multigraph,
    is_meant: Vec<bool>,
    is_closed: Vec<bool>,
    all_meant: bool,
    meant_blocks: Blocks,
    /// Component of each terminal over closed edges that are meant.
    meant: Vec<u32>,
    /// What takes current: its negative, and the negatives of the sources that feed it.
    loads: Vec<(ComponentId, u32, Vec<u32>)>,
}

impl Ways {
    fn new(before: &Before<'_>) -> Self {
        let (circuit, network, elements) = (before.circuit, before.network, &before.mode.elements);
        let mut is_closed = Vec::new();
        let ends: Vec<(u32, u32)> = pairs(network, elements)
            .map(|pair| {
                is_closed.push(pair.is_some());
                pair.unwrap_or((0, 0))
            })
            .collect();
        let mut is_meant: Vec<bool> =
            network.branches.iter().map(|branch| is_meant(circuit, branch.path)).collect();
        is_meant.resize(ends.len(), true);
        let graph = Multigraph::new(network.n_terminals, ends);
        let all_meant = is_meant.iter().all(|one| *one);
        let keep = |edge: u32| is_meant[edge as usize] && is_closed[edge as usize];
        let meant = graph.components(keep);
        let meant_blocks = graph.blocks(keep);
        let mut active = vec![false; circuit.design.components.len()];
        elements.cells.iter().for_each(|cell| active[cell.component.index()] = true);
        for (giver, amps) in elements.givers.iter().zip(&before.solution.giver) {
            active[giver.component.index()] |= LEAST_AMPS < amps.iter().sum::<f64>();
        }
        let takers = elements
            .takers
            .iter()
            .zip(&before.solution.taker)
            .map(|(taker, amps)| (taker.component, taker.plus, taker.minus, *amps));
        let inputs = elements.givers.iter().zip(&before.solution.input).filter_map(|(giver, amps)| {
            let input = giver.input?;
            Some((giver.component, input.plus, input.minus, *amps))
        });
        let mut known: FxHashMap<u32, Vec<u32>> = FxHashMap::default();
        let loads = takers
            .chain(inputs)
            .filter(|row| LEAST_AMPS < row.3.abs())
            .map(|(component, plus, minus, _)| {
                let part = circuit.part[circuit.metal.node(plus) as usize];
                let sources = known.entry(part).or_insert_with(|| {
                    let on = circuit
                        .sources_on(part)
                        .filter(|source| source.members.iter().any(|id| active[id.index()]));
                    on.filter_map(|source| negative(circuit, *source.members.first()?)).collect()
                });
                (component, minus.index() as u32, sources.clone())
            })
            .collect();
        Self { graph, is_meant, is_closed, all_meant, meant_blocks, meant, loads }
    }

    /// Loads that lose a way home to a source by what is meant for it, and keep another.
    fn lost(&self, edge: u32) -> Vec<ComponentId> {
        let closed = |other: u32| other != edge && self.is_closed[other as usize];
        let meant = self.graph.components(|other| closed(other) && self.is_meant[other as usize]);
        let any = self.graph.components(closed);
        let lost = self.loads.iter().filter(|(_, minus, sources)| {
            let same = |of: &[u32], source: u32| of[*minus as usize] == of[source as usize];
            sources
                .iter()
                .any(|source| same(&self.meant, *source) && !same(&meant, *source) && same(&any, *source))
        });
        let mut found: Vec<ComponentId> = lost.map(|row| row.0).collect();
        found.dedup();
        found
    }

    /// Branches that are not meant for it on a way home of the first of these loads.
    fn way_home(&self, edge: u32, homes: &[ComponentId]) -> Vec<usize> {
        let closed = |other: u32| other != edge && self.is_closed[other as usize];
        let load = self.loads.iter().find(|row| homes.contains(&row.0));
        let way = load.and_then(|(_, minus, sources)| {
            sources.iter().find_map(|source| self.graph.path(*minus, *source, closed))
        });
        way.unwrap_or_default()
            .into_iter()
            .map(|edge| edge as usize)
            .filter(|at| !self.is_meant[*at])
            .collect()
    }
}

/// A source's negative.
fn negative(circuit: &Circuit<'_>, id: ComponentId) -> Option<u32> {
    let component = &circuit.design.components[id];
    let role = match component.kind {
        Kind::Charger => TerminalRole::OutMinus,
        _ => TerminalRole::Minus,
    };
    component.terminal(circuit.design, role).map(|terminal| terminal.index() as u32)
}
