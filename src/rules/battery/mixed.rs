//! `battery.mixed`: batteries of different chemistry or voltage joined.

use crate::circuit::Source;
use crate::design::{Body, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "battery.mixed",
    severity: Severity::Error,
    claim: "Batteries that are joined, or that a switch can join, are of one chemistry and nominal voltage.",
    why: "The stronger one drives a current into the other that nothing limits, and no charging voltage suits both.",
    how: "Positives that lie in one part of the metal graph, every switch closed; a string counts as one battery of its whole voltage.",
    limits: &[],
    bad: example!("battery.mixed", bad),
    good: example!("battery.mixed", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let mut first: rustc_hash::FxHashMap<u32, &Source> = rustc_hash::FxHashMap::default();
    let mut batteries: Vec<&Source> =
        circuit.sources.iter().filter(|source| source.kind == Kind::Battery && !source.tap).collect();
    batteries.sort_by_key(|source| cx.design.components[source.component].place.order);
    for source in batteries {
        let part = circuit.part[source.plus[0] as usize];
        match first.get(&part) {
            None => {
                first.insert(part, source);
            }
            Some(other) => out.extend(finding(cx, other, source)),
        }
    }
}

fn finding(cx: &Context<'_>, first: &Source, other: &Source) -> Option<Finding> {
    let of = |source: &Source| match &cx.design.components[source.component].body {
        Body::Battery(battery) => battery.chemistry,
        _ => None,
    };
    let (chemistry, other_chemistry) = (of(first), of(other));
    let (voltage, other_voltage) = (first.nominal?, other.nominal?);
    let mixed_chemistry = matches!((chemistry, other_chemistry), (Some(a), Some(b)) if a != b);
    if !mixed_chemistry && voltage == other_voltage {
        return None;
    }
    let tell = |chemistry: Option<crate::design::Chemistry>, voltage| match chemistry {
        Some(chemistry) => format!("{} {voltage}", chemistry.word()),
        None => format!("{voltage}"),
    };
    let (name, first_name) = (cx.name(other.component), cx.name(first.component));
    let (own, its) = (tell(other_chemistry, other_voltage), tell(chemistry, voltage));
    Some(
        cx.on_component(&RULE, other.component)
            .headline(format!("{name} ({own}) is joined to {first_name} ({its})"))
            .label(own)
            .related(first_name, cx.span(first.component), its)
            .text("joined_to", first_name)
            .help(format!(
                "keep {name} and {first_name} apart, with a charger between them; or use batteries of one chemistry and voltage"
            )),
    )
}
