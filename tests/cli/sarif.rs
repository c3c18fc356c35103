//! SARIF: valid by the published schema, and with fingerprints that stay.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use serde_json::Value;

use super::{ADRIFT, Bench, WAGTAIL, each_file};

const SCHEMA: &str = include_str!("../data/sarif-2.1.0.schema.json");

/// The published schema; a bracket that closes nothing in its pattern of languages is taken out, because the validator
/// refuses the whole schema for it.
fn schema() -> Value {
    serde_json::from_str(&SCHEMA.replace("[a-zA-Z]{2}]?$", "[a-zA-Z]{2}?$")).unwrap()
}
const DAY: [&str; 2] = ["--today", "2026-06-01"];

/// Panics with what the schema does not allow.
#[track_caller]
fn assert_valid(log: &Value) {
    let schema = schema();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let wrong: Vec<String> =
        validator.iter_errors(log).map(|error| format!("{}: {error}", error.instance_path())).collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

fn results(log: &Value) -> &Vec<Value> {
    log["runs"][0]["results"].as_array().unwrap()
}

fn uri(result: &Value) -> &str {
    result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].as_str().unwrap()
}

/// Every fingerprint with its rule, in order.
fn fingerprints(log: &Value) -> Vec<(String, String)> {
    let of = |result: &Value| {
        let keys = result["partialFingerprints"].as_object().unwrap();
        assert_eq!(keys.len(), 1, "{result}");
        let fingerprint = keys.values().next().unwrap().as_str().unwrap().to_owned();
        (fingerprint, result["ruleId"].as_str().unwrap().to_owned())
    };
    results(log).iter().map(of).collect()
}

#[test]
fn the_schema_refuses_what_is_wrong() {
    let schema = schema();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let log = Bench::new(&[("a.loom", ADRIFT.as_bytes())]).run(&["check", "--as", "sarif"]).json();
    assert!(validator.is_valid(&log));
    for (pointer, wrong) in [
        ("/runs/0/results/0/level", Value::from("advice")),
        ("/runs/0/results/0/message", Value::from("text")),
        ("/runs/0/results/0/locations/0/physicalLocation/region/startLine", Value::from(0)),
        ("/runs/0/tool/driver/rules/0/id", Value::Null),
        ("/runs/0/columnKind", Value::from("characters")),
    ] {
        let mut log = log.clone();
        *log.pointer_mut(pointer).unwrap() = wrong;
        assert!(!validator.is_valid(&log), "{pointer}");
    }
}

#[test]
fn every_sample_is_valid() {
    let bench = Bench::of_samples();
    let log = bench.run(&["check", "samples", "--as", "sarif", DAY[0], DAY[1]]).ends(2).json();
    assert_valid(&log);
    let json = bench.run(&["check", "samples", "--as", "json", DAY[0], DAY[1]]).ends(2).json();
    let (mut found, mut clean) = (Vec::new(), 0);
    for design in json["designs"].as_array().unwrap() {
        let findings = design["findings"].as_array().unwrap();
        clean += usize::from(findings.is_empty());
        found.extend(findings);
    }
    assert!(100 < found.len() && 8 <= clean, "{} findings, {clean} without", found.len());
    assert_eq!(results(&log).len(), found.len());
    let levels = BTreeMap::from([("error", "error"), ("warning", "warning"), ("advice", "note")]);
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap();
    for (result, finding) in results(&log).iter().zip(found) {
        assert_eq!(result["ruleId"], finding["rule"]);
        assert_eq!(result["level"], levels[finding["severity"].as_str().unwrap()]);
        let index = usize::try_from(result["ruleIndex"].as_u64().unwrap()).unwrap();
        assert_eq!(rules[index]["id"], finding["rule"]);
        assert!(!rules[index]["help"]["text"].as_str().unwrap().is_empty());
        let region = &result["locations"][0]["physicalLocation"]["region"];
        for (key, of) in [
            ("startLine", "line"),
            ("startColumn", "column"),
            ("endLine", "end_line"),
            ("endColumn", "end_column"),
        ] {
            assert_eq!(region[key], finding["span"][of], "{result}");
        }
        let related = finding["related"].as_array().unwrap().len();
        assert_eq!(result["relatedLocations"].as_array().map_or(0, Vec::len), related);
        assert_eq!(result["properties"]["values"], finding["values"]);
        let message = result["message"]["text"].as_str().unwrap();
        assert!(message.starts_with(finding["message"].as_str().unwrap()), "{message}");
        assert_eq!(
            result["suppressions"].as_array().unwrap().len(),
            usize::from(!finding["waived"].is_null())
        );
    }
    for form in ["startLine", "unicodeCodePoints"] {
        assert!(log.to_string().contains(form));
    }
}

