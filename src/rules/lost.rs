//! What a way loses, piece by piece and in words, and which sizes of wire would lose less.

use std::cell::Cell;

use crate::design::WireId;
use crate::findings::Finding;
use crate::study::{ModeStudy, Path, Piece, Step, Study, wire_resistance};
use crate::units::{Area, Current, Resistance, Size, Voltage};

use super::Context;

/// One conductor of a way: a wire, or wires side by side between the same two nodes.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Part {
    /// Its wires; all of them, where several lie side by side.
    pub(super) wires: Vec<WireId>,
    /// What it loses.
    pub(super) lost: Voltage,
    /// What it carries, all its wires together.
    current: Current,
    /// It lies on the way back.
    back: bool,
}

/// A way out and back, told by its parts.
#[derive(Debug, Clone)]
pub(super) struct Lost {
    /// Its conductors, the one that loses most first.
    pub(super) parts: Vec<Part>,
    /// What joints, mounts, shunts and data leads lose together.
    pub(super) rest: Voltage,
}

impl Lost {
    /// Sums a way up.
    pub(super) fn of(
        cx: &Context<'_>,
        study: &Study,
        mode: &ModeStudy,
        (out, back): &(Vec<Step>, Vec<Step>),
    ) -> Self {
        let mut parts: Vec<Part> = Vec::new();
        let mut rest = Voltage::default();
        for (step, back) in out.iter().map(|step| (step, false)).chain(back.iter().map(|step| (step, true))) {
            let Piece::Branch(at) = step.piece else { continue };
            let Some(Path::Wire(wire)) = study.network.branches.get(at).map(|branch| branch.path) else {
                rest = rest + step.lost;
                continue;
            };
            let beside = cx.circuit.edge(wire).map(|edge| cx.circuit.wires(edge).to_vec());
            let wires = beside.filter(|wires| wires.contains(&wire)).unwrap_or_else(|| vec![wire]);
            let carries = |wire: &WireId| mode.wire(&study.network, *wire).unwrap_or(0.0).abs();
            let current = Current::amps(wires.iter().map(carries).sum());
            parts.push(Part { wires, lost: step.lost, current, back });
        }
        // To the nanovolt: what rounding tells apart stays in the order of the way.
        parts.sort_by_key(|part| std::cmp::Reverse((part.lost.as_volts() * 1e9).round() as i64));
        Self { parts, rest }
    }

    /// Tells in a finding which wires lose how much.
    pub(super) fn tell(&self, cx: &Context<'_>, mut finding: Finding) -> Finding {
        const NAMED: usize = 4;
        // What loses less than this share of the first has no label in the text.
        const LITTLE: f64 = 0.1;
        const SHOWN: usize = 8;
        let most = self.parts.first().map_or(0.0, |part| part.lost.as_volts());
        let much = |part: &&Part| LITTLE * most < part.lost.as_volts();
        for part in self.parts.iter().filter(much).take(NAMED) {
            for wire in &part.wires {
                let note = format!("loses {}", part.lost);
                finding = finding.related(cx.wire_name(*wire), cx.wire_span(*wire), note);
            }
        }
        for part in self.parts.iter().take(SHOWN) {
            finding = finding.figure(part.lost.to_string(), format!("lost in {}", part.words(cx)));
        }
        if SHOWN < self.parts.len() {
            let more: Voltage = self.parts.iter().skip(SHOWN).map(|part| part.lost).sum();
            let words = format!("lost in {} more wires", self.parts.len() - SHOWN);
            finding = finding.figure(more.to_string(), words);
        }
        if self.rest != Voltage::default() {
            finding = finding.figure(self.rest.to_string(), "lost in joints and shunts between them");
        }
        let names = self.parts.iter().flat_map(|part| &part.wires).map(|wire| cx.wire_name(*wire).to_owned());
        finding.texts("wires", names.collect())
    }
}

impl Part {
    fn names(&self, cx: &Context<'_>) -> String {
        let names: Vec<String> = self.wires.iter().map(|wire| cx.wire_name(*wire).to_owned()).collect();
        Context::list(&names)
    }

