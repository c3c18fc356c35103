//! Every mode of a design, solved.

use crate::book::TemperatureLimit;
use crate::circuit::Circuit;
use crate::design::{ModeId, TerminalId};

use super::elements::Elements;
use super::fault::Faults;
use super::network::{Conditions, Network};
use super::solve::{Solution, Trouble, solve};

/// One mode.
#[derive(Debug, Clone)]
pub struct ModeStudy {
    /// Which mode; `None` for the one that stands in where a design has none.
    pub mode: Option<ModeId>,
    /// Its name, `everything` where the design has none.
    pub name: String,
    /// What acts in it.
    pub elements: Elements,
    /// Its solution, or why there is none.
    pub solution: Result<Solution, Trouble>,
}

/// The name of the mode that stands in where a design has none.
pub const EVERYTHING: &str = "everything";

/// The modes of a design.
#[derive(Debug, Clone)]
pub struct Study {
    /// What resists, under the conditions of the study.
    pub network: Network,
    /// Its modes, in the order of the design.
    pub modes: Vec<ModeStudy>,
    /// What faults draw.
    pub faults: Faults,
}

impl Study {
    /// Solves all modes of a circuit, or the one of this name, under the book's operating conditions or others.
    pub(crate) fn new(circuit: &Circuit<'_>, only: Option<&str>, conditions: Option<Conditions>) -> Self {
        let usual = Conditions {
            temperature: circuit.book.temperature(TemperatureLimit::ConductorOperating),
            contacts: true,
        };
        let network = Network::new(circuit, conditions.unwrap_or(usual));
        let of = |id: Option<ModeId>| {
            let mode = id.map(|id| &circuit.design.modes[id]);
            let elements = Elements::of(circuit, mode);
            let solution = solve(&network, &elements);
            let name = mode.map_or_else(|| EVERYTHING.to_owned(), |mode| mode.name.clone());
            ModeStudy { mode: id, name, elements, solution }
        };
        let modes = if circuit.design.modes.is_empty() {
            vec![of(None)]
        } else {
            let wanted = |id: &ModeId| only.is_none_or(|name| circuit.design.modes[*id].name == name);
            circuit.design.modes.ids().filter(wanted).map(|id| of(Some(id))).collect()
        };
        Self { network, modes, faults: Faults::new(circuit) }
    }
}

impl ModeStudy {
    /// Volts between two terminals, where both are on one island.
    #[must_use]
    pub fn across(&self, a: TerminalId, b: TerminalId) -> Option<f64> {
        use crate::design::Id;
        let solution = self.solution.as_ref().ok()?;
        let one = |terminal: TerminalId| solution.volts[terminal.index()];
        let joined = solution.island[a.index()] == solution.island[b.index()];
        if joined { Some(one(a)? - one(b)?) } else { None }
    }

    /// What sources give less what is taken and lost, and what is given, in watts; 0 but for rounding.
    #[must_use]
    pub fn balance(&self, network: &Network) -> Option<(f64, f64)> {
        let solution = self.solution.as_ref().ok()?;
        let across = |a, b| self.across(a, b).unwrap_or(0.0);
        let mut sum = 0.0;
        let mut size: f64 = 0.0;
        let mut add = |watts: f64| {
            sum += watts;
            size += watts.abs();
        };
        for (branch, amps) in network.branches.iter().zip(&solution.branch) {
            add(-branch.resistance.as_ohms() * amps * amps);
        }
        for (cell, amps) in self.elements.cells.iter().zip(&solution.cell) {
            add(cell.voltage.as_volts() * amps);
            add(-cell.resistance.as_ohms() * amps * amps);
        }
        for (taker, amps) in self.elements.takers.iter().zip(&solution.taker) {
            add(-across(taker.plus, taker.minus) * amps);
        }
        for (at, giver) in self.elements.givers.iter().enumerate() {
            for (plus, amps) in giver.plus.iter().zip(&solution.giver[at]) {
                add(across(*plus, giver.minus) * amps);
            }
            if let Some(input) = giver.input {
                add(-across(input.plus, input.minus) * solution.input[at]);
            }
        }
        Some((sum, size))
    }
}
