//! Limits against the published clauses that they come from.

use ohmward::book::{
    AreaLimit, Book, CapacityLimit, ChemistryLimit, ColourRole, Confidence, LengthLimit, Limit, NumberLimit,
    ShareLimit,
};
use ohmward::design::{Chemistry, Colour, LimitChange, LimitValue, WireColour};
use ohmward::text::{FileId, Span};
use ohmward::units::{Capacity, Length, Voltage};

use super::table::{id, kind, rows};
use super::{book, celsius};

/// The default book with another lowest temperature.
pub(super) fn book_at(lowest: f64) -> Book {
    let span = Span::new(FileId(0), 0, 0);
    let change = LimitChange {
        name: "temperature.lowest".into(),
        name_span: span,
        value: LimitValue::Temperature(celsius(lowest)),
        value_span: span,
        why: "the place of use".into(),
    };
    book().with_changes(&[change]).expect("a known limit")
}

/// One bare distance for all: within the rounding of every published one, none of which is below 175 mm or above 200 mm.
#[test]
fn bare_distances_are_the_common_ground_of_the_codes() {
    let book = book();
    let ours =
        [LengthLimit::BatteryBare, LengthLimit::OtherBare].map(|limit| book.length(limit).as_metres() * 1e3);
    assert_eq!(ours, [180.0, 180.0]);
    // 33 CFR 183.455(b)(1), ABYC E-11 11.10.1, ISO 13590, ISO 10133 8.1, ISO 13297 12.1, AS/NZS 3001.2 5.4.
    let ids = ["us_boat_7in", "abyc_7in", "iso13590_180", "iso10133_200", "iso13297_battery", "asnzs_200"];
    for published in ids.map(|name| id("protection_distance", name).number("max_distance_mm")) {
        assert!((175.0..=200.0).contains(&published), "{published}");
        assert!(ours[0] <= published + 5.0, "{published}");
    }
}

#[test]
fn sheathed_distances_are_the_published_ones_rounded_down() {
    let book = book();
    let metres = |limit| book.length(limit).as_metres();
    // ABYC E-11 11.10.1: 72 in from a battery; ISO 13297 12.3: 1.8 m from a charging source.
    let battery = id("protection_distance", "abyc_battery_72in").number("max_distance_mm") / 1e3;
    assert!((battery - 72.0 * 0.0254).abs() < 5e-4);
    assert_eq!(metres(LengthLimit::BatterySheathed), (battery * 10.0).floor() / 10.0);
    assert_eq!(
        metres(LengthLimit::BatterySheathed),
        id("protection_distance", "iso13297_charging").number("max_distance_mm") / 1e3
    );
    // 33 CFR 183.455(b)(2) and ABYC E-11 11.10.1: 40 in from another source.
    for name in ["us_boat_40in", "abyc_40in"] {
        let other = id("protection_distance", name).number("max_distance_mm") / 1e3;
        assert!((other - 40.0 * 0.0254).abs() < 5e-4);
        assert_eq!(metres(LengthLimit::OtherSheathed), other.floor());
    }
}

/// No code that gives one ratio without exceptions permits more, and the most lenient permits 150 %.
#[test]
fn the_ratio_of_rating_to_ampacity_is_the_strictest_published() {
    let ours = book().share(ShareLimit::ProtectionRatio).as_ratio();
    let mut ratios = Vec::new();
    for row in rows("protection_rating") {
        if let Ok(ratio) = row.text("max_ratio_of_conductor_ampacity").parse::<f64>() {
            assert!(ours <= ratio, "{}", row.text("id"));
            ratios.push(ratio);
        }
    }
    assert_eq!(ratios.len(), 10);
    assert!(ratios.contains(&1.5) && ratios.contains(&ours));
    // NEC 215.2(A)(1): continuous load at most 1/1.25 of the device.
    assert_eq!(book().share(ShareLimit::ProtectionContinuous).as_ratio(), 1.0 / 1.25);
}

/// ABYC E-11 11.14.2.6 and ISO 10133:2012 clause 4.
#[test]
fn drop_limits_are_those_of_the_small_craft_codes() {
    let book = book();
    let mut compared = 0;
    for row in kind("voltage_drop", "limit") {
        let ours = match (row.text("code"), row.text("applies_to")) {
            ("ABYC E-11" | "ISO 10133", text) if text.starts_with("critical") => ShareLimit::DropCritical,
            ("ABYC E-11" | "ISO 10133", _) => ShareLimit::DropOther,
            _ => continue,
        };
        row.agrees(book.share(ours).as_percent(), row.number("value"), 1e-12);
        compared += 1;
    }
    assert_eq!(compared, 4);
}

