//! `connection.polarity`: a positive led to a negative, or the other way round.

use crate::circuit::{Fault, Subject};
use crate::design::Kind;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "connection.polarity",
    severity: Severity::Error,
    claim: "Positives lead to positives, and negatives to negatives.",
    why: "A component fed backwards is destroyed; two sources joined head to tail add their voltages.",
    how: "From a component's positive, over one wire, the metal graph without that wire reaches another source's negative and no source's \
          positive; or the mirror image. Links between equal batteries in series are none. The rest is judged without the wire.",
    limits: &[],
    bad: example!("connection.polarity", bad),
    good: example!("connection.polarity", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for fault in &cx.circuit.faults {
        let Fault::Polarity { subject, component, positive, source } = fault else { continue };
        let (own, other) = if *positive { ("positive", "negative") } else { ("negative", "positive") };
        let name = cx.name(*component);
        let reached =
            source.map_or_else(|| format!("a {other}"), |id| format!("the {other} of {}", cx.name(id)));
        let is_battery = |id| cx.design.components[id].kind == Kind::Battery;
        let in_series = is_battery(*component) && source.is_some_and(is_battery);
        let series = "batteries in series are of one chemistry, voltage and capacity, joined by wire or bolt alone: use equal \
                      ones, or join like poles";
        let mut finding = match subject {
            Subject::Wire(wire) => {
                let wire_name = cx.wire_name(*wire);
                cx.on_wire(&RULE, *wire)
                    .headline(format!("{wire_name} leads the {own} of {name} to {reached}"))
                    .label(format!("from a {own} to a {other}"))
                    .related(name, cx.span(*component), format!("its {own} is at one end"))
                    .help(if in_series { series.into() } else { format!(
                        "lead {wire_name} from the {own} of {name} to a {own}, or from its {other} to where it goes now"
                    ) })
            }
            Subject::Component(id) => cx
                .on_component(&RULE, *id)
                .headline(format!("{} is bolted with its {own} to {reached}", cx.name(*id)))
                .label("head to tail with another source")
                .help(if in_series { series.into() } else { format!("turn {} round", cx.name(*id)) }),
        };
        if let Some(source) = source.filter(|source| source != component) {
            finding = finding.related(
                cx.name(source),
                cx.span(source),
                format!("its {other} is reached from the other end"),
            );
        }
        out.push(finding);
    }
}
