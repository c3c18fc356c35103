//! `terminal.crowded`: more rings on a stud than it holds well.

use rustc_hash::FxHashMap;

use crate::book::NumberLimit;
use crate::design::{Body, ComponentId, Design, End, Hardware, Id, Kind, TerminalId, WireId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};

use super::{HARDWARE, ends};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "terminal.crowded",
    severity: Severity::Error,
    claim: "No stud holds more rings than the book allows.",
    why: "Every ring more is one more joint in a row, and less thread for the nut: the pile relaxes, and the joint at its base gets hot.",
    how: "A post, each stud of a bar and each terminal with a stud: a ring for each conductor that ends there (`count` of them), and one for \
          the foot of each device and for each bolt. What names no stud of its bar is spread over the room that the others leave. A bolt or \
          a device on a post or bar takes no room on the other terminal's own stud: it is the same.",
    limits: &["rings.per-stud"],
    bad: example!("terminal.crowded", bad),
    good: example!("terminal.crowded", good),
    of_absence: false,
    studies: false,
    unstated: Some(unstated),
    check,
};

/// A stud, or without a number all of a terminal that name none.
type Stud = (TerminalId, Option<u32>);

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    let most = most(cx);
    let crowded = crowded(cx.design, most);
    if crowded.is_empty() {
        return;
    }
    let mut on: FxHashMap<Stud, Pile> = crowded.iter().map(|row| (row.stud, Pile::default())).collect();
    each(cx.design, |end, rings, what| {
        if let Some(pile) = on.get_mut(&(end.terminal, end.stud)) {
            pile.add(what, rings);
        }
    });
    for row in &crowded {
        out.push(finding(cx, row, most, &on.remove(&row.stud).unwrap_or_default()));
    }
}

/// The first of what stands on a stud, and how much more there is.
#[derive(Debug, Default)]
struct Pile {
    first: Vec<(Ring, u64)>,
    more: usize,
}

impl Pile {
    fn add(&mut self, what: Ring, rings: u64) {
        const SHOWN: usize = 8;
        if self.first.len() < SHOWN {
            self.first.push((what, rings));
        } else {
            self.more += 1;
        }
    }

    fn told(&self, cx: &Context<'_>) -> String {
        let mut names: Vec<String> = self.first.iter().map(|(what, rings)| what.name(cx, *rings)).collect();
        if 0 < self.more {
            names.push(format!("{} more", self.more));
        }
        Context::list(&names)
    }
}

fn most(cx: &Context<'_>) -> u64 {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a number of rings, cut to a whole one"
    )]
    let most = cx.book.number(NumberLimit::RingsPerStud).clamp(0.0, 1e6) as u64;
    most
}

/// What stands on a stud.
#[derive(Debug, Clone, Copy)]
enum Ring {
    Wire(WireId),
    /// A foot or a link of the component at the joint's other side.
    Foot(ComponentId),
}

impl Ring {
    fn name(self, cx: &Context<'_>, rings: u64) -> String {
        match self {
            Self::Wire(wire) if rings == 1 => cx.wire_name(wire).into(),
            Self::Wire(wire) => format!("{} ({rings} rings)", cx.wire_name(wire)),
            Self::Foot(id) => format!("the foot of {}", cx.name(id)),
        }
    }
}

/// Every ring and foot with its end.
fn each(design: &Design, mut tell: impl FnMut(End, u64, Ring)) {
    for (id, wire) in design.wires.entries() {
        for end in ends(wire) {
            tell(end, u64::from(wire.count), Ring::Wire(id));
        }
    }
    let owner = |end: End| design.terminals[end.terminal].component;
    for joint in &design.joints {
        for (end, other) in [(joint.a, joint.b), (joint.b, joint.a)] {
            let (own, others) = (&design.components[owner(end)].kind, &design.components[owner(other)].kind);
            // A component's foot stands on the stud of the node; its own stud is that one.
            if own.is_node() || !others.is_node() {
                tell(end, 1, Ring::Foot(owner(other)));
            }
        }
    }
}

/// How many studs a terminal has; `None` inside where that is not stated, outside where it has none.
fn studs(design: &Design, terminal: TerminalId) -> Option<Option<u32>> {
    match &design.components[design.terminals[terminal].component].body {
        Body::Post(_) => Some(Some(1)),
        Body::Bar(bar) => Some(bar.studs),
        Body::Chassis => None,
        _ => matches!(design.hardware(terminal), Some(Hardware::Stud { .. })).then_some(Some(1)),
    }
}

/// A stud, or a bar as a whole, with more on it than it may hold.
#[derive(Debug)]
struct Crowded {
    stud: Stud,
    rings: u64,
    /// How many it may hold; of a bar, what names no stud of it.
    room: u64,
    /// Number of studs, where stated.
    studs: Option<u32>,
    /// Studs of the bar that rings name, with how many rings each has.
    named: Named,
}

/// Rings by number of the stud.
type Named = Vec<(u32, u64)>;

/// Each terminal with more on it than one stud may hold, with how much that is, and how much on each stud that is named.
fn loaded(design: &Design, most: u64) -> Vec<(TerminalId, u64, Named)> {
    let mut all = vec![0_u64; design.terminals.len()];
    let mut named: FxHashMap<TerminalId, Named> = FxHashMap::default();
    each(design, |end, rings, _| {
        all[end.terminal.index()] += rings;
        if let Some(stud) = end.stud {
            named.entry(end.terminal).or_default().push((stud, rings));
        }
    });
    let over = design.terminals.ids().filter(|id| most < all[id.index()]);
    over.map(|id| (id, all[id.index()], by_stud(named.remove(&id).unwrap_or_default()))).collect()
}

