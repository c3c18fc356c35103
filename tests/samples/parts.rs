//! The library of generic parts: complete, marked with where its figures are from, and fit for use.

use std::collections::BTreeMap;

use super::{Shelf, told};

const LIBRARY: &str = "samples/parts.loom";

/// A part as it is written: the comment above it, its properties, and the hardware of each terminal.
struct Part<'t> {
    name: &'t str,
    kind: &'t str,
    mark: &'t str,
    words: Vec<&'t str>,
    hardware: BTreeMap<&'t str, Vec<&'t str>>,
}

impl Part<'_> {
    fn has(&self, word: &str) -> bool {
        self.words.contains(&word)
    }

    /// The figure before a unit that no word introduces, or after a word.
    fn after(&self, word: &str) -> Option<&str> {
        let at = self.words.iter().position(|other| *other == word)?;
        self.words.get(at + 1).copied()
    }
}

fn parts(text: &str) -> Vec<Part<'_>> {
    let mut parts: Vec<Part<'_>> = Vec::new();
    let mut above = "";
    let mut open = false;
    for line in text.lines() {
        let words: Vec<&str> = line.split_whitespace().filter(|word| *word != "{").collect();
        match words.as_slice() {
            ["part", name, "is", kind, rest @ ..] => {
                open = line.ends_with('{');
                let hardware = BTreeMap::new();
                parts.push(Part { name, kind, mark: above, words: rest.to_vec(), hardware });
            }
            ["terminal", rest @ ..] if open => {
                let is_hardware = |word: &&str| ["stud", "screw", "tab", "pin"].contains(word);
                let at = rest.iter().position(is_hardware).expect("the hardware");
                let part = parts.last_mut().expect("a part");
                part.hardware.extend(rest[..at].iter().map(|name| (*name, rest[at..].to_vec())));
            }
            _ => open = open && line != "}",
        }
        above = line;
    }
    parts
}

/// The rows of a reference table, cells by the names of their columns.
fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name);
    let text = std::fs::read_to_string(path).expect("the reference table");
    let mut lines = text.lines().map(cells);
    let head = lines.next().expect("the names of the columns");
    lines.map(|row| head.iter().cloned().zip(row).collect()).collect()
}

fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut quoted) = (vec![String::new()], false);
    for letter in line.chars() {
        match letter {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            _ => cells.last_mut().expect("a cell").push(letter),
        }
    }
    cells
}

