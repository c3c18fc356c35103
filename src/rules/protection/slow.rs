//! `protection.slow`: in a fault the device opens after the conductor is too hot, or not at all.

use super::{fuse_type, least_rating, own_ratings, with_rating};
use crate::book::{ShareLimit, TemperatureLimit};
use crate::check::Role;
use crate::circuit::{UNLIMITED, current, per_metre};
use crate::design::{Body, ComponentId, FuseType, Id, TerminalRole, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::study::{Opening, divided, least_current, opens};
use crate::units::{Current, HeatIntegral, Resistance, Size, Time, Voltage};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.slow",
    severity: Severity::Error,
    claim: "In a fault at a wire's far end a device opens before the conductor is hotter than its insulation bears.",
    why: "A long thin wire draws so little in a fault that its fuse takes minutes or never opens, and the wire glows all that time.",
    how: "The current is the smallest of a bolted fault at the wire's far end, as `ohmward study` computes it (hot conductors, contacts, \
          batteries discharged, no limited source), as far as it comes through the wire. The fault is to the source's own negative: one to the \
          wire back draws less, by what that wire adds, so that a long thin pair wants more than this rule asks for. Each of two ends is the far one where unlimited \
          sources feed the other. It is held against every device in series on the way from the source, and one that opens in time is enough. In a \
          mesh the devices of the let-through's minimum cut have to open together, each with its part of the current by rating, or in turn: \
          with the whole fault, as it flows once the other ways are open. A device opens \
          within the time of the last gate that its current passes; past the last gate its I2t stays that of the gate, or is the one that the device \
          states. The current's square times that time is held against k2 S2; a current that the conductor carries for good heats it no \
          further. A device that no gate tells of opens, if at all, above its rating. Behind a `motor` with `stall` the nearest device also has to \
          open for that current.",
    limits: &["conductor.operating", "aluminium-clad.conductivity"],
    bad: example!("protection.slow", bad),
    good: example!("protection.slow", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

/// What is not a fault's current but what rounding left over.
const NOTHING: f64 = 1e-6;

/// A wire whose fault current comes from one of its ends.
struct Case {
    wire: WireId,
    near: u32,
    far: u32,
    /// What a fault at the far end draws through the wire.
    current: Current,
    /// Sets of devices, each of which clears the fault where all of it open; with what each device then carries.
    ways: Vec<Vec<(ComponentId, Current)>>,
    /// There is no other way around the wire.
    alone: bool,
}

/// What comes of a case.
enum Verdict {
    Clears,
    /// A type without gates and without a stated I²t would have to tell.
    Open(Vec<ComponentId>),
    /// The quickest set, when it opens, and what flows by then.
    Slow(usize, Time, HeatIntegral),
    Never(usize),
}

/// What a conductor bears, `k²S²`.
fn withstand(cx: &Context<'_>, wire: WireId, size: Size) -> HeatIntegral {
    let row = &cx.design.wires[wire];
    let k = cx.book.withstand_k(insulation(cx, wire));
    let clad = if row.aluminium_clad {
        cx.book.share(ShareLimit::AluminiumCladConductivity).as_ratio()
    } else {
        1.0
    };
    HeatIntegral::a2s((k * size.area().as_mm2() * f64::from(row.count)).powi(2) * clad)
}

fn insulation(cx: &Context<'_>, wire: WireId) -> crate::units::Temperature {
    cx.design.wires[wire].insulation.or(cx.design.assume.insulation).unwrap_or(cx.book.insulation_assumed())
}

/// The cases of a wire, one for each end that may be the far one.
fn cases(cx: &Context<'_>, wire: WireId) -> Vec<Case> {
    let (circuit, Some(faults)) = (cx.circuit, cx.faults()) else { return Vec::new() };
    let Some(edge) =
        circuit.edge(wire).filter(|_| circuit.role(wire) == Role::Live && !circuit.is_exempt(wire))
    else {
        return Vec::new();
    };
    let (first, second) = circuit.wire_nodes(wire);
    let arms = &faults.drawn.least_arms.wire;
    let mut cases = Vec::new();
    for (end, far, near) in [(0, first, second), (1, second, first)] {
        let current = arms[wire.index()][end];
        let (at_a, at_b) = circuit.arriving(edge);
        let arriving = if circuit.metal.graph.ends(edge).0 == near { at_a } else { at_b };
        if current.as_amps() <= NOTHING || UNLIMITED <= arriving || arriving == 0 {
            continue;
        }
        let run: Current = circuit
            .wires(edge)
            .iter()
            .map(|other| arms[other.index()][usize::from(circuit.wire_nodes(*other).0 != far)])
            .sum();
        let alone = faults.guards.fed_from(circuit, edge) == Some(near);
        let mut ways = Vec::new();
        let mut meshed = !alone;
        if alone {
            let (series, whole) = faults.guards.series(circuit, near);
            meshed = !whole;
            let ids = series.iter().filter_map(|edge| circuit.metal.edges[*edge as usize].component());
            ways.extend(ids.map(|id| vec![(id, run)]));
        }
        if meshed {
            let around = faults.guards.fed_devices(circuit, &circuit.cut_from(edge, near), near, Some(edge));
            let mut through = run;
            if !alone && around == faults.guards.fed_devices(circuit, &circuit.cut_at(far), far, None) {
                // Other ways to the far end pass the same devices: these carry all of the fault.
                through = least_at(cx, far).unwrap_or(run);
            }
            if !around.is_empty() {
                ways.push(divided(circuit, &around, through));
            }
        }
        if !ways.is_empty() {
            cases.push(Case { wire, near, far, current, ways, alone });
        }
    }
    cases
}

/// The smallest that a fault at any terminal of a node draws, to whichever source's negative: the same in any order of
/// statements.
fn least_at(cx: &Context<'_>, node: u32) -> Option<Current> {
    let faults = cx.faults()?;
    let all = cx.circuit.metal.terminals[node as usize].iter();
    all.filter_map(|at| faults.drawn.least[at.index()]).min_by(|a, b| a.as_amps().total_cmp(&b.as_amps()))
}

/// Judges a case, with a device of the ways replaced where one is given.
fn judge(
    cx: &Context<'_>,
    case: &Case,
    current: Current,
    bears: HeatIntegral,
    instead: Option<(ComponentId, &Body)>,
) -> Verdict {
    let change = current / case.current;
    let mut open = Vec::new();
    let mut best: Option<(usize, Time)> = None;
    for (number, way) in case.ways.iter().enumerate() {
        let mut last = Some(Time::default());
        let mut known = true;
        for (id, carried) in way {
            let own = &cx.design.components[*id].body;
            let body = instead.filter(|other| other.0 == *id).map_or(own, |other| other.1);
            match opens(cx.book, body, *carried * change) {
                Opening::Within(time) => last = last.map(|last| last.max(time)),
                Opening::Never => last = None,
                Opening::Unknown => known = false,
            }
        }
        match last {
            Some(_) if !known => open.extend(way.iter().map(|row| row.0)),
            Some(time) if best.is_none_or(|best| time < best.1) => best = Some((number, time)),
            _ => {}
        }
    }
    let carries = current.within(cx.ampacity(case.wire));
    let heat = |time: Time| HeatIntegral::a2s(current.as_amps().powi(2) * time.as_seconds());
    match best {
        Some((_, time)) if carries || heat(time).within(bears) => Verdict::Clears,
        _ if !open.is_empty() => Verdict::Open(open),
        Some((number, time)) => Verdict::Slow(number, time, heat(time)),
        None => Verdict::Never(0),
    }
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if cx.faults().is_none() {
        return;
    }
    for wire in cx.design.wires.ids() {
        let bears = withstand(cx, wire, cx.design.wires[wire].size);
        let wrong = cases(cx, wire).into_iter().filter_map(|case| {
            let verdict = judge(cx, &case, case.current, bears, None);
            let is_wrong = matches!(verdict, Verdict::Slow(..) | Verdict::Never(_));
            (is_wrong && !clears_in_turn(cx, &case, bears)).then_some((case, verdict))
        });
        // Of two ends the one where less flows, whichever is written first.
        let rank = |case: &Case| (case.current.as_amps(), cx.circuit.node_name(case.far));
        let found = wrong.min_by(|a, b| {
            let (a, b) = (rank(&a.0), rank(&b.0));
            a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1))
        });
        match found {
            Some((case, verdict)) => out.push(finding(cx, &case, &verdict, bears)),
            None => out.extend(stalled(cx, wire)),
        }
    }
}