    /// `W2, 4 mm2 over 5 m at 4.62 A, on the way back`.
    fn words(&self, cx: &Context<'_>) -> String {
        let mut words = self.names(cx);
        if let Some(wire) = self.wires.first().map(|wire| &cx.design.wires[*wire]) {
            let count = if 1 < wire.count { format!("{} × ", wire.count) } else { String::new() };
            words += &format!(", {count}{} over {} at {}", wire.size, wire.length, self.current);
        }
        if self.back { words + ", on the way back" } else { words }
    }
}

/// Other sizes for some wires that would do.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cure {
    /// Each wire with its size.
    wires: Vec<(WireId, Size)>,
}

impl Cure {
    /// The largest of its sizes.
    fn most(&self) -> Area {
        self.wires.iter().map(|row| row.1.area()).fold(Area::default(), Area::max)
    }

    /// `4 mm2 for W2 and W3`.
    fn words(&self, cx: &Context<'_>) -> String {
        let mut by_size: Vec<(Size, Vec<String>)> = Vec::new();
        for (wire, size) in &self.wires {
            let name = cx.wire_name(*wire).to_owned();
            match by_size.iter_mut().find(|row| row.0 == *size) {
                Some(row) => row.1.push(name),
                None => by_size.push((*size, vec![name])),
            }
        }
        let rows = by_size.iter().map(|(size, names)| format!("{size} for {}", Context::list(names)));
        Context::list(&rows.collect::<Vec<_>>())
    }
}

/// Tries sizes on the study's own network.
pub(super) struct Sizes<'c> {
    cx: Context<'c>,
    study: &'c Study,
    /// How many more branches may be solved for, so that a large design with many findings stays quick.
    left: Cell<usize>,
}

/// What has to come about: by a mode solved anew, or, where that has become too much, by the volts saved at the same currents.
pub(super) struct Goal<'g> {
    /// Whether a mode solved anew does.
    pub(super) does: &'g dyn Fn(&ModeStudy) -> bool,
    /// Whether so much less lost does.
    pub(super) saves: &'g dyn Fn(Voltage) -> bool,
}

impl<'c> Sizes<'c> {
    pub(super) fn new(cx: &Context<'c>, study: &'c Study) -> Self {
        const MOST_BRANCHES: usize = 500_000;
        Self { cx: *cx, study, left: Cell::new(MOST_BRANCHES) }
    }

    /// The wire that loses most, alone; and that of each way which loses most, together. Where neither does, step by step all
    /// that lose much. The smallest standard sizes of each wire's own series; none, where no size does.
    pub(super) fn that(&self, mode: &ModeStudy, lost: &Lost, goal: &Goal<'_>) -> Vec<Cure> {
        let tries = |cure: &Cure| self.does(mode, lost, goal, cure);
        let first = lost.parts.iter().find(|part| !part.back && 0.0 < part.lost.as_volts());
        let second = lost.parts.iter().find(|part| part.back && 0.0 < part.lost.as_volts());
        let mut cures = Vec::new();
        if let Some(most) = lost.parts.first().filter(|part| 0.0 < part.lost.as_volts()) {
            cures.extend(self.smallest(&[most], &tries));
        }
        if let (Some(first), Some(second)) = (first, second) {
            let both = self.smallest(&[first, second], &tries);
            // Both no thinner than one alone are more copper for nothing.
            cures.extend(both.filter(|both| cures.first().is_none_or(|one| both.most() < one.most())));
        }
        if cures.is_empty() {
            cures.extend(self.step_by_step(lost, &tries));
        }
        cures
    }

    /// The smallest size, larger than what is there, that does for these conductors together.
    fn smallest(&self, parts: &[&Part], tries: &dyn Fn(&Cure) -> bool) -> Option<Cure> {
        let design = self.cx.design;
        let wires: Vec<WireId> = parts.iter().flat_map(|part| part.wires.iter().copied()).collect();
        let like = design.wires[*wires.first()?].size;
        let least =
            wires.iter().map(|wire| design.wires[*wire].size.area().as_mm2()).fold(f64::INFINITY, f64::min);
        let sizes: Vec<Size> = Size::series(like).filter(|size| least < size.area().as_mm2()).collect();
        let cure = |size: &Size| {
            let raised = wires.iter().filter_map(|wire| {
                let own = design.wires[*wire].size;
                let size = Size::series(own)
                    .find(|one| size.area().as_mm2() <= one.area().as_mm2() * (1.0 + 1e-9))?;
                (own.area().as_mm2() < size.area().as_mm2()).then_some((*wire, size))
            });
            Cure { wires: raised.collect() }
        };
        if !tries(&cure(sizes.last()?)) {
            return None;
        }
        let at = sizes.partition_point(|size| !tries(&cure(size)));
        sizes.get(at).map(cure)
    }

