//! What modes drive: meters, batteries, wires, claims, and modes that cannot be.

use super::{found, told};

/// A battery, a fuse, a meter and a load, wired as thick as it takes, and what follows.
fn one_load(meter: &str, battery: &str, load: &str, rest: &str) -> String {
    format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 200 Ah fault 3 kA {battery}\nload lamp 12 V {load}\n\
         fuse F 125 A\nmeter tally {meter} 50 mV counts B\nwire W1 from B.+ to F.line 35 mm2 0.1 m\n\
         wire W2 from F.load to lamp.+ 35 mm2 1 m\nwire W3 from lamp.- to tally.sys 35 mm2 1 m\n\
         wire W4 from tally.bat to B.- 35 mm2 0.2 m\n{rest}\n"
    )
}

const ON: &str = "mode on1 {\n  lamp on\n}";

#[test]
fn a_meter_at_its_full_scale_is_allowed() {
    assert!(found("meter.overrange", &one_load("60 A", "", "60 A", ON)).is_empty());
    assert_eq!(found("meter.overrange", &one_load("59.9 A", "", "60 A", ON)), ["error tally"]);
    // Without a mode everything is on.
    assert_eq!(
        told("meter.overrange", &one_load("50 A", "", "60 A", "")),
        ["tally: 60 A flows through tally with everything on, and its full scale is 50 A"]
    );
}

#[test]
fn a_battery_gives_what_it_permits() {
    assert!(found("battery.discharge", &one_load("100 A", "discharge 60 A", "60 A", ON)).is_empty());
    assert_eq!(found("battery.discharge", &one_load("100 A", "discharge 59 A", "60 A", ON)), ["error B"]);
    assert!(
        found("battery.discharge", &one_load("100 A", "", "60 A", ON)).is_empty(),
        "listed as not stated"
    );
}

/// The mode's figure stands in for the load's own.
#[test]
fn a_device_and_a_wire_carry_what_the_modes_say() {
    let text = |amps: &str| one_load("100 A", "", "10 A", &format!("mode on1 {{\n  lamp {amps}\n}}"));
    assert!(found("protection.undersize", &text("100 A")).is_empty(), "80 % of 125 A");
    assert_eq!(found("protection.undersize", &text("101 A")), ["warning F"]);
    assert!(found("conductor.overloaded", &text("101 A")).is_empty());
    assert_eq!(found("conductor.overloaded", &text("400 A")).len(), 4);
}

#[test]
fn a_claim_holds_to_its_tolerance() {
    let text = |claim: &str| one_load("100 A", "", "60 A", &format!("{ON}\nexpect {claim} in on1"));
    let failed = |claim: &str| found("expect.failed", &text(claim));
    assert!(failed("tally reads -60 A within 0.1 A").is_empty());
    assert!(failed("tally reads -59 A within 1 A").is_empty());
    assert_eq!(failed("tally reads -58.9 A within 1 A"), ["error line:14"]);
    assert_eq!(failed("tally reads 60 A within 1 A"), ["error line:14"]);
    assert!(failed("W1 carries 60 A within 0.1 A").is_empty());
    assert_eq!(failed("W1 carries -60 A within 0.1 A"), ["error line:14"]);
    assert!(failed("lamp.+ above 11 V").is_empty());
    assert_eq!(failed("lamp.+ above 12 V"), ["error line:14"]);
    assert!(failed("lamp.+ below 12 V").is_empty());
    assert_eq!(failed("lamp.+ below 11 V"), ["error line:14"]);
}

/// A statement without a name is waived by its line.
#[test]
fn a_failed_claim_is_waived_by_its_line() {
    let left = |line: u32| {
        let rest = format!(
            "{ON}\nexpect tally reads 60 A within 1 A in on1\nwaive expect.failed on line:{line} because \"so\" until 2099-01-01"
        );
        let findings = super::judge("design.loom", &one_load("100 A", "", "60 A", &rest)).findings;
        let left = findings.iter().filter(|row| row.waived.is_none()).map(|row| row.rule.to_string());
        left.filter(|rule| ["expect.failed", "waiver.unused"].contains(&&**rule)).collect::<Vec<_>>()
    };
    assert_eq!(left(14), Vec::<String>::new());
    assert_eq!(left(10), ["expect.failed", "waiver.unused"]);
}

#[test]
fn what_is_on_is_fed() {
    let text = |state: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B agm 12 V 200 Ah fault 3 kA\nload lamp 12 V 5 A\nfuse F 10 A\n\
             switch S 20 A\nwire W1 from B.+ to F.line 6 mm2 0.1 m\nwire W2 from F.load to S.a 6 mm2 1 m\n\
             wire W3 from S.b to lamp.+ 6 mm2 1 m\nwire W4 from lamp.- to B.- 6 mm2 1 m\n\
             mode one {{\n  S {state}\n  lamp on\n}}\nmode two {{\n  S {state}\n  lamp on\n}}\n"
        )
    };
    assert!(found("mode.unsolved", &text("closed")).is_empty());
    assert_eq!(
        told("mode.unsolved", &text("open")),
        ["lamp: lamp is on in mode one, and no source reaches it"]
    );
    assert_eq!(found("mode.unsolved", &text("open")), ["warning lamp"]);
}

#[test]
fn a_supply_gives_no_more_than_it_has() {
    let text = |most: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nsupply mains 12 V {most}\nload lamp 12 V 5 A\n\
             wire W1 from mains.+ to lamp.+ 6 mm2 1 m\nwire W2 from lamp.- to mains.- 6 mm2 1 m\n\
             mode lit {{\n  mains on\n  lamp on\n}}\n"
        )
    };
    assert!(found("mode.unsolved", &text("5 A")).is_empty());
    assert_eq!(found("mode.unsolved", &text("4.9 A")), ["error lit"]);
}
