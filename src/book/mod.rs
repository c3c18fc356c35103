//! Rule books: limits, tables and severities, each figure with its source.
//!
//! A book is data in `rules/NAME.toml`. Knows nothing of circuits and of rules but their ids.

mod ampacity;
mod change;
mod fields;
mod house;
mod limits;
mod list;
mod listing;
mod load;
mod load_tables;
mod open;
mod origin;
mod quantity;
mod rule_ids;
mod shelf;
mod tables;
#[cfg(test)]
mod tests;
mod usual;

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

pub use ampacity::Conductor;
pub(crate) use house::{Device, Evaluator, Field, MOST_STEPS, Row, Undecided, Value};
pub use house::{Element, Example, FIELDS, FieldRow, FieldType, HouseRule};
pub use limits::{
    AreaLimit, CapacityLimit, ChemistryLimit, CurrentLimit, LengthLimit, Limit, LimitKind, NumberLimit,
    ShareLimit, TemperatureLimit, VoltageLimit, WordLimit,
};
pub use listing::{Listed, ListedRow};
pub use open::Unread;
pub use origin::{Cell, Confidence, Figure};
pub use rule_ids::{RULE_IDS, is_house_rule};
pub use shelf::Books;
pub use tables::Gate;

use crate::design::{Chemistry, Coating, FuseType, LimitValue, Strand, WireColour};
use crate::findings::Severity;
use crate::text::{FileId, Source};
use crate::units::{Area, Capacity, Current, Length, Resistance, Share, Size, Temperature, Voltage};
use load_tables::Tables;
use origin::Origin;

/// The books that ship, by name.
const SHIPPED: &[(&str, &str)] = &[
    (COMMON_PRACTICE, include_str!("../../rules/common-practice.toml")),
    ("small-craft-us", include_str!("../../rules/small-craft-us.toml")),
    ("small-craft-iso", include_str!("../../rules/small-craft-iso.toml")),
    ("caravan-us", include_str!("../../rules/caravan-us.toml")),
];

/// The book that judges a design which names none, and that the other books build on.
const COMMON_PRACTICE: &str = "common-practice";

/// The nominal voltage that figures by chemistry are given for.
const PER_NOMINAL_VOLTS: f64 = 12.0;

/// A rule book. Cheap to clone.
#[derive(Debug, Clone)]
pub struct Book(Arc<Inner>);

#[derive(Debug, Clone)]
struct Inner {
    name: String,
    title: String,
    /// One entry for each of [`Limit::all`], in its order.
    limits: Vec<Entry>,
    tables: Arc<Tables>,
    rules: BTreeMap<Cow<'static, str>, RuleSetting>,
    house: house::House,
    rule_sources: BTreeMap<Cow<'static, str>, Arc<str>>,
    /// The book that it builds on.
    base: Option<Book>,
}

#[derive(Debug, Clone, PartialEq)]
struct Entry {
    value: LimitValue,
    origin: Origin,
    because: Option<String>,
}

/// What a book says of a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RuleSetting {
    /// Whether the rule is judged at all.
    pub applies: bool,
    /// Its severity, where the book changes it.
    pub severity: Option<Severity>,
}

/// What a wire carries, for its colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ColourRole {
    /// Current from a source's positive.
    Positive,
    /// Current back to a source's negative.
    Negative,
    /// Fault current alone.
    Bond,
    /// Sense, enable and data.
    Control,
}