/// In a mesh the devices of the other ways open first, and this one then carries up to the whole fault.
fn clears_in_turn(cx: &Context<'_>, case: &Case, bears: HeatIntegral) -> bool {
    !case.alone
        && least_at(cx, case.far)
            .is_some_and(|all| matches!(judge(cx, case, all, bears, None), Verdict::Clears))
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    if cx.faults().is_none() {
        return;
    }
    for wire in cx.design.wires.ids() {
        let bears = withstand(cx, wire, cx.design.wires[wire].size);
        for case in cases(cx, wire) {
            if let Verdict::Open(devices) = judge(cx, &case, case.current, bears, None) {
                for id in devices {
                    let untyped = fuse_type(&cx.design.components[id].body) == Some(None);
                    out.add(if untyped { "fuse type" } else { "i2t" }, Without::NotJudged, id);
                }
            }
        }
    }
    for (id, component) in cx.design.components.entries() {
        if matches!(&component.body, Body::Load(load) if load.motor && load.stall.is_none() && !cx.circuit.is_starter(id))
        {
            out.add("stall", Without::NotJudged, id);
        }
    }
    Context::unstated_insulation(cx, out);
    cx.unstated_fault(out);
}

fn finding(cx: &Context<'_>, case: &Case, verdict: &Verdict, bears: HeatIntegral) -> Finding {
    let wire = case.wire;
    let name = cx.wire_name(wire);
    let at = cx.circuit.node_name(case.far);
    let (Verdict::Slow(number, ..) | Verdict::Never(number)) = verdict else {
        return cx.on_wire(&RULE, wire);
    };
    let way = case.ways.get(*number).map_or(&[][..], Vec::as_slice);
    let devices = Context::list(&cx.names(way.iter().map(|row| row.0)));
    let fault = case.current;
    let mut finding = cx
        .on_wire(&RULE, wire)
        .number("fault_a", fault.as_amps())
        .number("withstand_a2s", bears.as_a2s())
        .texts("devices", cx.names(way.iter().map(|row| row.0)))
        .figure(fault.to_string(), format!("the smallest that a bolted fault at {at} draws through {name}"));
    finding = cx.limit_figure(finding, "conductor.operating");
    let several = 1 < way.len();
    match verdict {
        Verdict::Slow(_, time, heat) => {
            let verb = if several { "open" } else { "opens" };
            let lets = if several { "let" } else { "lets" };
            finding = finding
                .headline(format!(
                    "a fault at {at} draws {fault} through {name}: {devices} {verb} within {time} and {lets} {heat} pass, where {name} bears {bears}"
                ))
                .label(format!("bears {bears}"))
                .number("opens_s", time.as_seconds())
                .number("i2t_a2s", heat.as_a2s());
            if let Some(class) = cx.book.withstand_class(insulation(cx, wire)) {
                let size = cx.design.wires[wire].size;
                finding = cx.table_figure(
                    finding,
                    bears.to_string(),
                    &format!("k2 S2 of {size} with {} insulation", insulation(cx, wire)),
                    &format!("withstand.{}", class.as_celsius()),
                );
            }
        }
        _ => {
            let verb = if several { "are" } else { "is" };
            finding = finding
                .headline(format!(
                    "a fault at {at} draws {fault} through {name}, at which {devices} {verb} not sure to open"
                ))
                .label("a fault at its end may be fed for good");
        }
    }
    for (id, carried) in way.iter().take(4) {
        finding = tell_device(cx, finding, *id, *carried);
    }
    let larger = larger_size(cx, case);
    let smaller = smaller_device(cx, case, way, bears);
    let mut ways = Vec::new();
    if let Some(size) = larger {
        ways.push(format!("use {size} for {name}"));
        finding = finding.number("suggested_mm2", size.area().as_mm2());
    }
    if let Some((id, rating)) = smaller {
        ways.push(format!("fit {rating} in place of {}", cx.name(id)));
        finding = finding.number("suggested_a", rating.as_amps());
    }
    if ways.is_empty() {
        ways.push(format!("shorten {name}, divide what it feeds between several wires, or fit a quicker device than {devices}"));
    }
    finding.help(ways.join("; or "))
}

