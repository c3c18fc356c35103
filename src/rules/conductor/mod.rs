//! Rules whose id begins with `conductor`.

pub(super) mod drop;
pub(super) mod overloaded;
pub(super) mod small;
pub(super) mod unequal;
