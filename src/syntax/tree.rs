//! The tree of one file: its statements, with spans; no name in it is resolved, no part or kit placed. Comments and
//! blank lines stay in the text: [`super::lines::cut`] gives them, each statement's span being the code of its line.

use crate::text::{FileId, Span};
use crate::units::{
    Area, Capacity, Current, HeatIntegral, Length, Power, Resistance, Share, Size, Temperature, Torque,
    Voltage,
};

use super::words::{Dimension, KindWords};

/// One file.
#[derive(Debug)]
pub(crate) struct Tree {
    /// Its file.
    pub(crate) file: FileId,
    /// Its statements in order; those of a block follow the one that opens it.
    pub(crate) statements: Vec<Statement>,
    /// It begins with `library`.
    pub(crate) library: bool,
}

/// One statement.
#[derive(Debug, Clone)]
pub(crate) struct Statement {
    /// The whole logical line, without its `{`.
    pub(crate) span: Span,
    /// The name that it declares.
    pub(crate) name: Option<Span>,
    /// What that name is.
    pub(crate) class: Class,
    /// A problem in it has been told, so nothing more is said about what it lacks.
    pub(crate) faulty: bool,
    /// Index of the first statement after its block.
    pub(crate) end: usize,
    /// What it says.
    pub(crate) node: Node,
}

/// What a name stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Class {
    /// A component, by its place in [`super::words::KINDS`].
    Component(u8),
    Wire,
    Data,
    Bundle,
    Zone,
    Mode,
    Part,
    Kit,
    Fit,
    /// Declared by a statement that cannot be read: anything.
    Unknown,
}

/// A statement's content.
#[derive(Debug, Clone)]
pub(crate) enum Node {
    /// Cannot be read; its problem has been told.
    Broken,
    Design {
        title: Span,
    },
    Library,
    Use {
        path: Span,
    },
    Book {
        name: String,
        span: Span,
    },
    Assume {
        what: &'static str,
        value: Value,
        span: Span,
    },
    Limit {
        name: Span,
        value: LimitWord,
        value_span: Span,
        why: Span,
    },
    Zone {
        ambient: Value,
    },
    Component {
        part: Option<Span>,
        traits: Vec<Trait>,
    },
    Part {
        kind: u8,
        traits: Vec<Trait>,
    },
    Terminal {
        names: Vec<Span>,
        hardware: HardwareWord,
    },
    Wire {
        from: Reference,
        to: Reference,
        traits: Vec<Trait>,
    },
    Bolt {
        a: Reference,
        b: Reference,
    },
    Data {
        from: Reference,
        to: Reference,
        traits: Vec<Trait>,
    },
    Bundle {
        wires: Vec<Reference>,
    },
    Mode {
        title: Option<Span>,
    },
    ModeLine {
        what: Reference,
        state: StateWord,
        state_span: Span,
    },
    Expect {
        claim: ClaimWord,
        mode: Span,
    },
    Reading {
        measured: MeasuredWord,
        mode: Span,
        on: Span,
        by: Option<Span>,
    },
    Set {
        what: Reference,
        word: Span,
        value: SetWord,
    },
    Stack {
        node: Reference,
        wires: Vec<Reference>,
    },
    Note {
        what: Reference,
        text: Span,
    },
    Waive {
        rule: Span,
        subject: Subject,
        why: Span,
        until: Span,
    },
    Kit {
        parameters: Vec<Parameter>,
    },
    Fit {
        kit: Span,
        arguments: Vec<(Span, Value, Span)>,
    },
}

/// A property, or something read without a word before it, as it was written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Trait {
    /// What it is.
    pub(crate) key: Key,
    /// Its word, or the value itself.
    pub(crate) span: Span,
    /// Its value; of a flag, its own word.
    pub(crate) value: Value,
    /// A second value: the current of `in`, the voltage of `breaks`, the number of studs, the other end.
    pub(crate) second: Option<Value>,
}

/// Which trait it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Key {
    /// A property by its word in the table.
    Property(&'static str),
    /// A quantity without a word.
    Bare(Dimension),
    /// A fixed word or a colour.
    Word,
    /// A stud or studs.
    Thread,
    /// The label.
    Label,
}

/// A value with its place.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Value {
    /// What was written.
    pub(crate) what: What,
    /// Where.
    pub(crate) span: Span,
}

/// What a value is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum What {
    Quantity(Quantity),
    Number(u32),
    /// A thread in millimetres.
    Thread(f64),
    /// A word or a name.
    Word,
    /// A terminal or node.
    Terminal(Reference),
    /// A text with its quotes.
    Text,
    /// A parameter of the kit around it, by its place in the kit's list.
    Parameter(u16),
}

