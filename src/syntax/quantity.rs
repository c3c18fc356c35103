//! Numbers with units: reading them, and saying the right form where one is wrong.

use crate::text::Span;
use crate::units::{
    Area, Capacity, Current, Gauge, HeatIntegral, Length, Power, Resistance, Share, Size, Temperature,
    Torque, Voltage,
};

use super::cursor::{Cursor, Stop, clip};
use super::items::{Item, ItemKind};
use super::problems::id;
use super::tree::{ParameterKind, Quantity, Value, What};
use super::words::{self, Dimension, Unit};

/// Which numbers are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Range {
    /// Above zero and within the bounds of its dimension.
    Rating,
    /// Also zero and below, for measured and expected values.
    Signed,
    /// A rating, but a share may exceed the whole.
    Limit,
}

/// What a number has that the language does not, an exponent or a fraction, and the number written out.
fn other_shape(digits: &str, word: &str) -> Option<(&'static str, String)> {
    let number: f64 = digits.parse().ok()?;
    let (shape, value) = if let Some(below) = word.strip_prefix('/') {
        ("a fraction", number / below.parse::<u32>().ok().filter(|below| 0 < *below).map(f64::from)?)
    } else {
        let exponent: i32 = word.strip_prefix(['e', 'E'])?.parse().ok()?;
        ("an exponent", number * 10_f64.powi(exponent.clamp(-12, 12)))
    };
    let written = format!("{value:.6}");
    Some((shape, written.trim_end_matches('0').trim_end_matches('.').to_owned()))
}

/// A number with its unit, not yet computed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Figure {
    number: Span,
    pub(super) unit: &'static Unit,
    pub(super) span: Span,
}

