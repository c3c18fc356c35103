//! `plug.exposed`: the side that is live, what feeds it, and the device that makes it harmless.

use super::found;

fn coupling(source: &str, ahead: &str, plug: &str, near: &str, far: &str) -> Vec<String> {
    let text = format!(
        "design d \"Invented\"\nassume insulation 105 C\n{source}\nload lamp 12 V 12 W\n{ahead}\n{plug}\n\
         wire W1 from S.+ to F.line 6 mm2 0.1 m\nwire W2 from F.load to P.{near} 6 mm2 1 m\n\
         wire W3 from P.{far} to lamp.+ 6 mm2 1 m\nwire W4 from lamp.- to S.- 6 mm2 1 m\n"
    );
    found("plug.exposed", &text)
}

const BATTERY: &str = "battery S lead-acid 12 V 100 Ah";
const NONE: [&str; 0] = [];

#[test]
fn pins_are_harmless_on_the_dead_side_or_behind_a_device_of_the_plugs_rating() {
    assert_eq!(coupling(BATTERY, "breaker F 20 A", "plug P 16 A", "b", "a"), ["error P"]);
    assert_eq!(coupling(BATTERY, "breaker F 16 A", "plug P 16 A", "b", "a"), NONE, "exactly its rating");
    assert_eq!(coupling(BATTERY, "breaker F 20 A", "plug P 16 A", "a", "b"), NONE, "the bare pins are dead");
}

#[test]
fn a_limited_source_does_not_count() {
    assert_eq!(coupling("supply S 12 V 30 A", "breaker F 40 A", "plug P 16 A", "b", "a"), NONE);
    assert_eq!(coupling("supply S 12 V fused 30 A", "breaker F 40 A", "plug P 16 A", "b", "a"), NONE);
    assert_eq!(coupling("supply S 12 V fault 900 A", "breaker F 40 A", "plug P 16 A", "b", "a"), ["error P"]);
}

#[test]
fn a_plug_without_a_rating_is_judged_where_nothing_protects_it() {
    assert_eq!(coupling(BATTERY, "breaker F 20 A", "plug P", "b", "a"), NONE);
    assert_eq!(coupling(BATTERY, "breaker F 20 A\nbolt F.line to F.load", "plug P", "b", "a"), ["error P"]);
}

#[test]
fn pins_between_two_batteries_stay_live_from_the_other() {
    let text = |fuse: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery A lead-acid 12 V 100 Ah\nbattery B lead-acid 12 V 100 Ah\n\
             plug P 16 A\nbreaker F 10 A\nbreaker G {fuse}\nwire W1 from A.+ to F.line 6 mm2 0.1 m\nwire W2 from F.load to P.a 6 mm2 1 m\n\
             wire W3 from P.b to G.load 6 mm2 1 m\nwire W4 from G.line to B.+ 6 mm2 0.1 m\nwire W5 from A.- to B.- 6 mm2 1 m\n"
        )
    };
    assert_eq!(found("plug.exposed", &text("16 A")), NONE);
    assert_eq!(found("plug.exposed", &text("20 A")), ["error P"]);
}

#[test]
fn every_way_needs_a_small_device_but_their_sum_does_not_count() {
    let two = "breaker F 10 A\nbreaker G 10 A\nbolt F.line to G.line\nbolt F.load to G.load";
    assert_eq!(coupling(BATTERY, two, "plug P 16 A", "b", "a"), NONE, "each way is behind 10 A");
    let one = "breaker F 10 A\nbreaker G 20 A\nbolt F.line to G.line\nbolt F.load to G.load";
    assert_eq!(coupling(BATTERY, one, "plug P 16 A", "b", "a"), ["error P"]);
}

#[test]
fn a_plug_in_the_negative_shows_no_live_pins() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery S lead-acid 12 V 100 Ah\nload lamp 12 V 12 W\nbreaker F 20 A\n\
                plug P 16 A\nwire W1 from S.+ to F.line 6 mm2 0.1 m\nwire W2 from F.load to lamp.+ 6 mm2 1 m\n\
                wire W3 from lamp.- to P.a 6 mm2 1 m\nwire W4 from P.b to S.- 6 mm2 1 m\n";
    assert_eq!(found("plug.exposed", text), NONE);
}

#[test]
fn a_cutoff_lets_pins_be_live_from_its_line_alone() {
    let text = |pins: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery S lead-acid 12 V 100 Ah\nload lamp 12 V 12 W\nbreaker F 20 A\ncutoff C 40 A\n\
             plug P 16 A\nwire W1 from S.+ to F.line 6 mm2 0.1 m\nwire W2 from F.load to C.{pins} 6 mm2 1 m\nwire W5 from C.{} to P.b 6 mm2 1 m\n\
             wire W3 from P.a to lamp.+ 6 mm2 1 m\nwire W4 from lamp.- to S.- 6 mm2 1 m\n",
            if pins == "line" { "load" } else { "line" }
        )
    };
    assert_eq!(found("plug.exposed", &text("line")), ["error P"]);
    assert_eq!(found("plug.exposed", &text("load")), NONE);
}
