//! A design with its names resolved and nothing electrical in it yet.

use crate::text::{FileId, Span};
use crate::units::{
    Area, Capacity, Current, HeatIntegral, Length, Power, Resistance, Share, Size, Temperature, Torque,
    Voltage,
};

use super::ids::{ComponentId, DataId, FitId, ModeId, Table, TerminalId, WireId, ZoneId};

/// Where an element stands: its name in the source, and the fits that led there, innermost given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// The element's name (or, without a name, its whole statement).
    pub span: Span,
    /// The fit that it came with.
    pub fit: Option<FitId>,
    /// Position in the order of statements; what a kit holds stands where it is fitted. Unique in a design.
    pub order: u32,
}

/// A `fit` statement.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Full name, `outer/inner`.
    pub name: String,
    /// The kit's name.
    pub kit: String,
    /// The name in the `fit` statement.
    pub span: Span,
    /// The fit around it.
    pub parent: Option<FitId>,
}

/// A whole resolved design.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Design {
    /// Its file.
    pub file: Option<FileId>,
    /// Its name.
    pub name: String,
    /// Where the name stands.
    pub name_span: Option<Span>,
    /// Its title.
    pub title: String,
    /// The book that it names, with the place of the word.
    pub book: Option<(String, Span)>,
    /// What it assumes.
    pub assume: Assumptions,
    /// Limits of the book that it replaces.
    pub limits: Vec<LimitChange>,
    /// Places with a temperature of their own.
    pub zones: Table<ZoneId, Zone>,
    /// Fitted kits.
    pub fits: Table<FitId, Fit>,
    /// Components.
    pub components: Table<ComponentId, Component>,
    /// Terminals of all components, each component's together.
    pub terminals: Table<TerminalId, Terminal>,
    /// Wires.
    pub wires: Table<WireId, Wire>,
    /// Data leads.
    pub data: Table<DataId, DataLead>,
    /// Bolted joints, those by `on` included.
    pub joints: Vec<Joint>,
    /// Bundles.
    pub bundles: Vec<Bundle>,
    /// Operating states.
    pub modes: Table<ModeId, Mode>,
    /// Claims to verify.
    pub expects: Vec<Expect>,
    /// Measured values.
    pub readings: Vec<Reading>,
    /// Settings for commissioning.
    pub settings: Vec<Setting>,
    /// Rings on studs.
    pub stacks: Vec<Stack>,
    /// Remarks.
    pub notes: Vec<Note>,
    /// Accepted findings.
    pub waivers: Vec<Waiver>,
}

/// What a design assumes where an element does not say; `None` is the book's or the language's default.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Assumptions {
    /// Ambient temperature outside zones (30 °C).
    pub ambient: Option<Temperature>,
    /// Insulation class of wires.
    pub insulation: Option<Temperature>,
    /// Stranding.
    pub strand: Option<Strand>,
    /// Resistance of a bolted joint (0.1 mohm).
    pub contact: Option<Resistance>,
    /// Coating of the copper.
    pub copper: Option<Coating>,
}

/// Stranding classes of IEC 60228.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Strand {
    /// Class 2, stranded.
    Class2,
    /// Class 5, flexible.
    Class5,
}

/// Coating of copper strands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Coating {
    /// Bare copper.
    Plain,
    /// Tinned.
    Tinned,
}

/// `limit NAME VALUE because "why"`.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitChange {
    /// The limit's name, as in the book.
    pub name: String,
    /// Where the name stands.
    pub name_span: Span,
    /// The value, of the kind that was written.
    pub value: LimitValue,
    /// Where the value stands.
    pub value_span: Span,
    /// The reason.
    pub why: String,
}

/// A value that a limit can have; its kind is checked against the book's own value.
#[derive(Debug, Clone, PartialEq)]
pub enum LimitValue {
    /// A length.
    Length(Length),
    /// A share of one.
    Share(Share),
    /// A bare number.
    Number(f64),
    /// A temperature.
    Temperature(Temperature),
    /// A current.
    Current(Current),
    /// A voltage.
    Voltage(Voltage),
    /// A conductor size.
    Area(Area),
    /// A capacity.
    Capacity(Capacity),
    /// A word, such as `yes`.
    Word(String),
}

/// A place with its own temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// Its temperature.
    pub ambient: Temperature,
}

/// One terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Terminal {
    /// Its component.
    pub component: ComponentId,
    /// Which one it is.
    pub role: TerminalRole,
}

