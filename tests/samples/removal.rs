//! A protective device that is left out of a right design is missed by the check.

use std::collections::BTreeSet;

use ohmward::findings::Severity;

use super::text::{fits_of, lines_with_kits, replace_word};
use super::{Shelf, standing, told};

/// Devices without which something else still protects the wires, and what that is.
const STILL_PROTECTED: &[(&str, &str, &str)] = &[
    ("samples/cabin-trailer.loom", "table/F", "the converter gives at most the 60 A that 6 mm2 bears"),
    ("samples/travelling-clinic.loom", "ceiling/F", "the converter gives at most the 60 A that 6 mm2 bears"),
];

/// Where a device is declared: the file, and the kit around it.
struct Device {
    file: String,
    kit: Option<String>,
    name: String,
}

fn devices(shelf: &Shelf, path: &str) -> Vec<Device> {
    let mut found = Vec::new();
    for file in [path, "samples/parts.loom"] {
        for (kit, line) in lines_with_kits(shelf.text(file)) {
            let mut words = line.split_whitespace();
            let protective = matches!(words.next(), Some("fuse" | "breaker"));
            if let (true, Some(name)) = (protective, words.next()) {
                found.push(Device { file: file.into(), kit: kit.map(Into::into), name: name.into() });
            }
        }
    }
    found
}

/// The file with a stud in place of the device: its two sides are then one piece of metal.
fn without(text: &str, device: &Device) -> String {
    let mut made = String::new();
    for (kit, line) in lines_with_kits(text) {
        let line = line.to_owned() + "\n";
        if kit != device.kit.as_deref() {
            made += &line;
            continue;
        }
        let words: Vec<_> = line.split_whitespace().collect();
        if matches!(words.as_slice(), ["fuse" | "breaker", name, ..] if *name == device.name) {
            made += &format!("post {}\n", device.name);
            if let Some(at) = words.iter().position(|word| *word == "on") {
                made +=
                    &format!("bolt {} to {}\n", device.name, words.get(at + 1).expect("the node after `on`"));
            }
            continue;
        }
        let line = replace_word(&line, &format!("{}.line", device.name), &device.name);
        made += &replace_word(&line, &format!("{}.load", device.name), &device.name);
    }
    made
}

#[test]
fn a_device_left_out_is_missed() {
    let shelf = Shelf::read();
    let mut wrong = String::new();
    let mut n_devices = 0;
    for (path, text) in shelf.designs("samples") {
        let evidence = shelf.check(path, true).wires.expect("the evidence of every wire");
        for device in devices(&shelf, path) {
            let fits = device.kit.as_deref().map_or_else(|| vec![""], |kit| fits_of(text, kit));
            if fits.is_empty() {
                continue;
            }
            let changed = without(shelf.text(&device.file), &device);
            let judgement = shelf.with([(device.file.clone(), changed.clone())]).check(path, false);
            for fit in fits {
                n_devices += 1;
                let prefix = if fit.is_empty() { String::new() } else { format!("{fit}/") };
                let name = format!("{prefix}{}", device.name);
                let mut protected: BTreeSet<String> = BTreeSet::new();
                let behind = evidence.iter().filter(|wire| wire.protected_by.contains(&name));
                protected.extend(behind.map(|wire| wire.name.clone()));
                // The leads at the device itself: an unprotected stretch names no device in its evidence.
                for (kit, line) in lines_with_kits(&changed) {
                    let words: Vec<_> = line.split_whitespace().collect();
                    if let ["wire", wire, "from", from, "to", to, ..] = words.as_slice()
                        && kit == device.kit.as_deref()
                        && [from, to].contains(&&device.name.as_str())
                    {
                        protected.insert(format!("{prefix}{wire}"));
                    }
                }
                let errors: Vec<_> =
                    standing(&judgement).filter(|row| row.severity == Severity::Error).collect();
                let missed = errors
                    .iter()
                    .any(|row| row.rule.starts_with("protection.") && protected.contains(&row.subject));
                let excused = STILL_PROTECTED.iter().any(|row| row.0 == path && row.1 == name);
                if missed == excused {
                    wrong += &format!("{path} without {name}: protected {protected:?}\n{}\n", told(&errors));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(n_devices >= 57, "{n_devices} devices");
}
