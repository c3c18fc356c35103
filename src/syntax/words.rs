//! The one spelling table of the language: statements, kinds, properties, fixed values and units. The reader, the
//! nearest-word search and the language reference all use it; nothing else spells a word of the language.

/// What a quantity measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
#[expect(missing_docs, reason = "each is its own name")]
pub enum Dimension {
    Voltage,
    Current,
    Resistance,
    Power,
    Length,
    Area,
    Temperature,
    Capacity,
    Torque,
    HeatIntegral,
    Share,
}

impl Dimension {
    /// Its name with an article, as messages say it.
    #[must_use]
    pub fn phrase(self) -> &'static str {
        match self {
            Self::Voltage => "a voltage",
            Self::Current => "a current",
            Self::Resistance => "a resistance",
            Self::Power => "a power",
            Self::Length => "a length",
            Self::Area => "a conductor size",
            Self::Temperature => "a temperature",
            Self::Capacity => "a capacity",
            Self::Torque => "a torque",
            Self::HeatIntegral => "an I2t",
            Self::Share => "a percentage",
        }
    }

    /// The unit that messages and forms show.
    #[must_use]
    pub fn unit(self) -> &'static str {
        match self {
            Self::Voltage => "V",
            Self::Current => "A",
            Self::Resistance => "mohm",
            Self::Power => "W",
            Self::Length => "m",
            Self::Area => "mm2",
            Self::Temperature => "C",
            Self::Capacity => "Ah",
            Self::Torque => "Nm",
            Self::HeatIntegral => "A2s",
            Self::Share => "%",
        }
    }

    /// Smallest and largest figure that is taken, in the base unit (V, A, ohm, W, m, mm², °C, Ah, Nm, A²s, 1).
    #[must_use]
    pub(crate) fn bounds(self) -> (f64, f64) {
        match self {
            Self::Voltage => (1e-6, 1e5),
            Self::Current | Self::Capacity => (1e-6, 1e6),
            Self::Resistance => (1e-9, 1e9),
            Self::Power => (1e-6, 1e9),
            Self::Length => (1e-4, 1e5),
            Self::Area => (0.01, 1e4),
            Self::Temperature => (-100.0, 1000.0),
            Self::Torque => (1e-3, 1e4),
            Self::HeatIntegral => (1e-6, 1e12),
            Self::Share => (1e-6, 1.0),
        }
    }
}

/// One unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Its spelling.
    pub word: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// How many base units it is; 0 for gauges, 1 for Fahrenheit, which are converted apart.
    pub factor: f64,
}

const fn unit(word: &'static str, dimension: Dimension, factor: f64) -> Unit {
    Unit { word, dimension, factor }
}

/// Every unit.
pub const UNITS: &[Unit] = &[
    unit("V", Dimension::Voltage, 1.0),
    unit("mV", Dimension::Voltage, 1e-3),
    unit("kV", Dimension::Voltage, 1e3),
    unit("A", Dimension::Current, 1.0),
    unit("mA", Dimension::Current, 1e-3),
    unit("kA", Dimension::Current, 1e3),
    unit("mm2", Dimension::Area, 1.0),
    unit("mm²", Dimension::Area, 1.0),
    unit("AWG", Dimension::Area, 0.0),
    unit("SAE", Dimension::Area, 0.0),
    unit("m", Dimension::Length, 1.0),
    unit("mm", Dimension::Length, 1e-3),
    unit("cm", Dimension::Length, 1e-2),
    unit("in", Dimension::Length, 0.0254),
    unit("ft", Dimension::Length, 0.3048),
    unit("W", Dimension::Power, 1.0),
    unit("kW", Dimension::Power, 1e3),
    unit("Ah", Dimension::Capacity, 1.0),
    unit("ohm", Dimension::Resistance, 1.0),
    unit("mohm", Dimension::Resistance, 1e-3),
    unit("µohm", Dimension::Resistance, 1e-6),
    unit("μohm", Dimension::Resistance, 1e-6),
    unit("uohm", Dimension::Resistance, 1e-6),
    unit("%", Dimension::Share, 1e-2),
    unit("C", Dimension::Temperature, 1.0),
    unit("F", Dimension::Temperature, 1.0),
    unit("Nm", Dimension::Torque, 1.0),
    unit("A2s", Dimension::HeatIntegral, 1.0),
    unit("A²s", Dimension::HeatIntegral, 1.0),
    unit("kA2s", Dimension::HeatIntegral, 1e3),
    unit("kA²s", Dimension::HeatIntegral, 1e3),
    unit("MA2s", Dimension::HeatIntegral, 1e6),
    unit("MA²s", Dimension::HeatIntegral, 1e6),
];

