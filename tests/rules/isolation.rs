//! `isolation.live` and `isolation.lost`: what a main switch leaves fed, and what it must not cut off.

use super::found;

const NONE: [&str; 0] = [];

/// A battery whose main switch `M`, by default in the positive, feeds a lamp; what else there is joins at `ahead`, `behind` and `minus`.
fn boat(rest: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nfuse F 40 A bolt-in\npost ahead M8\npost behind M8\n\
         post minus M8\nload lamp 12 V 12 W\nwire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to ahead 16 mm2 1 m\n\
         wire W3 from behind to lamp.+ 16 mm2 1 m\nwire W4 from lamp.- to minus 16 mm2 1 m\nwire W5 from minus to B.- 16 mm2 1 m\n{rest}"
    )
}

const MAIN: &str = "switch M 100 A main\nbolt M.a to ahead\nbolt M.b to behind\n";

fn load(words: &str, plus: &str) -> String {
    format!(
        "load X 12 V 6 W {words}\nwire X1 from {plus} to X.+ 4 mm2 1 m\nwire X2 from X.- to minus 4 mm2 1 m\n"
    )
}

fn live(rest: &str) -> Vec<String> {
    found("isolation.live", &boat(rest))
}

fn lost(rest: &str) -> Vec<String> {
    found("isolation.lost", &boat(rest))
}

#[test]
fn what_is_tapped_ahead_of_the_main_switch_stays_fed_unless_it_must() {
    assert_eq!(live(MAIN), NONE);
    assert_eq!(live(&format!("{MAIN}{}", load("", "ahead"))), ["warning M"]);
    assert_eq!(live(&format!("{MAIN}{}", load("standby", "ahead"))), NONE);
    assert_eq!(live(&format!("{MAIN}{}", load("", "behind"))), NONE);
    let inverter =
        "inverter X 12 V 100 W\nwire X1 from ahead to X.+ 16 mm2 1 m\nwire X2 from X.- to minus 16 mm2 1 m\n";
    assert_eq!(live(&format!("{MAIN}{inverter}")), ["warning M"]);
    let charger = "charger X in 12 V 5 A out 24 V 2 A isolated\nwire X1 from ahead to X.in+ 4 mm2 1 m\nwire X2 from X.in- to minus 4 mm2 1 m\n";
    assert_eq!(live(&format!("{MAIN}{charger}")), NONE, "a charger's input is neither load nor inverter");
}

#[test]
fn its_own_switch_does_not_make_a_load_dead() {
    let own = format!("{MAIN}switch S 10 A open\nbolt S.a to ahead\n{}", load("", "S.b"));
    assert_eq!(live(&own), ["warning M"]);
}

#[test]
fn a_main_switch_in_the_negative_isolates_as_well() {
    let text = |x: &str| {
        boat(&format!("wire J from ahead to behind 16 mm2 1 m\nswitch M 100 A main\n{x}"))
            .replace("from minus to B.-", "from M.b to B.-")
            + "bolt M.a to minus\n"
    };
    assert_eq!(found("isolation.live", &text("")), NONE);
    let tapped = "load X 12 V 6 W\nwire X1 from behind to X.+ 4 mm2 1 m\nwire X2 from X.- to B.- 4 mm2 1 m\n";
    assert_eq!(found("isolation.live", &text(tapped)), ["warning M"], "its negative goes past the switch");
}

#[test]
fn the_second_pole_of_the_handle_opens_with_it() {
    let text = |pair: &str| {
        boat(&format!("{MAIN}switch N 100 A {pair}\nload X 12 V 6 W\nwire X1 from ahead to X.+ 4 mm2 1 m\nwire X2 from X.- to minus 4 mm2 1 m\n"))
            .replace("from minus to B.-", "from N.b to B.-")
            + "bolt N.a to minus\n"
    };
    assert_eq!(found("isolation.live", &text("pair M")), NONE, "its negative is behind the second pole");
    assert_eq!(found("isolation.live", &text("")), ["warning M"]);
}

#[test]
fn a_way_around_the_main_switch_keeps_all_fed() {
    let around = format!("{MAIN}wire R from ahead to behind 16 mm2 1 m\n");
    assert_eq!(live(&around), ["warning M"]);
    let through = format!("{MAIN}switch S 100 A open\nbolt S.a to ahead\nbolt S.b to behind\n");
    assert_eq!(live(&through), ["warning M"], "a switch around it may be closed");
}

#[test]
fn what_another_main_switch_isolates_is_that_ones() {
    let two = format!("{MAIN}switch N 100 A main\nbolt N.a to ahead\n{}", load("", "N.b"));
    assert_eq!(live(&two), NONE);
}