/// A device with its rating and when it opens.
fn tell_device(cx: &Context<'_>, finding: Finding, id: ComponentId, carried: Current) -> Finding {
    let name = cx.name(id);
    let body = &cx.design.components[id].body;
    let rating = current(cx.circuit.device_rating(id));
    let finding =
        finding.related(name, cx.span(id), format!("{rating}")).number("rating_a", rating.as_amps());
    let kind = fuse_type(body).flatten();
    match opens(cx.book, body, carried) {
        Opening::Within(time) => cx.gates_figure(
            finding,
            time.to_string(),
            &format!("slowest time of {name} at {carried}"),
            kind,
            rating,
        ),
        _ => match least_current(cx.book, body).filter(|least| rating < *least) {
            Some(least) => {
                let what = format!("the least at which {name} is known to open");
                cx.gates_figure(finding, least.to_string(), &what, kind, rating)
            }
            None => {
                finding.figure(rating.to_string(), format!("rating of {name}, below which it stays closed"))
            }
        },
    }
}

/// The smallest larger size of the wire's series with which the fault is cleared in time; it draws more then.
fn larger_size(cx: &Context<'_>, case: &Case) -> Option<Size> {
    let row = &cx.design.wires[case.wire];
    let temperature = cx.book.temperature(TemperatureLimit::ConductorOperating);
    let ohms = |size: Size| {
        let clad = if row.aluminium_clad {
            cx.book.share(ShareLimit::AluminiumCladConductivity).as_ratio()
        } else {
            1.0
        };
        let metre = per_metre(cx.design, cx.book, size, temperature).as_ohms();
        Resistance::ohms(metre * row.length.as_metres() / clad / f64::from(row.count.max(1)))
    };
    let voltage = driving(cx, case.near).filter(|_| case.alone && cx.circuit.wires_beside(case.wire) < 2);
    let drawn = |size: Size| {
        let Some(voltage) = voltage else { return case.current };
        let whole = voltage / case.current;
        let left = (whole - ohms(row.size) + ohms(size)).max(whole * 1e-3);
        voltage / left
    };
    Size::series(row.size).filter(|size| row.size.area() < size.area()).find(|size| {
        let bears = withstand(cx, case.wire, *size);
        matches!(judge(cx, case, drawn(*size), bears, None), Verdict::Clears)
    })
}

