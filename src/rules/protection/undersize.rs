//! `protection.undersize`: a device that carries more for good than it stands, and opens without a fault.

use crate::book::ShareLimit;
use crate::circuit::{EdgeKind, current};

use crate::design::{Body, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Carried, Context, Rule, Unstated, Without, example};
use crate::units::{Current, Share, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.undersize",
    severity: Severity::Warning,
    claim: "What flows for good through a device is at most the book's share of its rating.",
    why: "Near its rating a device ages, warms its holder and opens without a fault, on the hottest day.",
    how: "The largest current of all modes, as `ohmward study` computes it; a mode in which a starter turns lasts for seconds and does not \
          count. A design without modes is taken with everything on, by the ratings: what all loads, inverters and charger inputs beyond the device take, \
          or what chargers, alternators (at the book's share) and solar push through it into a battery. Motors and starters run for a time and \
          are left out. A device with another way around it, or between two batteries, is not judged by ratings.",
    limits: &[
        "protection.continuous",
        "protection.continuous-blade",
        "alternator.share",
        "conductor.operating",
        "efficiency.charger",
        "efficiency.inverter",
    ],
    bad: example!("protection.undersize", bad),
    good: example!("protection.undersize", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        let EdgeKind::Device(id) = *kind else { continue };
        let Some(steady) = cx.steady(edge as u32) else { continue };
        let rating = current(cx.circuit.device_rating(id));
        let share = cx.book.continuous(cx.is_blade(id));
        if !steady.current.within(rating * share) {
            out.push(finding(cx, id, edge as u32, &steady, rating, share));
        }
    }
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let by_ratings = cx.design.modes.is_empty();
    for (id, component) in cx.design.components.entries().filter(|_| by_ratings) {
        if let Some(limit) = cx.efficiency_assumed(id) {
            let of = if limit == ShareLimit::InverterEfficiency { "inverters" } else { "chargers" };
            let value = format!("{}, the book's for {of}", cx.book.share(limit));
            out.add("efficiency", Without::Assumed(value), id);
        }
        if matches!(&component.body, Body::Hub(hub) if hub.power.is_none()) {
            out.add("W", Without::NotJudged, id);
        }
    }
    // Below the share of a blade fuse the type makes no difference.
    let (blade, other) = (cx.book.continuous(true), cx.book.continuous(false));
    let untyped = cx.circuit.metal.edges.iter().enumerate().filter_map(|(edge, kind)| {
        let EdgeKind::Device(id) = *kind else { return None };
        let Body::Fuse(fuse) = &cx.design.components[id].body else { return None };
        let carried = cx.steady(edge as u32).filter(|_| fuse.kind.is_none())?.current;
        (!carried.within(fuse.rating * blade) && carried.within(fuse.rating * other)).then_some(id)
    });
    let value =
        format!("one that stands {} of its rating for good", cx.book.share(ShareLimit::ProtectionContinuous));
    out.add_all("fuse type", Without::Assumed(value), untyped);
}

fn finding(
    cx: &Context<'_>,
    id: ComponentId,
    edge: u32,
    steady: &Carried<'_>,
    rating: Current,
    share: f64,
) -> Finding {
    let name = cx.name(id);
    let carried = steady.current;
    let stands = rating * share;
    let told = current_against(carried, stands);
    let terms = cx.steady_terms(edge, steady);
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
    if steady.is_pushed() && terms.iter().any(|row| cx.is_alternator(row.0)) {
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
