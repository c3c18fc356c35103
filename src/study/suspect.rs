//! Which extra resistance, in one place, would make a mode give another figure.

use crate::circuit::Circuit;
use crate::design::Id;
use crate::units::{Current, Power, Resistance, Voltage};

use super::drop::Piece;
use super::network::{Network, Path};
use super::steady::ModeStudy;

/// An extra resistance in one piece of metal, and the mode with it.
#[derive(Debug, Clone)]
pub(crate) struct Extra {
    /// Where.
    pub(crate) piece: Piece,
    /// How much more than the model has there.
    pub(crate) resistance: Resistance,
    /// The heat that it makes.
    pub(crate) heat: Power,
    /// The mode with it.
    pub(crate) mode: ModeStudy,
}

/// Seeks extra resistances on one network in one mode.
pub(crate) struct Suspects<'s> {
    circuit: &'s Circuit<'s>,
    network: &'s Network,
    mode: &'s ModeStudy,
}

/// Rounds of widening, and of halving.
const WIDER: usize = 12;
const CLOSER: usize = 30;
/// How close to the wanted figure is close enough, in tolerances.
const CLOSE: f64 = 1e-3;
/// A figure that moves by no more than this share does not answer to a piece.
const STILL: f64 = 1e-6;
/// Of extra resistance where to begin, at a current of that piece.
const FIRST_VOLTS: f64 = 0.02;
/// A piece that carries less explains nothing.
const LEAST_AMPS: f64 = 1e-3;

impl<'s> Suspects<'s> {
    pub(crate) fn new(circuit: &'s Circuit<'s>, network: &'s Network, mode: &'s ModeStudy) -> Self {
        Self { circuit, network, mode }
    }

    /// What flows through a piece, whichever way.
    pub(crate) fn current(&self, piece: Piece) -> Current {
        let Ok(solution) = &self.mode.solution else { return Current::default() };
        let amps = match piece {
            Piece::Branch(at) => solution.branch.get(at),
            Piece::Link(at) => solution.link.get(at),
        };
        Current::amps(amps.copied().unwrap_or(0.0).abs())
    }

    /// Everything closed on the island of a terminal that carries current, the most first.
    pub(crate) fn all_around(&self, terminal: crate::design::TerminalId) -> Vec<Piece> {
        let Ok(solution) = &self.mode.solution else { return Vec::new() };
        let here = |other: crate::design::TerminalId| {
            solution.island[other.index()] == solution.island[terminal.index()]
        };
        let branches = self.network.branches.iter().enumerate();
        let branches = branches.filter(|row| here(row.1.a)).map(|row| Piece::Branch(row.0));
        let links = self.network.links.iter().enumerate();
        let links = links.filter(|row| here(row.1.a)).map(|row| Piece::Link(row.0));
        let mut all: Vec<Piece> = branches.chain(links).collect();
        let whole = |piece: &Piece| (self.current(*piece).as_amps() * 1e6).round() as u64;
        all.retain(|piece| 0 < whole(piece));
        all.sort_by_key(|piece| std::cmp::Reverse(whole(piece)));
        all
    }

    /// The extra resistance in a piece with which `off` is 0; `None` where none brings it there. `off` says how far a mode
    /// is off, in tolerances, with a sign.
    pub(crate) fn extra(&self, piece: Piece, off: &dyn Fn(&ModeStudy) -> Option<f64>) -> Option<Extra> {
        let amps = self.current(piece).as_amps();
        if amps < LEAST_AMPS {
            return None;
        }
        let before = off(self.mode)?;
        let at = |ohms: f64| {
            let (mode, amps) = self.with(piece, ohms)?;
            let off = off(&mode)?;
            Some((off, amps, mode))
        };
        // Widen until the figure is passed, halve between.
        let (mut least, mut most) = (0.0, FIRST_VOLTS / amps);
        let mut tried = at(most);
        let mut widened = 0;
        while tried.as_ref().is_some_and(|row| row.0 * before > 0.0) {
            widened += 1;
            // What such a lot of resistance does not move, no more of it does.
            let moves = tried.as_ref().is_some_and(|row| STILL < (row.0 / before - 1.0).abs());
            if WIDER < widened || (2 < widened && !moves) {
                return None;
            }
            least = most;
            most *= 3.0;
            tried = at(most);
        }
        for _ in 0..CLOSER {
            if let Some((off, amps, mode)) = &tried
                && off.abs() < CLOSE
            {
                let (current, resistance) = (Current::amps(*amps), Resistance::ohms(most));
                let heat = (current * resistance) * current;
                return Some(Extra { piece, resistance, heat, mode: mode.clone() });
            }
            let middle = f64::midpoint(least, most);
            let next = at(middle);
            match &next {
                Some(row) if row.0 * before > 0.0 && row.0.abs() >= CLOSE => least = middle,
                Some(_) => {
                    most = middle;
                    tried = next;
                }
                // No steady state with so much: less may do.
                None => {
                    most = middle;
                    tried = None;
                }
            }
        }
        None
    }

    /// The mode with this much more resistance in a piece, and the amperes through it.
    fn with(&self, piece: Piece, ohms: f64) -> Option<(ModeStudy, f64)> {
        let network = match piece {
            Piece::Branch(at) => {
                let own = self.network.branches.get(at)?.resistance;
                self.network.with(&[(at, own + Resistance::ohms(ohms))])
            }
            Piece::Link(at) => self.network.with_contact(at, Resistance::ohms(ohms)),
        };
        let mode = self.mode.on(self.circuit, &network);
        let solution = mode.solution.as_ref().ok()?;
        let amps = match piece {
            Piece::Branch(at) => *solution.branch.get(at)?,
            Piece::Link(_) => *solution.branch.last()?,
        };
        Some((mode, amps.abs()))
    }
}

impl Network {
    /// The same with what closed devices, switches, plugs and cutoffs lose inside: so much at their rating, in proportion
    /// below it. Meters without a shunt and common negatives lose nothing.
    pub(crate) fn with_devices(
        &self,
        open: &[bool],
        lost: Voltage,
        rating: impl Fn(crate::design::ComponentId) -> Option<Current>,
    ) -> Self {
        let mut network = self.clone();
        let mut kept = Vec::new();
        for link in std::mem::take(&mut network.links) {
            match rating(link.component).filter(|_| !open[link.component.index()]) {
                Some(rating) if 0.0 < rating.as_amps() => {
                    network.branch(link.a, link.b, (lost / rating).as_ohms(), Path::Contact(link.component));
                }
                _ => kept.push(link),
            }
        }
        network.links = kept;
        network.index();
        network
    }
}
