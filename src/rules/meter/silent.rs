//! `meter.silent`: a meter that tells the hub nothing.

use crate::design::{Body, Kind, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.silent",
    severity: Severity::Advice,
    claim: "Where a design has a hub, its meters have a data lead.",
    why: "Chargers and displays then know what really flows; without it the hub guesses.",
    how: "No data lead ends at the meter's data terminal.",
    limits: &[],
    bad: example!("meter.silent", bad),
    good: example!("meter.silent", good),
    of_absence: true,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some((hub, _)) = cx.design.components.entries().find(|row| row.1.kind == Kind::Hub) else { return };
    for (id, component) in cx.design.components.entries() {
        if !matches!(component.body, Body::Meter(_)) {
            continue;
        }
        let Some(data) = component.terminal(cx.design, TerminalRole::Data) else { continue };
        let connected =
            cx.design.data.iter().any(|lead| lead.from.terminal == data || lead.to.terminal == data);
        if !connected {
            let name = &component.name;
            out.push(
                cx.on_component(&RULE, id)
                    .headline(format!("{name} has no data lead, and {} is there to read it", cx.name(hub)))
                    .label(format!("{name}.data is connected to nothing"))
                    .related(cx.name(hub), cx.span(hub), "takes data leads")
                    .help(format!("add a data lead from {name}.data to {}.data, isolated where it would join two negatives", cx.name(hub))),
            );
        }
    }
}