/// The unit with this spelling.
#[must_use]
pub fn find_unit(word: &str) -> Option<&'static Unit> {
    UNITS.iter().find(|unit| unit.word == word)
}

/// Spellings of units that others use, each with ours; they are refused with the right one.
pub(crate) const FOREIGN_UNITS: &[(&str, &str)] = &[
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("volt", "V"),
    ("volts", "V"),
    ("watt", "W"),
    ("watts", "W"),
    ("metre", "m"),
    ("metres", "m"),
    ("meter", "m"),
    ("meters", "m"),
    ("inch", "in"),
    ("inches", "in"),
    ("feet", "ft"),
    ("foot", "ft"),
    ("sqmm", "mm2"),
    ("qmm", "mm2"),
    ("mm^2", "mm2"),
    ("ga", "AWG"),
    ("gauge", "AWG"),
    ("°C", "C"),
    ("degC", "C"),
    ("°F", "F"),
    ("degF", "F"),
    ("Ω", "ohm"),
    ("Ω", "ohm"),
    ("ohms", "ohm"),
    ("mΩ", "mohm"),
    ("mΩ", "mohm"),
    ("µΩ", "uohm"),
    ("percent", "%"),
    ("N.m", "Nm"),
    ("N·m", "Nm"),
    ("VDC", "V"),
    ("Vdc", "V"),
    ("ADC", "A"),
    ("K", "C"),
];

/// What a name after a property has to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[expect(missing_docs, reason = "each is the thing of that name")]
pub enum Named {
    Chassis,
    Zone,
    /// Another component of the same kind.
    Same,
}

/// What follows the word of a property.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Nothing.
    Flag,
    /// One quantity.
    Quantity(Dimension),
    /// A voltage and a current, or one of them: `in 12 V 30 A`.
    VoltageCurrent,
    /// A current, and the voltage at which it is broken: `breaks 2 kA at 32 V`.
    Breaks,
    /// A whole number from 1 to this.
    Count(u32),
    /// One of these words.
    Choice(&'static [&'static str]),
    /// A name.
    Name(Named),
    /// One name or more.
    Names,
    /// A post, a bar or a chassis.
    Node,
    /// What is on both ends of a wire.
    Ends,
}

/// A property with its word.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Property {
    /// Its word.
    pub word: &'static str,
    /// What follows the word.
    pub form: Form,
    /// May be given more than once.
    pub repeatable: bool,
    /// What it says, in one sentence without a full stop.
    pub doc: &'static str,
}

impl Property {
    /// How the whole property is written: `fault A`.
    #[must_use]
    pub fn spelling(&self) -> String {
        let rest = match self.form {
            Form::Flag => return self.word.into(),
            Form::Quantity(dimension) => dimension.unit().into(),
            Form::VoltageCurrent => "V A".into(),
            Form::Breaks => "A [at V]".into(),
            Form::Count(_) => "N".into(),
            Form::Choice(words) => words.join("|"),
            Form::Name(_) => "NAME".into(),
            Form::Names => "NAME…".into(),
            Form::Node => "NODE".into(),
            Form::Ends => "X Y".into(),
        };
        format!("{} {rest}", self.word)
    }
}

/// What stands in a statement without a word of its own before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BareForm {
    /// A quantity, known by its unit.
    Quantity(Dimension),
    /// One of these words.
    Words {
        /// What they are, for messages.
        what: &'static str,
        /// The words.
        words: &'static [&'static str],
    },
    /// One colour, or two with a slash.
    Colour,
    /// A stud: `M8`.
    Thread,
    /// Studs: `M8 x 6`.
    Studs,
}

/// Something that is read without a word before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bare {
    /// What it looks like.
    pub form: BareForm,
    /// What it says.
    pub doc: &'static str,
}

/// Everything that one kind of component, or a wire or data lead, takes after its head.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KindWords {
    /// Its word.
    pub word: &'static str,
    /// Its terminals, `outN+` for numbered ones; none for what is one node, a wire or a data lead.
    pub terminals: &'static [&'static str],
    /// What is read without a word before it.
    pub bare: &'static [Bare],
    /// Its properties.
    pub properties: &'static [Property],
    /// What it is.
    pub doc: &'static str,
}

