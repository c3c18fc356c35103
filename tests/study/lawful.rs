//! What every solution has to obey, whoever found it: currents add up, elements follow their law, limits and regimes hold,
//! and no energy comes from nowhere. Written from the meaning of the language, without the solver.

use ohmward::design::{Demand, Design, Id, TerminalId};
use ohmward::study::{Giver, ModeStudy, Regime, Solution, Study};

use super::{Bench, generate};

/// Amperes below which a limit or a direction is not judged.
const AMPS: f64 = 2e-6;
const RELATIVE: f64 = 1e-6;
const VOLTS: f64 = 1e-9;

/// What a solution breaks, as sentences.
pub(super) fn broken(design: &Design, study: &Study, mode: &ModeStudy) -> Vec<String> {
    let Ok(solved) = &mode.solution else { return Vec::new() };
    let look = Look { design, study, mode, solved };
    let mut all = Vec::new();
    look.currents(&mut all);
    look.elements(&mut all);
    for (at, giver) in mode.elements.givers.iter().enumerate() {
        look.giver(at, giver, &mut all);
    }
    if let Some((left, size)) = mode.balance(&study.network)
        && ((1e-9 * size).max(look.rounding() * look.highest()) < left.abs() || !left.is_finite())
    {
        all.push(format!("{left} W of {size} W come from nowhere"));
    }
    all.into_iter().map(|line| format!("mode {}: {line}", mode.name)).collect()
}

struct Look<'s> {
    design: &'s Design,
    study: &'s Study,
    mode: &'s ModeStudy,
    solved: &'s Solution,
}

