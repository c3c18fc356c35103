//! The ids of the language's own findings, which come while a design is read.

/// What is wrong with the language of a design; always an error.
#[derive(Debug)]
pub struct Mistake {
    /// Its id.
    pub id: &'static str,
    /// When it holds.
    pub says: &'static str,
    /// A design with it.
    pub bad: &'static str,
    /// The same design, mended.
    pub good: &'static str,
}

macro_rules! mistakes {
    ($($id:literal: $says:literal,)*) => {
        /// Every one, sorted by id.
        pub const MISTAKES: &[Mistake] = &[$(Mistake {
            id: $id,
            says: $says,
            bad: include_str!(concat!("../../samples/faults/", $id, ".loom")),
            good: include_str!(concat!("../../samples/faults/", $id, ".mended.loom")),
        },)*];
    };
}

mistakes! {
    "language.limit": "Too much of something: kits in a circle or too deep, a line, a file or a design too large",
    "language.missing": "A figure or word that an element has to state is not stated",
    "language.name": "A name is declared twice, not declared, or stands for something of another kind",
    "language.syntax": "A line is not formed as its statement is",
    "language.unit": "A figure has no unit, a wrong one, or a value that no wiring has",
    "language.use": "A library or a rule book cannot be used",
    "language.word": "A word is not known, is misplaced, or is given twice",
}
