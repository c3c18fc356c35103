//! The steady state against arithmetic by hand.

use ohmward::study::Regime;

use super::{Bench, close};

/// Resistance of 2.5 mm2 class 5 plain copper at 70 °C: 7.98 ohm/km at 20 °C (IEC 60228 table), 0.00393 a kelvin (IEC 60028).
const METRE_OF_2_5: f64 = 7.98e-3 * (1.0 + 0.00393 * 50.0);

const LAMP: &str = "design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V\nload lamp 12 V 36 W\n\
    fuse F 5 A blade volts 32 V breaks 1 kA\nwire W1 from B.+ to F.line 2.5 mm2 0.1 m\n\
    wire W2 from F.load to lamp.+ 2.5 mm2 2 m\nwire W3 from lamp.- to B.- 2.5 mm2 2 m\n";

#[test]
fn a_lamp_of_constant_power() {
    let bench = Bench::of(&format!("{LAMP}mode night {{\n  B 12.6 V\n  lamp on\n}}\n"));
    // The battery: 14.4 V / 800 A. Six ends of wires at 0.1 mohm.
    let ohms = 14.4 / 800.0 + 4.1 * METRE_OF_2_5 + 6.0 * 1e-4;
    // 36 = I (12.6 - I R): the smaller root.
    let amps = (12.6 - (12.6f64.powi(2) - 4.0 * ohms * 36.0).sqrt()) / (2.0 * ohms);
    close(bench.wire("night", "W2"), amps, 1e-9, "amperes");
    close(bench.across("night", "lamp.+", "lamp.-"), 36.0 / amps, 1e-9, "volts");
    bench.balanced();
}

#[test]
fn loads_of_current_and_of_resistance() {
    for (demand, of) in [("3 A", 0), ("4 ohm", 1)] {
        let text = LAMP.replace("36 W", demand);
        let bench = Bench::of(&format!("{text}mode night {{\n  B 12.6 V\n  lamp on\n}}\n"));
        let ohms = 14.4 / 800.0 + 4.1 * METRE_OF_2_5 + 6.0 * 1e-4;
        let amps = if of == 0 { 3.0 } else { 12.6 / (4.0 + ohms) };
        close(bench.wire("night", "W2"), amps, 1e-9, demand);
        bench.balanced();
    }
}

const BOOST: &str = "design d \"Invented\"\nbattery crank lead-acid 12 V 80 Ah fault 1 kA full 14.4 V\n\
    battery house lifepo4 12 V 200 Ah resistance 5 mohm full 14.4 V\n\
    charger booster in 12 V 40 A out 12 V 25 A isolated efficiency 90 %\nmeter tally 300 A 50 mV counts house\n\
    wire W1 from crank.+ to booster.in+ 16 mm2 4 m\nwire W2 from booster.in- to crank.- 16 mm2 4 m\n\
    wire W3 from booster.out+ to house.+ 10 mm2 1 m\nwire W4 from booster.out- to tally.sys 10 mm2 1 m\n\
    wire W5 from tally.bat to house.- 35 mm2 0.3 m\n";

#[test]
fn a_charger_gives_its_current_until_its_voltage() {
    let bench = Bench::of(&format!(
        "{BOOST}mode low {{\n  crank 13 V\n  house 13.3 V\n  booster on\n}}\nmode high {{\n  crank 13 V\n  house 14.35 V\n  booster on\n}}\n\
         mode over {{\n  house 14.5 V\n  booster on\n}}\n"
    ));
    bench.balanced();
    close(bench.wire("low", "W3"), 25.0, 1e-12, "all it can");
    close(bench.wire("low", "W4"), -25.0, 1e-9, "and back");
    close(bench.reads("low", "tally"), 25.0, 1e-9, "what charges the battery reads positive");
    // Input: what the output takes, over 90 %.
    let out = bench.across("low", "booster.out+", "booster.out-") * 25.0;
    let input = bench.across("low", "booster.in+", "booster.in-") * bench.wire("low", "W1");
    close(input, out / 0.9, 1e-9, "input power");
    // Near full it holds 14.4 V: the current follows from what lies between.
    let factor = 1.0 + 0.00393 * 50.0;
    let ohms = 5e-3 + (2.0 * 1.91e-3 + 0.3 * 0.554e-3) * factor + 6e-4 + 0.05 / 300.0;
    close(bench.wire("high", "W3"), 0.05 / ohms, 1e-6, "holding");
    close(bench.across("high", "booster.out+", "booster.out-"), 14.4, 1e-12, "its voltage");
    assert_eq!(bench.mode("over").solution.as_ref().unwrap().regime, [Regime::Idle]);
    close(bench.wire("over", "W3").abs() + 1.0, 1.0, 1e-9, "nothing flows back");
}

