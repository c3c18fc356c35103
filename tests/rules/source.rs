//! `source.orphaned`: what opens between an alternator and its last battery.

use super::found;

const NONE: [&str; 0] = [];

/// An alternator that reaches a battery by what lies between `M` and `N`, in the positive.
fn by(battery: &str, between: &str) -> Vec<String> {
    let text = format!(
        "design d \"Invented\"\nassume insulation 105 C\n{battery}\nalternator A 12 V 60 A\npost M M8\npost N M8\nfuse F 80 A bolt-in\n\
         wire W1 from B.+ to F.line 25 mm2 0.1 m\nwire W2 from F.load to M 25 mm2 1 m\n{between}\nwire W3 from N to A.+ 25 mm2 1 m\n\
         wire W4 from A.- to B.- 25 mm2 1 m\n"
    );
    found("source.orphaned", &text)
}

const LEAD: &str = "battery B lead-acid 12 V 100 Ah";
const LITHIUM: &str = "battery B lifepo4 12 V 100 Ah";

#[test]
fn what_hands_open_is_named_and_a_fuse_is_not() {
    assert_eq!(by(LEAD, "wire X from M to N 25 mm2 1 m"), NONE);
    for part in ["switch S 100 A", "switch S 100 A open remote", "plug S 100 A"] {
        assert_eq!(by(LEAD, &format!("{part}\nbolt S.a to M\nbolt S.b to N")), ["warning S"], "{part}");
    }
    for part in ["breaker S 80 A", "cutoff S 100 A"] {
        assert_eq!(by(LEAD, &format!("{part}\nbolt S.load to M\nbolt S.line to N")), ["warning S"], "{part}");
    }
    assert_eq!(by(LEAD, "fuse S 80 A bolt-in\nbolt S.line to M\nbolt S.load to N"), NONE);
}

#[test]
fn a_second_way_keeps_the_battery() {
    let two = "switch S 100 A\nbolt S.a to M\nbolt S.b to N\nswitch T 100 A\nbolt T.a to M\nbolt T.b to N";
    assert_eq!(by(LEAD, two), NONE);
}

#[test]
fn another_battery_on_the_alternators_side_keeps_it() {
    let two = "switch S 100 A\nbolt S.a to M\nbolt S.b to N\nbattery E agm 12 V 60 Ah\nbreaker G 80 A\nwire E1 from E.+ to G.line 25 mm2 0.1 m\n\
               wire E2 from G.load to N 25 mm2 1 m\nwire E3 from E.- to B.- 25 mm2 1 m";
    assert_eq!(by(LEAD, two), NONE);
    let far = two.replace("to N 25", "to M 25");
    assert_eq!(by(LEAD, &far), ["warning S"], "both batteries beyond the switch");
}

#[test]
fn the_negative_counts_as_well() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nalternator A 12 V 60 A\nfuse F 80 A bolt-in\n\
                switch S 100 A\nwire W1 from B.+ to F.line 25 mm2 0.1 m\nwire W2 from F.load to A.+ 25 mm2 1 m\n\
                wire W3 from A.- to S.a 25 mm2 1 m\nwire W4 from S.b to B.- 25 mm2 1 m\n";
    assert_eq!(found("source.orphaned", text), ["warning S"]);
}

#[test]
fn both_poles_of_a_handle_are_one_thing() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nalternator A 12 V 60 A\nfuse F 80 A bolt-in\n\
                switch S 100 A\nswitch T 100 A pair S\nwire W1 from B.+ to F.line 25 mm2 0.1 m\nwire W2 from F.load to S.a 25 mm2 1 m\n\
                wire W3 from S.b to A.+ 25 mm2 1 m\nwire W4 from A.- to T.a 25 mm2 1 m\nwire W5 from T.b to B.- 25 mm2 1 m\n";
    assert_eq!(found("source.orphaned", text), ["warning S"]);
}

#[test]
fn the_electronics_of_a_lone_lithium_battery_open() {
    let joined = "wire X from M to N 25 mm2 1 m";
    assert_eq!(by(LITHIUM, joined), ["warning B"]);
    let other = |kind: &str| {
        format!(
            "{joined}\nbattery E {kind} 12 V 60 Ah\nbreaker G 80 A\nwire E1 from E.+ to G.line 25 mm2 0.1 m\n\
             wire E2 from G.load to N 25 mm2 1 m\nwire E3 from E.- to B.- 25 mm2 1 m"
        )
    };
    assert_eq!(by(LITHIUM, &other("lifepo4")), NONE, "two of them do not open at once");
}

#[test]
fn an_alternator_that_never_had_a_battery_is_not_this_rules() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nalternator A 12 V 60 A\nload lamp 12 V 12 W\nswitch S 100 A\n\
                wire W1 from A.+ to S.a 25 mm2 0.1 m\nwire W2 from S.b to lamp.+ 25 mm2 1 m\nwire W3 from lamp.- to A.- 25 mm2 1 m\n";
    assert_eq!(found("source.orphaned", text), NONE);
}
