//! A mode as a SPICE netlist: the same circuit for any simulator, simple enough to be read.
//!
//! Terminals that closed devices make one are one node, and so are the outputs of one charger that conduct. What an output
//! does in the mode is written as it was found: a voltage source where it holds its voltage, a current source where it gives
//! all it can. The current of a closed device is that of the wires at it.

use std::fmt::Write as _;

use petgraph::unionfind::UnionFind;
use rustc_hash::{FxHashMap, FxHashSet};

use crate::design::{ComponentId, Demand, Design, Id, TerminalId};

use super::elements::Giver;
use super::network::{Network, Path};
use super::solve::{Regime, Solution};
use super::steady::{ModeStudy, Study};

/// The netlist of a solved mode; `None` where it has no solution.
#[must_use]
pub fn netlist(design: &Design, study: &Study, mode: &ModeStudy) -> Option<String> {
    let solution = mode.solution.as_ref().ok()?;
    let mut list = List::new(design, study, mode, solution);
    list.heading();
    list.nodes();
    list.resistances(study);
    list.batteries();
    list.takers();
    for at in 0..mode.elements.givers.len() {
        list.giver(at);
    }
    list.starts();
    // Sources of current that follow voltages settle to these; tighter ones lie below what rounding leaves in a joint.
    let _ = writeln!(list.text, ".options reltol=1e-9 abstol=1e-8 vntol=1e-8 gmin=1e-15 numdgt=12");
    let _ = writeln!(list.text, ".op\n.end");
    Some(list.text)
}

struct List<'s> {
    design: &'s Design,
    mode: &'s ModeStudy,
    solution: &'s Solution,
    network: &'s Network,
    /// The node of each terminal on an island with a source.
    node: FxHashMap<TerminalId, u32>,
    /// Names of elements and of nodes of their own, as simulators that do not tell capitals apart need them.
    taken: FxHashSet<String>,
    /// Volts of the nodes that are no terminal.
    inner: Vec<(String, f64)>,
    text: String,
}

impl<'s> List<'s> {
    fn new(design: &'s Design, study: &'s Study, mode: &'s ModeStudy, solution: &'s Solution) -> Self {
        let elements = &mode.elements;
        let mut joined: UnionFind<usize> = UnionFind::new(design.terminals.len());
        for link in study.network.links.iter().filter(|link| !elements.open[link.component.index()]) {
            joined.union(link.a.index(), link.b.index());
        }
        for (at, giver) in elements.givers.iter().enumerate() {
            let outputs = conducting(giver, solution, at);
            for pair in outputs.windows(2) {
                joined.union(pair[0].index(), pair[1].index());
            }
        }
        let mut zero: FxHashMap<u32, usize> = FxHashMap::default();
        for minus in &elements.negatives {
            if solution.volts[minus.index()].is_some() {
                zero.entry(solution.island[minus.index()]).or_insert(joined.find_mut(minus.index()));
            }
        }
        let mut node = FxHashMap::default();
        let mut number: FxHashMap<usize, u32> = FxHashMap::default();
        for id in design.terminals.ids().filter(|id| solution.volts[id.index()].is_some()) {
            let root = joined.find_mut(id.index());
            if zero.get(&solution.island[id.index()]) == Some(&root) {
                node.insert(id, 0);
            } else {
                let next = number.len() as u32 + 1;
                node.insert(id, *number.entry(root).or_insert(next));
            }
        }
        let (taken, inner, text) = (FxHashSet::default(), Vec::new(), String::new());
        let network = &study.network;
        Self { design, mode, solution, network, node, taken, inner, text }
    }

    fn heading(&mut self) {
        let title: String = self.design.title.chars().filter(|one| !one.is_control()).collect();
        let _ = writeln!(self.text, "* {} \"{title}\", mode {}", self.design.name, self.mode.name);
        let _ = writeln!(
            self.text,
            "* Volts, amperes, ohms. Node 0 is each island's zero: its first source's negative."
        );
    }

