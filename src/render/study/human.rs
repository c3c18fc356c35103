//! The figures of a study for people: a table for each kind of thing, or a sentence for each thing.

use std::io::{Result, Write};

use super::StudyReport;
use crate::render::human::write_wrapped;
use crate::render::wording::{clean, padded};
use crate::study::{
    Conditions, DeviceFigures, Does, EffectFigures, FailureFigures, FaultFigures, Figures, Flow, Group,
    ModeFigures, Opening, Unsolved, WireFigures,
};
use crate::units::{Current, Share, Voltage, current_against};

/// Below these a figure is what rounding left over.
const NO_AMPS: f64 = 1e-6;
const NO_VOLTS: f64 = 1e-6;

/// Which way a figure counts.
const SIGNS: &str = "A wire carries from its first end to its second, a device from its first terminal to its second; \
                     with a minus it is the other way. A meter reads plus for what charges or is given.";

/// A study for people.
#[derive(Debug, Clone, Copy)]
pub struct StudyHuman {
    /// In sentences in place of tables, for screen readers.
    pub told: bool,
    /// Columns that sentences are wrapped to.
    pub width: usize,
    /// Tell of the modes.
    pub modes: bool,
    /// Tell of the faults.
    pub faults: bool,
}

impl StudyHuman {
    /// Writes a study.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn write(&self, report: &StudyReport<'_>, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "{}: {}", clean(report.design), clean(report.title))?;
        if self.modes || report.figures.failures.is_some() {
            writeln!(out, "{}, by book {}", conditions(report.figures.conditions), clean(report.book))?;
        }
        if self.modes {
            write_wrapped(out, 0, 0, SIGNS, self.width)?;
            for mode in &report.figures.modes {
                writeln!(out)?;
                self.mode(mode, out)?;
            }
        }
        if self.faults {
            writeln!(out)?;
            self.faults_of(&report.figures.faults, out)?;
        }
        if let Some(failures) = &report.figures.failures {
            writeln!(out)?;
            self.failures_of(failures, report.figures, out)?;
        }
        Ok(())
    }

    fn mode(&self, mode: &ModeFigures, out: &mut dyn Write) -> Result<()> {
        match &mode.title {
            Some(title) => writeln!(out, "mode {}: {}", clean(&mode.name), clean(title))?,
            None => writeln!(out, "mode {}", clean(&mode.name))?,
        }
        if let Some(unsolved) = &mode.unsolved {
            return write_wrapped(
                out,
                2,
                2,
                &format!("no solution: {}", clean(&why(unsolved).1)),
                self.width,
            );
        }
        let of = |group: Group| mode.devices.iter().filter(move |device| device.group == group);
        let meters = mode.meters.iter().map(|(name, reads)| vec![name.clone(), amps(*reads)]);
        self.table(&["meter", "reads"], meters.collect(), out)?;
        let heads = ["battery", "behind", "at its poles", "current"];
        self.table(&heads, of(Group::Battery).map(battery).collect(), out)?;
        self.table(&["source", "does", "gives", "takes"], of(Group::Giver).map(giver).collect(), out)?;
        let on = |device: &&DeviceFigures| device.does != Does::Nothing;
        let heads = ["load", "takes", "at", "drop"];
        self.table(&heads, of(Group::Taker).filter(on).map(load).collect(), out)?;
        let off: Vec<&str> =
            of(Group::Taker).filter(|device| !on(device)).map(|one| one.name.as_str()).collect();
        if !off.is_empty() {
            if !self.told {
                writeln!(out)?;
            }
            write_wrapped(out, 2, 4, &format!("loads that are off: {}", clean(&off.join(", "))), self.width)?;
        }
        self.table(&["wire", "carries", "drop", "of ampacity"], mode.wires.iter().map(wire).collect(), out)?;
        self.table(&["device", "carries", "of rating"], of(Group::Passes).map(device).collect(), out)
    }

    fn faults_of(&self, faults: &[FaultFigures], out: &mut dyn Write) -> Result<()> {
        writeln!(out, "what a bolted fault to the negative draws, all switches closed")?;
        let text =
            |current: Option<Current>| current.map_or_else(|| "-".to_owned(), |current| current.to_string());
        let rows = faults.iter().map(|fault| match (fault.largest, fault.smallest) {
            (None, None) => {
                vec![fault.terminal.clone(), "no source's positive reaches it".into(), "-".into(), "-".into()]
            }
            _ => {
                vec![fault.terminal.clone(), text(fault.largest), text(fault.smallest), opening(&fault.opens)]
            }
        });
        self.table(&["terminal", "largest", "smallest", "opens at the smallest"], rows.collect(), out)
    }

    fn failures_of(&self, failures: &FailureFigures, figures: &Figures, out: &mut dyn Write) -> Result<()> {
        writeln!(out, "what follows when one connection of the return opens")?;
        for mode in figures.modes.iter().filter(|mode| mode.unsolved.is_some()) {
            let text = format!("mode {} has no solution, and nothing is opened in it", clean(&mode.name));
            write_wrapped(out, 2, 4, &text, self.width)?;
        }
        for opened in failures.opened.iter().filter(|opened| !opened.effects.is_empty()) {
            write_wrapped(out, 2, 2, &format!("{} open", clean(&opened.name)), self.width)?;
            // Modes in which the same follows are told together.
            let mut told: Vec<(Vec<&str>, String)> = Vec::new();
            for effect in &opened.effects {
                let text = effect_text(effect);
                match told.iter_mut().find(|row| row.1 == text) {
                    Some(row) => row.0.push(&effect.mode),
                    None => told.push((vec![&effect.mode], text)),
                }
            }
            for (modes, text) in told {
                let text = format!("{}: {text}", modes.join(", "));
                write_wrapped(out, 4, 6, &clean(&text), self.width)?;
            }
        }
        let quiet = failures.opened.iter().filter(|opened| opened.effects.is_empty());
        let quiet: Vec<&str> = quiet
            .map(|opened| opened.name.as_str())
            .filter(|name| !failures.unopened.iter().any(|one| one == name))
            .collect();
        if !quiet.is_empty() {
            let text = format!("nothing follows: {}", quiet.join(", "));
            write_wrapped(out, 2, 4, &clean(&text), self.width)?;
        }
        if !failures.unopened.is_empty() {
            let text = format!(
                "not opened in each mode, as that would take too long: {}",
                failures.unopened.join(", ")
            );
            write_wrapped(out, 2, 4, &clean(&text), self.width)?;
        }
        if failures.opened.is_empty() {
            writeln!(out, "  there is no connection in the return")?;
        }
        Ok(())
    }

    /// A row for each thing; its name is in the first cell.
    fn table(&self, heads: &[&str], rows: Vec<Vec<String>>, out: &mut dyn Write) -> Result<()> {
        let rows: Vec<Vec<String>> =
            rows.into_iter().map(|row| row.iter().map(|cell| clean(cell).into_owned()).collect()).collect();
        if self.told {
            return rows.iter().try_for_each(|row| write_wrapped(out, 2, 4, &told(heads, row), self.width));
        }
        if rows.is_empty() {
            return Ok(());
        }
        let width_of = |column: usize| {
            let cells = rows.iter().filter_map(|row| row.get(column)).map(|cell| cell.chars().count());
            cells.chain(heads.get(column).map(|head| head.len())).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..heads.len()).map(width_of).collect();
        writeln!(out)?;
        let mut line = |cells: &mut dyn Iterator<Item = &str>| {
            let cells: Vec<String> = cells.zip(&widths).map(|(cell, width)| padded(cell, *width)).collect();
            writeln!(out, "  {}", cells.join("  ").trim_end())
        };
        line(&mut heads.iter().copied())?;
        rows.iter().try_for_each(|row| line(&mut row.iter().map(String::as_str)))
    }
}

