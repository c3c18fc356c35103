//! `protection.oversize`: more current can reach a wire for good than it carries.

use crate::check::Role;
use crate::circuit::{Circuit, CutTerm, Hit, Micro, UNLIMITED, current};
use crate::design::WireId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::{Current, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.oversize",
    severity: Severity::Error,
    claim: "What can reach a wire before anything opens is at most the book's ratio times its ampacity.",
    why: "A device larger than its wire lets the wire glow while the device stays closed; several feeds add up.",
    how: "Off every unprotected stretch, the wire's let-through is computed by maximum flow from all sources together, each device passing at \
          most its rating; the minimum cut nearest the wire names the devices and limited sources that add up. On a permitted stretch, the \
          ratings of the devices that follow are added up, or, if larger, the limited sources that join beyond it.",
    limits: &["protection.ratio", "protection.ratio-high"],
    bad: example!("protection.oversize", bad),
    good: example!("protection.oversize", good),
    of_absence: false,
    studies: false,
    unstated: Some(Context::unstated_insulation),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    for wire in
        cx.design.wires.ids().filter(|wire| !circuit.is_exempt(*wire) && circuit.role(*wire) == Role::Live)
    {
        let hits = circuit.hits_of_wire(wire);
        let mut worst: Option<(Micro, Hit)> = None;
        for hit in &hits {
            let burden = Circuit::burden(hit);
            if hit.followed && circuit.is_near(hit, wire) && worst.is_none_or(|(most, _)| most < burden) {
                worst = Some((burden, *hit));
            }
        }
        let amount = match (hits.is_empty(), worst) {
            (true, _) => circuit.let_through(wire),
            (false, Some((burden, _))) => burden,
            (false, None) => continue,
        };
        if UNLIMITED <= amount {
            continue;
        }
        let carried = current(amount) * circuit.share(wire);
        if !carried.within(cx.permitted(wire)) {
            let cut = match (worst, circuit.edge(wire)) {
                (Some((_, hit)), _) => circuit.burden_terms(&hit),
                (None, Some(edge)) => circuit.cut(edge),
                (None, None) => circuit.cut_at(circuit.wire_nodes(wire).0),
            };
            out.push(finding(cx, wire, carried, &cut, worst.is_some()));
        }
    }
}

fn finding(cx: &Context<'_>, wire: WireId, carried: Current, cut: &[CutTerm], on_stretch: bool) -> Finding {
    let circuit = cx.circuit;
    let name = cx.wire_name(wire);
    let (ampacity, permitted) = (cx.ampacity(wire), cx.permitted(wire));
    let carried_words = current_against(carried, permitted);
    let told = if cut.is_empty() { carried.to_string() } else { cx.tell_cut(cut) };
    let mut finding = cx
        .on_wire(&RULE, wire)
        .headline(format!("{carried_words} can reach {name} for good, which carries {permitted}"))
        .label(if on_stretch {
            format!("carries {ampacity}; {told} beyond it can draw for good")
        } else {
            format!("carries {ampacity}; {told} can feed a fault on it")
        });
    for term in cut.iter().take(8) {
        let span = cx.span(term.component);
        let is_source = circuit.source_of(term.component).is_some();
        let note = if is_source { "gives up to" } else { "lets pass" };
        finding = finding.related(cx.name(term.component), span, format!("{note} {}", current(term.amount)));
    }
    let others: Micro = cut
        .iter()
        .map(|term| term.amount)
        .sum::<Micro>()
        .saturating_sub(cut.iter().map(|term| term.amount).max().unwrap_or(0));
    let room = permitted / circuit.share(wire) - current(others);
    let part = circuit.part[circuit.wire_nodes(wire).0 as usize];
    let largest = cx.largest_rating(cut, part, room);
    let size = cx.size_for(wire, carried);
    let larger = match (cx.unequal_beside(wire), size) {
        (Some(equal), _) => equal,
        (None, Some(size)) => format!("use a conductor of {size} for {name}"),
        (None, None) => "use several conductors side by side".into(),
    };
    let device =
        cut.iter().max_by_key(|term| term.amount).filter(|term| circuit.source_of(term.component).is_none());
    let only_devices = cut.iter().all(|term| circuit.source_of(term.component).is_none());
    let at_start = cx.largest_rating(&[], part, permitted / circuit.share(wire)).filter(|_| only_devices);
    let (help, suggested) = match (device, largest, at_start) {
        (Some(device), Some(largest), _) => {
            let device = format!("{} {}", cx.name(device.component), current(device.amount));
            (format!("fit {largest} at most in place of {device}; or {larger}"), Some(largest))
        }
        (Some(_), None, Some(rating)) => {
            (format!("fit a device of {rating} at most where {name} begins; or {larger}"), Some(rating))
        }
        // A device smaller than what a source gives by itself would only open in service.
        _ => (larger, None),
    };
    let names = cx.names(cut.iter().map(|term| term.component));
    finding = finding
        .number("ampacity_a", ampacity.as_amps())
        .number("permitted_a", permitted.as_amps())
        .texts("cut", names)
        .help(help)
        .figure(
            carried_words,
            if on_stretch {
                format!("{told}: what follows {name}, by rating")
            } else {
                format!("{told} (minimum cut nearest {name})")
            },
        )
        .figure(ampacity.to_string(), format!("ampacity of {name}: {}", cx.made(wire)));
    let key = if on_stretch { "devices_a" } else { "let_through_a" };
    finding = finding.number(key, carried.as_amps());
    if let Some(suggested) = suggested {
        finding = finding.number("suggested_a", suggested.as_amps());
    }
    if let Some(size) = size {
        finding = finding.number("suggested_mm2", size.area().as_mm2());
    }
    cx.limit_figure(finding, cx.ratio_limit(wire).name())
}
