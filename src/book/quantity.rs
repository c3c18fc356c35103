//! Values of limits: how books write them, and whether they suit the limit.

use super::limits::{Limit, LimitKind, ShareLimit};
use crate::design::LimitValue;
use crate::units::{Area, Capacity, Current, Gauge, Length, Share, Size, Temperature, Voltage};

const MM_PER_INCH: f64 = 25.4;

/// Reads `180 mm`, `10 %` or `yes`; `None` where the unit is not known or the number is not one.
pub(super) fn read(text: &str) -> Option<LimitValue> {
    let text = text.trim();
    let split = text
        .char_indices()
        .find(|(_, letter)| !(letter.is_ascii_digit() || matches!(letter, '.' | '-')))
        .map_or(text.len(), |(at, _)| at);
    let (digits, unit) = text.split_at(split);
    if digits.is_empty() {
        return (!unit.is_empty()).then(|| LimitValue::Word(unit.into()));
    }
    let number: f64 = digits.parse().ok()?;
    match unit.trim() {
        "" => Some(LimitValue::Number(number)),
        "mm" => Some(LimitValue::Length(Length::metres(number / 1e3))),
        "m" => Some(LimitValue::Length(Length::metres(number))),
        "in" => Some(LimitValue::Length(Length::metres(number * MM_PER_INCH / 1e3))),
        "%" => Some(LimitValue::Share(Share::percent(number))),
        "C" => Some(LimitValue::Temperature(Temperature::celsius(number))),
        "A" => Some(LimitValue::Current(Current::amps(number))),
        "kA" => Some(LimitValue::Current(Current::amps(number * 1e3))),
        "V" => Some(LimitValue::Voltage(Voltage::volts(number))),
        "mV" => Some(LimitValue::Voltage(Voltage::volts(number / 1e3))),
        "AWG" => Some(LimitValue::Area(Size::Awg(Gauge::parse(digits)?).area())),
        "mm2" => Some(LimitValue::Area(Area::mm2(number))),
        "Ah" => Some(LimitValue::Capacity(Capacity::amp_hours(number))),
        _ => None,
    }
}

/// Why a value does not suit a limit.
pub(super) enum Unsuited {
    /// Another kind of value than the limit has.
    Kind,
    /// A word that the limit does not know.
    Word,
    /// Below zero (or zero), where that means nothing.
    Range,
}

/// The value in the limit's own kind. A plain number does for a ratio.
pub(super) fn suit(limit: Limit, value: &LimitValue) -> Result<LimitValue, Unsuited> {
    let value = match value {
        LimitValue::Number(number)
            if matches!(
                limit,
                Limit::Share(ShareLimit::ProtectionRatio | ShareLimit::ProtectionRatioHigh)
            ) =>
        {
            LimitValue::Share(Share::ratio(*number))
        }
        other => other.clone(),
    };
    if kind(&value) != limit.kind() {
        return Err(Unsuited::Kind);
    }
    if let LimitValue::Word(word) = &value {
        return if limit.words().contains(&word.as_str()) { Ok(value) } else { Err(Unsuited::Word) };
    }
    let number = number(&value);
    if limit.kind() != LimitKind::Temperature && number <= 0.0 { Err(Unsuited::Range) } else { Ok(value) }
}

fn kind(value: &LimitValue) -> LimitKind {
    match value {
        LimitValue::Length(_) => LimitKind::Length,
        LimitValue::Share(_) => LimitKind::Share,
        LimitValue::Number(_) => LimitKind::Number,
        LimitValue::Temperature(_) => LimitKind::Temperature,
        LimitValue::Current(_) => LimitKind::Current,
        LimitValue::Voltage(_) => LimitKind::Voltage,
        LimitValue::Area(_) => LimitKind::Area,
        LimitValue::Capacity(_) => LimitKind::Capacity,
        LimitValue::Word(_) => LimitKind::Word,
    }
}

/// The number in the base unit of its kind; 0 for a word.
pub(super) fn number(value: &LimitValue) -> f64 {
    match value {
        LimitValue::Length(length) => length.as_metres(),
        LimitValue::Share(share) => share.as_ratio(),
        LimitValue::Number(number) => *number,
        LimitValue::Temperature(temperature) => temperature.as_celsius(),
        LimitValue::Current(current) => current.as_amps(),
        LimitValue::Voltage(voltage) => voltage.as_volts(),
        LimitValue::Area(area) => area.as_mm2(),
        LimitValue::Capacity(capacity) => capacity.as_amp_hours(),
        LimitValue::Word(_) => 0.0,
    }
}

/// The value as people read it.
pub(super) fn write(value: &LimitValue) -> String {
    match value {
        LimitValue::Length(length) => length.to_string(),
        LimitValue::Share(share) => share.to_string(),
        LimitValue::Number(number) => number.to_string(),
        LimitValue::Temperature(temperature) => temperature.to_string(),
        LimitValue::Current(current) => current.to_string(),
        LimitValue::Voltage(voltage) => voltage.to_string(),
        LimitValue::Area(area) => area.to_string(),
        LimitValue::Capacity(capacity) => capacity.to_string(),
        LimitValue::Word(word) => word.clone(),
    }
}
