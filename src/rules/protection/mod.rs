//! Rules whose id begins with `protection`.

pub(super) mod breaking_capacity;
pub(super) mod each_battery;
pub(super) mod far;
pub(super) mod in_return;
pub(super) mod kinds;
pub(super) mod missing;
pub(super) mod oversize;
pub(super) mod polarity;
pub(super) mod selectivity;
pub(super) mod slow;
pub(super) mod undersize;
pub(super) mod voltage;

use crate::circuit::{Circuit, EdgeKind, Hit, Nodes, current};
use crate::design::{Body, ComponentId, FuseType, WireId};
use crate::units::{Current, Length, Size};

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

/// Live wires that would carry too little behind a device of this rating, each with the size that it needs then.
fn outgrown(cx: &Context<'_>, edge: u32, id: ComponentId, rating: Current) -> Vec<(WireId, Option<Size>)> {
    const MOST: usize = 64;
    let circuit = cx.circuit;
    if !circuit.may_look() {
        return Vec::new();
    }
    let graph = &circuit.metal.graph;
    let (a, b) = graph.ends(edge);
    let (nodes, _) =
        graph.spread(&[a, b], |other, _| !matches!(circuit.metal.edges[other as usize], EdgeKind::Device(_)));
    circuit.look(nodes.len());
    let old = current(circuit.device_rating(id));
    let runs = nodes.iter().flat_map(|node| graph.at(*node).iter().filter(move |row| *node < row.1));
    let mut found = Vec::new();
    for run in runs.map(|row| row.0).filter(|run| !circuit.wires(*run).is_empty()).take(MOST) {
        let terms = match circuit.hits(run).max_by_key(|hit| Circuit::burden(hit)) {
            Some(hit) => circuit.burden_terms(hit),
            None => circuit.cut(run),
        };
        if !terms.iter().any(|term| term.component == id) {
            continue;
        }
        let all: Current = terms.iter().map(|term| current(term.amount)).sum();
        for wire in circuit.wires(run).iter().filter(|wire| !circuit.is_exempt(**wire)) {
            let carried = (all - old + rating) * circuit.share(*wire);
            if !carried.within(cx.permitted(*wire)) {
                found.push((*wire, cx.size_for(*wire, carried)));
            }
        }
    }
    found.sort_unstable_by_key(|row| row.0);
    found
}

/// What a device is, of its type, in words: `class T fuse`.
fn kind_words(kind: Option<FuseType>) -> &'static str {
    match kind {
        Some(FuseType::Blade) => "blade fuse",
        Some(FuseType::BoltIn) => "bolt-in fuse",
        Some(FuseType::Strip) => "strip fuse",
        Some(FuseType::ClassT) => "class T fuse",
        Some(FuseType::TerminalBlock) => "terminal-block fuse",
        Some(FuseType::Cylindrical) => "cylindrical fuse",
        None => "breaker",
    }
}

/// The type of a device: of a fuse the one that it states (`Some(None)` where it states none), `None` for a breaker.
fn fuse_type(body: &Body) -> Option<Option<FuseType>> {
    match body {
        Body::Fuse(fuse) => Some(fuse.kind),
        _ => None,
    }
}

/// Standard ratings of a device's own type, ascending; none where it states no type.
fn own_ratings<'c>(cx: &Context<'c>, body: &Body) -> &'c [Current] {
    match fuse_type(body) {
        Some(None) => &[],
        Some(kind) => cx.book.ratings(kind),
        None => cx.book.ratings(None),
    }
}

/// The same device with another rating.
fn with_rating(body: &Body, rating: Current) -> Body {
    let mut body = body.clone();
    match &mut body {
        Body::Fuse(fuse) => fuse.rating = rating,
        Body::Breaker(breaker) => breaker.rating = rating,
        _ => {}
    }
    body
}

/// What a device of this type has to be rated at least, for what flows through an edge for good.
fn least_rating(cx: &Context<'_>, edge: u32, blade: bool) -> Current {
    cx.steady(edge).map_or_else(Current::default, |carried| carried.current / cx.book.continuous(blade))
}