impl Look<'_> {
    /// Volts between two terminals; `None` where they are not on one island with a source.
    fn across(&self, a: TerminalId, b: TerminalId) -> Option<f64> {
        let one = self.solved.island[a.index()] == self.solved.island[b.index()];
        let volts = self.solved.volts[a.index()]? - self.solved.volts[b.index()]?;
        one.then_some(volts)
    }

    /// Volts at most.
    fn highest(&self) -> f64 {
        self.solved.volts.iter().flatten().fold(1.0, |most: f64, volts| most.max(volts.abs()))
    }

    /// Amperes that voltages settled to 12 digits leave open in the smallest resistance, and no less than 1 nA.
    fn rounding(&self) -> f64 {
        let branches = self.study.network.branches.iter().map(|branch| branch.resistance);
        let cells = self.mode.elements.cells.iter().map(|cell| cell.resistance);
        let least = branches.chain(cells).fold(1.0, |least: f64, ohms| least.min(ohms.as_ohms()));
        (1e-12 * self.highest() / least).max(1e-9)
    }

    /// At every terminal what comes goes; the two terminals of a closed device count as one.
    fn currents(&self, all: &mut Vec<String>) {
        let n = self.design.terminals.len();
        let mut sum = vec![0.0; n];
        let mut size = vec![0.0f64; n];
        let mut flow = |a: TerminalId, b: TerminalId, amps: f64| {
            sum[a.index()] -= amps;
            sum[b.index()] += amps;
            size[a.index()] += amps.abs();
            size[b.index()] += amps.abs();
        };
        let (network, elements) = (&self.study.network, &self.mode.elements);
        for (branch, amps) in network.branches.iter().zip(&self.solved.branch) {
            flow(branch.a, branch.b, *amps);
        }
        for (link, amps) in network.links.iter().zip(&self.solved.link) {
            flow(link.a, link.b, *amps);
        }
        for (cell, amps) in elements.cells.iter().zip(&self.solved.cell) {
            flow(cell.minus, cell.plus, *amps);
        }
        for (taker, amps) in elements.takers.iter().zip(&self.solved.taker) {
            flow(taker.plus, taker.minus, *amps);
        }
        for (at, giver) in elements.givers.iter().enumerate() {
            for (plus, amps) in giver.plus.iter().zip(&self.solved.giver[at]) {
                flow(giver.minus, *plus, *amps);
            }
            if let Some(input) = giver.input {
                flow(input.plus, input.minus, self.solved.input[at]);
            }
        }
        for id in self.design.terminals.ids() {
            let (left, size) = (sum[id.index()], size[id.index()]);
            if self.rounding().max(1e-9 * size) < left.abs() || !left.is_finite() {
                all.push(format!("{left} A of {size} A are left over at {}", self.design.terminal_name(id)));
            }
        }
    }

    fn elements(&self, all: &mut Vec<String>) {
        let (network, elements) = (&self.study.network, &self.mode.elements);
        for (branch, amps) in network.branches.iter().zip(&self.solved.branch) {
            let drop = self.across(branch.a, branch.b).unwrap_or(0.0);
            if VOLTS < (drop - amps * branch.resistance.as_ohms()).abs() {
                all.push(format!("{:?} carries {amps} A at {drop} V", branch.path));
            }
        }
        for link in network.links.iter().filter(|link| !elements.open[link.component.index()]) {
            let drop = self.across(link.a, link.b).unwrap_or(0.0);
            if VOLTS < drop.abs() {
                all.push(format!("{} is closed, with {drop} V across", self.name(link.component)));
            }
        }
        for (cell, amps) in elements.cells.iter().zip(&self.solved.cell) {
            let across = self.across(cell.plus, cell.minus).unwrap_or(f64::NAN);
            let left = cell.voltage.as_volts() - amps * cell.resistance.as_ohms() - across;
            if VOLTS < left.abs() || !left.is_finite() {
                all.push(format!("{} gives {amps} A at {across} V", self.name(cell.component)));
            }
        }
        for (at, taker) in elements.takers.iter().enumerate() {
            let amps = self.solved.taker[at];
            let Some(across) = self.across(taker.plus, taker.minus) else {
                if amps != 0.0 || !self.solved.unfed.contains(&at) {
                    all.push(format!("{} takes {amps} A from nowhere", self.name(taker.component)));
                }
                continue;
            };
            let wanted = match taker.demand {
                Demand::Power(power) => power.as_watts() / across,
                Demand::Current(current) => current.as_amps(),
                Demand::Resistance(resistance) => across / resistance.as_ohms(),
            };
            if self.rounding().max(1e-9 * wanted.abs()) < (amps - wanted).abs() || !amps.is_finite() {
                all.push(format!("{} takes {amps} A in place of {wanted} A", self.name(taker.component)));
            }
        }
    }

    /// An output gives no more than it can at no more than it is set to, and there is a reason why it gives no more.
    fn giver(&self, at: usize, giver: &Giver, all: &mut Vec<String>) {
        let name = self.name(giver.component);
        let (set, regime) = (giver.set.as_volts(), self.solved.regime[at]);
        let most = giver.most.map_or(f64::INFINITY, |most| most.as_amps());
        let conducts = &self.solved.conducts[at];
        let given: f64 = self.solved.giver[at].iter().sum();
        let mut say = |line: String| all.push(format!("{name} ({regime:?}): {line}"));
        let volts: Vec<Option<f64>> = giver.plus.iter().map(|plus| self.across(*plus, giver.minus)).collect();
        let input = giver.input.map(|input| (input, self.across(input.plus, input.minus)));
        let starved = input.is_some_and(|row| row.1.is_none());
        if starved || volts.iter().all(Option::is_none) || self.solved.dead[at] {
            if given != 0.0 || self.solved.input[at] != 0.0 {
                say(format!("it is fed by nothing, or on nothing, and gives {given} A"));
            }
            return;
        }
        for (number, amps) in self.solved.giver[at].iter().enumerate() {
            if *amps < -AMPS {
                say(format!("output {} takes {} A", number + 1, -amps));
            }
            if !conducts[number] && *amps != 0.0 {
                say(format!("output {} blocks and gives {amps} A", number + 1));
            }
        }
        if most * (1.0 + RELATIVE) + AMPS < given {
            say(format!("{given} A of {most} A"));
        }
        // The voltage of what conducts; what blocks lies at that or higher.
        let idle = regime == Regime::Idle;
        let lowest = volts.iter().flatten().copied().reduce(f64::min).unwrap_or(f64::NAN);
        let out = if idle {
            lowest
        } else {
            let rows = volts.iter().zip(conducts).filter(|row| *row.1);
            rows.filter_map(|row| *row.0).reduce(f64::max).unwrap_or(f64::NAN)
        };
        // One that follows another lies as far from its own voltage as joints between the two drop.
        let near = if self.solved.leader[at].is_some() { 1e-2 } else { RELATIVE };
        if !idle && set * (1.0 + near) < out {
            say(format!("{out} V above its {set} V"));
        }
        if idle && out < set * (1.0 - RELATIVE) {
            say(format!("it gives nothing at {out} V, below its {set} V"));
        }
        for (number, held) in volts.iter().enumerate().filter(|row| !idle && !conducts[row.0]) {
            if held.is_some_and(|held| held < out - RELATIVE * set) {
                say(format!("output {} blocks at {held:?} V below {out} V", number + 1));
            }
        }
        let mut bound = false;
        if let Some((input, Some(across))) = input {
            let drawn = self.solved.input[at];
            let limit = input.most.map_or(f64::INFINITY, |most| most.as_amps());
            if limit * (1.0 + RELATIVE) + AMPS < drawn || drawn < -AMPS {
                say(format!("it draws {drawn} A of {limit} A"));
            }
            bound = limit * (1.0 - RELATIVE) <= drawn;
            let (took, gave) = (drawn * across * input.efficiency, if idle { 0.0 } else { given * out });
            if 1e-4f64.max(RELATIVE * gave.abs()) < (took - gave).abs() || !took.is_finite() {
                say(format!("it gives {gave} W of {took} W"));
            }
        }
        let full = most * (1.0 - RELATIVE) <= given;
        let held = set * (1.0 - near) <= out;
        if !(full || held || bound || idle) {
            say(format!("nothing keeps it from more than {given} A at {out} V"));
        }
    }

    fn name(&self, id: ohmward::design::ComponentId) -> &str {
        &self.design.components[id].name
    }
}