    fn nodes(&mut self) {
        let mut rows: Vec<(u32, TerminalId)> = self.node.iter().map(|row| (*row.1, *row.0)).collect();
        rows.sort_unstable_by_key(|row| (row.0, row.1.index()));
        for one in rows.chunk_by(|a, b| a.0 == b.0) {
            let names: Vec<String> = one.iter().map(|row| self.design.terminal_name(row.1)).collect();
            let _ = writeln!(self.text, "* {} {}", one[0].0, names.join(" "));
        }
    }

    /// A name of an element or a node that no other has.
    fn name(&mut self, before: &str, name: &str) -> String {
        let plain: String =
            name.chars().map(|one| if one.is_ascii_alphanumeric() { one } else { '_' }).collect();
        let first = format!("{before}{plain}");
        let mut name = first.clone();
        let mut number = 1;
        while !self.taken.insert(name.to_ascii_lowercase()) {
            number += 1;
            name = format!("{first}_{number}");
        }
        name
    }

    fn component(&self, id: ComponentId) -> &'s str {
        &self.design.components[id].name
    }

    /// The nodes of two terminals, where both are on an island with a source.
    fn ends(&self, a: TerminalId, b: TerminalId) -> Option<(u32, u32)> {
        Some((*self.node.get(&a)?, *self.node.get(&b)?))
    }

    fn resistances(&mut self, study: &Study) {
        for branch in &study.network.branches {
            let Some((a, b)) = self.ends(branch.a, branch.b) else { continue };
            let design = self.design;
            let name = match branch.path {
                Path::Wire(id) => self.name("R", &design.wires[id].name),
                Path::Data(id) => self.name("R", &design.data[id].name),
                Path::Joint(at) => self.name("R", &format!("bolt{}", at + 1)),
                Path::Returns(id) => self.name("R", &format!("{}_mount", design.components[id].name)),
                Path::Shunt(id) | Path::Contact(id) => self.name("R", &design.components[id].name),
            };
            let _ = writeln!(self.text, "{name} {a} {b} {:e}", branch.resistance.as_ohms());
        }
    }

    fn batteries(&mut self) {
        for (cell, amps) in self.mode.elements.cells.iter().zip(&self.solution.cell) {
            let Some((plus, minus)) = self.ends(cell.plus, cell.minus) else { continue };
            let own = self.component(cell.component);
            let (source, inner) = (self.name("V", own), self.name("R", own));
            let behind = self.name("behind_", own);
            let _ = writeln!(self.text, "{source} {behind} {minus} {:e}", cell.voltage.as_volts());
            let _ = writeln!(self.text, "{inner} {behind} {plus} {:e}", cell.resistance.as_ohms());
            let own = self.volts(cell.plus) + amps * cell.resistance.as_ohms();
            self.inner.push((behind, own));
        }
    }

    fn takers(&mut self) {
        for taker in &self.mode.elements.takers {
            let Some((plus, minus)) = self.ends(taker.plus, taker.minus) else { continue };
            if self.solution.island[taker.plus.index()] != self.solution.island[taker.minus.index()] {
                continue;
            }
            let own = self.component(taker.component);
            let line = match taker.demand {
                Demand::Power(power) => {
                    let name = self.name("B", own);
                    format!("{name} {plus} {minus} I={:e}/V({plus},{minus})", power.as_watts())
                }
                Demand::Current(current) => {
                    let name = self.name("I", own);
                    format!("{name} {plus} {minus} {:e}", current.as_amps())
                }
                Demand::Resistance(resistance) => {
                    let name = self.name("R", own);
                    format!("{name} {plus} {minus} {:e}", resistance.as_ohms())
                }
            };
            let _ = writeln!(self.text, "{line}");
        }
    }

    fn giver(&mut self, at: usize) {
        let (giver, regime) = (&self.mode.elements.givers[at], self.solution.regime[at]);
        let own = self.component(giver.component);
        let Some(first) = conducting(giver, self.solution, at).first().copied() else { return };
        let Some((plus, minus)) = self.ends(first, giver.minus) else { return };
        let input = giver.input.and_then(|input| Some((self.ends(input.plus, input.minus)?, input)));
        let input = input.filter(|(_, input)| {
            self.solution.island[input.plus.index()] == self.solution.island[input.minus.index()]
        });
        if giver.input.is_some() && input.is_none() {
            return;
        }
        // What the output gives, as an expression, and the line that makes it.
        let given = match regime {
            Regime::Idle => return,
            Regime::Holds => match self.solution.leader[at] {
                Some(leader) => self.follows(at, leader),
                None => {
                    let name = self.name("V", own);
                    let _ = writeln!(self.text, "{name} {plus} {minus} {:e}", giver.set.as_volts());
                    self.given(at)
                }
            },
            Regime::Gives => format!("{:e}", giver.most.map_or(0.0, |most| most.as_amps())),
            Regime::InputBound => input.map_or_else(String::new, |((high, low), input)| {
                let most = input.most.map_or(0.0, |most| most.as_amps());
                format!("{:e}*V({high},{low})/V({plus},{minus})", input.efficiency * most)
            }),
        };
        if regime != Regime::Holds || self.solution.leader[at].is_some() {
            let name = self.name("B", own);
            let _ = writeln!(self.text, "{name} {minus} {plus} I={given}");
        }
        if let Some(((high, low), input)) = input {
            let name = self.name("B", &format!("{own}_in"));
            let drawn = match (regime, input.most) {
                (Regime::InputBound, Some(most)) => format!("{:e}", most.as_amps()),
                _ => format!("{given}*V({plus},{minus})/({:e}*V({high},{low}))", input.efficiency),
            };
            let _ = writeln!(self.text, "{name} {high} {low} I={drawn}");
        }
    }

    /// What an output that holds its voltage gives, by the resistances at it. The current of its own source would be a
    /// poor start for what depends on it: start values on both sides of a source leave its current to rounding.
    fn given(&self, at: usize) -> String {
        let mut terms: Vec<String> = Vec::new();
        for plus in conducting(&self.mode.elements.givers[at], self.solution, at) {
            for branch in self.network.at(plus) {
                let branch = &self.network.branches[*branch as usize];
                let other = if branch.a == plus { branch.b } else { branch.a };
                if let Some((plus, other)) = self.ends(plus, other).filter(|ends| ends.0 != ends.1) {
                    terms.push(format!("V({plus},{other})/{:e}", branch.resistance.as_ohms()));
                }
            }
        }
        if terms.is_empty() { "0".into() } else { format!("({})", terms.join("+")) }
    }

    /// What one gives that holds a voltage together with another, in proportion to their ratings.
    fn follows(&self, at: usize, leader: usize) -> String {
        let most = |at: usize| self.mode.elements.givers[at].most.map_or(0.0, |most| most.as_amps());
        format!("{:e}*{}", most(at) / most(leader), self.given(leader))
    }

    fn volts(&self, terminal: TerminalId) -> f64 {
        self.solution.volts[terminal.index()].unwrap_or_default()
    }

    /// Where a simulator's search begins. Not `.nodeset`: that holds both ends of a voltage source by force at first, and
    /// what the simulator then keeps of it spoils the currents.
    fn starts(&mut self) {
        let mut rows: Vec<(u32, TerminalId)> =
            self.node.iter().filter(|row| *row.1 != 0).map(|row| (*row.1, *row.0)).collect();
        rows.sort_unstable_by_key(|row| (row.0, row.1.index()));
        rows.dedup_by_key(|row| row.0);
        for (number, terminal) in rows {
            let volts = self.volts(terminal);
            let _ = writeln!(self.text, ".ic V({number})={volts:e}");
        }
        for (node, volts) in &self.inner {
            let _ = writeln!(self.text, ".ic V({node})={volts:e}");
        }
    }
}

/// The outputs of a charger or other source that conduct; none of one that is idle.
fn conducting(giver: &Giver, solution: &Solution, at: usize) -> Vec<TerminalId> {
    if solution.regime[at] == Regime::Idle {
        return Vec::new();
    }
    let rows = giver.plus.iter().zip(&solution.conducts[at]);
    rows.filter(|row| *row.1).map(|row| *row.0).collect()
}
