//! What is laid out otherwise and says the same gives nothing, in every sample.

use super::{Judged, compared, samples};
use ohmward::design::{LoadOptions, load};
use ohmward::text::Files;

/// Names of the samples that are designs without language errors, with their text.
fn designs() -> Vec<(String, String)> {
    let files = samples();
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let mut all = Vec::new();
    for folder in [folder.join("faults"), folder] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let name = entry.unwrap().file_name().to_string_lossy().into_owned();
            let Ok(text) = files.read(&name) else { continue };
            if load(&name, &files, &LoadOptions { most_elements: 10_000 }).design.is_some() {
                all.push((name, String::from_utf8(text).unwrap()));
            }
        }
    }
    all.sort();
    assert!(100 < all.len(), "the samples are there");
    all
}

/// Statements as they stand, blocks whole, without comments on lines of their own.
fn statements(text: &str) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    let mut depth = 0_usize;
    let mut goes_on = false;
    for line in text.lines().filter(|line| !line.trim().is_empty() && !line.trim_start().starts_with('#')) {
        match all.last_mut() {
            Some(last) if 0 < depth || goes_on => *last += &format!("\n{line}"),
            _ => all.push(line.to_owned()),
        }
        goes_on = line.trim_end().ends_with('\\');
        match line.trim() {
            "}" => depth -= 1,
            line if line.ends_with('{') => depth += 1,
            _ => {}
        }
    }
    all
}

/// Other spacing, comments, line ends.
fn spaced(text: &str) -> String {
    let mut out = String::from("# a comment above all\r\n");
    for line in text.lines() {
        let bare = line.trim_end();
        let goes_on = bare.ends_with('\\') || bare.ends_with('{');
        let inside = bare.len() - bare.trim_start().len();
        let (indent, rest) = bare.split_at(inside);
        // Blanks outside quotes count for nothing.
        let mut wide = String::new();
        let mut quoted = false;
        for c in rest.chars() {
            quoted ^= c == '"';
            wide.push(c);
            if c == ' ' && !quoted && !rest.contains('#') {
                wide.push_str("  ");
            }
        }
        out += indent;
        out += &wide;
        if !goes_on && !bare.trim().is_empty() {
            out += "   # a remark";
        }
        out += "\r\n\r\n";
    }
    out
}

fn judged(name: &str, text: &str) -> Judged {
    Judged::of(&[(name, text)])
}

#[test]
fn every_sample_is_equal_to_itself() {
    for (name, text) in designs() {
        let one = judged(&name, &text);
        assert!(compared(&one, &judged(&name, &text)).is_empty(), "{name}");
    }
}

#[test]
fn spacing_and_comments_change_nothing() {
    for (name, text) in designs() {
        // A waiver or a finding may be of a line, whose number blank lines change.
        if text.contains("on line:") || text.contains("\\\n") {
            continue;
        }
        let comparison = compared(&judged(&name, &text), &judged(&name, &spaced(&text)));
        assert!(comparison.is_empty(), "{name}: {comparison:#?}");
    }
}

#[test]
fn the_order_of_statements_changes_no_element() {
    for (name, text) in designs() {
        let mut all = statements(&text);
        if text.contains("on line:") {
            continue;
        }
        let rest = all.split_off(1);
        let turned: Vec<String> = rest.into_iter().rev().collect();
        let turned = format!("{}\n{}\n", all.join("\n"), turned.join("\n"));
        let comparison = compared(&judged(&name, &text), &judged(&name, &turned));
        let elements = ohmward::compare::ElementChanges::default();
        assert_eq!(comparison.elements, elements, "{name}:\n{turned}");
        // Of several that are at fault together, the order decides which is named.
        if !text.contains("#    ") && !text.contains('^') {
            assert_eq!(comparison.findings, ohmward::compare::FindingChanges::default(), "{name}");
        }
    }
}
