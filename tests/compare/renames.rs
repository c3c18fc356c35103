//! What has another name and is the same: alone, in chains, exchanged, among twins, in fits, with everything around it.

use super::{Judged, compared, mirrored, sentences, told, told_of};

/// Two feeds from one bar, told apart by what they feed. All invented.
const FEEDS: &str = r#"design feeds "Two feeds"
battery house lifepo4 12 V 200 Ah fault 5 kA full 14.4 V
bar plus-bar M8 x 6 250 A
bar minus-bar M8 x 6 250 A
load pump 12 V 60 W
load lamp 12 V 24 W
load horn 12 V 36 W
fuse F1 10 A blade volts 32 V breaks 1 kA
fuse F2 10 A blade volts 32 V breaks 1 kA
fuse F3 15 A blade volts 32 V breaks 1 kA
bolt F1.line to plus-bar
bolt F2.line to plus-bar
bolt F3.line to plus-bar
wire W1 from house.+ to plus-bar 35 mm2 0.3 m red
wire W2 from house.- to minus-bar 35 mm2 0.3 m black
wire W3 from F1.load to pump.+ 2.5 mm2 3 m red
wire W4 from pump.- to minus-bar 2.5 mm2 3 m black
wire W5 from F2.load to lamp.+ 2.5 mm2 3 m red
wire W6 from lamp.- to minus-bar 2.5 mm2 3 m black
wire W7 from F3.load to horn.+ 2.5 mm2 3 m red
wire W8 from horn.- to minus-bar 2.5 mm2 3 m black
bundle loom W3 W5
mode night {
  lamp on
}
expect house.+ above 12 V in night
set house capacity 200 Ah
note lamp "in the cabin"
"#;

/// Every name replaced as the pairs say, all at once.
fn renamed(text: &str, pairs: &[(&str, &str)]) -> String {
    let mut out = String::new();
    let is_name = |c: char| c.is_alphanumeric() || c == '-' || c == '_';
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let length = if is_name(c) { rest.find(|c| !is_name(c)).unwrap_or(rest.len()) } else { c.len_utf8() };
        let (word, after) = rest.split_at(length);
        out += pairs.iter().find(|pair| pair.0 == word).map_or(word, |pair| pair.1);
        rest = after;
    }
    out
}

fn feeds(pairs: &[(&str, &str)]) -> Vec<String> {
    told(FEEDS, &renamed(FEEDS, pairs))
}

/// What is told is these renames, and nothing else.
fn only_renames(pairs: &[(&str, &str)]) {
    let mut expected: Vec<String> =
        pairs.iter().map(|(old, new)| format!("{old} is now called {new}")).collect();
    let mut told: Vec<String> =
        feeds(pairs).iter().map(|one| one.trim_start_matches("= ").to_owned()).collect();
    for text in &mut told {
        for kind in ["mode ", "bundle ", "zone "] {
            *text = text.strip_prefix(kind).unwrap_or(text).to_owned();
        }
    }
    told.sort();
    expected.sort();
    assert_eq!(told, expected);
}

#[test]
fn one_name() {
    for name in ["house", "plus-bar", "pump", "F1", "F3", "W1", "W3", "W8", "loom", "night"] {
        only_renames(&[(name, "other")]);
    }
}

#[test]
fn a_chain_of_names() {
    only_renames(&[("F1", "F2"), ("F2", "F9")]);
    only_renames(&[("F1", "F2"), ("F2", "F3"), ("F3", "F4")]);
    only_renames(&[("W3", "W4"), ("W4", "W5"), ("W5", "W6"), ("W6", "W7"), ("W7", "W8"), ("W8", "W9")]);
    only_renames(&[("pump", "lamp"), ("lamp", "horn"), ("horn", "radio")]);
}

