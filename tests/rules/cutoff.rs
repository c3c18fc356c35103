//! `cutoff.misused`: fed backwards, turned round, bypassed, or with an inverter behind it.

use super::found;

const NONE: [&str; 0] = [];

fn design(rest: &str) -> Vec<String> {
    let text = format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nbreaker F 40 A\n\
         wire W1 from B.+ to F.line 16 mm2 0.1 m\n{rest}"
    );
    found("cutoff.misused", &text)
}

const LAMP: &str =
    "load lamp 12 V 12 W\nwire L1 from C.load to lamp.+ 4 mm2 1 m\nwire L2 from lamp.- to B.- 4 mm2 1 m\n";
const FORWARDS: &str = "cutoff C 60 A\nwire W2 from F.load to C.line 16 mm2 1 m\n";

#[test]
fn a_load_behind_it_is_what_it_is_for() {
    assert_eq!(design(&format!("{FORWARDS}{LAMP}")), NONE);
}

#[test]
fn a_cutoff_turned_round_is_fed_backwards() {
    let turned = "cutoff C 60 A\nwire W2 from F.load to C.load 16 mm2 1 m\nload lamp 12 V 12 W\n\
                  wire L1 from C.line to lamp.+ 4 mm2 1 m\nwire L2 from lamp.- to B.- 4 mm2 1 m\n";
    assert_eq!(design(turned), ["error C"]);
}

#[test]
fn a_charger_on_its_load_side_feeds_it_backwards() {
    let charger = "charger K from ac out 12 V 10 A\nwire K1 from K.out+ to C.load 4 mm2 1 m\nwire K2 from K.out- to B.- 4 mm2 1 m\n";
    assert_eq!(design(&format!("{FORWARDS}{LAMP}{charger}")), ["error C"]);
    assert_eq!(design(&format!("{FORWARDS}{LAMP}{}", charger.replace("C.load", "C.line"))), NONE);
    let input = "charger K in 12 V 5 A out 24 V 2 A isolated\nwire K1 from C.load to K.in+ 4 mm2 1 m\nwire K2 from K.in- to B.- 4 mm2 1 m\n";
    assert_eq!(design(&format!("{FORWARDS}{LAMP}{input}")), NONE, "a charger's input is a load");
}

#[test]
fn a_way_around_it_feeds_its_load_side() {
    let around = format!(
        "{FORWARDS}{LAMP}switch S 60 A open\nwire X1 from C.line to S.a 16 mm2 1 m\nwire X2 from S.b to C.load 16 mm2 1 m\n"
    );
    assert_eq!(design(&around), ["error C"]);
}

#[test]
fn a_second_cutoff_blocks_what_is_beyond_it() {
    let second = "cutoff D 60 A\nwire D1 from C.load to D.line 16 mm2 1 m\ncharger K from ac out 12 V 10 A\n\
                  wire K1 from K.out+ to D.load 4 mm2 1 m\nwire K2 from K.out- to B.- 4 mm2 1 m\n";
    assert_eq!(
        design(&format!("{FORWARDS}{LAMP}{second}")),
        ["error D"],
        "the charger feeds D backwards, and D blocks it"
    );
}

#[test]
fn an_inverter_behind_it_is_behind_every_cutoff_on_its_way() {
    let inverter =
        "inverter I 12 V 200 W\nwire I1 from C.load to I.+ 16 mm2 1 m\nwire I2 from I.- to B.- 16 mm2 1 m\n";
    assert_eq!(design(&format!("{FORWARDS}{inverter}")), ["error C"]);
    assert_eq!(design(&format!("{FORWARDS}{LAMP}{}", inverter.replace("C.load", "C.line"))), NONE);
    let second = format!(
        "cutoff D 60 A\nwire D1 from C.load to D.line 16 mm2 1 m\n{}",
        inverter.replace("C.load", "D.load")
    );
    assert_eq!(design(&format!("{FORWARDS}{second}")), ["error C", "error D"]);
}

#[test]
fn two_side_by_side_from_two_batteries_feed_each_other() {
    let two = format!(
        "{FORWARDS}{LAMP}battery E lead-acid 12 V 100 Ah\nbreaker G 40 A\ncutoff D 60 A\nwire E1 from E.+ to G.line 16 mm2 0.1 m\n\
         wire E2 from G.load to D.line 16 mm2 1 m\nwire E3 from D.load to C.load 16 mm2 1 m\nwire E4 from E.- to B.- 16 mm2 1 m\n"
    );
    assert_eq!(design(&two), ["error C", "error D"], "each battery reaches the other's load side");
}
