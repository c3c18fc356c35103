//! What was measured against what the model allows, and what would explain it.

use ohmward::findings::{Finding, Value};

use super::{found, own};

/// A pump of 8 A on 4 mm²: 29.8 mohm a wire of 5 m at 70 °C with its ends, 0.239 V. The rest follows.
fn pump(load: &str, readings: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 100 Ah resistance 10 mohm full 14.4 V\nload pump 12 V {load}\n\
         fuse F 15 A\nmeter tally 100 A 50 mV counts B\nwire W1 from B.+ to F.line 4 mm2 0.15 m\nwire W2 from F.load to pump.+ 4 mm2 5 m\n\
         wire W3 from pump.- to tally.sys 4 mm2 5 m\nwire W4 from tally.bat to B.- 4 mm2 0.2 m\n\
         mode pumping {{\n  B 12.6 V\n  pump on\n}}\nmode idle {{\n  B 12.6 V\n}}\n{readings}\n"
    )
}

fn reading(what: &str) -> String {
    format!("reading {what} in pumping on 2026-05-04\n")
}

fn one(text: &str) -> Finding {
    let mut all = own("reading.differs", text);
    assert_eq!(all.len(), 1, "{all:?}\n{text}");
    all.remove(0)
}

fn number(finding: &Finding, key: &str) -> f64 {
    match finding.values.get(key) {
        Some(Value::Number(value)) => *value,
        other => unreachable!("{key}: {other:?}"),
    }
}

fn suspects(finding: &Finding) -> Vec<String> {
    match finding.values.get("suspects") {
        Some(Value::Texts(names)) => names.clone(),
        _ => Vec::new(),
    }
}

fn differs(what: &str) -> bool {
    !found("reading.differs", &pump("8 A", &reading(what))).is_empty()
}

#[test]
fn a_drop_may_lie_between_cold_and_hot_and_a_tenth_beyond() {
    // 70 °C with joints: 4.95 × 1.1965 × 5 = 29.61 + 0.2 mohm, 0.2385 V; 10 % more is 0.0239 V.
    let hot = 8.0 * (4.95e-3 * 1.1965 * 5.0 + 2e-4);
    // −10 °C without: 4.95 × 0.8821 × 5 = 21.83 mohm, 0.1747 V.
    let cold = 8.0 * 4.95e-3 * (1.0 - 0.003_93 * 30.0) * 5.0;
    let at = |volts: f64| differs(&format!("F.load to pump.+ {volts:.6} V"));
    assert!(!at(hot * 1.1 - 1e-6) && at(hot * 1.1 + 1e-6));
    assert!(!at(cold - hot * 0.1 + 1e-6) && at(cold - hot * 0.1 - 1e-6));
    // Written without a sign, a drop counts by its size; with one it is held to its way.
    assert!(!differs("pump.+ to F.load 0.23 V"));
    assert!(!differs("pump.+ to F.load -0.23 V"));
    assert!(differs("F.load to pump.+ -0.23 V"));
}

#[test]
fn a_fuse_loses_a_little_inside() {
    // 100 mV at 15 A: 53 mV at 8 A, and 20 mV of the instrument.
    assert!(!differs("F.line to F.load 0 V") && !differs("F.line to F.load 0.07 V"));
    assert!(differs("F.line to F.load 0.08 V"));
}

#[test]
fn voltages_and_meters() {
    assert!(
        !differs("tally -8 A") && !differs("tally -8.7 A") && differs("tally -9 A") && differs("tally 8 A")
    );
    // pump.+ is against B.-: 12.6 less 80 mV inside, 0.009 V and 0.239 V: 12.27 V.
    assert!(!differs("pump.+ 12.3 V") && !differs("pump.+ 12.2 V"));
    assert!(differs("pump.+ 11.9 V") && differs("pump.+ 12.6 V"));
    // Nothing flows, so nothing is lost.
    let idle = |volts: &str| {
        found(
            "reading.differs",
            &pump("8 A", &format!("reading F.load to pump.+ {volts} in idle on 2026-05-04\n")),
        )
    };
    assert!(idle("0.01 V").is_empty());
    assert_eq!(idle("0.2 V"), ["warning line:18"]);
}

