//! The electrical study of a design: what flows in each mode, and what a fault draws.

mod drop;
mod elements;
mod failures;
mod fault;
mod figures;
mod inverse;
mod matrix;
mod netlist;
mod network;
mod opening;
mod peaks;
mod shares;
mod solve;
mod steady;
mod suspect;

pub use drop::{Drop, Piece, Step};
pub(crate) use drop::{Drops, Ways};
pub(crate) use elements::cell_resistance;
pub use elements::{Cell, Elements, Giver, Input, Taker};
pub use failures::{Depth, Effect, Failure, Failures, Misread, Opened, Overload};
pub use fault::Faults;
pub use figures::{
    DeviceFigures, Does, EffectFigures, FailureFigures, FaultFigures, Figures, Flow, Group, MeterFigures,
    ModeFigures, OpenedFigures, Unsolved, WireFigures,
};
pub(crate) use figures::{opened_name, path_name};
pub use netlist::netlist;
pub(crate) use network::wire_resistance;
pub use network::{Branch, Conditions, Link, Network, Path};
pub(crate) use opening::{Guards, divided, least_current};
pub use opening::{Opening, holds, opens};
pub use peaks::{Peak, Peaks};
pub(crate) use shares::{Branch as Parallel, shares};
pub use solve::{Regime, Solution, Trouble, solve};
pub use steady::{EVERYTHING, ModeStudy, Study};
pub(crate) use suspect::{Extra, Suspects};