/// The terminals that kinds have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TerminalRole {
    /// `+`
    Plus,
    /// `-`
    Minus,
    /// `data`
    Data,
    /// `in+`
    InPlus,
    /// `in-`
    InMinus,
    /// `out+`
    OutPlus,
    /// `out1+` and on, from 1.
    OutPlusNumber(u8),
    /// `out-`
    OutMinus,
    /// `enable`
    Enable,
    /// `line`
    Line,
    /// `load`
    Load,
    /// `a`
    A,
    /// `b`
    B,
    /// `bat`
    Bat,
    /// `sys`
    Sys,
    /// `sense`
    Sense,
    /// `case`
    Case,
    /// The one node of a post, bar or chassis, written without a terminal.
    Node,
}

impl TerminalRole {
    /// The word after the point; empty for a node.
    #[must_use]
    pub fn word(self) -> String {
        let word = match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::Data => "data",
            Self::InPlus => "in+",
            Self::InMinus => "in-",
            Self::OutPlus => "out+",
            Self::OutPlusNumber(number) => return format!("out{number}+"),
            Self::OutMinus => "out-",
            Self::Enable => "enable",
            Self::Line => "line",
            Self::Load => "load",
            Self::A => "a",
            Self::B => "b",
            Self::Bat => "bat",
            Self::Sys => "sys",
            Self::Sense => "sense",
            Self::Case => "case",
            Self::Node => "",
        };
        word.into()
    }
}

/// The kinds of component.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Kind {
    /// A battery.
    Battery,
    /// An engine's alternator.
    Alternator,
    /// A feed made by others.
    Supply,
    /// Solar modules.
    Solar,
    /// A charger, from DC, from AC or from solar.
    Charger,
    /// An inverter.
    Inverter,
    /// Anything that takes current.
    Load,
    /// A fuse.
    Fuse,
    /// A circuit-breaker.
    Breaker,
    /// A switch or relay contact.
    Switch,
    /// One pole of a connector.
    Plug,
    /// An electronic low-voltage disconnect.
    Cutoff,
    /// A stud.
    Post,
    /// A bus bar.
    Bar,
    /// A shunt meter.
    Meter,
    /// A vehicle's frame or a boat's bonding system.
    Chassis,
    /// Takes data leads.
    Hub,
}

impl Kind {
    /// Every kind, in the order of the language reference.
    pub const ALL: [Self; 17] = [
        Self::Battery,
        Self::Alternator,
        Self::Supply,
        Self::Solar,
        Self::Charger,
        Self::Inverter,
        Self::Load,
        Self::Fuse,
        Self::Breaker,
        Self::Switch,
        Self::Plug,
        Self::Cutoff,
        Self::Post,
        Self::Bar,
        Self::Meter,
        Self::Chassis,
        Self::Hub,
    ];

    /// Its word in the language.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Battery => "battery",
            Self::Alternator => "alternator",
            Self::Supply => "supply",
            Self::Solar => "solar",
            Self::Charger => "charger",
            Self::Inverter => "inverter",
            Self::Load => "load",
            Self::Fuse => "fuse",
            Self::Breaker => "breaker",
            Self::Switch => "switch",
            Self::Plug => "plug",
            Self::Cutoff => "cutoff",
            Self::Post => "post",
            Self::Bar => "bar",
            Self::Meter => "meter",
            Self::Chassis => "chassis",
            Self::Hub => "hub",
        }
    }

    /// Its word with the article that it takes.
    #[must_use]
    pub fn phrase(self) -> String {
        let article = if self.word().starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
        format!("{article} {}", self.word())
    }

    /// Whether it is one metal node, named without a terminal.
    #[must_use]
    pub fn is_node(self) -> bool {
        matches!(self, Self::Post | Self::Bar | Self::Chassis)
    }

    /// Whether it opens by itself on too much current.
    #[must_use]
    pub fn is_protective(self) -> bool {
        matches!(self, Self::Fuse | Self::Breaker)
    }
}

/// One component.
#[derive(Debug, Clone, PartialEq)]
pub struct Component {
    /// Full name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// Its kind.
    pub kind: Kind,
    /// Its label in the documents.
    pub label: Option<String>,
    /// The part that it is, by name.
    pub part: Option<String>,
    /// Its zone.
    pub zone: Option<ZoneId>,
    /// What it is rated for, by kind.
    pub body: Body,
    /// Its first terminal; the others follow it.
    pub first_terminal: TerminalId,
    /// How many terminals.
    pub n_terminals: u32,
    /// Hardware of its terminals, from its part.
    pub hardware: Vec<(TerminalRole, Hardware)>,
}