/// Several designs at once give the same as each alone.
#[test]
fn every_sample_alone_is_valid() {
    let bench = Bench::of_samples();
    for name in ["samples/wagtail.loom", "samples/parts.loom", "samples/faults/protection.missing.loom"] {
        assert_valid(&bench.run(&["check", name, "--as", "sarif"]).json());
    }
}

#[test]
fn fingerprints_are_unique_and_outlast_edits_above() {
    let bench = Bench::of_samples();
    let arguments = ["check", "samples", "--as", "sarif", DAY[0], DAY[1]];
    let before = fingerprints(&bench.run(&arguments).json());
    let unique: BTreeSet<_> = before.iter().collect();
    assert_eq!(unique.len(), before.len());
    let mut n_inserted = 0;
    each_file(&bench.path("samples"), &mut |path| {
        let text = fs::read_to_string(path).unwrap();
        let (mut edited, mut joined) = (String::new(), false);
        for line in text.split_inclusive('\n') {
            let word = line.split_whitespace().next().unwrap_or("");
            if !joined && ["design", "battery", "wire", "fuse", "bolt", "load", "mode"].contains(&word) {
                edited += "\n# what stands here says nothing\n\n";
                n_inserted += 1;
            }
            edited += line;
            joined = line.trim_end().ends_with('\\');
        }
        fs::write(path, edited).unwrap();
    });
    assert!(300 < n_inserted, "{n_inserted}");
    let after = bench.run(&arguments).json();
    assert_eq!(fingerprints(&after), before);
}

#[test]
fn equal_findings_are_told_apart() {
    let bolts = "design d \"Invented\"\nbolt nowhere.a to nowhere.b\nbolt nowhere.a  to nowhere.b # again\n";
    let bench = Bench::new(&[("a.loom", bolts.as_bytes()), ("b.loom", bolts.as_bytes())]);
    let before = fingerprints(&bench.run(&["check", "--as", "sarif"]).ends(2).json());
    assert!(4 <= before.len(), "{before:?}");
    assert_eq!(before.iter().collect::<BTreeSet<_>>().len(), before.len());
    fs::write(bench.path("a.loom"), format!("# one\n\n{bolts}")).unwrap();
    assert_eq!(fingerprints(&bench.run(&["check", "--as", "sarif"]).ends(2).json()), before);
}

#[test]
fn waivers_are_suppressions() {
    let waived = format!(
        "{ADRIFT}waive protection.missing on W1 because \"taken out in \\\"May\\\"\" until 2027-03-31\n"
    );
    let waived = waived.replace("\\\"", "");
    let bench = Bench::new(&[("a.loom", waived.as_bytes())]);
    let log = bench.run(&["check", "--as", "sarif", DAY[0], DAY[1]]).ends(0).json();
    assert_valid(&log);
    let missing = results(&log).iter().find(|result| result["ruleId"] == "protection.missing").unwrap();
    let [suppression] = missing["suppressions"].as_array().unwrap().as_slice() else { panic!("{missing}") };
    assert_eq!(suppression["kind"], "inSource");
    assert_eq!(suppression["status"], "accepted");
    assert_eq!(suppression["justification"], "taken out in May");
    assert!(missing.get("baselineState").is_none());
}

