//! What is lost between a source and what it feeds, and along which way.

use std::cell::RefCell;

use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

use crate::circuit::{Circuit, Source};
use crate::design::{ComponentId, Id, Kind, TerminalId, TerminalRole};
use crate::units::{Share, Voltage};

use super::elements::Giver;
use super::network::Network;
use super::solve::Solution;
use super::steady::ModeStudy;

/// What is lost between the poles of two components that metal joins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drop {
    /// The source, or for a charger's output the battery that it charges.
    pub source: ComponentId,
    /// Poles where the current sets out, positive first.
    pub from: (TerminalId, TerminalId),
    /// Poles where it arrives, positive first.
    pub to: (TerminalId, TerminalId),
    /// How much, out and back; negative where the voltage rises on the way.
    pub lost: Voltage,
    /// The nominal voltage that it is a share of.
    pub nominal: Voltage,
}

impl Drop {
    /// As a share of nominal voltage.
    #[must_use]
    pub fn share(&self) -> Share {
        Share::ratio(self.lost / self.nominal)
    }
}

/// One piece of metal on a way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Piece {
    /// A resistance, by number in the network.
    Branch(usize),
    /// A closed link, by number in the network.
    Link(usize),
}

/// A piece of a way with what it loses in the direction of the way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// The piece.
    pub piece: Piece,
    /// Positive where the voltage falls along the way.
    pub lost: Voltage,
}

/// The drops of one solved mode.
pub(crate) struct Drops<'s> {
    circuit: &'s Circuit<'s>,
    mode: &'s ModeStudy,
    solution: &'s Solution,
    /// What closed metal joins, by terminal.
    joined: Vec<u32>,
    /// What each giver gives, and each battery, by component.
    gives: FxHashMap<ComponentId, f64>,
    found: RefCell<FxHashMap<(u32, u32, u32), Option<Poles>>>,
}

/// A source with its poles.
#[derive(Clone, Copy)]
struct Poles {
    source: ComponentId,
    plus: TerminalId,
    minus: TerminalId,
}

impl<'s> Drops<'s> {
    /// `None` for a mode without a solution.
    pub(crate) fn of(circuit: &'s Circuit<'s>, network: &'s Network, mode: &'s ModeStudy) -> Option<Self> {
        let solution = mode.solution.as_ref().ok()?;
        let mut joined: UnionFind<u32> = UnionFind::new(network.n_terminals);
        for link in network.links.iter().filter(|link| !mode.elements.open[link.component.index()]) {
            joined.union(link.a.index() as u32, link.b.index() as u32);
        }
        for branch in &network.branches {
            joined.union(branch.a.index() as u32, branch.b.index() as u32);
        }
        let cells =
            mode.elements.cells.iter().zip(&solution.cell).map(|(cell, amps)| (cell.component, *amps));
        let givers = mode.elements.givers.iter().zip(&solution.giver);
        let givers = givers.map(|(giver, amps)| (giver.component, amps.iter().sum::<f64>()));
        Some(Self {
            circuit,
            mode,
            solution,
            joined: joined.into_labeling(),
            gives: cells.chain(givers).collect(),
            found: RefCell::default(),
        })
    }

    /// From the source of its network to a load, inverter or hub, by its place among the takers; `None` where it is not fed.
    pub(crate) fn of_taker(&self, at: usize) -> Option<Drop> {
        let taker = self.mode.elements.takers.get(at)?;
        if self.solution.unfed.contains(&at) {
            return None;
        }
        let from = self.source(taker.plus, taker.minus, false)?;
        self.between(from.source, (from.plus, from.minus), (taker.plus, taker.minus), taker.nominal)
    }

    /// From a charger's outputs to the battery that each charges, the largest; `None` where it charges none.
    pub(crate) fn of_outputs(&self, giver: &Giver, nominal: Voltage) -> Option<Drop> {
        let all = giver.plus.iter().filter_map(|plus| {
            let to = self.source(*plus, giver.minus, true)?;
            self.between(to.source, (*plus, giver.minus), (to.plus, to.minus), nominal)
        });
        all.reduce(|most, next| if most.lost < next.lost { next } else { most })
    }