/// What holds a conductor at a terminal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hardware {
    /// A stud, `M8`, and its torque.
    Stud {
        /// Thread diameter in millimetres.
        thread: f64,
        /// Torque, where stated.
        torque: Option<Torque>,
    },
    /// A screw clamp.
    Screw {
        /// Smallest conductor.
        least: Area,
        /// Largest conductor.
        most: Area,
        /// Torque, where stated.
        torque: Option<Torque>,
        /// Length to strip, where stated.
        strip: Option<Length>,
    },
    /// A push-on tab of this width in millimetres.
    Tab(f64),
    /// A pin.
    Pin,
}

/// Ratings by kind. An `Option` is a figure that was not stated.
#[derive(Debug, Clone, PartialEq)]
#[expect(missing_docs, reason = "each variant is the kind of the same name")]
pub enum Body {
    Battery(Battery),
    Alternator(Alternator),
    Supply(Supply),
    Solar(Solar),
    Charger(Charger),
    Inverter(Inverter),
    Load(Load),
    Fuse(Fuse),
    Breaker(Breaker),
    Switch(Switch),
    Plug(Rated),
    Cutoff(Rated),
    Post(Post),
    Bar(Bar),
    Meter(Meter),
    Chassis,
    Hub(Hub),
}

/// Battery chemistries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is its word")]
pub enum Chemistry {
    LeadAcid,
    Agm,
    Gel,
    Lifepo4,
    Nmc,
}

impl Chemistry {
    /// Every chemistry with its word.
    pub const WORDS: [(&'static str, Self); 5] = [
        ("lead-acid", Self::LeadAcid),
        ("agm", Self::Agm),
        ("gel", Self::Gel),
        ("lifepo4", Self::Lifepo4),
        ("nmc", Self::Nmc),
    ];

    /// Its word in the language.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|row| row.1 == self).map_or("", |row| row.0)
    }

    /// Whether it is a lithium chemistry.
    #[must_use]
    pub fn is_lithium(self) -> bool {
        matches!(self, Self::Lifepo4 | Self::Nmc)
    }
}

/// A battery.
#[derive(Debug, Clone, PartialEq)]
pub struct Battery {
    /// Nominal voltage.
    pub nominal: Voltage,
    /// Capacity.
    pub capacity: Option<Capacity>,
    /// Chemistry.
    pub chemistry: Option<Chemistry>,
    /// Prospective short-circuit current.
    pub fault: Option<Current>,
    /// Inner resistance.
    pub resistance: Option<Resistance>,
    /// Highest charging voltage.
    pub full: Option<Voltage>,
    /// Discharge current permitted for good.
    pub discharge: Option<Current>,
    /// Charging current permitted for good.
    pub charge: Option<Current>,
    /// Refuses charge below its temperature limit.
    pub cold_cutoff: bool,
}

/// An alternator.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternator {
    /// Nominal voltage.
    pub nominal: Option<Voltage>,
    /// Largest current.
    pub maximum: Current,
    /// The chassis that its negative is mounted on.
    pub returns: Option<ComponentId>,
}

/// A feed made by others. One of `maximum`, `fused` and `fault` is stated.
#[derive(Debug, Clone, PartialEq)]
pub struct Supply {
    /// Nominal voltage.
    pub nominal: Option<Voltage>,
    /// Largest current.
    pub maximum: Option<Current>,
    /// Rating of the device inside it.
    pub fused: Option<Current>,
    /// Prospective short-circuit current.
    pub fault: Option<Current>,
}

/// Solar modules.
#[derive(Debug, Clone, PartialEq)]
pub struct Solar {
    /// Open-circuit voltage.
    pub voc: Option<Voltage>,
    /// Short-circuit current of one string.
    pub isc: Current,
    /// Voltage at the maximum power.
    pub vmp: Option<Voltage>,
    /// Current of one string at the maximum power.
    pub imp: Option<Current>,
    /// Strings in parallel, at least 1.
    pub strings: u32,
    /// The modules' largest series fuse.
    pub series_fuse: Option<Current>,
}

