//! `mode.unsolved`: a mode that cannot be as it is written.

use crate::circuit::Circuit;
use crate::design::{ComponentId, TerminalId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::study::{ModeStudy, Trouble};
use crate::units::Current;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "mode.unsolved",
    severity: Severity::Error,
    claim: "Every mode has a steady state, in which all that is on is fed.",
    why: "Where a source cannot feed what is on, voltages collapse and no figure of the mode means anything; where something is on and nothing \
          reaches it, a switch or a source is missing from the mode.",
    how: "A mode fails (error) where no voltage is stable at a load of constant power, or an output without a battery would have to give more than it \
          can. A load or a charger's input that is on and that no source reaches is a warning; without modes, the rules of the wiring alone \
          tell that.",
    limits: &["conductor.operating"],
    bad: example!("mode.unsolved", bad),
    good: example!("mode.unsolved", good),
    of_absence: false,
    studies: true,
    unstated: None,
    check,
};

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some(study) = cx.study() else { return };
    // The first mode tells for all in which the same is unfed.
    let mut told = rustc_hash::FxHashMap::<ComponentId, (Finding, usize)>::default();
    let mut order = Vec::new();
    for mode in &study.modes {
        let solved = match &mode.solution {
            Ok(solved) => solved,
            Err(trouble) => {
                out.push(failed(cx, mode, *trouble));
                continue;
            }
        };
        if mode.mode.is_none() {
            continue;
        }
        let takers = solved.unfed.iter().filter_map(|at| {
            let taker = mode.elements.takers.get(*at)?;
            Some((taker.component, taker.plus, taker.minus))
        });
        let inputs = solved.starved.iter().filter_map(|at| {
            let giver = mode.elements.givers.get(*at)?;
            let input = giver.input?;
            Some((giver.component, input.plus, input.minus))
        });
        for (id, plus, minus) in takers.chain(inputs) {
            if !is_wired(cx.circuit, plus, minus) {
                continue;
            }
            match told.get_mut(&id) {
                Some(row) => row.1 += 1,
                None => {
                    order.push(id);
                    told.insert(id, (unfed(cx, mode, id), 0));
                }
            }
        }
    }
    for id in order {
        if let Some((finding, more)) = told.remove(&id) {
            let finding = match more {
                0 => finding,
                1 => finding.figure("1 mode", "more in which it is on and not fed"),
                _ => finding.figure(format!("{more} modes"), "more in which it is on and not fed"),
            };
            out.push(finding);
        }
    }
}

/// Both poles are where the wiring itself would let them be fed: what lacks more has findings of other rules.
fn is_wired(circuit: &Circuit<'_>, plus: TerminalId, minus: TerminalId) -> bool {
    let (plus, minus) = (circuit.metal.node(plus), circuit.metal.node(minus));
    circuit.is_live(plus) && circuit.is_return(minus)
}

fn failed(cx: &Context<'_>, mode: &ModeStudy, trouble: Trouble) -> Finding {
    let giver = |at: usize| mode.elements.givers.get(at).map(|giver| (giver.component, giver.most));
    let taker = |at: usize| mode.elements.takers.get(at);
    let id = match trouble {
        Trouble::Collapse(at) => taker(at).map(|taker| taker.component),
        Trouble::Starved(at) | Trouble::Overloaded(at) | Trouble::Drained(at) | Trouble::Unsettled(at) => {
            giver(at).map(|row| row.0)
        }
    };
    // What stands in the way is often one of several; the finding is of the mode, and without modes of the design.
    let mut finding = match mode.mode {
        Some(mode) => cx.at(&RULE, &cx.design.modes[mode].name, cx.design.modes[mode].place),
        None => cx.at(
            &RULE,
            &cx.design.name,
            crate::design::Place {
                span: cx.design.name_span.unwrap_or(crate::text::Span::new(crate::text::FileId(0), 0, 0)),
                fit: None,
                order: 0,
            },
        ),
    };
    let name = id.map_or("an output", |id| cx.name(id));
    let state = cx.in_mode(mode);
    finding = match trouble {
        Trouble::Collapse(_) | Trouble::Starved(_) => {
            let input = |at: usize| mode.elements.givers.get(at).and_then(|giver| giver.input);
            let nominal = match trouble {
                Trouble::Starved(at) => input(at).map(|input| input.nominal),
                Trouble::Collapse(at) => taker(at).map(|taker| taker.nominal),
                _ => None,
            };
            let nominal = nominal.unwrap_or_default();
            finding
                .headline(format!("{name} cannot be fed {state}: its voltage collapses"))
                .label(format!("no voltage at {name} is stable"))
                .help(format!(
                    "what lies between the source and {name} drops too much of its {nominal} at this load: use more copper or a stronger source, or take \
                     less in this mode"
                ))
        }
        Trouble::Overloaded(at) => {
            let most = giver(at).and_then(|row| row.1).unwrap_or(Current::default());
            finding
                .headline(format!("{name} cannot feed all that is on {state}"))
                .label(format!("{name} gives {most} at most, and no battery gives the rest"))
                .help(format!("take at most {most} from {name} in this mode, or put a battery beside it"))
        }
        Trouble::Drained(at) => {
            let input = mode.elements.givers.get(at).and_then(|giver| giver.input);
            let most = input.and_then(|input| input.most).unwrap_or_default();
            finding
                .headline(format!("{name} cannot feed all that is on {state}"))
                .label(format!("{name} draws {most} at most, and no battery gives the rest"))
                .help(format!("take less from {name} in this mode, or put a battery beside it"))
        }
        Trouble::Unsettled(_) => finding
            .headline(format!("no steady state is found {state}: {name} settles at nothing"))
            .label("has no steady state")
            .help(format!("look at what {name} is set to, and at what else holds a voltage where it is")),
    };
    if let Some(id) = id {
        finding = finding.related(name, cx.span(id), "this one");
    }
    cx.limit_figure(finding.text("mode", &*mode.name).text("element", name), "conductor.operating")
}

fn unfed(cx: &Context<'_>, mode: &ModeStudy, id: ComponentId) -> Finding {
    let name = cx.name(id);
    let component = &cx.design.components[id];
    let severity = cx.book.rule(RULE.id).severity.unwrap_or(Severity::Warning);
    let mut finding = cx
        .place(RULE.id.into(), severity, &component.name, component.place)
        .headline(format!("{name} is on {}, and no source reaches it", cx.in_mode(mode)))
        .label("on, and not fed")
        .text("mode", &*mode.name)
        .text("element", name)
        .help(format!("turn on or close in mode {} what feeds {name}, or leave {name} off in it", mode.name));
    if let Some(line) =
        mode.mode.and_then(|at| cx.design.modes[at].lines.iter().find(|line| line.component == id))
    {
        finding = finding.related(&*mode.name, line.span, "turned on here");
    }
    finding
}
