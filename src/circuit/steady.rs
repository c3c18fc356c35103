//! What flows for good by the declared ratings: loads and inputs all on, sources giving what they are rated for.
//!
//! Only a bridge is told: what divides between several ways, or between batteries on both sides, no rating can tell.
//! Motors run for a time, not for good, and a starter for seconds: both are left out.

use crate::book::ShareLimit;
use crate::design::{Body, ComponentId, Demand, Feed, Kind};
use crate::units::Current;

use super::Circuit;
use super::flow::{Micro, UNLIMITED, micro};

/// What an edge carries for good.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Steady {
    /// How much.
    pub(crate) amount: Micro,
    /// The end on whose side those are that bound it.
    pub(crate) side: u32,
    /// They push it through, against taking it.
    pub(crate) pushed: bool,
}

/// Places in a sum over one side of an edge.
const TAKEN: usize = 0;
const PUSHED: usize = 1;
/// Sources that hold the voltage and give what is asked for: batteries, supplies that are not limited or are protected inside.
const STIFF: usize = 2;
/// What takes all that is pushed: batteries, and inputs from solar that state no current.
const SINKS: usize = 3;
type Side = [u64; 4];

/// What every edge carries; `None` for what is no bridge, not live, or divided in a way that no rating tells.
pub(super) fn find(circuit: &Circuit<'_>) -> Vec<Option<Steady>> {
    let mut at: Vec<Side> = vec![Side::default(); circuit.metal.n_nodes];
    for port in circuit.ports.iter().filter(|port| !port.source) {
        let row = &mut at[circuit.metal.node(port.plus[0]) as usize];
        match circuit.steady_demand(port.component) {
            Some(taken) => row[TAKEN] = row[TAKEN].wrapping_add(micro(taken)),
            None if circuit.design.components[port.component].kind == Kind::Charger => row[SINKS] += 1,
            None => {}
        }
    }
    for source in &circuit.sources {
        let mut parts: Vec<u32> = Vec::new();
        for plus in &source.plus {
            let row = &mut at[*plus as usize];
            let is_battery = source.kind == Kind::Battery;
            row[STIFF] += u64::from(UNLIMITED <= source.limit || source.fused);
            row[SINKS] += u64::from(is_battery);
            // What a charger gives is for all its outputs together.
            let part = circuit.part[*plus as usize];
            if !parts.contains(&part) {
                parts.push(part);
                row[PUSHED] = row[PUSHED].wrapping_add(micro(circuit.pushed_by(source.component)));
            }
        }
    }
    let graph = &circuit.metal.graph;
    let sides = circuit.blocks().sides(graph, &circuit.part, &at);
    (0..graph.n_edges() as u32)
        .map(|edge| {
            let (a, b) = graph.ends(edge);
            if !circuit.blocks().is_bridge(edge) || !circuit.is_live(a) {
                return None;
            }
            let (at_a, at_b) = sides[edge as usize];
            let one_way = matches!(circuit.metal.edges[edge as usize], super::EdgeKind::Cutoff(_));
            let forth = through(at_a, at_b, a, b);
            let back = through(at_b, at_a, b, a).filter(|_| !one_way);
            forth.into_iter().chain(back).max_by_key(|steady| steady.amount)
        })
        .collect()
}

/// What starters take through every bridge that alone joins them to what holds the voltage; 0 for other edges.
pub(super) fn starting(circuit: &Circuit<'_>) -> Vec<Micro> {
    let mut at = vec![[0; 2]; circuit.metal.n_nodes];
    for port in circuit.ports.iter().filter(|port| circuit.is_starter(port.component)) {
        let Body::Load(load) = &circuit.design.components[port.component].body else { continue };
        let taken = load.stall.or_else(|| circuit.demand_of(port.component)).unwrap_or_default();
        let row: &mut [u64; 2] = &mut at[circuit.metal.node(port.plus[0]) as usize];
        row[0] = row[0].wrapping_add(micro(taken));
    }
    for source in circuit.sources.iter().filter(|source| UNLIMITED <= source.limit) {
        for plus in &source.plus {
            at[*plus as usize][1] += 1;
        }
    }
    let sides = circuit.blocks().sides(&circuit.metal.graph, &circuit.part, &at);
    let alone = |side: [u64; 2], other: [u64; 2]| if side[1] == 0 && 0 < other[1] { side[0] } else { 0 };
    sides.into_iter().map(|(a, b)| alone(a, b).max(alone(b, a))).collect()
}

