//! The language as text: a tree with spans and a list of problems from any text at all. Nothing is resolved here.

mod cursor;
pub(crate) mod items;
pub(crate) mod lines;
mod memory;
mod problems;
mod quantity;
mod read;
mod statements;
mod tidy;
mod traits;
pub(crate) mod tree;
pub mod words;

pub(crate) use cursor::clip;
pub use memory::Memory;
pub(crate) use problems::{Problems, id};
pub(crate) use read::{plain, read, spaced};
pub(crate) use tidy::{lay_out, says_the_same};
pub use words::{Reference, reference, reserved};
