//! Every mode of a design, solved.

use rustc_hash::FxHashMap;

use crate::circuit::Circuit;
use crate::design::{ComponentId, ModeId, TerminalId, WireId};

use super::elements::Elements;
use super::network::{Conditions, Network, Path};
use super::peaks::Peaks;
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
    /// What each meter reads, in amperes: positive for current that charges the battery, or that the group gives.
    pub meters: Vec<(ComponentId, f64)>,
}

/// The name of the mode that stands in where a design has none.
pub const EVERYTHING: &str = "everything";

/// The modes of a design.
#[derive(Debug, Clone)]
pub struct Study {
    /// The conditions that the modes are solved under.
    pub conditions: Conditions,
    /// What resists, under the conditions of the study.
    pub network: Network,
    /// Its modes, in the order of the design.
    pub modes: Vec<ModeStudy>,
    /// The largest current of each element over the modes.
    pub peaks: Peaks,
}

impl Study {
    /// Solves all modes of a circuit, or the one of this name, under the book's operating conditions or others.
    pub(crate) fn new(circuit: &Circuit<'_>, only: Option<&str>, conditions: Option<Conditions>) -> Self {
        let conditions = conditions.unwrap_or_else(|| Conditions::operating(circuit.book));
        let network = Network::new(circuit, conditions);
        let of = |id: Option<ModeId>| {
            let mode = id.map(|id| &circuit.design.modes[id]);
            let elements = Elements::of(circuit, mode);
            let solution = solve(&network, &elements);
            let name = mode.map_or_else(|| EVERYTHING.to_owned(), |mode| mode.name.clone());
            let meters =
                solution.as_ref().map(|solved| readings(circuit, &network, solved)).unwrap_or_default();
            ModeStudy { mode: id, name, elements, solution, meters }
        };
        let modes: Vec<ModeStudy> = if circuit.design.modes.is_empty() {
            vec![of(None)]
        } else {
            let wanted = |id: &ModeId| only.is_none_or(|name| circuit.design.modes[*id].name == name);
            circuit.design.modes.ids().filter(wanted).map(|id| of(Some(id))).collect()
        };
        let peaks = Peaks::of(circuit, &network, &modes);
        Self { conditions, network, modes, peaks }
    }
}

/// What meters read: in a negative conductor positive from `bat` to `sys`, in the positive the other way.
pub(super) fn readings(
    circuit: &Circuit<'_>,
    network: &Network,
    solved: &Solution,
) -> Vec<(ComponentId, f64)> {
    let shunts = network.branches.iter().zip(&solved.branch).filter_map(|(branch, amps)| match branch.path {
        Path::Shunt(id) => Some((id, *amps)),
        _ => None,
    });
    let links = network.links.iter().zip(&solved.link).map(|(link, amps)| (link.component, *amps));
    let through: FxHashMap<ComponentId, f64> = links.chain(shunts).collect();
    let meters = circuit.meters().iter();
    meters
        .filter_map(|view| {
            let amps = through.get(&view.meter)?;
            Some((view.meter, if view.positive { -amps } else { *amps }))
        })
        .collect()
}

impl ModeStudy {
    /// The same mode on another network of the same circuit.
    pub(crate) fn on(&self, circuit: &Circuit<'_>, network: &Network) -> Self {
        let solution = solve(network, &self.elements);
        let meters = solution.as_ref().map(|solved| readings(circuit, network, solved)).unwrap_or_default();
        let (name, elements) = (self.name.clone(), self.elements.clone());
        Self { mode: self.mode, name, elements, solution, meters }
    }

    /// Amperes of a wire from its first end to its second; `None` for one that the circuit sets aside.
    #[must_use]
    pub fn wire(&self, network: &Network, wire: WireId) -> Option<f64> {
        let branch = network.wire(wire)?;
        self.solution.as_ref().ok()?.branch.get(branch).copied()
    }

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