#[test]
fn every_part_is_complete() {
    let shelf = Shelf::read();
    let parts = parts(shelf.text(LIBRARY));
    assert!(parts.len() >= 100, "{} parts", parts.len());
    for part in &parts {
        let (figures, terminals): (&[&str], &[&str]) = match part.kind {
            "battery" => (&["V", "Ah", "fault", "full", "discharge", "charge"], &["+", "-"]),
            "alternator" => (&["V", "A"], &["+", "-"]),
            "supply" => (&["V", "A", "fused"], &["+", "-"]),
            "solar" => (&["voc", "isc", "vmp", "imp", "series-fuse"], &["+", "-"]),
            "charger" if part.after("from") == Some("ac") => (&["out", "efficiency"], &["out+", "out-"]),
            "charger" => (&["in", "out", "efficiency"], &["in+", "in-", "out+", "out-"]),
            "inverter" => (&["V", "surge", "efficiency"], &["+", "-", "case"]),
            "load" => (&["V"], &["+", "-"]),
            "fuse" => (&["volts", "breaks", "holder"], &["line", "load"]),
            "breaker" => (&["volts", "breaks", "i2t"], &["line", "load"]),
            "switch" => (&["A", "brief"], &["a", "b"]),
            "plug" => (&["A"], &["a", "b"]),
            "cutoff" => (&["A"], &["line", "load"]),
            "post" => (&["A"], &[]),
            "bar" => (&["A", "x"], &[]),
            "meter" => (&["A", "mV"], &["bat", "sys", "sense"]),
            "hub" => (&["W"], &["+", "-"]),
            kind => panic!("{} is a {kind}: say here what it has to state", part.name),
        };
        for figure in figures {
            assert!(part.has(figure), "{} states no `{figure}`", part.name);
        }
        for terminal in terminals {
            assert!(part.hardware.contains_key(terminal), "{} has no hardware on `{terminal}`", part.name);
        }
        let either = |words: &[&str]| words.iter().any(|word| part.has(word));
        let chemistry = ["lead-acid", "agm", "gel", "lifepo4", "nmc"];
        let types = ["blade", "bolt-in", "strip", "class-t", "terminal-block", "cylindrical"];
        let complete = match part.kind {
            "battery" => either(&chemistry) && (!either(&["lifepo4", "nmc"]) || part.has("cold-cutoff")),
            "charger" => {
                let sun = part.after("from") != Some("solar") || part.has("in-max");
                let negatives = part.after("from") == Some("ac") || either(&["isolated", "common"]);
                sun && negatives && part.has("needs-enable") == part.hardware.contains_key("enable")
            }
            "load" => either(&["W", "kW", "A"]) && (!part.has("motor") || part.has("stall")),
            "inverter" => either(&["W", "kW"]),
            // The gates of the book tell of the first two.
            "fuse" => either(&types) && (either(&["blade", "bolt-in"]) || part.has("i2t")),
            _ => true,
        };
        assert!(complete, "{} leaves something open: {:?}", part.name, part.words);
        for (terminal, hardware) in &part.hardware {
            let torque = hardware.contains(&"Nm") || matches!(hardware.first(), Some(&("tab" | "pin")));
            assert!(torque, "{}.{terminal} has no torque: {hardware:?}", part.name);
        }
    }
}

#[test]
fn every_part_says_where_its_figures_are_from() {
    let shelf = Shelf::read();
    for part in parts(shelf.text(LIBRARY)) {
        let mark = part.mark.strip_prefix("# ").unwrap_or_default();
        let whole = mark == "all invented";
        for clause in mark.split("; ").filter(|_| !whole) {
            let known = clause.contains(" by ") && (clause.contains("checked") || clause.contains("memory"));
            assert!(known || clause.ends_with(" invented"), "{}: `{clause}`", part.name);
        }
        for figure in ["volts", "breaks", "i2t", "holder"] {
            assert!(!part.has(figure) || whole || mark.contains(figure), "{}: `{figure}`", part.name);
        }
        // What is known of a standard is no invention.
        assert!(!whole || !["fuse", "breaker", "post"].contains(&part.kind), "{}", part.name);
    }
}

#[test]
fn figures_by_a_standard_are_those_of_the_reference_data() {
    let shelf = Shelf::read();
    let parts = parts(shelf.text(LIBRARY));
    let torques = table("terminals.csv");
    let value = |kind: &str, thread: &str, material: &str| {
        let row = torques.iter().find(|row| {
            row["kind"] == kind && row["thread_or_awg"] == thread && row["material"].starts_with(material)
        });
        row.and_then(|row| row["value"].parse::<f64>().ok()).unwrap_or(f64::NAN)
    };
    for part in &parts {
        for hardware in part.hardware.values() {
            if let ["stud", thread, torque, "Nm"] = hardware.as_slice() {
                let known = value("torque", thread, "brass");
                assert_eq!(torque.parse(), Ok(known), "{}: {thread}", part.name);
            }
        }
        if let ("post", [thread, rating, "A"]) = (part.kind, part.words.as_slice()) {
            let known = value("stud_current", thread, "clamping stud");
            assert_eq!(rating.parse(), Ok(known), "{}", part.name);
        }
    }
    let fuses = table("fuse_types.csv");
    for (name, row, volts) in [
        ("blade-small", "blade_f", 32.0),
        ("blade-fuse", "blade_c", 32.0),
        ("blade-large", "blade_e", 32.0),
        ("bolt-small", "bolt_sf30", 32.0),
        ("bolt-fuse", "bolt_sf51", 32.0),
        ("main-fuse", "class_t_dc", 125.0),
        ("main-fuse-small", "class_t_dc", 125.0),
        ("panel-pole", "hyd_mag_breaker", 80.0),
        ("strip-fuse", "anl_style", 32.0),
    ] {
        let part = parts.iter().find(|part| part.name == name).expect("the part");
        let row = fuses.iter().find(|line| line["type_id"] == row).expect("the type");
        let amperes: f64 = row["interrupting_capacity_a"].parse().expect("a figure");
        assert_eq!(row["rated_voltage_v_dc"].parse(), Ok(volts), "{name}");
        assert_eq!(part.after("volts").map(str::parse), Some(Ok(volts)), "{name}");
        assert_eq!(part.after("breaks").map(str::parse), Some(Ok(amperes / 1e3)), "{name}");
    }
}