impl KindWords {
    /// The property with this word, those of every component included.
    #[must_use]
    pub fn property(&self, word: &str) -> Option<&'static Property> {
        let common = if self.word == "wire" || self.word == "data" { &[] } else { COMMON };
        self.properties.iter().chain(common).find(|row| row.word == word)
    }

    /// The dimensions of its bare quantities.
    pub(crate) fn bare_dimensions(&self) -> impl Iterator<Item = Dimension> {
        self.bare.iter().filter_map(|bare| match bare.form {
            BareForm::Quantity(dimension) => Some(dimension),
            _ => None,
        })
    }

    /// Every word that may stand in it.
    pub(crate) fn words(&self) -> Vec<&'static str> {
        let common = if self.word == "wire" || self.word == "data" { &[] } else { COMMON };
        let mut words: Vec<_> = self.properties.iter().chain(common).map(|row| row.word).collect();
        for bare in self.bare {
            match bare.form {
                BareForm::Words { words: more, .. } => words.extend(more),
                BareForm::Colour => words.extend(COLOURS),
                _ => {}
            }
        }
        words
    }
}

const fn flag(word: &'static str, doc: &'static str) -> Property {
    Property { word, form: Form::Flag, repeatable: false, doc }
}

const fn figure(word: &'static str, dimension: Dimension, doc: &'static str) -> Property {
    Property { word, form: Form::Quantity(dimension), repeatable: false, doc }
}

const fn property(word: &'static str, form: Form, doc: &'static str) -> Property {
    Property { word, form, repeatable: false, doc }
}

const fn bare(dimension: Dimension, doc: &'static str) -> Bare {
    Bare { form: BareForm::Quantity(dimension), doc }
}

/// Battery chemistries.
pub const CHEMISTRIES: &[&str] = &["lead-acid", "agm", "gel", "lifepo4", "nmc"];
/// Fuse types.
pub const FUSE_TYPES: &[&str] = &["blade", "bolt-in", "strip", "class-t", "terminal-block", "cylindrical"];
/// Colours of IEC 60757, and `bare`.
pub const COLOURS: &[&str] = &[
    "black",
    "brown",
    "red",
    "orange",
    "yellow",
    "green",
    "blue",
    "violet",
    "grey",
    "white",
    "pink",
    "turquoise",
    "bare",
];
/// What a charger can be fed from other than DC.
pub const FEEDS: &[&str] = &["ac", "solar"];
/// What is put on a wire's end; a thread or width follows `ring-` and `tab-`.
pub const ENDINGS: &[&str] = &["ring-M8", "ferrule", "pin", "tab-6.3", "bare"];
/// What a terminal's hardware is.
pub const HARDWARE: &[&str] = &["stud", "screw", "tab", "pin"];
/// What is assumed for a whole design.
pub const ASSUMPTIONS: &[&str] = &["ambient", "insulation", "strand", "contact", "copper"];
/// Stranding classes.
pub const STRANDS: &[&str] = &["class-2", "class-5"];
/// Coatings of copper.
pub const COATINGS: &[&str] = &["plain", "tinned"];
/// What a mode sets without a figure.
pub const STATES: &[&str] = &["on", "off", "open", "closed"];
/// Types of a kit's parameters.
pub const PARAMETER_TYPES: &[&str] = &["terminal", "voltage", "current", "area", "length", "text", "word"];
/// Words that join the parts of statements.
pub const JOINING: &[&str] = &[
    "to", "is", "as", "at", "by", "because", "until", "within", "reads", "carries", "above", "below",
    "terminal",
];
/// Settings with a meaning to the rules, with what each measures.
pub const SETTINGS: &[(&str, Dimension)] = &[
    ("absorption", Dimension::Voltage),
    ("float", Dimension::Voltage),
    ("engine-on", Dimension::Voltage),
    ("engine-off", Dimension::Voltage),
    ("current", Dimension::Current),
    ("low-cutoff", Dimension::Voltage),
    ("capacity", Dimension::Capacity),
];

/// Properties of every component.
pub const COMMON: &[Property] = &[property("zone", Form::Name(Named::Zone), "the zone that it is in")];

