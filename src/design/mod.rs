//! Designs: names resolved, parts and kits placed; nothing electrical.

mod ids;
mod model;

pub use ids::{ComponentId, DataId, FitId, Id, ModeId, Table, TerminalId, WireId, ZoneId};
pub use model::*;
