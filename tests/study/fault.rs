//! Prospective currents against arithmetic by hand.

use ohmward::design::Id;

use super::{Bench, close};

const LAMP: &str = "design d \"Invented\"\nbattery B lead-acid 12 V 100 Ah fault 800 A full 14.4 V\nload lamp 12 V 36 W\n\
    fuse F 5 A blade volts 32 V breaks 1 kA\nwire W1 from B.+ to F.line 2.5 mm2 0.1 m\n\
    wire W2 from F.load to lamp.+ 2.5 mm2 2 m\nwire W3 from lamp.- to B.- 2.5 mm2 2 m\n";

#[test]
fn along_a_radial_run() {
    let bench = Bench::of(LAMP);
    let at = |name: &str| bench.terminal(name).index();
    let largest = |name: &str| bench.faults.largest[at(name)].map(|current| current.as_amps());
    let smallest = |name: &str| bench.faults.smallest[at(name)].map(|current| current.as_amps());
    // At its own terminals a battery gives what it declares.
    close(largest("B.+").expect("live"), 800.0, 1e-9, "at the battery");
    // 7.98 ohm/km of 2.5 mm2 class 5 at 20 °C (IEC 60228).
    let inner = 14.4 / 800.0;
    close(largest("F.line").expect("live"), 14.4 / (inner + 0.1 * 7.98e-3), 1e-9, "at the fuse");
    close(largest("lamp.+").expect("live"), 14.4 / (inner + 2.1 * 7.98e-3), 1e-9, "at the lamp");
    // Hot, with two contacts of 0.1 mohm at each wire, from the book's empty battery.
    let hot = 7.98e-3 * (1.0 + 0.00393 * 50.0);
    let (fuse, lamp) = (smallest("F.line").expect("live"), smallest("lamp.+").expect("live"));
    close(lamp / fuse, (inner + 0.1 * hot + 2e-4) / (inner + 2.1 * hot + 4e-4), 1e-9, "hot");
    assert!(lamp < largest("lamp.+").expect("live"));
    assert_eq!(largest("lamp.-"), None, "a negative is not live");
}

#[test]
fn batteries_in_parallel_and_a_loop() {
    // Two of 1 kA side by side, bolted together; from the bar two wires run to a second bar: the wires halve.
    let text = "design d \"Invented\"\nbattery B1 lead-acid 12 V 100 Ah fault 1 kA full 14 V\n\
        battery B2 lead-acid 12 V 100 Ah fault 1 kA full 14 V\nbar near M8 x 6 500 A\nbar far M8 x 6 500 A\npost third M8 500 A\n\
        load lamp 12 V 36 W\nbolt B1.+ to near\nbolt B2.+ to near\nbolt B1.- to B2.-\n\
        wire W1 from near to far 10 mm2 2 m\nwire W2 from near to third 10 mm2 1 m\nwire W3 from third to far 10 mm2 1 m\n\
        wire W4 from far to lamp.+ 10 mm2 1 m\nwire W5 from lamp.- to B1.- 10 mm2 1 m\n";
    let bench = Bench::of(text);
    let largest = |name: &str| bench.faults.largest[bench.terminal(name).index()].expect("live").as_amps();
    close(largest("near"), 2000.0, 1e-9, "two batteries");
    // 1.91 ohm/km of 10 mm2 class 5 at 20 °C (IEC 60228): two ways of 2 m, and from the middle of one 1 m beside 3 m.
    let metre = 1.91e-3;
    close(largest("far"), 14.0 / (0.007 + metre), 1e-9, "two ways");
    close(largest("third"), 14.0 / (0.007 + 0.75 * metre), 1e-9, "from the middle of one way");
    close(largest("lamp.+"), 14.0 / (0.007 + 2.0 * metre), 1e-9, "beyond the loop");
}

#[test]
fn what_hangs_on_the_middle_of_a_string_is_fed_by_its_lower_part() {
    let text = "design d \"Invented\"\nbattery L lead-acid 12 V 100 Ah fault 800 A full 14.4 V\n\
        battery U lead-acid 12 V 100 Ah fault 800 A full 14.4 V\nload lamp 12 V 12 W\nload fan 24 V 12 W\nbolt L.+ to U.-\n\
        bolt L.+ to lamp.+\nbolt lamp.- to L.-\nbolt U.+ to fan.+\nbolt fan.- to L.-\n";
    let bench = Bench::of(text);
    let largest = |name: &str| bench.faults.largest[bench.terminal(name).index()].expect("live").as_amps();
    close(largest("lamp.+"), 800.0, 1e-9, "the lower one alone");
    close(largest("fan.+"), 800.0, 1e-9, "both in series");
}

#[test]
fn each_node_tells_when_its_devices_open() {
    use ohmward::study::Opening;
    let studied = super::studied(LAMP);
    let figures = studied.figures.expect("figures");
    let at = |name: &str| figures.faults.iter().find(|fault| fault.terminal == name).expect("the terminal");
    assert!(at("F.line").opens.is_empty(), "ahead of the fuse");
    let [(name, Opening::Within(time))] = at("lamp.+").opens.as_slice() else {
        panic!("{:?}", at("lamp.+").opens);
    };
    // Past 600 % the I²t of 5 A stays that of 30 A for 0.1 s.
    let amps = at("lamp.+").smallest.expect("live").as_amps();
    assert_eq!(name, "F");
    close(time.as_seconds(), 30.0 * 30.0 * 0.1 / (amps * amps), 1e-9, "the last gate");
}
