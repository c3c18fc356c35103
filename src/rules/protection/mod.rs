//! Rules whose id begins with `protection`.

pub(super) mod far;
pub(super) mod in_return;
pub(super) mod missing;
pub(super) mod oversize;
pub(super) mod polarity;
pub(super) mod voltage;

use crate::circuit::{Hit, Nodes, current};
use crate::design::{ComponentId, WireId};
use crate::units::{Current, Length};

use super::Context;
use super::context::Fitting;

/// Every wire with each stretch that it is on, in order of wires; cranking wires that the book exempts are left out.
fn stretched<'c>(cx: &Context<'c>) -> impl Iterator<Item = (WireId, Hit)> + use<'c> {
    let circuit = cx.circuit;
    cx.design
        .wires
        .ids()
        .filter(move |wire| !circuit.is_exempt(*wire))
        .flat_map(move |wire| circuit.hits_of_wire(wire).into_iter().map(move |hit| (wire, hit)))
}

/// A wire on a stretch, with what a message about it needs.
struct Spot {
    /// The component that the stretch starts from.
    source: ComponentId,
    /// Where it starts, as written.
    from: String,
    /// From there to the wire's far end.
    length: Length,
    /// The book's distance for how it is run, and the name of that limit.
    distance: Length,
    limit: &'static str,
    /// What the wire may be protected at.
    ceiling: Current,
    /// What is fed beyond it, by the ratings.
    demand: Current,
    /// Devices that would do.
    fitting: Fitting,
}

impl Spot {
    fn new(cx: &Context<'_>, wire: WireId, hit: &Hit) -> Self {
        let circuit = cx.circuit;
        let origin = &circuit.origins[hit.origin as usize];
        let ceiling = cx.permitted(wire);
        let part = circuit.part[circuit.wire_nodes(wire).0 as usize];
        let beyond = circuit.edge(wire).map(|edge| cx.demand_beyond(edge, &origin.nodes));
        // What limited sources push back through the wire counts as well as what loads take.
        let demand = beyond.unwrap_or_default().max(current(hit.joining)) * circuit.share(wire);
        Self {
            source: origin.component,
            from: cx.origin_words(hit),
            length: circuit.hit_length(hit, wire),
            distance: circuit.distance(hit, wire),
            limit: match (origin.battery, circuit.is_sheathed(hit, wire)) {
                (true, true) => "distance.battery-sheathed",
                (true, false) => "distance.battery-bare",
                (false, true) => "distance.other-sheathed",
                (false, false) => "distance.other-bare",
            },
            ceiling,
            demand,
            fitting: cx.fitting(Some(origin.component), part, ceiling, demand),
        }
    }
}

/// Nodes on one side of a device, from `node`, without it.
fn side(cx: &Context<'_>, node: u32, without: u32) -> Nodes {
    cx.circuit.metal.graph.reached(&[node], |edge, _| edge != without)
}