/// What flows from one side to the other.
fn through(from: Side, to: Side, near: u32, far: u32) -> Option<Steady> {
    let is_stiff = |side: Side| 0 < side[STIFF];
    let gives = if is_stiff(from) { UNLIMITED } else { from[PUSHED] };
    let takes = match (is_stiff(from), 0 < to[SINKS]) {
        // Which of two batteries feeds what is on either side is not told by ratings.
        (true, _) if is_stiff(to) => return None,
        (false, true) => UNLIMITED,
        _ => to[TAKEN],
    };
    let steady = if gives < takes {
        Steady { amount: gives, side: near, pushed: true }
    } else {
        Steady { amount: takes, side: far, pushed: false }
    };
    (0 < steady.amount && steady.amount < UNLIMITED).then_some(steady)
}

impl Circuit<'_> {
    /// The current that a component takes by its own ratings.
    pub(crate) fn demand_of(&self, id: ComponentId) -> Option<Current> {
        let share = |limit| self.book.share(limit);
        match &self.design.components[id].body {
            Body::Load(load) => match load.demand? {
                Demand::Current(current) => Some(current),
                Demand::Power(power) => Some(power / load.nominal?),
                Demand::Resistance(resistance) => Some(load.nominal? / resistance),
            },
            Body::Inverter(inverter) => {
                let efficiency = inverter.efficiency.unwrap_or(share(ShareLimit::InverterEfficiency));
                Some(inverter.power? / inverter.nominal? / efficiency.as_ratio())
            }
            Body::Charger(charger) => charger.input_current.or_else(|| {
                let efficiency = charger.efficiency.unwrap_or(share(ShareLimit::ChargerEfficiency));
                Some((charger.output? * charger.output_current) / charger.input? / efficiency.as_ratio())
            }),
            Body::Hub(hub) => {
                let plus =
                    self.design.components[id].terminal(self.design, crate::design::TerminalRole::Plus)?;
                let part = self.part[self.metal.node(plus) as usize];
                Some(hub.power? / self.network(part)?.0)
            }
            _ => None,
        }
    }

    /// The same, where it is taken for good: motors left out.
    pub(crate) fn steady_demand(&self, id: ComponentId) -> Option<Current> {
        match &self.design.components[id].body {
            Body::Load(load) if load.motor || self.is_starter(id) => None,
            Body::Charger(charger) if charger.feed == Feed::Solar => charger.input_current,
            _ => self.demand_of(id),
        }
    }

    /// The current that a component pushes for good into a battery; what gives only what is asked for pushes none.
    pub(crate) fn pushed_by(&self, id: ComponentId) -> Current {
        match &self.design.components[id].body {
            Body::Alternator(alternator) => {
                alternator.maximum * self.book.share(ShareLimit::Alternator).as_ratio()
            }
            Body::Solar(solar) => solar.imp.unwrap_or(solar.isc) * f64::from(solar.strings),
            Body::Charger(charger) => charger.output_current,
            Body::Supply(supply) if supply.fused.is_none() && supply.fault.is_none() => {
                supply.maximum.unwrap_or_default()
            }
            _ => Current::default(),
        }
    }

    /// Those that bound what an edge carries for good, each with its part, the largest first; none where too much has
    /// been looked at already.
    pub(crate) fn steady_terms(&self, edge: u32, steady: &Steady) -> Vec<(ComponentId, Current)> {
        if !self.may_look() {
            return Vec::new();
        }
        let (nodes, _) = self.metal.graph.spread(&[steady.side], |other, _| other != edge);
        self.look(nodes.len());
        let mut terms: Vec<(ComponentId, Current)> = Vec::new();
        for node in nodes {
            for terminal in &self.metal.terminals[node as usize] {
                let row = self.design.terminals[*terminal];
                let id = row.component;
                use crate::design::TerminalRole as R;
                let amount = match (steady.pushed, row.role) {
                    (true, R::Plus | R::OutPlus | R::OutPlusNumber(_)) => Some(self.pushed_by(id)),
                    (false, R::Plus | R::InPlus) => self.steady_demand(id),
                    _ => None,
                };
                terms.extend(amount.filter(|amount| 0.0 < amount.as_amps()).map(|amount| (id, amount)));
            }
        }
        terms.sort_by(|a, b| b.1.as_amps().total_cmp(&a.1.as_amps()).then(a.0.cmp(&b.0)));
        terms.dedup_by_key(|row| row.0);
        terms
    }
}
