//! Designs made at random: every kind, and wires, bolts and data leads between any terminals.

use super::dice::Dice;

/// How wild a design may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Manner {
    /// Anything that can be written.
    Wild,
    /// Positives meet positives and negatives negatives; no two batteries are alike, so that none form a string.
    Sane,
}

/// What a terminal is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Pole {
    Plus,
    Minus,
    Other,
}

/// A design as statements. A name stands between `@`, so that all can be renamed.
#[derive(Debug, Clone)]
pub(super) struct Draft {
    pub(super) statements: Vec<String>,
    terminals: Vec<(String, Pole)>,
    batteries: Vec<String>,
    chassis: Vec<String>,
    n: usize,
}

const SIZES: &[&str] =
    &["0.75 mm2", "1.5 mm2", "2.5 mm2", "6 mm2", "16 mm2", "35 mm2", "95 mm2", "6 AWG", "2/0 AWG", "14 SAE"];
const LENGTHS: &[&str] = &["0.1 m", "150 mm", "7 in", "0.6 m", "1.5 m", "4 m", "12.5 m"];
const AMPS: &[&str] = &["2", "5", "7.5", "15", "40", "60", "125", "400"];
const VOLTS: &[&str] = &["12", "12", "12", "24", "48"];
const COLOURS: &[&str] = &["red", "black", "yellow", "green", "bare", "brown", "red/yellow"];

/// Text under this name in the design, without the marks around names.
pub(super) fn text(statements: &[String], name: impl Fn(&str) -> String) -> String {
    let mut text = String::from("design drawn \"Made at random\"\n");
    for statement in statements {
        for (at, piece) in statement.split('@').enumerate() {
            if at % 2 == 0 { text.push_str(piece) } else { text.push_str(&name(piece)) }
        }
        text.push('\n');
    }
    text
}

/// The design as it was drawn.
pub(super) fn plain(statements: &[String]) -> String {
    text(statements, str::to_owned)
}

impl Draft {
    pub(super) fn new(dice: &mut Dice, manner: Manner) -> Self {
        let mut draft = Self {
            statements: Vec::new(),
            terminals: Vec::new(),
            batteries: Vec::new(),
            chassis: Vec::new(),
            n: 0,
        };
        let n_components = 2 + dice.below(14);
        draft.battery(dice, manner);
        draft.bar("plus", Pole::Plus);
        draft.bar("minus", Pole::Minus);
        for _ in 0..n_components {
            draft.component(dice, manner);
        }
        for _ in 0..2 + dice.below(24) {
            draft.link(dice, manner);
        }
        if manner == Manner::Wild {
            for _ in 0..dice.below(4) {
                draft.extra(dice);
            }
        }
        draft
    }

    fn fresh(&mut self, letter: &str) -> String {
        self.n += 1;
        format!("{letter}{}", self.n)
    }

    fn add(&mut self, name: &str, terminals: &[(&str, Pole)], statement: String) {
        self.statements.push(statement);
        for (terminal, pole) in terminals {
            let dot = if terminal.is_empty() { "" } else { "." };
            self.terminals.push((format!("@{name}@{dot}{terminal}"), *pole));
        }
    }

    fn bar(&mut self, letter: &str, pole: Pole) {
        let name = self.fresh(letter);
        self.add(&name, &[("", pole), ("3", pole)], format!("bar @{name}@ M8 x 6 250 A"));
    }

    fn battery(&mut self, dice: &mut Dice, manner: Manner) {
        let name = self.fresh("b");
        let chemistry = dice.one_of(&["lifepo4", "agm", "gel", "nmc", "lead-acid"]);
        let volts = if manner == Manner::Sane { "12" } else { dice.one_of(VOLTS) };
        let capacity = if manner == Manner::Sane { 100 + self.n } else { 100 };
        let statement = format!("battery @{name}@ {chemistry} {volts} V {capacity} Ah fault 5 kA");
        self.add(&name, &[("+", Pole::Plus), ("-", Pole::Minus)], statement);
        self.batteries.push(name);
    }

