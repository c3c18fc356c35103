//! The language: texts in, designs and problems out.

mod errors;
mod kits;
mod limits;
mod model;
mod never_panics;

use ohmward::design::{Design, LoadOptions, Loaded, load};
use ohmward::text::MemoryFiles;

/// Loads one text as `it.loom`.
fn loaded(text: &str) -> Loaded {
    with(text, &[])
}

/// Loads one text as `it.loom` beside other files.
fn with(text: &str, others: &[(&str, &str)]) -> Loaded {
    let files = others
        .iter()
        .fold(MemoryFiles::default().with("it.loom", text), |files, (path, text)| files.with(*path, *text));
    load("it.loom", &files, &LoadOptions { most_elements: 10_000 })
}

/// The design of a text without problems.
fn design(text: &str) -> Design {
    let loaded = loaded(text);
    assert_eq!(shown(&loaded), "", "problems in\n{text}");
    loaded.design.expect("a design without problems")
}

/// Problems as lines: id, line, text under the span, headline, help.
fn shown(loaded: &Loaded) -> String {
    let mut all = String::new();
    for problem in &loaded.problems {
        let source = loaded.sources.get(problem.span.file);
        let line = source.line_column(problem.span.start).line;
        let under = source.slice(problem.span);
        all += &format!(
            "{} {}:{line} «{under}» {} | {}\n",
            &problem.rule,
            source.path(),
            problem.headline,
            problem.help
        );
    }
    all
}

/// Holds the problems of a text to a list of id, line, text under the span, part of the help; all of them, in order.
fn check(text: &str, expected: &[(&str, u32, &str, &str)]) {
    check_loaded(&loaded(text), expected);
}

/// As [`check`], for what is loaded already.
fn check_loaded(loaded: &Loaded, expected: &[(&str, u32, &str, &str)]) {
    let all = shown(loaded);
    assert_eq!(loaded.problems.len(), expected.len(), "another number of problems:\n{all}");
    for (problem, (id, line, under, help)) in loaded.problems.iter().zip(expected) {
        let source = loaded.sources.get(problem.span.file);
        let found =
            (problem.rule.as_ref(), source.line_column(problem.span.start).line, source.slice(problem.span));
        assert_eq!(found, (*id, *line, *under), "\n{all}");
        assert!(problem.help.contains(help), "no «{help}» in the help:\n{all}");
    }
    let words = loaded.problems.iter().flat_map(|problem| [&problem.headline, &problem.label, &problem.help]);
    for text in words {
        let prose: String = text.split('`').step_by(2).collect();
        assert!(!text.is_empty() && !text.ends_with('.') && !prose.contains('!'), "«{text}»");
    }
    assert!(loaded.design.is_none() || loaded.problems.is_empty());
}

/// A design's first line before some others.
fn headed(lines: &str) -> String {
    format!("design d \"t\"\n{lines}")
}
