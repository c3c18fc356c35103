//! Resistance of conductors: IEC 60228 for mm², the resistivity of copper for AWG.

use ohmward::design::{Coating, Strand};

use super::table::{id, rows};
use super::{awg, book, celsius, mm2};

#[test]
fn metric_rows_are_those_of_iec_60228() {
    let book = book();
    let mut compared = 0;
    for row in rows("metric_conductor_resistance") {
        assert_eq!(row.text("confidence"), "checked");
        let strand = if row.text("iec_class") == "2" { Strand::Class2 } else { Strand::Class5 };
        let coating = if row.text("coating") == "plain" { Coating::Plain } else { Coating::Tinned };
        let ours = book.resistance_per_metre(mm2(row.number("area_mm2")), strand, coating, celsius(20.0));
        row.agrees(ours.as_ohms() * 1e3, row.number("max_r20_ohm_per_km"), 1e-12);
        compared += 1;
    }
    assert_eq!(compared, 72);
}

#[test]
fn between_and_beyond_rows_resistance_falls_with_area() {
    let book = book();
    let ohms = |tenths: u32| {
        let size = mm2(f64::from(tenths) / 10.0);
        book.resistance_per_metre(size, Strand::Class5, Coating::Plain, celsius(20.0)).as_ohms()
    };
    assert!((1..4000).all(|tenths| ohms(tenths + 1) < ohms(tenths)));
    // Twice the area of the last row, half its resistance.
    assert!((ohms(4800) - 0.0801e-3 / 2.0).abs() < 1e-12);
}

/// ASTM B258 and IEC 60028 for the solid conductor, of which stranding adds 2 %.
#[test]
fn awg_is_two_per_cent_above_solid_copper() {
    let book = book();
    let mut compared = 0;
    for row in rows("awg") {
        for (temperature, column) in [(20.0, "r20_mohm_per_m"), (75.0, "r75_mohm_per_m")] {
            let size = awg(row.text("awg"));
            let ours = book.resistance_per_metre(size, Strand::Class5, Coating::Plain, celsius(temperature));
            row.agrees(ours.as_ohms() * 1e3, row.number(column) * 1.02, 5e-4);
            compared += 1;
        }
    }
    assert_eq!(compared, 56);
}

/// NEC Chapter 9 Table 8, stranded, at 75 °C: uncoated within 0.6 %, coated within 3 %.
#[test]
fn awg_agrees_with_the_nec_for_stranded_conductors() {
    const METRES_PER_KFT: f64 = 304.8;
    let book = book();
    let mut compared = 0;
    for row in rows("awg").iter().filter(|row| row.text("confidence_nec_t8") == "checked") {
        for (coating, column, share) in [
            (Coating::Plain, "nec_t8_uncoated_stranded_ohm_per_kft_75c", 0.006),
            (Coating::Tinned, "nec_t8_coated_stranded_ohm_per_kft_75c", 0.03),
        ] {
            let ours =
                book.resistance_per_metre(awg(row.text("awg")), Strand::Class5, coating, celsius(75.0));
            row.agrees(ours.as_ohms() * METRES_PER_KFT, row.number(column), share);
            compared += 1;
        }
    }
    assert_eq!(compared, 30);
}

#[test]
fn published_examples() {
    let book = book();
    let class5 = |area, temperature| {
        book.resistance_per_metre(mm2(area), Strand::Class5, Coating::Plain, celsius(temperature)).as_ohms()
    };
    // 35 mm² there and back over 3 m at 150 A.
    let row = id("worked_examples", "iec_class5");
    row.agrees(2.0 * 3.0 * 150.0 * class5(35.0, 20.0), row.number("recomputed"), 1e-3);
    // The same conductor at 70 °C.
    let row = id("worked_examples", "kelvin");
    row.agrees(class5(35.0, 70.0) * 1e3, row.number("recomputed"), 1e-3);
    // A jumper of 6 AWG, 8 in long: published as a round 0.25 mohm.
    let row = id("worked_examples", "jumper_resistance");
    let jumper = book.resistance_per_metre(awg("6"), Strand::Class2, Coating::Plain, celsius(20.0)).as_ohms();
    row.agrees(jumper * 8.0 * 0.0254 * 1e3, row.number("published_answer"), 0.08);
}