/// What a charger is fed from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feed {
    /// DC at its input terminals.
    Dc,
    /// AC; it has no DC input terminals.
    Ac,
    /// Solar at its input terminals.
    Solar,
}

/// A charger.
#[derive(Debug, Clone, PartialEq)]
pub struct Charger {
    /// What feeds it.
    pub feed: Feed,
    /// Nominal input voltage.
    pub input: Option<Voltage>,
    /// Largest input current.
    pub input_current: Option<Current>,
    /// Highest input voltage that it bears.
    pub input_most: Option<Voltage>,
    /// Nominal voltage of what it charges.
    pub output: Option<Voltage>,
    /// Largest output current, of all outputs together.
    pub output_current: Current,
    /// `in-` and `out-` are one inside.
    pub common: bool,
    /// Efficiency.
    pub efficiency: Option<Share>,
    /// Refuses to charge in the cold.
    pub cold_cutoff: bool,
    /// Does nothing until `enable` is wired or bridged.
    pub needs_enable: bool,
    /// Number of outputs not joined inside; 1 with a plain `out+`.
    pub outputs: u8,
}

/// An inverter.
#[derive(Debug, Clone, PartialEq)]
pub struct Inverter {
    /// Nominal input voltage.
    pub nominal: Option<Voltage>,
    /// Power for good.
    pub power: Option<Power>,
    /// Power for a short time.
    pub surge: Option<Power>,
    /// Efficiency.
    pub efficiency: Option<Share>,
}

/// What a load takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Demand {
    /// Constant power.
    Power(Power),
    /// Constant current.
    Current(Current),
    /// A resistance.
    Resistance(Resistance),
}

/// A load.
#[derive(Debug, Clone, PartialEq)]
pub struct Load {
    /// Nominal voltage.
    pub nominal: Option<Voltage>,
    /// What it takes.
    pub demand: Option<Demand>,
    /// Its drop is held to the tighter limit.
    pub critical: bool,
    /// A motor.
    pub motor: bool,
    /// Current of the stalled motor.
    pub stall: Option<Current>,
    /// The chassis that is its negative.
    pub returns: Option<ComponentId>,
    /// The chassis that its housing is on.
    pub case: Option<ComponentId>,
    /// Stays fed with the main switch off.
    pub standby: bool,
}

/// Fuse types.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is its word")]
pub enum FuseType {
    Blade,
    BoltIn,
    Strip,
    ClassT,
    TerminalBlock,
    Cylindrical,
}

impl FuseType {
    /// Every type with its word in the language.
    pub const WORDS: [(&'static str, Self); 6] = [
        ("blade", Self::Blade),
        ("bolt-in", Self::BoltIn),
        ("strip", Self::Strip),
        ("class-t", Self::ClassT),
        ("terminal-block", Self::TerminalBlock),
        ("cylindrical", Self::Cylindrical),
    ];

    /// Its word in the language.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|row| row.1 == self).map_or("", |row| row.0)
    }
}

/// A breaking capacity, `breaks A at V`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Breaks {
    /// Current that it breaks.
    pub current: Current,
    /// At this voltage; else at its rated voltage.
    pub at: Option<Voltage>,
}

/// A fuse.
#[derive(Debug, Clone, PartialEq)]
pub struct Fuse {
    /// Rated current.
    pub rating: Current,
    /// Where the rating stands.
    pub rating_span: Span,
    /// Type.
    pub kind: Option<FuseType>,
    /// Rated voltage.
    pub volts: Option<Voltage>,
    /// Breaking capacities.
    pub breaks: Vec<Breaks>,
    /// The most I²t that it lets through at three times its rating or more.
    pub i2t: Option<HeatIntegral>,
    /// Rating of its holder.
    pub holder: Option<Current>,
}

/// A circuit-breaker.
#[derive(Debug, Clone, PartialEq)]
pub struct Breaker {
    /// Rated current.
    pub rating: Current,
    /// Where the rating stands.
    pub rating_span: Span,
    /// Rated voltage.
    pub volts: Option<Voltage>,
    /// Breaking capacities.
    pub breaks: Vec<Breaks>,
    /// The most I²t that it lets through at three times its rating or more.
    pub i2t: Option<HeatIntegral>,
    /// Rating of its holder.
    pub holder: Option<Current>,
    /// Breaks in one direction only.
    pub polarised: bool,
    /// Rated for AC alone.
    pub ac_only: bool,
    /// Closes again by itself.
    pub auto_reset: bool,
    /// Another pole of the same handle.
    pub pair: Option<ComponentId>,
}

