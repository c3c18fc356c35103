//! Rules whose id begins with `connection`.

pub(super) mod loose;
pub(super) mod overrated;
pub(super) mod polarity;
pub(super) mod short;
pub(super) mod voltage;
