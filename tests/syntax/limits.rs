//! Limits: growth, depth, circles, sizes, bytes that are no text.

use std::fmt::Write;
use std::time::{Duration, Instant};

use ohmward::design::{LoadOptions, load};
use ohmward::text::MemoryFiles;

use super::{check, headed, loaded, shown};

#[test]
fn kits_in_a_circle_are_told_once() {
    check(
        &headed("kit a {\n  fit b as x\n}\nkit b {\n  fit a as y\n}\nfit a as z\nbolt z/x/y/q.+ to z\n"),
        &[
            ("language.limit", 6, "a", "a → b → a"),
            ("language.name", 9, "z/x/y/q", "names there"),
            ("language.name", 9, "z", "z/NAME"),
        ],
    );
}

#[test]
fn growth_is_seen_before_it_happens() {
    let mut text = headed("");
    for kit in 0..40 {
        let _ = write!(text, "kit k{kit} {{\n  fit k{0} as a\n  fit k{0} as b\n}}\n", kit + 1);
    }
    text += "kit k40 {\n}\nfit k0 as top\n";
    check(&text, &[("language.limit", 164, "k0", "at most 10000 elements")]);
    let flat: String = (0..12_000).fold(headed(""), |text, post| text + &format!("post p{post}\n"));
    check(&flat, &[("language.limit", 10_002, "p10000", "at most 10000 elements")]);
}

#[test]
fn depth_ends_at_64() {
    let chain = |depth: u32| {
        let mut text = headed("");
        for kit in 1..depth {
            let _ = write!(text, "kit k{kit} {{\n  fit k{} as a\n}}\n", kit + 1);
        }
        let _ = write!(text, "kit k{depth} {{\n  post p\n}}\nfit k1 as top\n");
        text
    };
    assert_eq!(shown(&loaded(&chain(64))), "");
    check(&chain(65), &[("language.limit", 197, "k1", "at most 64")]);
    assert_eq!(loaded(&chain(5_000)).problems.len(), 1);
}

#[test]
fn problems_are_capped_with_a_count() {
    let loaded = loaded(&headed(&"wier\n".repeat(1000)));
    assert_eq!(loaded.problems.len(), 201);
    let last = loaded.problems.last().expect("the last");
    assert_eq!(
        (last.rule.as_ref(), last.headline.as_str()),
        ("language.limit", "1800 more problems are not shown")
    );
}

#[test]
fn bytes_that_are_no_text_are_told() {
    let files = MemoryFiles::default().with("it.loom", b"design d \"t\"\n\xff".to_vec());
    let loaded = load("it.loom", &files, &LoadOptions::default());
    assert!(loaded.unreadable.is_some_and(|why| why.contains("offset 13") && why.contains("line 2")));
    let files = MemoryFiles::default()
        .with("it.loom", "design d \"t\"\nuse \"l.loom\"\n")
        .with("l.loom", b"\xff".to_vec());
    let loaded = load("it.loom", &files, &LoadOptions::default());
    assert_eq!(loaded.problems.iter().map(|one| one.rule.as_ref()).collect::<Vec<_>>(), ["language.use"]);
    let loaded = load("none.loom", &files, &LoadOptions::default());
    assert!(loaded.unreadable.is_some());
}

#[test]
fn hostile_texts_end_soon() {
    let start = Instant::now();
    let texts = [
        headed(&"kit k {\n".repeat(10_000)),
        headed(&"{\n".repeat(100_000)),
        headed(&format!("bundle b {}", "a ".repeat(2_000_000))),
        headed(&format!("note d \"{}", "\\\"".repeat(400_000))),
        headed(&"1".repeat(900_000)),
        headed(&"(".repeat(900_000)),
        "\n".repeat(1_000_000),
        headed(&"mode m {\n".repeat(20_000)),
        headed(&format!("meter m 1 A counts {}", "b ".repeat(200_000))),
    ];
    for text in &texts {
        assert!(loaded(text).design.is_none());
    }
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
}

#[test]
fn a_big_design_is_read_in_good_time() {
    let mut text = headed("battery house 12 V\nbar plus-bar\n");
    for wire in 0..100_000 {
        let _ = writeln!(text, "wire W{wire} from house.+ to plus-bar 10 mm2 0.5 m red");
    }
    let files = MemoryFiles::default().with("it.loom", text);
    let start = Instant::now();
    let loaded = load("it.loom", &files, &LoadOptions::default());
    // A release build takes a fraction of a second; the bound is for a slow machine with checks on.
    assert!(start.elapsed() < Duration::from_secs(20), "{:?}", start.elapsed());
    assert_eq!(loaded.design.map(|one| one.wires.len()), Some(100_000));
}