    /// From the source of its network to a charger's input.
    pub(crate) fn of_input(&self, giver: &Giver) -> Option<Drop> {
        let input = giver.input?;
        let from = self.source(input.plus, input.minus, false)?;
        let (from_poles, to) = ((from.plus, from.minus), (input.plus, input.minus));
        self.between(from.source, from_poles, to, input.nominal)
    }

    /// The poles of the source that feeds what lies between two terminals.
    pub(crate) fn feeds(&self, plus: TerminalId, minus: TerminalId) -> Option<(TerminalId, TerminalId)> {
        self.source(plus, minus, false).map(|poles| (poles.plus, poles.minus))
    }

    /// The poles of a source that closed metal joins a terminal to by its positive: of several the battery that gives most.
    pub(crate) fn feeds_at(&self, terminal: TerminalId) -> Option<(TerminalId, TerminalId)> {
        let part = self.circuit.part[self.circuit.metal.node(terminal) as usize];
        let high = self.joined[terminal.index()];
        let poles = self.best(part, |source| self.poles(source, high, None))?;
        Some((poles.plus, poles.minus))
    }

    /// The negative that stands for zero on a terminal's island.
    pub(crate) fn zero(&self, terminal: TerminalId) -> Option<TerminalId> {
        let island = *self.solution.island.get(terminal.index())?;
        let mut all = self.mode.elements.negatives.iter();
        all.find(|minus| self.solution.island[minus.index()] == island).copied()
    }

    fn between(
        &self,
        source: ComponentId,
        from: (TerminalId, TerminalId),
        to: (TerminalId, TerminalId),
        nominal: Voltage,
    ) -> Option<Drop> {
        let lost = self.mode.across(from.0, from.1)? - self.mode.across(to.0, to.1)?;
        let drop = Drop { source, from, to, lost: Voltage::volts(lost), nominal };
        (0.0 < nominal.as_volts()).then_some(drop)
    }

    /// The battery that metal joins to both poles in this mode, of several the one that gives most (or is charged least);
    /// where there is none, the other source that gives most.
    fn source(&self, plus: TerminalId, minus: TerminalId, batteries_only: bool) -> Option<Poles> {
        let part = self.circuit.part[self.circuit.metal.node(plus) as usize];
        let key = (self.joined[plus.index()], self.joined[minus.index()], part);
        let poles = *self.found.borrow_mut().entry(key).or_insert_with(|| self.look(key));
        poles.filter(|poles| {
            !batteries_only || self.circuit.design.components[poles.source].kind == Kind::Battery
        })
    }

    fn look(&self, (high, low, part): (u32, u32, u32)) -> Option<Poles> {
        self.best(part, |source| self.poles(source, high, Some(low)))
    }

    fn best(&self, part: u32, poles: impl Fn(&Source) -> Option<Poles>) -> Option<Poles> {
        let mut best: Option<(bool, f64, Poles)> = None;
        for source in self.circuit.sources_on(part) {
            let Some(poles) = poles(source) else { continue };
            let is_battery = source.kind == Kind::Battery;
            let Some(gives) = self.gives.get(&source.component).copied() else { continue };
            let is_better = best.is_none_or(|best| (best.0, best.1) < (is_battery, gives));
            if is_better && (is_battery || 0.0 < gives) {
                best = Some((is_battery, gives, poles));
            }
        }
        best.map(|best| best.2)
    }

    /// A source's poles, where closed metal joins them to these.
    fn poles(&self, source: &Source, high: u32, low: Option<u32>) -> Option<Poles> {
        let design = self.circuit.design;
        let last = &design.components[source.component];
        let minus = match source.kind {
            Kind::Charger => last.terminal(design, TerminalRole::OutMinus)?,
            _ => design.components[*source.members.first()?].terminal(design, TerminalRole::Minus)?,
        };
        let is_plus = |role| {
            matches!(role, TerminalRole::Plus | TerminalRole::OutPlus | TerminalRole::OutPlusNumber(_))
        };
        let mut pluses = last.terminals(design).filter(|row| is_plus(row.1)).map(|row| row.0);
        let plus = pluses.find(|plus| self.joined[plus.index()] == high)?;
        let is_joined = low.is_none_or(|low| self.joined[minus.index()] == low);
        is_joined.then_some(Poles { source: source.component, plus, minus })
    }
}

