//! `terminal.hole`: what is on a wire's end does not fit the terminal that it is put on.

use crate::book::LengthLimit;
use crate::design::{End, Ending, Hardware, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::Length;

use super::{ends, hardware_told, phrase, unstated_hardware};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "terminal.hole",
    severity: Severity::Error,
    claim: "A ring's hole fits its stud, and every other end what it is put on.",
    why: "A ring that is too wide sits on its edge and on a few threads: it comes loose and burns. One that is too narrow is drilled out \
          or bent, and has no copper left where the current passes.",
    how: "Wherever a wire states its `ends` and the terminal's hardware is known: the book's hole for the ring against the thread, and its \
          excess against the book's clearance. A stud takes rings alone, a tab a receptacle of its own width, a screw clamp bare strands, \
          a ferrule or a pin, a pin terminal likewise.",
    limits: &["ring.clearance"],
    bad: example!("terminal.hole", bad),
    good: example!("terminal.hole", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

/// Why an end does not fit.
#[derive(Debug, Clone, Copy)]
enum Misfit {
    /// The hole does not go over the stud.
    Narrow { ring: f64, hole: Length, stud: Length },
    /// The hole leaves more around the stud than the book allows.
    Wide { ring: f64, hole: Length, stud: Length },
    /// A receptacle of another width than the tab.
    Width { receptacle: f64, tab: f64 },
    /// Nothing of this kind goes on such a terminal.
    Kind,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (wire, row) in cx.design.wires.entries() {
        let Some((first, second)) = row.ends else { continue };
        for (end, ending) in [(row.from, first), (row.to, second)] {
            let Some(hardware) = cx.design.hardware(end.terminal) else { continue };
            if let Some(misfit) = misfit(cx, ending, hardware) {
                out.push(finding(cx, wire, end, ending, hardware, misfit));
            }
        }
    }
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    unstated_hardware(cx, out);
    let fitted = |end: End| {
        let hardware = cx.design.hardware(end.terminal);
        matches!(hardware, Some(Hardware::Stud { .. } | Hardware::Tab(_) | Hardware::Pin))
    };
    let open = cx
        .design
        .wires
        .entries()
        .filter(|(_, wire)| wire.ends.is_none() && ends(wire).into_iter().any(fitted));
    out.add_all("ends", Without::NotJudged, open.map(|row| row.0));
}

fn misfit(cx: &Context<'_>, ending: Ending, hardware: Hardware) -> Option<Misfit> {
    /// Widths of tabs are nominal.
    const SAME_WIDTH: f64 = 0.05;
    match (hardware, ending) {
        (Hardware::Stud { thread, .. }, Ending::Ring(ring)) => {
            let hole = millimetres(cx.book.ring_hole_mm(ring));
            let stud = millimetres(thread);
            if !stud.within(hole) {
                return Some(Misfit::Narrow { ring, hole, stud });
            }
            let wide = !(hole - stud).within(cx.book.length(LengthLimit::RingClearance));
            wide.then_some(Misfit::Wide { ring, hole, stud })
        }
        (Hardware::Tab(tab), Ending::Tab(receptacle)) => {
            (SAME_WIDTH < (tab - receptacle).abs()).then_some(Misfit::Width { receptacle, tab })
        }
        (Hardware::Screw { .. } | Hardware::Pin, Ending::Bare | Ending::Ferrule | Ending::Pin) => None,
        _ => Some(Misfit::Kind),
    }
}

fn finding(
    cx: &Context<'_>,
    wire: WireId,
    end: End,
    ending: Ending,
    hardware: Hardware,
    misfit: Misfit,
) -> Finding {
    let row = &cx.design.wires[wire];
    let (name, at) = (&row.name, cx.design.end_name(end));
    let headline = match misfit {
        Misfit::Narrow { hole, stud, .. } => {
            format!("the {ending} on {name} has a hole of {hole}, too narrow for the {stud} stud of {at}")
        }
        Misfit::Wide { hole, stud, .. } => format!(
            "the {ending} on {name} has a hole of {hole}, {} wider than the {stud} stud of {at}",
            hole - stud
        ),
        Misfit::Width { receptacle, tab } => {
            format!("the {receptacle} mm receptacle on {name} does not fit the {tab} mm tab of {at}")
        }
        Misfit::Kind => format!("{name} ends in {} at {at}, which is {}", called(ending), phrase(hardware)),
    };
    let right = suited(hardware);
    let fit = match right {
        Ending::Ring(thread) => {
            format!("a {right} (hole {})", millimetres(cx.book.ring_hole_mm(thread)))
        }
        Ending::Ferrule => "a ferrule, or strip it,".into(),
        _ => called(right),
    };
    let (first, second) = row.ends.unwrap_or((right, right));
    let written = if end == row.from { (right, second) } else { (first, right) };
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(headline)
        .label(format!("{ending} at {at}"))
        .text("terminal", at.as_str())
        .text("ending", ending.to_string())
        .help(format!("put {fit} on {name} at {at}: `ends {} {}`", written.0, written.1));
    finding = hardware_told(cx, finding, end.terminal, hardware);
    match misfit {
        Misfit::Narrow { ring, hole, stud } | Misfit::Wide { ring, hole, stud } => {
            finding = finding.number("hole_mm", as_mm(hole)).number("stud_mm", as_mm(stud));
            let what = format!("hole of a ring for M{ring}");
            finding = cx.table_figure(finding, hole.to_string(), &what, "ring-holes");
            if matches!(misfit, Misfit::Wide { .. }) {
                finding = cx.limit_figure(finding, "ring.clearance");
            }
            finding
        }
        Misfit::Width { receptacle, tab } => {
            finding.number("receptacle_mm", receptacle).number("tab_mm", tab)
        }
        Misfit::Kind => finding,
    }
}

/// What belongs on a terminal.
fn suited(hardware: Hardware) -> Ending {
    match hardware {
        Hardware::Stud { thread, .. } => Ending::Ring(thread),
        Hardware::Screw { .. } => Ending::Ferrule,
        Hardware::Tab(width) => Ending::Tab(width),
        Hardware::Pin => Ending::Pin,
    }
}

/// An end in words: `a ring for M8`.
fn called(ending: Ending) -> String {
    match ending {
        Ending::Ring(thread) => format!("a ring for M{thread}"),
        Ending::Ferrule => "a ferrule".into(),
        Ending::Pin => "a pin".into(),
        Ending::Tab(width) => format!("a receptacle for {width} mm tabs"),
        Ending::Bare => "bare strands".into(),
    }
}

fn millimetres(figure: f64) -> Length {
    Length::metres(figure / 1e3)
}

fn as_mm(length: Length) -> f64 {
    // The thousandth of a millimetre is far below what a drill holds, and hides the conversion's last digit.
    (length.as_metres() * 1e6).round() / 1e3
}
