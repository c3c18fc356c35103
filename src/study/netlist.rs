//! A mode as a SPICE netlist: the same circuit for any simulator, simple enough to be read.
//!
//! Every terminal is a node, and every closed device a source of 0 V between its two. What an output does in the mode is
//! written as it was found: a voltage source where it holds its voltage, a current source where it gives all it can.

use std::fmt::Write as _;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::design::{ComponentId, Demand, Design, Id, TerminalId};

use super::elements::Giver;
use super::network::Path;
use super::solve::{Regime, Solution};
use super::steady::{ModeStudy, Study};

/// The netlist of a solved mode; `None` where it has no solution.
#[must_use]
pub fn netlist(design: &Design, study: &Study, mode: &ModeStudy) -> Option<String> {
    let solution = mode.solution.as_ref().ok()?;
    let mut list = List::new(design, mode, solution);
    list.heading();
    list.nodes();
    list.resistances(study);
    list.links(study);
    list.batteries();
    list.takers();
    for (at, giver) in mode.elements.givers.iter().enumerate() {
        list.giver(giver, solution.regime[at], &solution.giver[at]);
    }
    list.starts();
    let _ = writeln!(list.text, ".options reltol=1e-9 abstol=1e-8 vntol=1e-8 gmin=1e-15 numdgt=12");
    let _ = writeln!(list.text, ".op\n.end");
    Some(list.text)
}

struct List<'s> {
    design: &'s Design,
    mode: &'s ModeStudy,
    solution: &'s Solution,
    /// The node of each terminal on an island with a source.
    node: FxHashMap<TerminalId, u32>,
    /// Names of elements, as simulators that do not tell capitals apart need them.
    taken: FxHashSet<String>,
    text: String,
}

impl<'s> List<'s> {
    fn new(design: &'s Design, mode: &'s ModeStudy, solution: &'s Solution) -> Self {
        let mut zero: FxHashMap<u32, TerminalId> = FxHashMap::default();
        for minus in &mode.elements.negatives {
            if solution.volts[minus.index()].is_some() {
                zero.entry(solution.island[minus.index()]).or_insert(*minus);
            }
        }
        let mut node = FxHashMap::default();
        let mut number = 0;
        for id in design.terminals.ids().filter(|id| solution.volts[id.index()].is_some()) {
            if zero.get(&solution.island[id.index()]) == Some(&id) {
                node.insert(id, 0);
            } else {
                number += 1;
                node.insert(id, number);
            }
        }
        Self { design, mode, solution, node, taken: FxHashSet::default(), text: String::new() }
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
        let zeros: Vec<String> =
            rows.iter().filter(|row| row.0 == 0).map(|row| self.design.terminal_name(row.1)).collect();
        let _ = writeln!(self.text, "* 0 {}", zeros.join(" "));
        for (number, terminal) in rows.iter().filter(|row| row.0 != 0) {
            let _ = writeln!(self.text, "* {number} {}", self.design.terminal_name(*terminal));
        }
    }

