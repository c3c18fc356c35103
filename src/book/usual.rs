//! The limits that rules ask for most, by name.

use super::{AreaLimit, Book, CurrentLimit, LengthLimit, ShareLimit};
use crate::units::{Area, Current, Length, Share};

impl Book {
    /// How far from a source's terminal an unprotected wire may reach.
    #[must_use]
    pub fn distance(&self, battery: bool, sheathed: bool) -> Length {
        self.length(match (battery, sheathed) {
            (true, false) => LengthLimit::BatteryBare,
            (true, true) => LengthLimit::BatterySheathed,
            (false, false) => LengthLimit::OtherBare,
            (false, true) => LengthLimit::OtherSheathed,
        })
    }

    /// The longest wire between the positives of a bank.
    #[must_use]
    pub fn bank_link(&self) -> Length {
        self.length(LengthLimit::BankLink)
    }

    /// The permitted ratio of a device's rating to the ampacity of what it protects.
    #[must_use]
    pub fn protection_ratio(&self) -> Share {
        self.share(ShareLimit::ProtectionRatio)
    }

    /// The share of a device's rating that may flow for good.
    #[must_use]
    pub fn continuous(&self, blade: bool) -> f64 {
        let limit =
            if blade { ShareLimit::ProtectionContinuousBlade } else { ShareLimit::ProtectionContinuous };
        self.share(limit).as_ratio()
    }

    /// The smallest conductor.
    #[must_use]
    pub fn least_size(&self) -> Area {
        self.area(AreaLimit::SizeLeast)
    }

    /// The largest device behind which sense and control leads are exempt from the least size.
    #[must_use]
    pub fn control_device(&self) -> Current {
        self.current(CurrentLimit::ControlDevice)
    }
}
