//! What is lost on the way: loads, chargers, and settings that take a drop for an engine that is off.

use ohmward::findings::{Finding, Value};

use super::{found, own, told};

/// 2.5 mm² class 5 at 70 °C: 7.98 ohm/km at 20 °C (IEC 60228), 0.00393 a kelvin (IEC 60028). Two ends of 0.1 mohm a wire.
fn ohms_of_2_5(metres: f64) -> f64 {
    7.98e-3 * (1.0 + 0.003_93 * 50.0) * metres + 2e-4
}

/// A lamp of so many amperes on 2.5 mm², behind a fuse.
fn lamp(metres: f64, amps: f64, more: &str, rest: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 100 Ah fault 2 kA\nload lamp 12 V {amps} A {more}\nfuse F 25 A\n\
         wire W1 from B.+ to F.line 2.5 mm2 0.1 m\nwire W2 from F.load to lamp.+ 2.5 mm2 {metres} m\n\
         wire W3 from lamp.- to B.- 2.5 mm2 {metres} m\n{rest}\n"
    )
}

fn one(rule: &str, text: &str) -> Finding {
    let mut all = own(rule, text);
    assert_eq!(all.len(), 1, "{all:?}\n{text}");
    all.remove(0)
}

fn number(finding: &Finding, key: &str) -> f64 {
    match finding.values.get(key) {
        Some(Value::Number(value)) => *value,
        other => unreachable!("{key}: {other:?}"),
    }
}

/// Volts of a figure: `0.5 V`, `50 mV`.
fn volts(text: &str) -> f64 {
    let (value, unit) = text.split_once(' ').expect("a unit");
    value.parse::<f64>().expect("a number") * if unit == "mV" { 1e-3 } else { 1.0 }
}

/// What the parts of a finding add up to.
fn parts(finding: &Finding) -> f64 {
    let parts = finding.figures.iter().filter(|row| row.meaning.starts_with("lost in"));
    parts.map(|row| volts(&row.value)).sum()
}

#[test]
fn a_drop_at_its_limit_is_allowed() {
    // Two wires of 8 m, one of 0.1 m, at 5 A.
    let lost = 5.0 * (2.0 * ohms_of_2_5(8.0) + ohms_of_2_5(0.1));
    let percent = lost / 12.0 * 100.0;
    let text =
        |percent: f64| lamp(8.0, 5.0, "", &format!("limit drop.other {percent:.9} % because \"a test\""));
    assert!(found("conductor.drop", &text(percent + 1e-9)).is_empty());
    let finding = one("conductor.drop", &text(percent - 1e-6));
    assert!((number(&finding, "drop_v") - lost).abs() < 1e-9);
    assert!((parts(&finding) - lost).abs() < 0.005 * lost, "{:?}", finding.figures);
    // Told apart from its limit, however near it lies.
    assert!(!finding.headline.contains(&format!(": {} % of", percent)), "{}", finding.headline);
}

#[test]
fn a_critical_load_is_held_to_less_and_is_an_error() {
    // 0.5 V: 4.2 %.
    assert!(found("conductor.drop", &lamp(5.0, 5.0, "", "")).is_empty());
    assert_eq!(found("conductor.drop", &lamp(5.0, 5.0, "critical", "")), ["error lamp"]);
    assert_eq!(found("conductor.drop", &lamp(15.0, 5.0, "", "")), ["warning lamp"]);
}

#[test]
fn of_several_modes_the_worst_is_told() {
    let modes = "mode dim {\n  lamp 4.5 A\n}\nmode bright {\n  lamp 6 A\n}\nmode dark {\n  lamp off\n}";
    let text = lamp(15.0, 5.0, "", modes);
    let finding = one("conductor.drop", &text);
    assert!(finding.headline.contains("in mode bright"), "{}", finding.headline);
    assert!(finding.figures.iter().any(|row| row.value == "2 modes"), "{:?}", finding.figures);
    let off = lamp(15.0, 5.0, "", "mode dark {\n  lamp off\n}");
    assert!(found("conductor.drop", &off).is_empty(), "what is off loses nothing");
}

