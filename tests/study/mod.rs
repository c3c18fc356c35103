//! The electrical study against hand calculation, its own balance, and an outside simulator.

mod claims;
mod extreme;
mod failures;
mod fault;
mod generate;
mod lawful;
mod shorted;
mod simulator;
mod spice;
mod steady;

use ohmward::check::{Studied, StudyOptions, study};
use ohmward::design::{ComponentId, Design, TerminalId};
use ohmward::study::{Faults, ModeStudy, Study};
use ohmward::text::MemoryFiles;

/// Studies a design text.
fn studied(text: &str) -> Studied {
    let files = MemoryFiles::default().with("it.loom", text);
    study("it.loom", &files, &StudyOptions::default())
}

/// A design with its figures.
struct Bench {
    design: Design,
    study: Study,
    faults: Faults,
}

impl Bench {
    fn of(text: &str) -> Self {
        let studied = studied(text);
        let told: Vec<&str> = studied.problems.iter().map(|problem| problem.headline.as_str()).collect();
        assert!(told.is_empty(), "{told:?}");
        Self {
            design: studied.design.expect("a design"),
            study: studied.study.expect("its figures"),
            faults: studied.faults.expect("its faults"),
        }
    }

    fn mode(&self, name: &str) -> &ModeStudy {
        self.study.modes.iter().find(|mode| mode.name == name).expect("the mode")
    }

    fn terminal(&self, name: &str) -> TerminalId {
        self.design.terminals.ids().find(|id| self.design.terminal_name(*id) == name).expect("the terminal")
    }

    fn across(&self, mode: &str, a: &str, b: &str) -> f64 {
        self.mode(mode).across(self.terminal(a), self.terminal(b)).expect("both on one island")
    }

    /// Amperes of a wire from its first end to its second.
    fn wire(&self, mode: &str, name: &str) -> f64 {
        let id = self.design.wires.entries().find(|row| row.1.name == name).expect("the wire").0;
        self.mode(mode).wire(&self.study.network, id).expect("a solution")
    }

    fn reads(&self, mode: &str, meter: &str) -> f64 {
        let name = |id: &ComponentId| self.design.components[*id].name.as_str();
        self.mode(mode).meters.iter().find(|row| name(&row.0) == meter).expect("the meter").1
    }

    fn balanced(&self) {
        for mode in &self.study.modes {
            if let Some((left, size)) = mode.balance(&self.study.network) {
                assert!(left.abs() <= 1e-9 * size.max(1.0), "{}: {left} W of {size} W", mode.name);
            }
        }
    }
}

fn close(found: f64, expected: f64, relative: f64, what: &str) {
    assert!(
        (found - expected).abs() <= relative * expected.abs().max(1e-12),
        "{what}: {found}, expected {expected}"
    );
}
