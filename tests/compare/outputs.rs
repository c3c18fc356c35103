//! A comparison as people and programs see it.

use insta::assert_snapshot;
use ohmward::compare::compare;
use ohmward::render::{CompareHuman, CompareJson, CompareMarkdown, CompareReport};

use super::Judged;

/// All invented.
const OLD: &str = r#"design skerry "A <dinghy> with [two] lamps"
assume insulation 105 C
kit lamp (plus: terminal, minus: terminal) {
  load bulb 12 V 10 W
  fuse F 5 A blade volts 32 V breaks 1 kA
  bolt F.line to $plus
  wire L from F.load to bulb.+ 1.5 mm2 3 m red
  wire N from bulb.- to $minus 1.5 mm2 3 m black
}
battery house lead-acid 12 V 100 Ah fault 900 A full 14.4 V
load pump 12 V 60 W
fuse F1 15 A blade volts 32 V breaks 1 kA
fuse F2 15 A blade volts 32 V breaks 1 kA
bar plus-bar M8 x 6 250 A
bar minus-bar M8 x 6 250 A
wire W1 from house.+ to F1.line 2.5 mm2 0.15 m red
wire W2 from F1.load to plus-bar 2.5 mm2 0.3 m red
wire W3 from minus-bar to house.- 6 mm2 0.5 m black
wire W4 from plus-bar to F2.line 2.5 mm2 0.2 m red
wire W5 from F2.load to pump.+ 2.5 mm2 3 m red
wire W6 from pump.- to minus-bar 2.5 mm2 3 m black
fit lamp as fore (plus = plus-bar, minus = minus-bar)
fit lamp as aft (plus = plus-bar, minus = minus-bar)
mode night {
  fore/bulb on
  aft/bulb on
}
"#;

fn new() -> String {
    OLD.replace("F1 15 A", "F1 60 A")
        .replace(
            "wire W2 from F1.load to plus-bar 2.5 mm2 0.3 m red",
            "wire W2 from F1.load to plus-bar 4 mm2 300 mm red",
        )
        .replace("bulb 12 V 10 W", "bulb 12 V 5 W")
        .replace("fuse F 5 A", "fuse F 3 A")
        .replace("wire W5 from F2.load", "wire W7 from F2.load")
        .replace("  aft/bulb on\n", "")
        .replace("minus-bar 2.5 mm2 3 m black\nfit", "house.- 2.5 mm2 3 m black\nfit")
        + "note pump \"see *here* and `there`\"\n\
           waive protection.oversize on W4 because \"until the yard has 10 mm2\" until 2027-03-31\n"
}

enum Form {
    Human,
    Markdown,
    Json,
}

fn rendered(old: &Judged, new: &Judged, form: &Form) -> String {
    let comparison = compare(old.side(), new.side());
    let report = CompareReport {
        old_name: &old.judgement.path,
        new_name: &new.judgement.path,
        old: &old.judgement,
        new: &new.judgement,
        comparison: &comparison,
    };
    let mut out = Vec::new();
    match form {
        Form::Human => CompareHuman { width: 80, color: false }.write(&report, &mut out),
        Form::Markdown => CompareMarkdown.write(&report, &mut out),
        Form::Json => CompareJson.write(&report, &mut out),
    }
    .unwrap();
    String::from_utf8(out).unwrap()
}

fn both(form: &Form) -> String {
    let (old, new) = (Judged::of(&[("old.loom", OLD)]), Judged::of(&[("new.loom", &new())]));
    rendered(&old, &new, form)
}

/// Without the last words, which say what no design is judged for yet.
fn body(text: &str) -> &str {
    let Some((body, _)) = text.split_once("A judgement supports, and never replaces,") else {
        panic!("no word of caution:\n{text}")
    };
    body
}

#[test]
fn for_people() {
    assert_snapshot!(body(&both(&Form::Human)));
}

#[test]
fn for_a_review() {
    assert_snapshot!(body(&both(&Form::Markdown)));
}

#[test]
fn the_other_way_round() {
    let (old, new) = (Judged::of(&[("old.loom", OLD)]), Judged::of(&[("new.loom", &new())]));
    assert_snapshot!(body(&rendered(&new, &old, &Form::Human)));
}

#[test]
fn for_programs() {
    let text = both(&Form::Json);
    let document: serde_json::Value = serde_json::from_str(&text).unwrap();
    let keys =
        |value: &serde_json::Value| -> Vec<String> { value.as_object().unwrap().keys().cloned().collect() };
    assert_eq!(keys(&document), ["elements", "findings", "new", "old", "schema", "tool"]);
    assert_eq!(keys(&document["elements"]), ["added", "changed", "removed", "renamed"]);
    assert_eq!(keys(&document["findings"]), ["gained", "lost"]);
    let fuse =
        &document["elements"]["changed"].as_array().unwrap().iter().find(|one| one["name"] == "F1").unwrap();
    assert_eq!(fuse["kind"], "fuse");
    assert_eq!(fuse["changes"][0]["property"], "rating");
    assert_eq!(fuse["changes"][0]["from"], "15 A");
    assert_eq!(fuse["changes"][0]["to"], "60 A");
    assert_eq!(fuse["span"]["file"], "new.loom");
    assert_eq!(document["elements"]["renamed"][0]["name"], "W7");
    assert_eq!(document["elements"]["renamed"][0]["was"], "W5");
    let gained = document["findings"]["gained"].as_array().unwrap();
    assert!(
        gained.iter().any(|one| one["rule"] == "protection.oversize" && one["span"]["file"] == "new.loom")
    );
    for finding in gained {
        for key in ["rule", "severity", "subject", "message", "help", "span", "related", "values", "waived"] {
            assert!(finding.get(key).is_some(), "{key} in {finding}");
        }
    }
}

#[test]
fn nothing_has_changed() {
    let (old, new) = (Judged::of(&[("old.loom", OLD)]), Judged::of(&[("new.loom", OLD)]));
    assert_eq!(rendered(&old, &new, &Form::Human), "nothing has changed from old.loom to new.loom\n");
    let document: serde_json::Value = serde_json::from_str(&rendered(&old, &new, &Form::Json)).unwrap();
    let side = |file: &str| serde_json::json!({"file": file, "design": "skerry", "book": "common-practice"});
    let expected = serde_json::json!({
        "tool": {"name": "ohmward", "version": env!("CARGO_PKG_VERSION")},
        "schema": 1,
        "old": side("old.loom"),
        "new": side("new.loom"),
        "elements": {"added": [], "removed": [], "changed": [], "renamed": []},
        "findings": {"gained": [], "lost": []},
    });
    assert_eq!(document, expected);
    assert_snapshot!(rendered(&old, &new, &Form::Markdown), @r"
    ### Wiring of skerry

    Nothing has changed from `old.loom` to `new.loom`.
    ");
}

/// A long list is folded in a review, and stays whole.
#[test]
fn a_long_list_is_folded() {
    let posts = |n: usize| (0..n).map(|at| format!("post P{at} M8\n")).collect::<String>();
    let old = Judged::of(&[("old.loom", "design d \"D\"\n")]);
    let shown = |n: usize| {
        let new = Judged::of(&[("new.loom", &format!("design d \"D\"\n{}", posts(n)))]);
        rendered(&old, &new, &Form::Markdown)
    };
    assert!(!shown(20).contains("<details>"));
    let folded = shown(21);
    assert!(folded.contains("<details><summary>21 lines</summary>"));
    assert_eq!(folded.matches("\n- P").count(), 21);
    assert!(folded.contains("\n</details>\n"));
}
