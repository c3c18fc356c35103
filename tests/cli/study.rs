//! `ohmward study`: what it tells, in which form, with which exit code.

use std::fs;

use super::{ADRIFT, Bench, WAGTAIL};

/// A load that no voltage can feed.
const STRANDED: &str = r#"design stranded "Invented: a heater at the end of a bell wire"
battery house agm 12 V 100 Ah fault 2 kA full 14.7 V
load    heater 12 V 900 W
wire W1 from house.+ to heater.+ 1 mm2 20 m red
wire W2 from heater.- to house.- 1 mm2 20 m black
mode idle "nothing on" {
  house 12.5 V
}
mode heating "the heater is on" {
  house  12.5 V
  heater on
}
"#;

/// An inverter beside a display's data lead.
const LEAD: &str = r#"design lead "Invented: a data lead beside an inverter's return"
assume insulation 105 C
battery  B agm 12 V 300 Ah fault 4 kA full 14.7 V
inverter wave 12 V 1.5 kW efficiency 90 %
load     lamp 12 V 36 W
meter    tally 300 A 50 mV counts B
bar      minus M8 x 4 200 A
wire W1 from B.+ to wave.+ 70 mm2 1 m red
wire W2 from B.+ to lamp.+ 2.5 mm2 1 m red
wire W3 from wave.- to minus 70 mm2 1 m black
wire W4 from minus to tally.sys 70 mm2 1 m black
wire W5 from tally.bat to B.- 70 mm2 1 m black
wire W6 from lamp.- to minus 2.5 mm2 1 m black
data D1 from wave.data to tally.data 3 m
mode kettle "a kettle on the inverter" {
  B    12.5 V
  wave 1.5 kW
  lamp on
}
mode dark {
  B 12.5 V
}
"#;

fn bench() -> Bench {
    Bench::new(&[
        ("wagtail.loom", WAGTAIL.as_bytes()),
        ("stranded.loom", STRANDED.as_bytes()),
        ("lead.loom", LEAD.as_bytes()),
        ("broken.loom", ADRIFT.replace("120 W", "120 Wat").as_bytes()),
        ("parts.loom", b"library parts \"Invented\"\npart lamp-12 is load 12 V 36 W\n"),
    ])
}

#[test]
fn the_tables_as_a_person_reads_them() {
    let ran = bench().run(&["study", "wagtail.loom"]).ends(0);
    assert_eq!(ran.err, "");
    insta::assert_snapshot!("study_tables", ran.out);
}

#[test]
fn the_failures_as_a_person_reads_them() {
    let ran = bench().run(&["study", "lead.loom", "--failures"]).ends(0);
    assert_eq!(ran.err, "");
    insta::assert_snapshot!("study_failures", ran.out);
}

#[test]
fn the_failures_as_json() {
    let ran = bench().run(&["study", "lead.loom", "--failures", "--as", "json"]).ends(0);
    let json = ran.json();
    let names: Vec<&str> = json["failures"].as_object().unwrap().keys().map(String::as_str).collect();
    assert_eq!(names, ["W3", "W4", "W5", "W6"]);
    let kettle = &json["failures"]["W3"]["kettle"];
    assert_eq!(kettle["home_by"]["loads"], serde_json::json!(["wave"]));
    let amps = kettle["home_by"]["conductors"]["D1"].as_f64().unwrap();
    assert!((amps - 21.1).abs() < 0.1, "{amps}");
    assert_eq!(kettle["overloaded"]["D1"]["amps"].as_f64(), Some(amps));
    assert!(kettle["overloaded"]["D1"]["ampacity_a"].as_f64().unwrap() < 3.0);
    assert_eq!(kettle["as_resistance"], serde_json::json!(["wave"]));
    let tally = &kettle["meters"]["tally"];
    assert!((tally["reads_a"].as_f64().unwrap() + 2.9).abs() < 0.2, "the lamp alone: {tally}");
    assert!((tally["true_a"].as_f64().unwrap() + 24.0).abs() < 0.3, "{tally}");
    assert_eq!(json["failures"]["W6"]["kettle"]["stops"], serde_json::json!(["lamp"]));
    assert_eq!(json["failures"]["W6"]["dark"], serde_json::Value::Null, "nothing is on, and nothing follows");
    assert_eq!(json["unopened"], serde_json::json!([]));
    // Only where they are asked for.
    let without = bench().run(&["study", "lead.loom", "--as", "json"]).ends(0).json();
    assert_eq!(
        (&without["failures"], &without["unopened"]),
        (&serde_json::Value::Null, &serde_json::Value::Null)
    );
    // And only in the mode that is asked for.
    let dark =
        bench().run(&["study", "lead.loom", "--failures", "--mode", "dark", "--as", "json"]).ends(0).json();
    assert_eq!(dark["failures"]["W3"], serde_json::json!({}));
}

