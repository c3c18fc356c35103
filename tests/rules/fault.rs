//! Corners of the rules that ask what a fault draws and when devices open.

use super::{found, own, subjects, told};
use ohmward::findings::{Finding, Value};

const BREAKING: &str = "protection.breaking-capacity";
const SLOW: &str = "protection.slow";
const SELECTIVITY: &str = "protection.selectivity";
const POLARITY: &str = "protection.polarity";

fn head(rest: &str) -> String {
    format!("design d \"Invented\"\nassume insulation 105 C\n{rest}")
}

fn number(finding: &Finding, key: &str) -> f64 {
    match finding.values.get(key) {
        Some(Value::Number(number)) => *number,
        other => panic!("{key}: {other:?}"),
    }
}

/// A lamp behind a fuse that is bolted to a battery, so that the fault at the fuse is the battery's own.
fn at_the_battery(source: &str, fuse: &str) -> String {
    head(&format!(
        "{source}\nload lamp 12 V 12 W\nfuse F {fuse}\nbolt B.+ to F.line\n\
         wire W2 from F.load to lamp.+ 2.5 mm2 2 m\nwire W3 from lamp.- to B.- 2.5 mm2 2 m\n"
    ))
}

const BATTERY: &str = "battery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V";

#[test]
fn a_device_that_just_breaks_the_fault_will_do() {
    let judged = |fuse: &str| found(BREAKING, &at_the_battery(BATTERY, fuse));
    assert!(judged("5 A blade volts 32 V breaks 800 A").is_empty());
    assert_eq!(judged("5 A blade volts 32 V breaks 799 A"), ["error F"]);
    let short = own(BREAKING, &at_the_battery(BATTERY, "5 A blade volts 32 V breaks 799 A")).remove(0);
    assert!((number(&short, "fault_a") - 800.0).abs() < 1e-6);
    assert_eq!((number(&short, "breaks_a"), number(&short, "rated_v")), (799.0, 32.0));
}

#[test]
fn what_counts_is_the_figure_for_the_voltage() {
    let judged = |fuse: &str| found(BREAKING, &at_the_battery(BATTERY, fuse));
    // 14.4 V is above 14 V: the next figure up counts, and a figure for a higher voltage holds below it.
    assert!(judged("40 A terminal-block volts 58 V breaks 700 A at 14 V breaks 900 A at 32 V").is_empty());
    assert_eq!(
        judged("40 A terminal-block volts 58 V breaks 2 kA at 14 V breaks 700 A at 32 V"),
        ["error F"]
    );
    // None stated for the voltage, or none at all: the book's for the type.
    assert!(judged("5 A blade").is_empty());
    let strong = "battery B lifepo4 12 V 100 Ah fault 3 kA full 14.4 V";
    assert_eq!(found(BREAKING, &at_the_battery(strong, "5 A blade")), ["error F"]);
    assert!(found(BREAKING, &at_the_battery(strong, "5 A class-t")).is_empty());
    // Nothing tells of a breaker, or of a fuse without a type.
    assert!(found(BREAKING, &at_the_battery(strong, "5 A")).is_empty());
    // Above the rated voltage the network's voltage is the finding.
    let high = "battery B lifepo4 48 V 100 Ah fault 3 kA full 57.6 V";
    let text = at_the_battery(high, "5 A blade volts 32 V breaks 1 kA");
    assert!(found(BREAKING, &text).is_empty());
    assert_eq!(subjects(&text, "protection.voltage"), ["F"]);
    assert_eq!(found(BREAKING, &at_the_battery(high, "5 A blade volts 58 V breaks 1 kA")), ["error F"]);
}

#[test]
fn strings_do_not_add_and_banks_do() {
    let pair = |joined: &str, battery: &str| {
        head(&format!(
            "battery A {battery}\nbattery B {battery}\nload lamp 24 V 12 W\n\
             fuse F 5 A blade volts 32 V breaks 1 kA\n{joined}bolt B.+ to F.line\n\
             wire W2 from F.load to lamp.+ 2.5 mm2 2 m\nwire W3 from lamp.- to A.- 2.5 mm2 2 m\n"
        ))
    };
    let twelve = "lead-acid 12 V 100 Ah fault 800 A full 14.4 V";
    assert!(found(BREAKING, &pair("bolt A.+ to B.-\n", twelve)).is_empty(), "in series 800 A");
    let twice = own(
        BREAKING,
        &pair("bolt A.+ to B.+\nbolt A.- to B.-\n", "lead-acid 24 V 100 Ah fault 800 A full 28.8 V"),
    );
    assert!((number(&twice[0], "fault_a") - 1600.0).abs() < 1e-6, "side by side 1.6 kA");
}

