//! Ampacity of whole designs by hand: each case is a design text, the arithmetic from published tables written out, and
//! the figures of `--explain-all`, which must be those factors and multiply to the ampacity.

use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::text::MemoryFiles;

/// A design on a book, with a battery, a fuse and a lamp for the wires to lie between.
fn design(book: &str, lines: &str) -> Judgement {
    let text = format!(
        "design hand \"By hand\"\nbook {book}\n\
         battery cell agm 12 V 100 Ah fault 2 kA full 14.4 V\nfuse F 40 A bolt-in volts 32 V breaks 2 kA\n\
         load lamp 12 V 60 W\nload fan 12 V 60 W\nbolt cell.+ to F.line\n{lines}"
    );
    let mut options = Options::on(Date::parse("2026-06-01").expect("a day"));
    options.explain = true;
    check("hand.loom", &MemoryFiles::default().with("hand.loom", text.as_str()), &options)
}

/// The factors of a wire's ampacity, and the ampacity.
fn factors(judgement: &Judgement, wire: &str) -> (Vec<(f64, String)>, f64) {
    assert!(
        judgement.findings.iter().all(|finding| !finding.rule.starts_with("language.")),
        "{:?}",
        judgement.findings
    );
    let row = judgement.wires.iter().flatten().find(|row| row.name == wire).expect("the wire");
    (row.ampacity_from.clone(), row.ampacity.as_amps())
}

/// Asserts a wire's factors, in order, each with words that its explanation has, and its ampacity.
fn by_hand(book: &str, lines: &str, wire: &str, steps: &[(f64, &str)], ampacity: f64) {
    let (told, amps) = factors(&design(book, lines), wire);
    assert_eq!(told.len(), steps.len(), "{book}, {wire}: {told:#?}");
    for ((factor, text), (expected, words)) in told.iter().zip(steps) {
        assert!(
            (factor - expected).abs() < 5e-4 * expected,
            "{book}, {wire}: {factor} for {expected}, {text}"
        );
        assert!(text.contains(words), "{book}, {wire}: «{text}» does not say «{words}»");
    }
    let product: f64 = told.iter().map(|step| step.0).product();
    assert!(
        (product - amps).abs() < 1e-9,
        "{book}, {wire}: the factors give {product}, the ampacity is {amps}"
    );
    assert!((amps - ampacity).abs() < 5e-4 * ampacity, "{book}, {wire}: {amps} A for {ampacity} A");
}

const MEMORY: &str = "from memory, to be confirmed";

/// 33 CFR 183.425 Table 5: 10 AWG, 105 C: 60 A. Note 1, engine space: 0.85. 60 × 0.85 = 51 A.
#[test]
fn the_federal_engine_space() {
    by_hand(
        "small-craft-us",
        "zone engine ambient 45 C\nwire W from F.load to lamp.+ 10 AWG 3 m insulation 105 C zone engine\n",
        "W",
        &[
            (60.0, "10 AWG with 105 C insulation (33 CFR 183.425 Table 5)"),
            (0.85, "engine space: ambient 45 C"),
        ],
        51.0,
    );
}

/// The same table at its temperature of engine spaces, 50 C, class 75 C: 6 AWG 95 A, note 1 0.75. 95 × 0.75 = 71.25 A.
#[test]
fn an_engine_space_factor_from_memory_says_so() {
    by_hand(
        "small-craft-us",
        "zone engine ambient 50 C\nwire W from F.load to lamp.+ 6 AWG 3 m insulation 75 C zone engine\n",
        "W",
        &[(95.0, "33 CFR 183.425 Table 5"), (0.75, MEMORY)],
        71.25,
    );
}

/// Beyond 50 C the heat balance from 30 C: class 105 C at 60 C, sqrt((105 − 60)/(105 − 30)) = sqrt(0.6) = 0.7746.
/// 2 AWG, 105 C: 210 A. 210 × 0.7746 = 162.7 A.
#[test]
fn hotter_than_an_engine_space() {
    by_hand(
        "small-craft-us",
        "zone funnel ambient 60 C\nwire W from F.load to lamp.+ 2 AWG 3 m insulation 105 C zone funnel\n",
        "W",
        &[(210.0, "2 AWG"), (0.7746, "square-root rule")],
        162.67,
    );
}

/// 33 CFR 183.435(b): below 50 V a bundle takes no factor. Four of 14 AWG, 60 C, 20 A each: 20 A.
#[test]
fn a_bundle_below_50_v_by_the_federal_rule() {
    let lines = "wire A from F.load to lamp.+ 14 AWG 3 m\nwire B from lamp.- to cell.- 14 AWG 3 m\n\
                 wire C from F.load to fan.+ 14 AWG 3 m\nwire D from fan.- to cell.- 14 AWG 3 m\nbundle trunk A B C D\n";
    for wire in ["A", "D"] {
        by_hand("small-craft-us", lines, wire, &[(20.0, "14 AWG with 60 C")], 20.0);
    }
}

