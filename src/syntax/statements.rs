//! What each statement says, after its first word.

use crate::text::Span;
use crate::units::{Current, Voltage};

use super::cursor::{Cursor, Stop, clip, is_name, list};
use super::items::{Item, ItemKind};
use super::problems::id;
use super::quantity::{Range, phrases};
use super::read::Block;
use super::tree::{
    ClaimWord, Class, HardwareWord, Key, LimitWord, MeasuredWord, Node, Parameter, ParameterKind, Quantity,
    Reference, SetWord, StateWord, Subject, Trait, Value, What, kind_words,
};
use super::words::{self, Dimension, KindWords};

/// Most parameters of one kit.
const MOST_PARAMETERS: usize = 100;

type Read = Result<Node, Stop>;

impl Cursor<'_> {
    /// Reads any statement but the lines of modes and parts; with it the block that it opens.
    pub(super) fn any(&mut self, around: Block) -> Result<(Node, Option<Block>), Stop> {
        let Some(written) = self.peek_word() else {
            let span = self.first_span();
            let written = self.slice(span);
            return Err(self.tell(id::SYNTAX, span, |_| {
                let help = "a statement begins with its word, such as `wire` or `battery`";
                (format!("`{}` begins no statement", clip(written)), "stands first".into(), help.into())
            }));
        };
        let span = self.here();
        self.pass();
        let Some(word) = self.statement_word(written, span) else {
            // The name of a statement that cannot be read still counts as declared.
            if let Some(name) = self.peek_word()
                && is_name(name)
                && !words::is_reserved(name)
            {
                self.name = Some(self.here());
            }
            self.block = Some(Block::Skip);
            return Err(Stop);
        };
        self.block = match word {
            "mode" => Some(Block::Mode),
            "kit" => Some(Block::Kit),
            "part" => Some(Block::Part),
            _ => None,
        };
        let statement = words::STATEMENTS.iter().find(|row| row.word == word);
        let refused = around == Block::Kit && statement.is_some_and(|row| !row.in_kit);
        if refused {
            self.tell(id::SYNTAX, span, |_| {
                let help = if word == "kit" {
                    "declare it beside this kit, and `fit` it in this one".into()
                } else {
                    format!("`{word}` stands in the design itself; or a `}}` is missing before it")
                };
                (format!("a kit holds no `{word}`"), "stands in a kit".into(), help)
            });
            self.mute = true;
        }
        let node = match statement {
            Some(statement) => self.other(word, statement.form),
            None => {
                let kind = words::KINDS.iter().position(|row| row.word == word);
                self.component(kind.and_then(|kind| u8::try_from(kind).ok()).unwrap_or(0))
            }
        }?;
        if refused {
            return Err(Stop);
        }
        if matches!(word, "mode" | "kit") && !self.opens && !self.faulty {
            self.tell(id::SYNTAX, span, |_| {
                let form = statement.map_or("", |row| row.form);
                (
                    format!("a `{word}` without a block"),
                    "opens none".into(),
                    format!("the form is `{form}`, then a `}}` on a line of its own"),
                )
            });
        }
        Ok((node, self.block))
    }

    /// The statement that a first word means: itself, or, once told, the nearest one.
    fn statement_word(&mut self, written: &str, span: Span) -> Option<&'static str> {
        let all =
            || words::STATEMENTS.iter().map(|row| row.word).chain(words::KINDS.iter().map(|row| row.word));
        if let Some(word) = all().find(|word| *word == written) {
            return Some(word);
        }
        let near = if self.mute { None } else { self.nearest(written, all()) };
        self.tell(id::WORD, span, |_| {
            let help = match near {
                Some(near) => format!("the nearest statement is `{near}`"),
                None if written == "terminal" => "a `terminal` line stands in the block of a `part`".into(),
                None => "a statement begins with its word, such as `wire` or `battery`".into(),
            };
            (format!("`{}` is not a statement", clip(written)), "stands first".into(), help)
        });
        all().find(|word| Some(*word) == near)
    }

    fn other(&mut self, word: &'static str, form: &'static str) -> Read {
        match word {
            "design" | "library" => {
                self.declare(Class::Unknown, form)?;
                let title = self.string("a title", form)?;
                Ok(if word == "design" { Node::Design { title } } else { Node::Library })
            }
            "use" => Ok(Node::Use { path: self.string("a path", form)? }),
            "book" => self.book(form),
            "assume" => self.assume(form),
            "limit" => self.limit(form),
            "zone" => {
                self.declare(Class::Zone, form)?;
                self.keyword("ambient", form)?;
                Ok(Node::Zone {
                    ambient: self.quantity("ambient", &[Dimension::Temperature], Range::Rating)?,
                })
            }
            "part" => self.part(form),
            "wire" => {
                let (from, to) = self.lead(Class::Wire, form)?;
                Ok(Node::Wire { from, to, traits: self.traits(words::WIRE) })
            }
            "data" => {
                let (from, to) = self.lead(Class::Data, form)?;
                Ok(Node::Data { from, to, traits: self.traits(words::DATA) })
            }
            "bolt" => {
                let a = self.reference("a terminal", form)?;
                self.keyword("to", form)?;
                Ok(Node::Bolt { a, b: self.reference("a terminal", form)? })
            }
            "bundle" => {
                self.declare(Class::Bundle, form)?;
                Ok(Node::Bundle { wires: self.references("a wire", form)? })
            }
            "mode" => {
                self.declare(Class::Mode, form)?;
                let titled = self.peek().is_some_and(|item| item.kind == ItemKind::Text);
                Ok(Node::Mode { title: if titled { Some(self.string("a title", form)?) } else { None } })
            }
            "expect" => self.expect(form),
            "reading" => self.reading(form),
            "set" => self.set(form),
            "stack" => {
                let node = self.reference("a stud", form)?;
                Ok(Node::Stack { node, wires: self.references("a wire", form)? })
            }
            "note" => {
                let what = self.reference("a name", form)?;
                self.name = Some(what.span).filter(|_| what.parameter.is_none());
                self.class = Class::Unknown;
                let text = self.string("a text", form);
                // What is noted is declared elsewhere.
                self.name = None;
                Ok(Node::Note { what, text: text? })
            }
            "waive" => self.waive(form),
            "kit" => self.kit(form),
            "fit" => self.fit(form),
            _ => Ok(Node::Broken),
        }
    }

    fn lead(&mut self, class: Class, form: &str) -> Result<(Reference, Reference), Stop> {
        self.declare(class, form)?;
        self.keyword("from", form)?;
        let from = self.reference("a terminal", form)?;
        self.keyword("to", form)?;
        Ok((from, self.reference("a terminal", form)?))
    }

    fn references(&mut self, what: &str, form: &str) -> Result<Vec<Reference>, Stop> {
        let mut references = vec![self.reference(what, form)?];
        while self.peek().is_some() {
            references.push(self.reference(what, form)?);
        }
        Ok(references)
    }

    fn component(&mut self, kind: u8) -> Read {
        let table = kind_words(kind);
        self.declare(Class::Component(kind), &format!("{} NAME properties", table.word))?;
        let part = if self.pass_mark(b'=') {
            Some(self.named("a part", &format!("{} NAME = PART properties", table.word))?)
        } else {
            None
        };
        let traits = self.traits(table);
        self.check_kind(table, &traits);
        Ok(Node::Component { part, traits })
    }

    fn part(&mut self, form: &str) -> Read {
        self.declare(Class::Part, form)?;
        self.keyword("is", form)?;
        let span = self.here();
        let Some(word) = self.peek_word() else { return Err(self.missing("a kind", form)) };
        self.pass();
        let Some(kind) = words::KINDS.iter().position(|row| row.word == word) else {
            return Err(self.tell(id::WORD, span, |problems| {
                let kinds: Vec<&str> = words::KINDS.iter().map(|row| row.word).collect();
                let help = match problems.nearest(word, kinds.iter().copied()) {
                    Some(near) => format!("the nearest kind is `{near}`"),
                    None => format!("the kinds are {}", list(&kinds)),
                };
                (format!("`{}` is not a kind of component", clip(word)), "stands after `is`".into(), help)
            }));
        };
        let kind = u8::try_from(kind).unwrap_or(0);
        let traits = self.traits(kind_words(kind));
        self.check_kind(kind_words(kind), &traits);
        for one in &traits {
            if let (Key::Property(word), What::Terminal(_)) = (one.key, one.value.what) {
                self.tell(id::WORD, one.span, |_| {
                    let help = format!(
                        "a part says what is true of every one of its kind; write `{word}` in the component"
                    );
                    (format!("`{word}` names something of a design"), "stands in a part".into(), help)
                });
            }
        }
        Ok(Node::Part { kind, traits })
    }

    /// Refuses traits that exclude each other on one line.
    fn check_kind(&mut self, kind: &KindWords, traits: &[Trait]) {
        let given = |key| traits.iter().find(|one| one.key == key).map(|one| one.span);
        let pair = match kind.word {
            "charger" => [Key::ISOLATED, Key::COMMON].map(given),
            "load" => {
                let mut takes = traits.iter().filter(|one| {
                    matches!(
                        one.key,
                        Key::Bare(Dimension::Power | Dimension::Current | Dimension::Resistance)
                    )
                });
                [takes.next().map(|one| one.span), takes.next().map(|one| one.span)]
            }
            _ => return,
        };
        if let [Some(first), Some(second)] = pair {
            let (one, two) = (self.slice(first), self.slice(second));
            self.tell(id::WORD, second, |_| {
                let headline = format!("`{}` and `{}` exclude each other", clip(one), clip(two));
                (headline, "the second of them".into(), "keep one of the two".into())
            });
        }
    }

    fn book(&mut self, form: &str) -> Read {
        match self.peek() {
            Some(Item { kind: ItemKind::Text, span }) => {
                self.pass();
                self.check_escapes(span);
                Ok(Node::Book { name: super::plain(self.slice(span)), span })
            }
            Some(Item { kind: ItemKind::Word, span }) => {
                self.pass();
                Ok(Node::Book { name: self.slice(span).into(), span })
            }
            _ => Err(self.missing("the name of a book", form)),
        }
    }

    fn assume(&mut self, form: &str) -> Read {
        let span = self.here();
        if self.peek_word().is_none() {
            return Err(self.missing("what is assumed", form));
        }
        let chosen = self.choice("assume", words::ASSUMPTIONS)?;
        let word = self.slice(chosen.span);
        let Some(what) = words::ASSUMPTIONS.iter().copied().find(|one| *one == word) else {
            return Err(Stop);
        };
        let value = match what {
            "ambient" | "insulation" => self.quantity(what, &[Dimension::Temperature], Range::Rating)?,
            "contact" => self.quantity(what, &[Dimension::Resistance], Range::Rating)?,
            "strand" => self.choice(what, words::STRANDS)?,
            _ => self.choice(what, words::COATINGS)?,
        };
        Ok(Node::Assume { what, value, span })
    }

    fn limit(&mut self, form: &str) -> Read {
        let Some(Item { kind: ItemKind::Word, span: name }) = self.peek() else {
            return Err(self.missing("the name of a limit", form));
        };
        self.pass();
        let (value, value_span) = self.limit_value(form)?;
        self.keyword("because", form)?;
        let why = self.string("the reason", form)?;
        Ok(Node::Limit { name, value, value_span, why })
    }

    fn limit_value(&mut self, form: &str) -> Result<(LimitWord, Span), Stop> {
        const DIMENSIONS: &[Dimension] = &[
            Dimension::Length,
            Dimension::Share,
            Dimension::Temperature,
            Dimension::Current,
            Dimension::Voltage,
            Dimension::Area,
            Dimension::Capacity,
        ];
        match self.peek() {
            Some(Item { kind: ItemKind::Word, span }) if self.slice(span) != "because" => {
                self.pass();
                Ok((LimitWord::Word, span))
            }
            Some(Item { kind: ItemKind::Number, span })
                if self.peek_second().is_none_or(|next| self.slice(next.span) == "because") =>
            {
                self.pass();
                let number = self.slice(span).parse::<f64>().unwrap_or(f64::NAN);
                if number > 0.0 && number <= 1e6 {
                    return Ok((LimitWord::Number(number), span));
                }
                let written = self.slice(span);
                Err(self.tell(id::UNIT, span, |_| {
                    let headline = format!("`{}` is out of range", clip(written));
                    (headline, "the value of a limit".into(), "a number above zero, up to 1000000".into())
                }))
            }
            Some(Item { kind: ItemKind::Number | ItemKind::Gauge | ItemKind::Comma, .. }) => {
                let (quantity, span) = self.literal("", DIMENSIONS, Range::Limit)?;
                Ok((LimitWord::Quantity(quantity), span))
            }
            _ => Err(self.missing("the value of the limit", form)),
        }
    }

    /// Reads a line of a mode.
    pub(super) fn mode_line(&mut self) -> Result<(Node, Option<Block>), Stop> {
        let form = "NAME on|off|open|closed, or NAME 40 W";
        let what = self.reference("a name", form)?;
        let state_span = self.here();
        let state = match self.peek() {
            Some(Item { kind: ItemKind::Word, .. }) => {
                let chosen = self.choice("a name", words::STATES)?;
                match self.slice(chosen.span) {
                    "on" => StateWord::On,
                    "off" => StateWord::Off,
                    "open" => StateWord::Open,
                    _ => StateWord::Closed,
                }
            }
            Some(Item { kind: ItemKind::Number | ItemKind::Comma, .. }) => {
                let all = [Dimension::Voltage, Dimension::Current, Dimension::Power, Dimension::Resistance];
                let (quantity, span) = self.literal("", &all, Range::Rating)?;
                self.expect_end();
                return Ok((
                    Node::ModeLine { what, state: StateWord::Quantity(quantity), state_span: span },
                    None,
                ));
            }
            _ => return Err(self.missing("a state or a figure", form)),
        };
        Ok((Node::ModeLine { what, state, state_span }, None))
    }

    /// Reads a line of a part's block.
    pub(super) fn terminal_line(&mut self) -> Result<(Node, Option<Block>), Stop> {
        let form = "terminal in+ in- stud M8 12 Nm";
        self.keyword("terminal", form)?;
        let mut names = Vec::new();
        while let Some(Item { kind: ItemKind::Word, span }) = self.peek() {
            if words::HARDWARE.contains(&self.slice(span)) {
                break;
            }
            let word = self.slice(span);
            if !names.is_empty() && self.nearest(word, words::HARDWARE.iter().copied()).is_some() {
                break;
            }
            self.pass();
            names.push(span);
        }
        if names.is_empty() {
            return Err(self.missing("a terminal", form));
        }
        if self.peek().is_none() {
            return Err(self.missing("what holds the conductor", form));
        }
        let chosen = self.choice("terminal", words::HARDWARE)?;
        let hardware = match self.slice(chosen.span) {
            "stud" => {
                let Some(thread) = self.peek_word().and_then(words::thread) else {
                    return Err(self.missing("a thread, such as `M8`,", form));
                };
                self.pass();
                HardwareWord::Stud { thread, torque: self.torque()? }
            }
            "screw" => self.screw()?,
            "tab" => {
                let width = match self.peek() {
                    Some(Item { kind: ItemKind::Number, span }) => words::millimetres(self.slice(span)),
                    _ => None,
                };
                let Some(width) = width else {
                    return Err(self.missing("a width in millimetres", "terminal sense tab 6.3"));
                };
                self.pass();
                HardwareWord::Tab(width)
            }
            _ => HardwareWord::Pin,
        };
        Ok((Node::Terminal { names, hardware }, None))
    }

    fn torque(&mut self) -> Result<Option<crate::units::Torque>, Stop> {
        if !self.peek().is_some_and(|item| matches!(item.kind, ItemKind::Number | ItemKind::Comma)) {
            return Ok(None);
        }
        Ok(match self.literal("", &[Dimension::Torque], Range::Rating)?.0 {
            Quantity::Torque(torque) => Some(torque),
            _ => None,
        })
    }

    fn screw(&mut self) -> Result<HardwareWord, Stop> {
        let form = "terminal out+ screw 2.5 mm2 to 16 mm2 1.6 Nm strip 12 mm";
        let (least, _) = self.literal("screw", &[Dimension::Area], Range::Rating)?;
        self.keyword("to", form)?;
        let (most, span) = self.literal("to", &[Dimension::Area], Range::Rating)?;
        let (Quantity::Size(least), Quantity::Size(most)) = (least, most) else { return Err(Stop) };
        if most.area().as_mm2() < least.area().as_mm2() {
            self.tell(id::UNIT, span, |_| {
                let help = format!("`screw {most} to {least}`");
                (format!("`{most}` is smaller than `{least}`"), "the largest conductor".into(), help)
            });
        }
        let mut torque = self.torque()?;
        let mut strip = None;
        if self.pass_word("strip") {
            if let (Quantity::Length(length), _) =
                self.literal("strip", &[Dimension::Length], Range::Rating)?
            {
                strip = Some(length);
            }
            torque = if torque.is_none() { self.torque()? } else { torque };
        }
        Ok(HardwareWord::Screw { least: least.area(), most: most.area(), torque, strip })
    }

    fn amps(&mut self, before: &str, range: Range) -> Result<Current, Stop> {
        match self.literal(before, &[Dimension::Current], range)?.0 {
            Quantity::Current(current) => Ok(current),
            _ => Err(Stop),
        }
    }

    fn volts(&mut self, before: &str) -> Result<Voltage, Stop> {
        match self.literal(before, &[Dimension::Voltage], Range::Signed)?.0 {
            Quantity::Voltage(voltage) => Ok(voltage),
            _ => Err(Stop),
        }
    }

    fn expect(&mut self, form: &str) -> Read {
        let what = self.reference("a meter, a wire or a terminal", form)?;
        let span = self.here();
        let Some(verb) = self.peek_word() else {
            return Err(self.missing("`reads`, `carries`, `above` or `below`", form));
        };
        self.pass();
        let claim = match verb {
            "reads" | "carries" => {
                let current = self.amps(if verb == "reads" { "reads" } else { "carries" }, Range::Signed)?;
                self.keyword("within", form)?;
                let within = self.amps("within", Range::Rating)?;
                if verb == "reads" {
                    ClaimWord::Reads(what, current, within)
                } else {
                    ClaimWord::Carries(what, current, within)
                }
            }
            "above" => ClaimWord::Above(what, self.volts("above")?),
            "below" => ClaimWord::Below(what, self.volts("below")?),
            _ => {
                return Err(self.tell(id::WORD, span, |problems| {
                    let verbs = ["reads", "carries", "above", "below"];
                    let help = match problems.nearest(verb, verbs) {
                        Some(near) => format!("the nearest word is `{near}`"),
                        None => format!("a claim has one of {}", list(&verbs)),
                    };
                    (format!("`{}` claims nothing", clip(verb)), "stands in an `expect`".into(), help)
                }));
            }
        };
        self.keyword("in", form)?;
        Ok(Node::Expect { claim, mode: self.named("a mode", form)? })
    }

    fn reading(&mut self, form: &str) -> Read {
        let what = self.reference("a meter or a terminal", form)?;
        let measured = if self.pass_word("to") {
            let other = self.reference("a terminal", form)?;
            MeasuredWord::Drop(what, other, self.volts("")?)
        } else {
            match self.literal("", &[Dimension::Current, Dimension::Voltage], Range::Signed)?.0 {
                Quantity::Current(current) => MeasuredWord::Meter(what, current),
                Quantity::Voltage(voltage) => MeasuredWord::Voltage(what, voltage),
                _ => return Err(Stop),
            }
        };
        let mut by = None;
        if self.pass_word("by") {
            by = Some(self.string("a name in quotes", form)?);
        }
        self.keyword("in", form)?;
        let mode = self.named("a mode", form)?;
        self.keyword("on", form)?;
        let on = self.date(form)?;
        if by.is_none() && self.pass_word("by") {
            by = Some(self.string("a name in quotes", form)?);
        }
        Ok(Node::Reading { measured, mode, on, by })
    }

    /// Reads a date; whether there is such a day is seen when it is resolved.
    fn date(&mut self, form: &str) -> Result<Span, Stop> {
        match self.peek() {
            Some(Item { kind: ItemKind::Date, span }) => {
                self.pass();
                Ok(span)
            }
            _ => Err(self.missing("a date, such as `2027-03-31`,", form)),
        }
    }

    fn set(&mut self, form: &str) -> Read {
        let what = self.reference("a name", form)?;
        let Some(Item { kind: ItemKind::Word, span: word }) = self.peek() else {
            return Err(self.missing("the word of a setting", form));
        };
        self.pass();
        let name = self.slice(word);
        let meant = words::SETTINGS.iter().find(|row| row.0 == name).map(|row| row.1);
        let value = match (meant, self.peek()) {
            (_, None) => return Err(self.missing("a value", form)),
            (Some(dimension), _) => {
                let value = self.quantity(name, &[dimension], Range::Rating)?;
                match value.what {
                    What::Quantity(quantity) => SetWord::Quantity(quantity, value.span),
                    _ => SetWord::Parameter(value),
                }
            }
            (None, Some(item)) => self.free_setting(item)?,
        };
        Ok(Node::Set { what, word, value })
    }

    /// The value of a setting that is only printed: a quantity, or anything to the end of the line as it is written.
    fn free_setting(&mut self, item: Item) -> Result<SetWord, Stop> {
        match item.kind {
            ItemKind::Text => {
                self.pass();
                self.check_escapes(item.span);
                return Ok(SetWord::Text(item.span));
            }
            ItemKind::Parameter => {
                let (at, _) = self.parameter()?;
                return Ok(SetWord::Parameter(Value { what: What::Parameter(at), span: item.span }));
            }
            ItemKind::Number
                if self
                    .peek_second()
                    .is_some_and(|next| words::find_unit(self.slice(next.span)).is_some()) =>
            {
                let figure = self.figure("", &[])?;
                let quantity = self.measure(figure, Range::Limit)?;
                return Ok(SetWord::Quantity(quantity, figure.span));
            }
            _ => {}
        }
        let mut span = item.span;
        while let Some(more) = self.pass() {
            span = span.to(more.span);
        }
        Ok(SetWord::Other(span))
    }

    fn waive(&mut self, form: &str) -> Read {
        let Some(Item { kind: ItemKind::Word, span: rule }) = self.peek() else {
            return Err(self.missing("a rule", form));
        };
        self.pass();
        let id = self.slice(rule);
        if words::RULE_IDS.binary_search(&id).is_err() && !words::is_house_rule(id) {
            self.tell(super::id::WORD, rule, |problems| {
                let help = match problems.nearest(id, words::RULE_IDS.iter().copied()) {
                    Some(near) => format!("the nearest rule is `{near}`"),
                    None => "rules are named by family and fault, such as `return.bypass`".into(),
                };
                (format!("`{}` is not a rule", clip(id)), "stands after `waive`".into(), help)
            });
        }
        self.keyword("on", form)?;
        let subject = self.subject(form)?;
        let (mut why, mut until) = (None, None);
        while self.peek().is_some() && (why.is_none() || until.is_none()) {
            if why.is_none() && self.pass_word("because") {
                why = Some(self.string("the reason", form)?);
            } else if until.is_none() && self.pass_word("until") {
                until = Some(self.date(form)?);
            } else {
                self.keyword(if why.is_none() { "because" } else { "until" }, form)?;
                break;
            }
        }
        let Some(why) = why else { return Err(self.missing("`because \"why\"`", form)) };
        let Some(until) = until else { return Err(self.missing("`until DATE`", form)) };
        Ok(Node::Waive { rule, subject, why, until })
    }

    fn subject(&mut self, form: &str) -> Result<Subject, Stop> {
        let start = self.here();
        let colon = self.peek_second().is_some_and(|item| item.kind == ItemKind::Mark(b':'));
        if self.peek_word() == Some("line") && colon {
            self.pass();
            self.pass();
            return match self.peek() {
                Some(Item { kind: ItemKind::Number, span })
                    if self.slice(span).parse::<u32>().is_ok_and(|line| line > 0) =>
                {
                    self.pass();
                    Ok(Subject::Line(start.to(span)))
                }
                _ => Err(self.missing("the number of a line", form)),
            };
        }
        Ok(Subject::Name(self.reference("the name of an element", form)?))
    }

    fn kit(&mut self, form: &str) -> Read {
        self.declare(Class::Kit, form)?;
        let mut parameters: Vec<Parameter> = Vec::new();
        if self.peek().is_none() {
            return Ok(Node::Kit { parameters });
        }
        if !self.pass_mark(b'(') {
            return Err(self.missing("`(`", form));
        }
        while !self.pass_mark(b')') {
            let Some(Item { kind: ItemKind::Word, span: name }) = self.peek() else {
                return Err(self.missing("a parameter or `)`", form));
            };
            self.pass();
            let word = self.slice(name);
            if !is_name(word) {
                self.tell(id::SYNTAX, name, |_| {
                    let help = "a name is a letter of a to z, then letters, digits, `-` or `_`";
                    (format!("`{}` is not a name", clip(word)), "stands as a parameter".into(), help.into())
                });
            } else if parameters.iter().any(|one| self.slice(one.name) == word) {
                self.tell(id::NAME, name, |_| {
                    let help = "parameters of one kit have names of their own";
                    (
                        format!("the parameter `{word}` is declared twice"),
                        "the second one".into(),
                        help.into(),
                    )
                });
            }
            if !self.pass_mark(b':') {
                return Err(self.missing("`:` and a type", form));
            }
            if self.peek_word().is_none() {
                return Err(self.missing("a type", form));
            }
            let kind = match self.choice(":", words::PARAMETER_TYPES) {
                Ok(chosen) => ParameterKind::find(self.slice(chosen.span)).unwrap_or(ParameterKind::Any),
                Err(Stop) => ParameterKind::Any,
            };
            if parameters.len() >= MOST_PARAMETERS {
                return Err(self.tell(id::LIMIT, name, |_| {
                    let help = format!("a kit has at most {MOST_PARAMETERS}");
                    (
                        format!("a kit with more than {MOST_PARAMETERS} parameters"),
                        "one too many".into(),
                        help,
                    )
                }));
            }
            parameters.push(Parameter { name, kind });
            if !self.pass_mark(b',') && !self.peek().is_some_and(|item| item.kind == ItemKind::Mark(b')')) {
                return Err(self.missing("`,` or `)`", form));
            }
        }
        Ok(Node::Kit { parameters })
    }

    fn fit(&mut self, form: &str) -> Read {
        let kit = self.named("a kit", form)?;
        self.keyword("as", form)?;
        // The form's third word belongs to the head of other statements, so it is no guide here.
        self.declare(Class::Fit, "fit KIT")?;
        let mut arguments = Vec::new();
        if self.peek().is_none() {
            return Ok(Node::Fit { kit, arguments });
        }
        if !self.pass_mark(b'(') {
            return Err(self.missing("`(`", form));
        }
        while !self.pass_mark(b')') {
            let Some(Item { kind: ItemKind::Word, span: name }) = self.peek() else {
                return Err(self.missing("a parameter or `)`", form));
            };
            self.pass();
            if !self.pass_mark(b'=') {
                return Err(self.missing("`=`", form));
            }
            let value = self.argument(form)?;
            arguments.push((name, value, name.to(value.span)));
            if !self.pass_mark(b',') && !self.peek().is_some_and(|item| item.kind == ItemKind::Mark(b')')) {
                return Err(self.missing("`,` or `)`", form));
            }
        }
        Ok(Node::Fit { kit, arguments })
    }

    fn argument(&mut self, form: &str) -> Result<Value, Stop> {
        const ALL: &[Dimension] =
            &[Dimension::Voltage, Dimension::Current, Dimension::Area, Dimension::Length];
        let Some(item) = self.peek() else { return Err(self.missing("a value", form)) };
        let span = item.span;
        let what = match item.kind {
            ItemKind::Number | ItemKind::Gauge | ItemKind::Comma => {
                let figure = self.figure("", ALL)?;
                if !ALL.contains(&figure.unit.dimension) {
                    let written = self.slice(figure.span);
                    return Err(self.tell(id::UNIT, figure.span, |_| {
                        let help = format!("parameters take {}", phrases(ALL));
                        (
                            format!("no parameter takes `{}`", clip(written)),
                            "stands as an argument".into(),
                            help,
                        )
                    }));
                }
                let quantity = self.measure(figure, Range::Rating)?;
                return Ok(Value { what: What::Quantity(quantity), span: figure.span });
            }
            ItemKind::Text => {
                self.pass();
                self.check_escapes(span);
                What::Text
            }
            ItemKind::Parameter => What::Parameter(self.parameter()?.0),
            // A word may be anything here: a colour, `ring-M8`, a name, a terminal.
            ItemKind::Word => {
                self.pass();
                let word = self.slice(span);
                let (path, terminal) =
                    word.split_once('.').map_or((word, None), |(path, rest)| (path, Some(rest)));
                if terminal.is_some() && path.split('/').all(is_name) {
                    let point = u32::try_from(span.start as usize + path.len()).unwrap_or(0);
                    What::Terminal(Reference { span, point, parameter: None })
                } else {
                    What::Word
                }
            }
            _ => return Err(self.missing("a value", form)),
        };
        Ok(Value { what, span })
    }
}

impl Key {
    const ISOLATED: Self = Self::Property("isolated");
    const COMMON: Self = Self::Property("common");
}
