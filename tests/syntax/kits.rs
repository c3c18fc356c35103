//! Kits, parts in libraries, and `use`.

use ohmward::design::{Body, Id};
use ohmward::units::{Current, Voltage};

use super::{check, check_loaded, design, headed, shown, with};

const FEED: &str = "kit feed (from: terminal, rating: current, size: area, run: length, volts: voltage, said: text, place: word, tint: word) {\n\
  fuse F1 $rating blade\n  bolt F1.line to $from\n  load lamp $volts 10 W $said zone $place returns frame\n  chassis frame\n\
  wire W1 from F1.load to lamp.+ $size $run $tint zone $place\n  note F1 \"inside\"\n  set lamp dim $said\n}\n";

#[test]
fn a_kit_is_placed_with_its_values() {
    let text = headed(&format!(
        "{FEED}zone attic ambient 40 C\nbar b M8 x 6\n\
         fit feed as rear (from = b.2, rating = 7.5 A, size = 2.5 mm2, run = 3 m, volts = 24 V, said = \"rear lamp\", place = attic, tint = red/blue)\n\
         bolt rear/F1.load to b\nmode m {{\n  rear/lamp on\n}}\nwaive conductor.small on rear/W1 because \"x\" until 2027-01-01\n"
    ));
    let design = design(&text);
    let names: Vec<&str> = design.components.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["b", "rear/F1", "rear/lamp", "rear/frame"]);
    let components: Vec<_> = design.components.iter().collect();
    assert!(matches!(&components[1].body, Body::Fuse(fuse) if fuse.rating == Current::amps(7.5)));
    assert!(
        matches!(&components[2].body, Body::Load(load) if load.nominal == Some(Voltage::volts(24.0)) && load.returns.is_some())
    );
    assert_eq!(components[2].label.as_deref(), Some("rear lamp"));
    assert!(components[2].zone.is_some());
    let wire = design.wires.iter().next().expect("a wire");
    assert_eq!((wire.name.as_str(), wire.zones.len()), ("rear/W1", 1));
    assert!(wire.colour.is_some_and(|one| one.tracer.is_some()));
    assert_eq!(design.joints[0].b.stud, Some(2));
    let fit = wire.place.fit.expect("a fit");
    assert_eq!((design.fits[fit].name.as_str(), design.fits[fit].kit.as_str()), ("rear", "feed"));
    assert_eq!(design.notes[0].name, "rear/F1");
    assert_eq!(design.waivers[0].subject, "rear/W1");
    assert!(components[0].place.order < components[1].place.order);
}

#[test]
fn kits_fit_kits_and_hand_their_values_on() {
    let text = headed(
        "kit outer (p: terminal, w: word) {\n  fit inner as a (q = $p, w = $w)\n  post own\n  fit inner as b (q = own, w = $w)\n  bolt a/x to own\n}\n\
         kit inner (q: terminal, w: word) {\n  post x\n  wire W from x to $q 4 mm2 1 m zone $w\n}\n\
         zone z ambient 30 C\npost top\nfit outer as o (p = top, w = z)\nbolt o/b/x to top\n",
    );
    let design = design(&text);
    let names: Vec<&str> = design.components.iter().map(|one| one.name.as_str()).collect();
    assert_eq!(names, ["top", "o/a/x", "o/own", "o/b/x"]);
    let ends: Vec<String> = design.wires.iter().map(|one| design.terminal_name(one.to.terminal)).collect();
    assert_eq!(ends, ["top", "o/own"]);
    assert!(design.wires.iter().all(|one| one.zones.len() == 1));
    let fits: Vec<(&str, Option<usize>)> =
        design.fits.iter().map(|fit| (fit.name.as_str(), fit.parent.map(Id::index))).collect();
    assert_eq!(fits, [("o", None), ("o/a", Some(0)), ("o/b", Some(0))]);
    let mut orders: Vec<u32> = design
        .components
        .iter()
        .map(|one| one.place.order)
        .chain(design.wires.iter().map(|one| one.place.order))
        .collect();
    orders.sort_unstable();
    orders.dedup();
    assert_eq!(orders.len(), 6);
}

#[test]
fn a_kit_is_judged_even_where_nothing_fits_it() {
    check(
        &headed(
            "post top\nkit k (p: terminal, i: current) {\n  fuse F blade\n  bolt F.lod to $p\n  bolt F.line to top\n  wire w from $p to F.load $i 1 m\n  mode m {\n  F open\n  }\n  load l 12 V 5 W $q\n}\n",
        ),
        &[
            ("language.missing", 4, "F", "A`"),
            ("language.name", 5, "lod", "`F.load`"),
            ("language.name", 6, "top", "parameter"),
            ("language.unit", 7, "$i", "another type"),
            ("language.syntax", 8, "mode", "the design itself"),
            ("language.name", 11, "$q", "`p`, `i`"),
        ],
    );
}

