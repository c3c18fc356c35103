//! A fleet of designs made from a seed: vans, boats and trailers that share libraries of parts and kits, all of them
//! right, but for faults that are planted by one change to the text each. All figures are invented.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::fs;
use std::io;
use std::path::Path;

use super::planted::{FAULTS, Fault};

/// The libraries that the fleet shares, each with its path in it.
pub const LIBRARIES: [(&str, &str); 3] = [
    ("lib/parts.loom", include_str!("../../samples/parts.loom")),
    ("lib/branches.loom", include_str!("branches.loom")),
    ("lib/feeds.loom", include_str!("feeds.loom")),
];

/// The day on which a fleet has to be judged; its waivers go by it.
pub const TODAY: &str = "2026-06-01";

/// How many designs lie in one folder.
const PER_FOLDER: usize = 100;

/// A finding that has to be there.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Expected {
    /// The design.
    pub file: String,
    /// The rule that finds it.
    pub rule: String,
    /// What it finds fault with.
    pub subject: String,
}

/// One design of the fleet.
#[derive(Debug)]
pub struct Made {
    /// Its path in the fleet.
    pub file: String,
    /// Its text.
    pub text: String,
    /// Its fault, if one is planted.
    pub fault: Option<&'static str>,
    /// What has to be found in it, and nothing else.
    pub expected: Vec<Expected>,
}

/// Which fleet.
#[derive(Debug, Clone, Copy)]
pub struct Fleet {
    /// What all its figures follow from.
    pub seed: u64,
    /// How many designs it has.
    pub n_designs: usize,
    /// One design in so many is faulty, and the faults take turns; none, where it is 0.
    pub one_faulty_in: usize,
}

impl Fleet {
    /// The design at a place in the fleet.
    pub fn design(&self, at: usize) -> Made {
        let mut dice = Dice::new(self.seed ^ (at as u64).wrapping_mul(0xd134_2543_de82_ef95));
        let lot = self.one_faulty_in.max(1);
        let turn = at / lot;
        // Not always the first of each lot.
        let faulty = self.one_faulty_in != 0 && at % lot == turn % lot;
        let shape = *dice.of(&[Shape::Van, Shape::Van, Shape::Boat, Shape::Boat, Shape::Trailer]);
        let folder = match shape {
            Shape::Van => "vans",
            Shape::Boat => "boats",
            Shape::Trailer => "trailers",
        };
        let name = format!("{}-{at:05}", folder.trim_end_matches('s'));
        let file = format!("{folder}/{:03}/{name}.loom", at / PER_FOLDER);
        let mut text = Sheet::write(&mut dice, shape, &name);
        let mut expected = Vec::new();
        // The next kind whose turn it is and which this design can have.
        let fault = FAULTS
            .iter()
            .cycle()
            .skip(turn % FAULTS.len())
            .find(|fault| fault.fits(&text))
            .filter(|_| faulty);
        if let Some(fault) = fault {
            let right = text;
            text = fault.plant(&right);
            expected = expectations(fault, &file, &name, &right, &text);
        }
        Made { file, text, fault: fault.map(|fault| fault.kind), expected }
    }

    /// The faults in it, by their kinds.
    pub fn kinds(&self) -> BTreeSet<&'static str> {
        (0..self.n_designs).filter_map(|at| self.design(at).fault).collect()
    }

    /// Writes the whole fleet below a folder, and says what has to be found in it, sorted.
    pub fn write(&self, folder: &Path) -> io::Result<Vec<Expected>> {
        for (file, text) in LIBRARIES {
            write(folder, file, text)?;
        }
        let mut expected = Vec::new();
        for at in 0..self.n_designs {
            let made = self.design(at);
            write(folder, &made.file, &made.text)?;
            expected.extend(made.expected);
        }
        expected.sort();
        Ok(expected)
    }
}

fn write(folder: &Path, file: &str, text: &str) -> io::Result<()> {
    let path = folder.join(file);
    if let Some(parent) = path.parent() {
        fs::create_dir_all(parent)?;
    }
    fs::write(path, text)
}

