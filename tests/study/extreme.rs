//! Circuits at the edges: what has no sensible figures is told as a trouble, and everything else is finite and lawful.

use std::fmt::Write as _;

use ohmward::design::Id;

use super::lawful::broken;
use super::{Bench, generate};

/// Studies a text: no panic, finite figures, and every solution obeys the laws; the modes with a solution.
fn sane(text: &str) -> usize {
    let bench = Bench::of(text);
    let mut solved = 0;
    for mode in &bench.study.modes {
        let Ok(solution) = &mode.solution else { continue };
        solved += 1;
        let volts = solution.volts.iter().flatten();
        let amps = solution.branch.iter().chain(&solution.link).chain(&solution.cell).chain(&solution.taker);
        assert!(volts.chain(amps).all(|one| one.is_finite()), "{}:\n{text}", mode.name);
        let lines = broken(&bench.design, &bench.study, mode);
        assert!(lines.is_empty(), "{lines:#?}\n{text}");
    }
    let (largest, smallest) = (&bench.faults.largest, &bench.faults.smallest);
    for id in bench.design.terminals.ids() {
        let of = |all: &[Option<ohmward::units::Current>]| all[id.index()].map(|current| current.as_amps());
        for amps in [of(largest), of(smallest)].into_iter().flatten() {
            assert!(amps.is_finite() && 0.0 <= amps, "{}: {amps} A\n{text}", bench.design.terminal_name(id));
        }
        if let (Some(most), Some(least)) = (of(largest), of(smallest)) {
            assert!(
                least <= most * (1.0 + 1e-9),
                "{}: {least} A of {most} A",
                bench.design.terminal_name(id)
            );
        }
    }
    solved
}

const HEAD: &str = "design d \"Invented\"\n";

#[test]
fn nothing_or_next_to_nothing() {
    assert_eq!(sane(HEAD), 1);
    for one in [
        "battery B lead-acid 12 V 100 Ah fault 1 kA",
        "chassis frame",
        "load lamp 12 V 5 W",
        "charger c in 12 V out 12 V 10 A isolated",
        "charger c in 12 V out 12 V 10 A common outputs 3",
        "charger c from ac out 12 V 10 A",
        "alternator A 12 V 50 A",
        "supply S 12 V 10 A",
        "solar P voc 22 V isc 5 A vmp 18 V imp 4 A",
        "switch S 10 A",
        "meter M 100 A",
        "hub H 3 W",
        "inverter I 12 V 500 W",
    ] {
        assert_eq!(sane(&format!("{HEAD}{one}\n")), 1, "{one}");
        sane(&format!(
            "{HEAD}{one}\nload other 12 V 5 W\nbattery BB lead-acid 12 V 100 Ah fault 1 kA\nbolt other.- to BB.-\n"
        ));
    }
}

#[test]
fn a_microhm_beside_a_megohm() {
    for demand in ["1000000 ohm", "0.001 A", "0.001 W", "0.05 ohm", "200 A"] {
        for inner in ["0.001 mohm", "1 mohm", "1000 mohm"] {
            for length in ["1 mm", "1 m", "10000 m"] {
                for size in ["0.5 mm2", "240 mm2"] {
                    let text = format!(
                        "{HEAD}assume contact 0.0001 mohm\nbattery B lead-acid 12 V 100 Ah resistance {inner}\n\
                         load L 12 V {demand}\nload N 12 V 1000000 ohm\n\
                         wire W1 from B.+ to L.+ {size} {length} count 3\nwire W2 from L.- to B.- {size} {length}\n\
                         bolt N.+ to L.+\nwire W3 from N.- to L.- 0.5 mm2 10000 m\n\
                         mode m {{\n  B 12.6 V\n  L on\n  N on\n}}\n"
                    );
                    sane(&text);
                }
            }
        }
    }
}