#[test]
fn limited_sources_break_nothing() {
    let text = |source: &str| {
        head(&format!(
            "{source}\nload lamp 12 V 12 W\nfuse F 5 A blade volts 32 V breaks 100 A\n\
             wire W1 from S.+ to F.line 2.5 mm2 0.1 m\nwire W2 from F.load to lamp.+ 0.75 mm2 40 m\n\
             wire W3 from lamp.- to S.- 0.75 mm2 40 m\n"
        ))
    };
    for source in
        ["supply S 12 V 10 A", "supply S 12 V 10 A fused 15 A fault 500 A", "solar S voc 22 V isc 6 A"]
    {
        for rule in [BREAKING, SLOW, SELECTIVITY] {
            assert!(found(rule, &text(source)).is_empty(), "{source}: {rule}");
        }
    }
    let unlimited = text("supply S 12 V 10 A fault 500 A");
    assert_eq!(found(BREAKING, &unlimited), ["error F"]);
    assert_eq!(found(SLOW, &unlimited), Vec::<String>::new(), "7 A does open 5 A");
}

/// A main fuse at the battery, and a blade fuse on the bar behind it.
fn backed(more: &str) -> String {
    head(&format!(
        "battery B lifepo4 12 V 200 Ah fault 5 kA full 14.4 V\nload lamp 12 V 12 W\nbar rail M8 x 4 300 A\n\
         fuse FM 100 A class-t volts 125 V breaks 20 kA\nfuse F 5 A blade volts 32 V breaks 1 kA on rail\n\
         wire W1 from B.+ to FM.line 35 mm2 0.1 m\nwire W2 from FM.load to rail 35 mm2 0.3 m\n\
         wire W3 from F.load to lamp.+ 2.5 mm2 2 m\nwire W4 from lamp.- to B.- 2.5 mm2 2 m\n{more}"
    ))
}

#[test]
fn a_back_up_on_every_way_makes_it_advice() {
    assert_eq!(found(BREAKING, &backed("")), ["advice F"]);
    let told = told(BREAKING, &backed("")).remove(0);
    assert!(told.contains("FM backs it up"), "{told}");
    // A second battery that feeds the bar past the main fuse through a device that breaks too little itself.
    let second = "battery C lifepo4 12 V 200 Ah fault 5 kA full 14.4 V\nfuse G 30 A bolt-in volts 32 V breaks 2 kA\n\
                  wire V1 from C.+ to G.line 10 mm2 0.1 m\nwire V2 from G.load to rail 10 mm2 0.3 m\n\
                  wire V3 from C.- to B.- 35 mm2 0.5 m\n";
    assert_eq!(found(BREAKING, &backed(second)), ["error F", "error G"]);
    // The same through a device that does: both are named.
    let strong = second.replace("bolt-in volts 32 V breaks 2 kA", "class-t volts 125 V breaks 20 kA");
    assert_eq!(found(BREAKING, &backed(&strong)), ["advice F"]);
    let told = super::told(BREAKING, &backed(&strong)).remove(0);
    assert!(told.contains("FM and G back it up"), "{told}");
    // A branch that breaks enough but feeds nothing back is no back-up.
    let branch = "load fan 12 V 12 W\nfuse H 10 A class-t volts 125 V breaks 20 kA on rail\n\
                  wire V1 from H.load to fan.+ 2.5 mm2 1 m\nwire V2 from fan.- to B.- 2.5 mm2 1 m\n";
    let told = super::told(BREAKING, &backed(branch)).remove(0);
    assert!(told.ends_with("it breaks 1 kA: FM backs it up"), "{told}");
}

/// A lamp at the end of a wire of so many metres out and as many back.
fn jetty(fuse: &str, size: &str, metres: f64, more: &str) -> String {
    head(&format!(
        "{BATTERY}\nload lamp 12 V 2 W\nfuse F {fuse}\nwire W1 from B.+ to F.line {size} 0.1 m\n\
         wire W2 from F.load to lamp.+ {size} {metres} m {more}\nwire W3 from lamp.- to B.- {size} {metres} m {more}\n"
    ))
}

