//! `reading.differs`: what was measured on the finished build is not what the model gives.

use std::cell::Cell;

use crate::book::{CurrentLimit, ShareLimit, TemperatureLimit, VoltageLimit};
use crate::design::{Body, ComponentId, Id, Measured, Reading, TerminalId};
use crate::findings::{Finding, Severity};
use crate::rules::{Context, Rule, Unstated, Without, example};
use crate::study::{Conditions, Drops, Extra, ModeStudy, Network, Path, Piece, Study, Suspects, Ways};
use crate::units::{Current, Voltage, fine_voltage};

pub(in crate::rules) const RULE: Rule = Rule {
    id: "reading.differs",
    severity: Severity::Warning,
    claim: "What is measured on the finished build lies within what the model allows.",
    why: "A joint that is loose, crimped badly or corroded, or a wire that is longer or thinner than drawn, shows as volts that are missing \
          long before it shows as heat.",
    how: "The model allows what it computes for the mode with wires between the coldest day and their operating temperature, with and without \
          the resistance of joints, and with and without what fuses and switches lose inside (`reading.device` at their rating); wider by \
          `reading.voltage` of a terminal's voltage, or `reading.share` of a drop or a current, and by at least `reading.least-voltage` or \
          `reading.least-current`. A terminal's voltage is against the negative of its first source, as in `ohmward study`; a drop that is \
          written without a sign counts by its size. Where less arrives than the model allows, each wire, joint and contact on the way is given \
          the extra resistance, found by solving the mode again, with which the reading would come out; what would spoil another reading of \
          the same mode that is right is left out. What explains most readings comes first, then the least resistance.",
    limits: &[
        "reading.voltage",
        "reading.share",
        "reading.least-voltage",
        "reading.least-current",
        "reading.device",
        "conductor.operating",
        "temperature.lowest",
    ],
    bad: example!("reading.differs", bad),
    good: example!("reading.differs", good),
    of_absence: false,
    studies: true,
    unstated: Some(unstated),
    check,
};

/// What a reading may be, in volts or amperes.
#[derive(Clone, Copy)]
struct Allowed {
    /// What the study computes.
    expected: f64,
    least: f64,
    most: f64,
    /// How far beyond the computed range is still the instrument's.
    slack: f64,
}

impl Allowed {
    /// Whether a measured value is allowed, where a fault has moved what is computed by so much.
    fn holds(&self, measured: f64, moved: f64) -> bool {
        let close = 1e-9 * self.most.abs().max(self.least.abs());
        self.least + moved - self.slack - close <= measured
            && measured <= self.most + moved + self.slack + close
    }
}

/// The modes that a design's readings are of, under the extremes of what the model allows.
struct Extremes<'c> {
    cx: Context<'c>,
    study: &'c Study,
    cold: Network,
    /// How many more branches may be solved for, so that a large design with many readings stays quick.
    left: Cell<usize>,
}

/// One mode under each condition.
struct Around<'c> {
    mode: &'c ModeStudy,
    cold: ModeStudy,
    worn: ModeStudy,
}

fn check(cx: &Context<'_>, out: &mut Vec<Finding>) {
    if cx.design.readings.is_empty() {
        return;
    }
    let Some(study) = cx.study() else { return };
    let lowest = cx.book.temperature(TemperatureLimit::Lowest);
    let operating = cx.book.temperature(TemperatureLimit::ConductorOperating);
    let cold = Conditions { temperature: lowest.min(operating), contacts: false };
    const MOST_BRANCHES: usize = 3_000_000;
    let cold = Network::new(cx.circuit, cold);
    let extremes = Extremes { cx: *cx, study, cold, left: Cell::new(MOST_BRANCHES) };
    let mut around: Vec<Option<Around<'_>>> = study.modes.iter().map(|_| None).collect();
    let mut judged: Vec<Option<(usize, Allowed)>> = Vec::new();
    for reading in &cx.design.readings {
        judged.push(extremes.judge(&mut around, reading));
    }
    for (at, reading) in cx.design.readings.iter().enumerate() {
        let Some((mode, allowed)) = judged[at] else { continue };
        if allowed.holds(measured(reading, allowed.expected), 0.0) {
            continue;
        }
        let others: Vec<(&Reading, Allowed)> = cx
            .design
            .readings
            .iter()
            .zip(&judged)
            .enumerate()
            .filter_map(|(other, (reading, row))| {
                let (of, allowed) = (*row)?;
                (other != at && of == mode).then_some((reading, allowed))
            })
            .collect();
        out.push(extremes.finding(reading, &allowed, &study.modes[mode], &others));
    }
}

