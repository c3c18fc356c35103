//! `protection.selectivity`: for a fault behind the nearer device, the one nearer the source would open no later.

use std::collections::BTreeMap;

use super::{fuse_type, kind_words, least_rating, outgrown, own_ratings, with_rating};
use crate::book::ShareLimit;
use crate::circuit::{EdgeKind, current};
use crate::design::{Body, ComponentId, FuseType, Id, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::study::{Opening, holds, opens};
use crate::units::{Current, HeatIntegral, Share};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.selectivity",
    severity: Severity::Advice,
    claim: "For a fault behind two devices in series the one nearer the fault opens first.",
    why: "Where the one nearer the source opens first, a fault in one lamp's wire takes everything else down with it.",
    how: "Judged is each device with the next one on its only way from the unlimited sources, where that one feeds something else too. Of \
          two types that both have gates, the nearer device's slowest I2t for a fault right behind it is held against the I2t that the other bears \
          before its fastest gate. Of one type, and where a gate is missing, the ratings tell: the other has to have at least the book's ratio. \
          Devices in a mesh or between two batteries open for faults on either side and are left out.",
    limits: &["selectivity.ratio"],
    bad: example!("protection.selectivity", bad),
    good: example!("protection.selectivity", good),
    of_absence: false,
    studies: true,
    unstated: None,
    check,
};

/// A device that may open after the one ahead of it.
struct Behind {
    id: ComponentId,
    edge: u32,
    /// What it lets pass at most, and what the one ahead bears at least, where their gates tell.
    heat: Option<(HeatIntegral, HeatIntegral)>,
    fault: Option<Current>,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some(faults) = cx.faults() else { return };
    let (circuit, guards) = (cx.circuit, &faults.guards);
    let mut ahead: BTreeMap<u32, Vec<Behind>> = BTreeMap::new();
    for (edge, kind) in circuit.metal.edges.iter().enumerate() {
        let (EdgeKind::Device(id), edge) = (*kind, edge as u32) else { continue };
        let Some(from) = guards.fed_from(circuit, edge) else { continue };
        let Some(next) = guards.series(circuit, from).0.first().copied() else { continue };
        if guards.takers_beyond(circuit, next) <= guards.takers_beyond(circuit, edge) {
            continue;
        }
        let EdgeKind::Device(other) = circuit.metal.edges[next as usize] else { continue };
        let terminal = [TerminalRole::Load, TerminalRole::Line]
            .into_iter()
            .find_map(|role| cx.design.components[id].terminal(cx.design, role));
        let fault = terminal.and_then(|at| faults.drawn.most[at.index()]);
        if let Some(heat) = overtakes(cx, other, id, fault) {
            ahead.entry(next).or_default().push(Behind { id, edge, heat, fault });
        }
    }
    for (edge, behind) in ahead {
        if let EdgeKind::Device(id) = circuit.metal.edges[edge as usize] {
            out.push(finding(cx, id, edge, &behind));
        }
    }
}

/// Whether a device may open no later than one behind it; with the I²t of both where these decided.
#[expect(clippy::option_option, reason = "whether it does, and what shows it")]
fn overtakes(
    cx: &Context<'_>,
    ahead: ComponentId,
    behind: ComponentId,
    fault: Option<Current>,
) -> Option<Option<(HeatIntegral, HeatIntegral)>> {
    let body = |id: ComponentId| &cx.design.components[id].body;
    let rating = |id: ComponentId| current(cx.circuit.device_rating(id));
    if let (false, Some(fault)) = (same_type(body(ahead), body(behind)), fault)
        && let (Opening::Within(slowest), Some(fastest)) =
            (opens(cx.book, body(behind), fault), holds(cx.book, body(ahead), fault))
    {
        let heat = |seconds: f64| HeatIntegral::a2s(fault.as_amps().powi(2) * seconds);
        let (lets, bears) = (heat(slowest.as_seconds()), heat(fastest.as_seconds()));
        return (!lets.within(bears)).then_some(Some((lets, bears)));
    }
    let ratio = cx.book.share(ShareLimit::Selectivity).as_ratio();
    (!(rating(behind) * ratio).within(rating(ahead))).then_some(None)
}

fn same_type(a: &Body, b: &Body) -> bool {
    match (fuse_type(a), fuse_type(b)) {
        (Some(a), Some(b)) => a.is_some() && a == b,
        (None, None) => true,
        _ => false,
    }
}