#[test]
fn a_fault_too_small_to_open_a_fuse() {
    // Hot 0.75 mm2 has 31.1 mohm/m: 40 m and the battery's 18 mohm draw 8.3 A of 10.5 V; the fault is to the battery's negative.
    let text = jetty("10 A blade volts 32 V breaks 1 kA", "0.75 mm2", 40.0, "");
    let finding = own(SLOW, &text).remove(0);
    assert_eq!(finding.subject, "W2");
    let metre = 26.0e-3 * (1.0 + 0.00393 * 50.0);
    let expected = 10.5 / (14.4 / 800.0 + 40.1 * metre + 4.0 * 1e-4);
    assert!((number(&finding, "fault_a") / expected - 1.0).abs() < 1e-9, "{}", number(&finding, "fault_a"));
    assert_eq!(number(&finding, "suggested_a"), 5.0);
    // What is suggested does.
    assert!(own(SLOW, &jetty("5 A blade volts 32 V breaks 1 kA", "0.75 mm2", 40.0, "")).is_empty());
    let suggested = number(&finding, "suggested_mm2");
    assert!(
        own(SLOW, &jetty("10 A blade volts 32 V breaks 1 kA", &format!("{suggested} mm2"), 40.0, ""))
            .is_empty()
    );
    // Two conductors side by side draw nearly twice as much: the fuse opens for 16 A.
    assert!(own(SLOW, &jetty("10 A blade volts 32 V breaks 1 kA", "0.75 mm2", 40.0, "count 2")).is_empty());
    // A device that no gate tells of stays closed below its rating, and above it is not judged.
    assert_eq!(subjects(&jetty("10 A class-t", "0.75 mm2", 40.0, ""), SLOW), ["W2"]);
    assert!(subjects(&jetty("8 A", "0.75 mm2", 40.0, ""), SLOW).is_empty());
    assert_eq!(subjects(&jetty("9 A", "0.75 mm2", 40.0, ""), SLOW), ["W2"]);
}

#[test]
fn a_fuse_that_opens_too_late() {
    // 30 A of type E lets 36 x 30² A²s pass past its last gate; 1 mm2 of 105 C bears 87.4².
    let text = jetty("30 A blade volts 32 V breaks 1 kA", "1 mm2", 0.5, "");
    let finding = own(SLOW, &text).into_iter().find(|row| row.subject == "W2").expect("W2");
    assert!((number(&finding, "i2t_a2s") - 32_400.0).abs() < 1e-6);
    assert!((number(&finding, "withstand_a2s") - 87.4_f64.powi(2)).abs() < 1e-6);
    let (fault, opens) = (number(&finding, "fault_a"), number(&finding, "opens_s"));
    assert!((fault * fault * opens / 32_400.0 - 1.0).abs() < 1e-9);
    // An I2t that is stated counts in place of the gate's, and what just bears it will do: 87.4² = 7638.76.
    let stated = |i2t: &str| subjects(&jetty(&format!("30 A blade i2t {i2t}"), "1 mm2", 0.5, ""), SLOW);
    assert!(stated("7.63876 kA2s").is_empty());
    assert_eq!(stated("7638.8 A²s"), ["W2"]);
}

#[test]
fn one_of_two_in_series_is_enough() {
    // The breaker at the lamp tells nothing and stays closed below 20 A; the fuse ahead of it does.
    let text = |fuse: &str| {
        head(&format!(
            "{BATTERY}\nload lamp 12 V 2 W\nfuse F {fuse}\nbreaker K 20 A volts 32 V breaks 1 kA\n\
             wire W1 from B.+ to F.line 0.75 mm2 0.1 m\nbolt F.load to K.line\n\
             wire W2 from K.load to lamp.+ 0.75 mm2 40 m\nwire W3 from lamp.- to B.- 0.75 mm2 40 m\n"
        ))
    };
    assert!(subjects(&text("3 A blade volts 32 V breaks 1 kA"), SLOW).is_empty());
    assert_eq!(subjects(&text("10 A blade volts 32 V breaks 1 kA"), SLOW), ["W2"]);
}

