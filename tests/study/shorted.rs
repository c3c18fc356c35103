//! Fault currents against the simulator: the network is drawn here from resistances alone, shorted at one node after the
//! other, and the current through the short is what the study has to tell.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use ohmward::book::Book;
use ohmward::check::{Studied, StudyOptions, study};
use ohmward::design::{Battery, Body, ComponentId, Design, Id, TerminalId, TerminalRole as R};
use ohmward::study::{Conditions, Network, Path as Way};
use ohmward::text::{Files, MemoryFiles};

use super::generate;
use super::simulator::present;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Extreme {
    Largest,
    Smallest,
}

/// Terminals in sets that are joined.
struct Sets(Vec<usize>);

impl Sets {
    fn of(n: usize) -> Self {
        Self((0..n).collect())
    }

    fn find(&mut self, mut one: usize) -> usize {
        while self.0[one] != one {
            self.0[one] = self.0[self.0[one]];
            one = self.0[one];
        }
        one
    }

    fn join(&mut self, a: TerminalId, b: TerminalId) {
        let (a, b) = (self.find(a.index()), self.find(b.index()));
        self.0[a.max(b)] = a.min(b);
    }
}

/// A voltage behind a resistance.
struct Behind {
    component: ComponentId,
    plus: TerminalId,
    minus: TerminalId,
    volts: f64,
    ohms: f64,
}

/// A design's sources of fault current; the batteries and supplies in the order of the design.
struct Sources {
    behind: Vec<Behind>,
    limited: Vec<(TerminalId, TerminalId, f64)>,
}

/// A battery's voltage at its fullest, or at its lower limit, by its own figure or the book's.
fn volts(book: &Book, battery: &Battery, extreme: Extreme) -> f64 {
    let nominal = battery.nominal;
    let own = battery.full.filter(|_| extreme == Extreme::Largest);
    let of = match (extreme, battery.chemistry) {
        (_, None) => nominal,
        (Extreme::Largest, Some(chemistry)) => book.full_voltage(chemistry, nominal),
        (Extreme::Smallest, Some(chemistry)) => book.empty_voltage(chemistry, nominal),
    };
    own.unwrap_or(of).as_volts()
}

fn sources(design: &Design, book: &Book, extreme: Extreme) -> Sources {
    let mut found = Sources { behind: Vec::new(), limited: Vec::new() };
    for (id, component) in design.components.entries() {
        let terminal = |role| component.terminal(design, role);
        let chassis = |name: Option<ComponentId>| {
            let own = terminal(R::Minus);
            own.or_else(|| name.map(|id| design.components[id].first_terminal))
        };
        let poles = terminal(R::Plus).zip(terminal(R::Minus));
        match (&component.body, poles) {
            (Body::Battery(battery), Some((plus, minus))) => {
                // Its own resistance, else what its prospective current at its highest voltage leaves.
                let full = volts(book, battery, Extreme::Largest);
                let fault =
                    battery.fault.or_else(|| book.fault_of(battery)).map(|amps| full / amps.as_amps());
                let ohms = battery.resistance.map(|ohms| ohms.as_ohms()).or(fault);
                let Some(ohms) = ohms else { continue };
                let volts = volts(book, battery, extreme);
                found.behind.push(Behind { component: id, plus, minus, volts, ohms });
            }
            (Body::Supply(supply), Some((plus, minus))) => match (supply.fused, supply.fault, supply.nominal)
            {
                (None, Some(fault), Some(nominal)) => {
                    let (volts, ohms) = (nominal.as_volts(), nominal.as_volts() / fault.as_amps());
                    found.behind.push(Behind { component: id, plus, minus, volts, ohms });
                }
                (fused, _, _) => {
                    let amps = fused.or(supply.maximum).map_or(0.0, |amps| amps.as_amps());
                    found.limited.push((plus, minus, amps));
                }
            },
            (Body::Solar(solar), Some((plus, minus))) => {
                found.limited.push((plus, minus, solar.isc.as_amps() * f64::from(solar.strings)));
            }
            (Body::Alternator(alternator), _) => {
                if let (Some(plus), Some(minus)) = (terminal(R::Plus), chassis(alternator.returns)) {
                    found.limited.push((plus, minus, alternator.maximum.as_amps()));
                }
            }
            (Body::Charger(charger), _) => {
                let plus = terminal(R::OutPlus).or_else(|| terminal(R::OutPlusNumber(1)));
                let minus = terminal(R::OutMinus).or_else(|| terminal(R::InMinus));
                if let (Some(plus), Some(minus)) = (plus, minus) {
                    found.limited.push((plus, minus, charger.output_current.as_amps()));
                }
            }
            _ => {}
        }
    }
    if extreme == Extreme::Smallest {
        found.limited.clear();
    }
    found
}