    /// Always the conductor that loses most takes the next size of its series.
    fn step_by_step(&self, lost: &Lost, tries: &dyn Fn(&Cure) -> bool) -> Option<Cure> {
        const ROUNDS: usize = 400;
        let design = self.cx.design;
        let mut sizes: Vec<Size> =
            lost.parts.iter().filter_map(|part| Some(design.wires[*part.wires.first()?].size)).collect();
        let cure = |sizes: &[Size]| {
            let rows = lost.parts.iter().zip(sizes).flat_map(|(part, size)| {
                let raised = part.wires.iter().filter(|wire| design.wires[**wire].size.area() < size.area());
                raised.map(|wire| (*wire, *size))
            });
            Cure { wires: rows.collect() }
        };
        for _ in 0..ROUNDS {
            let next = |at: usize| {
                let own = sizes.get(at)?.area().as_mm2();
                Size::series(sizes[at]).find(|size| own < size.area().as_mm2())
            };
            // What each loses with its present size, at the same current.
            let loses = |at: usize| {
                let part = &lost.parts[at];
                part.wires.first().map_or(0.0, |wire| part.lost.as_volts() * self.ratio(*wire, sizes[at]))
            };
            let open = (0..sizes.len()).filter(|at| next(*at).is_some() && 0.0 < loses(*at));
            let at = open.max_by(|a, b| loses(*a).total_cmp(&loses(*b)).then(b.cmp(a)))?;
            sizes[at] = next(at)?;
            let made = cure(&sizes);
            if tries(&made) {
                return Some(made);
            }
        }
        None
    }

    /// A wire's resistance at a size over that which it has.
    fn ratio(&self, wire: WireId, size: Size) -> f64 {
        let at = |size| wire_resistance(self.cx.circuit, self.study.conditions, wire, size).as_ohms();
        at(size) / at(self.cx.design.wires[wire].size)
    }

    fn does(&self, mode: &ModeStudy, lost: &Lost, goal: &Goal<'_>, cure: &Cure) -> bool {
        let network = &self.study.network;
        let cost = network.branches.len() + 1;
        let Some(left) = self.left.get().checked_sub(cost) else {
            let saved = lost.parts.iter().filter_map(|part| {
                let row = cure.wires.iter().find(|row| part.wires.contains(&row.0))?;
                Some(part.lost * (1.0 - self.ratio(row.0, row.1)))
            });
            return (goal.saves)(saved.sum());
        };
        self.left.set(left);
        let of = |(wire, size): &(WireId, Size)| -> Option<(usize, Resistance)> {
            Some((
                network.wire(*wire)?,
                wire_resistance(self.cx.circuit, self.study.conditions, *wire, *size),
            ))
        };
        let changes: Vec<_> = cure.wires.iter().filter_map(of).collect();
        (goal.does)(&mode.on(self.cx.circuit, &network.with(&changes)))
    }
}

/// `use 10 mm2 for W2, or 4 mm2 for W2 and W3`; `None` where no size does.
pub(super) fn tell_cures(cx: &Context<'_>, cures: &[Cure]) -> Option<String> {
    let words: Vec<String> = cures.iter().map(|cure| cure.words(cx)).collect();
    (!words.is_empty()).then(|| format!("use {}", words.join(", or ")))
}

/// The first of them for programs.
pub(super) fn suggest(cx: &Context<'_>, cures: &[Cure], finding: Finding) -> Finding {
    let Some(cure) = cures.first() else { return finding };
    let Some((_, size)) = cure.wires.first() else { return finding };
    let names = cure.wires.iter().map(|row| cx.wire_name(row.0).to_owned()).collect();
    finding.number("suggested_mm2", size.area().as_mm2()).texts("suggested_wires", names)
}
