//! `terminal.order`: the ring with the most current is not at the base of its stud.

use std::cmp::Ordering;

use crate::check::Flow;
use crate::design::{Body, Stack, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::units::Current;

use super::ends;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "terminal.order",
    severity: Severity::Advice,
    claim: "The ring that carries the most lies at the base of its stud.",
    why: "At the base a ring lies on the metal of the stud itself; everything above it pushes its current through the rings below.",
    how: "Each wire of a `stack` by what can circulate through it for good, live or not; a starter's wire and one that nothing limits come \
          before all others. Where a wire of the stack lies in a loop, or nothing is known of it, the whole stack goes by ampacity. A \
          device on the stud is named by the wire that it feeds. What a stack does not name is not judged.",
    limits: &[],
    bad: example!("terminal.order", bad),
    good: example!("terminal.order", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    for stack in &cx.design.stacks {
        let strange: Vec<WireId> =
            stack.wires.iter().copied().filter(|wire| !stands(cx, stack, *wire)).collect();
        if strange.is_empty() {
            out.extend(judge(cx, stack));
        } else {
            out.push(astray(cx, stack, &strange));
        }
    }
}

/// Whether a wire's ring, or the foot of the device that it is led from, is on the stack's stud.
fn stands(cx: &Context<'_>, stack: &Stack, wire: WireId) -> bool {
    let node = cx.circuit.metal.node(stack.node.terminal);
    let is_other =
        |stud: Option<u32>| matches!((stack.node.stud, stud), (Some(one), Some(other)) if one != other);
    ends(&cx.design.wires[wire]).into_iter().any(|end| {
        if end.terminal == stack.node.terminal {
            return !is_other(end.stud);
        }
        let component = &cx.design.components[cx.design.terminals[end.terminal].component];
        !component.kind.is_node()
            && component.terminals(cx.design).any(|(id, _)| cx.circuit.metal.node(id) == node)
    })
}

/// What a ring carries, for the order.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Carried {
    Amount(Current),
    Unlimited,
    Starter,
}

impl Carried {
    /// Whether this belongs below the other.
    fn exceeds(self, other: Self) -> bool {
        let rank = |one: Self| match one {
            Self::Amount(_) => 0,
            Self::Unlimited => 1,
            Self::Starter => 2,
        };
        match (self, other) {
            (Self::Amount(one), Self::Amount(other)) => !one.within(other),
            _ => rank(other) < rank(self),
        }
    }

    fn told(self) -> String {
        match self {
            Self::Amount(amount) => amount.to_string(),
            Self::Unlimited => "no limit".into(),
            Self::Starter => "a starter's current".into(),
        }
    }
}

fn circulating(cx: &Context<'_>, wire: WireId) -> Option<Carried> {
    if cx.design.wires[wire].cranking {
        return Some(Carried::Starter);
    }
    let amount = cx.circuit.circulation(cx.circuit.edge(wire)?)?;
    Some(match cx.circuit.share_of(wire, amount) {
        Flow::None => Carried::Amount(Current::default()),
        Flow::Limited(amount) => Carried::Amount(amount),
        Flow::Unlimited => Carried::Unlimited,
    })
}

fn judge(cx: &Context<'_>, stack: &Stack) -> Option<Finding> {
    let known: Option<Vec<Carried>> = stack.wires.iter().map(|wire| circulating(cx, *wire)).collect();
    let by_ampacity = known.is_none();
    let carried =
        known.unwrap_or_else(|| stack.wires.iter().map(|wire| Carried::Amount(cx.ampacity(*wire))).collect());
    let mut rows: Vec<(WireId, Carried)> = stack.wires.iter().copied().zip(carried).collect();
    let base = *rows.first()?;
    let highest =
        rows.iter().copied().reduce(|best, next| if next.1.exceeds(best.1) { next } else { best })?;
    if !highest.1.exceeds(base.1) {
        return None;
    }
    rows.sort_by(|one, other| match (one.1.exceeds(other.1), other.1.exceeds(one.1)) {
        (true, _) => Ordering::Less,
        (_, true) => Ordering::Greater,
        _ => Ordering::Equal,
    });
    let at = cx.design.end_name(stack.node);
    let (low, high) = (cx.wire_name(base.0), cx.wire_name(highest.0));
    let what = if by_ampacity { "ampacity" } else { "what can flow through it for good" };
    let id = cx.design.terminals[stack.node.terminal].component;
    let order: Vec<&str> = rows.iter().map(|row| cx.wire_name(row.0)).collect();
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!(
            "{low} with {} lies at the base of {at}, below {high} with {}",
            base.1.told(),
            highest.1.told()
        ))
        .label(format!("{high} belongs at its base"))
        .related(at.as_str(), stack.place.span, "the order as it is now, from the base up")
        .text("stud", at.as_str())
        .texts("order", order.iter().map(ToString::to_string).collect())
        .help(format!("put {high} at the base: `stack {at} {}`", order.join(" ")));
    if let Carried::Amount(amount) = highest.1 {
        finding = finding.number("current_a", amount.as_amps());
    }
    if let Carried::Amount(amount) = base.1 {
        finding = finding.number("base_a", amount.as_amps());
    }
    Some(rows.iter().take(8).fold(finding, |finding, (wire, carried)| {
        finding.figure(carried.told(), format!("{}: {what}", cx.wire_name(*wire)))
    }))
}

/// A stack that names wires which are not there.
fn astray(cx: &Context<'_>, stack: &Stack, strange: &[WireId]) -> Finding {
    let at = cx.design.end_name(stack.node);
    let component = &cx.design.components[cx.design.terminals[stack.node.terminal].component];
    let names: Vec<String> = strange.iter().map(|wire| cx.wire_name(*wire).into()).collect();
    let listed = Context::list(&names);
    let (does, it) = if names.len() == 1 { ("does", "it") } else { ("do", "them") };
    let stud = matches!(component.body, Body::Bar(_)) && stack.node.stud.is_some();
    let kind = if stud { "stud" } else { component.kind.word() };
    let mut finding = cx
        .on_component(&RULE, cx.design.terminals[stack.node.terminal].component)
        .headline(format!("the stack on {at} names {listed}, which {does} not end on that {kind}"))
        .label("its stack names others")
        .related(at.as_str(), stack.place.span, "the stack")
        .text("stud", at.as_str())
        .texts("strange", names)
        .help(format!("take {it} out of the stack, or lead {it} to {at}"));
    for wire in strange.iter().take(8) {
        let ends = ends(&cx.design.wires[*wire]).map(|end| cx.design.end_name(end));
        let note = format!("runs from {} to {}", ends[0], ends[1]);
        finding = finding.related(cx.wire_name(*wire), cx.wire_span(*wire), note);
    }
    finding
}