const VOLTAGE: Bare = bare(Dimension::Voltage, "nominal voltage");
const RETURNS: Property = property(
    "returns",
    Form::Name(Named::Chassis),
    "its negative is its own metal body, mounted on that chassis",
);
const PAIR: Property = property("pair", Form::Name(Named::Same), "another pole of the same handle");
const BREAKS: Property = Property {
    word: "breaks",
    form: Form::Breaks,
    repeatable: true,
    doc: "current that it breaks, at a voltage",
};
const I2T: Property = figure(
    "i2t",
    Dimension::HeatIntegral,
    "most I2t that it lets through in a fault of three times its rating or more",
);
const VOLTS: Property = figure("volts", Dimension::Voltage, "rated voltage");
const HOLDER: Property = figure("holder", Dimension::Current, "rating of its holder");
const ON: Property = property("on", Form::Node, "its line side is bolted to that node");
const EFFICIENCY: Property = figure("efficiency", Dimension::Share, "output power as a share of input power");
const COLD_CUTOFF: Property = flag("cold-cutoff", "refuses charge below its temperature limit");

/// Every kind of component, in the order of the reference.
pub const KINDS: &[KindWords] = &[
    KindWords {
        word: "battery",
        terminals: &["+", "-", "data"],
        bare: &[
            VOLTAGE,
            bare(Dimension::Capacity, "capacity"),
            Bare { form: BareForm::Words { what: "chemistry", words: CHEMISTRIES }, doc: "chemistry" },
        ],
        properties: &[
            figure("fault", Dimension::Current, "prospective short-circuit current"),
            figure("resistance", Dimension::Resistance, "inner resistance"),
            figure("full", Dimension::Voltage, "highest charging voltage"),
            figure("discharge", Dimension::Current, "discharge current permitted for good"),
            figure("charge", Dimension::Current, "charging current permitted for good"),
            COLD_CUTOFF,
        ],
        doc: "a battery",
    },
    KindWords {
        word: "alternator",
        terminals: &["+", "-"],
        bare: &[VOLTAGE, bare(Dimension::Current, "largest current")],
        properties: &[RETURNS],
        doc: "an engine's alternator",
    },
    KindWords {
        word: "supply",
        terminals: &["+", "-"],
        bare: &[VOLTAGE, bare(Dimension::Current, "largest current")],
        properties: &[
            figure(
                "fused",
                Dimension::Current,
                "protected inside, at its terminal, by a device of that rating",
            ),
            figure("fault", Dimension::Current, "prospective short-circuit current"),
        ],
        doc: "a feed made by others",
    },
    KindWords {
        word: "solar",
        terminals: &["+", "-"],
        bare: &[],
        properties: &[
            figure("voc", Dimension::Voltage, "open-circuit voltage"),
            figure("isc", Dimension::Current, "short-circuit current of one string"),
            figure("vmp", Dimension::Voltage, "voltage at the largest power"),
            figure("imp", Dimension::Current, "current of one string at the largest power"),
            property("strings", Form::Count(10_000), "strings in parallel"),
            figure("series-fuse", Dimension::Current, "the largest series fuse that the modules permit"),
        ],
        doc: "solar modules",
    },
    KindWords {
        word: "charger",
        terminals: &["in+", "in-", "out+", "outN+", "out-", "enable", "data"],
        bare: &[],
        properties: &[
            property("in", Form::VoltageCurrent, "nominal input voltage and largest input current"),
            figure("in-max", Dimension::Voltage, "highest input voltage that it bears"),
            property(
                "out",
                Form::VoltageCurrent,
                "nominal voltage of what it feeds, and largest output current",
            ),
            flag("isolated", "input and output negatives are apart"),
            flag("common", "input and output negatives are one inside"),
            EFFICIENCY,
            property("from", Form::Choice(FEEDS), "fed from AC (no DC input terminals) or from solar"),
            COLD_CUTOFF,
            flag("needs-enable", "does nothing until its `enable` is wired or bridged"),
            property(
                "outputs",
                Form::Count(32),
                "outputs not joined inside, `out1+` and on, with one `out-`",
            ),
        ],
        doc: "a charger, from DC, AC or solar",
    },
    KindWords {
        word: "inverter",
        terminals: &["+", "-", "case", "data"],
        bare: &[VOLTAGE, bare(Dimension::Power, "power for good")],
        properties: &[figure("surge", Dimension::Power, "power for a short time"), EFFICIENCY],
        doc: "an inverter",
    },
    KindWords {
        word: "load",
        terminals: &["+", "-"],
        bare: &[
            VOLTAGE,
            bare(Dimension::Power, "power that it takes"),
            bare(Dimension::Current, "current that it takes"),
            bare(Dimension::Resistance, "resistance"),
        ],
        properties: &[
            flag("critical", "its drop is held to the tighter limit"),
            flag("motor", "a motor"),
            figure("stall", Dimension::Current, "current of the stalled motor"),
            RETURNS,
            property("case", Form::Name(Named::Chassis), "its housing, not its negative, is on that chassis"),
            flag("standby", "must stay fed with the main switch off"),
        ],
        doc: "anything that takes current",
    },
    KindWords {
        word: "fuse",
        terminals: &["line", "load"],
        bare: &[
            bare(Dimension::Current, "rating"),
            Bare { form: BareForm::Words { what: "fuse type", words: FUSE_TYPES }, doc: "type" },
        ],
        properties: &[VOLTS, BREAKS, I2T, HOLDER, ON],
        doc: "a fuse",
    },
    KindWords {
        word: "breaker",
        terminals: &["line", "load"],
        bare: &[bare(Dimension::Current, "rating")],
        properties: &[
            VOLTS,
            BREAKS,
            I2T,
            HOLDER,
            ON,
            flag("polarised", "breaks in one direction only"),
            flag("ac-only", "rated for AC alone"),
            flag("auto-reset", "closes again by itself"),
            PAIR,
        ],
        doc: "a circuit-breaker",
    },
    KindWords {
        word: "switch",
        terminals: &["a", "b"],
        bare: &[bare(Dimension::Current, "current for good")],
        properties: &[
            figure("brief", Dimension::Current, "current for a short time"),
            flag("open", "rests open"),
            flag("remote", "worked by a coil"),
            flag("main", "the isolator"),
            PAIR,
        ],
        doc: "a switch or relay contact",
    },
    KindWords {
        word: "plug",
        terminals: &["a", "b"],
        bare: &[bare(Dimension::Current, "rated current")],
        properties: &[],
        doc: "one pole of a connector that may be apart; `b` is the side with bare pins",
    },
    KindWords {
        word: "cutoff",
        terminals: &["line", "load"],
        bare: &[bare(Dimension::Current, "rated current")],
        properties: &[],
        doc: "an electronic low-voltage disconnect, from line to load only",
    },
    KindWords {
        word: "post",
        terminals: &[],
        bare: &[bare(Dimension::Current, "rated current"), Bare { form: BareForm::Thread, doc: "its stud" }],
        properties: &[],
        doc: "a single stud: one node",
    },
    KindWords {
        word: "bar",
        terminals: &[],
        bare: &[
            bare(Dimension::Current, "rated current"),
            Bare { form: BareForm::Studs, doc: "thread and number of its studs" },
        ],
        properties: &[],
        doc: "a bus bar: one node",
    },
    KindWords {
        word: "meter",
        terminals: &["bat", "sys", "sense", "data"],
        bare: &[bare(Dimension::Current, "full scale"), bare(Dimension::Voltage, "drop at full scale")],
        properties: &[property("counts", Form::Names, "whose current it must show")],
        doc: "a shunt meter",
    },
    KindWords {
        word: "chassis",
        terminals: &[],
        bare: &[],
        properties: &[],
        doc: "a vehicle's frame or a boat's bonding system: one node",
    },
    KindWords {
        word: "hub",
        terminals: &["+", "-", "data"],
        bare: &[bare(Dimension::Power, "power that it takes")],
        properties: &[],
        doc: "takes data leads",
    },
];

