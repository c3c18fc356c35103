//! `charging.lockout`: a charger turns itself off by what its own current loses on the way.

use crate::book::ShareLimit;
use crate::design::{Body, ComponentId, Feed, Kind, Setting, SettingValue};
use crate::findings::{Finding, Severity};
use crate::rules::lost::{Goal, Lost, Sizes, suggest, tell_cures};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::study::{Drop, Drops, ModeStudy, Study, Ways};
use crate::units::{Voltage, fine_voltage, voltage_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "charging.lockout",
    severity: Severity::Warning,
    claim: "In every mode in which a charger is on, at least its `engine-off` voltage reaches its input.",
    why: "The charger takes the drop in its own feed for an engine that has stopped: it turns itself off, the voltage comes back, it turns on \
          again, and the battery is never charged.",
    how: "The voltage at the input in each mode in which the charger is on, as `ohmward study` computes it, against its `set … engine-off`; of \
          the modes the one with the least is told. A mode in which a starter turns lasts for seconds and is left out. The parts of the drop \
          and the suggested sizes are found as for `conductor.drop`, from the battery of the input's network, else from the source that gives \
          most.",
    limits: &["conductor.operating", "efficiency.charger"],
    bad: example!("charging.lockout", bad),
    good: example!("charging.lockout", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if settings(cx).next().is_none() {
        return;
    }
    let Some(study) = cx.study() else { return };
    let sizes = Sizes::new(cx, study);
    for (setting, off) in settings(cx) {
        let reached =
            study.modes.iter().filter_map(|mode| Some((mode, reaches(cx, mode, setting.component)?)));
        let least = reached.reduce(|least, next| if next.1 < least.1 { next } else { least });
        if let Some((mode, volts)) = least.filter(|row| !off.within(row.1)) {
            out.push(finding(cx, study, &sizes, setting, off, (mode, volts)));
        }
    }
}

/// The `engine-off` settings of chargers.
fn settings<'c>(cx: &Context<'c>) -> impl Iterator<Item = (&'c Setting, Voltage)> {
    let design = cx.design;
    design.settings.iter().filter_map(move |setting| match setting.value {
        SettingValue::Voltage(off)
            if setting.word == "engine-off" && design.components[setting.component].kind == Kind::Charger =>
        {
            Some((setting, off))
        }
        _ => None,
    })
}

/// What reaches a charger's input in a mode in which it is on.
fn reaches(cx: &Context<'_>, mode: &ModeStudy, id: ComponentId) -> Option<Voltage> {
    let solution = mode.solution.as_ref().ok()?;
    if mode.elements.takers.iter().any(|taker| cx.circuit.is_starter(taker.component)) {
        return None;
    }
    let at = mode.elements.givers.iter().position(|giver| giver.component == id)?;
    let input = mode.elements.givers[at].input?;
    if solution.starved.contains(&at) {
        return None;
    }
    mode.across(input.plus, input.minus).map(Voltage::volts)
}

fn finding(
    cx: &Context<'_>,
    study: &Study,
    sizes: &Sizes<'_>,
    setting: &Setting,
    off: Voltage,
    (mode, volts): (&ModeStudy, Voltage),
) -> Finding {
    let id = setting.component;
    let name = cx.name(id);
    let told = voltage_against(volts, off);
    let drop = drop(cx, study, mode, id);
    let way = drop.and_then(|drop| Ways::of(&study.network, mode)?.of_drop(&drop)).unwrap_or_default();
    let lost = Lost::of(cx, study, mode, &way);
    let does = |mode: &ModeStudy| reaches(cx, mode, id).is_some_and(|volts| off.within(volts));
    let saves = |saved: Voltage| off.within(volts + saved);
    let cures = sizes.that(mode, &lost, &Goal { does: &does, saves: &saves });
    // Rounded down to the tenth of a volt, as chargers are set.
    let lower = Voltage::volts(((volts.as_volts() * (1.0 + 1e-9)) * 10.0).floor() / 10.0);
    let set = format!("set {name} engine-off to {} or less", fine_voltage(lower));
    let help = match tell_cures(cx, &cures) {
        Some(words) => format!("{words}, or {set}"),
        None => set,
    };
    let mut finding = cx
        .at(&RULE, "", setting.place)
        .headline(format!(
            "{told} reaches the input of {name} {}, and it takes less than {} for an engine that is off",
            cx.in_mode(mode),
            fine_voltage(off)
        ))
        .label(format!("{name} turns itself off"))
        .related(name, cx.span(id), format!("gets {told}"))
        .number("voltage_v", volts.as_volts())
        .number("engine_off_v", off.as_volts())
        .number("suggested_v", lower.as_volts())
        .help(help);
    if let Some(drop) = drop {
        let source = cx.name(drop.source);
        if let Some(holds) = mode.across(drop.from.0, drop.from.1) {
            let holds = fine_voltage(Voltage::volts(holds));
            finding = finding.related(source, cx.span(drop.source), format!("holds {holds} at its poles"));
        }
        finding = finding
            .number("drop_v", drop.lost.as_volts())
            .text("source", source)
            .figure(drop.lost.to_string(), format!("lost between {source} and {name}"));
    }
    finding = suggest(cx, &cures, lost.tell(cx, finding)).text("charger", name);
    if assumes_efficiency(cx, id) {
        finding = cx.limit_figure(finding, ShareLimit::ChargerEfficiency.name());
    }
    cx.tell_mode(finding, mode, told)
}

fn drop(cx: &Context<'_>, study: &Study, mode: &ModeStudy, id: ComponentId) -> Option<Drop> {
    let giver = mode.elements.givers.iter().find(|giver| giver.component == id)?;
    Drops::of(cx.circuit, &study.network, mode)?.of_input(giver)
}

/// The efficiency of a charger that states none is the book's.
fn assumes_efficiency(cx: &Context<'_>, id: ComponentId) -> bool {
    matches!(&cx.design.components[id].body, Body::Charger(charger) if charger.efficiency.is_none() && charger.feed == Feed::Dc)
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    for (setting, _) in settings(cx).filter(|row| assumes_efficiency(cx, row.0.component)) {
        let value = format!("{}, the book's for chargers", cx.book.share(ShareLimit::ChargerEfficiency));
        out.add("efficiency", Without::Assumed(value), setting.component);
    }
}
