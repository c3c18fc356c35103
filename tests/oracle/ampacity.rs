//! Ampacity: 33 CFR 183.425 Table 5 for AWG, the small-craft table for mm².

use ohmward::units::{Gauge, Size};

use super::table::kind;
use super::{awg, book, free, mm2};

#[test]
fn awg_rows_are_those_of_33_cfr_183_table_5() {
    let book = book();
    let mut compared = 0;
    for row in kind("ampacity_marine_us", "ampacity") {
        if row.text("standard") != "33 CFR 183" {
            continue;
        }
        assert_eq!(row.text("confidence"), "checked");
        let conductor = free(awg(row.text("awg")), row.number("insulation_temp_c"));
        row.agrees(book.ampacity(&conductor).as_amps(), row.number("value"), 0.0);
        compared += 1;
    }
    assert_eq!(compared, 105);
}

/// ABYC E-11 has the same 105 °C column, which is the part of its table that was seen.
#[test]
fn the_105_c_column_is_that_of_abyc_e_11() {
    let book = book();
    let mut compared = 0;
    for row in kind("ampacity_marine_us", "ampacity") {
        if row.text("standard") == "ABYC E-11" && row.text("confidence") == "checked" {
            let conductor = free(awg(row.text("awg")), row.number("insulation_temp_c"));
            row.agrees(book.ampacity(&conductor).as_amps(), row.number("value"), 0.0);
            compared += 1;
        }
    }
    assert_eq!(compared, 15);
}

#[test]
fn metric_rows_are_those_of_the_small_craft_table() {
    let book = book();
    let mut compared = 0;
    for row in kind("ampacity_small_craft_iso", "ampacity") {
        assert_eq!(row.text("confidence"), "memory");
        // The column of 85 to 90 °C serves both ends.
        for class in row.text("insulation_temp_c").split('-') {
            let class: f64 = class.parse().expect("a class");
            let conductor = free(mm2(row.number("area_mm2")), class);
            row.agrees(book.ampacity(&conductor).as_amps(), row.number("value"), 0.0);
            compared += 1;
        }
    }
    assert_eq!(compared, 90 + 15);
}

/// The metric table is from memory, so it is held against the checked AWG table, interpolated by area. Rows above it
/// are listed here with both figures: first the classes that the book promises (60, 90, 105 °C), then all others.
#[test]
fn metric_rows_against_the_awg_table_interpolated_by_area() {
    let promised = above_the_awg_table(&[(60.0, 60.0), (90.0, 90.0), (105.0, 105.0)]);
    assert_eq!(promised, ["35 mm2 90 C: 185 A against 184.7 A"]);
    // A metric class without a column in Table 5 is held against the next lower one there.
    let others = above_the_awg_table(&[(85.0, 80.0), (125.0, 125.0), (200.0, 200.0)]);
    assert_eq!(
        others,
        [
            "1 mm2 85 C: 18 A against 16.8 A",
            "2.5 mm2 85 C: 30 A against 28.4 A",
            "35 mm2 85 C: 185 A against 180.5 A",
            "16 mm2 125 C: 150 A against 140.5 A",
            "50 mm2 125 C: 300 A against 292.4 A",
            "1 mm2 200 C: 35 A against 28.6 A",
            "1.5 mm2 200 C: 40 A against 37.5 A",
            "10 mm2 200 C: 120 A against 111.6 A",
            "16 mm2 200 C: 170 A against 150.5 A",
            "50 mm2 200 C: 325 A against 310.9 A",
        ]
    );
}

/// The metric rows between 18 AWG and 4/0 AWG that lie above the AWG table, by pairs of classes (metric, AWG).
fn above_the_awg_table(classes: &[(f64, f64)]) -> Vec<String> {
    let book = book();
    let points = |class: f64| {
        let gauges =
            [18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3].map(|number| Size::Awg(Gauge(number)));
        gauges.map(|size| (size.area().as_mm2(), book.ampacity(&free(size, class)).as_amps()))
    };
    let areas = [0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0, 150.0];
    let (mut above, mut compared) = (Vec::new(), 0);
    for (metric, gauge) in classes {
        let points = points(*gauge);
        for area in areas {
            let pair = points.windows(2).find(|pair| pair[0].0 <= area && area <= pair[1].0);
            let Some([low, high]) = pair.and_then(|pair| <[_; 2]>::try_from(pair).ok()) else { continue };
            let most = low.1 + (high.1 - low.1) * (area - low.0) / (high.0 - low.0);
            let amps = book.ampacity(&free(mm2(area), *metric)).as_amps();
            if most < amps {
                above.push(format!("{area} mm2 {metric} C: {amps} A against {most:.1} A"));
            }
            compared += 1;
        }
    }
    // 1 mm² to 95 mm²: the others lie outside the AWG table.
    assert_eq!(compared, 12 * classes.len());
    above
}