/// The voltage that drives the smallest fault on a live part.
fn driving(cx: &Context<'_>, node: u32) -> Option<Voltage> {
    let part = cx.circuit.part[node as usize];
    let source = cx.circuit.sources_on(part).find(|source| UNLIMITED <= source.limit)?;
    let member = |id: &ComponentId| match &cx.design.components[*id].body {
        Body::Battery(battery) => {
            Some(battery.chemistry.map_or(battery.nominal, |one| cx.book.empty_voltage(one, battery.nominal)))
        }
        Body::Supply(supply) => supply.nominal,
        _ => None,
    };
    source.members.iter().map(member).sum()
}

/// The largest smaller rating of a device's own type with which the fault is cleared in time, and which carries what flows.
fn smaller_device(
    cx: &Context<'_>,
    case: &Case,
    way: &[(ComponentId, Current)],
    bears: HeatIntegral,
) -> Option<(ComponentId, Current)> {
    let [(id, _)] = *way else { return None };
    let body = &cx.design.components[id].body;
    let rating = current(cx.circuit.device_rating(id));
    let edge = cx.faults()?.guards.edge_of(id)?;
    let least = least_rating(cx, edge, fuse_type(body) == Some(Some(FuseType::Blade)));
    own_ratings(cx, body)
        .iter()
        .copied()
        .rfind(|other| {
            let new = with_rating(body, *other);
            *other < rating
                && least.within(*other)
                && matches!(judge(cx, case, case.current, bears, Some((id, &new))), Verdict::Clears)
        })
        .map(|rating| (id, rating))
}

