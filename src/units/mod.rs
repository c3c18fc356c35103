//! Quantities: one type for each, over a finite number, with only the arithmetic that means something.

mod gauge;
mod spell;

pub use gauge::{Gauge, Size};
pub(crate) use spell::three_figures;
pub use spell::{current_against, fine_voltage, share_against, voltage_against};

/// Relative slack of every comparison with a limit: a value exactly at its limit is allowed.
pub const SLACK: f64 = 1e-9;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $of:ident, $read:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, serde::Serialize, serde::Deserialize)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("From a number of ", $unit, "; what is not finite becomes 0.")]
            #[must_use]
            pub const fn $of(value: f64) -> Self {
                Self(if value.is_finite() { value } else { 0.0 })
            }

            #[doc = concat!("As a number of ", $unit, ".")]
            #[must_use]
            pub const fn $read(self) -> f64 {
                self.0
            }

            /// Whether this is at most `limit`, with the relative slack of all comparisons.
            #[must_use]
            pub fn within(self, limit: Self) -> bool {
                self.0 <= limit.0 + $crate::units::SLACK * limit.0.abs().max(self.0.abs())
            }

            /// The larger of the two.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                if self.0 < other.0 { other } else { self }
            }

            /// The smaller of the two.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                if other.0 < self.0 { other } else { self }
            }
        }

        impl std::ops::Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self { Self::$of(self.0 + other.0) }
        }

        impl std::ops::Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self { Self::$of(self.0 - other.0) }
        }

        impl std::ops::Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self { Self::$of(self.0 * factor) }
        }

        impl std::ops::Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self { Self::$of(self.0 / divisor) }
        }

        impl std::ops::Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 { self.0 / other.0 }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(all: I) -> Self {
                all.fold(Self::$of(0.0), |sum, one| sum + one)
            }
        }
    };
}

quantity!(
    /// A voltage.
    Voltage, volts, as_volts, "volts"
);
quantity!(
    /// A current.
    Current, amps, as_amps, "amperes"
);
quantity!(
    /// A resistance.
    Resistance, ohms, as_ohms, "ohms"
);
quantity!(
    /// A power.
    Power, watts, as_watts, "watts"
);
quantity!(
    /// A length.
    Length, metres, as_metres, "metres"
);
quantity!(
    /// The area of a conductor's copper.
    Area, mm2, as_mm2, "square millimetres"
);
quantity!(
    /// A temperature.
    Temperature, celsius, as_celsius, "degrees Celsius"
);
quantity!(
    /// A battery's capacity.
    Capacity, amp_hours, as_amp_hours, "ampere-hours"
);
quantity!(
    /// A tightening torque.
    Torque, newton_metres, as_newton_metres, "newton metres"
);
quantity!(
    /// A duration.
    Time, seconds, as_seconds, "seconds"
);
quantity!(
    /// The integral of the square of a current over time, which tells the heat of a fault.
    HeatIntegral, a2s, as_a2s, "ampere-squared seconds"
);
quantity!(
    /// A share of a whole, 1 for all of it.
    Share, ratio, as_ratio, "parts of one"
);

impl Share {
    /// From per cent.
    #[must_use]
    pub fn percent(value: f64) -> Self {
        Self::ratio(value / 100.0)
    }

    /// In per cent.
    #[must_use]
    pub fn as_percent(self) -> f64 {
        self.0 * 100.0
    }
}

impl std::ops::Div<Voltage> for Power {
    type Output = Current;
    fn div(self, voltage: Voltage) -> Current {
        Current::amps(self.0 / voltage.0)
    }
}

impl std::ops::Div<Resistance> for Voltage {
    type Output = Current;
    fn div(self, resistance: Resistance) -> Current {
        Current::amps(self.0 / resistance.0)
    }
}

impl std::ops::Div<Current> for Voltage {
    type Output = Resistance;
    fn div(self, current: Current) -> Resistance {
        Resistance::ohms(self.0 / current.0)
    }
}

impl std::ops::Mul<Resistance> for Current {
    type Output = Voltage;
    fn mul(self, resistance: Resistance) -> Voltage {
        Voltage::volts(self.0 * resistance.0)
    }
}

impl std::ops::Mul<Current> for Voltage {
    type Output = Power;
    fn mul(self, current: Current) -> Power {
        Power::watts(self.0 * current.0)
    }
}
