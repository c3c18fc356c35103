//! `return.single-failure`: one return connection opens, and the current takes a way that cannot bear it or was not meant for it.

use crate::circuit::lead_conductor;
use crate::design::{Place, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, example};
use crate::study::{
    Depth, Effect, Failure, Failures, ModeStudy, Opened, Overload, Path, opened_name, path_name,
};
use crate::units::current_against;

pub(in crate::rules) const RULE: Rule = Rule {
    id: "return.single-failure",
    severity: Severity::Warning,
    claim: "When one return connection opens, what it carried stops, or finds a way back that bears it and is meant for it.",
    why: "Lugs come loose and straps corrode. A load that stops is noticed; a load that goes on by a data lead, a bond or the thinner of two cables \
          is noticed by its smoke.",
    how: "Each wire, bolt, mounting, switch, plug and bond of the return is opened in turn, in each mode (of wires side by side one, of the conductors of \
          one wire one), and the mode is solved again. A wire or data lead that then carries more than its ampacity, and did not before, is \
          a finding, and so is a load whose current comes home by a bond or a data lead. A connection behind which only loads lie stops them: that is \
          the mode with them off. A load that cannot hold its power any more is taken as the resistance that it is at its nominal voltage.",
    limits: &["conductor.operating"],
    bad: example!("return.single-failure", bad),
    good: example!("return.single-failure", good),
    of_absence: false,
    studies: true,
    unstated: None,
    check,
};

/// Below this a meter reads nothing.
const NO_AMPS: f64 = 1e-6;

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let Some(study) = cx.study() else { return };
    let failures = Failures::new(cx.circuit, study, Depth::Harm);
    out.extend(failures.opened.iter().filter_map(|failure| finding(cx, failure)));
    if let Some(first) = failures.unopened.first() {
        out.push(unopened(cx, *first, failures.unopened.len()));
    }
}

/// The mode in which most comes together: a load that comes home by a way not meant for it, else the largest overload.
fn worst(failure: &Failure) -> Option<&Effect> {
    let rank = |effect: &Effect| {
        let over = effect.overloads.iter().map(over).fold(0.0, f64::max);
        (!effect.homes.is_empty(), over)
    };
    // Of equal ones the first.
    failure.effects.iter().reduce(|best, next| if rank(best) < rank(next) { next } else { best })
}

fn over(one: &Overload) -> f64 {
    one.current.as_amps() / one.ampacity.as_amps().max(1e-9)
}

fn finding(cx: &Context<'_>, failure: &Failure) -> Option<Finding> {
    let effect = worst(failure)?;
    let mode = cx.study()?.modes.get(effect.mode)?;
    let name = opened_name(cx.circuit, failure.opened);
    let most = effect.overloads.iter().reduce(|best, next| if over(best) < over(next) { next } else { best });
    let mut finding = match effect.homes.is_empty() {
        false => comes_home(cx, on(cx, failure.opened), effect, mode, &name),
        true => overloads(cx, on(cx, failure.opened), most?, (mode, &name, failure.opened)),
    };
    for one in &effect.overloads {
        finding = tell_overload(cx, finding, one, failure.opened);
    }
    if let Some(most) = most {
        finding =
            finding.number("current_a", most.current.as_amps()).number("ampacity_a", most.ampacity.as_amps());
    }
    for meter in &effect.meters {
        let Some(truth) = meter.truth else { continue };
        let nothing = meter.reads.as_amps().abs() < NO_AMPS;
        let reads = if nothing { "nothing".into() } else { meter.reads.to_string() };
        let note = format!("reads {reads} then, and {truth} flows in what it counts");
        finding = finding.related(cx.name(meter.meter), cx.span(meter.meter), note);
    }
    let modes: Vec<&Effect> = failure.effects.iter().filter(|row| row.mode != effect.mode).collect();
    if !modes.is_empty() {
        let names =
            modes.iter().filter_map(|row| cx.study()?.modes.get(row.mode)).map(|mode| mode.name.clone());
        let names: Vec<String> = names.collect();
        let count = names.len();
        finding = finding.figure(
            if count == 1 { "1 mode".into() } else { format!("{count} modes") },
            format!("more in which it does harm: {}", Context::list(&names)),
        );
    }
    let mut through: Vec<String> =
        effect.overloads.iter().map(|one| path_name(cx.circuit, one.path)).collect();
    let by = effect.by.iter().map(|row| path_name(cx.circuit, row.0));
    let by: Vec<String> = by.filter(|name| !through.contains(name)).collect();
    through.extend(by);
    finding = finding.text("mode", &*mode.name).texts("through", through);
    Some(cx.limit_figure(finding, "conductor.operating"))
}

/// A finding on what opens.
fn on(cx: &Context<'_>, opened: Opened) -> Finding {
    match opened {
        Opened::Wire(id) | Opened::Conductor(id) => cx.on_wire(&RULE, id),
        // A bolt has no name: it is told by its line.
        Opened::Joint(at) => cx.design.joints.get(at).map_or_else(
            || Finding::new(RULE.id, RULE.severity, "", crate::text::Span::new(crate::text::FileId(0), 0, 0)),
            |joint| {
                let place: Place = joint.place;
                cx.at(&RULE, "", place)
            },
        ),
        Opened::Returns(id) | Opened::Link(id) => cx.on_component(&RULE, id),
    }
}

