//! `isolation.lost`: a load that must stay fed loses its supply with a main switch open.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::circuit::UNLIMITED;
use crate::design::{Body, ComponentId, Feed, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::Current;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "isolation.lost",
    severity: Severity::Warning,
    claim: "A load marked `standby` stays fed with any main switch open.",
    why: "A bilge pump or an alarm that goes dead with the main switch is missed when nobody is there.",
    how: "Each pole of a main switch's handle is taken out alone: a `standby` load whose positive or negative is then on no battery's or supply's side has \
          lost its supply. A load on a converter's output depends on the converter's input, where nothing else feeds that output; chargers, solar \
          and alternators come and go and do not count.",
    limits: &[],
    bad: example!("isolation.lost", bad),
    good: example!("isolation.lost", good),
    of_absence: true,
    studies: false,
    unstated: None,
    check,
};

/// Places in a sum over one side of an edge: what holds the voltage and what must stay fed, by positives and by negatives.
type Side = [u64; 4];

/// What must stay fed: a load, or the converter by which it is fed.
struct Needs {
    /// Ports, each with the load that needs it.
    ports: Vec<(ComponentId, ComponentId)>,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mains = super::mains(cx);
    if mains.is_empty() {
        return;
    }
    let circuit = cx.circuit;
    let needs = Needs::find(cx);
    if needs.ports.is_empty() {
        return;
    }
    let mut at: Vec<Side> = vec![Side::default(); circuit.metal.n_nodes];
    for source in circuit.sources.iter().filter(|source| stands(source)) {
        at[source.plus[0] as usize][0] += 1;
        at[source.minus as usize][2] += 1;
    }
    let needed: FxHashMap<ComponentId, ComponentId> = needs.ports.iter().copied().collect();
    for port in circuit.ports.iter().filter(|port| !port.source && needed.contains_key(&port.component)) {
        at[circuit.metal.node(port.plus[0]) as usize][1] += 1;
        at[circuit.metal.node(port.minus) as usize][3] += 1;
    }
    let sides = circuit.blocks().sides(&circuit.metal.graph, &circuit.part, &at);
    for (main, poles) in mains {
        let mut lost: Vec<(ComponentId, ComponentId)> = Vec::new();
        let mut parts = false;
        for pole in poles {
            let (first, second) = sides[pole as usize];
            let (a, b) = circuit.metal.graph.ends(pole);
            for (side, other, node) in [(first, second, a), (second, first, b)] {
                if (0..2).any(|of| side[2 * of] == 0 && 0 < side[2 * of + 1] && 0 < other[2 * of]) {
                    parts = true;
                    lost.extend(beyond(cx, node, pole, &needed));
                }
            }
        }
        lost.sort_unstable();
        lost.dedup();
        if parts {
            out.push(finding(cx, main, &lost));
        }
    }
}

/// Holds the voltage by itself: a battery, or a supply.
fn stands(source: &crate::circuit::Source) -> bool {
    source.kind == Kind::Supply || UNLIMITED <= source.limit
}

impl Needs {
    fn find(cx: &Context<'_>) -> Self {
        let circuit = cx.circuit;
        let part = |plus| circuit.part[circuit.metal.node(plus) as usize];
        // What must stay fed on each part, the first load of each.
        let mut by_part: FxHashMap<u32, ComponentId> = FxHashMap::default();
        let mut ports = Vec::new();
        let mut inputs: FxHashMap<ComponentId, u32> = FxHashMap::default();
        for port in circuit.ports.iter().filter(|port| !port.source) {
            if super::is_standby(cx, port.component) {
                ports.push((port.component, port.component));
                by_part.entry(part(port.plus[0])).or_insert(port.component);
            }
            if matches!(&cx.design.components[port.component].body, Body::Charger(charger) if charger.feed == Feed::Dc)
            {
                inputs.insert(port.component, part(port.plus[0]));
            }
        }
        let mut stack: Vec<(u32, ComponentId)> = by_part.iter().map(|row| (*row.0, *row.1)).collect();
        stack.sort_unstable();
        let mut seen: FxHashSet<u32> = stack.iter().map(|row| row.0).collect();
        while let Some((part, load)) = stack.pop() {
            let mut sources = circuit.sources_on(part);
            let (Some(only), None) = (sources.next(), sources.next()) else { continue };
            if let Some(input) = inputs.get(&only.component) {
                ports.push((only.component, load));
                if seen.insert(*input) {
                    stack.push((*input, load));
                }
            }
        }
        Self { ports }
    }
}