/// What has to be found for a fault in a text.
fn expectations(fault: &Fault, file: &str, name: &str, right: &str, text: &str) -> Vec<Expected> {
    let charger =
        text.lines().find(|line| line.contains(" absorption ")).and_then(|line| line.split(' ').nth(1));
    let changed = right.lines().zip(text.lines()).take_while(|(one, other)| one == other).count() + 1;
    let mut all = Vec::new();
    let mut add = |rule: &str, subject: String| {
        all.push(Expected { file: file.into(), rule: rule.into(), subject });
    };
    for (rule, subject) in fault.found {
        let subject = subject.replace("DESIGN", name).replace("CHARGER", charger.unwrap_or_default());
        add(rule, subject.replace("CHANGED", &format!("line:{changed}")));
    }
    for (at, line) in text.lines().enumerate() {
        if line.starts_with("expect ") && fault.fails_claim(line, text) {
            add("expect.failed", format!("line:{}", at + 1));
        }
    }
    all
}

/// A stream of numbers that a seed fixes (splitmix64, from memory).
struct Dice(u64);

impl Dice {
    fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x2545_f491_4f6c_dd1d)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut one = self.0;
        one = (one ^ (one >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        one = (one ^ (one >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        one ^ (one >> 31)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    fn once_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    fn of<'a, T>(&mut self, all: &'a [T]) -> &'a T {
        &all[self.below(all.len())]
    }

    /// A number between two, in steps of a tenth.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        let steps = ((high - low) * 10.0).round() as usize;
        ((low * 10.0).round() + self.below(steps + 1) as f64) / 10.0
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    Van,
    Boat,
    Trailer,
}

/// The kinds of house banks: one line each.
struct Bank {
    volts: u32,
    part: &'static str,
    n_batteries: usize,
    amp_hours: u32,
    /// Of the device at the bank.
    main: u32,
    /// In a mode without a charger.
    rests: &'static str,
    /// While it is charged.
    charged: &'static str,
    absorption: &'static str,
    float: &'static str,
}

#[rustfmt::skip]
const BANKS: [Bank; 6] = [
    Bank { volts: 12, part: "lithium-12", n_batteries: 1, amp_hours: 200, main: 200, rests: "13.1 V", charged: "13.3 V", absorption: "14.2 V", float: "13.5 V" },
    Bank { volts: 12, part: "lithium-12", n_batteries: 2, amp_hours: 400, main: 200, rests: "13.1 V", charged: "13.3 V", absorption: "14.2 V", float: "13.5 V" },
    Bank { volts: 12, part: "agm-12-large", n_batteries: 2, amp_hours: 440, main: 200, rests: "12.6 V", charged: "13.2 V", absorption: "14.4 V", float: "13.6 V" },
    Bank { volts: 24, part: "lithium-24", n_batteries: 1, amp_hours: 200, main: 200, rests: "26.2 V", charged: "26.4 V", absorption: "28.4 V", float: "27 V" },
    Bank { volts: 24, part: "lithium-24", n_batteries: 2, amp_hours: 400, main: 200, rests: "26.2 V", charged: "26.4 V", absorption: "28.4 V", float: "27 V" },
    Bank { volts: 24, part: "lead-acid-24", n_batteries: 2, amp_hours: 360, main: 200, rests: "25.2 V", charged: "26.4 V", absorption: "28.8 V", float: "27.2 V" },
];

/// Conductor sizes with their areas in mm2, by how they are written.
const METRIC: [(f64, &str); 6] =
    [(1.5, "1.5 mm2"), (2.5, "2.5 mm2"), (4.0, "4 mm2"), (6.0, "6 mm2"), (10.0, "10 mm2"), (16.0, "16 mm2")];
const GAUGES: [(f64, &str); 6] =
    [(2.08, "14 AWG"), (3.31, "12 AWG"), (5.26, "10 AWG"), (8.37, "8 AWG"), (13.3, "6 AWG"), (16.0, "6 AWG")];

/// Ratings of the fuses of branches, in amperes.
const RATINGS: [f64; 6] = [2.0, 3.0, 5.0, 8.0, 10.0, 15.0];

/// A branch as it is placed, to be switched on in modes.
struct Branch {
    /// What a mode switches on.
    loads: Vec<String>,
    /// What each of them takes, in amperes.
    draw: f64,
    lamps: bool,
}

/// Where branches end: two bars, and what they may take between them in amperes.
struct Bars {
    plus: String,
    minus: String,
    budget: f64,
}

/// A design while it is written.
struct Sheet<'a> {
    dice: &'a mut Dice,
    out: String,
    shape: Shape,
    bank: &'static Bank,
    /// Components, wires, data leads and joints so far.
    n_elements: usize,
    branches: Vec<Branch>,
    engine: bool,
    splitter: bool,
    sun: bool,
    shore: bool,
    screen: bool,
    inverter: bool,
}