impl Cursor<'_> {
    /// Reads a quantity of one of the dimensions, or a parameter that stands for one. `before` is the word that it
    /// follows, for the form that a message shows.
    pub(super) fn quantity(
        &mut self,
        before: &str,
        expected: &[Dimension],
        range: Range,
    ) -> Result<Value, Stop> {
        let lead = if before.is_empty() { String::new() } else { format!("{before} ") };
        match self.peek() {
            Some(Item { kind: ItemKind::Parameter, span }) => match self.parameter()? {
                (at, ParameterKind::Any) => Ok(Value { what: What::Parameter(at), span }),
                (at, ParameterKind::Quantity(dimension)) if expected.contains(&dimension) => {
                    Ok(Value { what: What::Parameter(at), span })
                }
                (_, kind) => Err(self.wrong_parameter(span, kind, &phrases(expected))),
            },
            Some(Item { kind: ItemKind::Number | ItemKind::Gauge | ItemKind::Comma, .. }) => {
                let figure = self.figure(&lead, expected)?;
                if !expected.contains(&figure.unit.dimension) {
                    return Err(self.wrong_unit(figure, &lead, expected));
                }
                let quantity = self.measure(figure, range)?;
                Ok(Value { what: What::Quantity(quantity), span: figure.span })
            }
            _ => {
                let after = if before.is_empty() { String::new() } else { format!(" after `{before}`") };
                let form = format!("{lead}{}", example(None, expected.first().copied()));
                Err(self.missing(&format!("{}{after}", phrases(expected)), &form))
            }
        }
    }

    /// Reads a quantity where no parameter can stand.
    pub(super) fn literal(
        &mut self,
        before: &str,
        expected: &[Dimension],
        range: Range,
    ) -> Result<(Quantity, Span), Stop> {
        let value = self.quantity(before, expected, range)?;
        match value.what {
            What::Quantity(quantity) => Ok((quantity, value.span)),
            _ => Err(self.wrong_parameter(value.span, ParameterKind::Any, &phrases(expected))),
        }
    }

    /// Reads a number and its unit, whatever it measures.
    pub(super) fn figure(&mut self, lead: &str, expected: &[Dimension]) -> Result<Figure, Stop> {
        let Some(number) = self.pass() else { return Err(Stop) };
        let written = self.slice(number.span);
        let glued = self.glued();
        let unit = self.unit(number, glued, expected);
        if number.kind == ItemKind::Comma {
            let right = written.replacen(',', ".", 1);
            let unit = unit.map_or_else(|_| String::new(), |(unit, _)| format!(" {}", unit.word));
            return Err(self.tell(id::UNIT, number.span, |_| {
                let headline = format!("`{}` has a decimal comma", clip(written));
                (headline, "a number has a decimal point".into(), format!("`{lead}{}{unit}`", clip(&right)))
            }));
        }
        match unit {
            Ok((unit, span)) => Ok(Figure { number: number.span, unit, span: number.span.to(span) }),
            Err(Some(span)) => Err(self.unknown_unit(number.span, span, lead, expected)),
            Err(None) => Err(self.tell(id::UNIT, number.span, |_| {
                let forms: Vec<_> = expected
                    .iter()
                    .map(|one| format!("`{lead}{}`", example(Some(written), Some(*one))))
                    .collect();
                let help = if forms.is_empty() { "no figure stands here".into() } else { forms.join(" or ") };
                (format!("`{}` has no unit", clip(written)), "a number without a unit".into(), help)
            })),
        }
    }

    /// The unit after a number; else the word that stands where it is expected.
    fn unit(
        &mut self,
        number: Item,
        glued: bool,
        expected: &[Dimension],
    ) -> Result<(&'static Unit, Span), Option<Span>> {
        let Some(word) = self.peek_word() else { return Err(None) };
        let span = self.here();
        if let Some(unit) = words::find_unit(word)
            && (glued || word != "in" || expected.contains(&Dimension::Length))
        {
            self.pass();
            return Ok((unit, span));
        }
        let foreign = words::FOREIGN_UNITS.iter().any(|row| row.0 == word)
            || words::UNITS.iter().any(|row| row.word.eq_ignore_ascii_case(word));
        let another = words::is_reserved(word) || word.contains('.') || number.kind == ItemKind::Date;
        if glued
            || (foreign && !words::is_reserved(word))
            || !(another || word.len() > 4 || expected.is_empty())
        {
            self.pass();
            return Err(Some(span));
        }
        Err(None)
    }

    fn unknown_unit(&mut self, number: Span, span: Span, lead: &str, expected: &[Dimension]) -> Stop {
        let digits = self.slice(number);
        let word = self.slice(span);
        if let Some((shape, value)) = other_shape(digits, word).filter(|_| number.end == span.start) {
            let whole = self.slice(number.to(span));
            return self.tell(id::UNIT, number.to(span), |_| {
                let form = example(Some(&value), expected.first().copied());
                let headline = format!("`{}` has {shape}", clip(whole));
                (headline, "no such number is read".into(), format!("written out: `{lead}{form}`"))
            });
        }
        self.tell(id::UNIT, span, |problems| {
            let foreign = words::FOREIGN_UNITS.iter().find(|row| row.0 == word).map(|row| row.1);
            let same = words::UNITS.iter().filter(|unit| unit.word.eq_ignore_ascii_case(word));
            let same = same
                .clone()
                .find(|unit| expected.contains(&unit.dimension))
                .or(same.clone().next())
                .map(|unit| unit.word);
            let near = foreign
                .or(same)
                .or_else(|| problems.nearest(word, words::UNITS.iter().map(|unit| unit.word)));
            let help = match near {
                Some(near) => format!("`{lead}{} {near}`", clip(digits)),
                None if expected.is_empty() => "no figure stands here".into(),
                None => format!(
                    "{} is written `{lead}{}`",
                    phrases(expected),
                    example(Some(digits), expected.first().copied())
                ),
            };
            (format!("`{}` is not a unit", clip(word)), "stands after a number".into(), help)
        })
    }

    fn wrong_unit(&mut self, figure: Figure, lead: &str, expected: &[Dimension]) -> Stop {
        if figure.unit.word == "mm" && expected == [Dimension::Area] {
            return self.bare_millimetres(figure.span, figure.number);
        }
        let (written, digits) = (self.slice(figure.span), self.slice(figure.number));
        self.tell(id::UNIT, figure.span, |_| {
            let forms: Vec<_> =
                expected.iter().map(|one| format!("`{lead}{}`", example(Some(digits), Some(*one)))).collect();
            let headline = format!(
                "`{}` is {}, not {}",
                clip(written),
                figure.unit.dimension.phrase(),
                phrases(expected)
            );
            (headline, format!("{} is expected", phrases(expected)), forms.join(" or "))
        })
    }

    /// Refuses a conductor size in bare millimetres with its three readings.
    pub(super) fn bare_millimetres(&mut self, span: Span, number: Span) -> Stop {
        let (written, digits) = (self.slice(span), self.slice(number));
        self.tell(id::UNIT, span, |_| {
            let diameter = digits.parse::<f64>().unwrap_or(0.0);
            let area = std::f64::consts::FRAC_PI_4 * diameter * diameter;
            let help = format!(
                "three readings: `{0} mm2` if {0} is the area; {1} if it is the diameter of the copper; if it is the \
                 diameter over the insulation, the area is smaller and stands on the cable",
                clip(digits),
                Area::mm2(area),
            );
            (format!("`{}` is no conductor size", clip(written)), "a diameter or an area".into(), help)
        })
    }

    /// Computes a figure and holds it to its range.
    pub(super) fn measure(&mut self, figure: Figure, range: Range) -> Result<Quantity, Stop> {
        let digits = self.slice(figure.number);
        if matches!(figure.unit.word, "AWG" | "SAE") {
            return self.gauge(figure, digits);
        }
        if digits.matches('.').count() > 1 {
            let written = self.slice(figure.span);
            return Err(self.tell(id::UNIT, figure.span, |_| {
                let headline = format!("`{}` is no figure", clip(written));
                (
                    headline,
                    "a number has one decimal point".into(),
                    format!("such as `1.5 {}`", figure.unit.word),
                )
            }));
        }
        if digits.contains('/') {
            let written = self.slice(figure.span);
            return Err(self.tell(id::UNIT, figure.span, |_| {
                let headline = format!("`{}` is no figure", clip(written));
                (headline, "only a gauge has a `/`".into(), format!("`{digits} AWG`"))
            }));
        }
        let number = digits.parse::<f64>().unwrap_or(f64::NAN);
        let base = match figure.unit.word {
            "F" => (number - 32.0) / 1.8,
            _ => number * figure.unit.factor,
        };
        let dimension = figure.unit.dimension;
        let (least, most) = match (range, dimension) {
            (Range::Signed, Dimension::Voltage | Dimension::Current) => {
                (-dimension.bounds().1, dimension.bounds().1)
            }
            (Range::Limit, Dimension::Share) => (dimension.bounds().0, 10.0),
            _ => dimension.bounds(),
        };
        if !(least..=most).contains(&base) {
            return Err(self.out_of_range(figure, base, least, most));
        }
        Ok(quantity(dimension, base))
    }

    fn gauge(&mut self, figure: Figure, digits: &str) -> Result<Quantity, Stop> {
        let awg = figure.unit.word == "AWG";
        let gauge = Gauge::parse(digits)
            .filter(|gauge| if awg { *digits != *"0" } else { gauge.sae_area().is_some() });
        let Some(gauge) = gauge.filter(|gauge| gauge.awg_area().as_mm2() >= 0.01) else {
            let written = self.slice(figure.span);
            return Err(self.tell(id::UNIT, figure.span, |_| {
                let help = match (awg, digits) {
                    (_, "0") => format!("`1/0 {}`", figure.unit.word),
                    (true, _) => "gauges are whole numbers from 36 to 1, then `1/0` to `4/0`".into(),
                    (false, _) => {
                        "road-vehicle gauges are 18, 16, 14, 12, 10, 8, 6, 4, 2, 1, then `1/0` to `4/0`"
                            .into()
                    }
                };
                (format!("`{}` is no gauge", clip(written)), "not in the series".into(), help)
            }));
        };
        Ok(Quantity::Size(if awg { Size::Awg(gauge) } else { Size::Sae(gauge) }))
    }

    fn out_of_range(&mut self, figure: Figure, base: f64, least: f64, most: f64) -> Stop {
        let written = self.slice(figure.span);
        let dimension = figure.unit.dimension;
        self.tell(id::UNIT, figure.span, |_| {
            let help = if base < least && least > 0.0 && base <= 0.0 {
                format!("{} above zero", dimension.phrase())
            } else {
                format!(
                    "{} from {} to {}",
                    dimension.phrase(),
                    spelled(dimension, least),
                    spelled(dimension, most)
                )
            };
            (format!("`{}` is out of range", clip(written)), "not a figure of real wiring".into(), help)
        })
    }
}

