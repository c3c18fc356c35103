//! Outputs as their readers see them, from judgements made by hand.

use super::*;
use crate::check::{Flow, Role, StretchEvidence, WireEvidence};
use crate::findings::{Finding, Severity, Waived};
use crate::text::{FileId, Source, Sources, Span};
use crate::units::{Current, Length};

const HERON: &str = "\
design heron \"Invented: a day boat\"
use \"kits.loom\"

# sources
battery house   lifepo4 12 V 200 Ah fault 5 kA
load    pump    12 V 120 W

bar     plus-bar M8 x 6 250 A




wire W6 from pump.- to house.- 16 mm2 0.9 m black

wire W7 from house.+ to plus-bar 35 mm2 0.6 m red
wire W8 from plus-bar to pump.+ 16 mm2 0.9 m red
";

const KITS: &str = "library kits \"Invented\"\nkit feed (from: terminal) {\n  wire W1 from $from to F1.line 4 mm2 1 m red\n}\n";

fn span_of(sources: &Sources, file: u32, line: usize, text: &str) -> Span {
    let source = sources.get(FileId(file)).text();
    let start: usize = source.lines().take(line - 1).map(|line| line.len() + 1).sum();
    let at = start + source.get(start..).and_then(|rest| rest.find(text)).expect("the text is on the line");
    Span::new(FileId(file), at, at + text.len())
}

fn judgement(text: &str) -> Judgement {
    let mut sources = Sources::default();
    sources.add(Source::new("heron.loom", text));
    sources.add(Source::new("kits.loom", KITS));
    Judgement {
        path: "heron.loom".into(),
        design: Some("heron".into()),
        book: "common-practice".into(),
        sources,
        findings: Vec::new(),
        wires: None,
        house: Vec::new(),
        n_elements: 31,
        unreadable: None,
        library: false,
        waived_until: Vec::new(),
    }
}

fn missing(sources: &Sources) -> Finding {
    Finding::new("protection.missing", Severity::Error, "W7", span_of(sources, 0, 15, "W7"))
        .headline("W7 runs from house with no protective device")
        .label("carries 160 A here, and nothing on it opens")
        .related("house", span_of(sources, 0, 5, "house"), "can push 5 kA into a fault")
        .number("ampacity_a", 160.0)
        .number("fault_a", 5000.1)
        .texts("devices", vec!["F1".into(), "F2".into()])
        .text("mode", "driving")
        .help("fit a device of 40 A to 150 A within 0.18 m of house.+, and keep the cable that leads to it inside a sheath over its whole length")
        .figure("40 A", "next standard rating above the 31 A that flows in mode driving")
        .figure("150 A", "largest standard rating not above 160 A (35 mm2, 105 C insulation, engine-bay 60 C)")
        .figure("0.18 m", "protection.distance in book common-practice")
}

fn faulty() -> Judgement {
    let mut judgement = judgement(HERON);
    let sources = &judgement.sources;
    let in_kit = Finding::new("drop.high", Severity::Warning, "feed/W1", span_of(sources, 1, 3, "W1"))
        .headline("feed/W1 loses 0.9 V of 12 V")
        .label("7.5 % lost on 1 m of 4 mm2")
        .related("feed", span_of(sources, 0, 2, "kits.loom"), "the kit is brought in here")
        .help("use 6 mm2");
    let waived = Finding {
        waived: Some(Waived { why: "client's standard".into(), until: "2027-03-31".into() }),
        ..Finding::new("conductor.solid", Severity::Warning, "W8", span_of(sources, 0, 16, "W8"))
            .headline("W8 is solid")
    };
    judgement.findings = vec![missing(sources), waived, in_kit];
    judgement
}

fn explained() -> Judgement {
    let mut judgement = judgement(HERON);
    let wire = WireEvidence {
        name: "W8".into(),
        ampacity: Current::amps(45.0),
        ampacity_from: vec![(60.0, "table for 105 C".into()), (0.75, "ambient 60 C".into())],
        let_through: Flow::Limited(Current::amps(40.0)),
        circulation: Some(Flow::Limited(Current::amps(0.1 + 0.2))),
        role: Role::Live,
        stretch: None,
        protected_by: vec!["F1".into()],
        margin: Some(1.125),
    };
    let on_stretch = WireEvidence {
        name: "W7".into(),
        let_through: Flow::Unlimited,
        circulation: Some(Flow::None),
        stretch: Some(StretchEvidence {
            source: "house".into(),
            length: Length::metres(0.12),
            limit: Length::metres(0.18),
            followed: true,
            devices: Current::amps(125.0),
        }),
        protected_by: Vec::new(),
        margin: None,
        ..wire.clone()
    };
    let looped = WireEvidence {
        name: "W6".into(),
        role: Role::Return,
        let_through: Flow::None,
        circulation: None,
        protected_by: Vec::new(),
        margin: None,
        ..wire.clone()
    };
    judgement.wires = Some(vec![on_stretch, wire, looped]);
    judgement
}

