//! `terminal.size`: a conductor that a screw clamp does not hold.

use std::collections::BTreeMap;

use crate::check::Flow;
use crate::design::{End, Hardware, TerminalId, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::{Area, Size};

use super::{ends, hardware_told, unstated_hardware};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "terminal.size",
    severity: Severity::Error,
    claim: "A screw clamp holds conductors of the sizes that it is made for.",
    why: "Strands that do not go in are cut off, and copper thinner than the clamp closes on pulls out: both joints burn.",
    how: "The copper of each conductor against the smallest and largest that the terminal's part states; gauge sizes by their area. Of \
          several conductors in one clamp each must be large enough, and all of them together must go in.",
    limits: &[],
    bad: example!("terminal.size", bad),
    good: example!("terminal.size", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated_hardware),
    check,
};

/// What a clamp takes.
#[derive(Debug, Clone, Copy)]
struct Clamp {
    terminal: TerminalId,
    hardware: Hardware,
    least: Area,
    most: Area,
}

impl Clamp {
    fn takes(self) -> String {
        format!("{} to {}", self.least, self.most)
    }
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mut clamps: BTreeMap<TerminalId, (Clamp, Vec<WireId>)> = BTreeMap::new();
    for (wire, row) in cx.design.wires.entries() {
        for End { terminal, .. } in ends(row) {
            let Some(hardware @ Hardware::Screw { least, most, .. }) = cx.design.hardware(terminal) else {
                continue;
            };
            let clamp = Clamp { terminal, hardware, least, most };
            clamps.entry(terminal).or_insert_with(|| (clamp, Vec::new())).1.push(wire);
        }
    }
    for (clamp, wires) in clamps.values() {
        judge(cx, *clamp, wires, out);
    }
}

fn judge(cx: &Context<'_>, clamp: Clamp, wires: &[WireId], out: &mut Vec<Finding>) {
    let all: Area = wires.iter().map(|wire| copper(cx, *wire)).sum();
    let before = out.len();
    for wire in wires {
        let size = cx.design.wires[*wire].size.area();
        if !clamp.least.within(size) || !size.within(clamp.most) {
            out.push(finding(cx, clamp, *wire, all - copper(cx, *wire)));
        }
    }
    if before == out.len() && !all.within(clamp.most) {
        let last = wires.iter().copied().max_by_key(|wire| cx.design.wires[*wire].place.order);
        out.extend(last.map(|wire| together(cx, clamp, wire, wires, all)));
    }
}

/// The copper of all conductors of a wire.
fn copper(cx: &Context<'_>, wire: WireId) -> Area {
    let row = &cx.design.wires[wire];
    row.size.area() * f64::from(row.count)
}

fn finding(cx: &Context<'_>, clamp: Clamp, wire: WireId, others: Area) -> Finding {
    let row = &cx.design.wires[wire];
    let (name, at, area) = (&row.name, cx.design.terminal_name(clamp.terminal), row.size.area());
    let thin = !clamp.least.within(area);
    let (how, bound) =
        if thin { ("thinner", clamp.least.to_string()) } else { ("thicker", clamp.most.to_string()) };
    let size = told_size(row.size);
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{name} is {size}, {how} than the {bound} that {at} takes"))
        .label(format!("{} at {at}, which takes {}", row.size, clamp.takes()))
        .number("size_mm2", area.as_mm2())
        .number("least_mm2", clamp.least.as_mm2())
        .number("most_mm2", clamp.most.as_mm2())
        .text("terminal", at.as_str());
    finding = hardware_told(cx, finding, clamp.terminal, clamp.hardware);
    let (help, suggested) = mend(cx, clamp, wire, others, thin);
    if let Some(size) = suggested {
        finding = finding.number("suggested_mm2", size.area().as_mm2());
    }
    let by_gauge = if size == area.to_string() { String::new() } else { format!(", {}", row.size) };
    finding = finding
        .help(help)
        .figure(area.to_string(), format!("copper of {name}{by_gauge}"))
        .figure(clamp.takes(), format!("what the clamp of {at} takes"));
    flow_figure(cx, finding, wire)
}

