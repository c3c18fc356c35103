//! `return.single-failure`: what opens, what then carries too much or comes home wrongly, and what is left alone.

use super::{found, judge, own, told};

const RULE: &str = "return.single-failure";

/// An inverter that returns over a bar and a meter; its data terminal is free.
fn van(more: &str) -> String {
    format!(
        "design van \"Invented\"\nassume insulation 105 C\n\
         battery B agm 12 V 300 Ah fault 4 kA full 14.7 V discharge 180 A charge 60 A\n\
         inverter wave 12 V 1.5 kW efficiency 90 %\nmeter tally 300 A 50 mV counts B\n\
         fuse F 200 A class-t volts 125 V breaks 20 kA\nfuse S 2 A blade volts 32 V breaks 1 kA\nbar minus M8 x 4 200 A\n\
         wire W1 from B.+ to F.line 70 mm2 0.1 m\nwire W2 from F.load to wave.+ 70 mm2 1 m\n\
         wire W4 from minus to tally.sys 70 mm2 1 m\nwire W5 from tally.bat to B.- 70 mm2 1 m\n\
         wire W6 from B.+ to S.line 1.5 mm2 0.1 m\nwire W7 from S.load to tally.sense 1.5 mm2 0.5 m\n\
         mode kettle {{\n  B 12.5 V\n  wave 1.5 kW\n}}\nmode idle {{\n  B 12.5 V\n  wave 20 W\n}}\n{more}"
    )
}

const W3: &str = "wire W3 from wave.- to minus 70 mm2 1 m\n";

#[test]
fn a_data_lead_becomes_the_return_of_an_inverter() {
    let text = van(&format!("{W3}data D1 from wave.data to tally.data 3 m\n"));
    // 12.5 V over the inverter as a resistance (12 V squared over 1.5 kW / 0.9) and 3 m of 0.14 mm2 at 70 C.
    assert_eq!(
        told(RULE, &text),
        [
            "W4: with W4 open, the current of wave comes home by D1 in mode kettle (21.1 A)",
            "W3: with W3 open, the current of wave comes home by D1 in mode kettle (21.1 A)",
        ]
    );
    let finding = own(RULE, &text).remove(0);
    let notes: Vec<&str> = finding.related.iter().map(|row| row.note.as_str()).collect();
    assert!(notes.contains(&"reads nothing then, and -21.1 A flows in what it counts"), "{notes:?}");
    assert!(
        notes.iter().any(|note| note.starts_with("carries 21.1 A then, and may carry 2.99 A")),
        "{notes:?}"
    );
    assert!(finding.help.starts_with("use an isolated data lead for D1"), "{}", finding.help);
    // An isolated one ties nothing.
    let isolated = text.replace("3 m\n", "3 m isolated\n");
    assert_eq!(told(RULE, &isolated), Vec::<String>::new());
}

#[test]
fn a_bond_becomes_the_return() {
    let bonds = "chassis frame\nwire B1 from minus to frame 16 mm2 1 m bond\nwire B2 from wave.- to frame 16 mm2 1 m bond\n";
    let text = van(&format!("{W3}{bonds}"));
    // Both bonds carry what W3 did; opening a bond moves the little that it takes on to W3.
    assert_eq!(
        told(RULE, &text),
        ["W3: with W3 open, the current of wave comes home by B1 and B2 in mode kettle (149 A)"]
    );
    let help = own(RULE, &text).remove(0).help;
    assert!(help.contains("take B1 away") && help.contains("make it a return of"), "{help}");
    // From the case terminal the bond ties nothing that carries current.
    assert_eq!(
        told(RULE, &text.replace("from wave.- to frame", "from wave.case to frame")),
        Vec::<String>::new()
    );
}

#[test]
fn of_wires_side_by_side_one_opens() {
    let pair = |size: &str| {
        format!("wire W3 from wave.- to minus {size} 1 m\nwire W8 from wave.- to minus {size} 1 m\n")
    };
    assert_eq!(found(RULE, &van(&pair("16 mm2"))), ["warning W3", "warning W8"]);
    assert_eq!(
        told(RULE, &van(&pair("16 mm2")))[0],
        "W3: with W3 open, 146 A flows through W8 in mode kettle, and its ampacity is 130 A"
    );
    assert_eq!(found(RULE, &van(&pair("35 mm2"))), Vec::<String>::new());
}

#[test]
fn of_the_conductors_of_one_wire_one_opens() {
    let text =
        |size: &str, count: u32| van(&format!("wire W3 from wave.- to minus {size} 1 m count {count}\n"));
    assert_eq!(
        told(RULE, &text("16 mm2", 2)),
        [
            "W3: with one conductor of W3 open, 146 A flows through the other conductor in mode kettle, and its ampacity is 130 A"
        ]
    );
    assert_eq!(found(RULE, &text("16 mm2", 3)), Vec::<String>::new(), "two of three bear it");
    let three = told(RULE, &text("6 mm2", 3));
    assert_eq!(three.len(), 1, "{three:?}");
    assert!(
        three[0].contains("flows through the other 2 conductors in mode kettle, and their ampacity is"),
        "{three:?}"
    );
    assert_eq!(found(RULE, &text("35 mm2", 2)), Vec::<String>::new());
}

#[test]
fn what_merely_stops_is_no_finding() {
    assert_eq!(told(RULE, &van(W3)), Vec::<String>::new());
}