/// A motor at the end of a wire that stays fed when it is stalled.
fn stalled(cx: &Context<'_>, wire: WireId) -> Option<Finding> {
    let (circuit, faults) = (cx.circuit, cx.faults()?);
    let edge = circuit.edge(wire).filter(|_| circuit.role(wire) == Role::Live && !circuit.is_exempt(wire))?;
    let (first, second) = circuit.wire_nodes(wire);
    [(first, second), (second, first)].into_iter().find_map(|(far, near)| {
        let motor = circuit.metal.terminals[far as usize].iter().find_map(|terminal| {
            let id = cx.design.terminals[*terminal].component;
            let component = &cx.design.components[id];
            let is_plus = component.terminal(cx.design, TerminalRole::Plus) == Some(*terminal);
            match &component.body {
                Body::Load(load) if is_plus && load.motor && !circuit.is_starter(id) => Some((id, load.stall?)),
                _ => None,
            }
        });
        let (motor, stall) = motor?;
        if faults.guards.fed_from(circuit, edge) != Some(near) {
            return None;
        }
        let device = faults.guards.series(circuit, near).0.first().copied()?;
        let id = circuit.metal.edges[device as usize].component()?;
        let body = &cx.design.components[id].body;
        if opens(cx.book, body, stall) != Opening::Never {
            return None;
        }
        let (name, device_name) = (cx.wire_name(wire), cx.name(id));
        let finding = cx
            .on_wire(&RULE, wire)
            .headline(format!(
                "{} stalled draws {stall} through {name}, at which {device_name} is not sure to open",
                cx.name(motor)
            ))
            .label("feeds a stalled motor for good")
            .related(cx.name(motor), cx.span(motor), format!("draws {stall} when it is stalled"))
            .number("current_a", stall.as_amps())
            .texts("devices", vec![device_name.into()])
            .figure(stall.to_string(), format!("what {} states that it draws when it is stalled", cx.name(motor)));
        let finding = tell_device(cx, finding, id, stall);
        let least = least_rating(cx, device, fuse_type(body) == Some(Some(FuseType::Blade)));
        let smaller = own_ratings(cx, body).iter().copied().rfind(|other| {
            let opening = opens(cx.book, &with_rating(body, *other), stall);
            least.within(*other) && matches!(opening, Opening::Within(_))
        });
        Some(match smaller {
            Some(rating) => finding
                .number("suggested_a", rating.as_amps())
                .help(format!("fit {rating} in place of {device_name}; or a motor with a cut-out of its own")),
            None => finding.help(format!(
                "give {} a device of its own that opens at {stall}, or take a motor with a cut-out of its own",
                cx.name(motor)
            )),
        })
    })
}
