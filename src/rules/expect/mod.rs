//! Rules whose id begins with `expect`.

pub(super) mod failed;
