//! Why each wire is right, or not: the figures behind the verdicts, for every wire.

use crate::check::{Flow, Role, StretchEvidence, WireEvidence};
use crate::circuit::{Circuit, CutTerm, Micro, UNLIMITED, current};
use crate::design::WireId;

use super::Context;

/// The evidence of every wire, in the order of statements.
pub(crate) fn evidence(cx: &Context<'_>) -> Vec<WireEvidence> {
    let mut wires: Vec<WireId> = cx.design.wires.ids().collect();
    wires.sort_by_key(|wire| cx.design.wires[*wire].place.order);
    wires
        .into_iter()
        .map(|wire| {
            let conductor = crate::circuit::conductor(cx.design, cx.book, &cx.circuit.bundled, wire);
            of_wire(cx, wire, cx.book.ampacity_steps(&conductor))
        })
        .collect()
}

fn of_wire(cx: &Context<'_>, wire: WireId, ampacity_from: Vec<(f64, String)>) -> WireEvidence {
    let let_through = let_through(cx, wire);
    let protected_by =
        protected_by(cx, wire).iter().map(|term| cx.name(term.component).to_string()).collect();
    WireEvidence {
        name: cx.wire_name(wire).into(),
        ampacity: cx.ampacity(wire),
        ampacity_from,
        let_through,
        circulation: circulation(cx, wire),
        role: cx.circuit.role(wire),
        stretch: stretch(cx, wire).map(|row| row.0),
        protected_by,
        margin: margin(cx, wire),
    }
}

/// What can arrive at a live wire.
pub(super) fn let_through(cx: &Context<'_>, wire: WireId) -> Flow {
    let circuit = cx.circuit;
    match circuit.role(wire) {
        Role::Live => circuit.share_of(wire, circuit.let_through(wire)),
        _ => Flow::None,
    }
}

/// What can circulate through a wire; `None` in a loop of plain metal.
pub(super) fn circulation(cx: &Context<'_>, wire: WireId) -> Option<Flow> {
    let circuit = cx.circuit;
    match circuit.edge(wire) {
        Some(edge) => circuit.circulation(edge).map(|amount| circuit.share_of(wire, amount)),
        None if circuit.absent_wires.contains(&wire) => Some(Flow::None),
        None => None,
    }
}

/// Permitted current over what can flow, where that is finite and above zero.
pub(super) fn margin(cx: &Context<'_>, wire: WireId) -> Option<f64> {
    let circuit = cx.circuit;
    let flows = match (circuit.role(wire), stretch(cx, wire)) {
        (Role::Live, Some((_, burden))) => circuit.share_of(wire, burden),
        (Role::Live, None) => let_through(cx, wire),
        _ => circulation(cx, wire).unwrap_or(Flow::None),
    };
    match flows {
        Flow::Limited(amount) if 0.0 < amount.as_amps() => Some(cx.permitted(wire) / amount),
        _ => None,
    }
}

/// The devices and limited sources that limit what can arrive at a wire.
pub(super) fn protected_by(cx: &Context<'_>, wire: WireId) -> Vec<CutTerm> {
    let circuit = cx.circuit;
    match (circuit.edge(wire), let_through(cx, wire)) {
        (Some(edge), Flow::Limited(_)) => circuit.cut(edge),
        (None, Flow::Limited(_)) => circuit.cut_at(circuit.wire_nodes(wire).0),
        _ => Vec::new(),
    }
}

/// The worst of a wire's stretches: one that no device follows, else one that is too long, else the one with the most to bear.
///
/// With it what the wire has to bear there.
pub(super) fn stretch(cx: &Context<'_>, wire: WireId) -> Option<(StretchEvidence, Micro)> {
    let circuit = cx.circuit;
    let worst = circuit.hits_of_wire(wire).into_iter().max_by_key(|hit| {
        (!hit.followed, !circuit.is_near(hit, wire), Circuit::burden(hit), std::cmp::Reverse(hit.origin))
    })?;
    let origin = &circuit.origins[worst.origin as usize];
    let evidence = StretchEvidence {
        source: cx.name(origin.component).into(),
        length: circuit.hit_length(&worst, wire),
        limit: circuit.distance(&worst, wire),
        followed: worst.followed,
        devices: current(worst.devices.min(UNLIMITED)),
    };
    Some((evidence, Circuit::burden(&worst)))
}
