//! `protection.far`: the device that protects a wire sits too far from the source.

use crate::book::LengthLimit;
use crate::circuit::{EdgeKind, Hit, current};
use crate::design::WireId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.far",
    severity: Severity::Error,
    claim: "The first device sits within the book's distance of the source, along the conductor.",
    why: "A device protects only what lies beyond it; the piece before it burns if it chafes through.",
    how: "The shortest way from the source's terminal to the wire's nearer end, and the wire itself, are added up. The distance for sheathed \
          runs holds where every wire on that way is sheathed.",
    limits: &[
        "distance.battery-bare",
        "distance.battery-sheathed",
        "distance.other-bare",
        "distance.other-sheathed",
    ],
    bad: example!("protection.far", bad),
    good: example!("protection.far", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mut last = None;
    for (wire, hit) in super::stretched(cx) {
        if hit.followed && !cx.circuit.is_near(&hit, wire) && last != Some(wire) {
            last = Some(wire);
            out.push(finding(cx, wire, &hit));
        }
    }
}

/// Whether no source feeds a device from its other side, so that it can be moved toward this one.
fn feeds_nothing_else(cx: &Context<'_>, device: crate::design::ComponentId) -> bool {
    let edge = cx.circuit.metal.edges.iter().position(|kind| *kind == EdgeKind::Device(device));
    edge.is_some_and(|edge| {
        let (a, b) = cx.circuit.arriving(edge as u32);
        a == 0 || b == 0
    })
}

fn finding(cx: &Context<'_>, wire: WireId, hit: &Hit) -> Finding {
    let circuit = cx.circuit;
    let spot = super::Spot::new(cx, wire, hit);
    let super::Spot { from, length, distance, ceiling, .. } = &spot;
    let (name, source) = (cx.wire_name(wire), cx.name(spot.source));
    let (devices, _) = circuit.followers(hit);
    let movable = match devices.as_slice() {
        [only]
            if hit.joining == 0
                && circuit.hits_of_wire(wire).len() == 1
                && feeds_nothing_else(cx, *only)
                && current(circuit.device_rating(*only)).within(*ceiling) =>
        {
            Some(format!("move {} to within {distance} of {from}", cx.name(*only)))
        }
        _ => None,
    };
    let device = spot.fitting.tell();
    let fit = device.unwrap_or_else(|| "a protective device".into());
    let battery = circuit.origins[hit.origin as usize].battery;
    let sheathed = cx.book.distance(battery, true);
    let sheathe = if !circuit.is_sheathed(hit, wire) && length.within(sheathed) {
        format!("; or sheathe the run over its whole length, for which {sheathed} is allowed")
    } else {
        String::new()
    };
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{name} ends {length} from {from}, beyond the {distance} allowed before a device"))
        .label(format!("{} long, its far end {length} from {from}", cx.design.wires[wire].length))
        .related(source, cx.span(spot.source), cx.push(spot.source));
    for device in devices.iter().take(4) {
        finding = finding.related(
            cx.name(*device),
            cx.span(*device),
            format!("first opens here, {length} or more away"),
        );
    }
    let names = cx.names(devices.iter().copied());
    finding = finding
        .number("length_m", length.as_metres())
        .number("limit_m", distance.as_metres())
        .number("permitted_a", ceiling.as_amps())
        .text("source", source)
        .texts("devices", names)
        .help(match movable {
            Some(movable) => format!("{movable}{sheathe}"),
            None => format!("fit {fit}, within {distance} of {from}{sheathe}"),
        })
        .figure(length.to_string(), format!("from {from} to the far end of {name}, along the conductors"));
    finding = finding.figure(cx.ampacity(wire).to_string(), format!("ampacity of {name}: {}", cx.made(wire)));
    finding = cx.limit_figure(finding, spot.limit);
    if sheathe.is_empty() { finding } else { cx.limit_figure(finding, sheathed_limit(battery).name()) }
}

fn sheathed_limit(battery: bool) -> LengthLimit {
    if battery { LengthLimit::BatterySheathed } else { LengthLimit::OtherSheathed }
}