#[test]
fn every_part_can_be_fitted() {
    let shelf = Shelf::read();
    let mut text = String::from("design shelf \"One of each\"\nuse \"parts.loom\"\n");
    let parts = parts(shelf.text(LIBRARY));
    for (at, part) in parts.iter().enumerate() {
        let rating = if ["fuse", "breaker"].contains(&part.kind) { "30 A" } else { "" };
        text += &format!("{} one-{at} = {} {rating}\n", part.kind, part.name);
    }
    let judgement = shelf.with([("samples/shelf.loom".into(), text)]).check("samples/shelf.loom", false);
    let wrong: Vec<_> = judgement
        .findings
        .iter()
        .filter(|row| row.rule.starts_with("language.") || row.rule == "protection.type")
        .collect();
    assert!(wrong.is_empty(), "{}", told(&wrong));
    assert!(judgement.n_elements >= parts.len(), "{} of {}", judgement.n_elements, parts.len());
}

#[test]
fn fuses_in_the_samples_have_a_rating_that_their_type_has() {
    let shelf = Shelf::read();
    let fuses = table("fuse_types.csv");
    let ratings = |row: &str| -> Vec<f64> {
        let row = fuses.iter().find(|line| line["type_id"] == row).expect("the type");
        row["preferred_ratings_a"].split(';').filter_map(|rating| rating.parse().ok()).collect()
    };
    let types: BTreeMap<&str, Vec<f64>> = [
        ("blade-small", ratings("blade_f")),
        ("blade-fuse", ratings("blade_c")),
        ("blade-large", ratings("blade_e")),
        ("bolt-small", ratings("bolt_sf30")),
        ("bolt-fuse", ratings("bolt_sf51")),
        ("main-fuse", ratings("class_t_dc").into_iter().filter(|rating| *rating > 60.0).collect()),
        ("main-fuse-small", ratings("class_t_dc").into_iter().filter(|rating| *rating <= 60.0).collect()),
        ("strip-fuse", ratings("anl_style").into_iter().filter(|rating| *rating <= 400.0).collect()),
        ("lead-fuse", ratings("gpv_10x38")),
    ]
    .into();
    let mut n_fuses = 0;
    let own = shelf.designs("samples").into_iter().chain([(LIBRARY, shelf.text(LIBRARY))]);
    for (path, text) in own {
        for line in text.lines() {
            let words: Vec<_> = line.split_whitespace().collect();
            let ["fuse", name, "=", part, rating, "A", ..] = words.as_slice() else { continue };
            let (Some(types), Ok(rating)) = (types.get(part), rating.parse::<f64>()) else {
                panic!("{path}: {line}")
            };
            n_fuses += 1;
            assert!(types.contains(&rating), "{path}: {name} is {rating} A, which a {part} is not made for");
        }
    }
    assert!(n_fuses >= 25, "{n_fuses} fuses");
}