    /// A name of an element that no other has.
    fn name(&mut self, letter: char, name: &str) -> String {
        let plain: String =
            name.chars().map(|one| if one.is_ascii_alphanumeric() { one } else { '_' }).collect();
        let first = format!("{letter}{plain}");
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
                Path::Wire(id) => self.name('R', &design.wires[id].name),
                Path::Data(id) => self.name('R', &design.data[id].name),
                Path::Joint(at) => self.name('R', &format!("bolt{}", at + 1)),
                Path::Returns(id) => self.name('R', &format!("{}_mount", design.components[id].name)),
                Path::Shunt(id) | Path::Contact(id) => self.name('R', &design.components[id].name),
            };
            let _ = writeln!(self.text, "{name} {a} {b} {:e}", branch.resistance.as_ohms());
        }
    }

    fn links(&mut self, study: &Study) {
        let open = &self.mode.elements.open;
        for link in study.network.links.iter().filter(|link| !open[link.component.index()]) {
            let Some((a, b)) = self.ends(link.a, link.b) else { continue };
            let name = self.name('V', self.component(link.component));
            let _ = writeln!(self.text, "{name} {a} {b} 0");
        }
    }

    fn batteries(&mut self) {
        for cell in &self.mode.elements.cells {
            let Some((plus, minus)) = self.ends(cell.plus, cell.minus) else { continue };
            let own = self.component(cell.component);
            let (source, inner) = (self.name('V', own), self.name('R', own));
            let behind = format!("b{}", cell.component.index());
            let _ = writeln!(self.text, "{source} {behind} {minus} {:e}", cell.voltage.as_volts());
            let _ = writeln!(self.text, "{inner} {behind} {plus} {:e}", cell.resistance.as_ohms());
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
                    let name = self.name('B', own);
                    format!("{name} {plus} {minus} I={:e}/V({plus},{minus})", power.as_watts())
                }
                Demand::Current(current) => {
                    let name = self.name('I', own);
                    format!("{name} {plus} {minus} {:e}", current.as_amps())
                }
                Demand::Resistance(resistance) => {
                    let name = self.name('R', own);
                    format!("{name} {plus} {minus} {:e}", resistance.as_ohms())
                }
            };
            let _ = writeln!(self.text, "{line}");
        }
    }

    fn giver(&mut self, giver: &Giver, regime: Regime, amps: &[f64]) {
        let own = self.component(giver.component);
        let conducting = giver.plus.iter().zip(amps).filter(|row| *row.1 != 0.0 || giver.plus.len() == 1);
        let outputs: Vec<(u32, u32)> =
            conducting.filter_map(|(plus, _)| self.ends(*plus, giver.minus)).collect();
        let Some((first, minus)) = outputs.first().copied() else { return };
        let input = giver.input.and_then(|input| Some((self.ends(input.plus, input.minus)?, input)));
        let input = input.filter(|(_, input)| {
            self.solution.island[input.plus.index()] == self.solution.island[input.minus.index()]
        });
        if giver.input.is_some() && input.is_none() {
            return;
        }
        // What the output gives, as an expression, and the lines that make it.
        let given = match regime {
            Regime::Idle => return,
            Regime::Holds => {
                let mut terms = String::new();
                for (plus, minus) in &outputs {
                    let name = self.name('V', own);
                    let _ = writeln!(self.text, "{name} {plus} {minus} {:e}", giver.set.as_volts());
                    let _ = write!(terms, "-I({name})");
                }
                format!("({terms})")
            }
            Regime::Gives => format!("{:e}", giver.most.map_or(0.0, |most| most.as_amps())),
            Regime::InputBound => input.map_or_else(String::new, |((plus, low), input)| {
                let most = input.most.map_or(0.0, |most| most.as_amps());
                format!("{:e}*V({plus},{low})/V({first},{minus})", input.efficiency * most)
            }),
        };
        if regime != Regime::Holds {
            for (plus, _) in outputs.iter().skip(1) {
                let name = self.name('V', own);
                let _ = writeln!(self.text, "{name} {first} {plus} 0");
            }
            let name = self.name('B', own);
            let _ = writeln!(self.text, "{name} {minus} {first} I={given}");
        }
        if let Some(((plus, low), input)) = input {
            let name = self.name('B', &format!("{own}_in"));
            let drawn = match (regime, input.most) {
                (Regime::InputBound, Some(most)) => format!("{:e}", most.as_amps()),
                _ => format!("{given}*V({first},{minus})/({:e}*V({plus},{low}))", input.efficiency),
            };
            let _ = writeln!(self.text, "{name} {plus} {low} I={drawn}");
        }
    }

    /// Where a simulator's search begins.
    fn starts(&mut self) {
        let mut rows: Vec<(u32, f64)> = self
            .node
            .iter()
            .filter(|row| *row.1 != 0)
            .filter_map(|(terminal, number)| Some((*number, self.solution.volts[terminal.index()]?)))
            .collect();
        rows.sort_unstable_by_key(|row| row.0);
        for (number, volts) in rows {
            let _ = writeln!(self.text, ".nodeset V({number})={volts:e}");
        }
    }
}
