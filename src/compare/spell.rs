//! Values written so that two that differ never read alike: nine figures, units as in the designs.

use crate::units::{
    Area, Capacity, Current, Length, Power, Resistance, Share, Size, Temperature, Torque, Voltage,
};

/// At nine figures, what differs by the slack of all comparisons reads alike.
fn number(value: f64) -> String {
    let rounded = format!("{value:.8e}").parse().unwrap_or(value);
    // No `-0`.
    format!("{}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// A value in one of two units: the smaller one below `from` of the larger.
fn scaled(value: f64, from: f64, larger: &str, (factor, smaller): (f64, &str)) -> String {
    match value != 0.0 && value.abs() < from {
        true => format!("{} {smaller}", number(value * factor)),
        false => format!("{} {larger}", number(value)),
    }
}

pub(super) fn volts(value: Voltage) -> String {
    scaled(value.as_volts(), 0.1, "V", (1e3, "mV"))
}

pub(super) fn amps(value: Current) -> String {
    match 1000.0 <= value.as_amps().abs() {
        true => format!("{} kA", number(value.as_amps() / 1e3)),
        false => scaled(value.as_amps(), 0.01, "A", (1e3, "mA")),
    }
}

pub(super) fn ohms(value: Resistance) -> String {
    scaled(value.as_ohms(), 1.0, "ohm", (1e3, "mohm"))
}

pub(super) fn watts(value: Power) -> String {
    format!("{} W", number(value.as_watts()))
}

pub(super) fn metres(value: Length) -> String {
    scaled(value.as_metres(), 1.0, "m", (1e3, "mm"))
}

pub(super) fn mm2(value: Area) -> String {
    format!("{} mm2", number(value.as_mm2()))
}

pub(super) fn size(value: Size) -> String {
    match value {
        Size::Metric(area) => mm2(area),
        Size::Awg(_) | Size::Sae(_) => value.to_string(),
    }
}

pub(super) fn celsius(value: Temperature) -> String {
    format!("{} C", number(value.as_celsius()))
}

pub(super) fn amp_hours(value: Capacity) -> String {
    format!("{} Ah", number(value.as_amp_hours()))
}

pub(super) fn newton_metres(value: Torque) -> String {
    format!("{} Nm", number(value.as_newton_metres()))
}

pub(super) fn percent(value: Share) -> String {
    format!("{} %", number(value.as_percent()))
}

/// A bare number, such as a limit's factor or a thread.
pub(super) fn bare(value: f64) -> String {
    number(value)
}

/// A text of the design's own, in quotes.
pub(super) fn quoted(text: &str) -> String {
    format!("\"{text}\"")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_value_reads_the_same_in_any_unit() {
        assert_eq!(metres(Length::metres(150.0 * 1e-3)), metres(Length::metres(0.15)));
        assert_eq!(amps(Current::amps(0.1 + 0.2)), "0.3 A");
        assert_eq!(metres(Length::metres(7.0 * 0.0254)), "177.8 mm");
    }

    #[test]
    fn what_differs_reads_differently() {
        assert_eq!(volts(Voltage::volts(14.45)), "14.45 V");
        assert_eq!(volts(Voltage::volts(14.451)), "14.451 V");
        assert_eq!(amps(Current::amps(12_345.0)), "12.345 kA");
        assert_eq!(ohms(Resistance::ohms(0.004)), "4 mohm");
        assert_eq!(volts(Voltage::volts(0.0)), "0 V");
        assert_eq!(number(-0.0), "0");
    }
}
