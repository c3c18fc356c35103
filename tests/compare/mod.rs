//! `compare`: what is told of each sort of change, what counts as the same, and the command with files and revisions.

mod changes;
mod command;
mod findings;
mod git;
mod large;
mod layout;
mod outputs;
mod renames;

use std::path::Path;

use ohmward::check::{Judgement, Options, check_design};
use ohmward::compare::{Comparison, Side, compare};
use ohmward::design::{Date, Design};
use ohmward::text::MemoryFiles;

const TODAY: &str = "2026-11-25";

/// A judged design.
struct Judged {
    judgement: Judgement,
    design: Design,
}

impl Judged {
    /// Judges the first of some files.
    fn of(files: &[(&str, &str)]) -> Self {
        let memory = files.iter().fold(samples(), |memory, (path, text)| memory.with(*path, *text));
        let Some((path, text)) = files.first() else { panic!("no file") };
        let Some(today) = Date::parse(TODAY) else { panic!("a day") };
        let (judgement, design) = check_design(path, &memory, &Options::on(today));
        let Some(design) = design else { panic!("{:#?}\n{text}", judgement.findings) };
        Self { judgement, design }
    }

    fn side(&self) -> Side<'_> {
        Side { design: &self.design, judgement: &self.judgement }
    }
}

/// Every sample by its name, for what designs use.
fn samples() -> MemoryFiles {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    let mut files = MemoryFiles::default();
    for folder in [folder.join("faults"), folder] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|extension| extension == "loom") {
                let name = path.file_name().unwrap().to_string_lossy().into_owned();
                files = files.with(name, std::fs::read(path).unwrap());
            }
        }
    }
    files
}

fn compared(old: &Judged, new: &Judged) -> Comparison {
    compare(old.side(), new.side())
}

/// All that is told of elements, one sentence a line with its section before it.
fn sentences(comparison: &Comparison) -> Vec<String> {
    let elements = &comparison.elements;
    let mut all: Vec<String> = Vec::new();
    all.extend(elements.added.iter().map(|one| format!("+ {}", one.text)));
    all.extend(elements.removed.iter().map(|one| format!("- {}", one.text)));
    all.extend(elements.changed.iter().flat_map(|one| &one.changes).map(|one| format!("~ {}", one.text)));
    all.extend(elements.renamed.iter().map(|one| format!("= {}", one.text)));
    all
}

/// What is told between two texts; and the other way round the same, with added and removed exchanged.
fn told(old: &str, new: &str) -> Vec<String> {
    let (old, new) = (Judged::of(&[("it.loom", old)]), Judged::of(&[("it.loom", new)]));
    told_of(&old, &new)
}

fn told_of(old: &Judged, new: &Judged) -> Vec<String> {
    let there = compared(old, new);
    mirrored(&there, &compared(new, old));
    sentences(&there)
}

/// Whether one comparison is the other seen from the other side.
fn mirrored(there: &Comparison, back: &Comparison) {
    let names = |entries: &[ohmward::compare::Entry]| {
        let mut names: Vec<(&str, String)> = entries.iter().map(|one| (one.kind, one.name.clone())).collect();
        names.sort();
        names
    };
    assert_eq!(names(&there.elements.added), names(&back.elements.removed));
    assert_eq!(names(&there.elements.removed), names(&back.elements.added));
    let values = |comparison: &Comparison, turned: bool| {
        let changes = comparison.elements.changed.iter().flat_map(|one| &one.changes);
        let mut all: Vec<[Option<String>; 2]> = changes
            .map(|one| match turned {
                true => [one.to.clone(), one.from.clone()],
                false => [one.from.clone(), one.to.clone()],
            })
            .collect();
        all.sort();
        all
    };
    assert_eq!(values(there, false), values(back, true));
    let renames = |comparison: &Comparison, turned: bool| {
        let renamed = comparison.elements.renamed.iter();
        let mut all: Vec<[String; 2]> = renamed
            .map(|one| match turned {
                true => [one.name.clone(), one.was.clone()],
                false => [one.was.clone(), one.name.clone()],
            })
            .collect();
        all.sort();
        all
    };
    assert_eq!(renames(there, false), renames(back, true));
    assert_eq!(there.findings.gained, back.findings.lost);
    assert_eq!(there.findings.lost, back.findings.gained);
}