impl ColourRole {
    /// Every role with its word in books.
    pub const WORDS: [(&'static str, Self); 4] = [
        ("positive", Self::Positive),
        ("negative", Self::Negative),
        ("bond", Self::Bond),
        ("control", Self::Control),
    ];
}

impl Book {
    /// A book that ships with the program.
    #[must_use]
    pub fn shipped(name: &str) -> Option<Self> {
        static FIRST: LazyLock<Option<Book>> = LazyLock::new(|| read_shipped(COMMON_PRACTICE));
        static OTHERS: LazyLock<BTreeMap<&'static str, Book>> = LazyLock::new(|| {
            let others = SHIPPED.iter().filter(|row| row.0 != COMMON_PRACTICE);
            others.filter_map(|row| Some((row.0, read_shipped(row.0)?))).collect()
        });
        if name == COMMON_PRACTICE { FIRST.clone() } else { OTHERS.get(name).cloned() }
    }

    /// The names of the books that ship; the default is the first.
    #[must_use]
    pub fn shipped_names() -> Vec<&'static str> {
        SHIPPED.iter().map(|row| row.0).collect()
    }

    /// The text of a book that ships.
    #[must_use]
    pub fn shipped_text(name: &str) -> Option<&'static str> {
        SHIPPED.iter().find(|row| row.0 == name).map(|row| row.1)
    }

    /// Its name, as designs write it.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// Its title.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.0.title
    }

    /// A limit that is a length.
    #[must_use]
    pub fn length(&self, limit: LengthLimit) -> Length {
        Length::metres(self.number_of(Limit::Length(limit)))
    }

    /// A limit that is a share.
    #[must_use]
    pub fn share(&self, limit: ShareLimit) -> Share {
        Share::ratio(self.number_of(Limit::Share(limit)))
    }

    /// A limit that is a plain number.
    #[must_use]
    pub fn number(&self, limit: NumberLimit) -> f64 {
        self.number_of(Limit::Number(limit))
    }

    /// A limit that is a temperature.
    #[must_use]
    pub fn temperature(&self, limit: TemperatureLimit) -> Temperature {
        Temperature::celsius(self.number_of(Limit::Temperature(limit)))
    }

    /// A limit that is a current.
    #[must_use]
    pub fn current(&self, limit: CurrentLimit) -> Current {
        Current::amps(self.number_of(Limit::Current(limit)))
    }

    /// A limit that is a voltage.
    #[must_use]
    pub fn voltage(&self, limit: VoltageLimit) -> Voltage {
        Voltage::volts(self.number_of(Limit::Voltage(limit)))
    }

    /// A limit that is an area.
    #[must_use]
    pub fn area(&self, limit: AreaLimit) -> Area {
        Area::mm2(self.number_of(Limit::Area(limit)))
    }

    /// A limit that is a capacity.
    #[must_use]
    pub fn capacity(&self, limit: CapacityLimit) -> Capacity {
        Capacity::amp_hours(self.number_of(Limit::Capacity(limit)))
    }

    /// A limit that is one of a few words.
    #[must_use]
    pub fn word(&self, limit: WordLimit) -> &str {
        match self.entry(Limit::Word(limit)).map(|entry| &entry.value) {
            Some(LimitValue::Word(word)) => word,
            _ => "",
        }
    }

    /// The severity that a word limit of `return.bypass` names; `None` where the book lets it be.
    #[must_use]
    pub fn bypass_severity(&self, limit: WordLimit) -> Option<Severity> {
        let word = self.word(limit);
        [Severity::Error, Severity::Warning, Severity::Advice]
            .into_iter()
            .find(|severity| severity.word() == word)
    }

    /// Whether wires of a starter motor's circuit are exempt from protection.
    #[must_use]
    pub fn cranking_exempt(&self) -> bool {
        self.word(WordLimit::Cranking) == "exempt"
    }

    /// Whether what is tapped from a starter motor's feed counts as fed by a source there.
    #[must_use]
    pub fn cranking_restarts(&self) -> bool {
        self.word(WordLimit::CrankingRestarts) == "yes"
    }

    /// Whether circuit-breakers that close again by themselves are refused.
    #[must_use]
    pub fn manual_reset(&self) -> bool {
        self.word(WordLimit::BreakerReset) == "manual"
    }

    /// The insulation class of a wire that states none.
    #[must_use]
    pub fn insulation_assumed(&self) -> Temperature {
        self.temperature(TemperatureLimit::InsulationAssumed)
    }

    /// What the book says of a rule; a rule that it does not mention applies with the rule's own severity.
    #[must_use]
    pub fn rule(&self, id: &str) -> RuleSetting {
        self.0.rules.get(id).copied().unwrap_or(RuleSetting { applies: true, severity: None })
    }

    /// Standard ratings of a fuse type, or of breakers, ascending.
    #[must_use]
    pub fn ratings(&self, kind: Option<FuseType>) -> &[Current] {
        self.tables().ratings(kind).map_or(&[], |ratings| &ratings.all)
    }

    /// The highest charging voltage of a battery.
    #[must_use]
    pub fn full_voltage(&self, chemistry: Chemistry, nominal: Voltage) -> Voltage {
        self.chemistry_voltage(ChemistryLimit::Full, chemistry, nominal)
    }

    /// The lowest absorption voltage that charges a battery well.
    #[must_use]
    pub fn absorption_least(&self, chemistry: Chemistry, nominal: Voltage) -> Voltage {
        self.chemistry_voltage(ChemistryLimit::AbsorptionLeast, chemistry, nominal)
    }

    /// The voltage of a discharged battery.
    #[must_use]
    pub fn empty_voltage(&self, chemistry: Chemistry, nominal: Voltage) -> Voltage {
        self.chemistry_voltage(ChemistryLimit::Empty, chemistry, nominal)
    }

    /// The prospective short-circuit current of a battery that states neither it nor its resistance.
    #[must_use]
    pub fn fault_current(&self, chemistry: Chemistry, capacity: Capacity) -> Current {
        let per_amp_hour = self.number_of(Limit::Chemistry(ChemistryLimit::FaultPerAmpHour, chemistry));
        Current::amps(per_amp_hour * capacity.as_amp_hours())
    }

    /// The share of its capacity in an hour that may charge a battery.
    #[must_use]
    pub fn charge_share(&self, chemistry: Chemistry) -> Share {
        Share::ratio(self.number_of(Limit::Chemistry(ChemistryLimit::ChargeShare, chemistry)))
    }

    /// By how much solar modules exceed their open-circuit voltage at `temperature.lowest`.
    #[must_use]
    pub fn voc_factor(&self) -> f64 {
        let lowest = self.temperature(TemperatureLimit::Lowest).as_celsius();
        let rows = &self.tables().cold;
        match rows.rows.first() {
            Some(coldest) if lowest < coldest.0 => coldest.1,
            _ => rows.from(lowest).unwrap_or(1.0),
        }
    }

    /// Resistance of one metre of conductor. AWG and road-vehicle gauge are taken as stranded whatever the class.
    #[must_use]
    pub fn resistance_per_metre(
        &self,
        size: Size,
        strand: Strand,
        coating: Coating,
        temperature: Temperature,
    ) -> Resistance {
        let tables = self.tables();
        let area = size.area().as_mm2();
        let ohms_per_km = match size {
            Size::Metric(_) => tables.resistances.at(area, strand, coating),
            Size::Awg(_) | Size::Sae(_) => tables.copper.gauge(area, coating),
        };
        tables.copper.warmed(ohms_per_km, temperature)
    }

    /// The hole of a ring made for a thread, both in millimetres. For a thread that is not in the table: 5 % wider than
    /// the thread, and 1 mm at most (common practice, no source).
    #[must_use]
    pub fn ring_hole_mm(&self, thread: f64) -> f64 {
        const WIDER: f64 = 0.05;
        const AT_MOST_MM: f64 = 1.0;
        let known = self.tables().rings.rows.iter().find(|row| (row.0 - thread).abs() < 0.01);
        known.map_or_else(|| thread + (thread * WIDER).min(AT_MOST_MM), |row| row.1)
    }

    /// `k` of the energy `k²S²` in A²s that a conductor of an insulation class bears: of the class, or the lower of
    /// the two beside it.
    #[must_use]
    pub fn withstand_k(&self, insulation: Temperature) -> f64 {
        self.withstand_row(insulation).map_or(0.0, |row| row.k)
    }

    /// The insulation class whose `k` that is.
    #[must_use]
    pub fn withstand_class(&self, insulation: Temperature) -> Option<Temperature> {
        self.withstand_row(insulation).map(|row| Temperature::celsius(row.class))
    }

    fn withstand_row(&self, insulation: Temperature) -> Option<&tables::Withstand> {
        let class = insulation.as_celsius();
        let rows = &self.tables().withstand;
        let below = rows.iter().rev().find(|row| row.class <= class).or(rows.first())?;
        let above = rows.iter().find(|row| class <= row.class).or(rows.last())?;
        Some(if above.k < below.k { above } else { below })
    }

    /// The gates of a fuse type (`None`: of breakers) for a rating; none where no standard gives any.
    #[must_use]
    pub fn gates(&self, kind: Option<FuseType>, rating: Current) -> &[Gate] {
        let amps = rating.as_amps();
        let word = kind.map_or("breaker", FuseType::word);
        let rows = self.tables().opening.get(word).map_or(&[][..], Vec::as_slice);
        rows.iter().find(|row| row.least <= amps && amps <= row.most).map_or(&[], |row| &row.gates)
    }

    /// What a fuse type (`None`: a breaker) breaks at a voltage, and the voltage up to which that holds; `None` where the
    /// book has no figure for so high a voltage.
    #[must_use]
    pub fn breaks(&self, kind: Option<FuseType>, voltage: Voltage) -> Option<(Current, Voltage)> {
        let word = kind.map_or("breaker", FuseType::word);
        let rows = self.tables().breaks.get(word)?.iter();
        let rows = rows.map(|row| (Current::amps(row.amps), Voltage::volts(row.volts)));
        rows.filter(|row| voltage.within(row.1)).reduce(|best, row| if best.0 < row.0 { row } else { best })
    }

    /// Whether a wire that carries this may have this colour.
    #[must_use]
    pub fn allows_colour(&self, role: ColourRole, colour: WireColour) -> bool {
        self.tables().colours(role).is_none_or(|colours| colours.allow(colour))
    }

    /// The colours that a wire may have for what it carries; none where any will do.
    #[must_use]
    pub fn colours(&self, role: ColourRole) -> &[WireColour] {
        self.tables().colours(role).map_or(&[], |colours| &colours.allowed)
    }

    fn chemistry_voltage(&self, limit: ChemistryLimit, chemistry: Chemistry, nominal: Voltage) -> Voltage {
        Voltage::volts(self.number_of(Limit::Chemistry(limit, chemistry)))
            * (nominal.as_volts() / PER_NOMINAL_VOLTS)
    }

    fn entry(&self, limit: Limit) -> Option<&Entry> {
        self.0.limits.get(limit.index())
    }

    fn number_of(&self, limit: Limit) -> f64 {
        self.entry(limit).map_or(0.0, |entry| quantity::number(&entry.value))
    }

    fn tables(&self) -> &Tables {
        &self.0.tables
    }
}

/// Reads a book that ships. The others build on the first one alone.
fn read_shipped(name: &str) -> Option<Book> {
    let text = Book::shipped_text(name)?;
    let source = Source::new(format!("rules/{name}.toml"), text);
    Book::parse(name, FileId(0), &source, &mut |_| None).ok()
}