/// A quantity from its base unit.
pub(crate) fn quantity(dimension: Dimension, base: f64) -> Quantity {
    match dimension {
        Dimension::Voltage => Quantity::Voltage(Voltage::volts(base)),
        Dimension::Current => Quantity::Current(Current::amps(base)),
        Dimension::Resistance => Quantity::Resistance(Resistance::ohms(base)),
        Dimension::Power => Quantity::Power(Power::watts(base)),
        Dimension::Length => Quantity::Length(Length::metres(base)),
        Dimension::Area => Quantity::Size(Size::Metric(Area::mm2(base))),
        Dimension::Temperature => Quantity::Temperature(Temperature::celsius(base)),
        Dimension::Capacity => Quantity::Capacity(Capacity::amp_hours(base)),
        Dimension::Torque => Quantity::Torque(Torque::newton_metres(base)),
        Dimension::HeatIntegral => Quantity::HeatIntegral(HeatIntegral::a2s(base)),
        Dimension::Share => Quantity::Share(Share::ratio(base)),
    }
}

fn spelled(dimension: Dimension, base: f64) -> String {
    match dimension {
        Dimension::Share => format!("{} %", base * 100.0),
        Dimension::Resistance => format!("{base} ohm"),
        _ => format!("{base} {}", dimension.unit()),
    }
}

/// Dimensions joined by `or`.
pub(super) fn phrases(expected: &[Dimension]) -> String {
    if expected.is_empty() {
        return "no quantity".into();
    }
    expected.iter().map(|one| one.phrase()).collect::<Vec<_>>().join(" or ")
}

/// How a quantity is written, with the digits at hand where there are some.
pub(super) fn example(digits: Option<&str>, dimension: Option<Dimension>) -> String {
    let dimension = dimension.unwrap_or(Dimension::Current);
    let digits =
        digits.map_or_else(|| if dimension == Dimension::Voltage { "12".into() } else { "10".into() }, clip);
    if digits.contains('/') && dimension == Dimension::Area {
        return format!("{digits} AWG");
    }
    format!("{digits} {}", dimension.unit())
}