/// A switch or relay contact.
#[derive(Debug, Clone, PartialEq)]
pub struct Switch {
    /// Current for good.
    pub rating: Option<Current>,
    /// Current for a short time.
    pub brief: Option<Current>,
    /// Rests open.
    pub open: bool,
    /// Worked by a coil.
    pub remote: bool,
    /// The isolator.
    pub main: bool,
    /// Another pole of the same handle.
    pub pair: Option<ComponentId>,
}

/// A plug or a cutoff.
#[derive(Debug, Clone, PartialEq)]
pub struct Rated {
    /// Rated current.
    pub rating: Option<Current>,
}

/// A stud.
#[derive(Debug, Clone, PartialEq)]
pub struct Post {
    /// Rated current.
    pub rating: Option<Current>,
    /// Thread diameter in millimetres.
    pub thread: Option<f64>,
}

/// A bus bar.
#[derive(Debug, Clone, PartialEq)]
pub struct Bar {
    /// Rated current.
    pub rating: Option<Current>,
    /// Thread diameter of its studs in millimetres.
    pub thread: Option<f64>,
    /// Number of studs.
    pub studs: Option<u32>,
}

/// A shunt meter.
#[derive(Debug, Clone, PartialEq)]
pub struct Meter {
    /// Full scale.
    pub full_scale: Option<Current>,
    /// Drop over its shunt at full scale.
    pub drop: Option<Voltage>,
    /// Whose current it must show.
    pub counts: Vec<ComponentId>,
}

/// A hub for data leads.
#[derive(Debug, Clone, PartialEq)]
pub struct Hub {
    /// What it takes.
    pub power: Option<Power>,
}

/// One end of a wire or joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct End {
    /// The terminal.
    pub terminal: TerminalId,
    /// The stud of a bar, from 1, where named.
    pub stud: Option<u32>,
    /// Where it is written.
    pub span: Span,
}

/// Colours of IEC 60757, and bare metal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is its word")]
pub enum Colour {
    Black,
    Brown,
    Red,
    Orange,
    Yellow,
    Green,
    Blue,
    Violet,
    Grey,
    White,
    Pink,
    Turquoise,
    Bare,
}

impl Colour {
    /// Every colour with its word.
    pub const WORDS: [(&'static str, Self); 13] = [
        ("black", Self::Black),
        ("brown", Self::Brown),
        ("red", Self::Red),
        ("orange", Self::Orange),
        ("yellow", Self::Yellow),
        ("green", Self::Green),
        ("blue", Self::Blue),
        ("violet", Self::Violet),
        ("grey", Self::Grey),
        ("white", Self::White),
        ("pink", Self::Pink),
        ("turquoise", Self::Turquoise),
        ("bare", Self::Bare),
    ];

    /// Its word in the language.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|row| row.1 == self).map_or("", |row| row.0)
    }
}

/// A wire's colour with its tracer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct WireColour {
    /// The main colour.
    pub base: Colour,
    /// The tracer.
    pub tracer: Option<Colour>,
}

impl std::fmt::Display for WireColour {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.base.word())?;
        self.tracer.map_or(Ok(()), |tracer| write!(f, "/{}", tracer.word()))
    }
}

/// What is put on a wire's end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Ending {
    /// `ring-M8`: a ring for this thread in millimetres.
    Ring(f64),
    /// `ferrule`
    Ferrule,
    /// `pin`
    Pin,
    /// `tab-6.3`: a push-on receptacle of this width in millimetres.
    Tab(f64),
    /// `bare`
    Bare,
}

impl std::fmt::Display for Ending {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Ring(thread) => write!(f, "ring-M{thread}"),
            Self::Ferrule => f.write_str("ferrule"),
            Self::Pin => f.write_str("pin"),
            Self::Tab(width) => write!(f, "tab-{width}"),
            Self::Bare => f.write_str("bare"),
        }
    }
}

