//! What a house rule may read of each element: the one table of names, types, units and meanings.

use crate::design::Kind;
use crate::units::{Area, Capacity, Current, Length, Power, Resistance, Share, Temperature, Voltage};

/// What a house rule is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Element {
    /// Every wire.
    Wire,
    /// Every component, of any kind.
    Component,
    /// Every fuse and breaker.
    Device,
    /// Every component of one kind.
    Of(Kind),
}

impl Element {
    /// Every word that can stand after `for`.
    #[must_use]
    pub fn words() -> Vec<&'static str> {
        let general = ["wire", "component", "device"];
        general.into_iter().chain(Kind::ALL.map(Kind::word)).collect()
    }

    /// The element that a word stands for.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        match word {
            "wire" => Some(Self::Wire),
            "component" => Some(Self::Component),
            "device" => Some(Self::Device),
            word => Kind::ALL.into_iter().find(|kind| kind.word() == word).map(Self::Of),
        }
    }

    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Wire => "wire",
            Self::Component => "component",
            Self::Device => "device",
            Self::Of(kind) => kind.word(),
        }
    }

    /// Whether a component is one.
    #[must_use]
    pub fn includes(self, kind: Kind) -> bool {
        match self {
            Self::Wire => false,
            Self::Component => true,
            Self::Device => kind.is_protective(),
            Self::Of(own) => own == kind,
        }
    }
}

/// What a field holds, where it is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldType {
    /// A number in the unit that ends the field's name.
    Number,
    /// A text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A list of texts.
    Texts,
    /// A list of protective devices and limited sources, each with `name`, `kind`, `type` and `rating_a`.
    Devices,
}

impl FieldType {
    /// Its word in the reference.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Number => "number",
            Self::Text => "text",
            Self::Flag => "true or false",
            Self::Texts => "list of texts",
            Self::Devices => "list of devices",
        }
    }
}

/// One row of the table.
#[derive(Debug)]
pub struct FieldRow {
    /// Which field.
    pub(crate) field: Field,
    /// Its name in expressions and messages.
    pub name: &'static str,
    /// What it holds.
    pub holds: FieldType,
    /// Whether wires have it.
    pub wire: bool,
    /// The kinds of component that have it.
    pub kinds: &'static [Kind],
    /// What it means.
    pub meaning: &'static str,
}

impl FieldRow {
    /// Whether every element that a rule is about has it.
    #[must_use]
    pub fn suits(&self, element: Element) -> bool {
        match element {
            Element::Wire => self.wire,
            _ => Kind::ALL.into_iter().filter(|kind| element.includes(*kind)).all(|kind| self.has(kind)),
        }
    }

    fn has(&self, kind: Kind) -> bool {
        self.kinds.contains(&kind)
    }

    /// The elements that have it, in words.
    #[must_use]
    pub fn elements(&self) -> Vec<&'static str> {
        let wire = self.wire.then_some("wire");
        if self.kinds.len() == Kind::ALL.len() {
            return wire.into_iter().chain(["component"]).collect();
        }
        wire.into_iter().chain(self.kinds.iter().map(|kind| kind.word())).collect()
    }

    /// The unit that ends its name; none for what has no unit.
    #[must_use]
    pub fn unit(&self) -> &'static str {
        if self.holds != FieldType::Number {
            return "";
        }
        UNITS.iter().find(|row| self.name.ends_with(row.0)).map_or("", |row| row.1)
    }

    /// A number as people read it.
    pub(crate) fn tell(&self, value: f64) -> String {
        if value == f64::INFINITY {
            return "without limit".into();
        }
        match self.unit() {
            "A" => Current::amps(value).to_string(),
            "V" => Voltage::volts(value).to_string(),
            "mm2" => Area::mm2(value).to_string(),
            "m" => Length::metres(value).to_string(),
            "C" => Temperature::celsius(value).to_string(),
            "Ah" => Capacity::amp_hours(value).to_string(),
            "W" => Power::watts(value).to_string(),
            "mohm" => Resistance::ohms(value / 1e3).to_string(),
            "%" => Share::percent(value).to_string(),
            "mm" => format!("{} mm", crate::units::three_figures(value)),
            _ => crate::units::three_figures(value),
        }
    }
}

/// Endings of names with the unit that each stands for.
const UNITS: &[(&str, &str)] = &[
    ("_mohm", "mohm"),
    ("_mm2", "mm2"),
    ("_mm", "mm"),
    ("_percent", "%"),
    ("_ah", "Ah"),
    ("_a", "A"),
    ("_v", "V"),
    ("_m", "m"),
    ("_c", "C"),
    ("_w", "W"),
];

/// The row of this name.
#[must_use]
pub fn named(name: &str) -> Option<&'static FieldRow> {
    FIELDS.iter().find(|row| row.name == name)
}

const ALL: &[Kind] = &Kind::ALL;
const NONE: &[Kind] = &[];
const DEVICES: &[Kind] = &[Kind::Fuse, Kind::Breaker];
const RATED: &[Kind] =
    &[Kind::Fuse, Kind::Breaker, Kind::Switch, Kind::Plug, Kind::Cutoff, Kind::Post, Kind::Bar];