fn unreadable() -> Judgement {
    Judgement {
        path: "lost.loom".into(),
        design: None,
        sources: Sources::default(),
        n_elements: 0,
        unreadable: Some("it is a folder, not a file".into()),
        ..judgement("")
    }
}

fn written(output: &dyn Output, judgements: &[Judgement]) -> String {
    let (mut out, mut tally) = (Vec::new(), Tally::default());
    output.begin(&mut out).unwrap();
    for (index, judgement) in judgements.iter().enumerate() {
        if 0 < index {
            out.extend(output.separator().bytes());
        }
        output.design(judgement, &mut out).unwrap();
        tally.add(Tally::of(judgement));
    }
    output.end(&tally, &mut out).unwrap();
    without_topics(&String::from_utf8(out).unwrap())
}

/// The text without what is not judged yet, which changes with every rule that is written.
fn without_topics(text: &str) -> String {
    match text.split_once("A judgement supports") {
        Some((before, _)) => format!("{before}(caution)\n"),
        None => text.into(),
    }
}

const DRAWN: Human = Human { manner: Manner::Drawn { color: false, unicode: true }, width: 80 };
const ASCII: Human = Human { manner: Manner::Drawn { color: false, unicode: false }, width: 80 };
const COLOR: Human = Human { manner: Manner::Drawn { color: true, unicode: true }, width: 80 };
const TOLD: Human = Human { manner: Manner::Told, width: 80 };

#[test]
fn drawn() {
    insta::assert_snapshot!(written(&DRAWN, &[faulty(), unreadable()]));
}

#[test]
fn drawn_in_ascii() {
    insta::assert_snapshot!(written(&ASCII, &[faulty()]));
}

#[test]
fn told() {
    insta::assert_snapshot!(written(&TOLD, &[faulty(), unreadable()]));
}

#[test]
fn as_lines() {
    insta::assert_snapshot!(written(&Lines, &[faulty(), unreadable()]));
}

#[test]
fn as_json() {
    insta::assert_snapshot!(
        written(&Json, &[faulty(), unreadable()]).replace(env!("CARGO_PKG_VERSION"), "VERSION")
    );
}

#[test]
fn as_json_without_designs() {
    let document: serde_json::Value = serde_json::from_str(&written(&Json, &[])).unwrap();
    assert_eq!(document["designs"], serde_json::json!([]));
    assert_eq!(document["summary"]["designs"], 0);
}

#[test]
fn evidence() {
    insta::assert_snapshot!(
        [
            written(&DRAWN, &[explained()]),
            written(&TOLD, &[explained()]),
            written(&Json, &[explained()]).replace(env!("CARGO_PKG_VERSION"), "VERSION"),
        ]
        .join("--------\n")
    );
}

#[test]
fn colours_only_where_asked() {
    assert!(written(&COLOR, &[faulty()]).contains('\u{1b}'));
    for plain in [&DRAWN as &dyn Output, &ASCII, &TOLD, &Lines] {
        assert!(!written(plain, &[faulty()]).contains('\u{1b}'));
    }
}

#[test]
fn clean() {
    insta::assert_snapshot!(written(&DRAWN, &[judgement(HERON)]));
}

#[test]
fn library_is_passed_over() {
    let library = Judgement { library: true, ..judgement(HERON) };
    let text = written(&DRAWN, &[library]);
    assert!(text.starts_with("0 designs: nothing to judge, 1 library not judged\n"), "{text}");
}

#[test]
fn hidden_characters_are_shown() {
    let mut judgement = judgement("de\u{1b}[31msign \tx\r\nwire\u{202e} W1\rfrom\r\n");
    let span = span_of(&judgement.sources, 0, 2, "W1");
    judgement.findings = vec![
        Finding::new("language.syntax", Severity::Error, "line:2", span)
            .headline("a\u{7} b\nc")
            .label("here\u{1b}"),
    ];
    insta::assert_snapshot!(written(&DRAWN, &[judgement.clone()]));
    assert_eq!(
        written(&Lines, &[judgement]),
        "heron.loom:2:7: error: language.syntax: a\\u{7} b\\nc (here\\u{1b})\n"
    );
}