/// `A, B and C`.
fn listed(names: &[String]) -> String {
    match names {
        [rest @ .., last] if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        names => names.concat(),
    }
}

/// What one open connection does in one mode.
fn effect_text(effect: &EffectFigures) -> String {
    let mut parts = Vec::new();
    if !effect.homes.is_empty() {
        let by = effect.by.iter().map(|(name, amps)| match amps {
            Some(amps) => format!("{name} ({amps})"),
            None => name.clone(),
        });
        let by: Vec<String> = by.collect();
        parts.push(format!("the current of {} comes home by {}", listed(&effect.homes), listed(&by)));
    }
    match effect.weakened.as_slice() {
        [] => {}
        [one] => parts.push(format!("{one} cannot hold what it takes")),
        several => parts.push(format!("{} cannot hold what they take", listed(several))),
    }
    for (name, carries, ampacity) in &effect.overloads {
        parts.push(format!("{name} carries {}, beyond its {ampacity}", current_against(*carries, *ampacity)));
    }
    if !effect.stops.is_empty() {
        let verb = if effect.stops.len() == 1 { "stops" } else { "stop" };
        parts.push(format!("{} {verb}", listed(&effect.stops)));
    }
    for meter in &effect.meters {
        let truth = match meter.truth {
            Some(truth) => format!(", wrongly: what it counts has {}", amps(truth)),
            None => String::new(),
        };
        parts.push(format!(
            "{} reads {} in place of {}{truth}",
            meter.name,
            amps(meter.reads),
            amps(meter.was)
        ));
    }
    if let Some(unsolved) = &effect.unsolved {
        parts.push(format!("no solution: {}", why(unsolved).1));
    }
    parts.join("; ")
}

