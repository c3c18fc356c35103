//! Designs of thousands of faults: what is told of each must not cost a walk over all.

use std::fmt::Write as _;

use super::{HEAD, HOUSE, Place, Ran};

/// Judges a design of `n` pieces; the output stays in proportion to it.
fn judged(head: &str, n: usize, code: i32, words: &str, piece: impl Fn(usize) -> String) -> Ran {
    let mut text = format!("{HEAD}{head}");
    for at in 0..n {
        let _ = writeln!(text, "{}", piece(at));
    }
    let most = 20 * text.len() + 10_000;
    let ran = Place::with(text).check("it.loom");
    ran.is(code, words, most);
    ran
}

#[test]
fn unprotected_wires() {
    let ran = judged(HOUSE, 50_000, 1, "protection.missing", |n| {
        format!(
            "load L{n} 12 V 60 W\nwire A{n} from house.+ to L{n}.+ 4 mm2 2 m red\nwire B{n} from L{n}.- to house.- 4 mm2 2 m black"
        )
    });
    assert_eq!(ran.count("protection.missing"), 50_000);
}

#[test]
fn far_devices() {
    let ran = judged(HOUSE, 8000, 1, "protection.far", |n| {
        format!(
            "load L{n} 12 V 60 W\nfuse F{n} 10 A blade volts 32 V breaks 1 kA\nwire A{n} from house.+ to F{n}.line 4 mm2 2 m red\n\
             wire C{n} from F{n}.load to L{n}.+ 4 mm2 2 m red\nwire B{n} from L{n}.- to house.- 4 mm2 2 m black"
        )
    });
    assert_eq!(ran.count("protection.far"), 8000);
}

#[test]
fn wires_too_thin_for_one_fuse() {
    let head = format!(
        "{HOUSE}fuse F 400 A class-t volts 125 V breaks 20 kA\nwire W from house.+ to F.line 150 mm2 0.1 m red\n"
    );
    judged(&head, 8000, 1, "protection.oversize", |n| {
        format!(
            "load L{n} 12 V 60 W\nwire A{n} from F.load to L{n}.+ 4 mm2 2 m red\nwire B{n} from L{n}.- to house.- 4 mm2 2 m black"
        )
    });
}

#[test]
fn reversed_loads() {
    judged(HOUSE, 8000, 1, "connection.polarity", |n| {
        format!(
            "load L{n} 12 V 60 W\nwire A{n} from house.+ to L{n}.- 4 mm2 2 m red\nwire B{n} from L{n}.+ to house.- 4 mm2 2 m black"
        )
    });
}

#[test]
fn shorted_batteries() {
    let ran = judged("", 10_000, 1, "connection.short", |n| {
        format!("battery B{n} lifepo4 12 V 200 Ah fault 5 kA\nwire A{n} from B{n}.+ to B{n}.- 4 mm2 2 m red")
    });
    assert_eq!(ran.count("connection.short"), 10_000);
    judged(HOUSE, 50_000, 1, "connection.short", |n| {
        format!("wire A{n} from house.+ to house.- 4 mm2 2 m red")
    });
}

#[test]
fn a_ring_of_batteries() {
    judged("", 10_000, 1, "connection.short", |n| {
        let next = (n + 1) % 10_000;
        format!(
            "battery B{n} lifepo4 12 V 200 Ah fault 5 kA\nwire A{n} from B{n}.+ to B{next}.- 4 mm2 2 m red"
        )
    });
}

#[test]
fn a_large_bank() {
    let head = "bar P M8 x 6 250 A\nbar N M8 x 6 250 A\n";
    judged(head, 10_000, 1, "protection.missing", |n| {
        format!(
            "battery B{n} lifepo4 12 V 200 Ah fault 5 kA\nwire A{n} from B{n}.+ to P 4 mm2 0.1 m red\nwire C{n} from B{n}.- to N 4 mm2 2 m black"
        )
    });
}

#[test]
fn all_mixed() {
    let head = "bar P M8 x 6 250 A\nbar N M8 x 6 250 A\n";
    judged(head, 2000, 1, "battery.mixed", |n| {
        let chemistry = ["lifepo4", "agm", "gel", "nmc", "lead-acid"][n % 5];
        format!(
            "battery B{n} {chemistry} {} V 200 Ah fault 5 kA\nwire A{n} from B{n}.+ to P 4 mm2 2 m red\nwire C{n} from B{n}.- to N 4 mm2 2 m black",
            12 + n % 3 * 12
        )
    });
}

