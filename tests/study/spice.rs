//! The study against another solver: a netlist written by hand, simulated by ngspice, and compared with the JSON.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

use serde_json::Value;

/// Agreement that is asked for, relative.
const RELATIVE: f64 = 1e-6;
/// Volts and amperes below which the agreement is absolute.
const LEAST_VOLTS: f64 = 1e-2;
const LEAST_AMPS: f64 = 1e-1;

/// Whether the simulator is there; where it must be, its absence fails.
fn present() -> bool {
    let found = Command::new("ngspice").arg("--version").output().is_ok_and(|output| output.status.success());
    let must_run = std::env::var("CI").is_ok_and(|ci| ci == "true");
    assert!(found || !must_run, "ngspice is needed");
    if !found {
        println!("skipped: ngspice is not installed");
    }
    found
}

/// What the simulator finds: volts by node and amperes by element, names in small letters.
struct Simulated {
    volts: HashMap<String, f64>,
    amps: HashMap<String, f64>,
}

/// Simulates a netlist as it is, and asks for the current of each resistance.
fn simulate(netlist: &str, folder: &Path) -> Simulated {
    let resistances = netlist.lines().filter(|line| line.starts_with('R'));
    let mut control = ".control\nset numdgt=12\nop\nprint all\n".to_owned();
    for name in resistances.filter_map(|line| line.split(' ').next()) {
        writeln!(control, "print @{}[i]", name.to_lowercase()).unwrap();
    }
    let text = netlist.replace(".end\n", &format!("{control}quit\n.endc\n.end\n"));
    let path = folder.join("it.cir");
    fs::write(&path, text).unwrap();
    let output = Command::new("ngspice").arg("-b").arg(&path).output().unwrap();
    let told = String::from_utf8_lossy(&output.stdout);
    let (mut volts, mut amps) = (HashMap::from([("0".to_owned(), 0.0)]), HashMap::new());
    for (name, value) in told.lines().filter_map(|line| line.split_once(" = ")) {
        let Ok(value) = value.trim().parse::<f64>() else { continue };
        let name = name.trim();
        if let Some(node) = name.strip_prefix("v(").and_then(|name| name.strip_suffix(')')) {
            volts.insert(node.to_owned(), value);
        } else if let Some(element) = name.strip_suffix("#branch") {
            amps.insert(element.to_owned(), value);
        } else if let Some(element) = name.strip_prefix('@').and_then(|name| name.strip_suffix("[i]")) {
            amps.insert(element.to_owned(), value);
        } else {
            volts.insert(name.to_owned(), value);
        }
    }
    assert!(1 < volts.len(), "{told}\n{}\n{netlist}", String::from_utf8_lossy(&output.stderr));
    Simulated { volts, amps }
}

fn agree(found: f64, simulated: f64, least: f64, what: &str) {
    let slack = RELATIVE * simulated.abs().max(found.abs()).max(least);
    assert!((found - simulated).abs() <= slack, "{what}: {found}, simulated {simulated}");
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
