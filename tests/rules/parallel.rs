//! Batteries and conductors in parallel.

use super::judge;

/// Ids and subjects of what is found by the rules on parallel batteries and conductors.
fn found(text: &str) -> Vec<String> {
    let mine = ["battery.takeoff", "conductor.unequal", "protection.each-battery"];
    let findings = judge("design.loom", text).findings;
    let mine = findings.iter().filter(|finding| mine.contains(&finding.rule.as_ref()));
    mine.map(|finding| format!("{} {}", finding.rule, finding.subject)).collect()
}

/// Two batteries on leads of their own between two bars, and a load.
fn star(lead: &str, capacity: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B1 agm 12 V {capacity} fault 2 kA full 14.4 V\n\
         battery B2 agm 12 V {capacity} fault 2 kA full 14.4 V\nbar plus 300 A\nbar minus 300 A\nload lamp 12 V 120 W\n\
         fuse F 30 A class-t volts 125 V breaks 20 kA on plus\nwire P1 from B1.+ to plus 50 mm2 0.15 m\n\
         wire P2 from B2.+ to plus 50 mm2 {lead}\nwire N1 from B1.- to minus 50 mm2 0.15 m\n\
         wire N2 from B2.- to minus 50 mm2 0.15 m\nwire W1 from F.load to lamp.+ 10 mm2 1 m\nwire W2 from lamp.- to minus 10 mm2 1 m\n"
    )
}

#[test]
fn leads_of_a_star_are_compared_and_its_takeoff_is_not_judged() {
    assert_eq!(found(&star("0.15 m", "100 Ah")), Vec::<String>::new());
    assert_eq!(found(&star("0.5 m", "100 Ah")), ["conductor.unequal P2"]);
}

#[test]
fn the_limit_on_leads_is_the_books_or_the_designs() {
    // 50 mm2 class 5: 0.386 ohm/km (IEC 60228). Leads of 0.15 m + 0.15 m and four contacts have 0.5158 mohm; 0.25 m in
    // place of one 0.15 m adds 0.0386 mohm, 7.5 %; 0.35 m adds 15 %.
    assert_eq!(found(&star("0.25 m", "100 Ah")), Vec::<String>::new());
    assert_eq!(found(&star("0.35 m", "100 Ah")), ["conductor.unequal P2"]);
    let wider = format!("{}limit share.spread 20 % because \"short leads\"\n", star("0.35 m", "100 Ah"));
    assert_eq!(found(&wider), Vec::<String>::new());
}

#[test]
fn a_bank_at_the_size_needs_no_device_each() {
    let each = ["protection.each-battery B1", "protection.each-battery B2"];
    assert_eq!(found(&star("0.15 m", "250 Ah")), Vec::<String>::new());
    assert_eq!(found(&star("0.15 m", "251 Ah")), each);
}

#[test]
fn two_batteries_that_share_no_load_are_not_compared() {
    // A battery for the engine beside one for the house, joined by a relay.
    let text = star("0.5 m", "100 Ah").replace(
        "wire P2 from B2.+ to plus",
        "switch R 200 A open remote\nwire P3 from R.b to plus 50 mm2 0.1 m\nwire P2 from B2.+ to R.a",
    );
    assert_eq!(found(&text), Vec::<String>::new());
}

#[test]
fn wires_side_by_side_differ_by_length_and_size_but_not_by_insulation() {
    let pair = |second: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 100 Ah fault 2 kA full 14.4 V\nload heater 12 V 240 W\n\
             fuse F 30 A class-t volts 125 V breaks 20 kA\nwire W1 from B.+ to F.line 16 mm2 0.1 m\n\
             wire W2 from F.load to heater.+ 10 mm2 1 m\nwire W3 from F.load to heater.+ {second}\nwire W4 from heater.- to B.- 16 mm2 1 m\n"
        )
    };
    assert_eq!(found(&pair("10 mm2 1 m insulation 90 C")), Vec::<String>::new());
    assert_eq!(found(&pair("10 mm2 1.05 m")), Vec::<String>::new());
    assert_eq!(found(&pair("6 mm2 1 m")), ["conductor.unequal W3"]);
    assert_eq!(found(&pair("10 mm2 1 m count 2")), ["conductor.unequal W3"]);
}

#[test]
fn a_row_of_thousands_is_judged() {
    let mut text = "design d \"Invented\"\nassume insulation 105 C\nload lamp 12 V 120 W\nfuse F 30 A class-t volts 125 V breaks 20 kA\n\
                    wire W1 from B0.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to lamp.+ 10 mm2 1 m\nwire W3 from lamp.- to B0.- 10 mm2 1 m\n"
        .to_owned();
    for at in 0..2000 {
        text += &format!("battery B{at} agm 12 V 100 Ah fault 2 kA full 14.4 V\n");
        if 0 < at {
            let before = at - 1;
            text += &format!(
                "wire P{at} from B{before}.+ to B{at}.+ 50 mm2 0.3 m\nwire N{at} from B{before}.- to B{at}.- 50 mm2 0.3 m\n"
            );
        }
    }
    let found = found(&text);
    assert!(found.contains(&"battery.takeoff B0".to_owned()), "{} findings", found.len());
}
