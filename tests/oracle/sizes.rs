//! Conductor sizes: ASTM B258 for AWG, SAE J1128 for road-vehicle gauge.

use ohmward::units::{Gauge, Size};

use super::table::rows;

#[test]
fn awg_diameters_and_areas_follow_astm_b258() {
    let mut compared = 0;
    for row in rows("awg") {
        let gauge = Gauge::parse(row.text("awg")).expect("a gauge");
        // 0.127 mm × 92^((36 − n)/39), by whole-number steps from 36 AWG (0.005 in) to 4/0 (0.46 in).
        let steps = f64::from(36 - i32::from(gauge.0));
        let formula = (0.005_f64.ln() + steps / 39.0 * (0.46_f64 / 0.005).ln()).exp() * 25.4;
        row.agrees(gauge.diameter_mm(), formula, 1e-12);
        row.agrees(gauge.diameter_mm(), row.number("diameter_mm"), 1e-4);
        row.agrees(Size::Awg(gauge).area().as_mm2(), row.number("area_mm2"), 2e-4);
        compared += 1;
    }
    assert_eq!(compared, 28);
}

#[test]
fn road_vehicle_gauge_is_smaller_by_the_minimum_areas() {
    const MM2_PER_CIRCULAR_MIL: f64 = 5.067_074_79e-4;
    let mut compared = 0;
    for row in rows("awg").iter().filter(|row| !row.text("sae_min_circular_mils").is_empty()) {
        let gauge = Gauge::parse(row.text("awg")).expect("a gauge");
        let ours = Size::Sae(gauge).area().as_mm2();
        row.agrees(ours, row.number("sae_min_circular_mils") * MM2_PER_CIRCULAR_MIL, 1e-6);
        assert!(ours < Size::Awg(gauge).area().as_mm2());
        compared += 1;
    }
    assert_eq!(compared, 14);
}