fn finding(cx: &Context<'_>, id: ComponentId, edge: u32, behind: &[Behind]) -> Finding {
    const SHOWN: usize = 6;
    let name = cx.name(id);
    let rating = |id: ComponentId| current(cx.circuit.device_rating(id));
    let own = rating(id);
    let mut told: Vec<String> =
        behind.iter().take(SHOWN).map(|one| format!("{} ({})", cx.name(one.id), rating(one.id))).collect();
    if SHOWN < behind.len() {
        told.push(format!("{} more", behind.len() - SHOWN));
    }
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{name} ({own}) may open no later than {} behind it", Context::list(&told)))
        .label("takes down all that it feeds")
        .texts("behind", cx.names(behind.iter().map(|one| one.id)))
        .number("rating_a", own.as_amps());
    let by_ratio = behind.iter().any(|one| one.heat.is_none());
    for one in behind.iter().take(SHOWN) {
        let other = cx.name(one.id);
        finding = finding.related(other, cx.span(one.id), format!("{} behind {name}", rating(one.id)));
        finding = match one.heat {
            Some((lets, bears)) => {
                finding = finding.number("i2t_a2s", lets.as_a2s()).number("bears_a2s", bears.as_a2s());
                let fault = one.fault.unwrap_or_default();
                finding
                    .figure(
                        lets.to_string(),
                        format!("what {other} lets pass at its slowest of a fault of {fault}"),
                    )
                    .figure(
                        bears.to_string(),
                        format!("what {name} bears by its fastest gate before it opens"),
                    )
            }
            None => finding.figure(
                Share::ratio(own / rating(one.id)).to_string(),
                format!("rating of {name} by that of {other}"),
            ),
        };
    }
    if by_ratio {
        finding = cx.limit_figure(finding, "selectivity.ratio");
    }
    let largest = behind.iter().map(|one| rating(one.id)).reduce(Current::max).unwrap_or_default();
    finding = finding
        .number("ratio_percent", own / largest * 100.0)
        .number("limit_percent", cx.book.share(ShareLimit::Selectivity).as_percent());
    help(cx, finding, id, edge, behind)
}

fn help(cx: &Context<'_>, finding: Finding, id: ComponentId, edge: u32, behind: &[Behind]) -> Finding {
    let ahead = |rating: Current| with_rating(&cx.design.components[id].body, rating);
    let clear = |ahead: &Body, one: &Behind, behind: &Body, rating: Current, other: Current| {
        if let (false, Some(fault)) = (same_type(ahead, behind), one.fault)
            && let (Opening::Within(slowest), Some(fastest)) =
                (opens(cx.book, behind, fault), holds(cx.book, ahead, fault))
        {
            return slowest.within(fastest);
        }
        (other * cx.book.share(ShareLimit::Selectivity).as_ratio()).within(rating)
    };
    let rating = |id: ComponentId| current(cx.circuit.device_rating(id));
    let body = |id: ComponentId| &cx.design.components[id].body;
    let mut ways = Vec::new();
    let mut finding = finding;
    // A smaller one in place of each behind, where what flows lets it.
    let smaller = |one: &Behind| {
        let own = body(one.id);
        let least = least_rating(cx, one.edge, fuse_type(own) == Some(Some(FuseType::Blade)));
        own_ratings(cx, own).iter().copied().rfind(|other| {
            least.within(*other) && clear(body(id), one, &with_rating(own, *other), rating(id), *other)
        })
    };
    let all: Option<Vec<String>> = behind
        .iter()
        .take(3)
        .map(|one| Some(format!("{} in place of {}", smaller(one)?, cx.name(one.id))))
        .collect();
    if let Some(all) = all.filter(|_| behind.len() <= 3) {
        ways.push(format!("fit {}", Context::list(&all)));
    }
    let larger = own_ratings(cx, body(id))
        .iter()
        .copied()
        .find(|own| behind.iter().all(|one| clear(&ahead(*own), one, body(one.id), *own, rating(one.id))));
    if let Some(larger) = larger {
        let mut way = format!("fit {larger} in place of {}", cx.name(id));
        for (wire, size) in outgrown(cx, edge, id, larger).into_iter().take(3) {
            way += &match size {
                Some(size) => format!(", with {size} for {}", cx.wire_name(wire)),
                None => format!(", with more beside {}", cx.wire_name(wire)),
            };
        }
        ways.push(way);
        finding = finding.number("suggested_a", larger.as_amps());
    }
    if ways.is_empty() {
        let kind = fuse_type(body(id)).flatten();
        let what = if fuse_type(body(id)) == Some(None) { "fuse" } else { kind_words(kind) };
        ways.push(format!(
            "choose another {what} by its maker's curves, or feed what is behind it from ahead of {}",
            cx.name(id)
        ));
    }
    finding.help(ways.join("; or "))
}