/// A bar whose studs are not stated is judged by those that are named; a terminal without hardware may be a stud.
fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    let most = most(cx);
    for (terminal, all, named) in loaded(cx.design, most) {
        let component = cx.design.terminals[terminal].component;
        let unnamed = all - named.iter().map(|row| row.1).sum::<u64>();
        match studs(cx.design, terminal) {
            Some(None) if most < unnamed => out.add("studs", Without::NotJudged, component),
            None if cx.design.hardware(terminal).is_none()
                && cx.design.components[component].kind != Kind::Chassis =>
            {
                out.add(HARDWARE, Without::NotJudged, terminal);
            }
            _ => {}
        }
    }
}

fn crowded(design: &Design, most: u64) -> Vec<Crowded> {
    let mut out = Vec::new();
    for (terminal, all, named) in loaded(design, most) {
        let Some(studs) = studs(design, terminal) else { continue };
        for (stud, rings) in named.iter().filter(|row| most < row.1) {
            let stud = (terminal, Some(*stud));
            out.push(Crowded { stud, rings: *rings, room: most, studs, named: named.clone() });
        }
        let unnamed = all - named.iter().map(|row| row.1).sum::<u64>();
        if let Some(n) = studs {
            let taken: u64 = named.iter().map(|row| row.1.min(most)).sum();
            let room = (most * u64::from(n)).saturating_sub(taken);
            if room < unnamed {
                out.push(Crowded { stud: (terminal, None), rings: unnamed, room, studs, named });
            }
        }
    }
    out
}

/// Rings added up by stud, in order.
fn by_stud(mut rows: Named) -> Named {
    rows.sort_unstable();
    let mut sums: Named = Vec::new();
    for (stud, rings) in rows {
        match sums.last_mut() {
            Some(last) if last.0 == stud => last.1 += rings,
            _ => sums.push((stud, rings)),
        }
    }
    sums
}

fn finding(cx: &Context<'_>, row: &Crowded, most: u64, pile: &Pile) -> Finding {
    let (terminal, number) = row.stud;
    let id = cx.design.terminals[terminal].component;
    let name = cx.design.terminal_name(terminal);
    let at = number.map_or_else(|| name.clone(), |stud| format!("{name}.{stud}"));
    let is_bar = matches!(cx.design.components[id].body, Body::Bar(_));
    let (rings, room) = (row.rings, row.room);
    let headline = match (number, is_bar) {
        (None, true) if !row.named.is_empty() => {
            format!("{rings} rings on {name} name no stud, and the others leave room for {room}")
        }
        (None, true) => {
            let n = row.studs.unwrap_or(1);
            let studs = if n == 1 { "1 stud".into() } else { format!("{n} studs") };
            format!("{name} has {rings} rings on {studs}, which hold {room} at most")
        }
        _ => format!("{at} has {rings} rings on one stud, which holds {room} at most"),
    };
    let over = rings - room;
    let needed = rings.div_ceil(most.max(1));
    let whole = || {
        let all: u64 =
            row.named.iter().map(|row| row.1).sum::<u64>() + if number.is_none() { rings } else { 0 };
        format!("use a bar of {} studs or more", all.div_ceil(most.max(1)).max(2))
    };
    let help = match (number, is_bar) {
        (Some(stud), _) => match row.emptiest(stud, most) {
            Some((other, holds, free)) => {
                let moved = over.min(free);
                format!("move {moved} of them to {name}.{other}, which has {}", count(holds))
            }
            None => whole(),
        },
        (None, true) => whole(),
        (None, false) => format!(
            "take {over} of them to another stud, or lead one cable from {at} to a bar of {} studs or more",
            needed.max(2)
        ),
    };
    let mut finding = cx.on_component(&RULE, id).headline(headline).label(pile.told(cx)).help(help);
    for (what, _) in &pile.first {
        let (name, span, verb) = match *what {
            Ring::Wire(wire) => (cx.wire_name(wire), cx.wire_span(wire), "ends"),
            Ring::Foot(id) => (cx.name(id), cx.span(id), "stands"),
        };
        finding = finding.related(name, span, format!("{verb} on {at}"));
    }
    finding = finding
        .text("stud", at)
        .number("count", rings as f64)
        .number("limit_count", room as f64)
        .figure(count(rings), pile.told(cx));
    cx.limit_figure(finding, "rings.per-stud")
}

impl Crowded {
    /// The stud of the bar with the most room beside this one, with what it has and what it can take.
    fn emptiest(&self, beside: u32, most: u64) -> Option<(u32, u64, u64)> {
        let holds = |stud: u32| self.named.iter().find(|row| row.0 == stud).map_or(0, |row| row.1);
        let last = self.studs?.min(u32::try_from(self.named.len()).unwrap_or(u32::MAX).saturating_add(1));
        let named = self.named.iter().map(|row| row.0).filter(|stud| Some(*stud) <= self.studs);
        let free = (1..=last)
            .chain(named)
            .filter(|stud| *stud != beside)
            .map(|stud| (stud, holds(stud)))
            .min_by_key(|row| (row.1, row.0))?;
        (free.1 < most).then(|| (free.0, free.1, most - free.1))
    }
}

fn count(rings: u64) -> String {
    match rings {
        0 => "none".into(),
        1 => "1 ring".into(),
        several => format!("{several} rings"),
    }
}