/// A size with its area, where it is written by gauge.
fn told_size(size: Size) -> String {
    match size {
        Size::Metric(_) => size.to_string(),
        Size::Awg(_) | Size::Sae(_) => format!("{size} ({})", size.area()),
    }
}

/// What would hold, and the size that it uses.
fn mend(cx: &Context<'_>, clamp: Clamp, wire: WireId, others: Area, thin: bool) -> (String, Option<Size>) {
    let row = &cx.design.wires[wire];
    let (name, at) = (&row.name, cx.design.terminal_name(clamp.terminal));
    let count = f64::from(row.count);
    let held =
        |size: &Size| clamp.least.within(size.area()) && (size.area() * count + others).within(clamp.most);
    let sizes: Vec<Size> = Size::series(row.size).filter(held).collect();
    let other = format!("a part whose terminal takes {}", row.size);
    let bears = match cx.bears(wire) {
        Some(Flow::Limited(amount)) => Some(amount),
        _ => None,
    };
    let mut conductor = crate::circuit::conductor(cx.design, cx.book, &cx.circuit.bundled, wire);
    let mut carries = |size: &Size| {
        conductor.size = *size;
        cx.book.ampacity(&conductor) * cx.book.share(cx.ratio_limit(wire)).as_ratio()
    };
    let enough: Vec<Size> = match bears {
        Some(amount) => sizes.iter().copied().filter(|size| amount.within(carries(size))).collect(),
        None => sizes.clone(),
    };
    // The nearest to what was chosen: it was chosen for a reason, the drop for one.
    let nearest = if thin { enough.first() } else { enough.last() };
    match (nearest, sizes.last(), bears) {
        (Some(size), _, Some(amount)) => {
            let carried = carries(size);
            let help =
                format!("use {size} for {name}, which carries {carried} where {amount} can flow, or {other}");
            (help, Some(*size))
        }
        (Some(size), _, None) => (format!("use {size} for {name}, or {other}"), Some(*size)),
        (None, Some(size), Some(amount)) => {
            let carried = carries(size);
            let help = format!(
                "use {other}: {size}, the largest that goes into {at}, carries {carried}, and {amount} can flow"
            );
            (help, None)
        }
        (None, ..) => (format!("use {other}: no standard size goes into {at}"), None),
    }
}

fn flow_figure(cx: &Context<'_>, finding: Finding, wire: WireId) -> Finding {
    match cx.bears(wire) {
        Some(Flow::Limited(amount)) => finding
            .number("current_a", amount.as_amps())
            .figure(amount.to_string(), format!("what can flow in {} for good", cx.wire_name(wire))),
        _ => finding,
    }
}

/// Several conductors that fit by themselves and not together.
fn together(cx: &Context<'_>, clamp: Clamp, wire: WireId, wires: &[WireId], all: Area) -> Finding {
    let row = &cx.design.wires[wire];
    let (name, at) = (&row.name, cx.design.terminal_name(clamp.terminal));
    let conductors: u64 = wires.iter().map(|wire| u64::from(cx.design.wires[*wire].count)).sum();
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!(
            "{at} holds {conductors} conductors of {all} together, and takes {} at most",
            clamp.most
        ))
        .label(format!("{} at {at}", told_size(row.size)))
        .number("size_mm2", all.as_mm2())
        .number("least_mm2", clamp.least.as_mm2())
        .number("most_mm2", clamp.most.as_mm2())
        .number("count", conductors as f64)
        .text("terminal", at.as_str());
    for other in wires.iter().filter(|other| **other != wire).take(8) {
        let size = cx.design.wires[*other].size;
        finding =
            finding.related(cx.wire_name(*other), cx.wire_span(*other), format!("{size} in the same clamp"));
    }
    finding = hardware_told(cx, finding, clamp.terminal, clamp.hardware);
    let single = 1 < row.count && wires.len() == 1;
    let help = if single {
        format!(
            "join the conductors of {name} on a stud, and lead one of {} at most from there to {at}",
            clamp.most
        )
    } else {
        format!(
            "bring them together on a stud or a bar, and lead one conductor of {} at most from there to {at}",
            clamp.most
        )
    };
    finding
        .help(help)
        .figure(all.to_string(), format!("copper of {conductors} conductors at {at}"))
        .figure(clamp.takes(), format!("what the clamp of {at} takes"))
}
