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
    limits: &["distance.battery-bare", "distance.other-bare", "protection.ratio", "type.blade", "cranking"],
    bad: example!("protection.missing", bad),
    good: example!("protection.missing", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mut last = None;
    for (wire, hit) in super::stretched(cx) {
        // Two sources may leave one wire unprotected: that is said once.
        if !hit.followed && last != Some(wire) {
            last = Some(wire);
            out.push(finding(cx, wire, &hit));
        }
    }
}

fn finding(cx: &Context<'_>, wire: WireId, hit: &Hit) -> Finding {
    let spot = super::Spot::new(cx, wire, hit);
    let super::Spot { from, distance, ceiling, demand, fitting, .. } = &spot;
    let (name, source) = (cx.wire_name(wire), cx.name(spot.source));
    let ampacity = cx.ampacity(wire);
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
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{name} runs from {from} with no protective device"))
        .label(format!("{} long, carries {ampacity}, and nothing on it opens", cx.design.wires[wire].length))
        .related(source, cx.span(spot.source), cx.push(spot.source))
        .number("ampacity_a", ampacity.as_amps())
        .number("permitted_a", ceiling.as_amps())
        .number("length_m", spot.length.as_metres())
        .number("limit_m", distance.as_metres())
        .text("source", source)
        .help(help);
    if let Some(fault) = cx.fault(spot.source) {
        finding = finding.number("fault_a", fault.as_amps());
    }
    if let Some(largest) = fitting.ratings.last() {
        let kind = fitting.kind.word();
        let ratings = fitting.ratings.iter().map(ToString::to_string).collect();
        finding = finding
            .number("suggested_a", largest.as_amps())
            .texts("suggested_ratings", ratings)
            .text("suggested_type", kind);
    }
    finding = finding.figure(ampacity.to_string(), format!("ampacity of {name}: {}", cx.made(wire)));
    if 0.0 < demand.as_amps() {
        finding = finding
            .figure(demand.to_string(), "taken by what it feeds, or given by what feeds it, by the ratings");
    }
    finding = cx.memory_figure(finding, "protection.ratio");
    if fitting.capped && !fitting.ratings.is_empty() {
        finding = cx.limit_figure(finding, "type.blade");
    }
    cx.limit_figure(finding, spot.limit)
}