/// `F1 and F2`, of more than a few the first.
fn few(names: Vec<String>) -> String {
    const SHOWN: usize = 4;
    let n = names.len();
    let mut names = names;
    if SHOWN < n {
        names.truncate(SHOWN - 1);
        names.push(format!("{} more", n - SHOWN + 1));
    }
    Context::list(&names)
}

/// A load goes on by a bond or a data lead.
fn comes_home(cx: &Context<'_>, finding: Finding, effect: &Effect, mode: &ModeStudy, name: &str) -> Finding {
    let loads = few(effect.homes.iter().map(|id| cx.name(*id).to_owned()).collect());
    let ways = few(effect.by.iter().map(|row| path_name(cx.circuit, row.0)).collect());
    let state = cx.in_mode(mode);
    let amps = effect.by.first().and_then(|row| row.1);
    let amount = amps.map_or_else(String::new, |amps| format!(" ({amps})"));
    let mut finding = finding
        .headline(format!("with {name} open, the current of {loads} comes home by {ways} {state}{amount}"))
        .label(format!("without it {loads} goes on by {ways}"));
    for id in effect.homes.iter().take(4) {
        let note = match effect.weakened.contains(id) {
            true => "goes on, too weakly fed to hold what it takes",
            false => "goes on",
        };
        finding = finding.related(cx.name(*id), cx.span(*id), note);
    }
    for (path, carries) in effect.by.iter().take(4) {
        let carries = carries.map_or_else(
            || "carries what the load takes; no voltage is stable".to_owned(),
            |amps| format!("carries {amps}, and no current of a load is meant for it"),
        );
        let told = effect.overloads.iter().any(|one| one.path == *path);
        if let (Some((name, span)), false) = (place(cx, *path), told) {
            finding = finding.related(name, span, carries);
        }
    }
    let first = effect.by.first().map(|row| row.0);
    let help = match first {
        Some(Path::Data(id)) => format!(
            "use an isolated data lead for {}: when {name} opens, {loads} stops, and that is noticed",
            cx.design.data[id].name
        ),
        Some(Path::Wire(id)) => {
            let bond = cx.wire_name(id);
            let carries = amps.unwrap_or_default();
            let size = cx.size_where(id, |ampacity| carries.within(ampacity));
            let as_return = match size.filter(|_| !carries.within(cx.ampacity(id))) {
                Some(size) => format!("make it a return of {size}, not marked `bond`"),
                None => "make it a return, not marked `bond`".into(),
            };
            format!(
                "take {bond} away where another bond serves, so that {loads} stops when {name} opens; or {as_return}"
            )
        }
        _ => format!("open the loop that {name} lies in, so that {loads} stops when it opens"),
    };
    finding.help(help)
}

/// A conductor beyond its ampacity.
fn overloads(
    cx: &Context<'_>,
    finding: Finding,
    most: &Overload,
    (mode, name, opened): (&ModeStudy, &str, Opened),
) -> Finding {
    let told = current_against(most.current, most.ampacity);
    let victim = path_name(cx.circuit, most.path);
    let state = cx.in_mode(mode);
    let its = if victim_is_several(cx, most, opened) { "their" } else { "its" };
    let (victim, label) = match opened {
        Opened::Conductor(id) if most.path == Path::Wire(id) => {
            let rest = cx.design.wires[id].count.saturating_sub(1);
            let rest =
                if rest == 1 { "the other conductor".into() } else { format!("the other {rest} conductors") };
            (rest.clone(), format!("{rest} then carry what all of them did"))
        }
        _ => (victim.clone(), format!("{victim} then takes what it carried")),
    };
    finding
        .headline(format!(
            "with {name} open, {told} flows through {victim} {state}, and {its} ampacity is {}",
            most.ampacity
        ))
        .label(label.replace("conductor then carry", "conductor then carries"))
        .help(remedy(cx, most, opened))
}

/// Whether more than one conductor is left of the wire that lost one.
fn victim_is_several(cx: &Context<'_>, most: &Overload, opened: Opened) -> bool {
    matches!((opened, most.path), (Opened::Conductor(a), Path::Wire(b)) if a == b && 2 < cx.design.wires[a].count)
}

