//! `protection.undersize`: a device that carries more for good than it stands, and opens without a fault.

use crate::circuit::{EdgeKind, Steady, current};
use crate::design::ComponentId;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::{Current, Share, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.undersize",
    severity: Severity::Warning,
    claim: "What flows for good through a device is at most the book's share of its rating.",
    why: "Near its rating a device ages, warms its holder and opens without a fault, on the hottest day.",
    how: "A design without modes is taken with everything on, by the ratings: what all loads, inverters and charger inputs beyond the device take, \
          or what chargers, alternators (at the book's share) and solar push through it into a battery. Motors and starters run for a time and \
          are left out. A device with another way around it, or between two batteries, is not judged by ratings.",
    limits: &[
        "protection.continuous",
        "protection.continuous-blade",
        "alternator.share",
        "efficiency.charger",
        "efficiency.inverter",
    ],
    bad: example!("protection.undersize", bad),
    good: example!("protection.undersize", good),
    of_absence: false,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        let EdgeKind::Device(id) = *kind else { continue };
        let Some(steady) = cx.steady(edge as u32) else { continue };
        let rating = current(cx.circuit.device_rating(id));
        let share = cx.book.continuous(cx.is_blade(id));
        if !current(steady.amount).within(rating * share) {
            out.push(finding(cx, id, edge as u32, &steady, rating, share));
        }
    }
}

fn finding(
    cx: &Context<'_>,
    id: ComponentId,
    edge: u32,
    steady: &Steady,
    rating: Current,
    share: f64,
) -> Finding {
    let name = cx.name(id);
    let carried = current(steady.amount);
    let stands = rating * share;
    let told = current_against(carried, stands);
    let terms = cx.circuit.steady_terms(edge, steady);
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{told} flows through {name} for good, which stands {stands}"))
        .label(format!("{rating}, of which {} for good", Share::ratio(share)))
        .number("current_a", carried.as_amps())
        .number("rating_a", rating.as_amps())
        .number("share_percent", carried / rating * 100.0)
        .number("limit_percent", share * 100.0)
        .texts("terms", cx.names(terms.iter().map(|row| row.0)));
    finding = cx.tell_steady(finding, steady, &terms);
    if steady.pushed && terms.iter().any(|row| cx.is_alternator(row.0)) {
        finding = cx.limit_figure(finding, "alternator.share");
    }
    let limit = if cx.is_blade(id) { "protection.continuous-blade" } else { "protection.continuous" };
    finding = cx.limit_figure(finding, limit);
    let part = cx.circuit.part[cx.circuit.metal.graph.ends(edge).0 as usize];
    let Some((suggested, words)) = cx.device_for(id, part, carried) else {
        return finding.help(format!("divide what {name} feeds between several devices"));
    };
    let mut help = format!("fit {words} in place of {name}");
    for (wire, size) in super::outgrown(cx, edge, id, suggested).into_iter().take(3) {
        let permitted = cx.permitted(wire);
        help += &match size {
            Some(size) => format!("; {} carries {permitted}: use {size} for it", cx.wire_name(wire)),
            None => format!("; {} carries {permitted}: lay more beside it", cx.wire_name(wire)),
        };
    }
    finding.number("suggested_a", suggested.as_amps()).help(help)
}
