//! The largest current of each element over the modes of a design.

use crate::circuit::Circuit;
use crate::design::Id;
use crate::units::Current;

use super::network::{Network, Path};
use super::steady::ModeStudy;

/// The largest current of an element, and the mode in which it flows.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Peak {
    /// How much, whichever way.
    pub current: Current,
    /// Place of the mode among the study's.
    pub mode: usize,
}

impl Peak {
    fn raise(&mut self, amps: f64, mode: usize) {
        if self.current.as_amps() < amps {
            *self = Self { current: Current::amps(amps), mode };
        }
    }
}

/// What flows for good at most. A mode in which a starter turns lasts for seconds and does not count.
#[derive(Debug, Clone, Default)]
pub struct Peaks {
    /// By number of the network's branch.
    pub branch: Vec<Peak>,
    /// By number of component: what passes a device, switch, plug, cutoff or meter, and what a battery gives.
    pub component: Vec<Peak>,
}

impl Peaks {
    pub(super) fn of(circuit: &Circuit<'_>, network: &Network, modes: &[ModeStudy]) -> Self {
        let mut peaks = Self {
            branch: vec![Peak::default(); network.branches.len()],
            component: vec![Peak::default(); circuit.design.components.len()],
        };
        for (at, mode) in modes.iter().enumerate() {
            let Ok(solved) = &mode.solution else { continue };
            if mode.elements.takers.iter().any(|taker| circuit.is_starter(taker.component)) {
                continue;
            }
            for (number, (branch, amps)) in network.branches.iter().zip(&solved.branch).enumerate() {
                peaks.branch[number].raise(amps.abs(), at);
                if let Path::Shunt(id) = branch.path {
                    peaks.component[id.index()].raise(amps.abs(), at);
                }
            }
            for (link, amps) in network.links.iter().zip(&solved.link) {
                peaks.component[link.component.index()].raise(amps.abs(), at);
            }
            for (cell, amps) in mode.elements.cells.iter().zip(&solved.cell) {
                peaks.component[cell.component.index()].raise(*amps, at);
            }
        }
        peaks
    }
}