/// What bears the failure.
fn remedy(cx: &Context<'_>, most: &Overload, opened: Opened) -> String {
    let carries = most.current;
    match (most.path, opened) {
        (Path::Data(id), _) => format!("use an isolated data lead for {}", cx.design.data[id].name),
        (Path::Wire(id), Opened::Conductor(own)) if id == own => {
            let name = cx.wire_name(id);
            let count = f64::from(cx.design.wires[id].count.max(2));
            let share = count / (count - 1.0);
            match cx.size_where(id, |ampacity| (carries * share).within(ampacity)) {
                Some(size) => format!(
                    "use {size} for each conductor of {name}, so that those left bear it when one opens; or one larger conductor, which opens as a whole"
                ),
                None => format!("lay more conductors for {name}, so that those left bear it when one opens"),
            }
        }
        (Path::Wire(id), Opened::Wire(other)) if beside(cx, id, other) => {
            let names: Vec<String> = cx
                .circuit
                .edge(id)
                .map_or(&[][..], |edge| cx.circuit.wires(edge))
                .iter()
                .map(|wire| cx.wire_name(*wire).to_owned())
                .collect();
            let names = Context::list(&names);
            match cx.size_where(id, |ampacity| carries.within(ampacity)) {
                Some(size) => format!(
                    "use {size} for {names}, so that what is left bears it when one opens; or one wire large enough, which opens as a whole"
                ),
                None => {
                    format!("lay one more wire beside {names}, so that what is left bears it when one opens")
                }
            }
        }
        (Path::Wire(id), _) => {
            let name = cx.wire_name(id);
            match cx.size_where(id, |ampacity| carries.within(ampacity)) {
                Some(size) => {
                    format!("use {size} for {name}, or open the loop by which the current comes to it")
                }
                None => format!("open the loop by which the current comes to {name}"),
            }
        }
        _ => "open the loop by which the current comes to it".into(),
    }
}

/// Whether two wires lie side by side.
fn beside(cx: &Context<'_>, a: WireId, b: WireId) -> bool {
    cx.circuit.edge(a).is_some() && cx.circuit.edge(a) == cx.circuit.edge(b)
}

fn place<'c>(cx: &Context<'c>, path: Path) -> Option<(&'c str, crate::text::Span)> {
    match path {
        Path::Wire(id) => Some((cx.wire_name(id), cx.wire_span(id))),
        Path::Data(id) => {
            let lead = &cx.design.data[id];
            Some((&lead.name, lead.place.span))
        }
        _ => None,
    }
}

fn tell_overload(cx: &Context<'_>, finding: Finding, one: &Overload, opened: Opened) -> Finding {
    let Some((name, span)) = place(cx, one.path) else { return finding };
    let carries = current_against(one.current, one.ampacity);
    let made = match one.path {
        Path::Wire(id) => cx.made(id),
        Path::Data(id) => {
            let lead = lead_conductor(cx.design, cx.book, id);
            let assumed = if cx.design.data[id].size.is_none() { " as no size is stated" } else { "" };
            format!("{}{assumed}, {} insulation, {} ambient", lead.size, lead.insulation, lead.ambient)
        }
        _ => String::new(),
    };
    let own = matches!((opened, one.path), (Opened::Conductor(a), Path::Wire(b)) if a == b);
    let finding = match own {
        true => finding,
        false => {
            finding.related(name, span, format!("carries {carries} then, and may carry {}", one.ampacity))
        }
    };
    let left = if own { " without the one that opened" } else { "" };
    finding
        .figure(carries.clone(), format!("computed through {name} with it open"))
        .figure(one.ampacity.to_string(), format!("ampacity of {name}{left}: {made}"))
}

/// What was left out: never silence.
fn unopened(cx: &Context<'_>, first: Opened, count: usize) -> Finding {
    let name = opened_name(cx.circuit, first);
    let more = match count {
        1 => String::new(),
        2 => " and 1 more connection".into(),
        _ => format!(" and {} more connections", count - 1),
    };
    let mut finding = on(cx, first);
    finding.severity = Severity::Advice;
    finding
        .headline(format!("{name}{more} of the return lie in loops and were not opened: all together would take too long"))
        .label("not opened in each mode")
        .number("count", count as f64)
        .help("`ohmward study FILE --failures` opens them all; where the loops are not meant, `return.bypass` tells which wire to take away")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Id;
    use crate::units::Current;

    #[test]
    fn the_worst_mode_is_the_one_that_comes_home_wrongly() {
        let effect = |mode: usize, amps: f64, home: bool| Effect {
            mode,
            reroutes: true,
            trouble: None,
            overloads: vec![Overload {
                path: Path::Wire(WireId::from_index(0)),
                current: Current::amps(amps),
                ampacity: Current::amps(10.0),
            }],
            homes: if home { vec![crate::design::ComponentId::from_index(0)] } else { Vec::new() },
            by: Vec::new(),
            stops: Vec::new(),
            weakened: Vec::new(),
            meters: Vec::new(),
        };
        let failure = |effects| Failure { opened: Opened::Wire(WireId::from_index(1)), effects };
        let worst_of = |effects| worst(&failure(effects)).map(|effect| effect.mode);
        assert_eq!(worst_of(vec![effect(0, 20.0, false), effect(1, 30.0, false)]), Some(1));
        assert_eq!(worst_of(vec![effect(0, 20.0, true), effect(1, 30.0, false)]), Some(0));
        assert_eq!(worst_of(vec![effect(0, 20.0, false), effect(1, 20.0, false)]), Some(0));
    }
}
