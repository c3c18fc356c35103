//! `charging.cold`: a lithium battery that can be charged below its limit.

use crate::book::TemperatureLimit;
use crate::design::{Body, Chemistry, ComponentId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::Temperature;

use super::{battery, charged};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "charging.cold",
    severity: Severity::Warning,
    claim: "A lithium battery that may be cold is charged only where the battery or the charger refuses to charge below the limit.",
    why: "Charged below freezing, lithium plates out as metal in the cells: capacity is lost for good, and the cell may short inside.",
    how: "Every charger on a lithium battery, all switches closed, where neither has `cold-cutoff`. A battery may be as cold as \
          `temperature.lowest`, or as its zone where that is colder still: a zone's ambient is the warm side that cables are rated for. A heated place \
          is stated by the limit. Alternators and supplies without a charger are not judged.",
    limits: &["temperature.lowest", "charge.coldest-lithium"],
    bad: example!("charging.cold", bad),
    good: example!("charging.cold", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let coldest = cx.book.temperature(TemperatureLimit::LithiumCharge);
    let lowest = cx.book.temperature(TemperatureLimit::Lowest);
    let is_exposed = |id: ComponentId| {
        battery(cx, id).is_some_and(|battery| {
            battery.chemistry.is_some_and(Chemistry::is_lithium)
                && !battery.cold_cutoff
                && !coldest.within(in_zone(cx, id, lowest))
        })
    };
    for group in charged(cx) {
        let unguarded: Vec<ComponentId> = group
            .chargers
            .iter()
            .copied()
            .filter(|id| matches!(&cx.design.components[*id].body, Body::Charger(charger) if !charger.cold_cutoff))
            .collect();
        if unguarded.is_empty() {
            continue;
        }
        let exposed: Vec<ComponentId> = group.members().filter(|id| is_exposed(*id)).collect();
        let Some(first) = exposed.first() else { continue };
        let at = in_zone(cx, *first, lowest);
        for charger in unguarded {
            out.push(finding(cx, charger, &exposed, at, coldest));
        }
    }
}

/// How cold it may be where a component stands.
fn in_zone(cx: &Context<'_>, id: ComponentId, lowest: Temperature) -> Temperature {
    cx.design.components[id].zone.map_or(lowest, |zone| lowest.min(cx.design.zones[zone].ambient))
}

fn finding(
    cx: &Context<'_>,
    charger: ComponentId,
    exposed: &[ComponentId],
    at: Temperature,
    coldest: Temperature,
) -> Finding {
    let name = cx.name(charger);
    let batteries = Context::list(&cx.names(exposed.iter().copied()));
    let mut finding = cx
        .on_component(&RULE, charger)
        .headline(format!(
            "{name} can charge {batteries} at {at}, below the {coldest} that a lithium battery may be charged at"
        ))
        .label("charges whatever the temperature");
    for id in exposed.iter().take(8) {
        let word = battery(cx, *id).and_then(|battery| battery.chemistry).map_or("", Chemistry::word);
        finding = finding.related(cx.name(*id), cx.span(*id), format!("{word}, without `cold-cutoff`"));
    }
    finding = finding
        .number("lowest_c", at.as_celsius())
        .number("limit_c", coldest.as_celsius())
        .texts("batteries", cx.names(exposed.iter().copied()))
        .help(format!(
            "use a charger that measures the battery's temperature, or a battery that refuses charge below {coldest}, and state it: `cold-cutoff` on \
             {name} or on {batteries}; where the battery is kept warm, say so with `limit temperature.lowest {coldest} because \"…\"`"
        ));
    finding = cx.limit_figure(finding, "temperature.lowest");
    cx.limit_figure(finding, "charge.coldest-lithium")
}
