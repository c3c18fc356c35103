//! Any bytes at all are read to an end.

use proptest::prelude::*;

use ohmward::design::{LoadOptions, load};
use ohmward::syntax::{reference, reserved};
use ohmward::text::MemoryFiles;

const WAGTAIL: &str = include_str!("wagtail.loom");

const KITS: &str = "kit k (p: terminal, i: current, w: word) {\n  fuse F $i blade zone $w\n  bolt F.line to $p\n  fit j as x (q = $p)\n}\n\
    kit j (q: terminal) {\n  post x M8\n  wire W from x to $q 4 mm2 1 m\n}\nfit k as a (p = plus-bar.2, i = 5 A, w = engine-bay)\nbolt a/x/x to frame\n\
    part f is fuse 10 A {\n  terminal line load stud M8 12 Nm\n}\nfuse F9 = f 3 A on plus-bar.1\n";

fn run(bytes: impl Into<Vec<u8>>) {
    let files = MemoryFiles::default().with("it.loom", bytes);
    let loaded = load("it.loom", &files, &LoadOptions { most_elements: 2_000 });
    for problem in &loaded.problems {
        let source = loaded.sources.get(problem.span.file);
        let (start, end) = (problem.span.start as usize, problem.span.end as usize);
        assert!(source.text().get(start..end).is_some(), "a span off its text: {problem:?}");
        assert!(
            !problem.headline.is_empty() && !problem.help.is_empty() && !problem.label.is_empty(),
            "{problem:?}"
        );
        assert!(!problem.subject.is_empty(), "{problem:?}");
    }
}

fn token() -> impl Strategy<Value = String> {
    let units: Vec<String> = reference().units.iter().map(|unit| format!("12 {}", unit.word)).collect();
    let marks = [
        "{",
        "}",
        "{\n",
        "\n}\n",
        "(",
        ")",
        "=",
        ",",
        ":",
        "\n",
        "\\\n",
        "\"",
        "#",
        "$",
        ".",
        "/",
        "-",
        "é",
        "\u{0}",
        "\"a\"",
        "2/0",
        "4,2",
        "-5",
        "2027-03-31",
    ];
    let names = ["a", "b.+", "a.1", "x/y", "$p", "a/b.line", "house", "M8", "x", "red/black", "ring-M8"];
    let words: Vec<String> = reserved().iter().map(ToString::to_string).collect();
    let others: Vec<String> = marks.iter().chain(&names).map(ToString::to_string).collect();
    prop_oneof![
        2 => prop::sample::select(words),
        1 => prop::sample::select(units),
        2 => prop::sample::select(others),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn random_bytes(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        run(bytes);
    }

    #[test]
    fn random_text(text in "\\PC{0,200}") {
        run(text);
    }

    #[test]
    fn token_soup(tokens in prop::collection::vec(token(), 0..120), headed in any::<bool>()) {
        let head = if headed { "design d \"t\"\n" } else { "" };
        run(format!("{head}{}", tokens.join(" ")));
    }

    #[test]
    fn statements_of_soup(lines in prop::collection::vec((prop::sample::select(reserved()), prop::collection::vec(token(), 0..8)), 0..30)) {
        let lines: Vec<String> = lines.iter().map(|(first, rest)| format!("{first} {}", rest.join(" "))).collect();
        run(format!("design d \"t\"\n{}", lines.join("\n")));
    }

    #[test]
    fn spliced_designs(cut in 0..3000_usize, from in 0..3000_usize, length in 0..60_usize, twice in any::<bool>()) {
        let whole = format!("{WAGTAIL}{KITS}");
        let mut bytes = whole.clone().into_bytes();
        let at = |index: usize| index % bytes.len();
        let (cut, from) = (at(cut), at(from));
        let piece: Vec<u8> = bytes[from..(from + length).min(bytes.len())].to_vec();
        if twice {
            bytes.splice(cut..cut, piece);
        } else {
            bytes.drain(cut..(cut + length).min(whole.len()));
        }
        run(bytes);
    }
}

#[test]
fn every_truncation_is_read() {
    let whole = format!("{WAGTAIL}{KITS}");
    for end in 0..whole.len() {
        run(whole.as_bytes()[..end].to_vec());
    }
}
