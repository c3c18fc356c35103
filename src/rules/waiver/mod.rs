//! Rules whose id begins with `waiver`.

pub(super) mod expired;
pub(crate) mod unused;
