//! Designs made from a seed, as installers build them: two networks and what charges, joins and loads them.

use std::fmt::Write as _;

/// A stream of numbers that a seed fixes (splitmix64, from memory).
pub(super) struct Seed(u64);

impl Seed {
    pub(super) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d_4c95_7f2d)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut one = self.0;
        one = (one ^ (one >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        one = (one ^ (one >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        one ^ (one >> 31)
    }

    pub(super) fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }

    fn once_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    fn of<'a>(&mut self, all: &[&'a str]) -> &'a str {
        all[self.below(all.len())]
    }

    /// A number between two, with two digits after the point.
    fn between(&mut self, low: f64, high: f64) -> f64 {
        let share = self.below(10_001) as f64 / 10_000.0;
        ((low + share * (high - low)) * 100.0).round() / 100.0
    }
}

const THICK: [&str; 6] = ["16 mm2", "25 mm2", "35 mm2", "50 mm2", "2/0 AWG", "2 AWG"];
const THIN: [&str; 6] = ["1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2", "12 AWG", "14 SAE"];

/// What a mode may set.
enum Knob {
    Battery { name: String, nominal: f64 },
    Load { name: String, figures: Vec<String> },
    Source { name: String, figures: Vec<String> },
    Switch(String),
}

struct Plan {
    seed: Seed,
    text: String,
    knobs: Vec<Knob>,
    wires: usize,
    parts: usize,
}

/// One network's nodes to wire to.
#[derive(Clone)]
struct Net {
    volts: f64,
    plus: String,
    minus: String,
}

/// A design with three modes.
pub(super) fn design(number: u64) -> String {
    let mut plan =
        Plan { seed: Seed::new(number), text: String::new(), knobs: Vec::new(), wires: 0, parts: 0 };
    let _ = writeln!(plan.text, "design made{number} \"Invented, from seed {number}\"");
    plan.line("chassis frame");
    if plan.seed.once_in(4) {
        let contact = plan.seed.of(&["0.05 mohm", "0.2 mohm", "1 mohm"]);
        plan.line(&format!("assume contact {contact}"));
    }
    let volts = [12.0, 12.0, 24.0, 48.0][plan.seed.below(4)];
    let house = plan.network("house", volts, true);
    let mut nets = vec![house.clone()];
    if !plan.seed.once_in(4) {
        let battery = !plan.seed.once_in(6);
        let crank = plan.network("crank", 12.0, battery);
        plan.alternator(&crank);
        if plan.seed.once_in(2) {
            plan.alternator(&crank);
        }
        plan.convert(&crank, &house, "booster");
        if plan.seed.once_in(3) {
            plan.convert(&house, &crank, "trickle");
        }
        if plan.seed.once_in(3) {
            plan.convert(&crank, &house, "second");
        }
        plan.data(&house, &crank);
        plan.wire(&crank.minus, "frame", true);
        nets.push(crank);
    } else if plan.seed.once_in(2) {
        plan.alternator(&house);
    }
    if plan.seed.once_in(2) {
        let volts = [12.0, 24.0][plan.seed.below(2)];
        let step = plan.network("step", volts, false);
        plan.convert(&house, &step, "converter");
        if plan.seed.once_in(3) {
            plan.convert(&house, &step, "spare");
        }
        nets.push(step);
    }
    if plan.seed.once_in(2) {
        plan.solar(&house);
        if plan.seed.once_in(3) {
            plan.solar(&house);
        }
    }
    for kind in 0..2 {
        if plan.seed.once_in(3) {
            plan.shore(&house, kind);
        }
    }
    if plan.seed.once_in(2) {
        plan.inverter(&house);
    }
    plan.wire(&house.minus, "frame", true);
    for _ in 0..2 + plan.seed.below(8) {
        let net = nets[plan.seed.below(nets.len())].clone();
        plan.load(&net);
    }
    for number in 0..3 {
        plan.mode(number);
    }
    plan.text
}