/// The terminals at which a fault is judged here, each with the negative that it goes to: that of the first battery or
/// supply in the order of the design, of a string that of its lowest battery, whose positive metal joins to the terminal.
fn places(design: &Design, metal: &mut Sets, sources: &Sources) -> Vec<(TerminalId, TerminalId)> {
    let is_battery = |id: ComponentId| matches!(design.components[id].body, Body::Battery(_));
    let mut above: HashMap<usize, usize> = HashMap::new();
    for (low, one) in sources.behind.iter().enumerate() {
        let own = metal.find(one.plus.index());
        let upper = sources.behind.iter().position(|other| metal.find(other.minus.index()) == own);
        if let Some(upper) = upper.filter(|up| *up != low && is_battery(one.component)) {
            above.insert(low, upper);
        }
    }
    // Of the sources between the same sets the first, each with the set of its uppermost positive.
    let mut first: HashMap<usize, TerminalId> = HashMap::new();
    let uppers: Vec<usize> = above.values().copied().collect();
    for low in (0..sources.behind.len()).filter(|low| !uppers.contains(low)) {
        let mut top = low;
        while let Some(up) = above.get(&top) {
            top = *up;
        }
        let set = metal.find(sources.behind[top].plus.index());
        first.entry(set).or_insert(sources.behind[low].minus);
    }
    let rows = design.terminals.ids().filter_map(|id| Some((id, *first.get(&metal.find(id.index()))?)));
    rows.collect()
}

/// The network as a netlist, with a short in waiting at each place; what the simulator finds for each.
fn simulated(
    design: &Design,
    network: &Network,
    sources: &Sources,
    extreme: Extreme,
    folder: &Path,
) -> Vec<(TerminalId, f64)> {
    let n = design.terminals.len();
    let (mut node, mut metal, mut island) = (Sets::of(n), Sets::of(n), Sets::of(n));
    for link in &network.links {
        [&mut node, &mut metal, &mut island].into_iter().for_each(|sets| sets.join(link.a, link.b));
    }
    let joint = |way: Way| matches!(way, Way::Joint(_) | Way::Returns(_));
    for branch in &network.branches {
        [&mut metal, &mut island].into_iter().for_each(|sets| sets.join(branch.a, branch.b));
        if extreme == Extreme::Largest && joint(branch.path) {
            node.join(branch.a, branch.b);
        }
    }
    sources.behind.iter().for_each(|one| island.join(one.plus, one.minus));
    let mut zero: HashMap<usize, usize> = HashMap::new();
    for one in &sources.behind {
        zero.entry(island.find(one.minus.index())).or_insert(node.find(one.minus.index()));
    }
    // Each terminal's node and island; no node on an island without a source.
    let islands: Vec<usize> = (0..n).map(|one| island.find(one)).collect();
    let names: Vec<Option<String>> = (0..n)
        .map(|one| {
            let (own, ground) = (node.find(one), zero.get(&islands[one])?);
            Some(if *ground == own { "0".to_owned() } else { format!("n{own}") })
        })
        .collect();
    let at = |terminal: TerminalId| names[terminal.index()].as_ref();
    let mut text = "* shorts\n".to_owned();
    for (number, branch) in network.branches.iter().enumerate() {
        let (Some(a), Some(b)) = (at(branch.a), at(branch.b)) else { continue };
        if a != b {
            writeln!(text, "R{number} {a} {b} {:e}", branch.resistance.as_ohms()).unwrap();
        }
    }
    for (number, one) in sources.behind.iter().enumerate() {
        let (plus, minus) = (at(one.plus).unwrap(), at(one.minus).unwrap());
        writeln!(
            text,
            "Vb{number} e{number} {minus} {:e}\nRb{number} e{number} {plus} {:e}",
            one.volts, one.ohms
        )
        .unwrap();
    }
    for (number, (plus, minus, amps)) in sources.limited.iter().enumerate() {
        if let (Some(high), Some(low), true) =
            (at(*plus), at(*minus), islands[plus.index()] == islands[minus.index()])
        {
            writeln!(text, "Il{number} {low} {high} {amps:e}").unwrap();
        }
    }
    let places = places(design, &mut metal, sources);
    // A short is 0.1 nohm; in waiting it is nothing.
    let mut control =
        ".options reltol=1e-9 abstol=1e-8 vntol=1e-8 gmin=1e-15\n.control\nset numdgt=12\n".to_owned();
    let mut told = Vec::new();
    for (number, (terminal, minus)) in places.iter().enumerate() {
        let (Some(a), Some(b)) = (at(*terminal), at(*minus)) else { continue };
        if a == b {
            continue;
        }
        writeln!(text, "Vs{number} {a} s{number} 0\nRs{number} s{number} {b} 1e15").unwrap();
        writeln!(control, "alter rs{number} = 1e-10\nop\nprint vs{number}#branch\nalter rs{number} = 1e15")
            .unwrap();
        told.push((number, *terminal));
    }
    let path = folder.join("shorts.cir");
    std::fs::write(&path, format!("{text}{control}quit\n.endc\n.end\n")).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(&path).output().unwrap();
    let printed = String::from_utf8_lossy(&output.stdout);
    let amps: HashMap<&str, f64> = printed
        .lines()
        .filter_map(|line| line.split_once(" = "))
        .filter_map(|(name, value)| Some((name.trim(), value.trim().parse().ok()?)))
        .collect();
    let row = |(number, terminal): &(usize, TerminalId)| {
        let found = amps.get(format!("vs{number}#branch").as_str());
        (*terminal, *found.unwrap_or_else(|| panic!("no current of vs{number} in\n{printed}\n{text}")))
    };
    told.iter().map(row).collect()
}

