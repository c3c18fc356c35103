//! Texts that are too long or too deep.

use std::fmt::Write as _;

use super::{HEAD, Place};

#[test]
fn a_file_of_a_hundred_million_bytes() {
    let place = Place::new();
    let file = std::fs::File::create(place.path("it.loom")).unwrap();
    file.set_len(100_000_000).unwrap();
    place.check("it.loom").is(2, "it has 100000000 bytes, more than", 500);
}

#[test]
fn lines_of_ten_million_bytes() {
    let long = "x".repeat(10_000_000);
    Place::with(format!("{HEAD}# {long}\n")).check("it.loom").is(0, "", 1000);
    for line in [
        format!("note {long} \"a\""),
        format!("note house \"{long}\""),
        format!("note house \"{long}"),
        format!("wire W1 from {long}"),
        format!("wire W1 {}", "from house.+ ".repeat(800_000)),
        format!("wire W1 {}", "\\\n".repeat(5_000_000)),
    ] {
        Place::with(format!("{HEAD}{line}\n")).check("it.loom").is(2, "language.", 3000);
    }
}

#[test]
fn a_million_blank_lines() {
    Place::with(format!("{HEAD}{}", "\n".repeat(1_000_000))).check("it.loom").is(0, "", 1000);
    Place::with("\n".repeat(1_000_000)).check("it.loom").is(2, "the file has no statement", 1000);
}

/// All in one block, whose columns are those of all its lines.
#[test]
fn a_hundred_thousand_lines_to_lay_out() {
    let mut text = HEAD.to_owned();
    for n in 0..100_000 {
        writeln!(text, "load  L{n}   12V 5W  # {n}").unwrap();
    }
    let place = Place::with(text);
    place.run(&["tidy", "it.loom"]).is(0, "it.loom: tidied", 100);
    place.run(&["tidy", "--check", "it.loom"]).is(0, "", 0);
    let deep = ohmward::tidy::laid_out(&"{\n".repeat(100_000));
    assert!(deep.len() < 2_000_000, "{} bytes", deep.len());
}

#[test]
fn ten_thousand_blocks_in_each_other() {
    let mut kits = HEAD.to_owned();
    for n in 0..10_000 {
        let _ = writeln!(kits, "kit k{n} () {{");
    }
    Place::with(&kits).check("it.loom").is(2, "language.", 200_000);
    Place::with(format!("{HEAD}{}", "{\n".repeat(10_000))).check("it.loom").is(2, "language.", 200_000);
    Place::with(format!("{HEAD}{}", "}\n".repeat(10_000))).check("it.loom").is(2, "language.", 200_000);
    Place::with(format!("{HEAD}kit k {}", "(".repeat(30_000))).check("it.loom").is(2, "language.", 200_000);
}

#[test]
fn kits_that_double_forty_times() {
    let mut text = format!("{HEAD}kit k0 () {{\n  post p M8\n}}\n");
    for n in 1..=40 {
        let _ = writeln!(text, "kit k{n} () {{\n  fit k{} as a ()\n  fit k{} as b ()\n}}", n - 1, n - 1);
    }
    Place::with(format!("{text}fit k40 as all ()\n")).check("it.loom").is(2, "language.limit", 1500);
    Place::with(format!("{text}fit k10 as all ()\n")).check("it.loom").is(0, "", 2_000_000);
}

#[test]
fn libraries_that_use_each_other() {
    let place = Place::with(format!("{HEAD}use \"l0.loom\"\n"));
    for n in 0..1500 {
        let text = format!("library l{n} \"t\"\nuse \"l{}.loom\"\n", n + 1);
        std::fs::write(place.path(&format!("l{n}.loom")), text).unwrap();
    }
    place.check("it.loom").is(2, "a design has at most", 2000);
}
