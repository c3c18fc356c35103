//! The claim of the two-charger samples through the real command: the meter shows the sum of both outputs, the check
//! proves it, and a charger on the wrong side of the meter is caught by the rule and by the figure.

use std::fs;
use std::path::Path;

use super::{Bench, Ran};

fn sample(name: &str) -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(name)).unwrap()
}

fn check(name: &str, text: &str) -> Ran {
    let bench = Bench::new(&[(name, text.as_bytes()), ("parts.loom", sample("parts.loom").as_bytes())]);
    bench.run(&["check", name, "--as", "json", "--today", "2026-06-01"])
}

fn study(name: &str, text: &str, mode: &str) -> serde_json::Value {
    let bench = Bench::new(&[(name, text.as_bytes()), ("parts.loom", sample("parts.loom").as_bytes())]);
    let json = bench.run(&["study", name, "--as", "json"]).ends(0).json();
    json["modes"][mode].clone()
}

/// Findings as `rule subject`, in order of rule.
fn found(ran: &Ran) -> Vec<String> {
    let json = ran.json();
    let findings = json["designs"][0]["findings"].as_array().unwrap();
    let text = |row: &serde_json::Value, key: &str| row[key].as_str().unwrap_or("").to_owned();
    let mut rows: Vec<String> =
        findings.iter().map(|row| format!("{} {}", text(row, "rule"), text(row, "subject"))).collect();
    rows.sort();
    rows
}

/// What `expect` gives, where it fails: computed and claimed.
fn failed(ran: &Ran) -> Vec<(f64, f64)> {
    let json = ran.json();
    let findings = json["designs"][0]["findings"].as_array().unwrap().clone();
    let own = findings.into_iter().filter(|row| row["rule"] == "expect.failed");
    own.map(|row| {
        (row["values"]["computed_a"].as_f64().unwrap(), row["values"]["claimed_a"].as_f64().unwrap())
    })
    .collect()
}

/// The text with one piece replaced, which has to be there.
#[track_caller]
fn with(text: &str, from: &str, to: &str) -> String {
    assert_eq!(text.matches(from).count(), 1, "{from}");
    text.replace(from, to)
}

#[test]
fn the_meter_reads_both_chargers_and_the_check_proves_it() {
    for (name, each) in [("osprey.loom", 20.0), ("travelling-clinic.loom", 15.0)] {
        let text = sample(name);
        let said = |line: &str| line.split_whitespace().collect::<Vec<_>>().join(" ");
        let claim = format!("expect gain reads {} A within 0.5 A in driving", 2.0 * each);
        let claim =
            text.lines().find(|line| said(line) == claim).unwrap_or_else(|| panic!("{name} claims it"));
        let ran = check(name, &text).ends(0);
        assert_eq!(found(&ran), Vec::<String>::new(), "{name}");
        let driving = study(name, &text, "driving");
        let amps = |what: &str| driving["devices"][what]["out"]["amps"].as_f64().unwrap();
        let (left, right) = (amps("left/unit"), amps("right/unit"));
        let gain = driving["meters"]["gain"]["reads_a"].as_f64().unwrap();
        // A charger's output enters at its first terminal: what it gives is negative.
        assert!((left + each).abs() < 1e-6 && (right + each).abs() < 1e-6, "{name}: {left} {right}");
        assert!((gain + left + right).abs() < 1e-6, "{name}: {gain}");
        // The claim is judged, not passed over: another one fails.
        let other = format!("expect gain reads {each} A within 0.5 A in driving");
        let ran = check(name, &with(&text, claim, &other)).ends(1);
        let [(reads, claimed)] = failed(&ran)[..] else { panic!("{name}: {:?}", found(&ran)) };
        assert!((reads - gain).abs() < 1e-9 && claimed == each, "{name}: {reads} {claimed}");
    }
}

#[test]
fn a_charger_that_returns_beside_the_group_meter_is_caught_twice() {
    let text = sample("osprey.loom");
    let wrong = with(
        &text,
        "as right (start-plus = start-b.+, start-minus = start-a.-, plus = charge-bar, group = group-bar.1",
        "as right (start-plus = start-b.+, start-minus = start-a.-, plus = charge-bar, group = minus-24",
    );
    let wrong = with(&wrong, "stack group-bar.1 G1 left/fall right/fall", "stack group-bar.1 G1 left/fall");
    let ran = check("osprey.loom", &wrong).ends(1);
    let rows = found(&ran);
    assert_eq!(rows.iter().filter(|row| row.starts_with("meter.uncounted ")).count(), 1, "{rows:?}");
    let [(reads, expected)] = failed(&ran)[..] else { panic!("{rows:?}") };
    assert!((reads - 20.0).abs() < 0.1 && expected == 40.0, "{reads} {expected}");
    assert_eq!(rows.len(), 2, "the battery's meter still reads what it claims: {rows:?}");
}

#[test]
fn a_charger_that_returns_on_the_battery_side_of_its_meter_is_caught_twice() {
    let text = sample("osprey.loom");
    let wrong = with(&text, "wire C2 from shore.out- to minus-24", "wire C2 from shore.out- to house-b.-");
    let ran = check("osprey.loom", &wrong).ends(1);
    let rows = found(&ran);
    assert!(rows.contains(&"meter.uncounted shore".to_owned()), "{rows:?}");
    // On shore power the meter misses the 30 A of the charger and shows the loads alone.
    let [(reads, expected)] = failed(&ran)[..] else { panic!("{rows:?}") };
    assert!((reads + 9.0).abs() < 0.1 && expected == 21.0, "{reads} {expected}");
}