/// `F1 within 50 ms, FM never for certain`.
fn opening(opens: &[(String, Opening)]) -> String {
    let told = opens.iter().map(|(name, opening)| match opening {
        Opening::Within(time) => format!("{name} within {time}"),
        Opening::Never => format!("{name} not for certain"),
        Opening::Unknown => format!("{name} (no time known)"),
    });
    if opens.is_empty() { "-".into() } else { told.collect::<Vec<_>>().join(", ") }
}

/// `wire W1: carries 25 A; drop 0.1 V`.
fn told(heads: &[&str], row: &[String]) -> String {
    let cells: Vec<String> = heads
        .iter()
        .zip(row)
        .skip(1)
        .filter(|cell| cell.1 != "-" && !cell.1.is_empty())
        .map(|(head, cell)| format!("{head} {cell}"))
        .collect();
    let (head, name) = (heads.first().copied().unwrap_or(""), row.first().map_or("", String::as_str));
    format!("{head} {name}: {}.", cells.join("; "))
}

fn conditions(conditions: Conditions) -> String {
    let contacts = if conditions.contacts { "with" } else { "without" };
    format!("conductors at {}, {contacts} the contact resistance of joints", conditions.temperature)
}

/// Why a mode has no solution, and which element it hangs on.
pub(super) fn why(unsolved: &Unsolved) -> (Option<&str>, String) {
    match unsolved {
        Unsolved::Collapse(load) => (
            Some(load),
            format!(
                "{load} takes more than what lies between it and its source lets through at any voltage; \
                 a larger or shorter conductor, a stronger source or a smaller load makes it right"
            ),
        ),
        Unsolved::Overloaded(giver, most) => {
            let most = most.map_or_else(|| "it can".to_owned(), |most| format!("its {most}"));
            (
                Some(giver),
                format!("{giver} would have to give more than {most}, and no battery gives the rest"),
            )
        }
        Unsolved::Unsettled(Some(giver)) => {
            (Some(giver), format!("what the outputs do does not settle, that of {giver} last"))
        }
        Unsolved::Unsettled(None) => (None, "its voltages do not settle".into()),
    }
}

fn amps(current: Current) -> String {
    if current.as_amps().abs() < NO_AMPS { "0 A".into() } else { current.to_string() }
}

fn volts(voltage: Voltage) -> String {
    if voltage.as_volts().abs() < NO_VOLTS { "0 V".into() } else { crate::units::fine_voltage(voltage) }
}

