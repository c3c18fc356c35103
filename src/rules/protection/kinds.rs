//! `protection.type`: a device of a type, in a holder, or with a reset that its duty does not suit.

use crate::book::{CurrentLimit, WordLimit};
use crate::circuit::EdgeKind;
use crate::design::{Body, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Current, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.type",
    severity: Severity::Warning,
    claim: "A device's type and holder bear what flows for good, and a breaker stays open until somebody closes it.",
    why: "Blades and holders char long before the fuse opens; a breaker that closes by itself feeds a fault again and again.",
    how: "A blade fuse is held to the book's current for its type, and a holder to the book's share of its own rating, by what flows for good as in \
          `protection.undersize`; what flows is not guessed from the device's rating. A holder also has to be rated for its fuse. \
          A breaker marked `auto-reset` is a finding where the book asks for manual reset.",
    limits: &["type.blade", "protection.continuous", "protection.continuous-blade", "breaker.reset"],
    bad: example!("protection.type", bad),
    good: example!("protection.type", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for (edge, kind) in cx.circuit.metal.edges.iter().enumerate() {
        let (EdgeKind::Device(id), edge) = (*kind, edge as u32) else { continue };
        let (rating, holder, auto_reset) = match &cx.design.components[id].body {
            Body::Fuse(fuse) => (fuse.rating, fuse.holder, false),
            Body::Breaker(breaker) => (breaker.rating, breaker.holder, breaker.auto_reset),
            _ => continue,
        };
        let carried = cx.steady(edge).map(|carried| carried.current);
        let most = cx.book.current(CurrentLimit::TypeBlade);
        if let Some(carried) = carried.filter(|carried| cx.is_blade(id) && !carried.within(most)) {
            let finding = hot_blade(cx, id, edge, carried, most);
            out.push(cx.with_steady(finding, edge));
        }
        if let Some(holder) = holder {
            let share = cx.book.continuous(cx.is_blade(id));
            let hot = carried.filter(|carried| !carried.within(holder * share));
            if !rating.within(holder) || hot.is_some() {
                out.push(weak_holder(cx, id, edge, rating, holder, hot));
            }
        }
        if auto_reset && cx.book.manual_reset() {
            out.push(resets(cx, id));
        }
    }
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let most = cx.book.current(CurrentLimit::TypeBlade);
    let open = cx.circuit.metal.edges.iter().enumerate().filter_map(|(edge, kind)| {
        let EdgeKind::Device(id) = *kind else { return None };
        let untyped = matches!(&cx.design.components[id].body, Body::Fuse(fuse) if fuse.kind.is_none());
        let carried = cx.steady(edge as u32).filter(|_| untyped)?;
        (!carried.current.within(most)).then_some(id)
    });
    out.add_all("fuse type", Without::NotJudged, open);
}

fn hot_blade(cx: &Context<'_>, id: ComponentId, edge: u32, carried: Current, most: Current) -> Finding {
    let name = cx.name(id);
    let told = current_against(carried, most);
    let part = cx.circuit.part[cx.circuit.metal.graph.ends(edge).0 as usize];
    let help = match cx.device_for(id, part, carried) {
        Some((_, words)) => format!(
            "fit {words} in place of {name}, or divide what it feeds between blade fuses that carry {most} each at most"
        ),
        None => format!("divide what {name} feeds between several fuses"),
    };
    let finding = cx
        .on_component(&RULE, id)
        .headline(format!("{told} flows through the blade fuse {name} for good"))
        .label(format!("a blade fuse stands {most} for good"))
        .number("current_a", carried.as_amps())
        .number("limit_a", most.as_amps())
        .help(help);
    let finding = cx.memory_figure(finding, "protection.continuous");
    cx.limit_figure(finding, "type.blade")
}

fn weak_holder(
    cx: &Context<'_>,
    id: ComponentId,
    edge: u32,
    rating: Current,
    holder: Current,
    hot: Option<Current>,
) -> Finding {
    let name = cx.name(id);
    let blade = cx.is_blade(id);
    let share = cx.book.continuous(blade);
    // Enough for the device, and for what flows.
    let needed = hot.map_or(rating, |carried| rating.max(carried / share));
    let mut finding = cx
        .on_component(&RULE, id)
        .label(format!("in a holder of {holder}"))
        .number("rating_a", rating.as_amps())
        .number("holder_a", holder.as_amps())
        .help(format!("put {name} in a holder rated {needed} or more"));
    if rating.within(holder) {
        let carried = hot.unwrap_or_default();
        let stands = holder * share;
        finding = finding.headline(format!(
            "{} flows for good through the holder of {name}, which stands {stands}",
            current_against(carried, stands)
        ));
    } else {
        finding = finding.headline(format!("{name}, {rating}, sits in a holder of {holder}"));
    }
    if let Some(carried) = hot {
        finding = cx.with_steady(finding, edge);
        let limit = if blade { "protection.continuous-blade" } else { "protection.continuous" };
        finding = cx.limit_figure(finding.number("current_a", carried.as_amps()), limit);
    } else {
        finding = finding.figure(rating.to_string(), format!("lets pass {name} for good before it opens"));
    }
    finding
}

fn resets(cx: &Context<'_>, id: ComponentId) -> Finding {
    let name = cx.name(id);
    let finding = cx
        .on_component(&RULE, id)
        .headline(format!("{name} closes again by itself"))
        .label("feeds a fault again each time it has cooled")
        .text("reset", cx.book.word(WordLimit::BreakerReset))
        .help(format!("fit a breaker that is reset by hand, or a fuse, in place of {name}"));
    cx.limit_figure(finding, "breaker.reset")
}