impl<'a> Sheet<'a> {
    fn write(dice: &'a mut Dice, shape: Shape, name: &str) -> String {
        let bank: &'static Bank = dice.of(&BANKS);
        let sun = dice.once_in(2);
        let mut sheet = Sheet {
            out: String::with_capacity(16_384),
            shape,
            bank,
            n_elements: 0,
            branches: Vec::new(),
            engine: shape != Shape::Trailer,
            splitter: shape == Shape::Boat && bank.volts == 12,
            sun,
            shore: if shape == Shape::Trailer { !sun } else { !dice.once_in(3) },
            screen: dice.once_in(2),
            inverter: dice.once_in(2),
            dice,
        };
        sheet.head(name);
        sheet.house();
        if sheet.engine {
            sheet.engine_side();
        }
        sheet.feeds();
        sheet.own_branches();
        sheet.fitted_first();
        sheet.fitted_branches();
        sheet.modes();
        sheet.settings();
        sheet.out
    }

    fn line(&mut self, text: &str) {
        self.out.push_str(text);
        self.out.push('\n');
    }

    /// A line that is so many elements.
    fn counted(&mut self, n_elements: usize, text: &str) {
        self.n_elements += n_elements;
        self.line(text);
    }

    fn n(&mut self, text: &str) {
        self.counted(1, text);
    }

