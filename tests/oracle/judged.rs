//! The same designs under each book: what the standards part on, by figures worked out by hand.

use std::collections::BTreeMap;

use ohmward::book::Book;
use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::findings::Finding;
use ohmward::text::MemoryFiles;

const BOOKS: [&str; 4] = ["common-practice", "small-craft-us", "small-craft-iso", "caravan-us"];

fn judge(book: &str, lines: &str) -> Judgement {
    let text = format!("design two-ways \"One design, several books\"\nbook {book}\n{lines}");
    let options = Options::on(Date::parse("2026-06-01").expect("a day"));
    let judgement =
        check("two-ways.loom", &MemoryFiles::default().with("two-ways.loom", text.as_str()), &options);
    let spoilt = judgement.findings.iter().find(|finding| finding.rule.starts_with("language."));
    assert!(spoilt.is_none(), "{spoilt:?}");
    judgement
}

/// What each book finds by one rule on one subject.
fn found(lines: &str, rule: &str, subject: &str) -> BTreeMap<&'static str, Finding> {
    assert_eq!(Book::shipped_names(), BOOKS, "a new book has its place in these tests");
    let one = |book| {
        let all = judge(book, lines).findings;
        Some((book, all.into_iter().find(|row| row.rule == rule && row.subject == subject)?))
    };
    BOOKS.into_iter().filter_map(one).collect()
}

fn books(found: &BTreeMap<&'static str, Finding>) -> Vec<&'static str> {
    BOOKS.into_iter().filter(|book| found.contains_key(book)).collect()
}

/// The text of a figure of a finding that mentions these words.
fn figure<'f>(finding: &'f Finding, words: &str) -> &'f str {
    let all = &finding.figures;
    &all.iter().find(|row| row.meaning.contains(words)).unwrap_or_else(|| unreachable!("{all:?}")).meaning
}

/// A 12 V lamp behind a fuse.
fn lamp(stub: &str, amps: u32, wire: &str) -> String {
    format!(
        "battery cell agm 12 V 100 Ah fault 2 kA full 14.4 V\nfuse F {amps} A bolt-in volts 32 V breaks 2 kA\n\
         load lamp 12 V 60 W\nwire S from cell.+ to F.line {stub}\nwire W from F.load to lamp.+ {wire}\n\
         wire R from lamp.- to cell.- 6 AWG 3 m insulation 105 C black\n"
    )
}

/// 14 AWG of class 60 C bears 20 A by 33 CFR 183.425 Table 5, 15 A by NEC 552.10(E)(1). A device may have 150 % of it by
/// 33 CFR 183.455(c)(1), 100 % by ISO 10133 8 and NEC 240.4(B): 30 A, 20 A, 15 A.
#[test]
fn a_device_of_150_per_cent() {
    let lines = lamp("6 AWG 150 mm insulation 105 C red", 30, "14 AWG 3 m insulation 60 C red");
    let found = found(&lines, "protection.oversize", "W");
    assert_eq!(books(&found), ["common-practice", "small-craft-iso", "caravan-us"]);
    let permitted = |book: &str| found[book].values["permitted_a"].clone();
    let amps = |book: &str| format!("{:?}", permitted(book));
    assert!(amps("common-practice").contains("20.0"), "{}", amps("common-practice"));
    assert!(amps("small-craft-iso").contains("20.0"), "{}", amps("small-craft-iso"));
    assert!(amps("caravan-us").contains("15.0"), "{}", amps("caravan-us"));
    // What is from memory, and what another book lends, says so.
    let iso = figure(&found["small-craft-iso"], "protection.ratio");
    assert!(iso.contains("in book small-craft-iso (ISO 10133:2012 8"), "{iso}");
    assert!(iso.contains("from memory, to be confirmed"), "{iso}");
    // So does an ampacity: NEC 552.10(E)(1) from memory, 33 CFR 183.425 Table 5 seen.
    assert!(figure(&found["caravan-us"], "ampacity of W").ends_with("; from memory, to be confirmed"));
    assert!(!figure(&found["common-practice"], "ampacity of W").contains("memory"));
    let one_more = lamp("6 AWG 150 mm insulation 105 C red", 35, "14 AWG 3 m insulation 60 C red");
    assert_eq!(books(&self::found(&one_more, "protection.oversize", "W")), BOOKS);
}

/// 33 CFR 183.455(c)(2): at 50 V or more 100 %. The same wire and fuse in a circuit of 72 V.
#[test]
fn the_federal_ratio_above_50_v() {
    let lines = |volts: u32, amps: u32| {
        format!(
            "battery cell lifepo4 {volts} V 50 Ah fault 2 kA full {} V\nfuse F {amps} A class-t volts 125 V breaks 20 kA\n\
             load lamp {volts} V 60 W\nwire S from cell.+ to F.line 6 AWG 150 mm insulation 105 C red\n\
             wire W from F.load to lamp.+ 14 AWG 3 m insulation 60 C red\n\
             wire R from lamp.- to cell.- 6 AWG 3 m insulation 105 C black\n",
            f64::from(volts) * 1.2
        )
    };
    let us = |volts, amps| found(&lines(volts, amps), "protection.oversize", "W").remove("small-craft-us");
    assert!(us(48, 30).is_none());
    let finding = us(72, 30).expect("30 A on 20 A at 72 V");
    assert!(figure(&finding, "protection.ratio-high").contains("33 CFR 183.455(c)(2)"));
    assert!(us(72, 20).is_none());
}

