//! The figures of a study: as tables, in sentences, or as JSON.

mod human;
mod json;

use crate::study::Figures;

pub use human::StudyHuman;
pub use json::StudyJson;

/// A study with what it is of.
#[derive(Debug, Clone, Copy)]
pub struct StudyReport<'f> {
    /// The design's path as it is shown.
    pub path: &'f str,
    /// The design's name.
    pub design: &'f str,
    /// The design's title.
    pub title: &'f str,
    /// The book's name.
    pub book: &'f str,
    /// The figures.
    pub figures: &'f Figures,
}
