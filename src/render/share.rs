//! One of several runs that a fleet is split over.

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
}

impl ShareEntry {
    /// As it is written: `3/8`.
    #[must_use]
    pub fn said(&self) -> String {
        format!("{}/{}", self.number, self.of)
    }
}
