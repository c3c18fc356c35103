//! What lies on each side of a meter's shunt.

use rustc_hash::FxHashSet;

use crate::design::{Body, ComponentId, Kind, TerminalRole};

use super::Circuit;
use super::graph::Nodes;
use super::metal::{EdgeKind, Port};

/// A side of a shunt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// The side that faces what it serves.
    Bat,
    /// The side that faces everything else.
    Sys,
}

/// A meter with its shunt taken out.
#[derive(Debug)]
pub(crate) struct MeterView {
    pub(crate) meter: ComponentId,
    /// The way around the shunt, where its sides stay joined.
    pub(crate) around: Option<Vec<u32>>,
    /// The edge of its shunt.
    pub(crate) shunt: Option<u32>,
    /// The batteries, or the group, that it counts; all members of a bank or string for one of them.
    pub(crate) counts: FxHashSet<ComponentId>,
    /// It counts batteries.
    pub(crate) batteries: bool,
    /// It sits in the positive.
    pub(crate) positive: bool,
    /// Nodes on the `bat` side and on the `sys` side; none where the two stay joined.
    sides: Option<(Nodes, Nodes)>,
}

impl MeterView {
    /// The side on which a node lies.
    pub(crate) fn side(&self, node: u32) -> Option<Side> {
        match self.sides.as_ref()? {
            (bat, _) if bat.contains(node) => Some(Side::Bat),
            (_, sys) if sys.contains(node) => Some(Side::Sys),
            _ => None,
        }
    }

    /// The side of a port's negative, or of its positive for a meter in the positive.
    pub(crate) fn port_side(&self, circuit: &Circuit<'_>, port: &Port) -> Option<Side> {
        if self.positive {
            port.plus.iter().find_map(|plus| self.side(circuit.metal.node(*plus)))
        } else {
            self.side(circuit.metal.node(port.minus))
        }
    }

    /// The side of a counted member; a string counts by its first negative or last positive.
    pub(crate) fn member_side(&self, circuit: &Circuit<'_>, id: ComponentId) -> Option<Side> {
        if self.batteries {
            let source = circuit.source_of(id)?;
            return if self.positive { self.side(source.plus[0]) } else { self.side(source.minus) };
        }
        // A charger is counted by its output; of a component's ports, its source is the output.
        let ports = || circuit.ports.iter().filter(|port| port.component == id);
        let port = ports().find(|port| port.source).or_else(|| ports().next())?;
        self.port_side(circuit, port)
    }

    /// Turned round: all that it counts lies on the wrong side, and something else on the other.
    pub(crate) fn is_reversed(&self, circuit: &Circuit<'_>) -> bool {
        let wrong = if self.batteries { Side::Sys } else { Side::Bat };
        !self.counts.is_empty()
            && self.around.is_none()
            && self.counts.iter().all(|id| self.member_side(circuit, *id) == Some(wrong))
            && circuit.ports.iter().any(|port| {
                !self.counts.contains(&port.component)
                    && self.port_side(circuit, port).is_some_and(|side| side != wrong)
            })
    }
}

pub(super) fn views(circuit: &Circuit<'_>) -> Vec<MeterView> {
    let mut views = Vec::new();
    for (id, component) in circuit.design.components.entries() {
        let Body::Meter(meter) = &component.body else { continue };
        let terminal = |role| component.terminal(circuit.design, role);
        let (Some(bat), Some(sys)) = (terminal(TerminalRole::Bat), terminal(TerminalRole::Sys)) else {
            continue;
        };
        let (bat, sys) = (circuit.metal.node(bat), circuit.metal.node(sys));
        let shunt =
            circuit.metal.edges.iter().position(|kind| *kind == EdgeKind::Shunt(id)).map(|edge| edge as u32);
        let keep = |edge: u32| Some(edge) != shunt;
        let around = circuit.metal.graph.path(bat, sys, keep);
        let side = |start: u32| circuit.metal.graph.reached(&[start], |edge, _| keep(edge));
        let sides = around.is_none().then(|| (side(bat), side(sys)));
        let batteries =
            meter.counts.iter().any(|counted| circuit.design.components[*counted].kind == Kind::Battery);
        let mut counts: FxHashSet<ComponentId> = FxHashSet::default();
        for counted in &meter.counts {
            if !counts.contains(counted) {
                if batteries {
                    counts.extend(circuit.together(*counted));
                } else {
                    counts.insert(*counted);
                }
            }
        }
        let positive = circuit.is_live(bat) || circuit.is_live(sys);
        views.push(MeterView { meter: id, around, shunt, counts, batteries, positive, sides });
    }
    views
}
