//! The facade: one design in, one judgement out. Reads through [`Files`], prints nothing.

use crate::design::Date;
use crate::findings::Finding;
use crate::text::Sources;
use crate::units::{Current, Length};

/// What a check is asked for.
#[derive(Debug, Clone)]
pub struct Options {
    /// Replaces the book that designs name.
    pub book: Option<String>,
    /// Only these rules; empty for all.
    pub only: Vec<String>,
    /// Not these rules.
    pub without: Vec<String>,
    /// The day on which waivers are judged.
    pub today: Date,
    /// Collect the evidence of every wire.
    pub explain: bool,
    /// Most elements that one design may grow to by its kits.
    pub most_elements: usize,
}

impl Options {
    /// The usual ones, on a day.
    #[must_use]
    pub fn on(today: Date) -> Self {
        Self {
            book: None,
            only: Vec::new(),
            without: Vec::new(),
            today,
            explain: false,
            most_elements: 1_000_000,
        }
    }
}

/// What came of one design.
#[derive(Debug, Clone)]
pub struct Judgement {
    /// The design's path as it is shown.
    pub path: String,
    /// The design's name, where it could be read.
    pub design: Option<String>,
    /// The book's name.
    pub book: String,
    /// The texts that findings point into.
    pub sources: Sources,
    /// Findings in order of file, place and rule; waived ones included.
    pub findings: Vec<Finding>,
    /// The evidence of every wire, where it was asked for.
    pub wires: Option<Vec<WireEvidence>>,
    /// How many elements the design has (components, wires, bolts, data leads).
    pub n_elements: usize,
    /// Why the design's own file could not be read at all.
    pub unreadable: Option<String>,
    /// The file is a library: nothing to judge, and no fault.
    pub library: bool,
}

/// A flow that may be absent or without limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flow {
    /// Nothing flows.
    None,
    /// At most this.
    Limited(Current),
    /// No protective device and no source's own limit bounds it.
    Unlimited,
}

/// What a wire is in its circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// In the live graph.
    Live,
    /// Marked as a bond.
    Bond,
    /// In the return graph.
    Return,
    /// Neither.
    Other,
}

impl Role {
    /// Its word in the JSON.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Live => "live",
            Self::Bond => "bond",
            Self::Return => "return",
            Self::Other => "other",
        }
    }
}

/// Why a wire is right, or not.
#[derive(Debug, Clone, PartialEq)]
pub struct WireEvidence {
    /// The wire's full name.
    pub name: String,
    /// Its own ampacity, all `count` conductors together.
    pub ampacity: Current,
    /// What made the ampacity: a figure and what it is, in order of use.
    pub ampacity_from: Vec<(f64, String)>,
    /// What can arrive at it (its share of it beside parallel wires).
    pub let_through: Flow,
    /// What can circulate through it; `None` where it is in a loop of plain metal.
    pub circulation: Option<Flow>,
    /// Its role.
    pub role: Role,
    /// The unprotected stretch that it is on, the worst of several.
    pub stretch: Option<StretchEvidence>,
    /// Names in the minimum cut of its let-through.
    pub protected_by: Vec<String>,
    /// Permitted current over what can flow, where that is finite and above zero.
    pub margin: Option<f64>,
}

/// A wire's unprotected stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct StretchEvidence {
    /// The source's name.
    pub source: String,
    /// From the source's terminal to the wire's far end.
    pub length: Length,
    /// The book's limit for how it is run.
    pub limit: Length,
    /// Whether a protective device follows.
    pub followed: bool,
    /// The sum of the ratings of the devices that follow.
    pub devices: Current,
}