#[test]
fn wires_counted_anew_behind_one_that_is_new() {
    let shifted =
        renamed(FEEDS, &[("W3", "W4"), ("W4", "W5"), ("W5", "W6"), ("W6", "W7"), ("W7", "W8"), ("W8", "W9")]);
    let new = shifted.replace(
        "wire W4 from F1.load",
        "wire W3 from plus-bar to F1.line 6 mm2 0.1 m red\nwire W4 from F1.load",
    );
    assert_eq!(
        told(FEEDS, &new),
        [
            "+ W3 is new: from plus-bar to F1.line, 6 mm2, 100 mm, red",
            "= W3 is now called W4",
            "= W4 is now called W5",
            "= W5 is now called W6",
            "= W6 is now called W7",
            "= W7 is now called W8",
            "= W8 is now called W9",
        ]
    );
}

/// Names that were exchanged are told as that where it is shorter than to say what moved; else by what moved.
#[test]
fn names_exchanged() {
    // 10 A and 15 A: as renames two sentences, else four.
    only_renames(&[("F1", "F3"), ("F3", "F1")]);
    only_renames(&[("pump", "horn"), ("horn", "pump")]);
    only_renames(&[("plus-bar", "minus-bar"), ("minus-bar", "plus-bar")]);
    // Two fuses alike: two wires moved, or two names.
    assert_eq!(
        feeds(&[("F1", "F2"), ("F2", "F1")]),
        ["~ W3 now starts at F2.load, not at F1.load", "~ W5 now starts at F1.load, not at F2.load",]
    );
    only_renames(&[("F1", "F2"), ("F2", "F3"), ("F3", "F1")]);
}

#[test]
fn everything_at_once() {
    let names = [
        "house",
        "plus-bar",
        "minus-bar",
        "pump",
        "lamp",
        "horn",
        "F1",
        "F2",
        "F3",
        "W1",
        "W2",
        "W3",
        "W4",
        "W5",
        "W6",
        "W7",
        "W8",
        "loom",
        "night",
    ];
    let new: Vec<String> = names.iter().map(|name| format!("new-{name}")).collect();
    let pairs: Vec<(&str, &str)> = names.iter().zip(&new).map(|(old, new)| (*old, new.as_str())).collect();
    only_renames(&pairs);
}

/// A bar that is renamed and gets one wire more is still the bar.
#[test]
fn a_renamed_bar_with_one_wire_more() {
    let new = renamed(FEEDS, &[("plus-bar", "busbar")])
        + "load fan 12 V 5 W\nwire W9 from busbar to fan.+ 1 mm2 2 m\n";
    assert_eq!(
        told(FEEDS, &new),
        [
            "+ fan is new: a load, 12 V, 5 W",
            "+ W9 is new: from busbar to fan.+, 1 mm2, 2 m",
            "= plus-bar is now called busbar",
        ]
    );
}

/// Beside one that was rated anew and moved.
#[test]
fn renamed_beside_other_changes() {
    let new = renamed(FEEDS, &[("W3", "W30"), ("pump", "bilge"), ("F2", "F20")])
        .replace("fuse F1 10 A", "fuse F1 7.5 A")
        .replace("wire W5 from F20.load to lamp.+ 2.5 mm2", "wire W5 from F20.load to lamp.+ 4 mm2");
    assert_eq!(
        told(FEEDS, &new),
        [
            "~ F1 goes from 10 A to 7.5 A",
            "~ W5 goes from 2.5 mm2 to 4 mm2",
            "= pump is now called bilge",
            "= F2 is now called F20",
            "= W3 is now called W30",
        ]
    );
}

/// What has another name and other ratings is another.
#[test]
fn another_name_and_other_ratings() {
    let new = renamed(FEEDS, &[("F1", "F9")]).replace("fuse F9 10 A", "fuse F9 15 A");
    assert_eq!(
        told(FEEDS, &new),
        [
            "+ F9 is new: a fuse, 15 A, blade, rated voltage 32 V, breaking capacity 1 kA",
            "+ F9.line is now bolted to plus-bar",
            "- F1 is gone: a fuse, 10 A, blade, rated voltage 32 V, breaking capacity 1 kA",
            "- F1.line is no longer bolted to plus-bar",
            "~ W3 now starts at F9.load, not at F1.load",
        ]
    );
    let new = renamed(FEEDS, &[("W3", "W9")]).replace("to pump.+ 2.5 mm2", "to pump.+ 4 mm2");
    assert_eq!(
        told(FEEDS, &new),
        [
            "+ W9 is new: from F1.load to pump.+, 4 mm2, 3 m, red",
            "- W3 is gone: from F1.load to pump.+, 2.5 mm2, 3 m, red",
            "~ bundle loom now holds W9",
            "~ bundle loom no longer holds W3",
        ]
    );
}

