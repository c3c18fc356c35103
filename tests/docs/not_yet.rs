//! What the ids that no rule judges are about, in a line each.

/// The ids of the language's own findings, with what each is about.
pub(super) const LANGUAGE: [(&str, &str); 7] = [
    (
        "language.limit",
        "Too much of something: kits in a circle or too deep, a line, a file or a design too large",
    ),
    ("language.missing", "A figure or word that an element has to state is not stated"),
    ("language.name", "A name is declared twice, not declared, or stands for something of another kind"),
    ("language.syntax", "A line is not formed as its statement is"),
    ("language.unit", "A figure has no unit, a wrong one, or a value that no wiring has"),
    ("language.use", "A library or a rule book cannot be used"),
    ("language.word", "A word is not known, is misplaced, or is given twice"),
];

/// Rules that are named, so that books and waivers may mention them, with what each would judge. A row whose rule has
/// been written is passed over.
pub(super) const RULES: &[(&str, &str)] = &[
    ("battery.discharge", "what a battery gives in a mode against what it permits"),
    ("battery.takeoff", "how evenly batteries in parallel share a load"),
    ("charging.cold", "charging a lithium battery that may be too cold"),
    ("charging.current", "charging current against what batteries, alternators and supplies permit"),
    ("charging.lockout", "an `engine-off` setting against the voltage that reaches the charger"),
    ("charging.voltage", "charging voltages against the battery's chemistry"),
    ("colour.convention", "colours against what the wire carries"),
    ("conductor.drop", "voltage drop"),
    ("conductor.overloaded", "the steady current of a mode against ampacity"),
    ("conductor.unequal", "unequal conductors in parallel"),
    ("cutoff.misused", "an electronic disconnect fed backwards, or with an inverter behind it"),
    ("expect.failed", "what an `expect` claims against what is computed"),
    ("isolation.live", "what stays fed with the main switch open"),
    ("isolation.lost", "a `standby` load that the main switch cuts off"),
    ("meter.overrange", "the current of a mode against a meter's full scale"),
    ("plug.exposed", "bare pins that stay live when a plug is apart"),
    ("protection.breaking-capacity", "fault currents against what a device breaks"),
    ("protection.each-battery", "a device at each battery of a large bank"),
    ("protection.selectivity", "which of two devices opens first"),
    ("protection.slow", "operating times against the heat that a conductor bears"),
    ("protection.type", "a device's type, holder and reset"),
    ("protection.undersize", "the steady current of a mode against a device's rating"),
    ("reading.differs", "what was measured against what is computed"),
    ("return.single-failure", "where current goes when one return opens"),
    ("solar.cold", "an array's voltage in the cold against the charger's input"),
    ("solar.strings", "fuses of parallel strings"),
    ("source.orphaned", "an alternator left running without a battery"),
    ("terminal.crowded", "how many rings stand on a stud"),
    ("terminal.hole", "a ring's hole against the stud"),
    ("terminal.order", "the order of rings on a stud"),
    ("terminal.size", "a conductor against the hardware of its terminal"),
];
