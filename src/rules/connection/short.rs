//! `connection.short`: metal joins a source's positive to its own negative.

use crate::circuit::{Fault, Subject};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "connection.short",
    severity: Severity::Error,
    claim: "No metal joins a source's positive to its own negative without a load between.",
    why: "The whole prospective current flows the moment the last connection is made.",
    how: "Wires are added in the order of statements; the first that closes a way of metal from a source's positive to its negative, or around \
          several sources in turn, is named, and the rest is judged without it.",
    limits: &[],
    bad: example!("connection.short", bad),
    good: example!("connection.short", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for fault in &cx.circuit.faults {
        let Fault::Short { subject, sources } = fault else { continue };
        let names: Vec<String> = sources.iter().map(|id| cx.name(*id).into()).collect();
        let around = match names.as_slice() {
            [one] => format!("the positive of {one} to its own negative"),
            several => format!("{} head to tail in a circle", Context::list(several)),
        };
        let mut finding = match subject {
            Subject::Wire(wire) => {
                let name = cx.wire_name(*wire);
                cx.on_wire(&RULE, *wire)
                    .headline(format!("{name} joins {around}"))
                    .label("closes a short: no load lies between")
                    .help(format!("take {name} away, or lead one of its ends to where it belongs: a positive to a positive, a negative to a negative"))
            }
            Subject::Component(id) => cx
                .on_component(&RULE, *id)
                .headline(format!("bolted metal joins {around}"))
                .label("shorted without a wire between")
                .help(format!("undo the bolt that joins the two poles of {}", cx.name(*id))),
        };
        for id in sources {
            if *subject != Subject::Component(*id) {
                finding = finding.related(cx.name(*id), cx.span(*id), cx.push(*id));
            }
        }
        if let Some(fault) = sources.first().and_then(|id| cx.fault(*id)) {
            finding = finding.number("fault_a", fault.as_amps());
        }
        out.push(finding.texts("sources", names));
    }
}
