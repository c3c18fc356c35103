//! How quantities are written for people: three significant figures, one unit chosen for each.

use std::fmt::{Display, Formatter, Result};

use super::{
    Area, Capacity, Current, HeatIntegral, Length, Power, Resistance, Share, Temperature, Time, Torque,
    Voltage,
};

/// Writes a number with three significant figures (more digits before the point are kept) and without trailing zeros.
pub(crate) fn three_figures(value: f64) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let magnitude = value.abs().log10().floor();
    let decimals = (2.0 - magnitude).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').into() } else { text }
}

impl Display for Voltage {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let volts = self.as_volts();
        if volts != 0.0 && volts.abs() < 0.1 {
            write!(f, "{} mV", three_figures(volts * 1e3))
        } else {
            write!(f, "{} V", three_figures(volts))
        }
    }
}

impl Display for Current {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let amps = self.as_amps();
        if amps.abs() >= 1000.0 {
            write!(f, "{} kA", three_figures(amps / 1e3))
        } else if amps != 0.0 && amps.abs() < 0.01 {
            write!(f, "{} mA", three_figures(amps * 1e3))
        } else {
            write!(f, "{} A", three_figures(amps))
        }
    }
}

impl Display for Resistance {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        if self.as_ohms().abs() < 1.0 {
            write!(f, "{} mohm", three_figures(self.as_ohms() * 1e3))
        } else {
            write!(f, "{} ohm", three_figures(self.as_ohms()))
        }
    }
}

impl Display for Power {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{} W", three_figures(self.as_watts()))
    }
}

impl Display for Length {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        if self.as_metres() < 1.0 {
            write!(f, "{} mm", three_figures(self.as_metres() * 1e3))
        } else {
            write!(f, "{} m", three_figures(self.as_metres()))
        }
    }
}

impl Display for Area {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{} mm2", three_figures(self.as_mm2()))
    }
}

impl Display for Temperature {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{} C", three_figures(self.as_celsius()))
    }
}

impl Display for Capacity {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{} Ah", three_figures(self.as_amp_hours()))
    }
}

impl Display for Torque {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{} Nm", three_figures(self.as_newton_metres()))
    }
}

impl Display for Time {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let seconds = self.as_seconds();
        if seconds >= 120.0 {
            write!(f, "{} min", three_figures(seconds / 60.0))
        } else if seconds != 0.0 && seconds.abs() < 0.1 {
            write!(f, "{} ms", three_figures(seconds * 1e3))
        } else {
            write!(f, "{} s", three_figures(seconds))
        }
    }
}

impl Display for HeatIntegral {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        let a2s = self.as_a2s();
        if a2s >= 1e6 {
            write!(f, "{} MA2s", three_figures(a2s / 1e6))
        } else if a2s >= 1e3 {
            write!(f, "{} kA2s", three_figures(a2s / 1e3))
        } else {
            write!(f, "{} A2s", three_figures(a2s))
        }
    }
}

impl Display for Share {
    fn fmt(&self, f: &mut Formatter<'_>) -> Result {
        write!(f, "{} %", three_figures(self.as_percent()))
    }
}

/// Writes a voltage to the hundredth of a volt, as charging voltages are set: `14.45 V`.
#[must_use]
pub fn fine_voltage(value: Voltage) -> String {
    let text = format!("{:.2}", value.as_volts());
    format!("{} V", text.trim_end_matches('0').trim_end_matches('.'))
}

/// Writes `value` so that it reads as above `limit` when it is, with as many figures as that takes: `16.04 A`
/// against `16 A`, never `16 A` against `16 A`.
#[must_use]
pub fn current_against(value: Current, limit: Current) -> String {
    let short = value.to_string();
    if short != limit.to_string() || value.within(limit) {
        return short;
    }
    (0..8)
        .map(|decimals| format!("{:.decimals$} A", value.as_amps()))
        .find(|text| {
            let is_above = |amps: f64| !Current::amps(amps).within(limit);
            text.trim_end_matches(" A").parse().is_ok_and(is_above) && *text != limit.to_string()
        })
        .unwrap_or(short)
}

/// Writes a voltage to the hundredth of a volt, or finer where it would else read as the limit that it is not.
#[must_use]
pub fn voltage_against(value: Voltage, limit: Voltage) -> String {
    let short = fine_voltage(value);
    if short != fine_voltage(limit) || (value.within(limit) && limit.within(value)) {
        return short;
    }
    (3..9)
        .map(|decimals| format!("{:.decimals$}", value.as_volts()))
        .find(|text| {
            let shown = text.parse().map_or(limit, Voltage::volts);
            !(shown.within(limit) && limit.within(shown))
        })
        .map(|text| format!("{text} V"))
        .unwrap_or(short)
}

/// Writes a share so that it reads as above `limit` when it is, as [`current_against`] does.
#[must_use]
pub fn share_against(value: Share, limit: Share) -> String {
    let short = value.to_string();
    if short != limit.to_string() || value.within(limit) {
        return short;
    }
    (0..8)
        .map(|decimals| format!("{:.decimals$} %", value.as_percent()))
        .find(|text| text.trim_end_matches(" %").parse::<f64>().is_ok_and(|shown| limit.as_percent() < shown))
        .unwrap_or(short)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_rounded_onto_its_limit() {
        let share = |percent, limit| share_against(Share::percent(percent), Share::percent(limit));
        assert_eq!(share(3.001, 3.0), "3.001 %");
        assert_eq!(share(3.0, 3.0), "3 %");
        assert_eq!(share(10.04, 10.0), "10.04 %");
        assert_eq!(share(12.34, 10.0), "12.3 %");
        let amps = |value, limit| current_against(Current::amps(value), Current::amps(limit));
        assert_eq!(amps(16.04, 16.0), "16.04 A");
        assert_eq!(amps(210.02, 210.0), "210.02 A");
        assert_eq!(amps(210.0, 210.0), "210 A");
        assert_eq!(amps(300.0, 210.0), "300 A");
        let volts = |value, limit| voltage_against(Voltage::volts(value), Voltage::volts(limit));
        assert_eq!(volts(13.196, 13.2), "13.196 V");
        assert_eq!(volts(13.2, 13.2), "13.2 V");
        assert_eq!(volts(12.9, 13.2), "12.9 V");
        assert_eq!(volts(13.199_96, 13.2), "13.19996 V");
    }
}