#[test]
fn two_fuses_that_feed_one_bar_have_to_open_both() {
    let text = head(
        "battery B lead-acid 12 V 100 Ah fault 2 kA full 14.4 V\nload lamp 12 V 2 W\nbar rail M8 x 4 300 A\n\
         fuse F1 60 A bolt-in volts 32 V breaks 2 kA\nfuse F2 60 A bolt-in volts 32 V breaks 2 kA\n\
         wire A1 from B.+ to F1.line 16 mm2 0.1 m\nwire A2 from B.+ to F2.line 16 mm2 0.1 m\n\
         wire A3 from F1.load to rail 16 mm2 0.3 m\nwire A4 from F2.load to rail 16 mm2 0.3 m\n\
         wire W2 from rail to lamp.+ 2.5 mm2 8 m\nwire W3 from lamp.- to B.- 2.5 mm2 8 m\n",
    );
    let finding = own(SLOW, &text).into_iter().find(|row| row.subject == "W2").expect("W2");
    assert_eq!(finding.values.get("devices"), Some(&Value::Texts(vec!["F1".into(), "F2".into()])));
    // Together 120 A: about 122 A is below the first gate of 60 A each at 150 %.
    assert!(finding.headline.contains("F1 and F2 are not sure to open"), "{}", finding.headline);
}

#[test]
fn a_wire_between_two_batteries_is_judged_from_both() {
    let text = |rating: f64| {
        head(&format!(
            "battery A lead-acid 12 V 100 Ah fault 800 A full 14.4 V\nbattery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V\n\
             fuse F1 {rating} A blade volts 32 V breaks 2 kA\nfuse F2 15 A blade volts 32 V breaks 2 kA\n\
             wire W1 from A.+ to F1.line 4 mm2 0.1 m\nwire W2 from F1.load to F2.load 4 mm2 24 m\n\
             wire W3 from B.+ to F2.line 4 mm2 0.1 m\nwire W4 from A.- to B.- 16 mm2 24 m\n"
        ))
    };
    assert!(subjects(&text(15.0), SLOW).is_empty());
    // A fault at F2 draws 65 A or so from A through W2: 60 A is not sure to open, whatever F2 does.
    let finding = own(SLOW, &text(60.0)).remove(0);
    assert_eq!(finding.subject, "W2");
    assert!(
        finding.headline.contains("at F2.load") && finding.headline.contains("F1 is not sure"),
        "{}",
        finding.headline
    );
}

#[test]
fn a_stalled_motor_has_to_open_its_device() {
    let text = |stall: &str| {
        head(&format!(
            "{BATTERY}\nload pump 12 V 5 A motor {stall}\nfuse F 10 A blade volts 32 V breaks 1 kA\n\
             wire W1 from B.+ to F.line 2.5 mm2 0.1 m\nwire W2 from F.load to pump.+ 2.5 mm2 2 m\n\
             wire W3 from pump.- to B.- 2.5 mm2 2 m\n"
        ))
    };
    // The first gate is at 135 %: 13.5 A opens it within ten minutes, less may not.
    assert!(subjects(&text("stall 13.5 A"), SLOW).is_empty());
    let finding = own(SLOW, &text("stall 13 A")).remove(0);
    assert_eq!(finding.subject, "W2");
    assert_eq!(finding.headline, "pump stalled draws 13 A through W2, at which F is not sure to open");
    assert_eq!(number(&finding, "suggested_a"), 7.5);
    assert!(subjects(&text(""), SLOW).is_empty(), "not stated, not judged");
}

/// A main device, a branch with one behind it, and another branch.
fn branches(main: &str, branch: &str, more: &str) -> String {
    head(&format!(
        "battery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V\nload lamp 12 V 12 W\nbar rail M8 x 4 300 A\n\
         {main}\n{branch} on rail\nwire W1 from B.+ to F1.line 70 mm2 0.1 m\nwire W2 from F1.load to rail 70 mm2 0.3 m\n\
         wire W3 from F2.load to lamp.+ 35 mm2 2 m\nwire W4 from lamp.- to B.- 35 mm2 2 m\n{more}"
    ))
}

const OTHER: &str =
    "load fan 12 V 12 W\nwire V1 from rail to fan.+ 70 mm2 0.1 m\nwire V2 from fan.- to B.- 16 mm2 1 m\n";

