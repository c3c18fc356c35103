//! Rules whose id begins with `protection`.

pub(super) mod far;
pub(super) mod in_return;
pub(super) mod missing;
pub(super) mod oversize;
pub(super) mod polarity;
pub(super) mod voltage;

use crate::circuit::Hit;
use crate::design::WireId;

use super::Context;

/// Every wire with each stretch that it is on, in order of wires; cranking wires that the book exempts are left out.
fn stretched<'c>(cx: &Context<'c>) -> impl Iterator<Item = (WireId, &'c Hit)> + use<'c> {
    let circuit = cx.circuit;
    cx.design
        .wires
        .ids()
        .filter(move |wire| !circuit.is_exempt(*wire))
        .filter_map(move |wire| Some((wire, circuit.edge(wire)?)))
        .flat_map(move |(wire, edge)| circuit.hits(edge).map(move |hit| (wire, hit)))
}
