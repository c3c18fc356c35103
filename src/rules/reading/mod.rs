//! Rules whose id begins with `reading`.

pub(super) mod differs;
