//! `battery.tap`: something is fed from the middle of batteries in series.

use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "battery.tap",
    severity: Severity::Error,
    claim: "Nothing is fed from the middle of batteries in series.",
    why: "The lower battery is drained while the upper stays full; charged together, one is overcharged and the other never filled.",
    how: "A component one of whose poles lies on the metal of a link between two batteries of a string.",
    limits: &[],
    bad: example!("battery.tap", bad),
    good: example!("battery.tap", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let mut seen = rustc_hash::FxHashSet::default();
    for port in &circuit.ports {
        let poles = port.plus.iter().chain([&port.minus]);
        let Some(node) = poles.map(|pole| circuit.metal.node(*pole)).find(|node| circuit.is_middle(*node))
        else {
            continue;
        };
        let in_string =
            circuit.source_of(port.component).is_some_and(|source| port.source && 1 < source.members.len());
        if in_string || !seen.insert(port.component) {
            continue;
        }
        let name = cx.name(port.component);
        let part = circuit.part[node as usize];
        let string = circuit.sources.iter().find(|source| {
            !source.tap
                && 1 < source.members.len()
                && source.members.iter().any(|member| {
                    circuit.ports.iter().any(|port| {
                        port.component == *member
                            && port
                                .plus
                                .iter()
                                .any(|plus| circuit.part[circuit.metal.node(*plus) as usize] == part)
                    })
                })
        });
        let mut finding = cx
            .on_component(&RULE, port.component)
            .headline(format!("{name} is fed from the middle of batteries in series"))
            .label("takes from one of them alone");
        let mut whole = String::from("the whole string");
        if let Some(string) = string {
            for member in &string.members {
                finding = finding.related(cx.name(*member), cx.span(*member), "one of the string");
            }
            if let Some(nominal) = string.nominal {
                whole = format!("the whole string, {nominal}");
            }
        }
        out.push(
            finding
                .help(format!("feed {name} from {whole}, through a converter if it needs a lower voltage")),
        );
    }
}
