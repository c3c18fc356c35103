//! What a run over a fleet told, to be held against what was planted.

use serde_json::Value;

use super::generate::Expected;

/// The designs that a JSON document tells, and their findings that nothing accepts, sorted.
pub fn told(document: &[u8]) -> (Vec<String>, Vec<Expected>) {
    let document: Value = serde_json::from_slice(document).expect("a JSON document");
    let text = |value: &Value| value.as_str().expect("a text").to_owned();
    let (mut files, mut findings) = (Vec::new(), Vec::new());
    for design in document["designs"].as_array().expect("designs") {
        files.push(text(&design["file"]));
        for finding in design["findings"].as_array().expect("findings") {
            if finding["waived"].is_null() {
                findings.push(Expected {
                    file: text(&design["file"]),
                    rule: text(&finding["rule"]),
                    subject: text(&finding["subject"]),
                });
            }
        }
    }
    findings.sort();
    (files, findings)
}

/// Fails unless exactly what is expected was found, each as often as it is expected.
pub fn exactly(found: &[Expected], expected: &[Expected]) {
    let without = |all: &[Expected], others: &[Expected]| -> Vec<Expected> {
        let mut others = others.to_vec();
        let mut left = Vec::new();
        for one in all {
            match others.binary_search(one) {
                Ok(at) => drop(others.remove(at)),
                Err(_) => left.push(one.clone()),
            }
        }
        left
    };
    let (missing, invented) = (without(expected, found), without(found, expected));
    assert!(missing.is_empty() && invented.is_empty(), "missing: {missing:#?}\ninvented: {invented:#?}");
}
