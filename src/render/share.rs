//! One of several runs that a fleet is split over.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

/// Which share a run judged, as its document tells it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShareEntry {
    /// Which one, from 1.
    pub number: u32,
    /// Of how many.
    pub of: u32,
    /// Files of this share, libraries included.
    pub files: usize,
    /// Files of all shares.
    pub found: usize,
    /// Stands for their paths.
    pub list: String,
    /// How the run was asked to judge.
    pub asked: Asked,
}

/// What decides how designs are judged, beside the designs: it is the same for all shares of one run.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// The book in place of the designs' own: its name if it ships, else what stands for its text.
    pub book: Option<String>,
    /// The rules that alone are judged, in order.
    pub only: BTreeSet<String>,
    /// The rules that are left out, in order.
    pub without: BTreeSet<String>,
    /// The day on which waivers are judged, where it was given.
    pub today: Option<String>,
    /// Stands for what the list of known findings holds.
    pub known: Option<String>,
    /// The evidence for every wire is there.
    pub explain_all: bool,
    /// The folder that `use` may reach, where it was given.
    pub root: Option<String>,
}

impl Asked {
    /// The option in which two differ.
    #[must_use]
    pub fn differs(&self, other: &Self) -> Option<&'static str> {
        let Self { book, only, without, today, known, explain_all, root } = self;
        [
            ("--book", *book != other.book),
            ("--only", *only != other.only),
            ("--without", *without != other.without),
            ("--today", *today != other.today),
            ("--known", *known != other.known),
            ("--explain-all", *explain_all != other.explain_all),
            ("--root", *root != other.root),
        ]
        .into_iter()
        .find_map(|(option, differs)| differs.then_some(option))
    }
}

impl ShareEntry {
    /// As it is written: `3/8`.
    #[must_use]
    pub fn said(&self) -> String {
        format!("{}/{}", self.number, self.of)
    }
}