/// Compares both currents at every place of a design; how many.
fn compared(what: &str, files: &impl Files, file: &str, folder: &Path) -> usize {
    let of = |conditions: Option<Conditions>| -> Studied {
        study(file, files, &StudyOptions { conditions, ..StudyOptions::default() })
    };
    let (cold, hot) = (of(Some(Conditions::COLD)), of(None));
    let (Some(design), Some(faults)) = (&hot.design, &hot.faults) else { return 0 };
    let book = Book::shipped(&hot.book).unwrap();
    let mut count = 0;
    for (extreme, studied, found) in
        [(Extreme::Largest, &cold, &faults.largest), (Extreme::Smallest, &hot, &faults.smallest)]
    {
        let network = &studied.study.as_ref().unwrap().network;
        let sources = sources(design, &book, extreme);
        for (terminal, amps) in simulated(design, network, &sources, extreme, folder) {
            let name = design.terminal_name(terminal);
            let told = found[terminal.index()].map_or(f64::NAN, |current| current.as_amps());
            // Half of 1e-6 would be the short's own resistance at 0.2 mohm.
            assert!(
                (told - amps).abs() <= 1e-6 * amps.abs().max(1.0),
                "{what} {name}: {told} A, simulated {amps} A"
            );
            count += 1;
        }
    }
    count
}

#[test]
fn at_every_node_of_samples() {
    if !present() {
        return;
    }
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let folder = tempfile::tempdir().unwrap();
    let mut count = 0;
    for entry in std::fs::read_dir(&samples).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if !name.ends_with(".loom") || name == "parts.loom" {
            continue;
        }
        let files = MemoryFiles::default()
            .with(name.clone(), std::fs::read_to_string(&path).unwrap())
            .with("parts.loom", include_str!("../../samples/parts.loom"));
        count += compared(&name, &files, &name, folder.path());
    }
    assert!(200 < count, "{count} places");
}

#[test]
fn at_every_node_of_made_designs() {
    if !present() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut count = 0;
    for number in 0..200 {
        let files = MemoryFiles::default().with("it.loom", generate::design(number));
        count += compared(&format!("made{number}"), &files, "it.loom", folder.path());
    }
    println!("{count} fault currents");
    assert!(5_000 < count, "{count} places");
}
