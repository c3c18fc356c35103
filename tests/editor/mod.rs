//! The language server: conversations with the real binary, as editors have them.

mod client;
mod conversation;
mod edges;
mod features;
mod kept;
mod layout;
mod mending;
mod neovim;
mod random;
mod speed;
mod workspace;

use std::path::Path;

use serde_json::Value;

use client::Client;

/// A sample of the project.
fn sample(path: &str) -> String {
    std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("samples").join(path)).unwrap()
}

/// The names of the samples with a fault in them, without their ending.
fn faults() -> Vec<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/faults");
    let names =
        std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().into_string().unwrap());
    let mut names: Vec<String> = names
        .filter_map(|name| Some(name.strip_suffix(".loom")?.to_owned()))
        .filter(|name| name.contains('.'))
        .collect();
    names.retain(|name| !name.ends_with(".mended"));
    names.sort();
    assert!(40 < names.len());
    names
}

/// The codes of diagnostics, without the list of figures that the smallest examples leave open.
fn codes(rows: &[Value]) -> Vec<&str> {
    let all = rows.iter().map(|row| row["code"].as_str().unwrap_or(""));
    all.filter(|code| *code != "unknown.rating").collect()
}

/// What `ohmward check` tells of a file of the client's folder: line, column (both from 1, in characters), rule, severity.
fn checked(client: &Client, name: &str) -> Vec<(u64, u64, String, String)> {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_ohmward"))
        .args(["check", "--as", "json", name])
        .current_dir(client.folder())
        .output()
        .unwrap();
    let json: Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut rows: Vec<_> = json["designs"]
        .as_array()
        .unwrap()
        .iter()
        .flat_map(|design| design["findings"].as_array().unwrap())
        .filter(|finding| finding["waived"].is_null() && finding["span"]["file"] == name)
        .map(|finding| {
            let word = |key: &str| finding[key].as_str().unwrap().to_owned();
            let number = |key: &str| finding["span"][key].as_u64().unwrap();
            (number("line"), number("column"), word("rule"), word("severity"))
        })
        .collect();
    rows.sort();
    rows
}

/// The same of diagnostics of a text in plain ASCII.
fn shown(rows: &[Value]) -> Vec<(u64, u64, String, String)> {
    let mut rows: Vec<_> = rows
        .iter()
        .map(|row| {
            let start = |key: &str| row["range"]["start"][key].as_u64().unwrap() + 1;
            let severity = match row["severity"].as_u64() {
                Some(1) => "error",
                Some(2) => "warning",
                _ => "advice",
            };
            (
                start("line"),
                start("character"),
                row["code"].as_str().unwrap_or("").to_owned(),
                severity.to_owned(),
            )
        })
        .collect();
    rows.sort();
    rows
}