#[test]
fn an_input_at_its_limit_gives_less() {
    let text = BOOST.replace("in 12 V 40 A", "in 12 V 20 A");
    let bench = Bench::of(&format!("{text}mode low {{\n  crank 13 V\n  house 13.3 V\n  booster on\n}}\n"));
    close(bench.wire("low", "W1"), 20.0, 1e-9, "input current");
    let out = bench.across("low", "booster.out+", "booster.out-") * bench.wire("low", "W3");
    close(out, 0.9 * 20.0 * bench.across("low", "booster.in+", "booster.in-"), 1e-9, "output power");
    bench.balanced();
}

#[test]
fn a_converter_without_a_battery_holds_its_voltage() {
    let text = "design d \"Invented\"\nbattery house lifepo4 24 V 100 Ah fault 3 kA full 28.8 V\n\
        charger step in 24 V out 12 V 20 A isolated efficiency 90 %\nload lamp 12 V 60 W\n\
        wire W1 from house.+ to step.in+ 4 mm2 1 m\nwire W2 from step.in- to house.- 4 mm2 1 m\n\
        wire W3 from step.out+ to lamp.+ 2.5 mm2 1 m\nwire W4 from lamp.- to step.out- 2.5 mm2 1 m\n";
    let bench = Bench::of(&format!(
        "{text}mode on-it {{\n  house 26 V\n  step on\n  lamp on\n}}\nmode too-much {{\n  step on\n  lamp 400 W\n}}\n\
        mode dark {{\n  lamp on\n}}\n"
    ));
    close(bench.across("on-it", "step.out+", "step.out-"), 12.0, 1e-12, "its voltage");
    bench.balanced();
    assert!(bench.mode("too-much").solution.is_err());
    let dark = bench.mode("dark").solution.as_ref().unwrap();
    assert_eq!((dark.unfed.len(), dark.taker[0]), (1, 0.0));
}

#[test]
fn a_load_that_nothing_can_feed() {
    let bench = Bench::of(&format!("{LAMP}mode night {{\n  lamp 3000 W\n}}\n"));
    assert!(bench.mode("night").solution.is_err());
    // The most that a source of 12 V gives through R is V²/4R; just below it there is a solution.
    let ohms = 14.4 / 800.0 + 4.1 * METRE_OF_2_5 + 6.0 * 1e-4;
    let most = 144.0 / (4.0 * ohms);
    for (watts, solved) in [(most * 0.99, true), (most * 1.01, false)] {
        let bench = Bench::of(&format!("{LAMP}mode night {{\n  lamp {watts:.3} W\n}}\n"));
        assert_eq!(bench.mode("night").solution.is_ok(), solved, "{watts} W of {most} W");
    }
}

/// Given currents of a mode by name.
fn gives(bench: &Bench, mode: &str, name: &str) -> f64 {
    let study = bench.mode(mode);
    let is = |at: &usize| bench.design.components[study.elements.givers[*at].component].name == name;
    let at = (0..study.elements.givers.len()).find(is).expect("the source");
    study.solution.as_ref().expect("a solution").giver[at].iter().sum()
}

