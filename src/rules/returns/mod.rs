//! Rules whose id begins with `return`.

pub(super) mod bypass;
pub(super) mod missing;
pub(super) mod undersize;
