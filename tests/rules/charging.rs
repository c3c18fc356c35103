//! Charging: voltages, currents and cold, at each boundary.

use super::{headline, subjects};

/// A battery on a charger, with what follows; `BATTERY` and `CHARGER` are what the statements say.
fn charged(battery: &str, charger: &str, more: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B {battery}\ncharger C {charger}\nfuse F 60 A\n\
         wire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to C.out+ 16 mm2 1 m\n\
         wire W3 from C.out- to B.- 16 mm2 1 m\n{more}\n"
    )
}

#[test]
fn absorption_at_either_limit_is_allowed() {
    // Gel at 12 V by the book: 13.8 V to 14.4 V; a string of two takes the double.
    for (volts, wrong) in [("13.79", true), ("13.8", false), ("14.4", false), ("14.41", true)] {
        let text =
            charged("gel 12 V 100 Ah", "from ac out 12 V 10 A", &format!("set C absorption {volts} V"));
        assert_eq!(subjects(&text, "charging.voltage") == ["C"], wrong, "{volts} V");
    }
}

#[test]
fn what_the_battery_states_prevails_over_the_book() {
    let set = |battery: &str, volts: &str| {
        let text = charged(battery, "from ac out 12 V 10 A", &format!("set C absorption {volts} V"));
        subjects(&text, "charging.voltage")
    };
    // Stated above the book's 14.4 V, and below the book's least of 13.8 V.
    assert!(set("gel 12 V 100 Ah full 14.6 V", "14.6").is_empty());
    assert!(set("gel 12 V 100 Ah full 13.6 V", "13.6").is_empty());
    assert_eq!(set("gel 12 V 100 Ah full 13.6 V", "13.7"), ["C"]);
}

#[test]
fn float_and_rated_voltage_are_held_to_the_upper_limit_alone() {
    let float = |volts: &str| {
        let more = format!("set C absorption 14.2 V\nset C float {volts} V");
        subjects(
            &charged("lifepo4 12 V 100 Ah full 14.2 V", "from ac out 12 V 10 A", &more),
            "charging.voltage",
        )
    };
    assert!(float("13").is_empty());
    assert_eq!(float("14.3"), ["C"]);
    let rated = |output: &str, more: &str| {
        let charger = format!("from ac out {output} 10 A");
        subjects(&charged("lifepo4 12 V 100 Ah full 14.2 V", &charger, more), "charging.voltage")
    };
    assert!(rated("12 V", "").is_empty());
    assert_eq!(rated("14.4 V", ""), ["C"]);
    assert!(rated("14.4 V", "set C absorption 14.2 V").is_empty());
    // Another nominal voltage is another rule's finding.
    assert!(rated("24 V", "set C absorption 28.4 V").is_empty());
}

#[test]
fn a_string_takes_the_sum_of_its_batteries() {
    let string = |volts: &str| {
        let text = format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery A agm 12 V 100 Ah full 14.4 V\n\
             battery B agm 12 V 100 Ah full 14.4 V\ncharger C from ac out 24 V 10 A\nfuse F 60 A\n\
             wire L from A.+ to B.- 16 mm2 0.2 m\nwire W1 from B.+ to F.line 16 mm2 0.1 m\n\
             wire W2 from F.load to C.out+ 16 mm2 1 m\nwire W3 from C.out- to A.- 16 mm2 1 m\n\
             set C absorption {volts} V\n"
        );
        (subjects(&text, "charging.voltage"), headline(&text, "charging.voltage"))
    };
    assert!(string("28.8").0.is_empty());
    assert!(string("28.2").0.is_empty());
    let (subjects, headline) = string("28.9");
    assert_eq!(subjects, ["C"]);
    assert!(
        headline.contains("28.9 V") && headline.contains("28.8 V") && headline.contains("A and B"),
        "{headline}"
    );
    assert_eq!(string("28.1").0, ["C"]);
}