/// ABYC E-11 Tables VI-B to VI-D, which derate at any voltage: a design may ask for it. Four to six conductors: 0.60.
/// 20 × 0.6 = 12 A.
#[test]
fn the_same_bundle_by_the_voluntary_practice() {
    let lines = "limit bundling.from 1 V because \"built to the voluntary practice\"\n\
                 wire A from F.load to lamp.+ 14 AWG 3 m\nwire B from lamp.- to cell.- 14 AWG 3 m\n\
                 wire C from F.load to fan.+ 14 AWG 3 m\nwire D from fan.- to cell.- 14 AWG 3 m\nbundle trunk A B C D\n";
    by_hand("small-craft-us", lines, "A", &[(20.0, "14 AWG"), (0.6, "bundle of 4 conductors")], 12.0);
}

/// 33 CFR 183.425 Table 5 note 2 where it binds: three conductors of a circuit of 96 V, 0.70, beside one of 12 V, which
/// neither counts nor takes it. 10 AWG, 105 C: 60 × 0.7 = 42 A, and 60 A.
#[test]
fn a_bundle_above_50_v_by_the_federal_rule() {
    let lines = "assume insulation 105 C\nbattery high lifepo4 96 V 50 Ah fault 2 kA full 116 V\n\
                 fuse G 40 A class-t volts 160 V breaks 20 kA\nload drive 96 V 1 kW\nload pump 96 V 1 kW\nbolt high.+ to G.line\n\
                 wire A from G.load to drive.+ 10 AWG 3 m\nwire B from drive.- to high.- 10 AWG 3 m\n\
                 wire C from G.load to pump.+ 10 AWG 3 m\nwire D from pump.- to high.- 10 AWG 3 m\n\
                 wire E from F.load to lamp.+ 10 AWG 3 m\nbundle trunk A B C E\n";
    by_hand("small-craft-us", lines, "A", &[(60.0, "10 AWG"), (0.7, "bundle of 3 conductors")], 42.0);
    by_hand("small-craft-us", lines, "E", &[(60.0, "10 AWG")], 60.0);
    by_hand("small-craft-us", lines, "D", &[(60.0, "10 AWG")], 60.0);
}

/// ISO 13297 Table A.1: 16 mm², 70 C: 90 A; engine space 0.75; seven conductors 0.6. 90 × 0.75 × 0.6 = 40.5 A. The
/// seven: A to E, of which E is three in parallel.
#[test]
fn metric_in_an_engine_space_and_a_bundle_with_a_count() {
    let lines = "assume insulation 70 C\nzone engine ambient 48 C\n\
                 wire A from F.load to lamp.+ 16 mm2 3 m zone engine\nwire B from lamp.- to cell.- 16 mm2 3 m\n\
                 wire C from F.load to fan.+ 16 mm2 3 m\nwire D from fan.- to cell.- 16 mm2 3 m\n\
                 load heater 12 V 60 W\nwire E from F.load to heater.+ 16 mm2 3 m count 3\nbundle trunk A B C D E\n";
    let bundle = (0.6, "bundle of 7 conductors (ISO 13297:2020 Annex A; from memory, to be confirmed)");
    by_hand(
        "small-craft-iso",
        lines,
        "A",
        &[(90.0, MEMORY), (0.75, "engine space: ambient 48 C"), bundle],
        40.5,
    );
    // 90 × 0.6 × 3 = 162 A for all three of E.
    by_hand(
        "small-craft-iso",
        lines,
        "E",
        &[(90.0, "16 mm2"), bundle, (3.0, "3 conductors in parallel")],
        162.0,
    );
}

/// ISO 13297 Annex A: three conductors take no factor, which in 33 CFR and ABYC E-11 they would. 4 mm², 85 C: 40 A.
#[test]
fn three_conductors_by_the_iso_table() {
    let lines = "wire A from F.load to lamp.+ 4 mm2 3 m insulation 85 C\nwire B from lamp.- to cell.- 4 mm2 3 m\n\
                 wire C from F.load to fan.+ 4 mm2 3 m\nbundle trunk A B C\n";
    by_hand("small-craft-iso", lines, "A", &[(40.0, "4 mm2 with 85 C insulation")], 40.0);
    // ABYC E-11 Table VI-B, in common practice: 40 × 0.7 = 28 A.
    by_hand("common-practice", lines, "A", &[(40.0, "4 mm2"), (0.7, "bundle of 3 conductors")], 28.0);
}

/// NEC Table 310.16: 6 AWG, 75 C: 65 A; Table 310.15(B)(1)(1): 41 to 45 C, 0.82; Table 310.15(C)(1): four to six, 0.80.
/// 65 × 0.82 × 0.8 = 42.64 A.
#[test]
fn the_nec_with_ambient_and_bundle() {
    let lines = "zone roof ambient 43 C\nassume insulation 75 C\n\
                 wire A from F.load to lamp.+ 6 AWG 3 m zone roof\nwire B from lamp.- to cell.- 6 AWG 3 m\n\
                 wire C from F.load to fan.+ 6 AWG 3 m\nwire D from fan.- to cell.- 6 AWG 3 m\nbundle trunk A B C D\n";
    by_hand(
        "caravan-us",
        lines,
        "A",
        &[
            (65.0, "6 AWG with 75 C insulation"),
            (0.82, "NEC Table 310.15(B)(1)(1)"),
            (0.8, "NEC Table 310.15(C)(1); from memory"),
        ],
        42.64,
    );
}

