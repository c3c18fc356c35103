//! The names of all limits, by the kind of value that each has.

use std::borrow::Cow;

use crate::design::Chemistry;
use crate::text::nearest;

macro_rules! limits {
    ($($(#[$doc:meta])* $kind:ident { $(#[doc = $say:literal] $limit:ident = $name:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $kind {
            $(#[doc = $say] $limit,)*
        }

        impl $kind {
            /// Every one, in the order of the listing.
            pub const ALL: &'static [Self] = &[$(Self::$limit),*];

            /// Its name in books and in `limit` statements.
            #[must_use]
            pub fn name(self) -> &'static str {
                match self { $(Self::$limit => $name),* }
            }

            /// What it limits, in one sentence.
            #[must_use]
            pub fn doc(self) -> &'static str {
                match self { $(Self::$limit => $say.trim_ascii_start()),* }
            }
        }
    )*};
}

limits! {
    /// Limits that are lengths.
    LengthLimit {
        /// How far from a battery's terminal the end of an unprotected wire may be, run bare.
        BatteryBare = "distance.battery-bare",
        /// How far from a battery's terminal the end of an unprotected wire may be, sheathed all the way.
        BatterySheathed = "distance.battery-sheathed",
        /// How far from another source's terminal the end of an unprotected wire may be, run bare.
        OtherBare = "distance.other-bare",
        /// How far from another source's terminal the end of an unprotected wire may be, sheathed all the way.
        OtherSheathed = "distance.other-sheathed",
        /// The longest wire that joins the positives of two batteries of a bank.
        BankLink = "bank.link",
        /// How much larger than the stud a ring's hole may be.
        RingClearance = "ring.clearance",
    }

    /// Limits that are shares of something.
    ShareLimit {
        /// The permitted ratio of a protective device's rating to the ampacity of what it protects (k).
        ProtectionRatio = "protection.ratio",
        /// The same for circuits of a nominal `protection.high-voltage` or more.
        ProtectionRatioHigh = "protection.ratio-high",
        /// The share of a protective device's rating that may flow for good.
        ProtectionContinuous = "protection.continuous",
        /// The share of a blade fuse's rating that may flow for good.
        ProtectionContinuousBlade = "protection.continuous-blade",
        /// The largest drop to a critical load and back, as a share of nominal voltage.
        DropCritical = "drop.critical",
        /// The largest drop to any other load, or of a charger, and back, as a share of nominal voltage.
        DropOther = "drop.other",
        /// From this ratio of ratings on the device nearer the source lets the other one open first.
        Selectivity = "selectivity.ratio",
        /// By how much conductors or batteries in parallel may differ in what they carry.
        Spread = "share.spread",
        /// The share of an alternator's maximum, or of a supply's, that the chargers on it may take for good.
        Alternator = "alternator.share",
        /// The voltage that an alternator holds where a mode names none, as a share of nominal voltage.
        AlternatorVoltage = "alternator.voltage",
        /// The efficiency of a charger fed by DC or AC that states none.
        ChargerEfficiency = "efficiency.charger",
        /// The efficiency of a charger fed by solar that states none.
        SolarChargerEfficiency = "efficiency.solar-charger",
        /// The efficiency of an inverter that states none.
        InverterEfficiency = "efficiency.inverter",
        /// The ampacity of copper-clad aluminium as a share of that of copper of the same size.
        AluminiumCladAmpacity = "aluminium-clad.ampacity",
        /// The conductivity of copper-clad aluminium as a share of that of copper.
        AluminiumCladConductivity = "aluminium-clad.conductivity",
        /// The largest factor for ambient temperature, however cool the place is.
        AmbientMost = "ambient.most",
        /// By how much a measured drop or current may lie beyond what is computed.
        Reading = "reading.share",
        /// By how much a measured voltage of a terminal may lie beyond what is computed.
        ReadingVoltage = "reading.voltage",
    }

    /// Limits that are plain numbers.
    NumberLimit {
        /// How many rings one stud may hold.
        RingsPerStud = "rings.per-stud",
    }

    /// Limits that are temperatures.
    TemperatureLimit {
        /// The coldest day that a design must bear.
        Lowest = "temperature.lowest",
        /// The temperature of conductors in operation, for computed drops.
        ConductorOperating = "conductor.operating",
        /// The insulation class of a wire that states none.
        InsulationAssumed = "insulation.assumed",
        /// The temperature below which a lithium battery takes no charge.
        LithiumCharge = "charge.coldest-lithium",
    }

    /// Limits that are currents.
    CurrentLimit {
        /// A sense or control lead behind a device of at most this is exempt from `size.least`.
        ControlDevice = "size.control-device",
        /// The largest current for good in a blade fuse.
        TypeBlade = "type.blade",
        /// The least by which any measured current may lie beyond what is computed.
        ReadingLeast = "reading.least-current",
    }

    /// Limits that are voltages.
    VoltageLimit {
        /// From this nominal voltage on, `protection.ratio-high` stands in place of `protection.ratio`.
        ProtectionHigh = "protection.high-voltage",
        /// Conductors of circuits of this nominal voltage or more count in a bundle and take its factor.
        BundlingFrom = "bundling.from",
        /// The least by which any measured voltage or drop may lie beyond what is computed.
        ReadingLeast = "reading.least-voltage",
        /// What a fuse, breaker, switch, plug or cutoff may lose inside at its rating, where something is measured across it.
        ReadingDevice = "reading.device",
    }

    /// Limits that are areas.
    AreaLimit {
        /// The smallest conductor.
        SizeLeast = "size.least",
        /// The smallest conductor that is sheathed over its whole length.
        SizeLeastSheathed = "size.least-sheathed",
    }

    /// Limits that are battery capacities.
    CapacityLimit {
        /// A bank above this has a device at each of its batteries.
        BankDeviceEach = "bank.device-each",
    }

    /// Limits that are one word of a few.
    WordLimit {
        /// Whether wires of a starter motor's circuit are exempt from protection.
        Cranking = "cranking",
        /// Whether what is tapped from a starter motor's feed counts as fed by a source there.
        CrankingRestarts = "cranking.restarts",
        /// Which circuit-breakers may be used: only those reset by hand, or any.
        BreakerReset = "breaker.reset",
        /// How severe a loop in the return is with a data lead in it.
        BypassDataLead = "return.bypass.data-lead",
        /// How severe a loop in the return is with a conductor thinner than the battery's own return in it.
        BypassThinner = "return.bypass.thinner",
        /// How severe any other loop in the return is.
        BypassOther = "return.bypass.other",
    }

    /// Figures that each battery chemistry has its own of; the chemistry's word ends the name.
    ChemistryLimit {
        /// The highest charging voltage for each 12 V of nominal voltage.
        Full = "full",
        /// The lowest useful absorption voltage for each 12 V of nominal voltage.
        AbsorptionLeast = "absorption-least",
        /// The voltage of a discharged battery for each 12 V of nominal voltage.
        Empty = "empty",
        /// The prospective short-circuit current for each ampere-hour, in amperes.
        FaultPerAmpHour = "fault-per-amp-hour",
        /// The share of its capacity in an hour that may charge it.
        ChargeShare = "charge.share",
    }
}