/// What must stay fed on one side of a pole, each with the load that needs it.
fn beyond(
    cx: &Context<'_>,
    node: u32,
    pole: u32,
    needed: &FxHashMap<ComponentId, ComponentId>,
) -> Vec<(ComponentId, ComponentId)> {
    let circuit = cx.circuit;
    if !circuit.may_look() {
        return Vec::new();
    }
    let (nodes, _) = circuit.metal.graph.spread(&[node], |edge, _| edge != pole);
    circuit.look(nodes.len());
    nodes
        .iter()
        .flat_map(|node| &circuit.metal.terminals[*node as usize])
        .filter_map(|terminal| {
            use crate::design::TerminalRole as R;
            let row = cx.design.terminals[*terminal];
            let is_port = matches!(row.role, R::Plus | R::Minus | R::InPlus | R::InMinus);
            needed.get(&row.component).filter(|_| is_port).map(|load| (row.component, *load))
        })
        .collect()
}

/// The live part of what takes current at a component.
fn port_part(cx: &Context<'_>, id: ComponentId) -> Option<u32> {
    let port = cx.circuit.ports.iter().find(|port| port.component == id && !port.source)?;
    Some(cx.circuit.part[cx.circuit.metal.node(port.plus[0]) as usize])
}

fn finding(cx: &Context<'_>, main: ComponentId, lost: &[(ComponentId, ComponentId)]) -> Finding {
    let name = cx.name(main);
    let tell = |row: &(ComponentId, ComponentId)| {
        if row.0 == row.1 {
            cx.name(row.0).to_owned()
        } else {
            format!("{} (through {})", cx.name(row.1), cx.name(row.0))
        }
    };
    let mut names: Vec<String> = lost.iter().take(12).map(tell).collect();
    if names.len() < lost.len() {
        names.push(format!("{} more", lost.len() - names.len()));
    }
    let verb = if lost.len() < 2 { "loses its" } else { "lose their" };
    if names.is_empty() {
        names.push("what must stay fed".into());
    }
    let list = Context::list(&names);
    let mut finding = cx
        .on_component(&RULE, main)
        .headline(format!("with {name} open, {list} {verb} supply"))
        .label("cuts off what has to stay fed")
        .texts("lost", cx.names(lost.iter().map(|row| row.1)));
    for (port, load) in lost.iter().take(8) {
        finding = finding.related(cx.name(*load), cx.span(*load), "marked `standby`");
        if port != load {
            finding =
                finding.related(cx.name(*port), cx.span(*port), format!("alone feeds {}", cx.name(*load)));
        }
    }
    let ports = if lost.is_empty() { list } else { Context::list(&cx.names(lost.iter().map(|row| row.0))) };
    let current: Current = lost.iter().filter_map(|row| cx.circuit.demand_of(row.0)).sum();
    for (port, _) in lost.iter().take(8) {
        if let Some(taken) = cx.circuit.demand_of(*port) {
            finding =
                finding.figure(taken.to_string(), format!("what {} takes by its ratings", cx.name(*port)));
        }
    }
    let battery =
        cx.circuit.banks.first().and_then(|bank| bank.first()).map(|at| cx.circuit.sources[*at].component);
    let of = match lost {
        [(port, _)] => match (port_part(cx, *port), cx.circuit.demand_of(*port)) {
            (Some(part), Some(taken)) => cx.new_device(battery, part, taken),
            _ => "a device of its own".into(),
        },
        [] => "a device of its own".into(),
        _ => "devices of their own".into(),
    };
    finding.number("current_a", current.as_amps()).help(format!(
        "feed {ports} from the battery's side of {name}, by {of} near the battery; or take the word `standby` away"
    ))
}