/// A quantity with its dimension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Quantity {
    Voltage(Voltage),
    Current(Current),
    Resistance(Resistance),
    Power(Power),
    Length(Length),
    Size(Size),
    Temperature(Temperature),
    Capacity(Capacity),
    Torque(Torque),
    HeatIntegral(HeatIntegral),
    Share(Share),
}

impl Quantity {
    /// What it measures.
    pub(crate) fn dimension(self) -> Dimension {
        match self {
            Self::Voltage(_) => Dimension::Voltage,
            Self::Current(_) => Dimension::Current,
            Self::Resistance(_) => Dimension::Resistance,
            Self::Power(_) => Dimension::Power,
            Self::Length(_) => Dimension::Length,
            Self::Size(_) => Dimension::Area,
            Self::Temperature(_) => Dimension::Temperature,
            Self::Capacity(_) => Dimension::Capacity,
            Self::Torque(_) => Dimension::Torque,
            Self::HeatIntegral(_) => Dimension::HeatIntegral,
            Self::Share(_) => Dimension::Share,
        }
    }
}

/// A name, a terminal or a parameter where one of them is expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Reference {
    /// All of it.
    pub(crate) span: Span,
    /// Where its point is; 0 without one.
    pub(crate) point: u32,
    /// It is this parameter.
    pub(crate) parameter: Option<u16>,
}

impl Reference {
    /// The part before the point.
    pub(crate) fn path(self) -> Span {
        Span { end: if self.point == 0 { self.span.end } else { self.point }, ..self.span }
    }

    /// The part after the point.
    pub(crate) fn terminal(self) -> Option<Span> {
        (self.point != 0).then_some(Span { start: self.point + 1, ..self.span })
    }
}

/// A parameter of a kit.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Parameter {
    /// Its name, without the `$`.
    pub(crate) name: Span,
    /// Its type.
    pub(crate) kind: ParameterKind,
}

/// The types of parameters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum ParameterKind {
    Terminal,
    Quantity(Dimension),
    Text,
    Word,
    /// Its type could not be read.
    Any,
}

impl ParameterKind {
    /// By its word.
    pub(crate) fn find(word: &str) -> Option<Self> {
        Some(match word {
            "terminal" => Self::Terminal,
            "voltage" => Self::Quantity(Dimension::Voltage),
            "current" => Self::Quantity(Dimension::Current),
            "area" => Self::Quantity(Dimension::Area),
            "length" => Self::Quantity(Dimension::Length),
            "text" => Self::Text,
            "word" => Self::Word,
            _ => return None,
        })
    }

    /// With an article, as messages say it.
    pub(crate) fn phrase(self) -> &'static str {
        match self {
            Self::Terminal => "a terminal",
            Self::Quantity(dimension) => dimension.phrase(),
            Self::Text => "a text",
            Self::Word => "a word",
            Self::Any => "a value",
        }
    }
}

/// The value of a `limit`.
#[derive(Debug, Clone, Copy)]
pub(crate) enum LimitWord {
    Quantity(Quantity),
    Number(f64),
    Word,
}

/// Hardware of a terminal.
#[derive(Debug, Clone, Copy)]
pub(crate) enum HardwareWord {
    Stud { thread: f64, torque: Option<Torque> },
    Screw { least: Area, most: Area, torque: Option<Torque>, strip: Option<Length> },
    Tab(f64),
    Pin,
}

/// What a mode line sets.
#[derive(Debug, Clone, Copy)]
pub(crate) enum StateWord {
    On,
    Off,
    Open,
    Closed,
    Quantity(Quantity),
}

/// What an `expect` claims.
#[derive(Debug, Clone, Copy)]
pub(crate) enum ClaimWord {
    Reads(Reference, Current, Current),
    Carries(Reference, Current, Current),
    Above(Reference, Voltage),
    Below(Reference, Voltage),
}

/// What a `reading` gives.
#[derive(Debug, Clone, Copy)]
pub(crate) enum MeasuredWord {
    Meter(Reference, Current),
    Voltage(Reference, Voltage),
    Drop(Reference, Reference, Voltage),
}

/// The value of a `set`.
#[derive(Debug, Clone, Copy)]
pub(crate) enum SetWord {
    Quantity(Quantity, Span),
    Parameter(Value),
    Text(Span),
    Other(Span),
}

/// The subject of a waiver.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Subject {
    Name(Reference),
    Line(Span),
}

/// The words of a component's kind.
pub(crate) fn kind_words(kind: u8) -> &'static KindWords {
    super::words::KINDS.get(usize::from(kind)).unwrap_or(super::words::WIRE)
}

/// Moves spans to another place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Shift {
    pub(super) file: FileId,
    /// Bytes to go on, round the end of the number where it is back.
    pub(super) by: u32,
}

impl Shift {
    pub(super) fn span(self, span: Span) -> Span {
        Span { file: self.file, start: span.start.wrapping_add(self.by), end: span.end.wrapping_add(self.by) }
    }