/// The figure that a reading is of, in a solved mode: volts or amperes.
fn figure(mode: &ModeStudy, reading: &Reading) -> Option<f64> {
    match &reading.measured {
        Measured::Meter(meter, _) => mode.meters.iter().find(|row| row.0 == *meter).map(|row| row.1),
        Measured::Voltage(end, _) => *mode.solution.as_ref().ok()?.volts.get(end.terminal.index())?,
        Measured::Drop(from, to, _) => mode.across(from.terminal, to.terminal),
    }
}

/// What was measured, with the sign of what is computed for a drop that is written without one.
fn measured(reading: &Reading, expected: f64) -> f64 {
    match reading.measured {
        Measured::Meter(_, current) => current.as_amps(),
        Measured::Voltage(_, voltage) => voltage.as_volts(),
        Measured::Drop(_, _, voltage) if expected < 0.0 && 0.0 < voltage.as_volts() => -voltage.as_volts(),
        Measured::Drop(_, _, voltage) => voltage.as_volts(),
    }
}

impl<'c> Extremes<'c> {
    /// The mode's place, and what is allowed; `None` for a mode without a solution, and for what no source reaches in it.
    fn judge(&self, around: &mut [Option<Around<'c>>], reading: &Reading) -> Option<(usize, Allowed)> {
        let at = self.study.modes.iter().position(|mode| mode.mode == Some(reading.mode))?;
        let place = around.get_mut(at)?;
        let around = place.get_or_insert_with(|| self.around(&self.study.modes[at]));
        let expected = figure(around.mode, reading)?;
        let all = [Some(expected), figure(&around.cold, reading), figure(&around.worn, reading)];
        let all = all.into_iter().flatten();
        let (least, most) =
            all.fold((expected, expected), |(least, most), one| (least.min(one), most.max(one)));
        let book = self.cx.book;
        let size = least.abs().max(most.abs());
        let (share, floor) = match reading.measured {
            Measured::Meter(..) => (ShareLimit::Reading, book.current(CurrentLimit::ReadingLeast).as_amps()),
            Measured::Voltage(..) => {
                (ShareLimit::ReadingVoltage, book.voltage(VoltageLimit::ReadingLeast).as_volts())
            }
            Measured::Drop(..) => (ShareLimit::Reading, book.voltage(VoltageLimit::ReadingLeast).as_volts()),
        };
        let slack = (book.share(share).as_ratio() * size).max(floor);
        Some((at, Allowed { expected, least, most, slack }))
    }

    fn around(&self, mode: &'c ModeStudy) -> Around<'c> {
        let circuit = self.cx.circuit;
        let inside = self.cx.book.voltage(VoltageLimit::ReadingDevice);
        let worn = self.study.network.with_devices(&mode.elements.open, inside, |id| rating(&self.cx, id));
        Around { mode, cold: mode.on(circuit, &self.cold), worn: mode.on(circuit, &worn) }
    }

    fn finding(
        &self,
        reading: &Reading,
        allowed: &Allowed,
        mode: &ModeStudy,
        others: &[(&Reading, Allowed)],
    ) -> Finding {
        let cx = &self.cx;
        let got = measured(reading, allowed.expected);
        let unit = |value: f64| match reading.measured {
            Measured::Meter(..) => Current::amps(value).to_string(),
            Measured::Voltage(..) => fine_voltage(Voltage::volts(value)),
            Measured::Drop(..) => Voltage::volts(value).to_string(),
        };
        let range = (unit(allowed.least), unit(allowed.most));
        let range = if range.0 == range.1 {
            format!("{} is", range.0)
        } else {
            format!("{} to {} is", range.0, range.1)
        };
        let what = match &reading.measured {
            Measured::Meter(meter, _) => format!("on {}", cx.name(*meter)),
            Measured::Voltage(end, _) => format!("at {}", cx.design.terminal_name(end.terminal)),
            Measured::Drop(from, to, _) => format!(
                "from {} to {}",
                cx.design.terminal_name(from.terminal),
                cx.design.terminal_name(to.terminal)
            ),
        };
        let beyond = if got < allowed.least { allowed.least - got } else { got - allowed.most };
        let side = if got.abs() < allowed.expected.abs() { "less" } else { "more" };
        let suspects = self.suspects(reading, allowed, mode, others);
        let mut finding = cx
            .at(&RULE, "", reading.place)
            .headline(format!("{} is measured {what} {}, and {range} computed", unit(got), cx.in_mode(mode)))
            .label(format!(
                "{} {side} than computed; {} of that may be the instrument's",
                unit(beyond),
                unit(allowed.slack)
            ));
        for (id, note) in self.points(reading, mode) {
            finding = finding.related(cx.name(id), cx.span(id), note);
        }
        finding = match reading.measured {
            Measured::Meter(..) => finding
                .number("measured_a", got)
                .number("expected_a", allowed.expected)
                .number("tolerance_a", allowed.slack),
            _ => finding
                .number("measured_v", got)
                .number("expected_v", allowed.expected)
                .number("tolerance_v", allowed.slack),
        };
        finding = self.tell_suspects(finding, reading, &suspects, others);
        let (share, floor) = match reading.measured {
            Measured::Meter(..) => (ShareLimit::Reading, CurrentLimit::ReadingLeast.name()),
            Measured::Voltage(..) => (ShareLimit::ReadingVoltage, VoltageLimit::ReadingLeast.name()),
            Measured::Drop(..) => (ShareLimit::Reading, VoltageLimit::ReadingLeast.name()),
        };
        for name in [share.name(), floor, "temperature.lowest", "reading.device"] {
            finding = cx.limit_figure(finding, name);
        }
        cx.tell_mode(finding, mode, unit(allowed.expected))
    }

    /// The components that a reading was taken at.
    fn points(&self, reading: &Reading, mode: &ModeStudy) -> Vec<(ComponentId, String)> {
        let design = self.cx.design;
        let at = |terminal: TerminalId| design.terminals[terminal].component;
        let volts = |terminal: TerminalId| {
            let solution = mode.solution.as_ref().ok();
            let volts = solution.and_then(|solution| solution.volts[terminal.index()]);
            volts.map_or_else(
                || "no source reaches it".to_owned(),
                |volts| format!("computed at {}", fine_voltage(Voltage::volts(volts))),
            )
        };
        match &reading.measured {
            Measured::Meter(meter, _) => vec![(*meter, "the meter".to_owned())],
            Measured::Voltage(end, _) => vec![(at(end.terminal), volts(end.terminal))],
            Measured::Drop(from, to, _) => {
                let mut all = vec![(at(from.terminal), volts(from.terminal))];
                if at(to.terminal) != at(from.terminal) {
                    all.push((at(to.terminal), volts(to.terminal)));
                }
                all
            }
        }
    }

    /// The pieces of metal in which an extra resistance would show in a reading.
    fn pieces(&self, reading: &Reading, mode: &ModeStudy, around: &Suspects<'_>) -> Vec<Piece> {
        let network = &self.study.network;
        let most = 64;
        let (Some(ways), Some(drops)) = (Ways::of(network, mode), Drops::of(self.cx.circuit, network, mode))
        else {
            return Vec::new();
        };
        let along = |from, to| ways.between(from, to).unwrap_or_default();
        let mut steps = Vec::new();
        match &reading.measured {
            Measured::Meter(meter, _) => {
                let terminal = self.cx.design.components[*meter].first_terminal;
                let mut all = around.all_around(terminal);
                all.truncate(most);
                return all;
            }
            Measured::Drop(from, to, _) => {
                let (from, to) = (from.terminal, to.terminal);
                match ways.between(from, to) {
                    Some(way) => steps.extend(way),
                    // Across what takes or gives: the way from its source and back.
                    None => {
                        for (plus, minus) in [(from, to), (to, from)] {
                            if let Some((high, low)) = drops.feeds(plus, minus) {
                                steps.extend(along(high, plus));
                                steps.extend(along(minus, low));
                            }
                        }
                    }
                }
            }
            Measured::Voltage(end, _) => {
                let zero = drops.zero(end.terminal);
                if let Some((high, low)) = drops.feeds_at(end.terminal) {
                    steps.extend(along(high, end.terminal));
                    steps.extend(zero.map(|zero| along(low, zero)).unwrap_or_default());
                } else if let Some(zero) = zero {
                    steps.extend(along(end.terminal, zero));
                }
            }
        }
        let mut pieces: Vec<Piece> = Vec::new();
        for piece in steps.into_iter().flat_map(|step| self.beside(step.piece)) {
            if !pieces.contains(&piece) && pieces.len() < most {
                pieces.push(piece);
            }
        }
        pieces
    }

    /// A piece, and the wires side by side with it.
    fn beside(&self, piece: Piece) -> Vec<Piece> {
        let (circuit, network) = (self.cx.circuit, &self.study.network);
        let wire = match piece {
            Piece::Branch(at) => match network.branches.get(at).map(|branch| branch.path) {
                Some(Path::Wire(wire)) => wire,
                _ => return vec![piece],
            },
            Piece::Link(_) => return vec![piece],
        };
        let wires = circuit.edge(wire).map_or(&[][..], |edge| circuit.wires(edge));
        let beside = wires.iter().filter_map(|wire| network.wire(*wire)).map(Piece::Branch);
        std::iter::once(piece).chain(beside).collect()
    }

    /// The extra resistances that explain a reading and spoil no other, the likeliest first.
    fn suspects(
        &self,
        reading: &Reading,
        allowed: &Allowed,
        mode: &ModeStudy,
        others: &[(&Reading, Allowed)],
    ) -> Vec<(Extra, Vec<usize>)> {
        let around = Suspects::new(self.cx.circuit, &self.study.network, mode);
        let got = measured(reading, allowed.expected);
        let off = |mode: &ModeStudy| Some((figure(mode, reading)? - got) / allowed.slack);
        let mut found: Vec<(Extra, Vec<usize>)> = Vec::new();
        for piece in self.pieces(reading, mode, &around) {
            // Some dozens of solutions each.
            let left = self.left.get().checked_sub(32 * (self.study.network.branches.len() + 1));
            let Some(left) = left else { break };
            self.left.set(left);
            let Some(extra) = around.extra(piece, &off) else { continue };
            let mut explains = Vec::new();
            let mut spoils = false;
            for (at, (other, allowed)) in others.iter().enumerate() {
                let got = measured(other, allowed.expected);
                let before = allowed.holds(got, 0.0);
                let moved = figure(&extra.mode, other).map(|now| now - allowed.expected);
                let after = moved.is_some_and(|moved| allowed.holds(got, moved));
                spoils |= before && !after;
                if !before && after {
                    explains.push(at);
                }
            }
            if !spoils {
                found.push((extra, explains));
            }
        }
        // Resistances that the same current makes alike stay in the order of the way.
        let whole = |extra: &Extra| (extra.resistance.as_ohms() * 1e6).round() as u64;
        found.sort_by_key(|(extra, explains)| (std::cmp::Reverse(explains.len()), whole(extra)));
        found
    }

    fn tell_suspects(
        &self,
        mut finding: Finding,
        reading: &Reading,
        suspects: &[(Extra, Vec<usize>)],
        others: &[(&Reading, Allowed)],
    ) -> Finding {
        const SHOWN: usize = 6;
        let cx = &self.cx;
        let Some((first, explains)) = suspects.first() else {
            let what = match reading.measured {
                Measured::Meter(..) => "what is on in the mode, and what its loads really take",
                _ => "the mode's voltages, what is on in it, and the sizes and lengths of the wires",
            };
            if self.left.get() < 32 * (self.study.network.branches.len() + 1) {
                return finding.help("measure again at points between, to see where it is lost: the design is too large to try each place in it");
            }
            let so = if others.is_empty() { "" } else { " without spoiling another reading" };
            return finding
                .help(format!("no single extra resistance explains it{so}: compare {what} with the build"));
        };
        let also = match explains.len() {
            0 => String::new(),
            1 => ", and explain one more reading of this mode".to_owned(),
            n => format!(", and explain {n} more readings of this mode"),
        };
        // In one row the same current makes the same resistance of each: a reading between them would tell them apart.
        let told = first.resistance.to_string();
        let alike: Vec<String> = suspects
            .iter()
            .take_while(|row| row.1.len() == explains.len() && row.0.resistance.to_string() == told)
            .map(|row| self.words(row.0.piece))
            .collect();
        let places = match alike.as_slice() {
            [rest @ .., last] if !rest.is_empty() && rest.len() < SHOWN => {
                format!("{} or {last}: {told} more in one of them", rest.join(", "))
            }
            [first, rest @ ..] if !rest.is_empty() => {
                format!("{first}, or at {} more places on the way: {told} more in one of them", rest.len())
            }
            _ => format!("{}: {told} more there", self.words(first.piece)),
        };
        finding = finding
            .help(format!(
                "look first at {places} would give this reading and make {} of heat{also}",
                first.heat
            ))
            .number("extra_mohm", first.resistance.as_ohms() * 1e3)
            .number("heat_w", first.heat.as_watts())
            .texts("suspects", suspects.iter().map(|row| self.name(row.0.piece)).collect());
        for (extra, _) in suspects.iter().take(SHOWN).filter(|_| 1 < suspects.len()) {
            let words =
                format!("more in {} would do, and make {} of heat", self.words(extra.piece), extra.heat);
            finding = finding.figure(extra.resistance.to_string(), words);
        }
        if SHOWN < suspects.len() {
            let more = suspects.len() - SHOWN;
            finding =
                finding.figure(format!("{more} more"), "places on the way where as much or more would do");
        }
        let note = if alike.len() == 1 { "look here first" } else { "it may be here" };
        for (extra, _) in suspects.iter().take(alike.len().min(SHOWN)) {
            finding = match extra.piece {
                Piece::Link(at) => match self.study.network.links.get(at) {
                    Some(link) => finding.related(cx.name(link.component), cx.span(link.component), note),
                    None => finding,
                },
                Piece::Branch(at) => match self.study.network.branches.get(at).map(|branch| branch.path) {
                    Some(Path::Wire(wire)) => finding.related(cx.wire_name(wire), cx.wire_span(wire), note),
                    Some(Path::Shunt(id) | Path::Returns(id)) => {
                        finding.related(cx.name(id), cx.span(id), note)
                    }
                    _ => finding,
                },
            };
        }
        finding
    }

    /// A piece of metal by name.
    fn name(&self, piece: Piece) -> String {
        let cx = &self.cx;
        let network = &self.study.network;
        match piece {
            Piece::Link(at) => network.links.get(at).map_or("", |link| cx.name(link.component)).to_owned(),
            Piece::Branch(at) => match network.branches.get(at).map(|branch| branch.path) {
                Some(Path::Wire(id)) => cx.wire_name(id).to_owned(),
                Some(Path::Data(id)) => cx.design.data[id].name.clone(),
                Some(Path::Joint(at)) => cx.design.joints.get(at).map_or_else(String::new, |joint| {
                    let name = |end: TerminalId| cx.design.terminal_name(end);
                    format!("{} to {}", name(joint.a.terminal), name(joint.b.terminal))
                }),
                Some(Path::Returns(id) | Path::Shunt(id) | Path::Contact(id)) => cx.name(id).to_owned(),
                None => String::new(),
            },
        }
    }

    /// The same in words.
    fn words(&self, piece: Piece) -> String {
        let name = self.name(piece);
        match piece {
            Piece::Link(_) => format!("{name} and its contacts"),
            Piece::Branch(at) => match self.study.network.branches.get(at).map(|branch| branch.path) {
                Some(Path::Wire(id)) => {
                    let wire = &self.cx.design.wires[id];
                    format!("{name} and its ends ({} over {})", wire.size, wire.length)
                }
                Some(Path::Joint(_)) => format!("the joint of {name}"),
                Some(Path::Returns(_)) => format!("the mount of {name}"),
                Some(Path::Shunt(_)) => format!("the shunt of {name} and its studs"),
                _ => name,
            },
        }
    }
}

/// What a device, switch, plug or cutoff is rated for.
fn rating(cx: &Context<'_>, id: ComponentId) -> Option<Current> {
    match &cx.design.components[id].body {
        Body::Fuse(fuse) => Some(fuse.rating),
        Body::Breaker(breaker) => Some(breaker.rating),
        Body::Switch(switch) => switch.rating,
        Body::Plug(plug) => plug.rating,
        Body::Cutoff(cutoff) => cutoff.rating,
        _ => None,
    }
}

/// Readings that cannot be judged for want of a figure: a meter that counts nothing, and what takes an unstated amount.
fn unstated(cx: &Context<'_>, out: &mut Unstated) {
    if cx.design.readings.is_empty() {
        return;
    }
    cx.unstated_demand(out);
    let silent = cx.design.readings.iter().filter_map(|reading| match reading.measured {
        Measured::Meter(meter, _) => Some(meter),
        _ => None,
    });
    let silent = silent.filter(|id| {
        matches!(&cx.design.components[*id].body, Body::Meter(meter) if meter.drop.is_none() || meter.full_scale.is_none())
    });
    out.add_all("mV", Without::Assumed("no drop in its shunt".into()), silent);
}