#[test]
fn the_keys_of_the_document() {
    let json = bench().run(&["study", "wagtail.loom", "--as", "json"]).ends(0).json();
    let keys = |value: &serde_json::Value| -> Vec<String> {
        let mut keys: Vec<String> = value.as_object().unwrap().keys().map(String::to_owned).collect();
        keys.sort();
        keys
    };
    assert_eq!(keys(&json), ["book", "conditions", "design", "faults", "file", "modes", "schema", "tool"]);
    assert_eq!(json["schema"], 1);
    assert_eq!((&json["file"], &json["design"]), (&"wagtail.loom".into(), &"wagtail".into()));
    assert_eq!(keys(&json["modes"]), ["driving", "parked"]);
    let driving = &json["modes"]["driving"];
    assert_eq!(keys(driving), ["devices", "meters", "nodes", "wires"]);
    assert!((driving["nodes"]["house.+"].as_f64().unwrap() - 13.37).abs() < 0.1);
    assert_eq!(keys(&driving["wires"]["W5"]), ["amps", "drop_v"]);
    assert!((driving["wires"]["W5"]["amps"].as_f64().unwrap() - 25.0).abs() < 1e-6);
    assert!((driving["meters"]["tally"]["reads_a"].as_f64().unwrap() - 25.0).abs() < 1e-6);
    assert_eq!(keys(&driving["devices"]["booster"]), ["in", "out"]);
    assert_eq!(keys(&driving["devices"]["F1"]), ["amps", "watts"]);
    // Taken is positive: the battery that charges takes, the one that feeds gives.
    assert!(driving["devices"]["house"]["watts"].as_f64().unwrap() > 0.0);
    assert!(driving["devices"]["crank"]["watts"].as_f64().unwrap() < 0.0);
    assert_eq!(keys(&json["faults"]["F4.load"]), ["largest_a", "opens_s", "smallest_a"]);
}

#[test]
fn one_mode_and_a_mode_that_is_not_there() {
    let bench = bench();
    let ran = bench.run(&["study", "wagtail.loom", "--mode", "parked"]).ends(0);
    assert!(ran.out.contains("mode parked") && !ran.out.contains("driving"), "{}", ran.out);
    assert!(!ran.out.contains("bolted fault"), "{}", ran.out);
    let ran = bench.run(&["study", "wagtail.loom", "--mode", "drivin"]).ends(2);
    assert_eq!(
        (ran.out.as_str(), ran.err.as_str()),
        ("", "error: there is no mode drivin; the nearest is driving\n")
    );
    let ran = bench.run(&["study", "wagtail.loom", "--mode", "zzz"]).ends(2);
    assert_eq!(ran.err, "error: there is no mode zzz; there are driving, parked\n");
}

#[test]
fn a_fault_at_a_terminal() {
    let bench = bench();
    let ran = bench.run(&["study", "wagtail.loom", "--fault", "F4.load", "--fault", "plus-bar.3"]).ends(0);
    assert!(!ran.out.contains("mode "), "{}", ran.out);
    let rows: Vec<&str> = ran.out.lines().filter(|line| line.starts_with("  ")).skip(1).collect();
    assert!(rows[0].starts_with("  F4.load") && rows[1].starts_with("  plus-bar"), "{rows:?}");
    let ran = bench.run(&["study", "wagtail.loom", "--fault", "minus-bar"]).ends(0);
    assert!(ran.out.contains("no source's positive reaches it"), "{}", ran.out);
    let ran = bench.run(&["study", "wagtail.loom", "--fault", "F4.lod"]).ends(2);
    assert_eq!(ran.err, "error: there is no terminal F4.lod; the nearest is F4.load\n");
    let json = bench.run(&["study", "wagtail.loom", "--fault", "house.+", "--as", "json"]).ends(0).json();
    // The declared fault at the battery's own poles, with what the charger adds.
    let largest = json["faults"]["house.+"]["largest_a"].as_f64().unwrap();
    assert!((5000.0..5030.0).contains(&largest), "{largest}");
}