impl Plan {
    fn line(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn fresh(&mut self, word: &str) -> String {
        self.parts += 1;
        format!("{word}{}", self.parts)
    }

    fn wire(&mut self, a: &str, b: &str, thick: bool) {
        self.wires += 1;
        let size = if thick { self.seed.of(&THICK) } else { self.seed.of(&THIN) };
        let length = self.seed.between(0.1, if thick { 3.0 } else { 7.0 });
        let count = if self.seed.once_in(9) { " count 2" } else { "" };
        let clad = if self.seed.once_in(15) { " aluminium-clad" } else { "" };
        self.line(&format!("wire W{} from {a} to {b} {size} {length} m{count}{clad}", self.wires));
    }

    /// A wire, or a bolt.
    fn join(&mut self, a: &str, b: &str, thick: bool) {
        if self.seed.once_in(4) { self.line(&format!("bolt {a} to {b}")) } else { self.wire(a, b, thick) }
    }

    /// Something in line, or nothing: the terminal that goes on.
    fn device(&mut self, from: &str, amps: &str, thick: bool) -> String {
        match self.seed.below(6) {
            0 => {
                let name = self.fresh("SW");
                let rests = if self.seed.once_in(4) { " open" } else { "" };
                self.line(&format!("switch {name} {amps}{rests}"));
                self.join(from, &format!("{name}.a"), thick);
                self.knobs.push(Knob::Switch(name.clone()));
                format!("{name}.b")
            }
            1 => {
                let name = self.fresh("PL");
                self.line(&format!("plug {name} {amps}"));
                self.join(from, &format!("{name}.a"), thick);
                self.knobs.push(Knob::Switch(name.clone()));
                format!("{name}.b")
            }
            2 => {
                let name = self.fresh("Q");
                self.line(&format!("breaker {name} {amps} volts 60 V breaks 5 kA"));
                self.join(from, &format!("{name}.line"), thick);
                format!("{name}.load")
            }
            _ => {
                let name = self.fresh("F");
                self.line(&format!("fuse {name} {amps} bolt-in volts 60 V breaks 5 kA"));
                self.join(from, &format!("{name}.line"), thick);
                format!("{name}.load")
            }
        }
    }

    fn battery(&mut self, nominal: f64) -> String {
        let about = self.about(nominal);
        self.alike(nominal, &about)
    }

    /// What is written of a battery.
    fn about(&mut self, nominal: f64) -> String {
        let chemistry = self.seed.of(&["lead-acid", "agm", "gel", "lifepo4"]);
        let inner = match self.seed.below(3) {
            0 => format!("fault {} kA", 1 + self.seed.below(5)),
            1 => format!("resistance {} mohm", 2 + self.seed.below(12)),
            _ => format!("fault {} A", 600 + 100 * self.seed.below(30)),
        };
        let full = if self.seed.once_in(2) { format!(" full {:.1} V", nominal * 1.2) } else { String::new() };
        let capacity = 60 + 20 * self.seed.below(10);
        format!("{chemistry} {nominal} V {capacity} Ah {inner}{full}")
    }

    /// A battery like another; those of a string are.
    fn alike(&mut self, nominal: f64, about: &str) -> String {
        let name = self.fresh("B");
        self.line(&format!("battery {name} {about}"));
        self.knobs.push(Knob::Battery { name: name.clone(), nominal });
        name
    }

    /// Bars, with or without batteries: one, several in parallel, or a string.
    fn network(&mut self, name: &str, volts: f64, battery: bool) -> Net {
        let (plus, minus) = (format!("{name}-plus"), format!("{name}-minus"));
        self.line(&format!("bar {plus} M8 x 6 250 A"));
        self.line(&format!("bar {minus} M8 x 6 250 A"));
        let net = Net { volts, plus: plus.clone(), minus: minus.clone() };
        if !battery {
            return net;
        }
        let mut ends = Vec::new();
        for _ in 0..1 + self.seed.below(3) {
            if 12.0 < volts && self.seed.once_in(2) {
                let about = self.about(volts / 2.0);
                let (low, high) = (self.alike(volts / 2.0, &about), self.alike(volts / 2.0, &about));
                self.join(&format!("{low}.+"), &format!("{high}.-"), true);
                ends.push((format!("{high}.+"), format!("{low}.-")));
            } else {
                let one = self.battery(volts);
                ends.push((format!("{one}.+"), format!("{one}.-")));
            }
        }
        for (before, after) in (1..ends.len()).map(|at| (ends[at - 1].clone(), ends[at].clone())) {
            self.wire(&before.0, &after.0, true);
            self.wire(&before.1, &after.1, true);
        }
        let first = ends[0].0.clone();
        let last = ends[if self.seed.once_in(2) { 0 } else { ends.len() - 1 }].1.clone();
        let mut live = self.device(&first, "200 A", true);
        if self.seed.once_in(5) {
            let cutoff = self.fresh("CO");
            self.line(&format!("cutoff {cutoff} 150 A"));
            self.wire(&live, &format!("{cutoff}.line"), true);
            live = format!("{cutoff}.load");
        }
        self.join(&live, &plus, true);
        if self.seed.once_in(2) {
            let meter = self.fresh("M");
            let drop = self.seed.of(&["", " 50 mV", " 75 mV"]);
            let mut counted: Vec<&str> =
                ends.iter().filter_map(|end| end.0.split('.').next()).collect::<Vec<_>>();
            counted.truncate(1);
            self.line(&format!("meter {meter} 300 A{drop} counts {}", counted[0]));
            self.wire(&last, &format!("{meter}.bat"), true);
            self.join(&format!("{meter}.sys"), &minus, true);
            self.wire(&plus, &format!("{meter}.sense"), false);
        } else {
            self.wire(&last, &minus, true);
        }
        net
    }

    fn alternator(&mut self, net: &Net) {
        let name = self.fresh("A");
        let amps = 30 + 10 * self.seed.below(12);
        let returns = if self.seed.once_in(2) { " returns frame" } else { "" };
        self.line(&format!("alternator {name} {} V {amps} A{returns}", net.volts));
        let live = self.device(&net.plus, "150 A", true);
        self.join(&live, &format!("{name}.+"), true);
        if returns.is_empty() {
            self.join(&format!("{name}.-"), &net.minus, true);
        }
        let figures = vec![
            format!("{} V", self.seed.between(1.15 * net.volts, 1.22 * net.volts)),
            format!("{} A", 5 + self.seed.below(40)),
        ];
        self.knobs.push(Knob::Source { name, figures });
    }

    /// A charger between two networks.
    fn convert(&mut self, from: &Net, to: &Net, word: &str) {
        let name = self.fresh(word);
        let amps = 5 + 5 * self.seed.below(10);
        let common = self.seed.once_in(2);
        let join = if common { "common" } else { "isolated" };
        let input = match self.seed.below(3) {
            0 => String::new(),
            _ => format!(" {} A", 8 + 4 * self.seed.below(12)),
        };
        let efficiency = match self.seed.below(3) {
            0 => String::new(),
            _ => format!(" efficiency {} %", 80 + self.seed.below(19)),
        };
        let outputs = if self.seed.once_in(6) { " outputs 2" } else { "" };
        self.line(&format!(
            "charger {name} in {} V{input} out {} V {amps} A {join}{efficiency}{outputs}",
            from.volts, to.volts
        ));
        let live = self.device(&from.plus, "100 A", false);
        self.wire(&live, &format!("{name}.in+"), true);
        self.wire(&format!("{name}.in-"), &from.minus, true);
        let ends: &[&str] = if outputs.is_empty() { &["out+"] } else { &["out1+", "out2+"] };
        for end in ends {
            let live = self.device(&to.plus, "100 A", false);
            self.join(&live, &format!("{name}.{end}"), true);
        }
        if !common || self.seed.once_in(2) {
            self.wire(&format!("{name}.out-"), &to.minus, true);
        }
        if self.seed.once_in(4) {
            let held = self.charging(to.volts);
            self.line(&format!("set {name} absorption {held} V"));
        }
        let figures =
            vec![format!("{} A", 2 + self.seed.below(amps)), format!("{} V", self.charging(to.volts))];
        self.knobs.push(Knob::Source { name, figures });
    }

    fn charging(&mut self, volts: f64) -> f64 {
        self.seed.between(1.05 * volts, 1.25 * volts)
    }

    fn solar(&mut self, net: &Net) {
        let (array, name) = (self.fresh("PV"), self.fresh("mppt"));
        let volts = if 24.0 < net.volts { 60.0 } else { 36.0 };
        let strings = 1 + self.seed.below(3);
        self.line(&format!(
            "solar {array} voc {} V isc 9.5 A vmp {volts} V imp 8.8 A strings {strings}",
            volts * 1.2
        ));
        let amps = 10 + 10 * self.seed.below(5);
        let join = self.seed.of(&["common", "isolated"]);
        self.line(&format!(
            "charger {name} in {volts} V in-max 100 V out {} V {amps} A {join} from solar",
            net.volts
        ));
        let live = self.device(&format!("{array}.+"), "40 A", false);
        self.wire(&live, &format!("{name}.in+"), false);
        self.wire(&format!("{array}.-"), &format!("{name}.in-"), false);
        let live = self.device(&net.plus, "60 A", true);
        self.join(&live, &format!("{name}.out+"), true);
        self.wire(&format!("{name}.out-"), &net.minus, true);
        self.knobs.push(Knob::Source { name: array, figures: vec!["5 A".into(), "100 W".into()] });
        self.knobs.push(Knob::Source { name, figures: vec!["7 A".into()] });
    }

    fn shore(&mut self, net: &Net, kind: usize) {
        let name = self.fresh(if kind == 0 { "shore" } else { "feed" });
        let amps = 5 + 5 * self.seed.below(12);
        let (plus, minus) = if kind == 0 {
            self.line(&format!("charger {name} from ac out {} V {amps} A", net.volts));
            ("out+", "out-")
        } else {
            let how = self.seed.of(&["30 A", "fused 15 A", "25 A fault 1 kA"]);
            self.line(&format!("supply {name} {} V {how}", net.volts));
            ("+", "-")
        };
        let live = self.device(&net.plus, "60 A", true);
        self.join(&live, &format!("{name}.{plus}"), true);
        self.join(&format!("{name}.{minus}"), &net.minus, true);
        let figures = vec![format!("{} V", self.charging(net.volts)), format!("{} A", 3 + amps / 2)];
        self.knobs.push(Knob::Source { name, figures });
    }

    fn inverter(&mut self, net: &Net) {
        let name = self.fresh("INV");
        let efficiency = self.seed.of(&["", " efficiency 91 %"]);
        self.line(&format!("inverter {name} {} V 800 W{efficiency}", net.volts));
        let live = self.device(&net.plus, "100 A", true);
        self.join(&live, &format!("{name}.+"), true);
        self.join(&format!("{name}.-"), &net.minus, true);
        let figures = vec![format!("{} W", 40 + 20 * self.seed.below(20))];
        self.knobs.push(Knob::Load { name, figures });
    }

    fn load(&mut self, net: &Net) {
        let name = self.fresh("L");
        let watts = self.seed.between(5.0, 150.0);
        let amps = watts / net.volts;
        let demand = match self.seed.below(3) {
            0 => format!("{watts} W"),
            1 => format!("{amps:.2} A"),
            _ => format!("{:.2} ohm", net.volts / amps),
        };
        let returns = if self.seed.once_in(5) { " returns frame" } else { "" };
        self.line(&format!("load {name} {} V {demand}{returns}", net.volts));
        let mut from = net.plus.clone();
        if self.seed.once_in(3) {
            // A panel further on.
            let panel = self.fresh("panel");
            self.line(&format!("bar {panel} M6 x 6 100 A"));
            let live = self.device(&net.plus, "60 A", true);
            self.join(&live, &panel, true);
            from = panel;
        }
        let live = self.device(&from, "20 A", false);
        self.wire(&live, &format!("{name}.+"), false);
        if returns.is_empty() {
            let back = if self.seed.once_in(6) { "frame".to_owned() } else { net.minus.clone() };
            self.wire(&format!("{name}.-"), &back, false);
        }
        let figures = vec![
            format!("{} W", self.seed.between(1.0, 200.0)),
            format!("{} A", self.seed.between(0.1, 8.0)),
            format!("{} ohm", self.seed.between(1.0, 60.0)),
        ];
        self.knobs.push(Knob::Load { name, figures });
    }

    /// A meter's data lead to a hub: it ties negatives.
    fn data(&mut self, one: &Net, other: &Net) {
        if !self.seed.once_in(3) {
            return;
        }
        let (hub, meter) = (self.fresh("HUB"), self.fresh("DM"));
        let watts = 2 + self.seed.below(8);
        self.line(&format!("hub {hub} {watts} W"));
        self.wire(&one.plus, &format!("{hub}.+"), false);
        self.wire(&format!("{hub}.-"), &one.minus, false);
        let post = self.fresh("P");
        self.line(&format!("post {post} M8 100 A"));
        self.line(&format!("meter {meter} 100 A 60 mV"));
        self.wire(&other.minus, &format!("{meter}.bat"), true);
        self.wire(&format!("{meter}.sys"), &post, true);
        let isolated = if self.seed.once_in(4) { " isolated" } else { "" };
        self.line(&format!("data D{hub} from {meter}.data to {hub}.data 3 m{isolated}"));
        let other = Net { minus: post, ..other.clone() };
        self.load(&other);
        self.knobs.push(Knob::Load { name: hub, figures: vec!["4 W".into()] });
    }

    fn mode(&mut self, number: usize) {
        let mut text = format!("mode m{number} {{\n");
        let knobs = std::mem::take(&mut self.knobs);
        for knob in &knobs {
            let line = match knob {
                Knob::Battery { name, nominal } => {
                    // Batteries of one network differ by little.
                    let base = [1.0, 1.04, 1.1][number];
                    Some(format!("{name} {:.3} V", nominal * (base + 0.001 * self.seed.below(10) as f64)))
                }
                Knob::Load { name, figures } | Knob::Source { name, figures } => match self.seed.below(4) {
                    0 => None,
                    1 => Some(format!("{name} {}", figures[self.seed.below(figures.len())])),
                    _ => Some(format!("{name} on")),
                },
                Knob::Switch(name) => match self.seed.below(8) {
                    0 => Some(format!("{name} open")),
                    1 | 2 => Some(format!("{name} closed")),
                    _ => None,
                },
            };
            if let Some(line) = line {
                let _ = writeln!(text, "  {line}");
            }
        }
        self.knobs = knobs;
        text.push_str("}\n");
        self.text.push_str(&text);
    }
}
