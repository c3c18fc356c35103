//! `charging.current`: chargers that together give a battery, or take from an alternator, more than it permits.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::book::ShareLimit;
use crate::circuit::Source;
use crate::design::{Body, ComponentId, Feed, Kind, Setting};
use crate::findings::{Finding, Severity};
use crate::rules::solar::{self, Arrays};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Current, Share, current_against};

use super::{Charged, Settings, battery, charged};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "charging.current",
    severity: Severity::Warning,
    claim: "Chargers together give no more than a battery permits, and take no more than an alternator or a supply bears for good.",
    why: "A battery charged too fast overheats or disconnects; an alternator at its maximum for hours burns its windings.",
    how: "All chargers that reach the same batteries are added up, each with its rated current, or what `set … current` says if that is less; \
          one from solar gives at most the arrays' `vmp` × `imp` × strings × efficiency ÷ its `out` voltage; one with several outputs counts in full on each. \
          They are held to the sum of the batteries' `charge` (a string: its weakest), else the book's share of the capacity. An alternator or \
          supply that feeds a battery directly regulates itself and is not counted. The inputs of chargers on one network are added up likewise \
          against the book's share of the maximum of its alternators and supplies; an input set to give less takes proportionally less. \
          The subject is the largest of the chargers.",
    limits: &[
        "charge.share.lead-acid",
        "charge.share.agm",
        "charge.share.gel",
        "charge.share.lifepo4",
        "charge.share.nmc",
        "alternator.share",
        "efficiency.charger",
        "efficiency.solar-charger",
    ],
    bad: example!("charging.current", bad),
    good: example!("charging.current", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

/// One charger's part of a sum.
struct Part<'c> {
    charger: ComponentId,
    /// What it adds.
    amount: Current,
    /// What it gives at its output for that.
    output: Current,
    /// Where the amount comes from.
    from: String,
    setting: Option<&'c Setting>,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if cx.design.components.iter().all(|row| row.kind != Kind::Charger) {
        return;
    }
    let settings = Settings::new(cx);
    let arrays = solar::arrays(cx);
    for group in charged(cx) {
        let parts: Vec<Part<'_>> =
            group.chargers.iter().filter_map(|id| output(cx, &settings, &arrays, *id)).collect();
        if let Some(limit) = permitted(cx, &group) {
            batteries(cx, &group, &parts, &limit, out);
        }
    }
    networks(cx, &settings, out);
}

/// What a charger gives at its output at most.
fn output<'c>(
    cx: &Context<'c>,
    settings: &Settings<'c>,
    arrays: &Arrays<'c>,
    id: ComponentId,
) -> Option<Part<'c>> {
    let Body::Charger(charger) = &cx.design.components[id].body else { return None };
    let (amount, setting) = settings.output(id, charger.output_current);
    let mut part = Part { charger: id, amount, output: amount, from: "rated".into(), setting };
    if setting.is_some() {
        part.from = format!("set, of {} rated", charger.output_current);
    }
    let sun = arrays.get(&id).and_then(|arrays| solar::power(cx, arrays)).zip(charger.output);
    if let Some((power, voltage)) = sun {
        let efficiency = charger.efficiency.unwrap_or(cx.book.share(ShareLimit::SolarChargerEfficiency));
        let from_sun = power / voltage * efficiency.as_ratio();
        if from_sun < part.amount {
            part.amount = from_sun;
            part.output = from_sun;
            part.setting = None;
            part.from = format!("{power} of solar at {efficiency} into {voltage}");
        }
    }
    Some(part)
}

/// What the batteries of a group may be charged with, and where that is from.
struct Permitted {
    current: Current,
    /// For each battery or string: what it may take, and why.
    each: Vec<(ComponentId, Current, String)>,
    /// The book's figures that were used.
    figures: Vec<String>,
}

/// `None` where a battery neither states it nor has what the book's share needs.
fn permitted(cx: &Context<'_>, group: &Charged<'_>) -> Option<Permitted> {
    let mut permitted = Permitted { current: Current::default(), each: Vec::new(), figures: Vec::new() };
    for source in group.batteries.iter() {
        let mut weakest: Option<(Current, String, Option<&'static str>)> = None;
        for id in &source.members {
            let battery = battery(cx, *id)?;
            let own = match battery.charge {
                Some(charge) => (charge, format!("permits {charge}"), None),
                None => {
                    let (chemistry, capacity) = (battery.chemistry?, battery.capacity?);
                    let share = cx.book.charge_share(chemistry);
                    let current = Current::amps(capacity.as_amp_hours() * share.as_ratio());
                    let from = format!("`charge` is not stated: {share} of {capacity} is {current}");
                    (current, from, Some(chemistry.word()))
                }
            };
            if weakest.as_ref().is_none_or(|row| own.0 < row.0) {
                weakest = Some(own);
            }
        }
        let (current, from, word) = weakest?;
        permitted.current = permitted.current + current;
        permitted.each.push((source.component, current, from));
        if let Some(figure) = word.map(|word| format!("charge.share.{word}"))
            && !permitted.figures.contains(&figure)
        {
            permitted.figures.push(figure);
        }
    }
    Some(permitted)
}

/// Of parts whose sum exceeds a limit the largest, and the sum. Of equal ones the last in the order of statements.
fn excess<'p, 'c>(
    cx: &Context<'_>,
    parts: &'p [Part<'c>],
    limit: Current,
) -> Option<(&'p Part<'c>, Current)> {
    let sum: Current = parts.iter().map(|part| part.amount).sum();
    if sum.within(limit) {
        return None;
    }
    let rank = |part: &Part<'_>| {
        (crate::circuit::micro(part.amount), cx.design.components[part.charger].place.order)
    };
    Some((parts.iter().max_by_key(|part| rank(part))?, sum))
}