#[test]
fn every_output_is_set_at_once() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery A agm 12 V 100 Ah\nbattery B gel 12 V 100 Ah\n\
                charger C from ac out 12 V 10 A outputs 2\nfuse F 60 A\nfuse G 60 A\n\
                wire W1 from A.+ to F.line 16 mm2 0.1 m\nwire W2 from F.load to C.out1+ 16 mm2 1 m\n\
                wire W3 from C.out- to A.- 16 mm2 1 m\nwire W4 from B.+ to G.line 16 mm2 0.1 m\n\
                wire W5 from G.load to C.out2+ 16 mm2 1 m\nwire W6 from C.out- to B.- 16 mm2 1 m\n\
                set C absorption 14.6 V\n";
    let headline = headline(text, "charging.voltage");
    assert_eq!(subjects(text, "charging.voltage"), ["C"]);
    assert!(headline.contains("B (gel) takes at most 14.4 V"), "{headline}");
}

#[test]
fn a_regulator_that_is_set_is_judged_like_a_charger() {
    let text = |volts: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B lifepo4 12 V 100 Ah full 14.2 V\n\
             alternator G 12 V 50 A\nfuse F 60 A\nwire W1 from B.+ to F.line 16 mm2 0.1 m\n\
             wire W2 from F.load to G.+ 16 mm2 1 m\nwire W3 from G.- to B.- 16 mm2 1 m\n{volts}\n"
        )
    };
    assert!(subjects(&text(""), "charging.voltage").is_empty());
    assert!(subjects(&text("set G absorption 14.2 V"), "charging.voltage").is_empty());
    assert_eq!(subjects(&text("set G absorption 14.4 V"), "charging.voltage"), ["G"]);
}

#[test]
fn a_charger_counts_with_what_it_is_set_to() {
    let sum = |battery: &str, more: &str| {
        subjects(&charged(battery, "from ac out 12 V 30 A", more), "charging.current")
    };
    assert!(sum("agm 12 V 100 Ah charge 30 A", "").is_empty());
    assert_eq!(sum("agm 12 V 100 Ah charge 29 A", ""), ["C"]);
    assert!(sum("agm 12 V 100 Ah charge 29 A", "set C current 29 A").is_empty());
    assert_eq!(sum("agm 12 V 100 Ah charge 29 A", "set C current 40 A"), ["C"]);
    // By the book 30 % of 100 Ah for AGM, 25 % for liquid acid.
    assert!(sum("agm 12 V 100 Ah", "").is_empty());
    assert_eq!(sum("lead-acid 12 V 100 Ah", ""), ["C"]);
}

#[test]
fn batteries_in_parallel_add_up_and_those_in_series_do_not() {
    let parallel = charged(
        "agm 12 V 100 Ah charge 15 A",
        "from ac out 12 V 30 A",
        "battery D agm 12 V 100 Ah charge 15 A\nwire L1 from B.+ to D.+ 16 mm2 0.2 m\nwire L2 from B.- to D.- 16 mm2 0.2 m",
    );
    assert!(subjects(&parallel, "charging.current").is_empty());
    let series = "design d \"Invented\"\nassume insulation 105 C\nbattery A agm 12 V 100 Ah charge 15 A\n\
                  battery B agm 12 V 100 Ah charge 20 A\ncharger C from ac out 24 V 16 A\nfuse F 60 A\n\
                  wire L from A.+ to B.- 16 mm2 0.2 m\nwire W1 from B.+ to F.line 16 mm2 0.1 m\n\
                  wire W2 from F.load to C.out+ 16 mm2 1 m\nwire W3 from C.out- to A.- 16 mm2 1 m\n";
    assert_eq!(subjects(series, "charging.current"), ["C"]);
    assert!(headline(series, "charging.current").contains("15 A"));
}

/// 36 V × 8 A × 2 strings at 95 % into 12 V: 45.6 A, of a charger for 60 A.
#[test]
fn a_solar_charger_gives_no_more_than_its_array() {
    let solar = |charge: &str, more: &str| {
        let text = charged(
            &format!("lifepo4 12 V 200 Ah cold-cutoff charge {charge} A"),
            "from solar in 30 A in-max 100 V out 12 V 60 A isolated efficiency 95 %",
            &format!(
                "solar S voc 44 V isc 9 A {more} strings 2\nwire S1 from S.+ to C.in+ 6 mm2 4 m\n\
                 wire S2 from S.- to C.in- 6 mm2 4 m"
            ),
        );
        subjects(&text, "charging.current")
    };
    assert!(solar("45.6", "vmp 36 V imp 8 A").is_empty());
    assert_eq!(solar("45.5", "vmp 36 V imp 8 A"), ["C"]);
    assert_eq!(solar("59", ""), ["C"], "without its figures the charger's rating counts");
}

