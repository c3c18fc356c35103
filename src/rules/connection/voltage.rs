//! `connection.voltage`: a component on a network of another nominal voltage.

use crate::circuit::Port;
use crate::design::{Body, ComponentId, Feed, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::Voltage;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "connection.voltage",
    severity: Severity::Error,
    claim: "A component is fed from a network of its own nominal voltage, and a charger's output suits the battery on it.",
    why: "Too high a voltage destroys it; with too low a one it does not work, or draws more current than its wires carry.",
    how: "Nominal voltages are compared with that of the batteries on the network (a string's is the sum), else of its first source. A fifth more \
          or less is taken as the same nominal voltage: 12, 12.8 and 14 V are one, 12 and 24 V are not.",
    limits: &[],
    bad: example!("connection.voltage", bad),
    good: example!("connection.voltage", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

/// Nominal voltages farther apart than this are different ones (common practice, no source).
const SAME: f64 = 1.2;

/// Whether two nominal voltages are taken as the same.
pub(in crate::rules) fn are_of_one_nominal(one: Voltage, other: Voltage) -> bool {
    one.max(other).within(one.min(other) * SAME)
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let mut seen = rustc_hash::FxHashSet::default();
    let mut nominal: rustc_hash::FxHashMap<u32, Option<(Voltage, ComponentId)>> =
        rustc_hash::FxHashMap::default();
    for port in &circuit.ports {
        let component = &cx.design.components[port.component];
        let Some(own) = own_voltage(&component.body, port.source) else { continue };
        for plus in &port.plus {
            let node = circuit.metal.node(*plus);
            let part = circuit.part[node as usize];
            let network = *nominal.entry(part).or_insert_with(|| circuit.network(part));
            let Some((network, source)) = network.filter(|_| circuit.is_live(node)) else { continue };
            let differs = !are_of_one_nominal(own, network);
            let itself = circuit.source_of(port.component).is_some_and(|own| own.component == source);
            if differs && !itself && seen.insert(port.component) {
                out.push(finding(cx, port.component, port.source, own, network, source));
            }
        }
    }
}

/// A port's own nominal voltage; batteries are compared with each other by another rule.
fn own_voltage(body: &Body, output: bool) -> Option<Voltage> {
    match body {
        Body::Load(load) => load.nominal,
        Body::Inverter(inverter) => inverter.nominal,
        Body::Alternator(alternator) => alternator.nominal,
        Body::Supply(supply) => supply.nominal,
        Body::Charger(charger) if output => charger.output,
        Body::Charger(charger) if charger.feed == Feed::Dc => charger.input,
        _ => None,
    }
}

fn finding(
    cx: &Context<'_>,
    id: ComponentId,
    output: bool,
    own: Voltage,
    network: Voltage,
    source: ComponentId,
) -> Finding {
    let name = cx.name(id);
    let is_charger = cx.design.components[id].kind == Kind::Charger;
    let headline = match (is_charger, output) {
        (true, true) => format!("{name} gives {own} to a network of {network}"),
        (true, false) => format!("the input of {name} is for {own} and is fed from {network}"),
        (false, true) => format!("{name} gives {own} to a network of {network}"),
        (false, false) => format!("{name} is for {own} and is fed from {network}"),
    };
    cx.on_component(&RULE, id)
        .headline(headline)
        .label(format!("{own} nominal"))
        .related(cx.name(source), cx.span(source), format!("makes this a network of {network}"))
        .number("rated_v", own.as_volts())
        .number("voltage_v", network.as_volts())
        .help(format!(
            "use a component for {network} in place of {name}, or connect it to a network of {own}"
        ))
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let judged = |port: &&Port| match &cx.design.components[port.component].body {
        Body::Load(_) | Body::Inverter(_) => true,
        Body::Charger(charger) => port.source || charger.feed == Feed::Dc,
        _ => false,
    };
    let open = cx.circuit.ports.iter().filter(judged);
    let open =
        open.filter(|port| own_voltage(&cx.design.components[port.component].body, port.source).is_none());
    out.add_all("V", Without::NotJudged, open.map(|port| port.component));
}