/// From a battery, bare: 180 mm; 7 in or 177.8 mm; 200 mm; 450 mm.
#[test]
fn seven_inches_and_200_millimetres() {
    let far = |stub: &str| {
        let stub = format!("6 AWG {stub} insulation 105 C red");
        books(&found(&lamp(&stub, 10, "6 AWG 3 m insulation 105 C red"), "protection.far", "S"))
    };
    assert_eq!(far("7 in"), [""; 0]);
    assert_eq!(far("178 mm"), ["small-craft-us"]);
    assert_eq!(far("180 mm"), ["small-craft-us"]);
    assert_eq!(far("190 mm"), ["common-practice", "small-craft-us"]);
    assert_eq!(far("200 mm"), ["common-practice", "small-craft-us"]);
    assert_eq!(far("450 mm"), ["common-practice", "small-craft-us", "small-craft-iso"]);
    assert_eq!(far("460 mm"), BOOKS);
    // Sheathed: 1.8 m; 72 in or 1.8288 m; no number in ISO, so that of common practice; 450 mm.
    assert_eq!(far("1.2 m sheathed"), ["caravan-us"]);
    assert_eq!(far("72 in sheathed"), ["common-practice", "small-craft-iso", "caravan-us"]);
    assert_eq!(far("1.9 m sheathed"), BOOKS);
}

/// A figure that a book does not have is taken from common practice, and the finding says so.
#[test]
fn a_lent_figure_says_where_it_is_from() {
    let stub = "6 AWG 2 m insulation 105 C sheathed red";
    let found = found(&lamp(stub, 10, "6 AWG 3 m insulation 105 C red"), "protection.far", "S");
    let iso = figure(&found["small-craft-iso"], "distance.battery-sheathed");
    assert!(iso.contains("in book small-craft-iso, taken from common-practice ("), "{iso}");
    let common = figure(&found["common-practice"], "distance.battery-sheathed");
    assert!(!common.contains("taken from"), "{common}");
}

/// Three conductors of 20 A in a bundle, behind 15 A. ABYC E-11 as in common practice: 20 × 0.7 = 14 A. By 33 CFR they
/// take no factor below 50 V, by ISO none below four, by the NEC none below four and bear 15 A.
#[test]
fn three_in_a_bundle() {
    let lines = lamp("6 AWG 150 mm insulation 105 C red", 15, "14 AWG 3 m insulation 60 C red")
        + "load fan 12 V 60 W\nwire A from F.load to fan.+ 14 AWG 3 m insulation 60 C red\n\
           wire B from fan.- to cell.- 14 AWG 3 m insulation 60 C black\nbundle trunk W A B\n";
    assert_eq!(books(&found(&lines, "protection.oversize", "W")), ["common-practice"]);
}

/// 10 AWG of class 105 C bears 60 A, behind 55 A at 40 C: by the heat balance 60 × sqrt(65/75) = 55.9 A; by the engine
/// space of ISO 13297 60 × 0.86 = 51.6 A; by that of 33 CFR 60 × 0.85 × 1.5 = 76.5 A; by NEC 552.10(E)(1) 30 A.
#[test]
fn a_warm_place_is_an_engine_space_in_a_boat() {
    let lines = "zone engine ambient 40 C\n".to_owned()
        + &lamp("6 AWG 150 mm insulation 105 C red", 55, "10 AWG 3 m insulation 105 C red zone engine");
    let found = found(&lines, "protection.oversize", "W");
    assert_eq!(books(&found), ["small-craft-iso", "caravan-us"]);
    let amps = format!("{:?}", found["small-craft-iso"].values["ampacity_a"]);
    assert!(amps.contains("51.6"), "{amps}");
}

/// 18 AWG has 0.823 mm²: above 0.75 mm² and the NEC's 18 AWG, below 16 AWG and 1 mm²; in a sheath it is enough everywhere.
#[test]
fn a_thin_conductor_by_itself_and_in_a_sheath() {
    let small = |how: &str| {
        let wire = format!("18 AWG 3 m insulation 105 C red {how}");
        books(&found(&lamp("6 AWG 150 mm insulation 105 C red", 3, &wire), "conductor.small", "W"))
    };
    assert_eq!(small(""), ["small-craft-us", "small-craft-iso"]);
    assert_eq!(small("sheathed"), [""; 0]);
}

/// A loop through the chassis: usual in a vehicle, wrong in a boat.
#[test]
fn a_return_through_the_chassis() {
    let lines = lamp("6 AWG 150 mm insulation 105 C red", 10, "6 AWG 3 m insulation 105 C red")
        + "chassis frame\nwire B from cell.- to frame 6 AWG 1 m insulation 105 C green bond\n\
           wire C from lamp.- to frame 6 AWG 1 m insulation 105 C black\n";
    let found = found(&lines, "return.bypass", "C");
    let severity = |book: &str| found[book].severity.to_string();
    assert_eq!(BOOKS.map(severity), ["warning", "error", "error", "warning"]);
}