/// The ways of one solved mode: between any two terminals the one whose smallest current is the largest, so that a way
/// follows what flows. What is lost on it adds up to the voltage between its ends, whichever way is taken.
pub(crate) struct Ways {
    /// By terminal: what hangs there, by number of piece, and the terminal beyond.
    at: Vec<Vec<(u32, TerminalId)>>,
    pieces: Vec<Way>,
}

/// A piece with its ends.
#[derive(Clone, Copy)]
struct Way {
    piece: Piece,
    a: TerminalId,
    b: TerminalId,
    /// Volts from `a` to `b`.
    lost: f64,
    /// Amperes, without what rounding makes.
    micro_amps: u64,
}

impl Ways {
    /// `None` for a mode without a solution.
    pub(crate) fn of(network: &Network, mode: &ModeStudy) -> Option<Self> {
        let solution = mode.solution.as_ref().ok()?;
        let whole = |amps: f64| (amps.abs() * 1e6).round() as u64;
        let links = network.links.iter().zip(&solution.link).enumerate();
        let links = links.filter(|(_, (link, _))| !mode.elements.open[link.component.index()]);
        let links = links.map(|(at, (link, amps))| Way {
            piece: Piece::Link(at),
            a: link.a,
            b: link.b,
            lost: 0.0,
            micro_amps: whole(*amps),
        });
        let branches = network.branches.iter().zip(&solution.branch).enumerate();
        let branches = branches.map(|(at, (branch, amps))| Way {
            piece: Piece::Branch(at),
            a: branch.a,
            b: branch.b,
            lost: amps * branch.resistance.as_ohms(),
            micro_amps: whole(*amps),
        });
        let mut pieces: Vec<Way> = links.chain(branches).collect();
        // A tree of the largest currents: stable, so that equal ones stay in the order of the network.
        pieces.sort_by_key(|way| std::cmp::Reverse(way.micro_amps));
        let mut joined: UnionFind<u32> = UnionFind::new(network.n_terminals);
        let mut at = vec![Vec::new(); network.n_terminals];
        for (number, way) in pieces.iter().enumerate() {
            if joined.union(way.a.index() as u32, way.b.index() as u32) {
                at[way.a.index()].push((number as u32, way.b));
                at[way.b.index()].push((number as u32, way.a));
            }
        }
        Some(Self { at, pieces })
    }

    /// The way from one terminal to another; `None` where no closed metal joins them.
    pub(crate) fn between(&self, from: TerminalId, to: TerminalId) -> Option<Vec<Step>> {
        let mut back: FxHashMap<TerminalId, (u32, TerminalId)> = FxHashMap::default();
        let mut open = vec![from];
        while let Some(here) = open.pop() {
            if here == to {
                break;
            }
            for (number, beyond) in &self.at[here.index()] {
                if *beyond != from && !back.contains_key(beyond) {
                    back.insert(*beyond, (*number, here));
                    open.push(*beyond);
                }
            }
        }
        let mut steps = Vec::new();
        let mut here = to;
        while here != from {
            let (number, before) = *back.get(&here)?;
            let way = self.pieces[number as usize];
            let lost = if way.a == before { way.lost } else { -way.lost };
            steps.push(Step { piece: way.piece, lost: Voltage::volts(lost) });
            here = before;
        }
        steps.reverse();
        Some(steps)
    }

    /// Both ways of a drop: out on the positive side, and back on the negative.
    pub(crate) fn of_drop(&self, drop: &Drop) -> Option<(Vec<Step>, Vec<Step>)> {
        Some((self.between(drop.from.0, drop.to.0)?, self.between(drop.to.1, drop.from.1)?))
    }
}
