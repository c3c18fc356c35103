//! `conductor.drop`: too little of the voltage arrives at a load, or at the battery that a charger charges.

use crate::book::ShareLimit;
use crate::circuit::Circuit;
use crate::design::{Body, ComponentId, Id, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::lost::{Goal, Lost, Sizes, suggest, tell_cures};
use crate::rules::{Context, Rule, Unstated, example};
use crate::study::{Drop, Drops, ModeStudy, Study, Ways};
use crate::units::{Voltage, fine_voltage, share_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "conductor.drop",
    severity: Severity::Warning,
    claim: "No mode loses more voltage between a battery and a load and back, or a charger and its battery, than the book allows.",
    why: "What is lost in wires is missing at the load: lamps dim, pumps and radios fail first when the battery is low, refrigerators do not \
          start, and a charger never fills its battery.",
    how: "In each mode, the voltage at the poles of the battery of its network less that at the load that is on, as `ohmward study` computes it; \
          of several batteries that closed metal joins to the load the one that gives most, and without a battery the source that gives most. \
          For a charger, the voltage at its output less that at the battery. It is held as a share of nominal voltage against `drop.critical` \
          for a load marked `critical`, else `drop.other`; one that is critical is an error. Of the modes the worst is told. A mode in which a \
          starter turns lasts for seconds: only the starter itself is judged in it. The parts are those of the way whose smallest current is \
          the largest, out and back; they add up to the drop whatever the way. Suggested sizes are the smallest of each wire's series with \
          which the mode, solved again, keeps the limit.",
    limits: &["drop.critical", "drop.other", "conductor.operating"],
    bad: example!("conductor.drop", bad),
    good: example!("conductor.drop", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

/// The worst drop of a component so far.
#[derive(Clone, Copy)]
struct Worst {
    drop: Drop,
    mode: usize,
    n_modes: usize,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some(study) = cx.study() else { return };
    let mut worst: Vec<Option<Worst>> = vec![None; cx.design.components.len()];
    for (at, mode) in study.modes.iter().enumerate() {
        let Some(drops) = Drops::of(cx.circuit, &study.network, mode) else { continue };
        for (id, drop) in in_mode(cx.circuit, mode, &drops) {
            if drop.share().within(cx.book.share(limit_of(cx, id))) {
                continue;
            }
            let row = &mut worst[id.index()];
            let n_modes = row.map_or(0, |row| row.n_modes) + 1;
            let (drop, mode) = match row {
                Some(row) if drop.lost <= row.drop.lost => (row.drop, row.mode),
                _ => (drop, at),
            };
            *row = Some(Worst { drop, mode, n_modes });
        }
    }
    let sizes = Sizes::new(cx, study);
    let mut ways: Vec<Option<Ways>> = study.modes.iter().map(|_| None).collect();
    for (id, worst) in cx.design.components.ids().zip(worst) {
        let Some(worst) = worst else { continue };
        let mode = &study.modes[worst.mode];
        let ways = &mut ways[worst.mode];
        if ways.is_none() {
            *ways = Ways::of(&study.network, mode);
        }
        let way = ways.as_ref().and_then(|ways| ways.of_drop(&worst.drop)).unwrap_or_default();
        let lost = Lost::of(cx, study, mode, &way);
        out.push(finding(cx, study, &sizes, id, &worst, &lost));
    }
}

/// The drops of one mode that are judged.
fn in_mode(circuit: &Circuit<'_>, mode: &ModeStudy, drops: &Drops<'_>) -> Vec<(ComponentId, Drop)> {
    let takers = &mode.elements.takers;
    let cranks = takers.iter().any(|taker| circuit.is_starter(taker.component));
    let loads = takers.iter().enumerate().filter(|(_, taker)| {
        circuit.design.components[taker.component].kind == Kind::Load
            && (!cranks || circuit.is_starter(taker.component))
    });
    let mut found: Vec<(ComponentId, Drop)> =
        loads.filter_map(|(at, taker)| Some((taker.component, drops.of_taker(at)?))).collect();
    if !cranks {
        found.extend(mode.elements.givers.iter().filter_map(|giver| {
            match &circuit.design.components[giver.component].body {
                Body::Charger(charger) => {
                    let nominal = charger.output.unwrap_or(giver.set);
                    Some((giver.component, drops.of_outputs(giver, nominal)?))
                }
                _ => None,
            }
        }));
    }
    found
}

fn is_critical(cx: &Context<'_>, id: ComponentId) -> bool {
    matches!(&cx.design.components[id].body, Body::Load(load) if load.critical)
}

fn limit_of(cx: &Context<'_>, id: ComponentId) -> ShareLimit {
    if is_critical(cx, id) { ShareLimit::DropCritical } else { ShareLimit::DropOther }
}

fn finding(
    cx: &Context<'_>,
    study: &Study,
    sizes: &Sizes<'_>,
    id: ComponentId,
    worst: &Worst,
    lost: &Lost,
) -> Finding {
    let (drop, mode) = (worst.drop, &study.modes[worst.mode]);
    let (name, source) = (cx.name(id), cx.name(drop.source));
    let named = limit_of(cx, id);
    let limit = cx.book.share(named);
    let told = share_against(drop.share(), limit);
    let is_charger = cx.design.components[id].kind == Kind::Charger;
    let component = &cx.design.components[id];
    let by_itself = if is_critical(cx, id) { Severity::Error } else { Severity::Warning };
    let severity = cx.book.rule(RULE.id).severity.unwrap_or(by_itself);
    let most = drop.nominal * limit.as_ratio();
    let keeps = |lost: Voltage| lost.within(most);
    let does = |mode: &ModeStudy| {
        let lost = || Some(mode.across(drop.from.0, drop.from.1)? - mode.across(drop.to.0, drop.to.1)?);
        lost().is_some_and(|lost| keeps(Voltage::volts(lost)))
    };
    let saves = |saved: Voltage| keeps(drop.lost - saved);
    let cures = sizes.that(mode, lost, &Goal { does: &does, saves: &saves });
    let help = match tell_cures(cx, &cures) {
        Some(words) => format!("{words}; at most {most} may be lost"),
        None => format!(
            "no standard size is enough: shorten the way between {source} and {name}, or take less through it; at most {most} may be lost"
        ),
    };
    let ends = if is_charger { (name, source) } else { (source, name) };
    let across =
        |poles: (_, _)| mode.across(poles.0, poles.1).map(|volts| fine_voltage(Voltage::volts(volts)));
    let (own, other) = if is_charger { (drop.from, drop.to) } else { (drop.to, drop.from) };
    let mut finding = cx
        .place(RULE.id.into(), severity, &component.name, component.place)
        .headline(format!(
            "{} is lost between {} and {} {}: {told} of {}, and {limit} is allowed",
            drop.lost,
            ends.0,
            ends.1,
            cx.in_mode(mode),
            drop.nominal
        ))
        .label(across(own).map_or_else(String::new, |volts| {
            if is_charger { format!("holds {volts}") } else { format!("gets {volts}") }
        }))
        .number("drop_v", drop.lost.as_volts())
        .number("drop_percent", drop.share().as_percent())
        .number("limit_percent", limit.as_percent())
        .number("limit_v", most.as_volts())
        .text("source", source)
        .help(help);
    if let Some(volts) = across(other) {
        let note = if is_charger { format!("gets {volts}") } else { format!("holds {volts} at its poles") };
        finding = finding.related(source, cx.span(drop.source), note);
    }
    finding = suggest(cx, &cures, lost.tell(cx, finding));
    finding = cx.limit_figure(finding, named.name());
    finding = cx.tell_mode(finding, mode, drop.lost.to_string());
    if 1 < worst.n_modes {
        finding = finding.figure(format!("{} modes", worst.n_modes), "in which more is lost than is allowed");
    }
    finding
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    cx.unstated_demand(out);
}
