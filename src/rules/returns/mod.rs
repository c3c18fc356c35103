//! Rules whose id begins with `return`.

pub(super) mod bypass;
pub(super) mod missing;
pub(super) mod single_failure;
pub(super) mod undersize;