/// What a wire takes after its head.
pub const WIRE: &KindWords = &KindWords {
    word: "wire",
    terminals: &[],
    bare: &[
        bare(Dimension::Area, "size"),
        bare(Dimension::Length, "length"),
        Bare { form: BareForm::Colour, doc: "colour, with a tracer after a slash" },
    ],
    properties: &[
        figure("insulation", Dimension::Temperature, "insulation class"),
        flag("sheathed", "inside a conduit, sheath or enclosure over its whole length"),
        Property {
            word: "zone",
            form: Form::Name(Named::Zone),
            repeatable: true,
            doc: "a zone that it runs through",
        },
        property("count", Form::Count(1000), "equal conductors in parallel"),
        property("ends", Form::Ends, "what is put on its two ends"),
        flag("bond", "an equipment or chassis bond, not a return"),
        flag("cranking", "in a starter motor's circuit, feed or return"),
        flag("solid", "not stranded"),
        flag("aluminium-clad", "copper-clad aluminium"),
    ],
    doc: "one conductor, cut to length",
};

/// What a data lead takes after its head.
pub const DATA: &KindWords = &KindWords {
    word: "data",
    terminals: &[],
    bare: &[bare(Dimension::Length, "length"), bare(Dimension::Area, "size of its conductor")],
    properties: &[flag("isolated", "does not tie the two devices' negatives together")],
    doc: "a data lead between `data` terminals",
};