/// It is no character of the text: counted nowhere, and not shown.
#[test]
fn a_byte_order_mark_is_not_there() {
    let told = |text: &str| {
        let mut judgement = judgement(text);
        let span = span_of(&judgement.sources, 0, 1, "x");
        judgement.findings =
            vec![Finding::new("language.syntax", Severity::Error, "line:1", span).headline("odd")];
        (
            written(&DRAWN, &[judgement.clone()]),
            written(&Json, &[judgement.clone()]),
            written(&Lines, &[judgement]),
        )
    };
    let plain = told("ab x\ny\n");
    assert!(plain.2.starts_with("heron.loom:1:4: "), "{}", plain.2);
    assert_eq!(told("\u{feff}ab x\ny\n"), plain);
}

#[test]
fn places_at_the_edges_of_a_file() {
    for text in ["", "\n", "x", "é", "\u{feff}x\n", "a\r\n", "a\r\nb"] {
        for (start, end) in [(0, 0), (0, 1), (1, 1), (1, 2), (0, 99), (98, 99)] {
            let mut judgement = judgement(text);
            let span = Span::new(FileId(0), start, end);
            judgement.findings = vec![
                Finding::new("language.syntax", Severity::Error, "line:1", span)
                    .headline("something")
                    .label("here")
                    .related("again", Span::new(FileId(0), 0, end), "there"),
            ];
            assert!(written(&DRAWN, &[judgement.clone()]).contains("here"), "{text:?} {start} {end}");
            assert!(written(&TOLD, &[judgement]).contains("here"));
        }
    }
}

#[test]
fn two_labels_on_one_line_and_one_place_twice() {
    let mut judgement = judgement(HERON);
    let sources = &judgement.sources;
    let w7 = span_of(sources, 0, 15, "W7");
    judgement.findings = vec![
        Finding::new("conductor.loop", Severity::Error, "W7", w7)
            .headline("W7 and W8 close a loop")
            .label("first")
            .related("house", span_of(sources, 0, 15, "house.+"), "leaves here")
            .related("W7", w7, "comes back here")
            .related("W8", span_of(sources, 0, 16, "W8"), ""),
    ];
    insta::assert_snapshot!(written(&DRAWN, &[judgement]));
}

#[test]
fn long_lines_are_cut() {
    let text = format!("# {0}\nwire {0} W1 {0} to {0}\n", "x".repeat(5_000_000));
    let mut judgement = judgement(&text);
    let at = 2 + 5_000_000 + 1 + 5 + 5_000_000 + 1;
    judgement.findings = vec![
        Finding::new("language.syntax", Severity::Error, "line:2", Span::new(FileId(0), at, at + 2))
            .headline("here")
            .label("this")
            .related("far", Span::new(FileId(0), 5_000_020, 14_000_000), "a long one"),
    ];
    insta::assert_snapshot!(written(&DRAWN, &[judgement]));
}

#[test]
fn many_places_are_counted() {
    let mut judgement = judgement(HERON);
    let mut finding = missing(&judgement.sources);
    finding.related = vec![finding.related[0].clone(); 500];
    judgement.findings = vec![finding];
    let text = written(&DRAWN, &[judgement]);
    assert!(text.contains("  and 488 other places\n"), "{text}");
    assert!(text.len() < 3000);
}

/// Cost must not grow with the file for each finding: a thousand findings in a file of 6 MB.
#[test]
fn large_files_stay_quick() {
    let mut judgement = judgement(&HERON.repeat(6_000_000 / HERON.len()));
    let every = judgement.sources.get(FileId(0)).text().len() / 1000;
    judgement.findings = (0..1000)
        .map(|index| {
            Finding::new("x.y", Severity::Advice, "x", Span::new(FileId(0), index * every, index * every + 3))
                .headline("x")
                .label("y")
        })
        .collect();
    let before = std::time::Instant::now();
    written(&DRAWN, std::slice::from_ref(&judgement));
    written(&Json, &[judgement]);
    assert!(before.elapsed() < std::time::Duration::from_secs(3), "{:?}", before.elapsed());
}