/// Outputs that only joints lie between hold one voltage together: they share in proportion to their ratings.
#[test]
fn what_holds_together_shares_by_rating() {
    let text = "design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah resistance 5 mohm\nbar plus M8 x 6 250 A\n\
        alternator A1 12 V 100 A\nalternator A2 12 V 50 A\nbolt A1.+ to plus\nbolt A2.+ to plus\nbolt A1.- to B.-\nbolt A2.- to B.-\n\
        wire W1 from plus to B.+ 16 mm2 1 m\nload lamp 12 V 36 W\nwire W2 from plus to lamp.+ 2.5 mm2 1 m\n\
        wire W3 from lamp.- to B.- 2.5 mm2 1 m\nmode topped {\n  B 14.1 V\n  A1 14.4 V\n  A2 14.4 V\n}\n\
        mode both {\n  B 14.1 V\n  A1 14.4 V\n  A2 14.4 V\n  lamp on\n}\nmode low {\n  B 12 V\n  A1 14.4 V\n  A2 14.4 V\n}\n\
        mode apart {\n  B 14.1 V\n  A1 14.3 V\n  A2 14.4 V\n}\n";
    let bench = Bench::of(text);
    bench.balanced();
    // 1.21 ohm/km of 16 mm2 class 5 at 20 °C (IEC 60228); two ends at 0.1 mohm. The larger one holds 14.4 V; two thirds
    // pass its two bolts.
    let wire = 1.21e-3 * (1.0 + 0.00393 * 50.0) + 2e-4;
    let amps = 0.3 / (5e-3 + wire + 2.0 / 3.0 * 2e-4);
    close(bench.wire("topped", "W1"), amps, 1e-9, "into the battery");
    for mode in ["topped", "both"] {
        close(gives(&bench, mode, "A1"), 2.0 * gives(&bench, mode, "A2"), 1e-9, mode);
        close(bench.across(mode, "A1.+", "A1.-"), 14.4, 1e-12, mode);
    }
    let sum = bench.wire("both", "W1") + bench.wire("both", "W2");
    close(gives(&bench, "both", "A1") + gives(&bench, "both", "A2"), sum, 1e-9, "all of it");
    close(gives(&bench, "low", "A1"), 100.0, 1e-12, "all that it can");
    close(gives(&bench, "low", "A2"), 50.0, 1e-12, "all that it can");
    assert!(gives(&bench, "apart", "A1") < gives(&bench, "apart", "A2"));
}

/// The same without a battery, and through chargers with inputs of their own.
#[test]
fn chargers_share_a_load_by_rating() {
    let text = "design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah resistance 5 mohm\nbar plus M8 x 6 250 A\nbar minus M8 x 6 250 A\n\
        charger C1 in 12 V out 24 V 30 A isolated efficiency 90 %\ncharger C2 in 12 V out 24 V 10 A isolated efficiency 90 %\n\
        load lamp 24 V 20 A\n\
        wire I1 from B.+ to C1.in+ 35 mm2 1 m\nwire J1 from C1.in- to B.- 35 mm2 1 m\n\
        wire I2 from B.+ to C2.in+ 35 mm2 1 m\nwire J2 from C2.in- to B.- 35 mm2 1 m\n\
        bolt C1.out+ to plus\nbolt C2.out+ to plus\nbolt C1.out- to minus\nbolt C2.out- to minus\n\
        wire W2 from plus to lamp.+ 6 mm2 1 m\nwire W3 from lamp.- to minus 6 mm2 1 m\n\
        mode on-it {\n  B 13 V\n  C1 on\n  C2 on\n  lamp on\n}\nmode topped {\n  C1 on\n  C2 on\n  lamp 40 A\n}\n\
        mode over {\n  C1 on\n  C2 on\n  lamp 41 A\n}\n";
    let bench = Bench::of(text);
    bench.balanced();
    close(gives(&bench, "on-it", "C1"), 15.0, 1e-9, "three quarters");
    close(gives(&bench, "on-it", "C2"), 5.0, 1e-9, "one quarter");
    let taken = bench.across("on-it", "C2.in+", "C2.in-") * bench.wire("on-it", "I2");
    close(taken * 0.9, 5.0 * bench.across("on-it", "C2.out+", "C2.out-"), 1e-9, "and draws for it");
    close(gives(&bench, "topped", "C2"), 10.0, 1e-6, "all of both");
    assert!(bench.mode("over").solution.is_err());
}