const LOADED: &[Kind] = &[Kind::Fuse, Kind::Breaker, Kind::Switch, Kind::Plug, Kind::Cutoff];
const DEMANDING: &[Kind] = &[
    Kind::Load,
    Kind::Inverter,
    Kind::Charger,
    Kind::Fuse,
    Kind::Breaker,
    Kind::Switch,
    Kind::Plug,
    Kind::Cutoff,
    Kind::Meter,
];

macro_rules! fields {
    ($($field:ident $name:literal $holds:ident $wire:literal $kinds:expr => $meaning:literal;)*) => {
        /// A field.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
        pub(crate) enum Field { $($field),* }

        /// Every field, in the order of the reference.
        pub const FIELDS: &[FieldRow] = &[$(FieldRow {
            field: Field::$field,
            name: $name,
            holds: FieldType::$holds,
            wire: $wire,
            kinds: $kinds,
            meaning: $meaning,
        }),*];
    };
}

fields! {
    Name "name" Text true ALL => "its full name";
    Kind "kind" Text true ALL => "`wire`, or the component's kind: `fuse`, `load` and so on";
    AmbientC "ambient_c" Number true ALL => "the temperature around it: of the warmest zone that it is in, else the design's";
    NominalV "nominal_v" Number true ALL => "the nominal voltage: its own as declared, else of its network's sources, of several the highest; unknown on a negative that networks of several voltages share";
    VoltageV "voltage_v" Number true ALL => "the highest voltage that its positive network can reach, as for `protection.voltage`; unknown away from any positive";
    DemandA "demand_a" Number true DEMANDING => "what the loads beyond it draw together by their declared ratings, inverters and chargers included; beside unequal wires its share; in a loop that of the whole network; unknown where a load does not state it";
    Label "label" Text false ALL => "its label";
    Part "part" Text false ALL => "the part that it is, by name";
    Zone "zone" Text false ALL => "its zone";
    Zones "zones" Texts true NONE => "the zones that it runs through";
    Size "size" Text true NONE => "its size as written, such as `10 mm2` or `6 AWG`";
    SizeMm2 "size_mm2" Number true NONE => "its copper area";
    LengthM "length_m" Number true NONE => "its length";
    Colour "colour" Text true NONE => "its main colour";
    Tracer "tracer" Text true NONE => "the colour of its tracer";
    InsulationC "insulation_c" Number true NONE => "its insulation class, where it or `assume` states it";
    Sheathed "sheathed" Flag true NONE => "marked `sheathed`";
    Count "count" Number true NONE => "conductors in parallel";
    Bundled "bundled" Number true NONE => "conductors in its largest bundle, 1 without one";
    Ends "ends" Texts true NONE => "what is put on its two ends, such as `ring-M8`";
    Bond "bond" Flag true NONE => "marked `bond`";
    Cranking "cranking" Flag true NONE => "marked `cranking`";
    Solid "solid" Flag true NONE => "marked `solid`";
    AluminiumClad "aluminium_clad" Flag true NONE => "of copper-clad aluminium";
    From "from" Text true NONE => "the terminal of its first end";
    To "to" Text true NONE => "the terminal of its second end";
    EndKinds "end_kinds" Texts true NONE => "the kinds of the two components that it joins";
    Role "role" Text true NONE => "`live`, `return`, `bond` or `other`";
    AmpacityA "ampacity_a" Number true NONE => "what it carries for good by the book's tables";
    PermittedA "permitted_a" Number true NONE => "what it may be protected at: `protection.ratio` of its ampacity";
    LetThroughA "let_through_a" Number true NONE => "what can arrive at it before anything opens; above every number where nothing limits it";
    CirculationA "circulation_a" Number true NONE => "what can circulate through it for good; above every number where nothing limits it; unknown in a loop of plain metal";
    Margin "margin" Number true NONE => "permitted current over what can flow; unknown where that is nothing or without limit";
    OnStretch "on_stretch" Flag true NONE => "on an unprotected stretch from a battery or an unlimited supply";
    StretchSource "stretch_source" Text true NONE => "the source of its worst stretch; unknown off every stretch, as the next four";
    StretchLengthM "stretch_length_m" Number true NONE => "from that source's terminal to its far end";
    StretchLimitM "stretch_limit_m" Number true NONE => "the book's distance for how that is run";
    StretchFollowed "stretch_followed" Flag true NONE => "a protective device follows";
    StretchDevicesA "stretch_devices_a" Number true NONE => "the ratings of the devices that follow, together";
    ProtectedBy "protected_by" Devices true NONE => "the devices and limited sources that limit what can arrive at it";
    ResistanceMohm "resistance_mohm" Number true NONE => "its own resistance at 20 °C, joints left out";
    DropV "drop_v" Number true NONE => "`demand_a` times `resistance_mohm`: by declared ratings, one way";
    DropPercent "drop_percent" Number true NONE => "`drop_v` as a share of `nominal_v`";
    RatingA "rating_a" Number false RATED => "its rated current";
    RatedV "rated_v" Number false DEVICES => "its rated voltage";
    BreaksA "breaks_a" Number false DEVICES => "what it breaks; of several figures the smallest";
    HolderA "holder_a" Number false DEVICES => "the rating of its holder";
    Type "type" Text false DEVICES => "the type of a fuse, such as `class-t`; of a breaker `breaker`";
    LoadedPercent "loaded_percent" Number false LOADED => "`demand_a` as a share of `rating_a`";
    ProtectsA "protects_a" Number false DEVICES => "the smallest ampacity of the wires between it and the next devices on the side that it feeds; on both sides where both have a source";
    Polarised "polarised" Flag false &[Kind::Breaker] => "marked `polarised`";
    AcOnly "ac_only" Flag false &[Kind::Breaker] => "marked `ac-only`";
    AutoReset "auto_reset" Flag false &[Kind::Breaker] => "marked `auto-reset`";
    Paired "paired" Flag false &[Kind::Breaker, Kind::Switch] => "another pole of the same handle exists";
    BriefA "brief_a" Number false &[Kind::Switch] => "its current for a short time";
    Open "open" Flag false &[Kind::Switch] => "rests open";
    Remote "remote" Flag false &[Kind::Switch] => "worked by a coil";
    Main "main" Flag false &[Kind::Switch] => "the isolator";
    ThreadMm "thread_mm" Number false &[Kind::Post, Kind::Bar] => "the thread of its studs";
    Studs "studs" Number false &[Kind::Bar] => "how many studs";
    FullScaleA "full_scale_a" Number false &[Kind::Meter] => "its full scale";
    Counts "counts" Texts false &[Kind::Meter] => "what it must show the current of";
    CapacityAh "capacity_ah" Number false &[Kind::Battery] => "its capacity";
    Chemistry "chemistry" Text false &[Kind::Battery] => "its chemistry";
    Lithium "lithium" Flag false &[Kind::Battery] => "of a lithium chemistry; unknown without a chemistry";
    FaultA "fault_a" Number false &[Kind::Battery, Kind::Supply] => "its prospective short-circuit current, of a battery else by the book's figure for its chemistry";
    FullV "full_v" Number false &[Kind::Battery] => "its highest charging voltage, else the book's for its chemistry";
    DischargeA "discharge_a" Number false &[Kind::Battery] => "discharge current for good";
    ChargeA "charge_a" Number false &[Kind::Battery] => "charging current for good";
    ColdCutoff "cold_cutoff" Flag false &[Kind::Battery, Kind::Charger] => "marked `cold-cutoff`";
    Bank "bank" Texts false &[Kind::Battery] => "the batteries of its bank or string, itself included";
    BankSize "bank_size" Number false &[Kind::Battery] => "how many those are";
    BankCapacityAh "bank_capacity_ah" Number false &[Kind::Battery] => "the capacities of those added up";
    Devices "devices" Devices false &[Kind::Battery] => "the devices nearest to its positive: those reached without passing another";
    MaximumA "maximum_a" Number false &[Kind::Alternator, Kind::Supply] => "the most that it gives";
    FusedA "fused_a" Number false &[Kind::Supply] => "the rating of the device inside it";
    VocV "voc_v" Number false &[Kind::Solar] => "open-circuit voltage";
    IscA "isc_a" Number false &[Kind::Solar] => "short-circuit current of one string";
    VmpV "vmp_v" Number false &[Kind::Solar] => "voltage at the maximum power";
    ImpA "imp_a" Number false &[Kind::Solar] => "current of one string at the maximum power";
    Strings "strings" Number false &[Kind::Solar] => "strings in parallel";
    SeriesFuseA "series_fuse_a" Number false &[Kind::Solar] => "the modules' largest series fuse";
    Feed "feed" Text false &[Kind::Charger] => "what it is fed from: `dc`, `ac` or `solar`";
    InputV "input_v" Number false &[Kind::Charger] => "nominal input voltage";
    InputA "input_a" Number false &[Kind::Charger] => "largest input current";
    OutputV "output_v" Number false &[Kind::Charger] => "nominal voltage of what it charges";
    OutputA "output_a" Number false &[Kind::Charger] => "largest output current, all outputs together";
    Outputs "outputs" Number false &[Kind::Charger] => "outputs not joined inside";
    Common "common" Flag false &[Kind::Charger] => "its two negatives are one inside";
    NeedsEnable "needs_enable" Flag false &[Kind::Charger] => "marked `needs-enable`";
    EfficiencyPercent "efficiency_percent" Number false &[Kind::Charger, Kind::Inverter] => "its efficiency as stated";
    PowerW "power_w" Number false &[Kind::Inverter, Kind::Load, Kind::Hub] => "its power, where stated as one";
    SurgeW "surge_w" Number false &[Kind::Inverter] => "power for a short time";
    Critical "critical" Flag false &[Kind::Load] => "marked `critical`";
    Motor "motor" Flag false &[Kind::Load] => "marked `motor`";
    Standby "standby" Flag false &[Kind::Load] => "marked `standby`";
    StallA "stall_a" Number false &[Kind::Load] => "current of the stalled motor";
}
