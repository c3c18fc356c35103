//! What elements say of other elements: how they are joined, what they count, set, hold and stand in. What the old design
//! names is compared under the name that it has in the new one.

use rustc_hash::FxHashMap;

use super::facts::{Fact, Form};
use super::graph::{Element, others};
use super::spell::{amps, ohms, volts, watts};
use crate::design::{Component, Design, End, Mode, ModeState, WireId};

/// Old names as the new design has them.
#[derive(Debug, Default)]
pub(super) struct Names<'d> {
    now: FxHashMap<&'d str, Option<&'d str>>,
}

impl<'d> Names<'d> {
    /// Every name of the old design, with the one that it has now, if what it names is still there.
    pub(super) fn new(now: impl Iterator<Item = (&'d str, Option<&'d str>)>) -> Self {
        Self { now: now.collect() }
    }

    /// Those of the new design, which stay as they are.
    pub(super) fn as_they_are() -> Self {
        Self::default()
    }

    /// What a name is compared as. The old name of what is gone is like none of the new ones.
    pub(super) fn compared(&self, name: &str) -> String {
        match self.now.get(name) {
            None => name.to_owned(),
            Some(Some(now)) => (*now).to_owned(),
            Some(None) => format!("\0{name}"),
        }
    }

    /// The same for what may be a terminal, `house.+`, or a stud.
    pub(super) fn subject(&self, subject: &str) -> String {
        match subject.split_once('.') {
            Some((name, rest)) => format!("{}.{rest}", self.compared(name)),
            None => self.compared(subject),
        }
    }

    /// An end of a wire.
    pub(super) fn end(&self, design: &Design, end: End) -> String {
        self.subject(&design.end_name(end))
    }
}

/// A name for people: that of the new design where there is one.
pub(super) fn shown(compared: &str) -> &str {
    compared.strip_prefix('\0').unwrap_or(compared)
}

/// What an element says of others, the ends of wires and leads aside.
pub(super) fn links(design: &Design, element: Element<'_>, names: &Names<'_>) -> Vec<Fact> {
    match element {
        Element::Component(component) => of_component(design, component, names),
        Element::Wire(wire) => {
            let zones = wire.zones.iter().map(|id| &design.zones[*id].name);
            zones.map(|name| member("zone", "runs through zone", name, names)).collect()
        }
        Element::Bundle(bundle) => bundle.wires.iter().map(|id| holds(design, *id, names)).collect(),
        Element::Mode(mode) => mode_lines(design, mode, names),
        Element::Data(_) | Element::Zone(_) => Vec::new(),
    }
}

fn of_component(design: &Design, component: &Component, names: &Names<'_>) -> Vec<Fact> {
    let zone = component.zone.map(|id| link("zone", "sits in zone", &design.zones[id].name, names));
    let named = others(&component.body).into_iter().map(|(what, id)| {
        let name = &design.components[id].name;
        match what {
            "counts" => member("counts", "counts", name, names),
            "case" => link("case", "has its case on", name, names),
            "pair" => link("pair", "shares a handle with", name, names),
            _ => link("returns", "returns through", name, names),
        }
    });
    zone.into_iter().chain(named).collect()
}

fn holds(design: &Design, wire: WireId, names: &Names<'_>) -> Fact {
    member("wires", "holds", &design.wires[wire].name, names)
}

fn link(property: &'static str, verb: &'static str, name: &str, names: &Names<'_>) -> Fact {
    Fact {
        property: property.into(),
        form: Form::Link,
        label: verb.into(),
        value: name.to_owned(),
        same: Some(names.compared(name)),
    }
}

fn member(property: &'static str, verb: &'static str, name: &str, names: &Names<'_>) -> Fact {
    Fact { form: Form::Member, ..link(property, verb, name, names) }
}

fn mode_lines(design: &Design, mode: &Mode, names: &Names<'_>) -> Vec<Fact> {
    let line = |line: &crate::design::ModeLine| {
        let compared = names.compared(&design.components[line.component].name);
        Fact {
            label: shown(&compared).to_owned().into(),
            property: compared.into(),
            form: Form::Sets,
            value: state(line.state),
            same: None,
        }
    };
    mode.lines.iter().map(line).collect()
}

/// What a line of a mode sets, as it is written.
pub(super) fn state(state: ModeState) -> String {
    match state {
        ModeState::On => "on".into(),
        ModeState::Off => "off".into(),
        ModeState::Open => "open".into(),
        ModeState::Closed => "closed".into(),
        ModeState::Voltage(voltage) => volts(voltage),
        ModeState::Current(current) => amps(current),
        ModeState::Power(power) => watts(power),
        ModeState::Resistance(resistance) => ohms(resistance),
    }
}
