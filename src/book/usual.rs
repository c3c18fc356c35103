//! The limits that rules ask for most, by name.

use super::{AreaLimit, Book, CurrentLimit, LengthLimit, ShareLimit, VoltageLimit};
use crate::design::Battery;
use crate::units::{Current, Length, Voltage};

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

    /// Which limit gives the permitted ratio of a device's rating to the ampacity of what it protects, in a circuit of
    /// this nominal voltage.
    #[must_use]
    pub fn ratio_limit(&self, nominal: Option<Voltage>) -> ShareLimit {
        if nominal.is_some_and(|nominal| self.voltage(VoltageLimit::ProtectionHigh).within(nominal)) {
            ShareLimit::ProtectionRatioHigh
        } else {
            ShareLimit::ProtectionRatio
        }
    }

    /// Whether a conductor of a circuit of this nominal voltage counts in its bundle; `None`, not known, counts.
    #[must_use]
    pub fn bundles_at(&self, nominal: Option<Voltage>) -> bool {
        nominal.is_none_or(|nominal| self.voltage(VoltageLimit::BundlingFrom).within(nominal))
    }

    /// The share of a device's rating that may flow for good.
    #[must_use]
    pub fn continuous(&self, blade: bool) -> f64 {
        let limit =
            if blade { ShareLimit::ProtectionContinuousBlade } else { ShareLimit::ProtectionContinuous };
        self.share(limit).as_ratio()
    }

    /// Which limit gives the smallest conductor.
    #[must_use]
    pub fn least_size_limit(&self, sheathed: bool) -> AreaLimit {
        if sheathed { AreaLimit::SizeLeastSheathed } else { AreaLimit::SizeLeast }
    }

    /// The largest device behind which sense and control leads are exempt from the least size.
    #[must_use]
    pub fn control_device(&self) -> Current {
        self.current(CurrentLimit::ControlDevice)
    }

    /// A battery's highest charging voltage: stated, else by its chemistry.
    #[must_use]
    pub fn full_of(&self, battery: &Battery) -> Option<Voltage> {
        battery.full.or_else(|| Some(self.full_voltage(battery.chemistry?, battery.nominal)))
    }

    /// A battery's prospective short-circuit current: stated, else by its chemistry and capacity.
    #[must_use]
    pub fn fault_of(&self, battery: &Battery) -> Option<Current> {
        battery.fault.or_else(|| Some(self.fault_current(battery.chemistry?, battery.capacity?)))
    }
}
