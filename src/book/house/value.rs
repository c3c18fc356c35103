//! Values of fields for one element.

use std::borrow::Cow;
use std::collections::HashMap;

use cel::common::types::{CelBool, CelDouble, CelList, CelMap, CelMapKey, CelNull, CelString};
use cel::common::value::{CowVal, Val};
use cel::context::VariableResolver;

use super::fields::FieldRow;

/// The value of a field.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value<'c> {
    /// Not stated, or without meaning there.
    Unknown,
    /// A number; infinite where nothing limits it.
    Number(f64),
    Text(Cow<'c, str>),
    Flag(bool),
    Texts(Vec<Cow<'c, str>>),
    Devices(Vec<Device<'c>>),
}

/// A device or limited source in a list.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Device<'c> {
    pub(crate) name: &'c str,
    pub(crate) kind: &'static str,
    pub(crate) type_: Option<&'static str>,
    pub(crate) rating_a: f64,
}

impl<'c> Value<'c> {
    pub(crate) fn number(value: Option<f64>) -> Self {
        value.filter(|value| !value.is_nan()).map_or(Self::Unknown, Self::Number)
    }

    pub(crate) fn text(value: Option<&'c str>) -> Self {
        value.map_or(Self::Unknown, |text| Self::Text(text.into()))
    }

    /// How many members a list has.
    fn len(&self) -> usize {
        match self {
            Self::Texts(list) => list.len(),
            Self::Devices(list) => list.len(),
            _ => 0,
        }
    }

    /// As people read it.
    pub(crate) fn tell(&self, row: &FieldRow) -> String {
        const SHOWN: usize = 12;
        let list = |names: Vec<String>| match names.as_slice() {
            [] => "nothing".into(),
            [one] => one.clone(),
            [rest @ .., last] if rest.len() < SHOWN => format!("{} and {last}", rest.join(", ")),
            names => {
                format!("{} and {} more", names.get(..SHOWN).unwrap_or(names).join(", "), names.len() - SHOWN)
            }
        };
        match self {
            Self::Unknown => "not stated".into(),
            Self::Number(value) => row.tell(*value),
            Self::Text(text) => text.as_ref().into(),
            Self::Flag(flag) => if *flag { "yes" } else { "no" }.into(),
            Self::Texts(texts) => list(texts.iter().map(|text| text.as_ref().into()).collect()),
            Self::Devices(devices) => {
                let rated = |device: &Device<'_>| {
                    let rating = crate::units::Current::amps(device.rating_a);
                    format!("{} {rating}", device.name)
                };
                list(devices.iter().map(rated).collect())
            }
        }
    }

    fn to_val<'b>(&'b self) -> CowVal<'b, 'b> {
        fn text<'b>(text: &'b str) -> Box<dyn Val + 'b> {
            Box::new(CelString::from(text))
        }
        match self {
            Self::Unknown => CowVal::owned(CelNull),
            Self::Number(value) => CowVal::owned(CelDouble::from(*value)),
            Self::Text(text) => CowVal::owned(CelString::from(text.as_ref())),
            Self::Flag(flag) => CowVal::owned(CelBool::from(*flag)),
            Self::Texts(texts) => {
                let all: Vec<Box<dyn Val + 'b>> = texts.iter().map(|one| text(one)).collect();
                CowVal::owned(CelList::from(all))
            }
            Self::Devices(devices) => {
                let one = |device: &'b Device<'_>| -> Box<dyn Val + 'b> {
                    let fields: [(&'static str, Box<dyn Val + 'b>); 4] = [
                        ("name", text(device.name)),
                        ("kind", text(device.kind)),
                        ("type", device.type_.map_or_else(|| Box::new(CelNull) as Box<dyn Val + 'b>, text)),
                        ("rating_a", Box::new(CelDouble::from(device.rating_a))),
                    ];
                    let map: HashMap<CelMapKey<'b>, Box<dyn Val + 'b>> =
                        fields.into_iter().map(|(key, value)| (CelMapKey::from(key), value)).collect();
                    Box::new(CelMap::from(map))
                };
                let all: Vec<Box<dyn Val + 'b>> = devices.iter().map(one).collect();
                CowVal::owned(CelList::from(all))
            }
        }
    }
}

/// The values of one element that a rule reads.
#[derive(Debug, Default)]
pub(crate) struct Row<'c>(pub(crate) Vec<(&'static FieldRow, Value<'c>)>);

impl<'c> Row<'c> {
    pub(crate) fn clear(&mut self) {
        self.0.clear();
    }

    pub(crate) fn get(&self, name: &str) -> Option<&(&'static FieldRow, Value<'c>)> {
        self.0.iter().find(|row| row.0.name == name)
    }

    /// The longest list.
    pub(crate) fn longest(&self) -> usize {
        self.0.iter().map(|row| row.1.len()).max().unwrap_or(0)
    }
}

impl VariableResolver for Row<'_> {
    fn resolve<'b>(&'b self, variable: &str) -> Option<CowVal<'b, 'b>> {
        self.get(variable).map(|row| row.1.to_val())
    }
}
