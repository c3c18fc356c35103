//! `cutoff.misused`: an electronic disconnect that is fed backwards, or with an inverter behind it.

use crate::circuit::{EdgeKind, NONE};
use crate::design::{ComponentId, Kind, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "cutoff.misused",
    severity: Severity::Error,
    claim: "An electronic disconnect has every source on its line side, and no inverter behind it.",
    why: "It blocks one way only: fed backwards it passes current while it is off. An inverter's input charges in a surge that destroys it.",
    how: "From the load side, the cutoff itself left out, no source's positive is reached, other cutoffs passed only from their load to their line; \
          and from there on, other cutoffs passed the way they carry, no inverter's positive.",
    limits: &[],
    bad: example!("cutoff.misused", bad),
    good: example!("cutoff.misused", good),
    of_absence: false,
    studies: false,
    unstated: None,
    check,
};

/// The metal between cutoffs: its parts, with the cutoffs that lead into and out of each.
struct Parts {
    part: Vec<u32>,
    /// Cutoffs into each part, with the part that each comes from.
    into: Vec<Vec<(u32, u32)>>,
    /// Cutoffs out of each part, with the part that each leads to.
    out_of: Vec<Vec<(u32, u32)>>,
    /// The first source on each part.
    source: Vec<Option<ComponentId>>,
    /// The inverters on each part.
    inverters: Vec<Vec<ComponentId>>,
    /// Whether an inverter is on the part or beyond.
    leads_to_inverter: Vec<bool>,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let circuit = cx.circuit;
    let edges = || circuit.metal.edges.iter().enumerate();
    let cutoffs: Vec<(u32, ComponentId)> = edges()
        .filter_map(|(edge, kind)| match kind {
            EdgeKind::Cutoff(id) if circuit.is_live(circuit.metal.graph.ends(edge as u32).0) => {
                Some((edge as u32, *id))
            }
            _ => None,
        })
        .collect();
    if cutoffs.is_empty() {
        return;
    }
    let parts = Parts::new(cx, &cutoffs);
    for (edge, id) in cutoffs {
        let (line, load) = circuit.metal.graph.ends(edge);
        let (from, to) = (parts.part[line as usize], parts.part[load as usize]);
        if let Some(source) = parts.feeding(cx, to, edge) {
            out.push(backwards(cx, id, source, parts.feeding(cx, from, edge).is_some(), from == to));
        } else if parts.leads_to_inverter[to as usize] {
            let inverters = parts.inverters_behind(cx, to);
            if !inverters.is_empty() {
                out.push(surged(cx, id, line, &inverters));
            }
        }
    }
}

impl Parts {
    fn new(cx: &Context<'_>, cutoffs: &[(u32, ComponentId)]) -> Self {
        let circuit = cx.circuit;
        let graph = &circuit.metal.graph;
        let part =
            graph.components(|edge| !matches!(circuit.metal.edges[edge as usize], EdgeKind::Cutoff(_)));
        let n = part.iter().max().map_or(0, |most| *most as usize + 1);
        let (mut into, mut out_of) = (vec![Vec::new(); n], vec![Vec::new(); n]);
        for (edge, _) in cutoffs {
            let (line, load) = graph.ends(*edge);
            let (from, to) = (part[line as usize], part[load as usize]);
            into[to as usize].push((*edge, from));
            out_of[from as usize].push((*edge, to));
        }
        let mut source = vec![None; n];
        for one in &circuit.sources {
            for plus in &one.plus {
                source[part[*plus as usize] as usize].get_or_insert(one.component);
            }
        }
        let mut inverters = vec![Vec::new(); n];
        for port in &circuit.ports {
            if cx.design.components[port.component].kind == Kind::Inverter {
                let node = circuit.metal.node(port.plus[0]);
                inverters[part[node as usize] as usize].push(port.component);
            }
        }
        let mut leads_to_inverter: Vec<bool> = inverters.iter().map(|all| !all.is_empty()).collect();
        let mut stack: Vec<u32> = (0..n as u32).filter(|at| leads_to_inverter[*at as usize]).collect();
        while let Some(at) = stack.pop() {
            for (_, from) in &into[at as usize] {
                if !std::mem::replace(&mut leads_to_inverter[*from as usize], true) {
                    stack.push(*from);
                }
            }
        }
        Self { part, into, out_of, source, inverters, leads_to_inverter }
    }

