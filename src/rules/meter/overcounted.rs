//! `meter.overcounted`: something else's current passes a group's meter as well.

use rustc_hash::FxHashSet;

use crate::circuit::Side;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "meter.overcounted",
    severity: Severity::Error,
    claim: "A meter that counts a group has nothing but the group on its `sys` side.",
    why: "What else hangs there is added to the group's reading, or taken from it: the yield or the consumption shown is wrong.",
    how: "With the shunt taken out, the group's side is searched for negatives of other sources and loads; a member's own input is not another.",
    limits: &[],
    bad: example!("meter.overcounted", bad),
    good: example!("meter.overcounted", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for view in cx.circuit.meters() {
        if view.batteries || view.counts.is_empty() || view.around.is_some() || view.is_reversed(cx.circuit) {
            continue;
        }
        let mut seen = FxHashSet::default();
        for port in &cx.circuit.ports {
            let other = !view.counts.contains(&port.component);
            if other && view.port_side(cx.circuit, port) == Some(Side::Sys) && seen.insert(port.component) {
                let (name, meter) = (cx.name(port.component), cx.name(view.meter));
                let pole = if view.positive { "positive" } else { "negative" };
                out.push(
                    cx.on_component(&RULE, port.component)
                        .headline(format!("{name} is counted by {meter}, which is to count others"))
                        .label(format!("its {pole} leads to {meter}.sys"))
                        .related(meter, cx.span(view.meter), "shows this as well as its own group")
                        .text("meter", meter)
                        .help(format!(
                            "move the {pole} of {name} to the other side of {meter}, to {}",
                            super::side_point(cx, view, Side::Bat)
                        )),
                );
            }
        }
    }
}