    fn reference(self, reference: Reference) -> Reference {
        let point = if reference.point == 0 { 0 } else { reference.point.wrapping_add(self.by) };
        Reference { span: self.span(reference.span), point, parameter: reference.parameter }
    }

    fn value(self, value: Value) -> Value {
        let what = match value.what {
            What::Terminal(reference) => What::Terminal(self.reference(reference)),
            What::Quantity(_)
            | What::Number(_)
            | What::Thread(_)
            | What::Word
            | What::Text
            | What::Parameter(_) => value.what,
        };
        Value { what, span: self.span(value.span) }
    }

    fn traits(self, traits: &mut [Trait]) {
        for one in traits {
            one.span = self.span(one.span);
            one.value = self.value(one.value);
            one.second = one.second.map(|second| self.value(second));
        }
    }

    fn all(self, spans: &mut [&mut Span]) {
        for span in spans {
            **span = self.span(**span);
        }
    }

    fn references(self, references: &mut [&mut Reference]) {
        for reference in references {
            **reference = self.reference(**reference);
        }
    }
}

impl Statement {
    /// Moves every span in it.
    pub(super) fn shift(&mut self, shift: Shift) {
        self.span = shift.span(self.span);
        self.name = self.name.map(|name| shift.span(name));
        self.node.shift(shift);
    }
}

impl Node {
    fn shift(&mut self, shift: Shift) {
        match self {
            Self::Broken | Self::Library => {}
            Self::Design { title: span } | Self::Use { path: span } | Self::Book { span, .. } => {
                shift.all(&mut [span]);
            }
            Self::Assume { value, span, .. } => {
                *value = shift.value(*value);
                shift.all(&mut [span]);
            }
            Self::Limit { name, value: _, value_span, why } => shift.all(&mut [name, value_span, why]),
            Self::Zone { ambient } => *ambient = shift.value(*ambient),
            Self::Component { part, traits } => {
                *part = part.map(|part| shift.span(part));
                shift.traits(traits);
            }
            Self::Part { kind: _, traits } => shift.traits(traits),
            Self::Terminal { names, hardware: _ } => {
                names.iter_mut().for_each(|name| *name = shift.span(*name));
            }
            Self::Wire { from, to, traits } | Self::Data { from, to, traits } => {
                shift.references(&mut [from, to]);
                shift.traits(traits);
            }
            Self::Bolt { a, b } => shift.references(&mut [a, b]),
            Self::Bundle { wires } => shift.references(&mut wires.iter_mut().collect::<Vec<_>>()),
            Self::Mode { title } => *title = title.map(|title| shift.span(title)),
            Self::ModeLine { what, state: _, state_span } => {
                shift.references(&mut [what]);
                shift.all(&mut [state_span]);
            }
            Self::Expect { claim, mode } => {
                match claim {
                    ClaimWord::Reads(what, ..)
                    | ClaimWord::Carries(what, ..)
                    | ClaimWord::Above(what, _)
                    | ClaimWord::Below(what, _) => shift.references(&mut [what]),
                }
                shift.all(&mut [mode]);
            }
            Self::Reading { measured, mode, on, by } => {
                match measured {
                    MeasuredWord::Meter(what, _) | MeasuredWord::Voltage(what, _) => {
                        shift.references(&mut [what]);
                    }
                    MeasuredWord::Drop(from, to, _) => shift.references(&mut [from, to]),
                }
                shift.all(&mut [mode, on]);
                *by = by.map(|by| shift.span(by));
            }
            Self::Set { what, word, value } => {
                shift.references(&mut [what]);
                shift.all(&mut [word]);
                match value {
                    SetWord::Quantity(_, span) | SetWord::Text(span) | SetWord::Other(span) => {
                        shift.all(&mut [span]);
                    }
                    SetWord::Parameter(value) => *value = shift.value(*value),
                }
            }
            Self::Stack { node, wires } => {
                shift.references(&mut [node]);
                shift.references(&mut wires.iter_mut().collect::<Vec<_>>());
            }
            Self::Note { what, text } => {
                shift.references(&mut [what]);
                shift.all(&mut [text]);
            }
            Self::Waive { rule, subject, why, until } => {
                match subject {
                    Subject::Name(name) => shift.references(&mut [name]),
                    Subject::Line(span) => shift.all(&mut [span]),
                }
                shift.all(&mut [rule, why, until]);
            }
            Self::Kit { parameters } => {
                parameters.iter_mut().for_each(|one| one.name = shift.span(one.name));
            }
            Self::Fit { kit, arguments } => {
                shift.all(&mut [kit]);
                for (name, value, whole) in arguments {
                    *value = shift.value(*value);
                    shift.all(&mut [name, whole]);
                }
            }
        }
    }
}
