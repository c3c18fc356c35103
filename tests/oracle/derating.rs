//! Factors for ambient temperature, bundles and count; worked examples by hand and as published.

use ohmward::book::Conductor;

use super::table::{kind, rows};
use super::{awg, book, celsius, free, mm2};

/// NEC Table 310.15(B)(1)(1). Below 30 °C the book gives no credit.
#[test]
fn ambient_factors_are_those_of_the_nec_for_its_classes() {
    let book = book();
    let mut compared = 0;
    for row in kind("ampacity_nec", "factor_ambient") {
        assert_eq!(row.text("confidence"), "checked");
        let (class, upper) = (row.number("insulation_temp_c"), row.number("ambient_max_c"));
        let published = row.number("value").min(1.0);
        let factor = |ambient: f64| book.ambient_factor(celsius(class), celsius(ambient)).as_ratio();
        row.agrees(factor(upper), published, 0.0);
        // A fraction of a degree above the band before falls into this one.
        row.agrees(factor(upper - 4.5), published, 0.0);
        compared += 1;
    }
    assert_eq!(compared, 39);
}

/// 33 CFR 183.425 Table 5 note 1, engine spaces at 50 °C. For 200 °C it grants 1.00, where the rule leaves 0.94.
#[test]
fn the_square_root_rule_agrees_with_engine_space_factors() {
    let book = book();
    let mut compared = 0;
    for row in kind("ampacity_marine_us", "factor_engine_space") {
        let class = row.number("insulation_temp_c");
        let ours = book.ambient_factor(celsius(class), celsius(50.0)).as_ratio();
        let published = row.number("value");
        if class < 200.0 {
            assert!((ours - published).abs() <= 0.01, "{class} C: {ours} against {published}");
        } else {
            assert!(ours < published && 0.93 < ours);
        }
        compared += 1;
    }
    assert_eq!(compared, 8);
}

#[test]
fn an_ambient_at_the_class_leaves_nothing() {
    let book = book();
    for class in [60.0, 75.0, 90.0, 105.0, 125.0] {
        assert_eq!(book.ambient_factor(celsius(class), celsius(class)).as_ratio(), 0.0);
        assert!(0.0 < book.ambient_factor(celsius(class), celsius(class - 0.5)).as_ratio());
        assert_eq!(book.ambient_factor(celsius(class), celsius(-20.0)).as_ratio(), 1.0);
    }
}

/// 33 CFR 183.425 Table 5 note 2, and the rows of ABYC E-11 beside it.
#[test]
fn bundle_factors_are_those_of_33_cfr_183_and_abyc_e_11() {
    let book = book();
    let alone = free(awg("10"), 105.0);
    let share = |bundled: u32| {
        book.ampacity(&Conductor { bundled, ..alone }).as_amps() / book.ampacity(&alone).as_amps()
    };
    let mut compared = 0;
    for row in kind("ampacity_marine_us", "factor_bundle") {
        let least = row.text("n_conductors_min").parse().expect("a count");
        row.agrees(share(least), row.number("value"), 1e-12);
        let most = row.text("n_conductors_max").parse().unwrap_or(1000);
        row.agrees(share(most), row.number("value"), 1e-12);
        compared += 1;
    }
    assert_eq!(compared, 8);
    assert_eq!((share(0), share(1), share(2)), (1.0, 1.0, 1.0));
}