#[test]
fn sizes_studs_and_banks() {
    let book = book();
    // ISO 10133:2012 7.7: 0.75 mm² inside a sheath.
    let least = kind("ampacity_small_craft_iso", "min_size");
    assert!(least.iter().any(|row| row.number("value") == book.area(AreaLimit::SizeLeast).as_mm2()));
    // ABYC E-11 11.14.6.9 and FAA AC 43.13-1B 11-174: four.
    let rings = kind("terminals", "max_terminals");
    assert_eq!(rings.len(), 2);
    rings.iter().for_each(|row| row.agrees(book.number(NumberLimit::RingsPerStud), row.number("value"), 0.0));
    // ISO 273 fine series, M5 to M12: no ring made for a thread is larger than the book allows on it.
    let holes = kind("terminals", "ring_hole_fine");
    assert_eq!(holes.len(), 5);
    for row in &holes {
        let thread = row.text("thread_or_awg").trim_start_matches('M').parse().expect("a thread");
        row.agrees(book.ring_hole_mm(thread), row.number("value"), 0.0);
        let clearance = Length::metres((book.ring_hole_mm(thread) - thread) / 1e3);
        assert!(clearance.within(book.length(LengthLimit::RingClearance)));
    }
    // ABYC E-11 (July 2025) 11.10.1.4.1: a device at each battery above 500 Ah in parallel.
    let rule = kind("battery_fault_current", "rule");
    let clause = rule.iter().find(|row| row.text("unit") == "Ah").expect("the clause");
    clause.agrees(book.capacity(CapacityLimit::BankDeviceEach).as_amp_hours(), clause.number("value"), 0.0);
}

/// The high rule of thumb by chemistry; gel is taken as AGM, and nmc as LiFePO4.
#[test]
fn fault_currents_are_the_high_rules_of_thumb() {
    let book = book();
    let names = [
        ("lead-acid flooded", vec![Chemistry::LeadAcid]),
        ("lead-acid AGM", vec![Chemistry::Agm, Chemistry::Gel]),
        ("LiFePO4, cells without BMS limit", vec![Chemistry::Lifepo4, Chemistry::Nmc]),
    ];
    let rules = kind("battery_fault_current", "rule_of_thumb_high");
    assert_eq!(rules.len(), 3);
    for row in rules {
        let (_, chemistries) =
            names.iter().find(|name| name.0 == row.text("chemistry")).expect("a chemistry");
        for chemistry in chemistries {
            let ours = book.fault_current(*chemistry, Capacity::amp_hours(100.0)).as_amps();
            row.agrees(ours, 100.0 * row.number("value"), 0.0);
        }
    }
}

#[test]
fn voltages_go_with_the_nominal_voltage() {
    let book = book();
    let volts = |chemistry, nominal| book.full_voltage(chemistry, Voltage::volts(nominal)).as_volts();
    // 3.65 V in each of 4, 8 and 16 cells.
    for (nominal, cells) in [(12.0, 4.0), (24.0, 8.0), (48.0, 16.0)] {
        assert!((volts(Chemistry::Lifepo4, nominal) - 3.65 * cells).abs() < 1e-9);
    }
    for (_, chemistry) in Chemistry::WORDS {
        let nominal = Voltage::volts(24.0);
        assert!(book.empty_voltage(chemistry, nominal) < book.absorption_least(chemistry, nominal));
        assert!(book.absorption_least(chemistry, nominal) < book.full_voltage(chemistry, nominal));
        let figure = book.limit_figure(Limit::Chemistry(ChemistryLimit::Full, chemistry)).expect("a figure");
        assert_eq!(figure.confidence, Confidence::CommonPractice);
    }
}

#[test]
fn colours_by_what_a_wire_carries() {
    let book = book();
    let plain = |base| WireColour { base, tracer: None };
    let traced = |base, tracer| WireColour { base, tracer: Some(tracer) };
    assert!(book.allows_colour(ColourRole::Positive, traced(Colour::Red, Colour::Blue)));
    assert!(!book.allows_colour(ColourRole::Positive, plain(Colour::Black)));
    assert!(book.allows_colour(ColourRole::Negative, plain(Colour::Yellow)));
    assert!(!book.allows_colour(ColourRole::Negative, plain(Colour::Red)));
    assert!(book.allows_colour(ColourRole::Bond, traced(Colour::Green, Colour::Yellow)));
    assert!(!book.allows_colour(ColourRole::Bond, traced(Colour::Green, Colour::Red)));
    assert!(book.allows_colour(ColourRole::Control, plain(Colour::Pink)));
}
