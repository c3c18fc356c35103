//! Statements that have no name of their own: each with what it is about, by which it is found in the other design.

use super::facts::Fact;
use super::links::Names;
use super::spell::{amp_hours, amps, bare, celsius, metres, mm2, ohms, percent, quoted, volts};
use crate::design::{
    Claim, Coating, Design, Expect, FitId, Joint, LimitValue, Measured, Reading, SettingValue, Stack, Strand,
};
use crate::text::{FileId, Span};

/// One such statement.
#[derive(Debug, Clone)]
pub(super) struct Item {
    /// The word of the statement.
    pub(super) kind: &'static str,
    /// What it is about, under the names of the new design; two of one key are the same statement.
    pub(super) key: String,
    /// What it is about, as its own design names it.
    pub(super) name: String,
    /// How a sentence about it begins.
    pub(super) subject: String,
    pub(super) facts: Vec<Fact>,
    pub(super) span: Span,
    pub(super) order: u32,
    pub(super) fit: Option<FitId>,
}

/// Every statement without a name, in the order of the design.
pub(super) fn items(design: &Design, names: &Names<'_>) -> Vec<Item> {
    let mut all = head(design);
    all.extend(limits(design));
    all.extend(design.expects.iter().map(|expect| of_expect(design, expect, names)));
    all.extend(design.readings.iter().map(|reading| of_reading(design, reading, names)));
    all.extend(settings(design, names));
    all.extend(design.stacks.iter().map(|stack| of_stack(design, stack, names)));
    all.extend(design.notes.iter().map(|note| Item {
        kind: "note",
        key: names.compared(&note.name),
        name: note.name.clone(),
        subject: format!("the note beside {}", note.name),
        facts: vec![Fact::main("text", "text", quoted(&note.text))],
        span: note.place.span,
        order: note.place.order,
        fit: note.place.fit,
    }));
    all.extend(design.waivers.iter().map(|waiver| Item {
        kind: "waive",
        key: format!("{} {}", waiver.rule, waived(&waiver.subject, names)),
        name: format!("{} on {}", waiver.rule, waiver.subject),
        subject: format!("the waiver of {} on {}", waiver.rule, waiver.subject),
        facts: vec![
            Fact::named("until", "last day", waiver.until.to_string()),
            Fact::named("because", "reason", quoted(&waiver.why)),
        ],
        span: waiver.place.span,
        order: waiver.place.order,
        fit: waiver.place.fit,
    }));
    all.sort_by_key(|item| item.order);
    all
}

/// A waiver may name a line, which is no element.
fn waived(subject: &str, names: &Names<'_>) -> String {
    if subject.starts_with("line:") { subject.to_owned() } else { names.subject(subject) }
}

/// What the design is called and assumes.
fn head(design: &Design) -> Vec<Item> {
    let span = design.name_span.unwrap_or(Span::new(design.file.unwrap_or(FileId(0)), 0, 0));
    let item = |kind, name: &str, subject: String, fact| Item {
        kind,
        key: name.to_owned(),
        name: name.to_owned(),
        subject,
        facts: vec![fact],
        span,
        order: 0,
        fit: None,
    };
    let text = |kind, subject: &str, value| item(kind, "", subject.into(), Fact::main(kind, kind, value));
    let mut all = vec![
        text("design", "the design's name", design.name.clone()),
        text("title", "the title", quoted(&design.title)),
    ];
    all.extend(design.book.as_ref().map(|book| text("book", "the book", book.0.clone())));
    let assume = &design.assume;
    let strand = |strand| match strand {
        Strand::Class2 => "class-2",
        Strand::Class5 => "class-5",
    };
    let coating = |coating| match coating {
        Coating::Plain => "plain",
        Coating::Tinned => "tinned",
    };
    let assumed = [
        ("ambient", assume.ambient.map(celsius)),
        ("insulation", assume.insulation.map(celsius)),
        ("strand", assume.strand.map(|one| strand(one).into())),
        ("contact", assume.contact.map(ohms)),
        ("copper", assume.copper.map(|one| coating(one).into())),
    ];
    for (name, value) in assumed {
        let fact = |value| Fact::main("value", "value", value);
        all.extend(value.map(|value| item("assume", name, format!("the assumed {name}"), fact(value))));
    }
    all
}

fn limits(design: &Design) -> impl Iterator<Item = Item> {
    design.limits.iter().map(|limit| {
        let value = match &limit.value {
            LimitValue::Length(length) => metres(*length),
            LimitValue::Share(share) => percent(*share),
            LimitValue::Number(number) => bare(*number),
            LimitValue::Temperature(temperature) => celsius(*temperature),
            LimitValue::Current(current) => amps(*current),
            LimitValue::Voltage(voltage) => volts(*voltage),
            LimitValue::Area(area) => mm2(*area),
            LimitValue::Capacity(capacity) => amp_hours(*capacity),
            LimitValue::Word(word) => word.clone(),
        };
        Item {
            kind: "limit",
            key: limit.name.clone(),
            name: limit.name.clone(),
            subject: format!("the limit {}", limit.name),
            facts: vec![
                Fact::main("value", "value", value),
                Fact::named("because", "reason", quoted(&limit.why)),
            ],
            span: limit.name_span,
            order: 0,
            fit: None,
        }
    })
}

