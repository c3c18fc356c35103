//! Rules whose id begins with `conductor`.

pub(super) mod overloaded;
pub(super) mod small;
pub(super) mod unequal;
