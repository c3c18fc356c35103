//! Findings gained and lost: followed through renames and other lines, with waivers.

use super::{Judged, compared, told};
use ohmward::compare::Comparison;

/// A pump behind a fuse that is too large, with a waiver for its return. All invented.
const PUMP: &str = r#"design pump "Pump"
assume insulation 105 C
battery house lead-acid 12 V 100 Ah fault 900 A full 14.4 V
load pump 12 V 60 W
fuse F1 15 A blade volts 32 V breaks 1 kA
wire W1 from house.+ to F1.line 2.5 mm2 0.15 m red
wire W2 from F1.load to pump.+ 2.5 mm2 3 m red
wire W3 from pump.- to house.- 2.5 mm2 3 m black
"#;

fn between(old: &str, new: &str) -> (Comparison, Judged, Judged) {
    let (old, new) = (Judged::of(&[("it.loom", old)]), Judged::of(&[("it.loom", new)]));
    (compared(&old, &new), old, new)
}

/// The findings that came and went, each as `rule subject`, with `*` where both designs have it.
fn changes(old: &str, new: &str) -> (Vec<String>, Vec<String>) {
    let (comparison, old, new) = between(old, new);
    let told = |judged: &Judged, changes: &[ohmward::compare::FindingChange]| {
        let one = |change: &ohmward::compare::FindingChange| {
            let finding = &judged.judgement.findings[change.at];
            let waived = if finding.waived.is_some() { " waived" } else { "" };
            let both = if change.other.is_some() { " *" } else { "" };
            format!("{} {}{waived}{both}", finding.rule, finding.subject)
        };
        changes.iter().map(one).collect::<Vec<String>>()
    };
    (told(&new, &comparison.findings.gained), told(&old, &comparison.findings.lost))
}

const NONE: [&str; 0] = [];

#[test]
fn gained_and_lost() {
    let worse = PUMP.replace("F1 15 A", "F1 60 A");
    let (gained, lost) = changes(PUMP, &worse);
    assert!(gained.contains(&"protection.oversize W2".to_owned()), "{gained:?}");
    assert_eq!(lost, NONE);
    let (back_gained, back_lost) = changes(&worse, PUMP);
    assert_eq!((back_gained.as_slice(), back_lost.as_slice()), (&[][..], gained.as_slice()));
}

#[test]
fn followed_through_renames_and_other_lines() {
    let worse = PUMP.replace("F1 15 A", "F1 60 A");
    let moved = format!("{}\n\n# further down\n", worse.replace("W2", "W9").replace("F1", "F7"));
    let moved = moved.replacen("assume", "\n# above\n\nassume", 1);
    let told = told(&worse, &moved);
    assert_eq!(told, ["= F1 is now called F7", "= W2 is now called W9"]);
    assert_eq!(changes(&worse, &moved), (Vec::new(), Vec::new()));
    // And by what the design itself is called.
    assert_eq!(changes(&worse, &worse.replace("design pump", "design other")), (Vec::new(), Vec::new()));
}

#[test]
fn what_goes_with_an_element_goes() {
    let worse = PUMP.replace("F1 15 A", "F1 60 A");
    let other =
        worse.replace("wire W2 from F1.load to pump.+ 2.5 mm2", "wire W9 from F1.load to pump.+ 1.5 mm2");
    let (gained, lost) = changes(&worse, &other);
    assert!(gained.contains(&"protection.oversize W9".to_owned()), "{gained:?}");
    assert!(lost.contains(&"protection.oversize W2".to_owned()), "{lost:?}");
}

/// A waiver that comes takes its finding out of those that are open, and is told itself; and the other way round.
#[test]
fn waivers() {
    let worse = PUMP.replace("F1 15 A", "F1 60 A");
    let waiver = "waive protection.oversize on W2 because \"a sketch\" until 2027-03-31\n";
    let waived = format!("{worse}{waiver}");
    assert_eq!(changes(&worse, &waived), (Vec::new(), vec!["protection.oversize W2 *".to_owned()]));
    assert_eq!(changes(&waived, &worse), (vec!["protection.oversize W2 *".to_owned()], Vec::new()));
    // Found and accepted at once; then repaired.
    let mended = PUMP.to_owned();
    let (gained, _) = changes(&mended, &waived);
    assert!(gained.contains(&"protection.oversize W2 waived".to_owned()), "{gained:?}");
    // The same waiver of a later day changes no finding.
    assert_eq!(changes(&waived, &waived.replace("2027-03-31", "2027-06-30")), (Vec::new(), Vec::new()));
}

/// A claim is a statement without a name: it is known by what it claims, not by its line.
#[test]
fn statements_without_a_name() {
    let claim = "mode busy {\n  pump on\n}\nexpect W2 carries 2 A within 0.1 A in busy\n";
    let old = format!("{PUMP}{claim}");
    let (_, judged, _) = between(&old, &old);
    let failed = |finding: &&ohmward::findings::Finding| finding.rule == "expect.failed";
    assert_eq!(judged.judgement.findings.iter().filter(failed).count(), 1);
    let moved =
        format!("# above\n\n\n{}", old.replace("W2", "W8").replace("2 A within 0.1 A", "2.1 A within 0.1 A"));
    assert_eq!(changes(&old, &moved), (Vec::new(), Vec::new()));
    let right = old.replace("carries 2 A within 0.1 A", "carries 5 A within 1 A");
    let (gained, lost) = changes(&old, &right);
    assert_eq!(gained, NONE);
    assert_eq!(lost.len(), 1);
    assert!(lost[0].starts_with("expect.failed"), "{lost:?}");
}

/// Another book judges otherwise.
#[test]
fn by_another_book() {
    let other = format!("{PUMP}book small-craft-us\n");
    let (comparison, old, new) = between(PUMP, &other);
    assert_eq!(comparison.elements.added.len(), 1);
    assert_eq!(
        (old.judgement.book.as_str(), new.judgement.book.as_str()),
        ("common-practice", "small-craft-us")
    );
}
