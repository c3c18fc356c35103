//! The resistances of a design under given conditions: what is there whatever the mode.

use crate::book::{Book, ShareLimit, TemperatureLimit};
use crate::circuit::{CONTACT, Circuit, DATA_SIZE, data_negative, per_metre};
use crate::design::{Body, ComponentId, DataId, Design, Id, TerminalId, TerminalRole, WireId};
use crate::units::{Resistance, Size, Temperature};

/// Under which conditions resistances are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Of all conductors.
    pub temperature: Temperature,
    /// Whether joints have their contact resistance.
    pub contacts: bool,
}

impl Conditions {
    /// Cold conductors without contact resistance, at the temperature of published resistances, as IEC 60909-0 takes it
    /// (from memory).
    pub const COLD: Self = Self { temperature: Temperature::celsius(20.0), contacts: false };

    /// Conductors at the book's operating temperature, with contact resistance.
    pub(crate) fn operating(book: &Book) -> Self {
        Self { temperature: book.temperature(TemperatureLimit::ConductorOperating), contacts: true }
    }
}

/// What a resistance is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Path {
    /// A wire, all its conductors and their ends.
    Wire(WireId),
    /// A data lead that ties two negatives.
    Data(DataId),
    /// A bolted joint, by its place among the design's.
    Joint(usize),
    /// The joint of a negative with the chassis that it is mounted on.
    Returns(ComponentId),
    /// A meter's shunt.
    Shunt(ComponentId),
    /// What was added in a link, to see what a bad contact there would do; in no network of a design.
    Contact(ComponentId),
}

/// A resistance between two terminals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// First terminal.
    pub a: TerminalId,
    /// Second terminal.
    pub b: TerminalId,
    /// Its resistance.
    pub resistance: Resistance,
    /// What it is.
    pub path: Path,
}

/// Two terminals of one component that are one where it is closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Link {
    /// First terminal.
    pub a: TerminalId,
    /// Second terminal.
    pub b: TerminalId,
    /// Whose.
    pub component: ComponentId,
}

/// All resistances and links.
#[derive(Debug, Clone, Default)]
pub struct Network {
    /// How many terminals there are.
    pub n_terminals: usize,
    /// Resistances, wires first and in their order.
    pub branches: Vec<Branch>,
    /// Links of devices, switches, plugs, cutoffs, ideal meters and common negatives.
    pub links: Vec<Link>,
    /// Where each terminal's branches start in `at_terminal`.
    starts: Vec<u32>,
    at_terminal: Vec<u32>,
}

impl Network {
    /// Reads a design. What the circuit sets aside is left out.
    pub(crate) fn new(circuit: &Circuit<'_>, conditions: Conditions) -> Self {
        let (design, book) = (circuit.design, circuit.book);
        let contact =
            if conditions.contacts { design.assume.contact.unwrap_or(CONTACT).as_ohms() } else { 0.0 };
        let metre = |size: Size| per_metre(design, book, size, conditions.temperature).as_ohms();
        let mut network = Self { n_terminals: design.terminals.len(), ..Self::default() };
        for (id, wire) in design.wires.entries() {
            if circuit.absent_wires.contains(&id) {
                continue;
            }
            let ohms = wire_resistance(circuit, conditions, id, wire.size).as_ohms();
            network.branch(wire.from.terminal, wire.to.terminal, ohms, Path::Wire(id));
        }
        for (at, joint) in design.joints.iter().enumerate() {
            network.branch(joint.a.terminal, joint.b.terminal, contact, Path::Joint(at));
        }
        for (id, lead) in design.data.entries().filter(|(_, lead)| !lead.isolated) {
            let negative = |terminal: TerminalId| data_negative(design, design.terminals[terminal].component);
            if let (Some(a), Some(b)) = (negative(lead.from.terminal), negative(lead.to.terminal)) {
                let ohms = metre(lead.size.unwrap_or(DATA_SIZE)) * lead.length.as_metres() + 2.0 * contact;
                network.branch(a, b, ohms, Path::Data(id));
            }
        }
        for (id, component) in design.components.entries() {
            let terminal = |role| component.terminal(design, role);
            use TerminalRole as R;
            let mut link = |a: Option<TerminalId>, b: Option<TerminalId>| {
                if let (Some(a), Some(b)) = (a, b) {
                    network.links.push(Link { a, b, component: id });
                }
            };
            match &component.body {
                Body::Fuse(_) | Body::Breaker(_) | Body::Cutoff(_) => {
                    link(terminal(R::Line), terminal(R::Load))
                }
                Body::Switch(_) | Body::Plug(_) => link(terminal(R::A), terminal(R::B)),
                Body::Charger(charger) if charger.common => link(terminal(R::InMinus), terminal(R::OutMinus)),
                Body::Meter(meter) => {
                    match (meter.drop, meter.full_scale, terminal(R::Bat), terminal(R::Sys)) {
                        (Some(drop), Some(full_scale), Some(bat), Some(sys)) => {
                            network.branch(bat, sys, (drop / full_scale).as_ohms(), Path::Shunt(id));
                        }
                        (_, _, bat, sys) => link(bat, sys),
                    }
                }
                Body::Alternator(alternator) => {
                    network.returns(design, id, alternator.returns, contact);
                }
                Body::Load(load) => network.returns(design, id, load.returns, contact),
                _ => {}
            }
        }
        network.index();
        network
    }

