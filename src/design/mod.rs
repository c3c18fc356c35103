//! Designs: names resolved, parts and kits placed; nothing electrical.

mod bodies;
mod files;
mod ids;
mod kits;
mod load;
mod model;
mod names;
mod resolve;
mod statements;

pub use ids::{ComponentId, DataId, FitId, Id, ModeId, Table, TerminalId, WireId, ZoneId};
pub use load::{LoadOptions, Loaded, load};
pub use model::*;