#[test]
fn of_made_designs() {
    let (mut wrong, mut unsolved, mut modes) = (Vec::new(), 0, 0);
    for number in 0..600 {
        let bench = Bench::of(&generate::design(number));
        for mode in &bench.study.modes {
            modes += 1;
            unsolved += usize::from(mode.solution.is_err());
            let lines = broken(&bench.design, &bench.study, mode);
            wrong.extend(lines.into_iter().map(|line| format!("made{number} {line}")));
        }
    }
    assert!(wrong.is_empty(), "{} of {modes} modes:\n{}", wrong.len(), wrong.join("\n"));
    // Loads and chargers are drawn without regard to what can feed them.
    assert!(unsolved * 5 < modes, "{unsolved} of {modes} modes have no solution");
}

#[test]
fn of_samples() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let mut modes = 0;
    for below in [folder.clone(), folder.join("house"), folder.join("faults")] {
        for entry in std::fs::read_dir(below).unwrap() {
            let path = entry.unwrap().path();
            let Ok(text) = std::fs::read_to_string(&path) else { continue };
            if path.extension().is_none_or(|one| one != "loom") {
                continue;
            }
            let parts = |text: String| {
                let files = ohmward::text::MemoryFiles::default()
                    .with("it.loom", text)
                    .with("parts.loom", include_str!("../../samples/parts.loom"))
                    .with("lamp-parts.loom", include_str!("../../samples/faults/lamp-parts.loom"));
                ohmward::check::study("it.loom", &files, &ohmward::check::StudyOptions::default())
            };
            let found = parts(text);
            let (Some(design), Some(study)) = (&found.design, &found.study) else { continue };
            for mode in &study.modes {
                modes += 1;
                let wrong = broken(design, study, mode);
                assert!(wrong.is_empty(), "{}: {wrong:#?}", path.display());
            }
        }
    }
    assert!(60 < modes, "{modes} modes");
}

/// A design's statements in another order; a mode's block stays one.
fn shuffled(text: &str, seed: u64) -> String {
    let mut seed = generate::Seed::new(seed);
    let mut all: Vec<String> = Vec::new();
    let mut open = false;
    for line in text.lines() {
        match all.last_mut() {
            Some(last) if open => last.push_str(&format!("\n{line}")),
            _ => all.push(line.to_owned()),
        }
        open = line.ends_with('{') || (open && line != "}");
    }
    for at in (2..all.len()).rev() {
        all.swap(at, 1 + seed.below(at));
    }
    all.join("\n") + "\n"
}

/// The search for regimes ends the same, whatever is written first. Of the modes in which it does not end at all, or where
/// several answers are lawful, few depend on the order: that is wrong, and as it is.
#[test]
fn order_changes_nothing() {
    let (mut modes, mut ordered) = (0, Vec::new());
    for number in 0..300 {
        let text = generate::design(number);
        let (first, second) = (Bench::of(&text), Bench::of(&shuffled(&text, number)));
        for mode in &first.study.modes {
            modes += 1;
            let other = second.mode(&mode.name);
            let what = format!("made{number} {}", mode.name);
            if mode.solution.is_ok() != other.solution.is_ok() {
                ordered.push(what);
                continue;
            }
            for (_, wire) in first.design.wires.entries() {
                let of = |bench: &Bench| {
                    let id = bench.design.wires.entries().find(|row| row.1.name == wire.name)?.0;
                    bench.mode(&mode.name).wire(&bench.study.network, id)
                };
                let (Some(one), Some(two)) = (of(&first), of(&second)) else { continue };
                assert!(
                    (one - two).abs() <= 1e-6 * one.abs().max(1.0),
                    "{what} {}: {one} A, {two} A",
                    wire.name
                );
            }
        }
    }
    assert!(ordered.len() * 100 < modes, "{} of {modes} modes: {ordered:?}", ordered.len());
}
