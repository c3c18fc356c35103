//! `connection.overrated`: more can pass a stud, bar, switch, plug or cutoff than it is rated for.

use crate::circuit::{Circuit, CutTerm, EdgeKind, Micro, UNLIMITED, current};
use crate::design::{Body, ComponentId, Kind};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Current, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "connection.overrated",
    severity: Severity::Error,
    claim: "Studs, bars, switches, plugs and cutoffs are rated for what can pass them before a device opens.",
    why: "Contacts and joints heat first: a switch welds, a stud loosens, and the plastic around it burns.",
    how: "For a post or bar, the largest that any wire or device at it can bring: a wire's let-through, or on an unprotected stretch the devices \
          that follow; in the return, what can circulate. A switch, plug or cutoff is judged as a wire in its place, what is unlimited \
          left aside; and by what flows through it for good, in the modes or by the ratings, as in `protection.undersize`. A starter's \
          switch has to bear the starter's current for a short time (`brief`).",
    limits: &[],
    bad: example!("connection.overrated", bad),
    good: example!("connection.overrated", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    for (edge, kind) in circuit.metal.edges.iter().enumerate() {
        let (EdgeKind::Switch(id) | EdgeKind::Plug(id) | EdgeKind::Cutoff(id)) = kind else { continue };
        let rating = rated(cx, *id);
        let before = out.len();
        if let (Some(rating), Some(amount)) = (rating, carried(circuit, edge as u32)) {
            judge(cx, *id, rating, amount, edge as u32, out);
        }
        if out.len() == before {
            out.extend(
                in_service(cx, *id, rating, edge as u32).or_else(|| in_starting(cx, *id, edge as u32)),
            );
        }
    }
    for (id, component) in cx.design.components.entries() {
        if !matches!(component.kind, Kind::Post | Kind::Bar) {
            continue;
        }
        let Some(rating) = rated(cx, id) else { continue };
        let node = circuit.metal.node(component.first_terminal);
        let most = circuit
            .metal
            .graph
            .at(node)
            .iter()
            .filter_map(|(edge, _)| Some((brought(circuit, *edge, node)?, *edge)))
            .max();
        if let Some((amount, edge)) = most {
            judge(cx, id, rating, amount, edge, out);
        }
    }
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let circuit = cx.circuit;
    for (edge, kind) in circuit.metal.edges.iter().enumerate() {
        let (EdgeKind::Switch(id) | EdgeKind::Plug(id) | EdgeKind::Cutoff(id)) = *kind else { continue };
        let edge = edge as u32;
        let rating = rated(cx, id);
        if rating.is_none() && (carried(circuit, edge).is_some() || cx.steady(edge).is_some()) {
            out.add("A", Without::NotJudged, id);
        }
        let started = current(circuit.starting(edge));
        if let Body::Switch(switch) = &cx.design.components[id].body
            && switch.brief.is_none()
            && rating.is_none_or(|rating| !started.within(rating))
            && 0.0 < started.as_amps()
        {
            out.add("brief", Without::NotJudged, id);
        }
    }
    for (id, component) in cx.design.components.entries() {
        if matches!(component.kind, Kind::Post | Kind::Bar) && rated(cx, id).is_none() {
            let node = circuit.metal.node(component.first_terminal);
            let edges = circuit.metal.graph.at(node);
            if edges.iter().any(|(edge, _)| brought(circuit, *edge, node).is_some()) {
                out.add("A", Without::NotJudged, id);
            }
        }
    }
}

/// What a component is rated to carry for good.
fn rated(cx: &Context<'_>, id: ComponentId) -> Option<Current> {
    match &cx.design.components[id].body {
        Body::Switch(switch) => switch.rating,
        Body::Plug(rated) | Body::Cutoff(rated) => rated.rating,
        Body::Post(post) => post.rating,
        Body::Bar(bar) => bar.rating,
        _ => None,
    }
}

/// What passes an edge at most, as for a wire in its place; `None` where that is unlimited or nothing.
fn carried(circuit: &Circuit<'_>, edge: u32) -> Option<Micro> {
    let node = circuit.metal.graph.ends(edge).0;
    let amount = if circuit.is_live(node) {
        let on_stretch = circuit.hits(edge).map(Circuit::burden).max();
        on_stretch.unwrap_or_else(|| {
            let (a, b) = circuit.arriving(edge);
            a.max(b)
        })
    } else {
        circuit.circulation(edge)?
    };
    (0 < amount && amount < UNLIMITED).then_some(amount)
}

