//! `protection.type`, `protection.undersize` and what a switch carries for good: each boundary, and what is left out.

use super::found;

/// A battery, a device and loads on one return.
fn fed(device: &str, loads: &str) -> String {
    let mut text = format!(
        "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah fault 800 A\n{device}\n\
         wire W1 from B.+ to F.line 35 mm2 0.1 m\n"
    );
    for (n, load) in loads.lines().enumerate() {
        let name = load.split_whitespace().nth(1).unwrap();
        text += &format!(
            "{load}\nwire P{n} from F.load to {name}.+ 35 mm2 2 m\nwire N{n} from {name}.- to B.- 35 mm2 2 m\n"
        );
    }
    text
}

const NONE: [&str; 0] = [];

#[test]
fn a_device_that_carries_just_its_share_is_allowed() {
    let undersize = |device: &str, load: &str| found("protection.undersize", &fed(device, load));
    assert_eq!(undersize("fuse F 10 A blade", "load L 12 V 7 A"), NONE, "70 % of a blade fuse");
    assert_eq!(undersize("fuse F 10 A blade", "load L 12 V 7.1 A"), ["warning F"]);
    assert_eq!(undersize("breaker F 10 A", "load L 12 V 8 A"), NONE, "80 % of any other");
    assert_eq!(undersize("breaker F 10 A", "load L 12 V 8.1 A"), ["warning F"]);
    assert_eq!(undersize("fuse F 10 A", "load L 12 V 8 A"), NONE, "a fuse of no stated type");
}

#[test]
fn loads_beyond_a_device_add_up_by_their_ratings() {
    let undersize = |load: &str| found("protection.undersize", &fed("breaker F 100 A", load));
    assert_eq!(undersize("load a 12 V 480 W\nload b 12 V 40 A"), NONE, "40 A each");
    assert_eq!(
        undersize("load a 12 V 480 W\nload b 12 V 0.29 ohm"),
        ["warning F"],
        "12 V over 0.29 ohm is 41.4 A"
    );
    // 864 W at 12 V and 90 % are 80 A.
    assert_eq!(undersize("inverter i 12 V 864 W efficiency 90 %"), NONE);
    assert_eq!(undersize("inverter i 12 V 864 W"), ["warning F"], "at the book's 88 % they are 81.8 A");
}

#[test]
fn motors_run_for_a_time_and_are_left_out() {
    let undersize = |load: &str| found("protection.undersize", &fed("breaker F 50 A", load));
    assert_eq!(undersize("load winch 12 V 100 A motor"), NONE);
    assert_eq!(
        undersize("load winch 12 V 100 A motor\nload lamp 12 V 41 A"),
        ["warning F"],
        "the lamp alone"
    );
}

#[test]
fn a_design_with_modes_says_itself_what_is_on() {
    let text = fed("breaker F 10 A", "load a 12 V 6 A\nload b 12 V 6 A");
    assert_eq!(found("protection.undersize", &text), ["warning F"]);
    assert_eq!(found("protection.undersize", &format!("{text}mode one {{\n  a on\n}}\n")), NONE);
}

#[test]
fn a_charger_pushes_its_rated_current_through_the_device_at_its_output() {
    let text = |rating: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\ncharger C from ac out 12 V 25 A\n\
             breaker F {rating}\nwire W1 from B.+ to F.line 16 mm2 0.1 m\nwire W2 from C.out+ to F.load 16 mm2 1 m\n\
             wire W3 from C.out- to B.- 16 mm2 1 m\n"
        )
    };
    assert_eq!(found("protection.undersize", &text("30 A")), ["warning F"]);
    assert_eq!(found("protection.undersize", &text("35 A")), NONE);
}

#[test]
fn an_alternator_gives_the_books_share_of_its_maximum_for_good() {
    let text = |rating: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah\nalternator A 12 V 160 A\n\
             breaker F {rating}\nwire W1 from B.+ to F.line 70 mm2 0.1 m\nwire W2 from A.+ to F.load 70 mm2 1 m\n\
             wire W3 from A.- to B.- 70 mm2 1 m\n"
        )
    };
    assert_eq!(found("protection.undersize", &text("150 A")), NONE, "75 % of 160 A is 80 % of 150 A");
    assert_eq!(found("protection.undersize", &text("140 A")), ["warning F"]);
}