/// The suggested size does, alone and for both ways, and the next smaller one does not.
#[test]
fn suggested_sizes_do() {
    for (what, more) in [("12 V 5 A", ""), ("12 V 70 W", ""), ("12 V 2 ohm", ""), ("12 V 5 A", "critical")] {
        let text = lamp(20.0, 5.0, more, "").replace("12 V 5 A", what);
        let finding = one("conductor.drop", &text);
        let with = |line: &str, size: f64, text: &str| {
            text.replace(&format!("{line} 2.5 mm2 20"), &format!("{line} {size} mm2 20"))
        };
        let both = |size: f64| {
            with("wire W3 from lamp.- to B.-", size, &with("wire W2 from F.load to lamp.+", size, &text))
        };
        let series = [1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0, 150.0];
        let before = |size: f64| series[series.iter().position(|one| *one == size).expect("standard") - 1];
        let pair =
            finding.help.split(" mm2 for W2 and W3").next().and_then(|text| text.split(' ').next_back());
        let pair: f64 =
            pair.and_then(|text| text.parse().ok()).unwrap_or_else(|| unreachable!("{}", finding.help));
        assert!(found("conductor.drop", &both(pair)).is_empty(), "{what}: {}", finding.help);
        assert_eq!(found("conductor.drop", &both(before(pair))).len(), 1, "{what}: {}", finding.help);
        // One wire alone cannot always.
        if finding.help.contains("mm2 for W2, or") {
            let size = number(&finding, "suggested_mm2");
            let alone = |size| with("wire W2 from F.load to lamp.+", size, &text);
            assert!(found("conductor.drop", &alone(size)).is_empty(), "{what}: {}", finding.help);
            assert_eq!(found("conductor.drop", &alone(before(size))).len(), 1, "{what}: {}", finding.help);
        } else {
            assert_eq!(number(&finding, "suggested_mm2"), pair);
        }
    }
}

#[test]
fn what_no_wire_alone_can_mend_takes_several() {
    // Four lengths of as much each: no pair is enough.
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 100 Ah fault 2 kA\nload lamp 12 V 10 A\nfuse F 25 A\n\
        post a\npost b\nbolt B.+ to F.line\nwire W1 from F.load to a 2.5 mm2 8 m\nwire W2 from a to lamp.+ 2.5 mm2 8 m\n\
        wire W3 from lamp.- to b 2.5 mm2 8 m\nwire W4 from b to B.- 2.5 mm2 8 m\n";
    let finding = one("conductor.drop", text);
    assert!(finding.help.contains("W1") && finding.help.contains("W4"), "{}", finding.help);
    // Nothing is enough where the limit is next to nothing.
    let none = one("conductor.drop", &format!("{text}limit drop.other 0.01 % because \"a test\"\n"));
    assert!(none.help.starts_with("no standard size is enough: shorten"), "{}", none.help);
    assert!(!none.values.contains_key("suggested_mm2"));
}

/// Feeds from both sides: the parts are those of the way of the larger current and still add up.
#[test]
fn in_a_ring_the_parts_add_up() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 100 Ah fault 2 kA\nload lamp 12 V 20 A\nfuse F 25 A\n\
        post a\npost b\nbolt B.+ to F.line\nwire W1 from F.load to a 2.5 mm2 6 m\nwire W2 from F.load to b 4 mm2 5 m\n\
        wire W3 from a to lamp.+ 2.5 mm2 2 m\nwire W4 from b to lamp.+ 4 mm2 2 m\nwire W5 from a to b 1.5 mm2 1 m\n\
        wire W6 from lamp.- to B.- 2.5 mm2 4 m\n";
    let finding = one("conductor.drop", text);
    let lost = number(&finding, "drop_v");
    assert!((parts(&finding) - lost).abs() < 0.01 * lost, "{lost}: {:?}", finding.figures);
    let names = format!("{:?}", finding.values["wires"]);
    assert!(names.contains("W2") && names.contains("W4") && !names.contains("W1"), "{names}");
}

/// Equal wires side by side are one conductor: told together, and thickened together.
#[test]
fn equal_wires_are_told_together() {
    let text = lamp(15.0, 8.0, "", "wire W4 from F.load to lamp.+ 2.5 mm2 15 m");
    let finding = one("conductor.drop", &text);
    assert!(
        finding.figures.iter().any(|row| row.meaning.starts_with("lost in W2 and W4, ")),
        "{:?}",
        finding.figures
    );
}

#[test]
fn without_a_battery_the_source_that_gives_most_counts() {
    let text = |most: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nsupply small 12 V 2 A\nsupply mains 12 V {most}\nload lamp 12 V 5 A\n\
             wire W0 from small.+ to lamp.+ 2.5 mm2 0.5 m\nwire W4 from small.- to lamp.- 2.5 mm2 0.5 m\n\
             wire W1 from mains.+ to lamp.+ 2.5 mm2 15 m\nwire W2 from lamp.- to mains.- 2.5 mm2 15 m\n\
             mode lit {{\n  mains on\n  lamp on\n}}\n"
        )
    };
    let finding = one("conductor.drop", &text("20 A"));
    assert_eq!(finding.values.get("source"), Some(&Value::Text("mains".into())));
    let lost = 5.0 * 2.0 * ohms_of_2_5(15.0);
    assert!((number(&finding, "drop_v") - lost).abs() < 1e-6, "{lost}");
}

