//! The samples: right designs without a finding, faults with exactly the marked ones, and what harm done to a right
//! design is found.

mod meters;
mod parts;
mod removal;
mod text;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use ohmward::check::{Judgement, Options, Shared, check, check_among};
use ohmward::design::Date;
use ohmward::findings::Finding;
use ohmward::text::MemoryFiles;

/// Every sample by its path below the project, as a check reads them.
#[derive(Clone)]
struct Shelf {
    texts: BTreeMap<String, String>,
}

impl Shelf {
    fn read() -> Self {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let mut texts = BTreeMap::new();
        for folder in ["samples", "samples/faults"] {
            let entries = fs::read_dir(root.join(folder)).expect("the folder of the samples");
            let paths: Vec<PathBuf> = entries.map(|entry| entry.expect("a readable entry").path()).collect();
            for path in paths.into_iter().filter(|path| path.extension().is_some_and(|end| end == "loom")) {
                let name = path.file_name().expect("a file's name").to_string_lossy().into_owned();
                texts.insert(format!("{folder}/{name}"), fs::read_to_string(&path).expect("a text in UTF-8"));
            }
        }
        Self { texts }
    }

    /// The designs in a folder, libraries left out, with their texts.
    fn designs(&self, folder: &str) -> Vec<(&str, &str)> {
        let inside = |path: &str| path.rsplit_once('/').is_some_and(|(parent, _)| parent == folder);
        let rows = self.texts.iter().map(|(path, text)| (path.as_str(), text.as_str()));
        rows.filter(|(path, text)| inside(path) && !text.lines().any(|line| line.starts_with("library ")))
            .collect()
    }

    fn text(&self, path: &str) -> &str {
        self.texts.get(path).map_or("", String::as_str)
    }

    /// The shelf with other texts in place of some.
    fn with(&self, changes: impl IntoIterator<Item = (String, String)>) -> Self {
        let mut shelf = self.clone();
        shelf.texts.extend(changes);
        shelf
    }

    fn check(&self, path: &str, explain: bool) -> Judgement {
        let options = Options { explain, ..Self::options() };
        check(path, &self.files(), &options)
    }

    fn options() -> Options {
        Options::on(Date::parse("2026-06-01").expect("a day"))
    }

    fn files(&self) -> MemoryFiles {
        let texts = self.texts.iter();
        texts.fold(MemoryFiles::default(), |files, (path, text)| files.with(path.as_str(), text.as_str()))
    }
}

/// Findings that nothing accepts.
fn standing(judgement: &Judgement) -> impl Iterator<Item = &Finding> {
    judgement.findings.iter().filter(|finding| finding.waived.is_none())
}

fn told(findings: &[&Finding]) -> String {
    let lines = findings
        .iter()
        .map(|row| format!("  {} {} on {}: {}", row.severity, row.rule, row.subject, row.headline));
    lines.collect::<Vec<_>>().join("\n")
}

/// Findings that nothing accepts, of a fault or its twin. The smallest examples leave open what their rule does not
/// need, so that the list of open figures counts in its own example alone.
fn of_example<'j>(path: &str, judgement: &'j Judgement) -> impl Iterator<Item = &'j Finding> {
    const OPEN_FIGURES: &str = "unknown.rating";
    let own = path.contains(OPEN_FIGURES);
    standing(judgement).filter(move |finding| own || finding.rule != OPEN_FIGURES)
}

#[test]
fn right_designs_have_no_finding() {
    let shelf = Shelf::read();
    let designs = shelf.designs("samples");
    assert!(designs.len() >= 5, "{} designs", designs.len());
    for (path, _) in designs {
        let judgement = shelf.check(path, false);
        let bad: Vec<_> = standing(&judgement).collect();
        assert!(bad.is_empty(), "{path}:\n{}", told(&bad));
        assert!(judgement.n_elements >= 25, "{path} has {} elements", judgement.n_elements);
    }
}

#[test]
fn without_the_study_exactly_the_rules_that_read_it_are_missing() {
    let shelf = Shelf::read();
    let files = shelf.files();
    let mut missing = std::collections::BTreeSet::new();
    for (path, _) in shelf.designs("samples").into_iter().chain(shelf.designs("samples/faults")) {
        let studies =
            |finding: &Finding| ohmward::rules::find(&finding.rule).is_some_and(|rule| rule.studies);
        let (left, all): (Vec<_>, Vec<_>) = shelf.check(path, false).findings.into_iter().partition(studies);
        let options = Options { without_study: true, ..Shelf::options() };
        assert_eq!(check(path, &files, &options).findings, all, "{path}");
        missing.extend(left.into_iter().map(|finding| finding.rule));
    }
    let flagged = ohmward::rules::ALL.iter().filter(|rule| rule.studies).map(|rule| rule.id);
    assert_eq!(missing.into_iter().collect::<Vec<_>>(), flagged.collect::<Vec<_>>());
}

/// What was read for the designs before it tells nothing of a design: each beside its broken and its mended like.
#[test]
fn among_others_each_is_judged_as_alone() {
    let shelf = Shelf::read();
    let files = shelf.files();
    let judged = |path: &String| format!("{:?}", check(path, &files, &Shelf::options()));
    let mut alone: Vec<(&String, String)> = shelf.texts.keys().map(|path| (path, judged(path))).collect();
    for _ in 0..2 {
        let shared = Shared::default();
        for (path, alone) in &alone {
            let among = format!("{:?}", check_among(&shared, path, &files, &Shelf::options()));
            assert_eq!(&among, alone, "{path}");
        }
        alone.reverse();
    }
}

#[test]
fn a_library_is_no_design_and_no_fault() {
    let judgement = Shelf::read().check("samples/parts.loom", false);
    assert!(judgement.library && judgement.findings.is_empty(), "{:?}", judgement.findings);
}

#[test]
fn every_fault_gives_exactly_what_is_marked() {
    let shelf = Shelf::read();
    let mut wrong = String::new();
    let mut n_faults = 0;
    for (path, text) in
        shelf.designs("samples/faults").into_iter().filter(|row| !row.0.ends_with(".mended.loom"))
    {
        n_faults += 1;
        let judgement = shelf.check(path, false);
        let mut found: Vec<_> =
            of_example(path, &judgement).map(|finding| text::Mark::of(finding, &judgement.sources)).collect();
        let mut marked = text::Mark::read(text);
        found.sort();
        marked.sort();
        let rule = path.trim_start_matches("samples/faults/").trim_end_matches(".loom");
        if found != marked || !marked.iter().any(|mark| mark.rule == rule) {
            let all: Vec<_> = of_example(path, &judgement).collect();
            wrong += &format!("{path}: marked {marked:?}\n  found {found:?}\n{}\n", told(&all));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
    assert!(n_faults >= 34, "{n_faults} faults");
}

#[test]
fn every_mended_twin_has_no_finding() {
    let shelf = Shelf::read();
    let mut wrong = String::new();
    for (path, _) in
        shelf.designs("samples/faults").into_iter().filter(|row| !row.0.ends_with(".mended.loom"))
    {
        let twin = path.replace(".loom", ".mended.loom");
        assert!(!shelf.text(&twin).is_empty(), "{path} has no mended twin");
        let judgement = shelf.check(&twin, false);
        let all: Vec<_> = of_example(path, &judgement).collect();
        if !all.is_empty() {
            wrong += &format!("{twin}:\n{}\n", told(&all));
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}