/// Three lamps on the same bars, wired alike: any of them may be any other, and the names decide the rest.
#[test]
fn twins() {
    let lamps = |names: &[&str]| {
        let mut text = String::from("design twins \"Twins\"\nbar plus M8 x 9\nbar minus M8 x 9\n");
        for name in names {
            text += &format!(
                "load {name} 12 V 5 W\nwire P{name} from plus to {name}.+ 1 mm2 1 m\nwire N{name} from {name}.- to minus 1 mm2 1 m\n"
            );
        }
        text
    };
    // By the order in which people count, whatever the order of statements.
    assert_eq!(
        told(&lamps(&["A2", "A10", "A1"]), &lamps(&["B10", "B1", "B2"])),
        [
            "= A10 is now called B10",
            "= PA10 is now called PB10",
            "= NA10 is now called NB10",
            "= A1 is now called B1",
            "= PA1 is now called PB1",
            "= NA1 is now called NB1",
            "= A2 is now called B2",
            "= PA2 is now called PB2",
            "= NA2 is now called NB2",
        ]
    );
    // One renamed, one gone: the first is the one that has another name.
    assert_eq!(
        told(&lamps(&["A1", "A2", "A3"]), &lamps(&["A3", "C"])),
        [
            "- A2 is gone: a load, 12 V, 5 W",
            "- PA2 is gone: from plus to A2.+, 1 mm2, 1 m",
            "- NA2 is gone: from A2.- to minus, 1 mm2, 1 m",
            "= A1 is now called C",
            "= PA1 is now called PC",
            "= NA1 is now called NC",
        ]
    );
    // One more of them is one more, and no other has a new name.
    assert_eq!(told(&lamps(&["A1", "A2"]), &lamps(&["A1", "A2", "A3"])).len(), 3);
}

/// A twin whose name the other design still has does not lend itself to another.
#[test]
fn a_twin_that_was_rated_anew_keeps_its_name() {
    let old = "design d \"D\"\nfuse F2 10 A blade\nfuse F3 10 A blade\n";
    let new = "design d \"D\"\nfuse F2 15 A blade\nfuse X 10 A blade\n";
    assert_eq!(told(old, new), ["~ F2 goes from 10 A to 15 A", "= F3 is now called X"]);
}

/// Lamps from a kit, each with its fuse. All invented.
const KITS: &str = r#"design kits "Kits"
kit lamp (plus: terminal, minus: terminal, rating: current) {
  load bulb 12 V 10 W
  fuse F $rating blade volts 32 V breaks 1 kA
  wire P from $plus to F.line 1.5 mm2 0.1 m red
  wire L from F.load to bulb.+ 1.5 mm2 3 m red
  wire N from bulb.- to $minus 1.5 mm2 3 m black
}
bar plus-bar M8 x 6 250 A
bar minus-bar M8 x 6 250 A
fit lamp as fore (plus = plus-bar, minus = minus-bar, rating = 5 A)
fit lamp as aft (plus = plus-bar, minus = minus-bar, rating = 5 A)
"#;

#[test]
fn a_fit_under_another_name() {
    let new = KITS.replace("as aft", "as stern");
    assert_eq!(told(KITS, &new), ["= the fit aft is now called stern"]);
    // And what changed in it is told of what is in it.
    let new = new.replace(
        "as stern (plus = plus-bar, minus = minus-bar, rating = 5 A)",
        "as stern (plus = plus-bar, minus = minus-bar, rating = 3 A)",
    );
    assert_eq!(told(KITS, &new), ["~ stern/F goes from 5 A to 3 A", "= the fit aft is now called stern"]);
}