    fn component(&mut self, dice: &mut Dice, manner: Manner) {
        use Pole::{Minus, Other, Plus};
        let amps = *dice.one_of(AMPS);
        let volts = if manner == Manner::Sane { "12" } else { dice.one_of(VOLTS) };
        let poles = [("+", Plus), ("-", Minus)];
        match dice.below(24) {
            0 => self.battery(dice, manner),
            1 => {
                let name = self.fresh("a");
                let returns = match self.chassis.last() {
                    Some(chassis) if dice.once_in(2) => format!(" returns @{chassis}@"),
                    _ => String::new(),
                };
                self.add(&name, &poles, format!("alternator @{name}@ {volts} V {amps} A{returns}"));
            }
            2 => {
                let name = self.fresh("s");
                let how = dice.one_of(&["30 A", "fused 15 A", "fault 1 kA"]);
                self.add(&name, &poles, format!("supply @{name}@ {volts} V {how}"));
            }
            3 => {
                let name = self.fresh("pv");
                let statement = format!(
                    "solar @{name}@ voc 22 V isc 6 A vmp 18 V imp 5.5 A strings {}",
                    1 + dice.below(3)
                );
                self.add(&name, &poles, statement);
            }
            4 | 5 => {
                let name = self.fresh("c");
                let joined = dice.one_of(&["isolated", "common"]);
                match dice.below(4) {
                    0 => self.add(
                        &name,
                        &[("out+", Plus), ("out-", Minus)],
                        format!("charger @{name}@ from ac out {volts} V {amps} A"),
                    ),
                    1 => self.add(
                        &name,
                        &[("in+", Plus), ("in-", Minus), ("out1+", Plus), ("out2+", Plus), ("out-", Minus)],
                        format!("charger @{name}@ in 12 V 30 A out {volts} V {amps} A {joined} outputs 2"),
                    ),
                    _ => self.add(
                        &name,
                        &[("in+", Plus), ("in-", Minus), ("out+", Plus), ("out-", Minus)],
                        format!("charger @{name}@ in 12 V 30 A out {volts} V {amps} A {joined}"),
                    ),
                }
            }
            6 => {
                let name = self.fresh("i");
                let statement = format!("inverter @{name}@ {volts} V 1000 W");
                self.add(&name, &[("+", Plus), ("-", Minus), ("case", Other)], statement);
            }
            7..=10 => {
                let name = self.fresh("l");
                let about = match (dice.below(6), self.chassis.last()) {
                    (0, _) => " critical".into(),
                    (1, _) => " motor stall 40 A".into(),
                    (2, Some(chassis)) => format!(" case @{chassis}@"),
                    (3, Some(chassis)) => format!(" returns @{chassis}@"),
                    (4, _) => " standby".into(),
                    _ => String::new(),
                };
                self.add(&name, &poles, format!("load @{name}@ {volts} V {amps} A{about}"));
            }
            11..=14 => {
                let name = self.fresh("f");
                let kind =
                    dice.one_of(&["blade", "bolt-in", "class-t", "strip", "terminal-block", "cylindrical"]);
                let on = if dice.once_in(3) { " on @plus2@" } else { "" };
                let terminals = [("line", Plus), ("load", Plus)];
                let terminals = if on.is_empty() { &terminals[..] } else { &terminals[1..] };
                self.add(
                    &name,
                    terminals,
                    format!("fuse @{name}@ {amps} A {kind} volts 32 V breaks 2 kA{on}"),
                );
            }
            15 => {
                let name = self.fresh("q");
                let about = dice.one_of(&["", " polarised", " ac-only", " auto-reset"]);
                let statement = format!("breaker @{name}@ {amps} A volts 48 V breaks 3 kA{about}");
                self.add(&name, &[("line", Plus), ("load", Plus)], statement);
            }
            16 => {
                let name = self.fresh("sw");
                let about = dice.one_of(&["", " open", " main", " remote"]);
                self.add(&name, &[("a", Plus), ("b", Plus)], format!("switch @{name}@ {amps} A{about}"));
            }
            17 => {
                let name = self.fresh("p");
                self.add(&name, &[("a", Plus), ("b", Plus)], format!("plug @{name}@ {amps} A"));
            }
            18 => {
                let name = self.fresh("u");
                self.add(&name, &[("line", Plus), ("load", Plus)], format!("cutoff @{name}@ {amps} A"));
            }
            19 => {
                let name = self.fresh("n");
                let pole = *dice.one_of(&[Plus, Minus]);
                self.add(&name, &[("", pole)], format!("post @{name}@ M8"));
            }
            20 => {
                let pole = *dice.one_of(&[Plus, Minus]);
                self.bar("r", pole);
            }
            21 => {
                let name = self.fresh("m");
                let counted = dice.one_of(&self.batteries).clone();
                let counts = if dice.once_in(4) { String::new() } else { format!(" counts @{counted}@") };
                let statement = format!("meter @{name}@ 300 A 50 mV{counts}");
                self.add(&name, &[("bat", Minus), ("sys", Minus), ("sense", Plus)], statement);
            }
            22 => {
                let name = self.fresh("k");
                self.add(&name, &[("", Minus)], format!("chassis @{name}@"));
                self.chassis.push(name);
            }
            _ => {
                let name = self.fresh("h");
                self.add(&name, &poles, format!("hub @{name}@ 5 W"));
            }
        }
    }

