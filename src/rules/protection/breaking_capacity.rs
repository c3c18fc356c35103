//! `protection.breaking-capacity`: more current can flow into a fault behind a device than it is able to interrupt.

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use rustc_hash::FxHashMap;

use super::{fuse_type, kind_words, least_rating};
use crate::circuit::{EdgeKind, Micro, UNLIMITED, current, micro};
use crate::design::{Body, Breaks, ComponentId, FuseType, Id, TerminalRole};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::units::{Current, Voltage, current_against};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "protection.breaking-capacity",
    severity: Severity::Error,
    claim: "A device breaks the largest current that a fault at its terminals can draw.",
    why: "A device that is asked for more than it breaks bursts or burns on as an arc, with the fault still fed.",
    how: "The prospective current is that of a bolted fault at the device's terminals as `ohmward study` computes it: all sources together, \
          cold conductors, no contact resistance, batteries at their highest voltage. What the device breaks is the figure that it states for the \
          highest voltage of its network (as in `protection.voltage`) or for a higher one, else the book's for its type. Where every way from the \
          unlimited sources passes a device that does break the fault's current, that one backs it up and the finding is advice (IEC 60364-4-43, \
          434.5.1). A device on a network above its rated voltage is left to `protection.voltage`.",
    limits: &["temperature.lowest"],
    bad: example!("protection.breaking-capacity", bad),
    good: example!("protection.breaking-capacity", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

/// What a device breaks at a voltage, and the voltage that the figure is for.
#[derive(Debug, Clone, Copy)]
enum Breaking {
    Stated(Current, Option<Voltage>),
    OfBook(Current, Voltage),
    Unknown,
    /// Its rated voltage is lower.
    Beyond,
}

impl Breaking {
    fn of(cx: &Context<'_>, id: ComponentId, highest: Voltage) -> Self {
        let (volts, breaks): (Option<Voltage>, &[Breaks]) = match &cx.design.components[id].body {
            Body::Fuse(fuse) => (fuse.volts, &fuse.breaks),
            Body::Breaker(breaker) => (breaker.volts, &breaker.breaks),
            _ => return Self::Unknown,
        };
        if volts.is_some_and(|volts| !highest.within(volts)) {
            return Self::Beyond;
        }
        let at = |row: &Breaks| row.at.or(volts);
        let stated = breaks
            .iter()
            .filter(|row| at(row).is_none_or(|at| highest.within(at)))
            .reduce(|best, row| if best.current < row.current { row } else { best });
        if let Some(row) = stated {
            return Self::Stated(row.current, at(row));
        }
        let kind = match fuse_type(&cx.design.components[id].body) {
            Some(None) => return Self::Unknown,
            Some(kind) => kind,
            None => None,
        };
        cx.book.breaks(kind, highest).map_or(Self::Unknown, |row| Self::OfBook(row.0, row.1))
    }

    fn current(self) -> Option<Current> {
        match self {
            Self::Stated(current, _) | Self::OfBook(current, _) => Some(current),
            Self::Unknown | Self::Beyond => None,
        }
    }
}

/// A live device with the voltage of its network, what it breaks at it, and what a fault at it draws.
struct Place {
    id: ComponentId,
    edge: u32,
    highest: Voltage,
    breaking: Breaking,
    fault: Option<Current>,
}

fn places(cx: &Context<'_>) -> Vec<Place> {
    let Some(faults) = cx.faults() else { return Vec::new() };
    let circuit = cx.circuit;
    let mut of_part: FxHashMap<u32, Option<Voltage>> = FxHashMap::default();
    let mut places = Vec::new();
    for (edge, kind) in circuit.metal.edges.iter().enumerate() {
        let EdgeKind::Device(id) = *kind else { continue };
        let (node, _) = circuit.metal.graph.ends(edge as u32);
        if !circuit.is_live(node) {
            continue;
        }
        let part = circuit.part[node as usize];
        let highest = of_part.entry(part).or_insert_with(|| cx.highest_voltage(part).map(|row| row.0));
        let Some(highest) = *highest else { continue };
        let terminals = [TerminalRole::Line, TerminalRole::Load];
        let terminals =
            terminals.into_iter().filter_map(|role| cx.design.components[id].terminal(cx.design, role));
        let fault = terminals.filter_map(|at| faults.drawn.most[at.index()]).reduce(Current::max);
        places.push(Place { id, edge: edge as u32, highest, breaking: Breaking::of(cx, id, highest), fault });
    }
    places
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let places = places(cx);
    let mut ahead = None;
    for place in &places {
        let (Some(fault), Some(breaks)) = (place.fault, place.breaking.current()) else { continue };
        if fault.within(breaks) {
            continue;
        }
        let ahead = ahead.get_or_insert_with(|| Ahead::new(cx, &places));
        let (a, b) = cx.circuit.metal.graph.ends(place.edge);
        let backed = ahead.least(a).min(ahead.least(b)).is_some_and(|least| micro(fault) <= least);
        let backups = if backed { ahead.backups(cx, place.edge, fault) } else { Vec::new() };
        out.push(finding(cx, place, fault, breaks, &backups, backed));
    }
}

/// What the devices ahead break, on the weakest way from the unlimited sources to each node.
struct Ahead {
    least: Vec<Option<Micro>>,
    breaks: FxHashMap<ComponentId, Micro>,
}

impl Ahead {
    /// Of each way the most that a device on it breaks, and of all ways the least: smallest first, as in Dijkstra's algorithm.
    fn new(cx: &Context<'_>, places: &[Place]) -> Self {
        let circuit = cx.circuit;
        let figure = |place: &Place| Some((place.id, micro(place.breaking.current()?)));
        let breaks: FxHashMap<ComponentId, Micro> = places.iter().filter_map(figure).collect();
        let mut least: Vec<Option<Micro>> = vec![None; circuit.metal.n_nodes];
        let mut waiting = BinaryHeap::new();
        for source in circuit.sources.iter().filter(|source| UNLIMITED <= source.limit) {
            waiting.extend(source.plus.iter().map(|plus| Reverse((0, *plus))));
        }
        while let Some(Reverse((most, node))) = waiting.pop() {
            if least[node as usize].is_some() {
                continue;
            }
            least[node as usize] = Some(most);
            for (edge, to) in circuit.metal.graph.at(node) {
                if least[*to as usize].is_none() {
                    let own = match circuit.metal.edges[*edge as usize] {
                        EdgeKind::Device(id) => breaks.get(&id).copied().unwrap_or(0),
                        _ => 0,
                    };
                    waiting.push(Reverse((most.max(own), *to)));
                }
            }
        }
        Self { least, breaks }
    }

    fn least(&self, node: u32) -> Option<Micro> {
        self.least[node as usize]
    }

    /// The devices that break a fault's current and lie next around a device, on the sides that unlimited sources are on.
    fn backups(&self, cx: &Context<'_>, edge: u32, fault: Current) -> Vec<ComponentId> {
        let circuit = cx.circuit;
        let Some(faults) = cx.faults().filter(|_| circuit.may_look()) else { return Vec::new() };
        let graph = &circuit.metal.graph;
        let (a, b) = graph.ends(edge);
        let enough = |edge: u32| match circuit.metal.edges[edge as usize] {
            EdgeKind::Device(id) => {
                Some(id).filter(|id| self.breaks.get(id).is_some_and(|breaks| micro(fault) <= *breaks))
            }
            _ => None,
        };
        let (nodes, near) = graph.spread(&[a, b], |edge, _| enough(edge).is_none());
        circuit.look(nodes.len());
        let border = nodes.iter().flat_map(|node| graph.at(*node));
        let mut backups: Vec<ComponentId> = border
            .filter(|(_, to)| !near.contains(*to))
            .filter_map(|(edge, _)| enough(*edge).filter(|_| faults.guards.feeds(circuit, *edge, &near)))
            .collect();
        backups.sort_unstable();
        backups.dedup();
        backups
    }
}

fn finding(
    cx: &Context<'_>,
    place: &Place,
    fault: Current,
    breaks: Current,
    backups: &[ComponentId],
    backed: bool,
) -> Finding {
    let (id, highest) = (place.id, place.highest);
    let name = cx.name(id);
    let told = current_against(fault, breaks);
    let at = match place.breaking {
        Breaking::Stated(_, Some(at)) | Breaking::OfBook(_, at) => format!(" at {at}"),
        _ => String::new(),
    };
    let mut finding = cx
        .on_component(&RULE, id)
        .label(format!("breaks {breaks}{at}"))
        .number("fault_a", fault.as_amps())
        .number("breaks_a", breaks.as_amps())
        .number("highest_v", highest.as_volts())
        .figure(
            told.clone(),
            format!("a bolted fault at {name}: cold conductors, full batteries, no contact resistance"),
        );
    if let Breaking::Stated(_, Some(at)) | Breaking::OfBook(_, at) = place.breaking {
        finding = finding.number("rated_v", at.as_volts());
    }
    finding = match place.breaking {
        Breaking::OfBook(..) => {
            let kind = fuse_type(&cx.design.components[id].body).flatten();
            cx.table_figure(
                finding,
                breaks.to_string(),
                &format!("what a {} breaks that states nothing", kind_words(kind)),
                &format!("breaks.{}", kind.map_or("breaker", FuseType::word)),
            )
        }
        _ => finding.figure(breaks.to_string(), format!("what {name} states that it breaks{at}")),
    };
    let better = better(cx, place, fault);
    if !backed {
        return finding
            .headline(format!("a fault at {name} draws {told}, and it breaks {breaks}"))
            .help(format!(
                "{} in place of {name}; or put a device that breaks {fault} ahead of it, or a longer or thinner wire",
                better
            ));
    }
    for backup in backups.iter().take(6) {
        let own = cx.design.components[*backup].place.span;
        finding = finding.related(cx.name(*backup), own, format!("breaks {fault} and backs it up"));
    }
    let names = match backups {
        [] => "the devices ahead of it".into(),
        _ => Context::list(&cx.names(backups.iter().copied())),
    };
    let (verb, their) = if backups.len() == 1 { ("backs", "it lets") } else { ("back", "they let") };
    finding.severity = Severity::Advice;
    finding
        .headline(format!("a fault at {name} draws {told}, and it breaks {breaks}: {names} {verb} it up"))
        .texts("backup", cx.names(backups.iter().copied()))
        .help(format!(
            "ask the maker of {name} whether it bears what {their} through (IEC 60364-4-43, 434.5.1); or {better} in its place"
        ))
}

/// A device that breaks enough, in words: of its own rating where its type has it, of the plainest type.
fn better(cx: &Context<'_>, place: &Place, fault: Current) -> String {
    const PLAINEST: [FuseType; 6] = [
        FuseType::Blade,
        FuseType::BoltIn,
        FuseType::Strip,
        FuseType::TerminalBlock,
        FuseType::Cylindrical,
        FuseType::ClassT,
    ];
    let rating = current(cx.circuit.device_rating(place.id));
    let fits = |kind: FuseType| {
        let (breaks, at) = cx.book.breaks(Some(kind), place.highest)?;
        let all = cx.book.ratings(Some(kind));
        let least = least_rating(cx, place.edge, kind == FuseType::Blade);
        let equal = all.iter().find(|one| (one.as_amps() - rating.as_amps()).abs() < 1e-6);
        let own = equal.or_else(|| all.iter().rfind(|one| one.within(rating) && least.within(**one)))?;
        fault
            .within(breaks)
            .then(|| format!("fit a {} of {own} (they break {breaks} at {at})", kind_words(Some(kind))))
    };
    PLAINEST
        .into_iter()
        .find_map(fits)
        .unwrap_or_else(|| format!("fit a device that breaks {fault} at {} DC", place.highest))
}

fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let places = places(cx);
    let open = places.iter().filter(|place| matches!(place.breaking, Breaking::Unknown));
    out.add_all("breaks", Without::NotJudged, open.map(|place| place.id));
    for place in &places {
        if let Breaking::OfBook(breaks, at) = place.breaking {
            let kind = fuse_type(&cx.design.components[place.id].body).flatten();
            let value = format!("{breaks} at {at}, the book's for a {}", kind_words(kind));
            out.add("breaks", Without::Assumed(value), place.id);
        }
    }
    cx.unstated_fault(out);
}