impl WordLimit {
    /// The words that it can be.
    #[must_use]
    pub fn words(self) -> &'static [&'static str] {
        match self {
            Self::Cranking => &["exempt", "judged"],
            Self::CrankingRestarts => &["yes", "no"],
            Self::BreakerReset => &["manual", "any"],
            Self::BypassDataLead | Self::BypassThinner | Self::BypassOther => {
                &["error", "warning", "advice", "none"]
            }
        }
    }
}

/// The kinds of value that a limit can have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is its quantity")]
pub enum LimitKind {
    Length,
    Share,
    Number,
    Temperature,
    Current,
    Voltage,
    Area,
    Capacity,
    Word,
}

impl LimitKind {
    /// How it is called, with an example of how it is written.
    #[must_use]
    pub fn example(self) -> &'static str {
        match self {
            Self::Length => "a length, such as 180 mm",
            Self::Share => "a share, such as 80 %",
            Self::Number => "a number, such as 4",
            Self::Temperature => "a temperature, such as 60 C",
            Self::Current => "a current, such as 20 A",
            Self::Voltage => "a voltage, such as 14.4 V",
            Self::Area => "an area, such as 0.75 mm2",
            Self::Capacity => "a capacity, such as 500 Ah",
            Self::Word => "a word",
        }
    }
}

/// Any limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is the kind of the same name")]
pub enum Limit {
    Length(LengthLimit),
    Share(ShareLimit),
    Number(NumberLimit),
    Temperature(TemperatureLimit),
    Current(CurrentLimit),
    Voltage(VoltageLimit),
    Area(AreaLimit),
    Capacity(CapacityLimit),
    Word(WordLimit),
    Chemistry(ChemistryLimit, Chemistry),
}

const SHARES: usize = LengthLimit::ALL.len();
const NUMBERS: usize = SHARES + ShareLimit::ALL.len();
const TEMPERATURES: usize = NUMBERS + NumberLimit::ALL.len();
const CURRENTS: usize = TEMPERATURES + TemperatureLimit::ALL.len();
const VOLTAGES: usize = CURRENTS + CurrentLimit::ALL.len();
const AREAS: usize = VOLTAGES + VoltageLimit::ALL.len();
const CAPACITIES: usize = AREAS + AreaLimit::ALL.len();
const WORDS: usize = CAPACITIES + CapacityLimit::ALL.len();
const CHEMISTRIES: usize = WORDS + WordLimit::ALL.len();

