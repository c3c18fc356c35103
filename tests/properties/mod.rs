//! Laws that hold for every design, on designs made at random and on samples with random damage.

mod compare;
mod dice;
mod failures;
mod laws;
mod layout;
mod outputs;
mod random;
mod survival;

use std::sync::mpsc;
use std::time::{Duration, Instant};

use proptest::prelude::ProptestConfig;
use proptest::test_runner::RngSeed;

use ohmward::check::{Judgement, Options, check};
use ohmward::design::Date;
use ohmward::render::{Human, JUnit, Json, Lines, Manner, Output, Sarif, Tally};
use ohmward::text::MemoryFiles;

/// So many cases, the same in every run; or as many times more as `CASES_TIMES` says, others in every run. What a case finds
/// becomes a test of its own.
fn config(cases: u32) -> ProptestConfig {
    let times: Option<u32> = std::env::var("CASES_TIMES").ok().and_then(|times| times.parse().ok());
    ProptestConfig {
        cases: cases * times.unwrap_or(1),
        rng_seed: times.map_or(RngSeed::Fixed(20_261_128), |_| RngSeed::Random),
        max_shrink_iters: 500,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

/// Longest that one small design may take in the test profile.
const LONGEST: Duration = Duration::from_secs(5);

fn options() -> Options {
    let Some(today) = Date::parse("2026-11-25") else { panic!("a day") };
    Options { explain: true, ..Options::on(today) }
}

/// Judges a design in memory, with the samples' libraries beside it.
fn judge(text: impl Into<Vec<u8>>) -> Judgement {
    judge_with(text, &options())
}

fn judge_with(text: impl Into<Vec<u8>>, options: &Options) -> Judgement {
    let files = MemoryFiles::default()
        .with("parts.loom", include_str!("../../samples/parts.loom"))
        .with("lamp-parts.loom", include_str!("../../samples/faults/lamp-parts.loom"))
        .with("house.toml", include_str!("../../samples/house/house.toml"))
        .with("it.loom", text);
    check("it.loom", &files, options)
}

/// Every output, by name.
fn rendered(judgement: &Judgement) -> Vec<(&'static str, String)> {
    let drawn = |color, unicode| Human { manner: Manner::Drawn { color, unicode }, width: 80 };
    let outputs: Vec<(&'static str, Box<dyn Output>)> = vec![
        ("drawn", Box::new(drawn(false, true))),
        ("coloured", Box::new(drawn(true, true))),
        ("ascii", Box::new(drawn(false, false))),
        ("told", Box::new(Human { manner: Manner::Told, width: 40 })),
        ("lines", Box::new(Lines)),
        ("json", Box::new(Json)),
        ("sarif", Box::new(Sarif { fail_at: None, baseline: false })),
        ("junit", Box::new(JUnit)),
    ];
    let tally = Tally::of(judgement);
    let one = |(name, output): (&'static str, Box<dyn Output>)| {
        let mut out = Vec::new();
        output.begin(&mut out).unwrap();
        output.design(judgement, &mut out).unwrap();
        output.end(&tally, &mut out).unwrap();
        (name, String::from_utf8(out).unwrap())
    };
    outputs.into_iter().map(one).collect()
}

/// Judges and renders in a thread of its own, so that a hang fails in place of hanging the run.
fn survives(text: Vec<u8>) {
    let (done, finished) = mpsc::channel();
    let shown = String::from_utf8_lossy(&text).into_owned();
    let start = Instant::now();
    let thread = std::thread::spawn(move || {
        let judgement = judge(text);
        let outputs = rendered(&judgement);
        let _ = done.send(());
        (judgement, outputs)
    });
    let waited = finished.recv_timeout(4 * LONGEST);
    assert!(!matches!(waited, Err(mpsc::RecvTimeoutError::Timeout)), "still judging:\n{shown}");
    let Ok((judgement, outputs)) = thread.join() else { panic!("a panic over:\n{shown}") };
    assert!(start.elapsed() < LONGEST, "took {:?}:\n{shown}", start.elapsed());
    for finding in &judgement.findings {
        let source = judgement.sources.get(finding.span.file);
        let (start, end) = (finding.span.start as usize, finding.span.end as usize);
        assert!(source.text().get(start..end).is_some(), "a span off its text: {finding:?}");
        assert!(!finding.headline.is_empty() && !finding.subject.is_empty(), "{finding:?}");
    }
    for (name, text) in outputs.iter().filter(|row| row.0 != "coloured") {
        let shown = text.chars().all(|c| c == '\n' || !c.is_control());
        assert!(shown, "a control character in the output {name}:\n{text:?}");
    }
}

/// The samples and every rule's examples: path and text.
fn samples() -> Vec<(String, String)> {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let mut all = Vec::new();
    for folder in [folder.join("faults"), folder] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|extension| extension == "loom") {
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                all.push((name, std::fs::read_to_string(path).unwrap()));
            }
        }
    }
    all.sort();
    all
}