/// What an edge can bring to a post or bar at one of its ends.
fn brought(circuit: &Circuit<'_>, edge: u32, node: u32) -> Option<Micro> {
    match circuit.metal.edges[edge as usize] {
        EdgeKind::Device(id) => {
            let rating = circuit.device_rating(id);
            let (a, b) = circuit.arriving(edge);
            let other = if circuit.metal.graph.ends(edge).0 == node { b } else { a };
            let bound = if circuit.is_live(node) { other } else { circuit.circulation(edge)? };
            Some(rating.min(bound)).filter(|amount| 0 < *amount)
        }
        _ => carried(circuit, edge),
    }
}

fn judge(
    cx: &Context<'_>,
    id: ComponentId,
    rating: Current,
    amount: Micro,
    edge: u32,
    out: &mut Vec<Finding>,
) {
    if current(amount).within(rating) {
        return;
    }
    out.push(finding(cx, id, rating, amount, edge));
}

/// A switch, plug or cutoff that carries more for good than it is rated for, or a starter's switch more than for a short time.
fn in_service(cx: &Context<'_>, id: ComponentId, rating: Option<Current>, edge: u32) -> Option<Finding> {
    let steady = cx.steady(edge)?;
    let carried = steady.current;
    let rating = rating.filter(|rating| !carried.within(*rating))?;
    let name = cx.name(id);
    let kind = cx.design.components[id].kind.word();
    let told = current_against(carried, rating);
    let finding = cx
        .on_component(&RULE, id)
        .headline(format!("{name} is rated {rating}, and {told} flows through it for good"))
        .label(format!("rated {rating}"))
        .number("rating_a", rating.as_amps())
        .number("current_a", carried.as_amps())
        .help(format!("use a {kind} rated for {told} or more, or divide what it feeds"));
    Some(cx.tell_steady(finding, &steady, &cx.steady_terms(edge, &steady)))
}

/// A switch in a starter's circuit that closes on more than it is rated for for a short time.
fn in_starting(cx: &Context<'_>, id: ComponentId, edge: u32) -> Option<Finding> {
    let Body::Switch(switch) = &cx.design.components[id].body else { return None };
    let started = current(cx.circuit.starting(edge));
    let brief = switch.brief.filter(|brief| !started.within(*brief))?;
    let name = cx.name(id);
    let told = current_against(started, brief);
    Some(
        cx.on_component(&RULE, id)
            .headline(format!(
                "{name} stands {brief} for a short time, and the starter behind it takes {told}"
            ))
            .label(format!("{brief} for a short time"))
            .number("rating_a", brief.as_amps())
            .number("current_a", started.as_amps())
            .help(format!("use a switch rated for {told} or more for a short time"))
            .figure(told, "what starters behind it take, stalled where that is stated"),
    )
}

fn finding(cx: &Context<'_>, id: ComponentId, rating: Current, amount: Micro, edge: u32) -> Finding {
    let circuit = cx.circuit;
    let name = cx.name(id);
    let told = current_against(current(amount), rating);
    let live = circuit.is_live(circuit.metal.graph.ends(edge).0);
    let cut: Vec<CutTerm> = if !live {
        Vec::new()
    } else if let Some(hit) = circuit.hits(edge).max_by_key(|hit| Circuit::burden(hit)) {
        circuit.burden_terms(hit)
    } else {
        circuit.cut(edge)
    };
    let by = circuit.edge_name(edge);
    let from = if by == name { String::new() } else { format!(" by {by}") };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{name} is rated {rating}, and {told} can pass it{from}"))
        .label(format!("rated {rating}"));
    for term in cut.iter().take(8) {
        finding = finding.related(
            cx.name(term.component),
            cx.span(term.component),
            format!("lets pass {}", current(term.amount)),
        );
    }
    let source =
        if cut.is_empty() { "before a device opens (maximum flow)".into() } else { cx.tell_cut(&cut) };
    let kind = cx.design.components[id].kind.word();
    finding
        .number("rating_a", rating.as_amps())
        .number("let_through_a", current(amount).as_amps())
        .texts("cut", cx.names(cut.iter().map(|term| term.component)))
        .help(format!("use a {kind} rated for {told} or more, or protect it with devices of {rating} in all"))
        .figure(told, source)
}
