//! `conductor.small`: a conductor too thin to be handled.

use crate::circuit::{UNLIMITED, current};
use crate::design::{TerminalRole, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "conductor.small",
    severity: Severity::Warning,
    claim: "No conductor is smaller than the book's least size.",
    why: "Thin strands break with vibration and at the crimp, long before they are short of ampacity.",
    how: "The copper's area against the least size. Sense and control leads behind a device of the book's control rating or less are exempt.",
    limits: &["size.least", "size.least-sheathed", "size.control-device"],
    bad: example!("conductor.small", bad),
    good: example!("conductor.small", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (wire, row) in cx.design.wires.entries() {
        let area = row.size.area();
        let limit = cx.book.least_size_limit(row.sheathed);
        let least = cx.book.area(limit);
        if least.within(area) || is_control(cx, wire) {
            continue;
        }
        let finding = cx
            .on_wire(&RULE, wire)
            .headline(format!("{} is {}, below the least size of {least}", row.name, row.size))
            .label(format!("{area} of copper"))
            .number("size_mm2", area.as_mm2())
            .number("suggested_mm2", least.as_mm2())
            .help(format!("use {least} or more for {}", row.name))
            .figure(area.to_string(), format!("copper of {}", row.name));
        out.push(cx.limit_figure(finding, limit.name()));
    }
}

/// A sense or control lead behind a small device.
fn is_control(cx: &Context<'_>, wire: WireId) -> bool {
    let row = &cx.design.wires[wire];
    let ends_at_control = [row.from.terminal, row.to.terminal].iter().any(|terminal| {
        matches!(cx.design.terminals[*terminal].role, TerminalRole::Sense | TerminalRole::Enable)
    });
    let amount = cx.circuit.let_through(wire);
    let on_stretch = cx.circuit.edge(wire).is_some_and(|edge| cx.circuit.hits(edge).next().is_some());
    ends_at_control && !on_stretch && amount < UNLIMITED && current(amount).within(cx.book.control_device())
}
