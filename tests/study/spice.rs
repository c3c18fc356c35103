//! The study against another solver: a netlist written by hand, simulated by ngspice, and compared with the JSON.

use std::path::{Path, PathBuf};
use std::process::Command;

use serde_json::Value;

use super::generate;
use super::simulator::{Simulated, present, simulate};

/// Agreement that is asked for, relative.
const RELATIVE: f64 = 1e-6;
/// Volts and amperes below which the agreement is absolute: 10 nV and 100 nA.
const LEAST_VOLTS: f64 = 1e-2;
const LEAST_AMPS: f64 = 1e-1;
/// How many designs are made.
const DESIGNS: u64 = 240;

fn agree(found: f64, simulated: f64, least: f64, what: &str) {
    let slack = RELATIVE * simulated.abs().max(found.abs()).max(least);
    assert!((found - simulated).abs() <= slack, "{what}: {found}, simulated {simulated}");
}

/// How far two figures are apart, as a share of what is allowed.
fn apart(found: f64, simulated: f64, least: f64) -> f64 {
    (found - simulated).abs() / (RELATIVE * simulated.abs().max(found.abs()).max(least))
}

/// One mode of a sample as an electrician would draw it by hand: what ohmward finds, without its own netlist.
#[test]
fn the_mobile_library_parked_by_hand() {
    if !present() {
        return;
    }
    // Ohms a metre at 20 °C of class 5 plain copper (IEC 60228): 35 mm2 0.554e-3, 4 mm2 4.95e-3; at 70 °C 1.1965 times.
    // Each end of a wire and each bolt 0.1 mohm; the shunt 50 mV at 300 A; the battery 14.4 V / 5 kA.
    let netlist = "* the lamps of the mobile library, by hand\n\
        .param hot=1.1965\n\
        Vhouse cell 0 13.1\n\
        Rcell cell house {14.4/5000}\n\
        R7 house main {0.12*0.554e-3*hot+0.2e-3}\n\
        R8 main bar {0.6*0.554e-3*hot+0.2e-3}\n\
        Rbolt bar fuse 0.1e-3\n\
        R13 fuse lamp {5*4.95e-3*hot+0.2e-3}\n\
        Blamp lamp back I=60/V(lamp,back)\n\
        R14 back rail {5*4.95e-3*hot+0.2e-3}\n\
        R10 rail sys {0.3*0.554e-3*hot+0.2e-3}\n\
        Rshunt sys bat {0.05/300}\n\
        R9 bat 0 {0.3*0.554e-3*hot+0.2e-3}\n\
        .nodeset v(lamp)=12 v(back)=0\n\
        .options reltol=1e-9 abstol=1e-8 vntol=1e-8 gmin=1e-15 numdgt=12\n\
        .op\n.end\n";
    let folder = tempfile::tempdir().unwrap();
    let simulated = simulate(netlist, folder.path());
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/wagtail.loom");
    let output = Command::new(env!("CARGO_BIN_EXE_ohmward"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .arg("study")
        .arg(&path)
        .args(["--mode", "parked", "--as", "json"])
        .output()
        .unwrap();
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();
    let mode = &told["modes"]["parked"];
    let number = |value: &Value| value.as_f64().unwrap();
    for (terminal, node) in
        [("house.+", "house"), ("plus-bar", "bar"), ("lights.+", "lamp"), ("lights.-", "back")]
    {
        agree(number(&mode["nodes"][terminal]), simulated.volts[node], LEAST_VOLTS, terminal);
    }
    agree(number(&mode["wires"]["W13"]["amps"]), simulated.amps["r13"], LEAST_AMPS, "W13");
    agree(number(&mode["meters"]["tally"]["reads_a"]), -simulated.amps["r13"], LEAST_AMPS, "the meter");
}

/// One mode through the command: its JSON document, and its netlist where it has a solution.
fn studied(file: &Path, mode: &str, folder: &Path) -> (Value, Option<String>) {
    let netlist = folder.join("it.cir");
    let _ = std::fs::remove_file(&netlist);
    let output = Command::new(env!("CARGO_BIN_EXE_ohmward"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .arg("study")
        .arg(file)
        .args(["--mode", mode, "--as", "json", "--spice"])
        .arg(&netlist)
        .output()
        .unwrap();
    let told = serde_json::from_slice(&output.stdout).unwrap_or(Value::Null);
    (told, std::fs::read_to_string(&netlist).ok())
}

/// Names as the netlist has to spell them.
fn spelt(name: &str) -> String {
    let plain = |one: char| if one.is_ascii_alphanumeric() { one.to_ascii_lowercase() } else { '_' };
    name.chars().map(plain).collect()
}

/// Every voltage and every wire's current of a mode against its netlist; the largest share of what is allowed, and how many
/// figures were compared.
fn compared(told: &Value, netlist: &str, simulated: &Simulated, what: &str) -> (f64, usize) {
    let rows = netlist.lines().filter_map(|line| line.strip_prefix("* "));
    let mut node = std::collections::HashMap::new();
    for row in rows {
        let mut words = row.split(' ');
        if let Some(number) = words.next().filter(|word| word.bytes().all(|one| one.is_ascii_digit())) {
            words.for_each(|terminal| {
                node.insert(terminal.to_owned(), number.to_owned());
            });
        }
    }
    let (mut worst, mut count) = ((0.0, String::new()), 0);
    let mut look = |found: f64, there: Option<&f64>, least: f64, name: &str| {
        let Some(there) = there else { panic!("{what}: {name} is not in\n{netlist}") };
        let share = apart(found, *there, least);
        if worst.0 < share || !share.is_finite() {
            worst = (share, format!("{name}: {found}, simulated {there}"));
        }
        count += 1;
    };
    let modes = told["modes"].as_object().unwrap();
    assert_eq!(modes.len(), 1, "{what}");
    for mode in modes.values() {
        for (terminal, volts) in mode["nodes"].as_object().unwrap() {
            let there = node.get(terminal).and_then(|node| simulated.volts.get(node));
            look(volts.as_f64().unwrap(), there, LEAST_VOLTS, terminal);
        }
        for (wire, figures) in mode["wires"].as_object().unwrap() {
            let Some(amps) = figures["amps"].as_f64() else { continue };
            match simulated.amps.get(&format!("r{}", spelt(wire))) {
                None if amps == 0.0 => {}
                there => look(amps, there, LEAST_AMPS, wire),
            }
        }
    }
    assert!(worst.0 <= 1.0, "{what}: {}\n{netlist}", worst.1);
    (worst.0, count)
}

/// All modes of one design; figures compared, modes with and without a solution.
fn whole(file: &Path, folder: &Path) -> (usize, usize, usize) {
    let text = std::fs::read_to_string(file).unwrap();
    let modes = text.lines().filter_map(|line| line.strip_prefix("mode ")?.split(' ').next());
    let (mut figures, mut solved, mut unsolved) = (0, 0, 0);
    for mode in modes {
        let what = format!("{} {mode}", file.file_name().unwrap().to_string_lossy());
        let (told, netlist) = studied(file, mode, folder);
        let Some(netlist) = netlist else {
            assert!(told.is_null(), "{what} has no netlist");
            unsolved += 1;
            continue;
        };
        let simulated = simulate(&netlist, folder);
        figures += compared(&told, &netlist, &simulated, &what).1;
        solved += 1;
    }
    (figures, solved, unsolved)
}

#[test]
fn every_mode_of_every_sample() {
    if !present() {
        return;
    }
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let folder = tempfile::tempdir().unwrap();
    let mut all: Vec<PathBuf> = Vec::new();
    for one in [samples.clone(), samples.join("house")] {
        all.extend(std::fs::read_dir(one).unwrap().map(|entry| entry.unwrap().path()));
    }
    all.retain(|path| path.extension().is_some_and(|one| one == "loom"));
    all.sort();
    let mut modes = 0;
    for path in all {
        let (_, solved, unsolved) = whole(&path, folder.path());
        assert_eq!(unsolved, 0, "{}", path.display());
        modes += solved;
    }
    assert!(25 < modes, "{modes} modes");
}

#[test]
fn every_mode_of_made_designs() {
    if !present() {
        return;
    }
    let share = |from: u64| {
        let folder = tempfile::tempdir().unwrap();
        let mut sums = (0, 0, 0);
        for number in (from..DESIGNS).step_by(2) {
            let file = folder.path().join(format!("made{number}.loom"));
            std::fs::write(&file, generate::design(number)).unwrap();
            let (figures, solved, unsolved) = whole(&file, folder.path());
            sums = (sums.0 + figures, sums.1 + solved, sums.2 + unsolved);
        }
        sums
    };
    let (one, two) = std::thread::scope(|scope| {
        let other = scope.spawn(|| share(1));
        (share(0), other.join().unwrap())
    });
    let (figures, solved, unsolved) = (one.0 + two.0, one.1 + two.1, one.2 + two.2);
    println!("{figures} figures of {solved} modes, {unsolved} modes without a solution");
    assert!(DESIGNS as usize * 2 < solved, "{solved} modes have a solution, {unsolved} have none");
}