    /// A source that feeds a part without passing one cutoff.
    fn feeding(&self, cx: &Context<'_>, part: u32, without: u32) -> Option<ComponentId> {
        self.walk(cx, part, without, &self.into, |at| self.source[at as usize])
    }

    /// The inverters that a part leads to.
    fn inverters_behind(&self, cx: &Context<'_>, part: u32) -> Vec<ComponentId> {
        let mut found = Vec::new();
        self.walk(cx, part, NONE, &self.out_of, |at| -> Option<()> {
            found.extend(&self.inverters[at as usize]);
            None
        });
        found
    }

    /// The first answer of the parts that cutoffs lead to, the nearest first.
    fn walk<T>(
        &self,
        cx: &Context<'_>,
        part: u32,
        without: u32,
        ways: &[Vec<(u32, u32)>],
        mut answer: impl FnMut(u32) -> Option<T>,
    ) -> Option<T> {
        if let Some(found) = answer(part) {
            return Some(found);
        }
        let mut order = vec![part];
        let mut seen = rustc_hash::FxHashSet::from_iter([part]);
        let mut at = 0;
        while let Some(part) = order.get(at).copied() {
            at += 1;
            for (_, next) in ways[part as usize].iter().filter(|row| row.0 != without) {
                if !cx.circuit.may_look() {
                    return None;
                }
                cx.circuit.look(1);
                if seen.insert(*next) {
                    if let Some(found) = answer(*next) {
                        return Some(found);
                    }
                    order.push(*next);
                }
            }
        }
        None
    }
}

fn backwards(
    cx: &Context<'_>,
    id: ComponentId,
    source: ComponentId,
    fed_forwards: bool,
    bypassed: bool,
) -> Finding {
    let name = cx.name(id);
    let from = cx.source_terminal(source);
    let kind = cx.design.components[source].kind.word();
    let help = if bypassed {
        format!("take out the way around {name}, so that {from} reaches what it feeds through {name} alone")
    } else if fed_forwards {
        let line = cx.design.components[id].terminal(cx.design, TerminalRole::Line);
        let line = line.map_or(0, |line| cx.circuit.metal.node(line));
        let given = cx.circuit.pushed_by(source);
        let device = if 0.0 < given.as_amps() {
            cx.new_device(None, cx.circuit.part[line as usize], given)
        } else {
            "a device of its own".into()
        };
        format!("connect {from} to the line side of {name} ({}), by {device}", cx.circuit.node_name(line))
    } else {
        format!("turn {name} round, so that its line side faces {from}")
    };
    cx.on_component(&RULE, id)
        .headline(format!("{name} carries from line to load alone, and {from} feeds its load side"))
        .label(if bypassed { "has another way around it" } else { "fed backwards" })
        .related(cx.name(source), cx.span(source), format!("this {kind} reaches the load side"))
        .text("source", cx.name(source))
        .help(help)
}

fn surged(cx: &Context<'_>, id: ComponentId, line: u32, inverters: &[ComponentId]) -> Finding {
    let name = cx.name(id);
    let names = cx.names(inverters.iter().copied());
    let list = Context::list(&names);
    let verb = if inverters.len() == 1 { "is" } else { "are" };
    let mut finding = cx
        .on_component(&RULE, id)
        .headline(format!("{list} {verb} fed through {name}, which an inverter's surge destroys"))
        .label("an inverter is behind this cutoff")
        .texts("inverters", names);
    for inverter in inverters.iter().take(8) {
        finding = finding.related(cx.name(*inverter), cx.span(*inverter), format!("fed through {name}"));
    }
    let node = cx.circuit.node_name(line);
    let part = cx.circuit.part[line as usize];
    let device = match inverters {
        [one] => cx.circuit.demand_of(*one).map(|demand| cx.new_device(None, part, demand)),
        _ => None,
    };
    for inverter in inverters.iter().take(8) {
        if let Some(demand) = cx.circuit.demand_of(*inverter) {
            let meaning = format!("what {} takes by its ratings", cx.name(*inverter));
            finding = finding.figure(demand.to_string(), meaning);
        }
    }
    let device = device.unwrap_or_else(|| "a device of its own".into());
    finding.help(format!(
        "feed {list} from {node}, ahead of {name}, by {device}, and use the inverter's own low-voltage stop"
    ))
}