#[test]
fn what_cannot_be_judged_is_told_beside_the_results() {
    let bench = Bench::new(&[("adrift.loom", ADRIFT.as_bytes()), ("empty/x.txt", b"")]);
    let log = bench.run(&["check", "lost one.loom", "empty", "adrift.loom", "--as", "sarif"]).ends(2).json();
    assert_valid(&log);
    let invocation = &log["runs"][0]["invocations"][0];
    assert_eq!(invocation["executionSuccessful"], false);
    assert_eq!(invocation["exitCode"], 2);
    let told = invocation["toolExecutionNotifications"].as_array().unwrap();
    assert_eq!(told.len(), 2, "{told:#?}");
    assert_eq!(told[0]["message"]["text"], "not judged: there is no such file");
    let lost = &told[0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"];
    assert_eq!(lost, "lost%20one.loom");
    assert_eq!(told[1]["message"]["text"], "no design (*.loom) in empty");
    for (level, code) in [("error", 1), ("never", 0)] {
        let log = bench.run(&["check", "adrift.loom", "--as", "sarif", "--fail-at", level]).ends(code).json();
        let invocation = &log["runs"][0]["invocations"][0];
        assert_eq!(
            (&invocation["exitCode"], &invocation["executionSuccessful"]),
            (&code.into(), &true.into())
        );
    }
}

#[test]
fn paths_are_uris() {
    let name = "ø 100%/a#b?.loom";
    let bench = Bench::new(&[(name, ADRIFT.as_bytes())]);
    let log = bench.run(&["check", "--as", "sarif"]).ends(1).json();
    assert_valid(&log);
    assert!(results(&log).iter().all(|result| uri(result) == "%C3%B8%20100%25/a%23b%3F.loom"), "{log}");
    let whole = bench.path(name);
    let log = bench.run(&["check", whole.to_str().unwrap(), "--as", "sarif"]).ends(1).json();
    assert!(uri(&results(&log)[0]).starts_with("file:///"), "{log}");
    let log = bench.run_with(&["check", "-", "--as", "sarif"], ADRIFT.as_bytes()).ends(1).json();
    assert_valid(&log);
}

#[test]
fn a_books_own_rules_are_listed() {
    let book = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/house/house.toml");
    let bench = Bench::new(&[("a.loom", WAGTAIL.as_bytes()), ("house.toml", &fs::read(book).unwrap())]);
    let log = bench.run(&["check", "a.loom", "--book", "house.toml", "--as", "sarif"]).json();
    assert_valid(&log);
    let rules = log["runs"][0]["tool"]["driver"]["rules"].as_array().unwrap();
    let own: Vec<_> =
        rules.iter().filter(|rule| rule["id"].as_str().unwrap().starts_with("house.")).collect();
    assert_eq!(own.len(), 6, "{own:#?}");
    assert!(own.iter().all(|rule| !rule["help"]["text"].as_str().unwrap().is_empty()));
    assert!(own.iter().all(|rule| rule["defaultConfiguration"]["level"].is_string()));
    let ids: BTreeSet<_> = rules.iter().map(|rule| rule["id"].as_str().unwrap()).collect();
    assert_eq!(ids.len(), rules.len());
    for rule in ohmward::rules::ALL {
        assert!(ids.contains(rule.id), "{}", rule.id);
    }
}

#[test]
fn nothing_to_judge_is_valid() {
    let library: &[u8] = b"library kits \"Invented\"\n";
    let bench = Bench::new(&[("kits.loom", library), ("a.loom", WAGTAIL.as_bytes())]);
    let log = bench.run(&["check", "kits.loom", "--as", "sarif"]).ends(0).json();
    assert_valid(&log);
    assert_eq!(results(&log).len(), 0);
    assert_eq!(log["runs"][0]["invocations"][0]["executionSuccessful"], true);
}