/// A battery at the far end, and a charger beside the load: what the battery takes rises along the way.
const CHARGED: &str = "design d \"Invented\"\nassume insulation 105 C\nbattery house agm 12 V 100 Ah resistance 10 mohm full 14.4 V\n\
    charger shore from ac out 12 V 20 A\nload lamp 12 V 5 A\nbar plus M8 x 4\nbar minus M8 x 4\n\
    wire W1 from house.+ to plus SIZE 3 m\nwire W2 from minus to house.- SIZE 3 m\n\
    wire W3 from shore.out+ to plus 10 mm2 0.5 m\nwire W4 from minus to shore.out- 10 mm2 0.5 m\n\
    wire W5 from plus to lamp.+ 2.5 mm2 1 m\nwire W6 from lamp.- to minus 2.5 mm2 1 m\n\
    mode quay {\n  house 12.5 V\n  shore on\n  lamp on\n}\n";

#[test]
fn a_charger_is_judged_to_its_battery_and_a_load_beside_it_is_not_found() {
    let text = CHARGED.replace("SIZE", "1.5 mm2");
    let finding = one("conductor.drop", &text);
    assert_eq!((finding.subject.as_str(), finding.severity.to_string().as_str()), ("shore", "warning"));
    // 20 A less the 5 A of the lamp go to the battery.
    let short = 2.0 * (1.91e-3 * 1.1965 * 0.5 + 2e-4);
    // 1.5 mm2: 13.3 ohm/km at 20 °C.
    let lost = 15.0 * 2.0 * (13.3e-3 * 1.1965 * 3.0 + 2e-4) + 20.0 * short;
    assert!((number(&finding, "drop_v") - lost).abs() < 1e-3 * lost, "{lost} {}", number(&finding, "drop_v"));
    assert!(finding.headline.contains("between shore and house in mode quay"), "{}", finding.headline);
    assert!(found("conductor.drop", &CHARGED.replace("SIZE", "16 mm2")).is_empty());
    let off = text.replace("  shore on\n", "");
    assert!(found("conductor.drop", &off).iter().all(|row| !row.contains("shore")), "a charger that is off");
}

/// A converter's output has no battery: its loads are judged from it, it is not.
#[test]
fn a_converter_is_a_source() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery house lifepo4 24 V 100 Ah fault 3 kA full 28.8 V\n\
        charger step in 24 V out 12 V 20 A isolated efficiency 90 %\nload lamp 12 V 5 A\n\
        wire W1 from house.+ to step.in+ 4 mm2 1 m\nwire W2 from step.in- to house.- 4 mm2 1 m\n\
        wire W3 from step.out+ to lamp.+ 2.5 mm2 15 m\nwire W4 from lamp.- to step.out- 2.5 mm2 15 m\n";
    let finding = one("conductor.drop", text);
    assert_eq!(finding.subject, "lamp");
    assert_eq!(finding.values.get("source"), Some(&Value::Text("step".into())));
}

/// Of batteries that a switch joins the one that is joined in the mode; a starter is judged in the mode in which it turns,
/// and what else is on then is not.
#[test]
fn starters_and_switches() {
    let text = |mode: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery start lead-acid 12 V 80 Ah fault 1 kA\nbattery house agm 12 V 100 Ah fault 2 kA\n\
             switch link 200 A\nload starter 12 V 100 A\nload lamp 12 V 5 A\n\
             wire C1 from start.+ to starter.+ 16 mm2 4 m cranking\nwire C2 from starter.- to start.- 16 mm2 4 m cranking\n\
             wire L1 from start.+ to link.a 35 mm2 0.5 m\nwire L2 from link.b to house.+ 35 mm2 0.5 m\nwire L3 from start.- to house.- 35 mm2 0.5 m\n\
             wire W2 from house.+ to lamp.+ 2.5 mm2 15 m\nwire W3 from lamp.- to house.- 2.5 mm2 15 m\n{mode}"
        )
    };
    let subjects = |mode: &str| found("conductor.drop", &text(mode));
    // 80 A through 8 m of 16 mm2: 0.96 V.
    assert!(subjects("mode crank {\n  starter 80 A\n  lamp on\n  link open\n}\n").is_empty());
    let heavy = "mode crank {\n  starter 150 A\n  lamp on\n  link open\n}\n";
    assert_eq!(subjects(heavy), ["warning starter"]);
    assert_eq!(subjects("mode idle {\n  lamp on\n  link open\n}\n"), ["warning lamp"]);
    // Without a mode a starter does not turn.
    assert_eq!(subjects(""), ["warning lamp"]);
    let open = one("conductor.drop", &text("mode idle {\n  start 13 V\n  lamp on\n  link open\n}\n"));
    assert_eq!(open.values.get("source"), Some(&Value::Text("house".into())));
}

