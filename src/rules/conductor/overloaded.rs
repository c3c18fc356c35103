//! `conductor.overloaded`: a mode drives more through a wire than it carries.

use crate::design::WireId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, example};
use crate::study::Peak;
use crate::units::current_against;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "conductor.overloaded",
    severity: Severity::Error,
    claim: "No mode drives more through a wire than its ampacity.",
    why: "A device ahead need not open: what the design itself asks for is enough to overheat the insulation.",
    how: "The current of each wire in each mode, as `ohmward study` computes it, against its ampacity; wires side by side and loops share by \
          conductance. A mode in which a starter turns lasts for seconds and is left out, as are cranking wires where the book exempts them.",
    limits: &["conductor.operating"],
    bad: example!("conductor.overloaded", bad),
    good: example!("conductor.overloaded", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some(study) = cx.study() else { return };
    for (branch, peak) in study.network.branches.iter().zip(&study.peaks.branch) {
        let crate::study::Path::Wire(wire) = branch.path else { break };
        if !peak.current.within(cx.ampacity(wire)) && !cx.circuit.is_exempt(wire) {
            out.push(finding(cx, wire, *peak));
        }
    }
}

fn finding(cx: &Context<'_>, wire: WireId, peak: Peak) -> Finding {
    let name = cx.wire_name(wire);
    let ampacity = cx.ampacity(wire);
    let told = current_against(peak.current, ampacity);
    let larger = cx.size_where(wire, |ampacity| peak.current.within(ampacity));
    let unequal = cx.unequal_beside(wire);
    let suggested = larger.filter(|_| unequal.is_none());
    let help = unequal.unwrap_or_else(|| match larger {
        Some(size) => format!("use {size} for {name}, or take less through it"),
        None => format!("divide what {name} feeds between several wires, or lay more beside it"),
    });
    let mut finding = cx
        .on_wire(&RULE, wire)
        .label(format!("carries {ampacity}"))
        .number("current_a", peak.current.as_amps())
        .number("ampacity_a", ampacity.as_amps())
        .help(help);
    if let Some(size) = suggested {
        finding = finding.number("suggested_mm2", size.area().as_mm2());
    }
    if let Some(mode) = cx.peak_mode(peak) {
        finding = finding.headline(format!(
            "{told} flows through {name} {}, and its ampacity is {ampacity}",
            cx.in_mode(mode)
        ));
        finding = cx.tell_mode(finding, mode, told);
    }
    finding.figure(ampacity.to_string(), format!("ampacity of {name}: {}", cx.made(wire)))
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    Context::unstated_insulation(cx, out);
    cx.unstated_demand(out);
    cx.unstated_fault(out);
}