fn batteries(
    cx: &Context<'_>,
    group: &Charged<'_>,
    parts: &[Part<'_>],
    limit: &Permitted,
    out: &mut Vec<Finding>,
) {
    let Some((first, sum)) = excess(cx, parts, limit.current) else { return };
    let told = group.told(cx);
    let verb = if group.members().count() == 1 { "permits" } else { "permit" };
    let headline = format!(
        "{} {} {told} with {}, and {told} {verb} {}",
        Context::list(&cx.names(parts.iter().map(|part| part.charger).collect::<Vec<_>>().into_iter())),
        if parts.len() == 1 { "charges" } else { "together charge" },
        current_against(sum, limit.current),
        limit.current,
    );
    let mut finding =
        sum_up(cx, cx.on_component(&RULE, first.charger).headline(headline), parts, first, "gives");
    for (id, _, from) in limit.each.iter().take(8) {
        finding = finding.related(cx.name(*id), cx.span(*id), from.clone());
    }
    finding = finding
        .number("current_a", sum.as_amps())
        .number("limit_a", limit.current.as_amps())
        .texts("chargers", cx.names(parts.iter().map(|part| part.charger).collect::<Vec<_>>().into_iter()))
        .help(format!(
            "{}; or use batteries that permit {}",
            settings_that_do(cx, parts, limit.current),
            up(sum)
        ));
    for figure in &limit.figures {
        finding = cx.limit_figure(finding, figure);
    }
    out.push(finding);
}

/// Each charger's part, as labels and figures.
fn sum_up(
    cx: &Context<'_>,
    mut finding: Finding,
    parts: &[Part<'_>],
    subject: &Part<'_>,
    verb: &str,
) -> Finding {
    finding = finding.label(format!("{verb} {} ({})", subject.amount, subject.from));
    for part in parts.iter().take(24) {
        let name = cx.name(part.charger);
        if part.charger != subject.charger {
            let note = format!("{verb} {} ({})", part.amount, part.from);
            finding = finding.related(name, cx.span(part.charger), note);
        }
        if let Some(setting) = part.setting {
            finding = finding.related(name, setting.place.span, "its current is set here");
        }
    }
    finding
}

/// The settings that bring a sum to its limit: of the largest charger alone where that is enough, else of all in proportion.
fn settings_that_do(cx: &Context<'_>, parts: &[Part<'_>], limit: Current) -> String {
    let sum: Current = parts.iter().map(|part| part.amount).sum();
    let Some(largest) = parts.iter().reduce(|best, part| if best.amount < part.amount { part } else { best })
    else {
        return String::new();
    };
    let set = |part: &Part<'_>, to: Current| {
        // Its output in proportion to what it adds to the sum.
        let output = down(part.output * (to / part.amount));
        (0.0 < output.as_amps()).then(|| format!("`set {} current {output}`", cx.name(part.charger)))
    };
    let room = limit - (sum - largest.amount);
    // A charger turned down below a fifth would hardly be worth having.
    if largest.amount * 0.2 < room
        && let Some(setting) = set(largest, room)
    {
        return format!("turn {} down: {setting}", cx.name(largest.charger));
    }
    let ratio = limit / sum;
    let all: Vec<String> = parts.iter().take(24).filter_map(|part| set(part, part.amount * ratio)).collect();
    format!("turn them down: {}", Context::list(&all))
}

/// Rounded down to what a charger can be set to: whole amperes, below 10 A tenths.
fn down(current: Current) -> Current {
    let amps = current.as_amps() * (1.0 + 1e-9);
    Current::amps(if amps < 10.0 { (amps * 10.0).floor() / 10.0 } else { amps.floor() })
}

fn up(current: Current) -> Current {
    Current::amps((current.as_amps() * (1.0 - 1e-9)).ceil())
}

