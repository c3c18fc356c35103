//! One open return connection against arithmetic by hand.

use ohmward::check::{StudyOptions, study};
use ohmward::study::{EffectFigures, FailureFigures};
use ohmward::text::MemoryFiles;

use super::close;

fn failures(text: &str) -> FailureFigures {
    let files = MemoryFiles::default().with("it.loom", text);
    let studied = study("it.loom", &files, &StudyOptions { failures: true, ..StudyOptions::default() });
    assert!(studied.problems.is_empty(), "{:?}", studied.problems);
    studied.figures.and_then(|figures| figures.failures).expect("failures")
}

fn effects<'f>(failures: &'f FailureFigures, name: &str) -> &'f [EffectFigures] {
    &failures.opened.iter().find(|one| one.name == name).expect("the connection").effects
}

/// Ohms of a metre at 70 C, class 5 plain copper: IEC 60228 at 20 C, 0.00393 a kelvin (IEC 60028).
fn metre(at_20: f64) -> f64 {
    at_20 * (1.0 + 0.00393 * 50.0)
}

#[test]
fn three_wires_in_parallel_by_hand() {
    // A lamp of 0.12 ohm returns by 10, 2.5 and 1.5 mm2 side by side, each 2 m with two contacts of 0.1 mohm.
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah resistance 10 mohm full 14.4 V\n\
        load lamp 12 V 0.12 ohm\nwire P from B.+ to lamp.+ 35 mm2 1 m\nwire A from lamp.- to B.- 10 mm2 2 m\n\
        wire C from lamp.- to B.- 2.5 mm2 2 m\nwire D from lamp.- to B.- 1.5 mm2 2 m\nmode lit {\n  B 12 V\n  lamp on\n}\n";
    let ohms = |at_20: f64| 2.0 * metre(at_20) + 2e-4;
    let (a, c, d) = (ohms(1.91e-3), ohms(7.98e-3), ohms(13.3e-3));
    let feed = 0.12 + 0.010 + metre(0.554e-3) + 2e-4;
    let amps = |ways: &[f64]| {
        let together = 1.0 / ways.iter().map(|one| 1.0 / one).sum::<f64>();
        let all = 12.0 / (feed + together);
        ways.iter().map(|one| all * together / one).collect::<Vec<f64>>()
    };
    let failures = failures(text);
    // With A open the two thin ones share by conductance; both are beyond their ampacity then, and only then.
    let expected = amps(&[c, d]);
    let effect = &effects(&failures, "A")[0];
    let carried: Vec<(&str, f64)> =
        effect.overloads.iter().map(|row| (row.0.as_str(), row.1.as_amps())).collect();
    let before = amps(&[a, c, d]);
    assert_eq!(carried.iter().map(|row| row.0).collect::<Vec<_>>(), ["C", "D"]);
    for ((name, found), (expected, before)) in carried.iter().zip(expected.iter().zip(&before[1..])) {
        close(*found, *expected, 1e-9, name);
        assert!(before < expected);
    }
    let ampacity = |name: &str| effect.overloads.iter().find(|row| row.0 == name).map(|row| row.2.as_amps());
    assert!(ampacity("D").is_some_and(|most| most < expected[1]), "{carried:?} {expected:?}");
    // With D open the rest carries on within its ampacity.
    assert!(effects(&failures, "D").iter().all(|effect| effect.overloads.is_empty()));
}

#[test]
fn what_lies_behind_a_single_wire_stops() {
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V\n\
        load lamp 12 V 36 W\nload fan 12 V 2 A\nmeter tally 100 A 50 mV counts B\nbar minus M8 x 4 200 A\n\
        wire P from B.+ to lamp.+ 4 mm2 1 m\nwire Q from B.+ to fan.+ 4 mm2 1 m\nwire A from lamp.- to minus 4 mm2 1 m\n\
        wire C from fan.- to minus 4 mm2 1 m\nwire D from minus to tally.sys 4 mm2 1 m\nwire E from tally.bat to B.- 4 mm2 1 m\n\
        mode dark {\n  B 12 V\n}\nmode lit {\n  B 12 V\n  lamp on\n  fan on\n}\n";
    let failures = failures(text);
    assert!(failures.unopened.is_empty());
    let names: Vec<&str> = failures.opened.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["A", "C", "D", "E"]);
    for (name, stops, reads) in [
        ("A", &["lamp"][..], -2.0),
        ("C", &["fan"], -3.05),
        ("D", &["lamp", "fan"], 0.0),
        ("E", &["lamp", "fan"], 0.0),
    ] {
        let [effect] = effects(&failures, name) else { panic!("{name}: one mode") };
        assert_eq!(effect.stops, stops, "{name}");
        assert_eq!(effect.mode, "lit");
        let [meter] = effect.meters.as_slice() else { panic!("{name}: the meter") };
        assert!((meter.reads.as_amps() - reads).abs() < 0.1, "{name}: {meter:?}");
        assert_eq!(meter.truth, None, "{name}: what is left is read rightly");
    }
}

#[test]
fn a_load_of_constant_current_on_a_lead_too_thin_is_a_resistance() {
    // 100 A through a data lead of 0.14 mm2 would take more volts than there are.
    let text = "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah resistance 10 mohm full 14.4 V\n\
        inverter wave 12 V 1 kW efficiency 100 %\nwire P from B.+ to wave.+ 35 mm2 1 m\nwire A from wave.- to B.- 35 mm2 1 m\n\
        data L from wave.data to B.data 4 m\nmode lit {\n  B 12 V\n  wave 100 A\n}\n";
    let failures = failures(text);
    let [effect] = effects(&failures, "A") else { panic!("one mode") };
    assert_eq!(
        (effect.weakened.as_slice(), effect.homes.as_slice()),
        (&["wave".to_owned()][..], &["wave".to_owned()][..])
    );
    // 12 V over 0.12 ohm, the battery, a metre of 35 mm2 and the lead; what 0.14 mm2 resists the study itself tells.
    let amps = effect.by[0].1.expect("a solution").as_amps();
    let rest = 0.12 + 0.010 + metre(0.554e-3) + 2e-4;
    let lead = 12.0 / amps - rest;
    assert!(0.4 < lead && lead < 0.9, "{amps} A, {lead} ohm: 4 m of 0.14 mm2 at 70 C have about 0.6 ohm");
    assert!(effect.overloads.iter().any(|row| row.0 == "L"), "{effect:?}");
}