#[test]
fn cold_conductors_drop_less() {
    let bench = bench();
    let drop = |arguments: &[&str]| {
        let all = [&["study", "wagtail.loom", "--mode", "driving", "--as", "json"], arguments].concat();
        bench.run(&all).ends(0).json()["modes"]["driving"]["wires"]["W5"]["drop_v"].as_f64().unwrap()
    };
    let (usual, hot, cold) = (drop(&[]), drop(&["--hot"]), drop(&["--cold"]));
    assert_eq!(usual, hot);
    // 0.8 m of 10 mm2 at 20 C, 1.91 ohm/km (IEC 60228), without contacts, at 25 A.
    assert!((cold - 25.0 * 0.8 * 1.91e-3).abs() < 1e-9, "{cold}");
    assert!((hot - 25.0 * (0.8 * 1.91e-3 * (1.0 + 0.00393 * 50.0) + 2e-4)).abs() < 1e-9, "{hot}");
    bench.run(&["study", "wagtail.loom", "--hot", "--cold"]).ends(2);
}

#[test]
fn a_netlist_to_a_file_and_to_standard_output() {
    let bench = bench();
    let ran = bench.run(&["study", "wagtail.loom", "--spice", "-"]).ends(2);
    assert_eq!(ran.err, "error: a netlist is of one mode: say which by --mode: driving, parked\n");
    let out = bench.run(&["study", "wagtail.loom", "--mode", "parked", "--spice", "-"]).ends(0).out;
    assert!(out.starts_with("* wagtail") && out.contains("mode parked"), "{out}");
    assert!(!out.contains("conductors at"), "the netlist alone:\n{out}");
    let ran = bench.run(&["study", "wagtail.loom", "--mode", "parked", "--spice", "net.cir"]).ends(0);
    assert!(ran.out.contains("mode parked: ") || ran.out.contains("mode parked\n"), "{}", ran.out);
    assert_eq!(fs::read_to_string(bench.path("net.cir")).unwrap(), out);
    let ran = bench.run(&["study", "stranded.loom", "--mode", "heating", "--spice", "-"]).ends(2);
    assert_eq!(ran.err, "error: mode heating has no solution, and so no netlist\n");
}

#[test]
fn output_goes_to_a_file_whole() {
    let bench = bench();
    let ran = bench.run(&["study", "wagtail.loom", "--mode", "parked", "-o", "told.txt"]).ends(0);
    assert_eq!(ran.out, "");
    let told = bench.run(&["study", "wagtail.loom", "--mode", "parked"]).ends(0).out;
    assert_eq!(fs::read_to_string(bench.path("told.txt")).unwrap(), told);
    let ran = bench.run(&["study", "wagtail.loom", "-o", "none/told.txt"]).ends(2);
    assert!(ran.err.starts_with("error: ") && ran.err.contains("none/told.txt"), "{}", ran.err);
}

#[test]
fn a_mode_without_a_solution_ends_with_1_and_the_others_are_told() {
    let ran = bench().run(&["study", "stranded.loom"]).ends(1);
    assert!(ran.out.contains("no solution: heater takes more than"), "{}", ran.out);
    assert!(ran.out.contains("mode idle: nothing on"), "{}", ran.out);
    let json = bench().run(&["study", "stranded.loom", "--as", "json"]).ends(1).json();
    assert_eq!(json["modes"]["heating"]["unsolved"]["element"], "heater");
    assert_eq!(json["modes"]["idle"].get("unsolved"), None);
    let ran = bench().run(&["study", "stranded.loom", "--failures"]).ends(1);
    assert!(ran.out.contains("mode heating has no solution, and nothing is opened in it"), "{}", ran.out);
}

#[test]
fn what_cannot_be_studied_ends_with_2() {
    let bench = bench();
    let ran = bench.run(&["study", "nowhere.loom"]).ends(2);
    assert!(ran.out.contains("nowhere.loom") && ran.out.contains("there is no such file"), "{ran:?}");
    let ran = bench.run(&["study", "parts.loom"]).ends(2);
    assert!(ran.out.contains("it is a library: it has no circuit to study"), "{ran:?}");
    let ran = bench.run(&["study", "broken.loom"]).ends(2);
    assert!(ran.out.contains("language.") && ran.out.contains("broken.loom:3"), "{ran:?}");
    let json = bench.run(&["study", "broken.loom", "--as", "json"]).ends(2).json();
    assert_eq!(json["designs"][0]["findings"][0]["severity"], "error");
    bench.run(&["study"]).ends(2);
    bench.run(&["study", "wagtail.loom", "--as", "tables"]).ends(2);
}

#[test]
fn a_design_from_standard_input() {
    let ran = bench().run_with(&["study", "-", "--mode", "parked"], WAGTAIL.as_bytes()).ends(0);
    assert!(ran.out.starts_with("wagtail: Mobile library"), "{}", ran.out);
}