#[test]
fn what_divides_is_not_told_by_ratings() {
    let two_ways = fed("breaker F 10 A", "load a 12 V 12 A")
        + "breaker G 10 A\nbolt G.line to F.line\nbolt G.load to F.load\n";
    assert_eq!(found("protection.undersize", &two_ways), NONE, "two devices side by side");
    let two_batteries = fed("breaker F 10 A", "load a 12 V 12 A")
        + "battery C lead-acid 12 V 100 Ah\nbreaker G 20 A\nwire X1 from C.+ to G.line 35 mm2 0.1 m\n\
           wire X2 from G.load to F.load 35 mm2 1 m\nwire X3 from C.- to B.- 35 mm2 1 m\n";
    assert_eq!(found("protection.undersize", &two_batteries), NONE, "two batteries feed the load");
}

#[test]
fn a_blade_fuse_bears_the_books_current_for_its_type() {
    let kinds = |device: &str, load: &str| found("protection.type", &fed(device, load));
    assert_eq!(kinds("fuse F 30 A blade", "load L 12 V 20 A"), NONE);
    assert_eq!(kinds("fuse F 30 A blade", "load L 12 V 20.1 A"), ["warning F"]);
    assert_eq!(kinds("fuse F 40 A blade", "load L 12 V 5 A"), NONE, "a large rating alone carries nothing");
    assert_eq!(kinds("fuse F 30 A bolt-in", "load L 12 V 24 A"), NONE);
}

#[test]
fn a_holder_suits_its_fuse_and_what_flows() {
    let kinds = |device: &str, load: &str| found("protection.type", &fed(device, load));
    assert_eq!(kinds("fuse F 30 A bolt-in holder 30 A", "load L 12 V 24 A"), NONE);
    assert_eq!(
        kinds("fuse F 40 A bolt-in holder 30 A", "load L 12 V 5 A"),
        ["warning F"],
        "its fuse lets 40 A pass"
    );
    assert_eq!(kinds("fuse F 30 A bolt-in holder 30 A", "load L 12 V 25 A"), ["warning F"]);
}

#[test]
fn a_breaker_stays_open() {
    let text = fed("breaker F 10 A auto-reset", "load L 12 V 5 A");
    assert_eq!(found("protection.type", &text), ["warning F"]);
    let any = format!("{text}limit breaker.reset any because \"a vehicle maker's own part\"\n");
    assert_eq!(found("protection.type", &any), NONE);
}

#[test]
fn a_switch_carries_what_flows_for_good_and_a_starters_for_a_short_time() {
    let switched = |switch: &str, load: &str| {
        format!(
            "design d \"Invented\"\nassume insulation 105 C\nbattery B lead-acid 12 V 100 Ah fault 800 A\n{switch}\n{load}\n\
             wire W1 from B.+ to S.a 70 mm2 0.1 m cranking\nwire W2 from S.b to L.+ 70 mm2 1 m\nwire W3 from L.- to B.- 70 mm2 1 m\n"
        )
    };
    let overrated = |switch: &str, load: &str| found("connection.overrated", &switched(switch, load));
    assert_eq!(overrated("switch S 50 A", "load L 12 V 50 A"), NONE);
    assert_eq!(
        overrated("switch S 50 A", "load L 12 V 51 A"),
        ["error S"],
        "no device ahead, and 51 A for good"
    );
    let started = |switch: &str, load: &str| {
        let text = switched(switch, load).replace("70 mm2 1 m\nwire W3", "70 mm2 1 m cranking\nwire W3");
        found("connection.overrated", &text)
    };
    assert_eq!(
        started("switch S 100 A brief 500 A", "load L 12 V 1.8 kW motor"),
        NONE,
        "150 A for a short time"
    );
    assert_eq!(started("switch S 100 A brief 500 A", "load L 12 V 1.8 kW motor stall 500 A"), NONE);
    assert_eq!(started("switch S 100 A brief 500 A", "load L 12 V 1.8 kW motor stall 600 A"), ["error S"]);
    assert_eq!(started("switch S 100 A", "load L 12 V 1.8 kW motor"), NONE, "not judged without the figure");
}