/// One statement other than a component.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StatementWords {
    /// Its first word.
    pub word: &'static str,
    /// How it is written.
    pub form: &'static str,
    /// What it does.
    pub doc: &'static str,
    /// May stand in a kit.
    pub in_kit: bool,
    /// May stand in a library.
    pub in_library: bool,
}

const fn statement(
    word: &'static str,
    form: &'static str,
    doc: &'static str,
    in_kit: bool,
) -> StatementWords {
    StatementWords { word, form, doc, in_kit, in_library: false }
}

const fn shared(word: &'static str, form: &'static str, doc: &'static str, in_kit: bool) -> StatementWords {
    StatementWords { word, form, doc, in_kit, in_library: true }
}

/// Every statement other than the components.
pub const STATEMENTS: &[StatementWords] = &[
    statement("design", "design NAME \"title\"", "the first statement of a design", false),
    shared("library", "library NAME \"title\"", "the first statement of a file of parts and kits", false),
    shared("use", "use \"path.loom\"", "brings in a library", false),
    statement("book", "book NAME", "the rule book that judges this design", false),
    statement("assume", "assume NAME VALUE", "a value for what no element states", false),
    statement("limit", "limit NAME VALUE because \"why\"", "replaces one limit of the book", false),
    statement("zone", "zone NAME ambient T", "a place with its own temperature", true),
    shared(
        "part",
        "part NAME is KIND properties [{ … }]",
        "a data sheet, whose figures components take over",
        true,
    ),
    statement("wire", "wire NAME from T to T SIZE LENGTH properties", "one conductor", true),
    statement("bolt", "bolt T to T", "two terminals in direct metal contact", true),
    statement("data", "data NAME from T to T LENGTH [SIZE] [isolated]", "a data lead", true),
    statement("bundle", "bundle NAME WIRE…", "wires laid tightly together", true),
    statement("mode", "mode NAME [\"title\"] {", "an operating state", false),
    statement("expect", "expect METER reads A within A in MODE", "a claim that the check verifies", false),
    statement("reading", "reading METER A in MODE on DATE [by \"…\"]", "what was measured", false),
    statement("set", "set NAME WORD VALUE", "a setting to be programmed", true),
    statement("stack", "stack NODE WIRE…", "the rings on a stud, from its base up", true),
    statement("note", "note NAME \"text\"", "a remark printed beside NAME", true),
    statement("waive", "waive RULE on NAME because \"why\" until DATE", "accepts one finding", true),
    shared("kit", "kit NAME (param: type, …) {", "a reusable piece of a design", false),
    statement("fit", "fit KIT as NAME (param = value, …)", "places a kit", true),
];

/// Every rule id that a waiver may name.
pub const RULE_IDS: &[&str] = &[
    "battery.discharge",
    "battery.mixed",
    "battery.takeoff",
    "battery.tap",
    "bond.extra",
    "bond.undersize",
    "charging.cold",
    "charging.current",
    "charging.lockout",
    "charging.voltage",
    "colour.convention",
    "conductor.drop",
    "conductor.overloaded",
    "conductor.small",
    "conductor.unequal",
    "connection.loose",
    "connection.overrated",
    "connection.polarity",
    "connection.short",
    "connection.voltage",
    "cutoff.misused",
    "expect.failed",
    "isolation.live",
    "isolation.lost",
    "language.limit",
    "language.missing",
    "language.name",
    "language.syntax",
    "language.unit",
    "language.use",
    "language.word",
    "meter.bypassed",
    "meter.overcounted",
    "meter.overrange",
    "meter.reversed",
    "meter.silent",
    "meter.uncounted",
    "meter.unpowered",
    "mode.unsolved",
    "plug.exposed",
    "protection.breaking-capacity",
    "protection.each-battery",
    "protection.far",
    "protection.in-return",
    "protection.missing",
    "protection.oversize",
    "protection.polarity",
    "protection.selectivity",
    "protection.slow",
    "protection.type",
    "protection.undersize",
    "protection.voltage",
    "reading.differs",
    "return.bypass",
    "return.missing",
    "return.single-failure",
    "return.undersize",
    "solar.cold",
    "solar.strings",
    "source.orphaned",
    "terminal.crowded",
    "terminal.hole",
    "terminal.order",
    "terminal.size",
    "unknown.rating",
    "waiver.expired",
    "waiver.unused",
];

