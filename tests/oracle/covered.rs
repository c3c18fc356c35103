//! Every figure of every shipped book: each limit and each cell of each table stands in the reference data, or in a list
//! here with its value and the reason. A new figure with neither fails.

use std::collections::{BTreeMap, BTreeSet};

use ohmward::book::{Book, Cell, Confidence};
use ohmward::units::{Gauge, Size};

use super::table::{Row, kind, rows};

/// What a limit is held against.
enum Proof {
    /// The one row of a table that contains all these words has the figure in this column: exactly, or so rounded.
    Row(&'static str, &'static [&'static str], &'static str, How),
    /// The one row of a table that contains all these words says it in these words.
    Says(&'static str, &'static [&'static str]),
    /// Worked out here.
    Worked(f64),
    /// Remembered, without a row in the reference data; why it is believed.
    Remembered(&'static str),
    /// Common practice without a source; why.
    Common(&'static str),
}
use Proof::{Common, Remembered, Row as In, Says, Worked};

/// How the book's figure comes from the published one.
enum How {
    Equal,
    /// The published one is ours, rounded to a whole number of its unit.
    Printed,
    /// Ours is the published one, rounded down to a multiple of this.
    Down(f64),
    /// Ours is one of those that the text names.
    Named,
}

const DISTANCE: &str = "protection_distance";
const RATING: &str = "protection_rating";
const DROP: &str = "voltage_drop";
const FAULT: &str = "battery_fault_current";

/// Limits with their values.
type Proofs = &'static [(&'static str, &'static str, Proof)];

/// Every limit that a book states itself: its value, and what it is held against.
#[rustfmt::skip]
const LIMITS: &[(&str, Proofs)] = &[
    ("common-practice", &[
        ("distance.battery-bare", "180 mm", In(DISTANCE, &["iso13590_180,"], "max_distance_mm", How::Equal)),
        ("distance.battery-sheathed", "1.8 m", In(DISTANCE, &["abyc_battery_72in,"], "max_distance_mm", How::Down(100.0))),
        ("distance.other-bare", "180 mm", In(DISTANCE, &["iso13590_180,"], "max_distance_mm", How::Equal)),
        ("distance.other-sheathed", "1 m", In(DISTANCE, &["us_boat_40in,"], "max_distance_mm", How::Down(100.0))),
        ("cranking", "exempt", Says(DISTANCE, &["abyc_7in,", "cranking motor conductors"])),
        ("cranking.restarts", "yes", Remembered("the exemption names the cranking motor's conductors and nothing that is tapped from them")),
        ("bank.link", "500 mm", Common("the length of a link between two batteries that stand side by side")),
        ("bank.device-each", "500 Ah", In(FAULT, &["parallel bank above 500 Ah"], "value", How::Equal)),
        ("share.spread", "10 %", Common("what battery makers ask of paralleled strings")),
        ("protection.ratio", "100 %", In(RATING, &["uk_small_vessel"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.ratio-high", "100 %", In(RATING, &["uk_small_vessel"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.high-voltage", "50 V", Says(RATING, &["us_boat_ge50", "circuits of 50 V or more"])),
        ("protection.continuous", "80 %", Common("1/1.25, the share that NEC 215.2(A)(1) leaves too")),
        ("selectivity.ratio", "160 %", Remembered("the ratio that IEC 60269-2 gives for fuses of one class")),
        ("protection.continuous-blade", "70 %", In(RATING, &["fuse_continuous"], "other_limit", How::Named)),
        ("type.blade", "20 A", Common("blades and their holders run hot above it")),
        ("breaker.reset", "manual", Remembered("33 CFR 183.455(a); the paragraph was not copied")),
        ("drop.critical", "3 %", In(DROP, &["ABYC E-11", "critical: panelboard"], "value", How::Equal)),
        ("drop.other", "10 %", In(DROP, &["ABYC E-11", "non-critical"], "value", How::Equal)),
        ("size.least", "0.75 mm2", In("ampacity_small_craft_iso", &["min_size", "800 mm"], "value", How::Equal)),
        ("size.least-sheathed", "0.75 mm2", In("ampacity_small_craft_iso", &["min_size", "800 mm"], "value", How::Equal)),
        ("size.control-device", "5 A", Common("what a 0.5 mm2 lead bears in any class")),
        ("rings.per-stud", "4", In("terminals", &["max_terminals", "ABYC E-11 11.14.6.9"], "value", How::Equal)),
        ("ring.clearance", "1 mm", Worked(1e-3)),
        ("aluminium-clad.conductivity", "65 %", Remembered("15 % copper by volume: 0.15 + 0.85 × 0.61 = 0.67, rounded down")),
        ("aluminium-clad.ampacity", "80 %", Worked(0.8)),
        ("temperature.lowest", "-10 C", Common("an assumption, to be set for the place of use")),
        ("conductor.operating", "70 C", Common("the class of common PVC, fully loaded")),
        ("insulation.assumed", "60 C", Says("ampacity_marine_us", &["ampacity,33 CFR 183,18,60,"])),
        ("ambient.most", "100 %", Common("a cool place does not stay cool")),
        ("bundling.from", "1 V", Common("conductors warm each other at any voltage")),
        ("charge.coldest-lithium", "0 C", Common("lithium plates below freezing")),
        ("alternator.share", "75 %", Common("hot output against the cold rating")),
        ("alternator.voltage", "118 %", Common("14.2 V in a 12 V system")),
        ("efficiency.charger", "88 %", Common("low side of DC converters and mains chargers")),
        ("efficiency.solar-charger", "95 %", Common("low side of tracking chargers")),
        ("efficiency.inverter", "88 %", Common("low side of inverters at half load")),
        ("reading.share", "10 %", Common("lengths as laid, loads as rated, clamp meters")),
        ("reading.voltage", "1 %", Common("a multimeter, and a battery's voltage to a tenth of a volt")),
        ("reading.least-voltage", "20 mV", Common("two digits of a multimeter")),
        ("reading.least-current", "0.2 A", Common("what a shunt of hundreds of amperes resolves")),
        ("reading.device", "0.1 V", Common("fuses in their holders, warm")),
        ("return.bypass.data-lead", "error", Common("a data lead's negative burns")),
        ("return.bypass.thinner", "error", Common("a thin conductor in the loop takes more than it bears")),
        ("return.bypass.other", "warning", Common("a common chassis is normal in vehicles")),
        ("full.lead-acid", "14.8 V", Common("absorption, temperature-corrected, equalising left out")),
        ("full.agm", "14.8 V", Common("absorption, temperature-corrected")),
        ("full.gel", "14.4 V", Common("gel gasses above it")),
        ("full.lifepo4", "14.6 V", Common("3.65 V in each of 4 cells")),
        ("full.nmc", "14.7 V", Common("4.2 V in each of 14 cells, called 48 V")),
        ("absorption-least.lead-acid", "14.1 V", Common("below it sulphation stays")),
        ("absorption-least.agm", "14.1 V", Common("below it sulphation stays")),
        ("absorption-least.gel", "13.8 V", Common("the low end of gel absorption")),
        ("absorption-least.lifepo4", "13.8 V", Common("3.45 V in each of 4 cells")),
        ("absorption-least.nmc", "12 V", Common("4 V in each of 14 cells, called 48 V, and less")),
        ("empty.lead-acid", "10.5 V", Common("1.75 V in each of 6 cells")),
        ("empty.agm", "10.5 V", Common("1.75 V in each of 6 cells")),
        ("empty.gel", "10.5 V", Common("1.75 V in each of 6 cells")),
        ("empty.lifepo4", "10 V", Common("2.5 V in each of 4 cells")),
        ("empty.nmc", "9 V", Common("below 3 V in each of 14 cells, called 48 V")),
        ("fault-per-amp-hour.lead-acid", "15", In(FAULT, &["rule_of_thumb_high,lead-acid flooded"], "value", How::Equal)),
        ("fault-per-amp-hour.agm", "30", In(FAULT, &["rule_of_thumb_high,lead-acid AGM"], "value", How::Equal)),
        ("fault-per-amp-hour.gel", "30", In(FAULT, &["rule_of_thumb_high,lead-acid AGM"], "value", How::Equal)),
        ("fault-per-amp-hour.lifepo4", "60", In(FAULT, &["rule_of_thumb_high", "LiFePO4"], "value", How::Equal)),
        ("fault-per-amp-hour.nmc", "60", In(FAULT, &["rule_of_thumb_high", "LiFePO4"], "value", How::Equal)),
        ("charge.share.lead-acid", "25 %", Common("C/4")),
        ("charge.share.agm", "30 %", Common("C/3")),
        ("charge.share.gel", "30 %", Common("C/3")),
        ("charge.share.lifepo4", "50 %", Common("C/2")),
        ("charge.share.nmc", "50 %", Common("C/2")),
    ]),
    ("small-craft-us", &[
        ("distance.battery-bare", "178 mm", In(DISTANCE, &["us_boat_7in,"], "max_distance_mm", How::Printed)),
        ("distance.battery-sheathed", "1.83 m", In(DISTANCE, &["us_boat_battery_72in,"], "max_distance_mm", How::Printed)),
        ("distance.other-bare", "178 mm", In(DISTANCE, &["us_boat_7in,"], "max_distance_mm", How::Printed)),
        ("distance.other-sheathed", "1.02 m", In(DISTANCE, &["us_boat_40in,"], "max_distance_mm", How::Printed)),
        ("cranking", "exempt", Says(DISTANCE, &["abyc_7in,", "cranking motor conductors"])),
        ("cranking.restarts", "yes", Remembered("the exemption names the cranking motor's conductors and nothing that is tapped from them")),
        ("bank.device-each", "500 Ah", In(FAULT, &["parallel bank above 500 Ah"], "value", How::Equal)),
        ("protection.ratio", "150 %", In(RATING, &["us_boat_lt50"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.ratio-high", "100 %", In(RATING, &["us_boat_ge50"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.high-voltage", "50 V", Says(RATING, &["us_boat_ge50", "circuits of 50 V or more"])),
        ("breaker.reset", "manual", Remembered("33 CFR 183.455(a); the paragraph was not copied")),
        ("drop.critical", "3 %", In(DROP, &["ABYC E-11", "critical: panelboard"], "value", How::Equal)),
        ("drop.other", "10 %", In(DROP, &["ABYC E-11", "non-critical"], "value", How::Equal)),
        ("size.least", "1.31 mm2", Says("ampacity_marine_us", &["min_size,33 CFR 183,16,", "separately installed"])),
        ("size.least-sheathed", "0.823 mm2", Says("ampacity_marine_us", &["min_size,33 CFR 183,18,", "sheath"])),
        ("rings.per-stud", "4", In("terminals", &["max_terminals", "ABYC E-11 11.14.6.9"], "value", How::Equal)),
        ("insulation.assumed", "60 C", Says("ampacity_marine_us", &["ampacity,33 CFR 183,18,60,"])),
        ("bundling.from", "50 V", Says("ampacity_marine_us", &["factor_bundle,33 CFR 183,,,3,3,", "50 V or more (183.435(b))"])),
        ("return.bypass.other", "error", Common("in a boat nothing but its own conductor returns a current")),
    ]),
    ("small-craft-iso", &[
        ("distance.battery-bare", "200 mm", In(DISTANCE, &["iso13297_battery,"], "max_distance_mm", How::Equal)),
        ("distance.other-bare", "200 mm", In(DISTANCE, &["iso10133_200,"], "max_distance_mm", How::Equal)),
        ("cranking", "exempt", Says(DISTANCE, &["iso13297_battery,", "battery-to-cranking-motor circuit"])),
        ("protection.ratio", "100 %", In(RATING, &["iso10133,"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.ratio-high", "100 %", In(RATING, &["iso10133,"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("drop.critical", "3 %", In(DROP, &["limit,ISO 10133", "critical"], "value", How::Equal)),
        ("drop.other", "10 %", In(DROP, &["limit,ISO 10133", "other circuits"], "value", How::Equal)),
        ("size.least", "1 mm2", In("ampacity_small_craft_iso", &["min_size", "installed separately"], "value", How::Equal)),
        ("size.least-sheathed", "0.75 mm2", In("ampacity_small_craft_iso", &["min_size", "800 mm"], "value", How::Equal)),
        ("insulation.assumed", "60 C", Says("ampacity_small_craft_iso", &["ampacity,0.75,60,"])),
        ("return.bypass.other", "error", Common("in a boat nothing but its own conductor returns a current")),
    ]),
    ("caravan-us", &[
        ("distance.battery-bare", "450 mm", In(DISTANCE, &["nec_18in,"], "max_distance_mm", How::Equal)),
        ("distance.battery-sheathed", "450 mm", In(DISTANCE, &["nec_18in,"], "max_distance_mm", How::Equal)),
        ("distance.other-bare", "450 mm", In(DISTANCE, &["nec_18in,"], "max_distance_mm", How::Equal)),
        ("distance.other-sheathed", "450 mm", In(DISTANCE, &["nec_18in,"], "max_distance_mm", How::Equal)),
        ("protection.ratio", "100 %", In(RATING, &["nec_next_size"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.ratio-high", "100 %", In(RATING, &["nec_next_size"], "max_ratio_of_conductor_ampacity", How::Equal)),
        ("protection.continuous", "80 %", Says(RATING, &["nec_continuous", "1.25 x continuous load"])),
        ("drop.critical", "3 %", In(DROP, &["limit,NEC", "branch circuit"], "value", How::Equal)),
        ("drop.other", "5 %", In(DROP, &["limit,NEC", "feeder plus branch"], "value", How::Equal)),
        ("size.least", "0.823 mm2", Says("ampacity_nec", &["max_ocpd_low_voltage_rv,18,", "18 and 16 AWG stranded only"])),
        ("size.least-sheathed", "0.823 mm2", Says("ampacity_nec", &["max_ocpd_low_voltage_rv,18,", "18 and 16 AWG stranded only"])),
        ("insulation.assumed", "60 C", Says("ampacity_nec", &["ampacity,14,60,"])),
    ]),
];

/// Limits without a row that are worked out from several.
fn worked(limit: &str) -> f64 {
    match limit {
        // The hole of the fine series less the thread, at its largest (M12).
        "ring.clearance" => {
            let play = kind("terminals", "ring_hole_fine").into_iter().map(|row| {
                row.number("value")
                    - row.text("thread_or_awg").trim_start_matches('M').parse::<f64>().expect("a thread")
            });
            play.fold(0.0, f64::max) / 1e3
        }
        // sqrt(0.65) = 0.806.
        "aluminium-clad.ampacity" => (0.65_f64.sqrt() * 100.0).floor() / 100.0,
        other => unreachable!("{other} is not worked out"),
    }
}

/// A value as it is written, in the unit of the reference data.
fn in_reference_units(text: &str) -> f64 {
    let (digits, unit) = text.split_once(' ').unwrap_or((text, ""));
    let number: f64 = digits.parse().unwrap_or(f64::NAN);
    if unit == "m" { number * 1e3 } else { number }
}

/// The one row of a table with all these words.
fn the_row(table: &str, words: &[&str]) -> Row {
    let mut found: Vec<Row> =
        rows(table).into_iter().filter(|row| words.iter().all(|word| row.line().contains(word))).collect();
    assert_eq!(found.len(), 1, "{table} {words:?}");
    found.remove(0)
}

#[test]
fn every_limit_is_proved() {
    let common = Book::shipped("common-practice").expect("a book that reads");
    let (mut published, mut listed) = (0, 0);
    for name in Book::shipped_names() {
        let book = Book::shipped(name).expect("a book that reads");
        let proofs = LIMITS.iter().find(|row| row.0 == name).map_or(&[][..], |row| row.1);
        let mut used = BTreeSet::new();
        for (limit, figure) in book.figures().into_iter().filter(|row| is_limit(&row.0)) {
            if figure.book != name {
                assert_eq!(Some(&figure), common.figure(&limit).as_ref(), "{name}: {limit}");
                continue;
            }
            let proof = proofs.iter().find(|row| row.0 == limit);
            let (_, value, proof) =
                proof.unwrap_or_else(|| unreachable!("{name}: {limit} has neither a row nor a reason"));
            assert_eq!(&figure.value_text, value, "{name}: {limit}");
            used.insert(limit.clone());
            let checked = figure.confidence == Confidence::Checked;
            match proof {
                In(table, words, column, how) => {
                    let row = the_row(table, words);
                    // Ours with the digits that the book has, where it is written in inches or rounded for people.
                    let mut ours = in_reference_units(value);
                    if *column == "max_ratio_of_conductor_ampacity" {
                        ours /= 100.0;
                    }
                    match how {
                        How::Equal => row.agrees(ours, row.number(column), 0.0),
                        // Three figures are shown.
                        How::Printed => row.agrees(ours, row.number(column), 0.005),
                        How::Down(step) => {
                            row.agrees(ours, (row.number(column) / step).floor() * step, 0.0);
                        }
                        How::Named => {
                            let named = format!("{:.2}", ours / 100.0);
                            assert!(row.text(column).contains(&named), "{name}: {limit}, {named}");
                        }
                    }
                    assert!(!checked || row.text("confidence") == "checked", "{name}: {limit} was not seen");
                    published += 1;
                }
                Says(table, words) => {
                    let row = the_row(table, words);
                    assert!(!checked || row.text("confidence") == "checked", "{name}: {limit} was not seen");
                    published += 1;
                }
                Worked(expected) => {
                    assert!((worked(&limit) - expected).abs() < 1e-9, "{limit}");
                    assert!(matches!(figure.confidence, Confidence::Computed | Confidence::Memory));
                    listed += 1;
                }
                Remembered(why) => {
                    assert_eq!(figure.confidence, Confidence::Memory, "{name}: {limit}");
                    assert!(10 < why.len());
                    listed += 1;
                }
                Common(why) => {
                    assert_eq!(figure.confidence, Confidence::CommonPractice, "{name}: {limit}");
                    assert!(2 < why.len());
                    listed += 1;
                }
            }
        }
        assert_eq!(used.len(), proofs.len(), "{name}: a limit is proved that the book does not state");
    }
    assert_eq!((published, listed), (59, 53), "a loss shows");
}

fn is_limit(name: &str) -> bool {
    ohmward::book::Limit::all().any(|limit| limit.name() == name)
}

/// Sizes that are written as gauges.
#[test]
fn least_sizes_by_gauge() {
    for (book, limit, gauge) in [
        ("small-craft-us", "size.least", 16),
        ("small-craft-us", "size.least-sheathed", 18),
        ("caravan-us", "size.least", 18),
        ("caravan-us", "size.least-sheathed", 18),
    ] {
        let figure = Book::shipped(book).and_then(|book| book.figure(limit)).expect("the limit");
        assert_eq!(figure.value_text, Size::Awg(Gauge(gauge)).area().to_string(), "{book} {limit}");
    }
}

/// Distances in inches, to the last digit.
#[test]
fn distances_in_inches() {
    use ohmward::book::LengthLimit;
    let book = Book::shipped("small-craft-us").expect("a book that reads");
    for (limit, inches) in [
        (LengthLimit::BatteryBare, 7.0),
        (LengthLimit::OtherBare, 7.0),
        (LengthLimit::BatterySheathed, 72.0),
        (LengthLimit::OtherSheathed, 40.0),
    ] {
        assert!((book.length(limit).as_metres() - inches * 0.0254).abs() < 1e-12);
    }
}

/// Table, row, column.
type Key = (String, String, String);

/// The figures that a book's tables may have, and whether each was seen.
#[derive(Default)]
struct Expected(BTreeMap<Key, Vec<(String, bool)>>);

impl Expected {
    fn add(
        &mut self,
        table: &str,
        row: impl ToString,
        column: impl ToString,
        value: impl ToString,
        row_of: &Row,
    ) {
        let key = (table.to_owned(), row.to_string(), column.to_string());
        let seen = row_of.text("confidence") != "memory";
        self.0.entry(key).or_default().push((plain(&value.to_string()), seen));
    }
}

/// A number without trailing zeros.
fn plain(text: &str) -> String {
    text.parse::<f64>().map_or_else(|_| text.to_owned(), |number| number.to_string())
}

/// What the reference data has for the tables that a book states itself.
fn expected(book: &str) -> Expected {
    let mut all = Expected::default();
    if book != "small-craft-iso" && book != "caravan-us" {
        for row in
            kind("ampacity_marine_us", "ampacity").iter().filter(|row| row.text("standard") == "33 CFR 183")
        {
            let class = format!("{} C", row.text("insulation_temp_c"));
            all.add("ampacity.awg", format!("{} AWG", row.text("awg")), class, row.text("value"), row);
        }
        for row in kind("ampacity_marine_us", "factor_bundle")
            .iter()
            .filter(|row| row.text("standard") == "33 CFR 183")
        {
            all.add("bundling", row.text("n_conductors_min"), "", row.text("value"), row);
        }
    }
    if book == "caravan-us" {
        for row in kind("ampacity_nec", "max_ocpd_low_voltage_rv") {
            for class in ["60 C", "75 C", "90 C"] {
                all.add("ampacity.awg", format!("{} AWG", row.text("awg")), class, row.text("value"), &row);
            }
        }
        let small = ["14", "12", "10"];
        for row in kind("ampacity_nec", "ampacity").iter().filter(|row| !small.contains(&row.text("awg"))) {
            let class = format!("{} C", row.text("insulation_temp_c"));
            all.add("ampacity.awg", format!("{} AWG", row.text("awg")), class, row.text("value"), row);
        }
        for row in
            kind("ampacity_nec", "factor_bundle").iter().filter(|row| row.text("n_conductors_min") != "1")
        {
            all.add("bundling", row.text("n_conductors_min"), "", row.text("value"), row);
        }
    }
    if book == "small-craft-us" {
        for row in kind("ampacity_marine_us", "factor_engine_space")
            .iter()
            .filter(|row| row.text("standard") == "33 CFR 183")
        {
            let class = format!("{} C", row.text("insulation_temp_c"));
            all.add("engine-space", class, "", row.text("value"), row);
            assert!(row.text("condition").contains("ambient 50 C"));
            all.add("engine-space", "up to", "", "50 C", row);
        }
    }
    if book == "small-craft-iso" {
        for row in kind("ampacity_small_craft_iso", "factor_engine_space") {
            let class = row.text("insulation_temp_c").split('-').next().unwrap_or_default();
            all.add("engine-space", format!("{class} C"), "", row.text("value"), &row);
            assert!(row.text("condition").contains("the figures fit 50 C"));
            all.add("engine-space", "up to", "", "50 C", &row);
        }
        for row in kind("ampacity_small_craft_iso", "factor_bundle") {
            all.add("bundling", row.text("n_conductors_min"), "", row.text("value"), &row);
        }
    }
    for row in kind("ampacity_small_craft_iso", "ampacity") {
        let class = row.text("insulation_temp_c").split('-').next().unwrap_or_default();
        all.add(
            "ampacity.metric",
            format!("{} mm2", row.text("area_mm2")),
            format!("{class} C"),
            row.text("value"),
            &row,
        );
    }
    for row in kind("ampacity_nec", "factor_ambient") {
        let class = format!("{} C", row.text("insulation_temp_c"));
        all.add("ambient", format!("{} C", row.text("ambient_max_c")), class, row.text("value"), &row);
    }
    for row in rows("solar").iter().filter(|row| row.text("kind") == "voc_factor") {
        let range = row.text("condition").trim_start_matches("lowest expected ambient ");
        let least = range.split(' ').next().unwrap_or_default();
        all.add("cold", least, "", row.text("value"), row);
    }
    for row in kind("terminals", "ring_hole_fine") {
        all.add("ring-holes", row.text("thread_or_awg").trim_start_matches('M'), "", row.text("value"), &row);
    }
    for row in rows("metric_conductor_resistance") {
        let column = format!("class {} {}", row.text("iec_class"), row.text("coating"));
        let area = format!("{} mm2", row.text("area_mm2"));
        all.add("resistance.metric", area, column, row.text("max_r20_ohm_per_km"), &row);
    }
    let coefficient = the_row(DROP, &["temperature coefficient of copper"]);
    all.add("resistance.copper", "per-kelvin", "", coefficient.text("value"), &coefficient);
    colours(book, &mut all);
    all
}

/// Colours by the standard that each book follows. E-11's tan has no word in IEC 60757 and is left out, and its plain
/// yellow for the blower is left to the negative.
fn colours(book: &str, all: &mut Expected) {
    let word = |text: &str| {
        let text = text.replace("dark ", "").replace("light ", "").replace("purple", "violet");
        text.split(" or ").map(str::to_owned).collect::<Vec<_>>()
    };
    for row in kind("colours", "colour") {
        let role = match row.text("designation") {
            "DC negative" => "negative",
            "DC grounding" | "bonding" => "bond",
            _ => "positive",
        };
        let (code, table) = (row.text("code"), format!("colours.{role}"));
        let follows = match (book, role) {
            ("common-practice", "positive") => code == "general battery practice",
            ("common-practice" | "small-craft-us", _) => code == "ABYC E-11",
            ("small-craft-iso", _) => code == "ISO 10133 / 13297",
            _ => false,
        };
        if !follows {
            continue;
        }
        if row.text("colour_or_number").starts_with("any other colour") {
            for (any, _) in ohmward::design::Colour::WORDS {
                if !["black", "yellow", "green", "bare"].contains(&any) {
                    all.add(&table, "", "", any, &row);
                }
            }
            continue;
        }
        for colour in word(row.text("colour_or_number")) {
            if !(colour == "tan" || colour == "yellow" && role == "positive") {
                all.add(&table, "", "", colour, &row);
            }
        }
    }
}

/// Cells without a row in the reference data: where they stand, their value, and why.
const LISTED: &[(&str, &str, &str, &str)] = &[
    ("cold", "25", "1", "the temperature at which the modules' figure is stated"),
    (
        "resistance.copper",
        "resistivity",
        "17.241",
        "IEC 60028; `awg_constants` holds it against the rows of AWG",
    ),
    ("resistance.copper", "stranded", "1.02", "`awg_constants` holds it against NEC Chapter 9 Table 8"),
    ("resistance.copper", "tinned", "1.04", "`awg_constants` holds it against NEC Chapter 9 Table 8"),
    ("colours.bond", "", "bare", "common practice, no source: a bare braid"),
    ("colours.positive", "tracer", "true", "common practice, no source: a tracer tells circuits apart"),
    ("colours.negative", "tracer", "false", "common practice, no source: yellow/red is a starting circuit"),
    ("colours.bond", "tracer", "false", "the one that is allowed is listed itself"),
    ("colours.control", "tracer", "true", "common practice, no source: any colour"),
];

#[test]
fn every_cell_of_every_table_is_proved() {
    let common = Book::shipped("common-practice").expect("a book that reads").cells();
    let (mut published, mut listed) = (0, 0);
    for name in Book::shipped_names() {
        let book = Book::shipped(name).expect("a book that reads");
        let expected = expected(name);
        let mut used = BTreeSet::new();
        for cell in book.cells() {
            if cell.book != name {
                assert!(common.contains(&cell), "{name}: {cell:?}");
                continue;
            }
            let key = (cell.table.clone(), cell.row.clone(), cell.column.clone());
            let own = ["ratings.", "opening.", "withstand.", "breaks."]
                .iter()
                .any(|start| cell.table.starts_with(start));
            let found = match expected.0.get(&key) {
                _ if own => by_its_type(&cell),
                // A gap of the published table: not permitted.
                None if cell.table == "ambient" && cell.value == "0" => true,
                None => false,
                Some(values) => {
                    used.insert(key);
                    let ours = values.iter().find(|row| row.0 == plain(&cell.value));
                    // One figure that was not seen makes a table one from memory, never the other way round.
                    ours.is_some_and(|row| row.1 || cell.confidence != Confidence::Checked)
                }
            };
            if found {
                published += 1;
                continue;
            }
            let reason =
                LISTED.iter().find(|row| (row.0, row.1, row.2) == (&*cell.table, &*cell.row, &*cell.value));
            assert!(reason.is_some(), "{name}: {cell:?} has neither a row nor a reason");
            listed += 1;
        }
        // Nothing that the book's own tables should have is left out.
        let stated: BTreeSet<String> =
            book.cells().into_iter().filter(|cell| cell.book == name).map(|cell| cell.table).collect();
        for key in expected.0.keys().filter(|key| stated.contains(&key.0)) {
            assert!(used.contains(key), "{name}: {key:?} is missing");
        }
    }
    assert_eq!((published, listed), (986, 16), "a loss shows");
}

/// Which published type each list of ratings and each table of gates is, by the words that end its source.
const TYPES: &[(&str, &[&str])] = &[
    ("type F", &["blade_f"]),
    ("types C and F", &["blade_c", "blade_f"]),
    ("type C", &["blade_c"]),
    ("type E", &["blade_e"]),
    ("the slower of SF30 and SF51 at each gate", &["bolt_sf30", "bolt_sf51"]),
    ("type SF30", &["bolt_sf30"]),
    ("type SF51", &["bolt_sf51"]),
    ("flat bolt-in limiters", &["anl_style"]),
    ("UL 248-15", &["class_t_dc"]),
    ("terminal-mounted block fuses", &["terminal_block"]),
    ("IEC 60269-6", &["gpv_10x38"]),
    ("thermal circuit-breakers", &["thermal_breaker"]),
];

/// Ratings, gates and k, whose tables have several origins each.
fn by_its_type(cell: &Cell) -> bool {
    let ids = TYPES.iter().find(|row| cell.source.contains(row.0)).map_or(&[][..], |row| row.1);
    if cell.table.starts_with("withstand.") {
        return withstand(cell);
    }
    if cell.table.starts_with("breaks.") {
        return breaks(cell);
    }
    if cell.table.starts_with("ratings.") {
        if cell.source.starts_with("NEC 240.6(A)") {
            let row = the_row(RATING, &["nec_std_sizes"]);
            return row.text("other_limit").split(' ').any(|amps| plain(amps) == plain(&cell.value));
        }
        // The lists of ratings are from memory, whatever else of the type was seen.
        return cell.confidence == Confidence::Memory
            && rows("fuse_types").iter().any(|row| {
                ids.contains(&row.text("type_id"))
                    && row
                        .text("preferred_ratings_a")
                        .split(';')
                        .any(|amps| plain(amps) == plain(&cell.value))
            });
    }
    let (range, percent) = cell.row.split_once(" A at ").expect("a range and a percentage");
    let (least, most) = range.split_once(" A to ").expect("two ratings");
    let (least, most): (f64, f64) = (least.parse().expect("a rating"), most.parse().expect("a rating"));
    let percent: f64 = percent.trim_end_matches(" %").parse().expect("a percentage");
    let holds = |row: &Row| {
        let ends: Vec<f64> =
            row.text("rating_range_a").split(" to ").filter_map(|end| end.parse().ok()).collect();
        match ends[..] {
            // Whole ratings: 30.1 A to 60 A of ours is 31 A to 60 A of theirs.
            [from, to] => from <= least.ceil() && most <= to,
            _ => true,
        }
    };
    let gates: Vec<Row> = rows("fuse_operating_time")
        .into_iter()
        .filter(|row| ids.contains(&row.text("type_id")) && holds(row))
        .collect();
    let time = |row: &Row, column: &str| row.text(column).parse::<f64>().ok();
    if cell.source.contains("the slower of") {
        // The slower type at that current, each by its last gate that is passed; no earliest time.
        let latest = ids.iter().map(|id| {
            let passed = gates
                .iter()
                .filter(|row| row.text("type_id") == *id && row.number("percent_of_rating") <= percent);
            passed.filter_map(|row| time(row, "t_max_s")).fold(f64::INFINITY, f64::min)
        });
        let latest = latest.fold(0.0, f64::max);
        return if cell.column == "slowest" {
            cell.value == latest.to_string()
        } else {
            cell.value == "none"
        };
    }
    let column = if cell.column == "slowest" { "t_max_s" } else { "t_min_s" };
    let at: Vec<&Row> = gates.iter().filter(|row| row.number("percent_of_rating") == percent).collect();
    let times: BTreeSet<String> =
        at.iter().map(|row| time(row, column).map_or("none".into(), |seconds| seconds.to_string())).collect();
    cell.confidence == Confidence::Memory && times.len() == 1 && times.contains(&cell.value)
}

/// Each figure of ours with the row that it is taken from.
fn breaks(cell: &Cell) -> bool {
    let at: f64 = cell.row.trim_end_matches(" kV").trim_end_matches(" V").parse().expect("a voltage");
    let ids: &[&str] = match cell.table.as_str() {
        "breaks.blade" => &["blade_f", "blade_c", "blade_e"],
        "breaks.bolt-in" => &["bolt_sf30", "bolt_sf51"],
        "breaks.strip" => &["anl_style"],
        "breaks.class-t" => &["class_t_dc"],
        "breaks.terminal-block" => &["terminal_block"],
        "breaks.cylindrical" => &["gpv_10x38"],
        _ => return false,
    };
    let at = format!("{at} V DC");
    let listed = rows("fuse_types");
    let mut listed = listed
        .iter()
        .filter(|row| ids.contains(&row.text("type_id")) && row.text("at_voltage") == at)
        .peekable();
    listed.peek().is_some()
        && listed.all(|row| {
            let from_memory =
                row.text("confidence") == "memory" || row.text("fields_from_memory").contains("at_voltage");
            let same = row.text("interrupting_capacity_a") == cell.value
                || row
                    .text("note")
                    .contains(&format!("the standard minimum is {} kA", plain_kilo(&cell.value)));
            same && from_memory == (cell.confidence == Confidence::Memory)
        })
}

fn plain_kilo(amps: &str) -> f64 {
    amps.parse::<f64>().expect("amperes") / 1e3
}

/// Each class of ours with the row that it is taken from.
fn withstand(cell: &Cell) -> bool {
    let words: &[&str] = match cell.table.as_str() {
        // The lowest that is published for a conductor of at least this class, and it is seen.
        "withstand.60" | "withstand.70" => &["k,copper,PVC (thermoplastic 70 C)", "live conductor"],
        "withstand.85" => &["PVC 85 C road-vehicle cable"],
        "withstand.90" => &["PVC (thermoplastic 90 C),up to 300 mm2"],
        "withstand.105" => &["thermoplastic 105 C boat cable"],
        "withstand.125" => &["cross-linked 125 C road-vehicle cable"],
        _ => return false,
    };
    let row = the_row("withstand", words);
    let same = row.text("value") == cell.value && row.text("confidence") == cell.confidence.word();
    assert!(same, "{cell:?} against {}, {}", row.text("value"), row.text("confidence"));
    same
}

/// What the resistance of gauges is computed with, against the rows of AWG and the NEC's stranded conductors.
#[test]
fn awg_constants() {
    let table = rows("awg");
    for row in &table {
        row.agrees(17.241 / row.number("area_mm2"), row.number("r20_mohm_per_m"), 3e-4);
    }
    let seen: Vec<&Row> = table.iter().filter(|row| row.text("confidence_nec_t8") == "checked").collect();
    let mean = |of: &dyn Fn(&Row) -> f64| seen.iter().map(|row| of(row)).sum::<f64>() / seen.len() as f64;
    let stranded = mean(&|row| row.number("ratio_nec_stranded_to_computed_solid"));
    assert!((stranded - 1.02).abs() < 0.005, "{stranded}");
    let tinned = mean(&|row| {
        row.number("nec_t8_coated_stranded_ohm_per_kft_75c")
            / row.number("nec_t8_uncoated_stranded_ohm_per_kft_75c")
    });
    assert!((tinned - 1.04).abs() < 0.005, "{tinned}");
}