    fn link(&mut self, dice: &mut Dice, manner: Manner) {
        let (from, pole) = dice.one_of(&self.terminals).clone();
        let suits = |other: &(String, Pole)| {
            manner == Manner::Wild || (other.1 == pole && name_of(&other.0) != name_of(&from))
        };
        let others: Vec<String> =
            self.terminals.iter().filter(|other| suits(other)).map(|row| row.0.clone()).collect();
        if others.is_empty() {
            return;
        }
        let to = dice.one_of(&others).clone();
        if dice.below(if manner == Manner::Wild { 5 } else { 12 }) == 0 {
            // The two sides of a device bolted together may not be written.
            self.statements.push(format!("bolt {from} to {to}"));
            return;
        }
        let name = self.fresh("w");
        let (size, length) = (dice.one_of(SIZES), dice.one_of(LENGTHS));
        let colour = dice.one_of(COLOURS);
        let about =
            *dice.one_of(&["", "", "", " sheathed", " bond", " count 2", " cranking", " insulation 60 C"]);
        self.statements.push(format!("wire @{name}@ from {from} to {to} {size} {length} {colour}{about}"));
    }

    fn extra(&mut self, dice: &mut Dice) {
        let wires: Vec<String> = self
            .statements
            .iter()
            .filter(|statement| statement.starts_with("wire"))
            .map(|statement| statement.split('@').nth(1).unwrap_or("").to_owned())
            .collect();
        let battery = dice.one_of(&self.batteries).clone();
        let statement = match (dice.below(7), wires.is_empty()) {
            (0, false) => {
                let name = self.fresh("bundle");
                format!("bundle @{name}@ @{}@ @{}@", wires[0], wires[wires.len() - 1])
            }
            (1, false) => format!(
                "waive {} on @{}@ because \"it is so\" until {}",
                dice.one_of(&["protection.missing", "protection.far", "return.bypass"]),
                dice.one_of(&wires),
                dice.one_of(&["2027-03-31", "2020-02-29"])
            ),
            (2, _) => "limit distance.battery-bare 40 mm because \"it is a rule here\"".into(),
            (3, _) => "assume insulation 60 C".into(),
            (4, _) => "book common-practice".into(),
            (5, _) => format!("note @{battery}@ \"a \\\"remark\\\" # with marks\" # and more"),
            _ => format!("mode m{} {{\n  @{battery}@ 12.6 V\n}}", self.n),
        };
        self.statements.push(statement);
    }
}

/// The name in `@name@.terminal`.
fn name_of(terminal: &str) -> &str {
    terminal.split('@').nth(1).unwrap_or("")
}