#[test]
fn a_fit_that_comes_or_goes() {
    let new = format!("{KITS}fit lamp as mid (plus = plus-bar, minus = minus-bar, rating = 5 A)\n");
    let told = told(KITS, &new);
    assert_eq!(told.len(), 6, "{told:#?}");
    assert_eq!(told[0], "+ the fit mid is new: kit lamp");
    assert_eq!(told[1], "+ mid/bulb is new: a load, 12 V, 10 W");
    assert!(told.iter().all(|one| one.starts_with("+ ")), "{told:#?}");
}

#[test]
fn a_kit_that_changes() {
    let new = KITS.replace("bulb 12 V 10 W", "bulb 12 V 8 W");
    assert_eq!(told(KITS, &new), ["~ fore/bulb goes from 10 W to 8 W", "~ aft/bulb goes from 10 W to 8 W"]);
    let new = renamed(KITS, &[("lamp", "light")]);
    assert_eq!(
        told(KITS, &new),
        [
            "~ the kit of the fit fore goes from lamp to light",
            "~ the kit of the fit aft goes from lamp to light",
        ]
    );
    let inside = renamed(KITS, &[("bulb", "globe")]);
    assert_eq!(
        told(KITS, &inside),
        ["= fore/bulb is now called fore/globe", "= aft/bulb is now called aft/globe"]
    );
}

/// A kit taken out of a kit, and put beside it, keeps what it joins.
#[test]
fn a_kit_of_a_library_that_changes() {
    let library = |fuse: &str, load: &str| {
        format!(
            "library lamps \"Lamps\"\npart bulb is load 12 V {load}\nkit lamp (plus: terminal, minus: terminal) {{\n  \
             load L = bulb\n  fuse F {fuse} blade volts 32 V\n  wire P from $plus to F.line 1 mm2 0.1 m\n  \
             wire Q from F.load to L.+ 1 mm2 1 m\n  wire N from L.- to $minus 1 mm2 1 m\n}}\n"
        )
    };
    let design = "design d \"D\"\nuse \"lamps.loom\"\nbar plus M8 x 6\nbar minus M8 x 6\n\
                  fit lamp as A (plus = plus, minus = minus)\nfit lamp as B (plus = plus, minus = minus)\n";
    let judged = |library: &str| Judged::of(&[("it.loom", design), ("lamps.loom", library)]);
    let old = judged(&library("5 A", "10 W"));
    assert_eq!(
        told_of(&old, &judged(&library("3 A", "8 W"))),
        [
            "~ A/L goes from 10 W to 8 W",
            "~ A/F goes from 5 A to 3 A",
            "~ B/L goes from 10 W to 8 W",
            "~ B/F goes from 5 A to 3 A",
        ]
    );
    assert_eq!(told_of(&old, &judged(&library("5 A", "10 W").replace("  load", "\tload"))), [""; 0]);
}

/// Whatever the names, the order in which statements stand decides nothing.
#[test]
fn the_order_of_statements_is_no_matter() {
    let (head, rest) = FEEDS.split_once('\n').unwrap();
    let (lines, blocks) = rest.split_once("mode night").unwrap();
    let mut lines: Vec<&str> = lines.lines().collect();
    lines.reverse();
    let turned = format!("{head}\nmode night{blocks}{}\n", lines.join("\n"));
    assert_eq!(told(FEEDS, &turned), [""; 0]);
    let new = renamed(&turned, &[("F1", "F2"), ("F2", "F9"), ("W3", "W4"), ("W4", "W3")]);
    let (old, new) = (Judged::of(&[("it.loom", FEEDS)]), Judged::of(&[("it.loom", &new)]));
    let there = compared(&old, &new);
    mirrored(&there, &compared(&new, &old));
    let mut told = sentences(&there);
    told.sort();
    assert_eq!(
        told,
        ["= F1 is now called F2", "= F2 is now called F9", "= W3 is now called W4", "= W4 is now called W3",]
    );
}
