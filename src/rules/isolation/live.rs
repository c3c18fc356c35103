//! `isolation.live`: what stays fed with a main switch open.

use std::collections::BTreeSet;

use rustc_hash::{FxHashMap, FxHashSet};

use crate::circuit::EdgeKind;
use crate::design::{Body, ComponentId, Feed, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "isolation.live",
    severity: Severity::Warning,
    claim: "With a main switch open, its battery feeds nothing but loads marked `standby`.",
    why: "Whoever turns the main switch off takes the circuits for dead: before work, in a fire, for the winter.",
    how: "All main switches are opened, with every pole of their handles. What is left joined by metal to both poles of a battery at which a main \
          switch stands is listed; what only another main switch isolates is that one's. What another battery feeds, and only a switch that rests \
          open joins to this one, and what chargers, solar, alternators and supplies can feed on the far side or from here on, is told as advice.",
    limits: &[],
    bad: example!("isolation.live", bad),
    good: example!("isolation.live", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

/// The metal parts of a positive and a negative.
type Key = (u32, u32);

/// What is joined with all main switches open.
struct Apart {
    part: Vec<u32>,
    /// The same with switches that rest open as they rest.
    at_rest: Vec<u32>,
    some_rest_open: bool,
    batteries: FxHashMap<Key, Vec<Placed>>,
    /// Pairs of parts that hold a battery in which nothing rests closed.
    fed_at_rest: FxHashSet<Key>,
    /// Loads not marked `standby` and inverters.
    takers: FxHashMap<Key, Vec<Placed>>,
    /// Sources that give something with all main switches open.
    givers: FxHashMap<Key, Vec<ComponentId>>,
    /// The pairs that have batteries or takers, by either part.
    by_part: FxHashMap<u32, Vec<Key>>,
    /// Where chargers and converters lead, by what feeds them.
    onward: FxHashMap<Key, Vec<Key>>,
}

/// How many of each list are looked at once much has been looked at.
const FEW: usize = 16;

/// A component with its parts where every switch is as it rests.
#[derive(Clone, Copy)]
struct Placed {
    id: ComponentId,
    at_rest: Key,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mains = super::mains(cx);
    if mains.is_empty() {
        return;
    }
    let apart = Apart::new(cx, &mains);
    for (main, poles) in &mains {
        let (stays, past) = apart.left(cx, poles);
        if !stays.takers.is_empty() {
            out.push(still_fed(cx, &apart, *main, poles, &stays));
        }
        if !past.takers.is_empty() {
            out.push(fed_past(cx, *main, &past));
        }
    }
}

/// Who feeds whom with a main switch open: the first of each, and how many are fed.
#[derive(Default)]
struct Left {
    givers: Vec<ComponentId>,
    takers: Vec<ComponentId>,
    count: usize,
    /// No pole of the switch parts anything.
    bypassed: bool,
}

/// How many givers and takers are kept by name.
const KEPT: usize = 48;

impl Left {
    fn add(&mut self, givers: impl Iterator<Item = ComponentId>, takers: &[Placed]) {
        if !takers.is_empty() {
            self.givers.extend(givers.take(KEPT));
            self.takers.extend(takers.iter().take(KEPT).map(|taker| taker.id));
            self.count += takers.len();
        }
    }

    /// The names of those that are fed, as many as somebody reads, and how many more.
    fn told(&self, cx: &Context<'_>, most: usize) -> Vec<String> {
        let shown = self.takers.iter().take(most);
        let mut names: Vec<String> = shown.map(|id| cx.name(*id).to_owned()).collect();
        if names.len() < self.count {
            names.push(format!("{} more", self.count - names.len()));
        }
        names
    }
}

/// Names in a headline.
const SHOWN: usize = 8;

impl Apart {
    fn new(cx: &Context<'_>, mains: &[(ComponentId, Vec<u32>)]) -> Self {
        let circuit = cx.circuit;
        let graph = &circuit.metal.graph;
        let opened: FxHashSet<u32> = mains.iter().flat_map(|row| row.1.iter().copied()).collect();
        let rests_open = |edge: u32| match circuit.metal.edges[edge as usize] {
            EdgeKind::Switch(id) => {
                matches!(&cx.design.components[id].body, Body::Switch(switch) if switch.open)
            }
            _ => false,
        };
        let part = graph.components(|edge| !opened.contains(&edge));
        let some_rest_open = (0..graph.n_edges() as u32).any(rests_open);
        let at_rest = if some_rest_open {
            graph.components(|edge| !opened.contains(&edge) && !rests_open(edge))
        } else {
            part.clone()
        };
        let mut apart = Self {
            part,
            at_rest,
            some_rest_open,
            batteries: FxHashMap::default(),
            fed_at_rest: FxHashSet::default(),
            takers: FxHashMap::default(),
            givers: FxHashMap::default(),
            by_part: FxHashMap::default(),
            onward: FxHashMap::default(),
        };
        apart.fill(cx);
        apart
    }

    fn key(&self, plus: u32, minus: u32) -> Key {
        (self.part[plus as usize], self.part[minus as usize])
    }

    fn key_at_rest(&self, plus: u32, minus: u32) -> Key {
        (self.at_rest[plus as usize], self.at_rest[minus as usize])
    }

    fn fill(&mut self, cx: &Context<'_>) {
        let circuit = cx.circuit;
        let mut inputs: FxHashMap<Key, Vec<ComponentId>> = FxHashMap::default();
        for port in circuit.ports.iter().filter(|port| !port.source) {
            let (plus, minus) = (circuit.metal.node(port.plus[0]), circuit.metal.node(port.minus));
            let key = self.key(plus, minus);
            match cx.design.components[port.component].kind {
                Kind::Load | Kind::Inverter if !super::is_standby(cx, port.component) => {
                    let at_rest = self.key_at_rest(plus, minus);
                    self.takers.entry(key).or_default().push(Placed { id: port.component, at_rest });
                }
                Kind::Charger => inputs.entry(key).or_default().push(port.component),
                _ => {}
            }
        }
        // Chargers give once something feeds them; the rest does by itself.
        let mut outputs: FxHashMap<ComponentId, Vec<Key>> = FxHashMap::default();
        let mut fed: Vec<Key> = Vec::new();
        for source in &circuit.sources {
            let waits = matches!(&cx.design.components[source.component].body, Body::Charger(charger) if charger.feed != Feed::Ac);
            for plus in &source.plus {
                let key = self.key(*plus, source.minus);
                if waits {
                    outputs.entry(source.component).or_default().push(key);
                    continue;
                }
                self.givers.entry(key).or_default().push(source.component);
                fed.push(key);
                if source.kind == Kind::Battery {
                    let at_rest = self.key_at_rest(*plus, source.minus);
                    self.fed_at_rest.insert(at_rest);
                    self.batteries.entry(key).or_default().push(Placed { id: source.component, at_rest });
                }
            }
        }
        for (key, chargers) in &inputs {
            let keys: Vec<Key> =
                chargers.iter().filter_map(|id| outputs.get(id)).flatten().copied().collect();
            self.onward.insert(*key, keys);
        }
        while let Some(key) = fed.pop() {
            for charger in inputs.remove(&key).unwrap_or_default() {
                for key in outputs.remove(&charger).unwrap_or_default() {
                    self.givers.entry(key).or_default().push(charger);
                    fed.push(key);
                }
            }
        }
        let mut keys: Vec<Key> = self.batteries.keys().chain(self.takers.keys()).copied().collect();
        keys.sort_unstable();
        keys.dedup();
        for key in keys {
            self.by_part.entry(key.0).or_default().push(key);
            if key.1 != key.0 {
                self.by_part.entry(key.1).or_default().push(key);
            }
        }
    }

    /// What a main switch leaves fed: by the batteries at which it stands, and past it by others.
    fn left(&self, cx: &Context<'_>, poles: &[u32]) -> (Left, Left) {
        let ends = || poles.iter().map(|pole| cx.circuit.metal.graph.ends(*pole));
        let bypassed = ends().all(|(a, b)| self.part[a as usize] == self.part[b as usize]);
        let nodes = || ends().flat_map(|(a, b)| [a as usize, b as usize]);
        let parts: BTreeSet<u32> = nodes().map(|node| self.part[node]).collect();
        let near: FxHashSet<u32> = nodes().map(|node| self.at_rest[node]).collect();
        let mut keys: BTreeSet<Key> = BTreeSet::new();
        for keyed in parts.iter().filter_map(|part| self.by_part.get(part)) {
            let most = if cx.circuit.may_look() { usize::MAX } else { FEW };
            cx.circuit.look(keyed.len());
            keys.extend(keyed.iter().take(most));
        }
        let (mut stays, mut past) = (Left { bypassed, ..Left::default() }, Left::default());
        for key in &keys {
            let key = *key;
            let takers = self.takers.get(&key).map_or(&[][..], Vec::as_slice);
            let batteries = self.batteries.get(&key).map_or(&[][..], Vec::as_slice);
            if !self.some_rest_open {
                match (batteries, self.givers.get(&key)) {
                    ([], Some(givers)) => past.add(givers.iter().copied(), takers),
                    ([], None) => {}
                    (own, _) => stays.add(own.iter().map(|battery| battery.id), takers),
                }
                continue;
            }
            let takers = if cx.circuit.may_look() { takers } else { &takers[..takers.len().min(FEW)] };
            cx.circuit.look(takers.len() + batteries.len());
            // A battery that only a switch at rest joins to this main switch is not its own.
            let is_near =
                |battery: &Placed| near.contains(&battery.at_rest.0) || near.contains(&battery.at_rest.1);
            let mut own: Vec<Placed> = batteries.iter().copied().filter(is_near).collect();
            if own.is_empty() {
                own = batteries.to_vec();
            }
            let homes: FxHashSet<Key> = own.iter().map(|battery| battery.at_rest).collect();
            let is_elsewhere =
                |taker: &Placed| !homes.contains(&taker.at_rest) && self.fed_at_rest.contains(&taker.at_rest);
            let (elsewhere, here): (Vec<Placed>, Vec<Placed>) =
                takers.iter().partition(|taker| own.is_empty() || is_elsewhere(taker));
            stays.add(own.iter().map(|battery| battery.id), &here);
            match self.givers.get(&key) {
                Some(givers) if own.is_empty() => past.add(givers.iter().copied(), &elsewhere),
                None if own.is_empty() => {}
                _ => past.add(own.iter().map(|battery| battery.id), &elsewhere),
            }
        }
        self.follow(cx, keys, &mut past);
        for left in [&mut stays, &mut past] {
            for list in [&mut left.givers, &mut left.takers] {
                list.sort_unstable();
                list.dedup();
            }
        }
        (stays, past)
    }

    /// What is fed on from there through converters: loads on networks without a battery of their own.
    fn follow(&self, cx: &Context<'_>, mut keys: BTreeSet<Key>, past: &mut Left) {
        let mut stack: Vec<Key> = keys.iter().copied().filter(|key| self.givers.contains_key(key)).collect();
        while let Some(key) = stack.pop() {
            for next in self.onward.get(&key).into_iter().flatten() {
                if self.batteries.contains_key(next) || !cx.circuit.may_look() || !keys.insert(*next) {
                    continue;
                }
                let takers = self.takers.get(next).map_or(&[][..], Vec::as_slice);
                cx.circuit.look(1);
                if let Some(givers) = self.givers.get(next) {
                    past.add(givers.iter().copied(), takers);
                }
                stack.push(*next);
            }
        }
    }
}

fn still_fed(cx: &Context<'_>, apart: &Apart, main: ComponentId, poles: &[u32], left: &Left) -> Finding {
    let name = cx.name(main);
    let list = Context::list(&left.told(cx, SHOWN));
    let batteries = Context::list(&cx.names(left.givers.iter().copied()));
    let verb = if left.count == 1 { "stays" } else { "stay" };
    let mut finding = cx
        .on_component(&RULE, main)
        .headline(format!("with {name} open, {list} {verb} fed from {batteries}"))
        .number("count", left.count as f64)
        .texts("fed", left.told(cx, KEPT));
    for taker in left.takers.iter().take(8) {
        finding = finding.related(cx.name(*taker), cx.span(*taker), format!("stays fed with {name} open"));
        if let Some(taken) = cx.circuit.demand_of(*taker) {
            finding =
                finding.figure(taken.to_string(), format!("what {} takes by its ratings", cx.name(*taker)));
        }
    }
    let graph = &cx.circuit.metal.graph;
    let around = poles.first().filter(|_| left.bypassed).and_then(|pole| {
        let (a, b) = graph.ends(*pole);
        if !cx.circuit.may_look() {
            return None;
        }
        cx.circuit.look(graph.n_nodes());
        graph.path(a, b, |edge| !poles.contains(&edge))
    });
    if left.bypassed {
        finding = finding.label("another way around it stays closed");
        let Some(way) = around else {
            return finding.help(format!("take out the way around {name}"));
        };
        let names = Context::list(&cx.chain(&way));
        finding = cx.along(finding, &way, "on the way around", |_| "on the way around".into());
        return finding.help(format!(
            "take out the way around {name}, by {names}; or put it under the same handle (`pair`)"
        ));
    }
    finding.label("leaves part of its battery's circuits live").help(format!(
        "feed {list} from {}, behind {name}; or mark as `standby` what has to run with {name} open",
        far_side(cx, apart, poles, left.givers.first().copied())
    ))
}

/// The node of a main switch that its battery does not reach with the switch open.
fn far_side(cx: &Context<'_>, apart: &Apart, poles: &[u32], battery: Option<ComponentId>) -> String {
    let Some(pole) = poles.first() else { return String::new() };
    let (a, b) = cx.circuit.metal.graph.ends(*pole);
    let source = battery.and_then(|id| cx.circuit.source_of(id));
    let reaches_b = source.is_some_and(|source| {
        let (plus, minus) = apart.key(source.plus[0], source.minus);
        [plus, minus].contains(&apart.part[b as usize])
    });
    cx.circuit.node_name(if reaches_b { a } else { b })
}

fn fed_past(cx: &Context<'_>, main: ComponentId, left: &Left) -> Finding {
    let name = cx.name(main);
    let givers = cx.names(left.givers.iter().copied());
    let from = Context::list(&givers);
    let mut finding = cx
        .on_component(&RULE, main)
        .headline(format!("with {name} open, {from} can still feed {}", Context::list(&left.told(cx, SHOWN))))
        .label("does not stop what others feed")
        .number("count", left.count as f64)
        .texts("fed", left.told(cx, KEPT))
        .texts("sources", givers)
        .help(format!(
            "before work on these circuits, open {name} and stop {from} as well; a notice at {name} says so"
        ));
    finding.severity = Severity::Advice;
    for giver in left.givers.iter().take(8) {
        finding = finding.related(cx.name(*giver), cx.span(*giver), "can feed on with the main switch open");
    }
    finding
}