/// The inputs of chargers against the alternators and supplies of their network.
fn networks(cx: &Context<'_>, settings: &Settings<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let mut feeders: FxHashMap<(u32, u32), Vec<(&Source, Current)>> = FxHashMap::default();
    for source in &circuit.sources {
        let maximum = match &cx.design.components[source.component].body {
            Body::Alternator(alternator) => Some(alternator.maximum),
            Body::Supply(supply) => supply.maximum.or(supply.fused),
            _ => None,
        };
        if let Some(maximum) = maximum {
            for key in circuit.poles(source) {
                feeders.entry(key).or_default().push((source, maximum));
            }
        }
    }
    if feeders.is_empty() {
        return;
    }
    let mut inputs: FxHashMap<(u32, u32), Vec<Part<'_>>> = FxHashMap::default();
    let mut order = Vec::new();
    let mut unlimited = FxHashSet::default();
    for source in circuit.sources.iter().filter(|source| source.kind == Kind::Supply) {
        if matches!(&cx.design.components[source.component].body, Body::Supply(supply) if supply.maximum.or(supply.fused).is_none())
        {
            unlimited.extend(circuit.poles(source));
        }
    }
    for port in circuit.ports.iter().filter(|port| !port.source) {
        let Body::Charger(charger) = &cx.design.components[port.component].body else { continue };
        let (Feed::Dc, Some(plus)) = (charger.feed, port.plus.first()) else { continue };
        let part = |terminal| circuit.part[circuit.metal.node(terminal) as usize];
        let key = (part(*plus), part(port.minus));
        let Some(input) = circuit.demand_of(port.component) else { continue };
        if !feeders.contains_key(&key) || unlimited.contains(&key) {
            continue;
        }
        let (output, setting) = settings.output(port.component, charger.output_current);
        let amount = input * (output / charger.output_current);
        let mut from = match charger.input_current {
            Some(_) => "its rated input".to_owned(),
            None => "computed from its output and efficiency".to_owned(),
        };
        if setting.is_some() {
            from = format!("{input} rated, set to give {output} of {}", charger.output_current);
        }
        let row = inputs.entry(key).or_default();
        if row.is_empty() {
            order.push(key);
        }
        row.push(Part { charger: port.component, amount, output, from, setting });
    }
    for key in order {
        let (Some(feeders), Some(parts)) = (feeders.get(&key), inputs.get(&key)) else { continue };
        network(cx, feeders, parts, out);
    }
}

fn network(cx: &Context<'_>, feeders: &[(&Source, Current)], parts: &[Part<'_>], out: &mut Vec<Finding>) {
    let share = cx.book.share(ShareLimit::Alternator);
    let maximum: Current = feeders.iter().map(|row| row.1).sum();
    let limit = maximum * share.as_ratio();
    let Some((first, sum)) = excess(cx, parts, limit) else { return };
    let names = cx.names(feeders.iter().map(|row| row.0.component).collect::<Vec<_>>().into_iter());
    let chargers = cx.names(parts.iter().map(|part| part.charger).collect::<Vec<_>>().into_iter());
    let headline = format!(
        "{} {} {}, and {} {} {limit} for good",
        Context::list(&chargers),
        if parts.len() == 1 { "takes" } else { "together take" },
        current_against(sum, limit),
        Context::list(&names),
        if names.len() == 1 { "bears" } else { "bear" },
    );
    let mut finding =
        sum_up(cx, cx.on_component(&RULE, first.charger).headline(headline), parts, first, "takes");
    for (source, own) in feeders.iter().take(8) {
        let note = format!("gives up to {own}");
        finding = finding.related(cx.name(source.component), cx.span(source.component), note);
    }
    let needed = up(sum / share.as_ratio());
    let what = match feeders {
        [(source, _)] => cx.design.components[source.component].kind.phrase(),
        _ => "sources".into(),
    };
    finding = finding
        .number("current_a", sum.as_amps())
        .number("limit_a", limit.as_amps())
        .texts("chargers", chargers)
        .texts("fed_by", names)
        .help(format!("{}; or use {what} of {needed} or more", settings_that_do(cx, parts, limit)))
        .figure(limit.to_string(), format!("{} of {maximum}", Share::ratio(share.as_ratio())));
    out.push(cx.limit_figure(finding, "alternator.share"));
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    for group in charged(cx).iter().filter(|group| !group.chargers.is_empty()) {
        for id in group.members() {
            match battery(cx, id).map(|battery| (battery.charge, battery.chemistry, battery.capacity)) {
                Some((None, Some(chemistry), Some(_))) => {
                    let share = cx.book.charge_share(chemistry);
                    let value =
                        format!("{share} of the capacity an hour, the book's for {}", chemistry.word());
                    out.add("charge", Without::Assumed(value), id);
                }
                Some((None, _, _)) => out.add("charge", Without::NotJudged, id),
                _ => {}
            }
        }
    }
    let mut fed: Vec<_> = solar::arrays(cx).into_iter().collect();
    fed.sort_unstable_by_key(|row| row.0);
    for (charger, arrays) in fed {
        let open = |id: &ComponentId| solar::power_of(cx, *id).is_none();
        let open: Vec<ComponentId> =
            arrays.iter().flat_map(|source| &source.members).copied().filter(open).collect();
        if !open.is_empty() {
            let value = format!("all that {} is rated for", cx.name(charger));
            out.add_all("vmp and imp", Without::Assumed(value), open);
        }
    }
}
