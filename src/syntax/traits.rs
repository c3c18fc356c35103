//! What follows a statement's head in any order: bare quantities, fixed words and properties, by the spelling table.

use crate::text::Span;

use super::cursor::{Cursor, Stop, clip, list};
use super::items::{Item, ItemKind};
use super::problems::id;
use super::quantity::{Range, phrases};
use super::tree::{Key, ParameterKind, Trait, Value, What};
use super::words::{self, BareForm, Dimension, Form, KindWords, Property};

impl Cursor<'_> {
    /// Reads traits to the end of the line. A wrong one is told and passed over, so that the others are read.
    pub(super) fn traits(&mut self, kind: &'static KindWords) -> Vec<Trait> {
        let mut traits = Vec::with_capacity(4);
        // After a word that is not known, figures are its own and say nothing more.
        let mut doubt = false;
        while let Some(item) = self.peek() {
            let known = item.kind == ItemKind::Word && self.knows(kind, self.slice(item.span));
            doubt = doubt && !known;
            let muted = self.mute;
            self.mute |= doubt;
            let read = self.one_trait(kind, item, &traits);
            self.mute = muted;
            match read {
                Ok(Got::Nothing) => {}
                Ok(Got::One(one)) => traits.push(one),
                Ok(Got::Many(mut more)) => traits.append(&mut more),
                Err(Wrong::Value(Stop)) => {}
                Err(Wrong::Word) => doubt = true,
            }
        }
        self.refuse_bare_millimetres(kind, &traits);
        traits
    }

    fn knows(&self, kind: &KindWords, word: &str) -> bool {
        kind.property(word).is_some() || kind.bare.iter().any(|bare| fits(bare.form, word))
    }

    fn one_trait(&mut self, kind: &'static KindWords, item: Item, before: &[Trait]) -> Result<Got, Wrong> {
        let span = item.span;
        match item.kind {
            ItemKind::Number | ItemKind::Gauge | ItemKind::Comma => self.bare_quantity(kind, before),
            ItemKind::Text if kind.property("zone").is_some() && kind.word != "wire" => {
                self.pass();
                self.check_escapes(span);
                self.once(before, Key::Label, span, "a label")?;
                one(Key::Label, span, What::Text, None)
            }
            ItemKind::Parameter => self.bare_parameter(kind, before),
            ItemKind::Word => self.word_trait(kind, span, before),
            _ => {
                self.pass();
                let written = self.slice(span);
                self.tell(id::SYNTAX, span, |_| {
                    let headline = format!("`{}` has no meaning here", clip(written));
                    (
                        headline,
                        format!("stands among the properties of a `{}`", kind.word),
                        "take it out".into(),
                    )
                });
                Err(Wrong::Word)
            }
        }
    }

    fn bare_quantity(&mut self, kind: &'static KindWords, before: &[Trait]) -> Result<Got, Wrong> {
        let mut taken = [Dimension::Voltage; 4];
        let mut n_taken = 0;
        for (slot, dimension) in taken.iter_mut().zip(kind.bare_dimensions()) {
            *slot = dimension;
            n_taken += 1;
        }
        let dimensions = &taken[..n_taken];
        // After a number of another shape its unit says nothing more.
        let strange = self.peek_second().filter(|item| item.kind == ItemKind::Word).is_some_and(|item| {
            self.here().end == item.span.start
                && self.slice(item.span).starts_with(['/', 'e', 'E'])
                && self.slice(item.span).bytes().any(|byte| byte.is_ascii_digit())
        });
        let figure =
            self.figure("", dimensions).map_err(|stop| if strange { Wrong::Word } else { stop.into() })?;
        let dimension = figure.unit.dimension;
        if !dimensions.contains(&dimension) {
            let written = self.slice(figure.span);
            self.tell(id::UNIT, figure.span, |_| {
                let after: Vec<&str> = kind
                    .properties
                    .iter()
                    .filter(|row| takes(row.form, dimension))
                    .map(|row| row.word)
                    .collect();
                let help = match (after.as_slice(), dimensions) {
                    ([], []) => format!("a `{}` takes no figure without a word before it", kind.word),
                    ([], _) => {
                        format!("without a word before it, a `{}` takes {}", kind.word, phrases(dimensions))
                    }
                    _ => {
                        format!("in a `{}`, {} stands after {}", kind.word, dimension.phrase(), list(&after))
                    }
                };
                let headline = format!("`{}` says nothing of a `{}`", clip(written), kind.word);
                (headline, format!("{} without a word before it", dimension.phrase()), help)
            });
            return Err(Wrong::Value(Stop));
        }
        let quantity = self.measure(figure, Range::Rating)?;
        // A wire's second length is judged once all of it has been read: it may be a size in bare millimetres.
        if dimension != Dimension::Length {
            self.once(before, Key::Bare(dimension), figure.span, dimension.phrase())?;
        }
        one(Key::Bare(dimension), figure.span, What::Quantity(quantity), None)
    }

    fn bare_parameter(&mut self, kind: &'static KindWords, before: &[Trait]) -> Result<Got, Wrong> {
        let span = self.here();
        let (at, parameter) = self.parameter()?;
        let key = match parameter {
            ParameterKind::Quantity(dimension) if kind.bare_dimensions().any(|one| one == dimension) => {
                Key::Bare(dimension)
            }
            ParameterKind::Text if kind.property("zone").is_some() && kind.word != "wire" => Key::Label,
            ParameterKind::Word
                if kind
                    .bare
                    .iter()
                    .any(|bare| matches!(bare.form, BareForm::Words { .. } | BareForm::Colour)) =>
            {
                Key::Word
            }
            ParameterKind::Any => return Ok(Got::Nothing),
            other => {
                return Err(self
                    .wrong_parameter(span, other, &format!("a property of a `{}`", kind.word))
                    .into());
            }
        };
        self.once(before, key, span, parameter.phrase())?;
        one(key, span, What::Parameter(at), None)
    }

    fn word_trait(&mut self, kind: &'static KindWords, span: Span, before: &[Trait]) -> Result<Got, Wrong> {
        let word = self.slice(span);
        if let Some(property) = kind.property(word) {
            self.pass();
            let read = self.property(property, span);
            if !property.repeatable {
                let named = format!("`{word}`");
                self.once(before, Key::Property(property.word), span, &named)?;
            }
            return Ok(read?);
        }
        for bare in kind.bare {
            let what = match bare.form {
                _ if !fits(bare.form, word) => continue,
                BareForm::Words { what, .. } => what,
                BareForm::Colour => "colour",
                BareForm::Thread | BareForm::Studs => return self.studs(bare.form, span, before),
                BareForm::Quantity(_) => continue,
            };
            self.pass();
            self.once(before, Key::Word, span, &format!("a {what}"))?;
            return one(Key::Word, span, What::Word, None);
        }
        self.pass();
        self.unknown(kind, span);
        Err(Wrong::Word)
    }

    fn studs(&mut self, form: BareForm, span: Span, before: &[Trait]) -> Result<Got, Wrong> {
        self.pass();
        let thread = words::thread(self.slice(span)).unwrap_or(8.0);
        let mut second = None;
        if form == BareForm::Studs && self.pass_word("x") {
            second = Some(self.count("x", 1000)?);
        }
        self.once(before, Key::Thread, span, "a stud")?;
        one(Key::Thread, span, What::Thread(thread), second)
    }

    /// Tells of a word that the kind does not have.
    fn unknown(&mut self, kind: &'static KindWords, span: Span) {
        let word = self.slice(span);
        let number = self.peek().filter(|item| matches!(item.kind, ItemKind::Number | ItemKind::Gauge));
        if let (Some(_), Some(number)) = (words::find_unit(word), number) {
            let digits = self.slice(number.span);
            self.tell(id::UNIT, span, |_| {
                let headline = format!("`{word}` stands before its number");
                (headline, "a unit".into(), format!("`{} {word}`", clip(digits)))
            });
            return;
        }
        self.tell(id::WORD, span, |problems| {
            let own = kind.words();
            let others: Vec<&str> = words::KINDS
                .iter()
                .chain([words::WIRE, words::DATA])
                .filter(|other| other.words().contains(&word))
                .map(|other| other.word)
                .collect();
            if !others.is_empty() {
                let headline = format!("`{word}` is no property of a `{}`", kind.word);
                let help = match problems.nearest(word, own.iter().copied()) {
                    Some(near) => format!("it belongs to {}; the nearest here is `{near}`", list(&others)),
                    None => {
                        format!("it belongs to {}; a `{}` takes {}", list(&others), kind.word, list(&own))
                    }
                };
                return (headline, format!("stands in a `{}`", kind.word), help);
            }
            let part = word
                .split('/')
                .map(|half| half.trim_end_matches('/'))
                .find(|half| !own.contains(half))
                .unwrap_or(word);
            let help = match problems.nearest(part, own.iter().copied()) {
                Some(near) => format!("the nearest word is `{}`", word.replacen(part, near, 1)),
                None if own.is_empty() => format!("a `{}` has no properties", kind.word),
                None => format!("a `{}` takes {}", kind.word, list(&own)),
            };
            (format!("`{}` is not known", clip(word)), format!("no property of a `{}`", kind.word), help)
        });
    }

    /// Tells of a trait that is given twice.
    fn once(&mut self, before: &[Trait], key: Key, span: Span, what: &str) -> Result<(), Stop> {
        if before.iter().all(|one| one.key != key) {
            return Ok(());
        }
        Err(self.twice(span, what))
    }

    fn twice(&mut self, span: Span, what: &str) -> Stop {
        self.tell(id::WORD, span, |_| {
            (format!("{what} is given twice"), "the second one".into(), "keep one of the two".into())
        })
    }

    /// A wire with two lengths and no size has its size in bare millimetres; otherwise it has a length too many.
    fn refuse_bare_millimetres(&mut self, kind: &'static KindWords, traits: &[Trait]) {
        let mut lengths = traits.iter().filter(|one| one.key == Key::Bare(Dimension::Length));
        let (Some(first), Some(second)) = (lengths.next(), lengths.next()) else { return };
        let sized = traits.iter().any(|one| one.key == Key::Bare(Dimension::Area));
        let millimetres = |one: &&Trait| {
            let written = self.slice(one.span);
            written.strip_suffix("mm").is_some_and(|digits| {
                digits.trim_end().bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')
            })
        };
        match [first, second].into_iter().find(millimetres) {
            Some(size) if !sized && (kind.word == "wire" || kind.word == "data") => {
                let digits = self.slice(size.span).trim_end_matches("mm").trim_end().len();
                let start = size.span.start as usize;
                self.bare_millimetres(size.span, Span::new(self.file, start, start + digits));
            }
            _ => {
                self.twice(second.span, "a length");
            }
        }
    }

    /// Reads what follows a property's word.
    fn property(&mut self, property: &'static Property, span: Span) -> Result<Got, Stop> {
        let key = Key::Property(property.word);
        let word = property.word;
        let form = property.spelling();
        let value = |value: Value, second| Ok(Got::One(Trait { key, span, value, second }));
        match property.form {
            Form::Flag => value(Value { what: What::Word, span }, None),
            Form::Quantity(dimension) => value(self.quantity(word, &[dimension], Range::Rating)?, None),
            Form::VoltageCurrent => self.voltage_current(key, word, span),
            Form::Breaks => {
                let current = self.quantity(word, &[Dimension::Current], Range::Rating)?;
                let at = if self.pass_word("at") {
                    Some(self.quantity("at", &[Dimension::Voltage], Range::Rating)?)
                } else {
                    None
                };
                value(current, at)
            }
            Form::Count(most) => value(self.count(word, most)?, None),
            Form::Choice(choices) => {
                let chosen = self.choice(word, choices)?;
                value(chosen, None)
            }
            Form::Name(_) => {
                let name = self.reference(&format!("a name after `{word}`"), &form)?;
                value(name_value(name.span, name), None)
            }
            Form::Node => {
                let node = self.reference(&format!("a node after `{word}`"), &form)?;
                value(name_value(node.span, node), None)
            }
            Form::Names => {
                let mut names = Vec::new();
                while let Some(item) = self.peek() {
                    let stands = match item.kind {
                        ItemKind::Word => !words::is_reserved(self.slice(item.span)),
                        ItemKind::Parameter => true,
                        _ => false,
                    };
                    if !stands {
                        break;
                    }
                    let name = self.reference(&format!("a name after `{word}`"), &form)?;
                    names.push(Trait { key, span, value: name_value(name.span, name), second: None });
                }
                if names.is_empty() {
                    Err(self.missing(&format!("a name after `{word}`"), &form))
                } else {
                    Ok(Got::Many(names))
                }
            }
            Form::Ends => {
                let first = self.ending(&form)?;
                let second = self.ending(&form)?;
                value(first, Some(second))
            }
        }
    }

    fn voltage_current(&mut self, key: Key, word: &'static str, span: Span) -> Result<Got, Stop> {
        let both = [Dimension::Voltage, Dimension::Current];
        let first = self.quantity(word, &both, Range::Rating)?;
        let first_is = self.dimension_of(first);
        let rest: Vec<Dimension> = both.into_iter().filter(|one| Some(*one) != first_is).collect();
        let more = self.peek().is_some_and(|item| {
            matches!(item.kind, ItemKind::Number | ItemKind::Gauge | ItemKind::Comma | ItemKind::Parameter)
        });
        let second = if more { Some(self.quantity(word, &rest, Range::Rating)?) } else { None };
        Ok(Got::One(Trait { key, span, value: first, second }))
    }

    /// What a value measures, as far as that is known before kits are placed.
    pub(super) fn dimension_of(&self, value: Value) -> Option<Dimension> {
        match value.what {
            What::Quantity(quantity) => Some(quantity.dimension()),
            What::Parameter(at) => match self.parameters.get(usize::from(at)).map(|one| one.kind) {
                Some(ParameterKind::Quantity(dimension)) => Some(dimension),
                _ => None,
            },
            _ => None,
        }
    }

    /// Reads one of a few words.
    pub(super) fn choice(&mut self, after: &str, choices: &'static [&'static str]) -> Result<Value, Stop> {
        let Some(word) = self.peek_word() else {
            let form = format!("{after} {}", choices.join("|"));
            return Err(self.missing(&format!("a word after `{after}`"), &form));
        };
        let span = self.here();
        self.pass();
        if choices.contains(&word) {
            return Ok(Value { what: What::Word, span });
        }
        Err(self.tell(id::WORD, span, |problems| {
            let help = match problems.nearest(word, choices.iter().copied()) {
                Some(near) => format!("the nearest word is `{near}`"),
                None => format!("after `{after}` stands one of {}", list(choices)),
            };
            (format!("`{}` is not known", clip(word)), format!("stands after `{after}`"), help)
        }))
    }

    fn ending(&mut self, form: &str) -> Result<Value, Stop> {
        let span = self.here();
        match self.peek() {
            Some(Item { kind: ItemKind::Parameter, .. }) => match self.parameter()? {
                (at, ParameterKind::Word | ParameterKind::Any) => {
                    Ok(Value { what: What::Parameter(at), span })
                }
                (_, kind) => Err(self.wrong_parameter(span, kind, "the end of a wire")),
            },
            Some(Item { kind: ItemKind::Word, .. }) => {
                self.pass();
                let word = self.slice(span);
                if words::ending(word).is_some() {
                    return Ok(Value { what: What::Word, span });
                }
                Err(self.tell(id::WORD, span, |problems| {
                    let help = match problems.nearest(word, words::ENDINGS.iter().copied()) {
                        Some(near) => format!("the nearest word is `{near}`"),
                        None => format!("the end of a wire is one of {}", list(words::ENDINGS)),
                    };
                    (format!("`{}` is no end of a wire", clip(word)), "stands after `ends`".into(), help)
                }))
            }
            _ => Err(self.missing("the end of a wire", form)),
        }
    }
}