#[test]
fn arguments_suit_their_parameters() {
    let kit = "kit k (p: terminal, i: current) {\n  fuse F $i blade\n  bolt F.line to $p\n}\npost a\n";
    check(
        &headed(&format!(
            "{kit}fit k as x (p = a, i = 5 V)\nfit k as y (p = a)\nfit k as z (p = a, i = 5 A, n = 1 A)\nfit k as v (p = b, i = 5 A)\nfit kk as w (p = a, i = 5 A)\nbolt w/F.load to a\n"
        )),
        &[
            ("language.unit", 7, "5 V", "takes a current"),
            ("language.missing", 8, "y", "`i`"),
            ("language.name", 9, "n", "are `p`, `i`"),
            ("language.name", 10, "b", "nothing in this design"),
            ("language.name", 11, "kk", "are `k`"),
        ],
    );
}

#[test]
fn a_word_from_the_fit_is_told_where_it_is_written() {
    let kit = "kit k (z: word, c: word) {\n  load l 12 V 5 W zone $z\n  wire w from l.+ to l.- 4 mm2 1 m $c\n}\nzone attic ambient 30 C\n";
    check(
        &headed(&format!("{kit}fit k as x (z = atic, c = rde)\n")),
        &[("language.name", 7, "atic", "`attic`"), ("language.word", 7, "rde", "`red`")],
    );
}

#[test]
fn libraries_bring_parts_and_kits() {
    let others = [
        (
            "lib/a.loom",
            "library a \"A\"\nuse \"b.loom\"\nkit k (p: terminal) {\n  fuse F = f 5 A\n  bolt F.line to $p\n}\n",
        ),
        ("lib/b.loom", "library b \"B\"\npart f is fuse 10 A blade volts 32 V\n"),
    ];
    let loaded = with(
        "design d \"t\"\nuse \"lib/a.loom\"\nuse \"lib/b.loom\"\npost p\nfit k as x (p = p)\nfuse G = f\n",
        &others,
    );
    assert_eq!(shown(&loaded), "");
    let design = loaded.design.expect("a design");
    assert_eq!(design.components.len(), 3);
    let inner = design.components.iter().nth(1).expect("a fuse");
    assert_eq!(loaded.sources.get(inner.place.span.file).path(), "lib/a.loom");
    assert_eq!(loaded.sources.slice(inner.place.span), "F");
}

#[test]
fn a_use_that_leads_nowhere_is_told() {
    let others = [
        ("not.loom", "design e \"t\"\n"),
        ("bad.loom", "library b \"B\"\npart f is fuse 10 blade\npost p\n"),
        ("bytes.loom", ""),
    ];
    let text = "design d \"t\"\nuse \"none.loom\"\nuse \"../x.loom\"\nuse \"/x.loom\"\nuse \"not.loom\"\nuse \"bad.loom\"\nuse \"it.loom\"\n";
    let loaded = with(text, &others);
    for (problem, why) in loaded.problems.iter().zip(["no such file", "outside", "absolute"]) {
        assert!(problem.headline.contains(why), "{}", problem.headline);
    }
    check_loaded(
        &loaded,
        &[
            ("language.use", 2, "\"none.loom\"", "relative to the file"),
            ("language.use", 3, "\"../x.loom\"", "relative to the file"),
            ("language.use", 4, "\"/x.loom\"", "relative to the file"),
            ("language.use", 5, "\"not.loom\"", "begins with `library"),
            ("language.use", 7, "\"it.loom\"", "take it out"),
            ("language.unit", 2, "10", "`10 A`"),
            ("language.syntax", 3, "post", "belong in a design"),
        ],
    );
}

#[test]
fn what_a_lost_library_may_hold_is_not_missed() {
    let design = "design d \"t\"\nuse \"none.loom\"\nload l = lamp\nfit panel as a (x = l.+)\nwire w from a/f.load to l.- 4 mm2 1 m\n";
    check(design, &[("language.use", 2, "\"none.loom\"", "relative to the file")]);
    // The same where a library that is found uses one that is not.
    let design = design.replace("none", "some");
    let loaded = with(&design, &[("some.loom", "library s \"S\"\nuse \"none.loom\"\n")]);
    check_loaded(&loaded, &[("language.use", 2, "\"none.loom\"", "relative to the file")]);
}

#[test]
fn libraries_in_a_circle_are_told_once() {
    let others = [
        ("a.loom", "library a \"A\"\nuse \"b.loom\"\n"),
        ("b.loom", "library b \"B\"\nuse \"c.loom\"\n"),
        ("c.loom", "library c \"C\"\nuse \"a.loom\"\npart f is fuse 1 A\n"),
    ];
    let loaded = with("design d \"t\"\nuse \"a.loom\"\nuse \"b.loom\"\nfuse G = f\n", &others);
    check_loaded(&loaded, &[("language.use", 2, "\"a.loom\"", "a.loom → b.loom → c.loom → a.loom")]);
}

#[test]
fn two_libraries_with_one_name_are_told() {
    let others = [
        ("a.loom", "library a \"A\"\npart f is fuse 1 A\n"),
        ("b.loom", "library b \"B\"\npart f is fuse 2 A\n"),
    ];
    let loaded = with("design d \"t\"\nuse \"a.loom\"\nuse \"b.loom\"\n", &others);
    check_loaded(&loaded, &[("language.name", 3, "\"b.loom\"", "another name")]);
    let loaded = with("design d \"t\"\nuse \"a.loom\"\npost f\n", &others);
    check_loaded(&loaded, &[("language.name", 3, "f", "another name")]);
}