#[test]
fn batteries_behind_a_fuse_each() {
    judged("bar P M8 x 6 250 A\n", 2000, 1, "return.missing", |n| {
        format!(
            "battery B{n} lifepo4 12 V 200 Ah fault 5 kA\nfuse F{n} 10 A blade volts 32 V breaks 1 kA on P\n\
             wire A{n} from B{n}.+ to F{n}.load 4 mm2 2 m red\nload L{n} 12 V 5 W\nwire C{n} from P to L{n}.+ 4 mm2 1 m red"
        )
    });
}

#[test]
fn a_chain_of_meters() {
    judged(
        &format!(
            "{HOUSE}load L 12 V 60 W\nwire Z from house.+ to L.+ 4 mm2 1 m red\nwire X from M4999.sys to L.- 4 mm2 1 m black\n"
        ),
        5000,
        1,
        "meter.unpowered",
        |n| {
            let before = if n == 0 { "house.-".into() } else { format!("M{}.sys", n - 1) };
            format!(
                "meter M{n} 300 A 50 mV counts house\nwire A{n} from {before} to M{n}.bat 35 mm2 0.3 m black"
            )
        },
    );
}

#[test]
fn chassis_bonds() {
    judged(&format!("{HOUSE}chassis frame\n"), 20_000, 0, "connection.loose", |n| {
        format!("wire A{n} from house.- to frame 35 mm2 0.3 m black bond")
    });
    let head = format!("{HOUSE}chassis frame\nbar N 250 A\nwire W from house.- to N 35 mm2 1 m black\n");
    judged(&head, 20_000, 0, "bond.extra", |n| {
        format!(
            "post P{n} M8\nwire A{n} from N to P{n} 35 mm2 0.3 m black bond\nwire B{n} from P{n} to frame 35 mm2 0.3 m black bond"
        )
    });
}

#[test]
fn common_chargers() {
    judged(HOUSE, 1000, 1, "return.bypass", |n| {
        format!(
            "charger C{n} in 12 V 30 A out 12 V 25 A common\nwire A{n} from house.+ to C{n}.in+ 4 mm2 2 m red\n\
             wire B{n} from C{n}.in- to house.- 4 mm2 2 m black\nwire D{n} from C{n}.out+ to house.+ 4 mm2 2 m red\n\
             wire E{n} from C{n}.out- to house.- 4 mm2 2 m black"
        )
    });
}

#[test]
fn breakers_between_two_batteries() {
    let head = format!(
        "{HOUSE}battery second lifepo4 12 V 200 Ah fault 5 kA\nbar P M8 x 6 250 A\nbar Q M8 x 6 250 A\n\
         wire W1 from house.+ to P 150 mm2 0.1 m red\nwire W2 from second.+ to Q 150 mm2 0.1 m red\n\
         wire W3 from house.- to second.- 150 mm2 1 m black\n"
    );
    judged(&head, 2000, 1, "protection.far", |n| {
        format!(
            "breaker F{n} 10 A volts 32 V breaks 1 kA polarised on P\nwire A{n} from F{n}.load to Q 4 mm2 2 m red"
        )
    });
}

#[test]
fn wires_of_one_bundle() {
    let names: Vec<String> = (0..5000).map(|n| format!("A{n}")).collect();
    judged(&format!("{HOUSE}bundle all {}\n", names.join(" ")), 5000, 1, "protection.missing", |n| {
        format!(
            "load L{n} 12 V 60 W\nwire A{n} from house.+ to L{n}.+ 4 mm2 2 m red\nwire B{n} from L{n}.- to house.- 4 mm2 2 m black"
        )
    });
}

#[test]
fn batteries_with_a_lead_each_to_one_bar() {
    let ran = judged("bar P M8 x 6 250 A\nbar N M8 x 6 250 A\n", 2500, 1, "protection.missing", |n| {
        format!(
            "battery B{n} lifepo4 12 V 200 Ah fault 5 kA\nwire A{n} from B{n}.+ to P 4 mm2 2 m red\nwire C{n} from B{n}.- to N 4 mm2 2 m black"
        )
    });
    assert_eq!(ran.count("protection.missing"), 2500);
}

#[test]
fn wires_that_end_where_they_begin() {
    let head = format!("{HOUSE}bar B0 M8 x 6 250 A\nwire Z from house.+ to B0 35 mm2 0.1 m red\n");
    let ran = judged(&head, 5000, 1, "protection.missing", |n| {
        let next = n + 1;
        format!(
            "bar B{next} M8 x 6 250 A\nwire A{n} from B{n} to B{next} 35 mm2 0.1 m red\nwire C{n} from B{n}.1 to B{n}.2 4 mm2 1 m red"
        )
    });
    assert_eq!(ran.count("protection.missing"), 10_001);
}