/// What the id of every rule of a book's own begins with; no rule above does.
pub const HOUSE: &str = "house.";

/// Whether a word can be the id of a rule of a book's own, such as `house.colour-by-voltage`.
#[must_use]
pub fn is_house_rule(id: &str) -> bool {
    let fits = |one: char| one.is_ascii_lowercase() || one.is_ascii_digit() || one == '-';
    id.strip_prefix(HOUSE).is_some_and(|name| {
        name.len() <= 60 && name.starts_with(|one: char| one.is_ascii_lowercase()) && name.chars().all(fits)
    })
}

/// The whole spelling table, for the language reference.
#[derive(Debug, Clone, Copy)]
pub struct Reference {
    /// Statements other than components.
    pub statements: &'static [StatementWords],
    /// Kinds of component.
    pub kinds: &'static [KindWords],
    /// What a wire takes.
    pub wire: &'static KindWords,
    /// What a data lead takes.
    pub data: &'static KindWords,
    /// Properties of every component.
    pub common: &'static [Property],
    /// Units.
    pub units: &'static [Unit],
    /// Settings with a meaning to the rules.
    pub settings: &'static [(&'static str, Dimension)],
}

/// The whole spelling table.
#[must_use]
pub fn reference() -> Reference {
    Reference {
        statements: STATEMENTS,
        kinds: KINDS,
        wire: WIRE,
        data: DATA,
        common: COMMON,
        units: UNITS,
        settings: SETTINGS,
    }
}

/// Every word that cannot be a name, sorted.
#[must_use]
pub fn reserved() -> &'static [&'static str] {
    static WORDS: std::sync::OnceLock<Vec<&'static str>> = std::sync::OnceLock::new();
    WORDS.get_or_init(|| {
        let lists = [
            CHEMISTRIES,
            FUSE_TYPES,
            COLOURS,
            FEEDS,
            HARDWARE,
            ASSUMPTIONS,
            STRANDS,
            COATINGS,
            STATES,
            PARAMETER_TYPES,
            JOINING,
            &["ferrule"],
        ];
        let mut words: Vec<&'static str> = lists.into_iter().flatten().copied().collect();
        words.extend(STATEMENTS.iter().map(|row| row.word));
        for kind in KINDS.iter().chain([WIRE, DATA]) {
            words.push(kind.word);
            words.extend(kind.properties.iter().map(|row| row.word));
        }
        words.sort_unstable();
        words.dedup();
        words
    })
}

/// Whether a word cannot be a name.
#[must_use]
pub fn is_reserved(word: &str) -> bool {
    reserved().binary_search(&word).is_ok()
}

/// What is put on a wire's end, as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum EndWord {
    Ring(f64),
    Ferrule,
    Pin,
    Tab(f64),
    Bare,
}

/// Reads `ring-M8`, `tab-6.3` and the others.
pub(crate) fn ending(word: &str) -> Option<EndWord> {
    match word {
        "ferrule" => Some(EndWord::Ferrule),
        "pin" => Some(EndWord::Pin),
        "bare" => Some(EndWord::Bare),
        _ => match word.split_once('-')? {
            ("ring", size) => thread(size).map(EndWord::Ring),
            ("tab", width) => millimetres(width).map(EndWord::Tab),
            _ => None,
        },
    }
}

/// Reads `M8` as millimetres.
pub(crate) fn thread(word: &str) -> Option<f64> {
    millimetres(word.strip_prefix('M')?)
}

/// Reads a small number of millimetres without a unit.
pub(crate) fn millimetres(digits: &str) -> Option<f64> {
    if digits.is_empty()
        || digits.len() > 8
        || !digits.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.')
    {
        return None;
    }
    digits.parse::<f64>().ok().filter(|size| (1.0..=100.0).contains(size))
}
