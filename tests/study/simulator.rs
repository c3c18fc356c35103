//! The outside simulator: ngspice.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

/// Whether the simulator is there; where it must be, its absence fails.
pub(super) fn present() -> bool {
    let found = Command::new("ngspice").arg("--version").output().is_ok_and(|output| output.status.success());
    let must_run = std::env::var("CI").is_ok_and(|ci| ci == "true");
    assert!(found || !must_run, "ngspice is needed");
    if !found {
        println!("skipped: ngspice is not installed");
    }
    found
}

/// What the simulator finds: volts by node and amperes by element, names in small letters.
pub(super) struct Simulated {
    pub(super) volts: HashMap<String, f64>,
    pub(super) amps: HashMap<String, f64>,
}

/// Simulates a netlist as it is, and asks for the current of each resistance.
pub(super) fn simulate(netlist: &str, folder: &Path) -> Simulated {
    let resistances = netlist.lines().filter(|line| line.starts_with('R'));
    let mut control = ".control\nset numdgt=12\nop\nprint all\n".to_owned();
    for name in resistances.filter_map(|line| line.split(' ').next()) {
        writeln!(control, "print @{}[i]", name.to_lowercase()).unwrap();
    }
    let text = netlist.replace(".end\n", &format!("{control}quit\n.endc\n.end\n"));
    let path = folder.join("simulated.cir");
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
    let failed = String::from_utf8_lossy(&output.stderr);
    assert!(1 < volts.len(), "{told}\n{failed}\n{netlist}");
    Simulated { volts, amps }
}
