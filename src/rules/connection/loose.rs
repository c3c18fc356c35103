//! `connection.loose`: a terminal that a component cannot do without is connected to nothing.

use rustc_hash::FxHashSet;

use crate::design::{Body, Component, Feed, TerminalId, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "connection.loose",
    severity: Severity::Warning,
    claim: "Every terminal that a component cannot do without is connected.",
    why: "A component with an open pole does nothing, or waits live at its other pole for somebody's spanner.",
    how: "A terminal is connected where a wire, a bolt or a data lead ends at it, or its component is mounted on a chassis that serves for it.",
    limits: &[],
    bad: example!("connection.loose", bad),
    good: example!("connection.loose", good),
    of_absence: true,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let mut used: FxHashSet<TerminalId> = FxHashSet::default();
    for (id, wire) in cx.design.wires.entries() {
        if !cx.circuit.absent_wires.contains(&id) {
            used.extend([wire.from.terminal, wire.to.terminal]);
        }
    }
    for joint in &cx.design.joints {
        used.extend([joint.a.terminal, joint.b.terminal]);
    }
    for lead in cx.design.data.iter() {
        used.extend([lead.from.terminal, lead.to.terminal]);
    }
    for (id, component) in cx.design.components.entries() {
        let connected = |role: TerminalRole| {
            component.terminal(cx.design, role).is_none_or(|terminal| used.contains(&terminal))
        };
        let open: Vec<String> = needed(component)
            .into_iter()
            .filter(|role| !connected(*role) && !excused(component, *role, &connected))
            .filter_map(|role| component.terminal(cx.design, role))
            .map(|terminal| cx.design.terminal_name(terminal))
            .collect();
        if open.is_empty() {
            continue;
        }
        let list = Context::list(&open);
        let verb = if open.len() == 1 { "is" } else { "are" };
        out.push(
            cx.on_component(&RULE, id)
                .headline(format!("{list} {verb} connected to nothing"))
                .label(format!("needed by {}", component.kind.phrase()))
                .texts("terminals", open)
                .help(format!("connect {list}, or take {} out of the design", component.name)),
        );
    }
}

/// Terminals that a kind cannot do without.
fn needed(component: &Component) -> Vec<TerminalRole> {
    use TerminalRole as R;
    match &component.body {
        Body::Battery(_)
        | Body::Alternator(_)
        | Body::Supply(_)
        | Body::Solar(_)
        | Body::Load(_)
        | Body::Inverter(_)
        | Body::Hub(_) => vec![R::Plus, R::Minus],
        Body::Charger(charger) => {
            let mut needed = Vec::new();
            if charger.feed != Feed::Ac {
                needed.extend([R::InPlus, R::InMinus]);
            }
            if charger.outputs < 2 {
                needed.push(R::OutPlus);
            } else {
                needed.extend((1..=charger.outputs).map(R::OutPlusNumber));
            }
            needed.push(R::OutMinus);
            if charger.needs_enable {
                needed.push(R::Enable);
            }
            needed
        }
        Body::Fuse(_) | Body::Breaker(_) | Body::Cutoff(_) => vec![R::Line, R::Load],
        Body::Switch(_) | Body::Plug(_) => vec![R::A, R::B],
        Body::Meter(_) => vec![R::Bat, R::Sys],
        Body::Post(_) | Body::Bar(_) | Body::Chassis => Vec::new(),
    }
}

/// Terminals that something else serves for.
fn excused(component: &Component, role: TerminalRole, connected: &dyn Fn(TerminalRole) -> bool) -> bool {
    match (&component.body, role) {
        (Body::Load(load), TerminalRole::Minus) => load.returns.is_some(),
        (Body::Alternator(alternator), TerminalRole::Minus) => alternator.returns.is_some(),
        (Body::Charger(charger), TerminalRole::InMinus) if charger.common => {
            connected(TerminalRole::OutMinus)
        }
        (Body::Charger(charger), TerminalRole::OutMinus) if charger.common && charger.feed != Feed::Ac => {
            connected(TerminalRole::InMinus)
        }
        _ => false,
    }
}