/// A booster that is fed through so many square millimetres, with this `engine-off`.
fn booster(size: &str, off: &str, modes: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery crank lead-acid 12 V 80 Ah resistance 5 mohm full 14.7 V\n\
         battery house lifepo4 12 V 200 Ah resistance 5 mohm full 14.4 V cold-cutoff\n\
         charger booster in 12 V 35 A out 12 V 25 A isolated efficiency 90 %\n\
         wire W1 from crank.+ to booster.in+ {size} 6 m\nwire W2 from booster.in- to crank.- {size} 6 m\n\
         wire W3 from booster.out+ to house.+ 10 mm2 0.5 m\nwire W4 from booster.out- to house.- 10 mm2 0.5 m\n\
         set booster engine-off {off} V\n{modes}"
    )
}

const DRIVING: &str = "mode driving {\n  crank 14 V\n  house 13.3 V\n  booster on\n}\n";

#[test]
fn a_booster_that_turns_itself_off() {
    let finding = one("charging.lockout", &booster("10 mm2", "13.3", DRIVING));
    assert_eq!((finding.subject.as_str(), finding.severity.to_string().as_str()), ("line:10", "warning"));
    let reached = number(&finding, "voltage_v");
    assert!(reached < 13.3 && 12.8 < reached, "{reached}");
    // At what reaches it, it stays on; just above, it does not.
    assert!(
        found("charging.lockout", &booster("10 mm2", &format!("{:.6}", reached - 1e-6), DRIVING)).is_empty()
    );
    let near = one("charging.lockout", &booster("10 mm2", &format!("{:.6}", reached + 1e-4), DRIVING));
    let shown: f64 =
        near.headline.split(" V reaches").next().and_then(|text| text.parse().ok()).unwrap_or(99.0);
    assert!(shown < reached + 1e-4, "{}", near.headline);
    // The suggested setting and the suggested size both do.
    let set = number(&finding, "suggested_v");
    assert!(found("charging.lockout", &booster("10 mm2", &set.to_string(), DRIVING)).is_empty());
    assert!(!found("charging.lockout", &booster("10 mm2", &(set + 0.1).to_string(), DRIVING)).is_empty());
    let pair = finding.help.split(" mm2 for W1 and W2").next().and_then(|text| text.split(' ').next_back());
    let size = format!("{} mm2", pair.unwrap_or_default());
    assert!(found("charging.lockout", &booster(&size, "13.3", DRIVING)).is_empty(), "{}", finding.help);
    let lost = number(&finding, "drop_v");
    assert!((parts(&finding) - lost).abs() < 0.01 * lost, "{:?}", finding.figures);
}

#[test]
fn the_mode_in_which_least_reaches_it_is_told() {
    let modes =
        "mode slow {\n  crank 13.8 V\n  house 13.3 V\n  booster on\n}\nmode off-it {\n  crank 12 V\n}\n";
    let finding = one("charging.lockout", &booster("10 mm2", "13.3", &format!("{DRIVING}{modes}")));
    assert!(finding.headline.contains("in mode slow"), "{}", finding.headline);
    // Without a mode the batteries are at nominal voltage.
    assert!(told("charging.lockout", &booster("10 mm2", "13.3", ""))[0].contains("with everything on"));
    // Where the source itself is lower, no wire helps.
    let low = one(
        "charging.lockout",
        &booster("10 mm2", "13.3", "mode low {\n  crank 13 V\n  house 13.3 V\n  booster on\n}\n"),
    );
    assert!(!low.help.contains("use "), "{}", low.help);
}

#[test]
fn other_settings_and_chargers_without_a_dc_input_are_not_judged() {
    let text = booster("10 mm2", "13.3", DRIVING).replace("engine-off", "engine-on");
    assert!(found("charging.lockout", &text).is_empty());
    let shore = CHARGED.replace("SIZE", "16 mm2") + "set shore engine-off 13.3 V\n";
    assert!(found("charging.lockout", &shore).is_empty());
}
