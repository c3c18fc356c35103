//! Rules that have an id, so that books and waivers may name them, before they are judged.

use super::ALL;
use crate::syntax::words::RULE_IDS;

/// What an id would judge. The row of a rule that has been written is passed over.
#[derive(Debug, Clone, Copy)]
pub struct NotYet {
    /// The id.
    pub id: &'static str,
    /// What it belongs to, for a short summary.
    pub topic: &'static str,
    /// What it would judge.
    pub says: &'static str,
}

const TOPICS: &[(&str, &[(&str, &str)])] = &[
    ("voltage drop", &[("conductor.drop", "voltage drop")]),
    (
        "fault currents and opening times",
        &[
            ("protection.breaking-capacity", "fault currents against what a device breaks"),
            ("protection.slow", "operating times against the heat that a conductor bears"),
            ("protection.selectivity", "which of two devices opens first"),
        ],
    ),
    (
        "currents of operating states",
        &[
            ("conductor.overloaded", "the steady current of a mode against ampacity"),
            ("protection.undersize", "the steady current of a mode against a device's rating"),
            ("battery.discharge", "what a battery gives in a mode against what it permits"),
            ("meter.overrange", "the current of a mode against a meter's full scale"),
            ("expect.failed", "what an `expect` claims against what is computed"),
            ("reading.differs", "what was measured against what is computed"),
        ],
    ),
    (
        "types of devices",
        &[
            ("protection.type", "a device's type, holder and reset"),
            ("protection.each-battery", "a device at each battery of a large bank"),
        ],
    ),
    (
        "terminal hardware",
        &[
            ("terminal.crowded", "how many rings stand on a stud"),
            ("terminal.hole", "a ring's hole against the stud"),
            ("terminal.order", "the order of rings on a stud"),
            ("terminal.size", "a conductor against the hardware of its terminal"),
        ],
    ),
    ("colours", &[("colour.convention", "colours against what the wire carries")]),
    (
        "charging",
        &[
            ("charging.cold", "charging a lithium battery that may be too cold"),
            ("charging.current", "charging current against what batteries, alternators and supplies permit"),
            ("charging.lockout", "an `engine-off` setting against the voltage that reaches the charger"),
            ("charging.voltage", "charging voltages against the battery's chemistry"),
        ],
    ),
    (
        "solar",
        &[
            ("solar.cold", "an array's voltage in the cold against the charger's input"),
            ("solar.strings", "fuses of parallel strings"),
        ],
    ),
    (
        "conductors and batteries in parallel",
        &[
            ("battery.takeoff", "how evenly batteries in parallel share a load"),
            ("conductor.unequal", "unequal conductors in parallel"),
        ],
    ),
    (
        "isolation, plugs and disconnects",
        &[
            ("isolation.live", "what stays fed with the main switch open"),
            ("isolation.lost", "a `standby` load that the main switch cuts off"),
            ("plug.exposed", "bare pins that stay live when a plug is apart"),
            ("cutoff.misused", "an electronic disconnect fed backwards, or with an inverter behind it"),
        ],
    ),
    (
        "the failure of one part",
        &[
            ("return.single-failure", "where current goes when one return opens"),
            ("source.orphaned", "an alternator left running without a battery"),
        ],
    ),
    ("figures that are not stated", &[("unknown.rating", "the list of figures that were not stated")]),
];

/// Every id that no rule judges yet, sorted; those of the language are judged where it is read.
pub fn not_yet() -> impl Iterator<Item = NotYet> {
    let missing = RULE_IDS.iter().copied().filter(|id| !id.starts_with("language.") && !is_judged(id));
    missing.map(|id| {
        let known = TOPICS.iter().find_map(|(topic, rows)| {
            rows.iter().find(|row| row.0 == id).map(|row| NotYet { id, topic, says: row.1 })
        });
        known.unwrap_or(NotYet { id, topic: id, says: id })
    })
}

/// What is not judged yet, in few words: a topic where none of its rules is judged, else what each missing one would judge.
#[must_use]
pub fn not_yet_topics() -> Vec<&'static str> {
    let mut all = Vec::new();
    for (topic, rows) in TOPICS {
        let missing: Vec<&str> = rows.iter().filter(|row| !is_judged(row.0)).map(|row| row.1).collect();
        if missing.len() == rows.len() { all.push(*topic) } else { all.extend(missing) }
    }
    all
}

fn is_judged(id: &str) -> bool {
    ALL.iter().any(|rule| rule.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_id_that_is_not_judged_is_described() {
        assert!(not_yet().all(|row| row.says != row.id));
        let described = TOPICS.iter().flat_map(|topic| topic.1);
        for (id, _) in described {
            assert!(RULE_IDS.contains(id), "{id} is no rule's id");
        }
    }
}
