//! Published short-circuit currents, opening times and withstand, through design texts.

use ohmward::check::{Options, StudyOptions, check, study};
use ohmward::design::{Body, Date, Design, Id};
use ohmward::findings::Value;
use ohmward::study::{Opening, holds, opens};
use ohmward::text::MemoryFiles;
use ohmward::units::Current;

use super::book;
use super::table::{Row, id, kind, rows};

fn head(rest: &str) -> String {
    format!("design d \"Invented but for the published figures\"\n{rest}")
}

/// The largest prospective current at a terminal.
fn largest(text: &str, terminal: &str) -> f64 {
    let studied = study("it.loom", &MemoryFiles::default().with("it.loom", text), &StudyOptions::default());
    assert!(studied.problems.is_empty(), "{:?}", studied.problems);
    let (design, faults) = (studied.design.expect("a design"), studied.faults.expect("its faults"));
    let at = design.terminals.ids().find(|id| design.terminal_name(*id) == terminal).expect("the terminal");
    faults.largest[at.index()].expect("a live terminal").as_amps()
}

fn design(text: &str) -> Design {
    let studied = study("it.loom", &MemoryFiles::default().with("it.loom", text), &StudyOptions::default());
    assert!(studied.problems.is_empty(), "{:?}", studied.problems);
    studied.design.expect("a design")
}

fn input(row: &Row, name: &str) -> f64 {
    row.input(name).parse().expect("a number")
}

/// A trade note on ABYC E-11: six batteries, strings of two, three strings side by side.
#[test]
fn strings_in_parallel_add_and_series_do_not() {
    let row = id("worked_examples", "batt_bank_scc");
    let (series, parallel) = (input(&row, "series"), input(&row, "parallel"));
    let (volts, each) = (input(&row, "battery_V"), input(&row, "battery_Isc_A"));
    assert_eq!((series, parallel, input(&row, "batteries")), (2.0, 3.0, 6.0));
    let mut text = head(
        "bar plus M8 x 6 500 A\nbar minus M8 x 6 500 A\nload lamp 12 V 12 W\nbolt lamp.+ to plus\nbolt lamp.- to minus\n",
    );
    for string in 1..=3 {
        text += &format!(
            "battery L{string} lead-acid {volts} V 200 Ah fault {each} A\nbattery U{string} lead-acid {volts} V 200 Ah fault {each} A\n\
             bolt L{string}.+ to U{string}.-\nbolt U{string}.+ to plus\nbolt L{string}.- to minus\n"
        );
    }
    row.agrees(largest(&text, "plus"), row.number("published_answer"), 1e-9);
    // The same two rules stand among the figures of batteries.
    let rules = kind("battery_fault_current", "rule");
    assert!(rules.iter().any(|row| row.text("condition").contains("series batteries: they do not add")));
}

/// A cell of 0.75 mohm at 3.5 V (Ohm's law, a public discussion), and four of them with three links of 0.25 mohm.
#[test]
fn a_cell_and_a_pack_of_four() {
    let row = id("worked_examples", "lfp_cell_scc");
    let (volts, mohm) = (input(&row, "cell_V"), input(&row, "cell_mohm"));
    let cell = format!("lifepo4 3.2 V 60 Ah resistance {mohm} mohm full {volts} V");
    let text =
        head(&format!("battery C {cell}\nload lamp 3.2 V 1 W\nbolt C.+ to lamp.+\nbolt C.- to lamp.-\n"));
    row.agrees(largest(&text, "C.+"), row.number("published_answer"), 1e-4);
    let published = kind("battery_fault_current", "fault_current");
    let published =
        published.iter().find(|row| row.text("condition").starts_with("that cell")).expect("the cell");
    published.agrees(largest(&text, "C.+"), published.number("value"), 1e-4);

    let row = id("worked_examples", "lfp_pack_resistance");
    let (cells, links, link) = (input(&row, "cells"), input(&row, "links"), input(&row, "link_mohm"));
    assert_eq!((cells, links, input(&row, "cell_mohm")), (4.0, 3.0, mohm));
    // As long a link of 35 mm2 class 5 (0.554 mohm/m, IEC 60228) as has the published resistance.
    let length = link / 0.554;
    let mut text = head("load lamp 12 V 1 W\nbolt C4.+ to lamp.+\nbolt C1.- to lamp.-\n");
    for at in 1..=4 {
        text += &format!("battery C{at} {cell}\n");
    }
    for at in 1..=3 {
        text += &format!("wire L{at} from C{at}.+ to C{}.- 35 mm2 {length:.6} m\n", at + 1);
    }
    let pack = cells * volts / (row.number("published_answer") * 1e-3);
    row.agrees(largest(&text, "C4.+"), pack, 1e-5);
    // `I_sc = V_oc / (n_series*R_cell + R_links + R_cable)`, with a cable of 50 mm2 (0.386 mohm/m), 2 m in all.
    let cable = text
        .replace("bolt C4.+ to lamp.+", "wire P from C4.+ to lamp.+ 50 mm2 1 m")
        .replace("bolt C1.- to lamp.-", "wire N from lamp.- to C1.- 50 mm2 1 m");
    let ohms = (cells * mohm + links * link + 0.386) * 1e-3;
    // The return is no part of a fault at the lamp to the battery's own negative.
    row.agrees(largest(&cable, "lamp.+"), cells * volts / ohms, 1e-5);
}

