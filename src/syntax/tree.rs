//! The tree of one file: its statements, with spans; no name in it is resolved, no part or kit placed. Comments and
//! blank lines stay in the text: [`super::lines::cut`] gives them, each statement's span being the code of its line.

use crate::text::{FileId, Span};
use crate::units::{
    Area, Capacity, Current, Length, Power, Resistance, Share, Size, Temperature, Torque, Voltage,
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
#[derive(Debug)]
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
#[derive(Debug)]
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
