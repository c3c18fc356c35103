//! The graph computations held against another implementation: `against.py`, which reads the designs itself, derives
//! everything from the definitions and computes it by networkx.

use std::env;
use std::path::Path;
use std::process::Command;

/// What the script exits with where networkx is not installed.
const ABSENT: i32 = 77;

#[test]
fn flows_stretches_and_loops_are_those_of_networkx() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = env::var("OHMWARD_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let output = Command::new(&python)
        .arg(root.join("tests/networkx/against.py"))
        .arg(env!("CARGO_BIN_EXE_ohmward"))
        .arg(root.join("samples"))
        .args(["--count", "320", "--seed", "1"])
        .output();
    let must_run = env::var("CI").is_ok_and(|ci| ci == "true");
    match output {
        Ok(output) if output.status.code() != Some(ABSENT) => {
            let told = String::from_utf8_lossy(&output.stdout);
            let errors = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{told}\n{errors}");
            println!("{told}");
        }
        absent => {
            assert!(!must_run, "{python} with networkx is needed: {absent:?}");
            println!("skipped: {python} with networkx is not installed");
        }
    }
}