impl Limit {
    /// Every limit, in the order of the listing.
    pub fn all() -> impl Iterator<Item = Self> {
        let plain = LengthLimit::ALL.iter().map(|limit| Self::Length(*limit));
        plain
            .chain(ShareLimit::ALL.iter().map(|limit| Self::Share(*limit)))
            .chain(NumberLimit::ALL.iter().map(|limit| Self::Number(*limit)))
            .chain(TemperatureLimit::ALL.iter().map(|limit| Self::Temperature(*limit)))
            .chain(CurrentLimit::ALL.iter().map(|limit| Self::Current(*limit)))
            .chain(VoltageLimit::ALL.iter().map(|limit| Self::Voltage(*limit)))
            .chain(AreaLimit::ALL.iter().map(|limit| Self::Area(*limit)))
            .chain(CapacityLimit::ALL.iter().map(|limit| Self::Capacity(*limit)))
            .chain(WordLimit::ALL.iter().map(|limit| Self::Word(*limit)))
            .chain(ChemistryLimit::ALL.iter().flat_map(|limit| limit.each()))
    }

    /// The limits that a name stands for: one, or those of all chemistries where the name is without one.
    #[must_use]
    pub fn named(name: &str) -> Vec<Self> {
        if let Some(family) = ChemistryLimit::ALL.iter().find(|family| family.name() == name) {
            return family.each().collect();
        }
        Self::all().filter(|limit| limit.is_named(name)).collect()
    }

    fn is_named(self, name: &str) -> bool {
        match self {
            Self::Chemistry(family, chemistry) => name
                .strip_prefix(family.name())
                .and_then(|rest| rest.strip_prefix('.'))
                .is_some_and(|rest| rest == chemistry.word()),
            single => single.name() == name,
        }
    }

    /// The limit's name that is nearest to a misspelt one.
    #[must_use]
    pub fn nearest(name: &str) -> Option<String> {
        let names: Vec<_> = Self::all().map(Self::name).collect();
        nearest(name, names.iter().map(Cow::as_ref)).map(Into::into)
    }

    /// Its name in books and in `limit` statements.
    #[must_use]
    pub fn name(self) -> Cow<'static, str> {
        match self {
            Self::Length(limit) => limit.name().into(),
            Self::Share(limit) => limit.name().into(),
            Self::Number(limit) => limit.name().into(),
            Self::Temperature(limit) => limit.name().into(),
            Self::Current(limit) => limit.name().into(),
            Self::Voltage(limit) => limit.name().into(),
            Self::Area(limit) => limit.name().into(),
            Self::Capacity(limit) => limit.name().into(),
            Self::Word(limit) => limit.name().into(),
            Self::Chemistry(family, chemistry) => format!("{}.{}", family.name(), chemistry.word()).into(),
        }
    }

    /// What it limits, in one sentence.
    #[must_use]
    pub fn doc(self) -> &'static str {
        match self {
            Self::Length(limit) => limit.doc(),
            Self::Share(limit) => limit.doc(),
            Self::Number(limit) => limit.doc(),
            Self::Temperature(limit) => limit.doc(),
            Self::Current(limit) => limit.doc(),
            Self::Voltage(limit) => limit.doc(),
            Self::Area(limit) => limit.doc(),
            Self::Capacity(limit) => limit.doc(),
            Self::Word(limit) => limit.doc(),
            Self::Chemistry(family, _) => family.doc(),
        }
    }

    /// The kind of its value.
    #[must_use]
    pub fn kind(self) -> LimitKind {
        match self {
            Self::Length(_) => LimitKind::Length,
            Self::Share(_) | Self::Chemistry(ChemistryLimit::ChargeShare, _) => LimitKind::Share,
            Self::Number(_) | Self::Chemistry(ChemistryLimit::FaultPerAmpHour, _) => LimitKind::Number,
            Self::Temperature(_) => LimitKind::Temperature,
            Self::Current(_) => LimitKind::Current,
            Self::Area(_) => LimitKind::Area,
            Self::Capacity(_) => LimitKind::Capacity,
            Self::Word(_) => LimitKind::Word,
            Self::Voltage(_) | Self::Chemistry(..) => LimitKind::Voltage,
        }
    }

    /// The words that it can be, where its kind is a word.
    #[must_use]
    pub fn words(self) -> &'static [&'static str] {
        match self {
            Self::Word(limit) => limit.words(),
            _ => &[],
        }
    }

    /// Its position in [`Limit::all`].
    pub(super) fn index(self) -> usize {
        match self {
            Self::Length(limit) => limit as usize,
            Self::Share(limit) => SHARES + limit as usize,
            Self::Number(limit) => NUMBERS + limit as usize,
            Self::Temperature(limit) => TEMPERATURES + limit as usize,
            Self::Current(limit) => CURRENTS + limit as usize,
            Self::Voltage(limit) => VOLTAGES + limit as usize,
            Self::Area(limit) => AREAS + limit as usize,
            Self::Capacity(limit) => CAPACITIES + limit as usize,
            Self::Word(limit) => WORDS + limit as usize,
            Self::Chemistry(family, chemistry) => {
                CHEMISTRIES + family as usize * Chemistry::WORDS.len() + chemistry as usize
            }
        }
    }
}

impl ChemistryLimit {
    fn each(self) -> impl Iterator<Item = Limit> {
        Chemistry::WORDS.iter().map(move |row| Limit::Chemistry(self, row.1))
    }
}
