//! Why each wire is right, or not: the figures behind the verdicts, for every wire.

use crate::check::{Flow, Role, StretchEvidence, WireEvidence};
use crate::circuit::{Circuit, Micro, UNLIMITED, current};
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
    let circuit = cx.circuit;
    let edge = circuit.edge(wire);
    let role = circuit.role(wire);
    let let_through =
        if role == Role::Live { circuit.share_of(wire, circuit.let_through(wire)) } else { Flow::None };
    let circulation = match edge {
        Some(edge) => circuit.circulation(edge).map(|amount| circuit.share_of(wire, amount)),
        None if circuit.absent_wires.contains(&wire) => Some(Flow::None),
        None => None,
    };
    let worst = stretch(cx, wire);
    let burden = worst.as_ref().map_or(0, |row| row.1);
    let stretch = worst.map(|row| row.0);
    let permitted = cx.permitted(wire);
    let flows = match (role, &stretch) {
        (Role::Live, Some(_)) => circuit.share_of(wire, burden),
        (Role::Live, None) => let_through,
        _ => circulation.unwrap_or(Flow::None),
    };
    let margin = match flows {
        Flow::Limited(amount) if 0.0 < amount.as_amps() => Some(permitted / amount),
        _ => None,
    };
    let protected_by = match (edge, let_through) {
        (Some(edge), Flow::Limited(_)) => {
            circuit.cut(edge).iter().map(|term| cx.name(term.component).to_string()).collect()
        }
        (None, Flow::Limited(_)) => {
            let cut = circuit.cut_at(circuit.wire_nodes(wire).0);
            cut.iter().map(|term| cx.name(term.component).to_string()).collect()
        }
        _ => Vec::new(),
    };
    WireEvidence {
        name: cx.wire_name(wire).into(),
        ampacity: cx.ampacity(wire),
        ampacity_from,
        let_through,
        circulation,
        role,
        stretch,
        protected_by,
        margin,
    }
}

/// The worst of a wire's stretches: one that no device follows, else one that is too long, else the one with the most to bear.
///
/// With it what the wire has to bear there.
fn stretch(cx: &Context<'_>, wire: WireId) -> Option<(StretchEvidence, Micro)> {
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