#[test]
fn a_link_at_rest_to_another_battery_is_advice() {
    let linked = format!(
        "{MAIN}battery E lead-acid 12 V 100 Ah\nfuse G 40 A bolt-in\nswitch R 100 A open remote\nwire E1 from E.+ to G.line 16 mm2 0.1 m\n\
         wire E2 from G.load to R.a 16 mm2 1 m\nbolt R.b to ahead\nwire E3 from E.- to minus 16 mm2 1 m\n{}",
        load("", "G.load")
    );
    assert_eq!(live(&linked), ["advice M"], "the other battery's own load");
    assert_eq!(live(&linked.replace(" open remote", "")), ["warning M"]);
}

#[test]
fn what_others_can_still_feed_is_advice() {
    let charger = |from: &str| {
        format!(
            "{MAIN}charger K {from} out 12 V 5 A\nwire K1 from K.out+ to behind 4 mm2 1 m\nwire K2 from K.out- to minus 4 mm2 1 m\n"
        )
    };
    assert_eq!(live(&charger("from ac")), ["advice M"]);
    let fed = |at: &str| {
        charger("in 12 V 5 A isolated")
            + &format!("wire K3 from {at} to K.in+ 4 mm2 1 m\nwire K4 from K.in- to minus 4 mm2 1 m\n")
    };
    assert_eq!(live(&fed("behind")), NONE, "its own input is dead");
    assert_eq!(live(&fed("ahead")), ["advice M"]);
    let on_battery = charger("from ac").replace("to behind", "to ahead");
    assert_eq!(live(&on_battery), NONE, "it charges the isolated battery and nothing else");
}

#[test]
fn a_standby_load_behind_a_main_switch_loses_its_supply() {
    assert_eq!(lost(&format!("{MAIN}{}", load("standby", "behind"))), ["warning M"]);
    assert_eq!(lost(&format!("{MAIN}{}", load("standby", "ahead"))), NONE);
    assert_eq!(lost(&format!("{MAIN}{}", load("", "behind"))), NONE);
    let charger = "charger K from ac out 12 V 5 A\nwire K1 from K.out+ to behind 4 mm2 1 m\nwire K2 from K.out- to minus 4 mm2 1 m\n";
    assert_eq!(
        lost(&format!("{MAIN}{charger}{}", load("standby", "behind"))),
        ["warning M"],
        "a charger comes and goes"
    );
    let battery = "battery E lead-acid 12 V 20 Ah\nbreaker G 20 A\nwire E1 from E.+ to G.line 16 mm2 0.1 m\nwire E2 from G.load to behind 16 mm2 1 m\n\
                   wire E3 from E.- to minus 16 mm2 1 m\n";
    assert_eq!(
        lost(&format!("{MAIN}{battery}{}", load("standby", "behind"))),
        NONE,
        "another battery keeps it fed"
    );
}

#[test]
fn every_main_switch_on_its_way_is_named() {
    let two = format!("{MAIN}switch N 100 A main\nbolt N.a to behind\n{}", load("standby", "N.b"));
    assert_eq!(lost(&two), ["warning M", "warning N"]);
}

#[test]
fn a_standby_load_on_a_converter_needs_the_converters_input() {
    let converter = |at: &str| {
        format!(
            "{MAIN}charger K in 12 V 5 A out 24 V 2 A isolated\nwire K1 from {at} to K.in+ 4 mm2 1 m\nwire K2 from K.in- to minus 4 mm2 1 m\n\
             load X 24 V 1 A standby\nwire X1 from K.out+ to X.+ 4 mm2 1 m\nwire X2 from X.- to K.out- 4 mm2 1 m\n"
        )
    };
    assert_eq!(lost(&converter("behind")), ["warning M"]);
    assert_eq!(lost(&converter("ahead")), NONE);
}

#[test]
fn a_way_around_keeps_a_standby_load() {
    let around = format!("{MAIN}wire R from ahead to behind 16 mm2 1 m\n{}", load("standby", "behind"));
    assert_eq!(lost(&around), NONE);
}

#[test]
fn what_a_converter_feeds_on_is_advice_as_well() {
    let converter = |at: &str| {
        format!(
            "{MAIN}charger K in 12 V 5 A out 24 V 2 A isolated\nwire K1 from {at} to K.in+ 4 mm2 1 m\nwire K2 from K.in- to minus 4 mm2 1 m\n\
             load X 24 V 1 A\nwire X1 from K.out+ to X.+ 4 mm2 1 m\nwire X2 from X.- to K.out- 4 mm2 1 m\n"
        )
    };
    assert_eq!(live(&converter("ahead")), ["advice M"], "the battery feeds it through the converter");
    assert_eq!(live(&converter("behind")), NONE);
}