    fn minus(&self) -> &'static str {
        if self.bank.n_batteries == 1 { "house.-" } else { "house-b.-" }
    }

    fn ground(&self) -> &'static str {
        if self.shape == Shape::Boat { "hull" } else { "frame" }
    }

    fn heavy(&self) -> &'static str {
        if self.shape == Shape::Trailer { "4/0 AWG" } else { "70 mm2" }
    }

    fn head(&mut self, name: &str) {
        let (book, what) = match self.shape {
            Shape::Van => ("common-practice", "van"),
            Shape::Boat => ("small-craft-iso", "boat"),
            Shape::Trailer => ("caravan-us", "trailer"),
        };
        let volts = self.bank.volts;
        let ambient = self.dice.of(&[25, 30, 30, 35, 40]);
        let insulation = if self.shape == Shape::Trailer { 90 } else { 105 };
        self.line("# A generated design. All invented.");
        self.line(&format!("design {name} \"A {what} of the fleet, {volts} V\""));
        self.line("use \"../../lib/parts.loom\"");
        self.line("use \"../../lib/branches.loom\"");
        self.line("use \"../../lib/feeds.loom\"");
        self.line(&format!("book {book}"));
        self.line(&format!("assume ambient {ambient} C"));
        self.line(&format!("assume insulation {insulation} C"));
        if self.engine {
            let hot = self.dice.of(&[50, 55, 60]);
            self.line(&format!("zone engine-bay ambient {hot} C"));
        }
        self.line("");
    }

    fn house(&mut self) {
        let (part, main, heavy) = (self.bank.part, self.bank.main, self.heavy());
        let (minus, ground) = (self.minus(), self.ground());
        self.n(&format!("chassis {ground}"));
        let counted = if self.bank.n_batteries == 1 {
            self.n(&format!("battery house = {part} \"House battery\""));
            "house"
        } else {
            self.n(&format!("battery house = {part} \"House battery, left\""));
            self.n(&format!("battery house-b = {part} \"House battery, right\""));
            "house house-b"
        };
        self.n(&format!("fuse FM = main-fuse {main} A \"House bank\""));
        self.n("switch master = isolator \"Main switch\"");
        self.n(&format!("meter tally = shunt counts {counted}"));
        self.n("bar charge-bar = bar-m8 \"What charges the bank\"");
        self.n("bar plus-bar = rail \"Positive\"");
        self.n("bar minus-bar = rail \"Negative\"");
        if self.bank.n_batteries == 2 {
            self.n(&format!("wire L1 from house.+ to house-b.+ {heavy} 0.3 m red ends ring-M8 ring-M8"));
            self.n(&format!("wire L2 from house.- to house-b.- {heavy} 0.3 m black ends ring-M8 ring-M8"));
        }
        let near = if self.dice.once_in(2) { "0.15 m" } else { "0.12 m" };
        self.n(&format!("wire H1 from house.+ to FM.line {heavy} {near} red ends ring-M8 ring-M8"));
        self.n(&format!("wire H2 from FM.load to charge-bar {heavy} 0.3 m red ends ring-M8 ring-M8"));
        self.n(&format!("wire H3 from charge-bar to master.a {heavy} 0.3 m red ends ring-M8 ring-M10"));
        let run = self.dice.between(0.3, 0.8);
        self.n(&format!("wire H4 from master.b to plus-bar {heavy} {run} m red ends ring-M10 ring-M8"));
        self.n(&format!("wire H5 from {minus} to tally.bat {heavy} 0.4 m black ends ring-M8 ring-M10"));
        self.n(&format!("wire H6 from tally.sys to minus-bar {heavy} 0.3 m black ends ring-M10 ring-M8"));
        self.counted(
            3,
            "fit meter-leads as sense (battery-plus = house.+, sense-at = tally.sense, run = 0.8 m)",
        );
        self.n(&format!(
            "wire B1 from minus-bar to {ground} {heavy} 0.8 m green/yellow bond ends ring-M8 ring-M8"
        ));

        // What must run with the main switch open.
        let (kind, what) = match self.shape {
            Shape::Boat => ("bilge-pump", "Bilge pump"),
            _ => ("ventilator", "Ventilator of the gas locker"),
        };
        let volts = self.bank.volts;
        let run = self.dice.between(1.0, 4.0);
        let size = if self.shape == Shape::Trailer { "10 AWG" } else { "4 mm2" };
        self.line("");
        self.n(&format!("load guard = {kind}-{volts} 2 A standby case {ground} \"{what}\""));
        self.n(&format!("fuse FG = lead-fuse 5 A \"{what}\""));
        self.n(&format!("wire K1 from house.+ to FG.line {size} 0.15 m red ends ring-M8 ferrule"));
        self.n(&format!("wire K2 from FG.load to guard.+ {size} {run} m red ends ferrule ferrule"));
        self.n(&format!("wire K3 from guard.- to minus-bar {size} {run} m black ends ferrule ring-M8"));
    }

    fn engine_side(&mut self) {
        let volts = self.bank.volts;
        let returns = if self.shape == Shape::Boat { "" } else { " returns frame" };
        self.line("");
        let (top, bottom) = if volts == 12 {
            self.n("battery start = crank-battery-12 \"Starter battery\"");
            ("start.+", "start.-")
        } else {
            for (name, what) in [("start-a", "lower"), ("start-b", "upper")] {
                self.n(&format!(
                    "battery {name} = crank-battery-12 140 Ah fault 2 kA charge 35 A \"Starter battery, {what}\""
                ));
            }
            self.n("wire A1 from start-a.+ to start-b.- 70 mm2 0.3 m red ends ring-M8 ring-M8");
            ("start-b.+", "start-a.-")
        };
        let amps = if volts == 12 { *self.dice.of(&[110, 140]) } else { 140 };
        let device = if volts == 12 { "bolt-fuse 150 A" } else { "strip-fuse 175 A" };
        self.n(&format!(
            "alternator dynamo = alternator-{volts}-{amps}{returns} zone engine-bay \"Alternator\""
        ));
        self.n(&format!("load starter = starter-motor-{volts}{returns} zone engine-bay \"Starter motor\""));
        self.n(&format!("fuse FA = {device} \"Alternator\""));
        let run = self.dice.between(1.2, 2.5);
        self.n(&format!("wire A2 from {top} to FA.line 50 mm2 0.15 m red ends ring-M8 ring-M8"));
        self.n(&format!(
            "wire A3 from FA.load to dynamo.+ 50 mm2 {run} m red zone engine-bay ends ring-M8 ring-M8"
        ));
        if self.shape == Shape::Boat {
            self.n("post block = post-m10 zone engine-bay \"Negative stud of the engine block\"");
            self.n("switch start-switch = battery-switch \"Starter battery switch\"");
            self.n(&format!(
                "wire A4 from {top} to start-switch.a 70 mm2 0.4 m red cranking ends ring-M8 ring-M10"
            ));
            self.n(&format!(
                "wire A5 from start-switch.b to starter.+ 70 mm2 {run} m red zone engine-bay cranking ends ring-M10 ring-M8"
            ));
            self.n(&format!(
                "wire A6 from {bottom} to block 70 mm2 1.6 m black zone engine-bay cranking ends ring-M8 ring-M10"
            ));
            self.n("bolt dynamo.- to block");
            self.n("bolt starter.- to block");
        } else {
            self.n(&format!(
                "wire A4 from {top} to starter.+ 70 mm2 {run} m red zone engine-bay cranking ends ring-M8 ring-M8"
            ));
            self.n(&format!(
                "wire A6 from {bottom} to frame 70 mm2 0.6 m black cranking ends ring-M8 ring-M10"
            ));
        }
        let run = self.dice.between(2.0, 6.0);
        let near = self.dice.between(0.4, 0.9);
        self.line("");
        if self.splitter {
            self.n("charger splitter = split-12 \"Split charger\"");
            self.n("fuse FI = bolt-small 60 A \"Split charger, engine side\"");
            self.counted(2, "fuse FO = main-fuse-small 40 A on charge-bar \"Split charger, house side\"");
            self.n("wire S1 from start.+ to FI.line 16 mm2 0.15 m red ends ring-M8 ring-M6");
            self.n("wire S2 from FI.load to splitter.in+ 16 mm2 2 m red ends ring-M6 ferrule");
            self.n(&format!(
                "wire S3 from splitter.out+ to FO.load 16 mm2 {near} m red ends ferrule ferrule"
            ));
            self.n(&format!(
                "wire S4 from splitter.out- to minus-bar 16 mm2 {near} m black ends ferrule ring-M8"
            ));
            self.n("wire S5 from start.- to minus-bar 35 mm2 1.2 m black ends ring-M8 ring-M8");
        } else {
            self.counted(
                10,
                &format!(
                    "fit engine-{volts} as booster (start-plus = {top}, start-minus = {bottom}, plus = charge-bar, \
                     minus = minus-bar, run = {run} m, near-run = {near} m, what = \"Charger from the engine\")"
                ),
            );
        }
    }

    fn feeds(&mut self) {
        let volts = self.bank.volts;
        if self.sun {
            let run = self.dice.between(2.0, 6.0);
            let near = self.dice.between(0.5, 1.0);
            self.counted(
                10,
                &format!(
                    "fit sun-{volts} as roof (plus = charge-bar, minus = minus-bar, run = {run} m, \
                     near-run = {near} m, what = \"Modules on the roof\")"
                ),
            );
        }
        if self.shore {
            let near = self.dice.between(0.5, 1.2);
            self.counted(
                5,
                &format!(
                    "fit shore-{volts} as quay-side (plus = charge-bar, minus = minus-bar, near-run = {near} m, \
                     what = \"Shore charger\")"
                ),
            );
        }
        if self.inverter {
            let (part, heavy, ground) = (
                if volts == 12 { "inverter-12-1000" } else { "inverter-24-2000" },
                self.heavy(),
                self.ground(),
            );
            let size = if self.shape == Shape::Trailer { "1 AWG" } else { "35 mm2" };
            self.n(&format!("inverter wave = {part} \"Sockets\""));
            self.counted(2, "fuse FW = main-fuse 125 A on plus-bar \"Inverter\"");
            self.n(&format!("wire I1 from FW.load to wave.+ {size} 0.8 m red ends ring-M8 ring-M8"));
            self.n(&format!("wire I2 from wave.- to minus-bar {size} 0.8 m black ends ring-M8 ring-M8"));
            self.n(&format!(
                "wire B2 from wave.case to {ground} {heavy} 1 m green/yellow bond ends ring-M8 ring-M8"
            ));
        }
        if self.screen {
            self.n(&format!("hub screen = display-{volts} \"Display\""));
            self.counted(2, "fuse FP = lead-fuse 2 A on plus-bar \"Display\"");
            let size = if self.shape == Shape::Trailer { "14 AWG" } else { "1 mm2" };
            self.n(&format!("wire P1 from FP.load to screen.+ {size} 3 m red ends ferrule ferrule"));
            self.n(&format!("wire P2 from screen.- to minus-bar {size} 3 m black ends ferrule ring-M8"));
            self.n("data D1 from tally.data to screen.data 4 m isolated");
        }
    }

    /// Two branches written out: what faults are planted in.
    fn own_branches(&mut self) {
        let volts = self.bank.volts;
        let us = self.shape == Shape::Trailer;
        let draw = self.dice.between(3.0, 5.0);
        let run = self.dice.between(2.0, 3.0);
        let size = if us { "12 AWG" } else { "2.5 mm2" };
        self.line("");
        self.n(&format!("load cooler = appliance-12 {volts} V {draw} A \"Cool box\""));
        self.counted(2, "fuse FC = lead-fuse 10 A on plus-bar \"Cool box\"");
        self.n(&format!("wire C1 from FC.load to cooler.+ {size} {run} m red ends ferrule ferrule"));
        self.n(&format!("wire C2 from cooler.- to minus-bar {size} {run} m black ends ferrule ring-M8"));
        self.branches.push(Branch { loads: vec!["cooler".into()], draw, lamps: false });

        let draw = self.dice.between(1.0, 1.5);
        let run = self.dice.between(2.0, 3.0);
        let size = if us { "12 AWG" } else { "4 mm2" };
        self.n(&format!("load porch = lamp-12 {volts} V {draw} A critical \"Lamp over the steps\""));
        self.counted(2, "fuse FL = lead-fuse 3 A on plus-bar \"Lamp over the steps\"");
        self.n(&format!("wire E1 from FL.load to porch.+ {size} {run} m red ends ferrule ferrule"));
        self.n(&format!("wire E2 from porch.- to minus-bar {size} {run} m orange ends ferrule ring-M8"));
        self.line("waive colour.convention on E2 because \"drawn in before the colours were settled\" until 2026-12-31");
        self.branches.push(Branch { loads: vec!["porch".into()], draw, lamps: true });
    }

    /// A branch from the library that every design has by one name, to be changed in its figures alone.
    fn fitted_first(&mut self) {
        let volts = self.bank.volts;
        let run = self.dice.between(2.0, 4.0);
        let size = if self.shape == Shape::Trailer { "12 AWG" } else { "2.5 mm2" };
        self.counted(
            7,
            &format!(
                "fit pump as tap (plus = plus-bar, minus = minus-bar, volts-of-it = {volts} V, rating = 8 A, draw = 4 A, \
                 size = {size}, run = {run} m, what = \"Water pump\")"
            ),
        );
        self.branches.push(Branch { loads: vec!["tap/unit".into()], draw: 4.0, lamps: false });
    }

    fn fitted_branches(&mut self) {
        let target = 64 + self.dice.below(132);
        let mut bars = vec![Bars { plus: "plus-bar".into(), minus: "minus-bar".into(), budget: 60.0 }];
        let mut at = 0;
        while self.n_elements + 8 <= target {
            at += 1;
            if 45 + 35 * bars.len() < target && 12 < target - self.n_elements && bars.len() < 5 {
                let panel = self.panel(bars.len());
                bars.push(panel);
                continue;
            }
            let end = at % bars.len();
            if !self.fitted(at, &mut bars[end]) {
                // That panel takes no more: another, as long as there is room on the bars.
                let panel = self.panel(bars.len());
                bars.push(panel);
            }
        }
        self.line("");
    }

    fn panel(&mut self, at: usize) -> Bars {
        let volts = f64::from(self.bank.volts);
        let run = self.dice.between(1.0, 3.0);
        let name = format!("panel-{at}");
        let (area, size) = if self.shape == Shape::Trailer { (13.3, "6 AWG") } else { (16.0, "16 mm2") };
        // At most one percent is lost on the way to the panel.
        let budget = (0.01 * volts * area / (2.0 * run * COPPER)).min(30.0);
        self.counted(
            6,
            &format!(
                "fit panel as {name} (plus = plus-bar, minus = minus-bar, rating = 40 A, size = {size}, run = {run} m, \
                 what = \"Panel {at}\")"
            ),
        );
        Bars { plus: format!("{name}/P"), minus: format!("{name}/N"), budget }
    }

    /// One more branch between two bars, if they can feed it.
    fn fitted(&mut self, at: usize, bars: &mut Bars) -> bool {
        let volts = f64::from(self.bank.volts);
        let kit = *self.dice.of(&[
            "lighting",
            "lighting",
            "pump",
            "socket",
            "outlet",
            "lamp-branch",
            "fused-branch",
        ]);
        let lamps = kit.starts_with('l');
        let twice = kit == "lighting";
        let draw = if lamps { self.dice.between(0.3, 1.5) } else { self.dice.between(1.0, 5.0) };
        let whole = if twice { 2.0 * draw } else { draw };
        if bars.budget < whole {
            return false;
        }
        bars.budget -= whole;
        let run = if lamps { self.dice.between(1.0, 5.0) } else { self.dice.between(1.0, 6.0) };
        let further = self.dice.between(0.5, 2.0);
        let rating = *RATINGS.iter().find(|rating| whole <= 0.7 * **rating).unwrap_or(&15.0);
        // The far lamp has the current of one for the rest of the way; the extra wires of the others are short.
        let amp_metres = if twice { whole * run + draw * further } else { whole * (run + 1.0) };
        let share = if lamps { 0.012 } else { 0.03 };
        let least = (0.25 * rating).max(2.0 * amp_metres * COPPER / (share * volts));
        let sizes = if self.shape == Shape::Trailer { &GAUGES } else { &METRIC };
        // Plugs take at most 4 mm2, a lamp's clamp 10 mm2, which is two of 4 mm2.
        let most = if kit == "socket" || twice { 4.0 } else { 10.0 };
        let mut size = sizes[0];
        for one in sizes {
            if size.0 < least && one.0 <= most {
                size = *one;
            }
        }
        if size.0 < least {
            bars.budget += whole;
            // Nearer, then: the next throw.
            return true;
        }
        let name = format!("{}-{at}", kit.split('-').next_back().unwrap_or(kit).replace("branch", "spot"));
        let volts = self.bank.volts;
        let mut values = format!(
            "plus = {}, minus = {}, volts-of-it = {volts} V, rating = {rating} A, draw = {draw} A, size = {}, run = {run} m",
            bars.plus, bars.minus, size.1
        );
        if twice {
            let _ = write!(values, ", further = {further} m");
        }
        let (n_elements, loads): (usize, &[&str]) = match kit {
            "lighting" => (8, &["near", "far"]),
            "pump" => (7, &["unit"]),
            "socket" => (9, &["unit"]),
            "outlet" => (5, &["unit"]),
            "lamp-branch" => (5, &["lamp"]),
            _ => (5, &["appliance"]),
        };
        self.counted(n_elements, &format!("fit {kit} as {name} ({values}, what = \"Branch {at}\")"));
        let loads = loads.iter().map(|load| format!("{name}/{load}")).collect();
        self.branches.push(Branch { loads, draw, lamps });
        true
    }

    fn batteries(&mut self, house: &str, start: &str) {
        self.line(&format!("  house {house}"));
        if self.bank.n_batteries == 2 {
            self.line(&format!("  house-b {house}"));
        }
        if self.engine && self.bank.volts == 12 {
            self.line(&format!("  start {start}"));
        } else if self.engine {
            self.line(&format!("  start-a {start}"));
            self.line(&format!("  start-b {start}"));
        }
    }

    /// Switches branches on, up to a current; says what they take together.
    fn switched_on(&mut self, most: f64, lamps: bool) -> f64 {
        let mut sum = 0.0;
        let branches = std::mem::take(&mut self.branches);
        for branch in branches.iter().filter(|branch| branch.lamps == lamps) {
            let whole = branch.draw * branch.loads.len() as f64;
            if sum + whole <= most {
                sum += whole;
                for load in &branch.loads {
                    self.line(&format!("  {load} on"));
                }
            }
        }
        self.branches = branches;
        sum
    }

    fn modes(&mut self) {
        let (rests, charged) = (self.bank.rests, self.bank.charged);
        self.line("mode evening \"lamps on\" {");
        self.batteries(rests, "12.6 V");
        let evening = self.switched_on(50.0, true);
        self.line("}");
        self.line("mode working \"all else\" {");
        self.batteries(rests, "12.6 V");
        let working = self.switched_on(50.0, false);
        if self.inverter {
            self.line("  wave 20 A");
        }
        self.line("}");
        let working = working + if self.inverter { 20.0 } else { 0.0 };
        let mut driving = None;
        if self.engine {
            let unit = if self.splitter { "splitter" } else { "booster/unit" };
            self.line("mode driving \"engine running\" {");
            self.batteries(charged, "14 V");
            self.line("  dynamo on");
            self.line(&format!("  {unit} on"));
            let lamps = self.switched_on(5.0, true);
            self.line("}");
            driving = Some(if self.bank.volts == 12 { 30.0 - lamps } else { 20.0 - lamps });
        }
        if self.sun {
            self.line("mode sunny \"by day\" {");
            self.batteries(charged, "12.6 V");
            self.line("  roof/array on");
            self.line("  roof/unit on");
            self.switched_on(8.0, false);
            self.line("}");
        }
        let mut quay = None;
        if self.shore {
            self.line("mode quay \"on shore power\" {");
            self.batteries(charged, "12.6 V");
            self.line("  quay-side/unit on");
            let taken = self.switched_on(20.0, false);
            self.line("}");
            quay = Some(30.0 - taken);
        }
        self.line("mode stored \"switched off\" {");
        self.batteries(rests, "12.6 V");
        self.line("  master open");
        self.line("  guard on");
        self.line("}");
        self.line("");
        self.claim(-evening, "evening");
        self.claim(-working, "working");
        if let Some(driving) = driving {
            self.claim(driving, "driving");
        }
        if let Some(quay) = quay {
            self.claim(quay, "quay");
        }
        self.claim(-2.0, "stored");
    }

    fn claim(&mut self, amps: f64, mode: &str) {
        let amps = (amps * 10.0).round() / 10.0;
        self.line(&format!("expect tally reads {amps} A within 0.5 A in {mode}"));
    }

    fn settings(&mut self) {
        let (absorption, float, amp_hours) = (self.bank.absorption, self.bank.float, self.bank.amp_hours);
        let (on, off) = if self.bank.volts == 12 { ("13.3 V", "12.6 V") } else { ("26.4 V", "25.2 V") };
        let mut units = Vec::new();
        if self.engine {
            let unit = if self.splitter { "splitter" } else { "booster/unit" };
            self.line(&format!("set {unit} engine-on {on}"));
            self.line(&format!("set {unit} engine-off {off}"));
            units.push(unit);
        }
        if self.sun {
            units.push("roof/unit");
        }
        if self.shore {
            units.push("quay-side/unit");
        }
        for unit in units {
            self.line(&format!("set {unit} absorption {absorption}"));
            self.line(&format!("set {unit} float {float}"));
        }
        self.line(&format!("set tally capacity {amp_hours} Ah"));
        self.line("note master \"Turn off when it is left\"");
    }
}

/// Resistivity of copper in operation, with a margin, in ohm mm2/m.
const COPPER: f64 = 0.025;