/// NEC 552.10(E)(1): 16 AWG takes 8 A whatever its class.
#[test]
fn a_small_conductor_by_the_nec() {
    let line = "wire A from F.load to lamp.+ 16 AWG 3 m insulation 90 C\n";
    by_hand("caravan-us", line, "A", &[(8.0, MEMORY)], 8.0);
}

/// Several zones: the worst, 55 C. ISO 13297 Table A.1: 25 mm², 105 C: 170 A; sqrt((105 − 55)/75) = 0.8165, below the
/// engine-space factor of 0.86. 170 × 0.8165 = 138.8 A. The fan stands in a hotter zone, which is not the wire's.
#[test]
fn the_worst_of_several_zones() {
    let lines = "zone cool ambient 20 C\nzone warm ambient 40 C\nzone hot ambient 55 C\nzone oven ambient 90 C\n\
                 load far 12 V 60 W zone oven\n\
                 wire A from F.load to far.+ 25 mm2 3 m insulation 105 C zone cool zone hot zone warm\n\
                 wire B from far.- to cell.- 25 mm2 3 m insulation 105 C\n";
    by_hand("small-craft-iso", lines, "A", &[(170.0, "25 mm2"), (0.8165, "ambient 55 C")], 138.80);
    by_hand("small-craft-iso", lines, "B", &[(170.0, "25 mm2")], 170.0);
}

/// Copper-clad aluminium: 80 % of copper (the square root of 65 %). 33 CFR 183.425 Table 5: 4 AWG, 90 C: 135 A; engine
/// space 0.82. 135 × 0.8 × 0.82 = 88.56 A.
#[test]
fn aluminium_clad_in_an_engine_space() {
    by_hand(
        "small-craft-us",
        "zone engine ambient 40 C\nwire W from F.load to lamp.+ 4 AWG 3 m insulation 90 C aluminium-clad zone engine\n",
        "W",
        &[(135.0, "4 AWG"), (0.8, "copper-clad aluminium"), (0.82, "engine space")],
        88.56,
    );
}

/// SAE J1128: 8 gauge has 14 810 circular mils or 7.504 mm² at least, between 10 AWG (5.261 mm², 60 A at 105 C) and 8 AWG
/// (8.366 mm², 80 A). 60 + 20 × (7.504 − 5.261)/(8.366 − 5.261) = 60 + 20 × 0.7226 = 74.45 A.
#[test]
fn road_vehicle_gauge_is_interpolated_by_area() {
    by_hand(
        "small-craft-us",
        "wire W from F.load to lamp.+ 8 SAE 3 m insulation 105 C\n",
        "W",
        &[(74.45, "interpolated between 10 AWG and 8 AWG")],
        74.45,
    );
}

/// 12 mm² lies between 10 and 16 mm² of ISO 13297 Table A.1, 125 C: 100 A and 150 A. 100 + 50 × 2/6 = 116.67 A; engine
/// space 0.89: 103.8 A.
#[test]
fn an_interpolated_metric_size() {
    by_hand(
        "small-craft-iso",
        "zone engine ambient 35 C\nwire W from F.load to lamp.+ 12 mm2 3 m insulation 125 C zone engine\n",
        "W",
        &[(116.667, "interpolated between 10 mm2 and 16 mm2"), (0.89, "engine space: ambient 35 C")],
        103.83,
    );
}

/// A wire in two bundles takes the larger: A lies with B and C (three), and with C to G (six). ABYC E-11 as in common
/// practice: 10 AWG, 60 C: 40 × 0.6 = 24 A; B only with A and C: 40 × 0.7 = 28 A. A bond carries nothing for good and
/// does not count: H with A and B is two.
#[test]
fn the_larger_of_two_bundles() {
    let lines = "load heater 12 V 60 W\nload pump 12 V 60 W\nchassis frame\n\
                 wire A from F.load to lamp.+ 10 AWG 3 m\nwire B from lamp.- to cell.- 10 AWG 3 m\n\
                 wire C from F.load to fan.+ 10 AWG 3 m\nwire D from fan.- to cell.- 10 AWG 3 m\n\
                 wire E from F.load to heater.+ 10 AWG 3 m\nwire G from heater.- to cell.- 10 AWG 3 m\n\
                 wire J from F.load to pump.+ 10 AWG 3 m\nwire K from pump.- to cell.- 10 AWG 3 m\n\
                 wire H from cell.- to frame 10 AWG 1 m bond\n\
                 bundle short A B C\nbundle long A C D E G J\nbundle bonded H K\n";
    by_hand("common-practice", lines, "A", &[(40.0, "10 AWG"), (0.6, "bundle of 6 conductors")], 24.0);
    by_hand("common-practice", lines, "B", &[(40.0, "10 AWG"), (0.7, "bundle of 3 conductors")], 28.0);
    by_hand("common-practice", lines, "K", &[(40.0, "10 AWG")], 40.0);
}