#[test]
fn a_bolt_is_told_by_its_line_and_a_switch_by_its_name() {
    let data = "data D1 from wave.data to tally.data 3 m\n";
    let bolt =
        van(&format!("post star M8\nwire W3 from wave.- to star 70 mm2 1 m\nbolt star to minus\n{data}"));
    let line = bolt.lines().position(|line| line.starts_with("bolt")).expect("the bolt") + 1;
    assert!(found(RULE, &bolt).contains(&format!("warning line:{line}")), "{:?}", found(RULE, &bolt));
    assert!(told(RULE, &bolt).iter().any(|row| row.contains("with the bolt of star to minus open")));
    let switch = van(&format!(
        "switch Q 200 A\nwire W3 from wave.- to Q.a 70 mm2 1 m\nwire W8 from Q.b to minus 70 mm2 1 m\n{data}"
    ));
    assert_eq!(found(RULE, &switch), ["warning W4", "warning Q", "warning W3", "warning W8"]);
    // A switch that a mode opens is open already: then there is nothing left to open.
    let open = switch.replace("  wave 20 W\n", "  wave 20 W\n  Q open\n").replace("  wave 1.5 kW\n", "");
    let idle = own(RULE, &open);
    assert!(idle.is_empty(), "{idle:?}");
}

#[test]
fn an_engine_without_its_strap_cranks_through_what_is_left() {
    let text = "design boat \"Invented\"\nassume insulation 105 C\n\
        battery B lead-acid 12 V 100 Ah fault 1.2 kA full 14.4 V\nload starter 12 V 250 A returns block\n\
        load glow 12 V 10 A\nchassis block\nfuse F 15 A blade volts 32 V breaks 2 kA\n\
        wire W1 from B.+ to starter.+ 70 mm2 1 m cranking\nwire W2 from B.- to block 70 mm2 1 m cranking\n\
        wire W3 from B.+ to F.line 2.5 mm2 0.1 m\nwire W4 from F.load to glow.+ 2.5 mm2 2 m\n\
        wire W5 from glow.- to block 2.5 mm2 1 m\nwire W6 from glow.- to B.- 2.5 mm2 2 m\n\
        mode start {\n  B 12.4 V\n  starter on\n}\n";
    let told = told(RULE, text);
    assert_eq!(told.len(), 1, "{told:?}");
    assert!(told[0].starts_with("W2: with W2 open, ") && told[0].contains("in mode start"), "{told:?}");
}

#[test]
fn one_of_two_batteries_loses_its_negative() {
    let text = |size: &str| {
        format!(
            "design boat \"Invented\"\nassume insulation 105 C\n\
             battery A agm 12 V 100 Ah fault 2 kA full 14.7 V\nbattery B agm 12 V 110 Ah fault 2 kA full 14.7 V\n\
             load winch 12 V 90 A\nbar plus M8 x 4 250 A\nbar minus M8 x 4 250 A\n\
             wire W1 from A.+ to plus {size} 1 m\nwire W2 from A.- to minus {size} 1 m\n\
             wire W3 from B.+ to plus {size} 1 m\nwire W4 from B.- to minus {size} 1 m\n\
             wire W5 from plus to winch.+ 35 mm2 1 m\nwire W6 from winch.- to minus 35 mm2 1 m\n\
             mode haul {{\n  A 12.6 V\n  B 12.6 V\n  winch on\n}}\n"
        )
    };
    assert_eq!(found(RULE, &text("6 mm2")), ["warning W2", "warning W4"]);
    assert_eq!(found(RULE, &text("16 mm2")), Vec::<String>::new());
}

#[test]
fn what_is_overloaded_already_is_not_told_again() {
    let text = van("wire W3 from wave.- to minus 4 mm2 1 m\nwire W8 from wave.- to minus 4 mm2 1 m\n");
    assert_eq!(told(RULE, &text), Vec::<String>::new());
    assert_eq!(found("conductor.overloaded", &text), ["error W3", "error W8"]);
}

#[test]
fn too_many_loops_are_told_and_not_passed_over() {
    // A ladder: each rung returns by two thin wires to the next bar. Far more loops than a check opens.
    let rungs = 700;
    let mut text = String::from(
        "design ladder \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 300 Ah fault 4 kA full 14.7 V\n\
         load lamp 12 V 60 A\nwire P from B.+ to lamp.+ 70 mm2 1 m\nbar N0 M8 x 4 200 A\nwire N from N0 to B.- 70 mm2 1 m\n",
    );
    for rung in 1..=rungs {
        let before = rung - 1;
        text += &format!(
            "bar N{rung} M8 x 4 200 A\npost M{rung} M8\nwire A{rung} from N{before} to N{rung} 10 mm2 0.1 m\n\
             wire C{rung} from N{before} to M{rung} 6 mm2 0.1 m\nwire D{rung} from M{rung} to N{rung} 6 mm2 0.1 m\n"
        );
    }
    text += &format!("wire Z from lamp.- to N{rungs} 70 mm2 1 m\nmode lit {{\n  B 12.6 V\n  lamp on\n}}\n");
    let findings = judge("design.loom", &text).findings;
    let advice: Vec<_> =
        findings.iter().filter(|row| row.rule == RULE && row.headline.contains("were not opened")).collect();
    assert_eq!(advice.len(), 1);
    assert!(
        advice[0].severity == ohmward::findings::Severity::Advice && advice[0].help.contains("--failures")
    );
}