#[test]
fn from_the_book_s_ratio_on_the_nearer_device_opens_first() {
    let judged = |main: &str, branch: &str| {
        subjects(&branches(&format!("fuse F1 {main}"), &format!("fuse F2 {branch}"), OTHER), SELECTIVITY)
    };
    assert!(judged("200 A class-t", "125 A class-t").is_empty(), "exactly 1.6");
    assert_eq!(judged("175 A class-t", "110 A class-t"), ["F1"], "1.59");
    assert_eq!(judged("100 A class-t", "100 A class-t"), ["F1"]);
    // Two types with gates: the I2t tell. 20 A of type E lets 14.4 kA²s pass; 60 A of SF30 bears 9 kA²s, 400 A of SF51 576 kA²s.
    assert_eq!(judged("60 A bolt-in", "20 A blade"), ["F1"]);
    assert!(judged("60 A bolt-in", "15 A blade").is_empty());
    assert!(judged("400 A bolt-in", "100 A blade").is_empty());
    let finding = own(SELECTIVITY, &branches("fuse F1 60 A bolt-in", "fuse F2 20 A blade", OTHER)).remove(0);
    assert!((number(&finding, "i2t_a2s") - 14_400.0).abs() < 1e-6);
    assert!((number(&finding, "bears_a2s") - 9_000.0).abs() < 1e-6);
    // Breakers by their ratings.
    let breakers = |main: f64| branches(&format!("breaker F1 {main} A"), "breaker F2 20 A", OTHER);
    assert_eq!(subjects(&breakers(30.0), SELECTIVITY), ["F1"]);
    assert!(subjects(&breakers(32.0), SELECTIVITY).is_empty());
}

#[test]
fn a_device_that_feeds_nothing_else_takes_nothing_down() {
    let alone = branches("fuse F1 100 A class-t", "fuse F2 100 A class-t", "");
    assert!(subjects(&alone, SELECTIVITY).is_empty());
    // Fuses at both ends of a cable between two batteries are meant to be alike.
    let between = head(
        "battery A lead-acid 12 V 100 Ah fault 800 A full 14.4 V\nbattery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V\n\
         load lamp 12 V 12 W\nload fan 12 V 12 W\nfuse F1 60 A bolt-in\nfuse F2 60 A bolt-in\n\
         wire W1 from A.+ to F1.line 16 mm2 0.1 m\nwire W2 from F1.load to F2.load 16 mm2 4 m\n\
         wire W3 from B.+ to F2.line 16 mm2 0.1 m\nwire W4 from A.- to B.- 16 mm2 4 m\n\
         wire V1 from F1.load to lamp.+ 16 mm2 1 m\nwire V2 from lamp.- to A.- 16 mm2 1 m\n\
         wire V3 from F2.load to fan.+ 16 mm2 1 m\nwire V4 from fan.- to B.- 16 mm2 1 m\n",
    );
    assert!(subjects(&between, SELECTIVITY).is_empty());
}

/// A polarised breaker between two batteries, its line side at A.
fn polarised(at_a: &str, at_b: &str, metres: f64) -> String {
    head(&format!(
        "battery A lead-acid 12 V 100 Ah {at_a} full 14.4 V\nbattery B lead-acid 12 V 100 Ah {at_b} full 14.4 V\n\
         breaker K 60 A polarised volts 32 V breaks 3 kA\nwire W1 from A.+ to K.line 16 mm2 {metres} m\n\
         wire W2 from K.load to B.+ 16 mm2 0.1 m\nwire W3 from A.- to B.- 50 mm2 0.5 m\n"
    ))
}

#[test]
fn what_comes_through_a_polarised_breaker_is_computed_with_its_wires() {
    assert!(subjects(&polarised("fault 1.5 kA", "fault 800 A", 0.1), POLARITY).is_empty());
    // The larger battery is so far away that less comes from it than from the small one next to the breaker.
    let far = own(POLARITY, &polarised("fault 1.5 kA", "fault 800 A", 12.0)).remove(0);
    let (line, load) = (number(&far, "line_side_a"), number(&far, "load_side_a"));
    // 1.21 ohm/km of 16 mm2 class 5 at 20 °C (IEC 60228).
    let from_a = 14.4 / (14.4 / 1500.0 + 12.0 * 1.21e-3 + 0.5 * 0.386e-3);
    assert!((line / from_a - 1.0).abs() < 0.05, "{line} of {from_a}");
    assert!((load - 14.4 / (14.4 / 800.0 + 0.1 * 1.21e-3)).abs() < 0.02 * load, "{load}");
    assert!(
        subjects(&polarised("fault 800 A", "fault 800 A", 0.1), POLARITY).is_empty(),
        "alike from both sides"
    );
}
