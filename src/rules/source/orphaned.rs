//! `source.orphaned`: one opening in service leaves an alternator that runs with no battery.

use rustc_hash::{FxHashMap, FxHashSet};

use crate::circuit::EdgeKind;
use crate::design::{Body, Chemistry, ComponentId, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::context::Handles;
use crate::rules::{Context, Rule, example};
use crate::units::Current;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "source.orphaned",
    severity: Severity::Warning,
    claim: "No single switch, breaker, plug, cutoff or lithium battery that opens leaves a running alternator without a battery.",
    why: "An alternator that loses its battery while it runs throws its field's energy into the circuit: its diodes, and what is still on, are destroyed.",
    how: "Each thing that hands or electronics open in service is taken out alone, of a handle all poles: whether some alternator keeps a battery joined to \
          both its poles by metal. A fuse is not opened in service; the electronics of a lithium battery are.",
    limits: &[],
    bad: example!("source.orphaned", bad),
    good: example!("source.orphaned", good),
    of_absence: true,
    studies: false,
    unstated: None,
    check,
};

/// Places in a sum over one side of an edge: batteries and alternators by their positives, and by their negatives.
type Side = [u64; 4];

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let alternators = || circuit.sources.iter().filter(|source| source.kind == Kind::Alternator);
    let part = |node: u32| circuit.part[node as usize];
    let networks: FxHashSet<(u32, u32)> =
        alternators().map(|source| (part(source.plus[0]), part(source.minus))).collect();
    if networks.is_empty() {
        return;
    }
    let batteries = || {
        circuit.sources.iter().filter(|source| {
            source.kind == Kind::Battery
                && !source.tap
                && networks.contains(&(part(source.plus[0]), part(source.minus)))
        })
    };
    let mut at: Vec<Side> = vec![Side::default(); circuit.metal.n_nodes];
    for (place, source) in
        batteries().map(|source| (0, source)).chain(alternators().map(|source| (1, source)))
    {
        at[source.plus[0] as usize][place] += 1;
        at[source.minus as usize][place + 2] += 1;
    }
    let sides = circuit.blocks().sides(&circuit.metal.graph, &circuit.part, &at);
    let orphans = |side: Side, other: Side| {
        (0..2).any(|pole| side[2 * pole] == 0 && 0 < side[2 * pole + 1] && 0 < other[2 * pole])
    };
    let handles = Handles::of(cx.design);
    let mut told = FxHashSet::default();
    for (edge, kind) in circuit.metal.edges.iter().enumerate() {
        let id = match kind {
            EdgeKind::Switch(id) | EdgeKind::Plug(id) | EdgeKind::Cutoff(id) => *id,
            EdgeKind::Device(id) if cx.design.components[*id].kind == Kind::Breaker => *id,
            _ => continue,
        };
        let (first, second) = sides[edge];
        let (a, b) = circuit.metal.graph.ends(edge as u32);
        let (orphaned, kept) = if orphans(first, second) {
            (a, b)
        } else if orphans(second, first) {
            (b, a)
        } else {
            continue;
        };
        if told.insert(handles.root(id)) {
            out.push(opened(cx, id, edge as u32, orphaned, kept));
        }
    }
    out.extend(lithium(cx, &networks));
}

/// Sources of a kind whose poles are reached from a node without an edge.
fn beyond(cx: &Context<'_>, node: u32, edge: u32, kind: Kind) -> Vec<ComponentId> {
    let circuit = cx.circuit;
    if !circuit.may_look() {
        return Vec::new();
    }
    let (nodes, _) = circuit.metal.graph.spread(&[node], |other, _| other != edge);
    circuit.look(nodes.len());
    let mut found: Vec<ComponentId> = nodes
        .iter()
        .flat_map(|node| &circuit.metal.terminals[*node as usize])
        .map(|terminal| cx.design.terminals[*terminal].component)
        .filter(|id| cx.design.components[*id].kind == kind)
        .collect();
    found.dedup();
    found
}