fn of_expect(design: &Design, expect: &Expect, names: &Names<'_>) -> Item {
    let mode = &design.modes[expect.mode].name;
    let component = |id| design.components[id].name.clone();
    let (what, name, compared, value, within) = match expect.claim {
        Claim::Reads { meter, current, within } => {
            let name = component(meter);
            ("reading", name.clone(), names.compared(&name), amps(current), Some(amps(within)))
        }
        Claim::Carries { wire, current, within } => {
            let name = design.wires[wire].name.clone();
            ("current", name.clone(), names.compared(&name), amps(current), Some(amps(within)))
        }
        Claim::Above(end, voltage) => {
            ("lowest voltage", design.end_name(end), names.end(design, end), volts(voltage), None)
        }
        Claim::Below(end, voltage) => {
            ("highest voltage", design.end_name(end), names.end(design, end), volts(voltage), None)
        }
    };
    let mut facts = vec![Fact::main("value", "value", value)];
    facts.extend(within.map(|within| Fact::named("within", "tolerance", within)));
    Item {
        kind: "expect",
        key: format!("{what} of {compared} in {}", names.compared(mode)),
        name: format!("{name} in {mode}"),
        subject: format!("the {what} expected of {name} in {mode}"),
        facts,
        span: expect.place.span,
        order: expect.place.order,
        fit: expect.place.fit,
    }
}

fn of_reading(design: &Design, reading: &Reading, names: &Names<'_>) -> Item {
    let mode = &design.modes[reading.mode].name;
    let (name, compared, value) = match reading.measured {
        Measured::Meter(meter, current) => {
            let name = design.components[meter].name.clone();
            (name.clone(), names.compared(&name), amps(current))
        }
        Measured::Voltage(end, voltage) => (design.end_name(end), names.end(design, end), volts(voltage)),
        Measured::Drop(a, b, voltage) => (
            format!("{} to {}", design.end_name(a), design.end_name(b)),
            format!("{} to {}", names.end(design, a), names.end(design, b)),
            volts(voltage),
        ),
    };
    let mut facts = vec![Fact::main("value", "value", value)];
    facts.extend(reading.by.as_deref().map(|by| Fact::named("by", "read by", quoted(by))));
    Item {
        kind: "reading",
        key: format!("{compared} in {} on {}", names.compared(mode), reading.on),
        name: format!("{name} in {mode} on {}", reading.on),
        subject: format!("the reading of {name} in {mode} on {}", reading.on),
        facts,
        span: reading.place.span,
        order: reading.place.order,
        fit: reading.place.fit,
    }
}

fn settings(design: &Design, names: &Names<'_>) -> impl Iterator<Item = Item> {
    design.settings.iter().map(|setting| {
        let name = &design.components[setting.component].name;
        let value = match &setting.value {
            SettingValue::Voltage(voltage) => volts(*voltage),
            SettingValue::Current(current) => amps(*current),
            SettingValue::Capacity(capacity) => amp_hours(*capacity),
            SettingValue::Other(text) => text.clone(),
        };
        Item {
            kind: "set",
            key: format!("{} {}", names.compared(name), setting.word),
            name: format!("{name} {}", setting.word),
            subject: format!("the setting {name} {}", setting.word),
            facts: vec![Fact::main("value", "value", value)],
            span: setting.place.span,
            order: setting.place.order,
            fit: setting.place.fit,
        }
    })
}

fn of_stack(design: &Design, stack: &Stack, names: &Names<'_>) -> Item {
    let rings: Vec<&str> = stack.wires.iter().map(|id| design.wires[*id].name.as_str()).collect();
    let compared: Vec<String> = rings.iter().map(|name| names.compared(name)).collect();
    let name = design.end_name(stack.node);
    let from_base = Fact::main("wires", "rings from the base up", rings.join(", "));
    Item {
        kind: "stack",
        key: names.end(design, stack.node),
        subject: format!("the stack on {name}"),
        name,
        facts: vec![Fact { same: Some(compared.join(", ")), ..from_base }],
        span: stack.place.span,
        order: stack.place.order,
        fit: stack.place.fit,
    }
}

/// A bolted joint: its two ends in no order, under the names of the new design and as its own design names them.
#[derive(Debug, Clone)]
pub(super) struct Bolt {
    pub(super) compared: [String; 2],
    pub(super) written: [String; 2],
    /// Whether each end is a bar, a post or a chassis.
    is_node: [bool; 2],
    pub(super) span: Span,
    pub(super) order: u32,
    pub(super) fit: Option<FitId>,
}

impl Bolt {
    /// The ends that are a device's own, as they are compared.
    pub(super) fn terminals(&self) -> impl Iterator<Item = &str> {
        let ends = self.compared.iter().zip(self.is_node);
        ends.filter(|end| !end.1).map(|end| end.0.as_str())
    }

    /// Both ends as they are written, a device's before what it sits on.
    pub(super) fn ends(&self) -> [&str; 2] {
        match (self.written.each_ref().map(String::as_str), self.is_node) {
            ([a, b], [true, false]) => [b, a],
            ([a, b], [false, true]) => [a, b],
            ([a, b], _) => [a.min(b), a.max(b)],
        }
    }
}

/// Every bolted joint, those by `on` included.
pub(super) fn bolts(design: &Design, names: &Names<'_>) -> Vec<Bolt> {
    let one = |joint: &Joint| {
        let mut ends = [joint.a, joint.b].map(|end| {
            let component = design.terminals[end.terminal].component;
            (names.end(design, end), design.end_name(end), design.components[component].kind.is_node())
        });
        ends.sort();
        let [(a, a_written, a_node), (b, b_written, b_node)] = ends;
        Bolt {
            compared: [a, b],
            written: [a_written, b_written],
            is_node: [a_node, b_node],
            span: joint.place.span,
            order: joint.place.order,
            fit: joint.place.fit,
        }
    };
    design.joints.iter().map(one).collect()
}