    /// The branch of a wire, by number; `None` for one that the circuit sets aside.
    #[must_use]
    pub fn wire(&self, wire: WireId) -> Option<usize> {
        // Wires come first and in their order, less those that are set aside.
        let before = self.branches.partition_point(|branch| match branch.path {
            Path::Wire(id) => id < wire,
            _ => false,
        });
        self.branches.get(before).is_some_and(|branch| branch.path == Path::Wire(wire)).then_some(before)
    }

    /// The same without one branch.
    pub(super) fn without(&self, branch: usize) -> Self {
        let mut other = self.clone();
        other.branches.remove(branch);
        other.index();
        other
    }

    /// The same with other resistances of some branches.
    #[must_use]
    pub fn with(&self, changes: &[(usize, Resistance)]) -> Self {
        let mut network = self.clone();
        for (at, resistance) in changes {
            if let Some(branch) = network.branches.get_mut(*at) {
                branch.resistance = Resistance::ohms(resistance.as_ohms().max(LEAST_OHMS));
            }
        }
        network
    }

    /// The same with this resistance in place of a link, which is then a branch, the last one.
    #[must_use]
    pub fn with_contact(&self, link: usize, resistance: Resistance) -> Self {
        let mut network = self.clone();
        if link < network.links.len() {
            let link = network.links.remove(link);
            network.branch(link.a, link.b, resistance.as_ohms(), Path::Contact(link.component));
            network.index();
        }
        network
    }

    /// The branches at a terminal, by number.
    pub(super) fn at(&self, terminal: TerminalId) -> &[u32] {
        let (from, to) = (self.starts[terminal.index()], self.starts[terminal.index() + 1]);
        &self.at_terminal[from as usize..to as usize]
    }

    pub(super) fn index(&mut self) {
        let mut starts = vec![0u32; self.n_terminals + 1];
        for branch in &self.branches {
            starts[branch.a.index() + 1] += 1;
            starts[branch.b.index() + 1] += 1;
        }
        for at in 1..starts.len() {
            starts[at] += starts[at - 1];
        }
        let mut next = starts.clone();
        self.at_terminal = vec![0; 2 * self.branches.len()];
        for (number, branch) in self.branches.iter().enumerate() {
            for end in [branch.a, branch.b] {
                let place = &mut next[end.index()];
                self.at_terminal[*place as usize] = number as u32;
                *place += 1;
            }
        }
        self.starts = starts;
    }

    fn returns(&mut self, design: &Design, id: ComponentId, chassis: Option<ComponentId>, contact: f64) {
        let minus = design.components[id].terminal(design, TerminalRole::Minus);
        if let (Some(chassis), Some(minus)) = (chassis, minus) {
            self.branch(minus, design.components[chassis].first_terminal, contact, Path::Returns(id));
        }
    }

    /// A resistance.
    pub(super) fn branch(&mut self, a: TerminalId, b: TerminalId, ohms: f64, path: Path) {
        if a != b {
            self.branches.push(Branch { a, b, resistance: Resistance::ohms(ohms.max(LEAST_OHMS)), path });
        }
    }
}

/// A wire's resistance as it would be of this size: all its conductors and their ends.
pub(crate) fn wire_resistance(
    circuit: &Circuit<'_>,
    conditions: Conditions,
    id: WireId,
    size: Size,
) -> Resistance {
    let (design, book) = (circuit.design, circuit.book);
    let wire = &design.wires[id];
    let contact = if conditions.contacts { design.assume.contact.unwrap_or(CONTACT).as_ohms() } else { 0.0 };
    let copper = per_metre(design, book, size, conditions.temperature).as_ohms() * wire.length.as_metres();
    let clad = book.share(ShareLimit::AluminiumCladConductivity).as_ratio();
    let one = if wire.aluminium_clad { copper / clad } else { copper } + 2.0 * contact;
    Resistance::ohms(one / f64::from(wire.count.max(1)))
}

/// Stands for a joint without resistance; far below every conductor's and every battery's.
const LEAST_OHMS: f64 = 1e-7;