fn opened(cx: &Context<'_>, id: ComponentId, edge: u32, orphaned: u32, kept: u32) -> Finding {
    let name = cx.name(id);
    let mut alternators = beyond(cx, orphaned, edge, Kind::Alternator);
    alternators.sort_unstable();
    alternators.dedup();
    let battery = beyond(cx, kept, edge, Kind::Battery).first().copied();
    let list = Context::list(&cx.names(alternators.iter().copied()));
    let list = if alternators.is_empty() { "an alternator".to_owned() } else { list };
    let verb = if alternators.len() < 2 { "runs" } else { "run" };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("with {name} open, {list} {verb} without a battery"))
        .label("opens in service")
        .texts("alternators", cx.names(alternators.iter().copied()));
    for alternator in alternators.iter().take(8) {
        finding = finding.related(
            cx.name(*alternator),
            cx.span(*alternator),
            format!("loses its battery when {name} opens"),
        );
    }
    let live = cx.circuit.is_live(kept);
    let to = match (battery, live) {
        (Some(battery), true) => cx.source_terminal(battery),
        (Some(battery), false) => format!("the negative of {}", cx.name(battery)),
        (None, _) => cx.circuit.node_name(kept),
    };
    // A fuse that opens on the alternator's full output would orphan it as well.
    let most: Current = alternators
        .iter()
        .filter_map(|id| cx.circuit.source_of(*id))
        .map(|source| crate::circuit::current(source.limit))
        .sum();
    let device = match (live, alternators.is_empty()) {
        (true, false) => {
            finding = finding.figure(most.to_string(), format!("what {list} gives at most"));
            let part = cx.circuit.part[kept as usize];
            format!(", by {} near the battery", cx.new_device(battery, part, most))
        }
        (true, true) => ", by a fuse near the battery".into(),
        (false, _) => String::new(),
    };
    finding.help(format!(
        "join {list} to {to} past {name}, on the battery's side of it{device}; or keep another battery on {list} that {name} does not \
         take away"
    ))
}

/// Batteries whose electronics open, where each alternator on them has no other.
fn lithium(cx: &Context<'_>, networks: &FxHashSet<(u32, u32)>) -> Vec<Finding> {
    let circuit = cx.circuit;
    let part = |node: u32| circuit.part[node as usize];
    let mut by_network: FxHashMap<(u32, u32), Vec<usize>> = FxHashMap::default();
    for (at, source) in circuit.sources.iter().enumerate() {
        let key = (part(source.plus[0]), part(source.minus));
        if source.kind == Kind::Battery && !source.tap && networks.contains(&key) {
            by_network.entry(key).or_default().push(at);
        }
    }
    let mut alternators: FxHashMap<(u32, u32), Vec<ComponentId>> = FxHashMap::default();
    for source in circuit.sources.iter().filter(|source| source.kind == Kind::Alternator) {
        alternators.entry((part(source.plus[0]), part(source.minus))).or_default().push(source.component);
    }
    let mut found = Vec::new();
    let mut keys: Vec<_> = by_network.into_iter().collect();
    keys.sort_unstable();
    for (key, batteries) in keys {
        let ([at], Some(alternators)) = (batteries.as_slice(), alternators.get(&key)) else { continue };
        for id in &circuit.sources[*at].members {
            let Body::Battery(battery) = &cx.design.components[*id].body else { continue };
            if battery.chemistry.is_some_and(Chemistry::is_lithium) {
                found.push(electronics(cx, *id, alternators));
            }
        }
    }
    found
}

fn electronics(cx: &Context<'_>, id: ComponentId, alternators: &[ComponentId]) -> Finding {
    let name = cx.name(id);
    let names = cx.names(alternators.iter().copied());
    let list = Context::list(&names);
    let verb = if alternators.len() < 2 { "runs" } else { "run" };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("when the electronics of {name} open, {list} {verb} without a battery"))
        .label("its electronics open when it is full, empty, too hot or too cold")
        .texts("alternators", names);
    for alternator in alternators.iter().take(8) {
        let note = format!("has no battery but {name}");
        finding = finding.related(cx.name(*alternator), cx.span(*alternator), note);
    }
    finding.help(format!(
        "keep a lead-acid battery on {list} and charge {name} from it through a charger; or join one beside {name} for good"
    ))
}
