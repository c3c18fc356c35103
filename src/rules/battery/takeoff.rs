//! `battery.takeoff`: batteries in parallel that share a load unequally.

use super::parallel::{Group, groups};
use crate::book::ShareLimit;
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::Share;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "battery.takeoff",
    severity: Severity::Warning,
    claim: "Batteries in parallel share a load evenly.",
    why: "The one that gives and takes most ages first, and the others follow it.",
    how: "The metal between the batteries' positives and between their negatives, switches apart, with the batteries' own resistances, is \
          solved for a current that leaves where the thickest conductor does and comes back likewise; of several as thick the one that shares best counts. Each share is held against the \
          battery's part of the capacity; the largest may exceed the smallest by `share.spread`. Where every battery has leads of its \
          own at both poles, `conductor.unequal` judges the leads in place of this.",
    limits: &["share.spread"],
    bad: example!("battery.takeoff", bad),
    good: example!("battery.takeoff", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

/// Pairs of equal takeoffs that are tried.
const PAIRS: usize = 64;
/// Batteries at which another takeoff is tried for the message.
const TRIED: usize = 16;
/// Batteries whose shares are told.
const TOLD: usize = 8;

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for group in groups(cx) {
        if group.is_star(cx) {
            continue;
        }
        let even = group.even(cx);
        let (out_of, into) = (group.takeoffs(cx, true), group.takeoffs(cx, false));
        // Of takeoffs as thick as each other the one that shares best speaks for the bank.
        let pairs = out_of.iter().flat_map(|leaves| into.iter().map(move |back| (*leaves, *back)));
        let best = pairs
            .take(PAIRS)
            .filter_map(|(leaves, back)| {
                let shares = group.shares(cx, leaves, back)?;
                Some((spread(&shares, &even), shares, (leaves, back)))
            })
            .reduce(|best, next| if next.0.as_ratio() < best.0.as_ratio() { next } else { best });
        let Some((spread, shares, at)) = best else { continue };
        if !spread.within(cx.book.share(ShareLimit::Spread)) {
            out.push(finding(cx, &group, &shares, &even, at, spread));
        }
    }
}

/// By how much the largest load on a battery, for its capacity, exceeds the smallest.
fn spread(shares: &[f64], even: &[f64]) -> Share {
    let loads = || shares.iter().zip(even).map(|(share, even)| share / even);
    let (least, most) = (loads().fold(f64::INFINITY, f64::min), loads().fold(0.0, f64::max));
    Share::ratio((most / least.max(1e-9) - 1.0).min(1e6))
}

fn finding(
    cx: &Context<'_>,
    group: &Group<'_>,
    shares: &[f64],
    even: &[f64],
    (leaves, back): (u32, u32),
    spread: Share,
) -> Finding {
    let load = |at: usize| shares[at] / even[at];
    let most = (0..shares.len()).reduce(|best, next| if load(best) < load(next) { next } else { best });
    let most = most.unwrap_or(0);
    let worst = group.sources[most].component;
    let name = cx.name(worst);
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    let mut finding = cx
        .on_component(&RULE, worst)
        .headline(format!(
            "{name} gives {} of what its bank gives, where {} would be even",
            percent(shares[most]),
            percent(even[most])
        ))
        .label(format!("gives {}", percent(shares[most])));
    for (at, source) in group.sources.iter().enumerate().filter(|row| row.0 != most).take(TOLD) {
        let id = source.component;
        finding = finding.related(cx.name(id), cx.span(id), format!("gives {}", percent(shares[at])));
    }
    let help = match elsewhere(cx, group, even, back) {
        Some((terminal, there, better))
            if better.within(spread) && better.as_ratio() < spread.as_ratio() / 2.0 =>
        {
            let told: Vec<String> = there.iter().take(TOLD).map(|share| percent(*share)).collect();
            format!(
                "take the positive off at {terminal}, the corner opposite to the negative: they then give {}; or bring \
                 each battery to a bar by leads of equal length and size: each then gives its even part",
                Context::list(&told)
            )
        }
        _ => "bring each battery to a bar by leads of equal length and size: each then gives its even part"
            .into(),
    };
    finding = finding
        .number("share_percent", 100.0 * shares[most])
        .number("spread_percent", spread.as_percent())
        .number("limit_percent", cx.book.share(ShareLimit::Spread).as_percent())
        .text("leaves_at", cx.circuit.node_name(leaves))
        .text("returns_at", cx.circuit.node_name(back))
        .help(help)
        .figure(
            spread.to_string(),
            format!(
                "between the largest and the smallest share, by conductance, with the load at {} and {}",
                cx.circuit.node_name(leaves),
                cx.circuit.node_name(back)
            ),
        );
    cx.limit_figure(finding, "share.spread")
}

/// The battery whose positive would be the best takeoff, the shares from there, and their spread.
fn elsewhere(
    cx: &Context<'_>,
    group: &Group<'_>,
    even: &[f64],
    back: u32,
) -> Option<(String, Vec<f64>, Share)> {
    let n = group.sources.len();
    // The ends of a row come first, where the best corner is.
    let tried = (0..n.min(TRIED)).map(|at| if at % 2 == 0 { n - 1 - at / 2 } else { at / 2 });
    tried
        .filter_map(|at| {
            let source = group.sources.get(at)?;
            let there = group.shares(cx, *source.plus.first()?, back)?;
            let found = spread(&there, even);
            Some((cx.source_terminal(source.component), there, found))
        })
        .reduce(|best, next| if next.2.as_ratio() < best.2.as_ratio() { next } else { best })
}