/// The traits that one word or figure gives.
enum Got {
    Nothing,
    One(Trait),
    Many(Vec<Trait>),
}

/// Why a trait could not be read.
enum Wrong {
    /// Its value is wrong.
    Value(Stop),
    /// Its word is not known.
    Word,
}

impl From<Stop> for Wrong {
    fn from(stop: Stop) -> Self {
        Self::Value(stop)
    }
}

#[expect(clippy::unnecessary_wraps, reason = "what its callers give")]
fn one(key: Key, span: Span, what: What, second: Option<Value>) -> Result<Got, Wrong> {
    Ok(Got::One(Trait { key, span, value: Value { what, span }, second }))
}

fn name_value(span: Span, name: super::tree::Reference) -> Value {
    Value { what: What::Terminal(name), span }
}

fn fits(form: BareForm, word: &str) -> bool {
    match form {
        BareForm::Quantity(_) => false,
        BareForm::Words { words, .. } => words.contains(&word),
        BareForm::Colour => is_colour(word),
        BareForm::Thread | BareForm::Studs => words::thread(word).is_some(),
    }
}

/// Whether a word is a colour, or two with a slash.
pub(crate) fn is_colour(word: &str) -> bool {
    match word.split_once('/') {
        None => words::COLOURS.contains(&word),
        Some((base, tracer)) => {
            [base, tracer].into_iter().all(|one| one != "bare" && words::COLOURS.contains(&one))
        }
    }
}

fn takes(form: Form, dimension: Dimension) -> bool {
    match form {
        Form::Quantity(one) => one == dimension,
        Form::VoltageCurrent => matches!(dimension, Dimension::Voltage | Dimension::Current),
        Form::Breaks => dimension == Dimension::Current,
        _ => false,
    }
}
