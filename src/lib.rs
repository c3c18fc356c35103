//! ohmward judges the wiring of low-voltage DC systems that is written as plain text.
//!
//! Read in this order: `text`, `units`, `findings`, `syntax`, `design`, `book`, `circuit`, `study`, `rules`, `check`,
//! `kept`, `compare`, `render`, `editor`.
#![forbid(unsafe_code)]

pub mod book;
pub mod check;
mod circuit;
pub mod compare;
pub mod design;
pub mod editor;
pub mod findings;
pub mod kept;
pub mod render;
pub mod rules;
pub mod study;
pub mod syntax;
pub mod text;
pub mod tidy;
pub mod trial;
pub mod units;
