//! `meter.reversed`: a meter turned round, so that it reads charge as discharge.

use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.reversed",
    severity: Severity::Error,
    claim: "A meter's `bat` side faces the battery it serves; the group that it counts is on its `sys` side.",
    why: "Turned round, it counts charge as discharge: a full battery reads empty, and an empty one full.",
    how: "With the shunt taken out, all that the meter counts lies on the wrong side, and something else on the other.",
    limits: &[],
    bad: example!("meter.reversed", bad),
    good: example!("meter.reversed", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for view in cx.circuit.meters().iter().filter(|view| view.is_reversed(cx.circuit)) {
        let meter = cx.name(view.meter);
        let mut counted: Vec<_> = view.counts.iter().copied().collect();
        counted.sort_unstable();
        let names: Vec<String> = counted.iter().map(|id| cx.name(*id).into()).collect();
        let list = Context::list(&names);
        let (is, wants) = if view.batteries { ("sys", "bat") } else { ("bat", "sys") };
        let verb = if names.len() == 1 { "is" } else { "are" };
        let mut finding = cx
            .on_component(&RULE, view.meter)
            .headline(format!("{meter} is turned round: {list} {verb} on its {is} side"))
            .label("reads what comes as what goes");
        for id in counted {
            finding = finding.related(
                cx.name(id),
                cx.span(id),
                format!("on {meter}.{is}, counted on {meter}.{wants}"),
            );
        }
        out.push(
            finding.texts("counts", names).help(format!("exchange the wires at {meter}.bat and {meter}.sys")),
        );
    }
}