/// Every gate of the published tables, at the gate and just before the next one, by a device of a design.
#[test]
fn devices_open_by_their_gates() {
    let ours = [
        ("blade_c", "blade", 10.0),
        ("blade_f", "blade", 7.5),
        ("blade_e", "blade", 80.0),
        ("bolt_sf30", "bolt-in", 50.0),
        ("bolt_sf51", "bolt-in", 400.0),
        ("class_t_dc", "class-t", 30.0),
        ("gpv_10x38", "cylindrical", 20.0),
    ];
    let book = book();
    let table = rows("fuse_operating_time");
    let mut compared = 0;
    for (type_id, word, rating) in ours {
        let design = design(&head(&format!(
            "battery B lead-acid 12 V 100 Ah fault 800 A\nfuse F {rating} A {word}\nbolt B.+ to F.line\n"
        )));
        let fuse = design.components.iter().find(|row| row.name == "F").expect("the fuse");
        let opening = |percent: f64| opens(&book, &fuse.body, Current::amps(rating * percent / 100.0));
        let within = |percent: f64| match opening(percent) {
            Opening::Within(time) => time.as_seconds(),
            other => panic!("{type_id} at {percent} %: {other:?}"),
        };
        let gates: Vec<(f64, f64)> = table
            .iter()
            .filter(|row| row.text("type_id") == type_id && !row.text("t_max_s").is_empty())
            .filter(|row| {
                row.text("rating_range_a").is_empty() || row.text("rating_range_a").starts_with("0 to")
            })
            .map(|row| (row.number("percent_of_rating"), row.number("t_max_s")))
            .collect();
        let (first, last) = (gates[0], gates[gates.len() - 1]);
        assert_eq!(opening(first.0 - 0.1), Opening::Never, "{type_id} before its first gate");
        if last.0 < 300.0 {
            assert_eq!(opening(last.0 * 4.0), Opening::Unknown, "{type_id} has no gate at 300 % or above");
            compared += 1;
            continue;
        }
        for pair in gates.windows(2) {
            assert_eq!((within(pair[0].0), within(pair[1].0 - 0.1)), (pair[0].1, pair[0].1), "{type_id}");
            compared += 1;
        }
        // Past the last gate its I²t stays.
        assert_eq!(within(last.0), last.1);
        assert!((within(last.0 * 3.0) / (last.1 / 9.0) - 1.0).abs() < 1e-12);
        // And it does not open before its fastest gate.
        for row in
            table.iter().filter(|row| row.text("type_id") == type_id && !row.text("t_min_s").is_empty())
        {
            let at = Current::amps(rating * row.number("percent_of_rating") / 100.0);
            assert_eq!(
                holds(&book, &fuse.body, at).map(|time| time.as_seconds()),
                row.text("t_min_s").parse().ok()
            );
            compared += 1;
        }
    }
    // Two types without such a gate; four or three pairs and five earliest times each of the others.
    assert_eq!(compared, 44);
}

/// `t = (kS/I)²` of IEC 60364-4-43, 434.5.2, as the rule tells what a wire withstands.
#[test]
fn published_withstand_through_a_design() {
    let mut compared = 0;
    for row in kind("worked_examples", "short_circuit_withstand") {
        let (area, amps) = (input(&row, "area_mm2"), input(&row, "I_A"));
        // A fuse that states an I2t just above what the wire bears, so that the rule tells both.
        let text = head(&format!(
            "assume insulation 70 C\nbattery B lead-acid 12 V 100 Ah fault 5 kA full 14.4 V\nload lamp 12 V 12 W\n\
             fuse F 20 A class-t i2t 30 MA2s\nwire W1 from B.+ to F.line {area} mm2 0.1 m\n\
             wire W2 from F.load to lamp.+ {area} mm2 1 m\nwire W3 from lamp.- to B.- {area} mm2 1 m\n"
        ));
        assert_eq!(input(&row, "k"), 115.0);
        let options = Options::on(Date::parse("2026-11-25").expect("a day"));
        let judged = check("it.loom", &MemoryFiles::default().with("it.loom", text.as_str()), &options);
        let slow = judged.findings.iter().find(|row| row.rule == "protection.slow" && row.subject == "W2");
        let Some(Value::Number(bears)) = slow.expect("the finding").values.get("withstand_a2s") else {
            panic!("no figure");
        };
        row.agrees(bears / (amps * amps), row.number("recomputed"), 1e-3);
        compared += 1;
    }
    assert_eq!(compared, 2);
}

/// What a type breaks where a design states nothing, at its voltage and above it.
#[test]
fn breaking_capacities_by_type() {
    use ohmward::design::FuseType;
    use ohmward::units::Voltage;
    let book = book();
    let at = |kind, volts| book.breaks(Some(kind), Voltage::volts(volts)).map(|row| row.0.as_amps());
    let cases = [
        ("blade_c", FuseType::Blade, 32.0),
        ("bolt_sf51", FuseType::BoltIn, 32.0),
        ("anl_style", FuseType::Strip, 32.0),
        ("class_t_dc", FuseType::ClassT, 125.0),
    ];
    for (type_id, kind, volts) in cases {
        let row =
            rows("fuse_types").into_iter().find(|row| row.text("type_id") == type_id).expect("the type");
        assert_eq!(at(kind, volts), Some(row.number("interrupting_capacity_a")), "{type_id}");
        assert_eq!(at(kind, volts + 0.1), None, "{type_id}");
    }
    // Block fuses break less the higher the voltage.
    let blocks = [14.0, 14.4, 32.0, 57.6, 60.0].map(|volts| at(FuseType::TerminalBlock, volts));
    assert_eq!(blocks, [Some(10_000.0), Some(5_000.0), Some(5_000.0), Some(2_000.0), None]);
    assert!(matches!(
        design(&head("battery B lead-acid 12 V 100 Ah\nbreaker K 5 A\nbolt B.+ to K.line\n"))
            .components
            .iter()
            .nth(1)
            .map(|row| &row.body),
        Some(Body::Breaker(_))
    ));
    assert_eq!(book.breaks(None, Voltage::volts(12.0)), None, "breakers differ too much");
}