/// A drop.
fn lost(voltage: Voltage) -> String {
    if voltage.as_volts().abs() < NO_VOLTS { "0 V".into() } else { voltage.to_string() }
}

fn magnitude(current: Current) -> Current {
    Current::amps(current.as_amps().abs())
}

/// A share of a rating, in per cent.
fn share(current: Current, of: Current) -> String {
    let rating = of.as_amps();
    if rating <= 0.0 {
        return "-".into();
    }
    let share = current.as_amps().abs() / rating;
    if current.as_amps().abs() < NO_AMPS { "0 %".into() } else { Share::ratio(share).to_string() }
}

fn battery(device: &DeviceFigures) -> Vec<String> {
    let text = |voltage: Option<Voltage>| voltage.map_or_else(|| "-".to_owned(), volts);
    let amps = device.flow.current.as_amps();
    let current = match device.does {
        Does::Unstated => "its resistance is not stated".to_owned(),
        _ if amps.abs() < NO_AMPS => "0 A".into(),
        _ if amps < 0.0 => format!("gives {}", magnitude(device.flow.current)),
        _ => format!("takes {}", device.flow.current),
    };
    vec![device.name.clone(), text(device.behind), text(device.flow.voltage), current]
}

fn giver(device: &DeviceFigures) -> Vec<String> {
    let (does, gives) = match device.does {
        Does::Nothing => ("off".to_owned(), false),
        Does::Unfed => ("nothing: its input is not fed".to_owned(), false),
        Does::Unstated => ("nothing: figures are not stated".to_owned(), false),
        Does::Idle(set) => (format!("nothing: what it is on lies above its {set}"), false),
        Does::On => ("gives".to_owned(), true),
        Does::Holds(set) => (format!("holds {set}"), true),
        Does::Gives(most) => (format!("gives all its {most}"), true),
        Does::InputBound(most) => (format!("bound by the {most} of its input"), true),
        Does::ArrayBound(most) => (format!("takes all {most} of its array"), true),
    };
    let flow = |flow: &Flow| match flow.voltage {
        Some(voltage) => format!("{} at {voltage}", magnitude(flow.current)),
        None => magnitude(flow.current).to_string(),
    };
    let given = match device.outputs.as_slice() {
        _ if !gives => "-".to_owned(),
        [] | [_] => flow(&device.flow),
        several => several.iter().map(flow).collect::<Vec<_>>().join(", "),
    };
    let taken = device.input.as_ref().filter(|_| gives).map_or_else(|| "-".to_owned(), flow);
    vec![device.name.clone(), does, given, taken]
}

fn load(device: &DeviceFigures) -> Vec<String> {
    if device.does == Does::Unfed {
        return vec![device.name.clone(), "nothing: no source feeds it".into(), "-".into(), "-".into()];
    }
    let drop = |(drop, share): (Voltage, Share)| {
        if drop.as_volts().abs() < NO_VOLTS { lost(drop) } else { format!("{} ({share})", lost(drop)) }
    };
    vec![
        device.name.clone(),
        amps(device.flow.current),
        device.flow.voltage.map_or_else(|| "-".to_owned(), volts),
        device.drop.map_or_else(|| "-".to_owned(), drop),
    ]
}

fn wire(wire: &WireFigures) -> Vec<String> {
    let name = wire.name.clone();
    match wire.flow {
        Some((current, drop)) => vec![name, amps(current), lost(drop), share(current, wire.ampacity)],
        None => vec![name, "set aside as a fault".into(), "-".into(), "-".into()],
    }
}

fn device(device: &DeviceFigures) -> Vec<String> {
    let current = device.flow.current;
    let carries = if device.does == Does::Nothing { "open".to_owned() } else { amps(current) };
    let of = match device.rating {
        Some(rating) if device.does != Does::Nothing => format!("{} of {rating}", share(current, rating)),
        Some(rating) => format!("of {rating}"),
        None => "-".into(),
    };
    vec![device.name.clone(), carries, of]
}
