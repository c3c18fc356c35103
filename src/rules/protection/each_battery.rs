//! `protection.each-battery`: a large bank whose batteries have no device each.

use crate::book::CapacityLimit;
use crate::design::Kind;
use crate::findings::{Finding, Severity};
use crate::rules::battery::parallel::capacity;
use crate::rules::{Context, Rule, example};
use crate::units::Capacity;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.each-battery",
    severity: Severity::Advice,
    claim: "In a bank over the book's size each battery has a protective device of its own.",
    why: "A cell that fails within one battery is fed by all the others, and the bank's main device never sees that current.",
    how: "A bank is batteries or strings of one chemistry and voltage whose positives are joined by short wires without a device; the \
          capacities of its members in parallel are added up.",
    limits: &["bank.device-each"],
    bad: example!("protection.each-battery", bad),
    good: example!("protection.each-battery", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let limit = cx.book.capacity(CapacityLimit::BankDeviceEach);
    for bank in &cx.circuit.banks {
        let sources: Vec<_> = bank
            .iter()
            .filter_map(|at| cx.circuit.sources.get(*at))
            .filter(|source| source.kind == Kind::Battery && !source.tap)
            .collect();
        if sources.len() < 2 {
            continue;
        }
        let sum = Capacity::amp_hours(sources.iter().filter_map(|source| capacity(cx, source)).sum());
        if sum.within(limit) {
            continue;
        }
        let fault = sources.iter().filter_map(|source| cx.fault(source.component));
        let fault: crate::units::Current = fault.sum();
        for source in &sources {
            let id = source.component;
            let name = cx.name(id);
            let others = cx.fault(id).map_or(fault, |own| fault - own);
            let finding = cx
                .on_component(&RULE, id)
                .headline(format!("{name} is in a bank of {sum} and has no protective device of its own"))
                .label(format!("the others can push {others} into it"))
                .number("bank_ah", sum.as_amp_hours())
                .number("limit_ah", limit.as_amp_hours())
                .number("fault_a", others.as_amps())
                .help(format!(
                    "put a device that breaks {others} or more at {}, ahead of where it joins the others",
                    cx.source_terminal(id)
                ))
                .figure(sum.to_string(), format!("{} batteries in parallel", sources.len()));
            out.push(cx.limit_figure(finding, "bank.device-each"));
        }
    }
}