/// The resistance that is told gives the reading: by hand, at a constant current, and put into the design.
#[test]
fn the_resistance_that_explains_it() {
    let finding = one(&pump("8 A", &reading("F.load to pump.+ 0.6 V")));
    assert_eq!(suspects(&finding), ["W2"]);
    let more = 0.6 / 8.0 - (4.95e-3 * 1.1965 * 5.0 + 2e-4);
    assert!((number(&finding, "extra_mohm") - more * 1e3).abs() < 0.1, "{}", finding.help);
    assert!((number(&finding, "heat_w") - 64.0 * more).abs() < 0.02, "{}", finding.help);
    // A pump of constant power takes more as its voltage falls.
    let finding = one(&pump("96 W", &reading("F.load to pump.+ 0.6 V")));
    let more = number(&finding, "extra_mohm") * 1e-3;
    let length = 5.0 + more / (4.95e-3 * 1.1965);
    let mended = pump("96 W", &reading("F.load to pump.+ 0.6 V"))
        .replace("pump.+ 4 mm2 5 m", &format!("pump.+ 4 mm2 {length:.6} m"));
    assert!(found("reading.differs", &mended).is_empty(), "{length} m");
}

#[test]
fn a_reading_that_is_right_rules_places_out() {
    let far = reading("B.+ to pump.+ 0.7 V");
    let finding = one(&pump("8 A", &far));
    assert_eq!(suspects(&finding), ["W1", "F", "W2"], "all carry the same current");
    let near = reading("F.load to pump.+ 0.23 V");
    assert_eq!(suspects(&one(&pump("8 A", &format!("{far}{near}")))), ["W1", "F"]);
    // A third reading leaves the fuse alone; two that are wrong by the same cause name it both.
    let start = reading("B.+ to F.line 0.01 V");
    assert_eq!(suspects(&one(&pump("8 A", &format!("{far}{near}{start}")))), ["F"]);
    let both = own("reading.differs", &pump("8 A", &format!("{far}{near}{}", reading("pump.+ 11.8 V"))));
    assert_eq!(both.len(), 2);
    for finding in both {
        assert!(finding.help.contains("explain one more reading"), "{}", finding.help);
    }
}

#[test]
fn what_no_resistance_explains_says_so() {
    // Less lost than cold copper loses.
    let finding = one(&pump("8 A", &reading("F.load to pump.+ 0.05 V")));
    assert!(finding.help.starts_with("no single extra resistance explains it: compare"), "{}", finding.help);
    assert!(suspects(&finding).is_empty());
    // More current than the pump takes.
    let finding = one(&pump("8 A", &reading("tally -12 A")));
    assert!(finding.help.starts_with("no single extra resistance"), "{}", finding.help);
    // A load of constant resistance takes less through a bad joint, wherever it is in the circuit.
    let finding = one(&pump("1.5 ohm", &reading("tally -6 A")));
    let names = suspects(&finding);
    for name in ["W1", "W2", "W3", "W4", "F", "tally"] {
        assert!(names.iter().any(|one| one == name), "{name}: {names:?}");
    }
}

/// Wires side by side are all looked at.
#[test]
fn two_ways_side_by_side() {
    let text = pump("8 A", &reading("F.load to pump.+ 0.4 V")) + "wire W5 from F.load to pump.+ 4 mm2 5 m\n";
    // With one of the two gone for good there would be 0.24 V: no resistance in one of them makes 0.4 V.
    let finding = one(&text);
    assert!(suspects(&finding).is_empty(), "{}", finding.help);
    let text = pump("8 A", &reading("F.load to pump.+ 0.2 V")) + "wire W5 from F.load to pump.+ 4 mm2 5 m\n";
    assert_eq!(suspects(&one(&text)), ["W2", "W5"]);
}

#[test]
fn a_mode_without_a_solution_has_no_readings() {
    let text = pump("8 A", &reading("F.load to pump.+ 0.9 V")).replace("pump on", "pump 5000 W");
    assert!(found("reading.differs", &text).is_empty());
    assert_eq!(found("mode.unsolved", &text), ["error pumping"]);
}

/// Limits of a reading are the book's, and can be set.
#[test]
fn a_tolerance_that_the_design_sets() {
    let text = pump("8 A", &reading("F.load to pump.+ 0.3 V"));
    assert_eq!(found("reading.differs", &text).len(), 1);
    let wide = format!("{text}limit reading.share 30 % because \"a clamp meter\"\n");
    assert!(found("reading.differs", &wide).is_empty());
}