/// One wire.
#[derive(Debug, Clone, PartialEq)]
pub struct Wire {
    /// Full name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// First end.
    pub from: End,
    /// Second end.
    pub to: End,
    /// Size.
    pub size: Size,
    /// Where the size stands.
    pub size_span: Span,
    /// Length.
    pub length: Length,
    /// Colour.
    pub colour: Option<WireColour>,
    /// Insulation class.
    pub insulation: Option<Temperature>,
    /// Inside a conduit, sheath or enclosure over its whole length.
    pub sheathed: bool,
    /// Zones that it runs through.
    pub zones: Vec<ZoneId>,
    /// Equal conductors in parallel, at least 1.
    pub count: u32,
    /// What is put on its ends.
    pub ends: Option<(Ending, Ending)>,
    /// A bond, not a return.
    pub bond: bool,
    /// In a starter motor's circuit.
    pub cranking: bool,
    /// Not stranded.
    pub solid: bool,
    /// Copper-clad aluminium.
    pub aluminium_clad: bool,
}

/// One data lead.
#[derive(Debug, Clone, PartialEq)]
pub struct DataLead {
    /// Full name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// First end, a `data` terminal.
    pub from: End,
    /// Second end, a `data` terminal.
    pub to: End,
    /// Length.
    pub length: Length,
    /// Size of its conductor, where stated (0.14 mm2 if not).
    pub size: Option<Size>,
    /// Does not join the two devices' negatives.
    pub isolated: bool,
}

/// Two terminals in direct contact.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Joint {
    /// First terminal.
    pub a: End,
    /// Second terminal.
    pub b: End,
    /// The whole statement, or the `on NODE` of a device.
    pub place: Place,
    /// Made by `on`.
    pub by_on: bool,
}

/// Wires laid tightly together.
#[derive(Debug, Clone, PartialEq)]
pub struct Bundle {
    /// Full name.
    pub name: String,
    /// Where it stands.
    pub place: Place,
    /// Its wires.
    pub wires: Vec<WireId>,
}

/// An operating state.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// Its name.
    pub name: String,
    /// Its title.
    pub title: Option<String>,
    /// Where it stands.
    pub place: Place,
    /// What it sets.
    pub lines: Vec<ModeLine>,
}

/// One line of a mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModeLine {
    /// What is set.
    pub component: ComponentId,
    /// To what.
    pub state: ModeState,
    /// Where it is written.
    pub span: Span,
}

/// What a mode sets a component to.
#[derive(Debug, Clone, Copy, PartialEq)]
#[expect(missing_docs, reason = "each is its word")]
pub enum ModeState {
    On,
    Off,
    Open,
    Closed,
    Voltage(Voltage),
    Current(Current),
    Power(Power),
    Resistance(Resistance),
}

/// What an `expect` claims.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Claim {
    /// `METER reads A within A`
    Reads {
        /// The meter.
        meter: ComponentId,
        /// The claimed reading; may be negative.
        current: Current,
        /// The tolerance.
        within: Current,
    },
    /// `WIRE carries A within A`
    Carries {
        /// The wire.
        wire: WireId,
        /// The claimed current.
        current: Current,
        /// The tolerance.
        within: Current,
    },
    /// `T above V`
    Above(End, Voltage),
    /// `T below V`
    Below(End, Voltage),
}

/// An `expect` statement.
#[derive(Debug, Clone, PartialEq)]
pub struct Expect {
    /// The claim.
    pub claim: Claim,
    /// The mode.
    pub mode: ModeId,
    /// The whole statement.
    pub place: Place,
}

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Measured {
    /// A meter's reading.
    Meter(ComponentId, Current),
    /// A terminal's voltage.
    Voltage(End, Voltage),
    /// The drop between two points.
    Drop(End, End, Voltage),
}

/// A `reading` statement.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was measured.
    pub measured: Measured,
    /// In this mode.
    pub mode: ModeId,
    /// On this day.
    pub on: Date,
    /// By whom.
    pub by: Option<String>,
    /// The whole statement.
    pub place: Place,
}

/// A `set` statement.
#[derive(Debug, Clone, PartialEq)]
pub struct Setting {
    /// What is programmed.
    pub component: ComponentId,
    /// Which setting.
    pub word: String,
    /// To what; a text or word is kept as written.
    pub value: SettingValue,
    /// Where it is written.
    pub place: Place,
}

/// A setting's value.
#[derive(Debug, Clone, PartialEq)]
#[expect(missing_docs, reason = "each is its quantity")]
pub enum SettingValue {
    Voltage(Voltage),
    Current(Current),
    Capacity(Capacity),
    Other(String),
}

/// Rings on a stud, from its base up.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// The stud.
    pub node: End,
    /// The wires, from the base.
    pub wires: Vec<WireId>,
    /// The whole statement.
    pub place: Place,
}

