//! `protection.missing`: an unlimited source feeds a wire, and nothing on any way on from it ever opens.

use crate::circuit::Hit;
use crate::design::WireId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.missing",
    severity: Severity::Error,
    claim: "Every way out of an unlimited source meets a protective device.",
    why: "Without one, a short draws all that the source can push, until the conductor melts or sets fire to what it touches.",
    how: "From the positive of each battery, bank or unprotected supply, every wire is followed that is reached without passing a fuse \
          or breaker. A wire is followed by a device when some way from the source runs through it and ends at one.",
    limits: &["distance.battery-bare", "distance.other-bare", "protection.ratio", "cranking"],
    bad: example!("protection.missing", bad),
    good: example!("protection.missing", good),
    of_absence: false,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mut last = None;
    for (wire, hit) in super::stretched(cx) {
        // Two sources may leave one wire unprotected: that is said once.
        if !hit.followed && last != Some(wire) {
            last = Some(wire);
            out.push(finding(cx, wire, hit));
        }
    }
}

fn finding(cx: &Context<'_>, wire: WireId, hit: &Hit) -> Finding {
    let circuit = cx.circuit;
    let origin = &circuit.origins[hit.origin as usize];
    let (name, source) = (cx.wire_name(wire), cx.name(origin.component));
    let from = cx.origin_words(hit);
    let ampacity = cx.ampacity(wire);
    let ceiling = cx.permitted(wire);
    let part = circuit.part[circuit.wire_nodes(wire).0 as usize];
    let demand = cx.demand_beyond(hit.edge, &origin.nodes) * circuit.share(wire);
    let distance = circuit.distance(hit);
    let fitting = cx.fitting(Some(origin.component), part, ceiling, demand);
    let help = match fitting.tell() {
        Some(device) => format!("fit {device}, within {distance} of {from}, ahead of {name}"),
        None => match fitting.largest {
            Some(largest) => format!(
                "{name} bears a device of at most {largest}, which is too small for the {demand} beyond it: use a larger \
                 conductor, then fit a device of {} within {distance} of {from}",
                fitting.words
            ),
            None => format!(
                "no standard rating suits the {ceiling} of {name}: use a larger conductor, then fit a device"
            ),
        },
    };
    let limit = match (origin.battery, hit.sheathed) {
        (true, true) => "distance.battery-sheathed",
        (true, false) => "distance.battery-bare",
        (false, true) => "distance.other-sheathed",
        (false, false) => "distance.other-bare",
    };
    let length = circuit.hit_length(hit, wire);
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{name} runs from {from} with no protective device"))
        .label(format!("{} long, carries {ampacity}, and nothing on it opens", cx.design.wires[wire].length))
        .related(source, cx.span(origin.component), cx.push(origin.component))
        .number("ampacity_a", ampacity.as_amps())
        .number("permitted_a", ceiling.as_amps())
        .number("length_m", length.as_metres())
        .number("limit_m", distance.as_metres())
        .text("source", source)
        .help(help);
    if let Some(fault) = cx.fault(origin.component) {
        finding = finding.number("fault_a", fault.as_amps());
    }
    if let Some(largest) = fitting.ratings.last() {
        finding = finding.number("suggested_a", largest.as_amps());
    }
    finding = finding.figure(ampacity.to_string(), format!("ampacity of {name}: {}", cx.made(wire)));
    if 0.0 < demand.as_amps() {
        finding = finding.figure(demand.to_string(), "taken by what it feeds, by the ratings");
    }
    cx.limit_figure(finding, limit)
}
