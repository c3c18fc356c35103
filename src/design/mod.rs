//! Designs: names resolved, parts and kits placed; nothing electrical.

mod bodies;
mod files;
mod ids;
mod kits;
mod libraries;
mod load;
mod model;
mod names;
mod outline;
mod places;
mod resolve;
mod statements;

pub use crate::syntax::Memory;
pub use ids::{ComponentId, DataId, FitId, Id, ModeId, Table, TerminalId, WireId, ZoneId};
pub use libraries::{Before, Libraries};
pub use load::{LoadOptions, Loaded, load, load_again};
pub use model::*;
pub use outline::{NameClass, Named, Outline, Scope, Used, outline};
