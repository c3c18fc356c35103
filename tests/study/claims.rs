//! What samples expect of their modes holds by the study.

use ohmward::check::{StudyOptions, study};
use ohmward::design::{Claim, Id};
use ohmward::text::{Files, MemoryFiles};

/// A sample with the library beside it.
fn files(name: &str) -> impl Files {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let text = |name: &str| std::fs::read_to_string(folder.join(name)).unwrap();
    MemoryFiles::default().with(name, text(name)).with("parts.loom", text("parts.loom"))
}

#[test]
fn of_all_samples() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let (mut claims, mut wrong) = (0, String::new());
    for entry in std::fs::read_dir(folder).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if !name.ends_with(".loom") || name == "parts.loom" {
            continue;
        }
        let studied = study(&name, &files(&name), &StudyOptions::default());
        let (design, study) = (studied.design.unwrap(), studied.study.unwrap());
        for expect in &design.expects {
            claims += 1;
            let mode = study.modes.iter().find(|mode| mode.mode == Some(expect.mode)).unwrap();
            let solution = mode.solution.as_ref().unwrap();
            let (found, holds) = match expect.claim {
                Claim::Reads { meter, current, within } => {
                    let reads = mode.meters.iter().find(|row| row.0 == meter).unwrap().1;
                    (reads, (reads - current.as_amps()).abs() <= within.as_amps())
                }
                Claim::Carries { wire, current, within } => {
                    let amps = mode.wire(&study.network, wire).unwrap();
                    (amps, (amps - current.as_amps()).abs() <= within.as_amps())
                }
                Claim::Above(end, voltage) => {
                    let volts = solution.volts[end.terminal.index()].unwrap();
                    (volts, voltage.as_volts() < volts)
                }
                Claim::Below(end, voltage) => {
                    let volts = solution.volts[end.terminal.index()].unwrap();
                    (volts, volts < voltage.as_volts())
                }
            };
            if !holds {
                wrong += &format!("{name} in {}: {found}, claimed {:?}\n", mode.name, expect.claim);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(20 <= claims, "{claims}");
}