#[test]
fn loads_of_nothing_and_of_everything() {
    let text = |set: &str| {
        format!(
            "{HEAD}battery B lead-acid 12 V 100 Ah resistance 2 mohm\ncharger c in 12 V out 24 V 10 A isolated\n\
             load L 12 V 10 W\nload M 24 V 10 W\nwire W1 from B.+ to L.+ 4 mm2 1 m\nwire W2 from L.- to B.- 4 mm2 1 m\n\
             wire W3 from B.+ to c.in+ 4 mm2 1 m\nwire W4 from c.in- to B.- 4 mm2 1 m\n\
             wire W5 from c.out+ to M.+ 4 mm2 1 m\nwire W6 from M.- to c.out- 4 mm2 1 m\nmode m {{\n  c on\n{set}\n}}\n"
        )
    };
    for nothing in ["  L 0.000001 W", "  M 0.000001 W\n  L 0.000001 A", "  L 1000000000 ohm\n  M 0.000001 A"]
    {
        assert_eq!(sane(&text(nothing)), 1, "{nothing}");
    }
    for everything in
        ["  L 1000000000 W", "  M 1000000000 W", "  L 1000000 W\n  M 1000000 W", "  M 1000000 A"]
    {
        assert_eq!(sane(&text(everything)), 0, "{everything}");
    }
    sane(&text("  L 0.000001 ohm\n  M 0.000001 ohm"));
    sane(&text("  L 1000000 A"));
}

/// Converters in a row, in a ring, and side by side, the statements forth and back.
#[test]
fn hundreds_of_chargers() {
    const N: usize = 200;
    const ROW: usize = 25;
    let both = |lines: Vec<String>, modes: &str| {
        let forth = format!("{HEAD}{}{modes}", lines.concat());
        let back = format!("{HEAD}{}{modes}", lines.iter().rev().cloned().collect::<String>());
        (sane(&forth), sane(&back))
    };
    let battery = "battery B lead-acid 12 V 100 Ah resistance 2 mohm\n".to_owned();
    let converter = |at: usize| {
        format!(
            "charger c{at} in 12 V out 12 V 50 A isolated efficiency 99 %\nwire P{at} from c{}.out+ to c{at}.in+ 25 mm2 1 m\n\
             wire M{at} from c{}.out- to c{at}.in- 25 mm2 1 m\n",
            at - 1,
            at - 1
        )
    };
    let first =
        "charger c0 in 12 V out 12 V 50 A isolated efficiency 99 %\nwire P0 from B.+ to c0.in+ 25 mm2 1 m\n\
                 wire M0 from B.- to c0.in- 25 mm2 1 m\n"
            .to_owned();
    let last = |n: usize| {
        format!(
            "load L 12 V 2 W\nwire PL from c{0}.out+ to L.+ 2.5 mm2 1 m\nwire ML from c{0}.out- to L.- 2.5 mm2 1 m\n",
            n - 1
        )
    };
    let mut row = vec![battery.clone(), first];
    row.extend((1..ROW).map(converter));
    row.push(last(ROW));
    assert_eq!(both(row, ""), (1, 1), "in a row");
    // In a ring nothing feeds any of them.
    let mut ring: Vec<String> = (1..N).map(converter).collect();
    ring.push(format!(
        "charger c0 in 12 V out 12 V 50 A isolated\nwire P0 from c{0}.out+ to c0.in+ 25 mm2 1 m\n\
         wire M0 from c{0}.out- to c0.in- 25 mm2 1 m\n",
        N - 1
    ));
    ring.push(last(N));
    assert_eq!(both(ring, ""), (1, 1), "in a ring");
    let mut side = vec![battery, "bar plus M8 x 6 250 A\nbar minus M8 x 6 250 A\nload L 12 V 300 W\n".into()];
    side.push("wire PL from plus to L.+ 16 mm2 1 m\nwire ML from minus to L.- 16 mm2 1 m\n".into());
    for at in 0..N {
        let mut one = String::new();
        let _ = writeln!(one, "charger c{at} in 12 V out 12 V {} A isolated", 1 + at % 7);
        let _ = writeln!(
            one,
            "wire I{at} from B.+ to c{at}.in+ 4 mm2 1 m\nwire J{at} from B.- to c{at}.in- 4 mm2 1 m"
        );
        let _ = writeln!(
            one,
            "wire P{at} from c{at}.out+ to plus 4 mm2 1 m\nwire M{at} from c{at}.out- to minus 4 mm2 1 m"
        );
        side.push(one);
    }
    assert_eq!(both(side, ""), (1, 1), "side by side");
}

/// Made designs cut up: every third wire left out, so that parts float and have no source.
#[test]
fn parts_that_float() {
    for number in 0..150 {
        let text = generate::design(number);
        for off in 0..3 {
            let mut wires = 0;
            let keep = |line: &&str| {
                wires += usize::from(line.starts_with("wire"));
                !line.starts_with("wire") || wires % 3 != off
            };
            let lines: Vec<&str> = text.lines().filter(keep).collect();
            sane(&format!("{}\n", lines.join("\n")));
        }
    }
}