/// A remark.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// The full name that it stands beside.
    pub name: String,
    /// The text.
    pub text: String,
    /// The whole statement.
    pub place: Place,
}

/// An accepted finding.
#[derive(Debug, Clone, PartialEq)]
pub struct Waiver {
    /// The rule's id.
    pub rule: String,
    /// Where the rule's id stands.
    pub rule_span: Span,
    /// The subject's full name, or `line:N`.
    pub subject: String,
    /// The reason.
    pub why: String,
    /// The last day on which it holds.
    pub until: Date,
    /// Where the subject is written.
    pub place: Place,
}

/// A day of the Gregorian calendar; ordered by time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
pub struct Date {
    year: u16,
    month: u8,
    day: u8,
}

impl Date {
    /// Reads `2027-03-31`; `None` where there is no such day.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        let mut parts = text.split('-');
        let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
        if parts.next().is_some() || year.len() != 4 || month.len() != 2 || day.len() != 2 {
            return None;
        }
        let date = Self { year: year.parse().ok()?, month: month.parse().ok()?, day: day.parse().ok()? };
        let leap =
            date.year.is_multiple_of(4) && (!date.year.is_multiple_of(100) || date.year.is_multiple_of(400));
        let days = match date.month {
            1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
            4 | 6 | 9 | 11 => 30,
            2 if leap => 29,
            2 => 28,
            _ => return None,
        };
        (1..=days).contains(&date.day).then_some(date)
    }

    /// The same day a year on; of the 29th of February the 28th.
    #[must_use]
    pub fn a_year_on(self) -> Self {
        let day = if (self.month, self.day) == (2, 29) { 28 } else { self.day };
        Self { year: self.year.saturating_add(1).min(9999), month: self.month, day }
    }

    /// From days since 1970-01-01, as a clock gives them.
    #[must_use]
    pub fn from_days(days: u64) -> Self {
        // Civil-from-days: shifts the year to begin in March, so that the leap day is its last.
        let z = days + 719_468;
        let era = z / 146_097;
        let day_of_era = z % 146_097;
        let year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let shifted = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * shifted + 2) / 5 + 1;
        let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
        let year = year_of_era + era * 400 + u64::from(month <= 2);
        Self {
            year: u16::try_from(year).unwrap_or(9999),
            month: u8::try_from(month).unwrap_or(12),
            day: u8::try_from(day).unwrap_or(31),
        }
    }
}

impl std::fmt::Display for Date {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl Component {
    /// Its terminals with their roles.
    pub fn terminals<'d>(
        &self,
        design: &'d Design,
    ) -> impl Iterator<Item = (TerminalId, TerminalRole)> + use<'d> {
        let first = self.first_terminal.0;
        (first..first + self.n_terminals).map(|id| {
            let id = TerminalId(id);
            (id, design.terminals[id].role)
        })
    }

    /// The terminal with this role.
    #[must_use]
    pub fn terminal(&self, design: &Design, role: TerminalRole) -> Option<TerminalId> {
        self.terminals(design).find(|row| row.1 == role).map(|row| row.0)
    }
}

impl Design {
    /// How an end is written: as its terminal, with the stud where one is named, `plus-bar.3`.
    #[must_use]
    pub fn end_name(&self, end: End) -> String {
        let name = self.terminal_name(end.terminal);
        end.stud.map_or_else(|| name.clone(), |stud| format!("{name}.{stud}"))
    }

    /// What holds a conductor at a terminal: of a post or bar its studs, of others what their part states.
    #[must_use]
    pub fn hardware(&self, terminal: TerminalId) -> Option<Hardware> {
        let Terminal { component, role } = self.terminals[terminal];
        let component = &self.components[component];
        let stud = |thread| Hardware::Stud { thread, torque: None };
        match &component.body {
            Body::Post(post) => post.thread.map(stud),
            Body::Bar(bar) => bar.thread.map(stud),
            _ => component.hardware.iter().find(|row| row.0 == role).map(|row| row.1),
        }
    }

    /// How a terminal is written: `house.+`, or `frame` for a node.
    #[must_use]
    pub fn terminal_name(&self, id: TerminalId) -> String {
        let terminal = self.terminals[id];
        let name = &self.components[terminal.component].name;
        match terminal.role {
            TerminalRole::Node => name.clone(),
            role => format!("{name}.{}", role.word()),
        }
    }
}
