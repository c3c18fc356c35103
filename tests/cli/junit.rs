//! JUnit XML: valid by a published schema, read by another program.

use std::env;
use std::fs;
use std::path::Path;
use std::process::Command;

use super::{ADRIFT, Bench, WAGTAIL};

/// What the script exits with where the library is not installed.
const ABSENT: i32 = 77;

/// Holds files against the schema.
#[track_caller]
fn assert_valid(bench: &Bench, names: &[&str]) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = env::var("OHMWARD_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let output = Command::new(&python)
        .arg(root.join("tests/cli/junit.py"))
        .arg(root.join("tests/data/junit-10.xsd"))
        .args(names.iter().map(|name| bench.path(name)))
        .output();
    let must_run = env::var("CI").is_ok_and(|ci| ci == "true");
    match output {
        Ok(output) if output.status.code() != Some(ABSENT) => {
            let told = String::from_utf8_lossy(&output.stdout);
            assert!(output.status.success(), "{told}\n{}", String::from_utf8_lossy(&output.stderr));
        }
        absent => {
            assert!(!must_run, "{python} with xmlschema is needed: {absent:?}");
            println!("skipped: {python} with xmlschema is not installed");
        }
    }
}

#[test]
fn every_sample_is_valid() {
    let bench = Bench::of_samples();
    let day = ["--today", "2026-06-01"];
    bench.run(&["check", "samples", "--as", "junit", "-o", "all.xml", day[0], day[1]]).ends(2);
    bench.run(&["check", "samples/parts.loom", "--as", "junit", "-o", "none.xml"]).ends(0);
    bench.run(&["check", "none.loom", "samples/house", "--as", "junit", "-o", "lost.xml"]).ends(2);
    assert_valid(&bench, &["all.xml", "none.xml", "lost.xml"]);
    let text = fs::read_to_string(bench.path("all.xml")).unwrap();
    let json = bench.run(&["check", "samples", "--as", "json", day[0], day[1]]).ends(2).json();
    let designs = json["designs"].as_array().unwrap();
    assert_eq!(text.matches("<testsuite ").count(), designs.len());
    let count = |is: &dyn Fn(&serde_json::Value) -> bool| {
        designs.iter().flat_map(|design| design["findings"].as_array().unwrap()).filter(|row| is(row)).count()
    };
    let is_language = |row: &serde_json::Value| row["rule"].as_str().unwrap().starts_with("language.");
    assert_eq!(text.matches("<failure ").count(), count(&|row| row["waived"].is_null() && !is_language(row)));
    assert_eq!(text.matches("<error ").count(), count(&is_language));
    assert_eq!(text.matches("<skipped ").count(), count(&|row| !row["waived"].is_null()));
    let clean = designs.iter().filter(|design| design["findings"].as_array().unwrap().is_empty()).count();
    assert!(8 <= clean);
    assert_eq!(text.matches("<testcase name=\"nothing found\"").count(), clean);
}

#[test]
fn the_schema_refuses_what_is_wrong() {
    let bench = Bench::new(&[
        ("a.xml", b"<testsuites><testsuite name='x' tests='1' failures='0'/></testsuites>"),
        ("b.xml", b"<testsuites><testsuite name='x' tests='1' failures='0' errors='0'><testcase/></testsuite></testsuites>"),
        ("c.xml", b"<testsuites>\x01</testsuites>"),
    ]);
    let python = env::var("OHMWARD_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for name in ["a.xml", "b.xml", "c.xml"] {
        let mut command = Command::new(&python);
        command.arg(root.join("tests/cli/junit.py")).arg(root.join("tests/data/junit-10.xsd"));
        match command.arg(bench.path(name)).output() {
            Ok(output) => assert_ne!(output.status.code(), Some(0), "{name}"),
            Err(error) => println!("skipped: {python}: {error}"),
        }
    }
}

#[test]
fn a_suite_a_design_and_a_case_a_finding() {
    let waived = format!("{WAGTAIL}waive unknown.rating on wagtail because \"by sight\" until 2027-03-31\n");
    let bench = Bench::new(&[("a.loom", ADRIFT.as_bytes()), ("b.loom", waived.as_bytes())]);
    let ran = bench.run(&["check", "--as", "junit", "--today", "2026-06-01"]).ends(1);
    assert!(ran.out.contains("<testcase name=\"protection.missing: W1\" classname=\"a.loom\">"), "{ran:#?}");
    assert!(ran.out.contains("<skipped message=\"accepted until 2027-03-31: by sight\">"), "{ran:#?}");
    assert!(ran.out.contains("do: fit a fuse"), "{ran:#?}");
    assert_eq!(ran.out.matches("<testsuite ").count(), 2);
}

#[test]
fn hostile_texts_are_safe() {
    let hostile = "design d \"<![CDATA[ & ]]> \u{1b}[31m \u{0} \u{fffe} </testsuite>\"\nload <x>&\"' 12 V\u{8} 1 A\u{ffff}\n";
    let bench = Bench::new(&[("a<&>'.loom", hostile.as_bytes()), ("z.loom", ADRIFT.as_bytes())]);
    let ran = bench.run(&["check", "--as", "junit", "-o", "out.xml"]).ends(2);
    assert_eq!(ran.err, "");
    assert_valid(&bench, &["out.xml"]);
    let text = fs::read_to_string(bench.path("out.xml")).unwrap();
    assert!(text.chars().all(|c| c == '\n' || !c.is_control()), "{text:?}");
    assert!(!text.contains(['\u{fffe}', '\u{ffff}']), "{text:?}");
    assert_eq!(text.matches("<testsuite ").count(), 2);
}