/// Inputs of 40 A and 12 V × 30 A ÷ 12 V ÷ 0.9 = 33.3 A: 73.3 A, against 75 % of the alternator's maximum.
#[test]
fn inputs_add_up_against_the_alternator() {
    let text = |maximum: &str, more: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery A lead-acid 12 V 90 Ah\nalternator G 12 V {maximum} A\n\
             charger C in 12 V 40 A out 12 V 30 A isolated efficiency 90 %\ncharger D in 12 V out 12 V 30 A isolated efficiency 90 %\n\
             battery B agm 12 V 300 Ah charge 90 A\nfuse F 200 A\nfuse H 50 A\nfuse I 50 A\nfuse J 50 A\nfuse K 50 A\n\
             wire W1 from A.+ to F.line 50 mm2 0.1 m\nwire W2 from F.load to G.+ 50 mm2 1 m\nwire W3 from G.- to A.- 50 mm2 1 m\n\
             wire W4 from A.+ to H.line 16 mm2 0.1 m\nwire W5 from H.load to C.in+ 16 mm2 1 m\nwire W6 from C.in- to A.- 16 mm2 1 m\n\
             wire W7 from A.+ to I.line 16 mm2 0.1 m\nwire W8 from I.load to D.in+ 16 mm2 1 m\nwire W9 from D.in- to A.- 16 mm2 1 m\n\
             wire V1 from B.+ to J.line 16 mm2 0.1 m\nwire V2 from J.load to C.out+ 16 mm2 1 m\nwire V3 from C.out- to B.- 16 mm2 1 m\n\
             wire V4 from B.+ to K.line 16 mm2 0.1 m\nwire V5 from K.load to D.out+ 16 mm2 1 m\nwire V6 from D.out- to B.- 16 mm2 1 m\n\
             {more}\n"
        )
    };
    assert!(subjects(&text("98", ""), "charging.current").is_empty());
    assert_eq!(subjects(&text("97", ""), "charging.current"), ["C"]);
    // Set to 29 of 30 A, C takes 40 A × 29 / 30 = 38.7 A: 72 A in all, 75 % of 96 A.
    assert!(subjects(&text("96", "set C current 29 A"), "charging.current").is_empty());
    assert_eq!(subjects(&text("95", "set C current 29 A"), "charging.current"), ["C"]);
}

#[test]
fn an_alternator_that_feeds_the_battery_itself_is_not_counted() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 60 Ah\nalternator G 12 V 90 A\n\
                fuse F 120 A\nwire W1 from B.+ to F.line 35 mm2 0.1 m\nwire W2 from F.load to G.+ 35 mm2 1 m\n\
                wire W3 from G.- to B.- 35 mm2 1 m\n";
    assert!(subjects(text, "charging.current").is_empty());
}

#[test]
fn cold_charging_ends_at_either_cutoff_and_at_the_limit() {
    let cold = |battery: &str, charger: &str, more: &str| {
        let text = charged(
            &format!("lifepo4 12 V 100 Ah {battery}"),
            &format!("from ac out 12 V 10 A {charger}"),
            more,
        );
        subjects(&text, "charging.cold")
    };
    assert_eq!(cold("", "", ""), ["C"]);
    assert!(cold("cold-cutoff", "", "").is_empty());
    assert!(cold("", "cold-cutoff", "").is_empty());
    assert!(cold("", "", "limit temperature.lowest 0 C because \"heated\"").is_empty());
    assert_eq!(cold("", "", "limit temperature.lowest -1 C because \"mild\""), ["C"]);
    // A zone is stated by its warm side, unless that is colder still.
    assert_eq!(cold("zone Z", "", "zone Z ambient 30 C"), ["C"]);
    assert_eq!(
        cold("zone Z", "", "zone Z ambient -5 C\nlimit temperature.lowest 5 C because \"heated\""),
        ["C"]
    );
    assert!(subjects(&charged("agm 12 V 100 Ah", "from ac out 12 V 10 A", ""), "charging.cold").is_empty());
}