/// Published deratings, by the table's figure, the engine-space factor of 0.85 and the bundle. Ours uses 50 °C by the
/// square-root rule (0.856) in place of 0.85, so it may lie up to 1 % above.
#[test]
fn published_deratings() {
    let book = book();
    let mut compared = 0;
    for row in kind("worked_examples", "derating") {
        let bundle = row.text("inputs").split(';').find_map(|pair| pair.strip_prefix("bundle="));
        let bundled =
            bundle.map_or(1, |range| range.split('-').next().map_or(1, |least| least.parse().unwrap_or(1)));
        let conductor = free(awg(row.input("awg")), row.input("insulation_C").parse().expect("a class"));
        let outside: f64 = row.input("outside_A").parse().expect("a current");
        row.agrees(book.ampacity(&conductor).as_amps(), outside, 0.0);
        let inside = Conductor { ambient: celsius(50.0), bundled, ..conductor };
        row.agrees(book.ampacity(&inside).as_amps(), row.number("recomputed"), 0.01);
        compared += 1;
    }
    assert_eq!(compared, 9);
}

/// Computed by hand from the tables' figures.
#[test]
fn deratings_by_hand() {
    let book = book();
    let base = free(mm2(35.0), 105.0);
    let cases: &[(&str, Conductor, f64)] = &[
        ("35 mm2 105 C at 60 C: 210 × sqrt(45/75)", Conductor { ambient: celsius(60.0), ..base }, 162.665),
        ("two of them", Conductor { ambient: celsius(60.0), count: 2, ..base }, 325.331),
        ("in a bundle of 3: × 0.7", Conductor { bundled: 3, ..base }, 147.0),
        ("copper-clad aluminium: × 0.8", Conductor { aluminium_clad: true, ..base }, 168.0),
        (
            "10 AWG 90 C at 48 C: 55 × 0.82",
            Conductor { ambient: celsius(48.0), ..free(awg("10"), 90.0) },
            45.1,
        ),
        ("8 mm2 105 C: half way from 60 to 90", free(mm2(8.0), 105.0), 75.0),
        ("0.5 mm2 105 C: 16 × 0.5/0.75", free(mm2(0.5), 105.0), 10.6667),
        ("240 mm2 105 C: the last row", free(mm2(240.0), 105.0), 475.0),
        ("6 AWG 50 C: 80 × sqrt(20/30)", free(awg("6"), 50.0), 65.3197),
        ("4 mm2 100 C: the column of 85 C", free(mm2(4.0), 100.0), 40.0),
        ("4 mm2 250 C: the column of 200 C", free(mm2(4.0), 250.0), 55.0),
        ("8 AWG 60 C at 60 C", Conductor { ambient: celsius(60.0), ..free(awg("8"), 60.0) }, 0.0),
        (
            "8 AWG 60 C at 57 C: 55 × sqrt(3/30)",
            Conductor { ambient: celsius(57.0), ..free(awg("8"), 60.0) },
            17.3925,
        ),
        ("5 AWG 105 C: 120 + 40 × (16.7732 − 13.3018)/(21.1506 − 13.3018)", free(awg("5"), 105.0), 137.691),
    ];
    for (what, conductor, expected) in cases {
        let amps = book.ampacity(conductor).as_amps();
        assert!((amps - expected).abs() < 0.001 * expected.max(0.001), "{what}: {amps} against {expected}");
        let product: f64 = book.ampacity_steps(conductor).iter().map(|step| step.0).product();
        assert!((amps - product).abs() < 1e-9, "{what}: the steps give {product}");
    }
}

/// NEC Table 690.7(A).
#[test]
fn cold_factors_are_those_of_the_nec() {
    let mut compared = 0;
    for row in rows("solar").iter().filter(|row| row.text("kind") == "voc_factor") {
        let range =
            row.text("condition").strip_prefix("lowest expected ambient ").expect("a range of temperatures");
        let ends: Vec<f64> =
            range.split(" to ").map(|end| end.replace(" C", "").parse().expect("a temperature")).collect();
        for lowest in ends {
            row.agrees(super::limits::book_at(lowest).voc_factor(), row.number("value"), 0.0);
            compared += 1;
        }
    }
    assert_eq!(compared, 26);
    assert_eq!(super::limits::book_at(25.0).voc_factor(), 1.0);
    assert_eq!(super::limits::book_at(-55.0).voc_factor(), 1.25);
}
